"""`haccp record` and the copies of each day: what they say of a kitchen's day."""

import json
from pathlib import Path

from tests.kitchens import Kitchen, log


def test_the_record_verifies_and_says_what_a_paper_shows(kitchen: Kitchen) -> None:
    assert "every entry is what was recorded" in kitchen.says("record verify")
    last = kitchen.run("record verify --against 000000000000")
    assert last.exit_code == 3
    assert "is not the one that this paper was printed from" in last.stdout


def test_daily_copies_are_kept_beside_the_record(kitchen: Kitchen, tmp_path: Path) -> None:
    kitchen.says("kitchen --daily-copies 2 --by AR")
    for day in (27, 28, 29):
        kitchen.at(f"2026-10-{day}T12:00-06:00")
        kitchen.says("hold well-1 141")
    copies = sorted(path.name for path in (tmp_path / "record.sqlite3.daily").iterdir())
    assert copies == ["2026-10-28.sqlite3", "2026-10-29.sqlite3"]


def test_a_backup_restored_prints_the_same_page(kitchen: Kitchen, tmp_path: Path) -> None:
    log(kitchen, ("14:00", "cool stew 135"), ("15:00", "cool stew 98"))
    backup = tmp_path / "backup.sqlite3"
    kitchen.says(f"record backup {backup}")
    other = Kitchen(tmp_path / "other.sqlite3")
    other.now = kitchen.now
    before = kitchen.entries()
    assert "their chain holds" in other.says(f"record restore {backup} --by AR")
    assert other.entries()[:-1] == before
    assert other.says("show stew") == kitchen.says("show stew")


def test_a_morning_typed_at_once_is_listed_as_worth_a_look(kitchen: Kitchen) -> None:
    kitchen.at("2026-10-26T18:00-06:00")
    for minutes in range(0, 240, 20):
        hour, minute = divmod(13 * 60 + minutes, 60)
        kitchen.says(f"hold well-1 {140 + minutes % 7} {hour}:{minute:02d}")
    listed = kitchen.says("record unusual today")
    assert listed.startswith("Something to look at")
    assert len(json.loads(kitchen.says("record unusual today --json"))) == 1
    assert "Worth a look: 1" in kitchen.says('sign today --by AR --note "typed from paper"')


def test_an_ordinary_day_is_not_listed(kitchen: Kitchen) -> None:
    log(kitchen, ("13:00", "hold well-1 141"), ("14:00", "hold well-1 143"))
    assert "Nothing unusual" in kitchen.says("record unusual today")
