"""After the commit nothing is told as refused: what was recorded is told wherever it can be."""

import os
import re
import select
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from random import Random

import pytest

from tests.faults.making import make_kitchen, rows_by_hand, type_in
from tests.kitchens import Kitchen

COOL = ("cool", "stew", "70", "--yes")
ENVIRONMENT = {**os.environ, "HACCP_BY": "AR"}


@pytest.fixture
def path(tmp_path: Path) -> Path:
    make_kitchen(tmp_path / "record.sqlite3")
    return tmp_path / "record.sqlite3"


def in_a_shell(
    path: Path, words: Sequence[str], streams: str
) -> "subprocess.CompletedProcess[str]":
    """Run haccp as a shell does that redirects or closes its streams."""
    typed = 'exec "$0" -m haccp --db "$@" ' + streams
    return subprocess.run(
        ["sh", "-c", typed, sys.executable, str(path), *words],
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        check=False,
        env=ENVIRONMENT,
    )


def number_told(said: str) -> int:
    (number,) = re.findall(r"Recorded as no\. (\d+)", said)
    return int(number)


@pytest.mark.parametrize(
    ("streams", "told_on"),
    [
        (">&-", "stderr"),
        (">/dev/full", "stderr"),
        (">&- <&-", "stderr"),
        (">/dev/full 2>&-", None),
        (">&- 2>&-", None),
        (">&- 2>/dev/full <&-", None),
    ],
)
def test_an_answer_that_cannot_be_written_is_told_as_recorded(
    streams: str, told_on: str | None, path: Path
) -> None:
    before = len(rows_by_hand(path))
    done = in_a_shell(path, COOL, streams)
    rows = rows_by_hand(path)
    assert len(rows) > before
    assert done.returncode == 4, done.stderr
    assert "Traceback" not in done.stderr
    assert "Refused" not in done.stderr
    assert done.stdout == ""
    if told_on:
        assert number_told(done.stderr) == len(rows)
    else:
        assert done.stderr == ""
    assert type_in(path, "record", "verify").exit_code == 0


@pytest.mark.parametrize("streams", ["<&-", "2>&-", "2>/dev/full", "<&- 2>&-"])
def test_an_answer_that_is_written_is_the_same_whatever_else_is_closed(
    streams: str, path: Path
) -> None:
    before = len(rows_by_hand(path))
    done = in_a_shell(path, COOL, streams)
    assert len(rows_by_hand(path)) > before
    assert done.returncode == 0
    assert done.stdout.startswith(("OK ", "COOLING OK ", "TOO ", "NOT "))
    assert done.stderr == ""


def test_what_is_said_beside_the_answer_takes_nothing_back_where_it_cannot_be_said(
    path: Path,
) -> None:
    """The day's copy fails, and standard error is full."""
    assert type_in(path, "kitchen", "--daily-copies", "3").exit_code == 0
    path.with_name("record.sqlite3.daily").write_text("in the way")
    done = in_a_shell(path, COOL, "2>/dev/full")
    assert done.returncode == 0
    assert "stew" in done.stdout


@pytest.mark.parametrize(
    "words",
    [
        ("status",), ("show", "stew"), ("list", "entries"), ("list", "entries", "--json"),
        ("label", "stew"), ("export", "-", "--format", "json"), ("record", "verify"),
        ("limits", "list"), ("--help",), ("cool", "--help"), ("--version",), ("kitchen",),
    ],
)  # fmt: skip
@pytest.mark.parametrize("streams", [">&-", ">/dev/full", ">&- 2>&- <&-"])
def test_where_nothing_was_recorded_an_answer_that_cannot_be_written_is_refused(
    words: tuple[str, ...], streams: str, path: Path
) -> None:
    before = path.read_bytes()
    done = in_a_shell(path, words, streams)
    assert done.returncode == 2
    assert "Traceback" not in done.stderr
    assert "Recorded" not in done.stderr
    assert len(done.stderr.splitlines()) == ("2>&-" not in streams)
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    "words",
    [
        ("kitchen", "--grace", "20"),
        ("sign", "2026-10-26"),
        ("cool", "stew", "400"),
        ("check", "-"),
        ("load", "-"),
        ("import", "-"),
        ("pin", "AR"),
    ],
)
def test_where_nobody_can_answer_a_question_is_refused(words: tuple[str, ...], path: Path) -> None:
    before = rows_by_hand(path)
    done = in_a_shell(path, words, "<&-")
    assert done.returncode == 2, done.stderr
    assert "Traceback" not in done.stderr
    assert done.stderr.startswith("Refused: ")
    assert [row["kind"] for row in rows_by_hand(path)] == [row["kind"] for row in before]


