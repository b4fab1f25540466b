"""What a cook asks before cooking: how deep, how many pans, what would help. Setups are invented."""

import re
from dataclasses import FrozenInstanceError, dataclass, replace
from math import inf, isinf

import numpy as np
import pytest

from haccp.errors import Refused
from haccp.physics import convection
from haccp.physics.convection import Range
from haccp.physics.cooling_setup import (
    Consistency,
    Load,
    Material,
    Medium,
    Pan,
    Pot,
    Roast,
    Setup,
    Slab,
    Stage,
    check,
)
from haccp.physics.planning import (
    ICE_BATH,
    alternatives,
    deepest,
    plan,
    portions,
)
from haccp.physics.properties import Composition, foods, properties
from haccp.quantities import GALLON_L, INCH_M


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32) / 1.8


STAGES = (Stage(celsius(70), 120), Stage(celsius(41), 360))
PAN = Pan(19.5 * INCH_M, 11.5 * INCH_M, 2 * INCH_M)
POT = Pot(0.3, 0.2)
WALK_IN = Medium(celsius(38), convection.MOVING_AIR)
STEW = Setup(
    foods()["bean-stew"].composition, Consistency.THICK, PAN, WALK_IN, celsius(135), STAGES
)
SETUPS = [
    STEW,
    replace(STEW, load=POT),
    replace(STEW, consistency=Consistency.THIN),
    replace(STEW, consistency=Consistency.STIRRED, load=POT, bath=ICE_BATH),
    replace(STEW, bath=ICE_BATH, covered=True),
    replace(STEW, load=Roast(0.15, 0.3)),
    replace(STEW, load=Slab(0.05)),
]


def middles(setup: Setup) -> list[float]:
    return [crossing.middle for crossing in plan(setup).crossings]


@pytest.mark.parametrize("setup", SETUPS)
def test_the_same_question_has_the_same_answer(setup: Setup) -> None:
    assert plan(setup) == plan(replace(setup))
    with pytest.raises(FrozenInstanceError):
        plan(setup).chance = 1.0  # type: ignore[misc]


@pytest.mark.parametrize("setup", SETUPS)
def test_times_and_chances_hang_together(setup: Setup) -> None:
    found = plan(setup)
    first, last = found.crossings
    assert 0 < first.early < first.middle < first.late
    assert first.middle < last.middle
    assert 0 <= found.chance <= min(first.chance, last.chance) <= 1
    for crossing in found.crossings:
        if crossing.late <= crossing.stage.minutes:
            assert crossing.chance >= 0.95
        if crossing.early > crossing.stage.minutes:
            assert crossing.chance <= 0.05


@pytest.mark.parametrize("setup", SETUPS)
def test_the_curve_and_the_times_are_one_prediction(setup: Setup) -> None:
    found = plan(setup)
    first = found.crossings[0]
    curve = found.curve([0, first.early, first.middle, first.late])
    for line in (curve.low, curve.middle, curve.high):
        assert line[0] == pytest.approx(setup.start, abs=1e-3)
    level = first.stage.celsius
    assert curve.low[1] == pytest.approx(level, abs=0.3)
    assert curve.middle[2] == pytest.approx(level, abs=0.3)
    assert curve.high[3] == pytest.approx(level, abs=0.3)
    for line in (curve.low, curve.middle, curve.high):
        assert list(line) == sorted(line, reverse=True)


@pytest.mark.parametrize(
    "slower",
    [
        replace(STEW, load=replace(PAN, depth=3 * INCH_M)),
        replace(STEW, covered=True),
        replace(STEW, air=replace(WALK_IN, celsius=celsius(40))),
        replace(STEW, air=replace(WALK_IN, coefficient=convection.STILL_AIR)),
        replace(STEW, load=replace(PAN, material=Material.PLASTIC)),
        replace(STEW, start=celsius(150)),
    ],
    ids=["deeper", "covered", "warmer air", "still air", "plastic", "hotter"],
)
def test_what_slows_a_pan(slower: Setup) -> None:
    assert all(a > b for a, b in zip(middles(slower), middles(STEW), strict=True))
    if slower.air.celsius == STEW.air.celsius:
        assert plan(slower).chance <= plan(STEW).chance


