"""Physics against printed sources: tables, worked examples, measured coolings, published trials.

"Recomputed" values were worked out for this project with scipy, apart from this code; a printed
value names who printed it. Where the planner and a published cooling disagree, the test says so,
says why, and fails if they should come to agree.
"""

import csv
from dataclasses import replace
from math import log

import numpy as np
import pytest

from haccp.physics import convection, growth
from haccp.physics.conduction import Array, Conductor, Layer, Shape
from haccp.physics.convection import Range
from haccp.physics.cooling_draws import vapour_kpa
from haccp.physics.cooling_setup import Medium
from haccp.physics.growth import CARDINALS, LAG, Point, log10_growth, work
from haccp.physics.planning import deepest, plan
from haccp.physics.properties import Composition, foods, properties
from tests.published.cooling_cases import (
    DATA,
    ICE_WATER,
    Measured,
    Trial,
    celsius,
    measured,
    trials,
)


def rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def one(value: float) -> Array:
    return np.array([value])


def theta(body: Conductor, fourier: float, place: float = 0.0) -> float:
    return float(body.theta(np.array([[fourier]]), place)[0, 0])


# --- thermal properties: Choi & Okos 1986 -------------------------------------------------------

PURE = {
    "water": Composition(100, 0, 0, 0, 0, 0),
    "protein": Composition(0, 100, 0, 0, 0, 0),
    "fat": Composition(0, 0, 100, 0, 0, 0),
    "carbohydrate": Composition(0, 0, 0, 100, 0, 0),
    "fibre": Composition(0, 0, 0, 100, 100, 0),
    "ash": Composition(0, 0, 0, 0, 0, 100),
}


@pytest.mark.parametrize(
    ("component", "k", "rho"),
    [  # 20 °C, recomputed; densities but fibre's also from an independent public table
        ("water", 0.60366, 995.74),
        ("protein", 0.20164, 1319.53),
        ("fat", 0.17512, 917.24),
        ("carbohydrate", 0.22743, 1592.89),
        ("fibre", 0.20704, 1304.18),
        ("ash", 0.35648, 2418.19),
    ],
)
def test_components_at_20_degrees(component: str, k: float, rho: float) -> None:
    found = properties(PURE[component], 20)
    assert found.k == pytest.approx(k, abs=6e-6)
    assert found.rho == pytest.approx(rho, abs=6e-3)


@pytest.mark.parametrize(
    ("celsius", "cp", "k"),
    # Water itself, steam tables: the misprinted 4.1289 is 1.1 % low.
    [
        (0.01, 4217, 0.561),
        (20, 4182, 0.598),
        (40, 4179, 0.631),
        (60, 4185, 0.654),
        (80, 4197, 0.670),
    ],
)
def test_water_is_water(celsius: float, cp: float, k: float) -> None:
    found = properties(PURE["water"], celsius)
    assert found.cp == pytest.approx(cp, rel=0.01)
    assert found.k == pytest.approx(k, rel=0.02)


@pytest.mark.parametrize("row", rows("food_properties.csv"), ids=lambda row: row["ndb_no"])
def test_foods_of_the_table_at_four_temperatures(row: dict[str, str]) -> None:
    """Composition: USDA SR26, printed. Properties: recomputed."""
    [food] = [food for food in foods().values() if food.source.endswith(row["ndb_no"])]
    printed = [row[name] for name in ("water", "protein", "fat", "carb_total", "fibre", "ash")]
    assert food.composition == Composition(*map(float, printed))
    assert food.name == row["food"]
    for at in ("5", "20", "40", "57.2"):
        found = properties(food.composition, float(at))
        assert found.k == pytest.approx(float(row[f"k_{at}"]), abs=6e-5)
        assert found.rho == pytest.approx(float(row[f"rho_{at}"]), abs=0.06)
        assert found.cp / 1000 == pytest.approx(float(row[f"cp_{at}"]), abs=6e-5)
        assert found.diffusivity == pytest.approx(float(row[f"alpha_{at}"]), rel=1e-4)


