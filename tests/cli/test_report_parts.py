"""What was asked for of a record, and only that: parts of the sample week, on paper and as CSV."""

import csv
import io
import re
import shlex
import shutil
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader

from haccp.cli.demo import DEMO_PIN
from haccp.cli.main import cli
from haccp.cli.session import Session
from haccp.kitchen.register import read_register
from haccp.kitchen.review import walked
from haccp.kitchen.selection import WHOLE, Selection
from haccp.printing.flat_readings import COLUMNS, FlatReading, as_csv
from haccp.printing.report_words import Content, gather
from haccp.record.bodies import Measured, ThermometerCheck
from haccp.record.store import open_record
from tests.kitchens import Kitchen, log

MONDAY = datetime.fromisoformat("2026-11-02T08:00-07:00")
WEEK = ("2026-10-26", "2026-11-01")
DAYS = (date(2026, 10, 26), date(2026, 11, 1))
WHOLLY_KEPT = "Every limit that was checked was kept, and shown to be kept."

PARTS: dict[str, tuple[tuple[str, ...], Selection]] = {
    "the week": (WEEK, WHOLE),
    "a batch": ((*WEEK, "--batch", "stew-1028"), Selection(batches=("stew-1028",))),
    "two batches": (
        (*WEEK, "--batch", "rice-1029,stew-1030"),
        Selection(batches=("rice-1029", "stew-1030")),
    ),
    "a food": ((*WEEK, "--food", "white-bean stew"), Selection(foods=("white-bean stew",))),
    "a unit": ((*WEEK, "--unit", "well-2"), Selection(units=("well-2",))),
    "thermometers": ((*WEEK, "--thermometers"), Selection(thermometers=True)),
    "coolings": ((*WEEK, "--cooling-log", "--readings"), Selection(cooling_log=True)),
    "a food's coolings": (
        (*WEEK, "--food", "rice", "--cooling-log", "--readings"),
        Selection(foods=("rice",), cooling_log=True),
    ),
    "a unit and thermometers": (
        (*WEEK, "--unit", "walk-in", "--thermometers"),
        Selection(units=("walk-in",), thermometers=True),
    ),
}  # fmt: skip


def run(*words: str, session: Session | None = None) -> Result:
    return CliRunner().invoke(cli, words, obj=session, prog_name="haccp", catch_exceptions=False)


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("demo") / "week"
    assert run("demo", str(folder)).exit_code == 0
    return folder


def typed(demo: Path, *words: str, now: datetime = MONDAY) -> Result:
    session = Session(demo / "record.sqlite3", lambda: now)
    return run("report", *words, session=session)


def printed(demo: Path, *words: str) -> list[str]:
    """Print, and give each page's text."""
    output = demo / "out.pdf"
    result = typed(demo, *words, "--output", str(output))
    assert result.exit_code == 0, result.output
    pages = PdfReader(io.BytesIO(output.read_bytes())).pages
    return [" ".join(page.extract_text().split()) for page in pages]


def table(demo: Path) -> list[dict[str, str]]:
    """Read the CSV beside what was printed last."""
    text = (demo / "out.csv").read_bytes().decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text, newline=""), strict=True))


def gathered(demo: Path, only: Selection) -> Content:
    record = open_record(demo / "record.sqlite3", create=False)
    view = walked(record, *DAYS, read_register(record).zone)
    found = gather(view, read_register(view), *DAYS, MONDAY, readings=True, only=only)
    record.close()
    return found


# ---- what is on the paper ----


