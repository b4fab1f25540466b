"""A cooling as it is asked about, and how it goes in every case that nobody can rule out.

What is not known beforehand (coefficients, the cooler's true temperature, properties, wetness) is
drawn, from published ranges, at the points of one fixed sequence: the same question has the same
answer. Temperatures are in °C, lengths in m. Arrays: n cases, m times.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import inf, pi
from typing import Protocol

import numpy as np

from haccp.errors import Refused
from haccp.physics import convection
from haccp.physics.conduction import UNFELT, Array, Conductor, Layer, Shape, lumped_seconds
from haccp.physics.convection import Range
from haccp.physics.properties import Composition, Properties, properties

CASES = 512  # moves the 5, 50 and 95 % times by 1 or 2 % from those of 65,536
_LONGEST_MIN = 60_000.0  # six weeks: what takes longer is never
_BISECTIONS = 40
_TEMPERATURES = 400  # steps in which a stirred food's loss is taken as straight
_PLACES = np.linspace(0, 1, 13)  # in a layer: the warmest counts

# Wall of a plastic pan: common practice, no source. It counts like as much food (Dickerson & Read
# 1973); metal is no barrier.
_PLASTIC_M = 0.003
# Around an ice wand, and its ice: common practice, no source.
_WAND_AROUND_M = 0.36
_WAND_C = 0.0

# The air's and the bath's measured temperature may be wrong by ±1.8 °F.
_MEDIUM_OFF = 1.0
# Choi & Okos against measurements: about 10 % on conductivity (from memory) and 5 % on heat
# capacity (lean beef and potato in Geankoplis, App. A.4-1, are 2 to 5 % off).
_CONDUCTIVITY_OFF = 0.10
_CAPACITY_OFF = 0.05


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


@dataclass(frozen=True, slots=True)
class Medium:
    """What takes the heat: its measured temperature [°C], and its published coefficient."""

    celsius: float
    coefficient: Range


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
    `pressure_hpa` is the air's.
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


def check(setup: Setup) -> None:
    """Raise Refused, with a sentence, where a setup makes no sense."""
    if not all(0 < size <= 3 for size in _sizes(setup.load)):
        raise Refused("A container's or piece's sizes must be above 0 and at most 3 m.")
    if not setup.stages:
        raise Refused("A plan needs at least one temperature to reach and its time.")
    levels = [stage.celsius for stage in setup.stages]
    if not all(a > b for a, b in zip([setup.start, *levels], levels, strict=False)):
        raise Refused("A cooling's levels must fall, from its start to its end.")
    if not all(stage.since is None or stage.since > stage.celsius for stage in setup.stages):
        raise Refused("A stage's time must count from a level above the one that it ends at.")
    if not 0 < setup.start <= 100:
        raise Refused("Food starts to cool from between 0 and 100 °C (32 to 212 °F).")
    for medium in (setup.air, setup.bath or setup.air):
        if not -60 <= medium.celsius < setup.start:
            raise Refused(
                "Air and bath must be colder than the food, and not below -60 °C (-76 °F)."
            )
    if isinstance(setup.load, Roast | Slab) and setup.consistency is not Consistency.THICK:
        raise Refused("A solid piece cannot be thin or stirred: its consistency is thick or solid.")
    if setup.wand and setup.consistency is not Consistency.STIRRED:
        raise Refused("An ice wand is stirred with: the food's consistency is stirred.")


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


class Model(Protocol):
    """How one setup cools, in every case."""

    def temperatures(self, minutes: Array) -> Array:
        """Give the warmest point's temperature [°C] (n, m)."""

    def minutes_to(self, celsius: float) -> Array:
        """Give the time to a level (n,) [min]; infinite where it is never reached."""


@dataclass(frozen=True, slots=True)
class _Cases:
    """What is not known, drawn: arrays (n,)."""

    air: Array
    air_h: Array
    bath: Array
    bath_h: Array
    inside_h: Array
    lid_h: Array
    bottom: Array
    wetness: Array
    humidity: Array
    k: Array
    capacity: Array  # of a volume [J/m³ K]


def _cases(setup: Setup, count: int) -> _Cases:
    unit = _fixed_sequence(count, 11)
    food = _properties(setup)
    stirred = setup.consistency is Consistency.STIRRED
    bath = setup.bath or setup.air

    def within(column: int, limits: Range) -> Array:
        """Draw evenly by ratio: nothing is known about where in its range a coefficient lies."""
        return limits.low * (limits.high / limits.low) ** unit[:, column]

    def evenly(column: int, limits: Range) -> Array:
        return limits.low + (limits.high - limits.low) * unit[:, column]

    def off(column: int, most: float) -> Array:
        return most * (2 * unit[:, column] - 1)

    return _Cases(
        air=setup.air.celsius + off(0, _MEDIUM_OFF),
        air_h=within(1, setup.air.coefficient),
        # Ice water is not colder than ice.
        bath=np.maximum(bath.celsius + off(2, _MEDIUM_OFF), 0.0),
        bath_h=within(3, bath.coefficient),
        inside_h=within(4, convection.INSIDE_STIRRED if stirred else convection.INSIDE_STILL),
        lid_h=within(5, convection.UNDER_A_LID),
        bottom=evenly(6, convection.BOTTOM_SHARE),
        wetness=evenly(7, convection.WETNESS),
        humidity=evenly(8, convection.HUMIDITY),
        k=food.k * (1 + off(9, _CONDUCTIVITY_OFF)),
        capacity=food.rho * food.cp * (1 + off(10, _CAPACITY_OFF)),
    )


