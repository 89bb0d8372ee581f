"""Ready-made registries that scenes are played in. Each is made once a run; every scene works in a copy."""

import sqlite3
from collections.abc import Mapping
from contextlib import closing
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from registry.quantity import Length, TemperatureDifference
from registry.services import papers, people, places, thermometers
from registry.services.places import NewSite
from registry.services.session import open_session
from registry.services.thermometers import PartGiven
from sample_db.build import build
from tests.services.kitchen import AIR_C, DIAL_C, DIAL_F, DIGITAL_C, DIGITAL_F, EARLY, MACHINE, Kitchen, open_kitchen

NEXT_MORNING = datetime(2026, 3, 4, 10, 40, tzinfo=UTC)  # 05:40 where the kitchen is
DEMO_OPENS = datetime(2026, 11, 25, 13, 50, tzinfo=UTC)  # the demo's early shift has just begun
ROLES = ("administrator", "officer", "lead", "auditor")


@dataclass(frozen=True, slots=True)
class World:
    """A registry in a folder, closed; who holds which role there, and what the clock says."""

    home: Path
    at: datetime
    machine: str | None = None
    people: Mapping[str, str] = field(default_factory=dict)  # role: person's id; none where nothing was begun
    site: str = ""


def make(name: str, folder: Path) -> World:
    """One of: demo, dozen, papers, damaged, names, crowd, known, fresh, broken, nothing."""
    home = folder / name
    if name == "demo":
        return demo(home, folder)
    if name == "nothing":
        home.mkdir()
        return World(home, EARLY)
    if name == "broken":
        home.mkdir()
        (home / "registry.db").write_bytes(b"not a registry" * 100)
        return World(home, EARLY)
    makers = {
        "dozen": _dozen,
        "papers": _papers,
        "damaged": _papers,
        "names": _names,
        "crowd": _crowd,
        "known": _known,
        "fresh": _fresh,
    }
    kitchen = open_kitchen(home)
    makers[name](kitchen)
    world = _closed(kitchen)
    if name == "damaged":
        _damage(home)
    return world


def demo(home: Path, folder: Path) -> World:
    """The small demo: one kitchen and its last weeks."""
    build(home, small=True)
    return of_demo(home)


def of_demo(home: Path) -> World:
    """A demo that lies there already."""
    session = open_session(home, read_only=True)
    with session.reading() as connection:
        known = [one for one in people.people(connection) if one.left is None]
    session.close()
    return World(home, DEMO_OPENS, None, {role: next(o.person for o in known if role in o.roles) for role in ROLES})


def _closed(kitchen: Kitchen) -> World:
    kitchen.session.close()
    actors = (kitchen.admin, kitchen.officer, kitchen.lead, kitchen.auditor)
    who = dict(zip(ROLES, (one.person for one in actors), strict=True))
    return World(kitchen.home, NEXT_MORNING, MACHINE, who, kitchen.site)


def _fresh(kitchen: Kitchen) -> None:
    """People and a site, and nothing else yet."""


def _shift(kitchen: Kitchen) -> None:
    with kitchen.session.reading() as connection:
        day = kitchen.session.today(places.site_named_by_id(connection, kitchen.site).payload)
    places.add_shift(kitchen.session, kitchen.admin, kitchen.site, "Early", "05:00", "13:00", tuple(range(7)), day)


def _stations(kitchen: Kitchen, *names: str) -> list[str]:
    return [places.add_station(kitchen.session, kitchen.admin, kitchen.site, name) for name in names]


