"""Reads one XLSX file in a process of its own: bytes in, rows of text out, nothing of ours or of the network near.

Run as a script by `xlsxfile`: the file on stdin, the sheet wanted as the one argument. Out come one line of JSON and,
where it went well, the rows as CSV in UTF-8, each at its own row number. It imports nothing of ours.

The listed sizes are looked at before anything is unpacked. Then each part is unpacked to its listed size and no
further, and the library is handed a plain archive of just these parts: a listing that lies is found by counting.
"""

import csv
import datetime
import io
import json
import re
import struct
import sys
import zipfile
import zlib
from xml.etree import ElementTree

MAX_UNPACKED = 64 * 1024 * 1024  # bytes
MAX_RATIO = 100  # unpacked to packed; a sheet of figures has 5 to 40 (common practice, no source)
MAX_ENTRIES = 200
MAX_LISTING = 1024 * 1024  # bytes of the list of entries
MEMORY = 512 * 1024 * 1024  # bytes of address space
MERGED_TOLD = 200
SPREAD = 100_000  # cells that one formula for many may fill, as far as they are told
END, END_SIZE = b"PK\x05\x06", 22
ERRORS = ("#NULL!", "#DIV/0!", "#VALUE!", "#REF!", "#NAME?", "#NUM!", "#N/A", "#GETTING_DATA", "#SPILL!", "#CALC!")
_FORMULA = re.compile(rb"<(?:\w+:)?f[\s/>]")
_END_OF_CELLS = re.compile(rb"</(?:\w+:)?sheetData\s*>")  # what comes after has formulas that are of no cell
_TAG = re.compile(rb"<(?:\w+:)?(row|c|f)\b([^<>]*)>")
_AT = re.compile(rb"""\br\s*=\s*["']([A-Z]*)([0-9]+)["']""")
_SPREAD_OVER = re.compile(rb"""\bref\s*=\s*["']([A-Z]+)([0-9]+):([A-Z]+)([0-9]+)["']""")
# The library shows an error as an empty cell; as a text it stays to be seen.
_ERROR_CELL = re.compile(rb"""(<(?:\w+:)?c\b[^<>]*?\bt\s*=\s*)(["'])e\2""")


class Unreadable(Exception):
    """A code that says why, for the sentence."""


def main() -> None:
    limit()
    content = sys.stdin.buffer.read()
    try:
        head, rows = read(content, sys.argv[1] if len(sys.argv) > 1 else "")
    except Unreadable as why:
        head, rows = {"problem": str(why)}, b""
    out = sys.stdout.buffer
    out.write(json.dumps(head).encode() + b"\n")
    out.write(rows)
    out.flush()


def limit() -> None:
    """Take no more memory than is allowed, where the system knows such a limit."""
    try:
        import resource
    except ImportError:
        return
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def read(content: bytes, wanted: str) -> tuple[dict[str, object], bytes]:
    """What there is to say of a file, and the rows of one of its sheets as CSV."""
    import python_calamine

    try:
        archive = plain(content, listed(content))
        book = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(archive))
        shown = [
            one.name
            for one in book.sheets_metadata
            if one.visible == python_calamine.SheetVisibleEnum.Visible
            and one.typ == python_calamine.SheetTypeEnum.WorkSheet
        ]
        filled = [name for name in shown if book.get_sheet_by_name(name).end is not None]
        if not filled:
            raise Unreadable("empty")
        if wanted and wanted not in filled:
            return {"problem": "sheet_unknown", "sheets": filled}, b""
        if not wanted and len(filled) > 1:
            return {"problem": "sheet_which", "sheets": filled}, b""
        name = wanted or filled[0]
        sheet = book.get_sheet_by_name(name)
        merged = sheet.merged_cell_ranges or []
        said = {"merged": merged[:MERGED_TOLD], "sheets": filled, "formulas": formulas(part_of(archive, name))}
        return said, as_csv(sheet)
    except python_calamine.PasswordError:
        raise Unreadable("encrypted") from None
    except (python_calamine.CalamineError, ValueError, KeyError, ElementTree.ParseError):
        raise Unreadable("not_a_workbook") from None


