"""The ranking of all thermometers: each as it is told alone, kept fresh, the failed apart."""

import json
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest

from registry.compute import drift
from registry.quantity import TemperatureDifference
from registry.services import fleet, incidents, outlook, rules, standings, thermometers, tracking
from registry.services.fleet import Ranking
from registry.services.problems import Refused
from registry.services.session import midnight
from tests.services.kitchen import DAY_US, DIGITAL_F, ZONE, Kitchen


def ranked(kitchen: Kitchen, **asked: Any) -> Ranking:
    """At the instant that it is: the clock of tests goes on by a millisecond when it is looked at."""
    kitchen.clock.at -= 1000
    return fleet.ranking(kitchen.session, **asked)


def eventful(kitchen: Kitchen) -> dict[str, str]:
    """Thermometers of several kinds, checked together for weeks: what became of each, by id."""
    those = {
        "steady": kitchen.enrol(),
        "drifting": kitchen.enrol(),
        "fahrenheit": kitchen.enrol(DIGITAL_F),
        "dial": kitchen.dial(),
        "dropped": kitchen.enrol(),
        "adjusted": kitchen.dial(),
        "failed": kitchen.enrol(),
        "never": kitchen.enrol(),
    }
    for week in range(10):
        kitchen.checked(those["steady"], "0.1 C")
        kitchen.checked(those["drifting"], f"{0.08 * week:.1f} C")
        kitchen.checked(those["fahrenheit"], "32.9 F" if week % 2 else "32.4 F")
        kitchen.checked(those["dial"], "0.5 C")
        kitchen.checked(those["dropped"], "0.2 C")
        check = kitchen.checked(those["adjusted"], *(["2 C"] * 3 if week == 5 else ["0.5 C"]))
        if week == 5:
            kitchen.adjust(check, "nut", "0.0 C")
        kitchen.clock.at += 7 * DAY_US
    kitchen.checked(those["failed"], "1.6 C", "1.6 C", "1.6 C")
    incidents.report_incident(kitchen.session, kitchen.lead, those["dropped"], "dropped")
    kitchen.clock.at += DAY_US
    return those


def alone(kitchen: Kitchen, one: str, unit: Any) -> outlook.Outlook:
    with kitchen.session.reading() as connection:
        of = thermometers.thermometer(connection, one)
        in_force = rules.rules_in_force(connection, of.row.site)
        permitted = in_force.tolerance(of.facts.class_ or of.type.tolerance_class, of.scale)
        tolerance = TemperatureDifference.from_text(permitted.tolerance) if permitted else None
        known = tracking.tracked(kitchen.session, connection, [of])[one]
    return outlook.outlook(known, kitchen.clock.at, tolerance, unit=unit, zone=ZONE)


def same(kitchen: Kitchen, found: Ranking) -> None:
    for one in (*found.rows, *found.failed):
        singly = alone(kitchen, one.thermometer, one.outlook.unit)
        plain = [name for name in outlook.Outlook.__slots__ if name != "out"]
        assert [getattr(one.outlook, name) for name in plain] == [getattr(singly, name) for name in plain]
        assert one.outlook.out == (None if singly.out is None else pytest.approx(singly.out, rel=1e-9, abs=1e-12))


@pytest.mark.parametrize("learned", [False, True])
def test_each_is_told_as_it_is_alone(kitchen: Kitchen, learned: bool) -> None:
    those = eventful(kitchen)
    if learned:
        with kitchen.session.reading() as connection:
            tracking.learn(kitchen.session, connection)
    found = ranked(kitchen)
    assert {one.thermometer for one in found.rows} == set(those.values()) - {those["failed"], those["never"]}
    assert [one.thermometer for one in found.failed] == [those["failed"]]
    assert found.failed[0].outlook.says == "failed"
    assert (found.failed[0].by_day, found.failed[0].outlook.out) == (None, None)
    assert (found.of, found.never, found.no_rule, found.complete) == (6, 1, 0, True)
    same(kitchen, found)
    chances = [one.by_day or 0.0 for one in found.rows]
    assert chances == sorted(chances, reverse=True)
    assert found.expected == pytest.approx(sum(chances))


