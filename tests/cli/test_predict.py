"""The plan before cooking, as a cook asks for it. Kitchens are invented."""

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from haccp.cli.main import cli
from haccp.cli.session import Session
from tests.kitchens import Kitchen, log

STEW = ["bean stew", "12 gal", "--depth", "2in"]


def run(db: Path, *words: str) -> Result:
    return CliRunner().invoke(cli, ["predict", *words], obj=Session(db), prog_name="haccp")


@pytest.fixture
def nowhere(tmp_path: Path) -> Path:
    return tmp_path / "none.sqlite3"


def asked(db: Path, *words: str) -> dict[str, Any]:
    result = run(db, *words, "--json")
    assert result.exit_code == 0, result.output
    return dict(json.loads(result.stdout))


def test_it_works_without_a_record_and_makes_none(nowhere: Path) -> None:
    result = run(nowhere, *STEW)
    assert result.exit_code == 0
    assert not nowhere.exists()
    assert "FDA Food Code 2022" in result.output


def test_two_inches_in_a_walk_in_are_not_promised_and_an_inch_may_be(nowhere: Path) -> None:
    """Roberts et al. 2013, Olds et al. 2013 (abstracts): 2-in pans in a walk-in failed."""
    for more in ([], ["--moving"], ["--covered"]):
        assert asked(nowhere, *STEW, *more)["chance"] < 0.1
    found = asked(nowhere, *STEW, "--moving")
    assert found["chance_words"].startswith("very unlikely")
    assert found["most_with_90_percent"]["depth_in"] < 2
    assert found["most_with_90_percent"]["chance"] >= 0.9
    assert "13 full-size or 26 half-size" in found["most_with_90_percent"]["containers"]


def test_a_freezer_leans_to_in_time_where_a_walk_in_does_not(nowhere: Path) -> None:
    """The same trials: 2-in pans in a walk-in freezer passed."""
    assert asked(nowhere, *STEW, "--method", "freezer", "--moving")["chance"] > 0.5


def test_deeper_is_never_quicker(nowhere: Path) -> None:
    depths = ("1in", "2in", "4in", "6in")
    plans = [asked(nowhere, "chili", "--depth", depth, "--moving") for depth in depths]
    times = [one["stages"][0]["middle_min"] for one in plans]
    assert times == sorted(times) and times[0] < times[-1]
    chances = [one["chance"] for one in plans]
    assert chances == sorted(chances, reverse=True)


def test_what_helps_is_told_with_its_chance_where_nothing_is_promised(nowhere: Path) -> None:
    text = run(nowhere, *STEW, "--moving").output
    assert "3-501.15" in text
    assert "ice water bath" in text
    surely = run(nowhere, *STEW, "--method", "blast-chiller").output
    assert "3-501.15" not in surely


def test_nothing_is_certain(nowhere: Path) -> None:
    text = run(nowhere, "rice", "--depth", "0.5in", "--method", "blast-chiller").output
    assert "above 99 %" in text
    warm = run(nowhere, *STEW, "--air", "50F").output
    assert "never" in warm
    assert "below 1 %" in warm
    for words in (text, warm):
        assert "100 %" not in words
        assert " 0 %" not in words
    assert asked(nowhere, *STEW, "--air", "50F")["stages"][1]["late_min"] is None


def test_it_is_an_estimate_with_its_cautions_and_no_verdict(nowhere: Path) -> None:
    text = run(nowhere, "rice", "--depth", "2in", "--method", "ice-bath").output
    assert text.startswith("ESTIMATE")
    assert "local health code" in text
    assert "Only readings show" in text
    assert "Rice in a pan holds air" in text
    assert "Stir at least" in text
    for verdict in ("MET", "NOT SHOWN", "OPEN"):
        assert verdict not in text


def test_what_was_taken_without_being_typed_is_said(nowhere: Path) -> None:
    text = " ".join(run(nowhere, *STEW).output.split())
    assert "thick (else --nature)" in text
    assert "air at 38 °F (else --air)" in text
    assert "air at 72 °F" in run(nowhere, *STEW, "--method", "ice-bath").output
    assert "Taken" not in run(nowhere, *STEW, "--nature", "thick", "--air", "38F").output


