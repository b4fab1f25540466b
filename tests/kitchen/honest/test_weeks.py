"""An honest kitchen is not told off: three invented weeks, and all that they are told and asked.

What stands here a sensible inspector would not call noise; the reason stands beside it.
"""

from pathlib import Path

import pytest

from tests.kitchen.honest.weeks import Week, live, typed
from tests.kitchens import Kitchen

LETTER = '12:08 oven "still dry" --accepted-by "Pine County Health" --letter 2026-09-14 --by AR'

# Asked once for each reheat that was typed without its hold: 3-403.11(A) has "for 15 seconds".
HELD = "Was it at 165 °F or above for 15 s?"


def lived(tmp_path: Path, name: str, **words: str) -> Week:
    return live(Kitchen(tmp_path / "record.sqlite3"), typed(name, **words))


@pytest.fixture(autouse=True)
def _cook(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HACCP_BY", "TP")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))


def test_closed_nights_a_closed_monday_and_one_missed_round(tmp_path: Path) -> None:
    week = lived(tmp_path, "closed_nights")
    assert week.asked == [
        f"reheat white 169: {HELD}",
        f"reheat chicken 174: {HELD}",
        f"reheat rice 170: {HELD}",
    ]
    # The round that was missed, of both wells and of the food in each: nobody looked for 95 min.
    assert sorted(week.told) == [
        "rice-1104: hot-holding not shown",
        "well-1: hot-holding not shown",
        "well-2: hot-holding not shown",
        "white-bean-stew-1103: hot-holding not shown",
    ]


def test_a_smoker_without_a_letter_is_told_of_the_oven_once_a_roast(tmp_path: Path) -> None:
    week = lived(tmp_path, "smokehouse", oven="", all_the_same=" | y")
    assert week.asked == [f"reheat pork 172: {HELD}"]
    # 230 °F of dry heat is less than the 250 °F of 3-401.11(B)(1), and nobody accepted it.
    assert week.told == [
        "brisket-1102: oven not met",
        "pork-shoulder-1103: oven not met",
        "brisket-1106: oven not met",
    ]


def test_a_smoker_with_the_authority_s_letter_is_told_nothing(tmp_path: Path) -> None:
    week = lived(tmp_path, "smokehouse", oven=LETTER, all_the_same="")
    assert week.asked == [f"reheat pork 172: {HELD}"]
    assert week.told == []


def test_many_small_batches_of_soup_and_sauce(tmp_path: Path) -> None:
    week = lived(tmp_path, "sauces")
    assert week.asked == [
        f"reheat tomato-sauce-1102-a 176: {HELD}",
        f"reheat pea 181: {HELD}",
        f"reheat sauce 172: {HELD}",
    ]
    assert week.told == []
