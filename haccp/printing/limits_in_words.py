"""What the plan and the log sheets share: a kitchen's foods, and its limits by step, in words."""

from collections.abc import Callable, Collection, Iterable, Mapping
from datetime import datetime
from functools import reduce
from zoneinfo import ZoneInfo

from haccp.kitchen.register import Register
from haccp.language import counted, is_english, message, phrase
from haccp.limits import CountsFrom, Limit, LimitSet
from haccp.limits.limit import Row, Side
from haccp.printing.codes_in_words import role_in_words
from haccp.record.bodies import PlannedFood
from haccp.rules.account.steps import TRAITS
from haccp.rules.asked import held, target
from haccp.rules.evidence import WHOLE_ROAST, Step
from haccp.temperature import Degree
from haccp.time import dated, spell, spell_hold


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
        return _within(limit, degree) if limit.clock else phrase("no number")
    asked = _temperatures(limit, degree)
    if not limit.within:
        return asked
    return phrase("{asked}, {within}", asked=asked, within=_within(limit, degree))


def _temperatures(limit: Limit, degree: Degree) -> str:
    if len(limit.rows) > 1:
        rows = [_row(row, degree) for row in limit.rows]
        any_row = reduce(lambda rows, row: phrase("{rows}, or {row}", rows=rows, row=row), rows)
        return phrase(_SIDES[limit.side, limit.inclusive], rows=any_row)
    asked, (row,) = target(limit, degree), limit.rows
    if row.hold:
        asked = held(asked, row.hold)
    if limit.stand:
        stood = message("{asked}, then stood covered for {time}")
        asked = phrase(stood, asked=asked, time=spell(limit.stand))
    return asked


# By the side of a limit, and whether its numbers keep it.
_SIDES = {
    (Side.AT_OR_ABOVE, True): message("at or above {rows}"),
    (Side.AT_OR_ABOVE, False): message("above {rows}"),
    (Side.AT_OR_BELOW, True): message("at or below {rows}"),
    (Side.AT_OR_BELOW, False): message("below {rows}"),
}


def _row(row: Row, degree: Degree) -> str:
    level = f"{row.level.number(degree)} °{degree}"
    if not row.hold:
        return phrase("{level} at once", level=level)
    return phrase("{level} for {time}", level=level, time=spell_hold(row.hold))


def _within(limit: Limit, degree: Degree) -> str:
    assert limit.within is not None and limit.clock  # they go together: see the loader
    return _COUNTED[limit.clock](limit, spell(limit.within), degree)


def _from_start(limit: Limit, time: str, degree: Degree) -> str:
    assert limit.start  # a clock that begins at a start has one: see the loader
    level = f"{limit.start.number(degree)} °{degree}"
    return phrase("within {time} from {level}", time=time, level=level)


def _from_removal(limit: Limit, time: str, degree: Degree) -> str:
    if limit.start is None:
        return phrase("when it leaves temperature control; nothing is left after {time}", time=time)
    return phrase(
        "until nothing is left, {time} at most after it left temperature control at {left}",
        time=time,
        left=target(limit, degree, limit.start),
    )


def _from_last_proper(limit: Limit, time: str, _: Degree) -> str:
    if limit.inclusive:
        return phrase("at most {time} from its last proper temperature", time=time)
    return phrase("less than {time} from its last proper temperature", time=time)


def _of_heating(limit: Limit, time: str, _: Degree) -> str:
    if not limit.within:
        return phrase("no initial heating")
    return phrase("initial heating for {time} at most", time=time)


def _from_preparation_day(limit: Limit, _: str, __: Degree) -> str:
    return counted(
        "for {count} day at most, the day of preparation being day 1",
        "for {count} days at most, the day of preparation being day 1",
        limit.within.days if limit.within else 0,
    )


_COUNTED: Mapping[CountsFrom, Callable[[Limit, str, Degree], str]] = {
    CountsFrom.START: _from_start,
    CountsFrom.PREVIOUS_STAGE: lambda _, time, __: phrase(
        "within {time} from the end of the stage before", time=time
    ),
    CountsFrom.PREPARATION: lambda _, time, __: phrase(
        "within {time} from its preparation", time=time
    ),
    CountsFrom.PREPARATION_DAY: _from_preparation_day,
    CountsFrom.REHEATING: lambda _, time, __: phrase(
        "within {time} from the start of reheating", time=time
    ),
    CountsFrom.RECEIVING: lambda _, time, __: phrase("within {time} from delivery", time=time),
    CountsFrom.HEATING: _of_heating,
    CountsFrom.LAST_PROPER: _from_last_proper,
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
        [one.initials, one.name, role_in_words(one)]
        for one in register.people.values()
        if one.initials in wanted
    ]


def moment_of_printing(printed: datetime, zone: ZoneInfo) -> str:
    local = printed.astimezone(zone)
    return f"{dated(local.date())} {local:%H:%M %Z}"


def set_in_words(limits: LimitSet) -> str:
    """Name a set of limits and its edition."""
    return phrase("{name}, revision {revision}", name=limits.title, revision=limits.revision)


_CAUTION = (
    message(
        "haccp compares readings with the limits published in the FDA Food Code of 2022 and with "
        "the kitchen's local code."
    ),
    message(
        "It does not stand in for the local health code, the health authority or licensed "
        "professionals who advise you: where they ask for more, what they ask holds."
    ),
    message(
        "Where the record does not show that a limit was kept, it says “not shown”, never “met”."
    ),
    message("The Code's official text is the English one."),
)


def caution() -> str:
    """Say on a translated paper what it is worth, and whose text is the official one."""
    return "" if is_english() else " ".join(phrase(one) for one in _CAUTION)
