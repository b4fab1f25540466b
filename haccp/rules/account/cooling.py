"""Cooling, 3-501.14. Between two readings a cooling food is taken not to rise.

(A) "Cooked TCS food shall be cooled: (1) within 2 hours from 135 °F to 70 °F, and (2) within a
total of 6 hours from 135 °F to 41 °F or less." (B) "... within 4 hours to 41 °F or less if prepared
from ingredients at ambient temperature." (C) the same for food that a law lets arrive warmer.
Stricter: the worst case between the readings must keep the time, not the readings alone.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta
from fractions import Fraction
from itertools import groupby, pairwise

from haccp.limits.limit import CountsFrom, Limit
from haccp.rules.account.levels import Levels
from haccp.rules.account.life import NOTHING, Facts, Span, decide
from haccp.rules.account.steps import TRAITS
from haccp.rules.evidence import Bounds, Finding, Reading, Reason, Step, Verdict


def judge_cooling(
    facts: Facts, levels: Levels, ended: datetime | None, as_of: datetime | None
) -> tuple[Finding, ...]:
    """Judge the cooling that is open; `ended` is when something else was done with the food."""
    stages = (facts.alone,) if facts.alone else levels.stages
    line = _warmest(facts.line, stages)
    if not line:  # nothing was measured yet: it counts from a known beginning
        line = []
    start = _start(facts, line, levels)
    until = min((moment for moment in (as_of, ended) if moment), default=None)
    own = line if start.earliest else [one for one in line if one.at >= _first(facts.line)]
    rewarmed = tuple((a, b) for a, b in pairwise(own) if b.is_warmer_than(a))
    found: list[Finding] = []
    begun = start
    for n, stage in enumerate(stages):
        crossing = _crossing(line, stage, start)
        left = ended is not None and until == ended
        found.append(_judge_stage(stage, begun, crossing, own, until, rewarmed, left=left))
        following = stages[n + 1] if n + 1 < len(stages) else None
        begun = crossing if following and following.clock is CountsFrom.PREVIOUS_STAGE else start
    return tuple(found)


def _warmest(readings: Sequence[Reading], stages: Sequence[Limit]) -> list[Reading]:
    """Keep one reading a moment, the warmest.

    Where a moment was read in both degrees, a reading above a stage's number in its own degree
    counts as warmer than one that is not, whatever the conversion says.
    """

    def warmth(reading: Reading) -> tuple[int, Fraction]:
        broken = sum(not stage.kept_by(reading.temperature) for stage in stages)
        return broken, reading.temperature.fahrenheit

    moments = groupby(sorted(readings, key=lambda one: one.at), key=lambda one: one.at)
    return [max(moment, key=warmth) for _, moment in moments]


def _start(facts: Facts, line: Sequence[Reading], levels: Levels) -> Bounds:
    """Bound when the food passed the start temperature: in [earliest, latest).

    That is after its last hot reading and before the next one; a reading at the very start
    temperature fixes it ("from 135 °F"). Of food that was not seen hot nothing is known but the
    cooling's own readings: what was read while it was heated or held hot may have risen since.
    """
    if facts.fixed is not None:
        return Bounds(facts.fixed, facts.fixed)
    if not line:
        return Bounds(None, None)
    hot = [levels.is_hot(one.temperature) for one in line]
    fallen = next((i for i, is_hot in enumerate(hot) if not is_hot and (i or not facts.heated)), 0)
    if not fallen and not (hot[0] or facts.heated):
        return Bounds(None, _first(facts.line))
    last = fallen - 1 if fallen else len(line) - 1
    if line[last].temperature.over(levels.start) == 0:
        return Bounds(line[last].at, line[last].at)
    return Bounds(line[last].at, line[last + 1].at if last + 1 < len(line) else None)


def _first(line: Sequence[Reading]) -> datetime:
    """Say when it was first read at a step that neither heats nor holds hot."""
    return next((one.at for one in line if not TRAITS[one.step].coolest), line[0].at)


def _crossing(line: Sequence[Reading], stage: Limit, start: Bounds) -> Bounds:
    """Bound the last time the food came down to a stage's level: in (earliest, latest]."""
    above = [i for i, one in enumerate(line) if not stage.kept_by(one.temperature)]
    after = above[-1] + 1 if above else 0
    return Bounds(
        line[above[-1]].at if above else None if line else start.earliest,
        line[after].at if after < len(line) else None,
    )


def _judge_stage(
    limit: Limit,
    start: Bounds,
    crossing: Bounds,
    line: Sequence[Reading],
    until: datetime | None,
    rewarmed: tuple[tuple[Reading, Reading], ...],
    *,
    left: bool,
) -> Finding:
    shortest, longest = NOTHING, None
    if crossing.earliest and start.latest:
        shortest = max(crossing.earliest - start.latest, NOTHING)
    if crossing.latest and start.earliest:
        longest = crossing.latest - start.earliest
    due = start.earliest + _within(limit) if start.earliest else None
    over = crossing.latest is not None
    span = Span(shortest, longest)
    verdict = decide(span, limit.within, limit.within, due, until, over=over, left=left)
    return Finding(
        step=Step.COOL,
        limit=limit,
        verdict=verdict,
        reason=_reason(verdict, due, over=over),
        readings=tuple(line),
        start=start,
        crossing=crossing,
        shortest=shortest,
        longest=longest,
        due=due,
        since=(due or start.latest) if verdict.is_deviation else None,
        rewarmed=rewarmed,
    )


def _within(limit: Limit) -> timedelta:
    assert limit.within is not None  # the loader asks a time of every stage
    return limit.within


def _reason(verdict: Verdict, due: datetime | None, *, over: bool) -> Reason:
    match verdict:
        case Verdict.MET:
            return Reason.IN_TIME
        case Verdict.NOT_MET:
            return Reason.TOO_LATE if over else Reason.STILL_WARM
        case Verdict.OPEN:
            return Reason.TIME_LEFT
        case Verdict.STOPPED:
            return Reason.FOOD_LEFT_THE_STEP
        case Verdict.NOT_SHOWN if due is None:
            return Reason.NO_START
        case Verdict.NOT_SHOWN:
            return Reason.CROSSING_UNCERTAIN if over else Reason.NOT_REACHED_ON_RECORD
