"""Each batch's life as evidence for its account: all that the record says of its food.

One pass in the order of openings: what a batch is made of hands its facts on before it begins.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from haccp.kitchen.hours import closed_times, longest_closed
from haccp.kitchen.places import keeps, usual_units
from haccp.kitchen.readings_as_evidence import reading_of
from haccp.kitchen.register import Register
from haccp.record.entries import (
    ENDS,
    LATE,
    Assessed,
    BatchOpened,
    DeliveryRejected,
    Discarded,
    Entry,
    Frozen,
    Measured,
    Moved,
    TakenOut,
    Thawed,
    UnitEmptied,
    UsedUp,
    having,
    holds,
    told_at,
)
from haccp.rules.account.judge import hand_on
from haccp.rules.account.life import Evidence, Handed, Life, Unit, Watch
from haccp.rules.account.steps import CHECKS, Event, Keeps
from haccp.rules.account.table import State
from haccp.rules.evidence import Step
from haccp.rules.tcs import Result

# Kinds of food that have a cooking or reheating row of their own and are no raw animal food:
# 3-401.13, 3-403.11(C).
NOT_ANIMAL = ("", "plant food", "commercial package")
# A weight from which the Code asks less of an oven [lb]: 3-401.11(B).
_HEAVY = Decimal(10)
_HOUR = timedelta(hours=1)
# A check that is due so rarely may come an hour late: twice a day, at opening and closing.
_RARELY = timedelta(hours=4)
# No check is due as long after the last evidence as that, but for a closure that begins before.
_AHEAD = timedelta(days=7)
_COLD = (State.COLD, State.RAW, State.FROZEN)
_SAID: Mapping[type, Event] = {
    Frozen: Event.FREEZE,
    Thawed: Event.THAW,
    Discarded: Event.DISCARD,
    DeliveryRejected: Event.DISCARD,
}


@dataclass(frozen=True, slots=True)
class _Lineage:
    """The entries in force of each batch, and those of units, by time; the last moment of any."""

    opened: Mapping[str, Entry[BatchOpened]]
    of_batch: Mapping[str, Sequence[Entry]]
    of_units: Sequence[Entry]
    last: datetime

    def until(self, code: str) -> datetime:
        """Say how far a batch's life goes on record: to its end, or beyond all evidence."""
        ends = [told_at(e) for e in self.of_batch[code] if isinstance(e.body, ENDS)]
        return max(ends, default=self.last + _AHEAD)


def read_lives(entries: Iterable[Entry], register: Register) -> dict[str, Life]:
    """Turn all entries in force into each batch's life, by its code."""
    sorted_ = sorted(entries, key=lambda entry: (entry.at, entry.seq))
    opened = {e.batch: e for e in having(sorted_, BatchOpened) if e.batch}
    of_batch: dict[str, list[Entry]] = {code: [] for code in opened}
    for entry in sorted_:
        if entry.batch in of_batch:
            of_batch[entry.batch].append(entry)
    units = [e for e in sorted_ if e.unit and isinstance(e.body, Measured | UnitEmptied)]
    last = max((entry.at for entry in sorted_), default=register.settings[0].at)
    record = _Lineage(opened, of_batch, units, last)
    lives: dict[str, Life] = {}
    for code in sorted(opened, key=lambda code: opened[code].seq):
        lives[code] = _life(code, record, register, lives)
    return lives


def _life(code: str, record: _Lineage, register: Register, lives: Mapping[str, Life]) -> Life:
    opening = record.opened[code]
    batch = opening.body
    made = [Evidence(opening.at, Event.MADE)] if batch.made_from else []
    said = [one for entry in record.of_batch[code] for one in _evidence(entry, batch, register)]
    checks = [
        one
        for entry in record.of_units
        if entry.at >= opening.at and entry.batch is None
        for one in _check(entry, register)
    ]
    handed = tuple(_handed(opening, batch, record, register, lives))
    return Life(
        evidence=(*made, *said, *checks),
        opened=opening.at,
        kind=batch.food_kind,
        animal=batch.food_kind not in NOT_ANIMAL and not batch.made_from,
        undercooked=batch.undercooked,
        to_order=batch.to_order,
        prepared=opening.at if batch.ambient else None,
        received_as=batch.received_as,
        oven=_oven_kind(batch, register, opening.at),
        watch=_watch(register, batch.food, opening.at, record.until(code)),
        handed_on=handed,
    )


