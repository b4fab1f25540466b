"""Where food stands that no unit is named for."""

from collections.abc import Mapping
from datetime import datetime

from haccp.kitchen.register import Register
from haccp.record.bodies import HoldingUnit
from haccp.rules.account.steps import Keeps

# An egg cooler is judged by its air, and is no usual place of other food: 3-501.16(B).
_USUAL = {Keeps.HOT: "hot", Keeps.COLD: "cold", Keeps.FROZEN: "frozen"}
_KEEPS = {"hot": Keeps.HOT, "frozen": Keeps.FROZEN}


def keeps(unit: HoldingUnit) -> Keeps:
    return _KEEPS.get(unit.holds, Keeps.COLD)


def usual_units(register: Register, food: str, at: datetime) -> Mapping[Keeps, str]:
    """Say where a food stands at a moment unless a unit is named for it, by how it is kept.

    That is its own unit, else the kitchen's usual one, else the only one that keeps food so.
    """
    units = [unit for unit in _units_at(register, at) if unit.active]
    usual = {}
    for kind, word in _USUAL.items():
        mine = [unit for unit in units if unit.holds == word]
        named = [unit.name for unit in mine if unit.usual] or [unit.name for unit in mine]
        if len(named) == 1:
            usual[kind] = named[0]
    planned = register.food_at(food, at)
    own = [unit for unit in units if planned and unit.name == planned.unit]
    return usual | {keeps(unit): unit.name for unit in own}


def _units_at(register: Register, at: datetime) -> list[HoldingUnit]:
    """Give the units that had been added by a moment; before the first, those there were ever."""
    settings = register.unit_settings
    added = [name for name, known in settings.items() if min(when for when, _ in known) <= at]
    return [register.unit_at(name, at) for name in added or settings]
