"""The draft of the HACCP plan: what stands in it, and how it is printed. Every kitchen is invented."""

import logging
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from io import BytesIO
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from pdfua import validate
from pypdf import PdfReader

from haccp import limits
from haccp.kitchen.register import limits_of as limit_set_of
from haccp.kitchen.register import read_register
from haccp.limits.limit import CountsFrom
from haccp.printing.codes_in_words import named
from haccp.printing.haccp_plan import attached, gather
from haccp.printing.limits_in_words import limits_of, stated
from haccp.printing.typeset import typeset
from haccp.record.bodies import (
    BatchOpened,
    Body,
    HoldingUnit,
    KitchenSettings,
    Measured,
    Person,
    PlannedFood,
    Thermometer,
)
from haccp.record.entries import Draft
from haccp.record.store import Record, open_record
from haccp.rules.account.steps import TRAITS
from haccp.rules.evidence import Step
from haccp.temperature import Degree

CODE = limits.shipped()
PRINTED = datetime(2026, 11, 2, 15, 0, tzinfo=UTC)

KITCHEN = KitchenSettings(
    name="Juniper Flats Central Kitchen",
    zone="America/Denver",
    degree="F",
    altitude_m=1640,
    limit_set="food-code-2022",
    limits_digest=CODE.digest,
)
STEW = PlannedFood(
    name="white-bean stew",
    food_kind="plant food",
    steps=("receive", "cook", "cool", "cold_hold", "reheat", "hot_hold"),
    nature="thick",
    container="hotel pan",
    depth_in="2.5",
)
BEEF = PlannedFood(name="beef shoulder", food_kind="whole roast", steps=("prepare", "cook", "cool"))
GLAZE = PlannedFood(name="mustard glaze", steps=("prepare", "cool"))
STAFF: tuple[Body, ...] = (
    Person(initials="AR", name="Asta Rillwood", role="manager"),
    Person(initials="TP", name="Tam Pell", role="cook"),
    Person(initials="GN", name="Gone Now", role="cook", active=False),
    Thermometer(label="T1", accuracy="2F"),
    Thermometer(label="T0", accuracy="2F", active=False),
    HoldingUnit(name="well-1", holds="hot", every_min=60),
    HoldingUnit(name="walk-in", holds="cold", every_min=240),
    HoldingUnit(name="old-well", holds="hot", every_min=60, active=False),
)
Make = Callable[..., Record]


@pytest.fixture
def make(tmp_path: Path) -> Iterator[Make]:
    """Make the record of a kitchen from what a manager would have entered, and cooks."""
    record = open_record(tmp_path / "record.sqlite3", create=True)

    def made(*more: Body | Draft, kitchen: KitchenSettings = KITCHEN) -> Record:
        drafts = [
            one if isinstance(one, Draft) else Draft(body=one, at=PRINTED, person="AR")
            for one in (kitchen, *STAFF, *more)
        ]
        record.append(drafts, lambda: PRINTED)
        return record

    yield made
    record.close()


def batch(code: str, food: str, *steps: str, **more: Any) -> list[Draft]:
    """Open a batch and read it once at each of some steps."""
    opened = Draft(body=BatchOpened(food=food, **more), at=PRINTED, person="TP", batch=code)
    read = (Measured(step=step, temp="40", degree="F") for step in steps)
    return [opened, *(Draft(body=one, at=PRINTED, person="TP", batch=code) for one in read)]


def plan(record: Record) -> dict[str, Any]:
    words = gather(record, read_register(record), PRINTED)
    return {
        **words,
        "again": "haccp plan --again WHEN",
        "sheets": attached(read_register(record), PRINTED),
    }


def point(words: dict[str, Any], title: str) -> dict[str, Any]:
    (found,) = [one for one in words["points"] if one["title"].endswith(title)]
    return dict(found)


def boxes(words: dict[str, Any], food: str) -> list[dict[str, Any]]:
    """Give the boxes of a food's flow."""
    flows = [flow for process in words["processes"] for flow in process["flows"]]
    (found,) = [flow for flow in flows if food in [name for name, _ in flow["foods"]]]
    return list(found["steps"])


def asked(point: dict[str, Any]) -> dict[str, str]:
    return {one["limit"]: one["asked"] for one in point["limits"]}


def pdf_of(words: dict[str, Any]) -> bytes:
    content = {key: one for key, one in words.items() if key != "sheets"}
    return typeset(
        content, {}, template="plan", paper="letter", printed=PRINTED, attached=words["sheets"]
    )


