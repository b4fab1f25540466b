"""What is done about a deviation, and what answers none: actions, releases, signatures, ends."""

from pathlib import Path

import pytest
from pypdf import PdfReader

from tests.kitchens import Kitchen, beside_looks, findings, flat, log, matters, next_day, verdict


def test_a_release_needs_a_manager_a_pin_a_reason_and_something_to_release(
    kitchen: Kitchen,
) -> None:
    assert "nothing to release" in kitchen.refuses('release stew "fine" --by AR')
    log(kitchen, ("12:10", "cool stew 120"))
    assert "no manager" in kitchen.refuses('release stew "fine"')
    assert "is empty" in kitchen.refuses("release stew ' ' --by AR")
    kitchen.pin = "9999"
    assert "not the PIN" in kitchen.refuses('release stew "fine" --by AR')
    kitchen.pin = "2580"
    assert "does not replace" in kitchen.says('release stew "140 °F at 12:05 on paper" --by AR')
    number = kitchen.entries()[-1]["seq"]
    assert matters(kitchen, "stew") == []
    assert verdict(kitchen, "stew") == "not shown", "a decision changes no verdict"
    kitchen.says(f'correct {number} --withdraw --reason "another batch was meant"')
    assert matters(kitchen, "stew") == ["not shown", "not shown"]


def test_without_words_an_action_lists_what_may_be_done(
    kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    assert "Measure it, and say where it stands." in flat(kitchen.says("action stew"))
    log(kitchen, ("12:10", "cook stew 199"))
    assert "no deviation" in kitchen.says("action stew")
    log(kitchen, ("12:11", "cool stew 135 --yes"), ("14:20", "cool stew 100"))
    before = len(kitchen.entries())
    listed = kitchen.says("action stew")
    assert "Discard it." in listed
    assert "Reheat" not in listed
    kitchen.says("kitchen --late-reheat 'County 12' --by AR")
    listed = kitchen.says("action stew")
    assert "County 12" in listed
    assert "Reheat it to 165 °F" in flat(listed)
    assert max(map(len, listed.splitlines())) <= 80
    assert len(kitchen.entries()) == before + 1, "a list records nothing"


def test_a_stage_that_failed_says_so_and_stays_in_status_until_an_action(kitchen: Kitchen) -> None:
    answer = log(kitchen, ("14:00", "cool stew 135"), ("16:05", "cool stew 75"))
    assert answer.startswith("TOO SLOW stew 75 °F. Was not 70 °F or below by 16:00.")
    assert "Discard it." in answer
    matters = beside_looks(kitchen)
    assert {m["verdict"] for m in matters} == {"not met", "open"}
    assert "TO SAVE" not in kitchen.says("status"), "an open clock is of no use to what is lost"
    log(kitchen, ("16:10", 'discard stew "75 °F after two hours"'))
    assert beside_looks(kitchen) == []


def test_a_day_with_something_undecided_is_signed_only_with_a_note(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "cook stew 199"), ("12:30", "used stew"))
    log(kitchen, ("13:00", "hold well-1 120"), ("13:05", "empty well-1"))
    kitchen.at("2026-10-27T08:00-06:00")
    assert "undecided" in kitchen.refuses("sign yesterday --by AR")
    kitchen.says('sign yesterday --by AR --note "food was served before it was seen"')
    assert beside_looks(kitchen) == []


def test_a_deadline_that_passes_at_night_is_a_deviation_of_that_day(kitchen: Kitchen) -> None:
    log(kitchen, ("22:30", "cook stew 199"), ("23:00", "cool stew 135"))
    next_day(kitchen, "08:00")
    assert "undecided" in kitchen.refuses("sign today --by AR")
    assert "Deviations: 2" in kitchen.says('sign today --by AR --note "night"')


def test_a_unit_out_of_limits_over_midnight_is_a_deviation_of_both_days(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "cook stew 199"), ("12:30", "used stew"), ("23:00", "hold walk-in 50"))
    next_day(kitchen, "03:00")
    kitchen.says("hold walk-in 52")
    for day in ("yesterday", "today"):
        assert "1 undecided" in kitchen.refuses(f"sign {day} --by AR")


def test_an_answer_is_about_the_reading_and_not_an_older_one(kitchen: Kitchen) -> None:
    assert log(kitchen, ("11:00", "hold well-1 120")).startswith("TOO COLD")
    log(kitchen, ("11:05", 'action well-1 "turned up"'))
    assert log(kitchen, ("12:00", "hold well-1 141")).startswith("OK well-1 141 °F.")
    kitchen.at("2026-10-26T13:00-06:00")
    assert kitchen.says("hold well-1 120 13:01").startswith("TOO COLD")


def test_an_entry_made_after_the_signature_is_not_signed_under(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "cook stew 199"), ("12:30", "used stew"))
    log(kitchen, ("13:00", "hold well-1 141"), ("13:10", "empty well-1"))
    next_day(kitchen, "07:30")
    kitchen.says("sign yesterday --by AR")
    next_day(kitchen, "08:00")
    kitchen.says('hold well-1 120 "yesterday 12:50"')
    assert [m["verdict"] for m in beside_looks(kitchen)] == ["not met"]


