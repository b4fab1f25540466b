"""What was judged of the kitchens of districts: kept on a server, by whoever runs it.

No kitchen's account and no officer's can write it. It can be dropped and made anew at any time.
"""

from datetime import datetime
from typing import NamedTuple

import sqlalchemy as sa

from haccp.record.district import Judged, Results
from haccp.record.places import Server
from haccp.record.postgres import ServerStore, engine_of
from haccp.record.server import as_superuser, refuse_unprepared
from haccp.record.store import Record
from haccp.time import stored


class Waiting(NamedTuple):
    """A kitchen that is to be judged; `before` is what still holds of what was judged of it."""

    number: int
    name: str
    role: str
    before: Judged | None


def to_judge(server: Server, version: str, now: datetime, *, anew: bool) -> list[Waiting]:
    """List the kitchens of districts of which something was entered or has fallen due since.

    What was judged before and is in the chain no more, or was judged by another version, holds
    no more.
    """
    with as_superuser(server) as connection:
        refuse_unprepared(connection, server)
        rows = connection.exec_driver_sql("""
            SELECT k.id, k.name, k.role, last.seq,
                j.seq, j.digest, j.limits, j.version, j.judged_at, j.holds_until, j.quiet_from,
                j.digest = (SELECT digest FROM entry WHERE kitchen = k.id AND seq = j.seq)
            FROM kitchen k LEFT JOIN judged j ON j.kitchen = k.id
                CROSS JOIN LATERAL (
                    SELECT seq FROM entry WHERE kitchen = k.id ORDER BY seq DESC LIMIT 1
                ) last
            WHERE k.district IS NOT NULL
            ORDER BY j.judged_at NULLS FIRST, k.name
        """)
        found = []
        for number, name, role, last, *columns, is_in_chain in rows:
            before = Judged(*columns) if is_in_chain and not anew else None
            if before and before.version != version:
                before = None
            is_new = before is None or before.seq != last or before.holds_until < stored(now)
            if is_new:
                found.append(Waiting(number, name, role, before))
        return found


def record_as(server: Server, role: str) -> Record:
    """Open a kitchen's record with the rights of its own account, for whoever runs the server."""
    return Record(ServerStore(engine_of(server, role), server))


def keep(server: Server, number: int, results: Results) -> None:
    """Keep what was judged of a kitchen in place of what was known before, all or nothing.

    Where somebody else has judged it later meanwhile, that stays.
    """
    with as_superuser(server) as connection:
        judged = results.judged
        put = _put("judged", ("kitchen", *Judged._fields))
        anew = ", ".join(f"{name} = excluded.{name}" for name in Judged._fields)
        put += f" ON CONFLICT (kitchen) DO UPDATE SET {anew}"
        put += " WHERE judged.judged_at <= excluded.judged_at"
        if not connection.exec_driver_sql(put, (number, *judged)).rowcount:
            return
        connection.exec_driver_sql("DELETE FROM judged_undecided WHERE kitchen = %s", (number,))
        _insert(
            connection,
            "judged_undecided",
            ("kitchen", "number", "subject", "verdict", "limit_name", "citation", "since"),
            [(number, n, *one) for n, one in enumerate(results.undecided)],
        )
        _keep_coolings(connection, number, results)


def _keep_coolings(connection: sa.Connection, number: int, results: Results) -> None:
    mine = "kitchen = %s" if results.batches is None else "kitchen = %s AND batch = ANY (%s)"
    values = (number,) if results.batches is None else (number, list(results.batches))
    gone = connection.exec_driver_sql(
        f"DELETE FROM judged_cooling WHERE {mine} RETURNING month", values
    )
    months = {*gone.scalars(), *(one.month for one in results.coolings)}
    columns = ("kitchen", "batch", "number", "month", "food", "method", "verdict")
    _insert(connection, "judged_cooling", columns, [(number, *one) for one in results.coolings])
    if results.batches is None:
        connection.exec_driver_sql("DELETE FROM judged_cooled WHERE kitchen = %s", (number,))
    touched = (number, sorted(months))
    connection.exec_driver_sql(
        "DELETE FROM judged_cooled WHERE kitchen = %s AND month = ANY (%s)", touched
    )
    connection.exec_driver_sql(COUNTED_ANEW, touched)


# Counting is no judging: each cooling was judged by the rules.
COUNTED_ANEW = """
    INSERT INTO judged_cooled (kitchen, month, counted_by, name, met, not_met, not_shown)
    SELECT kitchen, month,
        CASE WHEN grouping(food) = 0 THEN 'food' WHEN grouping(method) = 0 THEN 'method'
            ELSE 'kitchen' END,
        coalesce(food, method, ''), count(*) FILTER (WHERE verdict = 'met'),
        count(*) FILTER (WHERE verdict = 'not met'), count(*) FILTER (WHERE verdict = 'not shown')
    FROM judged_cooling WHERE kitchen = %s AND month = ANY (%s)
    GROUP BY GROUPING SETS ((kitchen, month), (kitchen, month, food), (kitchen, month, method))
"""


def _insert(
    connection: sa.Connection,
    table: str,
    columns: tuple[str, ...],
    rows: list[tuple[object, ...]],
) -> None:
    if rows:
        connection.exec_driver_sql(_put(table, columns), rows)


def _put(table: str, columns: tuple[str, ...]) -> str:
    marks = ", ".join("%s" for _ in columns)
    return f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({marks})"
