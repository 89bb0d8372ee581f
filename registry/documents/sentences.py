"""The sections of a certificate that are sentences: reference, method, limits and rule, uncertainty.

Each function returns paragraphs, with stars around what is bold.
"""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from registry.documents.facts import BathFacts, CertificateFacts, LimitFacts, Measured
from registry.documents.results import shown_units
from registry.documents.words import Words
from registry.quantity import TemperatureDifference
from registry.records.outcomes import OUTSIDE

# In %: what k covers; how often at most a pass is wrong with a guard band of U (ILAC-G8:09/2019, table 1, from
# memory; a normal distribution gives 2.275 % at 2 u).
COVERAGE, MOST_WRONG = Decimal("95.45"), Decimal("2.5")
# Ways to make a bath that the methods' own texts tell of; what was made in another way is said beside them.
AS_STATED = ("crushed_packed", "rolling_boil", "hot_flask", "in_place")


def standing(facts: CertificateFacts, words: Words) -> str:
    """What stood against its use beyond the outcomes shown; empty where nothing did."""
    if facts.standing is None:
        return ""
    it = facts.standing
    said = []
    if it.status and not (it.status == "limited_use" and it.only):
        said.append(words.say(f"certificate.standing.{it.status}"))
    if it.only:
        said.append(words.say(f"certificate.standing.only_{it.only}"))
    for one in it.outside:
        point, outcome = words.say(f"certificate.standing.at.{one.point}"), words.say(f"outcome.{one.outcome}")
        said.append(words.say("certificate.standing.outside", point=point, outcome=outcome, day=words.day(one.day)))
    return " ".join(said)


def reference(facts: CertificateFacts, words: Words) -> list[str]:
    seen: list[BathFacts] = []
    paragraphs = []
    for measured in facts.measured():
        if measured.bath not in seen:
            seen.append(measured.bath)
            paragraphs.append(" ".join(_bath(measured, facts, words)))
    return paragraphs


def _bath(measured: Measured, facts: CertificateFacts, words: Words) -> list[str]:
    """What the bath was, what is known of it, who else was in it."""
    bath = measured.bath
    units = shown_units(measured, facts.page.units)
    reference = words.both(measured.reference, units[1] if len(units) > 1 else None)
    values = {"made": words.say(f"bath.{bath.made}"), "u": words.uncertainty(bath.u)}
    said = []
    if bath.point == "ice_point":
        said.append(words.say("certificate.reference.ice_point", reference=reference, **values))
    else:
        point = _boiling if bath.point == "boiling_point" else _comparison
        said += [*point(bath, reference, words), words.say("certificate.reference.bath", **values)]
    if measured.bias:
        said.append(words.say("certificate.reference.bias", bias=words.offset(measured.bias, 1)))
    code = "shared" if bath.others else "alone"
    said.append(words.say(f"certificate.reference.{code}", number=bath.number, count=bath.others))
    if bath.judged != "accepted":
        said.append(words.say(f"certificate.reference.{bath.judged}"))
    return said


def _boiling(bath: BathFacts, reference: str, words: Words) -> list[str]:
    pressure = bath.pressure
    assert pressure is not None
    source = words.say(
        f"certificate.source.{pressure.source}",
        barometer=pressure.barometer,
        time=words.clock(pressure.read_at) if pressure.read_at is not None else "",
        stated=words.typed(pressure.stated) if pressure.stated else "",
        place=pressure.place,
    )
    return [
        words.say(
            "certificate.reference.boiling_point",
            reference=reference,
            station=words.typed(pressure.station),
            source=source,
            elevation=words.typed(pressure.elevation),
            usual=words.typed(pressure.usual),
        )
    ]


def _comparison(bath: BathFacts, reference: str, words: Words) -> list[str]:
    outside = [each for each in bath.references if each.certificate_number]
    if not outside:
        tag_ids = words.joined(each.tag_id for each in bath.references)
        return [words.say("certificate.reference.house", reference=reference, tag_ids=tag_ids)]
    said = []
    for each in outside:
        values = {"tag_id": each.tag_id, "number": each.certificate_number, "issuer": each.issuer}
        day = words.day(each.issued) if each.issued else "–"
        said.append(words.say("certificate.reference.comparison", reference=reference, day=day, **values))
        if each.past_due:
            said.append(words.say("certificate.reference.past_due"))
    return said


