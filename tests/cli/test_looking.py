"""`status`, `show` and `list`: what is on top, and in whose time."""

import json

from tests.kitchens import Kitchen, log


def test_status_puts_the_least_time_left_first(kitchen: Kitchen) -> None:
    kitchen.says("batch rice --code rice")
    log(
        kitchen,
        ("13:00", "hold well-1 141"),
        ("14:00", "cool stew 135"),
        ("14:30", "cool rice 135"),
        ("15:00", "cool stew 90"),
        ("15:01", "cool rice 120"),
    )
    matters = json.loads(kitchen.says("status --json"))
    left = [matter["left_min"] for matter in matters]
    assert left == sorted(left)
    assert [m["subject"] for m in matters][:3] == ["well-1", "stew", "rice"]
    assert "missed" not in str(matters)


def test_every_listing_has_json(kitchen: Kitchen) -> None:
    for what in ("people", "thermometers", "units", "batches", "entries"):
        assert json.loads(kitchen.says(f"list {what} --json")), what
        assert kitchen.says(f"list {what}")


def test_list_entries_shows_kitchen_time_and_show_sorts_by_time(kitchen: Kitchen) -> None:
    log(kitchen, ("13:00", "cool stew 130"), ("13:30", "cool stew 135 12:20"))
    assert "13:00" in kitchen.says("list entries")
    lines = kitchen.says("show stew").splitlines()
    order = [line for line in lines if " cool" in line and "°F" in line]
    assert "135 °F" in order[0] and "130 °F" in order[1]
    stored = json.loads(kitchen.says("list entries --json"))
    assert stored[-1]["at"].endswith("Z"), "JSON keeps UTC"


def test_what_can_still_be_saved_stands_above_what_is_long_lost(kitchen: Kitchen) -> None:
    log(
        kitchen,
        ("12:10", "hold well-1 120"),
        ("16:00", "cool stew 135"),
        ("16:30", "cool stew 120"),
    )
    kitchen.at("2026-10-26T16:40-06:00")
    order = [one["subject"] for one in json.loads(kitchen.says("status --json"))]
    assert order[0] == "stew" and order[-1] == "well-1"
