"""The part of a record that `haccp report` is asked for: as typed, and as a command says it."""

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from shlex import quote
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

import click

from haccp.errors import Refused
from haccp.kitchen.naming import Ambiguous, Names, find, find_known, meant, several
from haccp.kitchen.reading import read_batches
from haccp.kitchen.register import Register
from haccp.kitchen.selection import Selection
from haccp.language import message, phrase
from haccp.record.bodies import BatchOpened
from haccp.record.entries import having
from haccp.record.store import Record

_Command = TypeVar("_Command", bound=Callable[..., Any])

_PLAIN = re.compile(r"[\w.-]+")
# What a shell reads in double quotes.
_READ_BY_SHELLS = frozenset('"\\$`!')


@dataclass(frozen=True, slots=True)
class Typed:
    """What is asked for, as it was typed."""

    batches: tuple[str, ...]
    foods: tuple[str, ...]
    units: tuple[str, ...]
    thermometers: bool
    cooling_log: bool

    @property
    def is_of_batches_alone(self) -> bool:
        return bool(self.batches) and not (self.foods or self.units or self.thermometers)


def part_options(command: _Command) -> _Command:
    options = (
        click.option(
            "--batch", "batches", multiple=True, metavar="BATCH",
            help="Only this batch, or several with commas. Without days: all of its days.",
        ),
        click.option(
            "--food", "foods", multiple=True, metavar="FOOD",
            help="Only the batches of this food on these days.",
        ),
        click.option(
            "--unit", "units", multiple=True, metavar="UNIT",
            help="Only this unit: its checks, and what they say of the food in it.",
        ),
        click.option("--thermometers", is_flag=True, help="Only the checks of thermometers."),
        click.option(
            "--cooling-log", is_flag=True,
            help="Only coolings: of the batches and foods named, or else of all.",
        ),
    )  # fmt: skip
    for option in reversed(options):
        command = option(command)
    return command


def batches_meant(typed: Iterable[str], record: Record) -> tuple[str, ...]:
    """Give the codes of the batches meant, of which something may be left or not."""
    names = [one for words in typed for one in several(words)]
    return tuple(dict.fromkeys(find_known(name, record, ()) for name in names))


def foods_meant(
    typed: Sequence[str], record: Record, begins: datetime, ends: datetime
) -> tuple[str, ...]:
    """Give the foods meant, of those that were there in [begins, ends): by their name or a word."""
    if not typed:
        return ()
    known = [one.opened for one in record.batches_left(begins, ends)]
    opened = having(record.numbered(known), BatchOpened)
    there = {entry.body.food: entry.seq for entry in opened if entry.at < ends}
    names = Names({food: food for food in there}, record, there)
    return tuple(dict.fromkeys(food for words in typed for food in _foods(words, names)))


def _foods(typed: str, names: Names) -> Iterator[str]:
    """Take one food, whose name may have a comma in it, or several with commas between."""
    whole, hits = meant(typed, names) if typed.strip() else (False, [])
    for name in [typed] if whole else several(typed):
        _, hits = meant(name, names) if name.strip() else (False, [])
        if not hits:
            words = message("There was no {name} on these days: type one of {names}.")
            nothing = message("There was no food on these days: type others.")
            told = phrase(words, name=repr(name), names=", ".join(names))
            raise Refused(told if names else phrase(nothing))
        if len({one.casefold() for one in hits}) > 1:
            raise Ambiguous(name, {one: one for one in hits})
        yield hits[0]


def units_meant(typed: Iterable[str], register: Register) -> tuple[str, ...]:
    names = [one for words in typed for one in several(words)]
    return tuple(dict.fromkeys(find(name, list(register.units), "unit") for name in names))


def days_of(
    codes: Sequence[str], record: Record, now: datetime, zone: ZoneInfo
) -> tuple[date, date]:
    """Give the days from the first to the last entry about batches; of what is there until now."""
    batches = read_batches(record, codes)
    first = min(batch.opened.at for batch in batches)
    last = max(max(one.ended or now, *(e.at for e in one.entries)) for one in batches)
    return first.astimezone(zone).date(), min(last, now).astimezone(zone).date()


def as_options(only: Selection) -> list[str]:
    """Give the options that ask for the same again, as a person may copy them."""
    named = (("--batch", only.batches), ("--food", only.foods), ("--unit", only.units))
    words = [
        word for option, names in named for name in names for word in (option, _for_a_shell(name))
    ]
    words += ["--thermometers"] if only.thermometers else []
    return words + (["--cooling-log"] if only.cooling_log else [])


def _for_a_shell(name: str) -> str:
    if _PLAIN.fullmatch(name):
        return name
    return quote(name) if _READ_BY_SHELLS & {*name} else f'"{name}"'


def in_a_file_name(only: Selection) -> str:
    """Give what a file about a part is called after its days."""
    names = [*only.batches, *only.foods, *only.units]
    names += ["thermometers"] if only.thermometers else []
    names += ["cooling-log"] if only.cooling_log else []
    told = "-".join(re.sub(r"[^\w.-]+", "-", name).strip("-.") for name in names)
    return f"-{told[:80]}" if told else ""
