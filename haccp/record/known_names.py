"""The names on record, for completion: read at once and read-only, believing what is derived.

A shell waits for it at every Tab, so nothing but the standard library is imported. Whatever is
wrong with a file, there are no names in it: a command that is run says what.
"""

import json
import sqlite3
from collections.abc import Iterable
from contextlib import closing
from enum import StrEnum
from pathlib import Path
from urllib.parse import quote


class Named(StrEnum):
    """What has names, as the record calls its kinds; batches have a table of their own."""

    BATCH = "batch"
    UNIT = "unit"
    PERSON = "person"
    THERMOMETER = "thermometer"
    FOOD = "food"


_NAME_IN = {
    Named.UNIT: "name",
    Named.PERSON: "initials",
    Named.THERMOMETER: "label",
    Named.FOOD: "name",
}
_OPEN = "SELECT code, called FROM derived_batch WHERE ended IS NULL ORDER BY opened DESC"
_OF_KIND = """
    SELECT entry.body FROM derived_thread
    JOIN derived_link ON derived_link.thread = derived_thread.id
    JOIN entry ON entry.seq = derived_link.seq
    WHERE derived_thread.name = ? ORDER BY entry.seq
"""


def known_names(path: Path, kinds: Iterable[Named]) -> list[str]:
    """Give the names of what is open or in use in the record at `path`, kind by kind."""
    try:
        uri = f"file:{quote(str(path.resolve()))}?mode=ro"
        with closing(sqlite3.connect(uri, uri=True, timeout=0.05)) as connection:
            return [name for kind in kinds for name in _names(connection, kind)]
    except (sqlite3.Error, OSError, ValueError, KeyError, TypeError, AttributeError):
        return []


def _names(connection: sqlite3.Connection, kind: Named) -> list[str]:
    if kind is Named.BATCH:
        return [called or code for code, called in connection.execute(_OPEN)]
    in_use: dict[str, bool] = {}
    for (text,) in connection.execute(_OF_KIND, (f"kind {kind}",)):
        body = json.loads(text)
        in_use[body[_NAME_IN[kind]]] = body["active"]
    return [name for name, active in in_use.items() if active]
