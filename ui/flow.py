"""A layout that goes on in the next line: buttons as wide as their words, or tiles of one width."""

from PySide6.QtCore import QMargins, QRect, QSize, Qt
from PySide6.QtWidgets import QLayout, QLayoutItem, QWidget


class Flow(QLayout):
    """Widgets side by side, in as many lines as the width asks for. `equal`: in columns of one width (`at_least`).

    `down`: the space between lines, where it is another one than between widgets.
    """

    def __init__(
        self, *widgets: QWidget, space: int = 8, equal: bool = False, at_least: int = 0, down: int | None = None
    ) -> None:
        super().__init__()
        self._items: list[QLayoutItem] = []
        self._equal, self._at_least = equal, at_least
        self._down = space if down is None else down
        self.setContentsMargins(QMargins(0, 0, 0, 0))
        self.setSpacing(space)
        for widget in widgets:
            self.addWidget(widget)

    def addItem(self, item: QLayoutItem) -> None:
        self._items.append(item)

    def count(self) -> int:
        return len(self._items)

    def itemAt(self, index: int) -> QLayoutItem | None:
        return self._items[index] if 0 <= index < len(self._items) else None

    def takeAt(self, index: int) -> QLayoutItem | None:
        return self._items.pop(index) if 0 <= index < len(self._items) else None

    def expandingDirections(self) -> Qt.Orientation:
        return Qt.Orientation.Horizontal

    def hasHeightForWidth(self) -> bool:
        return True

    def heightForWidth(self, width: int) -> int:
        return self._place(QRect(0, 0, width, 0), try_only=True)

    def setGeometry(self, rect: QRect) -> None:
        super().setGeometry(rect)
        self._place(rect, try_only=False)

    def minimumSize(self) -> QSize:
        shown = self._shown()
        return QSize(
            max((one.minimumSize().width() for one in shown), default=0),
            max((one.minimumSize().height() for one in shown), default=0),
        )

    def sizeHint(self) -> QSize:
        return self.minimumSize()

    def _shown(self) -> list[QLayoutItem]:
        return [one for one in self._items if not one.isEmpty()]

    def _place(self, rect: QRect, *, try_only: bool) -> int:
        """Put everything in its place; how high that is."""
        shown, gap = self._shown(), self.spacing()
        width = self._column(rect.width(), shown)
        x, y, high = rect.x(), rect.y(), 0
        for one in shown:
            hint = one.sizeHint()
            wide = width or min(hint.width(), rect.width())
            if x > rect.x() and x + wide > rect.right() + 1:
                x, y, high = rect.x(), y + high + self._down, 0
            if not try_only:
                one.setGeometry(QRect(x, y, wide, hint.height()))
            x, high = x + wide + gap, max(high, hint.height())
        return y + high - rect.y()

    def _column(self, room: int, shown: list[QLayoutItem]) -> int:
        """How wide each tile becomes; 0 where each is as wide as it wants to be."""
        if not self._equal or not shown:
            return 0
        widest = max(self._at_least, *(one.sizeHint().width() for one in shown))
        widest = min(widest, room)
        columns = max(1, (room + self.spacing()) // (widest + self.spacing()))
        return min(round(widest * 1.3), (room - self.spacing() * (columns - 1)) // columns)
