"""Food made of food, for years: each batch is read and judged once, in the order of openings."""

import sys
from collections import Counter
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa

from haccp import limits
from haccp.kitchen.batches import MOST_WAYS
from haccp.kitchen.datemarks import date_mark
from haccp.kitchen.lineage import came_from, went_into
from haccp.kitchen.reading import read_batches
from haccp.kitchen.register import read_register
from haccp.kitchen.review import matters
from haccp.kitchen.unreadable import not_shown_for
from haccp.record.bodies import BatchOpened, KitchenSettings, Measured, UsedUp
from haccp.record.entries import Draft
from haccp.record.sqlite import FileStore
from haccp.record.store import Record, open_record
from haccp.rules.account.judge import Judged, hand_on, judge
from haccp.rules.account.life import Life
from haccp.rules.evidence import Verdict

FIRST_DAY = datetime(2025, 1, 1, 9, 0, tzinfo=UTC)
DAY = timedelta(days=1)


def opened(path: Path) -> Record:
    record = open_record(path, create=True)
    settings = KitchenSettings(
        name="Test", zone="UTC", degree="F", altitude_m=0, limit_set="food-code-2022",
        limits_digest=limits.shipped("food-code-2022").digest,
    )  # fmt: skip
    record.append([Draft(body=settings, at=FIRST_DAY, person="AR")], lambda: FIRST_DAY)
    return record


def log(record: Record, at: datetime, *drafts: Draft) -> None:
    record.append(drafts, lambda: at)


def a_reading(code: str, at: datetime, temp: str = "38") -> Draft:
    body = Measured(step="cold_hold", temp=temp, degree="F")
    return Draft(body=body, at=at, person="JM", batch=code)


def make_gravies(record: Record, days: int, parts: int) -> str:
    """Make a gravy each day from those of the days before, each used up by the next morning."""
    for day in range(days):
        at = FIRST_DAY + day * DAY
        made_from = tuple(f"gravy-{n}" for n in range(max(day - parts, 0), day))
        body = BatchOpened(food="gravy", made_from=made_from)
        batch = Draft(body=body, at=at, person="JM", batch=f"gravy-{day}")
        used = [Draft(body=UsedUp(), at=at, person="JM", batch=f"gravy-{day - parts}")]
        log(record, at, batch, a_reading(f"gravy-{day}", at), *(used if day >= parts else []))
    return f"gravy-{days - 1}"


def statements(engine: sa.Engine, work: Callable[[], Any]) -> int:
    counted: list[str] = []
    driver = engine.raw_connection().driver_connection
    driver.set_trace_callback(counted.append)  # type: ignore[union-attr]
    work()
    driver.set_trace_callback(None)  # type: ignore[union-attr]
    return len(counted)


@pytest.mark.parametrize("parts", [1, 2])
def test_500_generations_of_a_gravy_are_read_once_each(
    parts: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    record = opened(tmp_path / "record.sqlite3")
    last = make_gravies(record, 500, parts)
    record = record.as_it_stands()
    register = read_register(record)
    folded: Counter[datetime | None] = Counter()

    def counted_by(fold: Callable[..., Judged]) -> Callable[..., Judged]:
        def count(life: Life, *rest: Any) -> Judged:
            folded[life.opened] += 1
            return fold(life, *rest)

        return count

    for name, fold in (("judge", judge), ("hand_on", hand_on)):
        monkeypatch.setattr(f"haccp.kitchen.batches.{name}", counted_by(fold))
    assert isinstance(record.store, FileStore)
    engine = record.store._engine
    now = FIRST_DAY + 499 * DAY + timedelta(hours=1)
    limit = sys.getrecursionlimit()
    sys.setrecursionlimit(180)  # nothing may go as deep as the food does
    try:
        counted = statements(engine, lambda: matters(record, register, now))
        found = came_from(record, last)
    finally:
        sys.setrecursionlimit(limit)
    assert {one.batch.name for one in found} == {f"gravy-{n}" for n in range(499)}
    assert len({one.batch.name for one in went_into(record, "gravy-0")}) == 499
    # a generation is read by one statement in its transaction, and folded as each
    # that is made of it began, and as it is
    assert counted < 500 * 6 + 200
    assert len(folded) >= 499
    assert max(folded.values()) <= parts + 1
    # what stood undecided of 500 gravies is carried, each kind of it once, as of the oldest
    (batch,) = read_batches(record, [last])
    carried = [one for one in batch.judged(register, now) if one.of]
    kinds = [(one.limit.name, one.limit.kind, one.verdict) for one in carried]
    assert kinds
    assert len(kinds) == len({*kinds})
    # each gravy keeps the mark of the one in it: the very first one's seven days
    assert date_mark(record, register, last, now) == (FIRST_DAY + 6 * DAY).date()
    record.close()


def test_a_day_in_the_freezer_counts_for_all_that_is_made_of_it(tmp_path: Path) -> None:
    """Compared with a recursion over the definition, for a lineage of every shape."""
    record = opened(tmp_path / "record.sqlite3")
    shapes = {"a": (), "b": ("a",), "c": ("a", "b"), "d": ("c", "b"), "e": ("d",)}
    for day, (code, parts) in enumerate(shapes.items()):
        at = FIRST_DAY + day * DAY
        body = BatchOpened(food="x", made_from=parts)
        log(record, at, Draft(body=body, at=at, person="JM", batch=code))
    record = record.as_it_stands()
    register = read_register(record)

    def by_hand(code: str) -> datetime:
        opened_at = FIRST_DAY + list(shapes).index(code) * DAY
        return min([opened_at + 6 * DAY, *map(by_hand, shapes[code])])

    for code in shapes:
        found = date_mark(record, register, code, FIRST_DAY + 5 * DAY)
        assert found == by_hand(code).date()
    record.close()


def test_food_divided_and_put_together_again_and_again_is_not_shown_in_the_end(
    tmp_path: Path,
) -> None:
    """Each round, with a reading of each half, doubles the ways back: they must not explode."""
    record = opened(tmp_path / "record.sqlite3")
    at = FIRST_DAY
    whole = "pot-0"
    log(record, at, Draft(body=BatchOpened(food="x"), at=at, person="JM", batch=whole))
    for round_ in range(1, 12):
        halves = [f"half-{round_}-{side}" for side in "ab"]
        for side, half in enumerate(halves):
            at += timedelta(minutes=1)
            body = BatchOpened(food="x", portion_of=(whole,))
            batch = Draft(body=body, at=at, person="JM", batch=half)
            log(record, at, batch, a_reading(half, at, str(36 + side)))
        at += timedelta(minutes=1)
        whole = f"pot-{round_}"
        body = BatchOpened(food="x", portion_of=tuple(halves))
        log(record, at, Draft(body=body, at=at, person="JM", batch=whole))
    view = record.as_it_stands()
    assert len(read_batches(view, ["pot-4"])[0].histories) == 16 <= MOST_WAYS
    (last,) = read_batches(view, [whole])
    assert last.ways_cut
    assert len(last.histories) == MOST_WAYS
    (found,) = not_shown_for(last, read_register(view))
    assert found.verdict is Verdict.NOT_SHOWN
    assert "cannot be followed" in found.limit.text
    record.close()
