"""How a cooling goes in every case that nobody can rule out.

Temperatures are in °C, lengths in m. Arrays: n cases, m times.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import inf, pi
from typing import Protocol

import numpy as np

from haccp.physics import convection, small_cooler
from haccp.physics.conduction import (
    UNFELT,
    Array,
    Conductor,
    Layer,
    Shape,
    conductor,
    lumped_seconds,
)
from haccp.physics.cooling_draws import (
    MEDIUM_OFF,
    PLASTIC_M,
    Cases,
    draw,
    draw_balance,
    in_series,
    top,
    vapour_kpa,
    walls,
)
from haccp.physics.cooling_setup import (
    LONGEST_MIN,
    Consistency,
    Pan,
    Pot,
    Roast,
    Setup,
    Slab,
)
from haccp.physics.small_cooler import Balance

CASES = 512  # moves the 5, 50 and 95 % times by 1 or 2 % from those of 65,536
_BISECTIONS = 26  # halves the whole range, by ratio, to 3 in ten million
_TEMPERATURES = 400  # steps in which a stirred food's loss is taken as straight
# Steps in a week of a small cooler: 7 and 3 percent each.
_CONDUCTING_STEPS, _MIXING_STEPS = 140, 280
_PLACES = np.linspace(0, 1, 13)  # in a layer: the warmest counts

# Around an ice wand, and its ice: common practice, no source.
_WAND_AROUND_M = 0.36
_WAND_C = 0.0


class Model(Protocol):
    """How one setup cools, in every case."""

    def temperatures(self, minutes: Array) -> Array:
        """Give the warmest point's temperature [°C] (n, m)."""

    def minutes_to(self, celsius: float) -> Array:
        """Give the time to a level (n,) [min]; infinite where it is never reached."""


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


def _unmoved(setup: Setup, count: int, left: "_Left | None") -> "_Mixed | _Conducting | _Warmed":
    """Model one surroundings, from the start or from how an earlier one `left` the food."""
    cases = draw(setup, count)
    model: _Mixed | _Conducting
    match setup.load, setup.consistency:
        case Roast() | Slab(), _:
            model = _solid(setup, cases, left)
        case Pan() | Pot(), Consistency.THICK:
            model = _thick(setup, cases, left)
        case _:
            model = _Mixed(setup, cases, left.mean if left else None)
    if setup.air.cooler is None or setup.bath:
        return model
    balance = draw_balance(setup, cases, count)
    if isinstance(model, _Conducting):
        minutes, answer = small_cooler.times(_CONDUCTING_STEPS), model.answer()
        warmest, air = small_cooler.by_conduction(
            minutes,
            balance,
            (model.temperatures(minutes), model.mean(minutes)),
            (answer.temperatures(minutes), answer.mean(minutes)),
        )
    else:
        minutes = small_cooler.times(_MIXING_STEPS)
        start = left.mean if left else np.full(count, setup.start)
        warmest, air = small_cooler.by_mixing(minutes, balance, start, model.loss_of(balance))
    return _Warmed(minutes, warmest, air)


@dataclass(frozen=True, slots=True)
class _Warmed:
    """Food in a small cooler, with its air, at some minutes (n, m): between two, straight."""

    minutes: Array
    warmest: Array
    air: Array

    def temperatures(self, minutes: Array) -> Array:
        both = np.broadcast_to(minutes, (len(self.warmest), minutes.shape[-1]))
        rows = zip(both, self.warmest, strict=True)
        return np.array([np.interp(at, self.minutes, row) for at, row in rows])

    def minutes_to(self, celsius: float) -> Array:
        reached = self.warmest <= celsius
        after = reached.argmax(axis=1)
        before = np.maximum(after - 1, 0)
        each = np.arange(len(after))
        high, low = self.warmest[each, before], self.warmest[each, after]
        share = np.where(high > low, (high - celsius) / np.where(high > low, high - low, 1.0), 1.0)
        at = self.minutes[before] + share * (self.minutes[after] - self.minutes[before])
        return np.where(reached.any(axis=1), np.maximum(at, 0.0), inf)

    def left(self, at: Array) -> "_Left":
        """Say how warm it is at these minutes (n,): all of it as warm as its warmest point."""
        minutes = np.where(np.isfinite(at), at, 0.0)
        return _Left(self.temperatures(minutes[:, None])[:, 0], self.air[:, 0])


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
        finite = np.where(np.isfinite(at), at, 0.0)
        return _Left(self.mean(finite[:, None])[:, 0], self.medium, tuple(profiles))

    def mean(self, minutes: Array) -> Array:
        """Give the mean temperature all through (n, m)."""
        both = np.broadcast_to(minutes, (len(self.medium), minutes.shape[-1]))
        fouriers = [pace[:, None] * both for pace in self.paces]
        mean = self.medium[:, None] + sum(_mean_over(term, fouriers) for term in self.terms)
        layer = self.terms[0].layer
        if layer and self.above is not None:
            rise = layer.mean_rise(np.maximum(fouriers[-1], UNFELT / 4))
            mean = mean + self._excess_above()[:, None] * rise
        return np.asarray(mean)

    def answer(self) -> "_Conducting":
        """Give what all of it would do in an air of 0 if it began 1 warmer."""
        one = np.ones_like(self.medium)
        begun = _Term(one, self.terms[0].bodies, self.terms[0].layer, UNFELT)
        return _Conducting(0 * one, (begun,), self.paces)

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


