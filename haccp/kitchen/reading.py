"""Reads batches and holding units from the record, with all that is evidence about them.

What a batch is made of always has a smaller number than the batch: everything is read once, and
put together in that order. What was read is kept for as long as the view of the record stands.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from haccp.errors import Refused
from haccp.kitchen.batches import MOST_WAYS, BatchOnRecord, Past
from haccp.kitchen.register import Register
from haccp.kitchen.units import UnitOnRecord
from haccp.kitchen.unreadable import unreadable
from haccp.language import phrase
from haccp.record.bodies import (
    Assessed,
    BatchOpened,
    CorrectiveAction,
    Measured,
    Released,
    Unreadable,
)
from haccp.record.entries import Entry, having
from haccp.record.lookup import chunks
from haccp.record.store import Record
from haccp.record.threads import about_batch, about_unit, acts_on_unit, openings_from

# So many are in memory at a time where all of a year are looked at.
_IN_TURN = 100
_HANDED_ON = (Measured, CorrectiveAction, Released, Assessed, Unreadable)


def read_batches(record: Record, codes: Iterable[str]) -> list[BatchOnRecord]:
    """Read batches with all their entries, in the order in which they were opened."""
    found = read_with_parts(record, codes)
    wanted = [found[code] for code in dict.fromkeys(codes) if code in found]
    return sorted(wanted, key=lambda batch: (batch.opened.at, batch.opened.seq))


def read_in_turn(record: Record, codes: Sequence[str]) -> Iterator[BatchOnRecord]:
    """Read many batches a few at a time, each to be looked at once: none of them is kept."""
    for some in chunks(codes, _IN_TURN):
        yield from read_batches(record, some)
        record.kept.pop(read_with_parts, None)


def read_batch(record: Record, code: str) -> BatchOnRecord:
    """Read one batch; raises Refused where its opening cannot be read."""
    found = read_batches(record, [code])
    if not found:
        told = [words for _, words in unreadable(record.about(about_batch(code)))]
        unknown = phrase("How {batch} was opened is not known.", batch=code)
        raise Refused(" ".join([unknown, *told]))
    return found[0]


def read_with_parts(record: Record, codes: Iterable[str]) -> Mapping[str, BatchOnRecord]:
    """Read batches and, through any depth, those that they come from, by code.

    Those of which no opening is in force are left out.
    """
    known: dict[str, BatchOnRecord] = record.kept.setdefault(read_with_parts, {})
    fresh: dict[str, BatchOnRecord] = {}
    wanted = [code for code in dict.fromkeys(codes) if code not in known]
    while wanted:
        for batch in _alone(record, wanted):
            fresh[batch.name] = batch
        parts = dict.fromkeys(
            part for code in wanted if code in fresh for part in fresh[code].comes_from
        )
        wanted = [part for part in parts if part not in known and part not in fresh]
    for batch in sorted(fresh.values(), key=lambda batch: batch.opened.seq):
        known[batch.name] = _with_its_past(batch, known)
    return known


def parts_of(batch: BatchOnRecord, known: Mapping[str, BatchOnRecord]) -> list[str]:
    """Give the codes of what a batch comes from; nothing comes from itself or what came later."""
    return [one.name for one in _earlier(batch.comes_from, batch, known)]


def _alone(record: Record, codes: Sequence[str]) -> Iterable[BatchOnRecord]:
    """Read batches by their own entries, in one go."""
    entries = record.about(*map(about_batch, codes), *map(openings_from, codes))
    mine: dict[str, list[Entry]] = {code: [] for code in codes}
    for entry in entries:
        if entry.batch in mine:
            mine[entry.batch].append(entry)
    went_on: dict[str, datetime] = {}
    for one in having((one for one in entries if not one.corrected_by), BatchOpened):
        for part in one.body.made_from:
            went_on[part] = min(one.at, went_on.get(part, one.at))
    for code, found in mine.items():
        if any(not one.corrected_by for one in having(found, BatchOpened)):
            yield BatchOnRecord(name=code, entries=tuple(found), went_on=went_on.get(code))


def _with_its_past(batch: BatchOnRecord, known: Mapping[str, BatchOnRecord]) -> BatchOnRecord:
    """Add what is evidence about a batch beside its own entries; its parts are known."""
    body = batch.batch
    wholes = _earlier(body.portion_of, batch, known)
    pasts = _pasts(batch, wholes)
    return replace(
        batch,
        parts=tuple(_earlier(batch.comes_from, batch, known)),
        pasts=pasts[:MOST_WAYS],
        ways_cut=len(pasts) > MOST_WAYS or any(whole.ways_cut for whole in wholes),
    )


def _earlier(
    codes: Iterable[str], batch: BatchOnRecord, known: Mapping[str, BatchOnRecord]
) -> list[BatchOnRecord]:
    """Keep the batches that were opened before; one that claims a later one is a forger's."""
    found = [known[code] for code in dict.fromkeys(codes) if code in known]
    earlier = [one for one in found if one.opened.seq < batch.opened.seq]
    return sorted(earlier, key=lambda one: (one.opened.at, one.opened.seq))


def _pasts(batch: BatchOnRecord, wholes: Iterable[BatchOnRecord]) -> tuple[Past, ...]:
    """Give what was entered about the batches that one is a portion of, through any depth."""
    opened = batch.opened
    pasts: dict[object, Past] = {}
    for whole in wholes:
        own = [entry for entry in whole.in_force if isinstance(entry.body, _HANDED_ON)]
        for past in whole.histories:
            # what is done about a whole is done about what it was divided into, then and later
            until = [
                entry
                for entry in (*past.entries, *own)
                if entry.at <= opened.at or isinstance(entry.body, CorrectiveAction)
            ]
            until.sort(key=lambda entry: (entry.at, entry.seq))
            one = Past(past.began, tuple(until))
            pasts[one.began, one.numbers] = one
    return tuple(pasts.values())


def read_units(
    record: Record,
    register: Register,
    names: Sequence[str],
    since: datetime,
    until: datetime,
    from_number: Mapping[str, int] | None = None,
) -> list[UnitOnRecord]:
    """Read holding units with their entries about moments in [since, until), and the next ones.

    With `from_number` those of a thread from that entry on.
    """
    ends = until + _NEXT_LOOK
    mine = _of_units(record, names, since, ends, from_number)
    if record.goes_on_after(ends):
        # where nobody looked for so long, the next look may be any time later
        quiet = [name for name in names if not any(one.at >= until for one in mine[name])]
        mine |= _of_units(record, quiet, since, None, from_number)
    return [
        UnitOnRecord(name=name, entries=tuple(mine[name]), unit=register.units[name])
        for name in names
    ]


# The next check after some days decides what was found on them: as a rule it is one of these days.
_NEXT_LOOK = timedelta(days=4)


def _of_units(
    record: Record,
    names: Sequence[str],
    since: datetime,
    until: datetime | None,
    from_number: Mapping[str, int] | None,
) -> dict[str, list[Entry]]:
    """Read what was entered about units of moments from `since` on, until a moment of entry.

    What was done about a unit may have been entered long after: that is read to the end.
    """
    mine: dict[str, list[Entry]] = {name: [] for name in names}
    found = record.about(
        *map(about_unit, names),
        since=since,
        until=until,
        from_number=from_number,
        to_the_end=[acts_on_unit(name) for name in names],
    )
    for entry in found:
        if entry.unit in mine and entry.at >= since:
            mine[entry.unit].append(entry)
    return mine