def text(pdf: bytes) -> str:
    pages = " ".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages)
    return re.sub(r"\s+", " ", pages.replace("\u200b", ""))


# ---- limits in words ----

STATED = [
    ("cooling-stage-1", "", "70 °F or below, within 2 h from 135 °F", "21 °C or below, within 2 h from 57 °C"),
    ("cooling-ambient", "", "41 °F or below, within 4 h from its preparation", "5 °C or below, within 4 h from its preparation"),
    ("hot-holding", "", "135 °F or above", "57 °C or above"),
    ("reheat", "", "165 °F or above for 15 s, within 2 h from the start of reheating", "74 °C or above for 15 s, within 2 h from the start of reheating"),
    ("cook", "ground meat", "at or above 145 °F for 3 min, or 150 °F for 1 min, or 155 °F for 17 s, or 158 °F at once", "at or above 63 °C for 3 min, or 66 °C for 1 min, or 68 °C for 17 s, or 70 °C at once"),
    ("initial-heating", "", "initial heating for 1 h at most", "initial heating for 1 h at most"),
    ("cook-microwave", "", "165 °F or above, then stood covered for 2 min", "74 °C or above, then stood covered for 2 min"),
    ("reheat-microwave", "", "165 °F or above, then stood covered for 2 min, within 2 h from the start of reheating", "74 °C or above, then stood covered for 2 min, within 2 h from the start of reheating"),
    ("time-out-allowed", "", "at most 2 h from its last proper temperature", "at most 2 h from its last proper temperature"),
    ("cook-by-instructions", "", "no number", "no number"),
    ("date-mark", "", "41 °F or below, for 7 days at most, the day of preparation being day 1", "5 °C or below, for 7 days at most, the day of preparation being day 1"),
    ("time-control-hot", "", "135 °F or above, when it leaves temperature control; nothing is left after 4 h", "57 °C or above, when it leaves temperature control; nothing is left after 4 h"),
    ("time-control-6h", "", "70 °F or below, until nothing is left, 6 h at most after it left temperature control at 41 °F or below", "21 °C or below, until nothing is left, 6 h at most after it left temperature control at 5 °C or below"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "kind", "in_f", "in_c"), STATED)
def test_a_limit_is_stated_as_printed_for_each_degree(
    name: str, kind: str, in_f: str, in_c: str
) -> None:
    """Numbers: Food Code 2022 as in the limits file, compared there with their sources."""
    limit = CODE.get(name, kind)
    assert (stated(limit, Degree.F), stated(limit, Degree.C)) == (in_f, in_c)


def test_a_local_code_s_times_are_stated_as_they_are_printed() -> None:
    """10 NYCRR 14-1.82(a); the 2-hour/4-hour rule of Australia; Minnesota 4626.0400."""
    poultry = limits.shipped("new-york-14-1").get("initial-heating", "poultry")
    assert stated(poultry, Degree.F) == "no initial heating"
    out = limits.shipped("australia-3-2-2").get("time-out-allowed")
    assert stated(out, Degree.C) == "less than 2 h from its last proper temperature"
    mark = limits.shipped("minnesota-4626").get("date-mark")
    assert stated(mark, Degree.F) == "for 7 days at most, the day of preparation being day 1"


def test_each_limit_about_food_stands_under_one_step() -> None:
    of_instruments = {"thermometer-accuracy", "air-thermometer-accuracy"}
    named = [name for step in Step for name in TRAITS[step].limits]
    assert sorted(named) == sorted({limit.name for limit in CODE.limits} - of_instruments)


def test_a_stage_that_counts_from_the_one_before_says_so() -> None:
    local = replace(
        CODE.get("cooling-stage-2"), clock=CountsFrom.PREVIOUS_STAGE, within=timedelta(hours=4)
    )
    asked = "41 °F or below, within 4 h from the end of the stage before"
    assert stated(local, Degree.F) == asked


def test_an_oven_concerns_whole_roasts_alone() -> None:
    assert not [one for one in limits_of(Step.COOK, CODE, {"poultry"}) if one.name == "oven"]
    assert (
        len([one for one in limits_of(Step.COOK, CODE, {"whole roast"}) if one.name == "oven"]) == 5
    )


# ---- what stands in the plan ----


def test_only_steps_that_a_food_goes_through_are_control_points(make: Make) -> None:
    words = plan(make(BEEF))
    assert [one["title"] for one in words["points"]] == ["CCP 1: Cook", "CCP 2: Cool"]
    assert [(row[0], row[1]) for row in words["steps"]] == [
        ("Prepare", "control point"),
        ("Cook", "CCP 1"),
        ("Cool", "CCP 2"),
    ]


