"""The ranking of all thermometers: each as it is told alone, kept fresh, the failed apart."""

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from random import Random
from typing import Any

import pytest

from registry.compute import drift
from registry.quantity import TemperatureDifference
from registry.services import fleet, incidents, jobs, mend, outlook, rules, standings, thermometers, tracking
from registry.services.baths import PressureSource
from registry.services.fleet import Ranking
from registry.services.problems import Refused
from registry.services.session import midnight
from registry.services.thermometers import PartGiven
from tests.services.kitchen import DAY_US, DIAL_C, DIGITAL_C, DIGITAL_F, ZONE, Kitchen

DIAL = "bimetal_stem"


def ranked(kitchen: Kitchen, **asked: Any) -> Ranking:
    """At the instant that it is: the clock of tests goes on by a millisecond when it is looked at."""
    kitchen.clock.at -= 1000
    return fleet.ranking(kitchen.session, **asked)


def boiled(kitchen: Kitchen, one: str, shown: str) -> None:
    """A check in an accepted pot of its own; water boils at 99.6 °C here."""
    bath = kitchen.boil(pressure_source=PressureSource.ELEVATION)
    kitchen.key(bath, one, shown)
    kitchen.judge(bath)


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
        if week % 3 == 1:
            boiled(kitchen, those["dropped"], "99.6 C")
            boiled(kitchen, those["drifting"], "100.1 C")
        if week == 8:
            boiled(kitchen, those["dial"], "99 C")
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


def alone(kitchen: Kitchen, one: str, unit: Any, day: date) -> outlook.Outlook:
    """By itself, its worst point looked for at the end of a day."""
    with kitchen.session.reading() as connection:
        of = thermometers.thermometer(connection, one)
        in_force = rules.rules_in_force(connection, of.row.site)
        permitted = in_force.tolerance(of.facts.class_ or of.type.tolerance_class, of.scale)
        tolerance = TemperatureDifference.from_text(permitted.tolerance) if permitted else None
        known = tracking.tracked(kitchen.session, connection, [of])[one]
    end = midnight(day + timedelta(days=1), ZONE)
    return outlook.outlook(known, kitchen.clock.at, tolerance, by=end, unit=unit, zone=ZONE)


def same(kitchen: Kitchen, found: Ranking) -> None:
    for one in (*found.rows, *found.failed):
        singly = alone(kitchen, one.thermometer, one.outlook.unit, found.day)
        plain = [name for name in outlook.Outlook.__slots__ if name not in ("out", "points")]
        assert [getattr(one.outlook, name) for name in plain] == [getattr(singly, name) for name in plain]
        assert one.outlook.out == about(singly.out)
        assert len(one.outlook.points) == len(singly.points)
        for ours, theirs in zip(one.outlook.points, singly.points, strict=True):
            assert replace(ours, out=None) == replace(theirs, out=None)
            assert ours.out == about(theirs.out)


def about(chance: float | None) -> Any:
    return None if chance is None else pytest.approx(chance, rel=1e-9, abs=1e-12)


@pytest.mark.fast_cases(1)
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


def right_at_ice(kitchen: Kitchen) -> dict[str, str]:
    """Both are right in ice each week; one was 0.8 °C off in each of its two boiling baths, one is checked in ice
    alone. Water boils at 99.6 °C here."""
    those = {"off_at_boiling": kitchen.enrol(), "ice_alone": kitchen.enrol()}
    for week in range(10):
        kitchen.checked(those["off_at_boiling"], "0.0 C")
        kitchen.checked(those["ice_alone"], "0.1 C")
        if week in (3, 8):
            boiled(kitchen, those["off_at_boiling"], "100.4 C")
        kitchen.clock.at += 7 * DAY_US
    return those


