"""Food that warms a small cooler, beside print and beside small steps in time. Setups are invented."""

from dataclasses import replace
from math import inf, pi

import numpy as np
import pytest

from haccp.errors import Refused
from haccp.physics import convection, small_cooler
from haccp.physics.conduction import Array, Conductor, Shape
from haccp.physics.convection import Range
from haccp.physics.cooling_cases import _Warmed, model_of
from haccp.physics.cooling_setup import (
    Consistency,
    Material,
    Medium,
    Pot,
    Setup,
    Slab,
    Stage,
    Then,
    check,
)
from haccp.physics.planning import ICE_BATH, plan
from haccp.physics.properties import foods
from haccp.physics.small_cooler import HOUSEHOLD, REACH_IN, Balance, Cooler, by_mixing
from haccp.quantities import GALLON_L


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32) / 1.8


def pot(gallons: float, material: Material = Material.METAL) -> Pot:
    """As high as it is wide."""
    size = (4 * gallons * GALLON_L / 1000 / pi) ** (1 / 3)
    return Pot(size, size, material)


HOUSEHOLD_AIR = Medium(celsius(38), convection.STILL_AIR, HOUSEHOLD)
SOUP = Setup(
    foods()["vegetable-soup"].composition, Consistency.THIN, pot(1), HOUSEHOLD_AIR, celsius(135),
    (Stage(celsius(40), 60_000),), covered=True,
)  # fmt: skip
TUBS = replace(SOUP, load=pot(0.25, Material.PLASTIC), litres=2 * GALLON_L)


def hours(setup: Setup) -> tuple[float, float, float]:
    [crossing] = plan(setup).crossings
    return crossing.early / 60, crossing.middle / 60, crossing.late / 60


def warmest_air(setup: Setup) -> list[float]:
    """The highest air in 5, 50 and 95 of 100 cases [°F]."""
    model = model_of(setup)
    assert isinstance(model, _Warmed)
    return list(np.quantile(model.air.max(axis=1), [0.05, 0.5, 0.95]) * 1.8 + 32)


def test_soup_in_household_refrigerators_takes_as_long_as_in_print() -> None:
    """A testing institute, 2011: up to 16 h for a gallon, up to 19 h for 1-qt tubs, to 40 °F.

    How many tubs, how hot and whether under lids could not be read: two gallons from 135 °F here.
    """
    early, _, late = hours(SOUP)
    assert early <= 16 <= late
    early, middle, late = hours(TUBS)
    assert early <= 19 <= late
    assert middle > 1.08 * hours(replace(TUBS, air=replace(HOUSEHOLD_AIR, cooler=None)))[1]


def test_a_household_refrigerator_is_warmed_to_what_print_says() -> None:
    """The same trials: the refrigerator's air went up to 70 °F. Two gallons, hot from the stove."""
    hot = replace(TUBS, start=celsius(200), covered=False)
    low, _, high = warmest_air(hot)
    assert low < 70 < high
    assert warmest_air(replace(hot, air=replace(HOUSEHOLD_AIR, cooler=REACH_IN)))[1] < 45


@pytest.mark.parametrize("consistency", [Consistency.THIN, Consistency.THICK])
def test_more_food_warms_it_more_and_takes_longer(consistency: Consistency) -> None:
    amounts = [replace(TUBS, consistency=consistency, litres=litres) for litres in (1.0, 8.0, 30.0)]
    assert [warmest_air(one)[1] for one in amounts] == sorted(
        warmest_air(one)[1] for one in amounts
    )
    middles = [hours(one)[1] for one in amounts]
    assert middles == sorted(middles)
    assert middles[2] > 1.2 * middles[0]


@pytest.mark.parametrize("consistency", [Consistency.THIN, Consistency.THICK])
def test_a_cooler_as_strong_as_can_be_keeps_its_air(consistency: Consistency) -> None:
    strong = Cooler(*(Range(high, high, "invented") for high in (1e6, 1e6, 1e9)))
    setup = replace(TUBS, consistency=consistency)
    mighty = hours(replace(setup, air=replace(HOUSEHOLD_AIR, cooler=strong)))
    fixed = hours(replace(setup, air=replace(HOUSEHOLD_AIR, cooler=None)))
    # Its steps in time err a little on the slow side.
    assert all(b <= a < 1.04 * b for a, b in zip(mighty, fixed, strict=True))


