"""Drawings: every type, every way of adjusting and every bath has one; they take their colours from the look."""

import re
from itertools import combinations
from pathlib import Path
from xml.etree import ElementTree

import pytest
from PySide6.QtCore import QRectF, QSize
from PySide6.QtGui import QColor, QImage
from PySide6.QtSvg import QSvgRenderer
from pytestqt.qtbot import QtBot

import resources as shipped
from registry import resources
from tests.ui.painting import DARK, LIGHT, columns, count, picture, rows
from ui import drawings

FILES = sorted((Path(shipped.__file__).parent / "drawings").glob("*.svg"))
NAMES = [file.stem for file in FILES]
pytestmark = pytest.mark.usefixtures("qapp")


def drawn(name: str, side: int = 48, look=LIGHT, colour: QColor | None = None) -> QImage:
    return picture(lambda painter, rect: drawings.paint_drawing(painter, rect, name, look, colour), side, side, look)


def test_every_type_way_of_adjusting_and_point_has_a_drawing() -> None:
    types = resources.instrument_types()
    ways = {f"adjust_{way}" for each in types.values() for way in each.adjustments}
    points = {point.point for each in types.values() for point in each.points}
    baths = {"bath_ice", "bath_boiling", "bath_comparison"}
    assert {*types, *ways, *points, *baths, "happened"} <= set(NAMES)
    assert {f"ice_step_{number}" for number in (1, 2, 3, 4)} <= set(NAMES)


@pytest.mark.parametrize("file", FILES, ids=NAMES)
def test_files_hold_no_words_and_no_colours_of_their_own(file: Path) -> None:
    text = file.read_text("utf-8")
    tags = {element.tag.rpartition("}")[2] for element in ElementTree.fromstring(text).iter()}
    assert tags <= {"svg", "g", "path", "circle", "ellipse", "rect"}
    painted = set(re.findall(r'(?:fill|stroke)="([^"]+)"', text))
    assert painted <= {
        "none",
        "currentColor",
        *(f"var(--{token})" for token in ("muted", "pen", "sheet", "ice", "water", "facet")),
    }


@pytest.mark.parametrize("name", NAMES)
def test_qt_reads_every_one_with_nothing_left_to_fill_in(name: str) -> None:
    text = resources.drawing_path(name).read_text("utf-8")
    renderer = drawings._renderer(name, 2.0, ("#010203", *["#040506"] * 6))
    assert isinstance(renderer, QSvgRenderer)
    assert renderer.isValid()
    assert f"{renderer.viewBox().width()} {renderer.viewBox().height()}" in text
    left = drawings._WEIGHT.sub("", text)
    assert set(re.findall(r"var\(--(\w+)\)", left)) <= set(drawings._COLOURS)


@pytest.mark.parametrize("name", NAMES)
def test_each_is_drawn_in_the_ink_of_its_look(name: str) -> None:
    side = 40 if "bath_" not in name else 240
    for look in (LIGHT, DARK):
        image = drawn(name, side, look)
        assert count(image, look.ink) > 10
        assert count(image, DARK.ink if look is LIGHT else LIGHT.ink) == 0


def test_only_what_a_person_does_is_pen() -> None:
    for name in NAMES:
        by_hand = name in ("adjust_nut", "adjust_reset", "adjust_trim", "ice_step_3", "ice_step_4")
        assert (count(drawn(name, 96), LIGHT.pen) > 0) == by_hand, name


def test_another_colour_takes_the_place_of_ink() -> None:
    image = drawn("bimetal_stem", colour=LIGHT.muted)
    assert count(image, LIGHT.muted) > 20
    assert count(image, LIGHT.ink) == 0


def test_silhouettes_of_types_differ_in_a_row() -> None:
    """At 40 px every two types differ in a good part of the ink that either has."""
    shapes = {}
    for name in resources.instrument_types():
        image = drawn(name, 40)
        shapes[name] = {(x, y) for x in range(40) for y in range(40) if QColor(image.pixel(x, y)).lightness() < 140}
    for one, other in combinations(shapes, 2):
        apart = len(shapes[one] ^ shapes[other]) / len(shapes[one] | shapes[other])
        assert apart > 0.4, (one, other, apart)


def test_lines_are_as_thick_as_the_size_asks() -> None:
    assert drawings.line_weight(40) == pytest.approx(1.6)
    assert drawings.line_weight(76) == pytest.approx(1.9)
    assert drawings.line_weight(1) == 1.3
    assert drawings.line_weight(4000) == 2.4


def test_a_drawing_stays_whole_and_in_the_middle() -> None:
    wide = picture(lambda painter, rect: drawings.paint_drawing(painter, rect, "bimetal_stem", LIGHT), 120, 40)
    dark = columns(wide, LIGHT.ink)
    assert min(dark) >= 40
    assert max(dark) <= 80
    tall = picture(lambda painter, rect: drawings.paint_drawing(painter, rect, "bimetal_stem", LIGHT), 40, 120)
    assert min(rows(tall, LIGHT.ink)) >= 40
    assert max(rows(tall, LIGHT.ink)) <= 80


def test_no_drawing_and_no_room_do_not_raise() -> None:
    for name in ("no_such_drawing", "", "../texts/en/bath", "a b"):
        assert count(drawn(name), LIGHT.sheet) == 48 * 48
    for rect in (QRectF(), QRectF(0, 0, 0.2, 0.2), QRectF(0, 0, -5, 9), QRectF(-9e5, 0, 1e6, 1e6)):
        for name in ("bimetal_stem", "bath_ice"):
            picture(lambda painter, _, r=rect, n=name: drawings.paint_drawing(painter, r, n, LIGHT))
            picture(lambda painter, _, r=rect, n=name: drawings.paint_bath(painter, r, n, LIGHT, "5 cm or more"))


def test_resources_refuse_a_path_in_place_of_a_name() -> None:
    assert resources.drawing_path("infrared").name == "infrared.svg"
    for name in ("nothing", "../tables/plans", ""):
        with pytest.raises(KeyError):
            resources.drawing_path(name)


def test_a_bath_stands_on_the_lower_edge_with_its_depth_beside_it() -> None:
    def paint(words: str) -> QImage:
        return picture(lambda painter, rect: drawings.paint_bath(painter, rect, "bath_ice", LIGHT, words), 240, 300)

    bare, told = paint(""), paint("5 cm or more")
    assert max(rows(told, LIGHT.ink)) >= 290
    assert count(bare, LIGHT.muted) == 0
    assert min(columns(told, LIGHT.muted)) > max(columns(told, LIGHT.ink))


def test_drawing_keeps_its_size_and_tells_its_name(qtbot: QtBot) -> None:
    widget = drawings.Drawing(LIGHT, QSize(240, 280))
    qtbot.addWidget(widget)
    empty = widget.grab().toImage()
    widget.show_drawing("bath_ice", "Three thermometers in packed ice", "5 cm or more")
    assert widget.size() == QSize(240, 280)
    assert widget.accessibleName() == "Three thermometers in packed ice"
    assert widget.grab().toImage() != empty
