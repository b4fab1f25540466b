"""Times the drawing of the demo week's coolings: large, and twelve small ones in a figure, beside the
same figures with the library's own axes and ticks and nothing else.

    python benchmarks/curve.py [ROUNDS]

All in one process, in turn, each timed by the processor's time that it took: the figures to quote are
the median ratios. Every drawing is saved as SVG.
"""

import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, date, datetime
from io import BytesIO
from pathlib import Path

from click.testing import CliRunner
from matplotlib.figure import Figure

from haccp.cli.main import cli
from haccp.cli.terminal_curve import cooling_panel
from haccp.kitchen.register import read_register
from haccp.printing.curve import Numbered, draw, small_multiples
from haccp.printing.drawn_cooling import HOUR, DrawnCurve
from haccp.printing.report_words import gather
from haccp.record.store import open_record

PRINTED = datetime(2026, 11, 2, 15, 0, tzinfo=UTC)


def coolings() -> list[DrawnCurve]:
    with tempfile.TemporaryDirectory() as name:
        CliRunner().invoke(cli, ["demo", f"{name}/demo"], catch_exceptions=False)
        record = open_record(Path(name) / "demo" / "record.sqlite3", create=False)
        week = gather(record, read_register(record), date(2026, 10, 26), date(2026, 11, 1), PRINTED)
        record.close()
    return [one.cooling for panels in week.drawings.small.values() for one in panels][:12]


def plainly(curves: list[DrawnCurve], across: int, size: tuple[float, float]) -> bytes:
    """Draw readings, levels and deadlines with the library's axes, ticks and labels."""
    figure = Figure(figsize=size)
    for n, curve in enumerate(curves):
        axes = figure.add_subplot(-(-len(curves) // across), across, n + 1)
        hours = [(one.at - curve.begin) / HOUR for one in curve.readings]
        axes.plot(hours, [curve.height(one.temperature) for one in curve.readings], "ko-")
        for level in curve.levels:
            axes.axhline(curve.at(level), color="black", linestyle=":")
        for due, finding in curve.walls:
            begin = (due - curve.begin) / HOUR
            axes.fill_between(
                [begin, 7], curve.at(finding.limit.level), 145, hatch="//", facecolor="none"
            )
        axes.set_xlim(-0.35, 7)
        axes.set_ylim(30, 145)
    drawn = BytesIO()
    figure.savefig(drawn, format="svg")
    return drawn.getvalue()


def ms(work: Callable[[], object], curves: int) -> float:
    begun = time.process_time()
    work()
    return (time.process_time() - begun) * 1000 / curves


def main(rounds: int) -> None:
    curves = coolings()
    numbered = [Numbered(n, f"batch-{n}", curve) for n, curve in enumerate(curves, start=1)]
    count = len(curves)
    works: dict[str, Callable[[], object]] = {
        "large": lambda: [draw(one) for one in curves],
        "large, library's ticks": lambda: [plainly([one], 1, (7.3, 2.4)) for one in curves],
        "twelve small in one figure": lambda: small_multiples(numbered),
        "twelve small, library's ticks": lambda: plainly(curves, 4, (7.3, 4.3)),
        "in the terminal": lambda: [cooling_panel(one, 80) for one in curves],
    }
    for work in works.values():
        work()
    taken = [{name: ms(work, count) for name, work in works.items()} for _ in range(rounds)]
    for name in works:
        middle = statistics.median(one[name] for one in taken)
        print(f"{name}: {middle:.1f} ms a cooling, least {min(one[name] for one in taken):.1f}")
    for ours, theirs in (
        ("large", "large, library's ticks"),
        ("twelve small in one figure", "twelve small, library's ticks"),
        ("twelve small in one figure", "large"),
    ):
        ratio = statistics.median(one[ours] / one[theirs] for one in taken)
        print(f"{ours} to {theirs}: median ratio over {rounds} rounds {ratio:.2f}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 7)
