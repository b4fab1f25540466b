"""A ten-hour shift read in another language: no English sentence is left in what is printed.

The catalog of these tests says every message in Greek letters, so that whatever was not asked of it
stands out: what is left in our own letters must be what was typed, a name, a unit or a command.
The kitchen and its shift are invented.
"""

import re
from gettext import NullTranslations
from pathlib import Path

import pytest

from haccp.cli import reader
from haccp.cli.board import look, screen
from haccp.cli.main import cli
from haccp.cli.session import Session
from haccp.language import read_in
from haccp.limits import shipped
from tests.kitchens import Kitchen

_LETTERS = "abcdefghijklmnopqrstuvwxyz"
_GREEK = "αβγδεζηθικλμνξοπρστυφχψωςϑ"
_IN_GREEK = str.maketrans(_LETTERS + _LETTERS.upper(), _GREEK + _GREEK.upper()[:24] + "ΣΘ")
_PLACE = re.compile(r"(\{[^}]*\})")


class Greek(NullTranslations):
    """Says every message that it is asked for, and never one that it is not."""

    def gettext(self, message: str) -> str:
        parts = _PLACE.split(message)
        return "".join(part if n % 2 else part.translate(_IN_GREEK) for n, part in enumerate(parts))

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return self.gettext(msgid1 if n == 1 else msgid2)


@pytest.fixture(autouse=True)
def in_greek(monkeypatch: pytest.MonkeyPatch) -> None:
    known = {"es": Greek()}
    monkeypatch.setattr(reader, "catalog_of", lambda language: known[language])
    monkeypatch.setenv("LANG", "es_US.UTF-8")


# What is the same in every language: units, and what stands in a line that is to be typed.
_EVERYWHERE = {"min", "hPa", "haccp", "NAME", "TEMP", "UNIT", "TCS", "pH", "aw", "MDT", "MST"}
_COMMANDS = {word for name in cli.commands for word in name.split("-")}
_LIMITS = {word for limit in shipped("food-code-2022").limits for word in limit.name.split("-")}


def left_in_english(printed: str, typed: str) -> set[str]:
    """Give the words that no message said and nobody typed."""
    known = {*re.findall(r"[A-Za-z]{2,}", typed), *_EVERYWHERE, *_COMMANDS, *_LIMITS}
    return {*re.findall(r"[A-Za-z]{2,}", printed)} - known


# A clock, what is typed, and what is answered where something is asked.
SHIFT = [
    ("06:00", 'batch "bean stew" --code stew --amount "12 gal" --kind "plant food"'),
    ("06:05", "receive chicken 38 --code chicken --kind poultry"),
    ("06:10", "move chicken walk-in"),
    ("06:15", "ice T1 32.4"),
    ("06:16", "boil T2 201.9"),
    ("06:17", "boil T2 201.9 --barometer 836hPa"),
    ("06:20", "hold well-1 151 well-2 148 walk-in 38"),
    ("06:30", "cook stew 199"),
    ("07:00", "hold stew 172 --in well-1"),
    ("07:20", "well-1 149"),
    ("07:21", "hold well-1 15O"),
    ("07:22", "hold well-1 15"),
    ("07:23", "hold well-1 149 9:99"),
    ("07:24", "hold stew"),
    ("08:00", "hold well-1 133"),
    ("08:01", 'corrective well-1 "element turned up"'),
    ("08:10", "hold well-1 143"),
    ("08:15", "hold stew 141"),
    ("08:20", "oops 142"),
    ("08:25", "split stew 2 --yes"),
    ("08:30", "cool stew-a 135"),
    ("08:31", 'cooling-method stew-a "ice bath" --nature thick --air 34F --from-start'),
    ("09:10", "cool stew-a 112"),
    ("10:20", "cool stew-a 90"),
    ("10:22", "cool stew-a 95"),
    ("10:31", "cool stew-a 80"),
    ("10:35", 'set-apart stew-a "bottom shelf"'),
    ("10:40", "batch rice --code rice --from chicken --yes"),
    ("10:45", "cook rice 140"),
    ("10:50", "cook rice 168 --held 15"),
    ("11:00", "time-control rice 141"),
    ("11:11", "out chicken"),
    ("11:15", "cook chicken 150"),
    ("11:20", "cook chicken 168 --held 15"),
    ("11:40", "freeze chicken"),
    ("11:45", "thaw chicken"),
    ("11:50", "amend chicken 167 typo"),
    ("11:51", "amend chicken 167"),
    ("11:52", "amend 3 167 typo"),
    ("12:00", "ice T1 36"),
    ("12:01", "ice T1 212"),
    ("12:10", "reheat stew-b 110"),
    ("12:50", "reheat stew-b 167 --held 15"),
    ("13:00", "rename stew-b pan"),
    ("13:04", "discard stew-a"),
    ("13:05", 'discard stew-a "cooled badly"'),
    ("13:10", "used-up stew-b --yes"),
    ("13:20", "empty-unit well-1"),
    ("13:21", "undo"),
    ("13:22", "hodl well-1 151"),
    ("15:00", 'trust-thermometer T1 "read beside T2" --by AR'),
    ("15:30", 'discard rice "time is over"'),
    ("15:31", "batch pork stew"),
    ("15:32", "batch chicken"),
    ("15:40", "due"),
    ("15:41", "round --all"),
    ("15:50", "list people"),
    ("15:51", "list units"),
    ("15:52", "list thermometers"),
    ("15:53", "list foods"),
    ("15:54", "list batches"),
    ("15:55", "label chicken"),
    ("15:56", "trace chicken"),
    ("15:56", "show stew-a"),
    ("15:56", "show chicken"),
    ("15:56", "show well-1"),
    ("15:57", "sign-day today --by AR"),
    ("15:58", 'sign-day today --note "looked at" --by AR'),
]  # fmt: skip


