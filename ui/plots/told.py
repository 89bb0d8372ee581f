"""The words at a plot: what a mark says, or how to ask; and all of it in words, at a press."""

from PySide6.QtWidgets import QVBoxLayout

from ui.desk import Desk
from ui.parts import LINK, Button, Words, measured, on_press, row


class Told(QVBoxLayout):
    """how: what is said while nothing is asked about; of: the name of what is told in words. flat: in one line."""

    def __init__(self, desk: Desk, how: str, of: str, *, flat: bool = False) -> None:
        super().__init__()
        self._how = how
        self.line = Words(desk.look, how, 14, colour="muted")
        self.summary = Words(desk.look, "", 15)
        self.summary.hide()
        self.press = on_press(Button(desk.look, desk.say("chart.in_words"), LINK), self._turn)
        self.press.setAccessibleName(f"{self.press.text()}: {of}")
        self.press.setCheckable(True)
        self.press.hide()
        self.setSpacing(2)
        if flat:
            head = row(self.line, self.press, space=12)
            head.setStretch(0, 1)
            self.addLayout(head)
        else:
            self.addWidget(self.line)
            self.addLayout(row(self.press, None))
        self.addLayout(measured(self.summary))

    def say(self, words: str) -> None:
        """Of the mark that is asked about; nothing: of none any more."""
        self.line.say(words or self._how)

    def summarise(self, words: str) -> None:
        """What the picture says in all; it stays shown where it was asked for."""
        self.summary.say(words)
        self.press.setVisible(bool(words))

    def text(self) -> str:
        return self.line.text()

    def _turn(self) -> None:
        self.summary.setVisible(self.press.isChecked())
