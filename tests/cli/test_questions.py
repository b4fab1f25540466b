"""What is asked at the moment of entry: each question, its yes and its no, at a terminal and not."""

import pytest

from tests.kitchens import Kitchen, flat, log


def last_body(kitchen: Kitchen) -> dict[str, object]:
    body = kitchen.entries()[-1]["body"]
    assert isinstance(body, dict)
    return body


DOUBTFUL = [
    ("cool stew 135", "13:10", "cool stew 35", "if degrees C were meant, type 35C (95 °F)"),
    ("hold walk-in 38", "16:10", "hold walk-in 93", "if 39 °F was meant, type 39"),
    ("hold well-1 151", "13:10", "hold well-1 15", "if 151 °F was meant, type 151"),
    ("hold well-1 150", "13:10", "hold well-1 15", "if 150 °F was meant, type 150"),
    ("hold well-1 151", "13:10", "hold well-1 1.51", "if 151 °F was meant, type 151"),
    ("cool stew 135", "12:10", "cool stew 60", "food in bulk falls slower"),
    ("cook stew 199", "12:10", "hold stew 38 --in well-1", "so soon after 199 °F"),
]


@pytest.mark.parametrize(("before", "clock", "typed", "asked"), DOUBTFUL)
def test_a_doubtful_number_waits_for_a_yes(
    kitchen: Kitchen, before: str, clock: str, typed: str, asked: str
) -> None:
    log(kitchen, ("12:09", before))
    entries = len(kitchen.entries())
    kitchen.at(f"2026-10-26T{clock}-06:00")
    without = flat(kitchen.refuses(typed))
    assert asked in without
    assert "if it is right, type it again with --yes" in without
    no = kitchen.asks(typed, "n")
    assert no.exit_code == 2
    assert asked in flat(no.output)
    assert "Nothing was recorded" in no.output
    assert len(kitchen.entries()) == entries
    yes = kitchen.asks(typed, "y")
    assert yes.exit_code == 0, yes.output
    assert last_body(kitchen)["confirmed"] is True


def test_a_doubtful_number_is_recorded_with_yes_and_its_likelier_one_without(
    kitchen: Kitchen,
) -> None:
    log(kitchen, ("12:10", "cool stew 135"), ("13:10", "cool stew 35C"))
    assert not last_body(kitchen)["confirmed"]
    log(kitchen, ("13:20", "hold walk-in 38"), ("13:30", "hold walk-in 93 --yes"))
    assert last_body(kitchen)["confirmed"] is True


IMPOSSIBLE = [
    ("cook stew 1650", "1650 °F is no temperature of food: if 165 °F was meant, type 165"),
    ("hold well-1 1511", "if 151 °F was meant, type 151"),
    ("hold well-1 999", "type what the thermometer shows"),
    ("cool stew 215", "where water boils at 202.1 °F"),
    ("cool stew 102C", "where water boils at 94.5 °C"),
    ("cool stew -80", "is no temperature of food"),
    ("receive milk 400 --code milk", "No food is at 400 °F"),
]


@pytest.mark.parametrize(("typed", "words"), IMPOSSIBLE)
def test_an_impossible_number_is_refused_whatever_is_answered(
    kitchen: Kitchen, typed: str, words: str
) -> None:
    log(kitchen, ("12:10", "hold well-1 151"), ("12:30", "cook stew 150"))
    kitchen.at("2026-10-26T12:50-06:00")
    entries = len(kitchen.entries())
    assert words in flat(kitchen.refuses(typed))
    assert words in flat(kitchen.refuses(f"{typed} --yes"))
    at_a_terminal = kitchen.asks(typed, "y", "y")
    assert at_a_terminal.exit_code == 2
    assert "Record it?" not in at_a_terminal.output
    assert len(kitchen.entries()) == entries


def test_nothing_freezes_in_five_minutes(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "cool stew 135"))
    kitchen.at("2026-10-26T12:15-06:00")
    told = flat(kitchen.refuses("cool stew 9F --yes"))
    assert "nothing freezes so fast" in told
    assert "if that one is wrong, haccp amend it" in told


def test_a_correction_is_asked_about_and_refused_likewise(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "cool stew 135"), ("13:10", "cool stew 95"))
    assert "type 35C" in kitchen.refuses("correct stew 35 --reason typo")
    assert "no temperature of food" in kitchen.refuses("correct stew 1350 --reason typo --yes")
    kitchen.says("correct stew 97 --reason typo")


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("ice T1 212", "212 °F is what boiling water shows: if it stood in that, type haccp boil"),
        ("ice T1 212 --yes", "haccp boil T1 212F"),
        ("ice T1 3200 --yes", "No thermometer shows 3200 °F in ice"),
        ("boil T1 32 --yes", "haccp ice T1 32F"),
    ],
)
def test_the_wrong_water_is_no_failed_check(kitchen: Kitchen, typed: str, words: str) -> None:
    assert words in flat(kitchen.refuses(typed))
    assert kitchen.asks(typed, "y").exit_code == 2