def test_a_flow_keeps_the_foods_own_order_and_its_limits(make: Make) -> None:
    words = plan(make(STEW))
    (process,) = words["processes"]
    assert process["name"] == "Complex preparation"
    about = "plant food, thick, hotel pan, 2.5 in deep"
    assert process["flows"][0]["foods"] == [["white-bean stew", about]]
    assert [(box["step"], box["point"], box["limits"]) for box in boxes(words, STEW.name)] == [
        ("Receive", "CCP 1", ["limits by how it is delivered"]),
        ("Cook", "CCP 2", ["135 °F or above"]),
        (
            "Cool",
            "CCP 4",
            ["70 °F or below, within 2 h from 135 °F", "41 °F or below, within 6 h from 135 °F"],
        ),
        ("Cold hold", "CCP 5", ["41 °F or below"]),
        ("Reheat", "CCP 6", ["165 °F or above for 15 s, within 2 h from the start of reheating"]),
        ("Hot hold", "CCP 3", ["135 °F or above"]),
    ]


def test_food_that_was_never_hot_cools_by_the_rule_for_it(make: Make) -> None:
    words = plan(make(GLAZE))
    assert boxes(words, GLAZE.name)[1]["limits"] == [
        "41 °F or below, within 4 h from its preparation"
    ]
    assert words["processes"][0]["name"] == "No cook step"


def test_time_as_the_control_is_a_branch_that_ends(make: Make) -> None:
    """3-501.19(B): cooked and served, served or discarded; nothing of it comes back."""
    rice = PlannedFood(
        name="rice",
        food_kind="plant food",
        steps=("cook", "hot_hold", "time_control", "cool", "cold_hold"),
    )
    line = boxes(plan(make(rice)), "rice")
    assert [box["step"] for box in line] == ["Cook", "Hot hold", "Cool", "Cold hold"]
    (branch,) = line[1]["branch"]
    assert branch["ends"]
    assert branch["limits"][0].startswith("It ends here: marked as it leaves, served or discarded")
    assert not [box for box in line if box is not line[1] and box["branch"]]


def test_foods_that_go_the_same_way_share_one_flow(make: Make) -> None:
    chili = replace(STEW, name="chili")
    (process,) = plan(make(STEW, chili))["processes"]
    (flow,) = process["flows"]
    assert [name for name, _ in flow["foods"]] == ["chili", "white-bean stew"]


# ---- the foods on record ----


def test_a_food_without_a_flow_is_told_first(make: Make) -> None:
    words = plan(make(STEW, *batch("ham-1", "ham", "cold_hold")))
    assert words["settle"][0] == "ham: 1 batch on record (Cold hold), and no flow."
    rows = {row[0]: row for row in words["foods"]}
    assert rows["ham"][2] == "NO FLOW"
    assert rows["white-bean stew"][2:4] == ["Complex preparation", "none on record"]
    printed = text(pdf_of(words))
    assert printed.index("ham: 1 batch on record") < printed.index("General information")


def test_a_food_that_was_retired_is_no_longer_made_unless_it_is(make: Make) -> None:
    soup = PlannedFood(name="soup", food_kind="poultry", steps=("cook",))
    retired = Draft(
        body=replace(soup, active=False), at=PRINTED + timedelta(minutes=1), person="AR"
    )
    record = make(STEW, soup, *batch("soup-1", "soup", "cook"), retired)
    words = plan(record)
    assert ["soup", "no longer made"] in [row[0:3:2] for row in words["foods"]]
    assert not [one for one in words["settle"] if "soup" in one]
    later = Draft(
        body=BatchOpened(food="soup"),
        at=PRINTED + timedelta(minutes=2),
        person="TP",
        batch="soup-2",
    )
    record.append([later], lambda: PRINTED + timedelta(minutes=2))
    assert "soup: 2 batches on record (Cook), and no flow." in plan(record)["settle"]


def test_a_step_that_a_flow_does_not_have_is_told(make: Make) -> None:
    gravy = PlannedFood(name="gravy", food_kind="poultry", steps=("cook", "hot_hold"))
    made = [*batch("g-1", "Gravy", "cook", "cool"), *batch("g-2", "gravy", "cook")]
    told = plan(make(gravy, *made))["settle"]
    assert "gravy: Cool in 1 of its newest 2 batches, which is not in its flow." in told
    assert not [one for one in told if "Cook" in one]


