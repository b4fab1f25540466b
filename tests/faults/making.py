"""Makes records to break, and looks at what is left without haccp's own eyes."""

import contextlib
import hashlib
import json
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from alembic import command
from alembic.config import Config
from click.testing import CliRunner, Result

from haccp import limits
from haccp.assets import folder
from haccp.cli.main import cli
from haccp.cli.session import Session
from haccp.record import bodies as kinds
from haccp.record import bodies_of_record as own
from haccp.record.entries import FIRST, Draft, as_row
from haccp.record.pins import set_pin
from haccp.record.store import Record, open_record

NOON = datetime(2026, 10, 26, 18, 0, tzinfo=UTC)
EVENING = NOON + timedelta(hours=12)
PIN = "2580"
COLUMNS = (
    "previous", "seq", "kind", "entered_at", "at", "person", "batch", "unit", "corrects", "body",
)  # fmt: skip
INSERT = (
    "INSERT INTO entry (seq, kind, at, entered_at, person, batch, unit, corrects, body, previous,"
    " digest) VALUES (:seq, :kind, :at, :entered_at, :person, :batch, :unit, :corrects, :body,"
    " :previous, :digest)"
)


def noon() -> datetime:
    return NOON


def reading(temp: str = "98", *, minute: int = 0, note: str = "", corrects: int = 0) -> Draft:
    return Draft(
        body=kinds.Measured(step="cool", temp=temp, degree="F", note=note),
        at=NOON + timedelta(minutes=minute),
        person="JM",
        batch="stew",
        corrects=corrects or None,
    )


def kitchen_drafts() -> list[Draft]:
    """A kitchen with one entry of every kind that there is."""
    kitchen = kinds.KitchenSettings(
        name="Test Kitchen",
        zone="America/Denver",
        degree="F",
        altitude_m=1640,
        limit_set="food-code-2022",
        limits_digest=limits.shipped().digest,
    )

    def made(body: kinds.Body, by: str = "JM", **more: Any) -> Draft:
        return Draft(body=body, at=NOON, person=by, **more)

    drafts = [
        made(kitchen, "AR"),
        made(kinds.Person(initials="AR", name="A. R.", role="manager"), "AR"),
        made(own.PinSet(initials="AR"), "AR"),
        made(kinds.Person(initials="JM", name="J. M.", role="cook"), "AR"),
        made(kinds.Thermometer(label="T1", accuracy="2F"), "AR"),
        made(kinds.HoldingUnit(name="well-1", holds="hot", every_min=60), "AR"),
        made(kinds.ThermometerCheck(thermometer="T1", temp="32", degree="F", passed=True)),
        made(kinds.BatchOpened(food="white-bean stew", amount="12 gal"), batch="stew"),
        made(kinds.BatchOpened(food="rice", made_from=("stew",)), batch="rice"),
        made(kinds.BatchOpened(food="crème"), batch="soup"),
        made(kinds.Measured(step="hot_hold", temp="141", degree="F"), unit="well-1"),
        made(kinds.UnitEmptied(), unit="well-1"),
        reading("136"),
        reading("98", minute=60, note="stirred, 2 pans"),
        reading("89", minute=60, corrects=14),
        made(kinds.CorrectiveAction(text='moved to the blast chiller; "fast"'), batch="stew"),
        made(kinds.Withdrawn(reason="wrong pan"), batch="stew", corrects=13),
        made(kinds.Discarded(reason="dropped"), batch="soup"),
        made(kinds.UsedUp(), batch="rice"),
        made(own.ClockMoved(last_entered_at="2026-10-26T18:00:00Z", seconds=-700)),
        made(kinds.DaySigned(day="2026-10-25", undecided=0, note="all seen"), "AR"),
        made(
            kinds.PlannedFood(name="white-bean stew", steps=("cook", "cool"), nature="thick"), "AR"
        ),
        made(kinds.DoubtSettled(thermometer="T1", reason="read beside T2"), "AR"),
        made(kinds.Released(reason="measured twice"), "AR", batch="stew"),
        made(kinds.DeliveryRejected(reason="torn"), batch="soup"),
        made(kinds.Diverted(to="the compost"), batch="soup"),
        made(kinds.SetApart(reason="until somebody decides"), batch="stew"),
        made(kinds.Frozen(), batch="stew"),
        made(kinds.Thawed(), batch="stew"),
        made(kinds.TakenOut(), batch="stew"),
        made(kinds.Moved(), batch="stew", unit="well-1"),
        made(kinds.DayClosed(first="2026-10-25", last="2026-10-25", reason="holiday"), "AR"),
        made(
            kinds.OvenAccepted(oven="still dry", authority="the county", letter="2026-09-14"), "AR"
        ),
        made(kinds.Renamed(name="pan-3"), batch="stew"),
        made(kinds.Assessed(ph="3.9", water_activity="0.93", result="non-TCS"), "AR", batch="soup"),
        made(kinds.CoolingPlanned(asked="12 gal, 2 in", curve=("0 135 135 135",)), batch="stew"),
        made(kinds.CoolingSetup(nature="thick", air="38F"), batch="stew"),
        made(
            own.Restored(
                replaced=9, replaced_digest="", restored=8, restored_digest=FIRST, proved=True
            ),
            "AR",
        ),
        made(
            own.HandedOver(
                server="postgresql+psycopg://k_0@host/kitchens",
                until=9,
                head=FIRST,
                received_at="2026-10-26T18:00:00Z",
                signature=FIRST,
            ),
            "AR",
        ),
        made(
            own.ForkKept(
                server="postgresql+psycopg://k_0@host/kitchens",
                after=8,
                entries=1,
                head=FIRST,
                about=("stew",),
                since="2026-10-26T18:00:00Z",
            ),
            "AR",
        ),
        made(
            own.ForkDecided(
                server="postgresql+psycopg://k_0@host/kitchens",
                after=8,
                entries=1,
                head=FIRST,
                reason="the backup was old",
            ),
            "AR",
        ),
        made(kinds.ContainerOpened(), batch="stew"),
        made(kinds.NotMeasured(reason="door blocked"), unit="well-1"),
        made(
            kinds.Logged(
                step="hot_hold",
                degree="F",
                readings=("0 141.5", "60 141.0", "120 140.5"),
                probe="Probe 1",
                source="wells.csv",
                source_digest=FIRST,
                thermometer="T1",
            ),
            unit="well-1",
        ),
    ]
    out = kinds.LeftOut(of=len(drafts), first="2026-10-26T18:00:00Z", reason="on the bench")
    drafts.append(made(out, unit="well-1"))
    assert {draft.body.kind for draft in drafts} == set(kinds.KINDS)
    return drafts


