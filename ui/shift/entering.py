"""Digits in a row's field: kept at every key, recorded once by Enter, questioned or refused in place."""

from collections.abc import Callable

from PySide6.QtCore import QObject, Signal

from registry.services import typed
from registry.services.problems import KnownError, Refused
from ui.desk import Desk
from ui.shift.beside import BesideNow
from ui.shift.keying import WRITING
from ui.shift.standing import Standing


class Entering(QObject):
    """What the fields of the list tell, and where it leads."""

    changed = Signal(str)  # what this row says
    stays = Signal(str)  # the focus, in this row
    goes_on = Signal(str)  # the focus, from this row
    outdated = Signal()  # bath or thermometer are no longer as shown

    def __init__(self, desk: Desk, now: Standing, beside: BesideNow) -> None:
        super().__init__()
        self.desk, self.now, self.beside = desk, now, beside

    def keyed(self, thermometer: str, text: str) -> None:
        now, bath = self.now, self.now.bath
        if bath is None:
            return
        self._kept(lambda: now.keying.typed(now.rows[thermometer], text, bath.bath))
        if now.keying.of(now.rows[thermometer]).text:
            now.problems.pop(thermometer, None)
        now.closed = None
        self.changed.emit(thermometer)

    def _kept(self, keep: Callable[[], None]) -> None:
        """Do what keeps a draft; where the disk does not take it the digits still stand in the field."""
        try:
            keep()
        except KnownError as trouble:
            self.desk.notice_of(trouble)

    def unit_chosen(self, thermometer: str, unit: str) -> None:
        listed = self.now.rows[thermometer]
        self._kept(lambda: self.now.keying.in_unit(listed, "F" if unit == "F" else "C"))
        self.changed.emit(thermometer)
        self.stays.emit(thermometer)

    def entered(self, thermometer: str) -> None:
        """Enter: a reading is durable and the focus goes on; a question stays with its row."""
        now, listed = self.now, self.now.rows[thermometer]
        keyed, view, bath = now.keying.of(listed), now.view, now.bath
        if view is None or bath is None or not now.may_write or listed.state not in WRITING:
            self.goes_on.emit(thermometer)
            return
        if not keyed.text:
            if not keyed.questioned:
                self.goes_on.emit(thermometer)
            return
        try:
            done = now.keying.enter(listed, view, bath, self.beside.pairs())
        except Refused as refused:
            self._refused(thermometer, refused)
            return
        except KnownError as trouble:
            self.desk.notice_of(trouble)
            return
        now.problems.pop(thermometer, None)
        now.reopened.discard(thermometer)
        self.desk.recorded.emit()
        (self.stays if done.wants_more else self.goes_on).emit(thermometer)

    def _refused(self, thermometer: str, refused: Refused) -> None:
        """Said under the row. What is not about the digits is news: bath or thermometer are no longer as shown."""
        told = typed.echoed(refused, self.desk.region).problems
        sentence = " ".join(self.desk.say_problem(one) for one in told)
        of_beside = any(one.field == "beside" for one in refused.problems)
        if of_beside or all(one.field == "shown" for one in refused.problems):
            self.now.problems[thermometer] = sentence
            self.changed.emit(thermometer)
        else:
            self.desk.notice(sentence)
            self.outdated.emit()
        if of_beside:
            self.beside.ask_again()
        else:
            self.stays.emit(thermometer)
