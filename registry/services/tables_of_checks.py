"""Checks, what else happened, and the monthly log, as they go out to spreadsheets."""

from collections.abc import Mapping, Sequence
from decimal import Decimal

from sqlalchemy import Connection

from registry import resources
from registry.services import places
from registry.services.history import CheckLine
from registry.services.log_sheet import COLUMNS as LOG_COLUMNS
from registry.services.log_sheet import Written, cells, rules_used
from registry.services.monthly_log import Log
from registry.services.session import Session
from registry.services.spreadsheet_out import TableOut, Value
from registry.services.table_words import PLACES, Words, degree, exact, initials_of, local, shown
from registry.services.thermometers import thermometer
from registry.services.words import happened
from registry.store import queries

CHECKS = (
    "number", "tag", "date", "time", "point", "readings", "unit", "reference", "outcome", "initials", "offset",
    "expanded", "tolerance", "offset_unit", "rule", "adjusted", "as_left", "as_left_unit",
    "as_left_outcome", "stands",
)  # fmt: skip


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
        names, initials = places.names(connection), initials_of(connection)
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
