"""The steps around cooling and holding: the door, ovens, microwaves, two goes, time as a control.

All readings here are invented.
"""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest

from haccp import limits
from haccp.rules.account.readings_alone import judge_batch
from haccp.rules.evidence import Batch, Finding, Reading, Step, Verdict, overall
from haccp.temperature import parse_temperature

ZERO = datetime(2026, 1, 5, tzinfo=UTC)
LIMITS = limits.shipped()


def minute(number: float) -> datetime:
    return ZERO + timedelta(minutes=number)


def reading(at: float, temp: str, step: Step, **more: Any) -> Reading:
    return Reading(at=minute(at), temperature=parse_temperature(temp), step=step, **more)


def judged(*readings: Reading, as_of: float | None = None, **more: Any) -> dict[str, Finding]:
    """Give the findings of a batch by the names of their limits."""
    when = None if as_of is None else minute(as_of)
    found = judge_batch(Batch(readings=readings, **more), LIMITS, when)
    assert len({one.limit.name for one in found}) == len(found), "a limit was judged twice"
    return {one.limit.name: one for one in found}


# ---- the door: 3-202.11, as read in 12VAC5-421-340 (Virginia)


@pytest.mark.parametrize(
    ("state", "temp", "verdict"),
    [
        ("cold", "41F", "met"), ("cold", "41.1F", "not met"), ("cold", "5C", "met"), ("cold", "5.1C", "not met"),
        ("egg", "45F", "met"), ("egg", "45.1F", "not met"), ("egg", "7C", "met"), ("egg", "7.1C", "not met"),
        ("hot", "135F", "met"), ("hot", "134.9F", "not met"), ("hot", "57C", "met"), ("hot", "56.9C", "not met"),
        ("frozen", "28F", "met"), ("frozen", "28.1F", "not met"),
    ],
)  # fmt: skip
def test_a_delivery_is_judged_by_the_state_it_comes_in(state: str, temp: str, verdict: str) -> None:
    found = judged(reading(0, temp, Step.RECEIVE), received_as=state)
    assert found.pop(f"receiving-{'egg-air' if state == 'egg' else state}").verdict == verdict
    # neither cold nor hot, it is out of temperature from the door on: 3-501.16(A)
    out = verdict == "not met" and state != "frozen"
    assert [(name, one.verdict) for name, one in found.items()] == (
        [("time-out-allowed", Verdict.NOT_SHOWN)] if out else []
    )


def test_food_that_a_law_lets_arrive_warmer_has_four_hours() -> None:
    """3-501.14(C): within 4 hours to 41 °F or less."""
    warm = reading(0, "45F", Step.RECEIVE)
    cold = reading(240, "41F", Step.COLD_HOLD)
    found = judged(warm, reading(60, "43F", Step.COLD_HOLD), cold, by_law=True)
    assert found["cooling-received"].verdict is Verdict.MET
    assert found["cold-holding"].readings == (cold,), "held cold from the reading that completed it"
    assert found["cold-holding"].verdict is Verdict.MET
    assert set(found) == {"cooling-received", "cold-holding"}
    late = judged(warm, reading(241, "41F", Step.COLD_HOLD), by_law=True)
    assert late["cooling-received"].verdict is Verdict.NOT_SHOWN
    slow = judged(warm, reading(240, "41.5F", Step.COLD_HOLD), by_law=True)
    assert slow["cooling-received"].verdict is Verdict.NOT_MET
    again = judged(warm, cold, reading(300, "44F", Step.COLD_HOLD), by_law=True)
    assert again["cold-holding"].verdict is Verdict.NOT_MET


def test_without_a_law_warm_food_is_not_met_at_the_door() -> None:
    found = judged(reading(0, "45F", Step.RECEIVE), reading(60, "40F", Step.COLD_HOLD))
    assert found["receiving-cold"].verdict is Verdict.NOT_MET


