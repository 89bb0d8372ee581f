"""The diagnosis of a bath: what it says in plain cases, what changes nothing, and what it refuses."""

from dataclasses import replace
from math import inf, isfinite, nan
from statistics import NormalDist

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from registry.compute.bath import BathPrior, Diagnosis, Habit, InBath, Tails, boiling, diagnose, flask, ice
from registry.compute.bath.records import BathError


def probe(reading: float, sd: float = 0.1, **more: object) -> InBath:
    return InBath(**{"predicted": 0.0, "sd": sd, "reading": reading, "u_new": 0.06, "half_width": 0.05} | more)


def dial(reading: float, **more: object) -> InBath:
    return probe(reading, 0.5, **({"u_new": 0.15, "half_width": 0.5} | more))


# --- the plain cases -------------------------------------------------------------------------------------------


def test_all_high_by_as_much_is_the_bath() -> None:
    found = diagnose([probe(0.7), probe(0.8), probe(0.7), dial(1.0)], ice())
    assert (found.verdict, found.wanted, found.disagree) == ("bad", ("remake",), ())
    assert found.error.mean == pytest.approx(0.72, abs=0.05)
    assert found.error.low < found.error.median < found.error.high
    assert all(abs(one.offset) < 0.1 for one in found.remaining[:3])


def test_one_high_among_steady_ones_is_the_thermometer() -> None:
    found = diagnose([probe(0.0), probe(2.0), probe(0.1), probe(0.0)], ice())
    assert (found.verdict, found.wanted, found.disagree) == ("good", (), (1,))
    dropped = found.remaining[1]
    assert dropped.out
    assert dropped.offset == pytest.approx(2.0, abs=0.1)


def test_one_that_always_reads_high_is_not_held_against_the_bath() -> None:
    found = diagnose([probe(0.8, predicted=0.8), probe(-0.4, predicted=-0.4), probe(0.3, predicted=0.3)], ice())
    assert found.verdict == "good"
    assert [one.offset for one in found.remaining] == pytest.approx([0.8, -0.4, 0.3], abs=0.05)


def test_a_salted_bath_errs_cold() -> None:
    assert diagnose([probe(-1.0), probe(-0.9), probe(-1.1)], ice()).error.mean == pytest.approx(-1.0, abs=0.1)


def test_out_even_in_a_bad_bath_and_not() -> None:
    # The bath reads 1 high: whoever shows 1.2 has 0.2 left, whoever shows 3.0 has 2.0, and -0.9 hides -1.9.
    found = diagnose([probe(1.0), probe(1.0), probe(1.1), probe(1.2), probe(3.0, 0.4), probe(-0.9, 0.4)], ice())
    assert found.verdict == "bad"
    assert [one.out for one in found.remaining] == [False, False, False, False, True, True]


def test_one_far_out_fails_and_one_at_its_limit_does_not_yet() -> None:
    found = diagnose([probe(0.0), probe(0.0), dial(1.0, predicted=1.0), dial(3.0)], ice())
    at_limit, far = found.remaining[2:]
    assert 0.3 < at_limit.probability_out < 0.7
    assert not at_limit.out
    assert far.out


@pytest.mark.parametrize(("reading", "out"), [(1.10, False), (1.18, False), (1.26, True), (-1.26, True)])
def test_out_is_two_standard_deviations_beyond_the_tolerance(reading: float, out: bool) -> None:
    # Nothing known of it, in a bath known to 0.01: the offset is the reading, with its noise of 0.1.
    alone = InBath(0.0, inf, reading, 0.1, basis="none")
    found = diagnose([alone], BathPrior(0.01, bad_share=0.0)).remaining[0]
    assert found.probability_out == pytest.approx(NormalDist(1, 0.1005).cdf(abs(reading)), abs=1e-3)
    assert found.out is out


