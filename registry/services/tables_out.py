"""The program's tables as they go out to spreadsheets: which columns each has, and what stands in them.

Codes go out as the words of a language, numbers as numbers with their unit in a column beside them. Columns that our
own import knows have titles that it knows.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from fractions import Fraction
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from registry import resources
from registry.quantity import Reading, TemperatureDifference
from registry.services import certificates, import_thermometers, lookup, people, places, table
from registry.services.activity import Activity, Offsets
from registry.services.certificates import Certificate
from registry.services.duelist import Due
from registry.services.fleet import Ranking
from registry.services.groups import GroupsFound
from registry.services.history import CheckLine
from registry.services.log_sheet import COLUMNS as LOG_COLUMNS
from registry.services.log_sheet import Written, cells, rules_used
from registry.services.monthly_log import Log
from registry.services.session import Session
from registry.services.spreadsheet_out import TableOut, Value
from registry.services.table import TableRow, Wanted
from registry.services.thermometers import thermometer
from registry.services.words import happened
from registry.store import queries, summary
from registry.wording import say
from registry.wording.due import why_due
from registry.wording.standing import outcome_now

TITLES = ("spreadsheet.column", "importing.column")
CHECKS = (
    "number", "tag", "date", "time", "point", "readings", "unit", "reference", "outcome", "initials", "offset",
    "expanded", "tolerance", "offset_unit", "rule", "adjusted", "as_left", "as_left_unit",
    "as_left_outcome", "stands",
)  # fmt: skip
PLACES = 4  # decimals of what is worked out, as entries keep it


@dataclass(frozen=True, slots=True)
class Words:
    """The language a table goes out in, its region, and whether the record is a demo."""

    language: str
    region: str
    demo: bool = False

    def say(self, code: str, /, **values: object) -> str:
        return say(code, self.language, **values)

    def out(self, name: str, columns: Sequence[str], rows: Sequence[Sequence[Value]]) -> TableOut:
        heads = tuple(self.title(one) for one in columns)
        return TableOut(self.say(f"spreadsheet.name.{name}"), heads, rows, self.demo)

    def title(self, column: str) -> str:
        texts = resources.texts(self.language)
        found = next(texts[f"{group}.{column}"] for group in TITLES if f"{group}.{column}" in texts)
        return found[:1].upper() + found[1:]


def local(at: int | None, zone: str) -> datetime | None:
    """An instant as the clock of a place showed it, to the second; spreadsheets know no zones."""
    if at is None:
        return None
    moment = datetime.fromtimestamp(at // 1_000_000, UTC)
    return moment.astimezone(ZoneInfo(zone)).replace(tzinfo=None)


def exact(found: TemperatureDifference | None) -> Decimal | None:
    """The number of a difference, in its own unit."""
    if found is None:
        return None
    if isinstance(found.value, Fraction):
        return Decimal(found.rounded(PLACES).text().split()[0])
    return found.value


def shown(readings: Sequence[Reading]) -> Value:
    """One reading as a number; the first and its repeats as the import takes them."""
    if len(readings) == 1:
        return readings[0].value
    return " / ".join(f"{one.value:f}" for one in readings) or None


def degree(unit: str) -> str:
    return f"°{unit}" if unit else ""


def initials_of(connection: Connection) -> dict[str, str]:
    return {one.person: one.initials for one in people.people(connection)}


def names_of_places(connection: Connection) -> dict[str, str]:
    """Names of sites and stations by id."""
    found = {one.subject: one.payload.name for one in places.sites(connection)}
    return found | {one.subject: one.payload.name for one in places.stations(connection)}


# --- thermometers --------------------------------------------------------------------------------------------


def all_thermometers(
    session: Session,
    words: Words,
    wanted: Wanted,
    *,
    sort: str = "tag_id",
    descending: bool = False,
    columns: Collection[str] = table.COLUMNS,
) -> TableOut:
    """The whole table as it is narrowed and sorted, with the columns that are shown."""
    rows: list[TableRow] = []
    facts: dict[str, Mapping[str, Any]] = {}
    with session.reading() as connection:
        among = table.owing(session, connection, wanted) if wanted.due is not None else None
        after = None
        while True:
            page = table.page(session, connection, wanted, sort=sort, descending=descending, after=after,
                              size=1000, among=among, columns=columns)  # fmt: skip
            rows += page.rows
            those = [one.thermometer for one in page.rows]
            facts |= {of: said for of, _, said in summary.standing(connection, those, ("facts",))}
            after = page.next
            if after is None:
                break
        shown = [one for one in table.COLUMNS if one in columns]
        return _thermometers(words, rows, facts, shown, initials_of(connection))


SCALES = ("unit", *import_thermometers.SCALE, *import_thermometers.OTHER_SCALE)
# What else stands beside a column of the table.
WITH = {
    "type": ("type", *SCALES),
    "maker": ("maker", "model"),
    "serial": ("serial", "sensor_serial"),
    "last_offset": ("last_offset", "offset_unit"),
}


def _scales(facts: Mapping[str, Any]) -> dict[str, Value]:
    """What it shows, as the import takes it: its unit with step, lowest and highest, and those of a second one."""
    found: dict[str, Value] = dict.fromkeys(SCALES)
    ends = (import_thermometers.SCALE, import_thermometers.OTHER_SCALE)
    for (unit, scale), columns in zip(sorted(facts["scales"].items()), ends, strict=False):
        found["unit"] = found["unit"] or degree(unit)
        for column, end in zip(columns, ("step", "lowest", "highest"), strict=True):
            found[column] = Decimal(scale[end].split()[0])
    return found


def _thermometers(
    words: Words,
    rows: Sequence[TableRow],
    facts: Mapping[str, Mapping[str, Any]],
    columns: Sequence[str],
    initials: Mapping[str, str],
) -> TableOut:
    heads = [each for one in columns for each in WITH.get(one, (one,))]

    def value(row: TableRow, column: str) -> Value:
        offset = row.last_offset
        found: dict[str, Value] = {
            "site": row.site_name,
            "station": row.station_name,
            "type": words.say(f"type.{row.type}"),
            "status": words.say(f"status.{row.status}"),
            "last_outcome": outcome_now(row.last_outcome, row.left, row.as_found, words.language),
            "last_offset": exact(offset),
            "offset_unit": degree(offset.unit if offset else ""),
            "last_check_at": local(row.last_check_at, row.zone),
            "checked_by": initials.get(row.checked_by or "", ""),
            **(_scales(facts[row.thermometer]) if column in SCALES else {}),
        }
        return found[column] if column in found else getattr(row, column)

    return words.out("thermometers", heads, [[value(row, one) for one in heads] for row in rows])


# --- checks --------------------------------------------------------------------------------------------------


def checks_of(session: Session, words: Words, thermometer_id: str, *, newest: int | None = None) -> TableOut:
    """Every check of one thermometer, the oldest first; with `newest` only its latest so many."""
    from registry.services.history import story

    with session.reading() as connection:
        of = thermometer(connection, thermometer_id)
        zone = places.site_named_by_id(connection, of.row.site or "").payload.zone
        found = story(session, connection, thermometer_id, newest=newest).checks
        stands = _stands(connection, thermometer_id, found)
        initials = initials_of(connection)
    rows = [_check(words, of.tag_id, one, zone, initials, stands[one.check]) for one in found]
    return words.out("checks", CHECKS, rows)


def _check(words: Words, tag: str, line: CheckLine, zone: str, initials: Mapping[str, str], stands: str) -> list[Value]:
    """A check as a row; an outcome stands only where it counts, so that nobody who adds them up adds others."""
    when = local(line.at, zone)
    assert when is not None
    unit = line.readings[0].unit if line.readings else ""
    expanded = None
    if line.u is not None and line.k:
        expanded = (Decimal(exact(line.u) or 0) * Decimal(line.k)).quantize(Decimal(1).scaleb(-PLACES))
    texts = resources.texts(words.language)
    adjusted, left = f"adjustment.{line.adjusted}", "" if line.voided else line.as_left_outcome
    values: dict[str, Value] = {
        "number": line.number,
        "tag": tag,
        "date": when.date(),
        "time": None if line.day_only else when.time(),
        "point": words.say(f"point.{line.point}"),
        "readings": shown(line.readings),
        "unit": degree(unit),
        "reference": line.reference.value if line.reference else None,
        "outcome": words.say(f"outcome.{line.outcome}") if line.outcome and not line.voided else "",
        "initials": initials.get(line.by, ""),
        "offset": exact(line.offset),
        "expanded": expanded,
        "tolerance": exact(line.tolerance),
        "offset_unit": degree(line.offset.unit if line.offset else line.tolerance.unit if line.tolerance else ""),
        "rule": words.say(f"log.rule.{line.decision}") if line.decision else "",
        "adjusted": (words.say(adjusted) if adjusted in texts else line.adjusted) if line.adjusted else "",
        "as_left": shown(line.as_left),
        "as_left_unit": degree(line.as_left[0].unit if line.as_left else ""),  # of one that shows both, maybe the other
        "as_left_outcome": words.say(f"outcome.{left}") if left else "",
        "stands": words.say(f"cli.{stands}"),
    }
    return [values[one] for one in CHECKS]


def _stands(connection: Connection, thermometer: str, lines: Sequence[CheckLine]) -> dict[str, str]:
    """Of each check whether it counts, as the code of a word; one from outside has no bath to wait for."""
    baths = {one.check: one.bath for one in queries.checks_of(connection, thermometer)}
    found = {}
    for line in lines:
        bath = None if line.outcome else baths[line.check]
        judged = queries.bath(connection, bath) if bath else None
        waits = "counts.no" if judged is not None and judged.judged == "condemned" else "counts.waits"
        found[line.check] = "void" if line.voided else waits if bath else "counts.yes"
    return found


def happened_to(session: Session, words: Words, thermometer_id: str) -> TableOut:
    """All else that happened to one thermometer, the oldest first: adjustments, incidents, moves, papers."""
    from registry.services.history import story

    with session.reading() as connection:
        found = story(session, connection, thermometer_id)
        zone = places.site_named_by_id(connection, found.of.row.site or "").payload.zone
        names, initials = names_of_places(connection), initials_of(connection)
        rest = [(one.at, one.number, one.by, one.kind, one.payload, one.voided) for one in found.rest]
        for view in queries.adjustments_of(connection, thermometer_id):
            entry = queries.entry_at(connection, view.chain_no, view.seq)
            by = entry.payload.get("done_by", entry.by)
            rest.append((view.at, entry.number, by, entry.kind, entry.payload, view.voided))
    rows: list[list[Value]] = []
    for at, number, by, kind, payload, voided in sorted(rest, key=lambda one: one[:2]):
        when = local(at, zone)
        assert when is not None
        there = [names.get(payload.get(one) or "", "") for one in ("site", "station")] if kind == "place_set" else []
        detail = ", ".join(filter(None, there)) or happened.detail(payload, words.language)
        stands = words.say("cli.void" if voided else "cli.counts.yes")
        what = happened.kind(kind, words.language)
        rows.append([number, found.of.tag_id, when.date(), when.time(), what, detail, initials.get(by, ""), stands])
    columns = ("number", "tag", "date", "time", "happened", "detail", "initials", "stands")
    return words.out("happened", columns, rows)


# --- what is due ---------------------------------------------------------------------------------------------


def due(words: Words, found: Sequence[Due], names: Mapping[str, str]) -> TableOut:
    """A row for each thing that is wanted, the most urgent first."""
    columns = ("tag", "site", "station", "state", "point", "why_due", "due_at")
    rows = [
        [
            one.row.tag_id,
            names.get(one.row.site or "", ""),
            names.get(one.row.station or "", ""),
            words.say(f"due_state.{one.item.state}"),
            words.say(f"point.{one.item.point}") if one.item.point else "",
            why_due(*one.item.why, words.language, words.region, one.zone),
            local(one.item.due_at, one.zone),
        ]
        for one in found
    ]
    return words.out("due", columns, rows)


# --- the monthly log -----------------------------------------------------------------------------------------


def monthly_log(words: Words, log: Log) -> TableOut:
    """A line for each of the log's, in its own words; what is a number stands as one."""
    to = Written(words.language, words.region, log.zone)
    several = len(rules_used(log)) > 1
    heads = {"day": "date", "time": "time", "tag": "tag", "expected": "reference", "actual": "readings",
             "off_by": "offset", "limit": "tolerance", "outcome": "outcome", "who": "initials",
             "number": "number", "as_left": "as_left"}  # fmt: skip
    columns = [heads.get(one, one) for one in LOG_COLUMNS]
    at = columns.index("outcome")
    rows: list[list[Value]] = []
    for line in log.lines:
        said: dict[str, Value] = dict(zip(LOG_COLUMNS, cells(line, to, name_rule=several), strict=True))
        check, when = line.check, local(line.at, log.zone)
        if said["time"] and when is not None:
            said["time"] = when.time()
        unit = offset_unit = ""
        said |= {"day": line.day, "expected": None, "actual": None, "off_by": None, "limit": None}
        if check is not None:
            unit = check.readings[0].unit if check.readings else ""
            judged = check.offset or check.tolerance
            offset_unit = judged.unit if judged else ""
            reference = check.reference.value if check.reference else None
            said |= {"expected": reference, "actual": shown(check.readings),
                     "off_by": exact(check.offset), "limit": exact(check.tolerance)}  # fmt: skip
        row = list(said.values())
        rows.append([*row[:at], degree(unit), degree(offset_unit), *row[at:]])
    return words.out("log", [*columns[:at], "unit", "offset_unit", *columns[at:]], rows)


