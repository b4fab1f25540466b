"""What the papers' typefaces print: read from the files, and set on pages. All texts are invented."""

import re
import unicodedata
from collections.abc import Iterator
from datetime import datetime
from io import BytesIO
from pathlib import Path
from typing import Any
from unittest.mock import patch
from zoneinfo import ZoneInfo

import pikepdf
import pytest
from fontTools.ttLib import TTFont
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from haccp.cli.session import printable
from haccp.errors import Refused
from haccp.printing import typeset as module
from haccp.printing.typefaces import (
    Face,
    NoFontError,
    _covered,
    added_by,
    drawing_typefaces,
    mark_file,
    named_face,
    typefaces,
)
from haccp.printing.typeset import typeset
from haccp.signs import clusters

EVERY = typefaces().faces
FILES = [file for face in EVERY for file in face.files]
DRAWING = (
    b'<svg xmlns="http://www.w3.org/2000/svg" width="9pt" height="9pt"><path d="M0 0 L4 4"/></svg>'
)
# A dish as each script writes it.
NAMES = {
    "Vietnamese": "phở bò",
    "Cyrillic": "Борщ",
    "Greek": "Τζατζίκι",
    "Hebrew": "מרק עוף",
    "Hebrew with points": "שֶׁמֶן",
    "Arabic": "شوربة عدس",
    "Persian": "نیم\u200cرو",
    "Chinese": "麻婆豆腐",
    "Japanese": "みそ汁",
    "Korean": "김치찌개",
    "Amharic": "ዶሮ ወጥ",
    "Thai": "ต้มยำกุ้ง",
    "Hindi": "हलवा",
}


def page(*texts: str, typeface: str = "") -> bytes:
    words = {
        "title": "Texts",
        "kitchen": "Test Kitchen",
        "described": "Nothing.",
        "mark": "haccp curve",
        "key": "None.",
        "below": texts,
    }
    return typeset(
        words,
        {"curve.svg": DRAWING, "key.svg": DRAWING},
        template="curve",
        paper="letter",
        printed=datetime(2026, 11, 2, 8, 0, tzinfo=ZoneInfo("America/Denver")),
        typeface=typeface,
    )


def text_of(pdf: bytes) -> str:
    pages = "".join(one.extract_text() for one in PdfReader(BytesIO(pdf)).pages)
    return re.sub(r"[\s\u200b\u200e]+", "", pages)


def glyphs(pdf: bytes) -> Iterator[int]:
    """Give the number of every glyph that a paper's pages and drawings show."""
    with pikepdf.open(BytesIO(pdf)) as opened:
        for sheet in opened.pages:
            yield from _glyphs(sheet.obj, sheet.resources)


def _glyphs(content: Any, resources: Any) -> Iterator[int]:
    for one in pikepdf.parse_content_stream(content):
        if str(one.operator) not in ("Tj", "TJ"):
            continue
        for shown in one.operands[0] if str(one.operator) == "TJ" else one.operands:
            if isinstance(shown, pikepdf.String):
                codes = bytes(shown)  # two bytes a glyph: all faces are embedded as Identity-H
                yield from (int.from_bytes(codes[n : n + 2]) for n in range(0, len(codes), 2))
    for inner in resources.get("/XObject", pikepdf.Dictionary()).values():
        if inner.get("/Subtype") == "/Form":
            yield from _glyphs(inner, inner.get("/Resources", pikepdf.Dictionary()))


# ---- what a file has ----


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.name)
def test_what_is_read_of_a_font_file_is_what_another_library_reads(file: Path) -> None:
    firsts, lasts = _covered(file)
    read = {
        code for pair in zip(firsts, lasts, strict=True) for code in range(pair[0], pair[1] + 1)
    }
    theirs = TTFont(file).getBestCmap()
    assert read - {0} == {code for code, name in theirs.items() if code and name != ".notdef"}


def test_what_is_no_font_is_not_taken_for_one(tmp_path: Path) -> None:
    whole = FILES[0].read_bytes()
    for content in (b"", b"\0\1\0\0", b"OTTO" * 40, whole[:200], b"words " * 400):
        file = tmp_path / "font.ttf"
        file.write_bytes(content)
        _covered.cache_clear()
        with pytest.raises(NoFontError):
            added_by(file)
        assert named_face(str(file)) is None


