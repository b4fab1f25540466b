"""Batches: all that was entered about them, and what the rules say of it."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from itertools import zip_longest

from haccp.kitchen.on_record import ANSWERS, OnRecord, is_about_portions
from haccp.kitchen.readings_as_evidence import is_step, reading_of
from haccp.kitchen.register import Register
from haccp.limits import Limit, LimitSet
from haccp.record.entries import (
    ENDS,
    Assessed,
    BatchOpened,
    DeliveryRejected,
    Discarded,
    Entry,
    Measured,
    Renamed,
    UnitEmptied,
    UsedUp,
    having,
    told_at,
)
from haccp.rules.coolings import is_hot
from haccp.rules.evidence import SERVED, Batch, Finding, Reading, Step
from haccp.rules.judge import holding_limit, judge_batch
from haccp.rules.tcs import Result

_FATES = {Discarded: "discarded", DeliveryRejected: "rejected", UsedUp: "used up"}

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
    made_of: tuple[Entry[Measured], ...] = ()

    @property
    def readings(self) -> tuple[Entry[Measured], ...]:
        return tuple(having(self.entries, Measured))

    @property
    def numbers(self) -> tuple[int, ...]:
        return tuple(entry.seq for entry in self.entries)


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchOnRecord(OnRecord):
    """A batch with all that is on record of it, and of what it was taken from or made of.

    `of_its_units` are the checks of the units that it was put into, and when they were emptied;
    `made_of` is the last reading of each batch that went into it. A portion has a past, what was
    put together from several one for each of them: the readings of two pots are no evidence about
    one. `ways_cut` says that it has more ways back than can be followed, and `pasts` not all.
    """

    pasts: tuple[Past, ...] = ()
    ways_cut: bool = False
    of_its_units: tuple[Entry, ...] = ()
    made_of: tuple[Entry[Measured], ...] = ()

    @property
    def inherited(self) -> tuple[Entry[Measured], ...]:
        """The readings of the batches that this one is a portion of, by time."""
        measured = {entry.seq: entry for past in self.pasts for entry in past.readings}
        return tuple(sorted(measured.values(), key=lambda entry: (entry.at, entry.seq)))

    @property
    def measured(self) -> list[Entry[Measured]]:
        return [*self.inherited, *self.readings]

    @property
    def all_in_force(self) -> list[Entry]:
        return [*(entry for past in self.pasts for entry in past.entries), *self.in_force]

    @property
    def opened(self) -> Entry[BatchOpened]:
        return next(having(self.entries, BatchOpened))

    @property
    def batch(self) -> BatchOpened:
        return self.opened.body

    @property
    def title(self) -> str:
        names = [one.body.name for one in having(self.in_force, Renamed)]
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

    @property
    def is_left(self) -> bool:
        return self.end is None

    @property
    def is_divided(self) -> bool:
        return (
            self.end is not None and isinstance(self.end.body, UsedUp) and bool(self.end.body.into)
        )

    def _acts_about(self, finding: Finding, /) -> list[Entry]:
        """Give what was done about it, and in the pasts that a finding rests on."""
        acts = [entry for entry in self.in_force if isinstance(entry.body, ANSWERS)]
        acts += self._done_before(finding)
        if self._was_served_after(finding):
            acts = [entry for entry in acts if not isinstance(entry.body, Discarded)]
        return acts

    def _was_served_after(self, finding: Finding) -> bool:
        """Whether food that was not heated enough was served: to discard the rest is too late."""
        heated = finding.step in (Step.COOK, Step.REHEAT) and finding.readings
        return bool(heated) and any(
            entry.at > finding.readings[-1].at and any(is_step(entry, step) for step in SERVED)
            for entry in self.readings
        )

    def _done_before(self, finding: Finding) -> list[Entry]:
        """Give what was done in the pasts that a finding rests on, and in no other."""
        rests_on = {reading.ref for reading in finding.readings}
        own = {str(entry.seq) for entry in self.entries}
        acts = {
            entry.seq: entry
            for past in self.pasts
            if rests_on <= {*own, *map(str, past.numbers)}
            for entry in past.entries
            if isinstance(entry.body, ANSWERS)
        }
        return list(acts.values())

    def _judge(self, register: Register, as_of: datetime) -> tuple[Finding, ...]:
        """Judge it with each of its pasts, by the limits that were in force when that began."""
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
            if _told_of(finding) not in known or is_about_portions(finding):
                yield finding

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
        last = [[entry.body for entry in having(line, Assessed)][-1:] for line in said]
        return all(one and one[0].result == Result.NON_TCS for one in last)

    @property
    def timed_since(self) -> datetime | None:
        """From when on time alone is its control (3-501.19), and no date mark."""
        return min(
            (one.at for one in self.measured if is_step(one, Step.TIME_CONTROL)), default=None
        )

    def last_check(self, register: Register, now: datetime, /) -> datetime | None:
        past = sorted((e for e in self.measured if e.at <= now), key=lambda entry: entry.at)
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
                emptied = having(self.of_its_units, UnitEmptied)
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
    ) -> Iterator[Entry[Measured]]:
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

    def check_every(self, register: Register, /) -> timedelta:
        return timedelta(minutes=register.kitchen.check_every_min)

    def held_to(self, reading: Reading, register: Register, found: Sequence[Finding], /) -> Limit:
        limits = register.limits_at(min(past.began for past in self.histories))
        kind, received_as = self.batch.food_kind, self.batch.received_as
        return holding_limit(reading, reading.step, kind, received_as, found, limits)

    def refuse_unjudgeable(self, reading: Reading, register: Register) -> None:
        refuse_unjudgeable(self.batch, self.opened.at, reading, register)


def refuse_unjudgeable(
    batch: BatchOpened, opened: datetime, reading: Reading, register: Register
) -> None:
    """Raise Refused for a reading that a batch cannot be judged by, before it is recorded."""
    evidence = Batch(
        readings=(reading,),
        kind=batch.food_kind,
        received_as=batch.received_as,
        oven=_oven_kind(batch),
    )
    judge_batch(evidence, register.limits_at(opened), None)


def _is_served(end: Entry) -> bool:
    """Whether an end says that food went to people: not thrown away, and not divided."""
    return isinstance(end.body, UsedUp) and not end.body.into


def _told_of(finding: Finding) -> object:
    """Give what makes two findings the same to people; of gaps in the checks, their end."""
    if finding.gap:
        return (finding.limit, finding.reason, finding.gap[1])
    return (finding.limit, finding.verdict, finding.reason, finding.readings)


def _longest(finding: Finding) -> timedelta:
    return timedelta.max if finding.longest is None else finding.longest


def _oven_kind(batch: BatchOpened) -> str:
    """Name the kind of the limit `oven` that a roast's oven is judged by; empty for none."""
    if batch.oven in ("", "none", "high humidity"):
        return batch.oven.replace("none", "")
    weight = "10 lb or more" if Decimal(batch.weight_lb) >= _HEAVY else "under 10 lb"
    return f"{batch.oven}, {weight}"
