"""The tables that a view has beside a record's own, and what is told where somebody types into it.

`till` are the records that it is made of; `shown` says of each entry whose it is, with what of it
the view holds otherwise; `said` by which names the tills call what.
"""

from pathlib import Path
from typing import Any

from haccp.errors import Refused
from haccp.language import phrase
from haccp.phrases import any_of
from haccp.record.driver import Driver

_TABLES = {
    "till": (
        "id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE, place TEXT NOT NULL,"
        " first TEXT NOT NULL, seen_at TEXT NOT NULL, why TEXT NOT NULL, own INTEGER NOT NULL"
    ),
    "shown": (
        "seq INTEGER PRIMARY KEY, till INTEGER NOT NULL, number INTEGER NOT NULL,"
        " digest TEXT NOT NULL, reached TEXT NOT NULL, batch TEXT, unit TEXT, body TEXT,"
        " UNIQUE (till, number)"
    ),
    "said": (
        "seq INTEGER NOT NULL, till INTEGER NOT NULL, kind TEXT NOT NULL, name TEXT NOT NULL,"
        " shown TEXT NOT NULL, folded TEXT NOT NULL, body TEXT NOT NULL"
    ),
}
SHAPES = {
    **{name: f"CREATE TABLE {name} ({columns})" for name, columns in _TABLES.items()},
    "said_by_name": "CREATE INDEX said_by_name ON said (name)",
    "said_by_folded": "CREATE INDEX said_by_folded ON said (folded)",
    "said_by_kind": "CREATE INDEX said_by_kind ON said (kind, seq)",
}


def only_shows(view: Path, driver: Driver) -> Refused:
    """Say where to type instead."""
    return Refused(
        phrase(
            "{view} only shows what is typed at its tills: type it at one of them, {lines}.",
            view=view,
            lines=_lines(driver),
        )
    )


def not_for_all(driver: Driver) -> Refused:
    """Say where settings are typed."""
    return Refused(
        phrase(
            "Settings and PINs are of one till: type it there, {lines}.",
            lines=_lines(driver),
        )
    )


def only_row(driver: Driver, statement: str, *values: Any) -> tuple[Any, ...]:
    """Give the row that must be there; raises Refused where a view was altered."""
    row = driver.execute(statement, values).fetchone()
    if row is None:
        raise Refused(
            phrase(
                "The view is not as haccp made it: make it anew, haccp --db VIEW record tills "
                "--anew"
            )
        )
    return tuple(row)


def _lines(driver: Driver) -> str:
    tills = driver.execute("SELECT name, place FROM till ORDER BY id").fetchall()
    return any_of([f"haccp --db {place} ({name})" for name, place in tills])
