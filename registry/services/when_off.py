"""What we do when one is off: written from the owner's own rules as they stand for a site."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from sqlalchemy import Connection

from registry.documents.facts import Paper
from registry.documents.sheet_facts import SpanFacts
from registry.documents.site_facts import MustRead, WhenOffFacts
from registry.quantity import Length, Reading, TemperatureDifference
from registry.records.places import SiteSet
from registry.services import pages, people, places, rules, shift_sheet, thermometers
from registry.services.rules import RulesInForce
from registry.services.session import Session
from registry.services.thermometers import Thermometer
from registry.store import queries
from registry.store.queries import EntryView, Fact

if TYPE_CHECKING:
    from registry.documents.words import Words

IN_USE = ("in_service", "limited_use")
WAYS = ("nut", "reset", "trim")
CAUTIONS = ("sanitise_first", "scalding", "never_boil_to_ice", "bath_ice_never_eaten", "glass")


def printed(session: Session, site: str, *, language: str | None = None, paper: Paper | None = None) -> bytes:
    """The page of a site (its id) as PDF, by the rules in force now. Records nothing."""
    from registry.documents.when_off import when_off  # late: reportlab

    with session.reading() as connection:
        facts = _facts(session, connection, site, language, paper)
    with pages.refusing():
        return when_off(facts)


def _facts(
    session: Session, connection: Connection, site: str, language: str | None, paper: Paper | None
) -> WhenOffFacts:
    from registry.documents.words import Words  # late: reportlab

    group, fact = session.group(connection).payload, places.site_named_by_id(connection, site)
    page = pages.page_facts(session, group, (fact.payload.name,), language or group.language, fact.payload.zone, paper)
    words = Words(page.language, page.region, page.zone)
    in_force = rules.rules_in_force(connection, site)
    rows = queries.thermometers(connection, site=site, statuses=IN_USE)
    those = [thermometers.thermometer(connection, row.thermometer) for row in rows]
    baths = {point: shift_sheet.ahead(fact, in_force, point) for point in shift_sheet.MADE}
    return WhenOffFacts(
        page=page,
        as_of=words.say("off.as_of", day=words.day(session.today(fact.payload))),
        limits=tuple(_limits(in_force, those, words)),
        ice_at=words.say("off.head.ice"),
        boil_at=_boil_at(fact, baths["boiling_point"], words),
        must_read=tuple(_must_read(connection, baths, those)),
        must_read_note=words.say("off.must_read_note"),
        steps=tuple(_steps(in_force, those, words)),
        told=_told(connection, site, words),
        cautions=tuple(words.say(f"caution.{one}") for one in CAUTIONS),
    )


def _limits(in_force: RulesInForce, those: Sequence[Thermometer], words: "Words") -> list[str]:
    """What each kind of thermometer here may be off, with the source; where none is here, of all that are ruled."""
    wanted = {(of.facts.class_ or of.type.tolerance_class, of.scale) for of in those}
    found = []
    for one in in_force.tolerances.tolerances:
        if (one.class_, one.scale) not in wanted and wanted:
            continue
        source = ", ".join(part for part in (one.source, one.place) if part)
        code = "off.limit.owner" if one.class_ == "owner" else f"tolerance.{one.class_}_{one.scale.lower()}"
        limit = words.difference(TemperatureDifference.from_text(one.tolerance))
        found.append(words.say(code, limit=limit, rule=source))
    for class_, scale in sorted(wanted):
        if in_force.tolerance(class_, scale) is None:
            kinds = {
                of.type.code
                for of in those
                if (of.facts.class_ or of.type.tolerance_class, of.scale) == (class_, scale)
            }
            named = words.joined(words.name_of(f"type.{one}") for one in sorted(kinds))
            found.append(words.say("off.limit.none", types=named))
    return [*dict.fromkeys(found), words.say(f"off.rule.{in_force.decision}")]


def _boil_at(fact: Fact[SiteSet], bath: EntryView, words: "Words") -> str:
    celsius = Reading.from_text(bath.payload["reference"])
    both = (words.temperature(Reading.from_celsius(celsius.celsius(), unit)) for unit in ("C", "F"))
    here = words.typed(Length.from_text(fact.payload.elevation))
    return words.say(
        "off.head.boil",
        reference=words.say("sheet.reference", celsius=next(both), fahrenheit=next(both)),
        elevation=here,
    )


def _must_read(connection: Connection, baths: Mapping[str, EntryView], those: Sequence[Thermometer]) -> list[MustRead]:
    """One row for those whose dials must show the same."""
    spans = {point: shift_sheet.spans_in(connection, bath, those) for point, bath in baths.items()}
    types: dict[tuple[tuple[SpanFacts, ...], ...], list[str]] = defaultdict(list)
    for of in sorted(those, key=lambda one: (one.type.code, one.tag_id)):
        ranges = tuple(
            tuple(SpanFacts(lowest=one.lowest, highest=one.highest) for one in spans[point].get(of.row.thermometer, ()))
            for point in ("ice_point", "boiling_point")
        )
        if any(ranges) and of.type.code not in types[ranges]:
            types[ranges].append(of.type.code)
    return [MustRead(types=tuple(codes), ice=ice, boil=boil) for (ice, boil), codes in types.items() if codes]


def _steps(in_force: RulesInForce, those: Sequence[Thermometer], words: "Words") -> list[str]:
    return [
        words.say("off.step.apart"),
        words.say("off.step.again", count=in_force.rule.repeats),
        words.say("off.step.bath"),
        " ".join([words.say("off.step.adjust"), *_ways(those, words)]),
        words.say("off.step.as_left"),
        words.say("off.step.out"),
        words.say("off.step.food"),
        words.say("off.step.record"),
    ]


def _ways(those: Sequence[Thermometer], words: "Words") -> list[str]:
    """Which types here are adjusted how, which in some models only, and which cannot be: as `adjust` takes them."""
    by_way: dict[str, set[str]] = defaultdict(set)
    in_some: dict[tuple[str, ...], set[str]] = defaultdict(set)
    for of in those:
        if of.usual_adjustment is None and of.adjustments:
            in_some[of.adjustments].add(of.type.code)
        else:
            by_way[of.usual_adjustment or "none"].add(of.type.code)

    def named(types: set[str]) -> str:
        return words.joined(words.name_of(f"type.{one}") for one in sorted(types))

    said = [words.say(f"off.way.{way}", types=named(by_way[way])) for way in WAYS if way in by_way]
    for ways, types in sorted(in_some.items()):
        how = words.joined(words.say(f"off.how.{way}") for way in ways)
        said.append(words.say("off.way.some", types=named(types), ways=how))
    return said + ([words.say("off.way.none", types=named(by_way["none"]))] if "none" in by_way else [])


def _told(connection: Connection, site: str, words: "Words") -> str:
    """The safety officers of a site, by name; where there is none, that nobody is named."""
    officers = [
        one
        for one in people.people(connection)
        if "officer" in one.roles and one.left is None and (not one.sites or site in one.sites)
    ]
    named = [
        words.say("off.person", name=one.name, initials=one.initials) if one.name else one.initials for one in officers
    ]
    return words.say("off.told", names=words.joined(named)) if named else words.say("off.told_nobody")
