"""A day of many kitchens on one server: entries, time, bytes and log as their number grows.

    python -m benchmarks.a_day [KITCHENS ...]          (default: 10 100 300 1000)

Invented: each kitchen is set up, reads six units every hour from 06:00 to 18:00 (a round is recorded at
once), cooks, cools and uses up three batches (a reading is a command of its own), and a manager's
signature ends the day: 124 entries in 49 transactions. The kitchens take turns, hour by hour, each over a
connection of its own that lasts for its hour's entries. Two processes; clients and server share the
machine. For each number a database of its own on a new server; then `haccp server judge` judges all of it
for the first time, and a round of each kitchen later once more; then the officer looks.
"""

import os
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from contextlib import closing
from datetime import UTC, datetime, timedelta
from itertools import groupby
from multiprocessing import get_context

from benchmarks.server import server_cpu
from haccp import __version__
from haccp.kitchen.district import Asked, overview
from haccp.kitchen.judged import judge
from haccp.kitchen.register import read_register
from haccp.limits import shipped
from haccp.record import judging
from haccp.record import server as administration
from haccp.record.bodies import (
    BatchOpened,
    Body,
    DaySigned,
    HoldingUnit,
    KitchenSettings,
    Measured,
    Person,
    Thermometer,
    UnitEmptied,
    UsedUp,
)
from haccp.record.district import facts_of
from haccp.record.entries import Draft
from haccp.record.places import Server
from haccp.record.store import open_record
from tests import servers
from tests.servers import Running

MIDNIGHT = datetime(2026, 10, 26, tzinfo=UTC)
HOT, COLD, BATCHES = 2, 4, 3
COOLING = ((0, "150"), (20, "135"), (80, "95"), (125, "69"), (200, "55"), (320, "40"))
TABLES = (
    "entry", "derived_link", "derived_thread", "derived_batch", "derived_head", "derived_settled",
    "judged", "judged_undecided", "judged_cooling", "judged_cooled",
)  # fmt: skip


def _at(hour: int, minute: int = 0) -> datetime:
    return MIDNIGHT + timedelta(hours=hour, minutes=minute)


def _reading(step: str, temp: str, at: datetime, batch: str = "", unit: str = "") -> Draft:
    held = "60" if step == "cook" else "0"
    body = Measured(step=step, temp=temp, degree="F", held_s=held, thermometer="T1")
    return Draft(body=body, at=at, person="JM", batch=batch or None, unit=unit or None)


def a_days_transactions(number: int) -> list[list[Draft]]:
    """Give what a kitchen enters, by transactions, in order of time; one in ten cools too slowly."""
    setup: list[Body] = [
        KitchenSettings(
            name=f"Kitchen {number}", zone="UTC", degree="F", altitude_m=0, limit_set="food-code-2022",
            limits_digest=shipped("food-code-2022").digest, check_every_min=60, grace_min=15,
        ),
        Person(initials="AR", name="A. R.", role="manager"),
        Person(initials="JM", name="J. M.", role="cook"),
        Thermometer(label="T1", accuracy="2F"),
        *(HoldingUnit(name=f"well-{n}", holds="hot", every_min=60) for n in range(HOT)),
        *(HoldingUnit(name=f"walk-in-{n}", holds="cold", every_min=660) for n in range(COLD)),
    ]  # fmt: skip
    made = [[Draft(body=body, at=_at(5), person="AR") for body in setup]]
    for hour in range(6, 19):
        hot = [_reading("hot_hold", f"{145 + n}", _at(hour), unit=f"well-{n}") for n in range(HOT)]
        cold = [
            _reading("cold_hold", f"{36 + n}", _at(hour), unit=f"walk-in-{n}") for n in range(COLD)
        ]
        made.append([*hot, *cold])
    for n in range(BATCHES):
        code, begins = f"stew-{n}", _at(7, 7 * n)
        opened = BatchOpened(food=f"stew {n}", amount="12 gal", food_kind="plant food")
        made.append([Draft(body=opened, at=begins, person="JM", batch=code)])
        for minute, temp in ((30, "120"), (70, "190"), (100, "190")):
            made.append([_reading("cook", temp, begins + timedelta(minutes=minute), code)])
        for minute, temp in COOLING:
            slow = minute == 125 and number % 10 == 0 and n == 0
            after = begins + timedelta(minutes=130 + minute)
            made.append([_reading("cool", "75" if slow else temp, after, code)])
        ended = begins + timedelta(hours=10)
        made.append([Draft(body=UsedUp(), at=ended, person="JM", batch=code)])
    emptied: list[Draft] = [
        Draft(body=UnitEmptied(), at=_at(18, 30), person="JM", unit=f"well-{n}") for n in range(HOT)
    ]
    made.append(emptied)
    signed = DaySigned(day=f"{MIDNIGHT:%Y-%m-%d}", undecided=0)
    made.append([Draft(body=signed, at=_at(19), person="AR")])
    return sorted(made, key=lambda one: one[0].at)


