"""Copies of a record that are whole while others write, and putting one back."""

import os
import sqlite3
import stat
from collections.abc import Callable
from contextlib import closing, suppress
from dataclasses import dataclass
from datetime import datetime
from glob import escape
from pathlib import Path

from haccp.errors import Refused
from haccp.language import message, phrase
from haccp.record.bodies_of_record import Restored
from haccp.record.chain import first_misfit
from haccp.record.entries import Draft
from haccp.record.pins import PINS, carry_pins
from haccp.record.sqlite import PATIENCE
from haccp.record.store import Record, open_record

_LOOSE = message("{path} does not hold together: {problem}")
_IN_USE = message("{path} is being written: try again. Nothing changed.")


def back_up(record: Record, target: Path) -> int:
    """Copy a record as it is at one moment, and check the copy's chain; gives its entries' number.

    The copy is readable by its owner only, and appears under its name only when it is whole.
    Raises Refused where a file is there already, or the chain does not hold.
    """
    if target.exists():
        raise Refused(phrase("{path} exists already: name another file.", path=target))
    return _whole_copy(record.file, target)


def restore(
    source: Path,
    target: Path,
    who: Callable[[Path], tuple[str, bool]],
    clock: Callable[[], datetime],
) -> tuple[int, Path | None]:
    """Put a backup in a record's place after checking it as `record verify` does; keep the old one.

    `who` proves by the PINs of the file that it is given which manager does it: those of the record
    that is replaced, where there is one. They stay in force with their wrong tries, and the
    restored record says in an entry of its own what was done. Gives the number of the backup's
    entries and where the old record now is. Raises Refused, and then nothing has changed, where the
    backup does not hold together or is another kitchen's. Who waits for the old record meanwhile
    is refused once this is done: nothing is acknowledged into a file that was put away.
    """
    _refuse_other_names(source, target)
    kept = target.with_name(f"{target.name}.replaced-{clock():%Y%m%dT%H%M%SZ}")
    if kept.exists():
        raise Refused(phrase("{path} exists already: move it away first.", path=kept))
    copy = target.with_name(f"{target.name}.{os.getpid()}.restored")
    try:
        count = _whole_copy(source, copy)
        if count == 0:
            empty = message("{path} holds no entries: nothing was restored.")
            raise Refused(phrase(empty, path=source))
        with closing(open_record(copy, create=False)) as record:
            problems = record.problems() or record.differences()
        if problems:
            raise Refused(phrase(_LOOSE, path=source, problem=problems[0]))
        there = _first_digest(target)
        if there and there != _first_digest(copy):
            raise Refused(
                phrase(
                    "{source} is of another kitchen than {path}, its first entry differs: name "
                    "another place with --db, or move {name} away by hand first.",
                    source=source,
                    path=target,
                    name=target.name,
                )
            )
        person, proved = who(target if there else copy)
        replaced = _put_in_place(copy, target, kept, _Act(person, proved, clock))
    finally:
        for left in copy.parent.glob(f"{escape(copy.name)}*"):
            left.unlink()
    _sync(target.parent)
    return count, kept if replaced else None


def by_hand(path: Path) -> str:
    """Say what is left to do where nobody can show that they may replace a record."""
    return phrase(
        "Nobody can prove by it who may replace it: move {path} away by hand, then restore again.",
        path=path,
    )


def _unread(path: Path) -> str:
    return f"{phrase('{path} cannot be read.', path=path)} {by_hand(path)}"


def _refuse_other_names(source: Path, target: Path) -> None:
    """Refuse what is no plain file of one name: by another the old record would stay in use."""
    if not source.is_file():
        raise Refused(phrase("There is no backup {path}.", path=source))
    if target.is_symlink() or (target.exists() and not target.is_file()):
        no_file = message("{path} is no plain file: name the record itself with --db.")
        raise Refused(phrase(no_file, path=target))
    if target.exists() and source.samefile(target):
        raise Refused(phrase("{path} is the record itself: name a backup.", path=source))
    if target.exists() and target.stat().st_nlink > 1:
        raise Refused(
            phrase(
                "{path} has a second name on this disk, perhaps {name}.replaced-... of a restore "
                "that was stopped: remove that name first.",
                path=target,
                name=target.name,
            )
        )