def test_an_ingredient_is_covered_by_the_flow_of_what_it_went_into(make: Make) -> None:
    received = batch("beans-1", "dry beans", "receive")
    stew = batch("stew-1", STEW.name, "cook", made_from=("beans-1",))
    words = plan(make(STEW, *received, *stew))
    assert not [one for one in words["settle"] if "beans" in one]
    assert ["dry beans", "goes into white-bean stew"] in [row[0:3:2] for row in words["foods"]]


def test_an_ingredient_of_a_food_without_a_flow_is_told(make: Make) -> None:
    received = batch("beans-1", "dry beans", "receive")
    dip = batch("dip-1", "bean dip", "cold_hold", made_from=("beans-1",))
    told = plan(make(STEW, *received, *dip))["settle"]
    assert [one.split(":")[0] for one in told][:2] == ["bean dip", "dry beans"]


def test_what_is_made_of_cooked_and_cooled_food_is_reheated(make: Make) -> None:
    """3-403.11: cooked, cooled, and heated again; its flow says cook alone."""
    gravy = PlannedFood(name="gravy", food_kind="poultry", steps=("cook", "hot_hold"))
    stock = batch("stock-1", "stock", "cook", "cool")
    made = batch("gravy-1", "gravy", "cook", made_from=("stock-1",))
    told = plan(make(gravy, *stock, *made))["settle"]
    assert [one for one in told if one.startswith("gravy: made of stock, cooked and cooled")]


def test_hot_food_that_stands_cold_without_a_cooling_is_told(make: Make) -> None:
    soup = PlannedFood(name="soup", food_kind="poultry", steps=("cook", "cold_hold"))
    assert "soup: its flow goes from hot to cold without a cooling." in plan(make(soup))["settle"]


def test_each_batch_is_counted_once_with_its_portions_and_amounts(make: Make) -> None:
    whole = batch("stew-1", STEW.name, "cook", amount="12 gal")
    part = batch("stew-1-a", STEW.name, "cool", portion_of=("stew-1",))
    (row,) = plan(make(STEW, *whole, *part))["foods"]
    assert row[3].startswith("1 batch, 12 gal, ")
    assert row[4] == "Cook\u00a01, Cool\u00a01"


# ---- hazards ----


def hazard_names(words: dict[str, Any], food: str) -> set[str]:
    return {row[0] for row in words["hazards"] if food in row[4] or row[4] == "every food"}


def test_hazards_are_those_of_each_food_s_kind_and_name(make: Make) -> None:
    """Sources of each: haccp/limits/hazards.toml."""
    rice = PlannedFood(name="rice", food_kind="plant food", steps=("cook", "cool"))
    tuna = PlannedFood(name="seared tuna", food_kind="fish", steps=("receive", "cook"))
    stock = PlannedFood(name="stock", food_kind="poultry", steps=("cook", "cool", "cold_hold"))
    words = plan(make(rice, tuna, stock))
    assert "Bacillus cereus, outgrowth and toxin" in hazard_names(words, "rice")
    assert "Salmonella, Campylobacter" not in hazard_names(words, "rice")
    assert "Scombrotoxin (histamine)" in hazard_names(words, "tuna")
    assert "Scombrotoxin (histamine)" not in hazard_names(words, "stock")
    assert {
        "Salmonella, Campylobacter",
        "Clostridium perfringens, outgrowth",
        "Listeria monocytogenes",
        "Allergens",
    } <= hazard_names(words, "stock")


def test_as_long_as_no_food_is_entered_a_hazard_names_its_kinds(make: Make) -> None:
    foods = {row[0]: row[4] for row in plan(make())["hazards"]}
    assert foods["Scombrotoxin (histamine)"] == "fish"
    assert foods["Allergens"] == "every food"


@pytest.mark.parametrize("limit_set", sorted(limits.revisions()))
def test_each_set_of_limits_makes_a_plan(make: Make, limit_set: str) -> None:
    words = plan(make(STEW, BEEF, GLAZE, kitchen=of_set(limit_set)))
    assert [one["title"] for one in words["points"] if not one["limits"]] == []
    assert all(row[3] in ("yes", "NO", "–", "only if its start is read") for row in words["checks"])


def test_each_hazard_on_paper_names_its_source_or_says_that_it_has_none(make: Make) -> None:
    words = plan(make(STEW, BEEF, GLAZE))
    numbers = {number for number, _ in words["sources"]}
    for name, _, why, cited, foods, likely, severe, steps in words["hazards"]:
        assert cited in numbers or cited.startswith("no source: "), name
        assert all((why, foods, likely, severe, steps)), name


