"""Food that is cooled in one place and then in another. Setups are invented.

The oracle solves the same conduction by small steps in time and place; of the planner it knows only
the coefficients of each case.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import inf

import numpy as np
import pytest

from haccp.errors import Refused
from haccp.physics import convection
from haccp.physics.cooling_cases import model_of
from haccp.physics.cooling_draws import draw, top, walls
from haccp.physics.cooling_setup import (
    Consistency,
    Medium,
    Pan,
    Pot,
    Setup,
    Slab,
    Stage,
    Then,
    check,
)
from haccp.physics.planning import ICE_BATH, deepest, plan
from haccp.physics.properties import foods
from haccp.quantities import INCH_M

CASES = 4  # of the fixed sequence, each against the oracle


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32) / 1.8


STAGES = (Stage(celsius(70), 120), Stage(celsius(41), 360))
PAN = Pan(19.5 * INCH_M, 11.5 * INCH_M, 2 * INCH_M)
WALK_IN = Medium(celsius(38), convection.MOVING_AIR)
ROOM = Medium(celsius(72), convection.STILL_AIR)
CHILLER = Medium(celsius(28), convection.BLAST_AIR)
STEW = Setup(
    foods()["bean-stew"].composition, Consistency.THICK, PAN, WALK_IN, celsius(135), STAGES
)
THICK, STIRRED = Consistency.THICK, Consistency.STIRRED


@dataclass(frozen=True)
class Around:
    """What one case of one surroundings comes to: coefficients of the faces, and what they see."""

    bottom: float
    side: float
    top: float
    medium: float
    above: float
    k: float
    capacity: float


def around(setup: Setup, case: int) -> Around:
    cases = draw(setup, CASES)
    side, bottom = walls(setup, cases)
    medium = cases.bath if setup.bath else cases.air
    above = np.maximum(cases.air, medium)
    every = (bottom, side, top(setup, cases), medium, above, cases.k, cases.capacity)
    return Around(*(float(one[case]) for one in every))


def by_small_steps(
    pot: Pot, start: float, legs: Sequence[tuple[Around, float]], step: float
) -> list[float]:
    """The warmest point of a pot, every ten minutes: explicit steps on rings and layers."""
    rings, layers = 24, 24
    dr, dz = pot.diameter / 2 / rings, pot.depth / layers
    inner = np.arange(rings) * dr
    outer, middle = inner + dr, inner + dr / 2
    t = np.full((rings, layers), start)
    shown, now, due = [start], 0.0, 600.0
    end_of_leg = 0.0
    for leg, minutes in legs:
        end_of_leg += 60 * minutes
        diffusivity = leg.k / leg.capacity

        def into(h: float, across: float, k: float = leg.k) -> float:
            return 1 / (1 / h + across / 2 / k)

        while now < end_of_leg - 1e-6:
            along = np.diff(t, axis=1) / dz
            up = np.zeros((rings, layers + 1))
            up[:, 1:-1] = along
            up[:, 0] = into(leg.bottom, dz) * (t[:, 0] - leg.medium) / leg.k
            up[:, -1] = -into(leg.top, dz) * (t[:, -1] - leg.above) / leg.k
            out = np.zeros((rings + 1, layers))
            out[1:-1] = np.diff(t, axis=0) / dr * outer[:-1, None]
            out[-1] = -into(leg.side, dr) * (t[-1] - leg.medium) / leg.k * outer[-1]
            change = np.diff(up, axis=1) / dz + np.diff(out, axis=0) / dr / middle[:, None]
            t = t + step * diffusivity * change
            now += step
            if now >= due - 1e-6:
                shown.append(float(t.max()))
                due += 600
    return shown


POT = Pot(0.24, 0.09)


@pytest.mark.parametrize("case", range(CASES))
@pytest.mark.parametrize("first", [50.0, 120.0])
def test_thick_food_takes_its_warm_middle_along(case: int, first: float) -> None:
    """Air, then much quicker air: the temperature all through it goes over, not a mean."""
    setup = replace(STEW, load=POT, then=Then(CHILLER, THICK, minutes=first))
    legs = [
        (around(replace(setup, then=None), case), first),
        (around(setup.moved, case), 400 - first),
    ]
    told = by_small_steps(POT, setup.start, legs, 5.0)
    minutes = np.linspace(0.0, 10.0 * (len(told) - 1), len(told))
    found = model_of(setup, CASES).temperatures(minutes)[case]
    assert found[3:] == pytest.approx(told[3:], abs=0.25)  # 24 cells each way are good to 0.2 °C


@pytest.mark.parametrize("case", range(CASES))
def test_out_of_a_bath_in_a_warm_room_it_is_never_colder_than_it_is(case: int) -> None:
    """What the room's air gives is counted as if there were no sides: warmer, a little."""
    setup = replace(STEW, load=POT, air=ROOM, bath=ICE_BATH, then=Then(WALK_IN, THICK, minutes=90))
    legs = [(around(replace(setup, then=None), case), 90), (around(setup.moved, case), 310)]
    told = np.asarray(by_small_steps(POT, setup.start, legs, 5.0), dtype=float)
    found = model_of(setup, CASES).temperatures(
        np.linspace(0.0, 10.0 * (len(told) - 1), len(told))
    )[case]
    assert (found[3:] > told[3:] - 0.25).all()
    assert (found[3:] < told[3:] + 3).all()


