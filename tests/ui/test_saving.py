"""Save as spreadsheet: every table of the window goes out as it is shown, and whole."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from registry.services import csvfile, thermometers
from tests.services.kitchen import Kitchen
from tests.ui.conftest import Answers
from ui.desk import Desk
from ui.drift.page import DriftPage
from ui.frame import Frame
from ui.proof.page import ProofPage
from ui.saving import SaveTable
from ui.thermometers.page import ThermometersPage

Saved = Callable[..., list[list[str]]]


@pytest.fixture
def saved(answers: Answers, tmp_path: Path) -> Saved:
    """Press a button, give a file's name, and read what was written: titles and rows as text."""

    def press(button: SaveTable, ending: str = ".csv") -> list[list[str]]:
        file = tmp_path / f"out{ending}"
        answers.ready = [file]
        button.ask()
        table = csvfile.open_table(file.read_bytes(), (), asking=True)
        return [list(table.header), *(cells for _, cells in table.rows())]

    return press


def only(within: Any) -> SaveTable:
    (found,) = within.findChildren(SaveTable)
    assert isinstance(found, SaveTable)
    return found


@pytest.mark.parametrize("ending", [".xlsx", ".csv"])
def test_the_table_goes_out_as_narrowed_with_its_columns_and_whole(frame: Frame, saved: Saved, ending: str) -> None:
    frame.go("thermometers")
    page = frame.page
    assert isinstance(page, ThermometersPage)
    page.table.filters.search.setText("DIGI")
    page.table._narrow()
    rows = saved(only(page.table), ending)
    shown = page.table.model.asked.columns
    # Beside the offset stands its unit, beside the type what it shows: a unit, and two scales with three ends each.
    assert len(rows[0]) == len(shown) + ("last_offset" in shown) + 7 * ("type" in shown)
    assert [row[0] for row in rows] == ["Tag id", "DIGI0", "DIGI1", "DIGI2", "DIGI3"]


def test_a_name_without_a_known_ending_writes_nothing(
    frame: Frame, desk: Desk, answers: Answers, tmp_path: Path
) -> None:
    frame.go("thermometers")
    assert isinstance(frame.page, ThermometersPage)
    answers.ready = [tmp_path / "out.pdf"]
    only(frame.page.table).ask()
    assert list(tmp_path.glob("out*")) == []


def test_the_checks_of_one_go_out_with_numbers(frame: Frame, kitchen: Kitchen, saved: Saved) -> None:
    with kitchen.session.reading() as connection:
        one = thermometers.find(connection, "DIGI0").row.thermometer
    kitchen.checked(one, "-0.4 C")
    frame.go("thermometers", one)
    page = frame.page
    assert isinstance(page, ThermometersPage)
    head, row = saved(page.one.save_button, ".xlsx")
    found = dict(zip(head, row, strict=True))
    assert (found["Reading"], found["Unit"], found["Off by"], found["Limit"]) == ("-0.4", "°C", "-0.4", "1")
    assert (found["Outcome"], found["Initials"], found["Date"]) == ("Pass", "LQ", "2026-03-03")
    happened = saved(page.one.save_happened)
    assert happened[0][4:6] == ["What happened", "Detail"]
    assert "Moved" in [row[4] for row in happened[1:]]


def test_log_certificates_and_drift_go_out(frame: Frame, kitchen: Kitchen, saved: Saved) -> None:
    with kitchen.session.reading() as connection:
        one = thermometers.find(connection, "DIGI0").row.thermometer
    kitchen.checked(one, "0.2 C")
    frame.go("proof")
    page = frame.page
    assert isinstance(page, ProofPage)
    page.show_part("log")
    log = saved(page.log.save)
    assert [row[log[0].index("Tag")] for row in log[1:] if row[log[0].index("Off by")] == "0.2"] == ["DIGI0"]
    page.show_part("certificates")
    assert saved(page.certificates.save_list) == [["Number", "Tag", "Issued", "Initials", "State", "Page kept"]]
    frame.go("drift")
    drift = frame.page
    assert isinstance(drift, DriftPage)
    weeks = saved(drift.weeks.save)
    assert weeks[0][:4] == ["Site", "Week from", "Wanted", "Done"]
    assert [row[3] for row in weeks[1:] if row[1] == "2026-03-02"] == ["1"]
    offsets = saved(drift.offsets.save, ".xlsx")
    assert offsets[0][0] == "Type"
    assert sum(int(row[1]) + int(row[2]) for row in offsets[1:]) == 12  # with an offset, and without