def test_lean_pork_and_a_mixture_of_all_six() -> None:
    """Both recomputed; Toledo prints about 0.50 W/m K and about 2.87 kJ/kg K (from memory)."""
    pork = properties(Composition(71.7, 19.0, 7.8, 0, 0, 1.5), 19)
    assert (pork.k, pork.rho, pork.cp) == pytest.approx((0.5021, 1047.0, 3554), rel=2e-4)
    assert pork.diffusivity == pytest.approx(1.349e-7, rel=5e-4)
    mixture = properties(Composition(43.5, 15, 20, 21, 1, 0.5), 25)
    assert mixture.cp == pytest.approx(2870, abs=0.6)


@pytest.mark.parametrize(
    ("composition", "printed"),
    # Geankoplis, App. A.4-1 prints water and specific heat; the rest from memory. Its fresh pork
    # (60 %, 2.85) and poultry (74 %, 3.31) are Siebel's formula 0.837 + 3.349 x, not measurements.
    [(Composition(72, 21, 6, 0, 0, 1), 3.43), (Composition(75, 2, 0.1, 21.9, 2, 1), 3.52)],
    ids=["lean beef", "potato"],
)
def test_specific_heat_is_within_5_percent_of_published_measurements(
    composition: Composition, printed: float
) -> None:
    assert properties(composition, 20).cp / 1000 == pytest.approx(printed, rel=0.05)


# --- conduction: printed tables and worked examples ---------------------------------------------

COLUMNS = [("slab", Shape.SLAB), ("cyl", Shape.CYLINDER), ("sphere", Shape.SPHERE)]
# Printed 1.5995 and 1.2403, computed 1.59945 and 1.24025: the last digit was rounded up.
ROUNDED = {("2.0", "zeta_cyl"), ("5.0", "C_slab")}


@pytest.mark.parametrize("row", rows("one_term_coefficients.csv"), ids=lambda row: row["Bi"])
def test_one_term_coefficients_of_every_row(row: dict[str, str]) -> None:
    """Printed: Cengel, Heat and Mass Transfer, Table 4-2, 24 rows. To Bi 100 and 1e6: recomputed."""
    for column, shape in COLUMNS:
        body = Conductor(shape, one(float(row["Bi"])))
        for name, found in (
            (f"zeta_{column}", body.roots[0, 0]),
            (f"C_{column}", body.weights[0, 0]),
        ):
            assert found == pytest.approx(float(row[name]), abs=1.5e-6)
            if printed := row[f"printed_{name}"]:
                agrees = f"{found:.4f}" == f"{float(printed):.4f}"
                assert agrees is ((row["Bi"], name) not in ROUNDED), (name, found, printed)


def test_every_printed_row_is_there() -> None:
    table = rows("one_term_coefficients.csv")
    assert sum(bool(row["printed_zeta_slab"]) for row in table) == 24


def test_steaks_until_their_surface_is_at_2_degrees() -> None:
    """Cengel, problem 11-44, printed solution: Bi 0.200, 0.4328, 1.0311, Fo 5.085, 93.1 min."""
    biot = 9 * 0.01 / 0.45
    body = Conductor(Shape.SLAB, one(biot))
    assert (round(biot, 3), *body.roots[0, :1].round(4), *body.weights[0, :1].round(4)) == (
        0.200, 0.4328, 1.0311,
    )  # fmt: skip
    fourier = 0.91e-7 * 93.1 * 60 / 0.01**2
    assert fourier == pytest.approx(5.085, abs=0.003)
    assert -11 + 36 * theta(body, fourier, 1.0) == pytest.approx(2.0, abs=0.01)


