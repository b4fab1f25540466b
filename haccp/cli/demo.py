"""`haccp demo`: the sample week through the real record to the inspector's page."""

import contextlib
import io
from datetime import datetime
from functools import partial
from pathlib import Path

import click

from haccp.assets import folder as asset_folder
from haccp.cli.files import draft_of
from haccp.cli.session import Session
from haccp.errors import Refused
from haccp.kitchen.naming import every_code
from haccp.logs.sample_week import Typed, sample_week

# The invented manager's of the invented week.
DEMO_PIN = "2718"


@click.command()
@click.argument("folder", default="haccp-demo", type=click.Path(file_okay=False, path_type=Path))
@click.option("--paper", type=click.Choice(["letter", "a4"]), default="letter", show_default=True)
@click.pass_context
def demo(ctx: click.Context, folder: Path, paper: str) -> None:
    """Build a record in FOLDER from a week of sample logs, invented, and print its report."""
    path = folder / "record.sqlite3"
    if path.exists():
        raise Refused(f"{path} exists already: name another folder, such as haccp demo demo-2.")
    group = ctx.find_root().command
    week = sample_week(asset_folder("sample_logs"))
    for typed in week:
        with Session(path, partial(_at, typed), ask=_demo_pin) as session:
            if typed.row:
                _log(session, typed)
            else:
                _run(group, session, typed)
    first, last = week[0].at, week[-1].at
    with Session(path) as session:
        zone, count = session.register.zone, session.record.head()[0]
    click.echo(f"{count} entries of an invented week are in {path}.")
    days = (f"{moment.astimezone(zone):%Y-%m-%d}" for moment in (first, last))
    printed = ("--paper", paper, "--printed", last.isoformat())
    papers = {
        "week.pdf": ("the week's report", ("report", *days)),
        "plan.pdf": ("the draft of its HACCP plan", ("plan",)),
        "forms.pdf": ("blank log sheets", ("forms",)),
    }
    for name, (what, words) in papers.items():
        pdf = folder / name
        _run(group, Session(path), Typed(last, "-", (*words, "--output", str(pdf), *printed)))
        click.echo(f"{pdf}: {what}.")
    click.echo(f"Its manager is AR, with the PIN {DEMO_PIN}.")
    click.echo(f"Look around with: haccp --db {path} list batches")


def _demo_pin(_: str) -> str:
    return DEMO_PIN


def _at(typed: Typed) -> datetime:
    return typed.at


def _log(session: Session, typed: Typed) -> None:
    assert typed.row  # only readings come here
    codes = every_code(session.record)
    session.append(draft_of(typed.row, session.register, codes, session.by(typed.by).initials))


def _run(group: click.Command, session: Session, typed: Typed) -> None:
    by = () if typed.by == "-" else ("--by", typed.by)
    try:
        with (
            contextlib.redirect_stdout(io.StringIO()),
            group.make_context("haccp", [*typed.words, *by], obj=session) as ctx,
        ):
            group.invoke(ctx)
    except (Refused, click.ClickException) as error:
        message = error.format_message() if isinstance(error, click.ClickException) else str(error)
        raise Refused(
            f"sample logs, {typed.at.isoformat()} {' '.join(typed.words)}: {message}"
        ) from None
