"""Tables out: numbers stay numbers, days are days, no text becomes a formula, the same rows give the same bytes."""

import io
import re
import zipfile
from datetime import date, datetime
from datetime import time as clock_time
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
import python_calamine
from hypothesis import given, settings
from hypothesis import strategies as st

from registry import resources
from registry.services import csvfile, incidents, mend, places, spreadsheet_out, tables_out, thermometers
from registry.services.problems import Refused
from registry.services.spreadsheet_out import TableOut, ending_of, written
from tests.services.kitchen import DIAL_C, DIAL_F, Kitchen

MOMENT = datetime.fromisoformat("2026-03-03 06:10:07")
ROWS: list[list[Any]] = [
    [Decimal("-0.4"), "-0.4", "=1+1", date(2026, 3, 3), MOMENT, clock_time(6, 10), 7, None],
    [Decimal("98.50"), "+Li", "@x", None, None, None, -3, "'quoted"],
]
TABLE = TableOut("A: table / of [all]", tuple("abcdefgh"), ROWS)


def cells_of(content: bytes) -> list[list[Any]]:
    """By an independent reader of the file itself."""
    return python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(content)).get_sheet_by_index(0).to_python()


def part(content: bytes, name: str) -> str:
    with zipfile.ZipFile(io.BytesIO(content)) as packed:
        return packed.read(name).decode()


def test_numbers_and_days_are_what_they_are_in_xlsx() -> None:
    head, first, second = cells_of(written(TABLE, ".xlsx"))
    assert head == list("abcdefgh")
    assert first == [-0.4, "'-0.4", "'=1+1", date(2026, 3, 3), MOMENT, clock_time(6, 10), 7, ""]
    assert second == [98.5, "'+Li", "'@x", "", "", "", -3, "'quoted"]


def test_digits_are_shown_as_typed_and_the_heads_stay_in_sight() -> None:
    content = written(TABLE, ".xlsx")
    assert 'formatCode="0.00"' in part(content, "xl/styles.xml")
    sheet = part(content, "xl/worksheets/sheet1.xml")
    assert re.search(r'<pane ySplit="1" [^>]*state="frozen"', sheet)
    assert "<f>" not in sheet  # no cell is a formula
    widths = re.findall(r'<col min="\d+" max="(\d+)" width="([\d.]+)"', sheet)
    assert int(widths[-1][0]) == len(TABLE.heads)
    assert all(spreadsheet_out.NARROW <= float(width) <= spreadsheet_out.WIDE + 1 for _, width in widths)
    assert 'name="A  table   of  all"' in part(content, "xl/workbook.xml")


def test_csv_has_iso_days_a_point_and_the_mark_of_its_encoding() -> None:
    content = written(TABLE, ".csv")
    assert content.startswith(b"\xef\xbb\xbf")
    assert content.decode("utf-8-sig").splitlines() == [
        "a,b,c,d,e,f,g,h",
        "-0.4,'-0.4,'=1+1,2026-03-03,2026-03-03 06:10:07,06:10,7,",
        "98.50,'+Li,'@x,,,,-3,'quoted",
    ]


@pytest.mark.parametrize("ending", spreadsheet_out.ENDINGS)
def test_our_own_import_takes_the_apostrophe_off_and_the_same_rows_give_the_same_bytes(ending: str) -> None:
    content = written(TABLE, ending)
    assert content == written(TABLE, ending)
    (_, first), (_, second) = csvfile.open_table(content, ("a",)).rows()
    assert first == ["-0.4", "-0.4", "=1+1", "2026-03-03", "2026-03-03 06:10:07", "06:10", "7", ""]
    assert second[1:3] == ["+Li", "@x"]


def test_the_demo_says_so_in_the_sheet_and_in_print() -> None:
    content = written(TableOut("Log", ("a",), [["b"]], demo=True), ".xlsx")
    assert 'name="DEMO Log"' in part(content, "xl/workbook.xml")
    assert "DEMO" in part(content, "xl/worksheets/sheet1.xml")
    lines = written(TableOut("Log", ("a",), [["b"]], demo=True), ".csv").decode("utf-8-sig").splitlines()
    assert lines == ["a,DEMO", "b,DEMO"]


def test_to_what_it_is_narrowed_stands_in_the_head_of_each_printed_page() -> None:
    content = written(TableOut("Log", ("a",), [["b"]], demo=True, about="Only Salt & Pepper."), ".xlsx")
    assert "&amp;LOnly Salt &amp;&amp; Pepper.&amp;CDEMO" in part(content, "xl/worksheets/sheet1.xml")
    assert "Only Salt &amp; Pepper." in part(content, "docProps/core.xml")
    assert "oddHeader" not in part(written(TABLE, ".xlsx"), "xl/worksheets/sheet1.xml")


def test_the_ending_chooses_and_others_are_refused() -> None:
    assert [ending_of(one) for one in ("a.XLSX", "b.csv")] == [".xlsx", ".csv"]
    for name in ("a.xls", "b", "c.pdf"):
        with pytest.raises(Refused, match="out: choose"):
            ending_of(name)