def test_a_control_point_lists_the_kinds_of_food_that_pass_it_and_the_strictest(make: Make) -> None:
    words = plan(make(STEW, BEEF))
    cook, hot = asked(point(words, "Cook")), asked(point(words, "Hot hold"))
    assert {"Cook", "Cook, plant food", "Cook, whole roast"} <= set(cook)
    assert "Cook, poultry" not in cook
    assert cook["Cook, whole roast"].startswith("at or above 130 °F for 112 min, or 131 °F")
    assert hot == {"Hot holding": "135 °F or above"}, "no whole roast is held hot here"


def test_each_limit_has_its_section_its_source_and_its_basis(make: Make) -> None:
    words = plan(make(STEW))
    sources = dict(words["sources"])
    for one in (limit for each in words["points"] for limit in each["limits"]):
        (limit,) = (own for own in CODE.limits if named(own) == one["limit"])
        assert sources[one["source"]] == limit.source
        assert one["citation"] == limit.citation
        assert one["basis"] == ("" if limit.basis == "verified" else limit.basis)


def test_only_the_kitchen_s_own_ovens_and_ways_are_in_its_plan(make: Make) -> None:
    roast = batch("beef-1", BEEF.name, "cook", food_kind="whole roast", oven="high humidity")
    cook = point(plan(make(BEEF, *roast)), "Cook")
    ovens = {one for one in asked(cook) if one.startswith("Oven")}
    assert ovens == {"Oven, high humidity"}
    # what is left out is named, so that nobody takes it for forgotten
    assert "Oven, convection, under 10 lb (3-401.11(B))" in cook["left_out"]
    assert "Cook microwave (3-401.12)" in cook["left_out"]


def test_as_long_as_no_oven_is_known_every_row_stands_and_that_is_told(make: Make) -> None:
    words = plan(make(BEEF))
    assert len([one for one in asked(point(words, "Cook")) if one.startswith("Oven")]) == 5
    assert [one for one in words["settle"] if one.startswith("Whole roasts: no oven is on record")]


def test_food_heated_in_a_microwave_brings_its_limit_into_the_plan(make: Make) -> None:
    heated = Draft(
        body=Measured(step="cook", temp="170", degree="F", method="microwave"),
        at=PRINTED,
        person="TP",
        batch="stew-1",
    )
    words = plan(make(STEW, *batch("stew-1", STEW.name), heated))
    assert "Cook microwave" in asked(point(words, "Cook"))
    assert "Cook microwave" not in point(words, "Cook")["left_out"]


def test_what_is_monitored_how_often_and_by_whom_follows_the_settings(make: Make) -> None:
    words = plan(make(STEW, HoldingUnit(name="cabinet", holds="hot", every_min=30)))
    facts = dict(point(words, "Hot hold")["facts"])
    assert facts["How often"] == "well-1 every 1 h; cabinet every 30 min; food elsewhere every 1 h"
    assert facts["By whom"].endswith("AR, TP")
    assert facts["Foods"] == "white-bean stew"
    cold = dict(point(words, "Cold hold")["facts"])
    assert cold["How often"] == "walk-in every 4 h; food elsewhere every 1 h"


def test_who_has_left_and_what_is_retired_is_not_in_the_plan(make: Make) -> None:
    gone = PlannedFood(name="old soup", steps=("cook",), active=False)
    whole = str(plan(make(STEW, gone)))
    for name in ("Gone Now", "T0", "old-well", "old soup"):
        assert name not in whole


def test_the_newest_entry_of_a_food_counts(make: Make) -> None:
    words = plan(make(STEW, PlannedFood(name=STEW.name, food_kind="poultry", steps=("cook",))))
    assert [row[:2] for row in words["foods"]] == [["white-bean stew", "poultry"]]
    assert [one["title"] for one in words["points"]] == ["CCP 1: Cook"]


def test_a_kitchen_without_foods_gets_every_step_and_kind_and_is_told(make: Make) -> None:
    words = plan(make())
    assert "haccp add food" in words["no_foods"]
    assert len(words["points"]) == 7
    cook = asked(point(words, "Cook"))
    assert {f"Cook, {kind}" for kind in ("poultry", "fish", "whole roast")} <= set(cook)


def test_a_kitchen_in_celsius_gets_the_numbers_printed_for_it(make: Make) -> None:
    words = plan(make(STEW, kitchen=replace(KITCHEN, degree="C")))
    numbers = [one["asked"] for each in words["points"] for one in each["limits"]]
    numbers += [asked for box in boxes(words, STEW.name) for asked in box["limits"]]
    assert any("57 °C" in one for one in numbers)
    assert not [one for one in numbers if "°F" in one]


