"""The worked sequences of the account: danger that lies between the steps, and must be told.

They were worked by hand from the Food Code's words before the program was written; all readings
are invented. A kitchen with well-1, which is hot, and walk-in, which is cold.
"""

from dataclasses import replace
from datetime import timedelta
from itertools import pairwise

from haccp.rules.account.judge import hand_on, judge
from haccp.rules.evidence import Reason, Verdict
from tests.rules.account.story import (
    KITCHEN,
    LIMITS,
    at,
    bounds,
    deviations,
    life,
    minutes,
    only,
    states,
    told,
    verdicts,
)

DAY = 24 * 60


def test_1_a_well_that_sinks_is_a_deviation_of_the_food_in_it() -> None:
    story = (
        "cook 0 180; hot hold 10 170 in well-1; check hot 60 100 in well-1;"
        "check hot 120 95 in well-1; check hot 180 90 in well-1; check hot 200 140 in well-1"
    )
    found = only(told(story, 200, watch=KITCHEN, opened=0), "hot-holding")
    assert (found.verdict, minutes(found.shortest)) == (Verdict.NOT_MET, 120)
    # cooled afterwards, its cooling counts from the last check at or above 135 °F
    cooled = told(f"{story}; cool 230 120; cool 310 70; cool 500 41", watch=KITCHEN, opened=0)
    assert bounds(only(cooled, "cooling-stage-1")) == (0, 110)
    assert deviations(cooled) == ["hot-holding not met"]


def test_2_a_walk_in_that_is_warm_is_a_deviation_of_the_food_in_it() -> None:
    story = "receive 0 38; cold hold 5 41 in walk-in" + "".join(
        f"; check cold {at} {temp} in walk-in" for at, temp in ((60, 60), (150, 62), (240, 61))
    )
    found = only(told(story, 240, watch=KITCHEN, opened=0), "cold-holding")
    assert (found.verdict, minutes(found.shortest)) == (Verdict.NOT_MET, 180)


def test_3_hot_food_that_nobody_watched_for_a_night_is_not_shown() -> None:
    judged = told("cook 0 199; cook 780 199", 780, watch=KITCHEN, opened=0)
    assert deviations(judged) == ["hot-holding not shown"]
    assert minutes(only(judged, "hot-holding").longest) == 780


def test_the_checks_of_its_unit_stand_for_looks_at_the_food_as_far_as_they_go() -> None:
    story = "cook 0 205; hot hold 30 160 in well-1" + "".join(
        f"; check hot {minute} 150 in well-1" for minute in range(90, 400, 60)
    )
    assert deviations(told(story, 460, watch=KITCHEN, opened=0)) == []
    late = told(story, 500, watch=KITCHEN, opened=0)
    (missed,) = [one for one in late.findings if one.verdict.is_deviation]
    assert (missed.reason, minutes(missed.longest)) == (Reason.MISSED_CHECK, 110)


def test_4_cold_food_on_a_bench_for_eight_hours_is_not_met() -> None:
    story = "cook 0 180; cool 10 136; cool 100 70; cool 300 41; prepare 310 60; prepare 780 110"
    judged = told(story, 780, watch=KITCHEN, opened=0)
    found = only(judged, "time-out-longest")
    assert found.verdict is Verdict.NOT_MET
    assert found.reason is Reason.OUT_OF_TEMPERATURE
    assert minutes(found.shortest) == 470
    back = told(f"{story}; cold hold 790 40", 790, watch=KITCHEN, opened=0)
    assert bounds(only(back, "time-out-longest")) == (470, 490)


NIGHT = (at(-8 * 60), at(7 * 60))


def test_5_a_reheat_counts_from_the_last_good_check_of_its_cooler() -> None:
    """Minute 0 is midnight; read 38 at 08:00 after a night in closed hours."""
    watch = replace(KITCHEN, closed=(NIGHT,))
    before = "cook -500 180; cool -490 136; cool -400 70; cool -200 41; cold hold 480 38"
    after = "reheat 720 65; reheat 780 165 for 15"

    def reheat(between: str) -> tuple[object, ...]:
        judged = told(f"{before}; {between}{after}", 780, watch=watch, opened=-510)
        found = only(judged, "reheat")
        return found.verdict.value, *bounds(found)

    assert reheat("check cold 690 38 in walk-in; ") == ("met", 60, 90)
    assert reheat("") == ("not shown", 60, 300)
    assert reheat("reheat 720 40; ")[0] == "met"


