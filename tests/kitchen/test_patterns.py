"""What comes again is told where its counts carry it, and nowhere else; every count is invented."""

from collections.abc import Iterable
from math import sqrt
from random import Random

import pandas as pd
import pytest

from haccp.kitchen.patterns import Pattern, patterns
from haccp.kitchen.trends import CHECK, COLUMNS, COOLING
from haccp.rules.evidence import Verdict

Row = tuple[object, ...]


def frame(rows: Iterable[Row]) -> pd.DataFrame:
    made = pd.DataFrame(list(rows), columns=list(COLUMNS))
    made["at"] = pd.to_datetime(made["at"])
    return made


def check(day: int, clock: str, *, bad: bool, unit: str = "well-2", thermometer: str = "T1") -> Row:
    verdict = Verdict.NOT_MET if bad else Verdict.MET
    at = f"2026-10-{day:02} {clock}"
    return (CHECK, at, unit, "", "", "", thermometer, 140.0, "hot-holding", str(verdict))


def cooling(
    day: int,
    *,
    bad: bool,
    container: str = "",
    depth: str = "",
    food: str = "stew",
    method: str = "",
) -> Row:
    verdict = Verdict.NOT_MET if bad else Verdict.MET
    at = f"2026-10-{day:02} 13:00"
    return (COOLING, at, food, container, depth, method, "T1", None, "cooling", str(verdict))


def told(rows: Iterable[Row]) -> list[Pattern]:
    return patterns(frame(rows))


def well(bad_on: Iterable[int], days: int = 19, at: str = "13:50") -> list[Row]:
    """A well read hourly for some days, out of limits at one time on some of them."""
    low = set(bad_on)
    return [
        check(day, clock, bad=day in low and clock == at)
        for day in range(1, days + 1)
        for clock in ("09:50", "10:50", "11:50", "12:50", "13:50", "14:50", "15:50", "16:50")
    ]


def test_a_well_that_is_cold_on_seven_days_of_nineteen_at_one_time_is_told_so() -> None:
    (one,) = told(well((1, 2, 5, 8, 9, 14, 19)))
    assert (one.by, one.names, one.limit) == ("unit", ("well-2",), "hot-holding")
    assert (one.counts.bad, one.counts.of) == (7, 19)
    assert one.between == (13 + 50 / 60, 13 + 50 / 60)
    assert one.weekday is None
    low, high = one.counts.bounds
    # the definition of the score interval, solved for: one group, so one in twenty
    for p in (low, high):
        assert abs(7 / 19 - p) / sqrt(p * (1 - p) / 19) == pytest.approx(1.959964, rel=1e-4)


def test_the_weekday_that_all_share_is_told() -> None:
    (one,) = told(well((4, 11, 18, 25), days=28))
    assert one.weekday == 6, "4, 11, 18 and 25 October 2026 are Sundays"


@pytest.mark.parametrize("bad_on", [(), (3,), (3, 4)])
def test_a_deviation_or_two_are_no_pattern(bad_on: tuple[int, ...]) -> None:
    assert told(well(bad_on)) == []


def test_one_day_of_many_bad_checks_is_one_day() -> None:
    assert told([check(3, f"{hour}:00", bad=True) for hour in range(8, 20)] + well(())) == []


def test_four_inch_pans_stand_out_of_two_inch_ones() -> None:
    rows = [cooling(n, bad=True, container="pan", depth="4") for n in range(1, 6)]
    rows += [cooling(n, bad=False, container="pan", depth="2") for n in range(6, 20)]
    (one,) = told(rows)
    assert (one.by, one.names) == ("container", ("pan", "4"))
    assert one.others is not None
    assert (one.counts.bad, one.counts.of, one.others.bad, one.others.of) == (5, 5, 0, 14)
    assert one.counts.bounds[0] > one.others.bounds[1]


def test_what_nobody_said_is_no_group() -> None:
    rows = [cooling(n, bad=True) for n in range(1, 6)]
    rows += [cooling(n, bad=False, container="pan", depth="2") for n in range(6, 20)]
    assert told(rows) == []


def test_the_same_coolings_are_told_once_by_what_they_cooled_in() -> None:
    slow = {"container": "pot", "depth": "9", "food": "chili", "method": "walk-in"}
    fast = {"container": "pan", "depth": "2", "food": "stew", "method": "ice bath"}
    rows = [cooling(n, bad=True, **slow) for n in range(1, 9)]
    rows += [cooling(n, bad=False, **fast) for n in range(9, 30)]
    assert [one.by for one in told(rows)] == ["container"]


def test_two_slow_coolings_of_three_beside_one_good_one_prove_nothing() -> None:
    rows = [cooling(n, bad=n < 3, container="pan", depth="4") for n in range(1, 4)]
    assert told([*rows, cooling(9, bad=False, container="pan", depth="2")]) == []


def test_a_thermometer_stands_out_where_it_is_wrong_in_more_than_one_unit() -> None:
    def days(unit: str, thermometer: str, bad: bool) -> list[Row]:
        return [
            check(n, "12:00", bad=bad and n % 2 == 0, unit=unit, thermometer=thermometer)
            for n in range(1, 29)
        ]

    one_unit = [*days("well-1", "T2", True), *days("well-2", "T1", False)]
    assert "thermometer" not in [one.by for one in told(one_unit)]
    both = [*one_unit, *days("well-3", "T2", True), *days("well-4", "T1", False)]
    (found,) = [one for one in told(both) if one.by == "thermometer"]
    assert found.names == ("T2",)
    assert found.others is not None
    assert (found.counts.bad, found.counts.of, found.others.bad) == (28, 56, 0)


def test_what_is_not_shown_is_counted_nowhere() -> None:
    rows = [(*row[:-1], str(Verdict.NOT_SHOWN)) for row in well((1, 2, 5, 8))]
    assert told(rows) == []


def test_nothing_observed_is_no_pattern() -> None:
    assert told([]) == []


def test_the_counts_are_those_of_the_rows_counted_one_by_one() -> None:
    """Against loops over the rows, for a hundred random months of units and coolings."""
    random = Random("patterns")
    for _ in range(100):
        rows = [
            check(day, f"{hour}:00", bad=random.random() < rate, unit=unit)
            for unit, rate in (("a", 0.15), ("b", 0.01), ("c", 0))
            for day in range(1, 29)
            for hour in (9, 12, 15)
        ]
        rows += [
            cooling(random.randint(1, 28), bad=random.random() < rate, container=pan, depth="2")
            for pan, rate in (("deep", 0.7), ("flat", 0.05))
            for _ in range(random.randint(1, 20))
        ]
        for one in told(rows):
            if one.by == "unit":
                mine = [row for row in rows if row[2] == one.names[0]]
                bad_days = {str(row[1])[:10] for row in mine if row[-1] == "not met"}
                days = {str(row[1])[:10] for row in mine}
                assert (one.counts.bad, one.counts.of) == (len(bad_days), len(days))
                assert len(bad_days) >= 3
            elif one.by == "container":
                mine = [row for row in rows if row[3] == one.names[0]]
                others = [row for row in rows if row[0] == COOLING and row[3] != one.names[0]]
                assert one.others is not None
                assert (one.counts.bad, one.counts.of, one.others.bad, one.others.of) == (
                    sum(row[-1] == "not met" for row in mine), len(mine),
                    sum(row[-1] == "not met" for row in others), len(others),
                )  # fmt: skip
                assert one.counts.bad / one.counts.of > one.others.bad / one.others.of
