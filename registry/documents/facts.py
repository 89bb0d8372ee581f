"""What documents are handed: frozen facts, everything needed and nothing to look up.

Instants are microseconds UTC, days are dates, quantities keep the digits as typed or as
frozen in the journal; codes are those of `registry.wording`. A fact that does not apply is None or empty.
"""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from registry.quantity import (
    Length,
    Pressure,
    Reading,
    TemperatureDifference,
    Unit,
    mean_difference,
)

Paper = Literal["a4", "letter"]
Side = Literal["at_least", "at_most"]
# Frozen numbers are rounded to 4 decimals; anything farther off is another check's number.
_ROUNDED = Fraction(6, 100_000)


class CannotPrint(ValueError):
    """These facts make no page. `code`: `missing_characters`, `too_wide`, `too_long`, `no_tag`,
    `label_too_small`, `no_country` or `no_address`; `values`: what the sentence about it needs.
    """

    def __init__(self, code: str, /, **values: str) -> None:
        super().__init__(f"{code}: {values}")
        self.code = code
        self.values = values


@dataclass(frozen=True, slots=True, kw_only=True)
class Superseded:
    """What was said of a document later: another stands in its place, it was withdrawn, or another amends it.

    `number`: of the entry that says so. Of counts_no_more (a check on it) and bath_in_doubt it is the document's own,
    and `day` that of its issue.
    """

    number: str
    day: date
    kind: Literal["superseded", "withdrawn", "amended", "counts_no_more", "bath_in_doubt"] = "superseded"

    @property
    def crossed(self) -> bool:
        """Whether the page counts no more at all; else it is to be read with what is said of it."""
        return self.kind not in ("amended", "bath_in_doubt")


@dataclass(frozen=True, slots=True, kw_only=True)
class PageFacts:
    """Whose page it is and how it is written. `units`: those shown; the unit read and judged always are.

    `logo`: a small PNG beside the owner's name.
    """

    language: str
    region: str
    zone: str
    paper: Paper
    owner: str
    site: str
    units: tuple[Unit, ...] = ()
    demo: bool = False
    superseded: Superseded | None = None
    logo: bytes | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleFacts:
    step: TemperatureDifference
    lowest: Reading
    highest: Reading


@dataclass(frozen=True, slots=True, kw_only=True)
class ThermometerFacts:
    """The thermometer as it was when checked. `probe`: maker, model and serial of a sensor that can part."""

    tag_id: str
    type: str
    adjustable: bool
    scales: tuple[ScaleFacts, ...] = ()
    maker: str = ""
    model: str = ""
    serial: str = ""
    probe: str = ""
    condition: str = ""
    station: str = ""
    in_use_since: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PressureFacts:
    """Where the pressure came from. `station`: in the room, as used; `usual`: there by ISO 2533."""

    source: str
    station: Pressure
    elevation: Length
    usual: Pressure
    stated: Pressure | None = None
    barometer: str = ""
    place: str = ""
    read_at: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ReferenceFacts:
    """A thermometer that a comparison rests on; without an outside certificate it is part of the house's."""

    tag_id: str
    certificate_number: str = ""
    issuer: str = ""
    issued: date | None = None
    past_due: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class BathFacts:
    """A bath as judged. `u`: its standard uncertainty; `others`: how many thermometers shared it."""

    number: str
    point: str
    made: str
    u: TemperatureDifference
    judged: Literal["accepted", "suspect", "overruled"] = "accepted"
    others: int = 0
    pressure: PressureFacts | None = None
    references: tuple[ReferenceFacts, ...] = ()

    def __post_init__(self) -> None:
        if (self.point == "boiling_point") != (self.pressure is not None):
            raise ValueError("a boiling bath, and no other, has a pressure")
        if (self.point == "comparison") != bool(self.references):
            raise ValueError("a comparison, and no other bath, has reference thermometers")


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitFacts:
    """The tolerance and the rule it was judged by. `scale`: C, F or dual; `source`: code and place."""

    tolerance: TemperatureDifference
    tolerance_class: str
    scale: str
    rule_number: str
    since: date
    source: str
    decision: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """Readings in one bath, judged: as found or as left.

    `reference`: as used, in the unit of the readings; `offset` and `expanded` (U): in the unit of the limit.
    `bias`: what the reference counts in for this type. `chance`: that the true offset is within, 0 to 1.
    """

    readings: tuple[Reading, ...]
    reference: Reading
    offset: TemperatureDifference
    outcome: str
    at: int
    bath: BathFacts
    limits: LimitFacts
    expanded: TemperatureDifference | None = None
    k: Decimal | None = None
    chance: float | None = None
    bias: TemperatureDifference | None = None

    def __post_init__(self) -> None:
        unit = self.limits.tolerance.unit
        if self.offset.unit != unit or (self.expanded is not None and self.expanded.unit != unit):
            raise ValueError("offset and U are in the unit of the limit")
        if (self.expanded is None) != (self.k is None):
            raise ValueError("U and k come together")
        if abs(Fraction(self.exact_offset.to(unit).value) - Fraction(self.offset.value)) > _ROUNDED:
            raise ValueError("the offset is not that of these readings and this reference")

    @property
    def unit(self) -> Unit:
        """The unit that was read."""
        return self.reference.unit

    @property
    def exact_offset(self) -> TemperatureDifference:
        """Mean of the readings minus the reference, exact, in the unit that was read."""
        return mean_difference([reading - self.reference for reading in self.readings])


