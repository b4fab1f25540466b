"""Which act still saves a batch that cools too slowly, from what the record says: an estimate."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import accumulate
from math import pi
from typing import TYPE_CHECKING

from haccp.equipment import EVERYTHING, ICE, ICE_BATH, Equipment, named_in, parse_equipment
from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.cooling_conditions import (
    Conditions,
    checked,
    conditions_of,
    container_of,
    depth_of,
    way_of,
)
from haccp.kitchen.cooling_estimate import Running, from_the_heat, trusted
from haccp.kitchen.places import keeps, usual_units
from haccp.kitchen.register import Register
from haccp.language import message, phrase
from haccp.limits.limit import Limit
from haccp.phrases import any_of
from haccp.physics.plan_prior import Way
from haccp.record.bodies import BatchOpened, CoolingSetup
from haccp.rules.account.steps import Keeps
from haccp.rules.evidence import WHOLE_ROAST, Finding, Reading, Step, Verdict
from haccp.temperature import Degree, Temperature, parse_temperature

if TYPE_CHECKING:  # numpy: only who asks for the chances waits for it
    from haccp.physics.conduction import Array
    from haccp.physics.cooling_setup import Consistency, Load, Setup
    from haccp.physics.properties import Food
    from haccp.physics.rescue import Act

_MINUTE = timedelta(minutes=1)
# Colder or warmer air is no cooler's, and deeper food is none's: common practice, no source.
_COOLER_F = (30.0, 50.0)
_DEEPEST_IN = 40.0
# A rate is told by readings of so many minutes.
_TELLS_MIN = 15.0
# How deep food may stand where nobody said, each as likely [in]; a pot's width: common practice,
# no source.
_DEPTHS_IN = {"pan": (2.0, 3.0, 4.0), "pot": (6.0, 8.0, 10.0)}
_POT_WIDE_IN = 12.0
# An open liquid that is like no other food is taken for this.
_LIQUID = "chicken-stock"
# A roast that is like no other food is taken for this. How heavy one is where nobody said, each as
# likely [lb], how many times as long as thick, and its density: common practice, no source.
_ROAST = "roast-beef"
_ROASTS_LB, _ROAST_SHAPES, _ROAST_KG_M3 = (5.0, 10.0, 15.0), (1.5, 3.0), 1050.0


@dataclass(frozen=True, slots=True)
class Chance:
    """One act and its chance of keeping each open stage and those before it."""

    words: str
    owned: bool
    by_stage: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Rescue:
    """What can still be done, what the kitchen owns first and of that the best first.

    `stages` are the open ones, each with its deadline; `taken` says what the models were given.
    """

    last: Reading
    stages: tuple[Finding, ...]
    taken: tuple[str, ...]
    chances: tuple[Chance, ...]


def open_stages(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """Give the stages of a cooling that can still be kept, by the worst case of the record.

    Of what was put together from several batches one may stand there for each. None of food that
    did not meet a stage: no act saves it.
    """
    mine = [one for one in findings if one.step is Step.COOL]
    if any(one.verdict is Verdict.NOT_MET for one in mine):
        return ()
    ahead = (one for one in mine if one.verdict is Verdict.OPEN and one.readings and one.due)
    return tuple(sorted(ahead, key=_due))


def standing(found_open: Sequence[Finding]) -> tuple[Reading, list[Finding]]:
    """Give the warmest part's last reading, and the earliest deadline of each stage."""
    stages = list({stage.limit.name: stage for stage in reversed(found_open)}.values())[::-1]
    newest = (max(stage.readings, key=lambda one: one.at) for stage in found_open)
    return max(newest, key=lambda one: one.temperature.fahrenheit), stages


def _due(stage: Finding) -> datetime:
    assert stage.due  # asked of open stages, which have one
    return stage.due


