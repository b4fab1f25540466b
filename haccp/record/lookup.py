"""Reading the record by number and along its threads, each entry checked for what it is."""

import sqlite3
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, NamedTuple

from haccp.record.chain import first_misfit, is_as_digested
from haccp.record.entries import CHAINED, FIRST, ClockMoved, Entry, entry_from
from haccp.record.threads import of_kind, threads_of

AT_ONCE = 500  # names in one statement; SQLite takes 32,766
_READ = ", ".join(f"e.{column}" for column in (*CHAINED, "digest"))

# Is told, in a sentence, what is not as it was made; it may raise.
Tell = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Known:
    """A batch as it is listed: its opening's number, and the number of what ended it, if any.

    `called` is what its container was called last. One whose opening was withdrawn has ended.
    """

    code: str
    called: str
    opened: int
    ended: int | None


class Head(NamedTuple):
    """The record's head, and what there is to be found in the other tables."""

    seq: int
    digest: str
    threads: int
    open_batches: int
    open_numbers: int


def head(connection: sqlite3.Connection, schema: str = "main") -> Head:
    row = connection.execute(
        "SELECT seq, digest, threads, open_batches, open_numbers"
        f" FROM {schema}.derived_head WHERE id = 1"
    ).fetchone()
    return Head(*row) if row else Head(0, FIRST, 0, 0, 0)


def by_number(connection: sqlite3.Connection, first: int, last: int) -> list[dict[str, Any]]:
    """Read entries by their numbers, first to last, from the entries' own table."""
    chosen = "main.entry e WHERE e.seq BETWEEN ? AND ? ORDER BY e.seq"
    return rows_of(connection, chosen, (first, last))


def successor(connection: sqlite3.Connection, number: int, last: int) -> int | None:
    """Say which entry replaced one or took it back, as seen up to entry `last`."""
    row = connection.execute(
        "SELECT seq FROM main.entry WHERE corrects = ? AND seq <= ?", (number, last)
    ).fetchone()
    return row[0] if row else None


def along(
    connection: sqlite3.Connection, names: Iterable[str], tell: Tell, first: int = 1
) -> dict[str, list[Entry]]:
    """Read the entries of threads, those numbered `first` and later, each checked."""
    wanted = list(dict.fromkeys(names))
    found: dict[str, list[Entry]] = {name: [] for name in wanted}
    places: dict[str, int] = {}
    for some in chunks(wanted, AT_ONCE):
        totals, passed = _totals(connection, some, first)
        chosen = (
            "main.derived_thread t CROSS JOIN main.derived_link l ON l.thread = t.id"
            f" CROSS JOIN main.entry e ON e.seq = l.seq WHERE t.name IN ({marks(some)})"
            " AND l.seq >= ? ORDER BY t.id, l.seq"
        )
        for row in rows_of(connection, chosen, (*some, first), "t.name AS thread, l.place, "):
            name = row["thread"]
            if row["place"] != places.get(name, passed[name]) + 1:
                tell(f"an entry of {name!r} before no. {row['seq']} is missing.")
            places[name] = row["place"]
            found[name].append(_checked(row, name, tell))
        for name, total in totals.items():
            if places.get(name, passed[name]) != total:
                tell(f"the last entry of {name!r} is missing.")
    return found


def _totals(
    connection: sqlite3.Connection, names: Sequence[str], first: int
) -> tuple[dict[str, int], dict[str, int]]:
    """Give how many entries threads have, and how many of them before entry `first`."""
    before = (
        "SELECT l.place FROM main.derived_link l WHERE l.thread = t.id AND l.seq < ?"
        " ORDER BY l.seq DESC LIMIT 1"
    )
    counted = connection.execute(
        f"SELECT t.name, t.total, ({before}) FROM main.derived_thread t"
        f" WHERE t.name IN ({marks(names)})",
        (first, *names),
    ).fetchall()
    return {name: total for name, total, _ in counted}, {
        name: passed or 0 for name, _, passed in counted
    }


