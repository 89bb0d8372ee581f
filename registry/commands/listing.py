"""The list of thermometers, and one of them with everything that is known of it."""

from typing import TYPE_CHECKING, Annotated, Any

import typer

from registry.commands.desk import Desk, iso, table
from registry.commands.options import Out, Site, Station, Tag
from registry.commands.saving import save, words_of
from registry.wording import format
from registry.wording.standing import outcome_now, status_words

if TYPE_CHECKING:
    from registry.services.owed import Owed
    from registry.services.points_now import PointNow
    from registry.services.table import TableRow, Wanted
    from registry.services.thermometers import Thermometer

app = typer.Typer()

STATUSES = ("in_service", "check_first", "limited_use", "out_of_use", "lost", "retired")
OUTCOMES = ("pass", "conditional_pass", "conditional_fail", "fail", "not_accepted", "cannot_decide")


@app.command("thermometers", epilog="thermometers --site KI --status check_first")
def thermometers(
    context: typer.Context,
    site: Site = "",
    station: Station = "",
    type: Annotated[str, typer.Option("--type", metavar="TYPE")] = "",
    status: Annotated[str, typer.Option("--status", metavar="STATUS")] = "",
    outcome: Annotated[str, typer.Option("--outcome", metavar="OUTCOME")] = "",
    due: Annotated[bool, typer.Option("--due")] = False,
    find: Annotated[str, typer.Option("--find", metavar="TEXT")] = "",
    sort: Annotated[str, typer.Option("--sort", metavar="COLUMN")] = "tag_id",
    descending: Annotated[bool, typer.Option("--descending")] = False,
    first: Annotated[int, typer.Option("--first", min=1, metavar="N")] = 200,
    out: Out = "",
) -> int:
    from registry import resources
    from registry.services import places, typed
    from registry.services.table import SORTS, Wanted, page

    desk = Desk.of(context)
    at = desk.site(site) if site or station else None
    with desk.session.reading() as connection:
        of_station = places.station_named(connection, at.subject, station).subject if at and station else None
        wanted = Wanted(
            at.subject if at else None,
            of_station,
            typed.choice("type", type, resources.instrument_types()) if type else None,
            typed.choice("status", status, STATUSES) if status else None,
            typed.choice("outcome", outcome, OUTCOMES) if outcome else None,
            "open" if due else None,
            find,
        )
        order = typed.choice("sort", sort, SORTS)
        if out:
            return _save(desk, out, wanted, order, descending=descending)
        found = page(desk.session, connection, wanted, sort=order, descending=descending, size=first)
    lines = [
        desk.say("cli.thermometers", shown=_count(desk, found.shown), count=found.of, every=_count(desk, found.every))
    ]
    head = [desk.say(f"cli.head.{one}") for one in ("tag", "type", "place", "status", "last_check", "outcome")]
    lines += table(head, [_line(desk, row) for row in found.rows])
    said = {"count": found.of, "every": found.every, "thermometers": [_data_of(row) for row in found.rows]}
    return desk.answer(lines, said)


def _save(desk: Desk, out: str, wanted: "Wanted", sort: str, *, descending: bool) -> int:
    """All that fit, not only the first."""
    from registry.services import tables_out

    table_out = tables_out.all_thermometers(desk.session, words_of(desk), wanted, sort=sort, descending=descending)
    return save(desk, out, table_out, {"count": len(table_out.rows)})


def _count(desk: Desk, n: int) -> str:
    return format.number(n, desk.region)


def _line(desk: Desk, row: "TableRow") -> list[str]:
    from registry.services.session import day_at

    day = day_at(row.last_check_at, row.zone) if row.last_check_at else None
    return [
        row.tag_id,
        desk.say(f"type.{row.type}"),
        ", ".join(one for one in (row.site_name, row.station_name) if one),
        desk.say(f"status.{row.status}"),
        format.short_day(day, desk.region) if day else "",
        outcome_now(row.last_outcome, row.left, row.as_found, desk.language),
    ]


def _data_of(row: "TableRow") -> dict[str, Any]:
    """A row of the table for machines; differences and days as their texts."""
    from dataclasses import asdict

    texts = {
        "last_offset": row.last_offset.text() if row.last_offset else None,
        "last_check_at": iso(row.last_check_at),
        **{
            name: day.isoformat() if (day := getattr(row, name)) else None
            for name in ("next_due", "reference_due", "in_use_since")
        },
    }
    return asdict(row) | texts