@pytest.mark.parametrize(
    ("typed", "meant"), [("ice T1 0", "0C"), ("ice T1 320", "32"), ("boil T1 94", "94C")]
)
def test_a_check_in_the_other_degree_is_asked_about(
    kitchen: Kitchen, typed: str, meant: str
) -> None:
    assert f"type {meant}" in kitchen.refuses(typed)
    assert kitchen.asks(typed, "n").exit_code == 2
    assert "FAILED" in kitchen.asks(typed, "y").output
    assert kitchen.says(f"{' '.join(typed.split()[:2])} {meant}").startswith("OK ") or "94" in typed


def test_a_thermometer_that_is_wrong_in_ice_fails_without_a_question(kitchen: Kitchen) -> None:
    assert "FAILED" in kitchen.asks("ice T1 45").output


def cold_stew(kitchen: Kitchen) -> None:
    log(
        kitchen,
        ("12:05", "cook stew 199"),
        ("12:40", "cool stew 135"),
        ("14:00", "cool stew 68"),
        ("17:00", "cool stew 40"),
        ("18:00", "reheat stew 41"),
    )


def test_a_hot_reheat_without_a_hold_is_asked_for_its_15_seconds(kitchen: Kitchen) -> None:
    cold_stew(kitchen)
    kitchen.at("2026-10-26T18:40-06:00")
    result = kitchen.asks("reheat stew 168", "y")
    assert "Was it at 165 °F or above for 15 s?" in result.output
    assert "OK stew 168 °F." in result.output
    assert last_body(kitchen)["held_s"] == "15"


def test_a_no_to_the_15_seconds_records_the_reading_without_them(kitchen: Kitchen) -> None:
    cold_stew(kitchen)
    kitchen.at("2026-10-26T18:40-06:00")
    result = kitchen.asks("reheat stew 168", "n")
    assert result.exit_code == 0
    assert "165 °F or above for 15 s" in flat(result.stdout)
    assert last_body(kitchen)["held_s"] == "0"
    assert "NOT PROVEN stew 168 °F." in result.stdout


def test_without_a_terminal_the_15_seconds_are_not_asked(kitchen: Kitchen) -> None:
    cold_stew(kitchen)
    told = log(kitchen, ("18:40", "reheat stew 168"))
    assert told.startswith("NOT PROVEN stew 168 °F. Nothing shows 165 °F or above for 15 s.")
    assert "(haccp reheat stew 168 --held 15)" in told, "the finished command"
    assert last_body(kitchen)["held_s"] == "0"


@pytest.mark.parametrize(
    "typed", ["reheat stew 168 --held 15", "reheat stew 150", "reheat stew 168 --microwave"]
)
def test_what_is_no_missing_hold_is_not_asked(kitchen: Kitchen, typed: str) -> None:
    cold_stew(kitchen)
    kitchen.at("2026-10-26T18:40-06:00")
    assert "for 15 s?" not in kitchen.asks(typed).output


def test_a_hold_that_two_readings_show_is_not_asked(kitchen: Kitchen) -> None:
    cold_stew(kitchen)
    log(kitchen, ("18:40", "reheat stew 168"))
    kitchen.at("2026-10-26T18:42-06:00")
    result = kitchen.asks("reheat stew 170")
    assert "?" not in result.output
    assert "OK stew 170 °F." in result.output


def test_food_that_no_limit_binds_is_not_asked_about(kitchen: Kitchen) -> None:
    kitchen.says("batch glaze --code glaze")
    kitchen.says("tcs glaze --ph 3.9 --aw 0.84 --by AR")
    kitchen.at("2026-10-26T12:20-06:00")
    assert "?" not in kitchen.asks("reheat glaze 168").output


def test_a_cook_s_row_is_asked_for_its_own_hold(kitchen: Kitchen) -> None:
    kitchen.says("batch burger --code burger --kind 'ground meat'")
    kitchen.at("2026-10-26T12:20-06:00")
    result = kitchen.asks("cook burger 156", "y")
    assert "Was it at 155 °F or above for 17 s?" in result.output
    assert last_body(kitchen)["held_s"] == "17"


def taken_cold(kitchen: Kitchen) -> None:
    log(kitchen, ("12:05", "cook stew 199"), ("12:40", "cool stew 135"), ("14:00", "cool stew 68"))
    log(kitchen, ("17:00", "cool stew 40"))


