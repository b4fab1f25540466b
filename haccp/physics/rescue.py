"""Which act still saves a cooling: the chance of each, from now on. An estimate, and no verdict.

A chance is a share of equally likely cases, over everything that the planner takes for unknown
(`cooling_cases`: the air's and the bath's true temperature, every coefficient in its published
range, the food's properties, how wet its surface is) and, where the record does not say, what the
food is like and how deep it stands. It is no share of real kitchens.

The food is taken to be as warm all through as its last reading, which is what its warmest point
was. What an act itself takes, such as filling pans, is not counted.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from haccp.equipment import BLAST_CHILLER, FAN, FREEZER, ICE, ICE_BATH, ICE_WAND, Equipment
from haccp.language import message, phrase
from haccp.physics import convection, planning
from haccp.physics.cooling_cases import CASES, model_of
from haccp.physics.cooling_setup import Consistency, Medium, Pan, Pot, Setup
from haccp.quantities import INCH_M

# "2 in or less" is a health department's rule of thumb (Solano County); in a walk-in that was not
# enough by itself in published trials (Roberts et al. 2013; Olds et al. 2013, abstracts) [in].
SHALLOW_IN = (2.0, 1.0)
_LENGTH, _WIDTH = (inches * INCH_M for inches in planning.PAN_SIZES["full-size"])
# Not worth saying twice: what is this sure at one depth is surer at less.
_SURE = 0.99


@dataclass(frozen=True, slots=True)
class Act:
    """One thing to do now: where the food is put, spread to `depth_in` in pans; 0 for as it is.

    `change` gives how it cools from then on, `needs` is the equipment for it.
    """

    place: str
    change: Callable[[Setup], Setup]
    needs: str = ""
    depth_in: float = 0.0

    @property
    def words(self) -> str:
        place = phrase(self.place)
        if not self.depth_in:
            return place
        return phrase(
            "{inches} in ({centimetres} cm) deep in pans, {place}",
            inches=f"{self.depth_in:g}",
            centimetres=f"{self.depth_in * 2.5:g}",
            place=place,
        )

    def is_owned(self, owned: Equipment) -> bool:
        return self.depth_in <= owned.pan_in and (not self.needs or self.needs in owned.things)


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


def chance(setups: Sequence[Setup]) -> tuple[float, ...]:
    """Give the share of cases that keep each stage's deadline and all before it.

    The setups are alike but for what is not known of them, each as likely as the next; their
    stages count from now.
    """
    distinct = list(dict.fromkeys(setups))
    count = CASES // len(distinct)
    return tuple(map(float, np.mean([_kept(one, count) for one in distinct], axis=0)))


def _kept(setup: Setup, count: int) -> list[float]:
    ahead = tuple(one for one in setup.stages if one.celsius < setup.start)
    kept = np.ones((len(setup.stages), count), dtype=bool)
    if ahead:
        minutes = np.array([max(one.minutes, 0.0) for one in ahead])
        warmest = model_of(replace(setup, stages=ahead), count).temperatures(minutes)
        levels = np.array([one.celsius for one in ahead])
        kept[-len(ahead) :] = (warmest <= levels).T
    return list(np.logical_and.accumulate(kept).mean(axis=1))


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


def _celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32) / 1.8
