"""What goes wrong where and when, counted: of units and foods, never of people."""

import json
from math import sqrt
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from haccp.kitchen.share import interval
from haccp.kitchen.trends import COLUMNS
from tests.kitchens import Kitchen

Z = 1.959964  # the normal distribution's 97.5 % point, from any table of it


@given(st.integers(1, 500).flatmap(lambda of: st.tuples(st.integers(0, of), st.just(of))))
def test_the_interval_is_where_the_score_test_just_fails(counted: tuple[int, int]) -> None:
    """The definition, solved for: |share - p| is z standard errors of p, at both ends."""
    bad, of = counted
    for p in interval(bad, of):
        if 1e-9 < p < 1 - 1e-9:
            assert abs(bad / of - p) / sqrt(p * (1 - p) / of) == pytest.approx(Z, rel=1e-4)
    low, high = interval(bad, of)
    assert 0 <= low <= bad / of + 1e-12
    assert bad / of - 1e-12 <= high <= 1


@pytest.fixture
def weeks(kitchen: Kitchen) -> Kitchen:
    """Hold well-1 for four days; on two of them it is too cold around 13:30."""
    for day, low in (("26", "12:45"), ("27", ""), ("28", "13:10"), ("29", "")):
        for clock in ("12:10", "12:45", "13:10", "14:00"):
            kitchen.at(f"2026-10-{day}T{clock}-06:00")
            kitchen.says(f"hold well-1 {131 if clock == low else 150} --yes")
    return kitchen


def test_a_pattern_says_how_often_and_when(weeks: Kitchen) -> None:
    said = weeks.says("trends 2026-10-26 2026-10-29")
    assert "2 of 16" in said
    assert "on 2 of 4 days, all between 12:45 and 13:10" in said
    assert "well-1, 13:00" in said, "where it went wrong"
    assert "well-1, 14:00" not in said, "and nowhere else"
    assert "well-1, Mon" in said
    assert "well-1, Tue" not in said
    unit = json.loads(weeks.says("trends 2026-10-26 2026-10-29 --by unit --json"))["unit"]
    assert [(one["name"], one["not_met"], one["count"]) for one in unit] == [("well-1", 2, 16)]


def test_each_line_of_the_table_is_one_check_and_names_nobody(
    weeks: Kitchen, tmp_path: Path
) -> None:
    weeks.says(f"trends 2026-10-26 2026-10-29 --csv {tmp_path / 'all.csv'}")
    head, *rows = (tmp_path / "all.csv").read_text().splitlines()
    assert head.split(",")[: len(COLUMNS)] == list(COLUMNS)
    assert len(rows) == 16
    assert sum("not met" in row for row in rows) == 2
    assert not any("JM" in row for row in rows)


@pytest.mark.parametrize("form", ["svg", "png", "pdf"])
def test_the_plot_is_the_same_each_time_and_replaces_itself_alone(
    form: str, weeks: Kitchen, tmp_path: Path
) -> None:
    path = tmp_path / f"trends.{form}"
    weeks.says(f"trends 2026-10-26 2026-10-29 --plot {path}")
    drawn = path.read_bytes()
    weeks.says(f"trends 2026-10-26 2026-10-29 --plot {path}")
    assert path.read_bytes() == drawn
    path.write_text("somebody's own")
    weeks.refuses(f"trends --plot {path}")
    weeks.refuses(f"trends --plot {tmp_path / 'trends.gif'}")


def test_a_thermometer_in_doubt_shows_nothing(kitchen: Kitchen) -> None:
    kitchen.says("hold well-1 150 --thermometer T2")
    kitchen.says("ice T2 39")
    unit = json.loads(kitchen.says("trends today --by unit --json"))["unit"]
    assert (unit[0]["not_met"], unit[0]["not_shown"]) == (0, 1)


def test_coolings_are_counted_by_what_they_cooled_in(kitchen: Kitchen) -> None:
    kitchen.at("2026-10-26T12:00-06:00")
    kitchen.says(
        'method stew "walk-in" --container "2-inch pan" --depth 2in --nature thick --from-start'
    )
    for clock, temp in (("12:10", 135), ("13:30", 69), ("15:40", 40)):
        kitchen.at(f"2026-10-26T{clock}-06:00")
        kitchen.says(f"cool stew {temp} --yes")
    found = json.loads(kitchen.says("trends today --json"))["container"]
    assert [(one["container"], one["depth_in"], one["count"], one["not_met"]) for one in found] == [
        ("2-inch pan", "2", 1, 0)
    ]
