"""The list of thermometers, and one of them with everything that is known of it."""

from typing import TYPE_CHECKING, Annotated, Any

import typer

from registry.commands.desk import Desk, iso, table
from registry.commands.options import Site, Station, Tag
from registry.wording import format

if TYPE_CHECKING:
    from registry.services.lookup import ThermometerRow
    from registry.services.table import TableRow
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
        found = page(desk.session, connection, wanted, sort=order, descending=descending, size=first)
    lines = [
        desk.say("cli.thermometers", shown=_count(desk, found.shown), count=found.of, every=_count(desk, found.every))
    ]
    head = [desk.say(f"cli.head.{one}") for one in ("tag", "type", "place", "status", "last_check", "outcome")]
    lines += table(head, [_line(desk, row) for row in found.rows])
    said = {"count": found.of, "every": found.every, "thermometers": [_data_of(row) for row in found.rows]}
    return desk.answer(lines, said)


def _count(desk: Desk, n: int) -> str:
    return format.number(n, desk.region)


def names_of_places(connection: Any) -> dict[str, str]:
    """Names of sites and stations by id."""
    from registry.services import places

    found = {one.subject: one.payload.name for one in places.sites(connection)}
    return found | {one.subject: one.payload.name for one in places.stations(connection)}


def _place(row: "ThermometerRow", names: dict[str, str]) -> str:
    return ", ".join(names.get(one, "") for one in (row.site, row.station) if one)


def _line(desk: Desk, row: "TableRow") -> list[str]:
    from registry.services.session import day_at

    day = day_at(row.last_check_at, row.zone) if row.last_check_at else None
    return [
        row.tag_id,
        desk.say(f"type.{row.type}"),
        ", ".join(one for one in (row.site_name, row.station_name) if one),
        desk.say(f"status.{row.status}"),
        format.short_day(day, desk.region) if day else "",
        desk.say(f"outcome.{row.last_outcome}") if row.last_outcome else "",
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


def _data(row: "ThermometerRow") -> dict[str, Any]:
    return {
        "thermometer": row.thermometer,
        "tag_id": row.tag_id,
        "type": row.type,
        "site": row.site,
        "station": row.station,
        "status": row.service_status,
        "last_check": row.last_check,
        "last_check_at": iso(row.last_check_at),
        "last_offset": row.last_offset,
        "last_outcome": row.last_outcome,
        "incident": row.incident,
        "reference_due": row.reference_due,
    }


@app.command("thermometer", epilog="thermometer KI001X")
def thermometer(context: typer.Context, tag: Tag) -> int:
    from registry.services import duelist

    desk = Desk.of(context)
    of = desk.find(tag)
    at = desk.site_of(of)
    with desk.session.reading() as connection:
        names = names_of_places(connection)
        recheck = duelist.recheck_by(desk.session, connection, of.row)
    points = _points(desk, of, at.payload.zone)
    place, status = _place(of.row, names), desk.say(f"status.{of.row.service_status}")
    facts = [
        ("type", desk.say(f"type.{of.type.code}")),
        ("maker", ", ".join(one for one in (of.maker, of.model, of.serial) if one)),
        ("sensor", ", ".join(one for one in _sensor(of) if one)),
        ("scale", "; ".join(_scales(desk, of))),
        ("uses", ", ".join(desk.say(f"cli.only.{one}") for one in of.facts.uses)),
        ("condition", of.facts.condition or ""),
        ("in_use_since", of.facts.in_use_since or ""),
        ("outside_certificate", _outside(desk, of)),
        ("points", "; ".join(points)),
        ("recheck_by", format.day(recheck, desk.region) if recheck else ""),
    ]
    said = {
        **_data(of.row),
        "facts": of.facts.as_payload(),
        "indicator": of.indicator.as_payload() if of.indicator else None,
        "sensor": of.sensor.as_payload() if of.sensor else None,
        "outside_certificate": of.outside_certificate.as_payload() if of.outside_certificate else None,
        "good_at": {
            "ice_point": iso(of.row.good_ice_at),
            "boiling_point": iso(of.row.good_boil_at),
            "comparison": iso(of.row.good_comparison_at),
        },
        "recheck_by": recheck.isoformat() if recheck else None,
    }
    rows = [[desk.say(f"cli.fact.{name}"), value] for name, value in facts if value]
    width = max(len(row[0]) for row in rows)
    lines = [desk.say("cli.thermometer", tag=of.tag_id, status=status, place=place)]
    return desk.answer([*lines, *(f"  {name.ljust(width)}  {value}" for name, value in rows)], said)


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
