"""Draws one cooling for paper: in black and greys, so that a photocopy still tells everything."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from fractions import Fraction
from io import BytesIO
from itertools import cycle
from typing import Any, Literal
from zoneinfo import ZoneInfo

from matplotlib import rc_context, rcdefaults, rcParams
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.markers import TICKDOWN, TICKLEFT
from matplotlib.patches import Polygon
from matplotlib.ticker import MaxNLocator
from matplotlib.transforms import Affine2D

from haccp.kitchen.cooling_estimate import BandPoint
from haccp.limits.limit import Limit
from haccp.rules.asked import ShowMoment
from haccp.rules.evidence import Bounds, Finding, Reading, Verdict
from haccp.rules.words import explain
from haccp.temperature import Degree, Level, Temperature
from haccp.time import clock, day_and_clock, spell

SHAPES = {
    Verdict.MET: "●",
    Verdict.NOT_MET: "✕",
    Verdict.NOT_SHOWN: "?",
    Verdict.OPEN: "○",
    Verdict.STOPPED: "–",
}

_INCH = 25.4  # [mm]
_WIDTH, _HEIGHT = 170, 64  # one printed column [mm]
_LEFT, _RIGHT, _BOTTOM, _TOP = 12, 139, 12, 58  # of the frame on it [mm]
_HOUR = timedelta(hours=1)
_MOST_TICKS = 12
_STEPS = (1, 2, 3, 6, 12, 24)  # between two ticks [h]
# Start, first stage, second stage: told apart by pattern, since a copier knows no colour.
_PATTERNS: tuple[Any, ...] = ((0, (7, 3)), (0, (7, 2, 1, 2)), (0, (1, 1.6)))
_MARKERS: dict[str, dict[str, float]] = {
    "o": {"markersize": 4.5, "markeredgewidth": 0.9},
    "s": {"markersize": 4.5, "markeredgewidth": 0.9},
    "x": {"markersize": 6, "markeredgewidth": 1.5},
}
_TICK: dict[str, Any] = {"markersize": 3, "markeredgewidth": 0.6, "linestyle": "none"}
_STYLE: Any = {
    "font.family": ["DejaVu Sans"],
    "font.size": 7.5,
    "svg.fonttype": "none",
    # A random salt would give the same curve other bytes each time.
    "svg.hashsalt": "cooling curve",
    "hatch.linewidth": 0.5,
}


_NO_DATE: dict[str, Any] = {
    "svg": {"Date": None, "Creator": None},
    "png": {"Software": None},
    "pdf": {"CreationDate": None, "Producer": None, "Creator": None},
}


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnCurve:
    """One cooling as it is drawn.

    `readings` are in order of time, at least one, their moments in UTC; `findings` those of this
    cooling, in the order of its stages. `degree` is the plot's, `zone` the kitchen's. `planned` and
    `expected` are estimates drawn faintly behind: what was planned before cooking, and what the
    readings let expect.
    """

    readings: tuple[Reading, ...]
    findings: tuple[Finding, ...]
    degree: Degree
    zone: ZoneInfo
    planned: tuple[BandPoint, ...] = ()
    expected: tuple[BandPoint, ...] = ()


def draw(cooling: DrawnCurve, form: Literal["svg", "png", "pdf"] = "svg", mark: str = "") -> bytes:
    """Draw a cooling, 170 mm wide and 64 mm high; the same bytes for the same cooling.

    It holds fixed words and numbers only: what a person typed belongs into the page's own text,
    which knows what to do with a character that the typeface lacks. `mark` stands in its metadata.
    """
    # A person's own matplotlibrc must not change what an inspector gets.
    with rc_context():
        rcdefaults()
        rcParams.update(_STYLE)
        figure = Figure(figsize=(_WIDTH / _INCH, _HEIGHT / _INCH))
        _Drawing(figure, cooling).draw()
        drawn = BytesIO()
        figure.savefig(drawn, format=form, dpi=200, metadata=_NO_DATE[form] | _marked(mark))
        return drawn.getvalue()


def _marked(mark: str) -> dict[str, str]:
    return {"Keywords": mark} if mark else {}


def describe(cooling: DrawnCurve) -> str:
    """Tell in plain words what the drawing shows: readings, levels, deadlines and verdicts."""
    first, last = cooling.readings[0], cooling.readings[-1]
    day = first.at.astimezone(cooling.zone)

    def when(moment: datetime) -> str:
        return day_and_clock(moment, first.at, cooling.zone)

    count = len(cooling.readings)
    told = [
        f"Cooling on {day:%a} {day.day} {day:%b %Y}: {count} reading{'s' * (count != 1)}, "
        f"{first.temperature} at {when(first.at)}"
        + (f" to {last.temperature} at {when(last.at)}." if count > 1 else ".")
    ]
    for finding in cooling.findings[:1]:
        if finding.limit.start and finding.start:
            level = _degrees(finding.limit.start, cooling.degree)
            told.append(f"{level}, where the time starts, was passed {_in(finding.start, when)}.")
    for finding in cooling.findings:
        told.append(f"{_goal(finding.limit, cooling.degree)}: {finding.verdict}.")
        told.append(explain(finding, when))
        if finding.due:
            told.append(f"The safe deadline is {when(finding.due)}.")
    if cooling.planned:
        told.append("The dotted curve is what was planned before cooking, an estimate.")
    if cooling.expected:
        told.append("The dashed curve is what the readings let expect, an estimate.")
    return " ".join(told)


def mark(reading: Reading, findings: Sequence[Finding]) -> str:
    """Mark a reading of a cooling: ✕ where it breaks a limit, ? where it may, else nothing.

    A reading breaks a limit where even the latest possible start leaves it too warm for its time.
    One that is too warm only after the earliest possible start may break it, and so may any that
    is too warm by a thermometer in doubt.
    """
    marks = {_mark(reading, finding) for finding in findings}
    return next((sign for sign in "✕?" if sign in marks), "")


def _mark(reading: Reading, finding: Finding) -> str:
    start, crossing, within = finding.start, finding.crossing, finding.limit.within
    if not (start and crossing and within) or finding.limit.kept_by(reading.temperature):
        return ""
    if crossing.earliest is None or reading.at > crossing.earliest:
        return ""  # the cooling was over, and it is judged as holding
    if start.latest and reading.at - start.latest >= within:
        return "?" if reading.doubted_since else "✕"
    return "?" if finding.due and reading.at > finding.due else ""


class _Drawing:
    """One cooling on a sheet measured in millimetres: time across, degrees up.

    Without the library's own axes: with them a curve took 50 ms instead of 25.
    """

    def __init__(self, figure: Figure, cooling: DrawnCurve) -> None:
        self.figure = figure
        self.sheet = Affine2D().scale(1 / _INCH) + figure.dpi_scale_trans
        self.cooling = cooling
        moments = sorted(_moments(cooling))
        margin = 0.02 * max(moments[-1] - moments[0], 2 * _HOUR)
        self.begin = moments[0] - margin
        self.end = moments[0] + max(moments[-1] - moments[0], 2 * _HOUR) + margin
        values = [self.value(reading.temperature) for reading in cooling.readings]
        values += [self.at(level) for level in _levels(cooling.findings)]
        spare = max(0.07 * (max(values) - min(values)), 5)
        self.lowest, self.highest = min(values) - spare, max(values) + spare

    def draw(self) -> None:
        self.estimates()
        self.too_warm()
        self.frame()
        self.limits()
        self.deadlines()
        self.points()

    def x(self, moment: datetime) -> float:
        return _LEFT + (_RIGHT - _LEFT) * ((moment - self.begin) / (self.end - self.begin))

    def y(self, value: float) -> float:
        share = (value - self.lowest) / (self.highest - self.lowest)
        return _BOTTOM + (_TOP - _BOTTOM) * share

    def value(self, temperature: Temperature) -> float:
        exact = temperature.fahrenheit
        return float(exact if self.cooling.degree is Degree.F else (exact - 32) * Fraction(5, 9))

    def at(self, level: Level) -> float:
        return float(level.number(self.cooling.degree))

    def line(self, xs: Sequence[float], ys: Sequence[float], **style: Any) -> None:
        ink = {"color": "black", "linewidth": 0.6, **style}
        self.figure.add_artist(Line2D(xs, ys, transform=self.sheet, **ink))

    def text(self, x: float, y: float, text: str, **style: Any) -> None:
        self.figure.text(x, y, text, transform=self.sheet, **style)

    def too_warm(self) -> None:
        """Hatch what lies above a stage's level after its safe deadline."""
        floor = self.highest
        corners: list[tuple[float, float]] = [(_RIGHT, _TOP)]
        for due, level in sorted(
            (f.due, self.at(f.limit.level)) for f in self.cooling.findings if f.due
        ):
            corners.append((self.x(due), self.y(floor)))
            floor = min(floor, level)
            corners.append((self.x(due), self.y(floor)))
        corners.append((_RIGHT, self.y(floor)))
        hatched = Polygon(
            corners, facecolor="none", edgecolor="0.4", hatch="////", linewidth=0, zorder=0
        )
        hatched.set_transform(self.sheet)
        self.figure.add_artist(hatched)

    def estimates(self) -> None:
        """Draw the planned curve dotted and the expected one dashed, each in its band of grey."""
        for points, shade, pattern in (
            (self.cooling.planned, "0.93", (0, (1, 2))),
            (self.cooling.expected, "0.86", (0, (4, 2))),
        ):
            inside = [one for one in points if self.begin <= one[0] <= self.end]
            if len(inside) < 2:
                continue
            xs = [self.x(at) for at, *_ in inside]
            low, middle, high = (
                [min(max(self.y(self.degrees(value)), _BOTTOM), _TOP) for value in values]
                for values in list(zip(*(temperatures for _, *temperatures in inside), strict=True))
            )
            corners = [*zip(xs, high, strict=True), *reversed(list(zip(xs, low, strict=True)))]
            band = Polygon(corners, facecolor=shade, edgecolor="none", zorder=0)
            band.set_transform(self.sheet)
            self.figure.add_artist(band)
            self.line(xs, middle, color="0.5", linewidth=0.8, linestyle=pattern, zorder=1)

    def degrees(self, fahrenheit: float) -> float:
        return fahrenheit if self.cooling.degree is Degree.F else (fahrenheit - 32) * 5 / 9

    def frame(self) -> None:
        """Draw the two axes: degrees, and real hours with what the kitchen's clock shows then."""
        self.line([_LEFT, _LEFT, _RIGHT], [_TOP, _BOTTOM, _BOTTOM])
        degrees = MaxNLocator(10, steps=[1, 2, 5, 10]).tick_values(self.lowest, self.highest)
        degrees = [value for value in degrees if self.lowest <= value <= self.highest]
        ys = [self.y(value) for value in degrees]
        self.line([_LEFT] * len(ys), ys, marker=TICKLEFT, **_TICK)
        for value, y in zip(degrees, ys, strict=True):
            label = f"{value:g} °{self.cooling.degree}"
            self.text(_LEFT - 2, y, label, ha="right", va="center_baseline")
        hours = list(_whole_hours(self.begin, self.end, self.cooling.zone))
        xs = [self.x(hour) for hour in hours]
        self.line(xs, [_BOTTOM] * len(xs), marker=TICKDOWN, **_TICK)
        for x, lines in zip(xs, _clock_labels(hours, self.cooling.zone), strict=True):
            for row, line in enumerate(lines, start=1):
                self.text(x, _BOTTOM - 1 - 3.3 * row, line, ha="center")
        self.text(_RIGHT + 6, _BOTTOM - 4.3, "kitchen time")

    def limits(self) -> None:
        """Draw each level with its name and verdict, and the time in which it was passed."""
        labels: list[tuple[float, str]] = []
        for finding in self.cooling.findings[:1]:
            if finding.limit.start:
                name = f"{_degrees(finding.limit.start, self.cooling.degree)} start"
                labels.append((self.y(self.at(finding.limit.start)), name))
                self.passed(labels[-1][0], finding.start)
        for finding in self.cooling.findings:
            name = _goal(finding.limit, self.cooling.degree)
            verdict = f"{SHAPES[finding.verdict]} {finding.verdict}"
            labels.append((self.y(self.at(finding.limit.level)), f"{name}\n{verdict}"))
            self.passed(labels[-1][0], finding.crossing)
        for (y, _), pattern in zip(labels, cycle(_PATTERNS)):
            self.line([_LEFT, _RIGHT], [y, y], linewidth=0.8, linestyle=pattern, zorder=1)
        for y, label in _apart(labels, 7.5):
            self.text(_RIGHT + 2, y, label, va="center")

    def passed(self, y: float, bounds: Bounds | None) -> None:
        """Draw the time in which a level was passed; an arrow where the record shows no begin."""
        if bounds is None or bounds.latest is None:
            return
        begin = self.x(bounds.earliest) if bounds.earliest else _LEFT + 1
        end = self.x(bounds.latest)
        self.line([begin, end], [y, y], linewidth=2.4, solid_capstyle="butt", zorder=3)
        self.line([begin], [y], marker="|" if bounds.earliest else "<", markersize=6, zorder=3)
        self.line([end], [y], marker="|", markersize=6, zorder=3)

    def deadlines(self) -> None:
        """Draw each safe deadline with its clock time; every other label stands to its right."""
        zone = self.cooling.zone
        for i, finding in enumerate(self.cooling.findings):
            if finding.due:
                level = _degrees(finding.limit.level, self.cooling.degree)
                label = f"{level} by {clock(finding.due, zone)}"
                self.upright(finding.due, label, "left" if i % 2 else "right")
            if finding.limit.start is None and finding.start and finding.start.earliest:
                label = f"start {clock(finding.start.earliest, zone)}"
                self.upright(finding.start.earliest, label, "left")

    def upright(self, moment: datetime, label: str, side: str) -> None:
        x = self.x(moment)
        self.line([x, x], [_BOTTOM, _TOP], zorder=1)
        self.text(x + (0.6 if side == "left" else -0.6), _TOP + 1, label, ha=side)

    def points(self) -> None:
        """Draw the readings, and what each is worth, over a thin line that guides the eye."""
        readings = self.cooling.readings
        xs = [self.x(reading.at) for reading in readings]
        ys = [self.y(self.value(reading.temperature)) for reading in readings]
        self.line(xs, ys, color="0.35", linewidth=0.7, zorder=2)
        for x, y, reading in zip(xs, ys, readings, strict=True):
            sign = mark(reading, self.cooling.findings)
            shape = "x" if sign == "✕" else "s" if reading.doubted_since else "o"
            self.line([x], [y], marker=shape, markerfacecolor="white", zorder=4, **_MARKERS[shape])
            if sign == "?":
                self.text(x, y + 1.5, "?", ha="center", weight="bold")


