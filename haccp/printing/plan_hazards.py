"""The plan's hazards: which of these foods have them, where each is controlled, and who says so."""

from haccp.language import message, phrase
from haccp.limits.plan_tables import decisions, hazards
from haccp.printing.codes_in_words import step_in_words
from haccp.printing.plan_context import Plan
from haccp.rules.evidence import Step

_SORTS = {
    "biological": message("biological"),
    "chemical": message("chemical"),
    "physical": message("physical"),
}
_LIKELY = {"low": message("low"), "medium": message("medium"), "high": message("high")}
_SEVERE = {
    "mild": message("mild"),
    "serious": message("serious"),
    "fatal": message("may be fatal"),
}


def hazard_rows(plan: Plan) -> list[list[str]]:
    """List the hazards of this kitchen's foods; all of them as long as it has none."""
    rows = []
    for hazard in hazards():
        foods = [food.name for food in plan.foods if hazard.concerns(food.name, food.food_kind)]
        steps = [Step(step) for step in hazard.steps if Step(step) in plan.steps]
        if not steps or (plan.foods and not foods):
            continue
        everything = len(foods) == len(plan.foods)
        rows.append(
            [
                phrase(hazard.name),
                phrase(_SORTS[hazard.sort]),
                phrase(hazard.why),
                plan.cite(hazard.source, hazard.basis),
                phrase("every food") if everything else ", ".join(foods),
                phrase(_LIKELY[hazard.likelihood]),
                phrase(_SEVERE[hazard.severity]),
                ", ".join(step_in_words(step) for step in steps),
            ]
        )
    return rows


def step_rows(plan: Plan) -> list[list[str]]:
    """Say of each step whether it is critical, why, and how it is controlled."""
    return [
        [
            step_in_words(step),
            plan.number(step) or phrase("control point"),
            phrase(decisions()[step].reason),
            phrase(decisions()[step].control),
        ]
        for step in plan.steps
    ]
