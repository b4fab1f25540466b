"""Cooling of a body whose surface gives heat to surroundings of constant temperature.

A body need not begin warm all through: what was cooled before begins at a profile.

Thick food conducts: series solutions for slab, cylinder, sphere and a layer with unlike faces;
their product for finite shapes. Stirred food is one temperature: a lumped balance, with any loss.

Temperatures are ratios `(T - surroundings) / (T at start - surroundings)`, places and times are
dimensionless: the Biot number `h L / k` and the Fourier number `a t / L²`, L being half a slab's
thickness, a radius, or a layer's whole depth. Arrays: n bodies, p places, m times.

Source: Carslaw & Jaeger, Conduction of Heat in Solids; Özisik, Heat Conduction, from memory. Held
by the printed tables, an independent numerical solution and the check values in tests/.
"""

from collections.abc import Callable
from copy import copy
from enum import StrEnum
from functools import cached_property, lru_cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

# Until this Fourier number a centre keeps 0.999999 of its start: erfc(1 / (2 sqrt(Fo))) and less.
UNFELT = 0.015
# Enough for six digits from there on. A layer's Fourier number, on its whole depth, is a quarter.
TERMS = 10
_LAYER_TERMS = 2 * TERMS

_BISECTIONS = 22  # halves an interval of pi to 1e-6; a chord from there is good to 1e-12
# Gauss' points from 0 to 1, enough for a product of two layer modes, and their weights.
_POINTS, _POINT_WEIGHTS = np.polynomial.legendre.leggauss(64)
NODES: Array = (_POINTS + 1) / 2
_NODE_WEIGHTS: Array = _POINT_WEIGHTS / 2
# At the midpoints of Bessel's integral: exact to rounding for arguments up to TERMS pi.
_SINES = np.sin((np.arange(16) + 0.5) * np.pi / 32)


class Shape(StrEnum):
    SLAB = "slab"
    CYLINDER = "cylinder"
    SPHERE = "sphere"


def roots(shape: Shape, biot: Array) -> Array:
    """Find the first positive roots (n, TERMS) of a shape's equation for Biot numbers (n,).

    Slab z tan z = Bi, cylinder z J1/J0 = Bi, sphere 1 - z cot z = Bi. Raises ValueError unless
    every Biot number is above 0 and finite.
    """
    bi = _positive(biot)[:, None]

    def residual(z: Array) -> Array:
        match shape:
            case Shape.SLAB:
                return z * np.sin(z) - bi * np.cos(z)
            case Shape.CYLINDER:
                return z * _bessel(1, z) - bi * _bessel(0, z)
            case Shape.SPHERE:
                return (1 - bi) * np.sin(z) - z * np.cos(z)

    return _one_in_each_interval(residual, len(bi), TERMS)


class Conductor:
    """Slab, cylinder or sphere with the same Biot number all over its surface."""

    def __init__(self, shape: Shape, biot: Array) -> None:
        self.shape = shape
        self.roots = z = roots(shape, biot)
        match shape:
            case Shape.SLAB:
                self.weights = 4 * np.sin(z) / (2 * z + np.sin(2 * z))
            case Shape.CYLINDER:
                j0, j1 = _bessel(0, z), _bessel(1, z)
                self.weights = 2 * j1 / (z * (j0**2 + j1**2))
            case Shape.SPHERE:
                self.weights = 4 * (np.sin(z) - z * np.cos(z)) / (2 * z - np.sin(2 * z))

    def theta(self, fourier: Array, place: float = 0.0) -> Array:
        """Temperature ratio (n, m) at Fourier numbers (n, m); place 0 is centre, 1 surface."""
        mode = self._modes(np.array([place]))[..., 0] if place else 1.0  # every mode's centre is 1
        return _summed(self.roots, self.weights * mode, fourier)

    def profile(self, fourier: Array) -> Array:
        """Temperature ratio (n, q) at `NODES`, at one Fourier number each (n,)."""
        left = self.weights * np.exp(-(self.roots**2) * fourier[:, None])
        return np.asarray((left[:, None] @ self._node_modes)[:, 0])

    def mean(self, fourier: Array) -> Array:
        """Mean temperature ratio (n, m) over the body's volume, at Fourier numbers (n, m)."""
        return _summed(self.roots, self.weights * (self._node_modes @ self._volumes), fourier)

    def begun_at(self, profile: Array) -> "Conductor":
        """Give the same body, but begun at this profile (n, q) instead of warm all through."""
        begun = copy(self)
        begun.weights = _projected(profile, self._node_modes, self._volumes)
        return begun

    @cached_property
    def _node_modes(self) -> Array:
        return self._modes(NODES)

    @property
    def _volumes(self) -> Array:
        match self.shape:
            case Shape.SLAB:
                return _NODE_WEIGHTS
            case Shape.CYLINDER:
                return np.asarray(2 * NODES * _NODE_WEIGHTS)
            case Shape.SPHERE:
                return np.asarray(3 * NODES**2 * _NODE_WEIGHTS)

    def _modes(self, places: Array) -> Array:
        """Give each mode at the places: (n, j, places)."""
        z = self.roots[..., None] * places
        match self.shape:
            case Shape.SLAB:
                return np.asarray(np.cos(z))
            case Shape.CYLINDER:
                return _bessel(0, z)
            case Shape.SPHERE:
                return np.asarray(np.sinc(z / np.pi))


