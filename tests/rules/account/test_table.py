"""The table of states: total, and each of its rows known to be right by an example of its own.

All readings are invented; the kitchen looks at hot food every hour and at cold food every four.
"""

from dataclasses import dataclass
from itertools import product
from pathlib import Path

import pytest

from haccp.printing.practice import PRACTICE
from haccp.rules.account import table
from haccp.rules.account.steps import TRAITS, Event
from haccp.rules.account.table import State, Zone, next_states, rows
from haccp.rules.account_in_words import ABOUT, WORDS
from haccp.rules.evidence import Step
from tests.rules.account.story import KITCHEN, states, told, verdicts


@dataclass(frozen=True)
class Example:
    """A life, the states it goes through and all that is found; a row's own."""

    story: str
    states: str
    findings: str
    kind: str = ""

    def outcome(self) -> tuple[str, str]:
        animal = bool(self.kind)
        judged = told(self.story, watch=KITCHEN, opened=0, kind=self.kind, animal=animal)
        return states(judged), ", ".join(verdicts(judged))


# One for each row of the table, in its order.
EXAMPLES = [
    Example(
        "used 0; cool 30 60",
        "not yet read > gone",
        "",
        kind="",
    ),
    Example(
        "used 0",
        "not yet read > gone",
        "",
        kind="",
    ),
    Example(
        "not TCS 0; cool 60 60",
        "not yet read > outside the limits",
        "",
        kind="poultry",
    ),
    Example(
        "not TCS 0",
        "not yet read > outside the limits",
        "",
        kind="",
    ),
    Example(
        "time control 0 20; cool 30 60",
        "not yet read > cold > timed",
        "time-control-cold not met",
        kind="",
    ),
    Example(
        "freeze 0; taken out 30",
        "not yet read > frozen > out",
        "time-out-allowed not shown",
        kind="",
    ),
    Example(
        "cool 0 140; taken out 10",
        "not yet read > resting > aside",
        "time-out-allowed not shown, cooling-stage-1 not shown, cooling-stage-2 not shown",
        kind="",
    ),
    Example(
        "cook 0 20; made 30",
        "not yet read > cold > heating > out",
        "time-out-allowed not shown, cook not met",
        kind="",
    ),
    Example(
        "freeze 0",
        "not yet read > frozen",
        "time-out-allowed not shown",
        kind="poultry",
    ),
    Example(
        "freeze 0; thaw 10",
        "not yet read > frozen > cold",
        "",
        kind="",
    ),
    Example(
        "made 0",
        "not yet read",
        "time-out-allowed not shown",
        kind="",
    ),
    Example(
        "freeze 0; check frozen 10 20 in freezer",
        "not yet read > frozen",
        "time-out-allowed not shown, frozen-holding met",
        kind="poultry",
    ),
    Example(
        "freeze 0; check frozen 60 38 in freezer",
        "not yet read > frozen > raw, cold",
        "frozen-holding not met",
        kind="poultry",
    ),
    Example(
        "freeze 0; check frozen 30 60 in freezer",
        "not yet read > frozen > out",
        "time-out-allowed not shown, frozen-holding not met",
        kind="poultry",
    ),
    Example(
        "freeze 0; moved 10 in walk-in; check cold 20 38 in walk-in",
        "not yet read > frozen > cold",
        "cold-holding met",
        kind="",
    ),
    Example(
        "cool 0 38; check cold 30 110 in walk-in",
        "not yet read > cooling > cold",
        "cooling-stage-1 not shown, cooling-stage-2 not shown, cold-holding not met",
        kind="",
    ),
    Example(
        "freeze 0; cool 10 20",
        "not yet read > frozen",
        "cold-holding met",
        kind="poultry",
    ),
    Example(
        "receive 0 20",
        "not yet read > frozen",
        "receiving-cold met",
        kind="poultry",
    ),
    Example(
        "thaw 0; cook 30 60 by initial",
        "not yet read > seared",
        "initial-heating not shown",
        kind="poultry",
    ),
    Example(
        "reheat 0 38; cook 60 38",
        "not yet read > raw, cold > heating",
        "cook not met",
        kind="poultry",
    ),
    Example(
        "hot hold 0 60; reheat 10 20; reheat 20 38",
        "not yet read > hot > cooling > cold > reheating",
        "hot-holding not met, cooling-stage-1 not shown, cooling-stage-2 not shown, reheat not met",
        kind="",
    ),
    Example(
        "cool 0 60; reheat 60 38",
        "not yet read > cooling > cold > reheating",
        "cooling-stage-1 not shown, cooling-stage-2 not shown, reheat not met",
        kind="",
    ),
    Example(
        "cool 0 110; time control 60 38",
        "not yet read > cooling > cold > timed",
        "cooling-stage-1 not shown, cooling-stage-2 not shown, time-control-cold not shown",
        kind="",
    ),
    Example(
        "cool 0 140; cool 60 20",
        "not yet read > resting > cooling > raw, cold",
        "cook not shown, cooling-stage-1 met, cooling-stage-2 met",
        kind="poultry",
    ),
    Example(
        "cook 0 38",
        "not yet read > raw, cold > heating",
        "cook not met",
        kind="poultry",
    ),
    Example(
        "time control 0 20",
        "not yet read > cold > timed",
        "time-control-cold not shown",
        kind="",
    ),
    Example(
        "cool 0 38",
        "not yet read > cooling > cold",
        "cooling-stage-1 not shown, cooling-stage-2 not shown",
        kind="",
    ),
    Example(
        "receive 0 38",
        "not yet read > raw, cold",
        "receiving-cold met",
        kind="poultry",
    ),
    Example(
        "hot hold 0 60; time control 10 60",
        "not yet read > hot > cooling > timed",
        "hot-holding not met, cooling-stage-1 not shown, cooling-stage-2 not shown, time-control-cold not met",
        kind="",
    ),
    Example(
        "time control 0 60",
        "not yet read > timed",
        "time-control-cold not met",
        kind="",
    ),
    Example(
        "receive by law 0 60",
        "not yet read > cooling",
        "cooling-received not shown",
        kind="",
    ),
    Example(
        "cool 0 60",
        "not yet read > cooling",
        "cooling-stage-1 not shown, cooling-stage-2 not shown",
        kind="",
    ),
    Example(
        "cold hold 0 60",
        "not yet read > cold",
        "cold-holding not met",
        kind="",
    ),
    Example(
        "hot hold 0 60",
        "not yet read > hot",
        "hot-holding not met",
        kind="",
    ),
    Example(
        "hot hold 0 140; hot hold 30 60",
        "not yet read > hot",
        "cook not shown, hot-holding not met",
        kind="poultry",
    ),
    Example(
        "hot hold 0 60; prepare 60 60",
        "not yet read > hot > aside",
        "time-out-allowed not shown, hot-holding not met, cooling-stage-1 not shown, cooling-stage-2 not shown",
        kind="",
    ),
    Example(
        "reheat 0 60; hot hold 10 60",
        "not yet read > reheating",
        "reheat not met, hot-holding not met",
        kind="",
    ),
    Example(
        "cook 0 20; cool 60 60",
        "not yet read > cold > heating > cooling",
        "cook not met, cooling-stage-1 not shown, cooling-stage-2 not shown",
        kind="",
    ),
    Example(
        "cool 0 140; reheat 10 110",
        "not yet read > resting > cooling > heating",
        "cook not shown, cooling-stage-1 not shown, cooling-stage-2 not shown, cook not met",
        kind="poultry",
    ),
    Example(
        "receive by law 0 38; cool 10 140; cook 40 60",
        "not yet read > cold > reheating > resting > cooling",
        "receiving-cold met, cold-holding not met, cooling-stage-1 met, cooling-stage-2 not shown, reheat not shown",
        kind="",
    ),
    Example(
        "freeze 0; cool 10 60",
        "not yet read > frozen > cold",
        "cold-holding not met",
        kind="",
    ),
    Example(
        "receive 0 20; hot hold 10 60",
        "not yet read > frozen > heating",
        "receiving-cold met, hot-holding not met",
        kind="poultry",
    ),
    Example(
        "cook 0 60",
        "not yet read > heating",
        "cook not met",
        kind="poultry",
    ),
    Example(
        "reheat 0 60",
        "not yet read > heating",
        "cook not met",
        kind="poultry",
    ),
    Example(
        "cook 0 110; cool 30 170 for 15",
        "not yet read > heating > hot > resting",
        "cook met, cooling-stage-1 not shown, cooling-stage-2 not shown",
        kind="",
    ),
    Example(
        "thaw 0; reheat 30 140; cook 90 170 for 15",
        "not yet read > reheating > hot",
        "reheat not shown",
        kind="",
    ),
    Example(
        "hot hold 0 140; cool 60 140",
        "not yet read > hot > resting",
        "hot-holding met, cooling-stage-1 not shown, cooling-stage-2 not shown",
        kind="",
    ),
    Example(
        "cold hold 0 140; prepare 10 140",
        "not yet read > resting",
        "cook not shown, cooling-stage-1 not shown, cooling-stage-2 not shown",
        kind="poultry",
    ),
    Example(
        "prepare 0 170 for 15; taken out 10; reheat 20 140; moved 80",
        "not yet read > hot > aside > reheating",
        "reheat not met, cooling-stage-1 not shown, cooling-stage-2 not shown",
        kind="",
    ),
    Example(
        "receive 0 140; receive 10 140",
        "not yet read > hot",
        "receiving-cold not met, cook not shown",
        kind="poultry",
    ),
    Example(
        "cook 0 170 for 15",
        "not yet read > heating > hot",
        "cook met",
        kind="",
    ),
    Example(
        "reheat 0 170 for 15; used 10",
        "not yet read > reheating > hot > gone",
        "reheat not shown",
        kind="",
    ),
    Example(
        "cool 0 110; reheat 60 140",
        "not yet read > cooling > heating",
        "cook not shown, cooling-stage-1 not shown, cooling-stage-2 not shown, cook not met",
        kind="poultry",
    ),
    Example(
        "cool 0 60; receive 60 140",
        "not yet read > cooling",
        "cook not shown, cooling-stage-1 not shown, cooling-stage-2 not shown, receiving-cold not met",
        kind="poultry",
    ),
    Example(
        "cool 0 140",
        "not yet read > resting",
        "cook not shown, cooling-stage-1 not shown, cooling-stage-2 not shown",
        kind="poultry",
    ),
    Example(
        "prepare 0 140",
        "not yet read > hot",
        "cook not shown",
        kind="poultry",
    ),
    Example(
        "cook 0 140",
        "not yet read > heating",
        "cook not met",
        kind="",
    ),
    Example(
        "reheat 0 140",
        "not yet read > reheating",
        "reheat not met",
        kind="",
    ),
    Example(
        "receive 0 60; cool 10 140",
        "not yet read > out > reheating > resting",
        "receiving-cold not met, cooling-stage-1 not shown, cooling-stage-2 not shown, reheat not shown",
        kind="",
    ),
    Example(
        "freeze 0; receive 30 140",
        "not yet read > frozen > reheating > hot",
        "receiving-cold not met, reheat not shown",
        kind="",
    ),
    Example(
        "receive 0 140; cool 30 60",
        "not yet read > hot > cooling",
        "receiving-cold not met, cooling-stage-1 met, cooling-stage-2 not shown",
        kind="",
    ),
    Example(
        "prepare 0 60",
        "not yet read > out",
        "time-out-allowed not shown",
        kind="",
    ),
]


