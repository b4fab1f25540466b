"""Ways to make dangerous food look clean, typed as a cook would, and what the kitchen tells of each.

A case passes only where the danger is told twice: in `show --json` of what it is about and, as
nothing decides it, in `status --json`. All of it is invented; the paragraphs are of the Food Code
2022.
"""

from dataclasses import dataclass

import pytest

from tests.kitchen.typed import deviations, type_in, undecided
from tests.kitchens import Kitchen

COOKED = """
06:00 batch beans --code beans --kind "plant food"
06:30 cook beans 199
"""
BEANS = f"""
{COOKED}
07:00 cool beans 136
08:40 cool beans 70
12:30 cool beans 40
"""
CHICKEN = "06:00 receive chicken 38 --code chicken --kind poultry"
# A day on which the walk-in is looked at as it should be.
LOOKED_AT = """
tue 05:00 hold walk-in 38
08:00 hold walk-in 38
"""
NIGHT = """
16:00 hold walk-in 38
20:00 hold walk-in 38
tue 00:00 hold walk-in 38
04:00 hold walk-in 38
08:00 hold walk-in 38
"""


@dataclass(frozen=True)
class Danger:
    """What hides it, what is typed, and what must be told: of what, which limit, which verdict."""

    name: str
    typed: str
    told: str


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

STANDING_OUT = [
    Danger(
        "cooled food was prepared all day",
        f"""{BEANS}
        12:40 prepare beans 60
        17:00 prepare beans 65""",
        "beans time-out-longest not met",
    ),
    Danger(
        "cooked food cooled under the name of preparation",
        f"""{COOKED}
        07:00 prepare beans 130
        10:00 prepare beans 95""",
        "beans cooling-stage-1 not met",
    ),
    Danger(
        "lukewarm food was called cooking for hours",
        f"""{COOKED}
        07:00 cook beans 120 --yes
        10:00 cook beans 90
        11:00 cook beans 199 --yes""",
        "beans cooling-stage-1 not met",
    ),
    Danger(
        "food was taken out and never seen again",
        f"""{BEANS}
        12:40 out beans
        16:00""",
        "beans time-out-allowed not shown",
    ),
    Danger(
        "food was taken out and used up in the evening",
        f"""{BEANS}
        12:40 out beans
        20:00 used beans""",
        "beans time-out-allowed not shown",
    ),
    Danger(
        "a warm delivery was accepted",
        "06:00 receive milk 58 --code milk --yes",
        "milk receiving-cold not met",
    ),
    Danger(
        "a warm delivery stood on after the door",
        """
        06:00 receive milk 58 --code milk --yes
        10:10 prepare milk 60
        10:20""",
        "milk time-out-longest not met",
    ),
    Danger(
        "a delivery stood at the door until it was put away",
        """
        06:00 receive milk 38 --code milk
        06:10 prepare milk 55
        11:00 hold milk 40 --in walk-in""",
        "milk time-out-allowed not shown",
    ),
    Danger(
        "raw chicken lay on the bench before it was cooked",
        f"""{CHICKEN}
        06:20 prepare chicken 60
        11:00 prepare chicken 65
        11:30 cook chicken 170 --held 15""",
        "chicken time-out-longest not met",
    ),
    Danger(
        "food on a bench was called held cold",
        f"""{BEANS}
        12:40 hold beans 60 --yes
        15:00 hold beans 65 --yes""",
        "beans cold-holding not met",
    ),
    Danger(
        "food at 110 was called held hot",
        f"""{COOKED}
        07:00 hold beans 110 --yes
        09:00 hold beans 105 --yes""",
        "beans hot-holding not met",
    ),
    Danger(
        "food that warmed up after it was cold was called cooling again",
        f"""{BEANS}
        14:00 cool beans 65 --yes
        16:00 cool beans 60""",
        "beans cold-holding not met",
    ),
    Danger(
        "frozen food thawed on a bench",
        f"""{BEANS}
        12:40 freeze beans
        18:00 thaw beans
        18:10 prepare beans 45 --yes
        23:00 prepare beans 65""",
        "beans time-out-longest not met",
    ),
    Danger(
        "a portion stood out while the rest was in the walk-in",
        f"""{BEANS}
        12:40 hold beans 40 --in walk-in
        13:00 split beans 1 --keep
        13:05 out beans-a
        16:00 hold walk-in 39""",
        "beans-a time-out-allowed not shown",
    ),
    Danger(
        "a reheat was begun and left on the bench",
        f"""{BEANS}
        12:40 reheat beans 100
        17:00 reheat beans 110""",
        "beans reheat not met",
    ),
    Danger(
        "time out went on in what was made of it",
        f"""{BEANS}
        12:40 prepare beans 60
        14:20 batch salad --code salad --from beans
        15:40 prepare salad 62""",
        "salad time-out-allowed not shown",
    ),
    Danger(
        "a frozen delivery was out for hours and put back",
        """
        06:00 receive peas 10 --as frozen --code peas
        06:30 out peas
        12:00 hold freezer 0
        12:05 move peas freezer""",
        "peas time-out-longest not met",
    ),
    Danger(
        "a salad of cold beans stood out under its own name",
        f"""{BEANS}
        12:40 batch salad --code salad --from beans
        12:50 prepare salad 60
        17:30 prepare salad 65""",
        "salad time-out-longest not met",
    ),
    Danger(
        "hot delivered food cooled down after the door",
        """
        06:00 receive soup 140 --as hot --code soup
        06:30 prepare soup 120
        09:30 prepare soup 95""",
        "soup cooling-stage-1 not met",
    ),
]

