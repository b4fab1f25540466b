"""`haccp plan` and `haccp forms`: the draft of the HACCP plan, and its blank log sheets."""

from collections.abc import Callable
from pathlib import Path
from typing import Any, Literal, TypeVar

import click

from haccp.cli.files import write_whole
from haccp.cli.session import Session
from haccp.cli.terminal import say
from haccp.kitchen.register import read_register
from haccp.time import parse_when

_Command = TypeVar("_Command", bound=Callable[..., Any])


def _print_options(default: str) -> Callable[[_Command], _Command]:
    """Give the options of a command that prints a PDF under a name of its own."""
    output = click.Path(dir_okay=False, path_type=Path)
    options = (
        click.option("--output", type=output, default=Path(default), show_default=True),
        click.option(
            "--paper", type=click.Choice(["letter", "a4"]), default="letter", show_default=True
        ),
        click.option(
            "--printed", metavar="WHEN", default="", help="The moment of printing; default: now."
        ),
    )

    def add(command: _Command) -> _Command:
        for option in reversed(options):
            command = option(command)
        return command

    return add


@click.command()
@_print_options("haccp-plan.pdf")
@click.pass_obj
def plan(session: Session, output: Path, paper: Literal["letter", "a4"], printed: str) -> None:
    """Print the draft of a HACCP plan (8-201.14) from the kitchen's settings as PDF.

    The same settings, options and moment of printing give the same bytes.
    """
    moment = parse_when(printed, session.now, session.register.zone)
    # what prints typesets: imported here, so that a cook's entry does not wait for it
    from haccp.printing.haccp_plan import gather
    from haccp.printing.typeset import typeset

    record = session.record.as_known_at(moment).walked_since(moment)
    words = gather(read_register(record), moment, record.head())
    write_whole(output, typeset(words, {}, template="plan", paper=paper, printed=moment))
    say(f"{output} is printed: a draft, until the person in charge has approved it.")
    if words["no_foods"]:
        say('No food is entered yet: haccp add food "bean stew" --steps cook,cool,cold_hold')


@click.command()
@_print_options("haccp-forms.pdf")
@click.pass_obj
def forms(session: Session, output: Path, paper: Literal["letter", "a4"], printed: str) -> None:
    """Print blank log sheets, to write on when the power is out and to type in later.

    The same settings, options and moment of printing give the same bytes.
    """
    moment = parse_when(printed, session.now, session.register.zone)
    from haccp.printing.forms import gather
    from haccp.printing.typeset import typeset

    words = gather(read_register(session.record.as_known_at(moment)), moment)
    write_whole(output, typeset(words, {}, template="forms", paper=paper, printed=moment))
    say(f"{output} is printed: {len(words['sheets'])} blank sheets.")
