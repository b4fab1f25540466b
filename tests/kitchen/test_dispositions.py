"""A food's deviation is decided by what became of the food, and status keeps it in sight till then.

All readings are invented.
"""

import json
from typing import Any

import pytest

from tests.kitchens import Kitchen, findings, flat, log, matters, next_day


def told(kitchen: Kitchen) -> str:
    return flat(kitchen.says("status"))


def groups(kitchen: Kitchen, name: str) -> list[str]:
    found: list[dict[str, Any]] = json.loads(kitchen.says("status --json"))
    return [one["group"] for one in found if one["subject"] == name]


def sunk(kitchen: Kitchen) -> None:
    """A stew in a well that sinks for longer than it may, each look in time."""
    log(
        kitchen,
        ("12:10", "cook stew 199"),
        ("12:20", "hold stew 150 --in well-1"),
        ("13:20", "hold well-1 128"),
        ("14:20", "hold well-1 120"),
        ("15:20", "hold well-1 118"),
    )


def test_words_decide_no_food_and_its_fate_does(kitchen: Kitchen) -> None:
    sunk(kitchen)
    said = log(kitchen, ("15:25", 'action stew "ok"'))
    assert "still NOT MET" in said
    assert "haccp discard stew" in said
    assert "not met" in matters(kitchen, "stew")
    log(kitchen, ("15:30", 'discard stew "out of its heat for 2 h"'))
    assert matters(kitchen, "stew") == []


def test_one_act_answers_several_units(kitchen: Kitchen) -> None:
    sunk(kitchen)
    log(kitchen, ("15:21", "hold walk-in 50"), ("15:25", 'action well-1,walk-in "power was off"'))
    assert "not met" not in matters(kitchen, "well-1")
    assert "not met" not in matters(kitchen, "walk-in")
    acts = [one for one in kitchen.entries() if one["kind"] == "corrective action"]
    assert [one["unit"] for one in acts] == ["well-1", "walk-in"]


def test_an_act_answers_nothing_that_goes_on_after_it(kitchen: Kitchen) -> None:
    log(
        kitchen,
        ("12:20", "hold well-1 120"),
        ("12:30", 'action well-1 "turned up"'),
        ("13:20", "hold well-1 119"),
    )
    assert "not met" in matters(kitchen, "well-1")


def test_food_that_is_diverted_is_gone_and_a_manager_says_where(kitchen: Kitchen) -> None:
    sunk(kitchen)
    assert "no manager" in kitchen.refuses('divert stew "to the compost"')
    kitchen.says('divert stew "to the compost" --by AR')
    assert matters(kitchen, "stew") == []
    assert "to the compost" in kitchen.says("show stew")
    assert "nothing is made from it" in kitchen.refuses("batch soup --from stew")


def test_food_set_apart_stays_to_be_decided_behind_the_rest(kitchen: Kitchen) -> None:
    log(kitchen, ("12:05", "batch rice --code rice"), ("12:10", "cool stew 120"))
    log(kitchen, ("12:20", "cool rice 120"), ("12:25", 'set-apart stew "bottom shelf, marked"'))
    said = told(kitchen)
    assert "NOT SHOWN, set apart" in said
    assert said.index("rice (rice)") < said.index("white-bean stew (stew)")
    assert "not shown" in matters(kitchen, "stew")


def test_what_can_be_saved_stands_before_what_waits_and_what_is_due(kitchen: Kitchen) -> None:
    log(
        kitchen,
        ("12:05", "batch rice --code rice"),
        ("12:10", "cook stew 199"),
        ("12:15", "cool rice 120"),
        ("12:20", "hold stew 150 --in well-1"),
        ("12:30", "hold well-1 148"),
        ("13:00", "hold well-1 130"),
        ("13:05", "hold walk-in 38"),
    )
    said = told(kitchen)
    assert said.index("TO SAVE") < said.index("TO DECIDE") < said.index("DUE")
    assert "save now" in groups(kitchen, "well-1"), (
        "it may be brought back until two hours are over"
    )
    assert "decide" in groups(kitchen, "rice")
    assert groups(kitchen, "walk-in") == ["due"]
    assert "well-1 with white-bean stew (stew): NOT MET" in said, "the unit and its food, one row"
    kitchen.at("2026-10-26T14:31-06:00")
    assert "save now" not in groups(kitchen, "well-1"), "two hours after its last good reading"


