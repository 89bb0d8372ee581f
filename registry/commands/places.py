"""Sites, stations and shifts."""

from typing import Annotated

import typer

from registry.commands.desk import Desk, table
from registry.commands.options import Site
from registry.wording import format

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
        ]
        for one in found
    ]
    head = [desk.say(f"cli.head.{one}") for one in ("shift", "begins", "ends", "weekdays", "site")]
    lines = [desk.say("cli.shifts", count=len(rows)), *table(head, rows)]
    return desk.answer(lines, {"shifts": [one.payload.as_payload() for one in found]})
