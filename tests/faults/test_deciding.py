"""Somebody enters something while a manager decides: nobody vouches for what they have not seen."""

import json
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from haccp.cli.main import cli
from haccp.cli.session import Session
from haccp.record import bodies as kinds
from haccp.record.entries import Draft
from haccp.record.store import Record, open_record
from tests.faults.making import (
    EVENING,
    NOON,
    PIN,
    make_kitchen,
    reading,
    refused_in_one_sentence,
    rows_by_hand,
    type_in,
)

KITCHEN = ("--zone", "America/Denver", "--manager-name", "A. R.")


@pytest.fixture
def path(tmp_path: Path) -> Path:
    made = tmp_path / "record.sqlite3"
    make_kitchen(made)
    # a food of which nobody has anything worse to say than that it was not read
    enter(made, Draft(body=kinds.BatchOpened(food="broth"), at=NOON, person="JM", batch="broth"))
    return made


def too_cold() -> Draft:
    """What nobody has answered yet: hot food at 120 °F."""
    body = kinds.Measured(step="hot_hold", temp="120", degree="F")
    return Draft(body=body, at=NOON + timedelta(minutes=30), person="JM", unit="well-1")


def while_the_pin_is_typed(path: Path, meanwhile: Callable[[], Any], *words: str) -> Result:
    """Type something in; before its (first) PIN is given, somebody else does something."""
    left = [meanwhile]

    def ask(_: str) -> str:
        if left:
            left.pop()()
        return PIN

    session = Session(path, lambda: EVENING, ask=ask)
    return CliRunner(env={"HACCP_BY": "AR"}).invoke(cli, words, obj=session, prog_name="haccp")


def enter(path: Path, draft: Draft) -> None:
    another = open_record(path, create=False)
    another.append([draft], lambda: EVENING)
    another.close()


def matters(path: Path) -> list[dict[str, Any]]:
    answer = type_in(path, "status", "--json")
    return [one for one in json.loads(answer.stdout) if one["subject"] == "well-1"]


DECISIONS = {
    "a signature": ("sign", "2026-10-26", "--note", "seen"),
    "a release": ("release", "broth", "measured on paper"),
    "a setting": ("kitchen", "--grace", "10"),
    "a person who left": ("add", "person", "JM", "J. M.", "--left"),
}


@pytest.mark.parametrize("what", DECISIONS)
@pytest.mark.parametrize("when", ["while the PIN is typed", "just before it is recorded"])
def test_what_came_in_while_a_manager_decided_is_looked_at_first(
    what: str, when: str, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert type_in(path, "kitchen", "--grace", "20").exit_code == 0
    before = rows_by_hand(path)
    if when == "while the PIN is typed":
        result = while_the_pin_is_typed(path, lambda: enter(path, too_cold()), *DECISIONS[what])
    else:
        append = Record.append

        def late(record: Record, *arguments: Any, **more: Any) -> Any:
            monkeypatch.undo()
            enter(path, too_cold())
            return append(record, *arguments, **more)

        monkeypatch.setattr(Record, "append", late)
        result = type_in(path, *DECISIONS[what])
    assert "Somebody recorded something meanwhile" in refused_in_one_sentence(result)
    assert len(rows_by_hand(path)) == len(before) + 1
    assert "not met" in {one["verdict"] for one in matters(path)}, "signed away unseen"
    assert type_in(path, *DECISIONS[what]).exit_code == 0


def test_of_two_managers_who_change_settings_neither_takes_back_what_the_other_set(
    path: Path,
) -> None:
    def other() -> None:
        assert type_in(path, "kitchen", "--guard", "1F").exit_code == 0

    refused_in_one_sentence(while_the_pin_is_typed(path, other, "kitchen", "--grace", "10"))
    (settings,) = (
        json.loads(row["body"]) for row in rows_by_hand(path)[-1:] if row["kind"] == "kitchen"
    )
    assert settings["guard"] == "1F"
    assert type_in(path, "kitchen", "--grace", "10").exit_code == 0
    assert json.loads(rows_by_hand(path)[-1]["body"])["guard"] == "1F"


def test_a_kitchen_set_up_from_two_terminals_at_once_is_the_first_ones(tmp_path: Path) -> None:
    """Else whoever came second would be a manager whom nobody made one."""
    path = tmp_path / "record.sqlite3"
    first = ("setup", "Kitchen", "--manager", "AR", *KITCHEN)

    def other() -> None:
        assert type_in(path, *first).exit_code == 0

    second = ("setup", "Other", "--manager", "ZZ", *KITCHEN)
    told = refused_in_one_sentence(while_the_pin_is_typed(path, other, *second))
    assert "holds a kitchen already" in told
    assert {row["person"] for row in rows_by_hand(path)} == {"AR"}
    assert "ZZ" not in type_in(path, "list", "people").stdout


def test_a_batch_is_not_taken_back_from_under_a_reading(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert type_in(path, "batch", "barley", "--code", "barley").exit_code == 0
    number = str(rows_by_hand(path)[-1]["seq"])
    append = Record.append

    def late(record: Record, *arguments: Any, **more: Any) -> Any:
        monkeypatch.undo()
        body = kinds.Measured(step="cool", temp="99", degree="F")
        enter(path, Draft(body=body, at=EVENING, person="JM", batch="barley"))
        return append(record, *arguments, **more)

    monkeypatch.setattr(Record, "append", late)
    words = ("correct", number, "--withdraw", "--reason", "no such pot")
    refused_in_one_sentence(type_in(path, *words))
    assert "99" in type_in(path, "show", "barley").stdout


def test_what_a_cook_enters_waits_for_nobody(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A reading is what it is, whatever others entered meanwhile; the answer knows of both."""
    append = Record.append

    def late(record: Record, *arguments: Any, **more: Any) -> Any:
        monkeypatch.undo()
        enter(path, reading("97", minute=70))
        return append(record, *arguments, **more)

    monkeypatch.setattr(Record, "append", late)
    assert type_in(path, "cool", "stew", "70", "--yes").exit_code in (0, 1)
    assert [json.loads(row["body"])["temp"] for row in rows_by_hand(path)[-2:]] == ["97", "70"]
