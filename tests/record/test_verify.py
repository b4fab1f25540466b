"""The walk in stretches says what one walk over all rows says, whatever was done to the file."""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from haccp.catalogs import catalog_of
from haccp.language import read_in
from haccp.record import verify
from haccp.record.bodies import Measured
from haccp.record.chain import first_misfit, named_alone, parse_printed
from haccp.record.entries import Draft
from haccp.record.store import Record, open_record

NOON = datetime(2026, 10, 26, 18, 0, tzinfo=UTC)
LAST = 23

DONE = {
    "nothing": "UPDATE entry SET seq = seq WHERE seq = ?",
    "altered": "UPDATE entry SET person = 'XX' WHERE seq = ?",
    "removed": "DELETE FROM entry WHERE seq = ?",
    "unlinked": "UPDATE entry SET previous = replace(previous, substr(previous, 1, 1), 'g') WHERE seq = ?",
    "digest": "UPDATE entry SET digest = replace(digest, substr(digest, 1, 1), 'g') WHERE seq = ?",
    "moved": "UPDATE entry SET seq = 1000 WHERE seq = ?",
    "before all": "UPDATE entry SET seq = -1 WHERE seq = ?",
    "two removed": "DELETE FROM entry WHERE seq IN (?1, ?1 + 1)",
    "two altered": "UPDATE entry SET person = 'XX' WHERE seq IN (?1, ?1 - 3)",
}


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "record.sqlite3"


@pytest.fixture
def record(path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Record]:
    """Make a record of five stretches, the last one shorter."""
    monkeypatch.setattr(verify, "STRETCH", 5)
    opened = open_record(path, create=True)
    opened.append(
        [
            Draft(
                body=Measured(step="cool", temp="98", degree="F"),
                at=NOON + timedelta(minutes=minute),
                person="JM",
                batch="stew",
            )
            for minute in range(LAST)
        ],
        lambda: NOON,
    )
    yield opened
    opened.close()


def tamper(path: Path, done: str, number: int) -> None:
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("PRAGMA ignore_check_constraints = ON")
        for (name,) in connection.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        ).fetchall():
            connection.execute(f"DROP TRIGGER {name}")
        connection.execute(DONE[done], (number,))


@pytest.mark.parametrize("done", DONE)
@pytest.mark.parametrize("number", [1, 2, 5, 6, 7, 10, 11, 21, LAST - 1, LAST])
def test_stretches_name_the_entry_that_one_walk_names(
    record: Record, path: Path, done: str, number: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "cpu_count", lambda: 1)
    tamper(path, done, number)
    found = verify.walk(record, walked=lambda _: None)
    assert found.misfit == first_misfit(record.rows())
    assert found.whole
    cut_off = done in ("removed", "two removed") and number >= LAST - 1 and record.head()[0] < LAST
    assert (found.misfit is None) is (done == "nothing" or (cut_off and record.head()[0] < number))


@pytest.mark.parametrize(("done", "number"), [("nothing", 1), ("altered", 13), ("removed", 16)])
def test_processes_find_what_one_finds(
    record: Record, path: Path, done: str, number: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    printed = parse_printed("21 " + list(record.rows())[20]["digest"])
    tamper(path, done, number)
    told: list[int] = []
    monkeypatch.setattr(os, "cpu_count", lambda: 1)
    alone = verify.walk(record, printed=printed, walked=told.append)
    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    together = verify.walk(record, printed=printed, walked=told.append)
    assert together == alone
    assert together.misfit == first_misfit(record.rows())
    if done == "nothing":
        assert told == [5, 5, 5, 5, 3] * 2
        assert named_alone(together.named, printed) == 21


def test_what_another_process_finds_is_told_in_the_readers_language(
    record: Record, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    tamper(path, "altered", 13)
    with read_in(catalog_of("es")):
        found = verify.walk(record, walked=lambda _: None)
    assert found.misfit == ("la anotación n.º 13 no es la que se hizo: su suma de control es otra.")


def test_a_walk_from_an_entry_on_sees_what_comes_after_and_nothing_before(
    record: Record, path: Path
) -> None:
    before = list(record.rows())[10]
    tamper(path, "altered", 4)
    assert verify.walk(record, 12, before["digest"], walked=lambda _: None).misfit is None
    tamper(path, "altered", 17)
    found = verify.walk(record, 12, before["digest"], walked=lambda _: None)
    assert "no. 17 is not what was recorded" in (found.misfit or "")


def test_rows_are_read_from_a_number_on_and_across_what_is_read_at_once(
    record: Record, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("haccp.record.store._AT_A_TIME", 4)
    assert [row["seq"] for row in record.rows()] == list(range(1, LAST + 1))
    assert [row["seq"] for row in record.rows(20)] == [20, 21, 22, 23]
    assert list(record.rows(LAST + 1)) == []
