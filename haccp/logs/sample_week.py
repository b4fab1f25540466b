"""Reads sample logs: CSV files of readings, and the commands that CSV cannot carry."""

import shlex
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from haccp.errors import Refused
from haccp.language import phrase
from haccp.logs.csv_log import LogLine, parse_moment, read_log

# A reading is typed in about as long after it was taken: invented, as the whole scenario is.
TYPED_AFTER = timedelta(minutes=1)


@dataclass(frozen=True, slots=True)
class Typed:
    """A moment of the sample week: a reading, or a command with its words, typed by somebody."""

    at: datetime
    by: str
    words: tuple[str, ...]
    row: LogLine | None = None


def sample_week(folder: Path) -> list[Typed]:
    """Read every *.csv and commands.txt of a folder, in the order in which things were typed.

    A line of commands.txt is a moment, initials (- for nobody yet) and a haccp command.
    Raises Refused with file and line for anything that cannot be read.
    """
    typed = [*_commands(folder / "commands.txt")]
    for path in sorted(folder.glob("*.csv")):
        typed += _readings(path)
    return sorted(typed, key=lambda one: one.at)


def _commands(path: Path) -> Iterator[Typed]:
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        if not line.strip() or line.startswith("#"):
            continue
        moment, by, *words = shlex.split(line)
        at, in_minutes = parse_moment(moment)
        if in_minutes or not words:
            raise Refused(
                phrase(
                    "{file}, line {number}: it is a moment, initials and a command.",
                    file=path.name,
                    number=number,
                )
            )
        yield Typed(at, by, tuple(words))


def _readings(path: Path) -> Iterator[Typed]:
    log = read_log(path.read_bytes())
    if log.rejected:
        raise Refused(
            phrase(
                "{file}, line {line}: {why}.",
                file=path.name,
                line=log.rejected[0].line,
                why=log.rejected[0].why,
            )
        )
    for row in log.rows:
        yield Typed(row.reading.at + TYPED_AFTER, row.cells["by"], (), row)
