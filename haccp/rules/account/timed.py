"""Time as a public health control, 3-501.19: its clock starts at the removal and never stops.

(B)(1) "the food shall have an initial temperature of 41 °F or less when removed from cold holding
temperature control, or 135 °F or greater when removed from hot holding", (B)(4) "served ... or
discarded, within 4 hours"; (C) 41 °F at the start, 70 °F at most, 6 hours. Stricter: a ceiling is
kept only if the last reading was taken as the last food went; that food may not return to
temperature control is from memory.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from haccp.limits.limit import Limit
from haccp.rules.account.life import MOMENT, Span, decide
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Timed:
    """Food that is kept by time alone.

    `readings` are those while it was, the first states the removal. `ended` is when nothing was
    left, `said` that moment as it was said where it was entered too late to be relied on.
    `returned` is a reading of the food held, cooled or heated again. `cooling` is set where it was
    taken out of an open cooling, which no word ends, to what was read of that here.
    """

    readings: tuple[Reading, ...]
    ended: datetime | None = None
    said: datetime | None = None
    returned: Reading | None = None
    cooling: tuple[Reading, ...] | None = None


def judge_timed(timed: Timed, limit: Limit, as_of: datetime | None) -> Finding:
    """Judge food from its removal on; of several faults the first in time is told.

    The clock runs from a look whatever it showed: a reading in doubt shows when the food was
    there, and how warm it was it does not show.
    """
    every = _judge(timed, timed.readings, limit, as_of)
    sure = replace(timed, cooling=timed.cooling and (_trusted(timed.cooling) or None))
    doubted = [one for one in (*(timed.cooling or ()), *timed.readings) if one.doubted_since]
    return without_doubt(every, _judge(sure, _trusted(timed.readings), limit, as_of), doubted)


def _trusted(readings: Sequence[Reading]) -> tuple[Reading, ...]:
    return tuple(one for one in readings if not one.doubted_since)


def _judge(
    timed: Timed, warmth: Sequence[Reading], limit: Limit, as_of: datetime | None
) -> Finding:
    """Judge by all readings when the food was there, and by those of `warmth` how warm it was."""
    assert limit.within is not None  # the limit is first of all a time
    removed = timed.readings[0].at
    due = removed + limit.within
    seen = [timed.readings[-1].at, *([timed.returned.at] if timed.returned else [])]
    there = timed.ended or as_of or max(seen)
    span = Span(there - removed, timed.ended - removed if timed.ended else None)
    faults = [*_faults(timed, warmth, limit), *_too_late(timed, span, limit, due, as_of)]
    calm = _faultless(timed, warmth, limit)
    told = min(faults, key=lambda fault: fault.since or due, default=calm)
    return Finding(
        step=Step.TIME_CONTROL,
        limit=limit,
        verdict=told.verdict,
        reason=told.reason,
        readings=told.readings or timed.readings,
        start=Bounds(removed, removed),
        crossing=Bounds(there, timed.ended),
        shortest=span.shortest,
        longest=span.longest,
        due=due,
        since=told.since,
    )


def _faults(timed: Timed, warmth: Sequence[Reading], limit: Limit) -> Iterator[_Told]:
    first = timed.readings[0]
    if timed.cooling is not None:
        yield _Told(Verdict.NOT_MET, Reason.WRONG_START, first.at, (first,))
    for one in warmth:
        if one.at == first.at:
            if not limit.kept_by(one.temperature, limit.start):
                yield _Told(Verdict.NOT_MET, Reason.WRONG_START, one.at, (one,))
        elif limit.start and not limit.kept_by(one.temperature):
            yield _Told(Verdict.NOT_MET, Reason.TOO_WARM_IN_TIME, one.at, (one,))
    if timed.returned:
        yield _Told(Verdict.NOT_MET, Reason.RETURNED, timed.returned.at, (timed.returned,))


def _too_late(
    timed: Timed, span: Span, limit: Limit, due: datetime, as_of: datetime | None
) -> Iterator[_Told]:
    """Food is there until an entry says that it is gone; said late, it may have been in time."""
    assert limit.within is not None  # as above
    said = max(timed.said, timed.readings[-1].at) if timed.said else None
    shortest = min(span.shortest, said - timed.readings[0].at) if said else span.shortest
    verdict = decide(
        Span(shortest, span.longest), limit.within, limit.within + MOMENT, due, as_of,
        over=timed.ended is not None,
    )  # fmt: skip
    if verdict is Verdict.NOT_MET:
        yield _Told(verdict, Reason.TOO_LATE, due)
    elif verdict is Verdict.NOT_SHOWN:
        yield _Told(verdict, Reason.NOT_REACHED_ON_RECORD, due)


def _faultless(timed: Timed, warmth: Sequence[Reading], limit: Limit) -> _Told:
    """Say what is shown of food on which no fault is on record."""
    if timed.ended is None:
        return _Told(Verdict.OPEN, Reason.TIME_LEFT)
    started = bool(warmth) and warmth[0].at == timed.readings[0].at
    watched = limit.start is None or (started and timed.ended - warmth[-1].at < _AT_THE_END)
    if started and watched:
        return _Told(Verdict.MET, Reason.IN_TIME)
    return _Told(Verdict.NOT_SHOWN, Reason.NOT_WATCHED, since=timed.ended)
