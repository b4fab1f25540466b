"""A damaged file: never a trace of a bug, verify says so, salvage writes what can still be read."""

import csv
import io
import os
import random
import re
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from tests.faults.making import COLUMNS, make_kitchen, rows_by_hand, type_in

PAGE = 4_096
SEEDS = 60 if int(os.environ.get("HACCP_EXAMPLES", "0")) >= 10_000 else 12


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A record of a few hundred entries, whose pages are of SQLite's usual size."""
    path = tmp_path_factory.mktemp("whole") / "record.sqlite3"
    make_kitchen(path, readings=400)
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("PRAGMA page_size").fetchone() == (PAGE,)
    return path


def flip_bytes(content: bytearray, chance: random.Random) -> set[int]:
    pages = {chance.randrange(len(content) // PAGE) for _ in range(chance.randint(1, 3))}
    for page in pages:
        for _ in range(chance.choice([1, 4, 40, 400])):
            content[page * PAGE + chance.randrange(PAGE)] ^= chance.randint(1, 255)
    return pages


def blank_a_page(content: bytearray, chance: random.Random) -> set[int]:
    page = chance.randrange(len(content) // PAGE)
    content[page * PAGE : (page + 1) * PAGE] = bytes(PAGE)
    return {page}


def fill_a_page_with_noise(content: bytearray, chance: random.Random) -> set[int]:
    page = chance.randrange(len(content) // PAGE)
    content[page * PAGE : (page + 1) * PAGE] = chance.randbytes(PAGE)
    return {page}


def swap_pages(content: bytearray, chance: random.Random) -> set[int]:
    one, other = chance.sample(range(len(content) // PAGE), 2)
    first = content[one * PAGE : (one + 1) * PAGE]
    content[one * PAGE : (one + 1) * PAGE] = content[other * PAGE : (other + 1) * PAGE]
    content[other * PAGE : (other + 1) * PAGE] = first
    return {one, other}


def cut_the_end_off(content: bytearray, chance: random.Random) -> set[int]:
    left = chance.randrange(1, len(content))
    pages = set(range(left // PAGE, len(content) // PAGE))
    del content[left:]
    return pages


def flip_in_leaves(content: bytearray, chance: random.Random) -> set[int]:
    """Flip bytes where entries are: what a worn-out card does to most of a record."""
    pages = set(chance.sample(sorted(leaves(bytes(content))), chance.randint(1, 3)))
    for page in pages:
        for _ in range(chance.choice([1, 2, 20, 200])):
            content[page * PAGE + chance.randrange(PAGE)] ^= chance.randint(1, 255)
    return pages


DAMAGE: dict[str, Callable[[bytearray, random.Random], set[int]]] = {
    "bytes flipped": flip_bytes,
    "bytes flipped among entries": flip_in_leaves,
    "a page blanked": blank_a_page,
    "a page of noise": fill_a_page_with_noise,
    "two pages swapped": swap_pages,
    "the end cut off": cut_the_end_off,
}


def varint(content: bytes, at: int) -> tuple[int, int]:
    """Read SQLite's variable-length number: its value, and where what follows begins."""
    value = 0
    for length in range(9):
        byte = content[at + length]
        if length == 8:
            return value << 8 | byte, at + 9
        value = value << 7 | byte & 0x7F
        if byte < 0x80:
            return value, at + length + 1
    raise AssertionError


def leaves(content: bytes) -> dict[int, set[int]]:
    """Say which entries each page holds, read from the file format itself.

    A table's leaf begins with 13, the number of its cells at 3, and where they are from 8 on; a
    cell is the length of its row, then the row's number. No row here is longer than a page. A
    branch begins with 5; its cells, from 12 on, and the number at 8 say which pages come next.
    """
    with closing(sqlite3.connect(":memory:")) as connection:
        connection.deserialize(content)
        chosen = "SELECT rootpage FROM sqlite_master WHERE name = 'entry'"
        (root,) = connection.execute(chosen).fetchone()
    return {page: held for page, held in tree(content, root - 1) if held}


def tree(content: bytes, root: int) -> Iterator[tuple[int, set[int]]]:
    """Walk a table's pages from its root: the rows that each leaf holds, none for a branch."""
    wanted = [root]
    while wanted:
        page = wanted.pop()
        start = page * PAGE
        begins = start + (100 if page == 0 else 0)  # the file's own header comes first
        cells = int.from_bytes(content[begins + 3 : begins + 5], "big")
        is_branch = content[begins] == 5
        pointers = [begins + (12 if is_branch else 8) + 2 * cell for cell in range(cells)]
        offsets = [start + int.from_bytes(content[at : at + 2], "big") for at in pointers]
        if is_branch:
            ends = [*offsets, begins + 8]
            wanted += [int.from_bytes(content[at : at + 4], "big") - 1 for at in ends]
            yield page, set()
        else:
            yield page, {varint(content, varint(content, at)[1])[0] for at in offsets}


def branches(content: bytes) -> set[int]:
    """The pages that lead to leaves: they begin with 5."""
    return {page for page in range(1, len(content) // PAGE) if content[page * PAGE] == 5}


def test_the_map_of_pages_knows_every_entry_once(whole: Path) -> None:
    numbers = sorted(number for held in leaves(whole.read_bytes()).values() for number in held)
    assert numbers == [row["seq"] for row in rows_by_hand(whole)]


@pytest.mark.parametrize("seed", range(SEEDS))
@pytest.mark.parametrize("damage", DAMAGE)
def test_a_damaged_record_is_refused_or_reported_and_what_is_whole_is_salvaged(
    damage: str, seed: int, whole: Path, quick: Path
) -> None:
    path = Path(shutil.copy(whole, quick / "record.sqlite3"))
    content = bytearray(whole.read_bytes())
    pages = DAMAGE[damage](content, random.Random(seed))
    path.write_bytes(content)
    originals = rows_by_hand(whole)

    verified = type_in(path, "record", "verify")
    assert verified.exit_code in (0, 2, 3), verified.output
    if verified.exit_code == 0:
        assert rows_by_hand(path) == originals, "altered entries were called whole"
    for words in (["status"], ["list", "entries"], ["show", "stew"], ["list", "batches"]):
        result = type_in(path, *words)
        assert result.exit_code in (0, 2, 3), (words, result.output)

    assert path.read_bytes() == content, "looking changed the damaged file"
    target = quick / "salvaged.csv"
    result = type_in(path, "record", "salvage", str(path), "--output", str(target))
    assert result.exit_code in (0, 2, 3), result.output
    if result.exit_code == 2:
        assert not target.exists()
    salvaged = read_salvaged(target) if target.exists() else {}
    wanted = {row["seq"]: as_text(row) for row in originals}
    for number, row in salvaged.items():
        told = re.search(rf"\b{number}\b", result.output)
        assert row == wanted.get(number) or told, f"no. {number} was altered, and nobody is told"
    # the way to each entry leads over the schema's pages and the branches alone
    held = leaves(whole.read_bytes())
    schema = {page for page, _ in tree(whole.read_bytes(), 0)}
    if not pages & (schema | branches(whole.read_bytes())):
        lost = {number for page in pages & set(held) for number in held[page]}
        healthy = set(wanted) - lost
        assert healthy <= set(salvaged), "entries on whole pages were not salvaged"


def read_salvaged(target: Path) -> dict[int, dict[str, str]]:
    rows = list(csv.DictReader(io.StringIO(target.read_bytes().decode(), newline="")))
    return {int(row["seq"]): row for row in rows}


def as_text(row: dict[str, Any]) -> dict[str, str]:
    columns = (*COLUMNS, "digest")
    return {column: "" if row[column] is None else str(row[column]) for column in columns}


@pytest.mark.parametrize(
    "table", ["alembic_version", "pin", "entry_opening_a_batch", "derived_link"]
)
def test_entries_are_salvaged_whatever_else_of_the_file_is_lost(
    table: str, whole: Path, tmp_path: Path
) -> None:
    path = Path(shutil.copy(whole, tmp_path / "record.sqlite3"))
    with closing(sqlite3.connect(path)) as connection:
        roots = connection.execute("SELECT rootpage FROM sqlite_master WHERE name = ?", (table,))
        (root,) = roots.fetchone()
    content = bytearray(path.read_bytes())
    content[(root - 1) * PAGE : root * PAGE] = bytes(PAGE)
    path.write_bytes(content)
    result = type_in(
        path, "record", "salvage", str(path), "--output", str(tmp_path / "salvaged.csv")
    )
    assert result.exit_code == 0, result.output
    assert len(read_salvaged(tmp_path / "salvaged.csv")) == len(rows_by_hand(whole))


def test_entries_before_a_lost_end_are_salvaged(whole: Path, tmp_path: Path) -> None:
    """A copy that broke off: what it holds of the record is read."""
    path = Path(shutil.copy(whole, tmp_path / "record.sqlite3"))
    path.write_bytes(whole.read_bytes()[: -3 * PAGE])
    result = type_in(
        path, "record", "salvage", str(path), "--output", str(tmp_path / "salvaged.csv")
    )
    assert result.exit_code == 0, result.output
    salvaged = read_salvaged(tmp_path / "salvaged.csv")
    wanted = {row["seq"]: as_text(row) for row in rows_by_hand(whole)}
    assert len(salvaged) > len(wanted) * 3 // 4
    assert all(wanted[number] == row for number, row in salvaged.items())


def test_a_whole_record_is_salvaged_whole(whole: Path, tmp_path: Path) -> None:
    result = type_in(
        whole, "record", "salvage", str(whole), "--output", str(tmp_path / "salvaged.csv")
    )
    assert result.exit_code == 0
    assert read_salvaged(tmp_path / "salvaged.csv") == {
        row["seq"]: as_text(row) for row in rows_by_hand(whole)
    }


def test_a_damaged_record_takes_no_entry_it_cannot_chain(whole: Path, quick: Path) -> None:
    """An entry is refused, or it is there afterwards and follows the one before it."""
    for seed in range(SEEDS):
        path = Path(shutil.copy(whole, quick / f"{seed}.sqlite3"))
        content = bytearray(whole.read_bytes())
        flip_bytes(content, random.Random(1_000 + seed))
        path.write_bytes(content)
        result = type_in(path, "action", "stew", "stirred")
        assert result.exit_code in (0, 2, 3), result.output
        if result.exit_code == 0:
            with closing(sqlite3.connect(path)) as connection:
                last = connection.execute("SELECT body FROM entry ORDER BY seq DESC LIMIT 1")
                assert "stirred" in last.fetchone()[0]
        path.unlink()


def test_a_damaged_record_is_not_backed_up_or_restored_as_whole(whole: Path, quick: Path) -> None:
    """A backup or a restore of it is refused, or holds what the record held."""
    for seed in range(SEEDS):
        path = Path(shutil.copy(whole, quick / f"{seed}.sqlite3"))
        content = bytearray(whole.read_bytes())
        DAMAGE[sorted(DAMAGE)[seed % len(DAMAGE)]](content, random.Random(2_000 + seed))
        path.write_bytes(content)
        copy, other = quick / f"copy-{seed}", quick / f"other-{seed}"
        for result, made in (
            (type_in(path, "record", "backup", str(copy)), copy),
            (type_in(other, "record", "restore", str(path)), other),
        ):
            assert result.exit_code in (0, 2), result.output
            assert made.exists() is (result.exit_code == 0)
            if made.exists():
                rows = rows_by_hand(whole)
                assert rows_by_hand(made)[: len(rows)] == rows
                assert type_in(made, "record", "verify").exit_code == 0, f"seed {seed}"
        for left in quick.iterdir():
            left.unlink()
