"""What `report`, `plan` and `forms` share: their options, and a PDF that says how it was made."""

from collections.abc import Callable, Iterator, Mapping
from contextlib import AbstractContextManager
from datetime import datetime
from pathlib import Path
from typing import Any, Literal, TypeVar

import click

from haccp.catalogs import catalog_of
from haccp.cli.outputs import SHOWN, force_option, is_paper, paper_mark, write_whole
from haccp.cli.session import Session
from haccp.cli.terminal import say, take_warnings
from haccp.errors import Refused
from haccp.kitchen.register import Register
from haccp.language import counted, phrase, read_in
from haccp.time import parse_when

_Command = TypeVar("_Command", bound=Callable[..., Any])

PaperSize = Literal["letter", "a4"]


def paper_options(default: str) -> Callable[[_Command], _Command]:
    """Give the options of a command that prints a PDF; `default` says under which name."""
    output = click.Path(dir_okay=False, path_type=Path)
    options = (
        click.option("--output", type=output, help=f"Default: {default} here."),
        click.option(
            "--paper", type=click.Choice(["letter", "a4"]), default="letter", show_default=True
        ),
        click.option(
            "--printed",
            metavar="WHEN",
            default="",
            help="As the record stood then; the paper says when it was printed, too.",
        ),
        force_option,
    )

    def add(command: _Command) -> _Command:
        for option in reversed(options):
            command = option(command)
        return command

    return add


again_option = click.option(
    "--again", metavar="WHEN", default="", help="The very bytes printed then, to compare a paper."
)


def moment_shown(printed: str, again: str, session: Session) -> datetime:
    """Give the moment whose record a paper shows, to the second, as its foot says it."""
    if printed and again:
        raise Refused(
            phrase("--again prints what was printed then, --printed prints anew: type one.")
        )
    moment = parse_when(again or printed, session.now, session.register.zone)
    return moment.replace(microsecond=0)


def in_its_papers_language(register: Register) -> AbstractContextManager[None]:
    """Write what is inside in the language of the kitchen's papers, whoever prints it.

    Not the environment's: the same record must print the same paper everywhere.
    """
    return read_in(catalog_of(register.kitchen.language or "en"))


def print_paper(
    session: Session,
    register: Register,
    words: Mapping[str, Any],
    drawings: Mapping[str, bytes],
    *,
    template: Literal["report", "plan", "forms"],
    paper: PaperSize,
    stood: datetime,
    again: bool = False,
    output: Path,
    force: bool,
    told: str,
    attached: Mapping[str, Mapping[str, Any]] | None = None,
) -> None:
    """Set words on pages and write them. `stood` is the moment whose record they show.

    `register` is the kitchen's as it stood then: the paper's own words are in its language, as
    `words` are; `attached` are those of other papers that are printed with it.

    Where that moment is past, it is on the paper and in the terminal beside the moment of printing:
    a paper does not pass for one that was printed earlier. With `again` its bytes are those of one
    that was, to be compared with it.
    """
    # what typesets is imported here, so that a cook's entry does not wait for it
    from haccp.printing.limits_in_words import moment_of_printing
    from haccp.printing.typeset import typeset

    take_warnings()
    at = stood if again else session.now.replace(microsecond=0)
    with in_its_papers_language(register):
        printed = moment_of_printing(at, session.register.zone)
        if stood < at:
            printed = phrase(
                "{printed}, showing the record as it stood on {stood}",
                printed=printed,
                stood=words["printed"],
            )
    mark = paper_mark(template, session.identity)
    tell_unprintable(session, register, words)

    def pages() -> Iterator[bytes]:
        as_printed = {"printed": printed, "mark": mark}
        content = {**words, **as_printed}
        others = {name: {**one, **as_printed} for name, one in (attached or {}).items()}
        with in_its_papers_language(register):
            pdf = typeset(
                content,
                drawings,
                template=template,
                paper=paper,
                printed=at,
                typeface=register.kitchen.typeface,
                attached=others,
            )
        yield pdf

    write_whole(
        output, pages(), records=[session.path], is_own=is_paper(mark), mode=SHOWN, force=force
    )
    say(phrase("{file} is printed: {what}.", file=output, what=told))
    if again:
        say(phrase("These are the bytes of one printed on {at}: compare it with that.", at=printed))
    elif stood < at:
        say(phrase("It says: printed {printed}.", printed=printed))


def tell_unprintable(session: Session, register: Register, words: object) -> None:
    """Say which signs of a paper no typeface here prints: its record may come from elsewhere."""
    from haccp.printing.typefaces import cure, numbered, typefaces
    from haccp.printing.typeset import printable

    named = register.kitchen.typeface
    faces = typefaces(named)
    lacking = list(dict.fromkeys(one for text in _texts(words) for one in faces.lacking(text)))
    if not lacking:
        return
    told = counted(
        "CAUTION: {sign} ({number}) of entry no. {entry} cannot be printed here and stands as "
        "{placeholder}: {cure}",
        "CAUTION: {count} signs such as {sign} ({number}) of entry no. {entry} cannot be printed "
        "here and stand as numbers such as {placeholder}: {cure}",
        len(lacking),
        sign=lacking[0],
        number=numbered(lacking[0]),
        entry=session.record.first_with(lacking[0]) or "?",
        placeholder=printable(lacking[0], faces),
        cure=cure(lacking[0], named),
    )
    say(told, err=True)


def _texts(words: object) -> Iterator[str]:
    """Give every text among a paper's words that is not plain ASCII."""
    match words:
        case str():
            yield from () if words.isascii() else (words,)
        case Mapping():
            yield from (text for one in words.values() for text in _texts(one))
        case list() | tuple():
            yield from (text for one in words for text in _texts(one))
