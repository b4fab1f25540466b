"""Batches and holding units: all that was entered about them, and what the rules say of it."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

from haccp.errors import Refused
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
from haccp.rules.evidence import Finding, Reading, Step
from haccp.rules.holding import judge_holding, missed_checks
from haccp.temperature import Degree, Temperature


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
    def ended(self) -> datetime | None:
        """When the batch was discarded or used up."""
        ends = [e.at for e in self.in_force if isinstance(e.body, Discarded | UsedUp)]
        return min(ends, default=None)

    def answers_to(self, finding: Finding, known: Sequence[datetime]) -> tuple[Entry, ...]:
        """Find what was done about a deviation since it could be known, the first first.

        `known` are the moments of all its deviations: what follows the first action and a later
        deviation answers that one.
        """
        if finding.since is None:
            return ()
        acts = [e for e in self.in_force if isinstance(e.body, CorrectiveAction | Discarded)]
        done = sorted((e for e in acts if e.at >= finding.since), key=lambda entry: entry.at)
        later = min((moment for moment in known if done and moment > done[0].at), default=None)
        return tuple(entry for entry in done if later is None or entry.at < later)

    def judged(self, register: Register, as_of: datetime) -> tuple[Finding, ...]:
        """Judge it as of a moment, by the limits that were in force when it began."""
        if self.unit:
            return tuple(_judge_unit(self, self.unit, register, as_of))
        kitchen = register.kitchen_at(self.opened.at)
        gap = timedelta(minutes=kitchen.check_every_min + kitchen.grace_min)
        evidence = Batch(
            readings=tuple(reading_of(entry, register) for entry in self.readings),
            kind=self.batch.food_kind,
            ended=self.ended,
            prepared=self.opened.at if self.batch.ambient else None,
            longest_gap=gap,
        )
        return judge_batch(evidence, register.limits_at(self.opened.at), as_of)

    def last_check(self, now: datetime) -> datetime | None:
        """When what it holds was last checked; None if it holds nothing that is checked."""
        past = [entry for entry in self.in_force if entry.at <= now]
        past.sort(key=lambda entry: entry.at)
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
    return Reading(
        at=entry.at,
        temperature=Temperature(Decimal(body.temp), Degree(body.degree)),
        step=Step(body.step),
        held=timedelta(microseconds=int(Decimal(body.held_s) * 1_000_000)),
        doubted_since=register.doubted_since(body.thermometer, entry.at),
        ref=str(entry.seq),
    )


def _is_step(entry: Entry, step: Step) -> bool:
    return isinstance(entry.body, Measured) and entry.body.step == step


def unit_step(unit: HoldingUnit) -> Step:
    return Step.HOT_HOLD if unit.holds == "hot" else Step.COLD_HOLD


def _judge_unit(
    subject: Subject, unit: HoldingUnit, register: Register, as_of: datetime
) -> Iterator[Finding]:
    """Judge a unit's checks, from each first reading until it is emptied."""
    step = unit_step(unit)
    for readings, emptied in _sessions(subject, step, as_of):
        evidence = [reading_of(entry, register) for entry in readings]
        kitchen = register.kitchen_at(readings[0].at)
        limit = register.limits_at(readings[0].at).get(HOLDING_LIMIT[step])
        gap = timedelta(minutes=unit.every_min + kitchen.grace_min)
        yield from judge_holding(step, evidence, limit)
        yield from missed_checks(step, evidence, limit, gap, emptied or as_of)


def _sessions(
    subject: Subject, step: Step, as_of: datetime
) -> Iterator[tuple[list[Entry], datetime | None]]:
    session: list[Entry] = []
    for entry in sorted(subject.in_force, key=lambda entry: entry.at):
        if entry.at > as_of:
            break
        if _is_step(entry, step):
            session.append(entry)
        elif isinstance(entry.body, UnitEmptied) and session:
            yield session, entry.at
            session = []
    if session:
        yield session, None


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
    return [entry.batch or "" for entry in record.entries(kinds=(BatchOpened.kind,))]


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
    exact = [one for one in among if one.casefold() == wanted]
    begun = exact or [one for one in among if one.casefold().startswith(wanted)]
    if len(begun) == 1:
        return begun[0]
    if begun:
        raise Refused(f"{name!r} could be {' or '.join(begun)}: type more of it.")
    known = f": type one of {', '.join(among)}" if among else ""
    raise Refused(f"There is no {what} {name!r}{known}.")
