"""Draws one cooling for paper: in black and greys, so that a photocopy still tells everything."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from fractions import Fraction
from io import BytesIO
from itertools import chain
from typing import Any
from zoneinfo import ZoneInfo

from matplotlib import rc_context, rcdefaults, rcParams
from matplotlib.axes import Axes
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

from haccp.limits.model import Limit
from haccp.rules.evidence import Bounds, Finding, Reading, Verdict
from haccp.rules.words import explain
from haccp.temperature import Degree, Level, Temperature
from haccp.time import clock, day_and_clock, spell

# What a reader needs to read the drawing; the page prints it under each one.
KEY = (
    "○ reading   ✕ reading that breaks a limit   ? reading that may break one   "
    "□ thermometer in doubt   thick bar: time in which the level was passed   "
    "hatched: too warm for the time   The line between readings is only a guide."
)
SHAPES = {
    Verdict.MET: "●",
    Verdict.NOT_MET: "✕",
    Verdict.NOT_SHOWN: "?",
    Verdict.OPEN: "○",
    Verdict.STOPPED: "–",
}

_MM = 1 / 25.4
_WIDTH, _HEIGHT = 170, 68  # one printed column [mm]
_LEFT, _RIGHT, _BOTTOM, _TOP = 12, 31, 12, 6  # margins around the axes [mm]
_HOUR = timedelta(hours=1)
_MOST_TICKS = 12
_STEPS = (1, 2, 3, 6, 12, 24)  # between two ticks [h]
# Start, first stage, second stage: told apart by pattern, since a copier knows no colour.
_PATTERNS: tuple[Any, ...] = ((0, (7, 3)), (0, (7, 2, 1, 2)), (0, (1, 1.6)))
_MARKERS = {"o": (4.5, 0.9), "s": (4.5, 0.9), "x": (6, 1.5)}  # size and its edge [pt]
_STYLE: dict[str, Any] = {
    "font.family": ["DejaVu Sans"],
    "font.size": 7.5,
    "svg.fonttype": "none",
    # A random salt would give the same curve other bytes each time.
    "svg.hashsalt": "cooling curve",
    "hatch.linewidth": 0.5,
    "axes.linewidth": 0.6,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.xmargin": 0,
    "xtick.major.width": 0.6,
    "ytick.major.width": 0.6,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """One cooling as it is drawn.

    `readings` are in order of time, at least one; `findings` those of this cooling, in the order
    of its stages. `degree` is the plot's, `zone` the kitchen's.
    """

    readings: tuple[Reading, ...]
    findings: tuple[Finding, ...]
    degree: Degree
    zone: ZoneInfo


def draw(cooling: Curve) -> bytes:
    """Draw a cooling as SVG, 170 mm wide and 68 mm high; the same bytes for the same cooling.

    It holds fixed words and numbers only: what a person typed belongs into the page's own text,
    which knows what to do with a character that the typeface lacks.
    """
    # A person's own matplotlibrc must not change what an inspector gets.
    with rc_context():
        rcdefaults()
        rcParams.update(_STYLE)
        figure = Figure(figsize=(_WIDTH * _MM, _HEIGHT * _MM))
        axes = figure.add_axes(
            (
                _LEFT / _WIDTH,
                _BOTTOM / _HEIGHT,
                1 - (_LEFT + _RIGHT) / _WIDTH,
                1 - (_BOTTOM + _TOP) / _HEIGHT,
            )
        )
        _Drawing(axes, cooling).draw()
        svg = BytesIO()
        FigureCanvasSVG(figure).print_svg(svg, metadata={"Date": None, "Creator": None})
        return svg.getvalue()


def describe(cooling: Curve) -> str:
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
    """The axes of one cooling: hours from its first moment across, degrees up."""

    def __init__(self, axes: Axes, cooling: Curve) -> None:
        self.axes = axes
        self.cooling = cooling
        moments = sorted(_moments(cooling))
        self.origin = moments[0]
        span = max(moments[-1] - self.origin, 2 * _HOUR) / _HOUR
        self.left, self.right = -0.02 * span, 1.02 * span
        values = [self.value(reading.temperature) for reading in cooling.readings]
        values += [float(level.number(cooling.degree)) for level in _levels(cooling.findings)]
        margin = 0.07 * max(max(values) - min(values), 10)
        self.bottom, self.top = min(values) - margin, max(values) + margin

    def draw(self) -> None:
        self.axes.set_xlim(self.left, self.right)
        self.axes.set_ylim(self.bottom, self.top)
        self.axes.yaxis.set_major_formatter(f"{{x:g}} °{self.cooling.degree}")
        self._clock()
        self._too_warm()
        self._limits()
        self._deadlines()
        self._readings()

    def hours(self, moment: datetime) -> float:
        return (moment - self.origin) / _HOUR

    def value(self, temperature: Temperature) -> float:
        fahrenheit = temperature.fahrenheit
        return float(
            fahrenheit if self.cooling.degree is Degree.F else (fahrenheit - 32) * Fraction(5, 9)
        )

    def _clock(self) -> None:
        """Put ticks at real hours, each with what the kitchen's clock shows then."""
        span = self.right - self.left
        step = next((s for s in _STEPS if span / s <= _MOST_TICKS), int(span / _MOST_TICKS) + 1)
        local = self.origin.astimezone(self.cooling.zone)
        hour = self.origin - timedelta(
            hours=local.hour % step,
            minutes=local.minute,
            seconds=local.second,
            microseconds=local.microsecond,
        )
        ticks = [hour + i * step * _HOUR for i in range(int(span / step) + 3)]
        ticks = [tick for tick in ticks if self.left <= self.hours(tick) <= self.right]
        self.axes.set_xticks(
            [self.hours(tick) for tick in ticks], _tick_labels(ticks, self.cooling.zone)
        )
        self.axes.text(1.045, -0.035, "kitchen time", transform=self.axes.transAxes, va="top")

    def _too_warm(self) -> None:
        """Hatch what lies above a stage's level after its safe deadline."""
        due = sorted(
            (self.hours(finding.due), self._at(finding.limit.level))
            for finding in self.cooling.findings
            if finding.due
        )
        if due:
            floor = [min(level for _, level in due[: i + 1]) for i in range(len(due))]
            self.axes.fill_between(
                [*(x for x, _ in due), self.right],
                [*floor, floor[-1]],
                self.top,
                step="post",
                facecolor="none",
                edgecolor="0.4",
                hatch="////",
                linewidth=0,
                zorder=0,
            )

    def _limits(self) -> None:
        """Draw each level with its name and verdict, and the time in which it was passed."""
        labels: list[tuple[float, str]] = []
        first = self.cooling.findings[:1]
        for finding in first:
            if finding.limit.start:
                name = _degrees(finding.limit.start, self.cooling.degree)
                labels.append((self._at(finding.limit.start), f"{name} start"))
                self._passed(finding.limit.start, finding.start)
        for finding in self.cooling.findings:
            labels.append(
                (
                    self._at(finding.limit.level),
                    f"{_goal(finding.limit, self.cooling.degree)}\n"
                    f"{SHAPES[finding.verdict]} {finding.verdict}",
                )
            )
            self._passed(finding.limit.level, finding.crossing)
        patterns = _PATTERNS if any(f.limit.start for f in first) else _PATTERNS[1:]
        for (level, _), pattern in zip(labels, patterns, strict=False):
            self.axes.axhline(level, color="black", linewidth=0.8, linestyle=pattern, zorder=1)
        for y, text in _apart(labels, 0.15 * (self.top - self.bottom)):
            self.axes.text(
                1.015, y, text, transform=self.axes.get_yaxis_transform(), va="center", ha="left"
            )

    def _passed(self, level: Level, bounds: Bounds | None) -> None:
        """Draw the time in which a level was passed; an arrow where the record shows no begin."""
        if bounds is None or bounds.latest is None:
            return
        y = self._at(level)
        begin = self.hours(bounds.earliest) if bounds.earliest else self.left
        end = self.hours(bounds.latest)
        ink: dict[str, Any] = {"color": "black", "zorder": 3, "clip_on": False}
        self.axes.plot([begin, end], [y, y], linewidth=2.4, solid_capstyle="butt", **ink)
        self.axes.plot([begin], [y], marker="|" if bounds.earliest else "<", markersize=8, **ink)
        self.axes.plot([end], [y], marker="|", markersize=8, **ink)

    def _deadlines(self) -> None:
        """Draw each safe deadline with its clock time; the second label goes the other way."""
        sides = ("right", "left")
        for i, finding in enumerate(self.cooling.findings):
            if finding.due:
                level = _degrees(finding.limit.level, self.cooling.degree)
                label = f"{level} by {clock(finding.due, self.cooling.zone)}"
                self._upright(finding.due, label, sides[i % 2])
            if finding.limit.start is None and finding.start and finding.start.earliest:
                label = f"start {clock(finding.start.earliest, self.cooling.zone)}"
                self._upright(finding.start.earliest, label, "left")

    def _upright(self, moment: datetime, label: str, side: str) -> None:
        x = self.hours(moment)
        self.axes.axvline(x, color="black", linewidth=0.6, zorder=1)
        self.axes.annotate(
            label,
            (x, 1),
            (2 if side == "left" else -2, 2),
            xycoords=self.axes.get_xaxis_transform(),
            textcoords="offset points",
            ha=side,
            va="bottom",
        )

    def _readings(self) -> None:
        xs = [self.hours(reading.at) for reading in self.cooling.readings]
        ys = [self.value(reading.temperature) for reading in self.cooling.readings]
        signs = [mark(reading, self.cooling.findings) for reading in self.cooling.readings]
        markers = [
            "x" if sign == "✕" else "s" if reading.doubted_since else "o"
            for sign, reading in zip(signs, self.cooling.readings, strict=True)
        ]
        self.axes.plot(xs, ys, "0.35", linewidth=0.7, zorder=2)
        for marker, (size, edge) in _MARKERS.items():
            mine = [i for i, one in enumerate(markers) if one == marker]
            self.axes.plot(
                [xs[i] for i in mine],
                [ys[i] for i in mine],
                marker=marker,
                markersize=size,
                markeredgewidth=edge,
                color="black",
                markerfacecolor="white",
                linestyle="none",
                zorder=4,
            )
        for x, y, sign in zip(xs, ys, signs, strict=True):
            if sign == "?":
                self.axes.annotate("?", (x, y), (4, 2), textcoords="offset points", weight="bold")

    def _at(self, level: Level) -> float:
        return float(level.number(self.cooling.degree))


