"""What is printed adds up: reading less reference is the offset as printed, or the fixed sentence stands there."""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from registry.documents.facts import CertificateFacts
from registry.documents.results import notes_of, rows_of
from registry.documents.words import Words
from registry.wording import say
from tests.documents.samples import BOIL, COMPARISON, ICE, LIMIT_C, LIMIT_F, measured, one_point, with_page

TENTHS = st.integers(-400, 3000)


@st.composite
def facts(draw: st.DrawFn) -> CertificateFacts:
    unit = draw(st.sampled_from("CF"))
    places = draw(st.integers(0, 2))
    count = draw(st.sampled_from((1, 1, 2, 3, 7)))
    reference = Decimal(draw(TENTHS)) / 10
    typed = [
        f"{(reference + Decimal(draw(st.integers(-500, 500))) / 100).quantize(Decimal(1).scaleb(-places))} {unit}"
        for _ in range(count)
    ]
    one = measured(
        *typed,
        reference=f"{reference} {unit}",
        limits=draw(st.sampled_from((LIMIT_C, LIMIT_F))),
        bath=draw(st.sampled_from((ICE, BOIL, COMPARISON))),
        expanded=None,
        k=None,
        outcome="pass",
    )
    language, region = draw(st.sampled_from((("en", "en_GB"), ("es", "es_ES"), ("en", "en_US"))))
    return with_page(
        one_point(one), language=language, region=region, units=draw(st.sampled_from(((), ("C",), ("F", "C"))))
    )


def number(text: str, region: str) -> Decimal:
    return Decimal(text.replace("\N{MINUS SIGN}", "-").replace("\N{NO-BREAK SPACE}", "").replace(",", "."))


@given(facts())
@settings(max_examples=300, deadline=None)
def test_what_is_printed_adds_up_or_the_page_says_that_it_may_not(facts: CertificateFacts) -> None:
    words = Words(facts.page.language, facts.page.region, facts.page.zone)
    rows = rows_of(facts, words)
    sums = []
    for line in (line for row in rows for line in row.lines):
        reading, reference, offset, correction = (
            number(line.texts[name], facts.page.region) for name in ("reading", "reference", "offset", "correction")
        )
        assert correction == -offset
        assert abs(reading - reference - offset) <= Decimal(1).scaleb(offset.as_tuple().exponent)  # type: ignore[arg-type]
        sums.append(reading - reference == offset)
    said = say("certificate.results.sums", facts.page.language) in notes_of(facts, rows, words)
    assert said == (not all(sums))


@pytest.mark.parametrize("typed", ["31.17 F", "-18 C", "0.4 C", "100.05 C"])
def test_one_reading_is_printed_as_typed(typed: str) -> None:
    one = one_point(measured(typed, reference=f"{Decimal(typed[:-2]).quantize(Decimal('0.1'))} {typed[-1]}"))
    (row,) = rows_of(one, Words("en", "en_GB", "UTC"))
    assert number(row.lines[0].texts["reading"], "en_GB") == Decimal(typed[:-2])
    assert row.lines[0].texts["reading"].replace("\N{MINUS SIGN}", "-") == typed[:-2]
