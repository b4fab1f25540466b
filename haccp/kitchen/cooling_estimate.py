"""What a running cooling is expected to do, from what the record holds: an estimate, no verdict."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from itertools import groupby, takewhile

from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.cooling_conditions import conditions_of, planned_prior, setup_of
from haccp.kitchen.reading import read_batches
from haccp.kitchen.readings_as_evidence import reading_of
from haccp.kitchen.register import Register
from haccp.language import message, phrase
from haccp.limits.limit import Limit
from haccp.phrases import at, by, ranging, with_article
from haccp.physics.forecast import (
    NEVER,
    Arrival,
    Forecast,
    Goal,
    Interval,
    Look,
    Outlook,
    Pace,
    Start,
    forecast,
    next_look,
    outlook,
)
from haccp.physics.forecast_prior import Nature, Prior
from haccp.physics.forecast_readings import Point
from haccp.record.bodies import CoolingPlanned, CoolingSetup
from haccp.record.entries import having
from haccp.record.store import Record
from haccp.record.threads import openings_of
from haccp.rules.asked import ShowMoment
from haccp.rules.evidence import Finding, Reading, Step, Verdict
from haccp.rules.remedies import RAPID_WAYS
from haccp.rules.thermometer import pressure_at
from haccp.temperature import Degree, Temperature

NATURES = {"open liquid": Nature.OPEN_LIQUID, "stirred": Nature.STIRRED, "thick": Nature.THICK}
_MINUTE = timedelta(minutes=1)
# The newest finished coolings are learned from while a cook waits: more would add little
# (benchmarks/learning.py), and cost 4 ms each.
_HISTORIES = 6
# After a surprise the next reading is due in so many minutes: common practice, no source.
_SOON = 10.0
# No thermometer that is right shows cooling food warmer by so many °F than before.
_RISES = 2.0


# A moment, and the temperatures that 5, 50 and 95 of 100 cases are at or below then [°F].
BandPoint = tuple[datetime, float, float, float]
_BAND = 48


_BAD = (Outlook.ABOUT_EVEN, Outlook.DOUBTFUL, Outlook.UNLIKELY)


@dataclass(frozen=True, slots=True)
class Expected:
    """One open stage and when it is expected to be reached."""

    finding: Finding
    arrival: Arrival
    outlook: Outlook


@dataclass(frozen=True, slots=True)
class Running:
    """A cooling of `batch`: its forecast counts minutes from `zero`, `expected` are its open
    stages. One more reading tells most at `measure_at`: `below` this it makes the nearest deadline.
    `air_known` says that its surroundings were measured.
    """

    batch: str
    zero: datetime
    fitted: Forecast
    expected: tuple[Expected, ...]
    measure_at: datetime | None
    below: Temperature | None
    air_known: bool

    @property
    def is_at_risk(self) -> bool:
        """Whether it may well not make a stage."""
        return any(one.outlook in _BAD for one in self.expected)

    @property
    def is_unlikely(self) -> bool:
        """Whether it most likely does not make a stage."""
        return any(one.outlook is Outlook.UNLIKELY for one in self.expected)

    @property
    def reheat_by(self) -> datetime | None:
        """By when food that will not make its first stage may once be reheated; None for others.

        Two readings are too few to reheat it for.
        """
        for one in self.expected:
            lost = one.outlook is Outlook.UNLIKELY and one.finding.limit.name == "cooling-stage-1"
            if lost and one.finding.due and not self.is_doubtful:
                return one.finding.due
        return None

    @property
    def is_doubtful(self) -> bool:
        """Whether one more reading has to come before it is given up."""
        doubtful = any(one.outlook is Outlook.DOUBTFUL for one in self.expected)
        return doubtful and self.measure_at is not None

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
    taken = from_the_heat(stages[0], subject, register)
    goes_on = any(one.verdict is Verdict.OPEN for one in stages)
    known = conditions_of(subject, register, taken[0].at, now if goes_on else taken[-1].at)
    readings = trusted(taken, known.since)
    if not readings:
        return None
    zero = readings[0].at
    degree = readings[-1].temperature.degree
    hoped = _learned(subject, known.setup, record, register, now) or planned_prior(subject, known)
    pressure = float(pressure_at(register.kitchen_at(zero).altitude_m))
    curve = [((r.at - zero) / _MINUTE, float(r.temperature.fahrenheit)) for r in readings]
    food = NATURES.get(known.setup.nature, Nature.UNKNOWN)
    levels = [_level(one.limit, degree) for one in stages]
    # one forecast for each start: a stage may count from the one before it
    fits = {
        start: forecast(curve, known.surroundings, food, start, levels, hoped, pressure)
        for start in dict.fromkeys(start for _, start in _starts(stages, zero))
    }
    expected = tuple(
        Expected(stage, arrival, outlook(arrival, told=known.told))
        for stage, start in _starts(stages, zero)
        if stage.verdict is Verdict.OPEN and (fitted := fits[start])
        for arrival in [fitted.arrivals[stages.index(stage)]]
    )
    fitted = next((one for one in fits.values() if one), None)
    if fitted is None:
        return None
    ahead = [one.due for one in stages if one.due and one.verdict is Verdict.OPEN]
    musts = [(due - zero) / _MINUTE for due in ahead]
    minute = max((now - zero) / _MINUTE, 0.0)
    look = next_look(fitted, minute, musts) if expected else None
    if look and look.at >= minute + _SOON and _is_surprising(fitted, expected, curve):
        look = Look(minute + _SOON)
    return Running(
        subject.name,
        zero,
        fitted,
        expected,
        zero + look.at * _MINUTE if look else None,
        _shown(look.below, degree) if look and look.below is not None else None,
        known.measured,
    )


def _shown(fahrenheit: float, degree: Degree) -> Temperature:
    """Show a temperature in whole degrees of a scale."""
    number = fahrenheit if degree is Degree.F else (fahrenheit - 32) / 1.8
    return Temperature(Decimal(round(number)), degree)


def _is_surprising(fitted: Forecast, expected: Sequence[Expected], curve: Sequence[Point]) -> bool:
    """Whether one more reading soon would tell whether all is as it seems."""
    rises = len(curve) > 1 and curve[-1][1] - curve[-2][1] > _RISES
    return (
        rises
        or fitted.pace is not Pace.AS_BEFORE
        or fitted.stands_since is not None
        or any(one.outlook is Outlook.DOUBTFUL for one in expected)
    )


def coolings(findings: Iterable[Finding]) -> list[tuple[Finding, ...]]:
    """Group cooling findings by the cooling that they are about.

    Its stages count from one moment, or from where the one before ends; where a thermometer is in
    doubt, they need not rest on the same readings. What was made at room temperature and never
    measured has no curve.
    """
    groups: list[list[Finding]] = []
    for finding in findings:
        if finding.step is Step.COOL and finding.readings:
            mine = (group for group in groups if all(_is_with(finding, one) for one in group))
            group = next(mine, None)
            if group is None:
                groups.append([finding])
            else:
                group.append(finding)
    return [tuple(group) for group in groups]


def touches(stages: Sequence[Finding], begins: datetime, ends: datetime) -> bool:
    """Whether a cooling was read in [begins, ends), or what is found of it could be known then."""
    read = any(begins <= one.at < ends for stage in stages for one in stage.readings)
    known = any(one.since and begins <= one.since < ends for one in stages)
    return read or known


def is_by_the_way(stages: Sequence[Finding]) -> bool:
    """Whether food that nobody set to cool was below 135 °F, and hot again in time."""
    ended = all(one.verdict is Verdict.STOPPED for one in stages)
    return ended and all(one.step is not Step.COOL for one in stages[0].readings)


def _is_with(finding: Finding, other: Finding) -> bool:
    """Whether two findings are stages of one cooling."""
    starts = finding.start in (other.start, other.crossing) or other.start == finding.crossing
    return starts and finding.limit.name != other.limit.name


def from_the_heat(
    stage: Finding, subject: BatchOnRecord, register: Register
) -> tuple[Reading, ...]:
    """Add to a stage's readings those of the same cooling before its clock began."""
    taken, start = stage.readings, stage.limit.start
    earlier = [one for one in subject.evidence(register) if one.at < taken[0].at]
    earlier.sort(key=lambda one: one.at, reverse=True)

    def is_hot(one: Reading) -> bool:
        return one.step is Step.COOL and start is not None and one.temperature.over(start) >= 0

    return (*reversed([*takewhile(is_hot, earlier)]), *taken)


