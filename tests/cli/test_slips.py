"""What looks like a slip is asked about, bad input gets one sentence, and nothing is recorded."""

import pytest

from tests.kitchens import Kitchen, flat, log


@pytest.mark.parametrize(
    ("command", "words"),
    [
        ("receive milk hot", "is not a temperature"),
        ("receive milk 40 --use-by never", "is not a day"),
        ("receive milk 40 --as warm", "is not one of"),
        ("receive milk 40 --kind dragon", "is no kind of food"),
        ("receive milk 40 --code stew", "exists already"),
        ("reject stew x", "was made here"),
        ("batch r --kind 'whole roast'", "how it is cooked"),
        ("batch r --kind 'whole roast' --oven convection", "add --weight"),
        ("batch r --kind 'whole roast' --oven none --weight heavy", "is no weight"),
        ("batch r --oven convection", "are for a whole roast"),
        ("split soup 2", "There is no open batch"),
        ("split stew 0", "Invalid value"),
        ("split stew 27", "Invalid value"),
        ("merge stew", "two different batches"),
        ("merge stew stew", "two different batches"),
        ("rename stew well-1", "exists already"),
        ("rename stew 'a b'", "cannot be a name"),
        ("freeze stew 11:00", "was opened at 12:00"),
        ("cook stew 165 --oven warm", "is not a temperature"),
        ("time stew lukewarm", "is not a temperature"),
        ("tcs stew --by AR", "Neither pH nor water activity"),
        ("tcs --ph x", "is no pH"),
        ("tcs --ph nan", "is no pH"),
        ("tcs --aw 1.01", "is no water activity"),
        ("ice T9 32F", "There is no thermometer"),
        ("boil T1 hot", "is not a temperature"),
        ("boil T1 202F --barometer much", "is no air pressure"),
        ("trust T9 x --by AR", "There is no thermometer"),
        ("release ghost x --by AR", "There is no batch"),
        ("trace ghost", "There is no batch"),
        ("label well-1", "is a unit"),
        ("action ghost", "There is no batch"),
    ],
)
def test_bad_input_of_the_whole_job_gets_one_sentence(
    kitchen: Kitchen, command: str, words: str
) -> None:
    assert words in kitchen.refuses(command)


def test_a_temperature_can_be_typed_in_the_other_degree(kitchen: Kitchen) -> None:
    assert log(kitchen, ("13:00", "hold well-1 57.0C")).startswith("OK")
    assert log(kitchen, ("13:01", "hold well-1 134.6F")).startswith("TOO COLD")


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


def test_a_reading_before_the_batch_was_opened_is_asked_about(kitchen: Kitchen) -> None:
    kitchen.at("2026-10-26T14:10-06:00")
    assert "before stew was opened" in kitchen.refuses("cool stew 98 2:05")


def test_a_name_means_one_thing(kitchen: Kitchen) -> None:
    assert "exists already" in kitchen.refuses("batch x --code Stew")
    assert "exists already" in kitchen.refuses("batch x --code well-1")
    assert "another name" in kitchen.refuses("add unit stew hot --by AR")
    assert "is empty" in kitchen.refuses('cool "" 98')


def test_usage_errors_are_one_line_too(kitchen: Kitchen) -> None:
    assert "What temperature?" in kitchen.refuses("cool stew")
    assert "There is no command 'cooll': did you mean cool?" in kitchen.refuses("cooll stew 98")


def test_two_ways_of_heating_at_once_are_refused(kitchen: Kitchen) -> None:
    assert "microwave and initial" in kitchen.refuses("cook stew 165 --microwave --initial")
    assert "6 h and opened" in kitchen.refuses("time stew 40 --six-hours --opened")


def test_no_oven_is_as_hot_as_a_slip_of_the_finger(kitchen: Kitchen) -> None:
    assert "No oven is at 2300 °F" in kitchen.refuses("cook stew 165 --oven 2300")


@pytest.mark.parametrize(
    ("before", "typed", "asked"),
    [
        ("cool stew 134", "cool stew 38", "if degrees C were meant, type 38C"),
        ("cool stew 57.2C", "cool stew 57", "if degrees C were meant, type 57C"),
        ("cook stew 199", "hold stew 65", "if degrees C were meant, type 65C"),
        ("cool stew 100", "cool stew 102.5", "warmer than the 100 °F before it"),
        ("cook stew 120", "cook stew 166 --held 15min", "does not fit 120 °F at 12:10"),
        ("cool stew 98", "cool stew 98", "is on record already"),
    ],
)
def test_what_looks_like_a_slip_is_asked_about(
    kitchen: Kitchen, before: str, typed: str, asked: str
) -> None:
    log(kitchen, ("12:10", before))
    minute = "12:10" if "already" in asked else "12:20"
    kitchen.at(f"2026-10-26T{minute}-06:00")
    assert asked in flat(kitchen.refuses(typed))
    assert "°F" in kitchen.says(f"{typed} --yes")


@pytest.mark.parametrize(
    ("before", "typed"),
    [
        ("cool stew 135", "cool stew 98"),
        ("cool stew 134", "cool stew 38C"),
        ("cool stew 134", "cool stew 70"),
        ("cook stew 199", "hold stew 150"),
    ],
)
def test_what_food_may_do_is_not_asked_about(kitchen: Kitchen, before: str, typed: str) -> None:
    log(kitchen, ("12:10", before), ("12:30", typed))


@pytest.mark.parametrize(
    ("typed", "asked"),
    [
        ("cool stew 6", "6 °F is frozen: if degrees C were meant, type 6C"),
        ("hold walk-in 7", "7 °F is frozen"),
        ("receive milk 7 --code milk", "7 °F is frozen"),
        ("cook stew 120C", "hotter than food that holds water"),
        ("hold stew 150", "no cold holding, which stew is in"),
    ],
)
def test_numbers_that_fit_another_degree_or_step_are_asked_about(
    kitchen: Kitchen, typed: str, asked: str
) -> None:
    log(kitchen, ("12:10", "cool stew 50"))
    kitchen.at("2026-10-26T13:20-06:00")
    assert asked in flat(kitchen.refuses(typed))
    assert "°" in kitchen.says(f"{typed} --yes")


def test_frozen_food_is_not_asked_about(kitchen: Kitchen) -> None:
    kitchen.says("add unit freezer frozen --by AR")
    log(kitchen, ("12:10", "hold freezer -4"), ("12:11", "receive peas 5 --as frozen --code peas"))
    log(
        kitchen,
        ("12:20", "hold walk-in 2C"),
        ("12:30", "freeze stew"),
        ("14:00", "prepare peas 20"),
    )
