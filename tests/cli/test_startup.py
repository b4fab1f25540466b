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

from haccp.cli.main import COMMANDS, cli
from haccp.cli.on_demand import Named

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


def test_help_of_every_command_imports_no_heavy_library() -> None:
    for name in ["", *cli.commands]:
        result = CliRunner().invoke(cli, [*name.split(), "--help"])
        assert result.exit_code == 0, name
        assert "Usage" in result.output
    every = {f"haccp.cli.{module}" for module in COMMANDS}
    for name in ("check", "demo", "record"):
        modules = imported_by(name, "--help")
        assert not [heavy for heavy in HEAVY if heavy in modules]
        assert f"haccp.cli.{name}" in modules
        assert not modules & (
            every - {f"haccp.cli.{one}" for one in (name, "files", "measure", "setting")}
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


@pytest.mark.parametrize("name", cli.commands)
def test_a_command_is_listed_by_the_first_sentence_of_its_own_help(name: str) -> None:
    named = cli.commands[name]
    assert isinstance(named, Named)
    own = named.imported()
    assert own.name == name
    first = inspect.cleandoc(own.help or "").split("\n\n")[0]
    assert named.help == " ".join(first.split())
