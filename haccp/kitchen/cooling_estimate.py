"""What a running cooling is expected to do, from what the record holds: an estimate, no verdict."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby

from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.reading import read_batches
from haccp.kitchen.readings_as_evidence import reading_of
from haccp.kitchen.register import Register
from haccp.limits.limit import Limit
from haccp.physics.forecast import (
    NEVER,
    Arrival,
    Forecast,
    Goal,
    Interval,
    Outlook,
    Start,
    forecast,
    next_reading,
    outlook,
)
from haccp.physics.forecast_prior import Nature, Prior, Surroundings
from haccp.record.entries import CoolingPlanned, CoolingSetup, Measured, having
from haccp.record.store import Record
from haccp.record.threads import about_unit, openings_of
from haccp.rules.evidence import Finding, Reading, Step, Verdict
from haccp.rules.remedies import COOL_AGAIN, RAPID_WAYS
from haccp.rules.words import ShowMoment
from haccp.temperature import Degree, Temperature, parse_temperature

NATURES = {"open liquid": Nature.OPEN_LIQUID, "stirred": Nature.STIRRED, "thick": Nature.THICK}
_MINUTE = timedelta(minutes=1)
# A unit's check this old tells nothing of its air now: common practice, no source.
_STALE = timedelta(hours=12)
# The newest finished coolings are learned from while a cook waits: more would add little
# (benchmarks/learning.py), and cost 4 ms each.
_HISTORIES = 6


# A moment, and the temperatures that 5, 50 and 95 of 100 cases are at or below then [°F].
BandPoint = tuple[datetime, float, float, float]
_BAND = 48


@dataclass(frozen=True, slots=True)
class Expected:
    """One open stage and when it is expected to be reached."""

    finding: Finding
    arrival: Arrival
    outlook: Outlook


@dataclass(frozen=True, slots=True)
class Running:
    """A cooling: its forecast counts minutes from `zero`. `expected` are its open stages."""

    zero: datetime
    fitted: Forecast
    expected: tuple[Expected, ...]
    measure_at: datetime | None

    @property
    def is_at_risk(self) -> bool:
        """Whether it may well not make a stage."""
        return any(one.outlook in (Outlook.ABOUT_EVEN, Outlook.UNLIKELY) for one in self.expected)

    def moment(self, minute: float) -> datetime:
        return self.zero + minute * _MINUTE

    def band(self, until: datetime) -> list[BandPoint]:
        """Give the curve's 5, 50 and 95 % points [°F] from its first reading used to a moment."""
        begins = self.fitted.since
        step = max((until - self.zero) / _MINUTE - begins, 1.0) / _BAND
        times = [begins + i * step for i in range(_BAND + 1)]
        return [(self.moment(at), *points) for at, *points in self.fitted.band(times)]  # type: ignore[misc]


def running(
    subject: BatchOnRecord,
    findings: Sequence[Finding],
    record: Record,
    register: Register,
    now: datetime,
) -> Running | None:
    """Forecast a batch's last cooling, or fit it if it is over; None where too little is known."""
    found = coolings(findings)
    if not found:
        return None
    stages = found[-1]
    setup = setup_of(subject, register, now)
    readings = _readings(stages[0].readings, subject, now)
    if not readings:
        return None
    zero = readings[0].at
    degree = readings[-1].temperature.degree
    known = _learned(subject, setup, record, register, now)
    curve = [((r.at - zero) / _MINUTE, float(r.temperature.fahrenheit)) for r in readings]
    surroundings = _surroundings(setup, readings, subject, record, register)
    food = NATURES.get(setup.nature, Nature.UNKNOWN)
    levels = [_level(one.limit, degree) for one in stages]
    # one forecast for each start: a stage may count from the one before it
    fits = {
        start: forecast(curve, surroundings, food, start, levels, known)
        for start in dict.fromkeys(start for _, start in _starts(stages, zero))
    }
    expected = tuple(
        Expected(stage, arrival, outlook(arrival))
        for stage, start in _starts(stages, zero)
        if stage.verdict is Verdict.OPEN and (fitted := fits[start])
        for arrival in [fitted.arrivals[stages.index(stage)]]
    )
    fitted = next((one for one in fits.values() if one), None)
    if fitted is None:
        return None
    ahead = [one.due for one in stages if one.due and one.verdict is Verdict.OPEN]
    musts = [(due - zero) / _MINUTE for due in ahead]
    look = next_reading(fitted, max((now - zero) / _MINUTE, 0.0), musts) if expected else None
    return Running(zero, fitted, expected, zero + look * _MINUTE if look is not None else None)


