"""The recheck plan: how long thermometers hold, what another plan would have found, what is to come, odd regularity."""

from typing import TYPE_CHECKING, Annotated, Any

import typer

from registry.commands.desk import Desk, iso, table
from registry.commands.options import Out, Shift, Site, Station, Why
from registry.wording import format

if TYPE_CHECKING:
    from datetime import date

    from registry.compute.intervals import Fit
    from registry.records.places import SiteSet
    from registry.services.intervals import Interval, PlanKept
    from registry.services.lookup import Fact
    from registry.services.regularity import SiteRegular, Visit
    from registry.services.replay import Found, Replayed
    from registry.services.site_calendar import Entry

app = typer.Typer()

Days = Annotated[int, typer.Option("--days", min=1, max=3660, metavar="N")]


# --- how long they hold --------------------------------------------------------------------------------------


@app.command("interval", epilog="interval --by model --target 95")
def interval(
    context: typer.Context,
    site: Site = "",
    by: Annotated[str, typer.Option("--by", metavar="type|model|site")] = "type",
    target: Annotated[str, typer.Option("--target", metavar="95")] = "95",
) -> int:
    from registry.services import intervals as service
    from registry.services.words import intervals as words

    desk = Desk.of(context)
    sites = [desk.site(site).subject] if site else None
    share = _percent(target)
    found = service.by_group(desk.session, by, sites, target=share)
    kept = service.plans_kept(desk.session, sites)
    names = _names(desk, by)
    lines = [desk.say("interval.title", target=words.percent(share, desk.language, desk.region))]
    for one in found:
        lines.append(words.advice(one, names(one.key), desk.language))
        lines += [f"  {line}" for line in words.reasons(one, desk.language, desk.region)]
    lines = lines if found else [desk.say("interval.none")]
    lines += ["", *(words.kept(one, desk.language, desk.region) for one in kept), desk.say("interval.note")]
    lines.append(desk.say("caution.local_codes_first"))
    said = {
        "target": share,
        "groups": [_interval_data(one) for one in found],
        "plans_kept": [_kept_data(one) for one in kept],
    }
    return desk.answer(lines, said)


def _percent(text: str) -> float:
    """`95`, `99.5` or `99,5`, as a share."""
    from registry.services.problems import refuse

    try:
        return float(text.strip().rstrip("%").strip().replace(",", ".")) / 100
    except ValueError:
        raise refuse("target", "out_of_range", value=text) from None


def _names(desk: Desk, by: str) -> Any:
    from registry.services.places import names as names_of_places

    if by == "type":
        return lambda key: desk.say(f"type.{key}")
    if by == "model":
        return lambda key: key or desk.say("activity.model_not_stated")
    with desk.session.reading() as connection:
        places = names_of_places(connection)
    return lambda key: places.get(key, "")


def _interval_data(one: "Interval") -> dict[str, Any]:
    return {
        "by": one.by,
        "key": one.key,
        "thermometers": one.thermometers,
        "checks": one.checks,
        "failures": one.failures,
        "left_out": dict(one.left_out),
        "method": one.method,
        "passage_days": one.passage,
        "staircase_days": one.staircase,
        "fit": None if one.fit is None else _fit_data(one.fit),
        "advice": {"says": one.advice.says, "days": one.advice.days, "now": one.advice.now},
    }


def _fit_data(fit: "Fit") -> dict[str, Any]:
    return {
        "model": fit.curve.model if fit.curve else None,
        "parameters": list(fit.curve.parameters) if fit.curve else [],
        "right_at_start": fit.curve.start if fit.curve else None,
        "interval_days": fit.interval,
        "low_days": fit.low,
        "high_days": fit.high,
        "farthest_days": fit.farthest,
        "capped": fit.capped,
        "at_least": fit.at_least,
        "confidence": fit.confidence,
    }


def _kept_data(one: "PlanKept") -> dict[str, Any]:
    return {
        "site": one.site,
        "plan": one.plan,
        "asked": one.asked,
        "done": one.done,
        "enough": one.enough,
        "change": one.change,
    }


# --- another plan --------------------------------------------------------------------------------------------


