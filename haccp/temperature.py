"""A temperature as entered, and a limit's number as printed in both degrees."""

import re
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache

from haccp.errors import Refused
from haccp.language import phrase

# A comma with three digits after it could part thousands.
_ENTERED = re.compile(r"([+-]?[0-9]{1,4}(?:\.[0-9]{1,12}|,[0-9]{1,2})?)\s*[°º]?\s*([FfCc])?")
_MINUS_SIGNS = str.maketrans("\N{MINUS SIGN}\N{EN DASH}", "--")
# Letters that stand where a digit should: they look like it.
_LOOK_ALIKE = {"O": "0", "o": "0", "l": "1", "I": "1", "|": "1", "B": "8", "S": "5", "Z": "2"}


class Degree(StrEnum):
    __hash__ = str.__hash__

    F = "F"
    C = "C"


@dataclass(frozen=True, slots=True)
class Level:
    """A limit's number, once for each degree, as the source prints it.

    The two are not conversions of each other: the Food Code prints 57 °C beside 135 °F.
    """

    f: Decimal
    c: Decimal

    def number(self, degree: Degree) -> Decimal:
        return self.f if degree is Degree.F else self.c

    def __str__(self) -> str:
        return f"{self.f} °F ({self.c} °C)"


@dataclass(frozen=True, slots=True)
class Temperature:
    """A temperature exactly as entered: never rounded, never converted to be judged."""

    value: Decimal
    degree: Degree

    def over(self, level: Level) -> Decimal:
        """How far this lies above the level's number printed for this degree [this degree]."""
        return self.value - level.number(self.degree)

    @property
    def fahrenheit(self) -> Fraction:
        """The exact equivalent [°F], for ordering and plots; no limit is compared with it."""
        return _fahrenheit(self.value, self.degree)

    @property
    def difference(self) -> Fraction:
        """The exact equivalent [°F] where it is a difference, such as an accuracy."""
        return Fraction(self.value) * (1 if self.degree is Degree.F else Fraction(9, 5))

    def __str__(self) -> str:
        return f"{self.value} °{self.degree}"


@lru_cache(maxsize=4096)
def _fahrenheit(value: Decimal, degree: Degree) -> Fraction:
    exact = Fraction(value)
    return exact if degree is Degree.F else exact * Fraction(9, 5) + 32


# A cook's slip of a digit must not prove that food was hot: colder than a deep freezer or hotter
# than any food that still holds water (fat and sugar work stay below this too).
# Common practice, no source.
COLDEST = Fraction(-60)
HOTTEST = Fraction(450)


def parse_temperature(text: str, default: Degree | None = None) -> Temperature:
    """Read ``98``, ``61C``, ``61.5 °C``; without a letter the degree is ``default``.

    Raises Refused if the text is no temperature, or has no degree and there is no default.
    """
    match = _entered(text)
    if match is None:
        raise _is_no_temperature(text)
    number, letter = match[1].replace(",", "."), match[2]
    if letter is None and default is None:
        raise Refused(
            phrase(
                "{text} has no degree: type {number}F or {number}C.", text=repr(text), number=number
            )
        )
    degree = Degree(letter.upper()) if letter else default
    assert degree is not None  # shown by the two lines above
    return Temperature(Decimal(number), degree)


def is_temperature(text: str) -> bool:
    """Whether a text is written as a temperature is, be it one of food or not."""
    return _entered(text) is not None


def is_meant_as_temperature(text: str) -> bool:
    """Whether a text is one, or would be with digits for the letters that look like them."""
    return bool(_entered(text) or _with_digits(text))


def _entered(text: str) -> re.Match[str] | None:
    return _ENTERED.fullmatch(text.strip().translate(_MINUS_SIGNS))


def _with_digits(text: str) -> str:
    """Write digits for the letters that look like them; empty if it is no temperature then."""
    if not any(letter.isdecimal() for letter in text):
        return ""
    changed = "".join(_LOOK_ALIKE.get(letter, letter) for letter in text.strip())
    return changed if _entered(changed) else ""


def _is_no_temperature(text: str) -> Refused:
    digits = _with_digits(text)
    if digits:
        letter = next(one for one in text if one in _LOOK_ALIKE)
        return Refused(
            phrase(
                "{text} has the letter {letter} where a digit belongs: if {digits} was meant, type "
                "{digits}.",
                text=repr(text),
                letter=letter,
                digits=digits,
            )
        )
    if text.strip().casefold().startswith(("minus", "menos")):
        return Refused(
            phrase(
                "A temperature below zero is typed with its sign, such as -2F: {text} was not "
                "taken.",
                text=repr(text),
            )
        )
    return Refused(
        phrase(
            "{text} is not a temperature: type a number such as 98, 98.5 or 61C.", text=repr(text)
        )
    )


def is_plausible(temperature: Temperature) -> bool:
    """Whether food, or the air it is kept in, can be at this temperature."""
    return COLDEST <= temperature.fahrenheit <= HOTTEST


# What a cook may have an oven at, from a warming cabinet to a pizza oven [°F]: common practice,
# no source.
_OVEN = (Fraction(100), Fraction(900))


def is_of_an_oven(temperature: Temperature) -> bool:
    """Whether an oven that food is in can show this temperature."""
    return _OVEN[0] <= temperature.fahrenheit <= _OVEN[1]
