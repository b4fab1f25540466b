"""Batches and holding units: all that was entered about them, and what the rules say of it."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from decimal import Decimal, InvalidOperation
from itertools import groupby

from haccp.errors import Refused
from haccp.limits import Limit
from haccp.record.entries import (
    Assessed,
    BatchOpened,
    CorrectiveAction,
    Discarded,
    Entry,
    Frozen,
    HoldingUnit,
    Measured,
    Rejected,
    Released,
    Renamed,
    Thawed,
    UnitEmptied,
    UsedUp,
)
from haccp.record.register import Register
from haccp.record.store import Record
from haccp.rules.batch import HOLDING_LIMIT, Batch, holding_limit, judge_batch
from haccp.rules.datemark import last_day
from haccp.rules.evidence import Finding, Reading, Reason, Step, Verdict
from haccp.rules.holding import judge_holding, missed_checks
from haccp.rules.tcs import Result
from haccp.temperature import Degree, Temperature, parse_temperature
from haccp.time import day_starts

_ENDS = (Discarded, Rejected, UsedUp)
_FATES = {Discarded: "discarded", Rejected: "rejected", UsedUp: "used up"}
_ANSWERS = (CorrectiveAction, Released, Discarded, Rejected)
_HANDED_ON = (Measured, CorrectiveAction, Released, Assessed)
_ONE_FOOD = (Step.COOL, Step.TIME_CONTROL)

# A weight from which the Code asks less of an oven [lb]: 3-401.11(B).
_HEAVY = Decimal(10)

# What a unit's checks are judged by where it is not simply hot or cold: 3-501.16(B), 3-501.11.
_UNIT_LIMIT = {"egg": "egg-holding", "frozen": "frozen-holding"}

# An entry this long after its moment is a late one: common practice, no source.
LATE = timedelta(minutes=15)


@dataclass(frozen=True, slots=True)
class Past:
    """One way back from a portion: since when its food is there, and what was entered about it.

    `entries` are the readings, corrective actions and assessments in force of all that it was
    taken from, one after the other, up to the moment at which it was taken from the last.
    """

    began: datetime
    entries: tuple[Entry, ...] = ()

    @property
    def readings(self) -> tuple[Entry, ...]:
        return tuple(entry for entry in self.entries if isinstance(entry.body, Measured))

    @property
    def numbers(self) -> tuple[int, ...]:
        return tuple(entry.seq for entry in self.entries)


@dataclass(frozen=True, slots=True, kw_only=True)
class Subject:
    """A batch or a holding unit: its name and its entries in their order, corrected ones included.

    `corrected` maps the number of an entry to that of the one that replaced it. `unit` is None
    for a batch. A portion has a past, what was put together from several one for each of them:
    the readings of two pots are no evidence about one.
    """

    name: str
    entries: tuple[Entry, ...]
    corrected: Mapping[int, int]
    unit: HoldingUnit | None = None
    pasts: tuple[Past, ...] = ()

    @property
    def inherited(self) -> tuple[Entry, ...]:
        """The readings of the batches that this one is a portion of, by time."""
        measured = {entry.seq: entry for past in self.pasts for entry in past.readings}
        return tuple(sorted(measured.values(), key=lambda entry: (entry.at, entry.seq)))

    @property
    def in_force(self) -> list[Entry]:
        return [entry for entry in self.entries if entry.seq not in self.corrected]

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
        ends = [entry for entry in self.in_force if isinstance(entry.body, _ENDS)]
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
        return max([_told_at(end), *(entry.at for entry in self.readings)])

    def answers_to(self, finding: Finding, known: Sequence[datetime]) -> tuple[Entry, ...]:
        """Find what was done about a deviation since it could be known, the first first.

        `known` are the moments of all its deviations: what follows the first action and a later
        deviation answers that one. What was entered before the evidence was answers nothing. What
        was done about a whole batch before it was divided was done about each portion.
        """
        if finding.since is None:
            return ()
        evident = self.evident_at(finding)
        acts = [e for e in self.in_force if isinstance(e.body, _ANSWERS)]
        acts += self._answered_before(finding)
        since = [e for e in acts if e.at >= finding.since and e.entered_at >= evident]
        done = sorted(since, key=lambda entry: entry.at)
        later = min((moment for moment in known if done and moment > done[0].at), default=None)
        return tuple(entry for entry in done if later is None or entry.at < later)

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

    def evident_at(self, finding: Finding) -> datetime:
        """When the record first held what shows a deviation: its last entry up to that moment."""
        assert finding.since is not None  # only deviations are asked about
        rests_on = {r.ref for r in finding.readings if r.at <= finding.since}
        every = (*self.inherited, *self.entries)
        entered = [entry.entered_at for entry in every if str(entry.seq) in rests_on]
        return max(entered, default=finding.since)

    def judged(self, register: Register, as_of: datetime) -> tuple[Finding, ...]:
        """Judge it as of a moment, by the limits that were in force when it began."""
        if self.unit:
            return tuple(_judge_unit(self, register, as_of))
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
        return self.pasts or (Past(self.opened.at),)

    def _judged_with(self, past: Past, register: Register, as_of: datetime) -> Iterator[Finding]:
        kitchen = register.kitchen_at(past.began)
        limits = register.limits_at(past.began)
        before = Batch(
            readings=tuple(reading_of(entry, register) for entry in past.readings),
            kind=self.batch.food_kind,
            prepared=past.began if self.batch.ambient else None,
            longest_gap=timedelta(minutes=kitchen.check_every_min + kitchen.grace_min),
            received_as=self.batch.received_as,
            by_law=bool(self.batch.by_law),
            oven=_oven_kind(self.batch),
        )
        evidence = replace(
            before,
            readings=self._evidence_with(past, register),
            ended=self.ended,
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

    @property
    def timed_since(self) -> datetime | None:
        """From when on time alone is its control (3-501.19), and no date mark."""
        taken = (*self.inherited, *self.readings)
        return min((one.at for one in taken if _is_step(one, Step.TIME_CONTROL)), default=None)

    def last_check(self, now: datetime) -> datetime | None:
        """When what it holds was last checked; None if it holds nothing that is checked."""
        past = [entry for entry in (*self.inherited, *self.in_force) if entry.at <= now]
        past.sort(key=lambda entry: entry.at)
        if self.unit and not self.unit.active:
            return None
        if self.unit:
            step = unit_step(self.unit)
            past = [e for e in past if isinstance(e.body, UnitEmptied) or _is_step(e, step)]
            return past[-1].at if past and isinstance(past[-1].body, Measured) else None
        past = [entry for entry in past if isinstance(entry.body, Measured)]
        held = past and self.ended is None and _is_step(past[-1], Step.HOT_HOLD)
        return past[-1].at if held else None

    def check_every(self, register: Register) -> timedelta:
        every = self.unit.every_min if self.unit else register.kitchen.check_every_min
        return timedelta(minutes=every)


def _is_served(end: Entry) -> bool:
    """Whether an end says that food went to people: not thrown away, and not divided."""
    return isinstance(end.body, UsedUp) and not end.body.into


def _told_at(entry: Entry) -> datetime:
    """Give the moment from which an entry counts that may take a deviation back."""
    return entry.entered_at if entry.entered_at - entry.at > LATE else entry.at


def _told_of(finding: Finding) -> object:
    """Give what makes two findings the same to people; a longer gap in the checks is another."""
    gap = finding.longest if finding.reason is Reason.MISSED_CHECK else None
    return (finding.limit, finding.verdict, finding.reason, finding.readings, gap)


def _longest(finding: Finding) -> timedelta:
    return timedelta.max if finding.longest is None else finding.longest


def _is_about_portions(finding: Finding) -> bool:
    """Whether a finding of a whole batch is one of each portion too, the food being the same.

    What it was out of limits for in its holding stays with the whole, where it is answered.
    """
    heated = finding.step in (Step.COOK, Step.REHEAT) and finding.verdict.is_deviation
    return heated or finding.step in _ONE_FOOD or finding.verdict is Verdict.OPEN


def reading_of(entry: Entry, register: Register) -> Reading:
    """Turn an entry into evidence, with the doubt that its thermometer's checks throw on it."""
    body = entry.body
    assert isinstance(body, Measured)  # the caller picks readings
    try:
        return Reading(
            at=entry.at,
            temperature=Temperature(Decimal(body.temp), Degree(body.degree)),
            step=Step(body.step),
            held=timedelta(microseconds=int(Decimal(body.held_s) * 1_000_000)),
            doubted_since=register.doubted_since(body.thermometer, entry.at),
            ref=str(entry.seq),
            method=body.method,
            chamber=parse_temperature(body.chamber) if body.chamber else None,
        )
    except (ValueError, InvalidOperation):
        raise Refused(f"Entry no. {entry.seq} was altered: ask haccp record verify.") from None


