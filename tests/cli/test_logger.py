"""A logger's file into the record: shown first, loaded whole, by the hour, twice but once."""

import hashlib
import json
import os
import signal
import sqlite3
import subprocess
import sys
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from tests.kitchens import Kitchen, flat, verdict

BEGINS = datetime(2026, 10, 27, 8, 0, tzinfo=UTC)  # 02:00 in the kitchen


def cooler(
    tmp_path: Path, temperatures: list[str], *, begins: datetime = BEGINS, name: str = "cooler.csv"
) -> Path:
    file = tmp_path / name
    rows = [
        f"{begins + timedelta(minutes=k):%Y-%m-%d %H:%M:%S}Z,{temp}\n"
        for k, temp in enumerate(temperatures)
    ]
    file.write_text("When,Probe 1 (°F)\n" + "".join(rows), encoding="utf-8")
    return file


@pytest.fixture
def later(kitchen: Kitchen) -> Kitchen:
    kitchen.at("2026-10-27T20:00-06:00")
    return kitchen


def test_nothing_is_recorded_before_it_was_shown_and_confirmed(
    later: Kitchen, tmp_path: Path
) -> None:
    file = cooler(tmp_path, ["38.0", "Error", "39.5", "38.5"])
    shown = later.run(f"load-readings {file} --probe walk-in")
    assert shown.exit_code == 2
    assert "Line 3 is left out: Probe 1: 'Error' is no temperature." in shown.stderr
    assert "Probe 1 → walk-in: 3 readings, 02:00 to 02:03, 38.0 to 39.5 °F" in shown.stderr
    assert "type it again with --yes" in shown.stderr
    before = len(later.entries())
    answered = later.asks(f"load-readings {file}", "walk-in", "y")
    assert "3 readings recorded" in answered.output
    assert len(later.entries()) == before + 1


def test_an_hour_of_a_probe_is_an_entry_that_says_its_file(later: Kitchen, tmp_path: Path) -> None:
    file = cooler(tmp_path, ["38.0"] * 150)
    later.says(f"load-readings {file} --probe walk-in --yes")
    runs = [one for one in later.entries() if one["kind"] == "logged readings"]
    bodies: list[Any] = [one["body"] for one in runs]
    assert [len(body["readings"]) for body in bodies] == [60, 60, 30]
    listed = flat(later.says("list entries"))
    assert "readings: 60 (38.0 – 38.0), probe: Probe 1" in listed and "3540 38.0" not in listed
    digest = hashlib.sha256(file.read_bytes()).hexdigest()
    assert {(body["source"], body["source_digest"], body["probe"]) for body in bodies} == {
        ("cooler.csv", digest, "Probe 1")
    }


def test_each_reading_is_judged_and_the_minutes_are_shown_by_the_hour(
    later: Kitchen, tmp_path: Path
) -> None:
    temperatures = ["38.0"] * 70 + ["45.0"] * 30 + ["39.0"] * 80
    later.says(f"load-readings {cooler(tmp_path, temperatures)} --probe walk-in --yes")
    told = flat(later.says("show walk-in"))
    assert verdict(later, "walk-in") == "not met"
    assert "it lasted at least 29 min, at most 31 min" in told
    assert "38.0 °F cold hold 60 readings" in told
    assert "They are out of cooler.csv (SHA-256 " in told
    assert told.count("cold hold") < 12
    found = json.loads(later.says("show walk-in --json"))
    assert sum(one["kind"] == "logged readings" for one in found["entries"]) == 3


def test_a_file_is_loaded_twice_and_recorded_once(later: Kitchen, tmp_path: Path) -> None:
    file = cooler(tmp_path, ["38.0"] * 90)
    later.says(f"load-readings {file} --probe walk-in --yes")
    entries = later.entries()
    again = later.run(f"load-readings {file} --yes")  # where the probe was is known by now
    assert "Every reading of the file is on record already." in again.stdout
    assert later.entries() == entries
    # the next file of the same logger begins with what this one ended with
    longer = cooler(tmp_path, ["38.0"] * 89 + ["37.0"] + ["39.0"] * 5, name="next.csv")
    told = later.run(f"load-readings {longer} --yes")
    assert "Line 91: Probe 1 is on record for that moment with 38.0 °F" in told.stderr
    assert "5 readings recorded" in told.stdout
    assert "89 readings are on record already" in told.stderr


def test_of_more_than_two_weeks_it_is_said_that_nothing_is_judged_yet(
    later: Kitchen, tmp_path: Path
) -> None:
    file = tmp_path / "month.csv"
    begins = BEGINS - timedelta(days=30)
    hours = (f"{begins + timedelta(hours=k):%Y-%m-%d %H:%M}Z,45\n" for k in range(700))
    file.write_text("When,Probe 1 (°F)\n" + "".join(hours), encoding="utf-8")
    told = later.says(f"load-readings {file} --probe walk-in --yes")
    assert "haccp report 2026-09-27 2026-10-26" in told
    assert "MET" not in told