def rescue(
    subject: BatchOnRecord,
    found_open: Sequence[Finding],
    running: Running | None,
    register: Register,
    now: datetime,
) -> Rescue:
    """Estimate the chance of each act from `now` on, the food as warm as at its last reading.

    Of several, the warmest part and the earliest deadline of each stage (`open_stages`) count. To
    leave it has the chance that its own readings give it (`running`): of several stages the least.
    What nobody said counts by how well it explains the readings so far (`_weights`).
    What follows a reheating has its whole time again, from where the first stage begins.
    """
    from haccp.physics import rescue as models

    known = conditions_of(subject, register, found_open[0].readings[0].at, now)
    last, stages = standing(found_open)
    food = _standing(subject, known, register, now)
    setups = food.setups(last.temperature, minutes_left(stages, now), last.temperature.degree)
    weights = _weights(subject, found_open, known, setups, register)
    text = register.kitchen_at(now).owns
    owned = parse_equipment(text) if text else EVERYTHING
    found: list[tuple[Act, float]] = []
    chances = list(_left(stages, running))
    for act in food.held.acts:
        if _is_so(act, known.setup) or models.is_sure_deeper(act, found):
            continue
        by_stage = models.chance([act.change(one) for one in setups], weights)
        found.append((act, by_stage[-1]))
        chances.append(Chance(act.words, act.is_owned(owned), by_stage))
    if _may_reheat(subject, stages, last, register, now):
        best, _ = max(found, key=lambda one: (one[0].is_owned(owned), one[1]))
        chances.append(_again(best, food, stages, owned, weights))
    return Rescue(last, tuple(stages), food.taken, tuple(sorted(chances, key=_rank)))


def _rank(one: Chance) -> tuple[bool, tuple[int, ...]]:
    """Put what is owned first and the likeliest first, by whole percents; no chance is above 99."""
    return not one.owned, tuple(-min(int(share * 100), 99) for share in reversed(one.by_stage))


def minutes_left(stages: Sequence[Finding], now: datetime) -> list[tuple[Limit, float]]:
    """Give each stage's limit, and the minutes from `now` to its deadline."""
    return [(stage.limit, (_due(stage) - now) / _MINUTE) for stage in stages]


def _left(stages: Sequence[Finding], running: Running | None) -> Iterator[Chance]:
    """Say what it comes to as it is; nothing where its readings do not tell."""
    expected = running.expected if running else ()
    at = {one.finding.limit.name: one.arrival.chance for one in expected}
    if all(stage.limit.name in at for stage in stages):
        each = (at[stage.limit.name] or 0.0 for stage in stages)
        as_it_is = phrase("leave it as it is, by its own readings")
        yield Chance(as_it_is, True, tuple(accumulate(each, min)))


def _may_reheat(
    subject: BatchOnRecord,
    stages: Sequence[Finding],
    last: Reading,
    register: Register,
    now: datetime,
) -> bool:
    """Whether it may be reheated and cooled again: once, and while its first stage is open."""
    first = stages[0]
    still_warm = not first.limit.kept_by(last.temperature)
    before = any(one.step is Step.REHEAT for one in subject.evidence(register))
    is_first = first.limit.name == "cooling-stage-1" and now <= _due(first)
    return is_first and still_warm and not before


def _again(
    best: "Act",
    food: "_Standing",
    stages: Sequence[Finding],
    owned: Equipment,
    weights: "Array | None",
) -> Chance:
    """Give the chance of the best act after a reheating; that it is hot in time is not in it."""
    from haccp.physics.rescue import chance

    first = stages[0].limit
    assert first.start and first.within  # the loader asks both of a first stage
    begun = _due(stages[0]) - first.within
    degree = food.degree
    start = Temperature(first.start.number(degree), degree)
    setups = food.setups(start, minutes_left(stages, begun), degree)
    by_stage = chance([best.change(one) for one in setups], weights)
    words = phrase(
        "reheat it to 165 °F (74 °C) for 15 s before the first deadline, then: {act}",
        act=best.words,
    )
    return Chance(words, best.is_owned(owned), by_stage)


def _weights(
    subject: BatchOnRecord,
    found_open: Sequence[Finding],
    known: Conditions,
    setups: "Sequence[Setup]",
    register: Register,
) -> "Array | None":
    """Weigh what nobody said by how the batch cooled so far: in a cooler's measured air, from the
    heat on and never otherwise. None where its readings do not tell that.
    """
    if len(setups) == 1:
        return None
    from haccp.physics.rescue import weigh

    one_batch = len({one.limit.name for one in found_open}) == len(found_open)
    first = found_open[0]
    in_air = way_of(known) is Way.AIR and (known.air is None or _typed(known) is not None)
    from_the_start = known.since is None and first.limit.name == "cooling-stage-1"
    if not (one_batch and in_air and known.measured and from_the_start):
        return None
    taken = trusted(from_the_heat(first, subject, register), None)
    minutes = [(one.at - taken[0].at) / _MINUTE for one in taken]
    if not minutes or minutes[-1] < _TELLS_MIN:
        return None
    return weigh(setups, minutes, [_celsius(one.temperature) for one in taken])


