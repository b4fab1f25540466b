"""A server that is killed in the middle of many kitchens' entries loses nothing that it answered."""

import multiprocessing
import random
import time
from collections.abc import Iterator
from contextlib import closing, suppress
from pathlib import Path

import pytest

from haccp.errors import Refused
from haccp.record.chain import first_misfit
from haccp.record.places import Server
from haccp.record.store import open_record
from tests import servers
from tests.record.making import NOON, measured
from tests.servers import Running


@pytest.fixture
def own_server() -> Iterator[Running]:
    running = servers.made()
    yield running
    servers.ended(running)


def _enter(place: Server, told: Path, started: "multiprocessing.synchronize.Event") -> None:
    """Enter as fast as it goes; write down each entry that was acknowledged, as a person would."""
    with (
        told.open("a", buffering=1) as acknowledged,
        suppress(Refused),
        closing(open_record(place, create=False)) as record,
    ):
        started.set()
        while True:
            made = record.append([measured(130), measured(120)], lambda: NOON)
            acknowledged.writelines(f"{one.seq} {one.digest}\n" for one in made)


def _rounds(server: Running, folder: Path, rounds: int) -> int:
    context = multiprocessing.get_context("spawn")
    places = [server.kitchen(f"Kitchen {number}") for number in range(3)]
    chance = random.Random(7)
    acknowledged = 0
    for _ in range(rounds):
        started = [context.Event() for _ in range(4)]
        # the first kitchen has two who enter at once
        writers = [
            context.Process(target=_enter, args=(places[n % 3], folder / f"{n}.told", started[n]))
            for n in range(4)
        ]
        for writer in writers:
            writer.start()
        for one in started:
            assert one.wait(60)
        time.sleep(chance.uniform(0.05, 0.6))
        server.kill()
        for writer in writers:
            writer.join(60)
            assert writer.exitcode == 0
        server.start()
        acknowledged = _everything_is_there(places, folder)
    return acknowledged


def _everything_is_there(places: list[Server], folder: Path) -> int:
    count = 0
    for number, place in enumerate(places):
        told = [folder / f"{n}.told" for n in range(4) if n % 3 == number]
        with closing(open_record(place, create=False)) as record:
            rows = {row["seq"]: row["digest"] for row in record.rows()}
            assert first_misfit(record.rows()) is None
            assert record.differences() == []
        for line in (line for file in told for line in file.read_text().splitlines()):
            seq, digest = line.split()
            assert rows[int(seq)] == digest, "an entry that was acknowledged is lost"
            count += 1
    return count


def test_nothing_acknowledged_is_lost_when_the_server_is_killed(
    own_server: Running, tmp_path: Path
) -> None:
    assert _rounds(own_server, tmp_path, 2) > 20


@pytest.mark.long
def test_nothing_acknowledged_is_lost_by_many_kills(own_server: Running, tmp_path: Path) -> None:
    assert _rounds(own_server, tmp_path, 10) > 300
