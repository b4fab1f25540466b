"""Whatever opens a server's guards is told by name, and nothing that an honest one does, by any version."""

from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from uuid import uuid4

import pytest
import sqlalchemy as sa
from click.testing import CliRunner

from haccp.cli.boundary import BROKEN
from haccp.cli.main import cli
from haccp.errors import Refused
from haccp.record import guards
from haccp.record import server as administration
from haccp.record.store import open_record
from tests.servers import Running

_KITCHEN, _STRANGER, _OFFICER = "k_00000000000000f1", "k_00000000000000f2", "d_00000000000000f3"


@pytest.fixture(scope="module")
def prepared(server: Running) -> Running:
    """A database of its own: the guards of others stay."""
    own = server.new_database(f"guards_{uuid4().hex}")
    administration.prepare(own.as_superuser)
    return own


@pytest.fixture
def superuser(prepared: Running) -> Iterator[sa.Connection]:
    """Who may open every guard, in a transaction that is taken back."""
    with administration.as_superuser(prepared.as_superuser) as connection:
        for role in (_KITCHEN, _STRANGER, _OFFICER, "somebody"):
            connection.exec_driver_sql(f"CREATE ROLE {role}")
        yield connection
        connection.rollback()


# What is done, which guard it opens, and since which version it can be done.
_OPENED = [
    ("ALTER TABLE entry DISABLE TRIGGER entry_is_never_updated", "trigger entry_is_never_updated", 14),
    ("ALTER TABLE entry ENABLE REPLICA TRIGGER entry_follows", "trigger entry_follows", 14),
    ("DROP TRIGGER receipt_is_never_changed ON receipt", "trigger receipt_is_never_changed", 14),
    (
        """
        CREATE OR REPLACE TRIGGER entry_is_never_updated BEFORE UPDATE OF person ON entry
        FOR EACH ROW EXECUTE FUNCTION entry_is_never_changed();
        ALTER TABLE entry ENABLE ALWAYS TRIGGER entry_is_never_updated
        """,
        "trigger entry_is_never_updated",
        14,
    ),
    (
        """
        CREATE OR REPLACE TRIGGER entry_is_never_deleted BEFORE DELETE ON entry
        FOR EACH ROW WHEN (OLD.seq > 9) EXECUTE FUNCTION entry_is_never_changed();
        ALTER TABLE entry ENABLE ALWAYS TRIGGER entry_is_never_deleted
        """,
        "trigger entry_is_never_deleted",
        14,
    ),
    (
        """
        CREATE FUNCTION public.entry_follows() RETURNS trigger LANGUAGE plpgsql AS
        'BEGIN RETURN NEW; END';
        CREATE OR REPLACE TRIGGER entry_follows BEFORE INSERT ON entry
        FOR EACH ROW EXECUTE FUNCTION public.entry_follows();
        ALTER TABLE entry ENABLE ALWAYS TRIGGER entry_follows
        """,
        "trigger entry_follows",
        14,
    ),
    (
        """
        CREATE TRIGGER entry_follows BEFORE INSERT ON receipt
        FOR EACH ROW EXECUTE FUNCTION entry_is_never_changed()
        """,
        "trigger entry_follows",
        14,
    ),
    ("ALTER TABLE entry DISABLE TRIGGER ALL", "trigger entry_follows", 14),
    ("ALTER TABLE judged DISABLE TRIGGER ALL", "table judged", 14),
    (
        """
        CREATE OR REPLACE FUNCTION kitchen_of(who name) RETURNS bigint LANGUAGE sql IMMUTABLE
        PARALLEL SAFE AS 'SELECT 1::bigint'
        """,
        "function kitchen_of",
        14,
    ),
    (
        "CREATE FUNCTION kitchen_of(who text) RETURNS bigint LANGUAGE sql AS 'SELECT 1::bigint'",
        "function kitchen_of",
        14,
    ),
    ("ALTER FUNCTION kitchen_of(name) LEAKPROOF", "function kitchen_of", 14),
    ("ALTER FUNCTION entry_follows() RESET search_path", "function entry_follows", 14),
    ("ALTER FUNCTION sign_for_head() OWNER TO somebody", "function sign_for_head", 14),
    ("GRANT EXECUTE ON FUNCTION signature_of TO PUBLIC", "function signature_of", 14),
    ("REVOKE EXECUTE ON FUNCTION is_signed FROM PUBLIC", "function is_signed", 14),
    (
        "CREATE FUNCTION haccp.eq(text, text) RETURNS boolean LANGUAGE sql AS 'SELECT true'",
        "function eq",
        14,
    ),
    (
        "CREATE OPERATOR haccp.= (LEFTARG = name, RIGHTARG = text, FUNCTION = pg_catalog.nameeqtext)",
        "operator =",
        14,
    ),
    ("ALTER TABLE entry DISABLE ROW LEVEL SECURITY", "table entry", 14),
    ("ALTER TABLE entry OWNER TO somebody", "table entry", 14),
    ("ALTER TABLE signing_key SET UNLOGGED", "table signing_key", 14),
    ("ALTER TABLE entry ALTER person DROP NOT NULL", "table entry", 14),
    ("ALTER TABLE entry ALTER kitchen SET DEFAULT 1", "table entry", 14),
    ('ALTER TABLE fork_entry ALTER person TYPE text COLLATE "POSIX"', "table fork_entry", 14),
    ("ALTER TABLE judged DROP CONSTRAINT judged_kitchen_fkey", "table judged", 14),
    (
        """
        ALTER TABLE fork DROP CONSTRAINT fork_entries_check;
        ALTER TABLE fork ADD CONSTRAINT fork_entries_check CHECK (entries > -1)
        """,
        "table fork",
        14,
    ),
    ("ALTER TABLE entry ADD another text", "table entry", 14),
    ("CREATE TABLE public.more () INHERITS (entry)", "table entry", 14),
    ("CREATE TABLE haccp.another (a int)", "table another", 14),
    ("DROP TABLE judged_undecided CASCADE", "table judged_undecided", 14),
    ("GRANT DELETE ON entry TO PUBLIC", "table entry", 14),
    (f"GRANT SELECT ON signing_key TO {_KITCHEN}", "table signing_key", 14),
    ("GRANT UPDATE (person) ON entry TO PUBLIC", "table entry", 14),
    ("REVOKE INSERT ON entry FROM PUBLIC", "table entry", 14),
    ("GRANT ALL ON pin TO PUBLIC", "table pin", 14),
    ("GRANT SELECT ON pin TO somebody WITH GRANT OPTION", "table pin", 14),
    ("CREATE POLICY all_see ON pin USING (true)", "policy of pin all_see", 14),
    ("ALTER POLICY own_kitchen ON entry USING (true)", "policy of entry own_kitchen", 14),
    ("ALTER POLICY own_kitchen ON entry TO somebody", "policy of entry own_kitchen", 14),
    ("DROP POLICY own_kitchen ON entry", "policy of entry own_kitchen", 14),
    (
        "CREATE RULE nothing AS ON INSERT TO entry DO INSTEAD NOTHING",
        "rule nothing",
        14,
    ),
    (
        """
        DROP INDEX entry_opening_a_batch;
        CREATE UNIQUE INDEX entry_opening_a_batch ON entry (kitchen, batch) WHERE kind = 'none'
        """,
        "index entry_opening_a_batch",
        14,
    ),
    (
        """
        CREATE OR REPLACE VIEW district WITH (security_barrier) AS
        SELECT name AS officer, district FROM officer
        """,
        "view district",
        14,
    ),
    (
        """
        CREATE OR REPLACE VIEW district WITH (security_barrier) AS
        SELECT o.name AS officer, o.district FROM officer o JOIN officer p ON o.role = p.role
        WHERE p.role = current_user
        """,
        "view district",
        14,
    ),
    ("ALTER VIEW district_cooled RESET (security_barrier)", "view district_cooled", 14),
    ("ALTER VIEW district SET (security_invoker)", "view district", 15),
    ("GRANT CREATE ON SCHEMA haccp TO PUBLIC", "schema haccp", 14),
    (f"ALTER SCHEMA haccp OWNER TO {_KITCHEN}", "schema haccp", 14),
    ("GRANT CREATE ON SCHEMA public TO PUBLIC", "right to make things in schema public", 14),
    ("GRANT EXECUTE ON FUNCTION lo_create(oid) TO PUBLIC", "right to make large objects", 14),
    (f"ALTER ROLE {_KITCHEN} BYPASSRLS", f"right of account {_KITCHEN}", 14),
    (f"ALTER ROLE {_KITCHEN} SUPERUSER", f"right of account {_KITCHEN}", 14),
    (f"ALTER ROLE {_OFFICER} CREATEROLE", f"right of account {_OFFICER}", 14),
    (f"GRANT haccp_owner TO {_OFFICER}", f"right of account {_OFFICER}", 14),
    (f"GRANT {_KITCHEN} TO {_STRANGER}", f"right of account {_STRANGER}", 14),
    (f"GRANT {_KITCHEN} TO somebody", f"right of account {_KITCHEN}", 14),
    (f"GRANT pg_write_all_data TO {_KITCHEN}", f"right of account {_KITCHEN}", 14),
    ("GRANT haccp_owner TO somebody", "right of account haccp_owner", 14),
    ("ALTER ROLE haccp_owner LOGIN", "right of account haccp_owner", 14),
    (
        f"GRANT {_KITCHEN} TO somebody WITH INHERIT FALSE, SET TRUE",
        f"right of account {_KITCHEN}",
        16,
    ),
    ("GRANT MAINTAIN ON entry TO PUBLIC", "table entry", 17),
    (f"GRANT pg_maintain TO {_KITCHEN}", f"right of account {_KITCHEN}", 17),
    (
        "ALTER TABLE judged ALTER CONSTRAINT judged_kitchen_fkey NOT ENFORCED",
        "table judged",
        18,
    ),
]  # fmt: skip


