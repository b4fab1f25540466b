"""Date marking: 3-501.17. The day of preparation is day 1; a food keeps its oldest part's mark."""

from collections.abc import Iterable
from datetime import date, timedelta

from haccp.limits.model import Limit


def last_day(made: date, parts: Iterable[date], limit: Limit) -> date:
    """Give the last day on which a food may be used.

    `parts` are the last days of the batches it was made from: combined foods keep the earliest.
    Source: Food Code 2022 3-501.17.
    """
    assert limit.within is not None  # a date mark is nothing but a time
    return min([made + limit.within - timedelta(days=1), *parts])
