"""A full or read-only disk costs one sentence, and leaves the record and every file as they were."""

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from haccp.record.exports import to_csv, to_json
from haccp.record.store import open_record
from tests.faults.making import (
    EVENING,
    assert_one_chain,
    chained,
    kitchen_drafts,
    make_kitchen,
    make_old,
    opened,
    reading,
    refused_in_one_sentence,
    rows_by_hand,
    type_in,
)
from tests.faults.working import type_under_a_limit

ENTRIES = {
    "a reading": ("cool", "stew", "70", "--yes", "--note", "n" * 200),
    "an action": ("action", "stew", "stirred " * 40),
    "a batch": ("batch", "bean soup", "--code", "beans"),
    "a person": ("add", "person", "TK", "T. K."),
    "a signature": ("sign", "2026-10-26", "--note", "n" * 200),
    "a correction": ("correct", "15", "88", "--reason", "r" * 200),
}


def snapshot(folder: Path) -> dict[str, bytes]:
    return {one.name: one.read_bytes() for one in folder.iterdir() if one.is_file()}


@pytest.mark.parametrize("what", ENTRIES)
@pytest.mark.parametrize("room", [0, 600, 8_192])
def test_an_entry_that_does_not_fit_is_refused_and_the_record_is_as_it_was(
    what: str, room: int, tmp_path: Path
) -> None:
    """No file may grow beyond `room`: neither the record nor the journal that it needs."""
    path = tmp_path / "record.sqlite3"
    rows = make_kitchen(path)
    before = path.read_bytes()
    done = type_under_a_limit(path, *ENTRIES[what], largest_file=room)
    assert "nothing was recorded" in refused_in_one_sentence(done)
    assert done.stdout == ""
    assert rows_by_hand(path) == rows
    assert path.read_bytes() == before
    assert not path.with_name("record.sqlite3-journal").exists()
    later = type_in(path, *ENTRIES[what])
    assert later.exit_code in (0, 1), later.stderr
    assert len(rows_by_hand(path)) > len(rows)


def test_entries_are_recorded_until_the_disk_is_full_and_then_refused(tmp_path: Path) -> None:
    """The record itself hits the limit, with its journal already written."""
    path = tmp_path / "record.sqlite3"
    rows = make_kitchen(path)
    largest = path.stat().st_size + 8_192
    answers = []
    for _ in range(60):
        answers.append(type_under_a_limit(path, *ENTRIES["an action"], largest_file=largest))
        there = rows_by_hand(path)
        assert len(there) == len(rows) + (answers[-1].exit_code == 0)
        rows = there
        if answers[-1].exit_code:
            break
    assert len(answers) > 1
    assert "nothing was recorded" in refused_in_one_sentence(answers[-1])
    assert_one_chain(rows)
    assert type_in(path, "record", "verify").exit_code == 0
    assert type_in(path, *ENTRIES["an action"]).exit_code == 0


@pytest.mark.parametrize("form", ["csv", "json"])
@pytest.mark.parametrize("room", [0, 4_096, 60_000, 300_000])
def test_an_import_that_does_not_fit_leaves_no_entry(form: str, room: int, tmp_path: Path) -> None:
    rows = chained([*kitchen_drafts(), *(reading(note="x" * 900) for _ in range(600))])
    file = tmp_path / f"export.{form}"
    file.write_text(to_csv(rows) if form == "csv" else to_json(rows))
    path = tmp_path / "record.sqlite3"
    refused_in_one_sentence(type_under_a_limit(path, "import", str(file), largest_file=room))
    assert not path.exists() or rows_by_hand(path) == []
    assert type_in(path, "import", str(file)).exit_code == 0
    assert rows_by_hand(path) == rows


def test_a_kitchen_that_does_not_fit_can_be_set_up_later(tmp_path: Path) -> None:
    path = tmp_path / "record.sqlite3"
    words = ("setup", "K", "--zone", "America/Denver", "--manager", "AR", "--manager-name", "A")
    for room in (0, 4_096, 20_000):
        refused_in_one_sentence(type_under_a_limit(path, *words, largest_file=room))
        assert not path.exists() or rows_by_hand(path) == []
    assert type_in(path, *words).exit_code == 0


