"""Imports from CSV and XLSX files: looked at whole first, then recorded."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from registry.commands.desk import Desk
from registry.commands.options import Site, Unit

if TYPE_CHECKING:
    from registry.services.importing import Imported, Looked, Options

import_app = typer.Typer()

File = Annotated[str, typer.Argument(metavar="FILE")]
Point = Annotated[str, typer.Option("--point", metavar="POINT")]
Initials = Annotated[str, typer.Option("--initials", metavar="INITIALS")]
DayOrder = Annotated[str, typer.Option("--day-order", metavar="ymd|dmy|mdy")]
Encoding = Annotated[str, typer.Option("--encoding", metavar="NAME")]
Sheet = Annotated[str, typer.Option("--sheet", metavar="NAME")]
Columns = Annotated[list[str] | None, typer.Option("--column", metavar="THEIRS=OURS")]
Tags = Annotated[list[str] | None, typer.Option("--tag", metavar="THEIRS=TAG")]
LeaveOut = Annotated[list[str] | None, typer.Option("--leave-out", metavar="COLUMN")]
Asked = Annotated[list[str] | None, typer.Option("--yes-to", metavar="QUESTION")]
Try = Annotated[bool, typer.Option("--try")]

POINTS = ("ice_point", "boiling_point", "comparison")


@import_app.command("history", epilog="import history checks.xlsx --unit C --point ice_point --try")
def history(
    context: typer.Context,
    file: File,
    unit: Unit = "",
    point: Point = "",
    site: Site = "",
    initials: Initials = "",
    day_order: DayOrder = "ymd",
    encoding: Encoding = "",
    sheet: Sheet = "",
    columns: Columns = None,
    tags: Tags = None,
    leave_out: LeaveOut = None,
    asked: Asked = None,
    judge: Annotated[bool, typer.Option("--judge/--no-judge")] = True,
    try_it: Try = False,
) -> int:
    from registry.services import importing

    desk = Desk.of(context)
    options = _options(unit, day_order, encoding, sheet, columns, leave_out, asked, site=site, initials=initials,
                       point=point, tags=tags, judge=judge)  # fmt: skip
    looked, plan = _looked_through(
        desk, "history", file, options,
        lambda connection, seen: importing.check_history(desk.session, connection, seen.table, seen.options),
    )  # fmt: skip
    said = {
        "rows": plan.rows,
        "left_out": plan.left_out,
        "stated": plan.stated,
        "judged": plan.judged,
        "new_people": list(plan.new_people),
    }
    more = [desk.say("cli.import_people", initials=", ".join(plan.new_people))] if plan.new_people else []
    if plan.left_out:
        more.append(desk.say("setup.plan_left_out", count=plan.left_out))
    if try_it:
        return _good(desk, plan.rows, [*more, *_left_out(desk, looked)], said)
    done = importing.record_history(desk.session, desk.actor, plan)
    return _imported(desk, done, [*more, *_left_out(desk, looked)], said)


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
    sheet: Sheet = "",
    columns: Columns = None,
    tags: Tags = None,
    leave_out: LeaveOut = None,
    asked: Asked = None,
    try_it: Try = False,
) -> int:
    from registry.services import importing

    desk = Desk.of(context)
    options = _options(unit, day_order, encoding, sheet, columns, leave_out, asked, site=site, initials=initials,
                       point=point, tags=tags)  # fmt: skip
    looked, plan = _looked_through(
        desk, "shift", file, options,
        lambda connection, seen: importing.check_shift(desk.session, connection, seen.table, seen.options),
    )  # fmt: skip
    said = {"rows": plan.rows, "checks": len(plan.checks)}
    if try_it:
        return _good(desk, plan.rows, _left_out(desk, looked), said)
    return _imported(desk, importing.record_shift(desk.session, desk.actor, plan), [], said)


@import_app.command("thermometers", epilog="import thermometers ours.xlsx --unit C --site KI --try")
def thermometers(
    context: typer.Context,
    file: File,
    unit: Unit = "",
    site: Site = "",
    day_order: DayOrder = "ymd",
    encoding: Encoding = "",
    sheet: Sheet = "",
    columns: Columns = None,
    leave_out: LeaveOut = None,
    asked: Asked = None,
    try_it: Try = False,
) -> int:
    from registry.services import importing

    desk = Desk.of(context)
    options = _options(unit, day_order, encoding, sheet, columns, leave_out, asked, site=site)
    looked, plan = _looked_through(
        desk, "thermometers", file, options,
        lambda connection, seen: importing.check_thermometers(
            desk.session, connection, desk.actor, seen.table, seen.options
        ),
    )  # fmt: skip
    said = {"rows": plan.rows, "tags": list(plan.named)}
    if try_it:
        return _good(desk, plan.rows, _left_out(desk, looked), said)
    return _imported(desk, importing.record_thermometers(desk.session, desk.actor, plan), [], said)


@import_app.command("people", epilog="import people staff.csv --leave-out Team --try")
def people(
    context: typer.Context,
    file: File,
    site: Site = "",
    encoding: Encoding = "",
    sheet: Sheet = "",
    columns: Columns = None,
    leave_out: LeaveOut = None,
    asked: Asked = None,
    try_it: Try = False,
) -> int:
    from registry.services import importing

    desk = Desk.of(context)
    options = _options("", "ymd", encoding, sheet, columns, leave_out, asked, site=site)
    looked, plan = _looked_through(
        desk, "people", file, options,
        lambda connection, seen: importing.check_people(desk.session, connection, desk.actor, seen.table, seen.options),
    )  # fmt: skip
    said = {"rows": plan.rows, "initials": list(plan.named)}
    if try_it:
        return _good(desk, plan.rows, _left_out(desk, looked), said)
    return _imported(desk, importing.record_people(desk.session, desk.actor, plan), [], said)


def _looked_through(
    desk: Desk, kind: str, file: str, options: "Options", check: "Callable[[Any, Looked], Any]"
) -> tuple["Looked", Any]:
    """Look a file through whole; what its columns are is remembered once nothing stands against it."""
    from registry.services import importing

    looked = importing.look_at(desk.session, kind, Path(file).read_bytes(), options)
    with desk.session.reading() as connection:
        plan = check(connection, looked)
    importing.remember(desk.session, kind, looked)
    return looked, plan


def _options(
    unit: str,
    day_order: str,
    encoding: str,
    sheet: str,
    columns: list[str] | None,
    leave_out: list[str] | None,
    asked: list[str] | None,
    *,
    site: str = "",
    initials: str = "",
    point: str = "",
    tags: list[str] | None = None,
    judge: bool = True,
) -> "Options":
    """What is said of a file rather than guessed from it."""
    from registry.services import typed
    from registry.services.importing import Options

    return Options(
        encoding=encoding or None,
        sheet=sheet,
        unit=typed.unit(unit) if unit else None,
        point=typed.choice("point", point, POINTS) if point else "",
        site=site,
        initials=initials,
        day_order=typed.choice("day_order", day_order, ("ymd", "dmy", "mdy")),
        columns=_pairs("column", columns),
        tags=_pairs("tag", tags),
        leave_out=frozenset(leave_out or []),
        asked=yes_to(asked),
        judge=judge,
    )


def yes_to(asked: list[str] | None) -> frozenset[str]:
    """Codes of the questions that are answered with yes for the whole file."""
    from registry.services import typed
    from registry.services.import_rows import QUESTION_OF

    questions = tuple(dict.fromkeys(QUESTION_OF.values()))
    return frozenset(typed.choice("asked", one, questions) for one in asked or [])


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


def _left_out(desk: Desk, looked: "Looked") -> list[str]:
    """Columns that are not read are named, also where that was said another time."""
    named = [one.title for one in looked.columns if one.is_ == "leave_out"]
    return [desk.say("setup.columns_left_out", columns=", ".join(named))] if named else []


def _good(desk: Desk, rows: int, more: list[str], said: dict[str, Any]) -> int:
    return desk.answer([desk.say("cli.import_good", count=rows), *more], {"good": True, **said})


def _imported(desk: Desk, done: "Imported", people: list[str], said: dict[str, Any]) -> int:
    data = {"done": "imported", "import": done.import_, "entries": done.entries, **said}
    return desk.answer([desk.say("cli.imported", count=done.rows), *people], data)
