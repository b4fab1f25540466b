"""Log sheets for what stands in a unit: a day to a sheet, a week where it is read twice a day.

When a check is due follows from the opening hours, as far as the kitchen has said some.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from datetime import date, timedelta
from typing import Any

from haccp.kitchen.hours import longest_closed
from haccp.kitchen.places import keeps, usual_units
from haccp.language import message, phrase
from haccp.opening_hours import parse_hours
from haccp.printing import forms_missed
from haccp.printing.forms_context import (
    Column,
    FormsContext,
    chunks,
    initials,
    mm,
    share,
    sheet,
    thermometer,
    time,
)
from haccp.printing.limits_in_words import foods_of
from haccp.record.bodies import HoldingUnit
from haccp.rules.account.steps import Keeps
from haccp.rules.evidence import Step
from haccp.time import spell, weekday

_DAY = timedelta(days=1)
_A_MONDAY = date(2024, 1, 1)
# So many rows of a height that a wet hand can write in leave room for all else on a page.
_ROWS = 16
_ROW_MM = 7.5
# A unit that is read so seldom in a day has its week on one sheet.
_SELDOM = 2
# So many of the foods that usually stand in a unit are named in its column.
_NAMED = 3

Spans = tuple[tuple[timedelta, timedelta], ...]

# What a unit's sheet is called, and how what is in it is measured.
_HELD = {
    "hot": (
        message("Holding hot"),
        message(
            "Stir, then measure the coolest spot of the food. Write which food it is; below it, "
            "only where another one came in."
        ),
    ),
    "cold": (
        message("Holding cold"),
        message("Measure the food in the warmest place, and write which it is."),
    ),
    "egg": (message("Holding raw shell eggs"), message("Read the air in the warmest place.")),
    "frozen": (
        message("Holding frozen"),
        message("Read the air in the warmest place; feel that the food is hard."),
    ),
}


def holding(forms: FormsContext) -> Iterator[dict[str, Any]]:
    """Give sheets with a column for each unit; for hot and cold even where there is none."""
    by_use: dict[tuple[str, int], list[HoldingUnit]] = {}
    for unit in forms.register.units.values():
        if unit.active:
            by_use.setdefault((unit.holds, unit.every_min), []).append(unit)
    for holds in _HELD:
        mine = [(every, units) for (held, every), units in by_use.items() if held == holds]
        if not mine and holds in ("hot", "cold"):
            mine = [(forms.kitchen.check_every_min, [])]
        for every, units in mine:
            yield from _sheets(forms, holds, timedelta(minutes=every), units)


def _sheets(
    forms: FormsContext, holds: str, every: timedelta, units: Sequence[HoldingUnit]
) -> Iterator[dict[str, Any]]:
    hours = parse_hours(forms.kitchen.open_hours) if forms.kitchen.open_hours else {}
    together = chunks(units, _beside(holds)) or [()]
    if is_read_seldom(every, hours.values()):
        for some in together:
            yield _sheet(forms, holds, every, some, _week(every, hours), is_week=True)
        return
    for spans in dict.fromkeys(hours.values()) or [()]:
        days = [day for day in sorted(hours) if hours[day] == spans]
        named = "" if len(days) in (0, 7) else ", ".join(_weekday(day) for day in days)
        rows = [_clock(moment) for moment in due(spans, every)]
        for some in together:
            parts = chunks(rows, _ROWS) or [()]
            for part in parts:
                hours_of = f"{part[0]} – {part[-1]}" if len(parts) > 1 else ""
                yield _sheet(forms, holds, every, some, part, days=named, hours=hours_of)


def is_read_seldom(every: timedelta, days: Collection[Spans]) -> bool:
    """Whether no day has more than two readings of a unit."""
    if not days:
        return -(_DAY // -every) <= _SELDOM
    return max(len(due(spans, every)) for spans in days) <= _SELDOM


def due(spans: Spans, every: timedelta) -> list[timedelta]:
    """Say when checks are due on a day: as it opens, and so often until it closes."""
    return [
        opens + n * every for opens, closes in spans for n in range((closes - opens) // every + 1)
    ]


def _week(every: timedelta, hours: Mapping[int, Spans]) -> list[str]:
    """Name the rows of a week: each check that is due, and a row for each closed day."""
    rows = []
    for day in range(7):
        name = _weekday(day)
        if not hours:
            count = -(_DAY // -every)
            rows += [name if count == 1 else f"{name} {n + 1}" for n in range(count)]
        elif day not in hours:
            rows.append(phrase("{day}: closed", day=name))
        else:
            rows += [
                # after midnight it is the next day's, though it belongs to this day's hours
                f"{_weekday((day + moment // _DAY) % 7)} {_clock(moment)}"
                for moment in due(hours[day], every)
            ]
    return rows


def _sheet(
    forms: FormsContext,
    holds: str,
    every: timedelta,
    units: Sequence[HoldingUnit],
    rows: Sequence[str],
    *,
    days: str = "",
    hours: str = "",
    is_week: bool = False,
) -> dict[str, Any]:
    title, how = _HELD[holds]
    step = Step.HOT_HOLD if holds == "hot" else Step.COLD_HOLD
    beside: Sequence[HoldingUnit | None] = units or [None] * _beside(holds)
    due_column = [mm(phrase("Due"), 22 if is_week else 14)] if rows else []
    return sheet(
        phrase(title),
        " ".join([*_when(every, days), phrase(how), *_closures(forms, is_week)]),
        f'haccp hold UNIT TEMP "{forms.day} 14:05" --paper --by JM',
        [
            *due_column,
            time(),
            *(column for one in beside for column in _columns(forms, holds, one)),
            thermometer(),
            initials(),
        ],
        limits=forms.grouped([one for one in forms.of(step) if one.name == f"{holds}-holding"]),
        missed=list(forms_missed.holding(forms, holds)),
        first=rows,
        answers=True,
        row_mm=_ROW_MM,
        dated=phrase("Week from Monday") if is_week else "",
        units=", ".join(filter(None, (*(unit.name for unit in units), hours))),
    )


def _when(every: timedelta, days: str) -> Iterator[str]:
    """Say how often the units of a sheet are read and, where not all days are alike, on which."""
    yield phrase("Every {time}.", time=spell(every))
    if days:
        yield phrase("For {days}.", days=days)


# Eggs and frozen food are read by the air around them.
_WITH_FOOD = ("hot", "cold")


def _beside(holds: str) -> int:
    """Say how many units stand beside each other with room to write."""
    return 3 if holds in _WITH_FOOD else 5


def _columns(forms: FormsContext, holds: str, unit: HoldingUnit | None) -> Iterator[Column]:
    """Give a unit's columns; without one, those of a unit that nobody has entered."""
    named = f"{unit.name} °{forms.degree}" if unit else f"°{forms.degree}"
    if holds not in _WITH_FOOD:
        yield share(named, 1)
        return
    yield mm(named, 18)
    foods = _foods(forms, unit) if unit else []
    yield share(
        phrase("Food; usually {foods}", foods=", ".join(foods)) if foods else phrase("Food"), 1
    )


def _foods(forms: FormsContext, unit: HoldingUnit) -> list[str]:
    """Name the foods whose usual place a hot unit is; what stands in a cold one is too much."""
    if keeps(unit) is not Keeps.HOT:
        return []
    mine = [
        food.name
        for food in foods_of(forms.register)
        if Step.HOT_HOLD in food.steps
        and usual_units(forms.register, food.name, forms.printed).get(Keeps.HOT) == unit.name
    ]
    return [*mine[:_NAMED], "…"] if len(mine) > _NAMED else mine


def _closures(forms: FormsContext, is_week: bool) -> Iterator[str]:
    """Say what closed hours mean for a week's rows."""
    if is_week and forms.kitchen.open_hours:
        days = longest_closed(forms.kitchen).days
        yield phrase(
            "On a closed day no check is due, unless the kitchen is closed for more than {time}.",
            time=f"{days} d",
        )


def _weekday(day: int) -> str:
    return weekday(_A_MONDAY + day * _DAY)


def _clock(moment: timedelta) -> str:
    minutes = int(moment.total_seconds()) // 60 % (24 * 60)
    return f"{minutes // 60:02d}:{minutes % 60:02d}"
