"""The planner's cases as a forecast's prior: beside the planner itself, and where they are wrong."""

from math import exp, log
from random import Random

import numpy as np
import pytest

from benchmarks.forecast import slab_of
from benchmarks.plan_priors import setups, summed_up
from haccp.physics.cooling_cases import model_of
from haccp.physics.forecast import Forecast, Goal, Start, forecast
from haccp.physics.forecast_curve import CurveShape
from haccp.physics.forecast_prior import (
    PUBLISHED,
    Nature,
    Prior,
    Surroundings,
    kitchens,
    published,
    rate_of,
    shape,
)
from haccp.physics.plan_prior import DEPTHS_IN, Container, Way, plan_prior

AIR = {Way.AIR: 38.0, Way.BATH: 33.0, Way.BLAST: 38.0}
LEVELS = (Goal(70.0, 120.0), Goal(41.0, 360.0))


def expected(known: tuple[Prior, ...], air: float) -> list[float]:
    """The 5, 50 and 95 % points of the time from 140 to 70 °F, drawn from a prior at random."""
    rng = np.random.default_rng(1)
    times = []
    for prior in known:
        for lag_score, slow_score, rate in rng.multivariate_normal(prior.mean, prior.spread, 600):
            lag, slow = shape(prior.food, lag_score, slow_score)
            curve = CurveShape(
                1.0, exp(rate_of(rate)), lag, prior.order, slow, 1.5, air, 0.0, 1.0, 3.0, 1 / 77
            )
            times.append(curve.reaches(70.0))
    return [float(one) for one in np.quantile(times, (0.05, 0.5, 0.95))]


@pytest.mark.parametrize("container", Container)
@pytest.mark.parametrize("way", Way)
@pytest.mark.parametrize("depth", [1.25, 2.0, 2.5, 5.0])
def test_before_any_reading_it_expects_what_the_planner_predicts(
    container: Container, way: Way, depth: float
) -> None:
    """Its middle near the planner's, its range no narrower than the planner's own."""
    known = plan_prior(container, way, depth)
    assert known is not None
    low, middle, high = expected(known[: len(PUBLISHED[Nature.THICK])], AIR[way])
    every = [model_of(one, 64).minutes_to((70 - 32) / 1.8) for one in setups(container, way, depth)]
    early, usual, late = np.quantile(np.concatenate(every), (0.05, 0.5, 0.95))
    assert middle == pytest.approx(usual, rel=0.2)
    assert low < 1.05 * early and high > 0.95 * late


def test_the_table_is_what_the_cases_give() -> None:
    """One row made again, and every row between its neighbours' depths: deeper food is slower."""
    (prior, _) = PUBLISHED[Nature.THICK]
    row = summed_up(prior, Container.PAN, Way.AIR, 3.0)
    known = plan_prior(Container.PAN, Way.AIR, 3.0)
    assert known is not None
    assert known[0].mean == pytest.approx((row[0], 0.0, row[1]), abs=1e-3)
    for container in Container:
        for way in Way:
            means = [plan_prior(container, way, depth) for depth in DEPTHS_IN]
            rates = [one[0].mean[2] for one in means if one]
            assert len(rates) == len(DEPTHS_IN)
            assert rates == sorted(rates, reverse=True)


@pytest.mark.parametrize("depth", [0.0, 0.5, 20.0, 1000.0])
def test_of_depths_that_the_planner_was_not_asked_for_it_expects_nothing(depth: float) -> None:
    assert plan_prior(Container.PAN, Way.AIR, depth) is None


def forecasts(
    batches: int, times_depth: float, known: bool, plan: tuple[int, ...] = (0, 30)
) -> list[tuple[Forecast, float]]:
    """Forecast slabs that are cooled on both faces, by the exact series; whole degrees."""
    rng = Random("slabs")
    out = []
    for _ in range(batches):
        deep = rng.uniform(1.5, 4.0)
        truth = slab_of(rng, 37.0, 136.0, deep, rng.uniform(8, 20))
        bias = rng.gauss(0, 0.6)
        shown = [(float(m), float(round(truth.at(m) + bias + rng.gauss(0, 0.8)))) for m in plan]
        told = max(round(2 * deep * times_depth) / 2, 1.0)
        prior = plan_prior(Container.PAN, Way.AIR, told) if known else None
        around = Surroundings.measured(37.0)
        found = forecast(shown, around, Nature.THICK, Start(0, 0), LEVELS, prior)
        assert found is not None
        out.append((found, truth.reaches(70.0)))
    return out


def width(some: list[tuple[Forecast, float]]) -> float:
    widths = [log(found.arrivals[0].at.high) - log(found.arrivals[0].at.low) for found, _ in some]
    return sum(widths) / len(widths)


def test_where_the_depth_is_known_two_readings_tell_more_and_cover_as_much() -> None:
    without, with_plan = (forecasts(25, 1.0, known) for known in (False, True))
    assert width(with_plan) < 0.9 * width(without)
    late = [true > found.arrivals[0].at.high for found, true in with_plan]
    covered = [found.arrivals[0].at.low <= true for found, true in with_plan]
    assert sum(late) <= 1
    assert sum(covered) >= 24


@pytest.mark.parametrize("times_depth", [0.5, 2.0])
def test_a_depth_that_is_wrong_by_half_or_double_makes_no_food_late(times_depth: float) -> None:
    some = forecasts(25, times_depth, known=True, plan=(0, 30, 60))
    assert sum(true > found.arrivals[0].at.high for found, true in some) <= 2


def test_thin_air_takes_more_heat_from_a_hot_wet_surface() -> None:
    """16.5 K/kPa at sea level are 20 at 1,640 m (836 hPa): the rate falls by 5 % more as it cools,
    and an open liquid is later in the end; nothing else is.
    """
    (known,) = published(Nature.OPEN_LIQUID, 836.0)
    thinner = 20 / 16.5
    fall = log((1 + 5.6 * thinner) / (1 + 1.4 * thinner)) / log(6.6 / 2.4)
    assert known.fading == pytest.approx(fall, abs=0.002)
    for food in (Nature.STIRRED, Nature.THICK):
        assert published(food, 836.0) == PUBLISHED[food]
    (sea,) = published(Nature.OPEN_LIQUID, 1013.25)
    pairs = zip(kitchens((sea,)), kitchens((known,)), strict=True)
    assert all(high.slow < low.slow for low, high in pairs)
    readings = ((0.0, 135.0), (30.0, 112.0), (60.0, 95.0))
    around = Surroundings.measured(38.0)
    by_sea, high_up = (
        forecast(readings, around, Nature.OPEN_LIQUID, Start(0, 0), LEVELS, None, hpa)
        for hpa in (1013.25, 836.0)
    )
    assert by_sea and high_up
    assert by_sea.arrivals[0].at.middle < high_up.arrivals[0].at.middle
