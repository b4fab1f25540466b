"""What goes wrong where and when: checks and coolings of many days, counted, as pandas frames.

Counts with intervals, of units, hours, weekdays, containers, foods and thermometers; of people
never: who measures most finds most. No verdict of its own.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import Any

import pandas as pd

from haccp.kitchen.learned import finished
from haccp.kitchen.reading import read_units
from haccp.kitchen.readings_as_evidence import reading_of
from haccp.kitchen.register import Register
from haccp.kitchen.share import interval
from haccp.kitchen.units import UnitOnRecord
from haccp.record.store import Record
from haccp.rules.evidence import Verdict

# One row each; times are the kitchen's, temperatures [°F], depths [in].
COLUMNS = (
    "what",
    "at",
    "name",
    "container",
    "depth_in",
    "method",
    "thermometer",
    "temperature",
    "limit",
    "verdict",
)
CHECK, COOLING = "check", "cooling"

# By what they are counted: the kind of row, and the columns that name a group.
BY: dict[str, tuple[str, tuple[str, ...]]] = {
    "unit": (CHECK, ("name",)),
    "hour": (CHECK, ("name", "hour")),
    "weekday": (CHECK, ("name", "weekday")),
    "thermometer": (CHECK, ("thermometer",)),
    "container": (COOLING, ("container", "depth_in")),
    "method": (COOLING, ("method",)),
    "food": (COOLING, ("name",)),
    "cooling-weekday": (COOLING, ("weekday",)),
}


def observed(
    record: Record,
    register: Register,
    since: datetime,
    until: datetime,
    now: datetime,
) -> pd.DataFrame:
    """Give every check of a unit, and every cooling that ended, in [since, until): `COLUMNS`.

    A check's verdict is that of its one reading; of a thermometer in doubt it is not shown.
    """
    units = read_units(record, register, list(register.units), since, until)
    rows = [row for unit in units for row in _checks(unit, register, since, until)]
    during = record.batches_during(since, until)
    codes = [one.code for one in record.batches_left(since, until) if one.code in during]
    rows += _coolings(record, register, codes, since, until, now)
    frame = pd.DataFrame(rows, columns=list(COLUMNS))
    frame["at"] = pd.to_datetime(frame["at"], utc=True).dt.tz_convert(register.zone.key)
    frame["hour"] = frame["at"].dt.hour
    frame["weekday"] = frame["at"].dt.day_of_week
    return frame.sort_values(["what", "at", "name"], kind="stable", ignore_index=True)


def _checks(
    unit: UnitOnRecord, register: Register, since: datetime, until: datetime
) -> Iterator[tuple[Any, ...]]:
    for entry in unit.readings:
        reading = reading_of(entry, register)
        if reading is None or not since <= reading.at < until:
            continue
        limit = unit.held_to(reading, register, reading.at)
        kept = Verdict.MET if limit.kept_by(reading.temperature) else Verdict.NOT_MET
        yield (
            CHECK,
            reading.at,
            unit.name,
            "",
            "",
            "",
            reading.thermometer,
            float(reading.temperature.fahrenheit),
            limit.name,
            str(Verdict.NOT_SHOWN if reading.doubted_since else kept),
        )


def _coolings(
    record: Record,
    register: Register,
    codes: Sequence[str],
    since: datetime,
    until: datetime,
    now: datetime,
) -> Iterator[tuple[Any, ...]]:
    for one in finished(record, register, codes, since, now, lambda _: None):
        readings = [reading for stage in one.stages for reading in stage.readings]
        at = min((reading.at for reading in readings), default=None)
        if at is None or at >= until or one.verdict is Verdict.STOPPED:
            continue
        labels = sorted({reading.thermometer for reading in readings} - {""})
        manner = one.manner
        yield (
            COOLING,
            at,
            manner.food,
            manner.container,
            manner.depth_in,
            manner.method,
            ", ".join(labels),
            None,
            "cooling",
            str(one.verdict),
        )


def shares(frame: pd.DataFrame, by: str) -> pd.DataFrame:
    """Count by a row of `BY`: of how many how many are not met and not shown, the worst first.

    `low` and `high` bound the share that is not met in the long run (`share.interval`). `first` and
    `last` are the clock times [hour as a fraction] between which all that is not met was read.
    """
    kind, columns = BY[by]
    chosen = frame[frame["what"] == kind]
    chosen = chosen.assign(
        bad=chosen["verdict"] == Verdict.NOT_MET,
        doubt=chosen["verdict"] == Verdict.NOT_SHOWN,
        clock=chosen["at"].dt.hour + chosen["at"].dt.minute / 60,
        day=chosen["at"].dt.date,
    )
    chosen = chosen.assign(
        bad_clock=chosen["clock"].where(chosen["bad"]), bad_day=chosen["day"].where(chosen["bad"])
    )
    counted = (
        chosen.groupby(list(columns), sort=True)
        .agg(
            count=("bad", "size"),
            not_met=("bad", "sum"),
            not_shown=("doubt", "sum"),
            days=("day", "nunique"),
            bad_days=("bad_day", "nunique"),
            first=("bad_clock", "min"),
            last=("bad_clock", "max"),
        )
        .reset_index()
    )
    bounds = [
        interval(int(bad), int(of))
        for bad, of in zip(counted["not_met"], counted["count"], strict=True)
    ]
    counted["low"] = [low for low, _ in bounds]
    counted["high"] = [high for _, high in bounds]
    order = ["low", "not_met", *columns]
    return counted.sort_values(
        order, ascending=[False, False, *(True for _ in columns)], ignore_index=True
    )
