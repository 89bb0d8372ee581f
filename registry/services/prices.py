"""What a thermometer cost: one amount and its currency, as people type it."""

import re
from decimal import Decimal

from sqlalchemy import Connection

from registry.quantity import NotAReading, parse_number
from registry.records.thermometers import Price
from registry.services.problems import Problem, Refused, refuse
from registry.services.session import Session

WHOLE = 8  # digits before the mark: so many are seen where money has many noughts, more are a slip (judgement)
NOTHING = "none"  # says that no price is known


def usual_currency(country: str) -> str:
    """The currency of a country (ISO 3166 code) by Babel's list; "" where it has none there.

    >>> usual_currency("ES"), usual_currency("ZZ")
    ('EUR', '')
    """
    from babel.core import get_global

    now = [one[0] for one in get_global("territory_currencies").get(country, ()) if one[2] is None and one[3]]
    return str(now[0]) if now else ""


def currency_here(session: Session, connection: Connection) -> str:
    """The currency of the group's country, "" where none is known."""
    return usual_currency(session.group(connection).payload.country)


def read(text: str, usual: str, currency: str = "") -> Price | None:
    """`24.90`, `24,90 EUR`; nothing, or `none`, is no price. usual: where no currency is named, "" for none.

    currency: from a field of its own. Refused where it is no amount, or of no known currency.
    """
    match = re.fullmatch(r"(.*?[0-9])\s*([A-Za-z]{3})?", text.strip())
    if not text.strip() or text.strip().casefold() == NOTHING:
        if currency.strip() and not text.strip():
            raise refuse("price", "currency_alone", value=currency.strip())
        return None
    amount, named = (match[1], match[2] or "") if match else (text.strip(), "")
    said = currency.strip().upper() or named.upper() or usual
    if named and currency.strip() and named.upper() != said:
        raise refuse("price", "two_currencies", value=named.upper(), other=said)
    if not said:
        raise refuse("price", "currency_unsaid", value=text.strip())
    if not known_currency(said):
        raise refuse("price", "currency_unknown", value=said)
    try:
        value = _number(amount, said)
    except NotAReading as problem:
        if problem.code == "too_many_digits":
            raise refuse("price", "price_digits", value=amount, currency=said, decimals=decimals_of(said)) from None
        raise refuse("price", "not_a_price", value=text.strip()) from None
    found = Price(amount=f"{value:f}", currency=said)
    if wrong := problems(found):
        raise Refused(*wrong)
    return found


def problems(price: Price | None) -> list[Problem]:
    """What stands against an amount as it would be recorded."""
    if price is None:
        return []
    if not known_currency(price.currency):
        return [Problem("price", "currency_unknown", {"value": price.currency})]
    try:
        value = _number(price.amount, price.currency)
    except NotAReading:
        return [Problem("price", "not_a_price", {"value": price.amount})]
    return [Problem("price", "price_negative", {"value": price.amount})] if value.is_signed() else []


def _number(text: str, currency: str) -> Decimal:
    decimals = decimals_of(currency)
    value = parse_number(text, decimals=max(decimals, 1), whole=WHOLE)
    if -int(value.as_tuple().exponent) > decimals:
        raise NotAReading("too_many_digits", text)
    return value


def known_currency(code: str) -> bool:
    """Whether ISO 4217 has it, by Babel's list."""
    from babel.numbers import list_currencies

    return code in list_currencies()


def decimals_of(currency: str) -> int:
    """How many decimals its amounts have: 2 in most."""
    from babel.numbers import get_currency_precision

    return int(get_currency_precision(currency))


def plain(price: Price | None, region: str) -> str:
    """As it would be typed over: the region's decimal mark, the currency behind it."""
    from registry.wording import format

    if price is None:
        return ""
    return f"{format.number(Decimal(price.amount), region).replace(format.HARD_SPACE, '')} {price.currency}"
