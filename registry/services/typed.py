"""What people type: readings, pressures, days. Each gives one clear problem where it is not taken."""

import re
from collections.abc import Iterable
from dataclasses import replace
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import get_args
from zoneinfo import ZoneInfo

from registry.quantity import (
    READING,
    Length,
    LengthUnit,
    NotAReading,
    Pressure,
    PressureUnit,
    Reading,
    TemperatureDifference,
    Unit,
    parse_number,
    parse_reading,
)
from registry.services.places import WEEKDAYS
from registry.services.problems import Refused, refuse
from registry.services.thermometers import ScaleGiven
from registry.wording.format import temperature


def choice(field: str, text: str, allowed: Iterable[str]) -> str:
    """One of a few words, in any case, with a hyphen for the underscore."""
    known = list(allowed)
    if not text.strip():
        raise refuse(field, "choose_one", choices=", ".join(known))
    wanted = text.strip().replace("-", "_").casefold()
    found = next((one for one in known if one.casefold() == wanted), None)
    if found is None:
        raise refuse(field, "choose", value=text, choices=", ".join(known))
    return found


def unit(text: str) -> Unit:
    return "F" if choice("unit", text.removeprefix("°"), get_args(Unit)) == "F" else "C"


def reading(text: str, of_unit: Unit, field: str = "reading") -> Reading:
    """`0,4`, `-1.0`; a unit may stand behind it, `33.5F`, and goes before the one given."""
    match = re.fullmatch(r"(.*[0-9])\s*°?\s*([CcFf])", text.strip())
    number, named = (match[1], match[2].upper()) if match else (text, of_unit)
    try:
        return parse_reading(number, "F" if named == "F" else "C")
    except NotAReading as problem:
        raise refuse(field, problem.code, value=text) from None


def echoed(refused: Refused, region: str) -> Refused:
    """The same refusal with its readings as people of a region write them: `1.25 C` is 1,25 °C to a Spaniard."""
    return Refused(
        *(
            replace(one, values={name: _echo(said, region) for name, said in one.values.items()})
            for one in refused.problems
        )
    )


def _echo(said: object, region: str) -> object:
    if not isinstance(said, str) or READING.fullmatch(said) is None:
        return said
    return temperature(Reading.from_text(said), region)


def difference(text: str, of_unit: Unit, field: str) -> TemperatureDifference:
    found = reading(text, of_unit, field)
    return TemperatureDifference(found.value, found.unit)


def elevation(text: str) -> Length:
    """`120 m` or `400 ft`."""
    match = re.fullmatch(r"(.*?)\s*(m|ft)", text.strip())
    if match is None:
        raise refuse("elevation", "not_a_length", value=text)
    found: LengthUnit = "ft" if match[2] == "ft" else "m"
    try:
        return Length.typed(match[1], found)
    except (NotAReading, ValueError):
        raise refuse("elevation", "not_a_length", value=text) from None


def pressure(text: str) -> Pressure:
    """`1013.2 hPa` or `29.92 inHg`."""
    units = {one.casefold(): one for one in get_args(PressureUnit)}
    match = re.fullmatch(r"(.*?)\s*([A-Za-z]+)", text.strip())
    found: PressureUnit | None = units.get(match[2].casefold()) if match else None
    if match is None or found is None:
        raise refuse("pressure", "not_a_pressure", value=text)
    try:
        return Pressure.typed(match[1], found)
    except (NotAReading, ValueError):
        raise refuse("pressure", "not_a_pressure", value=text) from None


def day(text: str, today: date, field: str = "day") -> date:
    """`2026-03-03`; nothing is today."""
    if not text.strip():
        return today
    if re.fullmatch("[0-9]{4}-[0-9]{2}-[0-9]{2}", text.strip()):
        try:
            return date.fromisoformat(text.strip())
        except ValueError:
            pass
    raise refuse(field, "not_a_day", value=text)


def moment(on: date, time: str, zone: str, now: int, field: str = "time") -> int:
    """A local time of day on a day, as an instant; refused where it has not come yet."""
    match = re.fullmatch("([01]?[0-9]|2[0-3]):([0-5][0-9])", time.strip())
    if match is None:
        raise refuse(field, "not_a_time", value=time)
    local = datetime(on.year, on.month, on.day, int(match[1]), int(match[2]), tzinfo=ZoneInfo(zone))
    at = int(local.timestamp()) * 1_000_000
    if at > now:
        raise refuse(field, "in_the_future")
    return at


def moment_or_now(text: str, today: date, zone: str, now: int) -> int | None:
    """`14:30` today, `2026-03-03 14:30`, or nothing for now."""
    if not text.strip():
        return None
    words = text.split()
    on = day(words[0], today, "at") if len(words) == 2 else today
    return moment(on, words[-1], zone, now, "at")


def scale(text: str) -> ScaleGiven:
    """`C:0.1:-40:150`: unit, step, lowest, highest."""
    parts = text.split(":")
    if len(parts) != 4:
        raise refuse("scale", "not_a_scale", value=text)
    of_unit = unit(parts[0])
    return ScaleGiven(
        difference(parts[1], of_unit, "step"),
        reading(parts[2], of_unit, "range"),
        reading(parts[3], of_unit, "range"),
    )


def weekdays(text: str) -> tuple[int, ...]:
    """`mon-fri`, `sat,sun`, or nothing for every day; Monday is 0."""
    found: set[int] = set()
    for part in text.split(",") if text.strip() else ["mon-sun"]:
        ends = [WEEKDAYS.index(choice("weekdays", one, WEEKDAYS)) for one in part.split("-")]
        if len(ends) > 2:
            raise refuse("weekdays", "not_valid", value=text)
        first, last = ends[0], ends[-1]
        found |= {(first + n) % 7 for n in range((last - first) % 7 + 1)}
    return tuple(sorted(found))


def code(field: str, text: str) -> str:
    """A short word of the owner's own, such as a kind of training, as it is kept: `ice point` is ice_point."""
    found = re.sub(r"[\s-]+", "_", text.strip().lower())
    if not re.fullmatch(r"[a-z][a-z0-9]*(_[a-z0-9]+)*", found):
        raise refuse(field, "not_a_word", value=text)
    return found


def certificate_point(
    text: str, of_unit: Unit
) -> tuple[Reading, TemperatureDifference, TemperatureDifference, Decimal]:
    """`0:0.1:0.05:2`: temperature, correction, expanded uncertainty, k."""
    parts = text.split(":")
    if len(parts) != 4:
        raise refuse("points", "not_a_point", value=text)
    try:
        k = parse_number(parts[3])
    except NotAReading:
        raise refuse("points", "not_a_point", value=text) from None
    return (
        reading(parts[0], of_unit, "points"),
        difference(parts[1], of_unit, "points"),
        difference(parts[2], of_unit, "points"),
        k,
    )


def ago(now: int, days: int, zone: str) -> date:
    """The local day so many days before now."""
    return (datetime.fromtimestamp(now / 1e6, ZoneInfo(zone)) - timedelta(days=days)).date()
