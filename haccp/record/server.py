"""What whoever runs a server does there: prepares its database, and gives kitchens accounts."""

import secrets
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any, NamedTuple

import psycopg
import sqlalchemy as sa
from psycopg import sql

from haccp.errors import Refused
from haccp.language import message, phrase
from haccp.record import derived
from haccp.record.guards import problems_of
from haccp.record.lookup import EMPTY
from haccp.record.migrate import refuse_newer, upgrade, version_of
from haccp.record.places import Server
from haccp.record.postgres import ServerStore, engine_of, in_sentences, refuse_pooled
from haccp.record.schema import SCHEMA

# More at once than any kitchen has terminals; it keeps one from taking all that a server has.
_CONNECTIONS = 20

# The oldest PostgreSQL that has all that is used here.
_OLDEST = 14

# What is made once in a database, as its superuser, before any table. Large objects belong to no
# kitchen's rows: nobody makes any here.
_OWNER = """
DO $$ BEGIN
    IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = 'haccp_owner') THEN
        CREATE ROLE haccp_owner NOLOGIN;
    END IF;
END $$
"""
_SCHEMA = (
    _OWNER,
    "CREATE SCHEMA haccp AUTHORIZATION haccp_owner",
    "GRANT USAGE ON SCHEMA haccp TO PUBLIC",
    "REVOKE ALL ON SCHEMA public FROM PUBLIC",
    """
    REVOKE EXECUTE ON FUNCTION lo_create(oid), lo_creat(integer), lo_from_bytea(oid, bytea)
    FROM PUBLIC
    """,
)
_NOT_ITS_SUPERUSER = message(
    "Who logs in to {path} so may not do that: use the account of the server's superuser."
)


# How an officer's role begins; what follows is no name.
_OFFICER = "d_"
_NO_KITCHEN = message("{path} has no kitchen {name}: haccp server kitchens lists them.")

# An account's own name, whoever it is of: a kitchen, or a district's officer.
_NAMED = """
    FROM (SELECT role, name FROM kitchen UNION ALL SELECT role, name FROM officer) known
    WHERE name = %(name)s
"""


class Account(NamedTuple):
    """What a kitchen, or an officer, logs in with."""

    role: str
    password: str

    @property
    def is_officer(self) -> bool:
        return self.role.startswith(_OFFICER)


def prepare(server: Server) -> bool:
    """Make all that kitchens need in a database, or upgrade it; say whether there was anything.

    All or nothing. Raises Refused where the account may not, a newer haccp was there, or the
    server's guards would not be told as haccp knows them.
    """
    with as_superuser(server) as connection:
        _refuse_old(connection, server)
        encoding = connection.exec_driver_sql("SHOW server_encoding").scalar()
        if encoding != "UTF8":
            words = message("{path} holds texts as {encoding}: make a database in UTF8.")
            raise Refused(phrase(words, path=server, encoding=encoding))
        made = connection.exec_driver_sql("SELECT to_regnamespace('haccp')").scalar()
        if made is None:
            for statement in _SCHEMA:
                connection.exec_driver_sql(statement)
        version = version_of(connection)
        refuse_newer(server, version)
        connection.exec_driver_sql("SET LOCAL ROLE haccp_owner")
        if not upgrade(connection):
            return False
        connection.exec_driver_sql("RESET ROLE")
        if version is not None:
            _derive_anew(connection, server)
        elif problems_of(connection):
            # a later one that words them otherwise: verify would cry of what nobody opened
            words = message(
                "{path} runs PostgreSQL {version}, which words haccp's guards otherwise: take 14 "
                "to 18."
            )
            raise Refused(phrase(words, path=server, version=version_of_server(connection)))
        return True


def add_kitchen(server: Server, name: str) -> Account:
    """Give a kitchen an account; the password is nowhere kept. Raises Refused for a name in use."""
    with as_superuser(server) as connection:
        refuse_unprepared(connection, server)
        _refuse_known(connection, server, name)
        # what is no name cannot be guessed, nor who is behind it
        account = Account(f"k_{secrets.token_hex(8)}", secrets.token_urlsafe(24))
        _make_role(connection.connection.driver_connection, account)
        made = "INSERT INTO kitchen (id, role, name) VALUES (kitchen_of(%s), %s, %s) RETURNING id"
        row = connection.exec_driver_sql(made, (account.role, account.role, name))
        connection.exec_driver_sql(
            "INSERT INTO derived_head (kitchen, id, seq, digest, threads, open_batches,"
            " open_numbers, reaches_back, standing) VALUES (%s, 1, %s, %s, %s, %s, %s, %s, %s)",
            (row.scalar_one(), *EMPTY),
        )
        return account