# --- activity ------------------------------------------------------------------------------------------------

COUNTS = ("wanted", "done", "missed", "open", "not_used", "not_found", "no_reading", "other")


def weeks(words: Words, found: Activity) -> TableOut:
    """Checks done and missed, a row for each site and week; no counts where what was wanted is not known."""
    rows = [
        [site.name, week.monday, *((getattr(week, one) if week.known else None) for one in COUNTS)]
        for site in found.sites
        for week in site.weeks
    ]
    heads = ("others" if one == "other" else one for one in COUNTS)
    return words.out("weeks", ("site", "week", *heads), rows)


def offsets(words: Words, by: str, found: Sequence[Offsets], names: Mapping[str, str]) -> TableOut:
    """Where the last offsets lie, a row for each group."""

    def group(key: str) -> str:
        if by == "type":
            return words.say(f"type.{key}")
        return (names.get(key, "") if by == "site" else key) or words.say(f"activity.{by}_not_stated")

    rows = [
        [
            group(one.key),
            one.n,
            one.without,
            one.outside,
            *(exact(each) for each in (one.lower, one.median, one.upper)),
            degree(one.median.unit if one.median else ""),
        ]
        for one in found
    ]
    columns = ("n", "without", "outside", "lower", "median", "upper", "offset_unit")
    return words.out("offsets", (by, *columns), rows)


