"""How food warms the air of a small cooler, by a balance of heat.

The machine takes so much heat beyond what leaks in while the air keeps its temperature. What food
gives above that warms the air and what stands in it; warmer air lets less heat in from the room and
is cooled harder, by so much for each degree. The food is cooled by the air so warmed. Arrays: n
cases, m times, which rise from 0.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from haccp.physics.conduction import Array
from haccp.physics.convection import Range


@dataclass(frozen=True, slots=True)
class Cooler:
    """Heat taken beyond its leaks [W], more of it for each degree [W/K], and heat stored [J/K].

    Ranges from memory. A household's compressor takes 100 to 200 W and runs a third to half of the
    time when nothing warm is put in, and its walls leak 1 to 2 W/K; a reach-in of one or two doors
    takes 400 to 1,000 W. Stored is what 5 to 25 kg of water would, in a reach-in 20 to 100 kg.
    """

    spare: Range
    by_degree: Range
    stored: Range


_NEAR = 0.05  # [°C]: closer to the air than this, loss by degree is read a little apart
_SOURCE = "from memory"
HOUSEHOLD = Cooler(Range(20, 100, _SOURCE), Range(1, 5, _SOURCE), Range(20_000, 100_000, _SOURCE))
REACH_IN = Cooler(Range(150, 500, _SOURCE), Range(5, 20, _SOURCE), Range(80_000, 400_000, _SOURCE))


@dataclass(frozen=True, slots=True)
class Balance:
    """One cooler and what stands in it, in each case (n,).

    `keeps` is the air that it keeps [°C], `food` the heat that the food holds in a degree [J/K].
    """

    keeps: Array
    spare: Array
    by_degree: Array
    stored: Array
    food: Array

    def air(self, before: Array, seconds: float, gives: Array, resists: Array) -> Array:
        """Find the air at the end of a step from the air `before` it.

        The food would give `gives` [J] if the air stayed, and less by `resists` [J/K] for each
        degree that it warms.
        """
        held = self.stored / seconds + self.by_degree + resists / seconds
        power = gives / seconds - self.spare + self.by_degree * self.keeps
        warmed = (power + (self.stored + resists) / seconds * before) / held
        return np.maximum(warmed, self.keeps)


def times(steps: int) -> Array:
    """Give minutes from 0 to a week, each a few percent after the one before."""
    return np.concatenate([[0.0], np.geomspace(1.0, 10_080.0, steps)])


def by_conduction(
    minutes: Array, balance: Balance, own: tuple[Array, Array], answer: tuple[Array, Array]
) -> tuple[Array, Array]:
    """Find the warmest point and the air (n, m) of food that conducts.

    `own` is what its warmest point and its mean would be (n, m) if the air stayed, `answer` how far
    each is from the air, of 1, when all of it began 1 warmer: by it they follow each change of air.
    """
    warmest, mean = (one.copy() for one in own)
    air = np.repeat(balance.keeps[:, None], len(minutes), axis=1)
    for i in range(1, len(minutes)):
        step = minutes[i] - minutes[i - 1]
        halfway = minutes[i - 1] + step / 2
        slow = _at(answer[1], minutes, step / 2)
        gives = balance.food * (mean[:, i - 1] - mean[:, i])
        air[:, i] = balance.air(air[:, i - 1], 60 * step, gives, balance.food * (1 - slow))
        change = (air[:, i] - air[:, i - 1])[:, None]
        since = minutes[i:] - halfway
        warmest[:, i:] += change * (1 - _at(answer[0], minutes, since))
        mean[:, i:] += change * (1 - _at(answer[1], minutes, since))
    return warmest, air


def _at(rows: Array, minutes: Array, when: Array | float) -> Array:
    """Read rows (n, m) at other minutes, straight between two."""
    place = np.clip(np.searchsorted(minutes, when), 1, len(minutes) - 1)
    share = (when - minutes[place - 1]) / (minutes[place] - minutes[place - 1])
    return np.asarray(rows[:, place - 1] * (1 - share) + rows[:, place] * share)


def by_mixing(
    minutes: Array, balance: Balance, start: Array, loss: Callable[[Array, Array], Array]
) -> tuple[Array, Array]:
    """Find the temperature and the air (n, m) of food that is one temperature.

    `loss` gives the heat that all of it gives up [W] (n,) at its temperature, in an air.
    """
    food, air = [start], [balance.keeps]
    for seconds in 60 * np.diff(minutes):
        now, around = food[-1], air[-1]
        apart = np.where(np.abs(now - around) < _NEAR, _NEAR, now - around)
        by_degree = np.maximum(loss(around + apart, around) / apart, 0.0)
        # Both ends of the step are found at once: a step may be longer than either takes.
        share = by_degree * seconds / (balance.food + by_degree * seconds)
        next_air = balance.air(around, seconds, balance.food * share * (now - around),
                               balance.food * share)  # fmt: skip
        air.append(next_air)
        food.append(now - share * (now - next_air))
    return np.array(food).T, np.array(air).T
