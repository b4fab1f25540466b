"""The plan before cooking, as a cook asks for it. Kitchens are invented."""

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from haccp.cli.main import cli
from haccp.cli.session import Session
from tests.kitchens import Kitchen

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
        (["moon cheese", "--depth", "2in"], "no food in the table 'moon cheese'"),
        (["mashed", "--depth", "2in"], "could be mashed potato"),
        (["bean stew"], "How deep"),
        (["bean stew", "--depth", "2 feet"], "type inches such as 2 or 2.5, or 5cm"),
        (["bean stew", "--depth", "0in"], "'0in' is no depth"),
        (["bean stew", "--depth", "900cm"], "'900cm' is no depth"),
        (["bean stew", "many", "--depth", "2in"], "'many' is no amount"),
        (["bean stew", "0 gal", "--depth", "2in"], "'0 gal' is no amount"),
        ([*STEW, "--air", "cold"], "'cold' is not a temperature"),
        ([*STEW, "--air", "200F"], "colder than the food"),
        ([*STEW, "--start", "100F"], "counts from 135 °F"),
        ([*STEW, "--start", "300F"], "between 0 and 100 °C"),
        ([*STEW, "--method", "window"], "'window' is not one of"),
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
