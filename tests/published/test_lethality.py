"""Lethality and come-up time against published numbers and exact integrals.

FAO Fisheries Technical Paper 285 prints a worked example, but only sums of its lethal rates could
be read, not the readings, and it uses the trapezoid: it can check nothing here.
"""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from itertools import pairwise
from math import ceil

import pytest
from hypothesis import given
from hypothesis import strategies as st

from haccp.rules.evidence import Reading, Step
from haccp.rules.lethality import CRITERION_MIN, REFERENCE_F, Z_F, come_up, lethality
from haccp.temperature import Degree, Temperature

ZERO = datetime(2026, 1, 5, tzinfo=UTC)

# Food Code 3-401.11(B), read in the Maine Food Code, 10-144 chapter 200, 3-4 (2013-based): °F, s.
ROAST = [
    (130, 112 * 60), (131, 89 * 60), (133, 56 * 60), (135, 36 * 60), (136, 28 * 60), (138, 18 * 60),
    (140, 12 * 60), (142, 8 * 60), (144, 5 * 60), (145, 4 * 60), (147, 134), (149, 85), (151, 54),
    (153, 34), (155, 22), (157, 14), (158, 0),
]  # fmt: skip


def core(*pairs: tuple[float, float | str]) -> list[Reading]:
    return [
        Reading(
            at=ZERO + timedelta(minutes=minute),
            temperature=Temperature(Decimal(str(temp)), Degree.F),
            step=Step.COOK,
        )
        for minute, temp in pairs
    ]


def equivalent(readings: Sequence[Reading]) -> float:
    found = lethality(readings)
    assert found is not None
    return found.minutes


@pytest.mark.parametrize(("fahrenheit", "seconds"), [row for row in ROAST if row[1]])
def test_the_formula_gives_each_row_of_the_table(fahrenheit: int, seconds: int) -> None:
    """Rounded up to the whole minute, from 147 °F on to the whole second."""
    minutes = CRITERION_MIN * 10 ** (-(fahrenheit - REFERENCE_F) / Z_F)
    step = 60 if fahrenheit <= 145 else 1
    assert ceil(minutes * 60 / step) * step == seconds


@pytest.mark.parametrize(("fahrenheit", "seconds"), ROAST)
def test_a_core_held_by_a_row_of_the_table_meets_the_criterion(
    fahrenheit: int, seconds: int
) -> None:
    """The last row's 0 s at 158 °F is the table's own: the formula asks 10.6 s."""
    held = seconds or 10.6
    assert equivalent(core((0, fahrenheit), (held / 60, fahrenheit))) >= CRITERION_MIN
    assert equivalent(core((0, fahrenheit), (held * 0.85 / 60, fahrenheit))) < CRITERION_MIN


def test_a_straight_ramp_is_integrated_exactly_whatever_the_interval() -> None:
    """140 to 160 °F at 1 °F/min, then 5 min: 294.076 min at 145 °F; by hand, the integral is
    10/ln 10 (10^1.5 - 10^-0.5) + 5 10^1.5. Minutes at 130 °F are 10^1.5 times as many."""
    for interval in (20, 5, 2.5, 1, 0.25):
        ramp = [(n * interval, 140 + n * interval) for n in range(int(20 / interval) + 1)]
        at_145 = equivalent(core(*ramp, (25, 160))) / 10**1.5
        assert at_145 == pytest.approx(294.076, abs=0.0005)


def test_the_trapezoid_would_give_too_much() -> None:
    """At 5 minutes 308.773 against 294.076 (computed apart): the log-mean rule is below it."""
    ramp = [(n, 140 + n) for n in range(0, 21, 5)] + [(25, 160)]
    rates = [10 ** ((temp - 145) / 10) for _, temp in ramp]
    trapezoid = sum(5 * (a + b) / 2 for a, b in pairwise(rates))
    assert trapezoid == pytest.approx(308.773, abs=0.0005)
    assert equivalent(core(*ramp)) / 10**1.5 < trapezoid * 0.96


def test_nothing_below_the_table_s_coldest_row_counts() -> None:
    assert equivalent(core((0, 120), (600, 129.9))) == 0
    # from 120 to 140 in 20 minutes only the second half counts: 10 / ln 10 * 9
    assert equivalent(core((0, 120), (20, 140))) == pytest.approx(39.087, abs=0.0005)
    assert equivalent(core((0, 140), (20, 120))) == pytest.approx(39.087, abs=0.0005)


