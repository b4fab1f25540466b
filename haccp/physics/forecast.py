"""Forecast of a running cooling: when it will be down to each level, and how sure that is.

An estimate; no verdict rests on it. A few hundred possible kitchens (`forecast_prior`) are each
fitted to the readings, weighed by how well they explain them (`forecast_fit`), and asked when they
reach a level: the same answer for the same readings.

Temperatures in °F, times in minutes from the caller's zero. Levels and deadlines are the caller's.
"""

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from enum import Enum
from itertools import accumulate
from math import inf

from haccp.physics.convection import SEA_LEVEL_HPA
from haccp.physics.forecast_curve import CurveShape
from haccp.physics.forecast_fit import fit
from haccp.physics.forecast_prior import (
    Nature,
    Prior,
    Surroundings,
    kitchens,
    published,
)
from haccp.physics.forecast_readings import (
    Point,
    newest,
    relevant,
    spread,
    stands_since,
    tells_a_rate,
)

# A level is crossed after the last reading above it, not at it.
_SECOND = 1 / 60
# Minutes after which a cooling is as good as never over.
NEVER = 2 * 24 * 60
# From so sure on a cooling may be called on course, and with no less evidence than this. The newest
# readings, which are few, agree where it is as likely as not by them.
SURE, EVEN = 0.9, 0.5
_READINGS, _SPAN = 3, 60.0
# To see whether the newest readings agree, one kitchen of so many is enough.
_FEWER = 4
# Beyond the interval of all readings by this ratio of what is left is no chance of their errors.
_CLEARLY = 1.1
# Food stands that for so many minutes did not fall where it should have by so many °F.
_STANDING, _SHOULD_FALL = 20.0, 5.0


@dataclass(frozen=True, slots=True)
class Start:
    """The interval [earliest, latest) from which deadlines count; earliest None where not shown."""

    earliest: float | None
    latest: float


@dataclass(frozen=True, slots=True)
class Goal:
    """A temperature, and the minutes from the start within which the food must be down to it."""

    fahrenheit: float
    within: float


@dataclass(frozen=True, slots=True)
class Interval:
    """The 5, 50 and 95 % points of something estimated; a time that may never come is infinite."""

    low: float
    middle: float
    high: float


@dataclass(frozen=True, slots=True)
class Arrival:
    """When the food is down to one level.

    `chance` is that of the deadline from the earliest start, which proves the limit kept; None
    where that start is not shown. `chance_at_most` counts from the latest start. `agreed` is the
    chance by the newest readings alone, None where all are needed. `readings` and `span` are what
    the forecast rests on.
    """

    level: Goal
    at: Interval
    chance: float | None
    chance_at_most: float
    deadline: float | None
    reached: bool
    readings: int
    span: float
    agreed: float | None = None

    @property
    def chance_told(self) -> float:
        """The chance of the limit as far as its start is known."""
        return self.chance_at_most if self.chance is None else self.chance


@dataclass(frozen=True, slots=True)
class Fitted:
    """What the readings say of the cooling: rates per hour while hot (at 140 °F) and near the air,
    minutes of lag, the surroundings, and the temperature at the first reading used.
    """

    rate: Interval
    rate_cold: Interval
    lag: Interval
    surroundings: Interval
    first: Interval


class Pace(Enum):
    """How the newest readings go on, beside all of them."""

    AS_BEFORE = "as before"
    SLOWER = "slower than before"
    FASTER = "faster than before"


@dataclass(frozen=True, slots=True)
class Forecast:
    """`since` is where the curves begin; `stands_since` from when on food has not cooled that by
    all its readings should have.
    """

    arrivals: tuple[Arrival, ...]
    fitted: Fitted
    since: float
    curves: tuple[CurveShape, ...] = field(repr=False)
    pace: Pace = Pace.AS_BEFORE
    stands_since: float | None = None

    def band(self, times: Iterable[float]) -> tuple[tuple[float, float, float, float], ...]:
        """(minute, 5 %, 50 %, 95 %) of the food's temperature, for times from `since` on."""
        some = _thinned(self.curves)
        weights = [curve.weight for curve in some]
        return tuple(
            (
                time,
                *_points([curve.at(time - self.since) for curve in some], weights),
            )
            for time in times
        )


