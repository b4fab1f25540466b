"""Before and while food is cooked: 3-401.11 to .14, ovens and microwaves. The foods are invented."""

import json

import pytest

from tests.kitchens import Kitchen, beside_looks, findings, flat, log, matters, verdict


def test_preparation_counts_as_time_between_cold_and_hot(kitchen: Kitchen) -> None:
    log(
        kitchen,
        ("12:00", "batch beef --code beef"),
        ("12:00", "prepare beef 46"),
        ("13:00", "prepare beef 55"),
        ("13:30", "cook beef 100"),
        ("14:00", "cook beef 165 --held 15"),
    )
    shown = kitchen.says("show beef")
    assert "Between 41 and 135 °F: 1 h 30 min to 2 h (information)" in shown
    assert verdict(kitchen, "beef") == "met", "the time between is no limit"


@pytest.mark.parametrize(
    ("oven", "weight", "shown", "expected"),
    [
        ("still dry", "9.9lb", "350F", "met"),
        ("still dry", "9.9lb", "349F", "not met"),
        ("still dry", "10lb", "250F", "met"),
        ("convection", "4.5kg", "324F", "not met"),
        ("convection", "4.6kg", "250F", "met"),
        ("convection", "10lb", "250F", "met"),
        ("high humidity", "9lb", "250F", "met"),
        ("high humidity", "9lb", "251F", "not met"),
    ],
)
def test_a_roasts_oven_is_judged_by_its_kind_and_the_roasts_weight(
    kitchen: Kitchen, oven: str, weight: str, shown: str, expected: str
) -> None:
    """Source: Food Code 3-401.11(B)(1), the oven table."""
    kitchen.says(f"batch r --code r --kind 'whole roast' --oven '{oven}' --weight {weight}")
    log(kitchen, ("12:00", f"cook r 60 --oven {shown}"), ("18:00", f"cook r 145 --oven {shown}"))
    log(kitchen, ("18:30", f"cook r 145 --oven {shown}"))
    assert findings(kitchen, "r") == {"cook": "met", "oven": expected}


def test_a_roast_whose_oven_nobody_read_is_not_shown(kitchen: Kitchen) -> None:
    kitchen.says("batch r --code r --kind 'whole roast' --oven convection --weight 14lb")
    log(kitchen, ("12:04", "cook r 145 --held 4min"))
    assert findings(kitchen, "r") == {"cook": "met", "oven": "not shown"}
    assert "Log the oven" in flat(kitchen.says("status"))


def test_a_roast_is_held_at_130_once_it_was_cooked_and_not_before(kitchen: Kitchen) -> None:
    """Source: Food Code 3-501.16(A)(1), roasts cooked by 3-401.11(B)."""
    kitchen.says("batch r --code r --kind 'whole roast' --oven none")
    log(kitchen, ("12:00", "cook r 120"), ("12:10", "hold r 131"))
    assert findings(kitchen, "r")["hot-holding"] == "not met"
    log(kitchen, ("13:00", "cook r 145 --held 4min"), ("13:10", "hold r 130"))
    held = [
        one["verdict"]
        for one in json.loads(kitchen.says("show r --json"))["findings"]
        if one["limit"] == "hot-holding"
    ]
    assert held == ["not met", "met"]


def test_in_a_microwave_meat_stands_two_minutes_at_165(kitchen: Kitchen) -> None:
    """Source: Food Code 3-401.12."""
    kitchen.says("batch fish --kind fish --code fish")
    log(kitchen, ("12:00", "cook fish 165 --microwave --held 119s"), ("12:01", "hold fish 150"))
    assert findings(kitchen, "fish")["cook-microwave"] == "not shown"
    kitchen.says("batch cod --kind fish --code cod")
    log(kitchen, ("12:05", "cook cod 165 --microwave --held 2min"))
    assert findings(kitchen, "cod") == {"cook-microwave": "met"}


def test_plants_are_cooked_for_hot_holding_at_135(kitchen: Kitchen) -> None:
    """Source: Food Code 3-401.13."""
    kitchen.says("batch beans --kind 'plant food' --code beans")
    assert log(kitchen, ("12:00", "cook beans 135")).startswith("OK beans 135 °F.")


