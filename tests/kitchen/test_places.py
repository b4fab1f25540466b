"""Where food stands that no unit is named for, and what closed hours ask of it; invented."""

import json
from contextlib import closing
from datetime import datetime

import pytest

from haccp.kitchen.places import usual_units
from haccp.kitchen.register import read_register
from haccp.record.store import open_record
from haccp.rules.evidence import Finding
from haccp.rules.words import explain
from tests.kitchen.accounts import account, told
from tests.kitchens import Kitchen, flat, log, matters, on


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
    assert resting_on(kitchen, "beef") == ["its place is taken to be reach-in, as usual."]


def resting_on(kitchen: Kitchen, code: str) -> list[str]:
    """Give what the sentences about deviations say of a place that nobody named."""
    bad = [one for one in account(kitchen, code).findings if one.verdict.is_deviation]
    said = [explain(one, lambda at: f"{at:%H:%M}") for one in bad]
    return [one.partition("No unit was named for it: ")[2] for one in said]


def test_a_missed_check_of_a_usual_unit_says_that_it_is_the_usual_one(kitchen: Kitchen) -> None:
    on(kitchen, "10-26", "14:00", "receive beef 38 --code beef")
    on(kitchen, "10-26", "22:00", "hold walk-in 38")
    assert resting_on(kitchen, "beef") == ["its place is taken to be walk-in, as usual."]
    on(kitchen, "10-26", "22:05", "move beef walk-in")
    on(kitchen, "10-27", "08:00", "hold walk-in 38")
    assert resting_on(kitchen, "beef")[1:] == [""]


def reheat(kitchen: Kitchen, code: str) -> tuple[str, float | None, float | None]:
    (found,) = [one for one in account(kitchen, code).findings if one.limit.name == "reheat"]
    return found.verdict.value, minutes(found, "shortest"), minutes(found, "longest")


def minutes(found: Finding, bound: str) -> float | None:
    lasted = getattr(found, bound)
    return None if lasted is None else lasted.total_seconds() / 60


def cold_rice(kitchen: Kitchen) -> None:
    """Rice is cooled to 41 °F by 11:00 and stands in the walk-in, which is good at 11:10."""
    on(kitchen, "10-26", "13:00", "batch rice --code rice --kind 'plant food'")
    on(kitchen, "10-26", "13:10", "cook rice 180")
    for clock, temp in (("13:40", 136), ("14:40", 69), ("16:00", 41)):
        on(kitchen, "10-26", clock, f"cool rice {temp}")
    for day, clock in (("26", "20:00"), ("27", "00:00"), ("27", "04:00"), ("27", "08:00")):
        on(kitchen, f"10-{day}", clock, "hold walk-in 38")


def test_a_reheat_counts_from_when_its_food_was_taken_out(kitchen: Kitchen) -> None:
    cold_rice(kitchen)
    assert on(kitchen, "10-27", "09:40", "out rice").startswith("rice is out since 09:40.")
    on(kitchen, "10-27", "10:00", "reheat rice 65")
    on(kitchen, "10-27", "11:00", "reheat rice 166 --held 15")
    assert reheat(kitchen, "rice") == ("met", 60, 180 - 100)


def test_taken_out_counts_as_said_if_it_was_entered_in_time(kitchen: Kitchen) -> None:
    cold_rice(kitchen)
    on(kitchen, "10-27", "09:55", "out rice 09:40")
    on(kitchen, "10-27", "10:00", "reheat rice 65")
    on(kitchen, "10-27", "11:00", "reheat rice 166 --held 15")
    assert reheat(kitchen, "rice") == ("met", 60, 80)


def test_taken_out_entered_later_proves_nothing(kitchen: Kitchen) -> None:
    """Source: none; 15 minutes are the rule of what is entered late (common practice)."""
    cold_rice(kitchen)
    answer = on(kitchen, "10-27", "09:56", "out rice 09:40")
    assert "that moment proves nothing" in flat(answer)
    on(kitchen, "10-27", "10:00", "reheat rice 65")
    on(kitchen, "10-27", "11:00", "reheat rice 166 --held 15")
    assert reheat(kitchen, "rice") == ("not shown", 60, 180)
    assert resting_on(kitchen, "rice") == ["its place is taken to be walk-in, as usual."]


