"""Draws coolings the ordinary pyplot way and saves each: what a report's cost is compared with.

    python benchmarks/pyplot_curves.py CURVES.json FOLDER pdf|svg|png

`CURVES.json` holds of each cooling its moments [s since 1970], readings [°F] and limits, each as
[level, due].
"""

import json
import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import matplotlib as mpl

mpl.use("Agg")
from matplotlib import dates as mdates
from matplotlib import pyplot as plt


def day_number(moment: float) -> float:
    return float(mdates.date2num(datetime.fromtimestamp(moment, UTC)))  # type: ignore[no-untyped-call]


def pyplot_curves(curves: list[dict[str, Any]], folder: Path, form: str) -> None:
    for number, curve in enumerate(curves):
        plt.figure(figsize=(6.7, 2.5))
        times = [day_number(moment) for moment in curve["at"]]
        plt.plot(times, curve["read"], "o-")
        for level, due in curve["limits"]:
            plt.axhline(level, linestyle="--")
            if due:
                plt.axvline(day_number(due), linestyle=":")
                plt.axvspan(day_number(due), times[-1], hatch="//", fill=False)
        plt.gca().xaxis_date()
        plt.ylabel("°F")
        plt.savefig(folder / f"{number}.{form}")
        plt.close()


if __name__ == "__main__":
    pyplot_curves(json.loads(Path(sys.argv[1]).read_text()), Path(sys.argv[2]), sys.argv[3])
