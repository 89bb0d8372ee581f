"""Spreadsheets for tests: what a person might bring, and what somebody might make to do harm."""

import io
import struct
import zipfile
from collections.abc import Callable, Sequence
from datetime import date, datetime, time
from typing import Any

import xlsxwriter


def xlsx(*rows: Sequence[Any], more: Callable[[Any, Any], object] | None = None, name: str = "Checks") -> bytes:
    """A workbook of one sheet. Text that begins with `=` is a formula, (formula, value) one with what it came to."""
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out)
    sheet = book.add_worksheet(name)
    day, moment = book.add_format({"num_format": "dd/mm/yyyy"}), book.add_format({"num_format": "dd/mm/yyyy hh:mm"})
    clock = book.add_format({"num_format": "hh:mm"})
    for r, row in enumerate(rows):
        for c, cell in enumerate(row):
            if isinstance(cell, tuple):
                sheet.write_formula(r, c, cell[0], None, cell[1])
            elif isinstance(cell, datetime):
                sheet.write_datetime(r, c, cell, moment)
            elif isinstance(cell, date):
                sheet.write_datetime(r, c, cell, day)
            elif isinstance(cell, time):
                sheet.write_datetime(r, c, cell, clock)
            elif isinstance(cell, str):
                sheet.write_string(r, c, cell)
            elif cell is not None:
                sheet.write(r, c, cell)
    if more is not None:
        more(book, sheet)
    book.close()
    return out.getvalue()


def packed_again(content: bytes, changed: dict[str, bytes]) -> bytes:
    """The archive with some of its parts replaced or added, packed as tightly as it goes."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, False, 9) as new:
        for name in old.namelist():
            new.writestr(name, changed.get(name) or old.read(name))
        for name in changed.keys() - set(old.namelist()):
            new.writestr(name, changed[name])
    return out.getvalue()


def swollen(size: int) -> bytes:
    """A sheet of one cell repeated until it is so many bytes: some kilobytes, packed."""
    cell = b'<row r="1"><c r="A1"><v>1</v></c></row>'
    head = b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>'
    sheet = head + cell * (size // len(cell)) + b"</sheetData></worksheet>"
    return packed_again(xlsx(["tag"]), {"xl/worksheets/sheet1.xml": sheet})


def lying(size: int, said: int) -> bytes:
    """The same with a listing that says so many bytes of it only."""
    content = bytearray(swollen(size))
    at = content.find(b"PK\x01\x02")
    while at >= 0:
        name_size = struct.unpack("<H", content[at + 28 : at + 30])[0]
        if content[at + 46 : at + 46 + name_size] == b"xl/worksheets/sheet1.xml":
            content[at + 24 : at + 28] = struct.pack("<L", said)
            local = struct.unpack("<L", content[at + 42 : at + 46])[0]
            content[local + 22 : local + 26] = struct.pack("<L", said)
        at = content.find(b"PK\x01\x02", at + 4)
    return bytes(content)


def crowded(entries: int) -> bytes:
    """An archive of very many empty parts."""
    return packed_again(xlsx(["tag"]), {f"xl/media/{n}.bin": b"" for n in range(entries)})
