"""A batch through its steps: where a cooling begins and ends, and what is judged as what.

All readings here are invented.
"""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from haccp import limits
from haccp.limits.limit import guarded
from haccp.rules.account.readings_alone import judge_batch
from haccp.rules.evidence import Batch, Finding, Reading, Reason, Step, Verdict, overall
from haccp.temperature import Degree, Temperature
from tests.local_codes import AUSTRALIA, MARYLAND

ZERO = datetime(2026, 1, 5, tzinfo=UTC)
LIMITS = limits.shipped()


def at(minute: float) -> datetime:
    return ZERO + timedelta(minutes=minute)


def one(
    step: Step,
    minute: float,
    temp: str,
    held: float = 0,
    *,
    unit: Degree = Degree.F,
    doubted: bool = False,
) -> Reading:
    return Reading(
        at=at(minute),
        temperature=Temperature(Decimal(temp), unit),
        step=step,
        held=timedelta(seconds=held),
        doubted_since=at(2000) if doubted else None,
    )


def cool(*pairs: tuple[float, str], unit: Degree = Degree.F) -> tuple[Reading, ...]:
    return tuple(one(Step.COOL, minute, temp, unit=unit) for minute, temp in pairs)


def judge(
    *readings: Reading,
    as_of: float | None = None,
    ended: float | None = None,
    prepared: float | None = None,
    limit_set: limits.LimitSet = LIMITS,
) -> tuple[Finding, ...]:
    batch = Batch(
        readings=readings,
        ended=None if ended is None else at(ended),
        prepared=None if prepared is None else at(prepared),
    )
    return judge_batch(batch, limit_set, None if as_of is None else at(as_of))


def verdicts(findings: Sequence[Finding], step: Step | None = None) -> list[tuple[str, str]]:
    return [(f.limit.name, f.verdict.value) for f in findings if step in (None, f.step)]


BOTH_MET = [("cooling-stage-1", "met"), ("cooling-stage-2", "met")]


# What is open, and until when


def test_a_cooling_is_open_until_its_deadline_and_at_it() -> None:
    stage_1, stage_2 = judge(*cool((0, "135"), (60, "100")), as_of=120)
    assert (stage_1.verdict, stage_1.due) == (Verdict.OPEN, at(120))
    assert (stage_2.verdict, stage_2.due) == (Verdict.OPEN, at(360))
    stage_1, _ = judge(*cool((0, "135"), (60, "100")), as_of=121)
    assert stage_1.verdict is Verdict.NOT_SHOWN
    assert stage_1.reason is Reason.NOT_REACHED_ON_RECORD


def test_the_safe_deadline_counts_from_the_last_hot_reading_not_the_first_cool_one() -> None:
    stage_1, _ = judge(*cool((0, "150"), (60, "120")), as_of=100)
    assert stage_1.due == at(120)


def test_readings_that_had_not_been_taken_yet_do_not_count() -> None:
    readings = cool((0, "135"), (60, "100"), (125, "72"))
    assert judge(*readings, as_of=124)[0].verdict is Verdict.NOT_SHOWN
    assert judge(*readings, as_of=120)[0].verdict is Verdict.OPEN
    assert judge(*readings, as_of=125)[0].verdict is Verdict.NOT_MET


def test_nothing_is_open_after_everything() -> None:
    assert [f.verdict for f in judge(*cool((0, "135")))] == [Verdict.NOT_SHOWN] * 2


def test_food_still_hot_is_judged_from_its_last_hot_reading() -> None:
    stage_1, _ = judge(*cool((0, "180"), (100, "150")), as_of=200)
    assert (stage_1.verdict, stage_1.due) == (Verdict.OPEN, at(220))


def test_a_batch_without_readings_has_no_findings_and_is_open() -> None:
    assert judge() == ()
    assert overall(()) is Verdict.OPEN


# Where a cooling starts


