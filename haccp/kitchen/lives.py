"""Each batch's life as evidence for its account: all that the record says of its food.

What a batch is made of hands its facts on before it begins.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import datetime
from decimal import Decimal

from haccp.kitchen.places import keeps
from haccp.kitchen.readings_as_evidence import reading_of
from haccp.kitchen.register import Register
from haccp.kitchen.watch import watch_of
from haccp.record.bodies import (
    Assessed,
    BatchOpened,
    DeliveryRejected,
    Discarded,
    Diverted,
    Frozen,
    Measured,
    Moved,
    TakenOut,
    Thawed,
    UnitEmptied,
    UsedUp,
)
from haccp.record.entries import LATE, Entry, holds, told_at
from haccp.rules.account.judge import Judged
from haccp.rules.account.life import Evidence, Handed, Life
from haccp.rules.account.steps import CHECKS, Event, What
from haccp.rules.account.table import State
from haccp.rules.evidence import Step
from haccp.rules.tcs import Result

# Kinds of food that have a cooking or reheating row of their own and are no raw animal food:
# 3-401.13, 3-403.11(C).
NOT_ANIMAL = ("", "plant food", "commercial package")
# A weight from which the Code asks less of an oven [lb]: 3-401.11(B).
_HEAVY = Decimal(10)
_COLD = (State.COLD, State.RAW, State.FROZEN)
_WENT_ON: Mapping[What, What] = {Event.USED: Event.USED_IN}
_SAID: Mapping[type, Event] = {
    Frozen: Event.FREEZE,
    Thawed: Event.THAW,
    Discarded: Event.DISCARD,
    Diverted: Event.DISCARD,
    DeliveryRejected: Event.DISCARD,
}


def life_of(
    opening: Entry[BatchOpened],
    own: Iterable[Entry],
    handed: tuple[Handed, ...],
    until: datetime,
    register: Register,
    *,
    went_on: bool,
) -> Life:
    """Turn what is in force about a batch into its life, with all checks of where it may stand.

    `handed` are the facts of what it is made of or taken from; `until` is the end of what is
    looked at. What `went_on` in another batch was not served raw.
    """
    batch = opening.body
    made = [Evidence(opening.at, Event.MADE)] if batch.made_from else []
    said = [one for entry in own for one in _evidence(entry, batch, register)]
    if went_on:
        said = [replace(one, what=_WENT_ON.get(one.what, one.what)) for one in said]
    watch = watch_of(register, batch.food, opening.at, opening.at, until)
    named = {one.unit for one in said} | {way.every.unit for way in handed}
    units = sorted((named | set(watch.usual.values())) & register.units.keys())
    checks = [one for unit in units for one in _checks(unit, opening.at, until, register)]
    return Life(
        evidence=(*made, *said, *checks),
        opened=opening.at,
        kind=batch.food_kind,
        animal=batch.food_kind not in NOT_ANIMAL and not batch.made_from,
        undercooked=batch.undercooked,
        to_order=batch.to_order,
        prepared=opening.at if batch.ambient else None,
        received_as=batch.received_as,
        oven=oven_kind(batch, register, opening.at),
        watch=watch,
        handed_on=handed,
    )


def handed_to(batch: BatchOpened, parts: Iterable[Judged]) -> tuple[Handed, ...]:
    """Give the facts of what a batch is made of or taken from, as judged when the batch began.

    What is shown to be no TCS food hands on none.

    What was cold does not cool what is made at room temperature (3-501.14(B)).
    """
    ways = dict.fromkeys(way for judged in parts for way in judged.handed)
    tcs = [way for way in ways if way.every.state is not State.OUTSIDE]
    if batch.made_from:
        return tuple(way for way in tcs if not (batch.ambient and way.every.state in _COLD))
    return tuple(tcs or ways)


def _evidence(entry: Entry, batch: BatchOpened, register: Register) -> Iterator[Evidence]:
    """Say what an entry about a batch is evidence of; what was said late counts from then."""
    body = entry.body
    if holds(entry, Measured):
        law = batch.by_law and batch.received_as in ("", "cold")
        step = Step(entry.body.step)
        what = Event.RECEIVE_BY_LAW if law and step is Step.RECEIVE else step
        yield Evidence(entry.at, what, reading_of(entry, register), entry.unit or "")
        return
    late = entry.entered_at - entry.at > LATE
    said, at = (entry.at, told_at(entry)) if late else (None, entry.at)
    match body:
        case UsedUp():
            yield Evidence(at, Event.USED_IN if body.into else Event.USED, said=said)
        case Frozen() | Discarded() | Diverted() | DeliveryRejected():
            yield Evidence(at, _SAID[type(body)], said=said)
        case TakenOut():
            yield Evidence(at, Event.TAKEN_OUT, said=said)
        case Moved():
            yield Evidence(at, Event.MOVED, unit=entry.unit or "", said=said)
        case Thawed():
            yield Evidence(entry.at, Event.THAW)
        case Assessed(result=Result.NON_TCS):
            yield Evidence(entry.at, Event.NOT_TCS)


def _checks(unit: str, since: datetime, until: datetime, register: Register) -> Iterator[Evidence]:
    """Give the checks of a unit: the same ones are evidence of all that stood in it."""
    known: dict[tuple[int, int], tuple[Evidence, ...]]
    known = register.history.kept.setdefault(_checks, {})
    for entry in register.history.of_unit(unit, since, until):
        if entry.batch is None:
            key = entry.seq, entry.place
            if key not in known:
                known[key] = tuple(_check(entry, register))
            yield from known[key]


def _check(entry: Entry, register: Register) -> Iterator[Evidence]:
    """Say what an entry about a unit is evidence of to the food in it."""
    unit = register.unit_at(entry.unit or "", entry.at)
    if holds(entry, Measured):
        what = CHECKS[keeps(unit)]
        yield Evidence(entry.at, what, reading_of(entry, register), unit.name)
    elif isinstance(entry.body, UnitEmptied):
        yield Evidence(told_at(entry), Event.EMPTIED, unit=unit.name)


def oven_kind(batch: BatchOpened, register: Register, at: datetime) -> str:
    """Name the kind of the limit `oven` that a roast's oven is judged by; empty for none.

    Of an oven that the local authority accepted in writing the core's row alone decides.
    """
    if register.accepted(batch.oven, at):
        return ""
    if batch.oven in ("", "none", "high humidity"):
        return batch.oven.replace("none", "")
    weight = "10 lb or more" if Decimal(batch.weight_lb) >= _HEAVY else "under 10 lb"
    return f"{batch.oven}, {weight}"