# --- the archive ---------------------------------------------------------------------------------------------


def listed(content: bytes) -> list[zipfile.ZipInfo]:
    """The entries as the archive lists them, refused where they are too many or too large; nothing is unpacked."""
    at = content.rfind(END, max(0, len(content) - END_SIZE - 65_535))
    if at < 0 or len(content) < at + END_SIZE:
        raise Unreadable("not_a_workbook")
    count, size = struct.unpack("<HL", content[at + 10 : at + 16])
    if count > MAX_ENTRIES or size > MAX_LISTING:
        raise Unreadable("too_many_parts")
    try:
        entries = zipfile.ZipFile(io.BytesIO(content)).infolist()
    except (zipfile.BadZipFile, NotImplementedError, ValueError, OSError):
        raise Unreadable("not_a_workbook") from None
    if len(entries) > MAX_ENTRIES:
        raise Unreadable("too_many_parts")
    total = sum(one.file_size for one in entries)
    if total > MAX_UNPACKED or total > MAX_RATIO * len(content):
        raise Unreadable("unpacks_too_large")
    names = {one.filename for one in entries}
    if "xl/workbook.xml" not in names:
        raise Unreadable("other_format" if names & {"content.xml", "xl/workbook.bin"} else "not_a_workbook")
    if len(names) < len(entries):
        raise Unreadable("not_a_workbook")
    return entries


def plain(content: bytes, entries: list[zipfile.ZipInfo]) -> bytes:
    """The parts that hold cells, unpacked to their listed sizes, in an archive without packing."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as made:
        for one in entries:
            if one.filename.endswith((".xml", ".rels")):
                part = unpacked(content, one)
                if one.filename.startswith("xl/worksheets/"):
                    part = _ERROR_CELL.sub(rb"\1\2str\2", part)
                made.writestr(one.filename, part)
    return out.getvalue()


def unpacked(content: bytes, entry: zipfile.ZipInfo) -> bytes:
    """One part, never more of it than the listing says."""
    if entry.flag_bits & 1:
        raise Unreadable("encrypted")
    head = content[entry.header_offset : entry.header_offset + 30]
    if len(head) < 30 or not head.startswith(b"PK\x03\x04"):
        raise Unreadable("not_a_workbook")
    start = entry.header_offset + 30 + sum(struct.unpack("<HH", head[26:30]))
    packed = content[start : start + entry.compress_size]
    if entry.compress_type == zipfile.ZIP_STORED:
        found = packed
    elif entry.compress_type == zipfile.ZIP_DEFLATED:
        try:
            found = zlib.decompressobj(-zlib.MAX_WBITS).decompress(packed, entry.file_size + 1)
        except zlib.error:
            raise Unreadable("not_a_workbook") from None
    else:
        raise Unreadable("not_a_workbook")
    if len(found) != entry.file_size:
        raise Unreadable("sizes_lie")
    if found.startswith((b"\xff\xfe", b"\xfe\xff")):  # only UTF-8 is looked through for errors
        raise Unreadable("not_a_workbook")
    return found


# --- formulas ------------------------------------------------------------------------------------------------


def part_of(archive: bytes, sheet: str) -> bytes:
    """The part that holds a sheet, as the workbook names it: the library gives values only."""
    with zipfile.ZipFile(io.BytesIO(archive)) as parts:
        book = ElementTree.fromstring(parts.read("xl/workbook.xml"))
        related = ElementTree.fromstring(parts.read("xl/_rels/workbook.xml.rels"))
        named = [one for one in book.iter() if one.tag.endswith("}sheet") and one.get("name") == sheet]
        ids = {value for one in named for name, value in one.items() if name.endswith("}id")}
        targets = [one.get("Target", "").lstrip("/") for one in related.iter() if one.get("Id") in ids]
        wanted = {(one if one.startswith("xl/") else f"xl/{one}").casefold() for one in targets}
        found = [name for name in parts.namelist() if name.casefold() in wanted]
        if len(found) != 1:
            raise Unreadable("not_a_workbook")
        return parts.read(found[0])


def formulas(sheet: bytes) -> dict[int, list[int]]:
    """Rows by column, both from 0, of the cells that hold a formula.

    >>> formulas(b'<row r="2"><c r="B2"><f>A2/10</f><v>0</v></c></row><row><c/><c><f/></c></row>')
    {1: [1, 2]}
    """
    found: dict[int, set[int]] = {}
    if _FORMULA.search(sheet) is None:
        return {}
    end = _END_OF_CELLS.search(sheet)
    row = column = -1
    for match in _TAG.finditer(sheet, 0, end.start() if end else len(sheet)):
        tag, attributes = match.groups()
        if tag == b"f":
            for cell_row, cell_column in [(row, column), *_filled(attributes)]:
                found.setdefault(cell_column, set()).add(cell_row)
            continue
        at = _AT.search(attributes)
        if tag == b"row":
            row, column = int(at[2]) - 1 if at else row + 1, -1
        elif at:
            row, column = int(at[2]) - 1, column_of(at[1])
        else:
            column += 1
    return {column: sorted(rows) for column, rows in sorted(found.items())}


def _filled(attributes: bytes) -> list[tuple[int, int]]:
    """The cells that a formula for many fills without standing in each; of a shared one each cell says so itself."""
    ref = _SPREAD_OVER.search(attributes)
    if ref is None or b"shared" in attributes:
        return []
    columns = range(column_of(ref[1]), column_of(ref[3]) + 1)
    rows = range(int(ref[2]) - 1, int(ref[4]))
    if len(columns) * len(rows) > SPREAD:
        raise Unreadable("takes_too_much")
    return [(row, column) for row in rows for column in columns]


def column_of(letters: bytes) -> int:
    """From 0, as a spreadsheet names it.

    >>> column_of(b"B"), column_of(b"AA")
    (1, 26)
    """
    number = 0
    for letter in letters:
        number = 26 * number + letter - ord("A") + 1
    return number - 1


# --- the cells -----------------------------------------------------------------------------------------------


def as_csv(sheet: object) -> bytes:
    """The rows from the first on and the columns from A on, empty ones too, so that each cell keeps its name."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    before = [""] * sheet.start[1]  # type: ignore[attr-defined]  # the library leaves out empty columns, not rows
    for row in sheet.iter_rows():  # type: ignore[attr-defined]
        writer.writerow([*before, *(text(cell) for cell in row)])
        if out.tell() > MAX_UNPACKED:
            raise Unreadable("unpacks_too_large")
    return out.getvalue().encode("utf-8", "replace")


