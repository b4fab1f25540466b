"""A record made by an earlier version is carried to this one: nothing lost, nothing altered."""

import hashlib
import os
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa
from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory

from haccp.assets import folder
from haccp.record.pins import prove
from haccp.record.schema import SCHEMA
from haccp.record.store import open_record
from tests.faults.making import (
    EVENING,
    PIN,
    assert_one_chain,
    chained,
    kitchen_drafts,
    make_kitchen,
    make_old,
    noon,
    opened,
    reading,
    refused_in_one_sentence,
    rows_by_hand,
    type_in,
)

KEPT = "record.sqlite3.before-upgrade-from-0001"


@pytest.fixture
def rows() -> list[dict[str, Any]]:
    return chained([*kitchen_drafts(), *(reading(minute=61 + n) for n in range(20))])


@pytest.fixture
def old(rows: list[dict[str, Any]], tmp_path: Path) -> Path:
    path = tmp_path / "record.sqlite3"
    make_old(path, rows)
    path.chmod(0o600)
    return path


def stored_bytes(path: Path) -> list[tuple[object, ...]]:
    """Every row with the type and the very bytes of every value."""
    columns = [
        "seq", "kind", "entered_at", "at", "person", "batch", "unit", "corrects", "body",
        "previous", "digest",
    ]  # fmt: skip
    values = ", ".join(f"typeof({one}), hex({one})" for one in columns)
    with closing(sqlite3.connect(path)) as connection:
        return connection.execute(f"SELECT {values} FROM entry ORDER BY seq").fetchall()


def schema_of(path: Path) -> set[tuple[str, str, str]]:
    with closing(sqlite3.connect(path)) as connection:
        return set(connection.execute("SELECT type, name, sql FROM sqlite_master").fetchall())


def version_of(path: Path) -> object:
    with closing(sqlite3.connect(path)) as connection:
        return connection.execute("SELECT version_num FROM alembic_version").fetchall()


def test_every_version_that_there_was_is_upgraded_in_these_tests() -> None:
    """A migration that is added is listed here: an old record of each version is in a test."""
    config = Config()
    config.set_main_option("script_location", str(folder("db")))
    scripts = list(ScriptDirectory.from_config(config).walk_revisions())
    assert [script.revision for script in scripts] == [
        "0008",
        "0007",
        "0006",
        "0005",
        "0004",
        "0003",
        "0002",
        "0001",
    ]
    assert SCHEMA == "0008"


def test_every_entry_of_an_old_record_is_the_same_byte_for_byte(
    old: Path, rows: list[dict[str, Any]]
) -> None:
    before = stored_bytes(old)
    with opened(old) as record:
        assert list(record.rows()) == rows
        assert record.problems() == []
    assert stored_bytes(old) == before
    assert version_of(old) == [(SCHEMA,)]
    assert_one_chain(rows_by_hand(old))


def test_a_copy_of_the_old_record_is_kept_beside_it(old: Path, rows: list[dict[str, Any]]) -> None:
    before = stored_bytes(old), schema_of(old)
    open_record(old, create=False).close()
    kept = old.with_name(KEPT)
    assert (stored_bytes(kept), schema_of(kept)) == before
    assert version_of(kept) == [("0001",)]
    assert sorted(one.name for one in old.parent.iterdir()) == [old.name, KEPT]
    assert kept.stat().st_mode & 0o777 == 0o600, "others may read the copy"


def test_the_kept_copy_can_be_put_back_and_upgraded_again(
    old: Path, rows: list[dict[str, Any]]
) -> None:
    open_record(old, create=False).close()
    shutil.move(old.with_name(KEPT), old)
    with opened(old) as record:
        assert list(record.rows()) == rows


def test_an_upgraded_record_is_the_same_as_a_new_one(old: Path, tmp_path: Path) -> None:
    """The same tables, guards and indexes, however it came to them."""
    open_record(old, create=False).close()
    new = tmp_path / "new.sqlite3"
    open_record(new, create=True).close()
    assert schema_of(old) == schema_of(new)
    assert {name for kind, name, _ in schema_of(old) if kind == "trigger"} == {
        "entry_is_never_updated",
        "entry_is_never_deleted",
        "entry_is_never_replaced",
        "a_batch_code_is_used_once",
    }


def test_an_upgraded_record_is_written_to_and_its_chain_goes_on(
    old: Path, rows: list[dict[str, Any]]
) -> None:
    with opened(old) as record:
        (made,) = record.append([reading(minute=90)], noon)
    assert made.seq == len(rows) + 1
    assert made.previous == rows[-1]["digest"]
    assert_one_chain(rows_by_hand(old))


def test_a_manager_of_an_old_record_sets_a_pin_and_goes_on(old: Path) -> None:
    assert type_in(old, "pin", "AR").exit_code == 0
    with opened(old) as record:
        prove(record, "AR", lambda: PIN, lambda: EVENING)


def test_opening_it_again_changes_nothing(old: Path) -> None:
    open_record(old, create=False).close()
    before = old.read_bytes()
    open_record(old, create=False).close()
    assert old.read_bytes() == before