def coolings(findings: Iterable[Finding]) -> list[tuple[Finding, ...]]:
    """Group cooling findings by the cooling that they are about: those on the same readings."""
    groups: dict[tuple[str, ...], list[Finding]] = {}
    for finding in findings:
        if finding.step is Step.COOL:
            groups.setdefault(tuple(r.ref for r in finding.readings), []).append(finding)
    return [tuple(group) for group in groups.values()]


def _readings(taken: Sequence[Reading], subject: BatchOnRecord, now: datetime) -> list[Reading]:
    """Pick the readings since the last change of method; doubted ones tell nothing."""
    changes = [
        entry.at
        for entry in having(subject.in_force, CoolingSetup)
        if entry.body.changed and entry.at <= now
    ]
    since = max(changes, default=None)
    trusted = [one for one in taken if not one.doubted_since]
    return [one for one in trusted if since is None or one.at >= since]


def setup_of(subject: BatchOnRecord, register: Register, now: datetime) -> CoolingSetup:
    """Say how a batch cools as far as is known: as was entered, else as its food is planned."""
    food = next(
        (
            one
            for one in register.foods.values()
            if one.name.casefold() == subject.batch.food.casefold()
        ),
        None,
    )
    known = CoolingSetup(
        nature=food.nature if food else "",
        container=food.container if food else "",
        depth_in=food.depth_in if food else "",
    )
    for entry in sorted(having(subject.in_force, CoolingSetup), key=lambda entry: entry.at):
        body = entry.body
        if entry.at <= now:
            known = CoolingSetup(
                nature=body.nature or known.nature,
                air=body.air or ("" if body.changed else known.air),
                air_to=body.air_to or ("" if body.air or body.changed else known.air_to),
                method=body.method or known.method,
                container=body.container or known.container,
                depth_in=body.depth_in or known.depth_in,
            )
    return known


def _starts(stages: Sequence[Finding], zero: datetime) -> Iterator[tuple[Finding, Start]]:
    """Say from when each stage counts; one whose own start lies ahead is left out."""
    for stage in stages:
        start = stage.start
        if start is None or start.latest is None:
            continue
        earliest = (start.earliest - zero) / _MINUTE if start.earliest else None
        yield stage, Start(earliest, (start.latest - zero) / _MINUTE)


def _level(limit: Limit, degree: Degree) -> Goal:
    assert limit.within is not None  # the loader asks a time of every stage
    number = Temperature(limit.level.number(degree), degree)
    return Goal(float(number.fahrenheit), limit.within / _MINUTE)


def _surroundings(
    setup: CoolingSetup,
    readings: Sequence[Reading],
    subject: BatchOnRecord,
    record: Record,
    register: Register,
) -> Surroundings:
    """Take what was measured, else the unit's last check, else what cold units are like."""
    if setup.air and setup.air_to:
        low, high = (_fahrenheit(one) for one in (setup.air, setup.air_to))
        return Surroundings.between(min(low, high), max(low, high))
    if setup.air:
        return Surroundings.measured(_fahrenheit(setup.air))
    units = [entry.unit for entry in subject.readings if entry.unit]
    since = readings[-1].at - _STALE
    checks = [
        entry
        for unit in units[-1:]
        for entry in having(record.about(about_unit(unit), since=since), Measured)
        if entry.batch is None and entry.at >= since
    ]
    if checks:
        temperature = reading_of(checks[-1], register).temperature
        return Surroundings.measured(float(temperature.fahrenheit))
    return Surroundings.cold_storage()


def _fahrenheit(text: str) -> float:
    return float(parse_temperature(text).fahrenheit)


def _learned(
    subject: BatchOnRecord, setup: CoolingSetup, record: Record, register: Register, now: datetime
) -> tuple[Prior, ...] | None:
    """Learn from the kitchen's finished coolings of the same food, cooled in the same way."""
    from haccp.physics.learning import Finished, learn

    alike = [
        entry.batch
        for entry in record.newest(openings_of(subject.batch.food), _HISTORIES + 1)
        if entry.batch and entry.seq < subject.opened.seq
    ]
    finished: list[Finished] = []
    for batch in read_batches(record, alike[:_HISTORIES]):
        theirs = setup_of(batch, register, now)
        if (theirs.method, theirs.container, theirs.depth_in, theirs.nature) != (
            setup.method,
            setup.container,
            setup.depth_in,
            setup.nature,
        ):
            continue
        cooled = _cooled(batch, register)
        if cooled:
            zero = cooled[0].at
            curve = tuple(
                ((r.at - zero) / _MINUTE, float(r.temperature.fahrenheit)) for r in cooled
            )
            surroundings = _surroundings(theirs, cooled, batch, record, register)
            finished.append(Finished(curve, surroundings))
    return learn(NATURES.get(setup.nature, Nature.UNKNOWN), finished) if finished else None


