"""Reaching a temperature, 3-401.11 and 3-403.11. All readings here are invented."""

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from haccp import limits
from haccp.rules.account.readings_alone import judge_batch
from haccp.rules.evidence import Batch, Finding, Reading, Reason, Step, Verdict, overall
from haccp.rules.words import explain
from haccp.temperature import Degree, Temperature

ZERO = datetime(2026, 1, 5, tzinfo=UTC)
LIMITS = limits.shipped()


def at(minute: float) -> datetime:
    return ZERO + timedelta(minutes=minute)


def reading(
    minute: float,
    temp: str,
    held: float = 0,
    step: Step = Step.REHEAT,
    *,
    doubted: bool = False,
) -> Reading:
    return Reading(
        at=at(minute),
        temperature=Temperature(Decimal(temp), Degree.F),
        step=step,
        held=timedelta(seconds=held),
        doubted_since=at(1000) if doubted else None,
    )


def heat(
    *readings: Reading,
    kind: str = "",
    as_of: float | None = None,
    ended: float | None = None,
) -> Finding:
    batch = Batch(readings=readings, kind=kind, ended=None if ended is None else at(ended))
    found = judge_batch(batch, LIMITS, None if as_of is None else at(as_of))
    (heating,) = heatings(found)
    return heating


def heatings(found: Iterable[Finding]) -> list[Finding]:
    return [f for f in found if f.step in (Step.REHEAT, Step.COOK)]


def sentence(finding: Finding) -> str:
    return explain(finding, lambda moment: f"minute {(moment - ZERO) // timedelta(minutes=1)}")


def test_a_reheat_is_met_by_165_for_15_seconds_within_two_hours() -> None:
    found = heat(reading(0, "41"), reading(60, "120"), reading(90, "165", held=15))
    assert found.verdict is Verdict.MET
    assert (found.shortest, found.longest) == (timedelta(minutes=60), timedelta(minutes=90))


def test_a_reheat_under_way_is_open_and_says_until_when() -> None:
    found = heat(reading(0, "41"), reading(60, "120"), as_of=60)
    assert found.verdict is Verdict.OPEN
    assert found.due == at(120)
    assert heat(reading(0, "41"), reading(60, "120"), as_of=120).verdict is Verdict.OPEN


def test_a_reheat_is_not_shown_once_its_time_has_passed_without_a_reading() -> None:
    assert heat(reading(0, "41"), reading(60, "120"), as_of=121).verdict is Verdict.NOT_SHOWN


def test_a_reheat_seen_too_cool_at_two_hours_is_not_met_even_before_it_is_over() -> None:
    found = heat(reading(0, "41"), reading(120, "150"), as_of=120)
    assert found.verdict is Verdict.NOT_MET


def test_a_reheat_that_was_given_up_too_cool_is_not_met() -> None:
    found = heat(reading(0, "41"), reading(60, "150"), ended=61, as_of=61)
    assert found.verdict is Verdict.NOT_MET
    assert found.reason is Reason.TOO_COOL


def test_a_reheat_is_open_until_the_food_was_given_up() -> None:
    readings = (reading(0, "41"), reading(60, "150"))
    assert heat(*readings, ended=61, as_of=60).verdict is Verdict.OPEN


def test_165_without_a_shown_hold_is_not_shown_when_over_and_open_before() -> None:
    readings = (reading(0, "41"), reading(60, "170"))
    assert heat(*readings, as_of=60).verdict is Verdict.OPEN
    assert heat(*readings).verdict is Verdict.NOT_SHOWN
    assert heat(*readings, ended=70, as_of=70).verdict is Verdict.NOT_SHOWN


def test_falling_below_165_in_between_breaks_a_hold() -> None:
    broken = heat(reading(0, "41"), reading(60, "165"), reading(61, "164"), reading(62, "165"))
    assert broken.verdict is Verdict.NOT_SHOWN
    whole = heat(reading(0, "41"), reading(60, "165"), reading(61, "165"), reading(62, "160"))
    assert whole.verdict is Verdict.MET


