"""What the report's pages say of a record, as an inspector reads them; every food is invented."""

import json
import re
import shutil
from datetime import date, datetime, timedelta
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from haccp.kitchen.register import read_register
from haccp.limits import shipped
from haccp.printing.report_words import gather
from haccp.printing.typeset import typeset
from haccp.record.store import open_record
from haccp.time import short_day
from tests.kitchens import Kitchen

DAY = date(2026, 10, 26)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A kitchen made once: each test takes a copy of its file."""
    made = Kitchen(tmp_path_factory.mktemp("kitchen") / "record.sqlite3")
    made.at("2026-10-26T06:00-06:00")
    made.says(
        'setup "Test Kitchen" --zone America/Denver --altitude 1640m --manager AR '
        '--manager-name "Asta Rillwood"'
    )
    made.says('add person JM "Jory Maddow" --by AR')
    made.says('add person QX "Quill Xander" --by AR')
    for added in ("thermometer T1", "unit well-1 hot", "unit walk-in cold --every 240"):
        made.says(f"add {added} --by AR")
    return made.path


@pytest.fixture
def kitchen(made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Kitchen:
    monkeypatch.setenv("HACCP_BY", "JM")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    return Kitchen(Path(shutil.copy(made, tmp_path)))


def log(kitchen: Kitchen, *timed: tuple[str, str], day: date = DAY) -> None:
    """Type commands at kitchen times of one day, before the clocks go back."""
    for clock, command in timed:
        kitchen.at(f"{day}T{clock}-06:00")
        kitchen.says(command)


def words(kitchen: Kitchen, first: date = DAY, last: date | None = None) -> dict[str, Any]:
    """Gather the report of some days as of the kitchen's clock."""
    record = open_record(kitchen.path, create=False)
    found = gather(record, read_register(record), first, last or first, kitchen.now).words
    record.close()
    return found


def batch(content: dict[str, Any], code: str) -> dict[str, Any]:
    (found,) = [one for one in content["annex"]["batches"] if one["code"] == code]
    return dict(found)


def facts(content: dict[str, Any], code: str) -> dict[str, str]:
    return dict(batch(content, code)["facts"])


def marks(subject: dict[str, Any]) -> list[tuple[str, str, str]]:
    return [
        (one["temp"], one["mark"], one["note"])
        for run in subject["readings"]
        for one in run["rows"]
    ]


def after(days: int) -> date:
    return DAY + timedelta(days=days)


def pages(content: dict[str, Any]) -> list[str]:
    printed = datetime.fromisoformat("2026-11-02T08:00-07:00")
    figures = [
        *content["log"]["figures"],
        *(one for each in content["full"] for one in each["curves"]),
    ]
    drawings = dict.fromkeys([*(one["file"] for one in figures), "head.svg", "key.svg"], DRAWING)
    content = {**content, "again": "haccp report 2026-10-26"}
    pdf = typeset(content, drawings, template="report", paper="letter", printed=printed)
    return [
        re.sub(r"\s+", " ", page.extract_text().replace("\u200b", ""))
        for page in PdfReader(BytesIO(pdf)).pages
    ]


DRAWING = b"""<svg xmlns="http://www.w3.org/2000/svg" width="481.9pt" height="181pt">
<path d="M0 0 L400 150" stroke="#000000" fill="none"/></svg>"""


# ---- who, and what was signed ----


def test_the_people_whose_initials_are_printed_are_named(kitchen: Kitchen) -> None:
    log(kitchen, ("12:00", "hold well-1 150"), ("12:30", "empty well-1"))
    log(kitchen, ("07:00", "sign yesterday --by AR"), day=after(1))
    people = words(kitchen)["people"]
    assert people == [["AR", "Asta Rillwood", "manager"], ["JM", "Jory Maddow", "cook"]]
    paper = " ".join(pages(words(kitchen)))
    assert "People who record: AR Asta Rillwood (manager); JM Jory Maddow (cook)" in paper


def test_who_has_left_is_still_named(kitchen: Kitchen) -> None:
    log(
        kitchen,
        ("12:00", "hold well-1 150"),
        ("13:00", 'add person JM "Jory Maddow" --left --by AR'),
    )
    assert ["JM", "Jory Maddow", "cook, has left"] in words(kitchen)["people"]


