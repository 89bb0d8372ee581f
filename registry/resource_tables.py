"""What the shipped tables hold: frozen records, and how a row of plain data becomes one.

A figure says where it comes from: a source, or that it is a starting value from judgement, meant to be
replaced by a kitchen's own measurements. Temperatures are texts as the rule prints them ("74 C", "165 F"),
differences end in dC or dF ("1 dC"); a pair from a rule is never converted one into the other.
"""

from collections.abc import Mapping
from dataclasses import MISSING, dataclass, fields, is_dataclass
from functools import cache
from types import NoneType
from typing import Any, Literal, TypeVar, get_args, get_origin, get_type_hints

Point = Literal["ice_point", "boiling_point", "comparison"]
Scale = Literal["C", "F", "dual"]
ToleranceClass = Literal["food", "ambient_water", "owner"]
Adjustment = Literal["nut", "reset", "trim", "none"]

Record = TypeVar("Record")


class MalformedTable(ValueError):
    """A shipped table holds something that its record does not take."""


@dataclass(frozen=True, slots=True)
class Figure:
    """One number with its unit, and why it may be believed.

    `form` says what an uncertainty is: the half-width of a rectangular distribution, or a standard
    uncertainty.
    """

    value: float
    unit: Literal["dC", "dF", "C", "F", "hPa", "share", "mm", "s", "min", "h", "days", "litres", "count"]
    form: Literal["plain", "rectangular", "standard"] = "plain"
    source: str = ""
    why: str = ""
    starting: bool = False

    def __post_init__(self) -> None:
        if not self.source and not self.starting:
            raise MalformedTable("a figure needs a source, or starting = true")


@dataclass(frozen=True, slots=True)
class AllowedPoint:
    point: Point
    condition: str = ""


@dataclass(frozen=True, slots=True)
class ScaleRange:
    """A usual range with the usual steps of its scale or display; each unit has its own row."""

    low: str
    high: str
    steps: tuple[str, ...]
    source: str = ""
    starting: bool = False

    def __post_init__(self) -> None:
        if not self.source and not self.starting:
            raise MalformedTable("a range needs a source, or starting = true")


@dataclass(frozen=True, slots=True)
class InstrumentType:
    """What a type may and may not do. Figures in °C differences, mm and s; the first adjustment is usual."""

    code: str
    digital: bool
    steady_rank: int
    points: tuple[AllowedPoint, ...]
    ranges: tuple[ScaleRange, ...]
    read_to: Literal["display", "half_division"]
    settle: Figure
    still: Figure
    adjustments: tuple[Adjustment, ...]
    repeatability: Figure
    repeatability_dof: Figure
    scale_share: Figure
    tolerance_class: ToleranceClass
    sensing_length: Figure | None = None
    immersion: Figure | None = None
    stem: Figure | None = None
    room_rest: Figure | None = None
    surface: bool = False  # infrared: it sees a surface, and the room in it
    spot: Figure | None = None
    sensor_parts: bool = False
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()

    def allowed(self, point: str) -> AllowedPoint | None:
        """The point with its condition where this type may be checked at it, else None."""
        return next((each for each in self.points if each.point == point), None)


@dataclass(frozen=True, slots=True)
class TypeDrift:
    """How thermometers of a type drift before any of their model is known; °C differences, see the table's head."""

    code: str
    offset_walk: Figure
    rate_spread: Figure
    rate_walk: Figure
    offset_spread: Figure
    step_spread: Figure


@dataclass(frozen=True, slots=True)
class Jurisdiction:
    """Whose rules apply; what it does not rule itself comes from `based_on`."""

    code: str
    country: str
    based_on: str = ""


@dataclass(frozen=True, slots=True)
class Tolerance:
    """The permitted offset by one rule, for thermometers whose scale is marked so."""

    code: str
    jurisdiction: str
    tolerance_class: Literal["food", "ambient_water"]
    scale: Scale
    limit: str
    source: str
    place: str = ""


@dataclass(frozen=True, slots=True)
class Limit:
    """A temperature that food must reach or stay below. `within` counts from `start` or the stage before."""

    code: str
    jurisdiction: str
    step: Literal[
        "cooking",
        "microwave",
        "hot_holding",
        "cold_holding",
        "frozen",
        "reheating",
        "cooling",
        "receiving",
        "dish_rinse",
    ]
    food: str
    side: Literal["at_least", "at_most"]
    celsius: str
    source: str
    place: str = ""
    fahrenheit: str = ""
    hold: str = ""
    within: str = ""
    within_counts: Literal["", "stage", "total"] = ""
    start_celsius: str = ""
    start_fahrenheit: str = ""
    instead_of: str = ""


@dataclass(frozen=True, slots=True)
class Container:
    """What a bath for `point` may be made in; a refused one says why by code."""

    code: str
    point: Point
    allowed: bool
    source: str
    why: str = ""


@dataclass(frozen=True, slots=True)
class PlanRule:
    """When something is due: by which rule, at which point, every how many days; no types means all."""

    code: Literal[
        "each_shift",
        "every_days",
        "sentinel",
        "after_incident",
        "after_adjustment",
        "new",
        "hot_point",
        "reference_expiry",
    ]
    point: Literal["", "ice_point", "boiling_point", "comparison"] = ""
    days: Figure | None = None
    types: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Plan:
    """A recheck plan that a first start offers."""

    code: str
    rules: tuple[PlanRule, ...]


@dataclass(frozen=True, slots=True)
class Country:
    """Defaults of a country: `region` is the locale for numbers and dates, whatever the language."""

    code: str
    jurisdiction: str
    unit: Literal["C", "F"]
    region: str
    paper: Literal["A4", "Letter"]


def build(record: type[Record], row: object, where: str) -> Record:
    """The record that a row of plain data stands for; MalformedTable says which row and field is wrong."""
    if not isinstance(row, Mapping):
        raise MalformedTable(f"{where}: expected a table, found {row!r}")
    hints = _hints(record)  # type: ignore[arg-type]  # a class is hashable, which mypy does not see here
    if unknown := row.keys() - hints.keys():
        raise MalformedTable(f"{where}: unknown field {', '.join(sorted(unknown))}")
    if missing := _required(record) - row.keys():
        raise MalformedTable(f"{where}: missing field {', '.join(sorted(missing))}")
    values = {name: _value(hints[name], raw, f"{where}, {name}") for name, raw in row.items()}
    try:
        return record(**values)
    except MalformedTable as problem:
        raise MalformedTable(f"{where}: {problem}") from None


def _value(hint: Any, raw: object, where: str) -> object:
    choices = [each for each in get_args(hint) if each is not NoneType]
    if get_origin(hint) is Literal:
        if raw not in choices:
            raise MalformedTable(f"{where}: {raw!r} is none of {', '.join(map(repr, choices))}")
        return raw
    if get_origin(hint) is tuple:
        if not isinstance(raw, list):
            raise MalformedTable(f"{where}: expected a list, found {raw!r}")
        return tuple(_value(choices[0], each, f"{where}[{i}]") for i, each in enumerate(raw))
    if choices:
        return _value(choices[0], raw, where)
    if is_dataclass(hint) and isinstance(hint, type):
        return build(hint, raw, where)
    if hint is float and type(raw) is int:
        return float(raw)
    if type(raw) is not hint:  # bool is an int to isinstance, and a table that mixes them is wrong
        raise MalformedTable(f"{where}: expected {hint.__name__}, found {raw!r}")
    return raw


@cache
def _hints(record: Any) -> dict[str, Any]:
    return get_type_hints(record)


def _required(record: Any) -> set[str]:
    return {each.name for each in fields(record) if each.default is MISSING}
