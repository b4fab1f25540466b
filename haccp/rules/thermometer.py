"""Thermometers: 4-203.11, 4-502.11; checked in melting ice and in boiling water."""

from decimal import Decimal, localcontext

from haccp.errors import Refused
from haccp.language import phrase
from haccp.limits.limit import Limit
from haccp.quantities import parse_pressure
from haccp.temperature import Level, Temperature

ICE_POINT = Level(Decimal(32), Decimal(0))


def passes(shown: Temperature, expected: Level, accuracy: Limit) -> bool:
    """Say whether what a thermometer shows is within its accuracy of what it should show.

    It is compared with the number for its own degree, ±2 °F or ±1 °C. Source: Food Code 4-203.11.
    """
    return accuracy.kept_by(Temperature(abs(shown.over(expected)), shown.degree))


def pressure_at(altitude_m: int) -> Decimal:
    """Give the air's usual pressure at an altitude [m above the sea], in hPa.

    Source: the standard atmosphere (ISO 2533), p = 1013.25 (1 - 2.25577e-5 h)^5.25588, for
    altitudes up to 11,000 m. Weather moves the true pressure by some 3 % to either side.
    """
    with localcontext(prec=28):
        ratio = 1 - Decimal("2.25577e-5") * altitude_m
        return Decimal("1013.25") * ratio ** Decimal("5.25588")


# IAPWS R7-97(2012), table 34: coefficients of region 4. From memory, compared with open steam
# tables; they give the release's own check values, table 36 (tests/rules/test_thermometer.py).
_N1, _N2, _N3, _N4, _N5, _N6, _N7, _N8, _N9, _N10 = (
    Decimal(n)
    for n in (
        "0.11670521452767e4", "-0.72421316703206e6", "-0.17073846940092e2",
        "0.12020824702470e5", "-0.32325550322333e7", "0.14915108613530e2",
        "-0.48232657361591e4", "0.40511340542057e6", "-0.23855557567849",
        "0.65017534844798e3",
    )
)  # fmt: skip


def saturation_temperature(pressure_mpa: Decimal) -> Decimal:
    """Give the temperature [K] at which water boils under a pressure [MPa], 0.000611 to 22.

    Source: IAPWS R7-97(2012), equation 31, the backward equation of region 4.
    """
    with localcontext(prec=28):
        root = pressure_mpa.sqrt().sqrt()
        square = root * root
        e = square + _N3 * root + _N6
        f = _N1 * square + _N4 * root + _N7
        g = _N2 * square + _N5 * root + _N8
        d = 2 * g / (-f - (f * f - 4 * e * g).sqrt())
        sum_ = _N10 + d
        return (sum_ - (sum_ * sum_ - 4 * (_N9 + _N10 * d)).sqrt()) / 2


def boiling_point(pressure_hpa: Decimal) -> Level:
    """Give what a thermometer should show in boiling water, to a tenth in each degree."""
    celsius = saturation_temperature(pressure_hpa / 10_000) - Decimal("273.15")
    tenth = Decimal("0.1")
    return Level(f=(celsius * Decimal("1.8") + 32).quantize(tenth), c=celsius.quantize(tenth))


# Outside a tropical storm weather stays within this of the altitude's usual pressure: from memory.
_WEATHER = Decimal(60)


def parse_barometer(text: str, altitude_m: int) -> Decimal:
    """Read what a barometer shows in the kitchen into hPa.

    A weather report's pressure is reduced to sea level and would promise too hot a boiling point;
    it is refused where the kitchen stands high enough for the two to differ by more than weather
    does.
    """
    pressure = parse_pressure(text)
    usual = pressure_at(altitude_m)
    if abs(pressure - usual) > _WEATHER:
        raise Refused(
            phrase(
                "{text} does not fit {altitude} m above the sea, where the air has about {usual} "
                "hPa: type what a barometer shows here, not a weather report's pressure, which is "
                "reduced to sea level.",
                text=repr(text),
                altitude=altitude_m,
                usual=f"{usual:.0f}",
            )
        )
    return pressure