def test_raw_eggs_are_held_by_their_air_until_they_are_cooked() -> None:
    air = reading(60, "44F", Step.COLD_HOLD)
    door = reading(0, "44F", Step.RECEIVE)
    assert judged(door, air, received_as="egg")["egg-holding"].verdict is Verdict.MET
    cooked = judged(
        door,
        reading(30, "165F", Step.COOK),
        air,
        received_as="egg",
        kind="egg",
    )
    assert "egg-holding" not in cooked


def test_food_delivered_hot_and_next_read_cold_was_cooled() -> None:
    found = judged(
        reading(0, "140F", Step.RECEIVE), reading(400, "45F", Step.COLD_HOLD), received_as="hot"
    )
    assert found["cooling-stage-2"].verdict is Verdict.NOT_SHOWN


# ---- heating


def test_a_microwave_asks_165_and_two_minutes_of_standing() -> None:
    """3-401.12: all parts to 165 °F, covered, stood 2 minutes (12VAC5-421-710)."""
    quick = reading(0, "166F", Step.COOK, method="microwave", held=timedelta(seconds=119))
    stood = reading(0, "166F", Step.COOK, method="microwave", held=timedelta(seconds=120))
    assert judged(quick, kind="fish")["cook-microwave"].verdict is Verdict.NOT_SHOWN
    assert judged(stood, kind="fish")["cook-microwave"].verdict is Verdict.MET
    cool = reading(0, "164.9F", Step.COOK, method="microwave", held=timedelta(minutes=5))
    assert judged(cool, kind="fish")["cook-microwave"].verdict is Verdict.NOT_MET


def test_food_from_a_microwave_has_to_be_hot_once_and_may_cool_while_it_stands() -> None:
    """3-401.12 and 3-403.11(B): 165 °F in all parts, then covered for 2 minutes; nothing is held."""
    for step, kind, name in (
        (Step.COOK, "fish", "cook-microwave"),
        (Step.REHEAT, "", "reheat-microwave"),
    ):
        hot = reading(0, "165F", step, method="microwave")
        for after, temp, expected in (
            (2, "150F", Verdict.MET),
            (1, "165F", Verdict.NOT_SHOWN),
            (5, "165F", Verdict.MET),
        ):
            stood = reading(after, temp, step, method="microwave")
            before = reading(-10, "40F", step, method="microwave")
            assert judged(before, hot, stood, kind=kind)[name].verdict is expected, (after, temp)


def test_a_commercial_package_is_reheated_to_135_in_a_microwave_too() -> None:
    """3-403.11(B): "Except as specified under (C)"."""
    begun = reading(0, "40F", Step.REHEAT, method="microwave")
    for temp, expected in (("135F", Verdict.MET), ("134.9F", Verdict.NOT_MET)):
        hot = reading(60, temp, Step.REHEAT, method="microwave")
        found = judged(begun, hot, kind="commercial package")
        assert found["reheat"].verdict is expected
        assert "reheat-microwave" not in found


def test_new_york_cooks_poultry_without_an_initial_heating() -> None:
    """10 NYCRR 14-1.82(a): "with no interruption of the cooking process"."""
    heated = reading(0, "120F", Step.COOK, method="initial")
    for kind, expected in (("poultry", Verdict.NOT_MET), ("pork", Verdict.MET)):
        batch = Batch(readings=(heated, reading(30, "100F", Step.COOL)), kind=kind)
        found = {
            one.limit.name: one for one in judge_batch(batch, limits.shipped("new-york-14-1"), None)
        }
        assert found["initial-heating"].verdict is expected, kind


def test_plant_food_in_a_microwave_is_no_raw_animal_food() -> None:
    found = judged(reading(0, "135F", Step.COOK, method="microwave"), kind="plant food")
    assert found["cook"].verdict is Verdict.MET


