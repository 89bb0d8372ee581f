"""A list as a spreadsheet: `--out FILE.xlsx` or `FILE.csv` writes what would be shown, whole, to a file."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from registry.commands import exits
from registry.commands.desk import Desk
from registry.wording import format

if TYPE_CHECKING:
    from registry.services.spreadsheet_out import TableOut
    from registry.services.tables_out import Words


def words_of(desk: Desk) -> "Words":
    from registry.services.tables_out import Words

    return Words(desk.language, desk.region, desk.session.demo)


def is_spreadsheet(out: str) -> bool:
    """Whether a file is asked for as a spreadsheet, where it could be pages to print as well."""
    from registry.services.spreadsheet_out import ENDINGS

    return out.lower().endswith(ENDINGS)


def save(
    desk: Desk,
    out: str,
    table: "TableOut",
    data: Mapping[str, Any],
    code: int = exits.DONE,
    besides: Sequence[str] = (),
) -> int:
    """Write a table to a file, by its ending, and say so; besides: what has no row in it, as sentences."""
    from registry.services.spreadsheet_out import ending_of, written

    desk.write(out, written(table, ending_of(out)))
    rows = len(table.rows)
    line = desk.say("spreadsheet.written", count=rows, rows=format.number(rows, desk.region), file=out)
    return desk.answer([line, *besides], {**data, "file": out, "rows": rows}, code)
