"""Cooling: 3-501.14. Between readings a cooling food is taken not to rise."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from fractions import Fraction
from itertools import groupby, pairwise

from haccp.limits.limit import CountsFrom, Limit
from haccp.rules.evidence import (
    INITIAL,
    Bounds,
    Finding,
    Reading,
    Reason,
    Step,
    Verdict,
    unproved,
    without_doubt,
)
from haccp.temperature import Level


@dataclass(frozen=True, slots=True)
class CoolingStep:
    """The readings that one cooling is judged by, sorted by time.

    `earlier` are the batch's readings before it. `ended` is when the food was reheated, discarded
    or used up. `prepared` is set for food made from ingredients at room temperature (3-501.14(B)).
    `called` says that somebody called it cooling or cold holding.
    """

    readings: tuple[Reading, ...]
    earlier: tuple[Reading, ...] = ()
    ended: datetime | None = None
    prepared: datetime | None = None
    called: bool = True


def completion(cooling: CoolingStep, stages: Sequence[Limit]) -> Reading | None:
    """Find the reading that completed a cooling: the first that keeps the last stage's limit."""
    timeline, first = _timeline(cooling, stages)
    done = _done(timeline, first, stages[-1])
    return None if done is None else timeline[done]


def judge_cooling(
    cooling: CoolingStep, stages: Sequence[Limit], as_of: datetime | None
) -> tuple[Finding, ...]:
    """Judge one cooling against its stages, in the worst case consistent with its readings.

    `stages` come in order; a stage is counted from the start or from the stage before it. `as_of`
    None means after everything. Source: Food Code 2022 3-501.14; DEVELOPERS.md, verdict rules.
    """
    every = _judge(cooling, stages, as_of)
    doubted = [r for r in (*cooling.earlier, *cooling.readings) if r.doubted_since]
    if not doubted:
        return every
    trusted = replace(
        cooling,
        readings=tuple(r for r in cooling.readings if not r.doubted_since),
        earlier=tuple(r for r in cooling.earlier if not r.doubted_since),
    )
    if not trusted.readings:
        return tuple(without_doubt(f, unproved(f), doubted) for f in every)
    return tuple(
        without_doubt(f, t, doubted)
        for f, t in zip(every, _judge(trusted, stages, as_of), strict=True)
    )


def _judge(
    cooling: CoolingStep, stages: Sequence[Limit], as_of: datetime | None
) -> tuple[Finding, ...]:
    timeline, first = _timeline(cooling, stages)
    done = _done(timeline, first, stages[-1])
    if done is not None:
        timeline = timeline[: done + 1]
    horizon = _earlier_of(as_of, cooling.ended)
    rewarmed = tuple((a, b) for a, b in pairwise(timeline[first:]) if b.is_warmer_than(a))
    start = _start(timeline, first, stages[0].start, cooling.prepared)
    begins = first
    while begins and start.earliest and timeline[begins - 1].at >= start.earliest:
        begins -= 1
    evidence = tuple(timeline[begins:])
    findings: list[Finding] = []
    begun = start
    for stage in stages:
        crossing = _crossing(timeline, stage)
        finding = replace(
            _judge_stage(stage, begun, crossing, horizon),
            readings=evidence,
            rewarmed=rewarmed,
        )
        if finding.verdict is Verdict.OPEN and horizon is not None and horizon == cooling.ended:
            finding = replace(finding, verdict=Verdict.STOPPED, reason=Reason.FOOD_LEFT_THE_STEP)
        findings.append(finding)
        following = stages[len(findings)] if len(findings) < len(stages) else None
        begun = crossing if following and following.clock is CountsFrom.PREVIOUS_STAGE else start
    return tuple(findings)


