"""What the shift sheet is handed: the thermometers of a shift, the baths they may be read in, and what passes."""

from dataclasses import dataclass
from datetime import date

from registry.documents.facts import PageFacts
from registry.quantity import Length, Reading


@dataclass(frozen=True, slots=True, kw_only=True)
class SpanFacts:
    """The range that passes, in one unit on the dial."""

    lowest: Reading
    highest: Reading


@dataclass(frozen=True, slots=True, kw_only=True)
class LineFacts:
    """One thermometer. type: a code of `type`. units: those on the dial. ice, boil: empty where it is not read so."""

    tag_id: str
    station: str
    type: str
    units: tuple[str, ...]
    ice: tuple[SpanFacts, ...]
    boil: tuple[SpanFacts, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BathBlank:
    """A kind of bath: its reference in both units, and what passes for most of the sheet's thermometers.

    elevation: of the site, where the reference is the usual boiling point there; else None.
    """

    point: str
    made: tuple[str, ...]
    reference: tuple[Reading, Reading]
    spans: tuple[SpanFacts, ...]
    elevation: Length | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetFacts:
    """A whole sheet. shift: its name and hours as worded, or empty. day: None leaves a blank. cautions: codes."""

    page: PageFacts
    shift: str
    hours: str
    day: date | None
    baths: tuple[BathBlank, ...]
    lines: tuple[LineFacts, ...]
    cautions: tuple[str, ...]
