"""A PostgreSQL server of the tests' own: on a socket in a folder, as a user that is not root."""

import os
import shutil
import signal
import subprocess
import time
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from tempfile import mkdtemp

import psycopg
import pytest

from haccp.record import server as administration
from haccp.record.places import Server

# Where Debian and others keep what a server is started with.
_PLACES = ("/usr/lib/postgresql/*/bin", "/usr/pgsql-*/bin", "/opt/homebrew/opt/postgresql*/bin")

# Set where a test that finds no server must fail and not be skipped.
DEMANDED = "HACCP_NEEDS_SERVER"

# The folder of another version's programs, to run the tests on that one.
PROGRAMS = "HACCP_SERVER_PROGRAMS"


def binaries() -> Path:
    """Find the server that is named, or the newest one installed; skip the test without any."""
    if named := os.environ.get(PROGRAMS):
        if (Path(named) / "initdb").exists():
            return Path(named).resolve()
        pytest.fail(f"{PROGRAMS} names {named}, where no PostgreSQL server is.")
    root = Path("/")
    found = [
        path
        for place in _PLACES
        for path in root.glob(place.lstrip("/"))
        if (path / "initdb").exists()
    ]
    if found:
        return max(found)
    if os.environ.get(DEMANDED):
        pytest.fail("No PostgreSQL server is installed, and the tests are to run with one.")
    pytest.skip("no PostgreSQL server is installed here")


@dataclass
class Running:
    """A server that runs, and its superuser's way in; it is prepared for haccp."""

    folder: Path
    programs: Path
    database: str = "kitchens"

    def start(self, *, wait: bool = True) -> None:
        words = ["start", "-l", str(self.folder / "log"), "-s", "-w" if wait else "-W"]
        self._run("pg_ctl", "-D", str(self.folder / "data"), *words)

    def stop(self, how: str = "fast") -> None:
        self._run("pg_ctl", "-D", str(self.folder / "data"), "-m", how, "-w", "-s", "stop")

    def kill(self) -> None:
        """Take the whole server away as a pulled plug would, and wait until nothing is left."""
        first = int((self.folder / "data" / "postmaster.pid").read_text().splitlines()[0])
        every = [first, *(one for one in _processes() if _parent_of(one) == first)]
        for one in every:
            try:
                os.kill(one, signal.SIGKILL)
            except ProcessLookupError:
                continue
        while any(_lives(one) for one in every):
            time.sleep(0.01)
        # whoever has to may not have taken note of its end yet, and it would be taken for alive
        for left in ("data/postmaster.pid", ".s.PGSQL.5432.lock", ".s.PGSQL.5432"):
            (self.folder / left).unlink(missing_ok=True)

    def url(self, name: str = "owner", password: str = "", database: str = "") -> str:
        who = f"{name}:{password}" if password else name
        return f"postgresql+psycopg://{who}@/{database or self.database}?host={self.folder}"

    @property
    def as_superuser(self) -> Server:
        return Server(self.url())

    def kitchen(self, name: str) -> Server:
        """Give a new kitchen of that name, with its account's name and password."""
        account = administration.add_kitchen(self.as_superuser, name)
        return Server(self.url(account.role, account.password))

    def connect(self, url: str = "") -> psycopg.Connection:
        plain = (url or self.url()).replace("+psycopg", "")
        return psycopg.connect(plain, autocommit=True, options="-c search_path=haccp")

    def new_database(self, name: str) -> "Running":
        with closing(self.connect(self.url(database="postgres"))) as connection:
            connection.execute(f'CREATE DATABASE "{name}" ENCODING UTF8 TEMPLATE template0')
        return Running(self.folder, self.programs, name)

    def _run(self, program: str, *words: str) -> None:
        run = subprocess.run(
            [*_as_nobody_great(), str(self.programs / program), *words],
            cwd=self.folder,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
        assert run.returncode == 0, run.stderr + (self.folder / "log").read_text()[-2000:]


def _as_nobody_great() -> list[str]:
    """A server refuses to run as root: it is the user that its package made."""
    root = os.getuid() == 0
    return ["setpriv", "--reuid=postgres", "--regid=postgres", "--clear-groups"] if root else []


def _processes() -> list[int]:
    return [int(path.name) for path in Path("/proc").glob("[0-9]*")]


def _state_of(process: int) -> list[str]:
    """Give the state and the parent of a process, as the system tells them; nothing of one that ended."""
    try:
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[:2]
    except (FileNotFoundError, ProcessLookupError):
        return []


def _parent_of(process: int) -> int:
    state = _state_of(process)
    return int(state[1]) if state else 0


def _lives(process: int) -> bool:
    state = _state_of(process)
    return bool(state) and state[0] != "Z"


def made(*, settings: str = "") -> Running:
    """Make a server and start it; passwords are asked for of all but its superuser."""
    programs = binaries()
    folder = Path(mkdtemp(prefix="haccp-server-", dir="/tmp"))
    if os.getuid() == 0:
        shutil.chown(folder, "postgres", "postgres")
    running = Running(folder, programs)
    data = folder / "data"
    running._run(
        "initdb",
        "-D",
        str(data),
        "-U",
        "owner",
        "-A",
        "trust",
        "--no-sync",
        "--no-locale",
        "-E",
        "UTF8",
    )
    with (data / "postgresql.conf").open("a") as file:
        file.write(
            f"listen_addresses = ''\nunix_socket_directories = '{folder}'\nmax_connections = 230\n"
            f"password_encryption = 'scram-sha-256'\n{settings}\n"
        )
    (data / "pg_hba.conf").write_text("local all owner trust\nlocal all all scram-sha-256\n")
    running.start()
    running.new_database("kitchens")
    administration.prepare(running.as_superuser)
    return running


def ended(running: Running) -> None:
    running.stop("immediate")
    shutil.rmtree(running.folder)
