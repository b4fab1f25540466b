"""Where a command may write its file: never over a record, nor over what is not its own."""

import csv
import json
import os
import shutil
import sqlite3
import stat
import subprocess
import sys
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from pypdf import PdfReader, PdfWriter

from haccp.cli.session import Session
from haccp.errors import Refused
from haccp.record.store import Record
from tests.kitchens import Kitchen, log

# What writes a file to {file}; each may only replace one of its own.
WRITERS = {
    "report": "report today --output {file}",
    "plan": "plan --output {file}",
    "forms": "forms --output {file}",
    "curve": "curve stew {file}",
    "export csv": "export --format csv {file}",
    "export json": "export --format json {file}",
    "salvage": "record salvage {record} --output {file}",
    "backup": "record backup {file}",
}
FORCING = [one for one in WRITERS if one != "backup"]
PRIVATE = ("export csv", "export json", "salvage", "backup")


@pytest.fixture
def cooled(kitchen: Kitchen) -> Kitchen:
    log(kitchen, ("14:00", "cool stew 135"), ("15:00", "cool stew 98"), ("16:00", "cool stew 69"))
    return kitchen


def typed(what: str, file: Path, kitchen: Kitchen) -> str:
    return WRITERS[what].format(file=file, record=kitchen.path)


def name_for(what: str, folder: Path) -> Path:
    return folder / ("out.pdf" if what == "curve" else "out")


# What may stand where the file is to go, and by which word it is refused.


def the_record(record: Path, file: Path) -> Path:
    return record


def another_spelling(record: Path, file: Path) -> Path:
    (record.parent / "sub").mkdir()
    return record.parent / "sub" / ".." / record.name


def hard_link(record: Path, file: Path) -> Path:
    os.link(record, file)
    return file


def symlink(record: Path, file: Path) -> Path:
    file.symlink_to(record)
    return file


def dangling_link(record: Path, file: Path) -> Path:
    file.symlink_to(record.parent / "nothing here")
    return file


def link_to_a_plain_file(record: Path, file: Path) -> Path:
    (record.parent / "notes.txt").write_text("notes")
    file.symlink_to(record.parent / "notes.txt")
    return file


def journal_of_the_record(record: Path, file: Path) -> Path:
    return record.with_name(f"{record.name}-journal")


def another_record(record: Path, file: Path) -> Path:
    return Path(shutil.copy(record, file))


def another_database(record: Path, file: Path) -> Path:
    with closing(sqlite3.connect(file)) as connection, connection:
        connection.execute("CREATE TABLE till (amount)")
    return file


def hot_journal(record: Path, file: Path) -> Path:
    file.write_bytes(bytes.fromhex("d9d505f920a163d7") + b"\0" * 504)
    return file


def fifo(record: Path, file: Path) -> Path:
    os.mkfifo(file)
    return file


def link_to_a_device(record: Path, file: Path) -> Path:
    file.symlink_to("/dev/null")
    return file


PLACES: dict[str, tuple[Callable[[Path, Path], Path], str]] = {
    "the record": (the_record, "is the record itself"),
    "the record spelled otherwise": (another_spelling, "is the record itself"),
    "a hard link to it": (hard_link, "is the record itself"),
    "a symlink to it": (symlink, "is the record itself"),
    "a link to nothing": (dangling_link, "is a link"),
    "a link to a plain file": (link_to_a_plain_file, "is a link"),
    "its journal": (journal_of_the_record, "belongs to it"),
    "another record": (another_record, "is a database"),
    "another database": (another_database, "is a database"),
    "a journal that is waiting": (hot_journal, "is a database"),
    "a fifo": (fifo, "is no plain file"),
    "a link to a device": (link_to_a_device, "is a link"),
}


def seen(folder: Path) -> dict[str, object]:
    """All that stands in a folder: contents, links, modes; what libraries keep there aside."""
    found: dict[str, object] = {}
    for one in sorted(folder.rglob("*")):
        if one.relative_to(folder).parts[0] == "config":
            continue
        kind = stat.S_IFMT(one.lstat().st_mode)
        content = one.read_bytes() if kind == stat.S_IFREG else None
        found[str(one)] = (kind, one.lstat().st_mode, content, one.is_symlink() and one.readlink())
    return found


