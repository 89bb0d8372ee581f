"""Tab walks in the order in which one reads: as things are laid out, whatever order they were made in."""

from collections.abc import Iterator

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractItemView,
    QAbstractSpinBox,
    QComboBox,
    QGridLayout,
    QLayout,
    QLineEdit,
    QPlainTextEdit,
    QWidget,
)

# Qt's own controls are one stop each, whatever they are made of.
_WHOLE = (QAbstractItemView, QAbstractSpinBox, QComboBox, QLineEdit, QPlainTextEdit)


def stops(root: QWidget, here: QWidget | None = None) -> list[QWidget]:
    """Every control in `root` that Tab comes to, and `here`, wherever the focus is, in the order of reading."""
    if root is not here and not (root.isVisible() and root.isEnabled()):
        return []
    wanted = root is here or root.focusPolicy() & Qt.FocusPolicy.TabFocus == Qt.FocusPolicy.TabFocus
    found = [root] if wanted else []
    if not isinstance(root, _WHOLE):
        for child in _in_order(root):
            found += stops(child, here)
    return found


def step(root: QWidget, here: QWidget | None, *, onward: bool) -> bool:
    """Give the focus to the next stop, or the one before; after the last comes the first. Whether there was one."""
    found = stops(root, here)
    if not found:
        return False
    at = found.index(here) if here in found else -1 if onward else 0
    reason = Qt.FocusReason.TabFocusReason if onward else Qt.FocusReason.BacktabFocusReason
    found[(at + (1 if onward else -1)) % len(found)].setFocus(reason)
    return True


def _in_order(widget: QWidget) -> list[QWidget]:
    """What it holds: first what is laid out, then what it places by itself."""
    layout = widget.layout()
    laid = list(_laid(layout)) if layout is not None else []
    return laid + [one for one in widget.children() if isinstance(one, QWidget) and one not in laid]


def _laid(layout: QLayout) -> Iterator[QWidget]:
    numbers = list(range(layout.count()))
    if isinstance(layout, QGridLayout):  # by row and column, not by when it was put there
        numbers.sort(key=lambda number: layout.getItemPosition(number)[:2])  # type: ignore[index]
    for number in numbers:
        item = layout.itemAt(number)
        if item is None:
            continue
        if (held := item.widget()) is not None:
            yield held
        elif (inner := item.layout()) is not None:
            yield from _laid(inner)