def taken_out(kitchen: Kitchen) -> list[object]:
    return [one["at"] for one in kitchen.entries() if one["kind"] == "taken out"]


def test_a_warm_first_reheat_asks_when_it_was_taken_out(kitchen: Kitchen) -> None:
    taken_cold(kitchen)
    kitchen.at("2026-10-26T20:00-06:00")
    result = kitchen.asks("reheat stew 90", "19:30")
    assert result.exit_code == 0, result.output
    assert "When was it taken out of the cold?" in result.output
    assert taken_out(kitchen) == ["2026-10-27T01:30:00Z"]


def test_who_does_not_know_when_says_nothing(kitchen: Kitchen) -> None:
    taken_cold(kitchen)
    kitchen.at("2026-10-26T20:00-06:00")
    assert kitchen.asks("reheat stew 90", "").exit_code == 0
    assert last_body(kitchen)["note"] == ""


def test_a_moment_that_cannot_be_is_asked_for_again(kitchen: Kitchen) -> None:
    taken_cold(kitchen)
    kitchen.at("2026-10-26T20:00-06:00")
    result = kitchen.asks("reheat stew 90", "16:00", "soon", "19:40")
    assert result.exit_code == 0
    assert result.output.count("When was it taken out") == 3
    assert "after its last reading" in result.output
    assert "is not a time" in result.output
    assert taken_out(kitchen) == ["2026-10-27T01:40:00Z"]


def test_without_a_terminal_nobody_is_asked_when(kitchen: Kitchen) -> None:
    taken_cold(kitchen)
    log(kitchen, ("20:00", "reheat stew 90"))
    assert last_body(kitchen)["note"] == ""


@pytest.mark.parametrize(
    ("before", "clock", "typed"),
    [
        ([("17:00", "cool stew 40")], "20:00", "reheat stew 40"),
        ([("17:00", "cool stew 40")], "17:10", "reheat stew 60"),
        ([("15:00", "cool stew 60")], "15:30", "reheat stew 60"),
        ([("17:00", "cool stew 40"), ("18:00", "reheat stew 41")], "18:30", "reheat stew 120"),
    ],
)
def test_when_it_was_taken_out_is_not_asked_where_the_record_says(
    kitchen: Kitchen, before: list[tuple[str, str]], clock: str, typed: str
) -> None:
    log(kitchen, ("12:05", "cook stew 199"), ("12:40", "cool stew 135"), ("14:00", "cool stew 68"))
    log(kitchen, *before)
    kitchen.at(f"2026-10-26T{clock}-06:00")
    assert "taken out" not in kitchen.asks(typed).output


def test_a_stop_in_the_middle_of_the_questions_records_nothing(kitchen: Kitchen) -> None:
    taken_cold(kitchen)
    entries = len(kitchen.entries())
    kitchen.at("2026-10-26T20:00-06:00")
    result = kitchen.asks("reheat stew 168", "y")  # and no answer to when
    assert result.exit_code == 130
    assert "Nothing was recorded" in result.output
    assert len(kitchen.entries()) == entries


@pytest.mark.parametrize(
    "typed", ["y", "Y", "yes", "YES", "s", "S", "si", "sí", "SÍ", "s\u0069\u0301"]
)
def test_a_yes_in_either_language_is_one(kitchen: Kitchen, typed: str) -> None:
    assert kitchen.asks("cook stew 400C", typed).exit_code == 2, "impossible stays so"
    log(kitchen, ("12:10", "hold well-1 151"))
    kitchen.at("2026-10-26T12:20-06:00")
    assert kitchen.asks("hold well-1 15", typed).exit_code == 0
    assert last_body(kitchen)["confirmed"] is True


@pytest.mark.parametrize("typed", ["n", "N", "no", "No", "NO", ""])
def test_a_no_in_either_language_is_one(kitchen: Kitchen, typed: str) -> None:
    log(kitchen, ("12:10", "hold well-1 151"))
    assert kitchen.asks("hold well-1 15", typed).exit_code == 2
    assert last_body(kitchen)["temp"] == "151"


def test_a_line_typed_at_a_question_is_told_to_be_lost(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "hold well-1 151"))
    kitchen.at("2026-10-26T12:20-06:00")
    said = kitchen.asks("hold well-1 15", "haccp hold walk-in 38", "yep", "n")
    told = flat(said.output)
    assert "That was not an answer: 'haccp hold walk-in 38' was not taken." in told
    assert "That was not an answer: 'yep' was not taken." in told
    assert "Nothing was recorded" in told
    assert said.exit_code == 2
    lost = kitchen.asks("hold well-1 15", "haccp hold walk-in 38")
    assert "was not taken" in flat(lost.output)
    assert "Interrupted. Nothing was recorded." in flat(lost.output)
