"""Sums the planner's cases up as priors of thick food: prints `haccp/physics/plan_priors.json`.

python benchmarks/plan_priors.py > haccp/physics/plan_priors.json
"""

import sys
from collections.abc import Iterator
from itertools import product
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from haccp.physics import convection
from haccp.physics.cooling_cases import model_of
from haccp.physics.cooling_setup import Consistency, Medium, Pan, Pot, Setup, Stage
from haccp.physics.forecast_prior import PUBLISHED, Nature, Prior, Surroundings
from haccp.physics.learning import Finished, scores
from haccp.physics.plan_prior import DEPTHS_IN, Container, Way, row_key
from haccp.physics.planning import PAN_SIZES
from haccp.physics.properties import foods
from haccp.quantities import INCH_M

# A case is read at these temperatures, from `_START_F` on.
_START_F, _AIR_F, _BATH_F = 140.0, 38.0, 33.0
_READ_F = (130.0, 115.0, 100.0, 85.0, 72.0, 60.0, 50.0)
_CASES = 24
_POT_WIDE_IN = 12.0


def summed_up(prior: Prior, container: Container, way: Way, depth_in: float) -> list[float]:
    """Sum the planner's cases up in a row: each is read like a finished cooling of `prior`'s kind.

    The means of the scores of lag and rate and their covariance (lag, both, rate), where the
    slow-down is as published: given its mean.
    """
    around = Surroundings.measured(_BATH_F if way is Way.BATH else _AIR_F)
    means, doubts = [], []
    for setup in setups(container, way, depth_in):
        model = model_of(setup, _CASES)
        minutes = np.array([model.minutes_to(_celsius(level)) for level in _READ_F])
        for case in minutes.T:
            curve = ((0.0, _START_F), *zip(map(float, case), _READ_F, strict=True))
            mean, doubt = scores(prior, Finished(curve, around))
            means.append(mean)
            doubts.append(doubt)
    mean = np.mean(means, axis=0)
    spread = np.cov(np.array(means).T) + np.mean(doubts, axis=0)
    told, slow = [0, 2], 1
    by_slow = spread[told, slow] / spread[slow, slow]
    given = spread[np.ix_(told, told)] - np.outer(by_slow, spread[slow, told])
    return [
        *map(float, mean[told] - by_slow * mean[slow]),
        *map(float, given[[0, 1, 1], [0, 0, 1]]),
    ]


def setups(container: Container, way: Way, depth_in: float) -> Iterator[Setup]:
    """Set up what nobody says: with a lid or without, in still air or in moved."""
    length, width = (size * INCH_M for size in PAN_SIZES["full-size"])
    deep = depth_in * INCH_M
    pot = container is Container.POT
    moved = (convection.STILL_AIR, convection.MOVING_AIR)
    for air, covered in product(
        (convection.BLAST_AIR,) if way is Way.BLAST else moved, (False, True)
    ):
        yield Setup(
            foods()["bean-stew"].composition,
            Consistency.THICK,
            Pot(_POT_WIDE_IN * INCH_M, deep) if pot else Pan(length, width, deep),
            Medium(_celsius(_AIR_F), air),
            _celsius(_START_F),
            (Stage(_celsius(_READ_F[-1]), 360.0),),
            bath=Medium(_celsius(_BATH_F), convection.ICE_BATH) if way is Way.BATH else None,
            covered=covered,
        )


def _celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32) / 1.8


def main() -> None:
    """Print a table for each kind of food, container and way: a row for each depth."""
    tables = []
    for prior, container, way in product(PUBLISHED[Nature.THICK], Container, Way):
        rows = (summed_up(prior, container, way, depth) for depth in DEPTHS_IN)
        lines = ",\n".join(f"  {[round(one, 3) for one in row]}" for row in rows)
        tables.append(f'"{row_key(prior, container, way)}": [\n{lines}\n]')
    print("{\n" + ",\n".join(tables) + "\n}")


if __name__ == "__main__":
    main()
