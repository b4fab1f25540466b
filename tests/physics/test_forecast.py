"""Forecasts: against a brute-force answer of the same question, and what they may and may not say.

All readings here are invented.
"""

import subprocess
import sys
from dataclasses import replace
from itertools import pairwise
from math import cos, exp, inf, isfinite, log, pi, sin, tan
from random import Random
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from haccp.physics import forecast_prior
from haccp.physics.forecast import (
    Arrival,
    Forecast,
    Goal,
    Interval,
    Look,
    Outlook,
    Start,
    forecast,
    next_look,
    outlook,
)
from haccp.physics.forecast_curve import HOT, CurveShape, clock, unclock
from haccp.physics.forecast_prior import BIAS_SD, Nature, Surroundings, kitchens
from haccp.physics.forecast_readings import Point

LEVELS = (Goal(70.0, 120.0), Goal(41.0, 360.0))
AIR = Surroundings.measured(38.0)
START = Start(0.0, 0.0)
COOLING = ((0.0, 135.0), (30.0, 112.0), (60.0, 95.0))


def forecast_of(
    *readings: Point,
    food: Nature = Nature.UNKNOWN,
    air: Surroundings = AIR,
    start: Start = START,
    levels: tuple[Goal, ...] = LEVELS,
) -> Forecast:
    found = forecast(readings, air, food, start, levels)
    assert found is not None
    return found


def chance_of(found: Forecast, level: int = 0) -> float:
    chance = found.arrivals[level].chance
    assert chance is not None
    return chance


def a_curve(**changed: Any) -> CurveShape:
    plain = CurveShape(
        weight=1.0,
        rate=0.6 / 60,
        lag=0.15,
        order=3,
        slow=0.5,
        power=1.5,
        air=38.0,
        bias=0.0,
        start=0.95,
        drift=0.0,
        recovery=1 / 80,
    )
    return plain._replace(**changed)


# The curve.


@pytest.mark.parametrize("biot", [0.3, 1.0, 3.0, 10.0, 100.0])
def test_the_shoulder_of_order_three_follows_the_centre_of_a_slab(biot: float) -> None:
    """Against the exact series, C and z from their own equation z tan z = Bi."""
    terms = []
    for n in range(40):
        low, high = n * pi, n * pi + pi / 2
        for _ in range(80):
            root = (low + high) / 2
            low, high = (root, high) if root * tan(root) < biot else (low, root)
        terms.append((2 * sin(low) / (low + sin(low) * cos(low)), low * low))
    first, slowest = terms[0]
    for x in (0.02 * i for i in range(1, 150)):
        exact = sum(weight * exp(-root * x / slowest) for weight, root in terms)
        u, _ = clock(x, log(first), 3)
        assert exp(-u) == pytest.approx(exact, abs=0.007)


@pytest.mark.parametrize("slow", [0.2, 0.6, 0.999])
@pytest.mark.parametrize("power", [1.0, 2.0])
def test_the_slowing_curve_solves_its_equation(slow: float, power: float) -> None:
    """Against Runge and Kutta's method on dθ/dt = -k θ (s + (1 - s) θ^p), with no lag to speak of."""
    curve = a_curve(lag=1e-6, slow=slow, power=power)

    def slope(excess: float) -> float:
        to_power: float = excess**power
        return -curve.rate * excess * (slow + (1 - slow) * to_power)

    excess = curve.start
    for minute in range(400):
        assert curve.at(minute) == pytest.approx(curve.air + (HOT - curve.air) * excess, abs=0.01)
        a = slope(excess)
        b = slope(excess + a / 2)
        c = slope(excess + b / 2)
        excess += (a + 2 * b + 2 * c + slope(excess + c)) / 6


curves = st.builds(
    a_curve,
    rate=st.floats(0.05 / 60, 3 / 60),
    lag=st.floats(1e-3, 0.4),
    order=st.sampled_from([1, 3]),
    slow=st.floats(0.18, 0.999),
    power=st.floats(1, 2),
    air=st.floats(28, 45),
    start=st.floats(0.5, 1.1),
    drift=st.floats(0, 14),
)


@given(curves, st.sampled_from([41.0, 70.0]))
def test_a_level_is_reached_where_the_curve_crosses_it(curve: CurveShape, level: float) -> None:
    minute = curve.reaches(level)
    if minute == inf:
        assert curve.air >= level or curve.at(5e4) > level
    else:
        assert curve.at(minute) == pytest.approx(level, abs=0.2) or minute == 0