def test_the_last_hot_reading_of_an_earlier_step_starts_the_clock() -> None:
    hot = one(Step.HOT_HOLD, 0, "140")
    stage_1, _ = judge(hot, *cool((30, "120"), (120, "70")))[1:]
    assert stage_1.verdict is Verdict.MET
    assert stage_1.longest == timedelta(minutes=120)
    stage_1, _ = judge(hot, *cool((30, "120"), (121, "70")))[1:]
    assert stage_1.verdict is Verdict.NOT_SHOWN


def test_a_hot_reading_of_the_cooling_itself_counts_before_one_of_an_earlier_step() -> None:
    hot = one(Step.COOK, 0, "190")
    stage_1, _ = judge(hot, *cool((60, "140"), (90, "120"), (180, "70")))[1:]
    assert stage_1.longest == timedelta(minutes=120)


@pytest.mark.parametrize("step", [Step.COOK, Step.HOT_HOLD])
def test_what_was_read_before_and_not_hot_does_not_disprove_a_cooling(step: Step) -> None:
    """It may have been heated since: 71 °F 70 min after 130 °F may be 71 min after 135 °F."""
    found = judge(one(step, 0, "60"), *cool((60, "130"), (130, "71"), (140, "69")))
    stage_1 = next(f for f in found if f.limit.name == "cooling-stage-1")
    assert (stage_1.verdict, stage_1.reason) == (Verdict.NOT_SHOWN, Reason.NO_START)
    assert stage_1.shortest == timedelta(minutes=70)
    assert stage_1.rewarmed == ()


def test_food_that_is_hot_is_not_reheated_but_held_hot() -> None:
    found = judge(*cool((0, "140")), one(Step.REHEAT, 10, "150"))
    assert verdicts(found) == [("hot-holding", "met")]


def test_a_hot_hold_below_the_start_does_not_restart_the_clock() -> None:
    held = (one(Step.HOT_HOLD, 0, "140"), one(Step.HOT_HOLD, 60, "130"))
    cooling = [
        f for f in judge(*held, *cool((70, "125"), (181, "71"), (185, "70"))) if f.step is Step.COOL
    ]
    # in [0, 60) it passed 135 °F; 181 − 60 = 121 min
    assert cooling[0].verdict is Verdict.NOT_MET


def test_an_earlier_hot_reading_of_a_doubted_thermometer_starts_nothing() -> None:
    hot = one(Step.HOT_HOLD, 0, "140", doubted=True)
    cooling = verdicts(judge(hot, *cool((30, "120"), (100, "69"), (300, "41"))), Step.COOL)
    assert cooling == [("cooling-stage-1", "not shown"), ("cooling-stage-2", "not shown")]


# Where a cooling ends


def test_readings_after_the_cooling_was_complete_are_held_cold() -> None:
    done = cool((0, "135"), (60, "70"), (300, "41"))
    assert verdicts(judge(*done, *cool((400, "40")))) == [*BOTH_MET, ("cold-holding", "met")]
    found = judge(*done, *cool((400, "45"), (460, "47"), (500, "40")))
    assert verdicts(found) == [*BOTH_MET, ("cold-holding", "not met")]
    # last good at 300, first good after at 500
    assert (found[-1].shortest, found[-1].longest) == (
        timedelta(minutes=60),
        timedelta(minutes=200),
    )


def test_a_complete_cooling_stays_met_however_warm_the_food_gets_later() -> None:
    done = cool((0, "135"), (60, "70"), (300, "41"))
    assert verdicts(judge(*done, *cool((400, "80"))))[:2] == BOTH_MET


def test_calling_the_food_cold_held_does_not_complete_a_cooling() -> None:
    found = judge(
        *cool((0, "135"), (60, "70")),
        one(Step.COLD_HOLD, 200, "50"),
        one(Step.COLD_HOLD, 370, "42"),
    )
    assert verdicts(found, Step.COOL) == [
        ("cooling-stage-1", "met"),
        ("cooling-stage-2", "not met"),
    ]
    # 3-501.16(A) exempts food that is being cooled: these readings are the cooling's
    assert verdicts(found, Step.COLD_HOLD) == []


