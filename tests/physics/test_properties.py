"""Composition in, conductivity, density and specific heat out; slips are refused in a sentence."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from haccp.errors import Refused
from haccp.physics.properties import Composition, foods, properties

STEW = Composition(75.51, 5.71, 5.49, 11.91, 4.4, 1.38)


def test_fibre_is_part_of_the_carbohydrate_and_all_make_one() -> None:
    fractions = STEW.fractions()
    assert sum(fractions.values()) == pytest.approx(1)
    assert fractions["carbohydrate"] == pytest.approx(7.51 / 100)
    assert fractions["fibre"] == pytest.approx(4.4 / 100)


def test_a_table_that_misses_a_gram_is_taken_for_a_hundred() -> None:
    beef = Composition(61.97, 28.31, 9.65, 0, 0, 1.1)
    assert beef.total == pytest.approx(101.03)
    assert sum(beef.fractions().values()) == pytest.approx(1)


@pytest.mark.parametrize(
    ("grams", "said"),
    [
        ((75.51, 5.71, 54.9, 11.91, 4.4, 1.38), "make 149.41 g, not 100 g"),
        ((75.51, -5.71, 5.49, 11.91, 4.4, 1.38), "protein cannot be -5.71"),
        ((75.51, 5.71, 5.49, 11.91, 44, 1.38), "Fibre (44 g) is more than the carbohydrate"),
        ((75.51, float("nan"), 5.49, 11.91, 4.4, 1.38), "protein cannot be nan"),
    ],
)
def test_a_slip_in_a_composition_is_refused(grams: tuple[float, ...], said: str) -> None:
    with pytest.raises(Refused, match=re.escape(said)):
        Composition(*grams)


@pytest.mark.parametrize("celsius", [-0.1, 150.1, float("nan")])
def test_frozen_and_fried_food_is_refused(celsius: float) -> None:
    with pytest.raises(Refused, match="from 0 to 150 °C"):
        properties(STEW, celsius)


@given(st.floats(0, 100), st.floats(0, 100))
def test_a_mixture_lies_between_what_it_is_made_of(water: float, celsius: float) -> None:
    wet, dry = properties(Composition(100, 0, 0, 0, 0, 0), celsius), properties(
        Composition(0, 0, 100, 0, 0, 0), celsius
    )  # fmt: skip
    mixed = properties(Composition(water, 0, 100 - water, 0, 0, 0), celsius)
    for name in ("k", "rho", "cp"):
        low, high = sorted((getattr(wet, name), getattr(dry, name)))
        assert low - 1e-9 <= getattr(mixed, name) <= high + 1e-9


def test_every_food_that_ships_says_where_its_figures_stand() -> None:
    assert len(foods()) == 15
    told = {key for key, food in foods().items() if "from memory" in food.source}
    assert told == {"vegetable-soup"}
    known = [food for key, food in foods().items() if key not in told]
    assert all(re.fullmatch(r"USDA SR26, NDB \d{5}", food.source) for food in known)
    assert "air" in (foods()["rice"].caution or "")
