"""One cooling in full: its values, bounds and deadlines in words, on the kitchen's clock."""

import re
import textwrap
from collections.abc import Iterator, Sequence
from datetime import datetime
from itertools import pairwise
from typing import Any

from matplotlib.collections import PolyCollection
from matplotlib.markers import TICKDOWN

from haccp.kitchen.cooling_estimate import BandPoint
from haccp.language import phrase
from haccp.printing.curve_panel import NOWHERE, Panel
from haccp.printing.curve_sheet import DOT, LINE, Box, Sheet, width_of
from haccp.printing.curve_words import (
    bar_words,
    clock_labels,
    degrees,
    hours_since,
    number,
    title,
    wall_words,
)
from haccp.printing.drawn_cooling import GAP, HOUR, DrawnCurve, TimeAxis, hotter, mark, whole_hours
from haccp.rules.evidence import Finding, Reading, overall
from haccp.time import clock

# Of a frame on its part of the sheet: degrees; clock and hours; title and deadlines [pt].
LEFT, BELOW, ABOVE = 36, 31, 26
_CROSS = 7.5
_NEAR = 4 * 8  # spots for words below a bar that are still beside it
_UNIT = re.compile(
    r"(?<=\d) (?=\d|°|h\b|min\b)|(?<=h) (?=\d)"
)  # between a number and what belongs to it
_STEPS = (1, 2, 3, 6, 12, 24)  # between two ticks [h]


