"""A batch, judged: the account of each way back that its food has, and what doubt leaves of it."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from haccp.limits.limit import LimitSet
from haccp.rules.account.account import Account
from haccp.rules.account.fold import close, fold
from haccp.rules.account.levels import Levels
from haccp.rules.account.life import Facts, Handed, Life, Phase, ends
from haccp.rules.account.table import State
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

# What a finding that rests on looks alone is told by: a doubted look is a look, that shows nothing.
_OF_LOOKS = (
    Reason.IN_LIMITS,
    Reason.OUT_OF_LIMITS,
    Reason.THERMOMETER_IN_DOUBT,
    Reason.MISSED_CHECK,
    Reason.NOT_READ,
)
_WORST = list(Verdict)


@dataclass(frozen=True, slots=True)
class Judged:
    """What is found about a batch, its phases by each way back, and what it hands on."""

    findings: tuple[Finding, ...]
    phases: tuple[tuple[Phase, ...], ...]


def judge(life: Life, limits: LimitSet, as_of: datetime | None) -> Judged:
    """Judge a batch's whole life as of a moment; None means after everything.

    What was put together is judged by each of its parts: two pots in one are no better than the
    worse. Source: DEVELOPERS.md, the account.
    """
    levels = Levels(limits, life.kind, life.received_as, life.oven)
    found: dict[object, Finding] = {}
    phases = []
    for every, trusted in _accounts(life, levels, as_of):
        close(every)
        findings = every.findings
        if trusted is not None:
            close(trusted)
            findings = list(weigh(every.findings, trusted.findings))
        phases.append(tuple(every.phases))
        for one in findings:
            key = (one.limit.name, one.limit.kind, one.step, one.readings, one.start)
            known = found.setdefault(key, one)
            if _WORST.index(one.verdict) < _WORST.index(known.verdict):
                found[key] = one
    return Judged(tuple(sorted(found.values(), key=_when)), tuple(phases))


def hand_on(life: Life, limits: LimitSet, at: datetime) -> tuple[Handed, ...]:
    """Give what a batch hands on to what is made of it, or divided from it, at a moment."""
    levels = Levels(limits, life.kind, life.received_as, life.oven)
    left = replace(life, evidence=tuple(one for one in life.evidence if not ends(one.what)))
    handed: dict[object, Handed] = {}
    for every, trusted in _accounts(left, levels, at):
        facts = every.facts
        sure = facts if trusted is None else trusted.facts
        close(every)
        bad = tuple(one for one in every.findings if one.verdict.is_deviation)
        handed.setdefault((facts, sure), Handed(facts, sure, bad))
    return tuple(handed.values())


def _accounts(
    life: Life, levels: Levels, as_of: datetime | None
) -> Iterator[tuple[Account, Account | None]]:
    """Fold each way back: by all evidence, and where any is in doubt by what is trusted alone."""
    trusted = tuple(one for one in life.evidence if not (one.reading and one.reading.doubted_since))
    for way in life.handed_on or (_beginning(life, levels),):
        doubted = len(trusted) < len(life.evidence) or way.every != way.trusted
        sure = replace(life, evidence=trusted)
        yield (
            fold(life, levels, way.every, as_of),
            fold(sure, levels, way.trusted, as_of) if doubted else None,
        )


def _beginning(life: Life, levels: Levels) -> Handed:
    """Say what is true of food that is made of nothing on record.

    A file of readings claims nothing of what came before its first line: animal food whose first
    step there is a later one is not taken to be raw.
    """
    first = min(life.evidence, key=lambda one: one.at, default=None)
    fresh = first is None or first.what in (Step.RECEIVE, Step.PREPARE, Step.COOK)
    facts = Facts(
        raw=life.animal and (life.opened is not None or fresh),
        packaged=life.kind == "commercial package",
        shell=life.received_as == "egg",
    )
    if life.prepared is not None:  # 3-501.14(B)
        since = min(life.prepared, first.at) if first else life.prepared
        facts = replace(facts, state=State.COOLING, cooling=True, alone=levels.ambient, fixed=since)
    return Handed(facts, facts)


def weigh(every: Sequence[Finding], trusted: Sequence[Finding]) -> Iterator[Finding]:
    """The one place of doubt: a thermometer that failed its check proves nothing, yet may warn.

    "Met" needs the trusted readings alone, and all of them together; "not met" the trusted alone.
    Of time as a control `timed` knows: its clock runs from a look, whatever that showed.
    """
    timed = [one for one in every if one.step is Step.TIME_CONTROL]
    yield from timed
    rest = (one for one in (*every, *trusted) if one.step is not Step.TIME_CONTROL)
    names = dict.fromkeys(one.limit.name for one in rest)
    for name in names:
        mine = [[one for one in found if one.limit.name == name] for found in (every, trusted)]
        looks, sure_looks = ([f for f in found if f.reason in _OF_LOOKS] for found in mine)
        yield from looks
        told = [one.readings for one in looks]
        broken = [one for one in sure_looks if one.verdict is Verdict.NOT_MET]
        yield from (one for one in broken if one.readings not in told)
        judged, sure = ([f for f in found if f.reason not in _OF_LOOKS] for found in mine)
        if len(judged) == len(sure):
            pairs = zip(judged, sure, strict=True)
            yield from (_weighed(one, other) for one, other in pairs)
        else:
            yield from _unpaired(judged, sure)


def _weighed(every: Finding, sure: Finding) -> Finding:
    """Weigh a finding by all evidence against that by what is trusted: too cool without the doubted
    readings is not disproved, for with them it may not have been.
    """
    if sure.reason is Reason.TOO_COOL and every.verdict is not Verdict.NOT_MET:
        sure = unproved(sure)
    doubted = _doubted([every])
    if not doubted and every.verdict.is_deviation and not sure.verdict.is_deviation:
        return unproved(every)  # what is in doubt decides what the food went through
    return without_doubt(every, sure, doubted)


def _unpaired(every: Sequence[Finding], sure: Sequence[Finding]) -> Iterator[Finding]:
    """Where doubt decides what the food went through, nothing but what is sure to be bad stands."""
    doubted = _doubted(every) or _doubted(sure)
    for one in sure or every:
        if one.verdict.is_deviation and (sure or one.verdict is Verdict.NOT_SHOWN):
            yield one
        else:
            yield without_doubt(one, unproved(replace(one, verdict=Verdict.MET)), doubted)


def _doubted(findings: Iterable[Finding]) -> list[Reading]:
    return [one for finding in findings for one in finding.readings if one.doubted_since]


def _when(finding: Finding) -> tuple[float, int]:
    """Order findings by what they are about, in time; at one moment by their step."""
    start = finding.start or Bounds(None, None)
    moments = [one for one in (start.earliest, start.latest) if one]
    moments += [
        *(one.at for one in finding.readings[:1]),
        *([finding.since] if finding.since else []),
    ]
    return moments[0].timestamp() if moments else 0.0, list(Step).index(finding.step)
