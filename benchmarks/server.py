"""Entries a second of 1, 8, 50 and 200 kitchens at once on one server, beside pgbench's plain insert.

    python -m benchmarks.server [SECONDS [ROUNDS]]

Plain is one INSERT a transaction, by pgbench, into a table of the same columns, keys and indexes in the
same server, without row security, chain, queue and what is derived. Alike is the statement that haccp's
client sends for an entry, by pgbench too, each client in the role of a kitchen of its own: both sides have
the same light client, but that the digests are made by the server for want of SHA-256 in pgbench. An entry
is one `Record.append`, by threads of two processes, each kitchen with its account and its connection; a
round is 40 of them at once. All run in turn, ROUNDS times, of which the medians are told; machine and server
are shared by the clients, so the server's own CPU for an entry stands beside the rate. Then the bytes of an
entry, and of the write-ahead log. That what pgbench entered holds is checked at the end.
"""

import os
import statistics
import subprocess
import sys
import threading
import time
from concurrent.futures import ProcessPoolExecutor
from contextlib import closing, suppress
from datetime import UTC, datetime
from math import inf
from multiprocessing import get_context
from pathlib import Path

from haccp.record import server as administration
from haccp.record.bodies import Measured
from haccp.record.entries import Draft, canonical, plain
from haccp.record.places import Server
from haccp.record.store import open_record
from haccp.time import stored
from tests import servers
from tests.servers import Running

KITCHENS = (1, 8, 50, 200)
PLAIN_TABLE = """
    CREATE TABLE public.plain (LIKE haccp.entry);
    ALTER TABLE public.plain ADD PRIMARY KEY (kitchen, seq);
    CREATE UNIQUE INDEX ON public.plain (kitchen, corrects) WHERE corrects IS NOT NULL;
    CREATE UNIQUE INDEX ON public.plain (kitchen, batch) WHERE kind = 'batch';
    CREATE SEQUENCE public.number CACHE 100;
"""
READING = Measured(step="cool", temp="120", degree="F")
BODY = canonical(plain(READING))
MOMENT = f"'{stored(datetime(2026, 10, 26, 18, tzinfo=UTC))}'"
PLAIN_INSERT = f"""
INSERT INTO public.plain (seq, kind, entered_at, at, person, batch, unit, corrects, body, previous, digest, kitchen)
VALUES (nextval('public.number'), 'reading', {MOMENT}, {MOMENT}, 'JM', 'stew',
NULL, NULL, :body, repeat(md5(random()::text), 2), repeat(md5(random()::text), 2), :client_id);
"""


ALIKE_ENTRY = f"""
\\if :knows
\\else
SELECT set_config('role', role, false) AS role FROM kitchen ORDER BY id OFFSET :client_id LIMIT 1 \\gset
SELECT h.seq, digest, threads, open_batches, open_numbers, reaches_back, standing, t.id AS thread, total
FROM derived_head h, derived_thread t WHERE name = 'batch stew' \\gset
\\set knows 1
\\endif
SELECT enter(:seq, :digest,
    ARRAY[ROW(:seq + 1, 'reading', {MOMENT}, {MOMENT}, 'JM', 'stew', NULL, NULL, :body, :digest, made, NULL)::entry],
    '{{}}', ARRAY[ROW(:thread, 'batch stew', :total + 1, NULL)::derived_thread],
    ARRAY[ROW(:thread, :seq + 1, :total + 1, NULL)::derived_link], '{{}}', '{{}}',
    ROW(1, :seq + 1, made, :threads, :open_batches, :open_numbers, :reaches_back, :standing, NULL)::derived_head
) AS entered, :seq + 1 AS seq, made AS digest, :total + 1 AS total
FROM (SELECT digest_of(:digest, :seq + 1, 'reading', {MOMENT}, {MOMENT}, 'JM', 'stew', NULL, NULL, :body) AS made
    OFFSET 0) of_the_client \\gset
"""


def warm(kitchens: int) -> int:
    """Give how long clients enter before they are counted: a connection's first statements cost most [s]."""
    return 2 + kitchens // 15


