"""A kitchen's own record handed over to the server that keeps its chain.

What the server holds is all the state there is: a line may break at any word, and the next try
goes on from there. Entries are compared by their digests, sent in parts, in order, each part whole
or not at all, and verified row by row by the server itself. Its receipts become entries.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import islice
from typing import Any

from haccp.errors import Refused
from haccp.language import counted, message, phrase
from haccp.record import lookup
from haccp.record.bodies_of_record import ForkKept, HandedOver, PinSet
from haccp.record.branches import branches_of, note_of
from haccp.record.chain import first_misfit
from haccp.record.driver import Driver
from haccp.record.entering import NotNext
from haccp.record.entries import FIRST, entry_from, having
from haccp.record.pins import await_pins
from haccp.record.store import Record
from haccp.record.threads import of_kind

# So many entries are one part, whole or not at all: a transaction, and a receipt.
PART = 500

# How often what another program does meanwhile sends it back to compare anew.
_TRIES = 20

_COLUMNS = ("head", *lookup.COLUMNS)
_KEEP = f"INSERT INTO fork_entry ({', '.join(_COLUMNS)}) VALUES ({lookup.marks(_COLUMNS)})"


@dataclass(frozen=True, slots=True)
class Behind:
    """The server holds all of this record, and more."""

    after: int


@dataclass(frozen=True, slots=True)
class Ahead:
    """The record holds all that the server does, and perhaps more."""

    after: int


@dataclass(frozen=True, slots=True)
class Parted:
    """Both hold entries after one up to which they are the same."""

    after: int
    entries: int
    head: str


Standing = Behind | Ahead | Parted


@dataclass(frozen=True, slots=True)
class Handed:
    """What was done: how many entries were sent, or fetched, and the server's new receipts."""

    sent: int
    fetched: int
    receipts: tuple[HandedOver, ...]


def standing(mine: Record, there: Record) -> Standing:
    """Say how a record stands to what the server holds. Raises Refused where they share nothing."""
    (seq, head), (theirs, their_head) = mine.head(), there.head()
    if theirs == 0:
        return Ahead(0)
    if _digest(mine, 1) not in ("", _digest(there, 1)):
        raise Refused(
            phrase(
                "{server} holds another record under this account, its first entry differs: use "
                "an account of this kitchen's own, by haccp server add-kitchen.",
                server=there.place,
            )
        )
    if theirs <= seq and _digest(mine, theirs) == their_head:
        return Ahead(theirs)
    if seq < theirs and (seq == 0 or _digest(there, seq) == head):
        return Behind(seq)
    after = _parting(mine, there, min(seq, theirs))
    return Parted(after, seq - after, head)


def _parting(mine: Record, there: Record, upto: int) -> int:
    """Find the last entry that both hold: equal there means equal before, so halving finds it."""
    low, high = 0, upto
    while low < high:
        middle = (low + high + 1) // 2
        same = _digest(mine, middle) == _digest(there, middle)
        low, high = (middle, high) if same else (low, middle - 1)
    return low


def hand_over(
    mine: Record,
    there: Record,
    now: datetime,
    sent: Callable[[int], None] = lambda _: None,
    note: Callable[[ForkKept], None] = lambda _: None,
) -> Handed:
    """Hand over what the server has not, or fetch what it has more; safe to call again at any time.

    `sent` is told after each part how many entries it had. Raises Parted as a Refused where both
    hold entries that the other has not; what this record holds is kept beside the chain then, and
    `note` records that it is a branch.
    """
    count = fetched = 0
    for _ in range(_TRIES):
        found = standing(mine, there)
        try:
            match found:
                case Behind(after):
                    fetched += _take(mine, there, after, now)
                case Ahead(after):
                    for part in _parts(mine, after):
                        _await_pins(there, part, now)
                        there.take_over(part, _sign)
                        count += len(part)
                        sent(len(part))
                case Parted():
                    raise parted(there, keep_beside(mine, there, found, note))
        except NotNext:
            continue  # somebody wrote meanwhile: compare anew
        return Handed(count, fetched, tuple(_new_receipts(mine, there)))
    raise Refused(phrase("Others write into {server} all the time: try again.", server=there.place))


def parted(there: Record, found: Parted) -> Refused:
    return Refused(
        counted(
            "{count} entry of this record after no. {after} parts from what {server} holds. It is "
            "kept whole beside it as {head}, and nothing is merged. A manager decides: haccp "
            "hand-over URL --go-on REASON",
            "{count} entries of this record after no. {after} part from what {server} holds. They "
            "are kept whole beside it as {head}, and nothing is merged. A manager decides: haccp "
            "hand-over URL --go-on REASON",
            found.entries,
            after=found.after,
            server=there.place,
            head=found.head[:12],
        )
    )


def _parts(record: Record, after: int) -> Iterator[list[dict[str, Any]]]:
    part: list[dict[str, Any]] = []
    for row in record.rows(after + 1):
        part.append(row)
        if len(part) == PART:
            yield part
            part = []
    if part:
        yield part


def _await_pins(record: Record, rows: list[dict[str, Any]], now: datetime) -> None:
    """Note whose PINs were set by entries: they do not travel, and are to be set again."""
    bodies = [entry_from(row).body for row in rows if row["kind"] == PinSet.kind]
    if bodies:
        await_pins(record, [one.initials for one in bodies if isinstance(one, PinSet)], now)


