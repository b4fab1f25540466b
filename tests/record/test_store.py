"""The record keeps what it acknowledged, refuses to change it, and says so in a sentence."""

import hashlib
import os
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from alembic.config import Config
from alembic.script import ScriptDirectory

from haccp.assets import folder
from haccp.errors import Refused
from haccp.record.bodies import BatchOpened, CorrectiveAction, Measured, Withdrawn
from haccp.record.chain import first_misfit
from haccp.record.entries import Draft
from haccp.record.exports import from_export, to_csv, to_json
from haccp.record.schema import SCHEMA
from haccp.record.store import Record, open_record

NOON = datetime(2026, 10, 26, 18, 0, tzinfo=UTC)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "record.sqlite3"


@pytest.fixture
def record(path: Path) -> Iterator[Record]:
    opened = open_record(path, create=True)
    yield opened
    opened.close()


def reading(temp: str = "98", *, minute: int = 0, corrects: int | None = None) -> Draft:
    return Draft(
        body=Measured(step="cool", temp=temp, degree="F"),
        at=NOON + timedelta(minutes=minute),
        person="JM",
        batch="stew",
        corrects=corrects,
    )


def noon() -> datetime:
    return NOON


def test_what_was_appended_is_read_back_as_it_was_entered(record: Record, path: Path) -> None:
    made = record.append([reading("134.95"), reading("70.10", minute=1)], noon)
    record.close()
    again = open_record(path, create=False)
    assert again.entries() == made
    assert [e.body.temp for e in made if isinstance(e.body, Measured)] == ["134.95", "70.10"]
    again.close()


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE entry SET body = '{}' WHERE seq = 1",
        "UPDATE entry SET seq = 9 WHERE seq = 1",
        "DELETE FROM entry WHERE seq = 2",
        "DELETE FROM entry",
        "INSERT OR REPLACE INTO entry SELECT seq, kind, entered_at, at, 'XX', batch, unit, corrects,"
        " body, previous, digest FROM entry WHERE seq = 1",
        "REPLACE INTO entry SELECT 9, kind, entered_at, at, person, batch, unit, corrects,"
        " body, previous, digest FROM entry WHERE seq = 2",
        "INSERT INTO entry SELECT * FROM entry WHERE seq = 1 ON CONFLICT DO UPDATE SET person = 'XX'",
    ],
)
def test_the_database_itself_refuses_to_change_an_entry(
    record: Record, path: Path, statement: str
) -> None:
    record.append([reading(), reading("90", minute=30)], noon)
    before = list(record.rows())
    with closing(sqlite3.connect(path)) as foreign, foreign, pytest.raises(sqlite3.IntegrityError):
        foreign.execute(statement)
    assert list(record.rows()) == before


def test_an_entry_is_corrected_once_and_stays_readable(record: Record) -> None:
    record.append([reading("96")], noon)
    record.append([reading("69", corrects=1)], noon)
    with pytest.raises(Refused, match="changed that entry first"):
        record.append([reading("68", corrects=1)], noon)
    assert [one.corrected_by for one in record.entries()] == [2, None]


def test_appending_is_all_or_nothing(record: Record) -> None:
    record.append([reading("96")], noon)
    good_then_bad = [reading("95", minute=5), reading("69", corrects=1), reading("68", corrects=1)]
    with pytest.raises(Refused):
        record.append(good_then_bad, noon)
    assert record.head()[0] == 1


def test_a_batch_code_is_used_once(record: Record) -> None:
    opened = Draft(body=BatchOpened(food="stew"), at=NOON, person="JM", batch="stew")
    record.append([opened], noon)
    with pytest.raises(Refused, match="type another with --code"):
        record.append([opened], noon)


def test_as_known_at_a_moment_later_entries_and_corrections_are_not_seen(record: Record) -> None:
    record.append([reading("96")], noon)
    record.append([reading("69", corrects=1)], lambda: NOON + timedelta(hours=2))
    then = record.as_known_at(NOON + timedelta(hours=1))
    assert [(entry.seq, entry.corrected_by) for entry in then.entries()] == [(1, None)]
    assert then.head()[0] == 1


def test_a_record_is_readable_by_its_owner_only(record: Record) -> None:
    assert record.file.stat().st_mode & 0o077 == 0


def test_a_file_that_is_no_database_is_refused_and_left_alone(path: Path) -> None:
    path.write_text("batch,step\n" * 400)
    with pytest.raises(Refused, match="is not a haccp record"):
        open_record(path, create=True)
    assert path.read_text() == "batch,step\n" * 400


def test_a_database_of_something_else_is_refused_and_left_alone(path: Path) -> None:
    with closing(sqlite3.connect(path)) as other, other:
        other.execute("CREATE TABLE songs (title TEXT)")
    before = path.read_bytes()
    with pytest.raises(Refused, match="database of something else"):
        open_record(path, create=True)
    assert path.read_bytes() == before


