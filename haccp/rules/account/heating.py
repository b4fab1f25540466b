"""Reaching a temperature: cooking 3-401.11 to .14, reheating 3-403.11.

3-401.11(A) "heat all parts of the food to a temperature and for a time that complies with one of
the following methods". 3-403.11(A) "reheated so that all parts of the food reach at least 165 °F
for 15 seconds"; (D) "rapidly and the time the food is between 41 °F and the temperatures specified
... may not exceed 2 hours". Stricter: a hold must be shown, and so must when a reheat began.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from fractions import Fraction
from itertools import groupby

from haccp.limits.limit import Limit, Row
from haccp.rules.account.life import MOMENT, NOTHING, Span, decide
from haccp.rules.account.steps import TRAITS
from haccp.rules.evidence import Bounds, Finding, Reading, Reason, Step, Verdict


@dataclass(frozen=True, slots=True)
class Reached:
    """Which row of a limit was met, and by which reading."""

    row: Row
    reading: Reading


@dataclass(frozen=True, slots=True)
class Around:
    """What bounds a hold that was typed: all readings of the food, its beginning, and the latest
    moment that the record speaks of.
    """

    readings: Sequence[Reading] = ()
    since: datetime | None = None
    until: datetime | None = None


def reached(run: Sequence[Reading], limit: Limit, around: Around) -> Reached | None:
    """Find the earliest reading from which on one row's temperature was held for its time."""
    run = coolest(run, limit)
    found = [(row, _row_reached(run, row, limit, around)) for row in limit.rows]
    met = [Reached(row, reading) for row, reading in found if reading]
    return min(met, key=lambda one: one.reading.at, default=None)


def _row_reached(run: Sequence[Reading], row: Row, limit: Limit, around: Around) -> Reading | None:
    """The hold is shown by the reading's own or by two that far apart, none below between them.

    A hold of its own counts where it can have been, before its reading or after it: no colder
    reading in it, and between the batch's beginning and now. In a microwave food reaches 165 °F and
    is to "stand covered for 2 minutes" (3-401.12, 3-403.11(B)): it may cool meanwhile.
    """

    def is_hot(reading: Reading) -> bool:
        return limit.kept_by(reading.temperature, row.level)

    if limit.stand:
        stood = (one for one in run if is_hot(one) and _stood(one, run[-1], limit.stand))
        return next(stood, None)
    cold = [one.at for one in around.readings if not is_hot(one)] if row.hold else []
    left = [one.at for one in around.readings if not TRAITS[one.step].heats]

    def was_held(reading: Reading) -> bool:
        if reading.held < row.hold:
            return False
        began, ended = reading.at - row.hold, reading.at + row.hold
        after = around.until is None or ended <= around.until
        before = around.since is None or began >= around.since
        before = before and not any(began < moment < reading.at for moment in cold)
        return before or (after and not any(reading.at < moment < ended for moment in cold + left))

    for hot, group in groupby(run, key=is_hot):
        readings = list(group)
        if hot and readings[-1].at - readings[0].at >= row.hold:
            return readings[0]
        held = next((one for one in readings if hot and was_held(one)), None)
        if held:
            return held
    return None


def _stood(hot: Reading, last: Reading, stand: timedelta) -> bool:
    return hot.held >= stand or last.at - hot.at >= stand


def coolest(run: Sequence[Reading], limit: Limit) -> list[Reading]:
    """Keep one reading a moment, the coolest; of equal ones the one that was held longest.

    Read in both degrees, one that keeps fewer of the limit's rows, each by the number that is
    printed for its own degree, counts as cooler, whatever the conversion says.
    """

    def warmth(reading: Reading) -> tuple[int, Fraction, timedelta]:
        kept = sum(limit.kept_by(reading.temperature, row.level) for row in limit.rows)
        return kept, reading.temperature.fahrenheit, -reading.held

    return [min(moment, key=warmth) for _, moment in groupby(run, key=lambda one: one.at)]


def judge_reaching(
    step: Step,
    run: Sequence[Reading],
    limit: Limit,
    start: Bounds,
    met: Reached | None,
    asked: datetime | None,
    *,
    over: bool,
    discarded: bool = False,
) -> Finding:
    """Judge a cook or a reheat by one limit, as of `asked`; `over`: the food has gone on.

    `start` bounds when a reheat left 41 °F; at the first reading above it had. Not met wins over
    "too cool": a reheat that was too late stays so whatever came of it.
    """
    run = coolest(run, limit)
    cool, within = _still_cool(run, limit), limit.within
    span = _lasted(cool, start, met)
    due = start.earliest + within if start.earliest and within else None
    late = bool(within and cool and start.latest and cool.at - start.latest >= within)
    breaks = within + MOMENT if within and met and not late else within
    # it went on to something else without having been hot enough for long enough
    gone = over and not discarded and met is None
    too_cool = gone and cool is run[-1]
    ended = gone or met is not None
    allowed = NOTHING if gone else within
    verdict = decide(span, allowed, breaks, due, asked, over=ended, left=discarded)
    verdict = Verdict.NOT_MET if too_cool else verdict
    known = due if due and (late or not ended) else run[-1].at
    return Finding(
        step=step,
        limit=limit,
        verdict=verdict,
        reason=_reason(verdict, start, met, too_cool=too_cool and not late),
        readings=tuple(run),
        start=start if within else None,
        crossing=Bounds(cool.at if cool else None, met.reading.at if met else None),
        shortest=span.shortest if within else None,
        longest=span.longest if within else None,
        due=due,
        since=known if verdict.is_deviation else None,
        row=met.row if met and len(limit.rows) > 1 else None,
    )


