"""What a recheck plan costs in hours a year: an estimate, and said to be one."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from registry import resources
from registry.records.rules import PlanRule

# Twelve thermometers in one bath take under eight minutes, the bath included: starting value from judgement.
SECONDS_A_CHECK = 40
WEEKS_A_YEAR, DAYS_A_YEAR = 365.25 / 7, 365.25
# What the first start reckons with, where nothing is enrolled yet.
TWELVE = Counter({"bimetal_stem": 4, "thermistor_probe": 8})


@dataclass(frozen=True, slots=True)
class Regular:
    """A rule that asks for checks again and again; days is None for each shift."""

    days: int | None
    types: tuple[str, ...]


def of_shipped(plan: str) -> list[Regular]:
    """The regular rules of a plan that ships with the program."""
    rules = resources.default_plans()[plan].rules
    return [
        Regular(int(one.days.value) if one.code == "every_days" and one.days else None, one.types)
        for one in rules
        if one.code in ("each_shift", "every_days")
    ]


def of_recorded(rules: Iterable[PlanRule]) -> list[Regular]:
    """The regular rules of the plan in force."""
    return [
        Regular(one.days if one.rule == "every_days" else None, tuple(one.types or ()))
        for one in rules
        if one.rule in ("each_shift", "every_days")
    ]


def hours_a_year(rules: Sequence[Regular], types: Mapping[str, int], shifts_a_week: float) -> float:
    """Hours for the checks that come again and again; `types` counts the thermometers in use by type.

    Of several rules for one type the one that asks most often is taken. Repeats, hot points and what follows an
    incident are not in it.
    """
    checks = 0.0
    for kind, count in types.items():
        each = [_a_year(rule, shifts_a_week) for rule in rules if not rule.types or kind in rule.types]
        checks += count * max(each, default=0.0)
    return checks * SECONDS_A_CHECK / 3600


def _a_year(rule: Regular, shifts_a_week: float) -> float:
    return shifts_a_week * WEEKS_A_YEAR if rule.days is None else DAYS_A_YEAR / rule.days
