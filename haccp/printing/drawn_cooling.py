"""What a drawing of a cooling shows, on paper as in the terminal: what is where, and its marks."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from itertools import pairwise
from zoneinfo import ZoneInfo

from haccp.kitchen.cooling_estimate import BandPoint
from haccp.rules.evidence import Finding, Reading, Verdict
from haccp.temperature import Degree, Level, Temperature

HOUR = timedelta(hours=1)
# Of every drawing: no cooling limit lies outside, and one scale lets curves be compared.
LOWEST, HIGHEST = Level(Decimal(30), Decimal(-1)), Level(Decimal(145), Decimal(63))
# Between readings further apart no line suggests a way.
UNKNOWN = 1.5 * HOUR
GAP = 0.55  # what is cut out is as wide as this [h]
_WHOLE = 9 * HOUR  # what lasts longer, such as over night, is cut ...
_BREAK_FROM = 2.5 * HOUR  # where a longer time passes without any event ...
_KEPT = 0.5 * HOUR  # ... but for this much at either end of it
_BEFORE, _AFTER = 0.25 * HOUR, 0.75 * HOUR
_LATER = 1.25 * HOUR  # a deadline so long after the last reading is named, not drawn


@dataclass(frozen=True, slots=True)
class TimeAxis:
    """Where a moment lies along a line [h], some stretches of time cut out.

    Each of `spans` is drawn whole: its begin, its end and where it begins; between two lies a gap.
    """

    spans: tuple[tuple[datetime, datetime, float], ...]
    gap: float

    @classmethod
    def of(
        cls,
        begin: datetime,
        end: datetime,
        cuts: Sequence[tuple[datetime, datetime]] = (),
        gap: float = GAP,
    ) -> "TimeAxis":
        """Lay it out; what is cut out is as wide as `gap` [h]."""
        spans, place, since = [], 0.0, begin
        for upto, goes_on in cuts:
            spans.append((since, upto, place))
            place += (upto - since) / HOUR + gap
            since = goes_on
        return cls((*spans, (since, end, place)), gap)

    def __call__(self, moment: datetime) -> float:
        """Give the place; within a cut in proportion, beyond either end as if it went on."""
        for (_, upto, _), (since, _, place) in pairwise(self.spans):
            if upto < moment < since:
                return place - self.gap * ((since - moment) / (since - upto))
        since, _, place = next((span for span in self.spans if moment <= span[1]), self.spans[-1])
        return place + (moment - since) / HOUR

    @property
    def begin(self) -> datetime:
        return self.spans[0][0]

    @property
    def end(self) -> datetime:
        return self.spans[-1][1]

    @property
    def width(self) -> float:
        return self(self.end)

    @property
    def cuts(self) -> list[float]:
        """Where each cut begins."""
        return [place - self.gap for _, _, place in self.spans[1:]]

    def shows(self, moment: datetime) -> bool:
        return any(since <= moment <= upto for since, upto, _ in self.spans)


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

    @property
    def zero(self) -> datetime | None:
        """From when its time counts: the earliest moment, as its safe deadlines do."""
        start = self.findings[0].start if self.findings else None
        return start.earliest if start else None

    @property
    def begin(self) -> datetime:
        """When it began: where its time counts from, else at its first reading."""
        return self.zero or self.readings[0].at

    @property
    def levels(self) -> list[Level]:
        """Give where its time starts and what it must reach, the warmest first."""
        starts = [one.limit.start for one in self.findings[:1] if one.limit.start]
        found = dict.fromkeys([*starts, *(one.limit.level for one in self.findings)])
        return sorted(found, key=lambda level: level.f, reverse=True)

    @property
    def walls(self) -> list[tuple[datetime, Finding]]:
        """Give the safe deadlines, the first one first."""
        dues = [(one.due, one) for one in self.findings if one.due]
        return sorted(dues, key=lambda wall: wall[0])

    def is_near(self, due: datetime) -> bool:
        """Whether a deadline is drawn; one long after a cooling that is over is only named."""
        is_open = any(one.verdict is Verdict.OPEN for one in self.findings)
        return is_open or due <= self.readings[-1].at + _LATER

    def height(self, temperature: Temperature) -> float:
        """Give a temperature in the plot's degree, on the side of each level that it is judged on.

        57 °C keeps 135 °F, and is 134.6 °F: what is converted could cross a line that it kept.
        """
        value = _converted(float(temperature.fahrenheit), self.degree)
        for level in self.levels:
            over, line = temperature.over(level), float(level.number(self.degree))
            value = line if over == 0 else max(value, line) if over > 0 else min(value, line)
        return value

    def converted(self, fahrenheit: float) -> float:
        return _converted(fahrenheit, self.degree)

    def at(self, level: Level) -> float:
        return float(level.number(self.degree))

    @property
    def axis(self) -> TimeAxis:
        """Give its time: from the first reading on the scale to some time after the last event."""
        top = self.at(HIGHEST)
        moments = {one.at for one in self.readings if self.height(one.temperature) <= top}
        moments |= {due for due, _ in self.walls if self.is_near(due)}
        moments |= {self.zero} if self.zero else set()
        events = sorted(moments or {one.at for one in self.readings})
        is_long = events[-1] - events[0] > _WHOLE
        cuts = [
            (one + _KEPT, other - _KEPT)
            for one, other in pairwise(events)
            if is_long and other - one > _BREAK_FROM
        ]
        return TimeAxis.of(events[0] - _BEFORE, events[-1] + _AFTER, cuts)

    @property
    def told(self) -> set[Reading]:
        """Pick the readings whose values are printed: those that a verdict rests on."""
        picked = {self.readings[-1]}
        for level in self.levels:
            for one, other in pairwise(self.readings):
                if one.temperature.over(level) > 0 >= other.temperature.over(level):
                    picked |= {one, other}
        starts = [one.limit.start for one in self.findings[:1] if one.limit.start]
        exact = [r for r in self.readings if any(r.temperature.over(one) == 0 for one in starts)]
        if not starts:
            picked.add(self.readings[0])
        if exact:  # the reading before that one decides nothing
            picked -= {r for r in self.readings if r.at < exact[0].at}
            picked.add(exact[0])
        return picked | {one for one in self.readings if mark(one, self.findings)}


def _converted(fahrenheit: float, degree: Degree) -> float:
    return fahrenheit if degree is Degree.F else (fahrenheit - 32) * 5 / 9


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


def in_time_and_late(finding: Finding) -> list[tuple[datetime, datetime, bool]]:
    """Divide the time in which a level was passed: True where it is not shown to be in time."""
    crossing, due = finding.crossing, finding.due
    if crossing is None or crossing.earliest is None or crossing.latest is None:
        return []
    in_doubt = finding.verdict is Verdict.NOT_SHOWN and finding.longest is None
    if due is None or in_doubt:
        return [(crossing.earliest, crossing.latest, True)]
    if crossing.latest <= due:
        return [(crossing.earliest, crossing.latest, False)]
    if crossing.earliest >= due:
        return [(crossing.earliest, crossing.latest, True)]
    return [(crossing.earliest, due, False), (due, crossing.latest, True)]


def hotter(cooling: DrawnCurve) -> list[Reading]:
    """Give the readings above the scale."""
    top = cooling.at(HIGHEST)
    return [one for one in cooling.readings if cooling.height(one.temperature) > top]


def whole_hours(axis: TimeAxis, zone: ZoneInfo, step: int) -> Iterator[datetime]:
    """Give the moments at which the kitchen's clock shows a whole hour that `step` divides."""
    local = axis.begin.astimezone(zone)
    hour = axis.begin - timedelta(
        minutes=local.minute, seconds=local.second, microseconds=local.microsecond
    )
    while hour <= axis.end:
        if axis.shows(hour) and hour.astimezone(zone).hour % step == 0:
            yield hour
        hour += HOUR
