"""What a manager looks at: deviations and whether they were answered, and what is still open."""

from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from functools import partial
from zoneinfo import ZoneInfo

from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.branch_words import branch_in_words, undecided_branches
from haccp.kitchen.datemarks import all_found
from haccp.kitchen.naming import open_codes
from haccp.kitchen.on_record import OnRecord, outlives
from haccp.kitchen.reading import read_batches, read_units
from haccp.kitchen.readings_as_evidence import reading_of
from haccp.kitchen.register import Register
from haccp.kitchen.selection import WHOLE, Selection
from haccp.kitchen.taken_back import taken_back
from haccp.kitchen.units import UnitOnRecord
from haccp.kitchen.unreadable import unreadable
from haccp.language import phrase
from haccp.record.branches import Branch
from haccp.record.entries import Entry
from haccp.record.lookup import Settled
from haccp.record.store import Record
from haccp.record.threads import about_batch, about_unit
from haccp.rules.evidence import Finding, Reason, Step, Verdict
from haccp.rules.remedies import SAVED_WITHIN, Option, options
from haccp.time import day_and_clock, day_starts

# A batch or a unit's checks may have begun this long before the days looked at and still decide
# what is found in them; four days cover a roast, its stew and a weekend.
_BEFORE = timedelta(days=4)


def walked(record: Record, first: date, last: date, zone: ZoneInfo) -> Record:
    """Give a record of which all that may decide about kitchen days is read by number."""
    begins, ends = day_starts(first, zone), day_starts(last + timedelta(days=1), zone)
    return record.walked(begins - _BEFORE, ends)


@dataclass(frozen=True, slots=True)
class Looked:
    """One thing that was found about a batch or unit: what decided it, of food what became of it;
    and what people wrote that was done about it.
    """

    subject: OnRecord
    finding: Finding
    decided_by: tuple[Entry, ...]
    notes: tuple[Entry, ...]

    @property
    def is_undecided(self) -> bool:
        is_bare = self.finding.verdict.is_deviation and not self.decided_by
        return is_bare and not self.subject.is_divided

    @property
    def answers(self) -> list[Entry]:
        """All that was done about it, in order."""
        every = {entry.seq: entry for entry in (*self.decided_by, *self.notes)}
        return sorted(every.values(), key=lambda entry: (entry.at, entry.seq))


@dataclass(frozen=True, slots=True, kw_only=True)
class Review:
    """What stands in the record about a run of days, judged as of a moment.

    `unreadable` has a sentence for each entry that cannot be read: of these days, of these batches
    and units, and of what stands beside the readings.
    """

    begins: datetime
    ends: datetime
    batches: tuple[BatchOnRecord, ...]
    units: tuple[UnitOnRecord, ...]
    found: tuple[Looked, ...]
    unreadable: tuple[str, ...]

    @property
    def deviations(self) -> list[Looked]:
        """The deviations in the order in which they could be known."""
        found = [one for one in self.found if one.finding.verdict.is_deviation]
        return sorted(found, key=lambda one: one.finding.since or self.begins)

    @property
    def undecided(self) -> list[Looked]:
        return [one for one in self.found if one.is_undecided]

    @property
    def open(self) -> list[Looked]:
        return [one for one in self.found if one.finding.verdict is Verdict.OPEN]

    def of(self, subject: OnRecord) -> list[Looked]:
        return [one for one in self.found if one.subject is subject]


def review(
    record: Record,
    register: Register,
    first: date,
    last: date,
    as_of: datetime,
    *,
    only: Selection = WHOLE,
) -> Review:
    """Review kitchen days `first` to `last`, both included, as of a moment; `only` what it needs.

    A batch belongs to the days in which anything was entered about it or a deviation of it came
    to be, and is judged whole. A deviation is counted on the day on which it could first be known,
    one of a holding on every day that it touches.
    """
    begins = day_starts(first, register.zone)
    ends = day_starts(last + timedelta(days=1), register.zone)
    during = {code for code in record.batches_during(begins, ends) if only.may_take(code)}
    alive = {one.name for one in left_in(record, begins, ends, only)}
    batches = read_batches(record, sorted(alive | during))
    units = read_units(record, register, list(register.units), begins - _BEFORE, ends)
    found = [
        one
        for subject in (*batches, *units)
        if only.needs(subject)
        for one in _looked(subject, record, register, as_of)
        if _belongs(one, begins, ends) or _is_asked_for(one, only)
    ]
    named = {one.subject.name for one in found if one.finding.verdict.is_deviation}
    return Review(
        begins=begins,
        ends=ends,
        batches=tuple(batch for batch in batches if batch.name in {*during, *named}),
        units=tuple(units),
        found=tuple(found),
        unreadable=_unreadable(
            *register.unreadable, *(e for one in (*batches, *units) for e in one.entries)
        ),
    )


