"""Numbers, temperatures, dates and times as people write them, by region and not by language.

A region is a locale such as "en_US" or "es_ES"; where the words around are in another language than the region's own,
`region_in` puts that first, "es_US": figures and their order stay the country's, months and hours are named in it.
Minus is U+2212; the space between a number and its unit, and between thousands, is U+00A0: the shipped font has no
narrower one, and a line must not break there.
"""

from datetime import UTC, date, datetime, timedelta
from decimal import ROUND_HALF_EVEN, Context, Decimal
from fractions import Fraction
from functools import cache
from typing import TYPE_CHECKING, cast
from zoneinfo import ZoneInfo

from registry import resources
from registry.quantity import Length, Pressure, Reading, TemperatureDifference
from registry.records.thermometers import Price

if TYPE_CHECKING:
    from babel import Locale

MINUS, PLUS_MINUS, HARD_SPACE = "\N{MINUS SIGN}", "\N{PLUS-MINUS SIGN}", "\N{NO-BREAK SPACE}"
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_NO_GLYPH = str.maketrans({"￥": "¥", "元": "CN¥", "฿": "THB"})  # signs of money that the shipped font lacks
_TWO_DIGITS = Context(prec=2, rounding=ROUND_HALF_EVEN)


def region_in(language: str, region: str) -> str:
    """A region as it is written in a text of a language.

    >>> instant(1_772_548_200_000_000, "America/Chicago", region_in("es", "en_US"))
    '3\\xa0de marzo de 2026, 8:30\\xa0a.m.'
    """
    return f"{language}_{region.partition('_')[2]}"


def number(value: Decimal | int, region: str) -> str:
    """The digits as they are, with the region's decimal mark.

    >>> number(Decimal("-1048.50"), "es_ES")
    '−1\\xa0048,50'
    """
    from babel.numbers import get_decimal_symbol

    exact = Decimal(value)
    whole, _, decimals = f"{exact.copy_abs():f}".partition(".")
    sign = MINUS if exact.is_signed() else ""
    mark = get_decimal_symbol(figures(region)) if decimals else ""
    return sign + f"{int(whole):,}".replace(",", HARD_SPACE) + mark + decimals


def temperature(reading: Reading, region: str) -> str:
    """What a thermometer showed, digits as typed.

    >>> temperature(Reading.from_text("-18.0 C"), "en_GB")
    '−18.0\\xa0°C'
    """
    if not isinstance(reading, Reading):
        raise TypeError(f"not a temperature: {reading!r}")
    return f"{number(reading.value, region)}{HARD_SPACE}°{reading.unit}"


def offset(difference: TemperatureDifference, region: str, places: int | None = None) -> str:
    """An offset or correction with its sign, none on zero, half-even to `places` decimals.

    Left open: one decimal, two where one would not be exact, so that 2.03 beyond a limit of 2 does not look like 2.0.

    >>> offset(TemperatureDifference.from_text("0.4 dC"), "es_ES")
    '+0,4\\xa0°C'
    """
    if places is None:
        places = 1 if Fraction(difference.value) * 10 % 1 == 0 else 2
    value = _rounded(difference, places)
    sign = "+" if value > 0 else ""
    return f"{sign}{number(value or abs(value), region)}{HARD_SPACE}°{difference.unit}"


def expanded(uncertainty: TemperatureDifference, region: str) -> str:
    """U with two digits.

    >>> expanded(TemperatureDifference.from_text("0.4512 dC"), "en_US")
    '±0.45\\xa0°C'
    """
    value = _rounded(uncertainty, 6)
    if not value > 0:
        raise ValueError("an expanded uncertainty is positive")
    short = _TWO_DIGITS.plus(value)
    short = short.quantize(Decimal(1).scaleb(min(0, short.adjusted() - 1)))
    return f"{PLUS_MINUS}{number(short, region)}{HARD_SPACE}°{uncertainty.unit}"


def limit(tolerance: TemperatureDifference, region: str) -> str:
    """The permitted offset either way, digits as its rule states them; to 0.1 where it was turned into another unit.

    >>> limit(TemperatureDifference.from_text("2 dF"), "en_US")
    '±2\\xa0°F'
    >>> limit(TemperatureDifference.from_text("2 dF").to("C"), "en_US")
    '±1.1\\xa0°C'
    """
    said = tolerance if isinstance(tolerance.value, Decimal) else tolerance.rounded(1)
    return f"{PLUS_MINUS}{number(Decimal(said.text().split()[0]), region)}{HARD_SPACE}°{said.unit}"


def typed(quantity: Pressure | Length, region: str) -> str:
    """A pressure or an elevation, digits as typed.

    >>> typed(Length.from_text("1048 m"), "en_US")
    '1\\xa0048\\xa0m'
    """
    return f"{number(quantity.value, region)}{HARD_SPACE}{quantity.unit}"


