"""The plan's foods: what the record says is made, by which process, and what no flow covers."""

from collections.abc import Iterator, Sequence
from typing import Any

from haccp.kitchen.practised import FoodMade
from haccp.language import counted, message, phrase
from haccp.limits import Limit
from haccp.phrases import ranging
from haccp.printing.codes_in_words import in_words, step_in_words
from haccp.printing.limits_in_words import stated
from haccp.printing.plan_context import Plan
from haccp.record.bodies import PlannedFood
from haccp.rules.account.steps import TRAITS
from haccp.rules.evidence import Step
from haccp.rules.process import Process, cools_uncontrolled, process_of
from haccp.time import dated

_PROCESSES = {
    Process.NO_COOK: message("No cook step"),
    Process.SAME_DAY: message("Same-day service"),
    Process.COMPLEX: message("Complex preparation"),
}
_ABOUT = {
    Process.NO_COOK: message(
        "Never heated here: what it carries stays in it, so where it comes from, cold, clean hands "
        "and its last day control it."
    ),
    Process.SAME_DAY: message(
        "Heated once and served hot: cooking kills what it carries, heat or time keeps it safe."
    ),
    Process.COMPLEX: message(
        "Passes the temperatures between hot and cold more than once: spores that survive the "
        "cooking can grow at each passage, cooling above all."
    ),
}
# Steps whose limits depend on what is not known of a food beforehand.
_BY_CASE = {Step.RECEIVE: message("limits by how it is delivered")}


# So many different amounts of a food are named.
_AMOUNTS = 4


def uncovered(plan: Plan) -> Iterator[str]:
    """Say of each food on record, or in the plan, what no flow covers: nothing is left out."""
    planned = {food.name.casefold(): food for food in plan.foods}
    for made in plan.done.foods:
        food = planned.get(made.name.casefold())
        if food is None and not _is_retired(made, plan):
            yield from _without_flow(made, planned)
        elif food and food.steps:
            yield from _beside_its_flow(made, food)
    for food in plan.foods:
        if not food.steps:
            yield phrase("{food}: its steps are not entered.", food=food.name)
        elif cools_uncontrolled([Step(step) for step in food.steps]):
            told = message("{food}: its flow goes from hot to cold without a cooling.")
            yield phrase(told, food=food.name)
        elif heated_before := _heated_before(plan, food):
            yield phrase(
                "{food}: made of {parts}, cooked and cooled before. Heating that again is "
                "reheating (3-403.11), which is not in its flow.",
                food=food.name,
                parts=", ".join(heated_before),
            )


def _is_retired(made: FoodMade, plan: Plan) -> bool:
    """Whether a food was retired, and no batch of it opened since."""
    settings = plan.register.food_settings.get(made.name.casefold(), ())
    return bool(settings) and not settings[-1][1].active and made.last <= settings[-1][0]


def _heated_before(plan: Plan, food: PlannedFood) -> list[str]:
    """Name what a food was made of that had been cooked and cooled, if its flow cooks it alone."""
    if Step.COOK not in food.steps or Step.REHEAT in food.steps:
        return []
    return [
        made.name
        for made in plan.done.foods
        if food.name.casefold() in {name.casefold() for name in made.into}
        and {Step.COOK, Step.COOL} <= set(made.steps)
    ]


def _without_flow(made: FoodMade, planned: dict[str, PlannedFood]) -> Iterator[str]:
    """Ingredients are covered by the flow of what they went into, which begins at the door."""
    into = [planned.get(name.casefold()) for name in sorted(made.into)]
    if made.is_ingredient and all(one and Step.RECEIVE in one.steps for one in into):
        return
    yield counted(
        "{food}: {count} batch on record ({steps}), and no flow.",
        "{food}: {count} batches on record ({steps}), and no flow.",
        made.batches,
        food=made.name,
        steps=", ".join(map(step_in_words, made.steps)) or phrase("never measured"),
    )


def _beside_its_flow(made: FoodMade, food: PlannedFood) -> Iterator[str]:
    for step, times in made.steps.items():
        if step not in food.steps:
            yield phrase(
                "{food}: {step} in {times} of its newest {batches} batches, which is not in its "
                "flow.",
                food=food.name,
                step=step_in_words(step),
                times=times,
                batches=made.looked_at,
            )
    other = sorted(kind for kind in made.kinds if kind not in ("", food.food_kind))
    if other:
        yield phrase(
            "{food}: batches were opened as {kinds}, the plan has another kind.",
            food=food.name,
            kinds=", ".join(map(in_words, other)),
        )


def foods_on_record(plan: Plan) -> list[list[str]]:
    """List every food that is planned or on record: its kind, process, batches and their steps."""
    made = {food.name.casefold(): food for food in plan.done.foods}
    planned = {food.name.casefold(): food for food in plan.foods}
    names = {key: food.name for key, food in made.items()}
    names |= {key: food.name for key, food in planned.items()}
    kinds = {key: food.kinds for key, food in made.items()}
    kinds |= {key: frozenset({food.food_kind}) for key, food in planned.items()}
    return [
        [
            names[key],
            ", ".join(in_words(kind) for kind in sorted(kinds[key]) if kind)
            or phrase("not entered: the strictest"),
            _covered_by(planned.get(key), made.get(key), plan),
            _how_often(made.get(key), plan),
            _steps_gone(made.get(key)),
        ]
        for key in sorted(names)
    ]