def test_the_chance_is_that_of_the_end_of_the_day(kitchen: Kitchen) -> None:
    eventful(kitchen)
    day = date(2026, 8, 1)
    found = ranked(kitchen, by_day=day)
    assert found.day == day
    for one in found.rows:
        with kitchen.session.reading() as connection:
            of = thermometers.thermometer(connection, one.thermometer)
            known = tracking.tracked(kitchen.session, connection, [of])[one.thermometer]
            permitted = rules.rules_in_force(connection, of.row.site).tolerance(of.type.tolerance_class, of.scale)
        assert permitted is not None
        limit = float(TemperatureDifference.from_text(permitted.tolerance).to("C").value)
        celsius = one.outlook.celsius
        then = midnight(day + timedelta(days=1), ZONE) / DAY_US
        alone = drift.probability_out(known.track, then, limit, celsius, known.told.shared_at(celsius))
        assert one.by_day == pytest.approx(alone, rel=1e-9)


def test_thirty_days_ahead_unless_asked(kitchen: Kitchen) -> None:
    kitchen.checked(kitchen.enrol(), "0.1 C")
    assert ranked(kitchen).day == date(2026, 4, 2)
    for day in (date(2026, 3, 2), date(2046, 3, 2)):
        with pytest.raises(Refused) as refused:
            ranked(kitchen, by_day=day)
        assert [(one.field, one.code) for one in refused.value.problems] == [("by_day", "not_ahead")]


def test_what_is_shown_of_its_past(kitchen: Kitchen) -> None:
    those = eventful(kitchen)
    small = {one.thermometer: one.small for one in ranked(kitchen).rows}
    assert [each[1] for each in small[those["steady"]].checks] == pytest.approx([0.1] * 10)
    assert all(spread > 0 for *_, spread in small[those["steady"]].checks)
    assert len(small[those["adjusted"]].adjusted) == 1
    assert small[those["adjusted"]].checks[5][0] == small[those["adjusted"]].adjusted[0]
    with kitchen.session.reading() as connection:
        of = thermometers.thermometer(connection, those["adjusted"])
        known = tracking.tracked(kitchen.session, connection, [of])[those["adjusted"]]
    past = [one for one in outlook.followed(known, outlook.usual(known), kitchen.clock.at) if not one.ahead]
    mine = small[those["adjusted"]].checks
    assert [(each[0], each[2], each[3]) for each in mine] == [
        (one.at, pytest.approx(one.offset, abs=1e-4), pytest.approx(one.spread, abs=1e-4)) for one in past
    ]
    assert all(one.small == standings.Small() for one in ranked(kitchen, histories=False).rows)


def test_by_site_type_and_model(kitchen: Kitchen) -> None:
    one, other = kitchen.enrol(), kitchen.dial()
    for each in (one, other):
        kitchen.checked(each, "0.1 C" if each == one else "0.0 C")

    def found(**asked: Any) -> set[str]:
        return {each.thermometer for each in ranked(kitchen, **asked).rows}

    site = kitchen.row(one).site
    assert found(site=site) == {one, other}
    assert found(site="0" * 32) == set()
    assert found(type="thermistor_probe") == {one}
    assert found(model="no such model") == set()
    assert found(limit=1) < {one, other}
    with pytest.raises(Refused):
        ranked(kitchen, type="broomstick")


