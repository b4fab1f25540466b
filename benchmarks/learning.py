"""How much sharper forecasts get as a kitchen's record grows, and whether they still hold.

    python benchmarks/learning.py [--kitchens 40] [--seed last]

A simulated kitchen makes one food again and again: the same container and method, but each batch
is filled and placed a little differently (its rate varies by 15 % SD).
Kitchens are drawn by the truths of benchmarks/forecast.py. Every batch is forecast from three
readings over an hour; then all its readings join the record.
"""

import argparse
import statistics
import sys
import time
from collections.abc import Sequence
from math import inf
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).parents[1]))

from benchmarks.forecast import AT_START, LEVELS, STEP, TRUTHS, Batch, Score, Truth, batch, times
from haccp.physics.forecast import forecast
from haccp.physics.forecast_prior import Nature, Surroundings
from haccp.physics.learning import Finished, learn

LOOKS = (0, 30, 60)
SIZES = (0, 1, 5, 20, 100)
NEXT = 4


def another(rng: Random, first: Batch) -> Batch:
    """The kitchen's next batch: its clock runs faster or slower, its thermometer is another one."""
    pace = rng.lognormvariate(0.0, 0.15)
    count = round(len(first.truth.temperatures) / pace)
    truth = Truth([first.truth.at(i * STEP * pace) for i in range(count)])
    told = first.true_air + rng.gauss(0, 1)
    return Batch(truth, first.true_air, told, rng.gauss(0, 0.6), noise(rng))


def noise(rng: Random) -> Sequence[float]:
    return [rng.gauss(0, 0.8) for _ in range(97)]


def history(one: Batch) -> Finished:
    """Readings every half hour for two hours, then hourly, to the last level or ten hours."""
    minutes = [0, 30, 60, 90, 120, *range(180, 601, 60)]
    readings = one.readings(minutes)
    return Finished(tuple(readings), Surroundings.measured(one.air))


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--kitchens", type=int, default=40)
    parser.add_argument("--seed", default="last")
    asked = parser.parse_args()
    print(
        f"{asked.kitchens} kitchens each, the next {NEXT} batches of each: coverage, late, width,\n"
        "open ends, Brier, sure/kept/wrong for 70 °F; then the width of 41 °F; and the width of\n"
        "70 °F beside that with no history"
    )
    for told in (True, False):
        for name, (_, own) in TRUTHS.items():
            food = own if told else Nature.UNKNOWN
            before = None
            for size in SIZES:
                rng = Random(f"{asked.seed} {name}")
                scores = [Score() for _ in LEVELS]
                spent = []
                for _ in range(asked.kitchens):
                    first = batch(rng, name, harsh=False)
                    record = [history(another(rng, first)) for _ in range(max(SIZES))][:size]
                    begun = time.perf_counter()
                    known = learn(food, record)
                    spent.append(1000 * (time.perf_counter() - begun))
                    for _ in range(NEXT):
                        one = another(rng, first)
                        found = forecast(
                            one.readings(LOOKS),
                            Surroundings.measured(one.air),
                            food,
                            AT_START,
                            LEVELS,
                            known,
                        )
                        assert found is not None
                        for i, level in enumerate(LEVELS):
                            low, high, chance = times(found, i)
                            true = one.truth.reaches(level.fahrenheit)
                            scores[i].add(low, high, chance, chance >= 0.9, true, level.within)
                width = statistics.median(scores[0].widths)
                before = before or width
                later = [w for w in scores[1].widths if w < inf]
                print(
                    f"{'told' if told else 'unknown':8}{name:12}{size:4} batches  {scores[0]}  "
                    f"41 °F {scores[1].covered / scores[1].n:.3f} {scores[1].late / scores[1].n:.3f} "
                    f"{statistics.median(later):.2f}  {width / before:.2f} of the width, "
                    f"learned in {statistics.median(spent):.0f} ms",
                    flush=True,
                )


if __name__ == "__main__":
    main()
