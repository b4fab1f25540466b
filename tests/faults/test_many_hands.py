"""Many terminals at once: every entry is there, in one chain, and nobody sees a lock."""

import contextlib
import errno
import itertools
import json
import os
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa
from pypdf import PdfReader

from haccp.errors import Refused
from haccp.record.bodies import HoldingUnit
from haccp.record.chain import first_misfit
from haccp.record.entries import Draft
from haccp.record.migrate import bring_up_to_date
from haccp.record.store import Record, open_record
from tests.faults.making import (
    NOON,
    assert_one_chain,
    chained,
    kitchen_drafts,
    make_kitchen,
    make_old,
    noon,
    opened,
    reading,
    refused_in_one_sentence,
    rows_by_hand,
    type_in,
)
from tests.faults.working import (
    append_many,
    back_up_daily,
    create_it,
    restore_it,
    start,
    take_long_to_write,
    upgrade_it,
    write_one_file_often,
    write_until_killed,
)

EACH = 500 if int(os.environ.get("HACCP_EXAMPLES", "0")) >= 10_000 else 60


def all_at_once(folder: Path, hands: int, work: Callable[..., None], *arguments: object) -> str:
    """Run the same work in many processes that begin together; give all that they said."""
    logs = [folder / f"hand-{n}.log" for n in range(hands)]
    processes = [start(work, *arguments, f"h{n}", log=log) for n, log in enumerate(logs)]
    (folder / "go").touch()
    for process in processes:
        process.join()
    codes = [process.exitcode for process in processes]
    said = "".join(log.read_text() for log in logs)
    assert codes == [0] * hands, said
    assert "Traceback" not in said, said
    for process in processes:
        process.close()
    return said


def eight_hands(folder: Path, each: int) -> list[float]:
    """Let eight processes write at once and look at the record; give how long each append took."""
    path = folder / "record.sqlite3"
    before = make_kitchen(path)
    said = all_at_once(folder, 8, append_many, path, folder / "go", each)
    rows = rows_by_hand(path)
    assert rows[: len(before)] == before
    assert_one_chain(rows)
    assert first_misfit(rows) is None
    notes = [json.loads(row["body"])["note"] for row in rows[len(before) :]]
    assert sorted(notes) == sorted(f"h{hand}/{n}" for hand in range(8) for n in range(each))
    for hand in range(8):
        own = [note for note in notes if note.startswith(f"h{hand}/")]
        assert own == [f"h{hand}/{n}" for n in range(each)], "a hand's entries are out of order"
    waits = [float(line.split()[2]) for line in said.splitlines()]
    assert len(waits) == 8 * each
    return waits


def test_eight_processes_write_at_once_and_every_entry_is_there(tmp_path: Path) -> None:
    eight_hands(tmp_path, EACH)


def test_the_same_command_from_several_terminals_at_once(tmp_path: Path) -> None:
    path = tmp_path / "record.sqlite3"
    rows = make_kitchen(path)
    haccp = str(Path(sys.executable).with_name("haccp"))
    typed = [
        ("cool", "stew", "70", "--yes"),
        ("cool", "stew", "69", "--yes"),
        ("hold", "well-1", "141"),
        ("action", "stew", "stirred"),
        ("batch", "barley", "--code", "barley"),
        ("ice", "T1", "32F"),
    ]
    running = [
        subprocess.Popen(
            [haccp, "--db", str(path), *words],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env={**os.environ, "HACCP_BY": "JM"},
        )
        for words in typed
    ]
    for one, words in zip(running, typed, strict=True):
        _, told = one.communicate()
        assert one.returncode in (0, 1), (words, told)
        assert told == ""
    made = [row for row in rows_by_hand(path)[len(rows) :] if row["kind"] != "clock"]
    assert len(made) == len(typed)
    assert_one_chain(rows_by_hand(path))


