"""Commands that are known by name and first sentence; one is imported when it is asked for."""

import re
from collections.abc import Mapping
from importlib import import_module

import click

from haccp.cli.boundary import Boundary

_OPTION = re.compile(r"--?[A-Za-z]")


class Named(click.Command):
    """What `haccp --help` and completion say of a command, without importing its module.

    `home` is its module in this folder and its name there, with a colon between.
    """

    def __init__(self, name: str, home: str, first_sentence: str) -> None:
        super().__init__(name, help=first_sentence, add_help_option=False)
        self.home = home

    def imported(self) -> click.Command:
        module, attribute = self.home.split(":")
        command: click.Command = getattr(import_module(f"haccp.cli.{module}"), attribute)
        if command.context_settings.get("ignore_unknown_options"):
            # where -4F has to be a temperature, a wrong option would be read as a time
            for param in command.params:
                if isinstance(param, click.Argument) and param.type is not click.UNPROCESSED:
                    param.callback = _refuse_options
        return command


class Commands(Boundary):
    """The group of every command, each imported only when it is run or asked for its own help.

    A command's capitals are no matter; `unknown` answers a word that is no command.
    """

    unknown = Named("", "unknown:unknown", "")

    def add_all(self, table: Mapping[str, Mapping[str, str]]) -> None:
        """Take up commands: by name, their module and attribute; with their first sentence."""
        for module, commands in table.items():
            for named, first_sentence in commands.items():
                name = named.rstrip("_").replace("_", "-")
                self.add_command(Named(name, f"{module}:{named}", first_sentence))

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if args[0] not in self.commands:
            args = [args[0].casefold(), *args[1:]] if args[0].casefold() in self.commands else args
        if args[0] not in self.commands and not _OPTION.match(args[0]):
            return "", self.unknown.imported(), args
        name, command, rest = super().resolve_command(ctx, args)
        return name, command.imported() if isinstance(command, Named) else command, rest


def _refuse_options(
    ctx: click.Context, _: click.Parameter, value: str | tuple[str, ...] | None
) -> str | tuple[str, ...] | None:
    """Refuse what reads like an option among a command's words: there is none of that name."""
    for word in (value or "",) if isinstance(value, str | None) else value:
        if _OPTION.match(word):
            raise click.NoSuchOption(word.split("=")[0], ctx=ctx)
    return value