def test_no_face_has_a_box_for_every_character() -> None:
    """One that comes with matplotlib has, and with it nothing would ever be missing."""
    assert not any(face.prints("\U000107ff") or face.prints("\U0001f355") for face in EVERY)


def test_the_letters_of_most_papers_are_the_same_whatever_else_is_installed() -> None:
    letters = "".join(map(chr, range(0x20, 0x250))) + "–—−≤≥≈→…‘’“”●○✕□"
    marks = Face((mark_file("DejaVuSans.ttf"), mark_file("DejaVuSans-Bold.ttf")))
    for sign in filter(str.isprintable, letters):
        assert typefaces().of(sign) in (EVERY[0], marks), sign
        assert drawing_typefaces("").of(sign) in (EVERY[0], marks), sign


# ---- on paper ----


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
def test_a_name_prints_in_its_script(name: str, caplog: pytest.LogCaptureFixture) -> None:
    pdf = page(name, f"{name}, 14 lb")
    found = text_of(pdf)
    letters = set(re.sub(r"\s", "", unicodedata.normalize("NFC", name)))
    assert letters <= set(found)
    assert "[U+" not in found
    assert caplog.records == [], "the first try did not succeed"
    numbers = list(glyphs(pdf))
    assert len(numbers) > len(name)
    assert 0 not in numbers, "a box stands for a letter"


@pytest.mark.parametrize("name", ["Борщ", "麻婆豆腐", "みそ汁", "ዶሮ ወጥ"])
def test_a_name_that_runs_to_the_right_is_found_whole(name: str) -> None:
    assert name.replace(" ", "") in text_of(page(name))


def test_the_same_bytes_in_every_script() -> None:
    assert page(*NAMES.values()) == page(*NAMES.values())


def _places(pdf: bytes) -> list[tuple[str, float]]:
    """Give the pieces of the page's text and how far from the left each begins."""
    found: list[tuple[str, float]] = []

    def visit(text: str, matrix: list[float], *more: Any) -> None:
        if text.strip():
            found.append((text.strip(), matrix[4]))

    PdfReader(BytesIO(pdf)).pages[0].extract_text(visitor_text=visit)
    return found


@pytest.mark.parametrize("name", ["شوربة عدس", "מרק עוף"])
def test_what_follows_a_name_that_runs_to_the_left_stands_right_of_it(name: str) -> None:
    """By the rules of two directions alone an amount would stand left of the name that it follows."""
    places = [one for one in _places(page(f"{name}, 14 lb: not met")) if "Texts" not in one[0]]
    (amount,) = (left for text, left in places if "14" in text)
    letters = [left for text, left in places if set(text) & set(name) - {" "}]
    assert letters
    assert max(letters) < amount
    text = next(text for text, _ in places if "14" in text)
    assert text.index("14") < text.index("not met")


@settings(max_examples=25, deadline=None)
@given(texts=st.lists(st.text(min_size=1, max_size=12), min_size=20, max_size=40), data=st.data())
def test_what_is_taken_at_entry_can_be_printed(texts: list[str], data: st.DataObject) -> None:
    """Whatever is typed, in whatever mixture: it is refused, or set at the first try, box by none."""
    face = data.draw(st.sampled_from(EVERY))
    firsts, lasts = _covered(face.files[0])
    codes = st.sampled_from(range(len(firsts))).flatmap(lambda n: st.integers(firsts[n], lasts[n]))
    own = data.draw(st.lists(st.lists(codes, min_size=1, max_size=6), min_size=5, max_size=20))
    taken = []
    for text in (*texts, *("".join(map(chr, one)) for one in own)):
        try:
            taken.append(printable(text, "The name"))
        except Refused:
            continue
    assume(taken)
    with patch.object(module._log, "warning") as told:
        pdf = page(*taken)
    assert not told.called, told.call_args
    assert 0 not in glyphs(pdf)
    assert "[U+" not in "".join(taken) and text_of(pdf).count("[U+") == 0


def test_a_sign_is_what_one_face_has_whole() -> None:
    """A letter of one face under an accent of another would be set as two signs, or as a box."""
    chain = typefaces()
    assert chain.of("ש\u05b6")
    assert not chain.of("麻\u05b6")
    assert clusters("שֶׁ麻") == ["שֶׁ", "麻"]
