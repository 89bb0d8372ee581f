"""Thermometers from a file: enrolled as by hand, each field in a column of its own."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

from sqlalchemy import Connection

from registry import resources
from registry.quantity import NotAReading, Reading, TemperatureDifference, Unit, parse_reading
from registry.records.thermometers import Price
from registry.services import places, prices, thermometers
from registry.services.csvfile import Table
from registry.services.import_cells import BadCell, code_of, day_of, unit_of, words_for
from registry.services.import_journal import Import, Imported, Progress
from registry.services.import_rows import MixedOrders, Options, Row
from registry.services.import_things import ThingsPlan, record, try_out
from registry.services.problems import Refused
from registry.services.rehearsal import Rehearsal, Said, say_again
from registry.services.session import Actor, Session, day_at
from registry.services.thermometers import NewThermometer, PartGiven, ScaleGiven
from registry.store.transaction import Transaction

SCALE = ("step", "lowest", "highest")
OTHER_SCALE = ("other_step", "other_lowest", "other_highest")  # of one that shows both units
PARTS = ("maker", "model", "serial")
SENSOR = ("sensor_maker", "sensor_model", "sensor_serial")
COLUMNS = (
    "tag_id", "type", "unit", *SCALE, *OTHER_SCALE, "site", "station", *PARTS, *SENSOR, "adjusts", "waterproof", "uses",
    "in_use_since", "condition", "price", "currency", "status",
)  # fmt: skip
REQUIRED = ("type",)
ADJUSTS = ("nut", "reset", "trim", "none")
USES = ("both", "hot", "cold")
IN_USE, NOT_IN_USE = ("in_service", "check_first", "limited_use"), ("out_of_use", "lost", "retired")
YES_NO = ("yes", "no")
# What a service says a problem is about, as a column.
ABOUT = {"scale": "step", "range": "lowest", "sensor": "sensor_serial", "indicator": "serial"}

CALLED = {"not_for_this_type": "cannot_be_adjusted_so"}  # of the adjustment; in a shift the code speaks of the point


def check_thermometers(
    session: Session,
    connection: Connection,
    actor: Actor,
    content: bytes | Table,
    options: Options = Options(),  # noqa: B008
) -> ThingsPlan:
    """Read the whole file and try it out; Refused names each bad cell. Nothing is recorded."""
    orders = MixedOrders(options.day_order)
    tags: list[str] = []

    def add(rehearsal: Rehearsal, row: Row) -> None:
        orders.note(row.number, row.text("in_use_since"))
        new = _read(session, rehearsal.connection, row, options)
        if new is not None:
            made = _enrolled(rehearsal, actor, new)
            tags.append(thermometers.thermometer(rehearsal.connection, made).tag_id)

    laid, rows, said = try_out(
        session,
        connection,
        content,
        options,
        COLUMNS,
        REQUIRED,
        add,
        ABOUT,
        lambda found: orders.tell(found, "in_use_since"),
        {"status": _status_words()},
    )
    return ThingsPlan("thermometers", laid, rows, tuple(tags), said)


def _enrolled(rehearsal: Rehearsal, actor: Actor, new: NewThermometer) -> str:
    try:
        return thermometers.enrol(rehearsal, actor, new)
    except Refused as refused:
        raise Refused(*(replace(one, code=CALLED.get(one.code, one.code)) for one in refused.problems)) from None


def record_thermometers(session: Session, actor: Actor, plan: ThingsPlan, progress: Progress | None = None) -> Imported:
    """Enrol thermometers that were found good."""
    return record(session, actor, plan, _SayAgain, progress)


class _SayAgain:
    def __init__(self, started: Import) -> None:
        self._import, self._hashes = started.import_, dict[str, str]()

    def __call__(self, entries: Transaction, said: Said) -> None:
        say_again(entries, said, self._import, self._hashes)


# --- one row -------------------------------------------------------------------------------------------------


def _read(session: Session, connection: Connection, row: Row, options: Options) -> NewThermometer | None:
    kind = row.take(
        "type", lambda text: code_of(text, words_for("type", tuple(resources.instrument_types()))), needed=True
    )
    unit = row.take("unit", unit_of) or options.unit
    if unit is None:
        row.bad("unit" if "unit" in row.cells else "type", "unit_missing")
    scales = _scales(row, kind or "", unit, options) if kind and unit else ()
    site = row.take_said("site", row.text("site") or options.site, lambda text: places.site_named(connection, text))
    station = _station(row, connection, site.subject) if site else None
    adjusts = row.take("adjusts", lambda text: code_of(text, words_for("thermometers.adjusts", ADJUSTS)))
    uses = row.take("uses", lambda text: code_of(text, words_for("thermometers.uses", USES))) or "both"
    waterproof = row.take("waterproof", lambda text: code_of(text, words_for("thermometers", YES_NO))) == "yes"
    if row.take("status", lambda text: code_of(text, _status_words())) in NOT_IN_USE:
        row.bad("status", "not_in_use")  # enrolled anew it would be in service
    zone = site.payload.zone if site else "UTC"
    since = row.take("in_use_since", lambda text: _day(text, options.day_order, day_at(session.clock(), zone)))
    price = _price(row, prices.currency_here(session, connection))
    if not row.good or kind is None or site is None:
        return None
    sensor = PartGiven(*(row.text(one) for one in SENSOR))
    return NewThermometer(
        type=kind,
        scales=scales,
        site=site.subject,
        tag_id=row.text("tag_id"),
        station=station,
        uses=("hot", "cold") if uses == "both" else (uses,),
        whole=PartGiven(*(row.text(one) for one in PARTS)),
        sensor=None if sensor == PartGiven() else sensor,
        adjusts=adjusts,
        waterproof=waterproof,
        in_use_since=since,
        condition=row.text("condition"),
        price=price,
    )


def _price(row: Row, usual: str) -> Price | None:
    """What it cost; its currency in a column of its own, behind the digits, or that of the country."""
    column = "price" if row.text("price") else "currency"
    said = f"{row.text('price')}{row.text('currency')}"
    return row.take_said(column, said, lambda _: prices.read(row.text("price"), usual, row.text("currency")))


def _status_words() -> Mapping[str, str]:
    return words_for("status", (*IN_USE, *NOT_IN_USE))


def _station(row: Row, connection: Connection, site: str) -> str | None:
    found = row.take("station", lambda text: places.station_named(connection, site, text))
    return found.subject if found else None


def _day(text: str, order: str, today: date) -> date:
    found = day_of(text.partition(" ")[0], order)
    if found > today:
        raise BadCell("in_the_future")
    return found


def _scales(row: Row, kind: str, unit: Unit, options: Options) -> tuple[ScaleGiven, ...]:
    """Its scale; a second one in the other unit where its columns hold something."""
    found = [_scale(row, kind, unit, SCALE, options)]
    if any(row.text(one) for one in OTHER_SCALE):
        found.append(_scale(row, kind, "C" if unit == "F" else "F", OTHER_SCALE, options))
    return tuple(one for one in found if one is not None)


def _scale(row: Row, kind: str, unit: Unit, columns: tuple[str, ...], options: Options) -> ScaleGiven | None:
    """Step, lowest and highest. Where they are empty it is asked whether they are those usual for the type."""
    ranges = resources.instrument_types()[kind].ranges
    usual = next((one for one in ranges if one.low.endswith(f" {unit}")), None)
    offered = (usual.steps[0], usual.low, usual.high) if usual and "usual_scale" in options.asked else ("", "", "")
    values: list[Reading] = []
    for column, offer in zip(columns, offered, strict=True):
        text = row.text(column) or offer.split(" ")[0]
        if not text:
            row.bad(column if column in row.cells else "type", "scale_missing" if usual else "missing")
        elif (shown := row.take_said(column, text, lambda said: _figure(said, unit))) is not None:
            values.append(shown)
    if len(values) < len(columns):
        return None
    step, lowest, highest = values
    return ScaleGiven(TemperatureDifference(step.value, unit), lowest, highest)


def _figure(text: str, unit: Unit) -> Reading:
    try:
        return parse_reading(text, unit)
    except NotAReading as wrong:
        raise BadCell(f"reading_{wrong.code}") from None