def money(price: Price, region: str) -> str:
    """An amount of money as the region writes it, with its currency.

    >>> price = Price(amount="1024.9", currency="EUR")
    >>> money(price, "es_ES"), money(price, "en_US")
    ('1.024,90\\xa0€', '€1,024.90')
    """
    from babel.numbers import format_currency

    return _hard(format_currency(Decimal(price.amount), price.currency, locale=figures(region)).translate(_NO_GLYPH))


def day(when: date, region: str) -> str:
    """A day: with its month in words in English, and in another language than the country's own; else in figures.

    >>> day(date(2026, 3, 10), "en_US"), day(date(2026, 3, 10), "es_ES"), day(date(2026, 3, 10), "es_US")
    ('March\\xa010, 2026', '10-03-2026', '10\\xa0de marzo de 2026')
    """
    from babel.dates import format_date

    words = _words(region)
    if words.language != "en" and words.language == figures(region).language:
        return short_day(when, region)
    # The first space lies between day and month in every English region.
    return format_date(when, "long", locale=words).replace(" ", HARD_SPACE, 1)


def short_day(when: date, region: str) -> str:
    """A day in figures, for table columns: the region's order, two digits each, the year in full.

    >>> short_day(date(2026, 3, 10), "en_US"), short_day(date(2026, 3, 10), "de_DE")
    ('03/10/2026', '10.03.2026')
    """
    from babel.dates import format_date

    return format_date(when, _day_pattern(region), locale=figures(region))


def clock(at: int, zone: str, region: str) -> str:
    """The time of day in a zone, at an instant in microseconds UTC.

    >>> clock(1_772_548_200_000_000, "Europe/Madrid", "es_ES")
    '15:30'
    """
    from babel.dates import format_time

    pattern = str(figures(region).time_formats["short"].pattern)
    return _hard(format_time(_local(at, zone).timetz(), pattern, locale=_words(region)))


def instant(at: int, zone: str, region: str) -> str:
    """Day and time in a zone, at an instant in microseconds UTC.

    >>> instant(1_772_548_200_000_000, "Europe/Madrid", "es_ES")
    '03-03-2026, 15:30'
    """
    return f"{day(_local(at, zone).date(), region)}, {clock(at, zone, region)}"


def on_axis(step: str, local: datetime, first: bool, language: str) -> str:
    """A label of a time axis in the language around it; the first, and each January, says its year.

    >>> on_axis("month", datetime(2026, 4, 1), True, "en"), on_axis("day", datetime(2026, 3, 3), False, "es")
    ('Apr\\xa02026', '3\\xa0mar')
    """
    from babel.dates import format_skeleton

    if step == "hour":
        return f"{local:%H:%M}"
    turns = first or local.month == 1
    skeleton = {
        "day": "MMMd",
        "week": "MMMd",
        "month": "yMMM" if turns else "MMM",
        "quarter": "yMMM" if turns else "MMM",
    }
    return _hard(format_skeleton(skeleton.get(step, "y"), local, locale=_locale(language)))


def _local(at: int, zone: str) -> datetime:
    return (_EPOCH + timedelta(microseconds=at)).astimezone(ZoneInfo(zone))


def _rounded(difference: TemperatureDifference, places: int) -> Decimal:
    if not isinstance(difference, TemperatureDifference):
        raise TypeError(f"not a difference of temperatures: {difference!r}")
    return cast(Decimal, difference.rounded(places).value)


@cache
def _day_pattern(region: str) -> str:
    """The region's short date with every part in full; Spanish regions part them by hyphens."""
    if figures(region).language == "es":
        return "dd-MM-yyyy"
    short = str(figures(region).date_formats["short"].pattern)
    for letter, full in (("d", "dd"), ("M", "MM"), ("y", "yyyy")):
        short = short.replace(letter * short.count(letter), full)
    return short


def _hard(text: str) -> str:
    """Spaces narrower than the font has, and plain ones, become hard spaces."""
    return text.translate({0x202F: HARD_SPACE, 0x2009: HARD_SPACE, 0x20: HARD_SPACE})


@cache
def figures(region: str) -> "Locale":
    """The locale of the country's own language, which says how its numbers, days and times are written."""
    return _locale(_own_regions().get(region.partition("_")[2], region))


@cache
def _own_regions() -> dict[str, str]:
    """By the last part of their names: of a country, or of all Europe."""
    return {one.region.partition("_")[2]: one.region for one in resources.countries().values()}


@cache
def _words(region: str) -> "Locale":
    """The locale of the language around, as it is spoken in that country where that is known."""
    from babel.localedata import exists

    return _locale(region if exists(region) else region.partition("_")[0])


@cache
def _locale(name: str) -> "Locale":
    from babel import Locale

    return Locale.parse(name)
