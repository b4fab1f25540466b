"""How long a district's officer waits: a thousand kitchens and a year, on one server.

    python -m benchmarks.district [KITCHENS [SIMULATED [DAYS]]]          (default: 1000 20 365)

Invented: so many kitchens are simulated for so many days, each with foods, ways and failures of its own:
on five days a week three batches are cooked and cooled, well or too slowly, some with a reading missing,
some reheated in time, and two units read. Their entries are put into the server's chains, and `haccp
server judge` itself judges them. What was judged, and the last 200 entries of each chain, are then copied
in SQL, until there are so many kitchens. The view as a program of its own must agree with a count by hand
over the simulated facts: each cooling's verdict by the bounds of its readings alone. Printed: rows and
bytes; of seven runs the median and the most, by the clock, and the CPU of the program and of the server.
"""

import json
import os
import statistics
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import closing
from datetime import UTC, datetime, timedelta
from multiprocessing import get_context

from benchmarks.server import server_cpu
from haccp import __version__
from haccp.kitchen.judged import judge
from haccp.kitchen.register import read_register
from haccp.record import judging
from haccp.record import server as administration
from haccp.record.district import facts_of
from haccp.record.places import Server
from haccp.record.store import open_record
from tests import servers
from tests.servers import Running
from tests.simulated import Cooled, simulated
from tests.years import chained

ROUNDS = 7
NOW = datetime(2026, 10, 26, 19, 0, tzinfo=UTC)


def fill(job: tuple[Server, int, int]) -> tuple[str, list[Cooled]]:
    """Put a simulated kitchen's entries into its chain; gives its facts."""
    place, number, days = job
    drafts, facts = simulated(number, days, NOW)
    with closing(open_record(place, create=False)) as record:
        record.restore(chained(drafts, NOW))
    return f"Kitchen {number}", facts


def judge_all(server: Server) -> None:
    """Do what haccp server judge does, in one process for each core."""
    waiting = judging.to_judge(server, __version__, NOW, anew=False)
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        list(pool.map(_judge, [(server, one) for one in waiting]))


def _judge(job: tuple[Server, judging.Waiting]) -> None:
    server, one = job
    with closing(judging.record_as(server, one.role)) as opened:
        record = opened.as_it_stands().strict()
        found = judge(record, read_register(record), None, __version__, NOW, one.branches)
    judging.keep(server, one, found)


# What an officer's views read of a kitchen; a copy's number is its own, its entries the last ones.
COPIED = (
    "ALTER TABLE entry DISABLE TRIGGER USER",
    """
    CREATE TEMPORARY TABLE copied AS
    SELECT kitchen_of(('k_' || left(md5(n::text), 16))::name) AS id, 'k_' || left(md5(n::text), 16) AS role,
        'Kitchen ' || n AS name, own.id AS source
    FROM generate_series(%(made)s, %(kitchens)s - 1) n JOIN (
        SELECT id, row_number() OVER (ORDER BY name) - 1 AS place FROM kitchen
    ) own ON own.place = n %% %(made)s
    """,
    "INSERT INTO kitchen (id, role, name, district) SELECT id, role, name, 'North' FROM copied",
    """
    INSERT INTO entry (kitchen, seq, kind, entered_at, at, person, batch, unit, corrects, body, previous, digest)
    SELECT c.id, e.seq, e.kind, e.entered_at, e.at, e.person, e.batch, e.unit, e.corrects, e.body,
        repeat(md5(c.id || ' ' || e.seq - 1), 2), repeat(md5(c.id || ' ' || e.seq), 2)
    FROM copied c JOIN judged j ON j.kitchen = c.source JOIN entry e ON e.kitchen = c.source
        AND e.seq > j.seq - 200
    """,
    """
    INSERT INTO judged (kitchen, seq, digest, limits, version, judged_at, holds_until, quiet_from, branches)
    SELECT c.id, j.seq, repeat(md5(c.id || ' ' || j.seq), 2), j.limits, j.version, j.judged_at,
        j.holds_until, j.quiet_from, j.branches
    FROM copied c JOIN judged j ON j.kitchen = c.source
    """,
    *(
        f"INSERT INTO {table} (kitchen, {columns}) SELECT c.id, t.{columns.replace(', ', ', t.')}"
        f" FROM copied c JOIN {table} t ON t.kitchen = c.source"
        for table, columns in (
            ("judged_undecided", "number, subject, verdict, limit_name, citation, since"),
            ("judged_cooling", "batch, number, month, food, method, verdict"),
            ("judged_cooled", "month, counted_by, name, met, not_met, not_shown"),
        )
    ),
    "ALTER TABLE entry ENABLE ALWAYS TRIGGER entry_follows",
    "VACUUM ANALYZE",
)  # fmt: skip


