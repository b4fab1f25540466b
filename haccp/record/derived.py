"""What is derived from the entries and kept beside them, in the same transaction: never instead.

`derived_thread` and `derived_link` hold each thread's entries, numbered without a gap;
`derived_batch` what became of each batch; `derived_head` the record's head, and how much of the
rest there is. `rebuild` makes all of it from the entries; `differences` compares it with them.

The statements go past SQLAlchemy to the driver: an import has millions of them.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from haccp.language import phrase
from haccp.record.bodies import (
    ENDS,
    BatchOpened,
    ContainerOpened,
    CoolingPlanned,
    CoolingSetup,
    CorrectiveAction,
    DaySigned,
    ForkDecided,
    Frozen,
    HandedOver,
    Logged,
    Measured,
    Moved,
    NotMeasured,
    Person,
    PinSet,
    Released,
    Renamed,
    SetApart,
    TakenOut,
    Thawed,
    ThermometerCheck,
    UnitEmptied,
    Unreadable,
)
from haccp.record.driver import Driver
from haccp.record.entries import Entry, entry_from, told_at
from haccp.record.lookup import (
    AT_ONCE,
    Head,
    Known,
    chunks,
    head,
    known,
    marks,
    named,
    rows_of,
    written_head,
)
from haccp.record.threads import about_batch, batch_of, is_standing

_CHUNK = 2_000


@dataclass(slots=True)
class _Thread:
    number: int
    total: int


class Writer:
    """Derives what follows from entries that were just inserted after all others, in order."""

    def __init__(self, connection: Driver, beside: str = "") -> None:
        self._connection = connection
        self._beside = beside
        written = written_head(connection, beside)
        self._is_first = written is None
        self._head = written or head(connection, beside)
        self._threads: dict[str, _Thread] = {}

    def add(self, rows: Sequence[Mapping[str, Any]]) -> list[Entry]:
        """Derive what follows from rows, and give them as entries."""
        entries = [entry_from(row) for row in rows]
        about = [(one.seq, sorted(named(self._connection, one))) for one in entries]
        self._find({name for _, names in about for name in names})
        links = [self._link(seq, name) for seq, names in about for name in names]
        self._many("INSERT INTO {}derived_link (thread, seq, place) VALUES (?, ?, ?)", links)
        moving = {row["seq"] for row in rows if _moves(row)}
        moved = {batch_of(name): None for seq, names in about if seq in moving for name in names}
        moved.pop("", None)
        count, numbers = self._head.open_batches, self._head.open_numbers
        for code in moved:
            before, after = self._place(code)
            for one, sign in ((before, -1), (after, 1)):
                if one and one.ended is None:
                    count, numbers = count + sign, numbers + sign * one.opened
        last = rows[-1]
        back = max((one.seq for one in entries if reaches_back(one)), default=0)
        self._head = Head(
            last["seq"],
            last["digest"],
            self._head.threads,
            count,
            numbers,
            back or self._head.reaches_back,
            self._head.standing,
        )
        return entries

    def close(self) -> None:
        """Write what was only counted so far."""
        counted = [(one.total, one.number) for one in self._threads.values()]
        self._many("UPDATE {}derived_thread SET total = ? WHERE id = ?", counted)
        if self._is_first:
            self._many(
                "INSERT INTO {}derived_head (id, seq, digest, threads, open_batches, open_numbers,"
                " reaches_back, standing) VALUES (1, ?, ?, ?, ?, ?, ?, ?)",
                [self._head],
            )
        else:
            self._many(
                "UPDATE {}derived_head SET seq = ?, digest = ?, threads = ?, open_batches = ?,"
                " open_numbers = ?, reaches_back = ?, standing = ? WHERE id = 1",
                [self._head],
            )

    def _find(self, names: Iterable[str]) -> None:
        wanted = [name for name in names if name not in self._threads]
        for some in chunks(wanted, AT_ONCE):
            table = f"{self._beside}derived_thread"
            chosen = f"SELECT name, id, total FROM {table} WHERE name IN ({marks(some)})"
            for name, number, total in self._connection.execute(chosen, some):
                self._threads[name] = _Thread(number, total)

    def _link(self, seq: int, name: str) -> tuple[int, int, int]:
        thread = self._threads.get(name)
        if thread is None:
            standing = (
                f"{self._head.standing}{name}\n" if is_standing(name) else self._head.standing
            )
            self._head = self._head._replace(threads=self._head.threads + 1, standing=standing)
            thread = self._threads[name] = _Thread(self._head.threads, 0)
            # at once, so that what is read of it meanwhile is found
            made = "INSERT INTO {}derived_thread (id, name, total) VALUES (?, ?, 0)"
            self._many(made, [(thread.number, name)])
        thread.total += 1
        return thread.number, seq, thread.total

    def _place(self, code: str) -> tuple[Known | None, Known | None]:
        """List a batch as its thread has it now; gives how it was listed, and how it is."""
        chosen = (
            f"{self._beside}derived_link l CROSS JOIN entry e ON e.seq = l.seq"
            " WHERE l.thread = ? ORDER BY l.seq"
        )
        number = self._threads[about_batch(code)].number
        before = next(iter(known(self._connection, "code = ?", (code,), self._beside)), None)
        after = listed(
            code, [entry_from(row) for row in rows_of(self._connection, chosen, (number,))]
        )
        if after:
            folded, called = after.code.casefold(), after.called.casefold()
            row = (folded, after.called, called, after.opened, after.ended, after.code)
            self._many(_LISTED_ANEW if before else _LISTED_FIRST, [row])
        return before, after

    def _many(self, statement: str, rows: Sequence[Sequence[Any]]) -> None:
        self._connection.executemany(statement.format(self._beside), rows)


_LISTED_FIRST = (
    "INSERT INTO {}derived_batch (folded, called, called_folded, opened, ended, code)"
    " VALUES (?, ?, ?, ?, ?, ?)"
)
_LISTED_ANEW = (
    "UPDATE {}derived_batch SET folded = ?, called = ?, called_folded = ?, opened = ?, ended = ?"
    " WHERE code = ?"
)

# What is entered in time and is of these kinds changes nothing that was found of earlier moments,
# but of its own batch or unit. Whatever is not among them may.
_NOT_BACK = {
    body.kind
    for body in (
        Measured, BatchOpened, *ENDS, UnitEmptied, CorrectiveAction, Released, SetApart, Frozen,
        Thawed, TakenOut, Moved, ContainerOpened, Renamed, CoolingPlanned, CoolingSetup, DaySigned,
        PinSet, Person, NotMeasured, Logged, HandedOver, ForkDecided,
    )
}  # fmt: skip


def reaches_back(entry: Entry) -> bool:
    """Whether an entry may change what was found of other batches or units before it."""
    if isinstance(entry.body, ThermometerCheck) and entry.body.passed:
        return told_at(entry) != entry.at
    is_plain = entry.body.kind in _NOT_BACK and not isinstance(entry.body, Unreadable)
    return not is_plain or entry.corrects is not None or told_at(entry) != entry.at


def _moves(row: Mapping[str, Any]) -> bool:
    """Whether an entry may change how its batch is listed."""
    return row["corrects"] is not None or row["kind"] in _LISTED


_LISTED = {body.kind for body in (BatchOpened, Renamed, *ENDS)}


def listed(code: str, entries: Sequence[Entry]) -> Known | None:
    corrected = {entry.corrects: entry.seq for entry in entries}
    mine = [entry for entry in entries if entry.batch == code]
    # an opening that cannot be read is one all the same: what was opened must not vanish
    opened = next((one for one in mine if one.body.kind == BatchOpened.kind), None)
    if opened is None:
        return None
    in_force = [entry for entry in mine if entry.seq not in corrected]
    called = [one.body.name for one in in_force if isinstance(one.body, Renamed)]
    ends = [entry.seq for entry in in_force if isinstance(entry.body, ENDS)]
    ended = corrected.get(opened.seq) or max(ends, default=None)
    return Known(code, called[-1] if called else "", opened.seq, ended)


def rebuild(connection: Driver, beside: str = "") -> None:
    """Make all that is derived anew from the entries, in their order."""
    for table in _SHAPES:
        connection.execute(f"DELETE FROM {beside}derived_{table}")
    if not beside:
        # what was found is noted by threads, which may have other numbers now
        connection.execute("DELETE FROM derived_settled")
    writer = Writer(connection, beside)
    first = 1
    while rows := rows_of(
        connection, "entry e WHERE e.seq >= ? ORDER BY e.seq LIMIT ?", (first, _CHUNK)
    ):
        writer.add(rows)
        first = rows[-1]["seq"] + 1
    writer.close()


def differences(connection: Driver, beside: str) -> list[str]:
    """Compare what is derived with the entries; say in a sentence each what does not agree.

    It makes everything anew in tables whose names begin as `beside` says.
    """
    for table, columns in _SHAPES.items():
        shape = ", ".join(f"{name} {kind}" for name, kind in columns.items())
        key = ", PRIMARY KEY (thread, seq)" if table == "link" else ""
        connection.execute(f"CREATE TABLE {beside}derived_{table} ({shape}{key})")
    rebuild(connection, beside)
    return [
        phrase("what is derived of the entries ({table}) does not agree with them.", table=table)
        for table in _SHAPES
        if _differ(connection, beside, table)
    ]


_ID = "INTEGER PRIMARY KEY"
_SHAPES = {
    "head": {
        "id": _ID, "seq": "INTEGER", "digest": "TEXT", "threads": "INTEGER",
        "open_batches": "INTEGER", "open_numbers": "INTEGER", "reaches_back": "INTEGER",
        "standing": "TEXT",
    },
    "thread": {"id": _ID, "name": "TEXT UNIQUE", "total": "INTEGER"},
    "link": {"thread": "INTEGER", "seq": "INTEGER", "place": "INTEGER"},
    "batch": {
        "code": "TEXT PRIMARY KEY", "folded": "TEXT", "called": "TEXT", "called_folded": "TEXT",
        "opened": "INTEGER", "ended": "INTEGER",
    },
}  # fmt: skip


def _differ(connection: Driver, beside: str, table: str) -> bool:
    columns = ", ".join(_SHAPES[table])
    for one, other in (("", beside), (beside, "")):
        both = (
            f"SELECT {columns} FROM {one}derived_{table}"
            f" EXCEPT SELECT {columns} FROM {other}derived_{table}"
        )
        if connection.execute(f"{both} LIMIT 1").fetchone():
            return True
    return False
