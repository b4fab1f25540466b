"""A delivery at the door: 3-202.11, 3-501.14(C). The foods are invented."""

import pytest

from haccp.limits import shipped
from haccp.rules.account.readings_alone import judge_batch
from haccp.rules.evidence import Batch, Reading, Step, Verdict
from haccp.temperature import parse_temperature
from tests.kitchens import Kitchen, findings, log, matters


@pytest.mark.parametrize(
    ("command", "expected"),
    [
        ("receive beef 41 --code x", "OK"),
        ("receive beef 41.1 --code x", "TOO WARM"),
        ("receive beef 5C --code x", "OK"),
        ("receive beef 5.1C --code x", "TOO WARM"),
        ("receive soup 135 --as hot --code x", "OK"),
        ("receive soup 134.9 --as hot --code x", "TOO COLD"),
        ("receive peas -4F --as frozen --code x", "OK"),
        ("receive peas 28.1 --as frozen --code x", "TOO WARM"),
        ("receive eggs 45 --as egg --code x", "OK"),
        ("receive eggs 45.1 --as egg --code x", "TOO WARM"),
        ("receive milk 50 --by-law 'State rule 7' --code x", "COOLING OK"),
    ],
)
def test_a_delivery_is_judged_by_the_state_it_comes_in(
    kitchen: Kitchen, command: str, expected: str
) -> None:
    """Source: Food Code 3-202.11; that frozen is 28 °F is common practice, no source."""
    assert kitchen.says(command).startswith(f"{expected} x ")


def test_a_delivery_that_is_sent_back_is_answered_and_gone(kitchen: Kitchen) -> None:
    log(kitchen, ("12:01", "receive fish 44 --code fish"))
    assert matters(kitchen, "fish") == ["not met", "open"]  # at the door, and out of temperature
    log(kitchen, ("12:02", 'reject fish "44 °F at the door"'))
    assert matters(kitchen, "fish") == []
    assert "rejected" in kitchen.says("trace fish")
    assert "There is no open batch" in kitchen.refuses("cool fish 40")


def test_what_a_law_lets_arrive_warmer_has_four_hours(kitchen: Kitchen) -> None:
    """Source: Food Code 3-501.14(C)."""
    for code, last, expected in (("a", "16:00", "met"), ("b", "16:01", "not shown")):
        log(kitchen, ("12:00", f"receive milk 50 --by-law 'Rule 7' --code {code}"))
        log(kitchen, ("14:00", f"hold {code} 45"), (last, f"hold {code} 41"))
        assert findings(kitchen, code)["cooling-received"] == expected
    # held cold from the reading on that completed it
    assert findings(kitchen, "a") == {"cooling-received": "met", "cold-holding": "met"}


def test_no_law_lets_hot_food_arrive_cooler(kitchen: Kitchen) -> None:
    assert "Only cold food" in kitchen.refuses("receive soup 120 --as hot --by-law 'Rule 7'")
    door = Reading(at=kitchen.now, temperature=parse_temperature("120F"), step=Step.RECEIVE)
    forged = Batch(readings=(door,), received_as="hot", by_law=True)
    found = judge_batch(forged, shipped(), kitchen.now)
    assert [(one.limit.name, one.verdict) for one in found] == [
        ("receiving-hot", Verdict.NOT_MET),
        ("time-out-allowed", Verdict.OPEN),  # out of temperature from the door on
    ]


def test_delivered_eggs_keep_their_own_limit_until_they_are_cooked(kitchen: Kitchen) -> None:
    """Source: Food Code 3-501.16(B), 45 °F air for untreated shell eggs."""
    log(kitchen, ("12:00", "receive eggs 45 --as egg --code eggs --kind egg"))
    assert log(kitchen, ("12:30", "hold eggs 45")).startswith("OK eggs 45 °F.")
    log(kitchen, ("13:00", "cook eggs 145 --held 15"))
    assert log(kitchen, ("15:00", "cool eggs 41"), ("16:00", "hold eggs 45")).startswith("TOO WARM")
