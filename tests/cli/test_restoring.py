"""A copy is put in the record's place: by whom, of which kitchen, and what is said of it after."""

import os
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from haccp.record.pins import set_pin
from haccp.record.store import open_record
from tests.faults.making import assert_one_chain, rows_by_hand
from tests.kitchens import Kitchen, log


@pytest.fixture
def backup(kitchen: Kitchen, tmp_path: Path) -> Path:
    """A backup, and a record that went on after it."""
    log(kitchen, ("14:00", "cool stew 135"))
    copy = tmp_path / "backup.sqlite3"
    kitchen.says(f"record backup {copy}")
    log(kitchen, ("15:00", "cool stew 98"))
    return copy


def failures(path: Path) -> list[tuple[str, int]]:
    with closing(sqlite3.connect(path)) as plain:
        return plain.execute("SELECT initials, failures FROM pin ORDER BY initials").fetchall()


def test_a_restored_record_says_so_in_an_entry_in_status_and_on_paper(
    kitchen: Kitchen, backup: Path, tmp_path: Path
) -> None:
    old, copied = rows_by_hand(kitchen.path), rows_by_hand(backup)
    kitchen.says(f"record restore {backup} --by AR")
    there = rows_by_hand(kitchen.path)
    assert there[:-1] == copied
    assert_one_chain(there)
    last = kitchen.entries()[-1]
    assert (last["kind"], last["person"]) == ("restored", "AR")
    assert last["body"] == {
        "replaced": len(old),
        "replaced_digest": old[-1]["digest"],
        "restored": len(copied),
        "restored_digest": copied[-1]["digest"],
        "proved": True,
    }
    told = " ".join(kitchen.says("status").split())
    assert f"A copy that ended with no. {len(copied)}" in told
    assert f"a record that ended with no. {len(old)}" in told
    assert "By AR, by PIN" in told
    kitchen.at("2026-11-04T15:00-07:00")
    assert "A copy that ended" not in kitchen.says("status")
    assert "every entry is what was recorded" in kitchen.says("record verify")
    (kept,) = tmp_path.glob("record.sqlite3.replaced-*")
    assert rows_by_hand(kept) == old
    assert kept.stat().st_nlink == kitchen.path.stat().st_nlink == 1


def test_only_a_manager_with_the_pin_of_the_record_restores(kitchen: Kitchen, backup: Path) -> None:
    before = rows_by_hand(kitchen.path)
    assert "no manager" in kitchen.refuses(f"record restore {backup} --by JM")
    kitchen.pin = "9173"
    assert "That is not the PIN" in kitchen.refuses(f"record restore {backup} --by AR")
    assert rows_by_hand(kitchen.path) == before
    assert failures(kitchen.path) == [("AR", 1)]
    assert failures(backup) == [("AR", 0)]


def test_a_pin_that_was_replaced_stays_so_and_its_wrong_tries_count_on(
    kitchen: Kitchen, backup: Path
) -> None:
    """What the backup holds may be the PIN that somebody saw over a shoulder."""
    kitchen.says('add person MK "M. K." --role manager --by AR')
    kitchen.says("pin MK --by AR")
    with closing(sqlite3.connect(kitchen.path)) as plain, plain:
        plain.execute("UPDATE pin SET failures = 2 WHERE initials = 'MK'")
    record = open_record(kitchen.path, create=False)
    set_pin(record, "AR", "9173", kitchen.now)
    record.close()
    assert "That is not the PIN" in kitchen.refuses(f"record restore {backup} --by AR")
    kitchen.pin = "9173"
    kitchen.says(f"record restore {backup} --by AR")
    assert failures(kitchen.path) == [("AR", 0), ("MK", 2)]
    kitchen.pin = "2580"
    assert "That is not the PIN" in kitchen.refuses("sign today --note seen --by AR")


