"""What is worth a look in the readings of some days, and in what was written of deviations."""

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from decimal import Decimal

from haccp.kitchen.register import Register
from haccp.record.bodies import CorrectiveAction, DeliveryRejected, Discarded, Measured, Released
from haccp.record.entries import Entry, having
from haccp.record.store import Record
from haccp.rules.unusual import Acted, Noted, Unusual, look
from haccp.temperature import Degree, Temperature
from haccp.time import day_starts


def unusual(record: Record, register: Register, first: date, last: date) -> tuple[Unusual, ...]:
    """List what is worth a look in the readings of kitchen days `first` to `last`, week by week."""
    zone = register.zone
    found: tuple[Unusual, ...] = ()
    for begins in range(0, (last - first).days + 1, 7):
        monday = first + timedelta(days=begins)
        ends = min(monday + timedelta(days=7), last + timedelta(days=1))
        entries = record.during(day_starts(monday, zone), day_starts(ends, zone))
        noted = [
            Noted(
                ref=str(entry.seq),
                subject=entry.unit or entry.batch or "",
                person=entry.person,
                taken_at=entry.at.astimezone(zone),
                entered_at=entry.entered_at.astimezone(zone),
                temperature=Temperature(Decimal(entry.body.temp), Degree(entry.body.degree)),
            )
            for entry in having(entries, Measured)
            if not entry.corrected_by and not entry.run  # what people type is looked at
        ]
        found += look(noted, _levels(register, monday), list(_acts(entries)))
    return found


def _acts(entries: Sequence[Entry]) -> Iterator[Acted]:
    """Give what was written of what was done; where food was diverted to is a place, and no act."""
    written: list[tuple[Entry, str]] = [
        (one, one.body.text) for one in having(entries, CorrectiveAction)
    ]
    written += [(one, one.body.reason) for one in having(entries, Discarded)]
    written += [(one, one.body.reason) for one in having(entries, DeliveryRejected)]
    written += [(one, one.body.reason) for one in having(entries, Released)]
    for entry, text in written:
        if not entry.corrected_by:
            yield Acted(ref=str(entry.seq), person=entry.person, at=entry.at, text=text)


def _levels(register: Register, day: date) -> set[Temperature]:
    """Give the numbers at which a cook has a reason to log: every limit's, in both degrees."""
    limits = register.limits_at(day_starts(day, register.zone)).limits
    levels = [limit.start for limit in limits if limit.start]
    levels += [row.level for limit in limits for row in limit.rows]
    return {Temperature(level.number(degree), degree) for level in levels for degree in Degree}