def _lasted(cool: Reading | None, start: Bounds, met: Reached | None) -> Span:
    """Bound the time between 41 °F and the temperature (3-403.11(D)).

    It was still too cool at `cool`; and it counts from the first reading above 41 °F to the one
    that qualifies, unless the reheat is known to have begun with its first reading.
    """
    shortest, longest = NOTHING, None
    if start.latest:
        known = [cool.at] if cool else []
        if met and start.earliest != start.latest:
            known.append(met.reading.at)
        shortest = max([at - start.latest for at in known] + [NOTHING])
    # a reading from before it began proves nothing of how long it took
    if met and start.earliest and start.earliest <= met.reading.at:
        longest = met.reading.at - start.earliest
    return Span(shortest, longest)


def _still_cool(run: Sequence[Reading], limit: Limit) -> Reading | None:
    """Find the last reading before the food was first seen hot: until then it was not done."""
    last = None
    for one in run:
        if limit.kept_by(one.temperature):
            break
        last = one
    return last


def _reason(verdict: Verdict, start: Bounds, met: Reached | None, *, too_cool: bool) -> Reason:
    match verdict:
        case Verdict.MET:
            return Reason.REACHED
        case Verdict.NOT_MET:
            return Reason.TOO_COOL if too_cool else Reason.TOO_LATE
        case Verdict.OPEN:
            return Reason.TIME_LEFT
        case Verdict.STOPPED:
            return Reason.FOOD_LEFT_THE_STEP
        case Verdict.NOT_SHOWN if met is None:
            return Reason.HOLD_NOT_SHOWN
        case Verdict.NOT_SHOWN:
            return Reason.CROSSING_UNCERTAIN if start.earliest else Reason.NO_START


def judge_initial_heating(
    run: Sequence[Reading], limit: Limit, ended: datetime | None, asked: datetime | None
) -> Finding:
    """3-401.14(A): "an initial heating process that is no longer than 60 minutes in duration".

    It began with the first reading of `run` and lasted to `ended` at most: the next evidence.
    """
    assert limit.within is not None  # the limit is nothing but a time
    began = run[0].at
    span = Span(run[-1].at - began, ended - began if ended else None)
    due = began + limit.within
    within = limit.within if limit.inclusive else limit.within - MOMENT
    verdict = decide(span, within, within + MOMENT, due, asked, over=ended is not None)
    return Finding(
        step=Step.COOK,
        limit=limit,
        verdict=verdict,
        reason=Reason.HEATED_FOR,
        readings=tuple(run),
        start=Bounds(began, began),
        crossing=Bounds(run[-1].at, ended),
        shortest=span.shortest,
        longest=span.longest,
        due=due,
        since=due if verdict.is_deviation else None,
    )


def judge_oven(
    step: Step, run: Sequence[Reading], limit: Limit, rows: tuple[Limit, ...], *, over: bool
) -> Finding | None:
    """3-401.11(B)(1): "cooked in an oven that is preheated to the temperature specified for the
    roast's weight ... and held at that temperature". Told once for a roast, with its worst look.
    """
    shown = [one for one in run if one.chamber is not None]
    if not shown and not over:
        return None
    bad = [one for one in shown if one.chamber and not limit.kept_by(one.chamber)]
    verdict, reason = Verdict.MET, Reason.IN_LIMITS
    if bad:
        verdict, reason = Verdict.NOT_MET, Reason.OUT_OF_LIMITS
    elif not shown:
        verdict, reason = Verdict.NOT_SHOWN, Reason.OVEN
    told = bad or shown
    ovens = [replace(one, temperature=one.chamber or one.temperature) for one in told]
    return Finding(
        step=step,
        limit=limit,
        verdict=verdict,
        reason=reason,
        readings=tuple(replace(one, doubted_since=None) for one in ovens or run),
        shortest=told[-1].at - told[0].at if bad else None,
        since=told[0].at if bad else run[-1].at if not shown else None,
        beside=rows,
    )
