"""Reports of something that happened which were taken back afterwards."""

from typing import Annotated

import typer

from registry.commands.desk import Desk, iso, table

app = typer.Typer()


@app.command("taken-back", epilog="taken-back --weeks 4")
def taken_back(
    context: typer.Context,
    weeks: Annotated[int, typer.Option("--weeks", min=1, max=520, metavar="N")] = 12,
) -> int:
    from registry.services import places
    from registry.services.taken_back import reports_taken_back

    desk = Desk.of(context)
    found = reports_taken_back(desk.session, 7 * weeks)
    with desk.session.reading() as connection:
        zones = {one.subject: one.payload.zone for one in places.sites(connection)}
    rows = []
    for one in found:
        zone, names = zones.get(one.site, "UTC"), desk.initials_by_person
        said = {
            "what": desk.say(f"incident.{one.what}"),
            "reporter": names.get(one.reported_by) or desk.say("cli.erased"),
            "reported": desk.instant(one.reported_at, zone),
            "person": names.get(one.by) or desk.say("cli.erased"),
            "taken": desk.instant(one.at, zone),
            "why": desk.say(f"story.void_why.{one.why}"),
        }
        rows.append([one.tag_id, desk.say("taken_back.by_oneself" if one.by_oneself else "taken_back.line", **said)])
    data = [
        {
            "thermometer": one.thermometer,
            "tag_id": one.tag_id,
            "site": one.site,
            "number": one.number,
            "what": one.what,
            "reported_at": iso(one.reported_at),
            "reported_by": one.reported_by,
            "at": iso(one.at),
            "by": one.by,
            "why": one.why,
        }
        for one in found
    ]
    if not found:
        return desk.answer([desk.say("taken_back.none", weeks=weeks)], {"taken_back": []})
    head = [desk.say(f"cli.head.{one}") for one in ("tag", "what")]
    lines = [desk.say("taken_back.told", count=len(found), weeks=weeks), *table(head, rows)]
    return desk.answer(lines, {"taken_back": data})