@dataclass(frozen=True, slots=True, kw_only=True)
class Adjustment:
    """What was done, and what was read afterwards; None where nobody read."""

    how: str
    at: int
    as_left: Measured | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PointResult:
    """turned_since: when it was last adjusted because of another check, after it was last read at this point."""

    point: str
    check_number: str
    as_found: Measured
    adjustment: Adjustment | None = None
    turned_since: int | None = None

    @property
    def unchanged(self) -> bool:
        """Whether as left is as found."""
        return self.adjustment is None and self.turned_since is None


@dataclass(frozen=True, slots=True, kw_only=True)
class MethodFacts:
    """`steps` in the page's language."""

    name: str
    edition: int
    steps: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonFacts:
    name: str
    initials: str
    role: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PeopleFacts:
    """`keyed_by`: where another than who checked; `recorded_at`: when each result was entered."""

    checked_by: PersonFacts
    recorded_at: tuple[int, ...]
    issued_at: int
    keyed_by: PersonFacts | None = None
    reviewed_by: PersonFacts | None = None
    recheck_by: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofFacts:
    """`entries`: the hashed texts, the issuing entry first; `receipt`: 162 characters; hashes in hex."""

    number: str
    entry_hash: str
    key_fingerprint: str
    receipt: str
    entries: tuple[bytes, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """What the thermometer must show so that food is at a limit. `step` and `food`: codes of the limit."""

    step: str
    food: str
    side: Side
    limit: Reading
    shown: Reading


@dataclass(frozen=True, slots=True, kw_only=True)
class ReachFacts:
    """`only_at` and `share` (% of the distance): where one point alone was checked."""

    rows: tuple[Reach, ...]
    until: date
    only_at: Reading | None = None
    share: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Earlier:
    """An earlier certificate that this one replaces or, where `what` says so in the page's language, amends."""

    number: str
    day: date
    what: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class OutsidePoint:
    """A point that this page does not show, where it was last read outside its limits. `point`: as of its class."""

    point: str
    outcome: str
    day: date


@dataclass(frozen=True, slots=True, kw_only=True)
class StandingFacts:
    """What stood against its use when the page was issued. `status`: empty in service.

    `only`: hot or cold, of one whose use is limited, also while it is to be checked first.
    """

    status: str = ""
    only: str = ""
    outside: tuple[OutsidePoint, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Past:
    """An earlier check as found, in the unit of the page's first limit. `reference`: where on the scale."""

    at: int
    point: str
    reference: Reading
    offset: TemperatureDifference
    expanded: TemperatureDifference | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class HistoryFacts:
    """Earlier checks in time order, and what happened between them: instants with a code of `incident`,
    or `adjusted`.
    """

    past: tuple[Past, ...]
    happened: tuple[tuple[int, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class CertificateFacts:
    """`components`: codes of what U counts; `would_decide`: codes of what would help an undecided check;
    `why_now`: why it was checked, in the page's language.
    """

    page: PageFacts
    thermometer: ThermometerFacts
    results: tuple[PointResult, ...]
    methods: tuple[MethodFacts, ...]
    people: PeopleFacts
    proof: ProofFacts
    components: tuple[str, ...] = ()
    would_decide: tuple[str, ...] = ()
    why_now: str = ""
    reach: ReachFacts | None = None
    standing: StandingFacts | None = None
    earlier: Earlier | None = None
    history: HistoryFacts | None = None

    def measured(self) -> tuple[Measured, ...]:
        """Everything that was measured, in the order of the rows."""
        rows: list[Measured] = []
        for result in self.results:
            rows.append(result.as_found)
            if result.adjustment and result.adjustment.as_left:
                rows.append(result.adjustment.as_left)
        return tuple(rows)


@dataclass(frozen=True, slots=True, kw_only=True)
class IdentityFacts:
    """What an identity tag says."""

    tag_id: str
    type: str
    owner: str
    language: str
    demo: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One limit on a status tag, and what the thermometer must show for it."""

    use: Literal["cook", "hot", "cold"]
    side: Side
    limit: Reading
    shown: Reading


@dataclass(frozen=True, slots=True, kw_only=True)
class StatusFacts:
    """What a status tag says. `status`: a service status; `number`: the check's; `only`: hot or cold, of a
    limited one; `why`: of one that is not to be used, in the tag's language; `correction`: only where it must
    be added. `outcome` and `point` stand on the tag where there are no cells. first: the
    plan wants a check before the next use, `hot` at the hot point.
    """

    tag_id: str
    status: str
    number: str
    checked: date
    initials: str
    language: str
    region: str
    recheck_by: date | None = None
    first: Literal["", "now", "hot"] = ""
    outcome: str = ""
    point: str = ""
    cells: tuple[Cell, ...] = ()
    only: Literal["", "hot", "cold"] = ""
    correction: TemperatureDifference | None = None
    why: str = ""
    give_to: str = ""
    demo: bool = False


TagFacts = IdentityFacts | StatusFacts