WRITTEN = {
    "a backup": ("record", "backup", "{}"),
    "a CSV export": ("export", "--format", "csv", "{}"),
    "a JSON export": ("export", "--format", "json", "{}"),
    "a salvage": ("record", "salvage", "{record}", "--output", "{}"),
    "a report": ("report", "2026-10-26", "--output", "{}"),
}


@pytest.mark.parametrize("what", WRITTEN)
@pytest.mark.parametrize("room", [0, 2_000])
def test_a_file_that_does_not_fit_is_refused_and_none_is_left(
    what: str, room: int, tmp_path: Path
) -> None:
    path = tmp_path / "record.sqlite3"
    make_kitchen(path)
    before = snapshot(tmp_path)
    words = [word.format(tmp_path / "target", record=path) for word in WRITTEN[what]]
    done = type_under_a_limit(path, *words, largest_file=room)
    refused_in_one_sentence(done)
    assert snapshot(tmp_path) == before


@pytest.mark.parametrize("name", ["copy[1].sqlite3", "copy*", "copy?", "[a-z]*"])
def test_a_backup_that_does_not_fit_leaves_nothing_under_any_name(
    name: str, tmp_path: Path
) -> None:
    """Nor does it take away what only looks like its own."""
    path = tmp_path / "record.sqlite3"
    make_kitchen(path, readings=100)
    (tmp_path / "copy-1.sqlite3.partial").write_text("somebody else's")
    before = snapshot(tmp_path)
    words = ("record", "backup", str(tmp_path / name))
    refused_in_one_sentence(type_under_a_limit(path, *words, largest_file=20_000))
    assert snapshot(tmp_path) == before


@pytest.mark.parametrize("what", [one for one in WRITTEN if one != "a backup"])
def test_a_file_that_does_not_fit_leaves_the_older_one_as_it_was(what: str, tmp_path: Path) -> None:
    path = tmp_path / "record.sqlite3"
    make_kitchen(path)
    (tmp_path / "target").write_text("an older file")
    before = snapshot(tmp_path)
    words = [word.format(tmp_path / "target", record=path) for word in WRITTEN[what]]
    told = refused_in_one_sentence(type_under_a_limit(path, *words, "--force", largest_file=2_000))
    assert "cannot be written" in told
    assert snapshot(tmp_path) == before


def test_a_restore_that_does_not_fit_leaves_the_record(tmp_path: Path) -> None:
    path = tmp_path / "record.sqlite3"
    make_kitchen(path)
    assert type_in(path, "record", "backup", str(tmp_path / "copy")).exit_code == 0
    before = snapshot(tmp_path)
    for room in (0, 4_096, 20_000):
        refused_in_one_sentence(
            type_under_a_limit(path, "record", "restore", str(tmp_path / "copy"), largest_file=room)
        )
        assert snapshot(tmp_path) == before


def test_an_upgrade_that_does_not_fit_leaves_the_old_record(tmp_path: Path) -> None:
    path = tmp_path / "record.sqlite3"
    rows = chained(kitchen_drafts())
    make_old(path, rows)
    before = path.read_bytes()
    for room in (0, 4_096, 20_000, len(before)):
        refused_in_one_sentence(type_under_a_limit(path, "status", largest_file=room))
        assert path.read_bytes() == before
        kept = path.with_name("record.sqlite3.before-upgrade-from-0001")
        assert not kept.exists() or rows_by_hand(kept) == rows
    assert type_in(path, "status").exit_code == 0


@pytest.mark.parametrize(
    "words",
    [("cool", "stew", "70", "--yes"), ("status",), ("export", "-", "--format", "csv"), ("list", "entries")],
)  # fmt: skip
def test_an_answer_that_cannot_be_written_is_no_bug_and_takes_nothing_back(
    words: tuple[str, ...], tmp_path: Path
) -> None:
    """Standard output on a full disk, after the entry is safe."""
    path = tmp_path / "record.sqlite3"
    rows = make_kitchen(path)
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            [str(Path(sys.executable).with_name("haccp")), "--db", str(path), *words],
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
            env={**os.environ, "HACCP_BY": "AR"},
        )
    recorded = len(rows_by_hand(path)) > len(rows)
    assert recorded is (words[0] == "cool")
    assert "Traceback" not in done.stderr
    assert ("Recorded as no. " in done.stderr) is recorded
    assert done.returncode == (4 if recorded else 2)


