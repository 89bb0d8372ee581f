"""Thermometers from purchase to retirement, and the list of them."""

from typing import TYPE_CHECKING, Annotated, Any

import typer

from registry.commands.desk import Desk
from registry.commands.options import (
    Adjusts,
    Condition,
    InUseSince,
    Maker,
    Model,
    Price,
    Scales,
    Serial,
    Site,
    Station,
    Tag,
    Unit,
    Uses,
    Waterproof,
    Why,
)

if TYPE_CHECKING:
    from registry.services.thermometers import Thermometer

app = typer.Typer()

PUT_OUT_WHY = ("outside", "unsteady", "damaged", "battery_flat", "sent_away", "spare", "other_reason")
AMEND_WHY = ("mistyped", "changed", "other_reason")
Text = typer.Option(metavar="TEXT")


@app.command("enrol", epilog="enrol thermistor_probe --scale C:0.1:-40:150 --site KI --station Grill --maker Brisa")
def enrol(
    context: typer.Context,
    type: Annotated[str, typer.Argument(metavar="TYPE")],
    scale: Scales = None,
    site: Site = "",
    station: Station = "",
    tag: Annotated[str, typer.Option("--tag", metavar="TAG")] = "",
    use: Uses = None,
    maker: Maker = "",
    model: Model = "",
    serial: Serial = "",
    sensor_maker: Annotated[str, Text] = "",
    sensor_model: Annotated[str, Text] = "",
    sensor_serial: Annotated[str, Text] = "",
    adjusts: Adjusts = "",
    waterproof: Waterproof = None,
    in_use_since: InUseSince = "",
    condition: Condition = "",
    price: Price = "",
) -> int:
    from registry import resources
    from registry.services import places, prices, thermometers, typed
    from registry.services.thermometers import NewThermometer, PartGiven

    desk = Desk.of(context)
    at = desk.site(site)
    with desk.session.reading() as connection:
        of_station = places.station_named(connection, at.subject, station).subject if station else None
        usual = prices.currency_here(desk.session, connection)
    sensor = PartGiven(sensor_maker, sensor_model, sensor_serial)
    new = NewThermometer(
        type=typed.choice("type", type, resources.instrument_types()),
        scales=tuple(typed.scale(one) for one in scale or []),
        site=at.subject,
        tag_id=tag,
        station=of_station,
        uses=tuple(typed.choice("uses", one, ("hot", "cold")) for one in use or ["hot", "cold"]),
        whole=PartGiven(maker, model, serial),
        sensor=sensor if sensor != PartGiven() else None,
        adjusts=typed.choice("adjusts", adjusts, ("nut", "reset", "trim", "none")) if adjusts else None,
        waterproof=bool(waterproof),
        in_use_since=typed.day(in_use_since, desk.today("UTC"), "in_use_since") if in_use_since else None,
        condition=condition,
        price=prices.read(price, usual),
    )
    thermometer = thermometers.enrol(desk.session, desk.actor, new)
    with desk.session.reading() as connection:
        of = thermometers.thermometer(connection, thermometer)
    said = {"thermometer": thermometer, "tag_id": of.tag_id}
    return desk.done("enrolled", said, tag=of.tag_id, type=desk.say(f"type.{of.type.code}"), site=at.payload.name)


