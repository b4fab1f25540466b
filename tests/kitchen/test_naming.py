"""What a name means that somebody types, also when its batch is gone. The kitchen is invented."""

import pytest

from haccp.kitchen.naming import Names
from haccp.record.bodies import BatchOpened
from tests.kitchens import Kitchen


@pytest.fixture
def kitchen(first_day: Kitchen) -> Kitchen:
    return first_day


@pytest.mark.parametrize(
    ("command", "became"),
    [
        ('discard k1 "dropped"', "k1 was discarded on Mon 2 Nov at 08:05, see haccp show k1\n"),
        ("used k1", "k1 was used up on Mon 2 Nov at 08:05, see haccp show k1\n"),
        ("merge k1 k2 --code all", "k1 went into all on Mon 2 Nov at 08:05, type all.\n"),
        (
            "split k1 3",
            "k1 went into k1-a, k1-b and k1-c on Mon 2 Nov at 08:05, type k1-a, k1-b or k1-c.\n",
        ),
    ],
)
@pytest.mark.parametrize("again", ["cool k1 98", "hold k1 140", "used k1", 'discard k1 "x"'])
def test_a_name_of_a_batch_that_is_gone_is_answered_with_what_became_of_it(
    kitchen: Kitchen, command: str, became: str, again: str
) -> None:
    kitchen.says(command)
    assert kitchen.refuses(again).endswith(f"'k1' any more: {became}")


def test_a_whole_name_of_a_batch_that_is_gone_is_not_the_beginning_of_another(
    kitchen: Kitchen,
) -> None:
    kitchen.says('batch "rice" --code k10')
    kitchen.says('discard k1 "dropped"')
    assert "k1 was discarded" in (said := kitchen.refuses("cool k1 98"))
    assert said.endswith("type more of k10.\n")


def test_the_beginning_of_a_batch_that_is_gone_is_known_too(kitchen: Kitchen) -> None:
    kitchen.says('batch "white-bean stew"')
    kitchen.says("used white")
    assert "white-bean-stew-1102 was used up" in kitchen.refuses("cool white 98")
    assert "There is no open batch 'soup': type one of k1, k2." in kitchen.refuses("cool soup 98")


def test_a_containers_name_is_found_after_its_batch_is_gone(kitchen: Kitchen) -> None:
    kitchen.says("rename k1 pan-1")
    kitchen.says("used pan-1")
    assert "k1 was used up" in kitchen.refuses("cool pan-1 98")
    for command in ("trace", "show"):
        assert kitchen.says(f"{command} pan-1").startswith("bean stew (k1, pan-1): ")


def test_a_containers_name_means_the_batch_that_has_it_now(kitchen: Kitchen) -> None:
    kitchen.says("rename k1 pan-1")
    kitchen.says("used k1")
    kitchen.says("rename k2 pan-1")
    assert kitchen.says("show pan-1").startswith("bean stew (k2, pan-1): ")


def test_names_are_listed_as_a_person_looks_for_them(kitchen: Kitchen) -> None:
    kitchen.says("split k1 3 --keep")
    assert "could be k1-a, k1-b or k1-c:" in kitchen.refuses("cool k1- 98")
    for number in (10, 9):
        kitchen.says(f'batch "rice" --code r-{number}')
    assert "could be r-9 or r-10:" in kitchen.refuses("cool r 98")


@pytest.mark.parametrize(
    "said", ["rice", "brown rice", '"brown rice"', "rice-1", "RICE-1", "BrownRice"]
)
def test_one_open_batch_of_a_food_is_called_by_any_word_of_it(kitchen: Kitchen, said: str) -> None:
    kitchen.says('batch "brown rice" --code rice-1')
    kitchen.says(f"cook {said} 166")
    assert kitchen.entries()[-1]["batch"] == "rice-1"


def test_a_word_of_two_open_foods_asks_which_and_of_one_that_is_left_does_not(
    kitchen: Kitchen,
) -> None:
    kitchen.says('batch "brown rice" --code r1')
    kitchen.says('batch "rice pudding" --code p1')
    assert "'rice' could be p1 or r1: type more of it." in kitchen.refuses("cook rice 166")
    kitchen.says("used p1")
    kitchen.says("cook rice 166")
    assert kitchen.entries()[-1]["batch"] == "r1"


def test_a_code_typed_whole_is_meant_before_a_food_of_that_name(kitchen: Kitchen) -> None:
    kitchen.says("batch rice --code r1")
    kitchen.says('batch "barley" --code rice')
    kitchen.says("cook rice 166")
    assert kitchen.entries()[-1]["batch"] == "rice"


def test_a_portion_is_called_by_its_letter_where_no_other_has_it(kitchen: Kitchen) -> None:
    kitchen.says("split k1 2")
    kitchen.says("cook b 166")
    assert kitchen.entries()[-1]["batch"] == "k1-b"
    kitchen.says("split k2 2")
    assert "'b' could be k1-b or k2-b" in kitchen.refuses("cook b 167")


def test_what_differs_by_its_hyphens_alone_is_no_new_name(kitchen: Kitchen) -> None:
    kitchen.says("add unit well-1 hot")
    assert "well-1 exists already" in kitchen.refuses("batch rice --code well1")
    assert "k1 exists already" in kitchen.refuses("rename k2 k-1")
    assert "another name" in kitchen.refuses("add unit Well.1 hot")


def test_a_units_number_never_becomes_anothers(kitchen: Kitchen) -> None:
    for name in ("well-1", "well-2"):
        kitchen.says(f"add unit {name} hot")
    kitchen.says("add unit freezer frozen --retired")
    kitchen.says("add unit well-1 hot --every 30")
    kitchen.says("hold 3 151")
    assert kitchen.entries()[-1]["unit"] == "well-2"
    assert "Of what? Here are k1, k2, well-1 (2), well-2 (3)" in kitchen.refuses("hold 1 151")


def test_the_commonest_line_reads_no_food(
    kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch
) -> None:
    kitchen.says("add unit well-1 hot")
    asked = []

    def told(names: Names) -> dict[str, BatchOpened]:
        asked.append(names)
        return {}

    monkeypatch.setattr(Names, "foods", property(told))
    kitchen.says("hold well-1 151 08:01")
    kitchen.says("cook k1 166")
    assert not asked
    kitchen.refuses("cook bean 167")
    assert asked, "a word of a food is looked for without its foods"
