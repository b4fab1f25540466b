"""A batch, judged: the account of each way back that its food has, and what doubt leaves of it."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from haccp.limits.limit import Limit, LimitSet
from haccp.rules.account import standing
from haccp.rules.account.account import Account
from haccp.rules.account.fold import close, fold
from haccp.rules.account.holding import Filed
from haccp.rules.account.levels import EGGS, Levels
from haccp.rules.account.life import Facts, Handed, Life, Phase, Stay, ends
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
class Way:
    """How one way back of a batch's food went: its phases, what it hands on, and where it stood.

    `hot` is the limit that it is held hot by. `place` names the unit whose checks are evidence of
    it, empty where none are; `next_look` is when a look at it is due there, without grace, or
    None while no check of holding is.
    """

    phases: tuple[Phase, ...]
    stays: tuple[Stay, ...]
    handed: Handed
    filed: tuple[Filed, ...]
    hot: Limit
    place: str
    next_look: datetime | None


@dataclass(frozen=True, slots=True)
class Judged:
    """What is found about a batch, and each way back of its food."""

    findings: tuple[Finding, ...]
    ways: tuple[Way, ...]

    @property
    def phases(self) -> tuple[tuple[Phase, ...], ...]:
        return tuple(way.phases for way in self.ways)

    @property
    def handed(self) -> tuple[Handed, ...]:
        """Give what it hands on by each way back; ways that came to the same are one."""
        return tuple(dict.fromkeys(way.handed for way in self.ways))

    @property
    def places(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(way.place for way in self.ways if way.place))


def judge(life: Life, limits: LimitSet, as_of: datetime | None) -> Judged:
    """Judge a batch's whole life as of a moment; None means after everything.

    What was put together is judged by each of its parts: two pots in one are no better than the
    worse. Source: DEVELOPERS.md, the account.
    """
    levels = Levels(limits, life.kind, life.received_as, life.oven)
    found: dict[object, Finding] = {}
    ways = []
    for every, trusted in _accounts(life, levels, as_of):
        ways.append(_way(every, trusted))
        close(every)
        findings = every.findings
        if trusted is not None:
            close(trusted)
            findings = list(weigh(every.findings, trusted.findings))
        for one in findings:
            key = (one.limit.name, one.limit.kind, one.step, one.readings, one.start)
            known = found.setdefault(key, one)
            if _WORST.index(one.verdict) < _WORST.index(known.verdict):
                found[key] = one
    return Judged(tuple(sorted(found.values(), key=_when)), tuple(ways))


def _way(every: Account, trusted: Account | None) -> Way:
    """Say how an account stands before what is under way is judged."""
    sure = every.facts if trusted is None else trusted.facts
    return Way(
        tuple(every.phases),
        tuple(every.stays),
        Handed(every.facts, sure),
        tuple(every.filed),
        every.hot_limit(),
        every.place(),
        standing.next_look(every),
    )


def hand_on(life: Life, limits: LimitSet, at: datetime) -> Judged:
    """Judge a batch as it is when something is made of it, or divided from it, at a moment."""
    left = tuple(one for one in life.evidence if not ends(one.what))
    return judge(replace(life, evidence=left), limits, at)


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
    raw = life.animal and (life.opened is not None or fresh)
    facts = Facts(
        raw=raw,
        kind=life.kind if raw else "",
        packaged=life.kind == "commercial package",
        shell=life.received_as == "egg" and life.kind in EGGS,
    )
    if life.prepared is not None:  # 3-501.14(B)
        since = min(life.prepared, first.at) if first else life.prepared
        facts = facts.but(state=State.COOLING, cooling=True, alone=levels.ambient, fixed=since)
    return Handed(facts, facts)


def weigh(every: Sequence[Finding], trusted: Sequence[Finding]) -> Iterator[Finding]:
    """The one place of doubt: a thermometer that failed its check proves nothing, yet may warn.

    "Met" needs the trusted readings alone, and all of them together; "not met" the trusted alone.
    Of time as a control `timed` knows: its clock runs from a look, whatever that showed.
    """
    yield from (one for one in every if one.step is Step.TIME_CONTROL)
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
