"""An honest week is typed in at a terminal without a question: by hand, line by line."""

import shlex
from collections.abc import Iterator

import pytest

from haccp.assets import folder
from haccp.cli.demo import DEMO_PIN
from haccp.logs.sample_week import Typed, sample_week
from tests.kitchens import Kitchen

_COMMANDS = {
    "prepare": "prepare",
    "cook": "cook",
    "hot_hold": "hold",
    "cold_hold": "hold",
    "cool": "cool",
    "reheat": "reheat",
    "time_control": "time",
}


def by_hand(typed: Typed) -> str:
    """Give the command that a cook would have typed for a line of the week."""
    by = [] if typed.by == "-" else ["--by", typed.by]
    if typed.row is None:
        return shlex.join([*typed.words, *by])
    cells, reading = typed.row.cells, typed.row.reading
    degree = reading.temperature.degree
    words = [
        _COMMANDS[reading.step],
        cells["batch"] or cells["holding_unit"],
        f"{reading.temperature.value}",
        reading.at.isoformat(timespec="minutes"),
        "--thermometer",
        cells["thermometer"],
    ]
    if cells["batch"] and cells["holding_unit"]:
        words += ["--in", cells["holding_unit"]]
    if cells["held_s"]:
        words += ["--held", cells["held_s"]]
    if cells.get("chamber"):
        words += ["--oven", cells["chamber"]]
    if cells["note"]:
        words += ["--note", cells["note"]]
    if reading.method:
        words += [{"6 h": "--six-hours"}.get(reading.method, f"--{reading.method}")]
    assert degree == "F", "the week is typed in the kitchen's degree, so that a slip could hide"
    return shlex.join([*words, *by])


def asked(kitchen: Kitchen, week: list[Typed]) -> Iterator[str]:
    for typed in week:
        kitchen.now = typed.at
        result = kitchen.asks(by_hand(typed))
        if result.exit_code != 0:
            yield f"{by_hand(typed)}: {result.stderr}"


def test_the_sample_week_is_typed_without_a_question(
    tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path_factory.mktemp("week")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(path))
    week = sample_week(folder("sample_logs"))
    assert sum(typed.row is not None for typed in week) > 200
    assert list(asked(Kitchen(path / "record.sqlite3", pin=DEMO_PIN), week)) == []
