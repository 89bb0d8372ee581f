"""A kitchen's own figures: the sheet of an afternoon's readings becomes figures that replace the starting values."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from math import isfinite, sqrt

from sqlalchemy import Connection

from registry.compute import own_figures as compute
from registry.compute.check import plain
from registry.compute.own_figures import Cell, Found
from registry.quantity import Reading, Unit
from registry.records.papers import DocumentStored
from registry.records.rules import Figure
from registry.services import rules, thermometers
from registry.services.baths import MADE
from registry.services.csvfile import normal
from registry.services.import_cells import BadCell, readings_of, unit_of
from registry.services.import_rows import Layout, Options, Problems, Row, layout
from registry.services.problems import refuse
from registry.services.rules import RulesInForce, figure_code
from registry.services.session import Actor, Session
from registry.services.thermometers import Thermometer
from registry.services.told import step_of
from registry.store import queries

COLUMNS = ("bath", "made", "tag", "readings", "unit", "reference")
REQUIRED = ("bath", "made", "tag", "readings")
BEST_ICE = "crushed_packed"
MEDIA = "text/csv"
# No thermometer in use is so far off, °C, or scatters so much in one bath (judgement): it was mistyped.
FARTHEST, WIDEST = 10.0, 5.0
# What an afternoon takes; fewer are worked out all the same, and their degrees of freedom say how little they tell.
DIALS, DIGITALS, HABITS, POTS, TIMES = 5, 5, 3, 3, 3


@dataclass(frozen=True, slots=True)
class Own:
    """One figure that was measured, beside the one in force. code: as in an entry. value: in the figure's own form."""

    code: str
    value: Decimal
    before: Decimal
    found: Found
    half_width: bool


@dataclass(frozen=True, slots=True)
class OwnFigures:
    """What a sheet comes to; nothing is recorded yet. missing: codes of what the sheet does not hold."""

    figures: tuple[Own, ...]
    thermometers: int
    readings: int
    missing: tuple[str, ...]
    content: bytes


@dataclass(frozen=True, slots=True)
class _Line:
    """One row of the sheet."""

    of: Thermometer
    cell: Cell
    point: str


def suggested(connection: Connection, site: str) -> list[str]:
    """Tag ids of a site's thermometers for the afternoon: so many dials and digitals in use that take ice and boil."""
    rows = [row for row in queries.thermometers(connection, site=site) if row.status == "in_service"]
    those = [thermometers.thermometer(connection, row.thermometer) for row in rows]
    fit = sorted((of for of in those if _takes_both(of)), key=lambda of: of.tag_id)
    dials, digitals = ([of.tag_id for of in fit if of.type.digital == digital] for digital in (False, True))
    return dials[:DIALS] + digitals[:DIGITALS]


def blank_sheet(connection: Connection, tags: Sequence[str]) -> str:
    """The sheet to fill in, as CSV: each of these in two baths of each ice and in each pot."""
    if not tags:
        raise refuse("tag_id", "empty")
    rows = ["bath,made,tag,readings,unit,reference"]
    for made in MADE["ice_point"][:HABITS]:
        for number in (1, 2):
            rows += [f"{made} {number},{made},{tag},,{_unit(connection, tag)}," for tag in tags]
    for pot in range(1, POTS + 1):
        rows += [f"pot {pot},rolling_boil,{tag},,{_unit(connection, tag)}," for tag in tags]
    return "\n".join(rows) + "\n"


def _takes_both(of: Thermometer) -> bool:
    scales = of.facts.scales.values()
    cold = any(Reading.from_text(one.lowest).celsius() <= 0 for one in scales)
    return not of.type.surface and cold and any(Reading.from_text(one.highest).celsius() >= 100 for one in scales)


def _unit(connection: Connection, tag: str) -> str:
    return next(iter(thermometers.find(connection, tag).facts.scales))


def work_out(session: Session, connection: Connection, content: bytes, options: Options | None = None) -> OwnFigures:
    """What the filled-in sheet comes to; Refused names each bad cell. Readings that were left empty are passed over."""
    options = options or Options()
    found = layout(content, COLUMNS, REQUIRED, options)
    problems = found.problems()
    found.note_merged(problems)
    found.note_formulas(problems, options.asked)
    lines = list(_lines(connection, found, problems))
    problems.refuse_any()
    if not lines:
        raise refuse("file", "no_rows", row=1)
    in_force = rules.rules_in_force(connection)
    figures = [*_repeatability(lines, in_force), *_ice(lines, in_force), *_boiling(lines, in_force)]
    return OwnFigures(
        tuple(figures),
        len({one.of.row.thermometer for one in lines}),
        sum(len(one.cell.readings) for one in lines),
        tuple(_missing(lines)),
        content,
    )


def use(session: Session, actor: Actor, own: OwnFigures, day: str, *, figures: str | None = None) -> str:
    """Replace the figures in force by those measured, and keep the sheet; the id of the set. Twice records once."""
    if not own.figures:
        raise refuse("file", "no_figures")
    figures = figures or session.new_id()
    with session.recording(actor, "officer") as entries:
        in_force = rules.rules_in_force(entries.connection)
        if in_force.figures.set == figures:
            return figures
        why = f"measured: {own.readings} readings of {own.thermometers} thermometers"
        new = {
            one.code: Figure(
                value=f"{one.value:f}",
                why=why,
                dof=f"{Decimal(int(one.found.dof)):f}" if isfinite(one.found.dof) else None,
                measured=day,
            )
            for one in own.figures
        }
        before = in_force.figures.figures
        entries.replace(replace(in_force.figures, set=figures, figures={**before, **new}, clock_behind_us=None))
        entries.add(
            DocumentStored(
                of=figures,
                document="figures_sheet",
                sha256=entries.keep_document(own.content),
                length=len(own.content),
                media=MEDIA,
            )
        )
    return figures


