"""A temperature as entered, and a limit's number as printed in both degrees."""

import re
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache

from haccp.errors import Refused

_ENTERED = re.compile(r"([+-]?[0-9]{1,4}(?:\.[0-9]{1,12})?)\s*°?\s*([FfCc])?")


class Degree(StrEnum):
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
    match = _ENTERED.fullmatch(text.strip())
    if match is None:
        raise Refused(f"{text!r} is not a temperature: type a number such as 98, 98.5 or 61C.")
    number, letter = match.groups()
    if letter is None and default is None:
        raise Refused(f"{text!r} has no degree: type {number}F or {number}C.")
    degree = Degree(letter.upper()) if letter else default
    assert degree is not None  # shown by the two lines above
    return Temperature(Decimal(number), degree)


def is_plausible(temperature: Temperature) -> bool:
    """Whether food, or the air it is kept in, can be at this temperature."""
    return COLDEST <= temperature.fahrenheit <= HOTTEST


# What a cook may have an oven at, from a warming cabinet to a pizza oven [°F]: common practice,
# no source.
_OVEN = (Fraction(100), Fraction(900))


def is_of_an_oven(temperature: Temperature) -> bool:
    """Whether an oven that food is in can show this temperature."""
    return _OVEN[0] <= temperature.fahrenheit <= _OVEN[1]
