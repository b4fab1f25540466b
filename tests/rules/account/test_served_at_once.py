"""Food that is served at once: to an individual order, or undercooked with the advisory; invented.

Sources: Food Code 3-403.10, 3-401.11(D), 3-603.11.
"""

from typing import Any

import pytest

from haccp.rules.evidence import Verdict
from tests.rules.account.story import deviations, only, told

COLD = "cook 0 180; cool 10 136; cool 100 70; cool 300 41; cold hold 310 40; "


def test_food_warmed_to_order_may_be_served_at_any_temperature() -> None:
    served = f"{COLD} reheat 320 60; reheat 330 110; used 335"
    assert deviations(told(served, opened=0, to_order=True)) == []
    assert deviations(told(served, opened=0)) == ["reheat not met"]
    by_microwave = f"{COLD} reheat 320 100 by microwave; used 325"
    assert deviations(told(by_microwave, opened=0, to_order=True)) == []
    # called a cook, it is the same food
    assert deviations(told(f"{COLD} cook 320 110; used 325", opened=0, to_order=True)) == []


@pytest.mark.parametrize(
    "instead",
    [
        "hot hold 335 120; used 340",
        "hot hold 335 136; used 340",
        "cool 335 100; cool 340 40; used 350",
        "cold hold 335 60; used 340",
        "prepare 335 80; used 340",
        "used in 335",
        "hot hold 332 120; reheat 335 120; used 340",
    ],
)
def test_held_cooled_or_kept_instead_it_is_reheated_as_any_food(instead: str) -> None:
    story = f"{COLD} reheat 320 60; reheat 330 110; {instead}"
    found = deviations(told(story, opened=0, to_order=True))
    assert found == deviations(told(story, opened=0))
    assert any(one.startswith("reheat not") for one in found)


def test_to_order_is_no_leave_to_stand_warm() -> None:
    def spell(minute: int) -> list[str]:
        warm = f"{COLD} reheat 312 60; reheat {minute - 5} 110; used {minute}"
        return deviations(told(warm, opened=0, to_order=True))

    assert spell(310 + 120) == []
    assert spell(310 + 121) == ["time-out-allowed not shown"]
    assert spell(312 + 246) == ["time-out-longest not met"]


def test_while_it_is_on_the_heat_its_reheat_is_open_until_two_hours() -> None:
    story = f"{COLD} reheat 320 60"
    assert only(told(story, 330, opened=0, to_order=True), "reheat").verdict is Verdict.OPEN
    assert deviations(told(story, 600, opened=0, to_order=True)) == ["reheat not shown"]


def test_food_of_an_open_cooling_is_not_refrigerated() -> None:
    story = "cook 0 180; cool 10 136; cool 100 90; reheat 110 100; used 120"
    assert deviations(told(story, opened=0, to_order=True)) == deviations(told(story, opened=0))
    assert "reheat not met" in deviations(told(story, opened=0, to_order=True))


RAW: dict[str, Any] = {"opened": 0, "kind": "intact meat", "animal": True}


def test_raw_animal_food_to_order_is_cooked_as_ever() -> None:
    story = "receive 0 38; cook 10 60; cook 20 120; used 25"
    assert deviations(told(story, to_order=True, **RAW)) == ["cook not met"]


def test_undercooked_food_is_served_with_the_advisory_and_no_other_is() -> None:
    story = "receive 0 38; cook 10 60; cook 20 120; used 25"
    assert deviations(told(story, undercooked=True, **RAW)) == []
    assert deviations(told(story, **RAW)) == ["cook not met"]
    for instead in ("used in 25", "cool 25 110; cool 60 70; cool 120 40", "hot hold 25 136"):
        other = f"receive 0 38; cook 10 60; cook 20 120; {instead}"
        assert "cook not met" in deviations(told(other, undercooked=True, **RAW)), instead


def test_undercooked_food_may_not_stand_for_hours_on_the_heat_either() -> None:
    story = "receive 0 38; cook 10 60; cook 120 100; cook 251 120; used 255"
    assert deviations(told(story, undercooked=True, **RAW)) == ["time-out-longest not shown"]
