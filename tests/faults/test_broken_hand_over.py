"""A hand-over that is broken off anywhere, by the line, by a kill of the client or of the server.

Nothing that was acknowledged is lost, nothing comes twice, and what parts is kept whole.
"""

import multiprocessing
import os
import random
import shutil
import signal
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass, field
from datetime import timedelta
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from haccp.errors import Refused
from haccp.record import hand_over as handing
from haccp.record import postgres
from haccp.record.backup import restore
from haccp.record.bodies_of_record import ForkKept, HandedOver
from haccp.record.chain import first_misfit
from haccp.record.driver import LineBroke
from haccp.record.entries import Draft
from haccp.record.places import Server
from haccp.record.store import Record, open_record
from tests import servers
from tests.record.making import NOON, measured
from tests.servers import Running

Rows = list[dict[str, Any]]


@pytest.fixture
def own_server() -> Iterator[Running]:
    running = servers.made()
    yield running
    servers.ended(running)


@contextmanager
def opened(place: Path | Server) -> Iterator[Record]:
    with closing(open_record(place, create=isinstance(place, Path))) as record:
        yield record


def _hand_over(file: Path, place: Server) -> tuple[int, str]:
    """Hand over all there is and keep the receipts, as the command does; give the head."""
    with opened(file) as mine, opened(place) as there:
        note = partial(_note, mine)
        handed = handing.hand_over(mine, there, NOON, note=note)
        learnt = handing.learnt(mine, there)
        if handed.receipts or learnt:
            _note(mine, *handed.receipts, *learnt)
            handing.hand_over(mine, there, NOON, note=note)
        return mine.head()


def _note(mine: Record, *bodies: HandedOver | ForkKept) -> None:
    mine.append([Draft(body=body, at=NOON, person="JM") for body in bodies], lambda: NOON)


class BrokenLine(postgres.ServerStore):
    """A line that breaks before a request arrives, or after it did and before its answer."""

    chance = 0.0
    random = random.Random(0)

    @contextmanager
    def transaction(self, *, writing: bool) -> Iterator[Any]:
        if self.random.random() < self.chance:
            raise LineBroke("before")
        with super().transaction(writing=writing) as connection:
            yield connection
            if self.random.random() < self.chance / 2:
                raise LineBroke("in the middle: it is rolled back")
        if self.random.random() < self.chance:
            raise LineBroke("after")


@dataclass
class Kitchen:
    """A kitchen with a till or two that share a chain by mistake, and what was acknowledged."""

    folder: Path
    place: Server
    chance: random.Random
    tills: list[Path] = field(default_factory=list)
    copies: list[Path] = field(default_factory=list)
    acknowledged: dict[int, str] = field(default_factory=dict)
    forks: dict[str, list[str]] = field(default_factory=dict)
    counted: dict[str, int] = field(
        default_factory=lambda: dict.fromkeys(("broken", "forks", "behind", "entries"), 0)
    )

    def step(self) -> None:
        till, what = self.chance.choice(self.tills), self.chance.random()
        if what < 0.45:
            with opened(till) as record:
                number = self.chance.randrange(1, 20)
                at = NOON + timedelta(minutes=self.chance.randrange(10_000))
                record.append(
                    [measured(self.chance.randrange(30, 200)) for _ in range(number)], lambda: at
                )
        elif what < 0.55:
            self.copies.append(self._copy(till, "copy"))
        elif what < 0.62 and self.copies:
            shutil.copy(self.chance.choice(self.copies), till)
        elif what < 0.66 and len(self.tills) < 3:
            self.tills.append(self._copy(till, "till"))
        else:
            self.hand_over(till)

    def _copy(self, till: Path, what: str) -> Path:
        target = self.folder / f"{what}-{len(list(self.folder.iterdir()))}.sqlite3"
        return Path(shutil.copy(till, target))

    def hand_over(self, till: Path) -> None:
        BrokenLine.chance = self.chance.choice((0, 0.05, 0.3))
        for _ in range(3):
            try:
                seq, digest = _hand_over(till, self.place)
            except LineBroke:
                self.counted["broken"] += 1
            except Refused:
                BrokenLine.chance = 0
                self._decide(till)
                return
            else:
                self.acknowledged[seq] = digest
                return

    def _decide(self, till: Path) -> None:
        """Go on along the server's chain; what parted is there, whole."""
        with opened(till) as mine, opened(self.place) as there:
            found = handing.standing(mine, there)
            assert isinstance(found, handing.Parted), found
            found = handing.keep_beside(mine, there, found, partial(_note, mine))
            branch = [row["digest"] for row in mine.rows(found.after + 1)]
        assert branch[-1] == found.head
        self.forks[found.head] = branch
        self.counted["forks"] += 1
        fetched = self.folder / "fetched.sqlite3"
        with opened(fetched) as record, opened(self.place) as there:
            handing.hand_over(record, there, NOON)
        at = NOON + timedelta(seconds=self.counted["forks"])
        restore(fetched, till, lambda _: ("AR", False), lambda: at)
        fetched.unlink()

    def holds(self) -> None:
        with opened(self.place) as there:
            rows = list(there.rows())
            assert first_misfit(rows) is None
            assert there.differences() == []
            with there.transaction() as connection:
                kept = connection.exec_driver_sql(
                    "SELECT head, digest FROM fork_entry ORDER BY seq"
                ).all()
        for seq, digest in self.acknowledged.items():
            assert rows[seq - 1]["digest"] == digest, "an acknowledged head is lost"
        for head, branch in self.forks.items():
            assert [digest for name, digest in kept if name == head] == branch
        self.counted["entries"] = len(rows)


