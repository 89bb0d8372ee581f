"""Rows of the grid: what each cell holds, what it means, what an empty one becomes, and what is wrong with it."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import lru_cache

from registry import resources
from registry.quantity import Unit
from registry.records.places import SiteSet, StationSet
from registry.services.csvfile import normal
from registry.services.import_cells import BadCell, code_of, words_for
from registry.services.lookup import Fact
from registry.services.problems import Problem, Refused
from registry.services.thermometers import NewThermometer, PartGiven, ScaleGiven
from registry.wording import say
from ui.thermometers import given

COLUMNS = (
    "tag_id",
    "type",
    "unit",
    "step",
    "lowest",
    "highest",
    "site",
    "station",
    "maker",
    "model",
    "serial",
    "adjusts",
    "waterproof",
    "uses",
    "in_use_since",
    "condition",
)
ADJUSTS = ("nut", "reset", "trim", "none")
USES = ("both", "hot", "cold")
YES_NO = ("yes", "no")
UNITS = {"c": "C", "°c": "C", "celsius": "C", "f": "F", "°f": "F", "fahrenheit": "F"}
# Where a service names a field otherwise than the column.
ABOUT = {"range": "lowest", "scale": "step"}


@dataclass(slots=True)
class GridRow:
    """One thermometer to be. id: it is enrolled under this id, however often it is asked for; tag: once it is."""

    id: str
    cells: dict[str, str] = field(default_factory=dict)
    problems: dict[str, Problem] = field(default_factory=dict)
    tag: str = ""

    @property
    def is_empty(self) -> bool:
        return not any(self.cells.values())

    @property
    def waits(self) -> bool:
        """To be enrolled still."""
        return not self.is_empty and not self.tag


@dataclass(frozen=True, slots=True)
class Around:
    """What cells are read by: places, what an empty cell stands for, today."""

    sites: Sequence[Fact[SiteSet]]
    stations: Sequence[Fact[StationSet]]
    site: str  # where one is that names none
    unit: Unit
    region: str
    language: str
    today: date


@lru_cache(maxsize=1)
def column_names() -> Mapping[str, str]:
    """Columns by how people call them, in each language."""
    found = {normal(say(f"enrol.column.{one}", language)): one for one in COLUMNS for language in resources.languages()}
    return found | {normal(one): one for one in COLUMNS}


def type_words() -> Mapping[str, str]:
    return words_for("type", tuple(resources.instrument_types()))


def offered(row: GridRow, column: str, around: Around) -> str:
    """What an empty cell of a row that is begun will stand for."""
    if row.is_empty:
        return ""
    if column == "tag_id":
        return say("enrol.next_free", around.language)
    if column == "unit":
        return f"°{around.unit}"
    if column == "site":
        return next((one.payload.name for one in around.sites if one.subject == around.site), "")
    if column in ("step", "lowest", "highest"):
        kind, unit = type_words().get(normal(row.cells.get("type", "")), ""), _unit(row, around)
        part = "range" if column == "lowest" else column
        return given.offers(kind, unit, around.region).get(part, "") if unit else ""
    return say("thermometers.uses.both", around.language) if column == "uses" else ""


def _unit(row: GridRow, around: Around) -> Unit | None:
    text = normal(row.cells.get("unit", ""))
    found = UNITS.get(text) if text else around.unit
    return None if found is None else "F" if found == "F" else "C"


# --- reading a row -------------------------------------------------------------------------------------------


def read(row: GridRow, around: Around) -> NewThermometer | None:
    """The row as a thermometer; what is wrong is noted in it by column."""
    row.problems = {}
    cells = row.cells
    kind = _code(row, "type", type_words(), needed=True)
    unit = _unit(row, around)
    if unit is None:
        row.problems["unit"] = Problem("unit", "choose", {"value": cells["unit"], "choices": "°C, °F"})
    site, station = _place(row, around)
    adjusts = _code(row, "adjusts", words_for("thermometers.adjusts", ADJUSTS))
    uses = _code(row, "uses", words_for("thermometers.uses", USES)) or "both"
    waterproof = _code(row, "waterproof", words_for("thermometers", YES_NO)) == "yes"
    scales: tuple[ScaleGiven, ...] = ()
    since = None
    try:
        scales = given.scales_given(_scale_cells(row, around), (unit or "C",))
    except Refused as refused:
        # Without type and unit nothing is offered for what is empty: these say so already.
        _note(row, Refused(*(one for one in refused.problems if (kind and unit) or one.code != "empty")))
    try:
        since = given.day_given(cells, "in_use_since", around.today)
    except Refused as refused:
        _note(row, refused)
    if row.problems:
        return None
    return NewThermometer(
        type=kind,
        scales=scales,
        site=site,
        tag_id=cells.get("tag_id", ""),
        station=station,
        uses=("hot", "cold") if uses == "both" else (uses,),
        whole=PartGiven(*(cells.get(one, "") for one in ("maker", "model", "serial"))),
        adjusts=adjusts or None,
        waterproof=waterproof,
        in_use_since=since,
        condition=cells.get("condition", ""),
    )


def _scale_cells(row: GridRow, around: Around) -> dict[str, str]:
    names = {"step": "step", "range": "lowest", "highest": "highest"}
    return {part: row.cells.get(one, "") or offered(row, one, around) for part, one in names.items()}


def _note(row: GridRow, refused: Refused) -> None:
    for one in refused.problems:
        column = ABOUT.get(one.field, one.field)
        row.problems.setdefault(column if column in COLUMNS else "type", one)


note = _note


def _code(row: GridRow, column: str, words: Mapping[str, str], *, needed: bool = False) -> str:
    text = row.cells.get(column, "")
    if not text:
        if needed:
            row.problems[column] = Problem(column, "empty")
        return ""
    try:
        return code_of(text, words)
    except BadCell:
        row.problems[column] = Problem(column, "unknown", {"value": text})
        return ""


def _place(row: GridRow, around: Around) -> tuple[str, str | None]:
    """Site by name or letters, its station by name."""
    text, station = row.cells.get("site", ""), row.cells.get("station", "")
    low = normal(text)
    found = [one for one in around.sites if low in (normal(one.payload.name), normal(one.payload.letters))]
    site = found[0].subject if found else around.site
    if text and not found:
        row.problems["site"] = Problem("site", "unknown", {"value": text})
        return site, None
    if not station:
        return site, None
    own = [one for one in around.stations if one.payload.site == site and normal(one.payload.name) == normal(station)]
    if not own:
        row.problems["station"] = Problem("station", "unknown", {"value": station})
        return site, None
    return site, own[0].subject


def same_tags(rows: Collection[GridRow]) -> None:
    """A tag id that stands in two rows is told in the later one."""
    seen: set[str] = set()
    for row in rows:
        tag = "".join(one for one in row.cells.get("tag_id", "").upper() if one.isalnum())
        if tag and tag in seen and not row.tag:
            row.problems.setdefault("tag_id", Problem("tag_id", "taken", {"value": row.cells["tag_id"]}))
        if tag:
            seen.add(tag)
