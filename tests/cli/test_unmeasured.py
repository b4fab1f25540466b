"""Food that nobody measured yet can be looked at, printed and decided about like any other."""

from pathlib import Path

import pytest

from tests.kitchens import Kitchen

OPENED = (
    "batch salad --code salad --ambient",
    "batch plain --code plain",
    "batch chicken --code chicken --kind poultry",
    "batch roast --code roast --kind 'whole roast' --oven none",
    "split salad 2",
    "batch mix --code mix --from chicken --from plain --yes",
)
LOOKS = ("show {}", "show {} --json", "curve {}", "rescue {}", "trace {}", "label {}", "action {}")
TYPED = ("cool {} 60", "cook {} 160", "reheat {} 90", "hold {} 150", "time {} 150", "prepare {} 50")


@pytest.mark.parametrize("code", ["salad-a", "plain", "chicken", "roast", "mix"])
def test_food_that_nobody_measured_is_told_of_without_a_trace(
    kitchen: Kitchen, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, code: str
) -> None:
    monkeypatch.chdir(tmp_path)
    for command in OPENED:
        kitchen.says(command)
    for moment in ("2026-10-26T14:00-06:00", "2026-10-26T18:00-06:00", "2026-11-05T12:00-07:00"):
        kitchen.at(moment)
        for command in LOOKS:
            kitchen.run(command.format(code))  # which fails for a bug
        assert code in kitchen.says("status")
        kitchen.says("report 2026-10-26 --output day.pdf --force")


@pytest.mark.parametrize("code", ["salad-a", "chicken", "mix"])
def test_its_first_reading_may_be_of_any_step(kitchen: Kitchen, code: str) -> None:
    for command in OPENED:
        kitchen.says(command)
    kitchen.at("2026-10-26T18:00-06:00")
    for command in TYPED:
        kitchen.run(f"{command.format(code)} --yes")
        kitchen.says(f"show {code}")
