"""Coolings as the record tells them: 3-501.14. The foods are invented."""

from tests.kitchens import Kitchen, flat, log, matters, verdict


def test_a_cooling_that_is_done_is_met_and_asks_nothing_more(kitchen: Kitchen) -> None:
    answer = log(
        kitchen,
        ("14:00", "cool stew 135"),
        ("15:50", "cool stew 69"),
        ("19:30", "cool stew 41"),
    )
    assert answer.startswith("OK stew 41 °F. Reached 41 °F or below in time.")
    assert "Now" not in answer
    assert matters(kitchen, "stew") == []
    assert matters(kitchen, "walk-in") == ["next check"], "that of the cooler that it stands in"


def test_over_the_autumn_clock_change_real_time_counts(kitchen: Kitchen) -> None:
    """1:30 MDT to 1:30 MST is an hour: 70 °F two clock hours later is three real ones."""
    kitchen.at("2026-11-01T00:00-06:00")
    kitchen.says("batch roast --code roast")
    kitchen.at("2026-11-01T00:30-06:00")
    kitchen.says("cool roast 135")
    kitchen.at("2026-11-01T02:00-07:00")
    assert "happened twice" in kitchen.refuses("cool roast 75 1:15")
    assert kitchen.says("cool roast 75 '1:45 MST'").startswith("TOO SLOW")
    assert "2 h 15 min" in " ".join(kitchen.says("show roast").split())


def test_hot_food_is_not_judged_as_made_at_room_temperature(kitchen: Kitchen) -> None:
    kitchen.says("batch glaze --ambient --code glaze")
    log(
        kitchen,
        ("12:10", "cool glaze 180"),
        ("15:30", "cool glaze 100"),
        ("15:58", "cool glaze 41"),
    )
    assert verdict(kitchen, "glaze") == "not shown"
    assert "cooling-stage-1" in kitchen.says("show glaze")


def test_a_reached_stage_asks_for_no_reading(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "cool stew 135"), ("12:50", "cool stew 98"))
    assert "Measure it by 14:10" not in log(kitchen, ("13:53", "cool stew 69"))


def test_the_way_out_is_named_while_there_is_time(kitchen: Kitchen) -> None:
    """Issue: reheat to 165 °F and cool again another way, within the first two hours only."""
    log(kitchen, ("12:10", "cool stew 135"), ("12:40", "cool stew 128"))
    said = flat(log(kitchen, ("13:20", "cool stew 118")))
    assert "Or reheat it once, to 165 °F for 15 s by 14:10." in said
    assert "Reheat it to 165 °F (74 °C) for 15 s, then cool it again by another method" in flat(
        kitchen.says("show stew")
    )
    assert "Reheat it to 165 °F" in flat(kitchen.says("action stew"))


def test_a_salad_of_cold_chicken_made_at_room_temperature_has_its_four_hours(
    kitchen: Kitchen,
) -> None:
    """3-501.14(B)."""
    log(kitchen, ("12:10", "cool stew 135"), ("13:50", "cool stew 69"), ("17:50", "cool stew 40"))
    log(kitchen, ("18:00", "batch salad --ambient --from stew --code salad"))
    assert log(kitchen, ("18:40", "cool salad 55")).startswith("COOLING OK")
    log(kitchen, ("20:00", "cool salad 40"))
    assert verdict(kitchen, "salad") == "met"
