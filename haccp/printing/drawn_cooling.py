"""What a drawing of a cooling shows, on paper as in the terminal: places, marks and words."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from itertools import pairwise
from zoneinfo import ZoneInfo

from haccp.kitchen.cooling_estimate import BandPoint
from haccp.language import counted, message, phrase
from haccp.limits.limit import CountsFrom, Limit
from haccp.rules.evidence import Bounds, Finding, Reading, Verdict, overall
from haccp.rules.words import ShowMoment, explain
from haccp.temperature import Degree, Level, Temperature
from haccp.time import clock, day_and_clock, short_day, spell

HOUR = timedelta(hours=1)
# Of every drawing: no cooling limit lies outside, and one scale lets curves be compared.
LOWEST, HIGHEST = Level(Decimal(30), Decimal(-1)), Level(Decimal(145), Decimal(63))
# Between readings further apart no line suggests a way.
UNKNOWN = 1.5 * HOUR
GAP = 0.55  # what is cut out is as wide as this [h]
_BREAK_FROM = 2.5 * HOUR  # a longer time without any event is cut out ...
_KEPT = 0.35 * HOUR  # ... but for this much at either end of it
_BEFORE, _AFTER = 0.25 * HOUR, 0.75 * HOUR
_LATER = 1.25 * HOUR  # a deadline so long after the last reading is named, not drawn


@dataclass(frozen=True, slots=True)
class TimeAxis:
    """Where a moment lies along a line [h], some stretches of time cut out.

    Each of `spans` is drawn whole: its begin, its end and where it begins.
    """

    spans: tuple[tuple[datetime, datetime, float], ...]

    @classmethod
    def of(
        cls, begin: datetime, end: datetime, cuts: Sequence[tuple[datetime, datetime]] = ()
    ) -> "TimeAxis":
        spans, place, since = [], 0.0, begin
        for upto, goes_on in cuts:
            spans.append((since, upto, place))
            place += (upto - since) / HOUR + GAP
            since = goes_on
        return cls((*spans, (since, end, place)))

    def __call__(self, moment: datetime) -> float:
        """Give the place; within a cut in proportion, beyond either end as if it went on."""
        for (_, upto, _), (since, _, place) in pairwise(self.spans):
            if upto < moment < since:
                return place - GAP * ((since - moment) / (since - upto))
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
        return [place - GAP for _, _, place in self.spans[1:]]

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
        """Whether a deadline is drawn; one long after the last reading is only named."""
        return bool(self.expected) or due <= self.readings[-1].at + _LATER

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
        last = self.readings[-1].at
        cuts = [
            (one + _KEPT, other - _KEPT)
            for one, other in pairwise(events)
            if other - one > _BREAK_FROM and not (self.expected and other > last)
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
    """Divide the time in which a level was passed at the safe deadline; True is too late."""
    crossing, due = finding.crossing, finding.due
    if crossing is None or crossing.earliest is None or crossing.latest is None:
        return []
    if due is None or crossing.latest <= due:
        return [(crossing.earliest, crossing.latest, False)]
    if crossing.earliest >= due:
        return [(crossing.earliest, crossing.latest, True)]
    return [(crossing.earliest, due, False), (due, crossing.latest, True)]


def whole_hours(axis: TimeAxis, zone: ZoneInfo, step: int) -> Iterator[datetime]:
    """Give real hours, `step` apart, beginning with one that the kitchen's clock shows."""
    local = axis.begin.astimezone(zone)
    past = timedelta(hours=local.hour % step, minutes=local.minute, seconds=local.second)
    hour = axis.begin - past - timedelta(microseconds=local.microsecond)
    while hour <= axis.end:
        if hour >= axis.begin and axis.shows(hour):
            yield hour
        hour += step * HOUR


