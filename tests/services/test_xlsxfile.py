"""XLSX files from outside: rows of text, each cell by its name; bombs and what is no spreadsheet are refused."""

import io
import subprocess
import sys
import time
import zipfile
import zlib
from datetime import date, datetime
from datetime import time as clock_time
from typing import Any

import pytest

from registry import resources
from registry.services import csvfile, xlsx_reader, xlsxfile
from registry.services.problems import Refused
from registry.wording.refusals import problem
from tests.services.sheets import crowded, lying, packed_again, swollen, xlsx

MB = 1024 * 1024
HEAD = ["tag", "date", "reading"]


def rows(content: bytes, sheet: str = "") -> list[tuple[int, list[str]]]:
    return list(csvfile.open_table(content, ("tag", "date", "reading"), sheet=sheet).rows())


def refused(content: bytes, sheet: str = "") -> str:
    """The code of the one problem, which has its one sentence in each language."""
    with pytest.raises(Refused) as caught:
        rows(content, sheet)
    (one,) = caught.value.problems
    for language in resources.languages():
        assert problem(one.field, one.code, one.values, language).endswith(".")
        assert "no_sentence" not in problem(one.field, one.code, one.values, language)
    return one.code


# --- what cells become ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("cell", "text"),
    [
        (-0.4, "-0.4"),
        (2, "2"),
        (0.1 + 0.2, "0.3"),  # a spreadsheet keeps 15 digits
        (("=0.1+0.2", 0.1 + 0.2), "0.3"),
        (("=A1", "text"), "text"),
        (1e-7, "0.0000001"),
        (1234567890123.0, "1234567890123"),
        (True, "yes"),
        (date(2026, 3, 3), "2026-03-03"),
        (datetime.fromisoformat("2026-03-03 06:10"), "2026-03-03 06:10"),
        (datetime.fromisoformat("2026-03-03 06:10:07"), "2026-03-03 06:10:07"),
        (clock_time(6, 10), "06:10"),
        ("0,4", "0,4"),
        ("'-ice", "-ice"),
        ("'ice", "'ice"),
        ("Ñandú °C", "Ñandú °C"),
        (("=NA()", "#N/A"), "#N/A"),
        (("=1/0", "#DIV/0!"), "#DIV/0!"),
    ],
)
def test_each_cell_becomes_its_text(cell: Any, text: str) -> None:
    assert rows(xlsx(HEAD, ["PA1", cell, 1])) == [(2, ["PA1", text, "1"])]


def test_rows_keep_their_numbers_and_empty_ones_are_passed_over() -> None:
    assert [number for number, _ in rows(xlsx(HEAD, ["A", "", 1], [], [], ["B", "", 2]))] == [2, 5]


def test_a_table_that_begins_further_right_keeps_the_names_of_its_cells() -> None:
    def further_right(_: Any, sheet: Any) -> None:
        for r, row in enumerate((HEAD, ["A", "2026-03-03", 0.4], ["B", "", 0.5])):
            for c, cell in enumerate(row, 1):
                sheet.write(r, c, cell)
        sheet.merge_range(1, 2, 2, 2, "2026-03-03")

    table = csvfile.open_table(xlsx(more=further_right), ("tag", "date", "reading"))
    assert table.header == ("", *HEAD)
    assert list(table.rows()) == [(2, ["", "A", "2026-03-03", "0.4"]), (3, ["", "B", "", "0.5"])]
    assert table.merged == (((1, 2), (2, 2)),)


def test_which_of_several_sheets_is_asked() -> None:
    def two(book: Any, _: Any) -> None:
        other = book.add_worksheet("Old")
        for n, head in enumerate(HEAD):
            other.write(0, n, head)
        other.write(1, 0, "OLD1")
        book.add_worksheet("Empty")
        hidden = book.add_worksheet("Hidden")
        hidden.write(0, 0, "tag")
        hidden.hide()

    content = xlsx(HEAD, ["NEW1"], more=two)
    assert refused(content) == "sheet_which"
    assert refused(content, "Hidden") == "sheet_unknown"
    assert [cells[0] for _, cells in rows(content, "Old")] == ["OLD1"]
    assert [cells[0] for _, cells in rows(content, "Checks")] == ["NEW1"]


