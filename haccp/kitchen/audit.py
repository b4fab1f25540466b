"""History judged anew: every batch and unit of some days under another set of limits.

Both judgements are the rules', by the record as it stands; nothing here compares a temperature.
Of a plain batch of which it is certain what they find, no more is asked of them than what there is
to tell (`kitchen/plain`).
"""

import gc
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cache, partial

from haccp.errors import Refused
from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.datemarks import all_found
from haccp.kitchen.on_record import OnRecord
from haccp.kitchen.plain import PlainBatches
from haccp.kitchen.reading import read_batches, read_units, read_with_parts
from haccp.kitchen.register import Register, read_register
from haccp.kitchen.unreadable import unreadable
from haccp.limits import LimitSet
from haccp.record.lookup import chunks
from haccp.record.places import Place
from haccp.record.store import Record, open_record
from haccp.record.threads import about_batch
from haccp.rules.evidence import Finding, overall

# So many batches are one piece of work; a record of fewer is not worth a second process's start.
_TOGETHER = 1_000


@dataclass(frozen=True, slots=True)
class Changed:
    """One limit by which a batch or a unit comes out otherwise: what was found by either set.

    One of the two is empty where nothing of the food is judged by that limit in its set.
    """

    name: str
    food: str
    began: datetime
    limit: str
    in_force: tuple[Finding, ...]
    anew: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Unjudged:
    """A batch or a unit that one of the sets cannot judge, and why."""

    name: str
    why: str


@dataclass(frozen=True, slots=True)
class Asked:
    """What is judged anew as of now: batches by code, checks of units in [since, until)."""

    batches: tuple[str, ...]
    units: tuple[str, ...]
    since: datetime
    until: datetime
    now: datetime

    @property
    def count(self) -> int:
        return len(self.batches) + len(self.units)


def asked(
    record: Record, register: Register, since: datetime, until: datetime, now: datetime
) -> Asked:
    """Pick the batches about which anything was entered of moments in [since, until), all units."""
    opened = {one.code: one.opened for one in record.every_batch()}
    batches = record.batches_during(since, until)
    # what was opened together is evidence about each other: it is read together
    in_order = sorted(batches, key=lambda code: (opened.get(code, 0), code))
    return Asked(tuple(in_order), tuple(register.units), since, until, now)


def judged_anew(
    record: Record,
    register: Register,
    what: Asked,
    limits: LimitSet,
    done: Callable[[int], None],
) -> Iterator[Changed | Unjudged]:
    """Judge each by the limits that were in force and by `limits`; give what comes out otherwise.

    `done` is told how many were judged, of which some piece of work is made at a time; a long
    history is shared out among processes, each of which reads the same record.
    """
    work = [
        *(replace(what, batches=(), units=(unit,)) for unit in what.units),
        *(replace(what, batches=tuple(some), units=()) for some in chunks(what.batches, _TOGETHER)),
    ]
    if what.count <= _TOGETHER:
        for piece in work:
            yield from _judged(record, register, limits, piece)
            done(piece.count)
        return
    from haccp.record.every_core import every_core  # heavy, and for long histories only

    pool = every_core(len(work))
    try:
        judge = partial(_judged_at, record.place, limits)
        for piece, found in zip(work, pool.map(judge, work), strict=True):
            # another process does not know who reads: what there is to say is said here
            yield from _judged(record, register, limits, piece) if found is None else found
            done(piece.count)
    finally:
        pool.shutdown(cancel_futures=True)


def _judged_at(place: Place, limits: LimitSet, piece: Asked) -> list[Changed | Unjudged] | None:
    """Judge a piece in another process; None where there is anything else to say of it."""
    record, register = _opened(place, piece.now)
    record.troubles.clear()
    gc.disable()  # a piece is no circle: to look for some costs more than to read it
    try:
        found = _judged(record, register, limits, piece)
    finally:
        gc.enable()
    has_words = record.troubles or any(isinstance(one, Unjudged) for one in found)
    return None if has_words else found