def test_a_microwaved_reheat_counts_its_two_hours_too() -> None:
    begun = reading(0, "40F", Step.REHEAT, method="microwave")
    hot = reading(110, "165F", Step.REHEAT, method="microwave", held=timedelta(minutes=2))
    assert judged(begun, hot)["reheat-microwave"].verdict is Verdict.MET
    late = reading(121, "165F", Step.REHEAT, method="microwave", held=timedelta(minutes=2))
    assert judged(begun, late)["reheat-microwave"].verdict is Verdict.NOT_SHOWN


def test_a_commercial_package_is_reheated_to_135() -> None:
    """3-403.11(C)."""
    begun = reading(0, "40F", Step.REHEAT)
    assert (
        judged(begun, reading(60, "135F", Step.REHEAT), kind="commercial package")["reheat"].verdict
        is Verdict.MET
    )
    assert judged(begun, reading(60, "135F", Step.REHEAT))["reheat"].verdict is Verdict.NOT_MET


ROASTED = reading(0, "130F", Step.COOK, held=timedelta(minutes=112))
BACK = (
    reading(500, "40F", Step.REHEAT, method="unsliced"),
    reading(560, "140F", Step.REHEAT, method="unsliced", held=timedelta(minutes=12)),
)


def test_an_unsliced_roast_may_be_reheated_by_its_table() -> None:
    """3-403.11(E), only for a roast whose cooking by 3-401.11(B) is on record."""
    assert judged(ROASTED, *BACK, kind="whole roast")["reheat"].verdict is Verdict.MET
    sliced = [
        Reading(at=one.at, temperature=one.temperature, step=one.step, held=one.held)
        for one in BACK
    ]
    assert judged(ROASTED, *sliced, kind="whole roast")["reheat"].verdict is Verdict.NOT_MET
    # what was never cooked is not reheated but cooked, whatever the step is called: 3-401.11
    raw = Batch(readings=(reading(0, "120F", Step.COOK), *BACK), kind="whole roast")
    found = judge_batch(raw, LIMITS, None)
    assert [(one.limit.name, one.verdict) for one in found] == [
        ("cook", Verdict.NOT_MET),
        ("cook", Verdict.MET),
    ]
    found = judge_batch(Batch(readings=(ROASTED, *BACK), kind="intact meat"), LIMITS, None)
    assert [(one.limit.name, one.verdict) for one in found] == [("cook", Verdict.NOT_MET)] * 2


@pytest.mark.parametrize(
    ("oven", "chamber", "verdict"),
    [
        ("still dry, under 10 lb", "350F", "met"), ("still dry, under 10 lb", "349F", "not met"),
        ("still dry, 10 lb or more", "250F", "met"), ("still dry, 10 lb or more", "249.9F", "not met"),
        ("convection, under 10 lb", "325F", "met"), ("convection, under 10 lb", "324F", "not met"),
        ("convection, 10 lb or more", "121C", "met"), ("convection, 10 lb or more", "120C", "not met"),
        ("high humidity", "250F", "met"), ("high humidity", "235F", "met"), ("high humidity", "251F", "not met"),
    ],
)  # fmt: skip
def test_a_roasts_oven_is_judged_by_its_kind_and_weight(
    oven: str, chamber: str, verdict: str
) -> None:
    """3-401.11(B), the oven table as read in the Maine Food Code."""
    cook = reading(0, "158F", Step.COOK, chamber=parse_temperature(chamber))
    found = judged(cook, kind="whole roast", oven=oven)
    assert found["oven"].verdict == verdict
    assert found["cook"].verdict is Verdict.MET


def test_an_oven_that_nobody_read_is_not_shown() -> None:
    cook = reading(0, "158F", Step.COOK)
    assert (
        judged(cook, kind="whole roast", oven="high humidity")["oven"].verdict is Verdict.NOT_SHOWN
    )
    assert "oven" not in judged(cook, kind="whole roast")


