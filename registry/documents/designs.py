"""Measures of the tag designs and of the sheets and rolls they are printed on, in mm; type in points."""

import re
from dataclasses import dataclass
from typing import Literal

Baseline = float
Set = tuple[Baseline, float]  # where a line stands, and its size


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """`wide_code`: modules of half a millimetre, where there is room. Baselines count from the top."""

    width: float
    height: float
    margin: float
    wide_code: bool
    # The identity tag: word above, capitals of the id in mm, type below, rule, owner.
    above: Set
    capitals: tuple[Baseline, float]
    below: Set
    owner_rule: float
    owner: Set
    # The status tag: the sign's centre and radius, where words begin, the word in one line or in two.
    sign: tuple[float, float, float]
    words: float
    word: Set
    two_words: tuple[Baseline, Baseline, float]
    tag_id: Set
    tag_id_below_two: Baseline
    under: Set
    number_under: bool
    # The black field's lower edge, then recheck with its date's size, the rule, the cells, the last line.
    field: float
    recheck: tuple[Baseline, float, float]
    rule: float
    head: Set
    limit: Set | None
    figure: Set
    side: float
    or_more: Baseline | None
    reason: float
    last: Set


SMALL = Design(
    width=38.1,
    height=21.2,
    margin=1.5,
    wide_code=False,
    above=(4.1, 6.5),
    capitals=(9.6, 4.0),
    below=(13.2, 7),
    owner_rule=15.0,
    owner=(18.7, 7),
    sign=(5.7, 6.3, 4.0),
    words=11.0,
    word=(5.3, 14),
    two_words=(3.3, 5.9, 8.2),
    tag_id=(8.6, 8.2),
    tag_id_below_two=8.6,
    under=(11.4, 6.5),
    number_under=True,
    field=11.9,
    recheck=(14.4, 6.5, 7.5),
    rule=15.3,
    head=(17.5, 6.5),
    limit=None,
    figure=(20.3, 8),
    side=6.5,
    or_more=None,
    reason=8.5,
    last=(20.2, 6.5),
)
MIDDLE = Design(
    width=50,
    height=25,
    margin=1.8,
    wide_code=False,
    above=(4.7, 8),
    capitals=(11.7, 5.2),
    below=(16.0, 8),
    owner_rule=18.6,
    owner=(22.4, 8),
    sign=(7.4, 7.2, 5.0),
    words=14.6,
    word=(6.6, 19),
    two_words=(4.0, 7.2, 10.5),
    tag_id=(10.4, 10),
    tag_id_below_two=10.4,
    under=(13.1, 6.5),
    number_under=False,
    field=13.4,
    recheck=(16.5, 7, 8.5),
    rule=17.5,
    head=(20.1, 7),
    limit=None,
    figure=(23.7, 11),
    side=7,
    or_more=None,
    reason=9,
    last=(23.4, 6.5),
)
LARGE = Design(
    width=63.5,
    height=37,
    margin=2.6,
    wide_code=True,
    above=(6.4, 9),
    capitals=(15.6, 7.0),
    below=(21.0, 9),
    owner_rule=27.4,
    owner=(32.4, 9.5),
    sign=(9.8, 9.3, 6.2),
    words=19.3,
    word=(9.2, 26),
    two_words=(6.0, 10.4, 13.5),
    tag_id=(14.6, 14),
    tag_id_below_two=14.8,
    under=(17.8, 7),
    number_under=False,
    field=18.2,
    recheck=(21.8, 8, 11),
    rule=23.3,
    head=(26.1, 7),
    limit=(29.0, 9),
    figure=(33.1, 12.5),
    side=7,
    or_more=35.6,
    reason=11,
    last=(35.0, 7),
)
SIZES = {"38.1x21.2": SMALL, "50x25": MIDDLE, "63.5x37": LARGE}


# Any other size that an identity tag may have: one line of capitals, what else there is room for below it.
NARROWEST, LOWEST = 25.0, 9.0


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet of labels, by its measures: where the first one begins, and how far each is from the next."""

    paper: Literal["a4", "letter"]
    width: float
    height: float
    columns: int
    rows: int
    left: float
    top: float
    pitch_x: float
    pitch_y: float

    @property
    def labels(self) -> int:
        return self.columns * self.rows

    def place(self, label: int) -> tuple[float, float]:
        """Left and upper edge of a label, 0 the first, row by row."""
        row, column = divmod(label % self.labels, self.columns)
        return self.left + column * self.pitch_x, self.top + row * self.pitch_y


@dataclass(frozen=True, slots=True)
class Roll:
    """A roll with one label a page."""

    width: float
    height: float


Stock = Sheet | Roll
# What label printers feed, in mm: from the narrowest backing to 4 inches across; common practice, no source.
ROLL_WIDTHS, ROLL_HEIGHTS = (20.0, 110.0), (9.0, 160.0)

SHEETS = {
    "a4_38.1x21.2": Sheet("a4", 38.1, 21.2, 5, 13, 9.5, 10.5, 38.1, 21.2),
    "a4_48.5x25.4": Sheet("a4", 48.5, 25.4, 4, 10, 8, 21.5, 48.5, 25.4),
    "a4_52.5x29.7": Sheet("a4", 52.5, 29.7, 4, 10, 0, 0, 52.5, 29.7),
    "a4_63.5x38.1": Sheet("a4", 63.5, 38.1, 3, 7, 7.2, 15.15, 66.04, 38.1),
    "a4_70x37": Sheet("a4", 70, 37, 3, 8, 0, 0.5, 70, 37),
    "a4_99.1x38.1": Sheet("a4", 99.1, 38.1, 2, 7, 3.35, 15.2, 103, 38.1),
    "letter_44.4x12.7": Sheet("letter", 44.4, 12.7, 4, 20, 7.14, 12.7, 52.39, 12.7),
    "letter_50.8x25.4": Sheet("letter", 50.8, 25.4, 4, 10, 6.35, 12.7, 50.8, 25.4),
    "letter_66.7x25.4": Sheet("letter", 66.7, 25.4, 3, 10, 4.76, 12.7, 69.85, 25.4),
    "letter_101.6x25.4": Sheet("letter", 101.6, 25.4, 2, 10, 3.97, 12.7, 106.36, 25.4),
    "letter_101.6x50.8": Sheet("letter", 101.6, 50.8, 2, 5, 4.13, 12.7, 106.36, 50.8),
}


def stock_named(name: str) -> Stock | None:
    """A sheet by its name, or a roll by its width and height: `50x25`; None where it is neither."""
    if name in SHEETS:
        return SHEETS[name]
    match = re.fullmatch(r"([0-9]{1,3}(?:\.[0-9]{1,2})?)x([0-9]{1,3}(?:\.[0-9]{1,2})?)", name)
    if match is None:
        return None
    width, height = float(match[1]), float(match[2])
    fits = ROLL_WIDTHS[0] <= width <= ROLL_WIDTHS[1] and ROLL_HEIGHTS[0] <= height <= ROLL_HEIGHTS[1]
    return Roll(width, height) if fits else None


def design_for(width: float, height: float) -> Design | None:
    """The largest design that a label of this size holds; None where none does."""
    for design in (LARGE, MIDDLE, SMALL):
        if design.width <= width and design.height <= height:
            return design
    return None