@pytest.mark.parametrize(
    "faster",
    [
        replace(STEW, bath=ICE_BATH),
        replace(STEW, consistency=Consistency.STIRRED),
        replace(STEW, air=Medium(celsius(0), convection.MOVING_AIR)),
        replace(STEW, air=Medium(celsius(28), convection.BLAST_AIR)),
    ],
    ids=["ice bath", "stirred", "freezer", "blast chiller"],
)
def test_what_speeds_a_pan(faster: Setup) -> None:
    assert all(a < b for a, b in zip(middles(faster), middles(STEW), strict=True))
    assert plan(faster).chance >= plan(STEW).chance


@pytest.mark.parametrize("setup", SETUPS)
def test_air_that_is_too_warm_never_cools_and_is_never_promised(setup: Setup) -> None:
    warm = replace(setup, air=replace(WALK_IN, celsius=celsius(45)), bath=None, covered=True)
    last = plan(warm).crossings[-1]
    assert isinf(last.early) and isinf(last.late) and last.chance == 0
    assert deepest(warm) is None
    counted = replace(warm, stages=(STAGES[0], Stage(celsius(41), 240, since=celsius(70))))
    assert plan(counted).chance == 0


def test_air_that_may_be_too_warm_leaves_the_end_open() -> None:
    last = plan(replace(STEW, air=replace(WALK_IN, celsius=celsius(40)))).crossings[-1]
    assert last.early < inf and isinf(last.late)


def test_limits_are_the_callers_numbers() -> None:
    """A local code's 45 °F within 4 h, one stage: no limit of another code is used."""
    local = replace(STEW, stages=(Stage(celsius(45), 240),))
    found = plan(local)
    assert [crossing.stage for crossing in found.crossings] == [Stage(celsius(45), 240)]
    easier = replace(local, stages=(Stage(celsius(45), 2400),))
    assert plan(easier).chance == 1


@pytest.mark.parametrize("certainty", [0.6, 0.9, 0.99])
@pytest.mark.parametrize(
    "setup", [STEW, replace(STEW, consistency=Consistency.THIN), replace(STEW, load=Slab(0.1))]
)
def test_the_deepest_keeps_the_limits_and_a_quarter_inch_more_does_not(
    setup: Setup, certainty: float
) -> None:
    found = deepest(setup, certainty)
    assert found is not None and found.chance >= certainty
    load = found.setup.load
    assert isinstance(load, Pan | Slab)
    depth = load.thickness if isinstance(load, Slab) else load.depth
    quarters = round(depth / INCH_M * 4)
    assert depth == pytest.approx(quarters * INCH_M / 4)
    more = (quarters + 1) * INCH_M / 4
    deeper: Load = Slab(more) if isinstance(load, Slab) else replace(load, depth=more)
    assert plan(replace(found.setup, load=deeper)).chance < certainty


def test_twelve_gallons_of_bean_stew() -> None:
    """A walk-in at 38 °F promises 1 in of it, a blast chiller 2¼ in: by hand, 12 gal are 2772 in³."""
    shallow = deepest(STEW)
    assert shallow is not None and isinstance(shallow.setup.load, Pan)
    assert shallow.setup.load.depth == pytest.approx(1 * INCH_M)
    full, half = portions(12 * GALLON_L, shallow.setup.load.depth)
    assert (full.count, full.size, full.height_in, full.depth_in) == (13, "full-size", 2.5, 1.0)
    assert (half.count, half.size) == (26, "half-size")  # 2772 / (11.5 x 9.5) = 25.4


@pytest.mark.parametrize(
    ("gallons", "inches", "count", "height"),
    [(12, 2, 7, 2.5), (12, 4, 4, 4.0), (12, 4.25, 3, 6.0), (0.001, 2, 1, 2.5)],
)
def test_pans_are_counted_up_and_are_higher_than_their_food(
    gallons: float, inches: float, count: int, height: float
) -> None:
    full = portions(gallons * GALLON_L, inches * INCH_M)[0]
    assert (full.count, full.height_in) == (count, height)


def test_food_deeper_than_any_pan_makes_no_pans() -> None:
    assert portions(10, 7 * INCH_M) == ()


