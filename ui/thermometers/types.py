"""Choosing a type by its drawing: one of thirteen, an ink frame round the chosen one."""

from PySide6.QtCore import QRect, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetrics, QKeyEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QButtonGroup, QSizePolicy, QWidget

from registry import resources
from ui import theme
from ui.desk import Desk
from ui.drawings import paint_drawing
from ui.flow import Flow
from ui.theme import Look

SIDE, INSET, TEXT = 40, 10, 15


class _Type(QAbstractButton):
    def __init__(self, look: Look, code: str, words: str) -> None:
        super().__init__()
        self.look, self.code = look, code
        self.setText(words)
        self.setAccessibleName(words)
        self.setCheckable(True)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setSizePolicy(QSizePolicy.Policy.Minimum, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        metrics = QFontMetrics(self.look.font(TEXT, bold=True))
        longest = max(metrics.horizontalAdvance(word) for word in self.text().split(" "))
        wide = max(longest, min(metrics.horizontalAdvance(self.text()), self.look.text(130)))
        high = max(theme.TOUCH, self.look.text(SIDE), 2 * metrics.height()) + 8
        return QSize(self.look.text(SIDE) + wide + 3 * INSET, high)

    minimumSizeHint = sizeHint

    def paintEvent(self, event: QPaintEvent) -> None:
        look, painter, side = self.look, QPainter(self), self.look.text(SIDE)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        colour, weight = (look.ink, 2) if self.isChecked() else (look.edge, 1)
        if self.hasFocus():
            colour, weight = look.pen, 3
        painter.setPen(QPen(colour, weight))
        painter.setBrush(look.level if self.isDown() else look.field)
        painter.drawRoundedRect(QRectF(self.rect()).adjusted(1.5, 1.5, -1.5, -1.5), 6, 6)
        paint_drawing(painter, QRectF(INSET, (self.height() - side) / 2, side, side), self.code, look)
        painter.setFont(look.font(TEXT, bold=self.isChecked()))
        painter.setPen(look.ink)
        room = QRect(side + 2 * INSET, 0, self.width() - side - 2 * INSET - 8, self.height())
        painter.drawText(room, Qt.AlignmentFlag.AlignVCenter | Qt.TextFlag.TextWordWrap, self.text())
        painter.end()


class Types(QWidget):
    """All of them; arrow keys go on within the group."""

    chosen = Signal(str)

    def __init__(self, desk: Desk, value: str) -> None:
        super().__init__()
        self._group = QButtonGroup(self)
        self.buttons: dict[str, _Type] = {}
        for code in resources.instrument_types():
            button = _Type(desk.look, code, desk.say(f"type.{code}"))
            button.setChecked(code == value)
            button.clicked.connect(self._clicked)
            self._group.addButton(button)
            self.buttons[code] = button
        self.setLayout(Flow(*self.buttons.values(), equal=True))
        self.setAccessibleName(desk.say("enrol.type"))

    @property
    def value(self) -> str:
        return next((code for code, button in self.buttons.items() if button.isChecked()), "")

    def take_focus(self) -> None:
        self.buttons[self.value or next(iter(self.buttons))].setFocus()

    def _clicked(self) -> None:
        self.chosen.emit(self.value)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        at = next((one for one in self.buttons.values() if one.hasFocus()), None)
        if at is not None and event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            at.click()
        else:
            super().keyPressEvent(event)
