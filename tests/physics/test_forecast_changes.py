"""Coolings that change and nobody says so, logger readings, hot starts: on truths that no number was
tuned on. All are simulated: Newton's law step by step, its rate and air changing as each truth says.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass
from math import exp, inf, sqrt
from random import Random

import pytest

from haccp.physics.forecast import Forecast, Goal, Outlook, Pace, Start, forecast, outlook
from haccp.physics.forecast_prior import Nature, Surroundings
from haccp.physics.forecast_readings import Point

LEVELS = (Goal(70.0, 120.0), Goal(41.0, 360.0))
# Rate per hour and air at a minute.
Course = Callable[[float], tuple[float, float]]


@dataclass(frozen=True)
class Truth:
    food: list[float]

    def reaches(self, level: float) -> float:
        return next((float(m) for m, shown in enumerate(self.food) if shown <= level), inf)


def cooled(course: Course, start: float = 136.0) -> Truth:
    food = [start]
    for minute in range(3000):
        rate, air = course(minute)
        food.append(air + (food[-1] - air) * exp(-rate / 60))
    return Truth(food)


def read(rng: Random, truth: Truth, minutes: tuple[int, ...]) -> list[Point]:
    """Whole degrees of a thermometer with a constant error and one of each reading."""
    bias = rng.gauss(0, 0.6)
    return [(float(m), float(round(truth.food[m] + bias + rng.gauss(0, 0.8)))) for m in minutes]


def forecast_of(readings: list[Point], air: float, food: Nature, start: float = 0.0) -> Forecast:
    around = Surroundings.measured(air)
    found = forecast(readings, around, food, Start(start, start), LEVELS)
    assert found is not None
    return found


def lid_left_ajar(rng: Random) -> tuple[Course, float]:
    """A fan that blew on it stops."""
    at, rate = rng.uniform(20, 60), rng.uniform(0.5, 1.0)
    return (lambda m: (rate if m < at else 0.4 * rate, 36.0)), at


def put_beside_hot_food(rng: Random) -> tuple[Course, float]:
    at, rate, warm = rng.uniform(20, 60), rng.uniform(0.5, 1.0), rng.uniform(48, 60)
    return (lambda m: (rate, 36.0) if m < at else (0.6 * rate, warm)), at


def carried_to_a_warmer_room(rng: Random) -> tuple[Course, float]:
    at, rate = rng.uniform(20, 60), rng.uniform(0.6, 1.2)
    return (lambda m: (rate, 36.0) if m < at else (0.7 * rate, 66.0)), at


PLANS = (
    (0, 30, 60),
    (0, 20, 40, 60),
    (0, 15, 30, 45, 60, 75),
    (0, 30, 60, 90),
    (0, 60, 120, 180),
)


@pytest.mark.parametrize("kind", [lid_left_ajar, put_beside_hot_food, carried_to_a_warmer_room])
@pytest.mark.parametrize("batches", [4, pytest.param(60, marks=pytest.mark.long)])
def test_a_change_that_two_readings_show_is_believed(
    kind: Callable[[Random], tuple[Course, float]], batches: int
) -> None:
    """Hardly any forecast assures wrongly, and at most every fifth interval ends too early.

    The aim, that at most one in 20 of the statements "on course" is wrong, is not reached on these:
    of 1,232 forecasts 11 say it and 9 of them are wrong.
    """
    rng = Random(kind.__name__)
    n = late = sure = wrong = 0
    for _ in range(batches):
        course, at = kind(rng)
        truth = cooled(course)
        for plan in PLANS:
            if sum(m >= at for m in plan) < 2 or truth.food[plan[-1]] <= 42:
                continue
            found = forecast_of(read(rng, truth, plan), 36.0, Nature.STIRRED)
            for one in found.arrivals:
                if not one.reached:
                    n += 1
                    late += truth.reaches(one.level.fahrenheit) > one.at.high
                    on_course = outlook(one) is Outlook.ON_COURSE
                    sure += on_course
                    wrong += on_course and truth.reaches(one.level.fahrenheit) > one.level.within
    assert n >= 4 * batches
    assert late <= 0.2 * n
    assert wrong <= sure <= 0.02 * n + 1


@pytest.mark.parametrize("batches", [6, pytest.param(60, marks=pytest.mark.long)])
def test_of_a_cooling_that_stays_as_it_is_no_change_is_told(batches: int) -> None:
    rng = Random("unchanged")
    n = told = 0
    for _ in range(batches):
        rate = rng.uniform(0.35, 1.0)
        truth = cooled(lambda _, rate=rate: (rate, 36.0))  # type: ignore[misc]
        for plan in PLANS:
            if truth.food[plan[-1]] > 42:
                found = forecast_of(read(rng, truth, plan), 36.0, Nature.STIRRED)
                n += 1
                told += found.pace is not Pace.AS_BEFORE or found.stands_since is not None
    assert n >= 4 * batches
    assert told <= 0.02 * n + 1


def logged(rng: Random, truth: Truth, minutes: int) -> list[Point]:
    """A logger's readings each minute: its error keeps half of itself for ten minutes."""
    keeps, bias, error = 0.5 ** (1 / 10), rng.gauss(0, 0.6), rng.gauss(0, 0.8)
    out = []
    for minute in range(minutes + 1):
        error = keeps * error + sqrt(1 - keeps**2) * rng.gauss(0, 0.8)
        out.append((float(minute), round(truth.food[minute] + bias + error, 1)))
    return out


