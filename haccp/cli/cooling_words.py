"""Temperatures and lengths of the models, as they are typed and shown."""

from math import floor

from haccp.quantities import INCH_M
from haccp.temperature import Degree, Temperature


def celsius_of(temperature: Temperature) -> float:
    return float((temperature.fahrenheit - 32) * 5 / 9)


def degrees_in(celsius: float, degree: Degree) -> float:
    return celsius if degree is Degree.C else celsius * 1.8 + 32


def shown(celsius: float, degree: Degree) -> str:
    return f"{round(degrees_in(celsius, degree), 1) + 0.0:g} °{degree}"


def length_in(metres: float, metric: bool) -> str:
    """Show a length, never rounded up: it may be a greatest depth."""
    if metric:
        return f"{floor(round(metres * 1000, 6)) / 10:g} cm"
    return f"{floor(round(metres / INCH_M * 100, 6)) / 100:g} in"
