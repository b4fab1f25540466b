"""A cooling as it is asked about. Temperatures are in °C, lengths in m."""

from dataclasses import dataclass, replace
from enum import StrEnum
from math import inf, isinf, pi

from haccp.errors import Refused
from haccp.language import phrase
from haccp.physics import convection
from haccp.physics.convection import Range
from haccp.physics.properties import Composition
from haccp.physics.small_cooler import Cooler

LONGEST_MIN = 60_000.0  # six weeks: what takes longer is never


class Consistency(StrEnum):
    """How heat gets through the food: that decides more than what the food is."""

    THICK = "thick or solid"  # conducts
    THIN = "thin"  # mixes itself: natural convection inside
    STIRRED = "stirred"  # every quarter of an hour or oftener


class Material(StrEnum):
    METAL = "metal"
    PLASTIC = "plastic"


@dataclass(frozen=True, slots=True)
class Pan:
    """A rectangular pan by its usable inside, filled to `depth` [m]."""

    length: float
    width: float
    depth: float
    material: Material = Material.METAL


@dataclass(frozen=True, slots=True)
class Pot:
    """A round pot filled to `depth` [m]."""

    diameter: float
    depth: float
    material: Material = Material.METAL


@dataclass(frozen=True, slots=True)
class Roast:
    """A roll of solid food, cooled all round [m]."""

    diameter: float
    length: float


@dataclass(frozen=True, slots=True)
class Slab:
    """A flat or square piece of solid food, cooled on all sides [m]; endless ones by default."""

    thickness: float
    width: float = inf
    length: float = inf


Load = Pan | Pot | Roast | Slab


def volume(load: Load) -> float:
    """Volume [m³] of the food in one container, or of one piece."""
    match load:
        case Pan(length, width, depth):
            return length * width * depth
        case Pot(diameter, depth):
            return pi * diameter**2 / 4 * depth
        case Roast(diameter, length):
            return pi * diameter**2 / 4 * length
        case Slab(thickness, width, length):
            return thickness * width * length


@dataclass(frozen=True, slots=True)
class Medium:
    """What takes the heat: its measured temperature [°C], and its published coefficient.

    `cooler` is one so small that the food warms its air; any other keeps its temperature.
    """

    celsius: float
    coefficient: Range
    cooler: Cooler | None = None


@dataclass(frozen=True, slots=True)
class Then:
    """Where the food goes next, and how it stands there.

    It goes when its warmest point is down to `celsius`, or else `minutes` after the start: of the
    two one is None. `consistency` is that of food that is not solid.
    """

    air: Medium
    consistency: Consistency
    bath: Medium | None = None
    celsius: float | None = None
    minutes: float | None = None


@dataclass(frozen=True, slots=True)
class Stage:
    """A level [°C] that the food must reach within `minutes`.

    They count from the passing of the level `since` [°C], and without one from the start.
    """

    celsius: float
    minutes: float
    since: float | None = None


@dataclass(frozen=True, slots=True)
class Setup:
    """What is asked about.

    `bath` is ice water outside the container, as high as the food. `covered` is a lid with air
    under it, or a solid piece's tight wrapping: nothing evaporates. `wand` is a paddle full of ice
    that the food is stirred with, as deep as it stands, and changed when its ice has melted.
    `pressure_hpa` is the air's. `litres` is how much of it stands in one small cooler, at least a
    container. `then` is where it is moved to, in the same container.
    """

    food: Composition
    consistency: Consistency
    load: Load
    air: Medium
    start: float
    stages: tuple[Stage, ...]
    bath: Medium | None = None
    covered: bool = False
    wand: bool = False
    pressure_hpa: float = convection.SEA_LEVEL_HPA
    litres: float = 0.0
    then: Then | None = None

    @property
    def moved(self) -> "Setup":
        """How it stands after the move; its start is where the whole cooling's is."""
        assert self.then
        then = self.then
        return replace(
            self, air=then.air, bath=then.bath, consistency=then.consistency, wand=False, then=None
        )


def check(setup: Setup) -> None:
    """Raise Refused, with a sentence, where a setup makes no sense."""
    if not all(0 < size <= 3 for size in _sizes(setup.load)):
        raise Refused(phrase("A container's or piece's sizes must be above 0 and at most 3 m."))
    _check_stages(setup)
    if not 0 < setup.start <= 100:
        raise Refused(phrase("Food starts to cool from between 0 and 100 °C (32 to 212 °F)."))
    for medium in (setup.air, setup.bath or setup.air):
        if not -60 <= medium.celsius < setup.start:
            raise Refused(
                phrase("Air and bath must be colder than the food, and not below -60 °C (-76 °F).")
            )
    if isinstance(setup.load, Roast | Slab) and setup.consistency is not Consistency.THICK:
        raise Refused(
            phrase("A solid piece cannot be thin or stirred: its consistency is thick or solid.")
        )
    if setup.wand and setup.consistency is not Consistency.STIRRED:
        raise Refused(phrase("An ice wand is stirred with: the food's consistency is stirred."))
    if setup.air.cooler and isinf(volume(setup.load)):
        raise Refused(
            phrase("How much food warms a small cooler hangs on all its sizes: give them.")
        )
    if setup.then:
        _check_then(setup, setup.then)


def _check_stages(setup: Setup) -> None:
    if not setup.stages:
        raise Refused(phrase("A plan needs at least one temperature to reach and its time."))
    levels = [stage.celsius for stage in setup.stages]
    if not all(a > b for a, b in zip([setup.start, *levels], levels, strict=False)):
        raise Refused(phrase("A cooling's levels must fall, from its start to its end."))
    if not all(stage.since is None or stage.since > stage.celsius for stage in setup.stages):
        raise Refused(
            phrase("A stage's time must count from a level above the one that it ends at.")
        )


def _check_then(setup: Setup, then: Then) -> None:
    check(setup.moved)
    last = setup.stages[-1].celsius
    if then.minutes is not None and not 0 < then.minutes <= LONGEST_MIN:
        raise Refused(phrase("Food is moved some minutes after the start, such as 45."))
    if then.celsius is not None and not last <= then.celsius < setup.start:
        raise Refused(
            phrase("Food is moved on its way down: between how hot it starts and its last level.")
        )
    if any(medium.celsius >= last for medium in (then.air, then.bath) if medium):
        raise Refused(phrase("What food is moved to must be colder than its last level."))


def _sizes(load: Load) -> tuple[float, ...]:
    match load:
        case Pan(length, width, depth):
            return length, width, depth
        case Pot(diameter, depth):
            return diameter, depth
        case Roast(diameter, length):
            return diameter, length
        case Slab(thickness, width, length):
            return thickness, *(size for size in (width, length) if size != inf)
