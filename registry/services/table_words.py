"""How the program's tables go out to spreadsheets: codes as words of a language, numbers as numbers, local times."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal
from fractions import Fraction
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from registry import resources
from registry.quantity import Reading, TemperatureDifference
from registry.services import people
from registry.services.spreadsheet_out import TableOut, Value
from registry.wording import say

TITLES = ("spreadsheet.column", "importing.column")
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
