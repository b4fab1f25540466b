"""Turns what was typed for `haccp plan-cooling` into what the models can answer."""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, fields, replace
from datetime import timedelta
from math import pi

from haccp import limits
from haccp.cli.cooling_places import Place, check_moving, place, then
from haccp.cli.cooling_time import clock
from haccp.cli.cooling_words import length_in, shown
from haccp.cli.session import Session, printable
from haccp.equipment import ICE_BATH, ICE_WAND
from haccp.errors import Refused
from haccp.kitchen.naming import find
from haccp.language import message, phrase
from haccp.limits import Limit, LimitSet
from haccp.physics.cooling_setup import Consistency, Load, Pan, Pot, Roast, Setup, Slab, Then
from haccp.physics.food_kinds import cautious, nearest
from haccp.physics.planning import PAN_SIZES
from haccp.physics.properties import Composition, Food, foods, properties
from haccp.quantities import INCH_M, POUND_KG, Amount, parse_amount, parse_length, parse_weight
from haccp.record import bodies
from haccp.rules.account.levels import Levels
from haccp.rules.thermometer import pressure_at
from haccp.signs import folded
from haccp.temperature import Degree
from haccp.time import spell

# As they are told; typed and stored they are English for all.
_NATURES = {
    "open liquid": message("open liquid"),
    "stirred": message("stirred"),
    "thick": message("thick"),
}
_CONSISTENCIES = {
    "open liquid": Consistency.THIN,
    "stirred": Consistency.STIRRED,
    "thick": Consistency.THICK,
}

_GRAMS = re.compile(r"([a-z]+)\s*([0-9]{1,3}(?:\.[0-9]{1,3})?)")
COMPONENTS = tuple(field.name for field in fields(Composition))


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What is asked, as it was typed; None where nothing was."""

    food: str
    amount: str | None
    method: str
    air: str | None
    moving: bool
    covered: bool
    nature: str | None
    start: str | None
    container: str | None
    depth: str | None
    diameter: str | None
    weight: str | None
    composition: str | None
    then: str | None
    then_air: str | None
    at: str | None
    after: str | None
    left: str | None
    from_now: str | None


@dataclass(frozen=True, slots=True)
class Asked:
    """A question that the models can answer. `taken` says what was not typed, and from where.

    `likeness` says what a food that is not known is counted as, else it is empty. `unstirred` is
    what the food is like while nobody stirs it. `is_now` where the time counts from now on.
    """

    words: str
    likeness: str
    taken: tuple[str, ...]
    unstirred: Consistency
    is_now: bool
    food: Food
    setup: Setup
    litres: float | None
    stages: tuple[Limit, ...]
    limits: LimitSet
    degree: Degree
    metric: bool


def ask(session: Session, question: Question) -> Asked:
    now = session.now
    register = session.register if session.has_record else None
    degree = register.degree if register else Degree.F
    limit_set = register.limits_at(now) if register else limits.shipped()
    stages = Levels(limit_set).stages
    planned = _planned(question.food, register.foods.values() if register else ())
    food, likeness = _food(question, planned)
    container = question.container or (
        "pot" if planned and re.search(r"\bpot\b", planned.container, re.IGNORECASE) else "pan"
    )
    first, second = _places(question, degree)
    nature, unstirred, taken_nature = _nature(question, planned, food, container, first)
    counted = clock(session, (question.start, question.left, question.from_now), stages, degree)
    when, level = (question.at, question.after), counted.stages[0].celsius
    moved, taken_then = then(second, unstirred, when, level, degree) if second else (None, ())
    setup = Setup(
        food=food.composition,
        consistency=_CONSISTENCIES[nature],
        load=_load(question, planned, food, container, degree),
        air=first.air,
        start=counted.start,
        stages=counted.stages,
        bath=first.bath,
        covered=question.covered,
        wand=first.method == ICE_WAND,
        pressure_hpa=float(pressure_at(register.kitchen_at(now).altitude_m if register else 0)),
        then=moved,
    )
    amount = parse_amount(question.amount) if question.amount is not None else None
    litres = None if amount is None else _litres(amount, setup)
    metric = degree is Degree.C or (question.depth or "").strip().endswith(("cm", "mm"))
    name = planned.name if planned else printable(question.food, phrase("The food"), 80)
    words = (
        phrase("{amount} of {food}", amount=amount, food=name) if amount else name,
        phrase(_NATURES[nature]),
        _place(setup, metric),
        first.words(degree),
        *([_then_words(second, moved, degree)] if second and moved else []),
        _from(shown(setup.start, degree), is_now=counted.is_now),
    )
    places = (*first.taken, *(second.taken if second else ()), *taken_then)
    return Asked(
        words=", ".join(words),
        likeness=likeness,
        taken=(*taken_nature, *_taken_sizes(question, container, setup), *places, *counted.taken),
        unstirred=unstirred,
        is_now=counted.is_now,
        food=food,
        setup=replace(setup, litres=litres or 0.0),
        litres=litres,
        stages=stages,
        limits=limit_set,
        degree=degree,
        metric=metric,
    )


def _from(start: str, *, is_now: bool) -> str:
    if is_now:
        return phrase("from {start} now", start=start)
    return phrase("from {start}", start=start)


def _taken_sizes(question: Question, container: str, setup: Setup) -> Iterator[str]:
    """Say what of the depth and the amount was not typed and counts."""
    if not question.depth and container != "roast":
        yield phrase("depth by the kitchen's plan")
    airs = (setup.air, setup.then.air if setup.then else setup.air)
    if any(air.cooler for air in airs) and question.amount is None:
        yield phrase("one container in it (else the amount)")


def _places(question: Question, degree: Degree) -> tuple[Place, Place | None]:
    moving = question.moving
    first = place(question.method, question.air, "--air", degree, moving=moving)
    if question.then is None:
        if question.at or question.after or question.then_air:
            raise Refused(phrase("Where does it go then? Add --then, such as --then walk-in."))
        second = None
    else:
        second = place(question.then, question.then_air, "--then-air", degree, moving=moving)
    check_moving((first, second) if second else (first,), moving=moving)
    return first, second


def _then_words(second: Place, moved: Then, degree: Degree) -> str:
    there = second.words(degree)
    if moved.celsius is not None:
        return phrase("then at {at}: {place}", at=shown(moved.celsius, degree), place=there)
    assert moved.minutes is not None  # a move has the one or the other
    after = spell(timedelta(minutes=moved.minutes))
    return phrase("then after {after}: {place}", after=after, place=there)


def _planned(name: str, known: Iterable[bodies.PlannedFood]) -> bodies.PlannedFood | None:
    """Find the food in the kitchen's plan: by its whole name, or the beginning of one alone."""
    wanted = folded(name.strip())
    made = {folded(food.name): food for food in known if food.active}
    begun = [one for one in made if wanted and one.startswith(wanted)]
    return made.get(wanted) or (made[begun[0]] if len(begun) == 1 else None)