@pytest.mark.parametrize("columns", ["80", "120"])
def test_no_line_is_wider_than_the_terminal(
    nowhere: Path, monkeypatch: pytest.MonkeyPatch, columns: str
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    text = run(nowhere, *STEW, "--covered", "--moving").output
    assert max(map(len, text.splitlines())) <= int(columns)


def test_assumptions_are_listed_without_a_question(nowhere: Path) -> None:
    result = run(nowhere, "--assumptions")
    assert result.exit_code == 0
    assert "only conducts" in result.output


def test_own_composition_and_a_known_food_like_it(nowhere: Path) -> None:
    """Carbohydrate with its fibre (11.9) and without (7.5) are one food."""
    rest = "water 75.5, protein 5.7, fat 5.5, fibre 4.4, ash 1.4"
    composed = [
        asked(nowhere, "my stew", "--depth", "2in", "--composition", f"{rest}, carbohydrate {g}")
        for g in ("7.5", "11.9")
    ]
    assert composed[0] == composed[1]
    like = asked(nowhere, "my stew", "--depth", "2in", "--composition", "bean stew")
    for own, table in zip(composed[0]["stages"], like["stages"], strict=True):
        assert own["middle_min"] == pytest.approx(table["middle_min"], rel=0.01)


def test_a_weight_is_an_amount_and_a_litre_of_stock_weighs_a_kilogram(nowhere: Path) -> None:
    depth = ("--depth", "2in")
    by_weight = asked(nowhere, "stock", "50 kg", *depth)
    by_volume = asked(nowhere, "stock", "50 l", *depth)
    assert by_weight["containers"] == by_volume["containers"]


def test_a_roast_and_a_pot(nowhere: Path) -> None:
    size = ("--container", "roast", "--weight", "8lb")
    thick, thin = (
        asked(nowhere, "roast beef", *size, "--diameter", inches)["stages"][0]["middle_min"]
        for inches in ("6in", "4in")
    )
    assert thin < thick
    pot = ("--container", "pot", "--diameter", "12in", "--depth", "10in")
    # By hand: pi/4 x 12² x 10 in³ are 4.9 gal.
    assert "3 such pots" in asked(nowhere, "stock", "12 gal", *pot)["containers"]


def test_hotter_food_counts_from_where_the_limit_does(nowhere: Path) -> None:
    stage = asked(nowhere, *STEW, "--start", "180F")["stages"][0]
    assert stage["allowed"] == "2 h from 135 °F"


def test_a_plan_is_stored_with_its_batch(kitchen: Kitchen) -> None:
    kitchen.says('predict "bean stew" "12 gal" --depth 2in --moving --batch stew')
    stored = kitchen.entries()[-1]
    assert stored["kind"] == "cooling plan"
    assert (stored["batch"], stored["person"]) == ("stew", "JM")
    body = stored["body"]
    assert isinstance(body, dict)
    assert body["asked"].startswith("12 gal of bean stew, thick, 2 in deep")
    points = [list(map(float, text.split())) for text in body["curve"]]
    minutes, low, middle, high = zip(*points, strict=True)
    assert list(minutes) == list(range(0, 10 * len(points), 10))
    assert minutes[-1] >= 360
    assert points[0] == [0, 135, 135, 135]
    assert all(a <= b <= c for a, b, c in zip(low, middle, high, strict=True))
    json_ = json.loads(kitchen.says('predict "bean stew" --depth 2in --batch stew --json'))
    assert json_["stored_with"] == "stew"


def test_a_question_alone_records_nothing(kitchen: Kitchen) -> None:
    before = kitchen.entries()
    kitchen.says('predict "bean stew" --depth 2in')
    assert kitchen.entries() == before


def test_the_kitchens_plan_gives_what_is_not_typed(kitchen: Kitchen) -> None:
    kitchen.says('add food "white-bean stew" --nature "open liquid" --depth 3 --by AR')
    found = json.loads(kitchen.says("predict white --json"))
    assert "open liquid, 3 in deep" in found["asked"]
    typed = json.loads(kitchen.says("predict white --depth 1in --nature thick --json"))
    assert "thick, 1 in deep" in typed["asked"]
    kitchen.says('add food "white-bean stew" --retired --by AR')
    assert "How deep" in kitchen.refuses("predict white-bean")


def test_the_kitchens_limits_and_degree_are_asked_about(kitchen: Kitchen) -> None:
    """Maryland's second stage counts from the first: 4 h more, however long that took."""
    words = "predict 'bean stew' --depth 2in --moving --json"
    code = json.loads(kitchen.says(words))
    kitchen.says("kitchen --limit-set maryland-10-15-03 --by AR")
    local = json.loads(kitchen.says(words))
    assert [one["allowed"] for one in local["stages"]] == ["2 h from 135 °F", "4 h from 70 °F"]
    assert local["limits"]["id"] == "maryland-10-15-03"
    assert local["stages"][1]["middle_min"] == code["stages"][1]["middle_min"]
    kitchen.says("kitchen --degree C --by AR")
    metric = kitchen.says("predict 'bean stew' --depth 5cm --air 3")
    assert "21.1 °C" in metric  # Maryland prints 70 °F alone: its equivalent
    assert "°F" not in metric.replace("1.8 °F", "")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["mashed", "--depth", "2in"], "could be mashed potato"),
        (["bean stew"], "How deep"),
        (["bean stew", "--depth", "2 feet"], "type inches such as 2 or 2.5, or 5cm"),
        (["bean stew", "--depth", "0in"], "'0in' is no depth"),
        (["bean stew", "--depth", "900cm"], "'900cm' is no depth"),
        (["bean stew", "many", "--depth", "2in"], "'many' is no amount"),
        (["bean stew", "0 gal", "--depth", "2in"], "'0 gal' is no amount"),
        ([*STEW, "--air", "cold"], "'cold' is not a temperature"),
        ([*STEW, "--air", "200F"], "colder than the food"),
        ([*STEW, "--start", "100F"], "and 100 °F is below it: type how much of its time is left, such as"),
        ([*STEW, "--left", "1h,5h"], "How warm is it now"),
        ([*STEW, "--start", "100F", "--left", "5h"], "has still to reach 70 °F, 41 °F"),
        ([*STEW, "--start", "60F", "--left", "1h,5h"], "has still to reach 41 °F"),
        ([*STEW, "--start", "100F", "--left", "5h,1h"], "such as 60min,5h"),
        ([*STEW, "--start", "100F", "--left", "soon,5h"], "--left 'soon' is no time"),
        ([*STEW, "--start", "100F", "--left", "1h,5h", "--from-now", "stew"], "leave out --left"),
        ([*STEW, "--at", "70F"], "Where does it go then"),
        ([*STEW, "--then", "window"], "'window' is no way of cooling"),
        ([*STEW, "--then", "freezer", "--at", "70F", "--after", "1h"], "type one of them"),
        ([*STEW, "--then", "freezer", "--at", "150F"], "on its way down"),
        ([*STEW, "--then", "ice wand"], "An ice wand comes first"),
        ([*STEW, "--then", "walk-in", "--then-air", "45F"], "colder than its last level"),
        (["bean stew", "1,500 lb", "--depth", "2in"], "type 1500 lb or 1.5 lb"),
        ([*STEW, "--start", "300F"], "between 0 and 100 °C"),
        ([*STEW, "--method", "window"], "'window' is no way of cooling that is known here: type one of"),
        ([*STEW, "--method", "blast-chiller", "--moving"], "--moving is about"),
        ([*STEW, "--diameter", "12in"], "--container pot"),
        ([*STEW, "--container", "pot"], "How wide is the pot"),
        ([*STEW, "--weight", "8lb"], "--weight is of one roast"),
        (["roast beef", "--container", "roast"], "How thick is the roast"),
        (["roast beef", "--container", "roast", "--diameter", "6in"], "How heavy"),
        (["roast beef", "--container", "roast", "--depth", "6in"], "has no depth"),
        (
            ["roast beef", "--container", "roast", "--diameter", "6in", "--weight", "8 l"],
            "no weight",
        ),
        (
            ["roast beef", "--container", "roast", "--diameter", "1in", "--weight", "80lb"],
            "look again",
        ),
        (
            ["roast beef", "--container", "roast", "--diameter", "6in", "--weight", "8lb",
             "--nature", "stirred"],
            "cannot be thin or stirred",
        ),
        ([*STEW, "--composition", "water 75.5, sugar 9"], "'sugar 9' is no part"),
        ([*STEW, "--composition", "water 75.5, water 9"], "'water 9' is no part"),
        ([*STEW, "--composition", "water 75.5"], "has no protein"),
        (
            [*STEW, "--composition",
             "water 20, protein 5, fat 5, carbohydrate 5, fibre 1, ash 1"],
            "not 100 g",
        ),
        ([*STEW, "--composition", "cheese"], "no food in the table 'cheese'"),
        ([*STEW, "--batch", "stew", "--by", "JM"], "haccp setup"),
    ],
)  # fmt: skip
def test_bad_input_gets_one_clear_sentence(nowhere: Path, words: list[str], said: str) -> None:
    result = run(nowhere, *words)
    assert result.exit_code == 2, result.output
    assert said in result.stderr
    assert len(result.stderr.strip().splitlines()) == 1
    assert result.stdout == ""
    assert not nowhere.exists()


