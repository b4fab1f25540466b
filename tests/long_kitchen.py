"""A big kitchen's long history, invented: batches of ten readings, varied as kitchens' are.

Of a hundred batches 64 are cooked, cooled, held cold and used up within three days; 12 are held hot
until they are used up, 6 held hot and then cooled, 6 reheated; 6 cool too slowly and are discarded,
2 have a reading that was mistyped and put right, 2 are moved between coolers, 2 are divided. One in
twelve was typed in °C. The coolers are checked every four hours, the wells every hour, a cooler is
too warm now and then; two thermometers are checked each week, and one of these checks failed.
"""

import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from heapq import heappop, heappush
from itertools import chain
from pathlib import Path
from typing import Any

from haccp import limits
from haccp.record.bodies import (
    BatchOpened,
    Body,
    CoolingSetup,
    CorrectiveAction,
    Discarded,
    HoldingUnit,
    KitchenSettings,
    Measured,
    Moved,
    Person,
    Thermometer,
    ThermometerCheck,
    UsedUp,
)
from haccp.record.entries import FIRST, Draft, as_row
from haccp.record.store import open_record

MINUTE, HOUR, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)
ENDS = datetime(2026, 11, 2, tzinfo=UTC)
APART = 3 * MINUTE  # between the beginnings of two batches
FOODS = (
    ("white-bean stew", "plant food"), ("beef chili", "ground meat"), ("chicken soup", "poultry"),
    ("pork shoulder", "intact meat"), ("rice", "plant food"), ("gravy", ""), ("curry", ""),
)  # fmt: skip
# minutes after opening and temperatures [°F] of coolings that keep the Food Code's times
COOLINGS = (
    ((102, 151), (120, 136), (150, 112), (185, 89), (225, 69), (310, 54), (412, 40)),
    ((98, 140), (115, 128), (140, 104), (172, 84), (206, 66), (270, 52), (340, 44), (395, 39)),
    ((95, 148), (110, 137), (128, 120), (150, 99), (180, 78), (204, 68), (280, 50), (360, 41)),
)


@dataclass(frozen=True, slots=True)
class Said:
    """A draft, by a name where another one corrects it."""

    draft: Draft
    name: str = ""
    corrects: str = ""


class _Batch:
    """What is said of one batch, its moments in minutes after its opening."""

    def __init__(self, code: str, opened: datetime, drawn: random.Random) -> None:
        self.code, self.opened, self.drawn = code, opened, drawn
        food, self.kind = drawn.choice(FOODS)
        self.degree = "C" if drawn.random() < 1 / 12 else "F"
        self.thermometer = drawn.choice(("", "T1", "T2"))
        self.said = [self._said(0, BatchOpened(food=food, food_kind=self.kind, amount="12 gal"))]

    def say(self, minute: float, body: Body, unit: str | None = None) -> None:
        self.said.append(self._said(minute, body, unit))

    def read(self, minute: float, step: str, temp: float, unit: str | None = None) -> Measured:
        shown = temp if self.degree == "F" else round((temp - 32.9) / 1.8, 1)
        body = Measured(
            step=step, temp=str(shown), degree=self.degree, held_s="15" if temp > 160 else "0",
            thermometer=self.thermometer,
        )  # fmt: skip
        self.say(minute, body, unit)
        return body

    def cook(self) -> None:
        self.read(90, "cook", self.drawn.randrange(180, 205))

    def cool(self, slower: float = 1.0, later: int = 0) -> float:
        """Cool it; gives the minute of the last reading."""
        last: float = 0
        if self.drawn.random() < 0.3:
            body = CoolingSetup(nature="thick", air="38F", container="2-inch pans", method="ice")
            self.say(94 + later, body)
        for minute, temp in self.drawn.choice(COOLINGS):
            last = later + round(90 + (minute - 90) * slower) + self.drawn.randrange(-3, 1)
            self.read(last, "cool", temp - self.drawn.randrange(3))
        return last

    def use_up(self, minute: float, into: tuple[str, ...] = ()) -> None:
        self.say(minute, UsedUp(into=into))

    def _said(self, minute: float, body: Body, unit: str | None = None) -> Said:
        at = self.opened + minute * MINUTE
        return Said(Draft(body=body, at=at, person="JM", batch=self.code, unit=unit))


