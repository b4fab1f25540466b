"""Measures how often haccp/kitchen/patterns.py names something where nothing stands out.

    python benchmarks/patterns.py [MONTHS] [SEED]

Every month here is invented: by a seeded generator, four weeks of eight units that are out of
limits now and then by chance alone, and of coolings that are all as likely to be too slow.
"""

import sys
from collections import Counter
from random import Random

import pandas as pd

from haccp.kitchen.patterns import patterns
from haccp.kitchen.trends import CHECK, COLUMNS, COOLING
from haccp.rules.evidence import Verdict

PANS, FOODS = (("pan", "2"), ("pan", "4"), ("pot", "9"), ("bag", "1")), ("stew", "rice", "chili")


def month(random: Random, bad_days: float, slow: float, slow_deep: float) -> pd.DataFrame:
    rows = []
    for unit in range(8):
        for day in range(1, 29):
            fails = random.random() < bad_days
            at_hour = random.randint(9, 16)
            rows += [
                row(CHECK, day, hour, f"unit-{unit}", bad=fails and hour == at_hour, random=random)
                for hour in range(9, 17)
            ]
    for _ in range(60):
        pan = random.choice(PANS)
        chance = slow_deep if pan[1] == "4" else slow
        rows.append(
            row(
                COOLING,
                random.randint(1, 28),
                13,
                random.choice(FOODS),
                *pan,
                bad=random.random() < chance,
                random=random,
            )
        )
    frame = pd.DataFrame(rows, columns=list(COLUMNS))
    frame["at"] = pd.to_datetime(frame["at"])
    return frame


def row(
    what: str,
    day: int,
    hour: int,
    name: str,
    container: str = "",
    depth: str = "",
    *,
    bad: bool,
    random: Random,
) -> tuple[object, ...]:
    verdict = Verdict.NOT_MET if bad else Verdict.MET
    method = random.choice(("walk-in", "ice bath")) if what == COOLING else ""
    thermometer = random.choice(("T1", "T2", "T3"))
    at = f"2026-10-{day:02} {hour:02}:00"
    return (
        what,
        at,
        name,
        container,
        depth,
        method,
        thermometer,
        None,
        "hot-holding",
        str(verdict),
    )


KITCHENS = {
    "nothing goes wrong": (0, 0, 0),
    "a unit out of limits on 1 day of 200, 5 % slow": (0.005, 0.05, 0.05),
    "a unit out of limits on 1 day of 50, 20 % slow": (0.02, 0.2, 0.2),
    "half of all coolings slow": (0, 0.5, 0.5),
    "4-inch pans slow in 60 of 100, others in 5": (0, 0.05, 0.6),
    "4-inch pans slow in 90 of 100, others in 5": (0, 0.05, 0.9),
}


def main(months: int, seed: int) -> None:
    print(f"{months} simulated months a row, seed {seed}; all invented")
    for name, rates in KITCHENS.items():
        random = Random(f"{seed} {name}")
        found = [{one.by for one in patterns(month(random, *rates))} for _ in range(months)]
        counts = Counter(by for some in found for by in some)
        told = ", ".join(f"{by}: {n}" for by, n in sorted(counts.items()))
        print(f"  {name:50s} {sum(map(bool, found)):5d} of {months}  {told}")


if __name__ == "__main__":
    given = [int(argument) for argument in sys.argv[1:]]
    main(*given, *(200, 20260105)[len(given) :])
