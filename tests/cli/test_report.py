"""The sample week through the command line to paper, and what an inspector finds on it."""

import io
import re
import shutil
from collections.abc import Iterator
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from pypdf import PdfReader

from haccp.cli.demo import DEMO_PIN
from haccp.cli.main import cli
from haccp.cli.session import Session
from haccp.kitchen.register import read_register
from haccp.printing.report_words import gather
from haccp.record.store import open_record

MONDAY = "2026-11-02T08:00-07:00"


def run(*words: str, session: Session | None = None) -> Result:
    return CliRunner().invoke(cli, words, obj=session, prog_name="haccp", catch_exceptions=False)


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("demo") / "week"
    assert run("demo", str(folder)).exit_code == 0
    return folder


def printed(demo: Path, *words: str, moment: str = MONDAY) -> tuple[bytes, str]:
    output = demo / "out.pdf"
    now = max(datetime.fromisoformat(moment), datetime.fromisoformat(MONDAY))
    session = Session(demo / "record.sqlite3", lambda: now)
    result = run("report", *words, "--printed", moment, "--output", str(output), session=session)
    assert result.exit_code == 0, result.output
    content = output.read_bytes()
    pages = PdfReader(io.BytesIO(content)).pages
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    return content, text


def test_the_week_names_each_deviation_and_what_was_done(demo: Path) -> None:
    _, text = printed(demo, "2026-10-26", "2026-11-01")
    for words in (
        "Juniper Flats Central Kitchen",
        "14 Ditch Lane, Juniper Flats · permit 0000 (invented) · America/Denver",
        "Person in charge: Asta Rillwood (AR)",
        "1 food is undecided and still here: rice-1031, 4 gal, in walk-in.",
        "FDA Food Code 2022, revision 1",
        "3-501.14(A)(1)",
        "where the local code, the health authority or licensed advice asks more, it decides",
        "Undecided: no action on record",
        "Discarded: 44.2 °F after 6 h 04 min",
        "failed its check",
        "No check between",
        "use by Sun 1 Nov",
        "corrects no.",
        "replaced by no.",
        "Asta Rillwood",
    ):
        assert words in text, words


def test_the_first_page_tells_of_each_deviation_what_was_done_and_where_the_food_is(
    demo: Path,
) -> None:
    content, _ = printed(demo, "2026-10-26", "2026-11-01")
    first = PdfReader(io.BytesIO(content)).pages[0].extract_text()
    first = " ".join(first.split())
    for words in (
        "rice rice-1031, 4 gal 41 °F was reached after 3 h 55 to 19 h 15, allowed 6 h",
        "4 gal; in walk-in; use by Fri 6 Nov",
        "Sent back: 44.6 °F at the door",
        "134.2 °F at Tue 13:30, at worst 131.4 °F at Tue 14:20, not 135 °F or above; for 50 min to",
        "Brought back: 168 °F reheat (LO, Tue 14:49).",
        "Still 44.2 °F at Fri 18:14, 6 h 04 after the start, not 41 °F in 6 h.",
        "Not checked from Wed 14:30 to Wed 16:31 (2 h 01); a check was due by Wed 15:45.",
        "3 readings are by a thermometer that failed its check on Thu 14:10.",
        "Caught in time",
        "101.2 °F at Wed 15:00, 1 h 35 min after the start; 70 °F was due by Wed 15:25.",
        "Not met until corrected. well-1: 114.0 °F",
        "Hot checks made of due 20 of 20 23 of 23 3 out of limits 19 of 20 20 of 20 3 in doubt",
        "not signed",
        "The same bytes again: haccp report 2026-10-26 2026-11-01 --again 2026-11-02T08:00:00-07:00",
    ):
        assert words in first, words


def test_the_week_is_seven_pages_and_an_annex_of_four(demo: Path) -> None:
    content, _ = printed(demo, "2026-10-26", "2026-11-01")
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(content)).pages]
    (annex,) = [n for n, text in enumerate(pages) if "Annex: all readings" in text and n > 0]
    assert annex <= 7
    assert len(pages) <= 7 + 4
    without, _ = printed(demo, "2026-10-26", "2026-11-01", "--no-readings")
    assert len(PdfReader(io.BytesIO(without)).pages) <= 7


