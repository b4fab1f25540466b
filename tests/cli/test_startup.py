"""What a cook waits for: the hourly entry imports nothing that it does not need."""

import inspect
import json
import os
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner

from haccp.cli.completing import WORDS
from haccp.cli.main import COMMANDS, EARLIER, cli
from haccp.cli.on_demand import Named
from tests.kitchens import Kitchen

HEAVY = ("alembic", "matplotlib", "numpy", "pandas", "plotext", "typst", "sqlalchemy.orm")

_SCRIPT = """
import json, sys
from haccp.cli.main import cli
try:
    cli(sys.argv[1:], prog_name="haccp")
finally:
    print(json.dumps(sorted(sys.modules)), file=sys.stderr)
"""


def imported_by(*words: str, **env: str) -> set[str]:
    run = subprocess.run(
        [sys.executable, "-c", _SCRIPT, *words],
        capture_output=True,
        text=True,
        check=False,
        env=os.environ | env,
    )
    assert run.returncode == 0, run.stderr
    return set(json.loads(run.stderr.splitlines()[-1]))


def test_an_hourly_entry_imports_no_heavy_library(tmp_path: Path) -> None:
    db = str(tmp_path / "record.sqlite3")
    setup = ["setup", "Test", "--zone", "America/Denver", "--manager", "AR", "--manager-name", "A"]
    for words in (setup, ["batch", "stew", "--code", "stew", "--by", "AR"]):
        pin = "2580\n2580\n"
        assert CliRunner().invoke(cli, ["--db", db, *words], input=pin).exit_code == 0
    earlier = (datetime.now(UTC) - timedelta(hours=1)).isoformat(timespec="minutes")
    imported_by("--db", db, "cool", "stew", "135", earlier, "--by", "AR", "--yes")
    modules = imported_by("--db", db, "cool", "stew", "98", "--by", "AR")
    assert "haccp.physics.forecast" in modules, "the entry has no forecast"
    assert not [name for name in HEAVY if name in modules]


def test_printing_imports_neither_tables_nor_a_way_of_drawing_on_screens(tmp_path: Path) -> None:
    db, paper = str(tmp_path / "record.sqlite3"), str(tmp_path / "day.pdf")
    setup = ["setup", "Test", "--zone", "America/Denver", "--manager", "AR", "--manager-name", "A"]
    assert CliRunner().invoke(cli, ["--db", db, *setup], input="2580\n2580\n").exit_code == 0
    modules = imported_by("--db", db, "report", "today", "--output", paper)
    assert {"typst", "matplotlib.figure"} <= modules
    assert not modules & {"pandas", "pyarrow", "plotext", "matplotlib.pyplot", "alembic"}


def test_help_of_every_command_imports_no_heavy_library() -> None:
    for name in ["", *cli.commands]:
        result = CliRunner().invoke(cli, [*name.split(), "--help"])
        assert result.exit_code == 0, name
        assert "Usage" in result.output
    homes = [home for commands in COMMANDS.values() for home, _ in commands.values()]
    every = {f"haccp.cli.{home.split(':')[0]}" for home in homes}
    for name in ("check", "demo", "record"):
        modules = imported_by(name, "--help")
        assert not [heavy for heavy in HEAVY if heavy in modules]
        assert f"haccp.cli.{name}" in modules
        assert not modules & (
            every
            - {f"haccp.cli.{one}" for one in (name, "files", "measure", "setting", "branches")}
        )


COMPLETING = {"_HACCP_COMPLETE": "bash_complete", "COMP_WORDS": "haccp c", "COMP_CWORD": "1"}


@pytest.mark.parametrize(("words", "env"), [(["--help"], {}), ([], COMPLETING)])
def test_help_and_completion_import_no_command(words: list[str], env: dict[str, str]) -> None:
    modules = {name for name in imported_by(*words, **env) if name.startswith("haccp.")}
    needed = (
        "cli",
        "cli.main",
        "cli.on_demand",
        "cli.boundary",
        "cli.interrupts",
        "cli.reader",
        "cli.terminal",
        "catalogs",
        "errors",
        "language",
    )
    assert modules == {f"haccp.{name}" for name in needed}
    assert "sqlalchemy" not in modules


