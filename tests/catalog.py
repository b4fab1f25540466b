"""The catalogs of languages: what the code says, brought into each .po, and .po made into .mo.

``python -m tests.catalog`` brings every catalog up to date: new messages come in empty, those that
nobody says any more go out, comments stay.
"""

import ast
import os
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import click
from babel.messages.catalog import Catalog, Message
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

from haccp.catalogs import DOMAIN, FOLDER, LANGUAGES
from haccp.cli.main import cli
from haccp.cli.on_demand import Named, paragraphs
from haccp.limits import plan_tables

_PACKAGE = Path(__file__).parents[1] / "haccp"
# By the name of a function, how many of its first arguments are messages.
_OURS = {"phrase": 1, "message": 1, "counted": 2}
_CLICKS = {"_": 1, "gettext": 1, "ngettext": 2}
# The modules of click whose words reach somebody who types haccp; it runs no editor and no pager.
_OF_CLICK = ("core", "decorators", "exceptions", "formatting", "parser", "termui", "types")
# What Babel notes of who worked on a catalog, and when: two people's would never merge.
_NOTED = ("Project-Id", "Report-Msgid", "POT-Creation", "PO-Revision", "Last-Translator",
          "Language-Team", "Generated-By")  # fmt: skip


class Said(NamedTuple):
    """A message, or the two forms of a counted one, and where it stands."""

    words: tuple[str, ...]
    where: str


class NotWhole(Exception):  # noqa: N818 - it says what is wrong with a sentence
    """A sentence that no catalog can hold: put together, or filled in, before it is looked up."""


def said() -> Iterator[Said]:
    """Give every message: of the code, of the plan's tables, of click, of every command's help."""
    for path in sorted(_PACKAGE.rglob("*.py")):
        where = path.relative_to(_PACKAGE.parent).as_posix()
        yield from (Said(words, where) for words in _calls(path, _OURS))
    yield from (Said((text,), "haccp/limits/plan_tables.py") for text in plan_tables.texts())
    for name in _OF_CLICK:
        path = Path(click.__file__).with_name(f"{name}.py")
        for words in _calls(path, _CLICKS, or_else=True):
            yield Said(words, f"click.{name}")
    yield from _help_of(cli, "help:haccp")


def _calls(
    path: Path, names: dict[str, int], *, or_else: bool = False
) -> Iterator[tuple[str, ...]]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Name)):
            continue
        count = names.get(node.func.id, 0)
        told = [one for one in node.args[:count] if not isinstance(one, ast.Constant)]
        if count and not told:
            yield tuple(
                str(one.value) for one in node.args[:count] if isinstance(one, ast.Constant)
            )
        for one in () if or_else else told:
            # a name, an attribute or an element was marked where it was written
            if not isinstance(one, ast.Name | ast.Attribute | ast.Subscript):
                where = f"{path.name}:{one.lineno}"
                raise NotWhole(f"{where}: {ast.unparse(one)} is no one sentence")


def _help_of(command: click.Command, name: str) -> Iterator[Said]:
    command = command.imported() if isinstance(command, Named) else command
    texts = [command.help, command.options_metavar]
    texts += [param.help for param in command.params if isinstance(param, click.Option)]
    if isinstance(command, click.Group):
        texts.append(command.subcommand_metavar)
        for known_as, one in command.commands.items():
            yield from _help_of(one, f"{name}-{known_as}")
    for text in filter(None, texts):
        # a command to type is the same in every language
        yield from (Said((one,), name) for one in paragraphs(text) if not one.startswith("haccp "))


def spoken() -> Catalog:
    """Give all that the code says as a catalog without translations."""
    catalog = Catalog(domain=DOMAIN)
    for words, where in said():
        catalog.add(words if len(words) > 1 else words[0], locations=[(where, 0)])
    return catalog


def path_of(language: str) -> Path:
    return FOLDER / LANGUAGES[language] / "LC_MESSAGES" / f"{DOMAIN}.po"


def read(language: str) -> Catalog:
    with path_of(language).open("rb") as file:
        return read_po(file)


def update(language: str) -> Catalog:
    """Bring a catalog up to date; gives it as it is now."""
    catalog = read(language)
    catalog.update(spoken(), no_fuzzy_matching=True)
    partial = path_of(language).with_suffix(f".{os.getpid()}")
    with partial.open("wb") as file:
        write_po(
            file, catalog, width=100, sort_output=True, include_lineno=False, ignore_obsolete=True
        )
    lines = partial.read_text(encoding="utf-8").splitlines(keepends=True)
    lines = [line for line in lines if not line.startswith(tuple(f'"{one}' for one in _NOTED))]
    partial.write_text("".join(lines), encoding="utf-8")
    partial.replace(path_of(language))
    return read(language)


def compile_stale() -> None:
    """Compile what was changed since it was compiled, as an installation does."""
    for language in filter(LANGUAGES.get, LANGUAGES):
        source, made = path_of(language), path_of(language).with_suffix(".mo")
        if made.exists() and made.stat().st_mtime_ns > source.stat().st_mtime_ns:
            continue
        partial = made.with_suffix(f".{os.getpid()}")
        with partial.open("wb") as file:
            write_mo(file, read(language))
        partial.replace(made)


def missing(catalog: Catalog) -> list[Message]:
    """Give the messages that have no translation, or not all its forms."""
    return [one for one in catalog if one.id and not all(forms(one.string))]


def forms(string: object) -> tuple[str, ...]:
    """Give what a message is told as: one form, or one for each number."""
    return tuple(string) if isinstance(string, tuple | list) else (str(string),)


if __name__ == "__main__":
    for language in filter(LANGUAGES.get, LANGUAGES):
        left = missing(update(language))
        compile_stale()
        print(f"{path_of(language)}: {len(left)} to be translated")  # noqa: T201
        for one in left:
            print(f"  {one.id}")  # noqa: T201
