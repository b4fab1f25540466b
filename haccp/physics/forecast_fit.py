"""The fit behind a forecast: each possible kitchen is fitted to the readings and weighed by them.

Bayes' theorem by quadrature. Within a kitchen the rate and the first temperature are found by Gauss
and Newton's method and spread by Laplace's approximation.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import exp, log, sqrt

from haccp.physics.forecast_curve import HOT, CurveShape, clock, rate_of, warmth
from haccp.physics.forecast_prior import BIAS_SD, PossibleKitchen, Surroundings
from haccp.physics.forecast_readings import Point

# A kitchen e^-7 as likely as the best one changes no quantile.
_NEGLIGIBLE = 7.0
# Food is never fitted nearer to the air than this share of the hot excess.
LEAST_EXCESS = 0.004


def fit(
    readings: Sequence[Point],
    surroundings: Surroundings,
    possible: Sequence[PossibleKitchen],
    before: float = 0.0,
) -> tuple[CurveShape, ...]:
    """Weigh the kitchens by the readings, and draw each one's curves. The food had cooled for
    `before` minutes at the first of them: what lags then lags no more.

    Where even the best kitchen misses the readings by more than their errors explain, the errors
    are taken to be as large as that (Birge's ratio): a forecast from a strange cooling is wide.
    """
    fits = [_fit_one(readings, surroundings, kitchen, before) for kitchen in possible]
    ratio = sqrt(min(f.misfit for f in fits) / len(readings))
    if ratio > 1:
        fits = [_fit_one(readings, surroundings, one, before, ratio) for one in possible]
    best = min(f.cost for f in fits)
    curves: list[CurveShape] = []
    for kitchen, one in zip(possible, fits, strict=True):
        if one.cost - best < _NEGLIGIBLE:
            curves += _drawn(kitchen, one, exp(best - one.cost), surroundings, before)
    return tuple(curves)


@dataclass(slots=True)
class _Fit:
    """The likeliest ln rate and first temperature of one kitchen, the curvature around them, minus
    the logarithm of its evidence, and the squared misses in units of the readings' SD.
    """

    rate: float
    first: float
    curvature: tuple[float, float, float]
    cost: float
    misfit: float


def _fit_one(
    readings: Sequence[Point],
    surroundings: Surroundings,
    kitchen: PossibleKitchen,
    before: float,
    ratio: float = 1.0,
) -> _Fit:
    sd, mean, spread, lag, order, slow, power, air_score, bias_score, drift, recovery, _ = kitchen
    air = surroundings.at(air_score)
    shown_air = air + BIAS_SD * bias_score
    hot = HOT - air
    c = 1 / slow - 1
    pace = power * slow
    down = -1 / power
    drift *= exp(-recovery * before)
    sd *= ratio
    precision = 1 / sd**2
    belief = 1 / spread**2
    zero = readings[0][0]
    rate, first = mean, max(readings[0][1], shown_air + 1)
    for _ in range(20):
        begun = max((first - shown_air) / hot, LEAST_EXCESS)
        first = shown_air + begun * hot
        powered = begun**-power
        whole = powered + c
        k = rate_of(rate)
        x_before = k * before
        u_before, speed_before = clock(x_before, lag, order) if before else (0.0, 0.0)
        rr = rf = ff = to_rate = to_first = misses = 0.0
        for minute, shown in readings:
            x = k * (minute - zero) + x_before
            u, speed = clock(x, lag, order)
            growth = exp(min(pace * (u - u_before), 300.0))
            v = whole * growth - c
            excess = v**down
            by_rate = (
                -hot * excess / v * whole * growth * slow * (x * speed - x_before * speed_before)
            )
            by_first = excess * powered * growth / (v * begun)
            miss = shown - (
                shown_air + hot * excess + warmth(minute - zero, k, slow, drift, recovery)
            )
            misses += miss * miss
            rr += by_rate * by_rate
            rf += by_rate * by_first
            ff += by_first * by_first
            to_rate += by_rate * miss
            to_first += by_first * miss
        rr = rr * precision + belief
        rf *= precision
        ff *= precision
        to_rate = to_rate * precision - belief * (rate - mean)
        to_first *= precision
        det = rr * ff - rf * rf
        step = (ff * to_rate - rf * to_first) / det
        other = (rr * to_first - rf * to_rate) / det
        rate += min(max(step, -1.0), 1.0)
        first += other
        if abs(step) < 0.02 and abs(other) < 0.1:
            break
    misfit = misses * precision
    cost = (misfit + belief * (rate - mean) ** 2 + log(det)) / 2
    cost += log(spread) + len(readings) * log(sd)
    return _Fit(rate, first, (rr, rf, ff), cost, misfit)


def _drawn(
    kitchen: PossibleKitchen,
    found: _Fit,
    weight: float,
    surroundings: Surroundings,
    before: float,
) -> Iterable[CurveShape]:
    rr, rf, ff = found.curvature
    air = surroundings.at(kitchen.air)
    bias = BIAS_SD * kitchen.bias
    wide = sqrt(ff / (rr * ff - rf * rf))
    share = weight / len(kitchen.draws)
    for first_score, second_score in kitchen.draws:
        more = wide * first_score
        first = found.first - rf / ff * more + second_score / sqrt(ff)
        yield CurveShape(
            share,
            rate_of(found.rate + more),
            kitchen.lag,
            kitchen.order,
            kitchen.slow,
            kitchen.power,
            air,
            bias,
            max((first - bias - air) / (HOT - air), LEAST_EXCESS),
            kitchen.drift,
            kitchen.recovery,
            before,
        )