def test_a_reheat_that_rests_on_a_reading_of_the_food_rests_on_no_unit(kitchen: Kitchen) -> None:
    cold_rice(kitchen)
    on(kitchen, "10-27", "08:01", "hold rice 38")
    on(kitchen, "10-27", "10:00", "reheat rice 65")
    on(kitchen, "10-27", "11:00", "reheat rice 166 --held 15")
    assert reheat(kitchen, "rice") == ("not shown", 60, 179)
    assert resting_on(kitchen, "rice") == [""]


def test_time_out_that_counts_from_a_check_of_the_usual_unit_says_so(kitchen: Kitchen) -> None:
    cold_rice(kitchen)
    on(kitchen, "10-27", "10:30", "prepare rice 60")
    assert resting_on(kitchen, "rice") == ["its place is taken to be walk-in, as usual."]


def test_food_that_was_moved_is_known_by_the_checks_of_where_it_is(kitchen: Kitchen) -> None:
    kitchen.says("add unit reach-in cold --every 240 --by AR")
    on(kitchen, "10-26", "14:00", "receive beef 38 --code beef")
    assert "beef stands in reach-in" in on(kitchen, "10-26", "14:30", "move beef reach-in")
    on(kitchen, "10-26", "15:00", "hold walk-in 60")
    assert told(kitchen, "beef") == []
    on(kitchen, "10-26", "16:00", "hold reach-in 60")
    assert told(kitchen, "beef") == ["cold-holding not met"]


def test_moved_afterwards_it_takes_nothing_back(kitchen: Kitchen) -> None:
    kitchen.says("add unit reach-in cold --every 240 --by AR")
    on(kitchen, "10-26", "14:00", "receive beef 38 --code beef")
    on(kitchen, "10-26", "14:10", "move beef walk-in")
    on(kitchen, "10-26", "15:00", "hold walk-in 60")
    assert "counts from now on" in on(kitchen, "10-26", "15:30", "move beef reach-in 14:50")
    assert told(kitchen, "beef") == ["cold-holding not met"]


def test_out_and_move_are_shown_with_the_food_and_can_be_withdrawn(kitchen: Kitchen) -> None:
    log(kitchen, ("12:30", "move stew walk-in"), ("13:00", "out stew"))
    shown = flat(kitchen.says("show stew"))
    assert "moved stew into walk-in" in shown
    assert "taken out" in shown
    for entry in kitchen.entries()[-2:]:
        kitchen.says(f"correct {entry['seq']} --withdraw --reason 'another pan'")
    assert kitchen.says(f"report today --output {kitchen.path.with_name('page.pdf')}")


def test_what_cannot_have_been_moved_is_refused(kitchen: Kitchen) -> None:
    assert "was opened at" in kitchen.refuses("out stew 11:00")
    assert "was opened at" in kitchen.refuses("move stew walk-in 11:00")
    assert "no unit" in kitchen.refuses("move stew cellar")
    kitchen.says("used stew")
    assert "no open batch" in kitchen.refuses("out stew")


@pytest.mark.parametrize("back", ["hold stew 157 --in well-1", "hold stew 157", "cook stew 190"])
def test_hot_food_that_was_taken_out_for_minutes_and_is_hot_again_is_told_nothing(
    back: str, kitchen: Kitchen
) -> None:
    log(kitchen, ("12:10", "cook stew 190"), ("12:40", "hold stew 160 --in well-1 --yes"))
    log(kitchen, ("12:50", "out stew"), ("12:55", back))
    assert matters(kitchen, "stew") in ([], ["next check"], ["open"])


def test_hot_food_that_was_taken_out_for_longer_is_told(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "cook stew 190"), ("12:40", "hold stew 160 --in well-1 --yes"))
    log(kitchen, ("12:50", "out stew"), ("15:00", "hold stew 140"))
    assert matters(kitchen, "stew")[0] == "not shown"


def test_food_that_was_too_cold_before_it_was_taken_out_counts_from_when_it_was_hot(
    kitchen: Kitchen,
) -> None:
    log(kitchen, ("12:10", "cook stew 190"), ("12:40", "hold stew 160 --in well-1 --yes"))
    log(kitchen, ("14:00", "hold stew 100 --yes"), ("14:10", "out stew"))
    log(kitchen, ("14:50", "hold stew 140 --yes"))
    found = json.loads(kitchen.says("show stew --json"))["findings"]
    (spell,) = [one for one in found if one["limit"] == "time-out-allowed"]
    assert (spell["verdict"], spell["longest_min"]) == ("not shown", 130)
