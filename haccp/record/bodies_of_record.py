"""What an entry says of the record itself: its secrets, copies, server and clock, and no food.

As in `record/bodies`, which has all others: frozen values of plain fields.
"""

from dataclasses import dataclass
from typing import ClassVar

from haccp.language import message


@dataclass(frozen=True, slots=True, kw_only=True)
class PinSet:
    """A manager's PIN was set or replaced; its hash is kept beside the record, never in it.

    `proved` is False where nobody had a PIN before: in a new, an imported or a very old record.
    """

    kind: ClassVar[str] = message("pin set")
    initials: str
    proved: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Restored:
    """A copy was put in the record's place: what came before this entry is the copy's.

    `replaced` is the last entry of the record that was there (0 for none), `restored` the copy's.
    `proved` is False where nobody had a PIN.
    """

    kind: ClassVar[str] = message("restored")
    replaced: int
    replaced_digest: str
    restored: int
    restored_digest: str
    proved: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class HandedOver:
    """A server's receipt: it holds this record up to entry `until`, whose digest is `head`.

    `received_at` is the server's clock; `signature` is by a key that no kitchen can read.
    """

    kind: ClassVar[str] = message("handed over")
    server: str
    until: int
    head: str
    received_at: str
    signature: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ForkKept:
    """`entries` after entry `after` parted from the chain that a server holds.

    They are kept whole beside it, by the digest of their last one, `head`; without one, they are
    those of this very record. `about` names the batches and units in them, the first of which was
    entered at `since`; `holds` the heads by which less of them was kept before.
    """

    kind: ClassVar[str] = message("fork kept")
    server: str
    after: int
    entries: int = 0
    head: str = ""
    about: tuple[str, ...] = ()
    since: str = ""
    holds: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ForkDecided:
    """A manager goes on along the server's chain, where a record had parted from it.

    `entries` after entry `after` are not in the chain; they are kept whole beside it, by the digest
    of their last one, `head`.
    """

    kind: ClassVar[str] = message("fork decided")
    server: str
    after: int
    entries: int
    head: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ClockMoved:
    """The machine's clock does not follow from the last entry: it went back, or far ahead.

    `seconds` is by how much it differs from the last entry's moment, negative for back [s].
    """

    kind: ClassVar[str] = message("clock")
    last_entered_at: str
    seconds: int