def left_in(
    record: Record, begins: datetime, ends: datetime, only: Selection = WHOLE
) -> Iterator[BatchOnRecord]:
    """Read the batches of which something was left in [begins, ends); `only` those it may take."""
    left = (known.code for known in record.batches_left(begins, ends))
    codes = [code for code in left if only.may_take(code)]
    for batch in read_batches(record, codes):
        end = batch.end
        if batch.opened.at < ends and (end is None or max(end.at, end.entered_at) >= begins):
            yield batch


def _unreadable(*entries: Entry) -> tuple[str, ...]:
    told = {entry.seq: words for entry, words in unreadable(entries)}
    return tuple(told[seq] for seq in sorted(told))


def lasted(finding: Finding) -> datetime:
    """Say until when a deviation lasted as far as it was seen; a cooling's is of its moment."""
    assert finding.since is not None  # only deviations are asked about
    if finding.reason is Reason.BESIDE:
        return finding.due or finding.since
    if finding.reason is Reason.PAST_ITS_DAY:
        return finding.since + (finding.longest or timedelta(0))
    if finding.gap:
        return finding.gap[1]
    if finding.step in (Step.HOT_HOLD, Step.COLD_HOLD) and finding.readings:
        return max(finding.since, finding.readings[-1].at)
    return finding.since


def _is_asked_for(one: Looked, only: Selection) -> bool:
    """Whether it was found of a food that was asked for by name, on whatever day."""
    is_food = isinstance(one.subject, BatchOnRecord) and only.names(one.subject)
    return is_food and one.finding.reason is not Reason.LAST_DAY


def _belongs(one: Looked, begins: datetime, ends: datetime) -> bool:
    finding = one.finding
    if finding.verdict.is_deviation:
        return finding.since is not None and finding.since < ends and lasted(finding) >= begins
    if finding.reason is Reason.LAST_DAY:
        return finding.due is not None and begins < finding.due <= ends
    return any(begins <= reading.at < ends for reading in finding.readings)


@dataclass(frozen=True, slots=True)
class Matter:
    """Something to do; without a finding it is what `words` say, and `verdict` what it is in one.

    `name` is what it is about as a person types it, `title` as a person reads it. `due` is the
    safe deadline, the moment of a deviation that nobody has answered, or None where the limit sets
    no time.
    """

    due: datetime | None
    name: str
    title: str
    finding: Finding | None = None
    subject: OnRecord | None = None
    branch: Branch | None = None
    verdict: str = ""
    words: str = field(default_factory=lambda: phrase("Next check."))


@dataclass(frozen=True, slots=True)
class _Unsettled:
    """What was not noted to be settled, of the last week and of what is open: judged anew."""

    begins: datetime
    batches: Sequence[BatchOnRecord]
    units: Sequence[UnitOnRecord]
    found: Mapping[str, Sequence[Looked]]
    matters: Mapping[str, Sequence[Matter]]

    @property
    def subjects(self) -> tuple[OnRecord, ...]:
        return (*self.batches, *self.units)


def _unsettled_now(
    record: Record, register: Register, now: datetime, *, by_notes: bool = True
) -> _Unsettled:
    today = now.astimezone(register.zone).date()
    begins = day_starts(today - timedelta(days=6), register.zone)
    ends = day_starts(today + timedelta(days=1), register.zone)
    there = open_codes(record)
    codes = {*there, *(known.code for known in record.batches_left(begins, ends))}
    codes |= record.batches_during(begins, ends)
    threads = (*map(about_batch, codes), *map(about_unit, register.units))
    done = record.settled(*threads) if by_notes else {}
    # what is entered beside the record says nothing to its threads
    for name in (name for one in register.branches for name in one.about):
        done.pop(about_batch(name), None)
        done.pop(about_unit(name), None)
    left = codes - {code for code in codes if done.get(about_batch(code), _NEVER).is_whole}
    batches = read_batches(record, left)
    since = {name: noted.until for name, noted in done.items()}
    units = read_units(record, register, list(register.units), begins - _BEFORE, ends, since)
    found = {
        subject.name: [
            one
            for one in _looked(subject, record, register, now)
            if subject.name in there or _belongs(one, begins, ends)
        ]
        for subject in (*batches, *units)
    }
    matters = {name: list(_unsettled(ones, register)) for name, ones in found.items()}
    for matter in _taken_back((*batches, *units), register, now):
        matters[matter.name].append(matter)
    return _Unsettled(begins, batches, units, found, matters)