@pytest.fixture
def small_disk() -> Iterator[Path]:
    """A disk of 2 MB of its own."""
    if os.getuid() != 0 or shutil.which("mount") is None:
        pytest.skip("only root can mount a small disk")
    place = Path(tempfile.mkdtemp())
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=2m,mode=700", "none", str(place)],
        capture_output=True,
        check=False,
    )
    if mounted.returncode:
        place.rmdir()
        pytest.skip("a small disk cannot be mounted here")
    try:
        yield place
    finally:
        subprocess.run(["umount", "--lazy", str(place)], check=True)
        place.rmdir()


def fill(place: Path, leave: int = 0) -> None:
    """Fill a disk to its last byte, then give so many back."""
    filler = place / "filler"
    with filler.open("wb", buffering=0) as file:
        try:
            while True:
                file.write(b"\0" * 4_096)
        except OSError:
            pass
        file.truncate(max(0, file.tell() - leave))


def remount(place: Path, option: str) -> None:
    subprocess.run(["mount", "-o", f"remount,{option}", str(place)], check=True)


def nothing(_: Path) -> None: ...


def read_only(place: Path) -> None:
    remount(place, "ro")


DISKS: dict[str, tuple[Callable[[Path], Any], str]] = {
    "full": (fill, "disk is full"),
    "read-only": (read_only, "is read-only"),
}


@pytest.mark.parametrize("what", ENTRIES)
@pytest.mark.parametrize("disk", DISKS)
def test_on_a_disk_that_takes_no_more_an_entry_is_refused_in_a_sentence(
    what: str, disk: str, small_disk: Path
) -> None:
    path = small_disk / "record.sqlite3"
    rows = make_kitchen(path)
    before = path.read_bytes()
    spoil, sentence = DISKS[disk]
    spoil(small_disk)
    told = refused_in_one_sentence(type_in(path, *ENTRIES[what]))
    assert sentence in told
    assert path.read_bytes() == before
    for words in (["status"], ["show", "stew"], ["list", "entries"], ["record", "verify"]):
        assert type_in(path, *words).exit_code == 0, "reading needs no room"
    remount(small_disk, "rw")
    (small_disk / "filler").unlink(missing_ok=True)
    assert type_in(path, *ENTRIES[what]).exit_code in (0, 1)
    assert rows_by_hand(path)[: len(rows)] == rows


@pytest.mark.parametrize("leave", [4_096, 12_288, 32_768])
def test_on_a_nearly_full_disk_entries_are_whole_or_refused(leave: int, small_disk: Path) -> None:
    path = small_disk / "record.sqlite3"
    rows = make_kitchen(path)
    fill(small_disk, leave)
    for number in range(400):
        result = type_in(path, "action", "stew", f"stirred {number} " + "again " * 50)
        there = rows_by_hand(path)
        assert there[: len(rows)] == rows
        assert len(there) == len(rows) + (result.exit_code == 0)
        rows = there
        if result.exit_code:
            break
    assert "nothing was recorded" in refused_in_one_sentence(result)
    assert_one_chain(rows)
    (small_disk / "filler").unlink()
    assert type_in(path, "record", "verify").exit_code == 0