def test_food_that_is_not_known_is_answered_as_the_nearest_kind_and_said(nowhere: Path) -> None:
    found = asked(nowhere, "borscht", "--depth", "2in")
    soup = asked(nowhere, "vegetable soup", "--depth", "2in")
    assert found["stages"] == soup["stages"]
    told = "'borscht' is not known: taken as vegetable soup; --composition says otherwise."
    assert (found["likeness"], soup["likeness"]) == (told, None)
    assert told in " ".join(run(nowhere, "borscht", "--depth", "2in").output.split())


def test_food_like_no_other_is_taken_as_slow_and_said(nowhere: Path) -> None:
    found = asked(nowhere, "moon cheese", "--depth", "2in")
    assert found["stages"] == asked(nowhere, "bean stew", "--depth", "2in")["stages"]
    assert "'moon cheese' is like no food that is known: taken as thick" in found["likeness"]


@pytest.mark.parametrize("spelling", ["ice-bath", "ice bath", "Ice Bath", "icebath"])
def test_a_method_is_read_in_every_spelling(nowhere: Path, spelling: str) -> None:
    found = asked(nowhere, *STEW, "--method", spelling)
    assert "stirred, 2 in deep in open full-size metal pans, ice bath in a room" in found["asked"]


@pytest.mark.parametrize(
    ("amount", "depth"),
    [("12 gallons", "2 inches"), ("12 gal", '2"'), ("12 GALS", "50,8 mm"), ("48 quarts", "2-inch")],
)
def test_amounts_and_depths_are_read_as_people_write_them(
    nowhere: Path, amount: str, depth: str
) -> None:
    found = asked(nowhere, "bean stew", amount, "--depth", depth)
    assert found["stages"] == asked(nowhere, *STEW)["stages"]
    assert "7 full-size" in found["containers"]


