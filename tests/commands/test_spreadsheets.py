"""Spreadsheets by command: lists out by the ending, files in with their columns matched and remembered."""

from decimal import Decimal, InvalidOperation
from pathlib import Path

import pytest

from registry import resources
from registry.services import csvfile
from registry.services.import_columns import COLUMNS
from registry.services.import_rows import QUESTION_OF
from tests.commands.desk import Kitchen
from tests.services.sheets import xlsx

LISTS = {
    "thermometers": ("thermometers",),
    "due": ("due",),
    "history": ("history", "TAG"),
    "happened": ("history", "TAG", "--what", "happened"),
    "log": ("log", "--month", "2026-03"),
    "activity": ("activity", "--weeks", "4"),
    "offsets": ("activity", "--what", "offsets", "--by", "model"),
    "certificates": ("certificates",),
    "people": ("person", "list"),
    "baths": ("baths",),
}


def rows_of(file: Path) -> list[list[str]]:
    table = csvfile.open_table(file.read_bytes(), (), asking=True)
    return [list(table.header), *(cells for _, cells in table.rows())]


def plain(cell: str) -> str:
    """A cell of a spreadsheet keeps a number without its last zeros, and a midnight as its day."""
    try:
        return f"{Decimal(cell).normalize():f}"
    except InvalidOperation:
        return cell.removesuffix(" 00:00")


@pytest.mark.fast_cases(7)
@pytest.mark.parametrize("language", resources.languages())
@pytest.mark.parametrize("name", LISTS)
def test_each_list_goes_out_as_xlsx_and_as_csv_with_the_same_cells(
    kitchen: Kitchen, tmp_path: Path, name: str, language: str
) -> None:
    tag = kitchen.tags[3]
    kitchen.done("bath", "ice", "--made", "crushed_packed")
    kitchen("read", tag, "-0.4")
    kitchen.done("bath", "judge", "accepted")
    words = [tag if one == "TAG" else one for one in LISTS[name]]
    sheet, text = tmp_path / "out.xlsx", tmp_path / "out.csv"
    for file in (sheet, text):
        said = kitchen("--language", language, *words, "--out", str(file))
        assert said.code == 0, said.err
        assert said.out.rstrip().endswith(f"{file}.")
    found = rows_of(sheet)
    assert found[0] == rows_of(text)[0]
    assert [[plain(cell) for cell in row] for row in found] == [[plain(cell) for cell in row] for row in rows_of(text)]
    if name in ("thermometers", "history", "log"):
        assert any("-0.4" in row for row in found)
    if name == "thermometers":
        assert len(found) == 13  # all of them, however many are shown at once


def test_another_ending_is_refused_and_pages_are_still_written(kitchen: Kitchen, tmp_path: Path) -> None:
    said = kitchen("thermometers", "--out", str(tmp_path / "list.ods"))
    assert (said.code, list(tmp_path.glob("list*"))) == (1, [])
    assert ".xlsx, .csv" in said.err
    kitchen.done("log", "--month", "2026-03", "--out", str(tmp_path / "log.pdf"))
    assert (tmp_path / "log.pdf").read_bytes().startswith(b"%PDF")


def test_columns_said_once_are_remembered_by_their_titles(kitchen: Kitchen, tmp_path: Path) -> None:
    file = tmp_path / "old.xlsx"
    file.write_bytes(xlsx(["Probe", "Day", "Value", "Team"], [kitchen.tags[3], "2025-11-03", -0.4, "A"]))
    asked = ("import", "history", str(file), "--unit", "C", "--point", "ice_point")
    said = kitchen(*asked, "--try")
    assert said.code == 1
    assert "The column Probe is not known here" in said.err
    columns = ("--column", "Probe=tag", "--column", "Day=date", "--column", "Value=readings", "--leave-out", "Team")
    assert "Team" in kitchen.done(*asked, *columns, "--try")
    assert "Team" in kitchen.done(*asked, "--try")  # left out from memory, and said so
    assert kitchen.json(*asked)["rows"] == 1
    assert kitchen(*asked).code == 1  # the file was imported


