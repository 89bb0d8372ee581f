"""A reading on the list before Enter is pressed: what it would come to, and whether it still goes in here."""

from collections.abc import Sequence
from dataclasses import dataclass

from registry.compute.check import Judged
from registry.quantity import Reading
from registry.records.baths import Predicted
from registry.services import checks, lookup
from registry.services.checks import ReadingGiven, Row
from registry.services.problems import refuse
from registry.services.session import Session
from registry.services.shift_row import ListRow
from registry.store import queries


@dataclass(frozen=True, slots=True)
class Provisional:
    """What a keyed reading would come to: equal to what is recorded once Enter is pressed.

    questions: codes to be answered by typing it again. word: the lead's, in an accepted bath; `waits` where repeats
    are wanted. wants_more: how many.
    """

    questions: tuple[str, ...]
    judged: Judged
    word: str
    unsteady: bool
    wants_more: int


def provisional(
    session: Session,
    bath_id: str,
    thermometer_id: str,
    shown: Reading,
    before: tuple[Reading, ...] = (),
    *,
    beside: tuple[tuple[str, Reading], ...] = (),
) -> Provisional:
    """Judge a reading as it stands in the field, recording nothing. before: the first and a repeat taken already.

    Refused as `take_reading` would: a type that may not go into this bath, a unit that is not on the dial.
    """
    with session.reading() as connection:
        check = lookup.open_check(connection, bath_id, thermometer_id) or ""
        given = ReadingGiven(bath_id, thermometer_id, shown, check, "", beside)
        questions, row = checks.foresee(session, connection, given, before)
    return _as_provisional([one.code for one in questions], row)


def refuse_said_meanwhile(session: Session, bath_id: str, row: ListRow, since: int) -> None:
    """Refused where this bath holds a check of a row's thermometer that the row does not know: another window's.

    since: the view's; what was said before belongs to an earlier shift and stands in no row.
    """
    known = {one.row.check for one in row.checks}
    with session.reading() as connection:
        recorded = [one for one in queries.checks_in(connection, bath_id) if not one.voided]
        found = [(one.check, one.at) for one in recorded if one.thermometer == row.thermometer]
        waiting = queries.open_readings(connection, bath_id)
        found += [(one.fact, one.at) for one in waiting if one.thermometer == row.thermometer]
    if any(since <= at <= session.clock() and check not in known for check, at in found):
        raise refuse("check", "said_meanwhile", value=row.tag_id)


def is_taken(session: Session, thermometer_id: str, reading: str) -> bool:
    """Whether a reading of that id is recorded already: a draft that a crash kept from being put away."""
    with session.reading() as connection:
        return queries.said_lately(connection, thermometer_id, "reading_taken", "reading", reading)


def _as_provisional(questions: Sequence[str], row: Row) -> Provisional:
    return Provisional(tuple(questions), row.judged, row.lead_word, row.unsteady, row.wants_more)


def expected(session: Session, bath_id: str, thermometer_id: str) -> Predicted | None:
    """What its record leads to expect, to be frozen in its check, where that is at hand: no reading waits for it."""
    from registry.services import bath_watch, tracking  # late: the first list does without them

    if not tracking.is_warm(session, thermometer_id):
        return None
    with session.reading() as connection:
        return bath_watch.predicted(session, connection, bath_id, thermometer_id)
