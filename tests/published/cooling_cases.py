"""Published coolings as the planner is asked about them: one setup for each that it can be.

The trials' tables could not be read, only abstracts and two book tables: what those leave open is
set here to what the planner's users would have, and each such choice is said beside the case.
"""

import csv
from dataclasses import dataclass, replace
from math import inf, pi
from pathlib import Path

from haccp.physics import convection
from haccp.physics.convection import Range
from haccp.physics.cooling_setup import (
    Consistency,
    Load,
    Medium,
    Pan,
    Pot,
    Roast,
    Setup,
    Slab,
    Stage,
)
from haccp.physics.properties import foods
from haccp.quantities import GALLON_L, INCH_M

DATA = Path(__file__).parent / "data"


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32) / 1.8


# Food Code 2022, 3-501.14(A).
FOOD_CODE = (Stage(celsius(70), 120), Stage(celsius(41), 360))

# --- pass or fail -------------------------------------------------------------------------------

# The abstracts give no air temperatures: a walk-in's, a freezer's and a blast chiller's usual ones.
WALK_IN = Medium(celsius(38), convection.MOVING_AIR)
FREEZER = Medium(celsius(0), convection.MOVING_AIR)
ICE_WATER = Medium(celsius(33), convection.ICE_BATH)

# Taco meat and tomato sauce stand for themselves by the nearest food of the composition table.
TRIAL_FOODS = {
    "chili con carne with beans": "chili",
    "chili": "chili",
    "tomato sauce (meatless)": "tomato-sauce",
    "beef taco meat": "roast-beef",
    "steamed rice": "rice",
}


@dataclass(frozen=True, slots=True)
class Trial:
    """One published cell: did it meet 135 to 70 °F in 2 h and 41 °F in 6 h?"""

    name: str
    setup: Setup
    met: bool


def trials() -> list[Trial]:
    """Give the published cells that the planner can be asked; the others use a chill stick."""
    found = []
    for row in _rows("measured_pass_fail.csv"):
        answer, method, container = (
            row["meets_135_to_70_in_2h_and_41_in_6h"],
            row["method"],
            row["container"],
        )
        if "chill stick" in method or answer.startswith("not stated"):
            continue
        load: Load
        if "stockpot" in container:
            load = pot(3.0)
        elif container == "12x10x4 in pan":
            load = Pan(12 * INCH_M, 10 * INCH_M, 4 * INCH_M)
        else:  # a full-size counter pan
            load = Pan(19.5 * INCH_M, 11.5 * INCH_M, float(row["depth_in"]) * INCH_M)
        setup = Setup(
            food=foods()[TRIAL_FOODS[row["food"]]].composition,
            consistency=Consistency.THICK,
            load=load,
            air=FREEZER if "freezer" in method else WALK_IN,
            start=celsius(135),
            stages=FOOD_CODE,
            bath=ICE_WATER if "ice" in method else None,
        )
        depth = f"{row['depth_in']} in" if row["depth_in"] else container
        found.append(Trial(f"{row['food']}, {depth}, {method}", setup, answer.startswith("yes")))
    return found


# --- times --------------------------------------------------------------------------------------


# What hangs in water is wetted all over. Whether it moved is not said, nor of a factory's air.
EITHER_WATER = Range(
    convection.STILL_WATER.low, convection.MOVING_WATER.high, "still or moving, not said"
)
EITHER_AIR = Range(
    convection.STILL_AIR.low, convection.MOVING_AIR.high, "still or moving, not said"
)


@dataclass(frozen=True, slots=True)
class Measured:
    """One published time [min] between two temperatures: between `least` and `most`."""

    name: str
    setup: Setup
    least: float
    most: float


