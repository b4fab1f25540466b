"""How a kitchen looks after its food: which unit is checked how often, and when none is due."""

from bisect import bisect_right
from dataclasses import replace
from datetime import datetime, timedelta

from haccp.kitchen.hours import closed_times, longest_closed
from haccp.kitchen.places import keeps, usual_units
from haccp.kitchen.register import Register
from haccp.record.bodies import HoldingUnit
from haccp.rules.account.life import Unit, Watch
from haccp.rules.account.steps import Keeps

_HOUR = timedelta(hours=1)
# A check that is due so rarely may come an hour late: twice a day, at opening and closing.
_RARELY = timedelta(hours=4)
# No check is due as long after the last evidence as that, but for a closure that begins before.
_AHEAD = timedelta(days=7)


def watch_of(
    register: Register, food: str, at: datetime, since: datetime, until: datetime
) -> Watch:
    """Say how the kitchen looks after a food by the settings of a moment, over [since, until]."""
    known: dict[tuple[int, str], Watch] = register.history.kept.setdefault(watch_of, {})
    # between two changes of any setting it is the same, but for when the kitchen is closed
    key = bisect_right(_changes(register), at), food
    if key not in known:
        known[key] = _watch_at(register, food, at)
    closed = closed_times(register, since, until + _AHEAD)
    return replace(known[key], closed=closed) if closed else known[key]


def _changes(register: Register) -> list[datetime]:
    """Give the moments at which any setting was changed, in order."""
    kept = register.history.kept
    if _changes not in kept:
        set_at = {entry.at for entry in register.settings}
        for settings in (register.unit_settings, register.food_settings):
            set_at |= {at for known in settings.values() for at, _ in known}
        kept[_changes] = sorted(set_at)
    changes: list[datetime] = kept[_changes]
    return changes


def _watch_at(register: Register, food: str, at: datetime) -> Watch:
    kitchen = register.kitchen_at(at)
    grace = timedelta(minutes=kitchen.grace_min)
    every = timedelta(minutes=kitchen.check_every_min) + grace
    return Watch(
        units={name: _unit(register.unit_at(name, at), grace) for name in register.units},
        usual=usual_units(register, food, at),
        longest_gap=dict.fromkeys(Keeps, every),
        grace=grace,
        longest_closed=longest_closed(kitchen),
        reopening=every,
    )


def grace_of(every: timedelta, grace: timedelta) -> timedelta:
    """Say how late a check of a unit may be, by its interval and the kitchen's grace."""
    return max(grace, _HOUR) if every >= _RARELY else grace


def graces(register: Register) -> set[timedelta]:
    """Give by how much a look may be late before it is missed, by any settings that there were."""
    return {_HOUR, *(timedelta(minutes=entry.body.grace_min) for entry in register.settings)}


def _unit(unit: HoldingUnit, grace: timedelta) -> Unit:
    every = timedelta(minutes=unit.every_min)
    grace = grace_of(every, grace)
    return Unit(keeps(unit), every + grace, grace)