def _cooled(batch: BatchOnRecord, register: Register) -> list[Reading]:
    """Give the readings of a batch's last finished cooling, down to cold; nothing without one."""
    changed = any(entry.body.changed for entry in having(batch.in_force, CoolingSetup))
    if changed:
        return []
    cold = register.limits_at(batch.opened.at).get("cold-holding")
    taken = [reading_of(entry, register) for entry in batch.readings]
    runs = [list(run) for step, run in groupby(taken, key=lambda r: r.step) if step is Step.COOL]
    for run in reversed(runs):
        trusted = [one for one in run if not one.doubted_since]
        done = next((i for i, one in enumerate(trusted) if cold.kept_by(one.temperature)), None)
        if done is not None:
            return trusted[: done + 1]
    return []


_WORDS = {
    Outlook.ON_COURSE: "on course",
    Outlook.LIKELY: "likely, not sure",
    Outlook.ABOUT_EVEN: "about even",
    Outlook.UNLIKELY: "unlikely",
}
ACT = f"Act now: {RAPID_WAYS} (3-501.15)."


def estimate(found: Running, clock: ShowMoment) -> str:
    """Say in a sentence or two what to expect of the open stages, and what to do about it."""
    told = [words for one in found.expected if (words := _told(one, found, clock))]
    if not told:
        return ""
    act = f" {ACT}" if found.is_at_risk else ""
    return f"Estimate: {'; '.join(told)}.{act}{_way_out(found, clock)}"


def _way_out(found: Running, clock: ShowMoment) -> str:
    """Name what still saves food that will not make its first stage; once, and while it is open."""
    for one in found.expected:
        lost = one.outlook is Outlook.UNLIKELY and one.finding.limit.name == "cooling-stage-1"
        if lost and one.finding.due:
            return f" Or, once, and hot by {clock(one.finding.due)}: {COOL_AGAIN}"
    return ""


def estimate_of(found: Running, finding: Finding, clock: ShowMoment) -> str:
    """Say what to expect of one stage; nothing where it is too early to say."""
    mine = [one for one in found.expected if one.finding.limit == finding.limit]
    words = _told(mine[0], found, clock) if mine else ""
    return f"Estimate: {words}." if words else ""


def _told(one: Expected, found: Running, clock: ShowMoment) -> str:
    words = _WORDS.get(one.outlook)
    if words is None:
        return ""
    degree = one.finding.readings[-1].temperature.degree
    level = f"{one.finding.limit.level.number(degree)} °{degree}"
    deadline = f", deadline {clock(one.finding.due)}" if one.finding.due else ""
    return f"{level} {_between(one.arrival.at, found, clock)}{deadline}: {words}"


def _between(at: Interval, found: Running, clock: ShowMoment) -> str:
    if at.low > NEVER:
        return "not expected in this air"
    early = clock(found.moment(at.low))
    if at.high > NEVER:
        return f"expected from {early} on, perhaps never in this air"
    return f"expected {early} to {clock(found.moment(at.high))}"


def planned(subject: BatchOnRecord, cooling: Sequence[Finding]) -> list[BandPoint]:
    """Give the curve planned last for a batch, laid so that it passes the start as the food did."""
    plans = [entry.body for entry in having(subject.in_force, CoolingPlanned)]
    start = cooling[0].start
    if not plans or start is None or start.latest is None:
        return []
    points = [tuple(map(float, point.split())) for point in plans[-1].curve]
    level = cooling[0].limit.start
    hot = float(Temperature(level.f, Degree.F).fahrenheit) if level else points[0][2]
    begins = next((minute for minute, _, middle, _ in points if middle <= hot), points[0][0])
    return [
        (start.latest + (minute - begins) * _MINUTE, low, middle, high)
        for minute, low, middle, high in points
        if minute >= begins
    ]


def growth(cooling: Sequence[Finding]) -> str:
    """Say what growth of C. perfringens a model implies for a cooling that is a deviation.

    Information only: it releases no food, excuses no deviation and ranks none down. What is behind
    the figures, `physics.growth.BEHIND`, is told with them.
    """
    from haccp.physics.growth import indicate

    readings = cooling[0].readings
    if len(readings) < 2 or not any(one.verdict.is_deviation for one in cooling):
        return ""
    zero = readings[0].at
    found = indicate(
        [((r.at - zero) / _MINUTE, (float(r.temperature.fahrenheit) - 32) / 1.8) for r in readings]
    )
    low, high = found.along
    return (
        f"Growth of Clostridium perfringens that a model implies: {found.least:.1f} to "
        f"{found.most:.1f} log10 over all curves that the readings allow, {low:.1f} to {high:.1f} "
        f"along the one between them; before the first reading and after the last nothing is "
        f"counted."
    )