def test_one_batch_code_asked_for_by_many_is_given_once(tmp_path: Path) -> None:
    path = tmp_path / "record.sqlite3"
    make_kitchen(path)
    haccp = str(Path(sys.executable).with_name("haccp"))
    running = [
        subprocess.Popen(
            [haccp, "--db", str(path), "batch", "barley", "--code", "barley"],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
            env={**os.environ, "HACCP_BY": "JM"},
        )
        for _ in range(4)
    ]
    answers = sorted((one.communicate()[1], one.returncode) for one in running)
    assert [code for _, code in answers] == [0, 2, 2, 2]
    assert all("exists already" in told for told, code in answers if code)
    assert [row["batch"] for row in rows_by_hand(path)].count("barley") == 1


def test_one_record_made_by_many_is_made_once(quick: Path) -> None:
    all_at_once(quick, 8, create_it, quick / "record.sqlite3", quick / "go")
    with opened(quick / "record.sqlite3") as record:
        assert record.problems() == []
        assert list(record.rows()) == []


def test_an_old_record_opened_by_many_at_once_is_upgraded_once_and_its_copy_is_old(
    quick: Path,
) -> None:
    rows = chained([*kitchen_drafts(), *(reading(note="n" * 900) for _ in range(1_000))])
    make_old(quick / "old.sqlite3", rows)
    for attempt in range(8):
        place = quick / f"{attempt}"
        place.mkdir()
        shutil.copy(quick / "old.sqlite3", place / "record.sqlite3")
        all_at_once(place, 8, upgrade_it, place, place / "go")
        with opened(place / "record.sqlite3") as record:
            assert list(record.rows()) == rows
            assert record.problems() == []
        assert sorted(one.name for one in place.iterdir() if "hand" not in one.name) == [
            "go",
            "record.sqlite3",
            "record.sqlite3.before-upgrade-from-0001",
        ]
        kept = place / "record.sqlite3.before-upgrade-from-0001"
        assert rows_by_hand(kept) == rows
        assert b"CREATE TABLE pin" not in kept.read_bytes(), "the copy is not what was there"


def test_who_saw_the_old_version_but_came_second_copies_nothing(tmp_path: Path) -> None:
    """A copy made then would be of the new version, under a name that says old."""
    path = tmp_path / "record.sqlite3"
    make_old(path, chained(kitchen_drafts()))
    opened_by_another = open_record(path, create=False)
    kept = path.with_name("record.sqlite3.before-upgrade-from-0001")
    kept.unlink()
    engine = sa.create_engine(f"sqlite:///{path}")
    bring_up_to_date(engine, path, "0001")
    engine.dispose()
    opened_by_another.close()
    assert not kept.exists()


def test_a_daily_copy_made_by_many_at_once_is_whole_and_nobody_sees_the_others(quick: Path) -> None:
    for attempt in range(8):
        place = quick / f"{attempt}"
        place.mkdir()
        rows = make_kitchen(place / "record.sqlite3", readings=50)
        folder = place / "record.sqlite3.daily"
        folder.mkdir()
        for day in range(1, 26):
            (folder / f"2026-10-{day:02}.sqlite3").touch()
        all_at_once(place, 8, back_up_daily, place / "record.sqlite3", place / "go")
        *_, copy = kept = sorted(folder.iterdir())
        assert [one.name for one in kept] == [f"2026-10-{day}.sqlite3" for day in (24, 25, 26)]
        assert rows_by_hand(copy) == rows
        with opened(copy) as record:
            assert record.problems() == []


