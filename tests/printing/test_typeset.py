"""The report's pages: what is printed, how it is tagged, and what hostile text does to it.

Every kitchen, food, person and number here is invented.
"""

import copy
import logging
import os
import re
import subprocess
import sys
from datetime import datetime
from io import BytesIO
from pathlib import Path
from typing import Any, Literal
from zoneinfo import ZoneInfo

import pikepdf
import pytest
import typst
from pdfua import validate
from pypdf import PdfReader

from haccp.errors import Refused
from haccp.printing import typeset as module
from haccp.printing.typeset import typeset

PRINTED = datetime(2026, 11, 2, 8, 0, tzinfo=ZoneInfo("America/Denver"))
CURVE = b"""<svg xmlns="http://www.w3.org/2000/svg" width="481.9pt" height="181pt">
<path d="M0 0 L400 150" stroke="#000000" fill="none"/>
<text x="10" y="20" style="font: 8px 'DejaVu Sans'">70 \xc2\xb0F by 15:10</text></svg>"""
DIGEST = "0123456789abcdef" * 4


def reading(**changed: Any) -> dict[str, Any]:
    return {
        "no": "17",
        "when": "Mon 26 Oct 14:05",
        "temp": "135 °F",
        "step": "cool",
        "by": "JM",
        "late": "",
        "thermometer": "T1 (ice check 26 Oct: 32 °F, passed)",
        "note": "",
        "struck": False,
        "mark": "",
        **changed,
    }


def finding(verdict: str) -> dict[str, Any]:
    return {
        "verdict": verdict,
        "limit": "Cooling to 70 °F",
        "citation": "3-501.14(A)(1)",
        "why": f"Why it is {verdict}.",
    }


CONTENT: dict[str, Any] = {
    "title": "Food temperature record",
    "kitchen": "Juniper Flats Central Kitchen",
    "site": [["Time zone", "America/Denver"], ["Altitude", "1640 m"], ["Temperatures", "°F"]],
    "period": "Mon 26 Oct 2026 to Sun 1 Nov 2026",
    "printed": "Mon 2 Nov 2026 08:00 MST",
    "empty": False,
    "caution": "Between the readings nobody watched the food.",
    "counts": [["Temperature readings", "142"], ["Late entries", "3"], ["Deviations", "5"]],
    "attention": [
        {**finding("not met"), "subject": "bean stew, stew-1026", "answer": "Reheated to 165 °F"},
        {**finding("not shown"), "subject": "brown gravy, gravy-1028", "answer": ""},
    ],
    "days": [["Mon 26 Oct", "14", "24", "1", "2", "AR, Tue 27 Oct 08:10", "1"]],
    "people": [["JM", "Jory Maddow", "cook"]],
    "open": ["rice, rice-1101: 70 °F or below by 14:40."],
    "batches": [
        {
            "title": "white-bean stew",
            "code": "stew-1026",
            "facts": [["Opened", "Mon 26 Oct 12:40 by JM"], ["Made from", "shoulder-1025"]],
            "findings": [finding(v) for v in ("met", "not met", "not shown", "open", "stopped")],
            "curves": [{"file": "curve-1.svg", "caption": "✕ not met: stew", "alt": "A cooling."}],
            "readings": [
                reading(),
                reading(no="18", temp="96 °F", struck=True, note="corrected by entry 42"),
                reading(no="19", temp="75 °F", mark="✕", late="entered 42 min later"),
            ],
            "events": [["Mon 26 Oct 15:10", "JM", "corrective action", "Reheated to 165 °F"]],
        }
    ],
    "units": [
        {
            "title": "well-1",
            "facts": [["Holds", "hot, checked every 60 min"]],
            "findings": [finding("met")],
            "readings": [reading(no="20", temp="141 °F", step="hot hold")],
            "events": [],
        }
    ],
    "thermometers": [["T1", "±2 °F", "Mon 26 Oct 07:00", "32 °F in ice: passed"]],
    "corrections": [
        ["42", "18", "reading 96 °F → 69 °F", "typed from the wrong pan", "JM", "Mon 26 Oct 16:00"]
    ],
    "signatures": [["Mon 26 Oct 2026", "AR", "Tue 27 Oct 08:10", "Shallow pans ordered."]],
    "limits": {
        "name": "FDA Food Code 2022, revision 1",
        "digest": DIGEST,
        "guard": "Limits moved inward by 1 °F (guarded acceptance)",
        "rows": [
            {
                "limit": "cooling-stage-1",
                "text": "Cool from 135 °F (57 °C) to 70 °F (21 °C) within 2 hours.",
                "citation": "3-501.14(A)(1)",
                "source": "the code of an invented county",
                "basis": basis,
                "override": override,
            }
            for basis, override in (("verified", False), ("from memory", True))
        ],
    },
    "record": {"last": "312", "digest": DIGEST[::-1]},
}
EMPTY: dict[str, Any] = {
    **CONTENT,
    "empty": True,
    **{
        name: []
        for name in (
            "counts", "attention", "days", "people", "open", "batches", "units", "thermometers",
            "corrections", "signatures",
        )
    },
}  # fmt: skip


