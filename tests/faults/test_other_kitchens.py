"""What a kitchen's account can try on a server against another kitchen, and what it gets.

It has a name and a password of its own, and any program that speaks to a PostgreSQL server. What
whoever owns the server can do is at the end: it is not prevented, and it is found.
"""

import threading
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass

import psycopg
import pytest
from psycopg import errors

from haccp.errors import Refused
from haccp.record.chain import first_misfit
from haccp.record.entries import FIRST, as_row
from haccp.record.places import Server
from haccp.record.store import Record, open_record
from tests.record.making import NOON, measured
from tests.servers import Running

_COLUMNS = "seq, kind, entered_at, at, person, batch, unit, corrects, body, previous, digest"
_VALUES = ", ".join(f"%({name})s" for name in _COLUMNS.split(", "))
_INSERT = f"INSERT INTO entry ({_COLUMNS}) VALUES ({_VALUES})"
_INTO_ANOTHERS = f"INSERT INTO entry (kitchen, {_COLUMNS}) VALUES (%(kitchen)s, {_VALUES})"


@dataclass
class Two:
    """A kitchen, and a stranger to it with an account on the same server."""

    server: Running
    kitchen: Server
    stranger: Server
    record: Record
    number: int

    @contextmanager
    def as_stranger(self) -> Iterator[psycopg.Connection]:
        with closing(self.server.connect(self.stranger.url)) as connection:
            yield connection

    @contextmanager
    def as_superuser(self) -> Iterator[psycopg.Connection]:
        with closing(self.server.connect()) as connection:
            yield connection

    @property
    def role(self) -> str:
        return _role(self.kitchen)


def _role(account: Server) -> str:
    return str(account).partition("//")[2].partition("@")[0]


@pytest.fixture
def two(server: Running, request: pytest.FixtureRequest) -> Iterator[Two]:
    kitchen = server.kitchen(f"{request.node.name} North")
    stranger = server.kitchen(f"{request.node.name} South")
    with closing(open_record(kitchen, create=False)) as record:
        record.append([measured(130), measured(120)], lambda: NOON)
        with record.transaction() as connection:
            number = connection.exec_driver_sql("SELECT kitchen_of(current_user)").scalar_one()
        yield Two(server, kitchen, stranger, record, number)
        assert record.head()[0] == 2, "somebody wrote into the record"
        assert first_misfit(record.rows()) is None


_TABLES = (
    "entry", "pin", "derived_thread", "derived_link", "derived_batch", "derived_head", "derived_settled",
)  # fmt: skip


def test_it_reads_no_row_that_is_not_its_own(two: Two) -> None:
    with two.as_stranger() as stranger:
        for table in _TABLES:
            asked = f"SELECT count(*) FROM {table} WHERE kitchen = {two.number}".encode()
            assert stranger.execute(asked).fetchone() == (0,), table
            copied = b"".join(
                map(bytes, stranger.cursor().copy(f"COPY {table} TO STDOUT".encode()).__enter__())
            )
            assert str(two.number).encode() not in [
                line.split(b"\t")[-1] for line in copied.splitlines()
            ]
        with pytest.raises(errors.InsufficientPrivilege):
            stranger.execute("SELECT * FROM kitchen")


def test_it_cannot_ask_who_else_there_is(two: Two) -> None:
    with two.as_stranger() as stranger:
        row = stranger.execute(
            "SELECT query FROM pg_stat_activity WHERE usename = %s", (two.role,)
        ).fetchall()
        assert all(query == ("<insufficient privilege>",) for query in row)
        # a role's name says nothing of whose it is
        assert two.role.startswith("k_")
        assert "North" not in two.role
        assert stranger.execute(
            "SELECT count(*) FROM pg_stats WHERE schemaname = 'haccp'"
        ).fetchone() == (0,)