def test_restoring_a_backup_while_others_write_leaves_whole_records(quick: Path) -> None:
    """What writers add after the backup is in one of the two; neither is half of anything."""
    for attempt in range(6):
        place = quick / f"{attempt}"
        place.mkdir()
        path = place / "record.sqlite3"
        backup = make_kitchen(path, readings=100)
        shutil.copy(path, place / "copy.sqlite3")
        logs = [place / f"w{n}.log" for n in range(3)]
        writers = [start(write_until_killed, path, log.stem, 1, log=log) for log in logs]
        time.sleep(0.1)
        restore_it(place)
        time.sleep(0.1)
        for writer in writers:
            writer.kill()
            writer.join()
            writer.close()
        told = "".join(log.read_text() for log in logs)
        assert "Error" not in told.replace("OperationalError", ""), told
        acknowledged = set(re.findall(r"^(?:.* )?\d+:([0-9a-f]{64})", told, re.MULTILINE))
        found = set()
        for one in place.glob("record.sqlite3*"):
            if one.name.endswith("-journal"):
                continue
            rows = rows_by_hand(one)
            assert rows[: len(backup)] == backup
            assert_one_chain(rows)
            with opened(one) as record:
                assert record.problems() == []
            found |= {row["digest"] for row in rows}
        assert acknowledged <= found


def test_who_had_the_record_open_when_another_was_restored_is_refused(tmp_path: Path) -> None:
    """Acknowledged into the file that was put away, an entry would be missed by everybody."""
    path = tmp_path / "record.sqlite3"
    backup = make_kitchen(path)
    shutil.copy(path, tmp_path / "copy.sqlite3")
    with opened(path) as record:
        restore_it(tmp_path)
        with pytest.raises(Refused, match="moved or replaced just now: nothing was recorded"):
            record.append([reading("99")], noon)
    for one in tmp_path.glob("record.sqlite3*"):
        assert rows_by_hand(one)[: len(backup)] == backup
        assert len(rows_by_hand(one)) == len(backup) + (one == path)
    with opened(path) as record:
        record.append([reading("99")], noon)


def test_a_restore_where_a_file_cannot_have_two_names_changes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As on a stick: what waits for the old record must be able to find it under its new name."""
    path = tmp_path / "record.sqlite3"
    rows = make_kitchen(path)
    shutil.copy(path, tmp_path / "copy.sqlite3")
    before = sorted(one.name for one in tmp_path.iterdir())

    def no_links(*_: object) -> None:
        raise PermissionError(errno.EPERM, "Operation not permitted")

    monkeypatch.setattr(os, "link", no_links)
    told = refused_in_one_sentence(
        type_in(path, "record", "restore", str(tmp_path / "copy.sqlite3"))
    )
    assert "move it away yourself, then restore again. Nothing changed." in told
    assert sorted(one.name for one in tmp_path.iterdir()) == before
    assert rows_by_hand(path) == rows


def test_restoring_a_backup_beside_a_writer_that_takes_long_waits_or_is_refused(
    quick: Path,
) -> None:
    """Its journal lies beside the record's name: it must not be rolled into what comes there."""
    path, log = quick / "record.sqlite3", quick / "writer.log"
    rows = make_kitchen(path, readings=100)
    shutil.copy(path, quick / "copy.sqlite3")
    with opened(path) as record:
        later = record.append([reading(note="later" * 40)] * 300, noon)
    writer = start(take_long_to_write, path, 8, log=log)
    while not log.exists() or "writing" not in log.read_text():
        time.sleep(0.01)
    result = type_in(path, "record", "restore", str(quick / "copy.sqlite3"))
    assert result.exit_code in (0, 2), result.output
    assert type_in(path, "record", "verify").exit_code == 0, "seen while the writer goes on"
    writer.join()
    writer.close()
    found = rows_by_hand(path)
    assert found[: len(rows)] == rows
    assert len(found) == len(rows) + (len(later) if result.exit_code else 1)
    for one in quick.glob("record.sqlite3*"):
        assert not one.name.endswith("-journal")
        with opened(one) as record:
            assert record.problems() == []


