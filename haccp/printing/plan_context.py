"""What every part of the plan shares: the kitchen's settings, its limits and what it does."""

from dataclasses import dataclass, field
from datetime import datetime, timedelta

from haccp.kitchen.practised import Practised
from haccp.kitchen.register import Register
from haccp.language import phrase
from haccp.limits import Limit, LimitSet
from haccp.limits.plan_tables import decisions
from haccp.printing.codes_in_words import in_words, named
from haccp.printing.limits_in_words import foods_of, limits_of
from haccp.record.bodies import HoldingUnit, KitchenSettings, PlannedFood
from haccp.rules.account.steps import TRAITS
from haccp.rules.evidence import COMMERCIAL_PACKAGE, Step
from haccp.temperature import Degree
from haccp.time import spell

_EGGS = ("egg", "pooled egg")
# Limits of ways in which a kitchen need not receive, heat or hold anything: they are in its plan
# where something on record or in the settings asks for them.
_SPECIAL = {
    "receiving-hot", "receiving-frozen", "receiving-egg-air", "cooling-received",
    "cook-microwave", "initial-heating", "cook-by-instructions", "cooling-ambient",
    "egg-holding", "frozen-holding", "reheat-microwave", "reheat-for-order",
    "time-control-6h", "time-control-opened",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Plan:
    """What every part of a plan needs to be written; `sources` are numbered as they are cited."""

    register: Register
    limits: LimitSet
    done: Practised
    printed: datetime
    sources: dict[str, int] = field(default_factory=dict)

    @property
    def kitchen(self) -> KitchenSettings:
        return self.register.kitchen_at(self.printed)

    @property
    def degree(self) -> Degree:
        return Degree(self.kitchen.degree)

    @property
    def foods(self) -> list[PlannedFood]:
        return foods_of(self.register)

    @property
    def units(self) -> list[HoldingUnit]:
        return [unit for unit in self.register.units.values() if unit.active]

    @property
    def steps(self) -> list[Step]:
        """The steps that some food goes through, in the order of a kitchen's day."""
        used = {step for food in self.foods for step in food.steps}
        return [step for step in Step if step in used or not self.foods]

    @property
    def points(self) -> list[Step]:
        """The critical control points."""
        return [step for step in self.steps if decisions()[step].critical]

    def number(self, step: Step) -> str:
        return f"CCP {self.points.index(step) + 1}" if step in self.points else ""

    def foods_at(self, step: Step) -> list[str]:
        return [food.name for food in self.foods if step in food.steps]

    def initials(self, role: str = "") -> list[str]:
        """Give who works here, or who has a role, by initials."""
        return [
            person.initials
            for person in self.register.people.values()
            if person.active and role in ("", person.role)
        ]

    def limits_at(self, step: Step) -> list[Limit]:
        """Give the limits of a step that this kitchen's foods, ovens and ways are judged by."""
        return [limit for limit in self._possible(step) if self._is_used(limit)]

    def left_out(self, step: Step) -> str:
        """Name the limits of a step that nothing here asks for, so that nobody misses them."""
        return "; ".join(
            f"{named(limit)} ({limit.citation})"
            for limit in self._possible(step)
            if not self._is_used(limit)
        )

    def _possible(self, step: Step) -> list[Limit]:
        kinds = {food.food_kind for food in self.foods if step in food.steps}
        return limits_of(step, self.limits, kinds if self.foods else self.limits.kinds)

    def _is_used(self, limit: Limit) -> bool:
        if limit.name == "oven":
            known = self.done.ovens or {letter.body.oven for letter in self.register.ovens}
            return not known or limit.kind in known
        return (
            not self.foods
            or limit.name not in _SPECIAL
            or limit.name in self.done.limits
            or limit.name in self._set_up_for()
        )

    def _set_up_for(self) -> set[str]:
        """Name the limits for special ways that the kitchen's units and foods ask for."""
        held = {unit.holds for unit in self.units}
        kinds = {food.food_kind for food in self.foods}
        asked = {"frozen-holding"} if "frozen" in held else set()
        asked |= {"egg-holding"} if "egg" in held else set()
        asked |= {"egg-holding", "receiving-egg-air"} if kinds & {*_EGGS} else set()
        asked |= {"cook-by-instructions"} if COMMERCIAL_PACKAGE in kinds else set()
        cold = (food for food in self.foods if Step.COOL in food.steps)
        if any(not was_hot(food, Step.COOL) for food in cold):
            asked.add("cooling-ambient")
        return asked

    def cite(self, source: str, basis: str) -> str:
        """Give the number of a source in the list of sources, or say on what else a text rests."""
        if not source:
            return phrase("no source: {basis}", basis=in_words(basis))
        number = self.sources.setdefault(source, len(self.sources) + 1)
        return f"[{number}]" if basis == "verified" else f"[{number}] {in_words(basis)}"


def was_hot(food: PlannedFood, step: Step) -> bool:
    """Whether a food was to be hot before it comes to a step."""
    before = food.steps[: food.steps.index(step)]
    return any(TRAITS[Step(one)].coolest for one in before)


def minutes(count: int) -> str:
    return spell(timedelta(minutes=count))
