"""A ready kitchen for tests: a registry in a folder, its people, one site, a clock that a test moves, known random."""

import shutil
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from random import Random
from typing import Any

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from sqlalchemy import select

from registry.quantity import Length, Reading, TemperatureDifference
from registry.records.rules import PlanRule, PlanSet
from registry.services import baths, checks, people, places, rules, start, thermometers, upkeep
from registry.services.baths import NewBath
from registry.services.checks import AdjustmentGiven, ReadingGiven, Row
from registry.services.places import NewSite
from registry.services.problems import Refused
from registry.services.session import Actor, Session, actor_of, open_session
from registry.services.start import FirstStart
from registry.services.thermometers import NewThermometer, ScaleGiven
from registry.store import queries, tables
from registry.store.checking import Report
from registry.store.queries import CheckView, EntryView, ThermometerRow

ZONE = "America/New_York"
TUESDAY = date(2026, 3, 3)
EARLY = datetime(2026, 3, 3, 10, 30, tzinfo=UTC)  # 05:30 local time, before the first shift
MACHINE = "a" * 64
KEY = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))
_E = tables.entries.c
OWN_CHAIN = select(_E.seq, _E.kind, _E.hash).where(_E.chain_no == 1).order_by(_E.seq)
SECOND_US, MINUTE_US, HOUR_US, DAY_US = 10**6, 60 * 10**6, 3600 * 10**6, 86400 * 10**6


class Clock:
    """Microseconds UTC; goes on by a millisecond at each look, and by as much as a test says."""

    def __init__(self, start: datetime) -> None:
        self.at = int(start.timestamp()) * SECOND_US

    def __call__(self) -> int:
        self.at += 1000
        return self.at

    def move(self, **by: float) -> int:
        """Forward, or back where negative: `move(hours=3)`."""
        self.at += timedelta(**by) // timedelta(microseconds=1)
        return self.at


def scale(step: str, lowest: str, highest: str) -> ScaleGiven:
    return ScaleGiven(TemperatureDifference.from_text(step), Reading.from_text(lowest), Reading.from_text(highest))


DIGITAL_C = scale("0.1 dC", "-40.0 C", "150.0 C")
DIGITAL_F = scale("0.1 dF", "-40.0 F", "302.0 F")
DIAL_C = scale("1 dC", "-18 C", "104 C")
DIAL_F = scale("2 dF", "0 F", "220 F")
AIR_C = scale("1 dC", "-30 C", "30 C")


