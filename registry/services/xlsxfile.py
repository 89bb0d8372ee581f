"""A spreadsheet from outside becomes the text of a CSV file, read by a process of its own that may be ended."""

import json
import subprocess
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from registry.services import apart, xlsx_reader
from registry.services.problems import refuse

MAX_BYTES = 64_000_000
SECONDS = 20
ZIP, OLD = b"PK", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
# What other files begin with: pictures, pages, archives, programs.
OTHERS = (
    b"\x89PNG",
    b"\xff\xd8\xff",
    b"GIF8",
    b"%PDF",
    b"\x1f\x8b",
    b"7z\xbc\xaf",
    b"Rar!",
    b"BZh",
    b"\x7fELF",
    b"MZ\x90",
)
ERRORS = frozenset(xlsx_reader.ERRORS)
Merged = tuple[tuple[int, int], tuple[int, int]]  # first and last cell, each as (row, column) from 0


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet as CSV in UTF-8, which of its cells were merged into one, and which hold a formula: rows by column."""

    content: bytes
    merged: tuple[Merged, ...]
    formulas: Mapping[int, frozenset[int]] = field(default_factory=dict)


def refuse_others(content: bytes) -> None:
    """Files that are no table at all, by how they begin and whatever they are called."""
    if content.startswith(OLD):
        encrypted = "EncryptedPackage".encode("utf-16-le") in content
        raise refuse("file", "encrypted" if encrypted else "other_format")
    if content.startswith(OTHERS):
        raise refuse("file", "not_a_table")


def is_one(content: bytes) -> bool:
    """Whether it has the form of an XLSX file: a ZIP archive."""
    return content.startswith((ZIP + b"\x03\x04", ZIP + b"\x05\x06"))


def as_csv(content: bytes, sheet: str = "") -> Sheet:
    """One sheet of a file; which one is asked where several hold something. Refused with one problem."""
    if len(content) > MAX_BYTES:
        raise refuse("file", "too_large", limit=MAX_BYTES // 1_000_000)
    head, rows = _in_a_process(content, sheet)
    if "problem" in head:
        choices = ", ".join(head.get("sheets", ()))
        raise refuse("file", head["problem"], value=sheet, choices=choices, sheets=tuple(head.get("sheets", ())))
    merged = tuple(((a, b), (c, d)) for (a, b), (c, d) in head["merged"])
    return Sheet(rows, merged, {int(column): frozenset(found) for column, found in head["formulas"].items()})


def _in_a_process(content: bytes, sheet: str) -> tuple[dict[str, Any], bytes]:
    try:
        code, said = apart.run("xlsx_reader", content, sheet, seconds=SECONDS)
    except subprocess.TimeoutExpired:
        raise refuse("file", "takes_too_long", seconds=SECONDS) from None
    if code != 0:  # out of memory, or the library gave up
        raise refuse("file", "takes_too_much")
    head, _, rows = said.partition(b"\n")
    return json.loads(head), rows


def cell_name(row: int, column: int) -> str:
    """Row from 1 and column from 0 as a spreadsheet names the cell.

    >>> cell_name(17, 1), cell_name(2, 26)
    ('B17', 'AA2')
    """
    letters, left = "", column + 1
    while left:
        left, digit = divmod(left - 1, 26)
        letters = chr(ord("A") + digit) + letters
    return f"{letters}{row}"