@app.command("replay", epilog="replay --plan risk_based --site KI")
def replay(
    context: typer.Context,
    plan: Annotated[str, typer.Option("--plan", metavar="each_shift|risk_based")] = "in_force",
    site: Site = "",
    days: Days = 365,
) -> int:
    from registry.services import replay as service
    from registry.services.words import replay as words

    desk = Desk.of(context)
    at = desk.site(site) if site else None
    found = service.replay(desk.session, plan, [at.subject] if at else None, days)
    lines = words.sentences(found, at.payload.name if at else "", desk.language, desk.region)
    lines += [words.spell(one, desk.language, desk.region, not words.against(found)) for one in found.spells]
    said = {
        "plan": found.plan,
        "plan_in_force": found.plan_in_force or None,
        "first": found.first.isoformat(),
        "last": found.last.isoformat(),
        "thermometers": found.thermometers,
        "missed": found.missed,
        "as_it_went": _found_data(found.as_it_went),
        "kept": _found_data(found.kept),
        "other": _found_data(found.other),
        "by_incident": found.by_incident,
        "by_chance": found.by_chance,
        "unknown": found.unknown,
        "spells": [_spell_data(one) for one in found.spells],
    }
    return desk.answer(lines, said)


def _found_data(one: "Found") -> dict[str, Any]:
    return {
        "checks": one.checks,
        "hours_a_year": round(one.hours_a_year, 2),
        "found": round(one.found, 3),
        "days_outside": round(one.days_outside, 2),
        "at_most": round(one.at_most, 2),
    }


def _spell_data(one: "Replayed") -> dict[str, Any]:
    return {
        "thermometer": one.spell.thermometer,
        "tag_id": one.tag_id,
        "began_at": iso(one.spell.begins_at),
        "not_before": iso(one.spell.not_before),
        "found_at": iso(one.spell.found_at),
        "days": round(one.spell.days, 2),
        "kept": {"days": round(one.kept.days, 2), "found": round(one.kept.found, 3)},
        "other": {"days": round(one.other.days, 2), "found": round(one.other.found, 3)},
    }


# --- what is to come -----------------------------------------------------------------------------------------


@app.command("calendar", epilog="calendar --site KI --out ki.ics")
def calendar(context: typer.Context, site: Site = "", days: Days = 60, out: Out = "") -> int:
    from registry.services import site_calendar as service
    from registry.services.problems import refuse

    desk = Desk.of(context)
    if out and not out.lower().endswith(".ics"):
        raise refuse("out", "not_ics", value=out)
    found = service.coming(desk.session, desk.site(site).subject, days)
    said: dict[str, Any] = {"site": found.site, "entries": [_entry_data(one) for one in found.entries]}
    count = len(found.entries)
    if out:
        desk.write(out, service.as_file(found, desk.language))
        said["file"] = out
        return desk.answer([desk.say("calendar.written", count=count, site=found.site, file=out)], said)
    head = [desk.say(f"calendar.head.{one}") for one in ("day", "what", "which")]
    rows = [
        [format.day(one.day, desk.region), service.summary(one, found.site, desk.language), ", ".join(one.tags)]
        for one in found.entries
    ]
    return desk.answer([desk.say("calendar.shown", count=count, site=found.site), *table(head, rows)], said)


def _entry_data(one: "Entry") -> dict[str, Any]:
    return {
        "kind": one.kind,
        "uid": one.uid,
        "day": one.day.isoformat(),
        "begins_at": iso(one.begins_at),
        "ends_at": iso(one.ends_at),
        "shift": one.name or None,
        "tag_ids": list(one.tags),
    }


# --- too regular to be true ----------------------------------------------------------------------------------


@app.command("regular", epilog="regular --site KI --days 90")
def regular(context: typer.Context, site: Site = "", days: Days = 28) -> int:
    from registry.services import regularity as service
    from registry.services.words import regularity as words

    desk = Desk.of(context)
    found = service.by_site(desk.session, [desk.site(site).subject] if site else None, days)
    lines = [line for one in found for line in words.sentences(one, desk.language, desk.region)]
    return desk.answer([*lines, desk.say("regular.note")], {"sites": [_regular_data(one) for one in found]})


def _regular_data(one: "SiteRegular") -> dict[str, Any]:
    return {
        "site": one.site,
        "name": one.name,
        "visits": one.visits,
        "often": one.often,
        "repeats": {"seen": one.repeats.seen, "among": one.repeats.among, "expected": round(one.repeats.expected, 2)},
        "notable": [_visit_data(visit) for visit in one.notable],
    }


def _visit_data(one: "Visit") -> dict[str, Any]:
    return {
        "bath": one.bath,
        "number": one.number,
        "at": iso(one.at),
        "day": one.day.isoformat(),
        "shift": one.shift or None,
        "p": one.found.p,
        "signs": {
            name: {"seen": each.seen, "among": each.among, "expected": round(each.expected, 2), "p": each.p}
            for name, each in one.found.signs.items()
        },
    }


# --- how many a station needs --------------------------------------------------------------------------------


