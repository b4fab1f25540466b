"""A kitchen's record among others in a PostgreSQL database: what that has differently.

Whose rows a connection sees and writes is decided by the role that logged in (row security), so
that no statement names a kitchen. A kitchen's writers queue on a row of its own, which nobody else
can lock; readers see the record as it was at one moment, and wait for nobody.
"""

import re
from collections.abc import Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from functools import lru_cache
from typing import Any

import sqlalchemy as sa

from haccp.errors import Refused
from haccp.language import message, phrase
from haccp.record.driver import Driver, InDoubt, LineBroke, Rows
from haccp.record.guards import problems_of
from haccp.record.places import Server
from haccp.record.schema import SCHEMA
from haccp.record.sentences import BROKEN, CHANGED, CODE_IS_USED

try:
    import psycopg
except ImportError:
    raise Refused(
        phrase("A record on a server needs more of haccp: pip install 'haccp[server]'")
    ) from None

# How long a connection is tried [s], and a lock waited for.
_TO_CONNECT = 10
_PATIENCE = "30s"
# A program that hangs in the middle of an entry must not keep its kitchen's others waiting.
_IDLE = "60s"

# Temporary tables last: nothing that somebody makes there takes the place of a record's own.
_SETTINGS = (
    f"-c search_path=haccp,pg_temp -c lock_timeout={_PATIENCE}"
    f" -c idle_in_transaction_session_timeout={_IDLE}"
)

_IN_DOUBT = message(
    "The line to {path} broke while it was recorded: haccp list entries says whether it was; look "
    "before you type it again."
)
_NOT_PREPARED = message(
    "{path} is not prepared for haccp: who runs the server types haccp server prepare."
)
_FULL = message("The server's disk is full: nothing was recorded. Tell who runs {path}.")
_NO_CONNECTION = message("The server of {path} has no connection left: try again in a moment.")

# By what SQL calls an error's state (its first letters are its class); the longest first.
_BY_STATE = (
    ("23505", CHANGED),
    ("23001", CHANGED),
    ("55P03", message("{path} is being written by another program: try again.")),
    ("57P03", message("The server of {path} is starting or stopping: try again in a moment.")),
    ("25P03", BROKEN),
    ("57P", BROKEN),
    ("08", BROKEN),
    ("53300", _NO_CONNECTION),
    ("531", _FULL),
    ("25006", message("{path} is read-only: name the server that is written to with --db.")),
    ("40", message("Somebody recorded something meanwhile: look again, then type it.")),
)
# What the client's library says of a connection that was not made; the server gives it no state.
_BY_WORDS = (
    ("too many c", _NO_CONNECTION),
    ("password", message("{path} refuses the name or the password ({cause}).")),
    ("authentication", message("{path} refuses the name or the password ({cause}).")),
    ('role "', message("{path} refuses the name or the password ({cause}).")),
    ('database "', message("There is no such database: {path} ({cause}).")),
    ("closed the connection", BROKEN),
    ("connection is lost", BROKEN),
    ("connection is closed", BROKEN),
    ("nul (0x00)", message("A text holds the character NUL: type it again without.")),
)
_UNREACHED = message(
    "{path} cannot be reached ({cause}): check the address, and that the server runs."
)


