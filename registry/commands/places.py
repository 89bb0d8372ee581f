"""Sites, stations and shifts."""

from datetime import date
from typing import TYPE_CHECKING, Annotated

import typer

from registry.commands.desk import Desk, table
from registry.commands.options import Day, Site
from registry.wording import format

if TYPE_CHECKING:
    from registry.records.places import ShiftSet

site_app = typer.Typer()
station_app = typer.Typer()
shift_app = typer.Typer()

Name = Annotated[str, typer.Argument(metavar="NAME")]
Letters = Annotated[str, typer.Option("--letters", metavar="KI")]
Zone = Annotated[str, typer.Option("--zone", metavar="Europe/Madrid")]
Elevation = Annotated[str, typer.Option("--elevation", metavar='"120 m"')]
Source = Annotated[str, typer.Option("--pressure-source", metavar="SOURCE")]
Address = Annotated[str, typer.Option("--address", metavar="TEXT")]


@site_app.command("add", epilog='site add Kitchen --letters KI --zone Europe/Madrid --elevation "650 m"')
def add_site(
    context: typer.Context,
    name: Name,
    letters: Letters,
    zone: Zone,
    elevation: Elevation,
    pressure_source: Source = "elevation",
    address: Address = "",
) -> int:
    from registry.compute.atmosphere import PressureSource
    from registry.services import places, typed

    desk = Desk.of(context)
    source = typed.choice("pressure_source", pressure_source, PressureSource)
    new = places.NewSite(name, letters, zone, typed.elevation(elevation), source, address)
    site = places.add_site(desk.session, desk.actor, new)
    return desk.done("site_added", {"site": site, "name": name, "letters": letters.upper()}, name=name)


@site_app.command("list", epilog="site list")
def list_sites(context: typer.Context) -> int:
    from registry.quantity import Length
    from registry.services import places

    desk = Desk.of(context)
    with desk.session.reading() as connection:
        found = places.sites(connection)
    rows = [
        [
            one.payload.letters,
            one.payload.name,
            one.payload.zone,
            format.typed(Length.from_text(one.payload.elevation), desk.region),
            desk.say(f"pressure_source.{one.payload.pressure_source}"),
        ]
        for one in found
    ]
    head = [desk.say(f"cli.head.{one}") for one in ("letters", "site", "zone", "elevation", "pressure")]
    lines = [desk.say("cli.sites", count=len(rows)), *table(head, rows)]
    return desk.answer(lines, {"sites": [one.payload.as_payload() for one in found]})


@site_app.command("change", epilog='site change KI --elevation "667 m"')
def change_site(
    context: typer.Context,
    site: Annotated[str, typer.Argument(metavar="SITE")],
    name: Annotated[str, typer.Option("--name", metavar="TEXT")] = "",
    letters: Letters = "",
    zone: Zone = "",
    elevation: Elevation = "",
    pressure_source: Source = "",
    address: Address = "",
) -> int:
    from registry.compute.atmosphere import PressureSource
    from registry.quantity import Length
    from registry.services import places, typed

    desk = Desk.of(context)
    fact = desk.site(site)
    now = fact.payload
    new = places.NewSite(
        name or now.name,
        letters or now.letters,
        zone or now.zone,
        typed.elevation(elevation) if elevation else Length.from_text(now.elevation),
        typed.choice("pressure_source", pressure_source or now.pressure_source, PressureSource),
        address or now.address or "",
    )
    places.change_site(desk.session, desk.actor, fact.subject, new)
    return desk.done("site_changed", {"site": fact.subject, "name": new.name}, name=new.name)


# --- stations ------------------------------------------------------------------------------------------------


@station_app.command("add", epilog="station add Grill --site KI")
def add_station(context: typer.Context, name: Name, site: Site = "") -> int:
    from registry.services import places

    desk = Desk.of(context)
    fact = desk.site(site)
    station = places.add_station(desk.session, desk.actor, fact.subject, name)
    said = {"station": station, "site": fact.subject, "name": name}
    return desk.done("station_added", said, name=name, site=fact.payload.name)


@station_app.command("list", epilog="station list --site KI")
def list_stations(context: typer.Context, site: Site = "") -> int:
    from registry.services import places

    desk = Desk.of(context)
    of_site = desk.site(site).subject if site else None
    with desk.session.reading() as connection:
        names = {one.subject: one.payload.name for one in places.sites(connection)}
        found = places.stations(connection, of_site)
    rows = [[one.payload.name, names.get(one.payload.site, "")] for one in found]
    head = [desk.say("cli.head.station"), desk.say("cli.head.site")]
    lines = [desk.say("cli.stations", count=len(rows)), *table(head, rows)]
    return desk.answer(lines, {"stations": [one.payload.as_payload() for one in found]})


