"""Food that stands out, raw or cooked, whatever the step is called."""

from tests.kitchen.dangers.danger import BEANS, CHICKEN, COOKED, Danger

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
