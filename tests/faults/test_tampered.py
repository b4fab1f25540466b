"""Somebody opens the record to change it: what `record verify` names, and what only a paper shows."""

import hashlib
import json
import re
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from haccp.record.derived import rebuild
from tests.faults.making import (
    COLUMNS,
    INSERT,
    an_attacker,
    assert_one_chain,
    digest_by_hand,
    make_kitchen,
    rows_by_hand,
    type_in,
)

LAST = 46
"""The made kitchen's 45 entries and one reading more."""


@pytest.fixture(scope="module")
def untouched(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("untouched") / "record.sqlite3"
    assert len(make_kitchen(path, readings=LAST - 45)) == LAST
    return path


@pytest.fixture
def path(untouched: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(untouched, tmp_path / "record.sqlite3"))


def assert_named(path: Path, number: int) -> None:
    """Hold that verify says which entry is the first that does not fit."""
    result = type_in(path, "record", "verify")
    assert result.exit_code == 3, result.output
    assert "DOES NOT HOLD" in result.stdout
    assert re.search(rf"\bno\. {number}\b", result.stdout), result.stdout


def assert_not_seen_without_a_paper(path: Path) -> None:
    """Hold that verify finds nothing once what is derived was made anew too, and not before."""
    assert "what is derived" in type_in(path, "record", "verify").stdout
    with closing(sqlite3.connect(path)) as connection, connection:
        rebuild(connection)
    result = type_in(path, "record", "verify")
    assert result.exit_code == 0, result.output


def paper(path: Path) -> str:
    """What a report printed before: the last entry's number and digest."""
    last = rows_by_hand(path)[-1]
    return f"{last['seq']} {last['digest']}"


def assert_seen_by(paper: str, path: Path) -> None:
    result = type_in(path, "record", "verify", "--against", paper)
    assert result.exit_code == 3, result.output
    assert "is not the one that this paper was printed from" in result.stdout


ALTERED: dict[str, str] = {
    "seq": "seq + 1000",
    "kind": "CASE kind WHEN 'reading' THEN 'unit emptied' ELSE 'reading' END",
    "entered_at": "'2026-10-26T18:00:01Z'",
    "at": "'2026-10-26T17:59:59Z'",
    "person": "person || 'X'",
    "batch": "coalesce(batch, '') || 'x'",
    "unit": "coalesce(unit, '') || 'x'",
    "corrects": "CASE WHEN seq = 1 THEN 0 WHEN corrects IS NULL THEN 1 ELSE NULL END",
    "body": "CASE body WHEN '{}' THEN '{\"more\":1}' ELSE replace(body, '}', ',\"more\":1}') END",
    "previous": "substr(previous, 2) || CASE substr(previous, 1, 1) WHEN 'a' THEN 'b' ELSE 'a' END",
    "digest": "substr(digest, 2) || CASE substr(digest, 1, 1) WHEN 'a' THEN 'b' ELSE 'a' END",
}


@pytest.mark.parametrize("column", ALTERED)
@pytest.mark.parametrize("number", range(1, LAST + 1))
def test_an_altered_column_of_any_entry_is_named(column: str, number: int, path: Path) -> None:
    """Every kind of entry is among them, and the first and the last."""
    with an_attacker(path) as connection:
        connection.execute(
            f"UPDATE entry SET {column} = {ALTERED[column]} WHERE seq = ?", (number,)
        )
        assert connection.total_changes
    assert_named(path, number)


@pytest.mark.parametrize("column", [one for one in COLUMNS if one not in ("seq", "previous")])
@pytest.mark.parametrize("number", [1, 8, 15, LAST - 1])
def test_an_altered_entry_with_its_own_digest_made_to_fit_is_named_by_the_next(
    column: str, number: int, path: Path
) -> None:
    with an_attacker(path) as connection:
        connection.execute(
            f"UPDATE entry SET {column} = {ALTERED[column]} WHERE seq = ?", (number,)
        )
        connection.commit()
        row = next(one for one in rows_by_hand(path) if one["seq"] == number)
        connection.execute(
            "UPDATE entry SET digest = ? WHERE seq = ?", (digest_by_hand(row), number)
        )
    assert_named(path, number + 1)


@pytest.mark.parametrize(
    "value",
    [
        "CAST(person AS BLOB)",
        "CAST(x'ff41' AS TEXT)",
        "CAST(x'4a4d00' AS TEXT)",
        "1.5",
        "'" + "n" * 70_000 + "'",
    ],
)
@pytest.mark.parametrize("column", ["person", "kind", "entered_at", "at", "batch", "unit", "body"])
def test_a_value_of_another_type_or_encoding_is_named(column: str, value: str, path: Path) -> None:
    with an_attacker(path) as connection:
        connection.execute(
            f"UPDATE entry SET {column} = {value.replace('person', column)} WHERE seq = 14"
        )
    if not rows_differ(path):
        pytest.skip("SQLite stored the same value")
    assert_named(path, 14)
    page = ["report", "2026-10-26", "--output", str(path.with_name("page.pdf"))]
    for words in (["status"], ["show", "stew"], ["list", "entries"], page):
        result = type_in(path, *words)
        assert result.exit_code in (0, 1, 2, 3), result.output
    for words in (
        ["export", str(path.with_name("e.json"))],
        ["record", "backup", str(path) + ".b"],
    ):
        result = type_in(path, *words)
        assert result.exit_code in (0, 2, 3), result.output


def rows_differ(path: Path) -> bool:
    """Whether an entry's stored bytes are others than those its digest was made of."""
    with closing(sqlite3.connect(path)) as connection:
        connection.text_factory = bytes
        kinds = connection.execute(
            "SELECT count(*) FROM entry WHERE typeof(person) || typeof(kind) || typeof(entered_at)"
            " || typeof(at) || typeof(body) LIKE '%blob%' OR typeof(batch) = 'blob'"
            " OR typeof(unit) = 'blob'"
        ).fetchone()
    if kinds[0]:
        return True
    try:
        assert_one_chain(rows_by_hand(path))
    except (AssertionError, sqlite3.OperationalError):
        return True
    return False


@pytest.mark.parametrize(
    "change", ["corrects = 9999", "corrects = seq", "body = 'no JSON'", "digest = 'short'"]
)
def test_an_altered_entry_that_the_table_itself_would_refuse_is_named_too(
    change: str, path: Path
) -> None:
    with an_attacker(path) as connection:
        connection.execute(f"UPDATE entry SET {change} WHERE seq = 12")
    assert_named(path, 12)


@pytest.mark.parametrize("number", [1, 2, 12, LAST - 1])
def test_a_removed_entry_is_named(number: int, path: Path) -> None:
    with an_attacker(path) as connection:
        connection.execute("DELETE FROM entry WHERE seq = ?", (number,))
    assert_named(path, number)


@pytest.mark.parametrize("number", [2, 12, LAST - 1])
def test_a_removed_entry_whose_number_the_later_ones_take_is_named(number: int, path: Path) -> None:
    with an_attacker(path) as connection:
        connection.execute("DELETE FROM entry WHERE seq = ?", (number,))
        for seq in range(number + 1, LAST + 1):
            connection.execute(
                "UPDATE entry SET corrects = corrects - 1 WHERE corrects = ?", (seq,)
            )
            connection.execute("UPDATE entry SET seq = seq - 1 WHERE seq = ?", (seq,))
    assert_named(path, number)


@pytest.mark.parametrize(("one", "other"), [(1, 2), (16, 18), (3, 20), (LAST - 1, LAST)])
@pytest.mark.parametrize("with_chain", [True, False])
def test_two_entries_that_changed_places_are_named(
    one: int, other: int, with_chain: bool, path: Path
) -> None:
    """With their digests, or their contents alone between the digests."""
    rows = {row["seq"]: row for row in rows_by_hand(path)}
    chain = ("previous", "digest")
    moved = [column for column in rows[1] if column not in ("seq", *(() if with_chain else chain))]
    with an_attacker(path) as connection:
        connection.execute("DELETE FROM entry WHERE seq IN (?, ?)", (one, other))
        for seq, source in ((one, other), (other, one)):
            row = {**rows[seq], **{column: rows[source][column] for column in moved}}
            connection.execute(INSERT, row)
    assert_named(path, one)


def appended(path: Path, **chain: Any) -> dict[str, Any]:
    last = rows_by_hand(path)[-1]
    return {**last, "seq": last["seq"] + 1, "corrects": None, **chain}


NAIVE: dict[str, Callable[[dict[str, Any]], dict[str, Any]]] = {
    "the digest of its body": lambda last: {
        "previous": last["digest"],
        "digest": hashlib.sha256(str(last["body"]).encode()).hexdigest(),
    },
    "a digest made up": lambda last: {"previous": last["digest"], "digest": "0" * 64},
    "a chain of its own": lambda _: {"previous": "f" * 64, "digest": "e" * 64},
    "a digest over JSON with spaces": lambda last: {
        "previous": last["digest"],
        "digest": hashlib.sha256(json.dumps([last["digest"]]).encode()).hexdigest(),
    },
}


@pytest.mark.parametrize("how", NAIVE)
def test_an_appended_entry_that_is_not_chained_is_named(how: str, path: Path) -> None:
    row = appended(path, **NAIVE[how](rows_by_hand(path)[-1]))
    with an_attacker(path) as connection:
        connection.execute(INSERT, row)
    assert_named(path, LAST + 1)


def test_an_entry_put_in_the_middle_is_named(path: Path) -> None:
    action = rows_by_hand(path)[15]
    with an_attacker(path) as connection:
        for seq in range(LAST, 9, -1):
            connection.execute("UPDATE entry SET seq = seq + 1 WHERE seq = ?", (seq,))
        connection.execute("UPDATE entry SET corrects = corrects + 1 WHERE corrects >= 10")
        row = {**action, "seq": 10, "digest": "d" * 64, "previous": "c" * 64}
        connection.execute(INSERT, row)
    assert_named(path, 10)


def test_a_tail_cut_off_is_seen_by_a_paper_alone(path: Path) -> None:
    printed = paper(path)
    earlier = rows_by_hand(path)[LAST - 6]
    with an_attacker(path) as connection:
        connection.execute("DELETE FROM entry WHERE seq > ?", (LAST - 5,))
    assert_not_seen_without_a_paper(path)
    assert_seen_by(printed, path)
    assert_seen_by(printed.split()[1], path)
    assert_seen_by(printed.split()[1][:12], path)
    older = type_in(path, "record", "verify", "--against", f"{earlier['seq']} {earlier['digest']}")
    assert older.exit_code == 0, "a paper printed before the cut shows nothing of it"


def recompute(connection: sqlite3.Connection, path: Path, start: int) -> None:
    """Chain everything anew from some entry on, as somebody who read the documentation would."""
    rows = rows_by_hand(path)
    previous = rows[start - 2]["digest"] if start > 1 else "0" * 64
    connection.execute("DELETE FROM entry WHERE seq >= ?", (start,))
    for row in rows[start - 1 :]:
        row["previous"] = previous
        row["digest"] = previous = digest_by_hand(row)
        connection.execute(INSERT, row)


@pytest.mark.parametrize("number", [1, 12, LAST])
def test_an_entry_altered_with_everything_after_it_chained_anew_is_seen_by_a_paper_alone(
    number: int, path: Path
) -> None:
    printed = paper(path)
    with an_attacker(path) as connection:
        connection.execute("UPDATE entry SET person = 'ZZ' WHERE seq = ?", (number,))
        connection.commit()
        recompute(connection, path, number)
    assert_not_seen_without_a_paper(path)
    assert_seen_by(printed, path)
    assert_seen_by(printed.split()[1], path)


def test_a_removed_entry_with_everything_after_it_chained_anew_is_seen_by_a_paper_alone(
    path: Path,
) -> None:
    printed = paper(path)
    with an_attacker(path) as connection:
        connection.execute("DELETE FROM entry WHERE seq = 19")
        for seq in range(20, LAST + 1):
            connection.execute("UPDATE entry SET seq = seq - 1 WHERE seq = ?", (seq,))
        connection.commit()
        recompute(connection, path, 19)
    assert_not_seen_without_a_paper(path)
    assert_seen_by(printed, path)


def test_an_honest_record_agrees_with_every_paper_printed_of_it(path: Path) -> None:
    for row in rows_by_hand(path):
        for printed in (f"{row['seq']} {row['digest']}", row["digest"], row["digest"][:12]):
            result = type_in(path, "record", "verify", "--against", printed)
            assert result.exit_code == 0, result.output
            assert f"up to no. {row['seq']};" in result.stdout


def test_a_paper_of_another_entry_or_another_kitchen_is_not_taken(path: Path) -> None:
    rows = rows_by_hand(path)
    for printed in (f"3 {rows[3]['digest']}", "f" * 64, f"4 {'f' * 12}", f"99 {rows[3]['digest']}"):
        assert_seen_by(printed, path)


@pytest.mark.parametrize(
    "guard",
    [
        "entry_is_never_updated",
        "entry_is_never_deleted",
        "entry_is_never_replaced",
        "a_batch_code_is_used_once",
    ],
)
def test_a_guard_taken_away_is_named(guard: str, path: Path) -> None:
    with closing(sqlite3.connect(path)) as connection:
        connection.execute(f"DROP TRIGGER {guard}")
    result = type_in(path, "record", "verify")
    assert result.exit_code == 3
    assert guard in result.stdout


@pytest.mark.parametrize("hollow", ["BEGIN SELECT 1; END", "WHEN 0 BEGIN SELECT 1; END"])
def test_a_guard_replaced_by_one_of_its_name_that_does_nothing_is_named(
    hollow: str, path: Path
) -> None:
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("DROP TRIGGER entry_is_never_updated")
        connection.execute(f"CREATE TRIGGER entry_is_never_updated BEFORE UPDATE ON entry {hollow}")
    result = type_in(path, "record", "verify")
    assert result.exit_code == 3, "the record can be changed and nothing says so"
    assert "entry_is_never_updated" in result.stdout


def test_a_trigger_that_swallows_new_entries_is_noticed(path: Path) -> None:
    """An entry must not be acknowledged that is not there."""
    with closing(sqlite3.connect(path)) as connection:
        connection.execute(
            "CREATE TRIGGER swallow BEFORE INSERT ON entry BEGIN SELECT RAISE(IGNORE); END"
        )
    entered = type_in(path, "action", "stew", "stirred")
    there = len(rows_by_hand(path)) - LAST
    assert there or entered.exit_code != 0, "an entry was acknowledged that is not there"
    assert type_in(path, "record", "verify").exit_code == 3


def test_a_guard_taken_away_and_an_entry_altered_are_both_named(path: Path) -> None:
    """The attacker did not put the guard back: the entry is still what has to be known."""
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("DROP TRIGGER entry_is_never_updated")
        connection.execute("UPDATE entry SET person = 'ZZ' WHERE seq = 14")
    assert_named(path, 14)
    assert "entry_is_never_updated" in type_in(path, "record", "verify").stdout


@pytest.mark.parametrize(
    "index", ["entry_opening_a_batch", "derived_batch_open", "derived_batch_by_code"]
)
def test_an_index_taken_away_loses_nothing(index: str, path: Path) -> None:
    """It only makes reading faster: no entry changes, and the chain holds."""
    listed = type_in(path, "list", "entries", "--json").stdout
    with closing(sqlite3.connect(path)) as connection:
        connection.execute(f"DROP INDEX {index}")
    assert type_in(path, "record", "verify").exit_code in (0, 3)
    assert type_in(path, "list", "entries", "--json").stdout == listed


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE alembic_version SET version_num = '9999'",
        "UPDATE alembic_version SET version_num = '0001'",
        "UPDATE alembic_version SET version_num = ''",
        "DELETE FROM alembic_version",
        "INSERT INTO alembic_version VALUES ('0001')",
        "DROP TABLE alembic_version",
        "DROP TABLE pin",
        "DROP TABLE entry",
        "DROP TABLE derived_thread",
        "DROP TABLE derived_head",
        "ALTER TABLE entry RENAME COLUMN person TO human",
        "ALTER TABLE entry DROP COLUMN unit",
    ],
)
def test_a_schema_tampered_with_is_refused_in_a_sentence_or_holds(
    statement: str, path: Path
) -> None:
    """None of it is called whole where entries cannot be read, and none of it is a bug."""
    before = rows_by_hand(path)
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute(statement)
    for words in (
        ["record", "verify"],
        ["status"],
        ["list", "entries"],
        ["add", "person", "TK", "T. K."],
        ["record", "salvage", str(path), "--output", str(path.with_name("s.csv"))],
    ):
        result = type_in(path, *words)
        assert result.exit_code in (0, 2, 3), (words, result.output)
        if words == ["record", "verify"] and result.exit_code == 0:
            assert rows_by_hand(path) == before


def test_what_was_tried_covers_every_column_and_every_kind(untouched: Path) -> None:
    rows = rows_by_hand(untouched)
    assert set(ALTERED) == set(rows[0])
    assert {row["kind"] for row in rows} == {
        "kitchen", "person", "pin set", "thermometer", "thermometer check", "unit", "unit emptied",
        "batch", "reading", "corrective action", "withdrawal", "discard", "used up", "clock",
        "signature", "food", "thermometer decision", "release", "rejection", "freezing", "thawing",
        "renaming", "assessment", "cooling plan", "cooling setup", "restored", "taken out", "moved",
        "closed day", "letter of acceptance", "diversion", "set apart", "container opened",
        "not measured", "handed over", "fork decided", "logged readings",
        "readings left out", "fork kept",
    }  # fmt: skip
