"""Draws temperatures over time in characters: a cooling in a panel of its own, or readings held.

What is above a level stands at least one row above its row, what is below it at least one below:
rounding must not put what breaks a limit on its line.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import datetime
from itertools import pairwise
from zoneinfo import ZoneInfo

from haccp.cli.wrapping import wrapped
from haccp.language import phrase
from haccp.printing.curve_words import clock_labels, day, hours_since, number, title
from haccp.printing.drawn_cooling import (
    HIGHEST,
    HOUR,
    LOWEST,
    UNKNOWN,
    DrawnCurve,
    TimeAxis,
    hotter,
    in_time_and_late,
    mark,
    whole_hours,
)
from haccp.rules.evidence import Reading, Verdict, overall
from haccp.temperature import Degree, Level, Temperature
from haccp.time import clock

SIGNS = {
    Verdict.MET: "●",
    Verdict.NOT_MET: "✕",
    Verdict.NOT_SHOWN: "?",
    Verdict.OPEN: "○",
    Verdict.STOPPED: "–",
}
_MARKS = {"✕": "x", "?": "?", "": "o"}
_HEIGHT = 14
_LEFT = 6
_STEPS = (1, 2, 3, 6, 12, 24)  # between two hours that are named


class Rows:
    """On which row a temperature stands, the uppermost being 0."""

    def __init__(
        self, low: float, high: float, levels: Sequence[Level], degree: Degree, count: int
    ) -> None:
        self.low, self.high, self.degree, self.count = low, high, degree, count
        ordered = sorted(levels, key=lambda level: level.number(degree), reverse=True)
        rows: list[int] = []
        for level in ordered:
            # what lies between two levels, or beyond them all, has a row of its own
            least = rows[-1] + 2 if rows else 1
            rows.append(max(self._nearest(float(level.number(degree))), least))
        most = count - 2
        for n in reversed(range(len(rows))):
            rows[n] = min(rows[n], most)
            most = rows[n] - 2
        self.levels = dict(zip(ordered, rows, strict=True))

    def of(self, temperature: Temperature) -> int:
        """Give a reading's row, on the side of each level on which it is judged."""
        value = float(temperature.fahrenheit)
        shown = value if self.degree is Degree.F else (value - 32) * 5 / 9
        return self._row(shown, lambda level: float(temperature.over(level)))

    def near(self, value: float) -> int:
        """Give the row of a number in the plot's degree."""
        return self._row(value, lambda level: value - float(level.number(self.degree)))

    def _row(self, value: float, over: Callable[[Level], float]) -> int:
        top, bottom = 0, self.count - 1
        for level, row in self.levels.items():
            above = over(level)
            if above == 0:
                return row
            if above > 0:
                bottom = min(bottom, row - 1)
            else:
                top = max(top, row + 1)
        return min(max(self._nearest(value), top), bottom)

    def _nearest(self, value: float) -> int:
        return round((self.high - value) / (self.high - self.low) * (self.count - 1))


