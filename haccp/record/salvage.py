"""What a damaged file still gives, entry by entry."""

import sqlite3
from contextlib import closing
from functools import partial
from pathlib import Path
from typing import Any

from haccp.errors import Refused
from haccp.language import message, phrase
from haccp.record.sentences import in_sentences
from haccp.record.store import entry

# So many numbers in a row that cannot be read are taken for the record's end.
_END_OF_RECORD = 1_000


def salvage(path: Path) -> tuple[list[dict[str, Any]], int]:
    """Read entry by entry what a damaged file still gives; say how many it does not.

    Nothing but the entries' own table has to be whole: no version is asked for, and a file that
    lost its end is read all the same (which is what `writable_schema` allows, read-only as it is).
    Not in a transaction: there one damaged page would spoil the others.
    """
    if not path.is_file():
        raise Refused(phrase("There is no record at {path}: name it with --db.", path=path))
    rows: list[dict[str, Any]] = []
    number = misses = 0
    with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)) as plain:
        plain.row_factory = sqlite3.Row
        plain.text_factory = partial(str, encoding="utf-8", errors="replace")
        with in_sentences(path):
            plain.execute("PRAGMA writable_schema = ON")
        while misses < _END_OF_RECORD:
            number += 1
            try:
                row = plain.execute("SELECT * FROM entry WHERE seq = ?", (number,)).fetchone()
            except sqlite3.Error:
                row = None
            misses = 0 if row else misses + 1
            # a column that somebody renamed or dropped is empty in what is salvaged
            kept = dict(row) if row else {}
            rows += [{name: kept.get(name) for name in entry.c.keys()}] if row else []  # noqa: SIM118
    if not rows:
        words = message("No entry of {path} can be read: restore it from a backup.")
        raise Refused(phrase(words, path=path))
    return rows, rows[-1]["seq"] - len(rows)