OVERRIDE = """
[[limit]]
name = "hot-holding"
side = "at or above"
inclusive = true
f = 140
c = 60
citation = "Town code 12"
source = "an invented town's code"
basis = "verified"
text = "Hold hot at 140 °F (60 °C) or above."
"""


def test_a_local_rule_and_a_guard_band_are_in_the_numbers(make: Make) -> None:
    in_force = limit_set_of("food-code-2022", OVERRIDE, "1F")
    kitchen = replace(KITCHEN, overrides=OVERRIDE, guard="1F", limits_digest=in_force.digest)
    words = plan(make(STEW, kitchen=kitchen))
    (hot,) = point(words, "Hot hold")["limits"]
    assert (hot["asked"], hot["citation"], hot["override"]) == (
        "141 °F or above",
        "Town code 12",
        True,
    )
    assert "Limits moved inward by 1 °F (guarded acceptance)." in words["limit_set"]
    assert ["well-1", "hot", "141 °F or above", "every 1 h"] in words["units"]


def test_what_is_done_about_a_deviation_is_what_the_tool_proposes(make: Make) -> None:
    rows = point(plan(make(STEW)), "Cool")["actions"]
    assert ["not met or not shown", "Discard it.", "Any limit"] in [row[:3] for row in rows]
    assert [row for row in rows if row[0].startswith("while there is time") and "Reheat" in row[1]]
    assert not [row for row in rows if row[0].startswith("not") and "Reheat" in row[1]]


def test_what_is_not_shown_is_answered_by_giving_the_food_up_first(make: Make) -> None:
    words = plan(make())
    for each in words["points"]:
        rows = [row for row in each["actions"] if "not shown" in row[0]]
        assert rows[0][1] in ("Discard it.", "Reject it and write down why."), each["title"]
        released = [row for row in rows if row[1].startswith("Release it")]
        assert released == rows[-1:], each["title"]


def test_a_local_code_for_a_late_reheat_is_printed_with_its_name(make: Make) -> None:
    kitchen = replace(KITCHEN, late_reheat="Town code 14")
    rows = point(plan(make(STEW, kitchen=kitchen)), "Cool")["actions"]
    (late,) = [row for row in rows if "Town code 14" in row[3]]
    assert late[2] == "Cooling stage 1"
    assert "once only" in late[0]
    assert late[0].startswith("not met"), "since when it cools must be known"


def test_every_control_point_has_what_8_201_14_asks_for(make: Make) -> None:
    """Limits, monitoring and its frequency, by whom, action, verification, records."""
    words = plan(make())
    sheets = {sheet["title"] for sheet in words["sheets"]["forms"]["sheets"]}
    for each in words["points"]:
        facts = dict(each["facts"])
        assert each["limits"], each["title"]
        assert [row for row in each["actions"] if row[0].startswith("not met")], each["title"]
        assert {"Measured", "How often", "By whom", "Recorded", "Verified"} <= set(facts)
        (sheet,) = re.findall("“(.*)”", facts["Recorded"])
        assert sheet in sheets
        assert all(facts.values())


# ---- what the checks can show ----


def of_check(words: dict[str, Any], name: str) -> list[list[str]]:
    return [row for row in words["checks"] if row[0].startswith(name)]


def test_a_walk_in_read_twice_a_day_cannot_show_four_hours(make: Make) -> None:
    """12 h and an hour's grace; 3 h 45 min and the kitchen's 15 min are 4 h. Common practice."""
    words = plan(make(STEW, HoldingUnit(name="walk-in", holds="cold", every_min=720)))
    longer, shorter = of_check(words, "walk-in")
    assert longer[1:] == [
        "12 h + 1 h grace = 13 h > 4 h",
        "out of limits for 4 h at most (3-501.16(A))",
        "NO",
        "every 3 h 45 min",
    ]
    assert shorter[3:] == ["NO", "every 1 h 45 min"]
    told = [one for one in words["settle"] if one.startswith("walk-in")]
    assert told == [
        "walk-in (cold): its checks cannot show: out of limits for 4 h at most (3-501.16(A)). "
        "Unseen at most: 12 h + 1 h grace = 13 h > 4 h."
    ]


def test_a_well_read_every_hour_can_show_what_it_serves(make: Make) -> None:
    words = plan(make(STEW))
    assert [row[3] for row in of_check(words, "well-1")] == ["yes", "yes"]
    assert not [one for one in words["settle"] if "well-1" in one]