@app.command("thermometer", epilog="thermometer KI001X")
def thermometer(context: typer.Context, tag: Tag) -> int:
    from registry.services import owed, points_now, rules
    from registry.services import thermometers as service
    from registry.services.table import one as row_of

    desk = Desk.of(context)
    of = desk.find(tag)
    zone = desk.site_of(of).payload.zone
    with desk.session.reading() as connection:
        row = row_of(desk.session, connection, of.row)
        now = points_now.points_now(connection, of.row.thermometer)
        plan = rules.rules_in_force(connection, of.row.site).plan.plan
        owes = owed.of_one(desk.session, connection, of.row, plan)
        only = service.limited_to(connection, of.row.thermometer)
    facts = [
        ("type", desk.say(f"type.{of.type.code}")),
        ("maker", ", ".join(one for one in (of.maker, of.model, of.serial) if one)),
        ("sensor", ", ".join(one for one in _sensor(of) if one)),
        ("scale", "; ".join(_scales(desk, of))),
        ("uses", _uses(desk, of, only)),
        ("condition", of.facts.condition or ""),
        ("in_use_since", of.facts.in_use_since or ""),
        ("price", format.money(of.facts.price, desk.region) if of.facts.price else ""),
        ("outside_certificate", _outside(desk, of)),
        ("points", "; ".join(_points(desk, of, zone))),
        ("recheck_by", format.day(row.next_due, desk.region) if row.next_due else ""),
    ]
    said = {
        **_data_of(row),
        "only": only,
        "now": [_now_data(one) for one in now],
        "due": [{"rule": one.code, "state": one.state, "due_at": iso(one.due_at)} for one in owes.due],
        "facts": of.facts.as_payload(),
        "indicator": of.indicator.as_payload() if of.indicator else None,
        "sensor": of.sensor.as_payload() if of.sensor else None,
        "outside_certificate": of.outside_certificate.as_payload() if of.outside_certificate else None,
        "good_at": {
            "ice_point": iso(of.row.good_ice_at),
            "boiling_point": iso(of.row.good_boil_at),
            "comparison": iso(of.row.good_comparison_at),
        },
        "recheck_by": row.next_due.isoformat() if row.next_due else None,
    }
    place = ", ".join(one for one in (row.site_name, row.station_name) if one)
    status = desk.say(
        "cli.thermometer", tag=of.tag_id, status=status_words(row.status, only, desk.language), place=place
    )
    stands = [_now(desk, one, zone) for one in now] or [desk.say("cli.now.never")]
    rows = [[desk.say(f"cli.fact.{name}"), value] for name, value in facts if value]
    width = max(len(row[0]) for row in rows)
    first = " ".join([status, *stands, _owes(desk, row, owes, zone)])
    return desk.answer([first, *(f"  {name.ljust(width)}  {value}" for name, value in rows)], said)


def _now(desk: Desk, one: "PointNow", zone: str) -> str:
    """How it stands at one point, with when that was read."""
    from registry.services.session import day_at

    when = format.day(day_at(one.at, zone), desk.region) if one.day_only else desk.instant(one.at, zone)
    point = desk.say(f"{'thermometers.where' if one.point == 'comparison' else 'point'}.{one.where}")
    outcome = desk.say(f"outcome.{one.outcome}") if one.outcome else ""
    found = desk.say(f"outcome.{one.as_found}") if one.as_found else ""
    if one.left:
        code = f"left_{one.left}" if found else f"left_{one.left}_alone"
    else:
        code = "read" if one.outcome else "waits"
    said = desk.say(f"cli.now.{code}", point=point, outcome=outcome, found=found, when=when)
    return f"{said} {desk.say('cli.now.overtaken')}" if one.overtaken else said


def _owes(desk: Desk, row: "TableRow", owes: "Owed", zone: str) -> str:
    """All that is wanted of it now and why, the worst first, else when it is wanted next."""
    from registry.wording.due import all_due

    if row.status in ("out_of_use", "lost", "retired"):
        return desk.say("thermometers.owes_nothing")
    if owes.due:
        return all_due([(one.state, one.why) for one in owes.due], desk.language, desk.region, zone)
    if owes.next is None:
        return desk.say("thermometers.plan_asks_nothing")
    return desk.say("thermometers.next_check", day=format.day(owes.next.day, desk.region))


def _uses(desk: Desk, of: "Thermometer", only: str | None) -> str:
    words = ", ".join(desk.say(f"cli.only.{one}") for one in of.facts.uses)
    if only is None:
        return words
    return desk.say("thermometers.uses_limited", uses=words, limited=desk.say(f"thermometers.limited.{only}"))


def _now_data(one: "PointNow") -> dict[str, Any]:
    return {
        "point": one.where,
        "at": iso(one.at),
        "outcome": one.outcome,
        "left": one.left or None,
        "as_found": one.as_found,
        "before_adjustment": one.overtaken,
    }


def _sensor(of: "Thermometer") -> tuple[str, str, str]:
    part = of.sensor
    return (part.maker or "", part.model or "", part.serial or "") if part else ("", "", "")


def _scales(desk: Desk, of: "Thermometer") -> list[str]:
    from decimal import Decimal

    from registry.quantity import Reading

    return [
        desk.say(
            "cli.scale",
            lowest=format.temperature(Reading.from_text(one.lowest), desk.region),
            highest=format.temperature(Reading.from_text(one.highest), desk.region),
            step=format.number(Decimal(one.step.split()[0]), desk.region),
        )
        for one in of.facts.scales.values()
    ]


def _outside(desk: Desk, of: "Thermometer") -> str:
    from datetime import date

    one = of.outside_certificate
    if one is None:
        return ""
    due = format.day(date.fromisoformat(one.due), desk.region) if one.due else ""
    return ", ".join(part for part in (one.certificate_number, one.issuer, due) if part)


def _points(desk: Desk, of: "Thermometer", zone: str) -> list[str]:
    good = (
        ("ice_point", of.row.good_ice_at),
        ("boiling_point", of.row.good_boil_at),
        ("comparison", of.row.good_comparison_at),
    )
    return [f"{desk.say(f'point.{point}')} {desk.instant(at, zone)}" for point, at in good if at is not None]