@pytest.mark.parametrize("what", WRITERS)
@pytest.mark.parametrize("place", PLACES)
def test_nothing_is_written_over_a_record_or_what_is_no_plain_file(
    what: str, place: str, cooled: Kitchen, tmp_path: Path
) -> None:
    """Not even with --force."""
    make, told = PLACES[place]
    file = make(cooled.path, name_for(what, tmp_path))
    if what == "curve" and file.suffix != ".pdf":
        told = "is none of .png"
    before = seen(tmp_path)
    said = cooled.refuses(typed(what, file, cooled) + (" --force" if what in FORCING else ""))
    assert told in said
    assert seen(tmp_path) == before
    assert "one chain" in cooled.says("record verify")


@pytest.mark.parametrize("device", ["/dev/null", "/dev/full", "/dev/zero", "/dev/stdout"])
def test_nothing_is_written_to_a_device(device: str, cooled: Kitchen) -> None:
    for what in FORCING:
        if what != "curve":
            said = cooled.refuses(f"{typed(what, Path(device), cooled)} --force")
            assert "is no plain file" in said or "is a link" in said


def plain(file: Path) -> None:
    file.write_text("somebody's notes")


def empty(file: Path) -> None:
    file.write_text("")


def foreign_pdf(file: Path) -> None:
    writer = PdfWriter()
    writer.add_blank_page(100, 100)
    writer.add_metadata({"/Title": "Food temperature record, Test Kitchen"})
    writer.write(file)


@pytest.mark.parametrize("what", FORCING)
@pytest.mark.parametrize("other", [plain, empty, foreign_pdf])
def test_a_file_of_another_kind_is_replaced_only_by_force(
    what: str, other: Callable[[Path], None], cooled: Kitchen, tmp_path: Path
) -> None:
    file = name_for(what, tmp_path)
    other(file)
    before = file.read_bytes()
    said = cooled.refuses(typed(what, file, cooled))
    assert "add --force to replace it" in said
    assert file.read_bytes() == before
    cooled.says(typed(what, file, cooled) + " --force")
    assert file.read_bytes() != before
    assert [one.name for one in tmp_path.glob("*partial*")] == []


@pytest.mark.parametrize("what", FORCING)
def test_a_file_of_its_own_is_replaced_and_another_kitchens_is_not(
    what: str, cooled: Kitchen, tmp_path: Path
) -> None:
    file = name_for(what, tmp_path)
    cooled.says(typed(what, file, cooled))
    cooled.at("2026-10-26T16:30-06:00")
    cooled.says("cool stew 65")
    first = file.read_bytes()
    cooled.says(typed(what, file, cooled))
    assert file.read_bytes() != first or what == "forms"

    other = Kitchen(tmp_path / "other.sqlite3", now=cooled.now)
    other.says("setup Test --zone America/Denver --manager JM --manager-name J")
    other.says("batch stew --code stew")
    other.says("cool stew 135 --yes")
    second = file.read_bytes()
    assert "exists" in other.refuses(typed(what, file, other))
    assert file.read_bytes() == second


def test_a_paper_is_not_replaced_by_one_of_another_kind(cooled: Kitchen, tmp_path: Path) -> None:
    file = tmp_path / "paper.pdf"
    for first in ("report", "plan", "forms", "curve"):
        cooled.says(typed(first, file, cooled) + " --force")
        for second in FORCING:
            if second != first:
                assert "exists" in cooled.refuses(typed(second, file, cooled)), (first, second)


def test_an_archive_that_holds_a_paper_is_no_paper(cooled: Kitchen, tmp_path: Path) -> None:
    paper, archive = tmp_path / "day.pdf", tmp_path / "papers.tar"
    cooled.says(f"report today --output {paper}")
    archive.write_bytes(b"papers" + b"\0" * 506 + paper.read_bytes())
    assert "exists" in cooled.refuses(f"report today --output {archive}")


@pytest.mark.parametrize("what", WRITERS)
def test_entries_are_written_for_their_owner_alone(
    what: str, cooled: Kitchen, tmp_path: Path
) -> None:
    file = name_for(what, tmp_path)
    cooled.says(typed(what, file, cooled))
    open_to_others = file.stat().st_mode & 0o077
    assert not open_to_others or what not in PRIVATE


