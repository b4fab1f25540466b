"""`haccp report`: the inspector's page."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import click

from haccp.cli.outputs import SHOWN, refuse_place, refuse_taken, write_whole
from haccp.cli.papers import (
    PaperSize,
    again_option,
    in_its_papers_language,
    moment_shown,
    paper_options,
    print_paper,
)
from haccp.cli.part_asked_for import (
    Typed,
    as_options,
    batches_meant,
    days_of,
    foods_meant,
    in_a_file_name,
    part_options,
    units_meant,
)
from haccp.cli.session import Session
from haccp.cli.terminal import say
from haccp.errors import Refused
from haccp.kitchen.part_of_review import NothingOnRecord
from haccp.kitchen.register import Register, read_register
from haccp.kitchen.review import walked
from haccp.kitchen.selection import Selection
from haccp.language import message, phrase
from haccp.phrases import ranging
from haccp.record.branches import Branch
from haccp.record.store import Record
from haccp.time import dated, day_starts, parse_days

if TYPE_CHECKING:
    from haccp.printing.report_words import Content


@click.command()
@click.argument("first", required=False, metavar="[DAY]")
@click.argument("last", required=False, metavar="[LAST_DAY]")
@part_options
@paper_options("haccp-DAY.pdf")
@again_option
@click.option(
    "--readings/--no-readings",
    default=None,
    help="All readings as an annex. Default: for a week at most.",
)
@click.option(
    "--csv/--no-csv",
    "csv_",
    default=True,
    show_default=True,
    help="Its readings beside it, as CSV under the same name.",
)
@click.option("--by-month", is_flag=True, help="A PDF for each month: haccp-2026-01.pdf and so on.")
@click.pass_context
def report(
    ctx: click.Context,
    first: str | None,
    last: str | None,
    batches: tuple[str, ...],
    foods: tuple[str, ...],
    units: tuple[str, ...],
    thermometers: bool,
    cooling_log: bool,
    output: Path | None,
    paper: PaperSize,
    printed: str,
    again: str,
    readings: bool | None,
    csv_: bool,
    force: bool,
    by_month: bool,
) -> None:
    """Print a day, or the days FIRST to LAST, as PDF: haccp report yesterday.

    With --batch, --food, --unit, --thermometers or --cooling-log it is about that alone, and says
    so; of several all are shown.

    The same record and options, printed at the same moment, give the same bytes.
    """
    session: Session = ctx.obj
    zone = session.register.zone
    moment = moment_shown(printed, again, session)
    known = session.record.as_known_at(moment)
    part = Typed(batches, foods, units, thermometers=thermometers, cooling_log=cooling_log)
    only, begins, ends = _asked_for(part, first, last, known, moment, session)
    if by_month:
        from haccp.cli.by_month import print_months

        print_months(ctx, begins, ends, moment.astimezone(zone).date())
        return
    # what prints draws: imported here, so that a cook's entry does not wait for it
    from haccp.printing.flat_readings import as_csv, is_own_csv

    days = f"{begins}{f'-to-{ends}' if ends != begins else ''}"
    output = output or Path(f"haccp-{days}{in_a_file_name(only)}.pdf")
    records, is_own = [session.path], is_own_csv(session.identity)
    refuse_place(output, records)
    table = _beside(output) if csv_ else None
    if table:
        refuse_taken(table, records=records, is_own=is_own, force=force)
    # what is a branch by now is one on what is printed anew, of whatever moment
    own = [one for one in session.register.branches if one.is_own and not again]
    register, content, drawings = _gathered(known, own, only, begins, ends, moment, readings, zone)
    print_paper(
        session,
        register,
        {**content.words, "again": _command(begins, ends, only, moment, paper, readings, zone)},
        drawings,
        template="report",
        paper=paper,
        stood=moment,
        again=bool(again),
        output=output,
        force=force,
        told=_told(begins, ends, only),
    )
    if table:
        rows = as_csv(content.readings, session.identity)
        write_whole(table, rows, records=records, is_own=is_own, mode=SHOWN, force=force)
        say(phrase("{file} has the readings, a line each.", file=table))


def _asked_for(
    part: Typed, first: str | None, last: str | None, known: Record, now: datetime, session: Session
) -> tuple[Selection, date, date]:
    """Read what is asked for, and of which days: of batches alone, where none is typed, of theirs.

    `known` is the record as it stood at `now`.
    """
    zone = session.register.zone
    codes = batches_meant(part.batches, known)
    if codes and part.is_of_batches_alone and first is None:
        begins, ends = days_of(codes, known, now, zone)
    else:
        begins, ends = parse_days(first, last, session.now, zone)
    if day_starts(begins, zone) > now:
        raise Refused(phrase("{begins} has not begun: type a day that has.", begins=begins))
    until = day_starts(ends + timedelta(days=1), zone)
    only = Selection(
        batches=codes,
        foods=foods_meant(part.foods, known, day_starts(begins, zone), until),
        units=units_meant(part.units, session.register),
        thermometers=part.thermometers,
        cooling_log=part.cooling_log,
    )
    return only, begins, ends


def _gathered(
    known: Record,
    own: Sequence[Branch],
    only: Selection,
    begins: date,
    ends: date,
    moment: datetime,
    readings: bool | None,
    zone: ZoneInfo,
) -> tuple[Register, "Content", dict[str, bytes]]:
    """Gather what is printed, in the language of the kitchen's papers, with its drawings."""
    from haccp.printing.head_code import scannable
    from haccp.printing.report_words import gather

    record = walked(known, begins, ends, zone)
    register = read_register(record)
    beside = [one for one in register.branches if not (own and one.is_own)]
    register = replace(register, branches=(*own, *beside))
    try:
        with in_its_papers_language(register):
            content = gather(record, register, begins, ends, moment, readings=readings, only=only)
            drawn = {**content.drawings.drawn(), "head.svg": scannable(record.head())}
    except NothingOnRecord as nothing:
        # to who asked, in their own language
        raise Refused(phrase(nothing.words, **nothing.places)) from None
    return register, content, drawn


def _beside(paper: Path) -> Path:
    """Name the table beside a paper: as the paper, but .csv."""
    is_pdf = paper.suffix.casefold() == ".pdf"
    table = paper.with_suffix(".csv") if is_pdf else paper.with_name(f"{paper.name}.csv")
    if paper.suffix.casefold() == ".csv":
        words = message("{path} is to be the paper: name it as {pdf}; its readings go into {csv}.")
        raise Refused(
            phrase(words, path=paper, pdf=paper.with_suffix(".pdf"), csv=paper.with_suffix(".csv"))
        )
    return table


def _told(begins: date, ends: date, only: Selection) -> str:
    """Say which days are printed, and of a part what it is."""
    days = ranging(dated(begins), dated(ends))
    if only.is_whole:
        return days
    return phrase("{days}, in part ({part})", days=days, part=" ".join(as_options(only)))


def _command(
    first: date,
    last: date,
    only: Selection,
    moment: datetime,
    paper: PaperSize,
    readings: bool | None,
    zone: ZoneInfo,
) -> str:
    """Give the command that prints the same bytes again."""
    words = ["haccp report", f"{first}"]
    words += [f"{last}"] if last != first else []
    words += as_options(only)
    words += ["--again", moment.astimezone(zone).isoformat()]
    words += ["--paper", paper] if paper != "letter" else []
    words += [] if readings is None else ["--readings" if readings else "--no-readings"]
    return " ".join(words)
