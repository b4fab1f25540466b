"""A record on a server is the one that a file would hold, entry by entry and page by page."""

import shlex
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import Any, cast

import psycopg
import pytest
from click.testing import CliRunner

from haccp.assets import folder
from haccp.cli.demo import type_week
from haccp.cli.main import cli
from haccp.cli.session import Session
from haccp.errors import Refused
from haccp.logs.sample_week import sample_week
from haccp.record import postgres
from haccp.record import server as administration
from haccp.record.chain import first_misfit
from haccp.record.entries import FIRST, as_row
from haccp.record.migrate import upgrade
from haccp.record.places import Place, Server
from haccp.record.postgres import engine_of
from haccp.record.store import Record, open_record
from haccp.record.verify import walk
from tests.kitchens import Kitchen
from tests.record.making import NOON, measured
from tests.servers import Running


@pytest.fixture
def kitchen_there(server: Running, request: pytest.FixtureRequest) -> Server:
    return server.kitchen(request.node.name)


@pytest.fixture
def record(kitchen_there: Server) -> Iterator[Record]:
    with closing(open_record(kitchen_there, create=False)) as opened:
        yield opened


_SHOWN = (
    "due", "due --json", "list batches --json", "list entries --json", "list people", "list units --json",
    "trends 2026-10-26 2026-11-01 --json", "record unusual 2026-10-26 2026-11-01", "learned", "export - --format csv",
)  # fmt: skip


