"""What the uncertainty of one check is made of, how it was decided, and what would decide it if that is in doubt."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import inf, sqrt
from typing import Any

from sqlalchemy import Connection

from registry.compute import drift
from registry.compute.check import SHARED, written
from registry.compute.conformity import conformance_probability
from registry.compute.uncertainty import Component, effective_dof, standard_uncertainty
from registry.quantity import Reading, TemperatureDifference
from registry.records.baths import BathJudged
from registry.services import baths, thermometers, tracking
from registry.services.problems import refuse
from registry.services.session import Session
from registry.services.told import DAY_US, error_found
from registry.store import queries
from registry.store.queries import CheckView

# What would make a component smaller; the largest one is worth mending.
BETTER_BATH = {"ice_point": "better_ice", "boiling_point": "beside_reference", "comparison": "stir"}
MENDS = {
    "pressure": "barometer",
    "reference": "better_reference",
    "reference_drift": "better_reference",
    "repeatability": "repeats",
    "resolution": "finer_display",
    "stem": "deeper",
    "emissivity": "with_a_probe",
    "spot": "with_a_probe",
}


@dataclass(frozen=True, slots=True)
class Line:
    """One component of the uncertainty.

    u: standard uncertainty in the rule's unit, dof its degrees of freedom (infinite mostly). share: of the variance.
    shared: all checks of the site and method have it in common; else it is new each time.
    """

    code: str
    u: TemperatureDifference
    dof: float
    share: float
    shared: bool


@dataclass(frozen=True, slots=True)
class Doubt:
    """What the diagnosis found of a bath in doubt. error: of the bath; u: of that, standard; out: it failed even so."""

    error: TemperatureDifference
    u: TemperatureDifference
    out: bool


@dataclass(frozen=True, slots=True)
class Budget:
    """One check. All differences in the rule's unit.

    lines: the largest first; none where its uncertainty was not evaluated. inside: the chance that the true offset was
    within the tolerance by this check alone, 0 to 1; out_now: the chance that it is out at this point now, by all its
    checks, None of one that failed and was not mended. doubt: of its bath, which then decided and not the rule.
    would_decide: where the offset lies within U of the limit, what would help most, as a code; else empty.
    """

    number: str
    check: str
    tag_id: str
    point: str
    at: int
    readings: tuple[Reading, ...]
    offset: TemperatureDifference | None
    lines: tuple[Line, ...]
    u: TemperatureDifference | None
    dof: float
    k: Decimal | None
    expanded: TemperatureDifference | None
    decision: str
    tolerance: TemperatureDifference | None
    outcome: str | None
    inside: float | None
    out_now: float | None
    would_decide: str
    doubt: Doubt | None = None


def of_check(session: Session, connection: Connection, check: str) -> Budget:
    """The budget of a check as it was frozen. Refused for one that is not known."""
    view = queries.check(connection, check)
    if view is None:
        raise refuse("check", "unknown_check")
    entry = queries.entry_at(connection, view.chain_no, view.seq)
    said = entry.payload
    of = thermometers.thermometer(connection, view.thermometer)
    bath = baths.made(connection, view.bath).payload if view.bath else {}
    offset, tolerance, u = (_difference(said.get(key)) for key in ("offset", "tolerance", "u"))
    k = Decimal(said["k"]) if "k" in said else None
    lines, dof = _lines(said, bath, u)
    doubt = _doubt(connection, view)
    return Budget(
        entry.number,
        check,
        of.tag_id,
        view.point,
        view.at,
        tuple(map(Reading.from_text, said["as_found"])),
        offset,
        lines,
        u,
        dof,
        k,
        written(Fraction(u.value) * Fraction(k), u.unit) if u is not None and k is not None else None,
        said.get("decision", ""),
        tolerance,
        view.outcome,
        None if doubt else _inside(offset, u, tolerance),
        _out_now(session, connection, of, said, tolerance),
        "" if doubt else _would_decide(offset, u, k, tolerance, lines, view.point),
        doubt,
    )


def _doubt(connection: Connection, view: CheckView) -> Doubt | None:
    standing = queries.facts_of(connection, view.bath).get("judgement") if view.bath else None
    said: BathJudged | None = standing.payload if standing is not None else None
    if said is None or said.judged not in baths.DOUBTED or said.error is None or said.added_u is None:
        return None
    unit = TemperatureDifference.from_text(view.offset).unit if view.offset else "C"
    error, u = error_found(said.error, said.added_u)
    degree = Fraction(9, 5) if unit == "F" else Fraction(1)
    return Doubt(
        written(Fraction(error) * degree, unit), written(Fraction(u) * degree, unit), view.check in said.outcomes
    )


def _difference(text: str | None) -> TemperatureDifference | None:
    return TemperatureDifference.from_text(text) if text else None


def _lines(
    said: Mapping[str, Any], bath: Mapping[str, Any], u: TemperatureDifference | None
) -> tuple[tuple[Line, ...], float]:
    if u is None:
        return (), inf
    count, degree = len(said["as_found"]), Fraction(9, 5) if u.unit == "F" else Fraction(1)
    dof = {**bath.get("dof", {}), **said.get("dof", {})}
    parts = tuple(
        Component(code, _celsius(text) / (sqrt(count) if code == "repeatability" else 1), float(dof.get(code, inf)))
        for code, text in {**bath.get("components", {}), **said.get("components", {})}.items()
    )
    whole = standard_uncertainty(parts)
    lines = [
        Line(one.name, written(Fraction(one.u) * degree, u.unit), one.dof, (one.u / whole) ** 2, one.name in SHARED)
        for one in parts
        if one.u > 0
    ]
    return tuple(sorted(lines, key=lambda line: -line.share)), effective_dof(whole, parts)


def _celsius(text: str) -> float:
    return float(TemperatureDifference.from_text(text).to("C").value)


def _inside(
    offset: TemperatureDifference | None, u: TemperatureDifference | None, tolerance: TemperatureDifference | None
) -> float | None:
    if offset is None or u is None or tolerance is None:
        return None
    return conformance_probability(float(offset.to(u.unit).value), float(u.value), float(tolerance.to(u.unit).value))


def _out_now(
    session: Session,
    connection: Connection,
    of: thermometers.Thermometer,
    said: Mapping[str, Any],
    tolerance: TemperatureDifference | None,
) -> float | None:
    known = tracking.tracked(session, connection, [of])[of.row.thermometer]
    if tolerance is None or not known.known or "reference" not in said or of.row.failed_at is not None:
        return None
    celsius, limit = float(Reading.from_text(said["reference"]).celsius()), float(tolerance.to("C").value)
    day = max(session.clock() / DAY_US, known.track.now.at_days)
    return drift.probability_out(known.track, day, limit, celsius, known.told.shared_at(celsius))


def _would_decide(
    offset: TemperatureDifference | None,
    u: TemperatureDifference | None,
    k: Decimal | None,
    tolerance: TemperatureDifference | None,
    lines: tuple[Line, ...],
    point: str,
) -> str:
    if offset is None or u is None or k is None or tolerance is None or not lines:
        return ""
    from_limit = abs(abs(Fraction(offset.to(u.unit).value)) - Fraction(tolerance.to(u.unit).value))
    if from_limit > Fraction(u.value) * Fraction(k):
        return ""
    largest = lines[0].code
    return BETTER_BATH[point] if largest == "bath" else MENDS.get(largest, "repeats")
