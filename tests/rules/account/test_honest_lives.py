"""Ordinary work in an honest kitchen: nothing is told that a sensible inspector would call noise.

All readings are invented; the kitchen is closed from 20:00 to 06:00. Minute 0 is 06:00.
"""

from dataclasses import replace

import pytest

from tests.rules.account.story import KITCHEN, at, deviations, told

DAY = 24 * 60
CLOSED = replace(
    KITCHEN, closed=tuple((at(840 + n * DAY), at((n + 1) * DAY)) for n in range(-1, 9))
)


def checks(unit: str, *rows: tuple[float, float]) -> str:
    kind = "hot" if unit == "well-1" else "cold"
    return "; ".join(f"check {kind} {minute} {temp} in {unit}" for minute, temp in rows)


def walk_in(days: int) -> str:
    """Its checks at opening, noon, afternoon and closing."""
    rows = ((30, 38), (270, 39), (540, 38), (825, 39))
    return checks("walk-in", *((at + n * DAY, temp) for n in range(days) for at, temp in rows))


ROAST = "cook 0 42; cook 240 98; cook 480 146; cook 720 171; cook 840 203"
COOLED = "cool 30 135; cool 90 98; cool 140 69; cool 330 41"

STORIES = {
    "stew for today's service, its end typed an hour late": (
        "receive 0 40; cook 20 60; cook 60 130; cook 100 185; hot hold 110 170 in well-1;"
        + checks("well-1", (160, 165), (220, 160), (280, 158), (340, 150))
        + "; used 400 said 340"
    ),
    "rice cooled, kept two nights, reheated as it leaves the walk-in": (
        f"cook 0 200; {COOLED}; {walk_in(3)};"
        f" taken out {2 * DAY + 300}; reheat {2 * DAY + 340} 90; reheat {2 * DAY + 380} 170 for 15;"
        f" hot hold {2 * DAY + 390} 165 in well-1; used {2 * DAY + 440}"
    ),
    "chicken from the door to the plate": (
        "receive 0 38; cold hold 10 38 in walk-in;"
        f"{walk_in(1)}; cook 560 41; cook 590 120; cook 610 168; hot hold 615 160 in well-1;"
        "used 660"
    ),
    "a roast overnight that nobody looks at, rubbed before, rested and pulled after": (
        f"receive 0 38; cold hold 10 38; {checks('walk-in', (30, 38), (270, 39))};"
        "prepare 480 40; prepare 525 52; cook 545 54;"
        "cook 1385 199; prepare 1430 160; prepare 1445 128; hot hold 1470 140 in well-1;"
        + checks("well-1", (1500, 150), (1560, 152))
        + "; used 1620"
    ),
    "a roast looked at every few hours, then cooled in shallow pans": (
        f"{ROAST}; cool 860 190; cool 890 136; cool 960 98; cool 1005 69; cool 1200 40"
    ),
    "sauce made at room temperature": "prepare 10 70; cool 60 60; cool 200 41; cold hold 230 39",
    "stock simmered for a day": "cook 0 60; cook 150 150; cook 200 190; cook 430 205; cook 660 204; cool 680 190; cool 700 136; cool 790 69; cool 1000 41",
    "gravy stirred, a ladle of cold stock in it, hot again": (
        "cook 0 60; cook 40 180; hot hold 50 170 in well-1; prepare 80 120; hot hold 110 145 in well-1;"
        "used 160"
    ),
    "a cooled food frozen and thawed": (
        f"cook 0 200; {COOLED}; freeze 345 in freezer;"
        + "; ".join(
            f"check frozen {m + n * DAY} 0 in freezer" for n in range(3) for m in (1470, 2240)
        )
        + f"; moved {3 * DAY + 30} in walk-in; check cold {3 * DAY + 60} 38 in walk-in;"
        f" cold hold {3 * DAY + 200} 35; used {3 * DAY + 300}"
    ),
    "salad on a buffet by time alone": (
        "prepare 0 40; cold hold 20 39; time control 60 40; used 290"
    ),
}


@pytest.mark.parametrize("name", STORIES)
def test_an_honest_story_has_no_deviation(name: str) -> None:
    more: dict[str, object] = {"opened": 0, "watch": CLOSED}
    if "roast" in name:
        more |= {"kind": "whole roast", "animal": True}
    if "chicken" in name:
        more |= {"kind": "poultry", "animal": True}
    if "room temperature" in name:
        more |= {"prepared": 0}
    judged = told(STORIES[name], 4 * DAY if "used" in STORIES[name] else None, **more)
    assert deviations(judged) == []