def _is_step(entry: Entry, step: Step) -> bool:
    return isinstance(entry.body, Measured) and entry.body.step == step


def held_to(
    subject: Subject, reading: Reading, register: Register, findings: Sequence[Finding]
) -> Limit:
    """Give the limit that one holding reading of a subject is judged by."""
    if subject.unit:
        unit = register.unit_at(subject.name, reading.at)
        return register.limits_at(reading.at).get(_unit_limit(unit, reading.step))
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
        limits.get(_unit_limit(register.unit_at(subject.name, reading.at), reading.step))
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


def unit_step(unit: HoldingUnit) -> Step:
    return Step.HOT_HOLD if unit.holds == "hot" else Step.COLD_HOLD


def _unit_limit(unit: HoldingUnit, step: Step) -> str:
    return _UNIT_LIMIT.get(unit.holds, HOLDING_LIMIT[step])


def _oven_kind(batch: BatchOpened) -> str:
    """Name the kind of the limit `oven` that a roast's oven is judged by; empty for none."""
    if batch.oven in ("", "none", "high humidity"):
        return batch.oven.replace("none", "")
    weight = "10 lb or more" if Decimal(batch.weight_lb) >= _HEAVY else "under 10 lb"
    return f"{batch.oven}, {weight}"


def _judge_unit(subject: Subject, register: Register, as_of: datetime) -> Iterator[Finding]:
    """Judge a unit's checks, each by the limits and the unit's settings of its own moment."""
    for readings, until in _sessions(subject, register, as_of):
        judged = [(reading_of(entry, register), _limit_at(entry, register)) for entry in readings]
        runs = [list(run) for _, run in groupby(judged, key=lambda pair: pair[1])]
        for i, run in enumerate(runs):
            limit = run[0][1]
            evidence = [reading for reading, _ in run]
            before = runs[i - 1][-1:] if i else []
            after = runs[i + 1][:1] if i + 1 < len(runs) else []
            neighbours = [reading for reading, _ in (*before, *after)]
            step = evidence[0].step
            following = after[0][0].at if after else until
            yield from judge_holding(step, evidence, limit, neighbours)
            for reading, end in zip(
                evidence, [*(r.at for r in evidence[1:]), following], strict=True
            ):
                gap = _longest_gap(subject.name, reading.at, register)
                yield from missed_checks(step, [reading], limit, gap, end)


