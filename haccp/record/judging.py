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
from haccp.time import CLOCK_TOLERANCE, from_stored, stored


class Waiting(NamedTuple):
    """A kitchen that is to be judged; `before` is what still holds of what was judged of it.

    `branches` counts what is kept beside its chain. `rewritten` is up to which entry it was judged
    of which its chain has another now; None where it has none.
    """

    number: int
    name: str
    role: str
    before: Judged | None
    branches: int
    rewritten: int | None


def to_judge(server: Server, version: str, now: datetime, *, anew: bool) -> list[Waiting]:
    """List the kitchens of districts of which something was entered or has fallen due since.

    What was judged before and is in the chain no more, was judged by another version, or before
    another branch was kept beside it, holds no more.
    """
    with as_superuser(server) as connection:
        refuse_unprepared(connection, server)
        columns = ", ".join(f"j.{name}" for name in Judged._fields)
        rows = connection.exec_driver_sql(f"""
            SELECT k.id, k.name, k.role, last.seq,
                (SELECT count(*) FROM fork WHERE kitchen = k.id),
                j.digest = (SELECT digest FROM entry WHERE kitchen = k.id AND seq = j.seq),
                EXISTS (SELECT 1 FROM judged_trouble WHERE kitchen = k.id AND kind = 'refused'),
                {columns}
            FROM kitchen k LEFT JOIN judged j ON j.kitchen = k.id
                CROSS JOIN LATERAL (
                    SELECT seq FROM entry WHERE kitchen = k.id ORDER BY seq DESC LIMIT 1
                ) last
            WHERE k.district IS NOT NULL
            ORDER BY j.judged_at NULLS FIRST, k.name
        """)
        found = []
        for number, name, role, last, branches, is_in_chain, was_refused, *judged in rows:
            before = Judged(*judged) if judged[0] is not None else None
            rewritten = before.seq if before and not is_in_chain else None
            holds = before and (before.version, before.branches) == (version, branches)
            if anew or rewritten is not None or not holds:
                before = None
            is_new = before is None or before.seq != last or before.holds_until < stored(now)
            if is_new or was_refused:
                found.append(Waiting(number, name, role, before, branches, rewritten))
        return found


def record_as(server: Server, role: str) -> Record:
    """Open a kitchen's record with the rights of its own account, for whoever runs the server."""
    return Record(ServerStore(engine_of(server, role), server))


def keep(server: Server, one: Waiting, results: Results) -> None:
    """Keep what was judged of a kitchen in place of what was known before, all or nothing.

    Where somebody else has judged it later meanwhile, that stays.
    """
    with as_superuser(server) as connection:
        number, judged = one.number, results.judged
        _keep_troubles(connection, one, judged)
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
            [(number, n, *each) for n, each in enumerate(results.undecided)],
        )
        _keep_coolings(connection, number, results)


def note_refused(server: Server, one: Waiting, now: datetime) -> None:
    """Note that a kitchen could not be judged, and which of its entries are not what they were."""
    with as_superuser(server) as connection:
        _note_rewritten(connection, one, now)
        _forget(connection, one, "refused")
        _note(connection, one, "refused", 0, now)


def _keep_troubles(connection: sa.Connection, one: Waiting, judged: Judged) -> None:
    """Note what is wrong with a kitchen's record now that it could be judged; forget what was."""
    now = from_stored(judged.judged_at)
    _note_rewritten(connection, one, now)
    _forget(connection, one, "refused")
    before = connection.exec_driver_sql(
        "SELECT seq, judged_at FROM judged WHERE kitchen = %s", (one.number,)
    ).first()
    if before is None or before.seq >= judged.seq:
        return
    _forget(connection, one, "clock behind")
    came_after = stored(from_stored(before.judged_at) - CLOCK_TOLERANCE)
    values = (one.number, before.seq, one.number, came_after)
    late = connection.exec_driver_sql(_ENTERED_BEFORE_IT_CAME, values).scalar()
    if late is not None:
        _note(connection, one, "clock behind", late, now)


# What a kitchen entered without a line, and handed over later, is signed for.
_ENTERED_BEFORE_IT_CAME = """
    SELECT max(seq) FROM entry
    WHERE kitchen = %s AND seq > (
        SELECT greatest(coalesce(max(seq), 0), %s) FROM receipt WHERE kitchen = %s
    ) AND entered_at < %s
"""


def _note_rewritten(connection: sa.Connection, one: Waiting, now: datetime) -> None:
    """Note where a chain is not what it was judged by, or what its receipts were signed for."""
    signed = connection.exec_driver_sql(_NOT_AS_SIGNED, (one.number,)).scalar()
    numbers = [seq for seq in (one.rewritten, signed) if seq is not None]
    if numbers:
        _note(connection, one, "rewritten", min(numbers), now)


_NOT_AS_SIGNED = """
    SELECT min(r.seq) FROM receipt r LEFT JOIN entry e ON e.kitchen = r.kitchen AND e.seq = r.seq
    WHERE r.kitchen = %s AND e.digest IS DISTINCT FROM r.digest
"""


def _note(connection: sa.Connection, one: Waiting, kind: str, seq: int, now: datetime) -> None:
    """Note a trouble; one that is known stays as it was found first."""
    put = _put("judged_trouble", ("kitchen", "kind", "seq", "found_at"))
    values = (one.number, kind, seq, stored(now))
    connection.exec_driver_sql(f"{put} ON CONFLICT DO NOTHING", values)


def _forget(connection: sa.Connection, one: Waiting, kind: str) -> None:
    gone = "DELETE FROM judged_trouble WHERE kitchen = %s AND kind = %s"
    connection.exec_driver_sql(gone, (one.number, kind))


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
