"""The sentences about runs of entries that are worth a look: no accusation in any of them."""

from datetime import timedelta
from fractions import Fraction

from haccp.language import message, phrase
from haccp.rules.unusual import (
    AT_ONCE_FEWEST,
    AT_ONCE_WITHIN,
    ROUND_LEVEL,
    ROUND_RATE,
    SAME_DAY_LEVEL,
    SAME_MINUTE_LEVEL,
    SAME_TIMES_LEVEL,
    SAME_VALUE_LEVEL,
    Kind,
    Unusual,
)
from haccp.time import spell

_LEVELS = {
    Kind.SAME_VALUE: SAME_VALUE_LEVEL,
    Kind.SAME_DAY: SAME_DAY_LEVEL,
    Kind.SAME_MINUTE: SAME_MINUTE_LEVEL,
    Kind.SAME_TIMES: SAME_TIMES_LEVEL,
    Kind.ROUND: ROUND_LEVEL,
}
_TOLD = {
    Kind.SAME_VALUE: message(
        "Something to look at: {subject} was noted at {temp} {running} times running, in "
        "all {count} times in {among}; for how its readings repeat, so long a run is "
        "seldom chance (exact test of the longest run, p {p}, level {test_level}). A unit "
        "that was steady for a while does this too."
    ),
    Kind.SAME_DAY: message(
        "Something to look at: {subject} was noted with the same readings in the same "
        "order on {count} of {among} days: {values}. By chance they come in another order "
        "(exact test of the orders, p {p}, level {test_level}). A unit whose day goes the "
        "same way each time does this too."
    ),
    Kind.SAME_MINUTE: message(
        "Something to look at: of {among} hours that {person} entered later, {count} "
        "have the minute {minute}, where half would be many (exact one-sided binomial "
        "test, p {p}, level {test_level}). A sheet with a line for each hour does this "
        "too."
    ),
    Kind.SAME_TIMES: message(
        "Something to look at: of {among} hours that {person} entered later, {count} have the "
        "minutes of the day before, where half would be many (exact one-sided binomial test, "
        "p {p}, level {test_level}). Rounds that an alarm calls do this too."
    ),
    Kind.SAME_WORDS: message(
        "Something to look at: {count} of {among} acts by {person} have the same words, "
        '"{words}": see whether each says what was done, and what was measured after it. '
        "The same trouble that comes again does this too."
    ),
    Kind.AT_ONCE: message(
        "Something to look at: {count} readings by {person}, about {duration} of work, "
        "were entered in a row, {fewest} or more of them within {time}. Notes copied from "
        "paper look like this too."
    ),
    Kind.ROUND: message(
        "Something to look at: {count} of {among} values by {person} end in 0 or 5, where "
        "chance alone makes about {usual}; each value of a batch or unit counts once a "
        "day, limits and the usual value of a unit not at all (exact one-sided binomial "
        "test, p {p}, level {test_level}). A dial with a mark every 5 degrees does this "
        "too."
    ),
    Kind.EARLY: message(
        "Something to look at: of {among} readings by {person}, {count} entered up to {duration} "
        "before the time noted. A kitchen clock that is ahead does this too."
    ),
}
_EARLY_BY_SECONDS = message(
    "Something to look at: of {among} readings by {person}, {count} entered less than a "
    "minute before the time noted. A kitchen clock that is ahead does this too."
)


def told(it: Unusual) -> str:
    """Say in plain words what there is to look at, by what test, and an innocent cause."""
    by_seconds = it.kind is Kind.EARLY and it.lasting < timedelta(minutes=1)
    words = _EARLY_BY_SECONDS if by_seconds else _TOLD[it.kind]
    return phrase(
        words,
        subject=it.about,
        person=it.about,
        temp=it.value,
        running=len(it.refs),
        count=it.count,
        among=it.among,
        values=it.text,
        minute=it.text,
        words=it.text,
        duration=spell(it.lasting),
        fewest=AT_ONCE_FEWEST,
        time=spell(AT_ONCE_WITHIN),
        usual=f"{float(it.among * ROUND_RATE):.0f}",
        p=_number(it.chance) if it.chance is not None else "",
        test_level=_number(_LEVELS[it.kind]) if it.kind in _LEVELS else "",
    )


def _number(chance: Fraction) -> str:
    """Write a p-value, to two digits and no smaller than a millionth: ``0.00002``."""
    if chance < Fraction(1, 1_000_000):
        return phrase("under 0.000001")
    return f"{float(f'{float(chance):.2g}'):.6f}".rstrip("0")
