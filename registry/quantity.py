"""Temperatures, differences, pressures and lengths as typed; their exact text in the journal.

A temperature and a difference of temperatures are separate classes: only a temperature knows of the 32
of °F, and only a difference is scaled. Nothing here passes through a float on its way into the journal.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final, Literal, cast, get_args

Unit = Literal["C", "F"]
PressureUnit = Literal["Pa", "hPa", "mbar", "kPa", "mmHg", "inHg"]
LengthUnit = Literal["m", "ft"]
Exact = Decimal | Fraction | int | float

# Conventional mercury, 13 595.1 kg/m³ at 9.806 65 m/s² (NIST SP 811, appendix B.8); 25.4 mm to the inch.
_MMHG: Final = Fraction("133.322387415")
_PASCALS: Final[dict[PressureUnit, Fraction]] = {
    "Pa": Fraction(1),
    "hPa": Fraction(100),
    "mbar": Fraction(100),
    "kPa": Fraction(1000),
    "mmHg": _MMHG,
    "inHg": _MMHG * Fraction("25.4"),
}
_METRES: Final[dict[LengthUnit, Fraction]] = {"m": Fraction(1), "ft": Fraction("0.3048")}
# Three decimals only where no thousands are met: "1,013 hPa" or "1,609 m" must not become 1.
_THREE_DECIMALS: Final = ("kPa", "inHg")

# The forms in the journal. No leading zeros and no plus: each number has one text for its digits.
READING: Final = re.compile(r"(-?(?:0|[1-9][0-9]{0,3})(?:\.[0-9]{1,4})?) ([CF])")
DIFFERENCE: Final = re.compile(r"(-?(?:0|[1-9][0-9]{0,4})(?:\.[0-9]{1,4})?) d([CF])")
PRESSURE: Final = re.compile(r"((?:0|[1-9][0-9]{0,5})(?:\.[0-9]{1,4})?) (Pa|hPa|mbar|kPa|mmHg|inHg)")
LENGTH: Final = re.compile(r"(-?(?:0|[1-9][0-9]{0,5})(?:\.[0-9]{1,3})?) (m|ft)")
_GROUPED: Final = re.compile(r"-?[0-9]{1,3}(?:[.,'’\s][0-9]{3})+(?:[.,][0-9]+)?")
_PLAIN: Final = re.compile(r"-?[0-9]+(?:[.,][0-9]+)?")


class NotAReading(ValueError):
    """What was typed is no number that is taken here.

    `code`: `empty`, `group_separator`, `too_many_digits`, `negative` or `not_a_number`; `typed`: the text.
    """

    def __init__(self, code: str, typed: str) -> None:
        super().__init__(f"{code}: {typed[:40]!r}")
        self.code = code
        self.typed = typed


@dataclass(frozen=True, slots=True)
class Reading:
    """A temperature with its digits as typed: 0.10 and 0.1 are equal in value and differ in `text()`."""

    value: Decimal
    unit: Unit

    def __post_init__(self) -> None:
        _parts(READING, self.text())

    @classmethod
    def from_text(cls, text: str) -> "Reading":
        """Read the journal's form, `"-18.0 C"`; anything else is a `ValueError`."""
        value, unit = _parts(READING, text)
        return cls(value, cast(Unit, unit))

    @classmethod
    def from_celsius(cls, celsius: Exact, unit: Unit) -> "Reading":
        """A computed temperature as it is shown: brought to `unit`, there half-even to 0.1.

        >>> Reading.from_celsius(99.9743, "F").text()
        '212.0 F'
        """
        value = exact(celsius)
        return cls(_rounded(value if unit == "C" else value * Fraction(9, 5) + 32, 1), unit)

    def text(self) -> str:
        return f"{self.value:f} {self.unit}"

    def celsius(self) -> Fraction:
        """Exact, in °C."""
        value = Fraction(self.value)
        return value if self.unit == "C" else (value - 32) * Fraction(5, 9)

    def __sub__(self, other: "Reading") -> "TemperatureDifference":
        if not isinstance(other, Reading):
            return NotImplemented
        if self.unit != other.unit:
            raise ValueError(f"no difference between °{self.unit} and °{other.unit}")
        # Adding zero turns the -0.0 that Decimal makes of -0.0 minus 0.0 into 0.0.
        return TemperatureDifference(self.value - other.value + 0, self.unit)


@dataclass(frozen=True, slots=True)
class TemperatureDifference:
    """An offset, correction, uncertainty or tolerance: exact, scaled between units, never shifted by 32."""

    value: Decimal | Fraction
    unit: Unit

    def __post_init__(self) -> None:
        exact(self.value)
        if self.unit not in get_args(Unit):
            raise ValueError(f"unknown unit of temperature: {self.unit!r}")

    @classmethod
    def from_text(cls, text: str) -> "TemperatureDifference":
        """Read the journal's form, `"0.25 dC"`; anything else is a `ValueError`."""
        value, unit = _parts(DIFFERENCE, text)
        return cls(value, cast(Unit, unit))

    def text(self) -> str:
        """The journal's form. A fraction, or more than 4 decimals, is refused: call `rounded(4)` first."""
        if isinstance(self.value, Fraction):
            raise ValueError("a fraction has no decimal text; round it first")
        written = f"{self.value:f} d{self.unit}"
        _parts(DIFFERENCE, written)
        return written

    def to(self, unit: Unit) -> "TemperatureDifference":
        """The same difference in the other unit, exact: times 9/5 or 5/9 and nothing added.

        >>> TemperatureDifference.from_text("1 dC").to("F").rounded(1).text()
        '1.8 dF'
        """
        if unit == self.unit:
            return self
        factor = Fraction(9, 5) if unit == "F" else Fraction(5, 9)
        return TemperatureDifference(Fraction(self.value) * factor, unit)

    def rounded(self, places: int) -> "TemperatureDifference":
        """Half-even, always with `places` decimals, so that one value has one text."""
        return TemperatureDifference(_rounded(Fraction(self.value), places), self.unit)


