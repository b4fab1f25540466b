"""`haccp record verify` of a record that grows: the whole chain, or from the last signature on."""

import re
import sqlite3
from contextlib import closing

import pytest

from tests.kitchens import Kitchen, log


@pytest.fixture
def signed(kitchen: Kitchen) -> Kitchen:
    log(kitchen, ("12:10", "cook stew 199"), ("12:30", "sign today --by AR --note early"))
    log(kitchen, ("12:40", "hold stew 160"), ("12:50", "hold stew 158"))
    return kitchen


def alter(kitchen: Kitchen, number: int) -> None:
    with closing(sqlite3.connect(kitchen.path)) as connection, connection:
        triggers = connection.execute(
            "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
        ).fetchall()
        for name, _ in triggers:
            connection.execute(f"DROP TRIGGER {name}")
        connection.execute("UPDATE entry SET person = 'XX' WHERE seq = ?", (number,))
        for _, sql in triggers:
            connection.execute(sql)


def signature(kitchen: Kitchen) -> int:
    return next(int(str(e["seq"])) for e in kitchen.entries() if e["kind"] == "signature")


def test_since_the_signature_what_came_after_it_is_walked(signed: Kitchen) -> None:
    number = signature(signed)
    told = signed.says("record verify --since-signed")
    assert "3 entries from the last signature on" in told
    with closing(sqlite3.connect(signed.path)) as connection:
        (before,) = connection.execute(
            "SELECT digest FROM entry WHERE seq = ?", (number - 1,)
        ).fetchone()
    assert f"They follow {number - 1} {before[:8]} {before[8:16]}" in told
    shown = re.search(r"They follow (.*)\. That", told)
    assert shown
    # and that is what verify takes off a paper
    said = signed.says(f"record verify --against '{shown[1]}'")
    assert "still holds the entries that the paper was printed from" in said
    assert "That says nothing of the pages: print them again" in said


def test_since_the_signature_what_came_before_it_is_not_looked_at_and_that_is_said(
    signed: Kitchen,
) -> None:
    alter(signed, 2)
    assert "were not looked at" in signed.says("record verify --since-signed")
    assert "no. 2 is not what was recorded" in signed.run("record verify").output


@pytest.mark.parametrize("later", [0, 1, 2])
def test_since_the_signature_an_altered_entry_is_named(signed: Kitchen, later: int) -> None:
    number = signature(signed) + later
    alter(signed, number)
    result = signed.run("record verify --since-signed")
    assert result.exit_code == 3
    assert f"no. {number} is not what was recorded" in result.output


def test_a_record_without_a_signature_has_nothing_to_begin_from(kitchen: Kitchen) -> None:
    assert "No day is signed yet" in kitchen.refuses("record verify --since-signed")


def test_a_paper_is_looked_for_in_the_whole_record(signed: Kitchen) -> None:
    told = signed.refuses("record verify --since-signed --against 'f500393b 999e90c6'")
    assert "leave out --since-signed" in told
