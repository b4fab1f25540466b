"""Reads what a logger wrote: any table of moments and temperatures, in columns of any name.

All values of a file decide what it says; what they leave open is `Unsettled`, a question with the
option that answers it, and nothing is guessed. Lines and readings that are left out are named.
"""

import re
from array import array
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from operator import methodcaller
from typing import NoReturn

from haccp.errors import Refused
from haccp.language import counted, phrase
from haccp.logs.apart import Apart
from haccp.logs.cells import (
    day_in,
    degree_in,
    epoch_in,
    is_nothing,
    number_parts,
    parted,
    time_in,
    unit_alone,
)
from haccp.logs.sheet import Rows, Sheet

# Two years of one probe's minutes, or ten weeks of ten probes'. Common practice, no source.
MOST_ROWS = 2_000_000

_DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
_LONGEST_CELL = 200
# A column that counts so many lines is no temperature that rises by one degree each time.
_COUNTS = 50


class Unsettled(Refused):
    """What a file leaves open: `asks` is the question, `option` answers it, one of `choices`."""

    def __init__(self, asks: str, option: str, choices: Sequence[str]) -> None:
        self.asks, self.option, self.choices = asks, option, tuple(choices)
        told = phrase(
            "{question} Type it again with --{option} and one of: {choices}.",
            question=asks,
            option=option,
            choices=", ".join(choices),
        )
        super().__init__(told)


@dataclass(frozen=True, slots=True, eq=False)
class Column:
    """One column of a table: a cell for each of its lines, and each different cell once."""

    name: str
    cells: list[str]
    known: dict[str, str]

    def add(self, cells: Sequence[str]) -> None:
        self.cells.extend(map(self.known.setdefault, cells, cells))


@dataclass(frozen=True, slots=True)
class Table:
    """A file's table by columns; the moment's column is parted into its days and its clocks.

    `before` are how many lines stand before it, `is_named` says that it has a head.
    """

    lines: Sequence[int]
    columns: Sequence[Column]
    days: Column | None
    clocks: Column | None
    epochs: Column | None
    delimiter: str
    before: int
    is_named: bool
    apart: Apart
    how: str


@dataclass(frozen=True, slots=True)
class _Layout:
    delimiter: str
    width: int
    first: int
    names: tuple[str, ...]
    is_named: bool
    kinds: tuple[str, ...]
    between: str
    odd: tuple[tuple[int, int], ...]


def table_of(sheet: Sheet, delimiter: str = "", moment: str = "") -> Table:
    """Find a sheet's table, its delimiter, its head and its moments, and read it by columns.

    Raises Unsettled where two delimiters or several columns of moments would do, Refused where
    there is no table of moments and numbers.
    """
    layout = _layout(sheet, delimiter)
    days, clocks, epochs = _moments_in(layout, moment)
    apart = Apart()
    for line, count in layout.odd:
        apart.add(_of_another_width(count, layout.width), line)
    parted = days if days == clocks else None
    lines, columns, clock = _columns(sheet, layout, parted, apart)
    if parted is None and clocks is not None:
        clock = columns[clocks]
    elif sheet.is_typed and {*clock.known} == {"00:00:00"} and layout.kinds.count("clock") == 1:
        # a workbook has its days as midnights where it has the times of day beside them
        clocks = layout.kinds.index("clock")
        clock = columns[clocks]
    used = {days, clocks, epochs}
    return Table(
        lines=lines,
        columns=[one for k, one in enumerate(columns) if k not in used],
        days=columns[days] if days is not None else None,
        clocks=clock if days is not None else None,
        epochs=columns[epochs] if epochs is not None else None,
        delimiter="" if sheet.is_typed else layout.delimiter,
        before=layout.first - 1,
        is_named=layout.is_named,
        apart=apart,
        how=sheet.how if sheet.is_typed else f"{sheet.how}, {_DELIMITERS[layout.delimiter]}",
    )


def _columns(
    sheet: Sheet, layout: _Layout, parted: int | None, apart: Apart
) -> tuple[Sequence[int], list[Column], Column]:
    """Read a table by columns, one of moments parted into its days and, beside it, its clocks."""
    lines = array("q")
    columns = [Column(name, [], {}) for name in layout.names]
    clock = Column("", [], {})
    for numbers, rows in _from(layout.first, sheet.rows(layout.delimiter)):
        if {*map(len, rows)} != {layout.width}:
            numbers, rows = _fitting(numbers, rows, layout.width, apart)  # noqa: PLW2901
        lines.extend(numbers)
        if len(lines) > MOST_ROWS:
            most = f"{MOST_ROWS:,}"
            raise Refused(phrase("The file has more than {most} rows: split it.", most=most))
        for k, cells in enumerate(zip(*rows, strict=True)):
            stripped: Sequence[str] = list(map(str.strip, cells))
            if k == parted:
                parts = map(methodcaller("partition", layout.between), stripped)
                stripped, _, clocks = zip(*parts, strict=True)
                clock.add(clocks)
            columns[k].add(stripped)
    return lines, columns, clock