def test_folders_made_for_data_are_their_owners_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.delenv("HACCP_BY", raising=False)
    new = Kitchen(tmp_path / "data" / "record.sqlite3")
    new.says("setup Test --zone America/Denver --manager AR --manager-name A --yes")
    new.says("by AR")
    for folder in (tmp_path / "data", tmp_path / "config" / "haccp"):
        assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert stat.S_IMODE((tmp_path / "config" / "haccp" / "by").stat().st_mode) == 0o600


def test_salvage_reads_the_file_that_it_is_told_to_read(cooled: Kitchen, tmp_path: Path) -> None:
    damaged, file = tmp_path / "damaged.sqlite3", tmp_path / "salvaged.csv"
    shutil.copy(cooled.path, damaged)
    cooled.says('action stew "stirred"')
    newer = len(cooled.entries())
    damaged.write_bytes(damaged.read_bytes()[:-4096])
    before = damaged.read_bytes()
    assert "could be read" in cooled.says(f"record salvage {damaged} --output {file}")
    with file.open(newline="") as salvaged:
        assert 0 < len(list(csv.DictReader(salvaged))) < newer
    assert damaged.read_bytes() == before
    assert "--output" in cooled.refuses(f"record salvage {damaged}")
    assert damaged.read_bytes() == before


def test_salvage_is_not_written_over_what_it_reads(cooled: Kitchen, tmp_path: Path) -> None:
    """Also where the damage took the words by which a database is known."""
    damaged = tmp_path / "damaged"
    damaged.write_bytes(b"\0" * 16 + cooled.path.read_bytes()[16:])
    before = damaged.read_bytes()
    # as it is, nothing can be read of it; with its first bytes put right, it is a database
    assert cooled.run(f"record salvage {damaged} --output {damaged} --force").exit_code == 2
    assert damaged.read_bytes() == before
    shutil.copy(cooled.path, damaged)
    said = cooled.refuses(f"record salvage {damaged} --output {damaged} --force")
    assert "is the record itself" in said


def dead_process() -> int:
    done = subprocess.Popen([sys.executable, "-c", ""])
    done.wait()
    return done.pid


@pytest.mark.parametrize("what", WRITERS)
def test_what_a_killed_command_left_is_removed_by_the_next_and_a_living_ones_is_not(
    what: str, cooled: Kitchen, tmp_path: Path
) -> None:
    file = name_for(what, tmp_path)
    left = file.with_name(f"{file.name}.{dead_process()}.partial")
    left.write_text("half")
    journal = left.with_name(f"{left.name}-journal")
    journal.write_text("half")
    with subprocess.Popen([sys.executable, "-c", "input()"], stdin=subprocess.PIPE) as living:
        others = [
            file.with_name(f"{file.name}.{living.pid}.partial"),
            file.with_name(f"{file.name}.notes.partial"),
            file.with_name(f"another.{dead_process()}.partial"),
        ]
        for one in others:
            one.write_text("kept")
        cooled.says(typed(what, file, cooled))
        living.terminate()
    assert file.exists()
    assert not left.exists()
    assert not journal.exists()
    assert [one.read_text() for one in others] == ["kept"] * 3


def test_a_half_written_file_is_nobody_elses_by_a_link(cooled: Kitchen, tmp_path: Path) -> None:
    """Somebody may guess the name under which a file is written and lay a link there."""
    file, victim = tmp_path / "all.csv", tmp_path / "victim"
    victim.write_text("precious")
    guessed = file.with_name(f"{file.name}.{os.getpid()}.partial")
    guessed.symlink_to(victim)
    cooled.says(f"export {file}")
    assert victim.read_text() == "precious"
    assert not file.is_symlink()


def test_the_demo_replaces_no_paper_and_leaves_nothing_half_made(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "demo"
    folder.mkdir()
    (folder / "week.pdf").write_text("mine")
    new = Kitchen(tmp_path / "none.sqlite3")
    assert "week.pdf exists already" in new.refuses(f"demo {folder}")
    (folder / "week.pdf").unlink()
    left = folder / f"record.sqlite3.{dead_process()}.partial"
    left.write_text("half")

    append, count = Record.append, 0

    def interrupted(*arguments: object, **more: object) -> object:
        nonlocal count
        count += 1
        if count == 20:
            raise KeyboardInterrupt
        return append(*arguments, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(Record, "append", interrupted)
    result = new.run(f"demo {folder}")
    assert result.exit_code == 130
    assert "Nothing was recorded" in result.stderr
    assert list(folder.iterdir()) == []


# A paper that shows an earlier moment says so.


def text_of(file: Path) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(file).pages).split())


