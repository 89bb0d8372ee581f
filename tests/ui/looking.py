"""What tests of the look share: which widgets are in sight, how a person would name one, and what is clipped."""

from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, QRect, QSize, Qt
from PySide6.QtGui import QFontMetrics, QTextDocument
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractScrollArea,
    QAbstractSpinBox,
    QComboBox,
    QDialog,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QScrollArea,
    QWidget,
)

from tests.screenshots import worlds
from tests.screenshots.scenes import Scene
from tests.screenshots.scenes.every import SCENES
from tests.screenshots.stage import Stage, Variant, played
from tests.screenshots.worlds import World

# A window without a screen can't hand its smallest size on, and says so whenever a sheet opens.
no_screen = pytest.mark.qt_log_ignore("propagateSizeHints", extend=True)
BY_NAME = {scene.name: scene for scene in SCENES}
PLAIN = Variant()
# One of each place, which the fast tests look at; the slow ones look at every scene.
FEW = (
    "shift_adjusting",
    "thermometers_one",
    "drift_normal",
    "proof_answer",
    "setup_people",
    "happened_what",
    "frame_first_start",
)
PRESSED = (QAbstractButton, QLineEdit, QAbstractSpinBox, QComboBox, QPlainTextEdit)
NEARLY = 1  # px: metrics are rounded up here and down there


@cache
def world(name: str, folder: Path) -> World:
    """Made once a run, whichever test asks first."""
    folder.mkdir(exist_ok=True)
    return worlds.make(name, folder)


@dataclass(frozen=True, slots=True)
class Players:
    """Plays scenes by name; their worlds lie in `folder`."""

    folder: Path

    def play(self, name: str, variant: Variant = PLAIN) -> AbstractContextManager[Stage]:
        return _played(BY_NAME[name], world(BY_NAME[name].world, self.folder), self.folder, variant)


@contextmanager
def _played(scene: Scene, of: World, folder: Path, variant: Variant) -> Iterator[Stage]:
    with played(of, folder, variant, scene.role, scene.unit) as stage:
        scene.play(stage)
        yield stage


def in_sight(root: QWidget) -> Iterator[QWidget]:
    """Everything that is shown in a window, what has to be scrolled to included; insides of Qt's own controls not."""
    for one in root.findChildren(QWidget):
        if one.isVisibleTo(root) and one.window() is root and not _inside_a_control(one):
            yield one


def _inside_a_control(one: QWidget) -> bool:
    parent = one.parentWidget()
    while parent is not None:
        if isinstance(parent, QAbstractScrollArea) and not isinstance(parent, QScrollArea):
            return True
        if isinstance(parent, (QComboBox, QAbstractSpinBox)):
            return True
        parent = parent.parentWidget()
    return False


def named(one: QWidget) -> str:
    """What a person would call it."""
    text = getattr(one, "text", None)
    said = one.accessibleName() or (text() if callable(text) else "") or type(one).__name__
    return " ".join(str(said).split())[:60]


def path(one: QWidget) -> str:
    """Where it stands: what holds it, by name, and itself."""
    steps, parent = [named(one)], one.parentWidget()
    while parent is not None and not parent.isWindow():
        if parent.accessibleName() or type(parent).__module__.startswith("ui."):
            steps.append(parent.accessibleName() or type(parent).__name__)
        parent = parent.parentWidget()
    return " > ".join(reversed(steps))


# --- clipped ---------------------------------------------------------------------------------------------------


def clipped(root: QWidget) -> list[str]:
    """Every text that has less room than it needs, and every widget that hangs over its parent's edge."""
    found = []
    for one in in_sight(root):
        if isinstance(one, QLabel) and one.text():
            found += _short_label(one)
        elif isinstance(one, QAbstractButton) and one.text():
            found += _short_button(one)
        elif isinstance(one, QComboBox):
            found += _short(one, _words(one.currentText(), one), _field_of(one), "its choice")
        elif isinstance(one, QLineEdit) and not one.text() and one.placeholderText():
            found += _short(one, _words(one.placeholderText(), one), one.width() - 22, "its hint")
        if isinstance(one, (QLabel, *PRESSED)):
            found += _overhanging(one, root)
    return found


def _words(text: str, one: QWidget) -> int:
    """The width of its longest line, px."""
    metrics = QFontMetrics(one.font())
    return max(metrics.horizontalAdvance(line) for line in text.split("\n"))


def _short(one: QWidget, needed: int, room: int, what: str) -> list[str]:
    return [f"{path(one)}: {what} is {needed - room} px too wide"] if needed > room + NEARLY else []


def _field_of(box: QComboBox) -> int:
    return box.width() - 10 - 28  # padding at the left, the mark that opens it at the right


def _short_label(label: QLabel) -> list[str]:
    margins = label.contentsMargins()
    inner = label.width() - margins.left() - margins.right() - 2 * label.margin()
    if not label.wordWrap():
        needed = label.sizeHint()
        high = [f"{path(label)}: {needed.height() - label.height()} px too high"]
        wide = _short(label, needed.width(), label.width(), "its text")
        return wide + (high if needed.height() > label.height() + NEARLY else [])
    found = _short(label, _longest_word(label), inner, "a word of it")
    high = label.heightForWidth(label.width())
    if high > label.height() + NEARLY:
        found.append(f"{path(label)}: {high - label.height()} px too high")
    return found


