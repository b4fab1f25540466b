"""From a logger's table to the readings of each probe: moments in UTC, temperatures as written."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from decimal import Decimal
from itertools import groupby, islice, pairwise
from operator import lt, sub
from typing import NamedTuple

from haccp.errors import Refused
from haccp.language import message, phrase
from haccp.logs.apart import Apart
from haccp.logs.cells import (
    ORDERS,
    day_in,
    epoch_in,
    has_half_of_a_day,
    is_nothing,
    number_parts,
    plain_number,
    time_in,
    unit_alone,
)
from haccp.logs.logger_file import (
    Column,
    Roles,
    Table,
    Unsettled,
    degrees_said,
    probe_name,
    said_degree,
)
from haccp.temperature import Degree, Temperature, is_plausible

_DAY = 86_400


class Said(NamedTuple):
    """What whoever loads a file says of it where its values leave that open; empty for nothing."""

    date_order: str = ""
    degree: str = ""
    zone: tzinfo | None = None
    repeated_hour: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Series:
    """One probe's readings by time: seconds since 1970 in UTC, temperatures, lines of the file."""

    probe: str
    degree: Degree
    moments: Sequence[int]
    temperatures: Sequence[str]
    lines: Sequence[int]

    @property
    def interval(self) -> int:
        """The most usual time between two readings [s]; 0 of one reading."""
        steps = Counter(map(sub, islice(self.moments, 1, None), self.moments))
        return steps.most_common(1)[0][0] if steps else 0


def series_of(
    table: Table, roles: Roles, said: Said, kitchen: tzinfo, now: datetime, apart: Apart
) -> list[Series]:
    """Give each probe's readings; what is no reading goes `apart`, with its line and why.

    A clock without an offset is the kitchen's, unless another zone is said. Raises Unsettled for
    an order of days, a degree, a zone or a repeated hour that the values leave open, Refused for
    what lies in the future or has two decimal marks.
    """
    groups = [*_groups(table, roles)]
    moments = _moments(table, [rows for _, _, rows in groups], said, kitchen, now, apart)
    numbers = _numbers(roles.temperatures)
    by_unit = _said_by_unit(roles.degree)
    names = _names(roles.temperatures)
    found = []
    for column in roles.temperatures:
        _refuse_two_degrees(degrees_said(column, roles.temperatures) | {by_unit})
        degree = by_unit or said_degree(column, roles.temperatures) or said.degree
        if not degree:
            values = sorted(Decimal(one) for one in map(numbers.get, column.known) if one)
            words = message("{column}: °F or °C? It runs from {low} to {high}.")
            if values[0] == values[-1]:
                words = message("{column}: °F or °C? Every value is {low}.")
            asks = phrase(words, column=column.name, low=values[0], high=values[-1])
            raise Unsettled(asks, "degree", list(Degree))
        for probe, mine, rows in groups:
            if mine is None or mine is column:
                whole = len(roles.temperatures) > 1 and roles.probe is not None
                name = f"{probe} {names[column]}" if whole else probe or names[column]
                one = _one_series(name, Degree(degree), column, rows, moments, numbers, table.lines)
                _tell_apart(one, column, rows, moments, table.lines, apart)
                found.append(one.series)
    _refuse_future(found, now)
    return [one for one in found if one.moments]


def _groups(table: Table, roles: Roles) -> Iterator[tuple[str, Column | None, Sequence[int]]]:
    """Give the rows of each probe, in the order of the file: all, or those that name it."""
    if roles.probe is None:
        yield "", None, range(len(table.lines))
        return
    rows: dict[str, list[int]] = {name: [] for name in roles.probe.known}
    for row, name in enumerate(roles.probe.cells):
        rows[name].append(row)
    for row in rows.pop("", []):
        table.apart.add(phrase("it names no probe"), table.lines[row])
    yield from ((name, None, mine) for name, mine in rows.items())


def _names(columns: Sequence[Column]) -> dict[Column, str]:
    """Name each column of temperatures; with its degree where another is called so without."""
    bare = Counter(map(probe_name, columns))
    names = {one: probe_name(one) if bare[probe_name(one)] == 1 else one.name for one in columns}
    twice = [name for name, count in Counter(names.values()).items() if count > 1]
    if twice:
        raise Refused(
            phrase("Several columns are called {name}: name them apart.", name=repr(twice[0]))
        )
    return names


def _said_by_unit(column: Column | None) -> str:
    if column is None:
        return ""
    said = {unit_alone(cell) for cell in column.known if cell}
    _refuse_two_degrees(said)
    return said.pop()


