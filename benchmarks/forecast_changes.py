"""Coolings that change and nobody says so: how often the forecast assures a cook wrongly.

    python benchmarks/forecast_changes.py [--batches 100] [--seed last] [--only TRUTH]

The first six truths are those that the forecast was made better on; the others were written before
it was measured on them, and nothing was tuned on them. Each plan's forecast is made at its last
reading; only those count that have at least two readings after the change. `all` is the fit of all
readings alone, as it was before the newest were asked, `now` the forecast. Readings and air are as
in benchmarks/forecast.py.
"""

import argparse
import sys
from collections.abc import Callable
from dataclasses import dataclass
from math import exp
from pathlib import Path
from random import Random
from unittest.mock import patch

sys.path.insert(0, str(Path(__file__).parents[1]))

from benchmarks.forecast import (
    AT_START,
    LEVELS,
    TRUTHS,
    Truth,
    a_start,
    an_air,
    integrated,
    vapour_pressure,
)
from haccp.physics.forecast import Forecast, Outlook, Pace, forecast, outlook
from haccp.physics.forecast_prior import Nature, Surroundings
from haccp.physics.forecast_readings import Point

PLANS = {
    "3 in 60 min": (0, 30, 60),
    "4 in 60 min": (0, 20, 40, 60),
    "6 in 75 min": (0, 15, 30, 45, 60, 75),
    "hourly 3": (0, 60, 120),
    "hourly 4": (0, 60, 120, 180),
    "half-hourly 5": (0, 30, 60, 90, 120),
    "hourly 5": (0, 60, 120, 180, 240),
}


@dataclass(frozen=True)
class Changing:
    """A cooling, when it changed, and the air that is told; None where nothing is."""

    truth: Truth
    at: float
    air: float | None


def newton(rng: Random, rates: tuple[float, float], airs: tuple[float, float], at: float) -> Truth:
    """Newton's law at one rate and air up to a moment, at the other ones from then on."""

    def slope(minute: float, now: float) -> float:
        i = int(minute >= at)
        return -rates[i] / 60 * (now - airs[i])

    return integrated(slope, a_start(rng))


def bath_then_walk_in(rng: Random) -> Changing:
    bath, air = rng.uniform(32.5, 34.5), an_air(rng)
    rates = rng.uniform(0.6, 1.3), rng.uniform(0.08, 0.25)
    return Changing(newton(rng, rates, (bath, air), 45), 45, air)


def wand_out(rng: Random) -> Changing:
    air = an_air(rng)
    rates = rng.uniform(0.8, 1.6), rng.uniform(0.08, 0.25)
    return Changing(newton(rng, rates, (air, air), 30), 30, air)


def lid_on(rng: Random) -> Changing:
    """An open pan that evaporates, until a lid is laid on it."""
    air, at = an_air(rng), rng.uniform(15, 45)
    cold = (air - 32) / 1.8
    capacity = 4.0e6 * rng.uniform(0.04, 0.10)
    top, rest, wet = rng.uniform(6, 15), rng.uniform(4, 12), rng.uniform(0.5, 1.0)
    moist = 0.85 * vapour_pressure(cold)

    def slope(minute: float, now: float) -> float:
        celsius = (now - 32) / 1.8
        gap = celsius - cold
        open_top = gap + wet * 16.5 * (vapour_pressure(celsius) - moist)
        flux = top * (open_top if minute < at else 0.3 * gap) + rest * gap
        return -flux / capacity * 60 * 1.8

    return Changing(integrated(slope, a_start(rng)), at, air)


def gel_sets(rng: Random) -> Changing:
    """A liquid that mixes itself, until it sets at some temperature and only conducts."""
    air, sets = an_air(rng), rng.uniform(75, 105)
    fast, slow = rng.uniform(0.5, 1.2), rng.uniform(0.25, 0.55)

    def slope(_: float, now: float) -> float:
        share = min(max((now - sets + 4) / 8, 0.0), 1.0)
        return -fast / 60 * (slow + (1 - slow) * share) * (now - air)

    truth = integrated(slope, a_start(rng))
    return Changing(truth, truth.reaches(sets), air)


def unit_fails(rng: Random) -> Changing:
    air, at = an_air(rng), rng.uniform(80, 200)
    rate, rise = rng.uniform(0.35, 0.75), rng.uniform(0.2, 0.5)

    def slope(minute: float, now: float) -> float:
        warm = min(air + rise * max(minute - at, 0.0), 70.0)
        return -rate / 60 * (now - warm)

    return Changing(integrated(slope, a_start(rng)), at, air)


