"""Whether a food needs time and temperature control at all: 1-201.10. The foods are invented."""

from tests.kitchens import Kitchen, log, matters


def test_what_is_no_tcs_food_is_judged_by_no_limit_from_a_managers_word_on(
    kitchen: Kitchen,
) -> None:
    log(kitchen, ("12:10", "cool stew 120"))
    assert "no manager" in kitchen.refuses("tcs stew --ph 3.7")
    assert "treated as TCS" in kitchen.says("tcs stew --ph 4.7 --aw 0.95 --by AR")
    assert matters(kitchen, "stew") == ["not shown", "not shown"]
    assert "no limit here binds it" in kitchen.says("tcs stew --ph 3.7 --aw 0.91 --by AR")
    number = kitchen.entries()[-1]["seq"]
    kitchen.at("2026-11-12T12:00-07:00")
    assert matters(kitchen, "stew") == []
    assert "USE BY" not in kitchen.says("label stew")
    kitchen.says("split stew 2")
    assert matters(kitchen, "stew-a") == []
    kitchen.says(f'correct {number} --withdraw --reason "of another pot"')
    assert "not met" in matters(kitchen, "stew-a"), "past its day, as it would have been"


def test_a_mixture_is_no_tcs_food_only_if_all_of_it_is_none(kitchen: Kitchen) -> None:
    kitchen.says("batch jam --code a")
    kitchen.says("batch jam --code b")
    kitchen.says("tcs a --ph 3.7 --aw 0.9 --by AR")
    kitchen.says("merge a b --code jar")
    assert "USE BY" in kitchen.says("label jar")


def test_the_tool_goes_no_further_than_the_tables(kitchen: Kitchen) -> None:
    assert "3-502.11" in kitchen.refuses("tcs stew --ph 3.7 --to-preserve --by AR")