def broken_pipe(path: Path, *words: str) -> "tuple[int, str]":
    """Run haccp into a pipe whose reader has gone."""
    reading, writing = os.pipe()
    os.close(reading)
    with subprocess.Popen(
        [sys.executable, "-m", "haccp", "--db", str(path), *words],
        stdout=writing,
        stderr=subprocess.PIPE,
        text=True,
        env=ENVIRONMENT,
    ) as running:
        os.close(writing)
        _, told = running.communicate()
    return running.returncode, told


def test_a_pipe_that_ends_does_not_end_as_a_deviation(path: Path) -> None:
    code, told = broken_pipe(path, *COOL)
    assert code == 4
    assert number_told(told) == len(rows_by_hand(path))
    for words in (("status",), ("list", "entries"), ("--help",), ("cool", "--help")):
        assert broken_pipe(path, *words) == (0, "")


@pytest.mark.parametrize(
    "words",
    [
        ("action", "stew", "stirred"),
        ("batch", "bean soup", "--code", "beans"),
        ("hold", "well-1", "150", "--yes"),
        ("used", "stew", "--yes"),
        ("method", "stew", "ice bath"),
    ],
)
def test_every_command_that_records_tells_it(words: tuple[str, ...], path: Path) -> None:
    before = len(rows_by_hand(path))
    done = in_a_shell(path, words, ">/dev/full")
    rows = rows_by_hand(path)
    assert len(rows) > before, done.stderr
    assert done.returncode == 4
    assert number_told(done.stderr) == len(rows)


def test_several_entries_at_once_are_told_by_the_first_and_the_last(tmp_path: Path) -> None:
    new = tmp_path / "new.sqlite3"
    words = ("setup", "K", "--zone", "UTC", "--manager", "AR", "--manager-name", "A")
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            [sys.executable, "-m", "haccp", "--db", str(new), *words],
            input="2580\n2580\n",
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    assert "Recorded as no. 1 to 3." in done.stderr
    assert done.returncode == 4
    export = tmp_path / "all.json"
    type_in(new, "export", str(export))
    done = in_a_shell(tmp_path / "copy.sqlite3", ("import", str(export)), ">/dev/full")
    assert "Recorded as no. 1 to 3." in done.stderr
    assert done.returncode == 4


# An interrupt, sent by the process to itself where it hurts most.

_INTERRUPTED = """
import os, signal, sys
from haccp.record.store import Record
from haccp.cli import session, terminal
def interrupt(): os.kill(os.getpid(), signal.SIGINT)
{where}
from haccp.__main__ import main
main()
"""

# Within the append, after the commit and before anybody knows of it.
_AFTER_THE_COMMIT = """
append = Record.append
def late(*arguments, **more):
    made = append(*arguments, **more)
    interrupt()
    return made
Record.append = late
"""
# As `append` does, with the clock asked for each entry under the record's lock.
_WHILE_IT_IS_WRITTEN = """
utc_now, asked = session.utc_now, []
def now():
    asked.append(1)
    if len(asked) == 2: interrupt()
    return utc_now()
session.Session.clock = staticmethod(now)
session.Session.__init__.__defaults__ = (now, *session.Session.__init__.__defaults__[1:])
"""
_WHILE_IT_IS_TOLD = """
write = terminal._write
def late(*arguments, **more):
    terminal._write = write
    interrupt()
    write(*arguments, **more)
terminal._write = late
"""
# A second one, while the first is told of.
_TWICE = """
write = terminal._write
def late(*arguments, **more):
    interrupt()
    write(*arguments, **more)
terminal._write = late
"""


