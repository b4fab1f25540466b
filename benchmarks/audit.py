"""Times `haccp audit --csv` of a long history, whole processes: CPU and wall seconds, memory.

    python benchmarks/audit.py [BATCHES] [SET]... [--record FILE] [--beside CHECKOUT]

100,000 batches are a million readings, of every kind that a big kitchen's history has
(`tests/long_kitchen`); all of it is invented. CPU seconds are those of all processes: on two cores
that nobody else uses, half of them pass. Beside each set stands what the record's own `verify` takes
in the same run, which reads every entry too and judges none; with --beside also what another checkout
of haccp takes of the same record, in turn, and whether both find the same.
"""

import argparse
import os
import resource
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parent.parent
sys.path.insert(0, str(ROOT))

from tests.long_kitchen import ENDS, made  # noqa: E402


@dataclass(frozen=True, slots=True)
class Taken:
    """What a whole process and those that it started took [s]."""

    wall: float
    cpu: float

    def __str__(self) -> str:
        return f"{self.cpu:.1f} s of CPU, {self.wall:.1f} s by the clock"


def timed(checkout: Path, *command: str) -> Taken:
    begun, before = time.perf_counter(), resource.getrusage(resource.RUSAGE_CHILDREN)
    run = subprocess.run(
        [sys.executable, "-m", "haccp", *command],
        capture_output=True, check=False, text=True,
        cwd=checkout, env=os.environ | {"PYTHONPATH": str(checkout)},
    )  # fmt: skip
    assert run.returncode == 0, run.stderr
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    used = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return Taken(time.perf_counter() - begun, used)


def audited(checkout: Path, record: Path, name: str, table: Path) -> Taken:
    days = ("2020-01-01", f"{ENDS:%Y-%m-%d}")
    words = ("audit", *days, "--set", name, "--csv", str(table), "--force")
    return timed(checkout, "--db", str(record), *words)


def main(asked: argparse.Namespace, folder: Path) -> None:
    record = (asked.record or folder / "record.sqlite3").absolute()
    if not record.exists():
        print(f"{asked.batches} batches, {made(record, asked.batches)} entries", flush=True)
    verified = timed(ROOT, "--db", str(record), "record", "verify")
    print(f"record verify: {verified}", flush=True)
    for name in asked.sets:
        tables = folder / "here.csv", folder / "beside.csv"
        taken = audited(ROOT, record, name, tables[0])
        found = sorted(tables[0].read_text(encoding="utf-8").splitlines())
        print(f"{name}: {taken}, {taken.cpu / verified.cpu:.2f} of verify's CPU")
        print(f"    {len(found) - 1} differences", flush=True)
        if asked.beside:
            other = audited(asked.beside, record, name, tables[1])
            same = sorted(tables[1].read_text(encoding="utf-8").splitlines()) == found
            told = "the same" if same else "OTHER"
            print(f"    beside it: {other}, {other.cpu / taken.cpu:.2f} times; {told} differences")
    largest = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    print(f"largest process: {largest:.0f} MB", flush=True)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("batches", nargs="?", type=int, default=100_000)
    parser.add_argument("sets", nargs="*", default=["food-code-2013", "new-york-14-1"])
    parser.add_argument("--record", type=Path, help="keep the record here, or take it from here")
    parser.add_argument("--beside", type=Path, help="another checkout of haccp")
    with tempfile.TemporaryDirectory() as place:
        main(parser.parse_args(), Path(place))