def test_cells_that_hold_a_formula_are_told_apart_in_the_sheet_that_is_read() -> None:
    def more(book: Any, sheet: Any) -> None:
        sheet.write_array_formula("B4:B5", "{=C4:C5}", None, 0)
        book.add_worksheet("Old").write_formula("A1", "=1+1")
        sheet.add_sparkline("D9", {"range": "Checks!A1:A3"})  # has a formula of its own, which is of no cell

    content = xlsx(HEAD, ["A", "", ("=1+1", 2)], ["B", ("=A1", "x"), 0], more=more)
    table = csvfile.open_table(content, HEAD, sheet="Checks")
    assert table.formulas == {1: frozenset({2, 3, 4}), 2: frozenset({1})}
    assert csvfile.open_table(content, (), sheet="Old", asking=True).formulas == {0: frozenset({0})}
    assert csvfile.open_table(xlsx(HEAD, ["=A", "", 0]), HEAD).formulas == {}


def test_merged_cells_are_handed_over_with_their_corners() -> None:
    content = xlsx(HEAD, ["A"], more=lambda _, sheet: sheet.merge_range(2, 0, 4, 0, "B"))
    assert csvfile.open_table(content, HEAD).merged == (((2, 0), (4, 0)),)
    assert xlsxfile.cell_name(3, 0) == "A3"


# --- what is none --------------------------------------------------------------------------------------------


def other_zip(*names: str) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as made:
        for name in names:
            made.writestr(name, "x")
    return out.getvalue()


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (b"", "empty"),
        (b"\x89PNG\r\n\x1a\n" + bytes(200), "not_a_table"),
        (b"%PDF-1.7\n", "not_a_table"),
        (b"\xff\xd8\xff\xe0" + bytes(50), "not_a_table"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "other_format"),  # .xls
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + "EncryptedPackage".encode("utf-16-le"), "encrypted"),
        (other_zip("mimetype", "content.xml"), "other_format"),  # .ods
        (other_zip("xl/workbook.bin"), "other_format"),  # .xlsb
        (other_zip("word/document.xml"), "not_a_workbook"),
        (b"PK\x03\x04" + bytes(100), "not_a_workbook"),
        (b"PK\x05\x06" + bytes(18), "not_a_workbook"),
        (xlsx(HEAD, ["A"])[:-300], "not_a_workbook"),  # cut off
        (packed_again(xlsx(HEAD), {"xl/workbook.xml": b"<workbook"}), "not_a_workbook"),
        (xlsx(), "empty"),
        (xlsx(["what", "ever"]), "no_columns"),
    ],
)
def test_what_is_no_spreadsheet_is_refused_with_one_sentence(content: bytes, code: str) -> None:
    assert refused(content) == code


def test_a_damaged_part_is_refused() -> None:
    sheet = b"<worksheet><sheetData><row r='1'><c r='A1'><v>1</v"
    assert refused(packed_again(xlsx(HEAD), {"xl/worksheets/sheet1.xml": sheet})) in ("not_a_workbook", "empty")


def test_a_file_larger_than_is_read_is_not_handed_to_the_reader(monkeypatch: pytest.MonkeyPatch) -> None:
    def started(*_: object, **__: object) -> None:
        raise AssertionError("a process was started")

    monkeypatch.setattr(subprocess, "Popen", started)
    monkeypatch.setattr(xlsxfile, "MAX_BYTES", 100)
    assert refused(xlsx(HEAD)) == "too_large"


# --- bombs ---------------------------------------------------------------------------------------------------


def test_a_listing_that_is_too_large_is_refused_before_anything_is_unpacked(monkeypatch: pytest.MonkeyPatch) -> None:
    def unpack(*_: object) -> None:
        raise AssertionError("something was unpacked")

    ratio, many = swollen(40 * MB), crowded(xlsx_reader.MAX_ENTRIES)
    assert len(ratio) < MB / 5  # 40 MB in some kilobytes
    monkeypatch.setattr(zlib, "decompressobj", unpack)
    monkeypatch.setattr(zipfile.ZipFile, "open", unpack)
    for content, code in ((ratio, "unpacks_too_large"), (many, "too_many_parts")):
        with pytest.raises(xlsx_reader.Unreadable) as caught:
            xlsx_reader.read(content, "")
        assert str(caught.value) == code


