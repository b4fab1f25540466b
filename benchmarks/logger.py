"""How long a logger's file of a million readings takes, beside the database shell's own import.

usage: logger.py [READINGS] (1,000,000). Debian: apt install sqlite3. The file is invented.

Prints the CPU of `sqlite3 .import` into a bare table, of a bare insert of as many chained entries
into a record's own table (what one entry for each reading would cost SQLite alone), and of
`haccp load-readings`, which parts its file, chains an entry for each hour and derives its lists,
and with what it says of the newest readings; the ratio to the first, the peak memory and the bytes
on disk.
"""

import os
import resource
import sqlite3
import subprocess
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

_SETUP = (
    'setup "Juniper Flats Central Kitchen" --zone America/Denver --altitude 1640m --manager AR '
    '--manager-name "Asta Rillwood" --people "TP Tavi Pellmarsh" --hot well-1 --cold walk-in '
    "--thermometers T1"
)


def main(readings: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        here = Path(folder)
        file = here / "cooler.csv"
        _write(file, readings)
        shell = _shell(here, file)
        print(f"{readings:,} readings, {file.stat().st_size / 1e6:.0f} MB; CPU seconds")
        print(f"sqlite3 .import into a bare table      {shell:6.2f}   1.0")
        few = min(readings, 200_000)
        alone = _an_entry_each(here, few) * readings / few
        print(f"an entry each, SQLite's insert alone   {alone:6.2f}   {alone / shell:.1f}")
        cpu, peak, size = _load(here / "unjudged", file, _UNJUDGED)
        print(f"haccp load-readings, an hour an entry  {cpu:6.2f}   {cpu / shell:.1f}")
        cpu, peak, size = _load(here / "judged", file, ["-m", "haccp"])
        print(f"... and the newest of it judged        {cpu:6.2f}   {cpu / shell:.1f}")
        print(f"peak {peak / 1e6:.0f} MB; record {size / 1e6:.0f} MB, {size / readings:.1f} B each")


def _write(file: Path, readings: int) -> None:
    begins = datetime.now(UTC).replace(second=0, microsecond=0) - timedelta(minutes=readings + 1)
    with file.open("w", encoding="utf-8") as out:
        out.write("Serial,12345\n\nTime,Channel 1 (°F)\n")
        for i in range(readings):
            out.write(
                f"{begins + timedelta(minutes=i):%Y-%m-%d %H:%M:%S}Z,{36 + i % 37 / 10:.1f}\n"
            )


def _shell(here: Path, file: Path) -> float:
    command = ["sqlite3", str(here / "bare.sqlite3"), ".mode csv", f".import {file} readings"]
    return _cpu_of(command)[0]


def _cpu_of(command: list[str], **more: object) -> tuple[float, int]:
    """Run a command; give its CPU [s] and its peak memory [B]."""
    process = subprocess.Popen(
        command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, **more
    )  # type: ignore[call-overload]
    _, status, used = os.wait4(process.pid, 0)
    assert status == 0, command
    return used.ru_utime + used.ru_stime, used.ru_maxrss * 1024


def _an_entry_each(here: Path, readings: int) -> float:
    from haccp.record.store import open_record

    path = here / "each.sqlite3"
    open_record(path, create=True).close()
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("BEGIN IMMEDIATE")
    at = "2026-01-01T00:00:00Z"
    body = '{"degree":"F","held_s":"0","step":"cold_hold","temp":"38.5","thermometer":"T1"}'
    rows = (
        (n, "reading", at, at, "TP", None, "walk-in", None, body, os.urandom(32).hex(),
         os.urandom(32).hex())
        for n in range(1, readings + 1)
    )  # fmt: skip
    begun = time.process_time()
    connection.executemany(f"INSERT INTO entry VALUES ({', '.join('?' * 11)})", rows)
    connection.execute("ROLLBACK")
    return time.process_time() - begun


# The command but for what it says of the readings once they are recorded.
_SAYS_NOTHING = (
    "import haccp.__main__, haccp.cli.logger\n"
    "haccp.cli.logger.tell_unit = lambda *_: None\n"
    "haccp.__main__.main()"
)
_UNJUDGED = ["-c", _SAYS_NOTHING]


def _load(here: Path, file: Path, haccp_as: list[str]) -> tuple[float, int, int]:
    here.mkdir()
    record = here / "record.sqlite3"
    haccp = [sys.executable, "-m", "haccp", "--db", str(record)]
    environment = {**os.environ, "XDG_CONFIG_HOME": str(here), "HACCP_BY": "TP"}
    subprocess.run(
        f"{' '.join(haccp)} {_SETUP}", shell=True, env=environment, input=b"2580\n2580\n",
        check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    before = record.stat().st_size
    loading = [sys.executable, *haccp_as, "--db", str(record), "load-readings", str(file)]
    loading += ["--probe", "walk-in", "--yes"]
    cpu, peak = _cpu_of(loading, env=environment)
    return cpu, peak, record.stat().st_size - before


if __name__ == "__main__":
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    main(int(sys.argv[1]) if sys.argv[1:] else 1_000_000)
