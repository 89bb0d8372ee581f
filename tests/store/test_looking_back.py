"""What stood when, and what was done in a period, against the single reads."""

from registry.services import checks, thermometers
from registry.store import looking_back, queries
from tests.services.conftest import first_kitchen, kitchen  # noqa: F401
from tests.services.kitchen import DAY_US, Kitchen


def test_versions_hold_what_was_replaced_too(kitchen: Kitchen) -> None:  # noqa: F811
    probe = kitchen.enrol(tag_id="AA11")
    thermometers.retag(kitchen.session, kitchen.officer, probe, "BB22")
    with kitchen.session.reading() as connection:
        found = looking_back.versions(connection, "tag_id")
        assert [one.payload["tag_id"] for one in found if one.subject == probe] == ["AA11", "BB22"]
        assert looking_back.versions(connection) == []


def test_checks_of_a_period_are_those_of_each_thermometer(kitchen: Kitchen) -> None:  # noqa: F811
    probes = [kitchen.enrol() for _ in range(3)]
    for day in range(3):
        for probe in probes[: day + 1]:
            kitchen.checked(probe, "0.1 C")
        kitchen.clock.move(days=1)
    until = kitchen.clock() - DAY_US
    since = until - DAY_US
    with kitchen.session.reading() as connection:
        found = looking_back.checks_at(connection, kitchen.site, since, until)
        single = [one for probe in probes for one in queries.checks_of(connection, probe, since=since, until=until)]
        assert found == sorted(single, key=lambda one: (one.at, one.seq))
        assert len(found) == 3
        assert looking_back.checks_at(connection, "0" * 32, since, until) == []
        done = looking_back.decided(connection, probes, since, until)
        assert [(one.thermometer, one.at) for one in done] == [(one.thermometer, one.at) for one in found]


def test_what_decided_nothing_is_not_among_the_decided(kitchen: Kitchen) -> None:  # noqa: F811
    probe = kitchen.enrol()
    bath = kitchen.ice()
    kitchen.key(bath, probe, "0.1 C")
    with kitchen.session.reading() as connection:
        assert looking_back.decided(connection, [probe], 0, 2**62) == []
    kitchen.judge(bath)
    with kitchen.session.reading() as connection:
        assert [one.thermometer for one in looking_back.decided(connection, [probe], 0, 2**62)] == [probe]


def test_what_was_said_comes_with_what_it_says(kitchen: Kitchen) -> None:  # noqa: F811
    probe = kitchen.enrol()
    checks.no_reading(kitchen.session, kitchen.lead, kitchen.ice(), probe, "battery_flat")
    with kitchen.session.reading() as connection:
        (one,) = looking_back.said_in(connection, ("reading_taken", "not_checked"), 0, 2**62)
    entry = kitchen.last("reading_taken")
    assert (one.subject, one.seq, one.by, one.payload) == (probe, entry.seq, entry.by, entry.payload)


def test_every_judgement_of_a_bath_in_order(kitchen: Kitchen) -> None:  # noqa: F811
    probe = kitchen.enrol()
    bath = kitchen.ice()
    kitchen.key(bath, probe, "0.1 C")
    kitchen.judge(bath)
    kitchen.judge(bath, "condemned")
    with kitchen.session.reading() as connection:
        found = looking_back.judgements(connection, [bath])
    assert {one: [each["judged"] for each in said] for one, said in found.items()} == {bath: ["accepted", "condemned"]}
