"""`haccp hand-over`: a kitchen's own record, to the server that keeps its chain."""

from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

import click

from haccp.cli import terminal
from haccp.cli.boundary import BROKEN
from haccp.cli.server import url_argument
from haccp.cli.session import Session, by_option, given
from haccp.errors import Refused
from haccp.language import counted, phrase
from haccp.record import backup as copies
from haccp.record import hand_over as handing
from haccp.record.bodies import ForkDecided
from haccp.record.driver import LineBroke
from haccp.record.entries import Draft
from haccp.record.places import Server, file_of
from haccp.record.store import Record, open_record


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
    with terminal.progress(phrase("Handing over"), max(end - begun, 0), handing.PART) as sent:
        handed = handing.hand_over(session.record, there, session.now, sent)
        drafts = [Draft(body=body, at=session.now, person=person) for body in handed.receipts]
        if drafts:
            session.append(*drafts)
            # the receipts themselves; for them nothing more is signed
            handing.hand_over(session.record, there, session.now)
    _tell(handed, there, session.record.head()[0])


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
    handing.keep_beside(session.record, there, found)
    path = file_of(session.path)
    with TemporaryDirectory(dir=path.parent, prefix=".haccp-") as folder:
        fetched = Path(folder) / "fetched.sqlite3"
        with closing(open_record(fetched, create=True)) as record:
            handing.hand_over(record, there, session.now)
        _, kept = copies.restore(fetched, path, lambda _: (person, True), session.clock)
    session.close()
    session.forget_record()
    decided = ForkDecided(
        server=str(there.place),
        after=found.after,
        entries=found.entries,
        head=found.head,
        reason=reason,
    )
    session.append(Draft(body=decided, at=session.now, person=person))
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
    _hand_over(session, there, person)