def add_officer(server: Server, name: str, district: str) -> Account:
    """Give a district's officer an account, which reads what was judged there and writes nothing.

    Raises Refused for a name in use, and for a district without a kitchen.
    """
    with as_superuser(server) as connection:
        refuse_unprepared(connection, server)
        _refuse_known(connection, server, name)
        asked = "SELECT 1 FROM kitchen WHERE district = %s"
        if not connection.exec_driver_sql(asked, (district,)).first():
            words = message(
                "{path} has no kitchen in {district}: type haccp server district URL {district} "
                "KITCHEN first."
            )
            raise Refused(phrase(words, path=server, district=repr(district)))
        account = Account(f"{_OFFICER}{secrets.token_hex(8)}", secrets.token_urlsafe(24))
        _make_role(connection.connection.driver_connection, account)
        made = "INSERT INTO officer (role, name, district) VALUES (%s, %s, %s)"
        connection.exec_driver_sql(made, (account.role, name, district))
        return account


def put_into_district(server: Server, district: str, names: Sequence[str]) -> None:
    """Say which district kitchens are in, all or none; each is in one at most."""
    with as_superuser(server) as connection:
        refuse_unprepared(connection, server)
        for name in names:
            put = "UPDATE kitchen SET district = %s WHERE name = %s"
            if not connection.exec_driver_sql(put, (district, name)).rowcount:
                raise Refused(phrase(_NO_KITCHEN, path=server, name=repr(name)))


def new_password(server: Server, name: str) -> Account:
    """Give an account another password; a kitchen that was retired may log in again.

    Raises Refused for a name that is none's.
    """
    with as_superuser(server) as connection:
        account = Account(_role_of(connection, server, name), secrets.token_urlsafe(24))
        driver = connection.connection.driver_connection
        _set_password(driver, account)
        _let_in(driver, account.role, is_let_in=True)
        connection.exec_driver_sql(
            "UPDATE kitchen SET retired_at = NULL WHERE role = %s", (account.role,)
        )
        return account


def remove_officer(server: Server, name: str) -> str:
    """Take an officer's account away, and end what it has open; gives the officer's district.

    Raises Refused for a name that is no officer's.
    """
    with as_superuser(server) as connection:
        refuse_unprepared(connection, server)
        gone = "DELETE FROM officer WHERE name = %s RETURNING role, district"
        found = connection.exec_driver_sql(gone, (name,)).first()
        if found is None:
            words = message("{path} has no officer {name}: haccp server officers lists them.")
            raise Refused(phrase(words, path=server, name=repr(name)))
        _let_in(connection.connection.driver_connection, found.role, is_let_in=False)
    with as_superuser(server) as connection:
        _end_sessions(connection, found.role)
        connection.exec_driver_sql(f'DROP ROLE "{found.role}"')
    return str(found.district)


def retire_kitchen(server: Server, name: str) -> int:
    """Let a kitchen's account log in no more, and end what it has open; its chain stays.

    Gives how many entries it has. Raises Refused for a name that is no kitchen's, and for one that
    is retired already.
    """
    with as_superuser(server) as connection:
        refuse_unprepared(connection, server)
        asked = "SELECT id, role, retired_at FROM kitchen WHERE name = %s"
        found = connection.exec_driver_sql(asked, (name,)).first()
        if found is None:
            raise Refused(phrase(_NO_KITCHEN, path=server, name=repr(name)))
        if found.retired_at:
            raise Refused(phrase("{name} is retired already.", name=name))
        _let_in(connection.connection.driver_connection, found.role, is_let_in=False)
        put = "UPDATE kitchen SET retired_at = now() WHERE id = %s"
        connection.exec_driver_sql(put, (found.id,))
    with as_superuser(server) as connection:
        _end_sessions(connection, found.role)
        counted = "SELECT count(*) FROM entry WHERE kitchen = %s"
        return int(connection.exec_driver_sql(counted, (found.id,)).scalar_one())


class Officer(NamedTuple):
    """A district's officer as whoever runs the server sees it."""

    name: str
    role: str
    district: str