_NEVER = Settled(until=0, last=-1)


def matters(record: Record, register: Register, now: datetime) -> list[Matter]:
    """List what is open or unanswered, the least time left first; last what is long over.

    A deviation of the last week, or of any batch of which something is left, counts until a
    corrective action, or the manager's signature under its day, answers it.
    """
    unsettled = _unsettled_now(record, register, now)
    looks = {unit.name: unit.next_look(register, now) for unit in unsettled.units}
    watched = {name for name, look in looks.items() if look}
    open_now = [
        *(matter for matters in unsettled.matters.values() for matter in matters),
        *(
            matter
            for subject in unsettled.subjects
            for matter in _next_check(
                subject, unsettled.found[subject.name], watched, register, now
            )
        ),
        *_thermometers_due(register, now),
        *_not_read(register, unsettled.subjects),
        *_parted(register),
    ]
    lost = now - SAVED_WITHIN
    return sorted(
        open_now,
        key=lambda one: (
            one.due is not None or not one.verdict,
            one.due is not None and one.due < lost,
            one.due is None,
            one.due or now,
            one.name,
        ),
    )


def note_settled(record: Record, register: Register, now: datetime) -> None:
    """Note of what nothing is undecided: batches of which nothing is left, units as they stand.

    They are not judged again for a look at what is open, until something is entered about them or
    something that reaches back. No page and no signature rests on it.
    """
    unsettled = _unsettled_now(record, register, now)
    quiet = [name for name, matters in unsettled.matters.items() if not matters]
    threads = [
        *(about_batch(one.name) for one in unsettled.batches if one.end and one.name in quiet),
        *(about_unit(one.name) for one in unsettled.units if one.entries and one.name in quiet),
    ]
    if threads and not record.troubles:
        record.settle(threads, unsettled.begins - _BEFORE)


def misnoted(record: Record, register: Register, now: datetime) -> list[str]:
    """Say which notes that nothing is undecided hide something that is."""
    noted = _unsettled_now(record, register, now)
    judged = _unsettled_now(record, register, now, by_notes=False)
    return [
        phrase("what is noted of {name} hides what is undecided.", name=name)
        for name, matters in judged.matters.items()
        if len(matters) > len(noted.matters.get(name, ()))
    ]


def _not_read(register: Register, subjects: Iterable[OnRecord]) -> Iterator[Matter]:
    """Tell of each entry that cannot be read: what it says is missing from all the rest."""
    theirs = (entry for subject in subjects for entry in subject.entries)
    for words in _unreadable(*register.unreadable, *theirs):
        title = phrase("the record")
        yield Matter(None, "the record", title, verdict=Verdict.NOT_SHOWN, words=words)


def _parted(register: Register) -> Iterator[Matter]:
    """Tell of each branch that nobody decided: what it holds is missing from the record."""
    for one in undecided_branches(register):
        title = phrase("a branch beside the record")
        words = branch_in_words(one)
        yield Matter(
            one.known_at, one.name, title, branch=one, verdict=Verdict.NOT_SHOWN, words=words
        )


def _taken_back(
    subjects: Iterable[OnRecord], register: Register, now: datetime
) -> Iterator[Matter]:
    """Keep in sight, until a manager signs their day, readings put right by who took them."""
    for one in taken_back(subjects, register, now):
        if not one.is_seen(register):
            words = one.words(partial(day_and_clock, now=now, zone=register.zone))
            subject = one.subject
            yield Matter(
                one.reading.at,
                subject.name,
                subject.title,
                subject=subject,
                verdict="taken back",
                words=words,
            )