def _dozen(kitchen: Kitchen) -> None:
    """Twelve of all types at four stations, each checked the day before: that is what `last` shows."""
    _shift(kitchen)
    grill, prep, cold, back = _stations(kitchen, "Grill", "Prep", "Cold store", "Back door")
    enrolled = [
        kitchen.enrol(tag_id="PR012A", station=prep),
        kitchen.enrol(tag_id="PR014K", station=cold, type="thermocouple_probe"),
        kitchen.enrol(tag_id="PR016T", station=cold, type="rtd_probe"),
        kitchen.enrol(DIGITAL_F, tag_id="PR021B", station=prep),
        kitchen.enrol(DIGITAL_C, DIGITAL_F, tag_id="PR023D", station=grill, type="thermocouple_probe"),
        kitchen.enrol(AIR_C, tag_id="PR027M", station=back, type="liquid_in_glass"),
        *(kitchen.dial(DIAL_C, tag_id=tag, station=grill, adjusts="nut") for tag in ("PR007B", "PR008E", "PR009R")),
        kitchen.dial(DIAL_F, tag_id="PR031F", station=back, adjusts="nut"),
        kitchen.enrol(tag_id="PR033H", station=grill, adjusts="reset"),
        kitchen.enrol(tag_id="PR035P", station=prep),
    ]
    bath = kitchen.ice()
    kitchen.clock.move(minutes=5)
    for number, thermometer in enumerate(enrolled):
        kitchen.key(bath, thermometer, _shown(kitchen, thermometer, number % 3 - 1))
    kitchen.judge(bath)


def _known(kitchen: Kitchen) -> None:
    """Four digitals that always read the same way, two of them far apart; the last of six weeks was yesterday."""
    _shift(kitchen)
    grill, prep = _stations(kitchen, "Grill", "Prep")
    offsets = {"PR012A": 0.8, "PR016T": -0.7, "PR033H": 0.1, "PR035P": 0.0}
    those = {tag: kitchen.enrol(DIGITAL_C, tag_id=tag, station=grill if tag < "PR03" else prep) for tag in offsets}
    kitchen.clock.move(days=-35)
    for _ in range(6):
        bath = kitchen.ice()
        kitchen.clock.move(minutes=5)
        for tag, off in offsets.items():
            kitchen.key(bath, those[tag], f"{off} C")
        kitchen.judge(bath)
        kitchen.clock.move(days=7, minutes=-5)
    kitchen.clock.move(days=-7)


def _papers(kitchen: Kitchen) -> None:
    """The dozen, of which one fails on the next morning; two certificates, the first of them replaced."""
    _dozen(kitchen)
    with kitchen.session.reading() as connection:
        good, bad = (thermometers.find(connection, tag).row.thermometer for tag in ("PR014K", "PR012A"))
    papers.issue_certificate(kitchen.session, kitchen.officer, good)
    kitchen.clock.move(hours=20)
    kitchen.checked(bad, "2.6 C", "2.6 C", "2.7 C")
    kitchen.checked(good, "0.2 C")
    papers.issue_certificate(kitchen.session, kitchen.officer, good)


def _damage(home: Path) -> None:
    """As somebody with the file would, past its guards."""
    with closing(sqlite3.connect(home / "registry.db")) as connection, connection:
        for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            connection.execute(f"DROP TRIGGER {name}")
        connection.execute("UPDATE entries SET text = replace(text, '2.6 C', '0.6 C')")


def _shown(kitchen: Kitchen, thermometer: str, steps: int) -> str:
    """What it shows in ice when it is some of its steps off."""
    with kitchen.session.reading() as connection:
        scale = next(iter(thermometers.thermometer(connection, thermometer).facts.scales.values()))
    step = TemperatureDifference.from_text(scale.step)
    return f"{(32 if step.unit == 'F' else 0) + steps * step.value} {step.unit}"


def _names(kitchen: Kitchen) -> None:
    """Names as long as people do give."""
    long_site = NewSite(
        "Universitätsklinikum Nordwestküche, Haus 4, Untergeschoss", "UN", "Europe/Berlin", Length.from_text("120 m")
    )
    kitchen.site = places.add_site(kitchen.session, kitchen.admin, long_site)
    _shift(kitchen)
    stations = _stations(
        kitchen, "Pasteurisation and hot holding, east line", "Kaltverteilung Tablettband 2", "Preparación de pescados"
    )
    for number in range(6):
        kitchen.enrol(
            tag_id=f"UNIVKLINIK{number}",
            station=stations[number % 3],
            whole=PartGiven("Brasmoor Instruments & Söhne GmbH", "Kelvane Duo Professional 2 Waterproof"),
        )


def _crowd(kitchen: Kitchen) -> None:
    """More on one list than any window shows at once."""
    _shift(kitchen)
    stations = _stations(kitchen, "Grill", "Prep", "Cold store", "Back door", "Bakery")
    for number in range(40):
        kitchen.enrol(tag_id=f"PR{100 + number}", station=stations[number % 5])