def newest(
    connection: sqlite3.Connection, name: str, most: int, before: int, tell: Tell
) -> list[Entry]:
    """Read the last entries of a thread before a number, the newest first, each checked."""
    thread = connection.execute(
        "SELECT id, total FROM main.derived_thread WHERE name = ?", (name,)
    ).fetchone()
    if thread is None:
        return []
    number, total = thread
    following = connection.execute(
        "SELECT place FROM main.derived_link WHERE thread = ? AND seq >= ? ORDER BY seq LIMIT 1",
        (number, before),
    ).fetchone()
    place = following[0] - 1 if following else total
    chosen = (
        "main.derived_link l CROSS JOIN main.entry e ON e.seq = l.seq"
        " WHERE l.thread = ? AND l.seq < ? ORDER BY l.seq DESC LIMIT ?"
    )
    rows = rows_of(connection, chosen, (number, before, most), "l.place, ")
    for row in rows:
        if row["place"] != place:
            tell(f"an entry of {name!r} after no. {row['seq']} is missing.")
        place = row["place"] - 1
    if place and len(rows) < most:
        tell(f"an entry of {name!r} is missing.")
    return [_checked(row, name, tell) for row in rows]


def first_entered(connection: sqlite3.Connection, moment: str, last: int, tell: Tell) -> int:
    """Find the first entry up to `last` that was made at a stored moment or later.

    The moments of entry do not run backwards but where the clock was put back, which is on record:
    between two such places they are searched by halving. Gives `last` + 1 where there is none.
    """
    moves = along(connection, [of_kind(ClockMoved.kind)], tell)[of_kind(ClockMoved.kind)]
    back = [
        move.seq
        for move in moves
        if isinstance(move.body, ClockMoved) and move.body.seconds < 0 and move.seq <= last
    ]
    found = []
    for begin, end in pairwise((1, *back, last + 1)):
        low, high = begin, end
        while low < high:
            middle = (low + high) // 2
            row = connection.execute(
                "SELECT entered_at FROM main.entry WHERE seq = ?", (middle,)
            ).fetchone()
            if row is None:
                tell(f"entry no. {middle} is missing.")
                return 1
            low, high = (low, middle) if row[0] >= moment else (middle + 1, high)
        if low < end:
            found.append(low)
    return min(found, default=last + 1)


@dataclass(frozen=True, slots=True)
class Walked:
    """The end of the chain as it was read by number, each entry following the one before it."""

    first: int
    entries: tuple[Entry, ...]
    threads: Mapping[str, Sequence[int]]

    def from_number(self, number: int) -> list[Entry] | None:
        """Give the entries from a number on; None where the walk began later."""
        if number < self.first:
            return None
        return [one for one in self.entries if one.seq >= number]

    def compare(self, name: str, entries: Iterable[Entry], first: int, tell: Tell) -> None:
        """Compare what was read along a thread, from entry `first` on, with what was walked."""
        begins, last = max(first, self.first), self.first + len(self.entries) - 1
        along_it = {one.seq for one in entries if begins <= one.seq <= last}
        walked = {number for number in self.threads.get(name, ()) if number >= begins}
        if along_it != walked:
            tell(f"what is derived of {name!r} does not agree with the entries.")


def walk(connection: sqlite3.Connection, first: int, last: int, tell: Tell) -> Walked:
    """Read the entries `first` to `last` by number, and check each against chain and head."""
    rows = by_number(connection, first - 1, last)
    earlier = rows.pop(0) if first > 1 and rows else None
    misfit = first_misfit(rows, first, earlier["digest"] if earlier else FIRST)
    if misfit:
        tell(misfit)
    if first + len(rows) != last + 1:
        tell(f"entry no. {first + len(rows)} is missing.")
    counted = head(connection)
    ends = rows[-1] if rows else earlier
    if (
        ends
        and (counted.seq, counted.digest) != (ends["seq"], ends["digest"])
        and (counted.seq <= ends["seq"])
    ):
        tell("its head is not the one that was written last.")
    if connection.execute("SELECT count(*) FROM main.derived_thread").fetchone()[0] != (
        counted.threads
    ):
        tell("a thread of its entries is missing.")
    entries = [entry_from(row) for row in rows]
    threads: dict[str, list[int]] = {}
    for row, entry in zip(rows, entries, strict=True):
        for name in named(connection, row):
            threads.setdefault(name, []).append(entry.seq)
    return Walked(first, tuple(entries), threads)


