"""The one place that opens the record, appends to it and reads it (SQLAlchemy Core, SQLite).

The journal is SQLite's rollback journal with synchronous=EXTRA: a commit returns after the file,
and the folder from which the journal is gone, are on disk, so that a pulled plug takes back nothing
that was acknowledged; and the record stays one file that can be copied and carried.
"""

import os
import sqlite3
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import islice
from pathlib import Path
from typing import Any, TypeVar

import sqlalchemy as sa

from haccp.errors import Refused
from haccp.language import message, phrase
from haccp.record import derived, lookup
from haccp.record.domains import numbered
from haccp.record.entries import (
    FIRST,
    LONGEST_RUN,
    ClockMoved,
    Draft,
    Entry,
    as_row,
    each_reading,
    entry_from,
)
from haccp.record.lookup import Known, Settled
from haccp.record.sentences import in_sentences, reason_of
from haccp.time import CLOCK_TOLERANCE, moment_or_none, stored

SCHEMA = "0004"

# How long one process waits for another to finish writing [s].
PATIENCE = 30

# How many entries are read at once.
_AT_A_TIME = 2_000

# A kitchen that enters nothing for this long was closed, or its clock jumped: worth a note either
# way. Common practice, no source.
_LONGEST_GAP = timedelta(days=7)

_T = TypeVar("_T")

_metadata = sa.MetaData()
entry = sa.Table(
    "entry",
    _metadata,
    sa.Column("seq", sa.Integer, primary_key=True),
    sa.Column("kind", sa.Text, nullable=False),
    sa.Column("entered_at", sa.Text, nullable=False),
    sa.Column("at", sa.Text, nullable=False),
    sa.Column("person", sa.Text, nullable=False),
    sa.Column("batch", sa.Text),
    sa.Column("unit", sa.Text),
    sa.Column("corrects", sa.Integer),
    sa.Column("body", sa.Text, nullable=False),
    sa.Column("previous", sa.Text, nullable=False),
    sa.Column("digest", sa.Text, nullable=False),
)


