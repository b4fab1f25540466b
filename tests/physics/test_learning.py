"""The kitchen learns from its finished coolings: invented kitchens, made by other equations."""

from math import exp, log
from random import Random

import pytest

from haccp.physics.forecast import Forecast, Goal, Start, forecast
from haccp.physics.forecast_prior import PUBLISHED, Nature, Surroundings
from haccp.physics.forecast_readings import Point
from haccp.physics.learning import Finished, learn

AIR = 38.0
TOLD = Surroundings.measured(AIR)
LEVELS = (Goal(70.0, 120.0), Goal(41.0, 360.0))
WHOLE = (0, 30, 60, 90, 120, 180, 240, 300, 360)


def cooling(rng: Random, rate: float, minutes: tuple[int, ...]) -> tuple[Point, ...]:
    """Newton's law, `rate` an hour give or take 10 %, whole degrees, reading SD 0.8 °F."""
    rate *= rng.lognormvariate(0, 0.1)
    return tuple(
        (float(m), float(round(AIR + 97 * exp(-rate * m / 60) + rng.gauss(0, 0.8))))
        for m in minutes
    )


def record(count: int, rate: float = 0.5) -> list[Finished]:
    rng = Random(3)
    return [Finished(cooling(rng, rate, WHOLE), TOLD) for _ in range(count)]


def forecast_with(readings: tuple[Point, ...], food: Nature, finished: list[Finished]) -> Forecast:
    found = forecast(readings, TOLD, food, Start(0.0, 0.0), LEVELS, learn(food, finished))
    assert found is not None
    return found


def width(found: Forecast) -> float:
    at = found.arrivals[0].at
    return at.high - at.low


@pytest.mark.parametrize("food", Nature)
def test_with_no_history_it_is_the_published_prior(food: Nature) -> None:
    assert learn(food, []) == PUBLISHED[food]
    two = Finished(((0.0, 135.0), (60.0, 90.0)), TOLD)
    assert learn(food, [two]) == PUBLISHED[food]  # two readings tell no shape


@pytest.mark.parametrize("food", [Nature.STIRRED, Nature.THICK, Nature.UNKNOWN])
def test_the_more_finished_coolings_the_sharper(food: Nature) -> None:
    looked = cooling(Random(9), 0.5, (0, 30, 60))
    widths = [width(forecast_with(looked, food, record(count))) for count in (0, 5, 20)]
    assert widths == sorted(widths, reverse=True)
    assert widths[-1] < 0.85 * widths[0]


def test_the_expected_rate_is_shrunk_from_the_published_towards_the_kitchens() -> None:
    """Each more batch of a fast kitchen moves the expectation on, from ln 0.4 towards ln 1.2."""
    means = [learn(Nature.STIRRED, record(count, rate=1.2))[0].mean[2] for count in (0, 1, 5, 20)]
    assert means == sorted(means)
    assert means[0] == 0 and means[-1] == pytest.approx(log(1.2 / 0.4), abs=0.3)


def test_one_strange_batch_does_not_undo_twenty() -> None:
    strange = Finished(cooling(Random(1), 0.15, WHOLE), TOLD)
    looked = cooling(Random(9), 0.5, (0, 30, 60))
    before = forecast_with(looked, Nature.STIRRED, record(20)).arrivals[0].at.middle
    after = forecast_with(looked, Nature.STIRRED, [*record(20), strange]).arrivals[0].at.middle
    assert after == pytest.approx(before, rel=0.03)


def test_a_batch_unlike_the_record_is_still_believed() -> None:
    """Its own readings outweigh the past: a lid left on must not be forecast as usual."""
    slow = cooling(Random(5), 0.25, (0, 30, 60))
    at = forecast_with(slow, Nature.STIRRED, record(20)).arrivals[0].at
    assert at.high > 60 * 4.4  # Newton's law at 0.25 an hour: 4.4 h


def test_food_of_unknown_kind_is_recognised_from_its_record() -> None:
    """Newton's law to the end: no open liquid, whose rate would have fallen."""
    weights: dict[Nature, float] = {}
    for prior in learn(Nature.UNKNOWN, record(10)):
        weights[prior.food] = weights.get(prior.food, 0.0) + prior.weight
    assert sum(weights.values()) == pytest.approx(1)
    published = next(p for p in PUBLISHED[Nature.UNKNOWN] if p.food is Nature.OPEN_LIQUID)
    assert weights[Nature.OPEN_LIQUID] < published.weight / 3


def test_hostile_histories_are_survived() -> None:
    odd = [
        Finished(((0.0, 70.0), (10.0, 90.0), (20.0, 120.0)), TOLD),
        Finished(((0.0, 36.0), (10.0, 36.0), (20.0, 36.0)), TOLD),
        Finished(((0.0, 200.0), (1.0, 35.0), (900.0, 35.0)), TOLD),
    ]
    for food in Nature:
        forecast_with(cooling(Random(2), 0.5, (0, 30, 60)), food, odd)
