"""A manager's act needs a PIN, and guessing one takes longer than anybody waits."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from haccp.errors import Refused
from haccp.record.pins import prove, set_pin
from haccp.record.store import Record, open_record

NOON = datetime(2026, 10, 26, 18, 0, tzinfo=UTC)


class Clock:
    def __init__(self) -> None:
        self.now = NOON

    def __call__(self) -> datetime:
        return self.now


@pytest.fixture
def record(tmp_path: Path) -> Iterator[Record]:
    opened = open_record(tmp_path / "record.sqlite3", create=True)
    set_pin(opened, "AR", "2580", NOON)
    yield opened
    opened.close()


def attempt(record: Record, pin: str, clock: Clock) -> str:
    """Try a PIN; give what was said, nothing for the right one."""
    try:
        prove(record, "AR", lambda: pin, clock)
    except Refused as error:
        return str(error)
    return ""


def test_the_right_pin_proves_and_a_wrong_one_is_refused(record: Record) -> None:
    clock = Clock()
    assert attempt(record, "2580", clock) == ""
    assert "not the PIN" in attempt(record, "2581", clock)
    assert attempt(record, "2580", clock) == ""


def test_the_delay_grows_with_each_failure_and_the_right_pin_waits_too(record: Record) -> None:
    clock = Clock()
    waits = []
    for _ in range(14):
        begun = clock.now
        while "wait" in attempt(record, "1111", clock):
            clock.now += timedelta(seconds=5)
        waits.append((clock.now - begun).total_seconds())
    assert waits[:6] == [0, 0, 0, 10, 20, 40]
    assert waits == sorted(waits)
    assert max(waits) == 3600
    assert attempt(record, "2580", clock).startswith("Too many wrong PINs")


def test_a_right_pin_forgets_the_failures_before_it(record: Record) -> None:
    clock = Clock()
    for _ in range(2):
        attempt(record, "1111", clock)
    assert attempt(record, "2580", clock) == ""
    assert "not the PIN" in attempt(record, "1111", clock)
    assert "not the PIN" in attempt(record, "1111", clock)


def test_a_try_is_counted_before_it_is_answered(record: Record) -> None:
    """Killing the program while it compares saves no guess."""
    clock = Clock()

    def pulled_plug() -> str:
        attempt(record, "1111", clock)
        attempt(record, "1111", clock)
        attempt(record, "1111", clock)
        return "2580"

    with pytest.raises(Refused, match="Somebody else tried"):
        prove(record, "AR", pulled_plug, clock)


@pytest.mark.parametrize(
    "pin", ["", "123", "1111", "1234", "4321", "12345678901234", "12a4", "١٢٣٥"]
)
def test_a_pin_that_is_guessed_first_is_not_taken(record: Record, pin: str) -> None:
    with pytest.raises(Refused):
        set_pin(record, "BK", pin, NOON)
    with pytest.raises(Refused, match="has no PIN yet"):
        prove(record, "BK", lambda: pin, Clock())


def test_a_pin_is_kept_as_a_hash_and_in_no_export(record: Record) -> None:
    assert b"2580" not in record.file.read_bytes()
    assert list(record.rows()) == []
    assert b"$argon2id$" in record.file.read_bytes()
