"""How a step with a limit is watched and logged. Common practice, no source.

Every text but a command is a message, told by who prints it.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from haccp.language import message
from haccp.rules.evidence import Step


@dataclass(frozen=True, slots=True)
class Practice:
    """How a step is watched and logged.

    `often` is empty where it follows from the kitchen's settings. `form` is the title of a log
    sheet.
    """

    measured: str
    often: str
    command: str
    form: str


PRACTICE: Mapping[Step, Practice] = {
    Step.RECEIVE: Practice(
        message("The food between or inside its packages; the air around shell eggs."),
        message("each delivery, before it is put away"),
        "haccp receive, haccp reject",
        message("Receiving"),
    ),
    Step.COOK: Practice(
        message(
            "The coldest spot of the thickest piece, with a probe; for a whole roast also what the "
            "oven shows."
        ),
        message("each batch, until its limit is met"),
        "haccp cook",
        message("Cooking"),
    ),
    Step.HOT_HOLD: Practice(
        message("The coolest spot of the food, stirred, with a probe."),
        "",
        "haccp hold",
        message("Holding hot"),
    ),
    Step.COOL: Practice(
        message("The warmest spot, in the middle of the deepest container, with a probe."),
        "",
        "haccp cool",
        message("Cooling"),
    ),
    Step.COLD_HOLD: Practice(
        message(
            "The food in the warmest place, with a probe; the air around shell eggs and "
            "frozen food."
        ),
        "",
        "haccp hold",
        message("Holding cold"),
    ),
    Step.REHEAT: Practice(
        message("The coldest spot, stirred, with a probe."),
        message("each batch: when it goes on the heat, and when it is hot"),
        "haccp reheat",
        message("Reheating"),
    ),
    Step.TIME_CONTROL: Practice(
        message(
            "The food as it leaves temperature control and, where it has a ceiling, its warmest "
            "spot until nothing is left."
        ),
        message("each batch: when it leaves temperature control, and when nothing is left"),
        "haccp time-control, haccp used-up",
        message("Time as a control"),
    ),
}