@pytest.mark.parametrize(("done", "opened", "since"), _OPENED)
def test_each_guard_that_is_opened_is_told(
    superuser: sa.Connection, done: str, opened: str, since: int
) -> None:
    _skip_before(superuser, since)
    assert guards.problems_of(superuser) == []
    superuser.exec_driver_sql(done.replace("%", "%%"))
    told = guards.problems_of(superuser)
    assert [one for one in told if f"'{opened}' of the record's own guards is" in one], told


_HONEST = [
    ("ANALYZE entry", 14),
    ("CREATE INDEX entry_by_time ON entry (kitchen, at)", 14),
    ("ALTER TABLE entry SET (autovacuum_vacuum_scale_factor = 0.01)", 14),
    ("ALTER TABLE entry CLUSTER ON entry_pkey", 14),
    ("ALTER TABLE entry ALTER body SET STATISTICS 0", 14),
    ("ALTER TABLE entry ALTER body SET COMPRESSION pglz", 14),
    ("COMMENT ON TABLE entry IS 'the record'", 14),
    ("REINDEX TABLE entry", 14),
    ("CREATE STATISTICS of_batches ON kind, batch FROM entry", 14),
    ("CREATE SCHEMA others; CREATE TABLE others.a (a int); GRANT ALL ON others.a TO PUBLIC", 14),
    ("GRANT pg_monitor TO somebody", 14),
    (f"ALTER ROLE {_KITCHEN} CONNECTION LIMIT 30 VALID UNTIL '2030-01-01'", 14),
    ("GRANT ALL ON entry TO haccp_owner", 14),
    ("ALTER TABLE entry RENAME CONSTRAINT entry_person_not_null TO person_is_there", 18),
]


