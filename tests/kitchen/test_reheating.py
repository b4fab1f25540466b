"""Food is made hot again: 3-403.11. The foods are invented."""

from tests.kitchen.accounts import told
from tests.kitchens import BEGINS, Kitchen, findings, log, verdict


def test_reheating_has_its_cases(kitchen: Kitchen) -> None:
    """Source: Food Code 3-403.11(A), (B), (C): 165 °F 15 s, microwave 2 min, commercial 135 °F."""
    for code, kind, last, expected in (
        ("a", "", "reheat a 165 --held 15", "met"),
        ("b", "", "reheat b 164.9 --held 15", "open"),
        ("c", "", "reheat c 165 --microwave --held 119s", "open"),
        ("d", "", "reheat d 165 --microwave --held 2min", "met"),
        ("e", "commercial package", "reheat e 135", "met"),
    ):
        kitchen.at(BEGINS)
        kitchen.says(f"batch soup --code {code} --kind '{kind}'")
        log(kitchen, ("12:01", f"reheat {code} 41"), ("14:00", last))
        assert verdict(kitchen, code) == expected, code


def test_a_reheat_that_took_longer_than_two_hours_is_not_met(kitchen: Kitchen) -> None:
    log(
        kitchen,
        ("12:00", "reheat stew 41"),
        ("14:00", "reheat stew 160"),
        ("14:01", "reheat stew 165 --held 15"),
    )
    assert findings(kitchen, "stew")["reheat"] == "not met"


def test_an_unsliced_roast_is_reheated_by_its_table_where_its_cooking_is_on_record(
    kitchen: Kitchen,
) -> None:
    """Source: Food Code 3-403.11(E); within two hours is from memory, the stricter reading."""
    for code, cooked in (("r", True), ("s", False)):
        kitchen.at(BEGINS)
        kitchen.says(f"batch roast --code {code} --kind 'whole roast' --oven none")
        if cooked:
            log(kitchen, ("12:04", f"cook {code} 145 --held 4min"))
        log(
            kitchen,
            ("12:10", f"cool {code} 135"),
            ("14:00", f"cool {code} 70"),
            ("18:00", f"cool {code} 41"),
            ("18:10", f"reheat {code} 41 --unsliced"),
            ("20:00", f"reheat {code} 145 --held 4min --unsliced"),
            ("20:05", f"hold {code} 136"),
        )
        # never cooked on record, its first heating is its cook, which comes too late
        assert findings(kitchen, code).get("reheat") == ("met" if cooked else None)
        assert told(kitchen, code) == ([] if cooked else ["cook not shown"])


def test_a_reheat_discarded_in_time_is_stopped(kitchen: Kitchen) -> None:
    log(kitchen, ("12:50", "reheat stew 40"), ("13:00", "reheat stew 110"))
    log(kitchen, ("13:20", 'discard stew "spilled"'))
    assert verdict(kitchen, "stew") == "stopped"


def test_seconds_over_the_limit_are_seen_in_the_sentence(kitchen: Kitchen) -> None:
    log(kitchen, ("13:00:10", "cool stew 135"), ("15:00:40", "cool stew 70"))
    assert "2 h 01 min" in kitchen.says("show stew")


def test_an_unsliced_roast_is_reheated_by_its_table_with_its_oven(kitchen: Kitchen) -> None:
    """3-403.11(E)."""
    kitchen.says('batch roast --kind "whole roast" --oven "still dry" --weight 12lb --code roast')
    log(kitchen, ("12:10", "cook roast 158 --oven 260F"), ("13:00", "cool roast 136"))
    log(kitchen, ("14:30", "cool roast 69"), ("18:00", "cool roast 40"))
    log(kitchen, ("19:00", "reheat roast 41 --unsliced --oven 255F"))
    log(kitchen, ("20:30", "reheat roast 158 --unsliced --oven 255F"))
    assert verdict(kitchen, "roast") == "met"
