"""What a server does of an entry in one statement, whoever calls it and whatever is given to it."""

import multiprocessing
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import closing
from datetime import timedelta
from typing import Any

import psycopg
import pytest
from psycopg import errors

from haccp.errors import Refused
from haccp.record import derived, postgres
from haccp.record.chain import first_misfit
from haccp.record.driver import InDoubt, LineBroke, Written
from haccp.record.entries import Draft, as_row
from haccp.record.places import Server
from haccp.record.store import Record, open_record
from tests.record.making import NOON, measured
from tests.servers import Running


@pytest.fixture
def kitchen(server: Running, request: pytest.FixtureRequest) -> Server:
    return server.kitchen(request.node.name)


@pytest.fixture
def record(kitchen: Server) -> Iterator[Record]:
    with closing(open_record(kitchen, create=False)) as opened:
        opened.append([measured(130), measured(120)], lambda: NOON)
        yield opened


def next_of(record: Record, *drafts: Draft) -> Written:
    """Give what is to be written of entries that follow the last one of a record."""
    seq, previous = record.head()
    rows = []
    for draft in drafts or (measured(110),):
        rows.append(as_row(draft, seq=seq + 1, entered_at=NOON, previous=previous))
        seq, previous = seq + 1, rows[-1]["digest"]
    with record.transaction() as connection:
        driver = record.store.driver(connection)
        return derived.Writer(driver).derive(driver, rows)


def call(connection: psycopg.Connection, written: Written) -> bool:
    return postgres._enter(
        written, lambda values: connection.pgconn.exec_params(postgres._ENTER, values)
    )


def test_the_second_entry_of_a_program_is_one_statement(
    record: Record, monkeypatch: pytest.MonkeyPatch
) -> None:
    def asks(*_: object) -> None:
        raise AssertionError("a statement more than one")

    monkeypatch.setattr(psycopg.Connection, "execute", asks)
    monkeypatch.setattr(psycopg.Connection, "commit", asks)
    made = record.append([measured(110), measured(100)], lambda: NOON)
    monkeypatch.undo()
    assert record.head() == (4, made[-1].digest)
    assert record.differences() == []


def test_what_others_entered_meanwhile_is_followed(kitchen: Server, record: Record) -> None:
    with closing(open_record(kitchen, create=False)) as other:
        for n in range(6):
            (made,) = (record, other)[n % 2].append([measured(110 - n)], lambda: NOON)
            assert made.seq == 3 + n
    assert first_misfit(record.rows()) is None
    assert record.differences() == []


def test_a_clock_that_went_back_is_an_entry_at_once_too(record: Record) -> None:
    record.append([measured(100)], lambda: NOON - timedelta(hours=3))
    assert [row["kind"] for row in record.rows()] == ["reading", "reading", "clock", "reading"]
    assert record.differences() == []


def test_a_view_that_must_show_all_is_never_guessed(kitchen: Server, record: Record) -> None:
    view = record.as_it_stands()
    view.append([measured(110)], lambda: NOON, as_seen=True)
    with closing(open_record(kitchen, create=False)) as other:
        other.append([measured(100)], lambda: NOON)
    for asked in ({"as_seen": True}, {"unchanged": ["batch stew"]}):
        with pytest.raises(Refused, match="recorded something meanwhile"):
            view.append([measured(90)], lambda: NOON, **asked)
    assert record.head()[0] == 4


def test_a_stranger_who_calls_it_gets_one_answer_whatever_is_guessed(
    server: Running, record: Record
) -> None:
    right = next_of(record)
    wrong = right._replace(after=(right.after[0], "ab" * 32))
    stranger = server.kitchen(f"stranger to {record.place}")
    with closing(server.connect(stranger.url)) as own:
        assert [call(own, one) for one in (right, wrong)] == [False, False]
        for table in ("entry", "derived_thread", "derived_link", "derived_batch"):
            assert own.execute(f"SELECT count(*) FROM {table}".encode()).fetchone() == (0,)
        # in what is given a kitchen may be named: it is not read
        (number,) = own.execute("SELECT kitchen_of(current_user)").fetchone() or (None,)
        first = as_row(measured(1), seq=1, entered_at=NOON, previous="0" * 64)
        assert own.execute(
            "SELECT enter(0, repeat('0', 64), ARRAY[ROW(1, %(kind)s, %(entered_at)s, %(at)s, %(person)s,"
            " %(batch)s, NULL, NULL, %(body)s, %(previous)s, %(digest)s, kitchen_of(%(other)s))::entry],"
            " '{}', '{}', '{}', '{}', '{}', ROW(1, 1, %(digest)s, 0, 0, 0, 0, '', kitchen_of(%(other)s))::derived_head)",
            {**first, "other": _role(record.place)},
        ).fetchone() == (True,)
        assert own.execute("SELECT kitchen FROM entry").fetchall() == [(number,)]
    assert record.head()[0] == 2
    assert record.differences() == []


