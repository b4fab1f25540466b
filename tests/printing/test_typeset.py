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
from unittest.mock import MagicMock
from zoneinfo import ZoneInfo

import pikepdf
import pytest
import typst
from pdfua import validate
from pypdf import PdfReader

from haccp.errors import Refused
from haccp.printing import typeset as module
from haccp.printing.typefaces import Typefaces
from haccp.printing.typeset import typeset

PRINTED = datetime(2026, 11, 2, 8, 0, tzinfo=ZoneInfo("America/Denver"))
CURVE = b"""<svg xmlns="http://www.w3.org/2000/svg" width="481.9pt" height="181pt">
<path d="M0 0 L400 150" stroke="#000000" fill="none"/>
<text x="10" y="20" style="font: 8px 'DejaVu Sans'">70 \xc2\xb0F by 15:10</text></svg>"""
DIGEST = "0123456789abcdef" * 4


def reading(**changed: Any) -> dict[str, Any]:
    return {
        "no": "17",
        "when": "Mon 14:05",
        "temp": "135 °F",
        "step": "cool",
        "by": "JM",
        "thermometer": "T1 (no check on record)",
        "note": "",
        "struck": False,
        "mark": "",
        **changed,
    }


def told(verdict: str, **changed: Any) -> dict[str, Any]:
    """A row of the first page."""
    return {
        "verdict": verdict,
        "food": "bean stew",
        "codes": "stew-1026, 12 gal",
        "what": [{"words": f"Why it is {verdict}.", "citation": "3-501.14(A)(1)"}],
        "done": ["Discarded: too slow (JM, Mon 15:10)."],
        "more": ["Cause: no action."],
        "undecided": "",
        "place": ["thrown away Mon 15:10"],
        "anchor": "case-1",
        **changed,
    }


UNDECIDED = told(
    "not shown", food="gravy", codes="gravy-1028", done=[], more=[], anchor="case-2",
    undecided="Undecided: no action on record", place=["3 gal; in walk-in"],
)  # fmt: skip
CAUGHT = told("stopped", food="rice", codes="rice-1027", anchor="case-3")


def brief(**changed: Any) -> dict[str, Any]:
    """A reading among those of its day."""
    plain = {"at": "14:05", "temp": "135", "no": "17", "note": "", "mark": "", "struck": False}
    return {**plain, **changed}


def run(*rows: dict[str, Any], head: str = "cool, Mon 26 Oct, JM, T1") -> dict[str, Any]:
    return {"head": head, "rows": list(rows)}


def in_full(row: dict[str, Any], **changed: Any) -> dict[str, Any]:
    return {
        **row,
        "title": f"{row['food']} ({row['codes']})",
        "why": ["Still 75 °F at Mon 14:05."],
        "curves": [],
        "accounts": ["stew-1026: !cooling from 12:40"],
        "readings": [reading(no="19", temp="75 °F", mark="✕")],
        "others": [],
        "choices": ["discarded, by whom, when:"] if row["undecided"] else [],
        **changed,
    }


def checks(made: str, *wrong: str) -> dict[str, Any]:
    return {"made": made, "missed": False, "wrong": list(wrong)}


def cell(text: str, mark: str = "", late: str = "") -> dict[str, str]:
    return {"text": text, "mark": mark, "late": late}