def test_it_writes_nothing_into_another_chain(two: Two) -> None:
    seq, previous = two.record.head()
    row = as_row(measured(110), seq=seq + 1, entered_at=NOON, previous=previous)
    first = as_row(measured(110), seq=1, entered_at=NOON, previous=FIRST)
    with two.as_stranger() as stranger:
        for one in (row, first):
            with pytest.raises(psycopg.Error) as refused:
                stranger.execute(_INTO_ANOTHERS.encode(), {**one, "kitchen": two.number})
            assert "append-only" in str(refused.value) or "row-level security" in str(refused.value)
        for table in _TABLES[1:]:
            with pytest.raises(errors.InsufficientPrivilege):
                stranger.execute(f"DELETE FROM {table}".encode())
        for words in (
            "UPDATE entry SET person = 'XX'", "DELETE FROM entry", "TRUNCATE entry", "TRUNCATE entry CASCADE",
            "UPDATE derived_thread SET kitchen = 1", "UPDATE derived_head SET kitchen = 1",
            "INSERT INTO kitchen (role, name) VALUES ('x', 'x')",
            "UPDATE alembic_version SET version_num = '9'", "MERGE INTO entry USING pin ON true WHEN MATCHED THEN DELETE",
        ):  # fmt: skip
            unknown = words.startswith("MERGE") and stranger.info.server_version < 150000
            with pytest.raises(errors.SyntaxError if unknown else errors.InsufficientPrivilege):
                stranger.execute(words.encode())
        for table, column in (
            ("derived_thread", "total"),
            ("derived_head", "seq"),
            ("pin", "failures"),
        ):
            changed = stranger.execute(
                f"UPDATE {table} SET {column} = 7 WHERE kitchen = {two.number}".encode()
            )
            assert changed.rowcount == 0


def test_a_guessed_head_is_answered_as_any_other(two: Two) -> None:
    """Right or wrong, a guess at another chain's head gets the same words."""
    seq, previous = two.record.head()
    answers = []
    with two.as_stranger() as stranger:
        for number, head in (
            (seq + 1, previous),
            (seq + 1, "ab" * 32),
            (seq + 5, previous),
            (seq, previous),
        ):
            row = as_row(measured(110), seq=number, entered_at=NOON, previous=head)
            with pytest.raises(psycopg.Error) as refused:
                stranger.execute(_INTO_ANOTHERS.encode(), {**row, "kitchen": two.number})
            answers.append(str(refused.value).replace(f"no. {number}", "no. N").splitlines()[0])
        # nor does a key that is there, or one that is not, say anything
        for corrects in (1, 99):
            row = as_row(measured(110), seq=1, entered_at=NOON, previous=FIRST)
            with pytest.raises(psycopg.Error) as refused:
                stranger.execute(
                    f"INSERT INTO derived_link (kitchen, thread, seq, place) VALUES ({two.number}, {corrects}, 1, 1)".encode()
                )
            assert "row-level security" in str(refused.value)
    assert len(set(answers)) == 1


def test_an_error_in_a_condition_tells_nothing_of_rows_unseen(two: Two) -> None:
    with two.as_stranger() as stranger:
        told: list[str] = []
        stranger.add_notice_handler(lambda notice: told.append(str(notice.message_primary)))
        stranger.execute("""
            CREATE FUNCTION pg_temp.leak(anything text) RETURNS boolean LANGUAGE plpgsql COST 0.0001 AS
            $$ BEGIN RAISE NOTICE 'seen %', anything; RETURN true; END $$
        """)
        assert stranger.execute(
            "SELECT count(*) FROM entry WHERE pg_temp.leak(body)"
        ).fetchone() == (0,)
        assert stranger.execute(
            "SELECT count(*) FROM entry WHERE 1 / (seq - seq) = 1"
        ).fetchone() == (0,)
        stranger.execute("SELECT count(*) FROM entry WHERE body::int = 1")
        assert told == []
        with pytest.raises(errors.InsufficientPrivilege):
            stranger.execute(
                "CREATE FUNCTION pg_temp.f(text) RETURNS boolean LANGUAGE sql LEAKPROOF AS 'SELECT true'"
            )