def _role(place: object) -> str:
    return str(place).partition("//")[2].partition("@")[0]


def test_whoever_is_nobodys_kitchen_enters_nothing(server: Running, record: Record) -> None:
    with closing(server.connect()) as superuser:
        superuser.execute("CREATE ROLE nobodys_kitchen LOGIN")
        superuser.execute("SET ROLE nobodys_kitchen")
        assert not call(superuser, next_of(record))
        superuser.execute("RESET ROLE")
        superuser.execute("DROP ROLE nobodys_kitchen")


def _changed(one: Written, **changes: Any) -> Written:
    return one._replace(rows=[{**row, **changes} for row in one.rows])


def test_a_client_that_lies_of_entries_is_refused(
    server: Running, kitchen: Server, record: Record
) -> None:
    right = next_of(record)
    two = next_of(record, measured(110), measured(100))
    seq, digest, *rest = right.head
    lies = (
        _changed(right, person="XX"),
        _changed(right, seq=seq + 1),
        _changed(right, previous="0" * 64),
        two._replace(rows=two.rows[::-1]),
        # of what is derived, the head must be that of the entries
        right._replace(head=(seq + 1, digest, *rest)),
        right._replace(head=(seq, "ab" * 32, *rest)),
        right._replace(rows=[]),
        two._replace(rows=two.rows[:1]),
    )
    with closing(server.connect(kitchen.url)) as own:
        for lie in lies:
            with pytest.raises(psycopg.Error) as refused:
                call(own, lie)
            assert refused.value.sqlstate in ("23001", "23514", "22000"), refused.value
            assert record.head()[0] == 2
    assert record.differences() == []


def test_a_client_that_lies_of_what_is_derived_is_found_and_its_chain_holds(
    server: Running, kitchen: Server, record: Record
) -> None:
    right = next_of(record)
    ((thread, name, total),) = right.threads_gone_on
    lie = right._replace(threads_gone_on=[(thread, name, total + 5)], links=[])
    with closing(server.connect(kitchen.url)) as own:
        assert call(own, lie)
    assert first_misfit(record.rows()) is None
    told = record.differences()
    assert [one for one in told if "(thread)" in one]
    assert [one for one in told if "(link)" in one]
    record.about("batch stew")
    assert [one for one in record.troubles if "is missing" in one]


def test_what_swallows_an_entry_is_told(server: Running, tmp_path: Any) -> None:
    another = server.new_database(tmp_path.name)
    from haccp.record import server as administration

    administration.prepare(another.as_superuser)
    with closing(open_record(another.kitchen("North"), create=False)) as record:
        record.append([measured(130)], lambda: NOON)
        with closing(another.connect()) as superuser:
            superuser.execute(
                "CREATE FUNCTION swallow() RETURNS trigger LANGUAGE plpgsql AS 'BEGIN RETURN NULL; END'"
            )
            superuser.execute(
                "CREATE TRIGGER swallow BEFORE INSERT ON entry FOR EACH ROW EXECUTE FUNCTION swallow()"
            )
        for one in (record, Record(record.store)):
            with pytest.raises(Refused, match="swallowed the entry: ask haccp record verify"):
                one.append([measured(120)], lambda: NOON)
        assert record.head()[0] == 1
        assert record.differences() == []


def test_a_search_path_and_tables_of_the_callers_own_change_nothing(
    server: Running, kitchen: Server, record: Record
) -> None:
    written = next_of(record)
    with closing(server.connect(kitchen.url)) as own:
        for table in ("entry", "derived_head", "derived_thread", "derived_link"):
            own.execute(f"CREATE TEMPORARY TABLE {table} (LIKE haccp.{table})".encode())
        own.execute("INSERT INTO pg_temp.derived_head SELECT * FROM haccp.derived_head")
        own.execute("CREATE DOMAIN pg_temp.json AS text")
        own.execute("SET search_path = pg_temp, pg_catalog")
        wrong = _changed(written, body="no JSON")
        (row,) = wrong.rows
        digest = as_digested(row)
        _, _, *rest = wrong.head
        wrong = _changed(wrong, digest=digest)._replace(head=(row["seq"], digest, *rest))
        with pytest.raises(errors.InvalidTextRepresentation):
            call(own, wrong)
        assert call(own, written)
        assert own.execute("SELECT count(*) FROM pg_temp.entry").fetchone() == (0,)
    assert record.head()[0] == 3
    assert record.differences() == []


