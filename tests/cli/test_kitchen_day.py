"""Cook, manager and inspector, each through the command line, on a clock of our own."""

import json
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner

from haccp import limits
from haccp.cli.main import cli
from haccp.cli.session import Session
from haccp.kitchen import register
from haccp.kitchen.register import read_register
from haccp.printing.report_words import gather
from haccp.record.store import open_record
from tests.cli.kitchens import Kitchen, log, verdict


def test_an_hourly_entry_answers_with_what_is_next_and_by_when(
    kitchen: Kitchen,
) -> None:
    answer = log(kitchen, ("14:00", "cool stew 135"), ("15:00", "cool stew 98"))
    first, second, estimate, last = answer.splitlines()
    assert first == "OPEN: white-bean stew (stew) 98 °F at 15:00, cool."
    assert second == "Next: 70 °F or below by 16:00 (1 h left), then 41 °F or below by 20:00."
    assert estimate.startswith("Estimate: 70 °F expected ")
    assert "15:10" <= last.removeprefix("Measure again by ").rstrip(".") <= "16:00"


@pytest.mark.parametrize(
    "commands",
    [
        [("14:00", "cool stew 135"), ("16:10", "cool stew 75")],
        [("14:00", "cool stew 120")],
        [("12:30", "cook stew 150 --held 5")],
        [("12:30", "hold well-1 120")],
        [("12:30", "reheat stew 41"), ("15:00", "reheat stew 160")],
    ],
)
def test_no_answer_is_longer_than_four_lines(
    kitchen: Kitchen, commands: list[tuple[str, str]]
) -> None:
    assert 1 <= len(log(kitchen, *commands).splitlines()) <= 4


def test_a_cooling_that_is_done_is_met_and_asks_nothing_more(kitchen: Kitchen) -> None:
    answer = log(
        kitchen,
        ("14:00", "cool stew 135"),
        ("15:50", "cool stew 69"),
        ("19:30", "cool stew 41"),
    )
    assert answer.startswith("MET: white-bean stew (stew) 41 °F")
    assert "Next" not in answer
    assert kitchen.says("status --json").strip() == "[]"


def test_a_stage_that_failed_says_so_and_stays_in_status_until_an_action(kitchen: Kitchen) -> None:
    answer = log(kitchen, ("14:00", "cool stew 135"), ("16:05", "cool stew 75"))
    assert answer.startswith("NOT MET: white-bean stew (stew) 75 °F")
    assert "set the food apart" in answer
    matters = json.loads(kitchen.says("status --json"))
    assert [m["verdict"] for m in matters] == ["not met", "open"]
    log(kitchen, ("16:10", 'discard stew "75 °F after two hours"'))
    assert json.loads(kitchen.says("status --json")) == []


def test_status_puts_the_least_time_left_first(kitchen: Kitchen) -> None:
    kitchen.says("batch rice --code rice")
    log(
        kitchen,
        ("13:00", "hold well-1 141"),
        ("14:00", "cool stew 135"),
        ("14:30", "cool rice 135"),
        ("15:00", "cool stew 90"),
        ("15:01", "cool rice 120"),
    )
    matters = json.loads(kitchen.says("status --json"))
    left = [matter["left_min"] for matter in matters]
    assert left == sorted(left)
    assert [m["subject"] for m in matters][:3] == ["well-1", "stew", "rice"]
    assert "missed" not in str(matters)


def test_a_missed_check_is_listed_once_its_grace_is_over(kitchen: Kitchen) -> None:
    log(kitchen, ("13:00", "hold well-1 141"))
    kitchen.at("2026-10-26T14:14-06:00")
    assert "No check" not in kitchen.says("status")
    kitchen.at("2026-10-26T14:20-06:00")
    assert "No check between" in kitchen.says("status")
    log(kitchen, ("14:25", "hold well-1 140"), ("14:26", 'action well-1 "alarm set for each hour"'))
    assert "No check" not in kitchen.says("status")