def trusted(taken: Sequence[Reading], since: datetime | None) -> list[Reading]:
    """Pick the readings since a change; doubted ones tell nothing."""
    return [one for one in taken if not one.doubted_since and (since is None or one.at >= since)]


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
        known = conditions_of(batch, register, cooled[0].at, cooled[-1].at) if cooled else None
        if known and known.since is None:
            zero = cooled[0].at
            curve = tuple(
                ((r.at - zero) / _MINUTE, float(r.temperature.fahrenheit)) for r in cooled
            )
            finished.append(Finished(curve, known.surroundings))
    return learn(NATURES.get(setup.nature, Nature.UNKNOWN), finished) if finished else None


def _cooled(batch: BatchOnRecord, register: Register) -> list[Reading]:
    """Give the readings of a batch's last finished cooling, down to cold; nothing without one."""
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
    Outlook.ON_COURSE: message("on course"),
    Outlook.LIKELY: message("likely, not sure"),
    Outlook.ABOUT_EVEN: message("about even"),
    Outlook.DOUBTFUL: message("may not make it"),
    Outlook.UNLIKELY: message("unlikely"),
}


def estimate(found: Running, clock: ShowMoment) -> str:
    """Say in a sentence or two what to expect of the open stages, and what to do about it."""
    told = "; ".join(words for one in found.expected if (words := _told(one, found, clock)))
    act = phrase("Act now: {ways} (3-501.15).", ways=phrase(RAPID_WAYS)) if found.is_at_risk else ""
    return _labelled(told, [act, _way_out(found, clock), surprise(found, clock)])