def as_digested(row: Any) -> str:
    from haccp.record.entries import digest_of

    return digest_of(row)


def _enter_often(place: Server, count: int, begin: Any, told: Any) -> None:
    with closing(open_record(place, create=False)) as record:
        begin.wait()
        longest = 0.0
        for _ in range(count):
            since = time.monotonic()
            record.append([measured(130)], lambda: NOON)
            longest = max(longest, time.monotonic() - since)
        told.put(longest)


def test_many_writers_of_one_kitchen_take_turns(kitchen: Server, record: Record) -> None:
    """Each enters as fast as it goes: nobody is starved by who needs to ask nothing."""
    context = multiprocessing.get_context("spawn")
    begin, told = context.Barrier(4), context.Queue()
    writers = [
        context.Process(target=_enter_often, args=(kitchen, 60, begin, told)) for _ in range(4)
    ]
    since = time.monotonic()
    for one in writers:
        one.start()
    longest = [told.get(timeout=120) for _ in writers]
    for one in writers:
        one.join(60)
        assert one.exitcode == 0
    assert record.head()[0] == 2 + 4 * 60
    assert first_misfit(record.rows()) is None
    assert record.differences() == []
    assert max(longest) < (time.monotonic() - since) / 4


@pytest.mark.parametrize("ends_first", [True, False])
def test_a_line_that_breaks_while_an_entry_waits_leaves_no_doubt_and_no_late_entry(
    server: Running, kitchen: Server, record: Record, *, ends_first: bool
) -> None:
    """The statement is under way, and waits for another till: it is done once, or never."""
    record.append([measured(110)], lambda: NOON)
    outcome: list[object] = []

    def enter() -> None:
        try:
            outcome.extend(record.append([measured(100)], lambda: NOON))
        except Refused as refused:
            outcome.append(refused)

    with closing(server.connect(kitchen.url)) as other:
        other.execute("BEGIN")
        other.execute("SELECT seq FROM derived_head FOR NO KEY UPDATE")
        writer = threading.Thread(target=enter)
        writer.start()
        line = record.store._line.pgconn  # type: ignore[attr-defined]
        _await_a_lock(server, line.backend_pid)
        if ends_first:  # as when the server ends one connection
            with closing(server.connect()) as superuser:
                superuser.execute("SELECT pg_terminate_backend(%s)", (line.backend_pid,))
        else:
            with socket.socket(fileno=socket.dup(line.socket)) as way:
                way.shutdown(socket.SHUT_RDWR)
        time.sleep(0.3)
        other.execute("COMMIT")
    writer.join(60)
    (one,) = outcome
    seq = record.head()[0]
    assert isinstance(one, LineBroke) == (seq == 3)
    assert not isinstance(one, InDoubt)
    time.sleep(0.5)
    assert record.head()[0] == seq, "an entry came late, after it was said that there is none"
    assert record.differences() == []


def _await_a_lock(server: Running, process: int) -> None:
    with closing(server.connect()) as superuser:
        for _ in range(400):
            waits = superuser.execute(
                "SELECT 1 FROM pg_stat_activity WHERE pid = %s AND wait_event_type = 'Lock'",
                (process,),
            ).fetchone()
            if waits:
                return
            time.sleep(0.05)
    raise AssertionError("the entry does not wait")


@pytest.mark.parametrize(
    "changes",
    [{"corrects": 0}, {"corrects": 3}, {"corrects": 99}, {"corrects": -1}, {"body": "no JSON"}],
    ids=str,
)
def test_what_an_entry_corrects_is_there_and_its_body_is_json(
    server: Running, kitchen: Server, record: Record, changes: dict[str, Any]
) -> None:
    seq, previous = record.head()
    row = as_row(measured(110), seq=seq + 1, entered_at=NOON, previous=previous) | changes
    row["digest"] = as_digested(row)
    columns = ", ".join(row)
    marks = ", ".join(f"%({name})s" for name in row)
    with closing(server.connect(kitchen.url)) as own, pytest.raises(psycopg.Error) as refused:
        own.execute(f"INSERT INTO entry ({columns}) VALUES ({marks})".encode(), row)
    assert refused.value.sqlstate in ("23514", "22P02")
    assert record.head()[0] == 2
