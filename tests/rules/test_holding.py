"""Holding, 3-501.16: each reading stands for itself. All readings here are invented."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from haccp import limits
from haccp.errors import Refused
from haccp.limits.limit import guarded
from haccp.rules.account.holding import judge_holding
from haccp.rules.account.readings_alone import judge_batch
from haccp.rules.evidence import Batch, Finding, Reading, Reason, Step, Verdict
from haccp.temperature import Degree, Temperature

ZERO = datetime(2026, 1, 5, tzinfo=UTC)
LIMITS = limits.shipped()
HOT, COLD = LIMITS.get("hot-holding"), LIMITS.get("cold-holding")
FAILED_CHECK = ZERO + timedelta(minutes=5)


def at(minute: float) -> datetime:
    return ZERO + timedelta(minutes=minute)


def reading(
    minute: float, temp: str, step: Step = Step.HOT_HOLD, *, doubted: bool = False
) -> Reading:
    return Reading(
        at=at(minute),
        temperature=Temperature(Decimal(temp), Degree.F),
        step=step,
        doubted_since=FAILED_CHECK if doubted else None,
    )


def hot(*pairs: tuple[float, str]) -> list[Reading]:
    return [reading(minute, temp) for minute, temp in pairs]


def minutes(duration: timedelta | None) -> float | None:
    return None if duration is None else duration / timedelta(minutes=1)


def lengths(findings: Sequence[Finding]) -> list[tuple[float | None, float | None]]:
    return [(minutes(found.shortest), minutes(found.longest)) for found in findings]


def test_readings_within_limits_are_one_finding_that_is_met() -> None:
    readings = hot((0, "135"), (60, "150"), (120, "140"))
    (found,) = judge_holding(Step.HOT_HOLD, readings, HOT)
    assert found.verdict is Verdict.MET
    assert found.readings == tuple(readings)


def test_one_bad_reading_among_many_good_ones_is_a_deviation() -> None:
    found = judge_holding(Step.HOT_HOLD, hot((0, "140"), (60, "134"), (120, "140")), HOT)
    assert [one.verdict for one in found] == [Verdict.NOT_MET]


def test_a_deviation_lasts_at_least_between_bad_readings_and_at_most_between_good_ones() -> None:
    readings = hot((0, "140"), (10, "138"), (30, "130"), (50, "125"), (80, "134"), (95, "136"))
    found = judge_holding(Step.HOT_HOLD, readings, HOT)
    assert lengths(found) == [(50, 85)]
    assert found[0].since == at(30)
    assert [one.at for one in found[0].readings] == [at(30), at(50), at(80)]


def test_a_single_bad_reading_may_have_lasted_no_time_at_all() -> None:
    found = judge_holding(Step.HOT_HOLD, hot((0, "140"), (60, "130"), (90, "140")), HOT)
    assert lengths(found) == [(0, 90)]


@pytest.mark.parametrize(
    "readings",
    [
        hot((0, "130"), (60, "140")),
        hot((0, "140"), (60, "130")),
        hot((0, "130"), (60, "130")),
    ],
)
def test_a_deviation_open_at_an_end_has_no_longest(readings: list[Reading]) -> None:
    (found,) = judge_holding(Step.HOT_HOLD, readings, HOT)
    assert found.longest is None


def test_two_runs_out_of_limits_are_two_deviations() -> None:
    readings = hot((0, "140"), (30, "130"), (60, "140"), (90, "131"), (100, "132"), (120, "140"))
    assert lengths(judge_holding(Step.HOT_HOLD, readings, HOT)) == [(0, 60), (10, 60)]


def test_a_good_reading_of_the_step_before_bounds_a_deviation() -> None:
    batch = Batch(
        readings=(reading(0, "165", Step.COOK), reading(30, "130"), reading(50, "140")),
        kind="poultry",
    )
    found = [f for f in judge_batch(batch, LIMITS, None) if f.step is Step.HOT_HOLD]
    assert lengths(found) == [(0, 50)]


def test_a_doubted_reading_neither_keeps_nor_breaks_the_limit() -> None:
    readings = [reading(0, "140"), reading(30, "120", doubted=True), reading(60, "141")]
    (found,) = judge_holding(Step.HOT_HOLD, readings, HOT)
    assert found.verdict is Verdict.NOT_SHOWN
    assert found.reason is Reason.THERMOMETER_IN_DOUBT
    assert found.since == FAILED_CHECK
    (found,) = judge_holding(Step.HOT_HOLD, [reading(30, "150", doubted=True)], HOT)
    assert found.verdict is Verdict.NOT_SHOWN


def test_a_doubted_good_reading_does_not_bound_a_deviation() -> None:
    readings = [reading(0, "140", doubted=True), reading(30, "120"), reading(60, "141")]
    found = judge_holding(Step.HOT_HOLD, readings, HOT)
    (bad,) = [one for one in found if one.verdict is Verdict.NOT_MET]
    assert bad.longest is None


def test_a_guard_band_moves_the_limit_inward_and_never_outward() -> None:
    band = guarded(LIMITS, Temperature(Decimal(2), Degree.F))
    hot_limit, cold_limit = band.get("hot-holding"), band.get("cold-holding")
    for temp, step, limit, verdict in [
        ("137", Step.HOT_HOLD, hot_limit, Verdict.MET),
        ("136.9", Step.HOT_HOLD, hot_limit, Verdict.NOT_MET),
        ("39", Step.COLD_HOLD, cold_limit, Verdict.MET),
        ("39.1", Step.COLD_HOLD, cold_limit, Verdict.NOT_MET),
    ]:
        (found,) = judge_holding(step, [reading(0, temp, step)], limit)
        assert found.verdict is verdict, temp


def test_a_guard_band_in_fahrenheit_is_no_smaller_in_celsius() -> None:
    band = guarded(LIMITS, Temperature(Decimal(1), Degree.F))
    # 1 °F is 0.555… °C, rounded up to 0.6 °C
    assert band.get("hot-holding").level.c == Decimal("57.6")
    assert band.get("cold-holding").level.c == Decimal("4.4")
    band = guarded(LIMITS, Temperature(Decimal(1), Degree.C))
    assert band.get("hot-holding").level.f == Decimal("136.8")
    assert band.guard == Temperature(Decimal(1), Degree.C)


def test_a_guard_band_on_food_does_not_ask_more_of_a_thermometer() -> None:
    """±2 °F is what 4-203.11 asks of the instrument; 1 °F in ice is no failed check."""
    band = guarded(LIMITS, Temperature(Decimal(2), Degree.F))
    assert band.get("thermometer-accuracy") == LIMITS.get("thermometer-accuracy")


@pytest.mark.parametrize("size", ["0", "-1", "10.1"])
def test_a_guard_band_that_would_loosen_or_swamp_the_limit_is_refused(size: str) -> None:
    with pytest.raises(Refused):
        guarded(LIMITS, Temperature(Decimal(size), Degree.F))


def gaps(*at_minutes: float, until: float | None = None, longest: float = 75) -> list[Finding]:
    readings = tuple(reading(minute, "140") for minute in at_minutes)
    batch = Batch(readings=readings, longest_gap=timedelta(minutes=longest))
    found = judge_batch(batch, LIMITS, None if until is None else at(until))
    return [one for one in found if one.reason is Reason.MISSED_CHECK]


def test_a_gap_longer_than_the_interval_is_a_missed_check() -> None:
    (missed,) = gaps(0, 60, 136, 200)
    assert missed.verdict is Verdict.NOT_SHOWN
    assert missed.reason is Reason.MISSED_CHECK
    assert (missed.due, missed.longest) == (at(135), timedelta(minutes=76))


def test_a_gap_of_exactly_the_interval_and_its_grace_is_none() -> None:
    assert gaps(0, 75, 150, until=225) == []


def test_a_check_is_missed_while_the_food_is_still_held() -> None:
    assert gaps(0, 60, until=135) == []
    (missed,) = gaps(0, 60, until=136)
    assert missed.due == at(135)
    assert gaps(0, 60) == []


def test_a_missed_check_leaves_the_readings_beside_it_met() -> None:
    batch = Batch(readings=tuple(hot((0, "140"), (200, "140"))), longest_gap=timedelta(minutes=75))
    found = judge_batch(batch, LIMITS, at(200))
    assert sorted(one.verdict for one in found) == [Verdict.MET, Verdict.NOT_SHOWN]


def test_no_check_is_missed_once_the_food_has_gone() -> None:
    readings = tuple(hot((0, "140"), (60, "140")))
    batch = Batch(readings=readings, longest_gap=timedelta(minutes=75), ended=at(120))
    assert [f.verdict for f in judge_batch(batch, LIMITS, at(600))] == [Verdict.MET]
    still_there = Batch(readings=readings, longest_gap=timedelta(minutes=75))
    assert [f.verdict for f in judge_batch(still_there, LIMITS, at(600))] == [
        Verdict.MET,
        Verdict.NOT_SHOWN,
    ]


def test_no_check_is_missed_where_the_kitchen_has_set_no_interval() -> None:
    batch = Batch(readings=tuple(hot((0, "140"), (600, "140"))))
    assert [f.verdict for f in judge_batch(batch, LIMITS, at(900))] == [Verdict.MET]


def test_hot_holding_ends_for_missed_checks_when_the_cooling_begins() -> None:
    readings = (*hot((0, "140"), (60, "140")), reading(130, "138", Step.COOL))
    batch = Batch(readings=readings, longest_gap=timedelta(minutes=75))
    held = [f for f in judge_batch(batch, LIMITS, at(900)) if f.step is Step.HOT_HOLD]
    assert [f.verdict for f in held] == [Verdict.MET]
    late = Batch(
        readings=(*readings[:2], reading(140, "138", Step.COOL)), longest_gap=timedelta(minutes=75)
    )
    held = [f for f in judge_batch(late, LIMITS, at(900)) if f.step is Step.HOT_HOLD]
    assert [f.reason for f in held] == [Reason.IN_LIMITS, Reason.MISSED_CHECK]


def test_readings_of_one_moment_give_the_same_deviations_in_any_order() -> None:
    """Two probes in one well at 10, one of them cool; the well is cool again at 20."""
    readings = hot((0, "140"), (10, "130"), (10, "140"), (20, "130"), (30, "140"))
    swapped = [readings[0], readings[2], readings[1], *readings[3:]]
    found = judge_batch(Batch(readings=tuple(readings)), LIMITS, None)
    other = judge_batch(Batch(readings=tuple(swapped)), LIMITS, None)
    assert lengths(found) == lengths(other)
