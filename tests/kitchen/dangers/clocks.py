"""Clocks stopped by a word."""

from tests.kitchen.dangers.danger import BEANS, COOKED, Danger

CLOCKS_STOPPED = [
    Danger(
        "food was used up in mid-cooling, late",
        f"""{COOKED}
        07:00 cool beans 135
        09:10 cool beans 90
        09:15 used beans""",
        "beans cooling-stage-1 not met",
    ),
    Danger(
        "food was used up in mid-cooling, between two readings",
        f"""{COOKED}
        07:00 cool beans 136
        08:00 cool beans 90
        10:00 used beans""",
        "beans cooling-stage-1 not shown",
    ),
    Danger(
        "a new batch was made of food in mid-cooling",
        f"""{COOKED}
        07:00 cool beans 136
        08:30 cool beans 95
        08:35 batch soup --code soup --from beans --yes
        12:00 prepare soup 60""",
        "soup cooling-stage-1 not shown",
    ),
    Danger(
        "food in mid-cooling was divided, and its portions not measured",
        f"""{COOKED}
        07:00 cool beans 136
        08:30 cool beans 95
        08:35 split beans 2
        12:00""",
        "beans-a cooling-stage-1 not shown",
    ),
    Danger(
        "food in mid-cooling was declared frozen",
        f"""{COOKED}
        07:00 cool beans 136
        08:30 cool beans 95
        08:35 freeze beans
        18:00 hold freezer 0""",
        "beans cooling-stage-1 not shown",
    ),
    Danger(
        "the walk-in's good check stood for food in mid-cooling",
        f"""{COOKED}
        07:00 cool beans 136
        08:40 cool beans 70
        09:00 move beans walk-in
        12:30 hold walk-in 38
        16:00 hold walk-in 38""",
        "beans cooling-stage-2 not shown",
    ),
    Danger(
        "food under the clock went back into the walk-in",
        f"""{BEANS}
        12:40 time beans 40
        14:00 hold beans 40 --in walk-in --yes""",
        "beans time-control-cold not met",
    ),
    Danger(
        "food under the clock was never thrown away",
        f"""{BEANS}
        12:40 time beans 40
        17:00""",
        "beans time-control-cold not met",
    ),
    Danger(
        "its end under the clock was typed hours later",
        f"""{BEANS}
        12:40 time beans 40
        18:00 used beans 14:00""",
        "beans time-control-cold not shown",
    ),
    Danger(
        "the clock was begun with food that stood out",
        f"""{BEANS}
        12:40 time beans 60 --yes
        12:50 used beans""",
        "beans time-control-cold not met",
    ),
    Danger(
        "hot food under the clock fell and was cooled for tomorrow",
        f"""{COOKED}
        07:00 time beans 150
        10:00 cool beans 110
        10:40""",
        "beans time-control-hot not met",
    ),
    Danger(
        "soup was made of food that had been used up hours before, out of the cold",
        f"""{BEANS}
        12:40 prepare beans 60
        13:00 used beans
        17:00 batch soup --code soup --from beans
        17:10 prepare soup 60""",
        "soup time-out-longest not met",
    ),
    Danger(
        "one portion of a cooling was measured, the other not",
        f"""{COOKED}
        07:00 cool beans 136
        07:10 split beans 2
        08:40 cool beans-a 70
        12:00 cool beans-a 40""",
        "beans-b cooling-stage-1 not shown",
    ),
    Danger(
        "food under the clock was divided",
        f"""{BEANS}
        12:40 time beans 40
        13:00 split beans 2
        17:30""",
        "beans-a time-control-cold not met",
    ),
    Danger(
        "pots under the clock were put together",
        f"""{BEANS}
        12:35 split beans 2
        12:40 time beans-a 40
        12:40 time beans-b 40
        13:00 merge beans-a beans-b --code both
        17:30""",
        "both time-control-cold not met",
    ),
    Danger(
        "hot food was said to be frozen",
        f"""{COOKED}
        06:40 freeze beans
        12:00 hold freezer 0""",
        "beans hot-holding not shown",
    ),
    Danger(
        "food left the freezer and was said to be back",
        f"""{BEANS}
        12:40 freeze beans
        13:00 hold freezer 0
        18:00 thaw beans
        18:05 prepare beans 50 --yes
        22:30 prepare beans 60
        22:35 freeze beans
        22:40 hold freezer 0""",
        "beans time-out-longest not met",
    ),
]