class Outlook(Enum):
    """How a level stands, without words."""

    REACHED = "reached"
    ON_COURSE = "on course"
    LIKELY = "likely"
    ABOUT_EVEN = "about even"
    DOUBTFUL = "doubtful"
    UNLIKELY = "unlikely"
    TOO_EARLY = "too early"
    START_UNKNOWN = "start unknown"


def outlook(arrival: Arrival, *, told: bool = True) -> Outlook:
    """Say how a level stands: from thin evidence only what warns. On course needs three readings
    over an hour, 90 %, that the newest readings agree, that somebody `told` how or where the food
    cools, and that it will not as well never be cold.
    """
    if arrival.reached:
        return Outlook.REACHED
    chance = arrival.chance_told
    if chance < EVEN - 0.1:
        return Outlook.UNLIKELY if arrival.readings >= _READINGS else Outlook.DOUBTFUL
    if chance <= EVEN + 0.1:
        return Outlook.ABOUT_EVEN
    if arrival.chance is None:
        return Outlook.START_UNKNOWN
    if arrival.readings < _READINGS or arrival.span < _SPAN:
        return Outlook.TOO_EARLY
    agrees = arrival.agreed is None or arrival.agreed >= EVEN
    sure = chance >= SURE and arrival.at.high < NEVER
    return Outlook.ON_COURSE if sure and agrees and told else Outlook.LIKELY


def forecast(
    readings: Sequence[Point],
    surroundings: Surroundings,
    food: Nature,
    start: Start,
    levels: Sequence[Goal],
    known: tuple[Prior, ...] | None = None,
    pressure_hpa: float = SEA_LEVEL_HPA,
) -> Forecast | None:
    """Forecast from the readings since the last change of method; levels come warmest first.

    None where there is nothing to go by: fewer than two readings, or all within five minutes.
    `known` is what the kitchen's finished coolings taught (`learning`) or its plan expects
    (`plan_prior`); without it, the published prior. Where the newest readings alone make the food
    later than all of them can, they are believed: a cooling that changed is not what it was, nor
    what was expected of it.
    """
    timeline = sorted(readings)
    if not tells_a_rate(timeline):
        return None
    used = relevant(timeline, food)
    asked = _Asked(timeline, used[0][0], start, levels, published(food, pressure_hpa))
    whole = asked.forecast(spread(used), surroundings, known or asked.usual)
    tails = newest(used)
    if not tails or all(one.reached for one in whole.arrivals):
        return whole
    found = asked.weighed(whole, tails, surroundings)
    (begun, hot), (ended, cold) = tails[0][0], tails[0][-1]
    if found.pace is Pace.AS_BEFORE and hot - cold > _fall(whole, begun, ended) + _SHOULD_FALL:
        found = replace(found, pace=Pace.FASTER)
    since, until = stands_since(timeline), timeline[-1][0]
    stands = until - since >= _STANDING and _fall(whole, since, until) > _SHOULD_FALL
    return replace(found, stands_since=since if stands else None)


