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
import random
import statistics
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from multiprocessing import get_context

from benchmarks.server import server_cpu
from haccp import __version__
from haccp.kitchen.judged import judge
from haccp.kitchen.register import read_register
from haccp.limits import shipped
from haccp.record import judging
from haccp.record import server as administration
from haccp.record.bodies import (
    BatchOpened,
    Body,
    CoolingSetup,
    Discarded,
    HoldingUnit,
    KitchenSettings,
    Measured,
    Person,
    Thermometer,
    UsedUp,
)
from haccp.record.district import facts_of
from haccp.record.entries import Draft
from haccp.record.places import Server
from haccp.record.store import open_record
from tests import servers
from tests.servers import Running
from tests.years import chained

ROUNDS = 7
NOW = datetime(2026, 10, 26, 19, 0, tzinfo=UTC)
METHODS = ("ice bath", "walk-in", "blast chiller", "2-inch pans", "ice wand", "")
MINUTE = timedelta(minutes=1)
# Minutes after the cooling's first reading and temperatures [°F]; what a hand finds of each is `by_hand`.
WAYS = {
    "well": ((0, 150), (20, 135), (80, 95), (125, 69), (200, 55), (320, 40)),
    "slow at first": ((0, 150), (20, 135), (80, 110), (150, 75), (200, 60), (320, 40)),
    "slow at last": ((0, 150), (20, 135), (80, 95), (125, 69), (300, 52), (400, 45)),
    "one is missing": ((0, 150), (20, 135), (80, 95), (200, 60), (320, 40)),
    "reheated in time": ((0, 150), (20, 135), (80, 110)),
}
CHANCES = (90, 3, 2, 3, 2)


@dataclass(frozen=True)
class Cooled:
    """One simulated cooling: the fact that is counted by hand."""

    month: str
    food: str
    method: str
    readings: tuple[tuple[int, int], ...]
    is_stopped: bool

    def by_hand(self) -> str:
        """Judge it by the bounds of its crossings alone: 2 h to 70 °F, 6 h to 41 °F."""
        start = next(minute for minute, temp in self.readings if temp == 135)
        found = [
            _bounded(start, level, within, self.readings)
            for level, within in ((70, 120), (41, 360))
        ]
        return next(one for one in ("not met", "not shown", "met") if one in found)


def _bounded(start: int, level: int, within: int, readings: tuple[tuple[int, int], ...]) -> str:
    above = max(minute for minute, temp in readings if temp > level)
    below = [minute for minute, temp in readings if temp <= level]
    if above - start >= within:
        return "not met"
    return "met" if below and below[0] - start <= within else "not shown"


def simulated(number: int, days: int) -> tuple[list[Draft], list[Cooled]]:
    """Give what a kitchen enters in so many days before now, in order of time, and its coolings."""
    chance = random.Random(number)
    begins = NOW.replace(hour=0) - days * timedelta(days=1)
    bodies: list[Body] = [
        KitchenSettings(
            name=f"Simulated {number}", zone="UTC", degree="F", altitude_m=0, limit_set="food-code-2022",
            limits_digest=shipped("food-code-2022").digest, check_every_min=60, grace_min=15,
        ),
        Person(initials="AR", name="A. R.", role="manager"),
        Person(initials="JM", name="J. M.", role="cook"),
        Thermometer(label="T1", accuracy="2F"),
        HoldingUnit(name="walk-in", holds="cold", every_min=960),
        HoldingUnit(name="reach-in", holds="cold", every_min=960),
    ]  # fmt: skip
    drafts = [Draft(body=body, at=begins, person="AR") for body in bodies]
    facts: list[Cooled] = []
    foods = [f"food {n}" for n in chance.sample(range(60), 24)]
    for day in range(days):
        morning = begins + timedelta(days=day, hours=6)
        drafts += [
            _read("cold_hold", 38, morning + timedelta(hours=hour), unit=unit)
            for hour in (0, 9)
            for unit in ("walk-in", "reach-in")
        ]
        if morning.weekday() < 5:
            for n in range(3):
                at, code = morning + (40 + 7 * n) * MINUTE, f"b{day}-{n}"
                made, fact = _batch(chance, at, code, chance.choice(foods))
                drafts += made
                facts += [fact] if not fact.is_stopped else []
    return sorted(drafts, key=lambda one: one.at), facts


def _batch(chance: random.Random, at: datetime, code: str, food: str) -> tuple[list[Draft], Cooled]:
    """Give what is entered of a batch that is cooked, cooled and gone."""
    method = chance.choice(METHODS)
    (way,) = chance.choices(list(WAYS), CHANCES)
    readings = tuple((m + chance.randrange(3) * (m in (80, 200)), t) for m, t in WAYS[way])
    begins = at + 60 * MINUTE
    opened: Body = BatchOpened(food=food, amount="12 gal", food_kind="plant food")
    made = [Draft(body=opened, at=at, person="JM", batch=code), _read("cook", 190, begins, code)]
    if method:
        made.append(Draft(body=CoolingSetup(method=method), at=begins, person="JM", batch=code))
    made += [_read("cool", temp, begins + (5 + minute) * MINUTE, code) for minute, temp in readings]
    last = made[-1].at
    if way == "reheated in time":
        made.append(_read("reheat", 170, last + 10 * MINUTE, code, held="15"))
        ends: Body = UsedUp()
        last += 10 * MINUTE
    else:
        is_decided = chance.random() < 0.8
        ends = Discarded(reason="too slow") if way != "well" and is_decided else UsedUp()
    made.append(Draft(body=ends, at=last + 20 * MINUTE, person="AR", batch=code))
    fact = Cooled(f"{begins:%Y-%m}", food, method, readings, way == "reheated in time")
    return made, fact


def _read(
    step: str,
    temp: int,
    at: datetime,
    batch: str | None = None,
    unit: str | None = None,
    held: str = "",
) -> Draft:
    held = held or ("60" if step == "cook" else "0")
    body = Measured(step=step, temp=str(temp), degree="F", held_s=held, thermometer="T1")
    return Draft(body=body, at=at, person="JM", batch=batch, unit=unit)


def fill(job: tuple[Server, int, int]) -> tuple[str, list[Cooled]]:
    """Put a simulated kitchen's entries into its chain; gives its facts."""
    place, number, days = job
    drafts, facts = simulated(number, days)
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
