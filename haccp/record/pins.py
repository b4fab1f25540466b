"""Managers' PINs: argon2 hashes beside the record, with a delay that grows after failures."""

import re
from collections.abc import Callable, Iterable, Mapping
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any

import sqlalchemy as sa

from haccp.errors import Refused
from haccp.language import message, phrase
from haccp.record.bodies_of_record import PinSet
from haccp.record.store import Record
from haccp.record.threads import of_kind
from haccp.time import moment_or_none, spell, stored

_pin = sa.Table(
    "pin",
    sa.MetaData(),
    sa.Column("initials", sa.Text, primary_key=True),
    sa.Column("hash", sa.Text, nullable=False),
    sa.Column("failures", sa.Integer, nullable=False),
    sa.Column("not_before", sa.Text, nullable=False),
)

# Every row of it, as it is read from a record that is to be replaced.
PINS = "SELECT initials, hash, failures, not_before FROM pin"

# In place of a hash: this PIN is to be set again, an export held none.
_TO_BE_SET = ""

_PIN = re.compile(r"[0-9]{4,12}")

# Two slips are free; then 10 s, 20 s, 40 s, ... up to an hour: a thousand guesses take six weeks.
_FREE_FAILURES = 2
_FIRST_DELAY = timedelta(seconds=10)
_LONGEST_DELAY = timedelta(hours=1)


def check_new(pin: str) -> str:
    """Take a PIN that is not the first to be guessed; raises Refused for any other text."""
    if not _PIN.fullmatch(pin):
        raise Refused(phrase("A PIN is 4 to 12 digits: type one that nobody guesses."))
    steps = {int(b) - int(a) for a, b in pairwise(pin)}
    if steps in ({0}, {1}, {-1}):
        raise Refused(phrase("That PIN is among the first to be guessed: type another."))
    return pin


def set_pin(record: Record, initials: str, pin: str, now: datetime) -> None:
    """Keep a PIN's hash in place of any before it. Raises Refused for a PIN that is too simple."""
    from argon2 import PasswordHasher  # only a manager's act needs it

    row = {"initials": initials, "hash": PasswordHasher().hash(check_new(pin)), "failures": 0}
    with record.transaction(writing=True) as connection:
        _put(connection, {**row, "not_before": stored(now)})


def have_pins(record: Record) -> bool:
    """Say whether anybody has a PIN."""
    has_one = sa.select(_pin.c.initials).where(_pin.c.hash != _TO_BE_SET)
    with record.transaction() as connection:
        return connection.execute(has_one.limit(1)).first() is not None


def missing_pins(record: Record) -> list[str]:
    """Name the PINs that the entries say were set and that are gone from beside them."""
    with record.transaction() as connection:
        kept = set(connection.execute(sa.select(_pin.c.initials)).scalars())
    entries = record.about(of_kind(PinSet.kind))
    had = {entry.body.initials for entry in entries if isinstance(entry.body, PinSet)}
    return [
        phrase("the PIN of {initials} is gone from the file.", initials=one)
        for one in sorted(had - kept)
    ]


def await_pins(record: Record, initials: Iterable[str], now: datetime) -> None:
    """Note beside a record that is being imported whose PINs an export cannot hold."""
    rows = [
        {"initials": one, "hash": _TO_BE_SET, "failures": 0, "not_before": stored(now)}
        for one in sorted(set(initials))
    ]
    with record.transaction(writing=True) as connection:
        there = set(connection.execute(sa.select(_pin.c.initials)).scalars())
        new = [row for row in rows if row["initials"] not in there]
        if new:
            connection.execute(_pin.insert(), new)


def carry_pins(record: Record, rows: Iterable[tuple[str, str, int, str]]) -> None:
    """Keep in a restored record the PINs of the one it replaces, with their wrong tries.

    A PIN that was replaced since the backup may have been known to somebody: it stays replaced.
    """
    with record.transaction(writing=True) as connection:
        for initials, hash_, failures, not_before in rows:
            mine = _pin.c.initials == initials
            there = connection.execute(sa.select(_pin).where(mine)).one_or_none()
            row = {
                "initials": initials,
                "hash": hash_ or (there.hash if there else _TO_BE_SET),
                "failures": max(failures, there.failures if there else 0),
                "not_before": max(not_before, there.not_before if there else ""),
            }
            _put(connection, row)


