"""What nobody watched or named proves nothing. All readings here are invented."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from haccp import limits
from haccp.rules.account.readings_alone import judge_batch
from haccp.rules.evidence import Batch, Finding, Reading, Reason, Step, Verdict, overall
from haccp.temperature import parse_temperature

ZERO = datetime(2026, 1, 5, tzinfo=UTC)
LIMITS = limits.shipped()
COOLED = "cook 0 180; cool 30 136; cool 120 69; cool 300 41"


def at(minute: float) -> datetime:
    return ZERO + timedelta(minutes=minute)


def readings(rows: str, doubted: frozenset[int] = frozenset()) -> tuple[Reading, ...]:
    """Read ``cook 0 180; reheat 90 166 15``: step, minute, temperature, seconds held."""
    found = []
    for i, row in enumerate(rows.split(";")):
        step, minute, temp, *held = row.split()
        found.append(
            Reading(
                at=at(float(minute)),
                temperature=parse_temperature(temp if temp[-1] in "FC" else f"{temp}F"),
                step=Step(step),
                held=timedelta(seconds=int(held[0]) if held else 0),
                method="initial" if held == ["0"] else "",
                doubted_since=at(2000) if i in doubted else None,
                ref=str(i),
            )
        )
    return tuple(found)


def judged(rows: str, as_of: float | None = None, **more: object) -> tuple[Finding, ...]:
    batch = Batch(readings=readings(rows), **more)  # type: ignore[arg-type]
    return judge_batch(batch, LIMITS, None if as_of is None else at(as_of))


@pytest.mark.parametrize(
    "rows",
    [
        "cook 0 180; reheat 900 45; reheat 960 166 15; hot_hold 1000 140",
        "cook 0 180; prepare 600 60",
        "cook 0 180; cook 600 60; cook 660 180",
        "hot_hold 0 140; time_control 600 40",
        "prepare 0 150; cold_hold 600 40",
        "cook 0 100 0; prepare 50 90; cook 330 60; cook 390 166",
        "cook 0 180; cool 30 135; cool 100 70; cool 290 41; prepare 300 150; cold_hold 1000 40",
        "cook 0 199; cook 60 120; cook 120 115; cook 300 115; cook 420 115; hot_hold 430 140",
        "cook 0 199; cook 60 100; cook 400 101; cook 420 180",
        "cook 0 180; prepare 30 120; cook 60 100; cook 600 60; cook 640 180; hot_hold 650 150",
        "hot_hold 0 140; reheat 30 110; reheat 60 166 15; reheat 600 60; reheat 660 166 15",
    ],
    ids=lambda rows: rows[:30],
)
def test_hot_food_that_is_next_read_cool_was_cooled_whatever_the_step(rows: str) -> None:
    """3-501.14(A): nothing shows 70 °F in two hours and 41 °F in six."""
    found = [one for one in judged(rows) if one.limit.name.startswith("cooling-")]
    assert overall(found).is_deviation


@pytest.mark.parametrize(
    "rows",
    [
        "cook 0 190; cook 10 120; cook 50 185; hot_hold 60 150",  # cold beans went into the pot
        "cool 0 140; hot_hold 30 138",  # it never left the heat
        "cook 0 100 0; cook 40 110; cook 100 130; cook 200 166",  # seared, then braised at once
        "cook 0 180; cool 30 136; cool 120 69; cool 300 41; cook 1700 40; cook 1800 180 15",
        "cook 0 180; prepare 30 136; hot_hold 60 140",  # portioned for the well
        "cook 0 180; cook 60 100; hot_hold 90 140",  # stirred into, and hot before stage 1 was due
        "hot_hold 0 150; prepare 30 100; hot_hold 110 150",
        "hot_hold 0 150; prepare 30 75; hot_hold 110 150",
        "hot_hold 0 140; reheat 60 110; reheat 100 166 15; hot_hold 130 150",
        "cook 0 180; cool 30 135; cool 100 70; cool 290 41; prepare 300 50; cold_hold 330 40",
    ],
)
def test_food_that_is_hot_or_heated_again_in_time_is_no_deviation(rows: str) -> None:
    assert overall(judged(rows, longest_gap=timedelta(hours=5))) is Verdict.MET


def test_a_pot_into_which_cold_food_went_is_no_running_cooling() -> None:
    assert overall(judged("cook 0 190; cook 10 120", as_of=30)) is Verdict.MET
    late = judged("cook 0 190; cook 10 120", as_of=200)
    assert overall(late) is Verdict.NOT_SHOWN, "it was never read hot again"


def test_cooled_food_is_not_held_hot_without_a_reheat_on_record() -> None:
    """3-403.11(A)."""
    cooled = "cook 0 180; cool 30 135; cool 140 70; cool 330 41; cold_hold 600 40"
    (found,) = [f for f in judged(f"{cooled}; hot_hold 1000 140") if f.step is Step.REHEAT]
    assert found.verdict is Verdict.NOT_SHOWN
    reheated = judged(f"{cooled}; reheat 960 41; reheat 1000 166 15; hot_hold 1010 150")
    assert overall(reheated) is Verdict.MET
    half = judged("cool 0 140; cool 60 100; hot_hold 90 140")
    assert [f.verdict for f in half if f.step is Step.REHEAT] == [Verdict.NOT_SHOWN]
    assert not [f for f in judged("cool 0 140; hot_hold 10 138") if f.step is Step.REHEAT]


@pytest.mark.parametrize(
    ("rows", "verdict"),
    [
        ("cold_hold 0 40; reheat 240 134.9; reheat 250 166 15", Verdict.NOT_SHOWN),
        ("cold_hold 0 45; reheat 160 140; reheat 165 166 15", Verdict.NOT_SHOWN),
        ("cold_hold 0 40; reheat 60 134.9; reheat 70 166 15", Verdict.MET),
        ("cold_hold 0 40; reheat 540 55; reheat 600 166 15", Verdict.NOT_SHOWN),
        ("cold_hold 0 40; reheat 540 41; reheat 600 166 15", Verdict.MET),
        (f"{COOLED}; cook 1700 50; cook 1800 180 15", Verdict.NOT_SHOWN),
        (f"{COOLED}; cook 1700 41; cook 1821 180 15", Verdict.NOT_SHOWN),
        ("cool 0 118; reheat 15 150; reheat 35 166 15", Verdict.MET),
        ("cold_hold 0 38; prepare 700 100; reheat 701 134; reheat 790 168 15", Verdict.NOT_SHOWN),
    ],
)
def test_a_reheat_counts_from_the_last_reading_at_or_below_41(rows: str, verdict: Verdict) -> None:
    """3-403.11(D): "the time the food is between 41 °F and" 165 °F; a `cook` of cooled food too."""
    (found,) = [one for one in judged(rows) if one.step is Step.REHEAT]
    assert found.verdict is verdict


def test_what_was_held_hot_without_a_reheat_and_fell_may_still_be_reheated() -> None:
    """3-403.11(A): the reheat is met, the hot holding before it was of food that nobody reheated."""
    found = judged("cold_hold 0 38; hot_hold 700 150; reheat 760 120; reheat 800 168 15")
    reheats = [(f.reason, f.verdict) for f in found if f.step is Step.REHEAT]
    assert reheats == [(Reason.NOT_HEATED, Verdict.NOT_SHOWN), (Reason.REACHED, Verdict.MET)]


def test_food_made_at_room_temperature_has_four_hours_whatever_its_readings_are_called() -> None:
    """3-501.14(B)."""
    late = judged("prepare 10 75; cold_hold 600 40", prepared=at(0))
    assert [f.verdict for f in late if f.limit.name == "cooling-ambient"] == [Verdict.NOT_SHOWN]
    (running,) = judged("prepare 10 75", as_of=20, prepared=at(0))
    assert (running.verdict, running.due) == (Verdict.OPEN, at(240))
    assert overall(judged("prepare 10 75; cold_hold 200 40", prepared=at(0))) is Verdict.MET
    # a batter that is cooked is no food that is cooled
    cooked = judged("prepare 10 75; cook 60 180", prepared=at(0))
    assert [f.limit.name for f in cooked] == ["cook"]


def test_a_delivery_that_by_law_came_warm_is_held_cold_once_it_is_cold() -> None:
    found = judged("receive 0 45; cool 60 43; cool 120 40; cool 200 55", by_law=True)
    assert [f.verdict for f in found if f.limit.name == "cold-holding"] == [Verdict.NOT_MET]


def test_a_ceiling_is_broken_by_whatever_reading_shows_it() -> None:
    """3-501.19(C): 70 °F while time is the control."""
    rows = readings("time_control 0 40; prepare 120 85; time_control 330 69")
    first = Reading(at=rows[0].at, temperature=rows[0].temperature, step=rows[0].step, method="6 h")
    batch = Batch(readings=(first, *rows[1:]), ended=at(330))
    found = [f for f in judge_batch(batch, LIMITS, None) if f.step is Step.TIME_CONTROL]
    assert [(f.verdict, f.reason) for f in found] == [(Verdict.NOT_MET, Reason.TOO_WARM_IN_TIME)]


def test_two_readings_of_one_moment_in_two_degrees_count_by_the_cooler() -> None:
    """134.9 °F is below 135 °F; 57 °C beside it is not below 57 °C."""
    plant = judged("cook 0 134.9F; cook 0 57C", kind="plant food")
    assert plant[0].verdict is not Verdict.MET
    held = readings("cook 0 154.9F 17; cook 0 68C 17")
    found = judge_batch(Batch(readings=held, kind="ground meat"), LIMITS, None)
    assert found[0].verdict is not Verdict.MET


def test_raw_eggs_are_judged_by_their_air_until_they_are_heated_and_not_after() -> None:
    """3-501.16(B), and 3-401.14(C) after an initial heating."""
    cooked = judged("receive 0 44; cold_hold 60 44; cook 120 166", received_as="egg")
    assert overall(cooked) is Verdict.MET, "the 44 °F before the cook stays met"
    seared = "cook 0 60 0; cook 30 120 0; cool 40 110; cool 100 70; cold_hold 300"
    warm = judged(f"{seared} 44", received_as="egg")
    assert [(f.limit.name, f.verdict) for f in warm if f.verdict.is_deviation] == [
        ("cooling-stage-2", Verdict.NOT_SHOWN)  # its cooling goes on, to 41 °F
    ]
    later = judged(f"{seared} 41; cold_hold 400 44", received_as="egg")
    held = [f for f in later if f.step is Step.COLD_HOLD]
    assert [(f.limit.name, f.verdict) for f in held] == [("cold-holding", Verdict.NOT_MET)]


@pytest.mark.parametrize("verdict_of_all", [Verdict.OPEN, Verdict.NOT_SHOWN])
def test_doubt_gives_no_more_time_and_takes_no_deviation_away(verdict_of_all: Verdict) -> None:
    """A thermometer that failed its check proves nothing, and warns all the same."""
    rows, doubted = "cook 0 166; cool 10 140; cool 90 90; cool 100 80", frozenset({1, 3})
    as_of = at(115 if verdict_of_all is Verdict.OPEN else 140)
    trusting = judge_batch(Batch(readings=readings(rows)), LIMITS, as_of)
    doubting = judge_batch(Batch(readings=readings(rows, doubted)), LIMITS, as_of)
    for sure, unsure in zip(trusting, doubting, strict=True):
        if sure.limit.name == "cooling-stage-1":
            assert sure.verdict is verdict_of_all
            assert unsure.verdict is verdict_of_all
            assert unsure.due is None or (sure.due is not None and unsure.due <= sure.due)


def test_a_cooling_that_a_doubted_thermometer_alone_shows_is_not_shown() -> None:
    """Trusted alone, the food was hot when it was last read, and may have fallen at once."""
    rows = readings("cook 0 166; cool 10 140; cool 100 80", frozenset({1, 2}))
    found = judge_batch(Batch(readings=rows), LIMITS, at(115))
    cooled = [(f.verdict, f.reason) for f in found if f.step is Step.COOL]
    assert cooled == [(Verdict.NOT_SHOWN, Reason.THERMOMETER_IN_DOUBT)] * 2


def test_cooked_food_that_nobody_measured_again_is_not_shown_to_be_held() -> None:
    """3-501.16(A): the kitchen's own interval says when a check was missed."""
    gap = timedelta(minutes=75)
    (cook, missed) = judged("cook 0 205", as_of=480, longest_gap=gap)
    assert (cook.verdict, missed.reason) == (Verdict.MET, Reason.MISSED_CHECK)
    assert missed.longest == timedelta(hours=8)
    assert overall(judged("cook 0 205", as_of=70, longest_gap=gap)) is Verdict.MET
    assert overall(
        judged("cook 0 205; cool 70 140; cool 130 70; cool 300 41", longest_gap=gap)
    ) is (Verdict.MET)


