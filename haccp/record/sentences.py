"""What a database says that cannot go on, in sentences that a person can act on."""

import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

import sqlalchemy as sa

from haccp.errors import Refused
from haccp.language import message, phrase

DAMAGED = message("{path} is damaged: restore it from a backup; the file was left as it is.")
CHANGED = message("Somebody changed that entry first: look at it again with haccp show.")
CODE_IS_USED = message("A batch of that code exists already: type another with --code.")
SWALLOWED = message("{path} swallowed the entry: ask haccp record verify.")
BROKEN = message("The line to {path} broke: nothing was recorded. Type it again.")
_SENTENCES = (
    ("not a database", message("{path} is not a haccp record: name one with --db.")),
    ("decode", DAMAGED),
    ("malformed", DAMAGED),
    (
        "dbmoved",
        message("{path} was moved or replaced just now: nothing was recorded. Enter it again."),
    ),
    ("readonly", message("{path} is read-only: ask for write access, or name another with --db.")),
    (
        "unable to open",
        message("{path} cannot be opened: check that the folder exists and may be written."),
    ),
    ("locked", message("{path} is being written by another program: try again.")),
    (
        "full",
        message("The disk is full: nothing was recorded. Free some space and enter it again."),
    ),
    ("disk i/o", message("The disk under {path} reports an error: nothing was recorded.")),
    (
        "code is used once",
        CODE_IS_USED,
    ),
    ("append-only", CHANGED),
    ("unique", CHANGED),
)


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
                raise Refused(phrase(sentence, path=path)) from error
        raise Refused(
            phrase(
                "{path} is not as haccp made it ({cause}): ask haccp record verify.",
                path=path,
                cause=str(cause).lower(),
            )
        ) from error


def reason_of(error: OSError) -> str:
    """Give what the system says, in its words."""
    return error.strerror.lower() if error.strerror else phrase("the system refuses")


def differing(made: Mapping[str, str], there: Mapping[str, str]) -> list[str]:
    """Say which guards of a record are gone, changed or added since haccp made them."""
    found = []
    for name in sorted(made.keys() | there.keys()):
        if made.get(name) != there.get(name):
            if name not in there:
                how = message("{name} of the record's own guards is gone: somebody opened it.")
            elif name in made:
                how = message("{name} of the record's own guards is changed: somebody opened it.")
            else:
                how = message("{name} of the record's own guards is added: somebody opened it.")
            found.append(phrase(how, name=repr(name)))
    return found