def _mean_over(term: _Term, fouriers: Sequence[Array]) -> Array:
    """Give what one product has over the medium in the mean (n, m)."""
    over = term.excess[:, None]
    for body, fourier in zip(term.bodies, fouriers, strict=False):
        over = over * body.mean(np.maximum(fourier, term.unfelt))
    if term.layer:
        over = over * term.layer.mean(np.maximum(fouriers[-1], term.unfelt / 4))
    return np.asarray(over)


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


def _solid(setup: Setup, cases: Cases, left: _Left | None) -> _Conducting:
    """A piece of solid food without a container, in the bath or else in the air."""
    if setup.bath:
        medium, surface = cases.bath, cases.bath_h
    else:
        medium, surface = cases.air, top(setup, cases)
    match setup.load:
        case Roast(diameter, length):
            sides = [(Shape.CYLINDER, diameter / 2), (Shape.SLAB, length / 2)]
        case Slab(thickness, width, length):
            sides = [(Shape.SLAB, size / 2) for size in (thickness, width, length) if size < inf]
        case _:
            raise AssertionError(setup.load)
    bodies, paces = _bodies(sides, surface, cases)
    return _Conducting(medium, _terms(setup.start, medium, bodies, None, left), paces)


def _thick(setup: Setup, cases: Cases, left: _Left | None) -> _Conducting:
    """Thick food in a pan or pot: a layer, and sides."""
    match setup.load:
        case Pan(length, width, depth):
            sides = [(Shape.SLAB, length / 2), (Shape.SLAB, width / 2)]
        case Pot(diameter, depth):
            sides = [(Shape.CYLINDER, diameter / 2)]
        case _:
            raise AssertionError(setup.load)
    wall, below = walls(setup, cases)
    layer = Layer(below * depth / cases.k, top(setup, cases) * depth / cases.k, _PLACES)
    medium = cases.bath if setup.bath else cases.air
    bodies, paces = _bodies(sides, wall, cases)
    return _Conducting(
        medium,
        _terms(setup.start, medium, bodies, layer, left),
        (*paces, 60 * cases.k / cases.capacity / depth**2),
        cases.air if setup.bath else None,
    )


def _bodies(
    sides: Sequence[tuple[Shape, float]], surface: Array, cases: Cases
) -> tuple[tuple[Conductor, ...], tuple[Array, ...]]:
    """Give each side's body, and its Fourier number in a minute."""
    return (
        tuple(conductor(shape, surface * half / cases.k) for shape, half in sides),
        tuple(60 * cases.k / cases.capacity / half**2 for _, half in sides),
    )


class _Mixed:
    """Thin or stirred food: one temperature, resistance inside its walls, any loss at its top."""

    def __init__(self, setup: Setup, cases: Cases, start: Array | None) -> None:
        match setup.load:
            case Pan(length, width, depth):
                base, around = length * width, 2 * (length + width)
            case Pot(diameter, depth):
                base, around = pi * diameter**2 / 4, pi * diameter
            case _:
                raise AssertionError(setup.load)
        sides, bottom = (in_series(cases.inside_h, one) for one in walls(setup, cases))
        self.setup, self.cases = setup, cases
        self.walls = sides * around * depth + bottom * base
        into_wand = in_series(cases.inside_h, cases.k / PLASTIC_M) * _WAND_AROUND_M * depth
        self.wand = into_wand if setup.wand else np.zeros_like(into_wand)
        self.base = base
        self.capacity = cases.capacity * base * depth
        coldest = min(setup.air.celsius, (setup.bath or setup.air).celsius) - MEDIUM_OFF
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

    def loss_of(self, balance: Balance) -> Callable[[Array, Array], Array]:
        """Give the loss (n,) of all that stands in a small cooler."""
        containers = balance.food / self.capacity

        def loss(temperatures: Array, air: Array) -> Array:
            return np.asarray(containers * self._loss(temperatures[:, None], air)[:, 0])

        return loss

    def _loss(self, temperatures: Array, air: Array | None = None) -> Array:
        cases = self.cases
        air = cases.air if air is None else air
        medium = cases.bath if self.setup.bath else air
        over_air = temperatures - air[:, None]
        if self.setup.covered:
            top = in_series(cases.lid_h, cases.air_h)[:, None] * over_air
        else:
            held = cases.humidity * vapour_kpa(air)
            vapour = (
                vapour_kpa(temperatures) - held[:, None]
            )  # below 0: the air's moisture condenses
            latent = convection.latent_k_per_kpa(self.setup.pressure_hpa)
            wet = cases.wetness[:, None] * latent * vapour
            top = cases.air_h[:, None] * (over_air + wet)
        through = self.walls[:, None] * (temperatures - medium[:, None])
        wand = self.wand[:, None] * (temperatures - _WAND_C)
        return np.asarray(through + wand + self.base * top)
