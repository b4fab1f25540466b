"""Codes that a record and a limits file hold, as a paper tells them in its reader's language.

A code is one of a closed list, in English for every kitchen, and is typed so. What a kitchen or a
local code named itself is in no list and stands as it is.
"""

from haccp.language import message, phrase
from haccp.limits import Limit
from haccp.record.bodies import Person
from haccp.rules.evidence import Step

_STEPS = {
    Step.RECEIVE: message("Receive"),
    Step.PREPARE: message("Prepare"),
    Step.COOK: message("Cook"),
    Step.HOT_HOLD: message("Hot hold"),
    Step.COOL: message("Cool"),
    Step.COLD_HOLD: message("Cold hold"),
    Step.REHEAT: message("Reheat"),
    Step.TIME_CONTROL: message("Time control"),
}
_LIMITS = {
    "cooling-stage-1": message("Cooling stage 1"),
    "cooling-stage-2": message("Cooling stage 2"),
    "cooling-ambient": message("Cooling ambient"),
    "cooling-received": message("Cooling received"),
    "hot-holding": message("Hot holding"),
    "cold-holding": message("Cold holding"),
    "egg-holding": message("Egg holding"),
    "frozen-holding": message("Frozen holding"),
    "reheat": message("Reheat"),
    "reheat-microwave": message("Reheat microwave"),
    "reheat-for-order": message("Reheat for order"),
    "cook": message("Cook"),
    "cook-microwave": message("Cook microwave"),
    "cook-by-instructions": message("Cook by instructions"),
    "initial-heating": message("Initial heating"),
    "oven": message("Oven"),
    "date-mark": message("Date mark"),
    "receiving-cold": message("Receiving cold"),
    "receiving-egg-air": message("Receiving egg air"),
    "receiving-hot": message("Receiving hot"),
    "receiving-frozen": message("Receiving frozen"),
    "time-control-hot": message("Time control hot"),
    "time-control-cold": message("Time control cold"),
    "time-control-6h": message("Time control 6h"),
    "time-control-opened": message("Time control opened"),
    "time-out-allowed": message("Time out allowed"),
    "time-out-longest": message("Time out longest"),
    "thermometer-accuracy": message("Thermometer accuracy"),
    "air-thermometer-accuracy": message("Air thermometer accuracy"),
}
# The place also tells the person from the step, which is another word in other languages.
_ROLES = {"cook": message("cook{has_left}"), "manager": message("manager{has_left}")}
# Codes that are English words: what a unit holds, kinds of food and of ovens, how thick food is,
# and what a number or an advice rests on.
_WORDS = frozenset((
    message("hot"), message("cold"), message("egg"), message("frozen"),
    message("fish"), message("game"), message("ground meat"), message("injected meat"),
    message("intact meat"), message("meat without pork"), message("plant food"),
    message("pooled egg"), message("pork"), message("poultry"), message("rare roast beef"),
    message("ratite"), message("stuffed food"), message("whole roast"), message("wild game"),
    message("commercial package"),
    message("convection, 10 lb or more"), message("convection, under 10 lb"),
    message("high humidity"), message("still dry, 10 lb or more"),
    message("still dry, under 10 lb"),
    message("open liquid"), message("stirred"), message("thick"),
    message("verified"), message("from memory"), message("common practice"),
    message("not read for this jurisdiction; the Food Code's number stands in"),
))  # fmt: skip


def in_words(code: str) -> str:
    """Tell a code that is an English word: ``ground meat``."""
    return phrase(code) if code in _WORDS else code


def role_in_words(person: Person) -> str:
    """Tell what somebody is in the kitchen, or was: ``manager``."""
    has_left = "" if person.active else phrase(", has left")
    return phrase(_ROLES[person.role], has_left=has_left)


def step_in_words(step: Step) -> str:
    """Name a step where it stands alone: ``Hot hold``."""
    return phrase(_STEPS[step])


def limit_in_words(name: str) -> str:
    """Name a limit, whatever the food: ``Cooling stage 1``."""
    return phrase(_LIMITS[name])


def named(limit: Limit) -> str:
    """Name a limit and, where it is for some alone, the kind of food or oven."""
    name = limit_in_words(limit.name)
    if not limit.kind:
        return name
    return phrase("{limit}, {kind}", limit=name, kind=in_words(limit.kind))