def officers(server: Server) -> list[Officer]:
    """List the officers of a server, by district and name."""
    with as_superuser(server) as connection:
        refuse_unprepared(connection, server)
        asked = "SELECT name, role, district FROM officer ORDER BY district, name"
        return [Officer(*row) for row in connection.exec_driver_sql(asked)]


class OnServer(NamedTuple):
    """A kitchen as whoever runs the server sees it: no entry of its record, but where it ends."""

    name: str
    role: str
    district: str | None
    entries: int
    last_entered_at: str | None
    retired_at: str | None
    undecided_forks: int


def kitchens(server: Server) -> list[OnServer]:
    """List the kitchens of a server, by name."""
    with as_superuser(server) as connection:
        refuse_unprepared(connection, server)
        rows = connection.exec_driver_sql("""
            SELECT k.name, k.role, k.district, coalesce(e.seq, 0), e.entered_at,
                to_char(k.retired_at AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS"Z"'),
                (SELECT count(*) FROM fork f WHERE f.kitchen = k.id AND NOT EXISTS (
                    SELECT 1 FROM entry d WHERE d.kitchen = k.id AND d.kind = 'fork decided'
                        AND d.body::json ->> 'head' = f.head)
                    -- one that went on is kept once more, as a longer one
                    AND NOT EXISTS (SELECT 1 FROM fork_entry e WHERE e.kitchen = k.id
                        AND e.head <> f.head AND e.seq = f.after + f.entries
                        AND e.digest = f.head))
            FROM kitchen k LEFT JOIN LATERAL (
                SELECT seq, entered_at FROM entry WHERE kitchen = k.id ORDER BY seq DESC LIMIT 1
            ) e ON true
            ORDER BY k.name
        """)
        return [OnServer(*row) for row in rows]


class Misfit(NamedTuple):
    """Where what a server holds of a kitchen does not hold together."""

    name: str
    seq: int
    is_receipt: bool


def check(server: Server) -> list[Misfit]:
    """Walk every chain where it lies, and compare it with each receipt that was signed for it."""
    with as_superuser(server) as connection:
        refuse_unprepared(connection, server)
        chains = connection.exec_driver_sql("""
            SELECT k.name, min(e.seq) FROM (
                SELECT *, lag(digest, 1, repeat('0', 64)) OVER chain AS before,
                    row_number() OVER chain AS number
                FROM entry WINDOW chain AS (PARTITION BY kitchen ORDER BY seq)
            ) e LEFT JOIN kitchen k ON k.id = e.kitchen
            WHERE e.previous <> before OR e.seq <> number OR e.digest <> digest_of(
                e.previous, e.seq, e.kind, e.entered_at, e.at, e.person, e.batch, e.unit,
                e.corrects, e.body)
            GROUP BY k.name ORDER BY k.name
        """)
        found = [Misfit(name, seq, is_receipt=False) for name, seq in chains]
        signed = connection.exec_driver_sql("""
            SELECT k.name, min(r.seq) FROM receipt r LEFT JOIN kitchen k ON k.id = r.kitchen
            LEFT JOIN entry e ON e.kitchen = r.kitchen AND e.seq = r.seq
            LEFT JOIN entry f ON f.kitchen = r.kitchen AND f.seq = 1
            WHERE e.digest IS DISTINCT FROM r.digest
                OR is_signed(f.digest, r.seq, r.digest, r.received_at, r.signature) IS NOT TRUE
            GROUP BY k.name ORDER BY k.name
        """)
        return found + [Misfit(name, seq, is_receipt=True) for name, seq in signed]


def opened_guards(server: Server) -> list[str]:
    """Say which guards of the entries are not as they were made."""
    with as_superuser(server) as connection:
        refuse_unprepared(connection, server)
        return problems_of(connection)


def held_twice(server: Server) -> list[tuple[str, ...]]:
    """Name the kitchens that hold the same record: it, or a copy, was handed over to each of them.

    No account can be told of another's; who runs the server can see that one of them is none.
    """
    with as_superuser(server) as connection:
        refuse_unprepared(connection, server)
        found = connection.exec_driver_sql("""
            SELECT array_agg(k.name ORDER BY k.name) FROM entry e JOIN kitchen k ON k.id = e.kitchen
            WHERE e.seq = 1 GROUP BY e.digest HAVING count(*) > 1 ORDER BY 1
        """)
        return [tuple(names) for (names,) in found]