def test_one_that_is_right_at_ice_and_off_at_boiling_is_at_the_top(kitchen: Kitchen) -> None:
    those = right_at_ice(kitchen)
    found = ranked(kitchen)
    first, second = found.rows
    assert [first.thermometer, second.thermometer] == list(those.values())
    assert (first.outlook.kind, round(first.outlook.celsius, 1)) == ("boiling_point", 99.6)
    assert first.likely
    assert not second.likely
    boiling, ice = first.outlook.points
    assert (boiling.kind, boiling.checks, ice.kind, ice.checks) == ("boiling_point", 2, "ice_point", 10)
    assert boiling.out is not None
    assert ice.out is not None
    assert ice.out < 0.01 < boiling.out
    assert first.outlook.out == boiling.out
    assert first.outlook.out_on == boiling.out_on
    assert float(boiling.offset.value) == pytest.approx(0.8, abs=0.15)  # type: ignore[union-attr]
    assert [each[1] for each in first.small.checks] == pytest.approx([0.8, 0.8], abs=0.05)
    assert first.ahead[0][1] == pytest.approx(float(boiling.offset.value), abs=0.01)  # type: ignore[union-attr]
    assert [one.kind for one in second.outlook.points] == ["ice_point"]  # of boiling nothing is known: nothing is said
    same(kitchen, found)
    kitchen.reopen()
    assert ranked(kitchen) == found


def test_the_worst_point_is_that_of_the_chosen_day(kitchen: Kitchen) -> None:
    """It is near its limit at boiling and drifts the other way: later it is out at ice."""
    one = kitchen.enrol()
    for week in range(12):
        kitchen.checked(one, f"{-0.03 * week:.1f} C")
        boiled(kitchen, one, f"{100.5 - 0.03 * week:.1f} C")
        kitchen.clock.at += 7 * DAY_US
    kinds = []
    for days in (0, 365):
        found = ranked(kitchen, by_day=fleet.today(kitchen.session) + timedelta(days=days))
        same(kitchen, found)
        (only,) = found.rows
        kinds.append(only.outlook.kind)
        assert only.outlook.out_on == min(point.out_on for point in only.outlook.points if point.out_on)
    assert kinds == ["boiling_point", "ice_point"]


def test_a_point_is_known_again_when_the_new_sensor_was_checked_there(kitchen: Kitchen) -> None:
    those = right_at_ice(kitchen)
    one = those["off_at_boiling"]
    incidents.report_incident(kitchen.session, kitchen.lead, one, "sensor_changed")
    kinds = []
    for check in (lambda: None, lambda: kitchen.checked(one, "0.0 C"), lambda: boiled(kitchen, one, "99.6 C")):
        check()
        found = ranked(kitchen)
        same(kitchen, found)
        (row,) = (each for each in found.rows if each.thermometer == one)
        kinds.append({each.kind for each in row.outlook.points})
    assert kinds == [{"ice_point"}, {"ice_point"}, {"ice_point", "boiling_point"}]


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


