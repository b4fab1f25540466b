"""Takes the last entries of a view away again, with all that is derived of them.

A view is made of other records' entries: where some came late, it is cut back to before them and
made anew from there. No record that is typed into is ever cut.
"""

from collections.abc import Iterator

from haccp.record import lookup
from haccp.record.derived import listed, reaches_back
from haccp.record.driver import Driver
from haccp.record.entries import FIRST, Entry, entry_from
from haccp.record.threads import about_batch, batch_of
from haccp.record.view_tables import only_row

_AT_ONCE = 2_000
_GUARD = "entry_is_never_deleted"


def cut_back(connection: Driver, first: int) -> None:
    """Take away the entries of a view from no. `first` on, as if they had never been there."""
    names = {name for one in _entries(connection, first) for name in lookup.named(connection, one)}
    before = lookup.head(connection)
    gone = [name for name in sorted(names) if _shortened(connection, name, first)]
    _delete(connection, first)
    count, numbers = before.open_batches, before.open_numbers
    for code in filter(None, map(batch_of, sorted(names))):
        for one, sign in zip(_listed_anew(connection, code), (-1, 1), strict=True):
            if one and one.ended is None:
                count, numbers = count + sign, numbers + sign * one.opened
    connection.execute("DELETE FROM derived_settled WHERE judged_at >= ?", (first,))
    left = lookup.by_number(connection, first - 1, first - 1)
    seq, digest = (left[0]["seq"], left[0]["digest"]) if left else (0, FIRST)
    standing = [one for one in before.standing.splitlines() if one not in gone]
    connection.execute(
        "UPDATE derived_head SET seq = ?, digest = ?, threads = ?, open_batches = ?,"
        " open_numbers = ?, reaches_back = ?, standing = ? WHERE id = 1",
        (
            seq,
            digest,
            before.threads - len(gone),
            count,
            numbers,
            _reaching_back(connection, min(before.reaches_back, first - 1)),
            "".join(f"{one}\n" for one in standing),
        ),
    )


def _entries(connection: Driver, first: int) -> Iterator[Entry]:
    after = first - 1
    while rows := lookup.following(connection, after, lookup.HIGHEST, _AT_ONCE):
        yield from map(entry_from, rows)
        after = rows[-1]["seq"]


def _shortened(connection: Driver, name: str, first: int) -> bool:
    """Cut a thread; say whether nothing is left of it."""
    (number,) = only_row(connection, "SELECT id FROM derived_thread WHERE name = ?", name)
    connection.execute("DELETE FROM derived_link WHERE thread = ? AND seq >= ?", (number, first))
    last = "SELECT place FROM derived_link WHERE thread = ? ORDER BY seq DESC LIMIT 1"
    left = connection.execute(last, (number,)).fetchone()
    if left:
        connection.execute("UPDATE derived_thread SET total = ? WHERE id = ?", (*left, number))
    else:
        connection.execute("DELETE FROM derived_thread WHERE id = ?", (number,))
    return left is None


def _delete(connection: Driver, first: int) -> None:
    """Delete the entries: their guard against it is back before anybody else can write."""
    (guard,) = only_row(connection, "SELECT sql FROM sqlite_master WHERE name = ?", _GUARD)
    connection.execute(f"DROP TRIGGER {_GUARD}")
    connection.execute("DELETE FROM entry WHERE seq >= ?", (first,))
    connection.execute(guard)


def _listed_anew(connection: Driver, code: str) -> tuple[lookup.Known | None, lookup.Known | None]:
    """List a batch as its thread has it now; gives how it was listed, and how it is."""
    was = next(iter(lookup.known(connection, "code = ?", (code,))), None)
    thread = (
        "derived_thread t CROSS JOIN derived_link l ON l.thread = t.id"
        " CROSS JOIN entry e ON e.seq = l.seq WHERE t.name = ? ORDER BY l.seq"
    )
    entries = map(entry_from, lookup.rows_of(connection, thread, (about_batch(code),)))
    now = listed(code, list(entries))
    if was and now is None:
        connection.execute("DELETE FROM derived_batch WHERE code = ?", (code,))
    elif now:
        connection.execute(
            "UPDATE derived_batch SET called = ?, called_folded = ?, ended = ? WHERE code = ?",
            (now.called, now.called.casefold(), now.ended, code),
        )
    return was, now


def _reaching_back(connection: Driver, last: int) -> int:
    """Give the last entry up to one that may change what was found of earlier ones; 0 for none."""
    while last > 0:
        begins = max(1, last - _AT_ONCE + 1)
        for row in reversed(lookup.by_number(connection, begins, last)):
            if reaches_back(entry_from(row)):
                return int(row["seq"])
        last = begins - 1
    return 0
