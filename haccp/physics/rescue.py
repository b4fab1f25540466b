"""Which act still saves a cooling: the chance of each, from now on. An estimate, and no verdict.

A chance is a share of cases, over everything that the planner takes for unknown
(`cooling_cases`: the air's and the bath's true temperature, every coefficient in its published
range, the food's properties, how wet its surface is) and, where the record does not say, what the
food is like and how deep it stands. Of these each counts by how well its cases explain how the food
cooled so far, where that is known; coefficients and properties stay as they are published, for what
the food met so far says nothing of what it will meet. It is no share of real kitchens.

The food is taken to be as warm all through as its last reading, which is what its warmest point
was. What an act itself takes, such as filling pans, is not counted.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from haccp.equipment import BLAST_CHILLER, FAN, FREEZER, ICE, ICE_BATH, ICE_WAND, Equipment
from haccp.language import message, phrase
from haccp.physics import convection, planning
from haccp.physics.conduction import Array
from haccp.physics.cooling_cases import CASES, model_of
from haccp.physics.cooling_setup import Consistency, Medium, Pan, Pot, Roast, Setup
from haccp.physics.forecast_prior import READING_SD, Nature
from haccp.quantities import INCH_M

# "2 in or less" is a health department's rule of thumb (Solano County); in a walk-in that was not
# enough by itself in published trials (Roberts et al. 2013; Olds et al. 2013, abstracts) [in].
SHALLOW_IN = (2.0, 1.0)
# A whole roast is sliced across into pieces so thick: common practice, no source [in].
PIECES_IN = (4.0, 2.0)
_LENGTH, _WIDTH = (inches * INCH_M for inches in planning.PAN_SIZES["full-size"])
_ANY_AIR = convection.Range(
    convection.STILL_AIR.low,
    convection.MOVING_AIR.high,
    "from still to moving air, as nobody said which",
)
# By how many °F a reading and a model that is right but for its simple shape may differ (SD), and
# the mean squared miss beyond which no case is right: the food went another way (benchmarks).
_MISS_SD, _STRANGE = 2.5, 4.0
# Not worth saying twice: what is this sure at one depth is surer at less.
_SURE = 0.99


@dataclass(frozen=True, slots=True)
class Act:
    """One thing to do now: where the food is put, spread to `depth_in` in pans; 0 for as it is.

    `change` gives how it cools from then on, `needs` is the equipment for it. What is `cut` is a
    roast, in pieces so thick.
    """

    place: str
    change: Callable[[Setup], Setup]
    needs: str = ""
    depth_in: float = 0.0
    cut: bool = False

    @property
    def words(self) -> str:
        place = phrase(self.place)
        if not self.depth_in:
            return place
        deep = message("{inches} in ({centimetres} cm) deep in pans, {place}")
        cut = message("cut into pieces {inches} in ({centimetres} cm) thick, {place}")
        words = cut if self.cut else deep
        return phrase(
            words,
            inches=f"{self.depth_in:g}",
            centimetres=f"{self.depth_in * 2.5:g}",
            place=place,
        )

    def is_owned(self, owned: Equipment) -> bool:
        in_pans = 0.0 if self.cut else self.depth_in
        return in_pans <= owned.pan_in and (not self.needs or self.needs in owned.things)


def acts(deepest_in: float) -> Iterator[Act]:
    """Give every act for food that stands up to so deep [in], what is deeper first."""
    yield Act(message("in moved air, right at the fan"), _moved, FAN)
    yield Act(message("in the freezer, in moved air"), _frozen, FREEZER)
    yield Act(message("in the blast chiller"), _blasted, BLAST_CHILLER)
    yield Act(message("in an ice bath in the cooler, stirred"), _bathed, ICE_BATH)
    yield Act(message("in an ice bath in the room, stirred"), _bathed_in_the_room, ICE_BATH)
    yield Act(message("in an ice bath in the cooler, not stirred"), _stood_in_ice, ICE_BATH)
    yield Act(message("stirred with an ice wand, in the cooler"), _with_a_wand, ICE_WAND)
    yield Act(message("with a quarter of its weight as ice, stirred in"), _iced, ICE)
    for depth in SHALLOW_IN:
        if depth < deepest_in:
            yield Act(message("in the cooler"), _spread(depth, _as_it_is), "", depth)
            yield Act(
                message("in the freezer, in moved air"), _spread(depth, _frozen), FREEZER, depth
            )
            yield Act(
                message("in the blast chiller"), _spread(depth, _blasted), BLAST_CHILLER, depth
            )
            bath = _spread(depth, _bathed)
            yield Act(message("in an ice bath in the cooler, stirred"), bath, ICE_BATH, depth)


def acts_on_a_roast() -> Iterator[Act]:
    """Give every act for a whole roast, what is thicker first.

    In a bath it is in a bag that lies close: the water takes its heat, and nothing evaporates.
    """
    yield Act("in moved air, right at the fan", _moved, FAN)
    in_the_cooler = Act("in the cooler", _as_it_is)
    places = (
        Act("in the freezer, in moved air", _frozen, FREEZER),
        Act("in the blast chiller", _blasted, BLAST_CHILLER),
        Act("bagged, in an ice bath in the cooler", _bagged, ICE_BATH),
    )
    yield from places
    for thick in PIECES_IN:
        for one in (in_the_cooler, *places):
            yield replace(one, change=_sliced(thick, one.change), depth_in=thick, cut=True)


def weigh(setups: Sequence[Setup], minutes: Sequence[float], celsius: Sequence[float]) -> Array:
    """Weigh setups (n,) by readings in the air that they stand in, from the first on: each by how
    well its cases explain them in the mean.

    All weigh alike where no case goes so. Nobody says whether the air is moved: either.
    """
    count = CASES // len(setups)
    times, shown = np.array(minutes), np.array(celsius)
    so_far = (
        replace(
            one,
            start=float(shown[0]),
            air=Medium(one.air.celsius, _ANY_AIR),
        )
        for one in setups
    )
    models = [model_of(one, count).temperatures(times[1:] - times[0]) for one in so_far]
    misses = 1.8 * (np.array(models) - shown[1:])
    seen = misses.shape[-1]
    # The first reading's error is in every miss.
    common = (READING_SD[Nature.THICK] / _MISS_SD) ** 2
    squares = (misses**2).sum(axis=-1)
    squares -= common / (1 + seen * common) * misses.sum(axis=-1) ** 2
    squares /= _MISS_SD**2
    if squares.min() > _STRANGE * seen:
        return np.ones(len(setups))
    return np.asarray(np.exp((squares.min() - squares) / 2).mean(axis=1))


def chance(setups: Sequence[Setup], weights: Array | None = None) -> tuple[float, ...]:
    """Give the share of cases that keep each stage's deadline and all before it.

    The setups are alike but for what is not known of them, each as likely as the next, or as
    `weigh` weighs them; their stages count from now.
    """
    together: dict[Setup, float] = {}
    for one, weight in zip(
        setups, np.ones(len(setups)) if weights is None else weights, strict=True
    ):
        together[one] = together.get(one, 0.0) + float(weight)
    count = CASES // len(together)
    kept = [_kept(one, count) for one in together]
    return tuple(map(float, np.average(kept, axis=0, weights=[*together.values()])))


def _kept(setup: Setup, count: int) -> Array:
    """Give the share of cases that keep each stage and all before it (stages,)."""
    ahead = tuple(one for one in setup.stages if one.celsius < setup.start)
    kept = np.ones((len(setup.stages), count), dtype=bool)
    if ahead:
        minutes = np.array([max(one.minutes, 0.0) for one in ahead])
        warmest = model_of(replace(setup, stages=ahead), count).temperatures(minutes)
        levels = np.array([one.celsius for one in ahead])
        kept[-len(ahead) :] = (warmest <= levels).T
    return np.asarray(np.logical_and.accumulate(kept).mean(axis=1))


def is_sure_deeper(act: Act, found: Sequence[tuple[Act, float]]) -> bool:
    """Whether the same act is as good as sure with the food deeper."""
    return any(
        one.place == act.place and one.depth_in > act.depth_in > 0 and at > _SURE
        for one, at in found
    )


def _as_it_is(setup: Setup) -> Setup:
    return setup


def _moved(setup: Setup) -> Setup:
    return replace(setup, air=Medium(setup.air.celsius, convection.MOVING_AIR))


def _frozen(setup: Setup) -> Setup:
    return replace(setup, air=Medium(_celsius(planning.FREEZER_F), convection.MOVING_AIR))


def _blasted(setup: Setup) -> Setup:
    return replace(setup, air=planning.BLAST_CHILLER)


def _bathed(setup: Setup) -> Setup:
    return replace(setup, bath=planning.ICE_BATH, consistency=Consistency.STIRRED)


def _bathed_in_the_room(setup: Setup) -> Setup:
    room = Medium(_celsius(planning.ROOM_F), convection.STILL_AIR)
    return replace(_bathed(setup), air=room)


def _stood_in_ice(setup: Setup) -> Setup:
    """What was stirred and no longer is counts as thick, on the slow side."""
    thin = setup.consistency is Consistency.THIN
    return replace(
        setup,
        bath=planning.ICE_BATH,
        consistency=Consistency.THIN if thin else Consistency.THICK,
    )


def _with_a_wand(setup: Setup) -> Setup:
    return replace(setup, wand=True, consistency=Consistency.STIRRED)


def _iced(setup: Setup) -> Setup:
    """The ice makes it deeper, too."""
    assert isinstance(setup.load, Pan | Pot)
    deeper = setup.load.depth / (1 - planning.ICE_SHARE)
    return replace(
        setup, start=planning.start_with_ice(setup), load=replace(setup.load, depth=deeper)
    )


def _spread(depth_in: float, change: Callable[[Setup], Setup]) -> Callable[[Setup], Setup]:
    def spread(setup: Setup) -> Setup:
        assert isinstance(setup.load, Pan | Pot)
        depth = min(setup.load.depth, depth_in * INCH_M)
        return change(replace(setup, load=Pan(_LENGTH, _WIDTH, depth)))

    return spread


def _bagged(setup: Setup) -> Setup:
    return replace(setup, bath=planning.ICE_BATH, covered=True)


def _sliced(thick_in: float, change: Callable[[Setup], Setup]) -> Callable[[Setup], Setup]:
    def sliced(setup: Setup) -> Setup:
        assert isinstance(setup.load, Roast)
        length = min(setup.load.length, thick_in * INCH_M)
        return change(replace(setup, load=replace(setup.load, length=length)))

    return sliced


def _celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32) / 1.8
