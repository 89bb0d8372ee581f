"""Tables for other programs: heads and rows of typed values become a CSV or an XLSX file, by the file's ending.

Numbers stay numbers, below zero too; days are days. Only text that a spreadsheet would take for a formula gets an
apostrophe before it, which our own import takes off again. The same rows give the same bytes.
"""

import csv
import io
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from decimal import Decimal
from pathlib import PurePath
from typing import Any

from registry.services.problems import refuse

Value = str | int | Decimal | date | time | datetime | None
ENDINGS = (".xlsx", ".csv")
FORMULA_LIKE = ("=", "+", "-", "@", "\t", "\r")
MAX_ROWS = 1_048_575  # of an XLSX sheet, below its heads
LONGEST = 32_767  # characters in a cell of one
NARROW, WIDE = 7, 48  # columns, in characters
MADE = datetime(2000, 1, 1)  # noqa: DTZ001  in every file, so that it says nothing; the library takes no zone


@dataclass(frozen=True, slots=True)
class TableOut:
    """A table to be written. name: of the sheet. demo: none of it is real: the sheet, or each row of a CSV, says so.

    about: to what it is narrowed, in words: the head of each printed page of a sheet, and what the file says of itself.
    """

    name: str
    heads: tuple[str, ...]
    rows: Sequence[Sequence[Value]]
    demo: bool = False
    about: str = ""


def ending_of(file: str) -> str:
    """`.csv` or `.xlsx`, by the name of the file; refused for any other."""
    found = PurePath(file).suffix.lower()
    if found not in ENDINGS:
        raise refuse("out", "choose", value=file, choices=", ".join(ENDINGS))
    return found


def written(table: TableOut, ending: str) -> bytes:
    """The bytes of the file."""
    return _csv(table) if ending == ".csv" else _xlsx(table)


def _plain(text: str) -> str:
    """What people typed, so that no spreadsheet takes it for a formula."""
    return f"'{text}" if text.startswith(FORMULA_LIKE) else text


def _text(value: Value) -> str:
    """A value as it stands in a CSV file: a decimal point, ISO days, 24 hours.

    >>> _text(Decimal("-0.40")), _text("-0.4"), _text(date(2026, 3, 3)), _text(None)
    ('-0.40', "'-0.4", '2026-03-03', '')
    """
    if value is None:
        return ""
    if isinstance(value, str):
        return _plain(value)
    if isinstance(value, datetime):
        return f"{value:%Y-%m-%d} {_text(value.time())}"
    if isinstance(value, time):
        return f"{value:%H:%M:%S}" if value.second else f"{value:%H:%M}"
    if isinstance(value, date):
        return value.isoformat()
    return f"{value:f}" if isinstance(value, Decimal) else str(value)


def _csv(table: TableOut) -> bytes:
    """UTF-8 with its mark, without which the commonest spreadsheet program takes it for another encoding."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    demo = ["DEMO"] if table.demo else []
    writer.writerow([*(_plain(one) for one in table.heads), *demo])
    writer.writerows([*(_text(one) for one in row), *demo] for row in table.rows)
    return out.getvalue().encode("utf-8-sig")


def _xlsx(table: TableOut) -> bytes:
    import xlsxwriter  # late: it is wanted seldom

    if len(table.rows) > MAX_ROWS:
        raise refuse("file", "too_many_rows", limit=MAX_ROWS)
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, {"constant_memory": True})
    book.set_properties({"created": MADE} | ({"subject": table.about} if table.about else {}))
    sheet = book.add_worksheet(_sheet_name(f"DEMO {table.name}" if table.demo else table.name))
    if head := _head(table):
        sheet.set_header(head)
    sheet.freeze_panes(1, 0)
    sheet.repeat_rows(0)
    for n, width in enumerate(_widths(table)):
        sheet.set_column(n, n, width)
    bold = book.add_format({"bold": True, "text_wrap": True, "valign": "top"})
    for n, head in enumerate(table.heads):
        sheet.write_string(0, n, _plain(head), bold)
    formats: dict[str, Any] = {}

    def form(pattern: str) -> Any:
        if pattern not in formats:
            formats[pattern] = book.add_format({"num_format": pattern})
        return formats[pattern]

    for number, row in enumerate(table.rows, 1):
        for n, value in enumerate(row):
            _write(sheet, number, n, value, form)
    book.close()
    return out.getvalue()


def _head(table: TableOut) -> str:
    """Of each printed page; an ampersand stands for itself. Longer than 255 characters none is taken."""
    about = f"&L{table.about[:200].replace('&', '&&')}" if table.about else ""
    return f"{about}&CDEMO" if table.demo else about


def _write(sheet: Any, row: int, column: int, value: Value, form: Callable[[str], Any]) -> None:
    if isinstance(value, str):
        if value:
            sheet.write_string(row, column, _plain(value)[:LONGEST])
    elif isinstance(value, datetime):
        seconds = ":ss" if value.second else ""
        sheet.write_datetime(row, column, value.replace(microsecond=0), form(f"yyyy-mm-dd hh:mm{seconds}"))
    elif isinstance(value, time):
        sheet.write_datetime(row, column, value.replace(microsecond=0), form("hh:mm:ss" if value.second else "hh:mm"))
    elif isinstance(value, date):
        sheet.write_datetime(row, column, value, form("yyyy-mm-dd"))
    elif isinstance(value, Decimal):
        places = max(0, -int(value.as_tuple().exponent))
        sheet.write_number(row, column, float(value), form("0." + "0" * places if places else "0"))
    elif value is not None:
        sheet.write_number(row, column, value)


def _widths(table: TableOut) -> list[int]:
    """Of each column, by its longest text; a head may break into lines at its spaces."""
    found = [max((len(word) for word in head.split()), default=0) + 2 for head in table.heads]
    for row in table.rows:
        for n, value in enumerate(row):
            found[n] = max(found[n], len(_text(value)) + 2)
    return [min(max(one, NARROW), WIDE) for one in found]


def _sheet_name(name: str) -> str:
    """What a spreadsheet takes as the name of a sheet."""
    return "".join(" " if one in "[]:*?/\\" else one for one in name).strip("' ")[:31]
