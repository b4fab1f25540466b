"""Curves in characters. Every reading here is invented."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from haccp import limits
from haccp.cli.terminal_curve import Rows, cooling_key, cooling_panel, held_panel
from haccp.printing.drawn_cooling import DrawnCurve
from haccp.rules.account.readings_alone import judge_batch
from haccp.rules.evidence import Batch, Reading, Step
from haccp.temperature import Degree, Level, Temperature
from tests.kitchens import Kitchen, log

DENVER = ZoneInfo("America/Denver")
NOON = datetime(2026, 10, 26, 18, 0, tzinfo=UTC)  # 12:00 in Denver
COOLING = tuple(Level(Decimal(f), Decimal(c)) for f, c in ((135, 57), (70, 21), (41, 5)))
TENTHS = st.integers(-400, 4500).map(lambda tenths: Decimal(tenths) / 10)


def readings(*points: tuple[int, str], step: Step = Step.COOL, doubted: int = -1) -> list[Reading]:
    return [
        Reading(
            at=NOON + timedelta(minutes=minute),
            temperature=Temperature(Decimal(number), Degree.F),
            step=step,
            ref=str(minute),
            doubted_since=NOON if minute == doubted else None,
        )
        for minute, number in points
    ]


def cooling(*points: tuple[int, str], doubted: int = -1) -> DrawnCurve:
    taken = tuple(readings(*points, doubted=doubted))
    found = judge_batch(Batch(readings=taken), limits.shipped(), None)
    stages = tuple(one for one in found if one.step is Step.COOL)
    return DrawnCurve(readings=taken, findings=stages, degree=Degree.F, zone=DENVER)


def row_of(panel: list[str], sign: str) -> int:
    """Find the one row on which a sign stands, right of the axis."""
    (row,) = [n for n, line in enumerate(panel[1:15]) if sign in line[7:]]
    return row


def level_row(panel: list[str], level: str) -> int:
    (row,) = [n for n, line in enumerate(panel[1:15]) if line[:7].strip(" ┤") == level]
    return row


# ---- on which row a temperature stands ----


@given(TENTHS, st.sampled_from(list(Degree)), st.sampled_from(list(Degree)), st.integers(7, 30))
def test_what_is_above_a_level_stands_above_its_row(
    value: Decimal, typed: Degree, shown: Degree, count: int
) -> None:
    """44.2 °F must not stand on the line of 41; nor 134.9 on that of 135."""
    temperature = Temperature(value, typed)
    ends = (30.0, 145.0) if shown is Degree.F else (-1.0, 63.0)
    rows = Rows(*ends, COOLING, shown, count)
    row = rows.of(temperature)
    assert 0 <= row < count
    for level, line in rows.levels.items():
        over = temperature.over(level)
        assert (row < line) is (over > 0)
        assert (row > line) is (over < 0)


@given(TENTHS, TENTHS, st.integers(7, 30))
def test_the_warmer_of_two_never_stands_below_the_other(
    one: Decimal, other: Decimal, count: int
) -> None:
    rows = Rows(30.0, 145.0, COOLING, Degree.F, count)
    low, high = sorted((one, other))
    assert rows.of(Temperature(high, Degree.F)) <= rows.of(Temperature(low, Degree.F))


@given(
    st.lists(st.integers(30, 145), min_size=1, max_size=5, unique=True),
    st.floats(20, 200, allow_nan=False),
)
def test_levels_close_together_keep_a_row_between_them(numbers: list[int], value: float) -> None:
    levels = [Level(Decimal(number), Decimal(0)) for number in numbers]
    rows = Rows(30.0, 145.0, levels, Degree.F, 14)
    for level, line in rows.levels.items():
        assert (rows.near(value) < line) is (value > level.f)


def test_a_reading_that_fails_by_three_degrees_stands_above_its_limit() -> None:
    """As in the invented week: 44.2 °F, 6 h 04 min after 135 °F."""
    panel = cooling_panel(cooling((0, "135"), (60, "91.2"), (110, "69.3"), (364, "44.2")), 80)
    assert panel[0] == "✕ Not met: 41 °F within 6 h  Mon 26 Oct 2026, °F"
    assert row_of(panel, "x") < level_row(panel, "41")
    assert "44.2" in "".join(panel)


# ---- what a panel holds ----


@given(
    st.lists(
        st.tuples(st.integers(0, 2500), st.integers(20, 210)), min_size=1, max_size=9, unique=True
    ),
    st.integers(60, 140),
)
def test_a_panel_stays_within_its_width_and_shows_every_reading_on_the_scale(
    points: list[tuple[int, int]], width: int
) -> None:
    once = {minute: str(number) for minute, number in points}
    curve = cooling(*sorted(once.items()))
    panel = cooling_panel(curve, width)
    assert max(map(len, panel)) <= width
    # what stands over it may take a line or two more
    assert 17 <= len(panel) <= 20


def test_walls_bars_and_doubt_are_drawn() -> None:
    doubtful = cooling((0, "135"), (60, "98"), (130, "75"), (200, "60"), (350, "41"), doubted=130)
    panel = cooling_panel(doubtful, 80)
    drawn = "\n".join(panel)
    assert "╱" in drawn and "└" in drawn and "┐" in drawn
    assert row_of(panel, "?") < level_row(panel, "70")
    assert "═" in drawn, "70 °F is not shown to have been passed in time"
    assert "0 h since 135 °F" in panel[-1] and "6 h" in panel[-1]
    assert "13:00" in panel[-2]
    late = cooling_panel(cooling((0, "150"), (30, "120"), (100, "75"), (200, "60")), 80)
    assert any("━" in line and "═" in line for line in late)


def test_a_night_without_readings_is_cut_out_and_what_was_hotter_gets_an_arrow() -> None:
    over_night = cooling((0, "160"), (20, "135"), (80, "90"), (120, "69"), (1160, "38"))
    panel = cooling_panel(over_night, 80)
    assert "╱╱" in panel[-3] and "╱╱" in panel[-2]
    assert "▲ 160 12:00" in panel[1]
    assert "cut out" in cooling_key([over_night])
    assert "cut out" not in cooling_key([cooling((0, "135"), (60, "69"))])


def test_a_hot_well_is_broken_where_it_was_empty_and_marks_what_breaks_its_limit() -> None:
    held = readings((0, "150"), (60, "141"), (120, "134.9"), (1440, "160"), (1500, "152"))
    hot = Level(Decimal(135), Decimal(57))
    emptied = [NOON + timedelta(minutes=130)]
    panel = held_panel(held, {"120": "✕"}, [hot], Degree.F, DENVER, emptied, 80)
    assert "╱╱" in panel[-2]
    joined = held_panel(held, {"120": "✕"}, [hot], Degree.F, DENVER, [], 80)
    assert "╱╱" not in "".join(joined)
    dots = [line.count(".") for line in (" ".join(panel), " ".join(joined))]
    assert dots[0] < dots[1], "no line leads over the time in which it was empty"
    rows = panel[:14]
    (broken,) = [n for n, line in enumerate(rows) if "x" in line]
    (level,) = [n for n, line in enumerate(rows) if "┤" in line]
    assert broken > level, "134.9 is below 135"
    assert "134.9" in "".join(rows)


def test_held_readings_that_do_not_change_are_drawn() -> None:
    same = readings((0, "38"), (60, "38"), step=Step.COLD_HOLD)
    panel = held_panel(same, {}, [], Degree.F, DENVER, [], 60)
    assert sum(line.count("o") for line in panel[:14]) == 2
    assert max(map(len, panel)) <= 60


# ---- in `show` ----


def test_show_draws_a_panel_for_each_cooling(
    kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    log(
        kitchen,
        ("13:00", "cool stew 135"),
        ("14:00", "cool stew 118"),
        ("14:30", "reheat stew 120"),
        ("15:00", "reheat stew 167 --held 15s"),
        ("15:05", "cool stew 150"),
        ("15:20", "cool stew 135"),
        ("16:30", "cool stew 69"),
    )
    shown = kitchen.says("show stew")
    assert [line[0] for line in shown.splitlines() if "Oct 2026, °F" in line] == ["–", "○"]
    assert shown.count("breaks a limit") == 1, "the key comes once"
    assert max(map(len, shown.splitlines())) <= 80


def test_a_kitchen_in_celsius_sees_its_own_levels(kitchen: Kitchen) -> None:
    kitchen.says("kitchen --degree C --by AR")
    log(kitchen, ("13:00", "cool stew 57"), ("14:00", "cool stew 30"))
    levels = [line[:6].strip() for line in kitchen.says("show stew").splitlines() if "┤" in line]
    assert levels == ["57", "21", "5"]


def test_estimates_are_drawn_with_their_own_sign() -> None:
    curve = cooling((0, "135"), (60, "98"))
    band = tuple((NOON + timedelta(minutes=m), 90.0 - m / 10, 95.0, 99.0) for m in (70, 90, 110))
    expected = replace(curve, expected=band)
    assert ":" not in "".join(line[7:] for line in cooling_panel(curve, 80)[1:15])
    assert ":" in "".join(line[7:] for line in cooling_panel(expected, 80)[1:15])
    assert "estimate" in cooling_key([expected])


def test_what_stands_over_a_narrow_curve_is_broken_between_words() -> None:
    narrow = cooling_panel(cooling((0, "135"), (60, "98"), (110, "69"), (350, "41")), 40)
    assert max(map(len, narrow)) <= 40
    assert narrow[0] == "● Met: 70 °F within 2 h, 41 °F within 6"