@pytest.mark.parametrize(("done", "since"), _HONEST)
def test_what_an_honest_server_does_is_not_told(
    superuser: sa.Connection, done: str, since: int
) -> None:
    _skip_before(superuser, since)
    superuser.exec_driver_sql(done)
    assert guards.problems_of(superuser) == []


def _skip_before(connection: sa.Connection, since: int) -> None:
    version = administration.version_of_server(connection)
    if int(version.partition(".")[0]) < since:
        pytest.skip(f"PostgreSQL {version} has no such statement")


def test_the_guards_are_as_made_by_every_version(superuser: sa.Connection) -> None:
    assert guards.guards(superuser) == guards.AS_MADE


def test_a_kitchen_and_who_runs_the_server_are_told(prepared: Running) -> None:
    place = prepared.kitchen("North")
    url = prepared.url()
    with closing(open_record(place, create=False)) as record:
        assert record.problems() == []
        assert CliRunner().invoke(cli, ["server", "check", url]).exit_code == 0
        with closing(prepared.connect()) as superuser:
            superuser.execute("ALTER TABLE pin DISABLE ROW LEVEL SECURITY")
            told = record.problems()
            checked = CliRunner().invoke(cli, ["server", "check", url])
            superuser.execute("ALTER TABLE pin ENABLE ROW LEVEL SECURITY")
    assert told == ["'table pin' of the record's own guards is changed: somebody opened it."]
    assert checked.exit_code == BROKEN
    assert checked.output == f"DOES NOT HOLD: {told[0]}\n"


def _nothing_is_made(server: Running, told: str) -> None:
    with pytest.raises(Refused, match=told):
        administration.prepare(server.as_superuser)
    with closing(server.connect()) as superuser:
        assert superuser.execute("SELECT to_regnamespace('haccp')").fetchone() == (None,)


def test_an_old_server_is_refused(
    server: Running, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(administration, "_OLDEST", 99)
    own = server.new_database(tmp_path.name)
    _nothing_is_made(own, r"runs PostgreSQL \d+\.\d+: haccp needs 99 or a later one\.$")


def test_a_server_that_words_guards_otherwise_is_refused(
    server: Running, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(guards.AS_MADE, "table entry", "worded otherwise")
    own = server.new_database(tmp_path.name)
    _nothing_is_made(own, r"runs PostgreSQL \d+\.\d+, which words haccp's guards otherwise")