def brief(found: Running, clock: ShowMoment) -> str:
    """Say in a sentence what to expect of the open stage that is the least likely to be made."""
    told = [one for one in found.expected if one.outlook in _WORDS]
    if not told:
        return ""
    worst = max(told, key=lambda one: [*_WORDS].index(one.outlook))
    arrival, degree = worst.arrival.at, worst.finding.readings[-1].temperature.degree
    outlook = phrase(_WORDS[worst.outlook])
    level = f"{worst.finding.limit.level.number(degree)} °{degree}"
    if arrival.low > NEVER:
        in_air = message("Estimate: {level} is not expected in this air: {outlook}.")
        in_time = message("Estimate: {level} is not expected within two days: {outlook}.")
        words = in_air if found.air_known else in_time
        return phrase(words, level=level, outlook=outlook)
    early = with_article(clock(found.moment(arrival.low)))
    if arrival.high > NEVER:
        in_air = message("Estimate: {level} from {early} on, perhaps never in this air: {outlook}.")
        in_time = message(
            "Estimate: {level} from {early} on, perhaps not within two days: {outlook}."
        )
        words = in_air if found.air_known else in_time
        return phrase(words, level=level, early=early, outlook=outlook)
    late = with_article(clock(found.moment(arrival.high)))
    if early == late:
        when = at(clock(found.moment(arrival.low)))
        return phrase("Estimate: {level} {at}: {outlook}.", level=level, at=when, outlook=outlook)
    words = message("Estimate: {level} between {early} and {late}: {outlook}.")
    return phrase(words, level=level, early=early, late=late, outlook=outlook)


