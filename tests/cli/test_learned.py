"""What `haccp learned` says of finished coolings. The kitchen and its readings are invented."""

import json
import sqlite3
from collections.abc import Iterable
from contextlib import closing
from typing import Any

import pytest

from haccp.kitchen import reading
from haccp.kitchen.batches import BatchOnRecord
from haccp.record.store import Record
from tests.kitchens import Kitchen, flat, on


def cooling(
    kitchen: Kitchen, code: str, day: str, method: str, *readings: str, food: str = "bean stew"
) -> None:
    """Open a batch at 08:00, say how it cools, and read it down from there."""
    on(kitchen, day, "08:00", f'batch "{food}" --code {code}')
    if method:
        on(kitchen, day, "08:00", f'method {code} "{method}" --container "2-inch pan" --depth 2in')
    for one in readings:
        clock, temperature = one.split()
        on(kitchen, day, clock, f"cool {code} {temperature} --yes")


def rows(kitchen: Kitchen, command: str = "learned --json") -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = json.loads(kitchen.says(command))
    return found


@pytest.fixture
def three(kitchen: Kitchen) -> Kitchen:
    """Three stews in the walk-in, each read at the very start temperature.

    70 °F lies between 60 and 90, 90 and 110, and 120 and 180 minutes after it: middles 75, 100, 150.
    41 °F between 240 and 300, 300 and 330, and 300 and 420: middles 270, 315, 360.
    """
    walk_in = ("10-27", "walk-in")
    cooling(kitchen, "a", *walk_in, "09:00 135", "10:00 80", "10:30 69", "13:00 45", "14:00 40")
    cooling(kitchen, "b", *walk_in, "09:00 135", "10:30 75", "10:50 70", "14:00 44", "14:30 41")
    cooling(
        kitchen,
        "c",
        "10-28",
        "Walk-in",
        "09:00 135",
        "11:00 75",
        "12:00 68",
        "14:00 50",
        "16:00 40",
    )
    kitchen.at("2026-10-30T12:00-06:00")
    return kitchen


def test_counts_and_medians_of_three_coolings(three: Kitchen) -> None:
    (row,) = rows(three)
    assert (row["food"], row["container"], row["depth_in"]) == ("bean stew", "2-inch pan", "2")
    assert row["method"].casefold() == "walk-in"
    counts = [row[one] for one in ("coolings", "met", "not_met", "not_shown", "broken_off")]
    assert counts == [3, 2, 1, 0, 0]
    first, second = row["stages"]
    assert first == {
        "limit": "cooling-stage-1",
        "stage": "135 to 70 °F",
        "known": 3,
        "unknown": 0,
        "median_min": 100.0,
        "shortest_min": 75.0,
        "longest_min": 150.0,
    }
    assert second["stage"] == "135 to 41 °F"
    assert [second[one] for one in ("median_min", "shortest_min", "longest_min")] == [315, 270, 360]


