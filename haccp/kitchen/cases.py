"""The deviations of some days as an inspector counts them: a food or a unit is one case.

A unit's case takes in the foods of which nothing else is told than that they stood in it, and
equal portions of a food are one.
"""

from collections.abc import Container, Hashable, Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.cooling_estimate import coolings
from haccp.kitchen.on_record import OnRecord
from haccp.kitchen.review import Looked, Review
from haccp.kitchen.units import UnitOnRecord
from haccp.record.bodies import Discarded
from haccp.record.entries import Entry
from haccp.rules.evidence import Finding, Reason, Step, Verdict

# What a unit tells of the foods in it.
_OF_UNITS = (Reason.OUT_OF_LIMITS, Reason.MISSED_CHECK, Reason.THERMOMETER_IN_DOUBT)
# So many runs out of limits of one unit or food are told one by one.
_MOST = 6
_EARLY = datetime.min.replace(tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Case:
    """What deviated of one food or unit, or of several that are told as one: the worst first."""

    looked: tuple[Looked, ...]

    @property
    def subjects(self) -> tuple[OnRecord, ...]:
        return tuple({one.subject.name: one.subject for one in self.looked}.values())

    @property
    def batches(self) -> tuple[BatchOnRecord, ...]:
        return tuple(one for one in self.subjects if isinstance(one, BatchOnRecord))

    @property
    def units(self) -> tuple[UnitOnRecord, ...]:
        return tuple(one for one in self.subjects if isinstance(one, UnitOnRecord))

    @property
    def undecided(self) -> tuple[OnRecord, ...]:
        """The foods and units of which something stands undecided."""
        left = {one.subject.name: one.subject for one in self.looked if one.is_undecided}
        return tuple(left.values())

    @property
    def verdict(self) -> Verdict:
        return self.looked[0].finding.verdict

    @property
    def since(self) -> datetime:
        return min(one.finding.since or _EARLY for one in self.looked)

    @property
    def first(self) -> tuple[Looked, ...]:
        """What is found of the one that stands for all."""
        return tuple(one for one in self.looked if one.subject is self.looked[0].subject)

    @property
    def answers(self) -> list[Entry]:
        """All that was done about it, in order."""
        every = {entry.seq: entry for one in self.looked for entry in one.answers}
        return sorted(every.values(), key=lambda entry: (entry.at, entry.seq))


def cases(review: Review) -> list[Case]:
    """Put deviations into cases: what is undecided first, then what is worst, then the oldest."""
    of_units: dict[Hashable, list[Looked]] = {}
    of_batches: dict[Hashable, list[Looked]] = {}
    for one in review.deviations:
        if isinstance(one.subject, UnitOnRecord):
            of_units.setdefault((one.subject.name, one.finding.reason), []).append(one)
        else:
            of_batches.setdefault(one.subject.name, []).append(one)
    alone = [looked for looked in of_batches.values() if not _joins(looked, of_units.values())]
    portions: dict[Hashable, list[Looked]] = {}
    for looked in alone:
        portions.setdefault(_likeness(looked), []).extend(looked)
    found = [Case(_worst_first(one)) for one in (*of_units.values(), *portions.values())]
    order = list(Verdict)
    return sorted(found, key=lambda one: (not one.undecided, order.index(one.verdict), one.since))


def _joins(looked: Sequence[Looked], units: Iterable[list[Looked]]) -> bool:
    """Put a batch's deviations to those of its unit that say the same; False if one has none."""
    homes = [_home(one, units) for one in looked]
    if not all(homes):
        return False
    for one, home in zip(looked, homes, strict=True):
        if home is not None:
            home.append(one)
    return True


def parted(findings: Sequence[Finding]) -> tuple[list[Finding], list[Finding]]:
    """Part off the shorter runs out of limits where there are many: a logger may show a hundred in
    a week, of which the longest are told one by one.
    """
    runs = [one for one in findings if one.reason is Reason.OUT_OF_LIMITS]
    known = [(one.longest, one) for one in runs if one.longest is not None and one.since]
    longest = {id(one) for _, one in sorted(known, key=lambda pair: pair[0], reverse=True)[:_MOST]}
    others = {id(one) for _, one in known} - longest
    return (
        [one for one in findings if id(one) not in others],
        [one for one in runs if id(one) in others],
    )


def told_by_units(review: Review, names: Container[str]) -> list[Looked]:
    """Give the deviations of foods that rest on the checks of some units, or on their want."""
    units = [one for one in review.deviations if one.subject.name in names]
    foods = (one for one in review.deviations if isinstance(one.subject, BatchOnRecord))
    return [one for one in foods if _home(one, [units])]


def _home(one: Looked, units: Iterable[list[Looked]]) -> list[Looked] | None:
    if one.finding.reason not in _OF_UNITS or one.finding.of:
        return None
    for found in units:
        theirs = [each.finding for each in found if isinstance(each.subject, UnitOnRecord)]
        if any(_is_same(one.finding, finding) for finding in theirs):
            return found
    return None


def _is_same(mine: Finding, theirs: Finding) -> bool:
    """Whether a batch's deviation rests on the unit's checks, or on their want."""
    if mine.reason is not theirs.reason or mine.verdict is not theirs.verdict:
        return False
    if mine.gap and theirs.gap:
        return mine.gap == theirs.gap
    return {one.ref for one in mine.readings} <= {one.ref for one in theirs.readings}


def _likeness(looked: Sequence[Looked]) -> Hashable:
    """Say what portions of a food have in common that are told as one."""
    batch = looked[0].subject
    assert isinstance(batch, BatchOnRecord)  # units have been taken out
    if not batch.batch.portion_of:
        return batch.name
    found = tuple(
        (one.finding.limit.name, one.finding.verdict, one.finding.reason, one.finding.of)
        for one in looked
    )
    decided = tuple(entry.body.kind for one in looked for entry in one.answers)
    return batch.batch.food, batch.batch.portion_of, batch.fate, found, decided


def _worst_first(looked: Iterable[Looked]) -> tuple[Looked, ...]:
    """A unit comes before the foods in it: its bounds are the wider ones."""
    order = list(Verdict)
    return tuple(
        sorted(
            looked,
            key=lambda one: (
                isinstance(one.subject, BatchOnRecord),
                order.index(one.finding.verdict),
                -(one.finding.longest or one.finding.shortest or _NONE),
                one.finding.since or _EARLY,
            ),
        )
    )


_NONE = _EARLY - _EARLY


@dataclass(frozen=True, slots=True)
class Caught:
    """A cooling that was too slow, seen and ended in time: reheated for good, or thrown away."""

    batch: BatchOnRecord
    cooling: tuple[Finding, ...]
    until: datetime


def caught_in_time(batch: BatchOnRecord, findings: Sequence[Finding]) -> list[Caught]:
    """Find the coolings that were ended while there was time, and not by being served."""
    found = []
    for cooling in coolings(findings):
        verdicts = {one.verdict for one in cooling}
        under_way = [one for one in cooling[0].readings if one.step is Step.COOL]
        last = cooling[0].readings[-1].at
        if Verdict.STOPPED in verdicts and verdicts <= {Verdict.STOPPED, Verdict.MET} and under_way:
            reheated = _reheated_after(last, findings)
            end = batch.end
            thrown_away = end.at if end and isinstance(end.body, Discarded) else None
            until = reheated or thrown_away
            if until:
                found.append(Caught(batch, cooling, until))
    return found


def _reheated_after(moment: datetime, findings: Iterable[Finding]) -> datetime | None:
    """Give when the first reheat after a moment was met."""
    reached = (
        one.crossing.latest
        for one in findings
        if one.step is Step.REHEAT and one.verdict is Verdict.MET and one.crossing
    )
    return min((at for at in reached if at and at > moment), default=None)
