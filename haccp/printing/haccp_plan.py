"""Gathers the draft of a HACCP plan, Food Code 8-201.14, from a kitchen's settings and its record.

The shape of the result is what reports/plan.typ prints. Every number in it comes from the limits,
from the settings or from the record.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import Any

from haccp.kitchen.practised import LOOKED_AT, practised
from haccp.kitchen.register import Register, accepted_words
from haccp.language import counted, message, phrase
from haccp.printing import forms
from haccp.printing.codes_in_words import in_words
from haccp.printing.limits_in_words import (
    caution,
    moment_of_printing,
    people_of,
    set_in_words,
    stated,
)
from haccp.printing.plan_checks import Check, checks
from haccp.printing.plan_context import Plan, minutes
from haccp.printing.plan_foods import foods_on_record, processes, uncovered
from haccp.printing.plan_hazards import hazard_rows, step_rows
from haccp.printing.plan_keeping import kept_for, records, verification
from haccp.printing.plan_points import point
from haccp.printing.plan_time_control import procedure
from haccp.record.bodies import ThermometerCheck
from haccp.record.store import Record
from haccp.rules.evidence import WHOLE_ROAST
from haccp.rules.thermometer import boiling_point, pressure_at
from haccp.temperature import parse_temperature

DRAFT = message(
    "Draft, made from the kitchen's settings and its record. It is a plan once the person in "
    "charge and, where one is required, the regulatory authority have approved it. Ruled spaces "
    "are for what only people know; nothing in them is made up."
)
PARTS = message(
    "Its parts are those of Food Code 8-201.14 (source: Minnesota 4626.1735, which adopts the Food "
    "Code text)."
)
REQUIRED = message(
    "A plan is required for what needs a variance (3-502.11), for reduced-oxygen packaging "
    "(3-502.12), for juice packed on site, and where the regulatory authority finds it needed "
    "(8-201.13; from memory, not yet read in a source)."
)
OUTSIDE = message(
    "Outside this plan: smoking or curing to preserve, vinegar or other additives to make a food "
    "non-TCS, reduced-oxygen packaging and whatever else needs a variance (3-502.11, 3-502.12). "
    "The health authority must agree to those first."
)
ABOUT_FOODS = message(
    "Every food that is entered or on record, with the process that covers it. The three processes "
    "are those of FDA's manual for operators (2006), as quoted elsewhere: the manual itself was "
    "not read. Steps are read from each food's newest {count} batches."
)
NO_FOODS = message(
    "No food is entered yet, so every step and every kind of food stands below. Enter each food "
    'that is made here: haccp add food "bean stew" --kind "plant food" '
    "--steps cook,hot_hold. Then print the plan again."
)


def gather(record: Record, register: Register, printed: datetime) -> dict[str, Any]:
    """Gather the plan as the record, in this view, and the settings stand when printed."""
    plan = Plan(register, register.limits_at(printed), practised(record, register), printed)
    seq, digest = record.head()
    kitchen, looked = plan.kitchen, checks(plan)
    return {
        "title": phrase("HACCP plan"),
        "kitchen": kitchen.name,
        "site": [kitchen.address, _permit(kitchen.permit)],
        "printed": moment_of_printing(printed, register.zone),
        "draft": phrase(DRAFT),
        "settle": list(_to_settle(plan, looked)),
        "about": [phrase(PARTS), phrase(REQUIRED), phrase(OUTSIDE)],
        "caution": caution(),
        "general": _general(plan),
        "people": people_of(register, plan.initials()),
        "thermometers": _thermometers(plan),
        "units": _units(plan),
        "no_foods": "" if plan.foods else phrase(NO_FOODS),
        "about_foods": phrase(ABOUT_FOODS, count=LOOKED_AT),
        "foods": foods_on_record(plan),
        "processes": processes(plan),
        "recipes": [food.name for food in plan.foods],
        "hazards": hazard_rows(plan),
        "steps": step_rows(plan),
        "limit_set": _limit_set(plan),
        "points": [point(plan, step) for step in plan.points],
        "time_control": procedure(plan),
        "checks": [list(check.row) for check in looked],
        "verification": verification(plan),
        "records": records(plan),
        "kept_for": kept_for(plan),
        "sources": [[f"[{number}]", source] for source, number in plan.sources.items()],
        "made_from": phrase(
            "Made from the record up to entry {entry}. What is changed or made later changes the "
            "plan: print it again.",
            entry=seq,
        ),
        "record": {"last": str(seq), "digest": digest},
        "digests": [
            [phrase("SHA-256 of that entry"), digest],
            [phrase("SHA-256 of the limits"), plan.limits.digest],
        ],
    }


def attached(register: Register, printed: datetime) -> dict[str, dict[str, Any]]:
    """Gather the papers that 8-201.14 wants with the plan: copies of its blank forms.

    The plan has said its caution already.
    """
    return {"forms": {**forms.gather(register, printed), "caution": ""}}


def _permit(number: str) -> str:
    return phrase("permit {number}", number=number) if number else ""


def _to_settle(plan: Plan, looked: Sequence[Check]) -> Iterator[str]:
    """Say what a regulator would ask first: what the plan does not cover, or cannot show."""
    yield from uncovered(plan)
    yield from (check.told for check in looked if check.told)
    unreadable = len(plan.register.unreadable)
    if unreadable:
        yield counted(
            "{count} entry cannot be read: what it says is not in this plan (haccp record verify).",
            "{count} entries cannot be read: what they say is not in this plan (haccp record "
            "verify).",
            unreadable,
        )
    nameless = [food.name for food in plan.foods if not food.food_kind]
    if nameless:
        told = message("{foods}: no kind is entered, so the strictest limits stand for it.")
        yield phrase(told, foods=", ".join(nameless))
    roasts = any(food.food_kind == WHOLE_ROAST for food in plan.foods)
    if roasts and not plan.done.ovens and not plan.register.ovens:
        yield phrase("Whole roasts: no oven is on record yet, so every row for ovens stands below.")
    if not plan.kitchen.in_charge:
        yield phrase("The person in charge is not entered: haccp kitchen --in-charge.")


def _general(plan: Plan) -> list[list[str]]:
    kitchen = plan.kitchen
    boiling = boiling_point(pressure_at(kitchen.altitude_m)).number(plan.degree)
    altitude = phrase(
        "{altitude}; water boils at about {boiling}",
        altitude=f"{kitchen.altitude_m} m",
        boiling=f"{boiling} °{plan.degree}",
    )
    checked = phrase(
        "every {time} unless noted; a check is missed {grace} later",
        time=minutes(kitchen.check_every_min),
        grace=minutes(kitchen.grace_min),
    )
    rows = [
        [phrase("Altitude"), altitude],
        [phrase("Food is checked"), checked],
        [phrase("Ovens for whole roasts"), _ovens(plan)],
        [phrase("To cool with"), kitchen.owns],
        [phrase("Open"), kitchen.open_hours],
        [phrase("Person in charge"), kitchen.in_charge],
    ]
    return [row for row in rows if row[1]]


def _ovens(plan: Plan) -> str:
    accepted = [f"{in_words(e.body.oven)}, {accepted_words(e.body)}" for e in plan.register.ovens]
    return "; ".join([*map(in_words, sorted(plan.done.ovens)), *accepted])


def _thermometers(plan: Plan) -> list[list[str]]:
    rows = []
    for label, one in plan.register.thermometers.items():
        if one.active:
            checks = plan.register.checks_of(label, plan.printed)
            rows.append([label, f"±{parse_temperature(one.accuracy)}", _last(plan, checks)])
    return rows


def _last(plan: Plan, checks: Sequence[tuple[datetime, ThermometerCheck]]) -> str:
    if not checks:
        return phrase("not checked yet")
    at, check = checks[-1]
    outcome = message("{moment}: passed") if check.passed else message("{moment}: FAILED")
    return phrase(outcome, moment=moment_of_printing(at, plan.register.zone))


def _units(plan: Plan) -> list[list[str]]:
    return [
        [
            unit.name,
            in_words(unit.holds),
            stated(plan.limits.get(f"{unit.holds}-holding"), plan.degree),
            phrase("every {time}", time=minutes(unit.every_min)),
        ]
        for unit in plan.units
    ]


def _limit_set(plan: Plan) -> str:
    name = phrase("Limits: {limit_set}.", limit_set=set_in_words(plan.limits))
    if not plan.limits.guard:
        return name
    guard = message("Limits moved inward by {guard} (guarded acceptance)")
    return f"{name} {phrase(guard, guard=plan.limits.guard)}."