HEATING_CLOCKS = [
    Danger(
        "a reheat began before its first reading",
        f"""{BEANS}{NIGHT}
        12:30 reheat beans 110
        12:50 reheat beans 166 --held 15""",
        "beans reheat not shown",
    ),
    Danger(
        "the moment at which it was taken out was said long after",
        f"""{BEANS}{NIGHT}
        13:00 reheat beans 110
        13:30 out beans 12:55
        13:40 reheat beans 166 --held 15""",
        "beans reheat not shown",
    ),
    Danger(
        "the first reading of a reheat was its last",
        f"""{BEANS}
        tue 08:00 reheat beans 170 --held 15 --yes""",
        "beans reheat not shown",
    ),
    Danger(
        "a reheat took five hours",
        f"""{BEANS}
        12:40 reheat beans 41
        15:00 reheat beans 100
        17:40 reheat beans 166 --held 15""",
        "beans reheat not met",
    ),
    Danger(
        "the reheat of cooled beans was called a cook",
        f"""{BEANS}
        12:40 cook beans 60
        17:40 cook beans 166 --held 15""",
        "beans reheat not met",
    ),
    Danger(
        "cold beans went into a soup that took five hours to be hot",
        f"""{BEANS}
        12:40 batch soup --code soup --from beans
        12:50 cook soup 60
        17:50 cook soup 166 --held 15""",
        "soup reheat not met",
    ),
    Danger(
        "a reheat's two hours went on in what was made of it",
        f"""{BEANS}
        12:40 reheat beans 60
        13:30 batch soup --code soup --from beans --yes
        15:30 cook soup 166 --held 15""",
        "soup reheat not met",
    ),
    Danger(
        "food rose again in its cooling",
        f"""{COOKED}
        07:00 cool beans 136
        08:30 cool beans 69
        10:00 cool beans 95 --yes
        11:00 cool beans 69
        12:30 cool beans 40""",
        "beans cooling-stage-1 not shown",
    ),
    Danger(
        "a failed stage was reheated away",
        f"""{COOKED}
        07:00 cool beans 135
        09:10 reheat beans 90
        09:40 reheat beans 166 --held 15""",
        "beans cooling-stage-1 not met",
    ),
    Danger(
        "a cook that fell into the danger zone for hours was finished later",
        f"""{CHICKEN}
        06:20 cook chicken 140
        07:00 cook chicken 100 --yes
        13:00 cook chicken 95
        13:30 cook chicken 170 --held 15""",
        "chicken cooling-stage-1 not met",
    ),
    Danger(
        "raw food lay lukewarm on the stove for five hours",
        f"""{CHICKEN}
        06:20 cook chicken 60
        11:20 cook chicken 90
        11:40 cook chicken 170 --held 15""",
        "chicken time-out-longest not shown",
    ),
]

