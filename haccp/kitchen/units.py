"""Holding units: all that was entered about them, and what the rules say of it."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from itertools import groupby

from haccp.errors import Refused
from haccp.kitchen.on_record import Look, OnRecord
from haccp.kitchen.places import keeps
from haccp.kitchen.readings_as_evidence import is_step, reading_of
from haccp.kitchen.register import Register
from haccp.kitchen.watch import watch_of
from haccp.language import message, phrase
from haccp.limits import Limit
from haccp.record.bodies import CorrectiveAction, HoldingUnit, Measured, UnitEmptied
from haccp.record.entries import Entry, having, holds, told_at
from haccp.rules.account.holding import judge_holding, missed_check
from haccp.rules.account.life import Evidence, Watch
from haccp.rules.account.steps import CHECKS, TRAITS
from haccp.rules.evidence import Finding, Reading, Step

# What a unit's checks are judged by where it is not simply hot or cold: 3-501.16(B), 3-501.11.
_UNIT_LIMIT = {"egg": "egg-holding", "frozen": "frozen-holding"}


def unit_step(unit: HoldingUnit) -> Step:
    return Step.HOT_HOLD if unit.holds == "hot" else Step.COLD_HOLD


def refuse_other_use(unit: HoldingUnit, step: Step) -> None:
    """Raise Refused where food cannot be held in a unit as it is said to be."""
    if TRAITS[step].held_to and step is not unit_step(unit):
        words = message("{unit} is not a unit for {step}: type another, or leave it out.")
        raise Refused(phrase(words, unit=unit.name, step=step.words))


def _unit_limit(unit: HoldingUnit, step: Step) -> str:
    return _UNIT_LIMIT.get(unit.holds, TRAITS[step].held_to)


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitOnRecord(OnRecord):
    """A holding unit with what was entered about it; `unit` is how it is set now."""

    unit: HoldingUnit

    @property
    def title(self) -> str:
        return self.name

    @property
    def step(self) -> Step:
        return unit_step(self.unit)

    @property
    def measured(self) -> list[Entry[Measured]]:
        return self.readings

    @property
    def all_in_force(self) -> list[Entry]:
        return self.in_force

    @property
    def is_left(self) -> bool:
        return False  # what becomes of food is said of its batch

    @property
    def is_divided(self) -> bool:
        return False

    @property
    def is_outside_the_limits(self) -> bool:
        return False

    def _judge(self, register: Register, as_of: datetime) -> tuple[Finding, ...]:
        """Judge its checks, each by the limits and its settings of the check's own moment."""
        return tuple(_judge_checks(self.name, self.in_force, register, as_of))

    def decided_by(
        self, finding: Finding, found: Sequence[Finding], _register: Register, /
    ) -> tuple[Entry, ...]:
        """Find what was done about the unit: what follows the first action and a later deviation
        answers that one.
        """
        done = self._since(finding, having(self.in_force, CorrectiveAction))
        known = [one.since for one in found if one.since and done and one.since > done[0].at]
        later = min(known, default=None)
        return tuple(entry for entry in done if later is None or entry.at < later)

    def held_to(self, reading: Reading, register: Register, _as_of: datetime, /) -> Limit:
        return self._limit_at(reading.at, reading.step, register)

    def limit_now(self, register: Register, now: datetime) -> Limit:
        """Give the limit that a check of it at this moment is held to."""
        return self._limit_at(now, self.step, register)

    def _limit_at(self, moment: datetime, step: Step, register: Register) -> Limit:
        unit = register.unit_at(self.name, moment)
        return register.limits_at(moment).get(_unit_limit(unit, step))

    def refuse_unjudgeable(self, reading: Reading, register: Register) -> None:
        self.held_to(reading, register, reading.at)

    def next_look(self, register: Register, now: datetime, /) -> Look | None:
        """When it is to be checked next; None for one that is empty or no longer used.

        One that nobody ever read is to be checked from the moment at which it was added on.
        """
        if not self.unit.active:
            return None
        past = sorted((e for e in self.in_force if e.at <= now), key=lambda entry: entry.at)
        past = [e for e in past if isinstance(e.body, UnitEmptied) or is_step(e, self.step)]
        newest = past[-1] if past else register.history.last_of_unit(self.name)
        if newest and isinstance(newest.body, UnitEmptied):
            return None
        last = newest.at if newest else register.added_at(self.name)
        watch = watch_of(register, "", now, last, now)
        asked = watch.asked(last, keeps(self.unit), self.name)
        return Look(asked) if asked else None