def test_a_cooling_completed_in_the_walk_in_is_met() -> None:
    found = judge(*cool((0, "135"), (60, "70")), one(Step.COLD_HOLD, 300, "41"))
    assert verdicts(found) == [*BOTH_MET, ("cold-holding", "met")]


@pytest.mark.parametrize("minute", [61, 120])
def test_food_discarded_in_time_is_stopped_and_no_deviation(minute: float) -> None:
    found = judge(*cool((0, "135"), (60, "100")), ended=minute)
    assert [f.verdict for f in found] == [Verdict.STOPPED] * 2
    assert overall(found) is Verdict.STOPPED


def test_discarding_food_does_not_undo_what_was_not_met_or_not_shown() -> None:
    found = judge(*cool((0, "135"), (121, "72")), ended=130)
    assert [f.verdict for f in found] == [Verdict.NOT_MET, Verdict.STOPPED]
    found = judge(*cool((0, "135"), (60, "100")), ended=121)
    assert [f.verdict for f in found] == [Verdict.NOT_SHOWN, Verdict.STOPPED]


def test_food_is_not_stopped_before_it_was_discarded() -> None:
    found = judge(*cool((0, "135"), (60, "100")), ended=100, as_of=99)
    assert [f.verdict for f in found] == [Verdict.OPEN] * 2


# Reheating


def reheated(minute: float, temp: str = "166") -> tuple[Reading, ...]:
    return one(Step.REHEAT, minute, "120"), one(Step.REHEAT, minute + 20, temp, 15)


def test_a_reheat_that_is_met_stops_one_cooling_and_starts_another() -> None:
    found = judge(
        *cool((0, "140"), (60, "118")),
        *reheated(75),
        *cool((100, "160"), (120, "134"), (190, "70"), (400, "41")),
    )
    assert [f.verdict for f in found] == ["stopped", "stopped", "met", "met", "met"]
    assert found[3].start is not None
    assert found[3].start.earliest == at(100)


def test_a_reheat_does_not_make_a_failed_cooling_good() -> None:
    found = judge(
        *cool((0, "140"), (60, "130"), (185, "80")),
        *reheated(190),
        *cool((215, "135"), (300, "70"), (500, "41")),
    )
    assert verdicts(found, Step.COOL)[0] == ("cooling-stage-1", "not met")
    assert verdicts(found, Step.COOL)[2:] == BOTH_MET
    assert overall(found) is Verdict.NOT_MET


def test_a_reheat_that_is_not_met_leaves_one_cooling_with_one_clock() -> None:
    found = judge(
        *cool((0, "140"), (60, "118")),
        *reheated(75, "160"),
        *cool((100, "150"), (130, "100"), (190, "70"), (400, "41")),
    )
    assert verdicts(found) == [
        ("cooling-stage-1", "not shown"),
        ("cooling-stage-2", "not shown"),
        ("reheat", "not met"),
    ]
    stage_1 = found[0]
    # the warmest that was seen is in the cooling's evidence: 130 − 60 at least, 190 − 0 at most
    assert (stage_1.shortest, stage_1.longest) == (timedelta(minutes=70), timedelta(minutes=190))
    assert any(warm.temperature.value == 160 for _, warm in stage_1.rewarmed)


def test_while_a_reheat_is_under_way_the_cooling_is_stopped_for_the_time_being() -> None:
    rows = (*cool((0, "140"), (60, "118")), one(Step.REHEAT, 75, "120"))
    assert verdicts(judge(*rows, as_of=80)) == [
        ("cooling-stage-1", "stopped"),
        ("cooling-stage-2", "stopped"),
        ("reheat", "open"),
    ]
    # two hours later nothing shows that it was reheated: one cooling, and it took too long
    assert verdicts(judge(*rows, as_of=200)) == [
        ("cooling-stage-1", "not shown"),
        ("cooling-stage-2", "open"),
        ("reheat", "not shown"),
    ]


