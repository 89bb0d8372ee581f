"""Tracking: events, steps, forecasts, one more check, and what must hold whatever the numbers.

Checked against formulas written out beside each test and scipy; `test_drift_outside` holds the published values.
"""

from dataclasses import replace
from itertools import pairwise
from math import inf, sqrt

import numpy as np
import pytest
import scipy.stats
from hypothesis import given, settings
from hypothesis import strategies as st

from registry.compute.drift import (
    Event,
    Observation,
    Parameters,
    Predicted,
    Track,
    before,
    extend,
    passes_level_on,
    probability_out,
    track,
)
from registry.compute.drift.filter import in_order
from registry.compute.drift.tracking import mixed

MODEL = Parameters(
    offset_walk=0.02,
    rate_mean=0.001,
    rate_spread=0.001,
    rate_walk=3e-5,
    slope_spread=0.003,
    offset_spread=0.4,
    same_bath=0.5,
)


def checks(count: int, seed: int = 1, u: float = 0.1, step: float = 0.0, gap: float = 7.0) -> list[Observation]:
    """Weekly checks of a thermometer that stays at 0.2 °C."""
    draw = np.random.default_rng(seed)
    shown = 0.2 + draw.normal(0, u, count)
    shown = np.round(shown / step) * step if step else shown
    return [Observation(n * gap, 0.0, float(offset), u, step) for n, offset in enumerate(shown)]


# What events do.


def test_an_adjustment_moves_the_offset_but_not_the_slope() -> None:
    seen = [*checks(5), Observation(28.0, 60.0, 0.8, 0.1)]
    before = track(seen, [], MODEL)
    after = extend(before, Event(30.0, "adjusted", as_left=0.05, u=0.12))
    # No reading as found in that bath: the offset is what was read, its variance the reading's.
    assert after.now.at(0.0) == Predicted(pytest.approx(0.05), pytest.approx(0.12))
    assert after.now.state.slope == pytest.approx(before.predict(30.0).offset * 0 + before.now.state.slope)
    assert after.now.state.ss == pytest.approx(before.now.state.ss)
    assert after.rate.per_day == pytest.approx(before.rate.per_day)


def test_an_adjustment_at_a_hot_point_sets_the_offset_there() -> None:
    before = track([*checks(5), Observation(28.0, 60.0, 0.8, 0.1)], [], MODEL)
    after = extend(before, Event(30.0, "adjusted", as_left=0.1, u=0.12, temperature=60.0))
    assert after.now.at(60.0) == Predicted(pytest.approx(0.1), pytest.approx(0.12))
    assert after.now.at(0.0).sd > 0.12  # away from it the slope counts


def test_the_bath_that_misled_an_adjustment_is_known_from_as_found() -> None:
    # Written out as one joint normal distribution: offset before, error as found, error as left (correlated).
    u, same = 0.2, 0.6
    model = replace(MODEL, same_bath=same, false_steps_a_year=0.0)
    before = track(checks(6), [], model)
    prior = before.predict(40.0)
    shown, left = round(prior.offset + 2.5 * u, 3), 0.1
    adjusted = Event(40.0, "adjusted", as_left=left, u=u)
    after = extend(extend(before, Observation(40.0, 0.0, shown, u)), adjusted)
    covariance = np.array([[prior.sd**2, 0, 0], [0, u**2, same * u**2], [0, same * u**2, u**2]])
    looks = np.array([1.0, 1.0, 0.0])  # as found shows offset and its error
    gain = covariance @ looks / (looks @ covariance @ looks)
    mean = np.array([prior.offset, 0, 0]) + gain * (shown - prior.offset)
    left_over = covariance - np.outer(gain, looks @ covariance)
    assert after.now.at(0.0).offset == pytest.approx(left - mean[2], rel=1e-9)
    assert after.now.at(0.0).sd == pytest.approx(sqrt(left_over[2, 2]), rel=1e-9)


def test_as_found_too_far_off_tells_nothing_of_the_bath() -> None:
    """One that reads 1.6 °C beside its history was dropped or has failed: its bath need not be off for that."""
    before = track(checks(6), [], replace(MODEL, same_bath=0.6, false_steps_a_year=0.0))
    after = extend(extend(before, Observation(40.0, 0.0, 1.6, 0.12)), Event(40.0, "adjusted", as_left=0.0, u=0.12))
    assert after.now.at(0.0) == Predicted(pytest.approx(0.0), pytest.approx(0.12))


