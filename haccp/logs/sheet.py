"""A file of any program as rows of texts: CSV in any encoding and by any delimiter, or XLSX.

Rows come some at a time, with the number of each one's line, and are read as often as they are
asked for: a file of text is never held as rows.
"""

import csv
import io
import zipfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from itertools import islice
from typing import NoReturn

from haccp.errors import Refused
from haccp.language import phrase

# Rows, and the line on which each begins (in a workbook its number).
Rows = tuple[Sequence[int], list[list[str]]]

# What is larger is no log of a kitchen: ten probes read each minute fill 50 MB in four months.
# Common practice, no source.
LARGEST_FILE = 200_000_000
# What a sheet may unpack to: a million rows of three columns are some 80 MB.
_LARGEST_SHEET = 500_000_000
# More rows at once are slower: they fall out of the processor's own memory.
_AT_A_TIME = 1_000
_A_MIDNIGHT = datetime(2000, 1, 1, tzinfo=UTC)
_ZIP, _MARKS = b"PK\x03\x04", {b"\xff\xfe": "utf-16", b"\xfe\xff": "utf-16"}


@dataclass(frozen=True, slots=True)
class Sheet:
    """A file's rows; `how` is its encoding or the sheet's name, `is_typed` where it is a workbook.

    `rows` reads them by a delimiter, which a workbook has none of.
    """

    how: str
    is_typed: bool
    rows: Callable[[str], Iterator[Rows]]


def sheet_of(content: bytes, name: str = "") -> Sheet:
    """Take a file's bytes for a sheet, of a workbook the one of this name.

    Raises Refused for what is neither text nor a workbook, and for several sheets with no name.
    """
    if not content.strip():
        raise Refused(phrase("The file is empty."))
    if content.startswith(_ZIP):
        return _workbook(content, name)
    encoding = _encoding(content)
    how = encoding.removesuffix("-sig").upper()
    return Sheet(how, False, lambda delimiter: _lines(content, encoding, delimiter))


def _encoding(content: bytes) -> str:
    """Say how text is written; whatever is read of it stands in ASCII, names apart."""
    encoding = _MARKS.get(content[:2], "")
    if not encoding and content[:400].count(0) > len(content[:400]) // 4:
        encoding = "utf-16-le" if content[1] == 0 else "utf-16-be"
    for one in [encoding] if encoding else ["utf-8-sig", "cp1252", "latin-1"]:
        try:
            text = content.decode(one)
        except UnicodeDecodeError:
            continue
        if "\0" in text or sum(c < " " and c not in "\t\r\n\f" for c in text[:4000]) > 4:
            break
        return one
    raise Refused(
        phrase(
            "The file is no text and no .xlsx: export the readings from the logger's own program "
            "as CSV or XLSX."
        )
    )


def _lines(content: bytes, encoding: str, delimiter: str) -> Iterator[Rows]:
    text = io.TextIOWrapper(io.BytesIO(content), encoding, newline="")
    reader = csv.reader(text, delimiter=delimiter)
    try:
        first = 1
        while rows := list(islice(reader, _AT_A_TIME)):
            last = reader.line_num
            if last - first + 1 != len(rows):
                _refuse_broken(rows, first)
            yield range(first, last + 1), rows
            first = last + 1
    except csv.Error as error:
        raise Refused(
            phrase("Line {line} is no line of a table: {why}.", line=reader.line_num + 1, why=error)
        ) from None


def _refuse_broken(rows: Sequence[list[str]], first: int) -> NoReturn:
    """Refuse a quotation mark that swallows the lines after its own."""
    broken = (k for k, row in enumerate(rows) if any("\n" in cell or "\r" in cell for cell in row))
    raise Refused(
        phrase(
            "A quotation mark in line {line} does not end there: mend it, and load the file again.",
            line=first + next(broken, len(rows) - 1),
        )
    )


def _workbook(content: bytes, name: str) -> Sheet:
    import python_calamine

    try:
        with zipfile.ZipFile(io.BytesIO(content)) as parts:
            unpacked = sum(part.file_size for part in parts.infolist())
        if unpacked > _LARGEST_SHEET:
            raise Refused(
                phrase(
                    "The workbook unpacks to more than {size} MB, so it is no log of a kitchen.",
                    size=_LARGEST_SHEET // 1_000_000,
                )
            )
        book = python_calamine.load_workbook(io.BytesIO(content))
        names = book.sheet_names
        if name and name not in names:
            raise Refused(
                phrase(
                    "The workbook has no sheet {name}: it has {names}.",
                    name=repr(name),
                    names=", ".join(names),
                )
            )
        filled = [one for one in names if book.get_sheet_by_name(one).to_python(nrows=1)]
        sheet = book.get_sheet_by_name(name or _only(filled))
        cells = sheet.to_python(skip_empty_area=False)
    except (zipfile.BadZipFile, python_calamine.CalamineError, OSError, ValueError) as error:
        raise Refused(
            phrase("The workbook cannot be read ({why}): save it as CSV and try again.", why=error)
        ) from None

    def rows(_: str) -> Iterator[Rows]:
        for first in range(0, len(cells), _AT_A_TIME):
            some = [list(map(_text, row)) for row in cells[first : first + _AT_A_TIME]]
            yield range(first + 1, first + len(some) + 1), some

    return Sheet(sheet.name, True, rows)


def _only(names: Sequence[str]) -> str:
    if not names:
        raise Refused(phrase("The file is empty."))
    if len(names) > 1:
        raise Refused(
            phrase(
                "The workbook has the sheets {names}: say which one, with --sheet NAME.",
                names=", ".join(names),
            )
        )
    return names[0]


def _text(cell: object) -> str:
    """Write a workbook's cell as a logger's file would; a day alone may be its midnight."""
    match cell:
        case datetime():
            return f"{cell + timedelta(milliseconds=1):%Y-%m-%d %H:%M:%S}"
        case date():
            return f"{cell:%Y-%m-%d} 00:00:00"
        case time():
            return f"{cell:%H:%M:%S}"
        case timedelta() if timedelta(0) <= cell < timedelta(days=1):
            return _text((_A_MIDNIGHT + cell).time())
        case float():
            return format(cell, ".15g")
        case _:
            return str(cell)