def _limit_at(entry: Entry, register: Register) -> Limit:
    body = entry.body
    assert isinstance(body, Measured)  # sessions hold nothing else
    unit = register.unit_at(entry.unit or "", entry.at)
    return register.limits_at(entry.at).get(_unit_limit(unit, Step(body.step)))


def _longest_gap(name: str, at: datetime, register: Register) -> timedelta:
    grace = register.kitchen_at(at).grace_min
    return timedelta(minutes=register.unit_at(name, at).every_min + grace)


def _sessions(
    subject: Subject, register: Register, as_of: datetime
) -> Iterator[tuple[list[Entry], datetime]]:
    """Cut a unit's checks where it was emptied or retired, or held the other way."""
    retired = register.retired_at(subject.name)
    session: list[Entry] = []
    for entry in sorted(subject.in_force, key=lambda entry: entry.at):
        if entry.at > as_of:
            break
        body = entry.body
        if isinstance(body, UnitEmptied) and session:
            yield session, entry.at
            session = []
        elif isinstance(body, Measured) and body.step in HOLDING_LIMIT:
            if session and not _is_step(session[-1], Step(body.step)):
                yield session, entry.at
                session = []
            session.append(entry)
    if session:
        yield session, as_of if retired is None else min(as_of, max(retired, session[-1].at))


