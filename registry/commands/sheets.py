"""The shift sheet on paper: printed for a shift that is on or to come."""

from typing import Annotated, Literal

import typer

from registry.commands.desk import Desk
from registry.commands.for_a_site import language_asked
from registry.commands.options import Day, Out, Shift, Site

app = typer.Typer()


@app.command("shift-sheet", epilog="shift-sheet --site KI --shift Early --out sheet.pdf")
def shift_sheet(
    context: typer.Context,
    site: Site = "",
    shift: Shift = "",
    day: Day = "",
    every: Annotated[bool, typer.Option("--every")] = False,
    language: Annotated[str, typer.Option("--language", metavar="en|es")] = "",
    paper: Annotated[str, typer.Option("--paper", metavar="a4|letter")] = "",
    out: Out = "",
) -> int:
    from registry.services import lookup, shift_sheet, typed

    desk = Desk.of(context)
    at = desk.site(site)
    size: Literal["a4", "letter"] | None = None
    if paper:
        size = "letter" if typed.choice("paper", paper, ("a4", "letter")) == "letter" else "a4"
    with desk.session.reading() as connection:
        on = lookup.shift_on(connection, at, shift, typed.day(day, desk.today(at.payload.zone))) if shift else None
    page = shift_sheet.print_sheet(
        desk.session,
        at.subject,
        on=on,
        every=every,
        language=language_asked(desk, language),
        paper=size,
    )
    file = desk.write(out or f"{at.payload.letters}-shift-sheet.pdf", page)
    said = {"site": at.subject, "shift": on.shift.name if on else None, "file": str(file)}
    return desk.done("sheet_printed", said, site=at.payload.name, file=file)