@pytest.fixture(scope="module")
def spanish(demo: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The same record in a kitchen whose papers are in Spanish."""
    folder = tmp_path_factory.mktemp("spanish")
    path = Path(shutil.copy(demo / "record.sqlite3", folder))
    before = datetime.fromisoformat(MONDAY) - timedelta(minutes=1)
    session = Session(path, lambda: before, ask=lambda _: DEMO_PIN)
    result = run("kitchen", "--language", "es", "--by", "AR", session=session)
    assert result.exit_code == 0, result.output
    return folder


def shape(outline: Any) -> Any:
    """Give the headings of a paper by their places alone."""
    return [shape(one) if isinstance(one, list) else "" for one in outline]


@pytest.mark.parametrize("days", [("2026-10-26", "2026-11-01"), ("2026-10-28",)])
def test_a_spanish_report_is_built_as_the_english_one(
    demo: Path, spanish: Path, days: tuple[str, ...]
) -> None:
    english, _ = printed(demo, *days)
    content, text = printed(spanish, *days)
    assert printed(spanish, *days)[0] == content
    one, other = (PdfReader(io.BytesIO(pdf)) for pdf in (english, content))
    assert str(other.root_object["/Lang"]) == "es"
    assert shape(other.outline) == shape(one.outline)
    assert len(one.pages) <= len(other.pages) <= len(one.pages) + 1
    assert text.count("El texto oficial del Código es el inglés.") == 1


def test_the_first_page_of_the_week_in_spanish_is_whole(spanish: Path) -> None:
    """Numbers: as the English page has them, and the week's own log."""
    content, _ = printed(spanish, "2026-10-26", "2026-11-01")
    first = PdfReader(io.BytesIO(content)).pages[0].extract_text()
    first = " ".join(first.split())
    for words in (
        "1 alimento está sin decidir y sigue aquí: rice-1031, 4 gal, en walk-in.",
        "Se llegó a 41 °F en 3 h 55 a 19 h 15, permitido 6 h: sin lecturas de sáb 17:00 a dom 07:20",
        "134.2 °F (mar 13:30), lo peor 131.4 °F (mar 14:20), no 135 °F o más; durante 50 min a",
        "Todavía 44.2 °F (vie 18:14), 6 h 04 después del inicio; no 41 °F en 6 h.",
        "Sin revisión de mié 14:30 a mié 16:31 (2 h 01); hora límite de la revisión: mié 15:45.",
        "3 lecturas son de un termómetro que no pasó su revisión (jue 14:10).",
        "Se detectó a tiempo",
        "Los días",
        "1 sin decidir",
        "dice “sin demostrar”, nunca “cumple”.",
    ):
        assert words in first, words


def test_what_was_printed_is_printed_again_byte_for_byte(demo: Path) -> None:
    """On another day, by the command that stands at the foot of page one."""
    first, text = printed(demo, "2026-10-28", "--paper", "a4")
    command = text.split("The same bytes again: ")[1].split(" Contents:")[0]
    assert command == "haccp report 2026-10-28 --again 2026-11-02T08:00:00-07:00 --paper a4"
    output = demo / "again.pdf"
    later = Session(
        demo / "record.sqlite3", lambda: datetime.fromisoformat("2026-12-01T09:00-07:00")
    )
    result = run(*command.split()[1:], "--output", str(output), session=later)
    assert result.exit_code == 0, result.output
    assert output.read_bytes() == first
    assert "These are the bytes of one printed on Mon 2 Nov 2026 08:00 MST" in result.output


def texts_of(value: Any) -> Iterator[str]:
    """Give every text that a report is set from."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict | list | tuple):
        for one in value.values() if isinstance(value, dict) else value:
            yield from texts_of(one)


def test_no_code_citation_or_duration_of_the_week_is_broken_inside(demo: Path) -> None:
    """A search in the paper finds each of them, wherever it stands: no line or break cuts one."""
    content, _ = printed(demo, "2026-10-26", "2026-11-01")
    lines = "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(content)).pages)
    record = open_record(demo / "record.sqlite3", create=False)
    now = datetime.fromisoformat(MONDAY)
    days = (date(2026, 10, 26), date(2026, 11, 1))
    words = list(texts_of(gather(record, read_register(record), *days, now).words))
    codes = {known.code for known in record.every_batch()}
    record.close()
    cited = {
        one for text in words for one in re.findall(r"\b3-[0-9]{3}\.[0-9]{2}[()A-Z0-9]*", text)
    }
    lasted = {one for text in words for one in re.findall(r"\b[0-9]+ h [0-9]{2}\b", text)}
    assert len(codes) > 20
    assert {"3-501.14(A)(1)", "3-501.16(A)(2)", "3-202.11(A)"} <= cited
    assert {"3 h 55", "19 h 15"} <= lasted
    joined = lines.replace("\n", "")
    for one in codes | cited:
        assert lines.count(one) == joined.count(one) > 0, one
    for one in lasted:
        whole, parted = (
            len(re.findall(rf"\b{one.replace(' ', between)}\b", lines))
            for between in (" ", "[ \n]+")
        )
        assert whole == parted > 0, one


def test_the_weeks_bookmarks_carry_verdicts_and_its_contents_and_tables_link_to_pages(
    demo: Path,
) -> None:
    content, _ = printed(demo, "2026-10-26", "2026-11-01")
    reader = PdfReader(io.BytesIO(content))
    outline: list[Any] = list(reader.outline)
    heads = [one for one in outline if not isinstance(one, list)]
    below = [one for one in outline if isinstance(one, list)]
    assert not any(isinstance(each, list) for one in below for each in one), "a third level"
    at = [str(one["/Title"]) for one in heads].index("Deviations in full")
    in_full = outline[outline.index(heads[at]) + 1]
    verdicts = ("not met: ", "not shown: ", "stopped: ")
    titles = [str(one["/Title"]) for one in in_full]
    told = [title for title in titles if any(verdict in title for verdict in verdicts)]
    assert told == [title for title in titles if title != "What the figures of growth are"]
    assert len(told) == 8
    links = [one.get_object() for one in reader.pages[0].get("/Annots", [])]
    rows, contents = 8, sum(reader.get_destination_page_number(one) != 0 for one in heads)
    assert sum(one["/Subtype"] == "/Link" for one in links) == rows + contents
    first = " ".join(reader.pages[0].extract_text().split())
    for one in heads:
        page = reader.get_destination_page_number(one)
        if page:
            assert f"{one['/Title']} {page + 1}" in first


def test_what_its_taker_took_back_stands_on_page_one(demo: Path) -> None:
    content, _ = printed(demo, "2026-10-26", "2026-11-01")
    first = " ".join(PdfReader(io.BytesIO(content)).pages[0].extract_text().split())
    assert "Not met until corrected." in first
    assert "TP, who took it, put 141 °F in its place" in first


def test_the_same_record_options_and_moment_give_the_same_bytes(demo: Path) -> None:
    first, _ = printed(demo, "2026-10-28")
    assert printed(demo, "2026-10-28")[0] == first
    assert printed(demo, "2026-10-28", moment="2026-11-02T08:01-07:00")[0] != first


def test_a_page_printed_for_an_earlier_moment_knows_nothing_of_later_entries(demo: Path) -> None:
    """On Friday evening the stew of stage 2 was still open, and nobody had discarded it."""
    _, then = printed(demo, "2026-10-30", moment="2026-10-30T17:00-06:00")
    assert "Discarded" not in then
    _, later = printed(demo, "2026-10-30")
    assert "Discarded" in later


def test_a_day_without_entries_prints_that_nothing_was_recorded(demo: Path) -> None:
    _, text = printed(demo, "2026-10-20")
    assert "nothing was recorded" in text.lower()
    assert "Page 1 of 1" in text


def test_a_day_can_be_printed_on_either_paper(demo: Path) -> None:
    for paper, size in (("letter", (612, 792)), ("a4", (595, 842))):
        content, _ = printed(demo, "2026-10-27", "--paper", paper)
        box = PdfReader(io.BytesIO(content)).pages[0].mediabox
        assert (round(box.width), round(box.height)) == size


def test_what_was_signed_is_printed_with_its_note_and_the_unsigned_day_is_not(demo: Path) -> None:
    _, saturday = printed(demo, "2026-10-31")
    assert "Asta Rillwood (AR, by PIN)" in saturday
    _, sunday = printed(demo, "2026-11-01")
    assert "Asta Rillwood (AR, by PIN)" not in sunday
    assert "No day of this period has been signed" in sunday


def test_the_digest_on_paper_is_the_records_head(demo: Path) -> None:
    _, text = printed(demo, "2026-10-27")
    record = open_record(demo / "record.sqlite3", create=False)
    digest = record.head()[1]
    record.close()
    assert digest in text.replace(" ", "")


def test_a_long_period_leaves_readings_to_the_export_and_keeps_deviations(demo: Path) -> None:
    _, text = printed(demo, "2026-10-20", "2026-11-01")
    assert "haccp export" in text
    assert "Undecided: no action on record" in text
    assert "353 Sun 1 Nov 07:20 37.9 °F" in text  # a reading of a deviation
    assert "Annex" not in text
    _, whole = printed(demo, "2026-10-20", "2026-11-01", "--readings")
    assert "Annex: all readings" in whole


def test_the_demo_refuses_to_write_over_a_record(demo: Path) -> None:
    before = (demo / "record.sqlite3").read_bytes()
    assert run("demo", str(demo)).exit_code == 2
    assert (demo / "record.sqlite3").read_bytes() == before
