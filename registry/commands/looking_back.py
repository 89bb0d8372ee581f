"""Looking back: the monthly log, issued certificates, what kitchens did week by week and where offsets lie."""

import re
from typing import TYPE_CHECKING, Annotated, Any

import typer

from registry.commands.desk import Desk, iso, table
from registry.commands.options import Out, Site
from registry.commands.saving import is_spreadsheet, save, words_of
from registry.wording import format

if TYPE_CHECKING:
    from registry.quantity import TemperatureDifference
    from registry.services.activity import Activity, Offsets, Week
    from registry.services.certificates import Certificate
    from registry.services.monthly_log import LogLine

app = typer.Typer()

Paper = Annotated[str, typer.Option("--paper", metavar="a4|letter")]


def paper_asked(text: str) -> Any:
    """`a4` or `letter`; nothing is the group's."""
    from registry.services import typed

    return typed.choice("paper", text, ("a4", "letter")) if text else None


# --- the monthly log -----------------------------------------------------------------------------------------


@app.command("log", epilog="log --site KI --month 2026-03 --out log.pdf")
def log(
    context: typer.Context,
    site: Site = "",
    month: Annotated[str, typer.Option("--month", metavar="2026-03")] = "",
    out: Out = "",
    paper: Paper = "",
) -> int:
    from registry.services import log_sheet, monthly_log, tables_out

    desk = Desk.of(context)
    at = desk.site(site)
    year, number = _month(month, desk.today(at.payload.zone).strftime("%Y-%m"))
    found = monthly_log.month(desk.session, at.subject, year, number)
    to = log_sheet.Written(desk.language, desk.region, found.zone)
    name = log_sheet.month_name(found, desk.language)
    said: dict[str, Any] = {
        "site": found.site,
        "month": f"{year}-{number:02d}",
        "until": iso(found.until),
        "lines": [_line_data(one) for one in found.lines],
        "reviews": [{"number": one.number, "at": iso(one.at), "later": one.later} for one in found.reviews],
        "not_closed": [{"shift": shift, "day": day.isoformat()} for shift, day in found.not_closed],
        "made_from": [
            {"first": one.first, "last": one.last, "count": one.count, "head": one.head, "hash": one.head_hash}
            for one in found.sources
        ],
    }
    if is_spreadsheet(out):
        return save(desk, out, tables_out.monthly_log(words_of(desk), found), said)
    if out:
        page = log_sheet.printed(desk.session, found, language=desk.language, paper=paper_asked(paper))
        said["file"] = str(desk.write(out, page))
        return desk.answer([desk.say("log.written", site=found.name, month=name, file=out)], said)
    several = len(log_sheet.rules_used(found)) > 1
    head = [desk.say(f"log.head.{one}") for one in log_sheet.COLUMNS]
    rows = [list(log_sheet.cells(one, to, name_rule=several)) for one in found.lines]
    lines = [
        desk.say("log.lines", site=found.name, month=name, count=len(rows)),
        *table(head, rows),
        *log_sheet.summary(found, to),
        *log_sheet.reviews(found, to),
        *log_sheet.sources(found, to),
        desk.say("caution.local_codes_first"),
    ]
    return desk.answer(lines, said)


def _month(text: str, today: str) -> tuple[int, int]:
    """`2026-03`; nothing is this month."""
    from registry.services.problems import refuse

    match = re.fullmatch("([0-9]{4})-([0-9]{2})", text.strip() or today)
    if match is None:
        raise refuse("month", "not_a_month", value=text)
    return int(match[1]), int(match[2])


def _line_data(line: "LogLine") -> dict[str, Any]:
    check = line.check
    return {
        "kind": line.kind,
        "day": line.day.isoformat(),
        "at": iso(line.at),
        "thermometer": line.thermometer,
        "tag_id": line.tag_id,
        "shift": line.shift or None,
        "point": check.point if check else None,
        "made": line.made or None,
        "bath": line.bath or None,
        "readings": [one.text() for one in check.readings] if check else [],
        "reference": check.reference.text() if check and check.reference else None,
        "offset": check.offset.text() if check and check.offset else None,
        "tolerance": check.tolerance.text() if check and check.tolerance else None,
        "decision": check.decision or None if check else None,
        "outcome": check.outcome if check else None,
        "state": line.state or None,
        "why": line.why or None,
        "overruled": line.overruled or None,
        "as_left": [one.text() for one in check.as_left] if check else [],
        "actions": [
            {"what": one.what, "detail": one.detail, "number": one.number, "only": one.only or None}
            for one in line.actions
        ],
        "initials": line.initials,
        "number": line.number or None,
    }


