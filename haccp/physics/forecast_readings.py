"""Which readings a forecast rests on: not the hottest of some foods, and near ones once.

Times in minutes, temperatures in °F.
"""

from collections.abc import Sequence
from itertools import takewhile

from haccp.physics.forecast_prior import Nature

Point = tuple[float, float]

# Hotter readings of an open liquid overstate how fast it goes on, by half or more: it evaporates
# (the open cooling-water data, tests/published/test_cooling_water.py). Thick food hardly does, and
# without them its shoulder is taken for its course.
_HOTTEST = 140.0
# Fewer minutes apart, two readings in whole degrees say nothing about a rate.
_SHORTEST = 5.0
# What a thermometer and its place err by stays nearly the same for minutes: of readings nearer than
# this the later one counts. Of more than so many, evenly spread ones tell as much (benchmarks).
_APART, _MOST = 10.0, 12
# The newest readings tell how it cools now: at least two, at least so many minutes apart. The
# longer span shows a small change that the shorter one cannot.
_NEWEST = (20.0, 60.0)
# Food stands where readings of so many minutes together are not colder by more than this °F.
_TOGETHER, _STANDS = 5.0, 1.5


def tells_a_rate(readings: Sequence[Point]) -> bool:
    return len(readings) >= 2 and readings[-1][0] - readings[0][0] >= _SHORTEST


def relevant(timeline: Sequence[Point], food: Nature) -> tuple[Point, ...]:
    """The readings to fit, in their order: as long as enough are left, those below 140 °F of food
    that may evaporate, and none that is near the one after it.

    For a later stage they are kept all: a fit from its own readings alone was wider and missed
    more, in every truth of the benchmark.
    """
    some = [r for r in timeline if food is Nature.THICK or r[1] <= _HOTTEST]
    some = some if tells_a_rate(some) else list(timeline)
    apart = [some[-1]]
    for one in some[-2:0:-1]:
        if apart[-1][0] - one[0] >= _APART:
            apart.append(one)
    return (some[0], *reversed(apart))


def spread(used: Sequence[Point]) -> tuple[Point, ...]:
    """At most twelve of the readings, first and last among them."""
    last, most = len(used) - 1, _MOST - 1
    if last <= most:
        return tuple(used)
    return tuple(used[round(i * last / most)] for i in range(_MOST))


def newest(used: Sequence[Point]) -> tuple[tuple[Point, ...], ...]:
    """The fewest last readings that tell how it cools now, for each span; none that are all."""
    tails: dict[int, tuple[Point, ...]] = {}
    for span in _NEWEST:
        for i in range(len(used) - 2, 0, -1):
            if used[-1][0] - used[i][0] >= span:
                tails.setdefault(i, spread(used[i:]))
                break
    return tuple(tails.values())


def stands_since(timeline: Sequence[Point]) -> float:
    """The minute from which it was never warmer than at last, but for a degree or two."""
    groups: list[list[Point]] = []
    for one in reversed(timeline):
        if groups and groups[-1][0][0] - one[0] < _TOGETHER:
            groups[-1].append(one)
        else:
            groups.append([one])
    means = [sum(shown for _, shown in group) / len(group) for group in groups]
    standing = takewhile(
        lambda pair: pair[1] <= means[0] + _STANDS, zip(groups, means, strict=True)
    )
    return min(group[0][0] for group, _ in standing)
