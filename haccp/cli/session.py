"""What every command that touches the record needs: where it is, what time it is, who types."""

import os
import sys
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cached_property
from pathlib import Path
from typing import Any, Self, TypeVar

import click
import platformdirs

from haccp.errors import Refused
from haccp.record.entries import Draft, Entry, Person
from haccp.record.register import Register, read_register
from haccp.record.store import Record, open_record

_Command = TypeVar("_Command", bound=Callable[..., Any])


def utc_now() -> datetime:
    return datetime.now(UTC)


@dataclass
class Session:
    """One run of the command line. The clock is handed in: a test and the demo have their own."""

    path: Path
    clock: Callable[[], datetime] = utc_now

    @cached_property
    def now(self) -> datetime:
        return self.clock().replace(microsecond=0)

    @cached_property
    def record(self) -> Record:
        return open_record(self.path, create=False)

    @cached_property
    def register(self) -> Register:
        return read_register(self.record)

    def close(self) -> None:
        if "record" in self.__dict__:
            self.record.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def append(self, *drafts: Draft) -> list[Entry]:
        return self.record.append(drafts, self.clock)

    def by(self, initials: str | None, *, manager: bool = False) -> Person:
        """Say who records: `--by`, HACCP_BY, or what `haccp by` remembered.

        Raises Refused where nobody is named, and where a manager is needed and this is none.
        """
        named = initials or remembered_by()
        if not named:
            raise Refused("Who are you? Type your initials once: haccp by JM (or set HACCP_BY).")
        person = self.register.person(named)
        if manager and person.role != "manager":
            raise Refused(f"{person.name} is no manager: a manager does this, with --by.")
        return person


def default_path() -> Path:
    return platformdirs.user_data_path("haccp") / "record.sqlite3"


def _by_file() -> Path:
    return platformdirs.user_config_path("haccp") / "by"


def remembered_by() -> str | None:
    try:
        return os.environ.get("HACCP_BY") or _by_file().read_text(encoding="utf-8").strip() or None
    except OSError:
        return None


def remember_by(initials: str) -> None:
    path = _by_file()
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(initials + "\n", encoding="utf-8")


def by_option(command: _Command) -> _Command:
    return click.option(
        "--by", metavar="INITIALS", help="Who records; else HACCP_BY or `haccp by`."
    )(command)


def confirm(question: str, *, yes: bool) -> bool:
    """Ask where somebody can answer; say whether it was asked. Raises Refused for a no."""
    if yes:
        return True
    if not sys.stdin.isatty():
        raise Refused(f"{question} Nothing was recorded; if it is right, type it again with --yes.")
    if not click.confirm(f"{question} Record it?", err=True):
        raise Refused("Nothing was recorded.")
    return True


def printable(text: str, what: str, longest: int = 200) -> str:
    """Take a text that can be printed in one line; raises Refused for anything else."""
    text = unicodedata.normalize("NFC", text.strip())
    if not text:
        raise Refused(f"{what} is empty: type a few words.")
    if len(text) > longest:
        raise Refused(f"{what} is longer than {longest} characters: type less.")
    if any(unicodedata.category(c) in ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp") for c in text):
        raise Refused(f"{what} holds a character that cannot be printed: type it again without.")
    return text