def test_it_becomes_nobody_else(two: Two) -> None:
    with two.as_stranger() as stranger:
        for words in (
            f'SET ROLE "{two.role}"', f'SET SESSION AUTHORIZATION "{two.role}"', "SET ROLE haccp_owner", "SET ROLE owner",
            f'GRANT "{two.role}" TO CURRENT_USER', f'ALTER ROLE "{two.role}" PASSWORD \'x\'', "CREATE ROLE another LOGIN",
            # a kitchen is the number in its account's name
            f'ALTER ROLE "{_role(two.stranger)}" RENAME TO "k_00000000000000ff"',
            "ALTER ROLE CURRENT_USER CONNECTION LIMIT -1",
            "ALTER ROLE CURRENT_USER BYPASSRLS", "ALTER ROLE CURRENT_USER SUPERUSER", f'DROP ROLE "{two.role}"',
            "SET ROLE pg_write_all_data", "SET ROLE pg_read_all_data", "GRANT pg_write_all_data TO CURRENT_USER",
            f'DROP OWNED BY "{two.role}"', "DROP OWNED BY haccp_owner", f'REASSIGN OWNED BY "{two.role}" TO CURRENT_USER',
        ):  # fmt: skip
            with pytest.raises(psycopg.Error) as refused:
                stranger.execute(words.encode())
            assert refused.value.sqlstate in ("42501", "0LP01", "0A000"), words


def test_what_it_drops_of_its_own_takes_nothing_from_others(two: Two) -> None:
    """A member of a role can take from it all that was granted to it: so there is no such role."""
    with two.as_stranger() as stranger:
        stranger.execute("DROP OWNED BY CURRENT_USER")
    assert two.record.head()[0] == 2
    with closing(open_record(two.stranger, create=False)) as stranger_record:
        assert stranger_record.head()[0] == 0


def test_it_turns_no_guard_off(two: Two) -> None:
    with two.as_stranger() as stranger:
        for words in (
            "SET session_replication_role = replica", "ALTER TABLE entry DISABLE TRIGGER ALL",
            "ALTER TABLE entry DISABLE ROW LEVEL SECURITY", "DROP POLICY own_kitchen ON entry",
            "CREATE POLICY mine ON entry USING (true)", "DROP TABLE entry CASCADE", "DROP FUNCTION entry_follows CASCADE",
            "CREATE TABLE haccp.mine (a int)", "CREATE TABLE public.mine (a int)", "CREATE SCHEMA mine",
            "ALTER FUNCTION kitchen_of(name) RENAME TO gone", "CREATE TRIGGER mine BEFORE INSERT ON entry EXECUTE FUNCTION entry_follows()",
            "CREATE RULE mine AS ON INSERT TO entry DO INSTEAD NOTHING", "CREATE INDEX mine ON entry (body)",
            "CREATE EXTENSION dblink", "CREATE OPERATOR haccp.= (LEFTARG = text, RIGHTARG = text, FUNCTION = texteq)",
            "SELECT pg_read_file('postgresql.conf')", "COPY entry TO PROGRAM 'cat'", "COPY entry TO '/tmp/entry'",
            "CREATE PUBLICATION mine FOR TABLE entry", "CREATE SUBSCRIPTION mine CONNECTION '' PUBLICATION mine",
            "CREATE STATISTICS mine ON kind, batch FROM entry", "ALTER SYSTEM SET jit = off",
            "CREATE EVENT TRIGGER mine ON ddl_command_start EXECUTE FUNCTION entry_follows()",
        ):  # fmt: skip
            with pytest.raises(psycopg.Error) as refused:
                stranger.execute(words.encode())
            assert refused.value.sqlstate in ("42501", "0A000", "42601", "42809", "42P17"), (
                words,
                refused.value,
            )
        stranger.execute("SET row_security = off")
        with pytest.raises(errors.InsufficientPrivilege, match="row-level security"):
            stranger.execute("SELECT * FROM entry")
        stranger.execute("SET row_security = on")
        with (
            pytest.raises(errors.FeatureNotSupported, match="row-level security"),
            stranger.cursor().copy(f"COPY entry ({_COLUMNS}) FROM STDIN".encode()) as copy,
        ):
            copy.write("1")