def read_batches(record: Record, codes: Sequence[str]) -> list[Subject]:
    """Read batches with all their entries, in the order in which they were opened."""
    corrected = record.corrected()
    entries = record.entries(batches=codes)
    found = [e for e in entries if isinstance(e.body, BatchOpened) and e.seq not in corrected]
    return [
        Subject(
            name=opened.batch or "",
            entries=tuple(entry for entry in entries if entry.batch == opened.batch),
            corrected=corrected,
            pasts=_pasts(record, opened),
        )
        for opened in sorted(found, key=lambda entry: (entry.at, entry.seq))
    ]


def _pasts(record: Record, opened: Entry) -> tuple[Past, ...]:
    """Read what was entered about the batches that one is a portion of, through any depth."""
    body = opened.body
    assert isinstance(body, BatchOpened)  # the caller picks openings
    if not body.portion_of:
        return ()
    # one that claims to be a portion of a later batch, or of itself, is a forger's
    earlier = [e for e in record.entries(batches=body.portion_of) if e.seq < opened.seq]
    codes = [e.batch for e in earlier if isinstance(e.body, BatchOpened) and e.batch]
    pasts: dict[object, Past] = {}
    for whole in read_batches(record, codes):
        own = [entry for entry in whole.in_force if isinstance(entry.body, _HANDED_ON)]
        for past in whole.histories:
            until = [entry for entry in (*past.entries, *own) if entry.at <= opened.at]
            until.sort(key=lambda entry: (entry.at, entry.seq))
            one = Past(past.began, tuple(until))
            pasts[one.began, one.numbers] = one
    return tuple(pasts.values())


def read_units(
    record: Record, register: Register, names: Sequence[str], since: datetime, until: datetime
) -> list[Subject]:
    """Read holding units with their entries about moments in [since, until)."""
    corrected = record.corrected()
    entries = record.entries(units=names, since=since, until=until)
    return [
        Subject(
            name=name,
            entries=tuple(entry for entry in entries if entry.unit == name),
            corrected=corrected,
            unit=register.units[name],
        )
        for name in names
    ]


def lineage(record: Record, code: str) -> dict[str, Subject]:
    """Read a batch and, through any depth, those that it was made from or taken from."""
    known: dict[str, Subject] = {}
    wanted = [code]
    while wanted:
        found = read_batches(record, wanted)
        known.update({batch.name: batch for batch in found})
        wanted = [part for batch in found for part in batch.comes_from if part not in known]
    return known


@dataclass(frozen=True, slots=True)
class Relation:
    """A batch at some distance from the one asked about: how far, and how it is related."""

    depth: int
    batch: Subject
    how: str


def came_from(record: Record, code: str) -> list[Relation]:
    """Follow a batch back to everything that is in it, through any depth; each is told of once."""
    known = lineage(record, code)
    told: set[str] = set()

    def back(name: str, depth: int) -> Iterator[Relation]:
        for part in _parts(known[name], known):
            if part in told:
                continue
            told.add(part)
            how = "taken from" if part in known[name].batch.portion_of else "made from"
            yield Relation(depth, known[part], how)
            yield from back(part, depth + 1)

    return list(back(code, 1))


def _parts(batch: Subject, known: Mapping[str, Subject]) -> list[str]:
    """Give the codes of what a batch comes from; nothing comes from itself or what came later."""
    earlier = batch.opened.seq
    return [one for one in batch.comes_from if one in known and known[one].opened.seq < earlier]


