"""Time as a public health control: 3-501.19. The clock starts at the removal and never stops."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from haccp.limits.limit import Limit
from haccp.rules.evidence import (
    Bounds,
    Finding,
    Reading,
    Reason,
    Step,
    Verdict,
    without_doubt,
)

# People read and type a record to the minute: a reading in the last minute was taken at the end.
_AT_THE_END = timedelta(minutes=1)


@dataclass(frozen=True, slots=True)
class _Told:
    """What is to be said: since when, why, and by which readings."""

    verdict: Verdict
    reason: Reason
    since: datetime | None = None
    readings: tuple[Reading, ...] = ()


def judge_time_control(
    readings: Sequence[Reading],
    limit: Limit,
    *,
    ended: datetime | None,
    gone: datetime | None = None,
    returned: Reading | None,
    as_of: datetime | None,
) -> Finding:
    """Judge food that is kept by time alone, from its removal from temperature control.

    `readings` are those of the step, sorted; the first states the removal. `ended` is when
    nothing was left, not before the last reading; `gone` is that moment as it was said, where it
    was entered too late to be relied on: it may have been so. `returned` is a later reading of the
    food being held, cooled or reheated. What is later than `as_of` is not passed; None means after
    everything.

    A limit with a start has a ceiling, to be kept to the end. Between two readings food moves one
    way, so where both keep it it was kept; after the last one nothing is known, so it is met only
    if that was taken at the end. Of several faults the first in time is told. Food is there until
    an entry says that it is gone; with `as_of` None a missing end is not shown.
    Source: Food Code 2022 3-501.19. That food may not return to temperature control is from
    memory, and the stricter reading.
    """
    trusted = [reading for reading in readings if not reading.doubted_since]
    doubted = [reading for reading in readings if reading.doubted_since]
    every, sure = (
        _judge(readings, warmth, limit, ended, gone, returned, as_of)
        for warmth in (readings, trusted)
    )
    return without_doubt(every, sure, doubted)


def _judge(
    readings: Sequence[Reading],
    warmth: Sequence[Reading],
    limit: Limit,
    ended: datetime | None,
    gone: datetime | None,
    returned: Reading | None,
    as_of: datetime | None,
) -> Finding:
    """Judge by all readings when the food was there, and by those of `warmth` how warm it was."""
    assert limit.within is not None  # the limit is first of all a time
    removed = readings[0].at
    due = removed + limit.within
    there = ended or as_of or max(one.at for one in (readings[-1], returned) if one)
    faults = [*_too_warm(warmth, removed, limit)]
    if returned:
        faults.append(_Told(Verdict.NOT_MET, Reason.RETURNED, returned.at, (returned,)))
    if (max(gone, readings[-1].at) if gone else there) > due:
        faults.append(_Told(Verdict.NOT_MET, Reason.TOO_LATE, due))
    elif there > due:
        faults.append(_Told(Verdict.NOT_SHOWN, Reason.NOT_REACHED_ON_RECORD, due))
    told = min(
        faults,
        key=lambda fault: fault.since or due,
        default=_faultless(warmth, removed, limit, ended, as_of),
    )
    return Finding(
        step=Step.TIME_CONTROL,
        limit=limit,
        verdict=told.verdict,
        reason=told.reason,
        readings=told.readings or tuple(readings),
        start=Bounds(removed, removed),
        crossing=Bounds(there, ended),
        shortest=there - removed,
        longest=ended - removed if ended else None,
        due=due,
        since=told.since,
    )


def _too_warm(warmth: Sequence[Reading], removed: datetime, limit: Limit) -> Iterator[_Told]:
    for reading in warmth:
        if reading.at == removed:
            if not limit.kept_by(reading.temperature, limit.start):
                yield _Told(Verdict.NOT_MET, Reason.WRONG_START, removed, (reading,))
        elif limit.start and not limit.kept_by(reading.temperature):
            yield _Told(Verdict.NOT_MET, Reason.TOO_WARM_IN_TIME, reading.at, (reading,))


def _faultless(
    warmth: Sequence[Reading],
    removed: datetime,
    limit: Limit,
    ended: datetime | None,
    as_of: datetime | None,
) -> _Told:
    """Say what is shown of food on which no fault is on record."""
    assert limit.within is not None  # as above
    if ended is None and as_of is None:
        return _Told(Verdict.NOT_SHOWN, Reason.NOT_REACHED_ON_RECORD, since=removed + limit.within)
    if ended is None:
        return _Told(Verdict.OPEN, Reason.TIME_LEFT)
    started = bool(warmth) and warmth[0].at == removed
    watched = limit.start is None or (started and ended - warmth[-1].at < _AT_THE_END)
    if started and watched:
        return _Told(Verdict.MET, Reason.IN_TIME)
    return _Told(Verdict.NOT_SHOWN, Reason.NOT_WATCHED, since=ended)