def test_thermometers_and_people_come_from_files(kitchen: Kitchen, tmp_path: Path) -> None:
    new, staff = tmp_path / "new.xlsx", tmp_path / "staff.csv"
    new.write_bytes(xlsx(["tag id", "type", "step", "lowest", "highest"], ["NEW1", "Oven dial", 5, 50, 300]))
    said = kitchen("import", "thermometers", str(new))
    assert "type (B2)" in said.err  # its unit is asked
    assert kitchen.json("import", "thermometers", str(new), "--unit", "C", "--try")["tags"] == ["NEW1"]
    kitchen.done("import", "thermometers", str(new), "--unit", "C")
    assert kitchen.json("thermometer", "NEW1")["type"] == "oven"
    staff.write_text("name,initials,roles\nZoe Ash,ZA,Kitchen lead; auditor\n", encoding="utf-8")
    kitchen.done("import", "people", str(staff))
    (zoe,) = [one for one in kitchen.json("person", "list")["people"] if one["initials"] == "ZA"]
    assert (zoe["name"], zoe["roles"]) == ("Zoe Ash", ["lead", "auditor"])
    assert kitchen.done("verify", "--deep")


def test_one_of_several_sheets_is_named(kitchen: Kitchen, tmp_path: Path) -> None:
    file = tmp_path / "two.xlsx"
    rows = (["tag", "date", "reading"], [kitchen.tags[3], "2025-11-03", 0.1])
    file.write_bytes(xlsx(*rows, more=lambda book, _: book.add_worksheet("Notes").write(0, 0, "x")))
    asked = ("import", "history", str(file), "--unit", "C", "--point", "ice", "--try")
    asked = tuple("ice_point" if one == "ice" else one for one in asked)
    assert "Checks, Notes" in kitchen(*asked).err
    assert kitchen(*asked, "--sheet", "Checks").code == 0


def test_what_a_file_asks_is_answered_by_name(kitchen: Kitchen, tmp_path: Path) -> None:
    file = tmp_path / "old.xlsx"
    rows = [["2026-02-01", ("=1-1", 0), ""], ["2026-02-02", 1.2, "pass"], ["2026-02-03", 0.25, ""]]
    file.write_bytes(xlsx(["tag", "date", "reading", "outcome"], *([kitchen.tags[3], *row] for row in rows)))
    asked = ("import", "history", str(file), "--unit", "C", "--point", "ice_point", "--initials", "AR")
    said = kitchen(*asked).err.splitlines()[-1]
    answers = ("--yes-to", "formula", "--yes-to", "outcome_against", "--yes-to", "too_fine")
    assert said == "If it is right as it stands, give the same command again with " + " ".join(answers) + "."
    assert kitchen.json(*asked, *answers)["rows"] == 3


def test_what_is_to_be_said_of_a_file_is_named_with_its_option(kitchen: Kitchen, tmp_path: Path) -> None:
    file = tmp_path / "old.csv"
    file.write_text(f"tag,Day,reading,unit,point\n{kitchen.tags[3]},03/04/2025,0.1,C,ice\n")
    asked = ("import", "history", str(file), "--initials", "AR")
    assert "--column THEIRS=OURS, or --leave-out COLUMN" in kitchen(*asked).err
    wrong = kitchen(*asked, "--column", "Day=day").err
    assert wrong.startswith("day is no column here: choose one of tag, date,")
    told = kitchen(*asked, "--column", "Day=date").err
    assert "no other order of day and month was stated" in told
    assert "--day-order dmy" in told
    kitchen.done(*asked, "--column", "Day=date", "--day-order", "dmy")


@pytest.mark.parametrize("language", resources.languages())
def test_each_column_and_question_of_an_import_is_named_in_its_help(language: str) -> None:
    texts = resources.texts(language)
    for kind, columns in COLUMNS.items():
        assert texts[f"help.columns.import_{kind}"].endswith(": " + ", ".join(columns))
    named = texts["help.option.asked"].rpartition(": ")[2].split(", ")
    assert set(named) == set(QUESTION_OF.values())
    assert {f"setup.asked.{one}" for one in named} <= texts.keys()


def test_a_history_goes_out_and_comes_in_without_a_word_of_its_columns(kitchen: Kitchen, tmp_path: Path) -> None:
    tag, other = kitchen.tags[3:5]
    kitchen.done("bath", "ice", "--made", "crushed_packed")
    for _ in range(3):
        kitchen("read", tag, "3.0")
    kitchen.done("bath", "judge", "accepted")
    kitchen.done("adjust", tag, "--how", "reset", "--as-left", "0.0")
    file = tmp_path / "out.xlsx"
    kitchen.done("history", tag, "--out", str(file))
    said = kitchen.done("import", "history", str(file), "--tag", f"{tag}={other}")
    for title in ("As left", "How adjusted", "Off by", "Limit"):  # left out, and told so
        assert title in said
    assert kitchen.json("history", other)["checks"][0]["readings"]
    kitchen.clock.set("2026-03-03 09:00")
    assert "Whether it was adjusted is not recorded." in kitchen.done("was", other, "2026-03-03", "08:00")
