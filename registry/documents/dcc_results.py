"""The results in the exchange format, point by point: reference, readings, offset with U, how that was judged.

As found before an adjustment stands in an influence condition, as left in the results.
"""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from xml.etree.ElementTree import Element

from registry.documents import sentences
from registry.documents.dcc_parts import Making, identification, node, number
from registry.documents.facts import BathFacts, Measured, PointResult
from registry.quantity import Reading, exact
from registry.records.outcomes import OUTSIDE

ZERO_CELSIUS = Decimal("273.15")  # K, by definition
# What the format has no word for (cannot decide) is said in words alone.
CONFORMITY = {
    "pass": "pass",
    "conditional_pass": "conditionalPass",
    "conditional_fail": "conditionalFail",
    "fail": "fail",
    "not_accepted": "noPass",
}


def results(making: Making) -> Element:
    methods = [
        node(
            "dcc:usedMethod",
            making.said("dcc:name", one.name),
            making.said(
                "dcc:description", *sentences.method(replace(making.facts, methods=(one,), results=()), making.words)
            ),
        )
        for one in making.facts.methods
    ]
    return node(
        "dcc:measurementResults",
        _some("dcc:usedMethods", methods),
        *(_point(making, one) for one in making.facts.results),
    )


def _point(making: Making, result: PointResult) -> Element:
    """One point with its reference, what was read as found and as left, and how that was judged."""
    words = making.words
    alone = replace(making.facts, results=(result,))
    uncertainty = making.said("dcc:description", *sentences.uncertainty(alone, words))
    methods = [node("dcc:usedMethod", making.said("dcc:name", making.sentence("section.uncertainty")), uncertainty)]
    if done := sentences.method(replace(alone, methods=()), words):
        name = making.said("dcc:name", making.sentence("section.method"))
        methods.append(node("dcc:usedMethod", name, making.said("dcc:description", *done)))
    baths = list(dict.fromkeys(one.bath for one in alone.measured()))
    conditions = [_pressure(making, bath) for bath in baths if bath.pressure]
    if not result.unchanged:
        conditions.append(
            node(
                "dcc:influenceCondition",
                making.said("dcc:name", making.sentence("results.as_found")),
                node("dcc:status", "beforeAdjustment"),
                node("dcc:data", _measured(making, result.as_found)),
                refType="basic_adjustment",
            )
        )
    return node(
        "dcc:measurementResult",
        making.named(words.say(f"point.{result.point}")),
        making.said("dcc:description", *sentences.reference(alone, words)),
        node("dcc:usedMethods", *methods),
        _some("dcc:measuringEquipments", [one for bath in baths for one in _references(making, bath)]),
        _some("dcc:influenceConditions", conditions),
        node("dcc:results", _result(making, result)),
    )


def _references(making: Making, bath: BathFacts) -> list[Element]:
    """The thermometers that a comparison rests on, with the number of an outside certificate and no more."""
    found = []
    for one in bath.references:
        known = [identification(making, "owner", one.tag_id, making.sentence("exchange.tag"))]
        if one.certificate_number:
            day = making.words.day(one.issued) if one.issued else "–"
            name = making.words.say("certificate.exchange.outside", issuer=one.issuer, day=day)
            known.append(identification(making, "other", one.certificate_number, name))
        name_of = making.said("dcc:name", making.sentence("exchange.reference"))
        found.append(node("dcc:measuringEquipment", name_of, node("dcc:identifications", *known)))
    return found


def _pressure(making: Making, bath: BathFacts) -> Element:
    assert bath.pressure is not None
    name = making.words.say("certificate.exchange.pressure", bath=bath.number)
    pascals = number(exact(bath.pressure.station.pascal()))
    quantity = node("dcc:quantity", node("si:real", node("si:value", pascals), node("si:unit", "\\pascal")))
    return node("dcc:influenceCondition", making.said("dcc:name", name), node("dcc:data", quantity))


