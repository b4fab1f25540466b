"""The outermost boundary: what a person can mend becomes one sentence, everything else a trace.

What was recorded by then is told whatever ended the command: an interrupt, a full disk, a bug.

Exit codes: 0 nothing wrong, 1 a deviation and nothing else, 2 refused, 3 a record or paper that
does not hold together, 4 recorded but not told, 70 a bug, 130 interrupted.
Stock click would give 1 to four of these.
"""

import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from typing import Any

import click

from haccp.cli import terminal
from haccp.cli.interrupts import held
from haccp.cli.reader import read_by_environment
from haccp.errors import Refused
from haccp.language import message, phrase

DEVIATION, REFUSED, BROKEN, UNTOLD, BUG, INTERRUPTED = 1, 2, 3, 4, 70, 130


class Boundary(click.Group):
    def make_context(self, *arguments: Any, **extra: Any) -> click.Context:
        with _as_it_was():
            return super().make_context(*arguments, **extra)

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command; whatever ends it after a commit is told as what came after a commit."""
        with _as_it_was():
            try:
                return super().invoke(ctx)
            except click.exceptions.Exit:
                raise
            except (Exception, KeyboardInterrupt) as error:
                # a Session's; its module would bring the database along, which help needs not
                recorded = getattr(ctx.obj, "recorded", [])
                if recorded:
                    raise _AfterCommit(recorded) from error
                raise

    def main(self, args: Sequence[str] | None = None, *rest: Any, **extra: Any) -> Any:
        extra["standalone_mode"] = False
        terminal.prepare()
        with read_by_environment():
            try:
                code = super().main(args, *rest, **extra)
            except (Exception, KeyboardInterrupt) as error:  # noqa: BLE001 - the outermost boundary
                # a second interrupt must not cut off what is said of the first
                with suppress(KeyboardInterrupt), held():
                    code = _told(error)
        terminal.finish()
        sys.exit(code if isinstance(code, int) else 0)


class _Ended(Exception):  # noqa: N818 - it says how, not what went wrong
    """How a command ended, its cause, where click would decide by itself what that means."""


@contextmanager
def _as_it_was() -> Iterator[None]:
    """Keep click from writing of an interrupt, and from leaving with 1 where a pipe has ended."""
    try:
        yield
    except (KeyboardInterrupt, BrokenPipeError) as error:
        raise _Ended from error


class _AfterCommit(Exception):  # noqa: N818 - it says when something came, not what
    """What ended a command, its cause, came when these entries were on disk already."""

    def __init__(self, numbers: Sequence[int]) -> None:
        super().__init__(numbers)
        from haccp.phrases import runs_of  # --help and completion need nothing of it

        self.recorded = phrase("Recorded as no. {numbers}.", numbers=runs_of(numbers))


def _told(error: BaseException) -> int:
    """Say how a command ended that did not come to its end; gives the exit code."""
    recorded = error.recorded if isinstance(error, _AfterCommit) else ""
    if isinstance(error, _AfterCommit | _Ended) and error.__cause__:
        error = error.__cause__
    if isinstance(error.__cause__, KeyboardInterrupt):
        # Python wraps one that comes while a class is made, as happens during an import
        error = error.__cause__
    match error:
        case click.Abort() | KeyboardInterrupt():
            terminal.lines("", err=True)  # ends the line in which a terminal shows ^C
            recorded = recorded or phrase("Nothing was recorded.")
            terminal.call_out(phrase("Interrupted. {recorded}", recorded=recorded))
            return INTERRUPTED
        case BrokenPipeError() if not recorded:
            # the reader has gone (`haccp ... | head`): nobody is left to tell
            return 0
        case Refused() | click.ClickException() | OSError():
            why = _sentence(error)
            if recorded:
                terminal.call_out(phrase("{recorded} But: {why}", recorded=recorded, why=why))
                return UNTOLD
            terminal.call_out(phrase("Refused: {why}", why=why))
            return REFUSED
        case _:
            import traceback

            terminal.lines(*"".join(traceback.format_exception(error)).splitlines(), err=True)
            bug = phrase("This is a bug in haccp; haccp list entries says what is recorded.")
            if recorded:
                bug = phrase("{recorded} {bug}", recorded=recorded, bug=bug)
            terminal.call_out(bug)
            return BUG


def _sentence(error: Refused | click.ClickException | OSError) -> str:
    match error:
        case click.ClickException():
            return _usage(error)
        case BrokenPipeError():
            return phrase("Nobody read the answer to its end.")
        case OSError():
            return _of_the_system(error)
        case _:
            return str(error)


# What a system says most often; Python has it in English, whatever the reader's language.
_SYSTEM_SAYS = (
    message("no such file or directory"),
    message("permission denied"),
    message("is a directory"),
    message("not a directory"),
    message("no space left on device"),
    message("read-only file system"),
    message("input/output error"),
)


def system_says(error: OSError) -> str:
    said = (error.strerror or "").lower()
    return phrase(said) if said in _SYSTEM_SAYS else said or phrase("it refuses")


def _of_the_system(error: OSError) -> str:
    reason = system_says(error)
    if not error.filename:
        return phrase("The system: {reason}.", reason=reason)
    return phrase("{file}: {reason}.", file=error.filename, reason=reason)


def _no_option(error: click.NoSuchOption, ctx: click.Context | None) -> str:
    if error.option_name == "--db":
        return phrase("The record's file stands before the command: haccp --db FILE and the rest.")
    from difflib import get_close_matches

    params = ctx.command.params if ctx else []
    known = {name.lstrip("-") for one in params for name in one.opts if name.startswith("--")}
    near = get_close_matches(error.option_name.lstrip("-"), known, 1, 0.7)
    if not near:
        return phrase("There is no option {name} here.", name=error.option_name)
    return phrase(
        "There is no option {name} here (did you mean --{near}?).",
        name=error.option_name,
        near=near[0],
    )


def _usage(error: click.ClickException) -> str:
    """Say what was wrong with what was typed, and last what helps: to be copied without a stop."""
    ctx = error.ctx if isinstance(error, click.UsageError) else None
    told = error.format_message()
    if isinstance(error, click.exceptions.NoArgsIsHelpError):
        group = error.ctx.command if error.ctx else None
        names = sorted(group.commands) if isinstance(group, click.Group) else []
        told = phrase("Type what comes next: {names}.", names=", ".join(names))
    elif isinstance(error, click.NoSuchOption):
        told = _no_option(error, ctx)
    elif isinstance(error, click.MissingParameter) and isinstance(error.param, click.Argument):
        if ctx:
            pieces = ctx.command.collect_usage_pieces(ctx)[1:]
            told = phrase(
                "{missing} is missing: type {line}.",
                missing=error.param.make_metavar(ctx).strip("[]."),
                line=" ".join((ctx.command_path, *pieces)),
            )
    elif isinstance(error, click.BadParameter) and isinstance(error.__context__, OSError):
        told = _of_the_system(error.__context__)  # click tells it in English
    elif isinstance(error, click.BadParameter) and error.param and ctx:
        wanted = error.param.type
        if isinstance(wanted, click.IntRange):
            name = error.param.get_error_hint(ctx)
            told = phrase(
                "Invalid value for {name}: type a whole number from {least} to {most}.",
                name=name,
                least=wanted.min,
                most=wanted.max,
            )
    if not ctx:
        return told
    return phrase("{told} See {command} --help", told=told, command=ctx.command_path)
