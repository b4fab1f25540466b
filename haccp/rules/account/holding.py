"""Holding, 3-501.16(A): "(1) at 135 °F or above ... or (2) at 41 °F or less", and who looked.

Each reading stands for itself, whatever unit or food it was taken of; a run out of limits is one
deviation with bounds. A stretch that nobody watched, or that no state explains, is not shown.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from enum import Enum, auto
from itertools import groupby

from haccp.limits.limit import Limit
from haccp.rules.account.life import NOTHING, Evidence, Span
from haccp.rules.account.steps import STEP_OF, Keeps
from haccp.rules.evidence import Bounds, Finding, Reading, Reason, Step, Verdict

_STEP = {Keeps.HOT: Step.HOT_HOLD, Keeps.COLD: Step.COLD_HOLD, Keeps.FROZEN: Step.COLD_HOLD}


@dataclass(frozen=True, slots=True)
class Filed:
    """A reading and the limit that it is held to; None while its food is changing temperature.

    `usual` is the unit that it is a check of, where none was named for the food.
    """

    reading: Reading
    limit: Limit | None
    usual: str = ""


def judge_filed(filed: Sequence[Filed]) -> Iterator[Finding]:
    """Judge the readings that are held to one limit, run by run, with their neighbours."""
    runs = [(limit, list(run)) for limit, run in groupby(filed, key=lambda one: one.limit)]
    for n, (limit, run) in enumerate(runs):
        if limit is None:
            continue
        before = runs[n - 1][1][-1:] if n else []
        after = runs[n + 1][1][:1] if n + 1 < len(runs) else []
        neighbours = [one.reading for one in (*before, *after)]
        step = STEP_OF[limit.name]
        usual = {one.reading: one.usual for one in run if one.usual}
        for found in judge_holding(step, [one.reading for one in run], limit, neighbours):
            places = (usual[one] for one in found.readings if one in usual)
            yield replace(found, usual=next(places, ""))


class _Kept(Enum):
    """The worst last."""

    GOOD = auto()
    DOUBTED = auto()
    BAD = auto()


def judge_holding(
    step: Step,
    readings: Sequence[Reading],
    limit: Limit,
    neighbours: Sequence[Reading] = (),
) -> tuple[Finding, ...]:
    """Judge readings of one holding, sorted by time; at least one. At one moment the worst counts.

    `neighbours` are the readings of other steps just before and after; where they keep the limit
    they bound the length of a deviation. Gives a finding for each run out of limits, with bounds
    on its length, and one for each run whose thermometer is in doubt; one "met" for all where
    there is neither.
    Source: Food Code 2022 3-501.16.
    """

    def kept(reading: Reading) -> _Kept:
        if reading.doubted_since:
            return _Kept.DOUBTED
        return _Kept.GOOD if limit.kept_by(reading.temperature) else _Kept.BAD

    if all(kept(reading) is _Kept.GOOD for reading in readings):
        return (
            Finding(
                step=step,
                limit=limit,
                verdict=Verdict.MET,
                reason=Reason.IN_LIMITS,
                readings=tuple(readings),
            ),
        )
    worst = {
        at: max((kept(reading) for reading in moment), key=list(_Kept).index)
        for at, moment in groupby(readings, key=lambda reading: reading.at)
    }
    runs = [
        (state, tuple(reading for reading in run if kept(reading) is state))
        for state, run in groupby(readings, key=lambda reading: worst[reading.at])
    ]
    good = [at for at, state in worst.items() if state is _Kept.GOOD]
    good += [reading.at for reading in neighbours if kept(reading) is _Kept.GOOD]
    good.sort()
    return tuple(
        _in_doubt(step, run, limit)
        if state is _Kept.DOUBTED
        else _out_of_limits(step, run, limit, good)
        for state, run in runs
        if state is not _Kept.GOOD
    )


def _out_of_limits(
    step: Step, run: tuple[Reading, ...], limit: Limit, good: Sequence[datetime]
) -> Finding:
    up_to, from_on = bisect_right(good, run[0].at), bisect_left(good, run[-1].at)
    before = good[up_to - 1] if up_to else None
    after = good[from_on] if from_on < len(good) else None
    return Finding(
        step=step,
        limit=limit,
        verdict=Verdict.NOT_MET,
        reason=Reason.OUT_OF_LIMITS,
        readings=run,
        start=Bounds(before, run[0].at),
        shortest=run[-1].at - run[0].at,
        longest=after - before if after and before else None,
        since=run[0].at,
    )


def _in_doubt(step: Step, run: tuple[Reading, ...], limit: Limit) -> Finding:
    return Finding(
        step=step,
        limit=limit,
        verdict=Verdict.NOT_SHOWN,
        reason=Reason.THERMOMETER_IN_DOUBT,
        readings=run,
        since=max(r.doubted_since for r in run if r.doubted_since),
    )


def missed_check(
    limit: Limit, keeps: Keeps, last: Evidence, until: datetime, due: datetime
) -> Finding:
    """Tell of a gap between two looks that is longer than the kitchen's interval and grace."""
    return Finding(
        step=_STEP[keeps],
        limit=limit,
        verdict=Verdict.NOT_SHOWN,
        reason=Reason.MISSED_CHECK,
        readings=(last.reading,) if last.reading else (),
        start=Bounds(last.at, last.at),
        shortest=NOTHING,
        longest=until - last.at,
        due=due,
        since=due,
    )


def not_read(
    limit: Limit, readings: tuple[Reading, ...], opened: datetime, span: Span, due: datetime
) -> Finding:
    """Tell of food that nobody read from its opening on."""
    return Finding(
        step=Step.PREPARE,
        limit=limit,
        verdict=Verdict.NOT_SHOWN,
        reason=Reason.NOT_READ,
        readings=readings,
        start=Bounds(opened, opened),
        shortest=span.shortest,
        longest=span.longest,
        due=due,
        since=due,
    )


def out_of_temperature(
    spell: Bounds, span: Span, verdict: Verdict, readings: Sequence[Reading], limit: Limit
) -> Finding:
    """Tell of food above 41 and below 135 °F that no step of the Code explains."""
    since = spell.earliest or spell.latest
    within = limit.within or NOTHING
    return Finding(
        step=Step.PREPARE,
        limit=limit,
        verdict=verdict,
        reason=Reason.OUT_OF_TEMPERATURE,
        readings=tuple(readings),
        start=spell,
        shortest=span.shortest,
        longest=span.longest,
        since=since + within if since and verdict.is_deviation else None,
    )