def test_an_emptied_unit_misses_no_check(kitchen: Kitchen) -> None:
    log(kitchen, ("13:00", "hold well-1 141"), ("13:30", "empty well-1"))
    kitchen.at("2026-10-26T20:00-06:00")
    assert json.loads(kitchen.says("status --json")) == []


def test_a_temperature_can_be_typed_in_the_other_degree(kitchen: Kitchen) -> None:
    assert log(kitchen, ("13:00", "hold well-1 57.0C")).startswith("MET")
    assert log(kitchen, ("13:01", "hold well-1 134.6F")).startswith("NOT MET")


def test_a_freezing_temperature_is_no_option(kitchen: Kitchen) -> None:
    assert "-4 °F" in log(kitchen, ("13:00", "hold walk-in -4F"))


@pytest.mark.parametrize(
    ("command", "words"),
    [
        ("cool stew hot", "is not a temperature"),
        ("cool soup 98", "There is no open batch 'soup'"),
        ("cool stew 98 25:00", "is not a time"),
        ("cool stew 98 23:40", "is later than now"),
        ("cool stew 98 --by XX", "Nobody here has the initials"),
        ("cool stew 700", "is no temperature of food"),
        ("hold stew 120", "no reading before that"),
        ("cook stew 165 --held long", "is no time held"),
        ("cool stew 98 --thermometer T9", "There is no thermometer"),
        ("batch soup --kind dragon", "is no kind of food"),
        ("batch soup --code stew", "exists already"),
        ("batch soup --from ghost", "There is no batch 'ghost'"),
        ("sign today", "is no manager"),
        ("sign 2026-12-01 --by AR", "has not begun"),
        ("correct 99 70 --reason x", "There is no entry no. 99"),
        ("correct 7 70", "says why"),
        ("add unit well-2 hot", "is no manager"),
        ("kitchen --degree C", "is no manager"),
        ("discard stew ' '", "is empty"),
        ("report 2026-10-27 2026-10-26", "comes before"),
        ("report someday", "is not a day"),
        ("export record.txt", "neither .csv nor .json"),
        ("batch 'so\x07up'", "cannot be printed"),
        (
            "setup Another --zone America/Denver --manager AR --manager-name A",
            "holds a kitchen already",
        ),
    ],
)
def test_bad_input_gets_one_sentence_and_records_nothing(
    kitchen: Kitchen, command: str, words: str
) -> None:
    assert words in kitchen.refuses(command)


def test_an_unusual_value_is_recorded_once_it_is_confirmed(kitchen: Kitchen) -> None:
    log(kitchen, ("14:00", "cool stew 100"))
    kitchen.at("2026-10-26T15:00-06:00")
    assert "warmer than the 100 °F before it" in kitchen.refuses("cool stew 110")
    kitchen.says("cool stew 110 --yes")
    assert kitchen.entries()[-1]["body"]["confirmed"] is True  # type: ignore[index]


def test_a_correction_replaces_the_verdict_and_keeps_the_old_reading(kitchen: Kitchen) -> None:
    log(
        kitchen,
        ("14:00", "cool stew 135"),
        ("15:00", "cool stew 96"),
        ("16:00", "cool stew 96"),
    )
    assert "NOT MET" in kitchen.says("show stew")
    old = kitchen.entries()[-1]["seq"]
    answer = log(kitchen, ("16:02", 'correct stew 69 --reason "typed the wrong way round"'))
    assert "stays readable" in answer
    assert f"was replaced by no. {kitchen.entries()[-1]['seq']}" in kitchen.refuses(
        f'correct {old} 50 --reason "again"'
    )
    shown = kitchen.says("show stew")
    assert "NOT MET" not in shown
    assert "REPLACED by" in shown
    assert "typed the wrong way round" in shown


def test_a_correction_that_changes_nothing_is_refused(kitchen: Kitchen) -> None:
    log(kitchen, ("14:00", "cool stew 135"))
    assert "would change" in kitchen.refuses('correct stew 135 --reason "sure"')


