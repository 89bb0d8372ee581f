"""What stands open under each row: a question, the repeats, why there is no reading, or how to adjust."""

from PySide6.QtWidgets import QWidget

from ui.shift.adjusting import Adjustments
from ui.shift.instead import SayingInstead
from ui.shift.listing import ShiftList
from ui.shift.opened import Adjusting, Question, Repeats
from ui.shift.standing import Standing


class Below:
    """One part at most under a row; it is made anew only when it is to be another, so that it keeps its focus."""

    def __init__(self, now: Standing, rows: ShiftList, instead: SayingInstead, adjustments: Adjustments) -> None:
        self.now, self.list, self.instead, self.adjustments = now, rows, instead, adjustments
        self._open: dict[str, tuple[object, ...]] = {}

    def show(self, thermometer: str) -> None:
        wanted = self._wanted(thermometer)
        if wanted == self._open.get(thermometer, ()):
            return
        self._open[thermometer] = wanted
        widget, part = self.list.rows[thermometer], self._part(thermometer, str(wanted[0]) if wanted else "")
        widget.show_below(part)
        if isinstance(part, Adjusting):
            widget.field_moved.connect(part.align_under)
            widget.tell_where()

    def forget_changed(self) -> None:
        """Before the list drops rows, and makes those anew whose dial was amended."""
        dials = {one: (made.row.type, made.row.scales) for one, made in self.list.rows.items()}
        same = {one for one, row in self.now.rows.items() if dials.get(one) == (row.type, row.scales)}
        self._open = {one: what for one, what in self._open.items() if one in same}

    def _wanted(self, thermometer: str) -> tuple[object, ...]:
        """What is to stand there, and what it depends on."""
        listed = self.now.rows[thermometer]
        if thermometer in self.now.problems:
            return ("question", self.now.problems[thermometer])
        if thermometer == self.instead.open:
            return self.instead.kind
        if listed.state == "partly" and listed.check is not None:
            return ("repeats", listed.check.row.check, len(listed.check.row.readings))
        if self.now.may and listed.is_settled_outside and listed.check is not None:
            left = listed.check.as_left
            return ("adjust", listed.check.row.check, left.adjustment if left else "")
        return ()

    def _part(self, thermometer: str, kind: str) -> QWidget | None:
        listed, desk = self.now.rows[thermometer], self.now.desk
        if kind == "question":
            return Question(desk, self.now.problems[thermometer])
        if kind == "repeats":
            return Repeats(desk, listed)
        if kind == "instead":
            return self.instead.part()
        if kind == "adjust":
            return self.adjustments.part(listed, self.list.rows[thermometer].field.places)
        return None

    def adjusting(self, of: str = "") -> Adjusting | None:
        """The first that is open for adjusting, or that of a thermometer."""
        opened = [self.list.rows[one].opened for one in self.now.rows if of in ("", one)]
        return next((one for one in opened if isinstance(one, Adjusting)), None)
