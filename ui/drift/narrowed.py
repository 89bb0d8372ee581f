"""How the page is narrowed, in words that always stay in sight, and the way to take that back."""

from dataclasses import dataclass

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from ui.desk import Desk
from ui.parts import LINK, Button, Sentence, column, on_press, row


@dataclass(frozen=True, slots=True)
class Narrowing:
    """What is looked at, by name. letters: of the site; type: its code. Empty where all are meant."""

    site: str
    letters: str
    type: str
    weeks: int

    @property
    def any(self) -> bool:
        return bool(self.site or self.type)

    @property
    def file(self) -> str:
        """What a file's name tells of it."""
        return "-".join(filter(None, (self.letters, self.type)))


def sentence(desk: Desk, narrowing: Narrowing) -> str:
    """Which site and type."""
    names = {"site": narrowing.site, "type": desk.say(f"type.{narrowing.type}") if narrowing.type else ""}
    code = {(True, True): "both", (True, False): "site", (False, True): "type"}.get(
        (bool(narrowing.site), bool(narrowing.type)), "none"
    )
    return desk.say(f"drift.narrowed.{code}", **names)


def of_table(desk: Desk, narrowing: Narrowing, *, by_weeks: bool) -> str:
    """The same, for the head of a table; where it is counted over weeks, over how many."""
    weeks = [desk.say("drift.narrowed.weeks_of", weeks=narrowing.weeks)] if by_weeks else []
    return " ".join([sentence(desk, narrowing).replace("*", ""), *weeks])


class NarrowedRow(QWidget):
    taken_back = Signal()

    def __init__(self, desk: Desk, *, narrow: bool) -> None:
        """narrow: there is little room; over how many weeks it is counted stands with what is counted."""
        super().__init__()
        self.desk, self._narrow = desk, narrow
        self.words = Sentence(desk.look, size=15)
        self.all = on_press(Button(desk.look, desk.say("drift.narrowed.take_back"), LINK), self._take_back)
        if desk.look.narrow:  # large text
            self.setLayout(column(self.words, row(self.all, None), space=0))
        else:
            line = row(self.words, self.all, space=12)
            line.setStretch(0, 1)
            self.setLayout(line)

    def show_narrowing(self, narrowing: Narrowing) -> None:
        weeks = [] if self._narrow else [self.desk.say("drift.narrowed.weeks", weeks=narrowing.weeks)]
        self.words.say(" ".join([sentence(self.desk, narrowing), *weeks]))
        self.all.setVisible(narrowing.any)

    def _take_back(self) -> None:
        self.taken_back.emit()
