"""What a recheck plan costs in hours a year: an estimate, and said to be one."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from registry import resources
from registry.records.rules import PlanRule

if TYPE_CHECKING:  # the first questions reckon with a shipped plan before there is a database
    from registry.store.queries import ThermometerRow

# Twelve thermometers in one bath take under eight minutes, the bath included: starting value from judgement.
SECONDS_A_CHECK = 40
DAYS_A_WEEK, DAYS_A_YEAR = 7, 365.25
WEEKS_A_YEAR = DAYS_A_YEAR / DAYS_A_WEEK
# What the first start reckons with, where nothing is enrolled yet.
TWELVE = Counter({"bimetal_stem": 4, "thermistor_probe": 8})
REGULAR = ("each_shift", "every_days", "sentinel")


@dataclass(frozen=True, slots=True)
class Regular:
    """A rule that asks for checks again and again; days of `every_days` alone. No types: all; no points: at any."""

    code: str
    days: int | None
    types: tuple[str, ...]
    points: tuple[str, ...] = ()


def of_shipped(plan: str) -> list[Regular]:
    """The regular rules of a plan that ships with the program."""
    rules = resources.default_plans()[plan].rules
    return [
        Regular(one.code, int(one.days.value) if one.days else None, one.types, (one.point,) if one.point else ())
        for one in rules
        if one.code in REGULAR
    ]


def hours_a_year(rules: Sequence[Regular], types: Mapping[str, int], shifts_a_week: float) -> float:
    """Hours for the checks that come again and again; `types` counts the thermometers in use by type.

    Of several rules for one type and point the one that asks most often is taken. Repeats, hot points and what follows
    an incident are not in it.
    """
    a_day = {kind: _checks_a_day(rules, kind, shifts_a_week) for kind in types}
    checks = sum(DAYS_A_YEAR * rate * types[kind] for kind, rate in a_day.items())
    checks += _more_by_turns(rules, types, a_day, shifts_a_week)
    return checks * SECONDS_A_CHECK / 3600


def _checks_a_day(rules: Sequence[Regular], kind: str, shifts_a_week: float) -> float:
    """Of one of this type. Each point that is named has its own checks, which do for the rules that name none."""
    at: dict[str, float] = defaultdict(float)
    for one in rules:
        if one.code != "sentinel" and _is_for(one, kind):
            rate = shifts_a_week / DAYS_A_WEEK if one.code == "each_shift" else 1 / (one.days or 1)
            for point in one.points or ("",):
                at[point] = max(at[point], rate)
    return max(at[""], sum(rate for point, rate in at.items() if point))


def _more_by_turns(
    rules: Sequence[Regular], types: Mapping[str, int], a_day: Mapping[str, float], shifts_a_week: float
) -> float:
    """Checks a year that one by turns adds: one a shift, nobody twice a day, less the checks by days that it saves.

    One that is looked at a day before its day puts that off by all but a day of its interval.
    """
    taken = {kind: count for kind, count in types.items() if _by_turns([one for one in rules if _is_for(one, kind)])}
    by_days = sum(DAYS_A_YEAR * a_day[kind] * count for kind, count in taken.items())
    if not by_days:
        return 0.0
    turns = min(shifts_a_week * WEEKS_A_YEAR, DAYS_A_YEAR * sum(taken.values()))
    mean_days = DAYS_A_YEAR * sum(taken.values()) / by_days
    return turns - min(by_days, turns * (1 - 1 / mean_days))


def _by_turns(rules: Sequence[Regular]) -> bool:
    """Whether what these are for is taken by turns, as the schedule says."""
    codes = {one.code for one in rules}
    rarely = all((one.days or 1) > 1 for one in rules if one.code == "every_days")
    return codes == {"sentinel", "every_days"} and rarely


def _is_for(rule: Regular, kind: str) -> bool:
    return not rule.types or kind in rule.types


def hours_of(rules: Iterable[PlanRule], rows: Iterable["ThermometerRow"], shifts: Mapping[str, float]) -> float:
    """Hours a year of a plan for some thermometers; shifts: a week, by site. Each is reckoned by the rules for it."""
    found, by_site = 0.0, defaultdict(list)
    regular = [one for one in rules if one.rule in REGULAR]
    for one in rows:
        by_site[one.site or ""].append(one)
    for site, here in by_site.items():
        alike: Counter[str] = Counter()
        taken: dict[int, set[str]] = defaultdict(set)
        for one in here:
            own = [n for n, rule in enumerate(regular) if _is_for_row(rule, one)]
            kind = f"{one.type} {own}"
            alike[kind] += 1
            for n in own:
                taken[n].add(kind)
        asked = [
            Regular(regular[n].rule, regular[n].days, tuple(kinds), regular[n].points or ())
            for n, kinds in taken.items()
        ]
        found += hours_a_year(asked, alike, shifts.get(site, 0.0))
    return found


def _is_for_row(rule: PlanRule, row: "ThermometerRow") -> bool:
    """Whether a rule of a plan is for a thermometer."""
    narrowed = ((rule.types, row.type), (rule.sites, row.site), (rule.thermometers, row.thermometer))
    return all(not wanted or own in wanted for wanted, own in narrowed)
