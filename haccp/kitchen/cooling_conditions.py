"""How a batch cools, as far as the record knows, and since when: what an estimate starts from."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.readings_as_evidence import is_step, reading_of
from haccp.kitchen.register import Register
from haccp.physics.forecast_prior import Prior, Surroundings
from haccp.physics.plan_prior import Container, Way, plan_prior
from haccp.record.bodies import CoolingSetup, Measured, Moved, TakenOut
from haccp.record.entries import Entry, having, holds
from haccp.rules.evidence import WHOLE_ROAST, Step
from haccp.temperature import parse_temperature

# A unit's check this old tells nothing of its air now: common practice, no source.
_STALE = timedelta(hours=12)
# A reading so shortly before a change still says where the food was when it changed.
AT_THE_CHANGE = timedelta(minutes=5)
# A check of the unit says nothing of a bath in it.
_BATH = {"bath", "ice", "water"}
# Words of a method by which it stands in cold air, and those that the planner's cases do not count.
_COOLERS = {"walk", "cooler", "fridge", "refrigerator", "freezer", "chiller"}
_OTHER_WAYS = {"wand", "wands", "paddle", "paddles", "counter", "room", "table"}
_POT = re.compile(r"pot\b", re.IGNORECASE)
_PAN = re.compile(r"pans?\b|trays?\b", re.IGNORECASE)
_PAN_IN = re.compile(r"\b([1-8](?:\.[0-9]{1,2})?)[ -]?in(?:ch)?\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Conditions:
    """What is known of a cooling: how it was `setup`, the cold `unit` that it stands in, the `air`
    that was typed last, what is around it by both, and from which moment on its readings tell; None
    where that is from the start.
    """

    setup: CoolingSetup
    unit: str
    air: Entry[CoolingSetup] | None
    surroundings: Surroundings
    measured: bool
    since: datetime | None

    @property
    def told(self) -> bool:
        """Whether anybody said how or where it cools."""
        return bool(self.setup.method or self.unit or self.air)

    @property
    def in_bath(self) -> bool:
        return bool(_BATH & set(_words(self.setup.method)))


def conditions_of(
    subject: BatchOnRecord, register: Register, began: datetime, until: datetime
) -> Conditions:
    """Follow what was entered about a batch: a change of method or of place starts anew, and what
    was typed of the air before it counts no more.
    """
    unit, air, since = "", None, None
    for entry in sorted(_said(subject), key=lambda entry: (entry.at, entry.seq)):
        if entry.at > until:
            break
        place = _place(entry, register)
        if place is not None and place != unit:
            unit, air = place, None
            since = entry.at
        if holds(entry, CoolingSetup):
            since = entry.at if entry.body.changed else None  # else it held from the start
            air = entry if entry.body.air else None if entry.body.changed else air
    setup = setup_of(subject, register, until)
    changed = since - AT_THE_CHANGE if since and since > began else None
    around = _around(setup.method, air, unit, register, until)
    usual = Surroundings.cold_storage() if unit else Surroundings.unknown()
    return Conditions(
        setup,
        unit,
        air,
        around or usual,
        around is not None,
        changed if changed and changed > began else None,
    )


def _said(subject: BatchOnRecord) -> Iterator[Entry]:
    """What was entered about a batch, and before about what it is a portion of: it cools as that
    did, but how deep it stands now nobody said yet.
    """
    for whole in subject.parts if len(subject.batch.portion_of) == 1 else ():
        if whole.name in subject.batch.portion_of:
            for entry in _said(whole):
                if entry.at <= subject.opened.at:
                    yield _no_deeper_told(entry)
    yield from subject.in_force


def _no_deeper_told(entry: Entry) -> Entry:
    if not holds(entry, CoolingSetup):
        return entry
    return replace(entry, body=replace(entry.body, container="", depth_in=""))


def is_cooling(subject: BatchOnRecord, at: datetime) -> bool:
    """Whether it was read in a cooling before a moment."""
    return any(entry.at < at and is_step(entry, Step.COOL) for entry in subject.readings)


def _place(entry: Entry, register: Register) -> str | None:
    """Name the cold unit that food stands in from an entry on, empty for none that is known; None
    where it says nothing of that.
    """
    match entry.body:
        case TakenOut():
            return ""
        case CoolingSetup(method=words):
            parts = {part.strip().casefold() for part in words.split(",")}
            return next((name for name in register.units if name.casefold() in parts), None)
        case Measured() | Moved() if entry.unit:
            return entry.unit if register.units[entry.unit].holds != "hot" else ""
        case _:
            return None


def _around(
    method: str,
    air: Entry[CoolingSetup] | None,
    unit: str,
    register: Register,
    until: datetime,
) -> Surroundings | None:
    """Take what was measured last, of the typed air and the unit's checks; None for neither."""
    bath = air and _BATH & set(_words(method))
    seen = checked(unit, register, until, air.at if air else None) if not bath else None
    if seen is not None:
        return Surroundings.measured(seen)
    if air and air.body.air_to:
        low, high = (_fahrenheit(one) for one in (air.body.air, air.body.air_to))
        return Surroundings.between(min(low, high), max(low, high))
    return Surroundings.measured(_fahrenheit(air.body.air)) if air else None


