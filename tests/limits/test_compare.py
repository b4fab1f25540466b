"""How limits differ, and which is weaker: against readings tried one by one. All is invented."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from haccp.limits import CountsFrom, Limit, LimitSet, Row, Side, load_overrides, shipped
from haccp.limits.compare import demand, difference, differences, number, replacements
from haccp.temperature import Degree, Level

NEW_YORK = shipped("new-york-14-1.1")
FOOD_CODE = shipped("food-code-2022.1")
NEVER = timedelta(0)


def limit(
    name: str,
    side: Side,
    rows: list[tuple[int, int, int]],
    *,
    inclusive: bool = True,
    start: tuple[int, int] | None = None,
    within: int | None = None,
    clock: CountsFrom | None = None,
) -> Limit:
    return Limit(
        name=name,
        side=side,
        inclusive=inclusive,
        rows=tuple(
            Row(Level(Decimal(f), Decimal(c)), timedelta(seconds=s)) for f, c, s in sorted(rows)
        ),
        start=Level(Decimal(start[0]), Decimal(start[1])) if start else None,
        within=None if within is None else timedelta(minutes=within),
        clock=clock,
        citation="1.1",
        source="an invented code",
        basis="verified",
        text="invented",
    )


def keeps(one: Limit, degree: Degree, temperature: Decimal, held: int) -> bool:
    """Try a food that stood at a temperature for so many seconds, by the wording alone."""
    for row in one.rows:
        level = row.level.number(degree)
        warm = temperature >= level if one.inclusive else temperature > level
        cold = temperature <= level if one.inclusive else temperature < level
        if (warm if one.side is Side.AT_OR_ABOVE else cold) and held >= row.hold.total_seconds():
            return True
    return False


SMALL = st.integers(0, 4)
ROWS = st.lists(st.tuples(SMALL, SMALL, SMALL), min_size=1, max_size=3, unique_by=lambda r: r[0])
HALVES = [Decimal(n) / 2 for n in range(-2, 12)]


@given(side=st.sampled_from(Side), old=ROWS, new=ROWS, kept=st.tuples(st.booleans(), st.booleans()))
def test_weaker_is_what_lets_a_food_pass_that_the_other_stops(
    side: Side,
    old: list[tuple[int, int, int]],
    new: list[tuple[int, int, int]],
    kept: tuple[bool, bool],
) -> None:
    a = limit("cook", side, old, inclusive=kept[0])
    b = limit("cook", side, new, inclusive=kept[1])
    foods = list(product(Degree, HALVES, range(6)))
    found = difference(a, b, NEVER)
    assert found.weaker is any(keeps(b, *food) and not keeps(a, *food) for food in foods)
    assert found.stricter is any(keeps(a, *food) and not keeps(b, *food) for food in foods)
    assert bool(found.words) >= (found.weaker or found.stricter)


TIMES = st.tuples(st.integers(1, 8), st.sampled_from([CountsFrom.START, CountsFrom.PREVIOUS_STAGE]))


@given(old=TIMES, new=TIMES, data=st.data())
def test_a_second_stage_is_weaker_if_some_cooling_may_take_longer(
    old: tuple[int, CountsFrom], new: tuple[int, CountsFrom], data: st.DataObject
) -> None:
    # a first stage is never granted more than the whole
    first_stage = data.draw(st.integers(0, min(old[0], new[0])))

    def stage(within: int, clock: CountsFrom) -> Limit:
        cold = [(41, 5, 0)]
        return limit("cooling-stage-2", Side.AT_OR_BELOW, cold, within=within, clock=clock)

    def passes(time: tuple[int, CountsFrom], first: int, whole: int) -> bool:
        within, clock = time
        return (whole - first if clock is CountsFrom.PREVIOUS_STAGE else whole) <= within

    coolings = [(f, w) for f in range(first_stage + 1) for w in range(f, 20)]
    found = difference(stage(*old), stage(*new), timedelta(minutes=first_stage))
    weaker = any(passes(new, *c) and not passes(old, *c) for c in coolings)
    stricter = any(passes(old, *c) and not passes(new, *c) for c in coolings)
    assert (found.weaker, found.stricter) == (weaker, stricter)


def told(old: LimitSet, new: LimitSet) -> dict[tuple[str, str], tuple[str, bool, bool]]:
    return {
        ((d.new or d.old).name, (d.new or d.old).kind): (d.words, d.weaker, d.stricter)  # type: ignore[union-attr]
        for d in differences(old, new)
    }


def test_new_york_against_the_food_code() -> None:
    found = told(FOOD_CODE, NEW_YORK)
    assert found["cold-holding", ""] == ("≤ 45 °F (7.2 °C), not ≤ 41 °F (5 °C)", True, False)
    assert found["hot-holding", ""] == ("≥ 140 °F (60 °C), not ≥ 135 °F (57 °C)", False, True)
    assert found["cooling-stage-1", ""] == (
        "≤ 70 °F (21.1 °C), not ≤ 70 °F (21 °C); from 120 °F (48.9 °C), not from 135 °F (57 °C)",
        True,
        False,
    )
    assert ("date-mark", "") not in found


def test_maryland_s_second_stage_is_stricter_and_the_food_code_s_weaker_than_it() -> None:
    maryland = shipped("maryland-10-15-03.1")
    words = "within 4 h of the previous stage, not within 6 h of the start"
    assert told(FOOD_CODE, maryland)["cooling-stage-2", ""] == (words, False, True)
    _, weaker, stricter = told(maryland, FOOD_CODE)["cooling-stage-2", ""]
    assert (weaker, stricter) == (True, False)


def test_a_time_alone_is_compared_by_its_time_and_whether_the_very_time_is_too_long() -> None:
    australia = shipped("australia-3-2-2.1")
    assert told(FOOD_CODE, NEW_YORK)["time-out-longest", ""] == (
        "within 2 h of the last proper temperature, not within 4 h of the last proper temperature",
        False,
        True,
    )
    # less than 2 hours against up to 2 hours
    assert told(FOOD_CODE, australia)["time-out-allowed", ""][1:] == (False, True)
    assert told(australia, FOOD_CODE)["time-out-allowed", ""][1:] == (True, False)
    assert ("time-out-longest", "") not in told(FOOD_CODE, australia)


def test_a_microwave_that_needs_no_standing_is_weaker() -> None:
    words, weaker, stricter = told(FOOD_CODE, NEW_YORK)["reheat-microwave", ""]
    assert "without standing, not then stood covered for 2 min" in words
    assert (weaker, stricter) == (True, False)
    stands = FOOD_CODE.get("cook-microwave")
    found = difference(replace(stands, stand=NEVER), stands, NEVER)
    assert (found.words, found.weaker, found.stricter) == (
        "then stood covered for 2 min, not without standing",
        False,
        True,
    )


def test_a_limit_that_loses_its_temperature_is_weaker() -> None:
    minnesota = shipped("minnesota-4626.1")
    assert told(FOOD_CODE, minnesota)["date-mark", ""] == (
        "without a temperature, not ≤ 41 °F (5 °C)",
        True,
        False,
    )


def test_a_limit_without_a_number_says_so() -> None:
    assert demand(FOOD_CODE.get("reheat-for-order")) == "no number"
    assert demand(FOOD_CODE.get("time-out-allowed")) == "within 2 h of the last proper temperature"
    assert demand(NEW_YORK.get("initial-heating", "poultry")) == "no heating at all"


def test_a_bound_that_is_not_included_is_stricter() -> None:
    found = told(FOOD_CODE, shipped("minnesota-4626.1"))
    words, weaker, stricter = found["time-control-cold", ""]
    assert words == "leaving at < 41 °F (5 °C), not at ≤ 41 °F (5 °C)"
    assert (weaker, stricter) == (False, True)


def test_food_under_time_control_without_a_ceiling_is_partly_weaker() -> None:
    found = told(FOOD_CODE, shipped("food-code-2013.1"))
    assert found["time-control-opened", ""] == (
        "without a ceiling, not ≤ 70 °F (21 °C); leaving at ≤ 41 °F (5 °C), not at ≤ 70 °F (21 °C)",
        True,
        True,
    )


def test_a_limit_that_only_one_set_has_is_told_whole() -> None:
    (pork,) = (d for d in differences(FOOD_CODE, NEW_YORK) if d.new and d.new.kind == "pork")
    assert pork.old is None
    assert pork.words == "≥ 150 °F (65.6 °C) for an instant"
    (pork,) = (d for d in differences(NEW_YORK, FOOD_CODE) if d.old and d.old.kind == "pork")
    assert pork.new is None


def test_a_limit_that_a_kitchen_adds_replaces_nothing() -> None:
    text = (
        '[[limit]]\nname = "cook"\nkind = "sausage"\nnew = true\nside = "at or above"\n'
        'inclusive = true\nf = 160\nc = 71\ncitation = "9.9"\nsource = "an invented code"\n'
        'basis = "verified"\ntext = "Cook sausages."\n'
    )
    merged = load_overrides(FOOD_CODE, text, "local.toml")
    (found,) = replacements(FOOD_CODE, merged)
    assert (found.old, found.words) == (None, "≥ 160 °F (71 °C) for an instant")
    assert "sausage" in merged.kinds


@pytest.mark.parametrize("one", [FOOD_CODE, NEW_YORK])
def test_a_set_does_not_differ_from_itself(one: LimitSet) -> None:
    assert differences(one, one) == ()


def test_a_limit_with_another_citation_alone_judges_alike() -> None:
    text = (
        '[[limit]]\nname = "cold-holding"\nside = "at or below"\ninclusive = true\nf = 41\nc = 5\n'
        'citation = "9.9"\nsource = "an invented code"\nbasis = "verified"\ntext = "Cold."\n'
    )
    merged = load_overrides(FOOD_CODE, text, "local.toml")
    assert differences(FOOD_CODE, merged) == ()
    (found,) = replacements(FOOD_CODE, merged)
    assert (found.words, found.weaker, found.stricter) == ("", False, False)


def test_a_time_that_is_gone_is_weaker() -> None:
    reheat = FOOD_CODE.get("reheat")
    found = difference(reheat, replace(reheat, within=None, clock=None), NEVER)
    assert (found.words, found.weaker) == ("without a time, not within 2 h of the reheating", True)


def test_a_number_that_is_not_printed_has_a_sign() -> None:
    australia = shipped("australia-3-2-2.1")
    stage = australia.get("cooling-stage-1")
    assert number(stage, stage.level) == "21 °C (= 69.8 °F)"
    assert demand(stage) == "≤ 21 °C (= 69.8 °F) from 60 °C (= 140 °F) within 2 h of the start"
    stage = shipped("maryland-10-15-03.1").get("cooling-stage-1")
    assert number(stage, stage.level) == "70 °F (≈ 21.1 °C)"
    assert (
        demand(FOOD_CODE.get("date-mark")) == "≤ 41 °F (5 °C) within 7 days, preparation on day 1"
    )
