"""The manager's look: what is to be decided, signed, and what comes again; the kitchen is invented."""

import fcntl
import json
import os
import pty
import struct
import subprocess
import sys
import termios
import time
from contextlib import suppress
from typing import Any

import pytest

from tests.kitchens import Kitchen, flat, log


@pytest.fixture(autouse=True)
def at_80_columns(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")


def plain(kitchen: Kitchen) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(kitchen.says("review --json"))
    return found


def rows_of(said: str) -> int:
    """Count the rows that a terminal of 80 columns shows."""
    return sum(max(1, -(-len(line) // 80)) for line in said.splitlines())


@pytest.fixture
def troubled(kitchen: Kitchen) -> Kitchen:
    """A food that is gone, one that is there, and a well, each with something undecided."""
    kitchen.says("batch rice --code rice --amount '40 lb'")
    kitchen.says("batch soup --code soup")
    log(
        kitchen,
        ("12:05", "cool stew 135"),
        ("12:05", "cool rice 135"),
        ("12:10", "hold well-1 128"),
        ("12:20", "cook soup 150 --yes"),
        ("15:30", "cool stew 90"),
        ("15:31", "used-up stew --yes"),
        ("15:32", "cool rice 91"),
    )
    kitchen.at("2026-10-26T16:00-06:00")
    return kitchen


def test_a_clean_day_is_one_line_a_heading(kitchen: Kitchen) -> None:
    log(kitchen, ("13:00", "hold well-1 150"), ("13:00", "cook stew 190"))
    kitchen.at("2026-10-26T13:05-06:00")
    assert kitchen.says("review").splitlines() == [
        "Test Kitchen, 13:05",
        "",
        "DECIDE: nothing waits for a decision.",
        "",
        "SIGN: every day of the last four weeks is signed.",
        "",
        "PATTERNS: nothing stands out in the last four weeks.",
    ]


def test_food_that_is_there_comes_before_units_and_what_is_gone(troubled: Kitchen) -> None:
    decide = plain(troubled)["decide"]
    assert [(one["names"], one["is_there"]) for one in decide] == [
        (["rice"], True), (["well-1"], False), (["stew"], False),
    ]  # fmt: skip
    said = troubled.says("review")
    assert said.index('haccp discard rice "..."') < said.index('haccp corrective well-1 "..."')


def test_the_line_that_is_told_decides_it(troubled: Kitchen) -> None:
    """Typed as it stands, each command takes its row away; a signature takes the food that is gone."""
    for names in (["rice"], ["well-1"]):
        (told,) = [one for one in plain(troubled)["decide"] if one["names"] == names]
        troubled.says(
            told["command"].removeprefix("haccp ").replace("...", "out of limits too long")
        )
        assert names not in [one["names"] for one in plain(troubled)["decide"]]
    (gone,) = plain(troubled)["decide"]
    assert gone["acts"] == []
    troubled.says(gone["command"].removeprefix("haccp ") + " --by AR")
    assert plain(troubled)["decide"] == []


def test_foods_of_one_cause_are_decided_together(kitchen: Kitchen) -> None:
    kitchen.at("2026-10-26T12:03-06:00")
    for n in range(5):
        kitchen.says(f"batch stew --code tray-{n} --yes")
    log(
        kitchen,
        ("12:10", "hold well-1 150"),
        *(("12:11", f"move tray-{n} well-1") for n in range(5)),
    )
    kitchen.at("2026-10-26T17:00-06:00")
    decide = plain(kitchen)["decide"]
    (trays,) = [one for one in decide if "tray-0" in one["names"]]
    assert trays["names"] == [f"tray-{n}" for n in range(5)]
    assert trays["acts"] == ["discard", "release-food"]
    kitchen.says(trays["command"].removeprefix("haccp ").replace("...", "not looked at"))
    assert not [one for one in plain(kitchen)["decide"] if set(one["names"]) & set(trays["names"])]


def test_unsigned_days_say_what_a_signature_covers(troubled: Kitchen) -> None:
    troubled.at("2026-10-27T09:00-06:00")
    (day,) = plain(troubled)["sign"]
    assert day["day"] == "2026-10-26"
    told = " ".join(day["covers"])
    assert "Deviations: " in told
    assert "well-1" in told
    assert day["command"] == 'haccp sign-day 2026-10-26 --note "..."', "undecided: it takes a note"
    troubled.says(f"{day['command'].removeprefix('haccp ')} --by AR")
    assert plain(troubled)["sign"] == []


def test_a_day_that_is_not_over_waits_for_no_signature(troubled: Kitchen) -> None:
    assert plain(troubled)["sign"] == []


def test_three_screens_hold_a_bad_week(kitchen: Kitchen) -> None:
    """Forty foods, a week unsigned, a well cold each noon, and the same words each time."""
    for day in range(27, 32):
        kitchen.at(f"2026-10-{day}T12:00-06:00")
        for n in range(8):
            kitchen.says(f"batch 'black bean soup' --code soup-{day}-{n} --yes")
            kitchen.at(f"2026-10-{day}T12:{n + 1:02}-06:00")
            kitchen.says(f"cool soup-{day}-{n} 135")
        for hour in range(13, 18):
            kitchen.at(f"2026-10-{day}T{hour}:40-06:00")
            kitchen.says(f"hold well-1 {128 if hour == 14 else 150} --yes")
            if hour == 14:
                kitchen.says("corrective well-1 discarded")
    kitchen.at("2026-11-01T09:00-07:00")
    said = kitchen.says("review")
    decide, sign, patterns = (said.index(head) for head in ("DECIDE (", "SIGN (", "PATTERNS ("))
    for part in (said[:sign], said[sign:patterns], said[patterns:]):
        assert rows_of(part) <= 24, part
    assert all(len(line) <= 80 for line in said.splitlines() if "haccp" not in line)
    more = [line for line in said[decide:sign].splitlines() if line.startswith("and ")]
    shown = said[decide:sign].count('"..."')
    (line,) = more
    assert line == f"and {len(plain(kitchen)['decide']) - shown} more: haccp due"
    assert "well-1 was not 135 °F or above on 5 of 5 days" in flat(said)
    assert "each time at this hour: 14:40." in flat(said)
    assert 'the same words, "discarded"' in flat(said)
    assert "JM" not in said[decide:patterns], "nobody is named beside what went wrong"


# --- typed at a terminal


def answered(kitchen: Kitchen, *answers: str) -> str:
    result = kitchen.asks("review", *answers)
    assert result.exit_code == 0, result.output
    return result.output


def kinds(kitchen: Kitchen) -> list[tuple[object, object, object]]:
    return [(one["kind"], one["batch"], one["unit"]) for one in kitchen.entries()]


def test_enter_passes_on_and_leaves_it_undecided(troubled: Kitchen) -> None:
    before, entries = plain(troubled)["decide"], kinds(troubled)
    answered(troubled, "", "")
    assert plain(troubled)["decide"] == before
    assert kinds(troubled) == entries


def test_what_is_typed_is_recorded_as_the_command_records_it(troubled: Kitchen) -> None:
    said = answered(troubled, "disc not below 70 after 3 h", 'corrective "element turned up"', "")
    assert "rice is discarded." in said
    assert "Corrective action for well-1 recorded." in said
    *_, discarded, action = troubled.entries()
    assert (discarded["kind"], discarded["batch"], discarded["body"]) == (
        "discard", "rice", {"reason": "not below 70 after 3 h"},
    )  # fmt: skip
    assert (action["kind"], action["unit"], action["body"]) == (
        "corrective action", "well-1", {"text": "element turned up", "cause": ""},
    )  # fmt: skip


def test_a_slip_is_told_and_asked_again_and_records_nothing(troubled: Kitchen) -> None:
    entries = kinds(troubled)
    said = answered(troubled, "dis", "d too warm", "throw away", "release-food fine", "?", "q")
    assert "Why? Say it in a few words" in said
    assert "'d' is none of discard, divert, corrective, set-apart" in said
    assert "'throw' is none of" in said
    assert "'release-food' is none of" in said, "it broke its limit: no reason mends that"
    assert "Nothing was decided." in said
    assert kinds(troubled) == entries


def test_only_a_manager_is_asked_to_sign(
    troubled: Kitchen, monkeypatch: pytest.MonkeyPatch
) -> None:
    troubled.at("2026-10-27T09:00-06:00")
    said = answered(troubled, *[""] * 9)
    assert "sign-day, and a note" not in said
    monkeypatch.setenv("HACCP_BY", "AR")
    waiting = sum(bool(one["acts"]) for one in plain(troubled)["decide"])
    said = answered(troubled, *[""] * waiting, "sign", "sign seen and talked about")
    assert "undecided or open" in said
    assert "2026-10-26 is signed by A. R. (AR)." in said
    last = troubled.entries()[-1]
    assert last["kind"] == "signature"
    assert last["body"]["note"] == "seen and talked about"  # type: ignore[index]


def _at_its_terminal() -> None:
    os.setsid()
    fcntl.ioctl(0, termios.TIOCSCTTY, 0)
    fcntl.ioctl(0, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))


_ON_THAT_DAY = """
import sys
from datetime import datetime
from pathlib import Path
from haccp.cli.main import cli
from haccp.cli.session import Session
cli.main(["review"], obj=Session(Path(sys.argv[1]), lambda: datetime.fromisoformat("2026-10-26T18:50Z")))
"""


@pytest.mark.parametrize("ending", [b"\x03", b"\x04", b"q\n"])
def test_what_was_decided_is_kept_however_the_walk_ends(kitchen: Kitchen, ending: bytes) -> None:
    """By Ctrl-C, the end of input and q, at a terminal of 80 columns."""
    kitchen.at("2026-10-26T12:00-06:00")
    kitchen.says("hold well-1 120 --yes")
    kitchen.says("cook stew 150 --yes")
    kitchen.says("hold stew 120 --yes")
    ours, theirs = pty.openpty()
    running = subprocess.Popen(
        [sys.executable, "-c", _ON_THAT_DAY, str(kitchen.path)],
        stdin=theirs,
        stdout=theirs,
        stderr=theirs,
        env={**os.environ, "HACCP_BY": "JM", "NO_COLOR": "1", "PYTHONUNBUFFERED": "1"},
        preexec_fn=_at_its_terminal,  # noqa: PLW1509 - Ctrl-C reaches who the terminal is
    )
    os.close(theirs)
    said = bytearray()

    def until(words: str) -> None:
        ends = time.monotonic() + 20
        while words not in flat(said.decode(errors="replace")) and time.monotonic() < ends:
            with suppress(OSError):
                said.extend(os.read(ours, 4096))
        assert words in flat(said.decode()), said.decode()

    until("1 of 2, stew: discard or divert, and why:")
    os.write(ours, b"set-apart bottom shelf, marked\n")
    until("2 of 2, well-1: corrective, and why:")
    kept = [one for one in kitchen.entries() if one["kind"] == "set apart"]
    assert len(kept) == 1, "it is on record before the next question"
    os.write(ours, ending)
    if ending == b"\x03":
        until("Interrupted. Recorded as no.")
    else:
        until("1 was recorded.")
        until("PATTERNS")
    code = running.wait(30)
    os.close(ours)
    assert code == (130 if ending == b"\x03" else 0)
    assert kitchen.run("record verify").exit_code == 0