def test_a_reading_logged_on_the_wrong_batch_is_withdrawn(kitchen: Kitchen) -> None:
    log(kitchen, ("14:00", "cool stew 135"), ("15:00", "cool stew 90"))
    number = kitchen.entries()[-1]["seq"]
    kitchen.says(f'correct {number} --withdraw --reason "that was the rice"')
    assert "90 °F" not in kitchen.says("status")
    assert "WITHDRAWN by" in kitchen.says("show stew")


def test_a_failed_ice_check_puts_readings_since_the_last_good_one_in_doubt(
    kitchen: Kitchen,
) -> None:
    log(
        kitchen,
        ("12:10", "ice T2 32F"),
        ("12:30", "hold well-1 141 --thermometer T2"),
        ("13:00", "hold well-1 141"),
    )
    assert json.loads(kitchen.says("show well-1 --json"))["verdict"] == "met"
    assert "FAILED" in log(kitchen, ("13:10", "ice T2 36F"))
    shown = json.loads(kitchen.says("show well-1 --json"))
    assert shown["verdict"] == "not shown"
    assert "failed its check" in str(shown["findings"])


def test_ice_checks_pass_within_two_fahrenheit_or_one_celsius(kitchen: Kitchen) -> None:
    """Source: Food Code 4-203.11, ±2 °F or ±1 °C."""
    for shown, passed in [
        ("34F", True),
        ("34.1F", False),
        ("30F", True),
        ("1C", True),
        ("1.1C", False),
        ("-1C", True),
    ]:
        assert ("passed" in log(kitchen, ("12:10", f"ice T2 {shown}"))) is passed, shown


def test_a_day_with_something_undecided_is_signed_only_with_a_note(kitchen: Kitchen) -> None:
    log(kitchen, ("13:00", "hold well-1 120"), ("13:05", "empty well-1"))
    kitchen.at("2026-10-27T08:00-06:00")
    assert "undecided" in kitchen.refuses("sign yesterday --by AR")
    kitchen.says('sign yesterday --by AR --note "food was served before it was seen"')
    assert json.loads(kitchen.says("status --json")) == []


def test_a_stew_keeps_the_date_mark_of_its_oldest_meat(kitchen: Kitchen) -> None:
    """Source: Food Code 3-501.17, combined foods keep the earliest date; day 1 is preparation."""
    kitchen.at("2026-10-22T12:00-06:00")
    kitchen.says("batch shoulder --code shoulder")
    kitchen.at("2026-10-24T12:00-06:00")
    kitchen.says("batch dice --code dice --from shoulder")
    kitchen.at("2026-10-26T12:00-06:00")
    assert "use by Wed 28 Oct" in kitchen.says("batch pie --code pie --from dice")
    assert "use by Sun 1 Nov" in kitchen.says("batch soup --code soup")


def test_local_limits_are_named_wherever_they_decide(kitchen: Kitchen, tmp_path: Path) -> None:
    local = tmp_path / "local.toml"
    local.write_text(
        '[[limit]]\nname = "cold-holding"\nside = "at or below"\ninclusive = true\nf = 38\nc = 3\n'
        'citation = "County 12"\nsource = "an invented county code"\nbasis = "verified"\ntext = "Colder."\n'
    )
    log(kitchen, ("12:10", "hold walk-in 40"))
    assert "an invented county code" in kitchen.says(f"kitchen --limits {local} --by AR")
    kitchen.at("2026-10-28T12:00-06:00")
    assert kitchen.says("hold walk-in 40").startswith("NOT MET")


def test_changing_the_limits_does_not_judge_earlier_food_anew(
    kitchen: Kitchen, tmp_path: Path
) -> None:
    log(kitchen, ("14:00", "cool stew 135"), ("15:50", "cool stew 70"), ("19:30", "cool stew 41"))
    kitchen.at("2026-10-27T12:00-06:00")
    kitchen.says("kitchen --guard 2F --by AR")
    assert json.loads(kitchen.says("show stew --json"))["verdict"] == "met"
    kitchen.says("batch rice --code rice")
    kitchen.at("2026-10-27T12:10-06:00")
    kitchen.says("cool rice 135")
    kitchen.at("2026-10-27T13:10-06:00")
    assert "68 °F or below" in kitchen.says("cool rice 69")


