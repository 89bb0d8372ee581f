"""Spreadsheets brought in whole: a messy one after its questions, thermometers and people, columns remembered."""

import csv
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date, datetime, timedelta
from decimal import Decimal
from io import StringIO
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from registry import resources
from registry.records.thermometers import Price
from registry.services import (
    import_columns,
    import_journal,
    import_old_check,
    import_thermometers,
    importing,
    mend,
    people,
    places,
    spreadsheet_out,
    tables_out,
    thermometers,
)
from registry.services.importing import Imported, Looked, Options
from registry.services.problems import Refused
from registry.services.table import Wanted
from registry.wording.refusals import problem
from tests.services.kitchen import DIAL_F, DIGITAL_C, DIGITAL_F, Kitchen, open_kitchen
from tests.services.sheets import xlsx

HEAD = ["Probe", "When", "At", "Showed", "Scale", "Result", "By"]
OURS = dict(zip(HEAD, ("tag", "date", "point", "readings", "unit", "outcome", "initials"), strict=True))


@pytest.fixture(autouse=True)
def no_pause(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(import_journal, "PAUSE_S", 0)


def look(k: Kitchen, content: bytes, options: Options, kind: str = "history") -> Looked:
    return importing.look_at(k.session, kind, content, options)


def check(k: Kitchen, content: bytes, options: Options, kind: str = "history") -> Any:
    looked = look(k, content, options, kind)
    with k.session.reading() as connection:
        if kind == "thermometers":
            plan: Any = importing.check_thermometers(k.session, connection, k.officer, looked.table, looked.options)
        elif kind == "people":
            plan = importing.check_people(k.session, connection, k.officer, looked.table, looked.options)
        else:
            plan = importing.check_history(k.session, connection, looked.table, looked.options)
    importing.remember(k.session, kind, looked)
    return plan


@contextmanager
def elsewhere(home: Path) -> Iterator[Kitchen]:
    """A kitchen of its own, in which nothing is known of the first."""
    other = open_kitchen(home)
    try:
        yield other
    finally:
        other.session.close()


def history(k: Kitchen, content: bytes, options: Options) -> Imported:
    return importing.record_history(k.session, k.officer, check(k, content, options))


def cells(k: Kitchen, content: bytes, options: Options, kind: str = "history") -> set[tuple[str, str]]:
    """What was refused, as (cell, code); each sentence names its cell, in each language."""
    with pytest.raises(Refused) as caught:
        check(k, content, options, kind)
    found = set()
    for one in caught.value.problems:
        named = str(one.values.get("column", "")).rpartition("(")[2].rstrip(")")
        named = "" if one.field == "file" else named
        for language in resources.languages():
            assert named in problem(one.field, one.code, one.values, language)
        found.add((named, one.code))
    return found


def recorded(k: Kitchen, done: Imported) -> list[dict[str, Any]]:
    return [one.payload for one in k.entries("check_recorded") if one.payload.get("import") == done.import_]


# --- a messy spreadsheet -------------------------------------------------------------------------------------

ROWS = 5000


def messy(celsius: str, fahrenheit: str) -> list[list[Any]]:
    """Five thousand rows in two units, the days in three styles, numbers as numbers, text and formulas."""
    found: list[list[Any]] = []
    first = datetime.fromisoformat("2024-01-13 06:30")
    for n in range(ROWS):
        day = first + timedelta(hours=3 * n)
        when: Any = (day, f"{day:%Y-%m-%d %H:%M}", f"{day.day}/{day.month}/{day.year} {day:%H:%M}")[n % 3]
        if n % 2:
            shown: Any = (0.4, "0,4", ("=0.1+0.3", 0.1 + 0.3), -0.4)[n // 2 % 4]
            found.append([celsius, when, "ice", shown, "C", "pass", "AR"])
        else:
            found.append([fahrenheit, when, "ice point", 33, "°F", "good", "ar"])
    return found


def answers(unit: Any = None) -> Options:
    asked = frozenset({"formula"})
    return Options(unit=unit, columns=OURS, day_order="dmy", outcomes={"good": "pass"}, asked=asked)


def test_a_messy_spreadsheet_comes_in_clean_after_the_questions(kitchen: Kitchen) -> None:
    celsius, fahrenheit = kitchen.tag(kitchen.enrol()), kitchen.tag(kitchen.dial(DIAL_F))
    rows = messy(celsius, fahrenheit)
    content = xlsx(HEAD, *rows)
    unknown = cells(kitchen, content, Options())
    assert {code for _, code in unknown} == {"column_unknown", "column_missing"}
    formulas = cells(kitchen, content, replace(answers(), asked=frozenset()))
    assert formulas >= {("D7", "formula"), ("D15", "formula")}  # each row with one is named, and no other
    assert {code for _, code in formulas} == {"formula", "more"}
    done = history(kitchen, content, answers())
    checks = recorded(kitchen, done)
    assert len(checks) == done.checks == ROWS
    assert [one["row"] for one in checks] == list(range(2, ROWS + 2))
    expected = {1: "0.4 C", 3: "0.4 C", 5: "0.4 C", 7: "-0.4 C"}
    for n, one in enumerate(checks):
        assert one["as_found"] == ["33 F" if n % 2 == 0 else expected[n % 8]]
        assert one["offset"] == {"33 F": "1 dF", "0.4 C": "0.4 dC", "-0.4 C": "-0.4 dC"}[one["as_found"][0]]
        assert one["stated"] == "pass"
    step = {after["performed_at"] - before["performed_at"] for before, after in pairwise(checks)}
    assert step <= {h * 3_600_000_000 for h in (2, 3, 4)}  # three hours, where clocks are put forward or back 2 or 4
    assert kitchen.verify().good
    with pytest.raises(Refused, match="imported_already"):
        check(kitchen, content, answers())


def test_each_cell_that_is_wrong_in_it_is_named(kitchen: Kitchen) -> None:
    celsius, fahrenheit = kitchen.tag(kitchen.enrol()), kitchen.tag(kitchen.dial(DIAL_F))
    rows = messy(celsius, fahrenheit)
    rows[15][3] = ("=NA()", "#N/A")  # row 17
    rows[21][3] = "0,41"  # finer than the display
    rows[25][1] = rows[23][1] = datetime.fromisoformat("2023-02-01 06:00")  # the same check twice
    rows[33][0] = "XX9"
    rows[37][4] = "K"
    rows[41][3] = "O.4"
    rows[43][5] = "fine"

    def merge(book: Any, sheet: Any) -> None:
        sheet.merge_range(50, 0, 51, 0, celsius, book.add_format({"bold": True}))

    found = cells(kitchen, xlsx(HEAD, *rows, more=merge), answers())
    assert found == {
        ("D17", "cell_error"),
        ("D23", "too_fine"),
        ("B27", "twice"),
        ("A35", "unknown_tag"),
        ("E39", "unit_unknown"),
        ("D39", "unit_missing"),
        ("D43", "reading_not_a_number"),
        ("F45", "not_one_of"),
        ("A51", "merged"),
        ("A52", "missing"),
    }
    assert kitchen.entries("check_recorded") == []


def test_days_in_both_orders_are_named_cell_by_cell(kitchen: Kitchen) -> None:
    """One cell that only the other order explains puts all in doubt that either would."""
    tag = kitchen.tag(kitchen.enrol())
    days = ["13/01/2025", "03/04/2025", "2025-05-04", date(2025, 6, 7), "01/25/2025", "07/07/2025", "05/06/2025"]
    content = xlsx(["tag", "date", "point", "reading"], *([tag, day, "ice", 0.1] for day in days))
    expected = {("B3", "either_order"), ("B6", "other_order"), ("B8", "either_order")}
    assert cells(kitchen, content, Options(unit="C", day_order="dmy")) == expected
    mended = [one if n not in (1, 4, 6) else "2025-02-0" + str(n) for n, one in enumerate(days)]
    content = xlsx(["tag", "date", "point", "reading"], *([tag, day, "ice", 0.1] for day in mended))
    assert history(kitchen, content, Options(unit="C", day_order="dmy")).checks == len(days)
    content = xlsx(["tag", "date", "point", "reading"], [tag, "03/04/2025", "ice", 0.1])
    assert cells(kitchen, content, Options(unit="C")) == {("B2", "order_unsaid")}  # no order is said: none is guessed


def test_a_csv_in_another_encoding_is_asked_about_and_then_comes_in(kitchen: Kitchen) -> None:
    tag = kitchen.tag(kitchen.enrol())
    text = f"Sonde;Datum;Wert;Einheit;Anmerkung\n{tag};2025-01-03;0,4;°C;Kühlhaus\n"
    with pytest.raises(Refused, match="not_this_encoding"):
        look(kitchen, text.encode("cp1252"), Options())
    columns = {"Sonde": "tag", "Datum": "date", "Wert": "readings", "Einheit": "unit", "Anmerkung": "note"}
    options = Options(encoding="cp1252", point="ice", columns=columns)
    done = history(kitchen, text.encode("cp1252"), options)
    assert recorded(kitchen, done)[0]["as_found"] == ["0.4 C"]


def test_rows_that_name_nobody_are_of_whom_the_file_is_said_to_be(kitchen: Kitchen) -> None:
    tag = kitchen.tag(kitchen.enrol())
    content = xlsx(["tag", "date", "reading", "initials"], [tag, "2025-01-03", 0.1, ""], [tag, "2025-01-04", 0.1, "OI"])
    done = history(kitchen, content, Options(unit="C", point="ice", initials="LQ"))
    with kitchen.session.reading() as connection:
        expected = [people.find_person(connection, one).person for one in ("LQ", "OI")]
    assert [one["done_by"] for one in recorded(kitchen, done)] == expected


def test_a_formula_that_nothing_worked_out_is_no_reading_of_0(kitchen: Kitchen) -> None:
    """A program that writes formulas without working them out stores 0 for each: each cell is named and asked about."""
    tag = kitchen.tag(kitchen.enrol())
    head = ["tag", "date", "point", "reading", "Difference"]
    rows = [[tag, date(2025, 1, day), "ice", ("=A9*2", 0) if day % 2 else 0, ("=D2", 0)] for day in range(1, 5)]
    options = Options(unit="C", leave_out=frozenset({"Difference"}))
    assert cells(kitchen, xlsx(head, *rows), options) == {("D2", "formula"), ("D4", "formula")}
    assert kitchen.entries("check_recorded") == []
    done = history(kitchen, xlsx(head, *rows), replace(options, asked=frozenset({"formula"})))
    assert [one["as_found"] for one in recorded(kitchen, done)] == [["0 C"]] * 4


def test_a_unit_in_a_title_is_the_unit_of_its_column(kitchen: Kitchen) -> None:
    tag = kitchen.tag(kitchen.enrol(DIGITAL_F))
    row = [tag, date(2025, 1, 3), "ice", 33.0]
    for title, columns in (("Reading (°F)", {}), ("°F", {"°F": "readings"})):
        looked = look(kitchen, xlsx(["tag", "date", "point", title], row), Options(columns=columns))
        assert looked.columns[3].is_ == "readings"
        with kitchen.session.reading() as connection:
            assert importing.check_history(kitchen.session, connection, looked.table, looked.options).judged == 1
    assert cells(kitchen, xlsx(["tag", "date", "point", "Reading (°F)"], row), Options(unit="C")) == {
        ("D2", "title_says")
    }


@pytest.mark.parametrize("titles", [("°C", "°F"), ("Reading (°C)", "Reading (°F)"), ("Showed °C", "Showed °F")])
def test_a_reading_in_both_units_is_told_in_one_sentence(kitchen: Kitchen, titles: tuple[str, str]) -> None:
    content = xlsx(
        ["tag", "date", "point", *titles], [kitchen.tag(kitchen.enrol()), date(2025, 1, 3), "ice", 0.0, 32.0]
    )
    assert ("", "both_units") in cells(kitchen, content, Options())
    assert not {"column_unknown", "column_twice"} & {code for _, code in cells(kitchen, content, Options())}
    options = Options(columns={titles[0]: "readings"}, leave_out=frozenset({titles[1]}))
    assert [one["as_found"] for one in recorded(kitchen, history(kitchen, content, options))] == [["0 C"]]


# --- columns -------------------------------------------------------------------------------------------------


def test_what_columns_are_is_remembered_for_the_kind_and_its_titles(kitchen: Kitchen) -> None:
    tag = kitchen.tag(kitchen.enrol())

    def content(day: int, head: list[str] = ["Probe", "Day", "Value", "Team"]) -> bytes:  # noqa: B006
        return xlsx(head, [tag, date(2025, 1, day), 0.1, "A"])

    first = look(kitchen, content(1), Options())
    assert [(one.title, one.sample, one.is_) for one in first.columns] == [
        ("Probe", tag, ""), ("Day", "2025-01-01", ""), ("Value", "0.1", ""), ("Team", "A", ""),
    ]  # fmt: skip
    said = Options(
        unit="C",
        point="ice",
        columns={"Probe": "tag", "Day": "date", "Value": "readings"},
        leave_out=frozenset({"Team"}),
    )
    history(kitchen, content(1), said)
    again = look(kitchen, content(2), Options())
    assert [one.is_ for one in again.columns] == ["tag", "date", "readings", "leave_out"]
    assert history(kitchen, content(2), Options(unit="C", point="ice")).checks == 1
    assert [one.is_ for one in look(kitchen, content(3, ["Probe", "Day", "Value", "Crew"]), Options()).columns] == [
        ""
    ] * 4
    assert [one.is_ for one in look(kitchen, content(3), Options(), "people").columns] == [""] * 4
    # What is said now goes before what is remembered.
    other = look(kitchen, content(3), Options(columns={"Team": "note"}))
    assert [one.is_ for one in other.columns] == ["tag", "date", "readings", "note"]


def test_a_file_that_is_refused_leaves_no_memory(kitchen: Kitchen) -> None:
    content = xlsx(["Probe", "Day", "Value"], ["XX9", date(2025, 1, 1), 0.1])
    options = Options(unit="C", point="ice", columns={"Probe": "tag", "Day": "date", "Value": "readings"})
    assert cells(kitchen, content, options) == {("A2", "unknown_tag")}
    assert [one.is_ for one in look(kitchen, content, Options()).columns] == ["", "", ""]


@pytest.mark.parametrize(
    ("kind", "ours", "code"),
    [
        ("history", "reading", "readings"),
        ("history", "readings", "readings"),
        ("shift", "How adjusted", "adjusted"),
        ("thermometers", "in use since", "in_use_since"),
        ("thermometers", "in_use_since", "in_use_since"),
    ],
)
def test_a_column_of_ours_is_named_by_its_code_or_as_a_title_names_it(
    kitchen: Kitchen, kind: str, ours: str, code: str
) -> None:
    looked = look(kitchen, xlsx(["Theirs", "More"], ["x", "y"]), Options(columns={"Theirs": ours}), kind)
    assert [one.is_ for one in looked.columns] == [code, ""]


def test_a_column_that_is_none_of_ours_is_named_with_those_there_are(kitchen: Kitchen) -> None:
    with pytest.raises(Refused) as caught:
        look(kitchen, xlsx(["Probe", "Day"], ["x", "y"]), Options(columns={"Probe": "tagg"}))
    (one,) = caught.value.problems
    assert (one.code, one.values["value"]) == ("ours_unknown", "tagg")
    for language in resources.languages():
        said = problem(one.field, one.code, one.values, language)
        assert "tagg" in said
        assert "readings" in said
        assert "Probe" not in said


# --- thermometers --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("language", resources.languages())
def test_thermometers_come_with_every_field_named_as_people_name_it(kitchen: Kitchen, language: str) -> None:
    words = tables_out.Words(language, "en_US")
    head = [words.title(one) for one in import_thermometers.COLUMNS]
    kind = words.say("type.thermocouple_probe")
    station = kitchen_station(kitchen)
    row = [
        "ab 77", kind, "°C", 0.1, -40, "150,0", "0,2", -40, 302, site_name(kitchen), station,
        "Brisa", "B2", "7001", "Sonda", "S1", "S9", words.say("thermometers.adjusts.trim"),
        words.say("thermometers.yes"), words.say("thermometers.uses.cold"), date(2024, 5, 6), "worn tip",
        24.9, "eur", words.say("status.in_service"),
    ]  # fmt: skip
    plan = check(kitchen, xlsx(head, row), Options(), "thermometers")
    done = importing.record_thermometers(kitchen.session, kitchen.officer, plan)
    with kitchen.session.reading() as connection:
        of = thermometers.find(connection, "AB77")
    assert (of.type.code, of.maker, of.model, of.serial) == ("thermocouple_probe", "Brisa", "B2", "7001")
    assert of.sensor is not None
    assert (of.sensor.maker, of.sensor.model, of.sensor.serial) == ("Sonda", "S1", "S9")
    assert {unit: (one.step, one.lowest, one.highest) for unit, one in of.facts.scales.items()} == {
        "C": ("0.1 dC", "-40 C", "150.0 C"),
        "F": ("0.2 dF", "-40 F", "302 F"),
    }
    assert (of.facts.uses, of.facts.adjusts, of.facts.waterproof) == (("cold",), "trim", True)
    assert (of.facts.in_use_since, of.facts.condition) == ("2024-05-06", "worn tip")
    assert of.facts.price == Price(amount="24.9", currency="EUR")
    assert of.row.station is not None
    entries = [one for one in kitchen.entries("thermometer_set") if one.payload.get("import") == done.import_]
    assert [one.payload["row"] for one in entries] == [2]
    assert kitchen.verify().good


def kitchen_station(k: Kitchen) -> str:
    places.add_station(k.session, k.officer, k.site, "Grill")
    return "grill"


def site_name(k: Kitchen) -> str:
    with k.session.reading() as connection:
        return places.site_named_by_id(connection, k.site).payload.name


def test_units_and_usual_scales_are_asked(kitchen: Kitchen) -> None:
    content = xlsx(["Tag id", "Type"], ["T1", "bimetal_stem"], ["T2", "Bimetal stem"])
    assert cells(kitchen, content, Options(), "thermometers") == {("B2", "unit_missing"), ("B3", "unit_missing")}
    assert {code for _, code in cells(kitchen, content, Options(unit="C"), "thermometers")} == {"scale_missing"}
    options = Options(unit="C", asked=frozenset({"usual_scale"}))
    plan = check(kitchen, content, options, "thermometers")
    assert plan.named == ("T1", "T2")
    assert importing.record_thermometers(kitchen.session, kitchen.officer, plan).rows == 2
    assert kitchen.verify().good


def test_what_is_wrong_with_thermometers_is_named_and_none_is_enrolled(kitchen: Kitchen) -> None:
    kitchen.enrol(tag_id="OLD1")
    head = ["tag id", "type", "unit", "step", "lowest", "highest", "site", "station", "adjusted by", "in use since"]
    good = ["thermistor_probe", "C", 0.1, -40, 150]
    content = xlsx(
        head,
        ["A1", *good, "", "", "", ""],
        ["A1", *good, "", "", "", ""],
        ["OLD1", *good, "", "", "", ""],
        ["A2", "spoon", "C", 0.1, -40, 150, "", "", "", ""],
        ["A3", "thermistor_probe", "C", 0.1, 150, -40, "", "", "", ""],
        ["A4", *good, "Nowhere", "", "", ""],
        ["A5", *good, "", "Nowhere", "", ""],
        ["A6", *good, "", "", "nut", ""],
        ["A7", *good, "", "", "", "31/31/2024"],
        ["A8", *good, "", "", "", date(2030, 1, 1)],
    )
    assert cells(kitchen, content, Options(), "thermometers") == {
        ("A3", "taken"),
        ("A4", "taken"),
        ("B5", "not_one_of"),
        ("E6", "lowest_not_below_highest"),
        ("G7", "unknown"),
        ("H8", "unknown"),
        ("I9", "cannot_be_adjusted_so"),
        ("J10", "order_unsaid"),
        ("J11", "in_the_future"),
    }
    assert len(kitchen.entries("thermometer_set")) == 1


@pytest.mark.fast_cases(2)
@pytest.mark.parametrize("language", resources.languages())
@pytest.mark.parametrize("ending", spreadsheet_out.ENDINGS)
def test_thermometers_go_out_and_come_in_elsewhere_with_their_scales(
    kitchen: Kitchen, tmp_path: Path, ending: str, language: str
) -> None:
    kitchen.enrol(DIGITAL_C, DIGITAL_F, tag_id="BOTH1", price=Price(amount="1039.90", currency="EUR"))
    kitchen.dial(DIAL_F, tag_id="DIAL1")
    words = tables_out.Words(language, "es_ES")
    content = spreadsheet_out.written(tables_out.all_thermometers(kitchen.session, words, Wanted()), ending)
    with elsewhere(tmp_path / "other") as other:
        looked = look(other, content, Options(), "thermometers")
        more = frozenset(one.title for one in looked.columns if not one.is_)
        plan = check(other, content, Options(leave_out=more), "thermometers")
        importing.record_thermometers(other.session, other.officer, plan)
        assert figures(other) == figures(kitchen)
        with other.session.reading() as connection:
            price = thermometers.find(connection, "BOTH1").facts.price
        assert price is not None
        assert (Decimal(price.amount), price.currency) == (Decimal("1039.90"), "EUR")


@pytest.mark.parametrize(
    ("price", "currency", "code"),
    [
        ("1,234.50", "", "not_a_price"),
        ("-3", "EUR", "price_negative"),
        ("12", "ABC", "currency_unknown"),
        ("12 USD", "EUR", "two_currencies"),
        ("", "EUR", "currency_alone"),
        ("120.5", "JPY", "price_digits"),
    ],
)
def test_a_price_that_is_none_is_refused_in_its_cell(kitchen: Kitchen, price: str, currency: str, code: str) -> None:
    content = xlsx(["Type", "Unit", "Step", "Lowest", "Highest", "Price", "Currency"],
                   ["thermistor_probe", "C", 0.1, -40, 150, price, currency])  # fmt: skip
    ((cell, found),) = cells(kitchen, content, Options(site="Pier"), "thermometers")
    assert (cell, found) == ("F2" if price else "G2", code)


def figures(k: Kitchen) -> dict[str, dict[str, list[tuple[Decimal, str]]]]:
    with k.session.reading() as connection:
        found = [thermometers.find(connection, tag) for tag in ("BOTH1", "DIAL1")]
    return {
        of.tag_id: {unit: [as_number(each) for each in (one.step, one.lowest, one.highest)]
                    for unit, one in of.facts.scales.items()}
        for of in found
    }  # fmt: skip


@pytest.mark.parametrize("left_out", [False, True])
def test_one_that_is_out_of_use_is_not_enrolled_in_service_elsewhere(
    kitchen: Kitchen, tmp_path: Path, left_out: bool
) -> None:
    kitchen.enrol(DIGITAL_C, tag_id="GOOD1")
    thermometers.take_out(kitchen.session, kitchen.lead, kitchen.enrol(DIGITAL_C, tag_id="OUT1"), "damaged")
    words = tables_out.Words("en", "en_US")
    out = tables_out.all_thermometers(kitchen.session, words, Wanted())
    at = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"[out.heads.index(words.title("status"))]
    content = spreadsheet_out.written(out, ".xlsx")
    with elsewhere(tmp_path / "other") as other:
        looked = look(other, content, Options(), "thermometers")
        more = {one.title for one in looked.columns if not one.is_} | ({words.title("status")} if left_out else set())
        found = cells(other, content, Options(leave_out=frozenset(more)), "thermometers")
        assert found == {(f"{at}3", "not_in_use")}
        assert not other.entries("thermometer_set")


# --- people --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("language", resources.languages())
def test_people_go_out_and_come_in_elsewhere_the_same(kitchen: Kitchen, tmp_path: Path, language: str) -> None:
    k = kitchen
    people.add_person(k.session, k.officer, "=Ñora Díaz", "Ñ D", ("lead", "auditor"), (k.site,))
    people.add_person(k.session, k.officer, "-Li", "+L", ("officer",))
    for ending in spreadsheet_out.ENDINGS:
        out = tables_out.all_people(k.session, tables_out.Words(language, "es_ES"))
        rows = [row for row in out.rows if row[0] in ("Ñ D", "+L")]
        content = spreadsheet_out.written(replace(out, rows=rows), ending)
        with elsewhere(tmp_path / ending) as other:
            plan = check(other, content, Options(leave_out=frozenset({out.heads[-1]})), "people")
            done = importing.record_people(other.session, other.officer, plan)
            assert done.people == 2
            with other.session.reading() as connection:
                found = {one.initials: one for one in people.people(connection)}
            assert (found["Ñ D"].name, found["Ñ D"].roles, found["Ñ D"].sites) == (
                "=Ñora Díaz",
                ("lead", "auditor"),
                (other.site,),
            )
            assert (found["+L"].name, found["+L"].roles, found["+L"].sites) == ("-Li", ("officer",), ())
            marked = [one for one in other.entries("person_set") if one.payload.get("import") == done.import_]
            assert [one.payload["row"] for one in marked] == [2, 3]
            assert other.verify().good


def test_people_are_refused_by_cell_and_roles_are_asked(kitchen: Kitchen) -> None:
    content = xlsx(
        ["initials", "name", "roles"],
        ["LQ", "Somebody", "lead"],  # borne by the lead already
        ["AB", "", "lead"],
        ["TOOLONG", "Tim", "lead"],
        ["CD", "Cid", "cook"],
        ["EF", "Eve", "Administrator"],  # an officer makes none
        ["GH", "Gus", ""],
        ["IJ", "Ira", "lead"],
        ["ij", "Ike", "lead"],
    )
    assert cells(kitchen, content, Options(), "people") == {
        ("A2", "taken"), ("B3", "missing"), ("A4", "not_valid"), ("C5", "not_one_of"), ("C6", "not_allowed"),
        ("C7", "role_missing"), ("A9", "taken"),
    }  # fmt: skip
    bare = xlsx(["initials", "name"], ["GH", "Gus"])
    assert cells(kitchen, bare, Options(), "people") == {("A2", "role_missing")}
    plan = check(kitchen, bare, Options(asked=frozenset({"all_leads"})), "people")
    importing.record_people(kitchen.session, kitchen.officer, plan)
    with kitchen.session.reading() as connection:
        assert people.find_person(connection, "GH").roles == ("lead",)
    with pytest.raises(Refused, match="imported_already"):
        check(kitchen, bare, Options(asked=frozenset({"all_leads"})), "people")


def test_initials_taken_meanwhile_drop_the_whole_import(kitchen: Kitchen) -> None:
    plan = check(kitchen, xlsx(["initials", "name", "roles"], ["ZZ", "Zoe", "lead"]), Options(), "people")
    people.add_person(kitchen.session, kitchen.officer, "Zac", "ZZ", ("lead",))
    with pytest.raises(Refused, match="taken"):
        importing.record_people(kitchen.session, kitchen.officer, plan)
    with kitchen.session.reading() as connection:
        assert people.find_person(connection, "ZZ").name == "Zac"
    assert kitchen.verify().good


# --- out and in ----------------------------------------------------------------------------------------------


@pytest.mark.fast_cases(2)
@pytest.mark.parametrize("language", resources.languages())
@pytest.mark.parametrize("ending", spreadsheet_out.ENDINGS)
def test_checks_go_out_and_come_in_again_the_same(kitchen: Kitchen, tmp_path: Path, ending: str, language: str) -> None:
    one = kitchen.enrol(DIGITAL_C, tag_id="PA1")
    text = StringIO()
    csv.writer(text).writerows(
        [
            ["tag", "date", "time", "point", "reading", "unit", "reference", "outcome", "initials"],
            ["PA1", "2025-01-03", "06:10", "ice", "-0.4", "C", "", "pass", "LQ"],
            ["PA1", "2025-01-04", "", "boil", "98.0", "C", "99.6", "fail", "ZZ"],
            ["PA1", "2025-01-05", "07:00:30", "ice", "1.2 / 0.9 / 1.1", "C", "", "fail", "LQ"],
            ["PA1", "2025-01-06", "07:00", "comparison", "62.0", "C", "62.4", "pass", ""],
        ]
    )
    first = history(kitchen, text.getvalue().encode(), Options())
    out = tables_out.checks_of(kitchen.session, tables_out.Words(language, "es_ES"), one)
    ours = {"tag", "date", "time", "point", "readings", "unit", "reference", "outcome", "initials", "stands"}
    more = [head for head, column in zip(out.heads, tables_out.CHECKS, strict=True) if column not in ours]
    assert out.rows[0][5] == Decimal("-0.4")
    content = spreadsheet_out.written(out, ending)
    with elsewhere(tmp_path / "other") as other:
        other.enrol(DIGITAL_C, tag_id="PA1")
        looked = look(other, content, Options())  # nothing is said of its columns
        assert [one.title for one in looked.columns if one.is_ == "leave_out"] == more
        done = history(other, content, Options())
        found, expected = recorded(other, done), recorded(kitchen, first)
    assert len(found) == len(expected) == 4
    for here, there in zip(found, expected, strict=True):
        for key in ("performed_at", "day_only", "point", "reference", "offset", "stated", "row"):
            assert as_number(here.get(key)) == as_number(there.get(key)), key
        assert [as_number(one) for one in here["as_found"]] == [as_number(one) for one in there["as_found"]]
        if ending == ".csv":
            assert here["as_found"] == there["as_found"]  # every digit as it was typed


def as_number(said: Any) -> Any:
    """A spreadsheet keeps the number and not its last zeros: 98.0 comes back as 98."""
    value, space, unit = said.partition(" ") if isinstance(said, str) else (said, "", "")
    return (Decimal(value), unit) if space else said


def voided_and_condemned(kitchen: Kitchen) -> str:
    """Four checks: one counts, one is void, one is of a condemned bath, one of a bath that nobody has judged."""
    one = kitchen.enrol(DIGITAL_C, tag_id="PA1")
    for shown in ("0.1 C", "0.2 C"):
        kitchen.checked(one, shown)
        kitchen.clock.move(hours=2)
    mend.void(kitchen.session, kitchen.officer, kitchen.last("check_recorded").number, "mistyped")
    for judged in ("condemned", ""):
        bath = kitchen.ice()
        kitchen.key(bath, one, "0.3 C")
        if judged:
            kitchen.judge(bath, judged)
        kitchen.clock.move(hours=2)
    return one


@pytest.mark.fast_cases(2)
@pytest.mark.parametrize("language", resources.languages())
@pytest.mark.parametrize("left_out", [False, True])
def test_a_check_that_does_not_count_is_not_made_to_count_elsewhere(
    kitchen: Kitchen, tmp_path: Path, language: str, left_out: bool
) -> None:
    words = tables_out.Words(language, "es_ES")
    out = tables_out.checks_of(kitchen.session, words, voided_and_condemned(kitchen))
    counts = out.heads.index(words.title("stands"))
    said = [words.say(f"cli.{one}") for one in ("counts.yes", "void", "counts.no", "counts.waits")]
    assert [row[counts] for row in out.rows] == said
    assert [bool(row[out.heads.index(words.title("outcome"))]) for row in out.rows] == [True, False, False, False]
    content = spreadsheet_out.written(out, ".xlsx")
    ours = {*importing_columns(words)}
    more = frozenset(head for head in out.heads if head not in ours or (left_out and head == words.title("stands")))
    with elsewhere(tmp_path / "other") as other:
        other.enrol(DIGITAL_C, tag_id="PA1")
        where = "T"  # the last column
        assert cells(other, content, Options(leave_out=more)) == {(f"{where}{n}", "not_counting") for n in (3, 4, 5)}
        plan = check(other, content, Options(leave_out=more, asked=frozenset(("not_counting",))))
        assert (plan.rows, plan.left_out) == (1, 3)
        done = importing.record_history(other.session, other.officer, plan)
        assert [one["as_found"] for one in recorded(other, done)] == [["0.1 C"]]
        assert other.verify().good


def importing_columns(words: tables_out.Words) -> list[str]:
    return [words.title(one) for one in import_old_check.COLUMNS]


def test_a_column_of_that_name_in_a_file_of_others_may_be_left_out(kitchen: Kitchen) -> None:
    kitchen.enrol(DIGITAL_C, tag_id="PA1")
    content = b"tag,date,point,reading,unit,Counts\nPA1,2026-01-03,ice,0.1,C,3\n"
    assert cells(kitchen, content, Options()) == {("F2", "not_one_of")}
    assert check(kitchen, content, Options(leave_out=frozenset(("Counts",)))).rows == 1


@pytest.mark.parametrize("kind", ["shift", "history", "thermometers"])
def test_each_name_of_a_column_in_the_guide_is_taken(kitchen: Kitchen, kind: str) -> None:
    head = {"shift": "## One shift", "history": "## Years of history", "thermometers": "## Thermometers"}[kind]
    guide = (Path(__file__).parents[2] / "docs" / "importing.md").read_text(encoding="utf-8")
    table = [line for line in guide.split(head)[1].split("\n## ")[0].splitlines() if line.startswith("| `")]
    names = [name for line in table for name in line.split("|")[1].split("`")[1::2]]
    assert len(names) > 8
    for name in names:
        looked = look(kitchen, b"Theirs,More\nx,y\n", Options(columns={"Theirs": name}), kind)
        assert looked.columns[0].is_ in import_columns.COLUMNS[kind]
