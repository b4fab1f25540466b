"""What a first day stumbles over: each slip is answered with what to type, and records nothing."""

import os
import pty
import subprocess
import sys
import termios
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner

from haccp.cli.main import cli
from haccp.cli.session import Session
from haccp.errors import Refused
from haccp.limits import revisions, shipped
from haccp.limits.loader import take_overrides
from tests.cli.kitchens import Kitchen


@pytest.fixture
def kitchen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Kitchen:
    monkeypatch.setenv("HACCP_BY", "AR")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    made = Kitchen(tmp_path / "record.sqlite3")
    made.at("2026-11-02T07:00-07:00")
    made.says(
        'setup "Test Kitchen" --zone America/Denver --manager AR --manager-name "A. R." --altitude 5380ft'
    )
    made.says("add unit freezer frozen")
    made.at("2026-11-02T08:00-07:00")
    for code in ("k1", "k2"):
        made.says(f'batch "bean stew" --code {code}')
    made.at("2026-11-02T08:05-07:00")
    return made


# A name that was right an hour ago.


@pytest.mark.parametrize(
    ("command", "became"),
    [
        ('discard k1 "dropped"', "k1 was discarded on Mon 2 Nov at 08:05, see haccp show k1\n"),
        ("used k1", "k1 was used up on Mon 2 Nov at 08:05, see haccp show k1\n"),
        ("merge k1 k2 --code all", "k1 went into all on Mon 2 Nov at 08:05, type all.\n"),
        (
            "split k1 3",
            "k1 went into k1-a and k1-b and k1-c on Mon 2 Nov at 08:05, type k1-a or k1-b or k1-c.\n",
        ),
    ],
)
@pytest.mark.parametrize("again", ["cool k1 98", "hold k1 140", "used k1", 'discard k1 "x"'])
def test_a_name_of_a_batch_that_is_gone_is_answered_with_what_became_of_it(
    kitchen: Kitchen, command: str, became: str, again: str
) -> None:
    kitchen.says(command)
    assert kitchen.refuses(again).endswith(f"'k1' any more: {became}")


def test_a_whole_name_of_a_batch_that_is_gone_is_not_the_beginning_of_another(
    kitchen: Kitchen,
) -> None:
    kitchen.says('batch "rice" --code k10')
    kitchen.says('discard k1 "dropped"')
    assert "k1 was discarded" in (said := kitchen.refuses("cool k1 98"))
    assert said.endswith("type more of k10.\n")


def test_the_beginning_of_a_batch_that_is_gone_is_known_too(kitchen: Kitchen) -> None:
    kitchen.says('batch "white-bean stew"')
    kitchen.says("used white")
    assert "white-bean-stew-1102 was used up" in kitchen.refuses("cool white 98")
    assert "There is no open batch 'soup': type one of k1, k2." in kitchen.refuses("cool soup 98")


def test_a_containers_name_is_found_after_its_batch_is_gone(kitchen: Kitchen) -> None:
    kitchen.says("rename k1 pan-1")
    kitchen.says("used pan-1")
    assert "k1 was used up" in kitchen.refuses("cool pan-1 98")
    for command in ("trace", "show"):
        assert kitchen.says(f"{command} pan-1").startswith("bean stew (k1, pan-1): ")


def test_a_containers_name_means_the_batch_that_has_it_now(kitchen: Kitchen) -> None:
    kitchen.says("rename k1 pan-1")
    kitchen.says("used k1")
    kitchen.says("rename k2 pan-1")
    assert kitchen.says("show pan-1").startswith("bean stew (k2, pan-1): ")


def test_names_are_listed_as_a_person_looks_for_them(kitchen: Kitchen) -> None:
    kitchen.says("split k1 3 --keep")
    assert "could be k1-a or k1-b or k1-c:" in kitchen.refuses("cool k1- 98")
    for number in (10, 9):
        kitchen.says(f'batch "rice" --code r-{number}')
    assert "could be r-9 or r-10:" in kitchen.refuses("cool r 98")


# Said again, changed.


