"""When a kitchen is closed: by its opening hours, and on days that were declared closed."""

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from datetime import time as clock_time
from itertools import pairwise
from zoneinfo import ZoneInfo

from haccp.kitchen.register import Register
from haccp.opening_hours import parse_hours
from haccp.record.bodies import KitchenSettings

_DAY = timedelta(days=1)
_ALL_DAY = ((timedelta(0), _DAY),)

Times = tuple[tuple[datetime, datetime], ...]


def longest_closed(settings: KitchenSettings) -> timedelta:
    return timedelta(days=settings.longest_closure)


def closed_times(register: Register, since: datetime, until: datetime) -> Times:
    """Give the closed times that [since, until] touches: merged, in order, in UTC.

    Each is given whole, also where it begins before `since` or ends after `until`, so that it is
    known how long it is; one that is longer than any closure the kitchen ever allowed may be cut
    short, and is longer than it still. Nothing said means never closed.
    """
    if not register.closed and not any(entry.body.open_hours for entry in register.settings):
        return ()
    longest = max(longest_closed(entry.body) for entry in register.settings)
    begins, ends = since - longest - 2 * _DAY, until + longest + 2 * _DAY
    closed = []
    last = begins
    for opens, closes in [*sorted(_open_times(register, begins, ends)), (ends, ends)]:
        if opens > last:
            closed.append((last, opens))
        last = max(last, closes)
    return tuple((start, end) for start, end in closed if start < until and since < end)


def _open_times(
    register: Register, begins: datetime, ends: datetime
) -> Iterator[tuple[datetime, datetime]]:
    """Give the hours of each day by the settings of their moment; a change reaches back to none.

    Hours belong to the day on which they begin, so a day that is closed leaves the night before.
    """
    changes = {entry.at for entry in register.settings if begins < entry.at < ends}
    for start, end in pairwise((begins, *sorted(changes), ends)):
        text = register.kitchen_at(start).open_hours
        day = start.astimezone(register.zone).date() - _DAY
        last = end.astimezone(register.zone).date()
        while day <= last:
            hours = parse_hours(text).get(day.weekday(), ()) if text else _ALL_DAY
            for opens, closes in () if register.declared_closed(day) else hours:
                moment = (
                    _moments(day, opens, register.zone)[0],
                    _moments(day, closes, register.zone)[1],
                )
                if moment[0] < end and start < moment[1]:
                    yield max(moment[0], start), min(moment[1], end)
            day += _DAY


def _moments(day: date, clock: timedelta, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """Say when the clock shows a time, first and last: twice, or in the skipped hour around it."""
    wall = datetime.combine(day, clock_time()) + clock
    both = sorted(wall.replace(tzinfo=zone, fold=fold).astimezone(UTC) for fold in (0, 1))
    return both[0], both[1]
