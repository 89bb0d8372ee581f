"""The charts of one thermometer: its offsets over time, the days around a moment, the small one in a row."""

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from itertools import groupby
from zoneinfo import ZoneInfo

from registry.charts.axes import DAY_US, nice_step, time_ticks, value_ticks
from registry.charts.model import (
    AS_LEFT,
    Arrow,
    Axis,
    Band,
    Chart,
    Label,
    Lane,
    LaneMark,
    Line,
    Points,
    Tick,
    VLine,
    Words,
)
from registry.quantity import TemperatureDifference, Unit

BEYOND = 2.0  # a scale ends at so many times the limit; marks beyond it stop at its end
LEAST = 1.4  # and shows so many times the limit at least
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


# --- what a chart is made from -------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Checked:
    """One check: its offset, U where a bar is wanted, and its outcome (`waits` while it has none)."""

    at: int
    offset: TemperatureDifference
    outcome: str
    expanded: TemperatureDifference | None = None


@dataclass(frozen=True, slots=True)
class Turned:
    """An adjustment; what was found or left is None where it was not measured."""

    at: int
    as_found: TemperatureDifference | None
    as_left: TemperatureDifference | None


@dataclass(frozen=True, slots=True)
class Happened:
    """Something else on the time axis. code: of an incident (dropped ...), `paper` or `move`."""

    at: int
    code: str


@dataclass(frozen=True, slots=True)
class Followed:
    """The offset as tracked at a time, °C, give or take `spread`, °C. ahead: a forecast."""

    at: int
    offset: float
    spread: float
    ahead: bool = False


@dataclass(frozen=True, slots=True)
class History:
    """What is plotted of one thermometer. tolerance: the permitted offset, None where no rule gives one."""

    zone: str
    now: int
    tolerance: TemperatureDifference | None
    checks: tuple[Checked, ...] = ()
    turned: tuple[Turned, ...] = ()
    happened: tuple[Happened, ...] = ()
    followed: tuple[Followed, ...] = ()


# --- the charts ----------------------------------------------------------------------------------------------


def offset_chart(history: History, words: Words, unit: Unit, *, since: int | None = None) -> Chart:
    """A thermometer's offsets over time with limits, adjustments, incidents and today; all in one unit, exactly."""
    shown = _since(history, since)
    time = _time_axis(shown, words)
    value = _value_axis(shown, unit, words)
    arrows = _arrows(shown, unit)
    return Chart(
        time,
        value,
        unit,
        bands=(*_tolerance_band(shown, unit, time), *_followed_bands(shown, unit)),
        lines=(*_level_lines(shown, unit, time), *_followed_lines(shown, unit)),
        vlines=(
            *(VLine("incident", one.at) for one in _incidents(shown)),
            VLine("today", shown.now, words.say("today")),
        ),
        arrows=arrows,
        points=_points(shown, unit),
        labels=_labels(shown, unit, time, arrows, words),
        lanes=_lanes(shown, words),
    )


def small_chart(history: History, unit: Unit, *, since: int | None = None) -> Chart:
    """The same without words and lanes, for a row of a list; what was tracked as lines and bands where it is told."""
    shown = _since(history, since)
    low, high = _time_ends(shown)
    time = Axis(low, high)
    value = Axis(*_value_ends(shown, unit))
    return Chart(
        time,
        value,
        unit,
        bands=(*_tolerance_band(shown, unit, time), *_followed_bands(shown, unit)),
        lines=(*_level_lines(shown, unit, time), *_followed_lines(shown, unit)),
        vlines=(VLine("today", shown.now),),
        arrows=_arrows(shown, unit),
        points=_points(shown, unit),
    )


