"""The one place by which the record is read and appended to (SQLAlchemy Core).

Where it lies, and what differs between the databases that hold one, is a store's business:
`record/sqlite`, a file; `record/postgres`, a kitchen's rows on a server.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from haccp.errors import Refused
from haccp.language import phrase
from haccp.record import derived, lookup
from haccp.record.bodies_of_record import ClockMoved
from haccp.record.domains import numbered
from haccp.record.driver import Driver, Store
from haccp.record.entering import Entering, Seen
from haccp.record.entries import (
    FIRST,
    LONGEST_RUN,
    Corrections,
    Draft,
    Entry,
    each_reading,
    entry_from,
)
from haccp.record.lookup import Known, Settled
from haccp.record.places import Place, Server, file_of
from haccp.record.sqlite import open_file
from haccp.record.view_tables import only_row
from haccp.record.walked import Walked, walk
from haccp.time import CLOCK_TOLERANCE, stored

# How many entries are read at once.
_AT_A_TIME = 2_000

_metadata = sa.MetaData()
_NUMBER = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
entry = sa.Table(
    "entry",
    _metadata,
    sa.Column("seq", _NUMBER, primary_key=True),
    sa.Column("kind", sa.Text, nullable=False),
    sa.Column("entered_at", sa.Text, nullable=False),
    sa.Column("at", sa.Text, nullable=False),
    sa.Column("person", sa.Text, nullable=False),
    sa.Column("batch", sa.Text),
    sa.Column("unit", sa.Text),
    sa.Column("corrects", _NUMBER),
    sa.Column("body", sa.Text, nullable=False),
    sa.Column("previous", sa.Text, nullable=False),
    sa.Column("digest", sa.Text, nullable=False),
)


class Record:
    """The append-only whole of a kitchen's entries, as seen up to one of them.

    Entries are read along their threads (`record/threads`), each one checked against its digest
    and its place. `troubles` are the sentences about what was not as it was made; a record that
    is `strict` raises Refused for the first. `kept` is for what is made of this view's entries.
    """

    def __init__(
        self, store: Store, last: int | None = None, moment: datetime | None = None
    ) -> None:
        self.store = store
        self.place = store.place
        self._last = last
        self._moment = moment
        self._strict = False
        self._walked: Walked | None = None
        self.troubles: list[str] = []
        self.kept: dict[object, Any] = {}
        self._numbers: dict[int, dict[str, int]] = {}
        self._entering = Entering(store)

    @property
    def file(self) -> Path:
        """The file that it is; raises Refused where it is on a server."""
        return file_of(self.place)

    @property
    def tills(self) -> tuple[str, ...]:
        """Name the tills that a view shows; a record is its only one, without a name."""
        if not self.store.is_view:
            return ("",)
        with self.transaction() as connection:
            named = "SELECT name FROM till ORDER BY id"
            return tuple(name for (name,) in self.store.driver(connection).execute(named))

    def till_of(self, number: int) -> str:
        """Name the till at which an entry was typed."""
        if not self.store.is_view:
            return ""
        with self.transaction() as connection:
            chosen = "SELECT t.name FROM shown s JOIN till t ON t.id = s.till WHERE s.seq = ?"
            (name,) = only_row(self.store.driver(connection), chosen, number)
        return str(name)

    def as_it_stands(self) -> "Record":
        """Give the record up to its last entry: what others enter from now on is not seen.

        Whoever asks it twice gets answers that fit together, and nobody has to wait meanwhile.
        """
        return self._up_to_last_of(sa.true())

    def as_known_at(self, moment: datetime) -> "Record":
        """Give the record up to the last entry that was made by then.

        That is a beginning of its chain whatever its clock did, so that its head stands for all
        that is seen, and only for that.
        """
        return self._up_to_last_of(entry.c.entered_at <= stored(moment), moment)

    def _up_to_last_of(
        self, chosen: sa.ColumnElement[bool], moment: datetime | None = None
    ) -> "Record":
        with self.transaction() as connection:
            last = _head(connection, chosen & self._seen())[0]
        return Record(self.store, last, moment or self._moment)

    @property
    def known_at(self) -> datetime | None:
        """The earlier moment as of which it is seen; None where nothing was entered since."""
        with self.transaction() as connection:
            is_all = _head(connection, self._seen())[0] == _head(connection, sa.true())[0]
        return None if is_all else self._moment

    def see_all(self) -> None:
        """See from now on what was entered by now."""
        self._last = None
        self._last = self.head()[0]
        self._walked = None
        self.kept.clear()

    def strict(self) -> "Record":
        """Give this view so that it refuses what does not hold together, and not only tells it."""
        view = Record(self.store, self._last, self._moment)
        view._strict = True
        return view

    def walked(self, since: datetime, until: datetime) -> "Record":
        """Give this view with its entries about moments in [since, until) read by number.

        No index and nothing derived is believed for them: each entry is what was recorded and
        follows the one before it, up to the head, and what is derived of them is compared. Pages
        and signatures rest on it. Raises Refused where the record does not hold together.
        """
        view = Record(self.store, self._last, self._moment)
        view._strict = True
        with self.transaction() as connection:
            end = view._end(connection)
            first = view._number_at(connection, since)
            last = max(view._number_before(connection, until), first - 1)
            driver = self.store.driver(connection)
            view._walked = walk(driver, first, last, stored(until), end, view._tell)
        return view

    def close(self) -> None:
        self.store.close()

    def append(
        self,
        drafts: Iterable[Draft],
        now: Callable[[], datetime],
        *,
        as_seen: bool = False,
        unchanged: Sequence[str] = (),
    ) -> list[Entry]:
        """Append entries, all or none; they are on disk when this returns.

        `now` is asked while the record is locked, so that entered-at never runs backwards between
        two processes; a clock that does not follow from the last entry is recorded before the
        entry. Raises Refused where an entry has its successor already, or the disk refuses; with
        `as_seen` also where others have entered anything that this view of the record does not
        show, with `unchanged` where they have entered anything in those threads.
        """
        made = self._entering.append(drafts, now, Seen(self._last, as_seen, unchanged))
        if made:
            self._goes_on(made[-1].seq)
        return [one for one in made if not isinstance(one.body, ClockMoved)]

    def restore(self, rows: Iterable[Mapping[str, Any]]) -> None:
        """Put an export's rows back as they were, all or none, into a record that is empty.

        The rows have been checked by `exports.from_export`. Raises Refused if it has entries.
        """
        self._entering.restore(rows)

    def take_over(
        self, rows: Sequence[Mapping[str, Any]], then: Callable[[Driver], object] = lambda _: None
    ) -> None:
        """Append entries as another copy of this record has them, all or none.

        `then` is done in the same transaction. Raises NotNext where they do not follow the last one
        here, and then nothing has changed.
        """
        self._entering.take_over(rows, then)
        self._goes_on(rows[-1]["seq"])

    def _goes_on(self, last: int) -> None:
        if self._last is not None:
            self._last = last
        self._walked = None
        self.kept.clear()

    def rows(self, first: int | None = None) -> Iterator[dict[str, Any]]:
        """Read entries as they are stored, in order, from no. `first` on.

        So many at a time that no record is held whole in memory; between them others may write.
        """
        after = lookup.LOWEST if first is None else first - 1
        last = lookup.HIGHEST if self._last is None else self._last
        while True:
            with self.transaction() as connection:
                read = lookup.following(self.store.driver(connection), after, last, _AT_A_TIME)
            yield from read
            if len(read) < _AT_A_TIME:
                return
            after = read[-1]["seq"]

    def threads_after(self, number: int) -> Iterator[tuple[set[str], bool]]:
        """Name the threads of each entry after one, and say whether it reaches back to others."""
        for row in self.rows(number + 1):
            lookup.check(row, self._tell)
            one = entry_from(row)
            with self.transaction() as connection:
                names = lookup.named(self.store.driver(connection), one)
            yield names, derived.reaches_back(one)

    def damage(self) -> list[str]:
        """Say whether what the entries lie in is damaged."""
        return self.store.damage()

    def problems(self) -> list[str]:
        """Say what is wrong with what the entries lie in: damage, missing guards of them."""
        return [*self.store.damage(), *self.store.problems()]

    def differences(self) -> list[str]:
        """Say what of that which is derived does not agree with the entries, whose chain holds."""
        with self.store.again() as (driver, beside):
            return derived.differences(driver, beside)

    def head(self) -> tuple[int, str]:
        """Give the last entry's number and digest; 0 and zeros for an empty record."""
        with self.transaction() as connection:
            return _head(connection, self._seen())[:2]

    def entries(self) -> list[Entry]:
        """Read every entry, in order; one that is not what was recorded is told of."""
        rows = list(self.rows())
        for row in rows:
            lookup.check(row, self._tell)
        return _as_read([entry_from(row) for row in rows])

    def first_with(self, text: str) -> int | None:
        """Give the number of the first entry in which somebody typed a text; None for none."""
        holds = entry.c.body.contains(text, autoescape=True)
        chosen = sa.select(sa.func.min(entry.c.seq)).where(holds, self._seen())
        with self.transaction() as connection:
            found: int | None = connection.execute(chosen).scalar_one()
        return found

    def numbered(self, numbers: Sequence[int]) -> list[Entry]:
        """Read entries by their numbers, in order; what is not there is left out."""
        with self.transaction() as connection:
            driver, end = self.store.driver(connection), self._end(connection)
            wanted = sorted({one for one in numbers if 0 < one <= end})
            found = [row for one in wanted for row in lookup.by_number(driver, one, one)]
            successors = {row["seq"]: lookup.successor(driver, row["seq"], end) for row in found}
        known = (replace(entry_from(row), corrected_by=successors[row["seq"]]) for row in found)
        return [reading for one in known for reading in each_reading(one)]

    def about(
        self,
        *threads: str,
        since: datetime | None = None,
        until: datetime | None = None,
        from_number: Mapping[str, int] | None = None,
        to_the_end: Sequence[str] = (),
    ) -> list[Entry]:
        """Read the entries of threads, in order, each once.

        With `since` those entered after it: a little more than those about later moments, which
        may be entered late. With `until` those entered before it, and of what was walked also
        those entered late about a moment of it; some may be read `to_the_end` all the same. With
        `from_number` a thread is read from a later entry on.
        """
        later = from_number or {}
        with self.transaction() as connection:
            driver, end = self.store.driver(connection), self._end(connection)
            first = self._number_at(connection, since) if since else 1
            last = self._number_before(connection, until) if until else end
            spans = {name: (max(first, later.get(name, 1)), last) for name in threads}
            spans |= dict.fromkeys(to_the_end, (first, end))
            # of an hour of logged readings that is over by then, nobody asks for each
            over = stored(since - LONGEST_RUN) if since and not self._walked else ""
            found = lookup.along(driver, spans, self._tell, over)
        unique = {one.seq: one for entries in found.values() for one in entries}
        if self._walked:
            numbers = {n for name in spans for n in self._walked.threads.get(name, ())}
            unique |= {one.seq: one for one in self._walked.late if one.seq in numbers}
            for name, entries in found.items():
                self._walked.compare(name, entries, spans[name], self._tell)
        return _as_read([unique[number] for number in sorted(unique)])

    def goes_on_after(self, moment: datetime) -> bool:
        """Say whether anything was entered after a moment."""
        with self.transaction() as connection:
            return self._number_at(connection, moment) <= self._end(connection)

    def settled(self, *threads: str) -> dict[str, Settled]:
        """Give up to which entry nothing of a thread is undecided, as far as that was noted."""
        if self._walked:
            return {}
        with self.transaction() as connection:
            return lookup.settled(self.store.driver(connection), threads, self._end(connection))

    def settle(self, threads: Sequence[str], since: datetime) -> None:
        """Note that nothing of threads is undecided; what was noted before a moment is dropped.

        Where somebody entered something meanwhile, nothing is noted.
        """
        with self.transaction(writing=True) as connection:
            driver, end = self.store.driver(connection), self._end(connection)
            if lookup.head(driver).seq != end:
                return  # somebody entered something meanwhile
            lookup.settle(driver, threads, end)
            self.store.forget_settled(driver, self._number_at(connection, since))

    def batches_during(self, since: datetime, until: datetime) -> set[str]:
        """Name the batches about which anything was entered of moments in [since, until)."""
        if self._walked:
            return {one.batch for one in self.during(since, until) if one.batch}
        with self.transaction() as connection:
            first, end = self._number_at(connection, since), self._end(connection)
            span = stored(since), stored(until)
            return lookup.batches_between(self.store.driver(connection), first, end, span)

    def newest(self, thread: str, most: int) -> list[Entry]:
        """Read the last entries of a thread, the newest first; corrections are not looked up."""
        with self.transaction() as connection:
            after = self._end(connection) + 1
            return lookup.newest(self.store.driver(connection), thread, most, after, self._tell)

    def backwards(self, thread: str) -> Iterator[Entry]:
        """Read a thread from its last entry on, as far as is wanted."""
        with self.transaction() as connection:
            before = self._end(connection) + 1
        size = 8
        while True:
            with self.transaction() as connection:
                some = lookup.newest(
                    self.store.driver(connection), thread, size, before, self._tell
                )
            for one in some:
                yield from reversed(list(each_reading(one)))
            if len(some) < size:
                return
            before, size = some[-1].seq, size * 4

    def during(self, since: datetime, until: datetime) -> list[Entry]:
        """Read the entries about moments in [since, until), by number, in order."""
        with self.transaction() as connection:
            first, end = self._number_at(connection, since), self._end(connection)
            found = self._walked.from_number(first) if self._walked else None
            if found is None:
                rows = lookup.by_number(self.store.driver(connection), first, end)
                found = [entry_from(row) for row in rows]
        return [one for one in _as_read(found) if since <= one.at < until]

    def entered_since(self, moment: datetime) -> list[Entry]:
        """Read what was entered at a moment or after it, whatever it is about, in order."""
        with self.transaction() as connection:
            first, end = self._number_at(connection, moment), self._end(connection)
            rows = lookup.by_number(self.store.driver(connection), first, end)
        entries = _as_read([entry_from(row) for row in rows])
        return [one for one in entries if one.entered_at >= moment]

    def open_batches(self) -> list[Known]:
        """List the batches of which something may be left, the newest first.

        In a view of an earlier moment those that ended later are among them.
        """
        with self.transaction() as connection:
            end = self._end(connection)
            return lookup.batches_left(self.store.driver(connection), end + 1, end, self._tell)[
                ::-1
            ]

    def batches_left(self, since: datetime, until: datetime) -> list[Known]:
        """List the batches of which something may have been left in [since, until), in order."""
        with self.transaction() as connection:
            first, end = self._number_at(connection, since), self._end(connection)
            last = self._number_before(connection, until)
            found = lookup.batches_left(self.store.driver(connection), first, end, self._tell)
        late = {one.seq for one in self._walked.late} if self._walked else {}
        return [one for one in found if one.opened <= last or one.opened in late]

    def batches_called(self, beginning: str, most: int = 20) -> list[Known]:
        """List the batches whose code or name begins so, the newest first."""
        return self._listed(lambda driver: lookup.batches_called(driver, beginning, most))

    def batches_named(self, name: str) -> list[Known]:
        """List the batches whose code or name is this one, whatever its capitals, oldest first."""
        return self._listed(lambda driver: lookup.batches_named(driver, name))

    def every_batch(self) -> list[Known]:
        """List all batches ever opened, oldest first."""
        return self._listed(lookup.every_batch)

    def _listed(self, ask: Callable[[Driver], list[Known]]) -> list[Known]:
        with self.transaction() as connection:
            end = self._end(connection)
            return [one for one in ask(self.store.driver(connection)) if one.opened <= end]

    def _end(self, connection: sa.Connection) -> int:
        return _head(connection, sa.true())[0] if self._last is None else self._last

    def _seen(self) -> sa.ColumnElement[bool]:
        return sa.true() if self._last is None else entry.c.seq <= self._last

    def _number_at(self, connection: sa.Connection, moment: datetime) -> int:
        """Find the first entry that may be about a moment or a later one."""
        text, end = stored(moment - CLOCK_TOLERANCE), self._end(connection)
        known = self._numbers.setdefault(end, {})
        if text not in known:
            known[text] = lookup.first_entered(self.store.driver(connection), text, end, self._tell)
        return known[text]

    def _number_before(self, connection: sa.Connection, moment: datetime) -> int:
        """Find the last entry that was made before a moment, or a little after it."""
        return self._number_at(connection, moment + 2 * CLOCK_TOLERANCE) - 1

    def _tell(self, misfit: str) -> None:
        """Keep in mind what is not as it was made; where pages rest on it, refuse."""
        words = phrase(
            "The record does not hold together: {misfit} Ask haccp record verify.", misfit=misfit
        )
        if self._strict:
            raise Refused(words)
        if words not in self.troubles:
            self.troubles.append(words)

    def transaction(self, *, writing: bool = False) -> AbstractContextManager[sa.Connection]:
        """Give a connection in a transaction; one that writes waits for the record's lock first."""
        return self.store.transaction(writing=writing)


def open_record(place: Place, *, create: bool) -> Record:
    """Open the record in a file or on a server; a file is created if asked, and upgraded.

    Raises Refused, with a sentence, for what cannot be reached, read or written, what is no
    record, and one made by a newer version.
    """
    if isinstance(place, Server):
        from haccp.record.postgres import open_server  # a file needs nothing of it

        return Record(open_server(place))
    return Record(open_file(place, create=create))


def _as_read(entries: Sequence[Entry]) -> list[Entry]:
    """Say of each entry which of the others replaced it or took it back, and give each reading."""
    corrections = Corrections(entries)
    return [
        replace(reading, corrected_by=by) if (by := corrections.of(reading)) else reading
        for one in entries
        for reading in each_reading(one)
    ]


def _head(connection: sa.Connection, chosen: sa.ColumnElement[bool]) -> tuple[int, str, str | None]:
    """Give the last entry's number, digest and moment of entry, of those chosen."""
    last = sa.select(entry.c.seq, entry.c.digest, entry.c.entered_at).where(chosen)
    row = connection.execute(last.order_by(entry.c.seq.desc()).limit(1)).first()
    return (numbered(row.seq), row.digest, row.entered_at) if row else (0, FIRST, None)