@given(st.floats(0, 20), st.floats(1e-3, 0.5), st.sampled_from([1, 3]))
def test_the_clock_is_undone(x: float, lag: float, order: int) -> None:
    u, _ = clock(x, lag, order)
    again, _ = clock(unclock(u, lag, order), lag, order)
    assert again == pytest.approx(u, abs=1e-4 * (1 + u))


# The estimate.


def brute_force(readings: tuple[Point, ...], food: Nature, level: float) -> list[float]:
    """The 5, 50 and 95 % points by drawing 60,000 whole coolings from the prior at random and
    weighing each by its misses: no fit, no lattice, no Laplace."""
    rng = Random(1)
    rows = []
    (prior,) = forecast_prior.PUBLISHED[food]
    sd = forecast_prior.READING_SD[food]
    zero, first = readings[0]
    for _ in range(60_000):
        lag, slow = forecast_prior.shape(food, rng.gauss(0, 1), rng.gauss(0, 1))
        most, bend = forecast_prior._DRIFT
        quick, late = forecast_prior._RECOVERY
        air, bias = rng.gauss(AIR.value, AIR.sd), rng.gauss(0, BIAS_SD)
        begun = first - bias + rng.uniform(-5, 5)
        curve = CurveShape(
            weight=1.0,
            rate=exp(forecast_prior.rate_of(rng.gauss(0, 1))),
            lag=lag,
            order=prior.order,
            slow=slow,
            power=rng.uniform(*forecast_prior._POWER),
            air=air,
            bias=bias,
            start=(begun - air) / (HOT - air),
            drift=most * rng.random() ** bend,
            recovery=1 / (quick * (late / quick) ** rng.random()),
        )
        misses = 0.0
        for minute, shown in readings:
            misses += ((shown - curve.at(minute - zero) - bias) / sd) ** 2
            if misses > 30:
                break
        else:
            rows.append((curve.reaches(level), exp(-misses / 2)))
    rows.sort()
    points: list[float] = []
    so_far, whole = 0.0, sum(w for _, w in rows)
    for time, weight in rows:
        so_far += weight
        while len(points) < 3 and so_far >= (0.05, 0.5, 0.95)[len(points)] * whole:
            points.append(time)
    return points


@pytest.mark.parametrize("food", [Nature.OPEN_LIQUID, Nature.STIRRED])
@pytest.mark.parametrize(
    "readings", [COOLING, ((0.0, 136.0), (20.0, 126.0), (40.0, 119.0), (60.0, 111.0))]
)
def test_the_forecast_is_the_answer_of_bayes_theorem(
    readings: tuple[Point, ...], food: Nature
) -> None:
    at = forecast_of(*readings, food=food).arrivals[0].at
    expected = brute_force(readings, food, 70.0)
    assert at.middle == pytest.approx(expected[1], rel=0.03)
    assert at.low == pytest.approx(expected[0], rel=0.06)
    assert at.high == pytest.approx(expected[2], rel=0.06)


def test_no_forecast_from_one_reading_or_from_one_moment() -> None:
    assert forecast([(0.0, 135.0)], AIR, Nature.UNKNOWN, START, LEVELS) is None
    assert forecast([(0.0, 135.0), (2.0, 134.0)], AIR, Nature.UNKNOWN, START, LEVELS) is None


def test_the_same_readings_give_the_same_forecast_in_any_order_and_process() -> None:
    code = (
        "from tests.physics.test_forecast import *; "
        "print(repr(forecast_of(*reversed(COOLING)).arrivals))"
    )
    other = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert other.stdout.strip() == repr(forecast_of(*COOLING).arrivals)


def test_the_clock_may_begin_anywhere() -> None:
    later = forecast_of(*((t + 1000, f) for t, f in COOLING), start=Start(1000.0, 1000.0))
    for a, b in zip(later.arrivals, forecast_of(*COOLING).arrivals, strict=True):
        assert a.chance == pytest.approx(b.chance)
        assert a.at.middle == pytest.approx(1000 + b.at.middle)


def test_warmer_air_and_a_warmer_last_reading_make_the_food_later() -> None:
    for level in (0, 1):
        chances = [
            chance_of(forecast_of(*COOLING, air=Surroundings.measured(air)), level)
            for air in (30.0, 34.0, 38.0)
        ]
        assert chances == sorted(chances, reverse=True)
        times = [
            forecast_of(*COOLING[:2], (60.0, last)).arrivals[level].at.middle
            for last in (90.0, 93.0, 96.0)
        ]
        assert times == sorted(times)


