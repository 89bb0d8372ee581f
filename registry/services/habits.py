"""What a site's baths of one kind have in common: an ice that is always warm, a boiling that fits another height.

It is learned from what owes nothing to those baths: what thermometers read in them up to their first adjustment or
incident, beside how far one of their type may be off.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from math import hypot, sqrt
from statistics import median, stdev

from sqlalchemy import Connection

from registry.compute import bath as compute
from registry.compute.bath import ElevationFit, Habit, Pin, PressureMistake
from registry.quantity import Length, Pressure
from registry.services import baths, places, thermometers, tracking
from registry.services.session import Session
from registry.services.told import DAY_US, Seen, celsius_of
from registry.services.tracking import Tracked
from registry.store import queries
from registry.store.queries import EntryView
from registry.store.tracking import newest_entry, said_since

SURE, WORTH_TELLING = 3.0, 0.3  # standard deviations, and °C, from which on a habit counts and the officer is told
READING = ("reading_taken", "check_recorded")  # of a bath that is read in
POINTS = ("ice_point", "boiling_point")
POT_U, WEATHER_U = 0.29, 0.22  # °C: of a pot at a hard boil; of a day's pressure by elevation alone
LEAST_PINS, LEAST_BATHS = 3, 3
YOUNG_DAYS = 90.0
MOST = 10.0  # °C: no bath is so far off by habit; what is was mistyped
ABSOLUTE, SEA_LEVEL = (
    ("room_barometer", "household_absolute"),
    ("household_sea_level", "altimeter_setting", "weather_report"),
)
WINDOW_DAYS, LOOK_EACH_DAYS = 42, 7
WINDOW_US = WINDOW_DAYS * DAY_US
CLEAR, LEAST_CHANGE = 4.0, 0.15  # standard deviations, and °C


@dataclass(frozen=True, slots=True)
class SiteHabit:
    """One site's baths of one kind. notable: worth telling the officer. fits: for boiling, the elevation that it fits;
    mixed_up: whether its pressure was of the other kind. changes: when it changed.

    baths: how many it rests on; reference: their mean, °C.
    """

    site: str
    point: str
    habit: Habit
    baths: int
    reference: float
    notable: bool
    changes: "tuple[Change, ...]" = ()
    fits: ElevationFit | None = None
    mixed_up: PressureMistake | None = None


def habit_of(session: Session, connection: Connection, site: str, point: str, but: str) -> Habit:
    """The habitual part of the error of a site's baths, from all of them but one, by id.

    None to reckon with unless it is sure: no bath is called bad for a habit that may be none.
    """
    kept: tuple[str, int, Habit] | None = session.kept.get("habit")  # of the bath that was looked at last
    newest = newest_entry(connection)
    if kept is not None and kept[0] == but and _as_it_was(connection, kept[1], but):
        habit = kept[2]
    else:
        found = compute.habit(list(_pins(_those(session, connection, site), site, point, but)))
        habit = found if _sure(found) else Habit()
    session.kept["habit"] = but, newest, habit
    return habit


def _as_it_was(connection: Connection, entry: int, bath: str) -> bool:
    """Whether nothing but readings, and judgements of this bath, was recorded since: they change no habit of others."""
    said = said_since(connection, entry)
    return said is not None and all(kind in READING or subject == bath for kind, subject in said)


def _sure(found: Habit) -> bool:
    return found.evidence >= LEAST_PINS and abs(found.mean) >= max(SURE * found.sd, WORTH_TELLING)


def at_site(session: Session, connection: Connection, site: str) -> list[SiteHabit]:
    """Every kind of bath that a site has had, with what is habitual about it."""
    those = _those(session, connection, site)
    return [found for point in POINTS if (found := _one(connection, those, site, point)) is not None]


def _one(connection: Connection, those: Sequence[Tracked], site: str, point: str) -> SiteHabit | None:
    here = {one.bath: one for each in those for one in each.told.seen if (one.site, one.point) == (site, point)}
    if not here:
        return None
    found = compute.habit(list(_pins(those, site, point, "")))
    reference = sum(one.celsius for one in here.values()) / len(here)
    changes = tuple(_changes(those, site, point))
    told = len(here) >= LEAST_BATHS
    if point != "boiling_point" or not told:  # a few baths tell of no other elevation either
        return SiteHabit(site, point, found, len(here), reference, told and _sure(found), changes)
    elevation = _elevation(connection, site)
    sd = hypot(found.sd, POT_U, WEATHER_U / sqrt(len(here)))
    fits = compute.misfit_elevation(reference, found.mean, sd, elevation)
    made = [baths.made(connection, bath) for bath in here]
    tried = [one for bath in made if (one := mistake(bath, found.mean, sd, elevation)) is not None]
    mixed_up = max(tried, key=lambda one: one.probability, default=None)
    return SiteHabit(
        site, point, found, len(here), reference, told and (_sure(found) or fits.contradicts), changes, fits, mixed_up
    )


def _elevation(connection: Connection, site: str) -> float:
    return float(Length.from_text(places.site_named_by_id(connection, site).payload.elevation).metres())


def mistake(made: EntryView, error: float, sd: float, elevation_m: float) -> PressureMistake | None:
    """Whether the pressure of a boiling was of the other kind than said; None where none was typed."""
    said = made.payload
    if "pressure" not in said or said.get("pressure_source") not in ABSOLUTE + SEA_LEVEL:
        return None
    typed = float(Pressure.from_text(said["pressure"]).pascal())
    u = max(hypot(*(celsius_of(text) for text in said["components"].values())), POT_U)
    return compute.pressure_mistake(error, sd, u, typed, elevation_m, said["pressure_source"] in ABSOLUTE)


# --- when it changed -----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Change:
    """From a day on all of a site's thermometers read so much higher in its baths, °C, so many of them together."""

    at: int
    shift: float
    sd: float
    thermometers: int


