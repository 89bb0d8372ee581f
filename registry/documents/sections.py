"""The sections of a certificate below its figures: a name in the side column, text or pairs in the main one."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from registry.documents import codes, fonts
from registry.documents.facts import BathFacts, CertificateFacts, LimitFacts, Measured, PersonFacts, Reach
from registry.documents.page import HEADING, LABELS, MM, NOTE, RULE, TEXT, Page, Style
from registry.documents.results import shown_units
from registry.documents.words import Words, other_unit
from registry.quantity import TemperatureDifference, Unit

SIDE, GUTTER = 34 * MM, 4 * MM
FIRST = 11.5  # from the rule to the first baseline
VALUE = replace(TEXT, figures=True)
HEX = replace(NOTE, figures=True)
REACH = Style(12, 14, bold=True, figures=True)
REACH_LIMIT = Style(10.5, 12, figures=True)


@dataclass(frozen=True, slots=True)
class Grid:
    """Left and right edge of what is printed, in points."""

    left: float
    right: float

    @property
    def main(self) -> float:
        return self.left + SIDE + GUTTER

    @property
    def width(self) -> float:
        """Of the main column."""
        return self.right - self.main


Draw = Callable[[Page, float, CertificateFacts, Words, Grid], float]


@dataclass(frozen=True, slots=True)
class Section:
    """`draw` takes the rule above and returns the last baseline."""

    draw: Draw
    applies: Callable[[CertificateFacts], bool] = lambda facts: True


def _name(page: Page, y: float, code: str, words: Words, grid: Grid) -> float:
    return page.paragraph(grid.left, y + FIRST, words.say(f"certificate.section.{code}"), SIDE, HEADING)


def _text(code: str, paragraphs: Callable[[CertificateFacts, Words], Iterable[str]]) -> Draw:
    """A section of sentences, each paragraph on a new line."""

    def draw(page: Page, y: float, facts: CertificateFacts, words: Words, grid: Grid) -> float:
        end = _name(page, y, code, words, grid)
        baseline = y
        for paragraph in paragraphs(facts, words):
            baseline = page.paragraph(grid.main, baseline + FIRST, paragraph, grid.width, TEXT)
        return max(end, baseline)

    return draw


def draw_pairs(page: Page, y: float, pairs: Sequence[tuple[str, str]], grid: Grid) -> float:
    """Labels and values, two a line where both are short; returns the last baseline."""
    left, right = _columns([pair for pair in pairs], grid)
    waiting: tuple[str, str] | None = None
    baseline = y
    middle = grid.main + grid.width * 0.565
    room = (middle - left - 3 * MM, grid.right - right)

    def fits(value: str, place: int) -> bool:
        return fonts.width(value, VALUE.size, VALUE.font) <= room[place]

    place = 0
    for label, value in pairs:
        if place == 1 and fits(value, 1):
            page.text(middle, baseline, label, LABELS)
            page.text(right, baseline, value, VALUE)
            place = 0
            continue
        baseline += FIRST
        page.text(grid.main, baseline, label, LABELS)
        if fits(value, 0):
            page.text(left, baseline, value, VALUE)
            place = 1
        else:
            baseline = page.paragraph(left, baseline, value, grid.right - left, VALUE)
            place = 0
    return baseline if waiting is None else baseline


def _columns(pairs: Sequence[tuple[str, str]], grid: Grid) -> tuple[float, float]:
    """Where values begin, in the left and the right half."""
    wide = fonts.widest([label for label, _ in pairs], LABELS.size, LABELS.font) + 2.5 * MM
    return grid.main + wide, grid.main + grid.width * 0.565 + wide


# Thermometer


def _thermometer(page: Page, y: float, facts: CertificateFacts, words: Words, grid: Grid) -> float:
    end = _name(page, y, "thermometer", words, grid)
    pairs = [(words.say(f"certificate.thermometer.{code}"), value) for code, value in _identity(facts, words) if value]
    return max(end, draw_pairs(page, y, pairs, grid))


def _identity(facts: CertificateFacts, words: Words) -> list[tuple[str, str]]:
    it = facts.thermometer
    maker = it.maker
    if it.maker and it.model:
        maker = words.say("certificate.thermometer.maker_and_model", maker=it.maker, model=it.model)
    scales = [
        words.say(
            "certificate.thermometer.scale_value",
            lowest=words.number(scale.lowest.value),
            highest=words.temperature(scale.highest),
            step=words.uncertainty_free(scale.step),
        )
        for scale in it.scales
    ]
    return [
        ("maker", maker),
        ("model", "" if it.maker else it.model),
        ("serial", it.serial or words.say("certificate.thermometer.no_serial")),
        *(("scale", scale) for scale in scales),
        ("in_use", words.day(it.in_use_since) if it.in_use_since else ""),
        ("probe", it.probe),
        ("condition", it.condition),
        ("place", it.station),
        ("why_now", facts.why_now),
    ]


# Reference


def _reference(facts: CertificateFacts, words: Words) -> list[str]:
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


# Method, limits, uncertainty


def _method(facts: CertificateFacts, words: Words) -> list[str]:
    paragraphs = [
        words.say("certificate.method.steps", name=each.name, edition=each.edition, steps=each.steps)
        for each in facts.methods
    ]
    for result in facts.results:
        done = result.adjustment
        if done:
            said = [words.say(f"certificate.method.adjusted.{done.how}", at=words.instant(done.at))]
            if done.as_left:
                said.append(words.say("certificate.method.read_again", at=words.instant(done.as_left.at)))
            else:
                said.append(words.say("certificate.method.not_read_again"))
            paragraphs.append(" ".join(said))
    return paragraphs


def _limits(facts: CertificateFacts, words: Words) -> list[str]:
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
    return words.say("certificate.limits.guard_band", room=words.joined(dict.fromkeys(shown)))


def _uncertainty(facts: CertificateFacts, words: Words) -> list[str]:
    ks = [each.k for each in facts.measured() if each.k is not None]
    if not ks:
        return [words.say("certificate.uncertainty.not_evaluated")]
    shown = [words.number(round(k, 2)) for k in ks]
    k = shown[0]
    if len(set(shown)) > 1:
        k = words.say("certificate.uncertainty.k_by_row", k=words.joined(shown))
    parts = words.joined(words.say(f"certificate.uncertainty.part.{each}") for each in facts.components)
    return [words.say("certificate.uncertainty.expanded", k=k, components=parts)]


# Readings to reach


def _reach(page: Page, y: float, facts: CertificateFacts, words: Words, grid: Grid) -> float:
    reach = facts.reach
    assert reach is not None
    end = _name(page, y, "reach", words, grid)
    baseline = y + FIRST
    labels = [words.say("certificate.reach.limit"), words.say("certificate.reach.shown")]
    start = grid.main + fonts.widest(labels, TEXT.size, fonts.BOLD) + 4 * MM
    step = (grid.right - start) / len(reach.rows)
    for number, row in enumerate(reach.rows):
        _draw_reach(page, start + (number + 1) * step, baseline, step - 2 * MM, row, words)
    page.text(grid.main, baseline + 36, labels[0], LABELS)
    page.text(grid.main, baseline + 51, labels[1], replace(TEXT, bold=True))
    if reach.only_at is None or reach.share is None:
        note = words.say("certificate.reach.note", until=words.day(reach.until))
    else:
        point, share = words.temperature(reach.only_at), words.number(reach.share)
        values = {"until": words.day(reach.until), "point": point, "share": share}
        note = words.say("certificate.reach.note_one_point", **values)
    return max(end, page.paragraph(grid.main, baseline + 65, note, grid.width, NOTE))


def _draw_reach(page: Page, right: float, y: float, width: float, row: Reach, words: Words) -> None:
    """One column: which side, which step and food, the limit, what it must show."""
    page.text(right, y, words.say(f"certificate.reach.{row.side}"), replace(NOTE, bold=True), "right", width)
    page.line(right - width, y + 3.5, right, y + 3.5, 0.5, RULE)
    page.text(right, y + 14, words.name_of(f"step.{row.step}"), LABELS, "right", width)
    if row.food != "any":
        page.text(right, y + 24.5, words.name_of(f"food.{row.food}"), LABELS, "right", width)
    page.text(right, y + 36, words.temperature(row.limit), REACH_LIMIT, "right", width)
    page.text(right, y + 51, words.temperature(row.shown), REACH, "right", width)


# People and proof


def _people(page: Page, y: float, facts: CertificateFacts, words: Words, grid: Grid) -> float:
    end = _name(page, y, "people", words, grid)
    people = facts.people
    entered = [words.clock(at) for at in people.recorded_at[:-1]]
    entered.append(words.with_zone(people.recorded_at[-1]))
    if len({words.local(at).date() for at in people.recorded_at}) > 1:
        entered = [words.with_zone(at) for at in people.recorded_at]
    pairs = [
        ("checked_by", _person(people.checked_by, words)),
        ("keyed_by", _person(people.keyed_by, words)),
        ("reviewed_by", _person(people.reviewed_by, words)),
        ("entered", words.joined(entered)),
        ("issued", words.with_zone(people.issued_at)),
        ("recheck", words.say("certificate.people.recheck_day", day=words.day(people.recheck_by)) if people.recheck_by else ""),
    ]
    shown = [(words.say(f"certificate.people.{code}"), value) for code, value in pairs if value]
    return max(end, draw_pairs(page, y, shown, grid))


def _person(person: PersonFacts | None, words: Words) -> str:
    if person is None:
        return ""
    role = words.name_of(f"role.{person.role}")
    return words.say("certificate.people.person", name=person.name, initials=person.initials, role=role)


def _proof(page: Page, y: float, facts: CertificateFacts, words: Words, grid: Grid) -> float:
    proof = facts.proof
    end = _name(page, y, "proof", words, grid)
    code = codes.receipt_code(proof.receipt)
    quiet = codes.QUIET * codes.RECEIPT_MODULE
    # The margin and the space below the name are the quiet zone's left and upper side.
    codes.draw_code(page, code, grid.left, end + quiet, codes.RECEIPT_MODULE, dpi=300)
    code_end = end + codes.field(code, codes.RECEIPT_MODULE) - quiet
    page.text(grid.main, y + FIRST, words.say("certificate.proof.hash"), LABELS)
    page.text(grid.main, y + FIRST + 11, _grouped(proof.entry_hash), HEX, within=grid.width)
    numbers = [result.check_number for result in facts.results]
    rests = words.say("certificate.proof.rests_on_checks", numbers=words.joined(numbers), count=len(numbers))
    baseline = y + FIRST + 22
    for label, value in (("key", _grouped(proof.key_fingerprint)), ("rests_on", rests)):
        wide = page.text(grid.main, baseline, words.say(f"certificate.proof.{label}"), LABELS)
        page.text(grid.main + wide + 2.5 * MM, baseline, value, HEX)
        baseline += 11
    note = page.paragraph(grid.main, baseline + 1, words.say("certificate.proof.note"), grid.width, NOTE)
    return max(note, code_end)


def _grouped(digits: str) -> str:
    """Hex digits in eights, to be compared by eye."""
    return " ".join(digits[place : place + 8] for place in range(0, len(digits), 8))


SECTIONS = {
    "thermometer": Section(_thermometer),
    "reference": Section(_text("reference", _reference)),
    "method": Section(_text("method", _method)),
    "limits": Section(_text("limits", _limits)),
    "uncertainty": Section(_text("uncertainty", _uncertainty)),
    "reach": Section(_reach, lambda facts: facts.reach is not None and bool(facts.reach.rows)),
    "people": Section(_people),
    "proof": Section(_proof),
}
ON_ONE = ("thermometer", "reference", "method", "limits", "uncertainty", "reach", "people", "proof")
RESULT = ("reference", "limits", "reach")
HOW_KNOWN = ("thermometer", "method", "uncertainty", "people", "proof")

__all__ = ["HOW_KNOWN", "ON_ONE", "RESULT", "SECTIONS", "Decimal", "Grid", "Section", "Unit", "other_unit"]
