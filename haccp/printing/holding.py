"""Holding, by day and hour: of each hour the reading nearest to its limit, and the foods."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

from haccp.kitchen.on_record import entered_later
from haccp.kitchen.readings_as_evidence import reading_of
from haccp.kitchen.units import UnitOnRecord
from haccp.language import counted, message, phrase
from haccp.limits import Limit
from haccp.printing.batch_and_unit_pages import findings_about
from haccp.printing.report_context import Sheet
from haccp.record.bodies import Measured
from haccp.record.entries import Entry
from haccp.rules.account.steps import TRAITS
from haccp.rules.asked import target
from haccp.rules.evidence import Reason, Step
from haccp.temperature import Degree, Temperature
from haccp.time import clock, short_day

# So many hours, and days, have room beside each other: from opening to closing of a long day.
_ACROSS, _DAYS = 16, 7
# A unit that is read no oftener a day is printed with every reading and its time.
_FEW = 3

_TITLES = {
    "hot": message("Hot holding, {limit}: the lowest reading of each hour, °{degree}"),
    "cold": message("Cold holding, {limit}: the highest reading of each hour, °{degree}"),
    "egg": message("Raw shell eggs, air {limit}: the highest reading of each hour, °{degree}"),
    "frozen": message("Frozen holding, {limit}: the highest reading of each hour, °{degree}"),
}
# By which limit it is held.
_HELD = {
    "hot-holding": "hot",
    "cold-holding": "cold",
    "egg-holding": "egg",
    "frozen-holding": "frozen",
}


@dataclass(frozen=True, slots=True)
class _Marks:
    """What is found of readings, by number; of each unit or food the hours of each missed check."""

    out: frozenset[str]
    doubted: frozenset[str]
    missed: Mapping[str, Sequence[Sequence[tuple[date, int]]]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class _Line:
    """One unit, or a food in no unit, with its readings by day."""

    name: str
    holds: str
    limit: Limit
    readings: Mapping[date, list[Entry[Measured]]]
    foods: Mapping[date, str]


def holding(sheet: Sheet) -> list[dict[str, Any]]:
    """Give the tables of all that is held: hot first, by the hour where it is read often."""
    marks = _marks(sheet)
    lines = [*_units(sheet), *_foods(sheet)]
    often = [one for one in lines if one.holds == "hot" or _most(one) > _FEW]
    by_limit: dict[tuple[str, Limit], list[_Line]] = defaultdict(list)
    order = list(_TITLES)
    for one in often:
        by_limit[one.holds, one.limit].append(one)
    tables = [
        table
        for (holds, limit), some in sorted(by_limit.items(), key=lambda one: order.index(one[0][0]))
        for table in _by_hour(holds, limit, some, marks, sheet)
    ]
    rarely = [one for one in lines if one not in often]
    return [*tables, *(_by_reading(rarely, marks, sheet) if rarely else ())]


def _most(line: _Line) -> int:
    return max((len(found) for found in line.readings.values()), default=0)


def _marks(sheet: Sheet) -> _Marks:
    out: set[str] = set()
    doubted: set[str] = set()
    missed: dict[str, list[list[tuple[date, int]]]] = defaultdict(list)
    beside = [
        (unit.name, finding)
        for unit in sheet.review.units
        if not sheet.only.takes(unit)
        for finding in findings_about(unit, sheet)
        if finding.gap is None
    ]
    found = [(one.subject.name, one.finding) for one in sheet.review.deviations]
    for name, finding in (*found, *beside):
        refs = {reading.ref for reading in finding.readings}
        if finding.step not in (Step.HOT_HOLD, Step.COLD_HOLD):
            continue
        if finding.reason is Reason.OUT_OF_LIMITS:
            out |= refs
        elif finding.reason is Reason.THERMOMETER_IN_DOUBT:
            doubted |= refs
        elif finding.gap and finding.due:
            missed[name].append(list(_hours(finding.due, finding.gap[1], sheet)))
    return _Marks(frozenset(out), frozenset(doubted), missed)


def _hours(since: datetime, until: datetime, sheet: Sheet) -> Iterator[tuple[date, int]]:
    """Give each hour of these days that the kitchen's clock shows between two moments."""
    zone = sheet.register.zone
    moment = max(since, sheet.begins)
    last = min(until, sheet.ends, sheet.printed)
    while moment < last:
        local = moment.astimezone(zone)
        yield local.date(), local.hour
        moment += timedelta(hours=1) - timedelta(minutes=local.minute, seconds=local.second)


