"""Sets content on pages by a template: a tagged PDF that declares PDF/A-2a and PDF/UA-1."""

import json
import logging
import re
import shutil
import unicodedata
from collections.abc import Mapping
from datetime import UTC, datetime
from functools import cache
from importlib.util import find_spec
from itertools import pairwise
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Literal

import typst
from matplotlib import get_data_path
from matplotlib.ft2font import FT2Font

from haccp.assets import folder
from haccp.errors import Refused
from haccp.language import message, phrase, tag
from haccp.printing.labels import labels_of

# The marks and what the text's face lacks; the text's own face, variable in weight and width.
_MARKS = ("DejaVuSans.ttf", "DejaVuSans-Bold.ttf", "DejaVuSansMono.ttf")
_TEXT = "NotoSans[wdth,wght].ttf"
_PAPERS = {"a4": "a4", "letter": "us-letter"}
_BEST: dict[str, Any] = {"pdf_standards": ["a-2a", "ua-1"]}
_UNTAGGED: dict[str, Any] = {"pdf_standards": ["a-2b"], "pdf_tags": False}
_NEW_LINE = re.compile(r"[\t\n\v\f\r\x1c-\x1e\x85\u2028\u2029]+")
# The narrowest column of free text holds about as many.
_LONG_WORD = re.compile(r"(\S{16})(?=\S)")
# Latin-1 and what the program's own sentences hold beyond it.
_PLAINEST = frozenset(
    [chr(code) for code in range(0x100) if chr(code).isprintable()] + list("–—−≤≥≈→…‘’“”●○✕□")
)

_NOT_SET = {
    "report": message(
        "The report could not be set on pages; the record itself is whole. A shorter period, or "
        "shorter names, may print."
    ),
    "plan": message(
        "The plan could not be set on pages; the record itself is whole. Shorter names may print."
    ),
    "forms": message(
        "The forms could not be set on pages; the record itself is whole. Shorter names may print."
    ),
    "curve": message(
        "The curve could not be set on pages; the record itself is whole. Shorter names may print."
    ),
}

_log = logging.getLogger(__name__)


def typeset(
    content: dict[str, Any],
    curves: Mapping[str, bytes],
    *,
    template: Literal["report", "plan", "forms", "curve"],
    paper: Literal["a4", "letter"],
    printed: datetime,
) -> bytes:
    """Set content as PDF; the same bytes for the same content, drawings, paper and moment.

    `content` is what the template `reports/<template>.typ` prints, its strings ready for people.
    `curves` holds the drawings (SVG) under the file names by which the content calls for them.
    `printed` is the moment the content was made (aware). The template's own words are in the
    language of who reads it (`language.read_in`), as the content should be.

    A character that the typeface cannot show is printed as a placeholder such as ``[U+1F355]``.
    Should the page fail all the same, it is set without tags, then with plain letters only: a
    paper without tags is better than none, one with characters silently missing is not.

    Raises Refused if none of that succeeds.
    """
    for shown in (_glyphs(), _PLAINEST):
        data = {
            **_clean(content, shown),
            "paper": _PAPERS[paper],
            "language": tag(),
            "labels": labels_of(template),
        }
        for standard in (_BEST, _UNTAGGED):
            try:
                return _compile(template, data, curves, printed, **standard)
            except (typst.TypstError, typst.TypstWarning) as problem:
                _log.warning("%s: %s", standard["pdf_standards"], problem.diagnostic)
    raise Refused(phrase(_NOT_SET[template]))


def _compile(
    template: str,
    data: dict[str, Any],
    curves: Mapping[str, bytes],
    printed: datetime,
    **standard: Any,
) -> bytes:
    """Compile a template with its data beside it, as JSON: text in there is never markup.

    A warning is raised as an error is: an unknown typeface, for one, is only a warning to Typst.
    """
    pages = {page.name: page.read_bytes() for page in folder("reports").glob("*.typ")}
    main = pages[f"{template}.typ"]
    with TemporaryDirectory() as place:
        # Only these faces: the folder they come from also holds one that has a box for every
        # character, and with it no missing glyph would ever be an error.
        for face in _typefaces():
            shutil.copy(face, place)
        pdf, warnings = typst.compile_with_warnings(
            {**pages, **curves, "main.typ": main, "data.json": json.dumps(data).encode()},
            root=place,
            font_paths=typst.Fonts(
                include_system_fonts=False, include_embedded_fonts=False, font_paths=[place]
            ),
            format="pdf",
            timestamp=printed.astimezone(UTC),
            **standard,
        )
    for warning in warnings:
        raise warning
    assert isinstance(pdf, bytes)  # a list comes only from formats of one file a page
    return pdf


def _typefaces() -> list[Path]:
    """Give the files of every face on paper, the text's first."""
    package = find_spec("fontpkg_noto_sans")
    assert package and package.origin  # it is a dependency, without any code of its own to run
    text = Path(package.origin).parent / "files" / _TEXT
    return [text, *(Path(get_data_path(), "fonts", "ttf", name) for name in _MARKS)]


@cache
def _glyphs() -> frozenset[str]:
    """Give the characters that can be set in a text: by its own face, else by that of the marks."""
    text, marks, *_ = _typefaces()
    return _shown_by(text) | _shown_by(marks)


@cache
def _shown_by(face: Path) -> frozenset[str]:
    """Give the characters that a face shows and that do not steer other characters."""
    codes = FT2Font(str(face)).get_charmap()
    return frozenset(chr(code) for code in codes if unicodedata.category(chr(code))[0] != "C")


def _clean(value: Any, shown: frozenset[str]) -> Any:
    """Make every string in a JSON value printable; keys are the program's own."""
    match value:
        case str():
            return _printed(value, shown)
        case dict():
            return {key: _clean(one, shown) for key, one in value.items()}
        case list() | tuple():
            return [_clean(one, shown) for one in value]
        case _:
            return value


def _printed(text: str, shown: frozenset[str]) -> str:
    """Put placeholders for what has no glyph or steers other characters; let long words break."""
    if not (text.isascii() and text.isprintable()):  # as most are, and every face shows
        line = _NEW_LINE.sub(" ", text)
        text = "".join(
            sign if sign in shown and not _baseless(before, sign) else f"[U+{ord(sign):04X}]"
            for before, sign in pairwise(" " + line)
        )
    return _LONG_WORD.sub("\\1\u200b", text)


def printable(text: str) -> str:
    """Put placeholders for what the typeface of a drawing does not show."""
    return _printed(text, _shown_by(_typefaces()[1])).replace("\u200b", "")


def _baseless(before: str, sign: str) -> bool:
    """Whether a combining mark has nothing to stand on: such failed at the beginning of a line."""
    return before.isspace() and unicodedata.category(sign).startswith("M")