@app.command("amend", epilog="amend KI001X --scale C:0.1:-50:200 --why mistyped")
def amend(
    context: typer.Context,
    tag: Tag,
    why: Why,
    scale: Scales = None,
    use: Uses = None,
    maker: Maker = "",
    model: Model = "",
    serial: Serial = "",
    adjusts: Adjusts = "",
    waterproof: Waterproof = None,
    in_use_since: InUseSince = "",
    condition: Condition = "",
    price: Price = "",
    judged_by: Annotated[str, typer.Option("--class", metavar="food|ambient_water|owner")] = "",
) -> int:
    from dataclasses import replace

    from registry.records.thermometers import Scale
    from registry.services import prices, thermometers, typed
    from registry.services.problems import refuse

    desk = Desk.of(context)
    of = desk.find(tag)
    if of.parts is not None and (maker or model or serial):
        raise refuse("maker", "of_its_parts")
    changed: dict[str, Any] = {"maker": maker, "model": model, "serial": serial, "condition": condition}
    if scale:
        given = [typed.scale(one) for one in scale]
        changed["scales"] = {
            one.step.unit: Scale(step=one.step.text(), lowest=one.lowest.text(), highest=one.highest.text())
            for one in given
        }
    if use:
        changed["uses"] = tuple(typed.choice("uses", one, ("hot", "cold")) for one in use)
    if judged_by:
        changed["class_"] = typed.choice("class", judged_by, ("food", "ambient_water", "owner"))
    if adjusts:
        changed["adjusts"] = typed.choice("adjusts", adjusts, ("nut", "reset", "trim", "none"))
    if in_use_since:
        changed["in_use_since"] = typed.day(in_use_since, desk.today("UTC"), "in_use_since").isoformat()
    facts = replace(of.facts, **{name: value for name, value in changed.items() if value})
    if waterproof is not None:
        facts = replace(facts, waterproof=waterproof or None)
    if price:
        with desk.session.reading() as connection:
            usual = prices.currency_here(desk.session, connection)
        facts = replace(facts, price=prices.read(price, usual))
    wanted = typed.choice("why", why, AMEND_WHY)
    thermometers.amend(desk.session, desk.actor, of.row.thermometer, facts, wanted)
    return desk.done("amended", _named(of), tag=of.tag_id)


@app.command("retag", epilog="retag KI001X KI050M")
def retag(context: typer.Context, tag: Tag, new: Annotated[str, typer.Argument(metavar="NEW")]) -> int:
    from registry.services import thermometers

    desk = Desk.of(context)
    of = desk.find(tag)
    thermometers.retag(desk.session, desk.actor, of.row.thermometer, new)
    with desk.session.reading() as connection:
        now = thermometers.thermometer(connection, of.row.thermometer)
    return desk.done("retagged", _named(now), tag=of.tag_id, new=now.tag_id)


@app.command("move", epilog="move KI001X --site KI --station Bar")
def move(context: typer.Context, tag: Tag, site: Site = "", station: Station = "") -> int:
    from registry.services import places, thermometers

    desk = Desk.of(context)
    of = desk.find(tag)
    to = desk.site(site) if site else desk.site_of(of)
    with desk.session.reading() as connection:
        of_station = places.station_named(connection, to.subject, station).subject if station else None
    thermometers.move(desk.session, desk.actor, of.row.thermometer, to.subject, of_station)
    place = f"{to.payload.name}, {station}" if station else to.payload.name
    return desk.done("moved", {**_named(of), "site": to.subject, "station": of_station}, tag=of.tag_id, place=place)


# --- service status ------------------------------------------------------------------------------------------


@app.command("take-out", epilog="take-out KI001X --why damaged --give-to AR")
def take_out(
    context: typer.Context,
    tag: Tag,
    why: Why,
    give_to: Annotated[str, typer.Option("--give-to", metavar="INITIALS")] = "",
) -> int:
    from registry.services import lookup, people, thermometers, typed

    desk = Desk.of(context)
    of = desk.find(tag)
    wanted = typed.choice("why", why, PUT_OUT_WHY)
    with desk.session.reading() as connection:
        whom = people.find_person(connection, give_to).person if give_to else None
        check = lookup.last_check(connection, of.row.thermometer)
    because = check.check if check is not None and wanted == "outside" else None
    thermometers.take_out(desk.session, desk.actor, of.row.thermometer, wanted, because, whom)
    few = desk.too_few_left(of.row.thermometer)
    return desk.done("taken_out", {**_named(of), "why": wanted}, *few, tag=of.tag_id)