CONTENT: dict[str, Any] = {
    "title": "Food temperature record",
    "kitchen": "Juniper Flats Central Kitchen",
    "address": "14 Ditch Lane · permit 0000",
    "site": ["America/Denver", "1640 m", "°F"],
    "charge": "Person in charge: Asta Rillwood",
    "period": "Mon 26 Oct to Sun 1 Nov 2026",
    "begins": "Record begins Mon 26 Oct 2026.",
    "printed": "Mon 2 Nov 2026 08:00 MST",
    "only": [],
    "part": "",
    "tills": [],
    "checks": None,
    "curves": [],
    "unreadable": ["Entry 9 cannot be read."],
    "sentence": ["1 food is undecided and still here: gravy-1028.", "1 food was discarded."],
    "not_shown": "means that the record does not prove it.",
    "caution": "Between the readings nobody watched the food.",
    "again": "haccp report 2026-10-26 2026-11-01 --again 2026-11-02T08:00:00-07:00",
    "note": "",
    "deviations": [UNDECIDED, told("not met")],
    "caught": [CAUGHT],
    "taken_back": ["well-1: 114 °F was not met."],
    "open": ["rice, rice-1101: 70 °F or below by 14:40."],
    "days": [
        {
            "day": "Mon 26 Oct",
            "coolings": ["met", "not met"],
            "hot": checks("19 of 20", "3 out of limits"),
            "cold": checks("4 of 4"),
            "thermometers": [["T1", True], ["T2", False]],
            "late": "1",
            "signed": {"words": "AR Tue 08:10", "undecided": "1 undecided", "missing": ""},
        }
    ],
    "log": {
        "title": "Cooling log: 5 coolings",
        "heads": ["70 °F: read; time of 2 h", "41 °F: read; time of 6 h"],
        "rows": [
            {
                "n": str(n),
                "food": "bean stew",
                "code": f"stew-{n}",
                "way": "2-inch pans",
                "start": "Mon 12:40",
                "first": ["68 at 14:30", "≤ 1 h 50"],
                "last": ["–", "–"],
                "verdict": verdict,
                "action": "none: undecided",
                "undecided": True,
                "by": "JM",
                "verified": "",
                "anchor": "case-1" if n == 1 else "",
            }
            for n, verdict in enumerate(("met", "not met", "not shown", "open", "stopped"), start=1)
        ],
        "figures": [{"file": "coolings-1.svg", "alt": "Five small coolings."}],
    },
    "full": [
        in_full(UNDECIDED),
        in_full(
            told("not met"),
            curves=[{"file": "curve-1.svg", "alt": "A cooling.", "growth": ""}],
        ),
        in_full(CAUGHT, others=["rice-1027-b: no reading of its own"]),
    ],
    "growth": "",
    "holding": [
        {
            "kind": "hours",
            "title": "Hot holding, 135 °F or above",
            "hours": ["10 h", "11 h", "12 h", "13 h"],
            "rows": [
                {
                    "day": "Mon 26 Oct",
                    "unit": "well-1",
                    "cells": [
                        cell("141.0"),
                        cell("132.6", "out"),
                        cell("", "missed"),
                        cell("152.5", "doubt", "L"),
                    ],
                    "foods": "bean stew (stew-1026)",
                }
            ],
        },
        {
            "kind": "days",
            "title": "Cold and frozen holding",
            "days": ["Mon 26 Oct"],
            "rows": [
                {
                    "unit": "walk-in",
                    "limit": "41 °F or below",
                    "days": [{"readings": [["06:40", "44.4", "out", ""]], "missed": "yes"}],
                }
            ],
        },
    ],
    "thermometers": [
        {
            "label": "T1",
            "accuracy": "±2 °F",
            "retired": "",
            "checks": [{"when": "Mon 07:00", "shown": "32 °F in ice", "passed": True}],
            "decided": [],
        }
    ],
    "deliveries": [
        {
            "verdict": "met",
            "food": "raw beef (beef-1026)",
            "amount": "46 lb",
            "read": "38 °F Mon 06:02",
            "supplier": "Tarn Hollow Farm",
            "place": "used up Mon 17:51",
            "by": "JM",
        }
    ],
    "late": [["21", "Mon 14:05", "stew-1026 75 °F, cool", "entered 42 min later", "JM"]],
    "corrections": [
        ["42", "18", "reading 96 °F → 69 °F", "typed from the wrong pan", "JM", "Mon 16:00"]
    ],
    "clock": [],
    "changes": [],
    "signatures": [["Mon 26 Oct", "AR", "Tue 08:10", "Shallow pans ordered."]],
    "people": [["JM", "Jory Maddow", "cook"]],
    "limits": {
        "name": "FDA Food Code 2022, revision 1",
        "digest": DIGEST,
        "guard": "Limits moved inward by 1 °F (guarded acceptance)",
        "changes": [],
        "rows": [
            {
                "limit": "Cooling stage 1",
                "text": "Cool from 135 °F (57 °C) to 70 °F (21 °C) within 2 hours.",
                "table": "",
                "citation": "3-501.14(A)(1)",
                "source": "the code of an invented county",
                "basis": basis,
                "override": override,
            }
            for basis, override in (("", False), ("from memory", True))
        ],
        "rest": "44 other limits of this set judged nothing here.",
        "unread": "* 1 number is not yet verified.",
    },
    "record": {"last": "312", "digest": DIGEST[::-1]},
    "annex": {
        "batches": [
            {
                "title": "white-bean stew",
                "code": "stew-1026",
                "portion": False,
                "facts": [["Opened", "Mon 12:40 by JM"], ["Made from", "shoulder-1025"]],
                "relations": [["Went into", "rice (r)", "a portion", "Mon 13:00", "used up"]],
                "findings": [["met", "Cooling stage 1"], ["not shown", "Cooling stage 2"]],
                "no_readings": "",
                "readings": [run(brief(), brief(no="18", temp="96", struck=True, note="replaced"))],
                "events": [["Mon 15:10", "JM", "corrective action", "Reheated to 165 °F"]],
            },
            {
                "title": "rice",
                "code": "rice-a",
                "portion": True,
                "facts": [["Opened", "Mon 12:40 by JM"], ["Amount", "1 gal"]],
                "relations": [],
                "findings": [["met", "Cooling stage 1"]],
                "no_readings": "",
                "readings": [run(brief(no="23"))],
                "events": [],
            },
        ],
        "units": [
            {
                "title": "well-1",
                "partly": False,
                "facts": [["Holds", "hot, checked every 60 min"]],
                "findings": [["met", "Hot holding"]],
                "readings": [run(brief(no="20", temp="141"), head="Mon 26 Oct, JM, T1")],
                "events": [],
            }
        ],
    },
}
NOTHING: dict[str, Any] = {
    "sentence": ["Nothing was recorded in this period."],
    "log": {"title": "", "heads": [], "rows": [], "figures": []},
    "annex": None,
    **{
        name: []
        for name in (
            "unreadable", "deviations", "caught", "taken_back", "open", "days", "full", "holding",
            "thermometers", "deliveries", "late", "corrections", "signatures", "people",
        )
    },
}  # fmt: skip
EMPTY: dict[str, Any] = {**CONTENT, **NOTHING}


