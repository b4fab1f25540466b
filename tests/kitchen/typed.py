"""Days in a kitchen as somebody types them: a line for each command, with the clock before it.

``09:30 cook stew 199``, ``tue 08:00 hold walk-in 39``: a line without a day is of the day before
it, the first one of Monday 26 October. A line with a clock alone is the moment of the look.
"""

import json
import re
import shutil
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.kitchens import Kitchen

_LINE = re.compile(r"(?:(?P<day>[a-z]{3}2?) )?(?P<clock>[0-9]{2}:[0-9]{2})(?: (?P<command>.+))?")
_DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun", *(f"{day}2" for day in ("mon", "tue", "wed", "thu", "fri")))  # fmt: skip


@dataclass(frozen=True)
class Told:
    """What a kitchen tells of one thing: a limit and what it was found to be."""

    limit: str
    verdict: str
    citation: str
    shortest: float | None
    longest: float | None
    words: str


def moment(day: str, clock: str) -> str:
    """Give a clock of the week of 26 October, or the one after it; winter time begins on Sunday."""
    date = 26 + _DAYS.index(day)
    return f"2026-10-{date}T{clock}-06:00" if date < 32 else f"2026-11-{date - 31:02}T{clock}-07:00"


def type_in(kitchen: Kitchen, *stories: str) -> None:
    """Type a story, or several one after the other; each command has to be accepted."""
    day = "mon"
    for line in filter(str.strip, "\n".join(stories).splitlines()):
        match = _LINE.fullmatch(line.strip())
        assert match, line
        day = match["day"] or day
        kitchen.at(moment(day, match["clock"]))
        if match["command"]:
            kitchen.says(_said_yes_to(match["command"]))


def _said_yes_to(command: str) -> str:
    """Whoever hides a danger says yes where it is asked whether food that deviated is used."""
    asks = command.startswith(("used ", "split ", "merge ", "batch ")) and "--yes" not in command
    asks = asks and (not command.startswith("batch ") or "--from" in command)
    return f"{command} --yes" if asks else command


def shown(kitchen: Kitchen, name: str) -> list[Told]:
    """Give what `show --json` tells of a batch or unit."""
    found = json.loads(kitchen.says(f"show {name} --json"))["findings"]
    return [
        Told(
            one["limit"],
            one["verdict"],
            one["citation"],
            one["shortest_min"],
            one["longest_min"],
            one["reason"],
        )
        for one in found
    ]


def the(kitchen: Kitchen, name: str, limit: str, verdict: str) -> Told:
    """Give the one finding of a limit with a verdict; there must be one."""
    every = shown(kitchen, name)
    found = [one for one in every if (one.limit, one.verdict) == (limit, verdict)]
    assert found, [f"{one.limit} {one.verdict}" for one in every]
    return found[0]


def undecided(kitchen: Kitchen) -> set[str]:
    """Give what `status --json` lists that nobody has decided: subject, limit, verdict."""
    listed: list[dict[str, Any]] = json.loads(kitchen.says("status --json"))
    return {f"{one['subject']} {one['limit']} {one['verdict']}" for one in listed}


def deviations(kitchen: Kitchen, name: str) -> set[str]:
    bad = ("not met", "not shown")
    return {f"{one.limit} {one.verdict}" for one in shown(kitchen, name) if one.verdict in bad}


def set_up(path: Path) -> Kitchen:
    """Set up a kitchen with a hot well, a walk-in cooler and a freezer; all of it is invented."""
    made = Kitchen(path)
    type_in(
        made,
        """
        05:00 setup "Test Kitchen" --zone America/Denver --manager AR --manager-name "A. R."
        05:00 add person JM "J. M." --by AR
        05:00 add thermometer T1 --by AR
        05:00 add unit well-1 hot --by AR
        05:00 add unit walk-in cold --every 240 --by AR
        05:00 add unit freezer frozen --every 720 --by AR
        """,
    )
    return made


def copy_of(made: Kitchen, path: Path) -> Kitchen:
    return Kitchen(Path(shutil.copy(made.path, path)))