def test_steaks_by_an_independent_library() -> None:
    """pychemengg 0.1a11 on PyPI: four roots at Bi 0.2, and 1.992 °C at 5590 s."""
    body = Conductor(Shape.SLAB, one(0.2))
    assert body.roots[0, :4] == pytest.approx([0.43284, 3.20394, 6.31485, 9.44595], abs=6e-6)
    assert -11 + 36 * theta(body, 0.91e-7 * 5590 / 0.01**2, 1.0) == pytest.approx(1.992, abs=6e-4)


def test_a_carcass_to_4_degrees_at_its_centre() -> None:
    """Cengel, problem 4-65: 12.2 h. The printed remark that nothing freezes is wrong."""
    body = Conductor(Shape.CYLINDER, one(22 * 0.12 / 0.47))
    fourier = 0.13e-6 * 12.2 * 3600 / 0.12**2
    assert -10 + 47 * theta(body, fourier) == pytest.approx(4.0, abs=0.06)
    assert -10 + 47 * theta(body, fourier, 1.0) == pytest.approx(-7.1, abs=0.06)


def test_an_egg_in_hot_water() -> None:
    """Cengel, example 4-3: 3.0754 and 1.9959, read off its table between rows.

    Recomputed by its method, the first term alone: 14.38 min. The second makes the centre 0.08 °C
    warmer by then.
    """
    body = Conductor(Shape.SPHERE, one(1200 * 0.025 / 0.627))
    root, weight = body.roots[0, 0], body.weights[0, 0]
    assert (root, weight) == pytest.approx((3.0754, 1.9959), abs=1e-3)
    fourier = 0.151e-6 * 14.38 * 60 / 0.025**2
    assert 95 - 90 * weight * np.exp(-(root**2) * fourier) == pytest.approx(70, abs=0.01)
    assert 95 - 90 * theta(body, fourier) == pytest.approx(70.08, abs=0.01)


def test_a_short_brass_cylinder() -> None:
    """Cengel, example 4-8: 63 °C at the centre and 62 °C on top after 15 min, by charts."""
    seconds = 15 * 60
    around, along = (
        Conductor(Shape.CYLINDER, one(60 * 0.05 / 110)),
        Conductor(Shape.SLAB, one(60 * 0.06 / 110)),
    )
    side = theta(around, 3.39e-5 * seconds / 0.05**2)
    fourier = 3.39e-5 * seconds / 0.06**2
    centre, top = (25 + 95 * side * theta(along, fourier, place) for place in (0.0, 1.0))
    assert (centre, top) == pytest.approx((63, 62), abs=0.5)
    assert (centre, top) == pytest.approx((62.73, 62.12), abs=0.01)  # recomputed


def test_the_coefficient_at_which_a_steaks_surface_freezes_not() -> None:
    """Cengel, example 4-11: surface 2 °C while the centre is 8 °C in -15 °C air: h = 20, by chart."""
    body = Conductor(Shape.SLAB, one(20 * 0.015 / 0.45))
    assert theta(body, 2.0, 1.0) / theta(body, 2.0) == pytest.approx(17 / 23, abs=0.005)


@pytest.mark.parametrize(
    ("inches", "h", "biot", "j", "k_per_h", "to_70", "to_41"),
    [
        (2, 10, 0.485, 1.0683, 0.3203, 3.67, 11.06),
        (2, 15, 0.727, 1.0946, 0.4474, 2.68, 7.97),
        (2, 40, 1.939, 1.1759, 0.8781, 1.45, 4.14),
        (2, 1000, 48.5, 1.2726, 1.8249, 0.74, 2.04),
        (3, 10, 0.727, 1.0946, 0.1988, 6.03, 17.94),
        (4, 10, 0.970, 1.1166, 0.1394, 8.75, 25.73),
        (4, 40, 3.879, 1.2269, 0.3045, 4.31, 12.09),
        (4, 1000, 97, 1.2731, 0.4656, 2.90, 7.98),
    ],
)
def test_pans_of_thick_food(
    inches: float, h: float, biot: float, j: float, k_per_h: float, to_70: float, to_41: float
) -> None:
    """Recomputed: bean stew at 20 °C, 135 °F into 38 °F, both faces, warmest point."""
    half, k, a = inches * 0.0254 / 2, 0.5239, 1.3807e-7
    body = Conductor(Shape.SLAB, one(h * half / k))
    assert h * half / k == pytest.approx(biot, rel=1e-3)
    assert body.weights[0, 0] == pytest.approx(j, abs=6e-5)
    assert body.roots[0, 0] ** 2 * a / half**2 * 3600 == pytest.approx(k_per_h, abs=6e-5)
    for hours, level in ((to_70, 70), (to_41, 41)):
        fahrenheit = 38 + 97 * theta(body, a * 3600 * hours / half**2)
        assert fahrenheit == pytest.approx(level, abs=0.15)  # hours are printed to two digits


