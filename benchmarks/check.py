"""Times `haccp check-file --json` of a generated file, whole process, in CPU seconds.

    python benchmarks/check.py [READINGS] [CHECKOUT]

Three files of as many readings: a kitchen's batches of eleven each, one holding unit that is out of
limits now and again, and one cooling that a logger read all the time. With another
checkout of haccp each file is judged by that one too, in the same run, and what the two print is
compared byte for byte. The readings are invented.
"""

import os
import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parent.parent
# a day of one food: minutes after its beginning, step, and the warmest it is read [°F]
DAY = (
    (0, "cook", 199), (15, "hot_hold", 176), (75, "hot_hold", 159), (120, "cool", 137),
    (180, "cool", 101), (235, "cool", 72), (330, "cool", 51), (470, "cool", 42),
    (900, "cold_hold", 39), (1200, "reheat", 120), (1260, "reheat", 171),
)  # fmt: skip

HEADER = "batch,step,taken_at,temp,unit,held_s\n"


def kitchen(readings: int, drawn: random.Random) -> Iterator[str]:
    for number in range(readings):
        batch, place = divmod(number, len(DAY))
        after, step, warmest = DAY[place]
        temp = warmest - drawn.randrange(4)
        yield f"stew-{batch},{step},{batch * 7 + after},{temp},F,15\n"


def unit(readings: int, drawn: random.Random) -> Iterator[str]:
    for number in range(readings):
        yield f"well-1,hot_hold,{number * 30},{drawn.choice((133, *[139] * 9))},F,\n"


def one_cooling(readings: int, drawn: random.Random) -> Iterator[str]:
    for number in range(readings):
        yield f"stew,cool,{number * 300 / readings:.4f},{140 - number * 100 / readings + drawn.random():.2f},F,\n"


def judged(checkout: Path, file: Path) -> tuple[float, bytes]:
    command = [sys.executable, "-m", "haccp", "check", str(file), "--json"]
    begun = os.times()
    run = subprocess.run(
        command,
        capture_output=True,
        check=False,
        cwd=file.parent,
        env=os.environ | {"PYTHONPATH": str(checkout)},
    )
    ended = os.times()
    assert run.returncode in (0, 1), run.stderr
    used = ended.children_user + ended.children_system - begun.children_user - begun.children_system
    return used, run.stdout


def main(readings: int, other: Path | None) -> None:
    with tempfile.TemporaryDirectory() as folder:
        for shape in (kitchen, unit, one_cooling):
            file = Path(folder) / f"{shape.__name__}.csv"
            file.write_text(HEADER + "".join(shape(readings, random.Random(7))))
            begun = time.perf_counter()
            ours, printed = judged(ROOT, file)
            told = f"{shape.__name__}: {readings} readings in {ours:.1f} s of CPU ({time.perf_counter() - begun:.1f} s)"
            if other:
                theirs, beside = judged(other, file)
                same = "the same bytes" if printed == beside else "OTHER BYTES"
                told += f"; {other}: {theirs:.1f} s, ratio {theirs / ours:.1f}, {same}"
            print(told, flush=True)


if __name__ == "__main__":
    main(
        int(sys.argv[1]) if len(sys.argv) > 1 else 100_000,
        Path(sys.argv[2]).resolve() if len(sys.argv) > 2 else None,
    )
