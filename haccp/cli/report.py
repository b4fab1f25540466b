"""`haccp report`: the inspector's page."""

from datetime import date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

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
@click.option(
    "--again", metavar="WHEN", default="", help="The very bytes printed then, to compare a paper."
)
@click.option(
    "--readings/--no-readings",
    default=None,
    help="All readings as an annex. Default: for a week at most.",
)
@click.option("--by-month", is_flag=True, help="A PDF for each month: haccp-2026-01.pdf and so on.")
@click.pass_context
def report(
    ctx: click.Context,
    first: str,
    last: str | None,
    output: Path | None,
    paper: PaperSize,
    printed: str,
    again: str,
    readings: bool | None,
    force: bool,
    by_month: bool,
) -> None:
    """Print a day, or the days FIRST to LAST, as PDF: haccp report yesterday.

    The same record and options, printed at the same moment, give the same bytes.
    """
    session: Session = ctx.obj
    zone = session.register.zone
    if printed and again:
        raise Refused(
            phrase("--again prints what was printed then, --printed prints anew: type one.")
        )
    # to the second, as its foot says it
    moment = parse_when(again or printed, session.now, zone).replace(microsecond=0)
    begins = parse_day(first, session.now, zone)
    ends = parse_day(last, session.now, zone) if last else begins
    if ends < begins:
        raise Refused(
            phrase("{last} comes before {first}: type the first day first.", last=last, first=first)
        )
    if day_starts(begins, zone) > moment:
        raise Refused(phrase("{begins} has not begun: type a day that has.", begins=begins))
    if by_month:
        from haccp.cli.by_month import print_months

        print_months(ctx, begins, ends, moment.astimezone(zone).date())
        return
    # what prints draws: imported here, so that a cook's entry does not wait for it
    from haccp.printing.head_code import scannable
    from haccp.printing.report_words import gather

    record = walked(session.record.as_known_at(moment), begins, ends, zone)
    register = read_register(record)
    with in_its_papers_language(register):
        content = gather(record, register, begins, ends, moment, readings=readings)
        drawings = {**content.drawings.drawn(), "head.svg": scannable(record.head())}
    output = output or Path(f"haccp-{begins}{f'-to-{ends}' if ends != begins else ''}.pdf")
    print_paper(
        session,
        register,
        {**content.words, "again": _command(begins, ends, moment, paper, readings, zone)},
        drawings,
        template="report",
        paper=paper,
        stood=moment,
        again=bool(again),
        output=output,
        force=force,
        told=dated(begins)
        if ends == begins
        else phrase("{first} to {last}", first=dated(begins), last=dated(ends)),
    )


def _command(
    first: date,
    last: date,
    moment: datetime,
    paper: PaperSize,
    readings: bool | None,
    zone: ZoneInfo,
) -> str:
    """Give the command that prints the same bytes again."""
    words = ["haccp report", f"{first}"]
    words += [f"{last}"] if last != first else []
    words += ["--again", moment.astimezone(zone).isoformat()]
    words += ["--paper", paper] if paper != "letter" else []
    words += [] if readings is None else ["--readings" if readings else "--no-readings"]
    return " ".join(words)
