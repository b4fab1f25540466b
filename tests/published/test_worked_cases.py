"""Worked cases and published numbers, put to `haccp check-file` and to the rules behind it.

The readings of the numbered worked cases are invented: they were worked by hand from the wording
of 3-501.14 before the program was written. The other cases name who published them.
"""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from click.testing import CliRunner

from haccp import limits
from haccp.cli.main import cli
from haccp.rules.account.readings_alone import judge_batch
from haccp.rules.evidence import Batch, Finding, Reading, Step, overall
from haccp.temperature import Degree, Temperature
from tests.published.test_limits import ROAST

ZERO = datetime(2026, 1, 5, tzinfo=UTC)

# step, minute, temperature as printed, unit, seconds held
Row = tuple[str, str, str, str, str]


def row(step: str, minute: float | str, temp: float | str, unit: str = "F", held: str = "") -> Row:
    return (step, str(minute), str(temp), unit, held)


def cooling(*readings: tuple[float, float]) -> tuple[Row, ...]:
    return tuple(row("cool", minute, temp) for minute, temp in readings)


def check(
    rows: Sequence[Row], *options: str, food: str = "", exit_code: int | None = None
) -> dict[str, Any]:
    lines = [
        "batch,step,taken_at,temp,unit,held_s,food",
        *(
            f"b,{step},{minute},{temp},{unit},{held},{food}"
            for step, minute, temp, unit, held in rows
        ),
    ]
    ran = CliRunner().invoke(cli, ["check", "-", "--json", *options], input="\n".join(lines))
    assert ran.exit_code in ((0, 1) if exit_code is None else (exit_code,)), ran.output
    answer: dict[str, Any] = json.loads(ran.stdout)
    assert answer["rejected"] == []
    batch: dict[str, Any] = answer["batches"][0]
    return batch


def verdict(rows: Sequence[Row], limit: str, *options: str, food: str = "") -> str:
    found = [f for f in check(rows, *options, food=food)["findings"] if f["limit"] == limit]
    assert len(found) == 1, found
    return str(found[0]["verdict"])


def readings(rows: Sequence[Row]) -> tuple[Reading, ...]:
    return tuple(
        Reading(
            at=ZERO + timedelta(minutes=float(minute)),
            temperature=Temperature(Decimal(temp), Degree(unit)),
            step=Step(step),
            held=timedelta(seconds=float(held or 0)),
        )
        for step, minute, temp, unit, held in rows
    )


def judge(
    rows: Sequence[Row], prepared: float | None = None, as_of: float | None = None
) -> tuple[Finding, ...]:
    def moment(minute: float | None) -> datetime | None:
        return None if minute is None else ZERO + timedelta(minutes=minute)

    batch = Batch(readings=readings(rows), prepared=moment(prepared))
    return judge_batch(batch, limits.shipped(), moment(as_of))


STAGE_1, STAGE_2 = "cooling-stage-1", "cooling-stage-2"


@dataclass(frozen=True)
class Case:
    """A worked case; each expected finding is (limit, verdict, shortest, longest) in minutes."""

    source: str
    rows: tuple[Row, ...]
    expected: tuple[tuple[str, str, int | None, int | None], ...]
    verdict: str


CLEAN = cooling((0, 180), (30, 135), (90, 98), (140, 69), (330, 41))

