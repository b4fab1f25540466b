"""Time as a control: 3-501.19. The foods are invented."""

import pytest

from tests.kitchens import Kitchen, findings, flat, log


@pytest.mark.parametrize(
    ("command", "due"),
    [
        ("time stew 141", "16:10"),
        ("time stew 41", "16:10"),
        ("time stew 41 --six-hours", "18:10"),
        ("time stew 70 --opened", "16:10"),
    ],
)
def test_the_clock_time_to_discard_by_is_told_and_stays_in_status_and_on_the_label(
    kitchen: Kitchen, command: str, due: str
) -> None:
    assert f"Serve, use or discard it by {due}" in log(kitchen, ("12:10", command))
    assert f"discarded by {due}" in flat(kitchen.says("status"))
    assert f"DISCARD AT {due}" in kitchen.says("label stew")
    assert "use by" not in kitchen.says("show stew"), "its date mark counts no more"


@pytest.mark.parametrize(
    "command",
    ["time stew 100", "time stew 42 --six-hours", "time stew 71 --opened", "time stew 134.9"],
)
def test_time_alone_does_not_start_from_just_any_temperature(
    kitchen: Kitchen, command: str
) -> None:
    assert log(kitchen, ("12:10", command)).startswith("NOT ALLOWED")


def test_the_ceiling_of_the_six_hours_is_70(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "time stew 41 --six-hours"))
    assert log(kitchen, ("15:10", "time stew 70 --six-hours")).startswith("TIME RUNS")
    assert log(kitchen, ("15:20", "time stew 70.1 --six-hours")).startswith("TOO WARM")


def test_over_the_clock_change_four_hours_are_four_real_ones(kitchen: Kitchen) -> None:
    kitchen.at("2026-11-01T00:30-06:00")
    assert "by 03:30" in kitchen.says("time stew 141")
    kitchen.at("2026-10-31T22:00-06:00")
    kitchen.says("batch rice --code rice")
    kitchen.at("2026-11-01T01:10-07:00")
    assert "DISCARD AT 01:00 MST" in kitchen.says(
        "time rice 141 '2026-10-31 22:00'"
    ) + kitchen.says("label rice")


def test_food_under_time_control_may_not_go_back(kitchen: Kitchen) -> None:
    log(kitchen, ("12:01", "cook stew 199"), ("12:10", "time stew 141"))
    log(kitchen, ("13:00", "hold stew 140"))
    assert findings(kitchen, "stew")["time-control-hot"] == "not met"


def test_rice_under_time_control_goes_into_no_other_food(kitchen: Kitchen) -> None:
    """3-501.19(B): four hours from removal, whatever it is made into."""
    log(kitchen, ("12:10", "time stew 150"))
    assert "3-501.19" in kitchen.refuses("batch soup --from stew")


@pytest.mark.parametrize("ending", ["used stew", ""])
def test_a_clock_does_not_start_anew_in_what_food_goes_into(kitchen: Kitchen, ending: str) -> None:
    log(kitchen, ("12:10", "cool stew 135"), ("13:50", "cool stew 95"))
    if ending:
        kitchen.says(ending)
    kitchen.at("2026-10-26T14:00-06:00")
    assert "its clock runs on" in kitchen.refuses("batch soup --from stew")
    assert "its clock runs on" in kitchen.refuses("batch soup 12:20 --from stew")