def test_the_two_hours_run_to_the_first_reading_of_the_hold() -> None:
    found = heat(reading(0, "41"), reading(120, "165"), reading(121, "165"))
    assert found.verdict is Verdict.MET
    assert found.longest == timedelta(minutes=120)


def test_a_hold_entered_later_does_not_take_away_one_that_was_shown_before() -> None:
    """165 °F at 100 and at 125 show the hold from 100 on, whatever is noted with the second."""
    without = heat(reading(0, "41"), reading(100, "165"), reading(125, "165"))
    noted = heat(reading(0, "41"), reading(100, "165"), reading(125, "165", held=15))
    assert without.verdict is Verdict.MET
    assert noted.verdict is Verdict.MET
    assert noted.longest == without.longest == timedelta(minutes=100)


@given(
    st.lists(
        st.tuples(
            st.sampled_from([10, 30, 60, 119, 120, 121, 150]),
            st.sampled_from(["41", "140", "164.9", "165", "170"]),
        ),
        min_size=1,
        max_size=5,
        unique_by=lambda one: one[0],
    ),
    st.integers(0, 4),
)
def test_more_seconds_noted_with_a_reading_never_make_a_verdict_worse(
    drawn: list[tuple[int, str]], which: int
) -> None:
    """Whatever temperatures: a watched hold is evidence for the food, not against it.

    Food that is cold again was given up, and is reheated anew: the worst of its reheats counts.
    """
    rows = [reading(0, "41"), *(reading(minute, temp) for minute, temp in sorted(drawn))]
    place = min(which + 1, len(rows) - 1)
    noted = [*rows]
    one = noted[place]
    noted[place] = Reading(
        at=one.at, temperature=one.temperature, step=one.step, held=timedelta(seconds=15)
    )
    worst_first = [Verdict.NOT_MET, Verdict.NOT_SHOWN, Verdict.MET]
    with_it, without = (
        overall(heatings(judge_batch(Batch(readings=tuple(some)), LIMITS, None)))
        for some in (noted, rows)
    )
    assert worst_first.index(with_it) >= worst_first.index(without)


def test_a_reheat_first_seen_hot_counts_from_the_reading_before_it() -> None:
    cold = reading(0, "40", step=Step.COLD_HOLD)
    assert heat(cold, reading(120, "165", held=15)).verdict is Verdict.MET
    assert heat(cold, reading(121, "165", held=15)).verdict is Verdict.NOT_SHOWN


def test_a_reheat_without_any_reading_before_has_no_known_time() -> None:
    found = heat(reading(0, "165", held=15))
    assert found.verdict is Verdict.NOT_SHOWN
    assert found.reason is Reason.NO_START
    assert found.longest is None


def test_a_reheat_shown_by_a_doubted_thermometer_is_not_shown() -> None:
    found = heat(reading(0, "41"), reading(60, "170", held=15, doubted=True))
    assert found.verdict is Verdict.NOT_SHOWN
    assert found.reason is Reason.THERMOMETER_IN_DOUBT
    both = heat(
        reading(0, "41"), reading(60, "170", held=15, doubted=True), reading(70, "168", held=15)
    )
    assert both.verdict is Verdict.MET


def test_a_doubted_cool_reading_does_not_prove_that_a_reheat_was_too_late() -> None:
    found = heat(reading(0, "41"), reading(120, "150", doubted=True), reading(121, "166", held=15))
    assert found.verdict is Verdict.NOT_SHOWN


def test_a_late_reheat_is_explained_by_the_reading_that_was_still_too_cool() -> None:
    """160 °F at 120 proves it, not the 165 °F that came after."""
    found = heat(reading(0, "41"), reading(120, "160"), reading(121, "165", held=15))
    assert found.verdict is Verdict.NOT_MET
    assert "160 °F at minute 120" in sentence(found)
    assert "only 165" not in sentence(found).lower()


def test_a_late_reheat_without_a_hold_is_not_said_to_have_stayed_cool() -> None:
    """170 °F is above 165 °F: a sentence that denies it is untrue."""
    found = heat(reading(0, "41"), reading(120, "150"), reading(125, "170"))
    assert found.verdict is Verdict.NOT_MET
    assert "170 °F at minute 125, not 165 °F or above" not in sentence(found)


