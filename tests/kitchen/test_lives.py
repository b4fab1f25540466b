"""The accounts of the demo week: each deviation that they tell, batch by batch."""

import json
from contextlib import closing
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner

from haccp.cli.main import cli
from haccp.kitchen.naming import every_code
from haccp.kitchen.reading import read_batches
from haccp.kitchen.register import read_register
from haccp.kitchen.review import review
from haccp.record.store import open_record
from tests.kitchens import Kitchen

# What is true in the week, as it was written.
TOLD = {
    "chicken-raw-1026": ["receiving-cold not met"],
    "stew-1027": ["hot-holding not met"],  # its well sank for 50 minutes
    "gravy-1028": ["hot-holding not shown"],  # a missed check
    "gravy-1029": ["hot-holding not shown"],  # a thermometer that failed
    "rice-1029": ["cooling-stage-1 not shown"],
    "stew-1030": ["cooling-stage-2 not met"],
    "rice-1031": ["cooling-stage-2 not shown"],
}


@pytest.fixture(name="week", scope="module")
def _week(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("demo") / "week"
    made = CliRunner().invoke(cli, ["demo", str(folder)], catch_exceptions=False)
    assert made.exit_code == 0
    return folder / "record.sqlite3"


def test_the_week_s_accounts_tell_what_was_wrong_in_it_and_nothing_else(week: Path) -> None:
    with closing(open_record(week, create=False)) as record:
        register = read_register(record)
        now = max(entry.at for entry in record.entries())
        batches = read_batches(record, every_code(record))
        found = {one.name: one.judged(register, now) for one in batches}
    told = {
        code: bad
        for code, findings in found.items()
        if (
            bad := [
                f"{one.limit.name} {one.verdict.value}"
                for one in findings
                if one.verdict.is_deviation
            ]
        )
    }
    assert len(batches) == 24
    assert told == TOLD


def ended(week: Path) -> Kitchen:
    """The kitchen as the week's last entry left it."""
    with closing(open_record(week, create=False)) as record:
        return Kitchen(week, now=max(entry.entered_at for entry in record.entries()))


def test_status_at_the_week_s_end_tells_of_the_one_food_that_waits_and_of_the_looks_to_come(
    week: Path,
) -> None:
    rows = json.loads(ended(week).says("status --json"))
    assert {(row["group"], row["subject"], row["limit"]) for row in rows} == {
        ("decide", "rice-1031", "cooling-stage-2"),
        ("due", "T1", None),
        ("due", "walk-in", None),
        ("due", "freezer", None),
    }


def test_the_report_of_the_week_calls_attention_to_what_was_wrong_and_to_nothing_else(
    week: Path,
) -> None:
    kitchen = ended(week)
    with closing(open_record(week, create=False)) as record:
        found = review(
            record, read_register(record), date(2026, 10, 26), date(2026, 11, 1), kitchen.now
        ).deviations
    told = [f"{one.subject.name}: {one.finding.limit.name} {one.finding.verdict}" for one in found]
    of_food = [f"{code}: {bad}" for code, (bad,) in TOLD.items()]
    # the well that sank; the check that was missed and the thermometer that failed
    of_units = [
        "well-1: hot-holding not met",
        "well-2: hot-holding not shown",
        "well-2: hot-holding not shown",
    ]
    assert sorted(told) == sorted([*of_food, *of_units])