NOT_REHEATED = [
    Danger(
        "cooled beans went straight into the well",
        f"{BEANS} \n 12:40 hold beans 150 --in well-1 --yes",
        "beans reheat not shown",
    ),
    Danger(
        "cooled beans were hot when they were prepared",
        f"{BEANS} \n 12:40 prepare beans 150 --yes",
        "beans reheat not shown",
    ),
    Danger(
        "cooled beans were served hot by the clock",
        f"{BEANS} \n 12:40 time beans 150 --yes",
        "beans reheat not shown",
    ),
    Danger(
        "cooled beans were hot when they were set to cool again",
        f"{BEANS} \n 12:40 cool beans 150 --yes",
        "beans reheat not shown",
    ),
    Danger(
        "cooled beans were made something of and held at 150",
        f"""{BEANS}
        12:40 batch soup --code soup --from beans
        13:00 cook soup 150
        13:10 hold soup 150 --in well-1
        13:30""",
        "soup reheat not met",
    ),
    Danger(
        "a portion of cooled beans was held hot",
        f"""{BEANS}
        12:35 split beans 2
        12:40 hold beans-a 150 --in well-1 --yes""",
        "beans-a reheat not shown",
    ),
    Danger(
        "cooled beans were merged, then held hot",
        f"""{BEANS}
        12:35 split beans 2
        12:36 merge beans-a beans-b --code again
        12:40 hold again 150 --in well-1 --yes""",
        "again reheat not shown",
    ),
    Danger(
        "a portion to order was held hot",
        f"""{BEANS}
        12:40 split beans 1 --to-order --keep
        12:45 reheat beans-a 60
        13:00 reheat beans-a 140
        13:10 hold beans-a 140 --in well-1
        14:00 hold well-1 140""",
        "beans-a reheat not met",
    ),
    Danger(
        "a package's own row was used a second time",
        """
        06:00 batch "canned soup" --code can --kind "commercial package"
        06:05 reheat can 60
        06:30 reheat can 140
        07:00 cool can 136
        08:30 cool can 70
        12:00 cool can 40
        12:05 reheat can 41
        12:40 reheat can 140
        12:50 hold can 140 --in well-1""",
        "can reheat not met",
    ),
    Danger(
        "soup was made of a package that was cooled here, by the package's row",
        """
        06:00 batch "canned soup" --code can --kind "commercial package"
        06:05 reheat can 60
        06:30 reheat can 140
        07:00 cool can 136
        08:30 cool can 70
        12:00 cool can 40
        12:05 batch soup --code soup --from can --kind "commercial package"
        12:10 reheat soup 41
        12:40 reheat soup 140
        12:50 hold soup 140 --in well-1""",
        "soup reheat not met",
    ),
    Danger(
        "food out of an open cooling was put back into the well",
        f"""{COOKED}
        07:00 cool beans 136
        08:00 cool beans 100
        08:30 hold beans 140 --in well-1 --yes""",
        "beans reheat not shown",
    ),
]