def interrupted(path: Path, where: str, *words: str) -> "subprocess.CompletedProcess[str]":
    return subprocess.run(
        [sys.executable, "-c", _INTERRUPTED.format(where=where), "--db", str(path), *words],
        capture_output=True,
        text=True,
        check=False,
        env=ENVIRONMENT,
    )


@pytest.mark.parametrize(
    "where", [_AFTER_THE_COMMIT, _WHILE_IT_IS_WRITTEN, _WHILE_IT_IS_TOLD, _TWICE]
)
def test_an_interrupt_after_the_commit_tells_what_was_recorded(where: str, path: Path) -> None:
    before = len(rows_by_hand(path))
    done = interrupted(path, where, *COOL)
    rows = rows_by_hand(path)
    assert len(rows) > before, done.stderr
    assert done.returncode == 130, done.stderr
    assert "Interrupted." in done.stderr
    assert number_told(done.stderr) == len(rows)
    assert "Traceback" not in done.stderr
    assert "Nothing was recorded" not in done.stderr


_BEFORE_THE_LOCK = """
append = Record.append
def early(self, drafts, now, **more):
    interrupt()
    return append(self, drafts, now, **more)
Record.append = early
"""


_AFTER_AN_IMPORT = """
restore = Record.restore
def late(*arguments):
    restore(*arguments)
    interrupt()
Record.restore = late
"""
_BEFORE_AN_IMPORT = """
restore = Record.restore
def early(*arguments):
    interrupt()
    restore(*arguments)
Record.restore = early
"""


@pytest.mark.parametrize(
    ("where", "told"),
    [(_AFTER_AN_IMPORT, "Recorded as no. 1 to "), (_BEFORE_AN_IMPORT, "Nothing was recorded.")],
)
def test_an_interrupted_import_is_told_as_what_is_there(where: str, told: str, path: Path) -> None:
    export, new = path.with_name("all.json"), path.with_name("new.sqlite3")
    type_in(path, "export", str(export))
    done = interrupted(new, where, "import", str(export))
    assert done.returncode == 130
    assert told in done.stderr
    assert bool(rows_by_hand(new)) is told.startswith("Recorded")


def test_an_interrupt_while_others_write_records_nothing(path: Path) -> None:
    before = rows_by_hand(path)
    done = interrupted(path, _BEFORE_THE_LOCK, *COOL)
    assert done.returncode == 130
    assert done.stderr.strip() == "Interrupted. Nothing was recorded."
    assert rows_by_hand(path) == before


def test_a_bug_after_the_commit_tells_what_was_recorded(path: Path) -> None:
    where = "from haccp.cli import measure\nmeasure.answer = None"
    done = interrupted(path, where, *COOL)
    assert done.returncode == 70
    assert number_told(done.stderr) == len(rows_by_hand(path))


def test_an_interrupt_at_any_moment_is_told_as_what_it_was(path: Path) -> None:
    """Either the whole answer, or what was recorded, or that nothing was; nothing, early on."""
    chance, begun = Random(9), time.monotonic()
    assert in_a_shell(path, COOL, "").returncode == 0
    longest = time.monotonic() - begun
    ends = set()
    for _ in range(12):
        before = len(rows_by_hand(path))
        with subprocess.Popen(
            [sys.executable, "-m", "haccp", "--db", str(path), *COOL],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env=ENVIRONMENT,
        ) as running:
            select.select([], [], [], chance.uniform(0.3, 1) * longest)
            running.send_signal(signal.SIGINT)
            answer, told = running.communicate()
        recorded = len(rows_by_hand(path)) > before
        ends.add((running.returncode, recorded))
        match running.returncode:
            case 0:
                assert recorded
                assert "stew" in answer
            case 130 if told:
                assert "Recorded as no." in told if recorded else "Nothing was recorded." in told
                assert "Traceback" not in told
            case -2 | 130:
                assert not recorded
            case other:
                raise AssertionError((other, told))
    assert ends


def test_a_refused_command_says_that_it_recorded_nothing(kitchen: Kitchen) -> None:
    assert "Recorded" not in kitchen.refuses("cool stew 400")
