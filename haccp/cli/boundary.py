"""The outermost boundary: what a person can mend becomes one sentence, everything else a trace.

Exit codes: 0 nothing wrong, 1 a deviation and nothing else, 2 refused, 3 a record or paper that
does not hold together, 70 a bug, 130 interrupted.
Stock click would give 1 to four of these.
"""

import io
import sys
from collections.abc import Sequence
from typing import Any

import click

from haccp.cli.terminal import safe, say
from haccp.errors import Refused

DEVIATION, REFUSED, BROKEN, BUG, INTERRUPTED = 1, 2, 3, 70, 130


class Boundary(click.Group):
    def main(self, args: Sequence[str] | None = None, *rest: Any, **extra: Any) -> Any:
        extra["standalone_mode"] = False
        for stream in (sys.stdout, sys.stderr):
            if isinstance(stream, io.TextIOWrapper):
                # a letter that the terminal does not have must not cost the verdict
                stream.reconfigure(errors="backslashreplace")
        try:
            code = super().main(args, *rest, **extra)
        except Refused as error:
            say(safe(f"Refused: {error}"), err=True)
            code = REFUSED
        except click.exceptions.Abort:
            click.echo("Interrupted; nothing was recorded.", err=True)
            code = INTERRUPTED
        except click.ClickException as error:
            say(safe(f"Refused: {_sentence(error)}"), err=True)
            code = REFUSED
        except OSError as error:
            if isinstance(error, BrokenPipeError):
                # the reader has gone (`haccp ... | head`): nobody is left to tell
                sys.stderr.close()
                code = 0
            else:
                name = error.filename or "The system"
                reason = (error.strerror or "it refuses").lower()
                say(safe(f"Refused: {name}: {reason}."), err=True)
                code = REFUSED
        except Exception:  # noqa: BLE001 - the outermost boundary
            import traceback

            traceback.print_exc()
            say("This is a bug in haccp; haccp list entries says what is recorded.", err=True)
            code = BUG
        sys.exit(code if isinstance(code, int) else 0)


def _sentence(error: click.ClickException) -> str:
    """Say what was wrong with what was typed, and last what helps: to be copied without a stop."""
    ctx = error.ctx if isinstance(error, click.UsageError) else None
    told = error.format_message()
    if isinstance(error, click.NoSuchOption):
        from difflib import get_close_matches

        params = ctx.command.params if ctx else []
        known = {name.lstrip("-") for one in params for name in one.opts if name.startswith("--")}
        near = get_close_matches(error.option_name.lstrip("-"), known, 1, 0.7)
        meant = f" (did you mean --{near[0]}?)" if near else ""
        told = f"There is no option {error.option_name} here{meant}."
    elif isinstance(error, click.BadParameter) and error.param and ctx:
        wanted = error.param.type
        if isinstance(wanted, click.IntRange):
            name = error.param.get_error_hint(ctx)
            told = (
                f"Invalid value for {name}: type a whole number from {wanted.min} to {wanted.max}."
            )
    return f"{told} See {ctx.command_path} --help" if ctx else told
