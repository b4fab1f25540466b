"""A district's officer reads what was judged of its kitchens, and nothing else of anybody."""

import json
import secrets
import shlex
from contextlib import closing
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import psycopg
import pytest
from click.testing import CliRunner, Result
from psycopg import errors

from haccp.cli.main import cli
from haccp.cli.session import Session
from haccp.record import server as administration
from haccp.record.entries import as_row, digest_of
from haccp.record.places import Server
from haccp.record.store import open_record
from tests.record.making import measured
from tests.servers import Running

_MADE = (
    ("07:00", 'setup "Test Kitchen" --zone America/Denver --altitude 1640m --manager AR --manager-name "A. R."'),
    ("07:00", 'add person JM "J. M."'),
    ("07:00", "add unit well-1 hot"),
    ("07:00", "add unit walk-in cold --every 240"),
    ("08:00", "hold walk-in 38"),
    ("12:00", 'batch "white-bean stew" --code stew'),
    ("12:00", "cool stew 150"),
    ("12:05", "hold walk-in 38"),
    ("12:20", "cool stew 135"),
)  # fmt: skip
_MET = (
    ("14:00", "cool stew 69"),
    ("15:00", "hold walk-in 39"),
    ("17:30", "cool stew 40"),
    ("17:40", "used-up stew"),
)
_NOT_MET = (("14:40", "cool stew 90"), ("15:00", "hold walk-in 39"))


@dataclass
class There:
    """A server of three kitchens, two of them in the district North, and its officer's account."""

    server: Running
    kitchens: dict[str, Server]
    officer: Server

    def run(self, place: Server, words: str, at: str) -> Result:
        session = Session(place, lambda: _at(at))
        result = CliRunner().invoke(cli, shlex.split(words), obj=session, prog_name="haccp")
        assert result.exit_code != 70, result.output
        return result

    def judge(self, at: str, words: str = "") -> str:
        result = self.run(
            self.server.as_superuser, f"server judge '{self.server.url()}' {words}", at
        )
        assert result.exit_code == 0, result.output
        return result.output

    def seen(self, at: str, words: str = "") -> Any:
        result = self.run(self.officer, f"district --json {words}", at)
        assert result.exit_code == 0, result.output
        return json.loads(result.stdout)

    def state(self, name: str, at: str) -> str:
        (state,) = [one["state"] for one in self.seen(at)["kitchens"] if one["name"] == name]
        return str(state)


@pytest.fixture(scope="module")
def made(server: Running, tmp_path_factory: pytest.TempPathFactory) -> There:
    """Make the three kitchens once; each test has a copy of their database."""
    own = server.new_database("made")
    administration.prepare(own.as_superuser)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("HACCP_BY", "AR")
        patch.setenv("XDG_CONFIG_HOME", str(tmp_path_factory.mktemp("config")))
        places = {name: own.kitchen(name) for name in ("Alder", "Birch", "Cedar")}
        for name, rest in (("Alder", _MET), ("Birch", _NOT_MET), ("Cedar", _NOT_MET)):
            _type(places[name], *_MADE, *rest)
    administration.put_into_district(own.as_superuser, "North", ["Alder", "Birch"])
    account = administration.add_officer(own.as_superuser, "Officer N", "North")
    return There(own, places, Server(own.url(account.role, account.password)))