def _is_so(act: "Act", known: CoolingSetup) -> bool:
    """Whether it is cooled so already, by the words of its method."""
    if act.depth_in or act.needs in ("", ICE) or act.needs not in named_in(known.method):
        return False
    return act.needs != ICE_BATH or act.place.endswith(", stirred") is (known.nature == "stirred")


@dataclass(frozen=True, slots=True)
class _Held:
    """What the food is and in what it is held: everything that it may be where nobody said, each as
    likely, what can be done with it, and how that is told.
    """

    food: "Food"
    consistencies: "tuple[Consistency, ...]"
    loads: "tuple[Load, ...]"
    acts: "tuple[Act, ...]"
    taken: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Standing:
    """How a food stands in its cooler; `taken` tells all that is counted with."""

    held: _Held
    air_f: float
    degree: Degree
    taken: tuple[str, ...]

    def setups(
        self, start: Temperature, ahead: Sequence[tuple[Limit, float]], degree: Degree
    ) -> "list[Setup]":
        from haccp.physics.convection import STILL_AIR
        from haccp.physics.cooling_setup import Medium, Setup, Stage

        levels = [
            Stage(_celsius(Temperature(limit.level.number(degree), degree)), minutes)
            for limit, minutes in ahead
        ]
        air = Medium((self.air_f - 32) / 1.8, STILL_AIR)
        return [
            Setup(self.held.food.composition, how, load, air, _celsius(start), tuple(levels))
            for how in self.held.consistencies
            for load in self.held.loads
        ]


def _standing(
    subject: BatchOnRecord, known: Conditions, register: Register, now: datetime
) -> _Standing:
    degree = register.degree
    air, told_air = _air(subject, known, register, now)
    is_roast = subject.batch.food_kind == WHOLE_ROAST
    held = _roast(subject.batch) if is_roast else _in_container(subject.batch.food, known.setup)
    return _Standing(held, air, degree, (*held.taken, told_air, *_media(degree)))


def _in_container(name: str, setup: CoolingSetup) -> _Held:
    """Say how food stands in pans or a pot."""
    from haccp.physics.cooling_setup import Pan, Pot
    from haccp.physics.food_kinds import cautious
    from haccp.physics.planning import PAN_SIZES
    from haccp.physics.properties import foods
    from haccp.physics.rescue import acts
    from haccp.quantities import INCH_M

    unlike = foods()[_LIQUID] if setup.nature == "open liquid" else cautious()
    food, told_food = _like(name, unlike)
    natures, told_nature = _natures(setup)
    container = container_of(setup)
    depths, told_depth = _depths(setup, container)
    length, width = (inches * INCH_M for inches in PAN_SIZES["full-size"])
    loads = tuple(
        Pot(_POT_WIDE_IN * INCH_M, deep * INCH_M)
        if container == "pot"
        else Pan(length, width, deep * INCH_M)
        for deep in depths
    )
    taken = (told_food, told_nature, told_depth)
    return _Held(food, natures, loads, tuple(acts(max(depths))), taken)


def _roast(batch: BatchOpened) -> _Held:
    """Say how large a whole roast is: by its weight, as short and as long as roasts are."""
    from haccp.physics.cooling_setup import Consistency, Roast
    from haccp.physics.properties import foods
    from haccp.physics.rescue import acts_on_a_roast
    from haccp.quantities import POUND_KG

    food, told_food = _like(batch.food, foods()[_ROAST])
    weights = (float(batch.weight_lb),) if batch.weight_lb else _ROASTS_LB
    said = message("whole, {weights} lb")
    unsaid = message("whole, {weights} lb, as nobody said")
    words = said if batch.weight_lb else unsaid
    told_weight = phrase(words, weights=any_of([f"{one:g}" for one in weights]))
    loads = []
    for pounds in weights:
        for longer in _ROAST_SHAPES:
            volume = pounds * POUND_KG / _ROAST_KG_M3
            diameter = (4 * volume / pi / longer) ** (1 / 3)
            loads.append(Roast(diameter, longer * diameter))
    acts = tuple(acts_on_a_roast())
    return _Held(food, (Consistency.THICK,), tuple(loads), acts, (told_food, told_weight))