def counted(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """How many thermometers were worked out, each time some were."""
    found: list[int] = []
    really: Callable[..., Any] = standings._worked_out

    def counting(connection: Any, rows: Any, *more: Any) -> Any:
        found.append(len(rows))
        return really(connection, rows, *more)

    monkeypatch.setattr(standings, "_worked_out", counting)
    return found


def test_only_what_changed_is_worked_out_again(kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch) -> None:
    those = eventful(kitchen)
    worked = counted(monkeypatch)
    first = ranked(kitchen)
    assert worked == [8]
    assert ranked(kitchen) == first
    assert worked == [8]
    kitchen.reopen()
    assert ranked(kitchen) == first  # from the cache
    assert worked == [8]
    kitchen.checked(those["steady"], "0.3 C")
    changed = ranked(kitchen)
    assert worked == [8, 1]
    same(kitchen, changed)
    assert {one.thermometer: one.small.checks for one in changed.rows}[those["steady"]][-1][1] == pytest.approx(0.3)


def test_what_befalls_it_is_known_at_once(kitchen: Kitchen) -> None:
    those = eventful(kitchen)
    ranked(kitchen)
    incidents.report_incident(kitchen.session, kitchen.lead, those["steady"], "dropped")
    found = ranked(kitchen)
    assert {one.thermometer: one.outlook.says for one in found.rows}[those["steady"]] == "unsettled"
    same(kitchen, found)
    bath = kitchen.ice()
    kitchen.key(bath, those["steady"], "0.4 C")
    kitchen.judge(bath)
    same(kitchen, ranked(kitchen))
    kitchen.judge(bath, "condemned")
    found = ranked(kitchen)
    same(kitchen, found)
    assert {one.thermometer: one.outlook.checks for one in found.rows}[those["steady"]] == 10


def test_a_model_learned_anew_is_followed_anew(kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch) -> None:
    eventful(kitchen)
    ranked(kitchen)
    worked = counted(monkeypatch)
    with kitchen.session.reading() as connection:
        assert tracking.learn(kitchen.session, connection) > 0
    same(kitchen, ranked(kitchen))
    assert worked == [8]


def test_a_damaged_cache_costs_only_time(kitchen: Kitchen) -> None:
    eventful(kitchen)
    first = ranked(kitchen)
    entry = kitchen.session.cache.kept(standings.KEPT)
    assert entry is not None
    other = json.dumps([[*each[:-3], [], *each[-2:]] for each in json.loads(entry[1])])  # as another version might
    for key, value in (
        (entry[0], other),
        (entry[0], "[[1]]"),
        ("9:1:", entry[1]),
        ("nonsense", "x"),
        (entry[0], entry[1][:-9]),
    ):
        kitchen.session.kept.clear()
        kitchen.session.cache.keep(standings.KEPT, key, value)
        assert ranked(kitchen) == first
    for part in range(standings.PARTS):
        kitchen.session.cache.keep(f"{standings.HISTORIES} {part}", str(standings.VERSION), "{")
    assert ranked(kitchen) == first


def test_it_can_be_stopped_and_goes_on(kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch) -> None:
    eventful(kitchen)
    monkeypatch.setattr(standings, "AT_ONCE", 3)
    asked: list[tuple[int, int]] = []

    def progress(done: int, of: int) -> bool:
        asked.append((done, of))
        return done < 3

    stopped = ranked(kitchen, progress=progress)
    assert (stopped.complete, asked) == (False, [(0, 8), (3, 8)])
    worked = counted(monkeypatch)
    whole = ranked(kitchen)
    assert (whole.complete, worked) == (True, [3, 2])
    same(kitchen, whole)


def test_the_cache_of_another_record_is_not_believed(kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch) -> None:
    """A restored registry has the same numbers of entries and says something else in them."""
    eventful(kitchen)
    first = ranked(kitchen)
    kept = kitchen.session.cache.kept(standings.KEPT)
    assert kept is not None
    worked = counted(monkeypatch)
    kitchen.session.kept.clear()
    kitchen.session.cache.keep(standings.KEPT, f"{kept[0][:-64]}{'0' * 64}", kept[1])
    assert ranked(kitchen) == first
    assert worked == [8]


def test_where_too_much_was_recorded_all_is_worked_out_again(kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch) -> None:
    those = eventful(kitchen)
    ranked(kitchen)
    worked = counted(monkeypatch)
    monkeypatch.setattr(standings, "TELL_APART", 1)
    kitchen.checked(those["steady"], "0.3 C")
    same(kitchen, ranked(kitchen))
    assert worked == [8]


def test_a_read_only_registry_is_ranked_too(kitchen: Kitchen) -> None:
    eventful(kitchen)
    first = ranked(kitchen)
    kitchen.reopen(read_only=True)
    assert ranked(kitchen) == first


def test_one_that_is_not_used_is_not_ranked(kitchen: Kitchen) -> None:
    one, out = kitchen.enrol(), kitchen.enrol()
    for each in (one, out):
        kitchen.checked(each, "0.1 C")
    thermometers.take_out(kitchen.session, kitchen.lead, out, "spare")
    assert [each.thermometer for each in ranked(kitchen).rows] == [one]