class _Sheet:
    """Lines of characters, with a temperature's row and a moment's column."""

    def __init__(self, rows: Rows, time: TimeAxis, width: int) -> None:
        self.rows, self.time, self.width = rows, time, width
        self.cells = [[" "] * width for _ in range(rows.count)]

    def column(self, moment: datetime) -> int:
        return self.column_at(self.time(moment))

    def column_at(self, place: float) -> int:
        wide = self.width - _LEFT - 2
        return _LEFT + 1 + min(max(round(place / self.time.width * wide), 0), wide)

    def levels(self) -> None:
        for line in self.cells:
            line[_LEFT] = "│"
            line[:_LEFT] = " " * _LEFT
        for level, row in self.rows.levels.items():
            line = self.cells[row]
            line[_LEFT] = "┤"
            words = f"{level.number(self.rows.degree)}"
            line[:_LEFT] = f"{words:>{_LEFT - 1}} "
            for x in range(_LEFT + 2, self.width, 3):
                line[x] = "-"

    def guide(
        self, readings: Sequence[Reading], is_broken: Callable[[Reading, Reading], bool]
    ) -> None:
        """Lead the eye from one reading to the next, except where nothing is known."""
        for one, other in pairwise(readings):
            if is_broken(one, other):
                continue
            begin, end = self.column(one.at), self.column(other.at)
            low, high = (self.rows.of(r.temperature) for r in (one, other))
            for x in range(begin + 1, end):
                y = round(low + (high - low) * (x - begin) / (end - begin))
                if self.cells[y][x] in " -╱─":
                    self.cells[y][x] = "."

    def cut(self) -> None:
        """Leave blank where time is cut out."""
        for x in map(self.column_at, self.time.cuts):
            for line in self.cells:
                line[x : x + 2] = "  "

    def point(self, reading: Reading, sign: str, words: str) -> None:
        x, y = self.column(reading.at), self.rows.of(reading.temperature)
        self.cells[y][x] = sign
        if words:
            spots = [(x, y - 1), (x - len(words) + 1, y + 1), (x + 2, y), (x + 1, y + 1)]
            any(self.write(at, row, words) for at, row in spots)

    def write(self, x: int, y: int, words: str) -> bool:
        """Write words where nothing but hatching or a level is; say whether there was room."""
        if not (0 <= y < len(self.cells) and x > _LEFT and x + len(words) <= self.width):
            return False
        around = self.cells[y][max(x - 1, _LEFT + 1) : x + len(words) + 1]
        cuts = map(self.column_at, self.time.cuts)
        if any(one not in " -╱" for one in around) or any(
            x < at + 2 and at < x + len(words) for at in cuts
        ):
            return False
        self.cells[y][x : x + len(words)] = words
        return True

    def axis(self, zone: ZoneInfo, zero: datetime | None, since: str) -> Iterator[list[str]]:
        """Give the lines beneath: the axis, the kitchen's clock, the hours since the start."""
        lines = [[" "] * self.width for _ in range(3)]
        lines[0][_LEFT:] = "└" + "─" * (self.width - _LEFT - 1)
        for x in map(self.column_at, self.time.cuts):
            for line in lines[:2]:
                line[x : x + 2] = "╱╱"
        an_hour = (self.width - _LEFT - 2) / self.time.width
        step = next((one for one in _STEPS if one * an_hour >= 7), _STEPS[-1])
        hours = list(whole_hours(self.time, zone, step))
        for hour, words in zip(hours, clock_labels(hours, self.time, zone), strict=True):
            lines[0][self.column(hour)] = "┬"
            _under(lines[1], self.column(hour) - 2, words)
        if zero:
            _under(lines[2], self.column(zero), since)
            for n in range(step, int((self.time.end - zero) / HOUR) + 1, step):
                if self.time.shows(zero + n * HOUR):
                    _under(lines[2], self.column(zero + n * HOUR), phrase("{hours} h", hours=n))
        yield from lines[: 3 if zero else 2]


def _under(line: list[str], x: int, words: str) -> None:
    """Write beneath an axis where there is room, with a space to either side."""
    x = max(0, min(x, len(line) - len(words)))
    if all(one == " " for one in line[max(0, x - 1) : x + len(words) + 1]):
        line[x : x + len(words)] = words


def cooling_panel(cooling: DrawnCurve, width: int) -> list[str]:
    """Draw one cooling in lines of at most `width` columns, its verdict first."""
    rows = Rows(cooling.at(LOWEST), cooling.at(HIGHEST), cooling.levels, cooling.degree, _HEIGHT)
    sheet = _Sheet(rows, cooling.axis, width)
    sheet.levels()
    _forbidden(sheet, cooling)
    _expected(sheet, cooling)
    hot = set(hotter(cooling))
    sheet.guide(cooling.readings, lambda one, other: other.at - one.at > UNKNOWN or one in hot)
    for finding in cooling.findings:
        for begin, end, is_late in in_time_and_late(finding):
            line = sheet.cells[rows.levels[finding.limit.level]]
            for x in range(sheet.column(begin), sheet.column(end) + 1):
                line[x] = "═" if is_late else "━"
    sheet.cut()
    told = cooling.told
    for reading in cooling.readings:
        words = number(reading.temperature, cooling.degree)
        if reading in hot:
            x = sheet.column(reading.at)
            sheet.cells[0][x] = "▲"
            sheet.write(x + 2, 0, f"{words} {clock(reading.at, cooling.zone)}")
            continue
        sign = _MARKS[mark(reading, cooling.findings)]
        sheet.point(
            reading, "?" if reading.doubted_since else sign, words if reading in told else ""
        )
    since = hours_since(cooling) if cooling.zero else ""
    under = list(sheet.axis(cooling.zone, cooling.zero, since))
    sign = SIGNS[overall(cooling.findings)] if cooling.findings else ""
    head = f"{sign} {title(cooling)}  {day(cooling)}, °{cooling.degree}".strip()
    drawn = ("".join(line).rstrip() for line in (*sheet.cells, *under))
    return [*wrapped(head, width), *drawn]


