"""Every step from the delivery door to the bin, through the command line; the foods are invented."""

import json
import random
import shutil
from datetime import date, timedelta
from pathlib import Path

import pytest
from pypdf import PdfReader

from haccp.limits import shipped
from haccp.rules.account.readings_alone import judge_batch
from haccp.rules.evidence import Batch, Reading, Step, Verdict
from haccp.temperature import parse_temperature
from tests.cli.kitchens import Kitchen, log, verdict

BEGINS = "2026-10-26T12:00-06:00"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A kitchen with a batch in it, made once: each test takes a copy of its file."""
    kitchen = Kitchen(tmp_path_factory.mktemp("kitchen") / "record.sqlite3")
    kitchen.at("2026-10-26T07:00-06:00")
    kitchen.says(
        'setup "Test Kitchen" --zone America/Denver --altitude 1640m --manager AR --manager-name "A. R."'
    )
    for added in ('person JM "J. M."', "thermometer T1", "thermometer T2", "unit well-1 hot"):
        kitchen.says(f"add {added} --by AR")
    kitchen.at(BEGINS)
    kitchen.says('batch "white-bean stew" --code stew --amount "12 gal" --by JM')
    return kitchen.path


@pytest.fixture
def kitchen(made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Kitchen:
    monkeypatch.setenv("HACCP_BY", "JM")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    copied = Kitchen(Path(shutil.copy(made, tmp_path)))
    copied.at(BEGINS)
    return copied


def on(kitchen: Kitchen, day: str, clock: str, command: str) -> str:
    """Type a command on a day of the week that holds the autumn clock change (1 November)."""
    zone = "-06:00" if day.startswith("10-") else "-07:00"
    kitchen.at(f"2026-{day}T{clock}{zone}")
    return kitchen.says(command)


def findings(kitchen: Kitchen, name: str) -> dict[str, str]:
    found = json.loads(kitchen.says(f"show {name} --json"))["findings"]
    return {one["limit"]: one["verdict"] for one in found}


def matters(kitchen: Kitchen, name: str) -> list[str]:
    found = json.loads(kitchen.says("status --json"))
    return [one["verdict"] or "next check" for one in found if one["subject"] == name]


def flat(text: str) -> str:
    return " ".join(text.split())


# At the door: 3-202.11, 3-501.14(C).


@pytest.mark.parametrize(
    ("command", "expected"),
    [
        ("receive beef 41 --code x", "MET"),
        ("receive beef 41.1 --code x", "NOT MET"),
        ("receive beef 5C --code x", "MET"),
        ("receive beef 5.1C --code x", "NOT MET"),
        ("receive soup 135 --as hot --code x", "MET"),
        ("receive soup 134.9 --as hot --code x", "NOT MET"),
        ("receive peas -4F --as frozen --code x", "MET"),
        ("receive peas 28.1 --as frozen --code x", "NOT MET"),
        ("receive eggs 45 --as egg --code x", "MET"),
        ("receive eggs 45.1 --as egg --code x", "NOT MET"),
        ("receive milk 50 --by-law 'State rule 7' --code x", "OPEN"),
    ],
)
def test_a_delivery_is_judged_by_the_state_it_comes_in(
    kitchen: Kitchen, command: str, expected: str
) -> None:
    """Source: Food Code 3-202.11; that frozen is 28 °F is common practice, no source."""
    assert kitchen.says(command).startswith(f"{expected}: ")


def test_a_delivery_that_is_sent_back_is_answered_and_gone(kitchen: Kitchen) -> None:
    log(kitchen, ("12:01", "receive fish 44 --code fish"))
    assert matters(kitchen, "fish") == ["not met"]
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
    assert findings(kitchen, "a") == {"cooling-received": "met"}


def test_no_law_lets_hot_food_arrive_cooler(kitchen: Kitchen) -> None:
    assert "Only cold food" in kitchen.refuses("receive soup 120 --as hot --by-law 'Rule 7'")
    door = Reading(at=kitchen.now, temperature=parse_temperature("120F"), step=Step.RECEIVE)
    forged = Batch(readings=(door,), received_as="hot", by_law=True)
    found = judge_batch(forged, shipped(), kitchen.now)
    assert [(one.limit.name, one.verdict) for one in found] == [("receiving-hot", Verdict.NOT_MET)]


def test_delivered_eggs_keep_their_own_limit_until_they_are_cooked(kitchen: Kitchen) -> None:
    """Source: Food Code 3-501.16(B), 45 °F air for untreated shell eggs."""
    log(kitchen, ("12:00", "receive eggs 45 --as egg --code eggs --kind egg"))
    assert log(kitchen, ("12:30", "hold eggs 45")).startswith("MET")
    log(kitchen, ("13:00", "cook eggs 145 --held 15"))
    assert log(kitchen, ("15:00", "cool eggs 41"), ("16:00", "hold eggs 45")).startswith("NOT MET")


# Before and while it is cooked: 3-401.11 to .14.


def test_preparation_counts_as_time_between_cold_and_hot(kitchen: Kitchen) -> None:
    log(
        kitchen,
        ("12:00", "batch beef --code beef"),
        ("12:00", "prepare beef 46"),
        ("13:00", "prepare beef 55"),
        ("13:30", "cook beef 100"),
        ("14:00", "cook beef 165 --held 15"),
    )
    shown = kitchen.says("show beef")
    assert "Between 41 and 135 °F: 1 h 30 min to 2 h (information)" in shown
    assert verdict(kitchen, "beef") == "met", "the time between is no limit"


@pytest.mark.parametrize(
    ("oven", "weight", "shown", "expected"),
    [
        ("still dry", "9.9lb", "350F", "met"),
        ("still dry", "9.9lb", "349F", "not met"),
        ("still dry", "10lb", "250F", "met"),
        ("convection", "4.5kg", "324F", "not met"),
        ("convection", "4.6kg", "250F", "met"),
        ("high humidity", "9lb", "250F", "met"),
        ("high humidity", "9lb", "251F", "not met"),
    ],
)
def test_a_roasts_oven_is_judged_by_its_kind_and_the_roasts_weight(
    kitchen: Kitchen, oven: str, weight: str, shown: str, expected: str
) -> None:
    """Source: Food Code 3-401.11(B)(1), the oven table."""
    kitchen.says(f"batch r --code r --kind 'whole roast' --oven '{oven}' --weight {weight}")
    log(kitchen, ("12:00", f"cook r 60 --oven {shown}"), ("18:00", f"cook r 145 --oven {shown}"))
    log(kitchen, ("18:30", f"cook r 145 --oven {shown}"))
    assert findings(kitchen, "r") == {"cook": "met", "oven": expected}


def test_a_roast_whose_oven_nobody_read_is_not_shown(kitchen: Kitchen) -> None:
    kitchen.says("batch r --code r --kind 'whole roast' --oven convection --weight 14lb")
    log(kitchen, ("12:00", "cook r 145 --held 4min"))
    assert findings(kitchen, "r") == {"cook": "met", "oven": "not shown"}
    assert "Log the oven" in flat(kitchen.says("status"))


def test_a_roast_is_held_at_130_once_it_was_cooked_and_not_before(kitchen: Kitchen) -> None:
    """Source: Food Code 3-501.16(A)(1), roasts cooked by 3-401.11(B)."""
    kitchen.says("batch r --code r --kind 'whole roast' --oven none")
    log(kitchen, ("12:00", "cook r 120"), ("12:10", "hold r 131"))
    assert findings(kitchen, "r")["hot-holding"] == "not met"
    log(kitchen, ("13:00", "cook r 145 --held 4min"), ("13:10", "hold r 130"))
    held = [
        one["verdict"]
        for one in json.loads(kitchen.says("show r --json"))["findings"]
        if one["limit"] == "hot-holding"
    ]
    assert held == ["not met", "met"]


def test_in_a_microwave_meat_stands_two_minutes_at_165(kitchen: Kitchen) -> None:
    """Source: Food Code 3-401.12."""
    kitchen.says("batch fish --kind fish --code fish")
    log(kitchen, ("12:00", "cook fish 165 --microwave --held 119s"), ("12:01", "hold fish 150"))
    assert findings(kitchen, "fish")["cook-microwave"] == "not shown"
    kitchen.says("batch cod --kind fish --code cod")
    log(kitchen, ("12:05", "cook cod 165 --microwave --held 2min"))
    assert findings(kitchen, "cod") == {"cook-microwave": "met"}


def test_plants_are_cooked_for_hot_holding_at_135(kitchen: Kitchen) -> None:
    """Source: Food Code 3-401.13."""
    kitchen.says("batch beans --kind 'plant food' --code beans")
    assert log(kitchen, ("12:00", "cook beans 135")).startswith("MET")


def test_food_cooked_in_two_goes_is_heated_shortly_cooled_and_cooked_whole(
    kitchen: Kitchen,
) -> None:
    """Source: Food Code 3-401.14: at most 60 min, then cooled, then cooked as raw food is."""
    kitchen.says("batch chicken --kind poultry --code ch")
    log(
        kitchen,
        ("12:00", "cook ch 100 --initial"),
        ("12:30", "cook ch 120 --initial"),
        ("12:50", "cool ch 110"),
        ("14:20", "cool ch 70"),
        ("18:20", "cool ch 41"),
        ("19:00", "cook ch 165"),
    )
    found = findings(kitchen, "ch")
    assert found["initial-heating"] == found["cook"] == "met"
    assert found["cooling-stage-1"] == found["cooling-stage-2"] == "met"


@pytest.mark.parametrize("served", ["hold ch 140", "time ch 140", "used ch"])
def test_food_that_is_served_after_its_initial_heating_alone_is_not_shown(
    kitchen: Kitchen, served: str
) -> None:
    """Source: Food Code 3-401.14(D), the full cook before service."""
    kitchen.says("batch chicken --kind poultry --code ch")
    log(kitchen, ("12:00", "cook ch 140 --initial"), ("12:30", served))
    assert findings(kitchen, "ch")["cook"] == "not shown"
    assert "not shown" in matters(kitchen, "ch")


# Reheating: 3-403.11.


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
            log(kitchen, ("12:00", f"cook {code} 145 --held 4min"))
        log(
            kitchen,
            ("12:10", f"cool {code} 135"),
            ("14:00", f"cool {code} 70"),
            ("18:00", f"cool {code} 41"),
            ("18:10", f"reheat {code} 41 --unsliced"),
            ("20:00", f"reheat {code} 145 --held 4min --unsliced"),
            ("20:05", f"hold {code} 136"),
        )
        assert findings(kitchen, code)["reheat"] == ("met" if cooked else "not met")


# Units: 3-501.16(B), 3-501.11.


def test_units_hold_eggs_and_frozen_food_by_their_own_limits(kitchen: Kitchen) -> None:
    kitchen.says("add unit eggs egg --every 240 --by AR")
    kitchen.says("add unit freezer frozen --every 240 --by AR")
    assert log(kitchen, ("12:01", "hold eggs 45")).startswith("MET")
    assert log(kitchen, ("12:02", "hold eggs 45.1")).startswith("NOT MET")
    assert log(kitchen, ("12:03", "hold freezer -4F")).startswith("MET")
    assert log(kitchen, ("12:04", "hold freezer 28.1")).startswith("NOT MET")
    assert "3-501.11" in kitchen.says("action freezer")


# Time as a control: 3-501.19.


@pytest.mark.parametrize(
    ("command", "due"),
    [
        ("time stew 141", "16:10"),
        ("time stew 41", "16:10"),
        ("time stew 41 --six-hours", "18:10"),
        ("time stew 70 --opened", "16:10"),
    ],
)
def test_the_clock_time_to_discard_by_is_told_and_stays_in_status_and_on_the_label(
    kitchen: Kitchen, command: str, due: str
) -> None:
    assert f"served, used or discarded by {due}" in log(kitchen, ("12:10", command))
    assert f"discarded by {due}" in flat(kitchen.says("status"))
    assert f"DISCARD AT {due}" in kitchen.says("label stew")
    assert "use by" not in kitchen.says("show stew"), "its date mark counts no more"


@pytest.mark.parametrize(
    "command",
    ["time stew 100", "time stew 42 --six-hours", "time stew 71 --opened", "time stew 134.9"],
)
def test_time_alone_does_not_start_from_just_any_temperature(
    kitchen: Kitchen, command: str
) -> None:
    assert log(kitchen, ("12:10", command)).startswith("NOT MET")


def test_the_ceiling_of_the_six_hours_is_70(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "time stew 41 --six-hours"))
    assert log(kitchen, ("15:10", "time stew 70 --six-hours")).startswith("OPEN")
    assert log(kitchen, ("15:20", "time stew 70.1 --six-hours")).startswith("NOT MET")


def test_over_the_clock_change_four_hours_are_four_real_ones(kitchen: Kitchen) -> None:
    kitchen.at("2026-11-01T00:30-06:00")
    assert "by 03:30 (4 h left)" in kitchen.says("time stew 141")
    kitchen.at("2026-10-31T22:00-06:00")
    kitchen.says("batch rice --code rice")
    kitchen.at("2026-11-01T01:10-07:00")
    assert "DISCARD AT 01:00 MST" in kitchen.says(
        "time rice 141 '2026-10-31 22:00'"
    ) + kitchen.says("label rice")


def test_food_under_time_control_may_not_go_back(kitchen: Kitchen) -> None:
    log(kitchen, ("12:01", "cook stew 199"), ("12:10", "time stew 141"))
    log(kitchen, ("13:00", "hold stew 140"))
    assert findings(kitchen, "stew")["time-control-hot"] == "not met"


# Dividing and putting together takes no deviation back.


def test_the_clock_runs_on_in_each_portion_of_food_under_time_control(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "time stew 141"), ("12:20", "split stew 2"))
    assert "DISCARD AT 16:10" in kitchen.says("label stew-a")
    log(kitchen, ("16:00", "used stew-a"))
    kitchen.at("2026-10-26T16:11-06:00")
    assert matters(kitchen, "stew-b") == ["not met"]
    assert findings(kitchen, "stew-a")["time-control-hot"] == "met"
    assert "DISCARD AT 16:10" in kitchen.says("label stew-b")
    log(kitchen, ("16:20", "split stew-b 2"))
    assert matters(kitchen, "stew-b-a") == ["not met"]


def test_checks_go_on_in_each_portion_of_food_that_is_held_hot(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "cook stew 199"), ("12:30", "hold stew 150"), ("12:40", "split stew 2"))
    assert matters(kitchen, "stew-a") == ["next check"]
    kitchen.at("2026-10-26T14:30-06:00")
    assert matters(kitchen, "stew-a") == ["not shown"]


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
            kitchen.says(f"split {part} 2")
            part += "-a"
        divided, undivided = (
            {limit: found for limit, found in findings(kitchen, name).items() if "stage" in limit}
            for name in (part, "whole")
        )
        assert divided == undivided


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
    kitchen.says("merge p q --code both")
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


def test_what_was_answered_about_the_whole_is_answered_for_its_portions(kitchen: Kitchen) -> None:
    log(kitchen, ("12:10", "cool stew 135"), ("14:20", "cool stew 100"))
    log(kitchen, ("14:21", 'action stew "into shallow pans"'), ("14:22", "split stew 2"))
    assert verdict(kitchen, "stew-a") == "not met"
    assert matters(kitchen, "stew-a") == ["open"]
    log(kitchen, ("18:20", "cool stew-a 60"))
    assert matters(kitchen, "stew-a") == ["not met"], "stage 2 is a later deviation"


def test_an_answer_about_one_pot_is_none_about_the_other(kitchen: Kitchen) -> None:
    for code in ("a", "b"):
        kitchen.at(BEGINS)
        kitchen.says(f"batch chili --code {code}")
        log(kitchen, ("12:01", f"cool {code} 135"), ("14:10", f"cool {code} 100"))
    log(kitchen, ("14:11", 'action a "stirred in ice"'), ("14:12", "merge a b --code both"))
    assert matters(kitchen, "both") == ["not met", "open", "open"]


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


# Date marks: 3-501.17, 3-501.18.


def test_a_mark_goes_through_any_depth_and_stands_still_in_the_freezer(kitchen: Kitchen) -> None:
    """Made 26 Oct, so until 1 Nov; frozen from 28 Oct to 2 Nov, four whole days: until 5 Nov."""
    kitchen.says("batch meat --code meat")
    on(kitchen, "10-27", "12:00", "batch sauce --from meat --code sauce")
    on(kitchen, "10-28", "12:00", "split sauce 2 --amount '2 gal'")
    kitchen.says("freeze sauce-a")
    assert "USE BY SUN 1 NOV" in kitchen.says("label sauce-b")
    assert "use by Thu 5 Nov" in on(kitchen, "11-02", "12:00", "thaw sauce-a")
    assert "use by Thu 5 Nov" in on(
        kitchen, "11-03", "12:00", "batch pie --from sauce-a --code pie"
    )
    assert "2 gal" in kitchen.says("label sauce-a")


@pytest.mark.parametrize("seed", range(4))
def test_a_mark_is_what_counting_days_on_a_calendar_gives(kitchen: Kitchen, seed: int) -> None:
    """The oracle walks day by day: each day not wholly in the freezer uses up one of seven."""
    chance = random.Random(seed)
    kitchen.at("2026-10-28T12:00-06:00")
    kitchen.says("batch food --code food")
    day, used, is_frozen = date(2026, 10, 28), 1, False
    for _ in range(12):
        day += timedelta(days=1)
        froze_over_night, touched = is_frozen, chance.random() < 0.4
        if touched:
            command = "thaw food" if is_frozen else "freeze food"
            on(kitchen, f"{day:%m-%d}", "23:30", command)
            is_frozen = not is_frozen
        used += 0 if froze_over_night and not touched else 1
        if used == 7:
            break
    while used < 7:
        day, used = day + timedelta(days=1), used + 1
    last = day
    if is_frozen:
        on(kitchen, f"{day:%m-%d}", "23:59", "thaw food")
    kitchen.at(f"2026-{day:%m-%d}T23:59-07:00")
    assert f"USE BY {last:%a} {last.day} {last:%b}".upper() in kitchen.says("label food")


def test_the_last_day_is_in_status_and_from_midnight_on_it_is_over(kitchen: Kitchen) -> None:
    """1 November has 25 hours."""
    kitchen.at("2026-11-01T00:30-06:00")
    (last,) = json.loads(kitchen.says("status --json"))
    assert (last["verdict"], last["left_min"]) == ("open", 24 * 60 + 30)
    kitchen.at("2026-11-02T00:00-07:00")
    assert matters(kitchen, "stew") == ["open"]
    kitchen.at("2026-11-02T00:01-07:00")
    assert matters(kitchen, "stew") == ["not met"]
    assert "3-501.18" in kitchen.says("action stew")
    kitchen.says('discard stew "past its day"')
    assert matters(kitchen, "stew") == []


@pytest.mark.parametrize("later", ["freeze stew", "time stew 41", "hold stew 40 --yes"])
def test_food_past_its_day_stays_so_whatever_is_done_with_it(kitchen: Kitchen, later: str) -> None:
    log(kitchen, ("13:00", "cool stew 135"), ("14:00", "cool stew 70"), ("17:00", "cool stew 41"))
    on(kitchen, "11-12", "12:00", later)
    assert "not met" in matters(kitchen, "stew")


def test_a_freezing_entered_after_the_fact_takes_no_days_back(kitchen: Kitchen) -> None:
    kitchen.at("2026-11-03T12:00-07:00")
    assert matters(kitchen, "stew") == ["not met"]
    kitchen.says("freeze stew '2026-10-27 12:00'")
    assert matters(kitchen, "stew") == ["not met"]


def test_frozen_food_past_no_day_asks_nothing(kitchen: Kitchen) -> None:
    on(kitchen, "10-30", "12:00", "freeze stew")
    kitchen.at("2026-11-20T12:00-07:00")
    assert matters(kitchen, "stew") == []
    assert "2 days left once thawed" in flat(kitchen.says("show stew"))


def test_a_thaw_before_the_freezing_is_refused(kitchen: Kitchen) -> None:
    log(kitchen, ("13:00", "freeze stew"))
    assert "frozen or thawed at 13:00" in kitchen.refuses("thaw stew 12:30")
    assert "frozen already" in kitchen.refuses("freeze stew")
    log(kitchen, ("14:00", "thaw stew"))
    assert "later time" in kitchen.refuses("freeze stew 13:30")
    assert "not frozen" in kitchen.refuses("thaw stew")


def test_raw_food_has_no_mark_but_its_makers(kitchen: Kitchen) -> None:
    kitchen.says("receive beef 38 --code beef")
    assert "USE BY" not in kitchen.says("label beef")
    kitchen.says("receive milk 38 --code milk --use-by 2026-10-28")
    assert "USE BY WED 28 OCT" in kitchen.says("label milk")
    assert "use by Wed 28 Oct" in kitchen.says("batch pudding --from milk --from beef --code p")
    kitchen.at("2026-10-29T00:01-06:00")
    assert matters(kitchen, "milk") == ["not met"]
    assert matters(kitchen, "beef") == []


def test_the_day_after_the_last_one_is_not_signed_without_a_word_about_it(kitchen: Kitchen) -> None:
    kitchen.at("2026-11-02T08:00-07:00")
    assert "1 undecided or open (stew)" in kitchen.refuses("sign today --by AR")


def test_paper_says_when_to_discard_and_that_a_day_is_over(
    kitchen: Kitchen, tmp_path: Path
) -> None:
    kitchen.says("batch rice --code rice")
    log(kitchen, ("12:10", "time rice 141"))

    def printed() -> str:
        kitchen.says(f"report today --output {tmp_path}/day.pdf")
        pages = PdfReader(tmp_path / "day.pdf").pages
        return flat(" ".join(page.extract_text() for page in pages))

    assert "discarded by Mon 26 Oct 16:10" in printed()
    kitchen.at("2026-11-02T08:00-07:00")
    assert "Its last day ended" in printed()


# Lineage both ways.


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


# Is it TCS at all: 1-201.10.


def test_what_is_no_tcs_food_is_judged_by_no_limit_from_a_managers_word_on(
    kitchen: Kitchen,
) -> None:
    log(kitchen, ("12:10", "cool stew 120"))
    assert "no manager" in kitchen.refuses("tcs stew --ph 3.7")
    assert "treated as TCS" in kitchen.says("tcs stew --ph 4.7 --aw 0.95 --by AR")
    assert matters(kitchen, "stew") == ["not shown", "not shown"]
    assert "no limit here binds it" in kitchen.says("tcs stew --ph 3.7 --aw 0.91 --by AR")
    number = kitchen.entries()[-1]["seq"]
    kitchen.at("2026-11-12T12:00-07:00")
    assert matters(kitchen, "stew") == []
    assert "USE BY" not in kitchen.says("label stew")
    kitchen.says("split stew 2")
    assert matters(kitchen, "stew-a") == []
    kitchen.says(f'correct {number} --withdraw --reason "of another pot"')
    assert "not met" in matters(kitchen, "stew-a"), "past its day, as it would have been"


def test_a_mixture_is_no_tcs_food_only_if_all_of_it_is_none(kitchen: Kitchen) -> None:
    kitchen.says("batch jam --code a")
    kitchen.says("batch jam --code b")
    kitchen.says("tcs a --ph 3.7 --aw 0.9 --by AR")
    kitchen.says("merge a b --code jar")
    assert "USE BY" in kitchen.says("label jar")


def test_the_tool_goes_no_further_than_the_tables(kitchen: Kitchen) -> None:
    assert "3-502.11" in kitchen.refuses("tcs stew --ph 3.7 --to-preserve --by AR")


# Thermometers: 4-203.11, 4-502.11.


def test_water_boils_by_the_altitude_or_the_barometer(kitchen: Kitchen) -> None:
    """At 1640 m at 202.1 °F; pass within ±2 °F or ±1 °C of it: Food Code 4-203.11."""
    assert "202.1 °F" in kitchen.says("boil T2 200.1F")
    for shown, passed in (("200.0F", "FAILED"), ("204.1F", "passed"), ("204.2F", "FAILED")):
        assert passed in kitchen.says(f"boil T2 {shown}")
    assert "by barometer 836hPa" in kitchen.says("boil T2 202F --barometer 836hPa")
    assert "reduced to sea level" in kitchen.refuses("boil T2 212F --barometer 1013hPa")
    assert "no air pressure" in kitchen.refuses("boil T2 202F --barometer 5hPa")


def test_a_manager_lets_a_failed_thermometers_readings_count_with_a_reason(
    kitchen: Kitchen,
) -> None:
    assert "nothing to decide" in kitchen.refuses('trust T2 "x" --by AR')
    log(kitchen, ("12:30", "cook stew 199 --thermometer T2"), ("12:40", "ice T2 36F"))
    assert verdict(kitchen, "stew") == "not shown"
    assert "no manager" in kitchen.refuses('trust T2 "beside T1"')
    assert "is empty" in kitchen.refuses('trust T2 " " --by AR')
    log(kitchen, ("12:50", 'trust T2 "read beside T1: 0.3 °F apart" --by AR'))
    number = kitchen.entries()[-1]["seq"]
    assert verdict(kitchen, "stew") == "met"
    log(kitchen, ("13:00", "ice T2 37F"))
    assert verdict(kitchen, "stew") == "not shown", "it failed again since"
    log(kitchen, ("13:01", f'correct {number} --withdraw --reason "hasty"'))
    assert verdict(kitchen, "stew") == "not shown"


def test_a_rise_is_one_beyond_what_is_stated_for_the_thermometer(kitchen: Kitchen) -> None:
    """4-203.11 asks ±2 °F of a food thermometer; one that is stated better shows smaller rises."""
    kitchen.says("add thermometer T3 --accuracy 0.5C --by AR")
    log(kitchen, ("13:00", "cool stew 140"), ("13:30", "cool stew 100"), ("13:40", "cool stew 102"))
    assert "Rewarmed" not in kitchen.says("show stew")
    log(kitchen, ("13:50", "cool stew 103 --thermometer T3"))
    assert "Rewarmed" not in kitchen.says("show stew"), "the reading before may be off by 2 °F"
    log(kitchen, ("14:00", "cool stew 103.9 --thermometer T3"))
    assert "Rewarmed" not in kitchen.says("show stew")
    log(kitchen, ("14:10", "cool stew 104.9 --thermometer T3 --yes"))
    assert "Rewarmed from 103.9 °F at 14:00 to 104.9 °F at 14:10" in flat(kitchen.says("show stew"))
    # what is stated later says nothing of the readings before
    kitchen.at("2026-10-26T14:20-06:00")
    kitchen.says("add thermometer T3 --accuracy 2F --by AR")
    assert "Rewarmed from 103.9 °F" in flat(kitchen.says("show stew"))


def test_an_accuracy_that_is_none_is_refused_and_a_poor_one_is_said(kitchen: Kitchen) -> None:
    for none in ("0F", "-2F", "32F"):
        said = kitchen.refuses(f"add thermometer T9 --accuracy {none} --by AR")
        assert f"{none[:-1]} °F is no accuracy: type what is stated for T9" in said
    assert "T9" not in kitchen.says("list thermometers")
    said = kitchen.says("add thermometer T9 --accuracy 3F --by AR")
    assert "2 °F (1 °C) is asked (4-203.11): use T9 for air alone" in flat(said)


def test_checks_of_thermometers_are_due_by_the_kitchens_interval(kitchen: Kitchen) -> None:
    kitchen.says("kitchen --thermometer-days 7 --by AR")
    log(kitchen, ("12:10", "ice T1 32F"))
    due = {
        one["subject"]: one["due"]
        for one in json.loads(kitchen.says("status --json"))
        if one["subject"] in ("T1", "T2")
    }
    assert due == {"T1": "2026-11-02T11:10:00-07:00", "T2": "2026-10-26T07:00:00-06:00"}


# The stateless door judges the new steps too.


def test_a_file_is_judged_at_the_door_by_microwave_and_under_time_control(
    kitchen: Kitchen, tmp_path: Path
) -> None:
    file = tmp_path / "log.csv"
    file.write_text(
        "batch,step,taken_at,temp,unit,held_s,method\n"
        "a,receive,0,41.1,F,,\n"
        "b,cook,0,165,F,119,microwave\n"
        "c,time_control,0,41,F,,6 h\nc,time_control,300,71,F,,6 h\n"
        "d,prepare,0,60,F,,\n"
    )
    result = kitchen.run(f"check {file} --json")
    found = {
        batch["batch"]: {one["limit"]: one["verdict"] for one in batch["findings"]}
        for batch in json.loads(result.stdout)["batches"]
    }
    assert result.exit_code == 1
    assert found == {
        "a": {"receiving-cold": "not met"},
        "b": {"cook-microwave": "not shown"},
        "c": {"time-control-6h": "not met"},
        "d": {},
    }


# What people decide.


def test_a_release_needs_a_manager_a_pin_a_reason_and_something_to_release(
    kitchen: Kitchen,
) -> None:
    assert "nothing to release" in kitchen.refuses('release stew "fine" --by AR')
    log(kitchen, ("12:10", "cool stew 120"))
    assert "no manager" in kitchen.refuses('release stew "fine"')
    assert "is empty" in kitchen.refuses("release stew ' ' --by AR")
    kitchen.pin = "9999"
    assert "not the PIN" in kitchen.refuses('release stew "fine" --by AR')
    kitchen.pin = "2580"
    assert "does not replace" in kitchen.says('release stew "140 °F at 12:05 on paper" --by AR')
    number = kitchen.entries()[-1]["seq"]
    assert matters(kitchen, "stew") == []
    assert verdict(kitchen, "stew") == "not shown", "a decision changes no verdict"
    kitchen.says(f'correct {number} --withdraw --reason "another batch was meant"')
    assert matters(kitchen, "stew") == ["not shown", "not shown"]


def test_without_words_an_action_lists_what_may_be_done(
    kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    assert "no deviation" in kitchen.says("action stew")
    log(kitchen, ("12:10", "cool stew 135"), ("14:20", "cool stew 100"))
    before = len(kitchen.entries())
    listed = kitchen.says("action stew")
    assert "Discard it." in listed
    assert "Reheat" not in listed
    kitchen.says("kitchen --late-reheat 'County 12' --by AR")
    listed = kitchen.says("action stew")
    assert "County 12" in listed
    assert "Reheat it to 165 °F" in flat(listed)
    assert max(map(len, listed.splitlines())) <= 80
    assert len(kitchen.entries()) == before + 1, "a list records nothing"


def test_what_was_first_written_on_paper_says_so(kitchen: Kitchen, tmp_path: Path) -> None:
    log(kitchen, ("13:00", "cool stew 135 --paper"), ("13:01", "receive milk 40 --paper --code m"))
    for code in ("stew", "m"):
        assert "From paper." in kitchen.says(f"show {code}")
    file = tmp_path / "sheet.csv"
    file.write_text("batch,step,taken_at,temp,unit\nstew,cool,2026-10-26T13:30-06:00,110,F\n")
    kitchen.at("2026-10-26T14:00-06:00")
    kitchen.says(f"load {file} --paper")
    assert kitchen.says("show stew").count("From paper.") == 2


@pytest.mark.parametrize(
    ("command", "words"),
    [
        ("receive milk hot", "is not a temperature"),
        ("receive milk 40 --use-by never", "is not a day"),
        ("receive milk 40 --as warm", "is not one of"),
        ("receive milk 40 --kind dragon", "is no kind of food"),
        ("receive milk 40 --code stew", "exists already"),
        ("reject stew x", "was made here"),
        ("batch r --kind 'whole roast'", "how it is cooked"),
        ("batch r --kind 'whole roast' --oven convection", "add --weight"),
        ("batch r --kind 'whole roast' --oven none --weight heavy", "is no weight"),
        ("batch r --oven convection", "are for a whole roast"),
        ("split soup 2", "There is no open batch"),
        ("split stew 0", "Invalid value"),
        ("split stew 27", "Invalid value"),
        ("merge stew", "two different batches"),
        ("merge stew stew", "two different batches"),
        ("rename stew well-1", "exists already"),
        ("rename stew 'a b'", "cannot be a name"),
        ("freeze stew 11:00", "was opened at 12:00"),
        ("cook stew 165 --oven warm", "is not a temperature"),
        ("time stew lukewarm", "is not a temperature"),
        ("tcs stew --by AR", "Neither pH nor water activity"),
        ("tcs --ph x", "is no pH"),
        ("tcs --ph nan", "is no pH"),
        ("tcs --aw 1.01", "is no water activity"),
        ("ice T9 32F", "There is no thermometer"),
        ("boil T1 hot", "is not a temperature"),
        ("boil T1 202F --barometer much", "is no air pressure"),
        ("trust T9 x --by AR", "There is no thermometer"),
        ("release ghost x --by AR", "There is no open batch"),
        ("trace ghost", "There is no batch"),
        ("label well-1", "is a unit"),
        ("action ghost", "There is no batch"),
    ],
)
def test_bad_input_of_the_whole_job_gets_one_sentence(
    kitchen: Kitchen, command: str, words: str
) -> None:
    assert words in kitchen.refuses(command)