def report(
    content: dict[str, Any] = CONTENT,
    curve: bytes = CURVE,
    paper: Literal["a4", "letter"] = "a4",
) -> bytes:
    drawings = dict.fromkeys(("curve-1.svg", "coolings-1.svg", "key.svg"), curve)
    return typeset(content, drawings, template="report", paper=paper, printed=PRINTED)


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
        "Food temperature record Juniper Flats Central Kitchen",
        "14 Ditch Lane · permit 0000 · America/Denver · 1640 m · °F",
        "Mon 26 Oct to Sun 1 Nov 2026 Person in charge: Asta Rillwood",
        "Entry 9 cannot be read.",
        "1 food is undecided and still here: gravy-1028. 1 food was discarded.",
        "Why it is not met. 3-501.14(A)(1)",
        "Caught in time",
        "Not met until corrected. well-1: 114 °F was not met.",
        "rice, rice-1101: 70 °F or below by 14:40.",
        "Hot checks made of due 19 of 20 3 out of limits",
        "Signed AR Tue 08:10 1 undecided",
        "Not shown means that the record does not prove it.",
        "Between the readings nobody watched the food.",
        "The same bytes again: haccp report 2026-10-26 2026-11-01 --again",
        "Cooling log: 5 coolings",
        "not met: bean stew (stew-1026, 12 gal)",
        "19 Mon 14:05 ✕ 75 °F cool JM",
        "Account of stew-1026: !cooling from 12:40.",
        "Decision of a manager",
        "The others, alike. rice-1027-b: no reading of its own.",
        "141.0 ✕ 132.6 ? no ? L 152.5",
        "06:40 ✕ 44.4",
        "? no check",
        "T1 ±2 °F Mon 07:00 32 °F in ice",
        "raw beef (beef-1026), 46 lb 38 °F Mon 06:02 Tarn Hollow Farm; used up Mon 17:51",
        "entered 42 min later",
        "reading 96 °F → 69 °F",
        "Mon 26 Oct AR Tue 08:10 Shallow pans ordered.",
        "People who record: JM Jory Maddow (cook).",
        "FDA Food Code 2022, revision 1. Limits moved inward by 1 °F (guarded acceptance).",
        "Local rule in place of the published one",
        "* from memory",
        "up to entry 312",
        "white-bean stew · stew-1026",
        "Made from shoulder-1025",
        "cool, Mon 26 Oct, JM, T1: 14:05 135 (17); 14:05 96 (18; replaced).",
        "Each reading by its time, its entry's number in brackets; in °F where no degree is said.",
        "corrective action Mon 15:10 (JM): Reheated to 165 °F",
        "Went into (a portion, used up): rice (r).",
        "rice · rice-a, 1 gal ● Cooling stage 1",
        "Holds hot, checked every 60 min",
        "Mon 26 Oct, JM, T1: 14:05 141 (20).",
        "Page 1 of ",
        "Printed Mon 2 Nov 2026 08:00 MST",
    ],
)
def test_the_page_says(part: str, words: str) -> None:
    assert part in words


