"""Dangerous lives on record: portions, makings and checks of units beside the food's own readings.

The lives are those of tests/rules/account, whose true temperature is known at each minute. Each is
entered into a record at the clock that it had there, with the units that the food stood in, looked
at as they truly were. All of it is invented.
"""

import math
import os
import random
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path

import pytest

from haccp import limits
from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.reading import read_batch
from haccp.kitchen.register import Register, read_register
from haccp.kitchen.review import undecided
from haccp.record.bodies import (
    BatchOpened,
    Body,
    Discarded,
    HoldingUnit,
    KitchenSettings,
    Measured,
    Moved,
    UsedUp,
)
from haccp.record.entries import Draft
from haccp.record.store import Record, open_record
from haccp.rules.account.steps import Event
from haccp.rules.evidence import Step
from haccp.rules.words import explain
from tests.rules.account.story import at
from tests.rules.account.test_dangerous_lives import (
    PLACES,
    Lived,
    live,
    longest_shown,
    longest_true,
    written_down,
)

pytestmark = pytest.mark.long

LIVES = math.ceil(int(os.environ.get("HACCP_EXAMPLES", "600")) / 6)  # in each of six records
BEGINS = datetime(2026, 1, 5, tzinfo=UTC)
# The units of the kitchen: in which place of a life each is, how it keeps, and how often it is
# looked at [min].
UNITS = {
    "well": ("hot", 60),
    "cold well": ("hot", 60),
    "cooler": ("cold", 240),
    "warm cooler": ("cold", 240),
}
# What is entered, of which batch and of which unit.
Act = tuple[Body, str | None, str | None]


def named(place: str) -> str:
    return place.replace(" ", "-")


@dataclass
class OnFile:
    """A life as it was entered: its batches one after another, and how honestly."""

    life: Lived
    begins: datetime
    batches: list[str]
    moved: bool  # whether each of its places was named when it came there

    @property
    def ends(self) -> datetime:
        return self.begins + timedelta(minutes=self.life.end)


def opened(path: Path) -> Record:
    record = open_record(path, create=True)
    settings = KitchenSettings(
        name="Test", zone="UTC", degree="F", altitude_m=0, limit_set="food-code-2022",
        limits_digest=limits.shipped("food-code-2022").digest,
    )  # fmt: skip
    units = [
        HoldingUnit(name=named(place), holds=holds, every_min=every)
        for place, (holds, every) in UNITS.items()
    ]
    bodies: tuple[Body, ...] = (settings, *units)
    drafts = [Draft(body=one, at=BEGINS, person="AR") for one in bodies]
    record.append(drafts, lambda: BEGINS)
    return record


def enter(
    record: Record, life: Lived, begins: datetime, code: str, chance: random.Random
) -> OnFile:
    """Enter a life: at times it is divided or something is made of it, whatever it is then."""
    file = OnFile(life, begins, [code], moved=chance.random() < 0.7)
    changes = chance.choice([0.0, 0.1, 0.3])

    waiting: list[Draft] = []

    def append(minute: float, *acts: Act) -> None:
        """Readings wait for the next act, whose clock decides whether it is believed."""
        now = begins + timedelta(minutes=minute)
        waiting.extend(
            Draft(body=body, at=now, person="JM", batch=batch, unit=unit)
            for body, batch, unit in acts
        )
        acted = not all(isinstance(body, Measured) for body, _, _ in acts)
        if waiting and (acted or minute == life.end):
            record.append(waiting, lambda: now)
            waiting.clear()

    append(0, (BatchOpened(food="stew"), code, None))
    for minute, what in happened(life, chance):
        batch = file.batches[-1]
        match what:
            case ("check", str(place)):
                append(
                    minute,
                    (a_reading(PLACES[place][0], UNITS[place][0] + "_hold"), None, named(place)),
                )
            case ("came to", str(place)) if file.moved:
                append(minute, (Moved(), batch, named(place)))
            case (Step() as step, float(temperature)):
                append(minute, (a_reading(temperature, step), batch, None))
                if chance.random() < changes:
                    file.batches.append(f"{code}-{len(file.batches)}")
                    append(minute, *change(batch, file.batches[-1], chance))
            case (Event.USED, _):
                append(minute, (UsedUp(), batch, None))
            case (Event.DISCARD, _):
                append(minute, (Discarded(reason="old"), batch, None))
    append(life.end)
    return file


