"""`haccp report`: the inspector's page."""

from pathlib import Path
from typing import Literal

import click

from haccp.cli.files import write_whole
from haccp.cli.session import Session
from haccp.cli.terminal import say
from haccp.errors import Refused
from haccp.kitchen.register import read_register
from haccp.kitchen.review import begins_to_matter
from haccp.time import day_starts, parse_day, parse_when


@click.command()
@click.argument("first", default="today", metavar="[DAY]")
@click.argument("last", required=False, metavar="[LAST_DAY]")
@click.option(
    "--output", type=click.Path(dir_okay=False, path_type=Path), help="Default: haccp-DAY.pdf here."
)
@click.option("--paper", type=click.Choice(["letter", "a4"]), default="letter", show_default=True)
@click.option("--printed", metavar="WHEN", default="", help="The moment of printing; default: now.")
@click.pass_obj
def report(
    session: Session,
    first: str,
    last: str | None,
    output: Path | None,
    paper: Literal["letter", "a4"],
    printed: str,
) -> None:
    """Print a day, or the days FIRST to LAST, as PDF: haccp report yesterday.

    The same record, options and moment of printing give the same bytes.
    """
    zone = session.register.zone
    moment = parse_when(printed, session.now, zone)
    begins = parse_day(first, session.now, zone)
    ends = parse_day(last, session.now, zone) if last else begins
    if ends < begins:
        raise Refused(f"{last} comes before {first}: type the first day first.")
    if day_starts(begins, zone) > moment:
        raise Refused(f"{begins} has not begun: type a day that has.")
    # what prints draws and typesets: imported here, so that a cook's entry does not wait for it
    from haccp.printing.curve import draw
    from haccp.printing.head_code import scannable
    from haccp.printing.report_words import gather
    from haccp.printing.typeset import typeset

    record = session.record.as_known_at(moment).walked_since(begins_to_matter(begins, zone))
    content = gather(record, read_register(record), begins, ends, moment)
    drawings = {file: draw(curve) for file, curve in content.curves.items()}
    drawings["head.svg"] = scannable(record.head())
    pdf = typeset(content.words, drawings, template="report", paper=paper, printed=moment)
    output = output or Path(f"haccp-{begins}{f'-to-{ends}' if ends != begins else ''}.pdf")
    write_whole(output, pdf)
    say(f"{output} is printed: {content.words['period']}.")
