"""What is noted to be settled: it spares work, and hides nothing."""

import sqlite3
from contextlib import closing

import pytest

from tests.kitchens import Kitchen, log

SINKS = (("12:10", "hold well-1 151"), ("13:00", "hold well-1 120"), ("13:40", "hold well-1 150"))


def noted(kitchen: Kitchen) -> set[str]:
    with closing(sqlite3.connect(kitchen.path)) as connection:
        chosen = (
            "SELECT t.name FROM derived_settled s JOIN derived_thread t ON t.id = s.thread,"
            " derived_head h WHERE s.judged_at >= h.reaches_back"
        )
        return {name for (name,) in connection.execute(chosen)}


def signed(kitchen: Kitchen) -> None:
    kitchen.at("2026-10-26T14:00-06:00")
    kitchen.says("sign today --note seen --by AR")


def test_a_signature_notes_what_is_settled_and_nothing_else(kitchen: Kitchen) -> None:
    kitchen.says("batch soup --code soup")
    kitchen.says("batch rice --code rice")
    log(kitchen, *SINKS, ("13:41", "used soup"), ("13:42", "hold walk-in 38"))
    signed(kitchen)
    # the signature itself settles the day of a unit, never food of which something is left
    assert {"unit walk-in", "unit well-1", "batch soup"} <= noted(kitchen)
    assert "batch rice" not in noted(kitchen)


@pytest.mark.parametrize(
    "reaching_back",
    [
        "ice T1 40",
        "hold walk-in 39 '12:20' --yes",
        'correct walk-in 37 --reason "misread"',
        "add unit walk-in cold --every 30 --by AR",
        "kitchen --grace 5 --by AR",
    ],
)
def test_what_may_change_the_past_lets_every_note_fall(
    kitchen: Kitchen, reaching_back: str
) -> None:
    log(kitchen, ("12:10", "hold walk-in 38"), ("13:10", "hold walk-in 38"))
    signed(kitchen)
    assert noted(kitchen)
    kitchen.at("2026-10-26T14:05-06:00")
    kitchen.run(reaching_back)
    assert noted(kitchen) == set()


def test_a_forged_note_is_named_and_no_page_or_signature_believes_it(
    kitchen: Kitchen,
) -> None:
    log(kitchen, *SINKS)
    kitchen.at("2026-10-26T14:00-06:00")
    before = kitchen.says("status")
    assert "NOT MET" in before
    with closing(sqlite3.connect(kitchen.path)) as connection, connection:
        connection.execute(
            "INSERT INTO derived_settled SELECT t.id, max(l.seq), h.seq FROM derived_thread t"
            " JOIN derived_link l ON l.thread = t.id, derived_head h WHERE t.name = 'unit well-1'"
        )
    assert "NOT MET" not in kitchen.says("status"), "the forgery did not take"
    told = kitchen.run("record verify")
    assert told.exit_code == 3
    assert "well-1" in told.stdout
    assert "1 undecided" in kitchen.refuses("sign today --by AR")
