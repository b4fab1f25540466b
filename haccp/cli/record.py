"""`haccp record`: does it hold together, copies of it, what looks unusual in it."""

from collections.abc import Sequence
from pathlib import Path
from textwrap import wrap

import click

from haccp.cli import terminal
from haccp.cli.boundary import BROKEN
from haccp.cli.branches import branches
from haccp.cli.files import is_export
from haccp.cli.outputs import PRIVATE, clear_partials, force_option, refuse_place, write_whole
from haccp.cli.session import Session, by_option
from haccp.cli.tills import tills_
from haccp.errors import Refused
from haccp.kitchen.review import misnoted
from haccp.kitchen.unreadable import unreadable
from haccp.kitchen.unusual import unusual as unusual_in
from haccp.language import counted, message, phrase
from haccp.phrases import all_of
from haccp.record import backup as copies
from haccp.record.bodies import DaySigned, KitchenSettings
from haccp.record.chain import (
    Printed,
    first_misfit,
    is_as_digested,
    named_alone,
    parse_printed,
)
from haccp.record.exports import to_csv
from haccp.record.pins import have_pins, missing_pins
from haccp.record.places import file_of
from haccp.record.salvage import salvage as read_damaged
from haccp.record.store import Record
from haccp.record.threads import of_kind
from haccp.record.tills import AT_ONCE, entry_of_paper, tills_of
from haccp.record.verify import STRETCH, Found, walk
from haccp.rules.unusual_in_words import told
from haccp.time import parse_days

_NOT_ALL = message("not every entry can be read.")


@click.group()
def record() -> None:
    """Check, copy and restore the record."""


record.add_command(branches)


@record.command()
@click.option(
    "--against", metavar="DIGEST", help="What a report printed: '352 f500393b 999e90c6 ...'."
)
@click.option(
    "--since-signed",
    is_flag=True,
    help="Walk from the last signature on only: what it stands on is taken for what it was.",
)
@click.pass_context
def verify(ctx: click.Context, against: str | None, since_signed: bool) -> None:
    """Walk the whole chain and name the first entry that does not fit."""
    session: Session = ctx.obj
    printed = parse_printed(against) if against is not None else None
    if session.record.store.is_view:
        _verify_view(ctx, session, printed, since_signed=since_signed)
        return
    if since_signed:
        if against is not None:
            raise Refused(
                phrase("A paper is looked for in the whole record: leave out --since-signed.")
            )
        _verify_since_signed(ctx, session.record)
        return
    problems = session.record.problems()
    problems += missing_pins(session.record)
    count = session.record.head()[0]
    with terminal.progress(phrase("Walking the chain"), count, STRETCH) as walked:
        found = walk(session.record, printed=printed, walked=walked)
    misfit = found.misfit
    if not found.whole:
        misfit = first_misfit(read_damaged(session.record.file)[0])
        problems += [] if problems else [phrase(_NOT_ALL)]
    problems += [*([misfit] if misfit else []), *_unreadable(found)]
    problems = problems or session.record.differences() or _misnoted(session)
    session.record.troubles.clear()
    _tell(ctx, problems)
    terminal.say(
        counted(
            "{count} entry, one chain: every entry is what was recorded.",
            "{count} entries, one chain: every entry is what was recorded.",
            count,
        )
    )
    if not printed:
        return
    seq = named_alone(found.named, printed)
    if seq is None:
        terminal.say(
            phrase("DOES NOT HOLD: the record is not the one that this paper was printed from.")
        )
        ctx.exit(BROKEN)
    terminal.say(
        phrase(
            "It still holds the entries that the paper was printed from, up to no. {last}; "
            "{later} came later.",
            last=seq,
            later=count - seq,
        )
    )
    terminal.say(
        phrase(
            "That says nothing of the pages: print them again by the command at the foot of the "
            "first one, and compare."
        )
    )


