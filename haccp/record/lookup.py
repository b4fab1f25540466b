"""Reading the record by number and along its threads, each entry checked for what it is."""

import sqlite3
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from types import MappingProxyType
from typing import Any, NamedTuple

from haccp.errors import Refused
from haccp.language import message, phrase
from haccp.record.bodies import Logged
from haccp.record.bodies_of_record import ClockMoved
from haccp.record.chain import is_as_digested
from haccp.record.domains import numbered
from haccp.record.driver import Driver
from haccp.record.entries import CHAINED, FIRST, Entry, entry_from
from haccp.record.threads import batch_of, belongs_to, is_standing, of_kind, threads_of

# The numbers that SQLite can hold; none of haccp's is below 1.
LOWEST, HIGHEST = -(2**63), 2**63 - 1
AT_ONCE = 500  # names in one statement; SQLite takes 32,766
MISSING = message("entry no. {seq} is missing.")
_READ = ", ".join(f"e.{column}" for column in (*CHAINED, "digest"))

COLUMNS = (*CHAINED, "digest")
_INSERT = f"INSERT INTO entry ({', '.join(COLUMNS)}) VALUES ({', '.join('?' * len(COLUMNS))})"

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


class Settled(NamedTuple):
    """Up to which entry nothing of a thread is undecided, and which is its last one."""

    until: int
    last: int

    @property
    def is_whole(self) -> bool:
        return self.until == self.last


class Head(NamedTuple):
    """The record's head, and what there is to be found in the other tables.

    `reaches_back` is the number of the last entry that may change what was found of earlier ones,
    `standing` names the threads that go on for years, a line each.
    """

    seq: int
    digest: str
    threads: int
    open_batches: int
    open_numbers: int
    reaches_back: int
    standing: str


EMPTY = Head(0, FIRST, 0, 0, 0, 0, "")


def head(connection: Driver, beside: str = "") -> Head:
    row = connection.execute(
        "SELECT seq, digest, threads, open_batches, open_numbers, reaches_back, standing"
        f" FROM {beside}derived_head WHERE id = 1"
    ).fetchone()
    if row is None:
        raise derived_is_damaged()
    made = Head(*row)
    wanted = [str if name in ("digest", "standing") else int for name in Head._fields]
    if [type(one) for one in made] != wanted:
        raise derived_is_damaged()
    return made


def derived_is_damaged() -> Refused:
    return Refused(
        phrase(
            "What is derived of the entries is damaged: haccp export them and haccp "
            "import-record them into a new record, or restore a backup."
        )
    )


def last_entry(connection: Driver) -> tuple[int, str, str | None]:
    """Give the last entry's number, digest and moment of entry; 0 and zeros for none."""
    asked = "SELECT seq, digest, entered_at FROM entry ORDER BY seq DESC LIMIT 1"
    row = connection.execute(asked).fetchone()
    return (numbered(row[0]), row[1], row[2]) if row else (0, FIRST, None)


def insert(connection: Driver, rows: Sequence[Mapping[str, Any]]) -> None:
    """Insert entries after all others, in order."""
    values = [[row[column] for column in COLUMNS] for row in rows]
    connection.executemany(_INSERT, values)


def by_number(connection: Driver, first: int, last: int) -> list[dict[str, Any]]:
    """Read entries by their numbers, first to last, from the entries' own table."""
    chosen = "entry e WHERE e.seq BETWEEN ? AND ? ORDER BY e.seq"
    return rows_of(connection, chosen, (first, last))


def following(connection: Driver, after: int, last: int, most: int) -> list[dict[str, Any]]:
    """Read entries by their numbers, those after one, up to another."""
    chosen = "entry e WHERE e.seq > ? AND e.seq <= ? ORDER BY e.seq LIMIT ?"
    return rows_of(connection, chosen, (after, last, most))


def successor(connection: Driver, number: int, last: int) -> int | None:
    """Say which entry replaced one or took it back, as seen up to entry `last`."""
    row = connection.execute(
        "SELECT seq FROM entry WHERE corrects = ? AND seq <= ?", (number, last)
    ).fetchone()
    return row[0] if row else None


