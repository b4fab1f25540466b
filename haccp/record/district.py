"""What was judged of a district's kitchens, as its officer reads it; nothing is written.

An officer's account sees by views alone, of its own district: it has no row of any table.
"""

from collections.abc import Collection
from contextlib import closing
from typing import Any, NamedTuple

from haccp.errors import Refused
from haccp.language import phrase
from haccp.record.places import TO_CONNECT, Server, without_client
from haccp.record.schema import SCHEMA

try:
    import psycopg  # alone: an officer's look needs nothing else of what opens a record
except ImportError:
    raise without_client() from None


class Judged(NamedTuple):
    """Up to which entry a kitchen was judged, by what, and the last moment that it holds.

    Moments are as they are stored. `branches` counts what was kept beside its chain then.
    """

    seq: int
    digest: str
    limits: str
    version: str
    judged_at: str
    holds_until: str
    quiet_from: str
    branches: int


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
    parted: bool
    retired_at: str | None


class Trouble(NamedTuple):
    """What is wrong with a kitchen's record: `kind` and the number of the entry that shows it."""

    kitchen: str
    kind: str
    seq: int
    found_at: str


class Counted(NamedTuple):
    """Coolings of one kitchen, of one food, or by one method: `by` says of which `name` is one."""

    by: str
    name: str
    met: int
    not_met: int
    not_shown: int


class Facts(NamedTuple):
    """All that one server tells an officer of a district, as of one moment."""

    district: str
    kitchens: list[Seen]
    undecided: list[tuple[str, Undecided]]
    troubles: list[Trouble]
    cooled: list[Counted]


def facts_of(server: Server, months: tuple[str, str], elsewhere: Collection[str] = ()) -> Facts:
    """Read the district of the officer whom a URL names.

    Coolings are those that began in months, both included, of no kitchen that is counted
    `elsewhere`. Raises Refused, with a sentence, for a server that cannot be reached or is not
    prepared, and for an account that is no officer's.
    """
    try:
        with closing(psycopg.connect(_plain(server), connect_timeout=TO_CONNECT)) as connection:
            connection.execute("SET search_path = haccp, pg_temp")
            connection.execute("BEGIN ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            return _facts(connection, server, months, elsewhere)
    except psycopg.Error as error:
        from haccp.record import postgres  # what it takes to say what went wrong

        raise postgres.sentence_of(error, server) from error


def _plain(server: Server) -> str:
    """Give a URL as the client's library takes it. Raises Refused for one that is none."""
    url = server.url.replace("+psycopg", "", 1)
    try:
        psycopg.conninfo.conninfo_to_dict(url)
    except psycopg.Error:
        from haccp.record import postgres

        raise postgres.no_url(server) from None
    return url


def _facts(
    connection: psycopg.Connection[Any],
    server: Server,
    months: tuple[str, str],
    elsewhere: Collection[str],
) -> Facts:
    name = _district_of(connection, server)
    seen = ", ".join(Seen._fields)
    open_now = ", ".join(Undecided._fields)
    trouble = ", ".join(Trouble._fields)
    kitchens = f"SELECT {seen} FROM district_kitchen ORDER BY name"
    undecided = (
        f"SELECT kitchen, {open_now} FROM district_undecided ORDER BY since, kitchen, number"
    )
    troubles = f"SELECT {trouble} FROM district_trouble ORDER BY kitchen, kind"
    return Facts(
        district=name,
        kitchens=[Seen(*row) for row in connection.execute(kitchens.encode())],
        undecided=[
            (kitchen, Undecided(*row)) for kitchen, *row in connection.execute(undecided.encode())
        ],
        troubles=[Trouble(*row) for row in connection.execute(troubles.encode())],
        cooled=[Counted(*row) for row in connection.execute(_COOLED, (*months, list(elsewhere)))],
    )


_COOLED = """
    SELECT counted_by, CASE counted_by WHEN 'kitchen' THEN kitchen ELSE name END AS named,
        sum(met), sum(not_met), sum(not_shown)
    FROM district_cooled
    WHERE month BETWEEN %s AND %s AND kitchen <> ALL (%s)
    GROUP BY counted_by, named
"""


def _district_of(connection: psycopg.Connection[Any], server: Server) -> str:
    asked = "SELECT (SELECT district FROM district), (SELECT version_num FROM alembic_version)"
    try:
        row = connection.execute(asked).fetchone()
    except (psycopg.errors.UndefinedTable, psycopg.errors.InsufficientPrivilege):
        from haccp.record import postgres

        raise postgres.not_prepared(server) from None
    assert row is not None  # it asks for one
    district, version = row
    if district is None:
        raise Refused(
            phrase(
                "Whoever logs in to {path} so is no officer of a district: use the name and the "
                "password that haccp server add-officer printed.",
                path=server,
            )
        )
    if version != SCHEMA:
        from haccp.record import postgres

        postgres.refuse_other_schema(server, version)
    return str(district)
