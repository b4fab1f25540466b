"""The plan before cooking: when a food will be cold, how deep it may be, and what would help.

A plan is an estimate and changes no verdict.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import ceil

import numpy as np
from numpy.typing import NDArray

from haccp.language import message
from haccp.physics import convection
from haccp.physics.cooling_cases import Model, model_of
from haccp.physics.cooling_setup import (
    Consistency,
    Load,
    Material,
    Medium,
    Pan,
    Pot,
    Roast,
    Setup,
    Slab,
    Stage,
    Then,
    check,
)
from haccp.physics.properties import properties
from haccp.quantities import INCH_M

ASSUMPTIONS = (
    message(
        "The food is one temperature when the clock starts, and its warmest point is what counts."
    ),
    message("Thin or stirred food is as warm everywhere; thick food only conducts."),
    message("Pans stand on wire shelves, none touching or stacked: air reaches every side."),
    message("A pan loses no more heat below than above, and may lose half as much."),
    message("A surface without a lid evaporates, from not at all (fat, a skin) to fully wet."),
    message("Under a lid nothing evaporates, and the air beneath it insulates."),
    message(
        "A walk-in, freezer or blast chiller keeps to 1.8 °F of its air whatever is put into it."
    ),
    message(
        "A reach-in or a refrigerator is warmed by what food gives above what its machine takes."
    ),
    message("The ice in a bath is renewed as it melts. Freezing of the food is not counted."),
)


@dataclass(frozen=True, slots=True)
class Crossing:
    """When a stage's level is reached [min after the start], in 5, 50 and 95 of 100 cases.

    Infinite where the surroundings never let it. `chance` is the share that keeps the deadline.
    """

    stage: Stage
    early: float
    middle: float
    late: float
    chance: float


@dataclass(frozen=True, slots=True)
class PlannedCurve:
    """Temperatures [°C] at `minutes` that 5, 50 and 95 of 100 cases are at or below."""

    minutes: tuple[float, ...]
    low: tuple[float, ...]
    middle: tuple[float, ...]
    high: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class CoolingPlan:
    """The answer. `chance` is that of keeping every stage's deadline."""

    setup: Setup
    crossings: tuple[Crossing, ...]
    chance: float
    cautions: tuple[str, ...]

    def curve(self, minutes: Sequence[float]) -> PlannedCurve:
        """Predict the warmest point's temperature at `minutes`, each 0 or later."""
        temperatures = model_of(self.setup).temperatures(np.asarray(minutes, dtype=float))
        low, middle, high = (
            tuple(map(float, np.quantile(temperatures, part, axis=0))) for part in _QUANTILES
        )
        return PlannedCurve(tuple(map(float, minutes)), low, middle, high)


@dataclass(frozen=True, slots=True)
class Portions:
    """So many pans of one size, each filled to `depth_in`."""

    count: int
    size: str
    height_in: float
    depth_in: float


@dataclass(frozen=True, slots=True)
class Alternative:
    """One change out of Food Code 3-501.15(A), and the plan with it."""

    change: str
    plan: CoolingPlan


_QUANTILES = (0.05, 0.5, 0.95)

# Steam-table pans: usable inside length and width, and heights [in]. Common practice, no source.
PAN_SIZES = {"full-size": (19.5, 11.5), "half-size": (11.5, 9.5)}
_PAN_HEIGHTS_IN = (2.5, 4.0, 6.0)
_QUARTER_IN = INCH_M / 4
_SHALLOWEST_QUARTERS, _DEEPEST_QUARTERS = 2, 32

# Air where none was measured [°F], and below 28 and 33 °F: common practice, no source.
WALK_IN_F, FREEZER_F, ROOM_F = 38, 0, 72
BLAST_CHILLER = Medium(-2.2, convection.BLAST_AIR)
ICE_BATH = Medium(0.6, convection.ICE_BATH)

# Ice melts with 334 kJ/kg (steam tables) and then warms as water.
_ICE_MELTS_J, _WATER_CP = 334_000.0, 4180.0
ICE_SHARE = 0.2


@lru_cache(maxsize=64)
def plan(setup: Setup) -> CoolingPlan:
    """Predict a cooling. Raises Refused where the setup makes no sense."""
    check(setup)
    model = model_of(setup)
    kept = _kept(model, setup.stages)
    crossings = []
    for stage, in_time in zip(setup.stages, kept, strict=True):
        # The next greater case where a quantile falls between two: never the earlier time.
        early, middle, late = np.quantile(
            model.minutes_to(stage.celsius), _QUANTILES, method="higher"
        )
        crossings.append(
            Crossing(stage, float(early), float(middle), float(late), float(in_time.mean()))
        )
    return CoolingPlan(setup, tuple(crossings), float(kept.all(axis=0).mean()), _cautions(setup))


@lru_cache(maxsize=64)
def deepest(setup: Setup, certainty: float = 0.9) -> CoolingPlan | None:
    """Find the deepest filling, in quarter inches, that keeps every deadline with `certainty`.

    Of a solid piece, the greatest thickness or diameter. From ½ to 8 in; None where not even half
    an inch does.
    """
    check(setup)

    def thinned(quarters: int) -> Setup:
        return replace(setup, load=_thinned(setup.load, quarters * _QUARTER_IN))

    good, bad = _SHALLOWEST_QUARTERS - 1, _DEEPEST_QUARTERS + 1
    while bad - good > 1:
        middle = (good + bad) // 2
        tried = thinned(middle)
        if _kept(model_of(tried), tried.stages).all(axis=0).mean() >= certainty:
            good = middle
        else:
            bad = middle
    return plan(thinned(good)) if good >= _SHALLOWEST_QUARTERS else None


