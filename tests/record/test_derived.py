"""What is derived of the entries is found out where it is not as it was made, and made anew."""

import random
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from haccp.errors import Refused
from haccp.record import derived
from haccp.record.bodies import BatchOpened, Measured, Renamed, UsedUp, Withdrawn
from haccp.record.bodies_of_record import ClockMoved
from haccp.record.entries import Draft, Entry
from haccp.record.store import Record, open_record
from haccp.record.threads import about_batch, about_unit, of_kind, threads_of

NOON = datetime(2026, 10, 26, 18, 0, tzinfo=UTC)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "record.sqlite3"


@pytest.fixture
def record(path: Path) -> Iterator[Record]:
    opened = open_record(path, create=True)
    for minute in range(30):
        at = NOON + timedelta(minutes=minute)
        opened.append([a_reading(minute, at)], lambda at=at: at)  # type: ignore[misc]
    yield opened
    opened.close()


def a_reading(minute: int, at: datetime) -> Draft:
    body = Measured(step="hot_hold", temp=str(140 + minute), degree="F")
    return Draft(body=body, at=at, person="JM", unit=f"well-{minute % 3}")


def change(path: Path, statement: str) -> None:
    with closing(sqlite3.connect(path)) as connection, connection:
        assert connection.execute(statement).rowcount > 0, "nothing was changed"


SPOILED = {
    "a link is gone": "DELETE FROM derived_link WHERE seq = 8",
    "the first link is gone": "DELETE FROM derived_link WHERE seq = 2",
    "the last link is gone": "DELETE FROM derived_link WHERE seq = 29",
    "a link leads elsewhere": "UPDATE derived_link SET seq = 9 WHERE seq = 8",
    "two places are one": "UPDATE derived_link SET place = place + 1 WHERE seq = 8",
    "a total is less": "UPDATE derived_thread SET total = total - 1",
    "a total is more": "UPDATE derived_thread SET total = total + 1",
}


@pytest.mark.parametrize("how", SPOILED)
def test_a_thread_that_is_not_as_it_was_made_is_told_of(
    how: str, record: Record, path: Path
) -> None:
    change(path, SPOILED[how])
    record.about(about_unit("well-0"), about_unit("well-1"), about_unit("well-2"))
    assert record.troubles, how
    assert all("haccp record verify" in words for words in record.troubles)
    assert any("thread" in one or "link" in one for one in record.differences())


@pytest.mark.parametrize("how", [*SPOILED, "a thread is gone", "the head is another"])
def test_no_page_rests_on_it(how: str, record: Record, path: Path) -> None:
    others = {
        "a thread is gone": "DELETE FROM derived_thread WHERE name = 'unit well-1'",
        "the head is another": "UPDATE derived_head SET digest = 'f'",
    }
    change(path, {**SPOILED, **others}[how])

    def read_a_page() -> None:
        view = record.walked(NOON, NOON + timedelta(days=1))
        view.about(about_unit("well-0"), about_unit("well-1"), about_unit("well-2"))

    with pytest.raises(Refused, match="does not hold together"):
        read_a_page()


def test_it_is_made_anew_from_the_entries_alone(record: Record, path: Path) -> None:
    change(path, "DELETE FROM derived_link WHERE seq % 2")
    change(path, "UPDATE derived_thread SET total = 1")
    assert record.differences()
    with closing(sqlite3.connect(path)) as connection, connection:
        derived.rebuild(connection)
    assert record.differences() == []


# What may happen in a kitchen: of a few batches and units, in any order, some of it corrected.
_CODES, _UNITS = ("stew", "Soup", "rice"), ("well-1", "walk-in")
_STEPS = st.lists(
    st.tuples(
        st.sampled_from(["open", "read", "end", "rename", "withdraw", "correct"]),
        st.integers(0, 2),
        st.integers(0, 1),
        st.integers(1, 12),
    ),
    max_size=25,
)


