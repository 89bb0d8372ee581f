"""The kitchen goes on: incidents, use by the last good check, beside the inspector's, closing the list."""

from typing import Annotated

import typer

from registry.commands.desk import Desk, iso
from registry.commands.options import NEGATIVE, At, Day, Shift, Site, Tag, Unit, Value
from registry.wording import closing, format

app = typer.Typer()


@app.command("incident", epilog="incident KI001X dropped --at 14:30")
def incident(
    context: typer.Context, tag: Tag, what: Annotated[str, typer.Argument(metavar="WHAT")], at: At = ""
) -> int:
    from registry.services import incidents, lookup, thermometers, typed

    desk = Desk.of(context)
    of = desk.find(tag)
    wanted = typed.choice("what", what, lookup.UNSETTLING)
    zone = desk.site_of(of).payload.zone
    when = typed.moment_or_now(at, desk.today(zone), zone, desk.session.clock())
    found = incidents.report_incident(desk.session, desk.actor, of.row.thermometer, wanted, performed_at=when)
    with desk.session.reading() as connection:
        now = [thermometers.thermometer(connection, one) for one in found.thermometers]
    first = [one.tag_id for one in now if one.row.check_first]
    lines = [desk.say("cli.incident", what=desk.say(f"incident.{wanted}"), tag=of.tag_id)]
    lines += [desk.say("cli.check_before_use", count=len(first), tags=", ".join(first))] if first else []
    lines += desk.too_few_left(*found.thermometers)
    said = {
        "done": "incident_reported",
        "incident": found.incident,
        "what": wanted,
        "at": iso(when),
        "thermometers": [
            {"thermometer": one.row.thermometer, "tag_id": one.tag_id, "status": one.row.service_status} for one in now
        ],
    }
    return desk.answer(lines, said)


@app.command("use", epilog="use KI001X 4.2 --beside KI002V 4.0", context_settings=NEGATIVE)
def use(
    context: typer.Context,
    tag: Tag,
    value: Value,
    beside: Annotated[tuple[str, str], typer.Option("--beside", metavar="TAG VALUE")],
    unit: Unit = "",
) -> int:
    from registry.services import typed
    from registry.services.vouching import Beside, allow_use

    desk = Desk.of(context)
    of, other = desk.find(tag), desk.find(beside[0])
    shown = typed.reading(value, desk.unit(unit, of))
    other_shown = typed.reading(beside[1], desk.unit(unit, other), "beside")
    given = Beside(of.row.thermometer, shown, other.row.thermometer, other_shown)
    basis = allow_use(desk.session, desk.actor, given)
    said = {"thermometer": of.row.thermometer, "tag_id": of.tag_id, "basis": basis}
    return desk.done(f"use_{basis}", said, tag=of.tag_id, other=other.tag_id)


@app.command("side-by-side", epilog="side-by-side KI001X 4.2 4.0 --whose inspector", context_settings=NEGATIVE)
def side_by_side(
    context: typer.Context,
    tag: Tag,
    value: Value,
    theirs: Annotated[str, typer.Argument(metavar="THEIRS")],
    whose: Annotated[str, typer.Option("--whose", metavar="inspector|supplier|other_party")] = "inspector",
    unit: Unit = "",
) -> int:
    from registry.services import typed, vouching

    desk = Desk.of(context)
    of = desk.find(tag)
    of_unit = desk.unit(unit, of)
    mine, others = typed.reading(value, of_unit), typed.reading(theirs, of_unit, "theirs")
    party = typed.choice("whose", whose, ("inspector", "supplier", "other_party"))
    apart = vouching.side_by_side(desk.session, desk.actor, of.row.thermometer, mine, others, party)
    said = {
        "thermometer": of.row.thermometer,
        "tag_id": of.tag_id,
        "shown": mine.text(),
        "theirs": others.text(),
        "apart": apart.rounded(4).text(),
    }
    return desk.done(
        "side_by_side",
        said,
        tag=of.tag_id,
        shown=format.temperature(mine, desk.region),
        theirs=format.temperature(others, desk.region),
        apart=format.offset(apart.to(mine.unit), desk.region),
    )


@app.command("close", epilog="close --site KI")
def close(context: typer.Context, site: Site = "", shift: Shift = "", day: Day = "") -> int:
    from registry.services import lists, lookup, typed

    desk = Desk.of(context)
    at = desk.site(site)
    with desk.session.reading() as connection:
        on = lookup.shift_on(connection, at, shift, typed.day(day, desk.today(at.payload.zone))) if shift else None
    closed = lists.close_list(desk.session, desk.actor, at.subject, on)
    before = closed.before
    said = {
        "done": "closed",
        "shift": closed.shift,
        "day": closed.day.isoformat(),
        "checked": closed.checked,
        "adjusted": closed.adjusted,
        "out_of_use": closed.out_of_use,
        "not_found": closed.not_found,
        "no_reading": closed.no_reading,
        "not_done": list(closed.not_done),
        "unsettled": list(closed.unsettled),
        "in_doubt": list(closed.in_doubt),
        "failed": [{"tag_id": one.tag_id, "place": one.place, "why": one.why} for one in closed.failed],
        "closed_before": {"at": iso(before.at), "initials": before.initials} if before else None,
        "recorded": before is None or closed.again,
    }
    lines = closing.left_failed(((one.tag_id, one.place, one.why) for one in closed.failed), desk.language)
    if before is not None:
        now, zone = desk.session.clock(), at.payload.zone
        lines.append(
            closing.closed_already(before.at, before.initials, closed.again, now, desk.language, desk.region, zone)
        )
    lines += [
        desk.say("cli.closed", shift=closed.shift, day=format.day(closed.day, desk.region)),
        desk.say(
            "cli.closed_count",
            checked=closed.checked,
            adjusted=closed.adjusted,
            out_of_use=closed.out_of_use,
            not_found=closed.not_found,
            no_reading=closed.no_reading,
        ),
    ]
    if closed.not_done:
        lines.append(desk.say("cli.stay_due", count=len(closed.not_done), tags=", ".join(closed.not_done)))
    if closed.in_doubt:
        lines.append(desk.say("doubt.closed", tags=", ".join(closed.in_doubt)))
    lines += desk.too_few_left(*(one.thermometer for one in closed.failed))
    return desk.answer(lines, said)


@app.command("review", epilog="review --site KI --from 2026-03-02 --to 2026-03-08")
def review(
    context: typer.Context,
    from_day: Annotated[str, typer.Option("--from", metavar="2026-03-02")],
    to_day: Annotated[str, typer.Option("--to", metavar="2026-03-08")] = "",
    site: Site = "",
) -> int:
    from registry.services import reviews, typed

    desk = Desk.of(context)
    at = desk.site(site)
    today = desk.today(at.payload.zone)
    first, last = typed.day(from_day, today, "from_day"), typed.day(to_day, today, "to_day")
    reviews.review(desk.session, desk.actor, at.subject, first, last)
    said = {"site": at.subject, "from_day": first.isoformat(), "to_day": last.isoformat()}
    days = (format.day(one, desk.region) for one in (first, last))
    return desk.done("reviewed", said, site=at.payload.name, **dict(zip(("first", "last"), days, strict=True)))
