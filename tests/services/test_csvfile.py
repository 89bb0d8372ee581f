"""Bytes from outside: encodings, separators, quotes, and what is no table at all."""

import contextlib
import csv
from hashlib import sha256
from io import StringIO

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.services import csvfile
from registry.services.csvfile import open_table
from registry.services.problems import Refused

KNOWN = ("tag", "date", "reading")
PLAIN = "tag,date,reading\nPR0018,2026-03-03,0.4\n"


def rows(content: bytes, encoding: str | None = None) -> list[tuple[int, list[str]]]:
    return list(open_table(content, KNOWN, encoding).rows())


def refused(content: bytes, encoding: str | None = None) -> tuple[str, object]:
    """The code and the row of the one problem that a file has."""
    with pytest.raises(Refused) as caught:
        rows(content, encoding)
    (problem,) = caught.value.problems
    return problem.code, problem.values.get("row")


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_each_way_of_writing_gives_the_same_rows(encoding: str, separator: str, end: str) -> None:
    text = "tag,date,reading\nPR0018,2026-03-03,ñ 0.4 °C\n".replace(",", separator).replace("\n", end)
    assert rows(text.encode(encoding)) == [(2, ["PR0018", "2026-03-03", "ñ 0.4 °C"])]


def test_utf_16_is_told_by_its_mark_in_either_order() -> None:
    for mark, encoding in ((b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be")):
        assert rows(mark + PLAIN.encode(encoding)) == [(2, ["PR0018", "2026-03-03", "0.4"])]


def test_what_is_not_utf_8_is_refused_with_its_row_and_taken_when_the_encoding_is_said() -> None:
    content = "tag,date,reading\nPR0018,2026-03-03,0.4\nPR0018,2026-03-04,0.4 °C\n".encode("cp1252")
    assert refused(content) == ("not_this_encoding", 3)
    assert rows(content, "cp1252")[1] == (3, ["PR0018", "2026-03-04", "0.4 °C"])


def test_the_row_is_right_far_beyond_the_first_piece_that_is_read() -> None:
    content = b"tag,date,reading\n" + b"PR0018,2026-03-03,0.4\n" * 5000 + b"PR0018,2026-03-04,\xb0\n"
    assert refused(content) == ("not_this_encoding", 5002)


def test_utf_16_without_a_mark_is_read_when_its_order_is_said() -> None:
    for encoding in ("utf-16-le", "utf-16-be"):
        assert rows(PLAIN.encode(encoding), encoding) == [(2, ["PR0018", "2026-03-03", "0.4"])]


def test_an_encoding_that_is_not_offered_is_refused() -> None:
    assert refused(PLAIN.encode(), "utf-7")[0] == "encoding_unknown"


def test_cp1252_has_bytes_that_are_nothing() -> None:
    assert refused(PLAIN.encode() + b"PR0018,2026-03-03,\x81\n", "cp1252") == ("not_this_encoding", 3)


def test_utf_16_cut_in_half_is_refused() -> None:
    assert refused(PLAIN.encode("utf-16")[:-1])[0] == "not_this_encoding"


@pytest.mark.parametrize(
    ("content", "code", "row"),
    [
        (b"", "empty", None),
        (b" \r\n\n", "empty", None),
        (b"\xef\xbb\xbf", "no_columns", None),
        (b"a,b,c\n1,2,3\n", "no_columns", None),
        (PLAIN.encode() + b"PR0018,2026-03-03,0\x00.4\n", "nul", 3),
        (PLAIN.encode() + b'PR0018,2026-03-03,"0.4\n', "quotes", 3),
        (PLAIN.encode() + b'PR0018,2026-03-03,"0".4\n', "quotes", 3),
        (PLAIN.encode() + b'PR0018,2026-03-03,"' + b"0.4\n" * 40_000, "quotes", 3),
        (PLAIN.encode() + b"9" * 70_000, "line_too_long", 3),
    ],
    ids=["empty", "blank", "mark only", "columns", "nul", "open quote", "quote", "long quote", "long line"],
)
def test_what_is_no_table_is_refused(content: bytes, code: str, row: int | None) -> None:
    assert refused(content) == (code, row)


def test_a_line_of_a_hundred_megabytes_is_refused_without_being_read() -> None:
    assert refused(PLAIN.encode() + b"x" * 100_000_000) == ("line_too_long", 3)


def test_too_large_and_too_long(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(csvfile, "MAX_ROWS", 3)
    assert len(rows(b"tag,date,reading\n" + b"a,b,c\n" * 3)) == 3
    assert refused(b"tag,date,reading\n" + b"a,b,c\n" * 4)[0] == "too_many_rows"
    monkeypatch.setattr(csvfile, "MAX_BYTES", 40)
    assert refused(b"tag,date,reading\n" + b"a,b,c\n" * 10)[0] == "too_large"


def test_empty_rows_are_passed_over_and_counted() -> None:
    content = b"tag,date,reading\n\nPR0018,2026-03-03,0.4\n,,\n  ,\t,\nPR0018,2026-03-04,0.5\n"
    assert [number for number, _ in rows(content)] == [3, 6]


def test_a_line_end_inside_quotes_is_part_of_the_cell() -> None:
    content = b'tag,date,reading\nPR0018,2026-03-03,"two\r\nlines"\nPR0018,2026-03-04,0.5\n'
    assert rows(content) == [
        (2, ["PR0018", "2026-03-03", "two\r\nlines"]),
        (3, ["PR0018", "2026-03-04", "0.5"]),
    ]


@pytest.mark.parametrize(
    ("written", "cell"),
    [
        ("'=1+1", "=1+1"),
        ("'+34 600", "+34 600"),
        ("'-", "-"),
        ("'@home", "@home"),
        ("'\tx", "x"),
        ("'til noon", "'til noon"),
        ("'", "'"),
        ("''=1", "''=1"),
        ("=1+1", "=1+1"),
        ("\N{NO-BREAK SPACE}0.4 ", "0.4"),
    ],
)
def test_the_apostrophe_that_guards_a_formula_is_taken_off(written: str, cell: str) -> None:
    assert rows(f"tag;date;reading\na;b;{written}\n".encode()) == [(2, ["a", "b", cell])]


def test_the_separator_is_told_by_the_titles_not_by_the_rows() -> None:
    content = b"tag;date;reading\nPR0018;2026-03-03;0,4\n"
    assert rows(content) == [(2, ["PR0018", "2026-03-03", "0,4"])]


def test_the_hash_is_of_the_bytes() -> None:
    """SHA-256, FIPS 180-4, by the standard library."""
    assert open_table(PLAIN.encode(), KNOWN).sha256 == sha256(PLAIN.encode()).hexdigest()


CELL = st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=12)


@given(cells=st.lists(st.tuples(CELL, CELL, CELL), max_size=6), separator=st.sampled_from(",;\t"))
def test_whatever_a_writer_of_tables_writes_is_read_back(cells: list[tuple[str, ...]], separator: str) -> None:
    written = StringIO()
    writer = csv.writer(written, delimiter=separator, quoting=csv.QUOTE_ALL)
    writer.writerows([KNOWN, *cells])
    found = rows(written.getvalue().encode())
    guarded = [[one[1:] if one[:1] == "'" and one[1:2] in tuple("=+-@\t\r") else one for one in row] for row in cells]
    wanted = [(number, [one.strip() for one in row]) for number, row in enumerate(guarded, 2)]
    assert found == [(number, row) for number, row in wanted if any(row)]


@given(content=st.binary(max_size=200), encoding=st.sampled_from([None, *csvfile.ENCODINGS]))
def test_any_bytes_are_read_or_refused(content: bytes, encoding: str | None) -> None:
    for given_bytes in (content, b"tag,date,reading\n" + content, b"\xff\xfe" + content):
        found: list[tuple[int, list[str]]] = []
        with contextlib.suppress(Refused):
            found = rows(given_bytes, encoding)
        assert all(any(cells) and "\0" not in "".join(cells) for _, cells in found)