@app.command("smallest", epilog="smallest Grill thermistor_probe 2 --site KI")
def smallest(
    context: typer.Context,
    name: Annotated[str, typer.Argument(metavar="STATION")],
    type: Annotated[str, typer.Argument(metavar="TYPE")],
    count: Annotated[int, typer.Argument(metavar="N", min=0, max=99)],
    site: Site = "",
) -> int:
    from registry.services import places, working_set

    desk = Desk.of(context)
    at = desk.site(site)
    with desk.session.reading() as connection:
        station = places.station_named(connection, at.subject, name)
    working_set.set_smallest(desk.session, desk.actor, station.subject, {type: count})
    line = desk.say("calendar.smallest", station=station.payload.name, count=count, type=desk.say(f"type.{type}"))
    return desk.answer([line], {"done": "smallest_set", "station": station.subject, "type": type, "smallest": count})


# --- closed days ----------------------------------------------------------------------------------------------


@app.command("closed", epilog="closed 2026-12-24 2026-12-26 --site KI --why holiday")
def closed(
    context: typer.Context,
    first_day: Annotated[str, typer.Argument(metavar="2026-12-24")] = "",
    last_day: Annotated[str, typer.Argument(metavar="2026-12-26")] = "",
    site: Site = "",
    station: Station = "",
    shift: Shift = "",
    open_: Annotated[bool, typer.Option("--open")] = False,
    why: Why = "",
    withdraw: Annotated[bool, typer.Option("--withdraw")] = False,
) -> int:
    from datetime import date

    from registry.services import calendars, places, typed
    from registry.services.problems import refuse

    desk = Desk.of(context)
    at = desk.site(site)
    if not first_day:
        if last_day or open_ or why or withdraw:
            raise refuse("calendar", "say_first_day")
        return _closed_days(desk, at)
    first = typed.day(first_day, date.min, "from_day")
    last = typed.day(last_day, date.min, "to_day") if last_day else first
    with desk.session.reading() as connection:
        shifts = [places.shift_named(connection, at.subject, shift).subject] if shift else []
        stations = [places.station_named(connection, at.subject, station).subject] if station else []
    if withdraw:
        return _withdrawn(desk, at, first, shifts, stations)
    kind = "open" if open_ else "closed"
    calendar = calendars.state(
        desk.session,
        desk.actor,
        at.subject,
        first,
        last,
        kind=kind,
        shifts=shifts,
        stations=stations,
        why=why or None,
    )
    line = _closed_line(desk, kind, [at.payload.name, station, shift], first, last)
    said = {"done": kind, "calendar": calendar, "first": first.isoformat(), "last": last.isoformat()}
    return desk.answer([line], said)


def _closed_days(desk: Desk, at: "Fact[SiteSet]") -> int:
    """What is closed or open all the same, today and later."""
    from datetime import date

    from registry.services import calendars, places

    with desk.session.reading() as connection:
        found = calendars.to_come(connection, at.subject, desk.today(at.payload.zone))
        names = {one.subject: one.payload.name for one in places.stations(connection, at.subject)}
        names |= {one.subject: one.payload.name for one in places.shifts(connection, at.subject)}
    lines = []
    for one in found:
        what = [names.get(part, "") for part in (*(one.stations or ()), *(one.shifts or ()))]
        first, last = date.fromisoformat(one.from_day), date.fromisoformat(one.to_day)
        lines.append(_closed_line(desk, one.calendar_kind, [at.payload.name, *what], first, last))
    return desk.answer(
        lines or [desk.say("calendar.none_closed", site=at.payload.name)],
        {"site": at.subject, "calendars": [one.as_payload() for one in found]},
    )


def _closed_line(desk: Desk, kind: str, names: list[str], first: "date", last: "date") -> str:
    return desk.say(
        f"calendar.{kind}",
        site=", ".join(one for one in names if one),
        count=(last - first).days + 1,
        first=format.day(first, desk.region),
        last=format.day(last, desk.region),
    )


def _withdrawn(desk: Desk, at: "Fact[SiteSet]", first: "date", shifts: list[str], stations: list[str]) -> int:
    """Of those that begin on this day, what is said of just this: the site, or this shift or station."""
    from registry.services import calendars
    from registry.services.problems import refuse

    with desk.session.reading() as connection:
        known = calendars.to_come(connection, at.subject, desk.today(at.payload.zone))
    those = [
        one
        for one in known
        if one.from_day == first.isoformat()
        and list(one.shifts or ()) == shifts
        and list(one.stations or ()) == stations
    ]
    if not those:
        raise refuse("calendar", "unknown")
    for one in those:
        calendars.withdraw(desk.session, desk.actor, at.subject, one.calendar)
    line = desk.say("calendar.withdrawn", site=at.payload.name, first=format.day(first, desk.region))
    return desk.answer([line], {"done": "withdrawn", "calendars": [one.calendar for one in those]})
