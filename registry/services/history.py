"""One thermometer: its story, its offsets, and whether it was right at a given moment."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection

from registry.quantity import Reading, TemperatureDifference
from registry.services import thermometers
from registry.services.session import Session
from registry.services.thermometers import Thermometer
from registry.store import queries
from registry.store.queries import AdjustmentView, CheckView, EntryView
from registry.store.summary import GOOD


@dataclass(frozen=True, slots=True)
class CheckLine:
    """A check as a line of the history; offsets are in the unit of the rule it was judged by."""

    number: str
    at: int
    by: str
    point: str
    readings: tuple[Reading, ...]
    reference: Reading | None
    offset: TemperatureDifference | None
    u: TemperatureDifference | None
    k: str
    tolerance: TemperatureDifference | None
    decision: str
    outcome: str | None
    given: str | None
    voided: bool
    as_left: tuple[Reading, ...]
    as_left_offset: TemperatureDifference | None
    as_left_outcome: str | None
    adjusted: str | None
    day_only: bool
    check: str


@dataclass(frozen=True, slots=True)
class StoryLine:
    """Something else that happened: an incident, a move, a status, a paper."""

    number: str
    at: int
    by: str
    kind: str
    payload: dict[str, Any]
    voided: bool


@dataclass(frozen=True, slots=True)
class Story:
    """Everything that is kept of one thermometer, in time order."""

    of: Thermometer
    checks: tuple[CheckLine, ...]
    rest: tuple[StoryLine, ...]


_SHOWN_AS_CHECKS = ("check_recorded", "adjusted")


def story(session: Session, connection: Connection, thermometer_id: str, *, newest: int | None = None) -> Story:
    """The story of a thermometer; with `newest` only its latest so many checks."""
    of = thermometers.thermometer(connection, thermometer_id)
    views = queries.checks_of(connection, thermometer_id, newest=newest)
    adjustments = queries.adjustments_of(connection, thermometer_id)
    events = queries.events_of(connection, thermometer_id)
    void = {(one.chain_no, one.seq) for one in events if one.voided}
    rest = [
        StoryLine(one.number, one.done_at, _who(one), one.kind, one.payload, (one.chain_no, one.seq) in void)
        for one in queries.entries_about(connection, thermometer_id)
        if one.kind not in _SHOWN_AS_CHECKS and not _is_plain_reading(one)
    ]
    return Story(of, tuple(check_lines(connection, views, adjustments)), tuple(rest))


def _is_plain_reading(entry: EntryView) -> bool:
    return entry.kind == "reading_taken" and entry.payload["role"] != "no_reading"


def _who(entry: EntryView) -> str:
    """Who did it: the one named, else whoever recorded it."""
    done_by: str = entry.payload.get("done_by", entry.by)
    return done_by


def check_lines(
    connection: Connection, views: Sequence[CheckView], adjustments: Sequence[AdjustmentView]
) -> list[CheckLine]:
    """Checks with what their entries froze, each with its last adjustment."""
    last = {one.check: one for one in adjustments if not one.voided}
    return [_check_line(connection, view, last.get(view.check)) for view in views]


def _check_line(connection: Connection, view: CheckView, adjustment: AdjustmentView | None) -> CheckLine:
    entry = queries.entry_at(connection, view.chain_no, view.seq)
    said = entry.payload
    left = queries.entry_at(connection, adjustment.chain_no, adjustment.seq).payload if adjustment else {}
    return CheckLine(
        entry.number,
        view.at,
        _who(entry),
        view.point,
        tuple(map(Reading.from_text, said["as_found"])),
        _reading(said.get("reference")),
        _difference(said.get("offset")),
        _difference(said.get("u")),
        said.get("k", ""),
        _difference(said.get("tolerance")),
        said.get("decision", ""),
        view.outcome,
        view.given,
        view.voided,
        tuple(map(Reading.from_text, left.get("as_left", ()))),
        _difference(left.get("offset")),
        adjustment.outcome if adjustment else None,
        left.get("how"),
        said.get("day_only", False),
        view.check,
    )


def _reading(text: str | None) -> Reading | None:
    return None if text is None else Reading.from_text(text)


def _difference(text: str | None) -> TemperatureDifference | None:
    return None if text is None else TemperatureDifference.from_text(text)


@dataclass(frozen=True, slots=True)
class Answer:
    """Was it right then? answer: yes, no, not_known; with the checks before and after and what lies between.

    between: codes of incidents and adjustments from the check before to the check after.
    """

    of: Thermometer
    at: int
    answer: str
    before: CheckLine | None
    after: CheckLine | None
    between: tuple[str, ...]


def was_right(session: Session, connection: Connection, thermometer_id: str, at: int) -> Answer:
    """Answer from the judged checks before and after: *yes* only when both were good and nothing lies between.

    *no* when at any point it had last been found outside and was not put right, or was found outside next; else *not
    known*: no check before, an incident or an adjustment between, or a bath never judged.
    """
    of = thermometers.thermometer(connection, thermometer_id)
    adjustments = queries.adjustments_of(connection, thermometer_id)
    views = [one for one in queries.checks_of(connection, thermometer_id) if not one.voided]
    earlier = [one for one in views if one.at <= at][-1:]
    later = [one for one in views if one.at > at][:1]
    made = [one for one in adjustments if one.at <= at]  # one that came after that moment did not put it right then
    before = next(iter(check_lines(connection, earlier, made)), None)
    after = next(iter(check_lines(connection, later, adjustments)), None)
    start = before.at if before else 0
    end = after.at if after else session.clock()
    events = queries.events_of(connection, thermometer_id, ("incident_reported",), since=start)
    happened = [(one.at, one.detail or one.kind) for one in events if one.at <= end and not one.voided]
    happened += [(one.at, "adjusted") for one in adjustments if start < one.at <= end and one.check != _id(before)]
    between = tuple(what for _, what in sorted(happened))
    stood = _stood_outside(connection, views, made, at)
    later_unknown = any(moment > at for moment, _ in happened)
    return Answer(of, at, _answer(before, after, between, stood, later_unknown), before, after, between)


def _id(line: CheckLine | None) -> str | None:
    return line.check if line else None


def _stood_outside(connection: Connection, views: Sequence[CheckView], made: Sequence[AdjustmentView], at: int) -> bool:
    """Whether at some point it had last been found outside before that moment and not been put right there."""
    last = {(one.point, one.hot): one for one in views if one.at <= at}
    return any(not _was_good(line) for line in check_lines(connection, list(last.values()), made) if line.outcome)


def _was_good(line: CheckLine) -> bool:
    return (line.as_left_outcome if line.adjusted else line.outcome) in GOOD


def _answer(
    before: CheckLine | None, after: CheckLine | None, between: Sequence[str], stood: bool, later_unknown: bool
) -> str:
    if stood:
        return "no"
    if before is None or before.outcome is None:
        return "not_known"
    if not _was_good(before):
        return "no"
    if after is not None and after.outcome is not None and after.outcome not in GOOD:
        return "not_known" if later_unknown else "no"  # what happened in between may have caused it
    return "not_known" if between or after is None or after.outcome is None else "yes"
