"""Times `haccp audit --csv` of a long history, whole process: wall and CPU seconds, by part.

    python benchmarks/audit.py [BATCHES] [SET]...

A record of batches of ten readings each, cooked, cooled, held cold and used up; nine in ten keep the
limits. All of it is invented. Beside each set stands what the record's own `verify` takes in the
same run, which reads every entry too and judges none.
"""

import os
import random
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from heapq import heappop, heappush
from itertools import chain
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parent.parent
sys.path.insert(0, str(ROOT))

from haccp import limits  # noqa: E402
from haccp.record.bodies import BatchOpened, KitchenSettings, Measured, Person, UsedUp  # noqa: E402
from haccp.record.entries import FIRST, Draft, as_row  # noqa: E402
from haccp.record.store import open_record  # noqa: E402

MINUTE = timedelta(minutes=1)
ENDS = datetime(2026, 11, 2, tzinfo=UTC)
# minutes after opening, step, temperature [°F] of a batch that keeps the Food Code's limits
READINGS = (
    (90, "cook", 199), (100, "cool", 150), (118, "cool", 136), (150, "cool", 112), (185, "cool", 88),
    (222, "cool", 69), (300, "cool", 54), (390, "cool", 45), (440, "cool", 40), (600, "cold_hold", 38),
)  # fmt: skip


def batches(count: int, drawn: random.Random) -> Iterator[Draft]:
    """Give their entries by time: three minutes between their beginnings."""
    waiting: list[tuple[datetime, int, Draft]] = []
    for number, draft in enumerate(batch_by_batch(count, drawn)):
        heappush(waiting, (draft.at, number, draft))
        opened = isinstance(draft.body, BatchOpened)
        while opened and waiting[0][0] < draft.at:
            yield heappop(waiting)[2]
    yield from (heappop(waiting)[2] for _ in range(len(waiting)))


def batch_by_batch(count: int, drawn: random.Random) -> Iterator[Draft]:
    begins = ENDS - count * 3 * MINUTE - timedelta(days=1)
    for number in range(count):
        code, opened = f"stew-{number}", begins + number * 3 * MINUTE
        slow = 1.4 if drawn.random() < 0.1 else 1.0
        yield Draft(body=BatchOpened(food="stew"), at=opened, person="JM", batch=code)
        for minute, step, temp in READINGS:
            body = Measured(step=step, temp=str(temp - drawn.randrange(3)), degree="F", held_s="15")
            yield Draft(body=body, at=opened + minute * slow * MINUTE, person="JM", batch=code)
        yield Draft(body=UsedUp(), at=opened + 1200 * MINUTE, person="JM", batch=code)


def kitchen(at: datetime) -> Iterator[Draft]:
    settings = KitchenSettings(
        name="Long Kitchen", zone="UTC", degree="F", altitude_m=0, limit_set="food-code-2022",
        limits_digest=limits.shipped("food-code-2022").digest, check_every_min=60, grace_min=15,
    )  # fmt: skip
    for body in (settings, Person(initials="JM", name="J. M.", role="cook")):
        yield Draft(body=body, at=at, person="JM")


def made(path: Path, count: int) -> int:
    """Make the record; gives the number of its entries."""

    def rows() -> Iterator[dict[str, Any]]:
        previous = FIRST
        drafts = chain(kitchen(ENDS - timedelta(days=800)), batches(count, random.Random(7)))
        for number, draft in enumerate(drafts, 1):
            row = as_row(draft, seq=number, entered_at=draft.at, previous=previous)
            previous = row["digest"]
            yield row

    record = open_record(path, create=True)
    record.restore(rows())
    entries = record.head()[0]
    record.close()
    return entries


def timed(command: list[str]) -> tuple[float, float]:
    begun, cpu = time.perf_counter(), resource.getrusage(resource.RUSAGE_CHILDREN)
    run = subprocess.run(
        [sys.executable, "-m", "haccp", *command],
        capture_output=True, check=False, text=True, env=os.environ | {"PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert run.returncode == 0, run.stderr
    now = resource.getrusage(resource.RUSAGE_CHILDREN)
    used = now.ru_utime + now.ru_stime - cpu.ru_utime - cpu.ru_stime
    print("   ", run.stdout.strip().splitlines()[-2:], flush=True)
    return time.perf_counter() - begun, used


def main(count: int, sets: list[str]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "record.sqlite3"
        entries = made(path, count)
        wall, cpu = timed(["--db", str(path), "record", "verify"])
        print(f"{count} batches, {entries} entries; verify {wall:.1f} s ({cpu:.1f} s of CPU)")
        for name in sets:
            table = Path(folder) / f"{name}.csv"
            words = ["audit", "2020-01-01", "2026-11-02", "--set", name, "--csv", str(table)]
            told, used = timed(["--db", str(path), *words])
            lines = sum(1 for _ in table.open("rb")) - 1
            print(
                f"{name}: {told:.1f} s ({used:.1f} s of CPU), {told / wall:.2f} of verify; "
                f"{lines} differences"
            )


if __name__ == "__main__":
    main(
        int(sys.argv[1]) if len(sys.argv) > 1 else 100_000,
        sys.argv[2:] or ["food-code-2013", "new-york-14-1"],
    )