def _changes(those: Sequence[Tracked], site: str, point: str) -> Iterator[Change]:
    """Days from which on nearly all moved alike, which no drift of theirs explains; the clearest of each move."""
    by_one = [
        [one for one in each.told.seen if one.counts and (one.site, one.point) == (site, point)] for each in those
    ]
    ends = [one.at for each in by_one for one in each]
    if not ends:
        return
    days = range(min(ends) // DAY_US + WINDOW_DAYS, max(ends) // DAY_US - WINDOW_DAYS // 3, LOOK_EACH_DAYS)
    found = [_moved(those, by_one, day) for day in days]
    for _, near in groupby((one for one in found if one), key=lambda one: (one.shift > 0, one.at // (3 * WINDOW_US))):
        yield max(near, key=lambda one: abs(one.shift) / one.sd)


def _moved(those: Sequence[Tracked], by_one: Sequence[Sequence[Seen]], day: int) -> Change | None:
    """How much all moved from the weeks before a day to those after, where it is more than chance and drift."""
    pins = []
    for each, seen in zip(those, by_one, strict=True):
        events = [one.at_days for one in each.told.history.events]
        if any(day - WINDOW_DAYS <= at <= day + WINDOW_DAYS for at in events):
            continue
        before = [one for one in seen if 0 < day * DAY_US - one.at <= WINDOW_US]
        after = [one for one in seen if 0 <= one.at - day * DAY_US < WINDOW_US]
        if before and after:
            (was, u_was), (now, u_now) = _mean(before), _mean(after)
            walked = each.track.parameters.offset_walk * sqrt(WINDOW_DAYS)
            drifted = each.track.rate.per_day * WINDOW_DAYS
            pins.append(Pin(now - was - drifted, hypot(u_was, u_now, walked), tracking.model_of(each.of)))
    if len(pins) < LEAST_PINS:
        return None
    found = compute.habit(pins, model_u=0.0, usual=float("inf"))
    clear = found.evidence >= LEAST_PINS and abs(found.mean) >= max(CLEAR * found.sd, LEAST_CHANGE)
    return Change(day * DAY_US, found.mean, found.sd, found.evidence) if clear else None


def _those(session: Session, connection: Connection, site: str) -> list[Tracked]:
    rows = queries.thermometers(connection, site=site)
    those = [thermometers.thermometer(connection, row.thermometer) for row in rows]
    return list(tracking.tracked(session, connection, those).values())


# --- what pins it --------------------------------------------------------------------------------------------


def _pins(those: Sequence[Tracked], site: str, point: str, but: str) -> Iterator[Pin]:
    """From thermometers that were in two of these baths at least, condemned ones among them: one shows no habit."""
    for one in those:
        untouched = list(_untouched(one, site, point))
        here = [seen for seen in untouched if (seen.site, seen.point) == (site, point) and seen.bath != but]
        if len(here) < 2:
            continue
        expected, u = _expected(one, untouched, here)
        middle, spread = _middle(here)
        if abs(middle - expected) <= MOST:
            yield Pin(middle - expected, hypot(u, spread), tracking.model_of(one.of))


def _untouched(one: Tracked, site: str, point: str) -> Iterator[Seen]:
    """Its checks before it can have drifted far since its first in these baths, up to its first adjustment or incident.

    From then on it may have been set to these very baths.
    """
    seen = [each for each in one.told.seen if not each.as_left]
    first = next((each.at for each in seen if (each.site, each.point) == (site, point)), 0)
    turned = min((event.at_days for event in one.told.history.events), default=float("inf"))
    return (each for each in seen if each.at / DAY_US <= min(turned, first / DAY_US + YOUNG_DAYS))


def _expected(one: Tracked, untouched: Sequence[Seen], here: Sequence[Seen]) -> tuple[float, float]:
    """What it should have read at this point, °C, and how uncertain that is: by its ice, else as any of its type."""
    centre, celsius = tracking.type_prior(one.of).centre, here[-1].celsius
    at_ice = [seen for seen in untouched if seen.point == "ice_point"]
    if here[-1].point == "ice_point" or not at_ice:
        drift = hypot(centre.offset_walk * sqrt(YOUNG_DAYS / 2), centre.rate_spread * YOUNG_DAYS / 2)
        return 0.0, hypot(centre.offset_spread, centre.slope_spread * celsius, drift)
    mean, u = _mean(at_ice)
    return mean, hypot(u, at_ice[-1].shared_u, centre.slope_spread * celsius)


def _mean(seen: Sequence[Seen]) -> tuple[float, float]:
    """Mean offset, °C, and its standard uncertainty from what is new each time."""
    count = len(seen)
    new = sqrt(sum(one.u_new**2 + one.step**2 / 12 for one in seen) / count)
    return sum(one.as_read for one in seen) / count, new / sqrt(count)


def _middle(seen: Sequence[Seen]) -> tuple[float, float]:
    """Median offset, °C, and its standard uncertainty from all that moved between those baths.

    One gross bath among several moves the median little, and where few baths disagree nothing is known of a habit.
    """
    _, u = _mean(seen)
    offsets = [one.as_read for one in seen]
    return median(offsets), max(u, stdev(offsets) / sqrt(len(seen)))
