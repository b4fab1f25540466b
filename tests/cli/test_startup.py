"""What a cook waits for: the hourly entry imports nothing that it does not need."""

import json
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

from click.testing import CliRunner

from haccp.cli.main import cli

HEAVY = ("alembic", "matplotlib", "numpy", "pandas", "plotext", "typst", "sqlalchemy.orm")

_SCRIPT = """
import json, sys
from haccp.cli.main import cli
try:
    cli(sys.argv[1:], prog_name="haccp")
finally:
    print(json.dumps(sorted(sys.modules)), file=sys.stderr)
"""


def imported_by(*words: str) -> set[str]:
    run = subprocess.run(
        [sys.executable, "-c", _SCRIPT, *words], capture_output=True, text=True, check=False
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
    assert not [name for name in HEAVY if name in imported_by("--help")]
