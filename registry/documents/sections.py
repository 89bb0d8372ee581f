"""The sections of a certificate below its figures: a name in the side column, text in the main one."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

from registry.documents import codes, fonts, history_plot, sentences
from registry.documents.facts import CertificateFacts, PersonFacts, Reach, ReachFacts
from registry.documents.page import (
    HEADING,
    LABELS,
    MM,
    NOTE,
    RULE,
    SIDE,
    TEXT,
    Grid,
    Page,
    Style,
    plain,
    wrap,
)
from registry.documents.words import Words

FIRST = 11.5  # from the rule to the first baseline
VALUE = replace(TEXT, figures=True)
HEX = replace(NOTE, figures=True)
REACH = Style(12, 14, bold=True, figures=True)
REACH_LIMIT = Style(10.5, 12, figures=True)


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
    wide = fonts.widest([label for label, _ in pairs], LABELS.size, LABELS.font) + 2.5 * MM
    middle = grid.main + grid.width * 0.565
    left, right = grid.main + wide, middle + wide
    baseline, beside = y, False
    for label, value in pairs:
        length = fonts.width(value, VALUE.size, VALUE.font)
        at = min(right, grid.right - length)  # out of line with the one above before it takes a line of its own
        if beside and at >= middle + fonts.width(label, LABELS.size, LABELS.font) + 2.5 * MM:
            page.text(middle, baseline, label, LABELS)
            page.text(at, baseline, value, VALUE)
            beside = False
            continue
        baseline += FIRST
        page.text(grid.main, baseline, label, LABELS)
        baseline = page.paragraph(left, baseline, plain(value), grid.right - left, VALUE)
        beside = length <= middle - left - 3 * MM
    return baseline


# Thermometer


def _thermometer(page: Page, y: float, facts: CertificateFacts, words: Words, grid: Grid) -> float:
    end = _name(page, y, "thermometer", words, grid)
    pairs = [(words.say(f"certificate.thermometer.{code}"), value) for code, value in identity(facts, words) if value]
    return max(end, draw_pairs(page, y, pairs, grid))


def identity(facts: CertificateFacts, words: Words) -> list[tuple[str, str]]:
    it = facts.thermometer
    maker = it.maker
    if it.maker and it.model:
        maker = words.say("certificate.thermometer.maker_and_model", maker=it.maker, model=it.model)
    scales = [
        words.say(
            "certificate.thermometer.scale_value",
            lowest=words.number(scale.lowest.value),
            highest=words.temperature(scale.highest),
            step=words.difference(scale.step),
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


# Readings to reach


def _reach(page: Page, y: float, facts: CertificateFacts, words: Words, grid: Grid) -> float:
    reach = facts.reach
    assert reach is not None
    end = _name(page, y, "reach", words, grid)
    labels = [words.say("certificate.reach.limit"), words.say("certificate.reach.shown")]
    start = grid.main + fonts.widest(labels, TEXT.size, fonts.BOLD) + 4 * MM
    step = (grid.right - start) / len(reach.rows)
    heads = [_reach_head(row, step - 2 * MM, words) for row in reach.rows]
    limits = y + FIRST + 3 + 11 * max(len(head) for head in heads) + 12
    ends = [start + number * step for number in range(1, len(reach.rows) + 1)]
    width = step - 2 * MM
    # Line by line, each with its label first: so it is read aloud.
    for right, row, head in zip(ends, reach.rows, heads, strict=True):
        _draw_reach_head(page, right, y + FIRST, limits, width, row, head, words)
    page.text(grid.main, limits, labels[0], LABELS)
    for right, row in zip(ends, reach.rows, strict=True):
        page.text(right, limits, words.temperature(row.limit), REACH_LIMIT, "right", width)
    page.text(grid.main, limits + 15, labels[1], replace(TEXT, bold=True))
    for right, row in zip(ends, reach.rows, strict=True):
        page.text(right, limits + 15, words.temperature(row.shown), REACH, "right", width)
    return max(end, page.paragraph(grid.main, limits + 29, reach_note(reach, words), grid.width, NOTE))


def _reach_head(row: Reach, width: float, words: Words) -> list[str]:
    """What the limit is for, in lines of a narrow column."""
    names = [f"step.{row.step}", *([f"food.{row.food}"] if row.food != "any" else [])]
    return ["".join(text for text, _ in line) for name in names for line in wrap(words.name_of(name), width, LABELS)]


def _draw_reach_head(
    page: Page, right: float, y: float, limits: float, width: float, row: Reach, head: list[str], words: Words
) -> None:
    """Over one column: which side, what for."""
    page.text(right, y, words.say(f"certificate.reach.{row.side}"), replace(NOTE, bold=True), "right", width)
    page.line(right - width, y + 3.5, right, y + 3.5, 0.5, RULE)
    for below, line in zip(range(len(head) - 1, -1, -1), head, strict=True):
        page.text(right, limits - 12.5 - 11 * below, line, LABELS, "right", width)


def reach_note(reach: ReachFacts, words: Words) -> str:
    until = words.day(reach.until)
    if reach.only_at is None or reach.share is None:
        return words.say("certificate.reach.note", until=until)
    point, share = words.temperature(reach.only_at), words.number(reach.share)
    return words.say("certificate.reach.note_one_point", until=until, point=point, share=share)


def _history(high: float) -> Draw:
    """The plots, their fields so high."""

    def draw(page: Page, y: float, facts: CertificateFacts, words: Words, grid: Grid) -> float:
        end = _name(page, y, "history", words, grid)
        unit = f"°{facts.results[0].as_found.limits.tolerance.unit}"
        end = page.paragraph(grid.left, end + 11, words.say("certificate.history.unit", unit=unit), SIDE, LABELS)
        return max(end, history_plot.draw(page, y, facts, words, grid, high))

    return draw


def _has_history(facts: CertificateFacts) -> bool:
    return facts.history is not None


# People and proof


def _people(page: Page, y: float, facts: CertificateFacts, words: Words, grid: Grid) -> float:
    end = _name(page, y, "people", words, grid)
    pairs = [(words.say(f"certificate.people.{code}"), value) for code, value in people_pairs(facts, words) if value]
    return max(end, draw_pairs(page, y, pairs, grid))


def people_pairs(facts: CertificateFacts, words: Words) -> list[tuple[str, str]]:
    """Codes of the labels and what stands beside them; empty where it does not apply."""
    people = facts.people
    entered = [words.instant(at) for at in people.recorded_at]
    if len({words.local(at).date() for at in people.recorded_at}) == 1:
        entered[1:] = [words.clock(at) for at in people.recorded_at[1:]]
    entered[-1] = f"{entered[-1]}, {words.utc_offset(people.recorded_at[-1])}"
    recheck, overdue = "", ""
    if people.recheck_by:
        day = words.day(people.recheck_by)
        if people.recheck_by < words.local(people.issued_at).date():
            overdue = words.say("certificate.people.overdue_day", day=day)
        else:
            recheck = words.say("certificate.people.recheck_day", day=day)
    return [
        ("checked_by", _person(people.checked_by, words)),
        ("keyed_by", _person(people.keyed_by, words)),
        ("reviewed_by", _person(people.reviewed_by, words)),
        ("entered", words.joined(entered)),
        ("issued", f"{words.instant(people.issued_at)}, {words.utc_offset(people.issued_at)}"),
        ("recheck", recheck),
        ("overdue", overdue),
    ]


def _person(person: PersonFacts | None, words: Words) -> str:
    if person is None:
        return ""
    role = words.name_of(f"role.{person.role}")
    return words.say("certificate.people.person", name=person.name, initials=person.initials, role=role)


def _proof(page: Page, y: float, facts: CertificateFacts, words: Words, grid: Grid) -> float:
    proof = facts.proof
    end = _name(page, y, "proof", words, grid)
    code_end = codes.draw_receipt(page, proof.receipt, grid.left, end + 3)
    page.text(grid.main, y + FIRST, words.say("certificate.proof.hash"), LABELS)
    page.text(grid.main, y + FIRST + 11, grouped(proof.entry_hash), HEX, within=grid.width)
    numbers = [result.check_number for result in facts.results]
    rests = words.say("certificate.proof.rests_on_checks", numbers=words.joined(numbers), count=len(numbers))
    baseline = y + FIRST + 22
    for label, value in (("key", grouped(proof.key_fingerprint)), ("rests_on", rests)):
        wide = page.text(grid.main, baseline, words.say(f"certificate.proof.{label}"), LABELS)
        page.text(grid.main + wide + 2.5 * MM, baseline, value, HEX)
        baseline += 11
    note = page.paragraph(grid.main, baseline + 1, words.say("certificate.proof.note"), grid.width, NOTE)
    return max(note, code_end)


def grouped(digits: str) -> str:
    """Hex digits in eights, to be compared by eye."""
    return " ".join(digits[place : place + 8] for place in range(0, len(digits), 8))


SECTIONS = {
    "thermometer": Section(_thermometer),
    "reference": Section(_text("reference", sentences.reference)),
    "method": Section(_text("method", sentences.method)),
    "limits": Section(_text("limits", sentences.limits)),
    "uncertainty": Section(_text("uncertainty", sentences.uncertainty)),
    "reach": Section(_reach, lambda facts: facts.reach is not None and bool(facts.reach.rows)),
    "history": Section(_history(62), _has_history),
    "history_high": Section(_history(96), _has_history),
    "history_low": Section(_history(36), _has_history),
    "people": Section(_people),
    "proof": Section(_proof),
}
ON_ONE = ("thermometer", "reference", "method", "limits", "uncertainty", "history", "reach", "people", "proof")
ON_ONE_LOW = tuple("history_low" if name == "history" else name for name in ON_ONE)
ON_ONE_PLAIN = tuple(name for name in ON_ONE if name != "history")  # of one point: a page beats the plot of its past
RESULT, KNOWN = (
    ("reference", "limits", "history_high", "reach"),
    ("thermometer", "method", "uncertainty", "people", "proof"),
)
ON_MORE = ("reference", "limits", "history", "reach", *KNOWN)
