"""Types an hourly round of eight points: eight `haccp hold`, one line of all, and `haccp round`.

    python benchmarks/round.py [ROUNDS]

Each way is typed into a copy of the same record, one after the other in each round, so that a busy
machine slows all alike; the figure to quote is the median ratio of whole processes' seconds. Keys
are counted as they are typed, Enter included: with whole names, and with the shortest beginnings
that are understood. The kitchen is invented.
"""

import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

UNITS = [
    ("well-1", "hot", "151"), ("well-2", "hot", "148"), ("hot-box", "hot", "142"),
    ("line-top", "hot", "145"), ("walk-in", "cold", "38"), ("reach-in", "cold", "39"),
    ("salad-bar", "cold", "40"), ("freezer", "frozen", "0"),
]  # fmt: skip
SHORTEST = ["well-1", "well-2", "h", "l", "wa", "r", "s", "f"]
HACCP = [sys.executable, "-m", "haccp", "--db"]


def run(db: Path, words: str, typed: str = "") -> str:
    env = os.environ | {"HACCP_BY": "JM"}
    return subprocess.run(
        [*HACCP, str(db), *words.split()],
        check=True, capture_output=True, input=typed, text=True, env=env,
    ).stdout  # fmt: skip


def kitchen(db: Path) -> None:
    """Make the kitchen by its own commands, last read an hour ago."""
    run(db, "setup K --zone America/Denver --manager AR --manager-name A", "2580\n2580\n")
    run(db, "add person JM J --by AR", "2580\n")
    for name, holds, _ in UNITS:
        run(db, f"add unit {name} {holds} --by AR", "2580\n")
    hour = (datetime.now(UTC) - timedelta(minutes=59)).isoformat(timespec="minutes")
    pairs = " ".join(f"{name} {temp}" for name, _, temp in UNITS)
    run(db, f"hold {pairs} {hour} --yes")


def ways() -> dict[str, list[tuple[str, str]]]:
    """Give each way's commands, and what is typed into them."""
    temps = [temp for _, _, temp in UNITS]
    names = [name for name, _, _ in UNITS]

    def holds(called: list[str]) -> list[tuple[str, str]]:
        return [(f"hold {name} {temp}", "") for name, temp in zip(called, temps, strict=True)]

    def line(called: list[str]) -> list[tuple[str, str]]:
        pairs = zip(called, temps, strict=True)
        return [("hold " + " ".join(f"{name} {temp}" for name, temp in pairs), "")]

    return {
        "eight holds": holds(names),
        "eight holds, shortest": holds(SHORTEST),
        "one line": line(names),
        "one line, shortest": line(SHORTEST),
        "round": [("round", "".join(f"{temp}\n" for temp in temps))],
    }


def keys(commands: list[tuple[str, str]]) -> int:
    return sum(len(f"haccp {words}\n{typed}") for words, typed in commands)


def seconds(db: Path, commands: list[tuple[str, str]], folder: Path) -> float:
    copy = Path(shutil.copy(db, folder / "copy.sqlite3"))
    begun = time.perf_counter()
    for words, typed in commands:
        run(copy, words, typed)
    took = time.perf_counter() - begun
    told = run(copy, "list entries --json").count('"kind": "reading"')
    assert told == 2 * len(UNITS), f"{told} readings are on record"
    return took


def main(rounds: int) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        db = folder / "record.sqlite3"
        kitchen(db)
        every = ways()
        timed: dict[str, list[float]] = {way: [] for way in every}
        for _ in range(rounds):
            for way, commands in every.items():
                timed[way].append(seconds(db, commands, folder))
    base = timed["eight holds"]
    for way, commands in every.items():
        ratio = statistics.median(a / b for a, b in zip(timed[way], base, strict=True))
        took = statistics.median(timed[way])
        print(f"{way}: {keys(commands)} keys, {took:.2f} s, median ratio {ratio:.2f} ({rounds})")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 7)