# --- papers, people, baths -----------------------------------------------------------------------------------


def all_certificates(session: Session, words: Words, wanted: Mapping[str, Any]) -> TableOut:
    """Every certificate that fits, the newest first; `wanted` as `certificates.find` takes it."""
    found: list[Certificate] = []
    after = None
    while True:
        page = certificates.find(session, **wanted, limit=1000, after=after)
        found += page.certificates
        after = page.after
        if after is None:
            break
    with session.reading() as connection:
        zones = {one.subject: one.payload.zone for one in places.sites(connection)}
    columns = ("number", "tag", "issued", "initials", "state", "page")
    rows = [
        [
            one.number,
            one.tag_id,
            local(one.kept.issued_at, zones.get(one.site, "UTC")),
            one.initials,
            words.say(f"certificates.state.{one.standing}", number=one.told_by),
            words.say("certificates.kept" if one.stored else "certificates.not_kept"),
        ]
        for one in found
    ]
    return words.out("certificates", columns, rows)


def all_people(session: Session, words: Words) -> TableOut:
    """Everyone who is known, with what each may do; as the import takes them."""
    with session.reading() as connection:
        found, names = people.people(connection), names_of_places(connection)
    rows = [
        [
            one.initials,
            one.name,
            "; ".join(words.say(f"role.{role}") for role in one.roles),
            "; ".join(names.get(site, "") for site in one.sites),
            date.fromisoformat(one.left) if one.left else None,
        ]
        for one in found
    ]
    return words.out("people", ("initials", "name", "roles", "site", "left"), rows)


