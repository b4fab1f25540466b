"""Reaching a temperature: cooking 3-401.11 and reheating 3-403.11."""

from bisect import bisect_right
from collections.abc import Sequence
from datetime import datetime, timedelta
from fractions import Fraction
from functools import partial
from itertools import groupby

from haccp.limits.limit import Limit, Row
from haccp.rules.evidence import (
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


def judge_reaching(
    step: Step,
    readings: Sequence[Reading],
    limit: Limit,
    *,
    before: Reading | None = None,
    after: Reading | None = None,
    over: bool,
    as_of: datetime | None,
    left: datetime | None = None,
    discarded: datetime | None = None,
    seen_from: Level | None = None,
) -> Finding:
    """Judge whether a cook or reheat step reached its temperature for its time.

    Where several readings share one moment the coolest counts.

    `readings` are those of the step, sorted; `before` and `after` the batch's readings next to
    them; `over` says that the food has gone on to something else, `left` when, `discarded` when it
    was thrown away in this step. A reheat began at its first reading, but not where the food had
    risen past `seen_from` unseen by then. A heating food is taken not to fall until it is hot, as a
    cooling one is taken not to rise.
    Source: Food Code 2022 3-401.11 and 3-403.11; DEVELOPERS.md, verdict rules.
    """
    judge = partial(_judge, step, limit=limit, before=before, after=after, over=over, as_of=as_of)
    judge = partial(judge, left=left)
    judge = partial(judge, discarded=discarded, seen_from=seen_from)
    every = judge(readings)
    doubted = [reading for reading in readings if reading.doubted_since]
    if not doubted:
        return every
    trusted = [reading for reading in readings if not reading.doubted_since]
    if not trusted:
        return without_doubt(every, unproved(every), doubted)
    finding = judge(trusted)
    if every.verdict is not Verdict.NOT_MET:
        # without the doubted ones the food looks too cool, with them it may not have been
        finding = unproved(finding) if finding.verdict is Verdict.NOT_MET else finding
    return without_doubt(every, finding, doubted)


def _judge(
    step: Step,
    readings: Sequence[Reading],
    limit: Limit,
    before: Reading | None,
    after: Reading | None,
    *,
    over: bool,
    as_of: datetime | None,
    left: datetime | None,
    discarded: datetime | None,
    seen_from: Level | None,
) -> Finding:
    readings = _coolest(readings, limit)
    around = [one for one in (before, after) if one]
    until = min((moment for moment in (as_of, left) if moment), default=None)
    rows = [(row, row_reached(readings, row, limit, around, until)) for row in limit.rows]
    hot = [(row, reading) for row, reading in rows if reading]
    row, reached = min(hot, key=lambda pair: pair[1].at, default=(None, None))
    last_cool = _last_cool(readings, limit)
    start = _start(readings, limit, before, seen_from)
    due = start.earliest + limit.within if start.earliest and limit.within else None
    shortest = last_cool.at - start.latest if last_cool and start.latest else timedelta(0)
    longest = reached.at - start.earliest if reached and start.earliest else None
    gone = over or as_of is None
    too_late = limit.within is not None and shortest >= limit.within
    in_time = limit.within is None or (longest is not None and longest <= limit.within)
    if too_late:
        verdict, reason = Verdict.NOT_MET, Reason.TOO_LATE
    elif reached and in_time:
        verdict, reason = Verdict.MET, Reason.REACHED
    elif reached:
        verdict = Verdict.NOT_SHOWN
        reason = Reason.CROSSING_UNCERTAIN if start.earliest else Reason.NO_START
    elif discarded and (due is None or discarded <= due):
        verdict, reason = Verdict.STOPPED, Reason.FOOD_LEFT_THE_STEP
    elif gone and last_cool is readings[-1]:
        verdict, reason = Verdict.NOT_MET, Reason.TOO_COOL
    elif gone or (due and as_of and as_of > due):
        verdict, reason = Verdict.NOT_SHOWN, Reason.HOLD_NOT_SHOWN
    else:
        verdict, reason = Verdict.OPEN, Reason.TIME_LEFT
    return Finding(
        step=step,
        limit=limit,
        verdict=verdict,
        reason=reason,
        readings=tuple(readings),
        start=start if limit.within else None,
        crossing=Bounds(last_cool.at if last_cool else None, reached.at if reached else None),
        shortest=shortest if limit.within else None,
        longest=longest if limit.within else None,
        due=due,
        since=_known(readings, due, too_late=too_late, over=over, verdict=verdict),
        row=row if len(limit.rows) > 1 else None,
    )


def judge_initial_heating(
    readings: Sequence[Reading],
    limit: Limit,
    following: datetime | None,
    as_of: datetime | None,
) -> Finding:
    """Judge how long the initial heating of non-continuous cooking took.

    It began with the first of `readings` and may have gone on until `following`, the moment of
    what came next. Source: Food Code 2022 3-401.14(A).
    """
    assert limit.within is not None  # the limit is nothing but a time
    began = readings[0].at
    shortest = readings[-1].at - began
    longest = following - began if following else None
    due = began + limit.within
    if not limit.allows(shortest):
        verdict = Verdict.NOT_MET
    elif longest is not None and limit.allows(longest):
        verdict = Verdict.MET
    elif longest is not None or as_of is None or as_of > due:
        verdict = Verdict.NOT_SHOWN
    else:
        verdict = Verdict.OPEN
    return Finding(
        step=Step.COOK,
        limit=limit,
        verdict=verdict,
        reason=Reason.HEATED_FOR,
        readings=tuple(readings),
        start=Bounds(began, began),
        crossing=Bounds(readings[-1].at, following),
        shortest=shortest,
        longest=longest,
        due=due,
        since=due if verdict.is_deviation else None,
    )


def row_reached(
    readings: Sequence[Reading],
    row: Row,
    limit: Limit,
    around: Sequence[Reading] = (),
    as_of: datetime | None = None,
) -> Reading | None:
    """Find the first reading from which on a row's temperature was held for its time.

    The hold is shown by the reading's own or by readings that far apart, none below between them.
    A hold of its own counts where it can have been, before its reading or after it: no colder
    reading in it, of these or of those `around` them, and not later than `as_of`. Where food is to
    stand covered instead, it has to be that hot once, and what was held is how long it stood; what
    it cools to meanwhile is no matter (3-401.12, 3-403.11(B)).
    """

    def is_hot(reading: Reading) -> bool:
        return limit.kept_by(reading.temperature, row.level)

    if limit.stand:
        stood = (one for one in readings if is_hot(one) and _stood(one, readings[-1], limit.stand))
        return next(stood, None)
    cold = sorted(reading.at for reading in (*readings, *around) if not is_hot(reading))

    def is_cold_between(begins: datetime, ends: datetime) -> bool:
        following = bisect_right(cold, begins)
        return following < len(cold) and cold[following] < ends

    def was_held(reading: Reading) -> bool:
        began, ended = reading.at - row.hold, reading.at + row.hold
        before = not is_cold_between(began, reading.at)
        after = not is_cold_between(reading.at, ended)
        return reading.held >= row.hold and (before or (after and (not as_of or ended <= as_of)))

    for hot, group in groupby(readings, key=is_hot):
        run = list(group)
        if hot and run[-1].at - run[0].at >= row.hold:
            return run[0]
        held = next((reading for reading in run if hot and was_held(reading)), None)
        if held:
            return held
    return None


def _stood(hot: Reading, last: Reading, stand: timedelta) -> bool:
    return hot.held >= stand or last.at - hot.at >= stand


def _coolest(readings: Sequence[Reading], limit: Limit) -> list[Reading]:
    """Keep one reading a moment, the coolest; of equal ones the one that was held longest.

    Read in both degrees, one that keeps fewer of the limit's rows, each by the number that is
    printed for its own degree, counts as cooler, whatever the conversion says.
    """

    def warmth(reading: Reading) -> tuple[int, Fraction, timedelta]:
        kept = sum(limit.kept_by(reading.temperature, row.level) for row in limit.rows)
        return kept, reading.temperature.fahrenheit, -reading.held

    moments = (list(group) for _, group in groupby(readings, key=lambda reading: reading.at))
    return [min(group, key=warmth) if len(group) > 1 else group[0] for group in moments]


def _known(
    readings: Sequence[Reading],
    due: datetime | None,
    *,
    too_late: bool,
    over: bool,
    verdict: Verdict,
) -> datetime | None:
    """Say from when on a deviation could be known: as the food went on, or as its time was up."""
    if not verdict.is_deviation:
        return None
    last = readings[-1].at
    if due is None or (over and not too_late):
        return last
    return due


def _start(
    readings: Sequence[Reading], limit: Limit, before: Reading | None, seen_from: Level | None
) -> Bounds:
    """Bound when a reheat began: at its first reading, unless food had been heated unseen by then.

    A first reading that is hot already, or above `seen_from` where the one before was not (or is in
    doubt), does not say how long the food took to get there; then only that one bounds the time.
    """
    first = readings[0]
    warmed = (
        before is not None
        and seen_from is not None
        and first.temperature.over(seen_from) > 0
        and (before.doubted_since is not None or before.temperature.over(seen_from) <= 0)
    )
    if not limit.kept_by(first.temperature) and not warmed:
        return Bounds(first.at, first.at)
    return Bounds(before.at if before else None, first.at)


def _last_cool(readings: Sequence[Reading], limit: Limit) -> Reading | None:
    """Find the last reading before the food was first seen hot: until then it was not done."""
    count = next(
        (i for i, one in enumerate(readings) if limit.kept_by(one.temperature)), len(readings)
    )
    return readings[count - 1] if count else None