def test_each_day_says_who_signed_it_or_that_nobody_did(kitchen: Kitchen) -> None:
    log(
        kitchen,
        ("12:00", "hold well-1 130"),
        ("13:00", "hold well-1 150"),
        ("13:05", "empty well-1"),
    )
    log(kitchen, ("12:00", "hold well-1 150"), ("12:05", "empty well-1"), day=after(1))
    log(kitchen, ("08:00", f"sign {DAY} --note 'told the crew' --by AR"), day=after(1))
    kitchen.at(f"{after(3)}T12:00-06:00")
    content = words(kitchen, DAY, after(5))
    days = {
        row["day"]: (row["signed"]["words"], row["signed"]["undecided"]) for row in content["days"]
    }
    assert days == {
        "Mon 26 Oct": ("AR Tue 08:00", "1 undecided"),
        "Tue 27 Oct": ("not signed", ""),
        "Wed 28 Oct": ("not signed", ""),  # nothing was recorded, and nobody looked
        "Thu 29 Oct": ("not signed", ""),
    }
    assert "3 days are not signed: Tue 27 Oct to Thu 29 Oct." in content["sentence"]
    assert content["begins"].endswith("Without entries: Wed 28 Oct, Thu 29 Oct.")


def test_a_deviation_that_began_before_the_period_is_told_and_its_hours_are_hatched(
    kitchen: Kitchen,
) -> None:
    """Food whose checks were missed from Monday on is missed on Wednesday and Thursday too."""
    log(
        kitchen,
        ("09:00", "batch stew --code stew"),
        ("11:50", "cook stew 200"),
        ("12:00", "hold stew 150"),
    )
    kitchen.at(f"{after(4)}T12:00-06:00")
    for day in (after(2), after(3)):
        content = words(kitchen, day)
        (told,) = content["deviations"]
        assert told["verdict"] == "not shown"
        assert told["what"][0]["words"].startswith("No check between Mon 26 Oct 12:00 and")
        assert content["sentence"][0] == "1 food is undecided and still here: stew, in well-1."
        assert "Nothing was recorded in this period." in content["sentence"]


# ---- what is said of a batch or unit ----


def test_a_holding_that_was_met_stands_in_the_matrix_hour_by_hour(kitchen: Kitchen) -> None:
    log(
        kitchen,
        ("12:00", "hold well-1 150"),
        ("13:00", "hold well-1 151"),
        ("13:30", "empty well-1"),
        ("18:00", "hold well-1 149"),
    )
    (unit,) = words(kitchen)["annex"]["units"]
    assert unit["findings"] == [["met", "Hot holding"]]
    (table,) = words(kitchen)["holding"]
    cells = dict(zip(table["hours"], table["rows"][0]["cells"], strict=True))
    assert {hour: cell["text"] for hour, cell in cells.items()} == {
        "12 h": "150", "13 h": "151", "18 h": "149",
    }  # fmt: skip
    assert {cell["mark"] for cell in cells.values()} == {""}


def test_a_merge_is_told_as_one_and_a_split_as_one(kitchen: Kitchen) -> None:
    log(
        kitchen,
        ("09:00", "batch rice --code r1"),
        ("09:01", "batch rice --code r2"),
        ("10:00", "cook r1 200"),
        ("10:01", "cook r2 200"),
        ("10:10", "merge r1 r2 --code rice-all"),
        ("10:20", "split rice-all 2"),
    )
    content = words(kitchen)
    assert facts(content, "rice-all")["Put together from"] == "r1, r2"
    assert facts(content, "rice-all-a")["Taken from"] == "rice-all"
    told = {
        code: [row[:3] for row in batch(content, code)["relations"]] for code in ("r1", "rice-all")
    }
    assert told["r1"][0] == ["Went into", "rice (rice-all)", "put together with r2"]
    assert told["r1"][1] == ["Went into", "rice (rice-all-a)", "a portion, 2 steps away"]
    assert told["rice-all"][:2] == [
        ["In it", "rice (r1)", "put together with r2"],
        ["In it", "rice (r2)", "put together with r1"],
    ]
    traced = json.loads(kitchen.says("trace rice-all-a --json"))["what is in it"]
    assert [one["how"] for one in traced] == [
        "taken from", "put together with r2", "put together with r1",
    ]  # fmt: skip


