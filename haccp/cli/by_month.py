"""A report of many months as a PDF for each: every month is a command of its own, on its own core.

So the bytes are those of that command, and so is what it says, or why it refused.
"""

import calendar
from collections.abc import Iterator, Sequence
from concurrent.futures import Future
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager, redirect_stderr, redirect_stdout
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from io import StringIO
from multiprocessing import active_children
from pathlib import Path

import click
from click.core import ParameterSource

from haccp.cli.outputs import clear_partials
from haccp.cli.session import Session
from haccp.cli.terminal import lines, say
from haccp.errors import Refused
from haccp.language import counted, phrase
from haccp.record.every_core import every_core
from haccp.record.places import Place

_DAY = timedelta(days=1)
# What each month's command is given of its own.
_OWN = ("by_month", "first", "last", "output")


@dataclass(frozen=True, slots=True)
class _Month:
    first: date
    last: date
    file: Path

    @property
    def days(self) -> list[str]:
        return [f"{self.first}", f"{self.last}"]


@dataclass(frozen=True, slots=True)
class _Said:
    """What a command said, and its exit code."""

    code: int
    answer: str
    refusal: str


def print_months(ctx: click.Context, first: date, last: date, today: date) -> None:
    """Print each month of kitchen days `first` to `last`, with the options that were typed.

    None is printed of days after `today`, the day whose record they show. A month that cannot be
    printed is told and costs no other; then raises Refused.
    """
    until = min(last, today)
    months = list(_months(first, until, ctx.params["output"]))
    work = [["report", *one.days, "--output", str(one.file), *_typed(ctx)] for one in months]
    failed = []
    with _shared_out(ctx.obj, work) as results:
        for month, result in zip(months, results, strict=True):
            said = _said(result)
            for words in said.answer.splitlines():
                say(words)
            if said.code:
                failed.append(month.file)
                lines(*f"{month.file}: {said.refusal.strip()}".splitlines(), err=True)
    if until < last:
        say(phrase("Days after {day} have not begun: no page is printed for them.", day=until))
    if failed:
        raise Refused(
            counted(
                "{count} month is not printed: {files}.",
                "{count} months are not printed: {files}.",
                len(failed),
                files=", ".join(map(str, failed)),
            )
        )


def _months(first: date, last: date, output: Path | None) -> Iterator[_Month]:
    """Divide days by the calendar; a month that is not whole is named by its days."""
    base = output or Path("haccp.pdf")
    while first <= last:
        whole = date(first.year, first.month, calendar.monthrange(first.year, first.month)[1])
        ends = min(whole, last)
        is_whole = first.day == 1 and ends == whole
        name = f"{first:%Y-%m}" if is_whole else f"{first}-to-{ends}"
        yield _Month(first, ends, base.with_name(f"{base.stem}-{name}{base.suffix}"))
        first = ends + _DAY


def _typed(ctx: click.Context) -> Iterator[str]:
    """Give the options that were typed, but for those that each month has of its own."""
    for option in ctx.command.params:
        name = option.name or ""
        is_typed = ctx.get_parameter_source(name) is ParameterSource.COMMANDLINE
        if not isinstance(option, click.Option) or name in _OWN or not is_typed:
            continue
        value = ctx.params[name]
        if option.is_flag:
            yield option.opts[0] if value else option.secondary_opts[0]
        else:
            for one in value if option.multiple else [value]:
                yield from (option.opts[0], str(one))


@contextmanager
def _shared_out(session: Session, work: Sequence[list[str]]) -> Iterator[list[Future[_Said]]]:
    """Run commands in as many processes as there are cores; whatever ends this ends them all."""
    pool = every_core(len(work))
    ended = True
    try:
        yield [pool.submit(_run, session.path, session.now, words) for words in work]
        ended = False
    finally:
        if ended:
            for process in active_children():
                process.terminate()
        pool.shutdown(cancel_futures=True)
        for words in work if ended else ():
            clear_partials(Path(words[words.index("--output") + 1]))


def _run(path: Place, now: datetime, words: Sequence[str]) -> _Said:
    """Run a command as a person would, at a moment that all the months share."""
    from haccp.cli.main import cli

    answer, refusal = StringIO(), StringIO()
    with redirect_stdout(answer), redirect_stderr(refusal):
        try:
            cli.main(words, prog_name="haccp", obj=Session(path, lambda: now))
        except SystemExit as end:
            code = end.code if isinstance(end.code, int) else 1
    return _Said(code, answer.getvalue(), refusal.getvalue())


def _said(result: Future[_Said]) -> _Said:
    try:
        return result.result()
    except BrokenProcessPool:
        why = phrase("its process was ended, perhaps for want of memory: print a shorter period.")
        return _Said(1, "", why)
