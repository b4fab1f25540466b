"""The outermost boundary: what a person can mend becomes one sentence, everything else a trace.

Exit codes: 0 nothing wrong, 1 a deviation and nothing else, 2 refused, 3 a record or paper that
does not hold together, 70 a bug, 130 interrupted.
Stock click would give 1 to four of these.
"""

import io
import sys
import traceback
from collections.abc import Sequence
from typing import Any

import click

from haccp.cli.show import safe
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
            click.echo(safe(f"Refused: {error}"), err=True)
            code = REFUSED
        except click.exceptions.Abort:
            click.echo("Interrupted; nothing was recorded.", err=True)
            code = INTERRUPTED
        except click.ClickException as error:
            where = (
                error.ctx.command_path if isinstance(error, click.UsageError) and error.ctx else ""
            )
            hint = f" See {where} --help." if where else ""
            click.echo(safe(f"Refused: {error.format_message()}{hint}"), err=True)
            code = REFUSED
        except OSError as error:
            if isinstance(error, BrokenPipeError):
                # the reader has gone (`haccp ... | head`): nobody is left to tell
                sys.stderr.close()
                code = 0
            else:
                name = error.filename or "The system"
                reason = (error.strerror or "it refuses").lower()
                click.echo(safe(f"Refused: {name}: {reason}."), err=True)
                code = REFUSED
        except Exception:  # noqa: BLE001 - the outermost boundary
            traceback.print_exc()
            click.echo(
                "This is a bug in haccp; haccp list entries says what is recorded.", err=True
            )
            code = BUG
        sys.exit(code if isinstance(code, int) else 0)