def test_an_oven_out_of_limits_is_marked_at_the_oven_and_not_at_the_core(kitchen: Kitchen) -> None:
    """A high-humidity oven of 260 °F is above the 250 °F of 3-401.11(B); the core did no wrong."""
    log(
        kitchen,
        (
            "08:00",
            'batch beef --code beef --kind "whole roast" --oven "high humidity" --weight 15lb',
        ),
        ("09:00", "cook beef 138 --oven 240F --yes"),
        ("10:00", "cook beef 139 --oven 260F --yes"),
        ("11:30", "cook beef 150 --oven 245F --yes"),
    )
    assert marks(batch(words(kitchen), "beef")) == [
        ("138", "", "oven 240 °F"),
        ("139", "", "oven ✕ 260 °F"),
        ("150", "", "oven 245 °F"),
    ]


def test_a_good_reading_is_not_marked_where_the_time_ran_out(kitchen: Kitchen) -> None:
    log(
        kitchen,
        ("08:00", "batch melon --code melon"),
        ("09:00", "time melon 40 --six-hours"),
        ("14:00", "time melon 68 --six-hours"),
        ("15:30", "used melon --yes"),
    )
    found = batch(words(kitchen), "melon")
    assert [verdict for verdict, _ in found["findings"]] == ["not met"]
    assert [mark for _, mark, _ in marks(found)] == ["", ""]


@pytest.mark.parametrize(
    ("first", "last", "marked"), [("45", "68", ["✕", ""]), ("40", "72", ["", "✕"])]
)
def test_a_reading_that_breaks_the_time_controls_temperature_is_marked(
    kitchen: Kitchen, first: str, last: str, marked: list[str]
) -> None:
    """3-501.19(C): at 41 °F or below when it leaves, and not above 70 °F."""
    log(
        kitchen,
        ("08:00", "batch melon --code melon"),
        ("09:00", f"time melon {first} --six-hours --yes"),
        ("12:00", f"time melon {last} --six-hours --yes"),
        ("12:01", "used melon --yes"),
    )
    assert [mark for _, mark, _ in marks(batch(words(kitchen), "melon"))] == marked


def test_a_cook_that_was_never_hot_is_marked_where_it_ended(kitchen: Kitchen) -> None:
    log(
        kitchen,
        ("08:00", "batch chicken --code hen --kind poultry"),
        ("09:00", "cook hen 100"),
        ("09:30", "cook hen 150"),
        ("09:40", "hold hen 149"),
    )
    assert [mark for _, mark, _ in marks(batch(words(kitchen), "hen"))] == ["", "✕", ""]


@pytest.mark.parametrize("thawed", [1, 2, 9])
def test_frozen_food_tells_the_days_that_it_has_once_thawed_and_no_date(
    kitchen: Kitchen, thawed: int
) -> None:
    """3-501.17(A): seven days, two of which were spent when it froze."""
    log(kitchen, ("08:00", "batch stock --code stock"))
    log(kitchen, ("12:00", "freeze stock"), day=after(1))
    told = facts(words(kitchen), "stock")
    assert "Date mark" not in told
    five = "5 days left once thawed, the day of thawing being the first (3-501.17(A))"
    assert told["Frozen"] == f"since Tue 27 Oct 12:00; {five}"
    kitchen.at(f"{after(1 + thawed)}T11:00-07:00")
    assert five in facts(words(kitchen), "stock")["Frozen"]
    kitchen.says("thaw stock")
    mark = short_day(after(1 + thawed + 4))  # as many days, the first included
    assert facts(words(kitchen), "stock")["Date mark"].startswith(f"use by {mark} ")


def test_food_that_was_frozen_on_its_last_day_has_none_left(kitchen: Kitchen) -> None:
    log(kitchen, ("08:00", "batch stock --code stock"))
    kitchen.at(f"{after(6)}T12:00-07:00")
    kitchen.says("freeze stock")
    assert "no days left once thawed" in facts(words(kitchen, after(6)), "stock")["Frozen"]


def test_a_makers_date_does_not_stand_still(kitchen: Kitchen) -> None:
    log(
        kitchen,
        ("08:00", "receive beef 38 --code beef --use-by 2026-10-30"),
        ("09:00", "freeze beef"),
    )
    told = facts(words(kitchen), "beef")
    assert told["Date mark"].startswith("use by Fri 30 Oct")
    assert "left" not in told["Frozen"]


