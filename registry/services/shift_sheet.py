"""The shift sheet on paper: printed ahead for a shift; `enter` keys it in afterwards."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from fractions import Fraction

from sqlalchemy import Connection

from registry.compute import reference
from registry.compute.atmosphere import PressureSource
from registry.compute.schedule import ShiftTime
from registry.documents.facts import CannotPrint, Paper
from registry.documents.sheet_facts import BathBlank, LineFacts, SheetFacts, SpanFacts
from registry.quantity import Length, Reading
from registry.records.places import SiteSet
from registry.services import pages, places, rules, shift_bath, shift_list, thermometers
from registry.services.problems import refuse
from registry.services.rules import RulesInForce
from registry.services.session import Session
from registry.services.sheet_entry import Entered, PaperBath, PaperRow, enter
from registry.services.shift_bath import Span
from registry.services.thermometers import Thermometer
from registry.store import queries
from registry.store.queries import EntryView, Fact
from registry.wording import format, say

__all__ = ["Entered", "PaperBath", "PaperRow", "enter", "print_sheet"]

IN_USE = ("in_service", "limited_use")
CAUTIONS = ("sanitise_first", "stems_at_once", "scalding", "never_boil_to_ice", "bath_ice_never_eaten")
MADE = {
    "ice_point": ("crushed_packed", "cubes_stirred", "cubes_careless", "slush_stirred"),
    "boiling_point": ("rolling_boil",),
}
Spans = dict[str, tuple[Span, ...]]


def print_sheet(
    session: Session,
    site: str,
    *,
    on: ShiftTime | None = None,
    every: bool = False,
    language: str | None = None,
    paper: Paper | None = None,
) -> bytes:
    """The sheet of a site for a shift (`on`), else for the one that is on, else for what is due now. Records nothing.

    every: a line for each thermometer in use at the site, whatever is due, to be printed in stock; it bears neither
    shift nor day. The boiling point on it is the usual one at the site's elevation.
    """
    from registry.documents.shift_sheet import shift_sheet  # late: reportlab

    with session.reading() as connection:
        facts = _facts(session, connection, site, on, every, language, paper)
    try:
        return shift_sheet(facts)
    except CannotPrint as problem:
        raise refuse("page", problem.code, **problem.values) from None


def _facts(
    session: Session,
    connection: Connection,
    site: str,
    on: ShiftTime | None,
    every: bool,
    language: str | None,
    paper: Paper | None,
) -> SheetFacts:
    group, fact = session.group(connection).payload, places.site_named_by_id(connection, site)
    shift, those = _those(session, connection, fact, on, every)
    if not those:
        raise refuse("sheet", "nothing_on_it")
    in_force = rules.rules_in_force(connection, site)
    baths = {point: ahead(fact, in_force, point) for point in MADE}
    spans = {point: spans_in(connection, bath, those) for point, bath in baths.items()}
    names = {one.subject: one.payload.name for one in places.stations(connection, site)}
    language = language or group.language
    zone, region = fact.payload.zone, pages.region_for(group, language)
    hours = ""
    if shift is not None:
        begins, ends = (format.clock(at, zone, region) for at in (shift.begins_at, shift.ends_at))
        hours = say("sheet.span", language, lowest=begins, highest=ends)
    return SheetFacts(
        page=pages.page_facts(session, group, (fact.payload.name,), language, zone, paper),
        shift=shift.shift.name if shift else "",
        hours=hours,
        day=shift.day if shift else None,
        baths=tuple(_blank(fact.payload, baths[point], spans[point]) for point in MADE),
        lines=tuple(_line(of, names, spans) for of in those),
        cautions=CAUTIONS,
    )


def _those(
    session: Session, connection: Connection, fact: Fact[SiteSet], on: ShiftTime | None, every: bool
) -> tuple[ShiftTime | None, list[Thermometer]]:
    """The shift, and who stands on its list in the list's own order; without those that are out of use."""
    if every:
        rows = [row for row in queries.thermometers(connection, site=fact.subject) if row.status in IN_USE]
        found = [thermometers.thermometer(connection, row.thermometer) for row in rows]
        return None, shift_list.in_order(session, connection, fact.subject, None, found)
    at = max(session.clock(), on.begins_at) if on else None
    view = shift_list.start_of_shift(session, fact.subject, now=at)
    listed = [one.thermometer for one in view.rows if one.state != "out_of_use"]
    return on or view.shift, [thermometers.thermometer(connection, one) for one in listed]


# --- what passes, before there is a bath ---------------------------------------------------------------------


def ahead(fact: Fact[SiteSet], in_force: RulesInForce, point: str, made: str = "") -> EntryView:
    """A bath as it would be made, never recorded: the ranges then come from what judges every other reading."""
    made = made or MADE[point][0]
    half_width = in_force.figure(f"bath.{made}")
    if point == "boiling_point":
        elevation = Length.from_text(fact.payload.elevation).metres()
        figures = in_force.pressure_figures()
        found = reference.boiling_point(PressureSource.ELEVATION, None, elevation, half_width, figures)
    else:
        found = reference.ice_point(half_width)
    payload = {
        "site": fact.subject,
        "point": point,
        "made": made,
        "reference": f"{found.celsius:f} C",
        "components": {code: part.text() for code, part in found.components.items()},
    }
    return EntryView("", "", 0, 0, "bath_made", 0, "system", "", "", (), payload, "", None)


def spans_in(connection: Connection, bath: EntryView, those: Sequence[Thermometer]) -> Spans:
    """By thermometer, what passes on its dial; an infrared in stirred slush, which is what it needs."""
    surfaces = [of for of in those if of.type.surface]
    found = shift_bath.in_bath(connection, bath, [of for of in those if not of.type.surface])
    if bath.payload["point"] == "ice_point":
        slush = replace(bath, payload={**bath.payload, "made": "slush_stirred"})
        found |= shift_bath.in_bath(connection, slush, surfaces)
    return {thermometer: one.spans for thermometer, one in found.items()}


def _blank(site: SiteSet, bath: EntryView, spans: Spans) -> BathBlank:
    celsius, point = Fraction(bath.payload["reference"].split()[0]), bath.payload["point"]
    common = shift_bath.commonest(list(spans.values()))
    first = {one.unit: one for one in reversed(common)}  # the commonest of each unit
    return BathBlank(
        point=point,
        made=MADE[point],
        reference=(Reading.from_celsius(celsius, "C"), Reading.from_celsius(celsius, "F")),
        spans=tuple(_span(first[unit]) for unit in sorted(first)),
        elevation=Length.from_text(site.elevation) if point == "boiling_point" else None,
    )


def _line(of: Thermometer, names: Mapping[str, str], spans: Mapping[str, Spans]) -> LineFacts:
    ice, boil = (
        tuple(_span(one) for one in spans[point].get(of.row.thermometer, ()))
        for point in ("ice_point", "boiling_point")
    )
    return LineFacts(
        tag_id=of.tag_id,
        station=names.get(of.row.station or "", ""),
        type=of.type.code,
        units=tuple(sorted(of.facts.scales)),
        ice=ice,
        boil=boil,
    )


def _span(span: Span) -> SpanFacts:
    return SpanFacts(lowest=span.lowest, highest=span.highest)