def test_food_cooked_in_two_goes_is_heated_shortly_cooled_and_cooked_whole(
    kitchen: Kitchen,
) -> None:
    """Source: Food Code 3-401.14: at most 60 min, then cooled, then cooked as raw food is."""
    kitchen.says("batch chicken --kind poultry --code ch")
    log(
        kitchen,
        ("12:00", "cook ch 100 --initial"),
        ("12:30", "cook ch 120 --initial"),
        ("12:50", "cool ch 110"),
        ("14:20", "cool ch 70"),
        ("18:20", "cool ch 41"),
        ("19:00", "cook ch 165"),
    )
    found = findings(kitchen, "ch")
    assert found["initial-heating"] == found["cook"] == "met"
    assert found["cooling-stage-1"] == found["cooling-stage-2"] == "met"


@pytest.mark.parametrize("served", ["hold ch 140", "time ch 140", "used ch"])
def test_food_that_is_served_after_its_initial_heating_alone_is_not_shown(
    kitchen: Kitchen, served: str
) -> None:
    """Source: Food Code 3-401.14(D), the full cook before service."""
    kitchen.says("batch chicken --kind poultry --code ch")
    log(kitchen, ("12:00", "cook ch 140 --initial"), ("12:30", served))
    assert findings(kitchen, "ch")["cook"] == "not shown"
    assert "not shown" in matters(kitchen, "ch")


def test_moving_on_from_an_unfinished_cook_is_told_at_once(kitchen: Kitchen) -> None:
    kitchen.says("batch chicken --kind poultry --code chicken")
    log(kitchen, ("12:30", "cook chicken 140"))
    assert log(kitchen, ("12:40", "hold chicken 140")).startswith("TOO COLD chicken 140 °F.")


def test_an_undercooked_food_that_was_served_is_not_met_and_known_at_once(kitchen: Kitchen) -> None:
    log(kitchen, ("13:00", "cook stew 140"), ("13:20", "used stew"))
    assert [m["verdict"] for m in beside_looks(kitchen)] == ["not met"]
    log(kitchen, ("13:21", 'action stew "called back"'))
    assert matters(kitchen, "stew") == ["not met"], "a note beside it decides nothing"
    log(kitchen, ("13:22", 'sign today --note "guests told" --by AR'))
    assert beside_looks(kitchen) == [], "nothing of it is left"


def test_preparation_says_by_when_food_is_to_be_cold_or_hot_again(kitchen: Kitchen) -> None:
    said = log(kitchen, ("12:10", "prepare stew 44"))
    assert said.startswith("OUT stew 44 °F. Out 10 min so far, since 12:00;")
    assert "back in the cold or on the heat by 14:00" in said


def test_a_roast_that_runs_overnight_is_looked_at_when_somebody_said(kitchen: Kitchen) -> None:
    kitchen.at("2026-10-26T20:00-06:00")
    kitchen.says(
        'batch "beef shoulder" --kind "whole roast" --code beef --oven "still dry" --weight 14lb'
    )
    said = kitchen.says("cook beef 62 --oven 255 --overnight 06:00")
    assert "It runs overnight: next look Tue 27 Oct 06:00." in said
    mine = [one for one in json.loads(kitchen.says("due --json")) if one["subject"] == "beef"]
    assert "2026-10-27T06:00:00-06:00" in [one["due"] for one in mine]
    kitchen.at("2026-10-27T06:05-06:00")
    said = kitchen.says("cook beef 140 --oven 255")
    assert "overnight" not in said


def test_nothing_but_a_whole_roast_runs_alone(kitchen: Kitchen) -> None:
    assert "Only a whole roast" in kitchen.refuses("cook stew 150 --overnight 06:00")
    kitchen.says(
        'batch "beef shoulder" --kind "whole roast" --code beef --oven "still dry" --weight 14lb'
    )
    assert "no time of day" in kitchen.refuses("cook beef 62 --overnight tomorrow")
