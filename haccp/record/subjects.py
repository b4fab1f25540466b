"""Batches and holding units: all that was entered about them, and what the rules say of it."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal, InvalidOperation
from itertools import groupby

from haccp.errors import Refused
from haccp.limits import Limit
from haccp.record.entries import (
    BatchOpened,
    CorrectiveAction,
    Discarded,
    Entry,
    HoldingUnit,
    Measured,
    UnitEmptied,
    UsedUp,
)
from haccp.record.register import Register
from haccp.record.store import Record
from haccp.rules.batch import HOLDING_LIMIT, Batch, judge_batch
from haccp.rules.datemark import last_day
from haccp.rules.evidence import Finding, Reading, Step, Verdict
from haccp.rules.holding import judge_holding, missed_checks
from haccp.temperature import Degree, Temperature

# An entry this long after its moment is a late one: common practice, no source.
LATE = timedelta(minutes=15)


@dataclass(frozen=True, slots=True, kw_only=True)
class Subject:
    """A batch or a holding unit: its name and its entries in their order, corrected ones included.

    `corrected` maps the number of an entry to that of the one that replaced it. `unit` is None
    for a batch.
    """

    name: str
    entries: tuple[Entry, ...]
    corrected: Mapping[int, int]
    unit: HoldingUnit | None = None

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
        return self.name if self.unit else f"{self.batch.food} ({self.name})"

    @property
    def end(self) -> Entry | None:
        """The entry that says that nothing of the batch is left."""
        ends = [entry for entry in self.in_force if isinstance(entry.body, Discarded | UsedUp)]
        return min(ends, key=lambda entry: entry.at, default=None)

    @property
    def ended(self) -> datetime | None:
        """From when on nothing is left of the batch, as far as that can be relied on.

        An end that was entered long after its moment counts from its entry, and no end counts
        before the last reading: neither may take a deviation back that was there by then.
        """
        end = self.end
        if end is None:
            return None
        told = end.entered_at if end.entered_at - end.at > LATE else end.at
        return max([told, *(entry.at for entry in self.readings)])

    def answers_to(self, finding: Finding, known: Sequence[datetime]) -> tuple[Entry, ...]:
        """Find what was done about a deviation since it could be known, the first first.

        `known` are the moments of all its deviations: what follows the first action and a later
        deviation answers that one. What was entered before the evidence was answers nothing.
        """
        if finding.since is None:
            return ()
        evident = self.evident_at(finding)
        acts = [e for e in self.in_force if isinstance(e.body, CorrectiveAction | Discarded)]
        since = [e for e in acts if e.at >= finding.since and e.entered_at >= evident]
        done = sorted(since, key=lambda entry: entry.at)
        later = min((moment for moment in known if done and moment > done[0].at), default=None)
        return tuple(entry for entry in done if later is None or entry.at < later)

    def evident_at(self, finding: Finding) -> datetime:
        """When the record first held what shows a deviation: its last entry up to that moment."""
        assert finding.since is not None  # only deviations are asked about
        rests_on = {r.ref for r in finding.readings if r.at <= finding.since}
        entered = [entry.entered_at for entry in self.entries if str(entry.seq) in rests_on]
        return max(entered, default=finding.since)

    def judged(self, register: Register, as_of: datetime) -> tuple[Finding, ...]:
        """Judge it as of a moment, by the limits that were in force when it began."""
        if self.unit:
            return tuple(_judge_unit(self, register, as_of))
        kitchen = register.kitchen_at(self.opened.at)
        gap = timedelta(minutes=kitchen.check_every_min + kitchen.grace_min)
        evidence = Batch(
            readings=tuple(reading_of(entry, register) for entry in self.readings),
            kind=self.batch.food_kind,
            ended=self.ended,
            discarded=self.end is not None and isinstance(self.end.body, Discarded),
            prepared=self.opened.at if self.batch.ambient else None,
            longest_gap=gap,
        )
        return judge_batch(evidence, register.limits_at(self.opened.at), as_of)

    def last_check(self, now: datetime) -> datetime | None:
        """When what it holds was last checked; None if it holds nothing that is checked."""
        past = [entry for entry in self.in_force if entry.at <= now]
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
        )
    except (ValueError, InvalidOperation):
        raise Refused(f"Entry no. {entry.seq} was altered: ask haccp record verify.") from None


def _is_step(entry: Entry, step: Step) -> bool:
    return isinstance(entry.body, Measured) and entry.body.step == step


def held_to(
    subject: Subject, reading: Reading, register: Register, findings: Sequence[Finding]
) -> Limit:
    """Give the limit that one holding reading of a subject is judged by."""
    began = reading.at if subject.unit else subject.opened.at
    cooked = any(f.step is Step.COOK and f.verdict is Verdict.MET for f in findings)
    kind = subject.batch.food_kind if not subject.unit and cooked else ""
    return register.limits_at(began).get(HOLDING_LIMIT[reading.step], kind)


def unit_step(unit: HoldingUnit) -> Step:
    return Step.HOT_HOLD if unit.holds == "hot" else Step.COLD_HOLD


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
    return register.limits_at(entry.at).get(HOLDING_LIMIT[Step(body.step)])


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
        )
        for opened in sorted(found, key=lambda entry: (entry.at, entry.seq))
    ]


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
    """Read a batch and, through any depth, those that it was made from."""
    known: dict[str, Subject] = {}
    wanted = [code]
    while wanted:
        found = read_batches(record, wanted)
        known.update({batch.name: batch for batch in found})
        wanted = [part for batch in found for part in batch.batch.made_from if part not in known]
    return known


def every_code(record: Record) -> list[str]:
    """Give the codes of all batches ever opened, oldest first."""
    corrected = record.corrected()
    opened = record.entries(kinds=(BatchOpened.kind,))
    return [entry.batch or "" for entry in opened if entry.seq not in corrected]


def codes_between(record: Record, begins: datetime, ends: datetime) -> list[str]:
    """Give the codes of the batches of which something was left in [begins, ends), oldest first."""
    corrected = record.corrected()
    entries = record.entries(kinds=(BatchOpened.kind, Discarded.kind, UsedUp.kind))
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
    corrected = record.corrected()
    entries = record.entries(kinds=(BatchOpened.kind, Discarded.kind, UsedUp.kind))
    entries = [entry for entry in entries if entry.seq not in corrected]
    gone = {entry.batch for entry in entries if not isinstance(entry.body, BatchOpened)}
    opened = [entry.batch for entry in entries if isinstance(entry.body, BatchOpened)]
    return [code for code in reversed(opened) if code and code not in gone]


def use_by(code: str, batches: Mapping[str, Subject], register: Register) -> date:
    """Give a batch's date mark, kept through any depth of what it was made from."""
    batch = batches[code]
    parts = [use_by(part, batches, register) for part in batch.batch.made_from if part in batches]
    made = batch.opened.at.astimezone(register.zone).date()
    return last_day(made, parts, register.limits_at(batch.opened.at).get("date-mark"))


def find(name: str, among: Sequence[str], what: str) -> str:
    """Find the one name meant: typed whole, or the beginning of just one.

    Raises Refused, naming the choices, where there is none or more than one.
    """
    wanted = name.casefold()
    if not wanted:
        raise Refused(f"The name of the {what} is empty: type its beginning.")
    exact = [one for one in among if one.casefold() == wanted]
    begun = exact or [one for one in among if one.casefold().startswith(wanted)]
    if len(begun) == 1:
        return begun[0]
    if begun:
        raise Refused(f"{name!r} could be {_few(begun, ' or ')}: type more of it.")
    known = f": type one of {_few(among, ', ')}" if among else ""
    raise Refused(f"There is no {what} {name!r}{known}.")


def find_known(name: str, record: Record, units: Sequence[str]) -> str:
    """Find a batch or unit meant, an open batch before one that is gone."""
    try:
        return find(name, [*open_codes(record), *units], "batch or unit")
    except Refused:
        return find(name, [*every_code(record), *units], "batch or unit")


def _few(names: Sequence[str], between: str) -> str:
    shown = between.join(names[:8])
    return shown if len(names) <= 8 else f"{shown}{between}another of {len(names)}"
