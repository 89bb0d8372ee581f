"""Sudden changes: whether an incident stepped the thermometer, and steps that nobody reported.

A step just before a check shows in that check's miss and, less and less as the track follows, in later ones. Its size
is the regression of the misses on that signature. Source: Willsky and Jones (1976), A generalized likelihood ratio
approach to the detection and estimation of jumps, IEEE Transactions on Automatic Control 21, 108 (from memory).
"""

from collections.abc import Sequence
from math import erfc, exp, log, sqrt
from statistics import NormalDist

from registry.compute.drift.filter import Item, Row, next_row
from registry.compute.drift.records import Observation, Parameters, Step
from registry.compute.drift.state import stepped

LOOKS_BACK = 6  # checks: a step older than that has been followed
AFTER_INCIDENT = 3  # checks that say whether an incident stepped it
LEVEL = 0.05
YEAR_DAYS = 365.25
AGREES = 0.5  # each of the last two checks alone has to show this share of the step


def after_incident(parameters: Parameters, rows: Sequence[Row], number: int) -> Step | None:
    """Whether the incident in a row stepped the thermometer, by the next three checks at most; None before the first.

    rows: of the whole path. Decided at 5 % as if nothing but the incident had been looked at.
    """
    before = rows[number - 1 : number] if number else ()
    return step_since(parameters, before, rows[number].item.at_days, checks_after([row.item for row in rows], number))


def step_since(parameters: Parameters, before: Sequence[Row], at_days: float, items: Sequence[Item]) -> Step | None:
    """The same from the last row before it, the instant, and the checks that say so."""
    if not items or not before:
        return None
    calm = list(before)  # followed on as if nothing had happened
    for item in items:
        calm.append(next_row(parameters, calm[-1:], item))
    size, information, _ = _regress(calm[1:])
    if information == 0 or any(row.first for row in calm[1:]):  # a first reading can't be told from a step
        return None
    return step_of(at_days, size, information, parameters, parameters.step_chance, reported=True)


def checks_after(items: Sequence[Item], number: int) -> list[Item]:
    """The three checks at most that follow an incident at once."""
    found: list[Item] = []
    for item in items[number + 1 : number + 1 + AFTER_INCIDENT]:
        if not isinstance(item, Observation):
            break
        found.append(item)
    return found


def suspect(parameters: Parameters, rows: Sequence[Row]) -> tuple[int, Step] | None:
    """The row of the last six checks just before which an unreported step is likeliest, if it is likely enough.

    Likely enough: so odd that at this thermometer's own frequency of checks no more false ones are found in a year
    than `false_steps_a_year`, and the last two checks each show at least half of it: one odd reading is no step.
    """
    window = _window(rows)
    if len(window) < 2 or parameters.false_steps_a_year <= 0:
        return None
    limit = _limit(parameters, rows)
    odd = sum(row.miss**2 / row.variance if row.lesson.shrink else 0.0 for row in window)
    if odd < limit * limit / 2:  # no regression on them can exceed it; halved since intervals differ a little
        return None
    best: tuple[float, int, float, float] | None = None
    for first in range(len(window) - 1):
        size, information, singly = _regress(window[first:])
        strength = size * size * information
        if strength <= limit * limit or not all(alone / size > AGREES for alone in singly[-2:]):
            continue
        if best is None or strength > best[0]:
            best = strength, first, size, information
    if best is None:
        return None
    _, first, size, information = best
    number = len(rows) - len(window) + first
    a_check = min(1.0, parameters.false_steps_a_year * _gap_days(rows) / YEAR_DAYS)
    return number, step_of(window[first].item.at_days, size, information, parameters, a_check, reported=False)


def _window(rows: Sequence[Row]) -> list[Row]:
    """The last checks, six at most, since the first of all, an event or a step."""
    window: list[Row] = []
    for row in reversed(rows[-LOOKS_BACK - 1 :]):
        if not row.observed or row.move or row.first:
            break
        window.append(row)
        if len(window) == LOOKS_BACK:
            break
    return window[::-1]


def _limit(parameters: Parameters, rows: Sequence[Row]) -> float:
    """Standard deviations beyond which a step is found: one false one in a year's checks, six looks at each."""
    chance = parameters.false_steps_a_year * _gap_days(rows) / YEAR_DAYS / (LOOKS_BACK - 1)
    return -NormalDist().inv_cdf(min(chance, LEVEL) / 2)


def _gap_days(rows: Sequence[Row]) -> float:
    """Mean time between checks and events so far, days; at least a hundredth."""
    return max((rows[-1].item.at_days - rows[0].item.at_days) / max(len(rows) - 1, 1), 0.01)


def _regress(rows: Sequence[Row]) -> tuple[float, float, list[float]]:
    """Step just before the first of these rows: its size, °C; the information on it; the size each row alone shows."""
    offset, slope, rate = 1.0, 0.0, 0.0  # how far the truth, thanks to the step, is beyond what is expected
    score = information = 0.0
    singly: list[float] = []
    for place, row in enumerate(rows):
        assert isinstance(row.item, Observation)
        if place:
            offset += rate * row.days
        shows = offset + row.item.temperature * slope
        shift, shrink, _ = row.lesson
        score += shows * shift
        information += shows * shows * shrink
        singly.append(shift / shrink / shows if shrink > 0 and shows > 0 else 0.0)
        a, b, c = row.m
        offset, slope, rate = offset - a * shrink * shows, slope - b * shrink * shows, rate - c * shrink * shows
    return (score / information if information else 0.0), information, singly


def step_of(
    at_days: float, size: float, information: float, parameters: Parameters, chance: float, reported: bool
) -> Step:
    p_value = erfc(abs(size) * sqrt(information / 2))
    found = p_value < LEVEL if reported else True
    probability = _probability(size, information, parameters.step_spread, chance)
    return Step(at_days, size, 1 / sqrt(information), p_value, probability, reported, found)


def _probability(size: float, information: float, spread: float, chance: float) -> float:
    """That there was a step, one in `chance` being expected: Bayes, a normal step against none."""
    if chance in (0.0, 1.0):
        return chance
    wider = 1 + spread**2 * information
    odds = log(chance / (1 - chance)) - 0.5 * log(wider) + 0.5 * size**2 * information * (1 - 1 / wider)
    return 1.0 if odds > 700 else 1 / (1 + exp(-odds))


def with_step(parameters: Parameters, rows: Sequence[Row], number: int) -> list[Row]:
    """The rows with a step known to have come just before row `number`; only that row and later ones are redone."""
    again, step = list(rows[:number]), stepped(parameters.step_spread)
    for place, row in enumerate(rows[number:]):
        again.append(next_row(parameters, again[-1:], row.item, None if place else step))
    return again