def _from(first: int, rows: Iterable[Rows]) -> Iterator[Rows]:
    """Leave out the lines before the first of a table."""
    for numbers, some in rows:
        skipped = sum(1 for number in numbers[: first + 1] if number < first)
        if skipped < len(some):
            yield numbers[skipped:], some[skipped:]


def _fitting(
    numbers: Sequence[int], rows: Sequence[list[str]], width: int, apart: Apart
) -> tuple[list[int], list[list[str]]]:
    """Keep the rows of a table's width; the others go apart."""
    for line, row in zip(numbers, rows, strict=True):
        if not any(cell.strip() for cell in row):
            apart.add(phrase("blank"), line)
        elif len(row) != width:
            apart.add(_of_another_width(len(row), width), line)
    fitting = [
        (line, row)
        for line, row in zip(numbers, rows, strict=True)
        if len(row) == width and any(cell.strip() for cell in row)
    ]
    return [line for line, _ in fitting], [row for _, row in fitting]


def _of_another_width(count: int, width: int) -> str:
    return counted(
        "it has {count} cell where the table has {expected}",
        "it has {count} cells where the table has {expected}",
        count,
        expected=width,
    )


def _layout(sheet: Sheet, delimiter: str) -> _Layout:
    """Find the delimiter under which most lines have a moment and a number."""
    wanted = {code: sign for sign, code in _DELIMITERS.items()}
    signs = [wanted[delimiter]] if delimiter else list(_DELIMITERS)
    found: list[tuple[int, _Layout]] = []
    for sign in signs if not sheet.is_typed else [","]:
        rows = _sample(sheet, sign)
        kinds = [(line, row, [_kind(cell.strip()) for cell in row]) for line, row in rows]
        telling = [(line, row, these) for line, row, these in kinds if _tells(these)]
        if telling:
            found.append(_of_rows(sign, rows, telling))
    if not found:
        raise Refused(
            phrase(
                "No line of the file has a moment (a day with a time, such as 2026-10-31 14:05) "
                "and a number beside it."
            )
        )
    best = max(count for count, _ in found)
    likely = [layout for count, layout in found if count == best]
    if len(likely) > 1:
        codes = [_DELIMITERS[one.delimiter] for one in likely]
        raise Unsettled(phrase("What stands between the columns?"), "delimiter", codes)
    return likely[0]


def _sample(sheet: Sheet, sign: str) -> list[tuple[int, list[str]]]:
    """Give the first rows, with their lines."""
    some = next(sheet.rows(sign), ((), []))
    return list(zip(*some, strict=True))


def _of_rows(
    sign: str,
    rows: Sequence[tuple[int, list[str]]],
    telling: Sequence[tuple[int, list[str], list[str]]],
) -> tuple[int, _Layout]:
    width, count = Counter(len(row) for _, row, _ in telling).most_common(1)[0]
    mine = [(line, kinds) for line, row, kinds in telling if len(row) == width]
    first = mine[0][0]
    begins = min((line for line, row in rows if line == first), default=first)
    above = [[cell.strip() for cell in row] for line, row in rows if line < begins]
    names = _head(above, width)
    kinds = tuple(_most(Counter(column)) for column in zip(*(k for _, k in mine), strict=True))
    layout = _Layout(
        sign,
        width,
        begins,
        names or tuple(phrase("column {number}", number=k + 1) for k in range(width)),
        bool(names),
        kinds,
        next(("T" for _, row, _ in telling for cell in row if _has_t(cell)), " "),
        tuple((line, len(row)) for line, row, _ in telling if line < begins),
    )
    return count, layout


def _has_t(cell: str) -> bool:
    return cell.strip()[10:11] == "T" and _kind(cell.strip()) == "moment"


def _most(kinds: Counter[str]) -> str:
    del kinds["nothing"]
    return kinds.most_common(1)[0][0] if kinds else "nothing"


def _head(above: Sequence[list[str]], width: int) -> tuple[str, ...]:
    """Take the names right above a table, with a line of units between; empty where none are."""
    rows = list(above)
    units: list[str] = []
    if rows and len(rows[-1]) == width and any(unit_alone(cell) for cell in rows[-1]):
        is_units = all(_kind(cell) in ("text", "nothing") and len(cell) < 4 for cell in rows[-1])
        named = len(rows) > 1 and len(rows[-2]) == width
        if is_units and named:
            units = rows.pop()
    if not rows or len(rows[-1]) != width:
        return ()
    names = rows[-1]
    if not any(names) or any(_kind(cell) not in ("text", "nothing") for cell in names):
        return ()
    told = [
        " ".join(filter(None, (name, f"({unit})" if unit else "")))[:_LONGEST_CELL]
        for name, unit in zip(names, units or [""] * width, strict=True)
    ]
    return tuple(name or phrase("column {number}", number=k + 1) for k, name in enumerate(told))


