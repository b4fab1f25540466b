"""What the planner's cases add to a forecast as its prior, and what they cost where they are wrong.

    python benchmarks/forecast_plan.py [--batches 300] [--seed last] [--only TRUTH]

Coolings of a known depth, simulated from other equations than the planner's: a slab's series with a
constant coefficient, and one whose coefficient fades. The depth that is told is the true one give
or take a tenth (SD), to the nearest half inch; two truths are told wrong: as in a blast chiller,
and as half as deep as they are.
Readings and air are as in benchmarks/forecast.py. The numbers of `plan_prior` were tuned on the
seed "tune".
"""

import argparse
import sys
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from math import ceil
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).parents[1]))

from benchmarks.forecast import (
    AT_START,
    COLDEST,
    LEVELS,
    PLANS,
    STEP,
    Batch,
    Score,
    Truth,
    a_start,
    an_air,
    slab_of,
    times,
)
from haccp.physics.forecast import Outlook, forecast, outlook
from haccp.physics.forecast_prior import Nature, Prior, Surroundings
from haccp.physics.plan_prior import Container, Way, plan_prior

INCH = 0.0254


@dataclass(frozen=True)
class Cooling:
    truth: Truth
    air: float
    depth_in: float


def slab(rng: Random, low: float, high: float) -> Cooling:
    air, deep = an_air(rng), rng.uniform(1.0, 4.0)
    return Cooling(slab_of(rng, air, a_start(rng), deep, rng.uniform(low, high)), air, deep)


def fading(rng: Random) -> Cooling:
    """A slab whose coefficient fades with the gap, as free convection's does: finite differences.

    Half of it in twelve layers, the first at the face; a second is stable for the thinnest.
    """
    air, begun, deep = an_air(rng), a_start(rng), rng.uniform(1.0, 4.0)
    k, diffusivity, h = rng.uniform(0.46, 0.58), rng.uniform(1.30e-7, 1.44e-7), rng.uniform(8, 22)
    power = rng.uniform(0.1, 0.25)
    n = 12
    size = deep * INCH / 2 / n
    seconds = 0.4 * size**2 / diffusivity
    per_step = max(1, ceil(60 * STEP / seconds))
    seconds = 60 * STEP / per_step
    share = diffusivity * seconds / size**2
    layers, out = [begun] * n, [begun]
    while out[-1] > COLDEST and len(out) < 1500:
        for _ in range(per_step):
            gap = layers[0] - air
            into = 1 / (1 / max(h * (max(gap, 0.01) / 90) ** power, 0.1) + size / 2 / k)
            flows = [into * gap * size / k]
            flows += [b - a for a, b in pairwise(layers)]
            layers = [
                one - share * (flow - (flows[i + 1] if i + 1 < n else 0.0))
                for i, (one, flow) in enumerate(zip(layers, flows, strict=True))
            ]
        out.append(layers[-1])
    return Cooling(Truth(out), air, deep)


@dataclass(frozen=True)
class Told:
    """A truth, and what is said of it; `times_depth` is what the depth is said to be of itself."""

    make: Callable[[Random], Cooling]
    way: Way
    times_depth: float = 1.0


TRUTHS = {
    "slab, air": Told(lambda rng: slab(rng, 7, 20), Way.AIR),
    "slab, blast": Told(lambda rng: slab(rng, 20, 45), Way.BLAST),
    "slab, fading": Told(fading, Way.AIR),
    "slab, said blast": Told(lambda rng: slab(rng, 7, 20), Way.BLAST),
    "deeper than said": Told(lambda rng: slab(rng, 7, 20), Way.AIR, 0.5),
}


@dataclass
class Both:
    """A score, and how often "on course" was said, and wrongly, at its level."""

    score: Score
    sure: int = 0
    wrong: int = 0


@dataclass(frozen=True)
class Planned(Batch):
    """A batch, and the prior of the plan that was said."""

    known: tuple[Prior, ...] | None


def drawn(rng: Random, told: Told) -> Planned:
    while True:
        one = told.make(rng)
        if one.truth.at(75) > 72:
            break
    noise = [rng.gauss(0, 0.8) for _ in range(97)]
    bias, air = rng.gauss(0, 0.6), one.air + rng.gauss(0, 1.0)
    said = one.depth_in * told.times_depth * (1 + rng.gauss(0, 0.1))
    known = plan_prior(Container.PAN, told.way, max(round(2 * said) / 2, 1.0))
    return Planned(one.truth, one.air, air, bias, noise, known)


def measure(name: str, plan: str, batches: int, seed: str) -> None:
    told, minutes = TRUTHS[name], PLANS[plan]
    rng = Random(f"{seed} {name} {plan}")
    counts = [[Both(Score()) for _ in LEVELS] for _ in range(2)]
    for _ in range(batches):
        one = drawn(rng, told)
        shown, around = one.readings(minutes), Surroundings.measured(one.air)
        for mine, known in zip(counts, (None, one.known), strict=True):
            found = forecast(shown, around, Nature.THICK, AT_START, LEVELS, known)
            assert found
            for i, (count, level) in enumerate(zip(mine, LEVELS, strict=True)):
                low, high, chance = times(found, i)
                true = one.truth.reaches(level.fahrenheit)
                count.score.add(low, high, chance, chance >= 0.9, true, level.within)
                is_sure = outlook(found.arrivals[i]) is Outlook.ON_COURSE
                count.sure += is_sure
                count.wrong += is_sure and true > level.within
    for i, level in enumerate(LEVELS):
        cells = "   |   ".join(f"{one[i].score} {one[i].sure:3}/{one[i].wrong}" for one in counts)
        print(f"{name:17}{plan:12}{level.fahrenheit:3.0f} °F  {cells}", flush=True)


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--batches", type=int, default=300)
    parser.add_argument("--seed", default="last")
    parser.add_argument("--only", default="", choices=["", *TRUTHS])
    asked = parser.parse_args()
    print(
        "published prior | the plan's cases: coverage, late, width over the true time, open ends,\n"
        "Brier, called sure / kept / sure and failed, said to be on course / wrongly"
    )
    for name in TRUTHS:
        for plan in PLANS:
            if asked.only in ("", name):
                measure(name, plan, asked.batches, asked.seed)


if __name__ == "__main__":
    main()