@pytest.mark.slow
def test_what_was_worked_out_behind_the_window_is_there_when_it_opens(
    kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch
) -> None:
    eventful(kitchen)
    worked = counted(monkeypatch)
    assert jobs.warm(kitchen.session) == 8
    kitchen.reopen()
    assert ranked(kitchen).of == 6
    assert worked == [8]


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
    line, _, steps = entry[1].partition("\n")
    rows, *numbers = json.loads(line)
    others = [
        [[[*each[:-1], [None] * 9] for each in rows], *numbers],  # more days than points
        [[each[:-1] for each in rows], *numbers],  # as another version might
        [rows[1:], *numbers],
        [rows, numbers[0][1:], numbers[1]],
    ]
    for key, value in (
        *((entry[0], f"{json.dumps(other)}\n{steps}") for other in others),
        (entry[0], line),
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


@pytest.mark.slow
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


@pytest.mark.slow
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


@pytest.mark.slow
def test_where_too_much_was_recorded_all_is_worked_out_again(kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch) -> None:
    those = eventful(kitchen)
    ranked(kitchen)
    worked = counted(monkeypatch)
    monkeypatch.setattr(standings, "TELL_APART", 1)
    kitchen.checked(those["steady"], "0.3 C")
    same(kitchen, ranked(kitchen))
    assert worked == [8]


@pytest.mark.slow
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


@pytest.mark.fast_cases(2)
@pytest.mark.parametrize("seed", range(4))
def test_whatever_happened_to_it_each_is_told_as_it_is_alone(kitchen: Kitchen, seed: int) -> None:
    """Adjusted, dropped, given another sensor, checked in baths that were condemned or by checks that were voided, at
    one point, at two or at none, and with a clock that was set back."""
    those = random_life(kitchen, Random(seed))
    found = ranked(kitchen)
    assert found.of + len(found.failed) + found.never + found.no_rule == len(those)
    same(kitchen, found)
    chances = [one.by_day or 0.0 for one in found.rows]
    assert chances == sorted(chances, reverse=True)
    for one in found.rows:
        at_end = then(kitchen, one.thermometer, found.day)
        assert one.by_day == about(max(at_end))
        assert one.outlook.points[0].celsius == alone(kitchen, one.thermometer, "C", found.day).points[0].celsius


def then(kitchen: Kitchen, one: str, day: date) -> list[float]:
    """Its chance to be out at the end of a day, at each of its points, by itself."""
    with kitchen.session.reading() as connection:
        of = thermometers.thermometer(connection, one)
        permitted = rules.rules_in_force(connection, of.row.site).tolerance(of.type.tolerance_class, of.scale)
        assert permitted is not None
        known = tracking.tracked(kitchen.session, connection, [of])[one]
    limit = float(TemperatureDifference.from_text(permitted.tolerance).to("C").value)
    at = max(midnight(day + timedelta(days=1), ZONE) / DAY_US, known.track.now.at_days)
    return [
        drift.probability_out(known.track, at, limit, point.celsius, point.shared_u)
        for point in outlook.points_of(known.told)
    ]


def random_life(kitchen: Kitchen, draw: Random) -> list[str]:
    those = [kitchen.dial(DIAL_C) for _ in range(3)]
    those += [kitchen.enrol(DIGITAL_C), kitchen.enrol(DIGITAL_C, type="thermocouple_probe"), kitchen.enrol(DIGITAL_C)]
    checked = those[:-1]
    for _ in range(14):
        for at in ("ice_point", "boiling_point")[: draw.choice((1, 2))]:
            bath = kitchen.ice() if at == "ice_point" else kitchen.boil(pressure_source=PressureSource.ELEVATION)
            made = [random_check(kitchen, draw, bath, one, at) for one in checked if draw.random() < 0.7]
            kitchen.judge(bath)
            for check, number in made:
                if draw.random() < 0.1:
                    mend.void(kitchen.session, kitchen.officer, number, "mistyped")
                elif (
                    kitchen.check(check).outcome == "fail"
                    and kitchen.row(kitchen.check(check).thermometer).type == DIAL
                ):
                    kitchen.adjust(check, "nut", draw.choice(("0 C" if at == "ice_point" else "100 C", None)))
            if draw.random() < 0.15:
                kitchen.judge(bath, "condemned", why="ice_seen")
        one = draw.choice(checked)
        match draw.randrange(5):
            case 0:
                incidents.report_incident(kitchen.session, kitchen.lead, one, draw.choice(("dropped", "bumped")))
            case 1:
                thermometers.change_sensor(kitchen.session, kitchen.lead, checked[-1], PartGiven("Brisa", "", "1"))
            case 2:
                kitchen.clock.move(days=-2)
        kitchen.clock.move(days=draw.choice((1, 7, 30)))
    return those


def random_check(kitchen: Kitchen, draw: Random, bath: str, one: str, at: str) -> tuple[str, str]:
    """Its id and its number."""
    dial, right = kitchen.row(one).type == DIAL, 0 if at == "ice_point" else 100
    off = draw.gauss(0, 1.5 if dial else 0.6)
    shown = f"{right + off:.0f} C" if dial else f"{right + off:.1f} C"
    shown = shown.replace("-0 C", "0 C")
    row = kitchen.key(bath, one, shown)
    if not row.recorded:
        row = kitchen.key(bath, one, shown, shown, check=row.check)
    return row.check, kitchen.last("check_recorded").number