def test_one_cooled_face_is_twice_the_depth() -> None:
    layer = Layer(one(1e-9), one(3.0), np.zeros(1)).theta(np.array([[0.4]]))[0, 0, 0]
    assert layer == pytest.approx(theta(Conductor(Shape.SLAB, one(3.0)), 0.4), abs=1e-6)


# --- evaporation --------------------------------------------------------------------------------


def test_vapour_pressure_of_steam_tables() -> None:
    """Steam tables [kPa], from memory."""
    celsius = np.array([0.01, 10, 20, 40, 60, 70, 100])
    printed = np.array([0.6117, 1.228, 2.339, 7.385, 19.95, 31.2, 101.4])
    off = np.abs(vapour_kpa(celsius) / printed - 1)
    assert (off[:-1] < 0.01).all() and off[-1] < 0.03


def test_a_wet_surface_loses_several_times_the_dry_heat_when_hot() -> None:
    """Recomputed: latent over sensible heat into 38 °F, 85 % air at 60, 40, 20 and 10 °C."""
    surface, air = np.array([60.0, 40.0, 20.0, 10.0]), one(celsius(38))
    over = vapour_kpa(surface) - 0.85 * vapour_kpa(air)
    ratio = convection.latent_k_per_kpa(convection.SEA_LEVEL_HPA) * over / (surface - air)
    assert ratio == pytest.approx([5.6, 3.0, 1.7, 1.4], abs=0.07)


# --- measured coolings --------------------------------------------------------------------------

# Case: why the band does not hold the published time. `+`: it took longer than the band, `-`: less.
OUTSIDE = {
    "meat sauce, 1100 kg batches, conventional air blast, 70 mm deep": (
        "+",
        "air that takes so much heat is neither as cold nor as fast as an empty"
        " blast chiller's. With a walk-in's coefficient the band holds it (test below).",
    ),
    "rolled beef forequarter, water 0 C": (
        "+",
        "boned, rolled and netted meat holds gaps that solid meat has not; the like joint took 3.1 h.",
    ),
    "ham, chill room 17-6 C, 0.2 m/s": (
        "-",
        "in a metal mould, which touches what it stands on; the air fell to 6 °C, when is not said.",
    ),
    "bacon, factory air 20-12 C": (
        "-",
        "the fastest of three: two like bags, lighter ones, took 2.6 and 2.7 h (same table, 16.4).",
    ),
    "vacuum-packed roast, water 1 C, 70-50 C": (
        "-",
        "by a minute; the source has them cool faster still in air, so they did not start alike.",
    ),
    "vacuum-packed roast, air 1 C, 2 m/s, 70-50 C": (
        "-",
        "faster than in water of the same temperature: they were not of one temperature at 70 °C.",
    ),
    "vacuum-packed roast, air 1 C, 2 m/s, 70-8 C": ("-", "as above."),
    "vacuum-packed roast, air 1 C, 1 m/s, 70-50 C": ("-", "as fast as in water: as above."),
    "vacuum-packed roast, air 1 C, 1 m/s, 70-8 C": ("-", "as above."),
}


