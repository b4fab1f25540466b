"""What is held hot or cold, by itself or in a unit, and who looks after it: 3-501.16. Invented."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from haccp.cli.main import cli
from tests.kitchens import Kitchen, beside_looks, findings, flat, log, matters, next_day, verdict


def test_units_hold_eggs_and_frozen_food_by_their_own_limits(kitchen: Kitchen) -> None:
    kitchen.says("add unit eggs egg --every 240 --by AR")
    kitchen.says("add unit freezer frozen --every 240 --by AR")
    assert log(kitchen, ("12:01", "hold eggs 45")).startswith("OK")
    assert log(kitchen, ("12:02", "hold eggs 45.1")).startswith("TOO WARM")
    assert log(kitchen, ("12:03", "hold freezer -4F")).startswith("OK")
    assert log(kitchen, ("12:04", "hold freezer 28.1")).startswith("TOO WARM")
    assert "3-501.11" in kitchen.says("action freezer")


def test_a_missed_check_is_listed_once_its_grace_is_over(kitchen: Kitchen) -> None:
    log(kitchen, ("13:00", "hold well-1 141"))
    kitchen.at("2026-10-26T14:14-06:00")
    assert "No check" not in kitchen.says("status")
    kitchen.at("2026-10-26T14:20-06:00")
    assert "No check between" in kitchen.says("status")
    log(kitchen, ("14:25", "hold well-1 140"), ("14:26", 'action well-1 "alarm set for each hour"'))
    assert "No check" not in kitchen.says("status")


def test_an_emptied_unit_misses_no_check(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "cook stew 199"), ("12:30", "used stew"))
    log(kitchen, ("13:00", "hold well-1 141"), ("13:30", "empty well-1"))
    kitchen.at("2026-10-26T20:00-06:00")
    assert beside_looks(kitchen) == []


def test_changing_a_unit_judges_no_earlier_check_anew(kitchen: Kitchen) -> None:
    log(kitchen, ("13:00", "hold well-1 120"))
    kitchen.says("add unit well-1 cold --yes --by AR")
    assert verdict(kitchen, "well-1") == "not met"
    log(kitchen, ("13:10", "hold walk-in 38"))
    next_day(kitchen, "12:00")
    kitchen.says("hold walk-in 38 'yesterday 17:00'")
    kitchen.says("add unit walk-in cold --retired --by AR")
    missed = [
        f
        for f in json.loads(kitchen.says("show walk-in --json"))["findings"]
        if "No check" in f["reason"]
    ]
    assert len(missed) == 1, "the night's gap, at the interval of that time, and nothing after"


def test_new_limits_judge_a_unit_from_their_moment_on(kitchen: Kitchen, tmp_path: Path) -> None:
    local = tmp_path / "local.toml"
    local.write_text(
        '[[limit]]\nname = "cold-holding"\nside = "at or below"\ninclusive = true\nf = 38\nc = 3\n'
        'citation = "12"\nsource = "an invented county code"\nbasis = "verified"\ntext = "Colder."\n'
    )
    log(kitchen, ("12:10", "hold walk-in 40"), ("14:00", f"kitchen --limits {local} --by AR"))
    log(kitchen, ("16:00", "hold walk-in 40"))
    found = json.loads(kitchen.says("show walk-in --json"))["findings"]
    assert [f["verdict"] for f in found] == ["met", "not met"]


@pytest.mark.parametrize(
    "rows",
    [
        "cold_hold,0,38\nreheat,600,164\nreheat,602,165",
        "cook,0,199\nhot_hold,60,140\ncold_hold,1000,40",
        "cool,0,140\ncool,100,69\ncool,300,41\nhot_hold,400,140\ncold_hold,1000,41",
    ],
)
def test_what_nobody_saw_is_not_shown(rows: str) -> None:
    """The start of a reheat, or the cooling between the hot well and the cooler."""
    lines = "\n".join(
        f"pot,{row},F,{15 if row.startswith('reheat,602') else 0}" for row in rows.split("\n")
    )
    text = f"batch,step,taken_at,temp,unit,held_s\n{lines}\n"
    result = CliRunner().invoke(cli, ["check", "-", "--json"], input=text)
    assert json.loads(result.stdout)["batches"][0]["verdict"] == "not shown"


def test_cooked_food_says_what_comes_next_and_is_missed_when_nobody_looks(kitchen: Kitchen) -> None:
    said = log(kitchen, ("12:10", "cook stew 199"))
    assert "Now: Hold it at 135 °F or above, or cool it." in said
    assert "Measure it by 13:10." in said
    kitchen.at("2026-10-26T13:00-06:00")
    assert matters(kitchen, "stew") == ["next check"]
    kitchen.at("2026-10-26T17:00-06:00")
    assert matters(kitchen, "stew") == ["not shown"]
    assert verdict(kitchen, "stew") == "not shown"


def test_the_checks_of_the_unit_that_food_was_put_into_stand_for_its_own(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "cook stew 199"), ("12:30", "hold stew 160 --in well-1"))
    log(kitchen, ("13:20", "hold well-1 150"), ("14:20", "hold well-1 148"))
    kitchen.at("2026-10-26T14:30-06:00")
    assert verdict(kitchen, "stew") == "met"
    assert matters(kitchen, "stew") == [] and matters(kitchen, "well-1") == ["next check"]
    # what well-1 missed is a finding of the food in it, too
    kitchen.at("2026-10-26T16:30-06:00")
    assert matters(kitchen, "stew") == ["not shown"] and "not shown" in matters(kitchen, "well-1")
    log(kitchen, ("16:40", "empty well-1"))
    kitchen.at("2026-10-26T18:10-06:00")
    told = matters(kitchen, "stew")
    assert told == ["not shown", "not shown"], "it was taken out and never measured again"


def test_food_is_not_held_hot_in_a_cold_unit(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "cook stew 199"))
    assert "160 °F is no cold holding" in kitchen.refuses("hold stew 160 --in walk-in")
    # hot food that was set into the cold is cooling there
    assert kitchen.says("hold stew 160 --in walk-in --yes").startswith("COOLING OK")
    assert findings(kitchen, "stew")["cooling-stage-1"] == "open"


def test_cooled_food_put_into_a_hot_unit_is_recorded_and_not_shown(kitchen: Kitchen) -> None:
    """3-403.11(A): the named unit says how it is held; nobody reheated it."""
    log(kitchen, ("12:10", "cool stew 135"), ("13:50", "cool stew 69"), ("17:50", "cool stew 40"))
    kitchen.at("2026-10-27T10:00-06:00")
    assert kitchen.says("hold stew 140 --in well-1").startswith("NOT PROVEN")
    assert findings(kitchen, "stew")["reheat"] == "not shown"


def test_a_units_check_is_not_asked_about_for_the_food_that_cools_in_it(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "cool stew 140 --in walk-in"), ("12:20", "hold walk-in 38"))
    assert verdict(kitchen, "walk-in") == "met"


def test_food_in_a_unit_is_judged_by_its_own_rule_and_not_by_the_units(kitchen: Kitchen) -> None:
    """3-501.16(A)(1): roasts that were cooked by their table are held at 130 °F."""
    kitchen.says('batch roast --kind "whole roast" --oven none --code roast')
    log(kitchen, ("13:00", "cook roast 136"), ("13:30", "cook roast 137"))
    log(kitchen, ("13:40", "hold roast 132 --in well-1"))
    assert verdict(kitchen, "roast") == "met"
    assert verdict(kitchen, "well-1") != "not met"


def test_food_is_watched_again_when_its_unit_is_retired(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "cook stew 199"), ("12:30", "hold stew 160 --in well-1"))
    log(kitchen, ("13:00", "add unit well-1 hot --retired --by AR"))
    kitchen.at("2026-10-26T18:00-06:00")
    assert verdict(kitchen, "stew") == "not shown"


def test_what_is_held_after_preparation_is_told_by_its_temperature(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "prepare stew 75"))
    assert log(kitchen, ("13:00", "hold stew 40")).startswith("OK")
    assert "40 °F cold hold" in flat(kitchen.says("show stew"))
    log(kitchen, ("13:10", "cool stew 140 --yes"))
    log(kitchen, ("13:20", "hold stew 139"))
    assert "139 °F hot hold" in flat(kitchen.says("show stew")), "it never left the heat"


def test_hot_food_that_went_into_a_new_batch_is_watched_there(kitchen: Kitchen) -> None:
    """3-501.14(A), 3-501.16(A): neither its heat nor its clock starts anew."""
    log(kitchen, ("12:10", "cook stew 199"), ("12:20", "batch lunch --from stew --code lunch"))
    log(kitchen, ("12:21", "used stew"))
    kitchen.at("2026-10-26T18:00-06:00")
    assert matters(kitchen, "lunch") == ["not shown"], "nobody measured it since"
    kitchen.at("2026-10-27T07:10-06:00")
    kitchen.says("reheat lunch 60")
    kitchen.at("2026-10-27T07:50-06:00")
    kitchen.says("reheat lunch 168 --held 15")
    assert findings(kitchen, "lunch")["cooling-stage-1"] == "not shown"


def test_cold_food_in_a_new_batch_asks_nothing(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "cool stew 135"), ("13:50", "cool stew 69"), ("17:50", "cool stew 40"))
    log(kitchen, ("18:00", "batch soup --from stew --code soup"), ("18:10", "cook soup 60"))
    log(kitchen, ("19:30", "cook soup 199 --held 15"))
    log(kitchen, ("19:40", "used soup"))
    assert verdict(kitchen, "soup") == "met", "cooked and cooled, it was reheated"


def test_the_units_last_good_check_is_the_foods_last_hot_reading(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "cook stew 199"))
    log(kitchen, ("12:20", "hold stew 150 --in well-1"), ("13:15", "hold well-1 150"))
    log(kitchen, ("14:10", "hold well-1 150"), ("14:30", "cool stew 134"))
    assert findings(kitchen, "stew")["cooling-stage-1"] == "open"
    log(kitchen, ("16:00", "cool stew 69"))
    assert findings(kitchen, "stew")["cooling-stage-1"] == "met"


def test_a_unit_holds_food_otherwise_only_where_that_is_confirmed(first_day: Kitchen) -> None:
    said = first_day.refuses("add unit freezer cold")
    assert "freezer holds food frozen, and from now on cold." in said
    assert "--yes" in said
    first_day.says("add unit freezer frozen --every 240")  # nothing to ask about
    assert "cold, checked every 240 min" in first_day.says("add unit freezer cold --yes")
