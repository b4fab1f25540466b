"""What a kitchen does by its record. The kitchen and its foods are invented."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from haccp import limits
from haccp.kitchen.practised import LOOKED_AT, Practised, practised
from haccp.kitchen.register import read_register
from haccp.record.bodies import (
    BatchOpened,
    Body,
    DeliveryRejected,
    KitchenSettings,
    Measured,
    Withdrawn,
)
from haccp.record.entries import Draft
from haccp.record.store import Record, open_record
from haccp.rules.evidence import Step

NOW = datetime(2026, 11, 2, 15, 0, tzinfo=UTC)
KITCHEN = KitchenSettings(
    name="Juniper Flats",
    zone="America/Denver",
    degree="F",
    altitude_m=1640,
    limit_set="food-code-2022",
    limits_digest=limits.shipped().digest,
)


@pytest.fixture
def record(tmp_path: Path) -> Iterator[Record]:
    record = open_record(tmp_path / "record.sqlite3", create=True)
    record.append([Draft(body=KITCHEN, at=NOW, person="AR")], lambda: NOW)
    yield record
    record.close()


def enter(record: Record, code: str, *bodies: Body, **more: Any) -> None:
    drafts = [Draft(body=body, at=NOW, person="TP", batch=code, **more) for body in bodies]
    record.append(drafts, lambda: NOW)


def read(step: Step, **more: Any) -> Measured:
    return Measured(step=step, temp="40", degree="F", **more)


def done(record: Record) -> Practised:
    return practised(record, read_register(record))


def test_a_portion_counts_with_the_batch_that_it_is_taken_from(record: Record) -> None:
    enter(record, "stew-1", BatchOpened(food="Stew", amount="12 gal"), read(Step.COOK))
    enter(record, "stew-1-a", BatchOpened(food="stew", portion_of=("stew-1",)), read(Step.COOL))
    enter(record, "stew-2", BatchOpened(food="stew", amount="6 gal"), read(Step.COOK))
    (food,) = done(record).foods
    assert (food.batches, food.amounts) == (2, ("12 gal", "6 gal"))
    assert food.steps == {Step.COOK: 2, Step.COOL: 1}


def test_of_many_batches_all_are_counted_and_the_newest_read(record: Record) -> None:
    enter(record, "rice-0", BatchOpened(food="rice"), read(Step.TIME_CONTROL))
    for n in range(1, LOOKED_AT + 1):
        enter(record, f"rice-{n}", BatchOpened(food="rice"), read(Step.COOK))
    (food,) = done(record).foods
    assert (food.batches, food.looked_at) == (LOOKED_AT + 1, LOOKED_AT)
    assert food.steps == {Step.COOK: LOOKED_AT}


def test_a_batch_that_was_withdrawn_is_none(record: Record) -> None:
    enter(record, "rice-1", BatchOpened(food="rice"))
    opened = record.head()[0]
    record.append(
        [Draft(body=Withdrawn(reason="typed twice"), at=NOW, person="TP", batch="rice-1",
               corrects=opened)],
        lambda: NOW + timedelta(minutes=1),
    )  # fmt: skip
    assert done(record).foods == ()


def test_what_only_came_through_the_door_and_went_into_something_is_an_ingredient(
    record: Record,
) -> None:
    enter(record, "beans-1", BatchOpened(food="beans", received_as="cold"), read(Step.RECEIVE))
    enter(record, "stew-1", BatchOpened(food="stew", made_from=("beans-1",)), read(Step.COOK))
    enter(record, "fish-1", BatchOpened(food="fish"), DeliveryRejected(reason="warm"))
    enter(record, "ham-1", BatchOpened(food="ham"), read(Step.RECEIVE))
    foods = {food.name: food for food in done(record).foods}
    assert foods["beans"].into == {"stew"}
    assert {name for name, food in foods.items() if food.is_ingredient} == {"beans", "fish"}


def test_ways_with_limits_of_their_own_are_found(record: Record) -> None:
    enter(record, "a", BatchOpened(food="a", received_as="egg", by_law="", ambient=True))
    enter(record, "b", BatchOpened(food="b"), read(Step.COOK, method="microwave"))
    enter(record, "c", BatchOpened(food="c", food_kind="whole roast", oven="convection",
                                   weight_lb="12"))  # fmt: skip
    found = done(record)
    assert found.ovens == {"convection, 10 lb or more"}
    assert found.limits == {
        "receiving-egg-air",
        "egg-holding",
        "cooling-ambient",
        "cook-microwave",
    }
