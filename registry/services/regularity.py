"""Which visits to a bath gave readings too regular to be true: a quiet line for the officer, of nobody by name.

Ice baths are looked at, where each thermometer is read again and again at one point. A kitchen's own habit, as keying
from paper, counts as honest, and so does a thermometer that often shows the same.
"""

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction

from sqlalchemy import Connection

from registry import resources
from registry.compute import regularity as compute
from registry.compute.regularity import Honest, Keyed, Regularity, Sign
from registry.quantity import Reading
from registry.services import activity, places, thermometers
from registry.services.intervals import Progress
from registry.services.problems import refuse
from registry.services.session import Session, day_at
from registry.services.thermometers import Thermometer
from registry.store import queries
from registry.store import tracking as store
from registry.store.queries import BathView
from registry.store.tracking import Measured

DAY_US, MINUTE_US, SECOND_US = 86_400_000_000, 60_000_000, 1_000_000
DAYS, MOST_DAYS = 28, 3660
POINT = "ice_point"


@dataclass(frozen=True, slots=True)
class Visit:
    """One bath and how regular its readings are. shift: its name, empty where none was told."""

    bath: str
    number: str
    at: int
    day: date
    shift: str
    found: Regularity


@dataclass(frozen=True, slots=True)
class SiteRegular:
    """A site's ice baths in a period. visits: how many; notable: those too regular to be true, the latest first.

    repeats: of all readings, held against what the types' noise alone would let repeat, whatever the habit; often: so
    many that one honest site in 10 000 shows as many.
    """

    site: str
    name: str
    zone: str
    visits: int
    notable: tuple[Visit, ...]
    repeats: Sign
    often: bool


def by_site(
    session: Session,
    sites: Collection[str] | None = None,
    days: int = DAYS,
    progress: Progress = activity.go_on,
) -> list[SiteRegular]:
    """The ice baths of the last so many days; what came before tells what is usual."""
    if not 1 <= days <= MOST_DAYS:
        raise refuse("days", "choose", value=days, choices=f"1, 2, ... {MOST_DAYS}")
    with session.reading() as connection:
        since = session.clock() - days * DAY_US
        those = {row.thermometer: thermometers.thermometer(connection, row.thermometer) for row in _rows(connection)}
        checks: dict[str, list[Measured]] = defaultdict(list)
        for check in store.checks(connection, list(those)):
            if check.bath is not None and check.said["point"] == POINT and not check.voided:
                checks[check.bath].append(check)
        found = []
        for n, fact in enumerate(places.sites(connection)):
            if sites is None or fact.subject in sites:
                baths = [one for one in queries.baths_at(connection, fact.subject, since=0) if one.bath in checks]
                names = {one.subject: one.payload.name for one in places.shifts(connection, fact.subject)}
                walk = _Walk(those, fact.payload.zone, names)
                visits = [walk.visit(connection, bath, checks[bath.bath]) for bath in reversed(baths)]
                lately = [one for one in visits if one.at >= since]
                notable = tuple(one for one in reversed(lately) if one.found.notable)
                repeats = walk.repeats(since)
                often = repeats.p < compute.ALPHA and repeats.among >= compute.LEAST
                found.append(
                    SiteRegular(
                        fact.subject, fact.payload.name, fact.payload.zone, len(lately), notable, repeats, often
                    )
                )
            if not progress(n):
                break
    return found


def _rows(connection: Connection) -> list[queries.ThermometerRow]:
    return list(queries.thermometers(connection))


@dataclass(slots=True)
class _Walk:
    """Through a site's baths in order: what each thermometer showed last, and what is usual here so far."""

    those: Mapping[str, Thermometer]
    zone: str
    shifts: Mapping[str, str]
    last: dict[str, str] = field(default_factory=dict)
    again: dict[str, list[bool]] = field(default_factory=lambda: defaultdict(list))
    early: list[bool] = field(default_factory=list)
    same_minute: list[bool] = field(default_factory=list)
    all_repeats: list[tuple[int, bool, float]] = field(default_factory=list)

    def visit(self, connection: Connection, bath: BathView, checks: Sequence[Measured]) -> Visit:
        ordered = sorted(checks, key=lambda one: one.at)
        keyed = [self._keyed(bath, one) for one in ordered]
        usual = Honest(
            compute.by_habit(compute.EARLY, sum(self.early), len(self.early)),
            compute.by_habit(compute.SAME_MINUTE, sum(self.same_minute), len(self.same_minute)),
        )
        found = compute.regularity(keyed, usual)
        if not found.notable:  # what is too regular is no measure of what is usual
            self._learn(ordered, keyed)
        for check, one in zip(ordered, keyed, strict=True):
            self.last[check.thermometer] = check.said["as_found"][0]
            if one.repeats is not None:
                self.all_repeats.append((bath.at, one.repeats, self._by_noise(check)))
        shift = next((self.shifts.get(one.said.get("shift", ""), "") for one in ordered), "")
        number = queries.entry_at(connection, bath.chain_no, bath.seq).number
        return Visit(bath.bath, number, bath.at, day_at(bath.at, self.zone), shift, found)

    def repeats(self, since: int) -> Sign:
        lately = [(seen, chance) for at, seen, chance in self.all_repeats if at >= since]
        return compute.sign([chance for _, chance in lately], sum(seen for seen, _ in lately))

    def _keyed(self, bath: BathView, check: Measured) -> Keyed:
        of, shown = self.those[check.thermometer], Reading.from_text(check.said["as_found"][0])
        before = self.again[check.thermometer]
        chance = compute.by_habit(self._by_noise(check), sum(before), len(before))
        last = self.last.get(check.thermometer)
        settles = resources.instrument_types()[of.type.code].settle.value * SECOND_US
        return Keyed(
            None if last is None else last == check.said["as_found"][0],
            chance,
            check.at - bath.at < settles if check.at >= bath.at else None,
            _finer(of, shown),
            check.at // MINUTE_US,
        )

    def _by_noise(self, check: Measured) -> float:
        """By half the type's repeatability, which no figure is far from: a steadier one repeats more."""
        of, shown = self.those[check.thermometer], Reading.from_text(check.said["as_found"][0])
        step = _step(of, shown)
        sd = of.type.repeatability.value / 2 * (1.8 if shown.unit == "F" else 1)
        return compute.repeat_chance(float(step), sd) if step else 1.0

    def _learn(self, checks: Sequence[Measured], keyed: Sequence[Keyed]) -> None:
        seen: set[int] = set()
        for n, (check, one) in enumerate(zip(checks, keyed, strict=True)):
            if one.repeats is not None:
                self.again[check.thermometer].append(one.repeats)
            if one.early is not None:
                self.early.append(one.early)
            if n:
                self.same_minute.append(one.minute in seen)
            seen.add(one.minute)


def _step(of: Thermometer, shown: Reading) -> Fraction:
    """Of its display or scale as read, in the unit of a reading; 0 for a unit that it does not show any more."""
    return Fraction(of.step_as_read(shown.unit)) if shown.unit in of.facts.scales else Fraction(0)


def _finer(of: Thermometer, shown: Reading) -> bool:
    step = _step(of, shown)
    return bool(step) and Fraction(shown.value) % step != 0
