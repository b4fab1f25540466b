"""A drawing for paper as a sheet measured in points: black and white, the same bytes each time."""

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import cache
from io import BytesIO
from pathlib import Path
from typing import Any, Literal, NamedTuple
from xml.sax.saxutils import escape

from matplotlib import get_data_path, rc_context, rcdefaults, rcParams
from matplotlib.figure import Figure
from matplotlib.font_manager import fontManager, get_font
from matplotlib.lines import Line2D
from matplotlib.transforms import Affine2D

from haccp.printing.typefaces import Face, marks_face
from haccp.rules.evidence import Verdict

POINT = 25.4 / 72  # [mm]
SIZE = 8  # of every word [pt]
LINE = 11  # from one line of words to the next [pt]
DOT = 6.0  # [pt]
# Black and thin, not grey: a copier makes dots of a grey, and of a thin grey line nothing.
INK: dict[str, Any] = {"color": "black"}
_FACES = {False: "DejaVuSans.ttf", True: "DejaVuSans-Bold.ttf"}
_STYLE: Any = {
    "font.size": SIZE,
    "svg.fonttype": "none",
    # A random salt would give the same curve other bytes each time.
    "svg.hashsalt": "cooling curve",
    "hatch.linewidth": 0.4,
}
NO_DATE: dict[str, Any] = {
    "svg": {"Date": None, "Creator": None},
    "png": {"Software": None},
    "pdf": {"CreationDate": None, "Producer": None, "Creator": None},
}
Form = Literal["svg", "png", "pdf"]


@dataclass(frozen=True, slots=True, kw_only=True)
class About:
    """What a drawing says of itself where it stands alone: a title, lines below it, its mark.

    The words must be such as `faces` show (`typeset.printable`). `described` tells what is seen to
    who cannot see it.
    """

    title: str
    below: tuple[str, ...]
    described: str
    mark: str
    faces: tuple[Face, ...] = ()


@contextmanager
def style(faces: Iterable[Face] = ()) -> Iterator[None]:
    """A person's own matplotlibrc must not change what an inspector gets.

    `faces` have what the typeface of drawings lacks, in the order in which they are asked.
    """
    with rc_context():
        rcdefaults()
        others = [_known(face) for face in faces if face != marks_face()]
        rcParams.update(_STYLE | {"font.family": ["DejaVu Sans", *others]})
        yield


@cache
def _known(face: Face) -> str:
    """Make a face known to the library that draws; give its name there."""
    fontManager.addfont(face.files[0])
    # or it would say each time that there is no bold one
    fontManager.ttflist.append(replace(fontManager.ttflist[-1], weight="bold"))
    return get_font(str(face.files[0])).family_name


class Box(NamedTuple):
    left: float
    bottom: float
    right: float
    top: float

    def meets(self, other: "Box") -> bool:
        return (
            self.left < other.right
            and other.left < self.right
            and self.bottom < other.top
            and other.bottom < self.top
        )


@cache
def width_of(words: str, bold: bool) -> float:
    """Measure a line of text [pt]."""
    font = get_font(str(Path(get_data_path(), "fonts", "ttf", _FACES[bold])))
    font.set_size(SIZE, 72)
    font.set_text(words)
    return float(font.get_width_height()[0]) / 64


class Sheet:
    """A figure measured in points. It knows where there is ink, and puts words where is none."""

    def __init__(self, width: float, height: float) -> None:
        self.width, self.height = width, height
        self.figure = Figure(figsize=(width / 72, height / 72))
        self.points = Affine2D().scale(1 / 72) + self.figure.dpi_scale_trans
        self.inked: list[Box] = []

    def text(self, x: float, y: float, words: str, *, bold: bool = False, ha: str = "left") -> Box:
        """Write one line on its baseline; give the box that it fills."""
        self.write(x, y, words, bold=bold, ha=ha)
        return self.box(x, y, words, bold=bold, ha=ha)

    def write(
        self, x: float, y: float, words: str, *, bold: bool = False, ha: str = "left"
    ) -> None:
        """Write one line where nothing else comes to stand: in whatever script, unmeasured."""
        weight = "bold" if bold else "normal"
        self.figure.text(x, y, words, ha=ha, weight=weight, transform=self.points, zorder=6)

    def box(self, x: float, y: float, words: str, *, bold: bool, ha: str) -> Box:
        wide = width_of(words, bold)
        left = x - {"left": 0.0, "center": wide / 2, "right": wide}[ha]
        return Box(left - 1, y - 2, left + wide + 1, y + 6.2)

    def is_free(self, box: Box) -> bool:
        return not any(box.meets(one) for one in self.inked)

    def line(self, xs: Sequence[float], ys: Sequence[float], **style: Any) -> None:
        ink = {**INK, "linewidth": 0.6, "transform": self.points, **style}
        self.figure.add_artist(Line2D(xs, ys, **ink))

    def sign(self, x: float, y: float, verdict: Verdict) -> None:
        """Draw a verdict's mark; typed, one that the typeface lacks would change the whole line."""
        if verdict is Verdict.NOT_SHOWN:
            self.text(x, y, "?", bold=True, ha="center")
            return
        shapes: dict[Verdict, dict[str, Any]] = {
            Verdict.MET: {"marker": "o"},
            Verdict.NOT_MET: {"marker": "x", "markeredgewidth": 1.8},
            Verdict.OPEN: {"marker": "o", "markerfacecolor": "white"},
            Verdict.STOPPED: {"marker": "_", "markeredgewidth": 1.5},
        }
        self.line([x], [y + 3], linestyle="none", markersize=DOT, **shapes[verdict])

    def saved(self, form: Form, about: About | None) -> bytes:
        told: dict[str, Any] = {}
        if about:
            told = {
                "svg": {"Title": about.title, "Description": about.described},
                "png": {"Title": about.title, "Description": about.described},
                "pdf": {"Title": about.title, "Subject": about.described},
            }[form] | {"Keywords": about.mark}
        drawn = BytesIO()
        self.figure.savefig(drawn, format=form, dpi=200, metadata=NO_DATE[form] | told)
        return _told(drawn.getvalue(), about) if about and form == "svg" else drawn.getvalue()


def _told(svg: bytes, about: About) -> bytes:
    """Tell whoever cannot see a drawing in SVG that it is one picture, and what of."""
    described = f"<desc>{escape(about.described)}</desc>"
    whole = svg.decode().replace("<svg ", '<svg role="img" ', 1)
    return whole.replace("</title>", f"</title>{described}", 1).encode()
