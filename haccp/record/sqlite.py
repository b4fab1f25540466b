"""A record in a file of its own: what SQLite has differently.

The journal is SQLite's rollback journal with synchronous=EXTRA: a commit returns after the file,
and the folder from which the journal is gone, are on disk, so that a pulled plug takes back nothing
that was acknowledged; and the record stays one file that can be copied and carried.
"""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import sqlalchemy as sa

from haccp.errors import Refused
from haccp.language import message, phrase
from haccp.record import derived, lookup
from haccp.record.driver import Driver, Written, driver_of_file
from haccp.record.schema import SCHEMA
from haccp.record.sentences import SWALLOWED, differing, in_sentences, reason_of
from haccp.record.view_tables import SHAPES, only_shows

# How long one process waits for another to finish writing [s].
PATIENCE = 30


class FileStore:
    """A record in one SQLite file."""

    enter_at_once = None  # to ask costs nothing here

    def __init__(self, engine: sa.Engine, place: Path) -> None:
        self._engine = engine
        self.place = place
        with in_sentences(place), engine.connect() as connection:
            self.cuts = _cuts(driver_of_file(connection))
        self.is_view = self.cuts > 0

    @contextmanager
    def transaction(self, *, writing: bool) -> Iterator[sa.Connection]:
        with self._begun(writing=writing) as connection:
            if self.is_view and _cuts(driver_of_file(connection)) != self.cuts:
                raise Refused(
                    phrase("The view changed meanwhile, as entries came late: type it again.")
                )
            yield connection

    @contextmanager
    def _begun(self, *, writing: bool) -> Iterator[sa.Connection]:
        with in_sentences(self.place), self._engine.connect() as connection:
            if writing:
                connection = connection.execution_options(immediate=True)  # noqa: PLW2901
            with connection.begin():
                yield connection

    @contextmanager
    def entering(self) -> Iterator[Driver]:
        with self.transaction(writing=True) as connection:
            if self.is_view:
                raise only_shows(self.place, driver_of_file(connection))
            yield driver_of_file(connection)

    def enter(self, driver: Driver, written: Written) -> None:
        lookup.insert(driver, written.rows)
        derived.write(driver, written)
        if lookup.last_entry(driver)[:2] != written.last:
            raise Refused(phrase(SWALLOWED, path=self.place))

    @contextmanager
    def merging(self) -> Iterator[Driver]:
        """Give the driver in a transaction in which a view is brought up to date.

        What is read of it afterwards rests on how it is then.
        """
        with self._begun(writing=True) as connection:
            driver = driver_of_file(connection)
            yield driver
            cuts = _cuts(driver)
        self.cuts, self.is_view = cuts, cuts > 0

    def driver(self, connection: sa.Connection) -> Driver:
        return driver_of_file(connection)

    @contextmanager
    def again(self) -> Iterator[tuple[Driver, str]]:
        with in_sentences(self.place), self._engine.connect() as connection:
            driver = driver_of_file(connection)
            driver.execute("ATTACH DATABASE '' AS again")  # outside a transaction: a file can be
            try:
                yield driver, "again."
            finally:
                driver.execute("DETACH DATABASE again")

    def forget_settled(self, driver: Driver, before: int) -> None:
        driver.execute("DELETE FROM derived_settled WHERE until < ?", (before,))

    def damage(self) -> list[str]:
        with self.transaction(writing=False) as connection:
            told = list(connection.exec_driver_sql("PRAGMA integrity_check").scalars())
        words = message("the file is damaged: {damage} (haccp record salvage reads the rest).")
        return [] if told == ["ok"] else [phrase(words, damage=told[0])]

    def problems(self) -> list[str]:
        with self.transaction(writing=False) as connection:
            there = _schema(connection)
        made = _schema_as_made() | (SHAPES if self.is_view else {})
        return differing(made, there)

    def close(self) -> None:
        self._engine.dispose()


def open_file(path: Path, *, create: bool) -> FileStore:
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
    return FileStore(engine, path)


def _cuts(driver: Driver) -> int:
    """Say of a view how often it was made or cut back; 0 for a record."""
    row = driver.execute("PRAGMA user_version").fetchone()
    return int(row[0])


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
    from haccp.record.migrate import upgrade_file

    engine = sa.create_engine("sqlite://", poolclass=sa.pool.StaticPool)
    upgrade_file(engine)
    with engine.connect() as connection:
        made = _schema(connection)
    engine.dispose()
    return made
