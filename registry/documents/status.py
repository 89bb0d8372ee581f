"""The status tag: sign, word and id; when it is due; what it must show, or why it is not to be used."""

from dataclasses import replace
from datetime import date
from functools import partial
from itertools import product

from registry.documents import codes, fonts, signs
from registry.documents.designs import Design
from registry.documents.facts import CannotPrint, Cell, StatusFacts
from registry.documents.page import INK, MM, WHITE, Page, Style, plain, wrap
from registry.documents.words import Words
from registry.wording.format import HARD_SPACE

# What each service status says on a tag; lost and retired ones get none.
WORDS = {
    "in_service": "use",
    "limited_use": "limited_use",
    "check_first": "do_not_use",
    "out_of_use": "do_not_use",
}
SMALLEST = 6.5  # of an id or number, before it gets a line of its own
GAP, TOP = 0.9 * MM, 1.2 * MM


def draw_status(page: Page, facts: StatusFacts, design: Design, coding: codes.Coding) -> None:
    if facts.status not in WORDS:
        raise CannotPrint("no_tag", status=facts.status)
    words = Words(facts.language, facts.region, "UTC")
    word = WORDS[facts.status]
    if word != "do_not_use" and facts.first:
        word = "check_before"
    code_left = codes.draw_tag_code(page, facts.number, coding, wide=design.wide_code)
    left = design.margin * MM
    code_left = min(code_left, page.width - left)
    if facts.demo:
        left += _draw_demo(page, design, words, left)
    if word == "do_not_use":
        page.rect(left, TOP, code_left - 0.2 * MM - left, design.field * MM - TOP)
    _draw_words(page, facts, design, word, words, (left, code_left - GAP))
    if word == "do_not_use":
        _draw_why(page, facts, design, words)
    else:
        _draw_recheck(page, facts, design, words)
        _draw_cells(page, facts, design, words)


def _draw_demo(page: Page, design: Design, words: Words, left: float) -> float:
    """A black strip up the left side of the sign; returns what it takes."""
    style = Style(7, 8, colour=WHITE, bold=True)
    top, height = TOP, design.field * MM - TOP
    page.rect(left, top, 2.5 * MM, height)
    page.upright(left + 1.25 * MM, top + height / 2, words.say("tag.demo"), style)
    return 3.1 * MM


def _draw_sign(page: Page, design: Design, word: str, left: float, right: float, higher: bool) -> None:
    """Between `left` and the words; higher and smaller where the line below it is wanted for a long id."""
    room = (right - left) / 2
    y, radius = design.sign[1] * MM, min(design.sign[2] * MM, room)
    if higher:
        radius *= 0.75
        y -= 0.28 * design.sign[2] * MM
    if word == "use":
        signs.use(page, left + room, y, radius)
    elif word in ("limited_use", "check_before"):
        signs.limited_use(page, left + room, y, min(radius * 1.15, room))
    else:
        signs.do_not_use(page, left + room, y, radius * 0.86)


def _draw_words(
    page: Page, facts: StatusFacts, design: Design, word: str, words: Words, edges: tuple[float, float]
) -> None:
    """Sign and word, the word in one line or two over the id; below it when checked, or the check's number.

    What is too long to stand beside the sign changes places: the id goes across on the lowest line.
    """
    refused = word == "do_not_use"
    colour = WHITE if refused else INK
    tag_id = Style(design.tag_id[1], 1, colour, bold=word not in ("limited_use", "check_before"), figures=True)
    below = Style(design.under[1], 1, figures=True)
    under = "" if refused else facts.number if design.number_under else _checked(facts, words)
    left, right = design.words * MM, edges[1]
    long = (
        fonts.width(facts.tag_id, SMALLEST, tag_id.font) > right - left
        or fonts.width(under, SMALLEST, below.font) > right + GAP - left
    )
    if long:
        left -= 3.2 * MM
    _draw_sign(page, design, word, edges[0], left - GAP, higher=long)
    baseline, shift = _draw_word(page, design, words.say(f"tag.{word}"), refused, left, right - left)
    if long:
        start = edges[0] + (GAP if refused else 0)
        _fit(page, start, design.under[0] * MM, facts.tag_id, tag_id, right - start)
        _fit(page, left, baseline, under, below, right + GAP - left)
    else:
        _fit(page, left, baseline + shift, facts.tag_id, tag_id, right - left)
        _fit(page, left, design.under[0] * MM, under, below, right + GAP - left)


