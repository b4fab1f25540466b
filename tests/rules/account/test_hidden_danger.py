"""Ways to make dangerous food look clean, each with what it is told by. All of it is invented."""

import pytest

from tests.rules.account.story import KITCHEN, deviations, told

COOLED = "cook 0 190; cool 10 136; cool 100 70; cool 300 41"
HELD = "hot hold 5 160 in well-1"

# story, as of, what it is told by (one of its deviations), more about the batch
HIDDEN: list[tuple[str, float | None, str, dict[str, object]]] = [
    # units out of limits or unwatched, hot or cold
    (
        f"cook 0 190; {HELD}; check hot 60 90 in well-1; check hot 90 150 in well-1",
        100,
        "hot-holding not met",
        {},
    ),
    (f"cook 0 190; {HELD}", 100, "hot-holding not shown", {}),
    (f"cook 0 190; {HELD}; used 400", 500, "hot-holding not shown", {}),
    (
        f"{COOLED}; cold hold 310 40 in walk-in; check cold 400 55 in walk-in",
        410,
        "cold-holding not met",
        {},
    ),
    (f"{COOLED}; cold hold 310 40 in walk-in", 700, "cold-holding not shown", {}),
    (f"{COOLED}; check cold 400 55 in walk-in", 410, "cold-holding not met", {}),  # its usual place
    (
        "receive 0 38; cold hold 5 39 in walk-in; check cold 200 60 in walk-in",
        210,
        "cold-holding not met",
        {},
    ),
    (f"{COOLED}; emptied 310 in walk-in; used 900", 900, "cold-holding not shown", {}),
    (f"{COOLED}; freeze 310; check frozen 400 50 in freezer", 700, "frozen-holding not met", {}),
    (
        f"{COOLED}; freeze 310; check frozen 400 20 in freezer; used 2000",
        2000,
        "frozen-holding not shown",
        {},
    ),
    # a walk-in's check completes no cooling, an ice bath that was said cools nothing
    (
        "cook 0 190; cool 30 135; cool 100 69; check cold 300 38 in walk-in",
        500,
        "cooling-stage-2 not shown",
        {},
    ),
    (
        "cook 0 190; cool 30 135; cool 100 90; freeze 110; check frozen 300 0 in freezer",
        500,
        "cooling-stage-1 not shown",
        {},
    ),
    # food that stands out, whatever the step is called
    (f"{COOLED}; prepare 310 60; prepare 560 60", 560, "time-out-longest not met", {}),
    (f"{COOLED}; prepare 310 60; cold hold 440 40", 440, "time-out-allowed not shown", {}),
    (f"{COOLED}; taken out 310", 440, "time-out-allowed not shown", {}),
    (f"{COOLED}; taken out 310; used 600", 600, "time-out-allowed not shown", {}),
    (
        "receive 0 38; prepare 20 60; prepare 300 65; cook 310 70; cook 330 170",
        340,
        "time-out-longest not met",
        {"kind": "poultry", "animal": True},
    ),
    ("receive 0 60; prepare 100 62", 130, "receiving-cold not met", {}),
    ("receive 0 60; prepare 100 62", 130, "time-out-allowed not shown", {}),
    (f"{COOLED}; receive 310 60; receive 560 60", 560, "time-out-longest not met", {}),
    ("cook 0 190; prepare 10 120; prepare 200 100", 200, "cooling-stage-1 not met", {}),
    ("cook 0 190; taken out 10", 140, "cooling-stage-1 not shown", {}),
    ("cook 0 190; cook 60 90; cook 300 90; cook 320 190", 330, "cooling-stage-1 not met", {}),
    (
        "cook 0 140; cook 60 50; cook 360 50; cook 380 180",
        390,
        "cooling-stage-2 not shown",
        {"kind": "poultry", "animal": True},
    ),
    (
        "cook 0 50; cook 280 60; cook 300 180",
        310,
        "time-out-longest not shown",
        {"kind": "poultry", "animal": True},
    ),
    # a clock that began before its first reading
    (f"{COOLED}; reheat 590 100; reheat 610 170 for 15", 620, "reheat not shown", {}),
    ("reheat 200 130; reheat 210 170 for 15", 220, "reheat not shown", {}),
    (
        f"{COOLED}; taken out 589; reheat 590 100; reheat 610 170 for 15",
        620,
        "reheat not shown",
        {},
    ),
    (f"{COOLED}; made 300; cook 590 100; cook 610 170 for 15", 620, "reheat not shown", {}),
    (
        "cook 0 190; cool 30 135; reheat 160 80; reheat 190 170 for 15",
        200,
        "cooling-stage-1 not met",
        {},
    ),
    # cooled food served hot by any route without its 165 °F
    (f"{COOLED}; hot hold 310 150 in well-1", 320, "reheat not shown", {}),
    (f"{COOLED}; cook 310 60; cook 340 150; hot hold 350 150 in well-1", 360, "reheat not met", {}),
    (f"{COOLED}; prepare 310 150", 320, "reheat not shown", {}),
    (f"{COOLED}; time control 310 150", 320, "reheat not shown", {}),
    (f"{COOLED}; cool 310 150", 320, "reheat not shown", {}),
    (
        "cook 0 190; cool 30 135; cool 90 90; hot hold 100 140 in well-1",
        110,
        "reheat not shown",
        {},
    ),
    # a package's weaker row counts once
    (
        "reheat 5 40; reheat 60 140; cool 70 136; cool 130 70; cool 300 41; reheat 310 41; reheat 350 140; hot hold 360 140",
        370,
        "reheat not met",
        {"kind": "commercial package"},
    ),
    # raw animal food that was never cooked
    (
        "receive 0 38; hot hold 30 140 in well-1; used 60",
        60,
        "cook not shown",
        {"kind": "poultry", "animal": True},
    ),
    ("receive 0 38; cook 10 60; used 60", 60, "cook not met", {"kind": "poultry", "animal": True}),
    ("receive 0 38; used 60", 60, "cook not shown", {"kind": "poultry", "animal": True}),
    (
        "receive 0 38; time control 30 40; used 60",
        60,
        "cook not shown",
        {"kind": "poultry", "animal": True},
    ),
    (
        "receive 0 38; prepare 10 150; cool 20 136; cool 90 70; cool 200 41",
        210,
        "cook not shown",
        {"kind": "poultry", "animal": True},
    ),
    (
        "receive 0 38; cook 10 60 by initial; cook 40 110 by initial; cool 50 100; cool 120 70; cool 200 41; hot hold 260 150",
        270,
        "cook not shown",
        {"kind": "poultry", "animal": True},
    ),
    # clocks stopped by a word
    (
        "cook 0 190; cool 30 135; cool 160 69; time control 170 69; used 200",
        200,
        "time-control-cold not met",
        {},
    ),
    ("cook 0 190; cool 30 135; cool 160 90; used 170", 170, "cooling-stage-1 not met", {}),
    ("cook 0 190; cool 30 135; cool 90 90; used 170", 170, "cooling-stage-1 not shown", {}),
    (f"{COOLED}; time control 310 40; cold hold 400 40", 410, "time-control-cold not met", {}),
    (f"{COOLED}; time control 310 40", 560, "time-control-cold not met", {}),
    (f"{COOLED}; time control 310 40; used 600 said 500", 600, "time-control-cold not shown", {}),
    (f"{COOLED}; time control 310 60; used 320", 320, "time-control-cold not met", {}),
    # nobody looked
    ("", 300, "time-out-allowed not shown", {}),
    ("used 300", 300, "time-out-allowed not shown", {}),
    ("cold hold 500 40", 500, "time-out-allowed not shown", {}),
    ("cook 0 199; cook 780 199", 780, "hot-holding not shown", {}),
    ("cook 0 150; cook 780 199", 780, "hot-holding not shown", {"kind": "poultry", "animal": True}),
    ("cook 0 190; cool 30 150; cool 200 140", 210, "cooling-stage-1 not shown", {}),
    ("cook 0 190; cool 30 136", 200, "cooling-stage-1 not shown", {}),
    # a hold longer than the batch exists
    (
        "cook 10 131 for 6720; used 30",
        30,
        "cook not shown",
        {"kind": "whole roast", "animal": True},
    ),
    # after the end
    (f"{COOLED}; used 310; hot hold 400 100", 410, "hot-holding not met", {}),
]


@pytest.mark.parametrize(
    ("story", "now", "by", "more"), HIDDEN, ids=[row[0][:60] for row in HIDDEN]
)
def test_hidden_danger_is_told(
    story: str, now: float | None, by: str, more: dict[str, object]
) -> None:
    assert by in deviations(told(story, now, watch=KITCHEN, opened=0, **more))
