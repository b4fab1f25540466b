"""The round: all that is due, prompt after prompt; several checks in a line; the kitchen is invented."""

import fcntl
import os
import pty
import signal
import subprocess
import sys
import termios
import time
from contextlib import suppress
from typing import Any

import pytest
from click.testing import CliRunner, Result

from haccp.cli.main import cli
from haccp.cli.session import Session
from haccp.kitchen.walk import STEPS
from haccp.rules.account.table import State
from tests.kitchens import Kitchen, flat, log, matters

UNITS = (("well-2", "hot"), ("hot-box", "hot"), ("reach-in", "cold"), ("freezer", "frozen"))


@pytest.fixture
def walked(kitchen: Kitchen) -> Kitchen:
    """A kitchen with six units, all read at 13:00 in another order than they were added in."""
    for name, holds in UNITS:
        kitchen.says(f"add unit {name} {holds} --by AR")
    for name, temp in (
        ("well-2", "148"), ("well-1", "151"), ("freezer", "0"), ("hot-box", "140"),
        ("reach-in", "39"), ("walk-in", "38"),
    ):  # fmt: skip
        log(kitchen, ("13:00", f"hold {name} {temp}"))
    kitchen.at("2026-10-26T14:00-06:00")
    return kitchen


def piped(kitchen: Kitchen, command: str, *lines: str) -> Result:
    """Type a command where nobody sits at a terminal."""
    session = Session(kitchen.path, lambda: kitchen.now, ask=lambda _: kitchen.pin)
    text = "".join(f"{line}\n" for line in lines)
    return CliRunner().invoke(cli, command.split(), obj=session, prog_name="haccp", input=text)


def asked(result: Result) -> list[str]:
    """Give the names of the points in the order in which a round asked for them."""
    prompts = [line for line in result.stderr.splitlines() if " of " in line and ": " in line]
    return [line.split(": ")[1].split(",")[0].split(" with ")[0] for line in prompts]


def entered(kitchen: Kitchen) -> list[dict[str, Any]]:
    return list(kitchen.entries())


def readings(kitchen: Kitchen) -> list[tuple[str | None, str | None, str]]:
    """Give the unit, the batch and the temperature of each reading on record."""
    return [
        (one["unit"], one["batch"], one["body"]["temp"])
        for one in entered(kitchen)
        if one["kind"] == "reading"
    ]


def test_what_is_due_is_asked_as_the_last_round_went(walked: Kitchen) -> None:
    done = walked.asks("round", "150", "152", "1", "141", "38", "37")
    assert done.exit_code == 0, done.output
    # the walk-in is checked every four hours: it is not due yet
    assert asked(done)[:5] == ["well-2", "well-1", "freezer", "hot-box", "reach-in"]
    assert "1 of 5: well-2, 135 °F or above; last 148 °F 1 h ago: 150" in done.stderr
    assert flat(done.stdout).endswith("5 of 5 OK. Next round 15:00.")
    assert readings(walked)[-5:] == [
        ("well-2", None, "150"), ("well-1", None, "152"), ("freezer", None, "1"),
        ("hot-box", None, "141"), ("reach-in", None, "38"),
    ]  # fmt: skip


def test_one_check_between_rounds_does_not_turn_the_walk_around(walked: Kitchen) -> None:
    log(walked, ("13:30", "hold reach-in 39"))
    walked.at("2026-10-26T14:20-06:00")
    assert asked(walked.asks("round", "q"))[0] == "well-2"


def test_the_kitchens_walk_goes_before_the_last_round(walked: Kitchen) -> None:
    said = walked.says('kitchen --walk "reach, well-1" --by AR')
    assert "A round passes: reach-in, well-1." in said
    done = piped(walked, "round")
    assert asked(done) == ["reach-in"]
    done = walked.asks("round", "38", "151", "148", "q")
    assert asked(done)[:4] == ["reach-in", "well-1", "well-2", "freezer"]
    assert "passes well-1 twice" in walked.refuses('kitchen --walk "well-1, well-1" --by AR')
    assert "no unit 'oven'" in walked.refuses('kitchen --walk "oven" --by AR')
    walked.says("kitchen --walk '' --by AR")
    assert asked(walked.asks("round", "q"))[0] == "freezer", "as at 13:00"


def test_food_that_cools_is_asked_for_as_what_it_does(walked: Kitchen) -> None:
    log(walked, ("13:20", "cook stew 190 --held 15"), ("13:25", "cool stew 135 --in walk-in"))
    walked.at("2026-10-26T14:25-06:00")
    done = walked.asks("round", "150", "152", "1", "141", "38", "98")
    assert done.exit_code == 0, done.output
    assert "6 of 6: white-bean stew (stew), cool, 70 °F or below by 15:25;" in flat(done.stderr)
    assert entered(walked)[-1]["batch"] == "stew"
    assert entered(walked)[-1]["body"]["step"] == "cool"


