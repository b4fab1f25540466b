"""What a number that was typed may be instead, and what no food can be at."""

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from itertools import pairwise
from math import exp
from pathlib import Path

import pytest

from haccp.record.bodies import Measured
from haccp.record.store import open_record
from haccp.rules.evidence import Reading, Step
from haccp.rules.slips import Expected, Slip, Why, find_bath_slip, find_slip
from haccp.rules.thermometer import ICE_POINT, boiling_point, pressure_at
from haccp.temperature import Degree, Temperature, parse_temperature
from tests.years import make_years

NOON = datetime(2026, 10, 26, 12, tzinfo=UTC)
DENVER = boiling_point(pressure_at(1640))


def reading(step: Step, typed: str, minute: float = 0, default: Degree = Degree.F) -> Reading:
    at = NOON + timedelta(minutes=minute)
    return Reading(at=at, temperature=parse_temperature(typed, default), step=step)


def found(
    step: Step,
    typed: str,
    *,
    after: tuple[Step, str] | None = None,
    minutes: float = 60,
    unit: bool = False,
    frozen: bool = False,
    default: Degree = Degree.F,
) -> Slip | None:
    last = reading(*after, default=default) if after else None
    expected = Expected(boiling=DENVER, last=last, of_unit=unit, frozen=frozen)
    taken = reading(step, typed, minutes, default)
    return find_slip(taken, expected, degree_typed=typed[-1].isalpha())


COOK, HOT, COOL, COLD, REHEAT = (
    Step.COOK,
    Step.HOT_HOLD,
    Step.COOL,
    Step.COLD_HOLD,
    Step.REHEAT,
)


@pytest.mark.parametrize(
    ("step", "typed", "last", "minutes", "unit", "meant"),
    [
        (COOL, "35", (COOL, "135"), 60, False, "35C"),
        (COOL, "38", (COOL, "134"), 10, False, "38C"),
        (COOL, "57", (COOL, "57.2C"), 10, False, "57C"),
        (HOT, "65", (COOK, "199"), 10, False, "65C"),
        (HOT, "65", (HOT, "151"), 240, True, "65C"),
        (COLD, "93", (COLD, "38"), 600, True, "39F"),
        (COLD, "338", (COLD, "38"), 60, True, "38F"),
        (COLD, "374", (COLD, "37.2"), 60, True, "37.4F"),
        (HOT, "15", (HOT, "151"), 60, True, "151F"),
        (HOT, "15", (HOT, "150"), 60, False, "150F"),
        (HOT, "1.51", (HOT, "151"), 60, True, "151F"),
        (HOT, "115", (HOT, "151"), 60, True, "151F"),
        (COOK, "74", (COOK, "120"), 30, False, "74C"),
        (COOK, "16", (COOK, "130"), 30, False, "160F"),
        (COOL, "59", (COOL, "135"), 20, False, "95F"),
    ],
)
def test_a_slip_names_the_number_that_is_likelier(
    step: Step, typed: str, last: tuple[Step, str], minutes: float, unit: bool, meant: str
) -> None:
    slip = found(step, typed, after=last, minutes=minutes, unit=unit)
    assert slip is not None
    assert not slip.is_impossible
    assert parse_temperature(meant) in slip.meant


def test_a_fahrenheit_number_in_a_celsius_kitchen_is_named_too() -> None:
    slip = found(COLD, "38", after=(COLD, "3.3"), unit=True, default=Degree.C)
    assert slip is not None
    assert slip.meant == (Temperature(Decimal(38), Degree.F),)
    hot = found(REHEAT, "165", after=(COLD, "3.3"), default=Degree.C)
    assert hot is not None
    assert hot.why is Why.HOTTER
    assert Temperature(Decimal(165), Degree.F) in hot.meant


