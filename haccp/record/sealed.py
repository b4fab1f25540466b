"""A month of the record as a Parquet file: every entry with its digest, for analysis and to keep.

The chain can be walked from the file alone. An entry's `previous` is the digest in the row before
it; of the first row, and of the whole, the file's metadata says it. Each month's file follows the
one of the month before, and all of them together are the record.
"""

import json
import re
from collections.abc import Iterable, Iterator, Mapping
from datetime import date, datetime, timedelta
from io import BytesIO
from itertools import islice
from pathlib import Path
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from haccp.errors import Refused
from haccp.language import phrase
from haccp.record.chain import first_misfit
from haccp.record.entries import CHAINED
from haccp.record.store import Record
from haccp.time import day_starts

try:
    import pyarrow as pa
    from pyarrow import parquet
except ImportError:
    raise Refused(phrase("Parquet needs one library more: pip install 'haccp[parquet]'.")) from None

_MONTH = re.compile(r"(\d{4})-(0[1-9]|1[0-2])")
_FORMAT, _VERSION = "haccp month", 1
_AT_ONCE = 20_000
_COLUMNS = pa.schema(
    [
        *((name, pa.string()) for name in CHAINED if name not in ("seq", "corrects", "previous")),
        ("seq", pa.int64()),
        ("corrects", pa.int64()),
        ("digest", pa.binary(32)),
    ]
)


class Month(NamedTuple):
    """What a file says of itself; `record` is the digest of the record's first entry."""

    record: str
    month: str
    first: int
    previous: str
    entries: int
    head: str


def seal(
    record: Record, identity: str, month: str, zone: ZoneInfo, now: datetime
) -> tuple[Month, bytes]:
    """Give a month that is over as a file, made of what was entered in it; its chain was walked.

    `month` is YYYY-MM, in the kitchen's time. Raises Refused for one that goes on or has no
    entry, and where the chain does not hold.
    """
    begins, ends = _bounds(month)
    if now < day_starts(ends, zone):
        raise Refused(phrase("{month} is not over yet: seal it after its last day.", month=month))
    # up to the last entry by then: whatever the clock did, each entry is in one month
    before = record.as_known_at(day_starts(begins, zone) - timedelta(seconds=1))
    whole = record.as_known_at(day_starts(ends, zone) - timedelta(seconds=1))
    after, previous = before.head()
    last, head = whole.head()
    if last == after:
        raise Refused(phrase("Nothing was entered in {month}.", month=month))
    told = Month(identity, month, after + 1, previous, last - after, head)
    file = BytesIO()
    schema = _COLUMNS.with_metadata(
        {"haccp": json.dumps({"format": _FORMAT, "version": _VERSION, **told._asdict()})}
    )
    # digests are as good as random: to look for what repeats in them only costs room
    repeats = [name for name in _COLUMNS.names if name not in ("digest", "seq", "body")]
    with parquet.ParquetWriter(file, schema, compression="zstd", use_dictionary=repeats) as writer:
        for some in _in_turn(whole.rows(after + 1)):
            writer.write_table(pa.Table.from_pylist([_as_kept(row) for row in some], schema))
    content = file.getvalue()
    misfit = misfit_of(*_opened(BytesIO(content), month))
    if misfit:
        raise Refused(
            phrase(
                "The record does not hold together: {misfit} Ask haccp record verify.",
                misfit=misfit,
            )
        )
    return told, content


def read(path: Path) -> tuple[Month, Iterator[dict[str, Any]]]:
    """Open a month's file: what it says of itself, and its rows as they were recorded.

    Raises Refused for what is no such file.
    """
    try:
        content = path.read_bytes()
    except OSError as error:
        raise Refused(
            phrase("{path} cannot be read: {reason}.", path=path, reason=error.strerror)
        ) from None
    return _opened(BytesIO(content), str(path))


def misfit_of(told: Month, rows: Iterable[Mapping[str, Any]]) -> str | None:
    """Walk the chain of a month's file; name the first entry that does not fit, or None."""
    end = told.previous
    count = 0

    def noted() -> Iterator[Mapping[str, Any]]:
        nonlocal end, count
        for row in rows:
            end, count = row["digest"], count + 1
            yield row

    misfit = first_misfit(noted(), told.first, told.previous)
    if misfit is None and (count, end) != (told.entries, told.head):
        return phrase("entry no. {seq} is missing at the end.", seq=told.first + count)
    return misfit


def _bounds(month: str) -> tuple[date, date]:
    match = _MONTH.fullmatch(month)
    if not match:
        raise Refused(phrase("{text} is no month: type it such as 2026-10.", text=repr(month)))
    begins = date(int(match[1]), int(match[2]), 1)
    return begins, (begins + timedelta(days=31)).replace(day=1)


def _in_turn(rows: Iterator[dict[str, Any]]) -> Iterator[list[dict[str, Any]]]:
    while some := list(islice(rows, _AT_ONCE)):
        yield some


def _as_kept(row: Mapping[str, Any]) -> dict[str, Any]:
    try:
        return {**row, "digest": bytes.fromhex(row["digest"])}
    except (TypeError, ValueError):
        raise Refused(
            phrase("Entry no. {seq} was altered: ask haccp record verify.", seq=row["seq"])
        ) from None


def _opened(file: Any, name: str) -> tuple[Month, Iterator[dict[str, Any]]]:
    try:
        there = parquet.ParquetFile(file)
        kept = json.loads((there.schema_arrow.metadata or {})[b"haccp"])
        if (kept.pop("format"), kept.pop("version")) != (_FORMAT, _VERSION):
            raise ValueError(name)
        told = Month(**kept)
        if there.schema_arrow.remove_metadata() != _COLUMNS:
            raise ValueError(name)
    except (pa.ArrowException, KeyError, TypeError, ValueError):
        raise Refused(
            phrase(
                "{path} is no month of a record: use a file made by haccp record seal.", path=name
            )
        ) from None
    return told, _rows(there, told.previous, name)


def _rows(there: Any, previous: str, name: str) -> Iterator[dict[str, Any]]:
    try:
        for batch in there.iter_batches(batch_size=_AT_ONCE):
            for row in batch.to_pylist():
                row["digest"] = row["digest"].hex()
                row["previous"], previous = previous, row["digest"]
                yield row
    except (pa.ArrowException, OSError, AttributeError, UnicodeDecodeError):
        raise Refused(phrase("{path} is damaged: it cannot be read whole.", path=name)) from None
