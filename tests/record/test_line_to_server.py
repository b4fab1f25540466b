"""The line between a kitchen and its server: encrypted as its URL says, told where it is not, no pooler."""

import shutil
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from threading import Thread

import pytest

from haccp.errors import Refused
from haccp.record import postgres
from haccp.record import server as administration
from haccp.record.places import Server
from haccp.record.store import open_record
from tests import servers
from tests.record.making import NOON, measured
from tests.servers import Running


def _own_address() -> str:
    """Give this machine's address on its network; no packet is sent to learn it."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        try:
            asked.connect(("192.0.2.1", 9))
        except OSError:
            pytest.skip("this machine is on no network")
        return str(asked.getsockname()[0])


def _free_port() -> int:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return int(free.getsockname()[1])


@dataclass
class Listening:
    """A server that listens on this machine's network, and a kitchen's account there."""

    running: Running
    address: str
    certificate: Path
    account: administration.Account

    def url(self, host: str, options: str = "") -> str:
        who = f"{self.account.role}:{self.account.password}"
        return f"postgresql+psycopg://{who}@{host}:{self.running.port}/kitchens{options}"


@pytest.fixture(scope="module")
def listening() -> Iterator[Listening]:
    """One whose certificate it made itself, for the name localhost."""
    openssl = shutil.which("openssl")
    if openssl is None:
        pytest.skip("no openssl is installed here")
    running, address = servers.laid(servers.binaries()), _own_address()
    running.port = _free_port()
    data = running.folder / "data"
    certificate, key = data / "server.crt", data / "server.key"
    running.run(
        openssl, "req", "-new", "-x509", "-days", "2", "-nodes", "-subj", "/CN=localhost",
        "-addext", "subjectAltName=DNS:localhost", "-keyout", key, "-out", certificate,
    )  # fmt: skip
    running.run("/bin/chmod", "600", key)
    with (data / "postgresql.conf").open("a") as file:
        file.write(f"listen_addresses = 'localhost, {address}'\nport = {running.port}\nssl = on\n")
    with (data / "pg_hba.conf").open("a") as file:
        file.write("host all all all scram-sha-256\n")
    try:
        servers.prepared(running)
    except AssertionError as why:
        shutil.rmtree(running.folder)
        if "SSL is not supported by this build" in str(why):
            pytest.skip("this PostgreSQL was built without TLS")
        raise
    account = administration.add_kitchen(running.as_superuser, "North")
    yield Listening(running, address, certificate, account)
    servers.ended(running)


def _enters(url: str) -> bool:
    """Enter something over a line; say whether it was encrypted."""
    with closing(open_record(Server(url), create=False)) as record:
        record.append([measured(130)], lambda: NOON)
        with record.transaction() as connection:
            asked = "SELECT ssl FROM pg_stat_ssl WHERE pid = pg_backend_pid()"
            return bool(connection.exec_driver_sql(asked).scalar_one())


def test_a_url_that_asks_for_the_servers_certificate_gets_it_checked(listening: Listening) -> None:
    known = f"?sslmode=verify-full&sslrootcert={listening.certificate}"
    assert _enters(listening.url("localhost", known))
    with pytest.raises(Refused, match="does not match host name"):
        _enters(listening.url(listening.address, known))
    with pytest.raises(Refused, match="certificate verify failed|root certificate file"):
        _enters(listening.url("localhost", "?sslmode=verify-full"))


def _said(listening: Listening, host: str, options: str = "") -> str:
    """Say what is told before the answer, that there is no kitchen yet."""
    typed = [sys.executable, "-m", "haccp", "--db", listening.url(host, options), "due"]
    told = subprocess.run(typed, capture_output=True, text=True, check=False).stderr
    assert listening.account.password not in told
    before, _, answer = told.partition("Refused: ")
    assert "holds no kitchen yet" in answer
    return before


def test_a_line_that_others_may_read_is_told_once(listening: Listening) -> None:
    told = _said(listening, listening.address, "?sslmode=allow")
    assert told == (
        f"CAUTION: the line to postgresql+psycopg://{listening.account.role}@{listening.address}:"
        f"{listening.running.port}/kitchens is not encrypted, and others on its network may read along: "
        "add sslmode=verify-full to its URL (sslmode=disable says that it is meant so).\n"
    )
    # encrypted; on this machine alone; said to be meant so
    assert _said(listening, listening.address) == ""
    assert _said(listening, "localhost", "?sslmode=allow") == ""
    assert _said(listening, listening.address, "?sslmode=disable") == ""


def test_what_a_pooler_drops_is_told_and_nothing_is_recorded(
    server: Running, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One that is told to ignore the settings of a connection: PgBouncer's ignore_startup_parameters."""
    place = server.kitchen("Behind a pooler")
    monkeypatch.setattr(postgres, "_SETTINGS", "")
    for refused in (
        lambda: open_record(place, create=False),
        lambda: administration.kitchens(server.as_superuser),
        lambda: administration.prepare(server.as_superuser),
    ):
        with pytest.raises(Refused, match="pooler of connections, which drops the settings"):
            refused()


def test_a_pooler_that_refuses_settings_is_told() -> None:
    """With the words that PgBouncer 1.18 was seen to answer with."""
    fields = b"SFATAL\0C08P01\0Munsupported startup parameter: options\0\0"

    def answer() -> None:
        connection, _ = listener.accept()
        with connection:
            asked = connection.recv(4096)
            if asked[4:8] == b"\x04\xd2\x16\x2f":  # for encryption first
                connection.sendall(b"N")
                connection.recv(4096)
            connection.sendall(b"E" + (len(fields) + 4).to_bytes(4, "big") + fields)

    with socket.create_server(("127.0.0.1", 0)) as listener:
        thread = Thread(target=answer)
        thread.start()
        url = f"postgresql+psycopg://k_0:p@127.0.0.1:{listener.getsockname()[1]}/kitchens?gssencmode=disable"
        with pytest.raises(Refused, match="pooler of connections, which drops the settings"):
            open_record(Server(url), create=False)
        thread.join(10)
