"""Blank log sheets: their fields, the limits on them, how they are printed. Kitchens are invented."""

import logging
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path
from typing import Any, Literal

import pikepdf
import pytest
from pdfua import validate
from pypdf import PdfReader

from haccp import limits
from haccp.kitchen.register import Register, limits_of, read_register
from haccp.printing.forms import gather
from haccp.printing.typeset import typeset
from haccp.record.entries import Body, Draft, HoldingUnit, KitchenSettings, PlannedFood
from haccp.record.store import open_record

PRINTED = datetime(2026, 11, 2, 15, 0, tzinfo=UTC)
KITCHEN = KitchenSettings(
    name="Juniper Flats Central Kitchen",
    zone="America/Denver",
    degree="F",
    altitude_m=1524,
    limit_set="food-code-2022",
    limits_digest=limits.shipped().digest,
)
TITLES = [
    "Batches", "Receiving", "Preparation and resting", "Cooking", "Cooling", "Reheating", "Holding hot", "Holding cold",
    "Time as a control", "Thermometer checks", "Corrective actions", "Discarded food",
]  # fmt: skip
Make = Callable[..., Register]


@pytest.fixture
def make(tmp_path: Path) -> Iterator[Make]:
    """Make the register of a kitchen from what a manager would have entered."""
    record = open_record(tmp_path / "record.sqlite3", create=True)

    def made(*more: Body, kitchen: KitchenSettings = KITCHEN) -> Register:
        drafts = [Draft(body=body, at=PRINTED, person="AR") for body in (kitchen, *more)]
        record.append(drafts, lambda: PRINTED)
        return read_register(record)

    yield made
    record.close()


def sheets(register: Register) -> dict[str, dict[str, Any]]:
    return {sheet["title"]: sheet for sheet in gather(register, PRINTED)["sheets"]}


def columns(sheet: dict[str, Any]) -> list[str]:
    return [name for name, _ in sheet["columns"]]


def asked(sheet: dict[str, Any]) -> dict[str, str]:
    return {about: words for about, words, _ in sheet["limits"]}


def local(text: str, kitchen: KitchenSettings = KITCHEN) -> KitchenSettings:
    digest = limits_of(kitchen.limit_set, text, kitchen.guard).digest
    return replace(kitchen, overrides=text, limits_digest=digest)


# ---- what stands on them ----


def test_there_is_a_sheet_for_each_kind_of_entry(make: Make) -> None:
    assert list(sheets(make())) == TITLES


@pytest.mark.parametrize("title", ["Cooking", "Cooling", "Reheating", "Holding hot", "Receiving"])
def test_a_sheet_has_the_fields_of_a_reading(make: Make, title: str) -> None:
    sheet = sheets(make())[title]
    fields = " ".join((sheet["how"], *columns(sheet), *sheet["boxes"]))
    wanted = ["time", "°F", "Thermometer", "By"]
    wanted += [] if title.startswith("Holding") else ["Food"]
    for field in wanted:
        assert field.lower() in fields.lower(), field


def test_heat_is_logged_with_its_hold_and_a_roast_with_its_oven(make: Make) -> None:
    made = sheets(make())
    assert {"Held (s)", "Oven °F"} <= set(columns(made["Cooking"]))
    assert "Held (s)" in columns(made["Reheating"])


@pytest.mark.parametrize("title", TITLES)
def test_a_row_has_room_for_a_wet_hand(make: Make, title: str) -> None:
    """9 mm or more, and no column narrower than a temperature: common practice, no source."""
    sheet = sheets(make())[title]
    assert sheet["row_mm"] >= 9
    assert min(width.get("mm", 20) for _, width in sheet["columns"]) >= 14


def test_a_cooling_is_logged_every_hour_up_to_its_limits(make: Make) -> None:
    """3-501.14(A) and (B): 70 °F by 2 h, 41 °F by 6 h, by 4 h if from room temperature."""
    assert sheets(make())["Cooling"]["first"] == [
        "START: the time AT 135 °F",
        "1 h",
        "2 h: 70 °F or below",
        "3 h",
        "4 h: 41 °F or below if from room temperature",
        "5 h",
        "6 h: 41 °F or below",
    ]


STAGE_2 = """
[[limit]]
name = "cooling-stage-2"
side = "at or below"
inclusive = true
f = 41
c = 5
{start}within_min = {minutes}
clock = "{clock}"
citation = "Town code 9"
source = "an invented town's code"
basis = "verified"
text = "Cool to 41 °F (5 °C)."
"""


def test_a_second_stage_that_counts_from_the_first_has_its_latest_moment(make: Make) -> None:
    kitchen = local(STAGE_2.format(start="", minutes=210, clock="previous stage"))
    sheet = sheets(make(kitchen=kitchen))["Cooling"]
    assert sheet["first"][-2:] == [
        "5 h",
        "5 h 30 min: 41 °F or below, 3 h 30 min after the stage before",
    ]
    assert ["Cooling stage 2", "41 °F or below, within 3 h 30 min from the end of the stage before",
            "Town code 9"] in sheet["limits"]  # fmt: skip


def test_a_very_long_cooling_has_rows_for_its_limits_alone(make: Make) -> None:
    start = "start_f = 135\nstart_c = 57\n"
    kitchen = local(STAGE_2.format(start=start, minutes=48 * 60, clock="start"))
    assert len(sheets(make(kitchen=kitchen))["Cooling"]["first"]) == 4