def test_an_action_does_not_answer_what_was_entered_after_it(kitchen: Kitchen) -> None:
    log(kitchen, ("13:00", "hold well-1 130"), ("13:10", 'action well-1 "turned up"'))
    assert "NOT MET" not in kitchen.says("status")
    log(kitchen, ("13:30", "hold well-1 90 12:40"))
    assert "NOT MET" in kitchen.says("status")


def test_an_end_before_the_last_reading_or_after_the_fact_takes_no_deviation_back(
    kitchen: Kitchen,
) -> None:
    log(kitchen, ("13:00", "cool stew 135"), ("14:50", "cool stew 100"))
    kitchen.at("2026-10-26T16:00-06:00")
    assert "measured after that" in kitchen.refuses("used stew 13:30 --yes")
    kitchen.says("used stew 14:51 --yes")
    assert verdict(kitchen, "stew") == "not shown"


def test_a_broken_limit_is_not_released(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "cool stew 136"), ("12:20", "cool stew 134"), ("14:30", "cool stew 90"))
    assert verdict(kitchen, "stew") == "not met"
    said = kitchen.refuses('release stew "fine" --by AR')
    assert "3-501.14(A)(1)" in said and "haccp discard stew" in said


def test_a_good_reading_does_not_hide_what_is_undecided(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "cook stew 199"), ("12:30", "hold stew 120"))
    said = log(kitchen, ("12:50", "hold stew 140"))
    assert said.startswith("DO NOT SERVE stew 140 °F. This reading is good")
    assert "UNDECIDED: TOO COLD 120 °F (12:30). Must be 135 °F or above." in said
    assert "3-501.16(A)(1)" in kitchen.says("show stew")
    log(kitchen, ("13:00", 'action stew "stirred, lid on"'))
    assert "UNDECIDED" in log(kitchen, ("13:10", "hold stew 141")), "stirring heats nothing"


def test_hot_food_that_sank_is_brought_back_by_a_reheat_at_once(kitchen: Kitchen) -> None:
    """3-403.11(A), within two hours of its last good reading: it is hot before it is read again."""
    log(kitchen, ("12:10", "cook stew 199"), ("12:30", "hold stew 120"))
    said = log(kitchen, ("13:00", "reheat stew 166 --held 15"))
    assert "UNDECIDED" not in said
    assert findings(kitchen, "stew")["reheat"] == "met"
    assert matters(kitchen, "stew") == ["next check"]


def test_food_held_hot_before_it_was_cooked_through_is_not_said_to_be_cooled(
    kitchen: Kitchen,
) -> None:
    log(kitchen, ("12:10", "cook stew 150"), ("12:30", "hold stew 140"))
    assert findings(kitchen, "stew") == {"cook": "not met", "hot-holding": "met"}


def test_a_signature_answers_nothing_that_was_entered_after_it_in_its_second(
    kitchen: Kitchen,
) -> None:
    log(kitchen, ("12:10", "cook stew 199"), ("12:20", "hold stew 140"))
    kitchen.says('sign today --note "mid-day" --by AR')
    kitchen.says("hold stew 120 --yes")
    assert "not met" in matters(kitchen, "stew")


def test_a_signature_settles_no_food_of_which_something_is_left(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "cool stew 136"), ("12:20", "cool stew 134"), ("14:30", "cool stew 90"))
    log(kitchen, ("14:40", 'sign today --note "busy" --by AR'))
    assert "not met" in matters(kitchen, "stew")
    kitchen.at("2026-10-26T19:00-06:00")
    assert "NOT MET" in kitchen.refuses("batch chili-dog --from stew")
    log(kitchen, ("19:10", 'discard stew "too slow"'))
    assert matters(kitchen, "stew") == []


def test_an_action_that_answers_nothing_says_so(kitchen: Kitchen) -> None:
    assert "Nothing stood undecided" in kitchen.says('action stew "stirred"')


def test_an_end_entered_late_is_not_shown_and_not_disproved(kitchen: Kitchen) -> None:
    """3-501.19: gone after 80 minutes as was said, which was entered the next morning."""
    log(kitchen, ("14:40", "time stew 150"))
    kitchen.at("2026-10-27T07:01-06:00")
    kitchen.says('used stew "yesterday 16:00" --yes')
    assert verdict(kitchen, "stew") == "not shown"
    kitchen.says("batch rice --code rice")
    kitchen.says("time rice 150 06:00 --yes")
    kitchen.at("2026-10-27T12:00-06:00")
    kitchen.says("used rice 10:30 --yes")
    assert verdict(kitchen, "rice") == "not met", "late by what was said, too"


