"""The page of one thermometer: what it is, how it stands, what is due, its story, what it must show."""

from bisect import bisect_left
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction

from sqlalchemy import Connection

from registry import charts
from registry.quantity import Reading, TemperatureDifference, Unit
from registry.records.outcomes import GOOD
from registry.records.rules import Tolerance
from registry.services import (
    history,
    outlook,
    owed,
    people,
    places,
    reach,
    rules,
    story_lines,
    thermometers,
    tracking,
)
from registry.services.history import PointAnswer
from registry.services.outlook import Outlook
from registry.services.owed import Owed
from registry.services.reach import Known, Reach
from registry.services.rules import RulesInForce
from registry.services.session import Session
from registry.services.story_lines import StoryEntry
from registry.services.thermometers import Thermometer
from registry.services.tracking import Tracked
from registry.store import queries, story
from registry.store.queries import AdjustmentView
from registry.store.story import Offset

NEWEST = 60  # lines of the story that a page begins with
UNPLANNED_DAYS = 90  # a reading to reach holds so long where no plan says when it is checked again (judgement)
LIES_AT = {"ice_point": 0.0, "boiling_point": 100.0, "comparison_cold": 4.0, "comparison_hot": 70.0}  # °C, about
CLASSES = ("ice_point", "boiling_point", "comparison_cold", "comparison_hot")


@dataclass(frozen=True, slots=True)
class Sentence:
    """What the last check says, as found, or as left where it was adjusted and read again.

    code: judged; waits (no outcome yet); not_measured (adjusted and not read since); never (no check).
    side: high or low; empty where the offset is nought or not known. expanded: U = k u.
    """

    code: str
    point: str = ""
    hot: bool = False
    at: int | None = None
    outcome: str | None = None
    offset: TemperatureDifference | None = None
    expanded: TemperatureDifference | None = None
    tolerance: TemperatureDifference | None = None
    side: str = ""
    as_left: bool = False
    check: str | None = None


@dataclass(frozen=True, slots=True)
class PointCovered:
    """One class of point: whether its type is checked there, and how it stands.

    good_at: the last good one that no later adjustment has overtaken, as found or as left. due: the day by which the
    plan wants it there, None where no rule names this point.
    """

    where: str
    allowed: bool
    last_at: int | None
    last_outcome: str | None
    good_at: int | None
    due: date | None


@dataclass(frozen=True, slots=True)
class ThermometerPage:
    """Everything on the page. names: of sites, stations and people, by id; zone: of its site.

    unit: of its dial; all differences of the page are shown in it.
    tolerance: what the standing rules permit it; none where no code rules its type. only: cold or hot, where its use
    is limited. shares: the tag ids that share its indicator or sensor. outlook, followed: by all its checks. offsets,
    turned, happened: what its chart is made from. story_of: how many lines the whole story has.
    """

    of: Thermometer
    zone: str
    now: int
    names: Mapping[str, str]
    unit: Unit
    only: str | None
    tolerance: Tolerance | None
    decision: str
    owed: Owed
    shares: tuple[tuple[str, tuple[str, ...]], ...]
    sentence: Sentence
    points: tuple[PointCovered, ...]
    reach: tuple[Reach, ...]
    outlook: Outlook
    followed: Tracked
    story: tuple[StoryEntry, ...]
    story_of: int
    offsets: tuple[Offset, ...]
    turned: tuple[AdjustmentView, ...]
    happened: tuple[tuple[int, str], ...]


def page(
    session: Session,
    connection: Connection,
    thermometer_id: str,
    *,
    newest: int | None = NEWEST,
    prefers: Unit | None = None,
) -> ThermometerPage:
    """The page of a thermometer, with so many lines of its story (None: all of them).

    prefers: the unit of one that shows both; None is the group's.
    """
    of = thermometers.thermometer(connection, thermometer_id)
    in_force = rules.rules_in_force(connection, of.row.site)
    checked = story.offsets(connection, thermometer_id)
    turned = queries.adjustments_of(connection, thermometer_id)
    owes = owed.of_one(session, connection, of.row, in_force.plan.plan)
    unit: Unit = _unit(of, prefers or in_force.group.unit)
    followed = tracking.tracked(session, connection, [of])[thermometer_id]
    known = _known(connection, checked, turned, unit)
    only = thermometers.limited_to(connection, thermometer_id)
    return ThermometerPage(
        of=of,
        zone=_zone(connection, of),
        now=session.clock(),
        names=_names(connection),
        unit=unit,
        only=only,
        tolerance=in_force.tolerance(of.facts.class_ or of.type.tolerance_class, of.scale),
        decision=in_force.rule.decision,
        owed=owes,
        shares=_shares(connection, of),
        sentence=_sentence(connection, thermometer_id, turned),
        points=tuple(_covered(of, checked, turned, dict(owes.by_point))),
        reach=tuple(reach.readings_to_reach(followed, in_force, known, unit, _until(session, owes), only)),
        outlook=_outlook(session, connection, followed, in_force, unit),
        followed=followed,
        story=tuple(story_lines.lines(connection, thermometer_id, newest)),
        story_of=story.count(connection, thermometer_id),
        offsets=tuple(checked),
        turned=tuple(turned),
        happened=tuple(story.happened(connection, thermometer_id)),
    )


