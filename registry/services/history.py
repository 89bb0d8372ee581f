"""One thermometer: its story, its offsets, and whether it was right at a given moment."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection

from registry.quantity import Reading, TemperatureDifference
from registry.services import rightness, thermometers
from registry.services.rightness import Found, Said
from registry.services.session import Session
from registry.services.thermometers import Thermometer
from registry.store import queries
from registry.store.queries import AdjustmentView, CheckView, EntryView


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
    imported: bool


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
    last = _last_by_check(adjustments)
    return [_check_line(connection, view, last.get(view.check)) for view in views]


def _last_by_check(adjustments: Sequence[AdjustmentView]) -> dict[str | None, AdjustmentView]:
    return {one.check: one for one in adjustments if not one.voided}


def last_adjustment(connection: Connection, view: CheckView) -> AdjustmentView | None:
    """The last adjustment made because of a check that is not voided."""
    return _last_by_check(queries.adjustments_of(connection, view.thermometer)).get(view.check)


def _check_line(connection: Connection, view: CheckView, adjustment: AdjustmentView | None) -> CheckLine:
    entry = queries.entry_at(connection, view.chain_no, view.seq)
    said = entry.payload
    turned = queries.entry_at(connection, adjustment.chain_no, adjustment.seq).payload if adjustment else {}
    measured = adjustment is not None and adjustment.offset is not None  # not where the check is void
    left = turned if measured else {}
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
        turned.get("how"),
        said.get("day_only", False),
        view.check,
        "import" in said and not said.get("bath"),
    )


def _reading(text: str | None) -> Reading | None:
    return None if text is None else Reading.from_text(text)


def _difference(text: str | None) -> TemperatureDifference | None:
    return None if text is None else TemperatureDifference.from_text(text)


# --- was it right then? --------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class PointAnswer:
    """The answer at one point: yes, no or not_known; comparisons of hot things apart from those of cold ones.

    why: of not_known, a code: no_check_before, not_measured (adjusted, and no check there before), no_check_after,
    between, outside_after, too_long_between, doubted_outside, outside_elsewhere, not_in_use; else empty. before, after:
    the checks that decided something. between: in time order, codes of all incidents from the check before to the check
    after (or to now), and `adjusted` for each adjustment in that time that was not measured at this point. void: checks
    in that time that are void, and so left out.
    """

    point: str
    hot: bool
    answer: str
    why: str
    before: CheckLine | None
    after: CheckLine | None
    between: tuple[str, ...]
    void: tuple[CheckLine, ...] = ()


@dataclass(frozen=True, slots=True)
class Answer:
    """Was it right then? answer: no where some point says no, yes where some point says yes, else not_known."""

    of: Thermometer
    at: int
    answer: str
    points: tuple[PointAnswer, ...]


def was_right(session: Session, connection: Connection, thermometer_id: str, at: int) -> Answer:
    """Whether it was right at an instant, at each point where it was ever checked; the rules are in `rightness`."""
    of = thermometers.thermometer(connection, thermometer_id)
    views = queries.checks_of(connection, thermometer_id)
    adjustments = queries.adjustments_of(connection, thermometer_id)
    incidents = queries.events_of(connection, thermometer_id, ("incident_reported",))
    open_baths = _open_baths(connection, views)
    points = sorted({_where(one) for one in views} | {_where(one) for one in adjustments}, key=_in_order)
    found = [
        rightness.at_moment(rightness.timeline(views, adjustments, incidents, where, open_baths), at)
        for where in points
    ]
    found = rightness.with_what_stood(found, _status_then(connection, thermometer_id, at))
    by_id = {one.check: one for one in views}
    made = [one for one in adjustments if one.at <= at]  # one that came later did not put it right then

    def line(said: Said | None, known: Sequence[AdjustmentView]) -> CheckLine | None:
        view = by_id.get(said.check or "") if said else None
        return check_lines(connection, [view], known)[0] if view else None

    def void(where: tuple[str, bool], one: Found) -> tuple[CheckLine, ...]:
        low, high = one.before.place[0] if one.before else -1, one.after.place[0] if one.after else 2**62
        those = [view for view in views if view.voided and _where(view) == where and low <= view.at <= high]
        return tuple(check_lines(connection, those, ()))

    told = tuple(
        PointAnswer(
            *where,
            one.answer,
            "not_measured" if one.why == "no_check_before" and made else one.why,
            line(one.before, made),
            line(one.after, adjustments),
            one.between,
            void(where, one),
        )
        for where, one in zip(points, found, strict=True)
    )
    return Answer(of, at, rightness.of_all(one.answer for one in told), told)


def _where(one: CheckView | AdjustmentView) -> tuple[str, bool]:
    return one.point, one.hot


def _in_order(where: tuple[str, bool]) -> tuple[int, bool]:
    point, hot = where
    return ("ice_point", "boiling_point", "comparison").index(point), hot


def _open_baths(connection: Connection, views: Sequence[CheckView]) -> frozenset[str]:
    undecided = {one.bath for one in views if one.outcome is None and one.bath is not None}
    return frozenset(one for one in undecided if (bath := queries.bath(connection, one)) and bath.judged is None)


def _status_then(connection: Connection, thermometer_id: str, at: int) -> str:
    """The service status that had last been set by that moment."""
    said = [
        one
        for one in queries.entries_about(connection, thermometer_id)
        if one.kind in ("taken_out", "service_status_set") and one.done_at <= at
    ]
    last = max(said, key=lambda one: (one.done_at, one.chain, one.seq), default=None)
    status: str = last.payload.get("status", "out_of_use") if last else "in_service"
    return status
