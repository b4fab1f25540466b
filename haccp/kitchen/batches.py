"""Batches: all that was entered about them, and what the rules say of it."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from itertools import chain

from haccp.errors import Refused
from haccp.kitchen.lives import handed_to, life_of, oven_kind
from haccp.kitchen.on_record import Look, OnRecord
from haccp.kitchen.readings_as_evidence import is_step, reading_of
from haccp.kitchen.register import Register
from haccp.language import message, phrase
from haccp.limits import Limit
from haccp.record.bodies import (
    ENDS,
    Assessed,
    BatchOpened,
    CorrectiveAction,
    DeliveryRejected,
    Discarded,
    Diverted,
    Measured,
    Released,
    Renamed,
    SetApart,
    UsedUp,
)
from haccp.record.entries import LATE, Entry, having, number_in, told_at
from haccp.rules.account.judge import Judged, hand_on, judge
from haccp.rules.account.life import Handed, Life
from haccp.rules.account.readings_alone import judge_batch
from haccp.rules.account.steps import TRAITS
from haccp.rules.account.table import State
from haccp.rules.account_in_words import Told, tell
from haccp.rules.dispositions import BroughtBack, brought_back, may_release
from haccp.rules.evidence import Batch, Finding, Reading, Reason, Step, Verdict
from haccp.rules.tcs import Result
from haccp.time import from_stored

_FATES = {
    Discarded: message("discarded"),
    DeliveryRejected: message("rejected"),
    Diverted: message("put to another use"),
    UsedUp: message("used up"),
}
_DISPOSED = (Discarded, DeliveryRejected, Diverted)

# Food that was divided, measured apart and put together again doubles its ways back each time:
# to put more together is refused, and what was put together all the same is not shown.
MOST_WAYS = 64


@dataclass(frozen=True, slots=True)
class Past:
    """One way back from a portion: since when its food is there, and what was entered about it.

    `entries` are the readings, corrective actions and assessments in force of all that it was
    taken from, one after the other, up to the moment at which it was taken from the last.
    """

    began: datetime
    entries: tuple[Entry, ...] = ()

    @property
    def readings(self) -> tuple[Entry[Measured], ...]:
        return tuple(having(self.entries, Measured))

    @property
    def numbers(self) -> tuple[int, ...]:
        return tuple(entry.seq for entry in self.entries)


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchOnRecord(OnRecord):
    """A batch with all that is on record of it, and of what it was taken from or made of.

    `parts` are the batches that it comes from, all opened before it; `went_on` is when another was
    first made from it. A portion has a past, what was put together from several one for each of
    them: the readings of two pots are no evidence about one. `ways_cut` says that it has more ways
    back than can be followed, and `pasts` not all.
    """

    parts: tuple["BatchOnRecord", ...] = field(default=(), repr=False)
    went_on: datetime | None = None
    pasts: tuple[Past, ...] = ()
    ways_cut: bool = False
    _accounts: dict[datetime, Judged] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )
    _lives: dict[datetime, Life] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )
    _used: dict[datetime, Judged] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )
    begun_with: list["_HandedOn"] = field(
        default_factory=list, init=False, repr=False, compare=False
    )

    @property
    def inherited(self) -> tuple[Entry[Measured], ...]:
        """The readings of the batches that this one is a portion of, by time."""
        measured = {entry.ref: entry for past in self.pasts for entry in past.readings}
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
        if self.end is None:
            return phrase("something is left")
        return phrase(_FATES[type(self.end.body)])

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

    def decided_by(
        self, finding: Finding, found: Sequence[Finding], register: Register, /
    ) -> tuple[Entry, ...]:
        """Find what became of the food: that decides a deviation of it, and nothing else does."""
        acts = self._since(finding, self._dispositions(finding))
        own = {entry.ref: entry for entry in self.readings}
        saved = self._brought_back(finding, found, register)
        if saved and saved.needs_action:
            acts += self.notes_on(finding)
        elif saved and saved.reading.ref in own:
            acts.append(own[saved.reading.ref])
        return tuple(sorted(acts, key=lambda entry: entry.at))

    def wants_action(self, finding: Finding, register: Register) -> bool:
        """Whether a deviating food was brought back in time, and what was done is to be logged."""
        saved = self._brought_back(finding, (), register)
        return saved is not None and saved.needs_action

    def _brought_back(
        self, finding: Finding, found: Sequence[Finding], register: Register
    ) -> BroughtBack | None:
        taken = [reading_of(entry, register) for entry in self.readings]
        saved = brought_back(finding, found, [one for one in taken if not one.doubted_since])
        return saved if saved and self._was_entered_with(finding, saved.reading, register) else None

    def _was_entered_with(self, finding: Finding, shows: Reading, register: Register) -> bool:
        """Whether what says that a holding was out of limits for short was entered with it.

        Readings that are put around it later, typed or out of a logger's file, take nothing back.
        """
        if finding.reason is not Reason.OUT_OF_LIMITS or not finding.start:
            return True
        first, last = finding.readings[0], finding.readings[-1]
        begins = finding.start.earliest or first.at
        ends = begins + finding.longest if finding.longest else shows.at
        bounds = [(begins, first), (ends, last)]
        if shows not in finding.readings:
            bounds = [(shows.at, first)]
        own = self.measured

        def read_at(moment: datetime) -> list[Entry[Measured]]:
            checks = (register.history.of_unit(unit, moment, moment) for unit in register.units)
            there = having(chain.from_iterable(checks), Measured)
            return [*there, *(one for one in own if one.at == moment)]

        return all(
            any(
                _entered_together(one, there)
                for there in read_at(bad.at)
                if there.ref == bad.ref
                for one in read_at(moment)
                if finding.limit.kept_by(reading_of(one, register).temperature)
            )
            for moment, bad in bounds
        )

    def _dispositions(self, finding: Finding) -> list[Entry]:
        """Give the acts that may decide a deviation, and those in the pasts that it rests on."""
        kinds: tuple[type, ...] = (*_DISPOSED, Released) if may_release(finding) else _DISPOSED
        if self._was_served_after(finding):
            kinds = tuple(kind for kind in kinds if kind not in (Discarded, Diverted))
        acts = [*self.in_force, *self._done_before(finding)]
        return [entry for entry in acts if isinstance(entry.body, kinds)]

    def _was_served_after(self, finding: Finding) -> bool:
        """Whether a food that deviated was served: to discard the rest is too late."""
        if TRAITS[finding.step].serves or not finding.since:
            return False
        last = max((one.at for one in finding.readings), default=finding.since)
        since = last if TRAITS[finding.step].heats else finding.since
        return any(
            entry.at > since and TRAITS[Step(entry.body.step)].serves for entry in self.readings
        )

    def _done_before(self, finding: Finding) -> list[Entry]:
        """Give what was done in the pasts that a finding rests on, and in no other."""
        rests_on = {number_in(reading.ref) for reading in finding.readings if reading.ref}
        own = {entry.seq for entry in self.entries}
        # the rest are checks of its unit
        rests_on &= own | {number for past in self.pasts for number in past.numbers}
        acts = {
            entry.seq: entry
            for past in self.pasts
            if rests_on - own and rests_on - own <= {*past.numbers}
            for entry in past.entries
        }
        return list(acts.values())

    def notes_on(self, finding: Finding, /) -> tuple[Entry, ...]:
        acts = [*self.in_force, *self._done_before(finding)]
        return tuple(self._since(finding, having(acts, CorrectiveAction)))

    @property
    def set_apart(self) -> Entry[SetApart] | None:
        """The entry by which it stands apart, on hold; None where it does not."""
        return max(having(self.in_force, SetApart), key=lambda entry: entry.at, default=None)

    def account(self, register: Register, as_of: datetime) -> Judged:
        """Judge its whole life as of a moment, by the limits that were in force when it began."""
        if as_of not in self._accounts:
            until = min(as_of, self.ended or as_of)
            limits = register.limits_at(self.began)
            self._accounts[as_of] = judge(self.life(register, until), limits, as_of)
        return self._accounts[as_of]

    def as_used(self, register: Register, at: datetime) -> Judged:
        """Judge it as it was when something was made of it, or divided from it, at a moment."""
        if at not in self._used:
            limits = register.limits_at(self.began)
            self._used[at] = hand_on(self.life(register, at), limits, at)
        return self._used[at]

    def life(self, register: Register, until: datetime) -> Life:
        """Give its life as evidence, with all that was entered up to a moment."""
        if until not in self._lives:
            handed = self.handed_on(register).ways[:MOST_WAYS]
            went_on = self.went_on is not None
            self._lives[until] = life_of(
                self.opened, self.in_force, handed, until, register, went_on=went_on
            )
        return self._lives[until]

    def to_judge_anew(self, parts: tuple["BatchOnRecord", ...]) -> "BatchOnRecord":
        """Copy it, for another set of limits: a batch keeps what it was found by one.

        What is made of nothing has lived the same whatever the limits are.
        """
        copy = replace(self, parts=parts)
        if not parts:
            object.__setattr__(copy, "_lives", self._lives)
        return copy

    def ways_told(self, register: Register, as_of: datetime) -> list[list[Told]]:
        """Give each way back as a line of phases, with the batches in which it began."""
        handed = self.handed_on(register).ways[:MOST_WAYS]
        used = {part.name: part.as_used(register, self.opened.at).handed for part in self.parts}
        parts = [[name for name, ways in used.items() if way in ways] for way in handed]
        return tell(self.account(register, as_of), parts or [[]], self.opened.at)

    def handed_on(self, register: Register) -> "_HandedOn":
        """Take over what its parts hand on, theirs first: whatever the depth, one after another."""
        for one in self._from_the_oldest() if not self.begun_with else ():
            if not one.begun_with:
                one.begun_with.append(_handed_on(one, register))
        return self.begun_with[0]

    def with_its_parts(self) -> set[str]:
        """Name it and, through any depth, what it comes from."""
        found: set[str] = set()
        wanted = [self]
        while wanted:
            found |= {one.name for one in wanted}
            wanted = [part for one in wanted for part in one.parts if part.name not in found]
        return found

    def _from_the_oldest(self) -> list["BatchOnRecord"]:
        """Give it and, through any depth, what it comes from, as far as that is not known yet."""
        found = {self.name: self}
        wanted = [self]
        while wanted:
            parts = {one.name: one for batch in wanted for one in batch.parts}
            wanted = [
                one for name, one in parts.items() if name not in found and not one.begun_with
            ]
            found |= {one.name: one for one in wanted}
        return sorted(found.values(), key=lambda one: one.opened.seq)

    def has_too_many_ways(self, register: Register) -> bool:
        return self.ways_cut or len(self.handed_on(register).ways) > MOST_WAYS

    def _judge(self, register: Register, as_of: datetime) -> tuple[Finding, ...]:
        """Judge it, and tell what stood undecided of its parts when it was made of them."""
        if self.is_outside_the_limits:
            return ()
        found = self.account(register, as_of).findings
        # a clock that runs on is told once, by the finding that says no less of it
        told = {(one.limit.name, one.start, one.verdict) for one in found if one.start}
        carried = (
            one
            for one in self.handed_on(register).undecided
            if (one.limit.name, one.start, one.verdict) not in told
            and (one.limit.name, one.start, Verdict.NOT_MET) not in told
            and self.opened.at <= as_of
        )
        return (*carried, *found)

    @property
    def began(self) -> datetime:
        """When the oldest food began that it is a portion of."""
        return min(past.began for past in self.histories)

    @property
    def histories(self) -> tuple[Past, ...]:
        """The ways back from a batch; one that was taken from nothing began with itself."""
        return self.pasts or (Past(self.opened.at),)

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

    @property
    def said_look(self) -> datetime | None:
        """When a roast that runs on alone is to be looked at, as its newest reading says."""
        newest = max(self.readings, key=lambda entry: (entry.at, entry.seq), default=None)
        return from_stored(newest.body.next_look) if newest and newest.body.next_look else None

    def next_look(self, register: Register, now: datetime, /) -> Look | None:
        """When it, or the unit that it stands in, is to be looked at next."""
        if self.ended is not None:
            return None
        ways = self.account(register, now).ways
        looks = [Look(way.next_look, way.place) for way in ways if way.next_look]
        said = [Look(self.said_look)] if self.said_look else []
        return min([*looks, *said], default=None)

    def places(self, register: Register, now: datetime) -> tuple[str, ...]:
        """Name the units whose checks are evidence of it now."""
        return () if self.ended is not None else self.account(register, now).places

    def held_to(self, reading: Reading, register: Register, as_of: datetime, /) -> Limit | None:
        """Give the limit that one of its readings is held to; None while it changes temperature."""
        filed = [one for way in self.account(register, as_of).ways for one in way.filed]
        return next((one.limit for one in filed if one.reading.ref == reading.ref), None)

    def hot_limit(self, register: Register, as_of: datetime) -> Limit:
        """Give the limit that it is held hot by: 3-501.16(A)(1)."""
        return self.account(register, as_of).ways[0].hot

    def refuse_unjudgeable(self, reading: Reading, register: Register) -> None:
        refuse_unjudgeable(self.batch, self.opened.at, reading, register)
        if reading.step is Step.TIME_CONTROL:
            self._refuse_time_for_a_cooling(reading, register)

    def _refuse_time_for_a_cooling(self, reading: Reading, register: Register) -> None:
        """Refuse time as the control of food that is cooling: its clock is the cooling's.

        Source: Food Code 2022 3-501.19(B)(1), (C)(1): it leaves hot or cold holding.
        """
        limits = register.limits_at(self.began)
        if limits.get("cold-holding").kept_by(reading.temperature):
            return
        for way in self.as_used(register, reading.at).handed:
            if way.every.state is State.COOLING:
                raise Refused(
                    phrase(
                        "{name} is cooling (3-501.14(A)), and time alone is no control of what "
                        "never became cold (3-501.19(B)(1)): log haccp cool, or reheat it.",
                        name=self.name,
                    )
                )


def _entered_together(one: Entry[Measured], bad: Entry[Measured]) -> bool:
    """Whether a reading was entered as soon after another as it was taken; a probe's always was."""
    if one.run and bad.run and one.run.probe == bad.run.probe:
        return True
    return one.entered_at - bad.entered_at <= max(one.at - bad.at, timedelta(0)) + LATE


