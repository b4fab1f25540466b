"""What readings that were just loaded are found to be, and how far back they are judged."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from haccp.cli import terminal
from haccp.cli.session import Session
from haccp.kitchen.datemarks import all_found
from haccp.kitchen.on_record import OnRecord
from haccp.kitchen.reading import read_batch, read_units
from haccp.kitchen.review import lasted, undecided
from haccp.language import counted, message, phrase
from haccp.rules.evidence import Finding, overall
from haccp.rules.words import called
from haccp.time import day_starts, runs_of_days, short_day

# So many of a unit are judged at once, a month of minutes; of a longer file, whose loading alone
# takes a while, the newest week of them.
_MOST = 45_000
_NEWEST = 10_000
_A_SECOND = timedelta(seconds=1)
_A_DAY = timedelta(days=1)


def tell_batch(session: Session, code: str) -> None:
    """Say what a batch is found to be with what was loaded."""
    subject = read_batch(session.record, code)
    _tell(subject, all_found(subject, session.record, session.register, session.now))


def tell_unit(session: Session, unit: str, moments: Sequence[int]) -> None:
    """Say what a unit is found to be by readings of these moments, sorted; of many, the newest."""
    record, register, now = session.record, session.register, session.now
    zone = register.zone
    first, last = (datetime.fromtimestamp(one, UTC) for one in (moments[0], moments[-1]))
    since = first
    if len(moments) > _MOST:
        at_most = datetime.fromtimestamp(moments[-_NEWEST], UTC)
        since = max(first, day_starts(at_most.astimezone(zone).date(), zone))
    week, to_now = now - 7 * _A_DAY, now + _A_SECOND
    until = to_now if since <= week <= last else last + _A_SECOND
    subject = read_units(record, register, [unit], since, until)[0]
    found = all_found(subject, record, register, now)
    older: Iterable[Finding] = ()
    if since > week or last < week:
        # what stands undecided of it is no better for good readings after it
        newest = read_units(record, register, [unit], week, to_now)[0]
        older = undecided(newest, all_found(newest, record, register, now), register)
    _tell(subject, [*found, *older])
    _tell_days(session, unit, sorted({*_days(found, since, last, zone)}))
    if since > first:
        day = since.astimezone(zone).date()
        terminal.say(
            phrase(
                "{unit}: what was read before {day} is not judged yet: haccp report {first} {last} "
                "--output FILE.pdf does so.",
                unit=unit,
                day=short_day(day),
                first=first.astimezone(zone).date(),
                last=day - _A_DAY,
            )
        )


def _tell(subject: OnRecord, found: Iterable[Finding]) -> None:
    words = message("{verdict}: {batch}")
    terminal.say(phrase(words, verdict=called(overall(found)), batch=subject.title))


def _days(
    found: Iterable[Finding], since: datetime, until: datetime, zone: ZoneInfo
) -> Iterator[date]:
    """Give the kitchen days between two moments that a deviation touches."""
    for one in found:
        if one.verdict.is_deviation and one.since and one.since <= until:
            day = max(one.since, since).astimezone(zone).date()
            last = min(lasted(one), until).astimezone(zone).date()
            while day <= last:
                yield day
                day += _A_DAY


def _tell_days(session: Session, unit: str, days: Sequence[date]) -> None:
    """Say on which days there was a deviation; of today alone the verdict says enough."""
    if any(day != session.now.astimezone(session.register.zone).date() for day in days):
        terminal.say(
            counted(
                "{unit} deviated on {count} day: {days}. haccp report {first} {last} --output "
                "FILE.pdf has all of it.",
                "{unit} deviated on {count} days: {days}. haccp report {first} {last} --output "
                "FILE.pdf has all of it.",
                len(days),
                unit=unit,
                days=runs_of_days(days),
                first=days[0],
                last=days[-1],
            )
        )