def along(
    connection: Driver,
    spans: Mapping[str, tuple[int, int]],
    tell: Tell,
    over: str = "",
) -> dict[str, list[Entry]]:
    """Read the entries of threads between the numbers given for each, both included, checked.

    An hour of logged readings that began before the stored moment `over` is checked and left out.
    """
    found: dict[str, list[Entry]] = {name: [] for name in spans}
    for names in chunks(list(spans), AT_ONCE):
        each = ", ".join(["(?, ?, ?)"] * len(names))
        wanted = f"WITH wanted(name, first, last) AS (VALUES {each}) "
        values = [value for name in names for value in (name, *spans[name])]
        places, ends = _places(connection, wanted, values)
        chosen = (
            "wanted w CROSS JOIN derived_thread t ON t.name = w.name"
            " CROSS JOIN derived_link l ON l.thread = t.id"
            " AND l.seq BETWEEN w.first AND w.last"
            " CROSS JOIN entry e ON e.seq = l.seq ORDER BY t.id, l.seq"
        )
        more = "t.name AS thread, l.place, "
        for row in rows_of(connection, chosen, values, more, wanted):
            name = row["thread"]
            if row["place"] != places[name] + 1:
                before = message("an entry of {name} before no. {seq} is missing.")
                tell(phrase(before, name=repr(name), seq=row["seq"]))
            places[name] = row["place"]
            if row["kind"] == Logged.kind and str(row["at"]) < over:
                check(row, tell)
                continue
            found[name].append(_checked(row, name, tell))
        for name, end in ends.items():
            if places[name] != end:
                tell(phrase("the last entry of {name} is missing.", name=repr(name)))
        for name in names:
            if name not in ends and _must_be(connection, name):
                tell(phrase("all entries of {name} are missing.", name=repr(name)))
    return found


def _must_be(connection: Driver, name: str) -> bool:
    """Whether a thread that is not found must be there: something else says that it was made."""
    if is_standing(name):
        return name in head(connection).standing.splitlines()
    return bool(batch_of(name) and known(connection, "code = ?", (batch_of(name),)))


def _places(
    connection: Driver, wanted: str, values: Sequence[Any]
) -> tuple[dict[str, int], dict[str, int]]:
    """Give which place in its thread comes before what is wanted of it, and which is its last."""
    link = "SELECT l.place FROM derived_link l WHERE l.thread = t.id"
    before = f"{link} AND l.seq < w.first ORDER BY l.seq DESC LIMIT 1"
    after = f"{link} AND l.seq > w.last ORDER BY l.seq LIMIT 1"
    counted = connection.execute(
        f"{wanted} SELECT t.name, t.total, ({before}), ({after}) FROM wanted w"
        " CROSS JOIN derived_thread t ON t.name = w.name",
        values,
    ).fetchall()
    ends = {name: after - 1 if after else total for name, total, _, after in counted}
    return {name: passed or 0 for name, _, passed, _ in counted}, ends


def goes_on(connection: Driver, names: Sequence[str], last: int) -> bool:
    """Whether anything in a thread was entered after entry `last`."""
    chosen = (
        "SELECT 1 FROM derived_thread t JOIN derived_link l ON l.thread = t.id"
        f" WHERE t.name IN ({marks(names)}) AND l.seq > ? LIMIT 1"
    )
    return connection.execute(chosen, (*names, last)).fetchone() is not None


def settled(connection: Driver, names: Sequence[str], last: int) -> dict[str, Settled]:
    """Give up to which entry nothing of a thread is undecided, for those of which that is known.

    Nothing is, once an entry came that may change what was found of earlier ones.
    """
    since = head(connection).reaches_back
    found: dict[str, Settled] = {}
    links = "derived_link l WHERE l.thread = t.id ORDER BY l.seq DESC"
    for some in chunks(names, AT_ONCE):
        chosen = (
            f"SELECT t.name, s.until, (SELECT l.seq FROM {links} LIMIT 1)"
            " FROM derived_thread t"
            f" JOIN derived_settled s ON s.thread = t.id WHERE t.name IN ({marks(some)})"
            " AND s.judged_at >= ? AND s.judged_at <= ?"
        )
        for name, until, end in connection.execute(chosen, (*some, since, last)):
            found[name] = Settled(until, end)
    return found