def test_what_was_served_is_not_answered_by_discarding_the_rest(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "reheat stew 40"), ("12:50", "reheat stew 150"))
    log(kitchen, ("13:00", "hold stew 145 --in well-1"))
    log(kitchen, ("14:00", 'discard stew "service is over"'))
    assert "not met" in matters(kitchen, "stew")
    log(kitchen, ("14:10", 'action stew "guests of the first hour told, cook retrained"'))
    assert "not met" in matters(kitchen, "stew"), "nor by a word"
    log(kitchen, ("14:20", 'sign today --note "guests told" --by AR'))
    assert matters(kitchen, "stew") == [], "nothing is left, and a manager signed its day"


def warm_for_hours(kitchen: Kitchen) -> None:
    """A walk-in at 50 °F for three hours or more, with food in it that only its checks speak of."""
    log(
        kitchen,
        ("12:05", "hold walk-in 38"),
        ("12:06", "receive cheddar 38"),
        ("13:00", "hold walk-in 50"),
        ("15:00", "hold walk-in 52"),
        ("16:00", "hold walk-in 39"),
    )


def test_readings_put_around_a_deviation_later_do_not_make_it_short(kitchen: Kitchen) -> None:
    warm_for_hours(kitchen)
    for at in ("12:59", "13:01", "14:59"):
        said = log(kitchen, ("16:10", f"hold walk-in 38 {at} --yes"))
        assert said.startswith("CHECK THE FOOD walk-in 38 °F"), "a good reading is not TOO WARM"
    said = log(kitchen, ("16:12", "hold walk-in 38 15:01 --yes"), ("16:13", "corrective cheddar x"))
    assert "is still NOT MET" in said and "haccp discard" in said
    assert "not met" in matters(kitchen, "cheddar-1026")


def test_a_loggers_file_over_bad_readings_does_not_make_them_short(
    kitchen: Kitchen, tmp_path: Path
) -> None:
    warm_for_hours(kitchen)
    rows = [f"2026-10-26 {12 + k // 60}:{k % 60:02d},38.0\n" for k in range(6, 240)]
    file = tmp_path / "cooler.csv"
    file.write_text("When,walk-in (°F)\n" + "".join(rows), encoding="utf-8")
    kitchen.at("2026-10-26T16:10-06:00")
    told = flat(kitchen.run(f"load-readings {file} --yes").stderr)
    assert "walk-in: 38.0 °F where 50 °F was read by hand at 13:00 (no. " in told
    assert told.count("one of the two is wrong") == 2  # and at 15:00; 39 °F is as near as T1 is
    assert "it lasted at most 2 min" in flat(kitchen.says("show cheddar"))
    assert "is still NOT MET" in log(kitchen, ("16:12", "corrective cheddar x"))


def test_food_in_a_cooler_whose_logger_saw_its_door_open_is_not_thrown_away(
    kitchen: Kitchen, tmp_path: Path
) -> None:
    log(kitchen, ("12:05", "hold walk-in 38"), ("12:06", "receive cheddar 38"))
    temperatures = ["38.0"] * 50 + ["43.0"] * 3 + ["38.0"] * 50
    rows = [f"2026-10-26 {13 + k // 60}:{k % 60:02d},{t}\n" for k, t in enumerate(temperatures)]
    file = tmp_path / "cooler.csv"
    file.write_text("When,walk-in (°F)\n" + "".join(rows), encoding="utf-8")
    log(kitchen, ("15:00", f"load-readings {file} --yes"), ("15:01", "corrective walk-in 'shut'"))
    due = kitchen.says("due")
    assert 'and good again: haccp corrective cheddar-1026 "..."' in due
    assert 'haccp corrective cheddar-1026 "..."' in kitchen.says("review")
    said = log(kitchen, ("15:02", "hold cheddar 38"))
    assert 'Log what is done: haccp corrective cheddar-1026 "..."' in said
    assert "haccp discard" not in said
    log(kitchen, ("15:02", "corrective cheddar 'door stood open for a delivery'"))
    assert matters(kitchen, "cheddar-1026") == []


def test_the_cause_is_kept_where_it_is_known_and_asked_of_nobody(
    kitchen: Kitchen, tmp_path: Path
) -> None:
    log(
        kitchen,
        ("12:00", "hold well-1 120"),
        ("12:05", "corrective well-1 'turned up, stirred'"),
        ("12:10", "hold well-1 141"),
        ("12:30", "hold walk-in 50"),
        ("12:35", "corrective walk-in 'door shut' --cause 'the door stood open, a box before it'"),
        ("12:40", "hold walk-in 39"),
    )
    assert matters(kitchen, "well-1") == matters(kitchen, "walk-in") == ["next check"]
    assert "door shut; cause: the door stood open" in flat(kitchen.says("show walk-in"))
    told = flat(kitchen.says("sign today --by AR"))
    assert "Causes written: the door stood open, a box before it." in told
    page = tmp_path / "day.pdf"
    kitchen.says(f"report today --output {page}")
    paper = flat(" ".join(each.extract_text() for each in PdfReader(page).pages))
    assert "door shut; cause: the door stood open, a box before it" in paper
    assert "turned up, stirred (" in paper
    kitchen.refuses(f"corrective well-1 'stirred' --cause {'x' * 201}")
