"""Making a bath and judging it."""

from typing import TYPE_CHECKING, Annotated, Any

import typer

from registry.commands.desk import Desk, iso, table
from registry.commands.options import Again, AndBeside, Bath, Beside, Container, Made, Out, Site, Unit
from registry.commands.saving import save, words_of
from registry.wording import format

if TYPE_CHECKING:
    from registry.quantity import Reading
    from registry.services.baths import NewBath
    from registry.services.lookup import EntryView, MustRead

app = typer.Typer()
bath_app = typer.Typer()

PRESSURE_QUESTIONS = {"other_kind_is_likelier", "room_is_likelier"}
CAUTIONS = {
    "ice_point": ("sanitise_first", "stems_at_once", "bath_ice_never_eaten"),
    "boiling_point": ("scalding", "sanitise_first", "never_boil_to_ice"),
    "comparison": ("sanitise_first",),
}


@bath_app.command("ice", epilog="bath ice --made crushed_packed --site KI")
def ice(context: typer.Context, made: Made = "crushed_packed", container: Container = "", site: Site = "") -> int:
    from registry.services import typed
    from registry.services.baths import MADE, NewBath

    desk = Desk.of(context)
    how = typed.choice("made", made, MADE["ice_point"])
    return _make(desk, NewBath(desk.site(site).subject, "ice_point", how, container))


@bath_app.command("boil", epilog='bath boil --pressure "1013.2 hPa" --pressure-source room_barometer')
def boil(
    context: typer.Context,
    pressure: Annotated[str, typer.Option("--pressure", metavar='"1013.2 hPa"')] = "",
    pressure_source: Annotated[str, typer.Option("--pressure-source", metavar="SOURCE")] = "",
    pressure_from: Annotated[str, typer.Option("--pressure-from", metavar="TEXT")] = "",
    container: Container = "",
    site: Site = "",
    again: Again = False,
) -> int:
    from registry.commands import questions
    from registry.compute.atmosphere import PressureSource
    from registry.services import typed
    from registry.services.baths import MADE, NewBath
    from registry.services.problems import Refused

    desk = Desk.of(context)
    about = ("boil", desk.site(site).subject, pressure_source, pressure)
    answers = questions.answered(desk, about, again=again)
    source = typed.choice("pressure_source", pressure_source, PressureSource) if pressure_source else None
    new = NewBath(
        desk.site(site).subject,
        "boiling_point",
        MADE["boiling_point"][0],
        container,
        PressureSource(source) if source else None,
        typed.pressure(pressure) if pressure else None,
        pressure_from,
        asked=frozenset(("pressure_kind",)) if answers else frozenset(),
    )
    try:
        made = _make(desk, new)
    except Refused as refused:
        codes = {one.code for one in refused.problems}
        if codes <= PRESSURE_QUESTIONS:
            questions.asked(desk, about, codes)
        raise
    if answers:
        questions.settled(desk)
    return made


@bath_app.command("compare", epilog="bath compare --beside KI900X 65.2 --made hot_flask")
def compare(
    context: typer.Context,
    beside: Beside = None,
    also: AndBeside = None,
    made: Made = "hot_flask",
    container: Container = "",
    unit: Unit = "",
    site: Site = "",
) -> int:
    from registry.services import typed
    from registry.services.baths import MADE, NewBath

    desk = Desk.of(context)
    how = typed.choice("made", made, MADE["comparison"])
    new = NewBath(desk.site(site).subject, "comparison", how, container, beside=read_beside(desk, (beside, also), unit))
    return _make(desk, new)


def read_beside(desk: Desk, given: tuple[tuple[str, str] | None, ...], unit: str) -> tuple[tuple[str, "Reading"], ...]:
    """The reference thermometers with what each shows, in their own unit where none is named."""
    from registry.services import typed

    found = []
    for pair in given:
        if pair is not None:
            of = desk.find(pair[0])
            found.append((of.tag_id, typed.reading(pair[1], desk.unit(unit, of), "beside")))
    return tuple(found)


