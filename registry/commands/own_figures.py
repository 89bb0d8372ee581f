"""A kitchen's own figures: the sheet to fill in, what it comes to, and using it."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from registry.commands.desk import Desk, table
from registry.commands.importing import Asked, yes_to
from registry.commands.options import Out

if TYPE_CHECKING:
    from registry.services.own_figures import Own, OwnFigures

own_app = typer.Typer()

File = Annotated[str, typer.Argument(metavar="FILE")]
Tags = Annotated[list[str], typer.Argument(metavar="TAG...")]


@own_app.command("sheet", epilog="own-figures sheet KI001X KI0028 --out afternoon.csv")
def sheet(context: typer.Context, tags: Tags, out: Out = "") -> int:
    from registry.services import own_figures

    desk = Desk.of(context)
    with desk.session.reading() as connection:
        text = own_figures.blank_sheet(connection, tags)
    steps = [desk.say(f"own_figures.step.{number}") for number in range(1, 7)]
    if not out:
        return desk.answer([*steps, "", text.rstrip()], {"sheet": text})
    desk.write(out, text.encode())
    return desk.answer([*steps, desk.say("own_figures.written", file=out)], {"file": out})


@own_app.command("work-out", epilog="own-figures work-out afternoon.csv")
def work_out(context: typer.Context, file: File, asked: Asked = None) -> int:
    desk = Desk.of(context)
    return _answer(desk, _worked_out(desk, file, asked), "own_figures.not_used")


@own_app.command("use", epilog="own-figures use afternoon.csv")
def use(context: typer.Context, file: File, asked: Asked = None) -> int:
    from registry.services import own_figures

    desk = Desk.of(context)
    found = _worked_out(desk, file, asked)
    own_figures.use(desk.session, desk.actor, found, desk.today("UTC").isoformat())
    return _answer(desk, found, "own_figures.used")


def _worked_out(desk: Desk, file: str, asked: list[str] | None) -> "OwnFigures":
    from registry.services import own_figures
    from registry.services.import_rows import Options

    options = Options(asked=yes_to(asked))
    with desk.session.reading() as connection:
        return own_figures.work_out(desk.session, connection, Path(file).read_bytes(), options)


def _answer(desk: Desk, found: "OwnFigures", code: str) -> int:
    head = [desk.say(f"own_figures.head.{one}") for one in ("figure", "before", "own", "dof", "rests_on")]
    lines = table(head, [_row(desk, one) for one in found.figures])
    lines += [desk.say(f"own_figures.missing.{one}") for one in found.missing]
    said: dict[str, Any] = {
        "figures": [
            {
                "code": one.code,
                "before": str(one.before),
                "own": str(one.value),
                "half_width": one.half_width,
                "dof": one.found.dof if one.found.dof < 1e9 else None,
                "readings": one.found.readings,
                "mean_error": one.found.mean,
            }
            for one in found.figures
        ],
        "missing": list(found.missing),
    }
    return desk.answer([*lines, desk.say(code, count=found.readings)], said)


def _row(desk: Desk, one: "Own") -> list[str]:
    from registry.services.words import own_figures as words

    return words.row(one, desk.language, desk.region)
