"""What people type, and the sentence that each mistake gets: the table is mistakes.toml.

The kitchen is invented. Nothing of a refused line is recorded; a line that is taken records what
its usual spelling does.
"""

import os
import shlex
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from haccp.cli.main import cli
from haccp.cli.unknown import _INSTEAD, LETS_PASS, suggested
from tests.kitchens import Kitchen

TABLE = tomllib.loads(Path(__file__).with_name("mistakes.toml").read_text(encoding="utf-8"))
_MADE = (
    ("07:00", 'setup "Test Kitchen" --zone America/Denver --altitude 1640m --manager AR --manager-name "A. R."'),
    ("07:00", 'add person JM "Dana M."'),
    ("07:00", "add thermometer T1"),
    ("07:00", "add thermometer T2"),
    ("07:00", "add unit well-1 hot"),
    ("07:00", "add unit well-2 hot"),
    ("07:00", "add unit walk-in cold"),
    ("07:00", "add unit freezer frozen"),
    ("11:00", 'batch "pork stew" --code pork-stew'),
    ("11:00", 'batch "pork chili" --code pork-chili'),
    ("11:00", 'batch "beef brisket" --code beef-brisket-1026'),
    ("11:00", "hold well-1 151"),
    ("11:00", "hold well-2 150"),
    ("11:00", "hold walk-in 38"),
    ("11:00", "hold freezer 0"),
)  # fmt: skip

# Files of loggers that lie where the commands are typed.
_FILES = {
    "cooler.csv": "When,Channel 1 (°F)\n2026-10-20 09:00,38\n",
    "no-degree.csv": "When,Temp\n2026-10-20 09:00,38\n2026-10-20 09:05,39\n",
    "no-order.csv": "When,Temp °F\n03/04/2026 09:00,38\n",
    "two-degrees.csv": "When,Temp\n2026-10-20 09:00,38 °F\n2026-10-20 09:05,3.3 °C\n",
    "no-table.csv": "Channel 1,Channel 2\n38,39\n",
}


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("mistakes")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("HACCP_BY", "AR")
        patch.setenv("XDG_CONFIG_HOME", str(folder / "config"))
        kitchen = Kitchen(folder / "record.sqlite3")
        for clock, command in _MADE:
            kitchen.at(f"2026-10-26T{clock}-06:00")
            kitchen.says(command)
    return kitchen.path


