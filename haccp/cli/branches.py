"""`haccp record branches` and `haccp go-on`: what parted from the record, and who went on."""

from collections.abc import Iterable
from contextlib import closing
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import click

from haccp.cli import terminal
from haccp.cli.outputs import clear_partials, refuse_place
from haccp.cli.session import Session, by_option, given
from haccp.errors import Refused
from haccp.kitchen.branch_words import branch_in_words, how_to_go_on, some_of
from haccp.language import counted, message, phrase
from haccp.record import backup as copies
from haccp.record import branches as beside
from haccp.record.bodies_of_record import ForkDecided, PinSet
from haccp.record.branches import Branch
from haccp.record.entries import Draft, entry_from
from haccp.record.pins import await_pins
from haccp.record.store import open_record
from haccp.time import day_and_clock, stored

_NONE = message("No branch is kept beside this record.")
_WHICH = message("{text} is no branch beside this record, or several: type one of {names}.")


@click.command()
@click.argument("head", default="", metavar="[BRANCH]")
@click.option(
    "--output",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Write it to this file, as a record of its own, which every command reads.",
)
@click.option("--json", "json_", is_flag=True, help="Print JSON.")
@click.pass_obj
def branches(session: Session, head: str, output: Path | None, json_: bool) -> None:
    """List what parted from the record and is kept beside it, and who decided about it.

    With --output a branch is a record in a file of its own: what the chain held up to where it
    parted, and its entries. Its papers say on every page that they are of a branch.

    haccp record branches 9e90c6a2f11b --output branch.sqlite3
    """
    found = [_called(session, head)] if head else list(session.register.branches)
    if output:
        if not head:
            raise Refused(phrase("Say which: haccp record branches BRANCH --output FILE"))
        _write(session, found[0], output)
    elif json_:
        terminal.as_json([_plain(one) for one in found])
    else:
        for one in found:
            terminal.paragraph(_told(one, session))
        if not found:
            terminal.say(phrase(_NONE))


@click.command("go-on")
@click.argument("head", metavar="BRANCH")
@click.argument("reason", required=False, metavar="REASON")
@by_option
@click.pass_obj
def go_on(session: Session, head: str, reason: str | None, by: str | None) -> None:
    """Go on without a branch that is kept beside the record (a manager).

    It stays beside it, whole; nothing of it becomes part of the record. Look at it first: haccp
    record branches. Food in it that is not shown is decided by itself.

    haccp go-on 9e90c6a2f11b "a copy of Monday was typed into by mistake"
    """
    one = _called(session, head)
    reason = given(reason, f'haccp go-on {one.name} "..." --by AR')
    if one.is_own:
        raise Refused(how_to_go_on(one))
    if one.decided:
        decided = message("{person} decided about {branch} already: no. {number}.")
        entry = one.decided
        raise Refused(phrase(decided, person=entry.person, branch=one.name, number=entry.seq))
    person = session.manager(by)
    body = ForkDecided(
        server=one.server, after=one.after, entries=one.entries, head=one.head, reason=reason
    )
    draft = partial(Draft, at=session.now, person=person.initials)
    notes = [] if one.noted else [draft(body=beside.note_of(one, session.record))]
    session.append(*notes, draft(body=body), as_seen=True)
    terminal.say(
        phrase(
            "The record goes on without {branch}, which stays beside it. What of its food is not "
            "shown is decided by itself: haccp due",
            branch=one.name,
        )
    )
    tell_only_there(session, one.about)


def tell_only_there(session: Session, about: Iterable[str]) -> None:
    """Name what is on record in a branch alone: nobody watches it any more."""
    units = session.register.units
    left = [one for one in about if one not in units and not session.record.batches_named(one)]
    if left:
        terminal.say(
            phrase(
                "Not in this record: {names}. What of it is still there is opened again, or "
                "thrown away.",
                names=some_of(left),
            )
        )


def _called(session: Session, head: str) -> Branch:
    """Find a branch by how its digest begins; raises Refused for none and for several."""
    found = [one for one in session.register.branches if one.name.startswith(head[:12].lower())]
    if len(found) != 1:
        names = ", ".join(one.name for one in session.register.branches)
        told = _NONE if not names else _WHICH
        raise Refused(phrase(told, text=repr(head), names=names))
    return found[0]


def _told(one: Branch, session: Session) -> str:
    told = branch_in_words(one)
    if not one.decided:
        return f"{told} {phrase('UNDECIDED.')} {how_to_go_on(one)}"
    entry = one.decided
    when = day_and_clock(entry.at, session.now, session.register.zone)
    words = phrase(
        "{person} went on without it {when}: {reason}",
        person=entry.person,
        when=when,
        reason=entry.body.reason,
    )
    return f"{told} {words}"


def _plain(one: Branch) -> dict[str, Any]:
    decided = one.decided
    return {
        "head": one.head,
        "server": one.server,
        "after": one.after,
        "entries": one.entries,
        "about": one.about,
        "since": stored(one.since),
        "known_at": stored(one.known_at),
        "decided": decided
        and {
            "seq": decided.seq,
            "person": decided.person,
            "at": stored(decided.at),
            "reason": decided.body.reason,
        },
    }


def _write(session: Session, one: Branch, output: Path) -> None:
    """Write a branch as a record: the chain up to where it parted, then its entries."""
    refuse_place(output, [session.path])
    clear_partials(output)
    before = (row for row in session.record.rows() if row["seq"] <= one.after)
    rows = [*before, *beside.entries_of(session.record, one)]
    bodies = [entry_from(row).body for row in rows if row["kind"] == PinSet.kind]
    with TemporaryDirectory(dir=output.parent, prefix=".haccp-") as folder:
        whole = Path(folder) / "branch.sqlite3"
        with closing(open_record(whole, create=True)) as record:
            await_pins(record, [b.initials for b in bodies if isinstance(b, PinSet)], session.now)
            record.restore(rows)
            count = copies.back_up(record, output)
    terminal.say(
        counted(
            "{count} entry is in {file}, a record of its own: haccp --db {file} list entries",
            "{count} entries are in {file}, a record of its own: haccp --db {file} list entries",
            count,
            file=output,
        )
    )
