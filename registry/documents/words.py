"""Sentences, numbers and dates of one page, in its language, region and zone."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from zoneinfo import ZoneInfo

from registry.documents.page import plain
from registry.quantity import Length, Pressure, Reading, TemperatureDifference, Unit
from registry.wording import format as fmt
from registry.wording import say

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Words:
    """Bound to how one page is written."""

    language: str
    region: str
    zone: str

    def say(self, code: str, /, **values: object) -> str:
        shown = {key: plain(value) if isinstance(value, str) else value for key, value in values.items()}
        # A time or a firm may end in its own full stop: "9:20 a.m." at the end of a sentence.
        return re.sub(r"(?<!\.)\.\.(?!\.)", ".", say(code, self.language, **shown))

    def name_of(self, code: str) -> str:
        """A word from a table inside a sentence: its first letter small."""
        text = self.say(code)
        return text[:1].lower() + text[1:]

    def joined(self, parts: Iterable[str]) -> str:
        """A list in words: "a, b and c"."""
        from babel.lists import format_list

        locale = {"en": "en_GB"}.get(self.language, self.language)
        return str(format_list(list(parts), locale=locale))

    def number(self, value: Decimal | int) -> str:
        return fmt.number(value, self.region)

    def temperature(self, reading: Reading) -> str:
        return fmt.temperature(reading, self.region)

    def both(self, reading: Reading, other: Unit | None) -> str:
        """A reference as used, and where wanted the other unit in brackets, to 0.1."""
        shown = self.temperature(reading)
        if other is None:
            return shown
        return f"{shown} ({self.temperature(Reading.from_celsius(reading.celsius(), other))})"

    def offset(self, difference: TemperatureDifference, places: int) -> str:
        return fmt.offset(difference, self.region, places)

    def signed(self, difference: TemperatureDifference, places: int) -> str:
        """An offset without its unit, for a column that names it."""
        return _bare(self.offset(difference, places))

    def two_digits(self, uncertainty: TemperatureDifference) -> str:
        """Without sign and unit."""
        return _bare(fmt.expanded(uncertainty, self.region)).lstrip(fmt.PLUS_MINUS)

    def uncertainty(self, uncertainty: TemperatureDifference) -> str:
        """Without sign, with unit."""
        return fmt.expanded(uncertainty, self.region).lstrip(fmt.PLUS_MINUS)

    def limit(self, tolerance: TemperatureDifference) -> str:
        return fmt.limit(tolerance, self.region)

    def typed(self, quantity: Pressure | Length) -> str:
        return fmt.typed(quantity, self.region)

    def chance(self, share: float) -> str:
        """A probability in %, with a decimal where it is near nought or one."""
        percent = Decimal(str(share)) * 100
        if percent < Decimal("0.1"):
            shown = "<" + self.number(Decimal("0.1"))
        elif percent > Decimal("99.9"):
            shown = ">" + self.number(Decimal("99.9"))
        else:
            places = "1" if 1 <= percent <= 99 else "0.1"
            shown = self.number(percent.quantize(Decimal(places)))
        return f"{shown}{fmt.HARD_SPACE}%"

    def difference(self, difference: TemperatureDifference) -> str:
        """A step: digits as stated, with unit, without sign."""
        return self.limit(difference).lstrip(fmt.PLUS_MINUS)

    def day(self, when: date) -> str:
        return fmt.day(when, self.region)

    def short_day(self, when: date) -> str:
        """In figures."""
        return fmt.short_day(when, self.region)

    def clock(self, at: int) -> str:
        return fmt.clock(at, self.zone, self.region)

    def instant(self, at: int) -> str:
        return fmt.instant(at, self.zone, self.region)

    def local(self, at: int) -> datetime:
        return (_EPOCH + timedelta(microseconds=at)).astimezone(ZoneInfo(self.zone))

    def utc_offset(self, at: int) -> str:
        """How far the zone is from UTC then."""
        minutes = int((self.local(at).utcoffset() or timedelta()).total_seconds() // 60)
        sign = fmt.MINUS if minutes < 0 else "+"
        hours, rest = divmod(abs(minutes), 60)
        return f"UTC{sign}{hours}" + (f":{rest:02d}" if rest else "")


def converted(value: Fraction, unit: Unit, places: int) -> Decimal:
    """An exact temperature, given in °C, in `unit`, half-even to `places` decimals."""
    exact = value if unit == "C" else value * Fraction(9, 5) + 32
    return Decimal(round(exact * 10**places)).scaleb(-places)


def other_unit(unit: Unit) -> Unit:
    return "F" if unit == "C" else "C"


def _bare(text: str) -> str:
    return text.rsplit(f"{fmt.HARD_SPACE}°", 1)[0]