class Record:
    """The append-only whole of a kitchen's entries, in one SQLite file, as seen up to one of them.

    Entries are read along their threads (`record/threads`), each one checked against its digest
    and its place. `troubles` are the sentences about what was not as it was made; a record that
    is `strict` raises Refused for the first. `kept` is for what is made of this view's entries.
    """

    def __init__(self, engine: sa.Engine, path: Path, last: int | None = None) -> None:
        self._engine = engine
        self.path = path
        self._last = last
        self._strict = False
        self._walked: lookup.Walked | None = None
        self.troubles: list[str] = []
        self.kept: dict[object, Any] = {}
        self._numbers: dict[int, dict[str, int]] = {}

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
        return self._up_to_last_of(entry.c.entered_at <= stored(moment))

    def _up_to_last_of(self, chosen: sa.ColumnElement[bool]) -> "Record":
        with self.transaction() as connection:
            return Record(self._engine, self.path, _head(connection, chosen & self._seen())[0])

    def walked(self, since: datetime, until: datetime) -> "Record":
        """Give this view with its entries about moments in [since, until) read by number.

        No index and nothing derived is believed for them: each entry is what was recorded and
        follows the one before it, up to the head, and what is derived of them is compared. Pages
        and signatures rest on it. Raises Refused where the record does not hold together.
        """
        view = Record(self._engine, self.path, self._last)
        view._strict = True
        with self.transaction() as connection:
            end = view._end(connection)
            first = view._number_at(connection, since)
            last = max(view._number_before(connection, until), first - 1)
            driver = _driver(connection)
            view._walked = lookup.walk(driver, first, last, stored(until), end, view._tell)
        return view

    def close(self) -> None:
        self._engine.dispose()

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
        made: list[Entry] = []
        with self.transaction(writing=True) as connection:
            seq, previous, last = _head(connection, sa.true())
            moved = unchanged and lookup.goes_on(_driver(connection), unchanged, self._last or seq)
            if (as_seen and seq != self._last) or moved:
                meanwhile = message(
                    "Somebody recorded something meanwhile: look again, then type it."
                )
                raise Refused(phrase(meanwhile))
            writer = derived.Writer(_driver(connection))
            for some in _some_of(drafts, _AT_A_TIME):
                rows: list[dict[str, Any]] = []
                for draft in some:
                    entered_at = now()
                    jumped = _clock_moved(last, entered_at, draft.person)
                    for one in (jumped, draft) if jumped else (draft,):
                        seq += 1
                        row = as_row(one, seq=seq, entered_at=entered_at, previous=previous)
                        previous, last = row["digest"], row["entered_at"]
                        rows.append(row)
                connection.execute(entry.insert(), rows)
                if _head(connection, sa.true())[:2] != (seq, previous):
                    lost = message("{path} swallowed the entry: ask haccp record verify.")
                    raise Refused(phrase(lost, path=self.path))
                made += writer.add(rows)
            writer.close()
        if self._last is not None:
            self._last = seq
        self._walked = None
        self.kept.clear()
        return [one for one in made if not isinstance(one.body, ClockMoved)]

    def restore(self, rows: Iterable[Mapping[str, Any]]) -> None:
        """Put an export's rows back as they were, all or none, into a record that is empty.

        The rows have been checked by `exports.from_export`. Raises Refused if it has entries.
        """
        with self.transaction(writing=True) as connection:
            if _head(connection, sa.true())[0]:
                full = message("{path} has entries already: import into a new file with --db.")
                raise Refused(phrase(full, path=self.path))
            writer = derived.Writer(_driver(connection))
            for some in _some_of(rows, _AT_A_TIME):
                connection.execute(entry.insert(), [dict(row) for row in some])
                writer.add(some)
            writer.close()

    def rows(self, first: int | None = None) -> Iterator[dict[str, Any]]:
        """Read entries as they are stored, in order, from no. `first` on.

        So many at a time that no record is held whole in memory; between them others may write.
        """
        after = lookup.LOWEST if first is None else first - 1
        last = lookup.HIGHEST if self._last is None else self._last
        while True:
            with self.transaction() as connection:
                read = lookup.following(_driver(connection), after, last, _AT_A_TIME)
            yield from read
            if len(read) < _AT_A_TIME:
                return
            after = read[-1]["seq"]

    def damage(self) -> list[str]:
        """Say whether pages of the file are damaged."""
        with self.transaction() as connection:
            told = list(connection.exec_driver_sql("PRAGMA integrity_check").scalars())
        words = message("the file is damaged: {damage} (haccp record salvage reads the rest).")
        return [] if told == ["ok"] else [phrase(words, damage=told[0])]

    def problems(self) -> list[str]:
        """Say what is wrong with the file itself: damaged pages, missing guards of its entries."""
        found = self.damage()
        with self.transaction() as connection:
            there = _schema(connection)
        made = _schema_as_made()
        for name in sorted(made.keys() | there.keys()):
            if made.get(name) != there.get(name):
                if name not in there:
                    how = message("{name} of the file's own rules is gone: somebody opened it.")
                elif name in made:
                    how = message("{name} of the file's own rules is changed: somebody opened it.")
                else:
                    how = message("{name} of the file's own rules is added: somebody opened it.")
                found.append(phrase(how, name=repr(name)))
        return found

    def differences(self) -> list[str]:
        """Say what of that which is derived does not agree with the entries, whose chain holds."""
        with in_sentences(self.path), self._engine.connect() as connection:
            return derived.differences(_driver(connection))

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

    def numbered(self, numbers: Sequence[int]) -> list[Entry]:
        """Read entries by their numbers, in order; what is not there is left out."""
        with self.transaction() as connection:
            driver, end = _driver(connection), self._end(connection)
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
            driver, end = _driver(connection), self._end(connection)
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
            return lookup.settled(_driver(connection), threads, self._end(connection))

    def settle(self, threads: Sequence[str], since: datetime) -> None:
        """Note that nothing of threads is undecided; what was noted before a moment is dropped.

        Where somebody entered something meanwhile, nothing is noted.
        """
        with self.transaction(writing=True) as connection:
            end, oldest = self._end(connection), self._number_at(connection, since)
            lookup.settle(_driver(connection), threads, end, oldest)

    def batches_during(self, since: datetime, until: datetime) -> set[str]:
        """Name the batches about which anything was entered of moments in [since, until)."""
        if self._walked:
            return {one.batch for one in self.during(since, until) if one.batch}
        with self.transaction() as connection:
            first, end = self._number_at(connection, since), self._end(connection)
            span = stored(since), stored(until)
            return lookup.batches_between(_driver(connection), first, end, span)

    def newest(self, thread: str, most: int) -> list[Entry]:
        """Read the last entries of a thread, the newest first; corrections are not looked up."""
        with self.transaction() as connection:
            after = self._end(connection) + 1
            return lookup.newest(_driver(connection), thread, most, after, self._tell)

    def backwards(self, thread: str) -> Iterator[Entry]:
        """Read a thread from its last entry on, as far as is wanted."""
        with self.transaction() as connection:
            before = self._end(connection) + 1
        size = 8
        while True:
            with self.transaction() as connection:
                some = lookup.newest(_driver(connection), thread, size, before, self._tell)
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
                rows = lookup.by_number(_driver(connection), first, end)
                found = [entry_from(row) for row in rows]
        return [one for one in _as_read(found) if since <= one.at < until]

    def entered_since(self, moment: datetime) -> list[Entry]:
        """Read what was entered at a moment or after it, whatever it is about, in order."""
        with self.transaction() as connection:
            first, end = self._number_at(connection, moment), self._end(connection)
            rows = lookup.by_number(_driver(connection), first, end)
        entries = _as_read([entry_from(row) for row in rows])
        return [one for one in entries if one.entered_at >= moment]

    def open_batches(self) -> list[Known]:
        """List the batches of which something may be left, the newest first.

        In a view of an earlier moment those that ended later are among them.
        """
        with self.transaction() as connection:
            end = self._end(connection)
            return lookup.batches_left(_driver(connection), end + 1, end, self._tell)[::-1]

    def batches_left(self, since: datetime, until: datetime) -> list[Known]:
        """List the batches of which something may have been left in [since, until), in order."""
        with self.transaction() as connection:
            first, end = self._number_at(connection, since), self._end(connection)
            last = self._number_before(connection, until)
            found = lookup.batches_left(_driver(connection), first, end, self._tell)
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

    def _listed(self, ask: Callable[[sqlite3.Connection], list[Known]]) -> list[Known]:
        with self.transaction() as connection:
            end = self._end(connection)
            return [one for one in ask(_driver(connection)) if one.opened <= end]

    def _end(self, connection: sa.Connection) -> int:
        return _head(connection, sa.true())[0] if self._last is None else self._last

    def _seen(self) -> sa.ColumnElement[bool]:
        return sa.true() if self._last is None else entry.c.seq <= self._last

    def _number_at(self, connection: sa.Connection, moment: datetime) -> int:
        """Find the first entry that may be about a moment or a later one."""
        text, end = stored(moment - CLOCK_TOLERANCE), self._end(connection)
        known = self._numbers.setdefault(end, {})
        if text not in known:
            known[text] = lookup.first_entered(_driver(connection), text, end, self._tell)
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

    @contextmanager
    def transaction(self, *, writing: bool = False) -> Iterator[sa.Connection]:
        """Give a connection in a transaction; one that writes waits for the record's lock first."""
        with in_sentences(self.path), self._engine.connect() as connection:
            if writing:
                connection = connection.execution_options(immediate=True)  # noqa: PLW2901
            with connection.begin():
                yield connection


