"""One line as it is typed, `well-1 151 11:45`, read into a name, a temperature and a time.

Every way to read it is tried: if one is left it is taken, if more are left all are told.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from functools import cache
from typing import NamedTuple
from zoneinfo import ZoneInfo

from haccp.errors import Refused
from haccp.kitchen.naming import find, listed, meant
from haccp.language import phrase
from haccp.temperature import Degree, is_meant_as_temperature, is_temperature, parse_temperature
from haccp.time import is_time, parse_when

_FEW = 3  # names of which each gets its own line
_LONGEST = 8  # words of one name and its temperature


class Typed(NamedTuple):
    """One reading as typed; `when` is empty for now."""

    name: str
    temp: str
    when: str


class Line(NamedTuple):
    """The words after a command, and what they may be about: `what` says how that is called."""

    words: Sequence[str]
    command: str
    names: Mapping[str, str]
    what: str

    def read(self, now: datetime, zone: ZoneInfo) -> Typed:
        """Give the one reading that it is; raises Refused with what to type."""
        (one,) = self._only([(one,) for one in readings(self.words, self.names)], now, zone)
        return one

    def read_all(self, now: datetime, zone: ZoneInfo) -> tuple[Typed, ...]:
        """Give the readings that it is, of one time; raises Refused with what to type."""
        every = every_reading(self.words, self.names)
        rest = self.words[_longest(self.words, self.names) :]
        if not every and rest and self._begins_one(rest):
            # of several the first that cannot be read is told
            self._replace(words=rest).read(now, zone)
        return self._only(every, now, zone)

    def _begins_one(self, rest: Sequence[str]) -> bool:
        """Whether words go on with another reading, known or not, and not with a time."""
        named = any(_is_name(rest[:end], self.names) for end in range(1, len(rest) + 1))
        return named or (not rest[0][:1].isdigit() and any(map(is_temperature, rest[1:])))

    def _only(
        self, ways: Sequence[tuple[Typed, ...]], now: datetime, zone: ZoneInfo
    ) -> tuple[Typed, ...]:
        """Give the only way to read it; raises Refused for none and for several."""
        found = list(dict.fromkeys(ways))
        if len(found) == 1:
            return found[0]
        if found:
            lines = f" {phrase('or')} ".join(whole_line(self.command, way) for way in found)
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
        lines = [whole_line(self.command, [Typed(name, temp or "TEMP", "")]) for name in names]
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
    for end in range(2, len(words) + 1):
        when = " ".join(words[end:])
        if not when or is_time(when):
            yield from (Typed(*pair, when) for pair in _pairs(words[:end], names))


def every_reading(words: Sequence[str], names: Mapping[str, str]) -> list[tuple[Typed, ...]]:
    """Give every way to read words as readings one after the other, then a time of them all."""

    @cache
    def begun_at(start: int) -> tuple[tuple[Typed, ...], ...]:
        found: list[tuple[Typed, ...]] = [(one,) for one in readings(words[start:], names)]
        for end in range(start + 2, min(start + _LONGEST, len(words)) + 1):
            for pair in _pairs(words[start:end], names):
                found += [(Typed(*pair, more[0].when), *more) for more in begun_at(end)]
        return tuple(found)

    return list(begun_at(0))


def _longest(words: Sequence[str], names: Mapping[str, str]) -> int:
    """Say how many of the first words are readings one after the other."""
    reached = {0}
    for start in range(len(words)):
        if start in reached:
            ends = range(start + 2, min(start + _LONGEST, len(words)) + 1)
            reached |= {end for end in ends if any(_pairs(words[start:end], names))}
    return max(reached)


def _pairs(words: Sequence[str], names: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    """Give every way to read words as a name and a temperature, in either order."""
    for middle in range(1, len(words)):
        first, second = words[:middle], words[middle:]
        # a degree's letter behind a number is its degree, whatever else is called so
        turned = [] if " ".join(second).casefold() in ("f", "c") else [(second, first)]
        for name, temp in ((first, second), *turned):
            if is_temperature(" ".join(temp)) and _is_name(name, names):
                yield " ".join(name), " ".join(temp)


def whole_line(command: str, way: Sequence[Typed]) -> str:
    """Give the whole line to type for readings of one time, the usual way round."""
    pairs = (f"{in_quotes(one.name)} {one.temp.replace(' ', '')}" for one in way)
    return " ".join(filter(None, ("haccp", command, *pairs, way[0].when)))


def _is_name(words: Sequence[str], names: Mapping[str, str]) -> bool:
    """Whether words may name something: a number among several could be the temperature."""
    if len(words) > 1 and any(is_temperature(word) or is_time(word) for word in words):
        return False
    return bool(meant(" ".join(words), names)[1])


def in_quotes(name: str) -> str:
    return f'"{name}"' if " " in name else name