def _put(connection: sa.Connection, row: Mapping[str, Any]) -> None:
    """Keep a row in place of the one before it; nothing may be deleted on a server."""
    mine = _pin.c.initials == row["initials"]
    values = {name: value for name, value in row.items() if name != "initials"}
    if not connection.execute(_pin.update().where(mine).values(values)).rowcount:
        connection.execute(_pin.insert().values(row))


def prove(
    record: Record, initials: str, ask: Callable[[], str], now: Callable[[], datetime]
) -> None:
    """Ask for a PIN and compare it; raises Refused for a wrong one, and before its delay is over.

    Each try is counted on disk as a failure before it is made, so that neither killing the
    program nor trying from several terminals at once saves a guess.
    """
    from argon2 import PasswordHasher
    from argon2.exceptions import InvalidHashError, VerificationError, VerifyMismatchError

    wait = _wait(record, initials, now())
    if wait:
        words = message("Too many wrong PINs: wait {time} and try again.")
        raise Refused(phrase(words, time=_waiting(wait)))
    pin = ask()
    kept = _begin_try(record, initials, now())
    try:
        PasswordHasher().verify(kept, pin)
    except VerifyMismatchError:
        raise Refused(phrase("That is not the PIN: nothing was recorded.")) from None
    except (VerificationError, InvalidHashError):
        raise Refused(
            phrase(
                "What is kept of the PIN of {initials} was altered: another manager sets a new "
                "one with haccp pin {initials}.",
                initials=initials,
            )
        ) from None
    _forgive(record, initials, now())


def _wait(record: Record, initials: str, now: datetime) -> timedelta:
    with record.transaction() as connection:
        row = connection.execute(sa.select(_pin).where(_pin.c.initials == initials)).one_or_none()
    if row is None or row.hash == _TO_BE_SET:
        none = message("{initials} has no PIN yet: set one with haccp pin {initials}.")
        raise Refused(phrase(none, initials=initials))
    return _left(row, now)


def _left(row: sa.Row[Any], now: datetime) -> timedelta:
    """Say how long nothing may be tried.

    What is longer than any delay was written by a clock that was ahead. It must not lock a PIN's
    owner out for years; and whoever can set the clock has no delay to wait for anyway.
    """
    before = moment_or_none(row.not_before)
    left = before - now if before else _delay(row.failures)
    waits = _delay(row.failures) and timedelta(0) < left <= _LONGEST_DELAY
    return left if waits else timedelta(0)


def _begin_try(record: Record, initials: str, now: datetime) -> str:
    with record.transaction(writing=True) as connection:
        row = connection.execute(sa.select(_pin).where(_pin.c.initials == initials)).one()
        if _left(row, now):
            raise Refused(phrase("Somebody else tried this PIN just now: wait and try again."))
        failures = row.failures + 1
        connection.execute(
            _pin.update()
            .where(_pin.c.initials == initials)
            .values(failures=failures, not_before=stored(now + _delay(failures)))
        )
    return str(row.hash)


def _forgive(record: Record, initials: str, now: datetime) -> None:
    with record.transaction(writing=True) as connection:
        connection.execute(
            _pin.update()
            .where(_pin.c.initials == initials)
            .values(failures=0, not_before=stored(now))
        )


def _delay(failures: int) -> timedelta:
    if failures <= _FREE_FAILURES:
        return timedelta(0)
    doublings = min(failures - _FREE_FAILURES - 1, 20)
    return min(_FIRST_DELAY * (1 << doublings), _LONGEST_DELAY)


def _waiting(wait: timedelta) -> str:
    seconds = int(wait.total_seconds()) + 1
    return spell(wait) if seconds >= 60 else f"{seconds} s"