def baths(session: Session, words: Words, site: str, days: int) -> TableOut:
    """A site's baths of the last days, the newest first."""
    columns = ("number", "site", "point", "made", "reference", "unit", "made_at", "judged", "checks")
    with session.reading() as connection:
        at = places.site_named_by_id(connection, site).payload
        rows: list[list[Value]] = []
        for bath, entry in lookup.recent_baths(session, connection, site, days):
            reference = Reading.from_text(entry.payload["reference"])
            rows.append(
                [
                    entry.number,
                    at.name,
                    words.say(f"point.{bath.point}"),
                    words.say(f"log.made.{entry.payload['made']}"),
                    reference.value,
                    degree(reference.unit),
                    local(bath.at, at.zone),
                    words.say(f"cli.bath_state.{bath.judged or 'open'}"),
                    len(lookup.checks_in(connection, bath.bath)),
                ]
            )
    return words.out("baths", columns, rows)


def ranking(words: Words, found: Ranking, names: Mapping[str, str]) -> TableOut:
    """All that are ranked by their chance to be out by a day, then who failed and was not mended, without one."""
    columns = (
        "tag_id", "site", "type", "maker", "model", "state", "offset", "expanded", "a_month", "offset_unit", "by_day",
        "level",
    )  # fmt: skip
    rows = [
        [
            one.tag_id,
            names.get(one.site or "", ""),
            words.say(f"type.{one.type}"),
            one.maker,
            one.model,
            words.say(f"fleet.says.{one.outlook.says}"),
            exact(one.outlook.offset),
            exact(one.outlook.expanded),
            exact(one.outlook.a_month),
            degree(one.outlook.unit),
            None if one.by_day is None else Decimal(f"{one.by_day:.4f}"),
            one.outlook.out_on,
        ]
        for one in (*found.rows, *found.failed)
    ]
    return words.out("ranking", columns, rows)


def groups(words: Words, found: GroupsFound, names: Mapping[str, str]) -> TableOut:
    """How groups drift a month, °C: the mean of each and from where to where it lies with 95 %."""
    columns = ("group", "thermometers", "checks", "a_month", "low", "high", "offset_unit")

    def name(key: str) -> str:
        if found.by == "type" and key:
            return words.say(f"type.{key}")
        return names.get(key, "") if found.by == "site" else key

    rows: list[list[Value]] = [
        [
            name(one.key) or words.say("fleet.not_stated"),
            one.thermometers,
            one.checks,
            *(Decimal(f"{each:.4f}") for each in (one.a_month, one.low, one.high)),
            degree("C"),
        ]
        for one in found.groups
    ]
    return words.out("groups", columns, rows)
