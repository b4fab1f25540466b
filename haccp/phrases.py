"""What stands in sentences and depends on the language: moments and lists, a function a kind.

In Spanish the article of a time depends on its hour, and a list's last "and" on a sound. So a
sentence has a place for the whole of it, ``{at}`` or ``{by}``, and never writes "at {time}".
"""

import re
from collections.abc import Sequence
from typing import Self

from haccp.language import counted, message, phrase


class Shown(str):
    """A time of day as it is shown, ``14:05``, with its day before it where that is told."""

    __slots__ = ("day", "hour", "time")
    day: str
    hour: int
    time: str

    def __new__(cls, time: str, hour: int, day: str = "") -> Self:
        shown = super().__new__(cls, f"{day} {time}" if day else time)
        shown.day, shown.hour, shown.time = day, hour, time
        return shown


def with_article(moment: str) -> str:
    """Give ``14:05`` as it follows a word such as from, until, since, between: ``las 14:05``.

    What is no time of day, such as ``minute 90``, is told as it is.
    """
    if not isinstance(moment, Shown):
        return moment
    if moment.day:
        return phrase("{day} {at_its_time}", day=moment.day, at_its_time=_of_that_day(moment))
    return _hour(moment)


def at(moment: str) -> str:
    """Say when something was: ``at 14:05``."""
    if not isinstance(moment, Shown):
        return phrase("at {moment}", moment=moment)
    if moment.day:
        return phrase("at {day_and_time}", day_and_time=with_article(moment))
    return phrase("at {time}", time=_hour(moment))


def spanning(first: str, last: str) -> str:
    """Say from when to when: ``from 14:05 to 14:40``; of one moment ``at 14:05``."""
    if first == last:
        return at(first)
    return phrase("from {first} to {last}", first=with_article(first), last=with_article(last))


def by(deadline: str) -> str:
    """Say until when something has to be: ``by 14:05``."""
    if not isinstance(deadline, Shown):
        return phrase("by {deadline}", deadline=deadline)
    if deadline.day:
        return phrase("by {day_and_time}", day_and_time=with_article(deadline))
    return phrase("by {time}", time=_hour(deadline))


def already(moment: str) -> str:
    """Say when something was known to have been: it ``was reached by 14:05``, or earlier."""
    if not isinstance(moment, Shown):
        return phrase("by {known_moment}", known_moment=moment)
    if moment.day:
        return phrase("by {known_day_and_time}", known_day_and_time=with_article(moment))
    return phrase("by {known_time}", known_time=_hour(moment))


def _hour(moment: Shown) -> str:
    """Give a time with its article, which is a plural but for one o'clock."""
    return counted("{time}", "{time}", moment.hour, time=moment.time)


def _of_that_day(moment: Shown) -> str:
    """Give a time that follows its day."""
    return phrase("{its_time}", its_time=_hour(moment))


def ranging(first: str, last: str) -> str:
    """Say a range in few words: ``38.0 to 39.5``; where both are the same, it alone."""
    return first if first == last else phrase("{first} to {last}", first=first, last=last)


def runs_of(numbers: Sequence[int]) -> str:
    """Name numbers that follow each other by the first and the last: ``3, 5 to 7``."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1] = [runs[-1][0], number]
        else:
            runs.append([number])
    return ", ".join(ranging(str(run[0]), str(run[-1])) for run in runs)


# The words that change before a last one that sounds like them. Names of food are in any language:
# the sound is taken from how the word begins.
_I = re.compile(r"h?[ií](?![aeéo])", re.IGNORECASE)
_O = re.compile(r"h?[oó]|8|11(?![0-9])", re.IGNORECASE)


def all_of(things: Sequence[str]) -> str:
    """Write a list of things that are all meant: ``a, b and c``."""
    if len(things) < 2:
        return "".join(things)
    *others, last = things
    joined = (
        message("{others} and {last_with_i}") if _I.match(last) else message("{others} and {last}")
    )
    return phrase(joined, others=", ".join(others), last=last, last_with_i=last)


def any_of(things: Sequence[str]) -> str:
    """Write a list of things of which one is meant: ``a, b or c``."""
    if len(things) < 2:
        return "".join(things)
    *others, last = things
    joined = (
        message("{others} or {last_with_o}") if _O.match(last) else message("{others} or {last}")
    )
    return phrase(joined, others=", ".join(others), last=last, last_with_o=last)
