"""Times the demo week's PDF beside drawing its curves the ordinary pyplot way and saving each.

    python benchmarks/report.py [ROUNDS]

Both in one process with everything imported, in turn: the figure to quote is the median ratio.
"""

import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path

import matplotlib as mpl
from click.testing import CliRunner

mpl.use("Agg")
from matplotlib import dates as mdates
from matplotlib import pyplot as plt

from haccp.cli.main import cli
from haccp.kitchen.register import read_register
from haccp.printing.drawn_cooling import DrawnCurve
from haccp.printing.head_code import scannable
from haccp.printing.report_words import gather
from haccp.printing.typeset import typeset
from haccp.record.store import open_record

PRINTED = datetime(2026, 11, 2, 15, 0, tzinfo=UTC)


def weeks_pdf(path: Path) -> bytes:
    record = open_record(path, create=False)
    content = gather(record, read_register(record), date(2026, 10, 26), date(2026, 11, 1), PRINTED)
    drawings = {**content.drawings.drawn(), "head.svg": scannable(record.head())}
    record.close()
    words = {**content.words, "again": ""}
    return typeset(words, drawings, template="report", paper="letter", printed=PRINTED)


def pyplot_curves(curves: list[DrawnCurve], folder: Path, form: str) -> None:
    for number, curve in enumerate(curves):
        plt.figure(figsize=(6.7, 2.5))
        times = mdates.date2num([reading.at for reading in curve.readings])  # type: ignore[no-untyped-call]
        plt.plot(times, [float(reading.temperature.fahrenheit) for reading in curve.readings], "o-")
        for finding in curve.findings:
            plt.axhline(float(finding.limit.level.f), linestyle="--")
            if finding.due:
                due = mdates.date2num(finding.due)  # type: ignore[no-untyped-call]
                plt.axvline(due, linestyle=":")
                plt.axvspan(due, times[-1], hatch="//", fill=False)
        plt.gca().xaxis_date()
        plt.ylabel("°F")
        plt.savefig(folder / f"{number}.{form}")
        plt.close()


def seconds(work: Callable[[], object]) -> float:
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun


def main(rounds: int) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        CliRunner().invoke(cli, ["demo", str(folder / "demo")], catch_exceptions=False)
        path = folder / "demo" / "record.sqlite3"
        record = open_record(path, create=False)
        content = gather(
            record, read_register(record), date(2026, 10, 26), date(2026, 11, 1), PRINTED
        )
        record.close()
        small = content.drawings.small.values()
        curves = [one.cooling for panels in small for one in panels]
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
                f"the week's PDF, {len(curves)} curves: {ours:.2f} s; pyplot curves alone, saved as "
                f"{form}: {theirs:.2f} s; median ratio over {rounds} pairs: {ratio:.2f}"
            )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 7)
