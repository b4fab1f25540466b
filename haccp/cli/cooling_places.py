"""Turns what was typed about where food cools, and where then, into what the models know."""

import re
from dataclasses import dataclass

from haccp.cli.cooling_words import celsius_of, shown
from haccp.equipment import (
    BLAST_CHILLER,
    FREEZER,
    ICE_BATH,
    ICE_WAND,
    REACH_IN,
    REFRIGERATOR,
    WALK_IN,
    parse_method,
)
from haccp.errors import Refused
from haccp.language import message, phrase
from haccp.physics import convection, planning, small_cooler
from haccp.physics.cooling_setup import Consistency, Medium, Then
from haccp.temperature import Degree, parse_temperature

# The air where none is typed, a room's around an ice bath.
_USUAL_AIR = {
    WALK_IN: f"{planning.WALK_IN_F}F",
    REACH_IN: f"{planning.WALK_IN_F}F",
    REFRIGERATOR: f"{planning.WALK_IN_F}F",
    FREEZER: f"{planning.FREEZER_F}F",
    ICE_BATH: f"{planning.ROOM_F}F",
    ICE_WAND: f"{planning.WALK_IN_F}F",
    BLAST_CHILLER: f"{planning.BLAST_CHILLER.celsius}C",
}
_SMALL = {REACH_IN: small_cooler.REACH_IN, REFRIGERATOR: small_cooler.HOUSEHOLD}
# With a fan right there, or not; the others' air is what it is.
_MAY_MOVE = (WALK_IN, REACH_IN, FREEZER)

_MOVING = {
    WALK_IN: message("walk-in at {air}, moving air"),
    REACH_IN: message("reach-in at {air}, moving air"),
    FREEZER: message("freezer at {air}, moving air"),
}
_STILL = {
    WALK_IN: message("walk-in at {air}, still air"),
    REACH_IN: message("reach-in at {air}, still air"),
    REFRIGERATOR: message("refrigerator at {air}, still air"),
    FREEZER: message("freezer at {air}, still air"),
}

_DURATION = re.compile(r"(?:(\d{1,2}) ?h(?:ours?)?)? ?(?:(\d{1,3}) ?(?:m|min|minutes?)?)?")


@dataclass(frozen=True, slots=True)
class Place:
    """One surroundings. `taken` says what was not typed; `words` what it is."""

    method: str
    air: Medium
    bath: Medium | None
    moving: bool
    taken: tuple[str, ...]

    @property
    def is_stirred(self) -> bool:
        """Whether food is stirred there where nobody said otherwise."""
        return self.method in (ICE_BATH, ICE_WAND)

    def words(self, degree: Degree) -> str:
        air = shown(self.air.celsius, degree)
        match self.method:
            case "ice bath":
                return phrase("ice bath in a room at {air}", air=air)
            case "blast chiller":
                return phrase("blast chiller at {air}", air=air)
            case "ice wand":
                return phrase("with an ice wand in a walk-in at {air}", air=air)
            case method:
                told = _MOVING[method] if self.moving else _STILL[method]
                return phrase(told, air=air)


def place(method: str, air: str | None, option: str, degree: Degree, *, moving: bool) -> Place:
    """Read one surroundings; `option` is what its air is typed with."""
    name = parse_method(method)
    celsius = celsius_of(parse_temperature(air or _USUAL_AIR[name], degree))
    taken = () if air else (_taken_air(shown(celsius, degree), option),)
    is_moved = moving and name in _MAY_MOVE
    if name == BLAST_CHILLER:
        coefficient = planning.BLAST_CHILLER.coefficient
    else:
        coefficient = convection.MOVING_AIR if is_moved else convection.STILL_AIR
    bath = planning.ICE_BATH if name == ICE_BATH else None
    medium = Medium(celsius, coefficient, _SMALL.get(name))
    return Place(name, medium, bath, is_moved, taken)


def _taken_air(air: str, option: str) -> str:
    return phrase("air at {air} (else {option})", air=air, option=option)


def check_moving(places: tuple[Place, ...], *, moving: bool) -> None:
    if moving and not any(one.moving for one in places):
        raise Refused(phrase("--moving is about a walk-in's or a freezer's air: leave it out."))


def then(
    to: Place,
    unstirred: Consistency,
    typed: tuple[str | None, str | None],
    level: float,
    degree: Degree,
) -> tuple[Then, tuple[str, ...]]:
    """Read --at and --after: where nobody said, food is moved at the first `level` [°C]."""
    at, after = typed
    if to.method == ICE_WAND:
        raise Refused(
            phrase("An ice wand comes first: type --method 'ice wand', and --then what is after.")
        )
    if at and after:
        raise Refused(phrase("Food is moved at a temperature or after a time: type one of them."))
    how = Consistency.STIRRED if to.is_stirred else unstirred
    if after:
        return Then(to.air, how, to.bath, minutes=parse_minutes(after, "--after")), ()
    celsius = celsius_of(parse_temperature(at, degree)) if at else level
    told = phrase("moved at {level} (else --at or --after)", level=shown(celsius, degree))
    taken = () if at else (told,)
    return Then(to.air, how, to.bath, celsius=celsius), taken


def parse_minutes(text: str, option: str) -> float:
    """Read ``60min``, ``5h``, ``1h 30min`` or ``90``; raises Refused for anything else."""
    match = _DURATION.fullmatch(" ".join(text.lower().split()))
    hours, minutes = match.groups() if match else (None, None)
    found = 60 * int(hours or 0) + int(minutes or 0)
    if not found:
        raise Refused(
            phrase(
                "{option} {text} is no time: type such as 60min, 5h or 1h 30min.",
                option=option,
                text=repr(text),
            )
        )
    return float(found)
