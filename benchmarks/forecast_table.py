"""One table of all simulated coolings: how often the forecast was right, beside two plain methods.

    python benchmarks/forecast_table.py [--batches 100] [--seed table] [--only GROUP]

The truths are those of `forecast.py`, `forecast_changes.py`, `forecast_evidence.py` (thick food that
starts hot) and `forecast_plan.py`, each by the plans of its own benchmark; here plans and levels are
taken together. Nothing was tuned on the seed "table". Of a cooling that changes only those forecasts
count that have two readings after the change. Newton's law is given the air as exact, 38 °F where
nobody said.
"""

import argparse
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from unittest.mock import patch

sys.path.insert(0, str(Path(__file__).parents[1]))

from benchmarks import forecast, forecast_changes, forecast_evidence, forecast_plan
from benchmarks.forecast import LEVELS, Score, Truth, newton_exact, times, two_point
from haccp.physics.forecast import Goal, Outlook, Start, outlook
from haccp.physics.forecast import forecast as forecast_of
from haccp.physics.forecast_prior import Nature, Prior, Surroundings
from haccp.physics.forecast_readings import Point

HOURLY = {"hourly 3": (0, 60, 120)}
COOLER_F = 38.0


@dataclass(frozen=True)
class Case:
    """A cooling as it was, and what was told of it; its time counts from `begun`."""

    truth: Truth
    readings: Sequence[Point]
    air: float | None
    food: Nature
    begun: float = 0.0
    known: tuple[Prior, ...] | None = None


@dataclass
class Row:
    """What is counted of one truth: the forecast, Newton's law and the rate of two points."""

    ours: Score = field(default_factory=Score)
    newton: Score = field(default_factory=Score)
    points: Score = field(default_factory=Score)
    said: dict[Outlook, list[int]] = field(
        default_factory=lambda: {Outlook.ON_COURSE: [0, 0], Outlook.UNLIKELY: [0, 0]}
    )

    def add(self, one: Case) -> None:
        around = Surroundings.unknown() if one.air is None else Surroundings.measured(one.air)
        start = Start(one.begun, one.begun)
        found = forecast_of(one.readings, around, one.food, start, LEVELS, one.known)
        assert found
        air = COOLER_F if one.air is None else one.air
        for i, (arrival, level) in enumerate(zip(found.arrivals, LEVELS, strict=True)):
            if arrival.reached:
                continue
            true, within = one.truth.reaches(level.fahrenheit), one.begun + level.within
            goal = Goal(level.fahrenheit, within)
            self.ours.add(*times(found, i), False, true, within)
            self.newton.add(*newton_exact(one.readings, air, goal), False, true, within)
            point = two_point(one.readings, air, goal)
            self.points.add(point, point, float(point <= within), False, true, within)
            words = outlook(arrival, told=one.air is not None)
            if words in self.said:
                counted = self.said[words]
                counted[0] += 1
                counted[1] += (true <= within) is (words is Outlook.UNLIKELY)

    def take_up(self, other: "Row") -> None:
        for mine, its in (
            (self.ours, other.ours),
            (self.newton, other.newton),
            (self.points, other.points),
        ):
            for name, value in vars(its).items():
                setattr(mine, name, getattr(mine, name) + value)
        for words, counted in other.said.items():
            self.said[words] = [a + b for a, b in zip(self.said[words], counted, strict=True)]

    def __str__(self) -> str:
        ours = self.ours
        n = max(ours.n, 1)
        words = " ".join(f"{said:6}/{wrong:<5}" for said, wrong in self.said.values())
        brier = " ".join(f"{one.brier / n:.3f}" for one in (ours, self.newton, self.points))
        width = sorted(ours.widths)[len(ours.widths) // 2] if ours.widths else 0.0
        return f"{ours.n:6} {ours.covered / n:.3f} {ours.late / n:.3f} {width:5.2f} {words} {brier}"


def unchanging(rng: Random, name: str, minutes: Sequence[int]) -> Case | None:
    one = forecast.batch(rng, name, False)
    return Case(one.truth, one.readings(minutes), one.air, forecast.TRUTHS[name][1])


def changing(rng: Random, name: str, minutes: Sequence[int]) -> Case | None:
    make, food = forecast_changes.CHANGING[name]
    one = make(rng)
    shown = forecast_changes.readings_of(rng, one.truth, tuple(minutes))
    air = None if one.air is None else one.air + rng.gauss(0, 1.0)
    return Case(one.truth, shown, air, food) if sum(m >= one.at for m in minutes) >= 2 else None


def hot(rng: Random, name: str, minutes: Sequence[int]) -> Case | None:
    with patch("benchmarks.forecast.a_start", lambda rng: rng.uniform(142, 180)):
        truth, air = forecast.TRUTHS[name][0](rng, False)
    shown = forecast_changes.readings_of(rng, truth, tuple(minutes))
    return Case(truth, shown, air + rng.gauss(0, 1.0), Nature.THICK, truth.reaches(135.0))


def planned(rng: Random, name: str, minutes: Sequence[int]) -> Case | None:
    one = forecast_plan.drawn(rng, forecast_plan.TRUTHS[name])
    return Case(one.truth, one.readings(minutes), one.air, Nature.THICK, known=one.known)


Make = Callable[[Random, str, Sequence[int]], Case | None]
GROUPS: dict[str, tuple[Make, Iterable[str], dict[str, tuple[int, ...]]]] = {
    "unchanging": (unchanging, forecast.TRUTHS, forecast.PLANS | HOURLY),
    "changing, given": (changing, forecast_changes.GIVEN, forecast_changes.PLANS),
    "changing, unseen": (changing, forecast_changes.UNSEEN, forecast_changes.PLANS),
    "thick, starts at 142 to 180 °F": (hot, ("lagged", "slab"), forecast_evidence.HOT_PLANS),
    "the plan's cases as prior": (planned, forecast_plan.TRUTHS, forecast.PLANS),
}


def rows(group: str, batches: int, seed: str) -> Iterator[tuple[str, Row]]:
    make, names, plans = GROUPS[group]
    together = Row()
    for name in names:
        row = Row()
        for plan, minutes in plans.items():
            rng = Random(f"{seed} {group} {name} {plan}")
            for _ in range(batches):
                one = make(rng, name, minutes)
                if one and one.truth.at(minutes[-1]) > 42:
                    row.add(one)
        together.take_up(row)
        yield name, row
    yield "together", together


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--batches", type=int, default=100)
    parser.add_argument("--seed", default="table")
    parser.add_argument("--only", default="", choices=["", *GROUPS])
    asked = parser.parse_args()
    print(
        "forecasts, coverage of the 90 % interval, later than its end, median width over the true\n"
        "time, on course/wrong, unlikely/wrong, Brier: forecast, Newton, two points"
    )
    for group in [asked.only] if asked.only else GROUPS:
        print(f"\n{group}, {asked.batches} batches a plan")
        for name, row in rows(group, asked.batches, asked.seed):
            print(f"{name:20} {row}", flush=True)


if __name__ == "__main__":
    main()
