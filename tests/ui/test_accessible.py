"""Without eyes, without a pointer: names, Tab and keys, walked through by Qt's own accessibility interface."""

from collections import Counter
from collections.abc import Iterator
from itertools import pairwise

import pytest
from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QAccessible, QAccessibleInterface, QKeyEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QApplication,
    QCheckBox,
    QComboBox,
    QDateTimeEdit,
    QRadioButton,
    QWidget,
)

from tests.ui import looking
from tests.ui.looking import BY_NAME, FEW, Players

pytestmark = [pytest.mark.usefixtures("qapp"), looking.no_screen]
SCENES = [pytest.param(name, marks=() if name in FEW else pytest.mark.slow) for name in BY_NAME]
NAME = QAccessible.Text.Name


@pytest.fixture(scope="module")
def players(tmp_path_factory: pytest.TempPathFactory) -> Players:
    return Players(tmp_path_factory.getbasetemp() / "scenes")


@pytest.mark.parametrize("name", SCENES)
def test_everybody_gets_everywhere(name: str, players: Players) -> None:
    """One play of a scene answers all: it is the playing that takes long."""
    with players.play(name) as stage:
        root = looking.windows(stage.frame)[0]
        assert nameless(root) == []
        assert same_names(root) == []
        assert for_the_mouse_only(root) == []
        assert deaf_to_enter(root) == []
        assert strays(root) == []


# --- names -----------------------------------------------------------------------------------------------------


def interfaces(root: QWidget) -> Iterator[QAccessibleInterface]:
    """What is told of a window, as a screen reader walks it: every shown child of every child."""
    waiting = [QAccessible.queryAccessibleInterface(root)]
    while waiting:
        one = waiting.pop()
        if one is None or not one.isValid() or one.state().invisible:  # type: ignore[attr-defined]
            continue
        yield one
        if not isinstance(one.object(), QAbstractItemView):  # a table tells its cells by itself
            waiting += [one.child(n) for n in range(one.childCount())]


def controls(root: QWidget) -> list[QAccessibleInterface]:
    """Everything that can have the focus and be worked with."""
    inside = set(looking.in_sight(root))
    return [
        one
        for one in interfaces(root)
        if one.state().focusable and not one.state().disabled and one.object() in inside  # type: ignore[attr-defined]
        and one.object().focusPolicy() != Qt.FocusPolicy.NoFocus
        and one.role() != QAccessible.Role.StaticText  # text that can be marked and copied is no control
    ]  # fmt: skip


def nameless(root: QWidget) -> list[str]:
    return [looking.path(_widget(one)) for one in controls(root) if not _name(one)]


def _name(one: QAccessibleInterface) -> str:
    """As it is told. On Linux Qt tells of a list what is chosen there, and its name by its label's relation."""
    if isinstance(one.object(), QComboBox):
        return _widget(one).accessibleName()
    return " ".join(one.text(NAME).split())


def same_names(root: QWidget) -> list[str]:
    """Two controls that are told in the same words: who hears them can't tell which is which."""
    counted = Counter((one.role().name, _name(one)) for one in controls(root))
    return [f"{count} times {role}: {name}" for (role, name), count in counted.items() if count > 1]


def _widget(one: QAccessibleInterface) -> QWidget:
    found = one.object()
    assert isinstance(found, QWidget)
    return found


# --- keys ------------------------------------------------------------------------------------------------------


def for_the_mouse_only(root: QWidget) -> list[str]:
    """What answers to a press but can't be reached by keys, neither by Tab nor by arrows within its group."""
    found = []
    for one in looking.in_sight(root):
        if not one.isEnabled() or type(one).__name__ in KEYS_EXIST_FOR or _in_pad(one):
            continue
        pressed = isinstance(one, QAbstractButton) or _takes_presses(one)
        if pressed and not one.focusPolicy() & Qt.FocusPolicy.TabFocus and not _in_group(one):
            found.append(looking.path(one))
    return found


# Keys of their own: the heads of tables sort by a choice beside them, and the digits of the pad are on the keyboard.
KEYS_EXIST_FOR = ("QHeaderView", "NumberPad")


def _in_pad(one: QWidget) -> bool:
    parent = one.parentWidget()
    return parent is not None and type(parent).__name__ == "NumberPad"