def _plain(one: _Batch) -> None:
    one.cook()
    last = one.cool()
    for n in range(1, 3):
        one.read(last + n * 55, "cold_hold", one.drawn.randrange(36, 41))
    one.use_up(last + one.drawn.randrange(150, 3 * 1440))


def _held_hot(one: _Batch) -> None:
    one.cook()
    for n in range(1, 10):
        one.read(90 + 60 * n, "hot_hold", one.drawn.randrange(143, 170), "well-1")
    one.use_up(90 + 60 * 9 + 30)


def _held_and_cooled(one: _Batch) -> None:
    one.cook()
    for n in range(1, 4):
        one.read(90 + 60 * n, "hot_hold", one.drawn.randrange(143, 170), "well-2")
    one.use_up(one.cool(later=225) + one.drawn.randrange(60, 2 * 1440))


def _reheated(one: _Batch) -> None:
    one.cook()
    minute = one.cool() + one.drawn.randrange(60, 1440)
    one.read(minute, "cold_hold", one.drawn.randrange(36, 41))
    one.read(minute + 40, "reheat", 120)
    minute += 80
    one.read(minute, "reheat", 168)
    one.say(minute + 1, Moved(), "well-1")
    one.use_up(minute + 55)


def _slow(one: _Batch) -> None:
    one.cook()
    last = one.cool(slower=1.5)
    one.say(last + 5, CorrectiveAction(text="spread on sheet pans"))
    one.read(last + 55, "cold_hold", 40)
    one.say(last + 60, Discarded(reason="too slow"))


def _put_right(one: _Batch) -> None:
    _plain(one)
    measured = [n for n, said in enumerate(one.said) if isinstance(said.draft.body, Measured)]
    chosen = one.drawn.choice(measured[2:])
    right = one.said[chosen]
    assert isinstance(right.draft.body, Measured)
    slip = replace(right.draft, body=replace(right.draft.body, temp="98"))
    name, again = f"{one.code} slip", replace(right.draft.body, reason="mistyped")
    one.said[chosen] = Said(slip, name=name)
    one.said.append(Said(replace(right.draft, body=again), corrects=name))


def _moved(one: _Batch) -> None:
    one.cook()
    last = one.cool()
    one.say(last + 20, Moved(), "walk-in")
    one.read(last + 25, "cold_hold", 39, "walk-in")
    one.say(last + 200, Moved(), "reach-in")
    one.use_up(last + one.drawn.randrange(300, 1440))


def _divided(one: _Batch) -> None:
    one.cook()
    last = one.cool()
    codes = (f"{one.code}-a", f"{one.code}-b")
    opening = one.said[0].draft.body
    for code in codes:
        assert isinstance(opening, BatchOpened)
        one.say(last + 10, replace(opening, portion_of=(one.code,)))
        one.said[-1] = Said(replace(one.said[-1].draft, batch=code))
    one.use_up(last + 10, into=codes)
    for n, code in enumerate(codes, 1):
        one.use_up(last + 300 * n)
        one.said[-1] = Said(replace(one.said[-1].draft, batch=code))


KINDS: tuple[tuple[int, Callable[[_Batch], None]], ...] = (
    (64, _plain), (12, _held_hot), (6, _held_and_cooled), (6, _reheated), (6, _slow),
    (2, _put_right), (2, _moved), (2, _divided),
)  # fmt: skip


def _batches(count: int, drawn: random.Random) -> Iterator[tuple[datetime, list[Said]]]:
    begins, made = ENDS - count * APART - 4 * DAY, [kind for _, kind in KINDS]
    for number in range(count):
        one = _Batch(f"b-{number}", begins + number * APART, drawn)
        drawn.choices(made, [weight for weight, _ in KINDS])[0](one)
        yield one.opened, one.said


