"""Each claim that the README makes about estimates, and the test that holds it.

The claims are the section's own words, all of them and in their order: who adds one adds its test.
"""

import ast
import json
import re
from pathlib import Path

import pytest

from haccp.physics.forecast import Goal, Start, forecast
from haccp.physics.forecast_prior import Nature, Surroundings
from tests.kitchens import Kitchen, flat, log
from tests.test_readme import README

HERE = "tests/test_readme_estimates.py"
SAID = "tests/cli/test_estimates.py"
CHANGES = "tests/cli/test_estimates_of_changes.py"
PLANS = "tests/cli/test_predict.py"
RESCUE = "tests/cli/test_rescue.py"
PHYSICS = "tests/physics/test_rescue.py"

CLAIMS = (
    (
        "While a batch cools, each entry, `status` and `haccp curve` say what to expect of it,",
        (HERE, "test_entry_status_and_curve_say_what_to_expect"),
    ),
    (
        "from a model that is fitted to its readings:",
        (HERE, "test_another_reading_is_another_estimate"),
    ),
    (
        'never "on course" from fewer than three readings over an hour,',
        (CHANGES, "test_two_readings_promise_nothing_of_the_second_stage"),
    ),
    (
        "nor where nobody said how or where it cools,",
        (CHANGES, "test_of_a_quick_cooling_nothing_is_promised_until_somebody_says_how"),
    ),
    (
        "nor where the newest readings alone do not agree;",
        (CHANGES, "test_what_is_said_of_each_cooling_that_once_was_called_on_course"),
    ),
    (
        "and told as early as two that it may not make it.",
        (SAID, "test_two_readings_may_warn_and_never_promise"),
    ),
    (
        '`haccp cooling-method stew "ice bath, stirred" --nature stirred --air 33F` says how it '
        "cools.",
        (HERE, "test_how_it_cools_is_said_as_the_readme_does"),
    ),
    (
        "Said first in mid-cooling (without `--from-start`)",
        (CHANGES, "test_a_first_method_in_mid_cooling_is_a_change"),
    ),
    ("or said otherwise,", (SAID, "test_a_change_of_method_starts_a_new_fit")),
    (
        "put into another unit",
        (CHANGES, "test_food_moved_into_a_unit_is_fitted_from_there"),
    ),
    (
        "or taken out, it starts a new fit;",
        (CHANGES, "test_food_taken_out_of_its_unit_is_fitted_from_there"),
    ),
    (
        "readings that no longer fall as before are told of.",
        (CHANGES, "test_what_is_said_of_each_cooling_that_once_was_called_on_course"),
    ),
    (
        "The kitchen's own finished coolings of the same food, container, depth and method sharpen "
        "it;",
        (SAID, "test_a_kitchen_learns_from_its_own_finished_coolings"),
    ),
    (
        "`haccp learned` shows how they went.",
        ("tests/cli/test_learned.py", "test_counts_and_medians_of_three_coolings"),
    ),
    (
        "So does the depth of thick food (`--depth 2in`).",
        (SAID, "test_a_depth_on_record_sharpens_what_is_expected_of_thick_food"),
    ),
    (
        '"Measure it by" is when a reading tells most, and below what it is by then if it will '
        "make it.",
        (SAID, "test_the_next_reading_is_asked_for_when_it_tells_most_and_why"),
    ),
    (
        '`haccp plan-cooling "bean stew" "12 gal" --depth 2in --air 38F` estimates before cooking '
        "when it will be cold, how deep it may be, how many pans that makes, and what would help;",
        (HERE, "test_a_plan_says_when_how_deep_how_many_and_what_would_help"),
    ),
    ("it needs no record.", (PLANS, "test_it_works_without_a_record_and_makes_none")),
    ("`--batch stew` stores the plan,", (PLANS, "test_a_plan_is_stored_with_its_batch")),
    (
        "and the report draws it faintly behind the readings.",
        (HERE, "test_the_report_draws_the_plan"),
    ),
    (
        '`--method "ice bath" --then walk-in --at 70F` is two places one after the other;',
        (PLANS, "test_a_bath_and_then_the_walk_in"),
    ),
    (
        "`--start 106F --left 60min,5h`,",
        (PLANS, "test_from_now_on_with_the_time_that_is_left"),
    ),
    (
        "or `--from-now stew`, asks what would happen from now on.",
        (PLANS, "test_from_now_on_by_the_record"),
    ),
    (
        "In a bath it answers stirred and not stirred.",
        (PLANS, "test_in_a_bath_stirred_and_not_stirred_stand_side_by_side"),
    ),
    (
        "A `refrigerator` or `reach-in` is warmed by what is put into it: type the amount.",
        (PLANS, "test_much_food_warms_a_small_cooler_and_a_walk_in_not"),
    ),
    (
        "Food that it does not know is taken as the nearest kind, said so;",
        (PLANS, "test_food_that_is_not_known_is_answered_as_the_nearest_kind_and_said"),
    ),
    (
        "amounts and depths are read as people write them (`12 gallons`, `1 1/2 gal`, `50mm`, "
        "`1,5 l`).",
        (PLANS, "test_amounts_and_depths_are_read_as_people_write_them"),
    ),
    (
        "Where a batch may not make it, the answer names `haccp rescue stew`:",
        (RESCUE, "test_an_entry_names_the_command_where_the_food_may_not_make_it"),
    ),
    (
        "the chance of each act from now on, to leave it, an ice bath stirred or not, an ice wand, "
        "a freezer, a blast chiller, moved air, ice as an ingredient, shallower pans,",
        (HERE, "test_each_act_that_the_readme_names_has_its_chance"),
    ),
    ("smaller pieces of a whole roast,", (RESCUE, "test_a_whole_roast_is_told_as_one")),
    (
        "or (once, while the first stage is open) to reheat it and start again.",
        (RESCUE, "test_to_reheat_is_proposed_once_and_while_the_first_stage_is_open"),
    ),
    (
        "The likeliest comes first,",
        (RESCUE, "test_the_best_act_comes_first_and_all_are_said_to_be_an_estimate"),
    ),
    (
        'and before all what the kitchen owns: `haccp kitchen --owns "ice bath, freezer, 2-inch '
        'pans"`.',
        (RESCUE, "test_what_the_kitchen_owns_comes_first"),
    ),
    (
        "`haccp show` tells the same of such a batch, and of no other.",
        (RESCUE, "test_show_tells_it_of_a_batch_at_risk_and_of_no_other"),
    ),
    (
        "A chance is a share of what the models cannot rule out,",
        (PHYSICS, "test_no_time_left_is_no_chance"),
    ),
    (
        "weighed by the readings so far in a cooler's measured air, not of real kitchens.",
        (HERE, "test_what_the_readings_so_far_tell_weighs_in_measured_air_alone"),
    ),
    ("An estimate changes no verdict.", (SAID, "test_an_estimate_changes_no_verdict")),
    (
        "The models know nothing of your kitchen but what is typed;",
        (HERE, "test_of_two_batches_of_which_the_same_is_typed_the_same_is_said"),
    ),
    (
        "the benchmarks say how often they were right in simulation, and where published coolings "
        "went otherwise.",
        (HERE, "test_the_benchmarks_are_there"),
    ),
)
LEVELS = (Goal(70.0, 120.0), Goal(41.0, 360.0))
SLOW = (
    ("12:55", 'method stew "walk-in" --nature thick --air 38F --depth 2in'),
    ("13:00", "cool stew 135"),
    ("13:30", "cool stew 118"),
    ("14:00", "cool stew 106"),
)