def live(places: list[tuple[int, Server]]) -> int:
    """Enter the day of some kitchens, hour by hour; give how many entries were acknowledged."""
    every = [
        (drafts[0].at.hour, number, drafts)
        for number, _ in places
        for drafts in a_days_transactions(number)
    ]
    of = dict(places)
    count = 0
    every.sort(key=lambda one: one[:2])
    for _, hour in groupby(every, key=lambda one: one[0]):
        for number, mine in groupby(hour, key=lambda one: one[1]):
            with closing(open_record(of[number], create=False)) as record:
                for _, _, drafts in mine:
                    now = drafts[0].at + timedelta(minutes=1)
                    record.append(drafts, lambda now=now: now)  # type: ignore[misc]
                    count += len(drafts)
    return count


def judge_all(server: Running, now: datetime) -> int:
    """Do what `haccp server judge` does; give how many kitchens were judged."""
    waiting = judging.to_judge(server.as_superuser, __version__, now, anew=False)
    for one in waiting:
        with closing(judging.record_as(server.as_superuser, one.role)) as opened:
            record = opened.as_it_stands().strict()
            found = judge(record, read_register(record), one.before, __version__, now, one.branches)
        judging.keep(server.as_superuser, one, found)
    return len(waiting)


def timed_judging(server: Running, now: datetime) -> str:
    begun, before, cpu = time.monotonic(), time.process_time(), server_cpu(server)
    count = judge_all(server, now)
    took, cpu = time.monotonic() - begun, server_cpu(server) - cpu
    mine = time.process_time() - before
    return f"{count} judged in {took:,.1f} s, {mine / count * 1000:,.0f} ms of CPU each and {cpu / count * 1000:,.0f} of the server's"


def run(kitchens: int) -> None:
    server = servers.made(settings="shared_buffers = 256MB\nmax_wal_size = 4GB")
    try:
        names = [f"Kitchen {n}" for n in range(kitchens)]
        places = [(n, server.kitchen(name)) for n, name in enumerate(names)]
        administration.put_into_district(server.as_superuser, "North", names)
        account = administration.add_officer(server.as_superuser, "Officer N", "North")
        with closing(server.connect()) as superuser:
            superuser.execute("CHECKPOINT")
            begins = superuser.execute("SELECT pg_current_wal_insert_lsn()").fetchone()
            cpu, begun = server_cpu(server), time.monotonic()
            halves = [half for half in (places[::2], places[1::2]) if half]
            with ProcessPoolExecutor(2, get_context("spawn")) as pool:
                count = sum(pool.map(live, halves))
            took, cpu = time.monotonic() - begun, server_cpu(server) - cpu
            log = superuser.execute(
                "SELECT pg_current_wal_insert_lsn() - %s::pg_lsn", begins
            ).fetchone()
            print(
                f"{kitchens} kitchens: {count:,} entries in {took:,.0f} s, {count / took:,.0f} a second, "
                f"{cpu / count * 1e6:,.0f} us of the server's CPU an entry, load {os.getloadavg()[0]:.1f}",
                flush=True,
            )
            print(f"  log: {float((log or [0])[0]) / count:,.0f} bytes an entry")
            print(f"  {timed_judging(server, _at(19, 30))}", flush=True)
            superuser.execute("VACUUM ANALYZE")
            whole = [0, 0]
            for table in TABLES:
                found = superuser.execute(
                    f"SELECT pg_table_size('{table}'), pg_indexes_size('{table}')".encode()
                ).fetchone() or (0, 0)
                whole = [a + b for a, b in zip(whole, found, strict=True)]
                print(
                    f"  {table}: {found[0] / count:,.0f} bytes an entry, its indexes {found[1] / count:,.0f}"
                )
            print(f"  all: {sum(whole) / count:,.0f} bytes an entry", flush=True)
        later = [_reading("cold_hold", "38", _at(20), unit=f"walk-in-{n}") for n in range(COLD)]
        for _, place in places[:100]:
            with closing(open_record(place, create=False)) as record:
                record.append(later, lambda: _at(20, 1))
        print(f"  after a round of 100 at most: {timed_judging(server, _at(20, 2))}", flush=True)
        officer = Server(server.url(account.role, account.password))
        begun = time.monotonic()
        asked = Asked(str(officer), facts_of(officer, ("2026-10", "2026-10")))
        seen = overview([asked], _at(20, 3))
        took = time.monotonic() - begun
        counts = seen.coolings.all
        print(
            f"  the officer: {took * 1000:,.0f} ms; {counts.met} of {counts.count} met, "
            f"{len(seen.undecided)} undecided, {sum(one.state == 'shown' for one in seen.kitchens)} shown"
        )
    finally:
        servers.ended(server)


if __name__ == "__main__":
    for size in [int(word) for word in sys.argv[1:]] or [10, 100, 300, 1000]:
        run(size)
