"""Sets content on pages by a template: a tagged PDF that declares PDF/A-2a and PDF/UA-1."""

import json
import logging
import re
import shutil
from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Literal

import typst
from matplotlib.ft2font import FT2Font

from haccp.assets import folder
from haccp.errors import Refused
from haccp.language import message, phrase, tag
from haccp.printing.labels import labels_of
from haccp.printing.typefaces import (
    Face,
    Typefaces,
    mark_file,
    marks_face,
    text_face,
    typefaces,
)
from haccp.signs import clusters

_PAPERS = {"a4": "a4", "letter": "us-letter"}
_BEST: dict[str, Any] = {"pdf_standards": ["a-2a", "ua-1"]}
_UNTAGGED: dict[str, Any] = {"pdf_standards": ["a-2b"], "pdf_tags": False}
_NEW_LINE = re.compile(r"[\t\n\v\f\r\x1c-\x1e\x85\u2028\u2029]+")
# The narrowest column of free text holds about as many. A code breaks at its hyphens, where it has
# to: a break of ours inside it would stand in the text, and no search would find it.
_LONG = 16
_LONG_WORD = re.compile(rf"[^\s-]{{{_LONG},}}")
# The scripts that are written from right to left (Unicode 16, blocks), and what may stand between
# two of their words: spaces, digits and the marks within a name.
_LEFTWARDS = "\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufeff\U00010800-\U00010fff\U0001e800-\U0001efff"
_LEFTWARD_WORDS = re.compile(
    rf"[{_LEFTWARDS}](?:[{_LEFTWARDS} 0-9'’\"\u200c\u200d-]*[{_LEFTWARDS}])?"
)
_LEFT_TO_RIGHT_MARK = "\u200e"
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
    typeface: str = "",
    attached: Mapping[str, dict[str, Any]] | None = None,
) -> bytes:
    """Set content as PDF; the same bytes for the same content, drawings, paper and moment.

    `content` is what the template `reports/<template>.typ` prints, its strings ready for people.
    `curves` holds the drawings (SVG) under the file names by which the content calls for them.
    `attached` is the content of other templates, by their names, whose pages this one includes.
    `printed` is the moment the content was made (aware). The template's own words are in the
    language of who reads it (`language.read_in`), as the content should be.

    `typeface` is the font file that the kitchen named, empty for none.

    A character that no typeface can show is printed as a placeholder such as ``[U+1F355]``.
    Should the page fail all the same, it is set without tags, then with plain letters only: a
    paper without tags is better than none, one with characters silently missing is not.

    Raises Refused if none of that succeeds.
    """
    faces = typefaces(typeface)
    tries: tuple[tuple[Callable[[str], Any], Typefaces], ...] = (
        (faces.of, faces),
        (_PLAINEST.__contains__, Typefaces((text_face(), marks_face()))),
    )
    for prints, chain in tries:
        data = {
            name: {
                **_clean(one, prints),
                "paper": _PAPERS[paper],
                "language": tag(),
                "labels": labels_of(name),
            }
            for name, one in {template: content, **(attached or {})}.items()
        }
        used = list(dict.fromkeys((text_face(), *chain.used(), marks_face())))
        for words in data.values():
            words["typefaces"] = [family_of(face) for face in used]
        for standard in (_BEST, _UNTAGGED):
            try:
                return _compile(template, data, curves, used, printed, **standard)
            except (typst.TypstError, typst.TypstWarning) as problem:
                _log.warning("%s: %s", standard["pdf_standards"], problem.diagnostic)
    raise Refused(phrase(_NOT_SET[template]))


def _compile(
    template: str,
    data: dict[str, dict[str, Any]],
    curves: Mapping[str, bytes],
    faces: Sequence[Face],
    printed: datetime,
    **standard: Any,
) -> bytes:
    """Compile a template with its data beside it, as JSON: text in there is never markup.

    Each template that it includes stands in a folder of its name with its own data. A warning is
    raised as an error is: an unknown typeface, for one, is only a warning to Typst.
    """
    pages = {page.name: page.read_bytes() for page in folder("reports").glob("*.typ")}
    main = {"main.typ": pages[f"{template}.typ"], "data.json": json.dumps(data[template]).encode()}
    included = {
        f"{name}/{file}": content
        for name, words in data.items()
        if name != template
        for file, content in {**pages, "data.json": json.dumps(words).encode()}.items()
    }
    with TemporaryDirectory() as place:
        # Only these faces, in a folder of their own: some that they come from also hold one that
        # has a box for every character, and with it no missing glyph would ever be an error.
        for face in (*faces, Face((mark_file("DejaVuSansMono.ttf"),))):
            for file in face.files:
                shutil.copy(file, place)
        pdf, warnings = typst.compile_with_warnings(
            {**pages, **included, **curves, **main},
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


def is_set_with(file: Path, sign: str) -> bool:
    """Whether pages can be set with a font file, beside the others: it is tried, with a letter."""
    face = Face((file,))
    try:
        family = family_of(face)
        if family in map(family_of, typefaces().faces):
            return False  # of two with one name a page would take either
        with TemporaryDirectory() as place:
            shutil.copy(file, place)
            typst.compile(
                {
                    "main.typ": b'#let d = json("data.json")\n'
                    b"#set text(font: d.family, fallback: false)\n#set document(title: d.sign)\n"
                    b"#d.sign",
                    "data.json": json.dumps({"family": family, "sign": sign}).encode(),
                },
                root=place,
                font_paths=typst.Fonts(
                    include_system_fonts=False, include_embedded_fonts=False, font_paths=[place]
                ),
                format="pdf",
                **_UNTAGGED,
            )
    except (RuntimeError, typst.TypstError):
        return False
    return True


def family_of(face: Face) -> str:
    """Give the name by which typesetting and drawing know a face."""
    return FT2Font(str(face.files[0])).family_name


def _clean(value: Any, prints: Callable[[str], Any]) -> Any:
    """Make every string in a JSON value printable; keys are the program's own."""
    match value:
        case str():
            return _breakable(_printed(value, prints))
        case dict():
            return {key: _clean(one, prints) for key, one in value.items()}
        case list() | tuple():
            return [_clean(one, prints) for one in value]
        case _:
            return value


def printable(text: str, faces: Typefaces) -> str:
    """Put placeholders for what no typeface of a drawing shows."""
    return _printed(text, faces.of)


def _printed(text: str, prints: Callable[[str], Any]) -> str:
    """Put placeholders for what has no glyph or steers other characters; keep the line's order."""
    line = _NEW_LINE.sub(" ", text)
    if line.isascii() and line.isprintable():
        return line
    shown = "".join(one if prints(one) else _numbered(one, prints) for one in clusters(line))
    # what follows a name that runs to the left, such as an amount, would run on to its left; and
    # with such a name at its beginning the whole line would run to the left
    mark = _LEFT_TO_RIGHT_MARK
    return _LEFTWARD_WORDS.sub(rf"{mark}\g<0>{mark}", shown)


def _numbered(cluster: str, prints: Callable[[str], Any]) -> str:
    """Give a sign that cannot be printed by the numbers of what cannot."""
    return "".join(one if prints(one) else f"[U+{ord(one):04X}]" for one in cluster)


def _breakable(text: str) -> str:
    """Let a long word break between two signs, that it stays on the paper."""

    def parted(word: re.Match[str]) -> str:
        signs = clusters(word[0])
        return "\u200b".join("".join(signs[n : n + _LONG]) for n in range(0, len(signs), _LONG))

    return _LONG_WORD.sub(parted, text)