@pytest.mark.parametrize(
    ("step", "typed", "last", "minutes", "why"),
    [
        (COOK, "1650", None, 0, Why.NO_TEMPERATURE),
        (HOT, "1511", (HOT, "151"), 60, Why.NO_TEMPERATURE),
        (COLD, "-80", (COLD, "38"), 60, Why.NO_TEMPERATURE),
        (COOL, "215", (COOK, "199"), 60, Why.ABOVE_BOILING),
        (HOT, "102C", (COOK, "199"), 60, Why.ABOVE_BOILING),
        (COOL, "9", (COOL, "135"), 5, Why.FROZE_AT_ONCE),
        (COLD, "9F", (COOL, "41"), 10, Why.FROZE_AT_ONCE),
        (COLD, "9", (COLD, "41"), 10, Why.FROZE_AT_ONCE),
    ],
)
def test_what_no_food_is_at_is_impossible(
    step: Step, typed: str, last: tuple[Step, str] | None, minutes: float, why: Why
) -> None:
    slip = found(step, typed, after=last, minutes=minutes)
    assert slip is not None
    assert slip.why is why
    assert slip.is_impossible


def test_an_extra_digit_is_impossible_and_says_which_number_it_may_have_been() -> None:
    slip = found(COOK, "1650")
    assert slip is not None
    assert slip.meant[0] == parse_temperature("165F")


@pytest.mark.parametrize(
    ("typed", "minutes"), [("135", 1), ("98", 20), ("70", 20), ("41", 90), ("60", 60)]
)
def test_what_a_good_cooling_does_is_not_asked_about(typed: str, minutes: float) -> None:
    assert found(COOL, typed, after=(COOL, "135"), minutes=minutes) is None


@pytest.mark.parametrize(
    ("step", "typed", "last", "minutes", "unit"),
    [
        (COLD, "60", (COLD, "38"), 600, True),  # a walk-in that failed overnight
        (HOT, "120", (HOT, "151"), 60, True),  # a well that sank
        (HOT, "70", (HOT, "141"), 60 * 30, True),  # a well on the next day
        (COOK, "60", (COOK, "199"), 30, False),  # cold stock went in
        (REHEAT, "165", (COLD, "38"), 60, False),
        (COOL, "202", (COOK, "204"), 10, False),
        (HOT, "225", (HOT, "222"), 60, True),  # a warming oven's air
    ],
)
def test_bad_news_that_may_well_be_true_is_taken(
    step: Step, typed: str, last: tuple[Step, str], minutes: float, unit: bool
) -> None:
    assert found(step, typed, after=last, minutes=minutes, unit=unit) is None


def test_frozen_food_may_be_frozen() -> None:
    assert found(COLD, "-4", after=(COLD, "41"), minutes=5, frozen=True) is None


@pytest.mark.parametrize(
    ("typed", "why", "meant"),
    [
        ("212", Why.OTHER_WATER, None),
        ("202F", Why.OTHER_WATER, None),
        ("3200", Why.NO_TEMPERATURE, None),
        ("0", Why.LIKELIER, "0C"),
        ("320", Why.LIKELIER, "32F"),
    ],
)
def test_ice_is_not_boiling_and_not_in_the_other_degree(
    typed: str, why: Why, meant: str | None
) -> None:
    shown = parse_temperature(typed, Degree.F)
    slip = find_bath_slip(shown, ICE_POINT, DENVER, degree_typed=typed[-1].isalpha())
    assert slip is not None
    assert slip.why is why
    assert slip.meant == ((parse_temperature(meant),) if meant else ())


@pytest.mark.parametrize("typed", ["32", "33", "36", "28", "45", "60", "72", "0F", "120", "160"])
def test_a_thermometer_that_is_wrong_in_ice_fails_its_check(typed: str) -> None:
    """Nothing asks a bad thermometer away, whatever else it shows."""
    shown = parse_temperature(typed, Degree.F)
    assert find_bath_slip(shown, ICE_POINT, DENVER, degree_typed=typed[-1].isalpha()) is None


@dataclass(frozen=True)
class Honest:
    """Readings of one food or unit of an honest kitchen, in °F as they are typed; invented."""

    readings: Sequence[Reading]
    of_unit: bool
    frozen: bool = False

    def slips(self) -> Iterator[tuple[Reading, Slip]]:
        for last, taken in zip([None, *self.readings], self.readings, strict=False):
            slip = self.of(taken, last)
            if slip:
                yield taken, slip

    def of(self, taken: Reading, last: Reading | None) -> Slip | None:
        expected = Expected(boiling=DENVER, last=last, of_unit=self.of_unit, frozen=self.frozen)
        return find_slip(taken, expected, degree_typed=False)


def _typed(step: Step, fahrenheit: float, minute: float) -> Reading:
    return reading(step, f"{fahrenheit:.0f}", minute)


