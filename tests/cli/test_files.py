"""Files of readings and of the record: `load`, `check`, `export`, `import`; what was first on paper."""

import json
from pathlib import Path

from tests.kitchens import Kitchen, log


def test_a_file_is_judged_at_the_door_by_microwave_and_under_time_control(
    kitchen: Kitchen, tmp_path: Path
) -> None:
    file = tmp_path / "log.csv"
    file.write_text(
        "batch,step,taken_at,temp,unit,held_s,method\n"
        "a,receive,0,41.1,F,,\n"
        "b,cook,0,165,F,119,microwave\n"
        "c,time_control,0,41,F,,6 h\nc,time_control,300,71,F,,6 h\n"
        "d,prepare,0,60,F,,\n"
    )
    result = kitchen.run(f"check {file} --json")
    found = {
        batch["batch"]: {one["limit"]: one["verdict"] for one in batch["findings"]}
        for batch in json.loads(result.stdout)["batches"]
    }
    assert result.exit_code == 1
    assert found == {
        "a": {"receiving-cold": "not met", "time-out-allowed": "not shown"},
        "b": {"cook-microwave": "not shown"},
        "c": {"time-control-6h": "not met"},
        "d": {"time-out-allowed": "not shown"},
    }


def test_what_was_first_written_on_paper_says_so(kitchen: Kitchen, tmp_path: Path) -> None:
    log(kitchen, ("13:00", "cool stew 135 --paper"), ("13:01", "receive milk 40 --paper --code m"))
    for code in ("stew", "m"):
        assert "From paper." in kitchen.says(f"show {code}")
    file = tmp_path / "sheet.csv"
    file.write_text("batch,step,taken_at,temp,unit\nstew,cool,2026-10-26T13:30-06:00,110,F\n")
    kitchen.at("2026-10-26T14:00-06:00")
    kitchen.says(f"load {file} --paper")
    assert kitchen.says("show stew").count("From paper.") == 2


def test_a_file_of_readings_is_recorded_whole_or_not_at_all(
    kitchen: Kitchen, tmp_path: Path
) -> None:
    kitchen.at("2026-10-26T20:00-06:00")
    file = tmp_path / "paper.csv"
    header = "batch,step,taken_at,temp,unit,by,holding_unit\n"
    good = "stew,cool,2026-10-26T14:00-06:00,135,F,JM,\n,hot_hold,2026-10-26T14:00-06:00,141,F,AR,well-1\n"
    file.write_text(header + good + "ghost,cool,2026-10-26T15:00-06:00,90,F,JM,\n")
    before = len(kitchen.entries())
    result = kitchen.run(f"load {file}")
    assert result.exit_code == 2
    assert "Line 4 is rejected: there is no batch 'ghost'" in result.stderr
    assert len(kitchen.entries()) == before
    made = "stew,cool,2026-10-26T15:00-06:00,50,F,2026-10-26T14:00-06:00\n"
    file.write_text("batch,step,taken_at,temp,unit,prepared_at\n" + made)
    assert (
        "Line 2 is rejected: prepared_at is for haccp check-file"
        in kitchen.run(f"load {file}").stderr
    )
    assert len(kitchen.entries()) == before
    file.write_text(header + good)
    assert "2 readings recorded" in kitchen.says(f"load {file}")


def test_export_and_import_give_the_same_record(kitchen: Kitchen, tmp_path: Path) -> None:
    log(kitchen, ("14:00", "cool stew 135"), ("15:00", "cool stew 98"))
    for form in ("csv", "json"):
        file, copy = tmp_path / f"record.{form}", tmp_path / f"{form}.sqlite3"
        kitchen.says(f"export {file}")
        other = Kitchen(copy)
        assert "the chain of digests holds" in other.says(f"import {file}")
        assert other.entries() == kitchen.entries()


def test_a_file_says_its_verdicts_and_is_recorded_once(kitchen: Kitchen, tmp_path: Path) -> None:
    file = tmp_path / "log.csv"
    file.write_text(
        "batch,step,taken_at,temp,unit\n"
        "stew,cool,2026-10-26T12:10-06:00,140,F\n"
        "stew,cool,2026-10-26T12:20-06:00,130,F\n"
        "stew,cool,2026-10-26T14:30-06:00,90,F\n"
    )
    kitchen.at("2026-10-26T14:40-06:00")
    assert "NOT MET: white-bean stew (stew)" in kitchen.says(f"load {file} --by JM")
    entries = len(kitchen.entries())
    again = kitchen.run(f"load {file} --by JM")
    assert again.exit_code == 2 and "on record already, as no." in again.stderr
    assert len(kitchen.entries()) == entries