CASES = [
    Case(
        "worked case 1",
        CLEAN,
        ((STAGE_1, "met", 60, 110), (STAGE_2, "met", 110, 300)),
        "met",
    ),
    Case(
        "worked case 2",
        cooling((0, 150), (60, 120), (150, 80), (170, 69)),
        ((STAGE_1, "not shown", 90, 170), (STAGE_2, "not shown", 110, None)),
        "not shown",
    ),
    Case(
        "worked case 3",
        cooling((0, 140), (20, 130), (145, 75)),
        ((STAGE_1, "not met", 125, None), (STAGE_2, "not shown", 125, None)),
        "not met",
    ),
    Case(
        "worked case 4",
        cooling((0, 128), (60, 90), (110, 68)),
        ((STAGE_1, "not shown", 60, None), (STAGE_2, "not shown", 110, None)),
        "not shown",
    ),
    Case(
        "worked case 5",
        cooling((0, 140), (100, 69), (130, 74), (150, 68)),
        ((STAGE_1, "not shown", 30, 150), (STAGE_2, "not shown", 50, None)),
        "not shown",
    ),
    Case(
        "worked case 6",
        cooling((0, 140), (60, 120), (180, 136), (200, 100), (290, 69)),
        ((STAGE_1, "not met", 140, 290), (STAGE_2, "not shown", 230, None)),
        "not met",
    ),
    Case(
        "worked case 7",
        (*CLEAN, *cooling((420, 43))),
        (
            (STAGE_1, "met", 60, 110),
            (STAGE_2, "met", 110, 300),
            ("cold-holding", "not met", 0, None),
        ),
        "not met",
    ),
    Case(
        "worked case 8",
        (
            *cooling((0, 140), (60, 118)),
            row("reheat", 75, 150),
            row("reheat", 95, 166, held="15"),
            *cooling((100, 160), (125, 134), (190, 70), (400, 41)),
        ),
        (
            (STAGE_1, "stopped", 0, None),
            (STAGE_2, "stopped", 0, None),
            # out of an open cooling the two hours count from its last reading: 60 to 95
            ("reheat", "met", 20, 35),
            (STAGE_1, "met", 0, 90),
            (STAGE_2, "met", 65, 300),
        ),
        "met",
    ),
    Case(
        "worked case 9, 70.1 °F at 2 h",
        cooling((0, 135), (120, 70.1), (360, 41)),
        ((STAGE_1, "not met", 120, 360), (STAGE_2, "met", 120, 360)),
        "not met",
    ),
    Case(
        "worked case 9, 70 °F at 2 h and 41 °F at 6 h",
        cooling((0, 135), (120, 70), (360, 41)),
        ((STAGE_1, "met", 0, 120), (STAGE_2, "met", 120, 360)),
        "met",
    ),
    Case(
        "worked case 9, nothing by 2 h",
        cooling((0, 135), (180, 60), (355, 41)),
        ((STAGE_1, "not shown", 0, 180), (STAGE_2, "met", 180, 355)),
        "not shown",
    ),
]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.source)
def test_a_worked_case_comes_out_of_haccp_check(case: Case) -> None:
    batch = check(case.rows, exit_code=1 if case.verdict in ("not met", "not shown") else 0)
    found = tuple(
        (f["limit"], f["verdict"], f["shortest_min"], f["longest_min"]) for f in batch["findings"]
    )
    assert found == case.expected
    assert batch["verdict"] == case.verdict


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.source)
def test_a_worked_case_comes_out_of_the_rules(case: Case) -> None:
    found = judge(case.rows)

    def whole_minutes(duration: timedelta | None) -> int | None:
        return None if duration is None else duration // timedelta(minutes=1)

    assert (
        tuple(
            (
                f.limit.name,
                f.verdict.value,
                whole_minutes(f.shortest),
                whole_minutes(f.longest),
            )
            for f in found
        )
        == case.expected
    )
    assert overall(found) == case.verdict


@pytest.mark.parametrize(
    "after", [[], [(146, 69)], [(146, 41)], [(146, 140), (150, 60)], [(160, 74), (200, 69)]]
)
def test_a_stage_that_is_not_met_stays_so_whatever_follows(
    after: list[tuple[float, float]],
) -> None:
    """Worked case 3: "not met, whatever follows"; what follows is invented."""
    rows = cooling((0, 140), (20, 130), (145, 75), *after)
    assert verdict(rows, STAGE_1) == "not met"


def test_an_unknown_start_tells_the_cook_to_log_the_last_hot_reading() -> None:
    """Worked case 4."""
    batch = check(cooling((0, 128), (60, 90), (110, 68)))
    assert all("Log the last hot reading" in f["reason"] for f in batch["findings"])


def test_rewarming_is_reported_with_its_readings() -> None:
    """Worked case 5: 69 °F at 100, then 74 °F at 130."""
    batch = check(cooling((0, 140), (100, 69), (130, 74), (150, 68)))
    assert (
        "Rewarmed from 69 °F at minute 100 to 74 °F at minute 130" in batch["findings"][0]["reason"]
    )


