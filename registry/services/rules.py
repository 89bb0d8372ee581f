"""The group's rules: tolerances, decision rule, limits, methods, recheck plan and figures.

They begin as what ships with the program for the chosen code and become entries, so that a check names the
version that it used and later changes never touch it. Local codes come first.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from math import inf
from typing import Any, Literal

from babel.core import get_global
from sqlalchemy import Connection

from registry import resources
from registry.compute import schedule
from registry.compute.atmosphere import PressureFigures
from registry.compute.conformity import Rule
from registry.quantity import TemperatureDifference
from registry.records.kinds import KINDS
from registry.records.rules import (
    Figure,
    FiguresSet,
    GroupSet,
    Limit,
    LimitSet,
    MethodSet,
    PlanRule,
    PlanSet,
    RuleSet,
    Tolerance,
    ToleranceSet,
)
from registry.resource_tables import InstrumentType
from registry.services.problems import refuse
from registry.services.session import Actor, Session, day_at
from registry.store import queries
from registry.store.transaction import Transaction
from registry.wording import say

METHODS = {
    "ice": "ice_point",
    "boil": "boiling_point",
    "beside_reference": "comparison",
}
DECISIONS = ("simple", "guard_band", "four_outcomes")
SCALES = ("C", "F", "dual")
FOLLOWS_GROUP = "group"  # the code of a site's plan by which it follows the group's again


@dataclass(frozen=True, slots=True)
class RulesInForce:
    """What a check at a site is judged by today."""

    group: GroupSet
    tolerances: ToleranceSet
    rule: RuleSet
    methods: dict[str, MethodSet]
    figures: FiguresSet
    plan: PlanSet
    limits: LimitSet

    def tolerance(self, tolerance_class: str, scale: str) -> Tolerance | None:
        """The permitted offset for a thermometer of this class that is marked so."""
        return next(
            (one for one in self.tolerances.tolerances if one.class_ == tolerance_class and one.scale == scale),
            None,
        )

    def figure(self, code: str) -> float:
        return float(self.figures.figures[figure_code(code)].value)

    def repeatability(self, kind: InstrumentType) -> tuple[float, float]:
        """Standard deviation of one reading of a type, °C, and its degrees of freedom: measured here or shipped."""
        own = self.figures.figures.get(f"repeatability_{kind.code}")
        if own is None:
            return kind.repeatability.value, kind.repeatability_dof.value
        return float(own.value), float(own.dof or inf)

    def bath_dof(self, made: str) -> float:
        """Degrees of freedom of what such a bath may be off; endless unless it was measured here."""
        own = self.figures.figures.get(figure_code(f"bath.{made}"))
        return float(own.dof) if own is not None and own.dof else inf

    @property
    def decision(self) -> Rule:
        found: Any = self.rule.decision
        return found  # type: ignore[no-any-return]

    def pressure_figures(self) -> PressureFigures:
        """The figures of pressure sources, hPa in the table and Pa in the computation."""
        return PressureFigures(
            room_barometer_half_width_pa=100 * self.figure("pressure.room_barometer"),
            household_absolute_half_width_pa=100 * self.figure("pressure.household_absolute"),
            household_sea_level_half_width_pa=100 * self.figure("pressure.household_sea_level"),
            altimeter_setting_u_pa=100 * self.figure("pressure.altimeter_setting"),
            weather_report_u_pa=100 * self.figure("pressure.weather_report"),
            reduction_u_pa_per_m=self.figure("pressure.weather_report_each_100_m"),
            elevation_u_pa=100 * self.figure("pressure.elevation"),
        )


def figure_code(dotted: str) -> str:
    """A figure's code as it stands in an entry: `bath.crushed_packed` is bath_crushed_packed there."""
    return dotted.replace(".", "_")


