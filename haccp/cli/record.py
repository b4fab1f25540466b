"""`haccp record`: does it hold together, copies of it, what looks unusual in it."""

from datetime import timedelta
from pathlib import Path
from typing import Any

import click

from haccp.cli import terminal
from haccp.cli.boundary import BROKEN
from haccp.cli.files import is_export
from haccp.cli.outputs import PRIVATE, clear_partials, force_option, refuse_place, write_whole
from haccp.cli.session import Session
from haccp.errors import Refused
from haccp.kitchen import review
from haccp.record import backup as copies
from haccp.record.chain import contains, first_misfit, is_as_digested, parse_printed
from haccp.record.exports import to_csv
from haccp.record.store import salvage as read_damaged
from haccp.time import parse_day


@click.group()
def record() -> None:
    """Check, copy and restore the record."""


@record.command()
@click.option(
    "--against", metavar="DIGEST", help="What a report printed: '352 f500393b 999e90c6 ...'."
)
@click.pass_context
def verify(ctx: click.Context, against: str | None) -> None:
    """Walk the whole chain and name the first entry that does not fit."""
    session: Session = ctx.obj
    printed = parse_printed(against) if against is not None else None
    problems = session.record.problems()
    rows: list[dict[str, Any]]
    try:
        rows = session.record.rows()
    except Refused:
        rows, _ = read_damaged(session.path)
        problems += [] if problems else ["not every entry can be read."]
    misfit = first_misfit(rows)
    problems += [misfit] if misfit else []
    for problem in problems:
        terminal.say(f"DOES NOT HOLD: {problem}")
    if problems:
        ctx.exit(BROKEN)
    terminal.say(f"{len(rows)} entries, one chain: every entry is what was recorded.")
    if not printed:
        return
    seq = contains(rows, printed)
    if seq is None:
        terminal.say("DOES NOT HOLD: the record does not contain what the paper shows.")
        ctx.exit(BROKEN)
    later = len(rows) - seq
    terminal.say(
        f"It contains exactly what the paper shows, up to entry {seq}; {later} came later."
    )


@record.command()
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.pass_obj
def backup(session: Session, file: Path) -> None:
    """Copy the record to FILE, whole, while others write."""
    refuse_place(file, [session.path])
    clear_partials(file)
    count = copies.back_up(session.record, file)
    terminal.say(f"{count} entries are in {file}; their chain holds.")


@record.command()
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.pass_obj
def restore(session: Session, file: Path) -> None:
    """Put the backup FILE in the record's place, once its chain is checked.

    A record that is there is kept beside it under another name.
    """
    count, kept = copies.restore(file, session.path, session.now)
    terminal.say(f"{count} entries are in {session.path}; their chain holds.")
    if kept:
        terminal.say(f"What was there is kept in {kept}.")


@record.command()
@click.argument("first", default="", metavar="[DAY]")
@click.argument("last", default="today", metavar="[LAST_DAY]")
@click.option("--json", "json_", is_flag=True, help="Print JSON.")
@click.pass_obj
def unusual(session: Session, first: str, last: str, json_: bool) -> None:
    """List runs of entries that are worth a look, of the last week or the days given.

    It accuses nobody: of simulated honest weeks of one person about one in 6,000 is listed too.
    """
    zone = session.register.zone
    ends = parse_day(last, session.now, zone)
    begins = parse_day(first, session.now, zone) if first else ends - timedelta(days=6)
    if ends < begins:
        raise Refused(f"{last} comes before {first}: type the first day first.")
    found = review.unusual(session.record, session.register, begins, ends)
    if json_:
        terminal.as_json(
            [{"kind": one.kind, "entries": one.refs, "words": one.words} for one in found]
        )
        return
    for one in found:
        terminal.say(f"{one.words} Entries {', '.join(one.refs)}.")
    if not found:
        terminal.say("Nothing unusual in these days.")


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
    terminal.say(f"{len(rows)} entries could be read and are in {output}; {lost} could not.")
    altered = [str(row["seq"]) for row in rows if not is_as_digested(row)]
    if altered:
        terminal.say(f"Of these, no. {', '.join(altered)} are not what was recorded.")