def test_alternatives_are_the_codes_options_each_with_its_own_chance() -> None:
    covered = replace(
        STEW, load=replace(PAN, depth=4 * INCH_M, material=Material.PLASTIC), covered=True
    )
    found = {one.change: one.plan for one in alternatives(covered)}
    assert list(found) == [
        "shallow pans, smaller or thinner portions",
        "rapid cooling equipment",
        "rapid cooling equipment, no thicker than this",
        "stirring in an ice water bath",
        "stirring in an ice water bath, no thicker than this",
        "stirring in an ice water bath first, then as asked",
        "containers that help heat transfer: metal",
        "a fifth of the weight as ice, stirred in at the start",
        "uncovered, if protected from overhead contamination",
    ]
    assert all(one.setup != covered for one in found.values())
    for change, found_plan in found.items():
        if "portions" in change or "thicker" in change:
            assert found_plan.chance >= 0.9
            assert isinstance(found_plan.setup.load, Pan)
            assert found_plan.setup.load.depth < 4 * INCH_M
    assert found["uncovered, if protected from overhead contamination"].chance < 0.1
    assert all(plan(one.setup) == one for one in found.values())


def test_a_roast_is_cut_smaller_and_not_stirred() -> None:
    roast = replace(STEW, load=Roast(0.2, 0.3))
    found = {one.change: one.plan.setup.load for one in alternatives(roast)}
    assert not any("ice" in change or "container" in change for change in found)
    smaller = found["rapid cooling equipment, no thicker than this"]
    assert isinstance(smaller, Roast) and smaller.diameter < 0.2 and smaller.length == 0.3


def test_what_is_so_already_is_no_change() -> None:
    bath = replace(STEW, consistency=Consistency.STIRRED, bath=ICE_BATH)
    assert not any("ice water" in one.change for one in alternatives(bath))


def test_ice_in_the_food_is_a_heat_balance() -> None:
    """By hand, water: 0.8 x 57.22 - 0.2 x 334 / 4.18 = 29.8 °C."""
    water = replace(STEW, food=Composition(100, 0, 0, 0, 0, 0))
    [iced] = [one for one in alternatives(water) if "as ice" in one.change]
    assert iced.plan.setup.start == pytest.approx(29.8, abs=0.1)


def test_cautions_say_what_the_model_leaves_out() -> None:
    assert plan(STEW).cautions == ()
    freezer = plan(replace(STEW, air=Medium(celsius(0), convection.MOVING_AIR)))
    assert "Freezing" in freezer.cautions[0]
    bath = plan(replace(STEW, consistency=Consistency.STIRRED, bath=ICE_BATH))
    assert len(bath.cautions) == 2 and "Stir at least every quarter" in bath.cautions[1]


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        (replace(STEW, load=replace(PAN, depth=0.0)), "sizes must be above 0"),
        (replace(STEW, load=replace(PAN, depth=inf)), "at most 3 m"),
        (replace(STEW, load=Pot(float("nan"), 0.1)), "sizes must be above 0"),
        (replace(STEW, stages=()), "at least one temperature"),
        (replace(STEW, stages=STAGES[::-1]), "levels must fall"),
        (replace(STEW, start=celsius(60)), "levels must fall"),
        (replace(STEW, stages=(Stage(5.0, 240, 4.0),)), "must count from a level above"),
        (replace(STEW, start=130.0), "between 0 and 100 °C"),
        (replace(STEW, air=replace(WALK_IN, celsius=80.0)), "colder than the food"),
        (replace(STEW, bath=Medium(float("nan"), convection.ICE_BATH)), "colder than the food"),
        (replace(STEW, load=Slab(0.05), consistency=Consistency.STIRRED), "cannot be thin"),
    ],
)
def test_nonsense_is_refused_in_a_sentence(wrong: Setup, said: str) -> None:
    for ask in (check, plan, deepest, alternatives):
        with pytest.raises(Refused, match=re.escape(said)):
            ask(wrong)


# --- the band, against draws of its own ---------------------------------------------------------


MM = 0.001
Draws = np.ndarray[tuple[int], np.dtype[np.float64]]


@dataclass(frozen=True)
class Drawn:
    """20,000 random draws (seed 7) of a pan of liquid in air: the planner's ranges, typed again."""

    heat: Draws  # J/K for a m² of base
    walls: Draws  # W/K for a m² of base
    below: Draws  # of its bottom, without what resists inside
    outside: Draws
    lid: Draws
    wet: Draws
    humid: Draws
    air: Draws