def test_an_open_liquid_and_a_thick_food_slow_down_where_a_stirred_one_does_not() -> None:
    when = {food: forecast_of(*COOLING, food=food).arrivals[0].at.middle for food in Nature}
    assert when[Nature.OPEN_LIQUID] > when[Nature.UNKNOWN] > when[Nature.STIRRED]


def test_a_shoulder_is_not_taken_for_slow_cooling() -> None:
    """The centre of thick food: hardly any fall at first, so Newton's law would condemn it."""
    shoulder = ((0.0, 136.0), (20.0, 133.0), (40.0, 120.0), (60.0, 104.0))
    thick = forecast_of(*shoulder, food=Nature.THICK).arrivals[0].at.middle
    stirred = forecast_of(*shoulder, food=Nature.STIRRED).arrivals[0].at.middle
    assert thick < stirred


def test_air_that_may_be_too_warm_leaves_the_end_open() -> None:
    at = forecast_of(*COOLING, air=Surroundings.measured(40.0)).arrivals[1].at
    assert at.low < at.high == inf
    never = forecast_of(*COOLING, air=Surroundings.measured(60.0)).arrivals[1]
    assert never.at == Interval(inf, inf, inf) and never.chance == 0


def test_food_that_does_not_cool_is_forecast_without_fuss() -> None:
    rising = forecast_of((0.0, 100.0), (30.0, 104.0), (60.0, 109.0))
    assert rising.arrivals[0].chance == pytest.approx(0, abs=0.1)
    assert outlook(rising.arrivals[0]) is Outlook.UNLIKELY
    cold = forecast_of((0.0, 36.0), (60.0, 36.0))
    assert [outlook(a) for a in cold.arrivals] == [Outlook.REACHED, Outlook.REACHED]


def test_strange_readings_make_a_wide_forecast() -> None:
    smooth = forecast_of((0.0, 135.0), (20.0, 119.0), (40.0, 106.0), (60.0, 95.0)).arrivals[0].at
    jumpy = forecast_of((0.0, 135.0), (20.0, 108.0), (40.0, 117.0), (60.0, 95.0)).arrivals[0].at
    assert jumpy.high - jumpy.low > 2 * (smooth.high - smooth.low)


def test_a_level_that_was_read_lies_between_its_readings() -> None:
    found = forecast_of(*COOLING, (120.0, 72.0), (150.0, 62.0)).arrivals[0]
    assert found.reached
    assert 120 <= found.at.low <= found.at.high <= 150
    assert found.chance is not None and found.chance < 0.02


def test_no_level_is_reached_before_a_reading_above_it() -> None:
    found = forecast_of((0.0, 135.0), (60.0, 80.0), (125.0, 71.0)).arrivals[0]
    assert found.at.low >= 125 and found.chance == 0


def test_readings_hotter_than_140_are_left_out_while_enough_remain() -> None:
    hot = ((-40.0, 180.0), (-20.0, 155.0))
    assert forecast_of(*hot, *COOLING).arrivals == forecast_of(*COOLING).arrivals
    assert forecast_of(*hot).arrivals[0].readings == 2


def test_the_band_holds_the_readings_and_falls() -> None:
    band = forecast_of(*COOLING).band(range(0, 400, 20))
    assert all(low <= middle <= high for _, low, middle, high in band)
    assert all(before[2] > after[2] for before, after in pairwise(band))
    at_readings = forecast_of(*COOLING).band([t for t, _ in COOLING])
    for (_, shown), (_, low, _, high) in zip(COOLING, at_readings, strict=True):
        assert low - 1 <= shown <= high + 1


def test_the_fitted_values_are_ranges_around_what_was_told() -> None:
    fitted = forecast_of(*COOLING).fitted
    for one in (fitted.rate, fitted.rate_cold, fitted.lag, fitted.surroundings, fitted.first):
        assert one.low <= one.middle <= one.high
    assert fitted.surroundings.low < 38 < fitted.surroundings.high
    assert fitted.first.low < 135 < fitted.first.high
    assert fitted.rate_cold.middle <= fitted.rate.middle


