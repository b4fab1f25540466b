"""`haccp district`: for an officer who looks after many kitchens of a server."""

import re
from collections.abc import Sequence
from dataclasses import asdict
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

import click

from haccp.cli import terminal
from haccp.cli.session import Session
from haccp.errors import Refused
from haccp.language import counted, message, phrase
from haccp.phrases import ranging
from haccp.record.places import Server
from haccp.rules.evidence import Verdict
from haccp.rules.words import called
from haccp.time import moment_or_none, spell, stored

# what it reads by is imported when it runs
if TYPE_CHECKING:
    from haccp.kitchen.district import Kitchen, Overview, Share

_MONTH = re.compile(r"\d{4}-(0[1-9]|1[0-2])")
# How many kitchens, foods and methods are told of; JSON has all.
_WORST = 5
_DAYS = timedelta(hours=48)
_NOT_SHOWN = {
    "entered since": message("no. {judged} of {entries} is the last that was judged, {ago}"),
    "due since": message("judged {ago}; something has fallen due since"),
    "not judged": message("not judged yet"),
    "another chain": message("what was judged is not in its chain: its record was changed"),
    "no entry": message("no entry yet"),
    "unreadable": message("the moment of its last entry cannot be read"),
}
_QUIET = {
    "stopped logging": message("the last entry {ago}"),
    "clock ahead": message("the last entry is of {moment}, later than now: its clock is ahead"),
}


@click.command()
@click.argument("first", required=False, metavar="[MONTH]")
@click.argument("last", required=False, metavar="[LAST_MONTH]")
@click.option(
    "--silent",
    type=click.IntRange(1, 365),
    metavar="DAYS",
    help="Name the kitchens that entered nothing for so many days; else by their opening hours.",
)
@click.option("--json", "json_", is_flag=True, help="Print JSON.")
@click.pass_obj
def district(
    session: Session, first: str | None, last: str | None, silent: int | None, json_: bool
) -> None:
    """Look at all kitchens of a district: deviations, coolings, who stopped logging.

    Type it with --db and the URL of the district's officer. Without months: the coolings of this
    month and the one before. It tells what haccp server judge found, and of which kitchens that
    reaches to their last entry: of the others it is not shown how they stand.

    haccp --db URL district 2026-01 2026-12
    """
    if not isinstance(session.path, Server):
        raise Refused(
            phrase(
                "A district is on a server: type haccp --db postgresql+psycopg://NAME@HOST/"
                "DATABASE district, with the account of its officer."
            )
        )
    months = _months(first, last, session.now)
    from haccp.kitchen.district import overview
    from haccp.record.district import open_district

    with open_district(session.path) as there:
        found = overview(there, months, session.now, timedelta(days=silent) if silent else None)
    if json_:
        terminal.as_json(_plain(found, months, session.now))
        return
    _print(found, months, session.now)


def _months(first: str | None, last: str | None, now: datetime) -> tuple[str, str]:
    if first is None:
        before = now.replace(day=1) - timedelta(days=1)
        return f"{before:%Y-%m}", f"{now:%Y-%m}"
    last = last or first
    for text in (first, last):
        if not _MONTH.fullmatch(text):
            raise Refused(phrase("{text} is no month: type it such as 2026-10.", text=repr(text)))
    if last < first:
        raise Refused(
            phrase(
                "{last} comes before {first}: type the first month first.", last=last, first=first
            )
        )
    return first, last


def _print(found: "Overview", months: tuple[str, str], now: datetime) -> None:
    there = found.kitchens
    shown = [one for one in there if one.state == "shown"]
    terminal.lines(
        counted(
            "{district}, {count} kitchen; {shown} judged up to the last entry",
            "{district}, {count} kitchens; {shown} judged up to the last entry",
            len(there),
            district=found.name,
            shown=len(shown),
        )
    )
    _headed(phrase("NOT SHOWN"), [_why_not(one, now) for one in there if one.state != "shown"])
    rows = [
        (
            kitchen.name,
            one.subject,
            _verdict(one.verdict),
            f"{one.citation} {one.limit_name}".strip(),
            _since(one.since, now),
        )
        for kitchen, one in found.undecided
    ]
    heads = (phrase("kitchen"), phrase("what"), phrase("verdict"), phrase("limit"), phrase("known"))
    _headed(phrase("TO DECIDE"), rows, heads)
    _print_coolings(found, months)
    quiet = [(one.name, _why_quiet(one, now)) for one in there if one.quiet]
    _headed(phrase("NOTHING LOGGED"), quiet)


