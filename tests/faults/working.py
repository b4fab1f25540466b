"""Work for processes that are killed in the middle of it, and the way to start and kill them."""

import multiprocessing
import os
import random
import resource
import signal
import sys
import time
from collections.abc import Callable, Sequence
from multiprocessing.connection import Connection
from multiprocessing.context import ForkServerContext, ForkServerProcess
from pathlib import Path
from types import FrameType
from typing import Any

import haccp
from haccp.cli.outputs import SHOWN, replace_whole
from haccp.record.backup import back_up, daily_copy, restore
from haccp.record.exports import from_export
from haccp.record.store import open_record
from tests.faults.making import EVENING, Answer, noon, opened, reading, type_in


def forkserver() -> ForkServerContext:
    """Give processes that start in milliseconds, from one that has imported the record."""
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["tests.faults.working", "haccp.record.migrate", "pytest"])
    return context


def start(
    work: Callable[..., None], *arguments: object, log: Path | None = None
) -> ForkServerProcess:
    """Start a process; what it writes to descriptor 1, and its trace, go to a file."""
    process = forkserver().Process(target=_quietly, args=(work, arguments, log))
    process.start()
    return process


def _quietly(work: Callable[..., None], arguments: Sequence[object], log: Path | None) -> None:
    if log:
        handle = os.open(log, os.O_CREAT | os.O_WRONLY | os.O_APPEND)
        os.dup2(handle, 1)
        os.dup2(handle, 2)
    work(*arguments)


def acknowledge(*words: object) -> None:
    """Say that something is done: one write, whole or not there, seen after a kill too."""
    os.write(1, (" ".join(map(str, words)) + "\n").encode())


def die_at_line(
    number: int, files: Sequence[str], work: Callable[..., None], *arguments: object
) -> None:
    """Run something and kill this process before the n-th line that it comes to first.

    Lines of these files of haccp count, `record/backup.py` for one.
    """
    package = Path(haccp.__file__).parent
    watched = {str(package / file) for file in files}
    passed: set[tuple[str, int]] = set()

    def at_line(frame: FrameType, event: str, argument: object) -> Any:
        passed.add((frame.f_code.co_filename, frame.f_lineno))
        if len(passed) == number:
            os.kill(os.getpid(), signal.SIGKILL)
        return at_line

    def at_call(frame: FrameType, event: str, argument: object) -> Any:
        return at_line if frame.f_code.co_filename in watched else None

    sys.settrace(at_call)
    work(*arguments)
    sys.settrace(None)


def write_until_killed(path: Path, name: str, seed: int) -> None:
    """Append groups of one to four entries; acknowledge each group once append has returned."""
    chance = random.Random(seed)
    record = open_record(path, create=False)
    for group in range(1_000_000):
        size = chance.randint(1, 4)
        drafts = [
            reading(str(60 + n), minute=group, note=f"{name}/{group}/{n}/{size}")
            for n in range(size)
        ]
        made = record.append(drafts, noon)
        acknowledge(*(f"{entry.seq}:{entry.digest}" for entry in made))


def import_it(place: Path) -> None:
    rows = from_export((place / "record.json").read_bytes())
    record = open_record(place / "record.sqlite3", create=True)
    record.restore(rows)
    record.close()


def upgrade_it(place: Path, go: Path | None = None, _: str = "") -> None:
    if go:
        _wait_for(go)
    open_record(place / "record.sqlite3", create=False).close()


def back_it_up(place: Path) -> None:
    with opened(place / "record.sqlite3") as record:
        back_up(record, place / "copy.sqlite3")


def copy_of_the_day(place: Path, day: str = "2026-10-26") -> None:
    with opened(place / "record.sqlite3") as record:
        daily_copy(record, 3, day)


def restore_it(place: Path) -> None:
    restore(
        place / "copy.sqlite3", place / "record.sqlite3", lambda _: ("AR", True), lambda: EVENING
    )


def export_it(place: Path) -> None:
    result = type_in(place / "record.sqlite3", "export", "--force", str(place / "record.csv"))
    assert result.exit_code == 0, result.output


def write_one_file_often(file: Path, go: Path, name: str) -> None:
    _wait_for(go)
    for _ in range(100):
        replace_whole(file, [name.encode() * 100_000], mode=SHOWN)


def die_in_the_middle_of_an_entry(path: Path) -> None:
    """Write so much at once that pages are in the file before the commit, and die there."""
    record = open_record(path, create=False)
    with record.transaction(writing=True) as connection:
        connection.exec_driver_sql("PRAGMA cache_size = 5")
        for number in range(3_000):
            connection.exec_driver_sql(
                "INSERT INTO pin VALUES (?, ?, 0, '')", (f"X{number}", "h" * 300)
            )
        os.kill(os.getpid(), signal.SIGKILL)


def type_under_a_limit(path: Path, *words: str, largest_file: int) -> Answer:
    """Run a command line in a process of its own, where no file may grow beyond so many bytes."""
    ours, theirs = forkserver().Pipe(duplex=False)
    process = forkserver().Process(
        target=_type_under_a_limit, args=(theirs, path, words, largest_file)
    )
    process.start()
    theirs.close()
    answer: Answer = ours.recv()
    process.join()
    process.close()
    ours.close()
    return answer


def _type_under_a_limit(
    answers: Connection, path: Path, words: Sequence[str], largest_file: int
) -> None:
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (largest_file, largest_file))
    result = type_in(path, *words)
    answers.send(Answer(result.exit_code, result.stdout, result.stderr))


def take_long_to_write(path: Path, seconds: float) -> None:
    """Write so much at once that pages are in the file before the commit, and commit late."""
    record = open_record(path, create=False)
    with record.transaction(writing=True) as connection:
        connection.exec_driver_sql("PRAGMA cache_size = 5")
        for number in range(3_000):
            connection.exec_driver_sql(
                "INSERT INTO pin VALUES (?, ?, 0, '')", (f"X{number}", "h" * 300)
            )
        acknowledge("writing")
        time.sleep(seconds)
    acknowledge("written")


def _wait_for(go: Path) -> None:
    while not go.exists():
        time.sleep(0.001)


def append_many(path: Path, go: Path, each: int, name: str) -> None:
    """Append so many entries one by one, saying how long each one took."""
    record = open_record(path, create=False)
    _wait_for(go)
    for number in range(each):
        begun = time.monotonic()
        (made,) = record.append([reading(note=f"{name}/{number}")], noon)
        acknowledge(made.seq, made.digest, time.monotonic() - begun)


def create_it(path: Path, go: Path, _: str) -> None:
    _wait_for(go)
    open_record(path, create=True).close()


def back_up_daily(path: Path, go: Path, _: str) -> None:
    with opened(path) as record:
        _wait_for(go)
        daily_copy(record, 3, "2026-10-26")