def _takes_presses(one: QWidget) -> bool:
    """A widget of ours that does something of its own at a press or a release of the mouse."""
    return any(
        name in vars(kind)
        for kind in type(one).__mro__
        if kind.__module__.startswith("ui.")
        for name in ("mousePressEvent", "mouseReleaseEvent", "mouseDoubleClickEvent")
    )


def _in_group(one: QWidget) -> bool:
    """One of several of which one is chosen, or of a grid: Tab goes to one of them, arrows to the others."""
    group = one.group() if isinstance(one, QAbstractButton) else None
    if group is not None and group.exclusive():
        return any(_is_stop(other) for other in group.buttons())
    parent = one.parentWidget()
    beside = parent.findChildren(type(one)) if parent is not None else []
    return any(_is_stop(other) and _arrow_leads_on(other) for other in beside if other is not one)


def _is_stop(one: QWidget) -> bool:
    return one.focusPolicy() & Qt.FocusPolicy.TabFocus == Qt.FocusPolicy.TabFocus


def _arrow_leads_on(one: QWidget) -> bool:
    """Whether an arrow key moves the focus from it to another of its kind."""
    one.window().activateWindow()
    QTest.qWaitForWindowActive(one.window())
    one.setFocus()
    for key in (Qt.Key.Key_Left, Qt.Key.Key_Right, Qt.Key.Key_Up, Qt.Key.Key_Down):
        QTest.keyClick(one, key)
        if isinstance(QApplication.focusWidget(), type(one)) and QApplication.focusWidget() is not one:
            QTest.keyClick(QApplication.focusWidget(), _BACK[key])  # as it stood
            return True
    return False


_BACK = {
    Qt.Key.Key_Left: Qt.Key.Key_Right,
    Qt.Key.Key_Right: Qt.Key.Key_Left,
    Qt.Key.Key_Up: Qt.Key.Key_Down,
    Qt.Key.Key_Down: Qt.Key.Key_Up,
}


def deaf_to_enter(root: QWidget) -> list[str]:
    """Buttons that a press of Enter does nothing to; signals are held back, so that nothing happens here."""
    found = []
    for one in looking.in_sight(root):
        if isinstance(one, QAbstractButton) and one.isEnabled() and one.focusPolicy() & Qt.FocusPolicy.TabFocus:
            if isinstance(one, (QCheckBox, QRadioButton)) or _in_group(one):
                continue  # ticked by Space, chosen by arrow keys: Enter belongs to the form
            was, _ = one.isChecked(), one.blockSignals(True)
            event = QKeyEvent(QEvent.Type.KeyPress, Qt.Key.Key_Return, Qt.KeyboardModifier.NoModifier)
            one.keyPressEvent(event)
            one.setChecked(was)
            one.blockSignals(False)
            if not event.isAccepted():
                found.append(looking.path(one))
    return found


# --- Tab -------------------------------------------------------------------------------------------------------


def strays(root: QWidget) -> list[str]:
    """Walk by Tab until the first comes again: what is left out, stepped on twice, or gone to against the reading."""
    wanted = looking.stops(root)
    if not wanted:
        return []
    walked = walk(wanted[0], len(wanted) * 2)
    found = [f"left out: {looking.path(one)}" for one in wanted if one not in walked]
    found += [f"{n} times: {looking.path(one)}" for one, n in Counter(walked).items() if n > 1]
    steps = [(one, other) for one, other in pairwise(walked) if looking.reads_before(other, one)]
    return found + [f"back from {looking.path(one)} to {looking.path(other)}" for one, other in steps]


def walk(first: QWidget, most: int) -> list[QWidget]:
    """Where Tab leads, one round from the first."""
    first.window().activateWindow()  # a sheet takes the keys from the window below it
    QTest.qWaitForWindowActive(first.window())
    first.setFocus(Qt.FocusReason.TabFocusReason)
    found, here = [first], first
    for _ in range(most):
        QTest.keyClick(here, Qt.Key.Key_Tab)
        before, here = here, first.window().focusWidget() or first
        if here is first:
            break
        if here is not before or not isinstance(here, QDateTimeEdit):  # Qt walks through year, month and day of a date
            found.append(here)
    return found
