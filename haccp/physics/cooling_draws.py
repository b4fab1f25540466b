"""What is not known of a cooling beforehand, drawn: coefficients, properties, true temperatures.

From published ranges, at the points of one fixed sequence: the same question has the same answer.
Temperatures are in °C, lengths in m. Arrays: n cases.
"""

from dataclasses import dataclass

import numpy as np

from haccp.physics import convection
from haccp.physics.conduction import Array
from haccp.physics.convection import Range
from haccp.physics.cooling_setup import Consistency, Material, Pan, Pot, Roast, Setup, Slab, volume
from haccp.physics.properties import Properties, properties
from haccp.physics.small_cooler import Balance

# Wall of a plastic pan: common practice, no source. It counts like as much food (Dickerson & Read
# 1973); metal is no barrier.
PLASTIC_M = 0.003
# The air's and the bath's measured temperature may be wrong by ±1.8 °F.
MEDIUM_OFF = 1.0
# Choi & Okos against measurements: about 10 % on conductivity (from memory) and 5 % on heat
# capacity (lean beef and potato in Geankoplis, App. A.4-1, are 2 to 5 % off).
_CONDUCTIVITY_OFF = 0.10
_CAPACITY_OFF = 0.05


@dataclass(frozen=True, slots=True)
class Cases:
    """What is not known, drawn: arrays (n,)."""

    air: Array
    air_h: Array
    bath: Array
    bath_h: Array
    inside_h: Array
    lid_h: Array
    bottom: Array
    wetness: Array
    humidity: Array
    k: Array
    capacity: Array  # of a volume [J/m³ K]


def draw(setup: Setup, count: int) -> Cases:
    unit = _fixed_sequence(count, 11)
    food = _properties(setup)
    stirred = setup.consistency is Consistency.STIRRED
    bath = setup.bath or setup.air

    def within(column: int, limits: Range) -> Array:
        """Draw evenly by ratio: nothing is known about where in its range a coefficient lies."""
        return limits.low * (limits.high / limits.low) ** unit[:, column]

    def evenly(column: int, limits: Range) -> Array:
        return limits.low + (limits.high - limits.low) * unit[:, column]

    def off(column: int, most: float) -> Array:
        return most * (2 * unit[:, column] - 1)

    return Cases(
        air=setup.air.celsius + off(0, MEDIUM_OFF),
        air_h=within(1, setup.air.coefficient),
        # Ice water is not colder than ice.
        bath=np.maximum(bath.celsius + off(2, MEDIUM_OFF), 0.0),
        bath_h=within(3, bath.coefficient),
        inside_h=within(4, convection.INSIDE_STIRRED if stirred else convection.INSIDE_STILL),
        lid_h=within(5, convection.UNDER_A_LID),
        bottom=evenly(6, convection.BOTTOM_SHARE),
        wetness=evenly(7, convection.WETNESS),
        humidity=evenly(8, convection.HUMIDITY),
        k=food.k * (1 + off(9, _CONDUCTIVITY_OFF)),
        capacity=food.rho * food.cp * (1 + off(10, _CAPACITY_OFF)),
    )


def draw_balance(setup: Setup, cases: Cases, count: int) -> Balance:
    """Draw what a small cooler is like, with what stands in it."""
    cooler = setup.air.cooler
    assert cooler
    unit = _fixed_sequence(count, 3)
    spare, by_degree, stored = (
        one.low * (one.high / one.low) ** unit[:, column]
        for column, one in enumerate((cooler.spare, cooler.by_degree, cooler.stored))
    )
    amount = max(setup.litres / 1000, volume(setup.load))
    return Balance(cases.air, spare, by_degree, stored, cases.capacity * amount)


def _fixed_sequence(points: int, dimensions: int) -> Array:
    """Spread points (n, d) evenly over the unit cube, always the same ones.

    Kronecker's sequence with powers of the root of x^(d+1) = x + 1 (Roberts 2018, "The unreasonable
    effectiveness of quasirandom sequences"; from memory).
    """
    root = 2.0
    for _ in range(60):
        root = (1 + root) ** (1 / (dimensions + 1))
    steps = root ** -np.arange(1.0, dimensions + 1)
    return np.asarray((0.5 + np.arange(1, points + 1)[:, None] * steps) % 1)


def _properties(setup: Setup) -> Properties:
    """Take the properties halfway between the start and the last level."""
    return properties(setup.food, max((setup.start + setup.stages[-1].celsius) / 2, 0.0))


def walls(setup: Setup, cases: Cases) -> tuple[Array, Array]:
    """Coefficients of a container's sides and bottom (n,), the wall itself included."""
    assert isinstance(setup.load, Pan | Pot)
    outside = (cases.bath_h, cases.bath_h) if setup.bath else (
        cases.air_h, cases.air_h * cases.bottom
    )  # fmt: skip
    if setup.load.material is Material.METAL:
        return outside
    wall = cases.k / PLASTIC_M
    return in_series(outside[0], wall), in_series(outside[1], wall)


def top(setup: Setup, cases: Cases) -> Array:
    """Coefficient of thick food's free surface (n,): dry, evaporating or covered.

    A wet surface gives `latent_k_per_kpa` times the vapour pressure's chord over the air's own,
    taken from the air to the last level: vapour pressure bends upwards, so the hot surface's extra
    loss, and what dry air takes, are left out, on the slow side.
    """
    if setup.covered:
        solid = isinstance(setup.load, Roast | Slab)
        return cases.air_h if solid else in_series(cases.lid_h, cases.air_h)
    surface = np.maximum(setup.stages[-1].celsius, cases.air + 1.0)
    chord = (vapour_kpa(surface) - vapour_kpa(cases.air)) / (surface - cases.air)
    latent = convection.latent_k_per_kpa(setup.pressure_hpa)
    return np.asarray(cases.air_h * (1 + cases.wetness * latent * chord))


def vapour_kpa(celsius: Array) -> Array:
    """Vapour pressure over water [kPa].

    Source: Magnus' formula with Alduchov & Eskridge's (1996) constants, from memory: within 1 % of
    steam tables to 70 °C, 3 % at 100 °C.
    """
    return np.asarray(0.61094 * np.exp(17.625 * celsius / (celsius + 243.04)))


def in_series(one: Array, other: Array) -> Array:
    return 1 / (1 / one + 1 / other)