def one_case(**more: float) -> Balance:
    values = {
        "keeps": 3.0, "spare": 40.0, "by_degree": 2.0, "stored": 40_000.0, "food": 30_000.0, **more
    }  # fmt: skip
    return Balance(**{name: np.array([value]) for name, value in values.items()})


def test_mixed_food_and_air_go_as_by_small_steps() -> None:
    balance, conductance = one_case(), 4.0
    minutes = small_cooler.times(280)

    def loss(food: Array, air: Array) -> Array:
        return np.asarray(conductance * (food - air))

    food, air = by_mixing(minutes, balance, np.array([60.0]), loss)
    warm, around, told = 60.0, 3.0, {0: (60.0, 3.0)}
    for second in range(2 * 24 * 3600):
        given = conductance * (warm - around)
        warm -= given / 30_000
        more = given - 40 - 2 * (around - 3)
        around = max(around + more / 40_000, 3.0)
        if (second + 1) % 3600 == 0:
            told[(second + 1) // 60] = (warm, around)
    for minute, (by_steps, air_by_steps) in told.items():
        assert np.interp(minute, minutes, food[0]) == pytest.approx(by_steps, abs=0.6)
        assert np.interp(minute, minutes, air[0]) == pytest.approx(air_by_steps, abs=0.6)


def test_conducting_food_and_air_go_as_by_small_steps() -> None:
    """A slab of 10 cm, 0.35 m² on both faces, h 10: its middle and the air, from cells of 2 mm."""
    k, capacity, half, h, area = 0.5, 3.6e6, 0.05, 10.0, 0.7
    balance = one_case(food=capacity * half * area)
    minutes = small_cooler.times(140)
    slab = Conductor(Shape.SLAB, np.array([h * half / k]))
    fourier = np.maximum(minutes * 60 * k / capacity / half**2, 0.015)[None]
    answer = slab.theta(fourier), slab.mean(minutes[None] * 60 * k / capacity / half**2)
    own = tuple(3 + 57 * one for one in answer)
    warmest, air = small_cooler.by_conduction(minutes, balance, (own[0], own[1]), answer)

    cells, step = 25, 10.0
    wide = half / cells
    t, around, told = np.full(cells, 60.0), 3.0, {}
    surface = 1 / (1 / h + wide / 2 / k)
    for number in range(1, 2 * 24 * 360 + 1):
        flow = np.zeros(cells + 1)
        flow[1:-1] = -k * np.diff(t) / wide
        flow[-1] = surface * (t[-1] - around)
        t = t - step * np.diff(flow) / wide / capacity
        more = flow[-1] * area - 40 - 2 * (around - 3)
        around = max(around + step * more / 40_000, 3.0)
        if number % 360 == 0:
            told[number // 6] = (t[0], around)
    for minute, (middle, air_by_steps) in told.items():
        assert np.interp(minute, minutes, warmest[0]) == pytest.approx(middle, abs=0.7)
        assert np.interp(minute, minutes, air[0]) == pytest.approx(air_by_steps, abs=0.7)
    assert air.max() > 8  # so that it is warmed at all


def test_a_small_cooler_after_an_ice_bath_is_warmed_less() -> None:
    hot = replace(TUBS, consistency=Consistency.THICK)
    bath = replace(
        hot, consistency=Consistency.STIRRED, air=Medium(celsius(72), convection.STILL_AIR),
        bath=ICE_BATH, then=Then(HOUSEHOLD_AIR, Consistency.THICK, celsius=celsius(70)),
    )  # fmt: skip
    assert hours(bath)[1] < hours(hot)[1] - 2


def test_what_has_no_size_cannot_warm_anything() -> None:
    with pytest.raises(Refused, match="give them"):
        check(replace(SOUP, consistency=Consistency.THICK, load=Slab(0.05, inf, 0.3)))