@dataclass
class Kitchen:
    """An open registry with somebody of each role at one site, 120 m above the sea."""

    home: Path
    session: Session
    clock: Clock
    admin: Actor
    officer: Actor
    lead: Actor
    auditor: Actor
    site: str

    # --- rules -----------------------------------------------------------------------------------------------

    def by_risk(self, *more: PlanRule, turns: bool = True) -> None:
        """The risk-based plan from now on; without turns as it was recorded before it had any."""
        shipped = tuple(one for one in rules.shipped_plan("risk_based") if turns or one.rule != "sentinel")
        self.plan(*shipped, *more, code="risk_based")

    def plan(self, *own: PlanRule, code: str = "own") -> None:
        """A recheck plan of these rules from now on."""
        with self.session.recording(self.officer, "officer") as entries:
            group = self.session.group(entries.connection).subject
            entries.replace(PlanSet(group=group, set=self.session.new_id(), plan=code, rules=own, since="2026-03-03"))

    # --- thermometers -----------------------------------------------------------------------------------------

    def enrol(self, *scales: ScaleGiven, type: str = "thermistor_probe", **more: Any) -> str:
        new = NewThermometer(type=type, scales=scales or (DIGITAL_C,), site=more.pop("site", self.site), **more)
        return thermometers.enrol(self.session, self.officer, new)

    def dial(self, *scales: ScaleGiven, **more: Any) -> str:
        return self.enrol(*(scales or (DIAL_C,)), type="bimetal_stem", **more)

    def row(self, thermometer: str) -> ThermometerRow:
        with self.session.reading() as connection:
            found = queries.thermometer(connection, thermometer)
        assert found is not None
        return found

    def tag(self, thermometer: str) -> str:
        return self.row(thermometer).tag_id or ""

    # --- at the bath ------------------------------------------------------------------------------------------

    def ice(self, made: str = "crushed_packed", **more: Any) -> str:
        return baths.make_bath(self.session, self.lead, NewBath(self.site, "ice_point", made, **more))

    def boil(self, **more: Any) -> str:
        return baths.make_bath(self.session, self.lead, NewBath(self.site, "boiling_point", "rolling_boil", **more))

    def flask(self, *beside: tuple[str, str], made: str = "hot_flask", **more: Any) -> str:
        """A comparison beside thermometers, each with what it shows."""
        pairs = tuple((self.tag(one), Reading.from_text(shown)) for one, shown in beside)
        return baths.make_bath(self.session, self.lead, NewBath(self.site, "comparison", made, beside=pairs, **more))

    def given(self, bath: str, thermometer: str, shown: str, check: str | None = None, **more: Any) -> ReadingGiven:
        return ReadingGiven(
            bath,
            thermometer,
            Reading.from_text(shown),
            check or self.session.new_id(),
            more.pop("reading", None) or self.session.new_id(),
            **more,
        )

    def key(self, bath: str, thermometer: str, *shown: str, check: str | None = None, **more: Any) -> Row:
        """Key in the readings of one check, the first and its repeats."""
        check = check or self.session.new_id()
        rows = [
            checks.take_reading(self.session, self.lead, self.given(bath, thermometer, one, check, **more))
            for one in shown
        ]
        return rows[-1]

    def judge(self, bath: str, judged: str = "accepted", **more: Any) -> dict[str, str]:
        return baths.judge_bath(self.session, self.lead, bath, judged, **more)

    def checked(self, thermometer: str, *shown: str) -> str:
        """A check in an accepted ice bath of its own; its id."""
        bath = self.ice()
        row = self.key(bath, thermometer, *shown)
        assert row.recorded
        self.judge(bath)
        return row.check

    def always(self, shown: Mapping[str, str], times: int, days: int = 7) -> None:
        """So many accepted ice baths, so many days apart, in which each of these shows the same; then as much later."""
        for _ in range(times):
            bath = self.ice()
            for thermometer, reading in shown.items():
                self.key(bath, thermometer, reading)
            self.judge(bath)
            self.clock.move(days=days)

    def adjusted(self, check: str, how: str, as_left: str | None, **more: Any) -> AdjustmentGiven:
        return AdjustmentGiven(
            check,
            how,
            more.pop("adjustment", None) or self.session.new_id(),
            self.session.new_id(),
            Reading.from_text(as_left) if as_left else None,
            **more,
        )

    def adjust(self, check: str, how: str, as_left: str | None, **more: Any) -> Any:
        return checks.adjust(self.session, self.lead, self.adjusted(check, how, as_left, **more))

    # --- looking ----------------------------------------------------------------------------------------------

    def check(self, check: str) -> CheckView:
        with self.session.reading() as connection:
            found = queries.check(connection, check)
        assert found is not None
        return found

    def entries(self, kind: str = "") -> list[EntryView]:
        """Every entry of the own chain in order, or those of one kind."""
        with self.session.reading() as connection:
            here = connection.execute(OWN_CHAIN).all()
            assert [one.seq for one in here] == list(range(len(here)))
            return queries.entries_hashed(connection, [one.hash for one in here if kind in ("", one.kind)])

    def last(self, kind: str) -> EntryView:
        return self.entries(kind)[-1]

    @contextmanager
    def refuses(self, *wanted: tuple[str, str]) -> Iterator[None]:
        """What is done inside is refused for these reasons, (field, code), and leaves nothing behind."""
        before = self.count()
        with pytest.raises(Refused) as caught:
            yield
        assert {(one.field, one.code) for one in caught.value.problems} == set(wanted)
        assert self.count() == before

    def count(self) -> int:
        with self.session.reading() as connection:
            return queries.count_entries(connection)

    def verify(self) -> Report:
        """Each text, link and signature, and what is folded against a rebuild."""
        return upkeep.verify(self.session, deep=True)

    def reopen(self, **more: Any) -> Session:
        """Close the registry and open it again, as at the next start."""
        self.session.close()
        self.session = open_session(self.home, clock=self.clock, machine=more.pop("machine", MACHINE), **more)
        return self.session


def open_kitchen(home: Path, url: str | None = None, **asked: Any) -> Kitchen:
    clock = Clock(EARLY)
    questions = {"group_name": "Harbour Kitchens", "country": "US"} | asked
    session, admin = start.first_start(
        home,
        FirstStart(**questions, administrator_name="Ada Moreno", administrator_initials="AM"),
        clock=clock,
        random=Random(7).randbytes,
        key=KEY,
        machine=MACHINE,
        url=url,
    )
    added = {
        role: people.add_person(session, admin, name, initials, (role,))
        for role, name, initials in (
            ("officer", "Olga Ibarra", "OI"),
            ("lead", "Leo Quist", "LQ"),
            ("auditor", "Aki Sund", "AS"),
        )
    }
    site = places.add_site(session, admin, NewSite("Pier", "PR", ZONE, Length(Decimal(120), "m")))
    with session.reading() as connection:
        who = {role: actor_of(connection, person) for role, person in added.items()}
    return Kitchen(home, session, clock, admin, who["officer"], who["lead"], who["auditor"], site)


def another(first: Kitchen, home: Path) -> Kitchen:
    """A copy of a kitchen that is closed, as it stood, in a folder of its own."""
    shutil.copytree(first.home, home)
    clock = Clock(EARLY)
    clock.at = first.clock.at
    session = open_session(home, clock=clock, random=Random(8).randbytes, machine=MACHINE)
    return replace(first, home=home, session=session, clock=clock)
