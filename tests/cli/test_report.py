"""The sample week through the command line to paper, and what an inspector finds on it."""

import io
from datetime import datetime
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from pypdf import PdfReader

from haccp.cli.main import cli
from haccp.cli.session import Session

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
    return content, text.replace("\u200b", "")


def test_the_week_names_each_deviation_and_what_was_done(demo: Path) -> None:
    _, text = printed(demo, "2026-10-26", "2026-11-01")
    for words in (
        "Juniper Flats Central Kitchen",
        "America/Denver",
        "FDA Food Code 2022, revision 1",
        "3-501.14(A)(1)",
        "local health code",
        "No corrective action on record",
        "Discarded: 44.2 °F after 6 h 04 min",
        "failed its check",
        "No check between",
        "use by Sun 1 Nov",
        "corrects no.",
        "replaced by no.",
        "Asta Rillwood",
    ):
        assert words in text, words


def test_what_its_taker_took_back_stands_on_page_one(demo: Path) -> None:
    content, _ = printed(demo, "2026-10-26", "2026-11-01")
    first = " ".join(PdfReader(io.BytesIO(content)).pages[0].extract_text().split())
    assert "Not met until corrected by who measured it" in first
    assert "TP, who took it, put 141 °F in its place" in first.replace("\u200b", "")


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
    assert "Page 1 of" in text


def test_a_day_can_be_printed_on_either_paper(demo: Path) -> None:
    for paper, size in (("letter", (612, 792)), ("a4", (595, 842))):
        content, _ = printed(demo, "2026-10-27", "--paper", paper)
        box = PdfReader(io.BytesIO(content)).pages[0].mediabox
        assert (round(box.width), round(box.height)) == size


def test_what_was_signed_is_printed_with_its_note_and_the_unsigned_day_is_not(demo: Path) -> None:
    _, saturday = printed(demo, "2026-10-31")
    assert "Asta Rillwood (AR, by PIN)" in saturday
    _, sunday = printed(demo, "2026-11-01")
    assert "Asta Rillwood (AR)" not in sunday


def test_the_digest_on_paper_is_the_records_head(demo: Path) -> None:
    from haccp.record.store import open_record

    _, text = printed(demo, "2026-10-27")
    record = open_record(demo / "record.sqlite3", create=False)
    digest = record.head()[1]
    record.close()
    assert digest in text.replace(" ", "")


def test_a_long_period_leaves_readings_to_the_export_and_keeps_deviations(demo: Path) -> None:
    _, text = printed(demo, "2026-10-20", "2026-11-01")
    assert "haccp export" in text
    assert "No corrective action on record" in text


def test_the_demo_refuses_to_write_over_a_record(demo: Path) -> None:
    before = (demo / "record.sqlite3").read_bytes()
    assert run("demo", str(demo)).exit_code == 2
    assert (demo / "record.sqlite3").read_bytes() == before
