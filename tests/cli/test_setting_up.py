"""A kitchen's first minutes: ten questions at most, one PIN, and then its first round."""

import json
from pathlib import Path

import pytest

from tests.kitchens import Kitchen


@pytest.fixture
def new(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Kitchen:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    return Kitchen(tmp_path / "record.sqlite3")


def names(kitchen: Kitchen, what: str) -> list[str]:
    listed = json.loads(kitchen.says(f"list {what} --json"))
    return [
        one.get("name") if what == "units" else one.get("label", one.get("initials"))
        for one in listed
    ]


def test_enter_takes_what_is_ready_and_everything_is_set_up_in_one_sitting(new: Kitchen) -> None:
    answers = ("Test Kitchen", "America/Denver", "", "5380ft", "AR Asta R.", "", "", "", "", "")
    result = new.asks("setup", *answers)
    assert result.exit_code == 0, result.output
    assert result.stderr.count("?") <= 10
    assert names(new, "units") == ["well-1", "well-2", "walk-in", "freezer"]
    assert names(new, "thermometers") == ["T1"]
    assert names(new, "people") == ["AR"]
    assert "The first round: well-1, well-2, walk-in, freezer." in result.stdout
    # who set it up needs no initials any more, and no PIN was asked a third time
    new.says("hold well-1 151")


def test_what_is_typed_is_read_as_people_write_it(new: Kitchen) -> None:
    answers = (
        "Test Kitchen", "America/Denver", "c", "1640m", "ar Asta R.", "tp Tavi P., LO Lio O.",
        "well 1, hot box", "walk-in", "none", "T1, T2",
    )  # fmt: skip
    result = new.asks("setup", *answers)
    assert result.exit_code == 0, result.output
    assert names(new, "people") == ["AR", "TP", "LO"]
    assert names(new, "units") == ["well-1", "hot-box", "walk-in"]
    assert json.loads(new.says("kitchen --json"))["degree"] == "C"


def test_a_slip_is_said_and_asked_again_and_three_end_it_with_nothing_made(new: Kitchen) -> None:
    once = ("Test Kitchen", "Denver?", "America/Denver", "", "", "AR A.", "", "", "", "", "")
    assert "Denver?" in new.asks("setup", *once).stderr
    assert names(new, "units")
    other = Kitchen(new.path.with_name("other.sqlite3"))
    result = other.asks("setup", "Test Kitchen", "Mars", "Moon", "Sun")
    assert result.exit_code == 2
    assert not other.path.exists()


def test_one_name_for_two_things_is_refused(new: Kitchen) -> None:
    answers = ("K", "America/Denver", "", "", "AR A.", "", "well-1", "Well-1", "", "")
    result = new.asks("setup", *answers)
    assert result.exit_code == 2
    assert "stands there twice" in result.stderr
    assert not new.path.exists()


def test_where_nobody_can_be_asked_the_finished_line_is_told(new: Kitchen) -> None:
    said = new.refuses("setup")
    assert 'haccp setup "My kitchen" --zone America/Denver' in said
    new.says(
        'setup K --zone UTC --manager AR --manager-name "A. R." --hot "well-1" --people "TP Tavi P."'
    )
    assert names(new, "units") == ["well-1"]
    assert names(new, "people") == ["AR", "TP"]
