"""A stretch of the chain read by number, believing nothing derived: what pages rest on."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from haccp.language import message, phrase
from haccp.record.chain import first_misfit
from haccp.record.driver import Driver
from haccp.record.entries import FIRST, Entry, entry_from
from haccp.record.lookup import MISSING, Tell, by_number, check, head, named, rows_of


@dataclass(frozen=True, slots=True)
class Walked:
    """A stretch of the chain as it was read by number, each entry following the one before it.

    `entries` are those numbered `first` to `last`, and of the later ones those about an earlier
    moment than the stretch's end. `threads` are the numbers of the entries of each thread in it.
    """

    first: int
    last: int
    entries: tuple[Entry, ...]
    threads: Mapping[str, Sequence[int]]

    @property
    def late(self) -> list[Entry]:
        return [one for one in self.entries if one.seq > self.last]

    def from_number(self, number: int) -> list[Entry] | None:
        """Give the entries from a number on; None where the walk began later."""
        if number < self.first:
            return None
        return [one for one in self.entries if one.seq >= number]

    def compare(
        self, name: str, entries: Iterable[Entry], span: tuple[int, int], tell: Tell
    ) -> None:
        """Compare what was read along a thread, between two numbers, with what was walked."""
        begins, ends = max(span[0], self.first), min(span[1], self.last)
        along_it = {one.seq for one in entries if begins <= one.seq <= ends}
        walked = {number for number in self.threads.get(name, ()) if begins <= number <= ends}
        if along_it != walked:
            words = message("what is derived of {name} does not agree with the entries.")
            tell(phrase(words, name=repr(name)))


def walk(connection: Driver, first: int, last: int, until: str, end: int, tell: Tell) -> Walked:
    """Read the entries `first` to `last` by number, and check each against chain and head.

    From there to `end`, the head, each is seen to follow the one before it, and those about a
    stored moment before `until` are read too.
    """
    rows = by_number(connection, first - 1, last)
    earlier = rows.pop(0) if first > 1 and rows else None
    misfit = first_misfit(rows, first, earlier["digest"] if earlier else FIRST)
    if misfit:
        tell(misfit)
    if first + len(rows) != last + 1:
        tell(phrase(MISSING, seq=first + len(rows)))
    _follow(connection, max(last, 1), end, tell)
    _compare_head(connection, end, tell)
    late = rows_of(
        connection, "entry e WHERE e.seq > ? AND e.seq <= ? AND e.at < ? ORDER BY e.seq",
        (last, end, until),
    )  # fmt: skip
    for row in late:
        check(row, tell)
    rows += late
    threads: dict[str, list[int]] = {}
    for row in rows:
        for name in named(connection, row):
            threads.setdefault(name, []).append(row["seq"])
    return Walked(first, last, tuple(map(entry_from, rows)), threads)


def _follow(connection: Driver, first: int, last: int, tell: Tell) -> None:
    """Check that the entries `first` to `last` are all there, each following the one before it."""
    if first >= last:
        return
    counted, broken = connection.execute(
        "SELECT count(*), min(CASE WHEN coalesce(later.previous, '') <> coalesce(e.digest, '')"
        " THEN later.seq END)"
        " FROM entry e JOIN entry later ON later.seq = e.seq + 1"
        " WHERE e.seq BETWEEN ? AND ?",
        (first, last - 1),
    ).fetchone()
    if broken is not None:
        tell(phrase("entry no. {seq} does not follow the one before it.", seq=broken))
    if counted != last - first:
        words = message("an entry between no. {first} and no. {last} is missing.")
        tell(phrase(words, first=first, last=last))


def _compare_head(connection: Driver, end: int, tell: Tell) -> None:
    counted = head(connection)
    row = next(iter(by_number(connection, end, end)), None)
    if counted.seq == end and (row["digest"] if row else FIRST) != counted.digest:
        tell(phrase("its head is not the one that was written last."))
    if counted.seq < end:
        tell(phrase("what is derived of the entries ends before them."))
    (threads,) = connection.execute("SELECT count(*) FROM derived_thread").fetchone()
    if threads != counted.threads:
        tell(phrase("a thread of its entries is missing."))
