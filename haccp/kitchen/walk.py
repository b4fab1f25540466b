"""The round: which units and batches are to be measured, and in which order they are passed."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.naming import open_codes
from haccp.kitchen.on_record import Look
from haccp.kitchen.reading import read_batches, read_units
from haccp.kitchen.readings_as_evidence import reading_of
from haccp.kitchen.register import Register
from haccp.kitchen.units import UnitOnRecord
from haccp.limits import Limit
from haccp.record.bodies import Measured
from haccp.record.entries import holds
from haccp.record.store import Record
from haccp.rules.account.table import State
from haccp.rules.advice import advise, asks_a_look
from haccp.rules.evidence import Finding, Reading, Step, Verdict

# Looks this far apart belong to two rounds: common practice, no source.
_ANOTHER_ROUND = timedelta(minutes=15)
_LATELY = timedelta(days=2)

# What food in a state is measured as; without a step as what is held. None of the others is due.
STEPS: Mapping[State, Step | None] = {
    State.NEW: None,
    State.FROZEN: None,
    State.RAW: None,
    State.SEARED: None,
    State.HEATING: Step.COOK,
    State.HOT: None,
    State.RESTING: Step.COOL,
    State.ASIDE: Step.PREPARE,
    State.COOLING: Step.COOL,
    State.COLD: None,
    State.REHEATING: Step.REHEAT,
    State.OUT: Step.PREPARE,
    State.TIMED: Step.TIME_CONTROL,
    State.OUTSIDE: None,
    State.GONE: None,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """What is to be measured, by when, and as what; no step is one of holding.

    `inside` are the foods that stand in a unit. `goal` is what the food must reach, `limit` what is
    held must keep, as far as either is known.
    """

    subject: BatchOnRecord | UnitOnRecord
    due: datetime
    step: Step | None = None
    inside: tuple[str, ...] = ()
    last: Reading | None = None
    goal: Finding | None = None
    limit: Limit | None = None


def points(record: Record, register: Register, now: datetime) -> list[Point]:
    """Give all that is to be measured at any time, as the kitchen's walk passes it.

    Food that stands in a unit whose checks count for it comes with that unit; other food after the
    unit that was named for it last, or at the end.
    """
    since, until = now - _LATELY, now + timedelta(hours=1)
    units = read_units(record, register, register.units_in_use, since, until)
    batches = read_batches(record, open_codes(record))
    looks = {one.name: look for one in units if (look := one.next_look(register, now))}
    places = {one.name: one.places(register, now) for one in batches}
    found = [
        *(
            _of_unit(one, looks[one.name], _titles(one.name, batches, places), register, now)
            for one in units
            if one.name in looks
        ),
        *(point for one in batches for point in _of_batch(one, looks, record, register, now)),
    ]
    walk = order(register, units)
    last = len(walk)

    def stop(point: Point) -> tuple[int, bool, datetime]:
        subject = point.subject
        is_batch = isinstance(subject, BatchOnRecord)
        at = _stands_in(subject, places) if isinstance(subject, BatchOnRecord) else subject.name
        return walk.index(at) if at in walk else last, is_batch, point.due

    return sorted(found, key=stop)


def never_read(record: Record, register: Register) -> list[str]:
    """Name the open batches that nobody measured: as what they are to be is not known yet."""
    batches = read_batches(record, open_codes(record))
    return [
        one.title
        for one in batches
        if one.is_left and not one.is_outside_the_limits and not one.evidence(register)
    ]


def order(register: Register, units: Sequence[UnitOnRecord]) -> list[str]:
    """Put units as the kitchen says, then as its last round passed them, then as it added them."""
    return list(
        dict.fromkeys((*register.kitchen.walk, *_last_round(units), *(one.name for one in units)))
    )


def _last_round(units: Iterable[UnitOnRecord]) -> list[str]:
    """Name the units of the fullest round of late, the last of several, as they were read."""
    looks = sorted((look.at, look.seq, one.name) for one in units for look in one.readings)
    rounds: list[list[str]] = [[name for _, _, name in looks[:1]]]
    for (before, _, _), (at, _, name) in pairwise(looks):
        if at - before > _ANOTHER_ROUND:
            rounds.append([])
        rounds[-1].append(name)
    return max(reversed(rounds), key=lambda names: len(set(names)))


def _of_unit(
    unit: UnitOnRecord, look: Look, inside: tuple[str, ...], register: Register, now: datetime
) -> Point:
    return Point(
        subject=unit,
        due=look.at,
        inside=inside,
        last=_last_of_unit(unit, register),
        limit=unit.limit_now(register, now),
    )


def _last_of_unit(unit: UnitOnRecord, register: Register) -> Reading | None:
    """Give the last check of a unit; what food was read in it is none of its own."""
    own = [entry for entry in unit.readings if entry.batch is None]
    newest = own[-1] if own else register.history.last_of_unit(unit.name)
    if newest is None or newest.batch or not holds(newest, Measured):
        return None
    return reading_of(newest, register)


def _of_batch(
    batch: BatchOnRecord,
    watched: Mapping[str, Look],
    record: Record,
    register: Register,
    now: datetime,
) -> Iterator[Point]:
    """Give what a batch itself is to be measured for, where its unit's checks are not enough."""
    read = batch.evidence(register)
    if batch.is_outside_the_limits or not read:
        return
    last = max(read, key=lambda one: one.at)
    look = batch.next_look(register, now)
    own = look.at if look and look.unit not in watched else None
    goals = [
        one
        for one in batch.judged(register, now)
        if one.verdict is Verdict.OPEN and asks_a_look(one)
    ]
    advice = advise(goals, last, timedelta(minutes=register.kitchen.check_every_min), own)
    told = _told_with(last, batch, record, register)
    due = min((at for at in (advice.measure_by, told) if at), default=None)
    if due:
        step, is_hot = step_of(batch, register, now), _state(batch, register, now) is State.HOT
        limits = register.limits_at(batch.began)
        held = batch.hot_limit(register, now) if is_hot else limits.get("cold-holding")
        yield Point(
            subject=batch,
            due=due,
            step=step,
            last=last,
            goal=next(iter(advice.goals), None),
            limit=None if step else held,
        )


def _told_with(
    last: Reading, batch: BatchOnRecord, record: Record, register: Register
) -> datetime | None:
    """Say by when the answer to its last reading asked for the next look at what cools."""
    found = batch.judged(register, last.at)
    if not any(one.step is Step.COOL and one.verdict is Verdict.OPEN for one in found):
        return None
    # the forecast's own modules: only what cools waits for them
    from haccp.kitchen.cooling_estimate import running

    fitted = running(batch, found, record, register, last.at)
    return fitted.measure_at if fitted else None


def step_of(batch: BatchOnRecord, register: Register, now: datetime) -> Step | None:
    """Say as what food is to be measured now; None for what is held."""
    return STEPS[_state(batch, register, now)]


def _state(batch: BatchOnRecord, register: Register, now: datetime) -> State:
    return batch.account(register, now).ways[0].handed.every.state


def _titles(
    unit: str, batches: Iterable[BatchOnRecord], places: Mapping[str, Sequence[str]]
) -> tuple[str, ...]:
    return tuple(one.title for one in batches if unit in places[one.name])


def _stands_in(batch: BatchOnRecord, places: Mapping[str, Sequence[str]]) -> str:
    """Name the unit in which a batch stands or, while its checks do not count, was put last."""
    named = [entry.unit for entry in batch.in_force if entry.unit]
    return next(iter((*places[batch.name], *reversed(named))), "")
