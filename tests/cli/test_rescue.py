"""Which act still saves a batch: `haccp rescue`, `haccp show`, and what an entry says of it."""

import json
from typing import Any

import pytest

from tests.kitchens import Kitchen, flat, log

SLOW = (
    ("12:55", 'method stew "walk-in" --nature thick --air 38F --depth 2in'),
    ("13:00", "cool stew 135"),
    ("13:30", "cool stew 118"),
    ("14:00", "cool stew 106"),
)
QUICK = (("13:00", "cool stew 135"), ("13:30", "cool stew 88"), ("14:00", "cool stew 64"))


def acts(kitchen: Kitchen, command: str = "rescue stew --json") -> dict[str, dict[str, Any]]:
    told = json.loads(kitchen.says(command))
    return {one["act"]: one for one in (told.get("rescue") or told)["acts"]}


def test_the_best_act_comes_first_and_all_are_said_to_be_an_estimate(kitchen: Kitchen) -> None:
    log(kitchen, *SLOW)
    told = kitchen.says("rescue stew")
    assert flat(told).startswith("white-bean stew (stew) ESTIMATE from models")
    assert "106 °F at 14:00" in flat(told)
    assert "thick, 2 in deep in a pan, the cooler at 38 °F, as measured" in flat(told)
    assert "70 °F by 15:00 and 41 °F by 19:00" in flat(told)
    found = acts(kitchen)
    shares = [one["chances"][-1] for one in found.values()]
    assert shares == sorted(shares, reverse=True)
    assert next(iter(found)) == "1 in (2.5 cm) deep in pans, in the freezer, in moved air"
    assert found["in an ice bath in the cooler, stirred"]["chances"][1] == pytest.approx(0.77, 0.02)
    assert found["leave it as it is, by its own readings"]["chances"][1] <= 0.05
    assert all(one["owned"] for one in found.values()), "nobody said what the kitchen owns"
    assert "not owned" not in told


def test_what_the_kitchen_owns_comes_first(kitchen: Kitchen) -> None:
    log(kitchen, *SLOW)
    assert "it has: ice bath, 2-inch pans." in kitchen.says(
        'kitchen --owns "Ice  bath, 2-inch pans" --by AR'
    )
    found = acts(kitchen)
    owned = [one["owned"] for one in found.values()]
    assert owned == sorted(owned, reverse=True)
    assert next(iter(found)) == "1 in (2.5 cm) deep in pans, in an ice bath in the cooler, stirred"
    assert not found["in the blast chiller"]["owned"]
    assert found["1 in (2.5 cm) deep in pans, in the cooler"]["owned"]
    told = flat(kitchen.says("rescue stew"))
    assert told.index("deep in pans, in an ice bath") < told.index("act, not owned")
    assert told.index("act, not owned") < told.index("in the blast chiller")
    assert "it has" not in kitchen.says("kitchen --owns '' --by AR")
    assert all(one["owned"] for one in acts(kitchen).values())


def test_equipment_that_is_not_known_is_refused(kitchen: Kitchen) -> None:
    told = kitchen.refuses('kitchen --owns "ice bath, oven"')
    assert "'oven' is no equipment that is known here" in told
    assert "blast chiller" in told


def test_show_tells_it_of_a_batch_at_risk_and_of_no_other(kitchen: Kitchen) -> None:
    log(kitchen, *SLOW)
    assert "in an ice bath in the cooler, stirred" in flat(kitchen.says("show stew"))
    shown = acts(kitchen, "show stew --json")
    assert shown == acts(kitchen)
    log(kitchen, ("14:10", 'batch "bean stew" --code other'), ("14:10", "cool other 136"))
    assert json.loads(kitchen.says("show other --json"))["rescue"] is None
    assert json.loads(kitchen.says("show well-1 --json"))["rescue"] is None
    assert "ice bath" not in kitchen.says("show other")


def test_an_entry_names_the_command_where_the_food_may_not_make_it(kitchen: Kitchen) -> None:
    answer = log(kitchen, *SLOW)
    assert "(best: haccp rescue stew)" in answer.splitlines()[1]