def _headed(head: str, rows: Sequence[Sequence[str]], heads: Sequence[str] = ("", "")) -> None:
    terminal.lines("", f"{head} ({len(rows)})", bold=True)
    if rows:
        terminal.table(heads, rows)


def _print_coolings(found: "Overview", months: tuple[str, str]) -> None:
    coolings = found.coolings
    head = phrase("COOLINGS, {months}", months=ranging(*months))
    terminal.lines("", head, bold=True)
    terminal.lines(
        phrase(
            "{met} of {count} met, {not_met} not met {bounds}, {not_shown} not shown",
            met=coolings.all.met,
            count=coolings.all.count,
            not_met=coolings.all.not_met,
            bounds=_bounds(coolings.all),
            not_shown=coolings.all.not_shown,
        )
    )
    for head, ones in (
        (phrase("the worst kitchens"), coolings.kitchen),
        (phrase("the worst foods"), coolings.food),
        (phrase("the worst methods"), coolings.method),
    ):
        rows = [_row(one) for one in ones if one.not_met or one.not_shown][:_WORST]
        if rows:
            terminal.lines("")
            terminal.table((head, phrase("not met"), "", phrase("not shown")), rows)


def _row(one: "Share") -> tuple[str, str, str, str]:
    name = one.name or phrase("not said")
    of = phrase("{bad} of {count}", bad=one.not_met, count=one.count)
    return name, of, _bounds(one), str(one.not_shown)


def _bounds(one: "Share") -> str:
    return f"({one.low:.1%}-{one.high:.1%})"


def _why_not(one: "Kitchen", now: datetime) -> tuple[str, str]:
    seen = one.seen
    words = phrase(
        _NOT_SHOWN[one.state],
        judged=seen.judged,
        entries=seen.entries,
        ago=_ago(one.judged_at, now),
    )
    return one.name, words


def _why_quiet(one: "Kitchen", now: datetime) -> str:
    assert one.quiet  # only these are asked about
    return phrase(
        _QUIET[one.quiet], ago=_ago(one.last_entered_at, now), moment=one.seen.last_entered_at
    )


def _verdict(text: str) -> str:
    return called(Verdict(text)) if text in list(Verdict) else text


def _since(text: str | None, now: datetime) -> str:
    return _ago(moment_or_none(text), now)


def _ago(moment: datetime | None, now: datetime) -> str:
    """Say how long ago something was: the kitchens of a district may have many zones."""
    if moment is None:
        return ""
    passed = max(now - moment, timedelta(0))
    if passed >= _DAYS:
        return counted("{count} day ago", "{count} days ago", passed.days)
    return phrase("{time} ago", time=spell(passed))


def _plain(found: "Overview", months: tuple[str, str], now: datetime) -> dict[str, Any]:
    """Give it for programs: in English, moments in UTC."""
    undecided = [kitchen.name for kitchen, _ in found.undecided]
    return {
        "district": found.name,
        "asked_at": stored(now),
        "kitchens": [
            {
                **one.seen._asdict(),
                "state": one.state,
                "quiet": one.quiet,
                # of what is not shown nobody knows how many there are
                "undecided": undecided.count(one.name) if one.state == "shown" else None,
            }
            for one in found.kitchens
        ],
        "undecided": [
            {"kitchen": kitchen.name, **one._asdict()} for kitchen, one in found.undecided
        ],
        "coolings": {"months": list(months), **asdict(found.coolings)},
    }
