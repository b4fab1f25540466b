"""What the plan and the log sheets share: a kitchen's foods, and its limits by step, in words."""

from collections.abc import Callable, Collection, Iterable, Mapping
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from haccp.kitchen.register import Register
from haccp.limits import CountsFrom, Limit, LimitSet
from haccp.record.entries import PlannedFood
from haccp.rules.account.steps import TRAITS
from haccp.rules.asked import target
from haccp.rules.evidence import WHOLE_ROAST, Step
from haccp.temperature import Degree
from haccp.time import spell, spell_hold


def limits_of(step: Step, limits: LimitSet, kinds: Collection[str]) -> list[Limit]:
    """Give the limits of a step that concern foods of these kinds, as far as the set has them.

    Those for food of any kind are always among them.
    """
    return [
        limit
        for name in TRAITS[step].limits
        for limit in limits.limits
        if limit.name == name and _concerns(limit, kinds)
    ]


def _concerns(limit: Limit, kinds: Collection[str]) -> bool:
    if limit.name == "oven":  # its kinds are ovens, and only whole roasts are judged by it
        return WHOLE_ROAST in kinds
    return not limit.kind or limit.kind in kinds


def stated(limit: Limit, degree: Degree) -> str:
    """State what a limit asks for: ``70 °F or below, within 2 h from 135 °F``."""
    if not limit.rows:
        return _within(limit, degree) if limit.clock else "no number"
    if len(limit.rows) == 1:
        words = target(limit, degree) + _held(limit.rows[0].hold) + _stood(limit.stand)
    else:
        side = limit.side.value if limit.inclusive else limit.side.value.split()[-1]
        rows = (
            f"{row.level.number(degree)} °{degree}{_held(row.hold) or ' at once'}"
            for row in limit.rows
        )
        words = f"{side} {', or '.join(rows)}"
    return f"{words}, {_within(limit, degree)}" if limit.within else words


def _held(hold: timedelta) -> str:
    return f" for {spell_hold(hold)}" if hold else ""


def _stood(stand: timedelta) -> str:
    return f", then stood covered for {spell(stand)}" if stand else ""


def _within(limit: Limit, degree: Degree) -> str:
    assert limit.within is not None and limit.clock  # they go together: see the loader
    return _COUNTED[limit.clock](limit, spell(limit.within), degree)


def _from_start(limit: Limit, time: str, degree: Degree) -> str:
    assert limit.start  # a clock that begins at a start has one: see the loader
    return f"within {time} from {limit.start.number(degree)} °{degree}"


def _from_removal(limit: Limit, time: str, degree: Degree) -> str:
    if limit.start is None:
        return f"when it leaves temperature control; nothing is left after {time}"
    left = target(limit, degree, limit.start)
    return f"until nothing is left, {time} at most after it left temperature control at {left}"


_COUNTED: Mapping[CountsFrom, Callable[[Limit, str, Degree], str]] = {
    CountsFrom.START: _from_start,
    CountsFrom.PREVIOUS_STAGE: lambda _, time, __: (
        f"within {time} from the end of the stage before"
    ),
    CountsFrom.PREPARATION: lambda _, time, __: f"within {time} from its preparation",
    CountsFrom.PREPARATION_DAY: lambda limit, _, __: (
        f"for {limit.within.days if limit.within else 0} days at most, the day of preparation "
        f"being day 1"
    ),
    CountsFrom.REHEATING: lambda _, time, __: f"within {time} from the start of reheating",
    CountsFrom.RECEIVING: lambda _, time, __: f"within {time} from delivery",
    CountsFrom.HEATING: lambda limit, time, __: (
        f"initial heating for {time} at most" if limit.within else "no initial heating"
    ),
    CountsFrom.LAST_PROPER: lambda limit, time, __: (
        f"{'at most' if limit.inclusive else 'less than'} {time} from its last proper temperature"
    ),
    CountsFrom.REMOVAL: _from_removal,
}


def foods_of(register: Register) -> list[PlannedFood]:
    """Give the foods that the kitchen makes today, by their kind and name."""
    foods = (food for food in register.foods.values() if food.active)
    return sorted(foods, key=lambda food: (food.food_kind, food.name.casefold()))


def kinds_of(register: Register, limits: LimitSet) -> frozenset[str]:
    """Give the kinds of food that the kitchen makes; every kind as long as no food is entered."""
    foods = foods_of(register)
    return frozenset(food.food_kind for food in foods) if foods else frozenset(limits.kinds)


def people_of(register: Register, initials: Iterable[str]) -> list[list[str]]:
    """List people by their initials, as they were entered one after the other: name and role."""
    wanted = set(initials)
    return [
        [one.initials, one.name, one.role if one.active else f"{one.role}, has left"]
        for one in register.people.values()
        if one.initials in wanted
    ]


def moment_of_printing(printed: datetime, zone: ZoneInfo) -> str:
    local = printed.astimezone(zone)
    return f"{local:%a} {local.day} {local:%b %Y %H:%M %Z}"