def test_a_file_of_readings_is_recorded_whole_or_not_at_all(
    kitchen: Kitchen, tmp_path: Path
) -> None:
    kitchen.at("2026-10-26T20:00-06:00")
    file = tmp_path / "paper.csv"
    header = "batch,step,taken_at,temp,unit,by,holding_unit\n"
    good = "stew,cool,2026-10-26T14:00-06:00,135,F,JM,\n,hot_hold,2026-10-26T14:00-06:00,141,F,AR,well-1\n"
    file.write_text(header + good + "ghost,cool,2026-10-26T15:00-06:00,90,F,JM,\n")
    before = len(kitchen.entries())
    result = kitchen.run(f"load {file}")
    assert result.exit_code == 2
    assert "Line 4 is rejected: there is no batch 'ghost'" in result.stderr
    assert len(kitchen.entries()) == before
    made = "stew,cool,2026-10-26T15:00-06:00,50,F,2026-10-26T14:00-06:00\n"
    file.write_text("batch,step,taken_at,temp,unit,prepared_at\n" + made)
    assert (
        "Line 2 is rejected: prepared_at is for haccp check" in kitchen.run(f"load {file}").stderr
    )
    assert len(kitchen.entries()) == before
    file.write_text(header + good)
    assert "2 readings recorded" in kitchen.says(f"load {file}")


def test_export_and_import_give_the_same_record(kitchen: Kitchen, tmp_path: Path) -> None:
    log(kitchen, ("14:00", "cool stew 135"), ("15:00", "cool stew 98"))
    for form in ("csv", "json"):
        file, copy = tmp_path / f"record.{form}", tmp_path / f"{form}.sqlite3"
        kitchen.says(f"export {file}")
        other = Kitchen(copy)
        assert "the chain of digests holds" in other.says(f"import {file}")
        assert other.entries() == kitchen.entries()


def test_every_listing_has_json(kitchen: Kitchen) -> None:
    for what in ("people", "thermometers", "units", "batches", "entries"):
        assert json.loads(kitchen.says(f"list {what} --json")), what
        assert kitchen.says(f"list {what}")


