"""The record out of the database and back: CSV and JSON that hold everything, chained as stored."""

import csv
import io
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from haccp.errors import Refused
from haccp.language import message, phrase
from haccp.record.bodies import Unreadable
from haccp.record.chain import first_misfit
from haccp.record.entries import CHAINED, FIRST, entry_from, line_of

COLUMNS = (*CHAINED, "digest")
_NUMBERS = ("seq", "corrects")
_MAY_BE_EMPTY = ("batch", "unit", "corrects")
_LARGEST = 2**63
_FORMAT = "haccp record"
_VERSION = 1
_NO_EXPORT = message("The file is no export of haccp: use one made by haccp export.")


def to_json(rows: Sequence[Mapping[str, Any]]) -> str:
    """Write rows that are at hand as `json_pieces` does."""
    return "".join(json_pieces(rows, rows[-1]["digest"] if rows else FIRST))


def json_pieces(rows: Iterable[Mapping[str, Any]], head: str) -> Iterator[str]:
    """Write the record with each entry's line as it was digested, one a line, piece by piece.

    The SHA-256 of a line, without the comma that ends it, stands first in the next; that of the
    last is the head.
    """
    yield f'{{"format": "{_FORMAT}", "version": {_VERSION}, "head": "{head}", "entries": ['
    before = "\n"
    for row in rows:
        yield f"{before}{_line(row)}"
        before = ",\n"
    yield f"{'' if before.startswith(',') else before}\n]}}\n"


def _line(row: Mapping[str, Any]) -> str:
    try:
        return _whole(line_of(row), row)
    except TypeError:
        raise _altered(row) from None


def _whole(text: str, row: Mapping[str, Any]) -> str:
    """Refuse what holds bytes that are no letters: no file in UTF-8 can hold them either."""
    try:
        text.encode()
    except UnicodeEncodeError:
        raise _altered(row) from None
    return text


def _altered(row: Mapping[str, Any]) -> Refused:
    return Refused(phrase("Entry no. {seq} was altered: ask haccp record verify.", seq=row["seq"]))


def to_csv(rows: Iterable[Mapping[str, Any]]) -> str:
    """Write rows that are at hand as `csv_pieces` does."""
    return "".join(csv_pieces(rows))


def csv_pieces(rows: Iterable[Mapping[str, Any]]) -> Iterator[str]:
    """Write the record as CSV, every column as it is stored, piece by piece."""
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, COLUMNS, lineterminator="\r\n")
    writer.writeheader()
    for row in rows:
        writer.writerow(row)
        yield _whole(out.getvalue(), row)
        out.seek(out.truncate(0))
    yield out.getvalue()


def from_export(content: bytes) -> list[dict[str, Any]]:
    """Read an export back, either form; raises Refused where it is not whole and unaltered."""
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise Refused(phrase("The file is not UTF-8, so it is no export of haccp.")) from None
    rows = _json_rows(text) if text.lstrip().startswith("{") else _csv_rows(text)
    for row in rows:
        _check_types(row)
    problem = first_misfit(rows)
    if problem:
        raise Refused(phrase("The export does not hold together: {problem}", problem=problem))
    return rows


def _json_rows(text: str) -> list[dict[str, Any]]:
    try:
        document = json.loads(text)
        if document["format"] != _FORMAT or document["version"] != _VERSION:
            raise Refused(phrase("The file is an export of another version of haccp."))
        lines = [dict(zip(CHAINED, line, strict=True)) for line in document["entries"]]
        following = [line["previous"] for line in lines[1:]]
        digests = [*following, document["head"]] if lines else []
        return [{**line, "digest": digest} for line, digest in zip(lines, digests, strict=True)]
    except (ValueError, KeyError, TypeError, RecursionError):
        raise Refused(phrase(_NO_EXPORT)) from None


def _csv_rows(text: str) -> list[dict[str, Any]]:
    # a body is one cell and may be long
    csv.field_size_limit(10_000_000)
    try:
        reader = csv.DictReader(io.StringIO(text, newline=""), strict=True)
        rows = list(reader)
        if tuple(reader.fieldnames or ()) != COLUMNS:
            raise KeyError
        return [{column: _cell(column, row[column]) for column in COLUMNS} for row in rows]
    except (csv.Error, KeyError, ValueError, TypeError, AttributeError):
        raise Refused(phrase(_NO_EXPORT)) from None


def _cell(column: str, cell: str) -> str | int | None:
    if not cell and column in _MAY_BE_EMPTY:
        return None
    return int(cell) if column in _NUMBERS else cell


def _check_types(row: Mapping[str, Any]) -> None:
    for column in COLUMNS:
        wanted = int if column in _NUMBERS else str
        value = row[column]
        if value is None and column in _MAY_BE_EMPTY:
            continue
        named = value != "" or column not in _MAY_BE_EMPTY  # CSV cannot tell "" from none
        held = type(value) is str or (type(value) is int and abs(value) < _LARGEST)
        if type(value) is not wanted or not held or not named:
            raise Refused(
                phrase(
                    "The export does not hold together: {column} of no. {seq} is odd.",
                    column=column,
                    seq=row["seq"],
                )
            )
    body = entry_from(row).body
    if isinstance(body, Unreadable):
        raise Refused(
            phrase(
                "Entry no. {seq} cannot be read, so nothing was imported: {why}.",
                seq=row["seq"],
                why=body.why,
            )
        )
