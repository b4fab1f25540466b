"""The chances of what still saves a cooling; the reference case is the planner's own, by itself."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from haccp.equipment import EVERYTHING, parse_equipment
from haccp.errors import Refused
from haccp.physics import convection
from haccp.physics.cooling_cases import model_of
from haccp.physics.cooling_setup import Consistency, Medium, Pan, Setup, Stage
from haccp.physics.planning import plan
from haccp.physics.properties import foods
from haccp.physics.rescue import Act, acts, chance, is_sure_deeper, weigh
from haccp.quantities import INCH_M


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32) / 1.8


def left(start: float, *minutes: float) -> Setup:
    """Thick stew 2 in deep in a walk-in at 38 °F, with so many minutes to 70 and to 41 °F."""
    levels = (70, 41)[-len(minutes) :]
    stages = (Stage(celsius(at), m) for at, m in zip(levels, minutes, strict=True))
    return Setup(
        foods()["bean-stew"].composition,
        Consistency.THICK,
        Pan(19.5 * INCH_M, 11.5 * INCH_M, 2 * INCH_M),
        Medium(celsius(38), convection.STILL_AIR),
        celsius(start),
        tuple(stages),
    )


def every(setup: Setup) -> dict[str, tuple[float, ...]]:
    return {act.words: chance([act.change(setup)]) for act in acts(2.0)}


def test_the_reference_case_at_106_degrees() -> None:
    """Sixty and 300 minutes left: the figures of a prototype on the same models."""
    found = {words: shares[-1] for words, shares in every(left(106, 60, 300)).items()}
    assert chance([left(106, 60, 300)])[-1] == 0
    assert found["in an ice bath in the cooler, stirred"] == pytest.approx(0.77, abs=0.01)
    assert found["in an ice bath in the cooler, not stirred"] == 0
    assert found["in an ice bath in the room, stirred"] == pytest.approx(0.36, abs=0.01)
    assert found["in the blast chiller"] == pytest.approx(0.62, abs=0.01)
    assert found["in the freezer, in moved air"] == pytest.approx(0.16, abs=0.01)
    assert found["1 in (2.5 cm) deep in pans, in the freezer, in moved air"] > 0.99


def test_the_reference_case_at_95_degrees() -> None:
    found = {words: shares[-1] for words, shares in every(left(95, 60, 300)).items()}
    assert found["in an ice bath in the cooler, stirred"] == pytest.approx(0.93, abs=0.02)
    assert found["in an ice bath in the cooler, not stirred"] == pytest.approx(0.07, abs=0.02)
    assert found["in an ice bath in the room, stirred"] == pytest.approx(0.36, abs=0.02)
    assert found["in the blast chiller"] == pytest.approx(0.98, abs=0.02)
    assert found["in the freezer, in moved air"] == pytest.approx(0.57, abs=0.02)


def test_what_cools_harder_is_likelier() -> None:
    found = {words: shares[-1] for words, shares in every(left(100, 60, 300)).items()}
    order = (
        "in moved air, right at the fan",
        "in the freezer, in moved air",
        "in the blast chiller",
        "1 in (2.5 cm) deep in pans, in the blast chiller",
    )
    shares = [found[words] for words in order]
    assert shares == sorted(shares)
    stirred = found["in an ice bath in the cooler, stirred"]
    assert stirred > found["in an ice bath in the room, stirred"]
    assert stirred > found["in an ice bath in the cooler, not stirred"]


@pytest.mark.parametrize("consistency", Consistency)
def test_shallower_food_is_never_less_likely_to_make_it(consistency: Consistency) -> None:
    """But for a bath in a warm room, where shallow food has more of the room's air above it."""
    asked = replace(left(110, 70, 310), consistency=consistency)
    for deeper, shallower in ((4, 3), (3, 2), (2, 1)):
        for act in acts(0):
            if "in the room" in act.place:
                continue
            shares = [
                chance([act.change(replace(asked, load=Pan(0.5, 0.3, depth * INCH_M)))])
                for depth in (deeper, shallower)
            ]
            assert all(a <= b for a, b in zip(*shares, strict=True)), (act.words, deeper)


@pytest.mark.parametrize("consistency", Consistency)
def test_more_time_and_cooler_food_are_never_less_likely_to_make_it(
    consistency: Consistency,
) -> None:
    for act in acts(2.0):
        for one, other in (
            (left(110, 40, 280), left(110, 80, 320)),
            (left(110, 60, 300), left(95, 60, 300)),
            (left(60, 90), left(60, 150)),
        ):
            shares = [
                chance([act.change(replace(it, consistency=consistency))]) for it in (one, other)
            ]
            assert all(a <= b for a, b in zip(*shares, strict=True)), act.words


def test_a_later_stage_counts_with_those_before_it() -> None:
    for shares in every(left(106, 60, 300)).values():
        assert shares[0] >= shares[1]


