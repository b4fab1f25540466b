"""How entries are appended: chained to the last one, with all that is derived, all or none."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import datetime, timedelta
from itertools import chain, islice
from typing import Any, NamedTuple, TypeVar

from haccp.errors import Refused
from haccp.language import message, phrase
from haccp.record import derived, lookup
from haccp.record.bodies_of_record import ClockMoved
from haccp.record.driver import Driver, InDoubt, LineBroke, Rows, Store
from haccp.record.entries import Draft, Entry, as_row
from haccp.record.sentences import BROKEN
from haccp.time import CLOCK_TOLERANCE, moment_or_none

# How many entries are written at once.
_AT_A_TIME = 2_000

# A kitchen that enters nothing for this long was closed, or its clock jumped: worth a note either
# way. Common practice, no source.
_LONGEST_GAP = timedelta(days=7)

MEANWHILE = message("Somebody recorded something meanwhile: look again, then type it.")

_T = TypeVar("_T")


class NotNext(Exception):  # noqa: N818 - no mistake: somebody else was faster
    """Entries that do not follow the last one of a record."""


class Seen(NamedTuple):
    """What whoever enters has seen, and of what nothing may have been entered since.

    That is `all_of_it` after entry `last`, or the threads that are to be `unchanged`.
    """

    last: int | None
    all_of_it: bool
    unchanged: Sequence[str]


class _Entered(NamedTuple):
    """What was known when an entry was made: all that is derived, and the moment of the entry."""

    writer: derived.Writer
    entered_at: str | None


class _Unasked:
    """A driver where nothing is to be asked."""

    def execute(self, *_: object) -> Rows:
        raise NotNext

    def executemany(self, *_: object) -> object:
        raise NotNext


class Entering:
    """Appends to what a store holds; it remembers what it wrote, to ask for less next time."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._entered: _Entered | None = None

    def append(
        self, drafts: Iterable[Draft], now: Callable[[], datetime], seen: Seen
    ) -> list[Entry]:
        """Append entries, and before them what is to be said of the clock; see `Record.append`."""
        parts = _some_of(drafts, _AT_A_TIME)
        first = next(parts, [])
        entered, self._entered = self._entered, None  # nothing is known after what went wrong
        made = None
        if entered and len(first) < _AT_A_TIME and not seen.all_of_it and not seen.unchanged:
            made = self._at_once(first, now, entered)
        if made is None:
            made = self._in_turn(chain((first,), parts), now, seen)
        return made

    def _in_turn(
        self,
        parts: Iterable[Sequence[Draft]],
        now: Callable[[], datetime],
        seen: Seen,
    ) -> list[Entry]:
        made: list[Entry] = []
        rows: list[dict[str, Any]] = []
        with self._in_the_end(rows), self._store.entering() as driver:
            seq, previous, last = lookup.last_entry(driver)
            moved = seen.unchanged and lookup.goes_on(driver, seen.unchanged, seen.last or seq)
            if (seen.all_of_it and seq != seen.last) or moved:
                raise Refused(phrase(MEANWHILE))
            writer = derived.Writer(driver)
            for some in filter(None, parts):
                rows[:] = _chained(some, now, seq, previous, last)
                seq, previous, last = (rows[-1][name] for name in ("seq", "digest", "entered_at"))
                written = writer.derive(driver, list(rows))
                self._store.enter(driver, written)
                made += written.entries
        self._entered = _Entered(writer, last)
        return made

    def _at_once(
        self, drafts: Sequence[Draft], now: Callable[[], datetime], entered: _Entered
    ) -> list[Entry] | None:
        """Append what follows from the last entry that was made here; None where others made more.

        What would have to be asked for is not: then, too, it is entered in turn.
        """
        enter = self._store.enter_at_once
        if enter is None or not drafts:
            return None
        writer, last = entered
        rows = _chained(drafts, now, writer.head.seq, writer.head.digest, last)
        try:
            written = writer.derive(_Unasked(), rows)
        except NotNext:
            return None
        with self._in_the_end(rows):
            if not enter(written):
                return None
        self._entered = _Entered(writer, rows[-1]["entered_at"])
        return written.entries

    @contextmanager
    def _in_the_end(self, rows: Sequence[Mapping[str, Any]]) -> Iterator[None]:
        """Find out whether entries were recorded, where the line broke before that was answered.

        Whoever writes waits until the transaction that was broken off has ended.
        """
        try:
            yield
        except InDoubt as doubt:
            last = rows[-1]
            try:
                with self._store.transaction(writing=True) as connection:
                    driver = self._store.driver(connection)
                    there = lookup.by_number(driver, last["seq"], last["seq"])
            except Refused:
                raise doubt from None  # nobody knows
            if not there or there[0]["digest"] != last["digest"]:
                raise LineBroke(phrase(BROKEN, path=self._store.place)) from None

    def restore(self, rows: Iterable[Mapping[str, Any]]) -> None:
        """Put rows back as they were; see `Record.restore`."""
        with self._store.entering() as driver:
            if lookup.last_entry(driver)[0]:
                full = message("{path} has entries already: import into a new file with --db.")
                raise Refused(phrase(full, path=self._store.place))
            writer = derived.Writer(driver)
            for some in _some_of(rows, _AT_A_TIME):
                self._store.enter(driver, writer.derive(driver, some))

    def take_over(
        self, rows: Sequence[Mapping[str, Any]], then: Callable[[Driver], object]
    ) -> None:
        """Append rows as another copy has them; see `Record.take_over`."""
        with self._store.entering() as driver:
            seq, digest, _ = lookup.last_entry(driver)
            if (rows[0]["seq"], rows[0]["previous"]) != (seq + 1, digest):
                raise NotNext
            self._store.enter(driver, derived.Writer(driver).derive(driver, rows))
            then(driver)


def _some_of(values: Iterable[_T], size: int) -> Iterator[list[_T]]:
    rest = iter(values)
    while some := list(islice(rest, size)):
        yield some


def _chained(
    drafts: Iterable[Draft],
    now: Callable[[], datetime],
    seq: int,
    previous: str,
    last: str | None,
) -> list[dict[str, Any]]:
    """Give the rows of entries that follow one of that number, digest and moment of entry."""
    rows = []
    for draft in drafts:
        entered_at = now()
        jumped = _clock_moved(last, entered_at, draft.person)
        for one in (jumped, draft) if jumped else (draft,):
            seq += 1
            row = as_row(one, seq=seq, entered_at=entered_at, previous=previous)
            previous, last = row["digest"], row["entered_at"]
            rows.append(row)
    return rows


def _clock_moved(last: str | None, now: datetime, person: str) -> Draft | None:
    """Notice a clock that went back beyond its tolerance, or that left an unlikely gap."""
    before = moment_or_none(last)
    if last is None or before is None or -CLOCK_TOLERANCE <= now - before <= _LONGEST_GAP:
        return None
    seconds = int((now - before).total_seconds())
    return Draft(body=ClockMoved(last_entered_at=last, seconds=seconds), at=now, person=person)