def test_limits_stand_on_each_sheet_with_their_section(make: Make) -> None:
    made = sheets(make())
    assert ["Cooling stage 1", "70 °F or below, within 2 h from 135 °F", "3-501.14(A)(1)"] in made[
        "Cooling"
    ]["limits"]
    assert asked(made["Holding cold"]) == {"Cold holding": "41 °F or below"}
    assert made["Thermometer checks"]["limits"] == [["Accuracy", "within 2 °F", "4-203.11"]]


def test_a_number_that_no_source_has_says_so(make: Make) -> None:
    cited = {about: cited for about, _, cited in sheets(make())["Receiving"]["limits"]}
    assert cited["Receiving frozen"] == "3-202.11(E); common practice"
    assert cited["Receiving cold"] == "3-202.11(A)"


def test_kinds_of_food_that_share_a_limit_share_a_line(make: Make) -> None:
    every = asked(sheets(make())["Cooking"])
    assert every["Cook: poultry, stuffed food, wild game; or kind not known"] == "165 °F or above"
    own = asked(
        sheets(make(PlannedFood(name="rice", food_kind="plant food", steps=("cook",))))["Cooking"]
    )
    assert own["Cook: plant food"] == "135 °F or above"
    assert own["Cook"] == "165 °F or above"
    assert not [about for about in own if "poultry" in about or "Oven" in about]


def test_a_kitchen_in_celsius_writes_and_reads_celsius(make: Make) -> None:
    made = sheets(make(kitchen=replace(KITCHEN, degree="C")))
    whole = str(list(made.values())).replace("write °F or °C", "")
    assert "57 °C or above" in whole
    assert "°F" not in whole


def test_a_guard_band_moves_the_numbers_and_is_named(make: Make) -> None:
    digest = limits_of("food-code-2022", "", "1F").digest
    register = make(kitchen=replace(KITCHEN, guard="1F", limits_digest=digest))
    assert asked(sheets(register)["Holding cold"]) == {"Cold holding": "40 °F or below"}
    assert gather(register, PRINTED)["limit_set"].endswith("moved inward by 1 °F")


def test_water_boils_by_the_kitchens_altitude(make: Make) -> None:
    """1,524 m (5,000 ft): 202.8 °F, calculated; published tables say 203 °F."""
    assert "at 1524 m, about 202.8 °F" in sheets(make())["Thermometer checks"]["how"]


def test_each_unit_has_a_column_with_its_interval_and_retired_ones_have_none(make: Make) -> None:
    units = [HoldingUnit(name=f"well-{n}", holds="hot", every_min=60) for n in range(1, 8)]
    gone = HoldingUnit(name="old-well", holds="hot", every_min=60, active=False)
    cold = HoldingUnit(name="freezer", holds="frozen", every_min=720)
    every = gather(make(*units, gone, cold), PRINTED)["sheets"]
    hot = [columns(sheet) for sheet in every if sheet["title"] == "Holding hot"]
    names = [name.replace("\u00a0", " ") for page in hot for name in page]
    assert [name for name in names if "well" in name] == [
        f"well-{n}, every 1 h" for n in range(1, 8)
    ]
    assert [len(page) for page in hot] == [8, 8]
    (frozen,) = [sheet for sheet in every if sheet["title"] == "Holding frozen"]
    assert asked(frozen) == {"Frozen holding": "28 °F or below"}


# ---- on paper ----


def pdf_of(register: Register, paper: Literal["letter", "a4"] = "letter") -> bytes:
    words = gather(register, PRINTED)
    return typeset(words, {}, template="forms", paper=paper, printed=PRINTED)


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_a_sheet_is_a_page_tagged_for_pdf_a_and_pdf_ua(
    make: Make, paper: Literal["letter", "a4"], tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.WARNING):
        made = pdf_of(make(), paper)
    assert caplog.records == []  # no second try was needed
    pages = PdfReader(BytesIO(made)).pages
    assert len(pages) == len(TITLES)
    for title, page in zip(TITLES, pages, strict=True):
        words = " ".join(page.extract_text().split())
        for part in (title, "Date", "By", "Verified by (manager)", "Typed in by", "haccp "):
            assert part in words, (title, part)
    file = tmp_path / "forms.pdf"
    file.write_bytes(made)
    assert list(validate(str(file)).findings) == []
    with pikepdf.open(BytesIO(made)) as pdf, pdf.open_metadata() as metadata:
        assert (metadata.pdfa_status, metadata["pdfuaid:part"]) == ("2A", "1")


@pytest.mark.parametrize("name", ["#panic()", "*b* _i_ $x$ \\", "豆腐", "W" * 80])
def test_what_people_typed_is_printed_and_never_markup(
    make: Make, name: str, caplog: pytest.LogCaptureFixture
) -> None:
    unit = HoldingUnit(name=name, holds="hot", every_min=60)
    pages = PdfReader(BytesIO(pdf_of(make(unit, kitchen=replace(KITCHEN, name=name))))).pages
    text = re.sub(r"[\s\u200b]", "", "".join(page.extract_text() for page in pages))
    shown = name.replace("豆腐", "[U+8C46][U+8150]").replace(" ", "")
    assert text.count(shown[:50]) >= len(TITLES) + 1  # each foot, and the unit's column
    assert caplog.records == []
    assert len(pages) == len(TITLES)
