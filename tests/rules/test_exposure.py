"""Time between two temperatures, against every course tried one by one. Readings are invented."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from itertools import pairwise, product

from hypothesis import given
from hypothesis import strategies as st

from haccp.rules.evidence import Reading, Step
from haccp.rules.exposure import Exposure, time_between
from haccp.temperature import Degree, Level, Temperature

ZERO = datetime(2026, 1, 5, tzinfo=UTC)
COLD, HOT = Level(Decimal(41), Decimal(5)), Level(Decimal(135), Decimal(57))


def reading(minute: int, temp: str, degree: Degree = Degree.F, *, doubted: bool = False) -> Reading:
    return Reading(
        at=ZERO + timedelta(minutes=minute),
        temperature=Temperature(Decimal(temp), degree),
        step=Step.PREPARE,
        doubted_since=ZERO if doubted else None,
    )


def between(*readings: Reading) -> tuple[int, int]:
    found = time_between(readings, COLD, HOT)
    assert found is not None
    return found.shortest // timedelta(minutes=1), found.longest // timedelta(minutes=1)


def test_a_day_of_a_batch_is_added_up_over_its_steps() -> None:
    """Cold, tempered for an hour, cooked, cooled: each crossing widens the bounds."""
    day = [(0, "40"), (30, "50"), (90, "60"), (200, "165"), (240, "120"), (300, "70"), (500, "41")]
    assert between(*(reading(*one) for one in day)) == (60 + 60, 30 + 60 + 110 + 40 + 60 + 200)


def test_the_levels_themselves_are_control_in_both_degrees() -> None:
    assert between(reading(0, "41"), reading(600, "41")) == (0, 0)
    assert between(reading(0, "135"), reading(600, "140")) == (0, 0)
    assert between(reading(0, "5", Degree.C), reading(600, "5.0", Degree.C)) == (0, 0)
    assert between(reading(0, "57", Degree.C), reading(600, "57", Degree.C)) == (0, 0)
    assert between(reading(0, "41.1"), reading(600, "41.1")) == (600, 600)
    assert between(reading(0, "134.9"), reading(600, "134.9")) == (600, 600)
    assert between(reading(0, "56.9", Degree.C), reading(600, "56.9", Degree.C)) == (600, 600)


def test_before_the_first_reading_nothing_is_counted_and_the_answer_says_from_when() -> None:
    found = time_between([reading(120, "60"), reading(60, "50")], COLD, HOT)
    assert found == Exposure(
        shortest=timedelta(minutes=60),
        longest=timedelta(minutes=60),
        since=ZERO + timedelta(minutes=60),
        until=ZERO + timedelta(minutes=120),
    )
    assert time_between([], COLD, HOT) is None


def test_the_part_of_the_food_that_lies_between_counts() -> None:
    rows = [reading(0, "40"), reading(0, "45"), reading(60, "40"), reading(60, "50")]
    assert between(*rows) == (60, 60)
    ends = [reading(minute, temp) for minute in (0, 60) for temp in ("40", "140")]
    assert between(*ends) == (60, 60)


def test_a_doubted_reading_widens_the_bounds_and_narrows_none() -> None:
    ends = [reading(0, "40"), reading(120, "40")]
    assert between(ends[0], reading(60, "60", doubted=True), ends[1]) == (0, 120)
    ends = [reading(0, "60"), reading(120, "60")]
    assert between(ends[0], reading(60, "40", doubted=True), ends[1]) == (0, 120)
    assert between(reading(0, "60", doubted=True), reading(60, "60", doubted=True)) == (0, 60)


SLOTS = 4


def every_course(begun: int, before: int, after: int, minutes: int) -> set[int]:
    """Give the minutes between that each course makes: temperatures in slots, moving one way.

    Places are 0 below, 1 between, 2 above. A course is any run of places from the one to the other
    that never turns back.
    """
    courses = product(range(3), repeat=SLOTS)
    up, down = list(range(SLOTS)), list(range(SLOTS - 1, -1, -1))
    found = set()
    for course in courses:
        ordered = [course[i] for i in (up if after >= before else down)]
        if ordered == sorted(ordered) and all(
            min(before, after) <= place <= max(before, after) for place in course
        ):
            found.add(course.count(1) * minutes // SLOTS)
    return found


temps = st.sampled_from(["0", "40", "41", "41.1", "70", "134.9", "135", "165"])


def place(temp: str) -> int:
    return 0 if Decimal(temp) <= 41 else 2 if Decimal(temp) >= 135 else 1


@given(st.lists(st.tuples(st.sampled_from([4, 60, 120]), temps), min_size=1, max_size=6))
def test_the_bounds_are_the_least_and_the_most_of_all_courses(
    drawn: list[tuple[int, str]],
) -> None:
    minute, rows = 0, []
    for pause, temp in drawn:
        minute += pause
        rows.append((minute, temp))
    least = most = 0
    for (begun, one), (ended, other) in pairwise(rows):
        tried = every_course(begun, place(one), place(other), ended - begun)
        least, most = least + min(tried), most + max(tried)
    assert between(*(reading(*row) for row in rows)) == (least, most)


@given(
    st.lists(st.tuples(st.integers(0, 300), temps, st.booleans()), min_size=1, max_size=7),
    st.randoms(use_true_random=False),
)
def test_order_does_not_matter_and_doubt_never_narrows(
    drawn: list[tuple[int, str, bool]], shuffler: object
) -> None:
    rows = [reading(minute, temp, doubted=doubted) for minute, temp, doubted in drawn]
    shuffled: Sequence[Reading] = [*rows]
    shuffler.shuffle(shuffled)  # type: ignore[attr-defined]
    found = between(*rows)
    assert between(*shuffled) == found
    sure = between(*(replace(row, doubted_since=None) for row in rows))
    assert found[0] <= sure[0]
    assert found[1] >= sure[1]
