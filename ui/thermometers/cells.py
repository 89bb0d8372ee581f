"""The columns of the table: which there are, which are shown, and what each says of a thermometer."""

from collections.abc import Mapping, Sequence

from registry.services import settings
from registry.services.session import day_at
from registry.services.table import COLUMNS, TableRow
from registry.wording import format
from registry.wording.standing import outcome_now
from ui.desk import Desk

FIRST = "tag_id"  # it stands first and cannot be left out
USUAL = ("site", "station", "status", "last_outcome", "last_offset", "last_check_at", "next_due")
CHOSEN_FROM = tuple(one for one in COLUMNS if one != FIRST)
FIGURES = ("last_offset",)  # aligned at their right
ROOMY = ("site", "station", "maker", "serial", "checked_by")  # take what room is left, and give way


def chosen_columns(desk: Desk, *, small: bool = False) -> list[str]:
    """As this computer remembers them; else the usual ones, without the site where there is one or little room."""
    kept = (settings.remembered(desk.local, "columns") or "").split(",")
    found = [one for one in CHOSEN_FROM if one in kept] or list(USUAL)
    if not any(kept) and (small or len(list(desk.sites())) == 1):
        found.remove("site")
    return [FIRST, *found]


def remember_columns(desk: Desk, columns: Sequence[str]) -> None:
    settings.remember(desk.local, "columns", ",".join(one for one in columns if one != FIRST))


def cell(desk: Desk, row: TableRow, column: str, names: Mapping[str, str]) -> str:
    """What stands in a cell; empty where nothing is known."""
    if column in ("site", "station"):
        return row.site_name if column == "site" else row.station_name
    if column == "maker":
        return " ".join(one for one in (row.maker, row.model) if one)
    if column == "serial":
        return ", ".join(one for one in (row.serial, row.sensor_serial) if one)
    if column in ("type", "status"):
        return desk.say(f"{column}.{getattr(row, column)}")
    if column == "last_outcome":
        return _outcome(desk, row)
    if column == "last_offset":
        return desk.offset(row.last_offset.to(desk.unit)) if row.last_offset is not None else ""
    if column == "last_check_at":
        day = day_at(row.last_check_at, row.zone) if row.last_check_at is not None else None
        return format.short_day(day, desk.region) if day is not None else ""
    if column == "checked_by":
        return names.get(row.checked_by or "", "")
    if column == FIRST:
        return row.tag_id
    day = getattr(row, column)
    return format.short_day(day, desk.region) if day is not None else ""


def _outcome(desk: Desk, row: TableRow) -> str:
    if row.left:
        outcome = desk.say(f"outcome.{row.last_outcome}") if row.last_outcome else ""
        return desk.say(f"outcome.left_{row.left}_short", outcome=outcome)
    if row.last_outcome is not None:
        return desk.say(f"outcome.{row.last_outcome}")
    return desk.say("lead.waits") if row.waits else ""


def whole(desk: Desk, row: TableRow, column: str, text: str) -> str:
    """A cell's words whole: of an outcome as left, what was found before."""
    if column == "last_outcome" and row.left:
        return outcome_now(row.last_outcome, row.left, row.as_found, desk.language)
    return text


def mark_of(row: TableRow, column: str) -> tuple[str, str, bool | None] | None:
    """The mark that stands before a cell's words: kind, code, and whether it reads high."""
    if column == "status":
        return "service", row.status, None
    if column == "last_outcome" and (row.last_outcome or row.waits or row.left):
        high = row.last_offset.value > 0 if row.last_offset is not None else None
        return "outcome", row.last_outcome or "waits", high
    return None
