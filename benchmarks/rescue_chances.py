"""How good the chances of a rescue's acts are, each case alike and weighed by the readings so far.

    python benchmarks/rescue_chances.py [--batches 100] [--seed last]

Thick food is simulated by other equations than the planner's: a layer in steps of time, with a
coefficient at its top and another at its bottom that fade with the gap, drawn from wider ranges. It
stands in a cooler for an hour, with four readings in whole degrees (thermometer and air as in
benchmarks/forecast.py); then an act is done, and it is looked whether both levels are kept with 60
and 300 minutes left. Only batches above 90 °F at the hour count. The depth is told give or take a
tenth (SD), to the nearest half inch, or not at all.
"""

import argparse
import sys
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from haccp.physics import planning
from haccp.physics.conduction import Array
from haccp.physics.convection import STILL_AIR
from haccp.physics.cooling_setup import Consistency, Medium, Pan, Setup, Stage
from haccp.physics.properties import foods
from haccp.physics.rescue import acts, chance, weigh
from haccp.quantities import INCH_M

LAYERS = 20
LOOKS = (0.0, 20.0, 40.0, 60.0)
LEFT = ((70.0, 60.0), (41.0, 300.0))
USUAL_IN = (2.0, 3.0, 4.0)


def celsius(fahrenheit: Array | float) -> Array:
    return np.asarray((fahrenheit - 32) / 1.8)


@dataclass
class Foods:
    """Batches side by side (n,), as warm as they are in each layer (n, layers) [°C, m, W/m K]."""

    rng: np.random.Generator
    depth: Array
    k: Array
    capacity: Array
    warm: Array

    def ratio(self, low: float, high: float) -> Array:
        share: Array = self.rng.uniform(0, 1, len(self.depth))
        return np.asarray(low * (high / low) ** share)

    def evenly(self, low: float, high: float) -> Array:
        return np.asarray(self.rng.uniform(low, high, len(self.depth)))

    def conducts(
        self, medium: Array, top: Array, bottom: Array, fade: Array, minutes: Sequence[float]
    ) -> Array:
        """Cool them, and give the warmest layer at these minutes, which rise (n, m)."""
        size = self.depth / LAYERS
        step = 0.35 * float((size**2 * self.capacity / self.k).min())
        now, out = 0.0, []
        for until in minutes:
            count = int((60 * until - now) / step) + 1
            seconds = (60 * until - now) / count
            for _ in range(count if seconds else 0):
                self._step(medium, (top, bottom), fade, size, seconds)
            now = 60 * until
            out.append(self.warm.max(axis=1))
        return np.array(out).T

    def _step(
        self, medium: Array, faces: tuple[Array, Array], fade: Array, size: Array, seconds: float
    ) -> None:
        gain = np.zeros_like(self.warm)
        between = self.k[:, None] * np.diff(self.warm, axis=1) / size[:, None]
        gain[:, :-1] += between
        gain[:, 1:] -= between
        for place, face in zip((-1, 0), faces, strict=True):
            gap = np.maximum(self.warm[:, place] - medium, 0.01)
            through = 1 / (1 / (face * (gap / 50) ** fade) + size / 2 / self.k)
            gain[:, place] -= through * gap
        self.warm = self.warm + gain * seconds / (self.capacity * size)[:, None]

    def mixed(self, depth: Array) -> "Foods":
        return replace(
            self, depth=depth, warm=np.repeat(self.warm.mean(axis=1)[:, None], LAYERS, 1)
        )


def kept(at: Array) -> Array:
    """Whether both levels are kept (n,), by the temperatures at their deadlines (n, 2)."""
    return np.asarray((at <= celsius(np.array([level for level, _ in LEFT])) + 1e-9).all(axis=1))