def counter(rng: Random) -> Changing:
    rate = rng.uniform(0.5, 1.6)
    return Changing(newton(rng, (rate, rate), (78.0, 78.0), 0), 0, None)


def stirring_stops(rng: Random) -> Changing:
    air, at, rate = an_air(rng), rng.uniform(20, 90), rng.uniform(0.5, 1.1)
    return Changing(newton(rng, (rate, rate * rng.uniform(0.25, 0.5)), (air, air), at), at, air)


def stacked(rng: Random) -> Changing:
    """Pans are put on top of each other: slower, and in the warmth of their neighbours."""
    air, at, rate = an_air(rng), rng.uniform(25, 60), rng.uniform(0.45, 0.9)
    warm = air + rng.uniform(3, 10)
    return Changing(newton(rng, (rate, rate * rng.uniform(0.3, 0.6)), (air, warm), at), at, air)


def to_the_counter(rng: Random) -> Changing:
    air, at, rate = an_air(rng), rng.uniform(30, 100), rng.uniform(0.45, 1.0)
    room = rng.uniform(66, 80)
    return Changing(newton(rng, (rate, rate * rng.uniform(0.5, 1)), (air, room), at), at, air)


def ice_melts(rng: Random) -> Changing:
    """A bath that is 33 °F while there is ice in it, and warms towards the room from then on."""
    at, rate, room = rng.uniform(30, 90), rng.uniform(0.5, 1.2), rng.uniform(68, 80)
    pace = rng.uniform(0.3, 0.8) / 60

    def slope(minute: float, now: float) -> float:
        bath = room - (room - 33) * exp(-pace * max(minute - at, 0.0))
        return -rate / 60 * (now - bath)

    return Changing(integrated(slope, a_start(rng)), at, 33.0)


def blast_then_walk_in(rng: Random) -> Changing:
    """Thick food: its core follows a shell that follows the air, which is 0 °F up to a moment."""
    air, at, rate = an_air(rng), rng.uniform(40, 75), rng.uniform(0.5, 0.9)
    inner, core = rate * rng.uniform(4, 10), a_start(rng)
    out, shell = [core], core
    slower = rng.uniform(0.4, 0.7)
    while out[-1] > 40.5 and len(out) < 2000:
        minute = 2.0 * len(out)
        for _ in range(8):
            now = rate if minute < at else rate * slower
            shell -= now / 60 / 4 * (shell - (5.0 if minute < at else air))
            core -= inner / 60 / 4 * (core - shell)
        out.append(core)
    return Changing(Truth(out), at, air)


GIVEN: dict[str, tuple[Callable[[Random], Changing], Nature]] = {
    "bath, then walk-in": (bath_then_walk_in, Nature.STIRRED),
    "wand out": (wand_out, Nature.STIRRED),
    "gel sets": (gel_sets, Nature.STIRRED),
    "lid on": (lid_on, Nature.OPEN_LIQUID),
    "unit fails": (unit_fails, Nature.STIRRED),
    "counter, untold": (counter, Nature.UNKNOWN),
}
UNSEEN: dict[str, tuple[Callable[[Random], Changing], Nature]] = {
    "stirring stops": (stirring_stops, Nature.STIRRED),
    "pans stacked": (stacked, Nature.THICK),
    "to the counter": (to_the_counter, Nature.STIRRED),
    "ice melts": (ice_melts, Nature.STIRRED),
    "blast, then walk-in": (blast_then_walk_in, Nature.THICK),
}
CHANGING = GIVEN | UNSEEN


def from_all(readings: list[Point], air: Surroundings, food: Nature) -> tuple[Forecast, Forecast]:
    """Forecast from the fit of all readings alone, and as it is."""
    with patch("haccp.physics.forecast.newest", return_value=()):
        alone = forecast(readings, air, food, AT_START, LEVELS)
    now = forecast(readings, air, food, AT_START, LEVELS)
    assert alone and now
    return alone, now


