"""No first line of an answer lets a tired cook serve what the record holds against a food.

`status`, which comes by its list another way, is the oracle. A roast's oven stands for a manager
alone, for the core says whether the roast is done; a check that was missed is told third.
"""

import json
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from haccp.cli.wrapping import broken
from tests.kitchen.dangers.danger import Danger
from tests.kitchen.test_hidden_dangers import EVERY
from tests.kitchen.typed import copy_of, moment, type_in
from tests.kitchens import Kitchen

# What a cook takes for leave to serve, or to go on.
FINE = ("OK", "COOLING OK", "TIME RUNS", "NOTED", "OUT")
# As long as a code can be.
CODE = "white-bean-stew-with-smoked-pork-1026-22"


def held_against(kitchen: Kitchen, name: str) -> list[str]:
    """Give what `status` lists against a food or unit that forbids to serve it."""
    return [
        f"{one['limit']} {one['verdict']}"
        for one in json.loads(kitchen.says("status --json"))
        if one["subject"] == name
        and one["verdict"] in ("not met", "not shown")
        and one["limit"] != "oven"
        and not one["what"].startswith("No check between")
    ]


def is_fine(answer: str) -> bool:
    return answer.startswith(tuple(f"{word} " for word in FINE))


def rows(answer: str) -> list[str]:
    return [row for line in answer.splitlines() for row in broken(line, 80)]


_READINGS = ("cook {} {}", "hold {} {}", "cool {} {}", "reheat {} {} --held 15", "prepare {} {}")
_TEMPS = st.sampled_from([33, 38, 41, 42, 60, 70, 71, 98, 120, 134, 135, 141, 160, 166, 199])
_READ = st.builds(
    lambda form, temp, more: form.format(CODE, temp) + more,
    st.sampled_from(_READINGS),
    _TEMPS,
    st.sampled_from(["", "", "", " --in well-1", " --in walk-in", " --thermometer T1"]),
)
_OTHER = st.one_of(
    st.sampled_from([f"time {CODE} 141", f"time {CODE} 38 --six-hours", f"time {CODE} 60"]),
    st.sampled_from([f"out {CODE}", f"move {CODE} well-1", f"freeze {CODE}", f"thaw {CODE}"]),
    st.sampled_from([f'action {CODE} "stirred"', 'action well-1 "turned up"']),
    st.sampled_from(["ice T1 45 --yes", "ice T1 32"]),
    st.builds("hold well-1 {}".format, _TEMPS),
    st.builds("hold walk-in {}".format, _TEMPS),
)
_TYPED = st.lists(
    st.tuples(st.integers(0, 200), st.one_of(_READ, _READ, _READ, _OTHER)), min_size=2, max_size=9
)


@given(st.sampled_from(["plant food", "poultry", "whole roast' --oven 'none"]), _TYPED)
@settings(max_examples=40)
def test_what_is_typed_at_random_is_never_called_fine_while_something_forbids_to_serve_it(
    set_up_once: Kitchen, kind: str, typed: list[tuple[int, str]]
) -> None:
    with TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patch:
        patch.setenv("HACCP_BY", "JM")
        kitchen = copy_of(set_up_once, Path(folder) / "record.sqlite3")
        type_in(kitchen, f"06:00 batch 'white-bean stew' --code {CODE} --kind '{kind}'")
        minute = 6 * 60
        for wait, command in typed:
            minute += wait
            days = ("mon", "tue")[minute // 1440]
            kitchen.at(moment(days, f"{minute % 1440 // 60:02}:{minute % 60:02}"))
            reads = command.split()[0] in ("cook", "hold", "cool", "reheat", "prepare", "time")
            done = kitchen.run(f"{command} --yes" if reads else command)
            if done.exit_code == 0 and reads:
                check_answer(kitchen, command.split()[1], done.stdout)


def check_answer(kitchen: Kitchen, name: str, said: str) -> None:
    told = rows(said)
    assert len(told) <= 5, said
    assert all(len(row) <= 80 for row in told), said
    against = held_against(kitchen, name)
    assert not (against and is_fine(said)), (against, said)


@pytest.mark.parametrize("danger", EVERY, ids=[one.name for one in EVERY])
def test_no_reading_makes_a_hidden_danger_look_fine(line: Kitchen, danger: Danger) -> None:
    type_in(line, danger.typed)
    name = danger.told.split()[0]
    for command in (f"hold {name} 38", f"hold {name} 140", f"reheat {name} 170 --held 15"):
        done = line.run(f"{command} --yes")
        if done.exit_code == 0:
            check_answer(line, name, done.stdout)
