"""Due list and looking back over the same random weeks: what each calls missed, and whose turn it is."""

from contextlib import suppress
from decimal import Decimal
from pathlib import Path
from random import Random

import pytest

from registry.compute import schedule
from registry.quantity import Length
from registry.records.rules import PlanRule
from registry.services import calendars, checks, duelist, places, plan_kept, plans, rules, thermometers
from registry.services.places import NewSite
from registry.services.problems import Refused
from registry.store import queries
from tests.services.kitchen import DAY_US, HOUR_US, TUESDAY, ZONE, Kitchen, another

Missed = set[tuple[str, str, str, str]]  # site, thermometer, day, shift
OWN = (
    PlanRule(rule="each_shift", types=("bimetal_stem",)),
    PlanRule(rule="sentinel"),
    PlanRule(rule="every_days", days=2),
    PlanRule(rule="new"),
    PlanRule(rule="after_incident"),
)
WHAT = (
    *("check",) * 6,
    *("paper", "move", "back") * 2,
    *("condemned", "out", "plan", "answer", "no_reading", "closed"),
)


class Week:
    """Two sites, one with shifts that overlap and go over midnight, and what people do there."""

    def __init__(self, kitchen: Kitchen) -> None:
        self.kitchen = kitchen
        quay = places.add_site(kitchen.session, kitchen.admin, NewSite("Quay", "QY", ZONE, Length(Decimal(5), "m")))
        self.sites = (kitchen.site, quay)
        self.grill = places.add_station(kitchen.session, kitchen.officer, kitchen.site, "Grill")
        for site, name, begins, ends in (
            (kitchen.site, "Early", "06:00", "14:00"),
            (kitchen.site, "Night", "22:00", "06:00"),
            (quay, "Day", "08:00", "18:00"),
        ):
            places.add_shift(kitchen.session, kitchen.officer, site, name, begins, ends, range(7), TUESDAY)
        rules.set_plan(kitchen.session, kitchen.officer, "risk_based", TUESDAY)
        self.those = [kitchen.enrol(uses=("cold",)) for _ in range(6)] + [kitchen.dial(uses=("cold",))]
        for one in self.those[:4]:
            kitchen.checked(one, "0.1 C")
        kitchen.clock.move(days=3)  # the clock leaps on the 8th
        self.turns: dict[tuple[str, str], str] = {}

    def do(self, what: str, n: int) -> None:
        kitchen, one, site = self.kitchen, self.those[n % 7], self.sites[n % 2]
        session, officer, lead = kitchen.session, kitchen.officer, kitchen.lead
        today = schedule.local_day(kitchen.clock.at, schedule.time_zone(ZONE))
        if what == "check":
            kitchen.checked(one, "0 C")
        elif what == "condemned":
            kitchen.key(bath := kitchen.ice(), one, "0 C")
            kitchen.judge(bath, "condemned")
        elif what == "paper":
            then = kitchen.clock.at - (1 + n % 40) * HOUR_US
            kitchen.key(bath := kitchen.ice(performed_at=then), one, "0 C", performed_at=then)
            kitchen.judge(bath)
        elif what == "out":
            thermometers.take_out(session, lead, one, "damaged")
        elif what == "back":
            thermometers.set_status(session, officer, one, "in_service")
        elif what == "move":
            thermometers.move(session, officer, one, site, self.grill if n % 4 == 0 else None)
        elif what == "plan" and n % 5 == 4:
            plans.back_to_group(session, officer, site, TUESDAY)
        elif what == "plan" and n % 5 == 3:
            plans.set_own_plan(session, officer, OWN, TUESDAY, site, sure=True)
        elif what == "plan":
            of_site = site if n % 5 == 2 else None
            plans.set_shipped_plan(
                session, officer, ("each_shift", "risk_based", "risk_based")[n // 2 % 3], TUESDAY, of_site
            )
        elif what == "answer":
            with session.reading() as connection:
                fact = places.site_named_by_id(connection, kitchen.row(one).site or "")
                shift = places.shift_now(session, connection, fact)
            if shift is not None:
                day = shift.day.isoformat()
                checks.not_checked(session, lead, one, fact.subject, shift.shift.id, day, "not_used")
        elif what == "no_reading":
            checks.no_reading(session, lead, kitchen.ice(), one, "battery_flat")
        elif what == "closed":
            calendars.state(
                session, officer, kitchen.site, today, today, kind="closed", stations=[self.grill] if n % 3 else []
            )

    def agrees(self) -> None:
        now = self.kitchen.clock()
        told: Missed = set()
        back: Missed = set()
        with self.kitchen.session.reading() as connection:
            then = plan_kept.past(connection)
            for site in places.sites(connection):
                rows = queries.thermometers(connection, site=site.subject)
                owing = {row.thermometer for row in rows if row.service_status not in schedule.OWES_NOTHING}
                due = duelist.due_list(self.kitchen.session, connection, site.subject, now=now)
                told |= {
                    (site.subject, one.row.thermometer, str(one.item.day), one.item.shift or "")
                    for one in due
                    if one.item.state == "missed"
                }
                asked = plan_kept.asked(connection, then, site, now - 7 * DAY_US, now + DAY_US, now, on=True)
                back |= {
                    (site.subject, one.thermometer, str(one.day), one.shift.shift.id)
                    for some in asked
                    for one in some
                    if one.state == "missed" and not one.by_days
                    if one.thermometer in owing and one.shift.ends_at >= now - 2 * DAY_US
                }
                of_site = duelist.at_site(connection, site, now)
                turns = duelist.last_days(connection, site.subject, of_site, rows, rows, now).turns
                begun = {(time.shift.id, time.day) for time in of_site.times if time.begins_at <= now}
                for (shift, day), one in turns.items():
                    if (shift, day) in begun:
                        assert self.turns.setdefault((shift, str(day)), one) == one
        assert told == back


@pytest.mark.parametrize("seed", [0, 2, 3, 4, 5])  # in each of which somebody has a turn
def test_both_call_the_same_missed_and_the_turn_stays(tmp_path: Path, first_kitchen: Kitchen, seed: int) -> None:
    random = Random(seed)
    kitchen = another(first_kitchen, tmp_path / "week")
    try:
        week = Week(kitchen)
        for _ in range(36):
            with suppress(Refused):
                week.do(random.choice(WHAT), random.randrange(60))
            if random.random() < 0.6:
                kitchen.clock.move(hours=random.randint(1, 7))
            week.agrees()
        assert week.turns
    finally:
        kitchen.session.close()