@dataclass
class Count:
    n: int = 0
    covered: int = 0
    late: int = 0
    sure: int = 0
    wrong: int = 0

    def add(self, found: Forecast, truth: Truth, told: bool, since: float = 0.0) -> None:
        for arrival in found.arrivals:
            if arrival.reached:
                continue
            true = truth.reaches(arrival.level.fahrenheit)
            self.n += 1
            self.covered += arrival.at.low <= true <= arrival.at.high
            self.late += true > arrival.at.high
            on_course = outlook(arrival, told=told) is Outlook.ON_COURSE
            self.sure += on_course
            self.wrong += on_course and true > since + arrival.level.within

    def __add__(self, other: "Count") -> "Count":
        pairs = zip(vars(self).values(), vars(other).values(), strict=True)
        return Count(*(a + b for a, b in pairs))

    def __str__(self) -> str:
        n = max(self.n, 1)
        return (
            f"{self.n:5} {self.covered / n:5.2f} {self.late / n:5.2f} {self.sure:5} {self.wrong:4}"
        )


def readings_of(rng: Random, truth: Truth, minutes: tuple[int, ...]) -> list[Point]:
    bias = rng.gauss(0, 0.6)
    return [(float(m), float(round(truth.at(m) + bias + rng.gauss(0, 0.8)))) for m in minutes]


def measure(
    name: str, plan: tuple[int, ...], batches: int, rng: Random
) -> tuple[Count, Count, int]:
    """Count one truth's forecasts, by all readings and as they are, and changes that were told."""
    before, now, told = Count(), Count(), 0
    for _ in range(batches):
        make, food = CHANGING[name]
        one = make(rng)
        if sum(minute >= one.at for minute in plan) < 2 or one.truth.at(plan[-1]) <= 42:
            continue
        known = one.air is not None
        air = (
            Surroundings.unknown()
            if one.air is None
            else Surroundings.measured(one.air + rng.gauss(0, 1.0))
        )
        alone, found = from_all(readings_of(rng, one.truth, plan), air, food)
        before.add(alone, one.truth, True)
        now.add(found, one.truth, known)
        told += found.pace is Pace.SLOWER
    return before, now, told


def unchanged(batches: int, seed: str) -> None:
    """How many right statements are lost where nothing changes."""
    print("\nunchanging: on course and wrong by all readings, now; slower and faster told, of all")
    whole = [Count(), Count()]
    for name, (make, food) in TRUTHS.items():
        counts, paces, n = [Count(), Count()], [0, 0], 0
        rng = Random(f"{seed} {name}")
        for _ in range(batches):
            for plan in PLANS.values():
                truth, air = make(rng, False)
                if truth.at(plan[-1]) <= 42:
                    continue
                around = Surroundings.measured(air + rng.gauss(0, 1.0))
                both = from_all(readings_of(rng, truth, plan), around, food)
                for count, found in zip(counts, both, strict=True):
                    count.add(found, truth, True)
                n += 1
                paces[0] += both[1].pace is Pace.SLOWER
                paces[1] += both[1].pace is Pace.FASTER
        print(f"{name:20} {counts[0]}   {counts[1]}   {paces[0]} {paces[1]} of {n}", flush=True)
        whole = [a + b for a, b in zip(whole, counts, strict=True)]
    print(f"{'together':20} {whole[0]}   {whole[1]}")


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--batches", type=int, default=100)
    parser.add_argument("--seed", default="last")
    parser.add_argument("--only", default="", choices=["", "unchanging", *CHANGING])
    asked = parser.parse_args()
    print("forecasts, covered, late, on course, of these wrong: by all readings, now; told of")
    for title, truths in (("given", GIVEN), ("unseen", UNSEEN)):
        whole = [Count(), Count()]
        for name in truths:
            if asked.only not in ("", name):
                continue
            mine = [Count(), Count()]
            for plan, minutes in PLANS.items():
                rng = Random(f"{asked.seed} {name} {plan}")
                before, now, told = measure(name, minutes, asked.batches, rng)
                mine = [mine[0] + before, mine[1] + now]
                if now.n:
                    print(f"{name:20}{plan:14} {before}   {now}   {told}", flush=True)
            print(f"{name:20}{'together':14} {mine[0]}   {mine[1]}", flush=True)
            whole = [a + b for a, b in zip(whole, mine, strict=True)]
        print(f"{title:20}{'together':14} {whole[0]}   {whole[1]}\n", flush=True)
    if asked.only in ("", "unchanging"):
        unchanged(asked.batches, asked.seed)


if __name__ == "__main__":
    main()
