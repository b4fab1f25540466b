"""Which readings a forecast takes for evidence: hot starts, an untold nature, a logger's minutes.

    python benchmarks/forecast_evidence.py [--batches 60] [--seed last]

Each is measured beside what it was: without the readings above 140 °F, and with a logger's readings
taken as independent. A logger's errors are a constant one (SD 0.6 °F) and one that changes slowly
(SD 0.8 °F, by half in ten minutes), shown to a tenth of a degree.
"""

import argparse
import sys
import time
from collections.abc import Sequence
from math import exp, sqrt
from pathlib import Path
from random import Random
from unittest.mock import patch

sys.path.insert(0, str(Path(__file__).parents[1]))

from benchmarks.forecast import AT_START, LEVELS, TRUTHS, Truth
from benchmarks.forecast_changes import PLANS, Count, readings_of
from haccp.physics.forecast import Start, forecast
from haccp.physics.forecast_prior import Nature, Surroundings
from haccp.physics.forecast_readings import Point

HOT_PLANS = {"4 in 60 min": (0, 20, 40, 60), "6 in 75 min": PLANS["6 in 75 min"]} | {
    "hourly 3": (0, 60, 120)
}
HEAD = "n, covered, late, on course, of these wrong"


def told(air: float, rng: Random) -> Surroundings:
    return Surroundings.measured(air + rng.gauss(0, 1.0))


def hot_starts(batches: int, seed: str) -> None:
    """Thick food whose cooling begins above 140 °F; its time counts from 135 °F."""
    print(f"thick food, hot start: {HEAD}; without the readings above 140 °F, with them")
    for name in ("lagged", "slab"):
        for plan, minutes in HOT_PLANS.items():
            rng = Random(f"{seed} hot {name} {plan}")
            before, now = Count(), Count()
            for _ in range(batches):
                with patch("benchmarks.forecast.a_start", lambda rng: rng.uniform(142, 180)):
                    truth, air = TRUTHS[name][0](rng, False)
                begun = truth.reaches(135.0)
                shown = readings_of(rng, truth, minutes)
                cooler = [one for one in shown if one[1] <= 140]
                if len(cooler) < 2 or truth.at(minutes[-1]) <= 72:
                    continue
                around = told(air, rng)
                for count, some in ((before, cooler), (now, shown)):
                    found = forecast(some, around, Nature.THICK, Start(begun, begun), LEVELS)
                    assert found
                    count.add(found, truth, True, since=begun)
            print(f"{name:12}{plan:14} {before}   {now}", flush=True)


def untold_nature(batches: int, seed: str) -> None:
    print(f"\nopen liquid, nature told and untold: {HEAD}")
    whole = [Count(), Count()]
    for plan, minutes in PLANS.items():
        counts = [Count(), Count()]
        rng = Random(f"{seed} untold {plan}")
        for _ in range(batches):
            truth, air = TRUTHS["evaporating"][0](rng, False)
            if truth.at(minutes[-1]) <= 42:
                continue
            shown, around = readings_of(rng, truth, minutes), told(air, rng)
            for count, food in zip(counts, (Nature.OPEN_LIQUID, Nature.UNKNOWN), strict=True):
                found = forecast(shown, around, food, AT_START, LEVELS)
                assert found
                count.add(found, truth, True)
        print(f"{plan:14} {counts[0]}   {counts[1]}", flush=True)
        whole = [a + b for a, b in zip(whole, counts, strict=True)]
    print(f"{'together':14} {whole[0]}   {whole[1]}", flush=True)


def logged(rng: Random, truth: Truth, minutes: int) -> list[Point]:
    """A logger's readings, one a minute."""
    keeps, bias, error = exp(-1 / 14.4), rng.gauss(0, 0.6), rng.gauss(0, 0.8)
    out = []
    for minute in range(minutes + 1):
        error = keeps * error + sqrt(1 - keeps * keeps) * rng.gauss(0, 0.8)
        out.append((float(minute), round(truth.at(minute) + bias + error, 1)))
    return out


def whole(timeline: Sequence[Point], _: Nature = Nature.UNKNOWN) -> tuple[Point, ...]:
    return tuple(timeline)


def loggers(batches: int, seed: str) -> None:
    print(f"\na logger's minutes: {HEAD}; all as independent, now; of these told to stand")
    for name, (make, food) in TRUTHS.items():
        for minutes in (60, 120, 240):
            rng = Random(f"{seed} logger {name} {minutes}")
            before, now, stand, n = Count(), Count(), 0, 0
            for _ in range(batches):
                truth, air = make(rng, False)
                if truth.at(minutes) <= 42:
                    continue
                shown, around = logged(rng, truth, minutes), told(air, rng)
                found = forecast(shown, around, food, AT_START, LEVELS)
                assert found
                now.add(found, truth, True)
                n, stand = n + 1, stand + (found.stands_since is not None)
                if n > batches // 6:  # slow
                    continue
                with (
                    patch("haccp.physics.forecast.relevant", whole),
                    patch("haccp.physics.forecast.spread", whole),
                    patch("haccp.physics.forecast.newest", return_value=()),
                ):
                    old = forecast(shown, around, food, AT_START, LEVELS)
                assert old
                before.add(old, truth, True)
            print(f"{name:12}{minutes:4} min {before}   {now}   {stand} of {n}", flush=True)


def stopped(batches: int, seed: str) -> None:
    """It falls by Newton's law, and from a moment on no more."""
    print("\nfood that stops falling, a logger's minutes: told after so many minutes")
    for after in (10, 20, 30, 45):
        rng, said = Random(f"{seed} stopped {after}"), 0
        for _ in range(batches):
            truth, air = TRUTHS["newton"][0](rng, False)
            at = rng.randrange(40, 100)
            stands = Truth([truth.at(min(2.0 * i, at)) for i in range(200)])
            shown = logged(rng, stands, at + after)
            found = forecast(shown, told(air, rng), Nature.STIRRED, AT_START, LEVELS)
            assert found
            said += found.stands_since is not None
        print(f"  {after} min: {said} of {batches}", flush=True)


def timed() -> None:
    rng = Random("a day")
    truth = Truth([38 + 97 * exp(-0.15 * i / 30) for i in range(800)])
    shown = logged(rng, truth, 1440)
    spent = []
    for _ in range(9):
        begun = time.process_time()
        forecast(shown, Surroundings.measured(36), Nature.UNKNOWN, AT_START, LEVELS)
        spent.append(1000 * (time.process_time() - begun))
    print(
        f"\na day of a logger's minutes: {sorted(spent)[4]:.0f} ms of CPU, at most {max(spent):.0f}"
    )


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--batches", type=int, default=60)
    parser.add_argument("--seed", default="last")
    asked = parser.parse_args()
    timed()
    stopped(asked.batches, asked.seed)
    hot_starts(asked.batches, asked.seed)
    untold_nature(asked.batches, asked.seed)
    loggers(asked.batches, asked.seed)


if __name__ == "__main__":
    main()