def _handed(
    opening: Entry[BatchOpened],
    batch: BatchOpened,
    record: _Lineage,
    register: Register,
    lives: Mapping[str, Life],
) -> Iterator[Handed]:
    """Give the facts of what it is made of: what is shown to be no TCS food hands on none.

    What was cold does not cool what is made at room temperature (3-501.14(B)).
    """
    parts = [one for one in (*batch.portion_of, *batch.made_from) if one in lives]
    ways = [
        way
        for part in parts
        for way in hand_on(lives[part], register.limits_at(record.opened[part].at), opening.at)
    ]
    tcs = [way for way in ways if way.every.state is not State.OUTSIDE]
    if batch.made_from:
        yield from (way for way in tcs if not (batch.ambient and way.every.state in _COLD))
    else:
        yield from tcs or ways


def _evidence(entry: Entry, batch: BatchOpened, register: Register) -> Iterator[Evidence]:
    """Say what an entry about a batch is evidence of; what was said late counts from then."""
    body = entry.body
    late = entry.entered_at - entry.at > LATE
    said, at = (entry.at, told_at(entry)) if late else (None, entry.at)
    if holds(entry, Measured):
        law = batch.by_law and batch.received_as in ("", "cold")
        step = Step(entry.body.step)
        what = Event.RECEIVE_BY_LAW if law and step is Step.RECEIVE else step
        yield Evidence(entry.at, what, reading_of(entry, register), entry.unit or "")
    match body:
        case UsedUp():
            yield Evidence(at, Event.USED_IN if body.into else Event.USED, said=said)
        case Frozen() | Discarded() | DeliveryRejected():
            yield Evidence(at, _SAID[type(body)], said=said)
        case TakenOut():
            yield Evidence(at, Event.TAKEN_OUT, said=said)
        case Moved():
            yield Evidence(at, Event.MOVED, unit=entry.unit or "", said=said)
        case Thawed():
            yield Evidence(entry.at, Event.THAW)
        case Assessed(result=Result.NON_TCS):
            yield Evidence(entry.at, Event.NOT_TCS)


def _check(entry: Entry, register: Register) -> Iterator[Evidence]:
    """Say what an entry about a unit is evidence of to the food in it."""
    unit = register.unit_at(entry.unit or "", entry.at)
    if holds(entry, Measured):
        what = CHECKS[keeps(unit)]
        yield Evidence(entry.at, what, reading_of(entry, register), unit.name)
    else:
        yield Evidence(entry.at, Event.EMPTIED, unit=unit.name)


def _watch(register: Register, food: str, at: datetime, until: datetime) -> Watch:
    """Say how the kitchen looks after a food that was opened at a moment."""
    kitchen = register.kitchen_at(at)
    grace = timedelta(minutes=kitchen.grace_min)
    units = {
        unit.name: Unit(keeps(unit), _gap(timedelta(minutes=unit.every_min), grace))
        for unit in register.units.values()
    }
    every = timedelta(minutes=kitchen.check_every_min) + grace
    return Watch(
        units=units,
        usual=usual_units(register, food, at),
        longest_gap=dict.fromkeys(Keeps, every),
        closed=closed_times(register, at, until),
        longest_closed=longest_closed(kitchen),
        reopening=every,
    )


def _gap(every: timedelta, grace: timedelta) -> timedelta:
    return every + (max(grace, _HOUR) if every >= _RARELY else grace)


def _oven_kind(batch: BatchOpened, register: Register, at: datetime) -> str:
    """Name the kind of the limit `oven` that a roast's oven is judged by; empty for none.

    Of an oven that the local authority accepted in writing the core's row alone decides.
    """
    if register.accepted(batch.oven, at):
        return ""
    if batch.oven in ("", "none", "high humidity"):
        return batch.oven.replace("none", "")
    weight = "10 lb or more" if Decimal(batch.weight_lb) >= _HEAVY else "under 10 lb"
    return f"{batch.oven}, {weight}"