def test_the_stew_of_a_day_and_octobers_thermometer_checks_are_a_page_each(demo: Path) -> None:
    (stew,) = printed(demo, "2026-10-28", "--food", "stew")
    assert "Part of the record only: food white-bean stew." in stew
    assert "Of what was asked for every limit checked was kept, and shown to be kept." in stew
    for words in (
        "in °F where no degree is said",
        "101.2 (152",
        "by Wed 15:25",
        "3-501.14(A)(1)",
        "66.4 (166)",
        "AR",
        "used up Thu",
    ):
        assert words in stew or words.replace("Wed ", "") in stew, words
    (checks,) = printed(demo, "2026-10-01", "2026-10-31", "--thermometers")
    assert "9 checks of thermometers; not passed: T2 (Thu 29 Oct 14:10)." in checks
    assert "3 readings are in doubt by it" in checks
    assert "4-203.11" in checks


@pytest.mark.parametrize("part", [one for one in PARTS if one != "the week"])
def test_a_part_says_so_on_each_page_and_never_that_all_was_kept(demo: Path, part: str) -> None:
    words, only = PARTS[part]
    pages = printed(demo, *words)
    assert "Part of the record only: " in pages[0]
    assert "Nothing else of these days is shown or judged here." in pages[0]
    assert all("only " in page and "Page" in page for page in pages)
    assert WHOLLY_KEPT not in " ".join(pages)
    for name in (*only.batches, *only.foods, *only.units):
        assert all(name in page for page in pages), name


def test_what_was_not_asked_for_is_not_there(demo: Path) -> None:
    text = " ".join(printed(demo, *WEEK, "--batch", "stew-1026"))
    for other in ("rice-1031", "stew-1030", "T2", "freezer", "Thermometers"):
        assert other not in text.replace("rice-1031 has no reading", ""), other
    text = " ".join(printed(demo, *WEEK, "--unit", "freezer"))
    assert "walk-in" not in text.replace("walk-in, marked", "")
    assert "135 °F" not in text


def test_a_deviation_of_a_batch_is_told_whatever_days_are_typed(demo: Path) -> None:
    """It is shown whole: what went wrong on Friday must not be missing on Saturday's paper."""
    text = " ".join(printed(demo, "2026-10-29", "--batch", "stew-1028"))
    assert "1 slow cooling was caught in time." in text
    words = gathered(demo, Selection(batches=("stew-1030",))).words
    assert [one["verdict"] for one in words["deviations"]] == ["not met"]
    early = typed(demo, "2026-10-26", "--batch", "stew-1030", "--output", str(demo / "no.pdf"))
    assert early.output == (
        "Refused: Nothing was entered about stew-1030 on these days: leave the days out.\n"
    )


def test_a_unit_tells_what_its_checks_say_of_the_food_in_it(demo: Path) -> None:
    words = gathered(demo, Selection(units=("well-1",))).words
    (row,) = words["deviations"]
    assert (row["food"], row["codes"]) == ("well-1", "white-bean stew (stew-1027)")
    assert [one["title"] for one in words["annex"]["units"]] == ["well-1"]
    assert words["annex"]["batches"] == []


def test_checks_of_a_unit_come_with_the_food_that_stood_in_it_and_no_others(demo: Path) -> None:
    words = gathered(demo, Selection(batches=("stew-1028",))).words
    times = {
        one["title"]: [
            (run["head"].split(",")[0], row["at"]) for run in one["readings"] for row in run["rows"]
        ]
        for one in words["annex"]["units"]
    }
    assert times["walk-in"] == [("Thu 29 Oct", "06:38")]
    assert times["well-1"][0] == ("Thu 29 Oct", "11:34")
    assert {day for day, _ in times["well-1"]} == {"Thu 29 Oct"}