def _fixed_sequence(points: int, dimensions: int) -> Array:
    """Spread points (n, d) evenly over the unit cube, always the same ones.

    Kronecker's sequence with powers of the root of x^(d+1) = x + 1 (Roberts 2018, "The unreasonable
    effectiveness of quasirandom sequences"; from memory).
    """
    root = 2.0
    for _ in range(60):
        root = (1 + root) ** (1 / (dimensions + 1))
    steps = root ** -np.arange(1.0, dimensions + 1)
    return np.asarray((0.5 + np.arange(1, points + 1)[:, None] * steps) % 1)


def _properties(setup: Setup) -> Properties:
    """Take the properties halfway between the start and the last level."""
    return properties(setup.food, max((setup.start + setup.stages[-1].celsius) / 2, 0.0))


def model_of(setup: Setup, count: int = CASES) -> Model:
    """Model a setup, in so many cases."""
    cases = _cases(setup, count)
    match setup.load, setup.consistency:
        case Roast() | Slab(), _:
            return _solid(setup, cases)
        case Pan() | Pot(), Consistency.THICK:
            return _thick(setup, cases)
        case _:
            return _Mixed(setup, cases)


@dataclass(frozen=True, slots=True)
class _Conducting:
    """A product of bodies cooled by one medium, and a layer whose top may see a warmer one."""

    start: float
    medium: Array
    bodies: tuple[tuple[Conductor, Array], ...]  # with their Fourier number in a minute
    layer: tuple[Layer, Array] | None = None
    above: Array | None = None

    def temperatures(self, minutes: Array) -> Array:
        return self._at(np.broadcast_to(minutes, (len(self.medium), len(minutes))))

    def minutes_to(self, celsius: float) -> Array:
        low = np.full(len(self.medium), 1e-3)
        high = np.full(len(self.medium), _LONGEST_MIN)
        never = self._at(high[:, None])[:, 0] > celsius
        for _ in range(_BISECTIONS):
            middle = np.sqrt(low * high)
            warm = self._at(middle[:, None])[:, 0] > celsius
            low, high = np.where(warm, middle, low), np.where(warm, high, middle)
        return np.where(never, inf, high)

    def _at(self, minutes: Array) -> Array:
        ratio = np.ones((len(minutes), 1, minutes.shape[1]))
        for body, pace in self.bodies:
            ratio = ratio * body.theta(np.maximum(pace[:, None] * minutes, UNFELT))[:, None]
        warmer = np.zeros(())
        if self.layer:
            layer, pace = self.layer
            fourier = np.maximum(pace[:, None] * minutes, UNFELT / 4)  # counted on whole depth
            ratio = ratio * layer.theta(fourier)
            if self.above is not None:
                # Exact for a wide layer; sides only take from it, so a warmer air above is never
                # counted too little. A colder one is not counted.
                excess = np.maximum(self.above - self.medium, 0.0)
                warmer = excess[:, None, None] * layer.rise(fourier)
        every = self.medium[:, None, None] + (self.start - self.medium)[:, None, None] * ratio
        return np.asarray((every + warmer).max(axis=1))


def _solid(setup: Setup, cases: _Cases) -> _Conducting:
    """A piece of solid food without a container, in the bath or else in the air."""
    if setup.bath:
        medium, surface = cases.bath, cases.bath_h
    else:
        medium, surface = cases.air, _top(setup, cases)
    match setup.load:
        case Roast(diameter, length):
            sides = [(Shape.CYLINDER, diameter / 2), (Shape.SLAB, length / 2)]
        case Slab(thickness, width, length):
            sides = [(Shape.SLAB, size / 2) for size in (thickness, width, length) if size < inf]
        case _:
            raise AssertionError(setup.load)
    return _Conducting(setup.start, medium, _bodies(sides, surface, cases))


def _thick(setup: Setup, cases: _Cases) -> _Conducting:
    """Thick food in a pan or pot: a layer, and sides."""
    match setup.load:
        case Pan(length, width, depth):
            sides = [(Shape.SLAB, length / 2), (Shape.SLAB, width / 2)]
        case Pot(diameter, depth):
            sides = [(Shape.CYLINDER, diameter / 2)]
        case _:
            raise AssertionError(setup.load)
    wall, below = _walls(setup, cases)
    layer = Layer(below * depth / cases.k, _top(setup, cases) * depth / cases.k, _PLACES)
    return _Conducting(
        setup.start,
        cases.bath if setup.bath else cases.air,
        _bodies(sides, wall, cases),
        (layer, 60 * cases.k / cases.capacity / depth**2),
        cases.air if setup.bath else None,
    )


