"""Shares with their intervals, as bars: black and white, as a copier keeps them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from io import BytesIO
from typing import Literal

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from haccp.language import phrase
from haccp.printing.curve_sheet import NO_DATE, style
from haccp.printing.typefaces import Face

_MOST = 12
_ROW_IN = 0.28


@dataclass(frozen=True, slots=True)
class Bar:
    """Of `count` so many were not met; the share behind that lies from `low` to `high`."""

    label: str
    not_met: int
    count: int
    low: float
    high: float


def draw(
    panels: Mapping[str, Sequence[Bar]],
    form: Literal["svg", "png", "pdf"],
    mark: str,
    faces: Sequence[Face] = (),
) -> bytes:
    """Draw each panel's bars, the worst `_MOST` of them: shares [%] with their intervals.

    A panel's name says by what it is counted, in words. The same bars give the same bytes; `mark`
    stands in the file's metadata. `faces` show the labels (`typeset.printable`).
    """
    shown = {name: bars[:_MOST] for name, bars in panels.items() if bars}
    heights = [len(bars) + 2 for bars in shown.values()] or [2]
    with style(faces):
        figure = Figure(figsize=(7.5, _ROW_IN * sum(heights)), layout="constrained")
        axes = figure.subplots(len(heights), 1, squeeze=False, height_ratios=heights)[:, 0]
        for one, (name, bars) in zip(axes, shown.items(), strict=False):
            _panel(one, name, bars)
        file = BytesIO()
        figure.savefig(file, format=form, dpi=150, metadata=NO_DATE[form] | {"Keywords": mark})
    return file.getvalue()


def _panel(axes: Axes, name: str, bars: Sequence[Bar]) -> None:
    places = range(len(bars), 0, -1)
    shares = [100 * bar.not_met / bar.count for bar in bars]
    below = [share - 100 * bar.low for share, bar in zip(shares, bars, strict=True)]
    above = [100 * bar.high - share for share, bar in zip(shares, bars, strict=True)]
    axes.barh(places, shares, color="0.75", edgecolor="black", height=0.6)
    reach = [[max(0.0, one) for one in side] for side in (below, above)]
    axes.errorbar(shares, places, xerr=reach, fmt="none", ecolor="black", capsize=2)
    axes.set_yticks(places, [f"{bar.label} ({bar.not_met}/{bar.count})" for bar in bars])
    axes.set_xlim(0, 100)
    axes.set_title(phrase("not met [%], {by_what}", by_what=name), loc="left", fontsize=8)
    axes.spines[["top", "right"]].set_visible(False)