def test_a_list_of_entries_that_is_itself_too_long_is_not_read(monkeypatch: pytest.MonkeyPatch) -> None:
    content = crowded(5000)

    def listing(*_: object, **__: object) -> None:
        raise AssertionError("the list was read")

    monkeypatch.setattr(zipfile, "ZipFile", listing)
    with pytest.raises(xlsx_reader.Unreadable, match="too_many_parts"):
        xlsx_reader.listed(content)


def test_what_lies_about_its_sizes_is_unpacked_no_further_than_it_says(monkeypatch: pytest.MonkeyPatch) -> None:
    content = lying(40 * MB, said=5000)
    largest = 0
    real = zlib.decompressobj

    class Counting:
        def __init__(self, *words: Any) -> None:
            self.one = real(*words)

        def decompress(self, packed: bytes, most: int) -> bytes:
            nonlocal largest
            found = self.one.decompress(packed, most)
            largest = max(largest, len(found))
            return found

    monkeypatch.setattr(zlib, "decompressobj", Counting)
    with pytest.raises(xlsx_reader.Unreadable, match="sizes_lie"):
        xlsx_reader.read(content, "")
    assert largest < 100_000


def memory() -> int:
    """The most that this process has held, in bytes."""
    import resource

    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024


@pytest.mark.skipif(sys.platform != "linux", reason="counts memory as Linux does")
@pytest.mark.parametrize(
    ("content", "code"),
    [
        (swollen(60 * MB), "unpacks_too_large"),
        (swollen(200 * MB), "unpacks_too_large"),
        (crowded(3000), "too_many_parts"),
        (lying(60 * MB, said=4000), "sizes_lie"),
    ],
)
def test_bombs_are_refused_in_seconds_and_megabytes(content: bytes, code: str) -> None:
    """All of it in its own process, so that what this one grows by is what reading costs whoever asks."""
    before, began = memory(), time.perf_counter()
    assert refused(content) == code
    assert memory() - before < 64 * MB
    assert time.perf_counter() - began < xlsxfile.SECONDS


@pytest.mark.skipif(sys.platform != "linux", reason="a limit of memory that the system keeps")
def test_the_reader_gets_no_more_memory_than_it_may_have() -> None:
    """One cell far away makes the library ask for the whole field between: it is stopped, and we are not."""
    sheet = (
        b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>'
        b'<row r="1"><c r="A1"><v>1</v></c></row><row r="1000000"><c r="XFD1000000"><v>1</v></c></row>'
        b"</sheetData></worksheet>"
    )
    before = memory()
    assert refused(packed_again(xlsx(["tag"]), {"xl/worksheets/sheet1.xml": sheet})) == "takes_too_much"
    assert memory() - before < 64 * MB


def test_a_reader_that_takes_too_long_is_ended(monkeypatch: pytest.MonkeyPatch, tmp_path: Any) -> None:
    waits = tmp_path / "waits.py"
    waits.write_text("import sys, threading\nsys.stdin.buffer.read()\nthreading.Event().wait()\n")
    monkeypatch.setattr(resources, "script_path", lambda _: waits)
    monkeypatch.setattr(xlsxfile, "SECONDS", 0.3)
    ended: list[int | None] = []
    real = subprocess.Popen.__exit__

    def watched(self: Any, *words: Any) -> None:
        real(self, *words)
        ended.append(self.returncode)

    monkeypatch.setattr(subprocess.Popen, "__exit__", watched)
    assert refused(xlsx(HEAD)) == "takes_too_long"
    assert ended == [-9]


def test_the_reader_stands_alone() -> None:
    """It runs without our packages and without the user's paths: it brings nothing of ours along."""
    said = subprocess.run(
        [sys.executable, "-I", "-c", "import runpy, sys; runpy.run_path(sys.argv[1], run_name='x');"
         "print(*[name for name in sys.modules if name.startswith(('registry', 'sqlalchemy', 'PySide6'))])",
         str(resources.script_path("xlsx_reader"))],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert said.stdout.split() == []
