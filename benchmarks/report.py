"""What a report costs, beside drawing its curves the ordinary pyplot way and saving each.

    python benchmarks/report.py [ROUNDS]

Of the demo week: both in one process with everything imported, and each as a process of its own. Of
a big kitchen's week (40 points hourly, 105 coolings, invented): processes alone, with their most
memory and the pages. Of three months of that kitchen: one after another, and --by-month. In turn
each time, so that a busy machine slows both alike: the figures to quote are the median ratios.
"""

import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

from click.testing import CliRunner
from pypdf import PdfReader

sys.path.insert(0, str(Path(__file__).parents[1]))

from benchmarks.pyplot_curves import pyplot_curves
from haccp.cli.main import cli
from haccp.kitchen.register import read_register
from haccp.printing.head_code import scannable
from haccp.printing.report_words import Content, gather
from haccp.printing.typeset import typeset
from haccp.record.store import open_record
from tests import big_week
from tests.years import make_years

PRINTED = datetime(2026, 11, 2, 15, 0, tzinfo=UTC)
WEEK = (date(2026, 10, 26), date(2026, 11, 1))
DRAWS = Path(__file__).with_name("pyplot_curves.py")


def gathered(path: Path, days: tuple[date, date], printed: datetime) -> Content:
    record = open_record(path, create=False)
    try:
        return gather(record, read_register(record), *days, printed)
    finally:
        record.close()


def weeks_pdf(path: Path) -> bytes:
    content = gathered(path, WEEK, PRINTED)
    drawings = {**content.drawings.drawn(), "head.svg": scannable((1, "0" * 64))}
    words = {**content.words, "again": ""}
    return typeset(words, drawings, template="report", paper="letter", printed=PRINTED)


def as_numbers(content: Content) -> list[dict[str, Any]]:
    curves = [one.cooling for panels in content.drawings.small.values() for one in panels]
    return [
        {
            "at": [reading.at.timestamp() for reading in curve.readings],
            "read": [float(reading.temperature.fahrenheit) for reading in curve.readings],
            "limits": [
                [float(one.limit.level.f), one.due.timestamp() if one.due else None]
                for one in curve.findings
            ],
        }
        for curve in curves
    ]


def seconds(work: Callable[[], object]) -> float:
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun


# A process begins with the memory of the one that starts it, and is known by the most it had: so a
# small one starts it.
_TIMED = """
import json, resource, subprocess, sys, time
begun = time.perf_counter()
subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL, check=True)
wall, used = time.perf_counter() - begun, resource.getrusage(resource.RUSAGE_CHILDREN)
print(json.dumps([wall, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024]))
"""


def cost(words: Sequence[str]) -> tuple[float, float, float]:
    """Run a process: seconds on the clock, seconds of the processor, most memory [MB]."""
    run = [sys.executable, "-S", "-c", _TIMED, *words]
    wall, cpu, most = json.loads(subprocess.run(run, stdout=subprocess.PIPE, check=True).stdout)
    return wall, cpu, most


def reports(path: Path, first: date, last: date, output: Path, *more: str) -> list[str]:
    words = ["report", f"{first}", f"{last}", "--output", str(output), "--force", *more]
    return [sys.executable, "-m", "haccp", "--db", str(path), *words]


def compared(what: str, ours: list[str], theirs: list[str], curves: int, rounds: int) -> None:
    pairs = [(cost(ours), cost(theirs)) for _ in range(rounds)]
    walls = statistics.median(a[0] / b[0] for a, b in pairs)
    cpus = statistics.median(a[1] / b[1] for a, b in pairs)
    (wall, cpu, most), (_, cpu2, most2) = (
        tuple(statistics.median(one[n] for one in side) for n in range(3))
        for side in zip(*pairs, strict=True)
    )
    print(
        f"{what}, as a process: {wall:.2f} s, {cpu:.2f} s of the processor, {most:.0f} MB; pyplot, its "
        f"{curves} curves alone: {cpu2:.2f} s, {most2:.0f} MB; median ratio over {rounds} pairs: "
        f"{walls:.2f} on the clock, {cpus:.2f} of the processor",
        flush=True,
    )


def demo_week(folder: Path, rounds: int) -> None:
    CliRunner().invoke(cli, ["demo", str(folder / "demo")], catch_exceptions=False)
    path = folder / "demo" / "record.sqlite3"
    curves = as_numbers(gathered(path, WEEK, PRINTED))
    weeks_pdf(path)
    for form in ("pdf", "svg", "png"):
        pyplot_curves(curves, folder, form)
        pairs = [
            (
                seconds(lambda: weeks_pdf(path)),
                seconds(lambda form=form: pyplot_curves(curves, folder, form)),  # type: ignore[misc]
            )
            for _ in range(rounds)
        ]
        ours, theirs = (statistics.median(column) for column in zip(*pairs, strict=True))
        ratio = statistics.median(a / b for a, b in pairs)
        print(
            f"the week's PDF, {len(curves)} curves, all imported: {ours:.2f} s; pyplot curves alone, "
            f"saved as {form}: {theirs:.2f} s; median ratio over {rounds} pairs: {ratio:.2f}",
            flush=True,
        )
    numbers = folder / "week.json"
    numbers.write_text(json.dumps(curves))
    ours_as_process = reports(path, *WEEK, folder / "week.pdf")
    theirs_as_process = [sys.executable, str(DRAWS), str(numbers), str(folder), "pdf"]
    compared("the week", ours_as_process, theirs_as_process, len(curves), rounds)


def a_big_week(folder: Path, rounds: int) -> None:
    path, paper, numbers = folder / "big.sqlite3", folder / "big.pdf", folder / "big.json"
    entries = big_week.make_big_week(path)
    days = (big_week.FIRST.date(), big_week.LAST.date())
    curves = as_numbers(gathered(path, days, big_week.PRINTED))
    numbers.write_text(json.dumps(curves))
    theirs = [sys.executable, str(DRAWS), str(numbers), str(folder), "pdf"]
    for more in ((), ("--no-readings",)):
        what = f"a big week, {entries} entries{' without its annex' if more else ''}"
        printed = ("--printed", big_week.PRINTED.isoformat())
        compared(what, reports(path, *days, paper, *printed, *more), theirs, len(curves), rounds)
        print(f"    {len(PdfReader(paper).pages)} pages, {paper.stat().st_size / 1e6:.1f} MB")


def three_months(folder: Path) -> None:
    path, ends = folder / "months.sqlite3", datetime(2026, 3, 31, 22, tzinfo=UTC)
    make_years(path, 89, ends)
    first, months = date(2026, 1, 1), [(1, 31), (2, 28), (3, 31)]
    printed = ("--printed", (ends + timedelta(hours=1)).isoformat())
    each = [
        cost(reports(path, *days, folder / "alone.pdf", *printed))
        for days in ((date(2026, month, 1), date(2026, month, last)) for month, last in months)
    ]
    every = reports(path, first, ends.date(), folder / "months.pdf", *printed, "--by-month")
    wall, cpu, _ = cost(every)
    alone, alone_cpu = (sum(one[n] for one in each) for n in range(2))
    print(
        f"three big months, one after another {alone:.1f} s, {alone_cpu:.1f} s of the processor; "
        f"--by-month on {os.cpu_count()} cores {wall:.1f} s, {cpu:.1f} s: ratio {wall / alone:.2f} on "
        f"the clock, {cpu / alone_cpu:.2f} of the processor"
    )


def main(rounds: int) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        demo_week(folder, rounds)
        a_big_week(folder, rounds)
        three_months(folder)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 7)
