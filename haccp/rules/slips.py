"""A number as it was typed, before it is recorded: impossible, doubtful, or nothing to ask about.

It knows what food can do, not what was meant: a doubtful number names the likelier ones.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import timedelta
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from math import inf, log

from haccp.rules.account.steps import TRAITS
from haccp.rules.evidence import Reading, Step
from haccp.temperature import Degree, Level, Temperature, is_plausible

_COLD = (Step.COOL, Step.COLD_HOLD)
_MINUTE = timedelta(minutes=1)

# Salt, sugar and the weather move a food's boiling point by less than this above the altitude's;
# fat and sugar work, which get hotter, are cooked [°F]: common practice, no source.
_ABOVE_BOILING = 10
# What a hot unit's air may be at without a question [°F]: common practice, no source.
_HOT_AIR = Fraction(230)
# Food in a cooler is not as cold [°F]: common practice, no source.
_FROZEN = 25
# Nothing in a kitchen freezes through within this time. Plank's equation, from memory: a slab 1 cm
# thick with 250 MJ/m³ of latent heat and 1.5 W/mK, from both sides, in air of -40 °C at 50 W/m²K
# takes 250e6 / 38 * (0.01 / 2 / 50 + 0.01² / 8 / 1.5) s = 12 min from its freezing point alone.
_FREEZES_IN, _FROZEN_THROUGH, _UNFROZEN = timedelta(minutes=10), 20, 41
# The core of a slab, both faces kept at a temperature, nears it by 1/e each (2 L / pi)² / a, L its
# half thickness: for 1 in, as of a 2-inch pan, and a = 0.14 mm²/s, as of foods rich in water, that
# is 31 min. Source: Carslaw and Jaeger, Conduction of Heat in Solids, section 3.4, from memory.
# Only stirred food, thin food or ice in it is faster, and seldom as fast as the second [min].
_PAN_OF_2_IN, _STIRRED_IN_ICE = 31, 3
# A number by which food falls so many times slower is likelier: common practice, no source.
_MUCH_SLOWER = 3
# What food in a kitchen is cooled towards at the coldest: where it begins to freeze [°F]: common
# practice, no source.
_COLDEST_AROUND = 28
# A change that is no reason to ask, how near to what was read before a likelier number lies, from
# where on food held hot is no surprise [°F]; how long a reading says what to expect of food that is
# heated, and of what is held: common practice, no source.
_LEAP, _ALIKE, _HOT = 30, 6, 130
_HEATING, _HOLDING = timedelta(hours=2), timedelta(hours=24)


class Why(StrEnum):
    NO_TEMPERATURE = "no temperature of food"
    OTHER_WATER = "other water"
    ABOVE_BOILING = "above boiling"
    FROZE_AT_ONCE = "froze at once"
    LIKELIER = "another number is likelier"
    FROZEN = "frozen"
    HOTTER = "hotter than food that holds water"
    TOO_FAST = "fell too fast"


_IMPOSSIBLE = (Why.NO_TEMPERATURE, Why.OTHER_WATER, Why.ABOVE_BOILING, Why.FROZE_AT_ONCE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Expected:
    """What may be expected of a reading.

    `last` is the reading before it of the same batch or unit; `boiling` is where water boils at
    the kitchen's altitude. `of_unit`: a holding unit is read, which may show its air or another
    food than before. `frozen`: it may be, by the record.
    """

    boiling: Level
    last: Reading | None = None
    of_unit: bool = False
    frozen: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Slip:
    """Why a number is no record yet, and the likelier ones, the likeliest first."""

    why: Why
    last: Reading | None = None
    meant: tuple[Temperature, ...] = ()

    @property
    def is_impossible(self) -> bool:
        return self.why in _IMPOSSIBLE


def find_slip(taken: Reading, expected: Expected, *, degree_typed: bool) -> Slip | None:
    """Say what is odd about a reading, the worst first; None for what food may well do.

    `degree_typed`: its degree was typed and is no slip then.
    """
    meant = tuple(_likelier(taken, expected, degree_typed=degree_typed))[:2]
    why = next(_odd(taken, expected, meant, degree_typed=degree_typed), None)
    other = _in_other_degree(taken.temperature)
    if why is Why.FROZEN and not meant and other.fahrenheit >= _FROZEN:
        meant = (other,)
    return Slip(why=why, last=expected.last, meant=meant) if why else None


def _odd(
    taken: Reading, expected: Expected, meant: tuple[Temperature, ...], *, degree_typed: bool
) -> Iterator[Why]:
    last, shown, heated = expected.last, taken.temperature.fahrenheit, TRAITS[taken.step].heats
    if not is_plausible(taken.temperature):
        yield Why.NO_TEMPERATURE
    if shown > _hottest(taken, expected):
        yield Why.HOTTER if expected.of_unit or heated else Why.ABOVE_BOILING
    of_food_alone = not (expected.of_unit or expected.frozen or heated)
    if last and of_food_alone and _froze_at_once(taken, last):
        yield Why.FROZE_AT_ONCE
    if last and meant and _is_held(taken, expected):
        yield Why.LIKELIER
    if expected.frozen:
        return
    in_fahrenheit = taken.temperature.degree is Degree.F
    if shown < _FROZEN and in_fahrenheit and not degree_typed and not heated:
        yield Why.FROZEN
    if last and meant and _is_odd_after(taken, last, expected):
        yield Why.LIKELIER
    if last and of_food_alone and _fell_at_once(taken, last):
        yield Why.TOO_FAST


def _likelier(taken: Reading, expected: Expected, *, degree_typed: bool) -> Iterator[Temperature]:
    """Give the numbers that one slip makes this one of, and that fit better."""
    last, shown = expected.last, taken.temperature
    too_hot = shown.fahrenheit > _hottest(taken, expected)
    if not too_hot and not (last and _is_odd_after(taken, last, expected)):
        return
    other = _in_other_degree(shown)
    if not degree_typed and (_fits(other, taken, expected) or _is_held_so(other, taken, expected)):
        yield other
        return
    typed = dict.fromkeys(one for one in _of_one_slip(shown) if one != shown)
    fitting = [one for one in typed if _fits(one, taken, expected)]
    if last and _is_held(taken, expected):
        before = last.temperature.fahrenheit
        fitting.sort(key=lambda one: abs(one.fahrenheit - before))
    yield from fitting


def _is_odd_after(taken: Reading, last: Reading, expected: Expected) -> bool:
    """Whether a number lies so far from the one before that a slip is worth a thought."""
    rose = taken.temperature.fahrenheit - last.temperature.fahrenheit
    passed = taken.at - last.at
    if TRAITS[taken.step].heats:
        return -rose > _LEAP and passed <= _HEATING
    if _is_held(taken, expected):
        return abs(rose) > _LEAP and passed <= _HOLDING
    if rose > _LEAP:
        return last.step in _COLD and passed <= _HEATING
    fell_while_hot = taken.step is Step.HOT_HOLD and taken.temperature.fahrenheit < _HOT - _LEAP
    constant = _time_constant(taken, last, taken.temperature.fahrenheit)
    return -rose > _LEAP and (fell_while_hot or constant < _PAN_OF_2_IN)


def _fits(meant: Temperature, taken: Reading, expected: Expected) -> bool:
    """Whether another number is what may well be read there and then."""
    last, number = expected.last, meant.fahrenheit
    if not is_plausible(meant) or number > _hottest(taken, expected):
        return False
    if last is None or (taken.at - last.at > _HOLDING):
        return number >= _FROZEN
    before = last.temperature.fahrenheit
    if TRAITS[taken.step].heats:
        return number >= before - _ALIKE
    if _is_held(taken, expected):
        return abs(number - before) <= _ALIKE
    if taken.step is Step.HOT_HOLD:
        return _HOT <= number <= before + taken.accuracy
    constant = _time_constant(taken, last, number)
    as_shown = _time_constant(taken, last, taken.temperature.fahrenheit)
    slower = constant >= min(_PAN_OF_2_IN, _MUCH_SLOWER * as_shown)
    return _FROZEN <= number <= before + taken.accuracy and (slower or before - number <= _LEAP)


def _is_held(taken: Reading, expected: Expected) -> bool:
    """Whether it is to show nearly what it showed before."""
    last = expected.last
    return expected.of_unit or (
        last is not None and TRAITS[taken.step].held_to != "" and last.step is taken.step
    )


def _is_held_so(other: Temperature, taken: Reading, expected: Expected) -> bool:
    """Whether what is held would have changed no more than it may, were the degree the other."""
    last = expected.last
    if last is None or expected.frozen or not _is_held(taken, expected):
        return False  # what may be frozen may read far below what it was
    changed = other.fahrenheit - last.temperature.fahrenheit
    return abs(changed) <= _LEAP and other.fahrenheit <= _hottest(taken, expected)


def _hottest(taken: Reading, expected: Expected) -> Fraction:
    of_food = Fraction(expected.boiling.f) + taken.accuracy + _ABOVE_BOILING
    return max(of_food, _HOT_AIR) if expected.of_unit else of_food


def _froze_at_once(taken: Reading, last: Reading) -> bool:
    was_unfrozen = last.temperature.fahrenheit >= _UNFROZEN
    is_frozen = taken.temperature.fahrenheit <= _FROZEN_THROUGH
    return was_unfrozen and is_frozen and taken.at - last.at <= _FREEZES_IN


def _fell_at_once(taken: Reading, last: Reading) -> bool:
    shown = taken.temperature.fahrenheit
    fell = last.temperature.fahrenheit - shown
    return fell > _LEAP and _time_constant(taken, last, shown) < _STIRRED_IN_ICE


def _time_constant(taken: Reading, last: Reading, number: Fraction) -> float:
    """Give in how many minutes food neared what is coldest around it by 1/e, if it fell so far."""
    minutes = max((taken.at - last.at) / _MINUTE, 1)
    above = last.temperature.fahrenheit - _COLDEST_AROUND
    left = number - _COLDEST_AROUND
    if above <= 0 or left >= above:
        return inf
    return minutes / log(above / left) if left > 0 else 0


def _in_other_degree(shown: Temperature) -> Temperature:
    return replace(shown, degree=Degree.C if shown.degree is Degree.F else Degree.F)


def _of_one_slip(shown: Temperature) -> Iterator[Temperature]:
    """Give the numbers that one slip of the finger makes this one of, the commonest slip first."""
    sign, digits = ("-", str(-shown.value)) if shown.value < 0 else ("", str(shown.value))
    for number in _texts(digits):
        if number.replace(".", "", 1).isdigit() and number[0] != "0":
            yield replace(shown, value=Decimal(sign + number.strip(".")))


def _texts(typed: str) -> Iterator[str]:
    places = range(len(typed))
    for i in places[:-1]:  # two digits changed places
        yield typed[:i] + typed[i + 1] + typed[i] + typed[i + 2 :]
    for i in places[:-1]:  # a digit typed twice
        if typed[i] == typed[i + 1]:
            yield typed[:i] + typed[i + 1 :]
    for i in reversed(places):  # a digit too many, the last one first
        yield typed[:i] + typed[i + 1 :]
    for i in reversed(range(len(typed) + 1)):  # a digit left out, the last one first
        yield from (typed[:i] + digit + typed[i:] for digit in "0123456789")
    if "." not in typed:  # the point left out
        yield f"{typed[:-1]}.{typed[-1]}"


# A thermometer that shows a number this near to the other water's stands in that; one in the other
# degree, or with a slip of a digit, this near to what it should show is that one [°F]: common
# practice, no source.
_OTHER_WATER, _SAME_DEGREES, _SAME_DIGITS = 15, 5, 2


def find_bath_slip(
    shown: Temperature, bath: Level, other: Level, *, degree_typed: bool
) -> Slip | None:
    """Say whether a check in one water was rather made in the other, or typed wrong.

    A thermometer may be off by any other amount: to tell that is what its check is for. A number
    with its degree was typed with thought.
    """

    def off(number: Temperature, water: Level) -> Fraction:
        return abs(number.fahrenheit - Fraction(water.f))

    if not is_plausible(shown):
        return Slip(why=Why.NO_TEMPERATURE)
    if off(shown, other) <= _OTHER_WATER:
        return Slip(why=Why.OTHER_WATER)
    if degree_typed or off(shown, bath) <= _OTHER_WATER:
        return None
    other_degree = _in_other_degree(shown)
    meant = [one for one in _of_one_slip(shown) if off(one, bath) <= _SAME_DIGITS]
    if off(other_degree, bath) <= _SAME_DEGREES:
        meant = [other_degree]
    meant.sort(key=lambda one: off(one, bath))
    return Slip(why=Why.LIKELIER, meant=tuple(meant[:1])) if meant else None