def test_a_batch_on_course_gets_none_of_it(kitchen: Kitchen) -> None:
    answer = log(kitchen, ("12:50", 'method stew "ice bath" --nature stirred --air 33F'), *QUICK)
    assert "on course" in answer
    assert "haccp rescue" not in answer
    assert "ESTIMATE from models" not in kitchen.says("show stew")
    assert json.loads(kitchen.says("show stew --json"))["rescue"] is None
    assert flat(kitchen.says("rescue stew")).endswith(
        "on course by its readings: nothing need be done."
    )


def test_what_is_done_already_is_not_proposed(kitchen: Kitchen) -> None:
    log(kitchen, *SLOW)
    log(kitchen, ("14:01", 'method stew "ice-bath, stirred" --nature stirred --air 33F'))
    found = acts(kitchen)
    assert "in an ice bath in the cooler, stirred" not in found
    assert "in an ice bath in the cooler, not stirred" in found
    assert "the cooler at 38 °F, as usual" in flat(kitchen.says("rescue stew"))


def test_the_cooler_is_as_warm_as_it_was_checked(kitchen: Kitchen) -> None:
    """In air of 48 °F nothing comes to 41 °F, however shallow."""
    log(kitchen, ("12:40", "hold walk-in 48"), ("13:00", "cool stew 135"))
    log(kitchen, ("13:30", "cool stew 118 --in walk-in"), ("14:00", "cool stew 106 --in walk-in"))
    assert "the cooler at 48 °F, as checked" in flat(kitchen.says("rescue stew"))
    assert acts(kitchen)["1 in (2.5 cm) deep in pans, in the cooler"]["chances"][1] == 0.01


def test_what_nobody_said_is_told_as_such(kitchen: Kitchen) -> None:
    log(kitchen, ("13:00", "cool stew 135"), ("13:30", "cool stew 126"), ("14:00", "cool stew 118"))
    told = flat(kitchen.says("rescue stew"))
    assert "thick or open liquid, as nobody said, 2, 3 or 4 in deep in a pan" in told


@pytest.mark.parametrize(
    ("command", "told"),
    [
        ('--container "stock pot"', "6, 8 or 10 in deep in a pot, as nobody said"),
        ('--container "20-qt pot" --depth 9in', "9 in deep in a pot"),
        ('--container "4-inch pan"', "4 in deep in a pan"),
        ("--nature 'open liquid'", "counted as like vegetable soup"),
        ("--air 40F --to 43F", "the cooler at 43 °F, as measured"),
        ("--air 0F", "the cooler at 38 °F, as usual, not measured"),
        ("--air 78F", "the cooler at 38 °F, as usual, not measured"),
    ],
)
def test_what_was_said_of_the_cooling_is_what_is_asked(
    kitchen: Kitchen, command: str, told: str
) -> None:
    log(
        kitchen,
        ("12:30", 'batch "pea soup" --code soup'),
        ("12:31", f"method soup shelf {command}"),
        ("13:00", "cool soup 135"),
    )
    assert told in flat(kitchen.says("rescue soup"))


def test_one_reading_is_enough_to_ask_and_tells_nothing_of_leaving_it(kitchen: Kitchen) -> None:
    log(kitchen, ("13:00", "cool stew 135"))
    found = acts(kitchen)
    assert "in the blast chiller" in found
    assert not [words for words in found if words.startswith("leave")]


def reheats(kitchen: Kitchen) -> list[str]:
    return [words for words in acts(kitchen) if words.startswith("reheat")]


def test_to_reheat_is_proposed_once_and_while_the_first_stage_is_open(kitchen: Kitchen) -> None:
    log(kitchen, *SLOW)
    assert len(reheats(kitchen)) == 1
    log(kitchen, ("14:10", "reheat stew 167 --held 15 --yes"), ("14:20", "cool stew 140"))
    log(kitchen, ("14:30", "cool stew 134"), ("15:00", "cool stew 126"))
    assert not reheats(kitchen), "it was reheated before"


