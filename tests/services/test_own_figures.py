"""The sheet of an afternoon: worked out, used, and from then on in every check."""

from math import sqrt
from pathlib import Path

import pytest

from registry.services import own_figures, thermometers
from registry.services.import_rows import Options
from registry.services.own_figures import OwnFigures
from registry.services.problems import Refused
from tests.services.kitchen import AIR_C, DIAL_C, Kitchen
from tests.services.sheets import xlsx

HEAD = "bath,made,tag,readings,unit,reference\n"


def sheet(kitchen: Kitchen, those: list[str]) -> str:
    """Two packed baths, two careless ones 0.3 °C warmer, and two pots 0.4 °C low."""
    rows = []
    for bath, made, error in (
        ("1", "crushed_packed", 0.0),
        ("2", "crushed_packed", 0.0),
        ("3", "cubes_careless", 0.3),
        ("4", "cubes careless", 0.3),
    ):
        for one in those:
            rows.append(f"{bath},{made},{kitchen.tag(one)},{error:.1f} / {error + 0.1:.1f} / {error + 0.2:.1f},C,")
    for pot in ("a", "b"):
        for one in those:
            rows.append(f"{pot},rolling_boil,{kitchen.tag(one)},99.3 / 99.2,C,99.6")
    return HEAD + "\n".join(rows) + "\n"


def worked_out(kitchen: Kitchen, text: str) -> OwnFigures:
    with kitchen.session.reading() as connection:
        return own_figures.work_out(kitchen.session, connection, text.encode())


@pytest.fixture
def those(kitchen: Kitchen) -> list[str]:
    return [kitchen.enrol() for _ in range(5)]


def test_what_the_sheet_comes_to(kitchen: Kitchen, those: list[str]) -> None:
    found = worked_out(kitchen, sheet(kitchen, those))
    by_code = {one.code: one for one in found.figures}
    assert set(by_code) == {"repeatability_thermistor_probe", "bath_cubes_careless", "bath_rolling_boil"}
    # By hand: 20 ice cells of 0.0, 0.1, 0.2 (variance 0.01, dof 2), 10 boiling ones 0.1 apart (variance 0.005, dof 1).
    repeats = by_code["repeatability_thermistor_probe"]
    assert float(repeats.value) == pytest.approx(sqrt((20 * 2 * 0.01 + 10 * 0.005) / 50), abs=1e-4)
    assert repeats.found.dof == 50
    careless = by_code["bath_cubes_careless"]
    assert careless.found.mean == pytest.approx(0.3)
    assert float(careless.value) == pytest.approx(sqrt(3) * sqrt(0.3**2 + (0.1 / sqrt(3)) ** 2), abs=1e-3)
    assert found.missing == ("dials", "habits", "pots", "times")
    assert (found.thermometers, found.readings) == (5, 80)


def test_used_in_every_check_from_then_on(kitchen: Kitchen, those: list[str]) -> None:
    before = kitchen.checked(those[0], "0.1 C")
    found = worked_out(kitchen, sheet(kitchen, those))
    own_figures.use(kitchen.session, kitchen.officer, found, "2026-03-03")
    after = kitchen.checked(those[0], "0.1 C")
    parts = [
        next(entry.payload for entry in kitchen.entries("check_recorded") if entry.payload["check"] == check)
        for check in (before, after)
    ]
    assert [one["components"]["repeatability"] for one in parts] == ["0.1 dC", "0.0949 dC"]
    assert [one["dof"]["repeatability"] for one in parts] == ["50", "50"]
    kitchen.ice("cubes_careless")
    made = kitchen.last("bath_made").payload
    assert float(made["components"]["bath"].split()[0]) == pytest.approx(0.3055, abs=1e-3)
    assert "dof" not in made  # both careless baths were off alike, so no spread between them is known to be small
    stored = kitchen.last("document_stored").payload
    assert (stored["document"], stored["media"]) == ("figures_sheet", "text/csv")
    assert kitchen.verify().good


def with_a_formula(kitchen: Kitchen, those: list[str]) -> bytes:
    """The sheet as a workbook where the first readings are a formula that nothing worked out: a 0 that was not read."""
    head, *rows = (line.split(",") for line in sheet(kitchen, those).splitlines())
    first = [*rows[0][:3], ("=H2*2", 0), *rows[0][4:]]
    return xlsx(head, first, *rows[1:])