@settings(max_examples=30, deadline=None)
@given(
    st.lists(st.tuples(st.integers(0, 400), st.integers(30, 200)), min_size=2, max_size=8),
    st.sampled_from(Nature),
    st.integers(20, 75),
)
def test_any_readings_give_ordered_numbers(
    rows: list[tuple[int, int]], food: Nature, air: int
) -> None:
    readings = [(float(t), float(f)) for t, f in rows]
    found = forecast(readings, Surroundings.measured(float(air)), food, START, LEVELS)
    if found is None:
        return
    for arrival in found.arrivals:
        assert arrival.at.low <= arrival.at.middle <= arrival.at.high
        assert arrival.chance is not None and 0 <= arrival.chance <= 1 + 1e-9
    for _, low, middle, high in found.band([0, 100, 1000]):
        assert low <= middle <= high


# What may be said of it.


def test_deadlines_count_from_both_ends_of_the_start() -> None:
    found = forecast_of(*COOLING, start=Start(-20.0, 0.0)).arrivals[0]
    assert found.deadline == 100.0
    assert found.chance is not None and found.chance < found.chance_at_most
    unknown = forecast_of(*COOLING, start=Start(None, 0.0)).arrivals[0]
    assert unknown.chance is None and unknown.deadline is None
    assert unknown.chance_at_most == found.chance_at_most


FAST = ((0.0, 135.0), (30.0, 92.0), (60.0, 68.0 + 8))


def test_two_readings_may_warn_but_never_say_on_course() -> None:
    fast = forecast_of(FAST[0], FAST[2], food=Nature.STIRRED)
    assert chance_of(fast) > 0.95
    assert outlook(fast.arrivals[0]) is Outlook.TOO_EARLY
    slow = forecast_of((0.0, 135.0), (60.0, 120.0)).arrivals[0]
    assert outlook(slow) is Outlook.DOUBTFUL


def test_on_course_needs_three_readings_an_hour_and_nine_in_ten() -> None:
    assert outlook(forecast_of(*FAST).arrivals[0]) is Outlook.ON_COURSE
    short = forecast_of((0.0, 135.0), (20.0, 104.0), (50.0, 80.0))
    assert chance_of(short) > 0.9 and outlook(short.arrivals[0]) is Outlook.TOO_EARLY


def an_arrival(**changed: Any) -> Arrival:
    plain = Arrival(LEVELS[1], Interval(1, 2, 3), 0.95, 0.95, 360, False, 3, 60)
    return replace(plain, **changed)


@pytest.mark.parametrize(
    ("changed", "expected"),
    [
        ({}, Outlook.ON_COURSE),
        ({"chance": 0.899}, Outlook.LIKELY),
        ({"chance": 0.6}, Outlook.ABOUT_EVEN),
        ({"chance": 0.4}, Outlook.ABOUT_EVEN),
        ({"chance": 0.39}, Outlook.UNLIKELY),
        ({"chance": 0.39, "readings": 2}, Outlook.DOUBTFUL),
        ({"readings": 2}, Outlook.TOO_EARLY),
        ({"span": 59.0}, Outlook.TOO_EARLY),
        ({"agreed": 0.5}, Outlook.ON_COURSE),
        ({"agreed": 0.49}, Outlook.LIKELY),
        ({"agreed": 0.49, "chance": 0.39}, Outlook.UNLIKELY),
        ({"chance": None}, Outlook.START_UNKNOWN),
        ({"chance": None, "chance_at_most": 0.2}, Outlook.UNLIKELY),
        ({"reached": True}, Outlook.REACHED),
    ],
)
def test_the_outlook_of_an_arrival(changed: dict[str, Any], expected: Outlook) -> None:
    assert outlook(an_arrival(**changed)) is expected


def test_the_next_reading_keeps_to_what_the_rules_want_and_lets_the_cook_walk() -> None:
    found = forecast_of(*COOLING)
    free = next_look(found, 60.0)
    assert free is not None and 70 <= free.at <= 120
    assert next_look(found, 60.0, (65.0, 120.0)) == Look(65.0)
    early = next_look(found, 60.0, (90.0,))
    assert early is not None and early.at <= 90
    assert next_look(found, 60.0, (50.0,)) == free


def test_the_next_reading_is_soonest_where_the_forecast_is_in_doubt() -> None:
    doubtful = forecast_of((0.0, 135.0), (30.0, 110.0), (60.0, 92.0))
    sure = forecast_of((0.0, 135.0), (30.0, 90.0), (60.0, 68.0 + 4))
    soon = next_look(doubtful, 60.0, (120.0,))
    assert soon is not None and soon.at < 120.0
    assert next_look(sure, 60.0, (120.0,)) == Look(120.0)