def test_a_low_overnight_roast_in_a_dry_oven_breaks_the_oven_table_and_not_the_core() -> None:
    """Chamber 225 to 235 °F, 12 to 14 h for a large beef cut: common practice, no source."""
    core = [
        "42F",
        "66F",
        "98F",
        "127F",
        "146F",
        "155F",
        "160F",
        "166F",
        "171F",
        "178F",
        "188F",
        "198F",
        "203F",
    ]
    cook = [
        reading(60 * hour, temp, Step.COOK, chamber=parse_temperature("230F"))
        for hour, temp in enumerate(core)
    ]
    dry = judged(*cook, kind="whole roast", oven="still dry, 10 lb or more")
    assert dry["cook"].verdict is Verdict.MET
    assert dry["oven"].verdict is Verdict.NOT_MET
    humid = judged(*cook, kind="whole roast", oven="high humidity")
    assert overall(humid.values()) is Verdict.MET


# ---- cooking in two goes: 3-401.14 (Delaware's text)


def seared(last: float, temp: str = "120F") -> tuple[Reading, ...]:
    return (
        reading(0, "45F", Step.COOK, method="initial"),
        reading(last, temp, Step.COOK, method="initial"),
    )


COOLED = (
    reading(65, "110F", Step.COOL),
    reading(150, "69F", Step.COOL),
    reading(300, "40F", Step.COOL),
)


def test_an_initial_heating_takes_an_hour_at_most() -> None:
    fine = judged(*seared(55), reading(60, "118F", Step.COOL), as_of=60)
    assert fine["initial-heating"].verdict is Verdict.MET
    unclear = judged(*seared(55), reading(61, "118F", Step.COOL), as_of=61)
    assert unclear["initial-heating"].verdict is Verdict.NOT_SHOWN
    long = judged(*seared(61), as_of=61)
    assert long["initial-heating"].verdict is Verdict.NOT_MET
    assert judged(*seared(55), as_of=58)["initial-heating"].verdict is Verdict.OPEN


def test_after_an_initial_heating_the_cooling_counts_from_its_end() -> None:
    found = judged(*seared(55), *COOLED)
    assert found["cooling-stage-1"].verdict is Verdict.MET
    assert found["cooling-stage-1"].longest == timedelta(minutes=95)
    assert found["cooling-stage-2"].longest == timedelta(minutes=245)


def test_food_seared_and_served_without_its_full_cook_is_not_shown() -> None:
    readings = (*seared(55), *COOLED)
    served = judged(*readings, ended=minute(2000), kind="poultry")
    assert served["cook"].verdict is Verdict.NOT_SHOWN
    thrown = judged(*readings, ended=minute(2000), discarded=True, kind="poultry")
    assert "cook" not in thrown
    cooked = judged(*readings, reading(1900, "165F", Step.COOK), ended=minute(2000), kind="poultry")
    assert cooked["cook"].verdict is Verdict.MET


def test_a_full_cook_ends_the_cooling_after_an_initial_heating_as_a_reheat_would() -> None:
    begun = (*seared(55), reading(65, "110F", Step.COOL))
    cooked = judged(*begun, reading(100, "165F", Step.COOK), as_of=2000, kind="poultry")
    assert cooked["cooling-stage-1"].verdict is Verdict.STOPPED
    assert cooked["cooling-stage-2"].verdict is Verdict.STOPPED
    # one that comes after the time was up takes nothing back, one that is not hot ends nothing
    late = judged(*begun, reading(300, "165F", Step.COOK), as_of=2000, kind="poultry")
    assert late["cooling-stage-1"].verdict is Verdict.NOT_SHOWN
    undone = (reading(100, "150F", Step.COOK), reading(120, "148F", Step.COOL))
    cool = judged(*begun, *undone, as_of=2000, kind="poultry")
    assert cool["cooling-stage-1"].verdict is Verdict.NOT_SHOWN
    # food that was cooked through is reheated, and to what a reheat asks
    again = (
        *begun,
        reading(100, "165F", Step.COOK),
        reading(130, "134F", Step.COOL),
        reading(200, "165F", Step.COOK),
    )
    found = judge_batch(Batch(readings=again), LIMITS, minute(2000))
    stages = [one.verdict for one in found if one.limit.name == "cooling-stage-1"]
    assert stages == [Verdict.STOPPED, Verdict.NOT_SHOWN]


