"""A step's hazard, its control, and how it is watched. Common practice, no source.

Every text but a command is a message, told by who prints it.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from haccp.language import message
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
        message("Bacteria in raw food; growth on the way here."),
        message("Measured at the door, rejected if out of limits, put away at once."),
        message("The food between or inside its packages; the air around shell eggs."),
        message("each delivery, before it is put away"),
        "haccp receive, haccp reject",
        message("Receiving"),
    ),
    Step.PREPARE: Practice(
        message(
            "Growth while it is out of temperature control; bacteria from hands, tools and "
            "raw food."
        ),
        message(
            "Small amounts at a time; clean hands and tools; raw food kept apart. The time out of "
            "temperature control is added up for each batch, as information."
        ),
    ),
    Step.COOK: Practice(
        message("Bacteria of the raw food that survive."),
        message("Heat and time by the kind of food; nothing leaves the heat before."),
        message(
            "The coldest spot of the thickest piece, with a probe; for a whole roast also what the "
            "oven shows."
        ),
        message("each batch, until its limit is met"),
        "haccp cook",
        message("Cooking"),
    ),
    Step.HOT_HOLD: Practice(
        message("Spores that survived the cooking grow in food that sinks below the limit."),
        message("Hot before it goes in; stirred, covered, the unit hot enough."),
        message("The coolest spot of the food, stirred, with a probe."),
        "",
        "haccp hold",
        message("Holding hot"),
    ),
    Step.COOL: Practice(
        message(
            "Spores that survived the cooking grow while it is warm; large and thick batches cool "
            "slowly."
        ),
        message("Shallow and small containers, ice baths, stirring; measured in time to act."),
        message("The warmest spot, in the middle of the deepest container, with a probe."),
        "",
        "haccp cool",
        message("Cooling"),
    ),
    Step.COLD_HOLD: Practice(
        message("Slow growth, also of what grows in the cold."),
        message("Cold enough, and used or discarded by its date mark."),
        message(
            "The food in the warmest place, with a probe; the air around shell eggs and "
            "frozen food."
        ),
        "",
        "haccp hold",
        message("Holding cold"),
    ),
    Step.REHEAT: Practice(
        message("What grew since the cooking survives a slow or gentle reheat."),
        message("Fast, and hot in all parts; never in a unit that only holds."),
        message("The coldest spot, stirred, with a probe."),
        message("each batch: when it goes on the heat, and when it is hot"),
        "haccp reheat",
        message("Reheating"),
    ),
    Step.TIME_CONTROL: Practice(
        message("Growth while nothing keeps it hot or cold."),
        message("Marked with its time; nothing of it left then, and nothing goes back."),
        message(
            "The food as it leaves temperature control and, where it has a ceiling, its warmest "
            "spot until nothing is left."
        ),
        message("each batch: when it leaves temperature control, and when nothing is left"),
        "haccp time-control, haccp used-up",
        message("Time as a control"),
    ),
}
