"""Reads batches and holding units from the record, with all that is evidence about them."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from haccp.kitchen.register import Register
from haccp.kitchen.subjects import Past, Subject
from haccp.record.entries import (
    Assessed,
    BatchOpened,
    CorrectiveAction,
    Entry,
    Measured,
    Released,
    UnitEmptied,
    Unreadable,
)
from haccp.record.store import Record

_HANDED_ON = (Measured, CorrectiveAction, Released, Assessed, Unreadable)


def read_batches(record: Record, codes: Sequence[str]) -> list[Subject]:
    """Read batches with all their entries, in the order in which they were opened."""
    corrected = record.corrected()
    entries = record.entries(batches=codes)
    found = [e for e in entries if isinstance(e.body, BatchOpened) and e.seq not in corrected]
    batches = [
        Subject(
            name=opened.batch or "",
            entries=tuple(entry for entry in entries if entry.batch == opened.batch),
            corrected=corrected,
            pasts=_pasts(record, opened),
        )
        for opened in sorted(found, key=lambda entry: (entry.at, entry.seq))
    ]
    return [
        replace(batch, of_its_units=_of_its_units(record, batch), made_of=_made_of(record, batch))
        for batch in batches
    ]


def _made_of(record: Record, batch: Subject) -> tuple[Entry, ...]:
    """Read the last reading that each batch had before it went into this one."""
    found: list[Entry] = []
    for part in read_batches(record, _earlier(record, batch.batch.made_from, batch.opened)):
        taken = [e for e in (*part.inherited, *part.readings) if e.at <= batch.opened.at]
        found += [] if part.is_outside_the_limits else taken[-1:]
    return tuple(found)


def _earlier(record: Record, codes: Sequence[str], opened: Entry) -> list[str]:
    """Keep the batches that were opened before; one that claims a later one is a forger's."""
    entries = record.entries(batches=codes, kinds=(BatchOpened.kind,)) if codes else []
    return [entry.batch for entry in entries if entry.seq < opened.seq and entry.batch]


def _of_its_units(record: Record, batch: Subject) -> tuple[Entry, ...]:
    """Read the checks of the units that a batch was put into, and when they were emptied."""
    put = [entry for entry in (*batch.inherited, *batch.readings) if entry.unit]
    if not put:
        return ()
    units = sorted({entry.unit for entry in put if entry.unit})
    since = min(entry.at for entry in put)
    kinds = (UnitEmptied.kind, Measured.kind)
    found = record.entries(kinds=kinds, units=units, since=since)
    theirs = [e for e in found if e.batch is None and e.seq not in batch.corrected]
    return tuple(sorted(theirs, key=lambda entry: entry.at))


def _pasts(record: Record, opened: Entry) -> tuple[Past, ...]:
    """Read what was entered about the batches that one is a portion of, through any depth."""
    body = opened.body
    assert isinstance(body, BatchOpened)  # the caller picks openings
    if not body.portion_of:
        return ()
    pasts: dict[object, Past] = {}
    for whole in read_batches(record, _earlier(record, body.portion_of, opened)):
        own = [entry for entry in whole.in_force if isinstance(entry.body, _HANDED_ON)]
        for past in whole.histories:
            # what is done about a whole is done about what it was divided into, then and later
            until = [
                entry
                for entry in (*past.entries, *own)
                if entry.at <= opened.at or isinstance(entry.body, CorrectiveAction)
            ]
            until.sort(key=lambda entry: (entry.at, entry.seq))
            one = Past(past.began, tuple(until), past.made_of)
            pasts[one.began, one.numbers, one.made_of] = one
    return tuple(pasts.values())


def read_units(
    record: Record, register: Register, names: Sequence[str], since: datetime, until: datetime
) -> list[Subject]:
    """Read holding units with their entries about moments in [since, until)."""
    corrected = record.corrected()
    entries = record.entries(units=names, since=since, until=until)
    return [
        Subject(
            name=name,
            entries=tuple(entry for entry in entries if entry.unit == name),
            corrected=corrected,
            unit=register.units[name],
        )
        for name in names
    ]
