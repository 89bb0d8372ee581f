"""A layout that goes on in the next line: words of a sentence, buttons as wide as their words, tiles of one width."""

from PySide6.QtCore import QMargins, QRect, QSize, Qt
from PySide6.QtWidgets import QLayout, QLayoutItem, QWidget


class Flow(QLayout):
    """Widgets side by side, in as many lines as the width asks for. `equal`: in columns of one width (`at_least`).

    `down`: the space between lines, where it is another one than between widgets. `middle`: each in the middle of
    its line's height, as words beside fields; else all at the top. `fill`: one line where all have room in it, else
    as many in each; they share the whole width.
    """

    def __init__(
        self,
        *widgets: QWidget,
        space: int = 8,
        equal: bool = False,
        at_least: int = 0,
        down: int | None = None,
        middle: bool = False,
        fill: bool = False,
    ) -> None:
        super().__init__()
        self._items: list[QLayoutItem] = []
        self._equal, self._at_least, self._middle, self._fill = equal, at_least, middle, fill
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
        least = self.minimumSize()
        wide = sum(one.sizeHint().width() + self.spacing() for one in self._shown()) - self.spacing()
        return QSize(max(wide, least.width()), least.height()) if self._fill else least

    def _shown(self) -> list[QLayoutItem]:
        return [one for one in self._items if not one.isEmpty()]

    def _place(self, rect: QRect, *, try_only: bool) -> int:
        """Put everything in its place; how high that is."""
        top, space = rect.y(), self._down
        for line in self._lines(rect):
            high = max(place.height() for _, place in line)
            for item, place in line if not try_only else ():
                item.setGeometry(place.translated(0, top + ((high - place.height()) // 2 if self._middle else 0)))
            top += high + space
        return max(0, top - space - rect.y())

    def _lines(self, rect: QRect) -> list[list[tuple[QLayoutItem, QRect]]]:
        """What stands in each line, and where in it: as wide as it is to be, at the line's top."""
        shown = self._shown()
        width, x = self._column(rect.width(), shown), rect.x()
        lines: list[list[tuple[QLayoutItem, QRect]]] = []
        shared = self._shared(rect.width(), shown) if self._fill else None
        for number, one in enumerate(shown):
            hint = one.sizeHint()
            wide = shared[number] if shared else width or min(hint.width(), rect.width())
            if not lines or x + wide > rect.right() + 1:
                x = rect.x()
                lines.append([])
            lines[-1].append((one, QRect(x, 0, wide, hint.height())))
            x += wide + self.spacing()
        return lines

    def _column(self, room: int, shown: list[QLayoutItem]) -> int:
        """How wide each tile becomes; 0 where each is as wide as it wants to be."""
        if not self._equal or not shown:
            return 0
        widest = max(self._at_least, *(one.sizeHint().width() for one in shown))
        widest = min(widest, room)
        columns = max(1, (room + self.spacing()) // (widest + self.spacing()))
        return min(round(widest * 1.3), (room - self.spacing() * (columns - 1)) // columns)

    def _shared(self, room: int, shown: list[QLayoutItem]) -> list[int]:
        """How wide each becomes where they fill their lines: alike if each has room then, else by what each asks."""
        hints = [one.sizeHint().width() for one in shown]
        each = _in_a_line(hints, room, self.spacing())
        wide: list[int] = []
        for start in range(0, len(hints), each):
            line = hints[start : start + each]
            alike = (room - self.spacing() * (each - 1)) // each
            spare = room - self.spacing() * (len(line) - 1) - sum(line)
            wide += [alike] * len(line) if max(hints) <= alike else [max(1, one + spare // len(line)) for one in line]
        return wide


def _in_a_line(hints: list[int], room: int, space: int) -> int:
    """How many stand in each line, as few lines as the room allows and all of them alike full."""
    for lines in range(1, len(hints)):
        each = -(-len(hints) // lines)
        starts = range(0, len(hints), each)
        if all(sum(hints[one : one + each]) + space * (each - 1) <= room for one in starts):
            return each
    return 1