def test_where_no_record_is_the_pin_of_the_backup_is_asked(
    kitchen: Kitchen, backup: Path, tmp_path: Path
) -> None:
    other = Kitchen(tmp_path / "other.sqlite3", pin="9173", now=kitchen.now)
    assert "That is not the PIN" in other.refuses(f"record restore {backup} --by AR")
    assert not other.path.exists()
    other.pin = "2580"
    other.says(f"record restore {backup} --by AR")
    assert other.entries()[-1]["body"]["replaced"] == 0  # type: ignore[index]


def test_another_kitchens_backup_is_refused(kitchen: Kitchen, tmp_path: Path) -> None:
    other = Kitchen(tmp_path / "other.sqlite3", now=kitchen.now)
    other.says(
        'setup "Other" --zone America/Denver --altitude 0m --manager AR --manager-name "A. R."'
    )
    other.says(f"record backup {tmp_path}/copy.sqlite3")
    before = rows_by_hand(kitchen.path)
    told = kitchen.refuses(f"record restore {tmp_path}/copy.sqlite3 --by AR")
    assert "is of another kitchen" in told
    assert rows_by_hand(kitchen.path) == before


def test_a_backup_whose_guards_are_gone_is_refused(kitchen: Kitchen, backup: Path) -> None:
    with closing(sqlite3.connect(backup)) as opened, opened:
        opened.execute("DROP TRIGGER entry_is_never_deleted")
    told = kitchen.refuses(f"record restore {backup} --by AR")
    assert "'entry_is_never_deleted' of the record's own guards is gone" in told


def test_a_damaged_record_that_can_prove_nobody_is_moved_away_by_hand(
    kitchen: Kitchen, backup: Path, tmp_path: Path
) -> None:
    for damage in (b"no database at all" * 100, backup.read_bytes()[:3_000]):
        kitchen.path.write_bytes(damage)
        told = kitchen.run(f"record restore {backup} --by AR")
        assert told.exit_code == 2
        assert "by hand, then restore again" in told.stderr
        assert kitchen.path.read_bytes() == damage
    kitchen.path.rename(tmp_path / "damaged")
    kitchen.says(f"record restore {backup} --by AR")
    assert rows_by_hand(kitchen.path)[:-1] == rows_by_hand(backup)


def test_nothing_is_restored_through_a_symlink_or_beside_a_second_name(
    kitchen: Kitchen, backup: Path, tmp_path: Path
) -> None:
    before = rows_by_hand(kitchen.path)
    link = Kitchen(tmp_path / "link.sqlite3", now=kitchen.now)
    link.path.symlink_to(kitchen.path)
    assert "is no plain file" in link.refuses(f"record restore {backup} --by AR")
    assert "is the record itself" in kitchen.refuses(f"record restore {kitchen.path} --by AR")
    os.link(kitchen.path, tmp_path / "second")
    assert "has a second name" in kitchen.refuses(f"record restore {backup} --by AR")
    assert rows_by_hand(kitchen.path) == before
    assert link.path.is_symlink()


def test_a_record_that_a_group_may_read_is_read_by_it_after_a_restore(
    kitchen: Kitchen, backup: Path
) -> None:
    kitchen.path.chmod(0o640)
    if os.getuid() == 0:
        shutil.chown(kitchen.path, 65534, 65534)
    was = kitchen.path.stat()
    kitchen.says(f"record restore {backup} --by AR")
    now = kitchen.path.stat()
    assert now.st_mode == was.st_mode
    assert (now.st_uid, now.st_gid) == (was.st_uid, was.st_gid)
    assert now.st_ino != was.st_ino


def test_where_nobody_has_a_pin_the_entry_says_that_nothing_proves_who_restored(
    kitchen: Kitchen, backup: Path, tmp_path: Path
) -> None:
    kitchen.says(f"export {tmp_path}/record.json")
    new = Kitchen(tmp_path / "new.sqlite3", now=kitchen.now)
    new.says(f"import {tmp_path}/record.json")
    new.says(f"record restore {backup} --by AR")
    assert new.entries()[-1]["body"]["proved"] is False  # type: ignore[index]
    assert "not proved by a PIN" in " ".join(new.says("status").split())