def test_the_report_before_and_after_an_upgrade_is_the_same_bytes(tmp_path: Path) -> None:
    """An old record, and one of this version with the very same entries."""
    new = tmp_path / "new.sqlite3"
    make_kitchen(new, readings=5)
    old = tmp_path / "record.sqlite3"
    shutil.copy(new, old)
    with closing(sqlite3.connect(old)) as connection, connection:
        for table in (
            "pin",
            "derived_thread",
            "derived_link",
            "derived_batch",
            "derived_head",
            "derived_settled",
        ):
            connection.execute(f"DROP TABLE {table}")
        for column in ("batch", "unit", "kind", "time"):
            connection.execute(f"CREATE INDEX entry_by_{column} ON entry (seq)")
        connection.execute("UPDATE alembic_version SET version_num = '0001'")
    digests = []
    for path in (new, old):
        page = path.with_suffix(".pdf")
        words = ["report", "2026-10-26", "--output", str(page), "--printed", "2026-10-26 20:00"]
        result = type_in(path, *words)
        assert result.exit_code == 0, result.output
        digests.append(hashlib.sha256(page.read_bytes()).hexdigest())
    assert digests[0] == digests[1]
    assert version_of(old) == [(SCHEMA,)]
    assert old.with_name(KEPT).exists()


def derived(path: Path) -> list[list[tuple[object, ...]]]:
    tables = ("derived_thread", "derived_link", "derived_batch")
    with closing(sqlite3.connect(path)) as connection:
        return [sorted(connection.execute(f"SELECT * FROM {one}"), key=repr) for one in tables]


def test_the_threads_of_a_record_of_0003_are_derived_anew(tmp_path: Path) -> None:
    """0004 changes no table: a unit's thread holds what was entered late about it, too."""
    path = tmp_path / "record.sqlite3"
    make_kitchen(path, readings=5)
    new = derived(path)
    assert all(new)
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("DELETE FROM derived_link WHERE place > 1")
        connection.execute("UPDATE alembic_version SET version_num = '0003'")
    before = stored_bytes(path)
    with opened(path) as record:
        assert record.problems() == []
    assert derived(path) == new
    assert stored_bytes(path) == before
    assert version_of(path) == [(SCHEMA,)]
    assert path.with_name("record.sqlite3.before-upgrade-from-0003").exists()


@pytest.mark.parametrize("words", [["status"], ["record", "verify"], ["cool", "stew", "70"]])
@pytest.mark.parametrize("version", ["0009", "9999", "1000a"])
def test_a_record_of_a_newer_version_is_refused_in_a_sentence_and_left_alone(
    version: str, words: list[str], old: Path
) -> None:
    open_record(old, create=False).close()
    with closing(sqlite3.connect(old)) as connection, connection:
        connection.execute("UPDATE alembic_version SET version_num = ?", (version,))
        connection.execute("CREATE TABLE of_the_future (x)")
    before = old.read_bytes()
    told = refused_in_one_sentence(type_in(old, *words))
    assert "newer haccp" in told
    assert version in told
    assert old.read_bytes() == before


def test_a_record_is_never_taken_back_to_an_older_version(old: Path) -> None:
    open_record(old, create=False).close()
    before = stored_bytes(old), schema_of(old)
    config = Config()
    config.set_main_option("script_location", str(folder("db")))
    engine = sa.create_engine(f"sqlite:///{old}")
    with engine.connect() as connection:
        config.attributes["connection"] = connection
        with pytest.raises((NotImplementedError, AttributeError, SystemExit)):
            command.downgrade(config, "0001")
    engine.dispose()
    assert (stored_bytes(old), schema_of(old)) == before
    assert version_of(old) == [(SCHEMA,)]


def test_a_read_only_old_record_is_refused_and_nothing_is_left_beside_it(quick: Path) -> None:
    old = quick / "record.sqlite3"
    make_old(old, chained(kitchen_drafts()))
    old.chmod(0o444)
    quick.chmod(0o555)
    root = os.getuid() == 0
    if root:
        os.seteuid(65534)
    try:
        refused_in_one_sentence(type_in(old, "status"))
    finally:
        if root:
            os.seteuid(0)
        quick.chmod(0o755)
    assert [one.name for one in quick.iterdir()] == ["record.sqlite3"]


def test_a_backup_made_by_an_older_version_is_restored_as_this_version(
    old: Path, rows: list[dict[str, Any]], tmp_path: Path
) -> None:
    current = tmp_path / "current.sqlite3"
    make_kitchen(current)
    before = old.read_bytes()
    result = type_in(current, "record", "restore", str(old))
    assert result.exit_code == 0, result.output
    assert rows_by_hand(current)[:-1] == rows
    assert version_of(current) == [(SCHEMA,)]
    assert old.read_bytes() == before, "the backup itself was changed"
    assert type_in(current, "record", "verify").exit_code == 0


def test_an_old_record_whose_kept_copy_cannot_be_made_is_not_upgraded(old: Path) -> None:
    """Nothing is altered before there is a copy of what was there."""
    old.with_name(f"{KEPT}.partial").mkdir()
    before = old.read_bytes()
    refused_in_one_sentence(type_in(old, "status"))
    assert old.read_bytes() == before
