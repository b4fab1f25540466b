"""A whole roast's oven: what is asked of it, and what a local authority may accept; invented.

Source: Food Code 3-401.11(B)(1).
"""

from haccp.rules.words import explain
from tests.kitchen.accounts import account, life, told
from tests.kitchens import Kitchen, flat, on

ACCEPTED = 'oven "still dry" --accepted-by "Pine County Health" --letter 2026-09-14 --by AR'


def brisket(kitchen: Kitchen, code: str, day: str, oven: str = "still dry", lb: int = 14) -> None:
    """A roast in a smoker at 225 °F, until its core has been at 145 °F for long."""
    cooks = (("08:00", 40), ("12:00", 110), ("15:00", 150), ("15:30", 155))
    opening = f"batch brisket --code {code} --kind 'whole roast' --oven '{oven}' --weight {lb}lb"
    on(kitchen, day, "07:50", opening)
    for clock, core in cooks:
        on(kitchen, day, clock, f"cook {code} {core} --oven 225")
    on(kitchen, day, "16:00", f"used {code} --yes")


def words(kitchen: Kitchen, code: str) -> str:
    (found,) = [one for one in account(kitchen, code).findings if one.limit.name == "oven"]
    return explain(found, lambda at: f"{at:%H:%M}")


def test_a_smoker_that_is_too_cool_is_told_what_is_asked_and_what_may_be_done(
    kitchen: Kitchen,
) -> None:
    brisket(kitchen, "brisket", "10-27")
    assert told(kitchen, "brisket") == ["oven not met"]
    said = words(kitchen, "brisket")
    assert "it must be 250 °F or above." in said
    assert (
        "3-401.11(B) asks of dry heat by the roast's weight: under 10 lb 350 °F or above; "
        "10 lb or more 250 °F or above. High humidity is another row, 250 °F or below." in said
    )
    assert "a manager records the letter (haccp oven)" in said


def test_an_oven_that_nobody_read_is_told_the_same(kitchen: Kitchen) -> None:
    on(
        kitchen,
        "10-27",
        "07:50",
        "batch pork --code pork --kind 'whole roast' --oven convection --weight 8lb",
    )
    on(kitchen, "10-27", "08:00", "cook pork 40")
    on(kitchen, "10-27", "12:00", "cook pork 158")
    said = words(kitchen, "pork")
    assert "it must be 325 °F or above. Log the oven with the roast." in said
    assert "under 10 lb 325 °F or above; 10 lb or more 250 °F or above." in said


def test_a_humid_oven_that_is_too_hot_is_told_what_dry_heat_is_asked(kitchen: Kitchen) -> None:
    opening = "batch ham --code ham --kind 'whole roast' --oven 'high humidity' --weight 8lb"
    on(kitchen, "10-27", "07:50", opening)
    on(kitchen, "10-27", "08:00", "cook ham 40 --oven 275")
    said = words(kitchen, "ham")
    assert "it must be 250 °F or below." in said
    assert "still dry, under 10 lb 350 °F or above;" in said
    assert "another row" not in said


def test_a_letter_of_the_authority_lets_the_core_alone_decide_from_then_on(
    kitchen: Kitchen,
) -> None:
    brisket(kitchen, "before", "10-27")
    answer = on(kitchen, "10-28", "07:00", ACCEPTED)
    assert "Oven, still dry: accepted in writing by Pine County Health" in answer
    brisket(kitchen, "after", "10-28")
    brisket(kitchen, "fan", "10-29", oven="convection")
    assert told(kitchen, "before") == ["oven not met"]
    assert told(kitchen, "after") == []
    assert life(kitchen, "after").oven == ""
    assert told(kitchen, "fan") == ["oven not met"]
    shown = flat(kitchen.says("show after"))
    assert (
        "Oven: still dry, roast of 14 lb; accepted in writing by Pine County Health, letter of "
        "Mon 14 Sep 2026." in shown
    )
    assert "accepted" not in flat(kitchen.says("show before"))


def test_an_accepted_oven_does_not_make_a_core_warm(kitchen: Kitchen) -> None:
    on(kitchen, "10-27", "07:00", ACCEPTED)
    opening = "batch brisket --code raw --kind 'whole roast' --oven 'still dry' --weight 14lb"
    on(kitchen, "10-27", "07:50", opening)
    on(kitchen, "10-27", "08:00", "cook raw 40 --oven 225")
    on(kitchen, "10-27", "12:00", "cook raw 120 --oven 225")
    on(kitchen, "10-27", "12:10", "used raw")
    assert told(kitchen, "raw") == ["cook not met"]


def test_a_letter_that_was_withdrawn_accepts_nothing_more(kitchen: Kitchen) -> None:
    on(kitchen, "10-27", "07:00", ACCEPTED)
    number = kitchen.entries()[-1]["seq"]
    kitchen.says(f"correct {number} --withdraw --reason 'it was another oven' --by AR")
    brisket(kitchen, "brisket", "10-27")
    assert told(kitchen, "brisket") == ["oven not met"]


def test_only_a_manager_records_a_letter_and_none_of_tomorrow(kitchen: Kitchen) -> None:
    assert "a manager does this" in kitchen.refuses(ACCEPTED.replace("AR", "JM"))
    future = ACCEPTED.replace("2026-09-14", "2026-12-24")
    assert "type the date that the letter bears" in kitchen.refuses(future)
    assert "Who accepted it" in kitchen.refuses(ACCEPTED.replace("Pine County Health", " "))
    kitchen.pin = "0000"
    assert "PIN" in kitchen.refuses(ACCEPTED)
