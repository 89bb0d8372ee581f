"""Own figures in Set-up: the sheet out, filled in, back, looked at and used once."""

from pathlib import Path

import pytest

from registry.services import rules
from tests.services.kitchen import Kitchen
from tests.services.test_own_figures import sheet, with_a_formula
from tests.ui.conftest import Answers, sit_down
from tests.ui.test_shift_safety import id_of, notices
from ui.desk import Desk
from ui.frame import Frame
from ui.parts import Words
from ui.setup.own_figures import OwnFiguresPart
from ui.setup.page import SetupPage

DIGITALS = [f"DIGI{n}" for n in range(4)]


@pytest.fixture
def part(frame: Frame, desk: Desk, kitchen: Kitchen) -> OwnFiguresPart:
    sit_down(desk, kitchen, "officer")
    return opened(frame)


def opened(frame: Frame) -> OwnFiguresPart:
    frame.go("setup", "own_figures")
    page = frame.page
    assert isinstance(page, SetupPage)
    assert isinstance(page.part, OwnFiguresPart)
    return page.part


def said(part: OwnFiguresPart) -> str:
    return "\n".join(one.text() for one in part.findChildren(Words))


def filled(kitchen: Kitchen, folder: Path) -> Path:
    kitchen_sheet = folder / "afternoon.csv"
    kitchen_sheet.write_text(sheet(kitchen, [id_of(kitchen, tag) for tag in DIGITALS]), "utf-8")
    return kitchen_sheet


def test_the_sheet_names_those_that_were_chosen(part: OwnFiguresPart, answers: Answers, tmp_path: Path) -> None:
    part.form.fill({"tag_id": "DIGI0, DIGI2"})
    answers.ready = [tmp_path / "sheet.csv"]
    part.save_button.click()
    tags = {line.split(",")[2] for line in (tmp_path / "sheet.csv").read_text().splitlines()[1:]}
    assert tags == {"DIGI0", "DIGI2"}


def test_a_formula_is_asked_about_and_answered_with_a_press(
    part: OwnFiguresPart, kitchen: Kitchen, tmp_path: Path
) -> None:
    file = tmp_path / "afternoon.xlsx"
    file.write_bytes(with_a_formula(kitchen, [id_of(kitchen, tag) for tag in DIGITALS]))
    part.work_out(file)
    assert part.found is None
    assert "the cell holds a formula" in said(part)
    part.right_button.click()
    assert part.found is not None
    assert part.problems == ()


@pytest.mark.parametrize("tags", ["", "DIGI0 NOSUCH"])
def test_a_tag_that_nobody_bears_is_said_beside_it(part: OwnFiguresPart, answers: Answers, tags: str) -> None:
    part.form.fill({"tag_id": tags})
    part.save_button.click()
    assert answers.asked == []  # there is no sheet to save
    assert part.form.input("tag_id").accessibleDescription()


def test_worked_out_looked_at_and_used(
    part: OwnFiguresPart, answers: Answers, desk: Desk, kitchen: Kitchen, tmp_path: Path
) -> None:
    before = len(kitchen.entries("figures_set"))
    answers.ready = [filled(kitchen, tmp_path)]
    part.back_button.click()
    assert "What 64 readings come to" in said(part)
    assert len(kitchen.entries("figures_set")) == before
    told = notices(desk)
    part.use()
    part.use()
    assert len(kitchen.entries("figures_set")) == before + 1
    assert told[0].startswith("From now on these figures count")
    assert "Repeatability, " in said(part)  # in force, measured here
    with kitchen.session.reading() as connection:
        assert rules.rules_in_force(connection).figures.figures["bath_cubes_careless"].measured


def test_not_now_leaves_all_as_it_was(part: OwnFiguresPart, answers: Answers, kitchen: Kitchen, tmp_path: Path) -> None:
    before = len(kitchen.entries("figures_set"))
    answers.ready = [filled(kitchen, tmp_path)]
    part.back_button.click()
    part.start_over()
    assert len(kitchen.entries("figures_set")) == before
    assert "Nothing was measured here yet: figures from judgement count." in said(part)


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "empty"),
        (b"bath,made,tag,readings,unit,reference\n1,crushed_packed,DIGI0,warm,C,\n", "warm"),
        (b"bath,made,tag,readings,unit,reference\n1,crushed_packed,NOSUCH,0.1,C,\n", "NOSUCH"),
        (b"\x89PNG\r\n\x1a\n\x00\x00", ""),
    ],
)
def test_a_sheet_that_is_none_is_named_and_changes_nothing(
    part: OwnFiguresPart, answers: Answers, kitchen: Kitchen, tmp_path: Path, content: bytes, says: str
) -> None:
    bad = tmp_path / "bad.csv"
    bad.write_bytes(content)
    answers.ready = [bad]
    before = said(part)
    part.back_button.click()
    assert part.found is None
    assert part.problems
    assert says in said(part)
    assert said(part) != before


def test_a_file_that_is_gone_is_said(part: OwnFiguresPart, answers: Answers, tmp_path: Path) -> None:
    answers.ready = [tmp_path / "gone.csv"]
    part.back_button.click()
    assert part.trouble
    assert part.trouble in said(part)


def test_a_lead_looks_only(frame: Frame, desk: Desk, kitchen: Kitchen) -> None:
    sit_down(desk, kitchen, "lead")
    part = opened(frame)
    assert not part.may_change
    assert not hasattr(part, "form")
