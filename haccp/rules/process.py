"""Which of the process approach's three ways a food goes, by its steps.

Source: FDA, Managing Food Safety: a manual for the voluntary use of HACCP principles by operators
(2006), its three processes as quoted elsewhere; the manual's own text has not been read.
"""

from collections.abc import Sequence
from enum import StrEnum

from haccp.rules.account.steps import TRAITS
from haccp.rules.evidence import Step


class Process(StrEnum):
    """How often food passes between cold and hot, in the manual's order."""

    NO_COOK = "no cook step"
    SAME_DAY = "same-day service"
    COMPLEX = "complex preparation"


def process_of(steps: Sequence[Step]) -> Process:
    """Say which process a food goes through by its steps, in their order.

    Food that is heated twice, or cooled once it was hot, passes the temperatures between cold and
    hot more than once.
    """
    heated = [place for place, step in enumerate(steps) if TRAITS[step].heats]
    if not heated:
        return Process.NO_COOK
    if len(heated) > 1 or Step.COOL in steps[heated[0] :]:
        return Process.COMPLEX
    return Process.SAME_DAY


def cools_uncontrolled(steps: Sequence[Step]) -> bool:
    """Whether hot food stands cold later without having been cooled: a step is missing."""
    hot = False
    for step in steps:
        if step is Step.COLD_HOLD and hot:
            return True
        hot = TRAITS[step].coolest or (hot and step is not Step.COOL)
    return False
