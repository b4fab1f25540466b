"""Thermometers in ice and boiling water, 4-203.11, and the boiling point of a kitchen."""

from decimal import Decimal

import pytest

from haccp import limits
from haccp.errors import Refused
from haccp.rules.thermometer import (
    ICE_POINT,
    boiling_point,
    parse_barometer,
    passes,
    pressure_at,
    saturation_temperature,
)
from haccp.temperature import Degree, Level, Temperature

ACCURACY = limits.shipped().get("thermometer-accuracy")
DENVER = Level(Decimal("202.5"), Decimal("94.7"))


@pytest.mark.parametrize(
    ("mpa", "kelvin"), [("0.1", "372.755919"), ("1", "453.035632"), ("10", "584.149488")]
)
def test_the_check_values_of_the_release(mpa: str, kelvin: str) -> None:
    """IAPWS R7-97(2012), table 36 (values given to six decimals)."""
    found = saturation_temperature(Decimal(mpa))
    assert found.quantize(Decimal("0.000001")) == Decimal(kelvin)


# Altitude [m] and boiling point [°F]: High-altitude cooking, Wikipedia, credited to NOAA and NASA;
# USDA FSIS has 208 °F at 2,000 ft too.
PUBLISHED = [
    (0, "212.0"), (150, "211.1"), (305, "210.2"), (610, "208.4"), (1524, "203.0"),
    (1829, "201.1"), (2438, "197.4"), (3048, "193.6"), (3658, "189.8"), (4267, "185.9"),
]  # fmt: skip


@pytest.mark.parametrize(("metres", "published"), PUBLISHED)
def test_the_boiling_point_is_the_published_one_within_four_tenths(
    metres: int, published: str
) -> None:
    assert abs(boiling_point(pressure_at(metres)).f - Decimal(published)) <= Decimal("0.4")


def test_a_level_has_a_tenth_in_each_degree() -> None:
    """At 1013.25 hPa water boils at 99.97 °C, 211.95 °F (IAPWS-IF97), not at 100."""
    sea = boiling_point(Decimal("1013.25"))
    assert (sea.f, sea.c) == (Decimal("212.0"), Decimal("100.0"))
    assert (sea.f.as_tuple().exponent, sea.c.as_tuple().exponent) == (-1, -1)
    high = boiling_point(Decimal(836))
    assert abs(high.f - (high.c * Decimal("1.8") + 32)) <= Decimal("0.14")


@pytest.mark.parametrize(
    ("expected", "shown", "degree", "good"),
    [
        (ICE_POINT, "34", Degree.F, True),
        (ICE_POINT, "34.000001", Degree.F, False),
        (ICE_POINT, "30", Degree.F, True),
        (ICE_POINT, "29.999999", Degree.F, False),
        (ICE_POINT, "1.0", Degree.C, True),
        (ICE_POINT, "1.01", Degree.C, False),
        (ICE_POINT, "-1", Degree.C, True),
        (ICE_POINT, "-1.1", Degree.C, False),
        (DENVER, "204.5", Degree.F, True),
        (DENVER, "204.6", Degree.F, False),
        (DENVER, "200.5", Degree.F, True),
        (DENVER, "200.4", Degree.F, False),
        (DENVER, "212", Degree.F, False),
        (DENVER, "95.7", Degree.C, True),
        (DENVER, "95.8", Degree.C, False),
        (DENVER, "93.7", Degree.C, True),
        (DENVER, "93.6", Degree.C, False),
    ],
)
def test_a_thermometer_passes_within_2_f_or_1_c(
    expected: Level, shown: str, degree: Degree, good: bool
) -> None:
    """±2 °F or ±1 °C, 4-203.11: California Health and Safety Code 114159."""
    assert passes(Temperature(Decimal(shown), degree), expected, ACCURACY) is good


def test_a_published_failure_fails() -> None:
    """A Tennessee inspection: 42 °F in ice water where 33 °F was right, out of ±2 °F."""
    assert not passes(Temperature(Decimal(42), Degree.F), ICE_POINT, ACCURACY)


def test_a_barometer_s_pressure_fits_the_kitchen_s_altitude() -> None:
    assert parse_barometer("836hPa", 1640) == 836
    assert parse_barometer("1013hPa", 0) == 1013


@pytest.mark.parametrize(
    ("text", "altitude", "told"),
    [
        ("high", 1640, "no air pressure: type"),
        ("83.6 hPa", 1640, "500hPa to 1090hPa"),
        ("1013 hPa", 1640, "reduced to sea level"),
        ("30.12 inHg", 1640, "reduced to sea level"),
        ("836 hPa", 0, "does not fit 0 m"),
    ],
)
def test_what_is_no_pressure_of_this_kitchen_is_refused_in_one_sentence(
    text: str, altitude: int, told: str
) -> None:
    with pytest.raises(Refused, match=told) as refused:
        parse_barometer(text, altitude)
    assert ": type" in str(refused.value)
    assert str(refused.value).endswith(".")
