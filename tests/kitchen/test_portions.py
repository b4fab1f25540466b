"""Dividing and putting together takes no deviation back. The foods are invented."""

import random
from datetime import timedelta
from typing import Any

import pytest

from haccp.record.store import Record
from haccp.rules.evidence import Verdict
from tests.kitchens import BEGINS, Kitchen, findings, flat, log, matters, verdict


def test_the_clock_runs_on_in_each_portion_of_food_under_time_control(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "time stew 141"), ("12:20", "split stew 2"))
    assert "DISCARD AT 16:10" in kitchen.says("label stew-a")
    log(kitchen, ("16:00", "used stew-a"))
    kitchen.at("2026-10-26T16:11-06:00")
    assert matters(kitchen, "stew-b") == ["not met"]
    assert findings(kitchen, "stew-a")["time-control-hot"] == "met"
    assert "DISCARD AT 16:10" in kitchen.says("label stew-b")
    log(kitchen, ("16:20", "split stew-b 2 --yes"))
    assert matters(kitchen, "stew-b-a") == ["not met"]


def test_checks_go_on_in_each_portion_of_food_that_is_held_hot(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "cook stew 199"), ("12:30", "hold stew 150"), ("12:40", "split stew 2"))
    assert matters(kitchen, "well-1") == ["next check"], "of the well that each stands in"
    kitchen.at("2026-10-26T14:30-06:00")
    assert matters(kitchen, "stew-a") == ["not shown"]


def _of_the_cooling(kitchen: Kitchen, name: str) -> dict[str, str]:
    return {limit: told for limit, told in findings(kitchen, name).items() if "stage" in limit}


@pytest.mark.parametrize("seed", range(4))
def test_a_cooling_is_judged_in_a_portion_as_if_nobody_had_divided_it(
    kitchen: Kitchen, seed: int
) -> None:
    """Any readings, divided up to three times at any moments; the undivided batch is the oracle."""
    chance = random.Random(seed)
    minutes = sorted(chance.sample(range(1, 480), 6))
    temperatures = sorted((chance.choice([150, 135, 100, 71, 70, 55, 42, 41, 39])) for _ in minutes)
    begun = kitchen.now
    kitchen.says("batch x --code whole")
    kitchen.says("batch x --code part")
    part = "part"
    for minute, temperature in zip(minutes, reversed(temperatures), strict=True):
        kitchen.now = begun + timedelta(minutes=minute)
        kitchen.says(f"cool whole {temperature}")
        kitchen.says(f"cool {part} {temperature}")
        if chance.random() < 0.5:
            kitchen.says(f"split {part} 2 --yes")
            part += "-a"
        # a cooling that was complete before a division is told on the page of what was divided
        pages = [part[: len("part") + 2 * n] for n in range(part.count("-a") + 1)]
        divided: dict[str, str] = {}
        for name in pages:
            divided |= _of_the_cooling(kitchen, name)
        assert divided == _of_the_cooling(kitchen, "whole")


@pytest.mark.parametrize("seed", range(4))
def test_what_is_put_together_is_no_better_than_the_worst_that_went_in(
    kitchen: Kitchen, seed: int
) -> None:
    """Each pot, had it taken the later readings alone, is the oracle for that part of the whole."""
    chance = random.Random(seed)
    begun = kitchen.now
    for pot in ("p", "q"):
        kitchen.now = begun
        kitchen.says(f"batch x --code {pot}")
        kitchen.says(f"batch x --code {pot}-alone")
    until = 0
    for pot in ("p", "q"):
        for minute in sorted(chance.sample(range(1, 240), 3)):
            temperature = chance.choice([150, 135, 100, 70, 55, 41])
            kitchen.now = begun + timedelta(minutes=minute)
            until = max(until, minute)
            for name in (pot, f"{pot}-alone"):
                kitchen.says(f"cool {name} {temperature} --yes")
    kitchen.now = begun + timedelta(minutes=until + 1)
    kitchen.says("merge p q --code both --yes")
    for later in (30, 90, 200):
        kitchen.now = begun + timedelta(minutes=until + later)
        temperature = chance.choice([90, 65, 41, 38])
        for name in ("both", "p-alone", "q-alone"):
            kitchen.says(f"cool {name} {temperature} --yes")
    order = [*Verdict]
    worst = min((verdict(kitchen, f"{pot}-alone") for pot in "pq"), key=order.index)
    assert order.index(verdict(kitchen, "both")) <= order.index(worst)