def went_into(record: Record, code: str) -> list[Relation]:
    """Follow a batch forward to everything that holds some of it, each once: the recall view."""
    corrected = record.corrected()
    opened = [e for e in record.entries(kinds=(BatchOpened.kind,)) if e.seq not in corrected]
    found: list[Relation] = []
    told: set[str] = set()

    def forward(name: str, since: int, depth: int) -> None:
        for entry in opened:
            body = entry.body
            assert isinstance(body, BatchOpened)  # nothing else was asked for
            portion = name in body.portion_of
            holds = portion or name in body.made_from
            if entry.batch and entry.seq > since and holds and entry.batch not in told:
                told.add(entry.batch)
                (batch,) = read_batches(record, [entry.batch])
                found.append(Relation(depth, batch, "a portion" if portion else "went into"))
                forward(entry.batch, entry.seq, depth + 1)

    forward(code, 0, 1)
    return found


def every_code(record: Record) -> list[str]:
    """Give the codes of all batches ever opened, oldest first."""
    corrected = record.corrected()
    opened = record.entries(kinds=(BatchOpened.kind,))
    return [entry.batch or "" for entry in opened if entry.seq not in corrected]


_LIFE = (BatchOpened.kind, *(end.kind for end in _ENDS))


def codes_between(record: Record, begins: datetime, ends: datetime) -> list[str]:
    """Give the codes of the batches of which something was left in [begins, ends), oldest first."""
    corrected = record.corrected()
    entries = record.entries(kinds=_LIFE)
    entries = [entry for entry in entries if entry.seq not in corrected]
    gone = {
        entry.batch
        for entry in entries
        if not isinstance(entry.body, BatchOpened) and max(entry.at, entry.entered_at) < begins
    }
    opened = [e for e in entries if isinstance(e.body, BatchOpened) and e.at < ends]
    return [entry.batch for entry in opened if entry.batch and entry.batch not in gone]


def open_codes(record: Record) -> list[str]:
    """Give the codes of the batches of which something is left, newest first."""
    return list(dict.fromkeys(open_names(record).values()))


def open_names(record: Record) -> dict[str, str]:
    """Give what each batch of which something is left is called, and its code; newest first.

    That is its code, and what its container was called last.
    """
    corrected = record.corrected()
    entries = record.entries(kinds=(*_LIFE, Renamed.kind))
    entries = [entry for entry in entries if entry.seq not in corrected]
    gone = {entry.batch for entry in entries if isinstance(entry.body, _ENDS)}
    opened = [entry.batch for entry in entries if isinstance(entry.body, BatchOpened)]
    called = {e.batch: e.body.name for e in entries if isinstance(e.body, Renamed)}
    names: dict[str, str] = {}
    for code in reversed(opened):
        if code and code not in gone:
            names[code] = code
            names.setdefault(called.get(code, code), code)
    return names


def date_mark(record: Record, register: Register, code: str, now: datetime) -> date | None:
    """Give a batch's last day as of now, kept through any depth of what it was made from.

    None for food that was delivered raw and has no date of its maker's: the mark is for TCS food
    that is ready to eat. Source: Food Code 2022 3-501.17, 3-501.18.
    """
    batches = lineage(record, code)
    if batches[code].is_outside_the_limits:
        return None
    return _date_mark(code, batches, register, now)


def _date_mark(
    code: str, batches: Mapping[str, Subject], register: Register, now: datetime
) -> date | None:
    batch = batches[code]
    opened, body = batch.opened.at, batch.batch

    def local(moment: datetime) -> date:
        return moment.astimezone(register.zone).date()

    parts = [
        mark
        for part in _parts(batch, batches)
        if (mark := _date_mark(part, batches, register, opened))
    ]
    maker = [date.fromisoformat(body.use_by)] if body.use_by else []
    if body.received_as and not parts:
        return min(maker, default=None)
    limit = register.limits_at(opened).get("date-mark")
    made = None if body.portion_of and parts else local(opened)
    frozen = [(local(a), local(b) if b else None) for a, b in frozen_times(batch, now)]
    return min([last_day(made, parts, limit, frozen=frozen, today=local(now)), *maker])


