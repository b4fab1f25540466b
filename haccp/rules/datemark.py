"""Date marking: 3-501.17. The day of preparation is day 1; a food keeps its oldest part's mark."""

from collections.abc import Iterable
from datetime import date, timedelta

from haccp.limits.limit import Limit

_DAY = timedelta(days=1)


def last_day(
    made: date | None,
    parts: Iterable[date],
    limit: Limit,
    frozen: Iterable[tuple[date, date | None]] = (),
    today: date | None = None,
) -> date:
    """Give the last day on which a food may be used.

    `made` is the day of preparation, None where the parts alone decide (a portion). `parts` are
    the last days, as of when they went in, of what it was made from: combined foods keep the
    earliest. `frozen` are the days on which the food itself was frozen and thawed, None for one
    still frozen: its mark is what it would be if it were thawed `today`, which must then be given.
    Freezing stops the count and never starts it anew: a whole kitchen day in the freezer does not
    count, the days of freezing and of thawing do.
    Source: Food Code 2022 3-501.17, 3-501.18(A)(1).
    """
    assert limit.within is not None  # a date mark is nothing but a time
    own = [made + limit.within - _DAY] if made else []
    last = min([*own, *parts])
    for day in _days_frozen(frozen, today):
        if day <= last:
            last += _DAY
    return last


def _days_frozen(frozen: Iterable[tuple[date, date | None]], today: date | None) -> list[date]:
    """List, in order, the days on which the food was frozen from midnight to midnight."""
    whole: set[date] = set()
    for froze, thawed in frozen:
        until = thawed or today
        assert until is not None  # whoever has food in the freezer says what day it is
        whole.update(froze + n * _DAY for n in range(1, (until - froze).days))
    return sorted(whole)