@cache
def _opened(place: Place, now: datetime) -> tuple[Record, Register]:
    """Open the record once for all pieces of a process, which closes it as it ends."""
    view = open_record(place, create=False).as_known_at(now)
    return view, read_register(view)


def _judged(
    record: Record, register: Register, limits: LimitSet, piece: Asked
) -> list[Changed | Unjudged]:
    other, view = replace(register, judged_by=limits), record.as_it_stands()
    view.troubles = record.troubles
    batches = read_batches(record, piece.batches)
    in_force, anew = PlainBatches(register, piece.now), PlainBatches(other, piece.now)
    told = {one.name: _told(one, in_force, anew, piece.since) for one in batches}
    in_doubt = [one for one in batches if told[one.name] is None]
    view.kept[read_with_parts] = copies = _copied(in_doubt)
    units = read_units(record, register, piece.units, piece.since, piece.until)
    pairs: list[tuple[OnRecord, OnRecord]] = [(one, copies[one.name]) for one in in_doubt]
    pairs += [(one, replace(one)) for one in units]
    there = {one.name for one in batches}
    found: list[Changed | Unjudged] = [
        Unjudged(code, words)
        for code in piece.batches
        if code not in there
        for _, words in unreadable(record.about(about_batch(code)))
    ]
    for one, copy in pairs:
        try:
            had = all_found(one, record, register, piece.now)
            has = all_found(copy, view, other, piece.now)
        except Refused as why:
            found.append(Unjudged(one.name, str(why)))
        else:
            found += _compared(one, had, has, piece.since)
    found += [change for changes in told.values() for change in changes or ()]
    place = {one.name: n for n, one in enumerate(batches)}
    register.history.forget(min((one.opened.at for one in batches), default=piece.now))
    return sorted(found, key=lambda one: place.get(one.name, len(place)))


def _told(
    one: BatchOnRecord, in_force: PlainBatches, anew: PlainBatches, since: datetime
) -> list[Changed] | None:
    """Tell what differs of a plain batch; None where all the rules are to be asked about it."""
    had = in_force.finds(one)
    has = anew.finds(one) if had else None
    if had is None or has is None:
        return None
    if had.verdicts == has.verdicts:
        return []
    if not (had.cooling and has.cooling):
        return None
    sets = in_force.judge_cooling(one, had), anew.judge_cooling(one, has)
    stages = {found.limit.name for every in sets for found in every}
    differ = {name for name, _ in had.verdicts.items() ^ has.verdicts.items()}
    return list(_compared(one, *sets, since)) if differ <= stages else None


def _copied(batches: Iterable[BatchOnRecord]) -> dict[str, BatchOnRecord]:
    """Copy batches and, through any depth, what they are made of, that first."""
    every: dict[str, BatchOnRecord] = {}
    wanted = list(batches)
    while wanted:
        every |= {one.name: one for one in wanted}
        wanted = [part for one in wanted for part in one.parts if part.name not in every]
    copies: dict[str, BatchOnRecord] = {}
    for one in sorted(every.values(), key=lambda batch: batch.opened.seq):
        copies[one.name] = one.to_judge_anew(tuple(copies[part.name] for part in one.parts))
    return copies


def _compared(
    one: OnRecord, in_force: Sequence[Finding], anew: Sequence[Finding], since: datetime
) -> Iterator[Changed]:
    """Compare the worst that is found by each limit."""
    for name in dict.fromkeys(found.limit.name for found in (*in_force, *anew)):
        had, has = (
            tuple(found for found in every if found.limit.name == name)
            for every in (in_force, anew)
        )
        if not (had and has) or overall(had) is not overall(has):
            food = one.batch.food if isinstance(one, BatchOnRecord) else ""
            began = min((entry.at for entry in one.entries), default=since)
            yield Changed(one.name, food, began, name, had, has)
