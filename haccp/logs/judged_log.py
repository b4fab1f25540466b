"""Judges a file of readings batch by batch, by the readings alone."""

from collections.abc import Iterator, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import replace
from datetime import datetime
from itertools import pairwise

from haccp.errors import Refused
from haccp.language import phrase
from haccp.limits import LimitSet
from haccp.logs.csv_log import LogFile, LogLine
from haccp.rules.account.readings_alone import judge_batch
from haccp.rules.evidence import Batch, Finding, Reason, Verdict

# How often one batch at most goes from one step to another: a pot that is reheated, held and cooled
# every day for half a year. Each heating is looked at beside all readings of its food.
_STEPS = 1_000


def judge_log(
    log: LogFile, limit_set: LimitSet, as_of: datetime | None
) -> Iterator[tuple[str, tuple[Finding, ...]]]:
    """Judge batch by batch; one with a rejected line is never called met."""
    broken = {rejected.batch for rejected in log.rejected}
    batches: dict[str, list[LogLine]] = {}
    for row in log.rows:
        batches.setdefault(row.batch, []).append(row)
    kinds = set(limit_set.kinds)
    for name, rows in batches.items():
        if (
            sum(one.reading.step is not other.reading.step for one, other in pairwise(rows))
            > _STEPS
        ):
            raise Refused(
                phrase(
                    "{name} goes from one step to another more than {most} times, so it is no one "
                    "batch: give each batch a name of its own.",
                    name=name,
                    most=f"{_STEPS:,}",
                )
            )
        batch = Batch(
            readings=tuple(row.reading for row in rows),
            kind=_kind(rows, kinds),
            prepared=min((row.prepared for row in rows if row.prepared), default=None),
        )
        findings = judge_batch(batch, limit_set, as_of)
        if name in broken or None in broken:
            findings = tuple(_not_whole(finding) for finding in findings)
        yield name, findings


def _kind(rows: Sequence[LogLine], kinds: AbstractSet[str]) -> str:
    """Take the kind of food that every row names, if known; else the strictest limit."""
    foods = {row.food.casefold() for row in rows}
    return foods.pop() if len(foods) == 1 and foods <= kinds else ""


def _not_whole(finding: Finding) -> Finding:
    if finding.verdict is not Verdict.MET:
        return finding
    return replace(finding, verdict=Verdict.NOT_SHOWN, reason=Reason.LINES_REJECTED)
