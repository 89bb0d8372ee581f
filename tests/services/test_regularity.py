"""Visits too regular to be true, from the record of a kitchen."""

from registry.services import regularity
from registry.services.words import regularity as words
from tests.services.kitchen import Kitchen

HONEST = ("0.1 C", "0.0 C", "0.2 C", "-0.1 C")


def visits(kitchen: Kitchen, probes: list[str], times: int, *, pause_s: int = 70) -> None:
    """Honest ones: each shows another thing than last time, and is left in long enough."""
    for n in range(times):
        bath = kitchen.ice()
        for k, probe in enumerate(probes):
            kitchen.clock.move(seconds=pause_s)
            kitchen.key(bath, probe, HONEST[(n + k) % 4])
        kitchen.judge(bath)
        kitchen.clock.move(days=1)


def repeated(kitchen: Kitchen, probes: list[str], times: int) -> None:
    """What the visit before showed, keyed within one minute."""
    bath = kitchen.ice()
    for k, probe in enumerate(probes):
        kitchen.key(bath, probe, HONEST[(times - 1 + k) % 4])
    kitchen.judge(bath)


def test_a_visit_of_last_times_readings_is_named(kitchen: Kitchen) -> None:
    probes = [kitchen.enrol() for _ in range(9)]
    visits(kitchen, probes, 4)
    (before,) = regularity.by_site(kitchen.session)
    assert (before.visits, before.notable, before.often) == (4, (), False)
    assert words.sentences(before, "en", "en_US") == ["Pier: nothing out of the ordinary in 4 ice baths."]
    repeated(kitchen, probes, 4)
    (site,) = regularity.by_site(kitchen.session)
    (visit,) = site.notable
    signs = visit.found.signs
    assert (signs["repeats"].seen, signs["early"].seen, signs["same_minute"].seen) == (9, 9, 8)
    assert signs["finer"].seen == 0
    assert visit.shift == ""
    assert len(words.sentences(site, "es", "es_ES")) == 1


def test_a_kitchen_that_keys_from_paper_is_not(kitchen: Kitchen) -> None:
    probes = [kitchen.enrol() for _ in range(6)]
    visits(kitchen, probes, 8, pause_s=2)
    (site,) = regularity.by_site(kitchen.session)
    assert (site.visits, site.notable) == (8, ())


def test_what_always_shows_the_same_is_told_of_the_site_by_noise_alone(kitchen: Kitchen) -> None:
    """Weeks of the same readings become a habit of each thermometer, and yet none is as steady as that."""
    probes = [kitchen.enrol() for _ in range(6)]
    for _ in range(6):
        repeated(kitchen, probes, 1)
        kitchen.clock.move(days=1)
    (site,) = regularity.by_site(kitchen.session)
    assert site.often
    assert (site.repeats.seen, site.repeats.among) == (30, 30)
    assert "30 of 30 readings repeat" in words.sentences(site, "en", "en_US")[-1]


def test_only_the_period_and_the_sites_asked_for(kitchen: Kitchen) -> None:
    probes = [kitchen.enrol() for _ in range(9)]
    visits(kitchen, probes, 2)
    repeated(kitchen, probes, 2)
    kitchen.clock.move(days=40)
    (site,) = regularity.by_site(kitchen.session)
    assert (site.visits, site.notable) == (0, ())
    assert len(regularity.by_site(kitchen.session, days=60)[0].notable) == 1
    assert regularity.by_site(kitchen.session, ["elsewhere"]) == []
    assert regularity.by_site(kitchen.session, progress=lambda n: False) != []
    with kitchen.refuses(("days", "choose")):
        regularity.by_site(kitchen.session, days=0)
