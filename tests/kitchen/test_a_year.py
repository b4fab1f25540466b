"""A year behind a kitchen, invented: what is asked today costs what it did in the first month."""

import re
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.kitchens import Kitchen
from tests.years import make_years

pytestmark = pytest.mark.long

# A quiet moment of a day of service.
NOW = datetime(2026, 11, 18, 13, 30, tzinfo=UTC)
COMMANDS = (
    "hold well-1 151 --by JM --yes",
    "cool stew 98 --by JM --yes",
    "used stew-261117-3 --by JM",
    "status",
    "show well-1",
    "show stew-261117-3",
    "label stew",
    "trace stew",
    "batch rice --by JM",
    "split stew 2 --by JM",
    "action well-1 'stirred' --by JM",
    "ice T1 32 --by JM",
    "report 2026-11-16 --output {folder}/day.pdf",
    "sign 2026-11-18 --note tested --by AR",
)
# What may be looked through from end to end: a few rows, or a count of a narrow index.
_SMALL = re.compile(
    r"SCAN w$|wanted|derived_(head|trouble|settled)|pin|sqlite_master|alembic|CONSTANT|\d-ROW"
)


@pytest.fixture(scope="module")
def kitchens(tmp_path_factory: pytest.TempPathFactory) -> dict[int, Path]:
    folder = tmp_path_factory.mktemp("years")
    made = {}
    for days in (20, 365):
        path = made[days] = folder / f"{days}.sqlite3"
        count = make_years(path, days, NOW)
        assert count > 770 * days
        kitchen = Kitchen(path, now=NOW)
        kitchen.says("pin AR")
        kitchen.says("batch 'bean stew' --code stew --kind 'plant food' --by JM")
        kitchen.says("cool stew 135 12:50 --by JM --yes")
        kitchen.says("sign 2026-11-17 --note tested --by AR")  # notes what is settled
    return made


@contextmanager
def traced(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[str]]:
    seen: list[str] = []
    connect = sqlite3.connect

    def watched(*given: Any, **named: Any) -> sqlite3.Connection:
        connection: sqlite3.Connection = connect(*given, **named)
        connection.set_trace_callback(seen.append)
        return connection

    with monkeypatch.context() as patch:
        patch.setattr(sqlite3, "connect", watched)
        yield seen


def run(path: Path, command: str, folder: Path, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    kitchen = Kitchen(Path(shutil.copy(path, folder / "copy.sqlite3")), now=NOW)
    with traced(monkeypatch) as seen:
        result = kitchen.run(command.format(folder=folder))
    assert result.exit_code in (0, 2), result.output
    return seen


@pytest.mark.parametrize("command", COMMANDS)
def test_no_command_looks_through_the_past(
    command: str, kitchens: dict[int, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By the plan of each of its statements; and it asks no more of them than after three weeks."""
    counts = {}
    for days, path in kitchens.items():
        seen = run(path, command, tmp_path, monkeypatch)
        counts[days] = len(seen)
        with closing(sqlite3.connect(tmp_path / "copy.sqlite3")) as connection:
            for statement in seen:
                if not statement.lstrip().upper().startswith(("SELECT", "WITH", "DELETE")):
                    continue
                plan = [row[3] for row in connection.execute(f"EXPLAIN QUERY PLAN {statement}")]
                scans = [one for one in plan if one.startswith("SCAN") and not _SMALL.search(one)]
                counted = "count(*)" in statement and "derived_thread" in statement
                from_the_end = re.search(r"ORDER BY (entry\.)?seq DESC\s+LIMIT 1", statement)
                assert not scans or counted or from_the_end, (statement, plan)
    # to find a moment by halving takes a few steps more
    assert counts[365] <= 1.3 * counts[20]


def test_a_page_of_an_old_day_is_the_page_that_a_short_record_prints(
    kitchens: dict[int, Path], tmp_path: Path
) -> None:
    """But for the record's head and the day's place in it: the same words in the same order."""
    from haccp.kitchen.register import read_register
    from haccp.kitchen.review import walked
    from haccp.printing.report_words import gather
    from haccp.record.store import open_record

    day = (NOW - timedelta(days=200)).date()
    short = tmp_path / "short.sqlite3"
    make_years(short, 30, NOW - timedelta(days=190))
    words = []
    for path in (short, kitchens[365]):
        record = open_record(path, create=False).as_it_stands()
        page = walked(record, day, day, read_register(record).zone)
        found = gather(page, read_register(page), day, day, NOW - timedelta(days=190)).words
        for batch in found["annex"]["batches"]:
            for reading in (one for run in batch["readings"] for one in run["rows"]):
                reading.pop("no")
        words.append({**found, "record": None})
        record.close()
    assert words[0]["days"] == words[1]["days"]
    assert words[0]["annex"]["batches"] == words[1]["annex"]["batches"]
    assert words[0]["deviations"] == words[1]["deviations"]


def test_what_is_derived_of_a_year_agrees_with_its_entries(kitchens: dict[int, Path]) -> None:
    assert "every entry is what was recorded" in Kitchen(kitchens[365], now=NOW).says(
        "record verify"
    )
