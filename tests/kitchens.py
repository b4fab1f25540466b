"""A kitchen to type into, on a clock of our own; it is invented."""

import json
import shlex
from dataclasses import dataclass, field
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path
from typing import Any

from click.testing import CliRunner, Result

from haccp.cli.main import cli
from haccp.cli.session import Session

BEGINS = "2026-10-26T12:00-06:00"


class _Keyboard(BytesIO):
    def isatty(self) -> bool:
        return True


@dataclass
class Kitchen:
    """A kitchen in a temporary file, and the moment that its clock shows."""

    path: Path
    pin: str = "2580"
    now: datetime = field(default_factory=lambda: datetime(2026, 10, 26, 18, 0, tzinfo=UTC))

    def at(self, moment: str) -> None:
        self.now = datetime.fromisoformat(moment).astimezone(UTC)

    def run(self, command: str) -> Result:
        session = Session(self.path, lambda: self.now, ask=lambda _: self.pin)
        result = CliRunner().invoke(cli, shlex.split(command), obj=session, prog_name="haccp")
        assert result.exit_code != 70, result.output
        return result

    def asks(self, command: str, *answers: str) -> Result:
        """Type a command at a terminal, and answers to what it asks."""
        session = Session(self.path, lambda: self.now, ask=lambda _: self.pin)
        keys = _Keyboard("".join(f"{answer}\n" for answer in answers).encode())
        return CliRunner().invoke(
            cli, shlex.split(command), obj=session, prog_name="haccp", input=keys
        )

    def says(self, command: str) -> str:
        result = self.run(command)
        assert result.exit_code == 0, f"{command}: {result.output}"
        return result.output

    def refuses(self, command: str) -> str:
        entries = len(self.entries())
        result = self.run(command)
        assert result.exit_code == 2, f"{command}: {result.output}"
        assert result.stdout == ""
        assert len(result.stderr.strip().splitlines()) == 1, result.stderr
        assert len(self.entries()) == entries, "a refused command recorded something"
        return result.stderr

    def entries(self) -> list[dict[str, object]]:
        result = CliRunner().invoke(cli, ["--db", str(self.path), "list", "entries", "--json"])
        return list(json.loads(result.stdout)) if result.exit_code == 0 else []


def log(kitchen: Kitchen, *timed: tuple[str, str]) -> str:
    """Type commands at kitchen times of one day; give the last answer."""
    answer = ""
    for clock, command in timed:
        kitchen.at(f"2026-10-26T{clock}-06:00")
        answer = kitchen.says(command)
    return answer


def verdict(kitchen: Kitchen, name: str) -> str:
    return str(json.loads(kitchen.says(f"show {name} --json"))["verdict"])


def on(kitchen: Kitchen, day: str, clock: str, command: str) -> str:
    """Type a command on a day of the week that holds the autumn clock change (1 November)."""
    zone = "-06:00" if day.startswith("10-") else "-07:00"
    kitchen.at(f"2026-{day}T{clock}{zone}")
    return kitchen.says(command)


def next_day(kitchen: Kitchen, clock: str, day: int = 27) -> None:
    kitchen.at(f"2026-10-{day}T{clock}-06:00")


def findings(kitchen: Kitchen, name: str) -> dict[str, str]:
    found = json.loads(kitchen.says(f"show {name} --json"))["findings"]
    return {one["limit"]: one["verdict"] for one in found}


_WORST = ["not met", "not shown", "taken back", "open", "next check"]


def matters(kitchen: Kitchen, name: str) -> list[str]:
    """Give the verdicts of what status lists of a batch or unit, the worst first."""
    found = json.loads(kitchen.says("status --json"))
    mine = [one["verdict"] or "next check" for one in found if one["subject"] == name]
    return sorted(mine, key=_WORST.index)


def beside_looks(kitchen: Kitchen) -> list[dict[str, Any]]:
    """Give what status lists beside the looks that are due."""
    found: list[dict[str, Any]] = json.loads(kitchen.says("status --json"))
    return [one for one in found if one["group"] != "due"]


def flat(text: str) -> str:
    return " ".join(text.split())