def test_a_method_said_again_changes_nothing(kitchen: Kitchen) -> None:
    words = 'method k1 "walk-in" --nature thick --air 38F --depth 2'
    kitchen.says(words)
    before = kitchen.entries()
    assert "already: nothing was changed" in kitchen.says(words)
    assert kitchen.entries() == before
    assert "counts no more" in kitchen.says('method k1 "ice bath" --nature stirred --air 33F')


def test_a_unit_holds_food_otherwise_only_where_that_is_confirmed(kitchen: Kitchen) -> None:
    said = kitchen.refuses("add unit freezer cold")
    assert "freezer holds food frozen, and from now on cold." in said
    assert "--yes" in said
    kitchen.says("add unit freezer frozen --every 240")  # nothing to ask about
    assert "cold, checked every 240 min" in kitchen.says("add unit freezer cold --yes")


# What was typed wrong.


@pytest.mark.parametrize(
    "command",
    ["cool k1 98 --air 38F", "cool k1 98 08:01 --air=38F", "cool --air 38F", "hold freezer -4F --air 3",
     "receive peas -4F --as frozen --air 3", "boil T1 202F --air 3", "correct 5 98 --air 3"],
)  # fmt: skip
def test_a_wrong_option_is_called_one(kitchen: Kitchen, command: str) -> None:
    name = command.split(maxsplit=1)[0]
    said = kitchen.refuses(command)
    assert said == f"Refused: There is no option --air here. See haccp {name} --help\n"


def test_a_slip_in_an_option_is_answered_with_the_option(kitchen: Kitchen) -> None:
    for command in ("cool k1 98 --nots x", "status --jsn"):
        assert "(did you mean --" in kitchen.refuses(command)


def test_a_temperature_below_zero_is_no_option(kitchen: Kitchen) -> None:
    assert kitchen.says("hold freezer -4F").startswith("MET")


@pytest.mark.parametrize(
    ("command", "said"),
    [
        ("split k1 two", "for 'COUNT': type a whole number from 1 to 26."),
        ("split k1 99", "for 'COUNT': type a whole number from 1 to 26."),
        ("kitchen --check-every 2", "for '--check-every': type a whole number from 5 to 1440."),
        ("method k1 walk-in --depth deep", "'deep' is no depth: type inches such as 2 or 2.5"),
        ("add food rice --depth 2cmm", "'2cmm' is no depth: type inches such as 2 or 2.5"),
    ],
)
def test_a_number_is_asked_for_in_words(kitchen: Kitchen, command: str, said: str) -> None:
    assert said in kitchen.refuses(command)


@pytest.mark.parametrize("degree", ["F", "C"])
def test_a_depth_is_typed_one_way_everywhere(kitchen: Kitchen, degree: str) -> None:
    kitchen.says(f"kitchen --degree {degree}")
    for command in (
        "method k1 walk-in --depth",
        'add food "bean stew" --depth',
        'predict "bean stew" --depth',
    ):
        for typed in ("2in", "5cm", *(["2"] if degree == "F" else [])):
            kitchen.says(f"{command} {typed}")
        if degree == "C":
            assert "'5' has no unit: type 5cm or 5in." in kitchen.refuses(f"{command} 5")


def test_a_depth_in_centimetres_is_kept_as_its_inches(kitchen: Kitchen) -> None:
    kitchen.says("method k1 walk-in --depth 5cm")
    (body,) = [e["body"] for e in kitchen.entries() if e["kind"] == "cooling setup"]
    assert isinstance(body, dict)
    assert body["depth_in"] == "1.97"


def test_an_altitude_has_its_unit(tmp_path: Path) -> None:
    new = Kitchen(tmp_path / "new.sqlite3")
    said = new.refuses("setup X --zone UTC --manager AR --manager-name A --altitude 1640")
    assert "such as 1640m or 5380ft" in said
    assert not new.path.exists()


# A PIN is asked for again where it is typed unseen.


