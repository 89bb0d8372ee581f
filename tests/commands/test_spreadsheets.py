"""Spreadsheets by command: lists out by the ending, files in with their columns matched and remembered."""

from decimal import Decimal, InvalidOperation
from pathlib import Path

import pytest

from registry import resources
from registry.services import csvfile
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
