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
from pypdf import PageObject, PdfReader

from haccp import limits
from haccp.catalogs import catalog_of
from haccp.kitchen.register import Register, limits_of, read_register
from haccp.language import read_in
from haccp.printing.forms import gather
from haccp.printing.typeset import typeset
from haccp.record.bodies import (
    Body,
    DayClosed,
    HoldingUnit,
    KitchenSettings,
    PlannedFood,
    Thermometer,
)
from haccp.record.entries import Draft
from haccp.record.store import open_record
from haccp.rules.account.steps import TRAITS
from haccp.rules.evidence import Step

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
    "Sheets given out", "Batches", "Receiving", "Preparation and resting", "Cooking", "Cooling", "Reheating", "Holding hot", "Holding cold",
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
    wanted = ["time", "°F", "Thermometer", "Initials", "Food"]
    for field in wanted:
        assert field.lower() in fields.lower(), field


def test_heat_is_logged_with_its_hold_and_a_roast_with_its_oven(make: Make) -> None:
    made = sheets(make())
    assert {"Held (s)", "Oven °F"} <= set(columns(made["Cooking"]))
    assert "Held (s)" in columns(made["Reheating"])


@pytest.mark.parametrize("title", TITLES)
def test_a_row_has_room_for_a_wet_hand(make: Make, title: str) -> None:
    """7 mm or more, and no column narrower than a temperature: common practice, no source."""
    sheet = sheets(make())[title]
    assert sheet["row_mm"] >= 7
    assert min(width.get("mm", 20) for _, width in sheet["columns"]) >= 14