def conductor(shape: Shape, biot: Array) -> Conductor:
    """Give a body, found once: the same sides are asked about again at every depth of food."""
    return conductor_of(shape, biot.tobytes())


@lru_cache(maxsize=8)
def conductor_of(shape: Shape, biot: bytes) -> Conductor:
    """Give a body by the bytes of its Biot numbers."""
    return Conductor(shape, np.frombuffer(biot))


class Layer:
    """A layer with unlike faces: a pan's food on its bottom (place 0), under air (place 1)."""

    def __init__(self, bottom: Array, top: Array, places: Array) -> None:
        """Take both faces' Biot numbers (n,), on the whole depth, and the places (p,) asked."""
        low, high = _positive(bottom)[:, None], _positive(top)[:, None]

        def residual(z: Array) -> Array:
            return (z**2 - low * high) * np.sin(z) - z * (low + high) * np.cos(z)

        self.bottom, self.top, self.places = low, high, places
        self.roots = z = _one_in_each_interval(residual, len(low), _LAYER_TERMS)
        squared_norm = ((z**2 + low**2) * (1 + high / (z**2 + high**2)) + low) / (2 * z**2)
        self.weights = (np.sin(z) / z + low * (1 - np.cos(z)) / z**2) / squared_norm
        self.rises = high * self._modes(np.ones(1))[..., 0] / z**2 / squared_norm
        self._asked = self._modes(places).swapaxes(1, 2)

    def theta(self, fourier: Array) -> Array:
        """Temperature ratio (n, p, m) at Fourier numbers (n, m)."""
        return _summed(self.roots, self.weights[:, None] * self._asked, fourier)

    def rise(self, fourier: Array) -> Array:
        """Rise (n, p, m) of a layer at 0 when what is above its top goes from 0 to 1."""
        lag = _summed(self.roots, self.rises[:, None] * self._asked, fourier)
        return self._risen(self.places)[..., None] - lag

    def profile(self, fourier: Array) -> Array:
        """Temperature ratio (n, q) at `NODES`, at one Fourier number each (n,)."""
        return self._at_nodes(self.weights, fourier)

    def rise_profile(self, fourier: Array) -> Array:
        """Rise (n, q) at `NODES`, at one Fourier number each (n,)."""
        return self._risen(NODES) - self._at_nodes(self.rises, fourier)

    def mean(self, fourier: Array) -> Array:
        """Mean temperature ratio (n, m) over the layer, at Fourier numbers (n, m)."""
        return _summed(self.roots, self.weights * self._mean_modes, fourier)

    def mean_rise(self, fourier: Array) -> Array:
        """Mean rise (n, m) over the layer, at Fourier numbers (n, m)."""
        risen = self._risen(NODES) @ _NODE_WEIGHTS
        return risen[:, None] - _summed(self.roots, self.rises * self._mean_modes, fourier)

    @property
    def _mean_modes(self) -> Array:
        return np.asarray(self._node_modes @ _NODE_WEIGHTS)

    def begun_at(self, profile: Array) -> "Layer":
        """Give the same layer, but begun at this profile (n, q) instead of warm all through."""
        begun = copy(self)
        begun.weights = _projected(profile, self._node_modes, _NODE_WEIGHTS)
        return begun

    @cached_property
    def _node_modes(self) -> Array:
        return self._modes(NODES)

    def _at_nodes(self, weights: Array, fourier: Array) -> Array:
        left = weights * np.exp(-(self.roots**2) * fourier[:, None])
        return np.asarray((left[:, None] @ self._node_modes)[:, 0])

    def _risen(self, places: Array) -> Array:
        low, high = self.bottom, self.top
        return np.asarray(high * (1 + low * places) / (low + high + low * high))

    def _modes(self, places: Array) -> Array:
        """Give each mode at the places: (n, j, places)."""
        z = self.roots[..., None]
        return np.asarray(np.cos(z * places) + self.bottom[..., None] / z * np.sin(z * places))


