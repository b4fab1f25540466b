"""`haccp review`: a manager's look, once a day or a week: decide, sign, what comes again."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil
from typing import Any

import click

from haccp.cli import terminal
from haccp.cli.covered import covered
from haccp.cli.review_walk import Passed, walk_decisions, walk_signatures
from haccp.cli.session import Session, by_option
from haccp.cli.to_decide import ToDecide, to_decide
from haccp.kitchen.register import read_register
from haccp.kitchen.review import Review, walked
from haccp.kitchen.review import review as reviewed
from haccp.kitchen.unusual import unusual
from haccp.language import counted, message, phrase
from haccp.record.store import Record
from haccp.rules.unusual_in_words import told
from haccp.time import day_and_clock, day_starts, short_day

# What a terminal shows at once [lines]; a heading's part is one screen, with an empty line below.
_SCREEN = 24
_INDENT = "  "
# So many days back are looked at for signatures and for what comes again.
_DAYS = 28
# The days of the last week say what a signature covers; of those before it, which they are.
_WEEK = 7


@dataclass(frozen=True, slots=True)
class Unsigned:
    """A day that is over and not signed: what a signature under it would cover, in sentences.

    Signed with something unsettled, it asks for a note.
    """

    day: date
    covers: tuple[str, ...] = ()
    is_unsettled: bool = False

    @property
    def command(self) -> str:
        return f"haccp sign-day {self.day}" + (' --note "..."' if self.is_unsettled else "")


@click.command()
@click.option("--json", "json_", is_flag=True, help="Print JSON.")
@by_option
@click.pass_context
def review(ctx: click.Context, json_: bool, by: str | None) -> None:
    """Decide, sign, and see what comes again: a manager's look, once a day or once a week.

    At a terminal it asks of one after the other; what is passed by stays undecided.
    """
    session: Session = ctx.obj
    if json_:
        terminal.as_json(_plain(session))
        return
    asks = terminal.is_answered() and session.is_typed_into
    person = session.by(by) if asks else None
    session.tell_troubles()
    when = day_and_clock(session.now, session.now, session.register.zone)
    terminal.lines(f"{session.register.kitchen.name}, {when}")
    items, saved = to_decide(session)
    _tell_decisions(items, saved, session)
    passed = Passed()
    if person and items:
        walk_decisions(ctx, items, by, passed)
        session.anew()
    days = _unsigned(session)
    _tell_signatures(days)
    if person and person.role == "manager" and days:
        walk_signatures(ctx, [one.day for one in days], by, passed)
        session.anew()
    _tell_patterns(session)


def _tell_decisions(items: Sequence[ToDecide], saved: int, session: Session) -> None:
    terminal.lines("")
    if saved:
        terminal.lines(
            counted(
                "{count} can still be saved, and comes first: haccp due",
                "{count} can still be saved, and come first: haccp due",
                saved,
            )
        )
    if not items:
        terminal.lines(phrase("DECIDE: nothing waits for a decision."))
        return
    told = [
        [*terminal.rows_of(one.words(session), _INDENT), f"{_INDENT}{one.command(session)}"]
        for one in items
    ]
    _tell(
        phrase("DECIDE ({count})", count=len(items)), told, message("and {count} more: haccp due")
    )


def _tell_signatures(days: Sequence[Unsigned]) -> None:
    terminal.lines("")
    if not days:
        terminal.lines(phrase("SIGN: every day of the last four weeks is signed."))
        return
    told = [_day_in_lines(one) for one in days]
    more = message("and {count} more: haccp sign-day DAY")
    _tell(phrase("SIGN ({count})", count=len(days)), told, more)


def _day_in_lines(one: Unsigned) -> list[str]:
    words = phrase("{day}: {sentences}", day=short_day(one.day), sentences=" ".join(one.covers))
    return [*terminal.rows_of(words, _INDENT), f"{_INDENT}{one.command}"]


def _tell_patterns(session: Session) -> None:
    found = [words for _, words in [*_patterns(session), *_unusual(session)]]
    terminal.lines("")
    if not found:
        terminal.lines(phrase("PATTERNS: nothing stands out in the last four weeks."))
        return
    told = [terminal.rows_of(words, _INDENT) for words in found]
    more = message("and {count} more: haccp trends, haccp record unusual")
    _tell(phrase("PATTERNS ({count})", count=len(found)), told, more)


def _tell(head: str, items: Sequence[Sequence[str]], more: str) -> None:
    """Print a heading and as many items as one screen holds; of the rest how many there are."""
    # the kitchen's line, the empty ones around a heading, the heading and what is said of the rest
    room = _SCREEN - 5
    shown = 0
    for item in items:
        # a line to be copied stays whole: a terminal breaks it
        room -= sum(ceil(len(line) / terminal.width()) for line in item)
        if room < 0:
            break
        shown += 1
    shown = max(shown, 1)
    terminal.lines(head, bold=True)
    for item in items[:shown]:
        terminal.lines(*item)
    if left := len(items) - shown:
        terminal.lines(phrase(more, count=left))


def _unsigned(session: Session) -> list[Unsigned]:
    """List the days that are over and not signed, the newest first, since the kitchen began."""
    register, now = session.register, session.now
    today = now.astimezone(register.zone).date()
    began = register.settings[0].at.astimezone(register.zone).date()
    days = [today - timedelta(days=n) for n in range(1, _DAYS + 1)]
    left = [day for day in days if day >= began and register.signed(day) is None]
    return [*(_unsigned_day(day, session) for day in left[:_WEEK]), *map(Unsigned, left[_WEEK:])]


def _unsigned_day(day: date, session: Session) -> Unsigned:
    record = walked(session.record, day, day, session.register.zone)
    found = reviewed(record, read_register(record), day, day, session.now)
    covers = tuple(_covers(day, record, found, session))
    return Unsigned(day, covers, is_unsettled=bool(found.undecided or found.open))


def _covers(day: date, record: Record, found: Review, session: Session) -> Iterator[str]:
    register, zone = session.register, session.register.zone
    closure = register.declared_closed(day)
    if closure:
        yield phrase("Declared closed: {reason}.", reason=closure.body.reason)
    if not record.during(day_starts(day, zone), day_starts(day + timedelta(days=1), zone)):
        yield phrase("No entries.")
    yield from covered(record, found, register, day, session.now)


def _patterns(session: Session) -> list[tuple[dict[str, Any], str]]:
    # pandas is imported when it runs
    from haccp.cli.pattern_words import in_words
    from haccp.kitchen.patterns import patterns
    from haccp.kitchen.trends import observed

    register, now = session.register, session.now
    since = now - timedelta(days=_DAYS)
    found = patterns(observed(session.record, register, since, now, now))
    return [
        (
            {
                "by": one.by,
                "names": one.names,
                "not_met": one.counts.bad,
                "count": one.counts.of,
                "bounds": one.counts.bounds,
            },
            in_words(one, register),
        )
        for one in found
    ]


def _unusual(session: Session) -> list[tuple[dict[str, Any], str]]:
    register = session.register
    last = session.now.astimezone(register.zone).date()
    first = last - timedelta(days=_WEEK - 1)
    return [
        ({"kind": one.kind, "entries": one.refs}, told(one))
        for one in unusual(session.record, register, first, last)
    ]


def _plain(session: Session) -> dict[str, Any]:
    items, saved = to_decide(session)
    session.tell_troubles(err=True)
    return {
        "can_be_saved": saved,
        "decide": [
            {
                "names": one.names,
                "is_there": one.is_there,
                "words": one.words(session),
                "acts": one.acts,
                "command": one.command(session),
            }
            for one in items
        ],
        "sign": [
            {"day": one.day.isoformat(), "covers": one.covers, "command": one.command}
            for one in _unsigned(session)
        ],
        "patterns": [{**plain, "words": words} for plain, words in _patterns(session)],
        "unusual": [{**plain, "words": words} for plain, words in _unusual(session)],
    }