def _unit(of: Thermometer, preferred: str) -> Unit:
    own = list(of.facts.scales)
    return "F" if (own[0] if len(own) == 1 else preferred) == "F" else "C"


def _zone(connection: Connection, of: Thermometer) -> str:
    return places.site_named_by_id(connection, of.row.site).payload.zone if of.row.site else "UTC"


def _names(connection: Connection) -> dict[str, str]:
    return places.names(connection) | {one.person: one.name for one in people.people(connection)}


def _shares(connection: Connection, of: Thermometer) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """(indicator or sensor, tag ids of the others that use it)."""
    if of.parts is None:
        return ()
    found = thermometers.with_shared_parts(connection, of)
    kinds = {of.parts.indicator: "indicator", of.parts.sensor: "sensor"}
    rows = {part: [queries.thermometer(connection, one) for one in others] for part, others in found.items()}
    return tuple(
        (kinds[part], tuple(sorted(row.tag_id or "" for row in others if row))) for part, others in rows.items()
    )


# --- how it stands -------------------------------------------------------------------------------------------


def _sentence(connection: Connection, thermometer_id: str, turned: Sequence[AdjustmentView]) -> Sentence:
    views = [one for one in queries.checks_of(connection, thermometer_id, newest=20) if not one.voided]
    if not views and turned:  # what it was adjusted for is void
        return Sentence("not_measured", turned[-1].point, turned[-1].hot, turned[-1].at)
    if not views:
        return Sentence("never")
    view = views[-1]
    (line,) = history.check_lines(connection, [view], turned)
    found = Sentence("judged", view.point, view.hot, view.at, tolerance=line.tolerance, check=view.check)
    last = turned[-1] if turned and turned[-1].at >= view.at else None
    if last is None:
        return _saying(found, line.outcome, line.offset, _expanded(line.u, line.k))
    said = queries.entry_at(connection, last.chain_no, last.seq).payload
    offset, u = _difference(last.offset), _difference(said.get("u"))
    if offset is None or last.voided:  # turned it stays, whatever becomes of the entry or of its check
        return Sentence("not_measured", view.point, view.hot, last.at, check=view.check)
    left = Sentence("judged", last.point, last.hot, last.at, tolerance=line.tolerance, as_left=True, check=view.check)
    return _saying(left, last.outcome, offset, _expanded(u, said.get("k", "")))


def _saying(
    found: Sentence, outcome: str | None, offset: TemperatureDifference | None, expanded: TemperatureDifference | None
) -> Sentence:
    side = "" if offset is None or offset.value == 0 else "high" if offset.value > 0 else "low"
    code = "judged" if outcome is not None else "waits"
    return replace(found, code=code, outcome=outcome, offset=offset, expanded=expanded, side=side)


def _expanded(u: TemperatureDifference | None, k: str) -> TemperatureDifference | None:
    return TemperatureDifference(Fraction(u.value) * Fraction(k), u.unit) if u is not None and k else None


def _difference(text: str | None) -> TemperatureDifference | None:
    return TemperatureDifference.from_text(text) if text else None


def where_of(one: Offset | AdjustmentView) -> str:
    """The class of point: a comparison of hot things is another one than of cold ones."""
    return one.point if one.point != "comparison" else f"comparison_{'hot' if one.hot else 'cold'}"


def _good(checked: Sequence[Offset], turned: Sequence[AdjustmentView]) -> dict[str, Offset | AdjustmentView]:
    """The last good of each class of point, as found or as left, that no later adjustment has overtaken."""
    both: list[Offset | AdjustmentView] = [*checked, *(one for one in turned if not one.voided)]
    found: dict[str, Offset | AdjustmentView] = {}
    last = max((_place(one) for one in turned), default=(-1, -1, -1))
    for one in sorted(both, key=_place):
        if one.outcome in GOOD and _place(one) >= last:
            found[where_of(one)] = one
    return found


def _place(one: Offset | AdjustmentView) -> tuple[int, int, int]:
    return one.at, one.chain_no, one.seq


def _covered(
    of: Thermometer, checked: Sequence[Offset], turned: Sequence[AdjustmentView], due: Mapping[str, date]
) -> list[PointCovered]:
    good = _good(checked, turned)
    last = {where_of(one): one for one in checked}
    return [
        PointCovered(
            where,
            of.type.allowed("comparison" if where.startswith("comparison") else where) is not None,
            last[where].at if where in last else None,
            last[where].outcome if where in last else None,
            good[where].at if where in good else None,
            due.get(where),
        )
        for where in CLASSES
    ]


def _known(
    connection: Connection, checked: Sequence[Offset], turned: Sequence[AdjustmentView], unit: Unit
) -> list[Known]:
    """The good points with their reference in the dial's unit; none where that was not kept."""
    found = []
    for where, one in _good(checked, turned).items():
        said = queries.entry_at(connection, one.chain_no, one.seq).payload
        if "offset" in said and "u" in said and "reference" in said:
            celsius = Reading.from_text(said["reference"]).celsius()
            found.append(Known(where, celsius if unit == "C" else celsius * Fraction(9, 5) + 32))
    return found