def portions(litres: float, depth: float) -> tuple[Portions, ...]:
    """Count the pans of each size that an amount [l] makes at a depth [m]."""
    deep = round(depth / INCH_M, 2)
    height = next((h for h in _PAN_HEIGHTS_IN if h >= deep), None)
    if height is None:
        return ()
    return tuple(
        Portions(
            ceil(round(litres / 1000 / (length * width * INCH_M**2 * depth), 9)),
            size,
            height,
            deep,
        )
        for size, (length, width) in PAN_SIZES.items()
    )


def alternatives(setup: Setup, certainty: float = 0.9) -> tuple[Alternative, ...]:
    """Plan each change that Food Code 3-501.15(A) names and the model can tell, in its order.

    All are given with their chances: what does not help is worth knowing too. What is so already
    is left out.
    """
    check(setup)
    found: list[Alternative] = []
    if less := deepest(setup, certainty):
        found.append(Alternative(message("shallow pans, smaller or thinner portions"), less))
    for change, changed in (*_quicker_places(setup), *_easier_loads(setup)):
        if changed == setup:
            continue
        found.append(Alternative(change, plan(changed)))
        thinner_too = change in _WITH_THICKNESS and found[-1].plan.chance < certainty
        if thinner_too and (less := deepest(changed, certainty)):
            found.append(Alternative(_WITH_THICKNESS[change], less))
    return tuple(found)


_RAPID, _BATH = message("rapid cooling equipment"), message("stirring in an ice water bath")
# What is not enough alone may be, of food that stands less high.
_WITH_THICKNESS = {
    _RAPID: message("rapid cooling equipment, no thicker than this"),
    _BATH: message("stirring in an ice water bath, no thicker than this"),
}


def _quicker_places(setup: Setup) -> Iterator[tuple[str, Setup]]:
    if setup.air.coefficient != BLAST_CHILLER.coefficient:
        yield _RAPID, replace(setup, air=BLAST_CHILLER, bath=None, wand=False, then=None)
    if not isinstance(setup.load, Pan | Pot):
        return
    bath = replace(setup, consistency=Consistency.STIRRED, bath=ICE_BATH, then=None)
    yield _BATH, bath
    holds_cold = setup.air.celsius < setup.stages[-1].celsius
    is_still = setup.consistency is not Consistency.STIRRED
    if holds_cold and is_still and not (setup.bath or setup.then):
        onward = Then(setup.air, setup.consistency, celsius=setup.stages[0].celsius)
        both = message("stirring in an ice water bath first, then as asked")
        yield both, replace(bath, then=onward)


def _easier_loads(setup: Setup) -> Iterator[tuple[str, Setup]]:
    if isinstance(setup.load, Pan | Pot):
        if setup.load.material is Material.PLASTIC:
            metal = replace(setup.load, material=Material.METAL)
            yield message("containers that help heat transfer: metal"), replace(setup, load=metal)
        iced = replace(setup, start=start_with_ice(setup))
        if iced.start > setup.stages[0].celsius and _is_ahead(iced):
            yield message("a fifth of the weight as ice, stirred in at the start"), iced
    if setup.covered:
        bare = replace(setup, covered=False)
        yield message("uncovered, if protected from overhead contamination"), bare


def _is_ahead(setup: Setup) -> bool:
    """Whether food that begins colder than asked still has its move before it."""
    then = setup.then
    return then is None or then.celsius is None or setup.start > then.celsius


def start_with_ice(setup: Setup) -> float:
    """Find the temperature after a fifth of the finished weight went in as ice at 0 °C."""
    cp = properties(setup.food, setup.start).cp
    food, ice = (1 - ICE_SHARE) * cp, ICE_SHARE
    heat = food * setup.start - ice * _ICE_MELTS_J
    return max(heat / (food + ice * _WATER_CP), 0.0)


def _thinned(load: Load, size: float) -> Load:
    match load:
        case Pan() | Pot():
            return replace(load, depth=size)
        case Roast():
            return replace(load, diameter=size)
        case Slab():
            return replace(load, thickness=size)


def _kept(model: Model, stages: Sequence[Stage]) -> NDArray[np.bool_]:
    """Whether each stage's deadline is kept, in each case (stages, n)."""
    return np.array([_in_time(model, stage) for stage in stages])


def _in_time(model: Model, stage: Stage) -> NDArray[np.bool_]:
    if stage.since is None:
        end = model.temperatures(np.array([stage.minutes]))[:, 0]
        return np.asarray(end <= stage.celsius)
    reached = model.minutes_to(stage.celsius)
    deadline = model.minutes_to(stage.since) + stage.minutes
    return np.isfinite(reached) & (reached <= deadline)  # never is in no time


def _cautions(setup: Setup) -> tuple[str, ...]:
    found = []
    if setup.air.celsius < -1:
        found.append(message("Freezing at the edges is not counted: it holds cooling up there."))
    if setup.bath:
        ice = message("Ice water must stand as high as the food, and ice be added as it melts.")
        found.append(ice)
    if setup.consistency is Consistency.STIRRED:
        stir = message("Stir at least every quarter of an hour: unstirred it cools as thick food.")
        found.append(stir)
    return tuple(found)