def test_an_incident_widens_by_what_incidents_do() -> None:
    before = track(checks(5), [], MODEL)
    after = extend(before, Event(28.0, "incident"))
    widened = before.now.at(0.0).sd ** 2 + MODEL.step_chance * MODEL.step_spread**2
    assert after.now.at(0.0) == Predicted(before.now.at(0.0).offset, pytest.approx(sqrt(widened)))


def test_a_changed_sensor_starts_with_the_types_spread() -> None:
    after = extend(track(checks(5), [], MODEL), Event(40.0, "sensor_changed"))
    assert after.now.at(0.0) == Predicted(0.0, pytest.approx(MODEL.offset_spread))
    assert after.rate.per_day == MODEL.rate_mean
    assert after.now.at(100.0).sd == pytest.approx(sqrt(0.4**2 + 0.3**2))


def test_a_new_sensor_says_nothing_of_the_old_one() -> None:
    old = track(checks(5), [], MODEL)
    later = [replace(one, at_days=one.at_days + 50, offset=3.0) for one in checks(5)]
    both = track([*checks(5), *later], [Event(45.0, "sensor_changed")], MODEL)
    for one, other in zip(old.smoothed, both.smoothed[:5], strict=True):
        assert one.state == pytest.approx(other.state)
    assert both.now.at(0.0).offset == pytest.approx(3.0, abs=0.1)


def test_nothing_is_known_of_a_thermometer_never_checked() -> None:
    empty = track([], [], MODEL)
    assert empty.predict(0.0).sd == inf
    assert probability_out(empty, 0.0, tolerance=1.0) == 1.0
    assert (empty.filtered, empty.smoothed, empty.steps, empty.loglik) == ((), (), (), 0.0)


def test_what_is_not_assumed_is_not_known_before_it_is_measured() -> None:
    free = Parameters(offset_walk=0.02, rate_spread=inf, slope_spread=inf)
    one = track([Observation(0.0, 0.0, 0.1, 0.1)], [], free)
    assert one.predict(0.0, 0.0).sd == pytest.approx(0.1)
    assert one.predict(0.0, 60.0).sd == inf  # the slope
    assert one.predict(7.0, 0.0).sd == inf  # the rate
    assert probability_out(one, 7.0, tolerance=1.0) == 1.0
    assert one.smoothed[0].at(60.0).sd == inf
    hot = extend(extend(one, Observation(1.0, 60.0, 0.1, 0.1)), Observation(2.0, 0.0, 0.1, 0.1))
    assert hot.predict(7.0, 60.0).sd < 5.0


def test_a_noise_scale_is_the_same_as_a_wider_budget() -> None:
    scaled = track(checks(9, u=0.1), [], replace(MODEL, noise_scale=1.5))
    wider = track([replace(one, u_new=one.u_new * 1.5) for one in checks(9, u=0.1)], [], MODEL)
    assert scaled.now.state == pytest.approx(wider.now.state)


def test_a_fine_step_adds_its_variance_and_a_coarse_one_is_an_interval() -> None:
    fine = track([Observation(0.0, 0.0, 0.2, 0.1, step=0.2)], [], MODEL)
    assert fine.now.at(0.0).sd == pytest.approx(sqrt(0.1**2 + 0.2**2 / 12))
    same = [Observation(float(n), 0.0, 0.5, 0.05, step=0.5) for n in range(40)]
    sure = track(same, [], replace(MODEL, offset_walk=0.0, rate_spread=0.0, rate_walk=0.0, rate_mean=0.0))
    as_numbers = track([replace(one, u_new=sqrt(0.05**2 + 0.5**2 / 12), step=0.0) for one in same], [], sure.parameters)
    # Forty equal readings of a coarse display leave its interval, not its middle to a fortieth.
    assert as_numbers.now.at(0.0).sd < 0.03
    assert 0.05 < sure.now.at(0.0).sd < 0.5 / sqrt(12) + 0.05


# One more check.


def eventful() -> list[Observation | Event]:
    """Two years with everything that happens, an unreported step of 1.5 °C among it."""
    seen = checks(60, step=0.1)
    seen = [replace(one, offset=one.offset + 1.5 if n >= 30 else one.offset) for n, one in enumerate(seen)]
    seen += [Observation(n * 50.0 + 3, 60.0, 0.3, 0.1, 0.1) for n in range(3)]
    events = [
        Event(100.0, "incident"),
        Event(252.0, "adjusted", as_left=0.0, u=0.1, step=0.1),
        Event(301.0, "sensor_changed"),
    ]
    return in_order(seen, events)


