"""What the planner expects of thick food, as the prior of its forecast.

The planner's cases (`cooling_cases`) need arrays, and a library that no cook's entry waits for. So
they are summed up beforehand in `plan_priors.json`: for each container, way of cooling and depth
the mean and covariance of the scores of lag and rate (`forecast_prior.Prior`). What a plan cannot
tell, by how much food slows down near the air, is left as published, or deeper (`_FADES`). All rows
are written by

    python benchmarks/plan_priors.py > haccp/physics/plan_priors.json

Food that mixes itself or is stirred is left out: two readings tell its rate as well as a plan does
(nothing was gained), and its slow-down decides, which the planner puts too low.
"""

import json
from dataclasses import replace
from enum import Enum
from functools import cache
from importlib.resources import files
from math import log

from haccp.physics.forecast_prior import PUBLISHED, Nature, Prior


class Way(Enum):
    """What takes the heat. Nobody says whether a cooler's air is moved at the pan: either."""

    AIR = "air"
    BATH = "ice bath"
    BLAST = "blast chiller"


class Container(Enum):
    PAN = "pan"
    POT = "pot"


DEPTHS_IN = (1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0)
# A little shallower or deeper than the table's ends is taken for them.
_NEAR = 1.3
# The planner's cases are as sure of themselves as their published ranges. Beside measured coolings
# half of them are too narrow (benchmarks/planning.py): added to the variances of lag and rate.
_WIDER = (0.1, 0.09)
# Free convection fades with the fourth root of the gap: by a logarithm of 0.74 from 95 °F of gap to
# 5, where nothing inside the food hinders. The published slow-down of thick food ends at half of
# that; with a rate so well known it made food late (`benchmarks/forecast_plan.py`, a slab whose
# coefficient fades). It is deeper by this factor.
_FADES = {Way.AIR: 1.6}
# Of so many batches the setup is not as was said, or the planner is wrong: they keep the published
# prior, and their own readings tell.
_UNLIKE = 0.3


def plan_prior(container: Container, way: Way, depth_in: float) -> tuple[Prior, ...] | None:
    """What the planner's cases expect of thick food so deep [in]; None beyond their depths."""
    if not DEPTHS_IN[0] / _NEAR <= depth_in <= DEPTHS_IN[-1] * _NEAR:
        return None
    depth = min(max(depth_in, DEPTHS_IN[0]), DEPTHS_IN[-1])
    i = next(i for i in range(1, len(DEPTHS_IN)) if depth <= DEPTHS_IN[i])
    deeper = log(depth / DEPTHS_IN[i - 1]) / log(DEPTHS_IN[i] / DEPTHS_IN[i - 1])
    known = []
    for prior in PUBLISHED[Nature.THICK]:
        above, below = _table()[row_key(prior, container, way)][i - 1 : i + 1]
        row = (a + deeper * (b - a) for a, b in zip(above, below, strict=True))
        lag, rate, lag_spread, both, rate_spread = row
        spread = (
            (lag_spread + _WIDER[0], 0.0, both),
            (0.0, 1.0, 0.0),
            (both, 0.0, rate_spread + _WIDER[1]),
        )
        known.append(
            replace(
                prior, mean=(lag, 0.0, rate), spread=spread, fading=_FADES.get(way, prior.fading)
            )
        )
    return tuple(
        replace(one, weight=share * one.weight)
        for share, some in ((1 - _UNLIKE, known), (_UNLIKE, PUBLISHED[Nature.THICK]))
        for one in some
    )


def row_key(prior: Prior, container: Container, way: Way) -> str:
    return f"order {prior.order}, {container.value}, {way.value}"


@cache
def _table() -> dict[str, list[list[float]]]:
    return json.loads(  # type: ignore[no-any-return]
        (files("haccp.physics") / "plan_priors.json").read_text("utf-8")
    )
