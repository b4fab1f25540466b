"""SIGKILL at any moment: what was acknowledged is there, nothing is half there, the chain holds."""

import json
import os
import random
import shutil
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from haccp.errors import Refused
from haccp.record.chain import first_misfit
from haccp.record.exports import from_export, to_csv, to_json
from tests.faults.making import (
    assert_one_chain,
    chained,
    kitchen_drafts,
    make_kitchen,
    make_old,
    noon,
    opened,
    reading,
    rows_by_hand,
    type_in,
)
from tests.faults.working import (
    back_it_up,
    copy_of_the_day,
    die_at_line,
    die_in_the_middle_of_an_entry,
    export_it,
    import_it,
    restore_it,
    start,
    upgrade_it,
    write_until_killed,
)

SEED = 20261026

Rounds = Iterator[tuple[Path, bool]]
"""A folder after each kill, and whether the work in it came to its end."""


def test_an_entry_is_synced_to_the_disk_before_it_is_acknowledged(tmp_path: Path) -> None:
    """EXTRA: also the folder, from which the journal must be gone, is synced."""
    make_kitchen(tmp_path / "record.sqlite3")
    with (
        opened(tmp_path / "record.sqlite3") as record,
        record.transaction(writing=True) as connection,
    ):
        assert connection.exec_driver_sql("PRAGMA synchronous").scalar() == 3
        assert connection.exec_driver_sql("PRAGMA journal_mode").scalar() == "delete"