def _kind(cell: str) -> str:
    """Say what a cell may be: a moment, a day, a clock, an epoch, a number, nothing, a text."""
    if is_nothing(cell):
        return "nothing"
    if len(cell) > _LONGEST_CELL:
        return "text"
    day, clock = parted(cell)
    has_day = bool(day) and any(day_in(day, order) for order in ("dmy", "mdy", "ymd"))
    has_clock = bool(clock) and time_in(clock) is not None
    if has_day or (has_clock and not day):
        return "moment" if has_day and has_clock else "day" if not clock else "clock"
    if epoch_in(cell):
        return "epoch"
    return "number" if number_parts(cell) else "text"


def _tells(kinds: Sequence[str]) -> bool:
    timed = "moment" in kinds or "epoch" in kinds or {"day", "clock"} <= set(kinds)
    return timed and "number" in kinds


def _moments_in(layout: _Layout, wanted: str) -> tuple[int | None, int | None, int | None]:
    """Say which columns hold the days, the clocks (one column may be both), or epochs."""
    by_kind: dict[str, list[int]] = {}
    for k, kind in enumerate(layout.kinds):
        by_kind.setdefault(kind, []).append(k)
    whole = [*by_kind.get("moment", ()), *by_kind.get("epoch", ())]
    days, clocks = by_kind.get("day", []), by_kind.get("clock", [])
    named = [k for k in whole if layout.names[k] == wanted] if wanted else whole
    if wanted and not named:
        _no_column(wanted, [layout.names[k] for k in whole])
    if len(named) > 1:
        asks = phrase("Which column says when a temperature was read?")
        raise Unsettled(asks, "time-column", [layout.names[k] for k in named])
    if named:
        (k,) = named
        return (None, None, k) if layout.kinds[k] == "epoch" else (k, k, None)
    if len(days) == len(clocks) == 1:
        return days[0], clocks[0], None
    raise Refused(
        phrase(
            "The file has several columns of days or times of day, none with both: keep one of "
            "each."
        )
    )


def _no_column(name: str, there: Sequence[str]) -> NoReturn:
    raise Refused(
        phrase(
            "The file has no column {name} of that kind: it has {names}.",
            name=repr(name),
            names=", ".join(there) or "–",
        )
    )


