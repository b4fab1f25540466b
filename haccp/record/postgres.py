"""A kitchen's record among others in a PostgreSQL database: what that has differently.

Whose rows a connection sees and writes is decided by the role that logged in (row security), so
that no statement names a kitchen. A kitchen's writers queue on its head, which nobody else
can lock; readers see the record as it was at one moment, and wait for nobody.
"""

import logging
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from functools import cache, lru_cache
from ipaddress import ip_address
from typing import Any

import sqlalchemy as sa

from haccp.errors import Refused
from haccp.language import message, phrase
from haccp.record.driver import Driver, InDoubt, LineBroke, Rows, Written
from haccp.record.guards import problems_of
from haccp.record.lookup import derived_is_damaged
from haccp.record.places import TO_CONNECT, Server, without_client
from haccp.record.schema import SCHEMA
from haccp.record.sentences import BROKEN, CHANGED, CODE_IS_USED, SWALLOWED

try:
    import psycopg
    from psycopg import pq
except ImportError:
    raise without_client() from None

# How long a lock is waited for.
_PATIENCE = "30s"
# A program that hangs in the middle of an entry must not keep its kitchen's others waiting.
_IDLE = "60s"

# Temporary tables last: nothing that somebody makes there takes the place of a record's own.
_SEARCH_PATH = "haccp,pg_temp"
_SETTINGS = (
    f"-c search_path={_SEARCH_PATH} -c lock_timeout={_PATIENCE}"
    f" -c idle_in_transaction_session_timeout={_IDLE}"
)

