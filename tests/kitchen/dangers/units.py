"""Units out of limits or unwatched; food in them moved, portioned, merged, used from them."""

from tests.kitchen.dangers.danger import BEANS, CHICKEN, COOKED, Danger

UNITS = [
    Danger(
        "a well sank with food in it",
        f"""{COOKED}
        07:00 hold beans 160 --in well-1
        08:00 hold well-1 90
        09:00 hold well-1 150""",
        "beans hot-holding not met",
    ),
    Danger(
        "the usual well sank, and no unit was ever named for the food",
        f"""{COOKED}
        07:00 hold beans 160
        08:00 hold well-1 90
        09:00 hold well-1 150""",
        "beans hot-holding not met",
    ),
    Danger(
        "food was put into a well that nobody looked at again",
        f"""{COOKED}
        07:00 hold beans 160 --in well-1
        12:00""",
        "beans hot-holding not shown",
    ),
    Danger(
        "a walk-in was warm with moved food in it",
        f"""{BEANS}
        12:35 move beans walk-in
        16:00 hold walk-in 55""",
        "beans cold-holding not met",
    ),
    Danger(
        "the usual walk-in was warm",
        f"""{BEANS}
        12:40 hold beans 40
        16:00 hold walk-in 55
        16:05 hold walk-in 40""",
        "beans cold-holding not met",
    ),
    Danger(
        "a walk-in was looked at by nobody from noon to the next morning",
        f"""{BEANS}
        12:40 hold beans 40 --in walk-in
        tue 08:00 hold walk-in 39""",
        "beans cold-holding not shown",
    ),
    Danger(
        "raw food stood in a warm walk-in",
        f"""{CHICKEN}
        06:10 hold chicken 39 --in walk-in
        09:00 hold walk-in 58""",
        "chicken cold-holding not met",
    ),
    Danger(
        "food was moved out of the warm walk-in before anybody asked",
        f"""{BEANS}
        12:40 hold beans 40 --in walk-in
        14:00 hold walk-in 55
        16:30 hold walk-in 55
        16:35 move beans freezer""",
        "beans cold-holding not met",
    ),
    Danger(
        "a portion was taken from the warm walk-in",
        f"""{BEANS}
        12:40 hold beans 40 --in walk-in
        13:00 hold walk-in 55
        16:00 hold walk-in 55
        16:05 split beans 2""",
        "beans-a cold-holding not met",
    ),
    Danger(
        "food out of a warm walk-in was merged with good food",
        f"""{BEANS}
        12:40 hold beans 40 --in walk-in
        12:41 split beans 2
        12:42 out beans-b
        12:43 hold beans-b 40 --in freezer --yes
        13:00 hold walk-in 55
        16:00 hold walk-in 55
        16:05 hold beans-b 40 --in freezer --yes
        16:10 merge beans-a beans-b --code both""",
        "both cold-holding not met",
    ),
    Danger(
        "soup was made of food out of a warm walk-in",
        f"""{BEANS}
        12:40 hold beans 40 --in walk-in
        13:00 hold walk-in 55
        16:00 hold walk-in 55
        16:05 batch soup --code soup --from beans --yes
        16:30 cook soup 170 --held 15 --yes""",
        "soup cold-holding not met",
    ),
    Danger(
        "food of the sunken well was used up",
        f"""{COOKED}
        07:00 hold beans 160 --in well-1
        08:00 hold well-1 90
        09:00 hold well-1 90
        09:30 used beans""",
        "beans hot-holding not met",
    ),
    Danger(
        "the freezer was found warm",
        f"""{BEANS}
        12:40 freeze beans
        18:00 hold freezer 5
        tue 05:00 hold freezer 50 --yes
        08:00""",
        "beans frozen-holding not met",
    ),
    Danger(
        "nobody looked into the freezer for two days",
        f"""{BEANS}
        12:40 freeze beans
        18:00 hold freezer 5
        wed 18:00 hold freezer 5""",
        "beans frozen-holding not shown",
    ),
    Danger(
        "the walk-in was said to be a hot well from now on",
        f"""{BEANS}
        12:40 hold beans 40 --in walk-in
        13:00 add unit walk-in hot --yes --by AR
        17:00 hold walk-in 150 --yes
        18:00""",
        "beans cold-holding not shown",
    ),
    Danger(
        "the thermometer that looked at a cooling fails its check afterwards",
        f"""
        05:30 ice T1 32
        {BEANS}
        12:40 ice T1 20 --yes""",
        "beans cooling-stage-1 not shown",
    ),
    Danger(
        "the walk-in was retired with food in it",
        f"""{BEANS}
        12:40 hold beans 40 --in walk-in
        12:50 add unit walk-in cold --retired --by AR
        tue 12:00""",
        "beans cold-holding not shown",
    ),
    Danger(
        "the walk-in was warm at opening, after closed hours",
        f"""
        05:30 kitchen --open "mon-sun 06:00-22:00" --by AR
        {BEANS}
        12:40 hold beans 40 --in walk-in
        16:00 hold walk-in 39
        20:00 hold walk-in 39
        tue 06:30 hold walk-in 58""",
        "beans cold-holding not met",
    ),
    Danger(
        "hot food stood in a well over closed hours",
        """
        05:30 kitchen --open "mon-sun 06:00-22:00" --by AR
        20:00 batch beans --code beans --kind "plant food"
        20:30 cook beans 199
        21:00 hold beans 160 --in well-1
        tue 06:30 hold well-1 150""",
        "beans hot-holding not shown",
    ),
    Danger(
        "hot food was put into the walk-in and held there",
        f"""{COOKED}
        07:00 hold beans 160 --in well-1
        08:00 move beans walk-in
        12:30 hold walk-in 39""",
        "beans hot-holding not shown",
    ),
    Danger(
        "hot food was moved to and fro and never measured",
        f"""{COOKED}
        07:00 hold beans 160 --in well-1
        08:00 move beans walk-in
        09:00 move beans well-1
        10:00 move beans walk-in
        11:00 move beans well-1
        11:05""",
        "beans hot-holding not shown",
    ),
    Danger(
        "cold food stood in the hot well, whose checks were good",
        f"""{BEANS}
        12:40 move beans well-1
        13:30 hold well-1 150
        14:30 hold well-1 150
        15:30 hold well-1 150""",
        "beans cold-holding not shown",
    ),
    Danger(
        "cold food stood in a freezer that was warm",
        f"""{BEANS}
        12:40 move beans freezer
        15:00 hold freezer 50 --yes
        18:00 hold freezer 50""",
        "beans cold-holding not met",
    ),
    Danger(
        "the well was emptied after the fact, and with it what nobody saw",
        f"""{COOKED}
        07:00 hold well-1 150
        12:00 empty well-1 07:10""",
        "well-1 hot-holding not shown",
    ),
    Danger(
        "eggs stood in an egg cooler that was warm",
        """
        05:30 add unit eggs egg --by AR
        06:00 receive eggs 44 --as egg --kind egg --code shells
        06:10 hold shells 44 --in eggs
        09:00 hold eggs 52""",
        "shells egg-holding not met",
    ),
    Danger(
        "the thermometer that looked into the well fails its check afterwards",
        f"""{COOKED}
        06:40 ice T1 32
        07:00 hold beans 160 --in well-1
        08:00 hold well-1 150
        08:30 ice T1 45 --yes""",
        "beans hot-holding not shown",
    ),
]