@pytest.mark.parametrize("case", measured(), ids=lambda case: case.name)
def test_the_band_holds_the_measured_time_or_it_is_said_why_not(case: Measured) -> None:
    [crossing] = plan(case.setup).crossings
    side = "+" if crossing.late < case.least else "-" if crossing.early > case.most else ""
    assert side == OUTSIDE.get(case.name, ("", ""))[0], (crossing, case)


def test_what_is_outside_the_band_on_the_dangerous_side_is_two_cases_of_nineteen() -> None:
    names = [case.name for case in measured()]
    assert len(names) == 19 and set(OUTSIDE) <= set(names)
    assert sum(side == "+" for side, _ in OUTSIDE.values()) == 2


def test_a_loaded_air_blast_was_no_better_than_a_walk_in() -> None:
    """James & James, Meat Refrigeration (Woodhead 2002) p. 332: 70 mm deep, more than 6.5 h."""
    [case] = [case for case in measured() if case.name.startswith("meat sauce")]
    walk_in = replace(case.setup, air=Medium(0.0, convection.MOVING_AIR))
    [crossing] = plan(walk_in).crossings
    assert crossing.early < case.least < crossing.late


def test_the_published_slab_in_water_is_what_conduction_alone_allows() -> None:
    """Burfoot et al. 1990 in Meat Refrigeration, Table 16.7: 50 mm, 70 to 10 °C in 0 °C water, 1.2 h.

    Theory with a = 1.30e-7 and no surface resistance: 1.18 h.
    """
    body = Conductor(Shape.SLAB, one(1e9))
    assert 70 * theta(body, 1.30e-7 * 1.18 * 3600 / 0.025**2) == pytest.approx(10, abs=0.1)


# --- published pass or fail ---------------------------------------------------------------------

# The planner would not have promised these, at 90 %; but it leans the other way than the trials.
LEANING = {
    "chili con carne with beans, 2 in, walk-in refrigerator + ice bath, uncovered",
    "beef taco meat, 2 in, walk-in refrigerator + ice water bath",
}


@pytest.mark.parametrize("trial", trials(), ids=lambda trial: trial.name)
def test_published_pass_or_fail(trial: Trial) -> None:
    """Roberts et al. 2013, Olds et al. 2013, Olds & Sneed 2005: abstracts."""
    chance = plan(trial.setup).chance
    if trial.met:
        assert chance > 0.5
    else:
        assert chance < 0.9  # never promised
        assert (chance < 0.5) is (trial.name not in LEANING)


def test_all_cells_but_two_are_clear() -> None:
    assert len(trials()) == 17
    assert {trial.name for trial in trials()} >= LEANING


def test_the_two_leaning_cells_turn_on_how_much_of_the_pan_the_ice_bath_touches() -> None:
    """Bath coefficients up to 20 fail a 2-in pan, from 40 on they pass it: 1 in 3 trials passed.

    With the published range of water touching all of the pan, 50 to 100, it would be promised, and
    the trials say that it must not be. Nobody has measured a restaurant's bath: the planner's range
    goes down to air's.
    """
    for trial in trials():
        if trial.name in LEANING:

            def chance(low: float, high: float, setup: Trial = trial) -> float:
                bath = Medium(ICE_WATER.celsius, Range(low, high, "tried here"))
                return plan(replace(setup.setup, bath=bath)).chance

            assert chance(20, 20) < 0.5 and chance(40, 40) > 0.9
            assert chance(50, 100) > 0.9
            shallower = deepest(trial.setup)
            assert shallower is not None
            assert shallower.setup.load.depth < 2 * 0.0254  # type: ignore[union-attr]


# --- Clostridium perfringens --------------------------------------------------------------------

CHICKEN, BEEF = CARDINALS


def test_rates_of_the_cardinal_model() -> None:
    """Recomputed at 15, 20, 30, 37, 43 and 46 °C from the published cardinal values."""
    for cardinal, expected in (
        (CHICKEN, [0.2149, 0.6959, 2.4292, 4.1361, 5.6238, 6.0511]),
        (BEEF, [0.2028, 0.8295, 3.0274, 4.7769, 5.6329, 5.4278]),
    ):
        found = [cardinal.rate(celsius) for celsius in (15, 20, 30, 37, 43, 46)]
        assert found == pytest.approx(expected, abs=6e-5)