def test_a_cooling_is_logged_every_hour_up_to_its_limits(make: Make) -> None:
    """3-501.14(A) and (B): 70 °F by 2 h, 41 °F by 6 h, by 4 h if from room temperature."""
    assert sheets(make())["Cooling"]["first"] == [
        "START: the moment at 135 °F, or the last reading at or above it",
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
    sheet = sheets(make())["Receiving"]
    cited = {about: cited for about, _, cited in sheet["limits"]}
    assert cited["Receiving frozen"] == "3-202.11(E)¹"
    assert sheet["notes"] == "¹ common practice."
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
    names = [name for page in hot for name in page]
    assert [name for name in names if "well" in name] == [f"well-{n} °F" for n in range(1, 8)]
    assert all(
        sheet["how"].startswith("Every 1 h.") for sheet in every if "well-1" in sheet["units"]
    )
    (frozen,) = [sheet for sheet in every if sheet["title"] == "Holding frozen"]
    assert asked(frozen) == {"Frozen holding": "28 °F or below"}


# ---- what to do when a number is missed ----

SERVED: dict[str, tuple[Step, tuple[str, ...]]] = {
    "Receiving": (
        Step.RECEIVE,
        (
            "receiving-",
            "cooling-received",
        ),
    ),
    "Preparation and resting": (Step.COLD_HOLD, ("time-out-",)),
    "Cooking": (
        Step.COOK,
        (
            "cook",
            "oven",
            "initial-heating",
        ),
    ),
    "Cooling": (Step.COOL, ("cooling-",)),
    "Reheating": (Step.REHEAT, ("reheat",)),
    "Holding hot": (Step.HOT_HOLD, ("hot-holding",)),
    "Holding cold": (Step.COLD_HOLD, ("cold-holding",)),
    "Holding raw shell eggs": (Step.COLD_HOLD, ("egg-holding",)),
    "Holding frozen": (Step.COLD_HOLD, ("frozen-holding",)),
    "Time as a control": (Step.TIME_CONTROL, ("time-control-",)),
    "Batches": (Step.COLD_HOLD, ("date-mark",)),
}
OF_EACH_USE = [
    HoldingUnit(name=holds, holds=holds, every_min=60) for holds in ("hot", "cold", "egg", "frozen")
]


def missed(sheet: dict[str, Any]) -> dict[str, str]:
    return {when: what for when, what, _ in sheet["missed"]}


@pytest.mark.parametrize("name", limits.revisions())
@pytest.mark.parametrize("degree", ["F", "C"])
def test_each_limit_stands_on_its_sheet_with_what_to_do_when_it_is_missed(
    make: Make, name: str, degree: str
) -> None:
    """The numbers as the limits file prints them for that degree, never converted here."""
    code = limits.shipped(name)
    kitchen = replace(KITCHEN, degree=degree, limit_set=name, limits_digest=code.digest)
    made = sheets(make(*OF_EACH_USE, kitchen=kitchen))
    for title, (step, names) in SERVED.items():
        told = "\n".join(f"{asked} {cited}" for _, asked, cited in made[title]["limits"])
        mended = " ".join(cited for *_, cited in made[title]["missed"])
        mine = [one for one in code.limits if one.name.startswith(names)]
        assert mine
        for one in (one for one in mine if one.name in TRAITS[step].limits):
            for row in one.rows:
                number = row.level.f if degree == "F" else row.level.c
                assert re.search(rf"(?<![0-9.]){re.escape(str(number))} °{degree}", told), one
            assert one.citation in told
            has_number = bool(one.rows or one.within)
            past = title == "Batches"  # what is past its day is removed by 3-501.18
            if has_number and not past and not one.kind:
                assert one.citation in mended or "the sections above" in mended, one
        assert made[title]["missed"]


def test_a_cooling_is_saved_in_time_or_discarded(make: Make) -> None:
    """3-501.14(A), (B); the stricter advice: once the two hours are over it is discarded."""
    did = missed(sheets(make())["Cooling"])
    saved = "It will not be 70 °F or below at 2 h, and there is still time."
    assert did[saved].startswith("Reheat it to 165 °F or above for 15 s before 2 h have passed")
    assert "once only" in did[saved]
    for late in (
        "Above 70 °F at 2 h, or not measured by then.",
        "Above 41 °F at 6 h, or not measured by then.",
        "From room temperature: above 41 °F at 4 h, or not measured by then.",
    ):
        assert did[late] == "Discard it.", late


def test_a_local_code_may_let_a_late_cooling_be_reheated_once(make: Make) -> None:
    sheet = sheets(make(kitchen=replace(KITCHEN, late_reheat="Town code 12")))["Cooling"]
    ((what, cited),) = [
        (what, cited) for when, what, cited in sheet["missed"] if when.startswith("Above 70 °F")
    ]
    assert what.startswith("Discard it; or reheat it to 165 °F or above for 15 s now, once")
    assert cited == "3-501.14(A)(1); Town code 12"


def test_holding_says_what_is_saved_and_what_is_not(make: Make) -> None:
    made = sheets(make(*OF_EACH_USE, kitchen=replace(KITCHEN, degree="C")))
    hot = "Below 57 °C (whole roast: below 54 °C)"
    assert missed(made["Holding hot"])[f"{hot}, and good at most 2 h ago."].startswith(
        "Reheat it to 74 °C or above for 15 s"
    )
    assert missed(made["Holding hot"])[f"{hot} for longer, or nobody knows."].startswith("Discard")
    assert "Above 5 °C for longer, or nobody knows." in missed(made["Holding cold"])
    assert "Above 7 °C for longer, or nobody knows." in missed(made["Holding raw shell eggs"])
    for title in ("Holding hot", "Holding cold", "Holding raw shell eggs", "Holding frozen"):
        assert missed(made[title])["A check was missed."].startswith("Measure now")


def test_a_limit_that_its_own_number_breaks_says_so(make: Make) -> None:
    """Scotland, schedule 4: food is held above 63 °C, so 63 °C is too cold."""
    code = limits.shipped("scotland")
    kitchen = replace(KITCHEN, degree="C", limit_set="scotland", limits_digest=code.digest)
    assert any(
        when.startswith("63 °C or below")
        for when in missed(sheets(make(kitchen=kitchen))["Holding hot"])
    )


def test_a_thermometer_that_is_off_takes_its_readings_with_it(make: Make) -> None:
    """4-203.11 and 4-502.11(B)."""
    made = sheets(
        make(Thermometer(label="T1", accuracy="2F"), Thermometer(label="T2", accuracy="2F"))
    )
    sheet = made["Thermometer checks"]
    assert "Measure again, with another" in missed(sheet)["Off by more than 2 °F."]
    assert sheet["first"] == ["T1", "T2"] * 7


# ---- which day, which hour, which food ----

WALK_IN = HoldingUnit(name="walk-in", holds="cold", every_min=720)
WELL = HoldingUnit(name="well-1", holds="hot", every_min=60)


def test_a_unit_that_is_read_twice_a_day_has_its_week_on_a_sheet(make: Make) -> None:
    sheet = sheets(make(WALK_IN))["Holding cold"]
    assert sheet["dated"] == "Week from Monday"
    assert sheet["first"][:3] == ["Mon 1", "Mon 2", "Tue 1"]
    assert len(sheet["first"]) == 14


def test_a_week_follows_the_opening_hours_and_names_closed_days(make: Make) -> None:
    kitchen = replace(KITCHEN, open_hours="mon-fri 06:00-20:00; sat 08:00-12:00")
    sheet = sheets(make(WALK_IN, kitchen=kitchen))["Holding cold"]
    assert sheet["first"] == [
        *(
            f"{day} {hour}"
            for day in ("Mon", "Tue", "Wed", "Thu", "Fri")
            for hour in ("06:00", "18:00")
        ),
        "Sat 08:00",
        "Sun: closed",
    ]
    assert "unless the kitchen is closed for more than 2 d" in sheet["how"]


def test_a_check_after_midnight_is_the_next_days(make: Make) -> None:
    kitchen = replace(KITCHEN, open_hours="sat 20:00-08:00")
    sheet = sheets(make(WALK_IN, kitchen=kitchen))["Holding cold"]
    assert sheet["first"][-3:] == ["Sat 20:00", "Sun 08:00", "Sun: closed"]


def test_an_hourly_unit_has_a_day_on_a_sheet_and_one_for_each_kind_of_day(make: Make) -> None:
    kitchen = replace(KITCHEN, open_hours="mon-sat 06:00-20:00; sun 22:30-01:30")
    every = gather(make(WELL, kitchen=kitchen), PRINTED)["sheets"]
    week, sunday = [sheet for sheet in every if sheet["title"] == "Holding hot"]
    assert week["first"] == [f"{hour:02d}:00" for hour in range(6, 21)]
    assert "For Mon, Tue, Wed, Thu, Fri, Sat." in week["how"]
    assert sunday["first"] == ["22:30", "23:30", "00:30", "01:30"]
    assert week["dated"] == sunday["dated"] == "Date"


def test_a_long_day_goes_on_on_another_sheet(make: Make) -> None:
    kitchen = replace(KITCHEN, open_hours="mon-sun 00:00-24:00")
    every = gather(make(WELL, kitchen=kitchen), PRINTED)["sheets"]
    hot = [sheet for sheet in every if sheet["title"] == "Holding hot"]
    rows = [row for sheet in hot for row in sheet["first"]]
    assert [sheet["units"] for sheet in hot] == ["well-1, 00:00 – 15:00", "well-1, 16:00 – 00:00"]
    assert rows == [*(f"{hour:02d}:00" for hour in range(24)), "00:00"]


def test_the_food_that_stands_in_a_well_is_named(make: Make) -> None:
    second = HoldingUnit(name="well-2", holds="hot", every_min=60)
    foods = [
        PlannedFood(name="bean stew", steps=("cook", "hot_hold"), unit="well-1"),
        PlannedFood(name="rice", steps=("cook", "hot_hold"), unit="well-2"),
        PlannedFood(name="stock", steps=("cook", "cool"), unit="well-2"),
    ]
    names = columns(sheets(make(WELL, second, *foods))["Holding hot"])
    assert names[1:5] == ["well-1 °F", "Food; usually bean stew", "well-2 °F", "Food; usually rice"]


def test_a_missing_sheet_shows(make: Make) -> None:
    """Every sheet but the list is on the list with its number, and has room for its copy's."""
    units = [HoldingUnit(name=f"well-{n}", holds="hot", every_min=60) for n in range(40)]
    every = gather(make(*units), PRINTED)["sheets"]
    lists = [sheet for sheet in every if sheet["title"] == "Sheets given out"]
    listed = [row.split("  ")[0] for sheet in lists for row in sheet["first"]]
    assert listed == [str(n) for n in range(len(lists) + 1, len(every) + 1)]
    assert len(lists) == 2


def test_what_the_kitchen_said_of_itself_stands_on_the_first_sheet(make: Make) -> None:
    kitchen = replace(
        KITCHEN,
        address="14 Ditch Lane",
        in_charge="Asta Rillwood",
        open_hours="mon-sun 06:00-20:00",
    )
    past = DayClosed(first="2026-10-01", last="2026-10-02", reason="past")
    closed = DayClosed(first="2026-11-08", last="2026-11-09", reason="deep cleaning")
    first = gather(make(closed, past, kitchen=kitchen), PRINTED)["sheets"][0]
    assert dict(map(tuple, first["facts"])) == {
        "Address": "14 Ditch Lane",
        "Person in charge": "Asta Rillwood",
        "Opening hours": "mon-sun 06:00-20:00",
        "Declared closed": "Sun 8 Nov 2026 to Mon 9 Nov 2026, deep cleaning",
    }


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
        for part in (title, "Date", "Initials", "Verified by (manager)", "Typed in by", "haccp "):
            assert part in words, (title, part)
    file = tmp_path / "forms.pdf"
    file.write_bytes(made)
    assert list(validate(str(file)).findings) == []
    with pikepdf.open(BytesIO(made)) as pdf, pdf.open_metadata() as metadata:
        assert (metadata.pdfa_status, metadata["pdfuaid:part"]) == ("2A", "1")


@pytest.mark.parametrize("name", ["#panic()", "*b* _i_ $x$ \\", "pizza \U0001f355", "W" * 80])
def test_what_people_typed_is_printed_and_never_markup(
    make: Make, name: str, caplog: pytest.LogCaptureFixture
) -> None:
    unit = HoldingUnit(name=name, holds="hot", every_min=60)
    pages = PdfReader(BytesIO(pdf_of(make(unit, kitchen=replace(KITCHEN, name=name))))).pages
    text = re.sub(r"[\s\u200b]", "", "".join(page.extract_text() for page in pages))
    shown = name.replace("\U0001f355", "[U+1F355]").replace(" ", "")
    assert text.count(shown[:50]) >= len(TITLES) + 1  # each foot, and the unit's column
    assert caplog.records == []
    assert len(pages) == len(TITLES)


def test_each_page_says_which_sheet_of_how_many_and_whose(make: Make) -> None:
    register = make(kitchen=replace(KITCHEN, permit="0000 (invented)"))
    pages = PdfReader(BytesIO(pdf_of(register))).pages
    for number, page in enumerate(pages, 1):
        words = " ".join(page.extract_text().split())
        for part in (f"Sheet {number} of {len(TITLES)}", "Copy no.", "Permit 0000 (invented)"):
            assert part in words, (number, part)


def test_no_type_is_too_small_to_read(make: Make) -> None:
    """8.5 pt and more, but for marks, what is typed later and the foot: 8 pt."""
    sizes: dict[float, int] = {}

    def seen(words: str, page: list[float], line: list[float], _: Any, size: float) -> None:
        if words.strip():
            drawn = round(abs(size * line[3] * page[3]), 2)
            sizes[drawn] = sizes.get(drawn, 0) + len(words)

    for page in PdfReader(BytesIO(pdf_of(make()))).pages:
        page.extract_text(visitor_text=seen)
    assert min(sizes) >= 8
    assert sum(count for size, count in sizes.items() if size >= 8.5) > 3000


def test_all_ink_is_black(make: Make) -> None:
    """A photocopy of a photocopy keeps it: no grey, no colour. 0 is black where 1 is white."""
    inks = set()
    with pikepdf.open(BytesIO(pdf_of(make()))) as pdf:
        for page in pdf.pages:
            for one in pikepdf.parse_content_stream(page):
                if str(one.operator) in ("g", "G", "rg", "RG", "k", "K", "sc", "SC", "scn", "SCN"):
                    inks.add(tuple(map(str, one.operands)))
    assert inks == {("0",)}


def heights_of(page: PageObject) -> list[tuple[float, str]]:
    """Give what is written on a page, with how high it stands [pt], in its order."""
    heights: list[tuple[float, str]] = []

    def seen(words: str, page: list[float], line: list[float], *_: Any) -> None:
        heights.append((line[5] * page[3] + page[5], words.strip()))

    page.extract_text(visitor_text=seen)
    return heights


def test_long_names_leave_a_sheet_its_page(make: Make) -> None:
    name = "steam table well on the left of the line, number "
    units = [HoldingUnit(name=f"{name}{n}", holds="hot", every_min=60) for n in range(3)]
    foods = [
        PlannedFood(
            name=f"bean stew with kale and paprika {n}", steps=("hot_hold",), unit=f"{name}1"
        )
        for n in range(4)
    ]
    kitchen = replace(KITCHEN, name="Kitchen " * 20, open_hours="mon-sun 06:00-21:00")
    register = make(*units, *foods, kitchen=kitchen)
    pages = PdfReader(BytesIO(pdf_of(register))).pages
    assert len(pages) == len(TITLES)
    heights = heights_of(pages[TITLES.index("Holding hot")])
    (last,) = [height for height, words in heights if words == "21:00"]
    (below,) = [height for height, words in heights if words == "Corrective action"]
    assert last > below + 10


@pytest.mark.parametrize("name", limits.revisions())
def test_every_set_of_limits_leaves_each_sheet_its_page(make: Make, name: str) -> None:
    """In the longer language, with every kind of food; a row ends above what stands below it."""
    kitchen = replace(KITCHEN, limit_set=name, limits_digest=limits.shipped(name).digest)
    with read_in(catalog_of("es")):
        register = make(*OF_EACH_USE, kitchen=kitchen)
        pages = PdfReader(BytesIO(pdf_of(register))).pages
        cooling = sheets(register)["Enfriamiento"]
    assert len(pages) == len(TITLES) + 2
    (page,) = [one for one in pages if one.extract_text().startswith("Enfriamiento")]
    heights = heights_of(page)
    last = max(
        n for n, (_, words) in enumerate(heights) if words.startswith(cooling["first"][-1][:3])
    )
    below = next(n for n, (_, words) in enumerate(heights) if words.startswith("Medida"))
    assert heights[last][0] > heights[below][0] + 10
