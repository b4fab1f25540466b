"""What is known of a cooling before its first reading, as a few hundred equally likely kitchens.

Every number here is an assumption that can be read. The rates are those of 15 coolings in print
(ln k of mean ln 0.27 per hour and SD 1.05); ranges of shape follow from conduction and
evaporation; the rest is marked.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import Enum
from functools import cache
from math import erf, exp, hypot, log, log1p, sqrt
from statistics import NormalDist
from typing import NamedTuple

from haccp.physics.convection import SEA_LEVEL_HPA


class Nature(Enum):
    """What the food is like: asked once for a batch."""

    OPEN_LIQUID = "open hot liquid"
    STIRRED = "stirred or thin"
    THICK = "thick or solid"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Prior:
    """What is expected of one kind of food: mean and covariance of the scores of its lag, its
    slow-down and its rate, each standard normal in the published prior (`shape`, `rate_of`).
    `order` is the shoulder's (`forecast_curve`), `fading` a factor of what the slow-down's score
    gives.
    """

    weight: float
    food: Nature
    order: int = 1
    mean: tuple[float, ...] = (0.0, 0.0, 0.0)
    spread: tuple[tuple[float, ...], ...] = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    fading: float = 1.0


@dataclass(frozen=True, slots=True)
class Surroundings:
    """The air or bath that the food will end at, °F: mean and standard deviation.

    `room` is the share of kitchens in which it is no cold unit but a warm room.
    """

    value: float
    sd: float
    room: float = 0.0

    def at(self, score: float) -> float:
        """Give the temperature that lies so many standard deviations from the mean; where it may
        be a room, that as many kitchens are colder than.
        """
        if self.room:
            cold = _uniform(score) / (1 - self.room)
            if cold >= 1:
                warm = (cold - 1) * (1 - self.room) / self.room
                return _ROOM.inv_cdf(min(max(warm, 1e-6), 1 - 1e-6))
            score = _NORMAL.inv_cdf(max(cold, 1e-6))
        return min(self.value + self.sd * score, _WARMEST)

    @classmethod
    def measured(cls, value: float, accuracy: float = 2.0) -> "Surroundings":
        """A reading of the unit. Its instrument is taken to be right within `accuracy` at two SD;
        the air at the pan differs from the air at the probe by 1.5 °F SD (common practice, no
        source).
        """
        return cls(value, sqrt((accuracy / 2) ** 2 + _UNEVEN**2))

    @classmethod
    def between(cls, low: float, high: float) -> "Surroundings":
        """A range, every value in it alike."""
        return cls((low + high) / 2, sqrt((high - low) ** 2 / 12 + _UNEVEN**2))

    @classmethod
    def cold_storage(cls) -> "Surroundings":
        """Nothing measured: a cold unit, of which 16 % are above 41 °F (CDC EHS-Net)."""
        return cls(38.0, 3.0)

    def doubted(self) -> "Surroundings":
        """What is left of it where the food no longer cools as it did: it may be elsewhere."""
        return replace(self, sd=hypot(self.sd, _MOVED), room=max(self.room, _MOVED_OUT))

    @classmethod
    def unknown(cls) -> "Surroundings":
        """Nobody said where it stands: a cold unit, or a counter in the room."""
        return replace(cls.cold_storage(), room=_LEFT_OUT)


_UNEVEN = 1.5
# A kitchen's room, °F, and how many coolings of which nothing is known stand in it: common
# practice, no source.
_NORMAL, _ROOM, _LEFT_OUT = NormalDist(), NormalDist(75.0, 6.0), 0.15
# The same where readings say that something changed: its SD, and how often it is the room.
_MOVED, _MOVED_OUT = 4.0, 0.25
# Warmer surroundings cool no food; the model's rates are quoted a little above, at `HOT`.
_WARMEST = 120.0
# Mean and SD of ln(rate per hour) while hot.
_RATE = (log(0.40), 1.0)
# Thick food is as likely a core in its shell (order 1) as a slab (order 3).
_KINDS = {
    Nature.OPEN_LIQUID: {(Nature.OPEN_LIQUID, 1): 1.0},
    Nature.STIRRED: {(Nature.STIRRED, 1): 1.0},
    Nature.THICK: {(Nature.THICK, 1): 0.5, (Nature.THICK, 3): 0.5},
    Nature.UNKNOWN: {
        (Nature.OPEN_LIQUID, 1): 0.24,
        (Nature.STIRRED, 1): 0.18,
        (Nature.THICK, 1): 0.40,
        (Nature.THICK, 3): 0.18,
    },
}
PUBLISHED: dict[Nature, tuple[Prior, ...]] = {
    food: tuple(Prior(weight, kind, order) for (kind, order), weight in kinds.items())
    for food, kinds in _KINDS.items()
}
# What a wet surface gives to the air by evaporating, of what it gives by its temperature, at 60 and
# at 10 °C and sea level: it grows as the air gets thinner (`convection.latent_k_per_kpa`).
_WET_HOT, _WET_COLD = 5.6, 1.4


def published(food: Nature, pressure_hpa: float) -> tuple[Prior, ...]:
    """What is published of a food, where the air has this pressure."""
    fading = _fall(pressure_hpa) / _fall(SEA_LEVEL_HPA)
    return tuple(
        replace(prior, fading=fading) if prior.food is Nature.OPEN_LIQUID else prior
        for prior in PUBLISHED[food]
    )


def _fall(pressure_hpa: float) -> float:
    """By how much the rate of a wet surface falls from hot to cold, as a logarithm."""
    thinner = SEA_LEVEL_HPA / pressure_hpa
    return log((1 + _WET_HOT * thinner) / (1 + _WET_COLD * thinner))


# The lag factor j is 1 + most · U^bend, U uniform. A slab's centre has 1 to 1.27, a brick's up to
# 2.05: a probe in a pan is nearer to the slab, and a lag that is longer makes the food earlier than
# forecast, not later.
_LAG = {Nature.OPEN_LIQUID: (0.15, 2.0), Nature.STIRRED: (0.15, 2.0), Nature.THICK: (0.31, 0.95)}
# The rate near the air is e^-(least + (most - least) · U^bend) of that while hot. A wet surface
# gives a third or less at 38 °F (by `_WET_HOT` and `_WET_COLD`), free convection in air two thirds.
_SLOW = {
    Nature.OPEN_LIQUID: (0.35, 1.7, 0.8),
    Nature.STIRRED: (0.0, 0.6, 1.7),
    Nature.THICK: (0.0, 0.37, 1.2),
}
# Lag comes from resistance inside the food, slow-down from its surface: the more of the one, the
# less of the other, and none at this excess of j over 1.
_NO_SURFACE = 0.55
_POWER = (1.0, 2.0)
# Air warmed by the load: up to 14 °F at first, mostly less, gone in one to a few hours (M).
_DRIFT = (14.0, 1.7)
_RECOVERY = (40.0, 150.0)
# A hand-held ±2 °F thermometer: a constant error, and one of each reading, rounding and, in thick
# food, how deep the probe was included (M).
BIAS_SD = 0.9
READING_SD = {Nature.OPEN_LIQUID: 1.05, Nature.STIRRED: 1.0, Nature.THICK: 1.18}


def shape(food: Nature, lag: float, slow: float, fading: float = 1.0) -> tuple[float, float]:
    """Turn a food's two standard scores into `Curve.lag` and `Curve.slow`."""
    most, bend = _LAG[food]
    excess = most * _uniform(lag) ** bend
    least, deepest, curved = _SLOW[food]
    faded = fading * (least + (deepest - least) * _uniform(slow) ** curved)
    faded *= max(0.0, 1 - excess / _NO_SURFACE)
    return max(log1p(excess), 1e-3), exp(-max(faded, 1e-3))


