"""Growth that readings allow: bounds over every curve through them, and what is said with them."""

import math
from collections.abc import Sequence
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from haccp.physics import growth
from haccp.physics.growth import CARDINALS, CEILING_LOG10, LAG, indicate, log10_growth, work

LN10 = math.log(10)


@pytest.mark.parametrize("cardinal", CARDINALS, ids=lambda cardinal: cardinal.food)
def test_the_rate_is_nought_outside_and_highest_at_the_best_temperature(
    cardinal: growth.Cardinal,
) -> None:
    for celsius in (-18, 0, cardinal.lowest, cardinal.highest, 57.2, 74):
        assert cardinal.rate(celsius) == 0
    assert cardinal.rate(cardinal.best) == pytest.approx(cardinal.fastest)
    steps = [cardinal.lowest + i * (cardinal.highest - cardinal.lowest) / 997 for i in range(998)]
    assert max(map(cardinal.rate, steps)) <= cardinal.fastest + 1e-9


def test_food_kept_at_one_temperature_grows_by_rate_times_time() -> None:
    chicken = CARDINALS[0]
    assert work([(0, 37.0), (90, 37.0)], chicken) == pytest.approx(1.5 * chicken.rate(37.0))
    assert log10_growth(6.0) == pytest.approx(6 / LN10)


def test_a_lag_takes_from_the_growth_and_never_below_none() -> None:
    for done in (0.0, 0.5, 3.0, 9.0):
        assert 0 <= log10_growth(done, LAG) <= log10_growth(done)
    assert log10_growth(15.0, LAG) == pytest.approx((15 - LAG) / LN10, abs=1e-3)


def test_growth_ends_where_the_food_is_full_however_long_it_stands() -> None:
    a_week = indicate([(0, 43.0), (7 * 24 * 60, 42.0)])
    assert a_week.least == a_week.most == CEILING_LOG10


def test_frozen_food_has_no_logarithm_and_no_growth() -> None:
    assert indicate([(0, 5.0), (60, -3.0), (120, -18.0)]).most == 0


def test_the_slowest_curve_is_not_taken_for_the_worst() -> None:
    """Food that stood at 57 °C till its next reading grew nothing there; the bound must not."""
    readings = [(0.0, 57.0), (120.0, 21.0)]
    stood = [(0.0, 57.0), (119.9, 57.0), (120.0, 21.0)]
    worst = max(log10_growth(work(stood, cardinal)) for cardinal in CARDINALS)
    assert worst < 0.05
    assert indicate(readings).most > 4


PATHS = st.lists(
    st.tuples(st.floats(1, 240), st.floats(-5, 60), st.lists(st.floats(0, 1), max_size=6)),
    min_size=1,
    max_size=4,
)


@settings(deadline=None)  # a busy machine is no failure
@given(st.floats(1, 60), PATHS)
def test_no_falling_path_through_the_readings_leaves_the_bounds(
    start: float, path: Sequence[tuple[float, float, list[float]]]
) -> None:
    """The oracle walks one path in stairs, and adds the rate of each stair by hand."""
    readings = [(0.0, start)]
    done = [0.0] * len(CARDINALS)
    for minutes, fall, stairs in path:
        begun, warm = readings[-1]
        cold = min(warm, fall)
        readings.append((begun + minutes, cold))
        levels = [warm - (warm - cold) * share for share in sorted(stairs)] or [cold]
        for level in levels:
            for index, cardinal in enumerate(CARDINALS):
                done[index] += cardinal.rate(level) * minutes / 60 / len(levels)
    found = indicate(readings)
    assert found.least <= min(log10_growth(one, LAG) for one in done) + 1e-9
    assert max(log10_growth(one) for one in done) <= found.most + 1e-9
    assert found.least - 1e-9 <= found.along[0] <= found.along[1] <= found.most + 1e-9
    assert all(a[0] < b[0] for a, b in pairwise(readings))


def test_what_is_printed_with_it_promises_nothing() -> None:
    for said in ("not a measurement", "Not verified", "lag", "releases no food", "excuses no"):
        assert said in growth.behind()
    assert "no more than 1 log10" in growth.CRITERION and growth.CRITERION_LOG10 == 1
