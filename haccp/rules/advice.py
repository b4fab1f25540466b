"""What a food must do next and when to measure again: from its findings, no more than they say."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from haccp.rules.evidence import WHOLE_ROAST, Finding, Reading, Reason, Step, Verdict


@dataclass(frozen=True, slots=True)
class Advice:
    """`goals` are the open findings, nearest deadline first; `measure_by` the latest next look."""

    goals: tuple[Finding, ...]
    measure_by: datetime | None


def advise(
    findings: Sequence[Finding], last: Reading, every: timedelta, next_look: datetime | None
) -> Advice:
    """Advise after a reading: measure again within the kitchen's interval and by each deadline.

    `next_look` is when what is held is to be checked next.
    """
    goals = [finding for finding in findings if finding.verdict is Verdict.OPEN]
    goals.sort(key=lambda finding: (finding.due is None, finding.due or last.at))
    dues = [finding.due for finding in goals if finding.due and finding.due > last.at]
    watched = any(map(asks_a_look, goals))
    looks = [*dues, *([last.at + every] if watched else []), *([next_look] if next_look else [])]
    return Advice(tuple(goals), min(looks, default=None))


def asks_a_look(goal: Finding) -> bool:
    """Whether something is to be measured within the kitchen's interval for an open finding.

    Where time alone is the control nothing is, unless there is a ceiling; a whole roast is on the
    heat all night.
    """
    return (
        goal.reason is not Reason.LAST_DAY
        and (goal.step is not Step.TIME_CONTROL or goal.limit.start is not None)
        and not (goal.step is Step.COOK and goal.limit.kind == WHOLE_ROAST)
    )