def _checks(begins: datetime, drawn: random.Random) -> Iterator[Said]:
    """Look at the units and the thermometers from a moment to the end."""

    def said(at: datetime, body: Body, unit: str | None = None) -> Said:
        return Said(Draft(body=body, at=at, person="JM", unit=unit))

    def check(label: str, temp: int) -> ThermometerCheck:
        passed = abs(temp - 32) <= 2
        return ThermometerCheck(
            thermometer=label, temp=str(temp), degree="F", passed=passed, expected="32"
        )

    at, hour, weeks = begins, 0, 0
    while at < ENDS:
        late = drawn.randrange(10) * MINUTE
        for well in ("well-1", "well-2"):
            warm = Measured(step="hot_hold", temp=str(drawn.randrange(145, 165)), degree="F")
            yield said(at + late, warm, well)
        for unit in ("walk-in", "reach-in") if hour % 4 == 0 else ():
            off = drawn.random() < 1 / 400
            body = Measured(step="cold_hold", temp=str(48 if off else 38), degree="F")
            yield said(at + late, body, unit)
            if off:
                act = CorrectiveAction(text="door closed")
                yield said(at + late + 5 * MINUTE, act, unit)
                again = Measured(step="cold_hold", temp="40", degree="F")
                yield said(at + late + 30 * MINUTE, again, unit)
        if hour % 168 == 6:
            weeks += 1
            for label in ("T1", "T2"):
                if weeks == 3 and label == "T2":
                    yield said(at + 30 * MINUTE, check(label, 29))
                yield said(at + 40 * MINUTE, check(label, 32))
        at, hour = at + HOUR, hour + 1


def _kitchen(at: datetime) -> Iterator[Said]:
    settings = KitchenSettings(
        name="Long Kitchen", zone="America/Denver", degree="F", altitude_m=0,
        limit_set="food-code-2022", limits_digest=limits.shipped("food-code-2022").digest,
        check_every_min=60, grace_min=15,
    )  # fmt: skip
    bodies: tuple[Body, ...] = (
        settings,
        Person(initials="JM", name="J. M.", role="cook"),
        Thermometer(label="T1", accuracy="2F"),
        Thermometer(label="T2", accuracy="1F"),
        HoldingUnit(name="well-1", holds="hot", every_min=60),
        HoldingUnit(name="well-2", holds="hot", every_min=60),
        HoldingUnit(name="walk-in", holds="cold", every_min=240, usual=True),
        HoldingUnit(name="reach-in", holds="cold", every_min=240),
    )
    for body in bodies:
        yield Said(Draft(body=body, at=at, person="JM"))
    for label in ("T1", "T2"):
        body = ThermometerCheck(
            thermometer=label, temp="32", degree="F", passed=True, expected="32"
        )
        yield Said(Draft(body=body, at=at, person="JM"))


def _in_order(count: int, drawn: random.Random) -> Iterator[Said]:
    """Give all that is said, by time; of one moment in the order in which it is thought of."""
    begins = ENDS - count * APART - 4 * DAY
    yield from _kitchen(begins - DAY)
    waiting: list[tuple[datetime, int, Said]] = []
    checks = _checks(begins - HOUR, drawn)
    following = next(checks, None)
    number = 0
    for opened, lines in _batches(count, drawn):
        while following and following.draft.at <= opened:
            heappush(waiting, (following.draft.at, number, following))
            following, number = next(checks, None), number + 1
        for said in lines:
            heappush(waiting, (said.draft.at, number, said))
            number += 1
        while waiting[0][0] < opened:
            yield heappop(waiting)[2]
    for said in chain([following] if following else [], checks):
        heappush(waiting, (said.draft.at, number, said))
        number += 1
    yield from (heappop(waiting)[2] for _ in range(len(waiting)))


def made(path: Path, count: int) -> int:
    """Make the record of so many batches; gives the number of its entries."""

    def rows() -> Iterator[dict[str, Any]]:
        previous, numbers = FIRST, dict[str, int]()
        for number, said in enumerate(_in_order(count, random.Random(7)), 1):
            draft = said.draft
            if said.name:
                numbers[said.name] = number
            if said.corrects:
                draft = replace(draft, corrects=numbers.pop(said.corrects))
            row = as_row(draft, seq=number, entered_at=draft.at, previous=previous)
            previous = row["digest"]
            yield row

    record = open_record(path, create=True)
    record.restore(rows())
    entries = record.head()[0]
    record.close()
    return entries
