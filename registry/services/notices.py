"""What is due and worth a word without being asked: said once for each thing, and not in quiet hours.

`now` is what a window shows; `to_tell` what a program in the background says and has not said yet. What was said is
kept on this computer alone; what is over is forgotten, so that it is said anew when it comes back.
"""

import json
import re
from collections.abc import Collection, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import date, datetime
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from registry.compute import schedule
from registry.services import duelist, intervals, places, working_set
from registry.services.duelist import Due
from registry.services.problems import refuse
from registry.services.session import Session, day_at
from registry.store.local import Local

TOLD, QUIET = "notices.told", "notices.quiet"
USUAL_QUIET = "21:00-05:00"  # judgement: kitchens begin before six


@dataclass(frozen=True, slots=True)
class Notice:
    """One thing to say. key: the same as long as it is the same thing. code and values make its sentence
    (`notice.CODE`, worded in `services/words/notices`); day: a day that the sentence names. zone: of its site."""

    key: str
    code: str
    site: str
    name: str
    zone: str
    count: int = 0
    tags: tuple[str, ...] = ()
    day: date | None = None
    values: dict[str, str] = field(default_factory=dict)


def now(session: Session, sites: Collection[str] | None = None) -> list[Notice]:
    """Everything that deserves a word at this moment, quiet hours or not; sites by name, what bars use first."""
    with session.reading() as connection:
        found = [
            notice
            for site in places.sites(connection)
            if sites is None or site.subject in sites
            for notice in _of_site(session, connection, site.subject, site.payload.name, site.payload.zone)
        ]
    for kept in intervals.plans_kept(session, sites):
        if kept.change:
            with session.reading() as connection:
                zone = places.site_named_by_id(connection, kept.site).payload.zone
            month = day_at(session.clock(), zone).strftime("%Y-%m")
            key = f"plan_not_kept:{kept.site}:{month}"
            values = {"done": str(kept.done), "asked": str(kept.asked)}
            found.append(Notice(key, "plan_not_kept", kept.site, kept.name, zone, values=values))
    return found


def _of_site(session: Session, connection: Connection, site: str, name: str, zone: str) -> Iterator[Notice]:
    today = day_at(session.clock(), zone)
    due = duelist.due_list(session, connection, site)
    barred = _tags(one for one in due if one.item.code in schedule.BEFORE_USE)
    if barred:
        yield Notice(f"before_use:{site}:{','.join(barred)}", "before_use", site, name, zone, len(barred), barred)
    late = _tags(one for one in due if one.item.state == "overdue" and one.item.code != "reference_expiry")
    if late:
        yield Notice(f"overdue:{site}:{today}", "overdue", site, name, zone, len(late), late)
    of_shift = [one for one in due if one.item.code in schedule.BY_SHIFT and one.item.state == "due"]
    if of_shift:
        first, on = of_shift[0].item, _tags(iter(of_shift))
        yield Notice(f"shift:{first.shift}:{first.day}", "shift", site, name, zone, len(on), on)
    for one in due:
        if one.item.code == "reference_expiry":
            state = "ended" if one.item.state == "overdue" else "ends"
            key = f"reference_{state}:{one.row.thermometer}:{one.item.day}"
            yield Notice(key, f"reference_{state}", site, name, zone, 1, (one.row.tag_id or "",), one.item.day)
    for few in working_set.too_few(connection, site):
        values = {"station": few.name, "type": few.type, "smallest": str(few.smallest)}
        key = f"too_few:{few.station}:{few.type}:{few.usable}"
        yield Notice(key, "too_few", site, name, zone, few.usable, few.tags, values=values)


def _tags(those: Iterator[Due]) -> tuple[str, ...]:
    return tuple(sorted({one.row.tag_id or "" for one in those}))


# --- once for each, and quiet hours --------------------------------------------------------------------------


def to_tell(session: Session, local: Local, sites: Collection[str] | None = None) -> list[Notice]:
    """What was not said yet and may be said at this hour of its site; from then on it counts as said."""
    found = now(session, sites)
    new = not_told(session, local, found)
    count_as_told(local, found, new, sites)
    return new


def not_told(session: Session, local: Local, found: Sequence[Notice]) -> list[Notice]:
    """Which of these were not said yet and may be said at this hour of their site."""
    said, quiet = _said(local), quiet_hours(local)
    return [one for one in found if _kept_as(one) not in said and not is_quiet(session.clock(), one.zone, quiet)]


def count_as_told(
    local: Local, found: Sequence[Notice], told: Sequence[Notice], sites: Collection[str] | None = None
) -> None:
    """From now on these count as said; what is not among `found`, all that stands at the sites, is over.

    Of other sites nothing is known here: what was said of them stays said.
    """
    said = _said(local)
    standing = {_kept_as(one) for one in found}
    elsewhere = set() if sites is None else {one for one in said if one.partition(" ")[0] not in sites}
    keep = (said & (standing | elsewhere)) | {_kept_as(one) for one in told}
    if keep != said:
        local.set_setting(TOLD, json.dumps(sorted(keep)))


def _kept_as(one: Notice) -> str:
    return f"{one.site} {one.key}"


def _said(local: Local) -> set[str]:
    with suppress(ValueError, TypeError):  # not ours, or cut off: then it is said once more
        return set(map(str, json.loads(local.setting(TOLD) or "[]")))
    return set()


def quiet_hours(local: Local) -> str:
    return local.setting(QUIET) or USUAL_QUIET


def set_quiet_hours(local: Local, hours: str) -> None:
    """As "21:00-05:00", over midnight where it ends before it begins; "none" for no quiet at all."""
    if hours != "none" and not re.fullmatch("([01][0-9]|2[0-3]):[0-5][0-9]-([01][0-9]|2[0-3]):[0-5][0-9]", hours):
        raise refuse("quiet", "not_hours", value=hours)
    local.set_setting(QUIET, hours)


def is_quiet(at: int, zone: str, hours: str) -> bool:
    """Whether an instant lies in quiet hours of a place; from the first minute, up to the last.

    >>> is_quiet(1_772_582_400_000_000, "UTC", "21:00-05:00"), is_quiet(1_772_582_400_000_000, "UTC", "none")
    (True, False)
    """
    begins, _, ends = hours.partition("-")
    if not ends:
        return False
    clock = datetime.fromtimestamp(at / 1e6, ZoneInfo(zone)).strftime("%H:%M")
    return begins <= clock < ends if begins <= ends else clock >= begins or clock < ends
