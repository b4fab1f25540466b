"""One cooling in a frame: what its large drawing and its small one share.

The library scales, clips and hatches. Its axes would do so as well, and cost more than all that is
drawn in them; their ticks, here a row of marks, cost that again (benchmarks/curve.py).
"""

from collections.abc import Callable, Iterator, Sequence
from datetime import datetime
from itertools import pairwise
from typing import Any

from matplotlib.collections import PolyCollection
from matplotlib.markers import TICKDOWN, TICKLEFT
from matplotlib.patches import Polygon
from matplotlib.transforms import Affine2D, Bbox, TransformedBbox

from haccp.printing.curve_sheet import Box, Sheet
from haccp.printing.drawn_cooling import (
    HIGHEST,
    LOWEST,
    UNKNOWN,
    DrawnCurve,
    in_time_and_late,
    mark,
)
from haccp.rules.evidence import Reading
from haccp.temperature import Level

NOWHERE = float("nan")  # where a line is interrupted


class Panel:
    """One cooling in a frame of its own: `x` says where a moment lies along it."""

    def __init__(
        self,
        sheet: Sheet,
        frame: Box,
        cooling: DrawnCurve,
        x: Callable[[datetime], float],
        across: tuple[float, float],
    ) -> None:
        self.sheet, self.frame, self.cooling, self.x, self.across = sheet, frame, cooling, x, across
        self.low, self.high = cooling.at(LOWEST), cooling.at(HIGHEST)
        scale = Bbox.from_extents(across[0], self.low, across[1], self.high)
        inside = Bbox.from_extents(*frame)
        to_points = Affine2D().translate(-scale.x0, -scale.y0)
        to_points.scale(inside.width / scale.width, inside.height / scale.height)
        to_points.translate(inside.x0, inside.y0)
        self.scale = to_points + sheet.points
        self.inside = TransformedBbox(inside, sheet.points)

    def line(self, xs: Sequence[float], ys: Sequence[float], **style: Any) -> None:
        """Draw a line on the panel's own scale; what lies outside of the frame is not drawn."""
        self.sheet.line(xs, ys, **{"transform": self.scale, "clip_box": self.inside, **style})

    def fill(self, corners: Sequence[tuple[float, float]], **style: Any) -> None:
        """Fill a shape on the panel's own scale, as far as it lies in the frame."""
        shape = Polygon(corners, transform=self.scale, clip_box=self.inside, **style)
        self.sheet.figure.add_artist(shape)

    def right_of(self, place: float) -> float:
        """Turn a place along the axis into points on the sheet."""
        begin, end = self.across
        share = (place - begin) / (end - begin)
        return self.frame.left + (self.frame.right - self.frame.left) * share

    def above(self, value: float) -> float:
        share = (value - self.low) / (self.high - self.low)
        return self.frame.bottom + (self.frame.top - self.frame.bottom) * share

    def walls(self) -> list[tuple[float, float]]:
        """Give place and level of each deadline that is drawn."""
        return [
            (self.x(due), self.cooling.at(finding.limit.level))
            for due, finding in self.cooling.walls
            if self.x(due) < self.across[1]
        ]

    def steps(self) -> list[tuple[float, float]]:
        """Give the corners of the edge of what is forbidden; none where no deadline is drawn."""
        floor, edge = self.high, []
        for place, level in self.walls():
            edge += [(place, floor), (place, min(level, floor))]
            floor = min(level, floor)
        return [*edge, (self.across[1], floor)] if edge else []

    def forbidden(self) -> None:
        """Hatch what is too warm for its time; its edge is one line of steps."""
        edge, right = self.steps(), self.across[1]
        if not edge:
            return
        # the library hatches in its own colour and width: black, and thin
        self.fill(
            [*edge, (right, self.high)],
            facecolor="none",
            edgecolor="black",
            hatch="//",
            linewidth=0,
            zorder=0,
        )
        xs, ys = zip(*edge, strict=True)
        self.line(xs, ys, linewidth=1.1, solid_joinstyle="miter", zorder=2)

    def levels(self) -> None:
        """Dot every level across, in one artist: each costs half a millisecond."""
        ys = [self.cooling.at(level) for level in self.cooling.levels]
        self.line(
            [*self.across, NOWHERE] * len(ys),
            [y for level in ys for y in (level, level, NOWHERE)],
            linewidth=0.5,
            dashes=(1, 3),
            zorder=1,
        )

    def bars(self, thick: float) -> None:
        """Draw when each level was passed, `thick` points high: black in time, white too late."""
        half = thick / 2 * (self.high - self.low) / (self.frame.top - self.frame.bottom)
        shapes, inks = [], []
        for begin, end, level, is_late in self.passed():
            left, right = self.x(begin), min(self.x(end), self.across[1])
            y = self.cooling.at(level)
            low, high = y - half, y + half
            shapes.append([(left, low), (right, low), (right, high), (left, high)])
            inks.append("white" if is_late else "black")
        look: dict[str, Any] = {"facecolors": inks, "edgecolors": "black", "linewidths": 0.7}
        place: dict[str, Any] = {"transform": self.scale, "clip_box": self.inside, "zorder": 3}
        self.sheet.figure.add_artist(PolyCollection(shapes, **look, **place))

    def passed(self) -> Iterator[tuple[datetime, datetime, Level, bool]]:
        for finding in self.cooling.findings[:1]:
            start, level = finding.start, finding.limit.start
            if (
                level
                and start
                and start.earliest
                and start.latest
                and start.earliest < start.latest
            ):
                yield start.earliest, start.latest, level, False
        for finding in self.cooling.findings:
            for begin, end, is_late in in_time_and_late(finding):
                yield begin, end, finding.limit.level, is_late

    def guide(self, width: float) -> None:
        """Join readings by a thin line, a dotted one where too little is known to suggest a way."""
        near: list[tuple[float, float]] = []
        far: list[tuple[float, float]] = []
        for one, other in pairwise(self.cooling.readings):
            ends = [self.place(reading) for reading in (one, other)]
            (far if other.at - one.at > UNKNOWN else near).extend([*ends, (NOWHERE, NOWHERE)])
        for points, pattern in ((near, "-"), (far, (0, (1, 2)))):
            if points:
                xs, ys = zip(*points, strict=True)
                self.line(xs, ys, linewidth=width, linestyle=pattern, zorder=4)

    def place(self, reading: Reading) -> tuple[float, float]:
        return self.x(reading.at), self.cooling.height(reading.temperature)

    def dots(self, size: float, cross: float) -> None:
        """Draw readings with a white edge; a cross breaks a limit, an open one is in doubt."""
        shown: dict[str, list[tuple[float, float]]] = {}
        for reading in self.cooling.readings:
            place = self.place(reading)
            if self.across[0] <= place[0] <= self.across[1] and place[1] <= self.high:
                is_broken = mark(reading, self.cooling.findings) == "✕"
                shape = "x" if is_broken else "s" if reading.doubted_since else "o"
                shown.setdefault(shape, []).append(place)
        looks: dict[str, dict[str, Any]] = {
            "o": {"markersize": size, "markeredgecolor": "white", "markeredgewidth": 0.13 * size},
            "s": {"markersize": size - 1, "markerfacecolor": "white", "markeredgewidth": 1},
            "x": {"markersize": cross, "markeredgewidth": 0.27 * cross},
        }
        for shape, places in shown.items():
            xs, ys = zip(*places, strict=True)
            dots = {"linestyle": "none", "marker": shape, "clip_box": None, "zorder": 5}
            self.line(xs, ys, **dots, **looks[shape])

    def edges(self, ticks: Sequence[float], levels: Sequence[float], length: float) -> None:
        """Draw both axes with their ticks: a line and two rows of marks."""
        box = self.frame
        self.sheet.line([box.left, box.left, box.right], [box.top, box.bottom, box.bottom])
        style = {"linestyle": "none", "markersize": length, "markeredgewidth": 0.6}
        xs, ys = [self.right_of(one) for one in ticks], [self.above(one) for one in levels]
        self.sheet.line(xs, [box.bottom] * len(xs), marker=TICKDOWN, **style)
        self.sheet.line([box.left] * len(ys), ys, marker=TICKLEFT, **style)