def checked(
    unit: str, register: Register, until: datetime, after: datetime | None = None
) -> float | None:
    """Find what a unit showed last [°F], by its own checks that are not stale."""
    if not unit:
        return None
    since = until - _STALE if after is None else max(until - _STALE, after)
    entries = having(register.history.of_unit(unit, since, until), Measured)
    own = [entry for entry in entries if entry.batch is None]
    return float(reading_of(own[-1], register).temperature.fahrenheit) if own else None


def _words(text: str) -> list[str]:
    return re.findall(r"\w+", text.casefold())


def _fahrenheit(text: str) -> float:
    return float(parse_temperature(text).fahrenheit)


def setup_of(subject: BatchOnRecord, register: Register, now: datetime) -> CoolingSetup:
    """Say how a batch cools as far as is known: as was entered, else as its food is planned."""
    food = next(
        (
            one
            for one in register.foods.values()
            if one.name.casefold() == subject.batch.food.casefold()
        ),
        None,
    )
    known = CoolingSetup(
        nature=food.nature if food else "",
        container=food.container if food else "",
        depth_in=food.depth_in if food else "",
    )
    for entry in sorted(having(_said(subject), CoolingSetup), key=lambda entry: entry.at):
        body = entry.body
        if entry.at <= now:
            known = CoolingSetup(
                nature=body.nature or known.nature,
                air=body.air or ("" if body.changed else known.air),
                air_to=body.air_to or ("" if body.air or body.changed else known.air_to),
                method=body.method or known.method,
                container=body.container or known.container,
                depth_in=body.depth_in or known.depth_in,
            )
    return known


def container_of(setup: CoolingSetup) -> str:
    """What it stands in: a pot where that was said, else a pan."""
    return "pot" if _POT.search(setup.container) else "pan"


def depth_of(setup: CoolingSetup) -> float | None:
    """How deep it stands [in]: as was said, else as high as the pan is; None where nobody said."""
    named = _PAN_IN.search(setup.container)
    said = setup.depth_in or (named[1] if named and container_of(setup) == "pan" else "")
    return float(said) if said and float(said) > 0 else None


def way_of(known: Conditions) -> Way | None:
    """Say what takes its heat, of what the planner's cases count; None for anything else."""
    words = {*_words(known.setup.method)}
    if words & _OTHER_WAYS:
        return None
    if known.in_bath:
        return Way.BATH if "bath" in words else None
    if "blast" in words:
        return Way.BLAST
    return Way.AIR if known.unit or words & _COOLERS else None


def planned_prior(subject: BatchOnRecord, known: Conditions) -> tuple[Prior, ...] | None:
    """What the planner expects of a batch whose setup is on record: thick, how deep, in what, and
    in which way it cools; None where one of them is not known, or the planner knows no such thing.
    """
    setup, way, depth = known.setup, way_of(known), depth_of(known.setup)
    pot = container_of(setup) == "pot"
    known_to_it = pot or not setup.container or _PAN.search(setup.container)
    thick = setup.nature == "thick" and subject.batch.food_kind != WHOLE_ROAST
    if not (thick and way and depth and known_to_it):
        return None
    return plan_prior(Container.POT if pot else Container.PAN, way, depth)