def test_a_record_of_a_newer_version_is_refused_and_left_alone(record: Record, path: Path) -> None:
    record.close()
    with closing(sqlite3.connect(path)) as newer, newer:
        newer.execute("UPDATE alembic_version SET version_num = '9999'")
    before = path.read_bytes()
    with pytest.raises(Refused, match="made by a newer haccp"):
        open_record(path, create=False)
    assert path.read_bytes() == before


def test_looking_for_a_record_that_is_not_there_creates_nothing(path: Path) -> None:
    with pytest.raises(Refused, match="haccp setup"):
        open_record(path, create=False)
    assert not path.exists()


def test_a_path_through_a_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(Refused, match="No record can be made"):
        open_record(tmp_path / "file" / "record.sqlite3", create=True)


@contextmanager
def an_ordinary_user() -> Iterator[None]:
    """Root may write everywhere, so a test of permissions gives that up for a while."""
    if os.getuid() != 0:
        yield
        return
    os.seteuid(65534)
    try:
        yield
    finally:
        os.seteuid(0)


def test_a_read_only_record_is_read_but_an_entry_is_refused_in_a_sentence(record: Record) -> None:
    record.append([reading()], noon)
    record.close()
    # outside pytest's folders, which are private to whoever runs it
    with tempfile.TemporaryDirectory() as name:
        copy = Path(name) / "record.sqlite3"
        shutil.copy(record.file, copy)
        copy.chmod(0o444)
        Path(name).chmod(0o555)
        with an_ordinary_user():
            read_only = open_record(copy, create=False)
            assert len(read_only.entries()) == 1
            with pytest.raises(Refused, match="is read-only"):
                read_only.append([reading("90", minute=30)], noon)
            read_only.close()
        Path(name).chmod(0o755)


def test_the_schema_constant_is_the_newest_migration() -> None:
    config = Config()
    config.set_main_option("script_location", str(folder("db")))
    assert ScriptDirectory.from_config(config).get_current_head() == SCHEMA


def test_the_triggers_are_there_after_every_migration(record: Record, path: Path) -> None:
    with closing(sqlite3.connect(path)) as connection, connection:
        names = {
            row[0]
            for row in connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
        }
    assert names == {
        "entry_is_never_updated",
        "entry_is_never_deleted",
        "entry_is_never_replaced",
        "a_batch_code_is_used_once",
    }


@pytest.mark.parametrize("write", [to_csv, to_json])
def test_an_export_read_back_is_the_same_record(record: Record, tmp_path: Path, write) -> None:  # type: ignore[no-untyped-def]
    record.append(
        [
            reading("134.95"),
            Draft(body=CorrectiveAction(text='moved, "stirred"; ≤ 41\n=1+1'), at=NOON, person="JM"),
            Draft(
                body=BatchOpened(food="böf", made_from=("a", "b")), at=NOON, person="JM", batch="b"
            ),
            Draft(body=Withdrawn(reason="wrong pan"), at=NOON, person="JM", corrects=1),
        ],
        noon,
    )
    rows = from_export(write(list(record.rows())).encode())
    other = open_record(tmp_path / "other.sqlite3", create=True)
    other.restore(rows)
    assert list(other.rows()) == list(record.rows())
    assert other.entries() == record.entries()
    with pytest.raises(Refused, match="has entries already"):
        other.restore(rows)
    other.close()


def test_an_altered_or_shortened_export_is_refused_by_entry_number(record: Record) -> None:
    record.append([reading("98"), reading("90", minute=30), reading("80", minute=60)], noon)
    rows = list(record.rows())
    assert first_misfit(rows) is None
    for column in rows[1]:
        altered = [dict(row) for row in rows]
        value = altered[1][column]
        altered[1][column] = value + 1 if isinstance(value, int) else f"{value or ''}0"
        assert "no. 2" in (first_misfit(altered) or ""), column
    assert "no. 2 is missing" in (first_misfit([rows[0], rows[2]]) or "")
    with pytest.raises(Refused, match="no. 1 is missing"):
        from_export(to_csv(rows[1:]).encode())


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"\xff\xfe",
        b"{",
        b"{}",
        b"[1]",
        b"a,b\n1,2\n",
        b'{"format":"haccp record","version":1,"entries":[{}]}',
    ],
)
def test_a_file_that_is_no_export_is_refused(content: bytes) -> None:
    with pytest.raises(Refused):
        from_export(content)


def test_the_json_export_verifies_with_a_sha_256_tool_alone(record: Record, tmp_path: Path) -> None:
    """The README's recipe: a line's digest stands at the beginning of the next, the last one's in line 1."""
    record.append([reading("98"), reading("90", minute=30), reading("80", minute=60)], noon)
    lines = to_json(list(record.rows())).splitlines()
    digests = [hashlib.sha256(line.rstrip(",").encode()).hexdigest() for line in lines[1:-1]]
    assert [line[2:66] for line in lines[2:-1]] == digests[:-1]
    assert f'"head": "{digests[-1]}"' in lines[0]
    assert digests[-1] == record.head()[1]