def test_no_time_left_is_no_chance() -> None:
    assert all(s == (0.0, 0.0) for w, s in every(left(106, -5, -5)).items() if "as ice" not in w)
    assert chance([left(50, 0)]) == (0.0,)


def test_the_planner_says_the_same_of_one_act() -> None:
    asked = left(106, 60, 300)
    for act in acts(2.0):
        changed = act.change(asked)
        if changed.start > changed.stages[0].celsius:
            found = plan(changed)
            assert chance([changed])[-1] == pytest.approx(found.chance), act.words


def test_what_nobody_said_is_taken_as_each_as_likely() -> None:
    asked = left(106, 60, 300)
    two = [replace(asked, load=Pan(0.5, 0.3, depth * INCH_M)) for depth in (2, 4)]
    bath = next(act for act in acts(0) if act.place == "in an ice bath in the cooler, stirred")
    each = [chance([bath.change(one)])[-1] for one in two]
    assert chance([bath.change(one) for one in two])[-1] == pytest.approx(sum(each) / 2, abs=0.02)


def test_air_that_is_warmer_than_the_food_cools_nothing() -> None:
    warm = replace(left(60, 120), air=Medium(celsius(72), convection.STILL_AIR))
    assert chance([warm]) == (0.0,)


def test_a_wand_helps_food_that_is_stirred_and_is_nothing_else() -> None:
    asked = replace(left(106, 90, 330), consistency=Consistency.STIRRED)
    assert chance([replace(asked, wand=True)])[0] > chance([asked])[0]
    with pytest.raises(Refused, match="stirred with"):
        plan(replace(left(106, 60, 300), wand=True))


def test_what_is_sure_when_deeper_is_not_told_again_when_shallower() -> None:
    deep, shallow = Act("there", lambda one: one, "", 2.0), Act("there", lambda one: one, "", 1.0)
    assert is_sure_deeper(shallow, [(deep, 0.995)])
    assert not is_sure_deeper(shallow, [(deep, 0.9)])
    assert not is_sure_deeper(deep, [(shallow, 0.995)])


def test_equipment_is_read_as_it_is_typed() -> None:
    owned = parse_equipment('Ice Bath, blast chillers, 4-inch pans, 2" pan, 5 cm pans')
    assert owned.things == {"ice", "ice bath", "blast chiller"}
    assert owned.pan_in == 4
    other = parse_equipment("ice-bath, Ice-Wands, blast-chiller, 2½-inch pans, 50mm pans")
    assert other.things == {"ice", "ice bath", "ice wand", "blast chiller"}
    assert other.pan_in == 2.5
    assert float(parse_equipment("10cm pans").pan_in) == pytest.approx(3.937, abs=1e-3)


@pytest.mark.parametrize(
    "typed", ["", "ice bath,", "oven", "pans", "20-inch pans", "0 in pans", "ice bath; freezer"]
)
def test_other_equipment_is_refused(typed: str) -> None:
    with pytest.raises(Refused, match="pans"):
        parse_equipment(typed)


def test_an_act_is_owned_with_all_that_it_takes() -> None:
    owned = parse_equipment("freezer, 1-inch pans")
    for act, (depth, need) in product(
        acts(8), ((0.0, "freezer"), (1.0, "freezer"), (1.0, ""), (2.0, "freezer"))
    ):
        if (act.depth_in, act.needs) == (depth, need):
            assert act.is_owned(owned) is (depth <= 1)
    assert all(act.is_owned(EVERYTHING) for act in acts(8))


def deep(inches: float, start: float) -> Setup:
    one = left(start, 60, 300)
    assert isinstance(one.load, Pan)
    return replace(one, load=replace(one.load, depth=inches * INCH_M))


def test_how_it_cooled_so_far_tells_how_deep_it_stands() -> None:
    """Readings of a pan 2 in deep, by the planner's middle case: of three depths that is it."""
    minutes = (0.0, 20.0, 40.0, 60.0)
    model = model_of(deep(2.0, 135.0)).temperatures(np.array(minutes))
    shown = [float(one) for one in np.median(model, axis=0)]
    now = [deep(inches, shown[-1] * 1.8 + 32) for inches in (2.0, 4.0, 6.0)]
    weights = weigh(now, minutes, shown)
    two, four, six = weights / weights.sum()
    assert two > 0.5 > four > six
    alike, weighed = (
        [chance([act.change(one) for one in now], some)[-1] for act in acts(6.0)]
        for some in (None, weights)
    )
    assert max(b - a for a, b in zip(alike, weighed, strict=True)) > 0.1, "shallower than feared"


def test_what_cools_like_no_case_is_counted_with_all_alike() -> None:
    now = [deep(inches, 60.0) for inches in (2.0, 4.0)]
    weights = weigh(now, (0.0, 20.0), [celsius(135.0), celsius(60.0)])
    assert list(weights) == [1.0, 1.0]
