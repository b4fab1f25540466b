"""Who and what a kitchen has: `add`, `initials`, `pin`."""

import re
from dataclasses import replace
from typing import Any

import click

from haccp import limits
from haccp.catalogs import LANGUAGES
from haccp.cli import terminal
from haccp.cli.session import Session, by_option, confirm, printable
from haccp.errors import Refused
from haccp.kitchen.naming import find, is_taken
from haccp.language import message, phrase
from haccp.limits.loader import LEAST_ACCURATE
from haccp.quantities import LENGTHS, hundredths, parse_length
from haccp.record.bodies import Body, HoldingUnit, Person, PlannedFood, Thermometer
from haccp.record.bodies_of_record import PinSet
from haccp.record.entries import Draft
from haccp.record.pins import have_pins, set_pin
from haccp.rules.evidence import Step
from haccp.signs import folded
from haccp.temperature import is_temperature, parse_temperature
from haccp.time import is_time

_CODE = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,39}")
_INITIALS = re.compile(r"[A-Z]{1,5}")
# How a unit keeps its food, in words.
_KEPT = {
    "hot": message("hot"),
    "cold": message("cold"),
    "egg": message("egg"),
    "frozen": message("frozen"),
}
NATURES = ("open liquid", "stirred", "thick")


@click.group()
def add() -> None:
    """Add a person, a thermometer, a unit or a food (a manager); add it again to change it."""


@add.command()
@click.argument("initials")
@click.argument("name")
@click.option("--role", type=click.Choice(["cook", "manager"]), help="Default: as before, or cook.")
@click.option(
    "--language",
    type=click.Choice([*LANGUAGES]),
    help="What they read at the terminal; default: as before, or the system's.",
)
@click.option("--left", is_flag=True, help="They have left: on the record, but record no more.")
@by_option
@click.pass_obj
def person(
    session: Session,
    initials: str,
    name: str,
    role: str | None,
    language: str | None,
    left: bool,
    by: str | None,
) -> None:
    """Add somebody who records.

    haccp add person JM "Jo Marsh"
    """
    short, whole = parse_initials(initials), printable(name, phrase("The name"))
    people = session.register.people
    known = people.get(short)
    if known and known.name != whole:
        told = message("{initials} is {name}, and stays so on paper: type other initials.")
        raise Refused(phrase(told, initials=short, name=known.name))
    role = role or (known.role if known else "cook")
    language = language or (known.language if known else "")
    body = Person(initials=short, name=whole, role=role, active=not left, language=language)
    managers = [one for one in people.values() if one.role == "manager" and one.active]
    if managers == [known] and (left or role != "manager"):
        raise Refused(phrase("{name} is the only manager: add another one first.", name=whole))
    _add(session, body, by)
    terminal.say(
        phrase(
            "{name} ({initials}), {role}: recorded.",
            name=body.name,
            initials=body.initials,
            role=role,
        )
    )


@add.command()
@click.argument("label")
@click.option("--accuracy", default="2F", show_default=True, help="As stated for it.")
@click.option("--retired", is_flag=True, help="It is no longer used.")
@by_option
@click.pass_obj
def thermometer(session: Session, label: str, accuracy: str, retired: bool, by: str | None) -> None:
    """Add an instrument.

    haccp add thermometer T1 --accuracy 2F
    """
    stated = parse_temperature(accuracy)
    if not 0 < stated.difference <= LEAST_ACCURATE:
        told = message("{accuracy} is no accuracy: type what is stated for {label}, such as 2F.")
        raise Refused(phrase(told, accuracy=stated, label=label))
    body = Thermometer(
        label=parse_code(label),
        accuracy=f"{stated.value}{stated.degree}",
        active=not retired,
    )
    _add(session, body, by)
    told = message("Thermometer {label}, ±{accuracy}: recorded.")
    terminal.say(phrase(told, label=body.label, accuracy=stated))
    allowed = session.register.limits_at(session.now).get("thermometer-accuracy")
    if not allowed.kept_by(stated):
        terminal.say(
            phrase(
                "For food a thermometer within {accuracy} is asked ({citation}): use {label} for "
                "air alone.",
                accuracy=allowed.level,
                citation=allowed.citation,
                label=body.label,
            )
        )