def drafts_of(what: str, code: str, unit: str, number: int, at: datetime) -> Draft:
    match what:
        case "open":
            return Draft(body=BatchOpened(food="stew"), at=at, person="JM", batch=code)
        case "read":
            body = Measured(step="hot_hold", temp="140", degree="F")
            return Draft(body=body, at=at, person="JM", batch=code, unit=unit)
        case "end":
            return Draft(body=UsedUp(), at=at, person="JM", batch=code)
        case "rename":
            return Draft(body=Renamed(name=f"pan-{number}"), at=at, person="JM", batch=code)
        case "withdraw":
            body_ = Withdrawn(reason="x")
            return Draft(body=body_, at=at, person="JM", batch=code, corrects=number)
        case _:
            body = Measured(step="hot_hold", temp="150", degree="F", reason="x")
            return Draft(body=body, at=at, person="JM", unit=unit, corrects=number)


def left_by_hand(entries: list[Entry]) -> set[str]:
    """Say of which batches something is left, from nothing but all entries."""
    corrected = {entry.corrects for entry in entries}
    there = {e.batch for e in entries if isinstance(e.body, BatchOpened)}
    for entry in entries:
        withdrawn = isinstance(entry.body, BatchOpened) and entry.seq in corrected
        ended = isinstance(entry.body, UsedUp) and entry.seq not in corrected
        there -= {entry.batch} if withdrawn or ended else set()
    return {one for one in there if one}


@settings(max_examples=60, deadline=None)
@given(_STEPS)
def test_threads_and_lists_are_what_all_entries_say(
    tmp_path_factory: pytest.TempPathFactory, steps: list[tuple[str, int, int, int]]
) -> None:
    path = tmp_path_factory.mktemp("any") / "record.sqlite3"
    record = open_record(path, create=True)
    for minute, (what, code, unit, number) in enumerate(steps):
        at = NOON + timedelta(minutes=minute)
        draft = drafts_of(what, _CODES[code], _UNITS[unit], number, at)
        try:
            record.append([draft], lambda at=at: at)  # type: ignore[misc]
        except Refused:
            continue
    every = record.entries()
    by_number = {entry.seq: entry for entry in every}
    for name in [about_batch(code) for code in _CODES] + [about_unit(unit) for unit in _UNITS]:
        mine = [
            entry
            for entry in every
            if name in threads_of(entry)
            or (entry.corrects and name in threads_of(by_number[entry.corrects]))
        ]
        assert [entry.seq for entry in record.about(name)] == [entry.seq for entry in mine]
        assert [one.seq for one in record.backwards(name)] == [e.seq for e in reversed(mine)]
    assert {one.code for one in record.open_batches()} == left_by_hand(every)
    assert record.troubles == []
    assert record.differences() == []
    record.close()


@pytest.mark.parametrize("seed", range(20))
def test_entries_of_a_moment_are_found_however_the_clock_went(seed: int, path: Path) -> None:
    """By halving, as a scan of all entries finds them; the clock goes back and ahead at times."""
    chance = random.Random(seed)
    record = open_record(path, create=True)
    clock = NOON
    moments = []
    for number in range(60):
        jump = chance.choice([0, 0, 0, 0, 0, 0, -50, 400]) * timedelta(hours=1)
        clock += timedelta(minutes=chance.randrange(90)) + jump
        at = clock - timedelta(minutes=chance.choice([0, 0, 1, 600]))
        record.append([a_reading(number % 30, at)], lambda now=clock: now)  # type: ignore[misc]
        moments.append(at)
    assert any(isinstance(one.body, ClockMoved) for one in record.about(of_kind("clock")))
    for _ in range(30):
        since = chance.choice(moments) - timedelta(minutes=chance.randrange(5))
        until = since + timedelta(hours=chance.choice([1, 30, 3000]))
        wanted = [one.seq for one in record.entries() if since <= one.at < until]
        assert [one.seq for one in record.during(since, until)] == wanted
        page = record.walked(since, until)
        assert [one.seq for one in page.during(since, until)] == wanted
        threads = [about_unit(f"well-{n}") for n in range(3)]
        found = [one.seq for one in page.about(*threads, since=since, until=until)]
        assert set(found) >= set(wanted) - {
            one.seq for one in record.entries() if isinstance(one.body, ClockMoved)
        }
    record.close()