@pytest.mark.parametrize("verdict", ["● met", "✕ not met", "? not shown", "○ open", "– stopped"])
def test_a_verdict_is_a_shape_and_a_word(verdict: str, words: str) -> None:
    assert f"{verdict} none: undecided" in words or f"{verdict} page" in words


def test_a_missing_answer_is_said(words: str) -> None:
    assert words.count("Undecided: no action on record") == 1


def test_digests_are_whole_in_groups(words: str) -> None:
    for digest in (DIGEST, DIGEST[::-1]):
        assert " ".join(re.findall("." * 8, digest)) in words


def test_a_corrected_reading_is_struck_through(printed: bytes) -> None:
    """A struck reading adds its strokes, and keeps its words."""
    content = copy.deepcopy(CONTENT)
    content["annex"]["batches"][0]["readings"][0]["rows"][1]["struck"] = False
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
    assert len(PdfReader(BytesIO(report(EMPTY, paper="letter"))).pages) == 1


def test_what_is_undecided_is_boxed_and_nothing_else_of_the_table(printed: bytes) -> None:
    """A box's corners: the sentence, and the row that nobody decided."""
    decided = copy.deepcopy(CONTENT)
    decided["deviations"][0]["undecided"] = ""

    def boxes(pdf: bytes) -> int:
        with pikepdf.open(BytesIO(pdf)) as opened:
            return opened.pages[0].Contents.read_bytes().count(b"1.2 w")

    assert boxes(printed) == boxes(report(decided)) + 1


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
    # deviations, day, cooling log, three deviations' readings, hot, cold, thermometers, deliveries,
    # late, corrections, signatures, limits
    assert kinds.count("/Table") == kinds.count("/THead") == 14
    # deviations, open, day, log, in full, holding, instruments, signatures, annex
    assert kinds.count("/H1") == 9
    # three deviations, hot, cold, deliveries, late, corrections, limits, record, batch, unit
    assert kinds.count("/H2") == 12
    assert "/H3" not in kinds
    assert {"/TH", "/TD", "/L", "/LI", "/Link"} <= set(kinds)


def test_nothing_is_set_smaller_than_eight_points(pdf: pikepdf.Pdf) -> None:
    """Our own bound for a copy that is read on a line; the drawings are looked at elsewhere."""
    sizes = set()
    for page in pdf.pages:
        for instruction in pikepdf.parse_content_stream(page):
            if str(instruction.operator) == "Tf":
                sizes.add(float(instruction.operands[1]))
    assert min(sizes) >= 8