def report(
    content: dict[str, Any] = CONTENT,
    curve: bytes = CURVE,
    paper: Literal["a4", "letter"] = "a4",
) -> bytes:
    return typeset(content, {"curve-1.svg": curve}, template="report", paper=paper, printed=PRINTED)


def text(pdf: bytes) -> str:
    """Give the words of all pages on one line, without the places where a long word may break."""
    pages = " ".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages)
    return re.sub(r"\s+", " ", pages.replace("\u200b", ""))


def solid(pdf: bytes) -> str:
    """Give the same without any space: a line may have been broken anywhere in a long word."""
    return text(pdf).replace(" ", "")


def tags(pdf: pikepdf.Pdf) -> list[pikepdf.Dictionary]:
    """Give every element of the structure tree, in reading order."""
    found: list[pikepdf.Dictionary] = []

    def walk(node: pikepdf.Object) -> None:
        if isinstance(node, pikepdf.Array):
            for child in node:
                walk(child)
        elif isinstance(node, pikepdf.Dictionary):
            if "/S" in node:
                found.append(node)
            if "/K" in node:
                walk(node.K)

    walk(pdf.Root.StructTreeRoot)
    return found


@pytest.fixture(scope="module")
def printed() -> bytes:
    return report()


@pytest.fixture(scope="module")
def words(printed: bytes) -> str:
    return text(printed)


@pytest.fixture(scope="module")
def pdf(printed: bytes) -> pikepdf.Pdf:
    return pikepdf.open(BytesIO(printed))


# ---- what is printed ----


@pytest.mark.parametrize(
    "part",
    [
        "Food temperature record Juniper Flats Central Kitchen Mon 26 Oct 2026 to Sun 1 Nov 2026",
        "Altitude 1640 m",
        "142 Temperature readings",
        "Between the readings nobody watched the food.",
        "Signed Undecided then Mon 26 Oct 14 24 1 2 AR, Tue 27 Oct 08:10 1",
        "People who record Initials Name Role JM Jory Maddow cook",
        "rice, rice-1101: 70 °F or below by 14:40.",
        "white-bean stew · stew-1026",
        "Made from shoulder-1025",
        "✕ not met: stew",
        "17 Mon 26 Oct 14:05 135 °F cool JM T1 (ice check 26 Oct: 32 °F, passed)",
        "corrected by entry 42",
        "19 Mon 26 Oct 14:05 ✕ 75 °F cool JM",
        "entered 42 min later",
        "Mon 26 Oct 15:10 JM corrective action Reheated to 165 °F",
        "Holds hot, checked every 60 min",
        "T1 ±2 °F Mon 26 Oct 07:00 32 °F in ice: passed",
        "reading 96 °F → 69 °F",
        "Mon 26 Oct 2026 AR Tue 27 Oct 08:10 Shallow pans ordered.",
        "FDA Food Code 2022, revision 1. Limits moved inward by 1 °F (guarded acceptance).",
        "Local rule in place of the published one",
        "From memory: not yet read in a source.",
        "up to entry 312",
        "Page 1 of ",
        "Printed Mon 2 Nov 2026 08:00 MST",
    ],
)
def test_the_page_says(part: str, words: str) -> None:
    assert part in words


@pytest.mark.parametrize("verdict", ["● met", "✕ not met", "? not shown", "○ open", "– stopped"])
def test_a_verdict_is_a_shape_and_a_word(verdict: str, words: str) -> None:
    assert f"{verdict} Cooling to 70 °F" in words


def test_a_missing_answer_is_said(words: str) -> None:
    assert words.count("No corrective action on record") == 1


def test_digests_are_whole_in_groups(words: str) -> None:
    for digest in (DIGEST, DIGEST[::-1]):
        assert " ".join(re.findall("." * 8, digest)) in words


