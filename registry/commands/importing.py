"""Imports from CSV files: looked at whole first, then recorded."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from registry.commands.desk import Desk
from registry.commands.options import Site, Unit

if TYPE_CHECKING:
    from registry.services.importing import Options

import_app = typer.Typer()

File = Annotated[str, typer.Argument(metavar="FILE")]
Point = Annotated[str, typer.Option("--point", metavar="POINT")]
Initials = Annotated[str, typer.Option("--initials", metavar="INITIALS")]
DayOrder = Annotated[str, typer.Option("--day-order", metavar="ymd|dmy|mdy")]
Encoding = Annotated[str, typer.Option("--encoding", metavar="NAME")]
Columns = Annotated[list[str] | None, typer.Option("--column", metavar="THEIRS=OURS")]
Tags = Annotated[list[str] | None, typer.Option("--tag", metavar="THEIRS=TAG")]
LeaveOut = Annotated[list[str] | None, typer.Option("--leave-out", metavar="COLUMN")]
Asked = Annotated[list[str] | None, typer.Option("--yes-to", metavar="QUESTION")]
Try = Annotated[bool, typer.Option("--try")]

POINTS = ("ice_point", "boiling_point", "comparison")
ASKED = ("off_scale", "too_fine", "other_unit", "twice", "recorded_already", "pressure_kind", "bath_in_doubt")


@import_app.command("history", epilog="import history checks.csv --unit C --point ice_point --try")
def history(
    context: typer.Context,
    file: File,
    unit: Unit = "",
    point: Point = "",
    site: Site = "",
    initials: Initials = "",
    day_order: DayOrder = "ymd",
    encoding: Encoding = "",
    columns: Columns = None,
    tags: Tags = None,
    leave_out: LeaveOut = None,
    asked: Asked = None,
    judge: Annotated[bool, typer.Option("--judge/--no-judge")] = True,
    try_it: Try = False,
) -> int:
    from registry.services import importing

    desk = Desk.of(context)
    options = _options(unit, point, site, initials, day_order, encoding, columns, tags, leave_out, asked, judge)
    content = Path(file).read_bytes()
    with desk.session.reading() as connection:
        plan = importing.check_history(desk.session, connection, content, options)
    said = {"rows": plan.rows, "stated": plan.stated, "judged": plan.judged, "new_people": list(plan.new_people)}
    people = [desk.say("cli.import_people", initials=", ".join(plan.new_people))] if plan.new_people else []
    if try_it:
        return _good(desk, plan.rows, people, said)
    done = importing.record_history(desk.session, desk.actor, plan)
    return _imported(desk, done, people, said)


@import_app.command("shift", epilog="import shift friday.csv --site KI --try")
def shift(
    context: typer.Context,
    file: File,
    unit: Unit = "",
    point: Point = "",
    site: Site = "",
    initials: Initials = "",
    day_order: DayOrder = "ymd",
    encoding: Encoding = "",
    columns: Columns = None,
    tags: Tags = None,
    leave_out: LeaveOut = None,
    asked: Asked = None,
    try_it: Try = False,
) -> int:
    from registry.services import importing

    desk = Desk.of(context)
    options = _options(unit, point, site, initials, day_order, encoding, columns, tags, leave_out, asked, True)
    content = Path(file).read_bytes()
    with desk.session.reading() as connection:
        plan = importing.check_shift(desk.session, connection, content, options)
    said = {"rows": plan.rows, "checks": len(plan.checks)}
    if try_it:
        return _good(desk, plan.rows, [], said)
    return _imported(desk, importing.record_shift(desk.session, desk.actor, plan), [], said)


def _options(
    unit: str,
    point: str,
    site: str,
    initials: str,
    day_order: str,
    encoding: str,
    columns: list[str] | None,
    tags: list[str] | None,
    leave_out: list[str] | None,
    asked: list[str] | None,
    judge: bool,
) -> "Options":
    """What is said of a file rather than guessed from it."""
    from registry.services import typed
    from registry.services.importing import Options

    return Options(
        encoding=encoding or None,
        unit=typed.unit(unit) if unit else None,
        point=typed.choice("point", point, POINTS) if point else "",
        site=site,
        initials=initials,
        day_order=typed.choice("day_order", day_order, ("ymd", "dmy", "mdy")),
        columns=_pairs("column", columns),
        tags=_pairs("tag", tags),
        leave_out=frozenset(leave_out or []),
        asked=frozenset(typed.choice("asked", one, ASKED) for one in asked or []),
        judge=judge,
    )


def _pairs(field: str, given: list[str] | None) -> dict[str, str]:
    """`theirs=ours`."""
    from registry.services.problems import refuse

    found = {}
    for one in given or []:
        theirs, equals, ours = one.rpartition("=")
        if not equals or not theirs or not ours:
            raise refuse(field, "not_a_pair", value=one)
        found[theirs] = ours
    return found


def _good(desk: Desk, rows: int, people: list[str], said: dict[str, Any]) -> int:
    return desk.answer([desk.say("cli.import_good", count=rows), *people], {"good": True, **said})


def _imported(desk: Desk, done: Any, people: list[str], said: dict[str, Any]) -> int:
    data = {"done": "imported", "import": done.import_, "entries": done.entries, **said}
    return desk.answer([desk.say("cli.imported", count=done.rows), *people], data)
