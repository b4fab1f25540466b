"""What a logger's file was understood to say, told before anything of it is recorded."""

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from operator import sub

from haccp.cli.session import Session
from haccp.kitchen.readings_as_evidence import reading_of
from haccp.language import counted, phrase
from haccp.logs.apart import Apart
from haccp.logs.logged_series import Series
from haccp.logs.logger_file import Roles, Table
from haccp.phrases import at as said_at
from haccp.phrases import ranging
from haccp.record.bodies import Measured
from haccp.record.entries import LATE, having
from haccp.rules.evidence import ACCURACY, Step
from haccp.temperature import Temperature
from haccp.time import day_and_clock, spell

# No cooler stays at one tenth of a degree for so long: common practice, no source.
_STUCK = timedelta(hours=12)

# So near in time two readings of a unit are of one state of it [s]: common practice, no source.
_AT_ONCE = 120
# So many differing readings are named one by one.
_NAMED = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """What a probe's readings are about: a unit, or a batch in one of its steps.

    Of a batch it is known when it was `opened`, and from when on nothing of it was left.
    """

    step: Step
    unit: str | None = None
    batch: str | None = None
    opened: datetime | None = None
    gone: datetime | None = None

    @property
    def told(self) -> str:
        return f"{self.batch}, {self.step.words}" if self.batch else str(self.unit)


@dataclass(frozen=True, slots=True)
class Load:
    """One probe's readings that are not on record yet, and what was found of the others."""

    series: Series
    place: Place
    known: int = 0
    changed: list[str] = field(default_factory=list)


def understood(
    session: Session, table: Table, roles: Roles, loads: Sequence[Load], apart: Apart
) -> Iterator[str]:
    """Say what was understood of a file, before anything of it is recorded."""
    yield phrase("The file is read as {how}.", how=table.how)
    if table.before:
        yield counted(
            "The table begins after {count} line.", "The table begins after {count} lines.",
            table.before,
        )  # fmt: skip
    if roles.left:
        names = ", ".join(one.name for one in roles.left)
        yield phrase("Columns that are not read: {names}.", names=names)
    yield from apart.told()
    for one in loads:
        yield from _told(session, one)
        yield from one.changed[:_NAMED]
        if len(one.changed) > _NAMED:
            yield counted(
                "{count} more differs from the record and is left out.",
                "{count} more differ from the record and are left out.",
                len(one.changed) - _NAMED,
            )


def _told(session: Session, one: Load) -> Iterator[str]:
    """Say of a probe how many readings it has, from when to when, and between which values."""
    series, zone = one.series, session.register.zone
    if series.moments:
        values = sorted(map(Decimal, {*series.temperatures}))
        first, last = (
            day_and_clock(datetime.fromtimestamp(at, UTC), session.now, zone)
            for at in (series.moments[0], series.moments[-1])
        )
        yield counted(
            "{probe} → {place}: {count} reading, {when}, {values} °{degree}.",
            "{probe} → {place}: {count} readings, {when}, {values} °{degree}.",
            len(series.moments),
            probe=series.probe,
            place=one.place.told,
            when=ranging(first, last),
            values=ranging(str(values[0]), str(values[-1])),
            degree=series.degree,
        )
    interval = series.interval
    if interval:
        often = spell(timedelta(seconds=interval))
        yield phrase("{probe}: mostly a reading every {time}.", probe=series.probe, time=often)
    if series.moments:
        yield from _doubted(session, one)
        apart = list(_apart_from_hand(session, one))
        yield from apart[:_NAMED]
        if len(apart) > _NAMED:
            yield counted(
                "{count} more check differs so.", "{count} more checks differ so.",
                len(apart) - _NAMED,
            )  # fmt: skip
    if one.known:
        yield counted(
            "{probe}: {count} reading is on record already.",
            "{probe}: {count} readings are on record already.",
            one.known,
            probe=series.probe,
        )


def _doubted(session: Session, one: Load) -> Iterator[str]:
    """Say what may be wrong with a probe: readings of another time, none for long, always one."""
    series, opened = one.series, one.place.opened
    early = bisect_left(series.moments, int(opened.timestamp())) if opened else 0
    if early:
        yield counted(
            "{probe}: {count} reading is from before {batch} was opened.",
            "{probe}: {count} readings are from before {batch} was opened.",
            early,
            probe=series.probe,
            batch=one.place.batch,
        )
    gap = timedelta(seconds=max(map(sub, series.moments[1:], series.moments), default=0))
    if gap > max(LATE, timedelta(seconds=2 * series.interval)):
        yield phrase("{probe}: once no reading for {time}.", probe=series.probe, time=spell(gap))
    lasted, since, temp = _longest_still(series.moments, series.temperatures)
    if lasted:
        yield phrase(
            "{probe}: {temp} without a change for {time} from {when} on: is it in order?",
            probe=series.probe,
            temp=f"{temp} °{series.degree}",
            time=spell(timedelta(seconds=lasted)),
            when=day_and_clock(
                datetime.fromtimestamp(since, UTC), session.now, session.register.zone
            ),
        )


def _longest_still(moments: Sequence[int], temps: Sequence[str]) -> tuple[int, int, str]:
    """Give for how long a value stood without a change [s], since when, and which; 0 for not long.

    Of a million readings only those half as far apart are looked at, and what lies between alike.
    """
    half, k, longest = int(_STUCK.total_seconds()) // 2, 0, (0, 0, "")
    while k < len(moments):
        first, last = k, bisect_left(moments, moments[k] + half)
        if temps[first : last + 1].count(temps[k]) == last + 1 - first:
            while first and temps[first - 1] == temps[k]:
                first -= 1
            while last + 1 < len(moments) and temps[last + 1] == temps[k]:
                last += 1
            longest = max(longest, (moments[last] - moments[first], moments[first], temps[k]))
        k = max(last, k + 1)
    return longest if longest[0] >= 2 * half else (0, 0, "")


def _apart_from_hand(session: Session, one: Load) -> Iterator[str]:
    """Name what was read by hand in the same unit at the same time, and otherwise."""
    series, register = one.series, session.register
    if not one.place.unit:
        return
    ends = (datetime.fromtimestamp(series.moments[k], UTC) for k in (0, -1))
    for entry in having(register.history.of_unit(one.place.unit, *ends), Measured):
        if entry.run or entry.batch:
            continue
        at = entry.at.timestamp()
        k = bisect_left(series.moments, at)
        near = min(
            range(max(k - 1, 0), min(k + 1, len(series.moments))),
            key=lambda i: abs(series.moments[i] - at),
        )
        read = reading_of(entry, register)
        logged = Temperature(Decimal(series.temperatures[near]), series.degree)
        apart = abs(logged.fahrenheit - read.temperature.fahrenheit)
        if abs(series.moments[near] - at) <= _AT_ONCE and apart > read.accuracy + ACCURACY:
            yield phrase(
                "{probe}: {temp} where {other} was read by hand {at} (no. {number}): one of the "
                "two is wrong.",
                probe=series.probe,
                temp=logged,
                other=read.temperature,
                at=said_at(day_and_clock(entry.at, session.now, register.zone)),
                number=entry.seq,
            )
