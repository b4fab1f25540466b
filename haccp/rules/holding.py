"""Holding: 3-501.16. Each reading stands for itself; a run of bad ones is one deviation."""

from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from enum import Enum, auto
from itertools import groupby

from haccp.limits.limit import Limit
from haccp.rules.evidence import Bounds, Finding, Reading, Reason, Step, Verdict


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
    Source: Food Code 2022 3-501.16; DEVELOPERS.md, verdict rules.
    """

    def kept(reading: Reading) -> _Kept:
        if reading.doubted_since:
            return _Kept.DOUBTED
        return _Kept.GOOD if limit.kept_by(reading.temperature) else _Kept.BAD

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
    findings = [
        _in_doubt(step, run, limit)
        if state is _Kept.DOUBTED
        else _out_of_limits(step, run, limit, good)
        for state, run in runs
        if state is not _Kept.GOOD
    ]
    if findings:
        return tuple(findings)
    return (
        Finding(
            step=step,
            limit=limit,
            verdict=Verdict.MET,
            reason=Reason.IN_LIMITS,
            readings=tuple(readings),
        ),
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


def missed_checks(
    step: Step,
    readings: Sequence[Reading],
    limit: Limit,
    longest_gap: timedelta,
    until: datetime | None,
    watched_until: Mapping[str, datetime] | None = None,
) -> tuple[Finding, ...]:
    """Find the gaps between checks that are longer than allowed, the one up to `until` included.

    `longest_gap` is the kitchen's interval plus its grace; `until` None leaves the last gap alone.
    `watched_until` says of a reading, by its `ref`, until when the checks of the unit that the food
    was put into stand for its own. Source: DEVELOPERS.md, verdict rules.
    """
    following = [*(reading.at for reading in readings[1:]), until or readings[-1].at]
    gaps = [
        (reading, (watched_until or {}).get(reading.ref, reading.at), next_at)
        for reading, next_at in zip(readings, following, strict=True)
    ]
    return tuple(
        Finding(
            step=step,
            limit=limit,
            verdict=Verdict.NOT_SHOWN,
            reason=Reason.MISSED_CHECK,
            readings=(before,),
            start=Bounds(begins, begins),
            shortest=timedelta(0),
            longest=ends - begins,
            due=begins + longest_gap,
            since=begins + longest_gap,
        )
        for before, begins, ends in gaps
        if ends - begins > longest_gap
    )