def test_the_table_fits_80_columns_and_spells_the_times(
    three: Kitchen, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    told = three.says("learned")
    assert max(map(len, told.splitlines())) <= 80
    assert "2-inch pan, 2 in deep, walk-in: 3 coolings, 2 met, 1 not met" in flat(told).replace(
        "Walk-in", "walk-in"
    )
    assert "135 to 70 °F 1 h 40 min 1 h 15 min 2 h 30 min 3 known" in flat(told)
    assert "135 to 41 °F 5 h 15 min 4 h 30 min 6 h 3 known" in flat(told)


def test_two_methods_stand_apart_and_a_change_is_a_third(three: Kitchen) -> None:
    day = ("10-28", "ice bath")
    cooling(three, "d", *day, "09:00 135", "09:30 69", "10:30 40")
    cooling(three, "e", *day, "09:00 135", "09:30 69")
    on(three, "10-28", "09:40", 'method e "walk-in"')
    on(three, "10-28", "11:30", "cool e 40")
    three.at("2026-10-30T12:00-06:00")
    found = {one["method"].casefold(): one["coolings"] for one in rows(three)}
    assert found == {"ice bath": 1, "ice bath, then walk-in": 1, "walk-in": 3}


def test_what_no_reading_bounds_is_unknown_and_not_shown(kitchen: Kitchen) -> None:
    """First read at 100 °F: when it left 135 °F nobody knows."""
    cooling(kitchen, "f", "10-27", "", "09:00 100", "10:00 69", "12:00 40")
    kitchen.at("2026-10-30T12:00-06:00")
    (row,) = rows(kitchen)
    assert (row["method"], row["container"], row["not_shown"], row["met"]) == ("", "", 1, 0)
    assert [(one["known"], one["unknown"]) for one in row["stages"]] == [(0, 1), (0, 1)]
    assert [one["median_min"] for one in row["stages"]] == [None, None]
    told = flat(kitchen.says("learned"))
    assert "method not said: 1 cooling, 1 not shown" in told
    assert "135 to 70 °F - - - 0 known, 1 unknown" in told


def test_a_cooling_broken_off_in_time_is_not_met(kitchen: Kitchen) -> None:
    cooling(kitchen, "g", "10-27", "walk-in", "09:00 135", "10:00 69")
    on(kitchen, "10-27", "10:30", "used g")
    (row,) = rows(kitchen)
    assert (row["met"], row["broken_off"]) == (0, 1)


def test_a_cooling_in_doubt_is_one_and_not_met(kitchen: Kitchen) -> None:
    """Its thermometer failed in ice before it was read cold."""
    cooling(kitchen, "h", "10-27", "walk-in", "09:00 135", "10:00 69")
    on(kitchen, "10-27", "12:00", "cool h 40 --thermometer T2")
    on(kitchen, "10-27", "12:30", "ice T2 40F")
    kitchen.at("2026-10-28T12:00-06:00")
    (row,) = rows(kitchen)
    assert (row["coolings"], row["met"], row["not_shown"]) == (1, 0, 1)


def test_what_was_put_right_late_is_not_shown(kitchen: Kitchen) -> None:
    """75 °F at two hours was not met; that it was 69 °F was said an hour later."""
    cooling(kitchen, "m", "10-27", "walk-in", "09:00 135", "11:00 75", "12:00 69", "14:00 40")
    (row,) = rows(kitchen)
    assert (row["met"], row["not_met"], row["not_shown"]) == (0, 1, 0)
    number = next(
        one["seq"]
        for one in kitchen.entries()
        if one["kind"] == "reading" and '"75"' in json.dumps(one["body"])
    )
    on(kitchen, "10-27", "14:10", f'correct {number} 69 --reason "read wrong"')
    (row,) = rows(kitchen)
    assert (row["met"], row["not_met"], row["not_shown"]) == (0, 0, 1)


def test_what_cannot_be_read_shows_nothing(kitchen: Kitchen) -> None:
    """An altered entry leaves its batch not shown; a batch of an altered opening is named."""
    for code in ("n", "o"):
        cooling(kitchen, code, "10-27", "walk-in", "09:00 135", "10:00 69", "12:00 40")
    kitchen.at("2026-10-27T14:00-06:00")
    assert rows(kitchen)[0]["met"] == 2
    with closing(sqlite3.connect(kitchen.path)) as connection, connection:
        connection.execute("DROP TRIGGER entry_is_never_updated")
        for batch, kind in (("n", "cooling setup"), ("o", "batch")):
            connection.execute(
                "UPDATE entry SET body = '{\"nonsense\": 1}' WHERE seq ="
                " (SELECT max(seq) FROM entry WHERE batch = ? AND kind = ?)",
                (batch, kind),
            )
    result = kitchen.run("learned")
    assert "1 cooling, 1 not shown" in result.stdout
    assert "does not hold together" in result.stdout
    assert "(batch about o) cannot be read" in result.stderr


def test_a_cooling_divided_on_its_way_is_its_portions(kitchen: Kitchen) -> None:
    cooling(kitchen, "p", "10-27", "walk-in", "09:00 135", "09:30 110")
    on(kitchen, "10-27", "09:31", "split p 2")
    for clock, temperature in (("10:30", "69"), ("12:00", "40")):
        for portion in ("p-a", "p-b"):
            on(kitchen, "10-27", clock, f"cool {portion} {temperature}")
    found = rows(kitchen)
    assert sum(one["met"] for one in found) == sum(one["coolings"] for one in found) == 2


def test_one_that_still_cools_is_not_counted(kitchen: Kitchen) -> None:
    cooling(kitchen, "k", "10-27", "walk-in", "09:00 135", "10:00 69")
    assert kitchen.says("learned") == "No cooling was finished in the last 365 days.\n"
    assert rows(kitchen) == []


def test_only_the_days_and_the_food_asked_for(three: Kitchen) -> None:
    day = ("10-29", "walk-in")
    cooling(three, "r", *day, "09:00 135", "10:00 69", "12:00 40", food="Rice")
    three.at("2026-10-30T12:00-06:00")
    assert [one["food"] for one in rows(three, "learned ric --json")] == ["Rice"]
    assert [one["food"] for one in rows(three, "learned --days 1 --json")] == ["Rice"]
    assert [one["coolings"] for one in rows(three, 'learned "bean" --days 2 --json')] == [1]
    said = three.says("learned bean --days 1")
    assert said == "No cooling of bean stew was finished in the last day.\n"


def test_an_unknown_food_is_refused(three: Kitchen) -> None:
    said = three.refuses("learned soup")
    assert "There is no food 'soup': type one of bean stew" in said
    assert "type a whole number from 1 to 3660" in three.refuses("learned --days 0")


def test_a_year_is_read_a_few_batches_at_a_time(
    three: Kitchen, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = rows(three)
    monkeypatch.setattr("haccp.kitchen.reading._IN_TURN", 1)
    most = 0
    whole = reading.read_batches

    def counted(record: Record, codes: Iterable[str]) -> list[BatchOnRecord]:
        nonlocal most
        found = whole(record, codes)
        most = max(most, len(record.kept[reading.read_with_parts]))
        return found

    monkeypatch.setattr(reading, "read_batches", counted)
    assert rows(three) == before
    assert most == 1, "batches that were looked at were kept"