def test_eggs_are_said_to_be_delivered_as_a_person_says_it(kitchen: Kitchen) -> None:
    log(kitchen, ("08:00", "receive eggs 44 --as egg --code eggs --supplier 'Tarn Hollow Farm'"))
    told = facts(words(kitchen), "eggs")["Delivered"]
    assert told == "as raw shell eggs, by the air around them, from Tarn Hollow Farm"
    log(kitchen, ("08:10", "add unit nest egg --by AR"), ("08:20", "hold nest 44"))
    (unit,) = words(kitchen)["annex"]["units"]
    assert unit["facts"][0][1].startswith("raw shell eggs, by the air around them, checked")


def test_the_heat_of_the_roasts_table_is_told_of_whole_roasts_only(kitchen: Kitchen) -> None:
    log(
        kitchen,
        ("07:00", 'batch beef --code beef --kind "whole roast" --oven "high humidity" --weight 15lb'),
        ("07:01", 'batch "beef stew" --code stew'),
        *((f"{hour:02d}:0{i}", f"cook {code} {temp} {oven}--yes")
          for hour, temp in ((8, 40), (10, 120), (12, 150), (14, 170))
          for i, (code, oven) in enumerate((("beef", "--oven 240F "), ("stew", "")))),
    )  # fmt: skip
    content = words(kitchen)
    assert {"Heat", "From 50 to 130 °F"} <= facts(content, "beef").keys()
    assert not {"Heat", "From 50 to 130 °F"} & facts(content, "stew").keys()


def test_a_batch_without_readings_says_so_in_a_line(kitchen: Kitchen) -> None:
    log(
        kitchen,
        ("08:00", "batch stew --code stew"),
        ("08:01", "batch rice --code rice"),
        ("09:00", "cook rice 200"),
        ("10:00", "split rice 1 --keep"),
    )
    content = words(kitchen)
    assert batch(content, "stew")["no_readings"] == "No reading of it is on record."
    assert "those of rice up to then count" in batch(content, "rice-a")["no_readings"]
    assert batch(content, "rice")["no_readings"] == ""
    assert "No reading of it is on record." in " ".join(pages(content))


# ---- what stands once ----


def test_a_roasts_table_is_printed_where_the_period_has_a_roast(kitchen: Kitchen) -> None:
    """The rows are those of the limits: tests/published compares them with 3-401.11(B)."""
    rows = shipped().get("cook", "whole roast").rows
    log(kitchen, ("08:00", "batch rice --code rice"))
    assert f"{rows[0].level.f} °F for" not in " ".join(pages(words(kitchen)))
    log(
        kitchen,
        (
            "09:00",
            'batch beef --code beef --kind "whole roast" --oven "high humidity" --weight 15lb',
        ),
        ("10:00", "cook beef 100 --oven 240F --yes"),
    )
    paper = " ".join(pages(words(kitchen)))
    assert len(rows) == 17
    for row in rows:
        seconds = int(row.hold.total_seconds())
        time = f"{seconds // 60} min" if seconds and seconds % 60 == 0 else f"{seconds} s"
        assert f"{row.level.f} °F {f'for {time}' if seconds else 'at once'}" in paper


def test_what_the_figures_of_growth_are_is_explained_once(kitchen: Kitchen) -> None:
    log(
        kitchen,
        *(("08:00", f"batch {code} --code {code}") for code in ("one", "two")),
        *((clock, f"cool {code} {temp}")
          for clock, temp in (("09:00", 140), ("10:00", 120), ("12:00", 100))
          for code in ("one", "two")),
    )  # fmt: skip
    paper = " ".join(pages(words(kitchen)))
    assert paper.count("that a model implies: ") == 2
    assert paper.count("Federal guidance for inspected plants") == 1
    assert paper.count("It releases no food, excuses no deviation and ranks none down.") == 1


def test_without_a_deviation_growth_is_not_explained(kitchen: Kitchen) -> None:
    log(kitchen, ("12:00", "hold well-1 150"))
    assert "model implies" not in " ".join(pages(words(kitchen)))
    assert words(kitchen)["growth"] == ""


# ---- how it stands on the page ----


