"""Gathers the draft of a HACCP plan from a kitchen's settings: Food Code 8-201.14.

The shape of the result is what reports/plan.typ prints. Every number in it comes from the limits or
from the settings.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from haccp.kitchen.register import Register
from haccp.language import counted, message, phrase
from haccp.limits import Limit, LimitSet
from haccp.printing import forms
from haccp.printing.codes_in_words import in_words, limit_in_words, named, step_in_words
from haccp.printing.limits_in_words import (
    caution,
    foods_of,
    limits_of,
    moment_of_printing,
    people_of,
    set_in_words,
    stated,
)
from haccp.printing.practice import PRACTICE, Practice
from haccp.record.entries import HoldingUnit, PlannedFood
from haccp.rules.account.steps import TRAITS
from haccp.rules.evidence import Bounds, Finding, Reason, Step, Verdict
from haccp.rules.remedies import Option, options
from haccp.rules.thermometer import boiling_point, pressure_at
from haccp.temperature import Degree, parse_temperature
from haccp.time import spell

DRAFT = message(
    "Draft, made from the kitchen's settings. It is a plan once the person in charge and, where "
    "one is required, the regulatory authority have approved it. Ruled spaces are for what only "
    "people know; nothing in them is made up."
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
NO_FOODS = message(
    "No food is entered yet, so every step and every kind of food stands below. Enter each food "
    'that is made here: haccp add food "bean stew" --kind "plant food" '
    "--steps cook,hot_hold. Then print the plan again."
)
REVIEWED = message(
    "The day's readings, deviations and corrective actions are reviewed and the day is signed "
    "(haccp sign-day)."
)
WHOLE = message("The record holds together: no entry was changed or removed (haccp record verify).")
RECORD = message(
    "Every reading, action, check and signature with its moment, the moment of entry and initials. "
    "A correction is a new entry; nothing is overwritten."
)
KEPT = message(
    "The Food Code names no time for which a kitchen's cooking, cooling and holding records are "
    "kept (none was found); the kitchen and its health authority set it here."
)


_NO_COPIES = message("none are made by themselves: haccp kitchen --daily-copies")

# Steps whose limits depend on what is not known of a food beforehand.
_BY_CASE = {
    Step.RECEIVE: message("limits by how it is delivered"),
    Step.TIME_CONTROL: message("limits by how it leaves temperature control"),
}

_STATES = {
    Verdict.OPEN: message("while there is time"),
    Verdict.NOT_MET: message("not met"),
    Verdict.NOT_SHOWN: message("not shown"),
}


@dataclass(frozen=True, slots=True)
class _Action:
    """One thing to do, for which limits, and by basis the sections that it rests on, in order."""

    state: str
    when: str
    text: str
    limits: dict[str, None]
    rests_on: dict[str, dict[str, None]]


def gather(register: Register, printed: datetime, head: tuple[int, str]) -> dict[str, Any]:
    """Gather the plan as the settings stand when printed.

    `head` is the number and digest of the record's last entry.
    """
    plan = _Plan(register, register.limits_at(printed), printed)
    seq, digest = head
    return {
        "title": phrase("HACCP plan"),
        "kitchen": register.kitchen_at(printed).name,
        "printed": moment_of_printing(printed, register.zone),
        "draft": phrase(DRAFT),
        "about": [phrase(PARTS), phrase(REQUIRED), phrase(OUTSIDE)],
        "caution": caution(),
        "general": plan.general(),
        "people": people_of(register, plan.initials()),
        "thermometers": plan.thermometers(),
        "units": plan.units(),
        "no_foods": "" if plan.foods else phrase(NO_FOODS),
        "categories": plan.categories(),
        "flows": [plan.flow(food) for food in plan.foods],
        "steps": plan.hazards(),
        "points": [plan.point(step) for step in plan.points],
        "verification": plan.verification(),
        "records": plan.records(),
        "kept": phrase(KEPT),
        "forms": plan.forms(),
        "documents": plan.documents(),
        "limits": plan.limit_set(),
        "made_from": phrase(
            "Made from the record up to entry {entry}. A setting that is changed later changes "
            "the plan: print it again.",
            entry=seq,
        ),
        "digests": [
            [phrase("SHA-256 of that entry"), digest],
            [phrase("SHA-256 of the limits"), plan.limits.digest],
        ],
    }


@dataclass(frozen=True, slots=True)
class _Plan:
    register: Register
    limits: LimitSet
    printed: datetime

    @property
    def foods(self) -> list[PlannedFood]:
        return foods_of(self.register)

    @property
    def degree(self) -> Degree:
        return Degree(self.register.kitchen_at(self.printed).degree)

    @property
    def steps(self) -> list[Step]:
        """The steps that some food goes through, in the order of a kitchen's day."""
        used = {step for food in self.foods for step in food.steps}
        return [step for step in Step if step in used or not self.foods]

    @property
    def points(self) -> list[Step]:
        """The steps that have a limit: the critical control points."""
        return [step for step in self.steps if limits_of(step, self.limits, ())]

    def initials(self, role: str = "") -> list[str]:
        """Give who works here, or who has a role, by initials."""
        return [
            person.initials
            for person in self.register.people.values()
            if person.active and role in ("", person.role)
        ]

    def general(self) -> list[list[str]]:
        kitchen = self.register.kitchen_at(self.printed)
        boiling = boiling_point(pressure_at(kitchen.altitude_m)).number(self.degree)
        altitude = phrase(
            "{altitude}; water boils at about {boiling}",
            altitude=f"{kitchen.altitude_m} m",
            boiling=f"{boiling} °{self.degree}",
        )
        checked = phrase(
            "every {time} unless noted; a check is missed {grace} later",
            time=_minutes(kitchen.check_every_min),
            grace=_minutes(kitchen.grace_min),
        )
        return [
            [phrase("Kitchen"), kitchen.name],
            [phrase("Time zone"), kitchen.zone],
            [phrase("Altitude"), altitude],
            [phrase("Temperatures"), f"°{self.degree}"],
            [phrase("Food is checked"), checked],
        ]

    def thermometers(self) -> list[list[str]]:
        rows = []
        for label, one in self.register.thermometers.items():
            if one.active:
                checks = self.register.checks_of(label, self.printed)
                rows.append([label, f"±{parse_temperature(one.accuracy)}", self._last(checks)])
        return rows

    def _last(self, checks: Sequence[tuple[datetime, Any]]) -> str:
        if not checks:
            return phrase("not checked yet")
        at, check = checks[-1]
        outcome = message("{moment}: passed") if check.passed else message("{moment}: FAILED")
        return phrase(outcome, moment=moment_of_printing(at, self.register.zone))

    def units(self) -> list[list[str]]:
        rows = []
        for unit in self._units():
            asked = stated(self.limits.get(f"{unit.holds}-holding"), self.degree)
            rows.append([unit.name, in_words(unit.holds), asked, _every(unit.every_min)])
        return rows

    def _units(self) -> list[HoldingUnit]:
        return [unit for unit in self.register.units.values() if unit.active]

    def categories(self) -> list[list[str]]:
        """Group the foods by kind, as 8-201.14 asks for categories of TCS food."""
        by_kind: dict[str, list[str]] = {}
        for food in self.foods:
            by_kind.setdefault(food.food_kind, []).append(food.name)
        return [
            [
                in_words(kind) if kind else phrase("other, by the strictest limits"),
                ", ".join(names),
            ]
            for kind, names in by_kind.items()
        ]

    def flow(self, food: PlannedFood) -> dict[str, Any]:
        depth = phrase("{depth} deep", depth=f"{food.depth_in} in") if food.depth_in else ""
        about = (in_words(food.food_kind), in_words(food.nature), food.container, depth)
        return {
            "name": food.name,
            "about": ", ".join(words for words in about if words),
            "steps": [self._box(food, place) for place in range(len(food.steps))],
        }

    def _box(self, food: PlannedFood, place: int) -> dict[str, Any]:
        step = Step(food.steps[place])
        limits = [
            stated(limit, self.degree)
            if len(limit.rows) == 1
            else phrase("a row of {citation}", citation=limit.citation)
            for limit in self._deciding(step, food, food.steps[:place])
        ]
        by_case = [phrase(_BY_CASE[step])] if step in _BY_CASE else []
        return {
            "step": step_in_words(step),
            "point": self._number(step),
            "limits": limits or by_case,
        }

    def _number(self, step: Step) -> str:
        return f"CCP {self.points.index(step) + 1}" if step in self.points else ""

    def _deciding(self, step: Step, food: PlannedFood, before: Sequence[str]) -> Iterator[Limit]:
        """Give the limits that decide in most cases; a control point's page has them all."""
        match step:
            case Step.COOK | Step.HOT_HOLD | Step.COLD_HOLD:
                yield self.limits.get(TRAITS[step].limits[0], food.food_kind)
            case Step.REHEAT:
                # a roast's own table is for portions that nobody sliced: 3-403.11(E)
                reheat = self.limits.get("reheat", food.food_kind)
                yield reheat if len(reheat.rows) == 1 else self.limits.get("reheat")
            case Step.COOL if any(TRAITS[Step(one)].coolest for one in before):
                yield from (self.limits.get(f"cooling-stage-{stage}") for stage in (1, 2))
            case Step.COOL:
                yield self.limits.get("cooling-ambient")

    def hazards(self) -> list[list[str]]:
        return [
            [
                step_in_words(step),
                phrase(PRACTICE[step].hazard),
                phrase(PRACTICE[step].control),
                self._number(step) or phrase("control point"),
            ]
            for step in self.steps
        ]

    def point(self, step: Step) -> dict[str, Any]:
        practice = PRACTICE[step]
        foods = [food.name for food in self.foods if step in food.steps]
        local = {(limit.name, limit.kind) for limit in self.limits.overrides}
        return {
            "title": f"{self._number(step)}: {step_in_words(step)}",
            "facts": [
                [phrase("Foods"), ", ".join(foods) or phrase("every food")],
                [phrase("Measured"), phrase(practice.measured)],
                [phrase("How often"), self._often(step)],
                [phrase("By whom"), self._by_whom()],
                [phrase("Recorded"), self._recorded(practice)],
                [
                    phrase("Verified"),
                    phrase("a manager reviews and signs each day; see Verification"),
                ],
            ],
            "limits": [
                {
                    "limit": named(limit),
                    "asked": stated(limit, self.degree),
                    "text": limit.text,
                    "citation": limit.citation,
                    "source": limit.source,
                    "basis": _basis(limit),
                    "is_read": limit.basis == "verified",
                    "override": (limit.name, limit.kind) in local,
                }
                for limit in self._limits(step)
            ],
            "actions": self._actions(step),
        }

    def _by_whom(self) -> str:
        return phrase(
            "whoever has the food in hand, by initials: {initials}",
            initials=", ".join(self.initials()),
        )

    def _recorded(self, practice: Practice) -> str:
        return phrase(
            "{command}; without power on the sheet “{sheet}”",
            command=practice.command,
            sheet=phrase(practice.form),
        )

    def _limits(self, step: Step) -> list[Limit]:
        """Give the limits of a step for the foods that go through it."""
        kinds = {food.food_kind for food in self.foods if step in food.steps}
        return limits_of(step, self.limits, kinds if self.foods else self.limits.kinds)

    def _often(self, step: Step) -> str:
        kitchen = self.register.kitchen_at(self.printed)
        every = _minutes(kitchen.check_every_min)
        if step is Step.COOL:
            return phrase("at the start, then every {time}, and in time for each limit", time=every)
        if not TRAITS[step].held_to:
            return phrase(PRACTICE[step].often)
        hot = step is Step.HOT_HOLD
        units = [
            phrase("{unit} every {time}", unit=unit.name, time=_minutes(unit.every_min))
            for unit in self._units()
            if (unit.holds == "hot") is hot
        ]
        return "; ".join([*units, phrase("food elsewhere every {time}", time=every)])

    def _actions(self, step: Step) -> list[list[str]]:
        """List what the tool proposes for this step's limits: in time, broken, or not shown."""
        found: dict[tuple[str, str], _Action] = {}
        limits = self._limits(step)
        for verdict, state in _STATES.items():
            for limit in limits:
                for option in self._proposed(step, limit, verdict):
                    key = (option.text, option.when)
                    action = found.setdefault(
                        key, _Action(phrase(state), option.when, option.text, {}, {})
                    )
                    action.limits[limit_in_words(limit.name)] = None
                    action.rests_on.setdefault(option.basis, {})[option.citation] = None
        names = {limit.name for limit in limits}
        return [
            [
                phrase("Any limit") if len(one.limits) == len(names) > 1 else ", ".join(one.limits),
                f"{one.state}: {one.when}" if one.when else one.state,
                one.text,
                "; ".join(
                    f"{', '.join(cited)} ({in_words(basis)})"
                    for basis, cited in one.rests_on.items()
                ),
            ]
            for one in found.values()
        ]

    def _proposed(self, step: Step, limit: Limit, verdict: Verdict) -> Sequence[Option]:
        """Ask what would be proposed, were this limit in danger, broken or not shown right now."""
        imagined = Finding(
            step=step,
            # what it asks for stands above, and for each kind of food
            limit=replace(limit, text=phrase("until its limit above is met.")),
            verdict=verdict,
            reason=Reason.PAST_ITS_DAY if limit.name == "date-mark" else Reason.OUT_OF_LIMITS,
            readings=(),
            start=Bounds(self.printed, self.printed),
            longest=timedelta(0),
            due=self.printed,
        )
        late_reheat = self.register.kitchen_at(self.printed).late_reheat
        return options(imagined, last=None, now=self.printed, late_reheat=late_reheat)

    def verification(self) -> list[list[str]]:
        kitchen = self.register.kitchen_at(self.printed)
        accuracy = self.limits.get("thermometer-accuracy")
        checked = phrase(
            "Each thermometer is checked in melting ice or boiling water, within {difference} "
            "({citation}; haccp ice, haccp boil). After a failed check, readings since the last "
            "good one do not count.",
            difference=f"{accuracy.level.number(self.degree)} °{self.degree}",
            citation=accuracy.citation,
        )
        managers = ", ".join(self.initials("manager"))
        days = kitchen.thermometer_days
        interval = (
            phrase("every {time}", time=f"{days} d") if days else phrase("no interval is set yet")
        )
        return [
            [
                phrase(REVIEWED),
                phrase("each day"),
                phrase("a manager: {initials}", initials=managers),
            ],
            [checked, interval, phrase("whoever uses it")],
            [phrase(WHOLE), phrase("before each report, by the program"), phrase("a manager")],
        ]

    def records(self) -> list[list[str]]:
        days = self.register.kitchen_at(self.printed).daily_copies
        copies = counted(
            "the last {count} day, beside the record",
            "the last {count} days, beside the record",
            days,
        )
        return [
            [phrase("Record"), phrase(RECORD)],
            [
                phrase("Reports"),
                phrase("haccp report prints a day or a period; haccp export gives every entry."),
            ],
            [
                phrase("Paper"),
                phrase("Log sheets are typed in later, marked as written on paper, and kept."),
            ],
            [phrase("Copies"), copies if days else phrase(_NO_COPIES)],
        ]

    def documents(self) -> list[list[str]]:
        return [
            [
                phrase("Blank forms"),
                phrase("{sheets}; haccp forms prints them.", sheets=", ".join(self.forms())),
            ],
            [
                phrase("Limits"),
                phrase("Each stands with its section and source under its control point."),
            ],
        ]

    def forms(self) -> list[str]:
        sheets = forms.gather(self.register, self.printed)["sheets"]
        return list(dict.fromkeys(sheet["title"] for sheet in sheets))

    def limit_set(self) -> dict[str, str]:
        guard = self.limits.guard
        moved = phrase("Limits moved inward by {guard} (guarded acceptance)", guard=guard)
        return {
            "name": phrase("Limits: {limit_set}.", limit_set=set_in_words(self.limits)),
            "guard": moved if guard else "",
        }


def _basis(limit: Limit) -> str:
    if limit.basis == "verified":
        return phrase("Number read in this source.")
    return phrase("Basis: {basis}.", basis=in_words(limit.basis_in_words))


def _minutes(minutes: int) -> str:
    return spell(timedelta(minutes=minutes))


def _every(minutes: int) -> str:
    return phrase("every {time}", time=_minutes(minutes))
