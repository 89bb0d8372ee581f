"""The shift sheet by command: written to a file, and refused with a sentence."""

from pathlib import Path

from tests.commands.desk import Kitchen
from tests.documents.reading import words_of


def test_a_sheet_is_written_for_a_shift_to_come(kitchen: Kitchen, tmp_path: Path) -> None:
    out = tmp_path / "sheet.pdf"
    said = kitchen.json("shift-sheet", "--shift", "Early", "--day", "2026-03-05", "--language", "es", "--out", str(out))
    assert (said["shift"], said["file"]) == ("Early", str(out))
    found = words_of(out.read_bytes())
    assert "Hoja de turno" in found
    assert all(tag in found for tag in kitchen.tags)
    assert kitchen.done("shift-sheet", "--every", "--paper", "letter", "--out", str(out), "--replace").startswith(
        "Shift sheet of Quay"
    )


def test_what_cannot_be_printed_is_said(kitchen: Kitchen) -> None:
    said = kitchen("shift-sheet", "--shift", "Noon")
    assert said.code == 1
    assert "Noon" in said.err
    assert kitchen("shift-sheet", "--paper", "a3").code == 1
    kitchen.done("site", "add", "Mole", "--letters", "MO", "--zone", "Europe/London", "--elevation", "3 m")
    empty = kitchen("shift-sheet", "--site", "MO")
    assert (empty.code, "ask for every thermometer" in empty.err) == (1, True)
