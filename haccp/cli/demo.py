"""`haccp demo`: the sample week through the real record to the inspector's page."""

import contextlib
import io
import os
from collections.abc import Iterator, Sequence
from datetime import datetime
from functools import partial
from pathlib import Path

import click

from haccp.assets import folder as asset_folder
from haccp.cli.files import draft_of
from haccp.cli.outputs import clear_partials, partial_beside
from haccp.cli.session import Session
from haccp.cli.terminal import say
from haccp.errors import Refused
from haccp.kitchen.naming import every_code
from haccp.language import message, phrase
from haccp.logs.sample_week import Typed, sample_week
from haccp.record.places import Place

# The invented manager's of the invented week.
DEMO_PIN = "2718"
_PAPERS = {
    "week.pdf": ("report", message("the week's report")),
    "plan.pdf": ("plan", message("the draft of its HACCP plan")),
    "forms.pdf": ("forms", message("blank log sheets")),
}


@click.command()
@click.argument("folder", default="haccp-demo", type=click.Path(file_okay=False, path_type=Path))
@click.option("--paper", type=click.Choice(["letter", "a4"]), default="letter", show_default=True)
@click.pass_context
def demo(ctx: click.Context, folder: Path, paper: str) -> None:
    """Build a record in FOLDER from a week of sample logs, invented, and print its report."""
    path = folder / "record.sqlite3"
    for there in (path, *(folder / name for name in _PAPERS)):
        if os.path.lexists(there):
            raise Refused(
                phrase(
                    "{there} exists already: name another folder, such as haccp demo demo-2",
                    there=there,
                )
            )
    group = ctx.find_root().command
    assert isinstance(group, click.Group)
    week = sample_week(asset_folder("sample_logs"))
    with _whole_or_not_there(path) as record:
        type_week(group, record, week)
        first, last = week[0], week[-1]
        with _session(record, last) as session:
            zone, count = session.register.zone, session.record.head()[0]
        days = tuple(f"{typed.at.astimezone(zone):%Y-%m-%d}" for typed in (first, last))
        for name, (command, _) in _PAPERS.items():
            words = (command, *(days if command == "report" else ()), "--paper", paper)
            words = (*words, "--output", str(folder / name))
            _run(group, _session(record, last), Typed(last.at, "-", words))
    told = phrase("{count} entries of an invented week are in {file}.", count=count, file=path)
    say(told)
    for name, (_, what) in _PAPERS.items():
        say(phrase("{file}: {what}.", file=folder / name, what=phrase(what)))
    say(phrase("Its manager is AR, with the PIN {pin}.", pin=DEMO_PIN))
    say(phrase("Look around with: haccp --db {path} list batches", path=path))


def type_week(group: click.Group, record: Place, week: Sequence[Typed]) -> None:
    """Type what was typed in a week into a record, each at its time."""
    for typed in week:
        with _session(record, typed) as session:
            if typed.row:
                _log(session, typed)
            else:
                _run(group, session, typed)


@contextlib.contextmanager
def _whole_or_not_there(path: Path) -> Iterator[Path]:
    """Give a name for a record that gets its own name once it is whole."""
    clear_partials(path)
    partial_record = partial_beside(path)
    try:
        yield partial_record
        if os.path.lexists(path):
            raise Refused(
                phrase(
                    "{path} was made by somebody else meanwhile: name another folder.", path=path
                )
            )
        partial_record.rename(path)
    finally:
        partial_record.unlink(missing_ok=True)


def _session(record: Place, typed: Typed) -> Session:
    # the same week gives the same record, byte by byte
    return Session(record, partial(_at, typed), ask=_demo_pin, nonce=lambda: "0" * 32)


def _demo_pin(_: str) -> str:
    return DEMO_PIN


def _at(typed: Typed) -> datetime:
    return typed.at


def _log(session: Session, typed: Typed) -> None:
    assert typed.row  # only readings come here
    codes = every_code(session.record)
    session.append(draft_of(typed.row, session.register, codes, session.by(typed.by).initials))


def _run(group: click.Group, session: Session, typed: Typed) -> None:
    by = () if typed.by == "-" else ("--by", typed.by)
    try:
        with (
            contextlib.redirect_stdout(io.StringIO()),
            group.make_context("haccp", [*typed.words, *by], obj=session) as ctx,
        ):
            # not by the boundary, which would tell of entries that are not there in the end
            click.Group.invoke(group, ctx)
    except (Refused, click.ClickException) as error:
        why = error.format_message() if isinstance(error, click.ClickException) else str(error)
        raise Refused(
            phrase(
                "sample logs, {moment} {command}: {why}",
                moment=typed.at.isoformat(),
                command=" ".join(typed.words),
                why=why,
            )
        ) from None