def _covered_by(food: PlannedFood | None, made: FoodMade | None, plan: Plan) -> str:
    if food and food.steps:
        return phrase(_PROCESSES[process_of([Step(step) for step in food.steps])])
    if made and made.is_ingredient and made.into:
        return phrase("goes into {foods}", foods=", ".join(sorted(made.into)))
    if made and made.is_ingredient:
        return phrase("turned away at the door")
    if made and _is_retired(made, plan):
        return phrase("no longer made")
    return phrase("NO FLOW")


def _how_often(made: FoodMade | None, plan: Plan) -> str:
    if made is None:
        return phrase("none on record")
    first, last = (
        dated(one.astimezone(plan.register.zone).date()) for one in (made.first, made.last)
    )
    span = ranging(first, last)
    told = counted("{count} batch", "{count} batches", made.batches)
    amounts = made.amounts if len(made.amounts) <= _AMOUNTS else (*made.amounts[:_AMOUNTS], "…")
    return ", ".join((told, *amounts, span))


def _steps_gone(made: FoodMade | None) -> str:
    if made is None:
        return ""
    told = (
        phrase("{step} {times}", step=step_in_words(step), times=times)
        for step, times in made.steps.items()
    )
    return ", ".join(one.replace(" ", "\u00a0") for one in told)


# ---- flows ----


def processes(plan: Plan) -> list[dict[str, Any]]:
    """Give each process with the flows of its foods; foods that go the same way share one."""
    found: dict[Process, dict[str, list[PlannedFood]]] = {}
    for food in plan.foods:
        if food.steps:
            process = process_of([Step(step) for step in food.steps])
            # a flow is told from another by its steps and by what each of them asks for
            way = str(_boxes(food, plan))
            found.setdefault(process, {}).setdefault(way, []).append(food)
    return [
        {
            "name": phrase(_PROCESSES[process]),
            "about": phrase(_ABOUT[process]),
            "flows": [
                {
                    "foods": [[food.name, _described(food)] for food in foods],
                    "steps": _boxes(foods[0], plan),
                }
                for foods in found[process].values()
            ],
        }
        for process in Process
        if process in found
    ]


def _described(food: PlannedFood) -> str:
    depth = phrase("{depth} deep", depth=f"{food.depth_in} in") if food.depth_in else ""
    kind = in_words(food.food_kind) if food.food_kind else phrase("kind not entered")
    about = (kind, in_words(food.nature), food.container, depth)
    return ", ".join(words for words in about if words)


def _boxes(food: PlannedFood, plan: Plan) -> list[dict[str, Any]]:
    """Give the boxes of a flow; time as the control leaves the line where it begins, and ends."""
    boxes: list[dict[str, Any]] = []
    for place, name in enumerate(food.steps):
        step = Step(name)
        box = {
            "step": step_in_words(step),
            "point": plan.number(step),
            "limits": _asked(plan, step, food, food.steps[:place]),
            "ends": step is Step.TIME_CONTROL,
            "branch": [],
        }
        if step is Step.TIME_CONTROL and boxes:
            boxes[-1]["branch"].append(box)
        else:
            boxes.append(box)
    return boxes


def _asked(plan: Plan, step: Step, food: PlannedFood, before: Sequence[str]) -> list[str]:
    if step is Step.TIME_CONTROL:
        return [phrase(ENDS)]
    limits = [
        stated(limit, plan.degree)
        if len(limit.rows) == 1
        else phrase("a row of {citation}", citation=limit.citation)
        for limit in _deciding(plan, step, food, before)
    ]
    return limits or ([phrase(_BY_CASE[step])] if step in _BY_CASE else [])


ENDS = message(
    "It ends here: marked as it leaves, served or discarded by its time. Nothing goes back to "
    "holding, cooling or reheating."
)


def _deciding(plan: Plan, step: Step, food: PlannedFood, before: Sequence[str]) -> Iterator[Limit]:
    """Give the limits that decide in most cases; a control point's table has them all."""
    match step:
        case Step.COOK | Step.HOT_HOLD | Step.COLD_HOLD:
            yield plan.limits.get(TRAITS[step].limits[0], food.food_kind)
        case Step.REHEAT:
            # a roast's own table is for portions that nobody sliced: 3-403.11(E)
            reheat = plan.limits.get("reheat", food.food_kind)
            yield reheat if len(reheat.rows) == 1 else plan.limits.get("reheat")
        case Step.COOL if any(TRAITS[Step(one)].coolest for one in before):
            yield from (plan.limits.get(f"cooling-stage-{stage}") for stage in (1, 2))
        case Step.COOL:
            yield plan.limits.get("cooling-ambient")
