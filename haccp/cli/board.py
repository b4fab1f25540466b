"""`haccp board`: what is open and due, on a screen that stays on, or line by line as it changes."""

import shutil
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import partial
from zoneinfo import ZoneInfo

import click

from haccp.cli import terminal
from haccp.cli.session import Session
from haccp.cli.status import head, headed, headline, left, nothing
from haccp.errors import Refused
from haccp.kitchen.board import Group, Row, board
from haccp.kitchen.naming import open_codes
from haccp.kitchen.reading import read_batches
from haccp.kitchen.review import matters
from haccp.language import counted, phrase
from haccp.signs import padded, shortened
from haccp.time import clock, short_day

# On too small a screen so many lines of rows are written all the same.
_FEWEST = 5
# The least room for the time left [columns].
_TIME_LEFT = 12


@dataclass(frozen=True, slots=True)
class Shown:
    """What there was to show at a moment, in words: each row's group, time left and headline.

    `most_urgent` is the least time left, as ``0:12``, and whose it is. `asking` names what is bad
    or due, each with how.
    """

    kitchen: str
    at: datetime
    zone: ZoneInfo
    rows: tuple[tuple[Group, str, str], ...]
    most_urgent: tuple[str, str] | None
    asking: frozenset[tuple[str, str]]
    trouble: str = ""


@click.command("board")
@click.option(
    "--every",
    type=click.IntRange(5, 600),
    default=20,
    show_default=True,
    metavar="SECONDS",
    help="How often it looks.",
)
@click.option("--silent", is_flag=True, help="Ring no bell.")
@click.option("--lines", "by_line", is_flag=True, help="A line for each change, and no screen.")
@click.pass_obj
def board_(session: Session, every: int, silent: bool, by_line: bool) -> None:
    """Show what is open and due on a screen that stays on, the least time left first.

    A bell rings when something becomes due or turns bad. Ctrl-C ends it.
    """
    tell = _tell_changes if by_line or not terminal.has_screen() else _fill_screen
    before, shown = None, look(session)  # where there is no record, there is nothing to wait for
    with suppress(KeyboardInterrupt):
        while True:
            tell(shown, before, ring=_is_worse(shown, before) and not silent)
            time.sleep(every)
            before, shown = shown, _look_again(session, shown)


def look(session: Session) -> Shown:
    """Read the record anew, and say what there is to show of it now."""
    with Session(session.path, session.clock) as fresh:
        register, now = fresh.register, fresh.now
        batches = read_batches(fresh.record, open_codes(fresh.record))
        rows = board(matters(fresh.record, register, now), batches, register, now)
        words = [headline(row, fresh) for row in rows]
        troubles, fresh.record.troubles = fresh.record.troubles, []
        return Shown(
            kitchen=register.kitchen.name,
            at=now,
            zone=register.zone,
            rows=tuple(
                (row.group, left(row, fresh), told) for row, told in zip(rows, words, strict=True)
            ),
            most_urgent=_most_urgent(rows, words, now),
            asking=frozenset(_asking(rows, now)),
            trouble=" ".join(troubles),
        )


def _look_again(session: Session, last: Shown) -> Shown:
    """Look; where the record is busy or away, show what was seen, and say that it is older."""
    try:
        return look(session)
    except (Refused, OSError) as error:
        why = str(error) if isinstance(error, Refused) else error.strerror or str(error)
        trouble = phrase(
            "THE RECORD CANNOT BE READ: what stands here was so at {time}. {why}",
            time=clock(last.at, last.zone),
            why=why,
        )
        return replace(last, trouble=trouble)


def _is_worse(shown: Shown, before: Shown | None) -> bool:
    """Whether something became due or turned bad, or the record went away."""
    if before is None:
        return False
    return bool(shown.asking - before.asking) or bool(shown.trouble and not before.trouble)


def _asking(rows: Iterable[Row], now: datetime) -> Iterator[tuple[str, str]]:
    """Name what asks for something now: what is bad, and what of the rest is due."""
    for row in rows:
        name, finding = row.thermometer or row.matters[0].name, row.matters[0].finding
        if finding and finding.verdict.is_deviation:
            yield name, finding.verdict
        elif row.due is None or row.due <= now:
            yield name, row.group


def _most_urgent(
    rows: Sequence[Row], words: Sequence[str], now: datetime
) -> tuple[str, str] | None:
    """Give the time left, in hours and minutes, and the words of the first row that has a time.

    What is over for more than a day is no longer a matter of minutes.
    """
    for row, told in zip(rows, words, strict=True):
        if row.group is Group.DECIDE or row.is_set_apart:
            continue
        if row.due and now - row.due < timedelta(days=1):
            hours, minutes = divmod(abs(row.due - now) // timedelta(minutes=1), 60)
            return f"{'-' if row.due < now else ''}{hours}:{minutes:02}", told
    return None


def _fill_screen(shown: Shown, _: Shown | None, *, ring: bool) -> None:
    height = shutil.get_terminal_size().lines
    terminal.page(screen(shown, terminal.width(), height), ring=ring)


def screen(shown: Shown, columns: int, height: int) -> list[str]:
    """Lay out a page: the time left of what is most urgent in large figures, then a line a row."""

    def fitted(words: str, room: int = columns) -> str:
        return shortened(words, room)

    at = f"{short_day(shown.at.astimezone(shown.zone).date())} {clock(shown.at, shown.zone)}"
    kitchen = fitted(shown.kitchen, columns - len(at) - 2)
    lines = [f"{padded(kitchen, columns - len(at))}{at}"]
    if shown.trouble:
        lines.append(fitted(shown.trouble))
    if shown.most_urgent:
        time_left, words = shown.most_urgent
        lines += ["", *terminal.figures(time_left), fitted(words)]
    if not shown.rows:
        return [*lines, "", nothing()]
    beside = max(_TIME_LEFT, *(len(time_left) for _, time_left, _ in shown.rows))
    narrow = partial(fitted, room=columns - beside - 3)
    rows = [line for group in Group for line in _under(group, shown, beside, narrow)]
    room = max(height - len(lines) - 1, _FEWEST)
    if len(rows) > room:
        hidden = sum(line.startswith(" ") for line in rows[room - 1 :])
        more = counted("{count} more row: haccp due", "{count} more rows: haccp due", hidden)
        rows = [*rows[: room - 1], more]
    return lines + rows


def _under(group: Group, shown: Shown, beside: int, fitted: Callable[[str], str]) -> Iterator[str]:
    """Give a group's head and rows, where it has any, `beside` so many columns of time left."""
    mine = [(time_left, words) for of, time_left, words in shown.rows if of is group]
    if mine:
        yield ""
        yield head(group, len(mine))
    for time_left, words in mine:
        yield f" {time_left:>{beside}}  {fitted(words)}"


def _tell_changes(shown: Shown, before: Shown | None, *, ring: bool) -> None:
    """Tell line by line what is new since the last look, and what is no more."""

    def told(one: Shown) -> list[str]:
        rows = [f"{headed(group)}: {words}" for group, _, words in one.rows]
        return [one.trouble, *rows] if one.trouble else rows

    now, then = told(shown), told(before) if before else []
    news = [line for line in now if line not in then]
    news += [phrase("No more: {row}", row=line) for line in then if line not in now]
    if before is None and not now:
        news = [nothing()]
    at = clock(shown.at, shown.zone)
    terminal.lines(*(f"{at}  {line}" for line in news), ring=ring)
