"""`haccp district`: for an officer who looks after many kitchens of a server."""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextvars import copy_context
from dataclasses import asdict
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from haccp.cli import terminal
from haccp.cli.server import ServerUrl
from haccp.cli.session import Session
from haccp.errors import Refused
from haccp.language import counted, message, phrase
from haccp.phrases import ranging
from haccp.record.places import SCHEME, Server
from haccp.rules.evidence import Verdict
from haccp.rules.words import called
from haccp.time import moment_or_none, spell, stored

# what it reads by is imported when it runs
if TYPE_CHECKING:
    from haccp.kitchen.district import Asked, Kitchen, Overview, Share

_MONTH = re.compile(r"\d{4}-(0[1-9]|1[0-2])")
# How many kitchens, foods and methods are told of; JSON has all.
_WORST = 5
_DAYS = timedelta(hours=48)
# So many servers are asked at once.
_AT_ONCE = 32
_NOT_SHOWN = {
    "entered since": message("no. {judged} of {entries} is the last that was judged, {ago}"),
    "due since": message("judged {ago}; something has fallen due since"),
    "not judged": message("not judged yet"),
    "another chain": message("what was judged is not in its chain: its record was changed"),
    "no entry": message("no entry yet"),
    "unreadable": message("the moment of its last entry cannot be read"),
    "could not be judged": message("it could not be judged: who runs the server was told why"),
    "parted since": message("a branch was kept beside its chain after it was judged, {ago}"),
    "server not reached": message("{server} was not reached"),
    "not there": message("{server} has no kitchen of that name, where the directory has it"),
}
_QUIET = {
    "stopped logging": message("the last entry {ago}"),
    "clock ahead": message("the last entry is of {moment}, later than now: its clock is ahead"),
}
_TROUBLES = {
    "rewritten": message(
        "no. {seq} is not what it was when it was judged or signed for: its record was rewritten, "
        "found {ago}"
    ),
    "refused": message("it could not be judged, first {ago}: ask its haccp record verify"),
    "clock behind": message(
        "entries up to no. {seq} came later than they are dated: its clock is behind, or was put "
        "back"
    ),
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
@click.option(
    "--server",
    "servers",
    type=ServerUrl(),
    multiple=True,
    metavar="URL",
    help="Another server of the district, by its officer's account there; may be repeated.",
)
@click.option(
    "--directory",
    type=click.Path(dir_okay=False, path_type=Path),
    help="A file (TOML) that says on which server each kitchen is.",
)
@click.option("--json", "json_", is_flag=True, help="Print JSON.")
@click.pass_obj
def district(
    session: Session,
    first: str | None,
    last: str | None,
    silent: int | None,
    servers: tuple[Server, ...],
    directory: Path | None,
    json_: bool,
) -> None:
    """Look at all kitchens of a district: deviations, coolings, who stopped logging.

    Type it with --db and the URL of the district's officer. Without months: the coolings of this
    month and the one before. It tells what haccp server judge found, and of which kitchens that
    reaches to their last entry: of the others it is not shown how they stand.

    haccp --db URL district 2026-01 2026-12
    """
    homes = read_directory(directory) if directory else {}
    mine = [session.path] if isinstance(session.path, Server) else []
    # a directory holds no password: who is named beside it, counts
    places = {one.known_as: one for one in (*homes.values(), *servers, *mine)}
    if not places:
        raise Refused(
            phrase(
                "A district is on a server: type haccp --db postgresql+psycopg://NAME@HOST/"
                "DATABASE district, with the account of its officer."
            )
        )
    months, now = _months(first, last, session.now), session.now
    from haccp.kitchen.district import overview

    home_of = {name: server.known_as for name, server in homes.items()}
    asked = _ask(list(places.values()), months, home_of)
    found = overview(asked, now, timedelta(days=silent) if silent else None, home_of)
    if json_:
        terminal.as_json(_plain(found, months, now))
    else:
        _print(found, months, now)
    if found.not_reached:
        raise Refused(
            counted(
                "{count} server was not reached: how its kitchens stand is not shown.",
                "{count} servers were not reached: how their kitchens stand is not shown.",
                len(found.not_reached),
            )
        )


def _ask(
    servers: Sequence[Server], months: tuple[str, str], home_of: Mapping[str, str]
) -> list["Asked"]:
    """Ask all servers at once; one that tells nothing keeps no other from it.

    A single one that tells nothing is refused: there is no view of anything.
    """
    from haccp.kitchen.district import Asked
    from haccp.record.district import facts_of

    def one(server: Server) -> Asked:
        elsewhere = [name for name, home in home_of.items() if home != server.known_as]
        return Asked(server.known_as, facts_of(server, months, elsewhere))

    if len(servers) == 1:
        return [one(servers[0])]

    def one_of_many(server: Server) -> Asked:
        try:
            return one(server)
        except Refused as why:
            return Asked(server.known_as, why_not=str(why))

    # each in the reader's language, which a thread has not by itself
    with ThreadPoolExecutor(min(len(servers), _AT_ONCE)) as pool:
        waiting = [pool.submit(copy_context().run, one_of_many, server) for server in servers]
        return [each.result() for each in waiting]


def read_directory(path: Path) -> dict[str, Server]:
    """Read which kitchen is on which server: a line each, its name and its officer's URL.

    Raises Refused for a file that is none, and for a password in it.
    """
    import tomllib

    try:
        named = tomllib.loads(path.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise Refused(phrase("{file} is no directory: {why}.", file=path, why=error)) from None
    line = '"Alder School" = "postgresql+psycopg://NAME@HOST/DATABASE"'
    found = {}
    for name, url in named.items():
        if not isinstance(url, str) or not url.startswith(SCHEME):
            words = message("{file} names no server for {kitchen}: type a line such as {line}")
            raise Refused(phrase(words, file=path, kitchen=repr(name), line=line))
        found[name] = Server(url)
        if found[name].known_as != url:
            words = message(
                "{file} holds a password, for {kitchen}: take it out, it stands in the file that "
                "PGPASSFILE names."
            )
            raise Refused(phrase(words, file=path, kitchen=repr(name)))
    if not found:
        raise Refused(
            phrase("{file} names no kitchen: type a line such as {line}", file=path, line=line)
        )
    return found


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
            _subject(one.subject),
            _verdict(one.verdict),
            f"{one.citation} {one.limit_name}".strip(),
            _since(one.since, now),
        )
        for kitchen, one in found.undecided
    ]
    heads = (phrase("kitchen"), phrase("what"), phrase("verdict"), phrase("limit"), phrase("known"))
    _headed(phrase("TO DECIDE"), list(_once_each(rows)), heads)
    _print_coolings(found, months)
    quiet = [(one.name, _why_quiet(one, now)) for one in there if one.quiet]
    _headed(phrase("NOTHING LOGGED"), quiet)
    _print_troubles(found, now)


