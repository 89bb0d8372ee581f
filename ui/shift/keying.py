"""From digits to a reading: what stands in each row's field, kept at every key, until it is recorded once."""

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from typing import Any

from registry.quantity import NotAReading, Reading, Unit, parse_reading
from registry.services import checks, shift_keyed
from registry.services.checks import AdjustmentGiven, ReadingGiven, Row
from registry.services.problems import KnownError, Problem, Refused, refuse
from registry.services.shift_bath import BathFacts
from registry.services.shift_keyed import Provisional
from registry.services.shift_list import ShiftView
from registry.services.shift_row import ListRow
from ui.desk import Desk

DRAFT = "shift"
WRITING = ("waiting", "partly")
QUESTIONS = ("off_scale", "too_fine", "other_unit", "far_apart")  # of a reading; typed again, it is taken
Beside = tuple[tuple[str, Reading], ...]


@dataclass(frozen=True, slots=True)
class Keyed:
    """What is being keyed for one thermometer. The ids were made with the first key, so a second press adds nothing.

    about: the bath that it was read in, since it says nothing of any other; of a reading as left, the check. check:
    the check's id; of a reading as left, the adjustment's. questioned: the text that was asked about; typed once more
    it is taken, with `asked` saying what was asked.
    """

    text: str = ""
    unit: Unit = "C"
    about: str = ""
    check: str = ""
    reading: str = ""
    questioned: str = ""
    asked: frozenset[str] = frozenset()

    def shown(self, name: str) -> Reading:
        """The reading that stands there; refused beside the field of that name where it is none."""
        try:
            return parse_reading(self.text, self.unit)
        except NotAReading as problem:
            raise refuse(name, problem.code, value=problem.typed) from None

    def answered(self, shown: Reading) -> frozenset[str]:
        """The questions that typing the same once more has answered."""
        return self.asked if self.questioned == shown.text() else frozenset()

    def asked_about(self, problems: tuple[Problem, ...], name: str) -> "Keyed":
        """What stands there was questioned: it is to be typed again. Refused for another reason, it stays."""
        codes = frozenset(one.code for one in problems if one.field == name and one.code in QUESTIONS)
        if not codes:
            return self
        return replace(self, text="", questioned=self.shown(name).text(), asked=codes)

    def as_draft(self) -> dict[str, Any]:
        return {
            "text": self.text,
            "unit": self.unit,
            "about": self.about,
            "check": self.check,
            "reading": self.reading,
        }


