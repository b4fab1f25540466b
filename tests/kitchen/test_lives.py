"""The accounts of the demo week: each deviation that they tell, batch by batch."""

from contextlib import closing
from pathlib import Path

import pytest
from click.testing import CliRunner

from haccp.cli.main import cli
from haccp.kitchen.lives import read_lives
from haccp.kitchen.register import read_register
from haccp.record.store import open_record
from haccp.rules.account.judge import judge

# What is true in the week, as it was written; the gravies were read hot once, without a hold, and
# nobody read the stew for 2 h 38 min after it was made of cold beef.
TOLD = {
    "chicken-raw-1026": ["receiving-cold not met"],
    "stew-1027": ["hot-holding not met"],  # its well sank for 50 minutes
    "gravy-1027": ["reheat not shown"],
    "gravy-1028": ["reheat not shown", "hot-holding not shown"],  # a missed check
    "gravy-1029": ["reheat not shown", "hot-holding not shown"],  # a thermometer that failed
    "stew-1029": ["reheat not shown"],
    "rice-1029": ["cooling-stage-1 not shown"],
    "stew-1030": ["cooling-stage-2 not met"],
    "gravy-1031": ["reheat not shown"],
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
        entries = [entry for entry in record.entries() if not entry.corrected_by]
        register = read_register(record)
        lives = read_lives(entries, register)
        now = max(entry.at for entry in entries)
        told = {}
        for code, life in lives.items():
            assert life.opened is not None
            found = judge(life, register.limits_at(life.opened), now).findings
            bad = [one for one in found if one.verdict.is_deviation]
            if bad:
                told[code] = [f"{one.limit.name} {one.verdict.value}" for one in bad]
    assert len(lives) == 24
    assert told == TOLD