class ServerStore:
    """A kitchen's record on a server."""

    is_view = False

    def __init__(self, engine: sa.Engine, place: Server) -> None:
        self._engine = engine
        self.place = place

    @contextmanager
    def transaction(self, *, writing: bool) -> Iterator[sa.Connection]:
        options = _WRITING if writing else _READING
        with in_sentences(self.place), self._engine.connect() as plain:
            connection = plain.execution_options(**options)
            transaction = connection.begin()
            try:
                if writing:
                    self.driver(connection).execute(_WAIT)
                yield connection
            except BaseException:
                transaction.rollback()
                raise
            try:
                transaction.commit()
            except sa.exc.DBAPIError as error:
                if writing and error.connection_invalidated:
                    raise InDoubt(phrase(_IN_DOUBT, path=self.place)) from error
                raise

    @contextmanager
    def entering(self) -> Iterator[Driver]:
        with self.transaction(writing=True) as connection:
            driver = _Together(connection.connection.driver_connection)
            with driver.pipeline():
                yield driver
                driver.flush()

    def driver(self, connection: sa.Connection) -> Driver:
        return _Driver(connection.connection.driver_connection)

    @contextmanager
    def again(self) -> Iterator[tuple[Driver, str]]:
        with in_sentences(self.place), self._engine.connect() as plain:
            connection = plain.execution_options(isolation_level="REPEATABLE READ")
            with connection.begin() as transaction:
                yield _Temporary(connection.connection.driver_connection), "pg_temp."
                transaction.rollback()

    def forget_settled(self, driver: Driver, before: int) -> None:
        # a function: whoever may delete from a table may also lock it against all others
        driver.execute("SELECT forget_settled(?)", (before,))

    def damage(self) -> list[str]:
        return []  # whoever runs the server looks after its files

    def problems(self) -> list[str]:
        with self.transaction(writing=False) as connection:
            return problems_of(connection)

    def close(self) -> None:
        self._engine.dispose()


_WAIT = "SELECT kitchen FROM queue FOR NO KEY UPDATE"
_WRITING = {"isolation_level": "READ COMMITTED"}
_READING = {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}


class _Driver:
    """The driver's own connection, which takes statements as SQLite does."""

    def __init__(self, connection: Any) -> None:
        assert isinstance(connection, psycopg.Connection)  # the URL's scheme names no other
        self._connection = connection

    def execute(self, statement: str, values: Sequence[Any] = (), /) -> Rows:
        return self._connection.execute(self._told(statement), values or None)

    def executemany(self, statement: str, rows: Sequence[Sequence[Any]], /) -> None:
        if rows:
            with self._connection.cursor() as cursor:
                cursor.executemany(self._told(statement), rows)

    def _told(self, statement: str) -> bytes:
        return _in_postgres(statement)


class _Together(_Driver):
    """One that sends single rows that are written in one statement, as late as may be.

    A statement costs a server more than what it writes. What is read of a table, or written to it
    again, comes after what was written to it: all writes of one statement see it as it was before.
    """

    def __init__(self, connection: Any) -> None:
        super().__init__(connection)
        self._waiting: dict[str, tuple[str, Sequence[Any]]] = {}

    def pipeline(self) -> AbstractContextManager[object]:
        """Wait for no answer before something is read."""
        return self._connection.pipeline()

    def execute(self, statement: str, values: Sequence[Any] = (), /) -> Rows:
        # what is read without a table's name is read by a function, of any
        if " FROM " not in statement or any(table in statement for table in self._waiting):
            self.flush()
        return super().execute(statement, values)

    def executemany(self, statement: str, rows: Sequence[Sequence[Any]], /) -> None:
        verb, *rest = statement.split()
        table = rest[0] if verb == "UPDATE" else rest[1]
        if table in self._waiting:
            self.flush()
        if len(rows) == 1:
            self._waiting[table] = statement, rows[0]
        elif rows:
            self.flush()
            super().executemany(statement, rows)

    def flush(self) -> None:
        if not self._waiting:
            return
        writes, self._waiting = tuple(self._waiting.values()), {}
        statement = _in_one(tuple(statement for statement, _ in writes))
        super().execute(statement, [value for _, values in writes for value in values])


@lru_cache
def _in_one(statements: tuple[str, ...]) -> str:
    each = ", ".join(f"write_{n} AS ({one})" for n, one in enumerate(statements))
    return f"WITH {each} SELECT 1"


class _Temporary(_Driver):
    """One that makes tables whose texts are compared as the record's are, byte by byte."""

    def _told(self, statement: str) -> bytes:
        return _in_postgres(re.sub(r"(CREATE TABLE .*)", _bytewise, statement))


def _bytewise(made: re.Match[str]) -> str:
    return made[1].replace("TEXT", 'TEXT COLLATE "C"')


@lru_cache
def _in_postgres(statement: str) -> bytes:
    return statement.replace("?", "%s").replace("CROSS JOIN", "JOIN").encode()