@pytest.mark.parametrize("what", ["report", "plan", "forms"])
def test_a_paper_of_an_earlier_moment_says_when_it_was_printed(
    what: str, cooled: Kitchen, tmp_path: Path
) -> None:
    file = tmp_path / "paper.pdf"
    cooled.at("2026-11-02T08:15-07:00")
    command = typed(what, file, cooled).replace("today", "2026-10-26")
    now = "Mon 2 Nov 2026 08:15 MST"
    both = f"{now}, showing the record as it stood on Mon 26 Oct 2026 15:30 MDT"
    said = cooled.says(f'{command} --printed "2026-10-26 15:30"')
    assert both in said
    earlier = file.read_bytes()
    assert text_of(file).replace("\u200b", "").count(both) >= 1
    assert PdfReader(file).metadata.creation_date.year == 2026  # type: ignore[union-attr]
    assert PdfReader(file).metadata.creation_date.month == 11  # type: ignore[union-attr]

    cooled.says(f'{command} --printed "2026-10-26 15:30"')
    assert file.read_bytes() == earlier, "the same record, options and moments gave other bytes"
    assert "as it stood" not in cooled.says(command)
    assert "as it stood" not in text_of(file)
    today = file.read_bytes()
    cooled.says(f'{command} --printed "2026-11-02 08:15"')
    assert file.read_bytes() == today


# The record's own name.


@pytest.mark.parametrize(
    "name",
    ["", ":memory:", "sqlite:///x", "postgresql://u:p@host/db", "file:x?mode=rw", "FILE:x"],
)  # fmt: skip
def test_what_is_no_files_name_is_no_record(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    done = subprocess.run(
        [sys.executable, "-m", "haccp", "--db", name, "status"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 2
    assert "is no file" in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert list(tmp_path.iterdir()) == []


def test_an_empty_digest_is_refused(cooled: Kitchen) -> None:
    assert "is not what a report prints" in cooled.refuses("record verify --against ''")


# Who types is remembered for a record.


def test_who_types_is_remembered_for_one_record_alone(
    kitchen: Kitchen, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("HACCP_BY")
    kitchen.says("by JM")
    other = Kitchen(tmp_path / "other.sqlite3", now=kitchen.now)
    other.says("setup Other --zone America/Denver --manager JM --manager-name Jo")
    assert "Who are you?" in other.refuses("batch rice --code rice")
    other.says('add person TP "T. P." --by JM')
    other.says("by TP")
    other.says("batch rice --code rice")
    kitchen.says("batch rice --code rice")
    assert [one.entries()[-1]["person"] for one in (kitchen, other)] == ["JM", "TP"]

    # another kitchen's record in its place is another record; its own copy is not
    copy = tmp_path / "copy.sqlite3"
    kitchen.says(f"record backup {copy}")
    shutil.copy(other.path, kitchen.path)
    assert "Who are you?" in kitchen.refuses("batch barley --code barley")
    shutil.copy(copy, kitchen.path)
    kitchen.says("batch barley --code barley")


def test_initials_remembered_for_the_machines_user_count_no_more(
    kitchen: Kitchen, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("HACCP_BY")
    (tmp_path / "config" / "haccp").mkdir(parents=True)
    (tmp_path / "config" / "haccp" / "by").write_text("JM\n")
    assert "Who are you?" in kitchen.refuses("cool stew 98")


@pytest.mark.parametrize("initials", [5, None, ["JM"], {"JM": 1}, "\u202e", "XX"])
def test_what_is_remembered_for_a_record_may_be_anything(
    initials: object, kitchen: Kitchen, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("HACCP_BY")
    kitchen.says("by JM")
    file = tmp_path / "config" / "haccp" / "by"
    file.write_text(json.dumps(dict.fromkeys(json.loads(file.read_text()), initials)))
    kitchen.refuses("cool stew 98")


def test_a_session_of_a_record_that_is_not_there_remembers_nobody(tmp_path: Path) -> None:
    with pytest.raises(Refused, match="There is no record"):
        Session(tmp_path / "none").remember("JM")