def rules_in_force(connection: Connection, site: str | None = None) -> RulesInForce:
    """The standing rules; a site's own go before the group's."""
    group = queries.facts_named(connection, "group", GroupSet)
    if not group:
        raise refuse("group", "not_started")
    facts = queries.facts_of(connection, group[0].subject)

    def standing(field: str) -> Any:
        found = facts.get(f"{field}:{site}")
        if found is None or getattr(found.payload, "plan", "") == FOLLOWS_GROUP:
            found = facts.get(field)
        if found is None:
            raise refuse("rules", "missing", value=field)
        return found.payload

    return RulesInForce(
        group[0].payload,
        standing("tolerances"),
        standing("rule"),
        {method: standing(f"method:{method}") for method in METHODS},
        standing("figures"),
        standing("plan"),
        standing("limits"),
    )


def sites_with_own(connection: Connection) -> set[str]:
    """The sites that have a plan of their own and do not follow the group's."""
    group = queries.facts_named(connection, "group", GroupSet)[0].subject
    facts = queries.facts_of(connection, group)
    named = {name.partition(":")[2]: fact.payload for name, fact in facts.items() if name.startswith("plan:")}
    return {site for site, plan in named.items() if plan.plan != FOLLOWS_GROUP}


def set_used(connection: Connection, set_id: str) -> Any:
    """The version of a rule that a check names, as it was."""
    group = queries.facts_named(connection, "group", GroupSet)[0].subject
    entry = next(one for one in queries.entries_about(connection, group) if one.payload.get("set") == set_id)
    return KINDS[entry.kind].from_payload(entry.payload)


def set_starting_rules(
    session: Session, entries: Transaction, group: str, jurisdiction: str, plan: str, region: str
) -> None:
    """The rules of a first start, in the transaction that makes the group; in force since its country's day.

    There is no site yet: of several days in one country it is the earlier, so that no check is older than its rule.
    """
    since = _day_in(region, session.clock()).isoformat()
    for method, point in METHODS.items():
        steps = {language: say(f"method.{method}", language) for language in resources.languages()}
        entries.replace(
            MethodSet(group=group, set=session.new_id(), method=method, point=point, edition=1, steps=steps)
        )
    entries.replace(
        ToleranceSet(group=group, set=session.new_id(), tolerances=shipped_tolerances(jurisdiction), since=since)
    )
    entries.replace(
        RuleSet(
            group=group,
            set=session.new_id(),
            decision="simple",
            repeats=int(resources.figures()["decision.confirming_repeats"].value),
            near_limit=_text(resources.figures()["decision.near_limit_share"].value),
            unsteady=_text(resources.figures()["decision.unsteady_deviations"].value),
            since=since,
        )
    )
    entries.replace(LimitSet(group=group, set=session.new_id(), limits=shipped_limits(jurisdiction), since=since))
    entries.replace(PlanSet(group=group, set=session.new_id(), plan=plan, rules=shipped_plan(plan), since=since))
    entries.replace(FiguresSet(group=group, set=session.new_id(), figures=shipped_figures()))


def _day_in(region: str, at: int) -> date:
    """The local day in a country, the earlier of several; of a region that is none (150) the earliest on Earth."""
    territory = region.rpartition("_")[2]
    zones = get_global("territory_zones").get(territory, ()) if territory.isalpha() else ()
    return min(day_at(at, zone) for zone in zones or ("Etc/GMT+12",))


def shipped_tolerances(jurisdiction: str) -> tuple[Tolerance, ...]:
    """What the chosen code permits, for each class and scale that it rules."""
    classes: tuple[Literal["food", "ambient_water"], ...] = ("food", "ambient_water")
    return tuple(
        Tolerance(
            class_=tolerance_class,
            scale=scale,
            tolerance=found.limit,
            source=found.source,
            place=found.place or None,
        )
        for tolerance_class in classes
        for scale in SCALES
        if (found := resources.tolerance_for(jurisdiction, tolerance_class, scale)) is not None
    )


