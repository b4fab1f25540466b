"""A batch that is known by its readings alone: a file, a worked example; no unit, no other food."""

from datetime import datetime

from haccp.limits.limit import LimitSet
from haccp.rules.account.judge import judge
from haccp.rules.account.life import Evidence, Life, Watch
from haccp.rules.account.steps import Event, Keeps
from haccp.rules.evidence import Batch, Finding, Reading, Step

# What is no raw animal food, though it has a cooking row of its own: 3-401.13, 3-403.11(C).
_NOT_ANIMAL = ("", "plant food", "commercial package")


def judge_batch(batch: Batch, limits: LimitSet, as_of: datetime | None) -> tuple[Finding, ...]:
    """Judge everything that a batch went through; `as_of` None means after everything."""
    return judge(life_of(batch), limits, as_of).findings


def life_of(batch: Batch) -> Life:
    evidence = [Evidence(one.at, _what(one, batch), one) for one in batch.readings]
    if batch.ended:
        end = Event.DISCARD if batch.discarded else Event.USED
        said = batch.gone if batch.gone != batch.ended else None
        evidence.append(Evidence(batch.ended, end, said=said))
    gap = batch.longest_gap
    return Life(
        evidence=tuple(evidence),
        kind=batch.kind,
        animal=batch.kind not in _NOT_ANIMAL,
        prepared=batch.prepared,
        received_as=batch.received_as,
        oven=batch.oven,
        watch=Watch(longest_gap={Keeps.HOT: gap} if gap else {}),
    )


def _what(one: Reading, batch: Batch) -> Step | Event:
    law = batch.by_law and batch.received_as in ("", "cold")
    return Event.RECEIVE_BY_LAW if law and one.step is Step.RECEIVE else one.step