def _verify_view(
    ctx: click.Context, session: Session, printed: Printed | None, *, since_signed: bool
) -> None:
    """Walk the chain of each till, and compare the view with them."""
    from haccp.record.view_compared import compare  # a record needs nothing of it

    if since_signed:
        raise Refused(phrase("A view is compared with its tills as a whole: no --since-signed."))
    record = session.record
    count = record.head()[0]
    with terminal.progress(phrase("Walking the chains"), count, AT_ONCE) as walked:
        problems = [*record.problems(), *compare(record, walked)]
    problems = problems or record.differences() or _misnoted(session)
    record.troubles.clear()
    _tell(ctx, problems)
    tills = tills_of(record)
    terminal.say(
        counted(
            "{count} entry of {tills}, a chain each: the view holds exactly what was recorded.",
            "{count} entries of {tills}, a chain each: the view holds exactly what was recorded.",
            count,
            tills=all_of([one.name for one in tills]),
        )
    )
    if not printed:
        return
    found = entry_of_paper(record, printed)
    if found is None:
        terminal.say(
            phrase(
                "DOES NOT HOLD: no till has such an entry. Of a view's paper type a number and "
                "digest that stand beside a till's name."
            )
        )
        ctx.exit(BROKEN)
    till, number = found
    terminal.say(
        phrase(
            "{till} still holds the entries that the paper was printed from, up to its no. "
            "{number}.",
            till=till,
            number=number,
        )
    )


def _verify_since_signed(ctx: click.Context, record: Record) -> None:
    """Walk from the last signature on, and say what it stands on."""
    signatures = record.newest(of_kind(DaySigned.kind), 1)
    if not signatures:
        _tell(ctx, record.troubles)
        raise Refused(phrase("No day is signed yet: type it without --since-signed."))
    first = signatures[0]
    count = record.head()[0] - first.seq + 1
    with terminal.progress(phrase("Walking the chain"), count, STRETCH) as walked:
        found = walk(record, first.seq, first.previous, walked=walked)
    unread = [] if found.whole else [phrase(_NOT_ALL)]
    misfit = [found.misfit] if found.misfit else []
    _tell(ctx, [*record.troubles, *unread, *misfit, *_unreadable(found)])
    terminal.say(
        counted(
            "{count} entry from the last signature on, no. {first}, one chain: every entry is what "
            "was recorded.",
            "{count} entries from the last signature on, no. {first}, one chain: every entry is "
            "what was recorded.",
            count,
            first=first.seq,
        )
    )
    terminal.say(
        phrase(
            "They follow {number} {digest}. That, and the file itself, were not looked at: "
            "haccp record verify does.",
            number=first.seq - 1,
            digest=" ".join(wrap(first.previous, 8)),
        )
    )


def _misnoted(session: Session) -> list[str]:
    if not session.record.about(of_kind(KitchenSettings.kind)):
        return []  # nothing can be noted where no kitchen is yet
    return misnoted(session.record, session.register, session.now)


def _unreadable(found: Found) -> list[str]:
    return [words for _, words in unreadable(found.unreadable)]


def _tell(ctx: click.Context, problems: Sequence[str]) -> None:
    """Say what does not hold, and end there."""
    for problem in problems:
        terminal.say(phrase("DOES NOT HOLD: {problem}", problem=problem))
    if problems:
        ctx.exit(BROKEN)


def _tell_whole(count: int, file: Path) -> None:
    terminal.say(
        counted(
            "{count} entry is in {file}; its chain holds.",
            "{count} entries are in {file}; their chain holds.",
            count,
            file=file,
        )
    )


@record.command()
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.pass_obj
def backup(session: Session, file: Path) -> None:
    """Copy the record to FILE, whole, while others write."""
    refuse_place(file, [session.path])
    clear_partials(file)
    count = copies.back_up(session.record, file)
    _tell_whole(count, file)


@record.command()
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@by_option
@click.pass_obj
def restore(session: Session, file: Path, by: str | None) -> None:
    """Put the backup FILE in the record's place, once it is checked (a manager).

    A record that is there is kept beside it under another name. Its PINs stay in force, and the
    last entry says what was restored.
    """

    def who(path: Path) -> tuple[str, bool]:
        with Session(path, session.clock, session.ask) as there:
            try:
                needs_pin = bool(have_pins(there.record) or missing_pins(there.record))
                there.register  # noqa: B018 - read here, where damage has a sentence of its own
            except Refused as error:
                told = phrase("{why} {what_to_do}", why=error, what_to_do=copies.by_hand(path))
                raise Refused(told) from None
            person = there.manager(by) if needs_pin else there.manager_without_pin(by)
            return person.initials, needs_pin

    count, kept = copies.restore(file, file_of(session.path), who, session.clock)
    session.recorded.append(count + 1)
    _tell_whole(count, file_of(session.path))
    terminal.say(phrase("The entry after them says that it was restored, and by whom."))
    if kept:
        terminal.say(phrase("What was there is kept in {kept}.", kept=kept))