def test_a_reheat_proved_only_by_a_doubted_thermometer_starts_no_new_cooling() -> None:
    found = judge(
        *cool((0, "140"), (60, "118")),
        one(Step.REHEAT, 75, "120"),
        one(Step.REHEAT, 95, "166", 15, doubted=True),
        *cool((100, "134"), (190, "70"), (400, "41")),
    )
    assert len(verdicts(found, Step.COOL)) == 2
    assert all(f.verdict is not Verdict.MET for f in found)


# Food made at room temperature, 3-501.14(B): 4 h (Delaware Food Code 3-501.14, Minnesota 4626.0385)


@pytest.mark.parametrize(
    ("pairs", "verdict"),
    [
        ([(240.0, "41")], Verdict.MET),
        ([(241.0, "41")], Verdict.NOT_SHOWN),
        ([(240.0, "41.1")], Verdict.NOT_MET),
        ([(239.0, "41.1"), (240.0, "41")], Verdict.MET),
        ([(240.0, "41.1"), (241.0, "41")], Verdict.NOT_MET),
    ],
)
def test_food_made_at_room_temperature_has_four_hours_from_its_preparation(
    pairs: list[tuple[float, str]], verdict: Verdict
) -> None:
    (found,) = judge(*cool(*pairs), prepared=0)
    assert (found.limit.name, found.verdict) == ("cooling-ambient", verdict)


def test_once_heated_through_it_is_cooled_as_cooked_food() -> None:
    found = judge(
        *cool((60, "60")), *reheated(100), *cool((130, "135"), (240, "70"), (480, "41")), prepared=0
    )
    assert verdicts(found) == [("cooling-ambient", "stopped"), ("reheat", "met"), *BOTH_MET]


# Doubted thermometers


def test_a_cooling_completed_by_a_doubted_reading_is_not_shown() -> None:
    found = judge(*cool((0, "135"), (60, "70")), one(Step.COOL, 300, "41", doubted=True))
    assert [f.verdict for f in found] == [Verdict.MET, Verdict.NOT_SHOWN]
    assert found[1].reason is Reason.THERMOMETER_IN_DOUBT


def test_a_doubted_warm_reading_still_warns() -> None:
    """It proves nothing, but what it says must be decided about before the food is called safe."""
    found = judge(
        *cool((0, "135"), (60, "70")), one(Step.COOL, 119, "90", doubted=True), *cool((300, "41"))
    )
    assert found[0].verdict is Verdict.NOT_SHOWN


def test_trusted_readings_disprove_without_the_doubted_ones() -> None:
    found = judge(*cool((0, "135"), (121, "72")), one(Step.COOL, 125, "60", doubted=True))
    assert found[0].verdict is Verdict.NOT_MET


def test_a_cooling_read_only_by_a_doubted_thermometer_is_not_shown() -> None:
    rows = [one(Step.COOL, m, t, doubted=True) for m, t in ((0, "135"), (60, "70"), (300, "41"))]
    assert [f.verdict for f in judge(*rows)] == [Verdict.NOT_SHOWN] * 2
    rows = [one(Step.COOL, m, t, doubted=True) for m, t in ((0, "135"), (130, "80"))]
    assert [f.verdict for f in judge(*rows)] == [Verdict.NOT_SHOWN] * 2


# A guard band


def test_a_guard_band_moves_a_cooling_levels_down_and_leaves_its_start() -> None:
    band = guarded(LIMITS, Temperature(Decimal(1), Degree.F))
    start = band.get("cooling-stage-1").start
    assert start is not None
    assert start.f == 135
    found = judge(*cool((0, "135"), (120, "69"), (360, "40")), limit_set=band)
    assert verdicts(found) == BOTH_MET
    found = judge(*cool((0, "135"), (120, "69.1"), (360, "40.1")), limit_set=band)
    assert [f.verdict for f in found] == [Verdict.NOT_MET, Verdict.NOT_MET]


STRICTNESS = [Verdict.NOT_MET, Verdict.NOT_SHOWN, Verdict.MET]


