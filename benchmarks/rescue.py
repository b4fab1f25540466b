"""Prints the chances of what still saves a cooling, beside a prototype's, and what they cost: asked
for, or as a table that would be made when a batch is opened.

    python benchmarks/rescue.py [ROUNDS]

Whole commands run as processes of their own, on a record made for it, and are counted by their CPU:
the entry of a batch at risk, which names the command, and of one that is not, beside an entry
without a forecast and the bare script of startup.py; then the command itself.
"""

import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from benchmarks.startup import BARE
from haccp.physics import convection
from haccp.physics.cooling_cases import model_of
from haccp.physics.cooling_setup import Consistency, Medium, Pan, Setup, Stage
from haccp.physics.properties import foods
from haccp.physics.rescue import acts, chance
from haccp.quantities import INCH_M
from tests.published.cooling_cases import celsius

PROTOTYPE = {
    106: {
        "in an ice bath in the cooler, stirred": 77,
        "in an ice bath in the cooler, not stirred": 0,
        "in an ice bath in the room, stirred": 36,
        "in the blast chiller": 62,
        "in the freezer, in moved air": 16,
        "1 in (2.5 cm) deep in pans, in the freezer, in moved air": 99,
    },
    95: {
        "in an ice bath in the cooler, stirred": 93,
        "in an ice bath in the cooler, not stirred": 7,
        "in an ice bath in the room, stirred": 36,
        "in the blast chiller": 98,
        "in the freezer, in moved air": 57,
    },
}


def left(start: float, minutes: tuple[float, ...] = (60, 300), depth: float = 2) -> Setup:
    stages = (Stage(celsius(at), m) for at, m in zip((70, 41), minutes, strict=True))
    return Setup(
        foods()["bean-stew"].composition,
        Consistency.THICK,
        Pan(19.5 * INCH_M, 11.5 * INCH_M, depth * INCH_M),
        Medium(celsius(38), convection.STILL_AIR),
        celsius(start),
        tuple(stages),
    )


def beside_the_prototype() -> None:
    print("Chance [%] of 70 °F in 60 and 41 °F in 300 min, thick stew 2 in deep; the prototype's")
    for start, known in PROTOTYPE.items():
        for act in acts(2.0):
            share = chance([act.change(left(start))])[-1]
            print(f"  {start} °F  {100 * share:5.1f}  {known.get(act.words, ''):>3}  {act.words}")
    print()


def best_of(work: Callable[[], object], rounds: int) -> float:
    def once() -> float:
        begun = time.process_time()
        work()
        return time.process_time() - begun

    return 1000 * min(once() for _ in range(rounds))


def unknown(start: float) -> list[Setup]:
    """Neither nature nor depth is known: six setups."""
    return [
        replace(left(start, depth=depth), consistency=how)
        for how in (Consistency.THICK, Consistency.THIN)
        for depth in (2, 3, 4)
    ]


def timings(rounds: int) -> None:
    def every(setups: list[Setup], deepest: float) -> None:
        for act in acts(deepest):
            chance([act.change(one) for one in setups])

    print("All acts, least CPU [ms]:")
    print(f"  all known       {best_of(lambda: every([left(106)], 2.0), rounds):6.0f}")
    print(f"  nothing known   {best_of(lambda: every(unknown(106), 4.0), rounds):6.0f}")
    begun = time.process_time()
    kept = list(map(table_of, range(135, 44, -5)))
    print(
        f"A table for one food at one depth, from 135 down to 45 °F by 5: "
        f"{1000 * (time.process_time() - begun):.0f} ms of CPU, {sum(kept)} numbers\n"
    )


def table_of(start: int) -> int:
    """Make a table's page for food at one temperature: chances of each level every 10 minutes."""
    minutes = np.arange(10.0, 361.0, 10.0)
    pages = []
    for act in acts(2.0):
        setup = act.change(left(start))
        found = model_of(setup).temperatures(minutes)
        pages += [(found <= stage.celsius).mean(axis=0) for stage in setup.stages]
    return sum(page.size for page in pages)


def seconds(command: list[str], typed: str = "") -> float:
    """Run a process, and give its CPU time."""
    before = os.times()
    subprocess.run(command, check=True, capture_output=True, input=typed, text=True)
    after = os.times()
    return (
        after.children_user + after.children_system - before.children_user - before.children_system
    )


def whole_commands(rounds: int) -> None:
    haccp = [sys.executable, "-m", "haccp"]
    ago = [
        (datetime.now(UTC) - timedelta(minutes=minutes)).isoformat(timespec="minutes")
        for minutes in (61, 31, 1)
    ]
    with tempfile.TemporaryDirectory() as folder:
        db = [*haccp, "--db", f"{folder}/record.sqlite3"]
        setup = "setup K --zone UTC --manager AR --manager-name A".split()
        seconds([*db, *setup], "2580\n2580\n")
        for food, temps in (("stew", (135, 118)), ("soup", (135, 85))):
            seconds([*db, "batch", food, "--code", food, "--by", "AR"])
            typed = ["method", food, "walk-in", ago[0], "--nature", "thick", "--air", "38F"]
            seconds([*db, *typed, "--depth", "2in", "--by", "AR"])
            for temp, at in zip(temps, ago, strict=False):
                seconds([*db, "cool", food, str(temp), at, "--by", "AR", "--yes"])
        seconds([*db, "add", "unit", "walk-in", "cold", "--by", "AR"], "2580\n")
        script, bare = Path(folder) / "bare.py", f"{folder}/bare.sqlite3"
        script.write_text(BARE)
        create = "import sqlite3, sys; sqlite3.connect(sys.argv[1]).execute('CREATE TABLE bare (id INTEGER PRIMARY KEY, temp TEXT)')"
        seconds([sys.executable, "-c", create, bare])
        commands = {
            "bare script": [sys.executable, str(script), bare],
            "entry of a hold": [*db, "hold", "walk-in", "36", "--by", "AR", "--yes"],
            "entry, not at risk": [*db, "cool", "soup", "66", ago[2], "--by", "AR", "--yes"],
            "entry, at risk": [*db, "cool", "stew", "106", ago[2], "--by", "AR", "--yes"],
            "haccp rescue": [*db, "rescue", "stew"],
            "haccp show": [*db, "show", "stew"],
        }
        told = {name: [] for name in commands}  # type: dict[str, list[float]]
        for _ in range(rounds):
            for name, words in commands.items():
                told[name].append(seconds(words))
    middle = {name: 1000 * statistics.median(times) for name, times in told.items()}
    print(f"Whole processes, CPU, median of {rounds} [ms], times the bare script, times a hold:")
    for name, spent in middle.items():
        beside = (spent / middle["bare script"], spent / middle["entry of a hold"])
        print(f"  {name:20} {spent:6.0f}  {beside[0]:5.2f}  {beside[1]:5.2f}")


if __name__ == "__main__":
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 7
    beside_the_prototype()
    timings(count)
    whole_commands(count)
