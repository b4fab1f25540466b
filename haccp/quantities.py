"""Lengths, weights, amounts, altitudes and air pressures, as a person types them."""

import re
from dataclasses import dataclass
from decimal import Decimal

from haccp.errors import Refused
from haccp.temperature import Degree

# By definition (international yard and pound, US gallon).
INCH_M = 0.0254
FOOT_M = 0.3048
GALLON_L = 3.785411784
POUND_KG = 0.45359237

# How a depth is typed, everywhere.
LENGTHS = "2in or 5cm; a plain number is inches, in a kitchen that measures in °F"

_LENGTH = re.compile(r'([0-9]{1,3}(?:\.[0-9]{1,2})?)\s*(in|"|cm)?')
_WEIGHT = re.compile(r"([0-9]{1,3}(?:\.[0-9]{1,2})?)\s*(lb|kg)?")
_AMOUNT = re.compile(r"([0-9]{1,4}(?:\.[0-9]{1,2})?)\s*(gal|qt|l|lb|kg)")
_ALTITUDE = re.compile(r"(-?[0-9]{1,5})\s*(m|ft)")
_PRESSURE = re.compile(r"([0-9]{1,4}(?:\.[0-9]{1,4})?)\s*(hpa|mbar|kpa|mmhg|inhg)", re.IGNORECASE)

_CM_IN_INCH = Decimal("2.54")
_KG_IN_POUND = Decimal("0.45359237")
_HUNDREDTH = Decimal("0.01")
_LITRES = {"gal": GALLON_L, "qt": GALLON_L / 4, "l": 1.0}
_KILOGRAMS = {"lb": POUND_KG, "kg": 1.0}
_HPA = {
    "hpa": Decimal(1),
    "mbar": Decimal(1),
    "kpa": Decimal(10),
    # conventional millimetre and inch of mercury: NIST SP 811, B.8 (from memory)
    "mmhg": Decimal("1.33322387415"),
    "inhg": Decimal("33.86388640341"),
}

# The highest kitchens stand at some 5,000 m (540 hPa); the highest pressure ever read near the sea
# is about 1,085 hPa. From memory.
_LEAST_HPA, _MOST_HPA = Decimal(500), Decimal(1090)


def parse_length(text: str, degree: Degree, what: str = "depth", most_cm: int = 100) -> Decimal:
    """Read ``2in``, ``2.5"``, ``5 cm`` into inches; raises Refused for anything else.

    A plain number is inches where the kitchen measures in °F; elsewhere it might be meant as cm.
    """
    match = _LENGTH.fullmatch(text.strip().lower())
    number, unit = match.groups() if match else ("0", "in")
    if unit is None and degree is not Degree.F:
        raise Refused(f"{text!r} has no unit: type {text.strip()}cm or {text.strip()}in.")
    inches = Decimal(number) / (_CM_IN_INCH if unit == "cm" else 1)
    if not 0 < inches * _CM_IN_INCH <= most_cm:
        how = "inches such as 2 or 2.5, or 5cm" if degree is Degree.F else "5cm or 2in"
        raise Refused(f"{text!r} is no {what}: type {how}.")
    return inches


def parse_weight(text: str, degree: Degree) -> Decimal:
    """Read ``14lb``, ``6.5 kg`` into pounds; raises Refused for anything else.

    A plain number is pounds where the kitchen measures in °F; elsewhere it might be meant as kg.
    """
    match = _WEIGHT.fullmatch(text.strip().lower())
    number, unit = match.groups() if match else ("0", "lb")
    if unit is None and degree is not Degree.F:
        raise Refused(f"{text!r} has no unit: type {text.strip()}kg or {text.strip()}lb.")
    if not Decimal(number):
        how = "pounds such as 14lb, or 6kg" if degree is Degree.F else "6kg or 14lb"
        raise Refused(f"{text!r} is no weight: type {how}.")
    return Decimal(number) / (_KG_IN_POUND if unit == "kg" else 1)


def hundredths(number: Decimal) -> str:
    """Write a length or a weight as it is stored: ``2``, ``2.5``, ``13.23``."""
    return f"{number.quantize(_HUNDREDTH).normalize():f}"


@dataclass(frozen=True, slots=True)
class Amount:
    """How much food, by volume or by weight; of the two one is None."""

    number: float
    unit: str

    @property
    def litres(self) -> float | None:
        return self.number * _LITRES[self.unit] if self.unit in _LITRES else None

    @property
    def kilograms(self) -> float | None:
        return self.number * _KILOGRAMS[self.unit] if self.unit in _KILOGRAMS else None

    def __str__(self) -> str:
        return f"{self.number:g} {self.unit}"


def parse_amount(text: str) -> Amount:
    """Read ``12 gal``, ``8qt``, ``40 l``, ``60 lb``, ``25 kg``; refuses anything else."""
    match = _AMOUNT.fullmatch(text.strip().lower())
    if match is None or not float(match[1]):
        raise Refused(f"{text!r} is no amount: type 12 gal, 8 qt, 40 l, 60 lb or 25 kg.")
    return Amount(float(match[1]), match[2])


def parse_altitude(text: str) -> int:
    """Read ``1640m`` or ``5380 ft`` into whole metres; raises Refused for anything else."""
    match = _ALTITUDE.fullmatch(text.strip().lower())
    if match is None:
        raise Refused(f"{text!r} is no altitude: type it with its unit, such as 1640m or 5380ft.")
    metres = int(match[1]) if match[2] != "ft" else round(int(match[1]) * FOOT_M)
    if not -450 <= metres <= 6000:
        raise Refused(f"No kitchen is at {text!r}: type it such as 1640m or 5380ft.")
    return metres


def parse_pressure(text: str) -> Decimal:
    """Read ``836hPa``, ``83.6 kPa``, ``836 mbar``, ``627 mmHg`` or ``24.7 inHg`` into hPa.

    Raises Refused for anything else, and for what the air of no kitchen has.
    """
    match = _PRESSURE.fullmatch(text.strip())
    if match is None:
        raise Refused(
            f"{text!r} is no air pressure: type what the barometer shows here, with its unit, "
            f"such as 836hPa, 83.6kPa, 627mmHg or 24.7inHg."
        )
    pressure = Decimal(match[1]) * _HPA[match[2].lower()]
    if not _LEAST_HPA <= pressure <= _MOST_HPA:
        raise Refused(
            f"{text!r} is no air pressure that a kitchen can have: type what the barometer shows "
            f"here, from 500hPa to 1090hPa."
        )
    return pressure