def test_a_rise_of_no_more_than_the_thermometers_accuracy_is_not_reported() -> None:
    """±2 °F: Food Code 4-203.11. The readings are invented."""
    reason = check(cooling((0, 140), (100, 69), (130, 71), (150, 68)))["findings"][0]["reason"]
    assert "Rewarmed" not in reason
    reason = check(cooling((0, 140), (100, 69), (130, 71.1), (150, 68)))["findings"][0]["reason"]
    assert "Rewarmed" in reason


# Cases that others published, with what they concluded.


def test_soup_that_cools_too_slowly_is_still_open_after_an_hour() -> None:
    """135 °F, after an hour 129 °F: a warning there, and no limit has passed yet.

    Source: Central District Health (Boise, Idaho), Cooling Chart handout, rev. 2-13,
    https://www.formsbank.com/template/22225/cooling-chart.html
    """
    batch = check(cooling((0, 135), (60, 129)), "--as-of", "60", exit_code=0)
    assert [f["verdict"] for f in batch["findings"]] == ["open", "open"]
    assert batch["verdict"] == "open"


def test_chili_at_70_after_an_hour_has_five_hours_left() -> None:
    """70 °F after 1 h; 5 h remain to 41 °F: one clock of 6 h from 135 °F.

    Source: a state-style fact sheet on two-stage cooling, "Examples of safe cooling", in a copy:
    http://thespectatorpost.com/2022/05/13/08/within-how-many-hours-must-cooked-tcs-food-be-cooled-from-135-to-70-within-how-many-hours-must-cooked-tcs-food-be-cooled-from-135-to-70/
    """
    rows = cooling((0, 135), (60, 70))
    stage_1, stage_2 = judge(rows, as_of=60)
    assert stage_1.verdict == "met"
    assert stage_2.verdict == "open"
    assert stage_2.due == ZERO + timedelta(minutes=360)
    batch = check(rows, "--as-of", "60", exit_code=0)
    assert [f["verdict"] for f in batch["findings"]] == ["met", "open"]
    assert "minute 360" in batch["findings"][1]["reason"]


def test_crab_prepared_cold_has_until_four_hours() -> None:
    """52 °F two hours after preparation; to 41 °F or less within 4 h in total.

    Source: CDC Vessel Sanitation Program, inspection report NTgxNjIzNQ, item 16,
    https://wwwn.cdc.gov/InspectionQueryTool/InspectionDetailReport.aspx?ColI=NTgxNjIzNQ%3D%3D-DuE7pl6HyLE%3D
    """
    (found,) = judge(cooling((120, 52)), prepared=0, as_of=120)
    assert found.limit.name == "cooling-ambient"
    assert found.verdict == "open"
    assert found.due == ZERO + timedelta(minutes=240)


def test_melon_above_41_after_more_than_four_hours_is_not_met() -> None:
    """49 °F "over 4 hours" after preparation: cited. 241 min is the least that "over" can mean.

    Source: CDC Vessel Sanitation Program, inspection report MTMzNjM5, item 16,
    https://wwwn.cdc.gov/InspectionQueryTool/InspectionDetailReport.aspx?ColI=MTMzNjM5-i%2B26CG455Nc%3D
    """
    (found,) = judge(cooling((241, 49)), prepared=0, as_of=241)
    assert found.verdict == "not met"


# Readings on and beside the printed numbers. Source of the numbers: Food Code 3-501.14 and
# 3-501.16 as adopted by Delaware; the readings are invented.