def _runs(
    server: Running, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, runs: int
) -> dict[str, int]:
    monkeypatch.setattr("haccp.record.postgres.ServerStore", BrokenLine)
    monkeypatch.setattr("haccp.record.hand_over.PART", 7)
    total: dict[str, int] = {}
    for seed in range(runs):
        chance = random.Random(seed)
        BrokenLine.random, BrokenLine.chance = chance, 0
        folder = tmp_path / str(seed)
        folder.mkdir()
        kitchen = Kitchen(folder, server.kitchen(f"{tmp_path.name} {seed}"), chance)
        kitchen.tills.append(folder / "record.sqlite3")
        with opened(kitchen.tills[0]) as record:
            record.append([measured(seed, note=str(seed))], lambda: NOON)
        for _ in range(25):
            kitchen.step()
            BrokenLine.chance = 0
        kitchen.holds()
        for name, count in kitchen.counted.items():
            total[name] = total.get(name, 0) + count
    return total


def test_a_line_that_breaks_anywhere_loses_and_doubles_nothing(
    server: Running, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    counted = _runs(server, tmp_path, monkeypatch, 6)
    assert counted["broken"] and counted["forks"], counted


@pytest.mark.long
def test_many_kitchens_whose_lines_break(
    server: Running, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    counted = _runs(server, tmp_path, monkeypatch, 60)
    assert counted["broken"] > 100
    assert counted["forks"] > 30


def _client(file: Path, place: Server, begun: Any, told: Path) -> None:
    handing.PART = 3
    begun.set()
    with suppress(Refused):
        seq, digest = _hand_over(file, place)
        told.write_text(f"{seq} {digest}")


def _kills(server: Running, tmp_path: Path, kills: int, *, of_server: bool) -> int:
    """Kill the client, or the server under it, at a random moment of each hand-over.

    The first is left alone, to know how long one takes here and now.
    """
    context = multiprocessing.get_context("fork")
    chance = random.Random(11)
    place = server.kitchen(f"{tmp_path.name} killed")
    file, told = tmp_path / "record.sqlite3", tmp_path / "told"
    unfinished, took = 0, 0.0
    for number in range(kills + 1):
        with opened(file) as record:
            record.append([measured(chance.randrange(30, 200)) for _ in range(25)], lambda: NOON)
        begun = context.Event()
        told.unlink(missing_ok=True)
        client = context.Process(target=_client, args=(file, place, begun, told))
        client.start()
        assert begun.wait(60)
        since = time.monotonic()
        if number:
            time.sleep(chance.uniform(0, took))
        if not number:
            client.join(60)
            took = time.monotonic() - since
        elif of_server:
            server.kill()
            client.join(60)
            assert client.exitcode == 0
            server.start()
        else:
            os.kill(client.pid or 0, signal.SIGKILL)
            client.join(60)
        with opened(file) as mine, opened(place) as there:
            rows, theirs = list(mine.rows()), list(there.rows())
            assert first_misfit(theirs) is None
            assert theirs == rows[: len(theirs)], "the server holds what the kitchen never wrote"
            assert there.differences() == mine.differences() == []
            unfinished += len(theirs) < len(rows)
            if told.exists():
                assert told.read_text() == f"{theirs[-1]['seq']} {theirs[-1]['digest']}"
    head = _hand_over(file, place)
    with opened(file) as mine, opened(place) as there:
        assert mine.head() == there.head() == head
        assert list(handing.compare_with_receipts(mine, there)) == []
        # the parts whose answer was lost are signed for, too
        assert {one.signature for one in handing.recorded(mine)} <= {
            one.signature for one in handing.receipts(there)
        }
    return unfinished


def test_a_client_that_is_killed_goes_on_where_it_stopped(server: Running, tmp_path: Path) -> None:
    assert _kills(server, tmp_path, 12, of_server=False)


def test_a_server_that_is_killed_goes_on_where_it_stopped(
    own_server: Running, tmp_path: Path
) -> None:
    assert _kills(own_server, tmp_path, 4, of_server=True)


@pytest.mark.long
def test_hundreds_of_clients_that_are_killed(server: Running, tmp_path: Path) -> None:
    assert _kills(server, tmp_path, 200, of_server=False) > 50


@pytest.mark.long
def test_a_hundred_kills_of_the_server(own_server: Running, tmp_path: Path) -> None:
    assert _kills(own_server, tmp_path, 100, of_server=True) > 25
