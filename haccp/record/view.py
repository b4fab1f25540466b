"""Makes a view of tills and brings it up to date, in one transaction: all or nothing.

What came late and belongs before what is there cuts the view back to that place, and it is made
anew from there, so that it is the same however often it was brought up to date.
"""

import os
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Mapping
from contextlib import ExitStack, closing
from datetime import datetime
from glob import escape
from pathlib import Path
from typing import Any

from haccp.errors import Refused
from haccp.language import message, phrase
from haccp.record import lookup
from haccp.record.chain import first_misfit
from haccp.record.cut_back import cut_back
from haccp.record.derived import Writer
from haccp.record.domains import misplaced
from haccp.record.driver import Driver
from haccp.record.merging import FromTill, Said, Shown, of_till, place_of, shown
from haccp.record.places import Place, Server
from haccp.record.sqlite import FileStore
from haccp.record.store import Record, open_record
from haccp.record.tills import (
    AT_ONCE,
    OWN,
    Read,
    Till,
    kept,
    names_in,
    number_of_entry,
    reading,
    refuse_copies,
    source_of,
    tills_in,
    tills_of,
    told,
)  # fmt: skip
from haccp.record.view_tables import SHAPES, only_row
from haccp.time import stored

_MADE_OF = message(
    "{till} ({place}) is not the record any more that this view was made of, from its no. {number} "
    "on: a backup was put back there, or it was rewritten. Look at it, then make the view anew: "
    "haccp --db {view} record tills --anew"
)


class _News:
    """What a till's chain holds after an entry, each checked; it ends where it cannot be read.

    `why` says then why, in a sentence.
    """

    def __init__(self, till: Till, opened: ExitStack, view: Place) -> None:
        self.till = till
        self.why = ""
        self._read: Read | None = None
        self._follow: list[dict[str, Any]] = []
        try:
            self._read = opened.enter_context(reading(till.place))
            self._follow = self._read(till.number - 1 if till.number else 0)
        except (Refused, OSError) as error:
            self._stop(error)
        if till.number and self._read:
            newest = self._follow[:1]
            del self._follow[:1]
            if _digest(next(iter(newest), None)) != till.digest:
                places = {"till": till.name, "place": till.place, "number": till.number}
                raise Refused(phrase(_MADE_OF, view=view, **places))
        self.first = next(iter(self._follow), None)  # that the view has not

    def rows(self) -> Iterator[dict[str, Any]]:
        number, previous = self.till.number, self.till.digest
        while self._read and self._follow:
            for row in self._follow:
                misfit = first_misfit([row], number + 1, previous) or misplaced(row)
                if misfit:
                    self.why = misfit
                    return
                number, previous = row["seq"], row["digest"]
                yield row
            try:
                self._follow = self._read(number)
            except (Refused, OSError) as error:
                self._stop(error)

    def _stop(self, error: Exception) -> None:
        self._read, self._follow, self.why = None, [], str(error)


def caught_up(record: Record, now: datetime) -> Record:
    """Bring a view up to date and give it as it stands; what is not in it is among its troubles."""
    told = catch_up(record, now)
    view = Record(record.store).as_it_stands()
    view.troubles += told
    return view


def catch_up(record: Record, now: datetime) -> list[str]:
    """Take into a view what its tills hold more, all or nothing; say of each what is not in it."""
    store = record.store
    assert isinstance(store, FileStore)  # nothing else is a view
    with ExitStack() as opened, store.merging() as driver:
        tills = tills_in(driver)
        news = [_News(till, opened, store.place) for till in tills]
        refuse_copies([(one.till.name, one.till.first or _digest(one.first)) for one in news])
        firsts = [(one, one.first) for one in news if one.first]
        if firsts:
            begins = min(place_of(next(of_till(one.till.id, [first], one.till.reached)))
                         for one, first in firsts)  # fmt: skip
            tail = _cut(driver, begins)
            _write(store, driver, [_whole(tail, one) for one in news])
        for one in news:
            _note(driver, one, now)
        return list(told(driver, now))


def _digest(row: Mapping[str, Any] | None) -> str:
    return str(row["digest"]) if row else ""