def test_6_beans_that_were_cooled_are_reheated_whatever_the_step_is_called() -> None:
    story = "cook 0 190; cool 10 136; cool 100 70; cool 300 41; cook 1500 60; cook 1800 140"
    judged = told(story, None, watch=KITCHEN, opened=0, kind="plant food")
    assert "reheat not met" in deviations(judged)
    assert only(judged, "reheat").limit.level.f == 165


def test_7_a_cooling_goes_on_in_what_is_made_of_the_food() -> None:
    meat = life("cook 0 180; cool 30 135; cool 90 110", opened=0, watch=KITCHEN)
    stew = life("made 90; cold hold 630 40", opened=90, watch=KITCHEN)
    stew = replace(stew, handed_on=hand_on(meat, LIMITS, at(90)).handed)
    judged = judge(stew, LIMITS, at(630))
    assert deviations(judged) == ["cooling-stage-1 not shown", "cooling-stage-2 not shown"]
    assert bounds(only(judged, "cooling-stage-2")) == (60, 600)


def test_8_raw_chicken_that_is_held_hot_and_used_was_never_cooked() -> None:
    story = "receive 0 38; hot hold 30 140 in well-1; used 60"
    judged = told(story, 60, watch=KITCHEN, opened=0, kind="poultry", animal=True)
    assert deviations(judged) == ["cook not shown"]
    # served raw or undercooked with the advisory of 3-603.11 it needs no cook
    raw = {"watch": KITCHEN, "opened": 0, "kind": "fish", "animal": True}
    served = "receive 0 38; used 60"
    assert deviations(told(served, 60, **raw)) == ["cook not shown"]
    assert deviations(told(served, 60, **raw, undercooked=True)) == []


def test_9_a_batch_that_nobody_measures_is_open_for_four_hours_and_then_not_shown() -> None:
    ambient = {"watch": KITCHEN, "opened": 0, "prepared": 0}
    assert verdicts(told("", 240, **ambient)) == ["cooling-ambient open"]
    assert only(told("", 200, **ambient), "cooling-ambient").due == at(240)
    assert deviations(told("", 241, **ambient)) == ["cooling-ambient not shown"]
    # and any other that nobody ever read
    unread = {"watch": KITCHEN, "opened": 0}
    assert verdicts(told("", 240, **unread)) == ["time-out-allowed open"]
    assert deviations(told("", 241, **unread)) == ["time-out-allowed not shown"]


def test_10_the_first_reading_of_a_reheat_ends_no_cooling_that_is_past_its_time() -> None:
    story = "cook 0 180; cool 30 135; reheat 155 90; reheat 185 165 for 15"
    judged = told(story, 200, watch=KITCHEN, opened=0)
    assert only(judged, "cooling-stage-1").verdict is Verdict.NOT_MET
    assert minutes(only(judged, "cooling-stage-1").shortest) == 125


def test_11_what_is_made_of_food_that_deviated_carries_the_deviation() -> None:
    rice = life("cook 0 190; cool 30 135; cool 160 80", opened=0, watch=KITCHEN)
    judged = hand_on(rice, LIMITS, at(165))
    assert [
        f"{one.limit.name} {one.verdict.value}"
        for one in judged.findings
        if one.verdict.is_deviation
    ] == ["cooling-stage-1 not met"]
    assert judged.handed[0].every.cooling, "and its cooling goes on in the soup"


def test_12_time_as_a_control_is_not_for_food_of_an_open_cooling() -> None:
    story = "cook 0 180; cool 30 135; cool 120 69; time control 130 69 by opened; used 200"
    judged = told(story, 200, watch=KITCHEN, opened=0)
    assert only(judged, "time-control-opened").verdict is Verdict.NOT_MET
    assert only(judged, "cooling-stage-1").verdict is Verdict.MET


def test_an_account_has_no_gap_between_its_phases() -> None:
    judged = told("receive 0 38; cook 60 180; cool 100 120; cool 180 70; cool 300 41", opened=0)
    assert states(judged) == "not yet read > cold > heating > hot > cooling > cold"
    (phases,) = judged.phases
    for phase, following in pairwise(phases):
        assert phase.ended == following.began
    assert phases[0].began.earliest == at(0)
    assert phases[-1].ended is None


def test_a_hold_s_second_reading_may_belong_to_any_step() -> None:
    judged = told("reheat 0 41; reheat 60 166; hot hold 61 166")
    assert only(judged, "reheat").verdict is Verdict.MET
    assert only(judged, "reheat").longest == timedelta(hours=1)
