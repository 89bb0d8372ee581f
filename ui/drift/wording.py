"""The sentences over the grid: what was missed, where most of it, and what is not known."""

from collections.abc import Sequence

from registry.services.activity import Activity, SiteWeeks, Week
from registry.wording import format
from ui.desk import Desk


def headline(desk: Desk, activity: Activity) -> str:
    """How many checks were missed, of how many; where one site has most of them, which."""
    weeks = max((len(one.weeks) for one in activity.sites), default=0)
    missed = sum(one.total("missed") for one in activity.sites)
    wanted = sum(one.total("asked") for one in activity.sites)
    values = {"count": missed, "wanted": format.number(wanted, desk.region), "weeks": weeks}
    if not wanted:
        return desk.say("drift.none_wanted", **values)
    if not missed:
        return desk.say("drift.none_missed", **values)
    worst = worst_of(activity)
    if worst is None or len(activity.sites) == 1:
        return desk.say("drift.missed", **values)
    most = 2 * worst.total("missed") > missed
    return desk.say("drift.missed_most" if most else "drift.missed_many", site=worst.name, **values)


def group_names(desk: Desk, by: str, keys: Sequence[str]) -> list[str]:
    """Of groups by type, site, maker or model; where none is stated, that."""
    if by == "type":
        return [desk.say(f"type.{key}") for key in keys]
    if by == "site":
        names = desk.site_names()
        return [names.get(key) or desk.say("activity.site_not_stated") for key in keys]
    return [key or desk.say("activity.model_not_stated") for key in keys]


def not_known(desk: Desk, activity: Activity) -> str:
    """How much of that time says nothing, since no shifts or no plan were on record; empty where all is known."""
    weeks = [week for site in activity.sites for week in site.weeks]
    count = sum(not week.known for week in weeks)
    return desk.say("drift.not_known", count=count, of=len(weeks)) if count else ""


def worst_of(activity: Activity) -> SiteWeeks | None:
    """The site that missed the most, where one alone did."""
    ordered = sorted(activity.sites, key=lambda one: -one.total("missed"))
    if not ordered or not ordered[0].total("missed"):
        return None
    alone = len(ordered) == 1 or ordered[1].total("missed") < ordered[0].total("missed")
    return ordered[0] if alone else None


def share_done(week: Week) -> float | None:
    """What was done of what could be: open, not used, closed and lent ones ask for nothing. None: nothing was asked."""
    asked = week.wanted - week.open - week.not_used - week.other
    return week.done / asked if week.known and asked > 0 else None


def told(desk: Desk, site: SiteWeeks, week: Week) -> str:
    """A cell in words: whatever makes up its figure and how far it is filled."""
    values = {"site": site.name, "day": format.short_day(week.monday, desk.region)}
    if not week.known:
        return desk.say(f"drift.cell_{week.why}", **values)
    if not week.wanted:
        return desk.say("drift.cell_none_wanted", **values)
    counts = {"wanted": week.asked, "done": week.done, "missed": week.missed}
    sentence = desk.say("drift.cell" if week.over else "drift.cell_so_far", **counts, **values)
    rest = [desk.say(f"drift.and_{one}", count=n) for one in REST if (n := getattr(week, one))]
    since = [desk.say("drift.and_since", day=format.short_day(week.since, desk.region))] if week.since else []
    return " ".join([sentence, *rest, *since])


REST = ("open", "not_used", "not_found", "no_reading", "other")