NEVER_COOKED = [
    Danger(
        "raw chicken was held hot and used",
        f"""{CHICKEN}
        07:00 hold chicken 140 --in well-1 --yes
        07:30 used chicken""",
        "chicken cook not shown",
    ),
    Danger(
        "raw chicken was cooked to 150",
        f"""{CHICKEN}
        07:00 cook chicken 150
        07:30 used chicken""",
        "chicken cook not met",
    ),
    Danger(
        "raw chicken was used up as it was",
        f"{CHICKEN} \n 07:30 used chicken",
        "chicken cook not shown",
    ),
    Danger(
        "raw chicken was served by the clock",
        f"""{CHICKEN}
        06:30 time chicken 40
        07:30 used chicken""",
        "chicken cook not shown",
    ),
    Danger(
        "raw chicken was warmed in preparation and cooled",
        f"""{CHICKEN}
        06:30 prepare chicken 150 --yes
        06:50 cool chicken 136
        08:00 cool chicken 70
        11:00 cool chicken 40
        11:10""",
        "chicken cook not shown",
    ),
    Danger(
        "raw chicken went into a salad",
        f"""{CHICKEN}
        06:30 batch salad --code salad --from chicken
        06:40 prepare salad 40
        07:30 used salad""",
        "salad cook not shown",
    ),
    Danger(
        "a portion of raw chicken was used",
        f"""{CHICKEN}
        06:10 split chicken 2
        07:30 used chicken-a""",
        "chicken-a cook not shown",
    ),
    Danger(
        "chicken was seared, cooled and never cooked",
        f"""{CHICKEN}
        06:20 cook chicken 60 --initial
        06:50 cook chicken 110 --initial
        07:00 cool chicken 100
        08:00 cool chicken 70
        11:00 cool chicken 40
        12:00 hold chicken 150 --in well-1 --yes""",
        "chicken cook not shown",
    ),
    Danger(
        "raw chicken was put to a pot of cooked chicken",
        f"""{CHICKEN}
        06:10 receive chicken 38 --code fresh --kind poultry
        06:20 cook chicken 170 --held 15
        06:30 merge chicken fresh --code both
        06:40 hold both 140 --in well-1 --yes
        07:00 used both""",
        "both cook not shown",
    ),
    Danger(
        "raw chicken went through two plant foods",
        f"""{CHICKEN}
        06:30 batch base --code base --from chicken --kind "plant food"
        06:40 batch stew --code stew --from base --kind "plant food"
        07:00 cook stew 140
        07:05 used stew""",
        "stew cook not met",
    ),
    Danger(
        "undercooked food, said to be so, was held hot",
        """
        06:00 receive chicken 38 --code chicken --kind poultry --undercooked
        07:00 hold chicken 140 --in well-1 --yes
        08:00 hold well-1 140
        08:10 used chicken""",
        "chicken cook not shown",
    ),
    Danger(
        "raw chicken and beef went into a stew that is cooked as beef",
        f"""{CHICKEN}
        06:05 receive beef 38 --code beef --kind "intact meat"
        06:30 batch stew --code stew --from chicken --from beef --kind "intact meat"
        07:00 cook stew 150 --held 15
        07:10 used stew""",
        "stew cook not met",
    ),
    Danger(
        "frozen raw chicken went into a stew that is cooked as fish",
        f"""{CHICKEN}
        06:10 freeze chicken
        12:00 hold freezer 0
        12:10 batch stew --code stew --from chicken --kind fish
        12:40 cook stew 150 --held 15
        13:00 used stew""",
        "stew cook not met",
    ),
    Danger(
        "raw chicken was microwaved to 150",
        f"""{CHICKEN}
        06:30 cook chicken 150 --microwave
        07:00 used chicken""",
        "chicken cook-microwave not met",
    ),
    Danger(
        "raw chicken was reheated, as if it had been cooked",
        f"""{CHICKEN}
        06:30 reheat chicken 140
        07:00 used chicken""",
        "chicken cook not met",
    ),
    Danger(
        "a pie of raw chicken was heated as a package",
        f"""{CHICKEN}
        06:30 batch pie --code pie --from chicken --kind "commercial package"
        06:40 reheat pie 140
        07:00 used pie""",
        "pie cook not met",
    ),
    Danger(
        "the plan's raw poultry was opened without saying so",
        """
        05:30 add food "chicken legs" --kind poultry --by AR
        06:00 receive "Chicken Legs" 38 --code legs
        07:00 cook legs 150
        07:30 used legs""",
        "legs cook not met",
    ),
    Danger(
        "raw poultry went into a stew that calls itself plant food",
        f"""{CHICKEN}
        06:30 batch stew --code stew --from chicken --kind "plant food"
        07:00 cook stew 140
        07:30 hold stew 140 --in well-1
        07:40 used stew""",
        "stew cook not met",
    ),
]

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