def _food(question: Question, planned: bodies.PlannedFood | None) -> tuple[Food, str]:
    """Find the food asked about, or the nearest kind, and say which where it is not known."""
    known = {name: key for key, food in foods().items() for name in food.names}
    like = question.composition
    if like is None:
        name = planned.name if planned and planned.name.casefold() in known else question.food
        wanted = name.strip().casefold()
        if wanted and not any(one.startswith(wanted) for one in known):
            return _nearest(printable(name, phrase("The food"), 80))
        return foods()[find(wanted, known, "food in the table")], ""
    if not any(letter.isdigit() for letter in like):
        return foods()[find(like.strip(), known, "food in the table")], ""
    return Food(phrase("own composition"), _composition(like), phrase("as typed")), ""


def _nearest(name: str) -> tuple[Food, str]:
    if food := nearest(name):
        told = message("{name} is not known: taken as {food}; --composition says otherwise.")
        return food, phrase(told, name=repr(name), food=food.name)
    told = message(
        "{name} is like no food that is known: taken as thick and slow to cool, as {food}; "
        "--composition and --nature say otherwise."
    )
    return cautious(), phrase(told, name=repr(name), food=cautious().name)


def _composition(text: str) -> Composition:
    """Read grams in 100 g; carbohydrate may be with its fibre or without, as it makes 100 g."""
    example = "water 75.5, protein 5.7, fat 5.5, carbohydrate 7.5, fibre 4.4, ash 1.4"
    grams: dict[str, float] = {}
    for part in text.lower().replace("fiber", "fibre").split(","):
        match = _GRAMS.fullmatch(part.strip())
        if match is None or match[1] not in COMPONENTS or match[1] in grams:
            raise Refused(
                phrase(
                    "{part} is no part of a composition: type {example}.",
                    part=repr(part.strip()),
                    example=example,
                )
            )
        grams[match[1]] = float(match[2])
    if missing := [name for name in COMPONENTS if name not in grams]:
        raise Refused(
            phrase(
                "The composition has no {part}: type {example}.", part=missing[0], example=example
            )
        )
    without = 100 - sum(grams.values())
    if abs(without) < abs(without + grams["fibre"]):
        grams["carbohydrate"] += grams["fibre"]
    return Composition(**grams)


