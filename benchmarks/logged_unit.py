"""What a cook's entry costs in a kitchen whose cooler has a minute logger, beside one that has none.

    python benchmarks/logged_unit.py [ROUNDS] [FOODS]          (default: 7 rounds, 1 and 10 foods)

Two kitchens with the same foods in the same walk-in for a week; into one of them that week's 10,080
minutes are loaded. Invented. Each command is a process of its own on a copy of the record; they run
in turn, so that a busy machine slows all alike. Printed: CPU seconds [median] and their ratio.
"""

import os
import shutil
import statistics
import subprocess
import sys
import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

WEEK = 7 * 24 * 60
SETUP = [
    "setup", "Juniper Flats Central Kitchen", "--zone", "America/Denver", "--manager", "AR",
    "--manager-name", "Asta Rillwood", "--people", "TP Tavi Pellmarsh", "--hot", "well-1",
    "--cold", "walk-in", "--thermometers", "T1",
]  # fmt: skip
COMMANDS = ("hold walk-in 38", "hold cheddar-0 38", "hold well-1 150")


def run(record: Path, words: list[str], typed: str = "") -> float:
    """Run a command; give its CPU [s]."""
    haccp = [sys.executable, "-m", "haccp", "--db", str(record), *words]
    environment = {**os.environ, "XDG_CONFIG_HOME": str(record.parent), "HACCP_BY": "TP"}
    process = subprocess.Popen(
        haccp, env=environment, text=True,
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
    )  # fmt: skip
    assert process.stdin and process.stdout
    process.stdin.write(typed)
    process.stdin.close()
    told = process.stdout.read()
    _, code, used = os.wait4(process.pid, 0)
    assert os.waitstatus_to_exitcode(code) == 0, (words, told)
    return used.ru_utime + used.ru_stime


def kitchen(record: Path, foods: int) -> None:
    run(record, SETUP, "2580\n2580\n")
    began = (datetime.now(UTC) - timedelta(minutes=WEEK - 5)).isoformat(timespec="minutes")
    for n in range(foods):
        run(record, ["receive", f"cheddar {n}", "38", began, "--code", f"cheddar-{n}", "--yes"])
        run(record, ["move", f"cheddar-{n}", "walk-in"])


def load(record: Path) -> None:
    begins = datetime.now(UTC).replace(second=0, microsecond=0) - timedelta(minutes=WEEK)
    file = record.with_suffix(".csv")
    lines = (
        f"{begins + timedelta(minutes=n):%Y-%m-%d %H:%M:%S}Z,{36 + n % 37 / 10:.1f}\n"
        for n in range(WEEK)
    )
    file.write_text("When,Probe 1 (°F)\n" + "".join(lines), encoding="utf-8")
    run(record, ["load-readings", str(file), "--probe", "walk-in", "--yes"])


def compare(folder: Path, rounds: int, foods: int) -> None:
    without, logged = folder / f"without-{foods}.sqlite3", folder / f"logged-{foods}.sqlite3"
    kitchen(without, foods)
    shutil.copy(without, logged)
    load(logged)
    took: dict[tuple[str, Path], list[float]] = {}
    for _ in range(rounds):
        for command in COMMANDS:
            for record in (without, logged):
                copy = Path(shutil.copy(record, folder / "copy.sqlite3"))
                took.setdefault((command, record), []).append(run(copy, command.split()))
    print(f"{foods} in the walk-in; CPU [s] without a logger, with its week of minutes, ratio")
    for command in COMMANDS:
        bare, with_it = (statistics.median(took[command, one]) for one in (without, logged))
        print(f"  {command:20} {bare:5.2f} {with_it:5.2f}   {with_it / bare:.2f}", flush=True)


if __name__ == "__main__":
    rounds, *several = [int(word) for word in sys.argv[1:]] or [7]
    with tempfile.TemporaryDirectory() as place:
        for foods in several or (1, 10):
            compare(Path(place), rounds, foods)
