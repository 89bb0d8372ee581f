"""A certificate as plain HTML: the same facts and sentences as the printed page, for readers that pages do not serve.

One file without scripts and without anything from outside; the same facts give the same bytes.
"""

from base64 import b64encode
from collections.abc import Callable, Iterable, Sequence
from html import escape

import segno

from registry.documents import sections, sentences
from registry.documents.answer import Answer, answers
from registry.documents.certificate import earlier_said
from registry.documents.facts import CertificateFacts, Measured
from registry.documents.results import Figured, Row, notes_of, rows_of
from registry.documents.scale_plot import Scale, scale_for
from registry.documents.words import Words
from registry.quantity import TemperatureDifference
from registry.wording import format

STYLE = (
    "body{font:1rem/1.4 sans-serif;color:#16191C;background:#fff;max-width:52rem;margin:1.5rem auto;padding:0 1rem}"
    "h1{font-size:1.6rem;margin:.6rem 0}h2{font-size:1.1rem;margin:1.4rem 0 .3rem;border-top:1px solid #8B9299;"
    "padding-top:.6rem}table{border-collapse:collapse;margin:.4rem 0}th,td{text-align:left;vertical-align:top;"
    "padding:.25rem .9rem .25rem 0;border-bottom:1px solid #8B9299}td.n,th.n{text-align:right;"
    "font-variant-numeric:tabular-nums}caption{text-align:left;font-weight:bold}dl{margin:.3rem 0;display:grid;"
    "grid-template-columns:max-content 1fr;gap:0 1rem}thead th+th{text-align:right}"
    "dt{font-weight:bold}dd{margin:0 0 .3rem}code{overflow-wrap:anywhere;white-space:pre-wrap}"
    ".strip{background:#16191C;color:#fff;padding:.3rem .6rem;font-weight:bold}svg{display:block;max-width:100%}"
    "@media print{body{margin:0;max-width:none;font-size:10pt}h2,table,dl{break-inside:avoid}h2{break-after:avoid}}"
)
FIGURES = ("reading", "reference", "offset", "correction", "expanded", "chance")
WIDE, HIGH = 480, 26  # of the plot and of each of its rows, px


def certificate_html(facts: CertificateFacts, *, same_as_issued: bool = True) -> bytes:
    """The document in UTF-8. same_as_issued: whether these facts still are those of the page that was issued."""
    words = Words(facts.page.language, facts.page.region, facts.page.zone)
    number, tag = facts.proof.number, facts.thermometer.tag_id
    title = f"{words.say('certificate.number')} {number}: {words.say('certificate.running', tag_id=tag)}"
    parts = [
        "<!DOCTYPE html>",
        f'<html lang="{escape(facts.page.language)}">',
        f'<head><meta charset="utf-8"><title>{escape(title)}</title>',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<style>{STYLE}</style></head>",
        "<body>",
        *_strip(facts, words),
        "<header>",
        *_owner(facts, words),
        "</header>",
        "<main>",
        f"<h1>{_text(words.say('certificate.title'))}</h1>",
        _paragraph(f"{words.say('certificate.scope')} {words.say('certificate.holds_for')}"),
        *([_paragraph(f"**{earlier_said(facts, words)}**")] if facts.earlier else []),
        *_answer(facts, words),
        *_standing(facts, words),
        *_results(facts, words),
    ]
    for code in sections.ON_ONE:
        if sections.SECTIONS[code].applies(facts):
            parts += [f"<section><h2>{_text(words.say(f'certificate.section.{code}'))}</h2>"]
            parts += [*SECTIONS[code](facts, words), "</section>"]
    parts += [
        "</main>",
        "<footer>",
        _paragraph(words.say("certificate.copy")),
        _paragraph(words.say("certificate.html_note" if same_as_issued else "certificate.html_note_since")),
        _paragraph(f"**{words.say('certificate.end', number=number)}**"),
        "</footer></body></html>",
        "",
    ]
    return "\n".join(parts).encode()


# --- small pieces --------------------------------------------------------------------------------------------


def _text(text: str) -> str:
    return escape(text, quote=False)


