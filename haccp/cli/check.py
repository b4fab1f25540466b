"""`haccp check-file`: judge a file of readings without touching any record."""

import gc
from collections.abc import Iterator, Sequence
from collections.abc import Set as AbstractSet
from contextlib import contextmanager
from dataclasses import replace
from datetime import datetime
from itertools import pairwise
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
from haccp.logs.csv_log import ZERO, LogFile, LogLine, parse_moment, read_file
from haccp.rules.account.readings_alone import judge_batch
from haccp.rules.asked import ShowMoment
from haccp.rules.evidence import Batch, Finding, Reason, Verdict, overall
from haccp.rules.words import called

# How often one batch at most goes from one step to another: a pot that is reheated, held and cooled
# every day for half a year. Each heating is looked at beside all readings of its food.
_STEPS = 1_000


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
        judged = list(_judged(log, limit_set, _as_of(as_of, log)))
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


def _judged(
    log: LogFile, limit_set: LimitSet, as_of: datetime | None
) -> Iterator[tuple[str, tuple[Finding, ...]]]:
    """Judge batch by batch; one with a rejected line is never called met."""
    broken = {rejected.batch for rejected in log.rejected}
    batches: dict[str, list[LogLine]] = {}
    for row in log.rows:
        batches.setdefault(row.batch, []).append(row)
    kinds = set(limit_set.kinds)
    for name, rows in batches.items():
        if (
            sum(one.reading.step is not other.reading.step for one, other in pairwise(rows))
            > _STEPS
        ):
            raise Refused(
                phrase(
                    "{name} goes from one step to another more than {most} times, so it is no one "
                    "batch: give each batch a name of its own.",
                    name=name,
                    most=f"{_STEPS:,}",
                )
            )
        batch = Batch(
            readings=tuple(row.reading for row in rows),
            kind=_kind(rows, kinds),
            prepared=min((row.prepared for row in rows if row.prepared), default=None),
        )
        findings = judge_batch(batch, limit_set, as_of)
        if name in broken or None in broken:
            findings = tuple(_not_whole(finding) for finding in findings)
        yield name, findings


def _kind(rows: Sequence[LogLine], kinds: AbstractSet[str]) -> str:
    """Take the kind of food that every row names, if known; else the strictest limit."""
    foods = {row.food.casefold() for row in rows}
    return foods.pop() if len(foods) == 1 and foods <= kinds else ""


def _by_equivalent(finding: Finding) -> bool:
    degrees = {reading.temperature.degree for reading in finding.readings}
    return finding.limit.printed is not None and degrees != {finding.limit.printed}


def _not_whole(finding: Finding) -> Finding:
    if finding.verdict is not Verdict.MET:
        return finding
    return replace(finding, verdict=Verdict.NOT_SHOWN, reason=Reason.LINES_REJECTED)


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
