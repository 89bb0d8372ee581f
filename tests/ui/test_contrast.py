"""Contrast as in WCAG 2.2, of the colours by meaning and of pixels on real pages; and status never by colour alone.

The formulas are "relative luminance" and "contrast ratio" of the glossary of W3C, Web Content Accessibility Guidelines
(WCAG) 2.2, https://www.w3.org/TR/WCAG22/; the limits are success criteria 1.4.3 (text, 4.5 : 1) and 1.4.11 (outlines
and marks, 3 : 1). Large text, for which 3 : 1 would do, is held to 4.5 : 1 as well.
"""

from collections.abc import Sequence
from itertools import combinations

import numpy as np
import pytest
from PySide6.QtCore import QPoint, QRect
from PySide6.QtGui import QColor, QImage
from PySide6.QtWidgets import QAbstractButton, QLabel, QLineEdit, QWidget

from registry import resources
from tests.screenshots.stage import Stage, Variant
from tests.ui import looking
from tests.ui.looking import Players
from tests.ui.painting import DARK, LIGHT, picture
from ui import marks
from ui.theme import Look

TEXT, OUTLINE = 4.5, 3.0
BOTH = pytest.mark.parametrize("look", [LIGHT, DARK], ids=["light", "dark"])
GROUNDS = ("sheet", "field", "col", "wash", "pentint", "cautint", "tol")
# What each colour may stand on as text. On level, the share of what is done, only ink is written.
WRITTEN_ON = {
    "ink": (*GROUNDS, "level"),
    "muted": GROUNDS,
    "pen": GROUNDS,
    "penink": ("pen",),
    "within": GROUNDS,
    "outside": GROUNDS,
    "caution": GROUNDS,
}
pytestmark = [pytest.mark.usefixtures("qapp"), looking.no_screen]
# Of the few scenes every other one is dark.
SCENES = [
    pytest.param(
        name,
        dark,
        id=f"{name}-{'dark' if dark else 'light'}",
        marks=() if name in looking.FEW and dark == bool(looking.FEW.index(name) % 2) else pytest.mark.slow,
    )
    for name in looking.BY_NAME
    for dark in (False, True)
]


@pytest.fixture(scope="module")
def players(tmp_path_factory: pytest.TempPathFactory) -> Players:
    return Players(tmp_path_factory.getbasetemp() / "scenes")


def luminance(colour: QColor) -> float:
    """Relative luminance of an sRGB colour, 0 (black) to 1 (white)."""
    red, green, blue = (_linear(one / 255) for one in (colour.red(), colour.green(), colour.blue()))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _linear(channel: float) -> float:
    return channel / 12.92 if channel <= 0.04045 else ((channel + 0.055) / 1.055) ** 2.4


