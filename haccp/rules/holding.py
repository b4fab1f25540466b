"""Missed checks of a unit: gaps between its readings that are longer than allowed."""

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta

from haccp.limits.limit import Limit
from haccp.rules.evidence import Bounds, Finding, Reading, Reason, Step, Verdict


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