def test_who_records_is_remembered(kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("HACCP_BY")
    assert "haccp by JM" in kitchen.refuses("cool stew 98")
    kitchen.says("by JM")
    assert kitchen.says("cool stew 98")


def test_somebody_who_left_records_no_more(kitchen: Kitchen) -> None:
    kitchen.says('add person JM "J. M." --left --by AR')
    assert "has left" in kitchen.refuses("cool stew 98")


def test_over_the_autumn_clock_change_real_time_counts(kitchen: Kitchen) -> None:
    """1:30 MDT to 1:30 MST is an hour: 70 °F two clock hours later is three real ones."""
    kitchen.at("2026-11-01T00:00-06:00")
    kitchen.says("batch roast --code roast")
    kitchen.at("2026-11-01T00:30-06:00")
    kitchen.says("cool roast 135")
    kitchen.at("2026-11-01T02:00-07:00")
    assert "happened twice" in kitchen.refuses("cool roast 75 1:15")
    assert kitchen.says("cool roast 75 '1:45 MST'").startswith("NOT MET")
    assert "2 h 15 min" in " ".join(kitchen.says("show roast").split())


def test_a_managers_act_needs_the_managers_pin(kitchen: Kitchen) -> None:
    kitchen.pin = "9999"
    assert "not the PIN" in kitchen.refuses("add person BK 'B. K.' --by AR")
    kitchen.pin = "2580"
    kitchen.says("add person BK 'B. K.' --role manager --by AR")
    assert "has no PIN yet" in kitchen.refuses("sign today --by BK --note x")
    kitchen.says("pin BK --by AR")
    kitchen.says("sign today --by BK --note x")


def test_a_cook_has_no_pin(kitchen: Kitchen) -> None:
    assert "needs no PIN" in kitchen.refuses("pin JM --by AR")


def test_a_pin_is_read_from_standard_input_where_there_is_no_terminal(kitchen: Kitchen) -> None:
    session = Session(kitchen.path, lambda: kitchen.now)
    words = ["add", "person", "BK", "B. K.", "--by", "AR"]
    result = CliRunner().invoke(cli, words, obj=session, input="2580\n")
    assert result.exit_code == 0, result.output
    assert "2580" not in result.output


def test_a_manager_who_left_signs_nothing(kitchen: Kitchen) -> None:
    kitchen.says("add person BK 'B. K.' --role manager --by AR")
    kitchen.says("pin BK --by AR")
    kitchen.says("add person BK 'B. K.' --role manager --left --by AR")
    assert "has left" in kitchen.refuses("sign today --by BK --note x")


def test_the_record_verifies_and_says_what_a_paper_shows(kitchen: Kitchen) -> None:
    assert "every entry is what was recorded" in kitchen.says("record verify")
    last = kitchen.run("record verify --against 000000000000")
    assert last.exit_code == 3
    assert "does not contain" in last.stdout


def test_daily_copies_are_kept_beside_the_record(kitchen: Kitchen, tmp_path: Path) -> None:
    kitchen.says("kitchen --daily-copies 2 --by AR")
    for day in (27, 28, 29):
        kitchen.at(f"2026-10-{day}T12:00-06:00")
        kitchen.says("hold well-1 141")
    copies = sorted(path.name for path in (tmp_path / "record.sqlite3.daily").iterdir())
    assert copies == ["2026-10-28.sqlite3", "2026-10-29.sqlite3"]


def test_a_backup_restored_prints_the_same_page(kitchen: Kitchen, tmp_path: Path) -> None:
    log(kitchen, ("14:00", "cool stew 135"), ("15:00", "cool stew 98"))
    backup = tmp_path / "backup.sqlite3"
    kitchen.says(f"record backup {backup}")
    other = Kitchen(tmp_path / "other.sqlite3")
    other.now = kitchen.now
    before = kitchen.entries()
    assert "their chain holds" in other.says(f"record restore {backup} --by AR")
    assert other.entries()[:-1] == before
    assert other.says("show stew") == kitchen.says("show stew")


def test_a_morning_typed_at_once_is_listed_as_worth_a_look(kitchen: Kitchen) -> None:
    kitchen.at("2026-10-26T18:00-06:00")
    for minutes in range(0, 240, 20):
        hour, minute = divmod(13 * 60 + minutes, 60)
        kitchen.says(f"hold well-1 {140 + minutes % 7} {hour}:{minute:02d}")
    listed = kitchen.says("record unusual today")
    assert listed.startswith("Something to look at")
    assert len(json.loads(kitchen.says("record unusual today --json"))) == 1
    assert "Worth a look: 1" in kitchen.says('sign today --by AR --note "typed from paper"')


def test_an_ordinary_day_is_not_listed(kitchen: Kitchen) -> None:
    log(kitchen, ("13:00", "hold well-1 141"), ("14:00", "hold well-1 143"))
    assert "Nothing unusual" in kitchen.says("record unusual today")


def test_limits_that_changed_under_their_name_judge_no_earlier_food(
    kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch
) -> None:
    log(kitchen, ("14:00", "cool stew 135"))
    real = limits.shipped()
    changed = replace(real, digest="0" * 64)
    monkeypatch.setattr(limits, "shipped", lambda *_: changed)
    register.limits_of.cache_clear()
    try:
        assert "not those that the record was judged by" in kitchen.refuses("show stew")
    finally:
        register.limits_of.cache_clear()


def next_day(kitchen: Kitchen, clock: str, day: int = 27) -> None:
    kitchen.at(f"2026-10-{day}T{clock}-06:00")


def test_a_deadline_that_passes_at_night_is_a_deviation_of_that_day(kitchen: Kitchen) -> None:
    log(kitchen, ("22:30", "cook stew 199"), ("23:00", "cool stew 135"))
    next_day(kitchen, "08:00")
    assert "undecided" in kitchen.refuses("sign today --by AR")
    assert "Deviations: 2" in kitchen.says('sign today --by AR --note "night"')


def test_a_unit_out_of_limits_over_midnight_is_a_deviation_of_both_days(kitchen: Kitchen) -> None:
    log(kitchen, ("23:00", "hold walk-in 50"))
    next_day(kitchen, "03:00")
    kitchen.says("hold walk-in 52")
    for day in ("yesterday", "today"):
        assert "1 undecided" in kitchen.refuses(f"sign {day} --by AR")


def test_an_answer_is_about_the_reading_and_not_an_older_one(kitchen: Kitchen) -> None:
    assert log(kitchen, ("11:00", "hold well-1 120")).startswith("NOT MET")
    log(kitchen, ("11:05", 'action well-1 "turned up"'))
    assert log(kitchen, ("12:00", "hold well-1 141")).startswith("MET")
    kitchen.at("2026-10-26T13:00-06:00")
    assert kitchen.says("hold well-1 120 13:01").startswith("NOT MET")


def test_moving_on_from_an_unfinished_cook_is_told_at_once(kitchen: Kitchen) -> None:
    kitchen.says("batch chicken --kind poultry --code chicken")
    log(kitchen, ("12:30", "cook chicken 140"))
    assert log(kitchen, ("12:40", "hold chicken 140")).startswith("NOT MET")


def test_an_entry_made_after_the_signature_is_not_signed_under(kitchen: Kitchen) -> None:
    log(kitchen, ("13:00", "hold well-1 141"), ("13:10", "empty well-1"))
    next_day(kitchen, "07:30")
    kitchen.says("sign yesterday --by AR")
    next_day(kitchen, "08:00")
    kitchen.says('hold well-1 120 "yesterday 12:50"')
    assert [m["verdict"] for m in json.loads(kitchen.says("status --json"))] == ["not met"]


def test_an_action_does_not_answer_what_was_entered_after_it(kitchen: Kitchen) -> None:
    log(kitchen, ("13:00", "hold well-1 130"), ("13:10", 'action well-1 "turned up"'))
    assert "NOT MET" not in kitchen.says("status")
    log(kitchen, ("13:30", "hold well-1 90 12:40"))
    assert "NOT MET" in kitchen.says("status")


def test_changing_a_unit_judges_no_earlier_check_anew(kitchen: Kitchen) -> None:
    log(kitchen, ("13:00", "hold well-1 120"))
    kitchen.says("add unit well-1 cold --yes --by AR")
    assert verdict(kitchen, "well-1") == "not met"
    log(kitchen, ("13:10", "hold walk-in 38"))
    next_day(kitchen, "12:00")
    kitchen.says("hold walk-in 38 'yesterday 17:00'")
    kitchen.says("add unit walk-in cold --retired --by AR")
    missed = [
        f
        for f in json.loads(kitchen.says("show walk-in --json"))["findings"]
        if "No check" in f["reason"]
    ]
    assert len(missed) == 1, "the night's gap, at the interval of that time, and nothing after"


def test_new_limits_judge_a_unit_from_their_moment_on(kitchen: Kitchen, tmp_path: Path) -> None:
    local = tmp_path / "local.toml"
    local.write_text(
        '[[limit]]\nname = "cold-holding"\nside = "at or below"\ninclusive = true\nf = 38\nc = 3\n'
        'citation = "12"\nsource = "an invented county code"\nbasis = "verified"\ntext = "Colder."\n'
    )
    log(kitchen, ("12:10", "hold walk-in 40"), ("14:00", f"kitchen --limits {local} --by AR"))
    log(kitchen, ("16:00", "hold walk-in 40"))
    found = json.loads(kitchen.says("show walk-in --json"))["findings"]
    assert [f["verdict"] for f in found] == ["met", "not met"]


def test_an_end_before_the_last_reading_or_after_the_fact_takes_no_deviation_back(
    kitchen: Kitchen,
) -> None:
    log(kitchen, ("13:00", "cool stew 135"), ("14:50", "cool stew 100"))
    kitchen.at("2026-10-26T16:00-06:00")
    assert "measured after that" in kitchen.refuses("used stew 13:30")
    kitchen.says("used stew 14:51")
    assert verdict(kitchen, "stew") == "not shown"


def test_a_reheat_discarded_in_time_is_stopped(kitchen: Kitchen) -> None:
    log(kitchen, ("13:00", "reheat stew 110"), ("13:20", 'discard stew "spilled"'))
    assert verdict(kitchen, "stew") == "stopped"


def test_an_undercooked_food_that_was_served_is_not_met_and_known_at_once(kitchen: Kitchen) -> None:
    log(kitchen, ("13:00", "cook stew 140"), ("13:20", "used stew"))
    assert [m["verdict"] for m in json.loads(kitchen.says("status --json"))] == ["not met"]
    log(kitchen, ("13:21", 'action stew "called back"'))
    assert json.loads(kitchen.says("status --json")) == []


def test_hot_food_is_not_judged_as_made_at_room_temperature(kitchen: Kitchen) -> None:
    kitchen.says("batch glaze --ambient --code glaze")
    log(
        kitchen,
        ("12:10", "cool glaze 180"),
        ("15:30", "cool glaze 100"),
        ("15:58", "cool glaze 41"),
    )
    assert verdict(kitchen, "glaze") == "not shown"
    assert "cooling-stage-1" in kitchen.says("show glaze")


def test_a_reading_before_the_batch_was_opened_is_asked_about(kitchen: Kitchen) -> None:
    kitchen.at("2026-10-26T14:10-06:00")
    assert "before stew was opened" in kitchen.refuses("cool stew 98 2:05")


@pytest.mark.parametrize(
    "rows",
    [
        "cold_hold,0,38\nreheat,600,164\nreheat,602,165",
        "cook,0,199\nhot_hold,60,140\ncold_hold,1000,40",
        "cool,0,140\ncool,100,69\ncool,300,41\nhot_hold,400,140\ncold_hold,1000,41",
    ],
)
def test_what_nobody_saw_is_not_shown(rows: str) -> None:
    """The start of a reheat, or the cooling between the hot well and the cooler."""
    lines = "\n".join(
        f"pot,{row},F,{15 if row.startswith('reheat,602') else 0}" for row in rows.split("\n")
    )
    text = f"batch,step,taken_at,temp,unit,held_s\n{lines}\n"
    result = CliRunner().invoke(cli, ["check", "-", "--json"], input=text)
    assert json.loads(result.stdout)["batches"][0]["verdict"] == "not shown"


def test_a_withdrawn_batch_is_gone_from_every_command(kitchen: Kitchen) -> None:
    log(kitchen, ("12:30", "cool stew 98"))
    kitchen.says('correct stew --withdraw --reason "wrong pan"')
    opened = next(e["seq"] for e in kitchen.entries() if e["kind"] == "batch")
    kitchen.says(f'correct {opened} --withdraw --reason "never made"')
    for command in ("show stew", 'action stew "x"', "batch soup --from stew", "cool stew 90"):
        assert "There is no" in kitchen.refuses(command)


def test_initials_stay_one_persons_and_the_last_manager_stays(kitchen: Kitchen) -> None:
    assert "stays so on paper" in kitchen.refuses('add person JM "Other Name" --by AR')
    assert "only manager" in kitchen.refuses('add person AR "A. R." --left --by AR')
    kitchen.says('add person AR "A. R." --by AR')
    kitchen.says('sign today --by AR --note "still a manager"')


def test_a_name_means_one_thing(kitchen: Kitchen) -> None:
    assert "exists already" in kitchen.refuses("batch x --code Stew")
    assert "exists already" in kitchen.refuses("batch x --code well-1")
    assert "another name" in kitchen.refuses("add unit stew hot --by AR")
    assert "is empty" in kitchen.refuses('cool "" 98')


def test_usage_errors_are_one_line_too(kitchen: Kitchen) -> None:
    assert "Missing argument" in kitchen.refuses("cool stew")
    assert "No such command" in kitchen.refuses("cooll stew 98")


def test_an_empty_file_does_not_take_local_limits_off(kitchen: Kitchen, tmp_path: Path) -> None:
    (tmp_path / "empty.toml").write_text("")
    assert "no [[limit]]" in kitchen.refuses(f"kitchen --limits {tmp_path}/empty.toml --by AR")
    kitchen.says("kitchen --no-local-limits --by AR")
    kitchen.says("kitchen --guard 0F --by AR")


def test_seconds_over_the_limit_are_seen_in_the_sentence(kitchen: Kitchen) -> None:
    log(kitchen, ("13:00:10", "cool stew 135"), ("15:00:40", "cool stew 70"))
    assert "2 h 01 min" in kitchen.says("show stew")


def test_a_page_prints_every_limit_that_judged_something_on_it(kitchen: Kitchen) -> None:
    """A batch goes on to be judged by the set of its beginning, and that set is printed."""
    log(kitchen, ("14:00", "cook stew 165"), ("18:00", "cool stew 38"))
    kitchen.at("2026-10-27T08:00-06:00")
    kitchen.says("kitchen --limit-set new-york-14-1 --by AR")
    kitchen.says('batch "pea soup" --code peas')
    kitchen.at("2026-10-28T08:00-06:00")
    kitchen.says("hold stew 39")
    record = open_record(kitchen.path, create=False)
    printed = gather(
        record, read_register(record), date(2026, 10, 28), date(2026, 10, 28), kitchen.now
    )
    told = printed.words["limits"]
    assert told["name"].startswith("New York State")
    assert [row[2].split(";")[0] for row in told["changes"]] == [
        "FDA Food Code 2022, revision 1",
        told["name"],
    ]
    cold = {row["limit"]: row["text"] for row in told["rows"] if "Cold holding" in row["limit"]}
    assert len(cold) == 2
    assert any("41 °F" in text for text in cold.values())
    assert any("45 °F" in text for text in cold.values())
    basis = {row["limit"]: row["basis"] for row in told["rows"]}
    assert basis["Date mark"] == "not read for this jurisdiction; the Food Code's number stands in"
    assert basis["Cold holding"] == "verified"
    record.close()


def test_two_ways_of_heating_at_once_are_refused(kitchen: Kitchen) -> None:
    assert "microwave and initial" in kitchen.refuses("cook stew 165 --microwave --initial")
    assert "6 h and opened" in kitchen.refuses("time stew 40 --six-hours --opened")


def test_no_oven_is_as_hot_as_a_slip_of_the_finger(kitchen: Kitchen) -> None:
    assert "No oven is at 2300 °F" in kitchen.refuses("cook stew 165 --oven 2300")


@pytest.mark.parametrize("columns", [80, 120])
def test_a_table_never_runs_over_the_terminals_edge(
    kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch, columns: int
) -> None:
    log(
        kitchen,
        ("13:00", "cook stew 150"),
        ("13:10", "hold stew 120"),
        ("13:11", "hold well-1 120"),
    )
    monkeypatch.setenv("COLUMNS", str(columns))
    kitchen.at("2026-11-20T12:00-07:00")
    lines = kitchen.says("status").splitlines()
    assert max(map(len, lines)) <= columns
    assert "something of it was left" in " ".join(" ".join(lines).split())


def test_columns_wider_than_the_terminal_are_broken_between_words(
    kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch
) -> None:
    food = "stew of white beans with smoked pork shoulder, peppers and a mustard glaze"
    kitchen.at("2026-10-26T12:05-06:00")
    kitchen.says(f'batch "{food}" --code the-very-long-code-of-a-batch-of-stew --by JM')
    log(kitchen, ("12:10", "cool the-very 150"))
    monkeypatch.setenv("COLUMNS", "80")
    said = kitchen.says("status")
    assert max(map(len, said.splitlines())) <= 80
    assert f"{food} (the-very-long-code-of-a-batch-of-stew) OPEN" in " ".join(said.split())


def test_nothing_is_styled_where_a_person_asked_for_plain_text(
    kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("FORCE_COLOR", "1")
    monkeypatch.setenv("NO_COLOR", "1")
    styled = CliRunner().invoke(
        cli, ["list", "units"], obj=Session(kitchen.path, lambda: kitchen.now), color=True
    )
    assert "well-1" in styled.output
    assert "\x1b" not in styled.output