def good_points(connection: Connection, of: Thermometer) -> list[Known]:
    """The classes of point where it has a good check, with their reference in the dial's unit."""
    one, in_force = of.row.thermometer, rules.rules_in_force(connection, of.row.site)
    checked, turned = story.offsets(connection, one), queries.adjustments_of(connection, one)
    return _known(connection, checked, turned, _unit(of, in_force.group.unit))


def reaches(session: Session, connection: Connection, of: Thermometer) -> list[Reach]:
    """What it must show at each limit of food, up to its next check."""
    in_force = rules.rules_in_force(connection, of.row.site)
    owes = owed.of_one(session, connection, of.row, in_force.plan.plan)
    followed = tracking.tracked(session, connection, [of])[of.row.thermometer]
    unit, known = _unit(of, in_force.group.unit), good_points(connection, of)
    until, only = _until(session, owes), thermometers.limited_to(connection, of.row.thermometer)
    return reach.readings_to_reach(followed, in_force, known, unit, until, only)


def _until(session: Session, owes: Owed) -> int:
    """Up to when a reading to reach has to hold: the next check that the plan wants, today at least."""
    now = session.clock()
    return max(owes.next.due_at, now) if owes.next else now + UNPLANNED_DAYS * charts.DAY_US


def _outlook(
    session: Session, connection: Connection, followed: Tracked, in_force: RulesInForce, unit: Unit
) -> Outlook:
    of = followed.of
    permitted = in_force.tolerance(of.facts.class_ or of.type.tolerance_class, of.scale)
    tolerance = TemperatureDifference.from_text(permitted.tolerance) if permitted else None
    return outlook.outlook(followed, session.clock(), tolerance, unit=unit, zone=_zone(connection, of))


# --- its charts ----------------------------------------------------------------------------------------------


def plotted(page: ThermometerPage, where: str | None = None) -> charts.History:
    """What a chart shows: the checks at one class of point (else the one checked most), and all that happened.

    An adjustment moves the whole scale and shows at every point; it has values only where it was measured.
    """
    where = where or most_checked(page)
    here = [one for one in page.offsets if one.offset is not None and where_of(one) == where]
    return charts.History(
        page.zone,
        page.now,
        TemperatureDifference.from_text(page.tolerance.tolerance) if page.tolerance else None,
        tuple(_checked(one) for one in here),
        tuple(_turned(one, where, here) for one in page.turned),
        tuple(charts.Happened(at, code) for at, code in page.happened),
        outlook.followed(page.followed, _celsius_of(page, where), page.now) if here else (),
    )


def _celsius_of(page: ThermometerPage, where: str) -> float:
    """The temperature, °C, that it was checked at nearest to where such points lie."""
    seen = page.followed.told.history.observations
    return min((one.temperature for one in seen), key=lambda at: abs(at - LIES_AT[where]), default=0.0)


def most_checked(page: ThermometerPage) -> str:
    counts = Counter(map(where_of, page.offsets))
    return max(CLASSES, key=lambda where: counts[where])


def _checked(one: Offset, expanded: TemperatureDifference | None = None) -> charts.Checked:
    return charts.Checked(
        one.at, TemperatureDifference.from_text(one.offset or "0 dC"), one.outcome or "waits", expanded
    )


def _turned(one: AdjustmentView, where: str, here: Sequence[Offset]) -> charts.Turned:
    if one.voided or where_of(one) != where:
        return charts.Turned(one.at, None, None)
    place = bisect_left(here, _place(one), key=_place)
    return charts.Turned(one.at, _difference(here[place - 1].offset) if place else None, _difference(one.offset))


def chart(
    page: ThermometerPage, words: charts.Words, where: str | None = None, *, since: int | None = None
) -> charts.Chart:
    """The offsets of a thermometer at one class of point over time, in the unit of its dial; from an instant on."""
    return charts.offset_chart(plotted(page, where), words, page.unit, since=since)


def answer_chart(
    connection: Connection, page: ThermometerPage, words: charts.Words, moment: int, point: PointAnswer, days: int = 3
) -> charts.Chart:
    """The days around a moment that was asked about, with U on each check and the time between two checks shaded."""
    where = point.point if point.point != "comparison" else f"comparison_{'hot' if point.hot else 'cold'}"
    before, after = (line.at if line else None for line in (point.before, point.after))
    low = min(moment - days * charts.DAY_US, before or moment)
    high = max(moment + days * charts.DAY_US, after or moment)
    near = [one for one in page.offsets if low <= one.at <= high and one.offset and where_of(one) == where]
    told = replace(plotted(page, where), checks=tuple(_checked(one, _its_expanded(connection, one)) for one in near))
    return charts.answer_chart(told, words, page.unit, moment, before, after, days)


def _its_expanded(connection: Connection, one: Offset) -> TemperatureDifference | None:
    said = queries.entry_at(connection, one.chain_no, one.seq).payload
    return _expanded(_difference(said.get("u")), said.get("k", ""))
