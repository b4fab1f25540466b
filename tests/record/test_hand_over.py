"""What a kitchen wrote without a line comes to the server whole, once, in order, and signed for."""

import json
import shutil
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import psycopg
import pypdf
import pytest
from click.testing import CliRunner
from psycopg import errors

from haccp.cli.main import cli
from haccp.record.entries import FIRST, as_row, digest_of
from haccp.record.places import Place, Server
from haccp.record.store import Record, open_record
from tests.kitchens import Kitchen
from tests.record.making import NOON, measured
from tests.servers import Running


@pytest.fixture
def account(server: Running, request: pytest.FixtureRequest) -> Server:
    return server.kitchen(request.node.name)


@pytest.fixture
def typed(opened: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Kitchen:
    monkeypatch.setenv("HACCP_BY", "AR")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    return Kitchen(Path(shutil.copy(opened, tmp_path / "record.sqlite3")))


def rows_of(place: Place) -> list[dict[str, object]]:
    with closing(open_record(place, create=False)) as record:
        return list(record.rows())


def kinds(place: Place) -> list[object]:
    return [row["kind"] for row in rows_of(place)]


def test_both_hold_the_same_afterwards_and_a_second_time_changes_nothing(
    typed: Kitchen, account: Server
) -> None:
    before = rows_of(typed.path)
    told = typed.says(f"hand-over {account.url}")
    assert f"{len(before)} entries were handed over to" in told
    assert f"Its receipt up to no. {len(before)}, " in told
    there = rows_of(account)
    assert there == rows_of(typed.path)
    assert there[:-1] == before
    assert there[-1]["kind"] == "handed over"
    again = typed.says(f"hand-over {account.url}")
    assert "handed over to" not in again
    assert rows_of(account) == rows_of(typed.path) == there


def test_a_receipt_is_printed_and_holds(typed: Kitchen, account: Server, tmp_path: Path) -> None:
    typed.says(f"hand-over {account.url}")
    # the second one is for the entry that holds the first
    assert "2 receipts hold" in typed.says(f"hand-over {account.url} --check")
    body = json.loads(str(rows_of(typed.path)[-1]["body"]))
    assert len(body["signature"]) == 64
    assert "@/kitchens" in body["server"]
    assert account.url.split(":")[2].split("@")[0] not in str(rows_of(typed.path)), "a password"
    pages = tmp_path / "report.pdf"
    typed.says(f"report today --output {pages}")
    text = " ".join(" ".join(page.extract_text().split()) for page in pypdf.PdfReader(pages).pages)
    assert f"up to no. {body['until']} ({body['head'][:12]})" in text
    assert body["signature"][:16] in text


def test_a_restored_copy_with_nothing_new_gets_what_it_lacks(
    typed: Kitchen, account: Server, tmp_path: Path
) -> None:
    typed.says(f"hand-over {account.url}")
    copy = shutil.copy(typed.path, tmp_path / "copy.sqlite3")
    typed.says("cook stew 170")
    typed.says(f"hand-over {account.url}")
    after = rows_of(typed.path)
    shutil.copy(copy, typed.path)
    told = typed.says(f"hand-over {account.url}")
    assert "This record was behind: 2 entries were fetched" in told
    assert rows_of(typed.path) == after == rows_of(account)
    assert "one chain" in typed.says("record verify")


def test_a_fork_is_kept_whole_and_nothing_is_merged_until_a_manager_decides(
    typed: Kitchen, server: Running, account: Server, tmp_path: Path
) -> None:
    typed.says(f"hand-over {account.url}")
    copy = shutil.copy(typed.path, tmp_path / "copy.sqlite3")
    typed.says("cook stew 170")
    typed.says(f"hand-over {account.url}")
    there = rows_of(account)
    shutil.copy(copy, typed.path)
    typed.says("cook stew 171")
    typed.says("hold stew 150")
    # the record notes that it parted, once
    parted = typed.run(f"hand-over {account.url}")
    assert parted.exit_code == 4
    branch = rows_of(typed.path)[-3:]
    assert branch[-1]["kind"] == "fork kept"
    sentence = f"3 entries of this record after no. {branch[0]['seq'] - 1} part from what"  # type: ignore[operator]
    assert f"Recorded as no. {branch[-1]['seq']}. But: {sentence}" in parted.stderr
    assert sentence in typed.refuses(f"hand-over {account.url}")
    assert rows_of(account) == there
    with closing(server.connect(account.url)) as own:
        kept = own.execute("SELECT seq, digest FROM fork_entry ORDER BY seq").fetchall()
        assert kept == [(row["seq"], row["digest"]) for row in branch]
        assert own.execute("SELECT entries FROM fork").fetchall() == [(3,)]
    listed = CliRunner().invoke(cli, ["server", "kitchens", server.url(), "--json"]).stdout
    assert [
        one["undecided_forks"] for one in json.loads(listed) if one["role"] == _role(account)
    ] == [1]
    refused = typed.refuses(f'hand-over {account.url} --go-on "the copy was old" --by JM')
    assert "is no manager" in refused
    told = typed.says(f'hand-over {account.url} --go-on "the copy was old" --by AR')
    assert "3 entries that parted are kept there" in told
    now = rows_of(typed.path)
    assert now[: len(there)] == there
    assert now == rows_of(account)
    assert [row["kind"] for row in now[len(there) :]] == [
        "restored", "fork kept", "fork decided", "handed over",
    ]  # fmt: skip
    decided = json.loads(str(now[len(there) + 2]["body"]))
    assert decided["reason"] == "the copy was old"
    assert decided["head"] == branch[-1]["digest"]
    (beside,) = tmp_path.glob("record.sqlite3.replaced-*")
    assert rows_of(beside)[-3:] == branch
    assert "one chain" in typed.says("record verify")
    listed = CliRunner().invoke(cli, ["server", "kitchens", server.url(), "--json"]).stdout
    assert [
        one["undecided_forks"] for one in json.loads(listed) if one["role"] == _role(account)
    ] == [0]
    typed.says("hold stew 148")
    typed.says(f"hand-over {account.url}")


def test_another_kitchens_record_is_refused(
    typed: Kitchen, account: Server, tmp_path: Path
) -> None:
    typed.says(f"hand-over {account.url}")
    there = rows_of(account)
    other = Kitchen(tmp_path / "other.sqlite3")
    other.says('setup "Test Kitchen" --zone America/Denver --manager AR --manager-name "A. R."')
    assert "holds another record under this account" in other.refuses(f"hand-over {account.url}")
    assert rows_of(account) == there


def test_two_kitchens_that_are_set_up_alike_have_not_the_same_name(tmp_path: Path) -> None:
    names = set()
    for number in range(2):
        made = Kitchen(tmp_path / f"{number}.sqlite3")
        made.says('setup "Test Kitchen" --zone America/Denver --manager AR --manager-name "A. R."')
        names.add(str(rows_of(made.path)[0]["digest"]))
    assert len(names) == 2


def test_a_clock_that_is_far_from_the_servers_is_told(typed: Kitchen, account: Server) -> None:
    typed.now = datetime.now(UTC) - timedelta(days=365)
    assert "CAUTION: this machine's clock says" in typed.says(f"hand-over {account.url}")
    typed.now = datetime.now(UTC)
    typed.says("hold walk-in 38")
    told = typed.says(f"hand-over {account.url}")
    assert "entries were handed over" in told
    assert "CAUTION" not in told


def test_a_copy_that_is_handed_over_under_another_account_is_seen_by_who_runs_the_server(
    typed: Kitchen, server: Running, tmp_path: Path
) -> None:
    first, second = server.kitchen("First home"), server.kitchen("Second home")
    copy = Kitchen(Path(shutil.copy(typed.path, tmp_path / "copy.sqlite3")))
    typed.says(f"hand-over {first.url}")
    copy.says(f"hand-over {second.url}")
    told = CliRunner().invoke(cli, ["server", "check", server.url()]).output
    assert (
        "CAUTION: one record was handed over to several kitchens: First home, Second home" in told
    )


def test_pins_do_not_travel(typed: Kitchen, server: Running, account: Server) -> None:
    typed.says(f"hand-over {account.url}")
    with closing(server.connect(account.url)) as own:
        assert own.execute("SELECT initials, hash FROM pin").fetchall() == [("AR", "")]
    on_server = Kitchen(account)  # type: ignore[arg-type]
    on_server.now = typed.now
    assert "one chain" in on_server.says("record verify")
    assert "AR has no PIN yet" in on_server.run("sign-day today --by AR").stderr


def test_a_rewritten_record_is_found_by_its_receipts(
    typed: Kitchen, account: Server, tmp_path: Path
) -> None:
    """Whoever has the file can write it anew from some entry on so that it verifies."""
    typed.says(f"hand-over {account.url}")
    rows = rows_of(typed.path)
    forged = tmp_path / "forged.sqlite3"
    previous, written = FIRST, []
    for row in rows:
        changed = {
            **row,
            "previous": previous,
            "person": "XX" if row["seq"] == 7 else row["person"],
        }
        changed["digest"] = previous = digest_of(changed)
        written.append(changed)
    with closing(open_record(forged, create=True)) as record:
        record.restore(written)
    liar = Kitchen(forged)
    liar.now = typed.now
    result = liar.run(f"hand-over {account.url} --check")
    assert result.exit_code == 3
    assert "this record is not what" in result.stdout
    assert "was rewritten" in result.stdout
    assert "part from what" in liar.run(f"hand-over {account.url}").stderr


def test_a_server_whose_owner_rewrote_it_disagrees_with_the_receipts(
    typed: Kitchen, server: Running, account: Server
) -> None:
    typed.says(f"hand-over {account.url}")
    name = next(one for one in _listed(server) if one["role"] == _role(account))["name"]
    assert _checked(server, str(name)) == []
    with closing(server.connect()) as superuser, superuser.transaction():
        superuser.execute("ALTER TABLE entry DISABLE TRIGGER USER")
        superuser.execute(
            "UPDATE entry SET person = 'XX' WHERE seq = 7 AND kitchen = kitchen_of(%s)",
            (_role(account),),
        )
        _arm(superuser)
    assert _checked(server, str(name)) == [
        f"DOES NOT HOLD: {name}, entry no. 7 is not what was recorded."
    ]
    with closing(server.connect()) as superuser, superuser.transaction():
        superuser.execute("ALTER TABLE entry DISABLE TRIGGER USER")
        superuser.execute(
            "DELETE FROM entry WHERE seq >= 7 AND kitchen = kitchen_of(%s)", (_role(account),)
        )
        _arm(superuser)
    assert [one for one in _checked(server, str(name)) if "was rewritten after its receipt" in one]
    result = typed.run(f"hand-over {account.url} --check")
    assert result.exit_code == 3
    assert "holds is not what it signed for" in result.stdout
    # a server that lost all of it gets all of it again
    with closing(server.connect()) as superuser, superuser.transaction():
        superuser.execute("ALTER TABLE entry DISABLE TRIGGER USER")
        for table in ("entry", "derived_thread", "derived_link", "derived_batch"):
            superuser.execute(
                f"DELETE FROM {table} WHERE kitchen = kitchen_of(%s)".encode(), (_role(account),)
            )
        superuser.execute(
            "UPDATE derived_head SET seq = 0, digest = %s, threads = 0, open_batches = 0,"
            " open_numbers = 0, reaches_back = 0, standing = '' WHERE kitchen = kitchen_of(%s)",
            (FIRST, _role(account)),
        )
        _arm(superuser)
    typed.says(f"hand-over {account.url}")
    assert rows_of(account) == rows_of(typed.path)


def _arm(superuser: psycopg.Connection) -> None:
    for name in ("is_never_updated", "is_never_deleted", "is_never_emptied", "follows"):
        superuser.execute(f"ALTER TABLE entry ENABLE ALWAYS TRIGGER entry_{name}".encode())


def _role(account: Server) -> str:
    return account.url.partition("//")[2].partition(":")[0]


def _listed(server: Running) -> list[dict[str, object]]:
    listed = CliRunner().invoke(cli, ["server", "kitchens", server.url(), "--json"])
    return list(json.loads(listed.stdout))


def _checked(server: Running, name: str) -> list[str]:
    said = CliRunner().invoke(cli, ["server", "check", server.url()]).stdout.splitlines()
    # this very record is handed over by other tests too, to accounts of their own
    return [line for line in said if name in line and not line.startswith("CAUTION: one record")]


@pytest.fixture
def record(account: Server) -> Iterator[Record]:
    with closing(open_record(account, create=False)) as opened_there:
        yield opened_there


def test_no_kitchen_reads_the_key_or_signs_for_what_it_likes(
    server: Running, account: Server, record: Record
) -> None:
    record.append([measured(130)], lambda: NOON)
    with closing(server.connect(account.url)) as own:
        for words in (
            "SELECT * FROM signing_key",
            "SELECT signature_of('a', 1, 'b', 'c')",
            "INSERT INTO receipt VALUES (kitchen_of(current_user), 9, 'a', 'b', 'c')",
            "UPDATE receipt SET digest = 'x'",
            "DELETE FROM receipt",
            "TRUNCATE receipt",
            "UPDATE fork SET after = 0",
            "DELETE FROM fork_entry",
            "LOCK TABLE receipt IN EXCLUSIVE MODE",
            "LOCK TABLE fork, fork_entry IN EXCLUSIVE MODE",
        ):
            with pytest.raises(errors.InsufficientPrivilege), own.transaction():
                own.execute(words.encode())
        own.execute("SELECT sign_for_head()")
        own.execute("SELECT sign_for_head()")
        (only,) = own.execute("SELECT seq, digest, received_at, signature FROM receipt").fetchall()
        name = only[1]
        assert own.execute("SELECT is_signed(%s, %s, %s, %s, %s)", (name, *only)).fetchone() == (
            True,
        )
        for wrong in ((name, 2, *only[1:]), (FIRST, *only), (name, *only[:3], FIRST)):
            assert own.execute("SELECT is_signed(%s, %s, %s, %s, %s)", wrong).fetchone() == (False,)
    # another kitchen sees none of them, and can put no branch beside this one's chain
    stranger = server.kitchen(f"stranger to {_role(account)}")
    row = as_row(measured(120), seq=2, entered_at=NOON, previous=record.head()[1])
    columns = ", ".join(row)
    with closing(server.connect(stranger.url)) as other:
        assert other.execute("SELECT count(*) FROM receipt").fetchone() == (0,)
        with pytest.raises(psycopg.Error, match="append-only"):
            other.execute(
                f"INSERT INTO fork_entry (head, {columns}) VALUES (%s{', %s' * len(row)})".encode(),
                (row["digest"], *row.values()),
            )
        with pytest.raises(errors.InsufficientPrivilege):
            other.execute("INSERT INTO fork (kitchen, head, after, entries) VALUES (1, 'a', 0, 1)")
        with pytest.raises(psycopg.Error, match="kept whole"):
            other.execute("INSERT INTO fork (head, after, entries) VALUES ('a', 0, 1)")


def test_hand_over_is_of_a_file(account: Server) -> None:
    on_server = Kitchen(account)  # type: ignore[arg-type]
    assert "is no file" in on_server.refuses(f"hand-over {account.url}")


def test_a_server_that_is_not_there_is_told(typed: Kitchen, server: Running) -> None:
    url = server.url("k_0").replace(str(server.folder), "/nowhere")
    told = typed.refuses(f"hand-over {url}")
    assert "cannot be reached (No such file or directory)" in told
    assert "type it again, and it goes on from there" in told
    assert "is no URL of a server" in typed.refuses("hand-over kitchen.example")
