"""Thermometers and what is due of them, as they go out to spreadsheets."""

from collections.abc import Collection, Mapping, Sequence
from decimal import Decimal
from typing import Any

from registry.services import import_thermometers, table
from registry.services.duelist import Due
from registry.services.session import Session
from registry.services.spreadsheet_out import TableOut, Value
from registry.services.table import TableRow, Wanted
from registry.services.table_words import Words, degree, exact, initials_of, local
from registry.store import summary
from registry.wording.due import why_due
from registry.wording.standing import outcome_now


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
    "in_use_since": ("in_use_since", "price", "currency"),
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


def _price(facts: Mapping[str, Any]) -> dict[str, Value]:
    price = facts.get("price") or {}
    return {
        "price": Decimal(price["amount"]) if price else None,
        "currency": price.get("currency", ""),
    }


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
            **_price(facts[row.thermometer]),
        }
        return found[column] if column in found else getattr(row, column)

    return words.out("thermometers", heads, [[value(row, one) for one in heads] for row in rows])


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
