"""The one place that opens the record, appends to it and reads it (SQLAlchemy Core, SQLite).

The journal is SQLite's rollback journal with synchronous=FULL: a commit returns after the file
is on disk, and the record stays one file that can be copied and carried.
"""

import os
import sqlite3
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from haccp.errors import Refused
from haccp.record.entries import FIRST, Draft, Entry, as_row, entry_from
from haccp.time import stored

SCHEMA = "0001"

# How long one process waits for another to finish writing [s].
_PATIENCE = 30

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

    def __init__(self, engine: sa.Engine, path: Path, known_at: datetime | None = None) -> None:
        self._engine = engine
        self.path = path
        self._known_at = known_at

    def as_known_at(self, moment: datetime) -> "Record":
        """Give the record as it was then: entries made later are not seen."""
        return Record(self._engine, self.path, moment)

    def close(self) -> None:
        self._engine.dispose()

    def append(self, drafts: Sequence[Draft], now: Callable[[], datetime]) -> list[Entry]:
        """Append entries, all or none; they are on disk when this returns.

        `now` is asked while the record is locked, so that entered-at never runs backwards between
        two processes. Raises Refused where an entry has its successor already, or the disk refuses.
        """
        with self._transaction(writing=True) as connection:
            seq, previous = _head(connection, sa.true())
            rows: list[dict[str, Any]] = []
            for draft in drafts:
                seq += 1
                row = as_row(draft, seq=seq, entered_at=now(), previous=previous)
                previous = row["digest"]
                rows.append(row)
            connection.execute(entry.insert(), rows)
            chosen = sa.select(entry).where(entry.c.seq > seq - len(rows)).order_by(entry.c.seq)
            return [entry_from(row) for row in connection.execute(chosen)]

    def restore(self, rows: Sequence[Mapping[str, Any]]) -> None:
        """Put an export's rows back as they were, all or none, into a record that is empty.

        The rows have been checked by `transfer.from_export`. Raises Refused if it has entries.
        """
        with self._transaction(writing=True) as connection:
            if _head(connection, sa.true())[0]:
                raise Refused(f"{self.path} has entries already: import into a new file with --db.")
            connection.execute(entry.insert(), [dict(row) for row in rows])

    def rows(self) -> list[dict[str, Any]]:
        """Read every entry as it is stored, in order."""
        chosen = sa.select(entry).where(self._known()).order_by(entry.c.seq)
        with self._transaction() as connection:
            return [dict(row) for row in connection.execute(chosen).mappings()]

    def head(self) -> tuple[int, str]:
        """Give the last entry's number and digest; 0 and zeros for an empty record."""
        with self._transaction() as connection:
            return _head(connection, self._known())

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
        chosen = sa.select(entry).where(self._known()).order_by(entry.c.seq)
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
        with self._transaction() as connection:
            return [entry_from(row) for row in connection.execute(chosen)]

    def corrected(self) -> dict[int, int]:
        """Say which entries have been corrected or withdrawn, and by which."""
        corrections = entry.c.corrects.is_not(None)
        chosen = sa.select(entry.c.corrects, entry.c.seq).where(corrections, self._known())
        with self._transaction() as connection:
            return {row.corrects: row.seq for row in connection.execute(chosen)}

    def _known(self) -> sa.ColumnElement[bool]:
        if self._known_at is None:
            return sa.true()
        return entry.c.entered_at <= stored(self._known_at)

    @contextmanager
    def _transaction(self, *, writing: bool = False) -> Iterator[sa.Connection]:
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
    with _in_sentences(path):
        version = _version(engine, path)
    if version != SCHEMA:
        from haccp.record.migrate import bring_up_to_date  # Alembic costs more than a cook's entry

        with _in_sentences(path):
            bring_up_to_date(engine, path, version)
    return Record(engine, path)


def _make_private(path: Path) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        os.close(os.open(path, os.O_CREAT | os.O_WRONLY, 0o600))
    except OSError as error:
        raise Refused(f"No record can be made at {path}: {_reason(error)}.") from None


def _reason(error: OSError) -> str:
    return (error.strerror or "the system refuses").lower()


def _connect(path: Path) -> sqlite3.Connection:
    connection = sqlite3.connect(path, timeout=_PATIENCE, isolation_level=None)
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA synchronous = FULL")
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


def _head(connection: sa.Connection, known: sa.ColumnElement[bool]) -> tuple[int, str]:
    last = sa.select(entry.c.seq, entry.c.digest).where(known).order_by(entry.c.seq.desc()).limit(1)
    row = connection.execute(last).first()
    return (row.seq, row.digest) if row else (0, FIRST)


_SENTENCES = (
    ("not a database", "{path} is not a haccp record: name one with --db."),
    ("malformed", "{path} is damaged: restore it from a backup; the file was left as it is."),
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
    except (sa.exc.DBAPIError, sqlite3.Error) as error:
        words = str(getattr(error, "orig", error)).lower()
        for sign, sentence in _SENTENCES:
            if sign in words:
                raise Refused(sentence.format(path=path)) from error
        raise