def _looked(subject: OnRecord, record: Record, register: Register, as_of: datetime) -> list[Looked]:
    return _decided(subject, all_found(subject, record, register, as_of), register)


def _decided(subject: OnRecord, found: Sequence[Finding], register: Register) -> list[Looked]:
    return [
        Looked(
            subject,
            finding,
            subject.decided_by(finding, found, register) if finding.verdict.is_deviation else (),
            subject.notes_on(finding) if finding.verdict.is_deviation else (),
        )
        for finding in found
    ]


def undecided(
    subject: OnRecord, findings: Sequence[Finding], register: Register
) -> Iterator[Finding]:
    """Pick the deviations that nobody decided, the worst first, and of those the oldest.

    A signature under its day decides one of a unit, and of food of which nothing is left.
    """
    left = [
        one.finding
        for one in _decided(subject, findings, register)
        if one.is_undecided and not _signed(one, register)
    ]
    order = list(Verdict)
    return iter(sorted(left, key=lambda one: (order.index(one.verdict), one.since or _EARLY)))


_EARLY = datetime.min.replace(tzinfo=UTC)


def _unsettled(found: Iterable[Looked], register: Register) -> Iterator[Matter]:
    """Pick what is open or undecided; of all that a branch leaves without proof, one is enough."""
    beside = set()
    for one in found:
        finding, subject = one.finding, one.subject
        is_undecided = one.is_undecided and not _signed(one, register)
        if finding.reason is Reason.BESIDE and is_undecided:
            if subject.name in beside:
                continue
            beside.add(subject.name)
        if finding.verdict is Verdict.OPEN:
            yield Matter(finding.due, subject.name, subject.title, finding, subject)
        elif is_undecided:
            yield Matter(finding.since, subject.name, subject.title, finding, subject)


def _signed(one: Looked, register: Register) -> bool:
    """Whether a manager signed the day of a deviation after the record showed it.

    That settles the day. Food of which something is left is settled by what is done about it.
    """
    since = one.finding.since
    if since is None or one.subject.is_left:
        return False
    day = since.astimezone(register.zone).date()
    signature = register.signed(day)
    if signature is None or signature.entered_at < since:
        return False
    late = outlives(one.finding, signature.entered_at)
    return not late and register.signed_up_to(day) > one.subject.shown_by(one.finding)


def _next_check(
    subject: OnRecord,
    found: Sequence[Looked],
    watched: Container[str],
    register: Register,
    now: datetime,
) -> Iterator[Matter]:
    """Say when what is held is to be checked next, unless that check is a missed one already.

    A unit that is `watched` says so itself; of one that nobody read yet, the food in it does.
    """
    missed = [one.finding.due for one in found if one.finding.gap and one.is_undecided]
    heating = any(
        one.finding.step in (Step.COOK, Step.REHEAT) and one.finding.verdict is Verdict.OPEN
        for one in found
    )
    runs_alone = isinstance(subject, BatchOnRecord) and subject.said_look
    look = None if heating and not runs_alone else subject.next_look(register, now)
    if look and look.unit not in watched and not any(due and due >= look.at for due in missed):
        yield Matter(look.at, subject.name, subject.title, subject=subject)


def _thermometers_due(register: Register, now: datetime) -> Iterator[Matter]:
    """Say when each thermometer in use is to be checked next, by the kitchen's interval."""
    every = timedelta(days=register.kitchen.thermometer_days)
    for one in register.thermometers.values():
        if every and one.active:
            checks = register.checks_of(one.label, now)
            last = checks[-1][0] if checks else register.settings[0].at - every
            title = phrase("thermometer {label}", label=one.label)
            yield Matter(last + every, one.label, title)


def remedies(
    subject: OnRecord, record: Record, register: Register, now: datetime
) -> list[tuple[Finding, tuple[Option, ...]]]:
    """Propose what is usual for each deviation that nobody has answered, and what is still open."""
    taken = [reading for entry in subject.readings if (reading := reading_of(entry, register))]
    return [
        (
            one.finding,
            options(
                one.finding,
                last=taken[-1] if taken else None,
                now=now,
                late_reheat=register.kitchen_at(now).late_reheat,
            ),
        )
        for one in _looked(subject, record, register, now)
        if one.is_undecided or one.finding.verdict is Verdict.OPEN
    ]
