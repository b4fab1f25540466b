"""Chains in one order, and names kept apart, without a file."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from haccp import limits
from haccp.record.bodies import (
    BatchOpened,
    Body,
    HoldingUnit,
    KitchenSettings,
    Measured,
    Renamed,
    Thermometer,
    Withdrawn,
)
from haccp.record.entries import FIRST, Draft, as_row, entry_from
from haccp.record.merging import NOT_AGREED, Names, agreed, differing, of_till, shown

_NOON = datetime(2026, 10, 26, 18, 0, tzinfo=UTC)
_TILLS = ("line", "cold", "bakery")
_SETTINGS = KitchenSettings(
    name="Grown Kitchen", zone="UTC", degree="F", altitude_m=0, limit_set="food-code-2022",
    limits_digest=limits.shipped("food-code-2022").digest,
)  # fmt: skip

Typed = tuple[int, Draft]
"""An entry and the minute after noon at which it is entered."""


def reading(temp: str, **where: Any) -> Draft:
    body = Measured(step="cool", temp=temp, degree="F")
    return Draft(body=body, at=_NOON, person="JM", **where)


def entry(body: Body, **where: Any) -> Draft:
    return Draft(body=body, at=_NOON, person="AR", **where)


def _chain(typed: Iterable[Typed]) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = []
    for minute, draft in typed:
        at = _NOON + timedelta(minutes=minute)
        previous = rows[-1]["digest"] if rows else FIRST
        rows.append(as_row(draft, seq=len(rows) + 1, entered_at=at, previous=previous))
    return rows


def merged(*chains: Iterable[Typed]) -> list[dict[str, Any]]:
    numbers: dict[tuple[int, int], int] = {}
    made = []
    for one in shown(
        [of_till(till, _chain(chain)) for till, chain in enumerate(chains)],
        Names(_TILLS),
        lambda till, number: numbers[till, number],
    ):
        numbers[one.source.till, one.source.row["seq"]] = one.row["seq"]
        made.append(one.row)
    return made


def test_a_clock_that_went_back_reorders_no_chain() -> None:
    line = [(0, reading("1")), (30, reading("2")), (5, reading("3")), (10, reading("4"))]
    cold = [(10, reading("5")), (40, reading("6"))]
    temps = [entry_from(row).body for row in merged(line, cold)]
    assert [one.temp for one in temps if isinstance(one, Measured)] == [
        "1",
        "5",
        "2",
        "3",
        "4",
        "6",
    ]


def test_of_one_moment_the_till_that_was_named_first_comes_first() -> None:
    rows = merged([(0, reading("1"))], [(0, reading("2"))])
    assert [row["body"].count('"temp":"1"') for row in rows] == [1, 0]


def test_a_correction_is_of_its_own_tills_entry() -> None:
    wrong, right = reading("38"), entry(Withdrawn(reason="slip"), corrects=1)
    rows = merged([(0, wrong), (9, right)], [(1, wrong), (2, right)])
    assert [row["corrects"] for row in rows] == [None, None, 2, 1]


def test_what_two_others_opened_is_evidence_for_neither() -> None:
    opened = entry(BatchOpened(food="stew"), batch="stew")
    bakery = [(1, reading("100", batch="stew")), (4, reading("90", batch="stew"))]
    rows = merged([(0, opened)], [(2, opened)], bakery)
    assert [row["batch"] for row in rows] == ["stew", "stew", "stew.cold", "stew.bakery"]
    # opened there after all, it is another batch than what was left open
    rows = merged(
        [(0, opened)], [(2, opened)], [*bakery, (5, opened), (6, reading("80", batch="stew"))]
    )
    assert [row["batch"] for row in rows[-3:]] == [
        "stew.bakery",
        "stew.bakery.bakery",
        "stew.bakery.bakery",
    ]


def test_a_name_that_is_made_up_takes_no_name_that_somebody_has() -> None:
    line = [(0, entry(BatchOpened(food="a"), batch="stew"))]
    cold = [
        (1, entry(BatchOpened(food="b"), batch="stew.cold")),
        (2, entry(BatchOpened(food="c"), batch="stew")),
        (3, entry(BatchOpened(food="d", made_from=("stew", "stew.cold")), batch="Stew-1")),
    ]
    rows = merged(line, cold)
    assert [row["batch"] for row in rows] == ["stew", "stew.cold", "stew.cold.cold", "Stew-1"]
    made = entry_from(rows[-1]).body
    assert isinstance(made, BatchOpened)
    assert made.made_from == ("stew.cold.cold", "stew.cold")


def test_a_container_that_is_called_as_anothers_batch_is_called_otherwise() -> None:
    line = [(0, entry(BatchOpened(food="a"), batch="pan-1"))]
    cold = [
        (1, entry(BatchOpened(food="b"), batch="rice")),
        (2, entry(Renamed(name="pan-1"), batch="rice")),
    ]
    renamed = entry_from(merged(line, cold)[-1]).body
    assert renamed == Renamed(name="pan-1.cold")


def test_units_of_one_name_are_one_unless_they_hold_food_otherwise() -> None:
    unit = HoldingUnit(name="reach-in", holds="cold", every_min=240)
    stricter = replace(unit, every_min=60, usual=True)
    rows = merged(
        [(0, entry(unit)), (9, reading("38", unit="reach-in"))],
        [(1, entry(stricter)), (8, reading("39", unit="reach-in"))],
        [(2, entry(replace(unit, holds="hot"))), (7, reading("150", unit="reach-in"))],
    )
    bodies = [entry_from(row).body for row in rows[:3]]
    hot = replace(unit, name="reach-in.bakery", holds="hot")
    assert bodies == [unit, stricter, hot]
    assert [row["unit"] for row in rows[3:]] == ["reach-in.bakery", "reach-in", "reach-in"]
    # one that comes to be used otherwise is another from then on, and stays it
    rows = merged(
        [
            (0, entry(unit)),
            (2, entry(replace(unit, holds="hot"))),
            (4, entry(unit)),
            (5, reading("38", unit="reach-in")),
        ],
        [(1, entry(unit)), (6, reading("38", unit="reach-in"))],
    )
    assert [row["unit"] for row in rows[-2:]] == ["reach-in.line", "reach-in"]


def test_of_two_accuracies_the_worse_counts() -> None:
    good, worse = Thermometer(label="T1", accuracy="1F"), Thermometer(label="T1", accuracy="1C")
    assert entry_from(merged([(0, entry(worse))], [(1, entry(good))])[1]).body == worse


@pytest.mark.parametrize(
    ("line", "cold", "expected"),
    [
        ({"check_every_min": 60}, {"check_every_min": 90}, {"check_every_min": 60}),
        ({"grace_min": 30}, {"grace_min": 5}, {"grace_min": 5}),
        ({"open_hours": "mon 06:00-20:00"}, {}, {"open_hours": ""}),
        ({"late_reheat": "x"}, {}, {"late_reheat": ""}),
        ({"thermometer_days": 0}, {"thermometer_days": 7}, {"thermometer_days": 7}),
        ({"longest_closure": 3}, {"longest_closure": 1}, {"longest_closure": 1}),
        ({"guard": "1F"}, {}, {"limits_digest": NOT_AGREED}),
        ({"zone": "America/Denver"}, {}, {"limits_digest": NOT_AGREED}),
        ({"address": "here"}, {"address": "there"}, {"address": "here"}),
    ],
)
def test_the_stricter_setting_counts_and_without_common_limits_there_are_none(
    line: dict[str, Any], cold: dict[str, Any], expected: dict[str, Any]
) -> None:
    together = agreed([(0, replace(_SETTINGS, **line)), (1, replace(_SETTINGS, **cold))])
    assert {name: getattr(together, name) for name in expected} == expected
    assert differing([replace(_SETTINGS, **line), replace(_SETTINGS, **cold)])


def test_what_was_changed_last_counts_of_what_nobody_is_judged_by() -> None:
    moved = replace(_SETTINGS, address="there")
    said = [(0, _SETTINGS), (1, _SETTINGS), (0, moved), (1, replace(_SETTINGS, permit="7"))]
    assert agreed(said) == replace(_SETTINGS, address="there", permit="7")


def test_limits_that_were_set_alike_again_are_in_force() -> None:
    newer = replace(_SETTINGS, limit_set="new-york-14-1", limits_digest="a" * 64)
    assert agreed([(0, _SETTINGS), (1, _SETTINGS), (0, newer)]).limits_digest == NOT_AGREED
    assert agreed([(0, _SETTINGS), (1, _SETTINGS), (0, newer), (1, newer)]) == newer