def _sign(driver: Driver) -> None:
    driver.execute("SELECT sign_for_head()")


def _take(mine: Record, there: Record, after: int, now: datetime) -> int:
    """Fetch what the server has more than this record, which loses nothing by it."""
    previous = mine.head()[1] if after else FIRST
    count = 0
    for part in _parts(there, after):
        misfit = first_misfit(part, after + 1, previous)
        if misfit:
            broken = message("What {server} holds does not hold together: {misfit}")
            raise Refused(phrase(broken, server=there.place, misfit=misfit))
        _await_pins(mine, part, now)
        mine.take_over(part)
        after, previous, count = part[-1]["seq"], part[-1]["digest"], count + len(part)
    return count


def keep_beside(
    mine: Record, there: Record, found: Parted, note: Callable[[ForkKept], None]
) -> Parted:
    """Keep on the server, beside its chain, what this record holds after the parting.

    The record says first that it parts, by an entry of its own, so that whoever reads a copy of it,
    or what is kept of it, knows. Gives what is kept.
    """
    if not _says_so(mine, found):
        note(ForkKept(server=str(there.place), after=found.after))
        seq, head = mine.head()
        found = Parted(found.after, seq - found.after, head)
    branch = islice(mine.rows(found.after + 1), found.entries)
    rows = [[found.head, *(row[name] for name in lookup.COLUMNS)] for row in branch]
    with there.store.entering() as driver:
        known = driver.execute("SELECT 1 FROM fork WHERE head = ?", (found.head,)).fetchone()
        if not known:
            driver.executemany(_KEEP, rows)
            driver.execute(
                "INSERT INTO fork (head, after, entries) VALUES (?, ?, ?)",
                (found.head, found.after, found.entries),
            )
    return found


def _says_so(mine: Record, found: Parted) -> bool:
    kept = having(mine.about(of_kind(ForkKept.kind)), ForkKept)
    return any(one.seq > found.after and not one.body.head for one in kept)


def learnt(mine: Record, there: Record) -> list[ForkKept]:
    """Give what is to be noted of branches that a server keeps, and this record knows not of."""
    known = {one.body.head for one in having(mine.about(of_kind(ForkKept.kind)), ForkKept)}
    beside = branches_of(there, (), (), ())
    return [note_of(one, there) for one in beside if one.head not in known]


def receipts(there: Record) -> list[HandedOver]:
    """Give all receipts that the server signed for this kitchen, in order."""
    asked = "SELECT seq, digest, received_at, signature FROM receipt ORDER BY seq"
    with there.store.transaction(writing=False) as connection:
        rows = there.store.driver(connection).execute(asked).fetchall()
    server = str(there.place)
    return [
        HandedOver(server=server, until=seq, head=head, received_at=at, signature=signature)
        for seq, head, at, signature in rows
    ]


def _new_receipts(mine: Record, there: Record) -> Iterator[HandedOver]:
    """Give the receipts that are not entries yet, but those for notes of such things alone."""
    its_own = mine.about(of_kind(HandedOver.kind), of_kind(ForkKept.kind))
    of_receipts = {one.seq for one in its_own}
    known = {one.signature for one in recorded(mine)}
    last = 0
    for one in receipts(there):
        is_of_more = any(number not in of_receipts for number in range(last + 1, one.until + 1))
        if is_of_more and one.signature not in known:
            yield one
        last = one.until


def recorded(mine: Record) -> list[HandedOver]:
    """Give the receipts that a record holds."""
    entries = mine.about(of_kind(HandedOver.kind))
    return [entry.body for entry in entries if isinstance(entry.body, HandedOver)]


def compare_with_receipts(mine: Record, there: Record) -> Iterator[str]:
    """Say where this record, or what the server holds, is not what the server signed for."""
    own, name = recorded(mine), _digest(mine, 1)
    signed = receipts(there)
    for one in [*own, *(two for two in signed if two not in own)]:
        if not _is_signed(there, name, one):
            words = message("the receipt up to no. {until} was not signed by {server}.")
        elif _digest(mine, one.until) != one.head:
            words = message(
                "this record is not what {server} signed for up to no. {until}: it was rewritten, "
                "or is older."
            )
        elif _digest(there, one.until) != one.head:
            words = message(
                "what {server} holds is not what it signed for up to no. {until}: it was rewritten."
            )
        else:
            continue
        yield phrase(words, until=one.until, server=there.place)


def _is_signed(there: Record, name: str, one: HandedOver) -> bool:
    asked = "SELECT is_signed(?, CAST(? AS BIGINT), ?, ?, ?)"
    values = (name, one.until, one.head, one.received_at, one.signature)
    with there.store.transaction(writing=False) as connection:
        row = there.store.driver(connection).execute(asked, values).fetchone()
    return bool(row and row[0])


def _digest(record: Record, number: int) -> str:
    """Give the digest of an entry; empty where there is none of that number."""
    with record.store.transaction(writing=False) as connection:
        rows = lookup.by_number(record.store.driver(connection), number, number)
    return str(rows[0]["digest"]) if rows else ""