# --- when it is judged -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("thermometers", "verdict", "counted"),
    [
        ([], "too_few", (0, 0)),
        ([probe(0.0)], "too_few", (1, 1)),
        ([probe(0.0), probe(0.0)], "good", (2, 2)),
        ([probe(0.0), probe(0.0, 0.2501)], "too_few", (2, 1)),
        ([probe(0.0), probe(0.0, 0.25)], "good", (2, 2)),
        ([probe(0.0), probe(0.0, incident=True)], "too_few", (2, 1)),
        ([probe(0.0), probe(0.0, basis="none")], "too_few", (1, 1)),
        ([probe(0.0), probe(0.0, 0.3), probe(0.1, 0.3)], "good", (3, 1)),
        ([probe(1.0), probe(1.0)], "bad", (2, 2)),
    ],
)
def test_two_trusted_or_three_readings(thermometers: list[InBath], verdict: str, counted: tuple[int, int]) -> None:
    found = diagnose(thermometers, ice())
    assert (found.verdict, (found.readings, found.trusted)) == (verdict, counted)


def test_what_would_decide() -> None:
    assert diagnose([probe(0.0)], ice()).wanted == ("trusted", "readings")
    assert diagnose([dial(1.0), dial(1.0), dial(0.0)], ice()).wanted == ("trusted",)
    torn = diagnose([probe(0.4), probe(0.5, 0.2)], ice())  # nearly as far off as a good bath may be
    assert (torn.verdict, torn.wanted) == ("too_few", ("trusted", "readings"))


def test_who_disagrees_is_read_again_first() -> None:
    found = diagnose([probe(0.4, 0.3), dial(1.0), dial(5.0)], ice())
    assert (found.verdict, found.disagree, found.wanted) == ("too_few", (2,), ("read_again", "trusted"))


def test_with_nobody_it_knows_what_it_knew() -> None:
    found = diagnose([], ice())
    assert found.remaining == ()
    assert found.probability_bad == pytest.approx(0.85 * 0.0027 + 0.15 * 0.6977, abs=2e-4)  # beyond 3 u; exp(-0.36)


# --- flags -----------------------------------------------------------------------------------------------------


def test_one_set_to_this_bath_is_no_evidence_of_it() -> None:
    others = [probe(0.1), probe(0.2)]
    without, beside = diagnose(others, ice()), diagnose([*others, probe(3.0, basis="none")], ice())
    assert beside.error.mean == pytest.approx(without.error.mean, abs=1e-9)
    assert beside.remaining[2].offset == pytest.approx(3.0 - without.error.mean, abs=0.01)
    assert beside.remaining[2].out
    assert beside.disagree == ()


def test_a_known_habit_is_seen_only_through_what_it_did_not_shape() -> None:
    # All read as their history has it, and their history is of baths that were 0.7 off.
    as_ever = [probe(0.7, predicted=0.7), probe(0.6, predicted=0.6), probe(0.8, predicted=0.8)]
    assert diagnose(as_ever, ice()).verdict == "good"
    found = diagnose(as_ever, ice(), Habit(0.7, 0.1))
    assert found.verdict == "bad"
    assert [one.offset for one in found.remaining] == pytest.approx([0.0, -0.1, 0.1], abs=0.02)


def test_a_new_one_speaks_of_the_habit_too() -> None:
    unsure = Habit(0.0, 0.3)
    as_ever = [probe(0.7, predicted=0.7), probe(0.7, predicted=0.7)]
    certified = probe(0.7, 0.05, basis="elsewhere")
    alone, beside = diagnose(as_ever, ice(), unsure), diagnose([*as_ever, certified], ice(), unsure)
    assert abs(alone.error.mean) < 0.01
    assert beside.error.mean == pytest.approx(0.6, abs=0.1)
    assert beside.remaining[0].offset == pytest.approx(0.1, abs=0.1)


def test_where_only_the_habit_says_so_it_takes_two_to_one() -> None:
    calm = [probe(0.0), probe(0.0), probe(0.0)]
    for mean, verdict in ((0.30, "good"), (0.39, "good"), (0.48, "bad")):
        found = diagnose(calm, ice(), Habit(mean, 0.15))
        assert (found.verdict, found.probability_bad > 0.5) == (verdict, mean > 0.36)


