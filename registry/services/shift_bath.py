"""The bath that stands open at a site: what it should show, which range passes in it, and whether it is still good."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from sqlalchemy import Connection

from registry.compute import check as method
from registry.quantity import Reading, TemperatureDifference, Unit
from registry.services import baths, checks, lookup, rules
from registry.services.problems import Problem, Refused
from registry.services.rules import RulesInForce
from registry.services.session import Session
from registry.services.thermometers import Thermometer
from registry.store import queries
from registry.store.queries import EntryView

DAY_US = 86_400_000_000


@dataclass(frozen=True, slots=True)
class Span:
    """The range that passes by simple acceptance, in one unit: "must read 30 to 34 °F"."""

    reference: Reading
    lowest: Reading
    highest: Reading

    @property
    def unit(self) -> Unit:
        return self.reference.unit


@dataclass(frozen=True, slots=True)
class Passing:
    """A range that passes and whose it is, by tag id."""

    span: Span
    tag_ids: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Settle:
    """How long to wait before reading: for the slowest of the list, then until it has stood still so long.

    source: of the settle time; empty where it is a starting value from judgement.
    """

    seconds: float
    still_seconds: float
    type: str
    source: str


@dataclass(frozen=True, slots=True)
class BathFacts:
    """One bath as the list shows it.

    reference: both units, rounded to 0.1 as it is used. u: standard uncertainty of the bath alone. passing: what passes
    for the thermometers of the list, each range once, the commonest of its unit first. settle: None where the list
    has nothing that goes into it. good_until: after this instant no reading is taken in it.
    """

    bath: str
    number: str
    point: str
    made: str
    container: str
    made_at: int
    reference: tuple[Reading, Reading]
    u: TemperatureDifference
    pressure_source: str | None
    pressure: str | None
    station_pressure: str | None
    elevation: str | None
    beside: tuple[tuple[str, Reading], ...]
    good_until: int
    too_old: bool
    judged: str | None
    passing: tuple[Passing, ...]
    settle: Settle | None

    @property
    def spans(self) -> tuple[Span, ...]:
        return tuple(one.span for one in self.passing)


@dataclass(frozen=True, slots=True)
class InBath:
    """One thermometer in a bath: why it may not go in (None where it may), and the range that passes on its dial."""

    problem: Problem | None
    spans: tuple[Span, ...]


def bath_now(session: Session, connection: Connection, site: str) -> EntryView | None:
    """The newest bath that may be read in: one of the last day that waits to be judged, or the last made, still good.

    A bath judged good stays: who was adjusted, or came late, is read in it too. A condemned one is gone, and does not
    bring an earlier one back: what stands on the bench is still the condemned one, until another is made.
    """
    good_since = session.clock() - checks.BATH_GOOD_FOR_US
    for place, view in enumerate(queries.baths_at(connection, site, since=session.clock() - DAY_US)):
        waits = view.judged in (None, "suspect")
        still_good = place == 0 and view.judged != "condemned" and view.at >= good_since
        if waits or still_good:
            return baths.made(connection, view.bath)
    return None


def in_bath(connection: Connection, bath: EntryView, those: Sequence[Thermometer]) -> dict[str, InBath]:
    """By thermometer. Those alike in type and dial are worked out once, since the range depends on nothing else."""
    references = {one["thermometer"] for one in bath.payload.get("beside", ())}
    in_force = rules.rules_in_force(connection, bath.payload["site"])
    known: dict[tuple[object, ...], InBath] = {}
    found = {}
    for of in those:
        scales = tuple((unit, one.step, one.lowest, one.highest) for unit, one in sorted(of.facts.scales.items()))
        own = of.row.thermometer if of.row.thermometer in references else ""
        alike = (of.type.code, scales, of.facts.class_, of.facts.waterproof, own)
        if alike not in known:
            known[alike] = _in_bath(connection, bath, of, in_force)
        found[of.row.thermometer] = known[alike]
    return found


def _in_bath(connection: Connection, bath: EntryView, of: Thermometer, in_force: RulesInForce) -> InBath:
    problem, spans = None, []
    for unit in sorted(of.facts.scales):
        try:
            setting = checks.setting_for(connection, of, bath, unit, in_force=in_force)
        except Refused as refused:  # a dual scale may reach the point in one unit only
            problem = refused.problems[0]
            continue
        span = checks.must_read(setting, unit)
        if span is not None:
            step = of.step_as_read(unit)
            low, high = (lookup.in_steps(edge, step, setting_unit(unit)) for edge in span[1:])
            spans.append(Span(span[0], low, high))
    return InBath(None if spans else problem, tuple(spans))


def setting_unit(unit: str) -> Unit:
    return "F" if unit == "F" else "C"


def facts(
    session: Session,
    bath: EntryView,
    judged: str | None,
    those: Sequence[Thermometer],
    found: Mapping[str, InBath],
    tags: Mapping[str, str],
) -> BathFacts:
    """What the head of the list says of a bath. those: of the list; tags: tag ids by thermometer for what is beside."""
    said = bath.payload
    celsius = Fraction(said["reference"].split()[0])
    parts = {code: TemperatureDifference.from_text(text) for code, text in said["components"].items()}
    dof = {code: float(text) for code, text in said.get("dof", {}).items()}
    good_until = bath.done_at + checks.BATH_GOOD_FOR_US
    fit = [of for of in those if found[of.row.thermometer].problem is None]
    return BathFacts(
        bath.subject,
        bath.number,
        said["point"],
        said["made"],
        said["container"],
        bath.done_at,
        (Reading.from_celsius(celsius, "C"), Reading.from_celsius(celsius, "F")),
        method.uncertainty(parts, dof, 1, "C")[0],
        said.get("pressure_source"),
        said.get("pressure"),
        said.get("station_pressure"),
        said.get("elevation"),
        tuple((tags.get(one["thermometer"], ""), Reading.from_text(one["shown"])) for one in said.get("beside", ())),
        good_until,
        session.clock() > good_until,
        judged,
        passing([(of.tag_id, span) for of in fit for span in found[of.row.thermometer].spans]),
        _slowest(fit),
    )


def commonest(spans: Sequence[tuple[Span, ...]]) -> tuple[Span, ...]:
    """Each range once, in the order of `passing`."""
    return tuple(one.span for one in passing([("", span) for each in spans for span in each]))


def passing(spans: Sequence[tuple[str, Span]]) -> tuple[Passing, ...]:
    """Each range once with its tag ids, °C before °F, the commonest of a unit first; 0.0 and 0 are the same range."""
    counted: dict[tuple[Unit, Decimal, Decimal, Decimal], list[tuple[str, Span]]] = {}
    for tag, one in spans:
        same = counted.setdefault((one.unit, one.reference.value, one.lowest.value, one.highest.value), [])
        same.append((tag, one))
    found = [
        Passing(max((span for _, span in same), key=lambda span: len(span.lowest.text())), tuple(t for t, _ in same))
        for same in counted.values()
    ]
    return tuple(sorted(found, key=lambda one: (one.span.unit, -len(one.tag_ids), one.span.lowest.value)))


def _slowest(those: Sequence[Thermometer]) -> Settle | None:
    types = [of.type for of in those]
    if not types:
        return None
    slowest = max(types, key=lambda one: one.settle.value)
    still = max(one.still.value for one in types)
    return Settle(slowest.settle.value, still, slowest.code, slowest.settle.source)