def test_a_cold_pot_does_not_vouch_for_the_warm_one_it_was_put_to(kitchen: Kitchen) -> None:
    for code, timed in (
        ("a", [("12:01", 135), ("13:00", 70), ("14:00", 41)]),
        ("b", [("13:30", 135), ("14:30", 100)]),
    ):
        kitchen.at(BEGINS)
        kitchen.says(f"batch chili --code {code}")
        for clock, temperature in timed:
            log(kitchen, (clock, f"cool {code} {temperature}"))
    log(kitchen, ("14:40", "merge a b --code both"))
    assert verdict(kitchen, "both") == "open"
    kitchen.at("2026-10-26T15:31-06:00")
    assert matters(kitchen, "both")[:1] == ["not shown"]


def test_food_made_at_room_temperature_counts_from_the_preparation_of_the_whole(
    kitchen: Kitchen,
) -> None:
    """Source: Food Code 3-501.14(B), four hours; the portion is no new food."""
    log(kitchen, ("12:00", "batch dip --ambient --code dip"), ("15:00", "split dip 2"))
    log(kitchen, ("15:30", "cool dip-a 60"), ("18:30", "cool dip-a 41"))
    assert verdict(kitchen, "dip-a") == "not shown"


def test_an_undercooked_batch_is_undercooked_in_each_portion(kitchen: Kitchen) -> None:
    kitchen.says("batch chicken --kind poultry --code ch")
    log(kitchen, ("12:01", "cook ch 140"), ("12:10", "split ch 2"), ("12:20", "hold ch-a 140"))
    log(kitchen, ("12:30", "cook ch-b 165"))
    assert verdict(kitchen, "ch-a") == "not met"
    assert verdict(kitchen, "ch-b") == "met"


def test_what_was_noted_of_the_whole_decides_nothing_of_its_portions(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "cool stew 135"), ("14:20", "cool stew 100"))
    log(kitchen, ("14:21", 'action stew "into shallow pans"'), ("14:22", "split stew 2 --yes"))
    assert verdict(kitchen, "stew-a") == "not met"
    assert matters(kitchen, "stew-a") == ["not met", "open"], "a note decides nothing"
    log(kitchen, ("18:20", "cool stew-a 60"))
    assert matters(kitchen, "stew-a") == ["not met", "not met"], "stage 2 is a later deviation"
    log(kitchen, ("18:21", 'discard stew-a "too slow"'))
    assert matters(kitchen, "stew-a") == []
    assert "not met" in matters(kitchen, "stew-b"), "each portion is decided by itself"


def test_a_note_about_one_pot_decides_nothing_of_both(kitchen: Kitchen) -> None:
    for code in ("a", "b"):
        kitchen.at(BEGINS)
        kitchen.says(f"batch chili --code {code}")
        log(kitchen, ("12:01", f"cool {code} 135"), ("14:10", f"cool {code} 100"))
    log(kitchen, ("14:11", 'action a "stirred in ice"'), ("14:12", "merge a b --code both --yes"))
    assert matters(kitchen, "both") == ["not met", "not met", "open", "open"]


def test_new_limits_do_not_judge_a_portion_of_earlier_food(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "cool stew 135"), ("14:00", "cool stew 70"))
    log(kitchen, ("14:10", "kitchen --guard 2F --by AR"), ("14:11", "split stew 2"))
    assert findings(kitchen, "stew-a")["cooling-stage-1"] == "met"


def test_a_correction_of_the_wholes_reading_reaches_its_portions(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "cool stew 135"), ("14:00", "cool stew 70"), ("14:01", "split stew 2"))
    log(kitchen, ("14:20", 'action stew-a "moved"'))
    log(kitchen, ("14:30", 'correct stew 75 --reason "misread"'))
    assert findings(kitchen, "stew-a")["cooling-stage-1"] == "not shown"
    assert "not shown" in matters(kitchen, "stew-a"), "the action was entered before the evidence"


def test_different_foods_are_not_put_together(kitchen: Kitchen) -> None:
    kitchen.says("batch rice --code rice")
    assert "different foods" in kitchen.refuses("merge stew rice")
    kitchen.says("receive milk 40 --code a")
    kitchen.says("receive milk 45 --code b --by-law 'Rule 7'")
    assert "came differently" in kitchen.refuses("merge a b")


def test_a_name_typed_whole_is_not_taken_for_its_only_portion(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "cool stew 135"), ("12:20", "split stew 1"))
    log(kitchen, ("12:30", 'action stew "told the manager"'))
    assert kitchen.entries()[-1]["batch"] == "stew"
    assert kitchen.says("show stew").startswith("white-bean stew (stew):")


