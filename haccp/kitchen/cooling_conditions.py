"""How a batch cools, as far as the record knows, and since when: what an estimate starts from."""

import re
from dataclasses import dataclass
from datetime import datetime, timedelta

from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.readings_as_evidence import is_step, reading_of
from haccp.kitchen.register import Register
from haccp.physics.forecast_prior import Surroundings
from haccp.record.entries import CoolingSetup, Entry, Measured, Moved, TakenOut, having, holds
from haccp.rules.evidence import Step
from haccp.temperature import parse_temperature

# A unit's check this old tells nothing of its air now: common practice, no source.
_STALE = timedelta(hours=12)
# A reading so shortly before a change still says where the food was when it changed.
AT_THE_CHANGE = timedelta(minutes=5)
# A check of the unit says nothing of a bath in it.
_BATH = {"bath", "ice", "water"}


@dataclass(frozen=True, slots=True)
class Conditions:
    """What is known of a cooling: how it was `setup`, what is around it, and from which moment on
    its readings tell; None where that is from the start. `told` says that anybody said how or where
    it cools.
    """

    setup: CoolingSetup
    surroundings: Surroundings
    since: datetime | None
    told: bool


def conditions_of(
    subject: BatchOnRecord, register: Register, began: datetime, until: datetime
) -> Conditions:
    """Follow what was entered about a batch: a change of method or of place starts anew, and what
    was typed of the air before it counts no more.
    """
    unit, air, since = "", None, None
    for entry in sorted(subject.in_force, key=lambda entry: (entry.at, entry.seq)):
        if entry.at > until:
            break
        place = _place(entry, register)
        if place is not None and place != unit:
            unit, air = place, None
            since = entry.at
        if holds(entry, CoolingSetup):
            since = entry.at if entry.body.changed else None  # else it held from the start
            air = entry if entry.body.air else None if entry.body.changed else air
    setup = setup_of(subject, register, until)
    changed = since - AT_THE_CHANGE if since and since > began else None
    return Conditions(
        setup,
        _surroundings(setup.method, air, unit, register, until),
        changed if changed and changed > began else None,
        bool(setup.method or unit or air),
    )


def is_cooling(subject: BatchOnRecord, at: datetime) -> bool:
    """Whether it was read in a cooling before a moment."""
    return any(entry.at < at and is_step(entry, Step.COOL) for entry in subject.readings)


def _place(entry: Entry, register: Register) -> str | None:
    """Name the cold unit that food stands in from an entry on, empty for none that is known; None
    where it says nothing of that.
    """
    match entry.body:
        case TakenOut():
            return ""
        case CoolingSetup(method=words):
            parts = {part.strip().casefold() for part in words.split(",")}
            return next((name for name in register.units if name.casefold() in parts), None)
        case Measured() | Moved() if entry.unit:
            return entry.unit if register.units[entry.unit].holds != "hot" else ""
        case _:
            return None


def _surroundings(
    method: str,
    air: Entry[CoolingSetup] | None,
    unit: str,
    register: Register,
    until: datetime,
) -> Surroundings:
    """Take what was measured last, of the typed air and the unit's checks; else what is usual."""
    since = max(until - _STALE, air.at) if air else until - _STALE
    bath = air and _BATH & set(re.findall(r"\w+", method.casefold()))
    entries = register.history.of_unit(unit, since, until) if unit and not bath else []
    checks = [entry for entry in having(entries, Measured) if entry.batch is None]
    if checks:
        return Surroundings.measured(float(reading_of(checks[-1], register).temperature.fahrenheit))
    if air and air.body.air_to:
        low, high = (_fahrenheit(one) for one in (air.body.air, air.body.air_to))
        return Surroundings.between(min(low, high), max(low, high))
    if air:
        return Surroundings.measured(_fahrenheit(air.body.air))
    return Surroundings.cold_storage() if unit else Surroundings.unknown()


def _fahrenheit(text: str) -> float:
    return float(parse_temperature(text).fahrenheit)


def setup_of(subject: BatchOnRecord, register: Register, now: datetime) -> CoolingSetup:
    """Say how a batch cools as far as is known: as was entered, else as its food is planned."""
    food = next(
        (
            one
            for one in register.foods.values()
            if one.name.casefold() == subject.batch.food.casefold()
        ),
        None,
    )
    known = CoolingSetup(
        nature=food.nature if food else "",
        container=food.container if food else "",
        depth_in=food.depth_in if food else "",
    )
    for entry in sorted(having(subject.in_force, CoolingSetup), key=lambda entry: entry.at):
        body = entry.body
        if entry.at <= now:
            known = CoolingSetup(
                nature=body.nature or known.nature,
                air=body.air or ("" if body.changed else known.air),
                air_to=body.air_to or ("" if body.air or body.changed else known.air_to),
                method=body.method or known.method,
                container=body.container or known.container,
                depth_in=body.depth_in or known.depth_in,
            )
    return known
