"""Copies of a record that are whole while others write, and putting one back."""

import os
import sqlite3
from contextlib import closing, suppress
from datetime import datetime
from glob import escape
from pathlib import Path

from haccp.errors import Refused
from haccp.record.chain import first_misfit
from haccp.record.store import PATIENCE, Record, open_record


def back_up(record: Record, target: Path) -> int:
    """Copy a record as it is at one moment, and check the copy's chain; gives its entries' number.

    The copy is readable by its owner only, and appears under its name only when it is whole.
    Raises Refused where a file is there already, or the chain does not hold.
    """
    if target.exists():
        raise Refused(f"{target} exists already: name another file.")
    return _whole_copy(record.path, target)


def restore(source: Path, target: Path, now: datetime) -> tuple[int, Path | None]:
    """Put a backup in a record's place after checking its chain; what was there is kept beside it.

    Gives the number of entries and where the old record now is. Raises Refused where the backup
    is no record or does not hold together: then nothing has changed. Who waits for the old record
    meanwhile is refused once this is done: nothing is acknowledged into a file that was put away.
    """
    if not source.is_file():
        raise Refused(f"There is no backup {source}.")
    kept = target.with_name(f"{target.name}.replaced-{now:%Y%m%dT%H%M%SZ}")
    if kept.exists():
        raise Refused(f"{kept} exists already: move it away first.")
    copy = target.with_name(f"{target.name}.{os.getpid()}.restored")
    try:
        count = _whole_copy(source, copy)
        if count == 0:
            raise Refused(f"{source} holds no entries: nothing was restored.")
        replaced = _put_in_place(copy, target, kept)
    finally:
        copy.unlink(missing_ok=True)
    _sync(target.parent)
    return count, kept if replaced else None


def _put_in_place(copy: Path, target: Path, kept: Path) -> bool:
    """Give a copy the record's name, and the record there another; say whether there was one."""
    if not target.exists():
        # what a killed writer left beside a record that is gone must not be rolled into this one
        journal = target.with_name(f"{target.name}-journal")
        with suppress(FileNotFoundError):
            journal.rename(kept.with_name(f"{kept.name}-journal"))
        copy.rename(target)
        return False
    with closing(sqlite3.connect(target, timeout=PATIENCE, isolation_level=None)) as old:
        try:
            # rolls back what a killed writer left, which must not be rolled into the new file
            old.execute("BEGIN IMMEDIATE")
        except sqlite3.DatabaseError as error:
            if "locked" in str(error):
                raise Refused(f"{target} is being written: try again. Nothing changed.") from None
        try:
            os.link(target, kept)
        except OSError as error:
            # a stick's file system may know no second name of a file
            raise Refused(
                f"{target} cannot be kept as {kept.name} ({error.strerror}): move it away "
                f"yourself, then restore again. Nothing changed."
            ) from None
        copy.replace(target)
    return True


def _whole_copy(source: Path, target: Path) -> int:
    partial = target.with_name(f"{target.name}.{os.getpid()}.partial")
    try:
        os.close(os.open(partial, os.O_CREAT | os.O_WRONLY | os.O_TRUNC, 0o600))
        with (
            closing(sqlite3.connect(source)) as original,
            closing(sqlite3.connect(partial)) as copy,
        ):
            original.backup(copy)
        count = checked(partial)
        _sync(partial)
        partial.rename(target)
        _sync(target.parent)
    except Refused as error:
        raise Refused(str(error).replace(str(partial), str(source))) from None
    except (OSError, sqlite3.Error) as error:
        if "not a database" in str(error):
            raise Refused(f"{source} is no haccp record: name a backup.") from None
        raise Refused(f"{source} cannot be copied to {target}: {error}.") from None
    finally:
        for left in partial.parent.glob(f"{escape(partial.name)}*"):
            left.unlink()
    return count


def daily_copy(record: Record, keep: int, day: str) -> None:
    """Keep one copy a day beside the record, the newest `keep` of them.

    Of days that have not come the clock spoke when it was wrong: such copies go first, and the
    one just made never.
    """
    folder = record.path.with_name(f"{record.path.name}.daily")
    copy = folder / f"{day}.sqlite3"
    if keep == 0 or copy.exists():
        return
    folder.mkdir(mode=0o700, exist_ok=True)
    # several entries at once may each make the day's copy, and take away the same old ones: the
    # last whole one stays
    _whole_copy(record.path, copy)
    copies = sorted(folder.glob("*.sqlite3"), key=lambda one: (one.stem <= day, one.stem))
    # what was begun on another day was left by a process that is no more
    left = (one for one in folder.glob("*.partial*") if not one.name.startswith(day))
    for old in (*copies[:-keep], *left):
        old.unlink(missing_ok=True)


def checked(path: Path) -> int:
    """Open a record and walk its chain; raises Refused where it does not hold."""
    record = open_record(path, create=False)
    try:
        misfit, damage, count = first_misfit(record.rows()), record.damage(), record.head()[0]
    finally:
        record.close()
    problem = damage[0] if damage else misfit
    if problem:
        raise Refused(f"{path} does not hold together: {problem}")
    return count


def _sync(path: Path) -> None:
    """Wait until a file, or the names in a folder, are on disk."""
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
