"""A ten-hour shift read in another language: no English sentence is left in what is printed.

The catalog of these tests says every message in Greek letters, so that whatever was not asked of it
stands out: what is left in our own letters must be what was typed, a name, a unit or a command.
The kitchen and its shift are invented.
"""

import re
from collections.abc import Iterator
from gettext import NullTranslations

import pytest

from haccp.cli import reader
from haccp.cli.main import cli
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


def left_in_english(printed: str, typed: str) -> set[str]:
    """Give the words that no message said and nobody typed."""
    known = {*re.findall(r"[A-Za-z]{2,}", typed), *_EVERYWHERE, *_COMMANDS}
    return {*re.findall(r"[A-Za-z]{2,}", printed)} - known


SHIFT = [
    ("06:00", 'batch "bean stew" --code stew --amount "12 gal" --kind "plant food"'),
    ("06:05", "receive chicken 38 --code chicken --kind poultry"),
    ("06:10", "move chicken walk-in"),
    ("06:15", "ice T1 32.4"),
    ("06:16", "boil T2 201.9"),
    ("06:20", "hold well-1 151 well-2 148 walk-in 38"),
    ("06:30", "cook stew 199"),
    ("07:00", "hold stew 172 --in well-1"),
    ("07:20", "well-1 149"),
    ("08:00", "hold well-1 133"),
    ("08:01", 'corrective well-1 "element turned up"'),
    ("08:02", "corrective well-1"),
    ("08:10", "hold well-1 143"),
    ("08:15", "hold stew 141"),
    ("08:20", "oops 142"),
    ("08:25", "split stew 2"),
    ("08:30", "cool stew-a 135"),
    ("08:31", 'cooling-method stew-a "ice bath" --nature thick --air 34F --from-start'),
    ("09:10", "cool stew-a 112"),
    ("09:50", "cool stew-a 98"),
    ("10:20", "cool stew-a 90"),
    ("10:31", "cool stew-a 80"),
    ("10:35", 'set-apart stew-a "bottom shelf"'),
    ("10:40", "batch rice --code rice --from chicken --yes"),
    ("10:45", "cook rice 140"),
    ("10:50", "cook rice 168 --held 15"),
    ("11:00", "time-control rice 141"),
    ("11:10", "hold walk-in 45"),
    ("11:12", "out chicken"),
    ("11:15", "cook chicken 150"),
    ("11:20", "cook chicken 168 --held 15"),
    ("11:40", "freeze chicken"),
    ("11:45", "thaw chicken"),
    ("11:50", "amend chicken 167 typo"),
    ("12:00", "ice T1 36"),
    ("12:05", "hold well-2 147 --thermometer T1"),
    ("12:10", "reheat stew-b 110"),
    ("12:50", "reheat stew-b 167 --held 15"),
    ("13:00", "rename stew-b pan"),
    ("13:05", 'discard stew-a "too slow"'),
    ("13:10", "used-up stew-b --yes"),
    ("13:20", "empty-unit well-1"),
    ("13:30", "round"),
    ("15:00", 'trust-thermometer T1 "read beside T2" --by AR'),
    ("15:30", 'discard rice "time is over"'),
    ("15:40", "due"),
    ("15:50", "list people"),
    ("15:55", "label chicken"),
]


@pytest.fixture
def kitchen(kitchen: Kitchen) -> Iterator[Kitchen]:
    for command in (
        "add thermometer T2 --by AR",
        "add unit well-2 hot --by AR",
        'add person JM "J. M." --by AR',
    ):
        kitchen.at("2026-10-26T05:50-06:00")
        kitchen.run(command)
    return kitchen


def test_a_shift_says_nothing_that_no_message_says(kitchen: Kitchen) -> None:
    typed = " ".join(command for _, command in SHIFT)
    for clock, command in SHIFT:
        kitchen.at(f"2026-10-26T{clock}-06:00")
        run = kitchen.run(command)
        print(clock, command, run.exit_code, run.output, left_in_english(run.output, typed))
