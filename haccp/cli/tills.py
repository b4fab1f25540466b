"""`haccp record tills`: one view of the tills of a kitchen that keep a record each."""

import re
from collections.abc import Mapping, Sequence
from contextlib import closing
from pathlib import Path
from textwrap import wrap
from typing import Any

import click

from haccp.cli import terminal
from haccp.cli.outputs import refuse_place
from haccp.cli.session import Session
from haccp.errors import Refused
from haccp.language import counted, phrase
from haccp.phrases import any_of
from haccp.record import tills as known
from haccp.record.places import Place, Server, file_of, place_named
from haccp.record.store import Record, open_record
from haccp.record.view import make
from haccp.time import day_and_clock

# It ends the names of batches and units that are kept apart, and those have only such signs.
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,23}")
_LINE = "haccp record tills VIEW NAME=PLACE NAME=PLACE"


@click.command("tills")
@click.argument("view", required=False, type=click.Path(dir_okay=False, path_type=Path))
@click.argument("tills", nargs=-1, metavar="[NAME=PLACE]...")
@click.option("--own", metavar="NAME", help="The till that types into this view.")
@click.option("--anew", is_flag=True, help="Make the view again from what its tills hold now.")
@click.option("--json", "json_", is_flag=True, help="Print JSON.")
@click.pass_obj
def tills_(
    session: Session,
    view: Path | None,
    tills: Sequence[str],
    own: str | None,
    *,
    anew: bool,
    json_: bool,
) -> None:
    """Show the tills of one kitchen, each with a record of its own, as one: in the new file VIEW.

    PLACE is a till's file, or its URL on a server. All that is read with --db VIEW is read of all
    tills, as far as they are by then. It is typed at the tills; or here, with --own, which enters
    it into that till's record and judges it by all. Without a till: which there are, how far each
    is shown, and what they do not say alike.

    haccp record tills both.sqlite3 cook-line=line.sqlite3 cold-kitchen=cold.sqlite3
    """
    if tills:
        if view is None or anew:
            raise Refused(phrase("Type the new file, then each till: {line}", line=_LINE))
        _make(session, view, _places(tills, view), own or "")
        return
    if own:
        raise Refused(
            phrase("Type the new file, then each till: {line}", line=f"{_LINE} --own {own}")
        )
    if view is not None:
        session.path = view
    if anew:
        _make_anew(session)
        return
    _list(session, json_=json_)


def _places(typed: Sequence[str], view: Path) -> dict[str, Place]:
    """Take tills as they were typed, each once."""
    found: dict[str, Place] = {}
    for one in typed:
        name, equals, text = one.partition("=")
        if not (equals and text and _NAME.fullmatch(name)):
            raise Refused(
                phrase(
                    "{typed} names no till: type NAME=PLACE, the name of letters, digits, - and _: "
                    "cold-kitchen=cold.sqlite3",
                    typed=repr(one),
                )
            )
        place = place_named(text)
        if isinstance(place, Server) and place.has_password:
            raise Refused(
                phrase(
                    "A view keeps no password: type {place}, with the password in the file that "
                    "PGPASSFILE names.",
                    place=place,
                )
            )
        if any(name.casefold() == other.casefold() for other in found):
            raise Refused(phrase("Two tills are called {name}: name them apart.", name=name))
        if not isinstance(place, Server) and place.resolve() == view.resolve():
            raise Refused(phrase("{path} is to be the view: name its tills.", path=view))
        found[name] = place
    if len(found) < 2:
        raise Refused(phrase("One till needs no view: {line}", line=_LINE))
    return found


def _make(session: Session, view: Path, tills: Mapping[str, Place], own: str) -> None:
    if own and own not in tills:
        names = any_of(list(tills))
        raise Refused(
            phrase("There is no till {own}: type --own {names}.", own=repr(own), names=names)
        )
    if view.exists():
        raise Refused(phrase("{path} exists already: name another file.", path=view))
    refuse_place(view, [*tills.values()])
    make(view, tills, session.now, own)
    session.path = view
    _list(session, json_=False)


def _make_anew(session: Session) -> None:
    """Make a view again in the place of one that stays beside it under another name."""
    view = file_of(session.path)
    with closing(open_record(view, create=False)) as record:
        known_ones = _tills_of(record)
    tills = {one.name: one.place for one in known_ones}
    own = next((one.name for one in known_ones if one.is_own), "")
    fresh = view.with_name(f"{view.name}.anew")
    kept = view.with_name(f"{view.name}.replaced-{session.now:%Y%m%dT%H%M%SZ}")
    for path in (fresh, kept):
        if path.exists():
            raise Refused(phrase("{path} exists already: move it away first.", path=path))
    make(fresh, tills, session.now, own)
    try:
        kept.hardlink_to(view)  # under one name or the other it is there at every moment
        fresh.replace(view)
    finally:
        fresh.unlink(missing_ok=True)
    terminal.say(phrase("What was there is kept in {kept}.", kept=kept))
    _list(session, json_=False)


def _tills_of(record: Record) -> list[known.Till]:
    tills = known.tills_of(record)
    if not tills:
        raise Refused(
            phrase(
                "{path} is no view of tills: make one with {line}", path=record.place, line=_LINE
            )
        )
    return tills


def _list(session: Session, *, json_: bool) -> None:
    """Say how far each till is shown, and what they do not say alike."""
    tills = _tills_of(session.record)
    differing = known.disagreements_of(session.record)
    if json_:
        terminal.as_json(
            {
                "tills": [_plain(one) for one in tills],
                "differing": [one.words for one in differing],
            }
        )
        return
    session.tell_troubles()
    for one in tills:
        when = day_and_clock(one.seen_at, session.now, session.register.zone)
        terminal.say(
            phrase(
                "{till} ({place}) is shown up to no. {number} {digest}, seen until {time}.",
                till=one.name,
                place=one.place,
                number=one.number,
                digest=" ".join(wrap(one.digest[:16], 8)),
                time=when,
            )
        )
    for other in differing:
        terminal.say(other.words)
    terminal.say(
        counted(
            "{count} entry is shown: haccp --db {view} and what is to be read.",
            "{count} entries are shown: haccp --db {view} and what is to be read.",
            session.record.head()[0],
            view=session.path,
        )
    )


def _plain(one: known.Till) -> dict[str, Any]:
    return {
        "name": one.name,
        "place": str(one.place),
        "entries": one.number,
        "digest": one.digest,
        "seen_until": one.seen_at.isoformat(),
        "why_not_later": one.why or None,
    }
