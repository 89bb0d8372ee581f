"""The column on the left: which site, who works, the unit, the find field, the places, and what happened."""

from PySide6.QtCore import QEvent, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QEnterEvent, QFontMetrics, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QLineEdit, QSizePolicy, QVBoxLayout, QWidget

from ui import theme
from ui.desk import Desk
from ui.drawings import paint_drawing
from ui.parts import LINK, LINK_INSET, Button, Choice, Ground, Pressed, Scroll, Words, on_press, row
from ui.places import PLACES
from ui.theme import Look

BAR = 14  # px, what a bar to scroll by takes


class Place(Pressed):
    """A tab cut into the sheet: the place one is in is bold with a pen underline; a muted figure says what waits."""

    def __init__(self, look: Look, words: str, *, small: bool) -> None:
        super().__init__()
        self.look = look
        self._size, self._left, self._high = (15, 12, theme.TOUCH) if small else (17, 20, theme.PLACE)
        self.waiting: int | None = None
        self._over = False
        self.setText(words)
        self.setAccessibleName(words)
        self.setCheckable(True)
        self.setFont(look.font(self._size, bold=True))
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def set_waiting(self, count: int | None) -> None:
        if count != self.waiting:
            self.waiting = count
            self.setAccessibleDescription("" if count is None else str(count))
            self.update()

    def sizeHint(self) -> QSize:
        metrics = QFontMetrics(self.font())
        count = QFontMetrics(self.look.font(14)).horizontalAdvance("00")
        wide = self._left + metrics.horizontalAdvance(self.text()) + max(30, 10 + count + 10)
        return QSize(wide, max(self._high, metrics.height() + 20))

    minimumSizeHint = sizeHint

    def enterEvent(self, event: QEnterEvent) -> None:
        self._over = True
        self.update()

    def leaveEvent(self, event: QEvent) -> None:
        self._over = False
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        look, painter, here = self.look, QPainter(self), self.isChecked()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if here:
            painter.fillRect(self.rect(), look.sheet)
            painter.fillRect(0, self.height() - 1, self.width(), 1, look.line)
        font = look.font(self._size, bold=here)
        metrics = QFontMetrics(font)
        painter.setFont(font)
        painter.setPen(look.ink)
        painter.drawText(self.rect().adjusted(self._left, 0, -4, 0), Qt.AlignmentFlag.AlignVCenter, self.text())
        if here or self._over:
            base = (self.height() + metrics.ascent() - metrics.descent()) / 2 + 7
            width = metrics.horizontalAdvance(self.text())
            painter.fillRect(QRectF(self._left, base, width, 3 if here else 1), look.pen if here else look.edge)
        if self.waiting:
            painter.setFont(look.font(14))
            painter.setPen(look.muted)
            right = Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignRight
            painter.drawText(self.rect().adjusted(0, 0, -10, 0), right, str(self.waiting))
        if self.hasFocus():
            painter.setPen(QPen(look.pen, 3))
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(4, 3, -4, -3), 6, 6)


class Happened(Pressed):
    """The way to "Something happened"; for who only looks, a broken outline says so."""

    def __init__(self, look: Look, words: str, under: str = "", *, small: bool, looking: bool = False) -> None:
        super().__init__()
        self.look, self._under, self._looking = look, under, looking
        self._left = (12 if small else 16) if looking else 42 if small else 58  # where the words begin
        self._sign = 26 if small else 36
        self.setText(words)
        self.setAccessibleName(f"{words}. {under}" if under else words)
        self.setEnabled(not looking)
        self.setFont(look.font(15, bold=True))
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        if not looking:
            self.setCursor(Qt.CursorShape.PointingHandCursor)

    def _lines(self) -> list[str]:
        """The words in as many lines as the width asks for, beside the sign."""
        metrics, room = QFontMetrics(self.font()), self.width() - self._left - 10
        lines: list[str] = []
        for word in self.text().split(" "):
            if lines and metrics.horizontalAdvance(f"{lines[-1]} {word}") <= room:
                lines[-1] += f" {word}"
            else:
                lines.append(word)
        return lines

    def sizeHint(self) -> QSize:
        metrics = QFontMetrics(self.font())
        widest = max(metrics.horizontalAdvance(word) for word in self.text().split(" "))
        under = QFontMetrics(self.look.font(14)).horizontalAdvance(self._under)
        right = self._left if self._looking else 12
        return QSize(max(widest, under) + self._left + right, max(70, metrics.height() * 2 + 28))

    minimumSizeHint = sizeHint

    def paintEvent(self, event: QPaintEvent) -> None:
        look, painter = self.look, QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = QRectF(self.rect()).adjusted(1.5, 1.5, -1.5, -1.5)
        if self._looking:
            painter.setPen(QPen(look.edge, 1.6, Qt.PenStyle.DashLine))
        else:
            painter.setPen(QPen(look.pen if self.hasFocus() else look.ink, 3 if self.hasFocus() else 2))
            painter.setBrush(look.level if self.isDown() else look.field)
        painter.drawRoundedRect(box, 6, 6)
        painter.setFont(self.font())
        painter.setPen(look.ink)
        lines, metrics = self._lines(), QFontMetrics(self.font())
        top = (self.height() - metrics.height() * (len(lines) + bool(self._under))) / 2 + metrics.ascent()
        for n, line in enumerate(lines):
            painter.drawText(self._left, int(top + n * metrics.height()), line)
        if self._under:
            painter.setFont(look.font(14))
            painter.setPen(look.muted)
            painter.drawText(self._left, int(top + len(lines) * metrics.height()), self._under)
        if not self._looking:
            left = (self._left - self._sign) / 2 + 1
            square = QRectF(left, (self.height() - self._sign) / 2, self._sign, self._sign)
            paint_drawing(painter, square, "happened", look)


