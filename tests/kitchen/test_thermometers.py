"""Checks of thermometers, and the doubt that a failed one throws: 4-203.11, 4-502.11."""

import json

from tests.kitchens import Kitchen, findings, flat, log, verdict


def test_water_boils_by_the_altitude_or_the_barometer(kitchen: Kitchen) -> None:
    """At 1640 m at 202.1 °F; pass within ±2 °F or ±1 °C of it: Food Code 4-203.11."""
    assert "202.1 °F" in kitchen.says("boil T2 200.1F")
    for shown, passed in (("200.0F", "FAILED"), ("204.1F", "OK T2"), ("204.2F", "FAILED")):
        assert passed in kitchen.says(f"boil T2 {shown}")
    assert "by barometer 836hPa" in kitchen.says("boil T2 202F --barometer 836hPa")
    assert "reduced to sea level" in kitchen.refuses("boil T2 212F --barometer 1013hPa")
    assert "no air pressure" in kitchen.refuses("boil T2 202F --barometer 5hPa")


def test_a_manager_lets_a_failed_thermometers_readings_count_with_a_reason(
    kitchen: Kitchen,
) -> None:
    assert "nothing to decide" in kitchen.refuses('trust T2 "x" --by AR')
    log(kitchen, ("12:30", "cook stew 199 --thermometer T2"), ("12:40", "ice T2 36F"))
    assert verdict(kitchen, "stew") == "not shown"
    assert "no manager" in kitchen.refuses('trust T2 "beside T1"')
    assert "is empty" in kitchen.refuses('trust T2 " " --by AR')
    log(kitchen, ("12:50", 'trust T2 "read beside T1: 0.3 °F apart" --by AR'))
    number = kitchen.entries()[-1]["seq"]
    assert verdict(kitchen, "stew") == "met"
    log(kitchen, ("13:00", "ice T2 37F"))
    assert verdict(kitchen, "stew") == "not shown", "it failed again since"
    log(kitchen, ("13:01", f'correct {number} --withdraw --reason "hasty"'))
    assert verdict(kitchen, "stew") == "not shown"


def test_a_rise_is_one_beyond_what_is_stated_for_the_thermometer(kitchen: Kitchen) -> None:
    """4-203.11 asks ±2 °F of a food thermometer; one that is stated better shows smaller rises."""
    kitchen.says("add thermometer T3 --accuracy 0.5C --by AR")
    log(kitchen, ("13:00", "cool stew 140"), ("13:30", "cool stew 100"), ("13:40", "cool stew 102"))
    assert "Rewarmed" not in kitchen.says("show stew")
    log(kitchen, ("13:50", "cool stew 103 --thermometer T3"))
    assert "Rewarmed" not in kitchen.says("show stew"), "the reading before may be off by 2 °F"
    log(kitchen, ("14:00", "cool stew 103.9 --thermometer T3"))
    assert "Rewarmed" not in kitchen.says("show stew")
    log(kitchen, ("14:10", "cool stew 104.9 --thermometer T3 --yes"))
    assert "Rewarmed from 103.9 °F at 14:00 to 104.9 °F at 14:10" in flat(kitchen.says("show stew"))
    # what is stated later says nothing of the readings before
    kitchen.at("2026-10-26T14:20-06:00")
    kitchen.says("add thermometer T3 --accuracy 2F --by AR")
    assert "Rewarmed from 103.9 °F" in flat(kitchen.says("show stew"))


def test_an_accuracy_that_is_none_is_refused_and_a_poor_one_is_said(kitchen: Kitchen) -> None:
    for none in ("0F", "-2F", "32F"):
        said = kitchen.refuses(f"add thermometer T9 --accuracy {none} --by AR")
        assert f"{none[:-1]} °F is no accuracy: type what is stated for T9" in said
    assert "T9" not in kitchen.says("list thermometers")
    said = kitchen.says("add thermometer T9 --accuracy 3F --by AR")
    assert "2 °F (1 °C) is asked (4-203.11): use T9 for air alone" in flat(said)


def test_checks_of_thermometers_are_due_by_the_kitchens_interval(kitchen: Kitchen) -> None:
    kitchen.says("kitchen --thermometer-days 7 --by AR")
    log(kitchen, ("12:10", "ice T1 32F"))
    due = {
        one["subject"]: one["due"]
        for one in json.loads(kitchen.says("status --json"))
        if one["subject"] in ("T1", "T2")
    }
    assert due == {"T1": "2026-11-02T11:10:00-07:00", "T2": "2026-10-26T07:00:00-06:00"}


def test_a_failed_ice_check_puts_readings_since_the_last_good_one_in_doubt(
    kitchen: Kitchen,
) -> None:
    log(
        kitchen,
        ("12:10", "ice T2 32F"),
        ("12:30", "hold well-1 141 --thermometer T2"),
        ("13:00", "hold well-1 141"),
    )
    assert json.loads(kitchen.says("show well-1 --json"))["verdict"] == "met"
    assert "FAILED" in log(kitchen, ("13:10", "ice T2 36F"))
    shown = json.loads(kitchen.says("show well-1 --json"))
    assert shown["verdict"] == "not shown"
    assert "failed its check" in str(shown["findings"])


def test_ice_checks_pass_within_two_fahrenheit_or_one_celsius(kitchen: Kitchen) -> None:
    """Source: Food Code 4-203.11, ±2 °F or ±1 °C."""
    for shown, passed in [
        ("34F", True),
        ("34.1F", False),
        ("30F", True),
        ("1C", True),
        ("1.1C", False),
        ("-1C", True),
    ]:
        assert log(kitchen, ("12:10", f"ice T2 {shown}")).startswith("OK T2") is passed, shown


def test_a_failed_check_counts_beside_a_good_one_of_its_minute(kitchen: Kitchen) -> None:
    """4-203.11, 4-502.11: whichever was typed first, readings before it are in doubt."""
    log(kitchen, ("12:10", "cook stew 199"), ("12:30", "ice T1 40F"), ("12:30", "ice T1 32F"))
    assert findings(kitchen, "stew")["cook"] == "not shown"


def test_a_good_check_typed_after_a_failed_one_does_not_take_it_back(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "cook stew 199"), ("12:30", "ice T1 40F"), ("12:50", "ice T1 32F 12:20"))
    assert findings(kitchen, "stew")["cook"] == "not shown"
    log(kitchen, ("13:00", "ice T1 32F"), ("13:05", "cook stew 200"))
    kitchen.says('trust T1 "dropped after 12:10" --by AR')
    assert findings(kitchen, "stew")["cook"] == "met"


def test_a_late_good_check_counts_from_its_entry(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "ice T1 40F"), ("12:40", "cook stew 199 --thermometer T1"))
    log(kitchen, ("13:20", "ice T1 32F 12:30"))
    assert findings(kitchen, "stew")["cook"] == "not shown"
