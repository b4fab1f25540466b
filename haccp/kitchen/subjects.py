"""Batches and holding units: all that was entered about them, and what the rules say of it."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from itertools import zip_longest

from haccp.kitchen.readings_as_evidence import is_step, reading_of
from haccp.kitchen.register import Register
from haccp.kitchen.units import judge_unit, unit_limit, unit_step
from haccp.limits import Limit, LimitSet
from haccp.record.entries import (
    ENDS,
    LATE,
    Assessed,
    BatchOpened,
    CorrectiveAction,
    DeliveryRejected,
    Discarded,
    Entry,
    HoldingUnit,
    Measured,
    Released,
    Renamed,
    UnitEmptied,
    UsedUp,
    told_at,
)
from haccp.rules.coolings import is_hot
from haccp.rules.evidence import SERVED, Batch, Finding, Reading, Step, Verdict
from haccp.rules.judge import holding_limit, judge_batch
from haccp.rules.tcs import Result
from haccp.time import spell

_FATES = {Discarded: "discarded", DeliveryRejected: "rejected", UsedUp: "used up"}
_ANSWERS = (CorrectiveAction, Released, Discarded, DeliveryRejected)
_ONE_FOOD = (Step.COOL, Step.TIME_CONTROL)

# A weight from which the Code asks less of an oven [lb]: 3-401.11(B).
_HEAVY = Decimal(10)

# Later than any moment on record: a unit that nobody emptied.
_FAR = datetime.max.replace(tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Past:
    """One way back from a portion: since when its food is there, and what was entered about it.

    `entries` are the readings, corrective actions and assessments in force of all that it was
    taken from, one after the other, up to the moment at which it was taken from the last.
    `made_of` is the last reading of each batch that went into it when it began.
    """

    began: datetime
    entries: tuple[Entry, ...] = ()
    made_of: tuple[Entry, ...] = ()

    @property
    def readings(self) -> tuple[Entry, ...]:
        return tuple(entry for entry in self.entries if isinstance(entry.body, Measured))

    @property
    def numbers(self) -> tuple[int, ...]:
        return tuple(entry.seq for entry in self.entries)


@dataclass(frozen=True, slots=True, kw_only=True)
class Subject:
    """A batch or a holding unit: its name and its entries in their order, corrected ones included.

    `unit` is None for a batch; `of_its_units` are the checks of the units that it was put into, and
    when they were emptied; `made_of` is the last reading of each batch that went into it. A portion
    has a past, what was put together from several one for each of them: the readings of two pots
    are no evidence about one.
    """

    name: str
    entries: tuple[Entry, ...]
    unit: HoldingUnit | None = None
    pasts: tuple[Past, ...] = ()
    of_its_units: tuple[Entry, ...] = ()
    made_of: tuple[Entry, ...] = ()
    _judged: dict[datetime, tuple[Finding, ...]] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )

    @property
    def inherited(self) -> tuple[Entry, ...]:
        """The readings of the batches that this one is a portion of, by time."""
        measured = {entry.seq: entry for past in self.pasts for entry in past.readings}
        return tuple(sorted(measured.values(), key=lambda entry: (entry.at, entry.seq)))

    @property
    def in_force(self) -> list[Entry]:
        return [entry for entry in self.entries if not entry.corrected_by]

    @property
    def readings(self) -> list[Entry]:
        """The readings in force, by the time at which they were taken."""
        taken = [entry for entry in self.in_force if isinstance(entry.body, Measured)]
        return sorted(taken, key=lambda entry: entry.at)

    @property
    def opened(self) -> Entry:
        return next(entry for entry in self.entries if isinstance(entry.body, BatchOpened))

    @property
    def batch(self) -> BatchOpened:
        body = self.opened.body
        assert isinstance(body, BatchOpened)  # `opened` finds nothing else
        return body

    @property
    def title(self) -> str:
        if self.unit:
            return self.name
        names = [one.body.name for one in self.in_force if isinstance(one.body, Renamed)]
        called = f", {names[-1]}" if names else ""
        return f"{self.batch.food} ({self.name}{called})"

    @property
    def comes_from(self) -> tuple[str, ...]:
        """The codes of the batches that went into it or that it was taken from."""
        return (*self.batch.portion_of, *self.batch.made_from)

    @property
    def end(self) -> Entry | None:
        """The entry that says that nothing of the batch is left."""
        ends = [entry for entry in self.in_force if isinstance(entry.body, ENDS)]
        return min(ends, key=lambda entry: entry.at, default=None)

    @property
    def fate(self) -> str:
        """What became of the batch, in a word or two."""
        return "something is left" if self.end is None else _FATES[type(self.end.body)]

    @property
    def ended(self) -> datetime | None:
        """From when on nothing is left of the batch, as far as that can be relied on.

        An end that was entered long after its moment counts from its entry, and no end counts
        before the last reading: neither may take a deviation back that was there by then.
        """
        end = self.end
        if end is None:
            return None
        return max([told_at(end), *(entry.at for entry in self.readings)])

    def answers_to(self, finding: Finding, known: Sequence[datetime]) -> tuple[Entry, ...]:
        """Find what was done about a deviation since it could be known, the first first.

        `known` are the moments of all its deviations: what follows the first action and a later
        deviation answers that one. What was entered before the evidence was answers nothing. What
        was done about a whole batch before it was divided was done about each portion.
        """
        if finding.since is None:
            return ()
        shown_by = self.shown_by(finding)
        acts = [e for e in self.in_force if isinstance(e.body, _ANSWERS)]
        acts += self._answered_before(finding)
        if self._was_served_after(finding):
            acts = [e for e in acts if not isinstance(e.body, Discarded)]
        since = [e for e in acts if e.at >= finding.since and e.seq > shown_by]
        done = sorted(since, key=lambda entry: entry.at)
        later = min((moment for moment in known if done and moment > done[0].at), default=None)
        return tuple(entry for entry in done if later is None or entry.at < later)

    def _was_served_after(self, finding: Finding) -> bool:
        """Whether food that was not heated enough was served: to discard the rest is too late."""
        heated = finding.step in (Step.COOK, Step.REHEAT) and finding.readings
        return bool(heated) and any(
            entry.at > finding.readings[-1].at and any(is_step(entry, step) for step in SERVED)
            for entry in self.readings
        )

    def _answered_before(self, finding: Finding) -> list[Entry]:
        """Give what was done in the pasts that a finding rests on, and in no other."""
        rests_on = {reading.ref for reading in finding.readings}
        own = {str(entry.seq) for entry in self.entries}
        acts = {
            entry.seq: entry
            for past in self.pasts
            if rests_on <= {*own, *map(str, past.numbers)}
            for entry in past.entries
            if isinstance(entry.body, _ANSWERS)
        }
        return list(acts.values())

    def shown_by(self, finding: Finding) -> int:
        """The number of the entry by which the record held what shows a deviation: the last one
        up to the moment from which it could be known.
        """
        assert finding.since is not None  # only deviations are asked about
        rests_on = {r.ref for r in finding.readings if r.at <= finding.since}
        every = (*self.inherited, *self.entries)
        return max((entry.seq for entry in every if str(entry.seq) in rests_on), default=0)

    def judged(self, register: Register, as_of: datetime) -> tuple[Finding, ...]:
        """Judge it as of a moment, once, by the limits that were in force when it began."""
        if as_of not in self._judged:
            self._judged[as_of] = self._judge(register, as_of)
        return self._judged[as_of]

    def _judge(self, register: Register, as_of: datetime) -> tuple[Finding, ...]:
        if self.unit:
            return tuple(judge_unit(self.name, self.in_force, register, as_of))
        if self.is_outside_the_limits:
            return ()
        found: dict[object, Finding] = {}
        for past in self.histories:
            for finding in self._judged_with(past, register, as_of):
                # two pots, one food now: the same readings out of limits, for the longer time
                known = found.setdefault(_told_of(finding), finding)
                if _longest(finding) > _longest(known):
                    found[_told_of(finding)] = finding
        return tuple(found.values())

    @property
    def histories(self) -> tuple[Past, ...]:
        """The ways back from a batch; one that was taken from nothing began with itself."""
        return self.pasts or (Past(self.opened.at, made_of=self.made_of),)

    def _judged_with(self, past: Past, register: Register, as_of: datetime) -> Iterator[Finding]:
        kitchen = register.kitchen_at(past.began)
        limits = register.limits_at(past.began)
        seen = list(self._seen_in_its_units(past, limits, register))
        before = Batch(
            readings=(
                *self._made_of(past, limits, register),
                *(reading_of(entry, register) for entry in past.readings),
            ),
            kind=self.batch.food_kind,
            prepared=past.began if self.batch.ambient else None,
            longest_gap=timedelta(minutes=kitchen.check_every_min + kitchen.grace_min),
            watched_until=self._watched_until((*past.readings, *self.readings, *seen), register),
            received_as=self.batch.received_as,
            by_law=bool(self.batch.by_law),
            oven=_oven_kind(self.batch),
        )
        evidence = replace(
            before,
            readings=(
                *self._made_of(past, limits, register),
                *self._evidence_with(past, register),
                *(reading_of(entry, register) for entry in seen),
            ),
            ended=self.ended,
            gone=self.end.at if self.end else None,
            discarded=self.end is not None and not _is_served(self.end),
        )
        stood = judge_batch(before, limits, self.opened.at) if past.entries else ()
        known = {_told_of(finding) for finding in stood}
        for finding in judge_batch(evidence, limits, as_of):
            if _told_of(finding) not in known or _is_about_portions(finding):
                yield finding

    def evidence(self, register: Register) -> tuple[Reading, ...]:
        """Give every reading that is evidence about it, those of what it was taken from first."""
        return tuple(reading_of(entry, register) for entry in (*self.inherited, *self.readings))

    def lines_of_evidence(self, register: Register) -> list[tuple[Reading, ...]]:
        """Give the readings of each way back, its own after them."""
        return [self._evidence_with(past, register) for past in self.histories]

    def _evidence_with(self, past: Past, register: Register) -> tuple[Reading, ...]:
        return tuple(reading_of(entry, register) for entry in (*past.readings, *self.readings))

    @property
    def is_outside_the_limits(self) -> bool:
        """Whether the record says that it is no TCS food (1-201.10): no limit here binds it.

        What was said of a batch is said of its portions; of a mixture all of it must be none.
        """
        said = [[*past.entries, *self.in_force] for past in self.histories]
        last = [[e.body for e in line if isinstance(e.body, Assessed)][-1:] for line in said]
        return all(one and one[0].result == Result.NON_TCS for one in last)

    def hands_on(self, finding: Finding) -> bool:
        """Whether a finding of a batch that was wholly divided is one of each portion now."""
        divided = self.end is not None and isinstance(self.end.body, UsedUp) and self.end.body.into
        return bool(divided) and _is_about_portions(finding)

    @property
    def timed_since(self) -> datetime | None:
        """From when on time alone is its control (3-501.19), and no date mark."""
        taken = (*self.inherited, *self.readings)
        return min((one.at for one in taken if is_step(one, Step.TIME_CONTROL)), default=None)

    def last_check(self, register: Register, now: datetime) -> datetime | None:
        """When what it holds was last checked; None if it holds nothing that is checked."""
        past = [entry for entry in (*self.inherited, *self.in_force) if entry.at <= now]
        past.sort(key=lambda entry: entry.at)
        if self.unit and not self.unit.active:
            return None
        if self.unit:
            step = unit_step(self.unit)
            past = [e for e in past if isinstance(e.body, UnitEmptied) or is_step(e, step)]
            return past[-1].at if past and isinstance(past[-1].body, Measured) else None
        past = [entry for entry in past if isinstance(entry.body, Measured)]
        if not past or self.ended is not None:
            return None
        last = reading_of(past[-1], register)
        heats = last.step in (Step.COOK, Step.HOT_HOLD, Step.REHEAT)
        rests = last.step in (Step.PREPARE, Step.RECEIVE)
        if not (heats or (rests and is_hot(last, register.limits_at(past[-1].at)))):
            return None
        alone_since = self._watched_until(past, register).get(str(past[-1].seq), past[-1].at)
        return alone_since if alone_since <= now else None

    def _watched_until(self, readings: Iterable[Entry], register: Register) -> dict[str, datetime]:
        """Say until when the checks of the unit that it was put into stand for its own.

        That is until the unit was emptied or retired.
        """
        until: dict[str, datetime] = {}
        for entry in readings:
            if entry.unit:
                emptied = [e for e in self.of_its_units if isinstance(e.body, UnitEmptied)]
                ends = [e.at for e in emptied if e.unit == entry.unit]
                retired = register.retired_at(entry.unit)
                ends += [retired] if retired else []
                until[str(entry.seq)] = min((at for at in ends if at > entry.at), default=_FAR)
        return until

    def _made_of(self, past: Past, limits: LimitSet, register: Register) -> Iterator[Reading]:
        """Give what it was made of, as it was when it was made: its clocks do not start anew.

        Where something of it was hot, that decides; what was cold does not cool what is made at
        room temperature.
        """
        parts = [reading_of(entry, register) for entry in past.made_of]
        hot = [reading for reading in parts if is_hot(reading, limits)]
        for reading in hot or ([] if self.batch.ambient else parts):
            yield Reading(
                at=past.began,
                temperature=reading.temperature,
                step=Step.PREPARE,
                doubted_since=reading.doubted_since,
                ref=reading.ref,
                accuracy=reading.accuracy,
            )

    def _seen_in_its_units(
        self, past: Past, limits: LimitSet, register: Register
    ) -> Iterator[Entry]:
        """Give the last check of each unit that it stood in at which it was hot there."""
        own = sorted((*past.readings, *self.readings), key=lambda entry: entry.at)
        watched = self._watched_until(own, register)
        for entry, following in zip_longest(own, own[1:]):
            until = min(watched.get(str(entry.seq), entry.at), following.at if following else _FAR)
            checks = [
                check
                for check in self.of_its_units
                if check.unit == entry.unit
                and entry.at < check.at < until
                and is_step(check, Step.HOT_HOLD)
            ]
            yield from [one for one in checks if is_hot(reading_of(one, register), limits)][-1:]

    def check_every(self, register: Register) -> timedelta:
        every = self.unit.every_min if self.unit else register.kitchen.check_every_min
        return timedelta(minutes=every)


def _is_served(end: Entry) -> bool:
    """Whether an end says that food went to people: not thrown away, and not divided."""
    return isinstance(end.body, UsedUp) and not end.body.into


def entered_later(entry: Entry) -> str:
    """Say by how much a late entry came after its moment; nothing for one made in time."""
    late = entry.entered_at - entry.at
    return f"entered {spell(late)} later" if late > LATE else ""


def _told_of(finding: Finding) -> object:
    """Give what makes two findings the same to people; of gaps in the checks, their end."""
    if finding.gap:
        return (finding.limit, finding.reason, finding.gap[1])
    return (finding.limit, finding.verdict, finding.reason, finding.readings)


def _longest(finding: Finding) -> timedelta:
    return timedelta.max if finding.longest is None else finding.longest


def _is_about_portions(finding: Finding) -> bool:
    """Whether a finding of a whole batch is one of each portion too, the food being the same.

    What it was out of limits for in its holding stays with the whole, where it is answered.
    """
    heated = finding.step in (Step.COOK, Step.REHEAT) and finding.verdict.is_deviation
    return heated or finding.step in _ONE_FOOD or finding.verdict is Verdict.OPEN


def held_to(
    subject: Subject, reading: Reading, register: Register, findings: Sequence[Finding]
) -> Limit:
    """Give the limit that one holding reading of a subject is judged by."""
    if subject.unit:
        unit = register.unit_at(subject.name, reading.at)
        return register.limits_at(reading.at).get(unit_limit(unit, reading.step))
    limits = register.limits_at(min(past.began for past in subject.histories))
    batch = subject.batch
    return holding_limit(
        reading, reading.step, batch.food_kind, batch.received_as, findings, limits
    )


def refuse_unjudgeable(subject: Subject, reading: Reading, register: Register) -> None:
    """Raise Refused for a reading that the limits in force cannot judge, before it is recorded.

    A kitchen that is judged by an older set of limits has none for steps that came later.
    """
    if subject.unit:
        limits = register.limits_at(reading.at)
        limits.get(unit_limit(register.unit_at(subject.name, reading.at), reading.step))
        return
    opened = subject.opened.at if subject.entries else reading.at
    limits = register.limits_at(opened)
    batch = subject.batch if subject.entries else None
    evidence = Batch(
        readings=(reading,),
        kind=batch.food_kind if batch else "",
        received_as=batch.received_as if batch else "",
        oven=_oven_kind(batch) if batch else "",
    )
    judge_batch(evidence, limits, None)


def _oven_kind(batch: BatchOpened) -> str:
    """Name the kind of the limit `oven` that a roast's oven is judged by; empty for none."""
    if batch.oven in ("", "none", "high humidity"):
        return batch.oven.replace("none", "")
    weight = "10 lb or more" if Decimal(batch.weight_lb) >= _HEAVY else "under 10 lb"
    return f"{batch.oven}, {weight}"