DATE_MARKS = [
    Danger(
        "a delivery was cooked under its own code eight days ago",
        f"""{CHICKEN}
        06:30 cook chicken 170 --held 15
        07:00 cool chicken 136
        08:30 cool chicken 70
        12:00 cool chicken 40
        mon2 12:00""",
        "chicken date-mark not met",
    ),
    Danger(
        "a delivery was opened and prepared here eight days ago",
        """
        06:00 receive ham 38 --code ham --kind "commercial package"
        06:30 prepare ham 40
        06:40 hold ham 40 --in walk-in
        mon2 12:00""",
        "ham date-mark not met",
    ),
    Danger(
        "an opened package was divided eight days ago",
        """
        06:00 receive ham 38 --code ham --kind "commercial package"
        06:30 split ham 2
        06:40 hold ham-a 40 --in walk-in
        mon2 12:00""",
        "ham-a date-mark not met",
    ),
    Danger(
        "something was made of a package eight days ago, and the rest kept",
        """
        06:00 receive ham 38 --code ham --kind "commercial package"
        06:30 batch salad --code salad --from ham
        mon2 12:00""",
        "ham date-mark not met",
    ),
    Danger(
        "soup came hot, was cooled and kept",
        """
        06:00 receive soup 140 --as hot --code soup
        06:30 cool soup 136
        08:20 cool soup 70
        12:00 cool soup 40
        mon2 12:00""",
        "soup date-mark not met",
    ),
    Danger(
        "a portion of a delivery was cooked",
        f"""{CHICKEN}
        06:10 split chicken 2
        06:30 cook chicken-a 170 --held 15
        07:00 cool chicken-a 136
        08:30 cool chicken-a 70
        12:00 cool chicken-a 40
        mon2 10:00""",
        "chicken-a date-mark not met",
    ),
    Danger(
        "salad was made of a delivery that was cooked five days before",
        f"""{CHICKEN}
        06:30 cook chicken 170 --held 15
        07:00 cool chicken 136
        08:30 cool chicken 70
        12:00 cool chicken 40
        sat 10:00 batch salad --code salad --from chicken --yes
        tue2 10:00""",
        "salad date-mark not met",
    ),
    Danger(
        "a frozen delivery was cooked and kept",
        """
        06:00 receive peas 10 --as frozen --code peas
        06:30 cook peas 170
        07:00 cool peas 136
        08:20 cool peas 70
        12:00 cool peas 40
        mon2 12:00""",
        "peas date-mark not met",
    ),
    Danger(
        "the maker's far date stood on an opened package",
        """
        06:00 receive ham 38 --code ham --kind "commercial package" --use-by 2026-12-30
        06:30 prepare ham 40
        mon2 12:00""",
        "ham date-mark not met",
    ),
    Danger(
        "food went into the freezer and out of it again, a day each time",
        f"""{BEANS}
        13:00 freeze beans
        tue 12:00 thaw beans
        12:01 freeze beans
        wed 12:00 thaw beans
        12:01 freeze beans
        thu 12:00 thaw beans
        wed2 12:00""",
        "beans date-mark not met",
    ),
    Danger(
        "food that was frozen once was read thawed and never said to be",
        f"""{BEANS}
        12:40 freeze beans
        tue 12:00 hold beans 38 --in walk-in --yes
        wed2 12:00""",
        "beans date-mark not met",
    ),
    Danger(
        "food that was frozen once was moved into the walk-in",
        f"""{BEANS}
        12:40 freeze beans
        tue 12:00 move beans walk-in
        wed2 12:00""",
        "beans date-mark not met",
    ),
    Danger(
        "the freezing was entered a week late",
        f"""{BEANS}
        mon2 12:00 freeze beans "2026-10-27 12:00"
        mon2 12:01""",
        "beans date-mark not met",
    ),
    Danger(
        "what was cooked in the evening was typed the next morning",
        """
        tue 08:00 batch rice --code rice --kind "plant food"
        08:01 cook rice 199 "yesterday 20:00" --yes
        08:02 cool rice 136 "yesterday 20:30" --yes
        08:03 cool rice 70 "yesterday 22:00" --yes
        08:04 cool rice 40 "02:00" --yes
        mon2 08:00""",
        "rice date-mark not met",
    ),
    Danger(
        "a new batch was made of food on its sixth day",
        f"""{BEANS}
        sat 12:00 batch soup --code soup --from beans --yes
        tue2 08:00""",
        "soup date-mark not met",
    ),
    Danger(
        "food past its day was put into the freezer",
        f"""{BEANS}
        mon2 12:00 freeze beans
        12:01""",
        "beans date-mark not met",
    ),
    Danger(
        "a portion of old food was thought to be new",
        f"""{BEANS}
        fri 12:00 split beans 2
        mon2 12:00""",
        "beans-a date-mark not met",
    ),
]

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

