"""What of a database's own connection is used past SQLAlchemy: a statement and its values.

Statements are written once, in what SQLite and PostgreSQL have in common: `?` for a value, and
`CROSS JOIN` where SQLite is to keep the order of tables, which PostgreSQL chooses itself.
"""

import sqlite3
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager
from typing import Any, NamedTuple, Protocol

import sqlalchemy as sa

from haccp.errors import Refused
from haccp.record.entries import Entry
from haccp.record.places import Place


class LineBroke(Refused):
    """The line to a server broke, or was not there."""


class InDoubt(LineBroke):
    """The line broke after the end of a transaction was sent, and before its answer came."""


class Rows(Protocol):
    """What a statement gives."""

    @property
    def description(self) -> Any: ...
    def fetchone(self) -> Any: ...
    def fetchall(self) -> Any: ...
    def __iter__(self) -> Iterator[Any]: ...


class Driver(Protocol):
    """A connection within a transaction."""

    def execute(self, statement: str, values: Sequence[Any] = ..., /) -> Rows: ...
    def executemany(self, statement: str, rows: Sequence[Sequence[Any]], /) -> object: ...


class Written(NamedTuple):
    """Entries that follow the last one of a record, and all that is derived of them, in rows.

    `after` is the number and digest of the last entry of which anything was derived; the rows of
    each table have its columns in their order.
    """

    after: tuple[int, str]
    rows: Sequence[Mapping[str, Any]]
    entries: list[Entry]
    threads_begun: list[tuple[Any, ...]]
    threads_gone_on: list[tuple[Any, ...]]
    links: list[tuple[Any, ...]]
    batches_opened: list[tuple[Any, ...]]
    batches_changed: list[tuple[Any, ...]]
    head: tuple[Any, ...]

    @property
    def last(self) -> tuple[int, str]:
        return self.head[0], self.head[1]


class Store(Protocol):
    """What differs between the databases that hold a record; `place` is what sentences call it."""

    @property
    def place(self) -> Place: ...

    @property
    def is_view(self) -> bool:
        """Whether it holds no entries of its own, but shows those of tills."""

    def transaction(self, *, writing: bool) -> AbstractContextManager[sa.Connection]:
        """Give a connection in a transaction; one that writes waits until no other one does.

        One that reads sees the record as it was at one moment. What a person can mend is raised as
        Refused, with a sentence.
        """

    def entering(self) -> AbstractContextManager[Driver]:
        """Give the driver in a transaction that writes."""

    def enter(self, driver: Driver, written: Written) -> None:
        """Write entries, and what is derived of them, in such a transaction.

        Raises Refused where they are not there then.
        """

    @property
    def enter_at_once(self) -> Callable[[Written], bool] | None:
        """Give what enters without asking anything first, where to ask costs a way.

        It is a transaction of its own, and says whether it did: where somebody else entered
        anything since, nothing has changed.
        """

    def driver(self, connection: sa.Connection) -> Driver:
        """Give the driver's own connection, in the same transaction."""

    def again(self) -> AbstractContextManager[tuple[Driver, str]]:
        """Give a place to derive all again beside what there is, and how its tables' names begin.

        What is made there is gone afterwards.
        """

    def forget_settled(self, driver: Driver, before: int) -> None:
        """Drop what was noted of threads of which nothing is entered since an entry."""

    def damage(self) -> list[str]:
        """Say whether what the entries lie in is damaged."""

    def problems(self) -> list[str]:
        """Say which guards of the entries are missing or changed."""

    def close(self) -> None: ...


def driver_of_file(connection: sa.Connection) -> sqlite3.Connection:
    """Give SQLite's own connection, in the same transaction."""
    driver = connection.connection.driver_connection
    assert isinstance(driver, sqlite3.Connection)  # a file is opened with no other
    return driver