def test_below_70_degrees_it_is_not_reheated(kitchen: Kitchen) -> None:
    log(kitchen, *QUICK, ("15:00", "cool stew 60"), ("16:00", "cool stew 58"))
    assert "haccp rescue stew" in log(kitchen, ("17:00", "cool stew 57"))
    found = acts(kitchen)
    assert not reheats(kitchen)
    assert {len(one["chances"]) for one in found.values()} == {1}


def test_food_that_is_not_cooling_has_nothing_to_be_estimated(kitchen: Kitchen) -> None:
    log(kitchen, ("13:00", "cook stew 170"))
    assert "in no cooling that acts can be estimated for" in kitchen.refuses("rescue stew")


def test_food_that_did_not_meet_a_stage_is_not_saved(kitchen: Kitchen) -> None:
    log(kitchen, *SLOW, ("14:30", "cool stew 95"))
    kitchen.at("2026-10-26T15:10-06:00")
    answer = kitchen.run("cool stew 80").output
    assert answer.startswith("TOO SLOW stew 80 °F. Was not 70 °F or below by 15:00.")
    assert "haccp rescue" not in answer
    assert "in no cooling that acts can be estimated for" in kitchen.refuses("rescue stew")
    assert json.loads(kitchen.run("show stew --json").stdout)["rescue"] is None


def roast(kitchen: Kitchen, *more: str) -> None:
    opens = f'batch "roast beef" --code roast --kind "whole roast" {" ".join(more)}'
    log(kitchen, ("12:30", opens), ("13:00", "cool roast 135"), ("13:30", "cool roast 130"))
    log(kitchen, ("14:00", "cool roast 126"))


def test_a_whole_roast_is_told_as_one(kitchen: Kitchen) -> None:
    roast(kitchen, "--oven convection --weight 9lb")
    told = flat(kitchen.says("rescue roast"))
    assert "whole, 9 lb, the cooler at 38 °F" in told
    assert "in pans" not in told and "stirred" not in told.split("Below")[0]
    found = acts(kitchen, "rescue roast --json")
    for words in (
        "leave it as it is, by its own readings",
        "in the freezer, in moved air",
        "in the blast chiller",
        "bagged, in an ice bath in the cooler",
        "cut into pieces 2 in (5 cm) thick, in the cooler",
        "cut into pieces 2 in (5 cm) thick, bagged, in an ice bath in the cooler",
    ):
        assert words in found
    best, whole = (
        found[f"{cut}bagged, in an ice bath in the cooler"]["chances"][0]
        for cut in ("cut into pieces 2 in (5 cm) thick, ", "")
    )
    assert best > whole, "smaller pieces are colder sooner"
    assert json.loads(kitchen.says("show roast --json"))["rescue"]


def test_a_roast_in_its_bath_is_not_told_to_go_there(kitchen: Kitchen) -> None:
    roast(kitchen, "--oven none")
    assert "whole, 5, 10 or 15 lb, as nobody said" in flat(kitchen.says("rescue roast"))
    log(kitchen, ("14:01", 'method roast "ice bath" --air 33F'))
    assert "bagged, in an ice bath in the cooler" not in acts(kitchen, "rescue roast --json")


def test_the_table_fits_eighty_columns(kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    log(kitchen, *SLOW)
    kitchen.says('kitchen --owns "freezer" --by AR')
    assert max(map(len, kitchen.says("rescue stew").splitlines())) <= 80


def test_of_the_typed_air_and_the_units_check_the_newer_counts(kitchen: Kitchen) -> None:
    log(kitchen, *SLOW)
    assert "the cooler at 38 °F, as measured" in flat(kitchen.says("rescue stew"))
    log(kitchen, ("14:01", "hold walk-in 46"))
    assert "the cooler at 46 °F, as checked" in flat(kitchen.says("rescue stew"))
    again = 'method stew "walk-in" --nature thick --air 36F --depth 2in --from-start'
    log(kitchen, ("14:05", again))
    assert "the cooler at 36 °F, as measured" in flat(kitchen.says("rescue stew"))