def refuse_unjudgeable(
    batch: BatchOpened, opened: datetime, reading: Reading, register: Register
) -> None:
    """Raise Refused for a reading that a batch cannot be judged by, before it is recorded."""
    evidence = Batch(
        readings=(reading,),
        kind=batch.food_kind,
        received_as=batch.received_as,
        oven=oven_kind(batch, register, opened),
    )
    judge_batch(evidence, register.limits_at(opened), None)


@dataclass(frozen=True, slots=True)
class _HandedOn:
    """What a batch begins with: the facts by each way back, and what stood undecided by then."""

    ways: tuple[Handed, ...]
    undecided: tuple[Finding, ...]


def _handed_on(batch: BatchOnRecord, register: Register) -> _HandedOn:
    """Take over what the parts of a batch hand on, each as it was when the batch was opened.

    Of what stood undecided the oldest is told, by limit, verdict and reason: a gravy made of gravy
    for years has each kind of it once.
    """
    opened = batch.opened
    parts = [(one, one.as_used(register, opened.at)) for one in batch.parts]
    undecided: dict[tuple[str, str, Verdict, Reason], Finding] = {}
    for part, judged in parts:
        there = (*part.handed_on(register).undecided, *judged.findings)
        for finding in there if not part.is_outside_the_limits else ():
            decided = part.decided_by(finding, there, register)
            before = any(one.seq < opened.seq and one.at <= opened.at for one in decided)
            if finding.verdict.is_deviation and not before:
                one = finding if finding.of else replace(finding, of=part.name)
                key = (one.limit.name, one.limit.kind, one.verdict, one.reason)
                known = undecided.setdefault(key, one)
                if one.since and known.since and one.since < known.since:
                    undecided[key] = one
    return _HandedOn(
        handed_to(batch.batch, [judged for _, judged in parts]), (*undecided.values(),)
    )
