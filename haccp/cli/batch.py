"""A batch from its opening to its end, and what is done about it."""

import re
import unicodedata

import click

from haccp.cli.session import Session, by_option, printable
from haccp.cli.setting import parse_code
from haccp.errors import Refused
from haccp.record.entries import (
    BatchOpened,
    Body,
    CorrectiveAction,
    Discarded,
    Draft,
    ThermometerCheck,
    UnitEmptied,
    UsedUp,
)
from haccp.record.register import Register
from haccp.record.subjects import (
    every_code,
    find,
    find_known,
    lineage,
    open_codes,
    read_batches,
    use_by,
)
from haccp.rules.instrument import passes_in_ice
from haccp.temperature import parse_temperature
from haccp.time import clock, day_and_clock, parse_when, short_day


@click.command()
@click.argument("food")
@click.argument("when", nargs=-1)
@click.option("--code", help="What to call it; default: the food and the date.")
@click.option("--kind", default="", help="Its kind, where cooking has a limit for it: poultry, ...")
@click.option("--amount", default="", help="How much, such as '12 gal'.")
@click.option(
    "--from", "made_from", multiple=True, metavar="BATCH", help="What went into it; repeat."
)
@click.option("--ambient", is_flag=True, help="From ingredients at room temperature, 3-501.14(B).")
@by_option
@click.pass_obj
def batch(
    session: Session,
    food: str,
    when: tuple[str, ...],
    code: str | None,
    kind: str,
    amount: str,
    made_from: tuple[str, ...],
    ambient: bool,
    by: str | None,
) -> None:
    """Open a batch.

    haccp batch "bean stew" --amount "12 gal"
    """
    person = session.by(by)
    register = session.register
    at = parse_when(" ".join(when), session.now, register.zone)
    kinds = register.limits_at(at).kinds
    if kind and kind not in kinds:
        raise Refused(f"{kind!r} is no kind of food here: type one of {', '.join(kinds)}.")
    food = printable(food, "The food's name", 80)
    every = every_code(session.record)
    _not_taken(code or "", every, register)
    named = (
        parse_code(code, "code")
        if code
        else _code(food, f"{at.astimezone(register.zone):%m%d}", every)
    )
    body = BatchOpened(
        food=food,
        food_kind=kind,
        amount=printable(amount, "The amount", 40) if amount else "",
        made_from=tuple(find(name, every, "batch") for name in made_from),
        ambient=ambient,
    )
    session.append(Draft(body=body, at=at, person=person.initials, batch=named))
    mark = use_by(named, lineage(session.record, named), register)
    click.echo(f"Opened {food} as {named} at {clock(at, register.zone)}.")
    click.echo(f"Date mark: use by {short_day(mark)} (3-501.17).")


def _not_taken(code: str, every: list[str], register: Register) -> None:
    """Refuse a code that reads like another's: a name typed must mean one thing."""
    taken = {name.casefold(): name for name in (*every, *register.units)}
    if code.casefold() in taken:
        raise Refused(f"{taken[code.casefold()]} exists already: type another code with --code.")


def _code(food: str, day: str, taken: list[str]) -> str:
    """Make a code that can be typed: the food's letters and the day, and a number if need be."""
    plain = unicodedata.normalize("NFKD", food).encode("ascii", "ignore").decode().lower()
    stem = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:30].strip("-") or "batch"
    codes = (f"{stem}-{day}" if n == 1 else f"{stem}-{day}-{n}" for n in range(1, len(taken) + 2))
    used = {name.casefold() for name in taken}
    return next(code for code in codes if code not in used)


@click.command()
@click.argument("name", metavar="BATCH")
@click.argument("when", nargs=-1)
@by_option
@click.pass_obj
def used(session: Session, name: str, when: tuple[str, ...], by: str | None) -> None:
    """Close a batch of which nothing is left.

    haccp used stew
    """
    _about_batch(session, name, UsedUp(), when, by, "is used up")


@click.command()
@click.argument("name", metavar="BATCH")
@click.argument("reason")
@click.argument("when", nargs=-1)
@by_option
@click.pass_obj
def discard(
    session: Session, name: str, reason: str, when: tuple[str, ...], by: str | None
) -> None:
    """Record that a batch was thrown away, and why.

    haccp discard stew "41 °F not reached"
    """
    _about_batch(
        session, name, Discarded(reason=printable(reason, "The reason")), when, by, "is discarded"
    )


@click.command()
@click.argument("name", metavar="BATCH_OR_UNIT")
@click.argument("text")
@click.argument("when", nargs=-1)
@by_option
@click.pass_obj
def action(session: Session, name: str, text: str, when: tuple[str, ...], by: str | None) -> None:
    """Record a corrective action.

    haccp action well-1 "turned up, stirred, 141 °F after"
    """
    body = CorrectiveAction(text=printable(text, "The action", 400))
    units = list(session.register.units)
    found = find_known(name, session.record, units)
    _append(session, body, when, by, **{"unit" if found in units else "batch": found})
    click.echo(f"Corrective action for {found} recorded.")


@click.command()
@click.argument("name", metavar="UNIT")
@click.argument("when", nargs=-1)
@by_option
@click.pass_obj
def empty(session: Session, name: str, when: tuple[str, ...], by: str | None) -> None:
    """Record that a unit holds no food now, so that no check of it is missed."""
    found = find(name, list(session.register.units), "unit")
    _append(session, UnitEmptied(), when, by, unit=found)
    click.echo(f"{found} is empty: no check is due until its next reading.")


@click.command(context_settings={"ignore_unknown_options": True})
@click.argument("label", metavar="THERMOMETER")
@click.argument("temp")
@click.argument("when", nargs=-1)
@by_option
@click.pass_obj
def ice(session: Session, label: str, temp: str, when: tuple[str, ...], by: str | None) -> None:
    """Record what a thermometer shows in melting ice.

    haccp ice T1 33F
    """
    register = session.register
    found = find(label, list(register.thermometers), "thermometer")
    shown = parse_temperature(temp, register.degree)
    accuracy = register.limits_at(session.now).get("thermometer-accuracy")
    body = ThermometerCheck(
        thermometer=found,
        temp=str(shown.value),
        degree=shown.degree,
        passed=passes_in_ice(shown, accuracy),
    )
    _append(session, body, when, by)
    if body.passed:
        click.echo(f"{found} passed: {shown} in ice ({accuracy.citation}).")
    else:
        click.echo(f"{found} FAILED: {shown} in ice ({accuracy.citation}). Use another one.")
        click.echo(
            "Every reading it took since its last good check is not shown: see haccp status."
        )


def _about_batch(
    session: Session, name: str, body: Body, when: tuple[str, ...], by: str | None, words: str
) -> None:
    found = find(name, open_codes(session.record), "open batch")
    (batch,) = read_batches(session.record, [found])
    zone = session.register.zone
    at = parse_when(" ".join(when), session.now, zone)
    last = max((entry.at for entry in batch.readings), default=batch.opened.at)
    if at < last:
        shown = day_and_clock(last, session.now, zone)
        raise Refused(f"{found} was measured after that, at {shown}: type a later time.")
    _append(session, body, when, by, batch=found)
    click.echo(f"{found} {words}.")


def _append(
    session: Session,
    body: Body,
    when: tuple[str, ...],
    by: str | None,
    *,
    batch: str | None = None,
    unit: str | None = None,
) -> None:
    person = session.by(by)
    at = parse_when(" ".join(when), session.now, session.register.zone)
    session.append(Draft(body=body, at=at, person=person.initials, batch=batch, unit=unit))
