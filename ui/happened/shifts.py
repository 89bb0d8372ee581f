"""Which shifts of the site are worked on a day, whether one has begun, and whether it is over."""

from datetime import date, timedelta

from registry.records.places import ShiftSet
from registry.services import places, typed
from registry.services.problems import Refused
from ui.desk import Desk


def planned(desk: Desk, day: date | None = None) -> list[ShiftSet]:
    """The shifts worked on a day; every one of the site where no day is given."""
    with desk.session.reading() as connection:
        found = [one.payload for one in places.shifts(connection, desk.site.subject)]
    return [one for one in found if day is None or _is_worked(one, day)]


def _is_worked(shift: ShiftSet, day: date) -> bool:
    last = shift.to_day or day.isoformat()
    return day.weekday() in shift.weekdays and shift.from_day <= day.isoformat() <= last


def began(desk: Desk, shift: ShiftSet, day: date) -> int | None:
    """When it began, microseconds UTC; None where it has not yet."""
    return _past(desk, day, shift.start)


def is_over(desk: Desk, shift: ShiftSet, day: date) -> bool:
    """Whether it has ended; one that ends before it starts goes over midnight."""
    return _past(desk, day + timedelta(days=int(shift.end <= shift.start)), shift.end) is not None


def _past(desk: Desk, day: date, time: str) -> int | None:
    try:
        return typed.moment(day, time, desk.site.payload.zone, desk.session.clock())
    except Refused:
        return None
