"""Lethality and come-up time of a roast's core: information beside a verdict, never instead."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from itertools import groupby, pairwise
from math import expm1, log

from haccp.language import message, phrase
from haccp.rules.evidence import Reading
from haccp.rules.exposure import time_between
from haccp.temperature import Level

# The table of 3-401.11(B) is one formula: minutes = 111.3 x 10^(-(T - 130) / 10), T in °F, rounded
# up to the whole minute, from 147 °F on to the whole second. Any factor from 111.206 to 111.470
# gives the same rows (tests/published/test_lethality.py).
REFERENCE_F = 130.0
Z_F = 10.0
CRITERION_MIN = 111.3


@dataclass(frozen=True, slots=True)
class Lethality:
    """A core curve's heat as minutes at 130 °F, to be seen beside `criterion`.

    `minutes` takes straight lines between readings. `least` and `most` are what it may have been:
    at the cooler, or at the warmer, of each two neighbouring readings all the time.
    """

    minutes: float
    least: float
    most: float
    criterion: float = CRITERION_MIN

    @property
    def words(self) -> str:
        """Say it with the rounding against the food: never more heat than there was."""
        told, least = _spell(self.minutes), _spell(self.least)
        exact = message(
            "The core's heat amounts to {heat} at 130 °F; the table of 3-401.11(B) stands "
            "for {criterion} min. Information only: a row of the table decides."
        )
        bounded = message(
            "The core's heat amounts to {heat} at 130 °F, at least {least} whatever it did between "
            "readings; the table of 3-401.11(B) stands for {criterion} min. Information only: a "
            "row of the table decides."
        )
        words = exact if least == told else bounded
        return phrase(words, heat=told, least=least, criterion=f"{self.criterion:g}")


def _spell(minutes: float) -> str:
    # Far above the criterion the formula is stretched beyond the table's 158 °F and means "plenty".
    most = 100 * CRITERION_MIN
    if minutes > most:
        return phrase("more than {most} min", most=f"{most:,.0f}")
    return f"{int(minutes * 10) / 10} min"


def lethality(readings: Sequence[Reading]) -> Lethality | None:
    """Integrate a core curve by the log-mean rule; None without two trusted moments.

    The log-mean rule is exact on straight ramps, where the trapezoid gives too much. Nothing below
    130 °F counts: the table has no row there. `readings` are sorted; at one moment the coolest
    counts, and a doubted thermometer's do not.
    """
    trusted = [reading for reading in readings if not reading.doubted_since]
    curve = [
        (at, float(min(reading.temperature.fahrenheit for reading in group)))
        for at, group in groupby(trusted, key=lambda reading: reading.at)
    ]
    if len(curve) < 2:
        return None
    total = least = most = 0.0
    for (begun, one), (ended, other) in pairwise(curve):
        minutes = (ended - begun) / timedelta(minutes=1)
        cooler, warmer = sorted((one, other))
        total += _ramp(minutes, cooler, warmer)
        least += _ramp(minutes, cooler, cooler)
        most += _ramp(minutes, warmer, warmer)
    return Lethality(total, least, most)


def _ramp(minutes: float, cooler: float, warmer: float) -> float:
    """Integrate 10^((T - 130) / z) over a straight ramp's part at or above 130 °F."""
    if warmer < REFERENCE_F:
        return 0.0
    if cooler < REFERENCE_F:
        minutes *= (warmer - REFERENCE_F) / (warmer - cooler)
        cooler = REFERENCE_F
    rate = 10 ** ((cooler - REFERENCE_F) / Z_F)
    # (L2 - L1) / ln(L2 / L1), without the loss of digits where the two are nearly one
    rise = log(10) * (warmer - cooler) / Z_F
    return float(minutes * rate * (expm1(rise) / rise if rise else 1.0))


# FSIS Appendix A (2021), for inspected plants: from 50 to 130 °F in no more than 6 hours. From
# memory; guidance, which does not bind a kitchen.
COME_UP_FROM = Level(Decimal(50), Decimal(10))
COME_UP_TO = Level(Decimal(130), Decimal("54.4"))
COME_UP_GUIDANCE = timedelta(hours=6)


@dataclass(frozen=True, slots=True)
class ComeUp:
    """How long a core took from 50 to 130 °F; `longest` None without a reading at either end."""

    shortest: timedelta
    longest: timedelta | None

    @property
    def keeps_guidance(self) -> bool | None:
        """Whether it took 6 hours or less; None where the readings do not say."""
        if self.longest is not None and self.longest <= COME_UP_GUIDANCE:
            return True
        return False if self.shortest >= COME_UP_GUIDANCE else None


def come_up(readings: Sequence[Reading]) -> ComeUp | None:
    """Bound a core's time from 50 to 130 °F, up to its first reading at or above 130 °F.

    `readings` are those of one cook, sorted; None without a trusted one. Between two readings the
    core is taken to move one way; food that falls back counts all its time between.
    """
    trusted = [reading for reading in readings if not reading.doubted_since]
    hot = next(
        (reading.at for reading in trusted if reading.temperature.over(COME_UP_TO) >= 0), None
    )
    heating = [reading for reading in trusted if hot is None or reading.at <= hot]
    found = time_between(heating, COME_UP_FROM, COME_UP_TO)
    if found is None:
        return None
    seen_cold = any(
        reading.temperature.over(COME_UP_FROM) <= 0
        for reading in heating
        if reading.at == found.since
    )
    return ComeUp(found.shortest, found.longest if hot and seen_cold else None)