@dataclass(frozen=True, slots=True)
class Pressure:
    """A pressure with its digits as typed, `"29.92 inHg"`."""

    value: Decimal
    unit: PressureUnit

    def __post_init__(self) -> None:
        _parts(PRESSURE, self.text())

    @classmethod
    def from_text(cls, text: str) -> "Pressure":
        value, unit = _parts(PRESSURE, text)
        return cls(value, cast(PressureUnit, unit))

    @classmethod
    def typed(cls, text: str, unit: PressureUnit) -> "Pressure":
        """What a person typed; a minus is `NotAReading` too."""
        value = parse_number(text, decimals=3 if unit in _THREE_DECIMALS else 2)
        if value.is_signed():
            raise NotAReading("negative", text)
        return cls(value, unit)

    def text(self) -> str:
        return f"{self.value:f} {self.unit}"

    def pascal(self) -> float:
        return float(Fraction(self.value) * _PASCALS[self.unit])


@dataclass(frozen=True, slots=True)
class Length:
    """An elevation or depth with its digits as typed, `"120 m"`; below sea level is negative."""

    value: Decimal
    unit: LengthUnit

    def __post_init__(self) -> None:
        _parts(LENGTH, self.text())

    @classmethod
    def from_text(cls, text: str) -> "Length":
        value, unit = _parts(LENGTH, text)
        return cls(value, cast(LengthUnit, unit))

    @classmethod
    def typed(cls, text: str, unit: LengthUnit) -> "Length":
        return cls(parse_number(text, decimals=2), unit)

    def text(self) -> str:
        return f"{self.value:f} {self.unit}"

    def metres(self) -> float:
        return float(Fraction(self.value) * _METRES[self.unit])


def parse_reading(text: str, unit: Unit) -> Reading:
    """What a person typed for a reading: up to 4 digits, then a point or comma and up to 3 more.

    A true minus and white space outside are taken; group separators and all else are `NotAReading`.

    >>> parse_reading(" 99,8 ", "C").text()
    '99.8 C'
    """
    return Reading(_typed(text, whole=4, decimals=3), unit)


def parse_number(text: str, decimals: int = 3, whole: int = 6) -> Decimal:
    """The same for pressures, lengths and prices: up to `whole` digits, then up to `decimals` more."""
    return _typed(text, whole=whole, decimals=decimals)


def too_fine(reading: Reading, step: Decimal) -> bool:
    """Whether these digits are finer than the thermometer can be read.

    `step`: the display's step, or half a division of a scale, in the reading's unit.

    >>> too_fine(parse_reading("33.3", "F"), Decimal("0.5"))
    True
    """
    if not step > 0:
        raise ValueError("the step must be positive")
    finer = _exponent(reading.value) < min(0, _exponent(step.normalize()))
    return finer or reading.value % step != 0


def mean_difference(differences: Sequence[TemperatureDifference]) -> TemperatureDifference:
    """The exact mean of differences in one unit: of a first reading and its two repeats."""
    unit = differences[0].unit
    if any(each.unit != unit for each in differences):
        raise ValueError("no mean of differences in °C and °F")
    total = sum((Fraction(each.value) for each in differences), Fraction(0))
    return TemperatureDifference(total / len(differences), unit)


def exact(number: Exact) -> Fraction:
    """A number unrounded, a float as its shortest decimal text; NaN and infinity are a `ValueError`."""
    try:
        return Fraction(str(float(number))) if isinstance(number, float) else Fraction(number)
    except (ValueError, OverflowError):
        raise ValueError(f"not a finite number: {number!r}") from None


def _rounded(value: Fraction, places: int) -> Decimal:
    return Decimal(round(value * 10**places)).scaleb(-places)


def _exponent(value: Decimal) -> int:
    return cast(int, value.as_tuple().exponent)


def _parts(pattern: re.Pattern[str], text: str) -> tuple[Decimal, str]:
    match = pattern.fullmatch(text)
    if match is None:
        raise ValueError(f"not a quantity in its written form: {text[:60]!r}")
    return Decimal(match[1]), match[2]


def _typed(text: str, whole: int, decimals: int) -> Decimal:
    trimmed = text.strip().replace("\N{MINUS SIGN}", "-")
    if re.fullmatch(rf"-?[0-9]{{1,{whole}}}(?:[.,][0-9]{{1,{decimals}}})?", trimmed):
        return Decimal(trimmed.replace(",", "."))
    raise NotAReading(_refusal(trimmed), text)


def _refusal(trimmed: str) -> str:
    if not trimmed:
        return "empty"
    if _GROUPED.fullmatch(trimmed):
        return "group_separator"
    return "too_many_digits" if _PLAIN.fullmatch(trimmed) else "not_a_number"
