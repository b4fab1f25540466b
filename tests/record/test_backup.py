"""Copies that are whole, and a record put back that prints the same."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from haccp.errors import Refused
from haccp.record.backup import back_up, daily_copy, restore
from haccp.record.bodies import Measured
from haccp.record.bodies_of_record import ClockMoved
from haccp.record.chain import first_misfit, named_alone, parse_printed
from haccp.record.entries import Draft
from haccp.record.store import Record, open_record
from haccp.record.verify import walk

NOON = datetime(2026, 10, 26, 18, 0, tzinfo=UTC)


def log(record: Record, count: int, now: datetime = NOON) -> None:
    for temp in range(count):
        body = Measured(step="cool", temp=str(100 - temp % 50), degree="F")
        record.append([Draft(body=body, at=now, person="JM", batch="stew")], lambda: now)


def put_back(source: Path, target: Path) -> tuple[int, Path | None]:
    return restore(source, target, lambda _: ("AR", True), lambda: NOON)


@pytest.fixture
def record(tmp_path: Path) -> Iterator[Record]:
    opened = open_record(tmp_path / "record.sqlite3", create=True)
    log(opened, 20)
    yield opened
    opened.close()


def test_a_backup_holds_the_same_entries_and_is_its_owners_only(
    record: Record, tmp_path: Path
) -> None:
    copy = tmp_path / "copy.sqlite3"
    assert back_up(record, copy) == 20
    assert copy.stat().st_mode & 0o077 == 0
    opened = open_record(copy, create=False)
    assert list(opened.rows()) == list(record.rows())
    opened.close()
    with pytest.raises(Refused, match="exists already"):
        back_up(record, copy)


def test_restoring_keeps_what_was_there_under_another_name(record: Record, tmp_path: Path) -> None:
    copy = tmp_path / "copy.sqlite3"
    back_up(record, copy)
    log(record, 5)
    later = list(record.rows())
    record.close()
    count, kept = put_back(copy, record.file)
    assert count == 20
    assert kept
    for path, rows in ((record.file, later[:20]), (kept, later)):
        opened = open_record(path, create=False)
        found = list(opened.rows())
        assert found[: len(rows)] == rows
        assert len(found) == len(rows) + (path == record.file)
        opened.close()


def test_a_backup_that_was_altered_is_not_restored(record: Record, tmp_path: Path) -> None:
    copy = tmp_path / "copy.sqlite3"
    back_up(record, copy)
    with closing(sqlite3.connect(copy)) as altered, altered:
        altered.execute("DROP TRIGGER entry_is_never_updated")
        altered.execute("UPDATE entry SET person = 'XX' WHERE seq = 7")
    before = record.file.read_bytes()
    with pytest.raises(Refused, match=r"copy.sqlite3 does not hold together: entry no\. 7"):
        put_back(copy, record.file)
    assert record.file.read_bytes() == before
    assert sorted(path.name for path in tmp_path.iterdir()) == ["copy.sqlite3", "record.sqlite3"]


@pytest.mark.parametrize("content", [b"", b"not a database at all" * 100])
def test_a_file_that_is_no_record_is_not_restored(
    record: Record, tmp_path: Path, content: bytes
) -> None:
    other = tmp_path / "other"
    other.write_bytes(content)
    before = record.file.read_bytes()
    with pytest.raises(Refused):
        put_back(other, record.file)
    assert record.file.read_bytes() == before
    assert other.read_bytes() == content


def test_daily_copies_are_made_once_a_day_and_the_oldest_go(record: Record) -> None:
    folder = record.file.with_name("record.sqlite3.daily")
    for day in range(1, 6):
        daily_copy(record, 3, f"2026-11-0{day}")
        daily_copy(record, 3, f"2026-11-0{day}")
    assert sorted(path.name for path in folder.iterdir()) == [
        f"2026-11-0{day}.sqlite3" for day in (3, 4, 5)
    ]
    assert folder.stat().st_mode & 0o077 == 0


def test_a_paper_s_digest_is_found_in_a_record_that_grew(record: Record) -> None:
    seq, digest = record.head()
    grouped = " ".join(digest[i : i + 8] for i in range(0, 64, 8))
    log(record, 3)

    def finds(text: str) -> int | None:
        printed = parse_printed(text)
        return named_alone(walk(record, printed=printed, walked=lambda _: None).named, printed)

    for text in (
        digest,
        f"{seq} {digest}",
        f"haccp {seq} {digest}",
        f"{seq} {grouped}",
        f"{seq}:{digest[:16]}",
        grouped.upper(),
    ):
        assert finds(text) == seq, text
    assert finds(f"{seq + 1} {digest}") is None
    assert finds("0" * 64) is None
    assert named_alone((seq, seq + 1), parse_printed(digest)) is None
    for text in ("", "352", "zzzz", digest[:8], digest + "00"):
        with pytest.raises(Refused):
            parse_printed(text)


def test_a_clock_that_went_back_or_far_ahead_is_recorded_before_the_entry(record: Record) -> None:
    log(record, 1, NOON - timedelta(hours=3))
    log(record, 1, NOON - timedelta(hours=3))
    log(record, 1, NOON + timedelta(days=9))
    moved = [entry.body for entry in record.entries() if isinstance(entry.body, ClockMoved)]
    assert [round(one.seconds / 3600) for one in moved] == [-3, 9 * 24 + 3]
    assert first_misfit(record.rows()) is None


def test_a_clock_within_its_tolerance_is_no_event(record: Record) -> None:
    log(record, 1, NOON - timedelta(seconds=100))
    log(record, 1, NOON + timedelta(days=6))
    assert not [e for e in record.entries() if isinstance(e.body, ClockMoved)]


def test_a_backup_whose_derived_tables_were_altered_is_not_restored(
    record: Record, tmp_path: Path
) -> None:
    """They would hide what is open from every look at the record."""
    log(record, 5)
    copy = tmp_path / "copy.sqlite3"
    back_up(record, copy)
    with closing(sqlite3.connect(copy)) as connection, connection:
        connection.execute("DELETE FROM derived_link WHERE seq = 3")
    before = list(record.rows())
    with pytest.raises(Refused, match="what is derived"):
        put_back(copy, record.file)
    assert list(record.rows()) == before
