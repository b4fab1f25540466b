"""Ways to make dangerous food look clean, typed as a cook would, and what the kitchen tells of each.

A case passes only where the danger is told twice: in `show --json` of what it is about and, as
nothing decides it, in `status --json`. All of it is invented; the paragraphs are of the Food Code
2022.
"""

import pytest

from tests.kitchen.dangers.answers import ANSWERED
from tests.kitchen.dangers.clocks import CLOCKS_STOPPED
from tests.kitchen.dangers.danger import Danger
from tests.kitchen.dangers.date_marks import DATE_MARKS
from tests.kitchen.dangers.heating import HEATING_CLOCKS, NOT_REHEATED
from tests.kitchen.dangers.nobody_looked import NOBODY_LOOKED
from tests.kitchen.dangers.raw_food import NEVER_COOKED
from tests.kitchen.dangers.standing_out import STANDING_OUT
from tests.kitchen.dangers.units import UNITS
from tests.kitchen.typed import deviations, type_in, undecided
from tests.kitchens import Kitchen

EVERY = [
    *UNITS, *STANDING_OUT, *HEATING_CLOCKS, *NOT_REHEATED, *NEVER_COOKED, *CLOCKS_STOPPED,
    *DATE_MARKS, *ANSWERED, *NOBODY_LOOKED,
]  # fmt: skip


@pytest.mark.parametrize("danger", EVERY, ids=[one.name for one in EVERY])
def test_what_is_hidden_is_told(line: Kitchen, danger: Danger) -> None:
    type_in(line, danger.typed)
    subject, told = danger.told.split(" ", 1)
    assert told in deviations(line, subject), deviations(line, subject)
    assert danger.told in undecided(line)


def test_each_of_them_is_another_one() -> None:
    assert len({one.typed for one in EVERY}) == len({one.name for one in EVERY}) == len(EVERY)


def test_a_weaker_kind_than_the_plan_s_is_a_manager_s_to_choose(line: Kitchen) -> None:
    type_in(line, '05:30 add food "chicken legs" --kind poultry --by AR', "06:00")
    for kind in ("intact meat", "plant food", "whole roast", "commercial package"):
        said = line.refuses(f'batch "Chicken legs" --code legs --kind "{kind}"')
        assert "poultry in the kitchen's plan" in said
        assert "in the kitchen's plan" in line.refuses(f'receive "chicken legs" 38 --kind "{kind}"')
    line.says('batch "chicken legs" --code as-planned --kind poultry')
    line.says('batch "chicken legs" --code stuffed --kind "stuffed food"')
    line.pin = "9999"
    assert "not the PIN" in line.refuses('batch "chicken legs" --code a --kind fish --by AR')
    line.pin = "2580"
    line.says('batch "chicken legs" --code a --kind fish --by AR')


def test_nothing_comes_as_shell_eggs_but_eggs(line: Kitchen) -> None:
    """3-202.11(C), 3-501.16(B): they may be warmer, in air of 45 °F."""
    line.at("2026-10-26T06:00-06:00")
    said = line.refuses("receive chicken 45 --as egg --kind poultry")
    assert "--as egg is for raw shell eggs, not for poultry" in said
    line.says("receive eggs 45 --as egg --kind egg")