def test_an_hour_that_was_taken_back_may_be_loaded_again(later: Kitchen, tmp_path: Path) -> None:
    file = cooler(tmp_path, ["45.0"] * 10)
    later.says(f"load-readings {file} --probe walk-in --yes")
    number = later.entries()[-1]["seq"]
    refused = later.refuses(f'amend {number} 38 --reason "typed wrong"')
    assert "which nobody typed: take the hour back" in refused
    later.says(f'amend {number} --withdraw --reason "it lay on the table"')
    # taken back so late it stays in sight, as any reading does, until a manager signs its day
    assert "45.0 °F at 02:00 to 45.0 °F at 02:09" in flat(later.says("due"))
    assert "10 readings recorded" in later.says(f"load-readings {file} --yes")


def test_an_export_holds_the_runs_and_a_changed_one_is_found(
    later: Kitchen, tmp_path: Path
) -> None:
    later.says(f"load-readings {cooler(tmp_path, ['38.0'] * 90)} --probe walk-in --yes")
    later.says(f"export {tmp_path / 'record.json'}")
    copy = Kitchen(tmp_path / "copy.sqlite3", now=later.now)
    copy.says(f"import-record {tmp_path / 'record.json'}")
    assert copy.entries() == later.entries()
    assert copy.says("show walk-in") == later.says("show walk-in")
    later.says("record verify")
    connection = sqlite3.connect(later.path)
    connection.execute("DROP TRIGGER entry_is_never_updated")
    connection.execute("UPDATE entry SET body = replace(body, '60 38.0', '60 37.0')")
    connection.commit()
    assert later.run("record verify").exit_code == 3
    assert "is not what was recorded" in later.run("show walk-in").output


def test_a_batch_says_what_was_done_with_it(later: Kitchen, tmp_path: Path) -> None:
    later.at("2026-10-27T01:00-06:00")
    later.says("batch chowder --kind 'plant food'")
    later.at("2026-10-27T20:00-06:00")
    falling = [f"{150 - k:.1f}" for k in range(120)]
    file = cooler(tmp_path, falling)
    refused = later.refuses(f"load-readings {file} --probe chowder-1027")
    assert "What was done with chowder-1027 as it was read?" in refused
    later.says(f'load-readings {file} --probe "chowder-1027 cool" --yes')
    told = json.loads(later.says("show chowder-1027 --json"))
    stages = {one["limit"]: one["verdict"] for one in told["findings"]}
    assert stages["cooling-stage-1"] == "met"
    # to the next batch it is not remembered: that one is another food
    later.at("2026-10-28T20:00-06:00")
    other = cooler(tmp_path, falling, begins=BEGINS + timedelta(days=1), name="other.csv")
    assert "What is probe 'Probe 1' in" in later.refuses(f"load-readings {other}")


def test_several_probes_and_one_that_is_left_out(later: Kitchen, tmp_path: Path) -> None:
    file = tmp_path / "three.csv"
    file.write_text(
        "When;Left °C;Right °C;Outside °C\n"
        "27.10.2026 09:00;61,5;4,5;20,0\n27.10.2026 09:05;62,0;4,0;20,5\n"
    )
    command = f'load-readings {file} --probe Left=well-1 --probe "right=walk-in" --probe Outside=none --yes'
    assert "4 readings recorded" in later.says(command)
    kinds: list[Any] = [(one["unit"], one["body"]) for one in later.entries()[-2:]]
    assert [(unit, body["step"], body["readings"]) for unit, body in kinds] == [
        ("well-1", "hot_hold", ["0 61.5", "300 62.0"]),
        ("walk-in", "cold_hold", ["0 4.5", "300 4.0"]),
    ]


def test_a_report_of_minutes_is_short_and_names_their_file(later: Kitchen, tmp_path: Path) -> None:
    later.says(f"load-readings {cooler(tmp_path, ['38.0'] * 900)} --probe walk-in --yes")
    page = tmp_path / "day.pdf"
    later.says(f"report 2026-10-27 --output {page}")
    told = flat(" ".join(each.extract_text() for each in PdfReader(page).pages))
    assert "readings are printed by the hour" in told
    assert told.count("38.0 °F") < 60