def clock_labels(hours: Sequence[datetime], axis: TimeAxis, zone: ZoneInfo) -> list[str]:
    """Give the clock, the weekday where a day begins, the zone's name before and after a change."""
    labels: list[str] = []
    before = axis.begin.astimezone(zone)
    changes = before.utcoffset() != axis.end.astimezone(zone).utcoffset()
    for local in (hour.astimezone(zone) for hour in hours):
        is_first = not labels
        is_changed = changes and (is_first or local.utcoffset() != before.utcoffset())
        parts = [f"{local:%H:%M}"]
        parts += [f"{local:%Z}"] if is_changed else []
        parts += [f"{local:%a}"] if is_first or local.date() != before.date() else []
        labels.append(" ".join(parts))
        before = local
    return labels


# ---- words ----

_TITLES = {
    Verdict.MET: message("Met: {stages}"),
    Verdict.NOT_MET: message("Not met: {stages}"),
    Verdict.NOT_SHOWN: message("Not shown: {stages}"),
    Verdict.OPEN: message("Open: {stages}"),
    Verdict.STOPPED: message("Stopped in time: {stages}"),
}


def title(cooling: DrawnCurve) -> str:
    """Name the verdict, then the stages that it is about."""
    if not cooling.findings:
        return phrase("Not judged")
    verdict = overall(cooling.findings)
    stages = ", ".join(
        goal(one.limit, cooling.degree) for one in cooling.findings if one.verdict is verdict
    )
    return phrase(_TITLES[verdict], stages=stages)


def day(cooling: DrawnCurve) -> str:
    """Show the day on which it began, with the year."""
    local = cooling.begin.astimezone(cooling.zone)
    return f"{short_day(local.date())} {local.year}"


def degrees(level: Level, degree: Degree) -> str:
    return f"{level.number(degree)} °{degree}"


def goal(limit: Limit, degree: Degree) -> str:
    """Name a stage: ``70 °F within 2 h``."""
    if limit.within is None:
        return degrees(limit.level, degree)
    return phrase(
        "{level} within {time}", level=degrees(limit.level, degree), time=spell(limit.within)
    )


def hours_since(cooling: DrawnCurve) -> str:
    """Name the row of hours at its nought."""
    start = cooling.findings[0].start
    level = cooling.findings[0].limit.start
    if level is None:
        return phrase("0 h since it was made")
    if start and start.earliest == start.latest:
        return phrase("0 h since {level}", level=degrees(level, cooling.degree))
    return phrase("0 h since {level} or above", level=degrees(level, cooling.degree))


def wall_words(due: datetime, finding: Finding, cooling: DrawnCurve) -> str:
    level, time = degrees(finding.limit.level, cooling.degree), clock(due, cooling.zone)
    allowed = spell(finding.limit.within or due - due)
    if finding.limit.clock is CountsFrom.PREVIOUS_STAGE:
        return phrase(
            "{level} by {time} ({allowed} from the stage before)",
            level=level,
            time=time,
            allowed=allowed,
        )
    return phrase("{level} by {time} ({allowed})", level=level, time=time, allowed=allowed)


def brief(duration: timedelta) -> str:
    """Spell a duration in as little room as it takes: ``35 min``, ``1 h 05``."""
    return spell(duration).removesuffix(" min") if duration >= HOUR else spell(duration)