def asked(monkeypatch: pytest.MonkeyPatch, *typed: str) -> tuple[Session, list[str]]:
    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    answers, prompts = iter(typed), list[str]()

    def ask(prompt: str) -> str:
        prompts.append(prompt)
        return next(answers)

    return Session(Path("none"), lambda: datetime(2026, 11, 2, tzinfo=UTC), ask=ask), prompts


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
    kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch
) -> None:
    for typed in ("", "25", "258"):
        kitchen.pin = typed
        assert "A PIN is 4 to 12 digits" in kitchen.refuses("add thermometer T1")
    kitchen.pin = "2580"
    kitchen.says("add thermometer T1")
    session, prompts = asked(monkeypatch, "25", "2580")
    session.path, session.clock = kitchen.path, lambda: kitchen.now
    with session:
        assert session.manager("AR").initials == "AR"
    assert len(prompts) == 2


# Words are broken between them, in a terminal only.


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


def test_a_refusal_is_broken_between_words_in_a_terminal(kitchen: Kitchen) -> None:
    typed = "white-bean stew that was put into the walk-in yesterday evening"
    code, lines = in_a_terminal(kitchen, 80, "cool", "k1", "98", typed)
    assert code == 2
    assert len(lines) > 1
    assert all(len(line) <= 80 for line in lines)
    assert " ".join(lines).startswith(f"Refused: '{typed}' is not a time")
    assert any(f"'{typed}'" in line for line in lines), "broken within its quotes"
    words = CliRunner().invoke(
        cli, ["--db", str(kitchen.path), "cool", "k1", "98", typed], prog_name="haccp"
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


# A local code's numbers.

LOCAL = """\
[[limit]]
name = "cold-holding"
side = "at or below"
inclusive = true
f = 38
c = 3
citation = "section 12"
source = "an invented code, for a test"
basis = "verified"
text = "Hold cold at 38 °F (3 °C) or less."
"""


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("c = 3", "c = 13", "38 °F and 13 °C are not the same"),
        ("c = 3", "c = 5", "38 °F and 5 °C are not the same"),
        ("f = 38", "f = -400", "nothing in a kitchen is at -400 °F (3 °C)"),
        ("c = 3", "c = 300", "nothing in a kitchen is at 38 °F (300 °C)"),
        ("f = 38", 'f = "38"', "f cannot be '38': type it without quotes, f = 38."),
        ("inclusive = true", 'inclusive = "yes"', "inclusive cannot be 'yes': type true or false."),
    ],
)
def test_a_local_code_that_holds_a_slip_is_refused_wherever_it_is_handed_in(
    kitchen: Kitchen, tmp_path: Path, old: str, new: str, said: str
) -> None:
    local, log = tmp_path / "local.toml", tmp_path / "log.csv"
    log.write_text("batch,step,taken_at,temp,unit\npot,cold_hold,0,37,F\n")
    local.write_text(LOCAL, encoding="utf-8")
    kitchen.says(f"limits validate {local}")
    local.write_text(LOCAL.replace(old, new), encoding="utf-8")
    for command in ("limits validate", "kitchen --limits", f"check {log} --limits"):
        sentence = kitchen.refuses(f"{command} {local}")
        assert "local.toml, line 1: " in sentence
        assert said in sentence


def test_an_accuracy_is_compared_as_a_difference() -> None:
    accuracy = LOCAL.replace("cold-holding", "thermometer-accuracy").replace("f = 38", "f = 2")
    base = shipped()
    take_overrides(base, accuracy.replace("c = 3", "c = 1"), "local.toml")
    for wrong in ("c = 3", "c = -1", "c = -17"):
        with pytest.raises(Refused, match=r"local\.toml, line 1"):
            take_overrides(base, accuracy.replace("c = 3", wrong), "local.toml")


def test_what_ships_holds_no_slip() -> None:
    """So that a local code may print what any of the codes that ship print."""
    from haccp.limits.loader import _levels, _slip

    sets = [shipped(f"{name}.{n}") for name, numbers in revisions().items() for n in numbers]
    for limit in (limit for one in sets for limit in one.limits):
        assert [_slip(limit, level) for level in _levels(limit)] == [None] * len(_levels(limit))
