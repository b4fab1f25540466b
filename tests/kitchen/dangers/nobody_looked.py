"""Nobody looked."""

from tests.kitchen.dangers.danger import BEANS, CHICKEN, COOKED, Danger

NOBODY_LOOKED = [
    Danger(
        "a batch was opened and never read",
        "06:00 batch beans --code beans \n 11:00",
        "beans time-out-allowed not shown",
    ),
    Danger(
        "a batch was opened, never read and used up",
        "06:00 batch beans --code beans \n 11:00 used beans",
        "beans time-out-allowed not shown",
    ),
    Danger(
        "a batch was first read in the evening, cold",
        "06:00 batch beans --code beans \n 16:00 hold beans 40 --in walk-in \n 16:01",
        "beans time-out-allowed not shown",
    ),
    Danger(
        "nothing was read between two cooks",
        f"{COOKED} \n 20:00 cook beans 199",
        "beans hot-holding not shown",
    ),
    Danger(
        "raw food cooked on the stove over the night",
        f"{CHICKEN} \n 06:30 cook chicken 150 \n 20:00 cook chicken 199",
        "chicken hot-holding not shown",
    ),
    Danger(
        "'measure again by' was printed after a cook and passed",
        f"{COOKED} \n 10:00",
        "beans hot-holding not shown",
    ),
    Danger(
        "'measure again by' was printed after a reheat and passed",
        f"""{BEANS}
        12:40 reheat beans 41
        13:10 reheat beans 166 --held 15
        17:00""",
        "beans hot-holding not shown",
    ),
    Danger(
        "'measure again by' was printed in a cooling and passed",
        f"{COOKED} \n 07:00 cool beans 136 \n 10:00",
        "beans cooling-stage-1 not shown",
    ),
    Danger(
        "a well stood over the night",
        f"""{COOKED}
        20:00 hold beans 160 --in well-1 --yes
        tue 07:00 hold well-1 150""",
        "beans hot-holding not shown",
    ),
    Danger(
        "the portions of cold food were looked at by nobody",
        f"""
        05:30 add unit reach-in cold --by AR
        {BEANS}
        12:35 split beans 2
        tue 12:00""",
        "beans-b cold-holding not shown",
    ),
    Danger(
        "a delivery was taken and never looked at again",
        "06:00 receive milk 38 --code milk \n 20:00",
        "milk cold-holding not shown",
    ),
    Danger(
        "a unit was added and never looked at, with food in it",
        f"""{BEANS}
        12:35 add unit reach-in cold --by AR
        12:40 move beans reach-in
        tue 12:00""",
        "beans cold-holding not shown",
    ),
    Danger(
        "a batch was frozen and never read",
        """
        06:00 batch beans --code beans
        06:40 freeze beans
        12:00 hold freezer 0""",
        "beans time-out-allowed not shown",
    ),
    Danger(
        "hot food was moved into the walk-in, which was looked at well",
        f"""{COOKED}
        06:45 move beans walk-in
        08:00 hold walk-in 38
        12:00 hold walk-in 38""",
        "beans hot-holding not shown",
    ),
    Danger(
        "food of room temperature was never read",
        "06:00 batch salad --ambient --code salad \n 10:01",
        "salad cooling-ambient not shown",
    ),
]
