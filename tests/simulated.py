"""A small kitchen's days, invented, with what is true of each cooling: an oracle beside the rules."""

import random
from dataclasses import dataclass
from datetime import datetime, timedelta

from haccp.limits import shipped
from haccp.record.bodies import (
    BatchOpened,
    Body,
    CoolingSetup,
    Discarded,
    HoldingUnit,
    KitchenSettings,
    Measured,
    Person,
    Thermometer,
    UsedUp,
)
from haccp.record.entries import Draft

METHODS = ("ice bath", "walk-in", "blast chiller", "2-inch pans", "ice wand", "")
MINUTE = timedelta(minutes=1)
# Minutes after the cooling's first reading and temperatures [°F]; what a hand finds of each is `by_hand`.
WAYS = {
    "well": ((0, 150), (20, 135), (80, 95), (125, 69), (200, 55), (320, 40)),
    "slow at first": ((0, 150), (20, 135), (80, 110), (150, 75), (200, 60), (320, 40)),
    "slow at last": ((0, 150), (20, 135), (80, 95), (125, 69), (300, 52), (400, 45)),
    "one is missing": ((0, 150), (20, 135), (80, 95), (200, 60), (320, 40)),
    "reheated in time": ((0, 150), (20, 135), (80, 110)),
}
CHANCES = (90, 3, 2, 3, 2)


@dataclass(frozen=True)
class Cooled:
    """One simulated cooling: the fact that is counted by hand."""

    month: str
    food: str
    method: str
    readings: tuple[tuple[int, int], ...]
    is_stopped: bool

    def by_hand(self) -> str:
        """Judge it by the bounds of its crossings alone: 2 h to 70 °F, 6 h to 41 °F."""
        start = next(minute for minute, temp in self.readings if temp == 135)
        found = [
            _bounded(start, level, within, self.readings)
            for level, within in ((70, 120), (41, 360))
        ]
        return next(one for one in ("not met", "not shown", "met") if one in found)


def _bounded(start: int, level: int, within: int, readings: tuple[tuple[int, int], ...]) -> str:
    above = max(minute for minute, temp in readings if temp > level)
    below = [minute for minute, temp in readings if temp <= level]
    if above - start >= within:
        return "not met"
    return "met" if below and below[0] - start <= within else "not shown"


def simulated(number: int, days: int, now: datetime) -> tuple[list[Draft], list[Cooled]]:
    """Give what a kitchen enters in so many days before a moment, in order of time, and its coolings."""
    chance = random.Random(number)
    begins = now.replace(hour=0) - days * timedelta(days=1)
    bodies: list[Body] = [
        KitchenSettings(
            name=f"Simulated {number}", zone="UTC", degree="F", altitude_m=0, limit_set="food-code-2022",
            limits_digest=shipped("food-code-2022").digest, check_every_min=60, grace_min=15,
        ),
        Person(initials="AR", name="A. R.", role="manager"),
        Person(initials="JM", name="J. M.", role="cook"),
        Thermometer(label="T1", accuracy="2F"),
        HoldingUnit(name="walk-in", holds="cold", every_min=960),
        HoldingUnit(name="reach-in", holds="cold", every_min=960),
    ]  # fmt: skip
    drafts = [Draft(body=body, at=begins, person="AR") for body in bodies]
    facts: list[Cooled] = []
    foods = [f"food {n}" for n in chance.sample(range(60), 24)]
    for day in range(days):
        morning = begins + timedelta(days=day, hours=6)
        drafts += [
            _read("cold_hold", 38, morning + timedelta(hours=hour), unit=unit)
            for hour in (0, 9)
            for unit in ("walk-in", "reach-in")
        ]
        if morning.weekday() < 5:
            for n in range(3):
                at, code = morning + (40 + 7 * n) * MINUTE, f"b{day}-{n}"
                made, fact = _batch(chance, at, code, chance.choice(foods))
                drafts += made
                facts += [fact] if not fact.is_stopped else []
    return sorted(drafts, key=lambda one: one.at), facts


def _batch(chance: random.Random, at: datetime, code: str, food: str) -> tuple[list[Draft], Cooled]:
    """Give what is entered of a batch that is cooked, cooled and gone."""
    method = chance.choice(METHODS)
    (way,) = chance.choices(list(WAYS), CHANCES)
    readings = tuple((m + chance.randrange(3) * (m in (80, 200)), t) for m, t in WAYS[way])
    begins = at + 60 * MINUTE
    opened: Body = BatchOpened(food=food, amount="12 gal", food_kind="plant food")
    made = [Draft(body=opened, at=at, person="JM", batch=code), _read("cook", 190, begins, code)]
    if method:
        made.append(Draft(body=CoolingSetup(method=method), at=begins, person="JM", batch=code))
    made += [_read("cool", temp, begins + (5 + minute) * MINUTE, code) for minute, temp in readings]
    last = made[-1].at
    if way == "reheated in time":
        made.append(_read("reheat", 170, last + 10 * MINUTE, code, held="15"))
        ends: Body = UsedUp()
        last += 10 * MINUTE
    else:
        is_decided = chance.random() < 0.8
        ends = Discarded(reason="too slow") if way != "well" and is_decided else UsedUp()
    made.append(Draft(body=ends, at=last + 20 * MINUTE, person="AR", batch=code))
    fact = Cooled(f"{begins:%Y-%m}", food, method, readings, way == "reheated in time")
    return made, fact


def _read(
    step: str,
    temp: int,
    at: datetime,
    batch: str | None = None,
    unit: str | None = None,
    held: str = "",
) -> Draft:
    held = held or ("60" if step == "cook" else "0")
    body = Measured(step=step, temp=str(temp), degree="F", held_s=held, thermometer="T1")
    return Draft(body=body, at=at, person="JM", batch=batch, unit=unit)
