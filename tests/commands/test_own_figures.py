"""The sheet of an afternoon by command: written, filled in, worked out, used."""

from pathlib import Path

from tests.commands.desk import Kitchen
from tests.services.sheets import xlsx


def filled_in(kitchen: Kitchen, folder: Path) -> str:
    blank, filled = folder / "blank.csv", folder / "filled.csv"
    kitchen.done("own-figures", "sheet", *kitchen.tags[3:6], "--out", str(blank))
    head, *rows = blank.read_text("utf-8").splitlines()
    done = []
    for row in rows:
        bath, made, tag, _, unit, _ = row.split(",")
        readings, reference = ("99.1 / 99.2 / 99.1", "99.6") if made == "rolling_boil" else ("0.1 / 0.2 / 0.1", "")
        done.append(",".join((bath, made, tag, readings, unit, reference)))
    filled.write_text("\n".join([head, *done]), "utf-8")
    return str(filled)


def test_written_filled_in_worked_out_and_used(kitchen: Kitchen, tmp_path: Path) -> None:
    file = filled_in(kitchen, tmp_path)
    found = kitchen.done("own-figures", "work-out", file)
    assert "Repeatability, Thermistor probe" in found
    assert "Fewer than five dials" in found
    assert "nothing was changed" in found
    said = kitchen.json("own-figures", "use", file)
    assert {one["code"] for one in said["figures"]} >= {"repeatability_thermistor_probe", "bath_cubes_stirred"}
    bath = kitchen.json("bath", "ice", "--made", "crushed_packed")
    checked = kitchen.json("read", kitchen.tags[3], "0.1")
    assert checked["recorded"], bath


def test_a_formula_is_asked_about(kitchen: Kitchen, tmp_path: Path) -> None:
    lines = Path(filled_in(kitchen, tmp_path)).read_text("utf-8").splitlines()
    head, first, *rows = (line.split(",") for line in lines)
    file = tmp_path / "filled.xlsx"
    file.write_bytes(xlsx(head, [*first[:3], ("=H2*2", 0), *first[4:]], *rows))
    asked = kitchen("own-figures", "work-out", str(file))
    assert asked.code == 1
    assert "the cell holds a formula" in asked.err
    assert "Repeatability" in kitchen.done("own-figures", "work-out", str(file), "--yes-to", "formula")


def test_the_sheet_tells_how_the_afternoon_goes(kitchen: Kitchen) -> None:
    shown = kitchen.done("own-figures", "sheet", kitchen.tags[3])
    assert "steam and boiling water scald" in shown
    assert "bath,made,tag,readings,unit,reference" in shown


def test_a_file_that_is_not_there(kitchen: Kitchen) -> None:
    said = kitchen("own-figures", "work-out", "nowhere.csv")
    assert said.code == 3
    assert "nowhere.csv" in said.err
