"""The record out of the database and back: CSV and JSON that hold everything, chained as stored."""

import csv
import io
import json
from collections.abc import Iterable, Mapping
from typing import Any

from haccp.errors import Refused
from haccp.record.entries import FIRST, body_from, digest_of

COLUMNS = (
    "seq", "kind", "entered_at", "at", "person", "batch", "unit", "corrects", "body",
    "previous", "digest",
)  # fmt: skip
_NUMBERS = ("seq", "corrects")
_MAY_BE_EMPTY = ("batch", "unit", "corrects")
_FORMAT = "haccp record"
_VERSION = 1


def to_json(rows: Iterable[Mapping[str, Any]]) -> str:
    document = {"format": _FORMAT, "version": _VERSION, "entries": [dict(row) for row in rows]}
    return json.dumps(document, ensure_ascii=False, indent=1) + "\n"


def to_csv(rows: Iterable[Mapping[str, Any]]) -> str:
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, COLUMNS, lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def from_export(content: bytes) -> list[dict[str, Any]]:
    """Read an export back, either form; raises Refused where it is not whole and unaltered."""
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise Refused("The file is not UTF-8, so it is no export of haccp.") from None
    rows = _json_rows(text) if text.lstrip().startswith("{") else _csv_rows(text)
    for row in rows:
        _check_types(row)
    problem = first_misfit(rows)
    if problem:
        raise Refused(f"The export does not hold together: {problem}")
    return rows


def first_misfit(rows: Iterable[Mapping[str, Any]]) -> str | None:
    """Walk the chain of digests; name the first entry that does not fit, or None if all do."""
    previous, expected = FIRST, 1
    for row in rows:
        if row["seq"] != expected:
            return f"entry no. {expected} is missing, no. {row['seq']} comes in its place."
        if row["previous"] != previous:
            return f"entry no. {expected} does not follow the one before it."
        content = {column: row[column] for column in COLUMNS if column != "digest"}
        if digest_of(**content) != row["digest"]:
            return f"entry no. {expected} is not what was recorded: its digest differs."
        previous, expected = row["digest"], expected + 1
    return None


def _json_rows(text: str) -> list[dict[str, Any]]:
    try:
        document = json.loads(text)
        if document["format"] != _FORMAT or document["version"] != _VERSION:
            raise Refused("The file is an export of another version of haccp.")
        return [{column: row[column] for column in COLUMNS} for row in document["entries"]]
    except (ValueError, KeyError, TypeError, RecursionError):
        raise Refused("The file is no export of haccp: use one made by haccp export.") from None


def _csv_rows(text: str) -> list[dict[str, Any]]:
    # a body is one cell and may be long
    csv.field_size_limit(10_000_000)
    try:
        reader = csv.DictReader(io.StringIO(text, newline=""), strict=True)
        rows = list(reader)
        if tuple(reader.fieldnames or ()) != COLUMNS:
            raise KeyError
        return [{column: _cell(column, row[column]) for column in COLUMNS} for row in rows]
    except (csv.Error, KeyError, ValueError, TypeError):
        raise Refused("The file is no export of haccp: use one made by haccp export.") from None


def _cell(column: str, cell: str) -> str | int | None:
    if not cell and column in _MAY_BE_EMPTY:
        return None
    return int(cell) if column in _NUMBERS else cell


def _check_types(row: Mapping[str, Any]) -> None:
    for column in COLUMNS:
        wanted = int if column in _NUMBERS else str
        empty = row[column] is None and column in _MAY_BE_EMPTY
        if not empty and type(row[column]) is not wanted:
            raise Refused(
                f"The export does not hold together: {column} of no. {row['seq']} is odd."
            )
    body_from(row["kind"], row["body"])