def test_a_row_of_a_table_is_never_parted_by_the_end_of_a_page(kitchen: Kitchen) -> None:
    log(kitchen, ("12:00", "hold well-1 150"))
    content = words(kitchen)
    content["corrections"] = [
        [str(n), "1", f"first{n}. {'many words ' * 20} last{n}.", "", "JM", "Mon"]
        for n in range(100, 160)
    ]
    limit = content["limits"]["rows"][0]
    content["limits"]["rows"] = [
        {**limit, "limit": f"first{n}.", "source": f"{'many words ' * 20} last{n}."}
        for n in range(200, 260)
    ]
    whole = [
        set(re.findall(r"first(\d+)\.", page)) == set(re.findall(r"last(\d+)\.", page))
        for page in pages(content)
    ]
    assert len(whole) > 4
    assert all(whole)


def a_slow_cooling(kitchen: Kitchen, note: str = "") -> dict[str, Any]:
    """Cool a stew too slowly, and give the report of the day."""
    log(
        kitchen,
        ("08:00", "batch stew --code stew --amount '12 gal'"),
        ("08:30", "cook stew 190"),
        ("09:00", "cool stew 135"),
        ("10:30", f"cool stew 100 --note '{note}'"),
        ("12:00", "cool stew 80"),
    )
    return words(kitchen)


def test_a_row_longer_than_a_page_goes_on_on_the_next(kitchen: Kitchen) -> None:
    """Kept whole, it would run off the paper."""
    content = a_slow_cooling(kitchen)
    content["deviations"][0]["done"] = ["reckoned " * 1200]
    counts = [page.count("reckoned") for page in pages(content)]
    assert sum(counts) == 1200
    assert max(counts) < 900


@pytest.mark.parametrize("notes", [1, 40, 90])
def test_a_deviation_in_full_loses_no_reading_however_many_there_are(
    kitchen: Kitchen, notes: int
) -> None:
    """A kept block that is longer than a page would run off it."""
    content = a_slow_cooling(kitchen)
    (full,) = content["full"]
    full["readings"] = [
        {**full["readings"][0], "no": f"{n}", "note": f"noted{n}."} for n in range(notes)
    ]
    found = {number for page in pages(content) for number in re.findall(r"noted(\d+)\.", page)}
    assert len(found) == notes


def test_a_deviation_has_its_curve_its_readings_and_its_name_on_one_page(kitchen: Kitchen) -> None:
    paper = pages(a_slow_cooling(kitchen, note="the kettle"))
    (page,) = [page for page in paper if "Decision of a manager" in page]
    for told in ("not met: stew (stew)", "✕ 80 °F", "T1", "the kettle", "Where the food is now"):
        assert told in page.replace("no thermometer named", "T1"), told


# ---- what stands on the first page ----


def test_the_worst_is_said_first_and_where_it_is_now(kitchen: Kitchen) -> None:
    log(kitchen, ("07:00", "add unit well-2 hot --by AR"), ("07:10", "hold well-2 120"),
        ("07:20", "action well-2 'turned up'"), ("07:21", "empty well-2"))  # fmt: skip
    content = a_slow_cooling(kitchen)
    assert content["sentence"][0] == "1 food is undecided and still here: stew, 12 gal."
    undecided, decided = content["deviations"]
    assert (undecided["food"], undecided["codes"]) == ("stew", "stew, 12 gal")
    assert undecided["undecided"] == "Undecided: no action on record"
    assert undecided["place"][0].startswith("12 gal; here, place not on record; use by ")
    assert decided["food"] == "well-2"
    assert decided["undecided"] == ""
    assert decided["done"] == ["turned up (JM, 07:20)."]


def test_a_unit_and_the_foods_in_it_are_one_row(kitchen: Kitchen) -> None:
    log(
        kitchen,
        ("09:00", "batch stew --code stew"),
        ("10:00", "cook stew 190"),
        ("10:30", "hold stew 160 --in well-1"),
        ("11:20", "hold well-1 120"),
        ("11:40", "hold well-1 150"),
    )
    (told,) = words(kitchen)["deviations"]
    assert (told["food"], told["codes"]) == ("well-1", "stew (stew)")
    assert "120 °F at 11:20" in told["what"][0]["words"]
    assert words(kitchen)["sentence"][0] == ("1 food is undecided and still here: stew, in well-1.")


def test_a_food_in_a_unit_that_deviated_twice_is_counted_once(kitchen: Kitchen) -> None:
    log(
        kitchen,
        ("09:00", "batch stew --code stew"),
        ("10:00", "cook stew 190"),
        ("10:30", "hold stew 160 --in well-1"),
        ("13:20", "hold well-1 150"),  # two checks were missed
        ("14:20", "hold well-1 120"),
        ("15:00", "hold well-1 150"),
    )
    content = words(kitchen)
    assert [one["verdict"] for one in content["deviations"]] == ["not met", "not shown"]
    assert content["sentence"][:2] == [
        "1 food is undecided and still here: stew, in well-1.",
        "1 unit deviated and no action is on record: well-1.",
    ]