def _cooled(chance: random.Random) -> Honest:
    """A batch that is cooked, held or not, cooled in air or a bath at any usual speed, and kept."""
    minute, readings = 0.0, [_typed(COOK, chance.uniform(165, 203), 0)]
    warm = float(readings[0].temperature.value)
    for _ in range(chance.randint(0, 4)):
        minute += chance.uniform(20, 90)
        warm = chance.uniform(max(warm - 12, 138), warm)
        readings.append(_typed(HOT, warm, minute))
    around, constant = chance.uniform(30, 39), chance.uniform(35, 300)
    began, minute = minute, minute + chance.uniform(5, 40)
    while minute - began < 420:
        now = around + (warm - around) * exp(-(minute - began) / constant)
        now = max(now + chance.gauss(0, 1), 33)
        readings.append(_typed(COOL, now, minute))
        minute += chance.uniform(20, 110)
    readings += [
        _typed(COLD, chance.uniform(34, 41), minute + 240 * night) for night in range(1, 6)
    ]
    return Honest(readings, of_unit=False)


def _unit(chance: random.Random) -> Honest:
    """A unit's week: it drifts, is opened, sinks now and then, and is cold or off at night."""
    hot = chance.random() < 0.5
    usual = chance.uniform(140, 175) if hot else chance.uniform(34, 39)
    readings = []
    for hour in range(7 * 14):
        night = hour // 14 * 600
        off = chance.gauss(0, 3) if hot else chance.gauss(0, 1.2)
        if chance.random() < 0.03:
            off += -chance.uniform(5, 28) if hot else chance.uniform(3, 22)
        step = HOT if hot else COLD
        readings.append(_typed(step, usual + off, hour * 60 + night + chance.uniform(-9, 9)))
    return Honest(readings, of_unit=True)


def _honest() -> list[Honest]:
    chance = random.Random(20261026)
    return [make(chance) for _ in range(500) for make in (_cooled, _unit)]


def test_honest_readings_are_hardly_ever_asked_about() -> None:
    """One in 5,000 at most: a unit that leapt, by chance to the same digits in another order."""
    every = _honest()
    count = sum(len(one.readings) for one in every)
    asked = [(one, taken) for one in every for taken, _ in one.slips()]
    assert count > 50_000
    assert len(asked) * 5000 < count
    assert all(one.of_unit for one, _ in asked), "a cooling is never asked about"


def test_most_slips_on_purpose_are_asked_about_and_most_named() -> None:
    """A tenth of the honest readings, with two digits swapped, one doubled or in °C instead."""
    chance, made, caught, named = random.Random(39), 0, 0, 0
    for one in _honest():
        for last, taken in pairwise(one.readings):
            typed, right = str(taken.temperature.value), taken.temperature.fahrenheit
            wrong = chance.choice(
                [
                    f"{typed[:-2]}{typed[-1]}{typed[-2]}",
                    typed + typed[-1],
                    f"{float((right - 32) * 5 / 9):.0f}",
                ]
            )
            if chance.random() > 0.1 or abs(Decimal(wrong) - taken.temperature.value) <= 30:
                continue
            slip = one.of(replace(taken, temperature=parse_temperature(wrong, Degree.F)), last)
            made, caught = made + 1, caught + bool(slip)
            meant = slip.meant if slip else ()
            named += any(abs(number.fahrenheit - right) <= 1 for number in meant)
    assert made > 2000
    assert caught > 0.9 * made
    assert named > 0.8 * made


def test_a_grown_kitchen_s_days_are_not_asked_about(tmp_path: Path) -> None:
    path = tmp_path / "record.sqlite3"
    make_years(path, 2, NOON)
    readings: dict[str, list[Reading]] = {}
    record = open_record(path, create=False)
    try:
        for entry in record.entries():
            if isinstance(entry.body, Measured):
                body, name = entry.body, entry.batch or entry.unit or ""
                shown = Temperature(Decimal(body.temp), Degree(body.degree))
                one = Reading(at=entry.at, temperature=shown, step=Step(body.step))
                readings.setdefault(name, []).append(one)
    finally:
        record.close()
    assert sum(map(len, readings.values())) > 1000
    for name, some in readings.items():
        unit = name.startswith(("well", "walk-in"))
        ordered = sorted(some, key=lambda one: one.at)
        assert [*Honest(ordered, of_unit=unit).slips()] == [], name