def test_food_in_a_unit_is_named_with_it_and_not_asked_for_again(walked: Kitchen) -> None:
    log(walked, ("13:20", "cook stew 190 --held 15"), ("13:21", "hold stew 170 --in well-1"))
    walked.at("2026-10-26T14:10-06:00")
    done = walked.asks("round", "150", "q")
    assert "well-1 with white-bean stew (stew), 135 °F or above" in flat(done.stderr)
    assert "stew" not in asked(done)


def test_a_bad_value_is_answered_at_once_and_the_round_goes_on(walked: Kitchen) -> None:
    done = walked.asks("round", "150", "128", "1", "141", "38")
    told = flat(done.stdout)
    assert told.index("well-1 128 °F") < told.index("Log what is done") < told.index("freezer 1 °F")
    assert "4 of 5 OK. Not OK: well-1 128 °F. Next round 15:00." in told


def test_a_point_that_is_passed_by_stays_due_and_its_reason_is_on_record(walked: Kitchen) -> None:
    done = walked.asks("round", "150", ".", "", ".", "door blocked", "1", "141", "38")
    assert "A point is passed by with a reason" in flat(done.output)
    assert "4 of 5 OK. Not measured, still due: well-1 (door blocked). Next round 15:00." in flat(
        done.stdout
    )
    (note,) = [one for one in entered(walked) if one["kind"] == "not measured"]
    assert (note["unit"], note["body"]) == ("well-1", {"reason": "door blocked"})
    assert "door blocked" in walked.says("show well-1")
    walked.at("2026-10-26T14:25-06:00")
    assert "not shown" in matters(walked, "well-1"), "a reason is no look"
    again = walked.asks("round", "151")
    assert again.exit_code == 0
    assert asked(again)[0] == "well-1"


def test_a_reason_decides_nothing_that_was_missed(walked: Kitchen) -> None:
    """A corrective action would answer a missed check: a reason for passing by does not."""
    walked.at("2026-10-26T15:00-06:00")
    assert "not shown" in matters(walked, "well-2")
    walked.asks("round", ".", "no time", "q")
    assert "not shown" in matters(walked, "well-2")


def test_going_back_puts_the_point_right_by_a_correction(walked: Kitchen) -> None:
    entries = len(entered(walked))
    done = walked.asks("round", "-", "150", "128", "-", "", "-", "152", "1", "141", "38")
    assert done.exit_code == 0, done.output
    assert "This is the first point." in done.stderr
    assert "typed 128 °F, Enter keeps it" in flat(done.stderr)
    assert flat(done.stdout).endswith("5 of 5 OK. Next round 15:00.")
    made = entered(walked)[entries:]
    assert [one["body"]["temp"] for one in made] == ["150", "128", "152", "1", "141", "38"]
    assert made[2]["corrects"] == made[1]["seq"]
    assert made[2]["body"]["reason"] == "a slip in typing, put right at once"


def test_a_slip_is_asked_about_and_the_point_is_asked_again(walked: Kitchen) -> None:
    done = walked.asks("round", "15", "n", "1511", "abc", "", "150", "q")
    told = flat(done.stderr)
    assert "15 °F so soon after 148 °F" in told
    assert "1511 °F is no temperature of food" in told
    assert "'abc' is not a temperature" in told
    assert "Type what the thermometer shows" in told
    assert readings(walked)[-1] == ("well-2", None, "150")
    assert "1 of 5 OK. Not measured, still due: well-1, freezer, hot-box, reach-in." in flat(
        done.stdout
    )


def test_help_says_what_can_be_typed(walked: Kitchen) -> None:
    told = flat(walked.asks("round", "?", "q").stderr)
    for words in (". passes a point by", "- goes back", "q ends the round", "recorded at once"):
        assert words in told


def test_without_a_terminal_lines_are_read_alike(walked: Kitchen) -> None:
    done = piped(walked, "round", "150", "152", "1", "141", "38")
    assert done.exit_code == 0, done.output
    assert flat(done.stdout).endswith("5 of 5 OK. Next round 15:00.")


