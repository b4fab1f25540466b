"""What may happen to food, and what each step of it is."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from haccp.rules.evidence import INITIAL, MICROWAVE, OPENED, SIX_HOURS, UNSLICED, Step


class Event(StrEnum):
    """What is on record of a batch beside readings of the food."""

    __hash__ = str.__hash__

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

    __hash__ = str.__hash__

    HOT = "hot"
    COLD = "cold"
    FROZEN = "frozen"


@dataclass(frozen=True, slots=True)
class Traits:
    """What a step is, whatever the food went through.

    `heats`: the food is being heated. `kept`: it stands in a unit that keeps it so, and stays
    there; `leaves`: it is not done in a unit, and takes the food out of its own. `serves`: food is
    served from it. `held_to` is the limit of what is held, where it has no rule of its own.
    `coolest`: the food is to be hot, so that of several readings at one moment the coolest counts,
    else the warmest. `limits` are the step's own in the limit set, the one that decides first.
    `methods` are how a reading says that food was heated or held in a way with a limit of its own.
    """

    heats: bool = False
    kept: Keeps | None = None
    leaves: bool = False
    serves: bool = False
    held_to: str = ""
    coolest: bool = False
    limits: tuple[str, ...] = ()
    methods: tuple[str, ...] = ()


TRAITS: Mapping[What, Traits] = {
    Step.RECEIVE: Traits(
        kept=Keeps.COLD,
        limits=(
            "receiving-cold",
            "receiving-hot",
            "receiving-frozen",
            "receiving-egg-air",
            "cooling-received",
        ),
    ),
    Step.PREPARE: Traits(leaves=True),
    Step.COOK: Traits(
        heats=True,
        leaves=True,
        coolest=True,
        limits=("cook", "oven", "cook-microwave", "initial-heating", "cook-by-instructions"),
        methods=(MICROWAVE, INITIAL),
    ),
    Step.HOT_HOLD: Traits(
        kept=Keeps.HOT, serves=True, held_to="hot-holding", coolest=True, limits=("hot-holding",)
    ),
    Step.COOL: Traits(
        kept=Keeps.COLD, limits=("cooling-stage-1", "cooling-stage-2", "cooling-ambient")
    ),
    Step.COLD_HOLD: Traits(
        kept=Keeps.COLD,
        held_to="cold-holding",
        limits=(
            "cold-holding",
            "egg-holding",
            "frozen-holding",
            "date-mark",
            # out of holding, hot or cold, while it is prepared: 3-501.16(A)
            "time-out-allowed",
            "time-out-longest",
        ),
    ),
    Step.REHEAT: Traits(
        heats=True,
        leaves=True,
        coolest=True,
        limits=("reheat", "reheat-microwave", "reheat-for-order"),
        methods=(MICROWAVE, UNSLICED),
    ),
    Step.TIME_CONTROL: Traits(
        leaves=True,
        serves=True,
        limits=(
            "time-control-hot",
            "time-control-cold",
            "time-control-6h",
            "time-control-opened",
        ),
        methods=(SIX_HOURS, OPENED),
    ),
    Event.SEAR: Traits(leaves=True, coolest=True),
    Event.RECEIVE_BY_LAW: Traits(kept=Keeps.COLD),
    Event.CHECK_HOT: Traits(kept=Keeps.HOT, coolest=True),
    Event.CHECK_COLD: Traits(kept=Keeps.COLD),
    Event.CHECK_FROZEN: Traits(kept=Keeps.FROZEN),
    Event.MOVED: Traits(),
    Event.EMPTIED: Traits(),
    Event.TAKEN_OUT: Traits(leaves=True),
    Event.MADE: Traits(leaves=True),
    Event.FREEZE: Traits(kept=Keeps.FROZEN),
    Event.THAW: Traits(kept=Keeps.COLD),
    Event.NOT_TCS: Traits(),
    Event.USED: Traits(serves=True),
    Event.USED_IN: Traits(),
    Event.DISCARD: Traits(),
}
# Under which step a limit stands, by its name.
STEP_OF: Mapping[str, Step] = {name: step for step in Step for name in TRAITS[step].limits}
CHECKS = {
    Keeps.HOT: Event.CHECK_HOT,
    Keeps.COLD: Event.CHECK_COLD,
    Keeps.FROZEN: Event.CHECK_FROZEN,
}