def rate_of(score: float) -> float:
    """Ln of `Curve.rate`, per minute."""
    mean, sd = _RATE
    return mean + sd * score - log(60)


def _uniform(score: float) -> float:
    return (1 + erf(score / sqrt(2))) / 2


class PossibleKitchen(NamedTuple):
    """One possible kitchen. `rate_mean` and `rate_sd` are of ln(per minute), given its shape; `air`
    and `bias` are standard scores; `draws` are pairs of them, spread over what readings leave open
    of the rate and of the first temperature.
    """

    reading_sd: float
    rate_mean: float
    rate_sd: float
    lag: float
    order: int
    slow: float
    power: float
    air: float
    bias: float
    drift: float
    recovery: float
    draws: tuple[tuple[float, float], ...]


# A Korobov lattice: point i has the coordinates i·36^k/401 mod 1. Each coordinate takes 401 evenly
# spaced values; 36 is the multiplier of the least error in its weighted P2 criterion.
_POINTS, _MULTIPLIER, _DRAWS = 401, 36, 4


@cache
def kitchens(known: tuple[Prior, ...], every: int = 1) -> tuple[PossibleKitchen, ...]:
    """Spread the prior over equally likely kitchens; always the same ones, or one of so many."""
    scores = [_NORMAL.inv_cdf((i + 0.5) / _POINTS) for i in range(_POINTS)]
    steps = [pow(_MULTIPLIER, k, _POINTS) for k in range(10)]
    ends = [sum(p.weight for p in known[: i + 1]) for i in range(len(known))]
    out = []
    for i in range(0, _POINTS, every):
        at = [i * step % _POINTS for step in steps]
        share = [(a + 0.5) / _POINTS for a in at]
        prior = _pick(known, ends, share[9] * ends[-1])
        (a, _, _), (b, c, _), (d, e, f) = _root(prior.spread)
        first_score, second_score = scores[at[0]], scores[at[1]]
        lag, slow = shape(
            prior.food,
            prior.mean[0] + a * first_score,
            prior.mean[1] + b * first_score + c * second_score,
            prior.fading,
        )
        rise, bend = _DRIFT
        first, last = _RECOVERY
        draws = tuple(
            (
                _NORMAL.inv_cdf((k + share[7]) / _DRAWS),
                scores[(at[8] + k * _POINTS // _DRAWS) % _POINTS],
            )
            for k in range(_DRAWS)
        )
        out.append(
            PossibleKitchen(
                READING_SD[prior.food],
                rate_of(prior.mean[2] + d * first_score + e * second_score),
                _RATE[1] * f,
                lag,
                prior.order,
                slow,
                _POWER[0] + (_POWER[1] - _POWER[0]) * share[2],
                scores[at[3]],
                scores[at[4]],
                rise * share[5] ** bend,
                1 / (first * (last / first) ** share[6]),
                draws,
            )
        )
    return tuple(out)


def _root(spread: Sequence[Sequence[float]]) -> tuple[tuple[float, float, float], ...]:
    """The lower triangular root of a covariance of three (Cholesky)."""
    a = sqrt(spread[0][0])
    b, d = spread[1][0] / a, spread[2][0] / a
    c = sqrt(spread[1][1] - b * b)
    e = (spread[2][1] - b * d) / c
    return (a, 0.0, 0.0), (b, c, 0.0), (d, e, sqrt(spread[2][2] - d * d - e * e))


def _pick(known: Sequence[Prior], ends: Sequence[float], at: float) -> Prior:
    return next(p for p, end in zip(known, ends, strict=True) if at <= end)
