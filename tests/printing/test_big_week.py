"""The pages of a big kitchen's week, invented: 40 points read hourly, 15 coolings a day."""

import re
from collections import Counter
from datetime import date
from io import BytesIO
from pathlib import Path

import pikepdf
import pytest
from pdfua import validate
from pypdf import PageObject, PdfReader

from haccp.kitchen.register import read_register
from haccp.printing.head_code import scannable
from haccp.printing.report_words import Content, gather
from haccp.printing.typeset import typeset
from haccp.record.store import open_record
from tests.big_week import FIRST, LAST, PRINTED, make_big_week

DAYS = [f"{day} {n} Nov" for day, n in zip(("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"),
                                           range(16, 23), strict=True)]  # fmt: skip


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("big") / "record.sqlite3"
    assert 5_500 < make_big_week(path) < 5_700
    return path


def gathered(path: Path, first: date, last: date) -> Content:
    record = open_record(path, create=False)
    content = gather(record, read_register(record), first, last, PRINTED)
    content.words["again"] = ""
    record.close()
    return content


@pytest.fixture(scope="module")
def content(path: Path) -> Content:
    return gathered(path, FIRST.date(), LAST.date())


@pytest.fixture(scope="module")
def pdf(content: Content) -> bytes:
    drawings = {**content.drawings.drawn(), "head.svg": scannable((1, "0" * 64))}
    return typeset(content.words, drawings, template="report", paper="letter", printed=PRINTED)


@pytest.fixture(scope="module")
def pages(pdf: bytes) -> list[PageObject]:
    return list(PdfReader(BytesIO(pdf)).pages)


@pytest.fixture(scope="module")
def told(pages: list[PageObject]) -> list[str]:
    texts = (page.extract_text().replace("\u200b", "").replace("\xa0", " ") for page in pages)
    return [" ".join(text.split()) for text in texts]


def part(told: list[str], heading: str, after: int = 1) -> int:
    """Find the page on which a part begins."""
    return next(n for n, text in enumerate(told) if n >= after and heading in text)


def test_it_is_thirty_pages_at_most_and_an_annex(told: list[str]) -> None:
    assert part(told, "Annex: all readings") < 30
    assert len(told) <= 30 + 25


def test_the_first_page_says_what_is_undecided_and_what_went_wrong(told: list[str]) -> None:
    first = told[0]
    for words in (
        "1 food is undecided and still here: stew-261119-9, 12 gal, in walk-in-9.",
        "2 units deviated and no action is on record: walk-in-29, walk-in-30.",
        "1 food was discarded.",
        "1 slow cooling was caught in time.",
        "133 °F at Mon 11:02, at worst 128 °F at Mon 12:02",
        "46 °F at Sat 13:31, not 41 °F or below",
        "Not checked from Tue 13:06 to Tue 16:06",
        "148 of 150",
        "Contents: Cooling log: 106 coolings 2",
    ):
        assert words in first, words


def test_a_table_that_goes_on_says_again_whose_hours_and_day_it_shows(told: list[str]) -> None:
    begins, ends = part(told, "Hot holding, 135 °F"), part(told, "Signatures and limits")
    assert ends - begins > 3
    for text in told[begins:ends]:
        assert "Unit 6 h 7 h 8 h" in text
        units = [match.start() for match in re.finditer(r"(well|walk-in)-\d+ \d\d", text)]
        day = min(text.find(day) for day in DAYS if day in text)
        assert day < units[0], "the first rows of a page are of no day"


def test_every_day_and_unit_has_its_row_with_an_hour_for_each_check(content: Content) -> None:
    hot, cold = content.words["holding"]
    assert Counter(row["day"] for row in hot["rows"]) == dict.fromkeys(DAYS, 10)
    assert Counter(row["day"] for row in cold["rows"]) == dict.fromkeys(DAYS, 30)
    made = sum(
        1 for table in (hot, cold) for row in table["rows"] for c in row["cells"] if c["text"]
    )
    assert made == 7 * 40 * 15 - 2  # two were missed


def test_no_reading_is_left_out_of_the_annex(content: Content, told: list[str]) -> None:
    annex = content.words["annex"]
    rows = [row for one in (*annex["batches"], *annex["units"])
            for run in one["readings"] for row in run["rows"]]  # fmt: skip
    numbers = [row["no"] for row in rows]
    record_holds = 7 * (40 * 15 + 15 * 9) - 2
    assert abs(len(numbers) - record_holds) < 10  # what was ended early, and cooled again
    assert len(set(numbers)) == len(numbers)
    printed = " ".join(told[part(told, "Annex: all readings") :])
    assert all(f"({number})" in printed for number in numbers)


@pytest.mark.long
def test_no_page_but_the_last_is_half_empty(pages: list[PageObject]) -> None:
    for number, page in enumerate(pages[:-1], start=1):
        heights: list[float] = []

        def seen(text: str, cm: list[float], tm: list[float], *_: object) -> None:
            y = tm[5] * cm[3] + cm[5]
            if text.strip() and y > 50:  # above the foot
                heights.append(y)  # noqa: B023 - read before the next page

        page.extract_text(visitor_text=seen)
        assert min(heights) < 792 / 2, f"page {number}"


@pytest.mark.long
def test_it_is_tagged_and_archival(pdf: bytes, tmp_path: Path) -> None:
    file = tmp_path / "big.pdf"
    file.write_bytes(pdf)
    assert list(validate(str(file)).findings) == []
    with pikepdf.open(BytesIO(pdf)) as opened, opened.open_metadata() as metadata:
        assert metadata.pdfa_status == "2A"


def test_a_day_of_forty_points_is_one_table_of_its_day(path: Path) -> None:
    words = gathered(path, LAST.date(), LAST.date()).words
    assert [len(table["rows"]) for table in words["holding"]] == [10, 30]
