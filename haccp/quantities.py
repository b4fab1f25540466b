"""Lengths, weights, amounts, altitudes and air pressures, as a person types them."""

import re
from dataclasses import dataclass
from decimal import Decimal

from haccp.errors import Refused
from haccp.language import message, phrase
from haccp.temperature import Degree

# By definition (international yard and pound, US gallon).
INCH_M = 0.0254
FOOT_M = 0.3048
GALLON_L = 3.785411784
POUND_KG = 0.45359237

# How a depth is typed, everywhere.
LENGTHS = message("2in or 5cm; a plain number is inches, in a kitchen that measures in °F")

# A whole or decimal number, a fraction (1/2, ½), or a whole number and one; then a unit, if any.
_QUANTITY = re.compile(
    r"(?:(?P<whole>[0-9]{1,4}(?![0-9.,/])|)[ -]?(?:(?P<over>[0-9]{1,2})/(?P<under>[0-9]{1,2})"
    r"|(?P<sign>[½¼¾⅓⅔⅛⅜⅝⅞]))"
    r"|(?P<plain>[0-9]{1,4}(?:[.,][0-9]{1,2})?|0,[0-9]{1,3}))"
    r"[ -]?(?P<unit>[^\W0-9]+|[\"″”]|'')?\.?"
)
_THOUSANDS = re.compile(r"([1-9][0-9]{0,2}),([0-9]{3})(?![0-9.,])(.*)")
_SIGNS = {
    "½": (1, 2), "¼": (1, 4), "¾": (3, 4), "⅓": (1, 3), "⅔": (2, 3),
    "⅛": (1, 8), "⅜": (3, 8), "⅝": (5, 8), "⅞": (7, 8),
}  # fmt: skip
# Each unit as it is stored, by every way in which people write it.
_SPELLINGS = {
    "in": ("in", "inch", "inches", '"', "″", "”", "''"),
    "cm": ("cm", "centimeter", "centimeters", "centimetre", "centimetres"),
    "mm": ("mm", "millimeter", "millimeters", "millimetre", "millimetres"),
    "lb": ("lb", "lbs", "pound", "pounds"),
    "kg": ("kg", "kgs", "kilo", "kilos", "kilogram", "kilograms"),
    "gal": ("gal", "gals", "gallon", "gallons"),
    "qt": ("qt", "qts", "quart", "quarts"),
    "l": ("l", "liter", "liters", "litre", "litres"),
}
_UNITS = {spelling: unit for unit, spellings in _SPELLINGS.items() for spelling in spellings}
_ALTITUDE = re.compile(r"(-?[0-9]{1,5})\s*(m|ft)")
_PRESSURE = re.compile(r"([0-9]{1,4}(?:\.[0-9]{1,4})?)\s*(hpa|mbar|kpa|mmhg|inhg)", re.IGNORECASE)

_CM_IN_INCH = Decimal("2.54")
_INCHES = {"in": Decimal(1), "cm": 1 / _CM_IN_INCH, "mm": 1 / _CM_IN_INCH / 10}
_POUNDS = {"lb": Decimal(1), "kg": 1 / Decimal("0.45359237")}
_HUNDREDTH = Decimal("0.01")
# More than any roast or container holds: a slip of the finger.
_MOST_LB = 2_205
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


def _read(text: str) -> tuple[Decimal, str | None] | None:
    """Read a number and its unit, None for none; nothing where it is no quantity.

    A comma is a decimal one only where it cannot stand between thousands: of the two it may mean,
    the one not meant is a thousand times off.
    """
    typed = " ".join(text.lower().split())
    if thousands := _THOUSANDS.fullmatch(typed):
        whole, rest, unit = thousands.groups()
        raise Refused(
            phrase(
                "{text} could mean either: type {thousands} or {decimal}.",
                text=repr(text),
                thousands=f"{whole}{rest}{unit}",
                decimal=f"{whole}.{rest.rstrip('0') or '0'}{unit}",
            )
        )
    match = _QUANTITY.fullmatch(typed)
    unit = match and match["unit"]
    number = _number(match) if match else None
    if number is None or (unit and unit not in _UNITS):
        return None
    return number, _UNITS[unit] if unit else None


def _number(match: re.Match[str]) -> Decimal | None:
    if match["plain"]:
        return Decimal(match["plain"].replace(",", "."))
    over, under = _SIGNS[match["sign"]] if match["sign"] else map(int, match.group("over", "under"))
    if not 0 < over < under:  # 11/2 is as likely 1 1/2
        return None
    return Decimal(match["whole"] or 0) + Decimal(over) / under