def test_a_row_is_never_a_narrow_column(kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    sunk(kitchen)
    lines = kitchen.says("status").splitlines()
    assert max(map(len, lines)) <= 80
    rows = [line for line in lines if line.startswith(" " * 13) and line.strip()]
    assert all(len(line) > 30 or line is rows[-1] or line.endswith(".") for line in rows)


def test_a_failed_thermometer_is_one_row_with_what_to_measure_again(kitchen: Kitchen) -> None:
    log(
        kitchen,
        ("12:05", "ice T1 32F"),
        ("12:10", "cook stew 199"),
        ("12:20", "hold stew 150 --in well-1"),
        ("12:25", "hold walk-in 38"),
        ("12:30", "ice T1 38F"),
    )
    said = told(kitchen)
    row = said[said.index("T1 failed its check") :]
    assert row.startswith("T1 failed its check: measure again, with another thermometer:")
    assert "white-bean stew (stew)" in row
    assert "walk-in" in row
    assert said.count("T1 failed") == 1


def test_a_failed_thermometer_is_nobodys_usual_one(kitchen: Kitchen) -> None:
    log(kitchen, ("12:05", "ice T1 38F"), ("12:10", "cook stew 199"))
    assert kitchen.entries()[-1]["body"]["thermometer"] == "T2"  # type: ignore[index]
    log(kitchen, ("12:20", "ice T1 32F"), ("12:25", "hold well-1 150"))
    assert kitchen.entries()[-1]["body"]["thermometer"] == "T1"  # type: ignore[index]


def test_the_worst_undecided_is_in_every_later_answer(kitchen: Kitchen) -> None:
    sunk(kitchen)
    said = log(kitchen, ("15:40", "reheat stew 170 --held 15"), ("15:50", "hold stew 160"))
    first, _, third = said.splitlines()[:3]
    assert first.startswith("DO NOT SERVE stew 160 °F. This reading is good")
    assert third.startswith("UNDECIDED: TOO COLD 128 °F (13:20). Must be 135 °F or above.")


def test_serving_dividing_and_putting_together_ask(kitchen: Kitchen) -> None:
    sunk(kitchen)
    for words in ("used stew", "split stew 2", "batch soup --from stew"):
        assert "NOT MET and nobody decided" in kitchen.refuses(words), words
    kitchen.says("split stew 2 --yes")
    assert "not met" in matters(kitchen, "stew-a"), "each portion carries it"
    assert "merge" not in kitchen.refuses("merge stew-a stew-b")
    kitchen.says("merge stew-a stew-b --code pot --yes")
    assert "not met" in matters(kitchen, "pot")
    assert matters(kitchen, "stew-a") == [], "what is wholly put together is decided there"


def test_a_food_carries_what_nobody_decided_of_what_is_in_it(kitchen: Kitchen) -> None:
    sunk(kitchen)
    kitchen.says("batch soup --code soup --from stew --yes")
    log(kitchen, ("15:30", "cook soup 170 --held 15"), ("15:35", 'discard stew "the rest of it"'))
    assert matters(kitchen, "stew") == []
    assert "not met" in matters(kitchen, "soup"), "to throw the rest away answers nothing in it"
    assert "Of stew, which went into it" in flat(kitchen.says("show soup"))


def test_an_emptied_unit_asks_what_became_of_its_food(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "cook stew 199"), ("12:20", "hold stew 150 --in well-1"))
    kitchen.at("2026-10-26T12:40-06:00")
    result = kitchen.asks("empty well-1", "y")
    assert "Is nothing left of white-bean stew (stew)?" in result.output
    assert [one["kind"] for one in kitchen.entries()[-2:]] == ["unit emptied", "used up"]


def test_without_a_terminal_an_emptied_unit_says_how_to_tell(kitchen: Kitchen) -> None:
    said = log(
        kitchen,
        ("12:10", "cook stew 199"),
        ("12:20", "hold stew 150 --in well-1"),
        ("12:40", "empty well-1"),
    )
    assert "haccp move stew UNIT" in said
    kitchen.at("2026-10-26T15:00-06:00")
    assert findings(kitchen, "stew")["hot-holding"] == "not shown", "its place is not known now"