@pytest.mark.parametrize(
    ("step", "temp", "unit", "expected"),
    [
        ("hot_hold", "135.0", "F", "met"),
        ("hot_hold", "134.95", "F", "not met"),
        ("hot_hold", "134.9", "F", "not met"),
        ("hot_hold", "134.999999999999", "F", "not met"),
        ("hot_hold", "57.0", "C", "met"),
        ("hot_hold", "56.9", "C", "not met"),
        ("cold_hold", "41.0", "F", "met"),
        ("cold_hold", "41.1", "F", "not met"),
        ("cold_hold", "41.000000000001", "F", "not met"),
        ("cold_hold", "5.0", "C", "met"),
        ("cold_hold", "5.1", "C", "not met"),
    ],
)
def test_a_held_food_is_compared_unrounded_with_the_number_of_its_own_degree(
    step: str, temp: str, unit: str, expected: str
) -> None:
    limit = {"hot_hold": "hot-holding", "cold_hold": "cold-holding"}[step]
    assert verdict([row(step, 0, temp, unit)], limit) == expected


def test_only_a_whole_roast_may_be_held_at_130() -> None:
    """Food Code 3-501.16(A)(1), as adopted by Delaware: 130 °F (54 °C) for roasts."""
    cooked = row("cook", 0, "158")
    for temp, unit, expected in (
        ("130.0", "F", "met"),
        ("129.9", "F", "not met"),
        ("54.0", "C", "met"),
        ("53.9", "C", "not met"),
    ):
        held = row("hot_hold", 60, temp, unit)
        assert verdict([cooked, held], "hot-holding", food="whole roast") == expected, temp
        # without a proved cook by 3-401.11(B), and for any other food, 135 °F
        assert verdict([held], "hot-holding", food="whole roast") == "not met"
        assert verdict([row("cook", 0, "165"), held], "hot-holding") == "not met"


@pytest.mark.parametrize(
    ("start", "mid", "unit", "expected"),
    [
        ("135", "70", "F", "met"),
        ("135", "70.1", "F", "not met"),
        ("57", "21", "C", "met"),
        ("57", "21.1", "C", "not met"),
    ],
)
def test_stage_1_at_exactly_two_hours(start: str, mid: str, unit: str, expected: str) -> None:
    rows = [row("cool", 0, start, unit), row("cool", 120, mid, unit)]
    assert verdict(rows, STAGE_1) == expected


@pytest.mark.parametrize(
    ("mid", "end", "expected"),
    [
        ([], (360, "41"), "met"),
        ([], (361, "41"), "not shown"),
        ([(360, "41.1")], (361, "41"), "not met"),
        ([(359, "41.1")], (360, "41"), "met"),
    ],
)
def test_stage_2_at_exactly_six_hours(
    mid: list[tuple[int, str]], end: tuple[int, str], expected: str
) -> None:
    rows = [row("cool", minute, temp) for minute, temp in [(0, "135"), (120, "70"), *mid, end]]
    assert verdict(rows, STAGE_2) == expected


def test_both_degrees_in_one_cooling() -> None:
    rows = [
        row("cool", 0, "135.0"),
        row("cool", 40, "36.5", "C"),
        row("cool", 119, "21.0", "C"),
        row("cool", 121, "69.9"),
        row("cool", 360, "5.0", "C"),
    ]
    assert [f["verdict"] for f in check(rows)["findings"]] == ["met", "met"]
    warmer = [*rows[:2], row("cool", 120, "21.1", "C"), *rows[3:]]
    assert verdict(warmer, STAGE_1) == "not met"


# Cooking tables: temperature [°F], temperature [°C], seconds.

# Food Code 3-401.11(A)(2), read in 12VAC5-421-700 (Virginia, 2017-based).
GROUND_MEAT = [(145, "63", 180), (150, "66", 60), (155, "68", 17), (158, "70", 0)]

TABLES = [("whole roast", *r) for r in ROAST] + [("ground meat", *r) for r in GROUND_MEAT]


@pytest.mark.parametrize(("food", "f", "c", "seconds"), TABLES)
def test_a_row_of_a_cooking_table_is_met_at_its_temperature_and_time(
    food: str, f: int, c: str, seconds: int
) -> None:
    held = str(seconds or "")
    assert verdict([row("cook", 0, f, "F", held)], "cook", food=food) == "met"
    assert verdict([row("cook", 0, c, "C", held)], "cook", food=food) == "met"