def test_a_load_that_is_killed_leaves_nothing(later: Kitchen, tmp_path: Path) -> None:
    file = cooler(tmp_path, ["38.0"] * 200_000, begins=datetime(2024, 1, 1, tzinfo=UTC))
    before = later.entries()
    environment = {**os.environ, "HACCP_BY": "JM"}
    command = [sys.executable, "-m", "haccp", "--db", str(later.path), "load-readings", str(file)]
    for wait in (0.6, 0.9, 1.1, 1.3):
        process = subprocess.Popen(
            [*command, "--probe", "walk-in", "--yes"], env=environment,
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        time.sleep(wait)
        process.send_signal(signal.SIGKILL)
        process.wait()
        now: list[Any] = later.entries()
        if len(now) > len(before):  # it was quicker: then it is all there
            # the clock of the tests is another one: that is an entry too
            runs = [one for one in now[len(before) :] if one["kind"] == "logged readings"]
            assert sum(len(one["body"]["readings"]) for one in runs) == 200_000
            break
        assert now == before
    later.says("record verify")


def test_good_readings_after_a_deviation_that_nobody_decided_are_not_called_met(
    later: Kitchen, tmp_path: Path
) -> None:
    warm = cooler(tmp_path, ["38.0"] * 60 + ["58.0"] * 30 + ["38.0"] * 30)
    assert "NOT MET: walk-in" in later.says(f"load-readings {warm} --probe walk-in --yes")
    good = cooler(tmp_path, ["38.0"] * 30, begins=BEGINS + timedelta(hours=2), name="good.csv")
    assert "NOT MET: walk-in" in later.says(f"load-readings {good} --probe walk-in --yes")
    later.says("corrective walk-in 'door shut, food thrown away'")
    rest = cooler(tmp_path, ["38.0"] * 9, begins=BEGINS + timedelta(hours=3), name="rest.csv")
    told = later.says(f"load-readings {rest} --probe walk-in --yes")
    # but nobody has looked since then
    assert "NOT SHOWN: walk-in" in told


def test_what_was_read_after_nothing_was_left_of_a_batch_is_no_reading_of_it(
    kitchen: Kitchen, tmp_path: Path
) -> None:
    kitchen.at("2026-10-26T14:10-06:00")
    kitchen.says("used-up stew")
    kitchen.at("2026-10-26T15:00-06:00")
    opened = datetime(2026, 10, 26, 18, 0, tzinfo=UTC)
    file = cooler(tmp_path, ["190.0"] * 180, begins=opened - timedelta(minutes=30))
    told = kitchen.run(f"load-readings {file} --probe 'stew cook' --yes").stderr
    assert "Probe 1: 30 readings are from before stew was opened." in told
    assert "Lines 163-181 are left out: Probe 1: nothing was left of stew then." in told
    assert "set to cool" not in kitchen.says("show stew")
    (*_, last) = [one for one in kitchen.entries() if one["kind"] == "logged readings"]
    body: Any = last["body"]
    assert body["readings"][-1] == "600 190.0"  # 14:10, the moment itself


def test_a_file_that_only_differs_from_the_record_is_not_called_recorded(
    later: Kitchen, tmp_path: Path
) -> None:
    later.says(f"load-readings {cooler(tmp_path, ['45.0'] * 5)} --probe walk-in --yes")
    edited = cooler(tmp_path, ["38.0"] * 5, name="edited.csv")
    refused = later.run(f"load-readings {edited} --probe walk-in --yes")
    assert refused.exit_code == 2
    assert "Line 2: Probe 1 is on record for that moment with 45.0 °F" in refused.stderr
    assert "Nothing was recorded: what is not on record already differs from it." in refused.stderr


def test_a_logger_that_stood_still_or_was_silent_is_told_of_before_it_is_recorded(
    later: Kitchen, tmp_path: Path
) -> None:
    stuck = cooler(tmp_path, ["38.0"] * 721, begins=BEGINS - timedelta(hours=2))
    told = flat(later.run(f"load-readings {stuck} --probe walk-in").stderr)
    assert "Probe 1: 38.0 °F without a change for 12 h from 00:00 on: is it in order?" in told
    file = cooler(tmp_path, ["38.0", "39.0", "38.0"])
    with file.open("a", encoding="utf-8") as more:
        more.write("2025-10-27 08:00:00Z,38.5\n")
    told = flat(later.run(f"load-readings {file} --probe walk-in").stderr)
    # a clock that is a year off is seen
    assert "4 readings, Mon 27 Oct 2025 02:00 to 02:02" in told
    assert "Probe 1: once no reading for 8760 h" in told


def test_a_day_of_a_door_that_opens_often_is_told_by_the_day(
    later: Kitchen, tmp_path: Path
) -> None:
    door = ["38.0"] * 12 + ["43.5"] * 3
    file = cooler(tmp_path, [*door * 48, "38.0"], begins=BEGINS - timedelta(hours=2))
    later.says(f"load-readings {file} --probe walk-in --yes")
    page = tmp_path / "day.pdf"
    later.says(f"report 2026-10-27 --output {page}")
    pages = PdfReader(page).pages
    told = flat(" ".join(each.extract_text() for each in pages))
    assert len(pages) <= 4
    assert "42 more, each for at most 4 min, 43.5 °F to 43.5 °F" in told
    # each of them stands in the annex, and that it was loaded later stands there once
    assert told.count("43.5 (") == 48 * 3
    assert "721 readings" in told and ", loaded 20:00" in told
    assert "later" not in told.partition("Entered late")[0]
    shown = flat(later.says("show walk-in"))
    assert "42 more out of limits, each for at most 4 min: haccp show walk-in --json" in shown
    assert len(json.loads(later.says("show walk-in --json"))["findings"]) >= 48
    signed = later.says('sign-day today --note "door" --by AR')
    assert "Entered late: walk-in (13)" in signed
