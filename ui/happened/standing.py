"""What the page knows of one thermometer: where it belongs, whether it may be used, who else is ready there."""

from dataclasses import dataclass

from registry.services import lookup, places, thermometers, working_set
from registry.services.incidents import OF_THE_INDICATOR
from registry.services.lookup import ThermometerRow
from registry.services.thermometers import Thermometer
from ui.desk import Desk

READY = ("in_service", "limited_use")
NOT_LISTED = ("retired",)


@dataclass(frozen=True, slots=True)
class Standing:
    """A thermometer as it stands. place: its station, else its site. spare: tag ids of the others ready for use there.

    wanted: how many of its type the station is to keep, where that was stated; of_type: how many others are usable.
    """

    of: Thermometer
    place: str
    spare: tuple[str, ...]
    wanted: int
    of_type: int

    @property
    def tag_id(self) -> str:
        return self.of.tag_id

    @property
    def status(self) -> str:
        return self.of.row.service_status

    @property
    def point(self) -> str:
        """Where it is checked first after something happened: in ice if its type allows that."""
        known = ("ice_point", "boiling_point", "comparison")
        return next((one for one in known if self.of.type.allowed(one) is not None), "comparison")

    @property
    def is_last(self) -> bool:
        """Whether nothing is ready for use at its place without it, or fewer of its type than are to be kept."""
        return not self.spare or self.of_type < self.wanted


def standing(desk: Desk, thermometer: str) -> Standing:
    with desk.session.reading() as connection:
        of = thermometers.thermometer(connection, thermometer)
        row = of.row
        stations = {one.subject: one.payload for one in places.stations(connection, row.site)}
        here = lookup.listed(connection, row.site)
    beside = [one for one in here if row.station in (None, one.station) and one.thermometer != thermometer]
    spare = [one for one in beside if _ready(one)]
    station = stations.get(row.station or "")
    wanted = (station.smallest or {}).get(of.type.code, 0) if station else 0
    return Standing(
        of,
        station.name if station else desk.site.payload.name,
        tuple(one.tag_id or "" for one in spare),
        wanted,
        sum(one.type == of.type.code and working_set.is_usable(one) for one in spare),
    )


def sharing(desk: Desk, of: Standing, what: str) -> tuple[Standing, ...]:
    """The others that are read on the same meter, where it is the meter that this happens to."""
    parts = of.of.parts
    if what not in OF_THE_INDICATOR or parts is None or parts.indicator is None:
        return ()
    with desk.session.reading() as connection:
        shared = thermometers.with_shared_parts(connection, of.of).get(parts.indicator, [])
    return tuple(standing(desk, one) for one in shared)


def _ready(row: ThermometerRow) -> bool:
    return row.service_status in READY


def by_station(desk: Desk) -> list[tuple[str, list[ThermometerRow]]]:
    """The thermometers of the desk's site under the names of their stations; "" for those that have none."""
    with desk.session.reading() as connection:
        names = {one.subject: one.payload.name for one in places.stations(connection, desk.site.subject)}
        rows = lookup.listed(connection, desk.site.subject)
    found: dict[str, list[ThermometerRow]] = {}
    for row in rows:
        if row.status not in NOT_LISTED:
            found.setdefault(names.get(row.station or "", ""), []).append(row)
    return sorted(found.items(), key=lambda one: (not one[0], one[0].casefold()))
