"""History judged anew: what a kitchen would have been told by other limits."""

import csv
import json
import shutil
import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from haccp.kitchen import audit
from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.datemarks import all_found
from haccp.kitchen.plain import PlainBatches
from haccp.kitchen.reading import read_batches
from haccp.kitchen.register import read_register
from haccp.limits import shipped
from haccp.record.store import open_record
from haccp.rules.account.plain import Found
from haccp.rules.evidence import overall
from tests.kitchen.typed import type_in
from tests.kitchens import Kitchen, findings
from tests.long_kitchen import ENDS, made

# A stew held at 137 °F and cooled by the Food Code's times; by 10 NYCRR 14-1.40 hot food is held
# at 140 °F, and cooled from 120 °F. The temperatures are invented.
DAY = """
12:10 batch "bean soup" --code soup
12:11 hold walk-in 38
12:15 cook soup 199 --held 30
12:20 hold soup 150 --in well-1
12:50 hold soup 137 --yes
13:00 cool soup 134 --yes
13:40 cool soup 101 --yes
14:40 cool soup 69 --yes
15:50 cool soup 52 --yes
16:00 hold walk-in 44 --yes
16:20 hold walk-in 40
17:10 cool soup 40 --yes
17:15 hold soup 40 --in walk-in
18:00
"""
OTHERS = ("new-york-14-1", "australia-3-2-2", "food-code-2013")


@pytest.fixture
def day(kitchen: Kitchen) -> Kitchen:
    type_in(kitchen, DAY)
    return kitchen


def differences(kitchen: Kitchen, name: str) -> dict[tuple[str, str], tuple[str, str]]:
    told = json.loads(kitchen.says(f"audit 2026-10-26 --set {name} --json"))
    assert not told["not_judged"]
    return {
        (one["name"], one["limit"]): (one["in_force"], one["anew"]) for one in told["differences"]
    }


@pytest.mark.parametrize("name", OTHERS)
def test_what_differs_is_what_a_kitchen_under_the_other_set_is_told(
    name: str, opened: Path, kitchen: Kitchen, tmp_path: Path
) -> None:
    """The oracle is a second kitchen, in which that set is in force and the same is typed."""
    other = Kitchen(Path(shutil.copy(opened, tmp_path / "other.sqlite3")))
    other.at("2026-10-26T12:05-06:00")
    other.says(f"kitchen --limit-set {name} --by AR")
    for one in (kitchen, other):
        type_in(one, DAY)
    expected = {}
    for subject in ("soup", "walk-in", "well-1"):
        had, has = findings(kitchen, subject), findings(other, subject)
        for limit in had.keys() | has.keys():
            if had.get(limit) != has.get(limit):
                expected[subject, limit] = (had.get(limit, ""), has.get(limit, ""))
    told = differences(kitchen, name)
    assert {key: one for key, one in told.items() if key[0] != "stew"} == expected
    assert bool(expected) is (name != "food-code-2013")


@pytest.fixture(scope="module")
def long_kitchen(tmp_path_factory: pytest.TempPathFactory) -> Kitchen:
    """Two hundred batches, of every kind that a long history has; all invented."""
    kitchen = Kitchen(tmp_path_factory.mktemp("long") / "record.sqlite3")
    made(kitchen.path, 200)
    kitchen.now = ENDS
    return kitchen


