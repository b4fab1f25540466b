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
from haccp.kitchen.register import Register, read_register
from haccp.kitchen.register import limits_of as limit_set_of
from haccp.limits.limit import CountsFrom
from haccp.printing.haccp_plan import gather
from haccp.printing.limits_in_words import limits_of, stated
from haccp.printing.typeset import typeset
from haccp.record.entries import (
    Body,
    Draft,
    HoldingUnit,
    KitchenSettings,
    Person,
    PlannedFood,
    Thermometer,
)
from haccp.record.store import open_record
from haccp.rules.account.steps import TRAITS
from haccp.rules.evidence import Step
from haccp.temperature import Degree

CODE = limits.shipped()
PRINTED = datetime(2026, 11, 2, 15, 0, tzinfo=UTC)
HEAD = (312, "0123456789abcdef" * 4)

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
Make = Callable[..., Register]


@pytest.fixture
def make(tmp_path: Path) -> Iterator[Make]:
    """Make the register of a kitchen from what a manager would have entered."""
    record = open_record(tmp_path / "record.sqlite3", create=True)

    def made(*more: Body, kitchen: KitchenSettings = KITCHEN) -> Register:
        drafts = [Draft(body=body, at=PRINTED, person="AR") for body in (kitchen, *STAFF, *more)]
        record.append(drafts, lambda: PRINTED)
        return read_register(record)

    yield made
    record.close()


def plan(register: Register) -> dict[str, Any]:
    return gather(register, PRINTED, HEAD)


def point(words: dict[str, Any], title: str) -> dict[str, Any]:
    (found,) = [one for one in words["points"] if one["title"].endswith(title)]
    return dict(found)


def asked(point: dict[str, Any]) -> dict[str, str]:
    return {one["limit"]: one["asked"] for one in point["limits"]}


def pdf_of(words: dict[str, Any]) -> bytes:
    return typeset(words, {}, template="plan", paper="letter", printed=PRINTED)


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
    assert [(row[0], row[3]) for row in words["steps"]] == [
        ("Prepare", "control point"),
        ("Cook", "CCP 1"),
        ("Cool", "CCP 2"),
    ]


def test_a_flow_keeps_the_foods_own_order_and_its_limits(make: Make) -> None:
    words = plan(make(STEW))
    (flow,) = words["flows"]
    assert flow["about"] == "plant food, thick, hotel pan, 2.5 in deep"
    assert [(box["step"], box["point"], box["limits"]) for box in flow["steps"]] == [
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
    (flow,) = plan(make(GLAZE))["flows"]
    assert flow["steps"][1]["limits"] == ["41 °F or below, within 4 h from its preparation"]


def test_a_control_point_lists_the_kinds_of_food_that_pass_it_and_the_strictest(make: Make) -> None:
    words = plan(make(STEW, BEEF))
    cook, hot = asked(point(words, "Cook")), asked(point(words, "Hot hold"))
    assert {"Cook", "Cook, plant food", "Cook, whole roast"} <= set(cook)
    assert "Cook, poultry" not in cook
    assert cook["Cook, whole roast"].startswith("at or above 130 °F for 112 min, or 131 °F")
    assert hot == {"Hot holding": "135 °F or above"}, "no whole roast is held hot here"


def test_each_limit_has_its_section_its_source_and_its_basis(make: Make) -> None:
    words = plan(make(STEW))
    for one in (limit for each in words["points"] for limit in each["limits"]):
        assert one["citation"].startswith("3-")
        assert one["source"]
        assert one["basis"] in (
            "Number read in this source.",
            "Basis: from memory.",
            "Basis: common practice.",
        )


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
    assert words["categories"] == [["poultry", "white-bean stew"]]
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
    numbers += [words for box in plan_boxes(words) for words in box["limits"]]
    assert any("57 °C" in one for one in numbers)
    assert not [one for one in numbers if "°F" in one]


def plan_boxes(words: dict[str, Any]) -> list[dict[str, Any]]:
    return [box for flow in words["flows"] for box in flow["steps"]]


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
    assert words["limits"]["guard"] == "Limits moved inward by 1 °F (guarded acceptance)"
    assert ["well-1", "hot", "141 °F or above", "every 1 h"] in words["units"]


def test_what_is_done_about_a_deviation_is_what_the_tool_proposes(make: Make) -> None:
    rows = point(plan(make(STEW)), "Cool")["actions"]
    assert ["Any limit", "not met", "Discard it."] in [row[:3] for row in rows]
    assert [row for row in rows if row[1].startswith("while there is time") and "Reheat" in row[2]]
    assert not [row for row in rows if row[1].startswith("not met") and "Reheat" in row[2]]


def test_a_local_code_for_a_late_reheat_is_printed_with_its_name(make: Make) -> None:
    kitchen = replace(KITCHEN, late_reheat="Town code 14")
    rows = point(plan(make(STEW, kitchen=kitchen)), "Cool")["actions"]
    (late,) = [row for row in rows if "Town code 14" in row[3]]
    assert late[0] == "Cooling stage 1"
    assert "once only" in late[1]


def test_every_control_point_says_what_to_do_and_names_a_log_sheet(make: Make) -> None:
    words = plan(make())
    for each in words["points"]:
        facts = dict(each["facts"])
        assert [row for row in each["actions"] if row[1].startswith("not met")], each["title"]
        (sheet,) = re.findall("“(.*)”", facts["Recorded"])
        assert sheet in words["forms"]
        assert all(facts.values())


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
        "Draft, made from the kitchen's settings.",
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
        "up to entry 312",
    ):
        assert part in printed, part


def test_what_only_people_know_is_a_ruled_space_with_its_name(make: Make) -> None:
    printed = text(pdf_of(plan(make(STEW))))
    for name in (
        "Permit holder",
        "Address",
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
    assert "Basis: common practice." in printed  # frozen food has no number in the Code
    assert STANDS_IN not in printed


def test_a_number_from_memory_says_so(make: Make) -> None:
    printed = text(pdf_of(plan(make(STEW, kitchen=of_set("food-code-2013")))))
    assert "Basis: from memory." in printed  # the receiving of the older edition


def test_a_federal_number_in_a_local_code_s_plan_says_that_it_stands_in(make: Make) -> None:
    words = plan(make(STEW, kitchen=of_set("new-york-14-1")))
    basis = {one["limit"]: one["basis"] for one in point(words, "Cold hold")["limits"]}
    assert basis["Date mark"] == f"Basis: {STANDS_IN}."
    assert basis["Cold holding"] == "Number read in this source."
    assert f"Basis: {STANDS_IN}." in text(pdf_of(words)).replace("’", "'")


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
    "crème ≤ 豆腐",
    "W" * 80,
)


@pytest.mark.parametrize("name", HOSTILE)
def test_what_people_typed_is_printed_and_never_markup(
    make: Make, name: str, caplog: pytest.LogCaptureFixture
) -> None:
    food = replace(STEW, name=name, container=name)
    person = Person(initials="ZZ", name=name, role="cook")
    printed = text(pdf_of(plan(make(food, person, kitchen=replace(KITCHEN, name=name)))))
    shown = name.replace("豆腐", "[U+8C46][U+8150]").replace(" ", "")
    # title, general information, person, category, flow, container and control points
    assert printed.replace(" ", "").count(shown) >= 10
    assert caplog.records == []
