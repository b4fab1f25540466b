"""A PostgreSQL server of the tests' own: on a socket in a folder, as a user that is not root."""

import os
import shutil
import signal
import subprocess
import time
from contextlib import closing
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import mkdtemp

import psycopg
import pytest

from haccp.record import server as administration
from haccp.record.places import Server

# Where Debian and others keep what a server is started with.
_PLACES = ("/usr/lib/postgresql/*/bin", "/usr/pgsql-*/bin", "/opt/homebrew/opt/postgresql*/bin")

# The folders of other versions' programs, as PATH names folders: the tests run on the first one.
PROGRAMS = "HACCP_SERVER_PROGRAMS"

# Set where a test that finds no server must fail and not be skipped.
DEMANDED = "HACCP_NEEDS_SERVER"


def binaries() -> Path:
    """Find the server that is named, or else the newest one installed; skip the test without any."""
    found = _named() or sorted(_installed(), key=version_of)[-1:]
    if found:
        return found[0]
    if os.environ.get(DEMANDED):
        pytest.fail("No PostgreSQL server is installed, and the tests are to run with one.")
    pytest.skip("no PostgreSQL server is installed here")


def oldest() -> Path:
    """Find the oldest of all servers that are named or installed; skip the test without any."""
    return min((binaries(), *_named(), *_installed()), key=version_of)


def version_of(programs: Path) -> int:
    """Give the number that a version goes by: 15."""
    told = subprocess.run([programs / "postgres", "--version"], capture_output=True, check=True)
    return int(told.stdout.split()[2].partition(b".")[0])


def _named() -> list[Path]:
    named = [Path(one).resolve() for one in os.environ.get(PROGRAMS, "").split(os.pathsep) if one]
    for one in named:
        assert (one / "initdb").exists(), f"{PROGRAMS} names {one}, where no server is"
    return named


def _installed() -> list[Path]:
    found = (path for place in _PLACES for path in Path("/").glob(place.lstrip("/")))
    return [path for path in found if (path / "initdb").exists()]


@dataclass
class Running:
    """A server that runs, and its superuser's way in; it is prepared for haccp."""

    folder: Path
    programs: Path
    database: str = "kitchens"
    port: int = 5432

    def start(self, *, wait: bool = True) -> None:
        log, waiting = self.folder / "log", "-w" if wait else "-W"
        self.run("pg_ctl", "-D", self.folder / "data", "start", "-l", log, "-s", waiting)

    def stop(self, how: str = "fast") -> None:
        self.run("pg_ctl", "-D", self.folder / "data", "-m", how, "-w", "-s", "stop")

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
        gate = f".s.PGSQL.{self.port}"
        for left in ("data/postmaster.pid", f"{gate}.lock", gate):
            (self.folder / left).unlink(missing_ok=True)

    def url(self, name: str = "owner", password: str = "", database: str = "") -> str:
        who = f"{name}:{password}" if password else name
        at = f"host={self.folder}" + (f"&port={self.port}" if self.port != 5432 else "")
        return f"postgresql+psycopg://{who}@/{database or self.database}?{at}"

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
        return replace(self, database=name)

    def run(self, program: str, *words: str | Path) -> None:
        """Run a program of the server's, or one by its path, as the user that the server runs as."""
        run = subprocess.run(
            [*_as_nobody_great(), self.programs / program, *words],
            cwd=self.folder,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
        log = self.folder / "log"
        assert run.returncode == 0, run.stderr + (log.read_text()[-2000:] if log.exists() else "")


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


def laid(programs: Path, *words: str, settings: str = "") -> Running:
    """Lay a server that is not started; passwords are asked for of all but its superuser."""
    folder = Path(mkdtemp(prefix="haccp-server-", dir="/tmp"))
    if os.getuid() == 0:
        shutil.chown(folder, "postgres", "postgres")
    running = Running(folder, programs)
    data = folder / "data"
    plain = ("-U", "owner", "-A", "trust", "--no-sync", "--no-locale", "-E", "UTF8")
    running.run("initdb", "-D", data, *plain, *words)
    with (data / "postgresql.conf").open("a") as file:
        file.write(
            f"listen_addresses = ''\nunix_socket_directories = '{folder}'\nmax_connections = 230\n"
            f"password_encryption = 'scram-sha-256'\n{settings}\n"
        )
    (data / "pg_hba.conf").write_text("local all owner trust\nlocal all all scram-sha-256\n")
    return running


def made(*, settings: str = "") -> Running:
    """Make a server, start it and prepare it for kitchens."""
    return prepared(laid(binaries(), settings=settings))


def prepared(running: Running) -> Running:
    """Start a server that was laid, and prepare it for kitchens."""
    running.start()
    running.new_database("kitchens")
    administration.prepare(running.as_superuser)
    return running


def ended(running: Running) -> None:
    running.stop("immediate")
    shutil.rmtree(running.folder)
