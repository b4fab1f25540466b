"""Puts hostile bytes into everything that reads what comes from outside, and counts.

    python benchmarks/fuzz.py                      # a million cases and more, about ten minutes
    python benchmarks/fuzz.py --scale 0.01         # the same, shorter
    python benchmarks/fuzz.py --only "a log" --cases 50000 --seed 3
    python benchmarks/fuzz.py --guided "a log" --cases 50000   # by coverage, if atheris is there

What must hold is in tests/faults/parsing.py: refused in a sentence, or read and nothing lost. Each
way in which it did not hold is printed once, with the shortest input that showed it.
"""

import argparse
import importlib
import random
import re
import sys
import tempfile
import time
import traceback
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

# Cheap readers get more: a case of the whole command costs as much as a thousand of a time.
CASES = {
    "a log": 200_000,
    "check --json": 4_000,
    "check": 4_000,
    "a limits file": 60_000,
    "local limits": 40_000,
    "check --limits": 3_000,
    "an export": 100_000,
    "an import": 2_500,
    "a time": 150_000,
    "a day": 100_000,
    "a moment": 150_000,
    "a temperature": 150_000,
    "a paper": 100_000,
    "a hold": 100_000,
    "a text": 150_000,
    "a name": 100_000,
    "a command": 4_000,
}


@dataclass
class Tally:
    cases: int = 0
    read: int = 0
    seconds: float = 0
    broken: dict[str, bytes] = field(default_factory=dict)


class Mutator:
    """Does to good inputs what machines, editors and attackers do."""

    def __init__(self, good: tuple[bytes, ...], nasties: list[bytes], seed: int) -> None:
        self.chance = random.Random(seed)
        self.good = list(good)
        self.nasties = nasties

    def case(self) -> bytes:
        chance = self.chance
        if chance.random() < 0.03:
            return chance.randbytes(chance.randrange(64))
        content = chance.choice(self.good)
        for _ in range(chance.choice((1, 1, 1, 2, 3, 6))):
            content = self.changed(content)
        return content

    def changed(self, content: bytes) -> bytes:
        chance = self.chance
        where = chance.randrange(len(content) + 1)
        until = min(len(content), where + chance.choice((0, 1, 1, 2, 5, 20)))
        middle = content[where:until]
        match chance.randrange(8):
            case 0 | 1:
                middle = chance.choice(self.nasties)
            case 2:
                middle = bytes(byte ^ (1 << chance.randrange(8)) for byte in middle)
            case 3:
                middle = b""
            case 4:
                middle *= chance.randrange(2, 6)
            case 5:
                middle = chance.randbytes(len(middle))
            case 6:
                other = chance.choice(self.good)
                return content[:where] + other[chance.randrange(len(other) + 1) :]
            case _:
                return self.with_other_digits(content)
        return content[:where] + middle + content[until:]

    def with_other_digits(self, content: bytes) -> bytes:
        """A digit for a digit, so that what is read stays close to being right."""
        chance = self.chance
        return bytes(
            chance.choice(b"0123456789") if 48 <= byte <= 57 and chance.random() < 0.2 else byte
            for byte in content
        )


def signature(error: BaseException) -> str:
    """Where and how it broke: cases with one cause are told once."""
    frames = [
        frame for frame in traceback.extract_tb(error.__traceback__) if "/haccp/" in frame.filename
    ] or traceback.extract_tb(error.__traceback__)
    last = frames[-1]
    told = [re.sub(r"\d+", "N", line) for line in str(error).strip().splitlines()] or [""]
    if isinstance(error, AssertionError):
        # a property of a whole command: its own trace is in what it printed
        traced = [line.strip() for line in told if "/haccp/" in line]
        return f"AssertionError: {' '.join(traced[-1:])[-120:]} {told[-1][:60]}"
    return f"{type(error).__name__} at {Path(last.filename).name}:{last.lineno}: {told[0][:80]}"


def attempt(run: Callable[[str, bytes], bool], name: str, content: bytes, tally: Tally) -> None:
    tally.cases += 1
    try:
        tally.read += run(name, content)
    except Exception as error:  # noqa: BLE001 - anything but Refused is what is looked for
        cause = signature(error)
        if cause not in tally.broken or len(content) < len(tally.broken[cause]):
            tally.broken[cause] = content