@pytest.mark.long
def test_the_sample_week_is_the_same_on_both_stores(
    kitchen_there: Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    week = sample_week(folder("sample_logs"))
    file = tmp_path / "record.sqlite3"
    for place in (file, kitchen_there):
        type_week(cli, place, week)
    with closing(open_record(file, create=False)) as one:
        codes = [known.code for known in one.every_batch()]
        rows = list(one.rows())
    with closing(open_record(kitchen_there, create=False)) as other:
        assert list(other.rows()) == rows
        assert other.problems() + other.differences() == []

    def seen(place: Place, words: str) -> bytes:
        session = Session(place, lambda: week[-1].at, ask=lambda _: "2718")
        result = CliRunner().invoke(cli, shlex.split(words), obj=session, prog_name="haccp")
        assert result.exit_code == 0, result.output
        return result.stdout_bytes

    assert len(codes) > 10
    for words in (*_SHOWN, *(f"show {code} --json" for code in codes)):
        assert seen(file, words) == seen(kitchen_there, words), words
    assert b"one chain" in seen(kitchen_there, "record verify")
    pages = []
    for name, place in (("one", file), ("other", kitchen_there)):
        seen(place, f"report 2026-10-26 2026-11-01 --output {tmp_path / name}.pdf")
        pages.append((tmp_path / f"{name}.pdf").read_bytes())
    assert pages[0] == pages[1]


def test_an_entry_is_there_for_the_next_command_and_for_no_other_kitchen(
    server: Running, record: Record
) -> None:
    made = record.append([measured(130), measured(120)], lambda: NOON)
    with closing(open_record(record.place, create=False)) as again:
        assert again.head() == (2, made[-1].digest)
        assert again.entries() == made
    with closing(open_record(server.kitchen("a stranger"), create=False)) as stranger:
        assert stranger.head()[0] == 0
        assert stranger.entries() == []


def test_a_long_chain_is_walked_by_several_processes_at_once(
    record: Record, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("haccp.record.verify.STRETCH", 20)
    record.append([measured(130)] * 75, lambda: NOON)
    walked: list[int] = []
    found = walk(record, walked=walked.append)
    assert (found.misfit, found.whole) == (None, True)
    assert walked == [20, 20, 20, 15]


def test_what_is_derived_is_compared_on_a_server_too(server: Running, record: Record) -> None:
    record.append([measured(130), measured(120)], lambda: NOON)
    assert record.differences() == []
    with record.transaction(writing=True) as connection:
        connection.exec_driver_sql("UPDATE derived_thread SET total = total + 1")
    assert [one for one in record.differences() if "(thread)" in one]


def test_a_database_of_before_is_upgraded_for_every_kitchen(tmp_path: Path) -> None:
    server = _of_before(tmp_path, "0003")
    place = _kitchen_by_hand(server, "k_00000000000000aa")
    with pytest.raises(Refused, match="older schema"):
        open_record(place, create=False)
    assert administration.prepare(server.as_superuser)
    assert not administration.prepare(server.as_superuser)
    with closing(open_record(place, create=False)) as record:
        assert record.problems() == []
        record.append([measured(130)], lambda: NOON)
        assert record.differences() == []


def test_kitchens_with_entries_and_without_go_on_after_an_upgrade(tmp_path: Path) -> None:
    server = _of_before(tmp_path, "0006")
    full, empty = (_kitchen_by_hand(server, f"k_00000000000000a{n}") for n in range(2))
    rows: list[dict[str, Any]] = []
    for number, draft in enumerate(
        (measured(130), measured(120), replace(measured(121), corrects=2)), 1
    ):
        previous = rows[-1]["digest"] if rows else FIRST
        rows.append(as_row(draft, seq=number, entered_at=NOON, previous=previous))
    columns = ", ".join(rows[0])
    marks = ", ".join(["%s"] * len(rows[0]))
    with closing(server.connect(full.url)) as own:
        for row in rows:
            own.execute(f"INSERT INTO entry ({columns}) VALUES ({marks})".encode(), [*row.values()])
        own.execute(  # as the haccp of that schema left it
            "INSERT INTO derived_head (id, seq, digest, threads, open_batches, open_numbers,"
            " reaches_back, standing) VALUES (1, 3, %s, 0, 0, 0, 0, '')",
            (rows[-1]["digest"],),
        )
    assert administration.prepare(server.as_superuser)
    for place, there in ((full, rows), (empty, [])):
        with closing(open_record(place, create=False)) as record:
            assert record.problems() == []
            assert list(record.rows()) == there
            assert record.differences() == []
            for temp in (110, 100):
                record.append([measured(temp)], lambda: NOON)
            assert record.head()[0] == len(there) + 2
            assert first_misfit(record.rows()) is None
            assert record.differences() == []


def _of_before(tmp_path: Path, schema: str) -> Running:
    """Give a database as an earlier haccp prepared it."""
    server = _another(tmp_path, prepared=False)
    for statement in administration._SCHEMA:
        with closing(server.connect()) as connection:
            connection.execute(statement.encode())
    engine = engine_of(server.as_superuser)
    with engine.begin() as connection:
        connection.exec_driver_sql("SET LOCAL ROLE haccp_owner")
        upgrade(connection, to=schema)
    engine.dispose()
    return server


def _kitchen_by_hand(server: Running, role: str) -> Server:
    with closing(server.connect()) as connection:
        connection.execute(f"CREATE ROLE {role} LOGIN PASSWORD 'by-hand'".encode())
        connection.execute(
            "INSERT INTO kitchen (id, role, name) VALUES (kitchen_of(%s), %s, %s)",
            (role, role, f"By hand {role}"),
        )
        connection.execute(
            "INSERT INTO queue (kitchen) SELECT id FROM kitchen WHERE role = %s", (role,)
        )
    return Server(server.url(role, "by-hand"))


@pytest.fixture(autouse=True)
def _running(server: Running) -> Iterator[None]:
    _RUNNING.append(server)
    yield
    _RUNNING.clear()


_RUNNING: list[Running] = []


def _another(tmp_path: Path, *, prepared: bool = True) -> Running:
    """Give an own database of the server that runs."""
    another = _RUNNING[0].new_database(tmp_path.name)
    if prepared:
        administration.prepare(another.as_superuser)
    return another


def test_a_text_with_nul_is_refused_on_both_stores(record: Record, tmp_path: Path) -> None:
    with closing(open_record(tmp_path / "record.sqlite3", create=True)) as file:
        for one in (file, record):
            for draft in (measured(130, person="J\0M"), measured(130, note="a\0b")):
                with pytest.raises(Refused, match="holds the character NUL"):
                    one.append([draft], lambda: NOON)
            assert one.head()[0] == 0


def test_a_kitchen_is_set_up_and_typed_into(
    kitchen_there: Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    typed = Kitchen(cast("Path", kitchen_there))  # a session takes any place
    typed.says('setup "Test Kitchen" --zone America/Denver --manager AR --manager-name "A. R."')
    typed.says("initials AR")
    typed.says("batch stew --code stew")
    assert "stew" in typed.says("list batches")
    assert "one chain" in typed.says("record verify")
    for command in (
        "record backup copy.sqlite3",
        "record restore copy.sqlite3",
        "kitchen --daily-copies 7",
    ):
        told = typed.refuses(command)
        assert "is no file: who runs the server keeps its copies" in told
        assert "haccp export FILE" in told


def _mistakes(server: Running) -> dict[str, tuple[str, str]]:
    account = administration.add_kitchen(
        server.as_superuser, f"mistakes {len(administration.kitchens(server.as_superuser))}"
    )
    url, socket = server.url, server.folder
    here = f"@/{server.database}"
    return {
        "unreachable": (
            url(account.role).replace(str(socket), "/nowhere"),
            f"{account.role}{here} cannot be reached (No such file or directory): check the address, and that the server runs.",
        ),
        "wrong password": (
            url(account.role, "wrong"),
            f'{account.role}{here} refuses the name or the password (password authentication failed for user "{account.role}").',
        ),
        "no such database": (
            url(database="nothing"),
            'There is no such database: postgresql+psycopg://owner@/nothing (database "nothing" does not exist).',
        ),
        "not prepared": (
            url(database="postgres"),
            "postgresql+psycopg://owner@/postgres is not prepared for haccp: who runs the server types haccp server prepare.",
        ),
        "no kitchen's": (
            url(),
            f"Whoever logs in to postgresql+psycopg://owner{here} so is no kitchen of it: use the name and the password that haccp server add-kitchen printed.",
        ),
        "no URL": (
            "postgresql+psycopg://owner@host:port/x",
            "postgresql+psycopg://owner@host:port/x is no URL of a server: type postgresql+psycopg://NAME@HOST/DATABASE",
        ),
    }  # fmt: skip


def test_each_mistake_has_its_sentence_and_tells_no_password(server: Running) -> None:
    for name, (url, sentence) in _mistakes(server).items():
        result = CliRunner().invoke(cli, ["--db", url, "due"])
        assert result.exit_code == 2, name
        assert sentence in result.stderr, name
        assert len(result.stderr.splitlines()) == 1, name
        assert "wrong" not in result.stderr


def test_a_schema_that_is_newer_or_older_is_told(tmp_path: Path) -> None:
    server = _another(tmp_path)
    place = server.kitchen("North")
    for version, told in (("0001", "older schema (0001)"), ("9999", "newer haccp (schema 9999)")):
        with closing(server.connect()) as superuser:
            superuser.execute("UPDATE alembic_version SET version_num = %s", (version,))
        with pytest.raises(Refused) as refused:
            open_record(place, create=False)
        assert told in str(refused.value)


def test_a_password_is_shown_once_and_kept_nowhere(server: Running) -> None:
    shown = CliRunner().invoke(cli, ["server", "add-kitchen", server.url(), "Shown once"]).output
    password = shown.splitlines()[0].partition("Password: ")[2]
    assert len(password) >= 32
    role = shown.splitlines()[-1].partition("//")[2].partition("@")[0]
    assert password not in (server.folder / "log").read_text()
    with closing(open_record(Server(server.url(role, password)), create=False)) as record:
        assert password not in f"{record.place} {record.place!r}"
    anew = CliRunner().invoke(cli, ["server", "new-password", server.url(), "Shown once"]).output
    with pytest.raises(Refused, match="refuses the name or the password"):
        open_record(Server(server.url(role, password)), create=False)
    assert "The kitchen types: haccp --db" in anew and anew.rstrip().endswith(" due")
    password = anew.splitlines()[0].partition("Password: ")[2]
    with closing(open_record(Server(server.url(role, password)), create=False)) as record:
        assert record.head()[0] == 0
    refused = CliRunner().invoke(cli, ["server", "add-kitchen", server.url(), "Shown once"])
    assert "has a kitchen 'Shown once' already" in refused.stderr
    own = CliRunner().invoke(cli, ["server", "kitchens", server.url(role, password)])
    assert "use the account of the server's superuser" in own.stderr
    assert password not in own.stderr


def test_the_password_may_come_from_the_environment(
    server: Running, monkeypatch: pytest.MonkeyPatch
) -> None:
    account = administration.add_kitchen(server.as_superuser, "By environment")
    monkeypatch.setenv("PGPASSWORD", account.password)
    with closing(open_record(Server(server.url(account.role)), create=False)) as record:
        assert record.head()[0] == 0


def test_a_server_that_stops_is_told_and_loses_nothing(tmp_path: Path) -> None:
    own = _RUNNING[0]
    place = own.kitchen("Stopping")
    with closing(open_record(place, create=False)) as record:
        record.append([measured(130)], lambda: NOON)
        own.stop("immediate")
        try:
            with pytest.raises(Refused, match="broke: nothing was recorded|cannot be reached"):
                record.append([measured(120)], lambda: NOON)
        finally:
            own.start()
        assert len(record.append([measured(110)], lambda: NOON)) == 1
        assert [one["seq"] for one in record.rows()] == [1, 2]


def _lose_the_answer(monkeypatch: pytest.MonkeyPatch, *, at_once: bool, arrives: bool) -> None:
    """Break the line at the next commit: of a transaction, or of what is entered at once."""
    where, name = (postgres, "_prepared") if at_once else (psycopg.Connection, "commit")
    real = getattr(where, name)

    def broken(line: Any, *values: object) -> None:
        monkeypatch.setattr(where, name, real)
        if arrives:
            real(line, *values)
        line.finish() if at_once else line.close()
        raise psycopg.OperationalError("server closed the connection unexpectedly")

    monkeypatch.setattr(where, name, broken)


@pytest.mark.parametrize("at_once", [True, False])
@pytest.mark.parametrize("arrives", [True, False])
def test_where_the_answer_to_a_commit_is_lost_it_is_looked_up(
    record: Record, monkeypatch: pytest.MonkeyPatch, *, arrives: bool, at_once: bool
) -> None:
    record.append([measured(130)], lambda: NOON)
    if not at_once:
        record = Record(record.store)  # which has entered nothing, and asks first
    _lose_the_answer(monkeypatch, at_once=at_once, arrives=arrives)
    if arrives:
        (made,) = record.append([measured(120)], lambda: NOON)
        assert record.head() == (2, made.digest)
    else:
        with pytest.raises(Refused, match="broke: nothing was recorded"):
            record.append([measured(120)], lambda: NOON)
        assert record.head()[0] == 1
    assert record.append([measured(110)], lambda: NOON)[0].seq == 2 + arrives
    assert record.differences() == []


def test_where_nobody_can_say_whether_it_was_recorded_that_is_told(
    server: Running, record: Record, monkeypatch: pytest.MonkeyPatch
) -> None:
    commit = psycopg.Connection.commit

    def broken(connection: psycopg.Connection) -> None:
        commit(connection)
        server.stop("immediate")
        connection.close()
        raise psycopg.OperationalError("server closed the connection unexpectedly")

    monkeypatch.setattr(psycopg.Connection, "commit", broken)
    with pytest.raises(Refused, match="haccp list entries says whether it was"):
        record.append([measured(120)], lambda: NOON)
    monkeypatch.undo()
    server.start()
    assert record.head()[0] == 1


def test_psycopg_is_needed_and_its_lack_is_told(server: Running, tmp_path: Path) -> None:
    import subprocess
    import sys

    script = (
        "import sys; sys.modules['psycopg'] = None\n"
        "from haccp.__main__ import main\nmain()\n"
    )  # fmt: skip
    run = subprocess.run(
        [sys.executable, "-c", script, "--db", server.url(), "due"],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert run.returncode == 2
    assert run.stderr.strip() == (
        "Refused: A record on a server needs more of haccp: pip install 'haccp[server]'"
    )


def test_a_row_that_a_superuser_changed_is_found_by_the_chain(
    server: Running, record: Record
) -> None:
    record.append([measured(130), measured(120)], lambda: NOON)
    with closing(server.connect()) as superuser:
        superuser.execute("ALTER TABLE entry DISABLE TRIGGER USER")
        superuser.execute(
            "UPDATE entry SET person = 'XX' WHERE seq = 1 AND digest = %s",
            (next(record.rows())["digest"],),
        )
        superuser.execute("ALTER TABLE entry ENABLE ALWAYS TRIGGER entry_is_never_updated")
        for name in ("is_never_deleted", "is_never_emptied", "follows"):
            superuser.execute(f"ALTER TABLE entry ENABLE ALWAYS TRIGGER entry_{name}".encode())
    entries = record.entries()
    assert entries[0].person == "XX"
    assert [one for one in record.troubles if "no. 1 is not what was recorded" in one]