def settle(connection: Driver, names: Sequence[str], last: int) -> None:
    """Note that nothing of threads is undecided, as judged at entry `last`."""
    newest_of = "SELECT max(l.seq) FROM derived_link l WHERE l.thread ="
    for some in chunks(names, AT_ONCE):
        these = f"derived_thread t WHERE t.name IN ({marks(some)})"
        connection.execute(
            "UPDATE derived_settled SET judged_at = ?,"
            f" until = ({newest_of} derived_settled.thread)"
            f" WHERE thread IN (SELECT t.id FROM {these})",
            (last, *some),
        )
        connection.execute(
            "INSERT INTO derived_settled (thread, until, judged_at)"
            f" SELECT t.id, ({newest_of} t.id), CAST(? AS BIGINT) FROM {these}"
            " AND NOT EXISTS (SELECT 1 FROM derived_settled s WHERE s.thread = t.id)",
            (last, *some),
        )


def newest(connection: Driver, name: str, most: int, before: int, tell: Tell) -> list[Entry]:
    """Read the last entries of a thread before a number, the newest first, each checked."""
    thread = connection.execute(
        "SELECT id, total FROM derived_thread WHERE name = ?", (name,)
    ).fetchone()
    if thread is None:
        if _must_be(connection, name):
            tell(phrase("all entries of {name} are missing.", name=repr(name)))
        return []
    number, total = thread
    following = connection.execute(
        "SELECT place FROM derived_link WHERE thread = ? AND seq >= ? ORDER BY seq LIMIT 1",
        (number, before),
    ).fetchone()
    place = following[0] - 1 if following else total
    chosen = (
        "derived_link l CROSS JOIN entry e ON e.seq = l.seq"
        " WHERE l.thread = ? AND l.seq < ? ORDER BY l.seq DESC LIMIT ?"
    )
    rows = rows_of(connection, chosen, (number, before, most), "l.place, ")
    for row in rows:
        if row["place"] != place:
            after = message("an entry of {name} after no. {seq} is missing.")
            tell(phrase(after, name=repr(name), seq=row["seq"]))
        place = row["place"] - 1
    if place and len(rows) < most:
        tell(phrase("an entry of {name} is missing.", name=repr(name)))
    return [_checked(row, name, tell) for row in rows]


def first_entered(connection: Driver, moment: str, last: int, tell: Tell) -> int:
    """Find the first entry up to `last` that was made at a stored moment or later.

    The moments of entry do not run backwards but where the clock was put back, which is on record:
    between two such places they are searched by halving. Gives `last` + 1 where there is none.
    """
    moves = along(connection, {of_kind(ClockMoved.kind): (1, last)}, tell)[of_kind(ClockMoved.kind)]
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
                "SELECT entered_at FROM entry WHERE seq = ?", (middle,)
            ).fetchone()
            if row is None or not isinstance(row[0], str):
                lost = message("entry no. {seq} has no moment of its entry.") if row else MISSING
                tell(phrase(lost, seq=middle))
                return 1
            low, high = (low, middle) if row[0] >= moment else (middle + 1, high)
        if low < end:
            found.append(low)
    return min(found, default=last + 1)


def open_batches(connection: Driver, tell: Tell) -> list[Known]:
    """List the batches of which something is left, the newest first."""
    found = known(connection, "ended IS NULL ORDER BY opened DESC")
    counted = head(connection)
    if (len(found), sum(one.opened for one in found)) != counted[3:5]:
        tell(phrase("the list of open batches is not as it was made."))
    return found


def batches_left(connection: Driver, first: int, last: int, tell: Tell) -> list[Known]:
    """List the batches opened by entry `last` that had not ended before entry `first`.

    One whose end was taken back meanwhile is among them: its thread says how it was then.
    """
    open_now = [one for one in open_batches(connection, tell) if one.opened <= last]
    ended = known(connection, "ended >= ? AND opened <= ? ORDER BY opened", (first, last))
    return sorted((*ended, *open_now), key=lambda one: one.opened)