def answer_chart(
    history: History, words: Words, unit: Unit, moment: int, before: int | None, after: int | None, days: int = 3
) -> Chart:
    """Some days around a moment, with the time from the check before to the one after shaded.

    before, after: when those checks were made; farther away than `days` they widen what is shown.
    """
    low = min(moment - days * DAY_US, moment if before is None else before - DAY_US // 4)
    high = max(moment + days * DAY_US, moment if after is None else after + DAY_US // 4)
    here = _between(history, low, high)
    ticks = time_ticks(low, high, history.zone, words.time)
    asked = _local_day(moment, history.zone)
    time = Axis(low, high, tuple(Tick(one.at, one.label, _is_day(one, asked, history.zone)) for one in ticks))
    value = _value_axis(here, unit, words)
    known = [(at, code) for at, code in ((before, "check_before"), (after, "check_after")) if at is not None]
    shaded = Band("between", (before, after), (value.high,) * 2, (value.low,) * 2) if before and after else None
    return Chart(
        time,
        value,
        unit,
        bands=(*_tolerance_band(here, unit, time), *((shaded,) if shaded else ())),
        lines=_level_lines(here, unit, time),
        vlines=(
            *(VLine("incident", one.at, words.say("incident", what=one.code)) for one in _incidents(here)),
            *(VLine("check", at, words.say(code, at=at)) for at, code in known),
            VLine("moment", moment, words.say("moment", at=moment)),
        ),
        arrows=_arrows(here, unit),
        points=_points(here, unit, strong={at for at, _ in known}),
    )


def _since(history: History, since: int | None) -> History:
    return history if since is None else _between(history, since, 2**62)


def _between(history: History, low: int, high: int) -> History:
    return History(
        history.zone,
        history.now,
        history.tolerance,
        tuple(one for one in history.checks if low <= one.at <= high),
        tuple(one for one in history.turned if low <= one.at <= high),
        tuple(one for one in history.happened if low <= one.at <= high),
        tuple(one for one in history.followed if low <= one.at <= high),
    )


# --- axes of a history ---------------------------------------------------------------------------------------


def _time_ends(history: History) -> tuple[int, int]:
    """From the first thing that happened to today and a little more; four weeks at least."""
    instants = [one.at for one in history.checks] + [one.at for one in history.turned]
    instants += [one.at for one in history.happened]
    first, last = min(instants, default=history.now), max([*instants, history.now])
    span = max(last - first, 28 * DAY_US)
    ahead = max((one.at for one in history.followed), default=last)
    return last - span - span // 40, max(last + span // 20, ahead)


def _time_axis(history: History, words: Words) -> Axis:
    low, high = _time_ends(history)
    return Axis(low, high, tuple(time_ticks(low, high, history.zone, words.time)))


def _value_ends(history: History, unit: Unit) -> tuple[float, float]:
    """Even about nought; as much as the offsets need, but never more than BEYOND times the limit."""
    reach = [abs(_in(one.offset, unit)) + _bar(one, unit) for one in history.checks]
    reach += [abs(_in(one, unit)) for each in history.turned for one in (each.as_found, each.as_left) if one]
    need = 1.1 * max(reach, default=0.0)
    if history.tolerance is None:
        end = max(need, 0.5 if unit == "C" else 1.0)
    else:
        limit = _in(history.tolerance, unit)
        end = min(max(need, LEAST * limit), BEYOND * limit)
    return -end, end


def _value_axis(history: History, unit: Unit, words: Words) -> Axis:
    low, high = _value_ends(history, unit)
    steps, strong = value_ticks(low, high), _limits(history, unit)
    near = nice_step(high - low, 7) / 2
    apart = [one for one in steps if all(abs(one - limit) >= near for limit in strong)]
    finest = min(int(one.as_tuple().exponent) for one in (*apart, *strong))  # as many decimals on each
    at = sorted(one.quantize(Decimal(1).scaleb(min(finest, 0))) for one in (*apart, *strong))
    ticks = tuple(Tick(float(one), words.number(one, unit), one in strong) for one in at)
    return Axis(low, high, ticks, words.say("offset_axis", unit=unit))


def _limits(history: History, unit: Unit) -> list[Decimal]:
    """Both limits as figures: as the rule writes them, or brought to the other unit and rounded to 2 decimals."""
    if history.tolerance is None:
        return []
    own = history.tolerance.to(unit)
    limit = own.value if isinstance(own.value, Decimal) else own.rounded(2).value
    exact = Decimal(str(limit)).normalize()
    return [-exact, exact]


def _local_day(at: float, zone: str) -> date:
    return (_EPOCH + timedelta(microseconds=at)).astimezone(ZoneInfo(zone)).date()


def _is_day(tick: Tick, day: date, zone: str) -> bool:
    return _local_day(tick.at, zone) == day


# --- parts of a history --------------------------------------------------------------------------------------


def _in(difference: TemperatureDifference, unit: Unit) -> float:
    """In the chart's unit, by the exact fraction."""
    return float(Fraction(difference.to(unit).value))


def _bar(one: Checked, unit: Unit) -> float:
    return _in(one.expanded, unit) if one.expanded else 0.0


def _points(history: History, unit: Unit, strong: Iterable[int] = ()) -> Points:
    """Checks and as-left values, in time order."""
    large = set(strong)
    found = [
        (one.at, _in(one.offset, unit), one.outcome, _in(one.expanded, unit) if one.expanded else None, one.at in large)
        for one in history.checks
    ]
    left = [(one.at, _in(one.as_left, unit), AS_LEFT, None, False) for one in history.turned if one.as_left]
    ordered = sorted([*found, *left], key=lambda one: one[0])
    return Points(*zip(*ordered, strict=True)) if ordered else Points()


def _arrows(history: History, unit: Unit) -> tuple[Arrow, ...]:
    return tuple(
        Arrow(one.at, _in(one.as_found, unit), _in(one.as_left, unit))
        for one in history.turned
        if one.as_found and one.as_left
    )


def _incidents(history: History) -> list[Happened]:
    return [one for one in history.happened if one.code not in ("paper", "move")]


def _tolerance_band(history: History, unit: Unit, time: Axis) -> tuple[Band, ...]:
    if history.tolerance is None:
        return ()
    limit, ends = _in(history.tolerance, unit), _ends(time)
    return (Band("tolerance", ends, (limit, limit), (-limit, -limit)),)


def _level_lines(history: History, unit: Unit, time: Axis) -> tuple[Line, ...]:
    ends = _ends(time)
    nought = Line("nought", ends, (0.0, 0.0))
    if history.tolerance is None:
        return (nought,)
    limit = _in(history.tolerance, unit)
    return (nought, Line("limit", ends, (limit, limit)), Line("limit", ends, (-limit, -limit)))


def _followed_parts(history: History) -> list[tuple[str, list[Followed]]]:
    """What was tracked, broken at each adjustment and incident, and what is forecast from the last of it on."""
    past = [one for one in history.followed if not one.ahead]
    ahead = past[-1:] + [one for one in history.followed if one.ahead]
    broken = sorted([one.at for one in history.turned] + [one.at for one in _incidents(history)])
    pieces = [list(piece) for _, piece in groupby(past, lambda one: bisect_left(broken, one.at))]
    parts = [*(("tracked", piece) for piece in pieces), ("forecast", ahead)]
    return [(role, part) for role, part in parts if len(part) > 1]


def _followed_bands(history: History, unit: Unit) -> tuple[Band, ...]:
    by = 1.8 if unit == "F" else 1.0
    return tuple(
        Band(
            role,
            tuple(one.at for one in part),
            tuple(by * (one.offset + one.spread) for one in part),
            tuple(by * (one.offset - one.spread) for one in part),
        )
        for role, part in _followed_parts(history)
    )


def _followed_lines(history: History, unit: Unit) -> tuple[Line, ...]:
    by = 1.8 if unit == "F" else 1.0
    return tuple(
        Line(role, tuple(one.at for one in part), tuple(by * one.offset for one in part))
        for role, part in _followed_parts(history)
    )


def _ends(time: Axis) -> tuple[int, int]:
    return int(time.low), int(time.high)


def _labels(history: History, unit: Unit, time: Axis, arrows: Sequence[Arrow], words: Words) -> tuple[Label, ...]:
    """The limit by its name, and the last adjustment by its two values."""
    found = []
    if history.tolerance is not None:
        found.append(Label(words.say("limit"), int(time.low), _in(history.tolerance, unit), "above", "limit"))
    measured = [one for one in history.turned if one.as_found and one.as_left]
    if measured and arrows:
        last, arrow = measured[-1], arrows[-1]
        assert last.as_found is not None
        assert last.as_left is not None
        # Beside the later half there is more room on the left.
        side = "left" if time.place(last.at) > 0.7 else "right"
        found.append(Label(words.say("as_found", value=last.as_found.to(unit)), last.at, arrow.as_found, side))
        found.append(Label(words.say("as_left", value=last.as_left.to(unit)), last.at, arrow.as_left, side, AS_LEFT))
    return tuple(found)


def _lanes(history: History, words: Words) -> tuple[Lane, ...]:
    checks = [LaneMark(one.at, "check") for one in history.checks]
    checks += [LaneMark(one.at, AS_LEFT) for one in history.turned]
    incidents = [LaneMark(one.at, "incident", words.say("incident", what=one.code)) for one in _incidents(history)]
    others = [LaneMark(one.at, one.code) for one in history.happened if one.code in ("paper", "move")]
    lanes = (("checks", checks), ("incidents", incidents), ("papers_moves", others))
    return tuple(Lane(code, words.say(code), tuple(sorted(marks, key=lambda mark: mark.at))) for code, marks in lanes)
