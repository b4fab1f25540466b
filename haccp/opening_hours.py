"""A kitchen's opening hours by weekday, as a manager types them."""

import re
from collections.abc import Iterator, Mapping
from datetime import timedelta
from functools import lru_cache
from itertools import pairwise

from haccp.errors import Refused
from haccp.language import message, phrase

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")

# By the day of the week, 0 for Monday: from when to when on its clock, after its midnight.
Hours = Mapping[int, tuple[tuple[timedelta, timedelta], ...]]

_DAY = timedelta(days=1)
_CLOCK = re.compile(r"([0-9]{1,2}):([0-9]{2})")
_HOW = message('type such as "mon-sat 06:00-20:00; sun 08:00-11:00, 17:00-02:00"')


@lru_cache(maxsize=64)
def parse_hours(text: str) -> Hours:
    """Read ``mon-sat 06:00-20:00; sun 08:00-14:00``; a day that is not named is closed.

    What ends at or before its beginning ends on the next day. Raises Refused for anything else, for
    a day that is named twice, and for hours of a day that overlap.
    """
    found: dict[int, tuple[tuple[timedelta, timedelta], ...]] = {}
    for part in text.lower().split(";"):
        named, _, times = part.strip().partition(" ")
        days = list(_days(named))
        spans = tuple(sorted(_span(one.strip()) for one in times.split(",")))
        if any(end > start for (_, end), (start, _) in pairwise(spans)):
            raise Refused(
                phrase(
                    "The hours in {part} overlap: {how}.", part=repr(part.strip()), how=phrase(_HOW)
                )
            )
        for day in days:
            if day in found:
                raise Refused(
                    phrase("{day} stands there twice: name each day once.", day=DAYS[day])
                )
            found[day] = spans
    return found


def _days(text: str) -> Iterator[int]:
    for part in text.split(","):
        first, dash, last = part.partition("-")
        for name in (first, last) if dash else (first,):
            if name not in DAYS:
                raise Refused(
                    phrase(
                        "{name} is no day of the week: {how}.", name=repr(name), how=phrase(_HOW)
                    )
                )
        begins = DAYS.index(first)
        count = (DAYS.index(last) - begins) % 7 if dash else 0
        yield from ((begins + n) % 7 for n in range(count + 1))


def _span(text: str) -> tuple[timedelta, timedelta]:
    opens, _, closes = text.partition("-")
    start, end = _clock(opens.strip(), text), _clock(closes.strip(), text)
    if start == _DAY:
        raise Refused(
            phrase("{text} begins at the day's end: {how}.", text=repr(text), how=phrase(_HOW))
        )
    return start, end if end > start else end + _DAY


def _clock(word: str, text: str) -> timedelta:
    match = _CLOCK.fullmatch(word)
    clock = timedelta(hours=int(match[1]), minutes=int(match[2])) if match else None
    if clock is None or clock > _DAY or (match and int(match[2]) > 59):
        raise Refused(phrase("{text} are no hours: {how}.", text=repr(text), how=phrase(_HOW)))
    return clock