def test_a_roasts_row_is_told_with_its_time() -> None:
    from haccp.rules.asked import goal
    from haccp.rules.words import explain

    def clock(moment: datetime) -> str:
        return f"minute {(moment - ZERO) // timedelta(minutes=1)}"

    (running,) = judged("cook 0 120; cook 60 131", as_of=60, kind="whole roast")
    row = next(row for row in running.limit.rows if row.level.f == Decimal(131))
    minutes = row.hold // timedelta(minutes=1)
    assert f"131 °F or above for {minutes} min, until minute {60 + minutes}" in goal(running, clock)
    (done,) = judged(f"cook 60 131; cook {60 + minutes} 131", kind="whole roast")
    assert f"(131 °F or above for {minutes} min, as a row of the table asks)" in explain(
        done, clock
    )


@pytest.mark.parametrize(
    "rows",
    [
        "cook 0 199; prepare 30 150",
        "prepare 0 150; hot_hold 310 140",
        "cook 0 166; cook 0 199",
        "receive 0 150",
    ],
)
def test_hot_food_is_watched_from_its_last_reading_whatever_its_step(rows: str) -> None:
    """3-501.16(A)."""
    found = judged(rows, as_of=700, longest_gap=timedelta(minutes=75), received_as="hot")
    missed = [f for f in found if f.reason is Reason.MISSED_CHECK]
    assert missed[0].verdict is Verdict.NOT_SHOWN and missed[0].since == missed[0].due