def test_a_finished_cooling_wants_no_reading() -> None:
    done = forecast_of(*COOLING, (100.0, 69.0), (300.0, 40.0))
    assert next_look(done, 300.0) is None
    assert next_look(done, 300.0, (360.0,)) == Look(360.0)


DOUBTFUL = (
    ((0.0, 135.0), (30.0, 110.0), (60.0, 92.0)),
    ((0.0, 136.0), (30.0, 112.0)),
    ((0.0, 135.0), (20.0, 119.0), (40.0, 104.0), (60.0, 92.0)),
    ((0.0, 135.0), (60.0, 84.0), (110.0, 70.0), (150.0, 61.0)),
)


@pytest.mark.parametrize("readings", DOUBTFUL)
@pytest.mark.parametrize("food", [Nature.THICK, Nature.STIRRED])
def test_the_next_reading_is_where_it_tells_most(readings: tuple[Point, ...], food: Nature) -> None:
    """Against every minute tried: what a reading there, with its error, leaves in doubt, weighing
    every curve by what it would show, with no steps and no sorting.
    """
    found = forecast_of(*readings, food=food)
    now = readings[-1][0]
    arrival = next(one for one in found.arrivals if not one.reached)
    deadline = arrival.deadline
    assert deadline is not None
    level = arrival.level.fahrenheit
    weights = np.array([one.weight for one in found.curves])
    kept = np.array([found.since + one.reaches(level) <= deadline for one in found.curves])

    def shown(minute: float) -> NDArray[np.float64]:
        return np.array([one.at(minute - found.since) + one.bias for one in found.curves])

    def doubt(weights: NDArray[np.float64]) -> NDArray[np.float64]:
        share = (weights * kept).sum(axis=-1) / weights.sum(axis=-1)
        return np.asarray(share * (1 - share))

    def worth(minute: float) -> float:
        at = shown(minute)
        seen = weights * np.exp(-((at[:, None] - at) ** 2) / 2)
        left = (weights * doubt(seen)).sum() / weights.sum()
        return float((doubt(weights) - left) * (deadline - minute))

    look = next_look(found, now)
    assert look is not None and now + 10 <= look.at <= deadline
    best = max(worth(now + 10 + (deadline - now - 10) * i / 12) for i in range(12))
    assert worth(look.at) >= 0.85 * best
    if look.below is not None:
        wrong = weights[(shown(look.at) <= look.below) != kept].sum()
        assert wrong <= 0.2 * weights.sum()


def test_a_forecast_imports_nothing_heavy() -> None:
    code = (
        "import sys; from haccp.physics import forecast, learning; "
        "print([m for m in ('numpy', 'scipy', 'pandas', 'matplotlib') if m in sys.modules])"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"


def test_the_lattice_is_spread_evenly() -> None:
    """Every coordinate's middle lies where the prior's does: half the kitchens on either side."""
    possible = kitchens(forecast_prior.PUBLISHED[Nature.THICK])
    middle = 14 * 0.5**1.7
    for column in (
        [k.air for k in possible],
        [k.bias for k in possible],
        [k.drift - middle for k in possible],
    ):
        assert sum(value > 0 for value in column) == pytest.approx(len(possible) / 2, abs=1)


@settings(max_examples=80, deadline=None)
@given(
    readings=st.lists(
        st.tuples(st.integers(0, 2_000), st.integers(-60, 450)), min_size=1, max_size=8
    ),
    air=st.integers(-60, 140),
    spread=st.integers(0, 50),
    food=st.sampled_from(Nature),
)
def test_whatever_was_typed_there_is_an_answer(
    readings: list[Point], air: int, spread: int, food: Nature
) -> None:
    """A cook's entry is recorded before its estimate is made: no slip may end in a trace."""
    typed = [(float(minute), float(temperature)) for minute, temperature in readings]
    levels = (Goal(70, 120), Goal(41, 360))
    found = forecast(typed, Surroundings(air, spread), food, Start(0, 0), levels)
    if found is None:
        return
    for arrival in found.arrivals:
        assert arrival.at.low <= arrival.at.middle <= arrival.at.high
        assert 0 <= arrival.chance_at_most <= 1
        assert isinstance(outlook(arrival), Outlook)
    for _, low, middle, high in found.band([found.since, found.since + 60, found.since + 900]):
        assert isfinite(high)
        assert low <= middle <= high
    look = next_look(found, 60, (120, 360))
    assert look is not None
    assert 60 < look.at <= 120
