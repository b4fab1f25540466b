"""One cooling as a curve in closed form: a shoulder, then a rate that falls as the food cools.

Three effects that Newton's law leaves out are each one number here:

- *Lag.* A probe in the middle of thick food goes on as before for a while. The food's own clock
  `u` runs from 0 towards `x - lag`, x = rate · t, and starts with no speed at all:
  du/dx is the distribution function of a gamma variable of mean `lag` and shape `order`. Order 1 is
  a core that follows a shell; order 3 follows the centre of a slab within 0.7 % (all Biot numbers,
  tests/physics). In the words of the trade exp(lag) is the lag factor j.
- *Slow-down.* Evaporation and free convection fade as the food nears the air. With θ the excess
  over the air as a share of the excess at `HOT`: dθ/du = -θ (slow + (1 - slow) θ^power), solved by
  θ^-power = (θ0^-power + c) e^(power·slow·u) - c, c = 1/slow - 1. Power 1 is a rate that falls in
  a straight line, power 2 is close to the vapour pressure of water between 140 and 35 °F.
- *Drift.* The air begins `drift` °F above its later value and recovers at the rate `recovery`.

Temperatures in °F, times in minutes from the curve's first reading, rates per minute.
"""

from math import exp, inf, log, sqrt
from typing import NamedTuple

# Where a rate is quoted: hot food. A reference of the model, no limit of any code.
HOT = 140.0
# exp() overflows beyond; by then the food is at the air's temperature.
_FAR = 600.0
_LONG = 1e5
# °F by which the temperature at the minute found may differ from the level.
_NEAR = 0.1


# Slower, food stays as it is for weeks; faster, it is cold in seconds [ln per minute].
_SLOWEST, _FASTEST = -14.0, 3.0


def rate_of(logarithm: float) -> float:
    """Give a rate per minute; readings that no cooling gives must not overflow it."""
    return exp(min(max(logarithm, _SLOWEST), _FASTEST))


class CurveShape(NamedTuple):
    """One possible cooling. `start` is θ at minute 0, `before` the minutes that it cooled until
    then; `bias` is how much too high the thermometer reads.
    """

    weight: float
    rate: float
    lag: float
    order: int
    slow: float
    power: float
    air: float
    bias: float
    start: float
    drift: float
    recovery: float
    before: float = 0.0

    def at(self, minute: float) -> float:
        """The food's true temperature; before the first reading it is taken to stand."""
        minute = max(minute, 0.0)
        _, rate, lag, order, slow, power, air, _, start, drift, recovery, before = self
        u = clock(rate * (minute + before), lag, order)[0] - clock(rate * before, lag, order)[0]
        drift *= exp(-recovery * before)
        c = 1 / slow - 1
        growth = exp(min(power * slow * u, _FAR))
        excess: float = ((start**-power + c) * growth - c) ** (-1 / power)
        return air + (HOT - air) * excess + warmth(minute, rate, slow, drift, recovery)

    def reaches(self, level: float) -> float:
        """The minute at which the food is down to `level`; infinite where the air never lets it."""
        _, rate, lag, order, slow, power, air, _, start, drift, recovery, earlier = self
        if level <= air:
            return inf
        shown, _ = clock(rate * earlier, lag, order)
        drift *= exp(-recovery * earlier)
        c = 1 / slow - 1
        begun = log(start**-power + c)
        minute, aim = 0.0, level
        for _ in range(6):  # the air's drift is a small correction, found by iterating
            if aim <= air:
                break
            excess = (aim - air) / (HOT - air)
            u = (log(excess**-power + c) - begun) / (power * slow)
            if u <= 0:
                return 0.0
            minute = max(unclock(u + shown, lag, order) / rate - earlier, 0.0)
            before, aim = aim, level - warmth(minute, rate, slow, drift, recovery)
            if abs(aim - before) < _NEAR:
                return minute
        return self._searched(level)

    def _searched(self, level: float) -> float:
        low, high = 0.0, 60.0
        while self.at(high) > level:
            if high > _LONG:
                return inf
            low, high = high, 1.5 * high
        while high - low > 0.1:
            middle = (low + high) / 2
            low, high = (middle, high) if self.at(middle) > level else (low, middle)
        return high


def clock(x: float, lag: float, order: int) -> tuple[float, float]:
    """The food's own clock u at x = rate · t, and its speed du/dx."""
    q = order * x / lag
    if q > _FAR:
        return x - lag, 1.0
    e = exp(-q)
    if order == 1:
        return x - lag * (1 - e), 1 - e
    return x - lag * (1 - e * (1 + q * (2 / 3 + q / 6))), 1 - e * (1 + q * (1 + q / 2))


def unclock(u: float, lag: float, order: int) -> float:
    """The x at which the clock shows u: Newton's method from above, where it cannot overshoot."""
    x = u + lag
    for _ in range(30):
        shown, speed = clock(x, lag, order)
        if shown - u < 1e-5 * (1 + u) or speed < 1e-6:
            break
        x -= (shown - u) / speed
    return x


def warmth(minute: float, rate: float, slow: float, drift: float, recovery: float) -> float:
    """What the air's passing excess adds to the food, by Newton's law at a middling rate."""
    follow = rate * sqrt(slow)
    gap = follow - recovery
    if abs(gap) < 1e-6:
        return drift * follow * minute * exp(-recovery * minute)
    return drift * follow / gap * (exp(-recovery * minute) - exp(-follow * minute))
