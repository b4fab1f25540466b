"""Holding, 3-501.16(A): "(1) at 135 °F or above ... or (2) at 41 °F or less", and who looked.

Each reading stands for itself, whatever unit or food it was taken of; a run out of limits is one
deviation with bounds. A stretch that nobody watched, or that no state explains, is not shown.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import groupby

from haccp.limits.limit import Limit
from haccp.rules.account.life import NOTHING, Evidence, Span
from haccp.rules.account.steps import Keeps
from haccp.rules.evidence import Bounds, Finding, Reading, Reason, Step, Verdict
from haccp.rules.holding import judge_holding

_STEP = {Keeps.HOT: Step.HOT_HOLD, Keeps.COLD: Step.COLD_HOLD, Keeps.FROZEN: Step.COLD_HOLD}
_STEPS = {
    "hot-holding": Step.HOT_HOLD,
    "cold-holding": Step.COLD_HOLD,
    "egg-holding": Step.COLD_HOLD,
    "frozen-holding": Step.COLD_HOLD,
}


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
        step = _STEPS.get(limit.name, Step.RECEIVE)
        usual = {one.reading: one.usual for one in run if one.usual}
        for found in judge_holding(step, [one.reading for one in run], limit, neighbours):
            places = (usual[one] for one in found.readings if one in usual)
            yield replace(found, usual=next(places, ""))


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