@given(
    st.lists(
        st.tuples(
            st.sampled_from([1, 20, 60, 100, 119, 120, 121, 240]),
            st.sampled_from(
                ["140", "135", "100", "70.5", "70", "69", "60", "41.5", "41", "40", "36"]
            ),
        ),
        min_size=1,
        max_size=6,
    ),
    st.sampled_from(["0.1", "1", "2"]),
)
def test_a_guard_band_never_makes_falling_readings_judge_better(
    steps: list[tuple[int, str]], size: str
) -> None:
    minute, rows = 0, []
    temps = sorted((temp for _, temp in steps), key=Decimal, reverse=True)
    for (pause, _), temp in zip(steps, temps, strict=True):
        rows.append((float(minute), temp))
        minute += pause
    band = guarded(LIMITS, Temperature(Decimal(size), Degree.F))
    plain = [f for f in judge(*cool(*rows)) if f.step is Step.COOL]
    strict = [f for f in judge(*cool(*rows), limit_set=band) if f.step is Step.COOL]
    for loose, tight in zip(plain, strict, strict=True):
        assert STRICTNESS.index(tight.verdict) <= STRICTNESS.index(loose.verdict)


# Local codes that count the second stage from the end of the first


@pytest.fixture(name="maryland")
def _maryland() -> limits.LimitSet:
    return limits.load_overrides(LIMITS, MARYLAND, "maryland.toml")


@pytest.fixture(name="australia")
def _australia() -> limits.LimitSet:
    return limits.load_overrides(LIMITS, AUSTRALIA, "australia.toml")


def stage_2(limit_set: limits.LimitSet, *pairs: tuple[float, str]) -> Finding:
    (found,) = [
        f for f in judge(*cool(*pairs), limit_set=limit_set) if f.limit.name == "cooling-stage-2"
    ]
    return found


def test_maryland_counts_four_more_hours_from_70(maryland: limits.LimitSet) -> None:
    """COMAR 10.15.03.11: 135 °F to 70 °F in 2 h, then 41 °F in an additional 4 h."""
    slow_then_quick = ((0.0, "135"), (119.0, "71"), (120.0, "70"), (359.0, "41"))
    assert stage_2(maryland, *slow_then_quick).verdict is Verdict.MET
    assert stage_2(maryland, *slow_then_quick).longest == timedelta(minutes=240)
    # at 70 °F after an hour: five hours remain by the Food Code, four in Maryland
    quick_then_slow = ((0.0, "135"), (59.0, "71"), (60.0, "70"), (300.0, "42"), (320.0, "41"))
    assert stage_2(LIMITS, *quick_then_slow).verdict is Verdict.MET
    assert stage_2(maryland, *quick_then_slow).verdict is Verdict.NOT_MET
    # crossed 70 °F in (0, 60] and 41 °F in (60, 299]: between 0 and 299 min
    unseen = stage_2(maryland, (0, "135"), (60, "70"), (299, "41"))
    assert (unseen.verdict, unseen.shortest, unseen.longest) == (
        Verdict.NOT_SHOWN,
        timedelta(0),
        timedelta(minutes=299),
    )


def test_the_second_clock_runs_from_the_last_crossing_of_70(maryland: limits.LimitSet) -> None:
    rows = ((0.0, "135"), (30.0, "69"), (60.0, "75"), (90.0, "69"), (299.0, "42"), (300.0, "41"))
    found = stage_2(maryland, *rows)
    assert (found.verdict, found.longest) == (Verdict.MET, timedelta(minutes=240))


def test_before_70_was_seen_the_second_deadline_is_the_safe_one(maryland: limits.LimitSet) -> None:
    _, second = judge(*cool((0, "135"), (60, "90")), limit_set=maryland, as_of=100)
    assert (second.verdict, second.due) == (Verdict.OPEN, at(300))
    _, second = judge(*cool((0, "135"), (119, "71"), (120, "70")), limit_set=maryland, as_of=130)
    assert (second.verdict, second.due) == (Verdict.OPEN, at(359))


def test_an_unknown_start_leaves_the_second_stage_provable(maryland: limits.LimitSet) -> None:
    """Its own clock starts at 70 °F, which was seen."""
    found = judge(*cool((0, "100"), (10, "71"), (11, "70"), (200, "41")), limit_set=maryland)
    assert verdicts(found) == [("cooling-stage-1", "not shown"), ("cooling-stage-2", "met")]


