"""What a cook's entry answers: this reading, what now and by when, what stands undecided."""

import pytest

from tests.kitchens import Kitchen, log


def test_an_hourly_entry_answers_with_what_is_next_and_by_when(
    kitchen: Kitchen,
) -> None:
    answer = log(kitchen, ("14:00", "cool stew 135"), ("15:00", "cool stew 98"))
    first, now, estimate = answer.splitlines()
    assert first == "MAY BE TOO SLOW stew 98 °F. Must be 70 °F or below by 16:00."
    assert now.startswith("Now: Cool it faster: ") and "haccp rescue stew" in now
    assert "15:10" <= now.split("Measure it by ")[1].rstrip(".") <= "16:00"
    assert estimate.startswith("Estimate: 70 °F from ")
    on_its_way = log(kitchen, ("15:45", "cool stew 70"))
    assert on_its_way.startswith("COOLING OK stew 70 °F. Must be 41 °F or below by 20:00.")


@pytest.mark.parametrize(
    "commands",
    [
        [("14:00", "cool stew 135"), ("16:10", "cool stew 75")],
        [("14:00", "cool stew 120")],
        [("12:30", "cook stew 150 --held 5")],
        [("12:30", "hold well-1 120")],
        [("12:30", "reheat stew 41"), ("15:00", "reheat stew 160")],
    ],
)
def test_no_answer_is_longer_than_four_lines(
    kitchen: Kitchen, commands: list[tuple[str, str]]
) -> None:
    assert 1 <= len(log(kitchen, *commands).splitlines()) <= 4


def test_a_late_entry_asks_for_no_reading_in_the_past(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "cool stew 135"), ("13:00", "cool stew 98"))
    said = log(kitchen, ("13:05", "cool stew 115 12:35"))
    assert "Measure it by 13:27: by then it is below 85 °F if it will make it." in said