@dataclass
class Keying:
    """The fields of one list, and those of readings as left, by thermometer."""

    desk: Desk
    site: str
    fields: dict[str, Keyed] = field(default_factory=dict)
    left: dict[str, Keyed] = field(default_factory=dict)

    def __post_init__(self) -> None:
        kept = self.desk.drafts.get(f"{DRAFT} {self.site}") if self.desk.drafts is not None else None
        if isinstance(kept, Mapping):
            self.fields = self._loaded(kept.get("fields", {}))
            self.left = self._loaded(kept.get("left", {}))

    def _loaded(self, kept: Mapping[str, Any]) -> dict[str, Keyed]:
        """As it was kept. What was recorded before a crash could forget it, or has another shape, is let go."""
        found = {}
        for thermometer, one in kept.items():
            with suppress(TypeError):
                keyed = Keyed(**one)
                if not shift_keyed.is_taken(self.desk.session, thermometer, keyed.reading):
                    found[thermometer] = keyed
        return found

    def of(self, row: ListRow) -> Keyed:
        """What stands in a row's field. Repeats are read in the unit of the first."""
        found = self.fields.get(row.thermometer)
        if found is not None:
            return found
        before = row.check.row.readings if row.state == "partly" and row.check is not None else ()
        return Keyed(unit=before[0].unit if before else row.default_unit)

    def typed_for(self) -> list[str]:
        """The thermometers for which digits stand that are not recorded."""
        return [one for one, keyed in self.fields.items() if keyed.text]

    def unrecorded(self) -> list[str]:
        """The same, and those whose reading as left is typed and not recorded."""
        return list(dict.fromkeys([*self.typed_for(), *(one for one, keyed in self.left.items() if keyed.text)]))

    def typed(self, row: ListRow, text: str, bath: str) -> None:
        """The field holds this now; it is kept before anything else happens."""
        before = self.of(row)
        if not text and not before.questioned:
            self._keep(self.fields, row, Keyed(unit=before.unit))
            return
        check = row.check.row.check if row.state == "partly" and row.check is not None else before.check
        check, reading = check or self._new_id(), before.reading or self._new_id()
        self._keep(self.fields, row, replace(before, text=text, about=bath, check=check, reading=reading))

    def in_unit(self, row: ListRow, unit: Unit) -> None:
        self._keep(self.fields, row, replace(self.of(row), unit=unit, questioned="", asked=frozenset()))

    def let_go(self, view: ShiftView, rows: Mapping[str, ListRow]) -> list[tuple[str, Keyed]]:
        """Forget the digits that can be recorded no more, and say which they were, by tag id.

        Their bath has gone or is too old, somebody else has answered the row, or the dial is in another unit now.
        """
        gone = []
        for fields, stands in ((self.fields, _stands), (self.left, _left_stands)):
            for thermometer, keyed in [(one, keyed) for one, keyed in fields.items() if keyed.about]:
                row = rows.get(thermometer)
                if row is None or not stands(row, keyed, view.bath):
                    del fields[thermometer]
                    if keyed.text:
                        gone.append((row.tag_id if row else "", keyed))
        if gone:
            self._save()
        return gone

    def _new_id(self) -> str:
        return self.desk.session.new_id()

    def _keep(self, fields: dict[str, Keyed], row: ListRow, keyed: Keyed) -> None:
        fields[row.thermometer] = keyed
        self._save()

    def _forget(self, fields: dict[str, Keyed], row: ListRow) -> None:
        """It is recorded, whether or not the draft can be put away: loaded again it is known by its id."""
        fields.pop(row.thermometer, None)
        with suppress(KnownError):
            self._save()

    def _save(self) -> None:
        if self.desk.drafts is None:
            return
        kept = {
            name: {thermometer: one.as_draft() for thermometer, one in fields.items() if one.text}
            for name, fields in (("fields", self.fields), ("left", self.left))
        }
        self.desk.drafts.keep(f"{DRAFT} {self.site}", kept if any(kept.values()) else None)

    # --- readings --------------------------------------------------------------------------------------------

    def foresee(self, row: ListRow, bath: str, beside: Beside = ()) -> Provisional | None:
        """What the field would come to; None while it holds no number or one that may not go in here."""
        keyed = self.of(row)
        before = row.check.row.readings if row.state == "partly" and row.check is not None else ()
        try:
            shown = keyed.shown("shown")
            return shift_keyed.provisional(self.desk.session, bath, row.thermometer, shown, before, beside=beside)
        except Refused:
            return None

    def enter(self, row: ListRow, view: ShiftView, bath: BathFacts, beside: Beside) -> Row:
        """Record what stands in the field. Refused with questions the first time; typed again, it is taken."""
        keyed, on = self.of(row), view.shift
        shown = keyed.shown("shown")
        shift_keyed.refuse_said_meanwhile(self.desk.session, bath.bath, row, view.since)
        given = ReadingGiven(
            bath.bath,
            row.thermometer,
            shown,
            keyed.check,
            keyed.reading,
            beside=beside,
            asked=keyed.answered(shown),
            put_in_at=bath.made_at if row.state == "waiting" else None,  # a repeat was lifted out since
            shift=on.shift.id if on else None,
            day=on.day.isoformat() if on else None,
            predicted=shift_keyed.expected(self.desk.session, bath.bath, row.thermometer),
        )
        try:
            done = checks.take_reading(self.desk.session, self.desk.actor, given)
        except Refused as refused:
            self._keep(self.fields, row, keyed.asked_about(refused.problems, "shown"))
            raise
        self._forget(self.fields, row)
        return done

    # --- readings as left ------------------------------------------------------------------------------------

    def left_of(self, row: ListRow) -> Keyed:
        """What stands in the as-left field of the check that a row shows."""
        assert row.check is not None
        found, check = self.left.get(row.thermometer), row.check.row
        if found is None or found.about != check.check:
            return Keyed(unit=check.readings[0].unit, about=check.check)
        return found

    def left_typed(self, row: ListRow, text: str) -> None:
        before = self.left_of(row)
        check, reading = before.check or self._new_id(), before.reading or self._new_id()
        self._keep(self.left, row, replace(before, text=text, check=check, reading=reading))

    def adjust(self, row: ListRow, how: str, beside: Beside) -> None:
        """Record the reading as left after turning, pressing or trimming; asked and refused as `enter`."""
        keyed = self.left_of(row)
        shown = keyed.shown("as_left")
        given = AdjustmentGiven(
            keyed.about, how, keyed.check, keyed.reading, shown, beside=beside, asked=keyed.answered(shown)
        )
        try:
            checks.adjust(self.desk.session, self.desk.actor, given)
        except Refused as refused:
            self._keep(self.left, row, keyed.asked_about(refused.problems, "as_left"))
            raise
        self._forget(self.left, row)


def _stands(row: ListRow, keyed: Keyed, bath: BathFacts | None) -> bool:
    """Whether digits may still be recorded in the bath that is open; while there is none they wait."""
    if bath is None:
        return True
    on_its_dial = any(one.unit == keyed.unit for one in row.scales)
    return keyed.about == bath.bath and not bath.too_old and row.state in WRITING and on_its_dial


def _left_stands(row: ListRow, keyed: Keyed, _bath: BathFacts | None) -> bool:
    return row.is_settled_outside and row.check is not None and row.check.row.check == keyed.about