def test_a_grace_that_is_too_long_is_told(make: Make) -> None:
    words = plan(make(STEW, kitchen=replace(KITCHEN, grace_min=150)))
    _, shorter = of_check(words, "well-1")
    assert shorter[3:] == ["NO", "none with a grace of 2 h 30 min: a shorter grace"]


def test_closed_hours_count_for_what_stands_cold(make: Make) -> None:
    kitchen = replace(KITCHEN, open_hours="mon-sun 06:00-20:00")
    longer, _ = of_check(plan(make(STEW, kitchen=kitchen)), "food elsewhere (cold)")
    # closed for 10 h, a look due 1 h 15 min after opening, the last 1 h 15 min before closing
    assert "over closed hours 12 h 30 min" in longer[1]
    assert longer[3:] == ["NO", "every 3 h 45 min, closed hours too"]


def test_a_cooling_s_start_that_is_not_read_costs_its_first_stage(make: Make) -> None:
    (row,) = of_check(plan(make(STEW)), "cooling")
    assert "up to 1 h 15 min earlier: 45 min of 2 h left" in row[1]


# ---- time as the control, verification, records ----


def test_the_procedure_that_3_501_19_demands(make: Make) -> None:
    """Foods, who, start temperatures, marking and discarding. Source: 3-501.19(A), (B)."""
    rice = PlannedFood(name="rice", food_kind="plant food", steps=("cook", "time_control"))
    told = dict(plan(make(rice))["time_control"])
    assert told["Foods"] == "rice"
    assert "135 °F or above" in told["It leaves at"]
    assert "41 °F or below" in told["It leaves at"]
    assert "4 h after it left" in told["Marked"]
    assert "discarded" in told["At that time"]
    assert "AR" in told["Who"]
    assert plan(make(replace(rice, steps=("cook",))))["time_control"] == []


def test_verification_is_more_than_signing_and_says_how_often(make: Make) -> None:
    rows = plan(make(STEW))["verification"]
    assert all(all(row) for row in rows)
    whole = " ".join(row[0] for row in rows)
    for part in ("signed", "melting ice", "watches a cook", "record unusual", "assessed anew"):
        assert part in whole
    (anew,) = (row for row in rows if "assessed anew" in row[0])
    assert anew[1].startswith("yearly")


@pytest.mark.parametrize(
    ("limit_set", "kept"),
    [
        ("food-code-2022", "no time is named; the plan itself names it"),
        ("australia-3-2-2", "3 months"),
        ("scotland", "not read: nobody has looked up what"),
    ],
)
def test_how_long_records_are_kept_follows_the_limits_in_force(
    make: Make, limit_set: str, kept: str
) -> None:
    """8-201.14 in Minnesota 4626.1735; guidance to Standard 3.2.2A."""
    rows = plan(make(STEW, kitchen=of_set(limit_set)))["kept_for"]
    assert rows[0][1].startswith(kept)
    assert len(rows) == 1, "nobody here makes fish"


@pytest.mark.parametrize(("days", "shown"), [(0, "no interval is set yet"), (7, "every 7 d")])
def test_thermometers_are_checked_as_the_kitchen_has_set(make: Make, days: int, shown: str) -> None:
    words = plan(make(kitchen=replace(KITCHEN, thermometer_days=days)))
    (row,) = [row for row in words["verification"] if "4-203.11" in row[0]]
    assert "within 2 °F" in row[0]
    assert row[1] == shown


# ---- on paper ----


def test_the_plan_has_the_parts_that_8_201_14_asks_for(make: Make) -> None:
    """Source: Food Code 8-201.14 as in Minnesota 4626.1735."""
    printed = text(pdf_of(plan(make(STEW, BEEF))))
    for part in (
        "Draft, made from the kitchen's settings and its record.",
        "General information",
        "Categories of TCS food",
        "Flow of each food",
        "Hazards and controls",
        "Critical control points",
        "Critical limits",
        "Corrective actions",
        "Verification",
        "Records",
        "Supporting documents",
        "Approval",
        "regulatory authority have approved it",
        "8-201.13; from memory",
        "3-502.11",
        "SHA-256 of the limits",
        "Written procedure: time as the control (3-501.19)",
        "Checks, and what they can show",
        "Blank log sheets",
        "The same bytes again: haccp plan --again WHEN",
    ):
        assert part in printed, part