def test_show_of_a_portion_tells_what_stands_against_its_batch(kitchen: Kitchen) -> None:
    log(
        kitchen,
        ("12:10", "cook stew 199"),
        ("12:30", "hold stew 120"),
        ("12:40", "split stew 2 --yes"),
    )
    assert "Of stew, which went into it: 120 °F at 12:30" in flat(kitchen.says("show stew-a"))
    kitchen.says('action stew "eaten by nobody"')
    assert "not met" in matters(kitchen, "stew-a"), "a note decides nothing"


def test_what_is_handed_on_to_portions_is_answered_there_alone(kitchen: Kitchen) -> None:
    log(
        kitchen,
        ("12:10", "cook stew 150"),
        ("12:30", "hold stew 140"),
        ("12:40", "split stew 2 --yes"),
    )
    assert matters(kitchen, "stew") == []
    for portion in ("stew-a", "stew-b"):
        assert "not met" in matters(kitchen, portion)
    assert findings(kitchen, "stew")["cook"] == "not met"


def test_an_undercooked_batch_is_cooked_through_in_each_portion(kitchen: Kitchen) -> None:
    log(
        kitchen,
        ("12:10", "cook stew 150"),
        ("12:30", "hold stew 140"),
        ("12:40", "split stew 2 --yes"),
    )
    log(kitchen, ("12:50", 'action stew "both back to 165 °F"'))
    for portion in ("stew-a", "stew-b"):
        assert "not met" in matters(kitchen, portion), "that is said, and not read"
    log(kitchen, ("12:55", "cook stew-a 166 --held 15"))
    assert "not met" not in matters(kitchen, "stew-a"), "cooked through"
    assert "not met" in matters(kitchen, "stew-b")


def test_a_portion_answers_for_what_its_whole_did(kitchen: Kitchen) -> None:
    log(
        kitchen,
        ("12:10", "cook stew 199"),
        ("12:30", "hold stew 120"),
        ("12:40", "split stew 2 --yes"),
    )
    assert "stew (stew-a) is NOT MET and nobody decided: Of stew" in kitchen.refuses(
        "batch soup --from stew-a"
    )


def test_portions_remember_what_their_batch_was_made_of(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "cook stew 199"), ("12:20", "batch lunch --from stew --code lunch"))
    log(kitchen, ("12:21", "used stew"), ("12:30", "split lunch 2"))
    kitchen.at("2026-10-26T18:00-06:00")
    assert matters(kitchen, "lunch-a") == ["not shown"], "it was hot, and nobody measured it since"


def test_more_ways_back_than_can_be_followed_are_refused_before_they_are_made(
    kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each round of dividing, measuring apart and putting together doubles the ways back."""
    kitchen.says("batch soup --code pot-0")
    for number in range(1, 7):
        kitchen.at(f"2026-10-26T12:{number:02}-06:00")
        kitchen.says(f"split pot-{number - 1} 2")
        kitchen.says(f"cool pot-{number - 1}-a 150 --yes")
        kitchen.says(f"cool pot-{number - 1}-b 150 --yes")
        kitchen.says(f"merge pot-{number - 1}-a pot-{number - 1}-b --code pot-{number}")
    kitchen.at("2026-10-26T12:30-06:00")
    kitchen.says("split pot-6 2")
    kitchen.says("cool pot-6-a 140 --yes")
    assert "too often" in kitchen.refuses("merge pot-6-a pot-6-b")
    kitchen.says("status")


@pytest.mark.parametrize(
    "second", ["split pot 2", "merge pot pan --code both", "used pot", "discard pot burnt"]
)
@pytest.mark.parametrize("first", ["split pot 2", "merge pot pan --code all"])
def test_two_at_once_do_not_take_one_batch_twice(
    kitchen: Kitchen, first: str, second: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The second looked at the record before the first had written."""
    kitchen.says("batch soup --code pot")
    kitchen.says("batch soup --code pan")
    append = Record.append
    done: list[str] = []

    def overtaken(self: Record, *given: Any, **named: Any) -> Any:
        if not done:
            done.append(first)
            kitchen.says(first)
        return append(self, *given, **named)

    monkeypatch.setattr(Record, "append", overtaken)
    told = kitchen.run(second)
    assert told.exit_code == 2, told.output
    assert "look again" in told.stderr
    assert [e["kind"] for e in kitchen.entries()].count("used up") == (2 if "merge" in first else 1)


def test_every_portion_that_is_left_has_its_label_at_once(kitchen: Kitchen) -> None:
    kitchen.says("cook stew 190")
    kitchen.says("split stew 3")
    kitchen.says("used stew-b")
    labels = kitchen.says("label stew --portions").splitlines()
    assert [one.split(" · ")[0] for one in labels] == [
        "white-bean stew (stew-a)",
        "white-bean stew (stew-c)",
    ]
    assert "No portion of stew-a is left" in kitchen.refuses("label stew-a --portions")