def _timeline(cooling: CoolingStep, stages: Sequence[Limit]) -> tuple[list[Reading], int]:
    """Keep one reading a moment, the warmest; say where the cooling's own begin.

    At a moment that was read in both degrees, a reading above a stage's number in its own degree
    counts as warmer than one that is not, whatever the conversion says.
    """

    def warmth(reading: Reading) -> tuple[int, Fraction]:
        broken = sum(not stage.kept_by(reading.temperature) for stage in stages)
        return broken, reading.temperature.fahrenheit

    def warmest(readings: Sequence[Reading]) -> list[Reading]:
        moments = (list(group) for _, group in groupby(readings, key=lambda r: r.at))
        return [max(group, key=warmth) if len(group) > 1 else group[0] for group in moments]

    own = warmest(cooling.readings)
    before = [r for r in warmest(cooling.earlier) if r.at < own[0].at]
    shared = [r for r in cooling.earlier if r.at == own[0].at]
    own[0] = max([own[0], *shared], key=warmth)
    return [*before, *own], len(before)


def _start(
    timeline: Sequence[Reading], first: int, level: Level | None, prepared: datetime | None
) -> Bounds:
    """Bound the moment at which the food passed the start temperature: in [earliest, latest)."""
    if prepared is not None:
        return Bounds(prepared, prepared)
    assert level is not None  # the loader asks a start of every stage without a preparation
    below = first
    while below < len(timeline) and timeline[below].temperature.over(level) >= 0:
        below += 1
    hot = (i for i in reversed(range(below)) if timeline[i].temperature.over(level) >= 0)
    last_hot = next(hot, None)
    if last_hot is None:
        # never that hot, but heated: counted from the end of its initial heating, 3-401.14(B)
        seared = [one.at for one in timeline[:first] if one.method == INITIAL]
        return Bounds(seared[-1] if seared else None, timeline[first].at)
    reading = timeline[last_hot]
    if reading.temperature.over(level) == 0:
        return Bounds(reading.at, reading.at)
    return Bounds(reading.at, _at(timeline, last_hot + 1))


def _crossing(timeline: Sequence[Reading], limit: Limit) -> Bounds:
    """Bound the last time the food came down to a stage's level: in (earliest, latest]."""
    backwards = reversed(range(len(timeline)))
    last = next((i for i in backwards if not limit.kept_by(timeline[i].temperature)), None)
    if last is None:
        return Bounds(None, timeline[0].at)
    return Bounds(timeline[last].at, _at(timeline, last + 1))


def _judge_stage(limit: Limit, start: Bounds, crossing: Bounds, as_of: datetime | None) -> Finding:
    """Compare the shortest and longest duration that the readings allow with the limit's."""
    assert limit.within is not None  # the loader asks a time of every stage
    shortest = timedelta(0)
    if crossing.earliest and start.latest:
        shortest = max(crossing.earliest - start.latest, timedelta(0))
    longest = crossing.latest - start.earliest if crossing.latest and start.earliest else None
    due = start.earliest + limit.within if start.earliest else None
    if longest is not None and longest <= limit.within:
        verdict, reason = Verdict.MET, Reason.IN_TIME
    elif shortest >= limit.within:
        verdict = Verdict.NOT_MET
        reason = Reason.TOO_LATE if crossing.latest else Reason.STILL_WARM
    elif due is None:
        verdict, reason = Verdict.NOT_SHOWN, Reason.NO_START
    elif crossing.latest is not None:
        verdict, reason = Verdict.NOT_SHOWN, Reason.CROSSING_UNCERTAIN
    elif as_of is None or as_of > due:
        verdict, reason = Verdict.NOT_SHOWN, Reason.NOT_REACHED_ON_RECORD
    else:
        verdict, reason = Verdict.OPEN, Reason.TIME_LEFT
    return Finding(
        step=Step.COOL,
        limit=limit,
        verdict=verdict,
        reason=reason,
        readings=(),
        start=start,
        crossing=crossing,
        shortest=shortest,
        longest=longest,
        due=due,
        since=(due or start.latest) if verdict.is_deviation else None,
    )


def _done(timeline: Sequence[Reading], first: int, end: Limit) -> int | None:
    cold = (i for i in range(first, len(timeline)) if end.kept_by(timeline[i].temperature))
    return next(cold, None)


def _at(timeline: Sequence[Reading], index: int) -> datetime | None:
    return timeline[index].at if index < len(timeline) else None


def _earlier_of(one: datetime | None, other: datetime | None) -> datetime | None:
    return min((moment for moment in (one, other) if moment), default=None)