def test_a_formula_is_asked_about_before_its_value_becomes_a_figure(kitchen: Kitchen, those: list[str]) -> None:
    content = with_a_formula(kitchen, those)
    with kitchen.session.reading() as connection:
        with pytest.raises(Refused) as refused:
            own_figures.work_out(kitchen.session, connection, content)
        problems = [(one.values["row"], one.field, one.code) for one in refused.value.problems]
        assert problems == [(2, "readings", "formula")]
        yes = Options(asked=frozenset({"formula"}))
        assert own_figures.work_out(kitchen.session, connection, content, yes).readings == 78


def test_recorded_once(kitchen: Kitchen, those: list[str]) -> None:
    found = worked_out(kitchen, sheet(kitchen, those))
    own_figures.use(kitchen.session, kitchen.officer, found, "2026-03-03", figures=(new := kitchen.session.new_id()))
    count = kitchen.count()
    own_figures.use(kitchen.session, kitchen.officer, found, "2026-03-03", figures=new)
    assert kitchen.count() == count


def test_a_lead_may_not(kitchen: Kitchen, those: list[str]) -> None:
    found = worked_out(kitchen, sheet(kitchen, those))
    with kitchen.refuses(("actor", "not_allowed")):
        own_figures.use(kitchen.session, kitchen.lead, found, "2026-03-03")


def test_dials_have_their_own(kitchen: Kitchen) -> None:
    dial = kitchen.dial(DIAL_C)
    found = worked_out(kitchen, HEAD + f"1,crushed_packed,{kitchen.tag(dial)},0.5 / 1.0 / 0.5,C,\n")
    (only,) = found.figures
    assert only.code == "repeatability_bimetal_stem"
    assert float(only.value) == pytest.approx(sqrt(1 / 12), abs=1e-4)


def test_the_blank_sheet_can_be_read_back_empty(kitchen: Kitchen, those: list[str]) -> None:
    with kitchen.session.reading() as connection:
        text = own_figures.blank_sheet(connection, [kitchen.tag(one) for one in those])
    assert len(text.splitlines()) == 1 + 5 * (3 * 2 + 3)
    with kitchen.refuses(("file", "no_rows")):
        worked_out(kitchen, text)


@pytest.mark.parametrize(
    ("row", "problem"),
    [
        ("1,melted,{tag},0.1,C,", ("made", "made_unknown")),
        ("1,crushed_packed,NONE1,0.1,C,", ("tag", "unknown_tag")),
        ("1,crushed_packed,{tag},warm,C,", ("readings", "reading_not_a_number")),
        ("1,crushed_packed,{tag},0.1,K,", ("unit", "unit_unknown")),
        ("1,rolling_boil,{tag},99.1,C,", ("reference", "missing")),
        (",crushed_packed,{tag},0.1,C,", ("bath", "missing")),
    ],
)
def test_a_bad_cell_is_named(kitchen: Kitchen, row: str, problem: tuple[str, str]) -> None:
    tag = kitchen.tag(kitchen.enrol())
    with pytest.raises(Refused) as refused:
        worked_out(kitchen, HEAD + row.format(tag=tag) + "\n")
    assert problem in {(one.field, one.code) for one in refused.value.problems}


def test_what_is_no_sheet_is_refused(kitchen: Kitchen, tmp_path: Path) -> None:
    for content in (b"", b"\x89PNG\r\n", b"a,b\n1,2\n"):
        with kitchen.session.reading() as connection, pytest.raises(Refused):
            own_figures.work_out(kitchen.session, connection, content)


def test_who_is_suggested_for_the_afternoon(kitchen: Kitchen) -> None:
    """Those that take ice and boil, dials and digitals, five of each at most; who is out of use is left alone."""
    dials = [kitchen.dial(DIAL_C) for _ in range(6)]
    digitals = [kitchen.enrol() for _ in range(6)]
    kitchen.enrol(AIR_C, type="fixed_air")
    kitchen.enrol(type="infrared")
    thermometers.take_out(kitchen.session, kitchen.lead, digitals[0], "worn")
    with kitchen.session.reading() as connection:
        found = own_figures.suggested(connection, kitchen.site)
    assert found == sorted(map(kitchen.tag, dials))[:5] + sorted(map(kitchen.tag, digitals[1:]))


@pytest.mark.parametrize("slip", ["320 / 0.1 / 0.2", "0.1 / 50 / 0.2", "-30 / -30 / -30"])
def test_a_slip_in_the_sheet_becomes_no_figure(kitchen: Kitchen, those: list[str], slip: str) -> None:
    """It would widen every check from then on, and hide what is wrong with a thermometer."""
    text = sheet(kitchen, those).replace("0.0 / 0.1 / 0.2", slip, 1)
    with pytest.raises(Refused) as refused:
        worked_out(kitchen, text)
    assert [(one.field, one.code) for one in refused.value.problems] == [("readings", "too_far_apart")]