def drawn(setup: Setup, air_h: tuple[float, float], inside_h: tuple[float, float]) -> Drawn:
    random = np.random.default_rng(7)

    def evenly(low: float, high: float) -> Draws:
        return random.uniform(low, high, 20_000)

    def by_ratio(low: float, high: float) -> Draws:
        return np.exp(evenly(np.log(low), np.log(high)))

    food = properties(setup.food, (setup.start + celsius(41)) / 2)
    outside, inside = by_ratio(*air_h), by_ratio(*inside_h)
    below = outside * evenly(0.5, 1.0)
    side = 2 * (PAN.length + PAN.width) * PAN.depth / (PAN.length * PAN.width)
    return Drawn(
        heat=food.rho * food.cp * evenly(0.95, 1.05) * PAN.depth,
        walls=side / (1 / outside + 1 / inside) + 1 / (1 / below + 1 / inside),
        below=below,
        outside=outside,
        lid=1 / (1 / outside + 1 / by_ratio(2, 25)),
        wet=evenly(0, 1),
        humid=evenly(0.7, 1),
        air=setup.air.celsius + evenly(-1, 1),
    )


def test_a_covered_pan_of_stirred_food_has_the_band_of_newtons_law() -> None:
    invented = Medium(3.0, Range(10, 20, "invented"))
    setup = replace(STEW, consistency=Consistency.STIRRED, air=invented, covered=True)
    of = drawn(setup, (10, 20), (50, 500))
    for crossing in plan(setup).crossings:
        level = crossing.stage.celsius
        left = (setup.start - of.air) / (level - of.air)
        minutes = of.heat / (of.walls + of.lid) * np.log(left) / 60
        expected = np.quantile(minutes, [0.05, 0.5, 0.95])
        assert (crossing.early, crossing.middle, crossing.late) == pytest.approx(expected, rel=0.03)
        assert crossing.chance == pytest.approx(
            (minutes <= crossing.stage.minutes).mean(), abs=0.03
        )


@pytest.mark.parametrize(
    ("start", "stage"),
    [
        (135, Stage(celsius(41), 240, since=celsius(70))),
        (160, Stage(celsius(70), 120, since=celsius(135))),
    ],
    ids=["a second stage counted from the first", "food hotter than where the clock starts"],
)
def test_a_time_that_counts_from_a_level_has_the_chance_of_newtons_law(
    start: float, stage: Stage
) -> None:
    invented = Medium(3.0, Range(10, 20, "invented"))
    setup = replace(
        STEW, consistency=Consistency.STIRRED, air=invented, covered=True, start=celsius(start),
        stages=(stage,),
    )  # fmt: skip
    of = drawn(setup, (10, 20), (50, 500))
    assert stage.since is not None
    left = (stage.since - of.air) / (stage.celsius - of.air)
    minutes = of.heat / (of.walls + of.lid) * np.log(left) / 60
    share = (minutes <= stage.minutes).mean()
    assert 0.05 < share < 0.95
    assert plan(setup).chance == pytest.approx(share, abs=0.03)


def test_an_open_pan_of_stock_has_the_band_of_small_steps_in_time() -> None:
    stock = foods()["chicken-stock"].composition
    setup = replace(STEW, consistency=Consistency.THIN, food=stock)
    of = drawn(setup, (9, 22), (50, 100))

    def vapour(t: Draws) -> Draws:
        return np.asarray(0.61094 * np.exp(17.625 * t / (t + 243.04)))

    def fall(t: Draws) -> Draws:
        wet = of.wet * 16.5 * (vapour(t) - of.humid * vapour(of.air))
        return (of.walls * (t - of.air) + of.outside * (t - of.air + wet)) / of.heat

    step, now = 60.0, np.full(20_000, setup.start)
    passed = {stage: np.full(20_000, inf) for stage in STAGES}
    for minute in range(1200):
        halfway = now - step / 2 * fall(now)
        then = now - step * fall(halfway)
        for stage, at in passed.items():
            goes = (now > stage.celsius) & (then <= stage.celsius)
            at[goes] = minute + ((now - stage.celsius) / (now - then))[goes]
        now = then
    for crossing in plan(setup).crossings:
        minutes = passed[crossing.stage]
        expected = np.quantile(minutes, [0.05, 0.5, 0.95], method="nearest")
        assert (crossing.early, crossing.middle, crossing.late) == pytest.approx(expected, rel=0.03)
        assert crossing.chance == pytest.approx(
            (minutes <= crossing.stage.minutes).mean(), abs=0.03
        )


