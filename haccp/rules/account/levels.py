"""The limits that one food is judged by, asked of the set once and handed down."""

from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from functools import cached_property

from haccp.limits.limit import Limit, LimitSet
from haccp.rules.evidence import (
    MICROWAVE,
    OPENED,
    SIX_HOURS,
    UNSLICED,
    WHOLE_ROAST,
    Reading,
)
from haccp.temperature import Level, Temperature

# A reading of hot food that is being heated is looked at less often: 4 h between two looks is one
# cooking. No paragraph lets food be out of temperature for longer without a plan of its own.
COOK_LOOK = timedelta(hours=4)

_SAID = {SIX_HOURS: "time-control-6h", OPENED: "time-control-opened"}
# The longest hold that a tier of 3-401.11(A) asks for at its hottest number.
_MOMENTS = timedelta(seconds=15)
# What may come as shell eggs, 3-202.11(C), 3-501.16(B); what is of no kind is taken at its word.
EGGS = ("", "egg", "pooled egg")
RECEIVING_LIMIT = {
    "cold": "receiving-cold",
    "hot": "receiving-hot",
    "frozen": "receiving-frozen",
    "egg": "receiving-egg-air",
}


def _at_once(limit: Limit) -> Decimal:
    """Say how hot food has to be that is held there for moments only: the tiers of 3-401.11(A)."""
    brief = [row.level.f for row in limit.rows if row.hold <= _MOMENTS]
    return min(brief, default=max(row.level.f for row in limit.rows))


@dataclass(frozen=True)
class Levels:
    """The limits of one batch: each is asked of the set by its name here, once, and nowhere else.

    Raises Refused for a limit that an older set does not have, where it is needed.
    """

    limits: LimitSet
    kind: str = ""
    received_as: str = ""
    oven_kind: str = ""

    def _get(self, name: str, kind: str = "") -> Limit:
        return self.limits.get(name, kind)

    @cached_property
    def hot(self) -> Limit:
        return self._get("hot-holding")

    @cached_property
    def hot_roast(self) -> Limit:
        return self._get("hot-holding", WHOLE_ROAST)

    @cached_property
    def cold(self) -> Limit:
        return self._get("cold-holding")

    @cached_property
    def egg(self) -> Limit:
        return self._get("egg-holding")

    @cached_property
    def frozen(self) -> Limit:
        return self._get("frozen-holding")

    @cached_property
    def stages(self) -> tuple[Limit, ...]:
        return self._get("cooling-stage-1"), self._get("cooling-stage-2")

    @cached_property
    def ambient(self) -> Limit:
        return self._get("cooling-ambient")

    @cached_property
    def by_law(self) -> Limit:
        return self._get("cooling-received")

    @cached_property
    def receiving(self) -> Limit:
        return self._get(RECEIVING_LIMIT[self.received_as or "cold"])

    @cached_property
    def cook(self) -> Limit:
        return self._get("cook", self.kind)

    @cached_property
    def reheat(self) -> Limit:
        return self._get("reheat")

    @cached_property
    def initial(self) -> Limit:
        return self._get("initial-heating", self.kind)

    @cached_property
    def oven(self) -> Limit:
        return self._get("oven", self.oven_kind)

    @cached_property
    def ovens(self) -> tuple[Limit, ...]:
        """All rows of a roast's oven: dry heat by its weight, and high humidity."""
        return tuple(one for one in self.limits.limits if one.name == "oven")

    @cached_property
    def out(self) -> tuple[Limit, Limit]:
        """How long food may be out of temperature, and what it must not be shown to exceed."""
        return self._get("time-out-allowed"), self._get("time-out-longest")

    @cached_property
    def ice(self) -> Level:
        """From where down food is frozen."""
        return self.frozen.level

    @property
    def start(self) -> Level:
        level = self.stages[0].start
        assert level is not None  # the loader asks a start of every stage without a preparation
        return level

    def is_hot(self, temperature: Temperature) -> bool:
        """Whether a cooling counts from it."""
        return temperature.over(self.start) >= 0

    def cooking(self, methods: AbstractSet[str], raw: str) -> list[Limit]:
        """Pick the limits of a cook by how it was heated: 3-401.12 is for raw animal food in a
        microwave.

        Raw food of a kind of its own keeps that kind's row in whatever it is made into, where it is
        the stronger: 3-401.11(A)(3) over (2) over (1); of equal ones both are asked.
        """
        kinds = list(dict.fromkeys([self.kind, raw] if raw else [self.kind]))
        if MICROWAVE in methods and kinds != ["plant food"]:
            return [self._get("cook-microwave")]
        asked = [self._get("cook", kind) for kind in kinds]
        strongest = max(map(_at_once, asked))
        alike = {one.rows: one for one in reversed(asked) if _at_once(one) == strongest}
        return list(alike.values())[::-1]

    def reheating(self, methods: AbstractSet[str], *, packaged: bool, roasted: bool) -> Limit:
        """Pick the limit of a reheat by how it was heated: 3-403.11(C) for a package as it came, in
        a microwave too ((B) "except as specified under (C)"), (E) for unsliced roasts cooked by
        their own rule.
        """
        if packaged:
            return self._get("reheat", "commercial package")
        if MICROWAVE in methods:
            return self._get("reheat-microwave")
        unsliced = methods == {UNSLICED}
        return self._get("reheat", WHOLE_ROAST) if unsliced and roasted else self.reheat

    def timed(self, first: Reading) -> Limit:
        """Pick the case of 3-501.19 by what was said and by the temperature at the removal.

        What is nearer to cold than to hot is taken to come from the cold.
        """
        if first.method in _SAID:
            return self._get(_SAID[first.method])
        cold, hot = self._get("time-control-cold"), self._get("time-control-hot")
        over_cold = first.temperature.over(cold.level)
        return cold if over_cold < -first.temperature.over(hot.level) else hot
