"""Clocks and facts travel with the food: what is made of it, divided from it or put together.

All readings are invented.
"""

from dataclasses import replace
from typing import Any

from haccp.rules.account.judge import Judged, hand_on, judge
from haccp.rules.account.life import Life
from haccp.rules.evidence import Verdict
from tests.rules.account.story import KITCHEN, LIMITS, at, bounds, deviations, life, only, states

COOLED = "cook 0 190; cool 10 136; cool 100 70; cool 300 41"


def batch(story: str, opened: float = 0, parts: tuple[Life, ...] = (), **more: Any) -> Life:
    """Give a batch; its parts hand on what they were when it was opened."""
    handed = tuple(one for part in parts for one in hand_on(part, LIMITS, at(opened)).handed)
    return replace(life(story, opened=opened, watch=KITCHEN, **more), handed_on=handed)


def judged(one: Life, now: float) -> Judged:
    return judge(one, LIMITS, at(now))


def test_a_portion_goes_on_where_the_whole_was() -> None:
    whole = batch("cook 0 190; cool 30 135; cool 90 100; used in 100")
    portion = batch("cool 140 71; cool 160 69; cool 380 41", 100, (whole,))
    found = judged(portion, 400)
    assert bounds(only(found, "cooling-stage-1")) == (110, 130)
    assert only(found, "cooling-stage-1").verdict is Verdict.NOT_SHOWN


def test_what_is_put_together_is_no_better_than_the_worse() -> None:
    early = batch("cook 0 190; cool 30 135; cool 90 100")
    late = batch("cook 60 190; cool 80 135; cool 95 100", 60)
    pot = batch("cool 160 69; cool 380 41", 100, (early, late))
    stage_1 = [one for one in judged(pot, 400).findings if one.limit.name == "cooling-stage-1"]
    assert {one.verdict for one in stage_1} == {Verdict.NOT_SHOWN, Verdict.MET}
    assert deviations(judged(pot, 400)) == ["cooling-stage-1 not shown"]


def test_hot_stock_with_cold_cooked_meat_in_it_is_a_reheat_of_the_meat() -> None:
    meat, stock = batch(COOLED), batch("cook 250 200", 250)
    stew = batch("made 310; hot hold 330 150 in well-1", 310, (meat, stock))
    assert deviations(judged(stew, 340)) == ["reheat not shown"]
    heated = batch("made 310; cook 330 170 for 15; hot hold 340 150 in well-1", 310, (meat, stock))
    assert deviations(judged(heated, 345)) == []


def test_a_reheat_that_is_under_way_goes_on_in_what_is_made_of_it() -> None:
    rice = batch(f"{COOLED}; reheat 310 60; reheat 400 110")
    soup = batch("made 410; prepare 500 115", 410, (rice,))
    assert "time-out-allowed not shown" in deviations(judged(soup, 500))


def test_raw_food_in_a_dish_must_be_cooked_there() -> None:
    chicken = batch("receive 0 38", kind="poultry", animal=True)
    dish = batch("made 60; hot hold 90 140 in well-1", 60, (chicken,))
    assert deviations(judged(dish, 100)) == ["cook not shown"]
    cooked = batch("made 60; cook 80 120; cook 100 170; hot hold 110 150 in well-1", 60, (chicken,))
    assert deviations(judged(cooked, 120)) == []


def test_making_something_of_cold_food_is_taking_it_out_of_its_cooler() -> None:
    rice = batch(f"{COOLED}; cold hold 310 40 in walk-in; check cold 500 38 in walk-in")
    soup = batch("made 600; cook 640 90; cook 690 170 for 15", 600, (rice,))
    assert bounds(only(judged(soup, 700), "reheat")) == (50, 90)
    # not where its cooler was warm when it was last looked at
    warm = batch(f"{COOLED}; cold hold 310 40 in walk-in; check cold 500 48 in walk-in")
    late = batch("made 600; cook 640 90; cook 690 170 for 15", 600, (warm,))
    assert only(judged(late, 700), "reheat").verdict.is_deviation


def test_time_as_a_control_is_never_undone_by_a_new_batch() -> None:
    salad = batch(f"{COOLED}; time control 310 40")
    other = batch("made 350; cold hold 400 40", 350, (salad,))
    assert deviations(judged(other, 410)) == ["time-control-cold not met"]


def test_a_dish_made_of_what_was_out_goes_on_being_out() -> None:
    meat = batch(f"{COOLED}; prepare 310 60")
    dish = batch("made 400; prepare 420 65; cold hold 440 41", 400, (meat,))
    assert bounds(only(judged(dish, 440), "time-out-allowed")) == (110, 140)


def test_doubt_is_handed_on() -> None:
    """Cooled, as far as a thermometer shows that failed its check later."""
    rice = batch("cook 0 190; cool 10 136; cool 100 70; cool 300 41 ?")
    soup = batch("made 320; cook 340 170 for 15", 320, (rice,))
    assert any("not shown" in one for one in deviations(judged(soup, 350)))


def test_what_is_shown_not_to_be_tcs_stays_so_and_has_no_findings() -> None:
    sauce = batch("cook 0 190; prepare 200 80; not TCS 210")
    assert judged(sauce, 800).findings == ()
    assert judged(batch("prepare 900 70", 300, (sauce,)), 1200).findings == ()


def test_handing_on_is_bounded_however_often_food_is_mixed() -> None:
    """Two pots that are put together each day, from the same two: the ways back do not multiply."""
    one = two = batch("cook 0 190; cook 60 200")
    for day in range(1, 9):
        at_ = 60 + day * 100
        cooked = f"made {at_}; cook {at_ + 10} 200; cook {at_ + 60} 200"
        one, two = batch(cooked, at_, (one, two)), batch(cooked, at_, (two, one))
    assert len(one.handed_on) <= 2
    assert states(judged(one, 960)).endswith("hot")