def _judge_checks(
    name: str, entries: Sequence[Entry], register: Register, as_of: datetime
) -> Iterator[Finding]:
    of_batches = {entry.ref for entry in entries if entry.batch}
    watches = _watches(register, min((one.at for one in entries), default=as_of), as_of)
    for readings, until in _sessions(name, entries, register, as_of):
        judged = [(reading_of(entry, register), _limit_at(entry, register)) for entry in readings]
        runs = [list(run) for _, run in groupby(judged, key=lambda pair: pair[1])]
        for i, run in enumerate(runs):
            limit = run[0][1]
            evidence = [reading for reading, _ in run]
            # a batch's reading in it is judged with the batch; it is a check of the unit too
            own = [one for one in evidence if one.ref not in of_batches]
            before = runs[i - 1][-1:] if i else []
            after = runs[i + 1][:1] if i + 1 < len(runs) else []
            neighbours = [reading for reading, _ in (*before, *after)]
            step = evidence[0].step
            following = after[0][0].at if after else until
            if own:
                yield from judge_holding(step, own, limit, neighbours)
            for reading, end in zip(
                evidence, [*(r.at for r in evidence[1:]), following], strict=True
            ):
                yield from _missed(name, reading, end, limit, watches(reading.at))


def _limit_at(entry: Entry[Measured], register: Register) -> Limit:
    unit = register.unit_at(entry.unit or "", entry.at)
    return register.limits_at(entry.at).get(_unit_limit(unit, Step(entry.body.step)))


def _missed(
    name: str, last: Reading, until: datetime, limit: Limit, watch: Watch
) -> Iterator[Finding]:
    kind = watch.units[name].keeps
    due = watch.due(last.at, kind, name)
    if due and until > due:
        yield missed_check(limit, kind, Evidence(last.at, CHECKS[kind], last), until, due)


def _watches(register: Register, since: datetime, until: datetime) -> Callable[[datetime], Watch]:
    """Give how the kitchen looked after its units at a moment, once for each of its settings."""
    changes = {at for known in register.unit_settings.values() for at, _ in known}
    changes |= {entry.at for entry in register.settings}
    first = min(changes)

    @cache
    def set_at(change: datetime) -> Watch:
        return watch_of(register, "", change, since, until)

    return lambda at: set_at(max((one for one in changes if one <= at), default=first))


def _sessions(
    name: str, entries: Sequence[Entry], register: Register, as_of: datetime
) -> Iterator[tuple[list[Entry[Measured]], datetime]]:
    """Cut a unit's checks where it was emptied or retired, or held the other way."""
    retired = register.retired_at(name)
    session: list[Entry[Measured]] = []
    for entry in sorted(entries, key=_when):
        if _when(entry) > as_of:
            break
        if isinstance(entry.body, UnitEmptied) and session:
            yield session, _when(entry)
            session = []
        elif holds(entry, Measured) and TRAITS[Step(entry.body.step)].held_to:
            if session and not is_step(session[-1], Step(entry.body.step)):
                yield session, entry.at
                session = []
            session.append(entry)
    if session:
        yield session, as_of if retired is None else min(as_of, max(retired, session[-1].at))


def _when(entry: Entry) -> datetime:
    """Give the moment from which an entry counts: to be emptied takes back no missed check."""
    return told_at(entry) if isinstance(entry.body, UnitEmptied) else entry.at