def _refuse_two_degrees(said: set[str]) -> None:
    """Refuse where lines say both degrees: no one answer would be right of all of them."""
    if {*Degree} <= said:
        raise Refused(phrase("The file has °F in some lines and °C in others: split it."))


# --- Moments


def _moments(
    table: Table,
    groups: Sequence[Sequence[int]],
    said: Said,
    kitchen: tzinfo,
    now: datetime,
    apart: Apart,
) -> list[int | None]:
    """Give the moment of each row, None where it has none."""
    if table.epochs:
        known = {cell: epoch_in(cell) for cell in table.epochs.known}
        seconds = {cell: int(at.timestamp()) if at else None for cell, at in known.items()}
        found = [seconds[cell] for cell in table.epochs.cells]
        _name_what_is_no_moment(found, table.epochs.cells, table.lines, apart)
        return found
    assert table.days
    assert table.clocks
    order = _order(table.days, said.date_order, now)
    days = {cell: day_in(cell.rstrip(","), order) for cell in table.days.known}
    clocks = {cell: time_in(cell.strip()) for cell in table.clocks.known}
    offsets = {clock[1] for clock in clocks.values() if clock}
    if len(offsets) > 1 and None in offsets:
        raise Refused(
            phrase("Some moments of the file have an offset from UTC and some have none: split it.")
        )
    zone = UTC if None not in offsets else said.zone or kitchen
    starts = {cell: _midnight(day, zone) if day else None for cell, day in days.items()}
    seconds_of = {
        cell: clock[0] - int((clock[1] or timedelta(0)).total_seconds()) if clock else None
        for cell, clock in clocks.items()
    }
    found = [
        None if start is None or clock is None else start + clock
        for start, clock in zip(
            map(starts.__getitem__, table.days.cells),
            map(seconds_of.__getitem__, table.clocks.cells),
            strict=True,
        )
    ]
    changing = {cell for cell, day in days.items() if day and starts[cell] is None}
    if changing:
        _resolve_changes(table, groups, days, seconds_of, changing, zone, said, found)
    _refuse_half_days(table.clocks, groups, found)
    texts = map(" ".join, zip(table.days.cells, table.clocks.cells, strict=True))
    _name_what_is_no_moment(found, texts, table.lines, apart)
    return found


