"""What a food must do next and when to measure again: from its findings, no more than they say."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from haccp.rules.evidence import Finding, Reading, Reason, Step, Verdict


@dataclass(frozen=True, slots=True)
class Advice:
    """`goals` are the open findings, nearest deadline first; `measure_by` the latest next look."""

    goals: tuple[Finding, ...]
    measure_by: datetime | None


def advise(findings: Sequence[Finding], last: Reading, every: timedelta) -> Advice:
    """Advise after a reading: measure again within the kitchen's interval and by each deadline."""
    goals = [finding for finding in findings if finding.verdict is Verdict.OPEN]
    goals.sort(key=lambda finding: (finding.due is None, finding.due or last.at))
    dues = [finding.due for finding in goals if finding.due and finding.due > last.at]
    held = last.step in (Step.COOK, Step.HOT_HOLD, Step.COLD_HOLD, Step.REHEAT)
    # where time alone is the control nothing is to be measured, unless there is a ceiling
    watched = [
        one
        for one in goals
        if one.reason is not Reason.LAST_DAY
        and (one.step is not Step.TIME_CONTROL or one.limit.start)
    ]
    measure_by = min([last.at + every, *dues]) if watched or held else None
    return Advice(tuple(goals), measure_by)