def test_a_corrected_reading_is_struck_through(printed: bytes) -> None:
    """A struck reading adds its strokes, and keeps its words."""
    content = copy.deepcopy(CONTENT)
    content["batches"][0]["readings"][1]["struck"] = False
    plain = report(content)
    assert text(plain) == text(printed)

    def strokes(pdf: bytes) -> int:
        with pikepdf.open(BytesIO(pdf)) as opened:
            drawn = [page.Contents.read_bytes() for page in opened.pages]
        return sum(len(re.findall(rb"^S$", content, re.MULTILINE)) for content in drawn)

    assert strokes(printed) > strokes(plain)


def test_signature_lines_are_on_paper_even_for_an_empty_period() -> None:
    printed = text(report(EMPTY))
    assert "Nothing was recorded in this period." in printed
    assert "Manager Date" in printed
    assert "Inspector Date" in printed
    assert "Nothing: no limit was broken" not in printed


def test_a_quiet_period_says_that_nothing_needs_attention() -> None:
    assert "Nothing: no limit was broken" in text(report({**CONTENT, "attention": []}))


@pytest.mark.parametrize(("paper", "size"), [("a4", (595, 842)), ("letter", (612, 792))])
def test_paper_sizes(paper: Literal["a4", "letter"], size: tuple[int, int]) -> None:
    box = PdfReader(BytesIO(report(paper=paper))).pages[0].mediabox
    assert (round(box.width), round(box.height)) == size


# ---- how it is made ----


def test_it_declares_pdf_a_and_pdf_ua(pdf: pikepdf.Pdf) -> None:
    with pdf.open_metadata() as metadata:
        assert metadata.pdfa_status == "2A"
        assert metadata["pdfuaid:part"] == "1"
    assert str(pdf.Root.Lang) == "en"
    assert bool(pdf.Root.ViewerPreferences.DisplayDocTitle)


def test_a_checker_finds_nothing_against_pdf_ua(printed: bytes, tmp_path: Path) -> None:
    file = tmp_path / "report.pdf"
    file.write_bytes(printed)
    assert list(validate(str(file)).findings) == []


def test_every_part_is_tagged(pdf: pikepdf.Pdf) -> None:
    kinds = [str(tag.S) for tag in tags(pdf)]
    assert kinds.count("/Title") == 1
    # attention, days, people, findings twice, readings twice, events, thermometers, corrections,
    # signatures, limits
    assert kinds.count("/Table") == kinds.count("/THead") == 12
    assert kinds.count("/H1") == 11
    assert kinds.count("/H2") == 2
    assert {"/TH", "/TD", "/L", "/LI"} <= set(kinds)


def test_every_figure_is_told_in_words(pdf: pikepdf.Pdf) -> None:
    figures = [tag for tag in tags(pdf) if tag.S == "/Figure"]
    assert [str(figure.Alt) for figure in figures] == ["A cooling."]


def test_tags_do_not_move_a_page(printed: bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "_BEST", module._UNTAGGED)
    untagged = report()
    assert b"StructTreeRoot" not in untagged
    assert text(untagged) == text(printed)


def test_every_typeface_is_embedded_and_ours(pdf: pikepdf.Pdf) -> None:
    fonts = [
        font
        for page in pdf.pages
        for font in page.resources.get("/Font", pikepdf.Dictionary()).values()
    ]
    names = set()
    for font in fonts:
        assert "/ToUnicode" in font
        descriptor = font.DescendantFonts[0].FontDescriptor
        assert {"/FontFile2", "/FontFile3"} & set(descriptor.keys())
        names.add(str(descriptor.FontName).split("+")[1])
    assert names == {"DejaVuSans", "DejaVuSans-Bold", "DejaVuSansMono"}


def test_the_same_report_has_the_same_bytes_in_every_process(printed: bytes) -> None:
    script = "import sys, test_typeset; sys.stdout.buffer.write(test_typeset.report())"
    for salt, zone in (("1", "Asia/Tokyo"), ("2", "America/New_York")):
        elsewhere = subprocess.run(
            [sys.executable, "-c", script],
            env={**os.environ, "PYTHONHASHSEED": salt, "TZ": zone},
            cwd=Path(__file__).parent,
            capture_output=True,
            check=True,
        )
        assert elsewhere.stdout == printed


# ---- hostile text ----


def with_note(note: str) -> dict[str, Any]:
    """Put one text wherever a person's own words go."""
    content = copy.deepcopy(CONTENT)
    content["kitchen"] = note
    content["attention"][0].update(subject=note, answer=note)
    content["open"] = [note]
    batch = content["batches"][0]
    batch["title"] = note
    batch["facts"].append(["Note", note])
    batch["curves"][0].update(caption=note, alt=note)
    batch["readings"][0].update(note=note, thermometer=note)
    batch["events"][0][3] = note
    content["corrections"][0][3] = note
    content["signatures"][0][3] = note
    return content


