"""Bytes of a CSV or XLSX file from outside become rows of cells; what is not one table is refused."""

import csv
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from hashlib import sha256
from io import BytesIO, TextIOWrapper
from itertools import islice

from registry.services import xlsxfile
from registry.services.problems import Refused, refuse

MAX_BYTES = 200_000_000
MAX_ROWS = 2_000_000
MAX_LINE = 65_536  # characters; below the csv module's own limit for one cell, so that ours speaks first
SEPARATORS = (",", ";", "\t")
ENCODINGS = ("utf-8", "utf-16-le", "utf-16-be", "cp1252")
_MARKS = ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))
_ESCAPED = ("'=", "'+", "'-", "'@", "'\t", "'\r")  # how text is kept from becoming a formula in a spreadsheet


@dataclass(frozen=True, slots=True)
class Table:
    """A file that can be read: how, and what its first row holds. The bytes are read anew for each pass.

    content: of a spreadsheet the sheet as CSV. sha256: of the file as it came. merged: first and last cell, each as
    (row, column) from 0, of those that a spreadsheet has merged into one. formulas: rows by column, both from 0, of
    the cells that hold a formula.
    """

    content: bytes
    encoding: str
    separator: str
    header: tuple[str, ...]
    sha256: str
    merged: tuple[xlsxfile.Merged, ...] = ()
    is_sheet: bool = False
    formulas: Mapping[int, frozenset[int]] = field(default_factory=dict)

    def rows(self) -> Iterator[tuple[int, list[str]]]:
        """Row number (the header is 1, empty rows count) and cells; Refused where the file cannot be read on."""
        for number, cells in islice(_records(self.content, self.encoding, self.separator), 1, None):
            if number > MAX_ROWS + 1:
                raise refuse("file", "too_many_rows", limit=MAX_ROWS)
            if any(cells):
                yield number, cells


def open_table(
    content: bytes, known: Collection[str], encoding: str | None = None, sheet: str = "", *, asking: bool = False
) -> Table:
    """Find out how a file is written, from its first bytes and its first row only.

    known: normal names of columns (see `normal`), by which the separator is told. encoding: one of ENCODINGS where
    the file is not UTF-8 and has no byte order mark; it is asked for, since guessing turns letters into others.
    sheet: of a spreadsheet where several hold something; asked for too. asking: what each column is can be asked, so
    none need be known.
    """
    xlsxfile.refuse_others(content)
    if xlsxfile.is_one(content):
        found = xlsxfile.as_csv(content, sheet)
        head = tuple(next(_records(found.content, "utf-8", ","), (0, []))[1])
        if not any(head) if asking else not {normal(one) for one in head} & set(known):
            raise refuse("file", "no_columns")
        digest = sha256(content).hexdigest()
        return Table(found.content, "utf-8", ",", head, digest, found.merged, True, found.formulas)
    if len(content) > MAX_BYTES:
        raise refuse("file", "too_large", limit=MAX_BYTES // 1_000_000)
    if not content.strip():
        raise refuse("file", "empty")
    if encoding is not None and encoding not in ENCODINGS:
        raise refuse("file", "encoding_unknown", value=encoding, choices=", ".join(ENCODINGS))
    written = next((name for mark, name in _MARKS if content.startswith(mark)), encoding or "utf-8")
    header, separator = _header(content, written, known, asking=asking)
    return Table(content, written, separator, header, sha256(content).hexdigest())


def normal(text: str) -> str:
    """Names of columns and words for codes, as they are compared."""
    return " ".join(text.replace("_", " ").split()).casefold()


def _header(content: bytes, encoding: str, known: Collection[str], *, asking: bool) -> tuple[tuple[str, ...], str]:
    """The first row by the separator that finds most of the known columns; where none is known, most columns."""
    best: tuple[tuple[int, int], tuple[str, ...], str] = ((0, 1), (), "")
    for separator in SEPARATORS:
        try:
            _, cells = next(_records(content, encoding, separator), (0, []))
        except Refused as refused:
            if refused.problems[0].code == "quotes":  # another separator may read it
                continue
            raise
        count = len({normal(cell) for cell in cells} & set(known))
        filled = sum(bool(cell) for cell in cells) if asking or count else 0
        best = max(best, ((count, filled), tuple(cells), separator), key=lambda one: one[0])
    if not best[2]:
        raise refuse("file", "no_columns")
    return best[1], best[2]


def _records(content: bytes, encoding: str, separator: str) -> Iterator[tuple[int, list[str]]]:
    stream = TextIOWrapper(BytesIO(content), encoding=encoding, newline="")
    reader = csv.reader(_lines(stream), delimiter=separator, strict=True)
    number = 0
    while True:
        try:
            cells = next(reader)
        except StopIteration:
            return
        except UnicodeDecodeError as error:
            raise refuse("file", "not_this_encoding", **_undecodable(content, encoding, error)) from None
        except csv.Error:
            raise refuse("file", "quotes", row=number + 1) from None
        except _BadLine as bad:
            raise refuse("file", bad.code, row=number + 1) from None
        number += 1
        yield number, [_cell(cell) for cell in cells]


class _BadLine(ValueError):
    def __init__(self, code: str) -> None:
        super().__init__(code)
        self.code = code


def _lines(stream: TextIOWrapper) -> Iterable[str]:
    """Lines with their ends; one that never ends is not read into memory as text."""
    while line := stream.readline(MAX_LINE + 1):
        if len(line) > MAX_LINE:
            raise _BadLine("line_too_long")
        if "\0" in line:
            raise _BadLine("nul")
        yield line


def _undecodable(content: bytes, encoding: str, error: UnicodeDecodeError) -> dict[str, object]:
    """The row of the first byte that is not text in this encoding; the stream knows only its own piece."""
    try:
        content.decode(encoding)
    except UnicodeDecodeError as whole:
        error = whole
    before = content[: error.start].decode(encoding, "replace")
    return {"row": max(before.count("\n"), before.count("\r")) + 1, "value": encoding.removesuffix("-sig")}


def _cell(text: str) -> str:
    if text.startswith(_ESCAPED):
        text = text[1:]
    return text.strip()