# By what is typed and the kitchen's degree.
_NO_LENGTH = {
    ("depth", Degree.F): message("{text} is no depth: type inches such as 2 or 2.5, or 5cm."),
    ("depth", Degree.C): message("{text} is no depth: type 5cm or 2in."),
    ("diameter", Degree.F): message("{text} is no diameter: type inches such as 2 or 2.5, or 5cm."),
    ("diameter", Degree.C): message("{text} is no diameter: type 5cm or 2in."),
}


def parse_length(text: str, degree: Degree, what: str = "depth", most_cm: int = 100) -> Decimal:
    """Read ``2in``, ``2 1/2"``, ``5 cm``, ``50mm`` into inches; raises Refused for anything else.

    A plain number is inches where the kitchen measures in °F; elsewhere it might be meant as cm.
    """
    number, unit = _read(text) or (Decimal(0), "in")
    if unit is None and degree is not Degree.F:
        raise Refused(
            phrase(
                "{text} has no unit: type {number}cm or {number}in.",
                text=repr(text),
                number=text.strip(),
            )
        )
    inches = number * _INCHES.get(unit or "in", 0)
    if not 0 < inches * _CM_IN_INCH <= most_cm:
        raise Refused(phrase(_NO_LENGTH[what, degree], text=repr(text)))
    return inches


def parse_weight(text: str, degree: Degree) -> Decimal:
    """Read ``14lb``, ``20 lbs``, ``6,5 kg`` into pounds; raises Refused for anything else.

    A plain number is pounds where the kitchen measures in °F; elsewhere it might be meant as kg.
    """
    number, unit = _read(text) or (Decimal(0), "lb")
    if unit is None and degree is not Degree.F:
        raise Refused(
            phrase(
                "{text} has no unit: type {number}kg or {number}lb.",
                text=repr(text),
                number=text.strip(),
            )
        )
    pounds = number * _POUNDS.get(unit or "lb", 0)
    if not 0 < pounds < _MOST_LB:
        if degree is Degree.F:
            told = message("{text} is no weight: type pounds such as 14lb, or 6kg.")
        else:
            told = message("{text} is no weight: type 6kg or 14lb.")
        raise Refused(phrase(told, text=repr(text)))
    return pounds


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
    """Read ``12 gallons``, ``8qt``, ``1,5 l``, ``½ gallon``, ``20 lbs``; refuses anything else."""
    number, unit = _read(text) or (Decimal(0), None)
    if not number or unit not in {**_LITRES, **_KILOGRAMS}:
        raise Refused(
            phrase("{text} is no amount: type 12 gal, 8 qt, 40 l, 60 lb or 25 kg.", text=repr(text))
        )
    return Amount(float(number), unit)


def parse_altitude(text: str) -> int:
    """Read ``1640m`` or ``5380 ft`` into whole metres; raises Refused for anything else."""
    match = _ALTITUDE.fullmatch(text.strip().lower())
    if match is None:
        raise Refused(
            phrase(
                "{text} is no altitude: type it with its unit, such as 1640m or 5380ft.",
                text=repr(text),
            )
        )
    metres = int(match[1]) if match[2] != "ft" else round(int(match[1]) * FOOT_M)
    if not -450 <= metres <= 6000:
        raise Refused(
            phrase("No kitchen is at {text}: type it such as 1640m or 5380ft.", text=repr(text))
        )
    return metres


def parse_pressure(text: str) -> Decimal:
    """Read ``836hPa``, ``83.6 kPa``, ``836 mbar``, ``627 mmHg`` or ``24.7 inHg`` into hPa.

    Raises Refused for anything else, and for what the air of no kitchen has.
    """
    match = _PRESSURE.fullmatch(text.strip())
    if match is None:
        raise Refused(
            phrase(
                "{text} is no air pressure: type what the barometer shows here, with its unit, "
                "such as 836hPa, 83.6kPa, 627mmHg or 24.7inHg.",
                text=repr(text),
            )
        )
    pressure = Decimal(match[1]) * _HPA[match[2].lower()]
    if not _LEAST_HPA <= pressure <= _MOST_HPA:
        raise Refused(
            phrase(
                "{text} is no air pressure that a kitchen can have: type what the barometer "
                "shows here, from 500hPa to 1090hPa.",
                text=repr(text),
            )
        )
    return pressure
