"""The bath is looked at after each reading, beside the window; what comes of it is recorded and told."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Signal

from registry.services.problems import KnownError
from ui.desk import Desk
from ui.shift.standing import Standing
from ui.work import Progress

if TYPE_CHECKING:  # late: the first list does without them
    from registry.services.bath_doubt import BathDoubt
    from registry.services.bath_watch import BathWatch

Read = tuple[bool, tuple[tuple[str, int], ...]]  # whether all is read; checks and their counts of readings
NOTHING: Read = (False, (("", 0),))  # as no list stands
FIRST_LOOK_MS = 500
AGAIN_MS = 5_000  # after a look that failed


class Watching(QObject):
    """One look at a time; where more was read meanwhile, it looks again."""

    looked = Signal()

    def __init__(self, desk: Desk, now: Standing) -> None:
        super().__init__()
        self.desk, self.now = desk, now
        self._found: BathWatch | None = None
        self._seen: tuple[str, Read] = ("", NOTHING)
        self._sight: tuple[str, Read] = ("", NOTHING)  # as the bath stood when it came in sight
        self._right: set[tuple[str, str, str]] = set()
        self._looking = self._failing = False

    def doubt(self) -> BathDoubt | None:
        """What is to be said of the bath that stands; nothing once a person has answered with a reason."""
        bath = self.now.bath
        if bath is None or self._found is None or self._found.bath != bath.bath or bath.judged == "overruled":
            return None
        from registry.services.bath_doubt import doubt_of

        return doubt_of(self._found)

    def swapped(self) -> tuple[str, str] | None:
        """Two whose rows may have changed places, by tag id, until a person says that they are right."""
        found, bath = self._found, self.now.bath
        if bath is None or found is None or found.bath != bath.bath:
            return None
        return next((pair for pair in found.swaps if (found.bath, *pair) not in self._right), None)

    def are_right(self, pair: tuple[str, str]) -> None:
        if self._found is not None:
            self._right.add((self._found.bath, *pair))

    def look(self) -> None:
        """Look again where something was read in the bath since the last look.

        At the first look at a bath nothing is recorded: who opens a window has judged nothing. It comes a little later,
        when the list stands, and makes ready what the first reading will ask for.
        """
        bath = self.now.bath
        if bath is None or self._looking:
            return
        read = (
            not any(row.state == "waiting" for row in self.now.rows.values()),
            tuple(
                (row.check.row.check, len(row.check.row.readings))
                for row in self.now.rows.values()
                if row.check is not None and row.check.bath == bath.bath
            ),
        )
        if (bath.bath, read) == self._seen:
            return
        went_on = self._seen[0] == bath.bath
        self._seen = bath.bath, read
        if self._sight[0] != bath.bath:
            self._sight = self._seen
        if went_on:
            self._begin()
        else:
            QTimer.singleShot(FIRST_LOOK_MS, self, self._first)

    def _first(self) -> None:
        if not self._looking and (self._found is None or self._found.bath != self._seen[0]):
            self._begin()

    def _begin(self) -> None:
        """It judges where something was read since the bath came in sight."""
        self._looking = True
        judges = self.now.may_write and self._seen[1][1] != self._sight[1][1]
        self.desk.in_background(partial(self._at, *self._seen, judges), self._looked, self._failed)

    def _at(self, bath: str, read: Read, judges: bool, _: Progress) -> BathWatch:
        """Rows keyed into each other are looked for once all is read: before, any two may look so."""
        from registry.services import bath_watch

        session, done = self.desk.session, read[0]
        if judges:
            return bath_watch.judge(session, self.desk.actor, bath, swaps=done)
        with session.reading() as connection:
            bath_watch.warm(session, connection, bath)
            return bath_watch.watch(session, connection, bath, swaps=done)

    def _looked(self, found: BathWatch) -> None:
        self._looking, self._failing, self._found = False, False, found
        self.looked.emit()
        self.look()  # where more was read meanwhile

    def _failed(self, error: Exception) -> None:
        """A busy or full disk passes: what was to be looked at is looked at again, and told once."""
        self._looking = False
        if isinstance(error, KnownError):
            known = self._found is not None and self._found.bath == self._seen[0]
            self._seen = (self._seen[0] if known else ""), NOTHING
            QTimer.singleShot(AGAIN_MS, self, self.look)
        if not self._failing:
            self._failing = True
            self.desk.notice_of(error)