def measured() -> list[Measured]:
    """Give the published times that the planner can be asked, in the file's order.

    Left out: agitator, jacketed vat, room before refrigerator, shower before chilling (other
    methods), and boned turkey (no dimension given).
    """
    rows = _rows("measured_cooling.csv")

    def case(food: str, method: str, key: str, load: Load, air: Medium, covered: bool = False,
             bath: Medium | None = None, start: float | None = None, depth: str = "") -> Measured:  # fmt: skip
        [row] = [
            row for row in rows
            if (row["food"], row["method"]) == (food, method) and depth in ("", row["depth_in"])
        ]  # fmt: skip
        begun = celsius(float(row["start_f"])) if row["start_f"] else start
        assert begun is not None
        end, hours = celsius(float(row["end_f"])), 60 * float(row["hours"])
        setup = Setup(
            foods()[key].composition, Consistency.THICK, load, air, begun, (Stage(end, hours),),
            bath, covered,
        )  # fmt: skip
        bound = row["bound"]
        spread = 30.0 if "(" in bound and "-" in bound else 0.0  # rice: 12.5 to 13.5 h
        return Measured(
            f"{food}, {depth and depth + ' in, '}{method}",
            setup,
            hours if bound.startswith(">") else 0.0 if bound.startswith("<") else hours - spread,
            inf if bound.startswith(">") else hours + spread,
        )

    still, moving = convection.STILL_AIR, convection.MOVING_AIR
    chilled = Medium(0.0, moving)  # "air 0 C, 1.2 m/s"
    tray = Pan(0.5, 0.3, 0.01)  # trays: the size of a counter pan
    return [
        # 8 gal in a container as high as it is wide, as thick as gravy, in a refrigerator at 38 °F.
        case("white sauce", "refrigerator, undisturbed", "gravy", pot(8.0),
             Medium(celsius(38), still), covered=True),
        # A counter pan; a household refrigerator, still air at 38 °F.
        case("cooked rice", "refrigerator", "rice",
             Pan(19.5 * INCH_M, 11.5 * INCH_M, 0.10), Medium(celsius(38), still)),
        # 70 °C is where UK guidance starts the clock; air that freezes no surface: 0 °C.
        case("bolognese sauce", "air blast, no surface freezing", "chili", tray,
             Medium(0.0, convection.BLAST_AIR), start=70.0, depth="0.39"),
        case("bolognese sauce", "air blast, no surface freezing", "chili",
             replace(tray, depth=0.08), Medium(0.0, convection.BLAST_AIR), start=70.0, depth="3.15"),
        # The meat sauce's air blast is not described: 0 °C.
        case("meat sauce, 1100 kg batches", "conventional air blast, 70 mm deep", "chili",
             replace(tray, depth=0.07), Medium(0.0, convection.BLAST_AIR)),
        # Water that the meat hangs in wets all of it: still or moving is not said.
        case("beef slab", "water 0 C", "roast-beef", Slab(0.05), chilled,
             bath=Medium(0.0, EITHER_WATER)),
        case("rolled beef forequarter", "air 0 C, 1.2 m/s", "roast-beef", roll(0.110, 2.7), chilled),
        case("rolled beef silverside", "air 0 C, 1.2 m/s", "roast-beef", roll(0.110, 2.7), chilled),
        # In a mould or bag: nothing evaporates, no air under it. 17 falling to 6 °C: the middle.
        case("ham", "chill room 17-6 C, 0.2 m/s", "roast-beef", roll(0.191, 6.35),
             Medium(11.5, still), covered=True),
        case("ham", "chill room -3/-1 C, 0.3 m/s", "roast-beef", roll(0.178, 7.26),
             Medium(-2.0, still), covered=True),
        # 20 falling to 12 °C: the middle.
        case("bacon", "factory air 20-12 C", "roast-beef", roll(0.114, 4.54),
             Medium(16.0, EITHER_AIR), covered=True),
        *further(),
    ]  # fmt: skip


def further() -> list[Measured]:
    """Give more times of James & James, Meat Refrigeration (Woodhead 2002), Table 16.7.

    Rolled joints as above but in water (after Burfoot et al. 1990); vacuum-packed roasts of 3.75 kg,
    330 x 160 x 130 mm, in air of 2 and 1 m/s and in water, 1 ± 1 °C (after McDonald et al. 2000).
    """
    air, fast = Medium(1.0, convection.MOVING_AIR), Medium(1.0, convection.BLAST_AIR)
    water = Medium(1.0, EITHER_WATER)
    brick, rolled = Slab(0.130, 0.160, 0.330), roll(0.110, 2.7)
    beef = foods()["roast-beef"].composition
    found = []
    for name, load, medium, end, hours in (
        ("rolled beef forequarter, water 0 C", rolled, replace(water, celsius=0.0), 10, 3.6),
        ("rolled beef silverside, water 0 C", rolled, replace(water, celsius=0.0), 10, 3.1),
        ("vacuum-packed roast, water 1 C, 70-50 C", brick, water, 50, 1.5),
        ("vacuum-packed roast, water 1 C, 70-8 C", brick, water, 8, 6.9),
        ("vacuum-packed roast, air 1 C, 2 m/s, 70-50 C", brick, fast, 50, 1.2),
        ("vacuum-packed roast, air 1 C, 2 m/s, 70-8 C", brick, fast, 8, 6.1),
        ("vacuum-packed roast, air 1 C, 1 m/s, 70-50 C", brick, air, 50, 1.5),
        ("vacuum-packed roast, air 1 C, 1 m/s, 70-8 C", brick, air, 8, 8.1),
    ):
        setup = Setup(
            beef, Consistency.THICK, load, medium, 70.0, (Stage(end, 60 * hours),),
            medium if medium.coefficient is EITHER_WATER else None, covered=True,
        )  # fmt: skip
        found.append(Measured(name, setup, 60 * hours, 60 * hours))
    return found


def pot(gallons: float) -> Pot:
    """A pot filled as high as it is wide."""
    size = (4 * gallons * GALLON_L / 1000 / pi) ** (1 / 3)
    return Pot(size, size)


def roll(diameter: float, kilograms: float) -> Roast:
    """A roll of meat (1060 kg/m³) by its diameter and weight."""
    return Roast(diameter, kilograms / 1060 / (pi * diameter**2 / 4))


def _rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))
