"""Deviations answered by a word."""

from tests.kitchen.dangers.danger import BEANS, CHICKEN, COOKED, Danger

FAILED = f"""{COOKED}
07:00 cool beans 135
09:10 cool beans 90
"""
ANSWERED = [
    Danger(
        "an action says ok", f"{FAILED} \n 09:15 action beans ok", "beans cooling-stage-1 not met"
    ),
    Danger(
        "an action of a manager says ok",
        f"{FAILED} \n 09:15 action beans ok --by AR",
        "beans cooling-stage-1 not met",
    ),
    Danger(
        "the rest was discarded after serving",
        f"""{BEANS}
        12:40 reheat beans 41
        13:10 reheat beans 150
        13:20 hold beans 150 --in well-1
        14:00 discard beans 'service is over'""",
        "beans reheat not met",
    ),
    Danger(
        "it was merged with a good batch",
        f"""{COOKED}
        06:35 split beans 2
        07:00 cool beans-a 135
        07:00 cool beans-b 135
        08:50 cool beans-b 69
        09:10 cool beans-a 90
        09:20 merge beans-a beans-b --code both""",
        "both cooling-stage-1 not met",
    ),
    Danger("it was divided", f"{FAILED} \n 09:15 split beans 2", "beans-b cooling-stage-1 not met"),
    Danger("it was used up", f"{FAILED} \n 09:15 used beans", "beans cooling-stage-1 not met"),
    Danger("it was frozen", f"{FAILED} \n 09:15 freeze beans", "beans cooling-stage-1 not met"),
    Danger(
        "it got another name",
        f"{FAILED} \n 09:15 rename beans pan-3",
        "beans cooling-stage-1 not met",
    ),
    Danger(
        "soup was made of it",
        f"{FAILED} \n 09:15 batch soup --code soup --from beans --yes",
        "soup cooling-stage-1 not met",
    ),
    Danger(
        "soup was made of soup that was made of it",
        f"""{FAILED}
        09:15 batch soup --code soup --from beans --yes
        09:40 reheat soup 166 --held 15
        10:00 batch pie --code pie --from soup --yes""",
        "pie cooling-stage-1 not met",
    ),
    Danger(
        "the day was signed",
        f"{FAILED} \n 09:15 sign today --note busy --by AR",
        "beans cooling-stage-1 not met",
    ),
    Danger(
        "the day was signed over a gap that goes on",
        f"""{COOKED}
        07:00 hold beans 160 --in well-1
        12:00 sign today --note busy --by AR
        20:00""",
        "beans hot-holding not shown",
    ),
    Danger(
        "an action was typed into a gap that goes on",
        f"""{COOKED}
        07:00 hold beans 160 --in well-1
        12:00 action well-1 'looked, was fine'
        20:00""",
        "beans hot-holding not shown",
    ),
    Danger(
        "the unit was emptied, as of hours ago",
        f"""{COOKED}
        07:00 hold beans 160 --in well-1
        12:00 empty well-1 07:30""",
        "beans hot-holding not shown",
    ),
    Danger(
        "it was used up, as of hours ago",
        f"""{COOKED}
        07:00 hold beans 160 --in well-1
        12:00 used beans 07:30""",
        "beans hot-holding not shown",
    ),
    Danger(
        "it was discarded, as of hours ago",
        f"""{COOKED}
        07:00 hold beans 160 --in well-1
        12:00 hold beans 140
        15:00 used beans 12:01""",
        "beans hot-holding not shown",
    ),
    Danger(
        "it was frozen, as of hours ago",
        f"""{COOKED}
        07:00 cool beans 136
        08:40 cool beans 70
        16:00 freeze beans 08:50
        20:00 hold freezer 0""",
        "beans cooling-stage-2 not shown",
    ),
    Danger(
        "it was moved, as of hours ago",
        f"""{BEANS}
        12:40 hold beans 40
        13:00 hold walk-in 55
        17:00 hold walk-in 55
        17:01 move beans freezer 12:45""",
        "beans cold-holding not met",
    ),
    Danger(
        "a hold was typed that is longer than the batch exists",
        """
        06:00 receive beef 38 --code beef --kind "whole roast"
        06:30 cook beef 131 --held 112min --yes
        06:40 used beef""",
        "beef cook not shown",
    ),
    Danger(
        "a cook was met by a hold that had not been over",
        f"""{CHICKEN}
        06:01 cook chicken 150 --held 60min --yes
        06:05 used chicken""",
        "chicken cook not met",
    ),
    Danger(
        "a manager released what was not shown, and then nobody looked again",
        f"""{COOKED}
        07:00 hold beans 160 --in well-1
        09:00 hold well-1 150
        09:01 release beans 'was seen' --by AR
        13:00""",
        "beans hot-holding not shown",
    ),
    Danger(
        "its discard was taken back",
        f"""{FAILED}
        09:15 discard beans bad
        09:16 correct 13 --withdraw --reason "another pot"
        09:20""",
        "beans cooling-stage-1 not met",
    ),
    Danger(
        "the well's bad check alone was explained",
        f"""{COOKED}
        07:00 hold beans 160 --in well-1
        08:00 hold well-1 90
        10:30 hold well-1 150
        10:31 action well-1 'element replaced'""",
        "beans hot-holding not met",
    ),
]
