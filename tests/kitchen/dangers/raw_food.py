"""Raw animal food that was never cooked, and weaker kinds."""

from tests.kitchen.dangers.danger import CHICKEN, Danger

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