def test_every_claim_of_the_section_stands_here() -> None:
    section = re.search(r"## Estimates\n(.*?)\n## ", README, re.DOTALL)
    assert section
    assert " ".join(words for words, _ in CLAIMS) == flat(section[1])


@pytest.mark.parametrize("held", [held for _, held in CLAIMS])
def test_the_test_of_each_claim_is_there(held: tuple[str, str]) -> None:
    path, name = held
    tree = ast.parse((Path(__file__).parents[1] / path).read_text(encoding="utf-8"))
    assert any(isinstance(one, ast.FunctionDef) and one.name == name for one in tree.body)


def test_entry_status_and_curve_say_what_to_expect(kitchen: Kitchen) -> None:
    assert "Estimate: 70 °F between " in log(kitchen, *SLOW)
    assert "70 °F expected " in flat(kitchen.says("status"))
    drawn = json.loads(kitchen.says("curve stew --json"))["estimate"]
    assert [one["limit"] for one in drawn["stages"]] == ["cooling-stage-1", "cooling-stage-2"]


def test_another_reading_is_another_estimate() -> None:
    def middle(last: float) -> float:
        shown = [(0.0, 135.0), (30.0, 118.0), (60.0, last)]
        around = Surroundings.measured(38.0)
        found = forecast(shown, around, Nature.THICK, Start(0.0, 0.0), LEVELS)
        assert found
        return found.arrivals[0].at.middle

    assert middle(104.0) < middle(106.0) < middle(108.0)