def _moments(cooling: DrawnCurve) -> Iterator[datetime]:
    yield from (reading.at for reading in cooling.readings)
    for finding in cooling.findings:
        for bounds in (finding.start, finding.crossing):
            if bounds:
                yield from (m for m in (bounds.earliest, bounds.latest) if m)
        if finding.due:
            yield finding.due


def _levels(findings: Sequence[Finding]) -> Iterator[Level]:
    for finding in findings:
        yield finding.limit.level
        if finding.limit.start:
            yield finding.limit.start


def _whole_hours(begin: datetime, end: datetime, zone: ZoneInfo) -> Iterator[datetime]:
    """Give real hours apart, as many as have room for a label, from one that the clock shows."""
    span = (end - begin) / _HOUR
    step = next((s for s in _STEPS if span / s <= _MOST_TICKS), int(span / _MOST_TICKS) + 1)
    local = begin.astimezone(zone)
    past = timedelta(hours=local.hour % step, minutes=local.minute, seconds=local.second)
    hour = begin - past - timedelta(microseconds=local.microsecond)
    while hour <= end:
        if hour >= begin:
            yield hour
        hour += step * _HOUR


def _clock_labels(hours: Sequence[datetime], zone: ZoneInfo) -> Iterator[list[str]]:
    """Give the clock time, the zone's name where the clocks change, the date where a day begins."""
    shown = [hour.astimezone(zone) for hour in hours]
    changes = len({local.utcoffset() for local in shown}) > 1
    for before, local in zip([None, *shown], shown, strict=False):
        lines = [f"{local:%H:%M}"]
        if changes:
            lines.append(f"{local:%Z}")
        if before is None or before.date() != local.date():
            lines.append(f"{local:%a} {local.day} {local:%b}")
        yield lines


def _apart(labels: Sequence[tuple[float, str]], gap: float) -> Iterator[tuple[float, str]]:
    """Move labels up where they would lie on one another."""
    lowest = float("-inf")
    for y, text in sorted(labels):
        place = max(y, lowest)
        yield place, text
        lowest = place + gap


def _degrees(level: Level, degree: Degree) -> str:
    return f"{level.number(degree)} °{degree}"


def _goal(limit: Limit, degree: Degree) -> str:
    """Name a stage: ``70 °F within 2 h``."""
    if limit.within is None:
        return _degrees(limit.level, degree)
    return f"{_degrees(limit.level, degree)} within {spell(limit.within).removesuffix(' 00 min')}"


def _in(bounds: Bounds, when: ShowMoment) -> str:
    """Say when something happened, as far as the record shows it."""
    earliest, latest = bounds.earliest, bounds.latest
    if earliest and latest:
        return (
            f"at {when(latest)}"
            if earliest == latest
            else f"between {when(earliest)} and {when(latest)}"
        )
    if latest:
        return f"before {when(latest)}, not shown when"
    return f"after {when(earliest)}" if earliest else "at a time not on record"