@given(st.lists(st.integers(100, 170), min_size=2, max_size=8))
def test_the_estimate_lies_between_its_bounds_and_every_step_by_step_sum(temps: list[int]) -> None:
    """A fine sum over the straight lines: an independent integral of the same curve."""
    found = lethality(core(*((10 * n, temp) for n, temp in enumerate(temps))))
    assert found is not None
    fine = 0.0
    for a, b in pairwise(temps):
        for n in range(2000):
            temp = a + (b - a) * (n + 0.5) / 2000
            fine += 10 / 2000 * 10 ** ((temp - 130) / 10) if temp >= 130 else 0
    assert found.minutes == pytest.approx(fine, rel=0.002, abs=0.02)
    assert found.least <= found.minutes * (1 + 1e-12)
    assert found.minutes <= found.most * (1 + 1e-12)


def test_one_reading_has_no_lethality_and_a_doubted_one_counts_for_nothing() -> None:
    assert lethality(core((0, 150))) is None
    rows = core((0, 140), (10, 180), (20, 140))
    doubted = [rows[0], Reading(at=rows[1].at, temperature=rows[1].temperature, step=Step.COOK, doubted_since=ZERO), rows[2]]  # fmt: skip
    assert equivalent(doubted) == pytest.approx(200)


def test_the_coolest_of_one_moment_counts() -> None:
    assert equivalent(core((0, 140), (0, 150), (10, 150), (10, 140))) == pytest.approx(100)


def test_the_sentence_never_rounds_heat_up_and_says_what_it_is_worth() -> None:
    found = lethality(core((0, 130), (111.29, 130)))
    assert found is not None
    assert "111.2 min at 130 °F" in found.words
    assert "Information only" in found.words
    hot = lethality(core((0, 200), (60, 205)))
    assert hot is not None
    assert "more than 11,130 min" in hot.words


# A large piece of beef roasted overnight: chamber 225 to 235 °F, 12 to 14 h. Common practice, no
# source; the core's temperatures are invented.
OVERNIGHT = [
    (0, 40), (60, 48), (120, 63), (180, 82), (240, 100), (300, 116), (360, 128), (390, 132),
    (420, 136), (480, 141), (540, 145), (600, 149), (660, 153), (720, 157), (780, 160),
]  # fmt: skip


def test_an_overnight_roast_is_far_beyond_the_table_and_up_within_six_hours() -> None:
    found = lethality(core(*OVERNIGHT))
    assert found is not None
    assert found.least > CRITERION_MIN
    # by the table itself: 136 °F for 28 minutes is met hours before it is done
    by_row = lethality(core(*(one for one in OVERNIGHT if one[0] <= 480)))
    assert by_row is not None
    assert by_row.minutes > CRITERION_MIN
    # cold until 60, hot by 390: out of 50 °F in [60, 120), at 130 °F in (360, 390]
    up = come_up(core(*OVERNIGHT))
    assert up is not None
    assert (up.shortest, up.longest) == (timedelta(minutes=240), timedelta(minutes=330))
    assert up.keeps_guidance is True


# FSIS Appendix A (2021): 50 to 130 °F in no more than 6 hours; from memory, guidance.


@pytest.mark.parametrize(
    ("pairs", "shortest", "longest", "keeps"),
    [
        (((0, 50), (360, 130)), 0, 360, True),
        (((0, 50), (361, 130)), 0, 361, None),
        (((0, 50), (1, 51), (361, 129.9), (362, 130)), 360, 362, False),
        (((0, 51), (60, 130)), 0, None, None),  # since when it was above 50 °F is not known
        (((0, 40), (60, 90), (400, 120)), 340, None, None),
        (((0, 40), (60, 90), (420, 120)), 360, None, False),
        (((0, 40), (60, 131), (120, 90), (500, 140)), 0, 60, True),  # only up to the first 130 °F
    ],
)
def test_the_come_up_time_is_bounded_by_the_readings(
    pairs: tuple[tuple[float, float | str], ...],
    shortest: float,
    longest: float | None,
    keeps: bool | None,
) -> None:
    up = come_up(core(*pairs))
    assert up is not None
    assert up.shortest == timedelta(minutes=shortest)
    assert up.longest == (None if longest is None else timedelta(minutes=longest))
    assert up.keeps_guidance is keeps


def test_without_a_reading_there_is_no_come_up_time() -> None:
    assert come_up([]) is None