def bar_words(finding: Finding, cooling: DrawnCurve) -> list[str]:
    """Say in which bounds a level was passed and what was allowed; nothing while that is open."""
    limit, crossing = finding.limit, finding.crossing
    level = degrees(limit.level, cooling.degree)
    allowed = brief(limit.within or timedelta(0))
    if crossing is None or crossing.latest is None:
        if finding.verdict is Verdict.NOT_MET and finding.shortest is not None:
            least = brief(finding.shortest)
            still = "still above {level} after {least}; allowed {allowed}"
            return [phrase(still, level=level, least=least, allowed=allowed)]
        if finding.verdict is Verdict.NOT_SHOWN:
            return [
                phrase("no reading shows {level}; allowed {allowed}", level=level, allowed=allowed)
            ]
        return []
    if finding.start is None or finding.start.earliest is None or crossing.earliest is None:
        by = clock(crossing.latest, cooling.zone)
        return [phrase("{level} by {by}; the start is not shown", level=level, by=by)]
    least = brief(
        max(crossing.earliest - (finding.start.latest or crossing.earliest), timedelta(0))
    )
    # a begun minute counts: an upper bound must not look shorter than it is
    most = -(-(crossing.latest - finding.start.earliest) // timedelta(minutes=1))
    told = [
        phrase(
            "{level} passed after {least} to {most}; allowed {allowed}",
            level=level,
            least=least,
            most=brief(most * timedelta(minutes=1)),
            allowed=allowed,
        )
    ]
    if finding.verdict is Verdict.NOT_SHOWN:
        gap = brief(crossing.latest - crossing.earliest)
        told.append(phrase("no reading for {gap}", gap=gap))
    return told


def hotter(cooling: DrawnCurve) -> list[Reading]:
    """Give the readings above the scale."""
    top = cooling.at(HIGHEST)
    return [one for one in cooling.readings if cooling.height(one.temperature) > top]


def number(temperature: Temperature, degree: Degree) -> str:
    """Show a reading as it was typed; its degree only where it is not the plot's."""
    return f"{temperature.value}" if temperature.degree is degree else str(temperature)


_TOLD = {
    Verdict.MET: message("{goal}: met."),
    Verdict.NOT_MET: message("{goal}: not met."),
    Verdict.NOT_SHOWN: message("{goal}: not shown."),
    Verdict.OPEN: message("{goal}: open."),
    Verdict.STOPPED: message("{goal}: stopped."),
}


def describe(cooling: DrawnCurve) -> str:
    """Tell in plain words what the drawing shows: readings, levels, deadlines and verdicts."""
    first, last = cooling.readings[0], cooling.readings[-1]

    def when(moment: datetime) -> str:
        return day_and_clock(moment, first.at, cooling.zone)

    told = [
        counted(
            "Cooling on {day}: {count} reading, {first} at {begin}.",
            "Cooling on {day}: {count} readings, {first} at {begin} to {last} at {end}.",
            len(cooling.readings),
            day=day(cooling),
            first=first.temperature,
            begin=when(first.at),
            last=last.temperature,
            end=when(last.at),
        )
    ]
    told += [
        _started(finding.limit.start, finding.start, cooling.degree, when)
        for finding in cooling.findings[:1]
        if finding.limit.start and finding.start
    ]
    for finding in cooling.findings:
        told.append(phrase(_TOLD[finding.verdict], goal=goal(finding.limit, cooling.degree)))
        told.append(explain(finding, when))
        if finding.due:
            told.append(phrase("The safe deadline is {due}.", due=when(finding.due)))
    if cooling.planned:
        told.append(phrase("The dotted curve is what was planned before cooking, an estimate."))
    if cooling.expected:
        told.append(phrase("The dashed curve is what the readings let expect, an estimate."))
    return " ".join(told)


def _started(level: Level, bounds: Bounds, degree: Degree, when: ShowMoment) -> str:
    """Say when the time started, as far as the record shows it."""
    hot, earliest, latest = degrees(level, degree), bounds.earliest, bounds.latest
    if earliest and latest and earliest != latest:
        return phrase(
            "{level}, where the time starts, was passed between {begin} and {end}.",
            level=hot,
            begin=when(earliest),
            end=when(latest),
        )
    if earliest and latest:
        return phrase(
            "{level}, where the time starts, was passed at {time}.", level=hot, time=when(latest)
        )
    if latest:
        return phrase(
            "{level}, where the time starts, was passed before {time}, not shown when.",
            level=hot,
            time=when(latest),
        )
    if earliest:
        return phrase(
            "{level}, where the time starts, was passed after {time}.",
            level=hot,
            time=when(earliest),
        )
    return phrase("{level}, where the time starts, was passed at a time not on record.", level=hot)
