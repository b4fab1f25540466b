"""`haccp report`: the inspector's page."""

from pathlib import Path

import click

from haccp.cli.papers import PaperSize, in_its_papers_language, paper_options, print_paper
from haccp.cli.session import Session
from haccp.errors import Refused
from haccp.kitchen.register import read_register
from haccp.kitchen.review import walked
from haccp.language import phrase
from haccp.time import dated, day_starts, parse_day, parse_when


@click.command()
@click.argument("first", default="today", metavar="[DAY]")
@click.argument("last", required=False, metavar="[LAST_DAY]")
@paper_options("haccp-DAY.pdf")
@click.pass_obj
def report(
    session: Session,
    first: str,
    last: str | None,
    output: Path | None,
    paper: PaperSize,
    printed: str,
    force: bool,
) -> None:
    """Print a day, or the days FIRST to LAST, as PDF: haccp report yesterday.

    The same record and options, printed at the same moment, give the same bytes.
    """
    zone = session.register.zone
    moment = parse_when(printed, session.now, zone)
    begins = parse_day(first, session.now, zone)
    ends = parse_day(last, session.now, zone) if last else begins
    if ends < begins:
        raise Refused(
            phrase("{last} comes before {first}: type the first day first.", last=last, first=first)
        )
    if day_starts(begins, zone) > moment:
        raise Refused(phrase("{begins} has not begun: type a day that has.", begins=begins))
    # what prints draws: imported here, so that a cook's entry does not wait for it
    from haccp.printing.curve import draw
    from haccp.printing.head_code import scannable
    from haccp.printing.report_words import gather

    record = walked(session.record.as_known_at(moment), begins, ends, zone)
    register = read_register(record)
    with in_its_papers_language(register):
        content = gather(record, register, begins, ends, moment)
        drawings = {file: draw(curve) for file, curve in content.curves.items()}
    drawings["head.svg"] = scannable(record.head())
    output = output or Path(f"haccp-{begins}{f'-to-{ends}' if ends != begins else ''}.pdf")
    print_paper(
        session,
        content.words,
        drawings,
        template="report",
        paper=paper,
        stood=moment,
        output=output,
        force=force,
        told=dated(begins)
        if ends == begins
        else phrase("{first} to {last}", first=dated(begins), last=dated(ends)),
    )
