"""Lengths, weights, amounts, altitudes and air pressures: read as meant, or refused with what to type."""

from collections.abc import Callable
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from haccp.errors import Refused
from haccp.quantities import (
    hundredths,
    parse_altitude,
    parse_amount,
    parse_length,
    parse_pressure,
    parse_weight,
)
from haccp.temperature import Degree

F, C = Degree.F, Degree.C


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("2", "2"),
        ("2.5in", "2.5"),
        ('4"', "4"),
        (" 4 IN ", "4"),
        ("5.08cm", "2"),
        ("5 cm", "1.97"),
        ("2 inches", "2"),
        ("1 inch", "1"),
        ("2-inch", "2"),
        ("50,8 mm", "2"),
        ("5,08 cm", "2"),
        ("2 1/2 in", "2.5"),
        ("2-1/2 in", "2.5"),
        ("2½ in", "2.5"),
        ("½”", "0.5"),
        ("1/4in", "0.25"),
        ("1 ⅓", "1.33"),
        ("0,375 in", "0.38"),
    ],
)
def test_a_length_is_read_into_inches(text: str, inches: str) -> None:
    assert hundredths(parse_length(text, F)) == inches


@pytest.mark.parametrize(
    ("text", "pounds"),
    [
        ("14lb", "14"), ("14", "14"), ("10 LB", "10"), ("9.99lb", "9.99"),
        ("20 lbs", "20"), ("1 pound", "1"), ("6,5 kilos", "14.33"), ("1½ lb.", "1.5"),
        ("6kg", "13.23"), ("4.53kg", "9.99"), ("4.54 kg", "10.01"), ("100kg", "220.46"),
    ],
)  # fmt: skip
def test_a_weight_is_read_into_pounds(text: str, pounds: str) -> None:
    """A roast's limit changes at 10 lb, which is 4.535924 kg."""
    assert hundredths(parse_weight(text, F)) == pounds


@pytest.mark.parametrize("read", [parse_length, parse_weight])
def test_a_plain_number_needs_its_unit_where_the_kitchen_measures_in_celsius(
    read: Callable[[str, Degree], Decimal],
) -> None:
    with pytest.raises(Refused, match=r"'6' has no unit: type 6(cm or 6in|kg or 6lb)\."):
        read("6", C)


@given(st.decimals(Decimal("0.01"), Decimal("99.99"), places=2), st.sampled_from(["in", "lb"]))
def test_what_is_stored_of_a_length_or_a_weight_is_what_was_typed(
    number: Decimal, unit: str
) -> None:
    read = parse_length if unit == "in" else parse_weight
    if unit == "in" and number * Decimal("2.54") > 100:
        with pytest.raises(Refused):
            read(f"{number}{unit}", F)
    else:
        stored = hundredths(read(f"{number}{unit}", F))
        assert Decimal(stored) == number
        assert "E" not in stored


@pytest.mark.parametrize(
    ("text", "said", "litres", "kilograms"),
    [
        ("12 gal", "12 gal", 45.424941408, None),
        ("8QT", "8 qt", 7.570823568, None),
        ("40.50 l", "40.5 l", 40.5, None),
        ("60lb", "60 lb", None, 27.2155422),
        (" 25 kg ", "25 kg", None, 25.0),
        ("12 gallons", "12 gal", 45.424941408, None),
        ("1 gallon", "1 gal", 3.785411784, None),
        ("1 1/2 gal", "1.5 gal", 5.678117676, None),
        ("½ gallon", "0.5 gal", 1.892705892, None),
        ("1,5 l", "1.5 l", 1.5, None),
        ("2 quarts", "2 qt", 1.892705892, None),
        ("3 Liters", "3 l", 3.0, None),
        ("20 lbs", "20 lb", None, 9.0718474),
    ],
)
def test_an_amount_is_a_volume_or_a_weight(
    text: str, said: str, litres: float | None, kilograms: float | None
) -> None:
    amount = parse_amount(text)
    assert str(amount) == said
    assert amount.litres == (None if litres is None else pytest.approx(litres))
    assert amount.kilograms == (None if kilograms is None else pytest.approx(kilograms))