def _status(context: typer.Context, tag: str, status: str, said: str, only: str = "") -> int:
    from registry.services import thermometers, typed

    desk = Desk.of(context)
    of = desk.find(tag)
    part = typed.choice("only", only, ("cold", "hot")) if only else None
    thermometers.set_status(desk.session, desk.actor, of.row.thermometer, status, only=part)
    with desk.session.reading() as connection:
        now = thermometers.thermometer(connection, of.row.thermometer).row.service_status
    lines = [desk.say(f"cli.{said}", tag=of.tag_id, only=desk.say(f"cli.only.{part}") if part else "")]
    if now == "check_first":
        lines.append(desk.say("cli.is_check_first"))
    lines += desk.too_few_left(of.row.thermometer)
    return desk.answer(lines, {"done": said, **_named(of), "status": now})


@app.command("put-back", epilog="put-back KI001X")
def put_back(context: typer.Context, tag: Tag) -> int:
    return _status(context, tag, "in_service", "put_back")


@app.command("limit", epilog="limit KI001X --only cold")
def limit(context: typer.Context, tag: Tag, only: Annotated[str, typer.Option("--only", metavar="cold|hot")]) -> int:
    return _status(context, tag, "limited_use", "limited", only)


@app.command("retire", epilog="retire KI001X")
def retire(context: typer.Context, tag: Tag) -> int:
    return _status(context, tag, "retired", "retired")


def _incident(context: typer.Context, tag: str, what: str) -> int:
    from registry.services.incidents import report_incident

    desk = Desk.of(context)
    of = desk.find(tag)
    found = report_incident(desk.session, desk.actor, of.row.thermometer, what)
    few = desk.too_few_left(*found.thermometers)
    return desk.done(what, {**_named(of), "incident": found.incident}, *few, tag=of.tag_id)


@app.command("lost", epilog="lost KI001X")
def lost(context: typer.Context, tag: Tag) -> int:
    return _incident(context, tag, "lost")


@app.command("found", epilog="found KI001X")
def found(context: typer.Context, tag: Tag) -> int:
    return _incident(context, tag, "found")


# --- parts and outside certificates --------------------------------------------------------------------------


@app.command("sensor-changed", epilog="sensor-changed KI001X --maker Brisa --serial 77123")
def sensor_changed(context: typer.Context, tag: Tag, maker: Maker = "", model: Model = "", serial: Serial = "") -> int:
    from registry.services import thermometers

    desk = Desk.of(context)
    of = desk.find(tag)
    part = thermometers.PartGiven(maker, model, serial)
    thermometers.change_sensor(desk.session, desk.actor, of.row.thermometer, part)
    return desk.done("sensor_changed", _named(of), tag=of.tag_id)


@app.command(
    "reference",
    epilog='reference KI900X --number 26-1044 --issuer "Laboratorio Norte" --issued 2026-01-10 --point 0:0.1:0.05:2',
)
def reference(
    context: typer.Context,
    tag: Tag,
    number: Annotated[str, typer.Option("--number", metavar="TEXT")],
    issuer: Annotated[str, typer.Option("--issuer", metavar="TEXT")],
    issued: Annotated[str, typer.Option("--issued", metavar="2026-01-10")],
    point: Annotated[list[str] | None, typer.Option("--point", metavar="T:CORRECTION:U:K")] = None,
    due: Annotated[str, typer.Option("--due", metavar="2027-01-10")] = "",
    drift: Annotated[str, typer.Option("--drift", metavar="VALUE")] = "",
    unit: Unit = "",
) -> int:
    from registry.services import thermometers, typed

    desk = Desk.of(context)
    of = desk.find(tag)
    today, of_unit = desk.today("UTC"), desk.unit(unit, of)
    given = thermometers.OutsideCertificate(
        number,
        issuer,
        typed.day(issued, today, "issued"),
        tuple(typed.certificate_point(one, of_unit) for one in point or []),
        typed.day(due, today, "due") if due else None,
        typed.difference(drift, of_unit, "drift") if drift else None,
    )
    thermometers.add_outside_certificate(desk.session, desk.actor, of.row.thermometer, given)
    return desk.done("reference_set", {**_named(of), "number": number}, tag=of.tag_id, number=number)


def _named(of: "Thermometer") -> dict[str, Any]:
    return {"thermometer": of.row.thermometer, "tag_id": of.tag_id}