def test_a_bath_made_well_at_a_site_that_makes_bad_ones_is_not_bad() -> None:
    better_than_ever = [probe(0.0, predicted=0.7), probe(0.1, predicted=0.8), probe(-0.1, predicted=0.6)]
    found = diagnose(better_than_ever, ice(), Habit(0.7, 0.05))
    assert found.verdict == "good"
    assert found.error.mean == pytest.approx(0.0, abs=0.05)


def test_a_poorly_known_habit_makes_no_bath_wait_but_widens_what_remains() -> None:
    calm = [probe(0.0), probe(0.1), probe(0.0)]
    sure, unsure = diagnose(calm, ice()), diagnose(calm, ice(), Habit(0.0, 0.25))
    assert (sure.verdict, unsure.verdict) == ("good", "good")
    assert unsure.error.sd > 0.25 > sure.error.sd
    assert unsure.remaining[0].sd == pytest.approx((sure.remaining[0].sd ** 2 + 0.25**2) ** 0.5, rel=1e-3)


def test_after_an_incident_its_reading_weighs_less() -> None:
    calm, dropped = probe(1.2, 0.3), probe(1.2, 0.3, incident=True)
    others = [probe(0.0, 0.3), probe(0.2, 0.3)]
    assert diagnose([*others, dropped], ice()).error.mean < diagnose([*others, calm], ice()).error.mean


def test_a_coarse_dial_moves_the_bath_less_than_a_fine_one() -> None:
    fine = diagnose([probe(1.0, 0.4)], flask(0.3)).error
    coarse = diagnose([probe(1.0, 0.4, half_width=0.5)], flask(0.3)).error
    assert coarse.mean < fine.mean


# --- what changes nothing --------------------------------------------------------------------------------------

readings = st.lists(
    st.builds(
        InBath,
        predicted=st.floats(-1, 1),
        sd=st.floats(0.03, 1.0),
        reading=st.floats(-3, 3),
        u_new=st.floats(0.03, 0.3),
        half_width=st.sampled_from([0.0, 0.05, 0.278, 0.5]),
        basis=st.sampled_from(["here", "elsewhere", "none"]),
        incident=st.booleans(),
    ),
    min_size=1,
    max_size=6,
)


def close(one: Diagnosis, other: Diagnosis) -> bool:
    return (one.error.mean, one.error.sd, one.probability_bad) == pytest.approx(
        (other.error.mean, other.error.sd, other.probability_bad), abs=1e-6
    )


@settings(max_examples=30, deadline=None)
@given(readings, st.randoms())
def test_the_order_does_not_matter(thermometers: list[InBath], shuffler: object) -> None:
    places = list(range(len(thermometers)))
    shuffler.shuffle(places)  # type: ignore[attr-defined]
    found = diagnose(thermometers, ice(), Habit(0.1, 0.1))
    again = diagnose([thermometers[place] for place in places], ice(), Habit(0.1, 0.1))
    assert close(found, again)
    assert [again.remaining[places.index(n)].offset for n in range(len(places))] == pytest.approx(
        [one.offset for one in found.remaining], abs=1e-6
    )


@settings(max_examples=30, deadline=None)
@given(readings)
def test_upside_down_all_is_upside_down(thermometers: list[InBath]) -> None:
    turned = [replace(one, predicted=-one.predicted, reading=-one.reading) for one in thermometers]
    found, other = diagnose(thermometers, flask(0.2), Habit(0.2, 0.1)), diagnose(turned, flask(0.2), Habit(-0.2, 0.1))
    assert other.error.mean == pytest.approx(-found.error.mean, abs=1e-6)
    assert other.probability_bad == pytest.approx(found.probability_bad, abs=1e-6)
    assert [-one.offset for one in other.remaining] == pytest.approx([one.offset for one in found.remaining], abs=1e-6)


@settings(max_examples=30, deadline=None)
@given(readings)
def test_probabilities_are_probabilities(thermometers: list[InBath]) -> None:
    found = diagnose(thermometers, boiling(0.36))
    shares = [found.probability_bad, *(one.probability_out for one in found.remaining)]
    shares += [one.disagreement for one in found.remaining]
    assert all(-1e-9 <= share <= 1 + 1e-9 for share in shares)
    assert all(one.sd > 0 and isfinite(one.offset) for one in found.remaining)


