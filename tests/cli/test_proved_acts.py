"""What a PIN proved and what only bears initials; what its taker took back; PINs set and gone."""

import json
import sqlite3
from contextlib import closing
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from haccp.kitchen.register import read_register
from haccp.printing.report_words import gather
from haccp.record.store import open_record
from tests.kitchens import Kitchen, log

DAY = date(2026, 10, 26)


def words(kitchen: Kitchen, day: date = DAY) -> dict[str, Any]:
    """What the report of a day says, as of the kitchen's clock."""
    with closing(open_record(kitchen.path, create=False)) as record:
        return gather(record, read_register(record), day, day, kitchen.now).words


def taken_back(kitchen: Kitchen) -> list[str]:
    told = json.loads(kitchen.says("status --json"))
    return [one["what"] for one in told if one["verdict"] == "taken back"]


def test_an_act_with_a_manager_s_initials_alone_prints_as_such(kitchen: Kitchen) -> None:
    log(
        kitchen,
        ("13:00", "hold well-1 120"),
        ("13:05", 'action well-1 "turned up" --by AR'),
        ("13:06", 'action well-1 "stirred" --by JM'),
        ("20:00", 'sign today --note "seen" --by AR'),
    )
    page = words(kitchen)
    (done,) = [one["done"] for one in page["full"] if "120" in one["why"][0]]
    assert done[0].startswith("turned up (AR, initials only, ")
    assert done[1].startswith("stirred (JM, ")
    events = [row[1] for unit in page["annex"]["units"] for row in unit["events"]]
    assert events == ["AR, initials only", "JM"]
    assert [row[1] for row in page["signatures"]] == ["A. R. (AR, by PIN)"]


def test_a_not_met_that_its_taker_takes_back_stays_until_a_manager_signs(kitchen: Kitchen) -> None:
    log(
        kitchen,
        ("13:00", "hold well-1 120"),
        ("13:02", 'correct well-1 140 --yes --reason "read the dial upside down"'),
    )
    (told,) = taken_back(kitchen)
    assert told.startswith("120 °F at 13:00 (no. ")
    assert "3-501.16(A)(1); JM, who took it, put 140 °F in its place" in told
    assert told.endswith("read the dial upside down.")
    assert "TAKEN BACK" in kitchen.says("status")
    assert len(words(kitchen)["taken_back"]) == 1
    log(kitchen, ("13:05", "sign today --note seen --by AR"))
    assert taken_back(kitchen) == []
    assert len(words(kitchen)["taken_back"]) == 1, "paper goes on saying it"


@pytest.mark.parametrize(
    "corrections",
    [
        ("correct well-1 121 --yes --reason typo", "correct well-1 140 --yes --reason typo"),
        ("correct well-1 --withdraw --reason typo",),
    ],
)
def test_it_stays_through_several_corrections_and_a_withdrawal(
    kitchen: Kitchen, corrections: tuple[str, ...]
) -> None:
    log(kitchen, ("12:30", "hold well-1 150"), ("13:00", "hold well-1 120"))
    log(kitchen, *((f"13:1{n}", command) for n, command in enumerate(corrections)))
    assert len(taken_back(kitchen)) == 1


def test_what_another_corrects_or_what_stays_not_met_is_not_told_twice(kitchen: Kitchen) -> None:
    log(
        kitchen,
        ("13:00", "hold well-1 120"),
        ("13:02", "correct well-1 119 --yes --reason typo"),
    )
    assert taken_back(kitchen) == []
    log(kitchen, ("13:04", 'add person TP "T. P." --by AR'))
    log(kitchen, ("13:30", "hold well-1 121"))
    log(kitchen, ("13:32", "correct well-1 141 --yes --reason beside --by TP"))
    assert taken_back(kitchen) == [], "a second person looked"


def test_the_first_pin_after_an_import_is_an_entry_that_prints(
    kitchen: Kitchen, tmp_path: Path
) -> None:
    kitchen.says(f"export {tmp_path}/record.json")
    new = Kitchen(tmp_path / "new.sqlite3", pin="9173", now=kitchen.now)
    new.says(f"import {tmp_path}/record.json")
    assert "every entry is what was recorded" in new.says("record verify"), "no false alarm"
    assert "AR has no PIN yet" in new.refuses("add thermometer T9 --by AR")
    new.says("pin AR")
    assert new.entries()[-1]["body"] == {"initials": "AR", "proved": False}
    new.says("add thermometer T9 --by AR")
    new.says("pin AR --by AR")
    rows = [row[2:] for row in words(new)["changes"]]
    assert rows[-2:] == [
        [
            "AR, initials only",
            "The PIN of AR was set. Nobody had one, so nothing proves by whom.",
        ],
        ["AR, by PIN", "The PIN of AR was set."],
    ]
    assert "every entry is what was recorded" in new.says("record verify")


def test_a_pin_that_is_gone_from_beside_the_entries_is_noticed(kitchen: Kitchen) -> None:
    with closing(sqlite3.connect(kitchen.path)) as plain, plain:
        plain.execute("DELETE FROM pin")
    result = kitchen.run("record verify")
    assert result.exit_code == 3
    assert "DOES NOT HOLD: the PIN of AR is gone from the file." in result.stdout


@pytest.mark.parametrize("spoiled", ["hash = 'x'", "not_before = 'soon'", "failures = 10000000"])
def test_a_pin_s_row_that_was_altered_is_answered_in_a_sentence(
    kitchen: Kitchen, spoiled: str
) -> None:
    with closing(sqlite3.connect(kitchen.path)) as plain, plain:
        plain.execute(f"UPDATE pin SET {spoiled}")
    result = kitchen.run("add thermometer T9 --by AR")
    assert result.exit_code in (0, 2), result.output


def test_a_manager_moves_and_renames_the_kitchen_and_earlier_days_keep_their_clock(
    kitchen: Kitchen,
) -> None:
    log(kitchen, ("13:00", "hold well-1 141"))
    earlier = kitchen.says("show well-1")
    assert "no manager" in kitchen.refuses("kitchen --zone America/New_York --by JM")
    kitchen.at("2026-10-27T09:00-06:00")
    told = kitchen.says('kitchen --zone America/New_York --name "East" --altitude 10m --by AR')
    assert "East: America/New_York, °F, 10 m above the sea." in told
    assert "Earlier days keep their clock and their midnights." in told
    assert "Next check 12:00." in kitchen.says("hold well-1 142 11:00")
    assert "Mon 26 Oct 13:00" in kitchen.says("show well-1") and "13:00" in earlier
    monday, tuesday = words(kitchen), words(kitchen, date(2026, 10, 27))
    assert (monday["kitchen"], tuesday["kitchen"]) == ("Test Kitchen", "East")
    assert monday["site"][0] == "America/Denver"
    assert tuesday["site"] == ["America/New_York", "10 m", "°F"]
    assert tuesday["changes"][-1][2:] == [
        "AR, by PIN",
        "Name from now on: East, before it Test Kitchen. Time zone from now on: America/New_York, "
        "before it America/Denver. Altitude from now on: 10 m, before it 1640 m.",
    ]