# --- certificates --------------------------------------------------------------------------------------------


@app.command("certificates", epilog="certificates --site KI --from 2026-03-01 --to 2026-03-31")
def certificates(
    context: typer.Context,
    site: Site = "",
    tag: Annotated[str, typer.Option("--tag", metavar="TAG")] = "",
    number: Annotated[str, typer.Option("--number", metavar="NUMBER")] = "",
    from_day: Annotated[str, typer.Option("--from", metavar="2026-03-03")] = "",
    to_day: Annotated[str, typer.Option("--to", metavar="2026-03-31")] = "",
    first: Annotated[int, typer.Option("--first", min=1, metavar="N")] = 200,
    after: Annotated[str, typer.Option("--after", metavar="NUMBER")] = "",
    out: Out = "",
    as_issued: Annotated[bool, typer.Option("--as-issued")] = False,
) -> int:
    from datetime import date

    from registry.services import certificates as service
    from registry.services import places, tables_out, typed

    desk = Desk.of(context)
    wanted: dict[str, Any] = {
        "site": desk.site(site).subject if site else None,
        "number": number or None,
        "tag": tag or None,
        "from_day": typed.day(from_day, date.min, "from_day") if from_day else None,
        "to_day": typed.day(to_day, date.min, "to_day") if to_day else None,
    }
    if out and (is_spreadsheet(out) or not number):
        every = tables_out.all_certificates(desk.session, words_of(desk), wanted)
        return save(desk, out, every, {"count": len(every.rows)})
    found = service.find(desk.session, **wanted, limit=first, after=after or None)
    said = {
        "count": found.count,
        "after": found.after,
        "certificates": [_certificate_data(one) for one in found.certificates],
    }
    if out and number:
        issued = service.page(desk.session, number)
        page = issued if as_issued else service.copy(desk.session, number)
        said["file"] = str(desk.write(out, page))
        code = "page_written" if page == issued else "page_crossed"
        lines = [desk.say(f"certificates.{code}", number=number.upper(), file=out)]
        return desk.answer([*lines, *certificate_warning(desk, found.certificates[0])], said)
    with desk.session.reading() as connection:
        zones = {one.subject: one.payload.zone for one in places.sites(connection)}
    rows = [_certificate_row(desk, one, zones.get(one.site, "UTC")) for one in found.certificates]
    head = [desk.say(f"certificates.head.{one}") for one in ("number", "tag", "issued", "who", "state", "page")]
    first_line = (
        desk.say("certificates.found", count=found.count, shown=len(rows)) if rows else desk.say("certificates.none")
    )
    more = [desk.say("certificates.more", number=found.after)] if found.after else []
    return desk.answer([first_line, *table(head, rows), *more], said)


def _certificate_row(desk: Desk, one: "Certificate", zone: str) -> list[str]:
    return [
        one.number,
        one.tag_id,
        desk.instant(one.kept.issued_at, zone),
        one.initials,
        desk.say(f"certificates.state.{one.standing}", number=one.told_by),
        desk.say("certificates.kept" if one.stored else "certificates.not_kept"),
    ]


def certificate_warning(desk: Desk, one: "Certificate") -> list[str]:
    """What to know before its page is handed out once more; nothing where it stands."""
    if one.standing == "stands":
        return []
    return [desk.say(f"certificates.warning.{one.standing}", number=one.told_by)]


def _certificate_data(one: "Certificate") -> dict[str, Any]:
    return {
        "number": one.number,
        "certificate": one.kept.certificate,
        "thermometer": one.kept.thermometer,
        "tag_id": one.tag_id,
        "issued_at": iso(one.kept.issued_at),
        "initials": one.initials,
        "state": one.state,
        "doubt": one.doubt or None,
        "by_number": one.by_number or None,
        "amended_by": one.amended_by or None,
        "sha256": one.kept.sha256,
    }


# --- activity ------------------------------------------------------------------------------------------------


