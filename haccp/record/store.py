"""The one place that opens the record, appends to it and reads it (SQLAlchemy Core, SQLite).

The journal is SQLite's rollback journal with synchronous=EXTRA: a commit returns after the file,
and the folder from which the journal is gone, are on disk, so that a pulled plug takes back nothing
that was acknowledged; and the record stays one file that can be copied and carried.
"""

import os
import sqlite3
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import closing, contextmanager
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from haccp.errors import Refused
from haccp.record.domains import numbered
from haccp.record.entries import FIRST, ClockMoved, Draft, Entry, as_row, entry_from
from haccp.time import CLOCK_TOLERANCE, moment_or_none, stored

SCHEMA = "0002"

# How long one process waits for another to finish writing [s].
PATIENCE = 30

# So many numbers in a row that cannot be read are taken for the record's end.
_END_OF_RECORD = 1_000

# A kitchen that enters nothing for this long was closed, or its clock jumped: worth a note either
# way. Common practice, no source.
_LONGEST_GAP = timedelta(days=7)

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
    """The append-only whole of a kitchen's entries, in one SQLite file."""

    def __init__(self, engine: sa.Engine, path: Path, last: int | None = None) -> None:
        self._engine = engine
        self.path = path
        self._last = last

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

    def close(self) -> None:
        self._engine.dispose()

    def append(
        self, drafts: Sequence[Draft], now: Callable[[], datetime], *, as_seen: bool = False
    ) -> list[Entry]:
        """Append entries, all or none; they are on disk when this returns.

        `now` is asked while the record is locked, so that entered-at never runs backwards between
        two processes; a clock that does not follow from the last entry is recorded before the
        entry. Raises Refused where an entry has its successor already, or the disk refuses; with
        `as_seen` also where others have entered anything that this view of the record does not
        show.
        """
        with self.transaction(writing=True) as connection:
            seq, previous, last = _head(connection, sa.true())
            if as_seen and seq != self._last:
                raise Refused("Somebody recorded something meanwhile: look again, then type it.")
            rows: list[dict[str, Any]] = []
            for draft in drafts:
                entered_at = now()
                moved = _clock_moved(last, entered_at, draft.person)
                for one in (moved, draft) if moved else (draft,):
                    seq += 1
                    row = as_row(one, seq=seq, entered_at=entered_at, previous=previous)
                    previous, last = row["digest"], row["entered_at"]
                    rows.append(row)
            connection.execute(entry.insert(), rows)
            if _head(connection, sa.true())[:2] != (seq, previous):
                raise Refused(f"{self.path} swallowed the entry: ask haccp record verify.")
        if self._last is not None:
            self._last = seq
        return [made for row in rows if not isinstance((made := entry_from(row)).body, ClockMoved)]

    def restore(self, rows: Sequence[Mapping[str, Any]]) -> None:
        """Put an export's rows back as they were, all or none, into a record that is empty.

        The rows have been checked by `transfer.from_export`. Raises Refused if it has entries.
        """
        with self.transaction(writing=True) as connection:
            if _head(connection, sa.true())[0]:
                raise Refused(f"{self.path} has entries already: import into a new file with --db.")
            connection.execute(entry.insert(), [dict(row) for row in rows])

    def rows(self) -> list[dict[str, Any]]:
        """Read every entry as it is stored, in order."""
        chosen = sa.select(entry).where(self._seen()).order_by(entry.c.seq)
        with self.transaction() as connection:
            return [dict(row) for row in connection.execute(chosen).mappings()]

    def damage(self) -> list[str]:
        """Say whether pages of the file are damaged."""
        with self.transaction() as connection:
            told = list(connection.exec_driver_sql("PRAGMA integrity_check").scalars())
        rest = "(haccp record salvage reads the rest)"
        return [] if told == ["ok"] else [f"the file is damaged: {told[0]} {rest}."]

    def problems(self) -> list[str]:
        """Say what is wrong with the file itself: damaged pages, missing guards of its entries."""
        found = self.damage()
        with self.transaction() as connection:
            there = _schema(connection)
        made = _schema_as_made()
        for name in sorted(made.keys() | there.keys()):
            if made.get(name) != there.get(name):
                how = "gone" if name not in there else "changed" if name in made else "added"
                found.append(f"{name!r} of the file's own rules is {how}: somebody opened it.")
        return found

    def head(self) -> tuple[int, str]:
        """Give the last entry's number and digest; 0 and zeros for an empty record."""
        with self.transaction() as connection:
            return _head(connection, self._seen())[:2]

    def entries(
        self,
        *,
        numbers: Sequence[int] = (),
        kinds: Sequence[str] = (),
        batches: Sequence[str] | None = None,
        units: Sequence[str] | None = None,
        since: datetime | None = None,
        until: datetime | None = None,
    ) -> list[Entry]:
        """Read entries in their order, those about a moment in [since, until) if given."""
        chosen = sa.select(entry).where(self._seen()).order_by(entry.c.seq)
        if numbers:
            chosen = chosen.where(entry.c.seq.in_(numbers))
        if kinds:
            chosen = chosen.where(entry.c.kind.in_(kinds))
        if batches is not None:
            chosen = chosen.where(entry.c.batch.in_(batches))
        if units is not None:
            chosen = chosen.where(entry.c.unit.in_(units))
        if since is not None:
            chosen = chosen.where(entry.c.at >= stored(since))
        if until is not None:
            chosen = chosen.where(entry.c.at < stored(until))
        with self.transaction() as connection:
            return [entry_from(dict(row)) for row in connection.execute(chosen).mappings()]

    def corrected(self) -> dict[int, int]:
        """Say which entries have been corrected or withdrawn, and by which."""
        corrections = entry.c.corrects.is_not(None)
        chosen = sa.select(entry.c.corrects, entry.c.seq).where(corrections, self._seen())
        with self.transaction() as connection:
            return {row.corrects: row.seq for row in connection.execute(chosen)}

    def _seen(self) -> sa.ColumnElement[bool]:
        return sa.true() if self._last is None else entry.c.seq <= self._last

    @contextmanager
    def transaction(self, *, writing: bool = False) -> Iterator[sa.Connection]:
        """Give a connection in a transaction; one that writes waits for the record's lock first."""
        with _in_sentences(self.path), self._engine.connect() as connection:
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
                f"There is no record at {path}: make one with haccp setup, or name it with --db."
            )
        _make_private(path)
    engine = sa.create_engine(
        "sqlite://", creator=lambda: _connect(path), poolclass=sa.pool.StaticPool
    )
    sa.event.listen(engine, "begin", _begin)
    try:
        with _in_sentences(path):
            version = _version(engine, path)
        if version != SCHEMA:
            from haccp.record.migrate import bring_up_to_date  # costs more than a cook's entry

            with _in_sentences(path):
                bring_up_to_date(engine, path, version)
    except BaseException:
        engine.dispose()
        raise
    return Record(engine, path)


