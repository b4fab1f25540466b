"""For how long food may be out of limits without a look that shows it, by the kitchen's settings.

Two looks that are as far apart as the settings let them be, both good, say nothing of the time
between: it may have been out of limits for all of it.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from haccp.kitchen.register import Register
from haccp.kitchen.watch import grace_of, watch_of
from haccp.rules.account.life import Watch
from haccp.rules.account.steps import Keeps

_MINUTE = timedelta(minutes=1)
# Opening hours go by the week; a declared closure is as long as it is.
_AHEAD = timedelta(days=14)


@dataclass(frozen=True, slots=True)
class Unseen:
    """What a regular look leaves unseen at most: while the kitchen is open, and over a closure."""

    every: timedelta
    grace: timedelta
    longest: timedelta
    over_a_closure: timedelta

    def shows(self, time: timedelta) -> bool:
        """Whether whatever lasts longer than a time is seen by a look."""
        return max(self.longest, self.over_a_closure) <= time


def unseen(register: Register, at: datetime, keeps: Keeps, unit: str = "") -> Unseen:
    """Give what looks at a unit, or at food whose place is not on record, leave unseen."""
    watch = watch_of(register, "", at, at, at + _AHEAD)
    if unit:
        every = register.unit_at(unit, at).every_min * _MINUTE
        grace = grace_of(every, watch.grace)
    else:
        every, grace = register.kitchen_at(at).check_every_min * _MINUTE, watch.grace
    gap = every + grace
    return Unseen(every, grace, gap, _over_a_closure(watch, keeps, unit, gap))


def _over_a_closure(watch: Watch, keeps: Keeps, unit: str, gap: timedelta) -> timedelta:
    """Give the longest time between looks that touches a closure; nothing where none does.

    The last look before a closure is made as early as it can be so that none is due before it
    begins: any moment later than `start - gap`.
    """
    earliest = [start - gap + timedelta.resolution for start, _ in watch.closed]
    found = ((watch.due(last, keeps, unit) or last) - last for last in earliest)
    longest = max(found, default=timedelta(0))
    return longest + timedelta.resolution if longest > gap else timedelta(0)


def interval_that_shows(time: timedelta, grace: timedelta) -> timedelta | None:
    """Give the longest interval whose looks leave no more than a time unseen, in whole minutes.

    None where a grace as long as the kitchen's leaves more unseen whatever the interval.
    """
    minutes: Iterable[timedelta] = (n * _MINUTE for n in range(time // _MINUTE, 0, -1))
    return next((every for every in minutes if every + grace_of(every, grace) <= time), None)
