"""How long a district's officer waits: a thousand kitchens and a year, on one server.

    python -m benchmarks.district [KITCHENS [ENTRIES EACH]]          (default: 1000 2000)

Synthetic, made in the server by SQL: of each kitchen a chain of so many entries (their digests are
no digests: the view reads where a chain ends, and what stands at the entry it was judged at), a year
of five coolings a day of 24 foods and 6 methods, three undecided deviations; one kitchen in fifty is
judged up to an earlier entry. Printed: rows and bytes made; of seven runs the median and the most, for
the view as the library asks it, for each of its three statements, and for the whole command.
"""

import json
import os
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime

from haccp.kitchen.district import overview
from haccp.record import server as administration
from haccp.record.district import open_district
from haccp.record.judging import COUNTED_ANEW
from haccp.record.places import Server
from tests import servers
from tests.servers import Running

ROUNDS = 7
NOW = datetime(2026, 10, 26, 18, 0, tzinfo=UTC)
YEAR = ("2025-11", "2026-10")
BODY = (
    '{"degree":"F","moment":"","note":"","reason":"","step":"cool","temp":"120","thermometer":"T1"}'
)
# one kitchen after the other, as its entries lie together least; made in minutes, not by the rules
MADE = (
    "ALTER TABLE entry DISABLE TRIGGER USER",
    """
    INSERT INTO entry (kitchen, seq, kind, entered_at, at, person, batch, body, previous, digest)
    SELECT k.id, n, 'reading', t, t, 'JM', 'stew', %(body)s,
        repeat(md5(k.id || ' ' || n - 1), 2), repeat(md5(k.id || ' ' || n), 2)
    FROM generate_series(1, %(entries)s) n CROSS JOIN kitchen k CROSS JOIN LATERAL (
        SELECT to_char(timestamp '2026-10-26 17:00' - (%(entries)s - n) * interval '10 minutes',
            'YYYY-MM-DD"T"HH24:MI:SS"Z"') AS t) moment
    """,
    """
    INSERT INTO judged
    SELECT k.id, seq, repeat(md5(k.id || ' ' || seq), 2), 'food-code-2022.1', '1',
        '2026-10-26T17:30:00Z', '2026-10-26T20:00:00Z', '2026-10-27T20:00:00Z'
    FROM (SELECT id, %(entries)s - CASE WHEN row_number() OVER () %% 50 = 0 THEN 9 ELSE 0 END AS seq
        FROM kitchen) k
    """,
    """
    INSERT INTO judged_undecided
    SELECT id, n, 'stew-' || n, 'not shown', 'cooling-stage-2', '3-501.14(A)(2)',
        '2026-10-26T12:00:00Z' FROM kitchen, generate_series(1, 3) n
    """,
    """
    INSERT INTO judged_cooling
    SELECT id, 'stew-' || day || '-' || n, 1,
        to_char(date '2025-11-01' + day, 'YYYY-MM'),
        'food ' || (hashtext(id || ' ' || day || ' ' || n) & 1023) %% 24,
        'method ' || (hashtext(n || ' ' || day || ' ' || id) & 1023) %% 6,
        CASE WHEN random() < .04 THEN 'not met' WHEN random() < .03 THEN 'not shown' ELSE 'met' END
    FROM kitchen, generate_series(0, 359) day, generate_series(1, 5) n
    """,
    COUNTED_ANEW.replace("WHERE kitchen = %s AND month = ANY (%s)", ""),
    "ALTER TABLE entry ENABLE ALWAYS TRIGGER entry_follows",
    "VACUUM ANALYZE",
)  # fmt: skip


def make(server: Running, kitchens: int, entries: int) -> Server:
    with closing(server.connect()) as superuser:
        with superuser.transaction():
            superuser.execute("""
                INSERT INTO kitchen (id, role, name, district)
                SELECT kitchen_of(role::name), role, 'Kitchen ' || n, 'North' FROM (
                    SELECT n, 'k_' || left(md5(n::text), 16) AS role FROM generate_series(1, %s) n
                ) made
            """, (kitchens,))  # fmt: skip
        for statement in MADE:
            begun = time.perf_counter()
            values = {"body": BODY, "entries": entries} if "%" in statement else None
            superuser.execute(statement.encode(), values)
            took = time.perf_counter() - begun
            print(f"  made in {took:.0f} s: {' '.join(statement.split())[:60]}", flush=True)
    account = administration.add_officer(server.as_superuser, "Officer N", "North")
    return Server(server.url(account.role, account.password))


def sizes(server: Running) -> None:
    tables = ("entry", "judged", "judged_undecided", "judged_cooling", "judged_cooled")
    with closing(server.connect()) as superuser:
        for table in tables:
            found = superuser.execute(
                f"SELECT count(*), pg_table_size('{table}'), pg_indexes_size('{table}') FROM {table}".encode()
            ).fetchone()
            rows, plain, indexes = found or (1, 0, 0)
            print(
                f"  {table}: {rows:,} rows, {plain / 1e6:,.0f} MB and {indexes / 1e6:,.0f} MB of indexes"
            )


def timed(what: str, run: Callable[[], object]) -> None:
    run()  # once before, so that all are warm
    took = []
    for _ in range(ROUNDS):
        begun = time.perf_counter()
        run()
        took.append(time.perf_counter() - begun)
    print(
        f"  {what}: {statistics.median(took) * 1000:,.0f} ms, at most {max(took) * 1000:,.0f}",
        flush=True,
    )


def main(kitchens: int, entries: int) -> None:
    server = servers.made(settings="shared_buffers = 512MB\nmax_wal_size = 8GB\nfsync = off")
    try:
        officer = make(server, kitchens, entries)
        sizes(server)
        with open_district(officer) as there:
            timed("kitchens and where they end", there.kitchens)
            timed("what is undecided", there.undecided)
            timed("coolings of a year", lambda: there.cooled(YEAR))
            timed("coolings of two months", lambda: there.cooled(("2026-09", "2026-10")))
            timed("all of it, a year", lambda: overview(there, YEAR, NOW))
        line = [sys.executable, "-m", "haccp", "--db", officer.url, "district", *YEAR, "--json"]
        told = subprocess.run(line, capture_output=True, text=True, check=True)
        seen = json.loads(told.stdout)
        assert len(seen["kitchens"]) == kitchens
        print(f"  {seen['coolings']['all']['met']:,} met", os.getloadavg())
        timed("the command, a year", lambda: subprocess.run(line, capture_output=True, check=True))
    finally:
        servers.ended(server)


if __name__ == "__main__":
    main(*[int(word) for word in sys.argv[1:]] or (1000, 2000))