class Large(Panel):
    """One cooling in full, on its own stretch of the kitchen's clock."""

    def __init__(self, sheet: Sheet, frame: Box, cooling: DrawnCurve) -> None:
        self.time: TimeAxis = cooling.axis
        super().__init__(sheet, frame, cooling, self.time, (0.0, self.time.width))

    def draw(self, *beside: str) -> None:
        """Draw it, with the first of `beside` right of its title for which there is room."""
        self.head(beside)
        self.estimates()
        self.forbidden()
        self.levels()
        self.bars(4)
        self.guide(0.7)
        self.dots(DOT, _CROSS)
        self.scales()
        self.cuts()
        self.ink()
        self.whites: list[Box] = []
        self.hot()
        self.deadlines()
        self.values()
        self.crossings()
        self.cover()

    def head(self, beside: Sequence[str]) -> None:
        y = self.frame.top + ABOVE - 8
        left = self.frame.left - LEFT + 4
        if self.cooling.findings:
            self.sheet.sign(left, y, overall(self.cooling.findings))
        words = title(self.cooling)
        filled = self.sheet.text(left + 7, y, words, bold=True)
        for told in beside:
            if filled.right + 6 < self.frame.right - width_of(told, False):
                self.sheet.text(self.frame.right, y, told, ha="right")
                break

    def estimates(self) -> None:
        """Draw the planned curve dotted and the expected one dashed, each in its band of grey."""
        looks: tuple[tuple[Sequence[BandPoint], str, Any], ...] = (
            (self.cooling.planned, "0.93", (0, (1, 2))),
            (self.cooling.expected, "0.86", (0, (4, 2))),
        )
        for points, shade, pattern in looks:
            inside = [one for one in points if self.time.begin <= one[0] <= self.time.end]
            if len(inside) < 2:
                continue
            xs = [self.x(at) for at, *_ in inside]
            low, middle, high = (
                [self.cooling.converted(value) for value in values]
                for values in zip(*(temperatures for _, *temperatures in inside), strict=True)
            )
            upper, lower = (list(zip(xs, edge, strict=True)) for edge in (high, low))
            self.fill([*upper, *reversed(lower)], facecolor=shade, edgecolor="none", zorder=-1)
            self.line(xs, middle, linewidth=0.8, linestyle=pattern, zorder=1)

    def scales(self) -> None:
        """Set the levels, the kitchen's clock, and beneath it the hours since the start."""
        cooling, box = self.cooling, self.frame
        lines = [cooling.at(level) for level in cooling.levels]
        for level, y in zip(cooling.levels, lines, strict=True):
            words = degrees(level, cooling.degree)
            self.sheet.text(box.left - 5, self.above(y) - 3, words, ha="right")
        an_hour = (box.right - box.left) / self.time.width
        wide = width_of("00:00", False) + 8
        step = next((one for one in _STEPS if one * an_hour >= wide), _STEPS[-1])
        hours = list(whole_hours(self.time, cooling.zone, step))
        self.edges([self.x(hour) for hour in hours], lines, 3.5)
        filled = box.left - LEFT
        cuts = [self.right_of(cut + one) for cut in self.time.cuts for one in (0.0, GAP)]
        for hour, words in zip(hours, clock_labels(hours, self.time, cooling.zone), strict=True):
            x, y = self.right_of(self.x(hour)), box.bottom - 12
            # beside a cut's strokes
            behind = max((cut for cut in cuts if cut < x), default=x)
            for at, ha in ((x, "center"), (x + 5, "left"), (behind + 4.5, "left")):
                place = self.sheet.box(at, y, words, bold=False, ha=ha)
                free = filled < place.left and place.right <= box.right + 2
                if free and not any(cut - 3 < place.right and place.left < cut + 3 for cut in cuts):
                    filled = self.sheet.text(at, y, words, ha=ha).right
                    break
        if cooling.zero and cooling.findings:
            self.hours(cooling.zero, step)

    def hours(self, zero: datetime, step: int) -> None:
        y = self.frame.bottom - 17
        begin = self.right_of(self.x(zero))
        self.sheet.line([begin, self.frame.right], [y, y], linewidth=0.5)
        filled = self.sheet.text(begin, y - 11, hours_since(self.cooling)).right
        ticks = [begin]
        for n in range(step, int((self.time.end - zero) / HOUR) + 1, step):
            if self.time.shows(zero + n * HOUR):
                x, words = self.right_of(self.x(zero + n * HOUR)), phrase("{hours} h", hours=n)
                ticks.append(x)
                place = self.sheet.box(x, y - 11, words, bold=False, ha="center")
                if place.left > filled + 2 and place.right <= self.frame.right + 2:
                    filled = self.sheet.text(x, y - 11, words, ha="center").right
        style = {"linestyle": "none", "markersize": 3, "markeredgewidth": 0.5}
        self.sheet.line(ticks, [y] * len(ticks), marker=TICKDOWN, **style)

    def cuts(self) -> None:
        """Leave a white band where time is cut out, and two strokes on both axes."""
        for place in self.time.cuts:
            left, right = self.right_of(place), self.right_of(place + GAP)
            low, high = (place, self.low), (place + GAP, self.high)
            band = [low, (low[0], high[1]), high, (high[0], low[1])]
            self.fill(band, facecolor="white", edgecolor="none", zorder=2.5)
            hours = [self.frame.bottom - 17] if self.cooling.zero else []
            for y in (self.frame.bottom, *hours):
                self.sheet.line([left, right], [y, y], color="white", linewidth=2, zorder=8)
                xs = [left - 2, left + 2, NOWHERE, right - 2, right + 2]
                self.sheet.line(xs, [y - 4, y + 4, NOWHERE, y - 4, y + 4], zorder=9)

    # ---- words where there is room ----

    def ink(self) -> None:
        """Note where the curve, the bars and the walls are, so that no word stands on them."""
        inked = self.sheet.inked
        for reading in self.cooling.readings:
            x, y = self.on_sheet(reading)
            inked.append(Box(x - 3.5, y - 3.5, x + 3.5, y + 3.5))
        for one, other in pairwise(map(self.on_sheet, self.cooling.readings)):
            steps = int(max(abs(other[0] - one[0]), abs(other[1] - one[1])) // 6) + 1
            for n in range(steps):
                share = n / steps
                x, y = (a + (b - a) * share for a, b in zip(one, other, strict=True))
                inked.append(Box(x - 1, y - 2, x + 1, y + 2))
        for begin, end, level, _ in self.passed():
            y = self.above(self.cooling.at(level))
            left, right = (self.right_of(self.x(at)) for at in (begin, end))
            inked.append(Box(left, y - 2, right, y + 2))
        corners = [(self.right_of(place), self.above(value)) for place, value in self.steps()]
        for (left, high), (right, low) in pairwise(corners):
            inked.append(Box(left - 1, low - 1, right + 1, high + 1))
        for place in self.time.cuts:
            left, right = self.right_of(place), self.right_of(place + GAP)
            inked.append(Box(left, self.frame.bottom, right, self.frame.top))

    def on_sheet(self, reading: Reading) -> tuple[float, float]:
        place, value = self.place(reading)
        return self.right_of(place), self.above(value)

    def put(
        self,
        words: Sequence[str],
        spots: Sequence[tuple[float, float, str]],
        *,
        bold: bool = False,
        anyway: bool = False,
        beside: Sequence[Box] = (),
        over: float = 0.0,
    ) -> bool:
        """Write lines at the first spot, of their lowest baseline, where there is room for them.

        With `anyway` at the first one that lies in the frame, if there is room at none. `beside`
        is what they should not stand on either, `over` by how much they may stand above the frame.
        """
        high = LINE - 1
        within = None
        for x, y, ha in spots:
            boxes = [
                self.sheet.box(x, y + high * (len(words) - 1 - n), line, bold=bold, ha=ha)
                for n, line in enumerate(words)
            ]
            if not all(self.holds(one, over) for one in boxes):
                continue
            on_line = any(box.meets(line) for box in boxes for line in beside)
            if not on_line and all(map(self.sheet.is_free, boxes)):
                break
            within = within or (x, y, ha, boxes)
        else:
            if not (anyway and within):
                return False
            x, y, ha, boxes = within
        for n, line in enumerate(words):
            self.sheet.text(x, y + high * (len(words) - 1 - n), line, bold=bold, ha=ha)
        self.sheet.inked += boxes
        self.whites += boxes
        return True

    def holds(self, box: Box, over: float) -> bool:
        frame = self.frame
        inside = frame.left < box.left and box.right <= frame.right + 1
        return inside and frame.bottom < box.bottom and box.top <= frame.top + over

    def cover(self) -> None:
        """Put white behind the words that stand on hatching, all in one artist."""
        shapes = [
            [(a.left, a.bottom), (a.right, a.bottom), (a.right, a.top), (a.left, a.top)]
            for a in self.whites
        ]
        # over hatching and levels, under the steps and everything else
        white = PolyCollection(
            shapes, facecolors="white", edgecolors="none", zorder=1.5, transform=self.sheet.points
        )
        self.sheet.figure.add_artist(white)

    def hot(self) -> None:
        """Draw an arrow, with value and time, for what was hotter than the scale."""
        hot = hotter(self.cooling)
        for reading in hot:
            place = min(max(self.x(reading.at), self.across[0]), self.across[1])
            x = max(self.right_of(place), self.frame.left + 5)
            self.sheet.line([x], [self.frame.top - 3], marker="^", markersize=5, zorder=6)
        if hot:
            last, zone = hot[-1], self.cooling.zone
            words = f"{number(last.temperature, self.cooling.degree)}, {clock(last.at, zone)}"
            place = min(max(self.x(last.at), self.across[0]), self.across[1])
            x = max(self.right_of(place), self.frame.left + 5)
            filled = self.sheet.text(x - 3, self.frame.top + 4, words)
            self.sheet.inked.append(filled)

    def deadlines(self) -> None:
        """Name each deadline over its wall; one beyond the drawing at the right end."""
        y = self.frame.top + 4
        for due, finding in self.cooling.walls:
            words = wall_words(due, finding, self.cooling)
            half = width_of(words, True) / 2
            x = self.right_of(self.x(due))
            if not self.cooling.is_near(due):
                words, x = phrase("later: {deadline}", deadline=words), self.frame.right
            spots = [(x, "center"), (self.frame.right, "right"), (x + 2, "right"), (x - 2, "left")]
            for place, ha in spots:
                box = self.sheet.box(place, y, words, bold=True, ha=ha)
                over = box.right <= self.frame.right + 2 and box.left <= x + 1
                near = abs(place - x) <= 2 * half or not self.cooling.is_near(due)
                if over and near and self.sheet.is_free(box):
                    self.sheet.inked.append(self.sheet.text(place, y, words, bold=True, ha=ha))
                    break

    def values(self) -> None:
        """Print what the verdict rests on beside its points, what breaks a limit first."""
        told = self.cooling.told
        shown = [r for r in self.cooling.readings if r in told and self.place(r)[1] <= self.high]
        signs = {r: mark(r, self.cooling.findings) for r in shown}
        for reading in sorted(shown, key=lambda r: signs[r] != "✕"):
            x, y = self.on_sheet(reading)
            words = number(reading.temperature, self.cooling.degree)
            if signs[reading] == "?":
                words = f"{words} ?"
            spots = [
                (x + 5, y + 3, "left"),
                (x - 4, y - 9, "right"),
                (x, y + 6, "center"),
                (x + 5, y - 3, "left"),
                (x, y - 13, "center"),
                (x - 5, y + 3, "right"),
                (x + 6, y + 9, "left"),
                (x + 6, y - 9, "left"),
                (x - 6, y - 3, "right"),
            ]
            self.put([words], spots, bold=bool(signs[reading]), anyway=True, over=LINE)

    def crossings(self) -> None:
        """Say at each bar in which bounds its level was passed, and what was allowed."""
        for finding in self.cooling.findings:
            words = bar_words(finding, self.cooling)
            crossing = finding.crossing
            if not words or crossing is None:
                continue
            at = crossing.latest or crossing.earliest or self.time.end
            begin = self.right_of(self.x(crossing.earliest or at))
            end = self.right_of(min(self.x(at), self.across[1]))
            y = self.above(self.cooling.at(finding.limit.level))
            bold = finding.verdict.is_deviation
            levels = [self.above(self.cooling.at(level)) for level in self.cooling.levels]
            lines = [Box(self.frame.left, at, self.frame.right, at + 0.1) for at in levels]
            # at best near and on no level's line; in as few lines of words as there is room for
            for spots in self.around(begin, end, y, finding):
                if any(
                    self.put(told, spots, bold=bold, beside=beside)
                    for beside in (lines, [])
                    for told in _folded(words)
                ):
                    break

    def around(
        self, begin: float, end: float, y: float, finding: Finding
    ) -> Iterator[list[tuple[float, float, str]]]:
        """Give where a bar's words may stand, nearest first: below, above, at the right end."""
        due = self.right_of(self.x(finding.due)) if finding.due else end
        lows = [y - 9 - 3 * n for n in range(11)]
        highs = [y + 4 + 5 * n for n in range(13)]
        below = [
            (x, one, ha)
            for one in lows
            for x, ha in (
                (end - 6, "right"),
                (begin - 5, "right"),
                (begin, "left"),
                (self.frame.left + 3, "left"),
            )
        ]
        above = [
            (x, one, ha)
            for one in highs
            for x, ha in ((end + 5, "left"), (begin, "left"), (end, "right"), (begin - 5, "right"))
        ]
        near, far = below[:_NEAR], below[_NEAR:]
        if finding.verdict.is_deviation:  # in the forbidden corner, over what is too late
            yield [(due + 5, one, "left") for one in highs]
            yield [(due - 5, one, "right") for one in highs]
            yield [*above, *near, *far]
        else:
            yield near
            yield [*above, *far]
        yield [(self.frame.right, one, "right") for one in (*highs, *lows)]


def _folded(words: Sequence[str]) -> list[list[str]]:
    """Give lines of words as they are, and each folded in two and in three of like length."""
    folded = [list(words)]
    for lines in (2, 3):
        longest = max(len(line) // lines + 5 for line in words)
        tied = [_UNIT.sub("\N{NO-BREAK SPACE}", line) for line in words]
        parts = [part for line in tied for part in textwrap.wrap(line, longest)]
        folded.append([part.replace("\N{NO-BREAK SPACE}", " ") for part in parts])
    return folded