def _result(making: Making, result: PointResult) -> Element:
    """As left; where nothing was adjusted as found, and where nobody read again that this is not known."""
    if result.turned_since is not None:
        point, at = making.words.say(f"point.{result.point}"), making.words.instant(result.turned_since)
        said = making.words.say("certificate.results.turned_since", point=point, at=at)
        name, data = "as_left", making.said("dcc:text", said)
    elif result.adjustment is None:
        never = all(one.unchanged for one in making.facts.results)
        name, data = "as_found_and_left" if never else "as_found", _measured(making, result.as_found)
    elif result.adjustment.as_left:
        name, data = "as_left", _measured(making, result.adjustment.as_left)
    else:
        name, data = "as_left", making.said("dcc:text", making.sentence("results.not_measured"))
    return node("dcc:result", making.named(making.sentence(f"results.{name}")), node("dcc:data", data))


def _measured(making: Making, one: Measured) -> Element:
    """Reference, reading and offset; of several readings their mean, and each as typed in words."""
    words = making.words
    several = len(one.readings) > 1
    typed = ", ".join(words.number(each.value) for each in one.readings) + f"\N{NO-BREAK SPACE}°{one.unit}"
    readings = words.say("certificate.results.typed", readings=typed) if several or one.unit == "F" else ""
    reference = words.temperature(one.reference) if one.unit == "F" else ""
    at = words.local(one.at).isoformat(timespec="seconds")
    return node(
        "dcc:list",
        _quantity(making, "reference", reference, _temperature((one.reference,)), "basic_referenceValue"),
        _quantity(
            making,
            "mean" if several else "reading",
            readings,
            _temperature(one.readings, at),
            "basic_measuredValue",
        ),
        _offset(making, one),
    )


def _quantity(making: Making, code: str, described: str, value: Element, ref_type: str) -> Element:
    return node(
        "dcc:quantity",
        making.said("dcc:name", making.sentence(f"results.{code}")),
        making.said("dcc:description", described) if described else None,
        value,
        refType=ref_type,
    )


def _temperature(readings: Sequence[Reading], at: str = "") -> Element:
    """In kelvin and °C: the digits as typed of one reading in °C, else exact or to 4 decimals."""
    first = readings[0]
    if len(readings) == 1 and first.unit == "C":
        kelvin, celsius = f"{first.value + ZERO_CELSIUS:f}", f"{first.value:f}"
    else:
        mean = sum((one.celsius() for one in readings), Fraction(0)) / len(readings)
        kelvin, celsius = number(mean + Fraction(ZERO_CELSIUS)), number(mean)
    values = ((kelvin, "\\kelvin"), (celsius, "\\degreecelsius"))
    return node("si:hybrid", *(_real(value, unit, node("si:dateTime", at) if at else None) for value, unit in values))


def _real(value: str, unit: str, *more: Element | None) -> Element:
    return node("si:real", node("si:value", value), node("si:unit", unit), *more)


def _offset(making: Making, one: Measured) -> Element:
    """Reading minus reference in kelvin with U, where it was evaluated, and the outcome under the owner's rule."""
    said = [making.sentence("results.sign_rule")]
    if one.outcome in OUTSIDE:
        said.append(making.sentence("results.no_correction"))
    uncertainty = None
    if one.expanded is None or one.k is None:
        said.append(making.sentence("uncertainty.not_evaluated"))
    else:
        uncertainty = node(
            "si:measurementUncertaintyUnivariate",
            node(
                "si:expandedMU",
                node("si:valueExpandedMU", number(one.expanded.to("C").value)),
                node("si:coverageFactor", number(one.k)),
                node("si:coverageProbability", number(sentences.COVERAGE / 100)),
            ),
        )
    value = _real(number(one.exact_offset.to("C").value), "\\kelvin", uncertainty)
    made = _quantity(making, "offset", "\n".join(said), value, "basic_measurementError")
    made.append(node("dcc:measurementMetaData", _judged(making, one)))
    return made


def _judged(making: Making, one: Measured) -> Element:
    judged = PointResult(point=one.bath.point, check_number="", as_found=one)
    limits = sentences.limits(replace(making.facts, results=(judged,)), making.words)
    conformity = CONFORMITY.get(one.outcome)
    return node(
        "dcc:metaData",
        making.said("dcc:name", making.words.say(f"outcome.{one.outcome}")) if one.outcome else None,
        making.said("dcc:declaration", *limits),
        node("dcc:conformity", conformity) if conformity else None,
        refType="basic_conformity",
    )


def _some(tag: str, inside: Sequence[Element]) -> Element | None:
    """A list, which the format wants left out rather than empty."""
    return node(tag, *inside) if inside else None