def test_a_copy_is_on_the_disk_under_its_name_before_it_is_acknowledged(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is synced last is the folder, when the file has its name there: a plug may be pulled."""
    make_kitchen(tmp_path / "record.sqlite3")
    synced: list[list[Path]] = []
    really = os.fsync

    def sync(handle: int) -> None:
        is_folder = os.fstat(handle).st_ino == tmp_path.stat().st_ino
        synced.append(sorted(tmp_path.iterdir()) if is_folder else [])
        really(handle)

    monkeypatch.setattr(os, "fsync", sync)
    for work in (back_it_up, restore_it):
        work(tmp_path)
        assert [[], sorted(tmp_path.iterdir())] == [synced[0], synced[-1]]
        synced.clear()


@dataclass
class Tally:
    kills: int = 0
    acknowledged: int = 0
    entries: int = 0
    interrupted: int = 0


def killed_writers(folder: Path, *, kills: int, entries: int, longest: float, seed: int) -> Tally:
    """Kill writers, one to three at a time, and look after each round what is left.

    Each lives up to `longest` [s]; it goes on until both numbers are reached.
    """
    chance = random.Random(seed)
    path = folder / "record.sqlite3"
    before = make_kitchen(path)
    made_first, tally = len(before), Tally()
    while tally.kills < kills or tally.acknowledged < entries:
        names = [f"w{tally.kills + n}" for n in range(chance.randint(1, 3))]
        logs = [folder / f"{name}.log" for name in names]
        writers = [
            start(write_until_killed, path, name, chance.randrange(2**32), log=log)
            for name, log in zip(names, logs, strict=True)
        ]
        time.sleep(chance.uniform(0, longest))
        for writer in writers:
            writer.kill()
        for writer in writers:
            writer.join()
            assert writer.exitcode == -9
            writer.close()
        tally.kills += len(names)
        tally.interrupted += path.with_name(f"{path.name}-journal").exists()
        rows = rows_by_hand(path)
        assert rows[: len(before)] == before
        assert_acknowledged_are_there(logs, rows, tally)
        assert_groups_are_whole(rows[len(before) :])
        before = rows
    assert_one_chain(before)
    assert first_misfit(before) is None
    tally.entries = len(before) - made_first
    return tally


def assert_acknowledged_are_there(
    logs: list[Path], rows: list[dict[str, Any]], tally: Tally
) -> None:
    for log in logs:
        for word in (log.read_text() if log.exists() else "").split():
            seq, digest = word.split(":")
            assert rows[int(seq) - 1]["digest"] == digest
            tally.acknowledged += 1
        log.unlink(missing_ok=True)


def assert_groups_are_whole(rows: list[dict[str, Any]]) -> None:
    """Hold that each entry is just what its writer appended, and each group there to its end."""
    waiting: list[str] = []
    for row in rows:
        note = json.loads(row["body"])["note"]
        name, group, number, size = note.split("/")
        if not waiting:
            waiting = [f"{name}/{group}/{n}/{size}" for n in range(int(size))]
        assert note == waiting.pop(0)
        wanted = reading(str(60 + int(number)), minute=int(group), note=note)
        assert row == {
            **chained([wanted])[0],
            **{column: row[column] for column in ("seq", "previous", "digest")},
        }
    assert not waiting, "half of a group of entries is in the record"


def test_every_acknowledged_entry_survives_kills_at_random_moments(tmp_path: Path) -> None:
    tally = killed_writers(tmp_path, kills=40, entries=60, longest=0.5, seed=SEED)
    assert tally.entries >= tally.acknowledged


def killed_at_each_line(
    files: Sequence[str], work: Callable[..., None], prepare: Callable[[Path], None], folder: Path
) -> Rounds:
    """Do some work in a folder of its own, killed before each line of some files in turn.

    Gives the folder, and whether the work came to its end: then there are no more lines.
    """
    original = folder / "original"
    original.mkdir()
    prepare(original)
    for number in range(1, 2_000):
        place = folder / "place"
        shutil.copytree(original, place)
        process = start(die_at_line, number, files, work, place, log=folder / "log")
        process.join()
        done = process.exitcode == 0
        assert done or process.exitcode == -9, (folder / "log").read_text()
        process.close()
        yield place, done
        shutil.rmtree(place)
        if done:
            assert number > 10
            return
    raise AssertionError("the work never came to its end")


def killed_at_random_moments(
    work: Callable[..., None], prepare: Callable[[Path], None], folder: Path, kills: int, seed: int
) -> Rounds:
    """The same, killed at any moment of the time that it takes when it is left alone."""
    chance = random.Random(seed)
    original = folder / "original"
    original.mkdir()
    prepare(original)
    taken = 0.0
    for number in range(kills + 1):
        place = folder / "place"
        shutil.copytree(original, place)
        begun = time.monotonic()
        process = start(work, place, log=folder / "log")
        if number:
            time.sleep(chance.uniform(0, taken))
            process.kill()
        process.join()
        taken = taken or time.monotonic() - begun
        done = process.exitcode == 0
        assert done or (number and process.exitcode == -9), (folder / "log").read_text()
        process.close()
        yield place, done
        shutil.rmtree(place)


def prepare_import(place: Path) -> None:
    """An export long enough that its import does not fit into SQLite's cache."""
    drafts = kitchen_drafts() + [reading(minute=n, note="x" * 900) for n in range(3_000)]
    (place / "record.json").write_text(to_json(chained(drafts)))


def prepare_small_import(place: Path) -> None:
    (place / "record.json").write_text(to_json(chained(kitchen_drafts())))


def check_import(place: Path, *, done: bool) -> None:
    """Hold that all is there or nothing, and that nothing may be imported again into a new record."""
    path = place / "record.sqlite3"
    rows = from_export((place / "record.json").read_bytes())
    there = rows_by_hand(path) if path.exists() else []
    assert there in ([], rows)
    assert there or not done
    if there:
        with opened(path) as record, pytest.raises(Refused):
            record.restore(rows)
    else:
        import_it(place)
    assert rows_by_hand(path) == rows
    with opened(path) as record:
        assert record.problems() == []


def prepare_upgrade(place: Path) -> None:
    make_old(place / "record.sqlite3", chained(kitchen_drafts()))
    (place / "record.sqlite3").chmod(0o600)
    shutil.copy(place / "record.sqlite3", place / "old.sqlite3")


def check_upgrade(place: Path, *, done: bool) -> None:
    """Hold that it is the old record or the new one, that it opens by itself, and what lies beside."""
    path = place / "record.sqlite3"
    modes = {one.name: one.stat().st_mode & 0o077 for one in place.iterdir()}
    assert not any(modes.values()), "what the copy holds so far may be read by others"
    old = rows_by_hand(place / "old.sqlite3")
    assert rows_by_hand(path) == old
    upgrade_it(place)
    assert rows_by_hand(path) == old
    with opened(path) as record:
        assert record.problems() == []
    kept = place / "record.sqlite3.before-upgrade-from-0001"
    assert rows_by_hand(kept) == old
    assert {one.name for one in place.iterdir()} == {path.name, "old.sqlite3", kept.name}


def prepare_backup(place: Path) -> None:
    make_kitchen(place / "record.sqlite3")


def prepare_large_backup(place: Path) -> None:
    make_kitchen(place / "record.sqlite3", readings=3_000)


def check_backup(place: Path, *, done: bool) -> None:
    """Hold that under the copy's name there is all or nothing, and that it can be done again."""
    path, copy = place / "record.sqlite3", place / "copy.sqlite3"
    rows = rows_by_hand(path)
    assert copy.exists() or not done
    if not copy.exists():
        back_it_up(place)
    assert rows_by_hand(copy) == rows
    assert {one.name for one in place.iterdir()} >= {path.name, copy.name}
    with opened(copy) as record:
        assert record.problems() == []


def check_copy_of_the_day(place: Path, *, done: bool) -> None:
    """Hold that the day has a whole copy or none, and that the next day's leaves no half one."""
    folder = place / "record.sqlite3.daily"
    rows = rows_by_hand(place / "record.sqlite3")
    days = sorted(one.stem for one in folder.glob("*.sqlite3"))
    assert days in ([], ["2026-10-26"])
    assert days or not done
    copy_of_the_day(place, "2026-10-27")
    assert sorted(one.name for one in folder.iterdir()) == [
        f"{day}.sqlite3" for day in (*days, "2026-10-27")
    ]
    assert all(rows_by_hand(one) == rows for one in folder.iterdir())


def prepare_restore(place: Path) -> None:
    """A backup, and a record that has gone on since, with a writer killed in the middle of it."""
    make_kitchen(place / "record.sqlite3", readings=300)
    back_it_up(place)
    with opened(place / "record.sqlite3") as record:
        record.append([reading(note="y" * 200) for _ in range(300)], noon)


def check_restore(place: Path, *, done: bool) -> None:
    """Hold that in the record's place is the old one or the backup, and no entry is lost."""
    path, copy = place / "record.sqlite3", place / "copy.sqlite3"
    backup = rows_by_hand(copy)
    assert path.exists(), "between the old record and the new one there was none"
    there = rows_by_hand(path)
    assert there[: len(backup)] == backup
    restored = there[len(backup)]["kind"] == "restored"
    assert len(there) == len(backup) + (1 if restored else 300)
    assert restored or not done
    assert_one_chain(there)
    kept = list(place.glob("record.sqlite3.replaced-*"))
    if restored:
        (old,) = (rows_by_hand(one) for one in kept)
        assert len(old) == len(backup) + 300
        assert_one_chain(old)
    else:
        for one in kept:  # a second name of the record that is still there
            assert one.samefile(path)
            one.unlink()
        restore_it(place)
        assert rows_by_hand(path)[:-1] == backup


def prepare_export(place: Path) -> None:
    make_kitchen(place / "record.sqlite3")
    (place / "record.csv").write_text("an older export")


def check_export(place: Path, *, done: bool) -> None:
    """Hold that under its name is the older file or the whole new one."""
    text = (place / "record.csv").read_bytes().decode()
    assert text in ("an older export", to_csv(rows_by_hand(place / "record.sqlite3")))
    assert text != "an older export" or not done


OPENING = ("record/store.py", "record/migrate.py")
COPYING = ("record/backup.py",)
LINE_BY_LINE = {
    "an import": (OPENING, prepare_small_import, import_it, check_import),
    "an upgrade": (OPENING, prepare_upgrade, upgrade_it, check_upgrade),
    "a backup": (COPYING, prepare_backup, back_it_up, check_backup),
    "a daily copy": (COPYING, prepare_backup, copy_of_the_day, check_copy_of_the_day),
    "a restore": (COPYING, prepare_restore, restore_it, check_restore),
    "an export": (("cli/outputs.py",), prepare_export, export_it, check_export),
}

AT_ANY_MOMENT = {
    "an import": (prepare_import, import_it, check_import),
    "an upgrade": (prepare_upgrade, upgrade_it, check_upgrade),
    "a backup": (prepare_large_backup, back_it_up, check_backup),
    "a restore": (prepare_restore, restore_it, check_restore),
}


@pytest.mark.parametrize("what", LINE_BY_LINE)
def test_work_killed_before_any_of_its_lines_is_done_or_not_done(what: str, quick: Path) -> None:
    files, prepare, work, check = LINE_BY_LINE[what]
    for place, done in killed_at_each_line(files, work, prepare, quick):
        check(place, done=done)


@pytest.mark.parametrize("what", AT_ANY_MOMENT)
def test_work_killed_at_random_moments_is_done_or_not_done(what: str, tmp_path: Path) -> None:
    prepare, work, check = AT_ANY_MOMENT[what]
    for place, done in killed_at_random_moments(work, prepare, tmp_path, kills=8, seed=SEED):
        check(place, done=done)


def test_a_record_is_restored_over_one_whose_writer_was_killed(tmp_path: Path) -> None:
    """SQLite would roll the dead writer's journal back into whatever stands under that name."""
    prepare_restore(tmp_path)
    path = tmp_path / "record.sqlite3"
    old, backup = rows_by_hand(path), rows_by_hand(tmp_path / "copy.sqlite3")
    writer = start(die_in_the_middle_of_an_entry, path)
    writer.join()
    assert writer.exitcode == -9
    assert path.with_name("record.sqlite3-journal").exists()
    restore_it(tmp_path)
    (kept,) = tmp_path.glob("record.sqlite3.replaced-*Z")
    assert rows_by_hand(path)[:-1] == backup
    assert rows_by_hand(kept) == old
    for one in (path, kept):
        assert type_in(one, "record", "verify").exit_code == 0


def test_a_record_is_restored_where_only_a_dead_writers_journal_is_left(tmp_path: Path) -> None:
    """Somebody removed the broken record and not what stood beside it."""
    prepare_restore(tmp_path)
    path = tmp_path / "record.sqlite3"
    backup = rows_by_hand(tmp_path / "copy.sqlite3")
    writer = start(die_in_the_middle_of_an_entry, path)
    writer.join()
    assert path.with_name("record.sqlite3-journal").exists()
    path.unlink()
    restore_it(tmp_path)
    assert rows_by_hand(path)[:-1] == backup
    assert type_in(path, "record", "verify").exit_code == 0