@pytest.mark.parametrize("others", [(), (0.01, 0.05)])
def test_one_by_one_equals_all_at_once(others: tuple[float, ...]) -> None:
    model = replace(MODEL, others=tuple(replace(MODEL, offset_walk=walk) for walk in others))
    items = eventful()
    grown = Track(model, track([], [], model).paths)
    for item in items:
        grown = extend(grown, item)
    whole = track(
        [one for one in items if isinstance(one, Observation)], [one for one in items if isinstance(one, Event)], model
    )
    assert grown == whole
    assert whole.found
    assert grown.smoothed == whole.smoothed


def test_an_earlier_check_is_refused() -> None:
    followed = track(checks(3), [], MODEL)
    with pytest.raises(ValueError, match="before the last one"):
        extend(followed, Observation(13.9, 0.0, 0.1, 0.1))
    with pytest.raises(ValueError, match="predict from the last check"):
        followed.predict(13.9)
    with pytest.raises(ValueError, match="from the last check"):
        probability_out(followed, 13.9, 1.0)


# Steps.


def test_an_unreported_step_is_found_with_its_size_and_place() -> None:
    seen = checks(30)
    seen = [replace(one, offset=one.offset + 1.0 if n >= 20 else one.offset) for n, one in enumerate(seen)]
    (step,) = track(seen, [], MODEL).steps
    assert step.at_days == 140.0
    assert step.size == pytest.approx(1.0, abs=3 * step.sd)
    assert step.found
    assert not step.reported
    assert step.probability > 0.99


def test_the_offset_follows_a_step_and_the_past_does_not() -> None:
    seen = checks(30)
    seen = [replace(one, offset=one.offset + 1.0 if n >= 20 else one.offset) for n, one in enumerate(seen)]
    followed = track(seen, [], MODEL)
    assert followed.filtered[22].at(0.0).offset == pytest.approx(1.2, abs=0.15)
    assert followed.smoothed[19].at(0.0).offset == pytest.approx(0.2, abs=0.15)
    assert followed.smoothed[20].at(0.0).offset == pytest.approx(1.2, abs=0.15)


def test_one_odd_reading_is_no_step() -> None:
    seen = checks(30)
    seen[20] = replace(seen[20], offset=0.65)
    assert track(seen, [], MODEL).steps == ()


def test_a_gross_reading_is_forgotten_within_three_checks() -> None:
    seen = checks(30)
    seen[20] = replace(seen[20], offset=3.0)
    after = track(seen, [], MODEL).filtered[23].at(0.0)
    assert abs(after.offset - 0.2) < 2 * after.sd


def test_no_steps_are_looked_for_when_none_are_wanted() -> None:
    seen = [replace(one, offset=5.0 if n >= 20 else one.offset) for n, one in enumerate(checks(30))]
    assert track(seen, [], replace(MODEL, false_steps_a_year=0.0)).steps == ()


def test_after_an_incident_three_readings_say_whether_it_stepped() -> None:
    # Where the offset was known well and nothing walks, the mean of three against what was expected.
    still = replace(MODEL, offset_walk=1e-6, rate_spread=1e-9, rate_walk=0.0, rate_mean=0.0)
    seen = checks(200, gap=1.0)
    after = [Observation(201.0 + n, 0.0, offset, 0.1) for n, offset in enumerate((0.5, 0.2, 0.35))]
    followed = track([*seen, *after, Observation(210.0, 0.0, 9.0, 0.1)], [Event(200.0, "incident")], still)
    (step,) = [one for one in followed.steps if one.reported]
    expected = np.mean([one.offset for one in seen])
    z = (np.mean([0.5, 0.2, 0.35]) - expected) / sqrt(0.1**2 / 3 + 0.1**2 / 200)
    assert step.size == pytest.approx(np.mean([0.5, 0.2, 0.35]) - expected, abs=1e-4)
    assert step.p_value == pytest.approx(2 * scipy.stats.norm.sf(abs(z)), rel=1e-3)
    assert step.found == (step.p_value < 0.05)
    # Bayes: a step of this spread as likely as the model says, against none, on that mean.
    sd = step.sd
    with_step = scipy.stats.norm.pdf(step.size, 0, sqrt(sd**2 + MODEL.step_spread**2)) * MODEL.step_chance
    without = scipy.stats.norm.pdf(step.size, 0, sd) * (1 - MODEL.step_chance)
    assert step.probability == pytest.approx(with_step / (with_step + without), rel=1e-9)


def test_an_incident_before_the_first_check_says_nothing() -> None:
    later = [replace(one, at_days=one.at_days + 10) for one in checks(5)]
    assert (
        track(later, [Event(0.0, "sensor_changed"), Event(1.0, "incident")], replace(MODEL, offset_spread=inf)).steps
        == ()
    )
    assert track(later, [Event(1.0, "incident")], MODEL).steps == ()