def _nature(
    question: Question,
    planned: bodies.PlannedFood | None,
    food: Food,
    container: str,
    first: Place,
) -> tuple[str, Consistency, tuple[str, ...]]:
    """Say what it is like in its first place, what while nobody stirs it, and what was taken."""
    by_plan = planned.nature if planned and planned.nature in _CONSISTENCIES else ""
    still = [one for one in (question.nature, by_plan) if one and one != "stirred"]
    usual = "open liquid" if food.thin else "thick"
    unstirred = Consistency.THICK if container == "roast" else _CONSISTENCIES[[*still, usual][0]]
    if question.nature:
        return question.nature, unstirred, ()
    if container == "roast":
        return "thick", unstirred, ()
    if first.method == ICE_BATH:
        return "stirred", unstirred, (phrase("stirred, as an ice bath is meant"),)
    if first.is_stirred:
        return "stirred", unstirred, ()
    if by_plan:
        told = phrase("{nature} by the kitchen's plan", nature=phrase(_NATURES[by_plan]))
        return by_plan, unstirred, (told,)
    told = phrase("{nature} (else --nature)", nature=phrase(_NATURES[usual]))
    return usual, unstirred, (told,)


def _load(
    question: Question,
    planned: bodies.PlannedFood | None,
    food: Food,
    container: str,
    degree: Degree,
) -> Load:
    wide = _size(question.diameter, "diameter", 100, degree) if question.diameter else None
    if container == "roast":
        return _roast(question, food, wide, degree)
    if question.weight:
        raise Refused(phrase("--weight is of one roast: add --container roast, or leave it out."))
    if question.depth:
        depth = _size(question.depth, "depth", 60, degree)
    elif planned and planned.depth_in:
        depth = float(planned.depth_in) * INCH_M
    else:
        raise Refused(phrase("How deep does it stand? Add --depth 2in."))
    if container == "pot":
        if wide is None:
            raise Refused(phrase("How wide is the pot? Add --diameter 12in."))
        return Pot(wide, depth)
    if wide is not None:
        raise Refused(
            phrase("--diameter is a pot's or a roast's: add --container pot, or leave it out.")
        )
    length, width = PAN_SIZES["full-size"]
    return Pan(length * INCH_M, width * INCH_M, depth)


def _roast(question: Question, food: Food, wide: float | None, degree: Degree) -> Roast:
    if question.depth:
        raise Refused(phrase("A roast has no depth: type how thick it is with --diameter 6in."))
    if wide is None:
        raise Refused(phrase("How thick is the roast? Add --diameter 6in."))
    if question.weight is None:
        raise Refused(phrase("How heavy is one roast? Add --weight 8lb."))
    kilograms = float(parse_weight(question.weight, degree)) * POUND_KG
    cubic = kilograms / properties(food.composition, 30).rho
    length = cubic / (pi * wide**2 / 4)
    if length > 3:
        raise Refused(
            phrase(
                "{weight} so thin would be a roast of {length} m: look again.",
                weight=question.weight,
                length=f"{length:.1f}",
            )
        )
    return Roast(wide, length)


def _size(text: str, what: str, most_cm: int, degree: Degree) -> float:
    """Read a length into metres."""
    return float(parse_length(text, degree, what, most_cm)) * INCH_M


def _litres(amount: Amount, setup: Setup) -> float:
    if amount.litres is not None:
        return amount.litres
    assert amount.kilograms is not None  # an amount is one or the other
    return amount.kilograms / properties(setup.food, 30).rho * 1000


def thickness(load: Load) -> float:
    match load:
        case Pan() | Pot():
            return load.depth
        case Roast():
            return load.diameter
        case Slab():
            return load.thickness


def _place(setup: Setup, metric: bool) -> str:
    load, deep = setup.load, length_in(thickness(setup.load), metric)
    match load:
        case Pot(diameter, _):
            told = (
                message("{deep} deep in covered metal pots {wide} wide")
                if setup.covered
                else message("{deep} deep in open metal pots {wide} wide")
            )
            return phrase(told, deep=deep, wide=length_in(diameter, metric))
        case Roast(_, length):
            told = (
                message("wrapped roasts {thick} thick and {long} long")
                if setup.covered
                else message("bare roasts {thick} thick and {long} long")
            )
            return phrase(told, thick=deep, long=length_in(length, metric))
        case _:
            told = (
                message("{deep} deep in covered full-size metal pans")
                if setup.covered
                else message("{deep} deep in open full-size metal pans")
            )
            return phrase(told, deep=deep)
