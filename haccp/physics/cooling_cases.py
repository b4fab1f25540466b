"""How a cooling goes in every case that nobody can rule out.

What is not known beforehand (coefficients, the cooler's true temperature, properties, wetness) is
drawn, from published ranges, at the points of one fixed sequence: the same question has the same
answer. Temperatures are in °C, lengths in m. Arrays: n cases, m times.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import inf, pi
from typing import Protocol

import numpy as np

from haccp.physics import convection
from haccp.physics.conduction import UNFELT, Array, Conductor, Layer, Shape, lumped_seconds
from haccp.physics.convection import Range
from haccp.physics.cooling_setup import (
    LONGEST_MIN,
    Consistency,
    Material,
    Pan,
    Pot,
    Roast,
    Setup,
    Slab,
)
from haccp.physics.properties import Properties, properties

CASES = 512  # moves the 5, 50 and 95 % times by 1 or 2 % from those of 65,536
_BISECTIONS = 26  # halves the whole range, by ratio, to 3 in ten million
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
    then = setup.then
    if then is None:
        return _unmoved(setup, count, None)
    first = _unmoved(replace(setup, then=None), count, None)
    if then.celsius is not None:
        at = first.minutes_to(then.celsius)
    else:
        assert then.minutes is not None  # a move has the one or the other
        at = np.full(count, then.minutes)
    return _Moved(first, _unmoved(setup.moved, count, first.left(at)), at)


def _unmoved(setup: Setup, count: int, left: "_Left | None") -> "_Mixed | _Conducting":
    """Model one surroundings, from the start or from how an earlier one `left` the food."""
    cases = _cases(setup, count)
    match setup.load, setup.consistency:
        case Roast() | Slab(), _:
            return _solid(setup, cases, left)
        case Pan() | Pot(), Consistency.THICK:
            return _thick(setup, cases, left)
        case _:
            return _Mixed(setup, cases, left.mean if left else None)


@dataclass(frozen=True, slots=True)
class _Profile:
    """A part of how warm food is: `excess` over the medium (n,), times shapes (n, q) in each."""

    excess: Array
    bodies: tuple[Array, ...]
    layer: Array | None


@dataclass(frozen=True, slots=True)
class _Left:
    """How warm food is when it is moved: its mean (n,), and where it conducts, its profiles."""

    mean: Array
    medium: Array
    profiles: tuple[_Profile, ...] = ()


@dataclass(frozen=True, slots=True)
class _Moved:
    """First the one, and from `at` on (n,) the other; never where that is infinite."""

    first: Model
    then: Model
    at: Array

    def temperatures(self, minutes: Array) -> Array:
        both = np.broadcast_to(minutes, (len(self.at), minutes.shape[-1]))
        since = np.maximum(both - self.at[:, None], 0.0)
        early = both <= self.at[:, None]
        return np.where(early, self.first.temperatures(both), self.then.temperatures(since))

    def minutes_to(self, celsius: float) -> Array:
        early = self.first.minutes_to(celsius)
        return np.where(early <= self.at, early, self.at + self.then.minutes_to(celsius))


@dataclass(frozen=True, slots=True)
class _Term:
    """A product of bodies and a layer that begin so far over the medium (n,).

    What begins warm all through is not felt at its centre before `unfelt`.
    """

    excess: Array
    bodies: tuple[Conductor, ...]
    layer: Layer | None
    unfelt: float


@dataclass(frozen=True, slots=True)
class _Conducting:
    """Food cooled by one medium, and a layer whose top may see a warmer one.

    A sum of products: one where it begins warm all through, more where it was moved.
    """

    medium: Array
    terms: tuple[_Term, ...]
    paces: tuple[Array, ...]  # each body's Fourier number in a minute, the layer's last
    above: Array | None = None

    def temperatures(self, minutes: Array) -> Array:
        return self._at(np.broadcast_to(minutes, (len(self.medium), minutes.shape[-1])))

    def minutes_to(self, celsius: float) -> Array:
        low = np.full(len(self.medium), 1e-3)
        high = np.full(len(self.medium), LONGEST_MIN)
        never = self._at(high[:, None])[:, 0] > celsius
        for _ in range(_BISECTIONS):
            middle = np.sqrt(low * high)
            warm = self._at(middle[:, None])[:, 0] > celsius
            low, high = np.where(warm, middle, low), np.where(warm, high, middle)
        return np.where(never, inf, high)

    def left(self, at: Array) -> _Left:
        """Say how warm it is all through at these minutes (n,); where they are infinite, at 0."""
        fouriers = [pace * np.where(np.isfinite(at), at, 0.0) for pace in self.paces]
        profiles = [
            _Profile(
                term.excess,
                tuple(
                    body.profile(np.maximum(fourier, term.unfelt))
                    for body, fourier in zip(term.bodies, fouriers, strict=False)
                ),
                _layer_profile(term, fouriers[-1]),
            )
            for term in self.terms
        ]
        [*_, first] = self.terms
        if first.layer and self.above is not None:
            risen = first.layer.rise_profile(np.maximum(fouriers[-1], UNFELT / 4))
            flat = tuple(np.ones_like(risen) for _ in first.bodies)
            profiles.append(_Profile(self._excess_above(), flat, risen))
        mean = self.medium + sum(self._mean(one) for one in profiles)
        return _Left(mean, self.medium, tuple(profiles))

    def _mean(self, of: _Profile) -> Array:
        mean = of.excess
        for body, profile in zip(self.terms[0].bodies, of.bodies, strict=True):
            mean = mean * body.mean(profile)
        layer = self.terms[0].layer
        return mean if of.layer is None or layer is None else mean * layer.mean(of.layer)

    def _excess_above(self) -> Array:
        """Tell what is above from the medium; a colder one is not counted."""
        assert self.above is not None
        return np.maximum(self.above - self.medium, 0.0)

    def _at(self, minutes: Array) -> Array:
        fouriers = [pace[:, None] * minutes for pace in self.paces]
        every = self.medium[:, None, None] + sum(_over(term, fouriers) for term in self.terms)
        layer = self.terms[0].layer
        if layer and self.above is not None:
            # Exact for a wide layer; sides only take from it, so a warmer air above is never
            # counted too little.
            rise = layer.rise(np.maximum(fouriers[-1], UNFELT / 4))
            every = every + self._excess_above()[:, None, None] * rise
        return np.asarray(every.max(axis=1))


def _layer_profile(term: _Term, fourier: Array) -> Array | None:
    return term.layer.profile(np.maximum(fourier, term.unfelt / 4)) if term.layer else None


def _over(term: _Term, fouriers: Sequence[Array]) -> Array:
    """Give what one product has over the medium (n, p, m)."""
    over = term.excess[:, None, None]
    for body, fourier in zip(term.bodies, fouriers, strict=False):
        over = over * body.theta(np.maximum(fourier, term.unfelt))[:, None]
    if term.layer:  # its Fourier number is counted on its whole depth
        over = over * term.layer.theta(np.maximum(fouriers[-1], term.unfelt / 4))
    return np.asarray(over)


def _terms(
    start: float,
    medium: Array,
    bodies: tuple[Conductor, ...],
    layer: Layer | None,
    left: _Left | None,
) -> tuple[_Term, ...]:
    if left is None:
        return (_Term(start - medium, bodies, layer, UNFELT),)
    if not left.profiles:
        return (_Term(left.mean - medium, bodies, layer, UNFELT),)
    carried = (
        _Term(
            one.excess,
            tuple(body.begun_at(p) for body, p in zip(bodies, one.bodies, strict=True)),
            None if layer is None or one.layer is None else layer.begun_at(one.layer),
            0.0,
        )
        for one in left.profiles
    )
    return (_Term(left.medium - medium, bodies, layer, UNFELT), *carried)


def _solid(setup: Setup, cases: _Cases, left: _Left | None) -> _Conducting:
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
    bodies, paces = _bodies(sides, surface, cases)
    return _Conducting(medium, _terms(setup.start, medium, bodies, None, left), paces)


def _thick(setup: Setup, cases: _Cases, left: _Left | None) -> _Conducting:
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
    medium = cases.bath if setup.bath else cases.air
    bodies, paces = _bodies(sides, wall, cases)
    return _Conducting(
        medium,
        _terms(setup.start, medium, bodies, layer, left),
        (*paces, 60 * cases.k / cases.capacity / depth**2),
        cases.air if setup.bath else None,
    )


def _bodies(
    sides: Sequence[tuple[Shape, float]], surface: Array, cases: _Cases
) -> tuple[tuple[Conductor, ...], tuple[Array, ...]]:
    """Give each side's body, and its Fourier number in a minute."""
    return (
        tuple(Conductor(shape, surface * half / cases.k) for shape, half in sides),
        tuple(60 * cases.k / cases.capacity / half**2 for _, half in sides),
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

    def __init__(self, setup: Setup, cases: _Cases, start: Array | None) -> None:
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
        # How it goes on hangs on its temperature alone: what starts colder starts later.
        self.begun = np.zeros(len(self.capacity)) if start is None else self._passing(start)

    def temperatures(self, minutes: Array) -> Array:
        both = np.broadcast_to(minutes, (len(self.begun), minutes.shape[-1]))
        rows = []
        for row, at in zip(self.minutes, both + self.begun[:, None], strict=True):
            known = np.isfinite(row)
            rows.append(np.interp(at, row[known], self.grid[known]))
        return np.array(rows)

    def minutes_to(self, celsius: float) -> Array:
        levels = np.append(self.grid[self.grid > celsius], celsius)
        passed = lumped_seconds(levels, self.capacity, self._loss)[:, -1] / 60
        return np.maximum(passed - self.begun, 0.0)

    def left(self, at: Array) -> _Left:
        """Say how warm it is at these minutes (n,); where they are infinite, at 0."""
        minutes = np.where(np.isfinite(at), at, 0.0)
        mean = self.temperatures(minutes[:, None])[:, 0]
        return _Left(mean, self.cases.air)

    def _passing(self, celsius: Array) -> Array:
        """Give the minutes (n,) at which each case passes its own temperature (n,)."""
        rows = zip(celsius, self.minutes, strict=True)
        return np.array([np.interp(-one, -self.grid, row) for one, row in rows])

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
