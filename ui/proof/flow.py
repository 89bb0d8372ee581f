"""Widgets one after the other like the words of a sentence, going on in the next line where a line is full."""

from collections.abc import Sequence

from PySide6.QtCore import QRect, QSize
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

LINE_GAP = 10


class Flow(QWidget):
    """Holds its parts, each as wide as it asks for. `arrange` again once a part asks for another width."""

    def __init__(self, parts: Sequence[QWidget], *, space: int = 10) -> None:
        super().__init__()
        self._parts, self._space = list(parts), space
        for part in parts:
            part.setParent(self)
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    def arrange(self) -> None:
        self._lay(self.width(), move=True)
        self.updateGeometry()

    def hasHeightForWidth(self) -> bool:
        return True

    def heightForWidth(self, width: int) -> int:
        return self._lay(width, move=False)

    def sizeHint(self) -> QSize:
        wide = sum(part.sizeHint().width() + self._space for part in self._shown()) - self._space
        return QSize(max(wide, 1), self.heightForWidth(max(wide, 1)))

    def minimumSizeHint(self) -> QSize:
        widest = max((_size(part).width() for part in self._shown()), default=1)
        return QSize(widest, self.heightForWidth(max(self.width(), widest)))

    def resizeEvent(self, event: QResizeEvent) -> None:
        self._lay(self.width(), move=True)

    def _shown(self) -> list[QWidget]:
        return [part for part in self._parts if not part.isHidden()]

    def _lay(self, width: int, *, move: bool) -> int:
        """Place the parts, each in the middle of its line's height; the height of all lines."""
        top, line, left = 0, list[tuple[QWidget, int]](), 0
        for part in self._shown():
            wide = _size(part).width()
            if line and left + wide > width:
                top += self._set(line, top, move=move) + LINE_GAP
                line, left = [], 0
            line.append((part, left))
            left += wide + self._space
        return top + self._set(line, top, move=move)

    def _set(self, line: list[tuple[QWidget, int]], top: int, *, move: bool) -> int:
        high = max((_size(part).height() for part, _ in line), default=0)
        for part, left in line if move else ():
            size = _size(part)
            part.setGeometry(QRect(left, top + (high - size.height()) // 2, size.width(), size.height()))
        return high


def _size(part: QWidget) -> QSize:
    return part.sizeHint().expandedTo(part.minimumSize()).boundedTo(part.maximumSize())