def _cut(driver: Driver, begins: tuple[str, int]) -> Mapping[int, Iterator[FromTill]]:
    """Cut a view back to before what comes late; gives by till what was cut, as its till has it."""
    (last,) = driver.execute("SELECT coalesce(max(seq), 0) FROM shown").fetchone()
    place = "SELECT reached, till FROM shown WHERE seq = ?"
    first = 1 + bisect_right(
        range(1, last + 1),
        begins,
        key=lambda seq: only_row(driver, place, seq),
    )
    if first > last:
        return {}
    driver.execute("DROP TABLE IF EXISTS temp.tail")
    driver.execute(f"CREATE TEMP TABLE tail AS SELECT {OWN} WHERE e.seq >= {first}")
    driver.execute("CREATE INDEX temp.tail_of_till ON tail (till, seq)")
    cut_back(driver, first)
    for table in ("shown", "said"):
        driver.execute(f"DELETE FROM {table} WHERE seq >= ?", (first,))
    (cuts,) = driver.execute("PRAGMA user_version").fetchone()
    driver.execute(f"PRAGMA user_version = {cuts % _MOST_CUTS + 1}")
    tills = driver.execute("SELECT DISTINCT till FROM tail").fetchall()
    return {till: kept(driver, till, "temp.tail e WHERE e.till = ?") for (till,) in tills}


_MOST_CUTS = 2**30


def _whole(tail: Mapping[int, Iterator[FromTill]], news: _News) -> Iterator[FromTill]:
    """Give what was cut of a till, and then what is new of it."""
    yield from tail.get(news.till.id, ())
    yield from of_till(news.till.id, news.rows(), news.till.reached)


def _write(store: FileStore, driver: Driver, chains: Iterable[Iterable[FromTill]]) -> None:
    """Append to a view what follows in its order, with all that is derived of it."""
    fresh: dict[tuple[int, int], int] = {}

    def number_of(till: int, number: int) -> int:
        return fresh.get((till, number)) or number_of_entry(driver, till, number)

    seq, previous, _ = lookup.last_entry(driver)
    names = names_in(driver)
    made = shown(chains, names, number_of, seq, previous)
    writer = Writer(driver)
    some: list[Shown] = []

    def flush() -> None:
        store.enter(driver, writer.derive(driver, [one.row for one in some]))
        driver.executemany(_SHOWN, [source_of(one) for one in some])
        driver.executemany(_SAID, names.new)
        names.new.clear()
        fresh.clear()
        some.clear()

    for one in made:
        fresh[one.source.till, one.source.row["seq"]] = one.row["seq"]
        some.append(one)
        if len(some) == AT_ONCE:
            flush()
    if some:
        flush()


_SHOWN = f"INSERT INTO shown VALUES ({lookup.marks('12345678')})"
_SAID = f"INSERT INTO said VALUES ({lookup.marks(Said._fields)})"


def _note(driver: Driver, news: _News, now: datetime) -> None:
    till = news.till
    seen_at = till.seen_at if news.why else now
    driver.execute(
        "UPDATE till SET first = ?, seen_at = ?, why = ? WHERE id = ?",
        (till.first or _digest(news.first), stored(seen_at), news.why, till.id),
    )


def make(
    view: Path,
    tills: Mapping[str, Place],
    now: datetime,
    own: str = "",
) -> None:
    """Make a view of tills in a new file, which appears under its name only when it is whole.

    What is typed into it goes to the till called `own`, if any.

    Raises Refused where a till cannot be read, is no record, or is a copy of another.
    """
    made = view.with_name(f"{view.name}.{os.getpid()}.partial")
    try:
        with closing(open_record(made, create=True)) as record:
            store = record.store
            assert isinstance(store, FileStore)
            with store.merging() as driver:
                for statement in SHAPES.values():
                    driver.execute(statement)
                rows = [
                    (number, name, _written(place), stored(now), name == own)
                    for number, (name, place) in enumerate(tills.items())
                ]
                row = "INSERT INTO till VALUES (?, ?, ?, '', ?, '', ?)"
                driver.executemany(row, rows)
                driver.execute("PRAGMA user_version = 1")
            catch_up(record, now)
            for till in tills_of(record):
                if till.why:
                    raise Refused(f"{till.name}: {till.why}")
                if not till.number:
                    none = message("{path} holds no kitchen yet: make one with haccp setup.")
                    raise Refused(phrase(none, path=till.place))
        made.rename(view)
    finally:
        for left in made.parent.glob(f"{escape(made.name)}*"):
            left.unlink()


def _written(place: Place) -> str:
    return place.url if isinstance(place, Server) else str(place.resolve())