def test_more_rows_than_a_sheet_holds_are_refused_not_cut(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(spreadsheet_out, "MAX_ROWS", 1)
    with pytest.raises(Refused, match="too_many_rows"):
        written(TABLE, ".xlsx")


@settings(max_examples=60, deadline=None)
@given(
    value=st.decimals(min_value=-9999, max_value=9999, places=3),
    text=st.text(st.characters(codec="utf-8", exclude_categories=["C"]), max_size=20),
)
def test_any_number_and_text_come_back(value: Decimal, text: str) -> None:
    content = written(TableOut("x", ("n", "t"), [[value, text], [1, "end"]]), ".csv")
    rows = [cells for _, cells in csvfile.open_table(content, ("n",)).rows()]
    assert Decimal(rows[0][0]) == value
    if not text.startswith("'"):
        assert rows[0][1] == text.strip()


# --- the program's tables ------------------------------------------------------------------------------------


@pytest.mark.fast_cases(1)
@pytest.mark.parametrize("language", resources.languages())
def test_every_table_goes_out_in_each_language(kitchen: Kitchen, language: str, tmp_path: Path) -> None:
    from registry.services import activity, duelist, failures, fleet, monthly_log, replacing
    from registry.services.table import Wanted

    k = kitchen
    one = k.enrol()
    k.checked(one, "-0.4 C")
    thermometers.take_out(k.session, k.lead, k.enrol(), "damaged")
    k.checked(k.dial(), "3 C", "3 C", "3 C")
    words = tables_out.Words(language, "es_ES")
    with k.session.reading() as connection:
        due = duelist.due_list(k.session, connection)
        names = places.names(connection)
    tables = [
        tables_out.all_thermometers(k.session, words, Wanted()),
        tables_out.checks_of(k.session, words, one),
        tables_out.due(words, due, names),
        tables_out.monthly_log(words, monthly_log.month(k.session, k.site, 2026, 3)),
        tables_out.weeks(words, activity.checks_by_week(k.session)),
        tables_out.offsets(words, "type", activity.offsets_by(k.session, "type"), names),
        tables_out.all_certificates(k.session, words, {}),
        tables_out.all_people(k.session, words),
        tables_out.baths(k.session, words, k.site, 2),
        tables_out.failures(words, failures.failures(k.session), names),
        tables_out.to_replace(words, replacing.to_replace(k.session, fleet.ranking(k.session, limit=None)), names),
    ]
    for table in tables:
        assert len(set(table.heads)) == len(table.heads), table.heads
        for row in table.rows:
            assert len(row) == len(table.heads)
        for ending in spreadsheet_out.ENDINGS:
            rows = list(csvfile.open_table(written(table, ending), (), asking=True).rows())
            assert len(rows) == len(table.rows)
    numbers = [dict(zip(table.heads, table.rows[0], strict=True)) for table in tables[:2]]
    assert numbers[0][words.title("last_offset")] == Decimal("-0.4")
    assert numbers[1][words.title("readings")] == Decimal("-0.4")
    log = tables[3]
    line = next(row for row in log.rows if row[log.heads.index(words.title("offset"))] is not None)
    assert Decimal("-0.4") in line
    assert date(2026, 3, 3) in line


def test_what_was_left_in_the_other_unit_has_that_unit_beside_it(kitchen: Kitchen) -> None:
    one = kitchen.dial(DIAL_C, DIAL_F)
    kitchen.adjust(kitchen.checked(one, "3 C", "3 C", "3 C"), "nut", "32 F")
    words = tables_out.Words("en", "en_US")
    (row,) = (table := tables_out.checks_of(kitchen.session, words, one)).rows
    said = dict(zip(table.heads, row, strict=True))
    assert (said["Reading"], said["Unit"]) == ("3 / 3 / 3", "°C")
    assert (said[words.title("as_left")], said[words.title("as_left_unit")]) == (Decimal(32), "°F")


@pytest.mark.parametrize("language", resources.languages())
def test_all_else_that_happened_to_one_goes_out_too(kitchen: Kitchen, language: str) -> None:
    one = kitchen.dial()
    kitchen.adjust(kitchen.checked(one, "3 C", "3 C", "3 C"), "nut", "0 C")
    incidents.report_incident(kitchen.session, kitchen.lead, one, "dropped")
    mend.void(kitchen.session, kitchen.officer, kitchen.last("incident_reported").number, "mistyped")
    words = tables_out.Words(language, "es_ES")
    table = tables_out.happened_to(kitchen.session, words, one)
    at = [table.heads.index(words.title(name)) for name in ("happened", "detail", "stands")]
    found = [tuple(row[place] for place in at) for row in table.rows]
    counts, void = words.say("cli.counts.yes"), words.say("cli.void")
    assert (words.say("cli.kind.adjusted"), words.say("adjustment.nut"), counts) in found
    assert (words.say("cli.kind.incident_reported"), words.say("incident.dropped"), void) in found
    assert words.say("cli.kind.place_set") in [row[0] for row in found]
    for ending in spreadsheet_out.ENDINGS:
        rows = list(csvfile.open_table(written(table, ending), (), asking=True).rows())
        assert len(rows) == len(table.rows)