def _marked(markup: str) -> str:
    """Text in which two stars set bold from there to the next two."""
    parts = [_text(part) for part in markup.split("**")]
    return "".join(f"<strong>{part}</strong>" if place % 2 and part else part for place, part in enumerate(parts))


def _paragraph(markup: str) -> str:
    return f"<p>{_marked(markup)}</p>"


def _pairs(pairs: Iterable[tuple[str, str]]) -> list[str]:
    """Labels and what stands beside them."""
    return ["<dl>", *(f"<dt>{_text(label)}</dt><dd>{_text(value)}</dd>" for label, value in pairs), "</dl>"]


def _table(caption: str, heads: Sequence[str], rows: Iterable[tuple[Sequence[str], Sequence[str]]]) -> list[str]:
    """Rows of (heads, cells), ready marked up; the first heads stand over those of the rows."""
    found = ["<table>", f"<caption>{_text(caption)}</caption>"] if caption else ["<table>"]
    found.append("<thead><tr>" + "".join(f'<th scope="col">{head}</th>' for head in heads) + "</tr></thead><tbody>")
    for names, cells in rows:
        row = "".join(f'<th scope="row">{one}</th>' for one in names)
        found.append(f"<tr>{row}" + "".join(f'<td class="n">{one}</td>' for one in cells) + "</tr>")
    return [*found, "</tbody></table>"]


# --- above the sections --------------------------------------------------------------------------------------


def _strip(facts: CertificateFacts, words: Words) -> list[str]:
    """What keeps it from counting, before anything else."""
    said = [words.say("certificate.demo"), words.say("certificate.demo_strip")] if facts.page.demo else []
    if (ended := facts.page.superseded) is not None:
        if ended.crossed:
            said.append(words.say(f"certificate.{ended.kind}"))
        day = words.day(ended.day)
        said.append(words.say(f"certificate.{ended.kind}_strip", number=ended.number, day=day))
    return [f'<p class="strip" role="note">{_text(". ".join(said))}</p>'] if said else []


def _owner(facts: CertificateFacts, words: Words) -> list[str]:
    logo = []
    if facts.page.logo:
        data = b64encode(facts.page.logo).decode()
        logo = [f'<img src="data:image/png;base64,{data}" alt="" height="40">']
    return [
        *logo,
        f"<p><strong>{_text(facts.page.owner)}</strong><br>{_text(facts.page.site)}</p>",
        f"<p>{_text(words.say('certificate.number'))} <strong>{_text(facts.proof.number)}</strong></p>",
    ]


def _answer(facts: CertificateFacts, words: Words) -> list[str]:
    """The answer before its numbers: each outcome as a word, with its offset."""
    it = facts.thermometer
    named = f"<strong>{_text(it.tag_id)}</strong>, {_text(words.say(f'type.{it.type}'))}"
    cells = [cell for band in answers(facts, words) for cell in band]
    return [
        f"<p>{_text(words.say('certificate.band.thermometer'))}: {named}</p>",
        "<ul>",
        *(_outcome(cell) for cell in cells),
        "</ul>",
    ]


def _outcome(cell: Answer) -> str:
    return f"<li>{_text(cell.label)}: <strong>{_text(cell.word)}</strong>, {_text(cell.below)}</li>"


def _standing(facts: CertificateFacts, words: Words) -> list[str]:
    against = sentences.standing(facts, words)
    return [_paragraph(f"**{against}**")] if against else []


# --- results -------------------------------------------------------------------------------------------------


def _results(facts: CertificateFacts, words: Words) -> list[str]:
    rows = rows_of(facts, words)
    lines = [line for row in rows for line in row.lines]
    two_units = any(len(row.lines) > 1 for row in rows)
    keys = [key for key in FIGURES if key not in _left_out(lines)]
    means = any(row.measured and len(row.measured.readings) > 1 for row in rows)
    heads = [words.say(f"certificate.results.{'mean' if key == 'reading' and means else key}") for key in keys]
    unit = f"°{facts.results[0].as_found.unit}"
    title = words.say("certificate.results.two_units" if two_units else "certificate.results.one_unit", unit=unit)
    units = [_text(words.say("sheet.column.unit"))] if two_units else []
    return [
        f"<h2>{_text(title)}</h2>",
        *_table("", ["", *units, *map(_text, heads)], _figures(rows, keys, two_units)),
        *_plot(rows, words),
        *map(_paragraph, notes_of(facts, rows, words)),
    ]


