"""A step's hazard, its control, and how it is watched. Common practice, no source."""

from collections.abc import Mapping
from dataclasses import dataclass

from haccp.rules.evidence import Step


@dataclass(frozen=True, slots=True)
class Practice:
    """What is the matter with a step, and how it is watched and logged.

    All but hazard and control are empty where a step has no limit, `often` also where it follows
    from the kitchen's settings. `form` is the title of a log sheet.
    """

    hazard: str
    control: str
    measured: str = ""
    often: str = ""
    command: str = ""
    form: str = ""


PRACTICE: Mapping[Step, Practice] = {
    Step.RECEIVE: Practice(
        "Bacteria in raw food; growth on the way here.",
        "Measured at the door, rejected if out of limits, put away at once.",
        "The food between or inside its packages; the air around shell eggs.",
        "each delivery, before it is put away",
        "haccp receive, haccp reject",
        "Receiving",
    ),
    Step.PREPARE: Practice(
        "Growth while it is out of temperature control; bacteria from hands, tools and raw food.",
        "Small amounts at a time; clean hands and tools; raw food kept apart. The time out of "
        "temperature control is added up for each batch, as information.",
    ),
    Step.COOK: Practice(
        "Bacteria of the raw food that survive.",
        "Heat and time by the kind of food; nothing leaves the heat before.",
        "The coldest spot of the thickest piece, with a probe; for a whole roast also what the "
        "oven shows.",
        "each batch, until its limit is met",
        "haccp cook",
        "Cooking",
    ),
    Step.HOT_HOLD: Practice(
        "Spores that survived the cooking grow in food that sinks below the limit.",
        "Hot before it goes in; stirred, covered, the unit hot enough.",
        "The coolest spot of the food, stirred, with a probe.",
        "",
        "haccp hold",
        "Holding hot",
    ),
    Step.COOL: Practice(
        "Spores that survived the cooking grow while it is warm; large and thick batches cool "
        "slowly.",
        "Shallow and small containers, ice baths, stirring; measured in time to act.",
        "The warmest spot, in the middle of the deepest container, with a probe.",
        "",
        "haccp cool",
        "Cooling",
    ),
    Step.COLD_HOLD: Practice(
        "Slow growth, also of what grows in the cold.",
        "Cold enough, and used or discarded by its date mark.",
        "The food in the warmest place, with a probe; the air around shell eggs and frozen food.",
        "",
        "haccp hold",
        "Holding cold",
    ),
    Step.REHEAT: Practice(
        "What grew since the cooking survives a slow or gentle reheat.",
        "Fast, and hot in all parts; never in a unit that only holds.",
        "The coldest spot, stirred, with a probe.",
        "each batch: when it goes on the heat, and when it is hot",
        "haccp reheat",
        "Reheating",
    ),
    Step.TIME_CONTROL: Practice(
        "Growth while nothing keeps it hot or cold.",
        "Marked with its time; nothing of it left then, and nothing goes back.",
        "The food as it leaves temperature control and, where it has a ceiling, its warmest spot "
        "until nothing is left.",
        "each batch: when it leaves temperature control, and when nothing is left",
        "haccp time-control, haccp used-up",
        "Time as a control",
    ),
}