def enter(
    places: list[Server], begin: float, seconds: float, at_once: int, most: float = inf
) -> int:
    """Enter as many kitchens; give how many entries were acknowledged between two moments."""
    counts = [0] * len(places)

    def type_(number: int) -> None:
        now = datetime.now(UTC)
        drafts = [Draft(body=READING, at=now, person="JM", batch="stew")] * at_once
        with closing(open_record(places[number], create=False)) as record:
            while time.time() < begin + seconds and counts[number] < most:
                record.append(drafts, lambda: now)
                if begin <= time.time() < begin + seconds:
                    counts[number] += at_once

    threads = [threading.Thread(target=type_, args=(number,)) for number in range(len(places))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return sum(counts)


def by_kitchens(
    server: Running, places: list[Server], seconds: float, at_once: int = 1
) -> tuple[float, float]:
    """Give the rate, and the server's CPU for each [s]."""
    halves = [half for half in (places[::2], places[1::2]) if half]
    begin = time.time() + 2 + warm(len(places))  # the programs have to start, too
    with ProcessPoolExecutor(2, get_context("spawn")) as pool:
        counts = [pool.submit(enter, half, begin, seconds, at_once) for half in halves]
        cpu = cpu_between(server, begin, seconds)
        count = sum(one.result() for one in counts)
    return count / seconds, cpu / count


def by_pgbench(
    server: Running, statements: str, kitchens: int, seconds: int
) -> tuple[float, float]:
    script = server.folder / "script.sql"
    script.write_text(statements)
    run = subprocess.Popen(
        [
            server.programs / "pgbench", "-n", "-M", "prepared", "-c", str(kitchens), "-j", "2",
            "-T", str(warm(kitchens) + seconds), "-P", "1", "-D", "knows=0", "-D", f"body={BODY}", "-f", script,
            "-h", server.folder, "-U", "owner", server.database,
        ],
        stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True,
        env=os.environ | {"PGOPTIONS": "-c search_path=haccp,pg_temp"},
    )  # fmt: skip
    cpu = cpu_between(server, time.time() + warm(kitchens), seconds)
    _, told = run.communicate()
    assert run.returncode == 0, told
    assert "ERROR" not in told, told
    rates = [float(one.split()[3]) for one in told.splitlines() if one.startswith("progress")]
    rate = statistics.mean(rates[-seconds:])
    return rate, cpu / seconds / rate


def cpu_between(server: Running, begin: float, seconds: float) -> float:
    time.sleep(max(begin - time.time(), 0))
    before = server_cpu(server)
    time.sleep(seconds)
    return server_cpu(server) - before


def server_cpu(server: Running) -> float:
    """Give the CPU time of the server and of all that it started and that has ended [s]."""
    first = int((server.folder / "data" / "postmaster.pid").read_text().splitlines()[0])
    ticks = 0
    for process in Path("/proc").glob("[0-9]*/stat"):
        with suppress(OSError):
            words = process.read_text().rpartition(")")[2].split()
            if int(process.parent.name) == first:
                ticks += sum(map(int, words[11:15]))  # with those whose end it has seen
            elif int(words[1]) == first:
                ticks += sum(map(int, words[11:13]))
    return ticks / os.sysconf("SC_CLK_TCK")


def measured(server: Running, places: list[Server], what: str, seconds: int) -> tuple[float, float]:
    match what:
        case "plain":
            return by_pgbench(server, PLAIN_INSERT, len(places), seconds)
        case "alike":
            return by_pgbench(server, ALIKE_ENTRY, len(places), seconds)
        case _:
            return by_kitchens(server, places, seconds, 40 if what == "round" else 1)


def main(seconds: int, rounds: int) -> None:
    server = servers.made(settings="shared_buffers = 256MB\nmax_wal_size = 4GB")
    try:
        with closing(server.connect()) as superuser:
            superuser.execute(PLAIN_TABLE.encode())
        places = [server.kitchen(f"Kitchen {number}") for number in range(max(KITCHENS))]
        for place in places:  # what pgbench goes on from
            enter([place], time.time(), 1, 1, most=1)
        print(f"{'':<7} {'kitchens':>8} {'entries/s':>10} {'CPU us':>10}   ratios of rate and CPU")
        for kitchens in KITCHENS:
            found: dict[str, list[tuple[float, float]]] = {}
            for _ in range(rounds):
                for what in ("plain", "alike", "entry", "round"):
                    one = measured(server, places[:kitchens], what, seconds)
                    found.setdefault(what, []).append(one)
            plain = found["plain"]
            for what, each in found.items():
                rate, cpu = (statistics.median(column) for column in zip(*each, strict=True))
                ratios = [
                    statistics.median(a[n] / b[n] for a, b in zip(each, plain, strict=True))
                    for n in (0, 1)
                ]
                print(
                    f"{what:<7} {kitchens:>8} {rate:>10,.0f} {cpu * 1e6:>10,.0f}"
                    f"   {ratios[0]:.2f}  {ratios[1]:.2f}",
                    flush=True,
                )
        sizes(server, places)
        assert administration.check(server.as_superuser) == []
        with closing(open_record(places[0], create=False)) as record:
            assert record.differences() == []
    finally:
        servers.ended(server)


def sizes(server: Running, places: list[Server]) -> None:
    with closing(server.connect()) as superuser:
        superuser.execute("CHECKPOINT")
        begun = superuser.execute("SELECT pg_current_wal_insert_lsn()").fetchone()
        count = enter(places[:4], time.time(), 5, 1)
        wal = superuser.execute("SELECT pg_current_wal_insert_lsn() - %s::pg_lsn", begun).fetchone()
        print(f"log: {float((wal or [0])[0]) / count:,.0f} bytes an entry, one at a time")
        for table in ("entry", "derived_link", "derived_thread", "derived_head"):
            found = superuser.execute(
                f"SELECT pg_relation_size('{table}'), pg_indexes_size('{table}'), (SELECT count(*) FROM entry)".encode()
            ).fetchone()
            rows, indexes, entries = found or (0, 0, 1)
            print(
                f"{table}: {rows / entries:,.0f} bytes an entry, its indexes {indexes / entries:,.0f}"
            )


if __name__ == "__main__":
    main(
        int(sys.argv[1]) if len(sys.argv) > 1 else 5,
        int(sys.argv[2]) if len(sys.argv) > 2 else 3,
    )
