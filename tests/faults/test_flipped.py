"""One flipped byte of a record: a page says what it said, or nothing at all; a look says so."""

import os
import random
import shutil
from collections.abc import Callable
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from haccp.errors import Refused
from haccp.kitchen.register import Register, read_register
from haccp.kitchen.review import matters, review, walked
from haccp.printing.report_words import gather
from haccp.record.store import Record, open_record
from tests.faults.making import EVENING, make_kitchen

FLIPS = int(os.environ.get("HACCP_FLIPS", "150"))


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("whole") / "record.sqlite3"
    make_kitchen(path)
    return path


def read(path: Path, look: Callable[[Record, Register], Any]) -> Any:
    record = open_record(path, create=False)
    try:
        view = record.as_it_stands()
        found = look(view, read_register(view))
        return found, view.troubles
    finally:
        record.close()


def page(day: date, now: datetime) -> Callable[[Record, Register], Any]:
    def look(record: Record, register: Register) -> Any:
        view = walked(record, day, day, register.zone)
        words = gather(view, read_register(view), day, day, now).words
        reviewed = review(view, read_register(view), day, day, now)
        return words, len(reviewed.undecided), len(reviewed.open)

    return look


def status(now: datetime) -> Callable[[Record, Register], Any]:
    def look(record: Record, register: Register) -> Any:
        found = matters(record, register, now)
        return [
            (one.name, one.due, one.verdict, one.finding and one.finding.verdict) for one in found
        ]

    return look


@pytest.mark.parametrize("where", ["anywhere", "what is derived"])
def test_a_page_is_the_same_or_refused_and_a_look_the_same_or_with_a_word(
    where: str, whole: Path, tmp_path: Path
) -> None:
    now = EVENING + timedelta(hours=1)
    day = EVENING.date()
    wanted, _ = read(whole, page(day, now))
    seen, _ = read(whole, status(now))
    content = whole.read_bytes()
    chance = random.Random(f"{where}")
    derived = content.find(b"unit well-1") if where == "what is derived" else None
    refused = told = 0
    for _ in range(FLIPS):
        at = chance.randrange(len(content))
        if derived is not None:
            at = max(0, derived - 2048) + chance.randrange(4096)
        flipped = bytearray(content)
        flipped[at] ^= 1 << chance.randrange(8)
        path = Path(shutil.copy(whole, tmp_path / "record.sqlite3"))
        path.write_bytes(flipped)
        try:
            found, _ = read(path, page(day, now))
            assert found == wanted, f"byte {at}: another page"
        except Refused:
            refused += 1
        try:
            found, troubles = read(path, status(now))
            assert found == seen or troubles, f"byte {at}: another status, and no word of it"
            told += bool(troubles)
        except Refused:
            told += 1
    assert refused, "no flip was felt"
