"""Kills writers by the hundred, lets eight write at once, spoils records, and counts what is left.

    python benchmarks/faults.py [KILLS] [ENTRIES]      # default 600 kills, 5000 entries

The checks are those of tests/faults; here they run longer and tell their figures.
"""

import random
import statistics
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from tests.faults import test_damaged as damaged
from tests.faults import test_killed as killed
from tests.faults.making import make_kitchen, rows_by_hand, type_in
from tests.faults.test_many_hands import eight_hands

SEED = 7


def kill_writers(folder: Path, where: str, *, kills: int, entries: int, longest: float) -> None:
    tally = killed.killed_writers(folder, kills=kills, entries=entries, longest=longest, seed=SEED)
    print(
        f"{where}: {tally.kills} writers killed in the middle of {tally.entries} entries: "
        f"{tally.acknowledged} were acknowledged, all of them are there; "
        f"{tally.interrupted} times a journal was left to be rolled back; one chain",
        flush=True,
    )


def kill_other_work(folder: Path, kills: int) -> None:
    """Kill at random moments, then before each line; a check that fails is counted and told once."""
    for what, (prepare, work, check) in killed.AT_ANY_MOMENT.items():
        place = folder / f"moments-{what.split()[-1]}"
        place.mkdir()
        rounds = killed.killed_at_random_moments(work, prepare, place, kills, SEED)
        print(f"{what} killed at random moments: {counted(rounds, check)}", flush=True)
    for what, (files, prepare, work, check) in killed.LINE_BY_LINE.items():
        place = folder / f"lines-{what.split()[-1]}"
        place.mkdir()
        rounds = killed.killed_at_each_line(files, work, prepare, place)
        print(f"{what} killed before each of its lines: {counted(rounds, check)}", flush=True)


def counted(rounds: killed.Rounds, check: Callable[..., None]) -> str:
    whole, finished = 0, 0
    broken: Counter[str] = Counter()
    for place, done in rounds:
        try:
            check(place, done=done)
            whole += 1
            finished += done
        except Exception as error:  # noqa: BLE001 - what broke is what is counted
            broken[(str(error).strip().splitlines() or [type(error).__name__])[0][:100]] += 1
    told = "".join(f"; BROKEN {times} times: {what}" for what, times in broken.items())
    return f"{whole} of {whole + broken.total()} left all or nothing ({finished} came to their end){told}"


def many_hands(folder: Path) -> None:
    begun = time.perf_counter()
    waits = sorted(eight_hands(folder, 500))
    print(
        f"eight processes, 500 entries each: {len(waits)} there, one chain, no lock seen, in "
        f"{time.perf_counter() - begun:.0f} s; one entry took {statistics.median(waits) * 1000:.0f} ms "
        f"in the middle, {waits[int(len(waits) * 0.99)] * 1000:.0f} ms at the 99th percentile, "
        f"{waits[-1]:.2f} s at the longest"
    )


def damage(folder: Path, rounds: int) -> None:
    """Spoil a record in every way and see which commands say so."""
    whole, path = folder / "whole.sqlite3", folder / "record.sqlite3"
    make_kitchen(whole, readings=400)
    originals = {row["seq"] for row in rows_by_hand(whole)}
    for name, spoil in damaged.DAMAGE.items():
        codes: dict[str, Counter[int]] = {}
        saved = []
        for seed in range(rounds):
            content = bytearray(whole.read_bytes())
            spoil(content, random.Random(seed))
            path.write_bytes(content)
            target = folder / "salvaged.csv"
            target.unlink(missing_ok=True)
            for words in (
                "record verify", "status", "list entries", f"record salvage {target}",
            ):  # fmt: skip
                code = type_in(path, *words.split()).exit_code
                codes.setdefault(words.removesuffix(f" {target}"), Counter())[code] += 1
            if target.exists():
                saved.append(len(originals & set(damaged.read_salvaged(target))) / len(originals))
        told = "; ".join(f"{words} {dict(sorted(one.items()))}" for words, one in codes.items())
        share = f"{statistics.mean(saved):.0%}" if saved else "nothing"
        print(
            f"{name}, {rounds} times, exit codes: {told}; salvaged on average {share}", flush=True
        )


def main(kills: int, entries: int) -> None:
    memory = Path("/dev/shm") if Path("/dev/shm").is_dir() else None
    with tempfile.TemporaryDirectory() as name, tempfile.TemporaryDirectory(dir=memory) as quick:
        folder = Path(name)
        for part in ("writers", "work", "hands", "damage"):
            (folder / part).mkdir()
        # in memory entries are quick, so that most kills find one half written
        kill_writers(Path(quick), "in memory", kills=kills, entries=entries, longest=0.2)
        kill_writers(
            folder / "writers", "on disk", kills=kills // 3, entries=entries // 10, longest=1
        )
        many_hands(folder / "hands")
        kill_other_work(folder / "work", max(kills // 8, 5))
        damage(folder / "damage", max(kills // 12, 5))


if __name__ == "__main__":
    main(
        int(sys.argv[1]) if len(sys.argv) > 1 else 600,
        int(sys.argv[2]) if len(sys.argv) > 2 else 5_000,
    )