@pytest.mark.parametrize("name", OTHERS)
def test_the_screen_leaves_no_difference_out_and_adds_none(
    name: str, long_kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The oracle is the same audit with every batch left to the rules."""
    asked: list[bool] = []
    screened = PlainBatches.finds

    def counted(self: PlainBatches, batch: BatchOnRecord) -> Found | None:
        found = screened(self, batch)
        asked.append(found is not None)
        return found

    monkeypatch.setattr(PlainBatches, "finds", counted)
    told = long_kitchen.says(f"audit 2026-10-01 2026-11-02 --set {name} --json")
    assert sum(asked) > len(asked) / 2
    monkeypatch.setattr(PlainBatches, "finds", lambda *_: None)
    assert long_kitchen.says(f"audit 2026-10-01 2026-11-02 --set {name} --json") == told


@pytest.mark.parametrize("name", ["food-code-2022", *OTHERS])
def test_what_the_screen_says_of_a_batch_is_all_that_is_found_of_it(
    name: str, long_kitchen: Kitchen
) -> None:
    with closing(open_record(long_kitchen.path, create=False)) as record:
        register = replace(read_register(record), judged_by=shipped(name))
        plain = PlainBatches(register, ENDS)
        for batch in read_batches(record, [one.code for one in record.every_batch()]):
            told = plain.finds(batch)
            if told is not None:
                found = all_found(batch, record, register, ENDS)
                names = {one.limit.name for one in found}
                assert told.verdicts == {
                    name: overall(one for one in found if one.limit.name == name) for name in names
                }


def test_nothing_is_recorded_and_the_limits_in_force_stay(day: Kitchen) -> None:
    before = day.entries(), findings(day, "soup")
    assert differences(day, "new-york-14-1")
    assert (day.entries(), findings(day, "soup")) == before


def test_many_processes_find_the_same_as_one(day: Kitchen, monkeypatch: pytest.MonkeyPatch) -> None:
    alone = day.says("audit 2026-10-26 --set new-york-14-1 --json")
    monkeypatch.setattr(audit, "_TOGETHER", 1)
    assert day.says("audit 2026-10-26 --set new-york-14-1 --json") == alone


def test_the_files_hold_what_the_screen_tells(day: Kitchen, tmp_path: Path) -> None:
    parquet = pytest.importorskip("pyarrow.parquet")
    table, columns = tmp_path / "differences.csv", tmp_path / "differences.parquet"
    told = json.loads(
        day.says(f"audit 2026-10-26 --set new-york-14-1 --json --csv {table} --parquet {columns}")
    )["differences"]
    with table.open(newline="", encoding="utf-8") as file:
        assert list(csv.DictReader(file)) == told
    assert parquet.read_table(columns).to_pylist() == told
    day.says(f"audit 2026-10-26 --set food-code-2013 --csv {table} --parquet {columns}")
    columns.write_text("a letter")
    assert "is not the same kind of file" in day.refuses(
        f"audit 2026-10-26 --set food-code-2013 --parquet {columns}"
    )


def test_a_set_that_there_is_not_is_told(day: Kitchen) -> None:
    assert "There is no limit set 'atlantis'" in day.refuses("audit --set atlantis")
    assert "comes before" in day.refuses("audit 2026-10-26 2026-10-25 --set food-code-2013")


@pytest.mark.parametrize("together", [1_000, 1])
def test_an_entry_that_was_altered_is_told_whichever_process_reads_it(
    together: int, day: Kitchen, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(audit, "_TOGETHER", together)
    with closing(sqlite3.connect(day.path)) as file:
        for (trigger,) in file.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'"):
            file.execute(f"DROP TRIGGER {trigger}")
        file.execute("UPDATE entry SET body = replace(body, '101', '100') WHERE batch = 'soup'")
        file.commit()
    told = day.run("audit 2026-10-26 --set new-york-14-1")
    assert "is not what was recorded" in told.output


def test_a_batch_whose_opening_cannot_be_read_is_named_and_not_called_the_same(
    day: Kitchen,
) -> None:
    with closing(sqlite3.connect(day.path)) as file:
        for (trigger,) in file.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'"):
            file.execute(f"DROP TRIGGER {trigger}")
        file.execute("UPDATE entry SET body = '{}' WHERE kind = 'batch' AND batch = 'soup'")
        file.commit()
    told = day.run("audit 2026-10-26 --set food-code-2013")
    assert "soup is not judged anew" in told.output
    assert "All of it comes out the same" not in told.output


def test_of_days_to_come_it_is_said_that_nothing_is_judged(kitchen: Kitchen) -> None:
    kitchen.at("2026-10-26T12:05-06:00")
    told = kitchen.says("audit 2026-10-26 2026-10-30 --set food-code-2013")
    assert "Days after 2026-10-26 have not begun: nothing of them is judged." in told
    assert "have not begun" not in kitchen.says("audit 2026-10-26 --set food-code-2013")
