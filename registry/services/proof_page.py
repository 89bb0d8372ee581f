"""What is shown as proof: an answer with the checks beside it and what was recorded only later; a verification."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from sqlalchemy import Connection

from registry import charts
from registry.journal.numbers import entry_number, installation_code
from registry.services import answer_sheet, history, thermometer_page, upkeep
from registry.services.history import Answer, CheckLine, PointAnswer
from registry.services.log_sheet import HASH_SHOWN, Written
from registry.services.session import Session
from registry.store import queries
from registry.store.checking import Finding, Report

# What is said of the time before a moment, and counts in the answer.
_SAID = ("check_recorded", "adjusted", "incident_reported", "taken_out", "service_status_set")


@dataclass(frozen=True, slots=True)
class Late:
    """Something about the time before a moment that was recorded only after it. kind: of the entry."""

    kind: str
    number: str
    done_at: int
    entered_at: int


@dataclass(frozen=True, slots=True)
class Between:
    """An incident or an adjustment between two checks. what: the incident's code, or `adjusted`."""

    what: str
    at: int
    number: str


@dataclass(frozen=True, slots=True)
class Side:
    """The check before or after: texts by the codes of `answer_sheet.HEADS`; where there is none, `absent` says so."""

    line: CheckLine | None
    values: dict[str, str]
    absent: str


@dataclass(frozen=True, slots=True)
class PointShown:
    """One class of point: what is said of it, what happened in between, both checks, the plot around the moment."""

    of: PointAnswer
    said: str
    between: tuple[Between, ...]
    before: Side
    after: Side
    chart: charts.Chart


@dataclass(frozen=True, slots=True)
class AnswerShown:
    """An answer as the record gives it now. zone: of the thermometer's site; late: what nobody could read then."""

    answer: Answer
    zone: str
    site: str
    points: tuple[PointShown, ...]
    late: tuple[Late, ...]


def answer(
    session: Session,
    thermometer_id: str,
    at: int,
    language: str,
    region: str,
    words_in: Callable[[str], charts.Words],
) -> AnswerShown:
    """Whether it was right at an instant, with all that the answer rests on. words_in: a zone's words for the plot."""
    with session.reading() as connection:
        found = history.was_right(session, connection, thermometer_id, at)
        page = thermometer_page.page(session, connection, thermometer_id, newest=1)
        to, words = Written(language, region, page.zone), words_in(page.zone)
        points = tuple(
            PointShown(
                one,
                answer_sheet.said(one, to),
                tuple(_between(connection, thermometer_id, one)),
                Side(one.before, *answer_sheet.side(connection, found, one.before, "before", to)),
                Side(one.after, *answer_sheet.side(connection, found, one.after, "after", to)),
                thermometer_page.answer_chart(connection, page, words, at, one),
            )
            for one in found.points
        )
        late = tuple(_late(connection, found))
    return AnswerShown(found, page.zone, page.names.get(found.of.row.site or "", ""), points, late)


def _between(connection: Connection, thermometer: str, point: PointAnswer) -> Iterator[Between]:
    """From the check before to the one after, or as far as the record goes; what is void is left out."""
    low = point.before.at if point.before else -1
    high = point.after.at if point.after else 2**62
    incidents = queries.events_of(connection, thermometer, ("incident_reported",))
    found = [((one.at, one.chain_no, one.seq), one.detail or one.kind) for one in incidents if not one.voided]
    turned = [one for one in queries.adjustments_of(connection, thermometer) if not one.voided]
    found += [((one.at, one.chain_no, one.seq), "adjusted") for one in turned]
    for (at, chain_no, seq), what in sorted(found):
        if low <= at <= high:
            yield Between(what, at, queries.entry_at(connection, chain_no, seq).number)


def _late(connection: Connection, found: Answer) -> Iterator[Late]:
    """What was entered after the moment about the time before it, made void since, or judged since."""
    at, about = found.at, queries.entries_about(connection, found.of.row.thermometer)
    past = {one.hash for one in about if one.done_at <= at}
    for one in about:
        void = one.kind == "voided" and not past.isdisjoint(one.payload["entries"])
        if one.at > at and (void or (one.kind in _SAID and one.done_at <= at)):
            yield Late(one.kind, one.number, one.done_at, one.at)
    checks = [queries.check(connection, one.before.check) for one in found.points if one.before]
    for bath in dict.fromkeys(view.bath for view in checks if view and view.bath):
        for one in queries.entries_about(connection, bath):
            if one.kind == "bath_judged" and one.at > at:
                yield Late(one.kind, one.number, one.done_at, one.at)


# --- verifying -----------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Verified:
    """A verification. ends: number and beginning of the hash of each chain's last entry, to be compared outside."""

    report: Report
    deep: bool
    at: int
    ends: tuple[tuple[str, str], ...]

    @property
    def findings(self) -> list[Finding]:
        return self.report.findings


def verify(session: Session, *, deep: bool = False, progress: upkeep.Progress = upkeep.go_on) -> Verified:
    report = upkeep.verify(session, deep=deep, progress=progress)
    ends = tuple(
        (entry_number(installation_code(bytes.fromhex(one.chain)), one.seq), one.hash[:HASH_SHOWN])
        for one in report.heads
        if not one.branch and one.seq >= 0
    )
    return Verified(report, deep, session.clock(), ends)


def entries(session: Session) -> int:
    """How many entries there are to verify."""
    with session.reading() as connection:
        return queries.count_entries(connection)


def own_code(session: Session) -> str:
    """The code of the installation that signs here; empty where the record may only be looked at."""
    return installation_code(bytes.fromhex(session.signer.chain)) if session.signer else ""
