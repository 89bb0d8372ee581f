"""Comparison: what the reference shows now, beside each reading, since the water cools."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QWidget

from registry.quantity import NotAReading, Reading, parse_reading
from registry.services.checks import BESIDE_GOOD_FOR_US
from registry.services.shift_bath import BathFacts
from ui.desk import Desk
from ui.parts import Words, clear
from ui.shift.field import ReadingField


class BesideNow(QWidget):
    """One field for each reference of the bath; what stands there goes with the next readings for two minutes."""

    changed = Signal()
    done = Signal()
    writing = Signal(str)  # the tag id of the reference whose field has the focus, or ""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self.desk = desk
        self._fields: list[tuple[str, Reading, ReadingField]] = []
        self._read_at: dict[str, int] = {}
        self._bath: BathFacts | None = None
        self._line = QHBoxLayout(self)
        self._line.setContentsMargins(24, 8, 16, 8)
        self._line.setSpacing(12)

    def show_for(self, facts: BathFacts | None) -> None:
        """The fields of a comparison; nothing for other baths."""
        wanted = facts if facts is not None and facts.beside else None
        before, self._bath = self._bath, wanted
        if (wanted and wanted.bath) == (before and before.bath):
            return
        self._fields, self._read_at = [], {}
        clear(self._line)
        self.setVisible(wanted is not None)
        if wanted is None:
            return
        look = self.desk.look
        for tag, shown in wanted.beside:
            self._line.addWidget(Words(look, self.desk.say("shift.shows_now", tag=tag), 15, bold=True))
            self._fields.append((tag, shown, self._field(tag)))
            self._line.addWidget(self._fields[-1][2])
            self._line.addWidget(Words(look, f"°{shown.unit}", 15, colour="muted", wrap=False))
        hint = Words(look, self.desk.say("shift.beside_hint"), 14, colour="muted")
        self._line.addWidget(hint, 1, Qt.AlignmentFlag.AlignVCenter)

    def _field(self, tag: str) -> ReadingField:
        field = ReadingField(self.desk.look, self.desk.say("shift.shows_now", tag=tag), size=22)
        field.keyed.connect(lambda _text: self._keyed(tag))
        field.entered.connect(self._entered)
        field.focused.connect(lambda: self.writing.emit(tag))
        field.left.connect(lambda: self.writing.emit(""))
        return field

    def _keyed(self, tag: str) -> None:
        self._read_at[tag] = self.desk.session.clock()
        self.changed.emit()

    def _entered(self) -> None:
        """To the next reference that is to be read, then to the row."""
        empty = next((field for _, _, field in self._fields if not field.text()), None)
        if empty is not None:
            empty.setFocus()
        else:
            self.done.emit()

    def pairs(self) -> tuple[tuple[str, Reading], ...]:
        """What each reference shows; nothing while a field is empty or one of them was read too long ago."""
        since = self.desk.session.clock() - BESIDE_GOOD_FOR_US
        if not all(self._read_at.get(tag, 0) >= since for tag, _, _ in self._fields):
            return ()
        try:
            return tuple((tag, parse_reading(field.text(), shown.unit)) for tag, shown, field in self._fields)
        except NotAReading:
            return ()

    def is_wanted(self) -> bool:
        """Whether a reading says nothing without its reference: the water has cooled since the bath was made."""
        made = self._bath
        return made is not None and not self.pairs() and self.desk.session.clock() - made.made_at > BESIDE_GOOD_FOR_US

    def ask_again(self) -> None:
        """The reference was read too long ago: its field is empty and has the focus."""
        for _, _, field in self._fields:
            field.write("")
        if self._fields:
            self._fields[0][2].setFocus()