@add.command()
@click.argument("name")
@click.argument("holds", type=click.Choice(["hot", "cold", "egg", "frozen"]))
@click.option(
    "--every",
    type=click.IntRange(5, 1440),
    metavar="MINUTES",
    help="How often it is checked; default: the kitchen's interval.",
)
@click.option(
    "--usual/--not-usual", default=None, help="Food kept so stands here unless a unit is named."
)
@click.option("--retired", is_flag=True, help="It is no longer used.")
@click.option("--yes", is_flag=True, help="It holds its food otherwise from now on.")
@by_option
@click.pass_obj
def unit(
    session: Session,
    name: str,
    holds: str,
    every: int | None,
    usual: bool | None,
    retired: bool,
    yes: bool,
    by: str | None,
) -> None:
    """Add equipment that holds food.

    haccp add unit well-1 hot
    """
    register = session.register
    known = register.units.get(name)
    every = every or (known.every_min if known else register.kitchen.check_every_min)
    if not known and is_taken(name, session.record, register):
        told = message("{name} reads like a batch or unit that is there: type another name.")
        raise Refused(phrase(told, name=repr(name)))
    body = HoldingUnit(
        name=parse_code(name),
        holds=holds,
        every_min=every,
        active=not retired,
        usual=bool(known and known.usual) if usual is None else usual,
    )
    if known and known.holds != holds:
        told = message("{unit} holds food {before}, and from now on {now}.")
        before_now = {"before": phrase(_KEPT[known.holds]), "now": phrase(_KEPT[holds])}
        confirm(phrase(told, unit=name, **before_now), yes=yes)
    # the usual place of a kind is one: the one before is not any more
    others = [one for one in register.units.values() if one.usual and one.holds == holds]
    before = [replace(one, usual=False) for one in others if body.usual and one.name != name]
    _add(session, body, by, *before)
    told = (
        message(
            "{unit} holds food {state}, checked every {minutes} min, where food kept {state} "
            "usually stands: recorded."
        )
        if body.usual
        else message("{unit} holds food {state}, checked every {minutes} min: recorded.")
    )
    terminal.say(phrase(told, unit=body.name, state=phrase(_KEPT[holds]), minutes=every))


@add.command()
@click.argument("name")
@click.option("--kind", help="Its kind, where a limit depends on it: poultry, ...; '' for none.")
@click.option("--steps", help=f"What it goes through, in order: {','.join(Step)}.")
@click.option("--nature", type=click.Choice(NATURES), help="How it cools.")
@click.option("--container", help="What it cools in, such as '4 in hotel pan'.")
@click.option("--depth", help=f"How deep it stands in there: {LENGTHS}.")
@click.option("--unit", help="Where it stands unless another is named; '' for the usual one.")
@click.option("--retired", is_flag=True, help="It is no longer made.")
@by_option
@click.pass_obj
def food(
    session: Session,
    name: str,
    kind: str | None,
    steps: str | None,
    nature: str | None,
    container: str | None,
    depth: str | None,
    unit: str | None,
    retired: bool,
    by: str | None,
) -> None:
    """Add a food that the kitchen makes, for its HACCP plan.

    haccp add food "bean stew" --kind "plant food" --steps receive,cook,cool,cold_hold
    """
    named = printable(name, phrase("The food's name"), 80)
    foods = session.register.foods.values()
    known = [food for food in foods if folded(food.name) == folded(named)]
    chosen = {
        "food_kind": kind if kind is None else _food_kind(kind, session),
        "steps": steps if steps is None else parse_steps(steps),
        "nature": nature,
        "container": container and printable(container, phrase("The container"), 80),
        "depth_in": depth and hundredths(parse_length(depth, session.register.degree)),
        "unit": unit and find(unit, session.register.units_in_use, "unit"),
    }
    changed: dict[str, Any] = {key: value for key, value in chosen.items() if value is not None}
    body = replace(known[0] if known else PlannedFood(name=named), **changed, active=not retired)
    _add(session, body, by)
    told = (
        message("{food} ({kind}): {steps}, in {unit} unless another is named: recorded.")
        if body.unit
        else message("{food} ({kind}): {steps}: recorded.")
    )
    kind_told = body.food_kind or phrase("of no kind")
    through = ", ".join(Step(step).words for step in body.steps) or phrase("no steps yet")
    terminal.say(phrase(told, food=named, kind=kind_told, steps=through, unit=body.unit))