def test_an_incident_with_no_check_since_says_nothing_yet() -> None:
    assert extend(track(checks(5), [], MODEL), Event(30.0, "incident")).steps == ()


# Forecast.


def test_probability_out_is_the_normal_tail_beyond_both_limits() -> None:
    followed = track(checks(10), [], MODEL)
    ahead = followed.predict(120.0, 75.0).with_shared(0.12)
    normal = scipy.stats.norm(ahead.offset, ahead.sd)
    expected = normal.cdf(-0.9) + normal.sf(0.9)
    assert probability_out(followed, 120.0, 0.9, 75.0, shared_u=0.12) == pytest.approx(expected, rel=1e-9)


def test_the_day_the_level_is_passed_is_the_first() -> None:
    followed = track(checks(10), [], MODEL)
    day = passes_level_on(followed, tolerance=1.0)
    assert day is not None
    assert probability_out(followed, day, 1.0) >= 0.05 > probability_out(followed, day - 1, 1.0)
    assert passes_level_on(followed, tolerance=1.0, level=0.2) > day
    assert passes_level_on(followed, tolerance=1.0, shared_u=0.2) < day


def test_one_that_is_out_already_passes_today_and_a_still_one_never() -> None:
    out = track([replace(one, offset=1.4) for one in checks(10)], [], MODEL)
    assert passes_level_on(out, tolerance=1.0) == out.now.at_days
    still = replace(MODEL, offset_walk=1e-6, rate_walk=0.0, rate_spread=1e-8, rate_mean=0.0)
    assert passes_level_on(track(checks(10), [], still), tolerance=1.0) is None


def test_uncertain_parameters_count_in_bands_and_probabilities() -> None:
    walks = (0.005, 0.08)
    others = tuple(replace(MODEL, offset_walk=walk) for walk in walks)
    followed = track(checks(10), [], replace(MODEL, others=others))
    singly = [track(checks(10), [], model) for model in others]
    ahead = [one.predict(91.0) for one in singly]
    mean = np.mean([one.offset for one in ahead])
    variance = np.mean([one.sd**2 for one in ahead]) + np.var([one.offset for one in ahead])
    assert followed.predict(91.0) == Predicted(pytest.approx(mean), pytest.approx(sqrt(variance)))
    chances = [probability_out(one, 91.0, 1.0) for one in singly]
    assert probability_out(followed, 91.0, 1.0) == pytest.approx(np.mean(chances))


def test_a_mixture_has_the_mean_and_covariance_of_its_samples() -> None:
    # numpy's own covariance of states that are certain.
    points = np.random.default_rng(3).normal(size=(5, 3))
    states = [
        track([], [], MODEL).now.state._replace(offset=a, slope=b, rate=c, oo=0, ss=0, rr=0) for a, b, c in points
    ]
    found = mixed(states)
    np.testing.assert_allclose(found[:3], points.mean(axis=0))
    np.testing.assert_allclose(found[3:], np.cov(points.T, bias=True)[np.triu_indices(3)])


# Whatever the numbers.

number = st.floats(-2, 2).map(lambda value: round(value, 2))
seen = st.builds(
    Observation,
    at_days=st.floats(0, 400).map(lambda day: round(day, 3)),
    temperature=st.sampled_from([0.0, 60.0, 99.0]),
    offset=number,
    u_new=st.floats(0.03, 0.5),
    step=st.sampled_from([0.0, 0.1, 0.5, 1.0]),
)
days = st.floats(0, 400)
left = st.builds(Event, days, st.just("adjusted"), as_left=number, u=st.floats(0.03, 0.5), step=st.just(0.1))
happened = st.one_of(left, st.builds(Event, days, st.sampled_from(["incident", "sensor_changed"])))
lives = st.tuples(
    st.lists(seen, min_size=1, max_size=15, unique_by=lambda one: one.at_days), st.lists(happened, max_size=4)
)


@settings(max_examples=40, deadline=None)
@given(lives, st.randoms(use_true_random=False))
def test_the_order_in_which_they_are_told_does_not_matter(life: tuple[list, list], shuffle) -> None:
    observations, events = life
    events = list({event.at_days: event for event in events}.values())
    mixed_up = observations.copy()
    shuffle.shuffle(mixed_up)
    assert track(mixed_up, events[::-1], MODEL) == track(observations, events, MODEL)