def make_kitchen(path: Path, readings: int = 0) -> list[dict[str, Any]]:
    """Make a record with every kind of entry, a manager's PIN and so many readings more."""
    record = open_record(path, create=True)
    record.append(kitchen_drafts(), noon)
    set_pin(record, "AR", PIN, NOON)
    if readings:
        made = [reading(str(60 + n % 30), minute=61 + n, note=f"no. {n}") for n in range(readings)]
        record.append(made, noon)
    rows = list(record.rows())
    record.close()
    return rows


def chained(drafts: Sequence[Draft]) -> list[dict[str, Any]]:
    """Chain drafts into rows without a record."""
    rows: list[dict[str, Any]] = []
    for seq, draft in enumerate(drafts, 1):
        previous = rows[-1]["digest"] if rows else FIRST
        rows.append(as_row(draft, seq=seq, entered_at=NOON, previous=previous))
    return rows


def make_old(path: Path, rows: Sequence[dict[str, Any]]) -> None:
    """Make a record as the first version did: schema 0001 alone, entries put in by plain SQL."""
    config = Config()
    config.set_main_option("script_location", str(folder("db")))
    engine = sa.create_engine(f"sqlite:///{path}")
    with engine.connect() as connection, connection.begin():
        config.attributes["connection"] = connection
        command.upgrade(config, "0001")
    engine.dispose()
    with closing(sqlite3.connect(path)) as plain, plain:
        plain.executemany(INSERT, rows)


def digest_by_hand(row: dict[str, Any]) -> str:
    """The digest as it is documented, computed without haccp."""
    line = json.dumps(
        [row[column] for column in COLUMNS],
        sort_keys=True,
        separators=(",", ":"),
        ensure_ascii=False,
    )
    return hashlib.sha256(line.encode("utf-8")).hexdigest()


def rows_by_hand(path: Path) -> list[dict[str, Any]]:
    """Read a record's rows through sqlite3 alone; what a killed writer left is rolled back."""
    with closing(sqlite3.connect(path)) as connection:
        connection.row_factory = sqlite3.Row
        tables = connection.execute("SELECT name FROM sqlite_master WHERE name = 'entry'")
        if not tables.fetchone():
            return []
        return [dict(row) for row in connection.execute("SELECT * FROM entry ORDER BY seq")]


def assert_one_chain(rows: Sequence[dict[str, Any]]) -> None:
    """Walk the chain by hand."""
    previous = "0" * 64
    for number, row in enumerate(rows, 1):
        assert row["seq"] == number
        assert row["previous"] == previous, number
        assert row["digest"] == digest_by_hand(row), number
        previous = row["digest"]


def type_in(path: Path, *words: str, now: datetime = EVENING) -> Result:
    """Run a command line in this process, by AR with their PIN, on a clock of our own."""
    session = Session(path, lambda: now, ask=lambda _: PIN)
    return CliRunner(env={"HACCP_BY": "AR"}).invoke(cli, words, obj=session, prog_name="haccp")


@dataclass(frozen=True)
class Answer:
    """What a command line said, and the code it left with."""

    exit_code: int
    stdout: str
    stderr: str


def refused_in_one_sentence(result: Result | Answer) -> str:
    """Hold that a command was refused as a person should see it; give the sentence."""
    told = result.stderr
    assert result.exit_code == 2, f"{result.exit_code}: {told}"
    assert len(told.strip().splitlines()) == 1, told
    assert told.startswith("Refused: "), told
    return told


@contextlib.contextmanager
def opened(path: Path) -> Iterator[Record]:
    record = open_record(path, create=False)
    try:
        yield record
    finally:
        record.close()


@contextlib.contextmanager
def an_attacker(path: Path) -> Iterator[sqlite3.Connection]:
    """Open a record without its guards, and put them back as they were afterwards."""
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA ignore_check_constraints = ON")
        guards = connection.execute(
            "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
        ).fetchall()
        for name, _ in guards:
            connection.execute(f"DROP TRIGGER {name}")
        yield connection
        for _, sql in guards:
            connection.execute(sql)
        connection.commit()