@pytest.mark.parametrize("material", Material)
@pytest.mark.parametrize("covered", [True, False])
def test_a_millimetre_of_thick_food_follows_newtons_law(material: Material, covered: bool) -> None:
    """So little food conducts at once: what is left is its lid or its wet surface, and its bottom.

    A wet surface: vapour pressure's rise from the air to the last level, by steam tables' 0.872 kPa
    at 5 °C and 0.776 at 3.33 °C (from memory).
    """
    setup = replace(STEW, load=Pan(3.0, 3.0, 1 * MM, material), covered=covered)
    of = drawn(setup, (9, 22), (50, 100))
    k = properties(STEW.food, (setup.start + celsius(41)) / 2).k
    below = of.below if material is Material.METAL else 1 / (1 / of.below + 3 * MM / k)
    slope = (0.872 - 0.776) / (5 - 3.33)
    top = of.lid if covered else of.outside * (1 + of.wet * 16.5 * slope)
    heat = of.heat / PAN.depth * MM
    crossing = plan(setup).crossings[0]
    minutes = heat / (below + top) * np.log((setup.start - of.air) / (celsius(70) - of.air)) / 60
    expected = np.quantile(minutes, [0.05, 0.5, 0.95])
    assert (crossing.early, crossing.middle, crossing.late) == pytest.approx(expected, rel=0.04)


def test_thick_food_in_a_kitchens_ice_bath_ends_between_the_bath_and_the_warm_air() -> None:
    """Bath at 33 °F below, a kitchen at 72 °F above: exact in the end by two resistances in series."""
    wide = Pan(3.0, 3.0, 2 * INCH_M)
    still, bath = Range(8, 8, "invented"), Range(80, 80, "invented")
    setup = replace(
        STEW, load=wide, air=Medium(celsius(72), still), bath=Medium(celsius(33), bath), covered=True,
        stages=(Stage(celsius(70), 120),),
    )  # fmt: skip
    settled = plan(setup).curve([50_000])
    # The surface under the lid is the warmest: lid and air above it, food and wall below.
    food = properties(STEW.food, (setup.start + celsius(70)) / 2)
    above = 1 / (1 / np.sqrt(2 * 25) + 1 / 8)
    below = 1 / (2 * INCH_M / food.k + 1 / 80)
    expected = (above * celsius(72) + below * celsius(33)) / (above + below)
    assert settled.middle[0] == pytest.approx(expected, abs=0.6)
    assert celsius(33) < settled.low[0] < settled.high[0] < celsius(72)


def test_ice_water_is_not_colder_than_ice() -> None:
    settled = plan(replace(STEW, load=Slab(0.05), bath=Medium(0.0, convection.ICE_BATH)))
    end = settled.curve([50_000])
    assert 0 <= end.low[0] <= end.high[0] <= 1


def test_a_plastic_wall_in_a_bath_counts_like_3_mm_of_food() -> None:
    """Dickerson & Read 1973: thin plastic counts like as much food. Stirred stew, hardly any air."""
    wide, none, bath = (
        Pan(3.0, 3.0, 0.05, Material.PLASTIC),
        Range(0.01, 0.01, ""),
        Range(80, 80, ""),
    )
    setup = replace(
        STEW, consistency=Consistency.STIRRED, load=wide, air=Medium(3.0, none),
        bath=Medium(3.0, bath), covered=True,
    )  # fmt: skip
    food = properties(STEW.food, (setup.start + celsius(41)) / 2)
    inside = np.sqrt(50 * 500)  # the middle of its range, by ratio
    wall = 1 / (1 / 80 + 1 / inside + 0.003 / food.k)
    heat, conductance = food.rho * food.cp * 0.05, wall * (1 + 4 * 0.05 / 3)
    expected = heat / conductance * np.log((setup.start - 3) / (celsius(70) - 3)) / 60
    assert plan(setup).crossings[0].middle == pytest.approx(expected, rel=0.02)


def test_thinner_air_takes_more_water_and_cools_an_open_liquid_sooner() -> None:
    """At 1,640 m (831 hPa) a wet surface gives 20 K/kPa by evaporating, 16.5 at the sea."""
    assert convection.latent_k_per_kpa(831) == pytest.approx(20.1, abs=0.1)
    for setup in (STEW, replace(STEW, consistency=Consistency.STIRRED, load=POT)):
        high = replace(setup, pressure_hpa=831.0)
        assert all(a < b for a, b in zip(middles(high), middles(setup), strict=True))
        assert middles(replace(high, covered=True)) == middles(replace(setup, covered=True))