def _left_out(lines: Sequence[Figured]) -> set[str]:
    """Columns that say nothing on this page."""
    found = set() if any(line.texts["chance"] for line in lines) else {"chance"}
    return found | ({"expanded"} if all(line.texts["expanded"] == "–" for line in lines) else set())


def _figures(rows: Sequence[Row], keys: Sequence[str], two_units: bool) -> list[tuple[list[str], list[str]]]:
    found: list[tuple[list[str], list[str]]] = []
    for row in rows:
        name = "<br>".join([f"<strong>{_text(row.name)}</strong>", *map(_text, row.under)])
        if row.note:
            name += f"<br>{_text(row.note)}"
        for place, line in enumerate(row.lines):
            unit = [f"°{line.unit}"] if two_units else []
            found.append(([name if place == 0 else "", *unit], [_text(line.texts[key]) for key in keys]))
        if not row.lines:
            found.append(([name, *([""] if two_units else [])], ["–"] * len(keys)))
    return found


def _plot(rows: Sequence[Row], words: Words) -> list[str]:
    """Each offset with its U against its limits, one row for each of the table's; its numbers stand in the table."""
    measured = [row.measured for row in rows if row.measured]
    limit = measured[0].limits.tolerance
    caption = "plot" if any(one.expanded for one in measured) else "plot_without_u"
    said = words.say(f"certificate.results.{caption}", limit=words.limit(limit))
    scale, high = scale_for(measured, 8, WIDE - 8), HIGH * len(rows) + 20
    drawn = []
    for place, row in enumerate(rows):
        if row.measured:
            drawn += _plotted(row.measured, row.as_found, scale, HIGH * place)
    zero = scale.at(0)
    bottom = HIGH * len(rows)
    ticks = [
        f'<text x="{scale.at(float(one.value)):.1f}" y="{bottom + 15}" text-anchor="middle" font-size="12">'
        f"{_text(words.offset(one, _places(one)))}</text>"
        for one in (TemperatureDifference(-limit.value, limit.unit), TemperatureDifference(limit.value, limit.unit))
    ]
    return [
        f"<figure><figcaption>{_text(said)}</figcaption>",
        f'<svg role="img" aria-label="{escape(said)}" width="{WIDE}" height="{high}" viewBox="0 0 {WIDE} {high}">',
        *drawn,
        f'<path d="M{zero:.1f} 0V{bottom}" stroke="#8B9299"/>',
        *ticks,
        "</svg></figure>",
    ]


def _places(limit: TemperatureDifference) -> int:
    digits = limit.text().split()[0].partition(".")[2]
    return len(digits)


def _plotted(one: Measured, as_found: bool, scale: Scale, top: float) -> list[str]:
    """Filled as found, open as left."""
    edge, middle = float(one.limits.tolerance.value), top + HIGH / 2
    low, high = scale.at(-edge), scale.at(edge)
    offset = float(one.offset.value)
    wide = float(one.expanded.value) if one.expanded else 0.0
    bar = f'<path d="M{scale.at(offset - wide):.1f} {middle}H{scale.at(offset + wide):.1f}" stroke="#16191C"/>'
    return [
        f'<rect x="{low:.1f}" y="{top}" width="{high - low:.1f}" height="{HIGH}" fill="#E9ECEE"/>',
        f'<path d="M{low:.1f} {top}V{top + HIGH}M{high:.1f} {top}V{top + HIGH}" stroke="#16191C"/>',
        *([bar] if wide else []),
        f'<circle cx="{scale.at(offset):.1f}" cy="{middle}" r="5" stroke="#16191C" stroke-width="1.5" '
        f'fill="{"#16191C" if as_found else "#fff"}"/>',
    ]


# --- the sections --------------------------------------------------------------------------------------------

Part = Callable[[CertificateFacts, Words], list[str]]


