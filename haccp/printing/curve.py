"""Draws coolings for paper: one in full, several side by side, or twelve small on one scale."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from haccp.language import phrase
from haccp.printing.curve_large import ABOVE, BELOW, LEFT, Large
from haccp.printing.curve_panel import Panel
from haccp.printing.curve_sheet import DOT, LINE, POINT, About, Box, Form, Sheet, style, width_of
from haccp.printing.curve_words import day
from haccp.printing.drawn_cooling import HOUR, DrawnCurve
from haccp.rules.evidence import overall
from haccp.temperature import Level
from haccp.time import weekday

# What follows is in points.
_WIDTH, _BETWEEN = 186 / POINT, 6 / POINT
_HEIGHT = 62 / POINT
_SMALL_DOT, _SMALL_CROSS = 4.4, 5.5
_TWELVE, _ACROSS = 12, 4  # small drawings on a sheet, and in a row
_SMALL_HOURS = 7.0  # on the one scale of the small drawings


def draw(*coolings: DrawnCurve, form: Form = "svg", about: About | None = None) -> bytes:
    """Draw one cooling 186 mm wide, several side by side by twos; the same bytes for the same.

    Without `about` it holds fixed words and numbers only: what a person typed belongs into the
    page's own text, which knows what to do with a character that the typeface lacks.
    """
    across = min(len(coolings), 2)
    rows = -(-len(coolings) // 2)
    above = 1.6 * LINE if about else 0.0
    key_height = _key_height() if about else 0.0
    below = key_height + (len(about.below) + 0.5) * LINE if about else 0.0
    with style(about.faces if about else ()):
        sheet = Sheet(_WIDTH, above + rows * _HEIGHT + below)
        if about:
            sheet.write(0, sheet.height - LINE, about.title, bold=True)
            _tell_key(sheet, below - key_height)
            for n, line in enumerate(reversed(about.below)):
                sheet.write(0, 4 + n * LINE, line)
        width = (_WIDTH - (across - 1) * _BETWEEN) / across
        for n, cooling in enumerate(coolings):
            left = n % across * (width + _BETWEEN)
            top = sheet.height - above - n // across * _HEIGHT
            frame = Box(left + LEFT, top - _HEIGHT + BELOW, left + width - 1, top - ABOVE)
            which = [f"{n + 1}/{len(coolings)}"] if across > 1 else []
            Large(sheet, frame, cooling).draw(", ".join([*which, day(cooling)]), *which)
        return sheet.saved(form, about)


@dataclass(frozen=True, slots=True)
class Numbered:
    """A cooling among others: its number in their list, what it is called there, the drawing.

    The name is a code: such as every typeface shows.
    """

    number: int
    name: str
    cooling: DrawnCurve


def small_multiples(coolings: Sequence[Numbered]) -> bytes:
    """Draw up to twelve coolings as SVG, 186 mm wide, all on one scale: hours since the start.

    Number and mark of each panel are those of its row in the list of coolings.
    """
    assert 1 <= len(coolings) <= _TWELVE
    height, width = 36 / POINT, _WIDTH / _ACROSS
    rows = -(-len(coolings) // _ACROSS)
    named = {level for one in coolings for level in one.cooling.levels}
    with style():
        sheet = Sheet(_WIDTH, rows * height)
        for n, one in enumerate(coolings):
            left, top = n % _ACROSS * width, sheet.height - n // _ACROSS * height
            frame = Box(left + 24, top - height + 14, left + width - 4, top - LINE - 3)
            _Small(sheet, frame, one, named if n % _ACROSS == 0 else set()).draw()
        return sheet.saved("svg", None)


def key() -> bytes:
    """Draw what the marks mean as SVG, 186 mm wide: once for all the drawings of a paper."""
    with style():
        sheet = Sheet(_WIDTH, _key_height())
        _tell_key(sheet, 0)
        return sheet.saved("svg", None)


class _Small(Panel):
    """One cooling among others: hours since its start, on the scale that all share."""

    def __init__(self, sheet: Sheet, frame: Box, one: Numbered, named: set[Level]) -> None:
        zero = one.cooling.begin
        super().__init__(
            sheet, frame, one.cooling, lambda at: (at - zero) / HOUR, (-0.35, _SMALL_HOURS)
        )
        self.one, self.named = one, named

    def draw(self) -> None:
        self.head()
        self.forbidden()
        self.levels()
        self.bars(3.5)
        self.guide(0.6)
        self.dots(_SMALL_DOT, _SMALL_CROSS)
        self.beyond()
        ticks = range(0, int(_SMALL_HOURS), 2)
        named = sorted(self.cooling.at(level) for level in self.named)
        self.edges(ticks, named, 2.2)
        for level in self.named:
            y = self.above(self.cooling.at(level)) - 3
            self.sheet.text(
                self.frame.left - 4, y, f"{level.number(self.cooling.degree)}", ha="right"
            )
        for n in ticks:
            words = phrase("{hours} h", hours=n) if n == ticks[-1] else str(n)
            self.sheet.text(self.right_of(n), self.frame.bottom - 11, words, ha="center")

    def head(self) -> None:
        y, left = self.frame.top + 5, self.frame.left - 20
        verdict = overall(self.cooling.findings)
        bold = verdict.is_deviation
        filled = self.sheet.text(left, y, f"{self.one.number}", bold=bold)
        self.sheet.sign(filled.right + 5, y, verdict)
        filled = self.sheet.text(filled.right + 11, y, self.one.name, bold=bold)
        local = self.cooling.begin.astimezone(self.cooling.zone)
        for words in (f"{weekday(local.date())} {local:%H:%M}", weekday(local.date())):
            if filled.right + 3 < self.frame.right - width_of(words, False):
                self.sheet.text(self.frame.right, y, words, ha="right")
                break

    def beyond(self) -> None:
        """Draw an arrow for what was read after the end of the scale."""
        place, value = self.place(self.cooling.readings[-1])
        if place > _SMALL_HOURS:
            x, y = self.frame.right - 3, self.above(min(max(value, self.low), self.high))
            self.sheet.line([x], [y], marker=">", markersize=4, markeredgecolor="white", zorder=7)


def _key() -> list[tuple[dict[str, Any], str]]:
    """Give each mark's look with what it means."""
    dot: dict[str, Any] = {"linestyle": "none", "markersize": DOT}
    passed = phrase("level passed in here: black in time, white too late or not shown")
    return [
        ({**dot, "marker": "o"}, phrase("reading")),
        ({**dot, "marker": "x", "markeredgewidth": 1.8}, phrase("breaks a limit")),
        ({**dot, "marker": "s", "markerfacecolor": "white"}, phrase("thermometer in doubt")),
        ({**dot, "marker": "^"}, phrase("hotter than the scale")),
        ({**dot, "marker": ">"}, phrase("read later than shown")),
        ({"linewidth": 1.1}, phrase("limit; hatched: too warm for the time")),
        ({"linewidth": 4, "solid_capstyle": "butt"}, passed),
        ({"linewidth": 0.7, "linestyle": (0, (1, 2))}, phrase("nothing known between")),
        ({**dot, "marker": (2, 2, -25), "markersize": 9}, phrase("time cut out")),
        (
            {"linewidth": 5, "color": "0.86", "solid_capstyle": "butt"},
            phrase("an estimate: dashed as expected, dotted as planned"),
        ),
    ]