# ---- time as a control: 3-501.19


@pytest.mark.parametrize(
    ("temp", "method", "limit"),
    [
        ("140F", "", "time-control-hot"), ("135F", "", "time-control-hot"), ("120F", "", "time-control-hot"),
        ("40F", "", "time-control-cold"), ("50F", "", "time-control-cold"), ("4C", "", "time-control-cold"),
        ("60C", "", "time-control-hot"), ("40F", "6 h", "time-control-6h"), ("68F", "opened", "time-control-opened"),
    ],
)  # fmt: skip
def test_the_case_of_time_control_is_picked_by_method_and_temperature(
    temp: str, method: str, limit: str
) -> None:
    found = judged(reading(0, temp, Step.TIME_CONTROL, method=method), as_of=1)
    assert list(found) == [limit]


def test_time_control_ends_an_open_cooling_and_is_not_judged_as_held() -> None:
    found = judged(
        reading(0, "140F", Step.HOT_HOLD),
        reading(10, "139F", Step.TIME_CONTROL),
        reading(100, "101F", Step.TIME_CONTROL),
        ended=minute(200),
    )
    assert {name: one.verdict for name, one in found.items()} == {
        "hot-holding": Verdict.MET,
        "time-control-hot": Verdict.MET,
    }


def test_food_under_time_control_does_not_go_back() -> None:
    """From memory, the stricter reading."""
    found = judged(
        reading(0, "140F", Step.TIME_CONTROL), reading(60, "150F", Step.HOT_HOLD), as_of=61
    )
    assert found["time-control-hot"].verdict is Verdict.NOT_MET


def test_a_set_without_a_limit_says_what_to_do() -> None:
    """Nothing here is a KeyError to a cook."""
    from haccp.errors import Refused

    with pytest.raises(Refused, match="no limit"):
        LIMITS.get("receiving-lukewarm")
    assert Decimal(41) == LIMITS.get("receiving-cold").level.f


def test_a_roast_whose_oven_broke_the_table_is_not_held_at_130() -> None:
    """3-501.16(A)(1) allows 130 °F to roasts cooked by 3-401.11(B), whose oven is a part of it."""
    held = reading(200, "131F", Step.HOT_HOLD)
    for chamber, oven, verdict in (
        ("230F", "still dry, 10 lb or more", Verdict.NOT_MET),
        ("250F", "still dry, 10 lb or more", Verdict.MET),
        ("230F", "high humidity", Verdict.MET),
    ):
        cook = reading(0, "158F", Step.COOK, chamber=parse_temperature(chamber))
        found = judged(cook, held, kind="whole roast", oven=oven)
        assert found["hot-holding"].verdict is verdict, (chamber, oven)
    unread = judged(reading(0, "158F", Step.COOK), held, kind="whole roast", oven="high humidity")
    assert unread["hot-holding"].verdict is Verdict.NOT_MET


def test_a_roast_whose_oven_broke_the_table_is_not_reheated_by_it() -> None:
    cook = reading(0, "158F", Step.COOK, chamber=parse_temperature("230F"))
    batch = Batch(readings=(cook, *BACK), kind="whole roast", oven="still dry, 10 lb or more")
    found = judge_batch(batch, LIMITS, None)
    assert [f.verdict for f in found if f.limit.name == "reheat"] == [Verdict.NOT_MET]
    # nor is it where nobody read the oven that it was reheated in: 3-403.11(E)
    ovens = [f for f in found if f.limit.name == "oven" and f.step is Step.REHEAT]
    assert [f.verdict for f in ovens] == [Verdict.NOT_SHOWN]