def _like(name: str, unlike: "Food") -> "tuple[Food, str]":
    """Take the food of the table, or the nearest kind, or the one given for what is like none."""
    from haccp.physics.food_kinds import nearest
    from haccp.physics.properties import foods

    by_name = {one: food for food in foods().values() for one in food.names}
    if food := by_name.get(name.casefold()):
        return food, phrase("counted as {food}", food=food.name)
    like = nearest(name) or unlike
    return like, phrase("counted as like {food}", food=like.name)


def _natures(known: CoolingSetup) -> "tuple[tuple[Consistency, ...], str]":
    from haccp.physics.cooling_setup import Consistency

    by_word = {
        "open liquid": Consistency.THIN,
        "stirred": Consistency.STIRRED,
        "thick": Consistency.THICK,
    }
    if known.nature:
        return (by_word[known.nature],), known.nature
    either = Consistency.THICK, Consistency.THIN
    return either, phrase("thick or open liquid, as nobody said")


# By what it stands in.
_DEEP = {
    "pan": message("{depth} in deep in a pan"),
    "pot": message("{depth} in deep in a pot"),
}
_DEEP_AS_USUAL = {
    "pan": message("{depths} in deep in a pan, as nobody said"),
    "pot": message("{depths} in deep in a pot, as nobody said"),
}


def _depths(known: CoolingSetup, container: str) -> tuple[tuple[float, ...], str]:
    depth = depth_of(known)
    if depth and depth <= _DEEPEST_IN:
        words = _DEEP[container]
        return (depth,), phrase(words, depth=f"{depth:g}")
    usual = _DEPTHS_IN[container]
    words = _DEEP_AS_USUAL[container]
    return usual, phrase(words, depths=any_of([f"{one:g}" for one in usual]))


def _air(
    subject: BatchOnRecord, known: Conditions, register: Register, now: datetime
) -> tuple[float, str]:
    """Take the cooler's air: what was measured last of the food's and its unit's, or usual."""
    from haccp.physics.planning import WALK_IN_F

    typed = _typed(known)
    at = known.air.at if known.air and typed is not None else None
    seen = checked(_cold_unit(subject, known, register, now), register, now, at)
    if seen is not None:
        air, words = seen, message("the cooler at {temp}, as checked")
    elif typed is not None:
        air, words = typed, message("the cooler at {temp}, as measured")
    else:
        air, words = float(WALK_IN_F), message("the cooler at {temp}, as usual, not measured")
    return air, phrase(words, temp=_degrees(air, register.degree))


def _typed(known: Conditions) -> float | None:
    """The warmest of the air that was typed [°F]; nothing of a bath, or of what is no cooler."""
    if not known.air or known.in_bath:
        return None
    body = known.air.body
    typed = [float(parse_temperature(one).fahrenheit) for one in (body.air, body.air_to) if one]
    coldest, hottest = _COOLER_F
    return warmest if coldest <= (warmest := max(typed)) <= hottest else None


def _cold_unit(subject: BatchOnRecord, known: Conditions, register: Register, now: datetime) -> str:
    """Name the cooler that it stands in, or else its usual one; empty for none."""
    unit = register.units.get(known.unit)
    if unit and keeps(unit) is Keeps.COLD:
        return known.unit
    return usual_units(register, subject.batch.food, now).get(Keeps.COLD, "")


def _media(degree: Degree) -> Iterator[str]:
    from haccp.physics.planning import BLAST_CHILLER, FREEZER_F, ICE_BATH, ROOM_F

    chiller, bath = (one.celsius * 1.8 + 32 for one in (BLAST_CHILLER, ICE_BATH))
    yield phrase("a freezer at {temp}", temp=_degrees(FREEZER_F, degree))
    yield phrase("a blast chiller at {temp}", temp=_degrees(chiller, degree))
    yield phrase("an ice bath at {temp}", temp=_degrees(bath, degree))
    yield phrase("the room at {temp}", temp=_degrees(ROOM_F, degree))


def _degrees(fahrenheit: float, degree: Degree) -> str:
    value = fahrenheit if degree is Degree.F else (fahrenheit - 32) / 1.8
    return f"{round(value) + 0} °{degree}"


def _celsius(temperature: Temperature) -> float:
    return float((temperature.fahrenheit - 32) * 5 / 9)