@pytest.mark.parametrize("far", [-200.0, 75.0, 200.0])
@pytest.mark.parametrize("count", [1, 12, 40])
def test_readings_that_cannot_be_give_numbers(far: float, count: int) -> None:
    found = diagnose([probe(far)] * count + [probe(0.0)] * 3, ice(), Habit(0.1, 0.2))
    assert all(map(isfinite, (found.error.mean, found.error.sd, found.probability_bad)))
    assert all(isfinite(one.offset) and one.probability_out <= 1 for one in found.remaining)


def test_one_typed_wrong_by_far_is_named_and_blames_nobody_else() -> None:
    found = diagnose([probe(32.0), probe(0.0), probe(0.1)], ice())  # °F typed as °C
    assert (found.verdict, found.disagree) == ("good", (0,))
    assert found.remaining[0].out


def test_one_known_exactly_is_no_trouble() -> None:
    found = diagnose([probe(0.1, 0.0), probe(0.1, 0.0)], ice())
    assert found.verdict == "good"
    assert found.remaining[0].offset == pytest.approx(0.0, abs=1e-4)


def test_nothing_known_of_one_is_no_trouble() -> None:
    found = diagnose([probe(0.0), probe(0.1), probe(0.7, inf)], ice())
    assert found.verdict == "good"
    assert found.remaining[2].offset == pytest.approx(0.65, abs=0.1)


# --- what is refused, and small things --------------------------------------------------------------------------


@pytest.mark.parametrize(
    "wrong",
    [
        {"reading": nan},
        {"reading": 201.0},
        {"predicted": inf},
        {"sd": -0.1},
        {"sd": nan},
        {"u_new": 0.0},
        {"u_new": inf},
        {"half_width": -1.0},
        {"tolerance": 0.0},
        {"basis": "adjusted"},
    ],
)
def test_a_thermometer_that_cannot_be_is_refused(wrong: dict[str, object]) -> None:
    with pytest.raises(ValueError, match=next(iter(wrong)) if "basis" not in wrong else "basis"):
        probe(**({"reading": 0.0} | wrong))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "wrong", [{"u": 0.0}, {"u": nan}, {"bad_share": 1.1}, {"warm_share": -0.1}, {"warm": inf}, {"cold": 0.0}]
)
def test_a_prior_that_cannot_be_is_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(ValueError, match=next(iter(wrong))):
        BathPrior(**({"u": 0.12} | wrong))


@pytest.mark.parametrize("wrong", [{"share": 0.999}, {"after_incident": 1.0}, {"broken": -0.1}, {"spread": nan}])
def test_tails_that_cannot_be_are_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(ValueError):
        Tails(**wrong)


def test_a_habit_that_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="sd"):
        Habit(0.0, -0.1)


@pytest.mark.parametrize(("u", "allowed"), [(0.06, 0.3), (0.12, 0.36), (0.29, 0.87), (0.36, 0.9), (2.0, 0.9)])
def test_what_is_allowed(u: float, allowed: float) -> None:
    assert BathPrior(u).allowed == pytest.approx(allowed)


def test_ice_errs_warm_and_boiling_low() -> None:
    one = [probe(0.6, 0.4)]
    mirrored = [probe(-0.6, 0.4)]
    assert diagnose(one, ice()).probability_bad > diagnose(mirrored, ice()).probability_bad
    assert diagnose(mirrored, boiling(0.2)).probability_bad > diagnose(one, boiling(0.2)).probability_bad


def test_what_a_suspect_bath_adds() -> None:
    assert BathError(0.3, 0.4, 0, 0, 0).added_u == pytest.approx(0.5)


@pytest.mark.parametrize(("habit", "beyond"), [(Habit(0.5, 0.0), 1.0), (Habit(0.3, 0.0), 0.0), (Habit(0.36, 0.1), 0.5)])
def test_chance_that_a_habit_is_beyond(habit: Habit, beyond: float) -> None:
    assert habit.probability_beyond(0.36) == pytest.approx(beyond, abs=1e-6)
