"""Does a view hold exactly its tills' entries, in exactly their order, and nothing else?"""

from collections.abc import Callable, Iterator
from contextlib import ExitStack
from functools import partial
from itertools import zip_longest
from typing import Any

from haccp.errors import Refused
from haccp.language import message, phrase
from haccp.record import lookup
from haccp.record.chain import first_misfit
from haccp.record.driver import Driver
from haccp.record.entries import FIRST
from haccp.record.merging import FromTill, Names, of_till, shown
from haccp.record.store import Record
from haccp.record.tills import (
    AT_ONCE,
    OWN,
    Read,
    Till,
    kept,
    number_of_entry,
    reading,
    source_of,
    tills_in,
)  # fmt: skip


def compare(record: Record, walked: Callable[[int], None] = lambda _: None) -> list[str]:
    """Say where a view does not hold exactly its tills' entries, in their order, and nothing else.

    All of it is made anew from the chains and compared. What a till typed since is not looked for.
    """
    with ExitStack() as opened, record.transaction() as connection:
        driver = record.store.driver(connection)
        tills = tills_in(driver)
        looked = [_Looked(till, opened, driver) for till in tills]
        names = Names([till.name for till in tills])
        made = shown([one.entries() for one in looked], names, partial(number_of_entry, driver))
        problems = []
        for count, (one, there) in enumerate(zip_longest(made, _held(driver))):
            if one is None or there is None or {**one.row, "source": source_of(one)} != there:
                seq = there["seq"] if there else one.row["seq"] if one else 0
                unlike = message("entry no. {seq} of the view is not what its tills hold.")
                problems.append(phrase(unlike, seq=seq))
                break
            if count % AT_ONCE == 0:
                walked(AT_ONCE)
        problems = [phrase("{till}: {why}", till=one.till.name, why=one.why)
                    for one in looked if one.why] + problems  # fmt: skip
        said = driver.execute("SELECT * FROM said ORDER BY seq, rowid").fetchall()
        if not problems and said != [tuple(one) for one in names.new]:
            problems.append(phrase("what the view keeps of the tills' names is not what they say."))
        return problems


def _held(driver: Driver) -> Iterator[dict[str, Any]]:
    """Give a view's entries with whose they are, as they stand there."""
    after = 0
    while rows := lookup.following(driver, after, lookup.HIGHEST, AT_ONCE):
        whose = "SELECT * FROM shown WHERE seq > ? ORDER BY seq LIMIT ?"
        sources = driver.execute(whose, (after, len(rows))).fetchall()
        for row, source in zip_longest(rows, sources):
            yield {**(row or {"seq": source[0]}), "source": source}
        after = rows[-1]["seq"]


class _Looked:
    """A till's chain as far as a view shows it, walked anew; `why` says where it does not hold."""

    def __init__(self, till: Till, opened: ExitStack, driver: Driver) -> None:
        self.till = till
        self.why = ""
        self._driver = driver
        self._read: Read | None = None
        try:
            self._read = opened.enter_context(reading(till.place))
        except (Refused, OSError) as error:
            self.why = phrase("its own chain was not looked at. {why}", why=error)

    def entries(self) -> Iterator[FromTill]:
        if self._read is None:
            yield from kept(self._driver, self.till.id, f"(SELECT {OWN}) e WHERE e.till = ?")
        else:
            yield from of_till(self.till.id, self._rows(self._read))

    def _rows(self, read: Read) -> Iterator[dict[str, Any]]:
        number, previous = 0, FIRST
        while number < self.till.number:
            rows = read(number)
            for row in rows[: self.till.number - number]:
                self.why = first_misfit([row], number + 1, previous) or ""
                if self.why:
                    return
                number, previous = row["seq"], row["digest"]
                yield row
            if not rows:
                gone = message("entry no. {seq} is gone, and all after it.")
                self.why = phrase(gone, seq=number + 1)
                return
