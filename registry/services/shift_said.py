"""What a shift already says of its thermometers: checks, readings that wait for repeats, and what stood instead."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from sqlalchemy import Connection

from registry.compute import check as method
from registry.compute.check import Judged
from registry.compute.schedule import ShiftTime
from registry.quantity import Reading, TemperatureDifference
from registry.records.outcomes import GOOD, OUTSIDE
from registry.records.rules import RuleSet
from registry.services import checks
from registry.services.checks import Row
from registry.services.problems import Refused
from registry.store import queries
from registry.store.queries import AdjustmentView, BathView, CheckView, EventView

DAY_US = 86_400_000_000


@dataclass(frozen=True, slots=True)
class AsLeft:
    """What was done to a thermometer found outside; reading and judged None where it was not measured.

    outcome: as it counts, None while its bath is not judged. word: the lead's word for it, `waits` till then.
    """

    adjustment: str
    how: str
    reading: Reading | None
    judged: Judged | None
    outcome: str | None
    word: str


@dataclass(frozen=True, slots=True)
class CheckSaid:
    """One check of this shift: its row as the services give it, where it stands, and what was done about it.

    outcome: as it counts, None while its bath is not judged (or it waits for repeats). hot: at 60 °C or more. then: the
    lead's word once its bath is accepted.
    """

    row: Row
    bath: str
    bath_judged: str | None
    point: str
    hot: bool
    at: int
    outcome: str | None
    as_left: AsLeft | None
    then: str = "waits"


def left_failed(own: Sequence[CheckSaid]) -> str:
    """Why a thermometer is not to be used after its checks of a shift, oldest first; "" where nothing stands.

    failed: not adjusted since. left_outside: adjusted, and outside all the same. left_unread: adjusted, and not
    read at that point since. At each point the last check counts; a later one at another point mends nothing.
    """
    return left_failed_at(own)[0]


def left_failed_at(own: Sequence[CheckSaid]) -> tuple[str, str]:
    """As `left_failed`, with the point where it stands; two empty texts where nothing does."""
    last = {(one.point, one.hot): one for one in own if one.outcome is not None}
    found = [(_as_it_was_left(one, own), one.point) for one in last.values() if one.outcome in OUTSIDE]
    gravest = [one for why in ("failed", "left_outside", "left_unread") for one in found if one[0] == why]
    return gravest[0] if gravest else ("", "")


def _as_it_was_left(failed: CheckSaid, own: Sequence[CheckSaid]) -> str:
    left = failed.as_left
    if left is None:  # what was turned by a later check at another point has moved here too
        turned = any(one.as_left is not None for one in own if one.at > failed.at)
        return "left_unread" if turned else "failed"
    if left.outcome in GOOD:
        return ""
    return "left_unread" if left.outcome is None else "left_outside"


@dataclass(frozen=True, slots=True)
class Instead:
    """What was said instead of a check: no_reading with why, not_used, not_found, station_closed or lent."""

    code: str
    why: str
    at: int


@dataclass(frozen=True, slots=True)
class Said:
    """By thermometer: the checks of the shift, oldest first, and what was said last instead of one."""

    checks: Mapping[str, Sequence[CheckSaid]]
    instead: Mapping[str, Instead]


def said_since(
    connection: Connection,
    site: str,
    since: int,
    until: int,
    shift: ShiftTime | None,
    rule: RuleSet,
    tags: Mapping[str, str],
    only: str | None = None,
) -> Said:
    """What is said at a site from one instant to another, both inclusive; a condemned bath says nothing.

    rule: in force. tags: the tag ids that are known already, by thermometer. only: of this thermometer alone.
    """
    checked: dict[str, list[CheckSaid]] = defaultdict(list)
    for bath in queries.baths_at(connection, site, since=since - DAY_US):
        if bath.judged != "condemned":
            for one in _in_bath(connection, bath, (since, until), rule, tags, only):
                checked[one.row.thermometer].append(one)
    ordered = {thermometer: sorted(found, key=lambda one: one.at) for thermometer, found in checked.items()}
    return Said(ordered, _instead(connection, since, until, shift, only))


def _in_bath(
    connection: Connection,
    bath: BathView,
    between: tuple[int, int],
    rule: RuleSet,
    tags: Mapping[str, str],
    only: str | None,
) -> list[CheckSaid]:
    since, until = between
    turned = {one.check: one for one in queries.adjustments_in(connection, bath.bath) if not one.voided}
    found = [
        _recorded(connection, bath, view, turned.get(view.check), rule, tags)
        for view in queries.checks_in(connection, bath.bath)
        if not view.voided and since <= view.at <= until and only in (None, view.thermometer)
    ]
    open_checks = {
        one.fact: one.at
        for one in queries.open_readings(connection, bath.bath)
        if since <= one.at <= until and only in (None, one.thermometer)
    }
    for check, at in open_checks.items():
        row = _row_so_far(connection, check)
        if row is not None:
            found.append(CheckSaid(row, bath.bath, bath.judged, bath.point, False, at, None, None))
    return found


def _row_so_far(connection: Connection, check: str) -> Row | None:
    """None too where it was amended since, so that its readings can be made no check of: it is read anew."""
    try:
        return checks.row_so_far(connection, check)
    except Refused:
        return None


def _recorded(
    connection: Connection,
    bath: BathView,
    view: CheckView,
    turned: AdjustmentView | None,
    rule: RuleSet,
    tags: Mapping[str, str],
) -> CheckSaid:
    if view.thermometer in tags:
        row = checks.row_of(connection, view, tags[view.thermometer], rule)
    else:  # of another site
        row = checks.recorded_row(connection, view.check)
    left = _as_left(connection, turned, rule) if turned else None
    then = checks.word_if_accepted(connection, view, row, rule)
    return CheckSaid(row, bath.bath, bath.judged, bath.point, view.hot, view.at, view.outcome, left, then)


def _as_left(connection: Connection, view: AdjustmentView, rule: RuleSet) -> AsLeft:
    payload = queries.entry_at(connection, view.chain_no, view.seq).payload
    if "as_left" not in payload:
        return AsLeft(view.adjustment, payload["how"], None, None, None, "waits")
    judged = checks.frozen_judgement(payload)
    tolerance = TemperatureDifference.from_text(payload["tolerance"])
    word = method.lead_word(view.outcome, judged.offset, tolerance, Decimal(rule.near_limit), False)
    reading = Reading.from_text(payload["as_left"][-1])
    return AsLeft(view.adjustment, payload["how"], reading, judged, view.outcome, word)


def _instead(
    connection: Connection, since: int, until: int, shift: ShiftTime | None, only: str | None
) -> dict[str, Instead]:
    """The last thing said of each; what was said of another shift (or day) is not this one's."""
    events = [
        event
        for kind in ("not_checked", "reading_taken")
        for event in queries.events_of_kind(connection, kind, since=since, until=until + 1)
        if event.detail and not event.voided and only in (None, event.subject)
    ]
    found = {}
    for event in sorted(events, key=lambda one: (one.at, one.chain_no, one.seq)):
        if (one := _told(connection, event, shift)) is not None:
            found[event.subject] = one
    return found


def _told(connection: Connection, event: EventView, shift: ShiftTime | None) -> Instead | None:
    payload = queries.entry_at(connection, event.chain_no, event.seq).payload
    if event.kind == "reading_taken":
        return Instead("no_reading", payload["why"], event.at) if payload["role"] == "no_reading" else None
    if shift is None or (payload["shift"], payload["day"]) != (shift.shift.id, shift.day.isoformat()):
        return None
    return Instead(payload["why"], "", event.at)