def _make(desk: Desk, new: "NewBath") -> int:
    from registry.services import baths, lookup, settings

    bath = baths.make_bath(desk.session, desk.actor, new)
    settings.remember(settings.local_file(desk.home), "bath", bath)
    with desk.session.reading() as connection:
        entry = baths.made(connection, bath)
        ranges = lookup.must_read(connection, entry)
        away = _not_in_it(connection, entry)
    said = {
        "done": "bath_made",
        "bath": bath,
        "number": entry.number,
        "point": new.point,
        "reference": entry.payload["reference"],
        "components": entry.payload["components"],
        "must_read": [
            {
                "reference": one.reference.text(),
                "lowest": one.lowest.text(),
                "highest": one.highest.text(),
                "tag_ids": list(one.tag_ids),
            }
            for one in ranges
        ],
        "not_in_it": [{"why": why, "tag_ids": tags} for why, tags in away.items()],
    }
    lines = [
        desk.say("cli.bath_made", number=entry.number, reference=_shown(desk, entry)),
        _why(desk, entry),
        *(_range(desk, one) for one in ranges),
        *(desk.say(f"cli.not_in_it.{why}", tags=", ".join(tags)) for why, tags in away.items()),
        desk.say("caution.local_codes_first"),
        *(desk.say(f"caution.{one}") for one in CAUTIONS[new.point]),
    ]
    return desk.answer(lines, said)


def _not_in_it(connection: Any, entry: "EntryView") -> dict[str, list[str]]:
    """The thermometers in use at the site that do not go into a bath: tag ids by why, a code."""
    from registry.services import lookup, shift_bath
    from registry.services.thermometers import thermometer

    rows = lookup.listed(connection, entry.payload["site"])
    those = [thermometer(connection, row.thermometer) for row in rows if row.status in ("in_service", "limited_use")]
    in_it = shift_bath.in_bath(connection, entry, those)
    found: dict[str, list[str]] = {}
    for of in those:
        problem = in_it[of.row.thermometer].problem
        if problem is not None:
            found.setdefault(problem.code, []).append(of.tag_id)
    return found


def _shown(desk: Desk, entry: "EntryView") -> str:
    """The reference temperature in the group's unit."""
    from fractions import Fraction

    from registry.quantity import Reading

    celsius = Fraction(entry.payload["reference"].split()[0])
    return format.temperature(Reading.from_celsius(celsius, desk.unit("")), desk.region)


def _why(desk: Desk, entry: "EntryView") -> str:
    from decimal import Decimal

    from registry.quantity import Pressure
    from registry.services.thermometers import thermometer

    said = entry.payload
    made = desk.say(f"bath.{said['made']}")
    if said["point"] == "ice_point":
        return desk.say("cli.why_ice", made=made)
    if said["point"] == "boiling_point":
        pascal = Pressure.from_text(said["station_pressure"]).pascal()
        there = format.typed(Pressure(Decimal(round(pascal / 10)) / 10, "hPa"), desk.region)
        return desk.say("cli.why_boil", made=made, pressure=there, source=desk.say(_source(said)))
    with desk.session.reading() as connection:
        tags = [thermometer(connection, one["thermometer"]).tag_id for one in said["beside"]]
    return desk.say("cli.why_compare", made=made, tags=", ".join(tags))


def _source(said: dict[str, Any]) -> str:
    return f"pressure_source.{said['pressure_source']}"


def _range(desk: Desk, one: "MustRead") -> str:
    return desk.say(
        "cli.must_read",
        count=len(one.tag_ids),
        tags=", ".join(one.tag_ids),
        lowest=format.number(one.lowest.value, desk.region),
        highest=format.temperature(one.highest, desk.region),
    )


