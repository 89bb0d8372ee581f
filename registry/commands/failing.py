"""Checks that failed in a period, and what is to be replaced and why."""

from typing import TYPE_CHECKING, Annotated, Any

import typer

from registry.commands.desk import Desk, iso, table
from registry.commands.options import Out, Site
from registry.wording import format

if TYPE_CHECKING:
    from registry.services.failures import Failure
    from registry.services.replacing import ToReplace

app = typer.Typer()
Type = Annotated[str, typer.Option("--type", metavar="TYPE")]


@app.command("failures", epilog="failures --weeks 4 --site KI")
def failures(
    context: typer.Context,
    site: Site = "",
    type: Type = "",
    weeks: Annotated[int, typer.Option("--weeks", min=1, max=520, metavar="N")] = 12,
    out: Out = "",
) -> int:
    from registry.services import failures as service
    from registry.services.places import names as names_of_places
    from registry.services.words import failures as words

    desk = Desk.of(context)
    at = desk.site(site) if site else None
    found = service.failures(desk.session, weeks=weeks, site=at.subject if at else None, type=type or None)
    with desk.session.reading() as connection:
        names = names_of_places(connection)
    data = {"weeks": weeks, "open": found.open, "failures": [_failure_data(one) for one in found.rows]}
    if out:
        from registry.commands.saving import save, words_of
        from registry.services import tables_out

        return save(desk, out, tables_out.failures(words_of(desk), found, names), {"weeks": weeks})
    lines = [words.headline(found, desk.language)]
    if found.rows:
        head = [desk.say(f"failures.head.{one}") for one in ("date", "tag", "site", "point", "off", "done", "now")]
        lines += table(head, [_row(desk, one, names) for one in found.rows])
        doubtful = (words.doubtful(one, desk.language, desk.region) for one in found.rows)
        lines += ["", *(f"{one.tag_id}: {said}" for one, said in zip(found.rows, doubtful, strict=True))]
        lines += [desk.say("failures.look_back")]
    return desk.answer(lines, data)


def _row(desk: Desk, one: "Failure", names: dict[str, str]) -> list[str]:
    from registry.services.words import failures as words

    offset = format.offset(one.offset, desk.region) if one.offset else ""
    return [
        words.when(one, desk.region),
        one.tag_id,
        names.get(one.site, ""),
        desk.say(f"point.{one.point}"),
        " ".join(filter(None, (offset, words.voided(one, desk.language)))),
        words.done(one, desk.language, desk.region),
        words.now(one, desk.language, desk.region),
    ]


def _failure_data(one: "Failure") -> dict[str, Any]:
    return {
        "check": one.check,
        "number": one.number,
        "thermometer": one.thermometer,
        "tag_id": one.tag_id,
        "type": one.type,
        "site": one.site,
        "at": iso(one.at),
        "day_only": one.day_only,
        "point": one.point,
        "outcome": one.outcome,
        "offset": one.offset.text() if one.offset else None,
        "voided": one.voided,
        "good_before": iso(one.good_before),
        "done": [{"what": each.what, "at": iso(each.at)} for each in one.done],
        "now": one.now,
        "now_at": iso(one.now_at),
    }


@app.command("to-replace", epilog="to-replace --site KI")
def to_replace(context: typer.Context, site: Site = "", type: Type = "", out: Out = "") -> int:
    from registry.commands.fleet import _progress
    from registry.services import fleet, replacing
    from registry.services.places import names as names_of_places
    from registry.services.words import replacing as words

    desk = Desk.of(context)
    at = desk.site(site) if site else None
    only: dict[str, Any] = {"site": at.subject if at else None, "type": type or None}
    ranked = fleet.ranking(desk.session, **only, limit=None, histories=False, progress=_progress(desk))
    found = replacing.to_replace(desk.session, ranked, **only)
    with desk.session.reading() as connection:
        names = names_of_places(connection)
    if out:
        from registry.commands.saving import save, words_of
        from registry.services import tables_out

        return save(desk, out, tables_out.to_replace(words_of(desk), found, names), {})
    lines = [desk.say("replacing.none")]
    if found.rows:
        head = [desk.say(f"replacing.head.{one}") for one in ("tag", "what", "site", "price", "why")]
        lines = table(head, [_replace_row(desk, one, names) for one in found.rows])
        lines += ["", words.sums(found, desk.language, desk.region), desk.say("replacing.how")]
    said = {
        "to_replace": [_replace_data(one) for one in found.rows],
        "price_known": found.known,
        "sums": [_price(one) for one in found.sums],
    }
    return desk.answer(lines, said)


def _replace_row(desk: Desk, one: "ToReplace", names: dict[str, str]) -> list[str]:
    from registry.services.words import replacing as words

    cost = words.price(one, desk.language, desk.region) or desk.say("replacing.unknown")
    return [one.tag_id, words.what(one, desk.language), names.get(one.site, ""), cost, words.why(one, desk.language)]


def _replace_data(one: "ToReplace") -> dict[str, Any]:
    return {
        "thermometer": one.thermometer,
        "tag_id": one.tag_id,
        "site": one.site,
        "why": one.why,
        "times": one.times or None,
        "price": _price(one.price),
        "price_like": one.like or None,
    }


def _price(price: Any) -> dict[str, str] | None:
    return {"amount": price.amount, "currency": price.currency} if price else None
