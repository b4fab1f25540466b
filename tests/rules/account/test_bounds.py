"""Bounds against every true course that the readings allow, tried one by one.

The oracle knows no formula: it lets the food pass a level at each minute between two readings, in
every combination, and looks how long each course lasted. All readings here are invented.
"""

from itertools import pairwise, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from haccp.rules.evidence import Verdict
from tests.rules.account.story import NOBODY_LOOKS, at, minutes, told

GRID = 10  # minutes between the moments that the oracle tries
few = settings(max_examples=150, deadline=None)
pauses = st.lists(st.sampled_from([10, 20, 50, 60, 110, 120, 130]), min_size=1, max_size=4)


def moments(after: int, by: int) -> range:
    """Give the moments at which it may have happened: after one reading and by the next."""
    return range(after + GRID, by + 1, GRID)


@few
@given(pauses, st.booleans())
def test_a_spell_out_of_temperature_lasts_as_long_as_some_course_does(
    gaps: list[int], closed: bool
) -> None:
    """Cold at 0, read on a bench, and at last back in the cold: 3-501.16(A)."""
    at_warm = [sum(gaps[: n + 1]) for n in range(len(gaps))]
    story = "cold hold 0 40" + "".join(f"; prepare {minute} 60" for minute in at_warm)
    back = at_warm[-1] + 60
    judged = told(f"{story}; cold hold {back} 40" if closed else story, back, watch=NOBODY_LOOKS)
    left, returned = moments(0, at_warm[0]), moments(at_warm[-1], back)
    lasted = [end - begin for begin, end in product(left, returned)]
    found = [one for one in judged.findings if one.limit.name.startswith("time-out")]
    if closed and max(lasted) + GRID <= 120:
        assert not found, "met, and goes without saying"
        return
    (one,) = found
    shown = minutes(one.shortest)
    # a course may begin with the grid's first moment or any before it, and end up to one later
    assert shown == at_warm[-1] - at_warm[0]
    assert min(lasted) - GRID <= (shown or 0) <= min(lasted)
    if closed:
        assert minutes(one.longest) == back
        assert max(lasted) <= back <= max(lasted) + GRID
        worst = Verdict.NOT_MET if (shown or 0) >= 240 else Verdict.NOT_SHOWN
        assert one.verdict is worst
    else:
        assert one.verdict in (
            (Verdict.NOT_MET,) if (shown or 0) >= 240 else (Verdict.OPEN, Verdict.NOT_SHOWN)
        )
        assert (one.verdict is Verdict.OPEN) is (back <= 120)


@few
@given(pauses, st.integers(0, 3), st.sampled_from([0, 40, 80]))
def test_a_reheat_lasts_as_long_as_some_course_from_41_to_165_does(
    gaps: list[int], cool: int, check: int
) -> None:
    """3-403.11(D): met only if no course takes longer than two hours."""
    first = 100
    times = [first + sum(gaps[:n]) for n in range(len(gaps) + 1)]
    warm, hot = times[:-1], times[-1]
    story = f"cool -300 135; cool -200 70; cool -100 41; cold hold {check} 40"
    story += "".join(f"; reheat {minute} {90 + cool}" for minute in warm)
    judged = told(f"{story}; reheat {hot} 166 for 15", None)
    (found,) = [one for one in judged.findings if one.limit.name == "reheat"]
    longest = max(
        end - begin for begin, end in product(moments(check, warm[0]), moments(warm[-1], hot))
    )
    assert minutes(found.longest) == hot - check
    assert longest <= hot - check <= longest + GRID
    if found.verdict is Verdict.MET:
        assert longest <= 120
    if longest > 120:
        assert found.verdict is not Verdict.MET


@few
@given(st.lists(st.sampled_from([10, 30, 60, 70, 120]), min_size=2, max_size=5), st.data())
def test_stage_1_of_a_cooling_that_nobody_called_one_is_as_some_course_says(
    gaps: list[int], data: st.DataObject
) -> None:
    """3-501.14(A)(1), whatever the steps are called."""
    times = [sum(gaps[:n]) for n in range(len(gaps) + 1)]
    temps = sorted(
        (data.draw(st.sampled_from([150, 134, 100, 71, 69, 50])) for _ in times), reverse=True
    )
    temps[0], temps[-1] = 150, 41
    words = data.draw(st.sampled_from(["cool", "cold hold", "prepare"]))
    story = "; ".join(
        f"{'hot hold' if temp == 150 else words} {minute} {temp}"
        for minute, temp in zip(times, temps, strict=True)
    )
    judged = told(story, None)
    (found,) = [one for one in judged.findings if one.limit.name == "cooling-stage-1"]
    known = list(zip(times, temps, strict=True))
    began = next((a, b) for (a, s), (b, t) in pairwise(known) if s >= 135 > t)
    ended = next((a, b) for (a, s), (b, t) in pairwise(known) if s > 70 >= t)
    minutes_of = (range(began[0], began[1]), range(ended[0] + 1, ended[1] + 1))
    courses = [end - begin for begin, end in product(*minutes_of) if end > begin]
    if max(courses) <= 120:
        assert found.verdict is Verdict.MET
    # it may have begun a moment before its first cold reading, and ended a moment after its last
    # warm one: by whole minutes the shortest course is two too long
    elif min(courses) - 2 >= 120:
        assert found.verdict is Verdict.NOT_MET
    else:
        assert found.verdict is Verdict.NOT_SHOWN
    assert found.start is not None
    assert found.start.earliest == at(began[0])
    assert minutes(found.longest) == max(courses)


@pytest.mark.parametrize(
    ("told_at", "reheat", "verdict"),
    [
        (110, "reheat 130 90; reheat 180 166 for 15", Verdict.MET),
        # said 10 minutes before it is read at 90 °F: it was out before that
        (120, "reheat 130 90; reheat 180 166 for 15", Verdict.NOT_SHOWN),
        (120, "reheat 130 41; reheat 180 166 for 15", Verdict.MET),
    ],
)
def test_a_word_that_food_was_taken_out_counts_only_where_it_can_be_true(
    told_at: int, reheat: str, verdict: Verdict
) -> None:
    before = "cool -300 135; cool -200 70; cool -100 41; cold hold 0 40"
    judged = told(f"{before}; taken out {told_at}; {reheat}", None)
    assert [one.verdict for one in judged.findings if one.limit.name == "reheat"] == [verdict]
    late = told(f"{before}; taken out {told_at} said {told_at - 60}; {reheat}", None)
    (found,) = [one for one in late.findings if one.limit.name == "reheat"]
    assert found.verdict is (Verdict.MET if "130 41" in reheat else Verdict.NOT_SHOWN)