def _longest_word(label: QLabel) -> int:
    """As wide as a wrapped text has to be, px."""
    document = QTextDocument()
    document.setDocumentMargin(0)
    document.setDefaultFont(label.font())
    if label.textFormat() == Qt.TextFormat.RichText:
        document.setHtml(label.text())
    else:
        document.setPlainText(label.text())
    document.setTextWidth(0)
    return int(document.idealWidth())


def _short_button(button: QAbstractButton) -> list[str]:
    found = _short(button, _needed(button), button.width(), "its text")
    lines = len(button.text().split("\n"))
    high = QFontMetrics(button.font()).height() * lines
    if high > button.height() + NEARLY:
        found.append(f"{path(button)}: its text is {high - button.height()} px too high")
    return found


def _needed(button: QAbstractButton) -> int:
    """Its longest line; one that breaks its words into lines asks for less by itself."""
    return min(_words(button.text(), button), button.sizeHint().width())


def _overhanging(one: QWidget, root: QWidget) -> list[str]:
    """Past an edge of what holds it, where nothing scrolls there."""
    parent, rect = one.parentWidget(), one.geometry()
    while parent is not None and parent is not root.parentWidget():
        area = parent.parentWidget()
        if isinstance(area, QAbstractScrollArea) and area.viewport() is parent:
            across = _past(rect, parent.size())[0] if _never_across(area) else 0
            return [f"{path(one)}: {across} px past the side of what scrolls up and down only"] if across else []
        across, down = _past(rect, parent.size())
        if across or down:
            return [f"{path(one)}: {max(across, down)} px past the edge of {named(parent)}"]
        if parent.isWindow():
            return []
        rect = rect.translated(parent.pos())
        parent = parent.parentWidget()
    return []


def _never_across(area: QAbstractScrollArea) -> bool:
    return area.horizontalScrollBarPolicy() == Qt.ScrollBarPolicy.ScrollBarAlwaysOff


def _past(rect: QRect, size: QSize) -> tuple[int, int]:
    """How far it hangs over at the sides, and above or below, px."""
    across = max(0, -rect.left(), rect.left() + rect.width() - size.width())
    down = max(0, -rect.top(), rect.top() + rect.height() - size.height())
    return (across if across > NEARLY else 0), (down if down > NEARLY else 0)


# --- pressed ---------------------------------------------------------------------------------------------------


def too_small(root: QWidget, least: int) -> list[str]:
    """Everything pressed that is smaller than a finger wants it, px."""
    found = []
    for one in in_sight(root):
        pressed = isinstance(one, PRESSED) and one.isEnabled() and not _only_shown(one)
        if pressed and (one.width() < least or one.height() < least):
            found.append(f"{path(one)}: {one.width()} x {one.height()}, wanted {least}")
    return found


def _only_shown(one: QWidget) -> bool:
    """Text that is written and no longer written in, or that only shows."""
    return isinstance(one, (QLineEdit, QPlainTextEdit)) and one.isReadOnly()


# --- walked by Tab ---------------------------------------------------------------------------------------------


def stops(root: QWidget) -> list[QWidget]:
    """Every control that Tab should reach, from the top left; of several of which one is chosen, that one."""
    found = [
        one
        for one in in_sight(root)
        if one.isEnabled()
        and one.focusPolicy() & Qt.FocusPolicy.TabFocus == Qt.FocusPolicy.TabFocus
        and not isinstance(one, QScrollArea)
        and not _chosen_beside(one)
    ]
    return sorted(found, key=lambda one: (place(one, root).left() // 100, place(one, root).top()))


def _chosen_beside(one: QWidget) -> bool:
    """Whether another of its group is the chosen one: arrow keys go on from there."""
    group = one.group() if isinstance(one, QAbstractButton) else None
    return group is not None and group.exclusive() and group.checkedButton() not in (None, one)


def place(one: QWidget, root: QWidget) -> QRect:
    return QRect(one.mapTo(root, QPoint()), one.size())


def reads_before(one: QWidget, other: QWidget) -> bool:
    """Whether one stands before the other: left of it in its line, or above it and not in a column to its right.

    Looked at within the lowest thing that holds both, so that it does not matter what is scrolled how far.
    """
    a, b = _apart(one, other)
    if abs(a.center().y() - b.center().y()) < min(a.height(), b.height()) / 2:
        return a.right() <= b.left()
    return a.bottom() <= b.top() and a.left() < b.right()


def _apart(one: QWidget, other: QWidget) -> tuple[QRect, QRect]:
    """Where the two stand in what holds both."""
    ups = [one]
    while (above := ups[-1].parentWidget()) is not None:
        ups.append(above)
    below = other
    while (holds := below.parentWidget()) is not None and holds not in ups:
        below = holds
    if holds is None or holds is one:
        return one.geometry(), other.geometry()
    return ups[ups.index(holds) - 1].geometry(), below.geometry()


def windows(root: QWidget) -> list[QWidget]:
    """The window, or the sheets over it where there are any: only they can be used then."""
    over = [one for one in root.findChildren(QDialog) if one.isVisible()]
    return [*over] or [root]