def bath_meant(desk: Desk, number: str, site: str, *, to_judge: bool = False) -> str:
    """The bath with this number, else the only open one of the site, or of all sites where none is named."""
    from registry.services import lookup, places, settings

    local = settings.local_file(desk.home)
    if number:
        found = lookup.bath_numbered(desk.session, number)
    else:
        named = [desk.site(site).subject] if site else []
        with desk.session.reading() as connection:
            where = named or [one.subject for one in places.sites(connection)]
            if to_judge:
                found = lookup.bath_to_judge(desk.session, connection, where, settings.remembered(local, "bath"))
            else:
                found = lookup.bath_to_read_in(desk.session, connection, where)
    settings.remember(local, "bath", found)
    return found


@bath_app.command("judge", epilog="bath judge accepted --bath KQBH00011")
def judge(
    context: typer.Context,
    judged: Annotated[str, typer.Argument(metavar="accepted|condemned|overruled")],
    bath: Bath = "",
    site: Site = "",
    why: Annotated[str, typer.Option("--why", metavar="WHY")] = "",
) -> int:
    from registry.commands.words import check_data, check_row, check_rows_head
    from registry.services import bath_watch, baths, lookup, typed

    desk = Desk.of(context)
    how = typed.choice("judged", judged, ("accepted", "condemned", "overruled"))
    of = bath_meant(desk, bath, site, to_judge=True)
    reason = typed.code("why", why) if why else None
    if how == "condemned":
        bath_watch.condemn(desk.session, desk.actor, of)
    else:
        baths.judge_bath(desk.session, desk.actor, of, how, why=reason)
    with desk.session.reading() as connection:
        number = baths.made(connection, of).number
        found = lookup.checks_in(connection, of)
        waiting = lookup.waiting(connection, of)
        rows = [check_row(desk, connection, view, tag, line) for view, tag, line in found if not view.voided]
    said = {
        "done": "bath_judged",
        "bath": of,
        "number": number,
        "judged": how,
        "waiting": waiting,
        "checks": [{"tag_id": tag, **check_data(desk, line)} for _, tag, line in found],
    }
    lines = [desk.say(f"cli.judged.{how}", number=number, count=len(rows))]
    lines += table(check_rows_head(desk), rows)
    if waiting:
        lines.append(desk.say("cli.wait_for_repeats", count=len(waiting), tags=", ".join(waiting)))
    return desk.answer([*lines, *([desk.say("caution.local_codes_first")] if rows else [])], said)


@app.command("baths", epilog="baths --site KI --days 2")
def list_baths(
    context: typer.Context,
    site: Site = "",
    days: Annotated[int, typer.Option("--days", min=1, metavar="N")] = 1,
    out: Out = "",
) -> int:
    from registry.services import lookup, tables_out

    desk = Desk.of(context)
    at = desk.site(site)
    if out:
        return save(desk, out, tables_out.baths(desk.session, words_of(desk), at.subject, days), {"site": at.subject})
    with desk.session.reading() as connection:
        found = lookup.recent_baths(desk.session, connection, at.subject, days)
        counts = [len(lookup.checks_in(connection, bath.bath)) for bath, _ in found]
    rows = [
        [
            entry.number,
            desk.say(f"point.{bath.point}"),
            _shown(desk, entry),
            desk.instant(bath.at, at.payload.zone),
            desk.say(f"cli.bath_state.{bath.judged or 'open'}"),
            str(count),
        ]
        for (bath, entry), count in zip(found, counts, strict=True)
    ]
    head = [desk.say(f"cli.head.{one}") for one in ("number", "point", "reference", "when", "judged", "checks")]
    said = [
        {
            "bath": bath.bath,
            "number": entry.number,
            "site": bath.site,
            "point": bath.point,
            "reference": entry.payload["reference"],
            "at": iso(bath.at),
            "judged": bath.judged,
            "checks": count,
        }
        for (bath, entry), count in zip(found, counts, strict=True)
    ]
    still = sum(bath.judged is None for bath, _ in found)
    return desk.answer([desk.say("cli.baths", count=len(rows), open=still), *table(head, rows)], {"baths": said})
