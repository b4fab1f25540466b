"""Where haccp writes a file that it is told to write: whole or not at all, and over nothing else.

No output is ever the record in use, another database, or anything that is no plain file. What is
there already is replaced where it is the same kind of paper, made by haccp for the same kitchen;
anything else only where a person insists.
"""

import os
import re
import stat
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from glob import escape
from pathlib import Path
from typing import Any, TypeVar

import click

from haccp.cli.boundary import system_says
from haccp.errors import Refused
from haccp.language import phrase
from haccp.record.places import Place

_Command = TypeVar("_Command", bound=Callable[..., Any])

# Who may read what is written: entries are for their owner, a paper is for whoever is shown it.
PRIVATE, SHOWN = 0o600, 0o666

# How files of SQLite begin (its file format, sections 1.3, 3 and 4.1): database, journal, WAL.
_DATABASES = (
    b"SQLite format 3\0",
    bytes.fromhex("d9d505f920a163d7"),
    bytes.fromhex("377f0682"),
    bytes.fromhex("377f0683"),
)
_BESIDE_A_RECORD = ("", "-journal", "-wal", "-shm")
# How papers begin: PDF, PNG, SVG.
_PAPERS = (b"%PDF-", b"\x89PNG", b"<?xml")
# No paper is longer [bytes].
_LONGEST = 100_000_000


def force_option(command: _Command) -> _Command:
    return click.option(
        "--force", is_flag=True, help="Replace a file that is there, whatever it is."
    )(command)


def paper_mark(kind: str, identity: str) -> str:
    """Give what stands in a paper's metadata: its kind, and the record that it was made from."""
    return f"haccp {kind} {identity[:16]}"


def is_paper(mark: str) -> Callable[[bytes], bool]:
    """Give what recognises a paper with that mark."""
    return lambda content: content.startswith(_PAPERS) and mark.encode() in content


def write_whole(
    path: Path,
    content: Iterable[bytes],
    *,
    records: Sequence[Place],
    is_own: Callable[[bytes], bool],
    mode: int,
    force: bool,
) -> None:
    """Write a file or nothing: never half of one.

    `content` is asked for when it is known that it may be written. `records` are the ones in use;
    `is_own` recognises an earlier file of the same kind by its content. Raises Refused where the
    place is taken, or the system refuses.
    """
    refuse_taken(path, records=records, is_own=is_own, force=force)
    replace_whole(path, content, mode=mode)


def refuse_taken(
    path: Path, *, records: Sequence[Place], is_own: Callable[[bytes], bool], force: bool
) -> None:
    """Refuse a place where nothing may be written, or where something else is already."""
    refuse_place(path, records)
    there = _content(path)
    if there is not None and not force and not is_own(there):
        raise Refused(
            phrase(
                "{path} exists and is not the same kind of file, made by haccp from this "
                "record: name another, or add --force to replace it.",
                path=path,
            )
        )


def refuse_place(path: Path, records: Sequence[Place]) -> None:
    """Refuse a place where nothing may be written, whatever a person insists on."""
    if not path.name:
        raise Refused(phrase("The file has no name: type one such as record.json."))
    if any(_belongs_to(path, record) for record in records if isinstance(record, Path)):
        raise Refused(
            phrase("{path} is the record itself, or belongs to it: name another file.", path=path)
        )
    try:
        mode = path.lstat().st_mode
    except FileNotFoundError:
        return
    except OSError as error:
        raise _cannot(path, error) from None
    if stat.S_ISLNK(mode):
        raise Refused(phrase("{path} is a link: name the file itself.", path=path))
    if not stat.S_ISREG(mode):
        raise Refused(phrase("{path} is no plain file: name another.", path=path))
    if (_content(path, 16) or b"").startswith(_DATABASES):
        raise Refused(
            phrase("{path} is a database, perhaps a record: name another file.", path=path)
        )


def _belongs_to(path: Path, record: Path) -> bool:
    """Whether a file is a record, under whatever name, or one that SQLite keeps beside it."""
    return _is_same(path, record) or any(
        path.name in {f"{one.name}{end}" for end in _BESIDE_A_RECORD}
        and _is_same(path.parent, one.parent)
        for one in (record, record.resolve())
    )


def _is_same(path: Path, record: Path) -> bool:
    try:
        return path.samefile(record)
    except OSError:
        return False


def _content(path: Path, most: int = _LONGEST) -> bytes | None:
    """Read what is there, through no link and waiting for nobody; None where there is nothing."""
    try:
        handle = os.open(path, os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK)
    except FileNotFoundError:
        return None
    except OSError as error:
        raise _cannot(path, error) from None
    with os.fdopen(handle, "rb") as file:
        return file.read(most)


def replace_whole(path: Path, content: Iterable[bytes], *, mode: int) -> None:
    """Put a whole file under a name, in place of what is there; raises Refused where it cannot."""
    clear_partials(path)
    partial = partial_beside(path)
    try:
        handle = os.open(partial, os.O_CREAT | os.O_EXCL | os.O_WRONLY, mode)
        with os.fdopen(handle, "wb") as file:
            file.writelines(content)
            file.flush()
            os.fsync(file.fileno())  # or a pulled plug leaves an empty file under the name
        partial.replace(path)
    except OSError as error:
        raise _cannot(path, error) from None
    finally:
        with suppress(OSError):
            partial.unlink()


def partial_beside(path: Path) -> Path:
    """Name the file that is not whole yet by the process that writes it."""
    return path.with_name(f"{path.name}.{os.getpid()}.partial")


def clear_partials(path: Path) -> None:
    """Remove what killed commands left of a file; not what a living one is writing."""
    left = re.compile(rf"{re.escape(path.name)}\.([0-9]+)\.partial(-journal|-wal|-shm)?")
    for one in path.parent.glob(f"{escape(path.name)}.*"):
        match = left.fullmatch(one.name)
        if match and not _is_alive(int(match[1])):
            with suppress(OSError):
                one.unlink()


def _is_alive(process: int) -> bool:
    """Whether another process is at work; this one writes no file twice at once."""
    if process == os.getpid():
        return False
    try:
        os.kill(process, 0)
    except (ProcessLookupError, OverflowError):
        return False
    except PermissionError:  # somebody else's
        return True
    return True


def _cannot(path: Path, error: OSError) -> Refused:
    return Refused(phrase("{path} cannot be written: {why}.", path=path, why=system_says(error)))
