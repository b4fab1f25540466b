"""Date marks that never come: 3-501.17, 3-501.18."""

from tests.kitchen.dangers.danger import BEANS, CHICKEN, Danger

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
    Danger(
        "the container of a delivery was opened eight days ago",
        """
        06:00 receive milk 38 --code milk
        06:30 opened milk
        mon2 12:00""",
        "milk date-mark not met",
    ),
    Danger(
        "that its container was opened eight days ago was said today",
        """
        06:00 receive milk 38 --code milk
        mon2 11:00 opened milk "2026-10-26 06:30"
        12:00""",
        "milk date-mark not met",
    ),
    Danger(
        "salad was made of cheese that needs no date mark",
        """
        06:00 receive cheddar 38 --code cheddar --date-mark-exempt "hard cheese"
        06:30 batch salad --code salad --from cheddar
        mon2 12:00""",
        "salad date-mark not met",
    ),
    Danger(
        "cheese that needs no date mark was cooked",
        """
        06:00 receive cheddar 38 --code cheddar --date-mark-exempt "hard cheese"
        06:30 cook cheddar 170
        mon2 12:00""",
        "cheddar date-mark not met",
    ),
    Danger(
        "the maker's far date stood on a portion that was cooked",
        """
        06:00 receive peas 38 --code peas --use-by 2026-12-30
        06:10 split peas 2
        06:30 cook peas-a 170
        mon2 12:00""",
        "peas-a date-mark not met",
    ),
]
