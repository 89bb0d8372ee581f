"""Whether a thermometer was right at a moment, at one point, from what was checked, adjusted and reported.

*Yes* needs a good check before and a good one after at that point, not too long apart, with nothing between that may
have moved it, and nothing anywhere that stood against it at that moment. *No* only where it had been found outside
and was not put right before that moment. All else is *not known*, with why.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from registry.records.outcomes import GOOD, OUTSIDE
from registry.store.queries import AdjustmentView, CheckView, EventView

DAY_US = 86_400_000_000
LONGEST_BETWEEN_DAYS = 31  # two good checks farther apart say little of the time between (judgement)
IN_USE = ("in_service", "limited_use")
DECIDED = ("good", "outside")

Place = tuple[int, int, int]  # at, chain, seq: what is later is larger


@dataclass(frozen=True, slots=True)
class Said:
    """What an entry says of a point: good, outside, doubted_outside (voided or unjudged), or what happened, a code."""

    place: Place
    what: str
    check: str | None = None


@dataclass(frozen=True, slots=True)
class Found:
    """The answer at a point (yes, no, not_known), why it is not known, and what it rests on; see `PointAnswer`."""

    answer: str
    why: str
    before: Said | None
    after: Said | None
    between: tuple[str, ...]


def timeline(
    views: Sequence[CheckView],
    adjustments: Sequence[AdjustmentView],
    incidents: Sequence[EventView],
    where: tuple[str, bool],
    open_baths: frozenset[str],
) -> list[Said]:
    """Everything that says something of a point, in time order. where: the point, and whether it is a hot one."""
    here = [one for one in views if (one.point, one.hot) == where]
    checks = [Said(_place(one), what, one.check) for one in here if (what := _of_check(one, open_baths))]
    turned = [Said(_place(one), _of_adjustment(one, where), one.check) for one in adjustments]
    happened = [Said(_place(one), one.detail or one.kind) for one in incidents if not one.voided]
    return sorted([*checks, *turned, *happened], key=lambda one: one.place)


def _place(one: CheckView | AdjustmentView | EventView) -> Place:
    return one.at, one.chain_no, one.seq


def _of_check(view: CheckView, open_baths: frozenset[str]) -> str:
    """Nothing where it decided nothing; a slip or a bath not judged is no reason to trust what was found outside."""
    if view.outcome is None:
        doubted = not view.voided and view.given in OUTSIDE and view.bath in open_baths
        return "doubted_outside" if doubted else ""
    if view.voided:
        return "doubted_outside" if view.outcome in OUTSIDE else ""
    return "good" if view.outcome in GOOD else "outside"


def _of_adjustment(one: AdjustmentView, where: tuple[str, bool]) -> str:
    """It moves the whole scale: known to be right only at the point where it was measured good."""
    if one.voided or one.outcome is None or (one.point, one.hot) != where:
        return "adjusted"
    return "good" if one.outcome in GOOD else "outside"


def at_moment(said: Sequence[Said], at: int) -> Found:
    """The answer at a point for an instant, from its timeline."""
    past = [one for one in said if one.place[0] <= at]
    coming = [one for one in said if one.place[0] > at]
    before = next((one for one in reversed(past) if one.what in DECIDED), None)
    after = next((one for one in coming if one.what in DECIDED), None)
    since = [one.what for one in past if before is not None and one.place > before.place]
    until = [one.what for one in coming if after is None or one.place < after.place]
    between = tuple(one for one in (*since, *until) if one != "doubted_outside")
    return Found(*_answer(before, after, since, between), before, after, between)


def _answer(before: Said | None, after: Said | None, since: Sequence[str], between: Sequence[str]) -> tuple[str, str]:
    if before is None:
        return "not_known", "no_check_before"
    if before.what == "outside":
        return ("not_known", "between") if "adjusted" in since else ("no", "")
    if "doubted_outside" in since:
        return "not_known", "doubted_outside"
    if between:
        return "not_known", "between"
    if after is None:
        return "not_known", "no_check_after"
    if after.what == "outside":
        return "not_known", "outside_after"
    if after.place[0] - before.place[0] > LONGEST_BETWEEN_DAYS * DAY_US:
        return "not_known", "too_long_between"
    return "yes", ""


def with_what_stood(found: Sequence[Found], status: str) -> list[Found]:
    """No point says yes while another was outside then, or while it was not in use at all."""
    outside = any(one.answer == "no" or one.why == "doubted_outside" for one in found)
    stood = "outside_elsewhere" if outside else "" if status in IN_USE else "not_in_use"
    if not stood:
        return list(found)
    return [replace(one, answer="not_known", why=stood) if one.answer == "yes" else one for one in found]


def of_all(answers: Iterable[str]) -> str:
    """No where some point says no, yes where some point says yes, else not_known."""
    found = set(answers)
    return next((one for one in ("no", "yes") if one in found), "not_known")
