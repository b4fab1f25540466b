"""The typefaces of the papers, and what each prints: read from their files in a moment.

A cook's entry asks this before it is recorded: nothing heavy is imported here.
"""

import struct
import unicodedata
from bisect import bisect_right
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache
from importlib.util import find_spec
from pathlib import Path

from haccp.assets import folder
from haccp.language import phrase
from haccp.signs import clusters, is_mark

# What a font file, and a collection of them, may begin with (OpenType 1.9.1, "otff").
_FONTS = (b"\0\1\0\0", b"OTTO", b"true")
_COLLECTION = b"ttcf"
# Beyond it no file is looked at for letters: all papers have these.
_EVERYWHERE = 0x100

# Packages that hold a typeface alone, found without running them: the file in each of them.
_TEXT = ("fontpkg_noto_sans", "files/NotoSans[wdth,wght].ttf")
_SCRIPTS = (
    ("fontpkg_noto_sans_arabic", "files/NotoSansArabic[wdth,wght].ttf"),
    ("fontpkg_noto_sans_thai", "files/NotoSansThai[wdth,wght].ttf"),
)
_ETHIOPIC = "typefaces/NotoSansEthiopic[wght].ttf"
_MARKS = "mpl-data/fonts/ttf/"
# The extra `cjk`: Chinese, Japanese and Korean.
_EAST_ASIAN = ("noto_cjk_sans_jp_regular", "NotoSansCJKjp-Regular.otf")


# How the names of their characters begin (Unicode).
_EAST_ASIAN_NAMES = (
    "CJK",
    "HANGUL",
    "HIRAGANA",
    "KATAKANA",
    "IDEOGRAPHIC",
    "FULLWIDTH",
    "BOPOMOFO",
)


class NoFontError(ValueError):
    """A file is none that type can be set with."""


@dataclass(frozen=True, slots=True)
class Face:
    """One family of type, by the files of its weights: it prints what all of them have."""

    files: tuple[Path, ...]

    def prints(self, sign: str) -> bool:
        """Whether it has a sign with all that is set upon it."""
        return all(_has(file, ord(one)) for file in self.files for one in sign)


@dataclass(slots=True)
class Typefaces:
    """The faces of a paper in the order in which they are asked for a sign, the text's first."""

    faces: tuple[Face, ...]
    _known: dict[str, Face | None] = field(default_factory=dict)

    def of(self, sign: str) -> Face | None:
        """Give the face that prints a sign (`signs.clusters`); None where none can."""
        if sign not in self._known:
            steers = unicodedata.category(sign[0])[0] == "C" or is_mark(sign[0])
            faces = (face for face in self.faces if not steers and face.prints(sign))
            self._known[sign] = next(faces, None)
        return self._known[sign]

    def used(self) -> list[Face]:
        """Give the faces that were given for a sign so far."""
        return [face for face in self.faces if face in self._known.values()]

    def lacking(self, text: str) -> Iterator[str]:
        """Give the signs in a text that none of them prints."""
        return (one for one in clusters(text) if ord(max(one)) >= _EVERYWHERE and not self.of(one))


def typefaces(named: str = "") -> Typefaces:
    """Give the faces that are here; `named` is the kitchen's own font file, empty for none.

    Those that may be missing elsewhere come last, so that a paper without their letters is the same
    everywhere.
    """
    return Typefaces((text_face(), *_scripts(), marks_face(), *_optional(named)))


def drawing_typefaces(named: str) -> Typefaces:
    """Give the faces of a drawing, which is in that of the marks."""
    return Typefaces((marks_face(), text_face(), *_scripts(), *_optional(named)))


def _optional(named: str) -> list[Face]:
    return [face for face in (named_face(named), _in_package(*_EAST_ASIAN)) if face]


def text_face() -> Face:
    return _required(*_TEXT)


def marks_face() -> Face:
    """Give the face of the marks, and of what the text's face lacks."""
    return Face((mark_file("DejaVuSans.ttf"), mark_file("DejaVuSans-Bold.ttf")))


def mark_file(name: str) -> Path:
    """Find a file that comes with matplotlib, without importing that.

    The folder also holds a face that has a box for every character: it is never given whole.
    """
    return _required("matplotlib", _MARKS + name).files[0]


def numbered(sign: str) -> str:
    """Give the numbers of a sign's characters, such as ``U+1F355``."""
    return " ".join(f"U+{ord(one):04X}" for one in sign)


def cure(sign: str, named: str) -> str:
    """Say what prints a sign that nothing prints here; `named` is the kitchen's own font file."""
    if named and not named_face(named):
        return phrase(
            "put back the font file {file}, or name another (haccp kitchen --typeface FILE).",
            file=named,
        )
    is_east_asian = unicodedata.name(sign[0], "").startswith(_EAST_ASIAN_NAMES)
    if is_east_asian and not _in_package(*_EAST_ASIAN):
        return phrase(
            "install the typeface for Chinese, Japanese and Korean (pip install 'haccp[cjk]'), or "
            "name a font file that has it (haccp kitchen --typeface FILE)."
        )
    return phrase("name a font file that has it (haccp kitchen --typeface FILE).")