def test_what_a_late_correction_takes_back_stays_until_a_manager_signs(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "cook stew 199"), ("12:20", "hold stew 120"))
    log(kitchen, ("12:40", 'correct stew 150 --reason "the other pot"'))
    assert "not met" in matters(kitchen, "stew")
    kitchen.says("used stew --yes")
    next_day(kitchen, "08:00")
    kitchen.says('sign yesterday --by AR --note "seen with the cook"')
    assert matters(kitchen, "stew") == []


def test_a_slip_put_right_at_once_takes_itself_back(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "cook stew 199"), ("12:20", "hold stew 120 --yes"))
    log(kitchen, ("12:22", 'correct stew 150 --reason "the display said 150"'))
    assert "not met" not in matters(kitchen, "stew")


def test_a_signature_says_in_ten_lines_what_it_covers(kitchen: Kitchen) -> None:
    sunk(kitchen)
    log(kitchen, ("15:50", "hold walk-in 38 14:00"), ("16:00", 'discard stew "sunk"'))
    next_day(kitchen, "08:00")
    said = kitchen.says('sign yesterday --by AR --note "element ordered"')
    assert len(said.splitlines()) <= 10
    assert "Undecided: well-1" in said
    assert "Decided: stew" in said
    assert "Entered late: walk-in" in said


def test_a_unit_that_nobody_ever_read_is_due(kitchen: Kitchen) -> None:
    kitchen.says("add unit well-9 hot --by AR")
    kitchen.at("2026-10-26T15:00-06:00")
    assert matters(kitchen, "well-9") == ["next check"]
    kitchen.says("empty well-9")
    assert matters(kitchen, "well-9") == []


def test_a_unit_unread_for_weeks_is_still_due(kitchen: Kitchen) -> None:
    log(kitchen, ("12:20", "hold well-1 150"), ("12:30", 'discard stew "dropped"'))
    kitchen.at("2026-11-29T12:00-07:00")
    assert "next check" in matters(kitchen, "well-1")


def test_a_late_correction_that_leaves_less_shown_does_not_make_it_releasable(
    kitchen: Kitchen,
) -> None:
    """75 °F two hours on is not met; put right to 69 it is not shown, which could be released."""
    log(
        kitchen,
        ("12:05", "cook stew 199"),
        ("12:10", "cool stew 140 --yes"),
        ("12:30", "cool stew 130"),
        ("14:31", "cool stew 75"),
        ("14:50", "cool stew 66"),
    )
    (_, number) = [one["seq"] for one in kitchen.entries() if one["kind"] == "reading"][-2:][::-1]
    log(kitchen, ("15:10", f'correct {number} 69 --reason "misread"'))
    assert "not met" in matters(kitchen, "stew")
    assert "which no reason mends" in kitchen.refuses('release stew "fine" --by AR')


def test_each_reason_of_a_part_is_carried(kitchen: Kitchen) -> None:
    """One that a heating in the new food decides does not take the other along."""
    sunk(kitchen)
    log(kitchen, ("15:30", "batch chicken --kind poultry --code hen"))
    log(kitchen, ("15:40", "cook hen 140 --held 15"), ("15:50", "hold hen 141 --in well-1 --yes"))
    kitchen.says("batch soup --code soup --from stew --from hen --yes")
    log(kitchen, ("16:00", "cook soup 175 --held 15"))
    left = matters(kitchen, "soup")
    assert "not met" in left, "the stew's holding stays to be decided"


def test_one_act_for_several_is_done_for_all_of_them_or_for_none(kitchen: Kitchen) -> None:
    kitchen.at("2026-10-26T12:05-06:00")
    for code in ("rice", "gravy"):
        kitchen.says(f"batch {code} --code {code}")
    kitchen.says("cook stew 190")
    before = len(kitchen.entries())
    assert "ghost" in kitchen.refuses("used-up rice,ghost")
    assert len(kitchen.entries()) == before
    said = kitchen.says("used-up rice,gravy")
    assert "rice is used up" in said
    assert "gravy is used up" in said
    assert "stew is discarded." in kitchen.says('discard stew "left out"')


def test_several_units_are_emptied_at_once(kitchen: Kitchen) -> None:
    kitchen.says("hold well-1 151")
    kitchen.says("hold walk-in 38")
    said = kitchen.says("empty-unit well-1,walk-in")
    assert "well-1 is empty" in said
    assert "walk-in is empty" in said
    assert [one for one in kitchen.entries() if one["kind"] == "unit emptied"][-2:]
