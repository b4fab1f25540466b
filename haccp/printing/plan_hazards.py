"""The plan's hazards: which of these foods have them, where each is controlled, and who says so."""

from collections.abc import Sequence

from haccp.language import message, phrase
from haccp.limits.plan_tables import Hazard, decisions, hazards
from haccp.printing.codes_in_words import in_words, step_in_words
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
        rows.append(
            [
                phrase(hazard.name),
                phrase(_SORTS[hazard.sort]),
                phrase(hazard.why),
                plan.cite(hazard.source, hazard.basis),
                _foods(hazard, foods, plan),
                phrase(_LIKELY[hazard.likelihood]),
                phrase(_SEVERE[hazard.severity]),
                ", ".join(step_in_words(step) for step in steps),
            ]
        )
    return rows


def _foods(hazard: Hazard, foods: Sequence[str], plan: Plan) -> str:
    """Name the foods that have a hazard: of a kitchen without any yet, the kinds."""
    if not hazard.is_of_some or (plan.foods and len(foods) == len(plan.foods)):
        return phrase("every food")
    return ", ".join(foods or (in_words(kind) for kind in hazard.kinds if kind))


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