@pytest.mark.parametrize(
    ("lines", "taken", "lost"),
    [
        (("150", "15", "1", "141", "38"), 1, "well-1 15, 1, 141, 38"),
        (("150", "abc", "1"), 1, "well-1 abc, 1"),
        (("150", "152", "1", "141", "38", "39"), 5, "39"),
    ],
)
def test_lines_that_cannot_be_taken_are_told_and_end_the_round(
    walked: Kitchen, lines: tuple[str, ...], taken: int, lost: str
) -> None:
    """Whatever comes after one might be meant for another point."""
    entries = len(entered(walked))
    done = piped(walked, "round", *lines)
    assert done.exit_code != 0
    assert f"This was not taken: {lost}." in done.stderr
    assert len(entered(walked)) == entries + taken


def test_lines_that_end_early_leave_the_rest_due(walked: Kitchen) -> None:
    done = piped(walked, "round", "150")
    assert "1 of 5 OK. Not measured, still due: well-1, freezer, hot-box, reach-in." in flat(
        done.stdout
    )


def test_what_is_not_due_is_asked_for_on_demand(walked: Kitchen) -> None:
    walked.at("2026-10-26T13:10-06:00")
    assert walked.run("round").stdout == (
        "Nothing is due. Next round 14:00. To measure now all the same: haccp round --all\n"
    )
    assert asked(walked.asks("round --all", "q"))[0] == "well-2"
    walked.says("empty well-2")
    assert asked(walked.asks("round --all", "q"))[0] == "well-1"


@pytest.mark.parametrize(
    ("before", "asks", "lines", "step"),
    [
        (("prepare stew 46",), "prepare, cold or hot again", ("151", "38", "50"), "prepare"),
        (("cook stew 120",), "cook, ", ("151", "38", "150", "n"), "cook"),
        (
            ("cook stew 190 --held 15", "hold stew 170 --in well-1", "out stew"),
            "prepare, cold or hot again, or on the heat by 14:11; last 170 °F", ("151", "160", "38"), "prepare",
        ),
        (
            ("cook stew 190 --held 15", "cool stew 150"),
            "cool, 70 °F or below", ("151", "38", "130"), "cool",
        ),
        (
            ("receive ham 38 --code ham", "time ham 39 --six-hours"),
            "time control, served, used or discarded by 18:11", ("151", "38", "45"),
            "time_control",
        ),
        (
            ("receive soup 38 --code soup", "reheat soup 39", "reheat soup 80"),
            "reheat, 165 °F or above", ("151", "38", "120"), "reheat",
        ),
    ],
)  # fmt: skip
def test_food_is_measured_as_what_happens_to_it(
    kitchen: Kitchen, before: tuple[str, ...], asks: str, lines: tuple[str, ...], step: str
) -> None:
    for minute, command in enumerate(before):
        log(kitchen, (f"12:{minute + 10}", command))
    kitchen.at("2026-10-26T12:45-06:00")
    done = kitchen.asks("round", *lines)
    assert done.exit_code == 0, done.output
    assert asks in flat(done.stderr)
    mine = [one for one in entered(kitchen) if one["batch"] and one["kind"] == "reading"]
    assert mine[-1]["body"]["step"] == step


def test_every_state_of_food_has_its_step() -> None:
    assert set(STEPS) == set(State)


