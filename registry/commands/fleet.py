"""Which of all thermometers may be out by a day, how groups of them drift, and what incidents did to them."""

import sys
from typing import TYPE_CHECKING, Any

from registry.commands.desk import Desk, iso, table
from registry.commands.outlook_data import outlook_data
from registry.wording import format

if TYPE_CHECKING:
    from registry.quantity import TemperatureDifference
    from registry.services.fleet import Ranked, Ranking
    from registry.services.groups import Group, Incident


def _progress(desk: Desk) -> Any:
    """Tells on a terminal how far it is; what goes into a file or another program stays clean."""

    def tell(done: int, of: int) -> bool:
        if sys.stderr.isatty() and of:
            print(desk.say("fleet.working", done=done, of=of), end="\r", file=sys.stderr, flush=True)
        return True

    return tell


# --- the ranking ---------------------------------------------------------------------------------------------


def ranking(desk: Desk, *, by_day: str, site: str, type: str, model: str, limit: int, out: str = "") -> int:
    from registry.services import fleet, places, typed

    at = desk.site(site) if site else None
    with desk.session.reading() as connection:
        zone = at.payload.zone if at else next((one.payload.zone for one in places.sites(connection)), "UTC")
    found = fleet.ranking(
        desk.session,
        typed.day(by_day, desk.today(zone), "by_day") if by_day else None,
        site=at.subject if at else None,
        type=type or None,
        model=model or None,
        limit=None if out else limit,
        histories=desk.as_json,
        progress=_progress(desk),
    )
    if out:
        from registry.commands.saving import save, words_of
        from registry.services import tables_out
        from registry.services.places import names as names_of_places

        with desk.session.reading() as connection:
            names = names_of_places(connection)
        table_out, said = tables_out.ranking(words_of(desk), found, names), {"by_day": found.day.isoformat()}
        return save(desk, out, table_out, said, besides=_not_ranked(desk, found))
    return desk.answer(_ranking_lines(desk, found, zone), _ranking_data(found))


def _ranking_lines(desk: Desk, found: "Ranking", zone: str) -> list[str]:
    from decimal import Decimal

    from registry.services.places import names as names_of_places

    with desk.session.reading() as connection:
        names = names_of_places(connection)
    when = format.day(found.day, desk.region)
    lines = [desk.say("fleet.ranked", count=found.of, when=when, shown=len(found.rows))] if found.of else []
    if found.of:
        expected = format.number(Decimal(f"{found.expected:.1f}"), desk.region)
        lines.append(desk.say("fleet.expected", expected=expected))
    if found.unsettled:
        lines.append(desk.say("drift.besides_unsettled", count=found.unsettled).replace("*", ""))
    head = [desk.say(f"fleet.head.{one}") for one in (*COLUMNS, "point", "by_day", "level")]
    lines += table(head, [_ranked_row(desk, one, names, zone) for one in found.rows])
    if found.failed:
        lines += ["", desk.say("fleet.failed", count=len(found.failed))]
        head = [desk.say(f"fleet.head.{one}") for one in (*COLUMNS, "point")]
        lines += table(head, [[*_cells(desk, one, names), _point(desk, one)] for one in found.failed])
    return [*lines, *_not_ranked(desk, found)] or [desk.say("fleet.none")]


def _not_ranked(desk: Desk, found: "Ranking") -> list[str]:
    """How many in use have no row anywhere, and why."""
    told = (("never", found.never), ("no_rule", found.no_rule))
    return [desk.say(f"fleet.{code}", count=count) for code, count in told if count]


COLUMNS = ("tag", "place", "type", "model", "state", "offset", "a_month")


def _cells(desk: Desk, one: "Ranked", names: dict[str, str]) -> list[str]:
    found = one.outlook
    known = [format.offset(found.offset, desk.region, 2)] if found.offset is not None else []
    known += [format.expanded(found.expanded, desk.region)] if found.offset is not None and found.expanded else []
    return [
        one.tag_id,
        ", ".join(names.get(place, "") for place in (one.site, one.station) if place),
        desk.say(f"type.{one.type}"),
        " ".join(filter(None, (one.maker, one.model))),
        desk.say(f"fleet.says.{found.says}"),
        " ".join(known),
        format.offset(found.a_month, desk.region, 2) if found.a_month is not None else "",
    ]


def _ranked_row(desk: Desk, one: "Ranked", names: dict[str, str], zone: str) -> list[str]:
    from registry.services.words import outlook as words

    chance = words.chance(one.by_day, desk.language, desk.region) if one.by_day is not None else ""
    level = words.by_when(one.outlook.out_on, desk.language, desk.today(zone)) or desk.say("fleet.later")
    return [*_cells(desk, one, names), _point(desk, one), chance, level]


def _point(desk: Desk, one: "Ranked") -> str:
    """Where it is off by that much."""
    from registry.services.words import outlook as words

    return words.point(one.outlook.kind, one.outlook.celsius, one.outlook.unit, desk.language, desk.region)