def _units(sheet: Sheet) -> Iterator[_Line]:
    """Give each unit's checks; where its limit changed, or what it holds, a line for each."""
    register = sheet.register
    for unit in sheet.review.units:
        held: dict[Limit, list[Entry[Measured]]] = defaultdict(list)
        for entry in unit.readings:
            reading = reading_of(entry, register)
            if sheet.is_during(entry.at) and TRAITS[reading.step].held_to:
                held[unit.held_to(reading, register, sheet.printed)].append(entry)
        if not held:
            held = {one.finding.limit: [] for one in sheet.review.of(unit) if one.finding.gap}
        for limit, mine in held.items():
            foods = _in_it(unit, sheet)
            yield _Line(unit.name, _HELD[limit.name], limit, _daily(mine, sheet), foods)


def _foods(sheet: Sheet) -> Iterator[_Line]:
    """Give the foods that were read as held where no unit was named."""
    for batch in sheet.review.batches:
        for step, holds in ((Step.HOT_HOLD, "hot"), (Step.COLD_HOLD, "cold")):
            mine = [
                entry
                for entry in batch.readings
                if entry.unit is None and entry.body.step == step and sheet.is_during(entry.at)
            ]
            limits = [
                one.finding.limit
                for one in sheet.review.of(batch)
                if one.finding.step is step and one.finding.limit.rows
            ]
            if mine and limits:
                foods = dict.fromkeys(sheet.days, batch.batch.food)
                yield _Line(batch.name, holds, limits[0], _daily(mine, sheet), foods)


def _daily(readings: Iterable[Entry[Measured]], sheet: Sheet) -> dict[date, list[Entry[Measured]]]:
    found: dict[date, list[Entry[Measured]]] = defaultdict(list)
    for entry in readings:
        found[entry.at.astimezone(sheet.register.zone).date()].append(entry)
    return found


def _in_it(unit: UnitOnRecord, sheet: Sheet) -> dict[date, str]:
    """Name the foods that stood in a unit, day by day."""
    zone = sheet.register.zone
    foods: dict[date, dict[str, str]] = defaultdict(dict)
    for batch, stay in sheet.stays.get(unit.name, ()):
        if not (sheet.only.takes(unit) or sheet.only.takes(batch)):
            continue
        last = min(stay.ended or sheet.printed, sheet.printed, sheet.ends)
        for day in sheet.days:
            if stay.began.astimezone(zone).date() <= day <= last.astimezone(zone).date():
                foods[day][batch.name] = f"{batch.batch.food} ({batch.name})"
    return {day: _some(list(named.values())) for day, named in foods.items()}


def _some(names: Sequence[str], most: int = 3) -> str:
    if len(names) <= most:
        return ", ".join(names)
    rest = len(names) - most + 1
    some = ", ".join(names[: most - 1])
    return counted("{names} and {count} more", "{names} and {count} more", rest, names=some)


