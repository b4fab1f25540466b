"""The board: what is open and due on a screen that stays on."""

import os
import pty
import select
import signal
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import pytest

from haccp.cli import board
from haccp.cli.session import Session
from tests.kitchens import Kitchen, log


def looked(kitchen: Kitchen, clock: str) -> board.Shown:
    kitchen.at(f"2026-10-26T{clock}-06:00")
    return board.look(Session(kitchen.path, lambda: kitchen.now))


def rings(before: board.Shown, after: board.Shown) -> bool:
    return board._is_worse(after, before)


def test_a_screen_has_the_most_urgent_in_large_figures_and_one_line_a_row(
    kitchen: Kitchen,
) -> None:
    log(kitchen, ("12:10", "hold well-1 151"), ("12:15", "cool stew 135"))
    page = board.screen(looked(kitchen, "13:05"), 80, 24)
    assert page[0].startswith("Test Kitchen")
    assert page[0].endswith("Mon 26 Oct 13:05")
    large = page[2:7]
    assert all(set(line) <= {" ", "\N{FULL BLOCK}", "#"} and line.strip() for line in large)
    assert "stew" in page[7]
    assert any("70 °F" in line and "14:15" in line for line in page)
    assert any("well-1" in line and "13:10" in line for line in page)
    assert all(len(line) <= 80 for line in page)


def test_more_rows_than_fit_are_counted(kitchen: Kitchen) -> None:
    for number in range(30):
        kitchen.says(f"batch soup --code soup-{number:02} --yes")
        kitchen.says(f"cool soup-{number:02} 135")
    shown = looked(kitchen, "12:40")
    page = board.screen(shown, 80, 24)
    assert len(page) <= 24
    told = sum("soup-" in line for line in page[8:])
    assert page[-1] == f"{len(shown.rows) - told} more rows: haccp due"


def test_it_rings_when_something_becomes_due_or_turns_bad_and_only_then(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "hold well-1 151"), ("12:15", "cook stew 190"))
    early, same, due = (looked(kitchen, at) for at in ("12:30", "12:50", "13:12"))
    assert not rings(early, same)
    assert rings(same, due)
    log(kitchen, ("13:13", "hold well-1 150"))
    good = looked(kitchen, "13:13")
    assert not rings(due, good)
    log(kitchen, ("13:14", "hold well-1 120"))
    assert rings(good, looked(kitchen, "13:14"))


def test_a_record_that_goes_away_leaves_what_was_seen_and_says_so(kitchen: Kitchen) -> None:
    log(kitchen, ("12:15", "cool stew 135"))
    seen = looked(kitchen, "12:20")
    session = Session(kitchen.path, lambda: kitchen.now)
    away = kitchen.path.rename(kitchen.path.with_suffix(".away"))
    shown = board._look_again(session, seen)
    assert shown.rows == seen.rows
    assert "CANNOT BE READ: what stands here was so at 12:20" in shown.trouble
    assert board.screen(shown, 80, 24)[1].startswith("THE RECORD CANNOT BE READ")
    assert rings(seen, shown)
    assert not rings(shown, replace(shown))
    away.rename(kitchen.path)
    assert board._look_again(session, shown).trouble == ""


def in_a_terminal(kitchen: Kitchen, *words: str, term: str) -> tuple[int, str]:
    """Run a board on a terminal until it has shown something, then press Ctrl-C."""
    ours, theirs = pty.openpty()
    running = subprocess.Popen(
        [sys.executable, "-m", "haccp", "--db", str(kitchen.path), "board", *words],
        stdin=theirs,
        stdout=theirs,
        stderr=theirs,
        env={**os.environ, "TERM": term},
        start_new_session=True,
    )
    os.close(theirs)
    said = b""
    while b"stew" not in said and select.select([ours], [], [], 60)[0]:
        said += os.read(ours, 4096)
    time.sleep(0.2)
    running.send_signal(signal.SIGINT)
    code = running.wait(60)
    os.close(ours)
    return code, said.decode()


@pytest.mark.parametrize(("term", "cleared"), [("xterm", True), ("dumb", False)])
def test_it_runs_until_it_is_interrupted_and_steers_only_a_screen(
    kitchen: Kitchen, term: str, cleared: bool
) -> None:
    kitchen.says("cook stew 190")
    code, said = in_a_terminal(kitchen, term=term)
    assert code == 0
    assert said.startswith("\x1b[H\x1b[2J") is cleared
    assert ("\x1b" in said) is cleared


def test_where_there_is_no_record_it_does_not_wait(tmp_path: Path) -> None:
    assert Kitchen(tmp_path / "none.sqlite3").run("board").exit_code == 2
