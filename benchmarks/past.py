"""What a long past costs: commands on records of the same day, with nothing, a month, a year, ten years behind it.

    python benchmarks/past.py [DAYS ...]          (default: 7 30 365; ten years is 3650)

Each command is a process of its own; they run in turn over the records, so that a busy machine
slows all alike. Printed: CPU seconds [median], their ratio to the record without a past, the most
memory [MB] and its ratio, and the number of SQL statements.
"""

import os
import statistics
import subprocess
import sys
import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from tests.years import make_years

ROUNDS = 5
COUNTED = """
import sys, sqlalchemy as sa, sqlite3
count = 0
class Counting(sqlite3.Connection):
    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        def told(_): global count; count += 1
        self.set_trace_callback(told)
plain = sqlite3.connect
sqlite3.connect = lambda *a, **k: plain(*a, **{"factory": Counting, **k})
from haccp.cli.main import cli
try:
    cli(sys.argv[1:], prog_name="haccp")
finally:
    print(count, file=sys.stderr)
"""


def commands(folder: Path) -> dict[str, list[str]]:
    return {
        "hold": ["hold", "well-1", "151", "--by", "JM", "--yes"],
        "cool": ["cool", "stew", "98", "--by", "JM", "--yes"],
        "status": ["status"],
        "show": ["show", "well-1"],
        "report": ["report", "today", "--output", str(folder / "day.pdf"), "--force"],
        "sign": ["sign", "today", "--note", "measured", "--by", "AR"],
    }


def prepared(folder: Path, days: int) -> Path:
    path = folder / f"{days}.sqlite3"
    print(
        f"{days} days: {make_years(path, days, datetime.now(UTC)):,} entries, {path.stat().st_size / 1e6:.0f} MB",
        flush=True,
    )
    run(path, ["pin", "AR"], "2580\n2580\n")
    run(path, ["batch", "bean stew", "--code", "stew", "--by", "JM"])
    begun = datetime.now(UTC) - timedelta(minutes=30)
    run(path, ["cool", "stew", "135", begun.isoformat(timespec="minutes"), "--by", "JM", "--yes"])
    run(path, ["sign", "yesterday", "--note", "measured", "--by", "AR"])  # notes what is settled
    return path


def run(path: Path, words: list[str], typed: str = "2580\n") -> tuple[float, float]:
    process = subprocess.Popen(
        [sys.executable, "-m", "haccp", "--db", str(path), *words],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
    )  # fmt: skip
    assert process.stdin and process.stdout
    process.stdin.write(typed.encode())
    process.stdin.close()
    told = process.stdout.read()
    _, code, used = os.wait4(process.pid, 0)
    assert os.waitstatus_to_exitcode(code) == 0, (words, told.decode())
    return used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


def statements(path: Path, words: list[str]) -> int:
    told = subprocess.run(
        [sys.executable, "-c", COUNTED, "--db", str(path), *words],
        input="2580\n", capture_output=True, text=True, check=True,
    )  # fmt: skip
    return int(told.stderr.split()[-1])


def main(pasts: list[int]) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        records = {days: prepared(folder, days) for days in pasts}
        for command, words in commands(folder).items():
            seen: dict[int, list[tuple[float, float]]] = {days: [] for days in pasts}
            counts = {}
            for round_ in range(ROUNDS):
                for days, path in records.items():
                    seen[days].append(run(path, words))
                    if round_ == 0:
                        counts[days] = statements(path, words)
            cpu = {days: statistics.median(one for one, _ in seen[days]) for days in pasts}
            memory = {days: max(one for _, one in seen[days]) for days in pasts}
            row = [
                f"{days} d: {cpu[days]:.2f} s ({cpu[days] / cpu[pasts[0]]:.2f}), {memory[days]:.0f} MB ({memory[days] / memory[pasts[0]]:.2f}), {counts[days]}"
                for days in pasts
            ]
            print(f"{command:10} " + " | ".join(row), flush=True)


if __name__ == "__main__":
    main([int(word) for word in sys.argv[1:]] or [7, 30, 365])
