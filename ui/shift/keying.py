"""From digits to a reading: what stands in each row's field, kept at every key, until it is recorded once."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from registry.quantity import NotAReading, Reading, Unit, parse_reading
from registry.services import checks, shift_list
from registry.services.checks import AdjustmentGiven, ReadingGiven, Row
from registry.services.problems import Problem, Refused, refuse
from registry.services.shift_list import ListRow, Provisional
from ui.desk import Desk

DRAFT = "shift"
QUESTIONS = ("off_scale", "too_fine", "other_unit")  # of a reading; typed again, it is taken
Beside = tuple[tuple[str, Reading], ...]


@dataclass(frozen=True, slots=True)
class Keyed:
    """What is being keyed for one thermometer. The ids were made with the first key, so a second press adds nothing.

    questioned: the text that was asked about; typed once more it is taken, with `asked` saying what was asked.
    """

    text: str = ""
    unit: Unit = "C"
    check: str = ""
    reading: str = ""
    questioned: str = ""
    asked: frozenset[str] = frozenset()
    typed_since: bool = True

    def with_text(self, text: str) -> "Keyed":
        return replace(self, text=text, typed_since=True)

    def asked_about(self, codes: frozenset[str]) -> "Keyed":
        """What stands there was questioned (or refused, without codes): it is to be typed again."""
        try:
            questioned = parse_reading(self.text, self.unit).text()
        except NotAReading:
            questioned = ""
        return replace(self, text="", questioned=questioned if codes else "", asked=codes, typed_since=False)

    def as_draft(self) -> dict[str, Any]:
        return {"text": self.text, "unit": self.unit, "check": self.check, "reading": self.reading}


@dataclass
class Keying:
    """The fields of one list."""

    desk: Desk
    site: str
    fields: dict[str, Keyed] = field(default_factory=dict)

    def __post_init__(self) -> None:
        kept = self.desk.drafts.get(DRAFT) if self.desk.drafts is not None else None
        if isinstance(kept, Mapping) and kept.get("site") == self.site:
            for thermometer, one in kept["fields"].items():
                self.fields[thermometer] = Keyed(**one)

    def of(self, row: ListRow) -> Keyed:
        found = self.fields.get(row.thermometer)
        return found if found is not None else Keyed(unit=row.default_unit)

    def typed(self, row: ListRow, text: str) -> Keyed:
        """The field holds this now; it is kept before anything else happens."""
        before = self.of(row)
        check = row.check.row.check if row.state == "partly" and row.check is not None else before.check
        made = replace(
            before,
            text=text,
            check=check or self.desk.session.new_id(),
            reading=before.reading or self.desk.session.new_id(),
            typed_since=before.typed_since or text != before.text,
        )
        self._keep(row, made if text else None if not made.questioned else made)
        return made

    def in_unit(self, row: ListRow, unit: Unit) -> None:
        self._keep(row, replace(self.of(row), unit=unit, questioned="", asked=frozenset()))

    def _keep(self, row: ListRow, keyed: Keyed | None) -> None:
        if keyed is None:
            self.fields.pop(row.thermometer, None)
        else:
            self.fields[row.thermometer] = keyed
        if self.desk.drafts is not None:
            drafts = {thermometer: one.as_draft() for thermometer, one in self.fields.items() if one.text}
            self.desk.drafts.keep(DRAFT, {"site": self.site, "fields": drafts} if drafts else None)

    def foresee(self, row: ListRow, bath: str, beside: Beside = ()) -> Provisional | None:
        """What the field would come to; None while it holds no number or one that may not go in here."""
        keyed = self.of(row)
        before = row.check.row.readings if row.state == "partly" and row.check is not None else ()
        try:
            shown = parse_reading(keyed.text, keyed.unit)
            return shift_list.provisional(self.desk.session, bath, row.thermometer, shown, before, beside=beside)
        except (NotAReading, Refused):
            return None

    def enter(
        self, row: ListRow, bath: str, put_in_at: int | None, shift: tuple[str, str] | None, beside: Beside
    ) -> Row:
        """Record what stands in the field. Refused with questions the first time; typed again, it is taken."""
        keyed = self.of(row)
        if keyed.questioned and not keyed.typed_since:
            raise refuse("shown", "type_it_again")
        try:
            shown = parse_reading(keyed.text, keyed.unit)
        except NotAReading as problem:
            raise refuse("shown", problem.code, value=problem.typed) from None
        same = keyed.questioned == shown.text()
        given = ReadingGiven(
            bath,
            row.thermometer,
            shown,
            keyed.check,
            keyed.reading,
            beside=beside,
            asked=keyed.asked if same else frozenset(),
            put_in_at=put_in_at,
            reason=None,
            shift=shift[0] if shift else None,
            day=shift[1] if shift else None,
        )
        try:
            done = checks.take_reading(self.desk.session, self.desk.actor, given)
        except Refused as refused:
            self._question(row, keyed, refused.problems)
            raise
        self._keep(row, None)
        return done

    def _question(self, row: ListRow, keyed: Keyed, problems: tuple[Problem, ...]) -> None:
        codes = frozenset(one.code for one in problems if one.field == "shown" and one.code in QUESTIONS)
        if codes:
            self._keep(row, keyed.asked_about(codes))

    def adjust(self, row: ListRow, keyed: Keyed, how: str, adjustment: str, beside: Beside) -> Any:
        """Record the as-left reading after turning, pressing or trimming."""
        assert row.check is not None
        try:
            shown = parse_reading(keyed.text, keyed.unit)
        except NotAReading as problem:
            raise refuse("as_left", problem.code, value=problem.typed) from None
        asked = keyed.asked if keyed.questioned == shown.text() else frozenset()
        given = AdjustmentGiven(row.check.row.check, how, adjustment, keyed.reading, shown, beside=beside, asked=asked)
        return checks.adjust(self.desk.session, self.desk.actor, given)