BATH = ["chili", "--depth", "2in", "--method", "ice bath", "--air", "38F"]


def test_in_a_bath_stirred_and_not_stirred_stand_side_by_side(nowhere: Path) -> None:
    """Roberts et al. 2013, Olds et al. 2013 (abstracts): not stirred, 2 and 3 in of chili failed."""
    found = asked(nowhere, *BATH)
    stirred, still = found["stirred_or_not"]
    assert (stirred["consistency"], still["consistency"]) == ("stirred", "thick or solid")
    assert stirred["chance"] > 0.9 > still["chance"] > 0.01
    assert any("failed in an ice bath that nobody stirred" in one for one in found["cautions"])
    text = " ".join(run(nowhere, *BATH).output.split())
    assert "stirred every quarter of an hour" in text
    assert "not stirred, thick or solid" in text
    three = asked(nowhere, "chili", "--depth", "3in", *BATH[3:])["stirred_or_not"]
    assert three[1]["chance"] <= 0.01
    stock = asked(nowhere, "stock", *BATH[1:])
    assert stock["stirred_or_not"][1]["consistency"] == "thin"
    assert not any("nobody stirred" in one for one in stock["cautions"])
    assert asked(nowhere, *STEW)["stirred_or_not"] == []


def test_a_bath_and_then_the_walk_in(nowhere: Path) -> None:
    alone = asked(nowhere, *BATH)
    then = asked(nowhere, *BATH, "--then", "walk in", "--at", "70F", "--moving")
    assert "then at 70 °F: walk-in at 38 °F, moving air" in then["asked"]
    assert then["then"] == {
        "at": 70.0, "after_min": None, "air": 38.0, "bath": False, "consistency": "thick or solid",
    }  # fmt: skip
    first, last = zip(alone["stages"], then["stages"], strict=True)
    assert first[0]["middle_min"] == first[1]["middle_min"]
    assert last[0]["middle_min"] < last[1]["middle_min"]
    at = then["curve"]["minutes"].index(60)
    assert then["curve"]["middle"][at + 6] > alone["curve"]["middle"][at + 6]
    later = asked(nowhere, *BATH, "--then", "walk-in", "--after", "1h 30min", "--then-air", "36F")
    assert "then after 1 h 30 min: walk-in at 36 °F" in later["asked"]
    assert last[0]["middle_min"] <= later["stages"][1]["middle_min"]
    by_default = asked(nowhere, *BATH, "--then", "walk-in")
    assert "moved at 70 °F (else --at or --after)" in by_default["taken"]