def _by_hour(
    holds: str, limit: Limit, lines: Sequence[_Line], marks: _Marks, sheet: Sheet
) -> Iterator[dict[str, Any]]:
    """Give a table of days, units and hours; more hours than have room go into another."""
    degree = sheet.register.degree
    zone = sheet.register.zone
    seen = {
        entry.at.astimezone(zone).hour
        for line in lines
        for found in line.readings.values()
        for entry in found
    }
    gaps = {line.name: _gaps(line, marks, sheet) for line in lines}
    seen |= {hour for found in gaps.values() for _, hour in found}
    hours = sorted(seen)
    title = phrase(_TITLES[holds], limit=target(limit, degree), degree=degree)
    for begins in range(0, len(hours), _ACROSS):
        some = hours[begins : begins + _ACROSS]
        rows = [
            {
                "day": short_day(day),
                "unit": line.name,
                "cells": [_cell(line, day, hour, marks, gaps[line.name], sheet) for hour in some],
                "foods": line.foods.get(day, ""),
            }
            for day in sheet.days
            for line in lines
            if line.readings.get(day) or any((day, hour) in gaps[line.name] for hour in some)
        ]
        yield {"kind": "hours", "title": title, "hours": [f"{h} h" for h in some], "rows": rows}


def _gaps(line: _Line, marks: _Marks, sheet: Sheet) -> dict[tuple[date, int], str]:
    """Say in which hours a check was missed: those without any, else the one it was due in."""
    zone = sheet.register.zone
    read = {
        (day, entry.at.astimezone(zone).hour)
        for day, found in line.readings.items()
        for entry in found
    }
    told: dict[tuple[date, int], str] = {}
    for hours in marks.missed.get(line.name, ()):
        bare = [one for one in hours if one not in read]
        told |= dict.fromkeys(bare, "missed") if bare else dict.fromkeys(hours[:1], "gap")
    return told


def _cell(
    line: _Line,
    day: date,
    hour: int,
    marks: _Marks,
    gaps: Mapping[tuple[date, int], str],
    sheet: Sheet,
) -> dict[str, str]:
    """Give the reading of an hour that is worst against its limit, and its mark."""
    zone = sheet.register.zone
    found = [one for one in line.readings.get(day, ()) if one.at.astimezone(zone).hour == hour]
    gap = gaps.get((day, hour), "")
    if not found:
        return {"text": "", "mark": gap, "late": ""}
    pick = min if line.holds == "hot" else max
    worst = pick(found, key=lambda one: _temperature(one).fahrenheit)
    late = any(entered_later(one) for one in found)
    return {
        "text": _shown(worst, sheet),
        "mark": _mark(worst, marks) or gap,
        "late": phrase("L") if late else "",
    }


def _temperature(entry: Entry[Measured]) -> Temperature:
    return Temperature(Decimal(entry.body.temp), Degree(entry.body.degree))


def _mark(entry: Entry[Measured], marks: _Marks) -> str:
    ref = entry.ref
    return "out" if ref in marks.out else "doubt" if ref in marks.doubted else ""


def _shown(entry: Entry[Measured], sheet: Sheet) -> str:
    """Show a reading as it was entered; with its degree where that is not the kitchen's."""
    body = entry.body
    value = str(body.temp).replace("-", "−")
    return value if body.degree == sheet.register.degree else f"{value} °{body.degree}"


def _by_reading(lines: Sequence[_Line], marks: _Marks, sheet: Sheet) -> Iterator[dict[str, Any]]:
    """Give a table of units by days, with every reading and its time."""
    degree, zone = sheet.register.degree, sheet.register.zone
    for begins in range(0, len(sheet.days), _DAYS):
        days = sheet.days[begins : begins + _DAYS]
        rows = [
            {
                "unit": line.name,
                "limit": target(line.limit, degree),
                "days": [
                    {
                        "readings": [
                            [clock(one.at, zone), _shown(one, sheet), _mark(one, marks),
                             phrase("L") if entered_later(one) else ""]
                            for one in line.readings.get(day, ())
                        ],
                        "missed": "yes"
                        if any(on == day for on, _ in _gaps(line, marks, sheet))
                        else "",
                    }
                    for day in days
                ],
            }
            for line in lines
        ]  # fmt: skip
        yield {
            "kind": "days",
            "title": phrase("Cold and frozen holding: every reading, with its time, °{degree}",
                            degree=degree),
            "days": [short_day(day) for day in days],
            "rows": rows,
        }  # fmt: skip
