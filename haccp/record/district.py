"""What was judged of a district's kitchens, as its officer reads it; nothing is written.

An officer's account sees by views alone, of its own district: it has no row of any table.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import NamedTuple

import sqlalchemy as sa

from haccp.errors import Refused
from haccp.language import phrase
from haccp.record.places import Server
from haccp.record.postgres import (
    asked_of_prepared,
    engine_of,
    in_sentences,
    refuse_other_schema,
)


class Judged(NamedTuple):
    """Up to which entry a kitchen was judged, by what, and the last moment that it holds.

    Moments are as they are stored.
    """

    seq: int
    digest: str
    limits: str
    version: str
    judged_at: str
    holds_until: str
    quiet_from: str


class Undecided(NamedTuple):
    """Something that nobody decided, of a batch or unit; `since` when it could be known."""

    subject: str
    verdict: str
    limit_name: str
    citation: str
    since: str | None


class Cooling(NamedTuple):
    """One cooling that is over; `month` is where it began [YYYY-MM], in the kitchen's time."""

    batch: str
    number: int
    month: str
    food: str
    method: str
    verdict: str


class Results(NamedTuple):
    """What was judged; the coolings are those of `batches`, or of all where that is None."""

    judged: Judged
    undecided: tuple[Undecided, ...]
    batches: tuple[str, ...] | None
    coolings: tuple[Cooling, ...]


class Seen(NamedTuple):
    """A kitchen as its officer sees it: where its record ends, and what was judged of it."""

    name: str
    entries: int
    last_entered_at: str | None
    judged: int | None
    judged_at: str | None
    holds_until: str | None
    quiet_from: str | None
    limits: str | None
    version: str | None
    is_in_chain: bool | None


class Counted(NamedTuple):
    """Coolings of one kitchen, of one food, or by one method: `by` says of which `name` is one."""

    by: str
    name: str
    met: int
    not_met: int
    not_shown: int


class District:
    """A district at one moment."""

    def __init__(self, connection: sa.Connection, name: str) -> None:
        self._connection = connection
        self.name = name

    def kitchens(self) -> list[Seen]:
        columns = ", ".join(Seen._fields)
        asked = f"SELECT {columns} FROM district_kitchen ORDER BY name"
        return [Seen(*row) for row in self._connection.exec_driver_sql(asked)]

    def undecided(self) -> list[tuple[str, Undecided]]:
        """Give what is undecided of each kitchen whose judging is in its chain, oldest first."""
        columns = ", ".join(Undecided._fields)
        asked = f"SELECT kitchen, {columns} FROM district_undecided ORDER BY since, kitchen, number"
        return [(row[0], Undecided(*row[1:])) for row in self._connection.exec_driver_sql(asked)]

    def cooled(self, months: tuple[str, str]) -> list[Counted]:
        """Count coolings that began in months, both included: by kitchen, food and method."""
        asked = """
            SELECT counted_by, CASE counted_by WHEN 'kitchen' THEN kitchen ELSE name END AS named,
                sum(met), sum(not_met), sum(not_shown)
            FROM district_cooled
            WHERE month BETWEEN %s AND %s
            GROUP BY counted_by, named
        """
        rows = self._connection.exec_driver_sql(asked, months)
        return [Counted(*row) for row in rows]


@contextmanager
def open_district(server: Server) -> Iterator[District]:
    """Open the district of the officer whom a URL names, as it is at one moment.

    Raises Refused, with a sentence, for a server that cannot be reached or is not prepared, and
    for an account that is no officer's.
    """
    engine = engine_of(server)
    try:
        with in_sentences(server), engine.connect() as plain:
            connection = plain.execution_options(
                isolation_level="REPEATABLE READ", postgresql_readonly=True
            )
            with connection.begin():
                yield District(connection, _district_of(connection, server))
    finally:
        engine.dispose()


def _district_of(connection: sa.Connection, server: Server) -> str:
    asked = "SELECT (SELECT district FROM district), (SELECT version_num FROM alembic_version)"
    district, version = asked_of_prepared(connection, server, asked)
    if district is None:
        raise Refused(
            phrase(
                "Whoever logs in to {path} so is no officer of a district: use the name and the "
                "password that haccp server add-officer printed.",
                path=server,
            )
        )
    refuse_other_schema(server, version)
    return str(district)