def both(curve: list[Point], lag: float = LAG) -> tuple[float, float]:
    chicken, beef = (log10_growth(work(curve, cardinal), lag) for cardinal in CARDINALS)
    return chicken, beef


@pytest.mark.parametrize(
    ("curve", "recomputed"),
    [
        ([(0, 54.4), (90, 27.0)], (1.05, 1.24)),
        ([(0, 54.4), (180, 27.0)], (3.41, 3.83)),
        # The federal and the Food Code's own limits: models exceed 1 log on both.
        ([(0, celsius(130)), (90, celsius(80)), (390, celsius(40))], (1.59, 1.90)),
        ([(0, celsius(135)), (120, celsius(70)), (360, celsius(41))], (1.39, 1.66)),
    ],
)
def test_growth_along_a_geometric_cooling(
    curve: list[Point], recomputed: tuple[float, float]
) -> None:
    assert both(curve) == pytest.approx(recomputed, abs=0.006)


def test_the_lag_is_what_two_published_predictions_imply() -> None:
    """Juneja, Marks & Thippareddi 2008: about 1.1 (SE 0.08) and 3.6 (SE 0.07) log in 1.5 and 3 h.

    Twice the work is twice the time: from 1.1 and 3.6 follow 5.76 of work and a lag of 3.22. The
    cardinal values give 5.53 and 6.01 for the same profile.
    """
    assert log10_growth(5.76, 3.22) == pytest.approx(1.1, abs=0.05)
    assert log10_growth(2 * 5.76, 3.22) == pytest.approx(3.6, abs=0.05)
    profile: list[Point] = [(0, 54.4), (90, 27.0)]
    assert [work(profile, one) for one in CARDINALS] == pytest.approx([5.53, 6.01], abs=0.006)


def test_slow_coolings_are_over_predicted_as_the_text_says() -> None:
    """Disagreements with published observations, all on the upper side; kept, not tuned away."""
    # Juneja, Snyder & Gygnarowicz-Provost 1994: 54.4 to 7.2 °C in 15 h, ground beef, minimal growth.
    slow: list[Point] = [(0, 54.4), (15 * 60, 7.2)]
    for cardinal, recomputed in zip(CARDINALS, (8.6, 9.6), strict=True):
        assert (work(slow, cardinal) - LAG) / log(10) == pytest.approx(recomputed, abs=0.06)
    assert both(slow) == (growth.CEILING_LOG10, growth.CEILING_LOG10)

    # Jpn J Vet Sci 47:259: falling from 60 °C at 25 to 15 °C/h no change, at 10 at most 10-fold.
    def steady(rate: float) -> tuple[float, float]:
        minutes = [step * 0.5 / rate * 60 for step in range(91)]
        return both([(at, 60 - rate * at / 60) for at in minutes])

    assert steady(25) == pytest.approx((0.7, 0.8), abs=0.06)
    assert steady(15) == pytest.approx((1.9, 2.2), abs=0.06)
    assert steady(10) == pytest.approx((3.6, 4.0), abs=0.06)
    assert "over-predicts slow coolings" in growth.behind()


def test_nothing_grows_at_4_and_8_and_much_within_12_hours_at_28_to_42_degrees() -> None:
    """Juneja et al. 1994b: from 3 to more than 7 log within 12 h; none at 4, 8 and 12 °C.

    At 12 °C the model's 12 h give less than a tenth of a log after the lag.
    """
    for temperature in (4.0, 8.0):
        assert both([(0, temperature), (720, temperature)], 0.0) == (0, 0)
    assert max(both([(0, 12.0), (720, 12.0)])) < 0.1
    for temperature in (28.0, 37.0, 42.0):
        assert min(both([(0, temperature), (720, temperature)])) > 4
