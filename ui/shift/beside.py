"""Comparison: what the reference shows now, beside each reading, since the water cools."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QWidget

from registry.quantity import NotAReading, Reading, parse_reading
from registry.services.checks import BESIDE_GOOD_FOR_US
from registry.services.shift_bath import BathFacts
from ui.desk import Desk
from ui.parts import Words, clear
from ui.shift.field import ReadingField


class BesideNow(QWidget):
    """One field for each reference of the bath; what stands there goes with the next readings for two minutes."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk = desk
        self._fields: list[tuple[str, Reading, ReadingField]] = []
        self._bath = ""
        self._read_at = 0
        self._line = QHBoxLayout(self)
        self._line.setContentsMargins(24, 8, 16, 8)
        self._line.setSpacing(12)

    def show_for(self, facts: BathFacts | None) -> None:
        """The fields of a comparison; nothing for other baths."""
        wanted = facts.bath if facts is not None and facts.beside else ""
        if wanted == self._bath:
            return
        self._bath, self._fields = wanted, []
        clear(self._line)
        self.setVisible(bool(wanted))
        if facts is None or not wanted:
            return
        look = self.desk.look
        for tag, shown in facts.beside:
            self._line.addWidget(Words(look, self.desk.say("shift.shows_now", tag=tag), 15, bold=True))
            field = ReadingField(look, self.desk.say("shift.shows_now", tag=tag), size=22)
            field.keyed.connect(self._keyed)
            self._fields.append((tag, shown, field))
            self._line.addWidget(field)
            self._line.addWidget(Words(look, f"°{shown.unit}", 15, colour="muted", wrap=False))
        hint = Words(look, self.desk.say("shift.beside_hint"), 14, colour="muted")
        self._line.addWidget(hint, 1, Qt.AlignmentFlag.AlignVCenter)

    def _keyed(self, _text: str) -> None:
        self._read_at = self.desk.session.clock()

    def pairs(self) -> tuple[tuple[str, Reading], ...]:
        """What each reference shows; nothing while a field is empty or was read too long ago."""
        if not self._fields or self.desk.session.clock() - self._read_at > BESIDE_GOOD_FOR_US:
            return ()
        try:
            return tuple((tag, parse_reading(field.text(), shown.unit)) for tag, shown, field in self._fields)
        except NotAReading:
            return ()

    def ask_again(self) -> None:
        """The reference was read too long ago: its field is empty and has the focus."""
        for _, _, field in self._fields:
            field.write("")
        if self._fields:
            self._fields[0][2].setFocus()