def test_equal_portions_are_one_row_that_counts_them(kitchen: Kitchen) -> None:
    trays = ("rice-a", "rice-b", "rice-c")
    log(
        kitchen,
        ("08:00", "batch rice --code rice"),
        ("08:30", "cook rice 201"),
        ("08:40", "split rice 3 --amount '1 gal'"),
        *((clock, f"cool {tray} {temp}")
          for clock, temp in (("09:00", 135), ("10:30", 100), ("12:00", 80)) for tray in trays),
        ("12:10", "discard rice-c 'too slow'"),
    )  # fmt: skip
    undecided, decided = words(kitchen)["deviations"]
    assert undecided["codes"] == "rice-a, rice-b, 2 × 1 gal"
    assert decided["codes"] == "rice-c, 1 gal"  # it was decided otherwise: a row of its own
    content = words(kitchen)
    assert content["sentence"][0].startswith("2 foods are undecided and still here: rice-a, 1 gal")
    assert "1 food was discarded." in content["sentence"]
    assert [one["others"] != [] for one in content["full"]] == [True, False]
    assert "rice-b: 09:00 135 °F, 10:30 100 °F, 12:00 80 °F" in content["full"][0]["others"]


def test_a_slow_cooling_that_was_reheated_in_time_is_told_as_caught(kitchen: Kitchen) -> None:
    log(
        kitchen,
        ("08:00", "batch stew --code stew"),
        ("08:30", "cook stew 190"),
        ("09:00", "cool stew 135"),
        ("10:00", "cool stew 110"),
        ("10:05", "action stew 'too slow, back on the heat'"),
        ("10:10", "reheat stew 109"),
        ("10:40", "reheat stew 167 --held 15"),
        ("11:00", "cool stew 135"),
        ("12:00", "cool stew 69"),
        ("14:00", "cool stew 40"),
    )
    content = words(kitchen)
    assert content["deviations"] == []
    assert content["sentence"][:2] == [
        "Every limit that was checked was kept, and shown to be kept.",
        "1 slow cooling was caught in time.",
    ]
    (caught,) = content["caught"]
    assert caught["what"][0]["words"] == (
        "110 °F at 10:00, 1 h after the start; 70 °F was due by 11:00."
    )
    assert caught["done"] == [
        "too slow, back on the heat (JM, 10:05).",
        "Reheated to 167 °F at 10:40 (JM).",
    ]
    first, again = content["log"]["rows"]
    assert (first["verdict"], again["verdict"]) == ("stopped", "met")
    assert again["first"] == ["69 at 12:00", "≤ 1 h"]


def test_a_missed_check_is_hatched_in_its_hour(kitchen: Kitchen) -> None:
    log(kitchen, ("12:00", "hold well-1 150"), ("15:40", "hold well-1 151"))
    (table,) = words(kitchen)["holding"]
    cells = dict(zip(table["hours"], table["rows"][0]["cells"], strict=True))
    assert {hour: (cell["text"], cell["mark"]) for hour, cell in cells.items()} == {
        "12 h": ("150", ""), "13 h": ("", "missed"), "14 h": ("", "missed"), "15 h": ("151", ""),
    }  # fmt: skip
    (day,) = words(kitchen)["days"]
    assert day["hot"]["made"] == "2 of 5"


def test_a_unit_that_held_hot_and_then_cold_food_has_a_table_of_each(kitchen: Kitchen) -> None:
    log(
        kitchen,
        ("10:00", "hold well-1 150"),
        ("10:30", "empty well-1"),
        ("11:00", "add unit well-1 cold --every 240 --by AR --yes"),
        ("11:30", "hold well-1 39"),
    )
    tables = words(kitchen)["holding"]
    assert [(one["kind"], one["rows"][0]["unit"]) for one in tables] == [
        ("hours", "well-1"), ("days", "well-1"),
    ]  # fmt: skip
    assert tables[0]["rows"][0]["cells"][0]["text"] == "150"
    assert tables[1]["rows"][0]["days"][0]["readings"] == [["11:30", "39", "", ""]]


