"""Reads a CSV file of readings: every row becomes a reading or is named with what is wrong."""

import csv
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import BinaryIO

from haccp.errors import Refused
from haccp.language import counted, phrase
from haccp.phrases import any_of
from haccp.rules.account.steps import TRAITS
from haccp.rules.evidence import Reading, Step
from haccp.temperature import (
    Degree,
    Temperature,
    is_of_an_oven,
    is_plausible,
    parse_temperature,
)
from haccp.time import MAX_YEAR, MIN_YEAR

REQUIRED = ("batch", "step", "taken_at", "temp", "unit")
OPTIONAL = (
    "held_s", "food", "note", "holding_unit", "by", "thermometer", "method", "chamber",
    "prepared_at",
)  # fmt: skip

# Where minutes are counted from; only differences between readings are ever judged or shown.
ZERO = datetime(2000, 1, 1, tzinfo=UTC)

_MINUTES = re.compile(r"[+-]?[0-9]{1,8}(?:\.[0-9]{1,6})?")
_SECONDS = re.compile(r"[0-9]{1,6}(?:\.[0-9]{1,3})?")
_LONGEST_CELL = 2_000
# Of a step's and a degree's letters, looked up for each row.
_STEPS = {str(step): step for step in Step}
_DEGREES = set(Degree)

# What is larger is no log of a kitchen: fifty places read every ten minutes fill so many rows in
# ten weeks. Common practice, no source.
LARGEST_FILE, MOST_ROWS = 50_000_000, 500_000


@dataclass(frozen=True, slots=True)
class LogLine:
    """One accepted row; `cells` has every column of the header, stripped of white space.

    `batch` is the holding unit where the row names no batch. `prepared` is when food made from
    ingredients at room temperature was prepared: 3-501.14(B).
    """

    line: int
    batch: str
    reading: Reading
    food: str
    cells: dict[str, str]
    prepared: datetime | None = None


@dataclass(frozen=True, slots=True)
class RejectedLine:
    """One row that cannot be judged; `batch` is None where not even that can be read."""

    line: int
    why: str
    batch: str | None


@dataclass(frozen=True, slots=True)
class LogFile:
    rows: tuple[LogLine, ...]
    rejected: tuple[RejectedLine, ...]
    in_minutes: bool


def read_file(file: BinaryIO) -> LogFile:
    """Read readings from an open file as `read_log` does; no more of it than a log can be."""
    content = file.read(LARGEST_FILE + 1)
    if len(content) > LARGEST_FILE:
        raise Refused(
            phrase(
                "The file is larger than {size} MB, so it is no log of a kitchen: split it if "
                "it is.",
                size=LARGEST_FILE // 1000000,
            )
        )
    return read_log(content)


def is_own(content: bytes) -> bool:
    """Whether a file's first line names our own columns, two of them at least."""
    first = content.removeprefix(b"\xef\xbb\xbf").partition(b"\n")[0].decode("utf-8", "replace")
    names = {cell.strip().lower() for cell in first.split(",")}
    return len(names & {"batch", "step", "taken_at", "held_s", "holding_unit"}) > 1


def read_log(content: bytes) -> LogFile:
    """Read readings from CSV: rows = accepted + rejected, nothing is dropped.

    Raises Refused where the file as a whole is not such a file: another encoding, no header, a
    column missing or unknown, more rows than are read at once.
    """
    reader = csv.reader(io.StringIO(_text(content), newline=""), strict=True)
    header = _header(reader)
    rows: list[LogLine] = []
    rejected: list[RejectedLine] = []
    in_minutes: bool | None = None
    for line, cells in _numbered(reader):
        if len(rows) + len(rejected) >= MOST_ROWS:
            raise Refused(
                phrase("The file has more than {most} rows: split it.", most=f"{MOST_ROWS:,}")
            )
        if isinstance(cells, str):
            rejected.append(RejectedLine(line, cells, None))
            continue
        if not any(cell.strip() for cell in cells):
            continue
        named = dict(zip(header, (cell.strip() for cell in cells), strict=False))
        batch = named.get("batch") or named.get("holding_unit") or None
        try:
            if len(cells) != len(header):
                batch = None  # the cells have shifted: what stands there need not be the batch
                raise Refused(
                    counted(
                        "it has {count} cell where the header has {expected}",
                        "it has {count} cells where the header has {expected}",
                        len(cells),
                        expected=len(header),
                    )
                )
            row, minutes = _row(line, named)
            if in_minutes is None:
                in_minutes = minutes
            elif minutes is not in_minutes:
                raise Refused(phrase("taken_at mixes minutes and dates in one file"))
        except Refused as error:
            rejected.append(RejectedLine(line, str(error), batch))
        else:
            rows.append(row)
    return LogFile(tuple(rows), tuple(rejected), in_minutes is True)


def parse_moment(text: str) -> tuple[datetime, bool]:
    """Read ISO 8601 with offset, or minutes from an arbitrary zero; say which it was.

    Raises Refused for anything else.
    """
    if _MINUTES.fullmatch(text):
        return ZERO + timedelta(microseconds=int(Decimal(text) * 60_000_000)), True
    try:
        moment = datetime.fromisoformat(text)
        if moment.tzinfo is None:
            raise Refused(
                phrase(
                    "{text} has no offset from UTC: write 2026-10-31T14:05-06:00", text=repr(text)
                )
            )
        if not MIN_YEAR <= moment.year <= MAX_YEAR:
            raise Refused(phrase("{text} is no moment of a kitchen's log", text=repr(text)))
    except (ValueError, OverflowError):
        raise Refused(
            phrase(
                "{text} is no moment: write minutes (90) or ISO 8601 with offset "
                "(2026-10-31T14:05-06:00)",
                text=repr(text),
            )
        ) from None
    # in the file's own offset, in which people will look for it
    return moment, False


