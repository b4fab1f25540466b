"""How long food was between two temperatures, added up: information, never a verdict."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import Enum, auto
from itertools import groupby, pairwise

from haccp.rules.evidence import Reading
from haccp.temperature import Level


@dataclass(frozen=True, slots=True)
class Exposure:
    """At least `shortest` and at most `longest` of the time from `since` to `until`.

    Before the first reading and after the last nothing is known, and nothing is counted.
    """

    shortest: timedelta
    longest: timedelta
    since: datetime
    until: datetime


class _Place(Enum):
    BELOW = auto()
    BETWEEN = auto()
    ABOVE = auto()


def time_between(readings: Sequence[Reading], low: Level, high: Level) -> Exposure | None:
    """Add up the time that food spent above `low` and below `high`, both excluded.

    `readings` are all of a batch, in any order; None without any. Between two readings food is
    taken to move one way. At one moment the part of the food that lies between counts. A reading
    of a doubted thermometer may widen the bounds, and narrows none.
    """
    if not readings:
        return None
    taken = sorted(readings, key=lambda reading: reading.at)
    trusted = [reading for reading in taken if not reading.doubted_since]
    bounds = [_bounds(taken, low, high), _bounds(trusted, low, high)]
    return Exposure(
        shortest=min(shortest for shortest, _ in bounds),
        longest=max(longest for _, longest in bounds),
        since=taken[0].at,
        until=taken[-1].at,
    )


def _bounds(readings: Sequence[Reading], low: Level, high: Level) -> tuple[timedelta, timedelta]:
    """Stay between from one reading to the next, or cross at any moment from the one to the other.

    Whoever is on one side at both readings was there all the time.
    """
    moments = [
        (at, _place(list(group), low, high))
        for at, group in groupby(readings, key=lambda reading: reading.at)
    ]
    shortest = longest = timedelta(0)
    for (begun, before), (ended, after) in pairwise(moments):
        if before is after is _Place.BETWEEN:
            shortest += ended - begun
        if before is not after or before is _Place.BETWEEN:
            longest += ended - begun
    return shortest, longest


def _place(at_once: Sequence[Reading], low: Level, high: Level) -> _Place:
    places = {
        _Place.BELOW
        if reading.temperature.over(low) <= 0
        else _Place.ABOVE
        if reading.temperature.over(high) >= 0
        else _Place.BETWEEN
        for reading in at_once
    }
    return places.pop() if len(places) == 1 else _Place.BETWEEN