def shipped_limits(jurisdiction: str) -> tuple[Limit, ...]:
    """The temperatures for food that the chosen code names; local codes come first."""
    return tuple(
        Limit(
            limit=found.code.partition(".")[2],
            side=found.side,
            celsius=found.celsius,
            fahrenheit=found.fahrenheit or None,
            source=found.source,
            place=found.place or None,
            hold=found.hold or None,
        )
        for found in resources.limits_for(jurisdiction)
    )


def shipped_figures() -> dict[str, Figure]:
    return {
        figure_code(code): Figure(value=_text(found.value), why=found.why or found.source)
        for code, found in resources.figures().items()
    }


def shipped_plan(code: str) -> tuple[PlanRule, ...]:
    return tuple(
        PlanRule(
            rule=rule.code,
            days=None if rule.days is None else int(rule.days.value),
            points=(rule.point,) if rule.point else None,
            types=rule.types or None,
        )
        for rule in resources.default_plans()[code].rules
    )


def due_rules(plan: PlanSet) -> schedule.Plan:
    """The recorded plan as the schedule takes it; thermometers are named there by their ids."""
    return due_rules_of(plan.rules)


def due_rules_of(own: Iterable[PlanRule]) -> schedule.Plan:
    return tuple(
        schedule.DueRule(
            rule.rule,
            point,
            rule.days,
            frozenset(rule.types or ()),
            frozenset(rule.sites or ()),
            frozenset(rule.thermometers or ()),
        )
        for rule in own
        for point in (rule.points or (None,))
    )


def _text(value: float) -> str:
    return f"{Decimal(repr(value)).normalize():f}"


# --- changing them -------------------------------------------------------------------------------------------


def set_decision(session: Session, actor: Actor, decision: str, since: date) -> None:
    """Choose the decision rule for checks from now on; older checks keep theirs."""
    if decision not in DECISIONS:
        raise refuse("decision", "unknown", value=decision)
    with session.recording(actor, "officer") as entries:
        group = session.group(entries.connection)
        old: RuleSet = queries.facts_of(entries.connection, group.subject)["rule"].payload
        entries.replace(
            RuleSet(
                group=group.subject,
                set=session.new_id(),
                decision=decision,
                repeats=old.repeats,
                near_limit=old.near_limit,
                unsteady=old.unsteady,
                since=since.isoformat(),
            )
        )


def set_owner_tolerance(
    session: Session, actor: Actor, scale: str, tolerance: TemperatureDifference, since: date
) -> None:
    """The owner's own permitted offset, for ovens, fryers and other types that no code rules."""
    unit = "F" if scale == "F" else "C"
    if scale not in SCALES:
        raise refuse("scale", "unknown", value=scale)
    if tolerance.unit != unit or not 0 < tolerance.value <= 50:
        raise refuse("tolerance", "not_valid", value=str(tolerance.value))
    with session.recording(actor, "officer") as entries:
        group = session.group(entries.connection)
        old: ToleranceSet = queries.facts_of(entries.connection, group.subject)["tolerances"].payload
        kept = tuple(one for one in old.tolerances if (one.class_, one.scale) != ("owner", scale))
        own = Tolerance(class_="owner", scale=scale, tolerance=tolerance.text(), source="owner's own rule")
        entries.replace(
            ToleranceSet(group=group.subject, set=session.new_id(), tolerances=(*kept, own), since=since.isoformat())
        )


def set_plan(session: Session, actor: Actor, plan: str, since: date) -> None:
    """Choose one of the shipped recheck plans."""
    if plan not in resources.default_plans():
        raise refuse("plan", "unknown", value=plan)
    with session.recording(actor, "officer") as entries:
        group = session.group(entries.connection)
        entries.replace(
            PlanSet(
                group=group.subject,
                set=session.new_id(),
                plan=plan,
                rules=shipped_plan(plan),
                since=since.isoformat(),
            )
        )