@app.command("activity", epilog="activity --weeks 12 --by model")
def activity(
    context: typer.Context,
    site: Site = "",
    weeks: Annotated[int, typer.Option("--weeks", min=1, max=104, metavar="N")] = 12,
    type: Annotated[str, typer.Option("--type", metavar="TYPE")] = "",
    by: Annotated[str, typer.Option("--by", metavar="site|type|model")] = "type",
    out: Out = "",
    what: Annotated[str, typer.Option("--what", metavar="weeks|offsets")] = "weeks",
) -> int:
    from registry import resources
    from registry.services import activity as service
    from registry.services import tables_out, typed

    desk = Desk.of(context)
    sites = [desk.site(site).subject] if site else None
    group: Any = typed.choice("by", by, service.GROUPS)
    kind = typed.choice("type", type, resources.instrument_types()) if type else None
    done = service.checks_by_week(desk.session, sites, weeks, type=kind)
    offsets = service.offsets_by(desk.session, group, sites, type=kind)
    if out:
        words = words_of(desk)
        weekly = typed.choice("what", what, ("weeks", "offsets")) == "weeks"
        names = _names(desk)
        narrowed = kind or ""
        chosen = (
            tables_out.weeks(words, done, narrowed)
            if weekly
            else tables_out.offsets(words, group, offsets, names, narrowed)
        )
        return save(desk, out, chosen, {"what": what})
    lines = [
        *([desk.say("activity.of_type", type=desk.say(f"type.{kind}"))] if kind else []),
        desk.say("activity.weeks", count=weeks),
        *_weeks_table(desk, done),
        desk.say("activity.means"),
        "",
        desk.say("activity.offsets"),
        *_offsets_table(desk, group, offsets),
        desk.say("activity.offsets_note"),
        desk.say("caution.local_codes_first"),
    ]
    said = {
        "type": kind,
        "sites": [
            {"site": one.site, "name": one.name, "weeks": [_week_data(week) for week in one.weeks]}
            for one in done.sites
        ],
        "offsets": [_offsets_data(one) for one in offsets],
    }
    return desk.answer(lines, said)


def _weeks_table(desk: Desk, done: "Activity") -> list[str]:
    """A column a site, a row a week, with the sums of each site below."""
    if not done.sites:
        return []
    head = [desk.say("activity.head.week"), *(one.name for one in done.sites)]
    rows = [
        [format.short_day(some[0].monday, desk.region), *(_week_cell(desk, week) for week in some)]
        for some in zip(*(one.weeks for one in done.sites), strict=True)
    ]
    total = [
        desk.say("activity.week_cell", missed=one.total("missed"), wanted=one.total("asked")) for one in done.sites
    ]
    return table(head, [*rows, [desk.say("activity.head.total"), *total]])


def _week_cell(desk: Desk, week: "Week") -> str:
    if not week.known:
        return desk.say(f"activity.{week.why}")
    if not week.wanted:
        return desk.say("activity.none_wanted")
    cell = desk.say("activity.week_cell", missed=week.missed, wanted=week.asked)
    if not week.over:
        cell = desk.say("activity.so_far", cell=cell)
    return desk.say("activity.since", cell=cell, day=format.short_day(week.since, desk.region)) if week.since else cell


def _week_data(week: "Week") -> dict[str, Any]:
    counts = ("wanted", "done", "missed", "open", "not_used", "not_found", "no_reading", "other")
    return {
        "monday": week.monday.isoformat(),
        "not_known": week.why or None,
        "over": week.over,
        "since": week.since.isoformat() if week.since else None,
        **{name: getattr(week, name) for name in counts},
    }


def _names(desk: Desk) -> dict[str, str]:
    from registry.services.places import names as names_of_places

    with desk.session.reading() as connection:
        return names_of_places(connection)


def _offsets_table(desk: Desk, by: str, found: "list[Offsets]") -> list[str]:
    names = _names(desk)
    columns = ("n", "without", "outside", "lower", "median", "upper")
    head = [desk.say(f"activity.head.{by}"), *(desk.say(f"activity.head.{one}") for one in columns)]
    rows = []
    for one in found:
        spread = [_offset(desk, each) for each in (one.lower, one.median, one.upper)]
        rows.append([_group(desk, by, one.key, names), str(one.n), str(one.without), str(one.outside), *spread])
    return table(head, rows)


def _offset(desk: Desk, found: "TemperatureDifference | None") -> str:
    return desk.say("activity.too_few") if found is None else format.offset(found, desk.region, 2)


def _group(desk: Desk, by: str, key: str, names: dict[str, str]) -> str:
    if by == "type":
        return desk.say(f"type.{key}")
    if by == "site":
        return names.get(key, "") or desk.say("activity.site_not_stated")
    return key or desk.say("activity.model_not_stated")


def _offsets_data(one: "Offsets") -> dict[str, Any]:
    spread = {name: getattr(one, name) for name in ("lower", "median", "upper")}
    return {
        "key": one.key,
        "n": one.n,
        "without": one.without,
        "outside": one.outside,
        **{name: value.text() if value is not None else None for name, value in spread.items()},
    }