def open_batches(connection: sqlite3.Connection, tell: Tell) -> list[Known]:
    """List the batches of which something is left, the newest first."""
    found = known(connection, "ended IS NULL ORDER BY opened DESC")
    counted = head(connection)
    if (len(found), sum(one.opened for one in found)) != counted[3:]:
        tell("the list of open batches is not as it was made.")
    return found


def batches_left(connection: sqlite3.Connection, first: int, last: int, tell: Tell) -> list[Known]:
    """List the batches opened by entry `last` that had not ended before entry `first`.

    One whose end was taken back meanwhile is among them: its thread says how it was then.
    """
    open_now = [one for one in open_batches(connection, tell) if one.opened <= last]
    ended = known(connection, "ended >= ? AND opened <= ? ORDER BY opened", (first, last))
    return sorted((*ended, *open_now), key=lambda one: one.opened)


def batches_called(connection: sqlite3.Connection, beginning: str, most: int) -> list[Known]:
    """List the batches whose code or name begins so, whatever its capitals; the newest first."""
    begins = beginning.casefold()
    until = begins + chr(0x10FFFF)
    found = [
        one
        for column in ("folded", "called_folded")
        for one in known(
            connection,
            f"{column} >= ? AND {column} < ? AND {column} != '' ORDER BY opened DESC LIMIT ?",
            (begins, until, most),
        )
    ]
    unique = {one.code: one for one in found}
    return sorted(unique.values(), key=lambda one: -one.opened)[:most]


def batches_named(connection: sqlite3.Connection, name: str) -> list[Known]:
    """List the batches whose code or name is this one, whatever its capitals."""
    folded = name.casefold()
    return known(connection, "folded = ? OR called_folded = ? ORDER BY opened", (folded, folded))


def every_batch(connection: sqlite3.Connection) -> list[Known]:
    return known(connection, "true ORDER BY opened")


def known(
    connection: sqlite3.Connection, chosen: str, values: Sequence[Any] = (), schema: str = "main"
) -> list[Known]:
    columns = "code, called, opened, ended"
    statement = f"SELECT {columns} FROM {schema}.derived_batch WHERE {chosen}"
    return [Known(*row) for row in connection.execute(statement, values)]


def rows_of(
    connection: sqlite3.Connection, chosen: str, values: Sequence[Any], more: str = ""
) -> list[dict[str, Any]]:
    try:
        cursor = connection.execute(f"SELECT {more}{_READ} FROM {chosen}", values)
        names = [column[0] for column in cursor.description]
        return [dict(zip(names, row, strict=True)) for row in cursor]
    except sqlite3.OperationalError as error:
        if "decode" not in str(error) or connection.text_factory is not str:
            raise
    # a text that is not UTF-8 was never written by haccp; it is read all the same, and told of
    connection.text_factory = lambda text: text.decode("utf-8", "surrogateescape")
    try:
        return rows_of(connection, chosen, values, more)
    finally:
        connection.text_factory = str


def _checked(row: Mapping[str, Any], thread: str, tell: Tell) -> Entry:
    if not is_as_digested(row):
        tell(f"entry no. {row['seq']} is not what was recorded: its digest differs.")
    entry = entry_from(row)
    if entry.corrects is None and thread not in threads_of(entry):
        tell(f"entry no. {entry.seq} does not belong to {thread!r}.")
    return entry


def marks(values: Sequence[Any]) -> str:
    return ", ".join("?" * len(values))


def chunks(values: Sequence[Any], size: int) -> Iterator[Sequence[Any]]:
    return (values[i : i + size] for i in range(0, len(values), size))


def named(connection: sqlite3.Connection, row: Mapping[str, Any]) -> set[str]:
    """Name the threads of an entry: its own, and those of what it corrects."""
    found = threads_of(entry_from(row))
    if row["corrects"] is not None:
        corrected = by_number(connection, row["corrects"], row["corrects"])
        found |= {name for one in corrected for name in threads_of(entry_from(one))}
    return found