def batches_called(connection: Driver, beginning: str, most: int) -> list[Known]:
    """List the batches whose code or name begins so, whatever its capitals; the newest first."""
    begins = _stored(beginning)
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


def _stored(name: str) -> str:
    """Write a name as it is looked for: folded, and without what no file in UTF-8 can hold."""
    return name.casefold().encode("utf-8", "replace").decode()


def batches_named(connection: Driver, name: str) -> list[Known]:
    """List the batches whose code or name is this one, whatever its capitals."""
    folded = _stored(name)
    return known(connection, "folded = ? OR called_folded = ? ORDER BY opened", (folded, folded))


def batches_between(connection: Driver, first: int, last: int, span: tuple[str, str]) -> set[str]:
    """Name the batches of which entries `first` to `last` tell, of stored moments in a span."""
    chosen = (
        "SELECT DISTINCT batch FROM entry WHERE seq BETWEEN ? AND ?"
        " AND at >= ? AND at < ? AND batch IS NOT NULL"
    )
    return {str(row[0]) for row in connection.execute(chosen, (first, last, *span))}


def every_batch(connection: Driver) -> list[Known]:
    return known(connection, "true ORDER BY opened")


def known(
    connection: Driver, chosen: str, values: Sequence[Any] = (), beside: str = ""
) -> list[Known]:
    columns = "code, called, opened, ended"
    statement = f"SELECT {columns} FROM {beside}derived_batch WHERE {chosen}"
    return [_known(*row) for row in connection.execute(statement, values)]


def _known(code: Any, called: Any, opened: Any, ended: Any) -> Known:
    """Take a row of what became of a batch; a damaged file may hold anything in its place."""
    named = isinstance(code, str) and isinstance(called, str)
    if not (named and isinstance(opened, int) and isinstance(ended, int | None)):
        raise derived_is_damaged()
    return Known(code, called, opened, ended)


def rows_of(
    connection: Driver,
    chosen: str,
    values: Sequence[Any],
    more: str = "",
    before: str = "",
) -> list[dict[str, Any]]:
    try:
        cursor = connection.execute(f"{before}SELECT {more}{_READ} FROM {chosen}", values)
        found = cursor.fetchall()  # before its columns are known, where answers are not waited for
        names = [column[0] for column in cursor.description]
        return [dict(zip(names, row, strict=True)) for row in found]
    except sqlite3.OperationalError as error:
        assert isinstance(connection, sqlite3.Connection)
        if "decode" not in str(error) or connection.text_factory is not str:
            raise
    # a text that is not UTF-8 was never written by haccp; it is read all the same, and told of
    connection.text_factory = lambda text: text.decode("utf-8", "surrogateescape")
    try:
        return rows_of(connection, chosen, values, more, before)
    finally:
        connection.text_factory = str


def check(row: Mapping[str, Any], tell: Tell) -> None:
    """Tell of an entry that is not what was recorded."""
    if not is_as_digested(row):
        altered = message("entry no. {seq} is not what was recorded: its digest differs.")
        tell(phrase(altered, seq=row["seq"]))


def _checked(row: Mapping[str, Any], thread: str, tell: Tell) -> Entry:
    check(row, tell)
    entry = entry_from(row)
    if entry.corrects is None and not belongs_to(entry, thread):
        other = message("entry no. {seq} does not belong to {name}.")
        tell(phrase(other, seq=entry.seq, name=repr(thread)))
    return entry


def marks(values: Sequence[Any]) -> str:
    return ", ".join("?" * len(values))


def chunks(values: Sequence[Any], size: int) -> Iterator[Sequence[Any]]:
    return (values[i : i + size] for i in range(0, len(values), size))


def named(
    connection: Driver, entry: Entry, new: Mapping[int, Entry] = MappingProxyType({})
) -> set[str]:
    """Name the threads of an entry: its own, and those of what it corrects, which may be new."""
    found = threads_of(entry)
    if entry.corrects is not None:
        known = new.get(entry.corrects)
        rows = () if known else by_number(connection, entry.corrects, entry.corrects)
        corrected = [known] if known else [entry_from(row) for row in rows]
        found |= {name for one in corrected for name in threads_of(one)}
    return found