@pytest.mark.parametrize(
    ("text", "metres"), [("1640m", 1640), ("5380 FT", 1640), ("-30m", -30), ("0m", 0)]
)
def test_an_altitude_is_read_into_metres(text: str, metres: int) -> None:
    assert parse_altitude(text) == metres


@pytest.mark.parametrize(
    ("text", "hpa"),
    [
        ("836hPa", "836"),
        ("836 mbar", "836"),
        ("83.6 kPa", "836"),
        ("627 mmHg", "835.9"),  # 133.322387 Pa
        ("24.69inhg", "836.1"),  # 3386.389 Pa
        (" 836.25 HPA ", "836.25"),
    ],
)
def test_an_air_pressure_is_read_in_any_common_unit(text: str, hpa: str) -> None:
    """NIST SP 811 gives mmHg and inHg; typed from memory."""
    assert abs(parse_pressure(text) - Decimal(hpa)) < Decimal("0.05")


def length_in_celsius(text: str) -> Decimal:
    return parse_length(text, C, "diameter", 60)


@pytest.mark.parametrize(
    ("read", "text", "told"),
    [
        (lambda text: parse_length(text, F), "deep", "no depth: type inches such as 2 or 2.5"),
        (lambda text: parse_length(text, F), "0in", "no depth: type inches"),
        (lambda text: parse_length(text, F), "-2in", "no depth: type inches"),
        (lambda text: parse_length(text, F), "2m", "no depth: type inches"),
        (lambda text: parse_length(text, F), "101cm", "no depth: type inches"),
        (length_in_celsius, "61cm", "no diameter: type 5cm or 2in"),
        (lambda text: parse_weight(text, F), "heavy", "no weight: type pounds such as 14lb"),
        (lambda text: parse_weight(text, F), "0lb", "no weight: type pounds"),
        (lambda text: parse_weight(text, C), "8 l", "no weight: type 6kg or 14lb"),
        (parse_amount, "1,500 lb", r"could mean either: type 1500 lb or 1\.5 lb"),
        (parse_amount, "12,250 l", r"type 12250 l or 12\.25 l"),
        (lambda text: parse_weight(text, C), "1,250kg", r"type 1250kg or 1\.25kg"),
        (lambda text: parse_length(text, F), "1,125 in", r"type 1125 in or 1\.125 in"),
        (parse_amount, "11/2 gal", "no amount: type 12 gal"),
        (parse_amount, "1/0 gal", "no amount: type 12 gal"),
        (parse_amount, "1,500.5 l", "no amount: type 12 gal"),
        (parse_amount, "½", "no amount: type 12 gal"),
        (parse_amount, "2 in", "no amount: type 12 gal"),
        (lambda text: parse_length(text, F), "2 lb", "no depth: type inches"),
        (parse_amount, "many", "no amount: type 12 gal"),
        (parse_amount, "0 gal", "no amount: type 12 gal"),
        (parse_amount, "12", "no amount: type 12 gal"),
        (parse_altitude, "1640", "no altitude: type it with its unit"),
        (parse_altitude, "9000m", "type it such as 1640m"),
        (parse_altitude, "-451m", "type it such as 1640m"),
        (parse_pressure, "836", "no air pressure: type"),
        (parse_pressure, "-836hPa", "no air pressure: type"),
        (parse_pressure, "836 psi", "no air pressure: type"),
        (parse_pressure, "499 hPa", "500hPa to 1090hPa"),
        (parse_pressure, "1091 hPa", "500hPa to 1090hPa"),
        (parse_pressure, "83.6 hPa", "500hPa to 1090hPa"),
    ],
)
def test_what_is_none_is_refused_in_one_sentence(
    read: Callable[[str], object], text: str, told: str
) -> None:
    with pytest.raises(Refused, match=told) as refused:
        read(text)
    assert repr(text) in str(refused.value)
    assert str(refused.value).endswith(".")