@pytest.fixture
def there(made: There, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> There:
    monkeypatch.setenv("HACCP_BY", "AR")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    name = f"of_{secrets.token_hex(6)}"
    with closing(made.server.connect(made.server.url(database="postgres"))) as superuser:
        superuser.execute(f"CREATE DATABASE {name} TEMPLATE made".encode())

    def in_copy(place: Server) -> Server:
        return Server(place.url.replace("/made?", f"/{name}?"))

    return There(
        replace(made.server, database=name),
        {name: in_copy(place) for name, place in made.kitchens.items()},
        in_copy(made.officer),
    )


def _type(place: Server, *timed: tuple[str, str]) -> None:
    for clock, command in timed:
        _says(place, command, clock)


def _says(place: Server, command: str, clock: str) -> str:
    session = Session(place, lambda: _at(clock), ask=lambda _: "2580")
    result = CliRunner().invoke(cli, shlex.split(command), obj=session, prog_name="haccp")
    assert result.exit_code == 0, f"{command}: {result.output}"
    return result.output


def _at(clock: str, day: int = 26) -> datetime:
    return datetime.fromisoformat(f"2026-10-{day}T{clock}-06:00").astimezone(UTC)


def test_a_kitchen_that_was_not_judged_is_not_shown(there: There) -> None:
    seen = there.seen("18:00")
    assert [(one["name"], one["state"], one["undecided"]) for one in seen["kitchens"]] == [
        ("Alder", "not judged", None),
        ("Birch", "not judged", None),
    ]
    assert seen["coolings"]["all"]["met"] == 0
    told = there.run(there.officer, "district", "18:00").output
    assert "0 judged up to the last entry" in told
    assert "NOT SHOWN (2)" in told


def test_an_officer_sees_what_the_kitchen_itself_would_be_told(there: There) -> None:
    there.judge("18:00")
    seen = there.seen("18:00")
    states = {one["name"]: one["state"] for one in seen["kitchens"]}
    assert states == {"Alder": "shown", "Birch": "shown"}
    for name in states:
        due = json.loads(_says(there.kitchens[name], "due --json", "18:00"))
        own = {(one["subject"], one["verdict"]) for one in due if one["group"] != "due"}
        own = {one for one in own if one[1] != "open"}
        theirs = {
            (one["subject"], one["verdict"]) for one in seen["undecided"] if one["kitchen"] == name
        }
        assert theirs == own, name
    assert [(one["kitchen"], one["limit_name"]) for one in seen["undecided"]][:1] == [
        ("Birch", "cooling-stage-1")
    ]
    coolings = seen["coolings"]
    assert coolings["all"]["met"] == 1
    assert [(one["name"], one["met"]) for one in coolings["kitchen"] if one["met"]] == [
        ("Alder", 1)
    ]
    assert {one["name"] for one in coolings["food"]} == {"white-bean stew"}


def test_the_coolings_are_those_of_trends(there: There) -> None:
    there.judge("18:00")
    told = _says(there.kitchens["Alder"], "trends --by food --json", "18:00")
    (own,) = json.loads(told)["food"]
    (theirs,) = [
        one for one in there.seen("18:00")["coolings"]["kitchen"] if one["name"] == "Alder"
    ]
    assert (theirs["not_met"], theirs["not_shown"]) == (own["not_met"], own["not_shown"])
    assert round(theirs["low"], 4) == own["low"]
    assert round(theirs["high"], 4) == own["high"]


def test_what_is_entered_or_falls_due_after_it_is_told_as_not_shown(there: There) -> None:
    there.judge("18:00")
    _type(there.kitchens["Alder"], ("18:05", "hold walk-in 38"))
    assert there.state("Alder", "18:06") == "entered since"
    assert (
        "no. 15 of 16 is the last that was judged, 6 min ago"
        in there.run(there.officer, "district", "18:06").output
    )
    assert there.state("Birch", "18:06") == "shown"
    # Birch's walk-in was checked at 15:00 and is to be checked every four hours
    assert there.state("Birch", "23:30") == "due since"
    assert "2 kitchens judged" in there.judge("23:30")
    assert there.state("Birch", "23:30") == "shown"
    assert "walk-in" in {
        one["subject"] for one in there.seen("23:30")["undecided"] if one["kitchen"] == "Birch"
    }


def test_a_kitchen_of_which_nothing_is_new_is_not_judged_again(there: There) -> None:
    assert "2 kitchens judged" in there.judge("18:00")
    assert "0 kitchens judged" in there.judge("18:01")
    assert "2 kitchens judged" in there.judge("18:01", "--anew")


def test_a_kitchen_that_entered_nothing_in_a_day_of_its_own_has_stopped_logging(
    there: There,
) -> None:
    there.judge("18:00")
    later = there.run(there.officer, "district", "18:00")
    assert "NOTHING LOGGED (0)" in later.output
    session = Session(there.officer, lambda: _at("17:50", 27))
    result = CliRunner().invoke(cli, ["district", "--json"], obj=session)
    quiet = {one["name"]: one["quiet"] for one in json.loads(result.stdout)["kitchens"]}
    # Alder's last entry is of 17:40, Birch's of 15:00; they state no hours: one a day
    assert quiet == {"Alder": "stopped logging", "Birch": "stopped logging"}
    for days, expected in (("1", "stopped logging"), ("2", None)):
        result = CliRunner().invoke(
            cli, ["district", "--silent", days, "--json"], obj=Session(there.officer, session.clock)
        )
        quiet = {one["name"]: one["quiet"] for one in json.loads(result.stdout)["kitchens"]}
        assert quiet["Birch"] == expected, days


def test_what_was_judged_of_a_chain_that_was_changed_is_not_shown(there: There) -> None:
    there.judge("18:00")
    with closing(there.server.connect()) as superuser:
        superuser.execute("UPDATE judged SET seq = seq + 1, digest = repeat('a', 64)")
    assert there.state("Alder", "18:01") == "another chain"
    seen = there.seen("18:01")
    assert seen["undecided"] == []
    assert seen["coolings"]["all"]["met"] == 0
    there.judge("18:01")
    assert there.state("Alder", "18:01") == "shown"


@pytest.mark.parametrize(
    ("entered_at", "state", "quiet"),
    [
        ("soon", "unreadable", None),
        ("\x1b[2J", "unreadable", None),
        ("2099-01-01T00:00:00Z", "entered since", "clock ahead"),
    ],
)
def test_what_a_kitchen_writes_by_another_program_is_told_and_stops_nobody(
    there: There, entered_at: str, state: str, quiet: str | None
) -> None:
    there.judge("18:00")
    place = there.kitchens["Alder"]
    with closing(open_record(place, create=False)) as record:
        seq, previous = record.head()
    row = as_row(measured(110), seq=seq + 1, entered_at=_at("18:01"), previous=previous)
    row["entered_at"] = entered_at
    row["digest"] = digest_of(row)
    columns = ", ".join(row)
    values = ", ".join(f"%({name})s" for name in row)
    with closing(there.server.connect(place.url)) as kitchen:
        kitchen.execute(f"INSERT INTO entry ({columns}) VALUES ({values})".encode(), row)
    (seen,) = [one for one in there.seen("18:02")["kitchens"] if one["name"] == "Alder"]
    assert (seen["state"], seen["quiet"], seen["undecided"]) == (state, quiet, None)
    told = there.run(there.officer, "district", "18:02").output
    assert "NOT SHOWN (1)" in told
    assert "\x1b" not in told
    # whatever becomes of it, the other one is judged
    there.run(there.server.as_superuser, f"server judge '{there.server.url()}' --anew", "18:03")
    assert there.state("Birch", "18:03") == "shown"
    (seen,) = [one for one in there.seen("18:03")["kitchens"] if one["name"] == "Alder"]
    assert (seen["state"] == "unreadable") == (quiet is None)
    assert seen["quiet"] == quiet


# what an officer may not do ------------------------------------------------------------------


_TABLES = (
    "entry", "pin", "kitchen", "officer", "derived_thread", "derived_link", "derived_batch", "derived_head",
    "derived_settled", "judged", "judged_undecided", "judged_cooling", "judged_cooled",
)  # fmt: skip
_VIEWS = ("district", "district_kitchen", "district_undecided", "district_cooled")


def test_an_officer_reads_its_district_and_writes_nothing(there: There) -> None:
    there.judge("18:00")
    with closing(there.server.connect(there.officer.url)) as officer:
        for table in _TABLES:
            try:
                rows = officer.execute(f"SELECT * FROM {table}".encode()).fetchall()
            except errors.InsufficientPrivilege:
                rows = []
            assert rows == [], table
        names = officer.execute("SELECT name FROM district_kitchen ORDER BY name").fetchall()
        assert names == [("Alder",), ("Birch",)]
        for view in _VIEWS:
            for words in (
                f"DELETE FROM {view}",
                f"INSERT INTO {view} DEFAULT VALUES",
                f"TRUNCATE {view}",
            ):
                with pytest.raises(psycopg.Error) as refused:
                    officer.execute(words.encode())
                assert refused.value.sqlstate in ("42501", "42809", "55000"), words
        for words in (
            "DELETE FROM entry", "UPDATE entry SET person = 'XX'", "TRUNCATE entry", "UPDATE judged SET seq = 1",
            "INSERT INTO judged_cooled VALUES (1, '2026-10', 'a', 'b', 9, 0, 0)", "UPDATE officer SET district = 'South'",
            "UPDATE kitchen SET district = 'North'", "SELECT hash FROM judged_cooling, pin FOR UPDATE",
            "UPDATE district_kitchen SET judged = 1", "SET ROLE haccp_owner", "CREATE TABLE haccp.mine (a int)",
        ):  # fmt: skip
            with pytest.raises(psycopg.Error) as refused:
                officer.execute(words.encode())
            assert refused.value.sqlstate in ("42501", "55000"), words
        with pytest.raises(psycopg.Error):
            officer.execute(
                "INSERT INTO entry (seq, kind, entered_at, at, person, body, previous, digest, kitchen)"
                " VALUES (1, 'x', 'x', 'x', 'x', '{}', repeat('0', 64), repeat('0', 64), 1)"
            )


def test_a_condition_that_tells_what_it_sees_tells_nothing_of_another_district(
    there: There,
) -> None:
    there.judge("18:00")
    administration.put_into_district(there.server.as_superuser, "South", ["Cedar"])
    there.judge("18:00")
    with closing(there.server.connect(there.officer.url)) as officer:
        told: list[str] = []
        officer.add_notice_handler(lambda notice: told.append(str(notice.message_primary)))
        officer.execute("""
            CREATE FUNCTION pg_temp.leak(anything text) RETURNS boolean LANGUAGE plpgsql COST 0.0001
            AS $$ BEGIN RAISE NOTICE 'seen %', anything; RETURN true; END $$
        """)
        officer.execute("SELECT count(*) FROM district_kitchen WHERE pg_temp.leak(name)")
        officer.execute("SELECT count(*) FROM district_undecided WHERE pg_temp.leak(kitchen)")
        assert set(told) == {"seen Alder", "seen Birch"}


def test_a_kitchens_account_is_no_officers_and_sees_nothing_more_than_before(there: There) -> None:
    there.judge("18:00")
    place = there.kitchens["Birch"]
    result = there.run(place, "district", "18:00")
    assert result.exit_code == 2
    assert "so is no officer of a district" in result.stderr
    with closing(there.server.connect(place.url)) as kitchen:
        for view in _VIEWS:
            assert kitchen.execute(f"SELECT * FROM {view}".encode()).fetchall() == []
        for table in (
            "kitchen",
            "officer",
            "judged",
            "judged_undecided",
            "judged_cooling",
            "judged_cooled",
        ):
            for words in (
                f"SELECT * FROM {table}",
                f"DELETE FROM {table}",
                f"INSERT INTO {table} DEFAULT VALUES",
            ):
                with pytest.raises(errors.InsufficientPrivilege):
                    kitchen.execute(words.encode())
    with closing(open_record(place, create=False)) as record:
        assert record.problems() == []
        with closing(there.server.connect()) as superuser:
            superuser.execute(
                "CREATE OR REPLACE VIEW district AS SELECT name AS officer, district FROM officer"
            )
        (told,) = record.problems()
    assert "'table district'" in told
    assert "changed" in told


def test_an_officers_account_opens_no_record(there: There) -> None:
    for words in ("due", "list entries", "hold walk-in 38", "record verify"):
        result = there.run(there.officer, words, "18:00")
        assert result.exit_code == 2, words
        assert "so is no kitchen of it" in result.stderr


def test_who_runs_the_server_is_told_what_is_wrong(there: There) -> None:
    url = there.server.url()
    for words, told in (
        (f"server district '{url}' North Elder", "has no kitchen 'Elder'"),
        (f"server add-officer '{url}' 'Officer S' South", "has no kitchen in 'South'"),
        (f"server add-officer '{url}' Alder North", "has a kitchen 'Alder' already"),
        (f"server add-officer '{url}' 'Officer N' North", "has a kitchen 'Officer N' already"),
    ):
        result = there.run(there.server.as_superuser, words, "18:00")
        assert (result.exit_code, result.stdout) == (2, ""), words
        assert told in result.stderr
    assert (
        "Officer N"
        not in there.run(there.server.as_superuser, f"server kitchens '{url}'", "18:00").output
    )
    made = there.run(there.server.as_superuser, f"server add-officer '{url}' Deputy North", "18:00")
    renewed = there.run(there.server.as_superuser, f"server new-password '{url}' Deputy", "18:00")
    (line,) = [one for one in renewed.stdout.splitlines() if one.startswith("The officer types:")]
    assert line in made.stdout
    assert made.stdout.splitlines()[0] != renewed.stdout.splitlines()[0], "the same password"


def test_a_kitchen_that_cannot_be_judged_keeps_no_other_from_it(there: There) -> None:
    there.judge("18:00")
    _type(there.kitchens["Birch"], ("18:02", "hold walk-in 38"))
    with closing(there.server.connect()) as superuser:
        superuser.execute(
            "DELETE FROM derived_link WHERE seq = 11"
            " AND kitchen = (SELECT id FROM kitchen WHERE name = 'Alder')"
        )
    result = there.run(
        there.server.as_superuser, f"server judge '{there.server.url()}' --anew", "18:05"
    )
    assert result.exit_code == 2
    assert "1 kitchen could not be judged" in result.stderr
    assert "Alder: The record does not hold together" in result.stderr
    assert there.state("Birch", "18:05") == "shown"