def test_checks_of_a_cooler_while_food_cools_in_it_are_no_evidence_on_the_foods_paper(
    kitchen: Kitchen,
) -> None:
    """Food that cools is known by its own readings; the cooler's 45 °F is no reading of it."""
    log(
        kitchen,
        ("12:30", "cook stew 199"),
        ("13:00", "cool stew 135"),
        ("13:01", "move stew walk-in"),
        ("13:30", "hold walk-in 45"),
        ("14:00", "cool stew 69"),
        ("15:00", "hold walk-in 38"),
        ("16:00", "cool stew 40"),
    )
    record = open_record(kitchen.path, create=False)
    day = date(2026, 10, 26)
    only = Selection(batches=("stew",))
    found = gather(record, read_register(record), day, day, kitchen.now, only=only)
    record.close()
    assert found.words["deviations"] == []
    assert found.words["sentence"][0].startswith("Of what was asked for every limit checked")
    assert found.words["annex"]["units"] == []
    assert {row.batch for row in found.readings} == {"stew"}
    assert [row.verdict for row in found.readings] == ["met"] * 4


@pytest.mark.parametrize("part", ["the week", "a food", "two batches", "a unit and thermometers"])
def test_the_command_at_its_foot_prints_the_same_bytes_of_paper_and_csv(
    demo: Path, part: str
) -> None:
    words, _ = PARTS[part]
    text = printed(demo, *words)[0]
    paper, rows = (demo / "out.pdf").read_bytes(), (demo / "out.csv").read_bytes()
    command = re.search(r"The same bytes again: haccp (report .*?)(?:\.? Whether| Contents)", text)
    assert command, text
    again = demo / "again.pdf"
    later = Session(
        demo / "record.sqlite3", lambda: datetime.fromisoformat("2026-12-01T09:00-07:00")
    )
    result = run(*shlex.split(command[1]), "--output", str(again), session=later)
    assert result.exit_code == 0, result.output
    assert again.read_bytes() == paper
    assert again.with_suffix(".csv").read_bytes() == rows


def test_the_record_is_held_against_a_part_by_what_stands_at_its_foot(demo: Path) -> None:
    text = printed(demo, *WEEK, "--batch", "stew-1028")[0]
    numbers = re.search(r'haccp record verify --against "(\d+ [0-9a-f]{16})"', text)
    assert numbers
    session = Session(demo / "record.sqlite3", lambda: MONDAY)
    result = run("record", "verify", "--against", numbers[1], session=session)
    assert result.exit_code == 0, result.output


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--batch", "stew-9999"), "There is no batch 'stew-9999': type one of "),
        (("--batch", "stew-10"), "'stew-10' could be "),
        ((*WEEK, "--food", "soup"), "There was no 'soup' on these days: type one of "),
        ((*WEEK, "--food", ""), "There was no '' on these days: type one of "),
        ((*WEEK, "--food", "stew"), "'stew' could be white-bean stew or white-bean stew with beef"),
        (("2026-10-20", "--food", "rice"), "There was no food on these days: type others."),
        ((*WEEK, "--unit", "well-9"), "There is no unit 'well-9': did you mean well-1 or well-2?"),
        (("2026-10-20", "--unit", "well-1"), "Nothing is on record of well-1 on these days: type others."),
        (("2026-10-20", "--thermometers"), "No thermometer was checked on these days: type others."),
        (("2026-10-20", "--cooling-log"), "No cooling is on record of these days: type others."),
        (("2026-10-28", "--food", "gravy", "--cooling-log"), "No cooling of gravy is on record: leave it out."),
        (("--batch", "stew-1028,gravy-1028", "--cooling-log"), "No cooling of gravy-1028 is on record: leave it out."),
        ((*WEEK, "--batch", ""), "The name of the batch is empty: type its beginning."),
    ],
)  # fmt: skip
def test_what_is_not_there_is_refused_in_a_sentence(
    demo: Path, words: tuple[str, ...], told: str
) -> None:
    output = demo / "refused.pdf"
    result = typed(demo, *words, "--output", str(output))
    assert result.exit_code == 2
    assert result.output.startswith(f"Refused: {told}"), result.output
    assert len(result.output.splitlines()) == 1
    assert not output.exists()
    assert not output.with_suffix(".csv").exists()


