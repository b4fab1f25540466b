"""A report of many months: a PDF for each, printed at once, as if one had been printed after another."""

import os
import signal
import subprocess
import sys
import time
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tests.kitchens import Kitchen
from tests.years import make_years

NOW = datetime(2026, 3, 4, 9, tzinfo=UTC)
MONTHS = {
    "kitchen-2026-01-20-to-2026-01-31.pdf": "2026-01-20 2026-01-31",
    "kitchen-2026-02.pdf": "2026-02-01 2026-02-28",
    "kitchen-2026-03-01-to-2026-03-04.pdf": "2026-03-01 2026-03-04",
}


@pytest.fixture
def kitchen(tmp_path: Path) -> Kitchen:
    """A kitchen with a few readings in each of three months."""
    made = Kitchen(tmp_path / "record.sqlite3")
    made.at("2026-01-20T08:00+00:00")
    made.says("setup Test --zone UTC --manager AR --manager-name 'A. R.'")
    made.says("add unit well-1 hot --by AR")
    for day in ("2026-01-20", "2026-02-10", "2026-03-02"):
        made.at(f"{day}T09:00+00:00")
        made.says("hold well-1 150 --by AR --yes")
        made.at(f"{day}T09:30+00:00")
        made.says("empty-unit well-1 --by AR")
    made.now = NOW
    return made


def by_month(kitchen: Kitchen, last: str = "2026-03-31") -> str:
    output = kitchen.path.parent / "kitchen.pdf"
    return f"report 2026-01-20 {last} --by-month --paper a4 --output {output}"


def test_each_month_has_the_bytes_that_its_own_command_prints(kitchen: Kitchen) -> None:
    folder = kitchen.path.parent
    answer = kitchen.says(by_month(kitchen))
    assert sorted(one.name for one in folder.glob("*.pdf")) == sorted(MONTHS)
    told = [answer.index(name) for name in MONTHS]
    assert told == sorted(told), "the months are not told in their order"
    assert "Days after 2026-03-04 have not begun" in answer
    for name, days in MONTHS.items():
        kitchen.says(f"report {days} --paper a4 --output {folder / 'alone.pdf'}")
        assert (folder / name).read_bytes() == (folder / "alone.pdf").read_bytes()


def test_a_month_that_cannot_be_printed_is_told_and_costs_no_other(kitchen: Kitchen) -> None:
    folder = kitchen.path.parent
    taken = folder / "kitchen-2026-02.pdf"
    taken.write_bytes(b"a letter")
    result = kitchen.run(by_month(kitchen))
    assert result.exit_code == 2
    assert f"{taken}: Refused: {taken} exists and is not the same kind of file" in result.stderr
    assert f"1 month is not printed: {taken}." in result.stderr
    assert taken.read_bytes() == b"a letter"
    assert {one.name for one in folder.glob("*.pdf*")} == set(MONTHS)
    assert all(
        (folder / name).read_bytes()[:5] == b"%PDF-" for name in MONTHS if name != taken.name
    )


def test_days_that_have_not_begun_print_nothing(kitchen: Kitchen) -> None:
    said = kitchen.refuses("report 2026-04-01 2026-05-01 --by-month")
    assert "2026-04-01 has not begun" in said


@pytest.mark.long
def test_an_interrupt_ends_every_month_and_leaves_no_part_of_a_file(tmp_path: Path) -> None:
    path = tmp_path / "record.sqlite3"
    make_years(path, 60, NOW)
    words = [sys.executable, "-m", "haccp", "--db", str(path), "report", "2026-01-05", "2026-03-04"]
    running = subprocess.Popen(
        [*words, "--by-month", "--output", str(tmp_path / "kitchen.pdf")],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True,
    )  # fmt: skip
    time.sleep(6)
    children = _children(running.pid)
    os.killpg(running.pid, signal.SIGINT)
    _, said = running.communicate(timeout=20)
    assert running.returncode == 130, said
    assert "Interrupted. Nothing was recorded." in said
    assert len(children) >= 2, "the months were not printed by processes of their own"
    until = time.monotonic() + 5  # the last of them goes when it hears of the others
    while any(Path(f"/proc/{one}").exists() for one in children) and time.monotonic() < until:
        time.sleep(0.1)
    assert not [one for one in children if Path(f"/proc/{one}").exists()]
    assert not list(tmp_path.glob("*.partial"))


def _children(process: int) -> list[str]:
    tasks = Path(f"/proc/{process}/task/{process}/children")
    return tasks.read_text().split()
