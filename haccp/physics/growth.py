"""Growth of *Clostridium perfringens* that published cardinal values imply for a cooling.

Information beside a deviation, never a verdict: see `VERIFIED`. Growth rates are in ln units per
hour, work in ln units, temperatures in °C, curves are points of (minutes, °C).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from haccp.language import message, phrase

Point = tuple[float, float]

VERIFIED = (
    message("Upper-side indication from a model, not a measurement."),
    message(
        "Verified in the published abstract: the temperatures at which C. perfringens starts, grows"
        " fastest and stops, and its fastest rate, for roasted chicken and braised beef."
    ),
    message(
        "Not verified: that the study used this equation between them, and the lag (fitted to two"
        " rounded published predictions)."
    ),
    message(
        "Published observations differ by more than 1 log between replicates, and the model"
        " over-predicts slow coolings."
    ),
    message("It releases no food, excuses no deviation and ranks none down."),
)

# Federal guidance for inspected plants (9 CFR 318.17, 381.150; FSIS-GD-2021-13); not a limit for
# kitchens. As quoted by Smith & Schaffner 2004, Food Safety Magazine.
CRITERION_LOG10 = 1.0
CRITERION = message(
    "Federal guidance for inspected plants allows no more than 1 log10 growth of C. perfringens"
    " during cooling; it is no limit for this kitchen."
)


def behind() -> str:
    """Say what is told once with the figures, however many there are."""
    return " ".join(map(phrase, (CRITERION, *VERIFIED)))


# Work to be done before growth, in ln units. Calibrated, not seen for this organism: the two
# predictions of Juneja, Marks & Thippareddi 2008 (Food Microbiol 25:42), 1.1 and 3.6 log in 1.5 and
# 3 h, imply 3.22.
LAG = 3.2
# One cell per gram grown to 10^8 per gram: more increase than that has no food to happen in.
CEILING_LOG10 = 8.0
_BEYOND_ANY_CEILING = 100.0  # ln units: keeps the exponential in range

# Steps in one stretch between two points: the integral is then good to four digits.
_STEPS = 400


@dataclass(frozen=True, slots=True)
class Cardinal:
    """The temperatures at which growth starts, is fastest and stops [°C], and how fast [ln/h]."""

    food: str
    lowest: float
    best: float
    highest: float
    fastest: float

    def rate(self, celsius: float) -> float:
        """Growth rate [ln/h]; 0 outside the cardinal temperatures.

        Form: the cardinal model of Rosso et al. (1993), from memory.
        """
        if not self.lowest < celsius < self.highest:
            return 0.0
        rise = self.best - self.lowest
        bend = (self.best - self.highest) * (self.best + self.lowest - 2 * celsius)
        shape = (celsius - self.highest) * (celsius - self.lowest) ** 2
        return self.fastest * shape / (rise * (rise * (celsius - self.best) - bend))


# One-step dynamic analysis in Food Control, abstract: cardinal values and fastest rates.
CARDINALS = (
    Cardinal("roasted chicken", 8.8, 46.4, 51.5, 6.06),
    Cardinal("braised beef", 10.3, 43.5, 53.4, 5.64),
)


@dataclass(frozen=True, slots=True)
class Indication:
    """Increase [log10] over both foods of the study, for every curve that the readings allow.

    `least` and `most` bound it for food that moves one way between two readings, whatever its
    path: with the lag and without any. `along` is for the log-linear path, lag to no lag.
    """

    least: float
    along: tuple[float, float]
    most: float


def indicate(readings: Sequence[Point]) -> Indication:
    """Bound the growth that readings of a cooling allow. `readings` are in order of time.

    The slowest curve is not the one that grows most: food held above 53 °C grows nothing. So each
    stretch between readings counts at the highest, and the lowest, rate between its two
    temperatures, which no curve through them can pass.
    """
    bounds = [_work_bounds(readings, cardinal) for cardinal in CARDINALS]
    along = [work(readings, cardinal) for cardinal in CARDINALS]
    return Indication(
        least=min(log10_growth(low, LAG) for low, _ in bounds),
        along=(
            min(log10_growth(done, LAG) for done in along),
            max(log10_growth(done) for done in along),
        ),
        most=max(log10_growth(high) for _, high in bounds),
    )


def work(curve: Sequence[Point], cardinal: Cardinal) -> float:
    """Integrate the growth rate along a curve that is log-linear in °C between its points [ln].

    A stretch that touches 0 °C, where that has no logarithm, is taken straight: no growth there.
    """
    total = 0.0
    for (begun, hot), (ended, cold) in pairwise(curve):
        geometric = hot > 0 and cold > 0
        for step in range(_STEPS):
            part = (step + 0.5) / _STEPS
            celsius = hot * (cold / hot) ** part if geometric else hot + (cold - hot) * part
            total += cardinal.rate(celsius) * (ended - begun) / 60 / _STEPS
    return total


def log10_growth(work_done: float, lag: float = 0.0) -> float:
    """Increase [log10] after `work_done` [ln] with `lag` work before it, up to the ceiling.

    Form: Baranyi & Roberts (1994), from memory; without lag the increase is the work itself.
    """
    # The published form's exp(-M) + exp(-h0) - exp(-M - h0), times exp(M): never below 1.
    increase = math.log1p(math.exp(-lag) * math.expm1(min(work_done, _BEYOND_ANY_CEILING)))
    return min(increase / math.log(10), CEILING_LOG10)


def _work_bounds(readings: Sequence[Point], cardinal: Cardinal) -> tuple[float, float]:
    least = most = 0.0
    for (begun, one), (ended, other) in pairwise(readings):
        hours = (ended - begun) / 60
        cold, hot = sorted((one, other))
        fastest = min(max(cardinal.best, cold), hot)  # the rate has one peak
        least += hours * min(cardinal.rate(cold), cardinal.rate(hot))
        most += hours * cardinal.rate(fastest)
    return least, most
