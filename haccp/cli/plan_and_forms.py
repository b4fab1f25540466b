"""`haccp plan` and `haccp forms`: the draft of the HACCP plan, and its blank log sheets."""

from pathlib import Path

import click

from haccp.cli.papers import (
    PaperSize,
    again_option,
    in_its_papers_language,
    moment_shown,
    paper_options,
    print_paper,
)
from haccp.cli.session import Session
from haccp.cli.terminal import say
from haccp.kitchen.register import read_register
from haccp.language import counted, phrase
from haccp.time import parse_when


@click.command()
@paper_options("haccp-plan.pdf")
@again_option
@click.pass_obj
def plan(
    session: Session, output: Path | None, paper: PaperSize, printed: str, force: bool, again: str
) -> None:
    """Print the draft of a HACCP plan (8-201.14) from the settings and the record, as PDF.

    It names the foods on record that no flow covers, and the checks that cannot show their limit;
    the blank log sheets are attached. The same record and options, printed at the same moment, give
    the same bytes.
    """
    moment = moment_shown(printed, again, session)
    from haccp.printing.haccp_plan import attached, gather

    record = session.record.as_known_at(moment).walked(moment, moment)
    register = read_register(record)
    with in_its_papers_language(register):
        words = gather(record, register, moment)
        sheets = attached(register, moment)
    command = ["haccp plan --again", moment.astimezone(register.zone).isoformat()]
    command += ["--paper", paper] if paper != "letter" else []
    print_paper(
        session,
        register,
        {**words, "again": " ".join(command)},
        {},
        template="plan",
        paper=paper,
        stood=moment,
        again=bool(again),
        output=output or Path("haccp-plan.pdf"),
        force=force,
        told=phrase("a draft, until the person in charge has approved it"),
        attached=sheets,
    )
    if words["no_foods"]:
        say(
            phrase('No food is entered yet: haccp add food "bean stew" --steps cook,cool,cold_hold')
        )
    if words["settle"]:
        say(
            counted(
                "{count} thing is to be settled first: it stands on its first page.",
                "{count} things are to be settled first: they stand on its first page.",
                len(words["settle"]),
            )
        )


@click.command()
@paper_options("haccp-forms.pdf")
@click.pass_obj
def forms(
    session: Session, output: Path | None, paper: PaperSize, printed: str, force: bool
) -> None:
    """Print blank log sheets, to write on when the power is out and to type in later.

    The same settings and options, printed at the same moment, give the same bytes.
    """
    moment = parse_when(printed, session.now, session.register.zone)
    from haccp.printing.forms import gather

    register = read_register(session.record.as_known_at(moment))
    with in_its_papers_language(register):
        words = gather(register, moment)
    print_paper(
        session,
        register,
        words,
        {},
        template="forms",
        paper=paper,
        stood=moment,
        output=output or Path("haccp-forms.pdf"),
        force=force,
        told=counted("{count} blank sheet", "{count} blank sheets", len(words["sheets"])),
    )