def test_a_search_path_of_its_own_changes_nothing(two: Two) -> None:
    row = as_row(measured(110), seq=1, entered_at=NOON, previous=FIRST)
    with two.as_stranger() as stranger:
        stranger.execute("CREATE TEMPORARY TABLE kitchen (id bigint, role name)")
        stranger.execute("INSERT INTO kitchen VALUES (%s, current_user)", (two.number,))
        stranger.execute("CREATE TEMPORARY TABLE entry (kitchen bigint, seq bigint, digest text)")
        stranger.execute("INSERT INTO pg_temp.entry VALUES (%s, 0, %s)", (two.number, FIRST))
        stranger.execute(
            "CREATE FUNCTION pg_temp.kitchen_of(name) RETURNS bigint LANGUAGE sql AS"
            f" 'SELECT {two.number}'".encode()
        )
        stranger.execute("SET search_path = pg_temp, haccp")
        (mine,) = stranger.execute("SELECT haccp.kitchen_of(current_user)").fetchone() or (None,)
        assert mine not in (None, two.number)
        assert stranger.execute("SELECT count(*) FROM haccp.entry").fetchone() == (0,)
        stranger.execute(_INSERT.replace("INTO entry", "INTO haccp.entry").encode(), row)
        with pytest.raises(psycopg.Error, match="append-only"):
            stranger.execute(_INSERT.replace("INTO entry", "INTO haccp.entry").encode(), row)


@pytest.mark.parametrize(
    "words",
    [
        "LOCK TABLE {table} IN ACCESS EXCLUSIVE MODE",
        "LOCK TABLE {table} IN EXCLUSIVE MODE",
        "LOCK TABLE {table} IN SHARE MODE",
        "LOCK TABLE {table} IN SHARE ROW EXCLUSIVE MODE",
        "LOCK TABLE {table} IN SHARE UPDATE EXCLUSIVE MODE",
        "REINDEX TABLE {table}",
        "CLUSTER {table}",
    ],
)
def test_it_locks_no_table(two: Two, words: str) -> None:
    """Whoever may delete from a table, or update all of it, may lock it: so nobody may."""
    with two.as_stranger() as stranger:
        for table in (*_TABLES, "kitchen", "alembic_version"):
            with (
                pytest.raises(errors.InsufficientPrivilege),
                stranger.transaction(force_rollback=True),
            ):
                stranger.execute(words.format(table=table).encode())


def test_nothing_that_it_holds_keeps_another_waiting(two: Two) -> None:
    seq, previous = two.record.head()
    with two.as_stranger() as stranger, stranger.transaction(force_rollback=True):
        stranger.execute("SELECT * FROM derived_head FOR UPDATE")
        stranger.execute("LOCK TABLE entry, derived_link IN ROW EXCLUSIVE MODE")
        for number in range(200):
            stranger.execute("SELECT pg_advisory_xact_lock(%s)", (number,))
        stranger.execute("SELECT pg_advisory_xact_lock(hashtext('haccp'))")
        stranger.execute(
            _INSERT.encode(), as_row(measured(1), seq=1, entered_at=NOON, previous=FIRST)
        )
        written: list[int] = []

        def write() -> None:
            with (
                closing(open_record(two.kitchen, create=False)) as record,
                record.transaction(writing=True) as c,
            ):
                written.append(c.exec_driver_sql("SELECT max(seq) FROM entry").scalar_one())

        thread = threading.Thread(target=write)
        thread.start()
        thread.join(10)
        assert written == [seq], "another kitchen's lock kept this one waiting"
    assert two.record.head() == (seq, previous)


