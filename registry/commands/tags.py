"""Identity and status tags: of some thermometers, of all that want one, and the page that finds a printer's trim."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from registry.commands.desk import Desk
from registry.commands.options import NEGATIVE, Out, Site, Station
from registry.wording import format

if TYPE_CHECKING:
    from registry.services.tag_printing import Asked, Drawn, Kind
    from registry.services.tag_setup import Setup

tag_app = typer.Typer()

Tags = Annotated[list[str], typer.Argument(metavar="TAG...")]
Stock = Annotated[str, typer.Option("--stock", metavar="a4_63.5x38.1|50x25|...")]
Start = Annotated[str, typer.Option("--start", metavar="NUMBER")]
TrimX = Annotated[str, typer.Option("--trim-x", metavar="MM")]
TrimY = Annotated[str, typer.Option("--trim-y", metavar="MM")]
Dpi = Annotated[str, typer.Option("--dpi", metavar="203|300|600")]
Code = Annotated[str, typer.Option("--code", metavar="qr|datamatrix|code128")]


@tag_app.command(
    "identity", epilog="tag identity KI001X KI002V --stock 50x25 --out tags.pdf", context_settings=NEGATIVE
)
def identity(
    context: typer.Context,
    tag_ids: Tags,
    stock: Stock = "",
    first_label: Start = "",
    trim_x: TrimX = "",
    trim_y: TrimY = "",
    dpi: Dpi = "",
    code_kind: Code = "",
    out: Out = "",
) -> int:
    desk = Desk.of(context)
    asked = _named(desk, tag_ids, "identity")
    setup = _setup(desk, stock, dpi, code_kind, first_label, trim_x, trim_y)
    return _print(desk, asked, setup, out or f"{_name(desk, tag_ids)}-identity.pdf")


@tag_app.command("status", epilog="tag status KI001X --stock 38.1x21.2", context_settings=NEGATIVE)
def status(
    context: typer.Context,
    tag_ids: Tags,
    stock: Stock = "",
    first_label: Start = "",
    trim_x: TrimX = "",
    trim_y: TrimY = "",
    dpi: Dpi = "",
    code_kind: Code = "",
    out: Out = "",
) -> int:
    desk = Desk.of(context)
    asked = _named(desk, tag_ids, "status")
    setup = _setup(desk, stock, dpi, code_kind, first_label, trim_x, trim_y)
    return _print(desk, asked, setup, out or f"{_name(desk, tag_ids)}-status.pdf")


@tag_app.command(
    "sheet",
    epilog="tag sheet --site KI --wanted --stock a4_38.1x21.2 --start 5 --trim-x 0.5",
    context_settings=NEGATIVE,
)
def sheet(
    context: typer.Context,
    site: Site = "",
    station: Station = "",
    tag_kind: Annotated[str, typer.Option("--kind", metavar="status|identity|both")] = "status",
    wanted_only: Annotated[bool, typer.Option("--wanted")] = False,
    stock: Stock = "",
    first_label: Start = "",
    trim_x: TrimX = "",
    trim_y: TrimY = "",
    dpi: Dpi = "",
    code_kind: Code = "",
    out: Out = "",
) -> int:
    from registry.services import places, tag_printing, tag_wants, typed
    from registry.services.tag_printing import Asked

    desk = Desk.of(context)
    chosen = typed.choice("kind", tag_kind, (*tag_printing.KINDS, "both"))
    setup = _setup(desk, stock, dpi, code_kind, first_label, trim_x, trim_y)
    where = desk.site(site)
    with desk.session.reading() as connection:
        at = places.station_named(connection, where.subject, station).subject if station else None
        rows = tag_wants.rows_at(connection, where.subject, at)
        kinds = [one for one in tag_printing.KINDS if chosen in (one, "both")]
        found = [one for each in kinds for one in tag_wants.look(desk.session, connection, rows, each)]
    asked = [Asked(one.thermometer, one.kind) for one in found if one.why or not wanted_only]
    day = format.day(desk.today(where.payload.zone), desk.group.region)  # in the group's language, as tags are
    return _print(desk, asked, setup, out or "tags.pdf", f"{where.payload.name}, {day}")


@tag_app.command("calibration", epilog="tag calibration --stock a4_63.5x38.1 --out calibration.pdf")
def calibration(context: typer.Context, stock: Stock = "", out: Out = "") -> int:
    from registry.services import tag_printing, tag_setup

    desk = Desk.of(context)
    setup = _setup(desk, stock, "", "", "", "", "")
    file = desk.write(out or "calibration.pdf", tag_printing.calibration(setup.stock, desk.language))
    lines = [desk.say("cli.calibration_drawn", file=file)]
    if tag_setup.sheet(setup.stock) is None:
        lines.append(desk.say("tags.calibrate_roll"))
    return desk.answer(lines, {"done": "calibration_drawn", "stock": setup.stock, "file": str(file)})


def _setup(desk: Desk, stock: str, dpi: str, code: str, start: str, trim_x: str, trim_y: str) -> "Setup":
    """What is left out is as it was chosen on this computer."""
    from registry.services import settings, tag_setup, typed

    here = tag_setup.setup_here(settings.local_file(desk.home))
    return tag_setup.typed_setup(
        stock or here.stock,
        dpi or str(here.dpi),
        typed.choice("code", code, tag_setup.CODES) if code else here.code,
        start or "1",
        trim_x or str(here.trim_right),
        trim_y or str(here.trim_down),
    )


def _named(desk: Desk, tags: Sequence[str], kind: "Kind") -> "list[Asked]":
    from registry.services.tag_printing import Asked

    found = dict.fromkeys(desk.find(one).row.thermometer for one in tags)
    return [Asked(one, kind) for one in found]


def _name(desk: Desk, tags: Sequence[str]) -> str:
    return desk.find(tags[0]).tag_id if len(tags) == 1 else "tags"


def _print(desk: Desk, asked: "Sequence[Asked]", setup: "Setup", out: str, batch: str = "") -> int:
    """Written first, then recorded; what could not be drawn is named."""
    from registry.services import tag_printing

    drawn = tag_printing.print_tags(desk.session, desk.actor, asked, setup, lambda pdf: desk.write(out, pdf), batch)
    lines = [desk.say("cli.tags_printed", count=len(drawn.entries), file=out)]
    lines += [_left_out(desk, drawn, number) for number in range(len(drawn.left_out))]
    said = {
        "done": "tags_printed",
        "file": out,
        "stock": setup.stock,
        "tags": [{"thermometer": one.thermometer, "tag": one.tag, "status": one.status} for one in drawn.entries],
        "left_out": [{"tag_id": one.tag_id, "tag": one.kind, "problem": one.problem.code} for one in drawn.left_out],
    }
    return desk.answer(lines, said)


def _left_out(desk: Desk, drawn: "Drawn", number: int) -> str:
    from registry.wording import refusals

    one = drawn.left_out[number]
    why = refusals.problem(one.problem.field, one.problem.code, one.problem.values, desk.language)
    return desk.say("tags.left_out", tag=one.tag_id, why=why)
