"""The kitchen learns: finished coolings of one food, container, depth and method narrow the prior.

A normal hierarchical model, recomputed from the record each time. A cooling has three scores, of
its lag, its slow-down and its rate, standard normal in the published prior. The scores of one
group's batches scatter around the group's mean with the variances W, the means of groups around
zero with what is left of the published spread, I - W. Each finished cooling tells what its readings
say of its scores, as a likelihood (mode and curvature); the group's mean is shrunk towards the
published one by the precisions, and a share of the published prior stays in, for the batch that is
not like the others. With no history the result is the published prior, number for number.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import exp, hypot, log
from operator import mul

from haccp.physics.forecast_curve import HOT, CurveShape
from haccp.physics.forecast_fit import LEAST_EXCESS
from haccp.physics.forecast_prior import (
    BIAS_SD,
    PUBLISHED,
    READING_SD,
    Nature,
    Prior,
    Surroundings,
    rate_of,
    shape,
)
from haccp.physics.forecast_readings import Point

Vector = list[float]
Matrix = list[list[float]]

# How much one batch differs from the next of its group, as a share of the published SD of lag,
# slow-down and rate: fill, place in the unit, what else is in it, and that the curves are a model.
# Common practice, no source; the histories revise it, counting it as `_TRUST` batches, but never
# to less than `_LEAST`.
_ALIKE = (0.5, 0.5, 0.3)
_LEAST = (0.5, 0.5, 0.25)
_MOST_ALIKE = 0.9
_TRUST = 6
_ROUNDS = 3
# Of so many batches the record says nothing: the lid was left on, the door open. They keep the
# published prior, and their own readings tell.
_UNLIKE = 0.2
# Readings and fits (a batch is fitted once for each kind that its food may be) beyond these add
# little and cost time.
_MOST_READINGS = 8
_MOST_FITS = 20
# Batches share the peculiarities of their thermometer and unit: for telling one kind of food from
# another they count as no more than this many.
_KINDS_FROM = 3
# Gauss-Newton: steps at most, difference for slopes, and a step small enough to end (SD, °F).
_STEPS, _NUDGE, _SETTLED = 10, 1e-3, 0.05
# The air's passing warmth, as roughly normal (mean, SD, °F), and its recovery.
_DRIFT, _DRIFT_SD, _RECOVERY = 5.0, 4.0, 1 / 77
# What the first reading leaves open, °F: wide, so that the others decide.
_FIRST_SD = 10.0


@dataclass(frozen=True, slots=True)
class Finished:
    """One finished cooling: its readings in minutes and °F, and what surrounded it."""

    readings: tuple[Point, ...]
    surroundings: Surroundings


@dataclass(frozen=True, slots=True)
class _Told:
    """What one cooling's readings say of its scores: a precision matrix, precision times mean, and
    the logarithm of the evidence for its kind of food.
    """

    precision: Matrix
    pull: Vector
    evidence: float


def learn(food: Nature, finished: Sequence[Finished]) -> tuple[Prior, ...]:
    """What to expect of the next batch. Give the newest last; of those with three readings and more
    the newest 20 count, 10 for thick food and 5 where its kind is unknown.
    """
    most = _MOST_FITS // len(PUBLISHED[food])
    histories = [one for one in finished if len(one.readings) >= 3][-most:]
    if not histories:
        return PUBLISHED[food]
    learned = [_learn_kind(prior, histories) for prior in PUBLISHED[food]]
    best = max(evidence for _, evidence in learned)
    counted = min(1.0, _KINDS_FROM / len(histories))
    weights = [p.weight * exp(counted * (evidence - best)) for p, evidence in learned]
    usual = tuple(
        replace(prior, weight=(1 - _UNLIKE) * weight / sum(weights))
        for (prior, _), weight in zip(learned, weights, strict=True)
    )
    return usual + tuple(replace(prior, weight=_UNLIKE * prior.weight) for prior in PUBLISHED[food])


def _learn_kind(prior: Prior, histories: Sequence[Finished]) -> tuple[Prior, float]:
    told = [_tell(prior, one) for one in histories]
    within = [share**2 for share in _ALIKE]
    for _ in range(_ROUNDS):  # expectation and maximisation
        centre, _ = _group(told, within)
        scatter = [0.0, 0.0, 0.0]
        for one in told:
            precision = [
                [p + (1 / within[i] if i == j else 0.0) for j, p in enumerate(row)]
                for i, row in enumerate(one.precision)
            ]
            covariance, _ = _inverse(precision)
            pull = [one.pull[i] + centre[i] / within[i] for i in range(3)]
            scores = [sum(map(mul, row, pull)) for row in covariance]
            for i in range(3):
                scatter[i] += (scores[i] - centre[i]) ** 2 + covariance[i][i]
        within = [
            min(
                max((_TRUST * _ALIKE[i] ** 2 + scatter[i]) / (_TRUST + len(told)), _LEAST[i] ** 2),
                _MOST_ALIKE,
            )
            for i in range(3)
        ]
    centre, doubt = _group(told, within)
    spread = tuple(
        tuple(d + (within[i] if i == j else 0.0) for j, d in enumerate(row))
        for i, row in enumerate(doubt)
    )
    return replace(prior, mean=tuple(centre), spread=spread), sum(one.evidence for one in told)


def _group(told: Sequence[_Told], within: Sequence[float]) -> tuple[Vector, Matrix]:
    """The mean of a group's scores, and the covariance of what is not known of it.

    A cooling of likelihood precision P measures the mean with precision (P^-1 + W)^-1, which is
    (I + P W)^-1 P and needs no P that can be inverted.
    """
    precision = [[1 / (1 - within[i]) if i == j else 0.0 for j in range(3)] for i in range(3)]
    pull = [0.0, 0.0, 0.0]
    for one in told:
        damped = [
            [p * within[j] + (1.0 if i == j else 0.0) for j, p in enumerate(row)]
            for i, row in enumerate(one.precision)
        ]
        undo, _ = _inverse(damped)
        for i in range(3):
            pull[i] += sum(map(mul, undo[i], one.pull))
            for j in range(3):
                precision[i][j] += sum(undo[i][k] * one.precision[k][j] for k in range(3))
    covariance, _ = _inverse(precision)
    return [sum(map(mul, row, pull)) for row in covariance], covariance


def scores(prior: Prior, one: Finished) -> tuple[Vector, Matrix]:
    """What one cooling's readings leave of the published prior: the scores' mean and covariance."""
    told = _tell(prior, one)
    covariance, _ = _inverse(
        [
            [p + (1.0 if i == j else 0.0) for j, p in enumerate(row)]
            for i, row in enumerate(told.precision)
        ]
    )
    return [sum(map(mul, row, told.pull)) for row in covariance], covariance


def _tell(prior: Prior, one: Finished) -> _Told:
    """Find the likeliest scores by Gauss and Newton's method.

    Unknown beside the three scores are those of surroundings and drift, and by how much the first
    temperature differed from its reading.
    """
    readings = _some(sorted(one.readings))
    minutes = [minute - readings[0][0] for minute, _ in readings]
    shown = [temperature for _, temperature in readings]
    point = [0.0] * 6
    size = len(point)
    belief = [1.0, 1.0, 1.0, 1.0, 1.0, _FIRST_SD**-2]
    sure = 1 / READING_SD[prior.food] ** 2
    for _ in range(_STEPS):
        expected = _expected(prior, one.surroundings, point, minutes, shown[0])
        slopes = []
        for i in range(size):
            nudged = point.copy()
            nudged[i] += _NUDGE
            moved = _expected(prior, one.surroundings, nudged, minutes, shown[0])
            slopes.append([(b - a) / _NUDGE for a, b in zip(expected, moved, strict=True)])
        misses = [s - e for s, e in zip(shown, expected, strict=True)]
        curvature = [
            [
                sure * sum(map(mul, slopes[i], slopes[j])) + (belief[i] if i == j else 0.0)
                for j in range(size)
            ]
            for i in range(size)
        ]
        uphill = [
            sure * sum(map(mul, slopes[i], misses)) - belief[i] * point[i] for i in range(size)
        ]
        covariance, log_det = _inverse(curvature)
        step = [sum(map(mul, row, uphill)) for row in covariance]
        step[:-1] = [min(max(s, -1.0), 1.0) for s in step[:-1]]
        point = [p + s for p, s in zip(point, step, strict=True)]
        if max(map(abs, step)) < _SETTLED:
            break
    cost = (
        sure * sum(map(mul, misses, misses))
        + sum(b * p * p for b, p in zip(belief, point, strict=True))
        + log_det
    )
    posterior, _ = _inverse([row[:3] for row in covariance[:3]])
    pull = [sum(map(mul, row, point[:3])) for row in posterior]
    likelihood = [
        [p - (1.0 if i == j else 0.0) for j, p in enumerate(row)] for i, row in enumerate(posterior)
    ]
    return _Told(likelihood, pull, -(cost / 2 + len(readings) * log(READING_SD[prior.food])))


def _some(readings: Sequence[Point]) -> Sequence[Point]:
    """At most eight of the readings, first and last among them."""
    last, most = len(readings) - 1, _MOST_READINGS - 1
    if last <= most:
        return readings
    return [readings[round(i * last / most)] for i in range(_MOST_READINGS)]


def _expected(
    prior: Prior,
    surroundings: Surroundings,
    point: Sequence[float],
    minutes: Sequence[float],
    first: float,
) -> list[float]:
    """What the thermometer shows, its constant error being counted as the surroundings'."""
    lag_score, slow_score, rate_score, air_score, drift_score, miss = point
    lag, slow = shape(prior.food, lag_score, slow_score)
    around = Surroundings(surroundings.value, hypot(surroundings.sd, BIAS_SD))
    air = around.at(air_score)
    curve = CurveShape(
        weight=1.0,
        rate=exp(rate_of(rate_score)),
        lag=lag,
        order=prior.order,
        slow=slow,
        power=1.5,
        air=air,
        bias=0.0,
        start=max((first + miss - air) / (HOT - air), LEAST_EXCESS),
        drift=_DRIFT + _DRIFT_SD * drift_score,
        recovery=_RECOVERY,
    )
    return [curve.at(minute) for minute in minutes]


def _inverse(matrix: Sequence[Sequence[float]]) -> tuple[Matrix, float]:
    """The inverse of a matrix that has no need of pivoting, and its log determinant."""
    size = len(matrix)
    rows = [[*row, *(1.0 if i == j else 0.0 for j in range(size))] for i, row in enumerate(matrix)]
    log_det = 0.0
    for i in range(size):
        pivot = rows[i][i]
        log_det += log(pivot)
        rows[i] = [value / pivot for value in rows[i]]
        for j in range(size):
            if j != i:
                share = rows[j][i]
                rows[j] = [a - share * b for a, b in zip(rows[j], rows[i], strict=True)]
    return [row[size:] for row in rows], log_det