def contrast(one: QColor, other: QColor) -> float:
    """Contrast ratio, 1 to 21; the order of the two does not matter."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_the_formula_gives_what_is_published() -> None:
    """21 and 1 are the ends that WCAG's note names; 4.54 and 4.48 are how #767676 and #777777 on white are commonly
    told, as the last grey that passes and the first that does not (common practice, from memory)."""
    white = QColor("#FFFFFF")
    assert contrast(white, QColor("#000000")) == pytest.approx(21)
    assert contrast(white, white) == 1
    assert contrast(white, QColor("#767676")) == pytest.approx(4.54, abs=0.005)
    assert contrast(white, QColor("#777777")) == pytest.approx(4.48, abs=0.005)


@BOTH
@pytest.mark.parametrize(("text", "ground"), [(text, on) for text, grounds in WRITTEN_ON.items() for on in grounds])
def test_text_is_read_on_every_ground_where_it_may_stand(text: str, ground: str, look: Look) -> None:
    assert contrast(getattr(look, text), getattr(look, ground)) >= TEXT


@BOTH
@pytest.mark.parametrize("ground", GROUNDS)
def test_outlines_of_controls_and_the_focus_are_seen(ground: str, look: Look) -> None:
    assert contrast(look.edge, getattr(look, ground)) >= OUTLINE
    assert contrast(look.pen, getattr(look, ground)) >= OUTLINE


@BOTH
def test_focus_and_press_are_seen_against_what_they_lie_on(look: Look) -> None:
    """On the main button the focus is drawn inside it; a pressed button has an ink edge on level."""
    assert contrast(look.penink, look.pen) >= OUTLINE
    assert contrast(look.ink, look.level) >= OUTLINE
    assert contrast(look.ink, look.tol) >= OUTLINE  # the limits of the rule and of plots
    assert contrast(look.bench, look.sheet) >= OUTLINE


# --- on pixels -------------------------------------------------------------------------------------------------


def drawn(root: QWidget, scale: int = 3) -> QImage:
    """The window enlarged, so that thin strokes have pixels of their full colour."""
    image = QImage(root.size() * scale, QImage.Format.Format_RGB32)
    image.setDevicePixelRatio(scale)
    root.render(image, QPoint())
    return image


def measured(image: QImage, rect: QRect) -> tuple[float, str]:
    """Of what is written in a rectangle: the contrast of its commonest colour with that which differs most."""
    scale = int(image.devicePixelRatio())
    whole = np.frombuffer(image.constBits(), np.uint32).reshape(image.height(), image.bytesPerLine() // 4)
    left, top, wide, high = (one * scale for one in (rect.left(), rect.top(), rect.width(), rect.height()))
    values, counts = np.unique(whole[top : top + high, left : left + wide], return_counts=True)
    ground = QColor.fromRgb(int(values[counts.argmax()]))
    solid = [QColor.fromRgb(int(one)) for one in values[counts >= scale]]
    strongest = max(solid, key=lambda colour: contrast(colour, ground))
    return contrast(strongest, ground), f"{strongest.name()} on {ground.name()}"


def writing(one: QWidget) -> QRect:
    """Where its words are, without its outline."""
    inset = 5 if isinstance(one, (QAbstractButton, QLineEdit)) else 0
    return one.rect().adjusted(inset, inset, -inset, -inset)


def pale(root: QWidget) -> list[str]:
    """Every text in sight whose pixels have too little contrast with their ground."""
    image, found, seen = drawn(root), [], 0
    for one in looking.in_sight(root):
        if not isinstance(one, (QLabel, QAbstractButton, QLineEdit)) or not one.text().strip():
            continue
        shown = writing(one)
        if not one.visibleRegion().boundingRect().contains(shown):  # scrolled away, all or some of it
            continue
        seen += 1
        ratio, told = measured(image, QRect(one.mapTo(root, shown.topLeft()), shown.size()))
        if ratio < TEXT:
            found.append(f"{looking.path(one)}: {ratio:.1f}, {told}")
    assert seen > 3, "hardly anything was looked at"
    return found


@pytest.mark.parametrize(("scene", "dark"), SCENES)
def test_on_real_pages_words_stand_out_and_one_stands_beside_every_mark(
    scene: str, dark: bool, players: Players
) -> None:
    with players.play(scene, Variant(dark=dark)) as stage:
        assert pale(looking.windows(stage.frame)[0]) == []
        assert alone(stage) == []


# --- never by colour alone -------------------------------------------------------------------------------------


def silhouette(kind: str, code: str, high: bool | None = None, side: int = 36) -> set[tuple[int, int]]:
    """Which pixels a mark colours at all, whatever the colour."""
    image = picture(lambda p, rect: marks.paint_mark(p, rect, kind, code, high, LIGHT), side, side)
    ground = image.pixel(0, 0)
    return {(x, y) for x in range(side) for y in range(side) if _far(image.pixel(x, y), ground)}


def _far(one: int, other: int) -> bool:
    return contrast(QColor.fromRgb(one), QColor.fromRgb(other)) >= 1.8


def unlike(one: set[tuple[int, int]], other: set[tuple[int, int]]) -> float:
    """The share of pixels that only one of the two colours."""
    return len(one ^ other) / len(one | other)


A_SIXTH = 1 / 6  # our own measure, no source: half a triangle left open is 0.19
SHAPES = {
    "outcome": [("pass", None), ("conditional_pass", None), ("conditional_fail", True), ("conditional_fail", False),
                ("fail", True), ("fail", False), ("waits", None)],
    "lead": [(code, True) for code in marks.LEAD],
    "service": [(code, None) for code in marks.SERVICE],
}  # fmt: skip


@pytest.mark.parametrize("kind", SHAPES)
def test_every_mark_has_a_shape_of_its_own(kind: str) -> None:
    drawn_as = {(code, high): silhouette(kind, code, high) for code, high in SHAPES[kind]}
    assert all(len(one) > 60 for one in drawn_as.values())
    alike = [
        (one, other, round(unlike(drawn_as[one], drawn_as[other]), 2))
        for one, other in combinations(drawn_as, 2)
        if unlike(drawn_as[one], drawn_as[other]) < A_SIXTH
    ]
    assert alike == []


@pytest.mark.parametrize("language", resources.languages())
def test_marks_that_share_a_shape_and_all_others_have_words_of_their_own(language: str) -> None:
    """Half disc and broken ring each stand for two outcomes, which their words tell apart."""
    texts = resources.texts(language)
    for table, codes in (("outcome", marks.OUTCOMES), ("lead", marks.LEAD), ("status", marks.SERVICE)):
        words = [texts[f"{table}.{code}"] for code in codes if code != "waits" or table != "outcome"]
        assert len(set(words)) == len(words)


def alone(stage: Stage) -> list[str]:
    """Marks in sight that neither a word beside them nor a name of their own tells."""
    found = []
    for root in looking.windows(stage.frame):
        for mark in root.findChildren(marks.Mark):
            if mark.isVisibleTo(root) and mark._mark[1] and not _has_words(mark):
                found.append(looking.path(mark))
    return found


def _has_words(mark: marks.Mark) -> bool:
    beside: Sequence[QLabel] = mark.parentWidget().findChildren(QLabel)
    return any(label.isVisible() and label.text() for label in beside)