@pytest.mark.parametrize("disk", DISKS)
@pytest.mark.parametrize("what", WRITTEN)
def test_on_a_disk_that_takes_no_more_no_file_is_half_written(
    what: str, disk: str, small_disk: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where temporary files go is on the same disk, as it is on most machines."""
    path = small_disk / "record.sqlite3"
    make_kitchen(path)
    (small_disk / "tmp").mkdir()
    DISKS[disk][0](small_disk)
    before = sorted(small_disk.rglob("*"))
    words = [word.format(small_disk / "target", record=path) for word in WRITTEN[what]]
    monkeypatch.setattr("tempfile.tempdir", str(small_disk / "tmp"))
    done = type_in(path, *words)
    refused_in_one_sentence(done)
    assert sorted(small_disk.rglob("*")) == before


@pytest.mark.parametrize("disk", DISKS)
def test_on_a_disk_that_takes_no_more_nothing_is_imported_or_upgraded(
    disk: str, small_disk: Path, tmp_path: Path
) -> None:
    rows = chained(kitchen_drafts())
    file = tmp_path / "export.json"
    file.write_text(to_json(rows))
    old = small_disk / "old.sqlite3"
    make_old(old, rows)
    before = old.read_bytes()
    DISKS[disk][0](small_disk)
    new = small_disk / "new.sqlite3"
    refused_in_one_sentence(type_in(new, "import", str(file)))
    refused_in_one_sentence(type_in(old, "status"))
    assert not new.exists() or rows_by_hand(new) == []
    assert old.read_bytes() == before


def test_an_upgrade_refused_for_want_of_room_can_be_done_later(small_disk: Path) -> None:
    old = small_disk / "old.sqlite3"
    rows = chained(kitchen_drafts())
    make_old(old, rows)
    for leave in (0, 4_096, 40_960, 73_728, 86_016):
        fill(small_disk, leave)
        result = type_in(old, "status")
        assert result.exit_code in (0, 2), result.output
        assert rows_by_hand(old) == rows
    (small_disk / "filler").unlink()
    with opened(old) as record:
        assert list(record.rows()) == rows


def test_a_daily_copy_that_does_not_fit_costs_a_sentence_and_not_the_entry(
    small_disk: Path,
) -> None:
    path = small_disk / "record.sqlite3"
    rows = make_kitchen(path, readings=300)
    assert type_in(path, "kitchen", "--daily-copies", "3").exit_code == 0
    fill(small_disk, leave=60_000)
    done = type_in(path, *ENTRIES["a reading"])
    assert done.exit_code in (0, 1)
    assert len(done.stderr.splitlines()) == 1
    assert "backup failed" in done.stderr
    assert len(rows_by_hand(path)) == len(rows) + 2
    assert list((small_disk / "record.sqlite3.daily").iterdir()) == []


def test_remembering_who_records_where_nothing_can_be_written_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "record.sqlite3"
    make_kitchen(path)
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "file"))
    refused_in_one_sentence(type_in(path, "by", "JM"))


@pytest.mark.parametrize(
    "words",
    [
        ("status",),
        ("record", "verify"),
        ("setup", "K", "--zone", "America/Denver", "--manager", "AR", "--manager-name", "A"),
    ],
)
def test_a_record_whose_name_no_disk_takes_is_refused(
    words: tuple[str, ...], tmp_path: Path
) -> None:
    refused_in_one_sentence(type_in(tmp_path / ("n" * 300), *words))


@pytest.mark.parametrize("what", [*WRITTEN, "a restore"])
@pytest.mark.parametrize("name", ["", ".", "n" * 300, "no folder/file", "/"])
def test_a_file_name_that_no_disk_takes_is_refused(what: str, name: str, tmp_path: Path) -> None:
    path = tmp_path / "record.sqlite3"
    make_kitchen(path)
    words = [
        word.format(name, record=path) for word in WRITTEN.get(what, ("record", "restore", "{}"))
    ]
    before = snapshot(tmp_path)
    result = type_in(path, *words)
    assert result.exit_code == 2, result.output
    assert snapshot(tmp_path) == before


def test_a_folder_that_may_not_be_entered_is_refused_in_a_sentence(quick: Path) -> None:
    """As an ordinary user: root may enter everywhere."""
    private = quick / "private"
    private.mkdir(mode=0o700)
    make_kitchen(private / "record.sqlite3")
    quick.chmod(0o755)
    if os.getuid() != 0:
        private.chmod(0)
    else:
        os.seteuid(65534)
    try:
        refused_in_one_sentence(type_in(private / "record.sqlite3", "status"))
        refused_in_one_sentence(
            type_in(private / "record.sqlite3", "record", "restore", str(private / "x"))
        )
    finally:
        if os.getuid() != 0:
            private.chmod(0o700)
        else:
            os.seteuid(0)


def test_opening_makes_nothing_where_nothing_can_be_made(small_disk: Path) -> None:
    fill(small_disk)
    path = small_disk / "record.sqlite3"
    words = ("setup", "K", "--zone", "America/Denver", "--manager", "AR", "--manager-name", "A")
    refused_in_one_sentence(type_in(path, *words))
    (small_disk / "filler").unlink()
    open_record(path, create=True).close()
    assert rows_by_hand(path) == []
    assert type_in(path, *words, now=EVENING).exit_code == 0
