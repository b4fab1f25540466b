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
    Frozen,
    Logged,
    Measured,
    Moved,
    NotMeasured,
    Person,
    Released,
    Renamed,
    SetApart,
    TakenOut,
    Thawed,
    ThermometerCheck,
    UnitEmptied,
    Unreadable,
)
from haccp.record.bodies_of_record import ForkDecided, HandedOver, PinSet
from haccp.record.driver import Driver, Written
from haccp.record.entries import Entry, entry_from, told_at
from haccp.record.lookup import (
    AT_ONCE,
    EMPTY,
    Known,
    chunks,
    head,
    known,
    marks,
    named,
    rows_of,
)
from haccp.record.threads import about_batch, batch_of, is_standing

_CHUNK = 2_000


@dataclass(slots=True)
class _Thread:
    number: int
    total: int


class Writer:
    """Derives what follows from entries that come after all others, in order.

    It remembers what it read, and what it said is to be written: nobody else may write meanwhile.
    """

    def __init__(self, connection: Driver, beside: str = "") -> None:
        self._beside = beside
        self.head = head(connection, beside)
        self._threads: dict[str, _Thread] = {}

    def derive(self, connection: Driver, rows: Sequence[Mapping[str, Any]]) -> Written:
        """Say what is to be written of entries, whether they are in their table yet or not."""
        before = self.head
        entries = [entry_from(row) for row in rows]
        new = {one.seq: one for one in entries}
        about = {one.seq: sorted(named(connection, one, new)) for one in entries}
        self._find(connection, {name for names in about.values() for name in names})
        links = [self._link(seq, name) for seq, names in about.items() for name in names]
        touched = {name: self._threads[name] for names in about.values() for name in names}
        threads = [(one.number, name, one.total) for name, one in touched.items()]
        moving = {row["seq"] for row in rows if _moves(row)}
        moved = {batch_of(name): None for seq in sorted(moving) for name in about[seq]}
        moved.pop("", None)
        listings = [
            self._listing(
                connection, code, [new[n] for n in about if about_batch(code) in about[n]]
            )
            for code in moved
        ]
        self._count(rows[-1], entries, listings)
        return Written(
            after=(before.seq, before.digest),
            rows=rows,
            entries=entries,
            threads_begun=[one for one in threads if one[0] > before.threads],
            threads_gone_on=[one for one in threads if one[0] <= before.threads],
            links=links,
            batches_opened=[_as_listed(now) for was, now in listings if now and not was],
            batches_changed=[_as_listed(now) for was, now in listings if now and was],
            head=self.head,
        )

    def _find(self, connection: Driver, names: Iterable[str]) -> None:
        wanted = [name for name in names if name not in self._threads]
        for some in chunks(wanted, AT_ONCE):
            table = f"{self._beside}derived_thread"
            chosen = f"SELECT name, id, total FROM {table} WHERE name IN ({marks(some)})"
            for name, number, total in connection.execute(chosen, some):
                self._threads[name] = _Thread(number, total)

    def _link(self, seq: int, name: str) -> tuple[int, int, int]:
        thread = self._threads.get(name)
        if thread is None:
            standing = f"{self.head.standing}{name}\n" if is_standing(name) else self.head.standing
            self.head = self.head._replace(threads=self.head.threads + 1, standing=standing)
            thread = self._threads[name] = _Thread(self.head.threads, 0)
        thread.total += 1
        return thread.number, seq, thread.total

    def _listing(
        self, connection: Driver, code: str, new: Sequence[Entry]
    ) -> tuple[Known | None, Known | None]:
        """Give how a batch was listed, and how it is with what is new in its thread."""
        before = next(iter(known(connection, "code = ?", (code,), self._beside)), None)
        chosen = (
            f"{self._beside}derived_link l CROSS JOIN entry e ON e.seq = l.seq"
            " WHERE l.thread = ? ORDER BY l.seq"
        )
        rows = rows_of(connection, chosen, (self._threads[about_batch(code)].number,))
        return before, listed(code, [*(entry_from(row) for row in rows), *new])

    def _count(
        self,
        last: Mapping[str, Any],
        entries: Sequence[Entry],
        listings: Iterable[tuple[Known | None, Known | None]],
    ) -> None:
        count, numbers = self.head.open_batches, self.head.open_numbers
        for was, now in listings:
            for one, sign in ((was, -1), (now, 1)):
                if one and one.ended is None:
                    count, numbers = count + sign, numbers + sign * one.opened
        back = max((one.seq for one in entries if reaches_back(one)), default=0)
        self.head = self.head._replace(
            seq=last["seq"],
            digest=last["digest"],
            open_batches=count,
            open_numbers=numbers,
            reaches_back=back or self.head.reaches_back,
        )


def _as_listed(one: Known) -> tuple[Any, ...]:
    return (
        one.code, one.code.casefold(), one.called, one.called.casefold(), one.opened, one.ended,
    )  # fmt: skip


def write(connection: Driver, written: Written, beside: str = "") -> None:
    """Write what was derived of entries."""

    def many(statement: str, rows: Sequence[Sequence[Any]]) -> None:
        connection.executemany(statement.format(beside), rows)

    many("INSERT INTO {}derived_thread (id, name, total) VALUES (?, ?, ?)", written.threads_begun)
    totals = [(total, number) for number, _, total in written.threads_gone_on]
    many("UPDATE {}derived_thread SET total = ? WHERE id = ?", totals)
    many("INSERT INTO {}derived_link (thread, seq, place) VALUES (?, ?, ?)", written.links)
    many(
        "INSERT INTO {}derived_batch (code, folded, called, called_folded, opened, ended)"
        " VALUES (?, ?, ?, ?, ?, ?)",
        written.batches_opened,
    )
    many(
        "UPDATE {}derived_batch SET folded = ?, called = ?, called_folded = ?, opened = ?,"
        " ended = ? WHERE code = ?",
        [(*listed, code) for code, *listed in written.batches_changed],
    )
    many(
        "UPDATE {}derived_head SET seq = ?, digest = ?, threads = ?, open_batches = ?,"
        " open_numbers = ?, reaches_back = ?, standing = ? WHERE id = 1",
        [written.head],
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
    connection.executemany(
        f"INSERT INTO {beside}derived_head (id, seq, digest, threads, open_batches, open_numbers,"
        " reaches_back, standing) VALUES (1, ?, ?, ?, ?, ?, ?, ?)",
        [EMPTY],
    )
    writer = Writer(connection, beside)
    first = 1
    while rows := rows_of(
        connection, "entry e WHERE e.seq >= ? ORDER BY e.seq LIMIT ?", (first, _CHUNK)
    ):
        write(connection, writer.derive(connection, rows), beside)
        first = rows[-1]["seq"] + 1


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
