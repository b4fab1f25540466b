"""An honest kitchen is not told off: three invented weeks, and all that they are told and asked.

What stands here a sensible inspector would not call noise; the reason stands beside it.
"""

from pathlib import Path

import pytest

from tests.kitchen.honest.weeks import Week, live, typed
from tests.kitchens import Kitchen, flat

LETTER = '12:08 oven "still dry" --accepted-by "Pine County Health" --letter 2026-09-14 --by AR'

# Asked once for each reheat that was typed without its hold: 3-403.11(A) has "for 15 seconds".
HELD = "Was it at 165 °F or above for 15 s?"
# Asked of each food that stood in a unit that is emptied.
GONE = "Is nothing left of"


def lived(tmp_path: Path, name: str, **words: str) -> Week:
    return live(Kitchen(tmp_path / "record.sqlite3"), typed(name, **words))


@pytest.fixture(autouse=True)
def _cook(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HACCP_BY", "TP")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))


def test_closed_nights_a_closed_monday_and_one_missed_round(tmp_path: Path) -> None:
    week = lived(tmp_path, "closed_nights")
    assert week.asked == [
        f"empty well-2: {GONE} chicken soup (chicken-soup-1103)?",
        f"reheat white 169: {HELD}",
        # the round that was missed is asked about as the food goes
        f"empty well-1: {GONE} white-bean stew (white-bean-stew-1103)?",
        "empty well-1: Record it?",
        f"empty well-2: {GONE} rice (rice-1104)?",
        "empty well-2: Record it?",
        f"empty well-1: {GONE} beef chili (beef-chili-1104)?",
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
    assert week.asked == [
        f"empty warmer: {GONE} brisket (brisket-1102)?",
        "empty warmer: Record it?",
        f"reheat pork-s 172: {HELD}",
        f"empty warmer: {GONE} pork shoulder (pork-shoulder-1103)?",
        "empty warmer: Record it?",
        "used brisket 13:00: Record it?",
    ]
    # 230 °F of dry heat is less than the 250 °F of 3-401.11(B)(1), and nobody accepted it. The
    # roast in moist heat is told nothing.
    assert week.told == [
        "brisket-1102: oven not met",
        "pork-shoulder-1103: oven not met",
        "brisket-1106: oven not met",
    ]


def test_a_smoker_with_the_authority_s_letter_is_told_nothing(tmp_path: Path) -> None:
    week = lived(tmp_path, "smokehouse", oven=LETTER, all_the_same="")
    assert week.asked == [
        f"empty warmer: {GONE} brisket (brisket-1102)?",
        f"reheat pork-s 172: {HELD}",
        f"empty warmer: {GONE} pork shoulder (pork-shoulder-1103)?",
    ]
    assert week.told == []


def test_many_small_batches_of_soup_and_sauce(tmp_path: Path) -> None:
    week = lived(tmp_path, "sauces")
    assert week.asked == [
        f"reheat tomato-sauce-1102-a 176: {HELD}",
        f"empty well-1: {GONE} tomato sauce (tomato-sauce-1102-a)?",
        f"reheat pea 181: {HELD}",
        "cook beef-stock 203: Was it at 145 °F or above for 15 s?",
        f"reheat sauce 172: {HELD}",
    ]
    assert week.told == []


def test_a_night_s_looks_tell_a_smoker_of_the_oven_and_show_tells_it_in_full(
    tmp_path: Path,
) -> None:
    """Source: Food Code 3-401.11(B)(1)."""
    kitchen = Kitchen(tmp_path / "record.sqlite3")
    week = typed("smokehouse", oven="", all_the_same=" | y")
    looks = []
    for one in week:
        kitchen.now = one.at
        said = flat(kitchen.asks(one.command, *one.answers).output)
        if one.command.startswith("cook brisket"):
            looks.append(said)
        if len(looks) == 5:
            break
    asked = "asks of dry heat by the roast's weight"
    assert [said.startswith("OVEN TOO COLD ") for said in looks] == [True, *[False] * 4]
    assert all("must be 250 °F or above." in said for said in looks)
    assert not any(asked in said for said in looks), "what the paragraph asks is told by show"
    assert "Measure it" not in looks[1], "a roast is on the heat all night"
    assert looks[4].startswith("NOTED")
    assert "It was done before, and is hot still." in looks[4]
    assert asked not in flat(kitchen.says("status"))
    assert asked in flat(kitchen.says("show brisket-1102"))
