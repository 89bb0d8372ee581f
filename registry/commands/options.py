"""Arguments and options that several commands share; their help stands in `help.toml` under the same names."""

from pathlib import Path
from typing import Annotated

import typer

from registry.commands.desk import Desk

# A reading below zero begins with a minus, which must not be taken for an option.
NEGATIVE = {"ignore_unknown_options": True}

Tag = Annotated[str, typer.Argument(metavar="TAG")]
Value = Annotated[str, typer.Argument(metavar="VALUE")]
Number = Annotated[str, typer.Argument(metavar="NUMBER")]
Initials = Annotated[str, typer.Argument(metavar="INITIALS")]
Site = Annotated[str, typer.Option("--site", metavar="SITE")]
Station = Annotated[str, typer.Option("--station", metavar="STATION")]
Shift = Annotated[str, typer.Option("--shift", metavar="SHIFT")]
Day = Annotated[str, typer.Option("--day", metavar="2026-03-03")]
Unit = Annotated[str, typer.Option("--unit", metavar="C|F")]
Bath = Annotated[str, typer.Option("--bath", metavar="NUMBER")]
Again = Annotated[bool, typer.Option("--again")]
QUESTIONS = ("off_scale", "too_fine", "other_unit", "other_kind_is_likelier", "room_is_likelier")  # it answers these
At = Annotated[str, typer.Option("--at", metavar="14:30")]
Why = Annotated[str, typer.Option("--why", metavar="WHY")]
Beside = Annotated[tuple[str, str] | None, typer.Option("--beside", metavar="TAG VALUE")]
AndBeside = Annotated[tuple[str, str] | None, typer.Option("--and", metavar="TAG VALUE")]
Made = Annotated[str, typer.Option("--made", metavar="HOW")]
Container = Annotated[str, typer.Option("--container", metavar="CONTAINER")]
Maker = Annotated[str, typer.Option("--maker", metavar="TEXT")]
Model = Annotated[str, typer.Option("--model", metavar="TEXT")]
Serial = Annotated[str, typer.Option("--serial", metavar="TEXT")]
Scales = Annotated[list[str] | None, typer.Option("--scale", metavar="UNIT:STEP:LOW:HIGH")]
Uses = Annotated[list[str] | None, typer.Option("--use", metavar="hot|cold")]
Adjusts = Annotated[str, typer.Option("--adjusts", metavar="nut|reset|trim|none")]
Waterproof = Annotated[bool | None, typer.Option("--waterproof/--not-waterproof")]
InUseSince = Annotated[str, typer.Option("--in-use-since", metavar="2026-03-03")]
Condition = Annotated[str, typer.Option("--condition", metavar="TEXT")]
Price = Annotated[str, typer.Option("--price", metavar='"24.90 EUR"|none')]


def _may_replace(context: typer.Context, value: bool) -> bool:
    if value and not context.resilient_parsing:
        Desk.of(context).replaces = True
    return value


def _free(context: typer.Context, name: str) -> str:
    """Refused before anything is recorded that the file should hold."""
    if name and not context.resilient_parsing:
        Desk.of(context).refuse_standing(Path(name))
    return name


Out = Annotated[str, typer.Option("--out", metavar="FILE", callback=_free)]
# Every command with `--out` is given it, see `registry.commands.app`; read before `--out`, wherever it stands.
Replace = Annotated[bool, typer.Option("--replace", is_eager=True, expose_value=False, callback=_may_replace)]