def test_only_the_limits_that_judged_something_are_printed(kitchen: Kitchen) -> None:
    log(kitchen, ("12:00", "hold well-1 150"))
    told = words(kitchen)["limits"]
    assert [one["limit"] for one in told["rows"]] == ["Hot holding"]
    others = len(shipped().limits) - 1
    assert told["rest"].startswith(f"{others} other limits of this set judged nothing here")


def test_what_a_manager_declared_is_printed_with_who_and_whether_it_was_afterwards(
    kitchen: Kitchen,
) -> None:
    log(
        kitchen,
        ("07:00", "kitchen --open 'mon-sat 06:00-20:00' --longest-closure 3 --by AR"),
        ("07:01", "closed 2026-10-25 'first snow' --by AR"),
        ("07:02", "closed 2026-11-26 holiday --to 2026-11-27 --by AR"),
        ("07:03", "oven convection --accepted-by 'the county' --letter 2026-09-14 --by AR"),
    )
    rows = [row[2:] for row in words(kitchen)["changes"]]
    assert rows[1:] == [
        [
            "AR, by PIN",
            "Opening hours from now on: mon-sat 06:00-20:00, before it none. "
            "Longest closure from now on: 3 d, before it 2 d.",
        ],
        [
            "AR, by PIN",
            "Closed Sun 25 Oct: first snow. Declared afterwards: no check of those days is missed "
            "any more.",
        ],
        ["AR, by PIN", "Closed Thu 26 Nov to Fri 27 Nov: holiday."],
        [
            "AR, by PIN",
            "Oven, convection: accepted in writing by the county, letter of Mon 14 Sep 2026.",
        ],
    ]


def test_a_move_is_printed_with_the_food_and_with_the_unit(kitchen: Kitchen) -> None:
    log(
        kitchen,
        ("07:00", "receive beef 38 --code beef"),
        ("07:05", "move beef walk-in"),
        ("07:30", "out beef 07:10"),
    )
    told = words(kitchen)
    mine = [row[2:] for row in batch(told, "beef")["events"]]
    assert mine == [["moved", "beef into walk-in"], ["taken out", "entered 20 min later"]]
    (walk_in,) = [one for one in told["annex"]["units"] if one["title"] == "walk-in"]
    assert [row[2:] for row in walk_in["events"]] == [["moved", "beef into walk-in"]]


def test_a_batch_s_page_has_its_account_and_a_unit_s_page_what_stood_in_it(
    kitchen: Kitchen,
) -> None:
    log(
        kitchen,
        ("09:00", "batch stew --code stew"),
        ("10:00", "cook stew 190"),
        ("10:30", "hold stew 160 --in well-1"),
        ("11:20", "hold well-1 120"),
        ("11:40", "hold well-1 150"),
        ("12:20", "used stew --yes"),
    )
    content = words(kitchen)
    assert facts(content, "stew")["Account"] == (
        "cooking from between 09:00 and 10:00; !hot from 10:00, in well-1 from 10:30; "
        "nothing left since 12:20 (! marks a deviation)"
    )
    (well,) = [one for one in content["annex"]["units"] if one["title"] == "well-1"]
    assert dict(well["facts"])["Stood in it"] == "stew (stew) 10:30 to 12:20"
    assert any("! marks a deviation" in " ".join(page.split()) for page in pages(content))


def test_a_deviation_of_many_readings_is_printed_whole(kitchen: Kitchen, tmp_path: Path) -> None:
    """What does not fit on a page goes on on the next, and is not printed over itself."""
    for minute in range(36):
        kitchen.at(f"2026-10-26T13:{minute:02d}-06:00")
        kitchen.says('hold well-1 120 --note "the lid was off for as long as the line was served"')
    page = tmp_path / "day.pdf"
    kitchen.at("2026-10-26T15:00-06:00")
    kitchen.says(f"report today --output {page}")
    for each in PdfReader(page).pages:
        at: list[tuple[int, int]] = []

        def note(text: str, page: list[float], line: list[float], *_: object) -> None:
            if text.strip():
                x = line[4] * page[0] + line[5] * page[2] + page[4]
                y = line[4] * page[1] + line[5] * page[3] + page[5]
                at.append((round(x), round(y)))  # noqa: B023

        each.extract_text(visitor_text=note)
        assert len(at) == len(set(at)), "two texts stand in one place"