def test_a_backup_taken_while_others_write_is_one_moment_of_the_record(quick: Path) -> None:
    path = quick / "record.sqlite3"
    before = make_kitchen(path)
    writers = [
        start(write_until_killed, path, f"w{n}", n, log=quick / f"{n}.log") for n in range(3)
    ]
    copies = [quick / f"copy-{n}.sqlite3" for n in range(10)]
    answers = [type_in(path, "record", "backup", str(copy)) for copy in copies]
    for writer in writers:
        writer.kill()
        writer.join()
        writer.close()
    rows = rows_by_hand(path)
    for copy, answer in zip(copies, answers, strict=True):
        assert answer.exit_code == 0, answer.output
        copied = rows_by_hand(copy)
        assert len(copied) >= len(before)
        assert copied == rows[: len(copied)]


@pytest.fixture
def busy(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A record into which another hand enters something before every single look at it.

    That is the worst that processes can do to each other, without waiting for chance to do it.
    """
    path = tmp_path / "record.sqlite3"
    make_kitchen(path)
    another, numbers = open_record(path, create=False), itertools.count()
    transaction = Record.transaction

    def looked_at(record: Record, **how: Any) -> Any:
        if record.file == path and record is not another:
            unit = HoldingUnit(name=f"cold-{next(numbers)}", holds="cold", every_min=60)
            another.append([Draft(body=unit, at=NOON, person="AR"), reading("99")], noon)
        return transaction(record, **how)

    monkeypatch.setattr(Record, "transaction", looked_at)
    yield path
    another.close()


@pytest.mark.parametrize("words", [("report", "2026-10-26"), ("plan",)])
def test_a_paper_printed_while_others_write_shows_just_what_its_head_stands_for(
    words: tuple[str, ...], busy: Path, tmp_path: Path
) -> None:
    """As one of a record that holds the entries up to the printed one, with nobody near it."""
    pages = []
    quiet = tmp_path / "quiet.sqlite3"
    for path in (busy, quiet):
        page = path.with_suffix(".pdf")
        result = type_in(path, *words, "--printed", "2026-10-26 20:00", "--output", str(page))
        assert result.exit_code == 0, result.output
        pages.append(page.read_bytes())
        if path == busy:
            text = " ".join(one.extract_text() for one in PdfReader(page).pages)
            (last,) = set(re.findall(r"record\s+up\s+to\s+entry\s+(\d+)", text))
            rows = rows_by_hand(path)
            assert len(rows) > len(kitchen_drafts()), "nobody wrote while it was printed"
            with contextlib.closing(open_record(quiet, create=True)) as record:
                record.restore(rows[: int(last)])
    assert pages[0] == pages[1]


def test_one_file_written_by_many_at_once_is_whole_and_nobody_sees_the_others(quick: Path) -> None:
    """As an export is, or a paper."""
    all_at_once(quick, 4, write_one_file_often, quick / "file", quick / "go")
    written = (quick / "file").read_bytes()
    assert written in [f"h{hand}".encode() * 100_000 for hand in range(4)]
    assert {one.name for one in quick.iterdir() if "hand" not in one.name} == {"go", "file"}


@pytest.mark.parametrize("hands", [2, pytest.param(8, marks=pytest.mark.long)])
def test_one_entry_corrected_by_many_at_once_gets_one_successor(hands: int, tmp_path: Path) -> None:
    path = tmp_path / "record.sqlite3"
    rows = make_kitchen(path)
    haccp = str(Path(sys.executable).with_name("haccp"))
    running = [
        subprocess.Popen(
            [haccp, "--db", str(path), "correct", "15", str(70 + n), "--yes", "--reason", "slip"],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
            env={**os.environ, "HACCP_BY": "JM"},
        )
        for n in range(hands)
    ]
    answers = [(one.communicate()[1], one.returncode) for one in running]
    assert sorted(code for _, code in answers) == [0] + [2] * (hands - 1)
    assert all(len(told.splitlines()) == 1 for told, code in answers if code)
    corrections = [row for row in rows_by_hand(path) if row["corrects"] == 15]
    assert len(corrections) == 1
    assert corrections[0]["seq"] > len(rows)