def _moments(cooling: Curve) -> Iterator[datetime]:
    yield from (reading.at for reading in cooling.readings)
    for finding in cooling.findings:
        for bounds in (finding.start, finding.crossing):
            if bounds:
                yield from (m for m in (bounds.earliest, bounds.latest) if m)
        if finding.due:
            yield finding.due


def _levels(findings: Sequence[Finding]) -> Iterator[Level]:
    for finding in findings:
        yield from chain([finding.limit.level], [finding.limit.start] * bool(finding.limit.start))


def _tick_labels(ticks: Sequence[datetime], zone: ZoneInfo) -> list[str]:
    """Give each tick its clock time, the zone where the clocks change, the date where a day begins."""
    shown = [tick.astimezone(zone) for tick in ticks]
    changes = len({local.utcoffset() for local in shown}) > 1
    labels: list[str] = []
    day = None
    for local in shown:
        lines = [f"{local:%H:%M}"]
        if changes:
            lines.append(str(local.tzname()))
        if local.date() != day:
            lines.append(f"{local:%a} {local.day} {local:%b}")
        day = local.date()
        # As many lines under each tick: the clock times then stand on one line.
        labels.append("\n".join(lines + [" "] * (2 + changes - len(lines))))
    return labels


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


def _in(bounds: Bounds, when: Any) -> str:
    """Say when something happened, as far as the record shows it."""
    match bounds:
        case Bounds(None, None):
            return "at a time not on record"
        case Bounds(None, latest):
            return f"before {when(latest)}, not shown when"
        case Bounds(earliest, None):
            return f"after {when(earliest)}"
        case Bounds(earliest, latest) if earliest == latest:
            return f"at {when(earliest)}"
        case _:
            return f"between {when(bounds.earliest)} and {when(bounds.latest)}"
