"""Turns what was typed for `haccp predict` into what the models can answer."""

import re
from collections.abc import Iterable
from dataclasses import dataclass, fields
from datetime import timedelta
from math import floor, pi

from haccp import limits
from haccp.cli.session import Session, printable
from haccp.errors import Refused
from haccp.kitchen.naming import find
from haccp.limits import CountsFrom, Limit, LimitSet
from haccp.physics import convection
from haccp.physics.cooling_setup import (
    Consistency,
    Load,
    Medium,
    Pan,
    Pot,
    Roast,
    Setup,
    Slab,
    Stage,
)
from haccp.physics.planning import (
    BLAST_CHILLER,
    FREEZER_F,
    ICE_BATH,
    PAN_SIZES,
    ROOM_F,
    WALK_IN_F,
)
from haccp.physics.properties import Composition, Food, foods, properties
from haccp.quantities import INCH_M, POUND_KG, Amount, parse_amount, parse_length, parse_weight
from haccp.record import entries
from haccp.rules.account.levels import Levels
from haccp.rules.thermometer import pressure_at
from haccp.temperature import Degree, Temperature, parse_temperature

# The air where none is typed, a room's around an ice bath.
_USUAL_AIR = {
    "walk-in": f"{WALK_IN_F}F",
    "freezer": f"{FREEZER_F}F",
    "ice-bath": f"{ROOM_F}F",
    "blast-chiller": f"{BLAST_CHILLER.celsius}C",
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


@dataclass(frozen=True, slots=True)
class Asked:
    """A question that the models can answer. `taken` says what was not typed, and from where."""

    words: str
    taken: tuple[str, ...]
    food: Food
    setup: Setup
    litres: float | None
    stages: tuple[Limit, ...]
    limits: LimitSet
    degree: Degree
    metric: bool


def ask(session: Session, question: Question) -> Asked:
    now = session.now
    register = session.register if session.path.exists() else None
    degree = register.degree if register else Degree.F
    limit_set = register.limits_at(now) if register else limits.shipped()
    stages = Levels(limit_set).stages
    planned = _planned(question.food, register.foods.values() if register else ())
    food = _food(question, planned)
    container = question.container or (
        "pot" if planned and re.search(r"\bpot\b", planned.container, re.IGNORECASE) else "pan"
    )
    nature, taken_nature = _nature(question, planned, food, container)
    air, taken_air = _air(question, degree)
    start = _start(question, stages[0], degree)
    setup = Setup(
        food=food.composition,
        consistency=_CONSISTENCIES[nature],
        load=_load(question, planned, food, container, degree),
        air=air,
        start=start,
        stages=_stages(stages, degree, start),
        bath=ICE_BATH if question.method == "ice-bath" else None,
        covered=question.covered,
        pressure_hpa=float(pressure_at(register.kitchen_at(now).altitude_m if register else 0)),
    )
    amount = parse_amount(question.amount) if question.amount is not None else None
    metric = degree is Degree.C or (question.depth or "").strip().endswith("cm")
    name = planned.name if planned else printable(question.food, "The food", 80)
    words = ", ".join(
        (
            f"{amount} of {name}" if amount else name,
            nature,
            _place(setup, metric),
            _method(question, setup, degree),
            f"from {shown(start, degree)}",
        )
    )
    depth = () if question.depth or container == "roast" else ("depth by the kitchen's plan",)
    return Asked(
        words=words,
        taken=(*taken_nature, *depth, *taken_air),
        food=food,
        setup=setup,
        litres=None if amount is None else _litres(amount, setup),
        stages=stages,
        limits=limit_set,
        degree=degree,
        metric=metric,
    )


def _planned(name: str, known: Iterable[entries.PlannedFood]) -> entries.PlannedFood | None:
    """Find the food in the kitchen's plan: by its whole name, or the beginning of one alone."""
    wanted = name.strip().casefold()
    made = {food.name.casefold(): food for food in known if food.active}
    begun = [one for one in made if wanted and one.startswith(wanted)]
    return made.get(wanted) or (made[begun[0]] if len(begun) == 1 else None)


def _food(question: Question, planned: entries.PlannedFood | None) -> Food:
    known = {name: key for key, food in foods().items() for name in food.names}
    like = question.composition
    if like is None:
        name = planned.name if planned and planned.name.casefold() in known else question.food
        try:
            return foods()[find(name.strip(), known, "food in the table")]
        except Refused as error:
            raise Refused(f"{error} Or say what it is like: --composition 'bean stew'.") from None
    if not any(letter.isdigit() for letter in like):
        return foods()[find(like.strip(), known, "food in the table")]
    return Food("own composition", _composition(like), "as typed")


def _composition(text: str) -> Composition:
    """Read grams in 100 g; carbohydrate may be with its fibre or without, as it makes 100 g."""
    how = "type water 75.5, protein 5.7, fat 5.5, carbohydrate 7.5, fibre 4.4, ash 1.4"
    grams: dict[str, float] = {}
    for part in text.lower().replace("fiber", "fibre").split(","):
        match = _GRAMS.fullmatch(part.strip())
        if match is None or match[1] not in COMPONENTS or match[1] in grams:
            raise Refused(f"{part.strip()!r} is no part of a composition: {how}.")
        grams[match[1]] = float(match[2])
    if missing := [name for name in COMPONENTS if name not in grams]:
        raise Refused(f"The composition has no {missing[0]}: {how}.")
    without = 100 - sum(grams.values())
    if abs(without) < abs(without + grams["fibre"]):
        grams["carbohydrate"] += grams["fibre"]
    return Composition(**grams)


def _nature(
    question: Question, planned: entries.PlannedFood | None, food: Food, container: str
) -> tuple[str, tuple[str, ...]]:
    if question.nature:
        return question.nature, ()
    if container == "roast":
        return "thick", ()
    if question.method == "ice-bath":
        return "stirred", ("stirred, as an ice bath is meant",)
    if planned and planned.nature in _CONSISTENCIES:
        return planned.nature, (f"{planned.nature} by the kitchen's plan",)
    usual = "open liquid" if food.thin else "thick"
    return usual, (f"{usual} (else --nature)",)


def _air(question: Question, degree: Degree) -> tuple[Medium, tuple[str, ...]]:
    given = parse_temperature(question.air or _USUAL_AIR[question.method], degree)
    celsius = _celsius(given)
    taken = () if question.air else (f"air at {shown(celsius, degree)} (else --air)",)
    if question.method == "blast-chiller":
        coefficient = BLAST_CHILLER.coefficient
    else:
        coefficient = convection.MOVING_AIR if question.moving else convection.STILL_AIR
    if question.moving and question.method in ("ice-bath", "blast-chiller"):
        raise Refused("--moving is about a walk-in's or a freezer's air: leave it out.")
    return Medium(celsius, coefficient), taken


def _start(question: Question, stage: Limit, degree: Degree) -> float:
    assert stage.start is not None  # the loader asks a start of a first stage
    if question.start is None:
        return _celsius(Temperature(stage.start.number(degree), degree))
    given = parse_temperature(question.start, degree)
    if given.over(stage.start) < 0:
        raise Refused(
            f"A cooling counts from {stage.start}, and {given} is below it:"
            " type a --start at or above it."
        )
    return _celsius(given)


def _stages(stages: tuple[Limit, ...], degree: Degree, start: float) -> tuple[Stage, ...]:
    """Turn the limits into the planner's stages, each counted from where its limit says."""
    found: list[Stage] = []
    for stage in stages:
        assert stage.within is not None  # the loader asks a time of every cooling stage
        if stage.clock is CountsFrom.PREVIOUS_STAGE:
            since: float | None = found[-1].celsius
        else:
            first = stages[0].start
            assert first is not None
            begins = _celsius(Temperature(first.number(degree), degree))
            since = begins if start > begins else None
        level = _celsius(Temperature(stage.level.number(degree), degree))
        found.append(Stage(level, stage.within / timedelta(minutes=1), since))
    return tuple(found)


def _load(
    question: Question,
    planned: entries.PlannedFood | None,
    food: Food,
    container: str,
    degree: Degree,
) -> Load:
    wide = _size(question.diameter, "diameter", 100, degree) if question.diameter else None
    if container == "roast":
        return _roast(question, food, wide, degree)
    if question.weight:
        raise Refused("--weight is of one roast: add --container roast, or leave it out.")
    if question.depth:
        depth = _size(question.depth, "depth", 60, degree)
    elif planned and planned.depth_in:
        depth = float(planned.depth_in) * INCH_M
    else:
        raise Refused("How deep does it stand? Add --depth 2in.")
    if container == "pot":
        if wide is None:
            raise Refused("How wide is the pot? Add --diameter 12in.")
        return Pot(wide, depth)
    if wide is not None:
        raise Refused("--diameter is a pot's or a roast's: add --container pot, or leave it out.")
    length, width = PAN_SIZES["full-size"]
    return Pan(length * INCH_M, width * INCH_M, depth)


def _roast(question: Question, food: Food, wide: float | None, degree: Degree) -> Roast:
    if question.depth:
        raise Refused("A roast has no depth: type how thick it is with --diameter 6in.")
    if wide is None:
        raise Refused("How thick is the roast? Add --diameter 6in.")
    if question.weight is None:
        raise Refused("How heavy is one roast? Add --weight 8lb.")
    kilograms = float(parse_weight(question.weight, degree)) * POUND_KG
    cubic = kilograms / properties(food.composition, 30).rho
    length = cubic / (pi * wide**2 / 4)
    if length > 3:
        raise Refused(f"{question.weight} so thin would be a roast of {length:.1f} m: look again.")
    return Roast(wide, length)


def _size(text: str, what: str, most_cm: int, degree: Degree) -> float:
    """Read a length into metres."""
    return float(parse_length(text, degree, what, most_cm)) * INCH_M


def _litres(amount: Amount, setup: Setup) -> float:
    if amount.litres is not None:
        return amount.litres
    assert amount.kilograms is not None  # an amount is one or the other
    return amount.kilograms / properties(setup.food, 30).rho * 1000


def _celsius(temperature: Temperature) -> float:
    return float((temperature.fahrenheit - 32) * 5 / 9)


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
    lid = "covered" if setup.covered else "open"
    match load:
        case Pot(diameter, _):
            return f"{deep} deep in {lid} metal pots {length_in(diameter, metric)} wide"
        case Roast(_, length):
            wrapped = "wrapped" if setup.covered else "bare"
            return f"{wrapped} roasts {deep} thick and {length_in(length, metric)} long"
        case _:
            return f"{deep} deep in {lid} full-size metal pans"


def _method(question: Question, setup: Setup, degree: Degree) -> str:
    air = shown(setup.air.celsius, degree)
    match question.method:
        case "ice-bath":
            return f"ice bath in a room at {air}"
        case "blast-chiller":
            return f"blast chiller at {air}"
        case method:
            return f"{method} at {air}, {'moving' if question.moving else 'still'} air"


def degrees_in(celsius: float, degree: Degree) -> float:
    return celsius if degree is Degree.C else celsius * 1.8 + 32


def shown(celsius: float, degree: Degree) -> str:
    return f"{round(degrees_in(celsius, degree), 1) + 0.0:g} °{degree}"


def length_in(metres: float, metric: bool) -> str:
    """Show a length, never rounded up: it may be a greatest depth."""
    if metric:
        return f"{floor(round(metres * 1000, 6)) / 10:g} cm"
    return f"{floor(round(metres / INCH_M * 100, 6)) / 100:g} in"
