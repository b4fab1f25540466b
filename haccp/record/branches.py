"""Branches: entries that parted from the chain which a server holds, and are kept beside it.

A record on a server has them in tables of its own, beside its entries; a kitchen's own file knows
what a hand-over told it, as entries. Nothing of a branch is part of the record: its readings prove
nothing there, and what it is about is not shown.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from haccp.errors import Refused
from haccp.language import phrase
from haccp.record import lookup
from haccp.record.bodies import BatchOpened, UsedUp
from haccp.record.bodies_of_record import ForkDecided, ForkKept, HandedOver
from haccp.record.entries import Entry, entry_from
from haccp.record.places import Server
from haccp.record.store import Record
from haccp.time import from_stored, stored


@dataclass(frozen=True, slots=True, kw_only=True)
class Branch:
    """`entries` after entry `after` that parted from the chain that `server` holds.

    They are kept by the digest of their last one, `head`; without one, they are those of this very
    record. `about` names the batches and units that they are about, `since` is the moment of the
    first, `known_at` that at which it was known; `noted` is the entry about it, `decided` the one
    by which a manager went on without them.
    """

    server: str
    after: int
    entries: int
    head: str
    about: tuple[str, ...]
    since: datetime
    known_at: datetime
    noted: Entry[ForkKept] | None = None
    decided: Entry[ForkDecided] | None = None

    @property
    def is_own(self) -> bool:
        return not self.head

    @property
    def name(self) -> str:
        """What it is called where people read of it, and type it."""
        return self.head[:12] or "branch"


def branches_of(
    record: Record,
    kept: Sequence[Entry[ForkKept]],
    decided: Iterable[Entry[ForkDecided]],
    receipts: Iterable[Entry[HandedOver]],
) -> tuple[Branch, ...]:
    """Give all branches that a record knows of by its entries, and by the server that holds it."""
    by_head = {one.body.head: one for one in decided}
    signed = max((one.body.until for one in receipts), default=0)
    # what a server signed for is its chain now, whatever it held before
    own = {one.body.after: one for one in kept if not one.body.head and one.seq > signed}
    noted = {one.body.head: one for one in kept if one.body.head}
    there = _beside(record) if isinstance(record.place, Server) else {}
    held = {head for one in noted.values() for head in one.body.holds}
    held |= {head for head, (_, is_held) in there.items() if is_held}
    found = {head: _noted(one, by_head.get(head)) for head, one in noted.items()}
    for head, (row, _) in there.items():
        if head not in found and head not in held:
            found[head] = _kept(record, row, by_head.get(head))
    mine = [_own(record, one) for one in own.values()]
    return (*mine, *(one for head, one in found.items() if head not in held))


def _held_by(record: Record, head: str) -> tuple[str, ...]:
    """Name the branches that a server kept before, of which one that it keeps now has all."""
    asked = """
        SELECT f.head FROM fork f JOIN fork_entry e
        ON e.head = ? AND e.seq = f.after + f.entries AND e.digest = f.head
        WHERE f.head <> ? ORDER BY f.entries
    """
    return tuple(row[0] for row in _asked(record, asked, (head, head)))


def entries_of(record: Record, branch: Branch) -> list[dict[str, Any]]:
    """Give the entries of a branch as they are stored.

    Raises Refused where this record is no server's: it knows of them, and does not hold them.
    """
    if branch.is_own:
        return list(record.rows(branch.after + 1))
    if not isinstance(record.place, Server):
        raise Refused(
            phrase(
                "The entries of {head} are on {server}: type it with --db and the kitchen's URL "
                "there.",
                head=branch.name,
                server=branch.server,
            )
        )
    return _rows_of(record, branch.head)


def note_of(branch: Branch, there: Record) -> ForkKept:
    """Give what an entry says of a branch that a server keeps."""
    return ForkKept(
        server=branch.server,
        after=branch.after,
        entries=branch.entries,
        head=branch.head,
        about=branch.about,
        since=stored(branch.since),
        holds=_held_by(there, branch.head),
    )


def _rows_of(record: Record, head: str) -> list[dict[str, Any]]:
    columns = ", ".join(lookup.COLUMNS)
    asked = f"SELECT {columns} FROM fork_entry WHERE head = ? ORDER BY seq"
    return [dict(zip(lookup.COLUMNS, row, strict=True)) for row in _asked(record, asked, (head,))]


def _asked(record: Record, statement: str, values: Sequence[Any] = ()) -> list[Any]:
    with record.transaction() as connection:
        return list(record.store.driver(connection).execute(statement, values).fetchall())


def _beside(record: Record) -> Mapping[str, tuple[tuple[Any, ...], bool]]:
    """Give what is kept beside a chain on a server, and whether a longer branch has it all.

    Of a record as it stood earlier, what was kept later is left out.
    """
    asked = """
        SELECT f.head, f.after, f.entries, f.kept_at, EXISTS (
            SELECT 1 FROM fork_entry e
            WHERE e.head <> f.head AND e.seq = f.after + f.entries AND e.digest = f.head)
        FROM fork f ORDER BY f.kept_at, f.head
    """
    rows = _asked(record, asked)
    until = record.known_at if rows else None
    return {
        head: ((head, after, entries, kept_at), is_held)
        for head, after, entries, kept_at, is_held in rows
        if until is None or kept_at <= until
    }


def _kept(record: Record, row: tuple[Any, ...], decided: Entry[ForkDecided] | None) -> Branch:
    head, after, entries, kept_at = row
    about, since = _about(_rows_of(record, head), kept_at)
    return Branch(
        server=str(record.place),
        after=after,
        entries=entries,
        head=head,
        about=about,
        since=since,
        known_at=kept_at,
        decided=decided,
    )


def _own(record: Record, entry: Entry[ForkKept]) -> Branch:
    rows = list(record.rows(entry.body.after + 1))
    about, since = _about(rows, entry.at)
    return Branch(
        server=entry.body.server,
        after=entry.body.after,
        entries=len(rows),
        head="",
        about=about,
        since=since,
        known_at=entry.at,
        noted=entry,
    )


def _about(
    rows: Iterable[Mapping[str, Any]], known_at: datetime
) -> tuple[tuple[str, ...], datetime]:
    """Name the batches and units of entries, what was made of or into them too; and when it began.

    Whatever an entry holds that cannot be read, it is about what its columns name.
    """
    found: dict[str, None] = {}
    since = known_at
    for row in rows:
        one = entry_from(row)
        since = min(since, one.entered_at)
        names = [one.batch, one.unit]
        if isinstance(one.body, BatchOpened):
            names += [*one.body.made_from, *one.body.portion_of]
        elif isinstance(one.body, UsedUp):
            names += one.body.into
        found |= dict.fromkeys(name for name in names if name)
    return tuple(found), since


def _noted(entry: Entry[ForkKept], decided: Entry[ForkDecided] | None) -> Branch:
    body = entry.body
    return Branch(
        server=body.server,
        after=body.after,
        entries=body.entries,
        head=body.head,
        about=body.about,
        since=from_stored(body.since) if body.since else entry.at,
        known_at=entry.at,
        noted=entry,
        decided=decided,
    )