class Column(Ground):
    """The whole column. It tells what was pressed; the frame goes there."""

    place_wanted = Signal(str)
    tag_wanted = Signal(str)
    who_wanted = Signal()

    def __init__(self, desk: Desk, *, small: bool) -> None:
        super().__init__(desk.look.col)
        self.desk = desk
        look, say = desk.look, desk.say
        inset = 10 if small else 16
        top = QVBoxLayout()
        top.setContentsMargins(inset - LINK_INSET, 8 if small else 24, inset, 4 if small else 12)
        top.setSpacing(4 if small else 8)
        if desk.is_open:
            self._who_and_where(top, 17 if small else 20)
            self._unit_and_find(top, small)
        inner = QWidget()  # large text in a low window: what has no room is scrolled to
        column = QVBoxLayout(inner)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(top)
        self.places: dict[str, Place] = {}
        for name in PLACES:
            button = Place(look, say(f"place.{name}"), small=small)
            button.clicked.connect(self._place_pressed)
            self.places[name] = button
            column.addWidget(button)
        column.addStretch(1)
        foot = QVBoxLayout()
        foot.setContentsMargins(inset, 4 if small else 8, inset, 10 if small else 16)
        if desk.is_open and not desk.may("lead", "officer"):
            only = Happened(look, say("frame.looking_only"), say("frame.nothing_changes"), small=small, looking=True)
            foot.addWidget(only)
        else:
            self.happened = Happened(look, say("place.happened"), small=small)
            self.happened.setEnabled(desk.is_open)
            self.happened.clicked.connect(self._happened_pressed)
            foot.addWidget(self.happened)
        whole = self._whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.setSpacing(0)
        self._inner, self._scroll = inner, Scroll(inner)
        whole.addWidget(self._scroll, 1)
        whole.addLayout(foot)
        self._usual = max(look.text(theme.COLUMN_SMALL if small else theme.COLUMN), foot.minimumSize().width())
        self._set_width(bar=look.zoom > 1)

    def _set_width(self, *, bar: bool) -> None:
        """As wide as its words, and a bar to scroll by where there is one."""
        self.setFixedWidth(max(self._usual, self._inner.minimumSizeHint().width() + (BAR if bar else 0)))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        high = self._inner.heightForWidth(self.width() - BAR)
        self._set_width(bar=high > self._scroll.viewport().height())
        self._whole.setGeometry(self.rect())  # a resize within a resize does not reach it

    def _who_and_where(self, top: QVBoxLayout, size: float) -> None:
        desk = self.desk
        top.addLayout(_inset(Words(desk.look, desk.site.payload.name, size, bold=True)))
        top.addLayout(_inset(Words(desk.look, self._person(), 14, colour="muted")))
        change = Button(desk.look, desk.say("frame.change"), LINK, height=theme.TOUCH, size=14)
        on_press(change, self.who_wanted.emit)
        change.setAccessibleName(desk.say("frame.change_who"))
        top.addWidget(change, 0, Qt.AlignmentFlag.AlignLeft)

    def _person(self) -> str:
        desk = self.desk
        if not desk.person.person:
            return desk.say("frame.nobody")
        role = desk.say(f"role.{desk.person.roles[0]}") if desk.person.roles else ""
        return desk.say("frame.person_is", name=desk.person.name or desk.person.initials, role=role.lower())

    def _unit_and_find(self, top: QVBoxLayout, small: bool) -> None:
        desk = self.desk
        unit = Choice(desk.look, (("C", "°C"), ("F", "°F")), desk.unit, desk.say("frame.unit_here"), height=theme.TOUCH)
        unit.chosen.connect(self._unit_chosen)
        top.addLayout(_inset(unit))
        self.find_field = QLineEdit()
        self.find_field.setMinimumHeight(theme.TOUCH)
        self.find_field.setPlaceholderText(desk.say("frame.find_short" if small else "frame.find"))
        self.find_field.setAccessibleName(desk.say("frame.find"))
        self.find_field.returnPressed.connect(self._find_entered)
        top.addLayout(_inset(self.find_field))

    def _unit_chosen(self, unit: str) -> None:
        self.desk.choose("unit", unit)

    def _find_entered(self) -> None:
        if typed := self.find_field.text().strip():
            self.find_field.clear()
            self.tag_wanted.emit(typed)

    def _place_pressed(self) -> None:
        pressed = next(name for name, button in self.places.items() if button is self.sender())
        self.place_wanted.emit(pressed)

    def _happened_pressed(self) -> None:
        self.place_wanted.emit("happened")

    def show_place(self, name: str) -> None:
        for code, button in self.places.items():
            button.setChecked(code == name)


def _inset(widget: QWidget) -> QHBoxLayout:
    """Its left edge where the words of the link stand."""
    return row(widget, margins=(LINK_INSET, 0, 0, 0))