@pytest.mark.parametrize(
    "rows",
    [
        "reheat 0 60; reheat 60 166 15; reheat 90 60; hot_hold 110 140",
        f"{COOLED}; hot_hold 350 140",
    ],
)
def test_what_fell_and_is_held_hot_again_was_reheated_by_nobody(rows: str) -> None:
    """3-403.11(A)."""
    found = [f for f in judged(rows) if f.limit.name == "reheat"]
    assert Verdict.NOT_SHOWN in [f.verdict for f in found]


@pytest.mark.parametrize("rows", ["hot_hold 0 150; prepare 30 100", "cook 0 180; cook 30 100"])
def test_food_aside_that_is_hot_again_after_stage_1_was_due_is_told(rows: str) -> None:
    """3-501.14(A)(1) by its clock, and 3-501.16(A) by the time that it was out."""
    found = judged(f"{rows}; hot_hold 121 150")
    told = {f.limit.name: f.verdict for f in found if f.verdict.is_deviation}
    assert told == {
        "time-out-allowed": Verdict.NOT_SHOWN,
        "cooling-stage-1": Verdict.NOT_SHOWN,
    }


def test_a_roast_held_by_its_own_rule_is_not_reheated() -> None:
    rows = (
        "cook 0 120; cook 60 136; cook 120 136; hot_hold 130 132; prepare 150 131; hot_hold 170 131"
    )
    assert not [f for f in judged(rows, kind="whole roast") if f.limit.name == "reheat"]