def _draw_word(page: Page, design: Design, said: str, refused: bool, left: float, room: float) -> tuple[float, float]:
    """The status in one line or two; returns the id's baseline, and how far down a black field moves both."""
    parts = said.split()
    colour = WHITE if refused else INK
    if len(parts) == 1:
        _fit(page, left, design.word[0] * MM, said, Style(design.word[1], 1, colour, bold=True), room)
        return design.tag_id[0] * MM, 0.0
    *baselines, size = design.two_words
    baseline = design.tag_id_below_two * MM
    shift = 0.0
    if refused:
        shift = (TOP + design.field * MM - baselines[0] * MM + fonts.cap_height(size) - baseline) / 2
    for y, line in zip(baselines, (" ".join(parts[:-1]), parts[-1]), strict=True):
        _fit(page, left, y * MM + shift, line, Style(size, 1, colour, bold=True), room)
    return baseline, shift


def _checked(facts: StatusFacts, words: Words) -> str:
    return words.say("tag.checked", day=_short(facts.checked, words), who=facts.initials)


def _draw_recheck(page: Page, facts: StatusFacts, design: Design, words: Words) -> None:
    baseline, size, date_size = design.recheck
    left, right, y = design.margin * MM, page.width - design.margin * MM, baseline * MM
    beside = facts.number
    if design.number_under:
        day = _short(facts.checked, words)
        beside = words.say("tag.checked_short", day=day, who=facts.initials)
    wide = page.text(right, y, beside, Style(6.5, 1, figures=True), "right")
    if facts.first:  # a day that has passed would be read as the next one
        said = words.say("tag.hot_first" if facts.first == "hot" else "tag.recheck_now")
        _fit(page, left, y, said, Style(date_size, 1, bold=True), right - wide - GAP - left)
    elif facts.recheck_by:
        label = words.say("tag.due" if design.number_under else "tag.recheck_by")
        start = left + page.text(left, y, label, Style(size, 1)) + 2.4
        day = _long(facts.recheck_by, words)
        _fit(page, start, y, day, Style(date_size, 1, bold=True), right - wide - GAP - start)
    page.line(left, design.rule * MM, right, design.rule * MM, 0.8)


# Cells: what it must show


def _draw_cells(page: Page, facts: StatusFacts, design: Design, words: Words) -> None:
    """Side by side below the rule; of a limited one its sentence first, in the place of barred cells."""
    left, right = design.margin * MM, page.width - design.margin * MM
    cells = [partial(_draw_cell, cell=cell, design=design, words=words) for cell in facts.cells]
    if facts.correction:
        add = words.offset(facts.correction, 1)
        cells.append(partial(_draw_correction, text=add, design=design, words=words))
    dry = Page(page.width, page.height)
    widths = [draw(dry, 0.0) for draw in cells]
    sentence = _sentence(facts, words)
    gaps = 2 * GAP * max(0, len(cells) - (0 if sentence else 1))
    spare = right - left - sum(widths) - gaps
    if spare < 0 or (not sentence and not cells):
        if spare < 0:
            raise CannotPrint("too_wide", text=facts.tag_id)
        return
    x = left
    if sentence:
        _draw_sentence(page, sentence, design, left, spare)
        x += spare + GAP
        spare = 0
    for number, (draw, wide) in enumerate(zip(cells, widths, strict=True)):
        if number or sentence:
            page.line(x, design.rule * MM, x, page.height - 1.0 * MM, 0.7)
            x += GAP
        draw(page, x)
        x += wide + GAP + spare / len(cells)


def _sentence(facts: StatusFacts, words: Words) -> str:
    if facts.only:
        return words.say(f"tag.only_{facts.only}")
    if not facts.cells and not facts.correction and facts.outcome:
        return words.say(f"outcome.{facts.outcome}_at.{facts.point}")
    return ""


def _draw_sentence(page: Page, sentence: str, design: Design, left: float, room: float) -> None:
    """As large as the room below the rule allows, in one line or two."""
    top, bottom = design.rule * MM, page.height - 0.9 * MM
    for size in (design.figure[1], 9.5, 8.5, 7.5, 6.5, 6):
        style = Style(size, size * 1.15, bold=True)
        lines = wrap(sentence, room, style)
        height = len(lines) * style.leading
        if len(lines) <= 2 and height <= bottom - top and not _breaks_words(sentence, room, style):
            first = (top + bottom - height) / 2 + style.leading * 0.82
            page.paragraph(left, first, sentence, room, style)
            return
    raise CannotPrint("too_wide", text=sentence)


