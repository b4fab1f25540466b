"""The chain of digests: what shows that a record, a copy or a paper holds what was entered."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from haccp.errors import Refused
from haccp.language import message, phrase
from haccp.record.entries import FIRST, digest_of

_PRINTED = re.compile(r"(?:haccp\s+)?(?:([0-9]+)[\s:]+)?([0-9a-f]{12,64})", re.IGNORECASE)


def first_misfit(
    rows: Iterable[Mapping[str, Any]], expected: int = 1, previous: str = FIRST
) -> str | None:
    """Walk the chain; name the first entry that does not fit, or None if all do.

    It begins with entry no. `expected`, which follows the one of the digest `previous`.
    """
    for row in rows:
        if row.get("seq") != expected:
            return phrase(
                "entry no. {seq} is missing, no. {other} comes in its place.",
                seq=expected,
                other=row.get("seq"),
            )
        if row.get("previous") != previous:
            return phrase("entry no. {seq} does not follow the one before it.", seq=expected)
        if not is_as_digested(row):
            altered = message("entry no. {seq} is not what was recorded: its digest differs.")
            return phrase(altered, seq=expected)
        previous, expected = row["digest"], expected + 1
    return None


def is_as_digested(row: Mapping[str, Any]) -> bool:
    """Say whether an entry's content is the one that its digest was made of."""
    try:
        return bool(digest_of(row) == row["digest"])
    except (KeyError, TypeError, ValueError):  # a column gone, bytes for text, half a character
        return False


@dataclass(frozen=True, slots=True)
class Printed:
    """A chain's head as a report prints it: the last entry's number, if given, and its digest."""

    seq: int | None
    digest: str


def parse_printed(text: str) -> Printed:
    """Read a digest off a paper: with or without the entry's number, spaces between its groups.

    At least 12 hex digits; raises Refused for anything else.
    """
    joined = re.sub(r"(?<=[0-9a-fA-F]{8})\s+(?=[0-9a-fA-F]{2})", "", text.strip())
    match = _PRINTED.fullmatch(joined)
    if match is None:
        raise Refused(
            phrase(
                "{text} is not what a report prints: type its last entry and digest, "
                "'352 f500393b ...'.",
                text=repr(text),
            )
        )
    return Printed(int(match[1]) if match[1] else None, match[2].lower())


def named_alone(numbers: Sequence[int], printed: Printed) -> int | None:
    """Find the entry that a paper names, of those whose digests begin as it shows.

    None where today's record holds no such entry. Where there is one and the chain fits, all that
    the paper rests on is there, unchanged.
    """
    if len(numbers) != 1 or printed.seq not in (None, numbers[0]):
        return None
    return numbers[0]