def done(food: Foods, air: Array, top: Array, bottom: Array, fade: Array) -> dict[str, Array]:
    """Do each act, and say which batches it saves."""
    deadlines = [minutes for _, minutes in LEFT]
    none = np.zeros_like(fade)
    frozen = celsius(food.evenly(-5.0, 5.0))
    chilled = planning.BLAST_CHILLER.celsius + food.evenly(-2.0, 2.0)

    def moved(some: Foods, medium: Array, low: float, high: float) -> Array:
        faces = some.ratio(low, high) * some.evenly(1, 1.5), some.ratio(low, high)
        return kept(replace(some).conducts(medium, *faces, none, deadlines))

    one, two = (food.mixed(np.minimum(food.depth, inches * INCH_M)) for inches in (1.0, 2.0))
    through = 1 / (1 / food.ratio(50, 400) + 1 / food.ratio(12, 90)) * (1 + 2 * food.depth / 0.3)
    bath = celsius(33.0) + food.evenly(0, 1)
    gap = food.warm.mean(axis=1) - bath
    stirred = [
        bath + gap * np.exp(-60 * minutes * through / food.capacity / food.depth)
        for minutes in deadlines
    ]
    return {
        "in moved air, right at the fan": moved(food, air, 9, 22),
        "in the freezer, in moved air": moved(food, frozen, 9, 22),
        "in the blast chiller": moved(food, chilled, 25, 50),
        "in an ice bath in the cooler, stirred": kept(np.array(stirred).T),
        "1 in (2.5 cm) deep in pans, in the cooler": kept(
            one.conducts(air, top, bottom, fade, deadlines)
        ),
        "2 in (5 cm) deep in pans, in the freezer, in moved air": moved(two, frozen, 9, 22),
    }


def setups(depths: Sequence[float], air: float, start: float) -> list[Setup]:
    stages = tuple(Stage(float(celsius(level)), minutes) for level, minutes in LEFT)
    return [
        Setup(
            foods()["bean-stew"].composition,
            Consistency.THICK,
            Pan(19.5 * INCH_M, 11.5 * INCH_M, depth * INCH_M),
            Medium(air, STILL_AIR),
            start,
            stages,
        )
        for depth in depths
    ]


def measure(batches: int, seed: str, told: bool) -> None:
    rng = np.random.default_rng([*seed.encode(), told])
    start, nothing = celsius(rng.uniform(134, 138, batches)), np.zeros(batches)
    food = Foods(
        rng, rng.uniform(1.5, 4.0, batches) * INCH_M, rng.uniform(0.46, 0.58, batches),
        nothing, np.repeat(start[:, None], LAYERS, 1),
    )  # fmt: skip
    food.capacity = food.k / rng.uniform(1.30e-7, 1.44e-7, batches)
    air, fade = celsius(rng.uniform(34, 40, batches)), food.evenly(0, 0.2)
    top = food.ratio(6, 18) * food.evenly(1, 1.8)
    bottom = food.ratio(6, 18) * food.evenly(0.6, 1)
    warm = food.conducts(air, top, bottom, fade, LOOKS) * 1.8 + 32
    error = rng.normal(0, 0.6, batches)[:, None] + rng.normal(0, 0.8, warm.shape)
    shown = celsius(np.round(warm + error))
    said = np.maximum(np.round(2 * food.depth / INCH_M * (1 + rng.normal(0, 0.1, batches))) / 2, 1)
    said_air = air + rng.normal(0, 1 / 1.8, batches)
    truths = done(food, air, top, bottom, fade)
    misses: dict[str, list[tuple[float, float, float]]] = {words: [] for words in truths}
    for i in np.flatnonzero(shown[:, -1] > celsius(90.0)):
        depths = (float(said[i]),) if told else USUAL_IN
        mine = setups(depths, float(said_air[i]), float(shown[i, -1]))
        weights = weigh(mine, LOOKS, shown[i])
        for act in acts(max(depths)):
            if act.words in truths:
                true = float(truths[act.words][i])
                then = [act.change(one) for one in mine]
                each = (chance(then)[-1], chance(then, weights)[-1])
                misses[act.words].append((true, (each[0] - true) ** 2, (each[1] - true) ** 2))
    print(f"\ndepth {'told' if told else 'not told'}: batches, saved, Brier: each alike, weighed")
    everything = [one for some in misses.values() for one in some]
    for words, some in (*misses.items(), ("together", everything)):
        if some:
            saved, alike, weighed = np.mean(some, axis=0)
            print(f"{len(some):6} {saved:.2f}  {alike:.3f}  {weighed:.3f}  {words}", flush=True)


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--batches", type=int, default=100)
    parser.add_argument("--seed", default="last")
    asked = parser.parse_args()
    for told in (False, True):
        measure(asked.batches, asked.seed, told)


if __name__ == "__main__":
    main()
