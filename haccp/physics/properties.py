"""Thermal properties of unfrozen food from its composition: Choi & Okos (1986).

The polynomials are those of the ASHRAE Handbook, Refrigeration, "Thermal Properties of Foods", with
the known errors of printed tables mended as said beside each.
"""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, fields
from functools import cache
from importlib.resources import files

from haccp.errors import Refused
from haccp.language import message, phrase

Polynomial = tuple[float, float, float]  # c0 + c1 T + c2 T²

# Conductivity [W/m K], density [kg/m³] and specific heat [kJ/kg K], T in °C.
# Checked against Ibarz & Barbosa-Canovas, Toledo and CoolProp 8.0.0 (its FoodWater and so on).
_POLYNOMIALS: Mapping[str, tuple[Polynomial, Polynomial, Polynomial]] = {
    "water": (
        (0.57109, 1.7625e-3, -6.7036e-6),  # one print has 6.7306e-6
        (997.18, 3.1439e-3, -3.7574e-3),
        # 0 to 150 °C. ASHRAE 2006 prints 4.1289: 1.1 % below water's true 4.18 kJ/kg K.
        (4.1762, -9.0864e-5, 5.4731e-6),
    ),
    "protein": (
        (0.17881, 1.1958e-3, -2.7178e-6),
        (1329.9, -0.51840, 0.0),
        (2.0082, 1.2089e-3, -1.3129e-6),
    ),
    "fat": (
        # Prints differ in this slope's sign and zeros; only this one is sane: 0.175 W/m K at 20 °C.
        (0.18071, -2.7604e-4, -1.7749e-7),
        (925.59, -0.41757, 0.0),
        (1.9842, 1.4733e-3, -4.8008e-6),
    ),
    "carbohydrate": (
        (0.20141, 1.3874e-3, -4.3312e-6),  # one print has a slope of 0.013874
        (1599.1, -0.31046, 0.0),
        (1.5488, 1.9625e-3, -5.9399e-6),
    ),
    "fibre": (
        (0.18331, 1.2497e-3, -3.1683e-6),
        (1311.5, -0.36589, 0.0),
        (1.8459, 1.8306e-3, -4.6509e-6),  # one scan has a slope of 1.8906e-3
    ),
    "ash": (
        (0.32962, 1.4011e-3, -2.9069e-6),
        (2423.8, -0.28063, 0.0),
        (1.0926, 1.8896e-3, -3.6817e-6),
    ),
}

# Water's specific heat is given from 0 °C, and below it food freezes.
_COLDEST_C, _HOTTEST_C = 0.0, 150.0
# Tables by difference and rounding miss 100 g by about a gram; more is a slip of the pen.
_TOLERANCE_G = 3.0


@dataclass(frozen=True, slots=True)
class Composition:
    """Grams in 100 g of food. `carbohydrate` is total, fibre included, as tables and labels say.

    Raises Refused unless the grams are possible and make 100 g, give or take 3.
    """

    water: float
    protein: float
    fat: float
    carbohydrate: float
    fibre: float
    ash: float

    def __post_init__(self) -> None:
        for field in fields(self):
            grams = getattr(self, field.name)
            if not 0 <= grams <= 100:
                raise Refused(
                    phrase(
                        "{name} cannot be {grams}: type grams in 100 g of food.",
                        name=field.name,
                        grams=f"{grams:g}",
                    )
                )
        if self.fibre > self.carbohydrate:
            raise Refused(
                phrase(
                    "Fibre ({fibre} g) is more than the carbohydrate it is part of ({carbohydrate} "
                    "g): type total carbohydrate, fibre included.",
                    fibre=f"{self.fibre:g}",
                    carbohydrate=f"{self.carbohydrate:g}",
                )
            )
        if not abs(self.total - 100) <= _TOLERANCE_G:
            raise Refused(
                phrase(
                    "Water, protein, fat, carbohydrate and ash make {total} g, not 100 g: type the "
                    "grams of each in 100 g of food.",
                    total=f"{self.total:g}",
                )
            )

    @property
    def total(self) -> float:
        return self.water + self.protein + self.fat + self.carbohydrate + self.ash

    def fractions(self) -> dict[str, float]:
        """Mass fractions of the six components, fibre apart from carbohydrate; they make 1."""
        grams = {field.name: float(getattr(self, field.name)) for field in fields(self)}
        grams["carbohydrate"] -= grams["fibre"]
        return {name: amount / self.total for name, amount in grams.items()}


@dataclass(frozen=True, slots=True)
class Properties:
    """Conductivity `k` [W/m K], density `rho` [kg/m³], specific heat `cp` [J/kg K]."""

    k: float
    rho: float
    cp: float

    @property
    def diffusivity(self) -> float:
        """Thermal diffusivity [m²/s]."""
        return self.k / (self.rho * self.cp)


# What the model leaves out of a food, by the word for it in the table.
_CAUTIONS = {
    "holds-air": message(
        "Rice in a pan holds air, which this leaves out: it conducts less than the table says."
    ),
}


@dataclass(frozen=True, slots=True)
class Food:
    """A food of the table: its composition, where that stands, and what the model leaves out.

    `names` is what a kitchen calls it. `thin` is food that mixes itself while it cools.
    """

    name: str
    composition: Composition
    source: str
    caution: str | None = None
    names: tuple[str, ...] = ()
    thin: bool = False


def properties(composition: Composition, celsius: float) -> Properties:
    """Mix the components' properties at a temperature from 0 to 150 °C.

    Density by specific volumes, specific heat by mass, conductivity by volume. Raises Refused
    outside those temperatures. Source: Choi & Okos 1986; the mixing rules as in Toledo,
    Fundamentals of Food Process Engineering.
    """
    if not _COLDEST_C <= celsius <= _HOTTEST_C:
        raise Refused(
            phrase(
                "Properties of unfrozen food are known from 0 to 150 °C, not at {celsius} °C.",
                celsius=f"{celsius:g}",
            )
        )
    fractions = composition.fractions()
    at = {
        name: tuple(c0 + c1 * celsius + c2 * celsius**2 for c0, c1, c2 in polynomials)
        for name, polynomials in _POLYNOMIALS.items()
    }
    rho = 1 / sum(share / at[name][1] for name, share in fractions.items())
    k = sum(share * rho / at[name][1] * at[name][0] for name, share in fractions.items())
    cp = sum(share * at[name][2] for name, share in fractions.items())
    return Properties(k=k, rho=rho, cp=1000 * cp)


@cache
def foods() -> Mapping[str, Food]:
    """Read the foods that ship with this package, by their key."""
    tree = tomllib.loads((files("haccp.physics") / "foods.toml").read_text(encoding="utf-8"))
    return {
        key: Food(
            name=entry["name"],
            composition=Composition(**{f.name: entry[f.name] for f in fields(Composition)}),
            source=entry["source"],
            caution=_CAUTIONS[entry["caution"]] if "caution" in entry else None,
            names=tuple(entry["names"]),
            thin=entry.get("thin", False),
        )
        for key, entry in tree.items()
    }