def _print_troubles(found: "Overview", now: datetime) -> None:
    """Tell what is wrong with records and servers; nothing where nothing is."""
    wrong = [
        (one.name, phrase(_TROUBLES[each.kind], seq=each.seq, ago=_since(each.found_at, now)))
        for one in found.kitchens
        for each in one.troubles
    ]
    wrong += [
        (
            name,
            phrase("{server} has it too, where the directory has it not: left out", server=server),
        )
        for name, server in found.elsewhere
    ]
    if wrong:
        _headed(phrase("RECORDS TO LOOK AT"), wrong)
    retired = [
        (one.name, _since(one.seen.retired_at, now))
        for one in found.kitchens
        if one.seen and one.seen.retired_at
    ]
    if retired:
        _headed(phrase("RETIRED"), retired)
    if found.not_reached:
        _headed(
            phrase("SERVERS NOT REACHED"), [(one.server, one.why_not) for one in found.not_reached]
        )


def _subject(text: str) -> str:
    """Name what is undecided: a batch or unit as it is, a branch in the reader's language."""
    word, _, name = text.partition(" ")
    return phrase("branch {name}", name=name) if word == "branch" and name else text


def _once_each(rows: Iterable[tuple[str, ...]]) -> Iterator[tuple[str, ...]]:
    """Tell what is alike once, by the oldest, and how many more: a logger may show a hundred."""
    alike: dict[tuple[str, ...], list[str]] = {}
    for *what, known in rows:
        alike.setdefault(tuple(what), []).append(known)
    for told, each in alike.items():
        more = len(each) - 1
        first = (
            counted("{known}, {count} more", "{known}, {count} more", more, known=each[0])
            if more
            else each[0]
        )
        yield (*told, first)


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
    words = phrase(
        _NOT_SHOWN[one.state],
        judged=one.seen.judged if one.seen else "",
        entries=one.seen.entries if one.seen else "",
        ago=_ago(one.judged_at, now),
        server=one.server,
    )
    return one.name, words


def _why_quiet(one: "Kitchen", now: datetime) -> str:
    assert one.quiet and one.seen  # only these are asked about
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
    from haccp.record.district import Seen

    undecided = [kitchen.name for kitchen, _ in found.undecided]
    return {
        "district": found.name,
        "asked_at": stored(now),
        "kitchens": [
            {
                **(one.seen._asdict() if one.seen else dict.fromkeys(Seen._fields)),
                "name": one.name,
                "server": one.server,
                "state": one.state,
                "quiet": one.quiet,
                "troubles": [each._asdict() for each in one.troubles],
                # of what is not shown nobody knows how many there are
                "undecided": undecided.count(one.name) if one.state == "shown" else None,
            }
            for one in found.kitchens
        ],
        "undecided": [
            {"kitchen": kitchen.name, **one._asdict()} for kitchen, one in found.undecided
        ],
        "coolings": {"months": list(months), **asdict(found.coolings)},
        "not_reached": [{"server": one.server, "why": one.why_not} for one in found.not_reached],
        "elsewhere": [{"kitchen": name, "server": server} for name, server in found.elsewhere],
    }