_IN_DOUBT = message(
    "The line to {path} broke while it was recorded: haccp list entries says whether it was; look "
    "before you type it again."
)
_NOT_PREPARED = message(
    "{path} is not prepared for haccp: who runs the server types haccp server prepare."
)
_POOLED = message(
    "{path} is answered by a pooler of connections, which drops the settings that haccp makes: "
    "name the PostgreSQL server itself."
)
_OVERHEARD = message(
    "CAUTION: the line to {path} is not encrypted, and others on its network may read along: add "
    "sslmode=verify-full to its URL (sslmode=disable says that it is meant so)."
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
    # as PgBouncer says
    ("unsupported startup parameter", _POOLED),
    ("closed the connection", BROKEN),
    ("connection is lost", BROKEN),
    ("connection is closed", BROKEN),
    ("was swallowed", SWALLOWED),
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
        self._line: Any = None
        self._lost: int | None = None
        self.place = place

    @contextmanager
    def transaction(self, *, writing: bool) -> Iterator[sa.Connection]:
        options = _WRITING if writing else _READING
        with in_sentences(self.place), self._engine.connect() as plain:
            connection = plain.execution_options(**options)
            transaction = connection.begin()
            try:
                if writing:
                    self._wait_for_others(self.driver(connection))
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

    def _wait_for_others(self, driver: Driver) -> None:
        if self._lost:
            # what was sent on a line that broke must not be done after it was looked for
            if (False,) in driver.execute(_END, (self._lost,)).fetchall():
                raise LineBroke(phrase(BROKEN, path=self.place))
            self._lost = None
        driver.execute(_WAIT)

    @contextmanager
    def entering(self) -> Iterator[Driver]:
        with self.transaction(writing=True) as connection:
            yield self.driver(connection)

    def enter(self, driver: Driver, written: Written) -> None:
        assert isinstance(driver, _Driver)
        line = driver.connection.pgconn
        if not _enter(written, lambda values: line.exec_params(_ENTER, values)):
            raise derived_is_damaged()  # its head is not what it was a moment ago

    def enter_at_once(self, written: Written) -> bool:
        with in_sentences(self.place):
            connection = self._line_there_is()
            if connection is None:
                return False
            line = connection.pgconn
            process = line.backend_pid
            try:
                return _enter(written, lambda values: _prepared(line, values))
            except psycopg.Error as error:
                if not connection.closed:
                    raise
                self._lost = process
                self._engine.dispose()
                raise InDoubt(phrase(_IN_DOUBT, path=self.place)) from error

    def _line_there_is(self) -> Any:
        """Give the connection, unless it is known before anything is sent that it broke."""
        if self._line is None or self._line.closed:
            with self._engine.connect() as connection:
                self._line = connection.connection.driver_connection
        try:
            for _ in range(2):  # what the server said at last, and then its end
                self._line.pgconn.consume_input()
        except psycopg.OperationalError:
            self._engine.dispose()
            return None
        is_idle = self._line.pgconn.transaction_status == pq.TransactionStatus.IDLE
        return self._line if is_idle else None

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


_END = (
    "SELECT pg_terminate_backend(pid, 10000) FROM pg_stat_activity"
    " WHERE pid = ? AND usename = current_user"
)
_WAIT = "SELECT seq FROM derived_head FOR NO KEY UPDATE"
_WRITING = {"isolation_level": "READ COMMITTED"}
_READING = {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}


class _Driver:
    """The driver's own connection, which takes statements as SQLite does."""

    def __init__(self, connection: Any) -> None:
        assert isinstance(connection, psycopg.Connection)  # the URL's scheme names no other
        self.connection = connection

    def execute(self, statement: str, values: Sequence[Any] = (), /) -> Rows:
        return self.connection.execute(self._told(statement), values or None)

    def executemany(self, statement: str, rows: Sequence[Sequence[Any]], /) -> None:
        if rows:
            with self.connection.cursor() as cursor:
                cursor.executemany(self._told(statement), rows)

    def _told(self, statement: str) -> bytes:
        return _in_postgres(statement)


def _enter(written: Written, execute: Callable[[list[bytes]], Any]) -> bool:
    """Enter in one statement, past what psycopg does about each; say whether nobody was faster."""
    seq, digest = written.after
    tables = (
        [[row[column] for column in _ENTRY] for row in written.rows],
        written.threads_begun,
        written.threads_gone_on,
        written.links,
        written.batches_opened,
        written.batches_changed,
    )
    values = [str(seq), digest, *(_as_array(one) for one in tables), _as_row((1, *written.head))]
    if any("\0" in value for value in values):
        raise psycopg.DataError("a text holds NUL (0x00)")  # it would end there
    result = execute([value.encode() for value in values])
    if result.status != pq.ExecStatus.TUPLES_OK:
        raise psycopg.errors.error_from_result(result)
    return bool(result.get_value(0, 0) == b"t")


def _prepared(line: Any, values: list[bytes]) -> Any:
    result = line.exec_prepared(b"enter", values)
    if result.error_field(pq.DiagnosticField.SQLSTATE) == _UNPREPARED:
        # as at first, or since psycopg dropped all that was prepared, as it does after a rollback
        line.prepare(b"enter", _ENTER)
        result = line.exec_prepared(b"enter", values)
    return result


_UNPREPARED = b"26000"
_ENTER = b"SELECT haccp.enter($1, $2, $3, $4, $5, $6, $7, $8, $9)"
# An entry's columns, in the order of its table.
_ENTRY = (
    "seq", "kind", "entered_at", "at", "person", "batch", "unit", "corrects", "body", "previous",
    "digest",
)  # fmt: skip


def _as_array(rows: Iterable[Sequence[Any]]) -> str:
    return "{" + ",".join(_quoted(_as_row(row)) for row in rows) + "}"


def _as_row(values: Sequence[Any]) -> str:
    """Write a row as PostgreSQL reads one; its last column, the kitchen, is left empty."""
    columns = (
        "" if value is None else _quoted(value) if isinstance(value, str) else str(value)
        for value in values
    )
    return "(" + ",".join(columns) + ",)"


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", r"\\").replace('"', r"\"") + '"'


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
        engine = sa.create_engine(
            server.url,
            poolclass=sa.pool.StaticPool,
            connect_args={"options": settings, "connect_timeout": TO_CONNECT},
            use_native_hstore=False,
        )
    except (sa.exc.ArgumentError, ValueError):
        raise no_url(server) from None

    @sa.event.listens_for(engine, "connect")
    def _(connection: psycopg.Connection, _record: object) -> None:
        if _is_overheard(connection):
            _caution(server)

    return engine


def no_url(server: Server) -> Refused:
    return Refused(
        phrase(
            "{path} is no URL of a server: type postgresql+psycopg://NAME@HOST/DATABASE",
            path=server,
        )
    )


def not_prepared(server: Server) -> Refused:
    return Refused(phrase(_NOT_PREPARED, path=server))


@cache
def _caution(server: Server) -> None:
    """Say once that others may read along; of several processes the first one does."""
    from multiprocessing import parent_process

    if parent_process() is None:
        logging.getLogger(__name__).warning(phrase(_OVERHEARD, path=server))


def _is_overheard(connection: psycopg.Connection) -> bool:
    """Whether others on a network could read along, and nobody said that it is meant so."""
    address = connection.info.hostaddr  # none of a socket
    meant = any(
        one.keyword == b"sslmode" and one.val == b"disable" for one in connection.pgconn.info
    )
    return not (
        connection.pgconn.ssl_in_use or meant or not address or ip_address(address).is_loopback
    )


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
        if getattr(error.orig, "sqlstate", "") not in ("42883", "42P01", "42501"):
            raise
    connection.rollback()
    refuse_pooled(connection, server)
    raise not_prepared(server)


def refuse_pooled(connection: sa.Connection, server: Server) -> None:
    """Raises Refused where somebody between dropped the settings that were sent."""
    if connection.exec_driver_sql("SHOW search_path").scalar() != _SEARCH_PATH:
        raise Refused(phrase(_POOLED, path=server))


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
        raise sentence_of(cause, server) from error


def sentence_of(error: Any, server: Server) -> Refused:
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
