"""The table of results with its small scale plot, rows shared by both.

What is printed adds up: reading minus reference is the offset as printed, or the page says that the last
digit may differ.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from typing import cast

from registry.documents import fonts, scale_plot
from registry.documents.facts import CannotPrint, CertificateFacts, Measured, PointResult
from registry.documents.page import HEADING, INK, LABEL, LABELS, MM, NOTE, RULE, Page, Style
from registry.documents.words import Words, converted, other_unit
from registry.quantity import TemperatureDifference, Unit
from registry.records.outcomes import OUTSIDE

NUMBERS = Style(10.5, 11.5, figures=True)
SMALL_NUMBERS = Style(9, 11, colour=LABEL, figures=True)
NAME = Style(9.5, 11.5, bold=True)
NAMES = 34 * MM  # for what a row is called and when it was
NONE = "–"

# Figures of one line: as text, and as printed numbers to see whether they add up.
Figures = dict[str, str]


@dataclass(frozen=True, slots=True)
class Figured:
    """One line of figures in one unit."""

    unit: Unit
    reading: Decimal
    reference: Decimal
    offset: TemperatureDifference
    texts: Figures

    def adds_up(self) -> bool:
        return self.reading - self.reference == self.offset.value


@dataclass(frozen=True, slots=True)
class Row:
    """One row: its names in the side column, its lines of figures, what stands below them."""

    name: str
    under: tuple[str, ...]
    point: str
    as_found: bool
    measured: Measured | None
    lines: tuple[Figured, ...] = ()
    note: str = ""


def rows_of(facts: CertificateFacts, words: Words) -> tuple[Row, ...]:
    """As found and as left of every point, in order."""
    several = len(facts.results) > 1
    found: list[Row] = []
    for result in facts.results:
        stages: list[tuple[str, Measured | None, int]] = [("as_found", result.as_found, result.as_found.at)]
        if result.adjustment:
            left = result.adjustment.as_left
            stages.append(("as_left", left, left.at if left else result.adjustment.at))
        for stage, measured, at in stages:
            unchanged = "_and_left" if result.unchanged else ""
            said = words.say(f"certificate.results.{stage}{unchanged}")
            point = words.say(f"point.{result.point}")
            under = (said,) if several and not result.unchanged else ()
            row = Row(
                point if several else said,
                (*under, words.instant(at)),
                result.point,
                stage == "as_found",
                measured,
                note="" if measured else words.say("certificate.results.not_measured"),
            )
            found.append(_with_figures(row, facts, words) if measured else row)
    return tuple(found)


def shown_units(measured: Measured, wanted: Sequence[Unit]) -> tuple[Unit, ...]:
    """The unit read first; the other where the rule judges in it or the page wants it."""
    other = other_unit(measured.unit)
    if other == measured.limits.tolerance.unit or other in wanted:
        return (measured.unit, other)
    return (measured.unit,)


def offset_texts(measured: Measured, facts: CertificateFacts, words: Words) -> list[str]:
    """The offset with its unit: as in the table, first the unit read."""
    places = max(_places(each) for each in facts.measured())
    return [
        words.offset(measured.exact_offset.to(unit), places if unit == measured.unit else max(2, places))
        for unit in shown_units(measured, facts.page.units)
    ]


def _with_figures(row: Row, facts: CertificateFacts, words: Words) -> Row:
    measured = cast(Measured, row.measured)
    places = max(_places(each) for each in facts.measured())
    lines = [_read(measured, places, words)]
    if len(shown_units(measured, facts.page.units)) > 1:
        lines.append(_turned(measured, max(2, places), words))
    note = ""
    if any(len(each.readings) > 1 for each in facts.measured()):
        typed = ", ".join(words.number(each.value) for each in measured.readings)
        typed = f"{typed}\N{NO-BREAK SPACE}°{measured.unit}"
        note = words.say("certificate.results.typed", readings=typed)
    return replace(row, lines=tuple(lines), note=note)


def _places(measured: Measured) -> int:
    """Decimals of an offset: those typed, at least one, and one more for a mean."""
    typed = max(-cast(int, each.value.as_tuple().exponent) for each in measured.readings)
    return max(1, typed) + (len(measured.readings) > 1)


def _read(measured: Measured, places: int, words: Words) -> Figured:
    """In the unit that was read: one reading as typed, a mean rounded."""
    mean = measured.readings[0].value
    if len(measured.readings) > 1:
        exact = sum((Fraction(each.value) for each in measured.readings), Fraction(0)) / len(measured.readings)
        mean = Decimal(round(exact * 10**places)).scaleb(-places)
    return _figured(measured, measured.unit, mean, measured.reference.value, places, words)


def _turned(measured: Measured, places: int, words: Words) -> Figured:
    """The same in the other unit, each figure from the exact one."""
    unit = other_unit(measured.unit)
    mean = sum((each.celsius() for each in measured.readings), Fraction(0)) / len(measured.readings)
    reference = converted(measured.reference.celsius(), unit, places)
    return _figured(measured, unit, converted(mean, unit, places), reference, places, words)


def _figured(
    measured: Measured, unit: Unit, reading: Decimal, reference: Decimal, places: int, words: Words
) -> Figured:
    offset = measured.exact_offset.to(unit).rounded(places)
    correction = TemperatureDifference(-Fraction(offset.value), unit)
    texts = {
        "reading": words.number(reading),
        "reference": words.number(reference),
        "offset": words.signed(offset, places),
        # One that failed is not to be used, so nothing is offered to be added to what it shows.
        "correction": words.signed(correction, places) if measured.outcome not in OUTSIDE else NONE,
        "expanded": words.two_digits(measured.expanded.to(unit)) if measured.expanded else NONE,
        "chance": words.chance(measured.chance) if measured.chance is not None else "",
    }
    if unit != measured.unit:
        texts["chance"] = ""
    return Figured(unit, reading, reference, offset, texts)


def _left_failed(result: PointResult) -> bool:
    """Whether it failed and was not put right."""
    left = result.adjustment.as_left if result.adjustment else None
    return result.as_found.outcome in OUTSIDE and (left is None or left.outcome in OUTSIDE)


# Drawing


@dataclass(frozen=True, slots=True)
class Column:
    """A column of figures: its head, and the axis on which decimal marks stand."""

    key: str
    head: str
    right: float
    axis: float


def draw_results(page: Page, y: float, facts: CertificateFacts, words: Words, left: float, right: float) -> float:
    """Table, notes and plot below the rule at y; returns the last baseline."""
    rows = rows_of(facts, words)
    two_units = any(len(row.lines) > 1 for row in rows)
    plot_left, columns = _beside_plot(rows, words, left + (39 if two_units else 35) * MM, right)
    table_right = plot_left - 6 * MM
    baseline = y + 12
    unit = facts.results[0].as_found.unit
    title = "two_units" if two_units else "one_unit"
    page.text(left, baseline, words.say(f"certificate.results.{title}", unit=f"°{unit}"), HEADING)
    for column in columns:
        page.text(column.right, baseline, column.head, LABELS, "right")
    top = baseline + 4
    bottoms = [top]
    for row in rows:
        page.line(left, bottoms[-1], table_right, bottoms[-1], 0.4, RULE)
        bottoms.append(_draw_row(page, bottoms[-1], row, columns, left, table_right, two_units) + 5)
    page.line(left, bottoms[-1], table_right, bottoms[-1], 0.4, RULE)
    notes = " ".join(notes_of(facts, rows, words))
    last = page.paragraph(left, bottoms[-1] + 11.5, notes, table_right - left, NOTE)
    marks = [
        scale_plot.Mark(row.measured, row.point, row.as_found, upper, lower)
        for row, upper, lower in zip(rows, bottoms, bottoms[1:], strict=False)
    ]
    plot_end = scale_plot.draw(page, marks, words, plot_left, right, baseline)
    return max(last, plot_end)


def _beside_plot(rows: Sequence[Row], words: Words, left: float, right: float) -> tuple[float, list[Column]]:
    """Where the plot begins, narrower where the figures need the room, and the columns before it."""
    for width, least in ((42, 5.0), (36, 5.0), (31, 3.0)):
        columns = _columns(rows, words, left, right - (width + 6) * MM, least)
        if columns:
            return right - width * MM, columns
    raise CannotPrint("too_wide", text=" ".join(line.texts["reading"] for row in rows for line in row.lines))


def _columns(rows: Sequence[Row], words: Words, left: float, right: float, least: float) -> list[Column]:
    """Columns as wide as their widest figure or head, what is left over shared between them; none where
    that is less than `least` each.
    """
    lines = [line for row in rows for line in row.lines]
    keys = ["reading", "reference", "offset", "correction", "expanded"]
    if any(line.texts["chance"] for line in lines):
        keys.append("chance")
    if all(line.texts["expanded"] == NONE for line in lines):
        keys.remove("expanded")
    means = any(row.measured and len(row.measured.readings) > 1 for row in rows)
    measures = []
    for key in keys:
        head = words.say(f"certificate.results.{'mean' if key == 'reading' and means else key}")
        parts = [_split(line.texts[key]) for line in lines]
        before = fonts.widest([each[0] for each in parts], NUMBERS.size, fonts.TABULAR_BOLD)
        after = fonts.widest([each[1] for each in parts], NUMBERS.size, fonts.TABULAR_BOLD)
        head_width = fonts.width(head, LABELS.size, LABELS.font)
        measures.append((key, head, after, max(before + after, head_width)))
    spare = (right - left - sum(each[3] for each in measures)) / len(measures)
    if spare < least:
        return []
    columns, at = [], left
    for key, head, after, wide in measures:
        at += wide + spare
        columns.append(Column(key, head, at, at - after))
    return columns


def _split(text: str) -> tuple[str, str]:
    """A number before its decimal mark, and from it on."""
    for place, character in enumerate(text):
        if character in ".,":
            return text[:place], text[place:]
    return text, ""


def _draw_row(
    page: Page, y: float, row: Row, columns: Sequence[Column], left: float, right: float, two_units: bool
) -> float:
    baseline = y + 12.5
    name_end = page.paragraph(left, baseline, row.name, NAMES, NAME)
    for text in row.under:
        name_end = page.paragraph(left, name_end + 11, text, NAMES, LABELS)
    end = baseline
    for number, line in enumerate(row.lines):
        if number:
            end += 11
        judged = row.measured is not None and line.unit == row.measured.limits.tolerance.unit
        _draw_figures(page, end, line, columns, NUMBERS if not number else SMALL_NUMBERS, judged)
        if two_units:
            page.text(left + 39 * MM, end, f"°{line.unit}", LABELS, "right")
    if row.note:
        x = left + 38 * MM
        end = page.paragraph(x, end + (11.5 if row.lines else 0), row.note, right - x, NOTE)
    return max(name_end, end)


def _draw_figures(page: Page, y: float, line: Figured, columns: Sequence[Column], style: Style, judged: bool) -> None:
    for column in columns:
        text = line.texts[column.key]
        bold = (judged and column.key == "offset") or (style is NUMBERS and column.key == "reading")
        set_in = replace(style, bold=bold, colour=INK if bold else style.colour)
        after = _split(text)[1]
        end = column.right if column.key == "chance" or text == NONE else column.axis
        end += fonts.width(after, set_in.size, set_in.font) if end == column.axis else 0
        page.text(end, y, text, set_in, "right")


def notes_of(facts: CertificateFacts, rows: Sequence[Row], words: Words) -> list[str]:
    """What must be said below the figures."""
    lines = [line for row in rows for line in row.lines]
    first = facts.results[0].as_found
    judged = first.limits.tolerance.unit
    notes = [words.say("certificate.results.sign_rule")]
    if any(line.texts["chance"] for line in lines):
        notes.append(words.say("certificate.results.chance_note"))
    if judged != first.unit:
        units = {"read": f"°{first.unit}", "judged": f"°{judged}"}
        notes.append(words.say("certificate.results.read_and_judged", **units))
    elif any(len(row.lines) > 1 for row in rows):
        units = {"judged": f"°{judged}", "other": f"°{other_unit(judged)}"}
        notes.append(words.say("certificate.results.judged", **units))
    if not all(line.adds_up() for line in lines):
        notes.append(words.say("certificate.results.sums"))
    if any(_left_failed(result) for result in facts.results):
        notes.append(words.say("certificate.results.no_correction"))
    for result in facts.results:
        if result.turned_since is not None:
            values = {"point": words.say(f"point.{result.point}"), "at": words.instant(result.turned_since)}
            notes.append(words.say("certificate.results.turned_since", **values))
    if all(result.unchanged for result in facts.results):
        adjustable = facts.thermometer.adjustable
        notes.append(words.say(f"certificate.results.{'not' if adjustable else 'never'}_adjusted"))
    return notes
