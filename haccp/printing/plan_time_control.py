"""The written procedure for time as the control, which 3-501.19(A) demands before it is used."""

from haccp.language import phrase
from haccp.limits import Limit
from haccp.printing.codes_in_words import named
from haccp.printing.limits_in_words import stated
from haccp.printing.plan_context import Plan
from haccp.rules.evidence import Step
from haccp.time import spell


def procedure(plan: Plan) -> list[list[str]]:
    """Give the procedure as what and how; empty where nothing here is under time as the control."""
    if Step.TIME_CONTROL not in plan.steps:
        return []
    limits = plan.limits_at(Step.TIME_CONTROL)
    managers = ", ".join(plan.initials("manager"))
    return [
        [phrase("Foods"), ", ".join(plan.foods_at(Step.TIME_CONTROL)) or phrase("every food")],
        [
            phrase("Before it"),
            phrase(
                "Only a working supply before cooking, or ready-to-eat food for service; what was "
                "cooked and chilled before was cooled by 3-501.14 (3-501.19(A))."
            ),
        ],
        [
            phrase("It leaves at"),
            "; ".join(f"{named(limit)}: {stated(limit, plan.degree)}" for limit in limits),
        ],
        [
            phrase("Who"),
            phrase(
                "Whoever takes it out measures it, logs haccp time-control, and marks it; a "
                "manager ({initials}) answers for it.",
                initials=managers or phrase("none is entered"),
            ),
        ],
        [phrase("Marked"), _marked(limits)],
        [
            phrase("At that time"),
            phrase(
                "Served, or discarded and logged (haccp used-up, haccp discard). Unmarked food and "
                "food past its time is discarded (3-501.19(B), (C))."
            ),
        ],
        [
            phrase("Never"),
            phrase(
                "Back to holding, cooling or reheating; food that is still cooling; raw eggs where "
                "highly susceptible people are served (3-501.19(D))."
            ),
        ],
        [
            phrase("Kept"),
            phrase("This page stays in the kitchen and is shown on request (3-501.19(A))."),
        ],
    ]


def _marked(limits: list[Limit]) -> str:
    times = sorted({limit.within for limit in limits if limit.within})
    told = phrase(
        "On each container, by label or marker, the clock time {times} after it left: the time by "
        "which nothing may be left.",
        times=" / ".join(spell(time) for time in times),
    )
    if any(limit.name == "time-control-6h" for limit in limits):
        six = phrase("Under the 6 hours the time at which it left as well.")
        return f"{told} {six}"
    return told