@dataclass(frozen=True, slots=True)
class _Asked:
    """What is asked; `timeline` are all readings, the first of those used is of `began`, `usual` is
    the published prior.
    """

    timeline: Sequence[Point]
    began: float
    start: Start
    levels: Sequence[Goal]
    usual: tuple[Prior, ...]

    def forecast(
        self, some: Sequence[Point], around: Surroundings, known: tuple[Prior, ...]
    ) -> Forecast:
        curves = fit(some, around, kitchens(known), some[0][0] - self.began)
        return Forecast(self._arrivals(some, curves), _fitted(curves), some[0][0], curves)

    def weighed(
        self, whole: Forecast, tails: Sequence[Sequence[Point]], around: Surroundings
    ) -> Forecast:
        """Weigh a forecast by the newest readings: they are believed, or noted with it."""
        for tail in tails:
            curves = fit(tail, around, kitchens(self.usual, _FEWER), tail[0][0] - self.began)
            recent = self._arrivals(tail, curves)
            if _is_later(recent, whole, tail[-1][0]):
                slower = self.forecast(tail, around.doubted(), self.usual)
                return replace(slower, pace=Pace.SLOWER)
            whole = _agreed(whole, recent)
        return whole

    def _arrivals(self, some: Sequence[Point], curves: Sequence[CurveShape]) -> tuple[Arrival, ...]:
        return tuple(_arrival(one, self.timeline, some, curves, self.start) for one in self.levels)


def _is_later(recent: Sequence[Arrival], whole: Forecast, now: float) -> bool:
    """Whether the newest readings alone make the food clearly later than all of them can."""
    pairs = zip(recent, whole.arrivals, strict=True)
    return any(a.at.middle - now > _CLEARLY * (b.at.high - now) for a, b in pairs if not b.reached)


def _agreed(found: Forecast, recent: Sequence[Arrival]) -> Forecast:
    """Note what the newest readings give each level, the least of them."""
    chances = [
        (a, b.chance_told if a.agreed is None else min(a.agreed, b.chance_told))
        for a, b in zip(found.arrivals, recent, strict=True)
    ]
    return replace(found, arrivals=tuple(replace(a, agreed=chance) for a, chance in chances))


def _fall(by_all: Forecast, since: float, until: float) -> float:
    """By how much it should have fallen between two moments, in °F."""
    (_, _, before, _), (_, _, after, _) = by_all.band((since, until))
    return before - after


def _arrival(
    level: Goal,
    timeline: Sequence[Point],
    used: Sequence[Point],
    curves: Sequence[CurveShape],
    start: Start,
) -> Arrival:
    above = [i for i, (_, shown) in enumerate(timeline) if shown > level.fahrenheit]
    after = timeline[above[-1]][0] if above else timeline[0][0] - _SECOND
    reached = not above or above[-1] + 1 < len(timeline)
    before = timeline[above[-1] + 1 if above else 0][0] if reached else inf
    since = used[0][0]
    reached_at = (since + curve.reaches(level.fahrenheit) for curve in curves)
    times = [min(max(at, after + _SECOND), before) for at in reached_at]
    weights = [curve.weight for curve in curves]

    def chance(begun: float) -> float:
        kept = begun + level.within
        return sum(w for t, w in zip(times, weights, strict=True) if t <= kept) / sum(weights)

    return Arrival(
        level,
        Interval(*_points(times, weights)),
        chance(start.earliest) if start.earliest is not None else None,
        chance(start.latest),
        start.earliest + level.within if start.earliest is not None else None,
        reached,
        len(used),
        used[-1][0] - used[0][0],
    )


def _fitted(curves: Sequence[CurveShape]) -> Fitted:
    weights = [curve.weight for curve in curves]

    def spread(values: list[float]) -> Interval:
        return Interval(*_points(values, weights))

    return Fitted(
        rate=spread([60 * c.rate for c in curves]),
        rate_cold=spread([60 * c.rate * c.slow for c in curves]),
        lag=spread([c.lag / c.rate for c in curves]),
        surroundings=spread([c.air for c in curves]),
        first=spread([c.at(0) for c in curves]),
    )


def _points(values: Sequence[float], weights: Sequence[float]) -> tuple[float, float, float]:
    """The 5, 50 and 95 % points of weighted values."""
    order = sorted(range(len(values)), key=values.__getitem__)
    sums = list(accumulate(weights[i] for i in order))
    low, middle, high = (values[order[bisect_left(sums, q * sums[-1])]] for q in (0.05, 0.5, 0.95))
    return low, middle, high