EVERY = [
    *UNITS, *STANDING_OUT, *HEATING_CLOCKS, *NOT_REHEATED, *NEVER_COOKED, *CLOCKS_STOPPED,
    *DATE_MARKS, *ANSWERED, *NOBODY_LOOKED,
]  # fmt: skip


@pytest.mark.parametrize("danger", EVERY, ids=[one.name for one in EVERY])
def test_what_is_hidden_is_told(line: Kitchen, danger: Danger) -> None:
    type_in(line, danger.typed)
    subject, told = danger.told.split(" ", 1)
    assert told in deviations(line, subject), deviations(line, subject)
    assert danger.told in undecided(line)


def test_each_of_them_is_another_one() -> None:
    assert len({one.typed for one in EVERY}) == len({one.name for one in EVERY}) == len(EVERY)


def test_a_weaker_kind_than_the_plan_s_is_a_manager_s_to_choose(line: Kitchen) -> None:
    type_in(line, '05:30 add food "chicken legs" --kind poultry --by AR', "06:00")
    for kind in ("intact meat", "plant food", "whole roast", "commercial package"):
        said = line.refuses(f'batch "Chicken legs" --code legs --kind "{kind}"')
        assert "poultry in the kitchen's plan" in said
        assert "in the kitchen's plan" in line.refuses(f'receive "chicken legs" 38 --kind "{kind}"')
    line.says('batch "chicken legs" --code as-planned --kind poultry')
    line.says('batch "chicken legs" --code stuffed --kind "stuffed food"')
    line.pin = "9999"
    assert "not the PIN" in line.refuses('batch "chicken legs" --code a --kind fish --by AR')
    line.pin = "2580"
    line.says('batch "chicken legs" --code a --kind fish --by AR')


def test_nothing_comes_as_shell_eggs_but_eggs(line: Kitchen) -> None:
    """3-202.11(C), 3-501.16(B): they may be warmer, in air of 45 °F."""
    line.at("2026-10-26T06:00-06:00")
    said = line.refuses("receive chicken 45 --as egg --kind poultry")
    assert "--as egg is for raw shell eggs, not for poultry" in said
    line.says("receive eggs 45 --as egg --kind egg")