def key_in_words() -> str:
    """Say what the key shows to who cannot see it."""
    return phrase("What the marks mean: {meanings}.", meanings="; ".join(w for _, w in _key()))


def _key_lines() -> list[list[tuple[dict[str, Any], str]]]:
    """Break the key into lines as full as they go: how many there are depends on the language."""
    lines: list[list[tuple[dict[str, Any], str]]] = [[]]
    x = 1.0
    for look, words in _key():
        width = _long(look) + 9 + width_of(words, False)
        if x + width > _WIDTH:
            lines.append([])
            x = 1.0
        lines[-1].append((look, words))
        x += width + 11
    return lines


def _key_height() -> float:
    return (len(_key_lines()) + 0.3) * LINE


def _long(look: dict[str, Any]) -> int:
    """Say how long a mark is drawn beside that it has a place."""
    return 0 if look.get("linestyle") == "none" else 12


def _tell_key(sheet: Sheet, bottom: float) -> None:
    """Draw each mark with what it means."""
    y = bottom + _key_height() - LINE
    for line in _key_lines():
        x = 1.0
        for look, words in line:
            long = _long(look)
            xs = [x + 3, x + 3 + long] if long else [x + 3]
            sheet.line(xs, [y + 3] * len(xs), **look)
            x = sheet.text(x + long + 9, y, words).right + 10
        y -= LINE
