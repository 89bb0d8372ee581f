"""Who works here, what each may do, and who was trained when."""

from typing import Annotated

import typer

from registry.commands.desk import Desk, table
from registry.commands.options import Day, Initials, Out
from registry.commands.saving import save, words_of

person_app = typer.Typer()


@person_app.command("add", epilog='person add "Luis Gil" --initials LG --role lead')
def add(
    context: typer.Context,
    name: Annotated[str, typer.Argument(metavar="NAME")],
    initials: Annotated[str, typer.Option("--initials", metavar="INITIALS")],
    roles: Annotated[list[str] | None, typer.Option("--role", metavar="ROLE")] = None,
    sites: Annotated[list[str] | None, typer.Option("--site", metavar="SITE")] = None,
) -> int:
    from registry.services import typed
    from registry.services.people import add_person
    from registry.services.session import ROLES

    desk = Desk.of(context)
    chosen = tuple(typed.choice("roles", one, ROLES) for one in roles or ["lead"])
    places = tuple(desk.site(one).subject for one in sites or [])
    person = add_person(desk.session, desk.actor, name, initials, chosen, places)
    return desk.done("person_added", {"person": person, "initials": initials.strip()}, name=name, initials=initials)


@person_app.command("change", epilog="person change LG --role lead --role officer")
def change(
    context: typer.Context,
    initials: Initials,
    roles: Annotated[list[str] | None, typer.Option("--role", metavar="ROLE")] = None,
    sites: Annotated[list[str] | None, typer.Option("--site", metavar="SITE")] = None,
    every_site: Annotated[bool, typer.Option("--every-site")] = False,
) -> int:
    from registry.services import typed
    from registry.services.people import change_person, find_person
    from registry.services.session import ROLES

    desk = Desk.of(context)
    with desk.session.reading() as connection:
        now = find_person(connection, initials)
    chosen = tuple(typed.choice("roles", one, ROLES) for one in roles or now.roles)
    places = () if every_site else tuple(desk.site(one).subject for one in sites) if sites else now.sites
    change_person(desk.session, desk.actor, now.person, chosen, places)
    said = {"person": now.person, "roles": list(chosen), "sites": list(places)}
    named = ", ".join(desk.say(f"role.{one}") for one in chosen)
    return desk.done("person_changed", said, initials=now.initials, roles=named)


@person_app.command("list", epilog="person list")
def list_people(context: typer.Context, out: Out = "") -> int:
    from datetime import date

    from registry.services import tables_out
    from registry.services.people import people
    from registry.wording import format

    desk = Desk.of(context)
    with desk.session.reading() as connection:
        found = people(connection)
    rows = [
        [
            one.initials or desk.say("cli.erased"),
            one.name,
            ", ".join(desk.say(f"role.{role}") for role in one.roles),
            format.day(date.fromisoformat(one.left), desk.region) if one.left else "",
        ]
        for one in found
    ]
    head = [desk.say(f"cli.head.{one}") for one in ("initials", "name", "roles", "left")]
    said = [
        {
            "person": one.person,
            "initials": one.initials,
            "name": one.name,
            "roles": list(one.roles),
            "sites": list(one.sites),
            "left": one.left,
        }
        for one in found
    ]
    if out:
        return save(desk, out, tables_out.all_people(desk.session, words_of(desk)), {"people": said})
    return desk.answer([desk.say("cli.people", count=len(rows)), *table(head, rows)], {"people": said})


@person_app.command("left", epilog="person left LG --day 2026-03-31")
def left(context: typer.Context, initials: Initials, day: Day = "") -> int:
    from registry.services import typed
    from registry.services.lookup import person_ever
    from registry.services.people import person_left

    desk = Desk.of(context)
    with desk.session.reading() as connection:
        person = person_ever(connection, initials).person
    on = typed.day(day, desk.today("UTC"))
    person_left(desk.session, desk.actor, person, on)
    return desk.done("person_left", {"person": person, "day": on.isoformat()}, initials=initials)


@person_app.command("trained", epilog='person trained LG --kind "ice point" --day 2026-03-03')
def trained(
    context: typer.Context,
    initials: Initials,
    kind: Annotated[str, typer.Option("--kind", metavar="TEXT")],
    day: Day = "",
    until: Annotated[str, typer.Option("--until", metavar="2027-03-03")] = "",
) -> int:
    from registry.services import typed
    from registry.services.people import find_person, record_training

    desk = Desk.of(context)
    with desk.session.reading() as connection:
        person = find_person(connection, initials).person
    on, what = typed.day(day, desk.today("UTC")), typed.code("kind", kind)
    end = typed.day(until, on, "until") if until else None
    record_training(desk.session, desk.actor, person, what, on, until=end)
    said = {"person": person, "kind": what, "day": on.isoformat(), "until": end.isoformat() if end else None}
    return desk.done("person_trained", said, initials=initials, kind=what.replace("_", " "))


@person_app.command("erase", epilog="person erase LG --yes")
def erase(context: typer.Context, initials: Initials, yes: Annotated[bool, typer.Option("--yes")] = False) -> int:
    from registry.services.lookup import person_ever
    from registry.services.people import erase_person
    from registry.services.problems import refuse

    desk = Desk.of(context)
    with desk.session.reading() as connection:
        person = person_ever(connection, initials).person
    if not yes:
        raise refuse("person", "say_yes", value=initials)
    erase_person(desk.session, desk.actor, person)
    return desk.done("person_erased", {"person": person}, initials=initials)