# --- the sheet -----------------------------------------------------------------------------------------------


def _lines(connection: Connection, found: Layout, problems: Problems) -> Iterable[_Line]:
    for row in found.rows(problems):
        if row.text("readings") and (line := _line(connection, row)) is not None:
            yield line


def _line(connection: Connection, row: Row) -> _Line | None:
    of = row.take("tag", lambda text: thermometers.find(connection, text), needed=True)
    unit = row.take("unit", unit_of) or _only_unit(of)
    bath, made = row.take("bath", str, needed=True), row.take("made", _made, needed=True)
    shown = row.take("readings", lambda text: readings_of(text, unit))
    should = row.take("reference", lambda text: readings_of(text, unit)[0])
    boiling = made in MADE["boiling_point"]
    if boiling and not row.text("reference"):
        row.bad("reference", "missing")
    if not row.good or of is None or bath is None or made is None or not shown:
        return None
    cell = _cell(of, bath, made, shown, should)
    if max(map(abs, cell.readings)) > FARTHEST or max(cell.readings) - min(cell.readings) > WIDEST:
        row.bad("readings", "too_far_apart")
        return None
    return _Line(of, cell, "boiling_point" if boiling else "ice_point")


def _made(text: str) -> str:
    known = {normal(one): one for point in ("ice_point", "boiling_point") for one in MADE[point]}
    if normal(text) not in known:
        raise BadCell("made_unknown", choices=", ".join(known.values()))
    return known[normal(text)]


def _only_unit(of: Thermometer | None) -> Unit | None:
    scales = list(of.facts.scales) if of else []
    return None if len(scales) != 1 else "F" if scales[0] == "F" else "C"


def _cell(of: Thermometer, bath: str, made: str, shown: Sequence[Reading], reference: Reading | None) -> Cell:
    should = reference.celsius() if reference else 0
    offsets = tuple(float(one.celsius() - should) for one in shown)
    return Cell(of.row.thermometer, bath, made, offsets, step_of(of, shown[0].unit))


# --- the figures ---------------------------------------------------------------------------------------------


def _repeatability(lines: Sequence[_Line], in_force: RulesInForce) -> Iterable[Own]:
    for code in sorted({one.of.type.code for one in lines}):
        cells = [one.cell for one in lines if one.of.type.code == code]
        kind = next(one.of.type for one in lines if one.of.type.code == code)
        if any(len(cell.readings) > 1 for cell in cells):
            found = compute.repeatability(cells)
            before, _ = in_force.repeatability(kind)
            yield Own(f"repeatability_{code}", plain(found.u), plain(before), found, False)


def _ice(lines: Sequence[_Line], in_force: RulesInForce) -> Iterable[Own]:
    cells = [one.cell for one in lines if one.point == "ice_point"]
    best = in_force.figure(f"bath.{BEST_ICE}") / sqrt(3)
    for made in MADE["ice_point"]:
        both = {one.thermometer for one in cells if one.made == made} & {
            one.thermometer for one in cells if one.made == BEST_ICE
        }
        if made != BEST_ICE and both:
            yield _bath(made, compute.ice(cells, made, BEST_ICE, best), in_force)


def _boiling(lines: Sequence[_Line], in_force: RulesInForce) -> Iterable[Own]:
    cells = [one.cell for one in lines if one.point == "boiling_point"]
    in_ice = _offsets([one.cell for one in lines if one.cell.made == BEST_ICE])
    if any(one.thermometer in in_ice for one in cells):
        share = max(one.of.type.scale_share.value for one in lines if one.point == "boiling_point")
        yield _bath(MADE["boiling_point"][0], compute.boiling(cells, in_ice, share), in_force)


def _offsets(cells: Sequence[Cell]) -> Mapping[str, float]:
    by_one: dict[str, list[float]] = {}
    for one in cells:
        by_one.setdefault(one.thermometer, []).append(one.mean)
    return {thermometer: sum(means) / len(means) for thermometer, means in by_one.items()}


def _bath(made: str, found: Found, in_force: RulesInForce) -> Own:
    """Figures of baths are half-widths of a rectangular distribution: u times root 3."""
    before = plain(in_force.figure(f"bath.{made}"))
    return Own(figure_code(f"bath.{made}"), plain(found.u * sqrt(3)), before, found, True)


def _missing(lines: Sequence[_Line]) -> Iterable[str]:
    kinds = {one.of.row.thermometer: one.of.type.digital for one in lines}
    if sum(not digital for digital in kinds.values()) < DIALS:
        yield "dials"
    if sum(kinds.values()) < DIGITALS:
        yield "digitals"
    if len({one.cell.made for one in lines if one.point == "ice_point"}) < HABITS:
        yield "habits"
    if len({one.cell.bath for one in lines if one.point == "boiling_point"}) < POTS:
        yield "pots"
    if any(len(one.cell.readings) < TIMES for one in lines):
        yield "times"