def _refuse_half_days(
    clocks: Column, groups: Sequence[Sequence[int]], found: Sequence[int | None]
) -> None:
    """Refuse clocks that seem to begin anew at noon, and do not say which half of a day it is."""
    times = [one for one in map(time_in, map(str.strip, clocks.known)) if one]
    read = [seconds // 3600 for seconds, _ in times]
    marked = any(has_half_of_a_day(cell.strip()) for cell in clocks.known)
    # nobody writes half a day with an offset from UTC
    marked |= any(offset is not None for _, offset in times)
    if marked or not read or max(read) > 12 or min(read) < 1:
        return
    for rows in groups:
        moments = [moment for row in rows if (moment := found[row]) is not None]
        if moments not in (sorted(moments), sorted(moments, reverse=True)):
            raise Refused(
                phrase(
                    "The file's hours run from 1 to 12, go back, and do not say AM or PM: export "
                    "it with 24 hours."
                )
            )


def _name_what_is_no_moment(
    found: Sequence[int | None], texts: Iterable[str], lines: Sequence[int], apart: Apart
) -> None:
    if None not in found:
        return
    for moment, text, line in zip(found, texts, lines, strict=True):
        if moment is None:
            shown = text.strip()[:40]
            why = (
                phrase("{text} is no moment", text=repr(shown))
                if shown
                else phrase("it has no moment")
            )
            apart.add(why, line)


def _order(column: Column, said: str, now: datetime) -> str:
    """Say in which order days are written, by all of them: one that has a day that there is not,
    or one that is still to come, is not it.
    """
    texts = [cell.rstrip(",") for cell in column.known if cell]
    texts = [text for text in texts if any(day_in(text, order) for order in ORDERS)]
    tomorrow = now.date() + timedelta(days=1)
    read = {order: tuple(day_in(text, order) for text in texts) for order in ORDERS}
    wrong = {
        order: [
            text for text, day in zip(texts, days, strict=True) if not (day and day <= tomorrow)
        ]
        for order, days in read.items()
    }
    may_be = [order for order in ORDERS if not wrong[order]]
    if said:
        if wrong[said]:
            raise Refused(
                phrase(
                    "{day} is no day up to now when written as {order}.",
                    day=repr(wrong[said][0]),
                    order=said,
                )
            )
        return said
    if not may_be:
        raise Refused(
            phrase(
                "In no order of day, month and year are all days of the file days up to now: "
                "{day}, for one.",
                day=repr(min(wrong.values(), key=len)[0]),
            )
        )
    if len({read[order] for order in may_be}) > 1:
        asks = phrase("In which order are its days written, such as {day}?", day=texts[0])
        raise Unsettled(asks, "date-order", may_be)
    return may_be[0]


def _midnight(day: date, zone: tzinfo) -> int | None:
    """Give when a day begins [s]; None where its clock changes."""
    first, last = (
        datetime.combine(day, at, tzinfo=zone) for at in (time(0), time(23, 59, 59, 999_999))
    )
    if first.utcoffset() != last.utcoffset():
        return None
    return int(first.timestamp())


def _resolve_changes(
    table: Table,
    groups: Sequence[Sequence[int]],
    days: Mapping[str, date | None],
    seconds: Mapping[str, int | None],
    changing: set[str],
    zone: tzinfo,
    said: Said,
    found: list[int | None],
) -> None:
    """Find the moments on days on which the clock changes, each probe's by its own order."""
    assert table.days
    assert table.clocks
    for rows in groups:
        of_day: dict[str, list[tuple[int, int]]] = {}
        for row in rows:
            cell, clock = table.days.cells[row], seconds[table.clocks.cells[row]]
            if cell in changing and clock is not None:
                of_day.setdefault(cell, []).append((row, clock))
        for cell, mine in of_day.items():
            day = days[cell]
            assert day
            clocks = [clock for _, clock in mine]
            turned = sum(b < a for a, b in pairwise(clocks)) * 2 > len(clocks)  # newest first
            ordered = mine[::-1] if turned else mine
            moments = _of_a_changing_day(day, [clock for _, clock in ordered], zone, said)
            for (row, _), moment in zip(ordered, moments, strict=True):
                found[row] = moment


def _of_a_changing_day(day: date, clocks: Sequence[int], zone: tzinfo, said: Said) -> list[int]:
    """Give the moments of clocks in their order on a day whose clock changes.

    Where it is put back, an hour comes twice: its first pass ends where the clocks go back in it.
    """
    midnight = datetime.combine(day, time(0))
    local = [midnight + timedelta(seconds=clock) for clock in clocks]
    both = [
        [int(at.replace(tzinfo=zone, fold=fold).timestamp()) for fold in (0, 1)] for at in local
    ]
    for at, (first, _) in zip(local, both, strict=True):
        if datetime.fromtimestamp(first, zone).replace(tzinfo=None) != at:
            asks = phrase(
                "At {time} the kitchen's clock had been put forward: which clock does the logger "
                "keep?",
                time=f"{at:%Y-%m-%d %H:%M}",
            )
            raise Unsettled(asks, "zone", ["UTC", "-07:00", "America/Denver"])
    twice = [first != second for first, second in both]
    if not any(twice):
        return [first for first, _ in both]
    back = [k for k in range(1, len(clocks)) if clocks[k] < clocks[k - 1]]
    if len(back) == 1 and twice[back[0]] and twice[back[0] - 1] and not said.repeated_hour:
        return [pair[1] if twice[k] and k >= back[0] else pair[0] for k, pair in enumerate(both)]
    if back or not said.repeated_hour:
        shown = f"{local[twice.index(True)]:%Y-%m-%d %H:%M}"
        asks = phrase("{time} came twice as the clock was put back: which one is it?", time=shown)
        if back:
            raise Refused(
                phrase(
                    "{time} came twice as the clock was put back, and the lines do not stand by "
                    "time: sort the file, or say with --zone which clock the logger keeps.",
                    time=shown,
                )
            )
        raise Unsettled(asks, "repeated-hour", ["first", "second"])
    which = 0 if said.repeated_hour == "first" else 1
    return [pair[which] if twice[k] else pair[0] for k, pair in enumerate(both)]


def _refuse_future(found: Sequence[Series], now: datetime) -> None:
    from haccp.time import CLOCK_TOLERANCE

    last = int((now + CLOCK_TOLERANCE).timestamp())
    for one in found:
        if one.moments and one.moments[-1] > last:
            raise Refused(
                phrase(
                    "Line {line} is still to come: the logger's clock is wrong, or keeps another "
                    "zone (--zone).",
                    line=one.lines[-1],
                )
            )


# --- Temperatures


def _numbers(columns: Sequence[Column]) -> dict[str, str | None]:
    """Read each cell of temperatures as a plain number, by the decimal mark that all allow."""
    cells = {cell: number_parts(cell) for column in columns for cell in column.known}
    parts = {cell: found for cell, found in cells.items() if found}
    digits = {found[1] for found in parts.values()}
    marks = [
        mark
        for mark in ".,"
        if any(mark in one for one in digits)
        and all(plain_number(one, mark) is not None for one in digits)
    ]
    if any("." in one or "," in one for one in digits) and len(marks) != 1:
        marks = _of_one_mark(digits)
    decimal = marks[0] if marks else "."
    numbers: dict[str, str | None] = dict.fromkeys(cells)
    for cell, (sign, number, _) in parts.items():
        plain = plain_number(number, decimal)
        numbers[cell] = f"{sign}{plain}" if plain is not None else None
    return numbers


def _of_one_mark(digits: set[str]) -> list[str]:
    """Where both readings of a mark would do, it is the decimal one: no food is at 38,125."""
    there = [mark for mark in ".," if any(mark in one for one in digits)]
    if len(there) == 1:
        return there
    point = next(one for one in digits if "." in one)
    comma = next(one for one in digits if "," in one)
    raise Refused(
        phrase(
            "The file's numbers do not tell whether a point or a comma is the decimal mark: "
            "{one} and {other}. Save it with one of the two.",
            one=point,
            other=comma,
        )
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Read:
    series: Series
    why: Mapping[str, str | None]
    at_once: Sequence[tuple[str, int]]


def _one_series(
    name: str,
    degree: Degree,
    column: Column,
    rows: Sequence[int],
    moments: Sequence[int | None],
    numbers: Mapping[str, str | None],
    lines: Sequence[int],
) -> _Read:
    """Pick a probe's readings, put them in their order, each moment once."""
    why = {cell: _why_not(cell, numbers[cell], degree) for cell in column.known}
    read = {cell: numbers[cell] if why[cell] is None else None for cell in column.known}
    whole = isinstance(rows, range)
    cells = column.cells if whole else [column.cells[row] for row in rows]
    mine = moments if whole else [moments[row] for row in rows]
    numbered = lines if whole else [lines[row] for row in rows]
    temperatures = list(map(read.__getitem__, cells))
    if None not in temperatures and None not in mine and _rises(mine):
        return _Read(Series(name, degree, mine, temperatures, numbered), why, ())  # type: ignore[arg-type]
    taken = [
        (moment, temp, line)
        for moment, temp, line in zip(mine, temperatures, numbered, strict=True)
        if moment is not None and temp is not None
    ]
    taken.sort(key=lambda one: one[0])
    kept: list[tuple[int, str, int]] = []
    at_once: list[tuple[str, int]] = []
    for _, those in groupby(taken, key=lambda one: one[0]):
        first, *others = those
        if all(Decimal(one[1]) == Decimal(first[1]) for one in others):
            kept.append(first)
            at_once += [(phrase("line {line} says the same", line=first[2]), n) for *_, n in others]
            continue
        # which of them is true nobody can say: the first would hide the others
        for _, _, line in (first, *others):
            other = others[0][2] if line == first[2] else first[2]
            told = phrase("line {line} has another value at that moment", line=other)
            at_once.append((told, line))
    columns = [list(each) for each in zip(*kept, strict=True)] or [[], [], []]
    return _Read(Series(name, degree, *columns), why, at_once)


def _rises(moments: Sequence[int | None]) -> bool:
    return all(map(lt, moments, islice(moments, 1, None)))  # type: ignore[arg-type]


def _why_not(cell: str, number: str | None, degree: Degree) -> str | None:
    """Say why a cell is no reading; None where it is one."""
    if is_nothing(cell) or number is None:
        return (
            phrase("{cell} is no temperature", cell=repr(cell[:40]))
            if cell
            else phrase("no temperature")
        )
    whole, _, part = number.lstrip("-").partition(".")
    if len(whole) > 4 or len(part) > 6:
        return phrase("{cell} is no temperature", cell=repr(cell[:40]))
    temperature = Temperature(Decimal(number), degree)
    if not is_plausible(temperature):
        return phrase("no food is at {temperature}", temperature=temperature)
    return None


def _tell_apart(
    one: _Read,
    column: Column,
    rows: Sequence[int],
    moments: Sequence[int | None],
    lines: Sequence[int],
    apart: Apart,
) -> None:
    """Name each line of which a probe has no reading."""
    if any(one.why.values()):
        for row in rows:
            why = one.why[column.cells[row]]
            if why and moments[row] is not None:
                apart.add(f"{one.series.probe}: {why}", lines[row])
    for told, line in one.at_once:
        apart.add(f"{one.series.probe}: {told}", line)
