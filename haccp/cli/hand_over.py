"""`haccp hand-over`: a kitchen's own record, to the server that keeps its chain."""

from collections.abc import Iterator
from contextlib import closing, contextmanager
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory

import click

from haccp.cli import terminal
from haccp.cli.boundary import BROKEN
from haccp.cli.branches import tell_only_there
from haccp.cli.server import url_argument
from haccp.cli.session import Session, by_option, given
from haccp.errors import Refused
from haccp.kitchen.branch_words import branch_in_words, how_to_go_on, undecided_branches
from haccp.language import counted, phrase
from haccp.record import backup as copies
from haccp.record import hand_over as handing
from haccp.record.bodies_of_record import ForkDecided, ForkKept, HandedOver
from haccp.record.driver import LineBroke
from haccp.record.entries import LATE, Draft
from haccp.record.places import Server, file_of
from haccp.record.store import Record, open_record
from haccp.time import day_and_clock, from_stored, on_its_day


@click.command()
@url_argument
@click.option("--check", is_flag=True, help="Only compare with what the server signed for.")
@click.option(
    "--go-on",
    metavar="REASON",
    help="Of a record that parted: go on along the server's chain (a manager).",
)
@by_option
@click.pass_obj
def hand_over(
    session: Session, /, url: Server, go_on: str | None, by: str | None, *, check: bool
) -> None:
    """Hand this record over to a server, as the kitchen's account at URL.

    Type it again wherever it was broken off: it goes on from there. The server's receipts become
    entries, and stand on the report. A record that is behind gets what it has not.
    """
    file_of(session.path)
    session.refuse_view()
    with _there(url) as there:
        if check:
            _check(session, there)
        elif go_on is not None:
            _go_on(session, there, go_on, by)
        else:
            person = session.by(by)
            _hand_over(session, there, person.initials)


@contextmanager
def _there(url: Server) -> Iterator[Record]:
    try:
        with closing(open_record(url, create=False)) as there:
            yield there
    except LineBroke as broke:
        raise Refused(
            phrase(
                "{why} What arrived is kept: type it again, and it goes on from there.", why=broke
            )
        ) from broke


def _hand_over(session: Session, there: Record, person: str) -> None:
    end, begun = session.record.head()[0], there.head()[0]
    note = partial(_note, session, person)
    with terminal.progress(phrase("Handing over"), max(end - begun, 0), handing.PART) as sent:
        handed = handing.hand_over(session.record, there, session.now, sent, note)
        learnt = handing.learnt(session.record, there)
        if handed.receipts or learnt:
            _note(session, person, *handed.receipts, *learnt)
            # the entries about it themselves; for receipts alone nothing more is signed
            handing.hand_over(session.record, there, session.now, note=note)
    _tell(handed, there, session.record.head()[0])
    _tell_clock(handed, session)
    _tell_branches(session)


def _note(session: Session, person: str, *bodies: HandedOver | ForkKept | ForkDecided) -> None:
    session.append(*(Draft(body=body, at=session.now, person=person) for body in bodies))


def _tell_branches(session: Session) -> None:
    session.anew()
    for one in undecided_branches(session.register):
        terminal.say(f"{branch_in_words(one)} {phrase('Nobody decided about it.')}")
        terminal.say(how_to_go_on(one))


def _tell_clock(handed: handing.Handed, session: Session) -> None:
    """Say where this machine's clock, whose time entries bear, is far from the server's."""
    if not handed.receipts:
        return
    theirs = from_stored(handed.receipts[-1].received_at)
    if abs(theirs - session.now) > LATE:
        when = partial(day_and_clock, now=theirs, zone=session.register.zone)
        terminal.say(
            phrase(
                "CAUTION: this machine's clock says {here}, the server's {there}: set the one that "
                "is wrong.",
                here=when(session.now),
                there=on_its_day(theirs, session.register.zone),
            )
        )


def _tell(handed: handing.Handed, there: Record, last: int) -> None:
    if handed.fetched:
        terminal.say(
            counted(
                "This record was behind: {count} entry was fetched from {server}.",
                "This record was behind: {count} entries were fetched from {server}.",
                handed.fetched,
                server=there.place,
            )
        )
    if handed.sent:
        terminal.say(
            counted(
                "{count} entry was handed over to {server}.",
                "{count} entries were handed over to {server}.",
                handed.sent,
                server=there.place,
            )
        )
    for one in handed.receipts:
        terminal.say(
            phrase(
                "Its receipt up to no. {until}, {moment} by its clock: {signature}",
                until=one.until,
                moment=one.received_at,
                signature=one.signature[:16],
            )
        )
    terminal.say(
        phrase(
            "{server} holds this record up to its end, no. {last}.", server=there.place, last=last
        )
    )


def _check(session: Session, there: Record) -> None:
    problems = list(handing.compare_with_receipts(session.record, there))
    for problem in problems:
        terminal.say(phrase("DOES NOT HOLD: {problem}", problem=problem))
    if problems:
        click.get_current_context().exit(BROKEN)
    signed = handing.receipts(there)
    if not signed:
        terminal.say(phrase("{server} has signed for nothing yet.", server=there.place))
        return
    terminal.say(
        counted(
            "{count} receipt holds: up to no. {until} this record is what {server} signed for.",
            "{count} receipts hold: up to no. {until} this record is what {server} signed for.",
            len(signed),
            until=signed[-1].until,
            server=there.place,
        )
    )


def _go_on(session: Session, there: Record, reason: str, by: str | None) -> None:
    """Put the server's chain in the record's place; what parted is kept there and in a file."""
    reason = given(reason, 'haccp hand-over URL --go-on "the backup was a day old" --by AR')
    found = handing.standing(session.record, there)
    if not isinstance(found, handing.Parted):
        raise Refused(
            phrase("This record does not part from what {server} holds.", server=there.place)
        )
    person = session.manager(by).initials
    found = handing.keep_beside(session.record, there, found, partial(_note, session, person))
    path = file_of(session.path)
    with TemporaryDirectory(dir=path.parent, prefix=".haccp-") as folder:
        fetched = Path(folder) / "fetched.sqlite3"
        with closing(open_record(fetched, create=True)) as record:
            handing.hand_over(record, there, session.now)
        _, kept = copies.restore(fetched, path, lambda _: (person, True), session.clock)
    session.close()
    session.forget_record()
    learnt = handing.learnt(session.record, there)
    note = next(one for one in learnt if one.head == found.head)
    decided = ForkDecided(
        server=note.server, after=note.after, entries=note.entries, head=note.head, reason=reason
    )
    _note(session, person, *learnt, decided)
    terminal.say(
        counted(
            "The record goes on along the chain of {server}. {count} entry that parted is kept "
            "there as {head}, and in {kept}.",
            "The record goes on along the chain of {server}. {count} entries that parted are kept "
            "there as {head}, and in {kept}.",
            found.entries,
            server=there.place,
            head=found.head[:12],
            kept=kept,
        )
    )
    tell_only_there(session, note.about)
    _hand_over(session, there, person)
