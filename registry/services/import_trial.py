"""A shift tried out: each line of the sheet given to the services as if by hand."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import groupby

from registry.quantity import Reading
from registry.records.baths import NotChecked, ReadingTaken
from registry.services import bath_watch, baths, checks, places
from registry.services import import_cells as cells
from registry.services.baths import NewBath
from registry.services.checks import AdjustmentGiven, ReadingGiven
from registry.services.import_rows import Options, Row
from registry.services.import_sheet import ABOUT, Bath, Line, new_bath
from registry.services.problems import Refused
from registry.services.rehearsal import Rehearsal
from registry.services.session import SYSTEM


@dataclass(slots=True)
class Trial:
    """The file given to the services line by line."""

    rehearsal: Rehearsal
    sha256: str
    options: Options

    def _id(self, line: Line, *what: object) -> str:
        return cells.derived_id(self.sha256, line.at, line.row.number, *what)

    def bath(self, of: Bath) -> None:
        """Make a bath, take its readings, judge it as the list is closed, then adjust."""
        new = new_bath(of)
        if new is None:
            return
        bath = cells.derived_id(self.sha256, of.at, of.first.row.number, "bath")
        self.rehearsal.row = of.first.row.number
        if not self._make(of, new, bath):
            return
        taken: dict[str, str] = {}
        in_order = sorted(
            of.lines, key=lambda line: (line.thermometer, line.role == "repeat", line.at, line.row.number)
        )
        readings = [line for line in in_order if line.role in ("as_found", "repeat")]
        for thermometer, lines in groupby(readings, key=lambda line: line.thermometer):
            if (check := self._check(bath, list(lines))) is not None:
                taken[thermometer] = check
        self.rehearsal.row = None
        left = [line for line in in_order if line.role == "as_left"]
        if not self._judged(bath, left):
            return
        tried = {line.thermometer for line in readings}
        for line in in_order:
            self.rehearsal.row = line.row.number
            if line.role == "no_reading":
                self._no_reading(bath, line)
            elif line.role == "as_left" and line.thermometer in taken:
                self._adjust(taken[line.thermometer], line)
            elif line.role == "as_left" and line.thermometer not in tried:
                line.row.bad("role", "nothing_as_found")

    def _judged(self, bath: str, left: list[Line]) -> bool:
        """As a list is closed: what its thermometers speak against waits, unless somebody was adjusted in it.

        Then a person says whether the bath was good all the same, since nobody may be adjusted in one that is not.
        """
        if bath_watch.judge(self.rehearsal, SYSTEM, bath).diagnosis.verdict != "bad":
            baths.judge_bath(self.rehearsal, SYSTEM, bath, "accepted", by="closing")
        elif left and "bath_in_doubt" in self.options.asked:
            baths.judge_bath(self.rehearsal, SYSTEM, bath, "overruled", why="other_reason")
        elif left:
            left[0].row.bad("role", "bath_in_doubt")
            return False
        return True

    def _make(self, of: Bath, new: NewBath, bath: str) -> bool:
        row = Row(of.first.row.number, of.said, of.first.row.problems)
        try:
            baths.make_bath(self.rehearsal, SYSTEM, new, bath=bath)
        except Refused as refused:
            questions = {"other_kind_is_likelier", "room_is_likelier"}
            if "pressure_kind" in self.options.asked and {one.code for one in refused.problems} <= questions:
                return self._make(of, replace(new, asked=frozenset(("pressure_kind",))), bath)
            row.refused(refused, columns=ABOUT)
            return False
        return True

    def _check(self, bath: str, lines: list[Line]) -> str | None:
        """The readings of one thermometer in a bath; the check's id, or none where a line is bad."""
        first = lines[0]
        if first.role == "repeat":
            first.row.bad("role", "repeat_of_nothing")
            return None
        check = self._id(first, "check")
        for line in lines:
            if line is not first and line.role == "as_found":
                line.row.bad("role", "as_found_twice", other=first.row.number)
                return None
            self.rehearsal.row = line.row.number
            for place, shown in enumerate(line.readings):
                if not self._take(bath, check, line, place, shown):
                    return None
        checks.record_what_there_is(self.rehearsal, SYSTEM, bath, check)
        return check

    def _take(self, bath: str, check: str, line: Line, place: int, shown: Reading) -> bool:
        shift = self._shift(line)
        given = ReadingGiven(
            bath,
            line.thermometer,
            shown,
            check,
            self._id(line, "reading", place),
            line.beside_now,
            performed_at=line.at,
            done_by=line.person,
            shift=shift[0] if shift else None,
            day=shift[1] if shift else None,
        )
        try:
            self._asking(lambda asked: checks.take_reading(self.rehearsal, SYSTEM, replace(given, asked=asked)))
        except Refused as refused:
            if refused.problems[0].code == "recorded_already":  # the check was complete without it
                line.row.bad("readings", "repeat_not_wanted")
            else:
                line.row.refused(refused, columns=ABOUT)
            return False
        return True

    def _adjust(self, check: str, line: Line) -> None:
        if len(line.readings) > 1:
            line.row.bad("readings", "one_as_left")
            return
        given = AdjustmentGiven(
            check,
            line.how,
            self._id(line, "adjustment"),
            self._id(line, "reading", 0),
            line.readings[0] if line.readings else None,
            beside=line.beside_now,
            performed_at=line.at,
            done_by=line.person,
        )
        try:
            self._asking(lambda asked: checks.adjust(self.rehearsal, SYSTEM, replace(given, asked=asked)))
        except Refused as refused:
            line.row.refused(refused, columns=ABOUT)

    def _asking(self, do: Callable[[frozenset[str]], object]) -> None:
        """Do it; where it is only questioned and the person answered for the whole file, again with these answers."""
        try:
            do(frozenset())
        except Refused as refused:
            codes = frozenset(one.code for one in refused.problems)
            if not codes <= self.options.asked:
                raise
            do(codes)

    def _no_reading(self, bath: str, line: Line) -> None:
        with self.rehearsal.recording(SYSTEM) as entries:
            entries.add(
                ReadingTaken(
                    thermometer=line.thermometer,
                    reading=self._id(line, "reading", 0),
                    bath=bath,
                    role="no_reading",
                    why=line.why,
                    performed_at=line.at,
                    done_by=line.person,
                )
            )

    def not_checked(self, line: Line) -> None:
        shift = self._shift(line)
        if shift is None:
            line.row.bad("time", "no_shift_then")
            return
        self.rehearsal.row = line.row.number
        with self.rehearsal.recording(SYSTEM) as entries:
            entries.add(
                NotChecked(
                    thermometer=line.thermometer,
                    absence=self._id(line, "absence"),
                    site=line.site.subject,
                    shift=shift[0],
                    day=shift[1],
                    why=line.why,
                    performed_at=line.at,
                    done_by=line.person,
                )
            )

    def _shift(self, line: Line) -> tuple[str, str] | None:
        """The shift that was on then, as it would have been noted at the time."""
        then = replace(self.rehearsal, clock=lambda: line.at)
        on = places.shift_now(then, self.rehearsal.connection, line.site)
        return (on.shift.id, on.day.isoformat()) if on else None