def open_record(path: Path, *, create: bool) -> Record:
    """Open the record at a path, create it if asked, bring it to this version's schema.

    Before an upgrade a copy is kept beside it. Raises Refused, with a sentence, for a path that
    cannot be read or written, a file that is no record, and one made by a newer version.
    """
    if not path.exists():
        if not create:
            raise Refused(
                phrase(
                    "There is no record at {path}: make one with haccp setup, or name it with "
                    "--db.",
                    path=path,
                )
            )
        _make_private(path)
    engine = sa.create_engine(
        "sqlite://", creator=lambda: _connect(path), poolclass=sa.pool.StaticPool
    )
    sa.event.listen(engine, "begin", _begin)
    try:
        with in_sentences(path):
            version = _version(engine, path)
        if version != SCHEMA:
            from haccp.record.migrate import bring_up_to_date  # costs more than a cook's entry

            with in_sentences(path):
                bring_up_to_date(engine, path, version)
    except BaseException:
        engine.dispose()
        raise
    return Record(engine, path)


def _make_private(path: Path) -> None:
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        os.close(os.open(path, os.O_CREAT | os.O_WRONLY, 0o600))
    except OSError as error:
        words = message("No record can be made at {path}: {reason}.")
        raise Refused(phrase(words, path=path, reason=reason_of(error))) from None


