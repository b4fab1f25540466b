"""Food that is in no table is counted as the nearest kind, and never as quicker than it may be."""

import pytest

from haccp.physics.conduction import Array
from haccp.physics.convection import STILL_AIR
from haccp.physics.cooling_cases import model_of
from haccp.physics.cooling_setup import Consistency, Medium, Pan, Setup, Stage
from haccp.physics.food_kinds import _kinds, cautious, nearest
from haccp.physics.properties import foods


@pytest.mark.parametrize(
    ("name", "like"),
    [
        ("borscht", "vegetable-soup"),
        ("chicken noodle soup", "vegetable-soup"),
        ("Sopa de pollo", "vegetable-soup"),
        ("BEEF CURRY, hot", "beef-stew"),
        ("rice pilaf", "rice"),
        ("consommé", "chicken-stock"),
        ("black beans", "pinto-beans"),
        ("carne asada", "roast-beef"),
        ("béchamel", "gravy"),
    ],
)
def test_the_nearest_kind_is_found_by_a_word(name: str, like: str) -> None:
    assert nearest(name) == foods()[like]


@pytest.mark.parametrize("name", ["moon cheese", "", "12", "souper", "x" * 80])
def test_where_no_word_tells_nothing_is_near(name: str) -> None:
    assert nearest(name) is None


def test_every_kind_is_a_food_of_the_table_and_no_word_stands_twice() -> None:
    kinds, nothing_near = _kinds()
    assert {like for like, _ in kinds} | {nothing_near} <= set(foods())
    words = [word for _, telling in kinds for word in telling]
    assert len(words) == len(set(words))


@pytest.mark.parametrize("inches", [2, 4])
def test_food_like_no_other_is_counted_as_slow(inches: float) -> None:
    """Thick, in still air, no food of the table takes a tenth longer than what it is counted as."""

    def middle(key: str) -> Array:
        setup = Setup(
            foods()[key].composition, Consistency.THICK, Pan(0.5, 0.3, inches * 0.0254),
            Medium(3.3, STILL_AIR), 57.2, (Stage(5.0, 360),),
        )  # fmt: skip
        return model_of(setup, 64).minutes_to(5.0)

    assert not cautious().thin
    counted = middle(next(key for key, food in foods().items() if food == cautious()))
    assert all((middle(key) < 1.1 * counted).all() for key in foods())