@pytest.fixture
def kitchen(made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Kitchen:
    monkeypatch.setenv("HACCP_BY", "AR")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.chdir(tmp_path)
    for name, content in _FILES.items():
        Path(name).write_text(content, encoding="utf-8")
    own = Kitchen(Path(shutil.copy(made, tmp_path / "record.sqlite3")))
    own.at("2026-10-26T11:58-06:00")
    return own


@pytest.mark.parametrize(("language", "refused"), [("en", "Refused"), ("es", "No se aceptó")])
@pytest.mark.parametrize("row", TABLE["refused"], ids=lambda row: str(row["typed"]))
def test_a_mistake_gets_its_sentence_and_records_nothing(
    kitchen: Kitchen,
    monkeypatch: pytest.MonkeyPatch,
    row: dict[str, str | list[str]],
    language: str,
    refused: str,
) -> None:
    monkeypatch.setenv("LANG", f"{language}_US.UTF-8")
    for command in row.get("after", ()):
        kitchen.says(command)
    assert kitchen.refuses(str(row["typed"])) == f"{refused}: {row[language]}\n"


@pytest.mark.parametrize("row", TABLE["taken"], ids=lambda row: str(row["typed"]))
def test_a_line_as_people_type_it_records_what_its_usual_spelling_does(
    kitchen: Kitchen, tmp_path: Path, row: dict[str, str | list[str]]
) -> None:
    for command in row.get("after", ()):
        kitchen.says(command)
    usual = Kitchen(Path(shutil.copy(kitchen.path, tmp_path / "usual.sqlite3")))
    usual.now = kitchen.now
    before = len(usual.entries())
    assert usual.says(str(row["means"])) == kitchen.says(str(row["typed"]))
    assert len(usual.entries()) > before
    assert usual.entries() == kitchen.entries()


def test_the_table_holds_ninety_mistakes_each_once() -> None:
    typed = [(row["typed"], *row.get("after", ())) for row in TABLE["refused"]]
    assert len(typed) == len(set(typed)) >= 90
    assert not [row["typed"] for row in TABLE["refused"] if row["es"] == row["en"]]


_LETTERS = "abcdefghijklmnopqrstuvwxyz"


def _near_misses(name: str) -> set[str]:
    places = range(len(name))
    left_out = {name[:i] + name[i + 1 :] for i in places}
    twice = {name[:i] + name[i] + name[i:] for i in places}
    turned = {name[:i] + name[i + 1] + name[i] + name[i + 2 :] for i in places[:-1]}
    other = {name[:i] + letter + name[i + 1 :] for i in places for letter in _LETTERS}
    return {name, name.upper(), *left_out, *twice, *turned, *other}


def test_no_suggestion_stops_checks_or_lets_food_pass() -> None:
    assert set(cli.commands) >= LETS_PASS, "a command was renamed: so is it in the list"
    offered = {
        near
        for name in (*cli.commands, *cli.earlier, "temp", "delete", "stop", "finish", "pass", "clear", "close", "done")
        for miss in _near_misses(name)
        for near in suggested(miss, cli)
    }  # fmt: skip
    assert offered
    assert not offered & LETS_PASS
    assert "hold" in suggested("hodl", cli)
    for told in _INSTEAD.values():
        assert not {*shlex.split(told)} & LETS_PASS


@pytest.mark.parametrize(
    "name", ["empty", "used", "release", "discard", "closed", "trust", "divert"]
)
def test_a_slip_in_such_a_command_is_answered_without_one(kitchen: Kitchen, name: str) -> None:
    for miss in sorted({name[1:], name[:-1], name[0] + name, name[:-2] + name[-1] + name[-2]}):
        said = kitchen.refuses(f"{miss} well-1").split("There is no command")[-1]
        assert not {*said.replace("?", "").split()} & LETS_PASS, said


def test_a_missing_folder_is_made_only_when_it_is_confirmed(tmp_path: Path) -> None:
    new = Kitchen(tmp_path / "nowhere" / "record.sqlite3")
    command = "setup X --zone America/Denver --manager AR --manager-name A"
    folder = os.fspath(new.path.parent)
    assert f"There is no folder {folder}: it would be made." in new.refuses(command)
    assert not new.path.parent.exists()
    assert new.says(f"{command} --yes").startswith("X is set up in ")


def test_which_of_several_is_pressed_by_its_number(kitchen: Kitchen) -> None:
    kitchen.says("cook pork-stew 165 --held 15")
    kitchen.at("2026-10-26T11:59-06:00")
    answered = kitchen.asks("cook pork 166 --held 15", "2")
    assert answered.exit_code == 0, answered.output
    assert "1  pork-chili" in answered.stderr
    assert kitchen.entries()[-1]["batch"] == "pork-stew"
    before = kitchen.entries()
    assert kitchen.asks("cook pork 166 --held 15", "7").exit_code == 2
    assert kitchen.entries() == before


def test_food_held_again_stays_in_the_unit_that_it_stood_in(kitchen: Kitchen) -> None:
    kitchen.says("cook brisket 199 --held 15")
    kitchen.says("hold brisket 190 --in well-1")
    kitchen.at("2026-10-26T12:20-06:00")
    assert "It stands in well-1" in kitchen.says("hold brisket 188")


_INTERRUPTED = """
import signal, sys
signal.signal(signal.SIGINT, signal.default_int_handler)
from haccp.__main__ import main
class Interrupts:
    def find_spec(self, name, path=None, target=None):
        if name == "haccp.cli.boundary":
            signal.raise_signal(signal.SIGINT)
sys.meta_path.insert(0, Interrupts())
main()
"""


def test_an_interrupt_before_anything_is_there_is_one_sentence(tmp_path: Path) -> None:
    words = [
        sys.executable,
        "-c",
        _INTERRUPTED,
        "--db",
        str(tmp_path / "r.sqlite3"),
        "hold",
        "well-1",
    ]
    done = subprocess.run(words, capture_output=True, text=True, check=False)
    assert done.returncode == 130
    assert done.stderr == "\nInterrupted. Nothing was recorded.\n"