def test_what_would_change_it_knows_a_bath_first(nowhere: Path) -> None:
    changes = {one["change"] for one in asked(nowhere, *STEW)["changes"]}
    assert "stirring in an ice water bath first, then as asked" in changes


def test_from_now_on_with_the_time_that_is_left(nowhere: Path) -> None:
    now = asked(nowhere, *BATH, "--start", "106F", "--left", "60min,5h")
    assert now["asked"].endswith("from 106 °F now")
    assert [one["allowed"] for one in now["stages"]] == ["1 h from now", "5 h from now"]
    assert now["counts_from_now"]
    less = asked(nowhere, *BATH, "--start", "106F", "--left", "20min,5h")
    assert less["chance"] < now["chance"]
    [last] = asked(nowhere, *BATH, "--start", "65F", "--left", "3h")["stages"]
    assert (last["level"], last["allowed"]) == (41.0, "3 h from now")
    assert "as warm all through" in " ".join(now["cautions"])


def test_from_now_on_by_the_record(kitchen: Kitchen) -> None:
    log(kitchen, ("14:00", "cool stew 136"), ("15:00", "cool stew 106"))
    asks = 'predict "bean stew" --depth 2in --method "ice bath"'
    found = json.loads(kitchen.says(f"{asks} --from-now stew --json"))
    typed = json.loads(kitchen.says(f"{asks} --start 106F --left 1h,5h --json"))
    assert found["asked"].endswith("from 106 °F now")
    assert found["stages"] == typed["stages"]
    assert "106 °F now, as last measured (else --start)" in found["taken"]
    assert "leave out --batch" in kitchen.refuses(f"{asks} --from-now stew --batch stew")


def test_no_time_is_taken_from_a_batch_that_has_none(kitchen: Kitchen) -> None:
    refused = kitchen.refuses('predict "bean stew" --depth 2in --from-now stew')
    assert "No time to cool stew is running" in refused


def test_much_food_warms_a_small_cooler_and_a_walk_in_not(nowhere: Path) -> None:
    depth = ("--depth", "4in", "--container", "pot", "--diameter", "8in")
    little, much = (
        asked(nowhere, "soup", amount, *depth, "--method", "fridge") for amount in ("1 qt", "6 gal")
    )
    assert "refrigerator at 38 °F" in much["asked"]
    assert much["stages"][0]["middle_min"] > 1.1 * little["stages"][0]["middle_min"]
    alone = asked(nowhere, "soup", *depth, "--method", "household refrigerator")
    assert "one container in it (else the amount)" in alone["taken"]
    walk_in = [asked(nowhere, "soup", amount, *depth)["stages"] for amount in ("1 qt", "6 gal")]
    assert walk_in[0] == walk_in[1]


def test_an_unknown_batch_stores_nothing(kitchen: Kitchen) -> None:
    assert "no open batch 'soup'" in kitchen.refuses("predict 'bean stew' --depth 2in --batch soup")


def test_the_kitchens_altitude_enters_evaporation(kitchen: Kitchen) -> None:
    """In thinner air an open pan loses more by evaporating, and is cold sooner."""

    def minutes() -> float:
        answer = json.loads(kitchen.says('predict "bean stew" "12 gal" --depth 2in --json'))
        return float(answer["stages"][0]["middle_min"])

    kitchen.says("kitchen --altitude 0m --by AR")
    at_the_sea = minutes()
    kitchen.says("kitchen --altitude 2500m --by AR")
    assert minutes() < at_the_sea