def _forbidden(sheet: _Sheet, cooling: DrawnCurve) -> None:
    """Hatch what is too warm for its time, with a wall at each deadline."""
    floor, right = -1, sheet.width
    walls = [
        (sheet.column(due), sheet.rows.levels[finding.limit.level])
        for due, finding in cooling.walls
        if cooling.is_near(due)
    ]
    for n, (left, row) in enumerate(walls):
        end = walls[n + 1][0] if n + 1 < len(walls) else right
        for y in range(row):
            for x in range(left, end):
                sheet.cells[y][x] = "╱" if (x + y) % 3 == 0 else " "
        sheet.cells[row][left:end] = "─" * (end - left)
        for y in range(max(floor, 0), row):
            sheet.cells[y][left] = "│"
        sheet.cells[row][left] = "└"
        if n:
            sheet.cells[floor][left] = "┐"
        floor = row


def _expected(sheet: _Sheet, cooling: DrawnCurve) -> None:
    """Draw the edges of what an estimate holds for likely."""
    for at, low, _, high in cooling.expected:
        for value in (low, high):
            y = sheet.rows.near(cooling.converted(value))
            x = sheet.column(at)
            if sheet.time.shows(at) and sheet.cells[y][x] in " -╱":
                sheet.cells[y][x] = ":"


def cooling_key(coolings: Sequence[DrawnCurve]) -> str:
    """Say what the signs mean, once for all panels."""
    told = [
        phrase("o reading, x breaks a limit, ? in doubt, ▲ hotter"),
        phrase("━ level passed in here, ═ too late or not shown"),
        phrase("╱ too warm for the time"),
    ]
    if any(one.axis.cuts for one in coolings):
        told.append(phrase("╱╱ time cut out"))
    if any(one.expected for one in coolings):
        told.append(phrase(": expected, an estimate"))
    return "; ".join(told)


def held_panel(
    readings: Sequence[Reading],
    marks: Mapping[str, str],
    levels: Sequence[Level],
    degree: Degree,
    zone: ZoneInfo,
    emptied: Sequence[datetime],
    width: int,
) -> list[str]:
    """Draw readings that are held against levels, broken where nothing was there to be read.

    `marks` says by a reading's name how it breaks a limit, `emptied` when the unit was emptied.
    """
    values = [float(r.temperature.fahrenheit) for r in readings]
    values = [value if degree is Degree.F else (value - 32) * 5 / 9 for value in values]
    values += [float(level.number(degree)) for level in levels]
    spare = max(0.1 * (max(values) - min(values)), 2)
    rows = Rows(min(values) - spare, max(values) + spare, levels, degree, _HEIGHT)

    def is_empty(one: Reading, other: Reading) -> bool:
        return any(one.at <= at < other.at for at in emptied)

    begin, end = readings[0].at - 0.25 * HOUR, readings[-1].at + 0.25 * HOUR
    gap = max((end - begin) / HOUR * 3 / width, 0.1)
    cuts = [
        (max(at for at in emptied if at < other.at), other.at)
        for one, other in pairwise(readings)
        if is_empty(one, other) and other.at - one.at > 2 * gap * HOUR
    ]
    cuts = [(since + gap / 2 * HOUR, upto - gap / 2 * HOUR) for since, upto in cuts]
    cuts = [(since, upto) for since, upto in cuts if upto - since > gap * HOUR]
    sheet = _Sheet(rows, TimeAxis.of(begin, end, cuts, gap), width)
    sheet.levels()
    sheet.guide(readings, is_empty)
    sheet.cut()
    ends = {min(readings, key=_heat), max(readings, key=_heat), readings[-1]}
    for reading in readings:
        sign = marks.get(reading.ref, "")
        words = number(reading.temperature, degree) if sign or reading in ends else ""
        sheet.point(reading, "?" if reading.doubted_since else _MARKS[sign], words)
    under = list(sheet.axis(zone, None, ""))
    key = phrase("°{degree}; o reading, x breaks a limit, ? in doubt", degree=degree)
    if cuts:
        key = phrase(
            "°{degree}; o reading, x breaks a limit, ? in doubt; ╱╱ empty, cut out", degree=degree
        )
    return [*("".join(line).rstrip() for line in (*sheet.cells, *under)), key]


def _heat(reading: Reading) -> float:
    return float(reading.temperature.fahrenheit)
