"""What the rows of the list are made of, and the widths that they share."""

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QFontMetrics, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QWidget

from ui import theme
from ui.marks import Mark, key_cap_size, paint_key_cap
from ui.parts import Pressed, Words, column
from ui.parts import row as row_of
from ui.shift.answers import Answer
from ui.theme import Look


class KeyCap(QWidget):
    """The key that records what stands in the field."""

    def __init__(self, look: Look, words: str) -> None:
        super().__init__()
        self.look, self._words = look, words
        self.setFixedSize(key_cap_size(words, look))

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        paint_key_cap(painter, QRectF(self.rect()), self._words, self.look)
        painter.end()


class Columns:
    """Widths that all rows share, from what has to fit in them."""

    def __init__(self, look: Look, *, small: bool) -> None:
        plain, big = QFontMetrics(look.font(14)), QFontMetrics(look.font(26 if small else 30))
        self.small = small
        self.drawing = look.text(36 if small else 44)
        self.place = plain.horizontalAdvance("Station · New")
        self.last = plain.horizontalAdvance("+88.8 °F") + 4
        self.field = QFontMetrics(look.font(26 if small else 30, bold=True)).horizontalAdvance("−88.88") + 20
        self.unit = max(QFontMetrics(look.font(16)).horizontalAdvance("°C") + 6, theme.TOUCH)
        self.off = QFontMetrics(look.font(17)).horizontalAdvance("+88.8 °F") + 4
        self.rule = look.text(72 if small else 96)
        self.two_lines = small and look.zoom > 1  # large text: the answer stands under the reading
        self.answer = QFontMetrics(look.font(17, bold=True)).horizontalAdvance("Outside so far") + 40
        self.height = max(52 if small else theme.ROW, big.height() + 10)


class Ask(Pressed):
    """Lies unseen over an outcome: a press on it asks what the outcome rests on."""

    def __init__(self, look: Look, name: str) -> None:
        super().__init__()
        self.look = look
        self.setAccessibleName(name)
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)  # a press leaves the digits where they were
        self.setCursor(Qt.CursorShape.PointingHandCursor)

    def paintEvent(self, event: QPaintEvent) -> None:
        if self.hasFocus():
            painter = QPainter(self)
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.setPen(QPen(self.look.pen, 3))
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(1.5, 1.5, -1.5, -1.5), 5, 5)


class Answering(QWidget):
    """The mark, the word and the line beneath it; in the current row also the key that records, or what else goes."""

    def __init__(self, look: Look, extra: QWidget, ask: str) -> None:
        super().__init__()
        self.look = look
        self.mark = Mark(look, look.text(18))
        self.word = Words(look, "", 17, bold=True)
        self.under = Words(look, "", 14, colour="muted")
        words = column(None, self.word, self.under, extra, None, space=0)
        self.setLayout(row_of(self.mark, words, space=10, margins=(0, 2, 8, 2)))
        self.layout().setStretch(1, 1)  # type: ignore[union-attr]
        self.ask = Ask(look, ask)
        self.ask.setParent(self)
        self.ask.hide()
        extra.raise_()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.ask.setGeometry(self.rect())

    def show_answer(self, found: Answer) -> None:
        self.mark.show_mark(found.kind, found.code, "", found.high)
        self.mark.setVisible(bool(found.code))
        self.word.say(found.word)
        self.word.set_colour(found.colour)
        self.word.setVisible(bool(found.word))
        self.under.say(found.under)
        self.under.set_colour(found.under_colour)
        self.under.setVisible(bool(found.under))
        self.setAccessibleName(f"{found.word}. {found.under}" if found.under else found.word)


class Place(Words):
    """Where it stands and why it is wanted: in one line where there is room, else the one over the other, unbroken."""

    def __init__(self, look: Look) -> None:
        super().__init__(look, "", 14, colour="muted")
        self._ways: tuple[str, ...] = ()

    def tell(self, *ways: str) -> None:
        """The same in several ways, the best first; where none has room the first is wrapped as it comes."""
        self._ways = ways
        self._choose()

    def _choose(self) -> None:
        metrics = QFontMetrics(self.font())
        fits = (one for one in self._ways if max(map(metrics.horizontalAdvance, one.split("\n"))) <= self.width())
        self.say(next(fits, self._ways[0] if self._ways else ""))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._choose()
