"""A kitchen's years, invented: an orderly record of any length, made quickly."""

from collections.abc import Iterable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from haccp import limits
from haccp.record.bodies import (
    BatchOpened,
    Body,
    DaySigned,
    HoldingUnit,
    KitchenSettings,
    Measured,
    Person,
    Thermometer,
    ThermometerCheck,
    UnitEmptied,
    UsedUp,
)
from haccp.record.entries import FIRST, Draft, as_row
from haccp.record.store import open_record

HOT_UNITS, COLD_UNITS, BATCHES, ROUNDS = 10, 30, 15, 15
_MINUTE, _DAY = timedelta(minutes=1), timedelta(days=1)
# Minutes after 135 °F and temperatures of a cooling that keeps both stages.
_COOLING = ((0, "150"), (20, "135"), (80, "95"), (125, "69"), (200, "55"), (320, "40"))


def make_years(path: Path, days: int, ends: datetime) -> int:
    """Make a record of so many days before the day of a moment [UTC], and that day's beginning.

    40 points are read each hour from 06:00 to 20:00, 15 batches are cooked, cooled and used up:
    some 770 entries a day. Gives the number of entries.
    """
    record = open_record(path, create=True)
    today = ends.astimezone(UTC).replace(hour=0, minute=0, second=0, microsecond=0)
    try:
        record.restore(chained(_years(today, days), ends))
        return record.head()[0]
    finally:
        record.close()


def chained(drafts: Iterable[Draft], ends: datetime) -> Iterator[dict[str, Any]]:
    """Chain drafts in order, each entered at its moment; none after `ends`."""
    number, previous = 0, FIRST
    for draft in drafts:
        if draft.at <= ends:
            number += 1
            row = as_row(draft, seq=number, entered_at=draft.at, previous=previous)
            previous = row["digest"]
            yield row


def _years(today: datetime, days: int) -> Iterator[Draft]:
    begins = today - days * _DAY
    yield from setup(begins)
    for day in range(days + 1):
        yield from sorted(a_day(begins + day * _DAY), key=lambda draft: draft.at)


def setup(at: datetime) -> Iterator[Draft]:
    settings = KitchenSettings(
        name="Grown Kitchen", zone="UTC", degree="F", altitude_m=0, limit_set="food-code-2022",
        limits_digest=limits.shipped("food-code-2022").digest, check_every_min=60, grace_min=15,
    )  # fmt: skip
    bodies: list[Body] = [
        settings,
        Person(initials="AR", name="A. R.", role="manager"),
        Person(initials="JM", name="J. M.", role="cook"),
        Thermometer(label="T1", accuracy="2F"),
        *(HoldingUnit(name=name, holds="hot", every_min=60) for name in hot_units()),
        # nobody reads a cooler at night
        *(HoldingUnit(name=name, holds="cold", every_min=660) for name in cold_units()),
    ]
    yield from (Draft(body=body, at=at, person="AR") for body in bodies)


def hot_units() -> list[str]:
    return [f"well-{n}" for n in range(1, HOT_UNITS + 1)]


def cold_units() -> list[str]:
    return [f"walk-in-{n}" for n in range(1, COLD_UNITS + 1)]


def a_day(midnight: datetime) -> Iterator[Draft]:
    def at(hour: int, minute: int = 0) -> datetime:
        return midnight + timedelta(hours=hour, minutes=minute)

    check = ThermometerCheck(thermometer="T1", temp="32.0", degree="F", passed=True)
    yield Draft(body=check, at=at(5, 50), person="JM")
    for hour in range(6, 6 + ROUNDS):
        for minute, name in enumerate(hot_units()):
            yield _reading("hot_hold", f"{145 + minute}", at(hour, minute), unit=name)
        for minute, name in enumerate(cold_units(), HOT_UNITS):
            yield _reading("cold_hold", f"{36 + minute % 4}", at(hour, minute), unit=name)
    for name in hot_units():
        yield Draft(body=UnitEmptied(), at=at(20, 45), person="JM", unit=name)
    for number in range(BATCHES):
        yield from _a_batch(f"stew-{midnight:%y%m%d}-{number + 1}", at(7, 3 * number))
    signed = DaySigned(day=f"{midnight:%Y-%m-%d}", undecided=0)
    yield Draft(body=signed, at=at(21, 30), person="AR")


def _a_batch(code: str, begins: datetime) -> Iterator[Draft]:
    opened = BatchOpened(food="bean stew", amount="12 gal", food_kind="plant food")
    yield Draft(body=opened, at=begins, person="JM", batch=code)
    for minute, temp in ((30, "120"), (70, "190"), (100, "190")):
        yield _reading("cook", temp, begins + minute * _MINUTE, batch=code, held="60")
    for minute, temp in _COOLING:
        yield _reading("cool", temp, begins + (130 + minute) * _MINUTE, batch=code)
    yield Draft(body=UsedUp(), at=begins + timedelta(hours=12), person="JM", batch=code)


def _reading(
    step: str,
    temp: str,
    at: datetime,
    *,
    batch: str | None = None,
    unit: str | None = None,
    held: str = "0",
) -> Draft:
    body = Measured(step=step, temp=temp, degree="F", held_s=held, thermometer="T1")
    return Draft(body=body, at=at, person="JM", batch=batch, unit=unit)
