"""Who records: initials that stay, people who left, managers and their PINs."""

from datetime import UTC, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner

from haccp.cli.main import cli
from haccp.cli.session import Session
from haccp.errors import Refused
from tests.kitchens import Kitchen


def asked(monkeypatch: pytest.MonkeyPatch, *typed: str) -> tuple[Session, list[str]]:
    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    answers, prompts = iter(typed), list[str]()

    def ask(prompt: str) -> str:
        prompts.append(prompt)
        return next(answers)

    return Session(Path("none"), lambda: datetime(2026, 11, 2, tzinfo=UTC), ask=ask), prompts


def test_who_records_is_remembered(kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("HACCP_BY")
    assert "haccp initials JM" in kitchen.refuses("cool stew 98")
    kitchen.says("by JM")
    assert kitchen.says("cool stew 98")


def test_somebody_who_left_records_no_more(kitchen: Kitchen) -> None:
    kitchen.says('add person JM "J. M." --left --by AR')
    assert "has left" in kitchen.refuses("cool stew 98")


def test_a_managers_act_needs_the_managers_pin(kitchen: Kitchen) -> None:
    kitchen.pin = "9999"
    assert "not the PIN" in kitchen.refuses("add person BK 'B. K.' --by AR")
    kitchen.pin = "2580"
    kitchen.says("add person BK 'B. K.' --role manager --by AR")
    assert "has no PIN yet" in kitchen.refuses("sign today --by BK --note x")
    kitchen.says("pin BK --by AR")
    kitchen.says("sign today --by BK --note x")


def test_a_cook_has_no_pin(kitchen: Kitchen) -> None:
    assert "needs no PIN" in kitchen.refuses("pin JM --by AR")


def test_a_pin_is_read_from_standard_input_where_there_is_no_terminal(kitchen: Kitchen) -> None:
    session = Session(kitchen.path, lambda: kitchen.now)
    words = ["add", "person", "BK", "B. K.", "--by", "AR"]
    result = CliRunner().invoke(cli, words, obj=session, input="2580\n")
    assert result.exit_code == 0, result.output
    assert "2580" not in result.output


def test_a_manager_who_left_signs_nothing(kitchen: Kitchen) -> None:
    kitchen.says("add person BK 'B. K.' --role manager --by AR")
    kitchen.says("pin BK --by AR")
    kitchen.says("add person BK 'B. K.' --role manager --left --by AR")
    assert "has left" in kitchen.refuses("sign today --by BK --note x")


def test_initials_stay_one_persons_and_the_last_manager_stays(kitchen: Kitchen) -> None:
    assert "stays so on paper" in kitchen.refuses('add person JM "Other Name" --by AR')
    assert "only manager" in kitchen.refuses('add person AR "A. R." --left --by AR')
    kitchen.says('add person AR "A. R." --by AR')
    kitchen.says('sign today --by AR --note "still a manager"')


def test_a_new_pin_is_asked_for_again_in_place(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    session, prompts = asked(monkeypatch, "12", "2580", "2850", "2580", "2580")
    assert session.new_pin("AR") == "2580"
    assert len(prompts) == 5
    told = capsys.readouterr().err.splitlines()
    assert told[0].startswith("A PIN is 4 to 12 digits")
    assert told[1].startswith("The two are not the same")


def test_a_new_pin_is_asked_for_three_times_at_most(monkeypatch: pytest.MonkeyPatch) -> None:
    session, prompts = asked(monkeypatch, "12", "1234", "x", "2580")
    with pytest.raises(Refused, match="4 to 12 digits"):
        session.new_pin("AR")
    assert len(prompts) == 3


def test_a_pin_that_is_too_short_costs_no_try(
    first_day: Kitchen, monkeypatch: pytest.MonkeyPatch
) -> None:
    for typed in ("", "25", "258"):
        first_day.pin = typed
        assert "A PIN is 4 to 12 digits" in first_day.refuses("add thermometer T1")
    first_day.pin = "2580"
    first_day.says("add thermometer T1")
    session, prompts = asked(monkeypatch, "25", "2580")
    session.path, session.clock = first_day.path, lambda: first_day.now
    with session:
        assert session.manager("AR").initials == "AR"
    assert len(prompts) == 2
