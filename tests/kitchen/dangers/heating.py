"""Reheats and cooks that began before their first reading, or never were."""

from tests.kitchen.dangers.danger import BEANS, CHICKEN, COOKED, Danger

NIGHT = """
16:00 hold walk-in 38
20:00 hold walk-in 38
tue 00:00 hold walk-in 38
04:00 hold walk-in 38
08:00 hold walk-in 38
"""
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