def test_a_part_is_told_in_the_language_of_the_kitchens_papers(demo: Path, tmp_path: Path) -> None:
    path = Path(shutil.copy(demo / "record.sqlite3", tmp_path))
    session = Session(path, lambda: MONDAY, ask=lambda _: DEMO_PIN)
    assert run("kitchen", "--language", "es", "--by", "AR", session=session).exit_code == 0
    (page,) = printed(tmp_path, "2026-10-01", "2026-10-31", "--thermometers")
    assert "Solo una parte del registro: las revisiones de los termómetros." in page
    assert "no se pasaron: T2 (jue 29 oct 14:10)." in page
    assert "solo termómetros" in page
    assert table(tmp_path)[0]["step"] == "check in ice"  # for programs: English


def test_a_file_of_a_part_has_a_name_of_its_own(
    demo: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert typed(demo, "2026-10-28").exit_code == 0
    assert typed(demo, "2026-10-28", "--food", "stew").exit_code == 0
    assert typed(demo, "2026-10-28", "--no-csv", "--thermometers").exit_code == 0
    assert sorted(one.name for one in tmp_path.iterdir()) == [
        "haccp-2026-10-28-thermometers.pdf",
        "haccp-2026-10-28-white-bean-stew.csv",
        "haccp-2026-10-28-white-bean-stew.pdf",
        "haccp-2026-10-28.csv",
        "haccp-2026-10-28.pdf",
    ]


def test_of_a_batch_alone_the_days_are_its_own(demo: Path) -> None:
    result = typed(demo, "--batch", "stew-1028", "--output", str(demo / "days.pdf"))
    assert "Wed 28 Oct 2026 to Thu 29 Oct 2026, in part (--batch stew-1028)." in result.output


# ---- the readings as CSV ----


def annexed(words: dict[str, Any]) -> list[tuple[str, ...]]:
    """Give each reading of an annex: number, temperature, initials, and whether it was replaced."""
    annex = words["annex"]
    told = []
    for one in (*annex["batches"], *annex["units"]):
        for run in one["readings"]:
            by = next(part for part in run["head"].split(", ") if part in ("AR", "TP", "LO", "JM"))
            for row in run["rows"]:
                temp = row["temp"].replace("−", "-")
                temp = temp if "°" in temp else f"{temp} °F"
                told.append((row["no"], temp, by, row["struck"]))
    return sorted(told, key=lambda one: int(one[0]))


def flat(row: FlatReading) -> tuple[str, ...]:
    temp = row.as_entered or f"{row.temperature} °{row.degree}"
    return row.entry, temp, row.initials, bool(row.replaced_by)  # type: ignore[return-value]


def is_check(row: FlatReading) -> bool:
    return row.step.startswith("check in ")


@pytest.mark.parametrize("part", PARTS)
def test_the_readings_of_the_csv_are_those_of_the_annex(demo: Path, part: str) -> None:
    content = gathered(demo, PARTS[part][1])
    mine = sorted(
        (flat(row) for row in content.readings if not is_check(row)), key=lambda one: int(one[0])
    )
    assert mine == annexed(content.words)
    if content.words["checks"]:
        checks = [row.entry for row in content.readings if is_check(row)]
        assert checks == [row["no"] for row in content.words["checks"]["rows"]]


def test_the_weeks_csv_has_every_reading_and_check_of_the_record_once(demo: Path) -> None:
    printed(demo, *WEEK)
    rows = {row["entry"]: row for row in table(demo)}
    record = open_record(demo / "record.sqlite3", create=False)
    entries = [one for one in record.entries() if isinstance(one.body, Measured | ThermometerCheck)]
    record.close()
    assert list(rows) == [
        str(one.seq) for one in sorted(entries, key=lambda one: (one.at, one.seq))
    ]
    for entry in entries:
        row = rows[str(entry.seq)]
        assert datetime.fromisoformat(row["taken_at"]) == entry.at
        assert row["taken_at"].startswith(f"{row['date']}T{row['time']}")
        assert isinstance(entry.body, Measured | ThermometerCheck)
        assert float(row["temperature"]) == float(entry.body.temp)
        assert (row["batch"], row["unit"]) == (entry.batch or "", entry.unit or "")
        late = (entry.entered_at - entry.at).total_seconds() / 60
        assert int(row["minutes_late"]) == (int(late) if late > 15 else 0)
        assert bool(row["verdict"]) <= (entry.corrected_by is None)


@pytest.mark.parametrize(
    ("entry", "verdict", "citation", "itself"),
    [
        ("98", "not met", "3-501.16(A)(1)", "yes"),  # well-1 at 132.6 °F
        ("92", "met", "3-501.16(A)(1)", ""),  # an hour earlier
        ("277", "not met", "3-501.14(A)(2)", "yes"),  # 44.2 °F after 6 h 04 min
        ("216", "not shown", "3-501.14(A)(1)", ""),  # rice, no reading at 2 h
        ("194", "not shown", "3-501.16(A)(1)", "perhaps"),  # by T2, which failed its check
        ("198", "", "", ""),  # typed wrong, replaced
        ("22", "not met", "3-202.11(A)", "yes"),  # chicken at the door
        ("209", "not met", "4-203.11", "yes"),  # T2 in ice
        ("210", "not shown", "3-501.14(A)(1)", ""),
    ],
)
def test_a_row_says_what_was_found_of_its_reading(
    demo: Path, entry: str, verdict: str, citation: str, itself: str
) -> None:
    printed(demo, *WEEK)
    (row,) = [one for one in table(demo) if one["entry"] == entry]
    assert (row["verdict"], row["citation"], row["breaks_by_itself"]) == (verdict, citation, itself)


def test_a_missed_check_stands_with_the_reading_before_it(demo: Path) -> None:
    printed(demo, *WEEK)
    missed = [(row["unit"], row["taken_at"], row["not_checked_until"]) for row in table(demo)
              if row["not_checked_until"]]  # fmt: skip
    assert ("well-2", "2026-10-28T14:30:00-06:00", "2026-10-28T16:31:00-06:00") in missed


A_ROW = {name: "" for name in COLUMNS if name != "record"}


@given(st.text(min_size=1, max_size=30))
def test_no_cell_of_the_csv_runs_as_a_formula_or_loses_a_letter(note: str) -> None:
    content = b"".join(as_csv([FlatReading(**{**A_ROW, "note": note})], "0" * 64))
    text = content.decode("utf-8-sig")
    (row,) = csv.DictReader(io.StringIO(text, newline=""))
    assert row["note"] in (note, f"'{note}")
    assert row["note"][0] not in "=+@\t\r\n＝＋－＠"
    assert row["note"][0] != "-" or re.fullmatch(r"-[0-9]+(\.[0-9]+)?", row["note"])


def test_a_csv_that_is_not_haccps_stops_the_paper_too(demo: Path, tmp_path: Path) -> None:
    paper, beside = tmp_path / "week.pdf", tmp_path / "week.csv"
    beside.write_text("my own table\n")
    result = typed(demo, *WEEK, "--output", str(paper))
    assert result.exit_code == 2
    assert "week.csv exists and is not the same kind of file" in result.output
    assert not paper.exists()
    assert beside.read_text() == "my own table\n"
    assert typed(demo, *WEEK, "--output", str(paper), "--no-csv").exit_code == 0
    assert beside.read_text() == "my own table\n"
    assert typed(demo, *WEEK, "--output", str(paper), "--force").exit_code == 0
    assert typed(demo, "2026-10-28", "--output", str(paper)).exit_code == 0  # now its own


def test_a_paper_is_not_called_like_the_csv(demo: Path, tmp_path: Path) -> None:
    result = typed(demo, *WEEK, "--output", str(tmp_path / "week.csv"))
    assert result.exit_code == 2
    assert "name it as" in result.output
    assert not any(tmp_path.iterdir())