def test_every_part_is_in_the_contents_and_the_bookmarks_with_no_third_level(make: Make) -> None:
    reader = PdfReader(BytesIO(pdf_of(plan(make(STEW, BEEF)))))
    parts = [one for one in reader.outline if not isinstance(one, list)]
    nested = [one for one in reader.outline if isinstance(one, list)]
    assert not [one for some in nested for one in some if isinstance(one, list)]
    titles = [str(one.title) for one in parts]
    assert titles[-1] == "Discarded food", "the last of the log sheets"
    before = titles[: titles.index("This paper and the record") + 1]
    links = [
        one for one in reader.pages[0].get("/Annots", []) if one.get_object()["/Subtype"] == "/Link"
    ]
    # each part but the list of contents itself, and the first log sheet
    assert len(links) >= len(before) - 1 + 1
    first = reader.pages[0].extract_text()
    assert [one for one in before if one not in re.sub(r"\s+", " ", first)] == []


def test_nothing_on_it_is_smaller_than_eight_points(make: Make) -> None:
    """But the log sheets, which have sizes of their own."""
    sizes: set[float] = set()

    def seen(words: str, page: list[float], line: list[float], _: Any, size: float) -> None:
        if words.strip():
            sizes.add(round(size * abs(line[3] * page[3]), 2))

    reader = PdfReader(BytesIO(pdf_of(plan(make(STEW, BEEF)))))
    for number, page in enumerate(reader.pages):
        if "Verified by (manager)" in page.extract_text():
            assert number > 5
            break
        page.extract_text(visitor_text=seen)
    assert min(sizes) >= 8


def test_what_only_people_know_is_a_ruled_space_with_its_name(make: Make) -> None:
    printed = text(pdf_of(plan(make(STEW))))
    for name in (
        "Permit holder",
        "Ingredients, materials and equipment",
        "Recipe or formulation",
        "Training plan",
        "Kept for, and where",
        "Other hazards of these foods",
    ):
        assert name in printed, name


STANDS_IN = "not read for this jurisdiction; the Food Code's number stands in"


def of_set(limit_set: str) -> KitchenSettings:
    return replace(KITCHEN, limit_set=limit_set, limits_digest=limits.shipped(limit_set).digest)


def test_a_number_that_nobody_read_says_so(make: Make) -> None:
    printed = text(pdf_of(plan(make(STEW))))
    assert "common practice" in printed  # 4 h out of temperature has no number in the Code
    assert STANDS_IN not in printed


def test_a_number_from_memory_says_so(make: Make) -> None:
    words = plan(make(STEW, kitchen=of_set("food-code-2013")))
    basis = {one["limit"]: one["basis"] for one in point(words, "Receive")["limits"]}
    assert basis["Receiving cold"] == "from memory"


def test_a_federal_number_in_a_local_code_s_plan_says_that_it_stands_in(make: Make) -> None:
    words = plan(make(STEW, kitchen=of_set("new-york-14-1")))
    basis = {one["limit"]: one["basis"] for one in point(words, "Cold hold")["limits"]}
    assert basis["Date mark"] == STANDS_IN
    assert basis["Cold holding"] == ""
    assert STANDS_IN in text(pdf_of(words)).replace("’", "'")


def test_it_is_tagged_and_declares_pdf_a_and_pdf_ua(
    make: Make, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.WARNING):
        made = pdf_of(plan(make(STEW, BEEF, GLAZE)))
    assert caplog.records == []  # no second try was needed
    file = tmp_path / "plan.pdf"
    file.write_bytes(made)
    assert list(validate(str(file)).findings) == []
    with pikepdf.open(BytesIO(made)) as pdf, pdf.open_metadata() as metadata:
        assert (metadata.pdfa_status, metadata["pdfuaid:part"]) == ("2A", "1")


HOSTILE = (
    "#set page(fill: red)",
    '#read("/etc/passwd")',
    "*b* _i_ $x$ @ref <lab> \\",
    "crème ≤ \U0001f355",
    "W" * 80,
)


@pytest.mark.parametrize("name", HOSTILE)
def test_what_people_typed_is_printed_and_never_markup(
    make: Make, name: str, caplog: pytest.LogCaptureFixture
) -> None:
    food = replace(STEW, name=name, container=name)
    person = Person(initials="ZZ", name=name, role="cook")
    printed = text(pdf_of(plan(make(food, person, kitchen=replace(KITCHEN, name=name)))))
    shown = name.replace("\U0001f355", "[U+1F355]").replace(" ", "")
    # title, general information, person, category, flow, container and control points
    assert printed.replace(" ", "").count(shown) >= 10
    assert caplog.records == []