@pytest.mark.parametrize(
    ("note", "shown"),
    [
        ("#set page(fill: red)", None),
        ('#read("/etc/passwd") #panic("x")', None),
        ("*b* _i_ $x^2$ `r` @ref <lab> \\ // /* ~ -- '", None),
        ("= heading", None),
        ("<b>&amp;</b> %s {0}", None),
        ("jalapeño crème Käse ≤ Ω", None),
        ("pizza 🍕", "pizza [U+1F355]"),
        ("豆腐", "[U+8C46][U+8150]"),
        ("531\u202e F", "531[U+202E] F"),
        ("soft\u00adhyphen\u200bspace\ufeff", "soft[U+00AD]hyphen[U+200B]space[U+FEFF]"),
        ("nul\x00 bell\x07 esc\x1b[31m", "nul[U+0000] bell[U+0007] esc[U+001B][31m"),
        ("half \ud83c", "half [U+D83C]"),
        ("private \ue000", "private [U+E000]"),
        ("\u05b4no base", "[U+05B4]no base"),
        ("two\nlines\r\nand\ttab", "two lines and tab"),
        ("W" * 200, None),
    ],
)
def test_hostile_text_is_printed_as_it_is_or_as_a_placeholder(
    note: str, shown: str | None, caplog: pytest.LogCaptureFixture
) -> None:
    expected = (shown or note).replace(" ", "")
    hostile = report(with_note(note))
    # subject, answer, open, title, fact, caption, note, thermometer, event, correction, signature
    # and the kitchen's name; the foot of a page may part one of them
    assert solid(hostile).count(expected) >= 11
    assert caplog.records == []  # no second try was needed
    with pikepdf.open(BytesIO(hostile)) as pdf:
        figures = [str(tag.Alt) for tag in tags(pdf) if tag.S == "/Figure"]
    assert [alt.replace("\u200b", "") for alt in figures] == [shown or note]


def test_a_long_word_is_broken_to_stay_on_the_paper() -> None:
    """A line of the page's width, 170 mm, has room for about a hundred of this letter."""
    pages = PdfReader(BytesIO(report(with_note("x" * 200)))).pages
    runs = [
        len(run)
        for page in pages
        for line in page.extract_text().splitlines()
        for run in re.findall("x+", line.replace("\u200b", ""))
    ]
    assert 16 <= max(runs) <= 110


def test_a_character_without_a_glyph_would_stop_the_compiler(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    """Were the error off, a missing character would be a box on paper and no one would know."""
    monkeypatch.setattr(module, "_clean", lambda value, _: value)
    with pytest.raises(Refused, match="could not be set on pages"):
        report(with_note("豆腐"))
    assert "could not be displayed with font" in caplog.text


def test_what_the_page_cannot_show_is_shown_by_its_number_at_last(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    """Should a glyph that is thought to be there be missing, plain letters print all the same."""
    monkeypatch.setattr(module, "_glyphs", lambda: frozenset("豆腐") | module._PLAINEST)
    assert "[U+8C46][U+8150]" in solid(report(with_note("豆腐")))
    assert len(caplog.records) == 2


def test_a_report_that_fails_a_standard_is_printed_without_tags(
    caplog: pytest.LogCaptureFixture,
) -> None:
    content = copy.deepcopy(CONTENT)
    content["batches"][0]["curves"][0]["alt"] = None
    with caplog.at_level(logging.WARNING), pikepdf.open(BytesIO(report(content))) as pdf:
        assert pdf.open_metadata().pdfa_status == "2B"
    assert "missing alt text" in caplog.text


def test_a_warning_of_the_compiler_is_a_failure(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    (tmp_path / "report.typ").write_text('#set text(font: "No Such Face")\nx', encoding="utf-8")
    monkeypatch.setattr(module, "folder", lambda _: tmp_path)
    with pytest.raises(Refused):
        report()


def test_the_compiler_sees_our_typefaces_only(monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[str] = []
    fonts = typst.Fonts

    def spy(**options: Any) -> typst.Fonts:
        made = fonts(**options)
        seen.extend(made.families())
        return made

    monkeypatch.setattr(typst, "Fonts", spy)
    report(EMPTY)
    assert seen == ["DejaVu Sans", "DejaVu Sans Mono"]
