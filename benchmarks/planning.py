"""Prints the planner beside published coolings, case by case, and how long a plan takes.

    python benchmarks/planning.py

The cases are those of tests/published/cooling_cases.py, with their sources; times are in hours.
"""

import sys
import time
from collections.abc import Callable
from dataclasses import replace
from math import isinf
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from haccp.physics import conduction, convection
from haccp.physics.convection import Range
from haccp.physics.cooling_setup import Consistency, Medium, Pan, Pot, Roast, Setup
from haccp.physics.planning import (
    BLAST_CHILLER,
    ICE_BATH,
    CoolingPlan,
    alternatives,
    deepest,
    plan,
    portions,
)
from haccp.physics.properties import foods
from haccp.quantities import GALLON_L, INCH_M
from tests.published.cooling_cases import FOOD_CODE, WALK_IN, celsius, measured, trials


def band(found: CoolingPlan, stage: int = 0) -> str:
    crossing = found.crossings[stage]
    times = (crossing.early, crossing.middle, crossing.late)
    return " / ".join("never" if isinf(one) else f"{one / 60:.2f}" for one in times)


def against_measured() -> None:
    print("Measured coolings: published time, and predicted 5 / 50 / 95 %")
    held = 0
    for case in measured():
        found = plan(case.setup)
        [crossing] = found.crossings
        late, early = crossing.late < case.least, crossing.early > case.most
        held += not (late or early)
        if case.least == 0:
            published = f"<= {case.most / 60:.1f}"
        elif isinf(case.most):
            published = f"> {case.least / 60:.1f}"
        elif case.least < case.most:
            published = f"{case.least / 60:.1f}-{case.most / 60:.1f}"
        else:
            published = f"{case.least / 60:.1f}"
        verdict = "LONGER than the band" if late else "shorter than the band" if early else "held"
        print(f"  {case.name:66} {published:>9}   {band(found):>22}   {verdict}")
    print(f"  {held} of {len(measured())} held\n")


def against_trials() -> None:
    print("Published pass or fail: chance of 70 °F in 2 h and 41 °F in 6 h; hours to 70, to 41 °F")
    leaning, promised = 0, 0
    for trial in trials():
        found = plan(trial.setup)
        leans = (found.chance > 0.5) == trial.met
        leaning += leans
        promised += found.chance >= 0.9 and not trial.met
        published = "passed" if trial.met else "failed"
        print(
            f"  {trial.name:78} {published}  {found.chance:4.2f}  "
            f"{band(found):>18}  {band(found, 1):>20}  {'' if leans else 'LEANS THE OTHER WAY'}"
        )
    print(
        f"  {leaning} of {len(trials())} lean as published; promised at 90 % though it failed: {promised}\n"
    )
    [cell] = [one for one in trials() if one.name.startswith("chili con") and "2 in" in one.name and "ice" in one.name]  # fmt: skip
    print("Those cells turn on the bath's coefficient [W/m² K], chance for a 2-in pan of chili:")
    for h in (10, 15, 20, 25, 30, 40, 50, 100):
        bath = Medium(celsius(33), Range(h, h, "tried here"))
        print(f"  {h:4} {plan(replace(cell.setup, bath=bath)).chance:.2f}")
    print()


def twelve_gallons() -> None:
    print("12 gal of bean stew from 135 °F: hours to 70 and to 41 °F, chance of both limits")
    stew = Setup(
        foods()["bean-stew"].composition,
        Consistency.THICK,
        Pan(19.5 * INCH_M, 11.5 * INCH_M, 2 * INCH_M),
        WALK_IN,
        celsius(135),
        FOOD_CODE,
    )
    still = replace(stew, air=Medium(celsius(38), convection.STILL_AIR))
    ways = {
        "walk-in 38 °F, still air": still,
        "walk-in 38 °F, moving air": stew,
        "walk-in 38 °F, moving air, lid": replace(stew, covered=True),
        "freezer 0 °F, moving air": replace(stew, air=Medium(celsius(0), convection.MOVING_AIR)),
        "blast chiller 28 °F": replace(stew, air=BLAST_CHILLER),
        "ice bath, not stirred": replace(stew, bath=ICE_BATH),
        "ice bath, stirred": replace(stew, bath=ICE_BATH, consistency=Consistency.STIRRED),
        "walk-in 38 °F, thin food": replace(stew, consistency=Consistency.THIN),
    }
    for name, way in ways.items():
        for inches in (2, 4):
            found = plan(replace(way, load=Pan(19.5 * INCH_M, 11.5 * INCH_M, inches * INCH_M)))
            print(
                f"  {name:32} {inches} in  {band(found):>18}  {band(found, 1):>21}  {found.chance:4.2f}"
            )
        best = deepest(way)
        if best and isinstance(best.setup.load, Pan):
            depth = best.setup.load.depth
            pans = ", ".join(f"{one.count} {one.size}" for one in portions(12 * GALLON_L, depth))
            print(
                f"  {'':32} deepest at 90 %: {depth / INCH_M:.2f} in: {pans or 'deeper than pans are'}"
            )
        else:
            print(f"  {'':32} deepest at 90 %: none")
    print()
    print("What would help 2 in in the walk-in:")
    for one in alternatives(stew):
        print(f"  {one.change:56} {one.plan.chance:4.2f}")
    print()


def timings() -> None:
    def best_of(work: Callable[[], object]) -> float:
        def once() -> float:
            plan.cache_clear()
            deepest.cache_clear()
            conduction.conductor_of.cache_clear()
            begun = time.perf_counter()
            work()
            return time.perf_counter() - begun

        return 1000 * min(once() for _ in range(5))

    stew = trials()[0].setup
    print("Time, best of 5 [ms]:")
    for name, setup in (
        ("thick, pan in air", stew),
        ("thick, pan in ice bath", replace(stew, bath=ICE_BATH)),
        ("thick, pot", replace(stew, load=Pot(0.3, 0.2))),
        ("roast", replace(stew, load=Roast(0.15, 0.3))),
        ("thin, pan in air", replace(stew, consistency=Consistency.THIN)),
    ):
        ms = (
            best_of(lambda s=setup: plan(s)),  # type: ignore[misc]
            best_of(lambda s=setup: deepest(s)),  # type: ignore[misc]
            best_of(lambda s=setup: alternatives(s)),  # type: ignore[misc]
        )
        print(f"  {name:24} plan {ms[0]:6.0f}   deepest {ms[1]:6.0f}   alternatives {ms[2]:6.0f}")


if __name__ == "__main__":
    against_measured()
    against_trials()
    twelve_gallons()
    timings()