@contextmanager
def as_superuser(server: Server) -> Iterator[sa.Connection]:
    engine = engine_of(server)
    try:
        with in_sentences(server), engine.begin() as connection:
            is_superuser = connection.exec_driver_sql(
                "SELECT rolsuper FROM pg_roles WHERE rolname = current_user"
            ).scalar()
            if not is_superuser:
                raise Refused(phrase(_NOT_ITS_SUPERUSER, path=server))
            refuse_pooled(connection, server)
            yield connection
    finally:
        engine.dispose()


def _refuse_old(connection: sa.Connection, server: Server) -> None:
    version = version_of_server(connection)
    if int(version.partition(".")[0]) < _OLDEST:
        words = message("{path} runs PostgreSQL {version}: haccp needs {oldest} or a later one.")
        raise Refused(phrase(words, path=server, version=version, oldest=_OLDEST))


def version_of_server(connection: sa.Connection) -> str:
    """Give what a server runs, without what its packager adds: 15.18."""
    return str(connection.exec_driver_sql("SHOW server_version").scalar()).split()[0]


def _refuse_known(connection: sa.Connection, server: Server, name: str) -> None:
    if connection.exec_driver_sql(f"SELECT 1 {_NAMED}", {"name": name}).first():
        words = message("{path} has a kitchen {name} already: type another name.")
        raise Refused(phrase(words, path=server, name=repr(name)))


def refuse_unprepared(connection: sa.Connection, server: Server) -> None:
    made = connection.exec_driver_sql("SELECT to_regclass('haccp.alembic_version')").scalar()
    version = version_of(connection) if made else None
    refuse_newer(server, version)
    if version != SCHEMA:
        words = message("{path} is not prepared: type haccp server prepare first.")
        raise Refused(phrase(words, path=server))


def _role_of(connection: sa.Connection, server: Server, name: str) -> str:
    refuse_unprepared(connection, server)
    role = connection.exec_driver_sql(f"SELECT role {_NAMED}", {"name": name}).scalar()
    if role is None:
        raise Refused(phrase(_NO_KITCHEN, path=server, name=repr(name)))
    return str(role)


def _let_in(driver: Any, role: str, *, is_let_in: bool) -> None:
    assert isinstance(driver, psycopg.Connection)
    whether = sql.SQL("LOGIN" if is_let_in else "NOLOGIN")
    driver.execute(sql.SQL("ALTER ROLE {} {}").format(sql.Identifier(role), whether))


def _end_sessions(connection: sa.Connection, role: str) -> None:
    """End what an account has open, and wait for it; by now nobody logs in with it any more."""
    asked = "SELECT pg_terminate_backend(pid, 5000) FROM pg_stat_activity WHERE usename = %s"
    connection.exec_driver_sql(asked, (role,)).all()


def _make_role(driver: Any, account: Account) -> None:
    assert isinstance(driver, psycopg.Connection)
    driver.execute(
        sql.SQL("CREATE ROLE {} LOGIN CONNECTION LIMIT {}").format(
            sql.Identifier(account.role), _CONNECTIONS
        )
    )
    _set_password(driver, account)


def _set_password(driver: Any, account: Account) -> None:
    """Set a password by what it is checked against: the password itself is never in a log."""
    assert isinstance(driver, psycopg.Connection)
    checked = driver.pgconn.encrypt_password(
        account.password.encode(), account.role.encode(), b"scram-sha-256"
    )
    driver.execute(
        sql.SQL("ALTER ROLE {} PASSWORD {}").format(sql.Identifier(account.role), checked.decode())
    )


def _derive_anew(connection: sa.Connection, server: Server) -> None:
    """Derive again what an upgrade may derive otherwise, kitchen by kitchen, as each of them."""
    store = ServerStore(connection.engine, server)
    tables = "derived_thread, derived_link, derived_batch, derived_head, derived_settled"
    connection.exec_driver_sql(f"GRANT DELETE ON {tables} TO PUBLIC")
    roles = list(connection.exec_driver_sql("SELECT role FROM kitchen").scalars())
    for role in roles:
        connection.exec_driver_sql(f'SET LOCAL ROLE "{role}"')
        derived.rebuild(store.driver(connection))
        connection.exec_driver_sql("RESET ROLE")
    connection.exec_driver_sql(f"REVOKE DELETE ON {tables} FROM PUBLIC")