def _food_kind(kind: str, session: Session) -> str:
    kinds = session.register.limits_at(session.now).kinds
    if kind and kind not in kinds:
        told = message("{kind} is no kind of food here: type one of {kinds}.")
        raise Refused(phrase(told, kind=repr(kind), kinds=", ".join(kinds)))
    return kind


def parse_steps(text: str) -> tuple[str, ...]:
    """Read steps such as ``cook,cool``; raises Refused for an unknown one, or twice in a row."""
    steps = [step.strip().lower().replace(" ", "_") for step in text.split(",")]
    for step, following in zip(steps, [*steps[1:], None], strict=True):
        if step not in {*Step}:
            told = message("{step} is no step: type some of {steps}.")
            raise Refused(phrase(told, step=repr(step), steps=",".join(Step)))
        if step == following:
            told = message("{step} stands there twice in a row: type it once.")
            raise Refused(phrase(told, step=repr(step)))
    return tuple(steps)


def _add(session: Session, body: Body, by: str | None, *more: Body) -> None:
    manager = session.manager(by)
    drafts = [Draft(body=one, at=session.now, person=manager.initials) for one in (*more, body)]
    session.append(*drafts, as_seen=True)


@click.command()
@click.argument("initials")
@by_option
@click.pass_obj
def pin(session: Session, initials: str, by: str | None) -> None:
    """Set a manager's PIN, or replace it (a manager, with their own PIN).

    It is asked for and never typed on the command line.
    """
    session.refuse_view()
    person = session.register.person(initials)
    if person.role != "manager":
        raise Refused(phrase("{name} is no manager and needs no PIN.", name=person.name))
    # a record from before there were PINs has none to prove anything by
    proved = have_pins(session.record)
    acting = session.manager(by) if proved else person
    chosen = session.new_pin(person.initials)
    body = PinSet(initials=person.initials, proved=proved)
    session.append(Draft(body=body, at=session.now, person=acting.initials))
    set_pin(session.record, person.initials, chosen, session.now)
    told = message("{name} ({initials}) has a new PIN.")
    terminal.say(phrase(told, name=person.name, initials=person.initials))


@click.command()
@click.argument("initials")
@click.pass_obj
def by(session: Session, initials: str) -> None:
    """Remember who records at this terminal from now on.

    haccp initials JM
    """
    person = session.register.person(initials)
    session.remember(person.initials)
    told = message("From now on entries here are by {name} ({initials}).")
    terminal.say(phrase(told, name=person.name, initials=person.initials))


def parse_initials(text: str) -> str:
    if not _INITIALS.fullmatch(text.strip().upper()):
        told = message("{text} is no initials: type one to five letters such as JM.")
        raise Refused(phrase(told, text=repr(text)))
    return text.strip().upper()


def parse_code(text: str) -> str:
    """Take a name that can be typed without quotes; raises Refused for anything else."""
    if not _CODE.fullmatch(text):
        told = message("{text} cannot be a name: use letters, digits, - and ., such as well-1.")
        raise Refused(phrase(told, text=repr(text)))
    if is_temperature(text) or is_time(text):
        raise Refused(
            phrase(
                "{text} reads like a temperature or a time: begin it with a letter, such as "
                "pan-{text}.",
                text=text,
            )
        )
    return text


def known_limit_set(name: str) -> str:
    """Take a set's name; a kitchen has its newest revision. Raises Refused for any other."""
    known = limits.revisions()
    if name not in known:
        told = message("There is no limit set '{name}': type one of {names}.")
        raise Refused(phrase(told, name=name, names=", ".join(known)))
    return name