def named(number: int) -> str:
    return table.TABLE.strip().splitlines()[number + 2].split("|", 3)[0].strip()


def test_each_row_has_an_example() -> None:
    assert len(EXAMPLES) == len(rows())


@pytest.mark.parametrize("number", range(len(EXAMPLES)))
def test_a_row_s_example_comes_out_as_it_stands(number: int) -> None:
    example = EXAMPLES[number]
    assert example.outcome() == (example.states, example.findings)


@pytest.mark.parametrize("number", range(len(EXAMPLES)))
def test_without_its_row_an_example_comes_out_otherwise(
    number: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A row that could be taken out unnoticed is not known to be right."""
    left = tuple(row for i, row in enumerate(rows()) if i != number)
    monkeypatch.setattr(table, "rows", lambda: left)
    next_states.cache_clear()
    example = EXAMPLES[number]
    try:
        changed = example.outcome() != (example.states, example.findings)
    except RuntimeError:  # nothing fits: the last row is the one that makes the table total
        changed = True
    finally:
        next_states.cache_clear()
    assert changed


def test_food_in_any_state_read_in_any_zone_at_any_step_is_in_a_state() -> None:
    for state, zone, step in product(State, Zone, [*Step, *Event]):
        path = next_states(state, zone, step)
        assert path and all(isinstance(one, State) for one in path)


def test_nothing_but_a_word_of_its_own_takes_food_out_of_every_limit() -> None:
    """Fail closed: gone and outside the limits are never where a row leads that nobody wrote."""
    for state, zone, step in product(State, Zone, [*Step, *Event]):
        (*_, last) = next_states(state, zone, step)
        if last is State.GONE and state is not State.GONE:
            assert step in (Event.USED, Event.USED_IN, Event.DISCARD)
        if last is State.OUTSIDE and state is not State.OUTSIDE:
            assert step is Event.NOT_TCS


def test_each_step_and_event_has_its_traits() -> None:
    assert set(TRAITS) == {*Step, *Event}


def test_each_step_is_told_of_and_each_state_has_its_word() -> None:
    assert set(ABOUT) == set(Step)
    # what is prepared is measured by the limits of the steps around it
    assert set(PRACTICE) == set(Step) - {Step.PREPARE}
    assert set(WORDS) == set(State)


def test_the_table_is_printed_as_the_code_has_it() -> None:
    """DEVELOPERS.md, the account."""
    printed = (Path(__file__).parents[3] / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert table.printed() in printed