def a_reading(temperature: float, step: str) -> Measured:
    return Measured(step=str(step), temp=f"{temperature:.1f}", degree="F")


def change(old: str, new: str, chance: random.Random) -> list[Act]:
    """Divide a batch, make something of it, and keep some of it at times."""
    if chance.random() < 0.5:
        body = BatchOpened(food="stew", portion_of=(old,))
        return [(body, new, None), (UsedUp(into=(new,)), old, None)]
    made = BatchOpened(food="soup", made_from=(old,))
    return [(made, new, None), *([(UsedUp(), old, None)] if chance.random() < 0.5 else [])]


def happened(life: Lived, chance: random.Random) -> Iterator[tuple[float, tuple[object, object]]]:
    """Tell in order what happens: looks at all units, where the food comes to, its readings."""
    every: list[tuple[float, int, tuple[object, object]]] = []
    every += [
        (float(minute), 0, ("came to", place)) for minute, place in life.stays if place in UNITS
    ]
    for one in life.evidence:
        when = (one.at - at(0)).total_seconds() / 60
        temperature = float(one.reading.temperature.value) if one.reading else 0.0
        every.append((when, 1, (one.what, temperature)))
    lazy = chance.choice([1, 1, 2, 5])
    for place, (_, often) in UNITS.items():
        every += [
            (float(minute), 2, ("check", place))
            for minute in range(chance.randrange(often), life.end, often * lazy)
        ]
    every.sort(key=lambda one: (one[0], one[1]))
    for when, _, what in every:
        yield when, what


def filed(path: Path, seed: int) -> tuple[Record, list[OnFile]]:
    chance, record, begins = random.Random(seed), opened(path), BEGINS + timedelta(days=1)
    files = []
    for n in range(LIVES):
        life = live(chance)
        files.append(enter(record, life, begins, f"stew-{n}", chance))
        begins += timedelta(minutes=life.end, days=1)
    return record, files


def deviations(file: OnFile, code: str, record: Record, register: Register) -> list[str]:
    batch = read_batch(record, code)
    found = batch.judged(register, file.ends)
    bad = [one for one in found if one.verdict.is_deviation]
    assert all(explain(one, lambda moment: f"{moment:%H:%M}") for one in found)
    return [f"{one.limit.name} {one.verdict}" for one in bad]


def told(file: OnFile, record: Record, register: Register) -> list[str]:
    return [one for code in file.batches for one in deviations(file, code, record, register)]


@pytest.mark.parametrize("seed", range(6))
def test_no_dangerous_life_on_record_is_silent(tmp_path: Path, seed: int) -> None:
    """What its readings show for over 6 h, or what truly was so while its places were named.

    But for food that was on the stove: 3-401.11 sets no time to heat.
    """
    record, files = filed(tmp_path / "record.sqlite3", seed)
    with closing(record):
        view, register = record.as_it_stands(), read_register(record)
        shown = [one for one in files if longest_shown(one.life) > 360]
        cooked = {id(one) for one in files for ev in one.life.evidence if ev.what is Step.COOK}
        true = [
            one
            for one in files
            if one.moved and longest_true(one.life) > 360 and id(one) not in cooked
        ]
        assert len(shown) >= LIVES // 20 and len(true) >= LIVES // 50
        for file in {id(one): one for one in (*shown, *true)}.values():
            assert told(file, view, register), (file.batches, file.moved, written_down(file.life))


@pytest.mark.parametrize("seed", range(6, 8))
def test_what_is_made_of_a_food_carries_what_nobody_decided(tmp_path: Path, seed: int) -> None:
    record, files = filed(tmp_path / "record.sqlite3", seed)
    with closing(record):
        view, register = record.as_it_stands(), read_register(record)
        carried = 0
        for file in files:
            chain = [read_batch(view, code) for code in file.batches]
            for old, new in pairwise(chain):
                left = undecided_at(old, new, register)
                if left:
                    carried += 1
                    here = deviations(file, new.name, view, register)
                    assert here, (new.name, left, written_down(file.life))
        assert carried >= LIVES // 50


def undecided_at(old: BatchOnRecord, new: BatchOnRecord, register: Register) -> list[str]:
    moment = new.opened.at
    found = old.judged(register, moment)
    return [
        one.limit.name
        for one in undecided(old, found, register)
        if one.since and one.since < moment
    ]