def _breaks_words(text: str, room: float, style: Style) -> bool:
    return fonts.widest(text.split(" "), style.size, style.font) > room


def _draw_cell(page: Page, x: float, *, cell: Cell, design: Design, words: Words) -> float:
    """The limit over the reading; returns the width."""
    head = Style(design.head[1], 1, figures=True)
    limit = words.temperature(cell.limit)
    name = words.say(f"tag.{cell.use}")
    figure = Style(design.figure[1], 1, bold=True, figures=True)
    shown, baseline = words.number(cell.shown.value), design.figure[0] * MM
    if design.limit and design.or_more:  # four lines
        side = "tag.or_more" if cell.side == "at_least" else "tag.or_less"
        return max(
            page.text(x, design.head[0] * MM, name, head),
            page.text(x, design.limit[0] * MM, limit, replace(head, size=design.limit[1])),
            page.text(x, baseline, shown, figure),
            page.text(x, design.or_more * MM, words.say(side), Style(design.side, 1)),
        )
    wide = page.text(x, design.head[0] * MM, f"{name}{HARD_SPACE}{limit}", head)
    side = words.say(f"tag.{cell.side}") + HARD_SPACE
    start = page.text(x, baseline, side, Style(design.side, 1))
    return max(wide, start + page.text(x + start, baseline, shown, figure))


def _draw_correction(page: Page, x: float, *, text: str, design: Design, words: Words) -> float:
    """What to add to any other reading; those beside have it counted in already."""
    head, figure = Style(design.head[1], 1), Style(design.figure[1], 1, bold=True, figures=True)
    return max(
        page.text(x, design.head[0] * MM, words.say("tag.other_add"), head),
        page.text(x, design.figure[0] * MM, text, figure),
    )


# Not to be used: why, and who gets it


def _draw_why(page: Page, facts: StatusFacts, design: Design, words: Words) -> None:
    left, right = design.margin * MM, page.width - design.margin * MM
    baseline, size = design.last
    last = Style(size, 1, figures=True)
    wide = page.text(right, baseline * MM, facts.number, last, "right")
    checked = _checked(facts, words)
    if fonts.width(checked, size, last.font) > right - left - wide - GAP:
        checked = words.say("tag.checked_short", day=_short(facts.checked, words), who=facts.initials)
    page.text(left, baseline * MM, checked, last)
    _draw_reason(page, facts, design, words, baseline * MM - size * 1.25)


def _draw_reason(page: Page, facts: StatusFacts, design: Design, words: Words, bottom: float) -> None:
    """Why, and who gets it, as large as they fit; where both cannot, why alone."""
    left, width = design.margin * MM, page.width - 2 * design.margin * MM
    why = f"**{plain(facts.why) or words.say('tag.check_first')}**"
    give = words.say("tag.give_to", name=facts.give_to) if facts.give_to else ""
    both = ([why, give], [f"{why} {give}"]) if give else ([why],)
    sizes = (design.reason, design.reason - 0.5, 8, 7.5, 7, 6.5, 6)
    for arrangements in (both, ([why],)):
        for size, texts in product(sizes, arrangements):
            style = Style(size, size * 1.15)
            first = design.field * MM + 0.9 * MM + fonts.cap_height(size)
            lines = sum(len(wrap(text, width, style)) for text in texts)
            if first + (lines - 1) * style.leading <= bottom:
                for text in texts:
                    first = page.paragraph(left, first, text, width, style) + style.leading
                return
    raise CannotPrint("too_long", number=facts.number)


# Small things


def _fit(page: Page, x: float, y: float, text: str, style: Style, room: float) -> float:
    """A line, set smaller where it must be, but never under 6 points."""
    natural = fonts.width(text, style.size, style.font)
    if natural > room:
        style = replace(style, size=max(6.0, style.size * room / natural * 0.995))
    return page.text(x, y, text, style, within=room)


def _locale(words: Words) -> str:
    from babel import Locale

    territory = Locale.parse(words.region).territory
    try:
        return str(Locale.parse(f"{words.language}_{territory}"))
    except ValueError:
        return words.language


def _long(when: date, words: Words) -> str:
    """A day with a short month and its year, in words of the tag's language."""
    from babel.dates import format_date

    return format_date(when, "medium", locale=_locale(words)).replace(" ", HARD_SPACE)


def _short(when: date, words: Words) -> str:
    """The same without its year."""
    from babel.dates import format_skeleton

    return format_skeleton("MMMd", when, locale=_locale(words)).replace(" ", HARD_SPACE)