def lumped_seconds(temperatures: Array, capacity: Array, loss: Callable[[Array], Array]) -> Array:
    """Time (n, m) [s] at which bodies of one temperature each pass falling temperatures (m,).

    `capacity` (n,) [J/K]; `loss` gives the heat given up (n, m) [W] at the temperatures. Infinite
    from where nothing more is given up. Exact where the loss is straight between two temperatures.
    """
    power = loss(temperatures)
    hot, cold = power[:, :-1], power[:, 1:]
    with np.errstate(divide="ignore", invalid="ignore"):
        log_mean = np.where(np.isclose(hot, cold), hot, (hot - cold) / np.log(hot / cold))
        took = capacity[:, None] * -np.diff(temperatures) / log_mean
    took = np.where((hot > 0) & (cold > 0), took, np.inf)
    return np.concatenate([np.zeros((len(power), 1)), np.cumsum(took, axis=1)], axis=1)


def _projected(profile: Array, modes: Array, volumes: Array) -> Array:
    """Find how much of each mode (n, j, q) a profile (n, q) is made of."""
    weighed = modes * volumes
    inner = (weighed @ profile[..., None])[..., 0]
    return np.asarray(inner / (weighed * modes).sum(-1))


def _summed(z: Array, weights: Array, fourier: Array) -> Array:
    """Sum a series: roots (n, j), weights (n, j) or (n, p, j), Fourier numbers (n, m)."""
    decay = np.exp(-(z[..., None] ** 2) * fourier[:, None, :])
    if weights.ndim == 2:
        return np.asarray((weights[:, None] @ decay)[:, 0])
    return np.asarray(weights @ decay)


def _one_in_each_interval(residual: Callable[[Array], Array], bodies: int, terms: int) -> Array:
    """Bisect for the one root in each of (0, π), (π, 2π) and on.

    Every equation here has one in each, and its residual there goes from below 0 to above it in
    the first, from above to below in the next, and so on.
    """
    number = np.broadcast_to(np.arange(terms, dtype=np.float64), (bodies, terms))
    low: Array = number * np.pi
    sign = np.where(number % 2, 1.0, -1.0)
    width: float = np.pi
    for _ in range(_BISECTIONS):
        width /= 2
        low = np.where(residual(low + width) * sign > 0, low + width, low)
    left, right = residual(low), residual(low + width)
    span = np.where(left == right, 1.0, left - right)
    return np.asarray(low + width * np.clip(left / span, 0.0, 1.0))


def _bessel(order: Literal[0, 1], z: Array) -> Array:
    """Bessel's function of the first kind from his integral; scipy is not worth its weight here.

    The midpoint rule converges geometrically on it (Trefethen & Weideman 2014, SIAM Review 56:385).
    """
    x = z[..., None] * _SINES
    return np.asarray((np.sin(x) * _SINES if order else np.cos(x)).mean(-1))


def _positive(biot: Array) -> Array:
    if not (np.isfinite(biot) & (biot > 0)).all():
        raise ValueError("a Biot number must be above 0 and finite")
    return biot