def _labelled(stages: str, sentences: Iterable[str]) -> str:
    """Begin with what it is, whatever of it there is: the stages, or sentences alone."""
    said = " ".join(filter(None, sentences))
    if stages:
        return " ".join(filter(None, (phrase("Estimate: {stages}.", stages=stages), said)))
    return phrase("Estimate: {sentences}", sentences=said) if said else ""


def surprise(found: Running, clock: ShowMoment) -> str:
    """Say that the newest readings are not as those before, and ask what nobody said."""
    fitted, name = found.fitted, found.batch
    if fitted.stands_since is not None:
        since = with_article(clock(found.moment(fitted.stands_since)))
        words = message(
            "It has not cooled since {since}: say how it cools now "
            '(haccp cooling-method {name} "...").'
        )
        return phrase(words, since=since, name=name)
    if fitted.pace is Pace.SLOWER:
        words = message(
            "It no longer cools as before: say how it cools now "
            '(haccp cooling-method {name} "...").'
        )
        return phrase(words, name=name)
    if fitted.pace is Pace.FASTER:
        words = message(
            'It cools faster than before: say how it cools now (haccp cooling-method {name} "...").'
        )
        return phrase(words, name=name)
    return ""


def _way_out(found: Running, clock: ShowMoment) -> str:
    """Name what still saves food that will not make its first stage; once, and while it is open."""
    if found.is_doubtful and found.measure_at:
        moment = at(clock(found.measure_at))
        return phrase("Measure {at}, before it is given up.", at=moment)
    if not found.reheat_by:
        return ""
    return phrase(
        "Or, once, and hot {by}: Reheat it to 165 °F (74 °C) for 15 s, then cool it again by "
        "another method.",
        by=by(clock(found.reheat_by)),
    )


def estimate_of(found: Running, finding: Finding, clock: ShowMoment) -> str:
    """Say what to expect of one stage; nothing where it is too early to say."""
    mine = [one for one in found.expected if one.finding.limit == finding.limit]
    words = _told(mine[0], found, clock) if mine else ""
    return _labelled(words, [surprise(found, clock)])


def _told(one: Expected, found: Running, clock: ShowMoment) -> str:
    if one.outlook not in _WORDS:
        return ""
    degree = one.finding.readings[-1].temperature.degree
    expected = _between(one.arrival.at, found, clock)
    places = {
        "level": f"{one.finding.limit.level.number(degree)} °{degree}",
        "outlook": phrase(_WORDS[one.outlook]),
    }
    if not one.finding.due:
        return phrase("{level} {expected}: {outlook}", expected=expected, **places)
    return phrase(
        "{level} {expected}, deadline {deadline}: {outlook}",
        expected=expected,
        deadline=with_article(clock(one.finding.due)),
        **places,
    )


def _between(arrival: Interval, found: Running, clock: ShowMoment) -> str:
    if arrival.low > NEVER:
        in_air = message("not expected in this air")
        in_time = message("not expected within two days")
        words = in_air if found.air_known else in_time
        return phrase(words)
    early = with_article(clock(found.moment(arrival.low)))
    if arrival.high > NEVER:
        in_air = message("expected from {early} on, perhaps never in this air")
        in_time = message("expected from {early} on, perhaps not within two days")
        words = in_air if found.air_known else in_time
        return phrase(words, early=early)
    late = with_article(clock(found.moment(arrival.high)))
    if early == late:
        return phrase("expected {at}", at=at(clock(found.moment(arrival.low))))
    return phrase("expected {early} to {late}", early=early, late=late)


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
    the figures, `physics.growth.behind`, is told with them.
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
    return phrase(
        "Growth of Clostridium perfringens that a model implies: {all_curves} log10 over all "
        "curves that the readings allow, {between} along the one between them; before the "
        "first reading and after the last nothing is counted.",
        all_curves=ranging(f"{found.least:.1f}", f"{found.most:.1f}"),
        between=ranging(f"{low:.1f}", f"{high:.1f}"),
    )