def _first_digest(path: Path) -> str:
    """Give the digest of a record's first entry; empty where there is none to lose.

    Raises Refused where it cannot be read, and for a file that is no record.
    """
    if not path.exists() or path.stat().st_size == 0:
        return ""
    try:
        with closing(sqlite3.connect(path, timeout=PATIENCE)) as plain:
            first = plain.execute("SELECT seq, digest FROM entry ORDER BY seq LIMIT 1").fetchone()
    except sqlite3.Error as error:
        if "locked" in str(error):
            raise Refused(phrase(_IN_USE, path=path)) from None
        raise Refused(_unread(path)) from None
    if first and (first[0] != 1 or not isinstance(first[1], str)):
        gone = phrase("The first entry of {path} is gone.", path=path)
        raise Refused(f"{gone} {by_hand(path)}")
    return first[1] if first else ""


@dataclass(frozen=True, slots=True)
class _Act:
    """Who restores, and whether a PIN proved it."""

    person: str
    proved: bool
    clock: Callable[[], datetime]


def _put_in_place(copy: Path, target: Path, kept: Path, act: _Act) -> bool:
    """Give a copy the record's name, and the record there another; say whether there was one."""
    if not target.exists():
        _note(copy, None, act)
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
            _note(copy, old, act)
        except sqlite3.DatabaseError as error:
            if "locked" in str(error):
                raise Refused(phrase(_IN_USE, path=target)) from None
            raise Refused(_unread(target)) from None
        _keep_owner(copy, target)
        try:
            os.link(target, kept)
        except OSError as error:
            # a stick's file system may know no second name of a file
            raise Refused(
                phrase(
                    "{path} cannot be kept as {name} ({reason}): move it away yourself, then "
                    "restore again. Nothing changed.",
                    path=target,
                    name=kept.name,
                    reason=error.strerror,
                )
            ) from None
        copy.replace(target)
    return True


def _note(copy: Path, old: sqlite3.Connection | None, act: _Act) -> None:
    """Carry the old record's PINs into a copy, and append to it what was put in whose place."""
    has_entries = old and old.execute("SELECT 1 FROM sqlite_master WHERE name = 'entry'").fetchone()
    last = None
    with closing(open_record(copy, create=False)) as record:
        if old and has_entries:
            last = old.execute("SELECT seq, digest FROM entry ORDER BY seq DESC LIMIT 1").fetchone()
            carry_pins(record, old.execute(PINS).fetchall())
        seq, digest = record.head()
        body = Restored(
            replaced=last[0] if last else 0,
            replaced_digest=last[1] if last else "",
            restored=seq,
            restored_digest=digest,
            proved=act.proved,
        )
        record.append([Draft(body=body, at=act.clock(), person=act.person)], act.clock)
    _sync(copy)


def _keep_owner(copy: Path, target: Path) -> None:
    """Let a copy be read and written by those who could read and write the record."""
    was = target.stat()
    try:
        if (was.st_uid, was.st_gid) != (copy.stat().st_uid, copy.stat().st_gid):
            os.chown(copy, was.st_uid, was.st_gid)
        copy.chmod(stat.S_IMODE(was.st_mode))
    except OSError:
        raise Refused(
            phrase(
                "{path} belongs to somebody else and would not be theirs any more: let them "
                "restore it. Nothing changed.",
                path=target,
            )
        ) from None


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
            no_record = message("{path} is no haccp record: name a backup.")
            raise Refused(phrase(no_record, path=source)) from None
        failed = message("{path} cannot be copied to {target}: {reason}.")
        raise Refused(phrase(failed, path=source, target=target, reason=error)) from None
    finally:
        for left in partial.parent.glob(f"{escape(partial.name)}*"):
            left.unlink()
    return count


def daily_copy(record: Record, keep: int, day: str) -> None:
    """Keep one copy a day beside the record, the newest `keep` of them.

    Of days that have not come the clock spoke when it was wrong: such copies go first, and the
    one just made never.
    """
    folder = record.file.with_name(f"{record.file.name}.daily")
    copy = folder / f"{day}.sqlite3"
    if keep == 0 or copy.exists():
        return
    folder.mkdir(mode=0o700, exist_ok=True)
    # several entries at once may each make the day's copy, and take away the same old ones: the
    # last whole one stays
    _whole_copy(record.file, copy)
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
        raise Refused(phrase(_LOOSE, path=path, problem=problem))
    return count


def _sync(path: Path) -> None:
    """Wait until a file, or the names in a folder, are on disk."""
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
