"""Walks the chain of a record of any length: in bounded memory, by every core where that helps."""

import os
from collections.abc import Callable, Generator, Iterable, Iterator, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass
from functools import partial
from typing import Any

from haccp.errors import Refused
from haccp.record.bodies import Unreadable
from haccp.record.chain import Printed, first_misfit
from haccp.record.entries import FIRST, Entry, entry_from
from haccp.record.places import Place
from haccp.record.store import Record, open_record

# So many entries are one piece of work; a record of two is not worth a second process's start.
STRETCH = 50_000


@dataclass(frozen=True, slots=True)
class Found:
    """What a walk along the chain found.

    `misfit` names the first entry that does not fit, `unreadable` are those that say nothing that
    this version understands, `named` the numbers of those that a paper's digest names. `whole` is
    False where rows could not be read at all.
    """

    misfit: str | None = None
    unreadable: tuple[Entry, ...] = ()
    named: tuple[int, ...] = ()
    whole: bool = True


def walk(
    record: Record,
    first: int = 1,
    previous: str = FIRST,
    *,
    printed: Printed | None = None,
    walked: Callable[[int], None],
) -> Found:
    """Walk the chain from entry no. `first`, which follows the digest `previous`, to its head.

    `printed` is what a paper names, to be looked for on the way; `walked` is told of each stretch
    how many entries it had. A long walk is shared out among processes, each of which reads its
    stretches of the same file; a stretch ends with the entry that begins the next one.
    """
    end = record.head()[0]
    starts = range(first, max(first, end) + 1, STRETCH)
    work = [
        _Stretch(start, min(start + STRETCH - 1, end), None if number else previous, printed)
        for number, start in enumerate(starts)
    ]
    every: list[Found] = []
    with closing(_results(record, work)) as results:
        for stretch, found in zip(work, results, strict=True):
            every.append(found)
            if found.misfit or not found.whole:
                break
            walked(stretch.last + 1 - stretch.start)
    return Found(
        every[-1].misfit,
        tuple(entry for one in every for entry in one.unreadable),
        tuple(number for one in every for number in one.named),
        every[-1].whole,
    )


@dataclass(frozen=True, slots=True)
class _Stretch:
    """A piece of the walk; `previous` None asks the entry before, which another stretch checks."""

    start: int
    last: int
    previous: str | None
    printed: Printed | None


def _results(record: Record, work: Sequence[_Stretch]) -> Generator[Found, None, None]:
    """Walk the stretches in order, here or in as many processes as there are cores."""
    cores = min(os.cpu_count() or 1, len(work))
    if cores == 1 or len(work) == 2:
        yield from (_walked(record, stretch) for stretch in work)
        return
    from haccp.record.every_core import every_core  # heavy, and for long records only

    pool = every_core(len(work))
    try:
        for stretch, found in zip(
            work, pool.map(partial(_walked_at, record.place), work), strict=True
        ):
            # another process does not know who reads: what there is to say is said here
            has_words = found.misfit or found.unreadable
            yield _walked(record, stretch) if has_words else found
    finally:
        pool.shutdown(cancel_futures=True)


def _walked_at(place: Place, stretch: _Stretch) -> Found:
    with closing(open_record(place, create=False)) as record:
        return _walked(record, stretch)


def _walked(record: Record, stretch: _Stretch) -> Found:
    start, previous = stretch.start, stretch.previous
    unreadable: list[Entry] = []
    named: list[int] = []

    def noticed(rows: Iterable[Mapping[str, Any]]) -> Iterator[Mapping[str, Any]]:
        for row in rows:
            yield row
            # whoever asks for the next one found this one to be what was recorded
            if row["seq"] > stretch.last:
                return
            if stretch.printed and row["digest"].startswith(stretch.printed.digest):
                named.append(row["seq"])
            entry = entry_from(row)
            if isinstance(entry.body, Unreadable):
                unreadable.append(entry)

    try:
        if previous is None:
            previous = next(record.rows(start - 1), {"digest": FIRST})["digest"]
        misfit = first_misfit(noticed(record.rows(start if start > 1 else None)), start, previous)
    except Refused:
        return Found(whole=False)
    return Found(misfit, tuple(unreadable), tuple(named))
