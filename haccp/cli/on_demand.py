"""Commands that are known by name and in short; one is imported when it is asked for."""

import re
from collections.abc import Mapping
from copy import copy
from importlib import import_module
from typing import TypeVar

import click
from click.shell_completion import CompletionItem

from haccp.cli.boundary import Boundary
from haccp.cli.reader import read_by_programs
from haccp.language import is_english, phrase

_OPTION = re.compile(r"--?[A-Za-z]")


class Named(click.Command):
    """What `haccp --help` and completion say of a command, without importing its module.

    `home` is its module in this folder and its name there, with a colon between.
    """

    def __init__(self, name: str, home: str, in_short: str) -> None:
        super().__init__(name, short_help=in_short, add_help_option=False)
        self.home = home

    def imported(self) -> click.Command:
        module, attribute = self.home.split(":")
        command: click.Command = getattr(import_module(f"haccp.cli.{module}"), attribute)
        _tell_programs_in_english(command)
        if command.context_settings.get("ignore_unknown_options"):
            # where -4F has to be a temperature, a wrong option would be read as a time
            for param in command.params:
                if isinstance(param, click.Argument) and param.type is not click.UNPROCESSED:
                    param.callback = _refuse_options
        return in_readers_language(command)

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Keep the words as they are: it is completed, never run."""
        ctx.args = args
        return args

    def shell_complete(self, ctx: click.Context, incomplete: str) -> list[CompletionItem]:
        """Complete a name from the record, or an option of the command itself."""
        if incomplete.startswith("-"):
            own = self.imported()
            with own.make_context(self.name, [], parent=ctx.parent, resilient_parsing=True) as its:
                return own.shell_complete(its, incomplete)
        from haccp.cli.completing import completed

        db = ctx.parent.params.get("db") if ctx.parent else None
        return completed(self.name or "", ctx.args, incomplete, db)


class Commands(Boundary):
    """The group of every command, each imported only when it is run or asked for its own help.

    A command's capitals are no matter; `unknown` answers a word that is no command.
    """

    unknown = Named("", "unknown:unknown", "")

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        command = super().get_command(ctx, self.earlier.get(cmd_name, cmd_name))
        return command and in_readers_language(command)

    def format_help(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        super(Commands, in_readers_language(self)).format_help(ctx, formatter)

    def add_all(
        self, table: Mapping[str, Mapping[str, tuple[str, str]]], earlier: Mapping[str, str]
    ) -> None:
        """Take up commands by part of the day, each with its home and what it is in short.

        `earlier` are names of before, with what they are called now.
        """
        self.parts = table
        self.earlier = earlier
        for commands in table.values():
            for name, (home, in_short) in commands.items():
                self.add_command(Named(name, home, in_short))

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        word, *rest = args
        if self.get_command(ctx, word) is None:
            word = word.casefold()
            is_known = self.get_command(ctx, word) is not None or _OPTION.match(word)
            if not is_known and not ctx.resilient_parsing:
                return "", self.unknown.imported(), [word, *rest]
        args = [self.earlier.get(word, word), *rest]
        name, command, rest = super().resolve_command(ctx, args)
        if ctx.resilient_parsing and isinstance(command, Named) and _is_completed(command):
            return name, command, rest
        return name, command.imported() if isinstance(command, Named) else command, rest

    def format_commands(self, _: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands by part of the day, in the order in which they are used."""
        width = max(len(name) for commands in self.parts.values() for name in commands)
        for part, commands in self.parts.items():
            with formatter.section(phrase(part)):
                formatter.write_dl(
                    [
                        (name.ljust(width), phrase(in_short))
                        for name, (_, in_short) in commands.items()
                    ]
                )


def _is_completed(command: Named) -> bool:
    from haccp.cli.completing import WORDS

    return command.name in WORDS


_Command = TypeVar("_Command", bound=click.Command)


def in_readers_language(command: _Command) -> _Command:
    """Give a command whose help, and its options', is in the reader's language."""
    if is_english():
        return command
    told = copy(command)
    told.help = _paragraphs(command.help)
    told.short_help = _paragraphs(command.short_help)
    told.options_metavar = _paragraphs(command.options_metavar)
    told.params = [copy(param) for param in command.params]
    for param in told.params:
        if isinstance(param, click.Option):
            param.help = _paragraphs(param.help)
    if isinstance(told, click.Group):
        told.subcommand_metavar = phrase(told.subcommand_metavar)
        told.commands = {name: in_readers_language(one) for name, one in told.commands.items()}
    return told


def paragraphs(text: str) -> list[str]:
    """Take a help's text apart as it stands in the catalog."""
    return [" ".join(paragraph.split()) for paragraph in text.split("\n\n")]


def _paragraphs(text: str | None) -> str | None:
    # an empty text asks gettext for the catalog's own head
    return text and "\n\n".join(phrase(one) for one in paragraphs(text))


def _tell_programs_in_english(command: click.Command) -> None:
    for param in command.params:
        if param.name == "json_":
            param.callback = read_by_programs
            param.is_eager = True
    for one in command.commands.values() if isinstance(command, click.Group) else ():
        _tell_programs_in_english(one)


def _refuse_options(
    ctx: click.Context, _: click.Parameter, value: str | tuple[str, ...] | None
) -> str | tuple[str, ...] | None:
    """Refuse what reads like an option among a command's words: there is none of that name."""
    for word in (value or "",) if isinstance(value, str | None) else value:
        if _OPTION.match(word):
            raise click.NoSuchOption(word.split("=")[0], ctx=ctx)
    return value
