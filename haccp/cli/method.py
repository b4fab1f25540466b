"""`haccp cooling-method`: how a batch cools, for estimates."""

from collections.abc import Iterator
from dataclasses import replace

import click

from haccp.cli.measure import open_batch
from haccp.cli.session import Session, by_option, printable
from haccp.cli.terminal import say
from haccp.equipment import in_one_spelling
from haccp.errors import Refused
from haccp.kitchen.register import Register
from haccp.language import message, phrase
from haccp.quantities import LENGTHS, hundredths, parse_length
from haccp.record.bodies import CoolingSetup
from haccp.record.entries import Draft
from haccp.temperature import COLDEST, parse_temperature
from haccp.time import parse_when

# Warmer air or water cools no food [°F].
_WARMEST_AIR = 110


@click.command()
@click.argument("name", metavar="BATCH")
@click.argument("words", metavar="METHOD")
@click.argument("when", nargs=-1)
@click.option("--nature", type=click.Choice(["open liquid", "stirred", "thick"]))
@click.option("--air", help="The measured temperature of the air or bath around it, such as 38F.")
@click.option("--to", "air_to", help="Where it is only known to be between --air and this.")
@click.option("--container", default="", help="What it is in, such as '2-inch pan'.")
@click.option("--depth", default="", help=f"How deep it is: {LENGTHS}.")
@click.option("--from-start", is_flag=True, help="It cooled so from its first reading on.")
@by_option
@click.pass_obj
def method(
    session: Session,
    name: str,
    words: str,
    when: tuple[str, ...],
    nature: str | None,
    air: str | None,
    air_to: str | None,
    container: str,
    depth: str,
    from_start: bool,
    by: str | None,
) -> None:
    """Say how a batch cools, for estimates; again when that changes (stirred, moved, iced).

    haccp cooling-method stew "ice bath, stirred" --nature stirred --air 33F
    """
    from haccp.kitchen.cooling_conditions import is_cooling, setup_of

    person, register = session.by(by), session.register
    subject = open_batch(session, name)
    at = parse_when(" ".join(when), session.now, register.zone)
    if air_to and not air:
        told = message("--to is the other end of --air: type both, such as --air 36F --to 40F.")
        raise Refused(phrase(told))
    known = setup_of(subject, register, at)
    body = CoolingSetup(
        nature=nature or known.nature,
        air=_degrees(air, register) or ("" if known.method and not from_start else known.air),
        air_to=_degrees(air_to, register),
        method=in_one_spelling(printable(words, phrase("The method"), 80)),
        container=_printable(container) if container else known.container,
        depth_in=hundredths(parse_length(depth, register.degree)) if depth else known.depth_in,
        changed=not from_start and (bool(known.method) or is_cooling(subject, at)),
    )
    if replace(body, changed=False) == known and not from_start:
        told = message("{batch} cools by {method} already: nothing was changed.")
        say(phrase(told, batch=subject.name, method=body.method))
        return
    session.append(Draft(body=body, at=at, person=person.initials, batch=subject.name))
    told = phrase("{batch} cools by: {method}.", batch=subject.name, method=body.method)
    say(" ".join([told, *_counts_anew(body, known)]))


def _printable(container: str) -> str:
    return printable(container, phrase("The container"), 40)


def _counts_anew(body: CoolingSetup, known: CoolingSetup) -> Iterator[str]:
    if body.changed:
        yield phrase("What was measured before counts no more for estimates.")
        if not known.method:
            yield phrase("If it cooled so from the start: the same with --from-start.")


def _degrees(text: str | None, register: Register) -> str:
    if not text:
        return ""
    shown = parse_temperature(text, register.degree)
    if not COLDEST <= shown.fahrenheit <= _WARMEST_AIR:
        told = message("Nothing of {temp} cools food: type what is around it, such as 38F.")
        raise Refused(phrase(told, temp=shown))
    return f"{shown.value}{shown.degree}"
