"""What decides a deviation of a food: what became of the food, and nothing else.

It is discarded, sent back, put to another use, released by a manager (only what is not shown), or
was brought back in time. What somebody writes that was done is a note beside it.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from haccp.rules.account.steps import TRAITS
from haccp.rules.evidence import Finding, Reading, Reason, Step, Verdict
from haccp.rules.remedies import SAVED_WITHIN

_HOLDINGS = ("hot-holding", "cold-holding", "egg-holding")


@dataclass(frozen=True, slots=True)
class BroughtBack:
    """The reading that shows that a food was saved in time; of what was done to it there may have
    to be an entry beside (`needs_action`).
    """

    reading: Reading
    needs_action: bool


def may_release(finding: Finding) -> bool:
    """Whether a manager may let it pass: what is disproved no reason mends."""
    return finding.verdict is Verdict.NOT_SHOWN


def brought_back(
    finding: Finding, found: Iterable[Finding], taken: Sequence[Reading]
) -> BroughtBack | None:
    """Find what shows that a deviating food was brought back in time; `taken` are its readings.

    Held food that was out of limits for 2 hours at most, from its last good reading on: hot food by
    a reheat that is met, cold food by a good reading (`remedies`, from memory). Where a unit alone
    was read out of limits, the food's own good reading within that time shows that it was not
    warmed or cooled by it (strict reading of 3-501.16(A): common practice, no source). Food that
    was not heated enough by going on with it: another heating that is met within that time.
    """
    if finding.limit.name in _HOLDINGS and finding.reason is Reason.OUT_OF_LIMITS:
        return None if finding.of else _held_again(finding, found, taken)
    if TRAITS[finding.step].heats and finding.reason in _TOO_LITTLE:
        last = finding.readings[-1].at if finding.readings else finding.since
        until = last + SAVED_WITHIN if last else None
        again = _heated(found, last, until, (finding.step,))
        return BroughtBack(again, needs_action=False) if again else None
    return None


_TOO_LITTLE = (Reason.TOO_COOL, Reason.HOLD_NOT_SHOWN, Reason.NOT_HEATED)


def _held_again(
    finding: Finding, found: Iterable[Finding], taken: Sequence[Reading]
) -> BroughtBack | None:
    first, own = finding.readings[0].at, {one.ref for one in taken}
    began = finding.start.earliest if finding.start else None
    if began and finding.limit.name == "hot-holding":
        again = _heated(found, first, began + SAVED_WITHIN, (Step.REHEAT,))
        if again:
            return BroughtBack(again, needs_action=False)
    good = [
        one
        for one in taken
        if first < one.at <= first + SAVED_WITHIN and finding.limit.kept_by(one.temperature)
    ]
    if good and not any(one.ref in own for one in finding.readings):
        return BroughtBack(good[0], needs_action=True)
    short = finding.longest is not None and finding.longest <= SAVED_WITHIN
    if short and finding.limit.name != "hot-holding":
        return BroughtBack(finding.readings[-1], needs_action=True)
    return None


def _heated(
    found: Iterable[Finding],
    since: datetime | None,
    until: datetime | None,
    steps: tuple[Step, ...],
) -> Reading | None:
    """Find the reading by which a heating was met in (since, until]."""
    for one in found:
        met = one.step in steps and one.verdict is Verdict.MET and one.reason is Reason.REACHED
        at = one.crossing.latest if met and one.crossing else None
        if at and (since is None or at > since) and (until is None or at <= until):
            return next(reading for reading in one.readings if reading.at == at)
    return None