def copy(server: Running, made: int, kitchens: int) -> None:
    with closing(server.connect()) as superuser:
        for statement in COPIED:
            values = {"made": made, "kitchens": kitchens} if "%(" in statement else None
            superuser.execute(statement.encode(), values)


def sizes(server: Running) -> None:
    tables = ("entry", "judged", "judged_undecided", "judged_cooling", "judged_cooled")
    with closing(server.connect()) as superuser:
        for table in tables:
            asked = f"SELECT count(*), pg_total_relation_size('{table}') FROM {table}"
            found = superuser.execute(asked.encode()).fetchone()
            rows, size = found or (0, 0)
            print(f"  {table}: {rows:,} rows, {size / 1e6:,.0f} MB with indexes")


def timed(what: str, server: Running, run: Callable[[], object]) -> None:
    run()  # once before, so that all are warm
    took, begun, its = [], _own_cpu(), server_cpu(server)
    for _ in range(ROUNDS):
        since = time.perf_counter()
        run()
        took.append((time.perf_counter() - since) * 1000)
    own, its = (_own_cpu() - begun) / ROUNDS, (server_cpu(server) - its) / ROUNDS
    print(
        f"  {what}: {statistics.median(took):,.0f} ms, at most {max(took):,.0f};"
        f" CPU {own * 1000:,.0f} ms of the program, {its * 1000:,.0f} of the server",
        flush=True,
    )


def _own_cpu() -> float:
    times = os.times()
    return times.user + times.system + times.children_user + times.children_system


def counted(
    facts: dict[str, list[Cooled]], names: list[str], first: str, last: str
) -> Iterator[tuple[tuple[str, str], Counter[str]]]:
    """Count the facts by hand: by kitchen, food and method, those of copies with their own's."""
    found: dict[tuple[str, str], Counter[str]] = {}
    own = sorted(facts)
    for name in names:
        source = name if name in facts else own[int(name.split()[1]) % len(own)]
        for one in facts[source]:
            if first <= one.month <= last:
                for key in (("kitchen", name), ("food", one.food), ("method", one.method)):
                    found.setdefault(key, Counter())[one.by_hand()] += 1
    yield from found.items()


def main(kitchens: int, made: int, days: int) -> None:
    server = servers.made(settings="shared_buffers = 512MB\nmax_wal_size = 8GB\nfsync = off")
    try:
        jobs = [(server.kitchen(f"Kitchen {n}"), n, days) for n in range(made)]
        since = time.perf_counter()
        with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
            facts = dict(pool.map(fill, jobs))
        print(f"  {made} kitchens entered in {time.perf_counter() - since:.0f} s", flush=True)
        administration.put_into_district(server.as_superuser, "North", list(facts))
        since = time.perf_counter()
        judge_all(server.as_superuser)
        print(f"  judged in {time.perf_counter() - since:.0f} s", flush=True)
        copy(server, made, kitchens)
        sizes(server)
        account = administration.add_officer(server.as_superuser, "Officer N", "North")
        officer = Server(server.url(account.role, account.password))
        first, last = f"{NOW - timedelta(days=days - 31):%Y-%m}", f"{NOW:%Y-%m}"
        line = [sys.executable, "-m", "haccp", "--db", officer.url, "district", first, last]
        told = subprocess.run([*line, "--json"], capture_output=True, text=True, check=True)
        seen = json.loads(told.stdout)
        names = [one["name"] for one in seen["kitchens"]]
        assert len(names) == kitchens
        by_hand = dict(counted(facts, names, first, last))
        for by in ("kitchen", "food", "method"):
            for one in seen["coolings"][by]:
                theirs = [one["met"], one["not_met"], one["not_shown"]]
                mine = by_hand.pop((by, one["name"]))
                assert theirs == [mine["met"], mine["not met"], mine["not shown"]], (by, one, mine)
        assert not by_hand, by_hand
        counts = seen["coolings"]["all"]
        print(
            f"  as by hand: {counts['met']:,} met, {counts['not_met']:,} not met, {counts['not_shown']:,} not shown"
        )
        timed("the facts, a year", server, lambda: facts_of(officer, (first, last)))
        timed("the facts, two months", server, lambda: facts_of(officer, ("2026-09", last)))
        timed(
            "the command, a year",
            server,
            lambda: subprocess.run(line, capture_output=True, check=True),
        )
        print(f"  load {os.getloadavg()}")
    finally:
        servers.ended(server)


if __name__ == "__main__":
    given = [int(word) for word in sys.argv[1:]]
    main(*given, *(1000, 20, 365)[len(given) :])
