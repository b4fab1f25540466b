"""One line as it is typed, `well-1 151 11:45`, read into a name, a temperature and a time.

Every way to read it is tried: if one is left it is taken, if more are left all are told.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from typing import NamedTuple
from zoneinfo import ZoneInfo

from haccp.errors import Refused
from haccp.kitchen.naming import find, listed, meant
from haccp.language import phrase
from haccp.temperature import Degree, is_meant_as_temperature, is_temperature, parse_temperature
from haccp.time import is_time, parse_when

_FEW = 3  # names of which each gets its own line


class Typed(NamedTuple):
    """One reading as typed; `when` is empty for now."""

    name: str
    temp: str
    when: str

    def line(self, command: str) -> str:
        """Give the whole line to type for it, the usual way round."""
        temp = self.temp.replace(" ", "")
        return " ".join(filter(None, ("haccp", command, in_quotes(self.name), temp, self.when)))


class Line(NamedTuple):
    """The words after a command, and what they may be about: `what` says how that is called."""

    words: Sequence[str]
    command: str
    names: Mapping[str, str]
    what: str

    def read(self, now: datetime, zone: ZoneInfo) -> Typed:
        """Give the one way to read it; raises Refused with what to type."""
        found = list(dict.fromkeys(readings(self.words, self.names)))
        if len(found) == 1:
            return found[0]
        if found:
            lines = f" {phrase('or')} ".join(one.line(self.command) for one in found)
            raise Refused(
                phrase("That can be read in more than one way: type {lines}", lines=lines)
            )
        self._refuse(now, zone)
        raise Refused(  # whatever nobody thought of
            phrase(
                "{words} is no reading: type {line}",
                words=repr(" ".join(self.words)),
                line=f"haccp {self.command} NAME TEMP",
            )
        )

    def _refuse(self, now: datetime, zone: ZoneInfo) -> None:
        """Say what is missing or wrong of a line that cannot be read."""
        words = self.words
        if not words:
            self._ask_for_a_name("")
        if is_meant_as_temperature(words[0]) and not meant(words[0], self.names)[1]:
            long = len(words) > 1 and is_temperature(" ".join(words[:2]))
            temp, rest = words[: 2 if long else 1], words[2 if long else 1 :]
            if not rest or is_time(" ".join(rest)):
                self._ask_for_a_name("".join(temp))
            if is_meant_as_temperature(rest[0]):  # two numbers, of which none is a name
                self._ask_for_a_name("")
            parse_temperature(temp[0], Degree.F)
            parse_when(" ".join(self._after_name(rest)), now, zone)
            return
        rest = self._after_name(words)
        name = words[: len(words) - len(rest)]
        if not rest or (is_time(" ".join(rest)) and not is_temperature(rest[0])):
            self._ask_for_a_temperature(" ".join(name))
        below_zero = rest[0].casefold() in ("minus", "menos")
        parse_temperature(" ".join(rest[:2]) if below_zero else rest[0], Degree.F)
        long = len(rest) > 1 and is_temperature(" ".join(rest[:2]))
        parse_when(" ".join(rest[2 if long else 1 :]), now, zone)

    def _after_name(self, words: Sequence[str]) -> Sequence[str]:
        """Give what follows the name that words begin with; raises Refused for none."""
        for end in range(len(words), 0, -1):
            if _is_name(words[:end], self.names):
                find(" ".join(words[:end]), self.names, self.what)  # says which there are
                return words[end:]
        numbers = (n for n, word in enumerate(words) if n and is_meant_as_temperature(word))
        find(" ".join(words[: next(numbers, len(words))]), self.names, self.what)
        return ()

    def _ask_for_a_name(self, temp: str) -> None:
        if not self.names:
            raise Refused(
                phrase(
                    "Nothing is open that it could be of: open a batch, such as haccp batch "
                    '"bean stew"'
                )
            )
        few = list(dict.fromkeys(self.names.values()))
        # of many none is offered: a line that is copied must not be of the wrong food
        names = few if len(few) <= _FEW else ["NAME"]
        lines = [Typed(name, temp or "TEMP", "").line(self.command) for name in names]
        raise Refused(
            phrase(
                "Of what? Here are {names}: type {lines}",
                names=listed(self.names),
                lines=f" {phrase('or')} ".join(lines),
            )
        )

    def _ask_for_a_temperature(self, name: str) -> None:
        raise Refused(
            phrase(
                "What temperature? Type what the thermometer shows after the name: haccp "
                "{command} {name} TEMP",
                command=self.command,
                name=in_quotes(name),
            )
        )


def readings(words: Sequence[str], names: Mapping[str, str]) -> Iterator[Typed]:
    """Give every way to read words: a name and a temperature in either order, then a time."""
    for first_end in range(1, len(words)):
        for second_end in range(first_end + 1, len(words) + 1):
            first, second = words[:first_end], words[first_end:second_end]
            when = " ".join(words[second_end:])
            if when and not is_time(when):
                continue
            # a degree's letter behind a number is its degree, whatever else is called so
            turned = [] if " ".join(second).casefold() in ("f", "c") else [(second, first)]
            for name, temp in ((first, second), *turned):
                if is_temperature(" ".join(temp)) and _is_name(name, names):
                    yield Typed(" ".join(name), " ".join(temp), when)


def _is_name(words: Sequence[str], names: Mapping[str, str]) -> bool:
    """Whether words may name something: a number among several could be the temperature."""
    if len(words) > 1 and any(is_temperature(word) or is_time(word) for word in words):
        return False
    return bool(meant(" ".join(words), names)[1])


def in_quotes(name: str) -> str:
    return f'"{name}"' if " " in name else name
