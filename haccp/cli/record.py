"""`haccp record`: does it hold together, copies of it, what looks unusual in it."""

from pathlib import Path

import click

from haccp.cli import show
from haccp.cli.boundary import BROKEN
from haccp.cli.session import Session
from haccp.cli.transfer import write_whole
from haccp.record import backup as copies
from haccp.record.chain import contains, first_misfit, parse_printed
from haccp.record.transfer import to_csv


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
    printed = parse_printed(against) if against else None
    problems = session.record.problems()
    rows = session.record.rows() if not problems else []
    misfit = first_misfit(rows)
    if misfit:
        problems.append(misfit)
    for problem in problems:
        click.echo(f"DOES NOT HOLD: {show.safe(problem)}")
    if problems:
        ctx.exit(BROKEN)
    click.echo(f"{len(rows)} entries, one chain: every entry is what was recorded.")
    if not printed:
        return
    seq = contains(rows, printed)
    if seq is None:
        click.echo("DOES NOT HOLD: the record does not contain what the paper shows.")
        ctx.exit(BROKEN)
    later = len(rows) - seq
    click.echo(f"It contains exactly what the paper shows, up to entry {seq}; {later} came later.")


@record.command()
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.pass_obj
def backup(session: Session, file: Path) -> None:
    """Copy the record to FILE, whole, while others write."""
    count = copies.back_up(session.record, file)
    click.echo(f"{count} entries are in {file}; their chain holds.")


@record.command()
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.pass_obj
def restore(session: Session, file: Path) -> None:
    """Put the backup FILE in the record's place, once its chain is checked.

    A record that is there is kept beside it under another name.
    """
    count, kept = copies.restore(file, session.path, session.now)
    click.echo(f"{count} entries are in {session.path}; their chain holds.")
    if kept:
        click.echo(f"What was there is kept in {kept}.")


@record.command()
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.pass_obj
def salvage(session: Session, file: Path) -> None:
    """Write to FILE (CSV) what can still be read of a damaged record."""
    rows, lost = session.record.salvage()
    write_whole(file, to_csv(rows).encode())
    click.echo(f"{len(rows)} entries could be read and are in {file}; {lost} could not.")
