"""A prepared database with its kitchens moves to a later version of the server, and all of it holds.

Both ways that PostgreSQL has: dumped and restored, upgraded in place. The versions are the oldest
that is there and the one that the tests run on.
"""

import shutil
from collections.abc import Callable, Iterator
from contextlib import closing

import pytest
from click.testing import CliRunner

from haccp.cli.main import cli
from haccp.record import server as administration
from haccp.record.places import Server
from haccp.record.store import open_record
from haccp.record.verify import walk
from tests import servers
from tests.kitchens import Kitchen
from tests.record.making import NOON, measured
from tests.servers import Running


@pytest.fixture
def older() -> Iterator[Running]:
    # with checksums of its pages, as 18 lays one: a server is upgraded to one that is laid alike
    running = servers.prepared(servers.laid(servers.oldest(), "--data-checksums"))
    yield running
    if (running.folder / "data" / "postmaster.pid").exists():
        running.stop("immediate")
    shutil.rmtree(running.folder)


@pytest.fixture
def newer() -> Iterator[Running]:
    running = servers.laid(servers.binaries(), "--data-checksums")
    yield running
    servers.ended(running)


def _dumped_and_restored(older: Running, newer: Running) -> None:
    dump = newer.folder / "dump.sql"
    newer.run("pg_dumpall", "-h", older.folder, "-U", "owner", "-f", dump)
    older.stop()
    newer.start()
    newer.run("psql", "-h", newer.folder, "-U", "owner", "-d", "postgres", "-q", "-f", dump)


def _upgraded_in_place(older: Running, newer: Running) -> None:
    older.stop()
    newer.run(
        "pg_upgrade", "-U", "owner", "-s", newer.folder, "-b", older.programs, "-B", newer.programs,
        "-d", older.folder / "data", "-D", newer.folder / "data",
    )  # fmt: skip
    newer.start()


@pytest.mark.parametrize("moved", [_dumped_and_restored, _upgraded_in_place])
def test_a_server_that_moves_to_a_later_version_holds_all_that_it_held(
    moved: Callable[[Running, Running], None], older: Running, newer: Running, kitchen: Kitchen
) -> None:
    account = older.kitchen("North")
    kitchen.says(f"hand-over {account.url}")
    assert "2 receipts hold" in kitchen.says(f"hand-over {account.url} --check")
    other = older.kitchen("South")
    with closing(open_record(other, create=False)) as record:
        record.append([measured(130), measured(120)], lambda: NOON)
        head = record.head()
    administration.put_into_district(older.as_superuser, "Valley", ["South"])
    administration.add_officer(older.as_superuser, "Officer V", "Valley")
    told = CliRunner().invoke(cli, ["server", "kitchens", older.url(), "--json"]).stdout

    moved(older, newer)

    assert CliRunner().invoke(cli, ["server", "kitchens", newer.url(), "--json"]).stdout == told
    checked = CliRunner().invoke(cli, ["server", "check", newer.url()])
    assert (checked.exit_code, checked.output) == (
        0,
        "Every chain holds, and is what its receipts were signed for.\n",
    )
    # the same account and password, in the other folder
    account, other = (_moved(one, older, newer) for one in (account, other))
    assert "2 receipts hold" in kitchen.says(f"hand-over {account.url} --check")
    kitchen.says("cook stew 170")
    kitchen.says(f"hand-over {account.url}")
    with closing(open_record(other, create=False)) as record:
        assert record.head() == head
        record.append([measured(110)], lambda: NOON)
        assert walk(record, walked=lambda _: None).whole
        assert record.problems() + record.differences() == []
    assert not administration.prepare(newer.as_superuser)


def _moved(account: Server, older: Running, newer: Running) -> Server:
    return Server(account.url.replace(str(older.folder), str(newer.folder)))