# --- shifts --------------------------------------------------------------------------------------------------


@shift_app.command("add", epilog="shift add Lunch 11:00 16:00 --days mon-fri --site KI")
def add_shift(
    context: typer.Context,
    name: Name,
    start: Annotated[str, typer.Argument(metavar="START")],
    end: Annotated[str, typer.Argument(metavar="END")],
    weekdays: Annotated[str, typer.Option("--days", metavar="mon-fri")] = "",
    from_day: Annotated[str, typer.Option("--from", metavar="2026-03-03")] = "",
    site: Site = "",
) -> int:
    from registry.services import places, typed

    desk = Desk.of(context)
    fact = desk.site(site)
    day = typed.day(from_day, desk.today(fact.payload.zone), "from_day")
    days = typed.weekdays(weekdays)
    shift = places.add_shift(desk.session, desk.actor, fact.subject, name, start, end, days, day)
    said = {"shift": shift, "site": fact.subject, "name": name}
    return desk.done("shift_added", said, name=name, start=start, end=end, site=fact.payload.name)


@shift_app.command("change", epilog="shift change Lunch --start 11:30 --days mon-sat --site KI")
def change_shift(
    context: typer.Context,
    name: Name,
    new_name: Annotated[str, typer.Option("--name", metavar="TEXT")] = "",
    start: Annotated[str, typer.Option("--start", metavar="START")] = "",
    end: Annotated[str, typer.Option("--end", metavar="END")] = "",
    weekdays: Annotated[str, typer.Option("--days", metavar="mon-fri")] = "",
    site: Site = "",
) -> int:
    from registry.services import places, typed

    desk = Desk.of(context)
    now = _shift_named(desk, site, name)
    days = typed.weekdays(weekdays) if weekdays else tuple(now.weekdays)
    new = places.NewShift(new_name or now.name, start or now.start, end or now.end, days)
    places.change_shift(desk.session, desk.actor, now.shift, new)
    said = {"shift": now.shift, "site": now.site, "name": new.name}
    return desk.done("shift_changed", said, name=new.name, start=new.start, end=new.end)


@shift_app.command("end", epilog="shift end Lunch --day 2026-03-31 --site KI")
def end_shift(context: typer.Context, name: Name, day: Day = "", site: Site = "") -> int:
    from registry.services import places, typed

    desk = Desk.of(context)
    now = _shift_named(desk, site, name)
    on = typed.day(day, desk.today(desk.site(site).payload.zone))
    places.end_shift(desk.session, desk.actor, now.shift, on)
    said = {"shift": now.shift, "day": on.isoformat()}
    return desk.done("shift_ended", said, name=now.name, day=format.day(on, desk.region))


@shift_app.command("go-on", epilog="shift go-on Lunch --site KI")
def go_on(context: typer.Context, name: Name, site: Site = "") -> int:
    from registry.services import places

    desk = Desk.of(context)
    now = _shift_named(desk, site, name)
    places.end_shift(desk.session, desk.actor, now.shift, None)
    return desk.done("shift_goes_on", {"shift": now.shift}, name=now.name)


def _shift_named(desk: Desk, site: str, name: str) -> "ShiftSet":
    from registry.services import places

    at = desk.site(site)
    with desk.session.reading() as connection:
        return places.shift_named(connection, at.subject, name).payload


@shift_app.command("list", epilog="shift list --site KI")
def list_shifts(context: typer.Context, site: Site = "") -> int:
    from registry.services import places

    desk = Desk.of(context)
    of_site = desk.site(site).subject if site else None
    with desk.session.reading() as connection:
        names = {one.subject: one.payload.name for one in places.sites(connection)}
        found = places.shifts(connection, of_site)
    days = [desk.say(f"cli.weekday.{one}") for one in places.WEEKDAYS]
    rows = [
        [
            one.payload.name,
            one.payload.start,
            one.payload.end,
            " ".join(days[n] for n in one.payload.weekdays),
            names.get(one.payload.site, ""),
            format.day(date.fromisoformat(one.payload.to_day), desk.region) if one.payload.to_day else "",
        ]
        for one in found
    ]
    head = [desk.say(f"cli.head.{one}") for one in ("shift", "begins", "ends", "weekdays", "site", "last_day")]
    lines = [desk.say("cli.shifts", count=len(rows)), *table(head, rows)]
    return desk.answer(lines, {"shifts": [one.payload.as_payload() for one in found]})
