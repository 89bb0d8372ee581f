"""Papers for a whole site: certificates of all that lack one, list for the wall, when one is off, overview."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from registry.commands import exits
from registry.commands.desk import Desk
from registry.commands.looking_back import paper_asked
from registry.commands.options import Out, Site, Station

if TYPE_CHECKING:
    from registry.services.batch_certificates import Cannot, Has

app = typer.Typer()

Language = Annotated[str, typer.Option("--language", metavar="en|es")]
PaperSize = Annotated[str, typer.Option("--paper", metavar="a4|letter")]


def language_asked(desk: Desk, text: str) -> str | None:
    """A language that pages are written in, else the one asked for before the command; nothing is the group's."""
    from registry import resources
    from registry.services import typed

    return typed.choice("language", text, resources.languages()) if text else desk.language_asked or None


@app.command("certificates-for", epilog="certificates-for --site KI --out certificates.pdf")
def certificates_for(
    context: typer.Context,
    site: Site = "",
    station: Station = "",
    type: Annotated[str, typer.Option("--type", metavar="TYPE")] = "",
    every: Annotated[bool, typer.Option("--every")] = False,
    language: Language = "",
    paper: PaperSize = "",
    out: Out = "",
) -> int:
    from registry import resources
    from registry.services import batch_certificates as service
    from registry.services import places, typed
    from registry.services.table import Wanted

    desk = Desk.of(context)
    at = desk.site(site)
    with desk.session.reading() as connection:
        place = places.station_named(connection, at.subject, station).subject if station else None
    kind = typed.choice("type", type, resources.instrument_types()) if type else None
    made = service.issue_missing(
        desk.session,
        desk.actor,
        Wanted(site=at.subject, station=place, type=kind),
        Path(out or f"{at.payload.letters}-certificates"),
        language=language_asked(desk, language),
        paper=paper_asked(paper),
        every=every,
    )
    lines = [desk.say("batch.issued", count=len(made.issued), site=at.payload.name)]
    if made.had:
        lines.append(desk.say("batch.had", count=len(made.had)))
    lines += [said_of(one, desk.language) for one in made.cannot]
    if len(made.files) > 1:
        lines.append(desk.say("batch.files", count=len(made.files), folder=made.files[0].parent))
    elif made.files:
        lines.append(desk.say("batch.file", file=made.files[0]))
    said = {
        "issued": [_has_data(one) for one in made.issued],
        "had": [_has_data(one) for one in made.had],
        "cannot": [_cannot_data(one) for one in made.cannot],
        "files": [str(one) for one in made.files],
    }
    return desk.answer(lines, said, exits.ATTENTION if made.cannot else exits.DONE)


def said_of(one: "Cannot", language: str) -> str:
    """One that gets no certificate, and why."""
    from registry.services.words.batch import cannot

    return cannot(one, language)


def _has_data(one: "Has") -> dict[str, Any]:
    return {
        "thermometer": one.thermometer,
        "tag_id": one.tag_id,
        "number": one.issued.number,
        "certificate": one.issued.certificate,
    }


def _cannot_data(one: "Cannot") -> dict[str, Any]:
    return {"thermometer": one.thermometer, "tag_id": one.tag_id, "why": one.code, "number": one.number or None}


@app.command("wall-list", epilog="wall-list --site KI --out wall.pdf")
def wall_list(
    context: typer.Context, site: Site = "", language: Language = "", paper: PaperSize = "", out: Out = ""
) -> int:
    from registry.services import wall_list as service

    return _of_site(context, site, language, paper, out, "wall-list", service.printed)


@app.command("when-off", epilog="when-off --site KI --out when-off.pdf")
def when_off(
    context: typer.Context, site: Site = "", language: Language = "", paper: PaperSize = "", out: Out = ""
) -> int:
    from registry.services import when_off as service

    return _of_site(context, site, language, paper, out, "when-off", service.printed)


WRITTEN = {"wall-list": "wall.written", "when-off": "off.written"}


def _of_site(
    context: typer.Context,
    site: str,
    language: str,
    paper: str,
    out: str,
    name: str,
    printed: Callable[..., bytes],
) -> int:
    """A page that is drawn anew for a site, and the sentence that says where it lies."""
    desk = Desk.of(context)
    at = desk.site(site)
    page = printed(desk.session, at.subject, language=language_asked(desk, language), paper=paper_asked(paper))
    file = str(desk.write(out or f"{at.payload.letters}-{name}.pdf", page))
    return desk.answer([desk.say(WRITTEN[name], site=at.payload.name, file=file)], {"site": at.subject, "file": file})


@app.command("overview", epilog="overview --site KI --out overview.pdf")
def overview(
    context: typer.Context,
    site: Site = "",
    by_day: Annotated[str, typer.Option("--by-day", metavar="DAY")] = "",
    language: Language = "",
    paper: PaperSize = "",
    out: Out = "",
) -> int:
    from registry.services import overview as service
    from registry.services import places, typed

    desk = Desk.of(context)
    at = desk.site(site) if site else None
    with desk.session.reading() as connection:
        zone = at.payload.zone if at else next((one.payload.zone for one in places.sites(connection)), "UTC")
    page = service.printed(
        desk.session,
        at.subject if at else None,
        by_day=typed.day(by_day, desk.today(zone), "by_day") if by_day else None,
        language=language_asked(desk, language),
        paper=paper_asked(paper),
    )
    file = str(desk.write(out or (f"{at.payload.letters}-overview.pdf" if at else "overview.pdf"), page))
    said = {"site": at.subject if at else None, "file": file}
    return desk.answer([desk.say("overview.written", file=file)], said)
