"""Which readings of a run an entry leaves out, and which it cannot, whoever made it."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from haccp.record.bodies import LeftOut, Logged, Withdrawn
from haccp.record.entries import Corrections, Entry, each_reading
from haccp.time import stored

AT = datetime(2026, 10, 27, 8, 0, tzinfo=UTC)


def entry(seq: int, body: Logged | LeftOut | Withdrawn, minute: int, unit: str = "cooler") -> Entry:
    at = AT + timedelta(minutes=minute)
    return Entry(
        seq=seq, body=body, at=at, entered_at=AT + timedelta(hours=9), person="TP", batch=None,
        unit=unit, corrects=None, previous="", digest="",
    )  # fmt: skip


RUN = entry(
    7,
    Logged(
        step="cold_hold",
        degree="F",
        readings=tuple(f"{60 * minute} 38.0" for minute in range(10)),
        probe="Probe 1",
        source="cooler.csv",
        source_digest="0" * 64,
    ),
    minute=0,
)


def left_out(seq: int, first: int, last: int, *, of: int = 7, unit: str = "cooler") -> Entry:
    begins = stored(AT + timedelta(minutes=first))
    return entry(seq, LeftOut(of=of, first=begins, reason="on the bench"), last, unit)


def gone(*later: Entry) -> dict[int, int]:
    """Give the minutes that are left out, and by which entry."""
    corrections = Corrections([RUN, *later])
    told = {one.place - 1: corrections.of(one) for one in each_reading(RUN)}
    return {minute: by for minute, by in told.items() if by}


def test_both_ends_are_left_out_and_nothing_beside_them() -> None:
    assert gone(left_out(9, 3, 5)) == {3: 9, 4: 9, 5: 9}


def test_more_may_be_left_out_of_the_same_hour() -> None:
    assert gone(left_out(9, 3, 4), left_out(12, 8, 8)) == {3: 9, 4: 9, 8: 12}


def test_what_was_left_out_counts_again_once_that_is_taken_back() -> None:
    back = replace(entry(13, Withdrawn(reason="it was in the food"), 4), corrects=9)
    assert gone(left_out(9, 3, 4), left_out(12, 8, 8), back) == {8: 12}


def test_an_hour_that_is_taken_back_is_so_as_a_whole() -> None:
    back = replace(entry(13, Withdrawn(reason="another cooler's"), 0), corrects=7)
    assert gone(left_out(9, 3, 4), back) == dict.fromkeys(range(10), 13)


@pytest.mark.parametrize(
    "forged",
    [
        left_out(9, 0, 9, unit="other"),  # an entry about one unit takes nothing from another's
        left_out(9, 0, 9, of=8),
        left_out(6, 0, 9),  # it was there before what it names
    ],
)
def test_what_names_no_run_of_its_own_leaves_nothing_out(forged: Entry) -> None:
    assert gone(forged) == {}