@pytest.mark.parametrize(("food", "f", "c", "seconds"), TABLES)
def test_a_row_of_a_cooking_table_is_not_met_just_below_its_temperature(
    food: str, f: int, c: str, seconds: int
) -> None:
    held = str(seconds or "")
    below_f, below_c = str(Decimal(f) - Decimal("0.1")), str(Decimal(c) - Decimal("0.1"))
    # above a colder row a longer hold could still be shown; below the lowest row none could
    lowest = f == {"whole roast": 130, "ground meat": 145}[food]
    expected = "not met" if lowest else "not shown"
    assert verdict([row("cook", 0, below_f, "F", held)], "cook", food=food) == expected
    assert verdict([row("cook", 0, below_c, "C", held)], "cook", food=food) == expected


@pytest.mark.parametrize(("food", "f", "c", "seconds"), [r for r in TABLES if r[3]])
def test_a_row_of_a_cooking_table_is_not_shown_by_a_second_less(
    food: str, f: int, c: str, seconds: int
) -> None:
    held = str(seconds - 1)
    assert verdict([row("cook", 0, f, "F", held)], "cook", food=food) == "not shown"
    assert verdict([row("cook", 0, c, "C", held)], "cook", food=food) == "not shown"


def test_a_roast_held_through_a_night_of_readings_satisfies_the_row_it_stayed_above() -> None:
    """130 °F for 112 minutes (3-401.11(B), Maine); the readings are invented."""
    night = [row("cook", minute, 131) for minute in range(0, 120, 30)]
    assert verdict(night, "cook", food="whole roast") == "met"
    shorter = night[:3]  # an hour at 131 °F, which needs 89 minutes
    assert verdict(shorter, "cook", food="whole roast") == "not shown"
    dipped = [*night[:2], row("cook", 45, "129.9"), *night[2:]]
    assert verdict(dipped, "cook", food="whole roast") == "not shown"


def test_food_of_an_unknown_kind_is_judged_as_strictly_as_poultry() -> None:
    """165 °F: 3-401.11(A)(3), 12VAC5-421-700 (Virginia)."""
    for food in ("", "poultry", "something else"):
        assert verdict([row("cook", 0, "165")], "cook", food=food) == "met"
        assert verdict([row("cook", 0, "164.9", "F", "9999")], "cook", food=food) == "not met"
    assert verdict([row("cook", 0, "74", "C")], "cook") == "met"
    assert verdict([row("cook", 0, "73.9", "C")], "cook") == "not met"


# Reheating: 165 °F (74 °C) for 15 s within 2 h, 3-403.11(A) and (D), Delaware 3-403.11.


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        ([row("reheat", 0, 41), row("reheat", 119, 165, held="15")], "met"),
        ([row("reheat", 0, 41), row("reheat", 120, 165, held="15")], "met"),
        ([row("reheat", 0, 41), row("reheat", 121, 165, held="15")], "not shown"),
        (
            [row("reheat", 0, 41), row("reheat", 120, "164.9"), row("reheat", 121, 165, held="15")],
            "not met",
        ),
        ([row("reheat", 0, 41), row("reheat", 60, "164.9", held="900")], "not met"),
        ([row("reheat", 0, 41), row("reheat", 60, 165, held="14")], "not shown"),
        ([row("reheat", 0, 5, "C"), row("reheat", 120, 74, "C", "15")], "met"),
        ([row("reheat", 0, 5, "C"), row("reheat", 120, "73.9", "C", "15")], "not met"),
    ],
)
def test_a_reheat_at_the_edge_of_its_limits(rows: list[Row], expected: str) -> None:
    assert verdict(rows, "reheat") == expected


@pytest.mark.parametrize(
    ("after", "expected"),
    [
        ([], "not shown"),
        ([("60.25", 165)], "met"),  # 15 s later
        ([("60.23", 165)], "not shown"),  # 13.8 s later
        ([("60.1", "164.9"), ("60.3", 165)], "not shown"),
    ],
)
def test_two_readings_show_a_hold_if_none_between_is_below(
    after: list[tuple[str, str]], expected: str
) -> None:
    rows = [row("reheat", 0, 41), row("reheat", 60, 165)]
    assert verdict([*rows, *(row("reheat", *one) for one in after)], "reheat") == expected
