"""Date marks, 3-501.17: seven days, frozen time aside, against a clock that runs hour by hour."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from haccp import limits
from haccp.rules.datemark import last_day

SEVEN = limits.shipped().get("date-mark")
MONDAY = date(2026, 10, 26)


def day(n: int) -> date:
    """Give the n-th day, day 1 being that of preparation."""
    return MONDAY + timedelta(days=n - 1)


def test_made_on_monday_it_is_used_by_sunday() -> None:
    """Seven days, the day of preparation being day 1: Minnesota 4626.0400."""
    assert last_day(MONDAY, [], SEVEN) == date(2026, 11, 1)


def test_combined_foods_keep_the_earliest_mark() -> None:
    """Minnesota 4626.0400, Wisconsin ATCP 75 3-501.17."""
    assert last_day(day(1), [day(4), day(9)], SEVEN) == day(4)
    assert last_day(day(1), [day(9)], SEVEN) == day(7)
    assert last_day(None, [day(5), day(3)], SEVEN) == day(3)


def test_freezing_stops_the_count_and_does_not_start_it_anew() -> None:
    """Minnesota Dairy and Food Inspection, date marking poster. Days 1 to 3 and 10 are used."""
    assert last_day(day(1), [], SEVEN, [(day(3), day(10))]) == day(13)


@pytest.mark.parametrize(
    ("frozen", "expected"),
    [
        ((3, 3), 7),  # in and out on one day: no whole day in between
        ((3, 4), 7),
        ((3, 5), 8),
        ((7, 20), 7),  # frozen on its last day: the day of thawing would be an eighth
        ((6, 20), 20),
        ((8, 20), 7),  # frozen when it was over already
    ],
)
def test_the_days_of_freezing_and_of_thawing_count(frozen: tuple[int, int], expected: int) -> None:
    assert last_day(day(1), [], SEVEN, [(day(frozen[0]), day(frozen[1]))]) == day(expected)


def test_what_is_still_frozen_has_the_mark_that_it_would_have_if_it_were_thawed_today() -> None:
    for today in range(3, 40):
        assert last_day(day(1), [], SEVEN, [(day(3), None)], day(today)) == last_day(
            day(1), [], SEVEN, [(day(3), day(today))]
        )


def test_a_part_s_mark_stands_still_too_while_the_whole_is_frozen() -> None:
    """Its meat had four days left when it went in; one was used before freezing."""
    assert last_day(day(1), [day(4)], SEVEN, [(day(2), day(12))]) == day(13)
    assert last_day(None, [day(4)], SEVEN, [(day(2), day(12))]) == day(13)


def test_thawed_and_frozen_again_on_one_day_uses_that_day() -> None:
    assert last_day(day(1), [], SEVEN, [(day(2), day(5)), (day(5), day(9))]) == day(12)


@st.composite
def freezings(draw: st.DrawFn) -> list[tuple[int, int]]:
    spans, now = [], 1
    for _ in range(draw(st.integers(0, 3))):
        froze = now + draw(st.integers(0, 5))
        thawed = froze + draw(st.sampled_from([0, 0, 1, 2, 3, 10]))
        spans.append((froze, thawed))
        now = thawed
    return spans


@given(freezings(), st.lists(st.integers(1, 10), max_size=2))
def test_it_is_what_a_clock_says_that_runs_only_where_the_food_is_not_frozen(
    spans: list[tuple[int, int]], parts: list[int]
) -> None:
    """Hour by hour: frozen from 13:00 of the one day to 11:00 of the other. A day counts if the
    food was out of the freezer in any hour of it."""
    allowed = min([7, *parts])
    n = used = last = 0
    while used < allowed:
        n += 1
        hours = range(24 * n, 24 * n + 24)
        out = any(
            not any(24 * froze + 13 <= hour < 24 * thawed + 11 for froze, thawed in spans)
            for hour in hours
        )
        used, last = (used + 1, n) if out else (used, last)
    frozen = [(day(froze), day(thawed)) for froze, thawed in spans]
    assert last_day(day(1), [day(part) for part in parts], SEVEN, frozen) == day(last)
