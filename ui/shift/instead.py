"""Saying why there is no reading: what opens for it under a row, and what is recorded by one press."""

from PySide6.QtCore import QObject, Signal

from registry.services import checks
from ui.desk import Desk
from ui.shift.opened import Instead
from ui.shift.standing import Standing


class SayingInstead(QObject):
    """In place of a reading, and only there: digits that stand in the field are recorded or rubbed out first."""

    changed = Signal(str)  # opened or closed under this row
    said = Signal(str)

    def __init__(self, desk: Desk, now: Standing) -> None:
        super().__init__()
        self.desk, self.now = desk, now
        self.open = ""  # under which row

    def wanted(self, thermometer: str) -> None:
        """Open it, or close what is open."""
        listed = self.now.rows.get(thermometer)
        waits = listed is not None and listed.state == "waiting" and not self.now.keying.of(listed).text
        if thermometer != self.open and not (waits and self.now.may_write):
            return
        before, self.open = self.open, "" if self.open == thermometer else thermometer
        for one in (before, thermometer):
            if one in self.now.rows:
                self.changed.emit(one)

    def part(self) -> Instead:
        part = Instead(self.desk, in_shift=self._in_shift, in_bath=self.now.bath is not None)
        part.said.connect(self._said)
        part.closed.connect(self._closed)
        return part

    @property
    def kind(self) -> tuple[object, ...]:
        """What the part depends on: it is made anew when this is another."""
        return ("instead", self._in_shift, self.now.bath is not None)

    @property
    def _in_shift(self) -> bool:
        return self.now.view is not None and self.now.view.shift is not None

    def _closed(self) -> None:
        self.wanted(self.open)

    def _said(self, kind: str, why: str) -> None:
        thermometer, now = self.open, self.now
        if thermometer not in now.rows:
            return
        self.open = ""
        now.reopened.discard(thermometer)
        if self.desk.did(lambda: self._record(thermometer, kind, why)):
            self.said.emit(thermometer)

    def _record(self, thermometer: str, kind: str, why: str) -> None:
        desk, view = self.desk, self.now.view
        assert view is not None
        if kind == "no_reading":
            assert view.bath is not None
            checks.no_reading(desk.session, desk.actor, view.bath.bath, thermometer, why)
        else:
            assert view.shift is not None
            shift, day = view.shift.shift.id, view.shift.day.isoformat()
            checks.not_checked(desk.session, desk.actor, thermometer, view.site, shift, day, why)