# What a column's name says of it: that it may be a temperature, that it is none, that it names the
# probe of its line. In English and in Spanish.
_TEMPERATURE = re.compile(
    r"temp|prob|chan|ch\.?\s*\d|sens|sond|canal|therm|term|^t\d*$", re.IGNORECASE
)
_NO_TEMPERATURE = re.compile(
    r"hum|%|\brh\b|\bhr\b|batt|bater|volt|index|^no\.?$|^n[.º°]$|^#$|seq|count|signal|rssi|"
    r"pressure|presi|hpa|\bco2\b|record|line|fila|\bid\b",
    re.IGNORECASE,
)
_PROBE = re.compile(
    r"prob|chan|sens|sond|canal|place|lugar|location|device|point|punto", re.IGNORECASE
)
_PROBE_NUMBER = re.compile(
    r"(?:probe|channel|sensor|sonda|canal|device|ch)[ _.]*(?:no|nr|id|num(?:ber)?|n[º°])?\.?",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Roles:
    """What the columns of a table are, its moments apart; `left` are those that are not read."""

    temperatures: tuple[Column, ...]
    probe: Column | None
    degree: Column | None
    left: tuple[Column, ...]


def roles_of(table: Table, temperatures: Sequence[str], probe: str) -> Roles:
    """Say what each column of a table is, by its name and all its values.

    Raises Unsettled where a column of numbers may or may not hold temperatures, or one of texts
    the names of probes.
    """
    numbers = [one for one in table.columns if _is_of_numbers(one)]
    units = [one for one in table.columns if _is_of_units(one)]
    texts = [one for one in table.columns if one not in numbers and one not in units]
    named = _probe_column(table, texts, numbers, probe)
    numbers = [one for one in numbers if one is not named and not _counts_lines(one)]
    chosen = _temperatures(table, numbers, temperatures)
    used = [*chosen, *units, *([named] if named else [])]
    left = tuple(one for one in table.columns if one not in used and any(one.known))
    return Roles(tuple(chosen), named, units[0] if units else None, left)


def _is_of_numbers(column: Column) -> bool:
    said = [cell for cell in column.known if not is_nothing(cell)]
    numbers = sum(1 for cell in said if number_parts(cell))
    return numbers > 0 and numbers * 2 >= len(said)


def _is_of_units(column: Column) -> bool:
    said = [cell for cell in column.known if cell]
    return bool(said) and all(unit_alone(cell) for cell in said)


def _counts_lines(column: Column) -> bool:
    cells = column.cells
    if len(cells) < _COUNTS or len(column.known) < len(cells) - 1 or not cells[0].isdecimal():
        return False
    first = int(cells[0])
    return all(cell == str(first + k) for k, cell in enumerate(cells) if cell)


def _probe_column(
    table: Table, texts: Sequence[Column], numbers: Sequence[Column], wanted: str
) -> Column | None:
    """Find the column that says of which probe a line is."""
    if wanted == "none":
        return None
    if wanted:
        found = [one for one in (*texts, *numbers) if one.name == wanted]
        return found[0] if found else _no_column(wanted, [one.name for one in texts])
    coded = [one for one in numbers if _is_code_of_probes(one)] if len(numbers) > 1 else []
    likely = [one for one in texts if table.is_named and _PROBE.search(one.name)] + coded
    said = [one for one in texts if len({*one.known} - {""}) > 1]
    asked = likely if len(likely) > 1 else [] if likely else said
    if asked or coded:
        asks = phrase("Which column says of which probe a line is, if any does?")
        raise Unsettled(asks, "probe-column", [*(one.name for one in asked or coded), "none"])
    return likely[0] if likely else None


def _is_code_of_probes(column: Column) -> bool:
    """Whether whole numbers under such a name may be the numbers of probes."""
    few = len(column.known) <= 16 and all(cell.isdecimal() for cell in column.known if cell)
    return few and bool(_PROBE_NUMBER.fullmatch(column.name))


def _temperatures(
    table: Table, numbers: Sequence[Column], wanted: Sequence[str]
) -> Sequence[Column]:
    by_name = {one.name: one for one in numbers}
    if wanted:
        return [
            by_name[name] if name in by_name else _no_column(name, [*by_name]) for name in wanted
        ]
    _refuse_split_numbers(table, numbers)
    sure = [one for one in numbers if said_degree(one, numbers)]
    rest = [one for one in numbers if one not in sure]
    others = [one for one in rest if table.is_named and _NO_TEMPERATURE.search(one.name)]
    rest = [one for one in rest if one not in others]
    likely = [one for one in rest if table.is_named and _TEMPERATURE.search(one.name)]
    unknown = [one for one in rest if one not in likely]
    if unknown and len(sure) + len(likely) + len(unknown) > 1:
        asks = phrase("Which columns hold temperatures? (--temperature once for each)")
        raise Unsettled(asks, "temperature", [one.name for one in (*sure, *likely, *unknown)])
    found = [one for one in numbers if one in sure or one in likely or one in unknown]
    if not found:
        raise Refused(phrase("No column of the file holds temperatures, by their names."))
    return found


def _refuse_split_numbers(table: Table, numbers: Sequence[Column]) -> None:
    """Ask where a comma between two whole numbers may be the mark of one: 38,5."""
    if table.delimiter != "," or table.is_named:
        return
    whole = [one for one in numbers if all(c.lstrip("-").isdecimal() for c in one.known if c)]
    beside = [
        one
        for before, one in zip(table.columns, table.columns[1:], strict=False)
        if before in whole and one in whole
    ]
    if beside:
        asks = phrase(
            "Commas stand between the columns and perhaps in the numbers: which columns hold "
            "temperatures? (if 38,5 is one number, save the file with semicolons)"
        )
        raise Unsettled(asks, "temperature", [one.name for one in numbers])


def said_degree(column: Column, numbers: Sequence[Column]) -> str:
    """Give the degree that a column says; empty where it says none, or both."""
    said = degrees_said(column, numbers)
    return said.pop() if len(said) == 1 else ""


def degrees_said(column: Column, numbers: Sequence[Column]) -> set[str]:
    """Give the degrees that a column's name or its cells say."""
    letters = re.compile(r"[(\[]\s*([A-Z])\s*[)\]]")
    labels = {one for each in numbers for one in letters.findall(each.name)}
    by_name = degree_in(column.name) if labels <= {"F", "C"} else ""
    parts = filter(None, map(number_parts, column.known))
    return {degree for _, _, degree in parts if degree} | ({by_name} if by_name else set())


def probe_name(column: Column) -> str:
    """Give what a column is called without the sign of its degree."""
    bare = re.sub(
        r"[(\[]?\s*(?:°|º|\bdeg(?:rees)?\.?)\s*[FC]\s*[)\]]?|[(\[]\s*[FC]\s*[)\]]"
        r"|(?<=[a-z])[_\s][FC]$",
        "",
        column.name,
    )
    return " ".join(bare.strip(" _-,;:").split()) or column.name