def test_how_it_cools_is_said_as_the_readme_does(kitchen: Kitchen) -> None:
    log(kitchen, ("12:55", 'cooling-method stew "ice bath, stirred" --nature stirred --air 33F'))
    log(kitchen, ("13:00", "cool stew 135"))
    shown = flat(kitchen.says("show stew"))
    assert "cooling setup ice bath, stirred" in shown and "around it 33F" in shown


def test_a_plan_says_when_how_deep_how_many_and_what_would_help(kitchen: Kitchen) -> None:
    asks = 'plan-cooling "bean stew" "12 gal" --depth 2in --air 38F'
    told = json.loads(kitchen.says(f"{asks} --json"))
    assert [one["level"] for one in told["stages"]] == [70.0, 41.0]
    assert all(one["early_min"] < one["late_min"] for one in told["stages"])
    assert told["most_with_90_percent"]["depth_in"] < 2
    assert "full-size" in told["most_with_90_percent"]["containers"]
    assert told["changes"]


def test_the_report_draws_the_plan(kitchen: Kitchen, tmp_path: Path) -> None:
    log(kitchen, *SLOW)

    def size(name: str) -> int:
        kitchen.says(f"report today --output {tmp_path / name} --force")
        return (tmp_path / name).stat().st_size

    alone = size("alone.pdf")
    kitchen.says('plan-cooling "bean stew" "12 gal" --depth 2in --method walk-in --batch stew')
    assert size("planned.pdf") > alone


def test_each_act_that_the_readme_names_has_its_chance(kitchen: Kitchen) -> None:
    log(kitchen, *SLOW)
    told = {one["act"] for one in json.loads(kitchen.says("rescue stew --json"))["acts"]}
    for words in (
        "leave it as it is",
        "in an ice bath in the cooler, stirred",
        "in an ice bath in the cooler, not stirred",
        "ice wand",
        "in the freezer",
        "in the blast chiller",
        "in moved air",
        "of its weight as ice",
        "1 in (2.5 cm) deep in pans",
    ):
        assert any(words in act for act in told), words


def test_what_the_readings_so_far_tell_weighs_in_measured_air_alone(kitchen: Kitchen) -> None:
    """What falls fast in measured air is no deep pan; where nobody measured the air, it may be."""

    def saved(code: str, air: str) -> float:
        log(kitchen, ("12:50", f"batch stew --code {code}"))
        log(kitchen, ("12:55", f'method {code} "walk-in" --nature thick {air}'))
        log(kitchen, ("13:00", f"cool {code} 135"), ("14:00", f"cool {code} 98"))
        told = json.loads(kitchen.says(f"rescue {code} --json"))["acts"]
        (chance,) = (one["chances"][0] for one in told if one["act"] == "in the blast chiller")
        return float(chance)

    assert saved("measured", "--air 38F") > 1.2 * saved("not-measured", "")


def test_of_two_batches_of_which_the_same_is_typed_the_same_is_said(kitchen: Kitchen) -> None:
    log(kitchen, ("12:50", 'batch "white-bean stew" --code other'))
    for clock, command in SLOW:
        mine = log(kitchen, (clock, command))
        theirs = log(kitchen, (clock, command.replace("stew", "other", 1)))
    assert theirs == mine.replace("stew", "other")


def test_the_benchmarks_are_there() -> None:
    found = {path.name for path in (Path(__file__).parents[1] / "benchmarks").glob("*.py")}
    assert {"forecast_table.py", "planning.py", "learning.py", "rescue.py"} <= found
