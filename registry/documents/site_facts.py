"""What the papers of a site are handed: the list for the wall, and what we do when one is off."""

from dataclasses import dataclass
from datetime import date
from typing import Literal

from registry.documents.facts import Cell, PageFacts
from registry.documents.sheet_facts import SpanFacts

Use = Literal["use", "limited_use", "do_not_use"]


@dataclass(frozen=True, slots=True)
class WallRow:
    """One thermometer. only: hot or cold, of a limited one; why: of one not to be used, ready worded.

    overdue: the day is past. first: the plan wants a check before the next use, `hot` at the hot point. point: the only
    one that it was checked at. cells: what it must show, by use; none of one not to be used.
    """

    tag_id: str
    type: str
    use: Use
    only: Literal["", "hot", "cold"] = ""
    why: str = ""
    recheck_by: date | None = None
    overdue: bool = False
    first: Literal["", "now", "hot"] = ""
    point: str = ""
    cells: tuple[Cell, ...] = ()


@dataclass(frozen=True, slots=True)
class WallPlace:
    """A station with its thermometers; the name is empty for those that have none."""

    name: str
    rows: tuple[WallRow, ...]


@dataclass(frozen=True, slots=True)
class WallFacts:
    page: PageFacts
    printed_at: int
    places: tuple[WallPlace, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MustRead:
    """What passes on the dials of some types that are alike in this. ice, boil: empty where not read so."""

    types: tuple[str, ...]
    ice: tuple[SpanFacts, ...]
    boil: tuple[SpanFacts, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WhenOffFacts:
    """Everything that the page says, sentences ready worded, with stars around what is bold.

    as_of: when the rules stood so. limits: what each class may be off, with its source, and how it is decided. ice_at,
    boil_at: heads of the two columns, with the reference. steps: in their order. cautions: sentences.
    """

    page: PageFacts
    as_of: str
    limits: tuple[str, ...]
    ice_at: str
    boil_at: str
    must_read: tuple[MustRead, ...]
    must_read_note: str
    steps: tuple[str, ...]
    told: str
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OverviewPart:
    """A part of the page for the manager, ready worded: a table where it has heads, then sentences, then a small note.

    figures: how many columns at the right hold figures. may_join: its sentences stand one below the other, in one
    paragraph where that saves a page.
    """

    name: str
    heads: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    figures: int = 0
    sentences: tuple[str, ...] = ()
    note: str = ""
    may_join: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class OverviewFacts:
    """The page for the manager. as_of: of when it speaks; answer: its one sentence, with stars around what is bold."""

    page: PageFacts
    as_of: str
    answer: str
    parts: tuple[OverviewPart, ...]
