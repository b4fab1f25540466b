"""A clock that was ahead for a while, or went back to its first day, and was put right again."""

from datetime import timedelta
from pathlib import Path

import pytest

from haccp.errors import Refused
from haccp.record.backup import daily_copy
from haccp.record.pins import prove
from tests.faults.making import (
    EVENING,
    NOON,
    PIN,
    kitchen_drafts,
    make_kitchen,
    noon,
    opened,
    reading,
    rows_by_hand,
    type_in,
)

A_YEAR_AHEAD = EVENING + timedelta(days=365)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    made = tmp_path / "record.sqlite3"
    make_kitchen(made)
    return made


def test_what_was_entered_by_a_clock_ahead_is_on_papers_printed_after_it_was_put_right(
    path: Path,
) -> None:
    """A paper shows a beginning of the chain: its head stands for every entry up to there."""
    count = len(kitchen_drafts())
    with opened(path) as record:
        (ahead,) = record.append([reading("99")], lambda: A_YEAR_AHEAD)
        (later,) = record.append([reading("98")], noon)
        seen = record.as_known_at(EVENING)
        assert seen.head() == (later.seq, later.digest)
        # a logger's entry is given reading by reading
        numbers = dict.fromkeys(entry.seq for entry in seen.entries())
        assert list(numbers) == list(range(1, later.seq + 1))
        assert ahead in seen.entries()
        before = record.as_known_at(NOON - timedelta(seconds=1))
        assert (before.head()[0], before.entries()) == (0, [])
        assert record.head()[0] == later.seq > count + 2, "the clock's moves are entries too"


@pytest.mark.parametrize("ahead", [timedelta(minutes=20), timedelta(days=365)])
def test_a_manager_who_acted_while_the_clock_was_ahead_is_not_locked_out(
    ahead: timedelta, path: Path
) -> None:
    assert type_in(path, "sign", "2026-10-26", "--note", "seen", now=EVENING + ahead).exit_code == 0
    result = type_in(path, "sign", "2026-10-26", "--note", "seen")
    assert result.exit_code == 0, result.stderr


def test_wrong_pins_while_the_clock_was_ahead_lock_nobody_out_and_count_on(path: Path) -> None:
    with opened(path) as record:
        for moment in (A_YEAR_AHEAD, A_YEAR_AHEAD, A_YEAR_AHEAD, EVENING):
            with pytest.raises(Refused, match="not the PIN"):
                prove(record, "AR", lambda: "1111", lambda moment=moment: moment)  # type: ignore[misc]
        with pytest.raises(Refused, match="wait 2[01] s"):
            prove(record, "AR", lambda: PIN, lambda: EVENING)
        prove(record, "AR", lambda: PIN, lambda: EVENING + timedelta(seconds=21))


@pytest.mark.parametrize("wrong", ["2027-10-2", "1970-01-0"])
def test_copies_of_days_that_a_wrong_clock_named_do_not_keep_the_real_days_out(
    wrong: str, path: Path
) -> None:
    folder = path.with_name("record.sqlite3.daily")
    with opened(path) as record:
        for number in range(1, 4):
            daily_copy(record, 3, f"{wrong}{number}")
        for number in range(4, 8):
            daily_copy(record, 3, f"2026-10-2{number}")
            assert folder / f"2026-10-2{number}.sqlite3" in folder.iterdir()
    assert sorted(one.stem for one in folder.iterdir()) == [f"2026-10-2{n}" for n in (5, 6, 7)]
    assert rows_by_hand(folder / "2026-10-27.sqlite3") == rows_by_hand(path)