def _ranking_data(found: "Ranking") -> dict[str, Any]:
    return {
        "by_day": found.day.isoformat(),
        "count": found.of,
        "likely_out": found.likely,
        "check_first": found.unsettled,
        "expected_out": found.expected,
        "ranked": [_ranked_data(one) for one in found.rows],
        "failed": [_ranked_data(one) for one in found.failed],
        "never_measured": found.never,
        "without_tolerance": found.no_rule,
    }


def _ranked_data(one: "Ranked") -> dict[str, Any]:

    return {
        "thermometer": one.thermometer,
        "tag_id": one.tag_id,
        "site": one.site,
        "station": one.station,
        "type": one.type,
        "maker": one.maker or None,
        "model": one.model or None,
        "chance_out_by_day": one.by_day,
        **outlook_data(one.outlook),
        "newest": [
            {"at": iso(at), "offset": f"{offset:.4f} dC", "by_all": f"{by_all:.4f} dC", "expanded": f"{spread:.4f} dC"}
            for at, offset, by_all, spread in one.small.checks
        ],
        "adjusted": [iso(at) for at in one.small.adjusted],
    }


# --- groups --------------------------------------------------------------------------------------------------


def groups(desk: Desk, by: str, out: str = "") -> int:
    from registry.services import groups as service
    from registry.services.places import names as names_of_places

    found = service.groups(desk.session, by, progress=_progress(desk))
    with desk.session.reading() as connection:
        names = names_of_places(connection)
    if out:
        from registry.commands.saving import save, words_of
        from registry.services import tables_out

        return save(desk, out, tables_out.groups(words_of(desk), found, names), {"by": found.by})
    head = [desk.say(f"fleet.head.{one}") for one in (found.by, "thermometers", "checks", "a_month", "from", "to")]
    rows = [_group_row(desk, found.by, one, names) for one in found.groups]
    lines = [desk.say("fleet.groups"), *table(head, rows), desk.say("fleet.groups_note")] if rows else []
    said = {"by": found.by, "groups": [_group_data(one) for one in found.groups]}
    return desk.answer(lines or [desk.say("fleet.none")], said)


def _group_row(desk: Desk, by: str, one: "Group", names: dict[str, str]) -> list[str]:
    key = {"type": f"type.{one.key}", "site": ""}.get(by)
    name = desk.say(key) if key else names.get(one.key, "") if by == "site" else one.key
    spread = [format.offset(_difference(each), desk.region, 2) for each in (one.a_month, one.low, one.high)]
    return [name or desk.say("fleet.not_stated"), str(one.thermometers), str(one.checks), *spread]


def _difference(celsius: float) -> "TemperatureDifference":
    from registry.services.outlook import difference

    return difference(celsius, "C")


def _group_data(one: "Group") -> dict[str, Any]:
    numbers = {"a_month": one.a_month, "low": one.low, "high": one.high, "spread": one.spread}
    return {
        "key": one.key,
        "types": list(one.types),
        "thermometers": one.thermometers,
        "checks": one.checks,
        "with_drift": one.told,
        "wears": one.wears,
        **{name: f"{value:.4f} dC" for name, value in numbers.items()},
    }


# --- incidents -----------------------------------------------------------------------------------------------


INCIDENT = ("incident", "told", "stepped", "share", "size", "from", "to", "spread")


def incidents(desk: Desk) -> int:
    from registry.services import groups as service

    found = service.incidents(desk.session, progress=_progress(desk))
    head = [desk.say(f"fleet.head.{one}") for one in INCIDENT]
    rows = [_incident_row(desk, one) for one in found.incidents]
    lines = [desk.say("fleet.incidents"), *table(head, rows), desk.say("fleet.incidents_note")] if rows else []
    lines = lines or [desk.say("fleet.no_incidents")]
    lines += [desk.say("fleet.unreported", count=found.unreported)] if found.unreported else []
    said = {"incidents": [_incident_data(one) for one in found.incidents], "unreported": found.unreported}
    return desk.answer(lines, said)


def _incident_row(desk: Desk, one: "Incident") -> list[str]:
    from decimal import Decimal

    low, high = (format.number(Decimal(round(100 * each)), desk.region) for each in (one.share_low, one.share_high))
    sizes = [format.offset(_difference(each), desk.region, 2) for each in (one.size, one.low, one.high)]
    sizes.append(format.offset(_difference(one.spread), desk.region, 2).lstrip("+"))
    share = desk.say("fleet.share", low=low, high=high)
    return [desk.say(f"incident.{one.what}"), str(one.told), str(one.stepped), share, *sizes]


def _incident_data(one: "Incident") -> dict[str, Any]:
    sizes = {"size": one.size, "low": one.low, "high": one.high, "spread": one.spread}
    return {
        "incident": one.what,
        "checked_after": one.told,
        "stepped": one.stepped,
        "share_low": one.share_low,
        "share_high": one.share_high,
        **{name: f"{value:.4f} dC" for name, value in sizes.items()},
    }