def fuzz(name: str, cases: int, seed: int) -> Tally:
    from tests.faults.parsing import NASTIES, PROPERTIES, good_enough

    mutator = Mutator(PROPERTIES[name][1](), NASTIES, seed)
    tally = Tally()
    begun = time.perf_counter()
    for _ in range(cases):
        attempt(good_enough, name, mutator.case(), tally)
    tally.seconds = time.perf_counter() - begun
    return tally


def very_large() -> Tally:
    """Single cells and texts of up to 100 MB."""
    from tests.faults.parsing import LIMITS, LOG, good_enough

    tally = Tally()
    begun = time.perf_counter()
    for size in (1_000_000, 100_000_000):
        long = b"n" * size
        attempt(good_enough, "a log", LOG + b"stew,cool,60,98,F,,,,," + long + b"\n", tally)
        attempt(good_enough, "a log", LOG + b'"' + long, tally)
        attempt(good_enough, "an export", b"{" + long, tally)
        attempt(good_enough, "an export", long, tally)
        attempt(good_enough, "local limits", LIMITS.replace(b"Colder.", long), tally)
    for name in ("a text", "a time", "a temperature", "a paper", "a hold", "a moment", "a name"):
        for long in (
            b"n" * 5_000_000,
            b"9" * 5_000_000,
            b" " * 5_000_000 + b"x",
            b"f " * 2_500_000,
        ):
            attempt(good_enough, name, long, tally)
    tally.seconds = time.perf_counter() - begun
    return tally


def guided(name: str, cases: int) -> None:
    """Let atheris choose the inputs by the lines of haccp that they reach; it ends the process."""
    try:
        atheris: Any = importlib.import_module("atheris")
    except ImportError:
        raise SystemExit("This needs atheris: pip install atheris") from None
    with atheris.instrument_imports(include=["haccp"]):
        parsing: Any = importlib.import_module("tests.faults.parsing")
    folder = Path(tempfile.mkdtemp())
    for number, good in enumerate([*parsing.PROPERTIES[name][1](), *parsing.NASTIES]):
        (folder / str(number)).write_bytes(good)
    seen: set[str] = set()

    def one(content: bytes) -> None:
        tally = Tally()
        attempt(parsing.good_enough, name, content, tally)
        for cause, what in tally.broken.items():
            if cause not in seen:
                seen.add(cause)
                print(f"BROKEN {name}: {cause}\n    {what[:200]!r}", flush=True)

    atheris.Setup(
        [sys.argv[0], f"-runs={cases}", "-max_len=4096", "-rss_limit_mb=4096", str(folder)], one
    )
    atheris.Fuzz()


def told(name: str, tally: Tally) -> None:
    each = tally.seconds / tally.cases * 1e6 if tally.cases else 0
    print(
        f"{name:16} {tally.cases:>9,} cases {tally.seconds:7.1f} s {each:9.0f} µs each; "
        f"{tally.read:,} read, {tally.cases - tally.read:,} refused or broken",
        flush=True,
    )
    for cause, content in tally.broken.items():
        shown = content if len(content) <= 200 else content[:200] + b"..."
        print(f"    BROKEN: {cause}\n        {len(content)} bytes: {shown!r}", flush=True)


def main() -> None:
    options = argparse.ArgumentParser()
    options.add_argument("--only", choices=CASES)
    options.add_argument("--guided", choices=CASES)
    options.add_argument("--cases", type=int)
    options.add_argument("--scale", type=float, default=1)
    options.add_argument("--seed", type=int, default=20261026)
    chosen = options.parse_args()
    if chosen.guided:
        guided(chosen.guided, chosen.cases or 20_000)
        return
    tallies = {}
    for name in [chosen.only] if chosen.only else CASES:
        tallies[name] = fuzz(name, chosen.cases or int(CASES[name] * chosen.scale), chosen.seed)
        told(name, tallies[name])
    if not chosen.only:
        tallies["very large"] = very_large()
        told("very large", tallies["very large"])
    cases, seconds = (
        sum(t.cases for t in tallies.values()),
        sum(t.seconds for t in tallies.values()),
    )
    broken = sum(len(t.broken) for t in tallies.values())
    print(f"{cases:,} cases in {seconds / 60:.1f} min; {broken} ways in which something broke")
    sys.exit(1 if broken else 0)


if __name__ == "__main__":
    main()