@record.command()
@click.argument("first", default="", metavar="[DAY]")
@click.argument("last", default="today", metavar="[LAST_DAY]")
@click.option("--json", "json_", is_flag=True, help="Print JSON.")
@click.pass_obj
def unusual(session: Session, first: str, last: str, json_: bool) -> None:
    """List runs of entries that are worth a look, of the last week or the days given.

    It accuses nobody: of simulated honest weeks of one person about one in 3,000 is listed too.
    """
    begins, ends = parse_days(first, last, session.now, session.register.zone, usual=7)
    found = unusual_in(session.record, session.register, begins, ends)
    if json_:
        terminal.as_json(
            [{"kind": one.kind, "entries": one.refs, "words": told(one)} for one in found]
        )
        return
    for one in found:
        terminal.say(
            phrase("{sentence} Entries {numbers}.", sentence=told(one), numbers=", ".join(one.refs))
        )
    if not found:
        terminal.say(phrase("Nothing unusual in these days."))


@record.command()
@click.argument("damaged", type=click.Path(dir_okay=False, path_type=Path))
@click.option(
    "--output",
    required=True,
    type=click.Path(dir_okay=False, path_type=Path),
    help="The file (CSV) to write it to.",
)
@force_option
@click.pass_obj
def salvage(session: Session, damaged: Path, output: Path, force: bool) -> None:
    """Read what can still be read of the file DAMAGED, which stays as it is.

    haccp record salvage damaged.sqlite3 --output salvaged.csv
    """
    rows, lost = read_damaged(damaged)
    write_whole(
        output,
        [to_csv(rows).encode()],
        records=[session.path, damaged],
        is_own=is_export(rows[0]["digest"]),
        mode=PRIVATE,
        force=force,
    )
    terminal.say(
        counted(
            "{count} entry could be read and is in {file}; {lost} could not.",
            "{count} entries could be read and are in {file}; {lost} could not.",
            len(rows),
            file=output,
            lost=lost,
        )
    )
    altered = [str(row["seq"]) for row in rows if not is_as_digested(row)]
    if altered:
        terminal.say(
            phrase("Of these, no. {numbers} are not what was recorded.", numbers=", ".join(altered))
        )


@record.command()
@click.argument("month", metavar="MONTH")
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@force_option
@click.pass_obj
def seal(session: Session, month: str, file: Path, force: bool) -> None:
    """Write what was entered in a month that is over to FILE, as Parquet, with its digests.

    For analysis, and to keep: the chain can be walked from the file alone (haccp record sealed
    FILE). The record stays as it is.

    haccp record seal 2026-10 october.parquet
    """
    from haccp.record import sealed as months

    session.refuse_view()
    zone = session.register.zone
    told, content = months.seal(session.record, session.identity, month, zone, session.now)
    write_whole(
        file,
        [content],
        records=[session.path],
        is_own=lambda there: there[:4] == content[:4] and session.identity.encode() in there,
        mode=PRIVATE,
        force=force,
    )
    _tell_whole(told.entries, file)


@record.command()
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.pass_context
def sealed(ctx: click.Context, file: Path) -> None:
    """Walk the chain of a month's FILE, made by haccp record seal; no record is needed.

    The file of the month before ends with what this one follows.
    """
    from haccp.record import sealed as months

    told, rows = months.read(file)
    misfit = months.misfit_of(told, rows)
    _tell(ctx, [misfit] if misfit else [])
    _tell_whole(told.entries, file)
    for words, digest in (
        (message("They follow no. {number} {digest}."), told.previous),
        (message("They end with no. {number} {digest}."), told.head),
    ):
        number = told.first - 1 if digest is told.previous else told.first + told.entries - 1
        terminal.say(phrase(words, number=number, digest=" ".join(wrap(digest, 8))))


record.add_command(tills_)