def test_an_unsliced_roast_heated_as_any_food_asks_no_oven() -> None:
    cook = readings("cook 0 158")[0]
    cook = replace(cook, chamber=parse_temperature("260F"))
    back = [replace(one, method="unsliced") for one in readings("reheat 900 41; reheat 960 168 15")]
    batch = Batch(readings=(cook, *back), kind="whole roast", oven="still dry, 10 lb or more")
    ovens = [f for f in judge_batch(batch, LIMITS, None) if f.limit.name == "oven"]
    assert [f.verdict for f in ovens] == [Verdict.MET]


def test_a_hold_does_not_run_on_after_the_food_left() -> None:
    rows = "cook 0 60; cook 60 131 6720"
    left = judged(rows, as_of=2000, ended=at(80), kind="whole roast")
    assert left[0].verdict is Verdict.NOT_SHOWN
    cooled = judged("cook 0 60; cook 60 131 6720; cool 80 132", kind="whole roast")
    assert cooled[0].verdict is Verdict.NOT_SHOWN


@pytest.mark.parametrize("slow", ["120; cook 600 123", "120; cook 90 128; cook 150 133"])
def test_a_pot_that_rises_slowly_is_not_shown_and_not_disproved(slow: str) -> None:
    """Nothing shows that it was heated all the time; nothing shows that it stood warm."""
    found = judged(f"cook 0 160; cook 30 {slow}; cook 650 170")
    cooled = [f for f in found if f.limit.name.startswith("cooling-")]
    assert {f.verdict for f in cooled} <= {Verdict.NOT_SHOWN, Verdict.MET, Verdict.STOPPED}
    assert overall(cooled) is Verdict.NOT_SHOWN
    assert overall(judged("cook 0 160; cook 30 120; cook 60 128; cook 100 170")) is Verdict.MET


def test_a_roast_kept_by_its_own_rule_in_the_oven_did_not_fall() -> None:
    """3-501.16(A)(1)."""
    rows = "cook 0 136; cook 30 136; cook 80 134; cook 130 133; cook 180 133"
    assert overall(judged(rows, kind="whole roast")) is Verdict.MET


def test_food_that_never_was_hot_is_asked_for_no_hot_holding() -> None:
    found = judged("cook 0 60", ended=at(80), longest_gap=timedelta(minutes=75))
    assert [f.limit.name for f in found] == ["cook"]


def test_a_cooling_that_has_just_begun_is_judged_while_the_food_is_cut() -> None:
    found = judged("cool 0 135; prepare 10 135", as_of=20)
    assert [f.verdict for f in found] == [Verdict.OPEN, Verdict.OPEN]
