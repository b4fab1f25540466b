"""What a name means that somebody types, also when its batch is gone. The kitchen is invented."""

import pytest

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
            "k1 went into k1-a and k1-b and k1-c on Mon 2 Nov at 08:05, type k1-a or k1-b or k1-c.\n",
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
    assert "could be k1-a or k1-b or k1-c:" in kitchen.refuses("cool k1- 98")
    for number in (10, 9):
        kitchen.says(f'batch "rice" --code r-{number}')
    assert "could be r-9 or r-10:" in kitchen.refuses("cool r 98")