def salvage(path: Path) -> tuple[list[dict[str, Any]], int]:
    """Read entry by entry what a damaged file still gives; say how many it does not.

    Nothing but the entries' own table has to be whole: no version is asked for, and a file that
    lost its end is read all the same (which is what `writable_schema` allows, read-only as it is).
    Not in a transaction: there one damaged page would spoil the others.
    """
    if not path.is_file():
        raise Refused(f"There is no record at {path}: name it with --db.")
    rows: list[dict[str, Any]] = []
    number = misses = 0
    with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)) as plain:
        plain.row_factory = sqlite3.Row
        plain.text_factory = partial(str, encoding="utf-8", errors="replace")
        with _in_sentences(path):
            plain.execute("PRAGMA writable_schema = ON")
        while misses < _END_OF_RECORD:
            number += 1
            try:
                row = plain.execute("SELECT * FROM entry WHERE seq = ?", (number,)).fetchone()
            except sqlite3.Error:
                row = None
            misses = 0 if row else misses + 1
            # a column that somebody renamed or dropped is empty in what is salvaged
            kept = dict(row) if row else {}
            rows += [{name: kept.get(name) for name in entry.c.keys()}] if row else []  # noqa: SIM118
    if not rows:
        raise Refused(f"No entry of {path} can be read: restore it from a backup.")
    return rows, rows[-1]["seq"] - len(rows)


def _make_private(path: Path) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        os.close(os.open(path, os.O_CREAT | os.O_WRONLY, 0o600))
    except OSError as error:
        raise Refused(f"No record can be made at {path}: {_reason(error)}.") from None


def _reason(error: OSError) -> str:
    return (error.strerror or "the system refuses").lower()


def _connect(path: Path) -> sqlite3.Connection:
    connection = sqlite3.connect(path, timeout=PATIENCE, isolation_level=None)
    try:
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute("PRAGMA synchronous = EXTRA")
    except sqlite3.Error:
        connection.close()
        raise
    return connection


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
            raise Refused(f"{path} is a database of something else: name a haccp record with --db.")
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


_SENTENCES = (
    ("not a database", "{path} is not a haccp record: name one with --db."),
    ("decode", "{path} is damaged: restore it from a backup; the file was left as it is."),
    ("malformed", "{path} is damaged: restore it from a backup; the file was left as it is."),
    ("dbmoved", "{path} was moved or replaced just now: nothing was recorded. Enter it again."),
    ("readonly", "{path} is read-only: ask for write access, or name another with --db."),
    ("unable to open", "{path} cannot be opened: check that the folder exists and may be written."),
    ("locked", "{path} is being written by another program: try again."),
    ("full", "The disk is full: nothing was recorded. Free some space and enter it again."),
    ("disk i/o", "The disk under {path} reports an error: nothing was recorded."),
    ("code is used once", "A batch of that code exists already: type another with --code."),
    ("append-only", "Somebody changed that entry first: look at it again with haccp show."),
    ("unique", "Somebody changed that entry first: look at it again with haccp show."),
)  # fmt: skip


@contextmanager
def _in_sentences(path: Path) -> Iterator[None]:
    """Turn what a person can mend into a sentence; anything else is a bug and stays one."""
    try:
        yield
    except (sa.exc.DBAPIError, sqlite3.Error, UnicodeDecodeError, OverflowError) as error:
        cause = getattr(error, "orig", error)
        words = f"{cause} {getattr(cause, 'sqlite_errorname', '')}".lower()
        for sign, sentence in _SENTENCES:
            if sign in words:
                raise Refused(sentence.format(path=path)) from error
        raise Refused(
            f"{path} is not as haccp made it ({str(cause).lower()}): ask haccp record verify."
        ) from error