def test_australia_counts_from_60_to_21_and_then_to_5(australia: limits.LimitSet) -> None:
    """Standard 3.2.2: 60 °C to 21 °C in 2 h, then to 5 °C in a further 4 h."""

    def in_celsius(*pairs: tuple[float, str]) -> list[tuple[str, str]]:
        return verdicts(judge(*cool(*pairs, unit=Degree.C), limit_set=australia))

    assert in_celsius((0, "60"), (119, "21.1"), (120, "21"), (359, "5")) == BOTH_MET
    assert in_celsius((0, "60"), (120, "21.1"), (121, "21"), (300, "5"))[0][1] == "not met"
    assert (
        in_celsius((0, "60"), (10, "21.1"), (20, "21"), (260, "5.1"), (261, "5"))[1][1] == "not met"
    )
    # 57 °C starts the clock of the Food Code, not this one
    assert in_celsius((0, "57"), (60, "21"), (200, "5"))[0][1] == "not shown"
    assert verdicts(judge(*cool((0, "57"), (60, "21"), (200, "5"), unit=Degree.C))) == BOTH_MET


# What does not matter


rows_of_any_step = st.lists(
    st.builds(
        one,
        st.sampled_from(list(Step)),
        st.sampled_from([0.0, 10.0, 10.0, 60.0, 119.0, 120.0, 121.0, 200.0, 360.0]),
        st.sampled_from(["36", "41", "42", "70", "71", "120", "134", "135", "140", "160", "165"]),
        st.sampled_from([0.0, 15.0]),
    ),
    max_size=8,
)


@given(rows_of_any_step, st.randoms(use_true_random=False))
def test_a_batch_is_judged_alike_in_whatever_order_it_was_entered(
    rows: list[Reading], shuffler: object
) -> None:
    shuffled = list(rows)
    shuffler.shuffle(shuffled)  # type: ignore[attr-defined]

    def seen(findings: Sequence[Finding]) -> list[tuple[object, ...]]:
        return [(f.step, f.limit.name, f.verdict, f.shortest, f.longest, f.due) for f in findings]

    assert seen(judge(*rows)) == seen(judge(*shuffled))


def has_no_limit(readings: Sequence[Reading]) -> bool:
    """Whether nothing is asked of food yet: it is being prepared, and cold at its first look after
    that; or it went back on the heat before it fell. It is open until it is held, cooled or gone.
    """
    cold, hot = (LIMITS.get(name).kept_by for name in ("cold-holding", "hot-holding"))
    others = [one for one in readings if one.step is not Step.PREPARE]
    heated = any(one.step is Step.COOK for one in readings)
    is_back = heated and all(hot(one.temperature) for one in readings)
    begun = len(others) < len(readings) and all(cold(one.temperature) for one in others)
    return not others or begun or is_back


def test_a_reheat_that_was_over_before_it_began_is_not_called_met() -> None:
    found = judge(
        one(Step.COOK, 0.0, "36"), one(Step.REHEAT, 0.0, "165", 15.0), one(Step.RECEIVE, 10.0, "36")
    )
    assert verdicts(found, Step.REHEAT) == [("reheat", "not shown")]


@given(rows_of_any_step, st.integers(0, 400))
@example([one(Step.COOK, 10.0, "135"), one(Step.COOL, 0.0, "135")], 0)
def test_every_batch_is_judged_and_each_finding_can_be_told(
    rows: list[Reading], minute: int
) -> None:
    for as_of in (None, float(minute)):
        found = judge(*rows, as_of=as_of)
        taken = [r for r in rows if as_of is None or r.at <= at(as_of)]
        assert bool(taken) or not found
        assert bool(found) or has_no_limit(taken)
        for finding in found:
            assert finding.readings
            if as_of is None:
                assert finding.verdict is not Verdict.OPEN
            if finding.shortest is not None and finding.longest is not None:
                assert timedelta(0) <= finding.shortest <= finding.longest
