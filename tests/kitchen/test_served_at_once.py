"""Food that is served raw, undercooked or to order, through the commands; invented."""

from tests.kitchen.accounts import life, told
from tests.kitchens import Kitchen, flat, log, on


def test_a_portion_to_order_is_no_reheating(kitchen: Kitchen) -> None:
    on(kitchen, "10-26", "13:00", "batch rice --code rice --kind 'plant food'")
    on(kitchen, "10-26", "13:10", "cook rice 180")
    for clock, temp in (("13:40", 136), ("14:40", 69), ("16:00", 41)):
        on(kitchen, "10-26", clock, f"cool rice {temp}")
    on(kitchen, "10-26", "16:30", "split rice 1 --to-order --keep")
    on(kitchen, "10-26", "16:31", "split rice 1 --keep")
    for code in ("rice-a", "rice-b"):
        on(kitchen, "10-26", "16:40", f"reheat {code} 120")
        on(kitchen, "10-26", "16:45", f"used {code}")
    assert told(kitchen, "rice-a") == []
    assert told(kitchen, "rice-b") == ["reheat not met"]
    assert "Served: at once, to an individual order (3-403.10)." in flat(
        kitchen.says("show rice-a")
    )


def test_a_sandwich_made_of_cold_beef_to_order_is_no_reheating(kitchen: Kitchen) -> None:
    on(kitchen, "10-26", "13:00", "batch beef --code beef --kind 'intact meat'")
    on(kitchen, "10-26", "13:10", "cook beef 170 --held 15")
    for clock, temp in (("13:40", 136), ("14:40", 69), ("16:00", 41)):
        on(kitchen, "10-26", clock, f"cool beef {temp}")
    for code, how in (("order", "--to-order"), ("tray", "")):
        on(kitchen, "10-26", "16:30", f"batch 'beef sandwich' --code {code} --from beef {how}")
        on(kitchen, "10-26", "16:40", f"reheat {code} 110")
        on(kitchen, "10-26", "16:45", f"used {code}")
    assert told(kitchen, "order") == []
    assert told(kitchen, "tray") == ["reheat not met"]


def test_fish_that_is_served_raw_says_so_when_it_is_opened(kitchen: Kitchen) -> None:
    log(
        kitchen,
        ("12:30", "receive tuna 38 --code tuna --kind fish --undercooked"),
        ("12:31", "receive cod 38 --code cod --kind fish"),
        ("13:00", "used tuna"),
        ("13:01", "used cod"),
    )
    assert told(kitchen, "tuna") == []
    assert told(kitchen, "cod") == ["cook not shown"]
    assert "raw or undercooked, with the advisory (3-603.11)" in flat(kitchen.says("show tuna"))


def test_what_is_served_otherwise_is_not_put_together(kitchen: Kitchen) -> None:
    log(kitchen, ("12:30", "batch soup --code a --to-order"), ("12:31", "batch soup --code b"))
    assert "served differently" in kitchen.refuses("merge a b")
    assert life(kitchen, "a").to_order
    assert not life(kitchen, "b").to_order