def text(cell: object) -> str:
    """A cell as it would be typed: ISO dates, the shortest decimal.

    >>> text(-0.4), text(2.0), text(0.1 + 0.2), text(True), text(datetime.datetime(2026, 3, 3, 6, 9, 59, 999_999))
    ('-0.4', '2', '0.3', 'yes', '2026-03-03 06:10')
    """
    if isinstance(cell, str):
        return cell
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, int | float):
        return number(float(cell))
    if isinstance(cell, datetime.datetime):
        when = cell + datetime.timedelta(microseconds=500_000)  # a spreadsheet keeps parts of a day, not seconds
        return f"{when:%Y-%m-%d} {clock(when.hour, when.minute, when.second)}"
    if isinstance(cell, datetime.date):
        return cell.isoformat()
    if isinstance(cell, datetime.time):
        seconds = cell.hour * 3600 + cell.minute * 60 + cell.second + (cell.microsecond >= 500_000)
        return clock(seconds // 3600, seconds // 60 % 60, seconds % 60)
    if isinstance(cell, datetime.timedelta):
        seconds = round(cell.total_seconds())
        return clock(seconds // 3600, seconds // 60 % 60, seconds % 60)
    return str(cell)


def clock(hour: int, minute: int, second: int) -> str:
    return f"{hour:02d}:{minute:02d}" + (f":{second:02d}" if second else "")


def number(value: float) -> str:
    """A spreadsheet keeps 15 digits: what lies beyond comes from its own arithmetic."""
    whole = f"{value:.15g}"
    if "e" not in whole:
        return whole
    from decimal import Decimal

    return f"{Decimal(whole):f}"


if __name__ == "__main__":
    main()