@pytest.fixture
def kitchen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Kitchen:
    monkeypatch.setenv("HACCP_BY", "JM")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    made = Kitchen(tmp_path / "record.sqlite3")
    made.at("2026-10-26T05:50-06:00")
    for command in SETTING_UP:
        made.says(command)
    return made


SETTING_UP = (
    'setup "Juniper" --zone America/Denver --altitude 1640m --manager AR --manager-name "A. R."',
    'add person JM "J. M." --by AR',
    "add thermometer T1 --by AR",
    "add thermometer T2 --by AR",
    "add unit well-1 hot --usual --by AR",
    "add unit well-2 hot --by AR",
    "add unit walk-in cold --every 240 --by AR",
    "add food rice --steps cook,hot_hold --by AR",
)


# What is asked of who sits at a terminal, and what is answered.
SITTING = [
    ("07:00", "hold well-1 151", ()),
    ("07:05", "cook chicken 168", ("7", "s", "")),
    ("07:10", "hold well-1 15", ("what", "n")),
    ("07:15", "cook stew 60", ("2", "s")),
    ("07:20", "batch chicken", ("n",)),
    ("08:00", "round --all", ("?", "-", "", "1z", "151", "-", "152", ".", "", ".", "locked", "q")),
    ("08:10", "empty-unit well-1", ("n", "s")),
]


def test_a_shift_says_nothing_that_no_message_says(kitchen: Kitchen) -> None:
    typed = " ".join((*SETTING_UP, *(command for _, command in SHIFT)))
    found = {}
    for clock, command in SHIFT:
        kitchen.at(f"2026-10-26T{clock}-06:00")
        printed = kitchen.run(command).output
        assert re.search("[α-ω]", printed), printed
        found[command] = left_in_english(printed, typed)
    assert {command: words for command, words in found.items() if words} == {}


def test_what_is_asked_at_a_terminal_says_nothing_that_no_message_says(kitchen: Kitchen) -> None:
    for command in ("receive chicken 38 --code chicken --kind poultry", "batch stew --code stew"):
        kitchen.says(command)
    typed = " ".join(
        (*SETTING_UP, "chicken stew poultry what locked", *(one for _, one, _ in SITTING))
    )
    found = {}
    for clock, command, answers in SITTING:
        kitchen.at(f"2026-10-26T{clock}-06:00")
        found[command] = left_in_english(kitchen.asks(command, *answers).output, typed)
    assert {command: words for command, words in found.items() if words} == {}


def test_the_board_says_nothing_that_no_message_says(kitchen: Kitchen) -> None:
    kitchen.at("2026-10-26T06:00-06:00")
    kitchen.says("hold well-1 133")
    kitchen.says("batch stew --code stew --kind 'plant food'")
    kitchen.at("2026-10-26T09:00-06:00")
    with read_in(Greek()), Session(kitchen.path, lambda: kitchen.now) as session:
        shown = "\n".join(screen(look(session), columns=80, height=24))
    assert left_in_english(shown, " ".join(SETTING_UP)) - {"stew"} == set()


def test_a_kitchen_is_set_up_with_nothing_that_no_message_says(tmp_path: Path) -> None:
    new = Kitchen(tmp_path / "record.sqlite3")
    told = new.asks(
        "setup", "Juniper", "Nowhere", "America/Denver", "K", "F", "1640m", "JM", "JM Jo Marsh",
        "", "", "", "", "",
    )  # fmt: skip
    assert told.exit_code == 0, told.output
    ready = "Juniper Nowhere America Denver JM Jo Marsh well walk in freezer ft"
    assert left_in_english(told.output, f"{ready} {new.path}") == set()


def test_a_sentence_that_nobody_swept_would_be_found() -> None:
    told = "Put it into the fridge"
    assert left_in_english(f"{told}: walk-in.", "walk-in") == {*told.split()}
    swept = Greek().gettext("Put it into {unit}.").format(unit="walk-in")
    assert left_in_english(swept, "walk-in") == set()
