"""The lines of an answer: how many, in which order, and what of them is left out first."""

from haccp.cli.answer import Answer
from haccp.cli.wrapping import broken
from tests.kitchens import Kitchen, flat, log


def rows(lines: list[str]) -> list[str]:
    return [row for line in lines for row in broken(line, 80)]


def test_what_is_least_needed_is_left_out_first() -> None:
    long = " ".join(["word"] * 14) + "."
    answer = Answer(
        first=("TOO COLD.", "Why."),
        now=(long,),
        trouble=(f"UNDECIDED: {long}", "Decide."),
        estimate=(f"Estimate {long}",),
        where=("There.",),
        is_bad=True,
    )
    lines = answer.lines()
    assert len(rows(lines)) <= 5
    assert "There." in lines and answer.estimate[0] not in lines
    crowded = Answer(first=("A.", long, long), now=(long, long), trouble=(long, long), is_bad=True)
    assert len(rows(crowded.lines())) <= 5
    assert [line.split()[0] for line in crowded.lines()] == ["A.", "word", "word"]


def test_a_round_has_one_line_of_what_is_fine_and_more_of_what_is_not() -> None:
    fine = Answer(first=("OK.",), now=("Later.",), is_bad=False)
    bad = Answer(first=("TOO COLD.",), now=("Now.",), is_bad=True)
    assert fine.in_a_round() == ["OK."]
    assert bad.in_a_round() == ["TOO COLD.", "Now."]


def test_what_stands_in_quotes_stays_in_one_row() -> None:
    found = broken('a b haccp discard stew "thrown away at once" c', 24)
    assert found == ["a b haccp discard stew", '"thrown away at once" c']


def test_a_delivery_is_told_where_it_goes_and_when_it_is_looked_at(kitchen: Kitchen) -> None:
    said = log(kitchen, ("12:10", "receive chicken 33 --code chicken"))
    assert said.splitlines() == [
        "OK chicken 33 °F.",
        "Now: Put it into walk-in at once, and check that by 16:10.",
    ]


def test_a_reading_that_a_cooler_one_of_its_minute_outweighs_says_so(kitchen: Kitchen) -> None:
    log(kitchen, ("12:05", "cook stew 199"), ("12:40", "cool stew 135"), ("14:00", "cool stew 68"))
    log(kitchen, ("17:00", "cool stew 40"), ("18:00", "reheat stew 41"))
    said = log(kitchen, ("18:00", "reheat stew 167 --held 15 --yes"))
    assert said.startswith("NOT PROVEN stew 167 °F. It does not count: 41 °F is logged for the")
    assert "Measure it again in a minute" in said
    assert log(kitchen, ("18:02", "reheat stew 167 --held 15")).startswith("OK stew 167 °F.")


def test_food_that_is_read_without_its_unit_stays_there(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "cook stew 199"), ("12:20", "hold stew 180 --in well-1"))
    assert "It stands in well-1: check that by 14:00." in log(kitchen, ("13:00", "hold stew 170"))


def test_a_units_good_reading_names_the_food_in_it_that_may_not_be_served(
    kitchen: Kitchen,
) -> None:
    log(kitchen, ("12:10", "cook stew 199"), ("12:20", "hold stew 180 --in well-1"))
    log(kitchen, ("12:40", "hold stew 120"))
    said = log(kitchen, ("12:50", "hold well-1 150"))
    assert said.startswith("CHECK THE FOOD well-1 150 °F. In limits now. Not to be served")
    assert "stew" in said.splitlines()[0]
    log(kitchen, ("12:55", "set-apart stew"))
    assert log(kitchen, ("13:00", "hold well-1 150")).startswith("OK well-1 150 °F. Next check")


def test_numbers_and_citations_are_told_by_show(kitchen: Kitchen) -> None:
    said = log(kitchen, ("14:00", "cool stew 135"), ("16:05", "cool stew 75"))
    shown = flat(kitchen.says("show stew"))
    for told in ("3-501.14(A)(1)", "at least 2 h 05 min after the start; the limit is 2 h"):
        assert told in shown and told not in flat(said)


def test_hot_food_that_nobody_looked_at_all_night_is_not_called_ok(kitchen: Kitchen) -> None:
    """Worked: cooked 199 at 20:00, read 199 at 09:00: hot, unwatched for 13 h."""
    kitchen.at("2026-10-26T20:00-06:00")
    kitchen.says("cook stew 199")
    kitchen.at("2026-10-27T09:00-06:00")
    said = kitchen.says("hold stew 199 --in well-1")
    assert said.startswith("DO NOT SERVE stew 199 °F."), said


def test_an_hour_too_long_between_two_looks_leaves_ok_and_is_told(kitchen: Kitchen) -> None:
    kitchen.at("2026-10-26T12:10-06:00")
    kitchen.says("cook stew 199")
    kitchen.at("2026-10-26T12:30-06:00")
    kitchen.says("hold stew 180 --in well-1 --yes")
    kitchen.at("2026-10-26T14:50-06:00")
    said = kitchen.says("hold stew 170")
    assert said.startswith("OK stew 170 °F."), said
    assert "UNDECIDED" in said
