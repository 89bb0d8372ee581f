"""The certificate as HTML: well formed, with every word of the printed page, nothing from outside, nothing run."""

import re
from collections.abc import Iterator
from dataclasses import replace
from html.parser import HTMLParser

import pytest

from registry.documents import history_plot, scale_plot, sections
from registry.documents.certificate import certificate
from registry.documents.certificate_html import SECTIONS, certificate_html
from registry.documents.facts import CertificateFacts, Superseded
from registry.documents.words import Words
from tests.documents import reading, samples
from tests.documents.samples import USUAL
from tests.documents.test_certificate import CASES, FORBIDDEN, WRITTEN

VOID = {"meta", "br", "img"}
SAYING = {"title", "p", "h1", "h2", "th", "td", "dt", "dd", "li", "strong", "code", "figcaption", "caption", "text"}


class Parsed(HTMLParser):
    """Checks that what is opened is closed in order; keeps the texts, the tags and their attributes."""

    def __init__(self, html: bytes) -> None:
        super().__init__()
        self.open: list[str] = []
        self.texts: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.feed(html.decode())
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if data.strip():
            assert self.open[-1] in SAYING | {"style"}, data
            if self.open[-1] != "style":
                self.texts.append(data)

    def all_of(self, tag: str) -> list[dict[str, str | None]]:
        return [attributes for name, attributes in self.tags if name == tag]


def words_in(text: str) -> Iterator[str]:
    """Words and figures, without the marks that stand around them."""
    for word in re.split(r"[\s\u00a0]+", text):
        if bare := word.strip(".,;:()«»*"):
            yield bare


def on_pages_only(facts: CertificateFacts) -> set[str]:
    """What only pages have: their numbers, turning over, the running head; and the note about this very file."""
    words = Words(facts.page.language, facts.page.region, facts.page.zone)
    said = [words.say("certificate.proof.note")]
    said += [words.say("certificate.page", page=n, pages=m) for m in (1, 2, 3) for n in range(1, m + 1)]
    said += [words.say("certificate.continued", page=n) for n in (2, 3)]
    if facts.history is not None:  # what names the marks of a plot
        said += [words.say(f"certificate.history.{one}", unit="") for one in ("along", "over", "caption")]
        said += [f"°{facts.results[0].as_found.limits.tolerance.unit}"]
    return {word for one in said for word in words_in(one)}


@pytest.fixture
def no_axes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Figures on axes are no sentence: the table has what they show."""
    monkeypatch.setattr(scale_plot, "_draw_ticks", lambda *args: args[3] + 12)
    monkeypatch.setattr(history_plot, "draw", lambda page, y, *rest: y)


@pytest.mark.fast_cases(17)
@pytest.mark.usefixtures("no_axes")
@pytest.mark.parametrize(("language", "region"), WRITTEN)
@pytest.mark.parametrize("case", CASES)
def test_every_printed_word_is_in_it(case: str, language: str, region: str) -> None:
    facts = samples.with_page(CASES[case], language=language, region=region)
    said = {word for text in Parsed(certificate_html(facts)).texts for word in words_in(text)}
    printed = set(words_in(reading.words_of(certificate(facts)))) - on_pages_only(facts)
    assert printed - said == set()
    assert len(printed) > 100


@pytest.mark.fast_cases(17)
@pytest.mark.parametrize(("language", "region"), WRITTEN)
@pytest.mark.parametrize("case", CASES)
def test_it_says_nothing_that_was_not_earned(case: str, language: str, region: str) -> None:
    facts = samples.with_page(CASES[case], language=language, region=region)
    assert [text for text in Parsed(certificate_html(facts)).texts if FORBIDDEN.search(text)] == []


def test_every_section_of_the_page_has_its_part() -> None:
    assert set(sections.ON_ONE) == set(SECTIONS)


def test_language_title_headings_and_heads_of_tables_are_marked() -> None:
    parsed = Parsed(certificate_html(samples.FAHRENHEIT))
    assert parsed.all_of("html") == [{"lang": "en"}]
    assert len(parsed.all_of("title")) == 2  # of the document, and of the code's drawing
    assert len(parsed.all_of("h1")) == 1
    assert len(parsed.all_of("h2")) == 8
    assert {one["scope"] for one in parsed.all_of("th")} == {"col", "row"}
    assert all(one.get("role") == "img" or "class" in one for one in parsed.all_of("svg"))
    assert Parsed(certificate_html(samples.SPANISH)).all_of("html") == [{"lang": "es"}]


def test_nothing_is_run_and_nothing_comes_from_outside() -> None:
    html = certificate_html(replace(USUAL, page=replace(USUAL.page, logo=b"\x89PNG"))).decode()
    parsed = Parsed(html.encode())
    assert not {"script", "link", "iframe", "object", "form"} & {tag for tag, _ in parsed.tags}
    for _, attributes in parsed.tags:
        assert not [name for name in attributes if name.startswith("on")]
        for name in ("src", "href", "xlink:href"):
            assert (attributes.get(name) or "data:").startswith("data:")
    assert "@import" not in html
    assert "url(" not in html


def test_names_are_text_and_nothing_else() -> None:
    evil = '<script>alert("1")</script> & **b**'
    facts = samples.with_page(USUAL, owner=evil, site=evil)
    facts = replace(
        facts,
        thermometer=replace(facts.thermometer, maker=evil, model=evil, serial=evil, condition=evil, station=evil),
        people=replace(facts.people, checked_by=replace(facts.people.checked_by, name=evil, initials='"<i>')),
        methods=tuple(replace(one, steps=evil) for one in facts.methods),
    )
    html = certificate_html(facts)
    parsed = Parsed(html)
    assert not parsed.all_of("script")
    assert not parsed.all_of("i")
    assert b"<script>" not in html
    assert sum('<script>alert("1")</script>' in text for text in parsed.texts) >= 7


def test_the_same_facts_give_the_same_bytes() -> None:
    assert certificate_html(samples.LONGEST) == certificate_html(samples.LONGEST)


def test_what_keeps_it_from_counting_comes_first() -> None:
    ended = Superseded(number="LMHK440210", day=samples.PEOPLE.recheck_by or None, kind="withdrawn")  # type: ignore[arg-type]
    parsed = Parsed(certificate_html(samples.with_page(samples.DEMO, superseded=ended)))
    first = parsed.texts[1]  # behind the title
    assert first.startswith("DEMO. DEMO DATA")
    assert "WITHDRAWN" in first
    assert "LMHK440210" in first
