"""What food is cooled with and in: one table of words, in every spelling."""

import pytest

from haccp.equipment import METHODS, THINGS, in_one_spelling, name_of, named_in, parse_method
from haccp.errors import Refused


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("walk-in", "walk-in"), ("walk in", "walk-in"), ("Walk-In cooler", "walk-in"),
        ("ice-bath", "ice bath"), ("ICE BATH", "ice bath"), ("ice water bath", "ice bath"),
        ("ice_wand", "ice wand"), ("blast-chiller", "blast chiller"), ("freezers", "freezer"),
        ("fridge", "refrigerator"), ("reach-in", "reach-in"),
    ],
)  # fmt: skip
def test_a_method_has_one_name(typed: str, name: str) -> None:
    assert parse_method(typed) == name


@pytest.mark.parametrize("name", sorted({*METHODS, *THINGS}))
def test_every_name_is_taken_with_a_hyphen_and_with_a_space(name: str) -> None:
    assert (
        name_of(name) == name_of(name.replace(" ", "-")) == name_of(name.replace("-", " ")) == name
    )


@pytest.mark.parametrize("typed", ["window", "", "ice", "fan"])
def test_what_cools_nothing_by_itself_is_no_method(typed: str) -> None:
    with pytest.raises(Refused, match="type one of walk-in, reach-in"):
        parse_method(typed)


def test_words_are_kept_and_known_ones_have_one_spelling() -> None:
    assert in_one_spelling("ice-bath, stirred") == "ice bath, stirred"
    assert in_one_spelling("shelf 3 by the door") == "shelf 3 by the door"


def test_what_a_method_names_is_found_anywhere_in_it() -> None:
    assert named_in("stirred in an ICE-BATH, then the walk-in") >= {"ice bath", "walk-in"}
    assert named_in("counter") == set()