def test_readings_of_one_minute_judge_alike_in_any_order() -> None:
    """A stirred pot, two spots read at minute 10: one still too cool, so no hold is shown yet."""
    rows = [reading(0, "150"), reading(10, "165"), reading(10, "160"), reading(20, "165")]
    assert {heat(*order).verdict for order in permutations(rows)} == {Verdict.NOT_SHOWN}


def test_cooking_has_no_deadline() -> None:
    found = heat(
        reading(0, "40", step=Step.COOK), reading(900, "165", step=Step.COOK), kind="poultry"
    )
    assert found.verdict is Verdict.MET


@pytest.mark.parametrize(
    ("kind", "temp", "held", "verdict"),
    [
        ("intact meat", "145", 15, Verdict.MET),
        ("intact meat", "145", 14, Verdict.NOT_SHOWN),
        ("intact meat", "144.9", 60, Verdict.NOT_MET),
        ("fish", "145", 15, Verdict.MET),
        ("plant food", "135", 0, Verdict.MET),
        ("plant food", "134.9", 0, Verdict.NOT_MET),
        ("", "164.9", 600, Verdict.NOT_MET),
    ],
)
def test_each_kind_of_food_is_cooked_by_its_own_limit(
    kind: str, temp: str, held: float, verdict: Verdict
) -> None:
    """Numbers: 12VAC5-421-700 (Virginia); plant food: a state summary of 3-401.13."""
    assert heat(reading(0, temp, held, Step.COOK), kind=kind).verdict is verdict


def test_a_roast_may_satisfy_any_one_row_by_a_run_of_readings() -> None:
    """140 °F for 12 minutes: 3-401.11(B), Maine Food Code."""

    def roast(*pairs: tuple[float, str]) -> Finding:
        rows = (reading(minute, temp, step=Step.COOK) for minute, temp in pairs)
        return heat(*rows, kind="whole roast")

    assert roast((0, "120"), (10, "140"), (22, "141")).verdict is Verdict.MET
    assert roast((0, "120"), (10, "140"), (21, "141")).verdict is Verdict.NOT_SHOWN
    assert roast((0, "120"), (10, "140"), (15, "139"), (22, "141")).verdict is Verdict.NOT_SHOWN
    assert roast((0, "120"), (10, "129.9")).verdict is Verdict.NOT_MET


def test_a_cook_under_way_is_open() -> None:
    assert heat(reading(0, "120", step=Step.COOK), as_of=0).verdict is Verdict.OPEN
    later = reading(10, "60", step=Step.COOL)
    assert heat(reading(0, "120", step=Step.COOK), later, as_of=10).verdict is Verdict.NOT_MET


def test_a_hold_counts_only_where_no_colder_reading_lies_in_it() -> None:
    """131 °F for 112 min (3-401.11(B)) cannot have been between 120 °F and 100 °F; invented."""
    cook = [reading(0, "120", step=Step.COOK), reading(10, "131", held=6720, step=Step.COOK)]
    colder = reading(11, "100", step=Step.COOK)
    assert heat(*cook, colder, kind="whole roast").verdict is not Verdict.MET
    cooled = reading(90, "128", step=Step.COOL)
    found = judge_batch(Batch(readings=(*cook, cooled), kind="whole roast"), LIMITS, None)
    assert found[0].verdict is Verdict.NOT_SHOWN
    # held before its reading, or after it, as far as the readings go
    assert heat(cook[1], colder, kind="whole roast").verdict is Verdict.MET
    assert heat(*cook, kind="whole roast").verdict is Verdict.MET
    assert heat(*cook, kind="whole roast", as_of=11).verdict is Verdict.OPEN, "not yet over"
    warm = [reading(0, "41"), reading(60, "164"), reading(60.2, "165", held=15)]
    assert heat(*warm).verdict is Verdict.MET
    assert heat(*warm, reading(60.3, "160")).verdict is Verdict.NOT_SHOWN
