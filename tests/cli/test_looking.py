"""`status`, `show` and `list`: what is on top, and in whose time."""

import json
from pathlib import Path

import pytest

from tests.kitchens import Kitchen, flat, log


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
    groups = ["save now", "decide", "due"]
    order = [(groups.index(matter["group"]), matter["left_min"]) for matter in matters]
    assert order == sorted(order)
    assert [m["subject"] for m in matters if m["group"] == "save now"][:2] == ["stew", "rice"]
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
    found = json.loads(kitchen.says("status --json"))
    order = [one["subject"] for one in found if one["group"] != "due"]
    assert order[0] == "stew" and order[-1] == "well-1"


def a_day_of_stew(kitchen: Kitchen) -> None:
    log(
        kitchen,
        ("12:30", "cook stew 190"),
        ("13:00", "hold stew 160 --in well-1"),
        ("13:50", "hold well-1 150"),
        ("14:30", "cool stew 136"),
        ("14:50", "split stew 1"),
        ("16:00", "cool stew-a 69"),
        ("18:30", "cool stew-a 41"),
    )
    kitchen.at("2026-10-26T18:31-06:00")


def test_a_batch_shows_its_account_within_the_width_and_no_word_is_broken(
    kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch
) -> None:
    a_day_of_stew(kitchen)
    monkeypatch.setenv("COLUMNS", "80")
    printed = kitchen.says("show stew-a")
    assert max(map(len, printed.splitlines())) <= 80
    assert (
        "Account: set to cool from between 13:50 and 14:30 (began in stew); "
        "cooling from between 14:30 and 16:00; cold since 18:30, in walk-in as usual."
        in flat(printed)
    )
    whole = flat(kitchen.says("show stew"))
    assert "hot from 12:30, in well-1 from 13:00; set to cool" in whole
    assert "nothing left since 14:50." in whole


def test_the_account_has_json_with_the_bounds_of_each_phase(kitchen: Kitchen) -> None:
    a_day_of_stew(kitchen)
    (way,) = json.loads(kitchen.says("show stew-a --json"))["account"]
    assert [one["state"] for one in way] == ["resting", "cooling", "cold"]
    assert way[1]["began"] == ["2026-10-26T20:30:00Z", "2026-10-26T22:00:00Z"]
    assert way[0]["began_in"] == ["stew"] and way[1]["ended"] == way[2]["began"]
    assert way[2]["ended"] is None and way[2]["units"] == [{"unit": "walk-in", "usual": True}]
    assert json.loads(kitchen.says("show well-1 --json"))["account"] == []


def test_a_unit_names_the_batches_that_stood_in_it(kitchen: Kitchen) -> None:
    a_day_of_stew(kitchen)
    assert "Stood in it: white-bean stew (stew) 13:00 to 14:30." in flat(
        kitchen.says("show well-1")
    )
    told = "Stood in it: white-bean stew (stew-a) since 18:30, as usual."
    kitchen.says("hold walk-in 38")
    assert told in flat(kitchen.says("show walk-in"))


def test_without_a_command_it_says_what_is_due(kitchen: Kitchen) -> None:
    assert kitchen.says("") == kitchen.says("due")


def test_without_a_command_and_a_record_it_says_how_to_begin(tmp_path: Path) -> None:
    said = Kitchen(tmp_path / "record.sqlite3").says("")
    assert "haccp setup" in said
    assert "haccp demo" in said
    assert not list(tmp_path.iterdir())
