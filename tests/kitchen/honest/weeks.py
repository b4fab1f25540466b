"""Weeks of ordinary logging, as they would be typed at a terminal; all of them are invented."""

from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from haccp.kitchen.register import read_register
from haccp.kitchen.review import review
from haccp.record.store import open_record
from tests.kitchens import Kitchen

FOLDER = Path(__file__).parent
DENVER = ZoneInfo("America/Denver")


@dataclass(frozen=True, slots=True)
class Typed:
    """A command as it was typed, with the answers to what it asks."""

    at: datetime
    command: str
    answers: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Week:
    """What a week gave: each question, and each deviation that was told at its end."""

    asked: list[str]
    told: list[str]


def typed(name: str, **words: str) -> list[Typed]:
    """Read a week in the order in which it was typed; `words` fill its places in braces."""
    return sorted(_lines(name, words), key=lambda one: one.at)


def _lines(name: str, words: dict[str, str]) -> Iterator[Typed]:
    day = ""
    for line in (FOLDER / f"{name}.txt").read_text(encoding="utf-8").splitlines():
        text = line.format(**words)
        if not text or text.startswith("#"):
            continue
        if " " not in text:
            day = text
            continue
        clock, rest = text.split(" ", 1)
        command, *answers = (part.strip() for part in rest.split(" | "))
        at = datetime.fromisoformat(f"{day}T{clock}").replace(tzinfo=DENVER).astimezone(UTC)
        yield Typed(at, command, tuple(answers))


def live(kitchen: Kitchen, week: list[Typed]) -> Week:
    """Type a week; whatever is refused, or asked and not answered, fails it."""
    asked = []
    for one in week:
        kitchen.now = one.at
        result = kitchen.asks(one.command, *one.answers)
        assert result.exit_code == 0, f"{one.at:%a %H:%M} {one.command}: {result.output}"
        asked += [
            f"{one.command}: {said.partition('?')[0]}?"
            for said in result.stderr.splitlines()
            if "?" in said
        ]
    return Week(asked=asked, told=told(kitchen, week[0].at, week[-1].at))


def told(kitchen: Kitchen, since: datetime, until: datetime) -> list[str]:
    """Name each deviation that status, sign and the report would tell of a week."""
    with closing(open_record(kitchen.path, create=False)) as record:
        days = [moment.astimezone(DENVER).date() for moment in (since, until)]
        found = review(record, read_register(record), days[0], days[1], until).deviations
    return [f"{one.subject.name}: {one.finding.limit.name} {one.finding.verdict}" for one in found]