def _text(content: bytes) -> str:
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise Refused(
            phrase(
                "The file is not UTF-8 (line {line}): save it as CSV in UTF-8 and try again.",
                line=line,
            )
        ) from None


def _header(reader: Iterator[list[str]]) -> list[str]:
    try:
        header = [cell.strip().lower() for cell in next(reader)]
    except (StopIteration, csv.Error):
        header = []
    required, optional = ",".join(REQUIRED), ",".join(OPTIONAL)
    wanted = phrase(
        "the first line names the columns: {required} and, optional, {optional}",
        required=required,
        optional=optional,
    )
    missing = [column for column in REQUIRED if column not in header]
    if missing:
        raise Refused(
            phrase("The file has no column {part}: {wanted}.", part=repr(missing[0]), wanted=wanted)
        )
    known = {*REQUIRED, *OPTIONAL}
    strange = [column for column in header if column not in known]
    if strange:
        raise Refused(
            phrase(
                "The file has a column {column} that is not known here: {wanted}.",
                column=repr(strange[0]),
                wanted=wanted,
            )
        )
    if len(set(header)) < len(header):
        raise Refused(phrase("The file has a column twice: {wanted}.", wanted=wanted))
    return header


def _numbered(reader: Iterator[list[str]]) -> Iterator[tuple[int, list[str] | str]]:
    """Give each row with the line it begins on; a row that is no CSV as what is wrong with it."""
    begins = reader.line_num + 1  # type: ignore[attr-defined]
    while True:
        try:
            yield begins, next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            yield begins, phrase("it is no CSV row: {why}", why=error)
        begins = reader.line_num + 1  # type: ignore[attr-defined]


def _row(line: int, cells: dict[str, str]) -> tuple[LogLine, bool]:
    if max(map(len, cells.values())) > _LONGEST_CELL:
        long = next(column for column, cell in cells.items() if len(cell) > _LONGEST_CELL)
        raise Refused(
            phrase("its {long} is longer than {most} characters", long=long, most=_LONGEST_CELL)
        )
    name = cells["batch"] or cells.get("holding_unit", "")
    if not name:
        raise Refused(phrase("it names no batch"))
    step = _STEPS.get(cells["step"])
    if step is None:
        raise Refused(
            phrase(
                "{step} is no step: write one of {known}",
                step=repr(cells["step"]),
                known=", ".join(Step),
            )
        )
    at, minutes = parse_moment(cells["taken_at"])
    chamber = cells.get("chamber", "")
    reading = Reading(
        at=at,
        temperature=_temperature(cells["temp"], cells["unit"]),
        step=step,
        held=_held(cells.get("held_s", "")),
        ref=f"line {line}",
        method=_method(cells.get("method", ""), step),
        chamber=_chamber(chamber, cells["unit"]) if chamber else None,
    )
    prepared = _prepared(cells.get("prepared_at", ""), at, minutes=minutes)
    return LogLine(line, name, reading, cells.get("food", ""), cells, prepared), minutes


def _prepared(text: str, taken: datetime, *, minutes: bool) -> datetime | None:
    if not text:
        return None
    moment, in_minutes = parse_moment(text)
    if in_minutes is not minutes:
        raise Refused(
            phrase("prepared_at {text} is not written as its taken_at is", text=repr(text))
        )
    if moment > taken:
        raise Refused(
            phrase(
                "prepared_at {text} is after its taken_at: food is measured once it is made",
                text=repr(text),
            )
        )
    return moment


def _temperature(number: str, unit: str) -> Temperature:
    temperature = _number(number, unit)
    if not is_plausible(temperature):
        raise Refused(phrase("no food is at {temperature}", temperature=temperature))
    return temperature


def _chamber(number: str, unit: str) -> Temperature:
    temperature = _number(number, unit)
    if not is_of_an_oven(temperature):
        raise Refused(phrase("no oven is at {temperature}", temperature=temperature))
    return temperature


def _number(number: str, unit: str) -> Temperature:
    if unit not in _DEGREES:
        raise Refused(phrase("{unit} is no unit: write F or C", unit=repr(unit)))
    try:
        return parse_temperature(number + unit)
    except Refused:
        raise Refused(
            phrase(
                "{number} is no temperature: write a number such as 70 or 69.5", number=repr(number)
            )
        ) from None


def _method(text: str, step: Step) -> str:
    known = TRAITS[step].methods
    if text and text not in known:
        if not known:
            raise Refused(
                phrase(
                    "{text} is no method for {step}: leave it empty",
                    text=repr(text),
                    step=step.words,
                )
            )
        raise Refused(
            phrase(
                "{text} is no method for {step}: write {known}, or nothing",
                text=repr(text),
                step=step.words,
                known=any_of(known),
            )
        )
    return text


def _held(seconds: str) -> timedelta:
    if not seconds:
        return timedelta(0)
    if not _SECONDS.fullmatch(seconds):
        raise Refused(
            phrase("{seconds} is no hold: write seconds such as 15", seconds=repr(seconds))
        )
    return timedelta(microseconds=int(Decimal(seconds) * 1_000_000))
