"""The number pad for wet hands: its head says which thermometer the digits go to; Record is the only pen fill."""

from collections.abc import Callable
from decimal import Decimal

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFont, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QApplication, QGridLayout, QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from registry.services.shift_row import ListRow
from registry.wording import format
from ui import theme
from ui.desk import Desk
from ui.drawings import Drawing
from ui.marks import paint_sign
from ui.parts import MAIN, Button, Ground, Words, on_press
from ui.shift.field import ReadingField
from ui.theme import Look


class Key(QAbstractButton):
    """One key; it never takes the focus from the field."""

    def __init__(self, look: Look, text: str, name: str, sign: str = "") -> None:
        super().__init__()
        self.look, self._sign = look, sign
        self.setText(text)
        self.setAccessibleName(name)
        self.setFont(look.font(30 if not sign and len(text) == 1 else 16))
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumSize(theme.TOUCH, theme.TOUCH)

    def sizeHint(self) -> QSize:
        return QSize(70, theme.PAD_KEY)

    def _fitting(self) -> QFont:
        """No higher than the key: large figures in a low window."""
        font = self.font()
        font.setPixelSize(min(font.pixelSize(), int(self.height() * 0.7)))
        return font

    def paintEvent(self, event: QPaintEvent) -> None:
        look, painter = self.look, QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(look.ink, 2) if self.isDown() else QPen(look.edge, 1))
        painter.setBrush(look.level if self.isDown() else look.field)
        painter.drawRoundedRect(QRectF(self.rect()).adjusted(1, 1, -1, -1), 8, 8)
        if self._sign:
            side = look.text(28)
            paint_sign(
                painter, QRectF((self.width() - side) / 2, (self.height() - side) / 2, side, side), self._sign, look
            )
        else:
            painter.setFont(self._fitting())
            painter.setPen(look.ink)
            painter.drawText(self.rect(), Qt.AlignmentFlag.AlignCenter, self.text())
        painter.end()


class NumberPad(Ground):
    """Digits with 1 2 3 on top, the minus, the region's mark, rub out, "no reading", and Record."""

    instead = Signal()

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk.look.col)
        self.desk, look = desk, desk.look
        self.setFixedWidth(max(theme.PAD, look.text(theme.PAD * 0.8)))
        column = QVBoxLayout(self)
        column.setContentsMargins(12, 12, 12, 12)
        column.setSpacing(8)
        head = QHBoxLayout()
        self._drawing = Drawing(look, QSize(36, 36))
        self._tag = Words(look, "", 20, bold=True)
        self._where = Words(look, "", 14, colour="muted")
        names = QVBoxLayout()
        names.setSpacing(0)
        names.addWidget(self._tag)
        names.addWidget(self._where)
        head.addWidget(self._drawing)
        head.addLayout(names, 1)
        column.addLayout(head)
        grid = QGridLayout()
        grid.setSpacing(8)
        mark = format.number(Decimal("0.5"), desk.region)[1]
        for n, key in enumerate("123456789"):
            grid.addWidget(self._key(key, key), n // 3, n % 3)
        grid.addWidget(self._key("−", desk.say("shift.minus"), "-"), 3, 0)
        grid.addWidget(self._key("0", "0"), 3, 1)
        grid.addWidget(self._key(mark, desk.say("shift.decimal_mark"), mark), 3, 2)
        column.addLayout(grid, 1)
        low = QHBoxLayout()
        low.setSpacing(8)
        other = Button(look, desk.say("shift.instead"), height=56)
        other.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        low.addWidget(on_press(other, self.instead.emit), 2)
        back = Key(look, "", desk.say("shift.rub_out"), "rub_out")
        back.setMaximumHeight(60)
        back.clicked.connect(self._back)
        low.addWidget(back, 1)
        column.addLayout(low)
        record = Button(look, desk.say("shift.record"), MAIN, height=theme.RECORD, size=20)
        record.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.record_key = on_press(record, self._record)
        column.addWidget(self.record_key)

    def _key(self, words: str, name: str, sends: str = "") -> Key:
        key = Key(self.desk.look, words, name)
        on_press(key, lambda: self._press(sends or words))
        return key

    def _back(self) -> None:
        self._press("back")

    def writes_for(self, page: QWidget, otherwise: Callable[[], ReadingField | None]) -> None:
        """In the field of the page that has the focus; otherwise in the one that the head names."""
        self._page, self._otherwise = page, otherwise

    def _field(self) -> ReadingField | None:
        here = QApplication.focusWidget()
        if isinstance(here, ReadingField) and self._page.isAncestorOf(here):
            return here
        return self._otherwise()

    def _press(self, key: str) -> None:
        field = self._field()
        if field is not None and not field.isReadOnly():
            field.press(key)

    def _record(self) -> None:
        if (field := self._field()) is not None:
            field.enter()

    def show_for(self, row: ListRow | None) -> None:
        self.setEnabled(row is not None)
        if row is not None:
            self._drawing.show_drawing(row.type)
            self._tag.say(row.tag_id)
            self._where.say(row.station)
        else:
            self._tag.say("")
            self._where.say("")

    def show_reference(self, tag: str) -> None:
        """The digits go to the reference beside, and not to a row."""
        self.setEnabled(True)
        self._tag.say(tag)
        self._where.say(self.desk.say("shift.reference"))
