"""The list for the wall: forty thermometers, the longest names, both papers and languages; nothing over anything."""

from dataclasses import replace
from datetime import date

import pytest

from registry.documents.facts import CannotPrint, Cell, PageFacts
from registry.documents.site_facts import WallFacts, WallPlace, WallRow
from registry.documents.wall_list import wall_list
from registry.quantity import Reading
from tests.documents import reading, samples

PAGE = PageFacts(
    language="en", region="en_US", zone="America/New_York", paper="letter", owner="Harbour Kitchens", site="Pier"
)
FAHRENHEIT = (
    Cell(use="cook", side="at_least", limit=Reading.from_text("165 F"), shown=Reading.from_text("168.25 F")),
    Cell(use="hot", side="at_least", limit=Reading.from_text("135 F"), shown=Reading.from_text("138.2 F")),
    Cell(use="cold", side="at_most", limit=Reading.from_text("41 F"), shown=Reading.from_text("39.6 F")),
)
USE = WallRow(tag_id="PR0018", type="thermistor_probe", use="use", recheck_by=date(2026, 3, 10), cells=samples.CELLS)
LIMITED = replace(USE, tag_id="PR0026", use="limited_use", only="cold", cells=samples.CELLS[2:])
OUT = WallRow(
    tag_id="WMWMWM123456",
    type="liquid_in_glass",
    use="do_not_use",
    why="Fuera de sus límites en la última comprobación: ajústelo y vuelva a leerlo, o retírelo del uso. "
    "Después entréguelo a quien cuida de los termómetros de este centro, que lo envía a comprobar fuera.",
)
LATE = replace(USE, tag_id="PR0034", overdue=True, first="now", cells=FAHRENHEIT)


def facts(*places: WallPlace, **page: object) -> WallFacts:
    return WallFacts(
        page=replace(PAGE, **page),  # type: ignore[arg-type]
        printed_at=samples.at(3, 10, 30),
        places=places,
    )


HOT = replace(USE, tag_id="PR0067", first="hot", point="comparison", cells=())
MIXED = facts(WallPlace("Grill", (USE, LIMITED, OUT, LATE, HOT)), WallPlace("", (replace(USE, tag_id="PR0042"),)))
MANY = [replace((USE, LIMITED, OUT, LATE, HOT)[n % 5], tag_id=f"PR{n:03d}X") for n in range(40)]
FORTY = facts(
    WallPlace("Línea caliente 2, marmitas y hornos de convección del ala norte", tuple(MANY[:25])),
    WallPlace("Almacén", tuple(MANY[25:])),
    owner=samples.LONGEST.page.owner,
    site=samples.LONGEST.page.site,
    language="es",
    region="es_ES",
    demo=True,
)


@pytest.mark.fast_cases(2)
@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("which", [MIXED, FORTY])
def test_nothing_is_drawn_over_anything_else_and_every_thermometer_is_there(which: WallFacts, paper: str) -> None:
    pdf = wall_list(replace(which, page=replace(which.page, paper=paper, demo=False)))
    text = reading.words_of(pdf).replace(" ", "")
    for place in which.places:
        assert all(row.tag_id in text for row in place.rows)
    for boxes in reading.characters(pdf):
        assert boxes
        assert reading.overlaps(boxes) == []


def test_each_row_says_what_and_until_when() -> None:
    text = reading.words_of(wall_list(MIXED))
    for said in ("LIMITED USE cold food only", "DO NOT USE", "overdue 03/10/2026", "75.5 °C", "168.25 °F", "Grill"):
        assert said in text
    assert "As of March 3, 2026, 5:30 AM" in text  # as its clocks show it
    assert text.endswith("End of the list")


def test_a_station_that_goes_on_over_the_page_is_named_again() -> None:
    pdf = wall_list(FORTY)
    text = reading.words_of(pdf)
    pages = reading.pages_of(pdf)
    assert 3 <= pages <= 5
    assert f"Página {pages} de {pages}" in text
    assert text.count("ala norte, continuación") >= 1
    assert text.count("Fin de la lista") == 1
    assert text.count("DATOS DE DEMOSTRACIÓN") == pages


def test_rows_give_way_where_that_saves_a_page() -> None:
    pages = [reading.pages_of(wall_list(facts(WallPlace("", tuple(MANY[:n]))))) for n in range(1, 20)]
    assert pages == sorted(pages)
    first_of_two = pages.index(2)
    assert first_of_two >= 12


def test_columns_without_any_reading_are_left_out() -> None:
    text = reading.words_of(wall_list(facts(WallPlace("", (replace(USE, cells=samples.CELLS[:1]),)))))
    assert "Cook" in text
    assert "Hold hot" not in text
    none = reading.words_of(wall_list(facts(WallPlace("", (replace(USE, cells=()),)))))
    assert "Readings to reach are not known for any of these" in none


def test_every_font_is_embedded_and_the_same_facts_give_the_same_bytes() -> None:
    assert wall_list(FORTY) == wall_list(FORTY)
    assert all(embedded for _, embedded in reading.fonts_of(wall_list(FORTY)))


def test_what_no_font_has_is_refused() -> None:
    with pytest.raises(CannotPrint) as refused:
        wall_list(facts(WallPlace("\N{SNOWMAN}", (USE,))))
    assert refused.value.code == "missing_characters"