def test_bookmarks_carry_the_verdict_and_links_lead_to_what_they_name(pdf: pikepdf.Pdf) -> None:
    with pdf.open_outline() as outline:
        chapters = {one.title: [child.title for child in one.children] for one in outline.root}
    assert list(chapters) == [  # in the order in which they are read
        "Deviations, the undecided first", "Still open when this was printed", "The day",
        "Cooling log: 5 coolings", "Deviations in full", "Holding",
        "Thermometers, deliveries, changes", "Signatures and limits", "Annex: all readings",
    ]  # fmt: skip
    in_full = chapters["Deviations in full"]
    assert [title.split(":")[0].strip("?✕–\u00a0 ") for title in in_full] == [
        "not shown", "not met", "stopped",
    ]  # fmt: skip
    links = [
        annotation
        for page in pdf.pages
        for annotation in page.get("/Annots", [])
        if annotation.Subtype == "/Link"
    ]
    cases = sorted(str(one.Dest) for one in links if str(one.get("/Dest", "")).startswith("case-"))
    assert cases == ["case-1", "case-1", "case-2", "case-3"]  # page one, and a row of the log
    assert len(links) >= len(cases) + 5  # the contents


def test_every_figure_is_told_in_words(pdf: pikepdf.Pdf) -> None:
    figures = [tag for tag in tags(pdf) if tag.S == "/Figure"]
    alts = [str(figure.Alt) for figure in figures]
    assert [alt for alt in alts if "marks on the curves" not in alt] == [
        "Five small coolings.", "A cooling.",
    ]  # fmt: skip


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
    faces = {name.split("-")[0] for name in names}
    assert faces == {"NotoSans", "DejaVuSans", "DejaVuSansMono"}, "more than its letters need"


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
    content["deviations"][0].update(food=note, more=[note])
    content["open"] = [note]
    content["full"][1].update(title=note, done=[note])
    content["full"][1]["curves"][0]["alt"] = note
    batch = content["annex"]["batches"][0]
    batch["title"] = note
    batch["facts"].append(["Note", note])
    batch["readings"][0]["head"] = note
    batch["readings"][0]["rows"][0]["note"] = note
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
        ("\U00013000\U00013050", "[U+13000][U+13050]"),
        ("豆腐 phở ዶሮ", None),
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
    # food, note, open, title, act, batch, fact, note, thermometer, event, correction, signature and
    # the kitchen's name; the foot of a page may part one of them
    assert solid(hostile).count(expected) >= 11
    assert caplog.records == []  # no second try was needed
    with pikepdf.open(BytesIO(hostile)) as pdf:
        figures = [str(tag.Alt).replace("\u200b", "") for tag in tags(pdf) if tag.S == "/Figure"]
    assert (shown or note) in figures


def test_a_long_word_is_broken_to_stay_on_the_paper() -> None:
    """A line of the page's width, 186 mm, has room for about 140 of this letter in 8 points."""
    pages = PdfReader(BytesIO(report(with_note("x" * 200)))).pages
    runs = [
        len(run)
        for page in pages
        for line in page.extract_text().splitlines()
        for run in re.findall("x+", line.replace("\u200b", ""))
    ]
    assert 16 <= max(runs) <= 140


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
    everything = MagicMock(spec=Typefaces, faces=(), used=list)
    monkeypatch.setattr(module, "typefaces", lambda _: everything)
    assert "[U+8C46][U+8150]" in solid(report(with_note("豆腐")))
    assert len(caplog.records) == 2


def test_a_report_that_fails_a_standard_is_printed_without_tags(
    caplog: pytest.LogCaptureFixture,
) -> None:
    content = copy.deepcopy(CONTENT)
    content["full"][1]["curves"][0]["alt"] = None
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
    assert seen == ["DejaVu Sans", "DejaVu Sans Mono", "Noto Sans"]