def test_a_round_needs_somebody(walked: Kitchen, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("HACCP_BY")
    assert "Who are you?" in walked.refuses("round")


def _at_its_terminal() -> None:
    os.setsid()
    fcntl.ioctl(0, termios.TIOCSCTTY, 0)


@pytest.mark.parametrize("ending", [b"\x03", b"\x04", "killed"])
def test_what_was_typed_is_kept_however_a_round_ends(kitchen: Kitchen, ending: bytes | str) -> None:
    """Ctrl-C, the end of input, and a kill that nothing can be done about."""
    ours, theirs = pty.openpty()
    running = subprocess.Popen(
        [sys.executable, "-m", "haccp", "--db", str(kitchen.path), "round"],
        stdin=theirs,
        stdout=theirs,
        stderr=theirs,
        env={**os.environ, "HACCP_BY": "JM", "NO_COLOR": "1", "PYTHONUNBUFFERED": "1"},
        preexec_fn=_at_its_terminal,  # noqa: PLW1509 - Ctrl-C reaches who the terminal is
    )
    os.close(theirs)

    said = bytearray()

    def until(words: str) -> None:
        ends = time.monotonic() + 60
        while words.encode() not in said and time.monotonic() < ends:
            with suppress(OSError):
                said.extend(os.read(ours, 4096))
        assert words in said.decode(), said.decode()

    until("1 of 2:")
    os.write(ours, b"151\n")
    until("2 of 2:")
    assert readings(kitchen) == [("well-1", None, "151")], "it is on record before the next prompt"
    if isinstance(ending, bytes):
        os.write(ours, ending)
        until("1 of 2 OK. Not measured, still due: walk-in.")
        if ending == b"\x03":
            until("Interrupted. Recorded as no.")
    else:
        running.send_signal(signal.SIGKILL)
    code = running.wait()
    os.close(ours)
    assert code == {b"\x03": 130, b"\x04": 0, "killed": -signal.SIGKILL}[ending]
    assert readings(kitchen) == [("well-1", None, "151")]
    assert kitchen.run("record verify").exit_code == 0


def test_several_checks_in_a_line_are_each_judged(walked: Kitchen) -> None:
    said = flat(walked.says("hold well-1 151 well-2 128 reach 38"))
    assert said.index("well-1 151 °F") < said.index("well-2 128 °F") < said.index("reach-in 38 °F")
    assert [(unit, temp) for unit, _, temp in readings(walked)[-3:]] == [
        ("well-1", "151"), ("well-2", "128"), ("reach-in", "38"),
    ]  # fmt: skip


@pytest.mark.parametrize("clock", ["13:50", "today 13:50", "1:50 pm"])
def test_a_time_and_options_are_of_all_in_a_line(walked: Kitchen, clock: str) -> None:
    walked.says(f"hold well-1 151 well-2 148 {clock} --note 'lids on'")
    for one in entered(walked)[-2:]:
        assert one["at"] == "2026-10-26T19:50:00Z"
        assert one["body"]["note"] == "lids on"


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("hold well-1 151 well-2 1480", "because of well-2 1480. 1480 °F is no temperature"),
        ("hold well-1 151 well-9 148", "There is no batch or unit 'well-9'"),
        ("hold well-1 151 well 148", "because of well 148. 'well' could be well-1 or well-2"),
        ("hold well-1 151 well-1 148", "because of well-1 148. well-1 stands in it twice"),
        ("hold well-1 151 well-2 15", "type it again with --yes"),
        (
            "hold well-1 151 well-2 148 reach-in",
            "What temperature? Type what the thermometer shows after the name",
        ),
        ("hold well-1 151 well-2", "haccp hold well-2 TEMP"),
        ("hold well-1 151 well-2 148 23:10", "'23:10' is later than now"),
        ("hold well-1 151 14:61", "is not a time"),
    ],
)
def test_what_cannot_be_refuses_the_whole_line(walked: Kitchen, typed: str, words: str) -> None:
    assert words in flat(walked.refuses(typed))


def test_a_no_leaves_one_out_and_says_so(walked: Kitchen) -> None:
    done = walked.asks("hold well-1 151 well-2 15 reach-in 38", "n")
    assert done.exit_code != 0
    assert [(unit, temp) for unit, _, temp in readings(walked)[-2:]] == [
        ("well-1", "151"), ("reach-in", "38"),
    ]  # fmt: skip
    assert "This was not recorded: well-2 15." in done.stderr


def test_oops_puts_the_last_reading_right(walked: Kitchen) -> None:
    log(walked, ("14:02", "hold reach-in 93 --yes"), ("14:03", "oops 39"))
    *_, old, new = entered(walked)
    assert (new["corrects"], new["unit"], new["at"]) == (old["seq"], "reach-in", old["at"])
    assert new["body"]["temp"] == "39"
    said = flat(log(walked, ("14:04", "oops 38")))
    assert said.startswith(
        f"No. {new['seq']} of reach-in (39 °F at 14:02, cold hold) is replaced by no."
    )
    assert "no temperature of food" in walked.refuses("oops 3800")
    assert "would change" in walked.refuses("oops 38")


def test_oops_takes_only_ones_own_last_reading_of_just_now(walked: Kitchen) -> None:
    walked.at("2026-10-26T14:30-06:00")
    assert "nothing in the last ten minutes" in walked.refuses("oops 39")
    walked.says("hold reach-in 39 --by AR")
    assert "The last entry is that of AR" in walked.refuses("oops 38")
    walked.says("hold well-1 151")
    walked.says("batch chili --code chili")
    assert "(batch), is no reading" in walked.refuses("oops 150")
    walked.says("hold well-1 152")
    last = entered(walked)[-1]["seq"]
    walked.says(f"correct {last} 150 --reason misread --by AR")
    assert "was replaced by no." in walked.refuses("oops 149")


def test_food_that_nobody_measured_is_named_before_each_round(walked: Kitchen) -> None:
    walked.says("batch gravy --code gravy")
    said = flat(walked.run("round").stderr)
    assert "Never measured, and in no round:" in said
    assert "gravy" in said


def test_a_thermometer_that_there_is_none_of_is_told_before_the_first_point(
    walked: Kitchen,
) -> None:
    assert "'T9'" in walked.refuses("round --thermometer T9")