def _connect(path: Path) -> sqlite3.Connection:
    connection = sqlite3.connect(path, timeout=PATIENCE, isolation_level=None)
    try:
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute("PRAGMA synchronous = EXTRA")
    except sqlite3.Error:
        connection.close()
        raise
    return connection


def _driver(connection: sa.Connection) -> sqlite3.Connection:
    """Give the driver's own connection, in the same transaction."""
    driver = connection.connection.driver_connection
    assert isinstance(driver, sqlite3.Connection)  # `open_record` makes no other
    return driver


def _some_of(values: Iterable[_T], size: int) -> Iterator[list[_T]]:
    rest = iter(values)
    while some := list(islice(rest, size)):
        yield some


def _as_read(entries: Sequence[Entry]) -> list[Entry]:
    """Say of each entry which of the others replaced it or took it back, and give each reading."""
    by = {entry.corrects: entry.seq for entry in entries if entry.corrects is not None}
    known = (replace(one, corrected_by=by[one.seq]) if one.seq in by else one for one in entries)
    return [reading for one in known for reading in each_reading(one)]


def _begin(connection: sa.Connection) -> None:
    immediate = connection.get_execution_options().get("immediate", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if immediate else "BEGIN")


def _version(engine: sa.Engine, path: Path) -> str | None:
    with engine.connect() as connection:
        tables = set(
            connection.exec_driver_sql(
                "SELECT name FROM sqlite_master WHERE type = 'table'"
            ).scalars()
        )
        if not tables:
            return None
        if not {"entry", "alembic_version"} <= tables:
            words = message(
                "{path} is a database of something else: name a haccp record with --db."
            )
            raise Refused(phrase(words, path=path))
        return connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar()


def _schema(connection: sa.Connection) -> dict[str, str]:
    """Give the SQL of each table, index and trigger, white space folded."""
    made = "SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL"
    return {str(name): " ".join(str(sql).split()) for name, sql in connection.exec_driver_sql(made)}


def _schema_as_made() -> dict[str, str]:
    """Give the schema of an empty record, made in memory, to compare a file's with."""
    from haccp.record.migrate import upgrade

    engine = sa.create_engine("sqlite://", poolclass=sa.pool.StaticPool)
    upgrade(engine)
    with engine.connect() as connection:
        made = _schema(connection)
    engine.dispose()
    return made


def _clock_moved(last: str | None, now: datetime, person: str) -> Draft | None:
    """Notice a clock that went back beyond its tolerance, or that left an unlikely gap."""
    before = moment_or_none(last)
    if last is None or before is None or -CLOCK_TOLERANCE <= now - before <= _LONGEST_GAP:
        return None
    seconds = int((now - before).total_seconds())
    return Draft(body=ClockMoved(last_entered_at=last, seconds=seconds), at=now, person=person)


def _head(connection: sa.Connection, chosen: sa.ColumnElement[bool]) -> tuple[int, str, str | None]:
    """Give the last entry's number, digest and moment of entry, of those chosen."""
    last = sa.select(entry.c.seq, entry.c.digest, entry.c.entered_at).where(chosen)
    row = connection.execute(last.order_by(entry.c.seq.desc()).limit(1)).first()
    return (numbered(row.seq), row.digest, row.entered_at) if row else (0, FIRST, None)
