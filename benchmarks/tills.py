"""What a view of two tills costs beside one record of the same entries.

    python benchmarks/tills.py [DAYS]          (default: 365)

The coolers of a grown kitchen are read at one till, all else at the other. Printed: CPU seconds [s] of
making the view, and of each command as a process of its own, median of five, with its ratio to the
record; then of taking up a day that one till hands over late.
"""

import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterable
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from haccp.record.bodies import DaySigned, KitchenSettings
from haccp.record.entries import Draft
from haccp.record.store import open_record
from haccp.record.view import catch_up, make
from tests.years import a_day, chained, cold_units, setup

ROUNDS = 5
COMMANDS = (
    ["due"],
    ["show", "well-1"],
    ["report", "yesterday", "--force", "--output", "day.pdf"],
    ["record", "verify"],
)
TILLS = ("line", "cold")


def till_of(draft: Draft) -> str:
    return "cold" if draft.unit in cold_units() else "line"


def drafts(till: str, begins: datetime, days: int) -> Iterable[Draft]:
    """Give what is typed at a till, or at all of them; both are set up and signed."""
    for one in setup(begins):
        body = one.body
        nonce = {"line": "a", "cold": "b"}.get(till, "c") * 32
        yield (
            replace(one, body=replace(body, nonce=nonce))
            if isinstance(body, KitchenSettings)
            else one
        )
    for day in range(days):
        for one in sorted(a_day(begins + timedelta(days=day)), key=lambda draft: draft.at):
            if till in ("all", till_of(one)) or isinstance(one.body, DaySigned):
                yield one


def written(path: Path, entries: Iterable[Draft], ends: datetime) -> int:
    with closing(open_record(path, create=True)) as record:
        record.restore(chained(entries, ends))
        return record.head()[0]


def cpu(work: Callable[[], object]) -> float:
    begun = time.process_time()
    work()
    return time.process_time() - begun


def run(path: Path, words: list[str]) -> float:
    process = subprocess.Popen(
        [sys.executable, "-m", "haccp", "--db", str(path), *words], cwd=path.parent,
        stdout=subprocess.DEVNULL, stderr=subprocess.PIPE,
    )  # fmt: skip
    assert process.stderr
    told = process.stderr.read()
    _, code, used = os.wait4(process.pid, 0)
    assert os.waitstatus_to_exitcode(code) == 0, told.decode()
    return used.ru_utime + used.ru_stime


def main(days: int) -> None:
    now = datetime.now(UTC)
    begins = now.replace(hour=0, minute=0, second=0, microsecond=0) - timedelta(days=days)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        count = written(folder / "one", drafts("all", begins, days), now)
        for till in TILLS:
            written(folder / till, drafts(till, begins, days), now)
        both = folder / "both"
        made = cpu(lambda: make(both, {till: folder / till for till in TILLS}, now))
        sizes = {one: (folder / one).stat().st_size / 1e6 for one in ("one", *TILLS, "both")}
        print(
            f"{count:,} entries; MB: "
            + ", ".join(f"{one} {size:.0f}" for one, size in sizes.items())
        )
        print(f"made in {made:.1f} s, {made / count * 1e6:.0f} µs an entry", flush=True)
        for words in COMMANDS:
            seen: dict[str, list[float]] = {"one": [], "both": []}
            for _ in range(ROUNDS):
                for one, times in seen.items():
                    times.append(run(folder / one, words))
            medians = {one: statistics.median(times) for one, times in seen.items()}
            print(
                f"{words[0]:8} one {medians['one']:.2f} s, both {medians['both']:.2f} s ({medians['both'] / medians['one']:.2f})",
                flush=True,
            )
        late_day(folder, begins, days, now)


def late_day(folder: Path, begins: datetime, days: int, now: datetime) -> None:
    """Make a view that lacks a till's last day, and hand that over."""
    whole, late = folder / "cold", folder / "late"
    written(late, drafts("cold", begins, days - 1), now)
    both = folder / "both-late"
    make(both, {"line": folder / "line", "cold": late}, now)
    late.unlink()
    whole.rename(late)
    with closing(open_record(both, create=False)) as record:
        before = record.head()[0]
        used = cpu(lambda: catch_up(record, now))
        print(f"a day late: {record.head()[0] - before} entries taken up in {used:.2f} s")


if __name__ == "__main__":
    main(int(sys.argv[1]) if sys.argv[1:] else 365)
