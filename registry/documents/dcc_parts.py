"""What the parts of the exchange format are written with: elements, sentences of the page, numbers."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from xml.etree.ElementTree import Element

from registry.compute.check import plain
from registry.documents.facts import CertificateFacts
from registry.documents.words import Words


@dataclass(frozen=True, slots=True, kw_only=True)
class Exchange:
    """What the format wants beside the facts of the page.

    country: ISO 3166, two letters; address: of the site, as typed; release: of this program, like v1.2.3.
    """

    country: str
    site: str
    address: str
    release: str
    same_as_issued: bool = True


@dataclass(frozen=True, slots=True)
class Making:
    """What every part is written from."""

    facts: CertificateFacts
    more: Exchange
    words: Words

    def content(self, text: str) -> Element:
        return node("dcc:content", text, lang=self.facts.page.language)

    def said(self, tag: str, *paragraphs: str) -> Element:
        """Sentences of the page, without the marks of bold, a line each."""
        return node(tag, self.content("\n".join(paragraphs).replace("**", "")))

    def named(self, text: str) -> Element:
        """A name; it says itself what keeps the certificate from counting, since a program may show nothing else."""
        marks = ["demo"] if self.facts.page.demo else []
        ended = self.facts.page.superseded
        if ended is not None and ended.crossed:
            marks.append(ended.kind)
        return self.said("dcc:name", ": ".join([*map(self.sentence, marks), text]))

    def sentence(self, code: str) -> str:
        return self.words.say(f"certificate.{code}")


def node(tag: str, *inside: Element | str | None, **attributes: str) -> Element:
    """An element with its text, blanks at its ends left out, or with the elements in it; None is left out."""
    made = Element(tag, attributes)
    for one in inside:
        if isinstance(one, str):
            made.text = one.strip()
        elif one is not None:
            made.append(one)
    return made


def number(value: Decimal | Fraction) -> str:
    """Exact, else half-even to 4 decimals.

    >>> number(Fraction(-4, 9)), number(Decimal("101.20"))
    ('-0.4444', '101.2')
    """
    return f"{plain(value):f}"


def identification(making: Making, issuer: str, value: str, name: str, **attributes: str) -> Element:
    return node(
        "dcc:identification",
        node("dcc:issuer", issuer),
        node("dcc:value", value),
        making.said("dcc:name", name),
        **attributes,
    )
