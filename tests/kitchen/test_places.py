"""Where food stands that no unit is named for, and what closed hours ask of it; invented."""

from contextlib import closing
from datetime import datetime

from haccp.kitchen.places import usual_units
from haccp.kitchen.register import read_register
from haccp.record.store import open_record
from tests.kitchen.accounts import told
from tests.kitchens import Kitchen, on


def usual(kitchen: Kitchen, food: str = "stew", at: datetime | None = None) -> dict[str, str]:
    with closing(open_record(kitchen.path, create=False)) as record:
        found = usual_units(read_register(record), food, at or kitchen.now)
    return {kind.value: name for kind, name in found.items()}


def test_the_only_unit_of_a_kind_is_the_usual_one(kitchen: Kitchen) -> None:
    assert usual(kitchen) == {"hot": "well-1", "cold": "walk-in"}
    kitchen.says("add unit eggs egg --by AR")
    assert usual(kitchen) == {"hot": "well-1", "cold": "walk-in"}
    kitchen.says("add unit reach-in cold --by AR")
    assert usual(kitchen) == {"hot": "well-1"}


def test_one_of_several_is_said_to_be_the_usual_one_and_the_one_before_is_not(
    kitchen: Kitchen,
) -> None:
    answer = kitchen.says("add unit reach-in cold --usual --by AR")
    assert "where food kept cold usually stands" in answer
    assert usual(kitchen)["cold"] == "reach-in"
    kitchen.says("add unit walk-in cold --usual --by AR")
    assert usual(kitchen)["cold"] == "walk-in"
    kitchen.says("add unit reach-in cold --every 120 --by AR")
    assert usual(kitchen)["cold"] == "walk-in"
    kitchen.says("add unit walk-in cold --not-usual --by AR")
    assert "cold" not in usual(kitchen)


def test_a_retired_unit_is_nobodys_usual_place(kitchen: Kitchen) -> None:
    kitchen.says("add unit reach-in cold --usual --by AR")
    kitchen.says("add unit reach-in cold --retired --by AR")
    assert usual(kitchen)["cold"] == "walk-in"


def test_a_food_has_a_unit_of_its_own_from_when_it_was_said(kitchen: Kitchen) -> None:
    kitchen.says("add unit reach-in cold --by AR")
    kitchen.says("add food stew --steps cook,cool --by AR")
    before = kitchen.now
    kitchen.at("2026-10-26T13:00-06:00")
    assert "in reach-in" in kitchen.says("add food Stew --unit reach-in --by AR")
    assert usual(kitchen) == {"hot": "well-1", "cold": "reach-in"}
    assert "cold" not in usual(kitchen, "rice")
    assert "cold" not in usual(kitchen, at=before)
    kitchen.says("add food stew --unit '' --by AR")
    assert "cold" not in usual(kitchen)
    assert "no unit" in kitchen.refuses("add food stew --unit cellar --by AR")


def night(kitchen: Kitchen, opens: str) -> None:
    """Cold beef stands in the walk-in, which is checked until 19:30 and from `opens` on."""
    on(kitchen, "10-26", "14:00", "receive beef 38 --code beef")
    on(kitchen, "10-26", "16:00", "hold walk-in 38")
    on(kitchen, "10-26", "19:30", "hold walk-in 38")
    on(kitchen, "10-27", opens, "hold walk-in 39")


def storm(kitchen: Kitchen) -> None:
    """The day after is looked after, and nobody comes on the 28th."""
    night(kitchen, "06:30")
    for clock in ("10:30", "14:30", "18:30"):
        on(kitchen, "10-27", clock, "hold walk-in 39")
    on(kitchen, "10-29", "06:30", "hold walk-in 39")


def test_a_closed_night_asks_for_no_check_and_the_first_after_it_is_due_soon(
    kitchen: Kitchen,
) -> None:
    kitchen.says("kitchen --open 'mon-sun 06:00-20:00' --by AR")
    night(kitchen, "06:30")
    assert told(kitchen, "beef") == []


def test_without_closed_hours_the_same_night_was_not_watched(kitchen: Kitchen) -> None:
    night(kitchen, "06:30")
    assert told(kitchen, "beef") == ["cold-holding not shown"]


def test_the_first_check_after_a_closed_night_may_be_missed_too(kitchen: Kitchen) -> None:
    kitchen.says("kitchen --open 'mon-sun 06:00-20:00' --by AR")
    night(kitchen, "09:00")
    assert told(kitchen, "beef") == ["cold-holding not shown"]


def test_a_day_declared_closed_afterwards_takes_its_missed_checks_back_and_is_listed(
    kitchen: Kitchen,
) -> None:
    kitchen.says("kitchen --open 'mon-sun 06:00-20:00' --by AR")
    storm(kitchen)
    assert told(kitchen, "beef") == ["cold-holding not shown"]
    assert "Declared afterwards" in kitchen.says("closed 2026-10-28 storm --by AR")
    assert told(kitchen, "beef") == []


def test_a_closure_longer_than_the_kitchen_allows_is_watched_all_the_same(
    kitchen: Kitchen,
) -> None:
    kitchen.says("kitchen --open 'mon-sun 06:00-20:00' --longest-closure 1 --by AR")
    kitchen.says("closed 2026-10-28 storm --by AR")
    storm(kitchen)
    assert told(kitchen, "beef") == ["cold-holding not shown"]


def test_a_check_of_the_usual_unit_is_evidence_of_the_food_in_it(kitchen: Kitchen) -> None:
    kitchen.says("add unit reach-in cold --usual --every 240 --by AR")
    on(kitchen, "10-26", "14:00", "receive beef 38 --code beef")
    on(kitchen, "10-26", "15:00", "hold walk-in 60")
    assert told(kitchen, "beef") == []
    on(kitchen, "10-26", "16:00", "hold reach-in 60")
    assert told(kitchen, "beef") == ["cold-holding not met"]