def test_its_connections_have_an_end(two: Two) -> None:
    held = []
    try:
        for _ in range(20):
            held.append(two.server.connect(two.stranger.url))  # noqa: PERF401 - each is closed
        with pytest.raises(psycopg.OperationalError, match="too many connections"):
            two.server.connect(two.stranger.url)
        with closing(open_record(two.kitchen, create=False)) as record:
            assert record.head()[0] == 2
        with pytest.raises(Refused, match="has no connection left"):
            open_record(two.stranger, create=False)
    finally:
        for one in held:
            one.close()


def test_nothing_is_kept_outside_of_its_rows(two: Two) -> None:
    with two.as_stranger() as stranger:
        for words in ("SELECT lo_create(0)", "SELECT lo_creat(0)", "SELECT lo_from_bytea(0, 'x')"):
            with pytest.raises(errors.InsufficientPrivilege):
                stranger.execute(words.encode())
        stranger.execute("LISTEN haccp")
        # haccp tells nothing by NOTIFY and listens to nothing: there is nothing to overhear
        assert list(stranger.notifies(timeout=0.2)) == []


def test_a_digest_that_is_wrong_and_a_gap_are_refused_by_the_server_itself(two: Two) -> None:
    seq, previous = two.record.head()
    right = as_row(measured(110), seq=seq + 1, entered_at=NOON, previous=previous)
    wrong = (
        {**right, "person": "XX"},
        {**right, "seq": seq + 2},
        {**right, "previous": FIRST},
        {**right, "seq": seq, "previous": FIRST},
        {**right, "body": right["body"].replace("110", "111")},
        {**right, "digest": "0" * 64},
        {**right, "body": "no JSON"},
    )
    with closing(two.server.connect(two.kitchen.url)) as own:
        for row in wrong:
            with pytest.raises(psycopg.Error) as refused:
                own.execute(_INSERT.encode(), row)
            assert refused.value.sqlstate in ("23001", "23514", "22P02"), refused.value
        for words in (
            "UPDATE entry SET person = 'XX'",
            "DELETE FROM entry",
            "TRUNCATE entry CASCADE",
        ):
            with pytest.raises(errors.InsufficientPrivilege):
                own.execute(words.encode())


def test_a_superuser_who_plays_a_replica_is_refused_all_the_same(two: Two) -> None:
    with two.as_superuser() as superuser:
        superuser.execute("SET session_replication_role = replica")
        for words in (
            "UPDATE entry SET person = 'XX'",
            "DELETE FROM entry",
            "TRUNCATE entry CASCADE",
        ):
            with pytest.raises(psycopg.Error, match="append-only"):
                superuser.execute(words.encode())


def test_what_an_owner_rewrites_is_found_by_a_head_kept_elsewhere(
    two: Two, server: Running
) -> None:
    """Who owns the database can write a chain anew that holds by itself: no guard prevents it."""
    kept = two.record.head()
    rewritten = [
        as_row(measured(40), seq=1, entered_at=NOON, previous=FIRST),
    ]
    rewritten.append(as_row(measured(41), seq=2, entered_at=NOON, previous=rewritten[0]["digest"]))
    with two.as_superuser() as superuser, superuser.transaction():
        superuser.execute("ALTER TABLE entry DISABLE TRIGGER USER")
        superuser.execute("DELETE FROM entry WHERE kitchen = %s", (two.number,))
        for row in rewritten:
            superuser.execute(_INTO_ANOTHERS.encode(), {**row, "kitchen": two.number})
        for name in ("is_never_updated", "is_never_deleted", "is_never_emptied", "follows"):
            superuser.execute(f"ALTER TABLE entry ENABLE ALWAYS TRIGGER entry_{name}".encode())
    with closing(open_record(two.kitchen, create=False)) as record:
        assert record.problems() == []
        assert first_misfit(record.rows()) is None
        assert record.head() != kept
        assert record.head()[0] == kept[0]