@settings(max_examples=40, deadline=None)
@given(lives, st.sampled_from([2.0, 1024.0]))
def test_another_unit_of_temperature_scales_everything(life: tuple[list, list], unit: float) -> None:
    observations, events = life

    def scaled(one: Observation | Event, names: str) -> Observation | Event:
        return replace(one, **{name: getattr(one, name) * unit for name in names.split()})

    scaled_seen = [scaled(one, "offset u_new step temperature") for one in observations]
    scaled_events = [scaled(one, "as_left u step") if one.kind == "adjusted" else one for one in events]
    in_degrees = ("offset_walk", "rate_mean", "rate_spread", "rate_walk", "offset_spread", "step_spread")
    model = replace(MODEL, **{name: getattr(MODEL, name) * unit for name in in_degrees})
    ours, theirs = track(observations, events, MODEL), track(scaled_seen, scaled_events, model)
    assert theirs.now.state.offset == pytest.approx(unit * ours.now.state.offset, rel=1e-6, abs=1e-9)
    assert theirs.now.at(0.0).sd == pytest.approx(unit * ours.now.at(0.0).sd, rel=1e-6)
    assert theirs.now.state.slope == pytest.approx(ours.now.state.slope, rel=1e-6, abs=1e-9)
    day = ours.now.at_days + 28
    assert probability_out(theirs, day, unit) == pytest.approx(probability_out(ours, day, 1.0), rel=1e-6)


@settings(max_examples=60, deadline=None)
@given(lives)
def test_variances_stay_variances_and_the_past_is_no_less_certain_for_knowing_more(life: tuple[list, list]) -> None:
    observations, events = life
    followed = track(observations, events, MODEL)
    for filtered, smoothed in zip(followed.filtered, followed.smoothed, strict=True):
        for temperature in (0.0, 75.0):
            assert 0 < smoothed.at(temperature).sd <= filtered.at(temperature).sd * (1 + 1e-7)
    rows = [row.before for path in followed.paths for row in path.rows]
    assert all(min(row.oo, row.ss, row.rr) >= 0 for row in rows)


@settings(max_examples=40, deadline=None)
@given(lives)
def test_a_check_that_says_nothing_changes_nothing(life: tuple[list, list]) -> None:
    observations, events = life
    quiet = replace(MODEL, false_steps_a_year=0.0)
    told = track(observations, events, quiet)
    deaf = Observation(told.now.at_days + 1, 0.0, 50.0, 1e9)
    without, with_it = told.predict(deaf.at_days + 7), extend(told, deaf).predict(deaf.at_days + 7)
    assert with_it.offset == pytest.approx(without.offset, abs=1e-6)
    assert with_it.sd == pytest.approx(without.sd, rel=1e-6)


def test_time_may_begin_anywhere() -> None:
    later = [replace(one, at_days=one.at_days + 20000) for one in checks(9)]
    assert track(later, [], MODEL).now.state == pytest.approx(track(checks(9), [], MODEL).now.state)


def test_the_further_ahead_the_less_is_known() -> None:
    followed = track(checks(9), [], MODEL)
    ahead = [followed.predict(60.0 + days).sd for days in (0, 7, 28, 100, 400)]
    assert all(sooner < later for sooner, later in pairwise(ahead))


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: Observation(float("nan"), 0, 0, 0.1), "at_days must be a finite number"),
        (lambda: Observation(0, 0, float("inf"), 0.1), "offset must be a finite number"),
        (lambda: Observation(0, 0, 0, 0.0), "u_new must be more than 0"),
        (lambda: Observation(0, 0, 0, 0.1, -1.0), "step must be a number that is not negative"),
        (lambda: Event(0, "dropped"), "no kind of event"),
        (lambda: Event(0, "adjusted"), "needs as_left"),
        (lambda: Event(0, "adjusted", float("nan"), 0.1), "as_left must be a finite number"),
        (lambda: Parameters(-1.0), "offset_walk must be a number that is not negative"),
        (lambda: Parameters(0.1, noise_scale=0.0), "noise_scale must be more than 0"),
        (lambda: Parameters(0.1, step_chance=1.5), "shares between 0 and 1"),
        (lambda: probability_out(track(checks(2), [], MODEL), 7, 0.0), "tolerance must be more than 0"),
    ],
)
def test_refusals_say_what_is_wrong(make, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        make()


def test_as_it_was_before_a_time() -> None:
    parameters = Parameters(offset_walk=0.02, rate_spread=0.001, slope_spread=0.003)
    checks = [Observation(7.0 * week, 0.0, 0.01 * week, u_new=0.1, step=0.1) for week in range(10)]
    whole = track(checks, [Event(20.0, "incident")], parameters)
    then = before(whole, 42.0)
    assert then.now == track(checks[:6], [Event(20.0, "incident")], parameters).now
    assert before(whole, 0.0).items == []
    assert before(whole, 1e6) == whole