def named_face(named: str) -> Face | None:
    """Give the face that a kitchen named, where its file is there and can be read."""
    if not named:
        return None
    try:
        _covered(Path(named))
    except (OSError, NoFontError):
        return None
    return Face((Path(named),))


def added_by(file: Path) -> list[str]:
    """Give the characters that a font file adds to what papers print without it.

    Raises OSError, and NoFontError where it is none.
    """
    firsts, lasts = _covered(file)
    known = (text_face(), *_scripts(), marks_face())
    codes = (code for low, high in zip(firsts, lasts, strict=True) for code in range(low, high + 1))
    signs = (chr(code) for code in codes if unicodedata.category(chr(code))[0] != "C")
    return [sign for sign in signs if not any(face.prints(sign) for face in known)]


def scripts_of(signs: Sequence[str]) -> list[str]:
    """Name the scripts that most of some characters belong to, as Unicode does, with how many."""
    first_words = (unicodedata.name(sign, "").partition(" ")[0] for sign in signs)
    counts = Counter(word for word in first_words if word)
    return [f"{word} ({count})" for word, count in counts.most_common(6)]


def _scripts() -> list[Face]:
    packaged = [_required(*one) for one in _SCRIPTS]
    return [*packaged, Face((folder("reports") / _ETHIOPIC,))]


def _required(package: str, name: str) -> Face:
    face = _in_package(package, name)
    assert face, package  # it is a dependency
    return face


@cache
def _in_package(package: str, name: str) -> Face | None:
    found = find_spec(package)
    file = Path(found.origin).parent / name if found and found.origin else None
    return Face((file,)) if file and file.is_file() else None


def _has(file: Path, code: int) -> bool:
    firsts, lasts = _covered(file)
    place = bisect_right(firsts, code) - 1
    return place >= 0 and code <= lasts[place]


@cache
def _covered(file: Path) -> tuple[list[int], list[int]]:
    """Give the ends of the stretches of characters that a font file has, in order."""
    try:
        table = _character_map(file)
        stretches = sorted(_stretches(table))
    except (struct.error, IndexError, ValueError) as error:
        raise NoFontError(str(file)) from error
    if not stretches:
        raise NoFontError(str(file))
    return [low for low, _ in stretches], [high for _, high in stretches]


def _character_map(file: Path) -> bytes:
    """Read the best subtable of a font's `cmap`, of a collection's first font."""
    with file.open("rb") as font:

        def at(place: int, size: int) -> bytes:
            font.seek(place)
            return font.read(size)

        begins = struct.unpack(">I", at(12, 4))[0] if at(0, 4) == _COLLECTION else 0
        if at(begins, 4) not in _FONTS:
            raise NoFontError(str(file))
        count = struct.unpack(">H", at(begins + 4, 2))[0]
        tables = {
            tag: (offset, length)
            for tag, _, offset, length in struct.iter_unpack(">4sIII", at(begins + 12, 16 * count))
        }
        if b"cmap" not in tables:
            raise NoFontError(str(file))
        whole = at(*tables[b"cmap"])
    count = struct.unpack_from(">H", whole, 2)[0]
    offsets = {
        (platform, encoding): offset
        for platform, encoding, offset in struct.iter_unpack(">HHI", whole[4 : 4 + 8 * count])
    }
    # all of Unicode, else its first plane
    for kind in ((3, 10), (0, 6), (0, 4), (3, 1), (0, 3)):
        if kind in offsets:
            return whole[offsets[kind] :]
    raise NoFontError(str(file))


def _stretches(table: bytes) -> Iterator[tuple[int, int]]:
    """Give the first and last character of each stretch that a subtable maps to glyphs.

    OpenType 1.9.1, "cmap", formats 4 and 12; glyph 0 is the box for what is missing.
    """
    form = struct.unpack_from(">H", table)[0]
    if form == 12:
        count = struct.unpack_from(">I", table, 12)[0]
        for first, last, glyph in struct.iter_unpack(">III", table[16 : 16 + 12 * count]):
            if first + (glyph == 0) <= last:
                yield first + (glyph == 0), last
    elif form == 4:
        yield from _of_first_plane(table)
    else:
        raise NoFontError


def _of_first_plane(table: bytes) -> Iterator[tuple[int, int]]:
    size = struct.unpack_from(">H", table, 6)[0]  # of each column: two bytes a segment
    columns = [14, 16 + size, 16 + 2 * size, 16 + 3 * size]
    lasts, firsts, deltas, offsets = (
        struct.unpack_from(f">{size // 2}H", table, column) for column in columns
    )
    for n, (first, last) in enumerate(zip(firsts, lasts, strict=True)):
        for code in range(first, min(last, 0xFFFE) + 1):
            glyph = code
            if offsets[n]:
                place = columns[3] + 2 * n + offsets[n] + 2 * (code - first)
                glyph = struct.unpack_from(">H", table, place)[0]
            if glyph and (glyph + deltas[n]) & 0xFFFF:
                yield code, code