def _thinned(curves: Sequence[CurveShape]) -> Sequence[CurveShape]:
    """About one curve of each kitchen, each time another of its draws."""
    return curves[::5]


# Moments tried for the next reading, by one curve of so many, and °F by which readings tell two
# curves apart.
_LOOKS, _SOME = 10, 3
_TOLD_APART = 3.0
# Less expected fall than this (a variance is at most 1/4) is not worth a walk: the rules decide.
_WORTH_A_LOOK = 0.004
# A temperature parts two kinds of curves where no more than this share is on its wrong side.
_PARTED = 0.15


@dataclass(frozen=True, slots=True)
class Look:
    """When one more reading tells most, and below which °F the food is then if it will make its
    nearest deadline; None where no temperature parts what makes it from what does not.
    """

    at: float
    below: float | None = None


def next_look(
    running: Forecast, now: float, musts: Sequence[float] = (), *, soonest: float = 10.0
) -> Look | None:
    """When one more reading would settle most; None where nothing is open.

    What it settles is the expected fall in the variance of "the nearest open deadline is kept",
    counted by the time that is then left to act in: a reading at the deadline would tell all, too
    late. Never later than the first of `musts`, the moments by which the rules want a reading; not
    sooner than `soonest` from now, unless a must is.
    """
    due = min((must for must in musts if must > now), default=None)
    ahead = [
        (a.deadline, a.level.fahrenheit)
        for a in running.arrivals
        if not a.reached and a.deadline is not None and a.deadline > now
    ]
    if not ahead:
        return None if due is None else Look(due)
    deadline, level = min(ahead)
    last = deadline if due is None else min(due, deadline)
    first = now + soonest
    if first >= last:
        return Look(last)
    curves = running.curves[::_SOME]
    weights = [curve.weight for curve in curves]
    kept = [running.since + curve.reaches(level) <= deadline for curve in curves]
    moments = [first + (last - first) * i / (_LOOKS - 1) for i in range(_LOOKS)]

    def shown(moment: float) -> list[float]:
        return [curve.at(moment - running.since) + curve.bias for curve in curves]

    def worth(moment: float) -> float:
        return _settled(shown(moment), kept, weights) * (deadline - moment)

    most, best = max((worth(moment), -moment) for moment in moments)
    if most <= _WORTH_A_LOOK * (deadline - now):
        return Look(last)
    return Look(-best, _parting(shown(-best), kept, weights))


def _parting(
    shown: Sequence[float], kept: Sequence[bool], weights: Sequence[float]
) -> float | None:
    """The °F that parts best what is kept from what is not; None where it parts them badly."""
    whole = sum(weights)
    wrong = least = sum(w for w, holds in zip(weights, kept, strict=True) if holds)
    parting = None
    for temperature, holds, weight in sorted(zip(shown, kept, weights, strict=True)):
        wrong += -weight if holds else weight
        if wrong < least:
            least, parting = wrong, temperature
    return parting if least <= _PARTED * whole else None


def _settled(seen: Sequence[float], kept: Sequence[bool], weights: Sequence[float]) -> float:
    """The expected fall in the variance of `kept` by a reading that will show one of `seen`.

    Readings are told apart in steps of about three times their SD: of fewer curves in each, chance
    would seem to settle something.
    """
    cells: dict[int, tuple[float, float]] = {}
    for shown, holds, weight in zip(seen, kept, weights, strict=True):
        cell = round(shown / _TOLD_APART)
        whole, held = cells.get(cell, (0.0, 0.0))
        cells[cell] = (whole + weight, held + weight * holds)
    whole = sum(w for w, _ in cells.values())
    share = sum(h for _, h in cells.values()) / whole
    return sum(h * h / w for w, h in cells.values() if w) / whole - share * share
