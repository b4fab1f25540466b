"""`haccp check-file`: judge a file of readings without touching any record."""

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import IO, Any, BinaryIO

import click

from haccp import limits
from haccp.cli import terminal
from haccp.cli.boundary import DEVIATION, REFUSED
from haccp.errors import Refused
from haccp.language import phrase
from haccp.limits import LimitSet
from haccp.limits.loader import take_overrides
from haccp.logs.csv_log import ZERO, LogFile, parse_moment, read_file
from haccp.logs.judged_log import judge_log
from haccp.rules.asked import ShowMoment
from haccp.rules.evidence import Finding, overall
from haccp.rules.words import called


class _Sheet(click.File):
    """A file to read; a name of something in the kitchen is told what it was taken for."""

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> IO[Any]:
        if isinstance(value, str) and value != "-" and not Path(value).exists():
            raise Refused(
                phrase(
                    "There is no file {name}: haccp check-file judges a file of readings; to log "
                    "one type haccp hold {name} TEMP, to look at what is logged haccp show {name}",
                    name=value,
                )
            )
        return super().convert(value, param, ctx)


@click.command()
@click.argument("file", type=_Sheet("rb"))
@click.option(
    "--as-of",
    metavar="WHEN",
    help="Judge as of this moment, written as in the file. Default: after everything.",
)
@click.option(
    "--set",
    "set_name",
    default="food-code-2022",
    show_default=True,
    metavar="SET",
    help="The limits to judge by; haccp limits list names them.",
)
@click.option(
    "--limits",
    "overrides",
    type=click.File("rb"),
    help="A file of local limits to lay over the set's.",
)
@click.option("--json", "json_", is_flag=True, help="Print JSON.")
@click.pass_context
def check(
    ctx: click.Context,
    file: BinaryIO,
    as_of: str | None,
    set_name: str,
    overrides: BinaryIO | None,
    json_: bool,
) -> None:
    """Judge the readings in FILE (CSV; - is standard input) without recording anything.

    Columns: batch,step,taken_at,temp,unit and, optional, held_s,food,note, and prepared_at for food
    made from ingredients at room temperature.
    """
    limit_set = limits.shipped(set_name)
    if overrides:
        text = limits.decoded(overrides.read(), overrides.name)
        limit_set = take_overrides(limit_set, text, overrides.name)
    with _all_kept():
        log = read_file(file)
        judged = list(judge_log(log, limit_set, _as_of(as_of, log)))
        if json_:
            _print_json(judged, log, limit_set)
        else:
            _print_table(judged, log, limit_set)
    if not log.rows:
        terminal.say(phrase("Refused: there is no reading to judge in this file."), err=True)
    if log.rejected or not log.rows:
        ctx.exit(REFUSED)
    if any(finding.verdict.is_deviation for _, findings in judged for finding in findings):
        ctx.exit(DEVIATION)


@contextmanager
def _all_kept() -> Iterator[None]:
    """Look for no circles among what is made: all of it is kept to the end, and there are many."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def _as_of(text: str | None, log: LogFile) -> datetime | None:
    if text is None:
        return None
    moment, minutes = parse_moment(text)
    if log.rows and minutes is not log.in_minutes:
        raise Refused(
            phrase("--as-of {text} is not written as the file's taken_at is.", text=repr(text))
        )
    return moment


def _by_equivalent(finding: Finding) -> bool:
    degrees = {reading.temperature.degree for reading in finding.readings}
    return finding.limit.printed is not None and degrees != {finding.limit.printed}


def _clock(log: LogFile) -> ShowMoment:
    if not log.in_minutes:
        return lambda moment: f"{moment:%Y-%m-%d %H:%M %z}"
    return lambda moment: phrase("minute {number}", number=terminal.minutes(moment - ZERO))


def _print_json(
    judged: list[tuple[str, tuple[Finding, ...]]], log: LogFile, limit_set: LimitSet
) -> None:
    clock = _clock(log)
    terminal.as_json(
        {
            "limits": terminal.limit_set(limit_set),
            "batches": [
                {
                    "batch": name,
                    "findings": [terminal.finding(finding, clock) for finding in findings],
                    "verdict": overall(findings),
                }
                for name, findings in judged
            ],
            "rejected": [{"line": one.line, "why": one.why} for one in log.rejected],
        }
    )


def _print_table(
    judged: list[tuple[str, tuple[Finding, ...]]], log: LogFile, limit_set: LimitSet
) -> None:
    clock = _clock(log)
    for name, findings in judged:
        told = phrase("{batch}: {verdict}", batch=name, verdict=called(overall(findings)))
        terminal.lines(told)
        terminal.findings(findings, clock)
        terminal.lines("")
    for one in log.rejected:
        told = phrase("Line {line} is rejected: {why}.", line=one.line, why=one.why)
        terminal.say(told, err=True)
    terminal.say(terminal.judged_by(limit_set))
    if any(_by_equivalent(finding) for _, findings in judged for finding in findings):
        terminal.say(phrase("Numbers in a degree that the source does not print are equivalents."))
    terminal.say(phrase(terminal.CAUTION))
