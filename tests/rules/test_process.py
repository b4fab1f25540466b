"""The three processes of the process approach, as examples of them are given elsewhere.

Source: the three flows of FDA's manual for operators (2006), quoted elsewhere: no cook step receive,
prepare, hold; same-day service receive, prepare, cook, hold; complex receive, prepare, cook, cool,
reheat, hot hold.
"""

import pytest

from haccp.rules.evidence import Step
from haccp.rules.process import Process, cools_uncontrolled, process_of


@pytest.mark.parametrize(
    ("steps", "process"),
    [
        ("receive prepare cold_hold", Process.NO_COOK),
        ("receive prepare cook hot_hold", Process.SAME_DAY),
        ("receive prepare cook cool reheat hot_hold", Process.COMPLEX),
        ("prepare cool cold_hold", Process.NO_COOK),
        ("cook time_control", Process.SAME_DAY),
        ("cook cool cold_hold", Process.COMPLEX),
        ("receive cold_hold reheat hot_hold", Process.SAME_DAY),
        ("cool cook hot_hold", Process.SAME_DAY),
        ("cook reheat", Process.COMPLEX),
        ("", Process.NO_COOK),
    ],
)
def test_a_food_s_process_by_its_steps(steps: str, process: Process) -> None:
    assert process_of([Step(step) for step in steps.split()]) is process


@pytest.mark.parametrize(
    ("steps", "missing"),
    [
        ("cook cold_hold", True),
        ("cook hot_hold cold_hold", True),
        ("cook cool cold_hold", False),
        ("cook cool cold_hold reheat hot_hold", False),
        ("cook cool cold_hold reheat cold_hold", True),
        ("receive cold_hold cook", False),
    ],
)
def test_hot_food_is_cooled_before_it_stands_cold(steps: str, missing: bool) -> None:
    assert cools_uncontrolled([Step(step) for step in steps.split()]) is missing