def test_completion_of_a_command_knows_its_options() -> None:
    env = COMPLETING | {"COMP_WORDS": "haccp cool --th", "COMP_CWORD": "2"}
    result = CliRunner().invoke(cli, [], env=env, prog_name="haccp")
    assert result.output == "plain,--thermometer\n"


def test_help_lists_each_command_once_by_part_of_the_day_in_a_line_that_is_not_cut() -> None:
    shown = CliRunner().invoke(cli, ["--help"], env={"COLUMNS": "80"}).output
    parts = [line for line in shown.splitlines() if line.endswith(":") and not line[0].isspace()]
    assert parts == ["Options:", *(f"{part}:" for part in COMMANDS)]
    listed = [one for one in shown[shown.index("Every hour") :].splitlines() if "  " in one]
    assert sorted(line.split()[0] for line in listed) == sorted(cli.commands)
    assert all(
        len(line) <= 80 and line.endswith(".") and not line.endswith("..") for line in listed
    )


@pytest.mark.parametrize(
    ("typed", "names"),
    [
        (("hold", "w"), ["well-1", "walk-in"]),
        (("hold", "ST"), ["stew"]),
        (("cool", ""), ["stew"]),
        (("cool", "stew", "98", "--in", "w"), ["well-1", "walk-in"]),
        (("cool", "stew", "98", "--by", ""), ["AR", "JM"]),
        (("cool", "stew", "98", "--thermometer", ""), ["T1", "T2"]),
        (("cool", "stew", "98", "--held", ""), []),
        (("ice", ""), ["T1", "T2"]),
        (("initials", "j"), ["JM"]),
        (("batch", "gr"), ["gravy"]),
        (("used", "s"), ["stew"]),
    ],
)
def test_names_on_record_are_completed_without_what_opens_a_record(
    typed: tuple[str, ...], names: list[str], kitchen: Kitchen
) -> None:
    kitchen.says("add food gravy --by AR")
    env = COMPLETING | {
        "COMP_WORDS": " ".join(["haccp", "--db", str(kitchen.path), *typed]),
        "COMP_CWORD": str(len(typed) + 2),
    }
    completed = CliRunner().invoke(cli, [], env=env, prog_name="haccp")
    assert completed.output.split() == [f"plain,{name}" for name in names]
    assert "sqlalchemy" not in imported_by(**env)


@pytest.mark.parametrize("content", [None, b"", b"not a record" * 100])
def test_where_nothing_can_be_read_nothing_is_completed_and_nothing_made(
    content: bytes | None, tmp_path: Path
) -> None:
    path = tmp_path / "record.sqlite3"
    if content is not None:
        path.write_bytes(content)
    env = COMPLETING | {"COMP_WORDS": f"haccp --db {path} hold w", "COMP_CWORD": "4"}
    completed = CliRunner().invoke(cli, [], env=env, prog_name="haccp")
    assert completed.output.strip() == ""
    assert path.exists() is (content is not None)


def test_every_command_with_names_to_complete_is_there() -> None:
    assert set(WORDS) <= set(cli.commands)


@pytest.mark.parametrize("name", cli.commands)
def test_a_command_that_is_listed_is_there_and_says_what_it_does(name: str) -> None:
    named = cli.commands[name]
    assert isinstance(named, Named)
    assert inspect.cleandoc(named.imported().help or "").split("\n\n")[0]


@pytest.mark.parametrize(("earlier", "now"), EARLIER.items())
def test_a_name_of_before_does_the_same_and_is_not_listed(earlier: str, now: str) -> None:
    assert earlier not in cli.commands
    helps = [CliRunner().invoke(cli, [name, "--help"]).output for name in (earlier, now)]
    assert helps[0].split("]", 1)[1] == helps[1].split("]", 1)[1]
    completed = CliRunner().invoke(
        cli,
        [],
        env=COMPLETING | {"COMP_WORDS": f"haccp {earlier}", "COMP_CWORD": "1"},
        prog_name="haccp",
    )
    assert f"plain,{earlier}\n" not in completed.output