def _said(paragraphs: Callable[[CertificateFacts, Words], Iterable[str]]) -> Part:
    return lambda facts, words: [_paragraph(one) for one in paragraphs(facts, words)]


def _thermometer(facts: CertificateFacts, words: Words) -> list[str]:
    pairs = sections.identity(facts, words)
    return _pairs((words.say(f"certificate.thermometer.{code}"), value) for code, value in pairs if value)


def _reach(facts: CertificateFacts, words: Words) -> list[str]:
    reach = facts.reach
    assert reach is not None
    heads = ["", *(_text(words.say(f"certificate.reach.{one}")) for one in ("limit", "shown"))]
    rows = []
    for row in reach.rows:
        names = [f"step.{row.step}", *([f"food.{row.food}"] if row.food != "any" else [])]
        side = words.say(f"certificate.reach.{row.side}")
        name = f"{_text(' '.join(map(words.name_of, names)))}, {_text(side)}"
        shown = f"<strong>{_text(words.temperature(row.shown))}</strong>"
        rows.append(([name], [_text(words.temperature(row.limit)), shown]))
    return [*_table("", heads, rows), _paragraph(sections.reach_note(reach, words))]


def _history(facts: CertificateFacts, words: Words) -> list[str]:
    """Earlier checks as a table where the page plots them, and what happened between."""
    history = facts.history
    assert history is not None
    unit = f"°{facts.results[0].as_found.limits.tolerance.unit}"
    heads = [words.say("certificate.results.reference"), words.say("certificate.results.offset")]
    heads.append(words.say("certificate.results.expanded"))
    rows = []
    for one in history.past:
        name = f"{_text(words.instant(one.at))}, {_text(words.say(f'certificate.history.{one.point}'))}"
        expanded = format.expanded(one.expanded, words.region) if one.expanded else "–"
        offset = format.offset(one.offset, words.region)
        rows.append(([name], [_text(words.temperature(one.reference)), _text(offset), _text(expanded)]))
    happened = [
        f"{words.instant(at)}: "
        + words.name_of("certificate.history.adjusted" if code == "adjusted" else f"incident.{code}")
        for at, code in history.happened
    ]
    return [
        *_table(words.say("certificate.history.over"), ["", *map(_text, heads)], rows),
        *(["<ul>", *(f"<li>{_text(one)}</li>" for one in happened), "</ul>"] if happened else []),
        _paragraph(words.say("certificate.history.unit", unit=unit)),
    ]


def _people(facts: CertificateFacts, words: Words) -> list[str]:
    pairs = sections.people_pairs(facts, words)
    return _pairs((words.say(f"certificate.people.{code}"), value) for code, value in pairs if value)


def _proof(facts: CertificateFacts, words: Words) -> list[str]:
    proof = facts.proof
    numbers = [result.check_number for result in facts.results]
    rests = words.say("certificate.proof.rests_on_checks", numbers=words.joined(numbers), count=len(numbers))
    pairs = [
        ("hash", f"<code>{sections.grouped(proof.entry_hash)}</code>"),
        ("key", f"<code>{sections.grouped(proof.key_fingerprint)}</code>"),
        ("rests_on", _text(rests)),
        ("receipt", f"<code>{_text(proof.receipt)}</code>"),
    ]
    code = segno.make_qr(proof.receipt, version=7, error="m", mode="alphanumeric", boost_error=False)
    return [
        "<dl>",
        *(f"<dt>{_text(words.say(f'certificate.proof.{code}'))}</dt><dd>{value}</dd>" for code, value in pairs),
        "</dl>",
        code.svg_inline(scale=4, border=4, title=words.say("certificate.proof.receipt"), omitsize=False),
        _paragraph(words.say("certificate.proof.note_html")),
    ]


SECTIONS: dict[str, Part] = {
    "thermometer": _thermometer,
    "reference": _said(sentences.reference),
    "method": _said(sentences.method),
    "limits": _said(sentences.limits),
    "uncertainty": _said(sentences.uncertainty),
    "history": _history,
    "reach": _reach,
    "people": _people,
    "proof": _proof,
}