def _bodies(
    sides: Sequence[tuple[Shape, float]], surface: Array, cases: _Cases
) -> tuple[tuple[Conductor, Array], ...]:
    return tuple(
        (Conductor(shape, surface * half / cases.k), 60 * cases.k / cases.capacity / half**2)
        for shape, half in sides
    )


def _walls(setup: Setup, cases: _Cases) -> tuple[Array, Array]:
    """Coefficients of a container's sides and bottom (n,), the wall itself included."""
    assert isinstance(setup.load, Pan | Pot)
    outside = (cases.bath_h, cases.bath_h) if setup.bath else (
        cases.air_h, cases.air_h * cases.bottom
    )  # fmt: skip
    if setup.load.material is Material.METAL:
        return outside
    wall = cases.k / _PLASTIC_M
    return _in_series(outside[0], wall), _in_series(outside[1], wall)


def _top(setup: Setup, cases: _Cases) -> Array:
    """Coefficient of thick food's free surface (n,): dry, evaporating or covered.

    A wet surface gives `latent_k_per_kpa` times the vapour pressure's chord over the air's own,
    taken from the air to the last level: vapour pressure bends upwards, so the hot surface's extra
    loss, and what dry air takes, are left out, on the slow side.
    """
    if setup.covered:
        solid = isinstance(setup.load, Roast | Slab)
        return cases.air_h if solid else _in_series(cases.lid_h, cases.air_h)
    surface = np.maximum(setup.stages[-1].celsius, cases.air + 1.0)
    chord = (vapour_kpa(surface) - vapour_kpa(cases.air)) / (surface - cases.air)
    latent = convection.latent_k_per_kpa(setup.pressure_hpa)
    return np.asarray(cases.air_h * (1 + cases.wetness * latent * chord))


class _Mixed:
    """Thin or stirred food: one temperature, resistance inside its walls, any loss at its top."""

    def __init__(self, setup: Setup, cases: _Cases) -> None:
        match setup.load:
            case Pan(length, width, depth):
                base, around = length * width, 2 * (length + width)
            case Pot(diameter, depth):
                base, around = pi * diameter**2 / 4, pi * diameter
            case _:
                raise AssertionError(setup.load)
        sides, bottom = (_in_series(cases.inside_h, one) for one in _walls(setup, cases))
        self.setup, self.cases = setup, cases
        self.walls = sides * around * depth + bottom * base
        into_wand = _in_series(cases.inside_h, cases.k / _PLASTIC_M) * _WAND_AROUND_M * depth
        self.wand = into_wand if setup.wand else np.zeros_like(into_wand)
        self.base = base
        self.capacity = cases.capacity * base * depth
        coldest = min(setup.air.celsius, (setup.bath or setup.air).celsius) - _MEDIUM_OFF
        self.grid = np.linspace(setup.start, min(coldest, setup.stages[-1].celsius), _TEMPERATURES)
        self.minutes = lumped_seconds(self.grid, self.capacity, self._loss) / 60

    def temperatures(self, minutes: Array) -> Array:
        rows = []
        for row in self.minutes:
            known = np.isfinite(row)
            rows.append(np.interp(minutes, row[known], self.grid[known]))
        return np.array(rows)

    def minutes_to(self, celsius: float) -> Array:
        levels = np.append(self.grid[self.grid > celsius], celsius)
        return np.asarray(lumped_seconds(levels, self.capacity, self._loss)[:, -1] / 60)

    def _loss(self, temperatures: Array) -> Array:
        cases = self.cases
        medium = cases.bath if self.setup.bath else cases.air
        over_air = temperatures - cases.air[:, None]
        if self.setup.covered:
            top = _in_series(cases.lid_h, cases.air_h)[:, None] * over_air
        else:
            held = cases.humidity * vapour_kpa(cases.air)
            vapour = (
                vapour_kpa(temperatures) - held[:, None]
            )  # below 0: the air's moisture condenses
            latent = convection.latent_k_per_kpa(self.setup.pressure_hpa)
            wet = cases.wetness[:, None] * latent * vapour
            top = cases.air_h[:, None] * (over_air + wet)
        through = self.walls[:, None] * (temperatures - medium[:, None])
        wand = self.wand[:, None] * (temperatures - _WAND_C)
        return np.asarray(through + wand + self.base * top)


def vapour_kpa(celsius: Array) -> Array:
    """Vapour pressure over water [kPa].

    Source: Magnus' formula with Alduchov & Eskridge's (1996) constants, from memory: within 1 % of
    steam tables to 70 °C, 3 % at 100 °C.
    """
    return np.asarray(0.61094 * np.exp(17.625 * celsius / (celsius + 243.04)))


def _in_series(one: Array, other: Array) -> Array:
    return 1 / (1 / one + 1 / other)
