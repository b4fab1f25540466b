"""Thermometers: 4-203.11, 4-502.11."""

from decimal import Decimal

from haccp.limits.model import Limit
from haccp.temperature import Level, Temperature

ICE_POINT = Level(Decimal(32), Decimal(0))


def passes_in_ice(shown: Temperature, accuracy: Limit) -> bool:
    """Say whether what a thermometer shows in melting ice is within its accuracy of that."""
    error = Temperature(abs(shown.over(ICE_POINT)), shown.degree)
    return accuracy.kept_by(error)