def engine_of(server: Server, role: str = "") -> sa.Engine:
    """Give what connects to a server, there with no more rights than a role's if one is named.

    Raises Refused for a URL that is none.
    """
    settings = f"{_SETTINGS} -c role={role}" if role else _SETTINGS
    try:
        return sa.create_engine(
            server.url,
            poolclass=sa.pool.StaticPool,
            connect_args={"options": settings, "connect_timeout": _TO_CONNECT},
            use_native_hstore=False,
        )
    except (sa.exc.ArgumentError, ValueError):
        raise Refused(
            phrase(
                "{path} is no URL of a server: type postgresql+psycopg://NAME@HOST/DATABASE",
                path=server,
            )
        ) from None


def open_server(server: Server) -> ServerStore:
    """Open a kitchen's record on a server, as the role that its URL names.

    Raises Refused, with a sentence, for a server that cannot be reached or is not prepared, an
    account that is no kitchen's, and a schema that is not this version's.
    """
    engine = engine_of(server)
    try:
        with in_sentences(server), engine.connect() as connection:
            _check_account(connection, server)
    except BaseException:
        engine.dispose()
        raise
    return ServerStore(engine, server)


def _check_account(connection: sa.Connection, server: Server) -> None:
    asked = "SELECT kitchen_of(current_user), (SELECT version_num FROM alembic_version)"
    kitchen, version = asked_of_prepared(connection, server, asked)
    if kitchen is None:
        raise Refused(
            phrase(
                "Whoever logs in to {path} so is no kitchen of it: use the name and the password "
                "that haccp server add-kitchen printed.",
                path=server,
            )
        )
    refuse_other_schema(server, version)


def asked_of_prepared(connection: sa.Connection, server: Server, asked: str) -> tuple[Any, ...]:
    """Ask for one row; raises Refused for a server that was not prepared for the question."""
    try:
        return tuple(connection.exec_driver_sql(asked).one())
    except sa.exc.ProgrammingError as error:
        if getattr(error.orig, "sqlstate", "") in ("42883", "42P01", "42501"):
            raise Refused(phrase(_NOT_PREPARED, path=server)) from None
        raise


def refuse_other_schema(server: Server, version: str) -> None:
    if version != SCHEMA:
        from haccp.record.migrate import refuse_newer

        refuse_newer(server, version)
        raise Refused(
            phrase(
                "{path} has an older schema ({version}): who runs the server types haccp server "
                "prepare with this version.",
                path=server,
                version=version,
            )
        )


@contextmanager
def in_sentences(server: Server) -> Iterator[None]:
    """Turn what a person can mend into a sentence; anything else is told with its cause."""
    try:
        yield
    except (sa.exc.DBAPIError, psycopg.Error, OverflowError) as error:
        cause = getattr(error, "orig", error)
        raise _told(cause, server) from error


def _told(error: Any, server: Server) -> Refused:
    state = getattr(error, "sqlstate", None) or ""
    told = getattr(getattr(error, "diag", None), "message_primary", None) or str(error)
    cause = _plain(told)
    if "entry_opening_a_batch" in told:
        return Refused(phrase(CODE_IS_USED, path=server))
    for beginning, sentence in _BY_STATE:
        if state.startswith(beginning):
            broke = LineBroke if sentence is BROKEN else Refused
            return broke(phrase(sentence, path=server))
    for sign, sentence in _BY_WORDS:
        if sign in cause.lower():
            broke = LineBroke if sentence is BROKEN else Refused
            return broke(phrase(sentence, path=server, cause=cause))
    if isinstance(error, psycopg.OperationalError) and not state:
        return LineBroke(phrase(_UNREACHED, path=server, cause=cause))
    return Refused(
        phrase(
            "{path} is not as haccp made it ({cause}): ask haccp record verify.",
            path=server,
            cause=cause,
        )
    )


def _plain(told: str) -> str:
    """Give the last line of what was said, without the address that the sentence has already."""
    lines = [line.strip() for line in told.splitlines() if line.strip()]
    fatal = [line for line in lines if "FATAL:" in line] or lines[:1] or [told]
    return fatal[-1].rpartition("FATAL:")[2].rpartition("failed:")[2].strip().rstrip(".?")