def frozen_times(batch: Subject, now: datetime) -> list[tuple[datetime, datetime | None]]:
    """Give when a batch was frozen and thawed up to now; None for one that is still frozen.

    A freezing that was entered long after its moment counts from its entry, as an end does.
    """
    told = {
        entry: _told_at(entry) if isinstance(entry.body, Frozen) else entry.at
        for entry in batch.in_force
        if isinstance(entry.body, Frozen | Thawed)
    }
    times: list[tuple[datetime, datetime | None]] = []
    for entry, at in sorted(told.items(), key=lambda pair: pair[1]):
        still = bool(times) and times[-1][1] is None
        if at > now:
            break
        if isinstance(entry.body, Frozen) and not still:
            times.append((at, None))
        elif isinstance(entry.body, Thawed) and still:
            times[-1] = (times[-1][0], at)
    return times


def is_frozen(batch: Subject, now: datetime) -> bool:
    times = frozen_times(batch, now)
    return bool(times) and times[-1][1] is None


def past_its_day(
    record: Record, register: Register, batch: Subject, as_of: datetime
) -> Finding | None:
    """Find that a batch is on its last day, or that something is left of it after that.

    Its days end as it is frozen or comes under time as a control; what was past them by then
    stays so. Source: Food Code 2022 3-501.18.
    """
    mark = date_mark(record, register, batch.name, as_of)
    if mark is None:
        return None
    frozen = [froze for froze, thawed in frozen_times(batch, as_of) if thawed is None]
    timed = batch.timed_since if batch.timed_since and batch.timed_since <= as_of else None
    stopped = [*frozen, *(moment for moment in (timed, batch.ended) if moment)]
    due = day_starts(mark + timedelta(days=1), register.zone)
    if min(stopped, default=as_of) > due:
        verdict, reason = Verdict.NOT_MET, Reason.PAST_ITS_DAY
    elif not stopped and as_of >= day_starts(mark, register.zone):
        verdict, reason = Verdict.OPEN, Reason.LAST_DAY
    else:
        return None
    return Finding(
        step=Step.COLD_HOLD,
        limit=register.limits_at(batch.opened.at).get("date-mark"),
        verdict=verdict,
        reason=reason,
        readings=(),
        due=due,
        since=due if verdict.is_deviation else None,
    )


def find(name: str, among: Sequence[str] | Mapping[str, str], what: str) -> str:
    """Find the one meant: a name typed whole, or the beginning of the names of just one.

    Where `among` maps names, gives what the name stands for. Raises Refused, naming the choices,
    where there is none or more than one.
    """
    wanted = name.casefold()
    if not wanted:
        raise Refused(f"The name of the {what} is empty: type its beginning.")
    names = among if isinstance(among, Mapping) else {one: one for one in among}
    exact = [one for one in names if one.casefold() == wanted]
    begun = exact or [one for one in names if one.casefold().startswith(wanted)]
    meant = list(dict.fromkeys(names[one] for one in begun))
    if len(meant) == 1:
        return meant[0]
    if meant:
        raise Refused(f"{name!r} could be {_few(begun, ' or ')}: type more of it.")
    known = f": type one of {_few(list(names), ', ')}" if names else ""
    raise Refused(f"There is no {what} {name!r}{known}.")


def find_known(name: str, record: Record, units: Sequence[str]) -> str:
    """Find a batch or unit meant: by its whole code, else an open batch before one that is gone."""
    what = "batch or unit" if units else "batch"
    theirs = {unit: unit for unit in units}
    every = every_code(record)
    whole = next((code for code in every if code.casefold() == name.casefold()), None)
    if whole:  # not the portion of it that is still there
        return whole
    try:
        return find(name, open_names(record) | theirs, what)
    except Refused:
        return find(name, [*every, *units], what)


def _few(names: Sequence[str], between: str) -> str:
    shown = between.join(names[:8])
    return shown if len(names) <= 8 else f"{shown}{between}another of {len(names)}"
