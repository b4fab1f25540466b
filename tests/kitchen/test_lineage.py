"""What is in a batch, where it went, and what may go into it. The foods are invented."""

import json

from tests.kitchens import Kitchen, findings, flat, log


def test_a_batch_is_followed_both_ways(kitchen: Kitchen) -> None:
    kitchen.says("receive beef 38 --code beef --supplier 'A Farm'")
    kitchen.says("batch dice --from beef --code dice")
    kitchen.says("batch soup --from dice --code soup")
    kitchen.says("split soup 2")
    kitchen.says("merge soup-a soup-b --code pot")
    kitchen.says("rename pot pan-3")
    forward = json.loads(kitchen.says("trace beef --json"))["where it went"]
    assert [(one["batch"], one["depth"]) for one in forward] == [
        ("dice", 1),
        ("soup", 2),
        ("soup-a", 3),
        ("pot", 4),
        ("soup-b", 3),
    ], "each once, though the pot holds both portions"
    back = json.loads(kitchen.says("trace pan-3 --json"))["what is in it"]
    assert [one["batch"] for one in back] == ["soup-a", "soup", "dice", "beef", "soup-b"]
    assert flat(kitchen.says("trace beef")).count("something is left") >= 2
    assert "is a unit" in kitchen.refuses("trace well-1")


def test_a_container_is_called_otherwise_and_its_record_stays(kitchen: Kitchen) -> None:
    log(kitchen, ("13:00", "cool stew 135"), ("13:10", "rename stew pan-3"))
    number = kitchen.entries()[-1]["seq"]
    log(kitchen, ("14:30", "cool pan-3 80"))
    assert findings(kitchen, "stew")["cooling-stage-1"] == "open"
    assert "exists already" in kitchen.refuses("batch x --code pan-3")
    kitchen.says(f'correct {number} --withdraw --reason "another pan"')
    assert "There is no" in kitchen.refuses("cool pan-3 70")


def test_food_with_something_against_it_goes_into_no_other_food_unasked(kitchen: Kitchen) -> None:
    kitchen.says("batch turkey --code turkey")
    log(kitchen, ("12:20", 'discard turkey "raw inside"'))
    assert "was discarded at 12:20" in kitchen.refuses("batch pie --from turkey")
    log(kitchen, ("12:30", "receive milk 50 --code milk"))
    assert "NOT MET" in kitchen.refuses("batch sauce --from milk")
    assert "Opened sauce" in kitchen.says("batch sauce --from milk --yes")
    log(kitchen, ("12:40", "cool stew 140"), ("13:00", "cool stew 120"))
    said = kitchen.refuses("batch soup --from stew")
    assert "white-bean stew (stew) is still cooling" in said and "its clock runs on" in said