def method(facts: CertificateFacts, words: Words) -> list[str]:
    """The methods as the house states them, where its baths were made otherwise, what was done to the thermometer."""
    paragraphs = [
        words.say("certificate.method.steps", name=each.name, edition=each.edition, steps=each.steps)
        for each in facts.methods
    ]
    made = dict.fromkeys(each.bath for each in facts.measured() if each.bath.made not in AS_STATED)
    paragraphs += [
        words.say("certificate.method.otherwise", number=each.number, made=words.say(f"bath.{each.made}"))
        for each in made
    ]
    for result in facts.results:
        said, done = [], result.adjustment
        if result.as_found.outcome in OUTSIDE and len(result.as_found.readings) == 1:
            said.append(words.say("certificate.method.one_reading"))
        if done:
            said.append(words.say(f"certificate.method.adjusted_{done.how}", at=words.instant(done.at)))
            if done.as_left:
                said.append(words.say("certificate.method.read_again", at=words.instant(done.as_left.at)))
            else:
                said.append(words.say("certificate.method.not_read_again"))
        if said:
            paragraphs.append(" ".join(said))
    return paragraphs


def limits(facts: CertificateFacts, words: Words) -> list[str]:
    measured = facts.measured()
    limits = list(dict.fromkeys(each.limits for each in measured))
    paragraphs = [_limit(each, words) for each in limits]
    for decision in dict.fromkeys(each.decision for each in limits):
        judged = [each for each in measured if each.limits.decision == decision]
        said = [_rule(decision, judged, words)]
        if any(each.outcome == "not_accepted" for each in judged):
            said.append(words.say("certificate.limits.not_accepted"))
        if any(each.outcome == "cannot_decide" for each in judged):
            would = [words.say(f"certificate.limits.would.{each}") for each in facts.would_decide]
            said.append(words.say("certificate.limits.cannot_decide", would=words.joined(would)))
        paragraphs.append(" ".join(said))
    return paragraphs


def _limit(limits: LimitFacts, words: Words) -> str:
    code = limits.tolerance_class
    if code != "owner":
        code = f"{code}_{limits.scale.lower()}"
    return words.say(
        f"certificate.limits.{code}",
        limit=words.limit(limits.tolerance),
        rule=limits.rule_number,
        since=words.day(limits.since),
        source=limits.source,
    )


def _rule(decision: str, judged: Sequence[Measured], words: Words) -> str:
    if decision != "guard_band":
        return words.say(f"certificate.limits.{decision}")
    rooms = [Fraction(each.limits.tolerance.value) - Fraction(each.expanded.value) for each in judged if each.expanded]
    if min(rooms, default=Fraction(0)) <= 0:
        return words.say("certificate.limits.guard_band_wide")
    unit = judged[0].limits.tolerance.unit
    shown = [words.offset(TemperatureDifference(room, unit), 2).lstrip("+") for room in rooms]
    return words.say(
        "certificate.limits.guard_band", room=words.joined(dict.fromkeys(shown)), most=words.number(MOST_WRONG)
    )


def uncertainty(facts: CertificateFacts, words: Words) -> list[str]:
    ks = [each.k for each in facts.measured() if each.k is not None]
    if not ks:
        return [words.say("certificate.uncertainty.not_evaluated")]
    shown = [words.number(round(k, 2)) for k in ks]
    k = shown[0]
    if len(set(shown)) > 1:
        k = words.say("certificate.uncertainty.k_by_row", k=words.joined(shown))
    parts = words.joined(words.say(f"certificate.uncertainty.part.{each}") for each in facts.components)
    return [words.say("certificate.uncertainty.expanded", k=k, coverage=words.number(COVERAGE), components=parts)]