@pytest.mark.parametrize("batches", [12, pytest.param(100, marks=pytest.mark.long)])
def test_a_loggers_minutes_are_covered_like_a_cooks_readings(batches: int) -> None:
    """Nine of ten true times lie in the interval; a third of them were missed by an hour of minutes
    that were taken as independent.
    """
    rng = Random("logger")
    n = covered = 0
    for _ in range(batches):
        rate, air = rng.uniform(0.35, 0.9), rng.uniform(33, 40)
        truth = cooled(lambda _, rate=rate, air=air: (rate, air))  # type: ignore[misc]
        found = forecast_of(logged(rng, truth, 60), air + rng.gauss(0, 1), Nature.STIRRED)
        for one in found.arrivals:
            if not one.reached:
                n += 1
                covered += one.at.low <= truth.reaches(one.level.fahrenheit) <= one.at.high
    assert covered >= 0.88 * n - 1


def test_a_day_of_a_loggers_minutes_is_forecast_at_once() -> None:
    """As little CPU time as twelve readings take, several of them tried: goal 100 ms."""
    rng = Random("day")
    truth = cooled(lambda _: (0.15, 38.0))
    shown = logged(rng, truth, 1440)
    spent = []
    for _ in range(3):
        begun = time.process_time()
        found = forecast_of(shown, 36.0, Nature.UNKNOWN)
        spent.append(time.process_time() - begun)
    assert found.arrivals[0].readings <= 12
    assert min(spent) < 0.2  # twice the goal: a busy machine


def test_a_logger_tells_that_food_stopped_falling() -> None:
    rng = Random("stops")
    told = 0
    for _ in range(20):
        at = rng.randrange(40, 70)
        truth = cooled(lambda m, at=at: (0.6 if m < at else 0.0, 36.0))  # type: ignore[misc]
        found = forecast_of(logged(rng, truth, at + 40), 36.0, Nature.STIRRED)
        told += found.stands_since is not None and abs(found.stands_since - at) < 15
        assert all(outlook(one) is not Outlook.ON_COURSE for one in found.arrivals)
    assert told >= 15


def test_readings_above_140_are_evidence_for_thick_food_alone() -> None:
    """Of an open liquid they overstate the rate; of thick food they show its shoulder."""
    shoulder = [(0.0, 152.0), (20.0, 150.0), (40.0, 144.0), (60.0, 136.0)]
    assert forecast_of(shoulder, 38.0, Nature.THICK, 60.0).arrivals[0].readings == 4
    for food in (Nature.OPEN_LIQUID, Nature.UNKNOWN):
        some = [*shoulder[:2], (40.0, 139.0), (60.0, 128.0)]
        assert forecast_of(some, 38.0, food, 40.0).arrivals[0].readings == 2


def test_an_unknown_place_may_be_a_room() -> None:
    """The same readings: cold air told, they promise; nobody said where, they cannot."""
    readings = [(0.0, 135.0), (30.0, 92.0), (60.0, 81.0)]
    anywhere = forecast(readings, Surroundings.unknown(), Nature.UNKNOWN, Start(0, 0), LEVELS)
    assert anywhere is not None
    assert anywhere.arrivals[0].at.high == inf
    assert anywhere.arrivals[0].chance_told < 0.4


def test_nothing_told_nothing_promised() -> None:
    quick = forecast_of([(0.0, 135.0), (30.0, 92.0), (60.0, 73.0)], 36.0, Nature.STIRRED)
    assert outlook(quick.arrivals[0]) is Outlook.ON_COURSE
    assert outlook(quick.arrivals[0], told=False) is Outlook.LIKELY
