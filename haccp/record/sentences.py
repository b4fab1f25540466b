"""What a database says that cannot go on, in sentences that a person can act on."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import sqlalchemy as sa

from haccp.errors import Refused

_SENTENCES = (
    ("not a database", "{path} is not a haccp record: name one with --db."),
    ("decode", "{path} is damaged: restore it from a backup; the file was left as it is."),
    ("malformed", "{path} is damaged: restore it from a backup; the file was left as it is."),
    ("dbmoved", "{path} was moved or replaced just now: nothing was recorded. Enter it again."),
    ("readonly", "{path} is read-only: ask for write access, or name another with --db."),
    ("unable to open", "{path} cannot be opened: check that the folder exists and may be written."),
    ("locked", "{path} is being written by another program: try again."),
    ("full", "The disk is full: nothing was recorded. Free some space and enter it again."),
    ("disk i/o", "The disk under {path} reports an error: nothing was recorded."),
    ("code is used once", "A batch of that code exists already: type another with --code."),
    ("append-only", "Somebody changed that entry first: look at it again with haccp show."),
    ("unique", "Somebody changed that entry first: look at it again with haccp show."),
)  # fmt: skip


@contextmanager
def in_sentences(path: Path) -> Iterator[None]:
    """Turn what a person can mend into a sentence; anything else is a bug and stays one."""
    try:
        yield
    except (sa.exc.DBAPIError, sqlite3.Error, UnicodeDecodeError, OverflowError) as error:
        cause = getattr(error, "orig", error)
        words = f"{cause} {getattr(cause, 'sqlite_errorname', '')}".lower()
        for sign, sentence in _SENTENCES:
            if sign in words:
                raise Refused(sentence.format(path=path)) from error
        raise Refused(
            f"{path} is not as haccp made it ({str(cause).lower()}): ask haccp record verify."
        ) from error
