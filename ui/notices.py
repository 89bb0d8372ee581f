"""The one place for notices: a line above the page that stays until it is put away. And the line that says DEMO."""

from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

from ui import theme
from ui.desk import Desk
from ui.parts import LINK, Button, Words, on_press, row


class Notice(QWidget):
    """One sentence what happened and what to do; details behind a press."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk = desk
        self._details = ""
        self.sentence = Words(desk.look, "", 15, bold=True)
        self._more = on_press(
            Button(desk.look, desk.say("frame.details"), LINK, height=theme.TOUCH), self._show_details
        )
        away = on_press(Button(desk.look, desk.say("frame.put_away"), height=theme.TOUCH), self.hide)
        self.setLayout(row(self.sentence, self._more, away, margins=(24, 8, 16, 8), space=12))
        self.layout().setStretch(0, 1)  # type: ignore[union-attr]
        self.hide()

    def tell(self, sentence: str, details: str) -> None:
        self._details = details
        self.sentence.say(sentence)
        self.sentence.setAccessibleName(sentence)
        self._more.setVisible(bool(details))
        self.show()

    @property
    def standing(self) -> tuple[str, str] | None:
        """What it says and its details, until it is put away."""
        return None if self.isHidden() else (self.sentence.text(), self._details)

    def _show_details(self) -> None:
        self.sentence.say(f"{self.sentence.text()}\n{self._details}")
        self._more.hide()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(self.rect(), self.desk.look.cautint)
        painter.fillRect(0, self.height() - 1, self.width(), 1, self.desk.look.edge)


class DemoLine(QWidget):
    """Says on every screen that nothing here is real."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._ground = desk.look.level
        words = Words(desk.look, desk.say("frame.demo"), 14, bold=True)
        self.setLayout(row(words, margins=(24, 3, 16, 3)))

    def paintEvent(self, event: QPaintEvent) -> None:
        QPainter(self).fillRect(self.rect(), self._ground)
