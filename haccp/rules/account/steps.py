"""What may happen to food, and what each step of it is."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from haccp.rules.evidence import INITIAL, METHODS, Step


class Event(StrEnum):
    """What is on record of a batch beside readings of the food."""

    SEAR = "sear"  # a cook reading of an initial heating, 3-401.14
    RECEIVE_BY_LAW = "receive by law"  # a delivery that a law lets arrive warmer, 3-501.14(C)
    CHECK_HOT = "check hot"
    CHECK_COLD = "check cold"
    CHECK_FROZEN = "check frozen"
    MOVED = "moved"  # into the unit that is named
    EMPTIED = "emptied"  # the unit that is named: whatever stood in it, its place is not on record
    TAKEN_OUT = "taken out"
    MADE = "made"  # something is made of it
    FREEZE = "freeze"
    THAW = "thaw"
    NOT_TCS = "not TCS"
    USED = "used"
    USED_IN = "used in"  # in another batch, or divided: nothing of it was served
    DISCARD = "discard"


What = Step | Event


class Keeps(StrEnum):
    """How a unit, or a step, keeps food."""

    HOT = "hot"
    COLD = "cold"
    FROZEN = "frozen"


@dataclass(frozen=True, slots=True)
class Traits:
    """What a step is, whatever the food went through.

    `heats`: the food is being heated. `kept`: it stands in a unit that keeps it so, and stays
    there; without it the step takes the food out of its unit. `held_to` is the limit that its
    readings are held to while the food has that temperature. `coolest`: of several readings at one
    moment the coolest counts, else the warmest. `limits` are those that it is judged by.
    """

    heats: bool = False
    kept: Keeps | None = None
    leaves: bool = False
    serves: bool = False
    held_to: str = ""
    coolest: bool = False
    limits: tuple[str, ...] = ()
    methods: tuple[str, ...] = ()


_COLD, _HOT, _FROZEN = Keeps.COLD, Keeps.HOT, Keeps.FROZEN
_COOLING = ("cooling-stage-1", "cooling-stage-2", "cooling-ambient")
_TIMED = ("time-control-hot", "time-control-cold", "time-control-6h", "time-control-opened")

TRAITS: Mapping[What, Traits] = {
    Step.RECEIVE: Traits(
        kept=_COLD,
        limits=("receiving-cold", "receiving-hot", "receiving-frozen", "receiving-egg-air"),
    ),
    Step.PREPARE: Traits(leaves=True),
    Step.COOK: Traits(
        heats=True,
        leaves=True,
        coolest=True,
        limits=("cook", "oven", "cook-microwave", "initial-heating"),
        methods=METHODS[Step.COOK],
    ),
    Step.HOT_HOLD: Traits(
        kept=_HOT, serves=True, held_to="hot-holding", coolest=True, limits=("hot-holding",)
    ),
    Step.COOL: Traits(kept=_COLD, held_to="cold-holding", limits=_COOLING),
    Step.COLD_HOLD: Traits(
        kept=_COLD, held_to="cold-holding", limits=("cold-holding", "egg-holding")
    ),
    Step.REHEAT: Traits(
        heats=True,
        leaves=True,
        coolest=True,
        limits=("reheat", "reheat-microwave"),
        methods=METHODS[Step.REHEAT],
    ),
    Step.TIME_CONTROL: Traits(
        leaves=True, serves=True, limits=_TIMED, methods=METHODS[Step.TIME_CONTROL]
    ),
    Event.SEAR: Traits(leaves=True, coolest=True, limits=("initial-heating",), methods=(INITIAL,)),
    Event.RECEIVE_BY_LAW: Traits(kept=_COLD, limits=("cooling-received",)),
    Event.CHECK_HOT: Traits(kept=_HOT, held_to="hot-holding", coolest=True),
    Event.CHECK_COLD: Traits(kept=_COLD, held_to="cold-holding"),
    Event.CHECK_FROZEN: Traits(kept=_FROZEN, held_to="frozen-holding"),
    Event.MOVED: Traits(),
    Event.EMPTIED: Traits(),
    Event.TAKEN_OUT: Traits(leaves=True),
    Event.MADE: Traits(leaves=True),
    Event.FREEZE: Traits(kept=_FROZEN),
    Event.THAW: Traits(kept=_COLD),
    Event.NOT_TCS: Traits(),
    Event.USED: Traits(serves=True),
    Event.USED_IN: Traits(),
    Event.DISCARD: Traits(),
}
CHECKS = {
    _HOT: Event.CHECK_HOT,
    _COLD: Event.CHECK_COLD,
    _FROZEN: Event.CHECK_FROZEN,
}
