"""The plan's verification and records: what is looked over how often, what is kept how long."""

from haccp.language import counted, message, phrase
from haccp.limits.plan_tables import retention
from haccp.printing.plan_context import Plan

_NO_COPIES = message("none are made by themselves: haccp kitchen --daily-copies")
_MANAGER = message("a manager")
_PRACTICE = message("common practice")
# What is verified beside what the settings say: what, how often, by whom, on what it rests.
_LOOKED_OVER = (
    (
        message(
            "The record holds together: no entry was changed or removed (haccp record verify)."
        ),
        message("before each report, by the program"),
        _MANAGER,
        _PRACTICE,
    ),
    (
        message(
            "A manager watches a cook take, log and answer one reading: where the probe goes, when "
            "it has settled, what is done about it."
        ),
        message("weekly, another cook each time"),
        _MANAGER,
        _PRACTICE,
    ),
    (
        message(
            "A manager measures one food beside the cook, with another thermometer, and compares."
        ),
        message("weekly"),
        _MANAGER,
        _PRACTICE,
    ),
    (
        message(
            "Readings are looked over for what repeats: same minutes, same values, same words "
            "(haccp record unusual), and deviations for their causes."
        ),
        message("weekly"),
        _MANAGER,
        _PRACTICE,
    ),
    (
        message("Cooling curves of each food beside its depth and container (haccp report)."),
        message("monthly"),
        _MANAGER,
        _PRACTICE,
    ),
    (
        message("Thermometers are adjusted or replaced by their maker's specification."),
        message("as needed for accuracy, and after each failed check"),
        _MANAGER,
        "4-502.11(B)",
    ),
    (
        message(
            "The whole plan is assessed anew, with the foods, ovens and ways that the record shows "
            "by then (haccp plan)."
        ),
        message(
            "yearly, and when a food, a step, equipment or a limit changes or a deviation repeats"
        ),
        message("the person in charge"),
        message("from memory"),
    ),
)


def verification(plan: Plan) -> list[list[str]]:
    accuracy = plan.limits.get("thermometer-accuracy")
    checked = phrase(
        "Each thermometer is checked in melting ice or boiling water, within {difference} "
        "({citation}; haccp ice, haccp boil). After a failed check, readings since the last "
        "good one do not count.",
        difference=f"{accuracy.level.number(plan.degree)} °{plan.degree}",
        citation=accuracy.citation,
    )
    days = plan.kitchen.thermometer_days
    every = phrase("every {time}", time=f"{days} d")
    managers = ", ".join(plan.initials("manager")) or phrase("none is entered")
    return [
        [
            phrase(
                "The day's readings, deviations and corrective actions are reviewed and the day is "
                "signed (haccp sign-day)."
            ),
            phrase("each day"),
            phrase("a manager: {initials}", initials=managers),
            "2-103.11, 8-201.14",
        ],
        [
            checked,
            every if days else phrase("no interval is set yet"),
            phrase("whoever uses it"),
            accuracy.citation,
        ],
        *([phrase(one) for one in row] for row in _LOOKED_OVER),
    ]


def records(plan: Plan) -> list[list[str]]:
    days = plan.kitchen.daily_copies
    copies = counted(
        "the last {count} day, beside the record", "the last {count} days, beside the record", days
    )
    return [
        [
            phrase("Record"),
            phrase(
                "Every reading, action, check and signature with its moment, the moment of entry "
                "and initials. A correction is a new entry; nothing is overwritten or removed: it "
                "is kept for as long as its file is."
            ),
        ],
        [
            phrase("Reports"),
            phrase("haccp report prints a day or a period; haccp export gives every entry."),
        ],
        [
            phrase("Paper"),
            phrase("Log sheets are typed in later, marked as written on paper, and kept."),
        ],
        [phrase("Copies"), copies if days else phrase(_NO_COPIES)],
        [
            phrase("Kept by"),
            phrase("the person in charge: {name}", name=plan.kitchen.in_charge)
            if plan.kitchen.in_charge
            else phrase("the person in charge, who is not entered: haccp kitchen --in-charge"),
        ],
    ]


def kept_for(plan: Plan) -> list[list[str]]:
    """Say for how long records are kept under the limits in force, as far as anybody read it."""
    kinds = {food.food_kind for food in plan.foods}
    found = [
        [
            phrase(row.what),
            phrase(row.kept),
            row.citation,
            plan.cite(row.source, row.basis),
        ]
        for row in retention()
        if plan.limits.id in row.sets and (not row.kinds or not plan.foods or kinds & {*row.kinds})
    ]
    if not any(not row.kinds and plan.limits.id in row.sets for row in retention()):
        told = message("not read: nobody has looked up what {limit_set} asks")
        found.insert(
            0,
            [
                phrase("Every record"),
                phrase(told, limit_set=plan.limits.title),
                "–",
                "–",
            ],
        )
    return found