def test_as_one_temperature_all_through_it_would_be_another_answer() -> None:
    """So the test above can fail: a restart from the warmest point, or from the mean, is far off."""
    setup = replace(STEW, load=POT, then=Then(CHILLER, THICK, minutes=50))
    carried = model_of(setup, CASES)
    [warmest] = carried.temperatures(np.array([50.0])).T
    anew = model_of(replace(setup.moved, start=float(warmest[0])), CASES)
    later = np.array([40.0])
    assert carried.temperatures(later + 50)[0, 0] < anew.temperatures(later)[0, 0] - 2


def test_a_move_to_the_same_place_changes_nothing() -> None:
    minutes = np.arange(30.0, 900, 30)
    stirred = replace(STEW, consistency=STIRRED, load=POT)
    for setup in (STEW, replace(STEW, load=POT), replace(STEW, load=Slab(0.05)), stirred):
        stays = model_of(setup).temperatures(minutes)
        same = Then(setup.air, setup.consistency, minutes=100)
        moved = model_of(replace(setup, then=same))
        assert moved.temperatures(minutes) == pytest.approx(stays, abs=0.02)
        level = setup.stages[-1].celsius
        both = moved.minutes_to(level), model_of(setup).minutes_to(level)
        assert np.isfinite(both[0]).any()
        assert both[0] == pytest.approx(both[1], rel=2e-3)


def test_stirred_food_is_one_temperature_when_it_is_moved_and_thick_food_its_mean_when_stirred() -> (
    None
):
    bath = replace(STEW, consistency=STIRRED, bath=ICE_BATH)
    then_still = replace(bath, then=Then(WALK_IN, THICK, minutes=30))
    [at_30] = model_of(bath).temperatures(np.array([30.0])).T
    [soon] = model_of(then_still).temperatures(np.array([31.0])).T
    assert soon == pytest.approx(at_30, abs=0.4)
    thick_first = replace(STEW, then=Then(WALK_IN, STIRRED, bath=ICE_BATH, minutes=60))
    [before] = model_of(STEW).temperatures(np.array([60.0])).T
    [after] = model_of(thick_first).temperatures(np.array([60.01])).T
    assert (after < before).all()  # the warmest point was above the mean


def test_it_is_moved_when_each_case_is_down_to_the_level() -> None:
    setup = replace(
        STEW, consistency=STIRRED, bath=ICE_BATH, then=Then(WALK_IN, THICK, celsius=celsius(70))
    )
    bath_alone, walk_in_alone = replace(setup, then=None), replace(STEW, then=None)
    first, last = plan(setup).crossings
    assert (first.early, first.late) == pytest.approx(
        [getattr(plan(bath_alone).crossings[0], one) for one in ("early", "late")], rel=1e-6
    )
    assert plan(bath_alone).crossings[-1].middle < last.middle
    assert last.middle < plan(walk_in_alone).crossings[-1].middle
    less = deepest(setup)
    assert less is not None and less.setup.then == setup.then


def test_what_never_gets_so_cold_is_never_moved() -> None:
    warm = replace(STEW, air=Medium(celsius(75), convection.STILL_AIR), covered=True)
    found = plan(replace(warm, then=Then(WALK_IN, THICK, celsius=celsius(70))))
    assert all(one.early == inf and one.chance == 0 for one in found.crossings)


@pytest.mark.parametrize(
    ("then", "said"),
    [
        (Then(WALK_IN, THICK, minutes=0), "some minutes after the start"),
        (Then(WALK_IN, THICK, celsius=60), "on its way down"),
        (Then(WALK_IN, THICK, celsius=1), "on its way down"),
        (Then(ROOM, THICK, minutes=30), "colder than its last level"),
    ],
)
def test_a_move_that_makes_no_sense_is_refused(then: Then, said: str) -> None:
    with pytest.raises(Refused, match=said):
        check(replace(STEW, then=then))
