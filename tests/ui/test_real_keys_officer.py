"""The officer's weekly review under a real X server by real keys; what is shown is what the services say."""

from time import perf_counter
from typing import Any

import pytest

from registry.services import activity, failures, fleet
from tests.services.kitchen import Kitchen
from tests.ui.real_window import BACK, BACKTAB, LONG_S, WAY, Person, leave, somebody
from tests.ui.test_officer_week import told, two_sites
from tests.ui.test_real_keys import READY

MOST_KEYS = 75  # what it takes today and a few more (measured, no source)


def drift(person: Person, after: dict[str, Any] | None = None) -> dict[str, Any]:
    """What Drift says once it says the same twice, and of other sites than after."""
    until, before = perf_counter() + LONG_S, None
    while perf_counter() < until:
        person.ask("drift")
        found: dict[str, Any] = person.heard("drift")
        if found and found == before and (after is None or found["sites"] != after["sites"]):
            return found
        before = found
    raise AssertionError("Drift is not there")


def come_to(person: Person, place: str) -> None:
    until, found = perf_counter() + LONG_S, ""
    while found != place:
        assert perf_counter() < until, f"{place} is not come to, but {found}"
        person.ask("place")
        found = person.heard("place")


@pytest.mark.slow
@pytest.mark.parametrize("way", [WAY])
def test_the_weekly_review_by_keys(kitchen: Kitchen, display: str, way: str) -> None:
    """Drift, the worst one and back, one site, a missed week in its log: no mouse."""
    mill = two_sites(kitchen)
    with somebody(kitchen, display, 1280, 800, kitchen.officer) as person:
        person.wait_for(READY)
        person.walk_to("Drift", key=BACKTAB)
        person.press("\n")
        come_to(person, "drift")
        of_all = drift(person)
        worst = of_all["rows"][0]
        person.walk_to(worst)
        person.press("\n")
        person.wait_for("Back to Drift")
        person.press(BACK)
        come_to(person, "drift")
        assert drift(person) == of_all
        assert person.focus.startswith(f"{worst}:")  # where it was left
        person.walk_to("Site", key=BACKTAB)
        of_mill = of_all
        while of_mill["sites"] != ["Mill"]:
            person.press("↓")
            of_mill = drift(person, after=of_mill)
        person.walk_to("Mill: monthly log")
        person.press("\t←")  # this week, and the one before
        heard = [person.heard("focus") for _ in range(2)]
        person.press("\n")
        come_to(person, "proof")
        leave(person)
    session = kitchen.reopen()
    assert of_all["rows"] == [one.tag_id for one in fleet.ranking(session).rows]
    assert of_all["sentence"] == told(kitchen)
    assert of_mill["sentence"] == told(kitchen, site=mill)
    weeks = activity.checks_by_week(session, [mill])
    assert of_mill["missed"] == [weeks.sites[0].total("missed")]
    week = weeks.sites[0].weeks[-2]
    assert heard[1].startswith(f"Mill, week from {week.monday:%m/%d/%Y}: {week.wanted} wanted, ")
    assert of_all["failures"] == failures.failures(session).open
    assert len(person.keys) <= MOST_KEYS
    assert person.clicks == 0
