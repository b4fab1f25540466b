"""How wide what is told is, and how it is broken and styled, in a terminal and elsewhere."""

import os
import pty
import subprocess
import sys
import termios
from collections.abc import Iterator

import pytest
from click.testing import CliRunner

from haccp.cli.main import cli
from haccp.cli.session import Session
from tests.kitchens import Kitchen, log


def in_a_terminal(kitchen: Kitchen, columns: int, *words: str) -> tuple[int, list[str]]:
    """Run haccp with its streams on a terminal of so many columns; give what it printed."""
    ours, theirs = pty.openpty()
    termios.tcsetwinsize(theirs, (24, columns))
    env = {key: value for key, value in os.environ.items() if key not in ("COLUMNS", "LINES")}
    command = [sys.executable, "-m", "haccp", "--db", str(kitchen.path), *words]
    ran = subprocess.run(
        command, stdin=theirs, stdout=theirs, stderr=theirs, env=env, check=False, timeout=60
    )
    os.close(theirs)
    printed = b"".join(_read(ours)).decode()
    os.close(ours)
    return ran.returncode, printed.splitlines()


def _read(stream: int) -> Iterator[bytes]:
    while True:
        try:
            part = os.read(stream, 4096)
        except OSError:  # the other end is closed: all was read
            return
        if not part:
            return
        yield part


@pytest.mark.parametrize("columns", [80, 120])
def test_a_table_never_runs_over_the_terminals_edge(
    kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch, columns: int
) -> None:
    log(
        kitchen,
        ("13:00", "cook stew 150"),
        ("13:10", "hold stew 120"),
        ("13:11", "hold well-1 120"),
    )
    monkeypatch.setenv("COLUMNS", str(columns))
    kitchen.at("2026-11-20T12:00-07:00")
    lines = kitchen.says("status").splitlines()
    assert max(map(len, lines)) <= columns
    told = " ".join(" ".join(lines).split())
    assert "white-bean stew (stew): NOT MET" in told
    assert "more: haccp show stew" in told, "its last day among them"


def test_columns_wider_than_the_terminal_are_broken_between_words(
    kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch
) -> None:
    food = "stew of white beans with smoked pork shoulder, peppers and a mustard glaze"
    kitchen.at("2026-10-26T12:05-06:00")
    kitchen.says(f'batch "{food}" --code the-very-long-code-of-a-batch-of-stew --by JM')
    log(kitchen, ("12:10", "cool the-very 150"))
    monkeypatch.setenv("COLUMNS", "80")
    said = kitchen.says("status")
    assert max(map(len, said.splitlines())) <= 80
    told = " ".join(said.split())
    assert f"{food} (the-very-long-code-of-a-batch-of-stew): 70 °F or below by 14:10" in told


def test_nothing_is_styled_where_a_person_asked_for_plain_text(
    kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("FORCE_COLOR", "1")
    monkeypatch.setenv("NO_COLOR", "1")
    styled = CliRunner().invoke(
        cli, ["list", "units"], obj=Session(kitchen.path, lambda: kitchen.now), color=True
    )
    assert "well-1" in styled.output
    assert "\x1b" not in styled.output


def test_a_refusal_is_broken_between_words_in_a_terminal(kitchen: Kitchen) -> None:
    typed = "white-bean stew that was put into the walk-in yesterday evening"
    code, lines = in_a_terminal(kitchen, 80, "cool", "stew", "98", typed)
    assert code == 2
    assert len(lines) > 1
    assert all(len(line) <= 80 for line in lines)
    assert " ".join(lines).startswith(f"Refused: '{typed}' is not a time")
    assert any(f"'{typed}'" in line for line in lines), "broken within its quotes"
    words = CliRunner().invoke(
        cli, ["--db", str(kitchen.path), "cool", "stew", "98", typed], prog_name="haccp"
    )
    assert words.stderr.strip() == " ".join(lines)


@pytest.mark.parametrize(
    ("columns", "expected"), [("80", 80), ("110", 110), (None, 100), ("nonsense", 100)]
)
def test_a_pipe_is_as_wide_as_columns_says(columns: str | None, expected: int) -> None:
    env = {key: value for key, value in os.environ.items() if key != "COLUMNS"}
    env |= {"COLUMNS": columns} if columns else {}
    command = [sys.executable, "-m", "haccp", "limits", "show", "food-code-2022"]
    ran = subprocess.run(
        command, stdin=subprocess.DEVNULL, capture_output=True, env=env, check=True, text=True
    )
    assert expected - 20 < max(map(len, ran.stdout.splitlines())) <= expected
