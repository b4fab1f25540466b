"""What is listed for a manager's look, and what is not.

All readings here are invented, by hand or by a seeded generator.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from itertools import combinations, groupby, permutations, product
from math import comb
from random import Random

import pytest

from haccp.rules.unusual import (
    ROUND_LEVEL,
    SAME_VALUE_LEVEL,
    Acted,
    Kind,
    Noted,
    Unusual,
    binomial_tail,
    longest_run_chance,
    look,
    same_order_chance,
)
from haccp.rules.unusual_in_words import told
from haccp.temperature import Degree, Temperature

ZERO = datetime(2026, 1, 5, 8, tzinfo=UTC)
LEVELS = frozenset(Temperature(Decimal(n), Degree.F) for n in (41, 70, 135, 165))


def noted(
    value: str | int, hours: float = 0, subject: str = "well", person: str = "AR", late: float = 60
) -> Noted:
    at = ZERO + timedelta(hours=hours)
    return Noted(
        ref="",
        subject=subject,
        person=person,
        taken_at=at,
        entered_at=at + timedelta(seconds=late),
        temperature=Temperature(Decimal(value), Degree.F),
    )


def numbered(readings: Sequence[Noted]) -> list[Noted]:
    return [replace(one, ref=str(number)) for number, one in enumerate(readings, 1)]


def hourly(values: Sequence[str | int], subject: str = "well", person: str = "AR") -> list[Noted]:
    return numbered([noted(value, hour, subject, person) for hour, value in enumerate(values)])


def kinds(readings: Sequence[Noted]) -> set[Kind]:
    return {found.kind for found in look(readings, LEVELS)}


def only(readings: Sequence[Noted]) -> Unusual:
    (found,) = look(readings, LEVELS)
    return found


# --- the tests themselves, exactly


@pytest.mark.parametrize(
    ("hits", "trials", "rate", "chance"),
    [
        (0, 7, Fraction(1, 5), Fraction(1)),
        (1, 1, Fraction(1, 5), Fraction(1, 5)),
        (2, 2, Fraction(1, 5), Fraction(1, 25)),
        (1, 2, Fraction(1, 5), Fraction(9, 25)),  # by hand: 1 - (4/5)²
        (5, 5, Fraction(1, 5), Fraction(1, 3125)),
        (4, 5, Fraction(1, 5), Fraction(21, 3125)),  # by hand: 5 · 4/3125 + 1/3125
        (2, 3, Fraction(1, 2), Fraction(1, 2)),  # by symmetry
        (3, 2, Fraction(1, 5), Fraction(0)),
    ],
)
def test_the_binomial_tail_is_exact(
    hits: int, trials: int, rate: Fraction, chance: Fraction
) -> None:
    assert binomial_tail(hits, trials, rate) == chance


def test_the_binomial_tail_is_what_is_left_of_the_other_tail() -> None:
    rate = Fraction(1, 5)
    below = sum((comb(40, k) * rate**k * (1 - rate) ** (40 - k) for k in range(17)), Fraction(0))
    assert binomial_tail(17, 40, rate) == 1 - below


def test_the_longest_run_agrees_with_every_order_written_out() -> None:
    for steps, repeats in ((s, r) for s in range(1, 10) for r in range(s + 1)):
        longest = [
            max(
                (len(list(run)) for hit, run in groupby(i in at for i in range(steps)) if hit),
                default=0,
            )
            for at in (set(some) for some in combinations(range(steps), repeats))
        ]
        for run in range(1, steps + 1):
            expected = Fraction(sum(one >= run for one in longest), len(longest))
            assert longest_run_chance(steps, repeats, run) == expected


# --- the same value


def test_a_value_copied_for_two_days_into_a_drifting_well_is_listed() -> None:
    drift = [140, 143, 141, 139, 142, 144, 141, 140] * 3
    found = only(hourly([*drift, *[142] * 16]))
    assert found.kind is Kind.SAME_VALUE
    assert found.refs == tuple(str(n) for n in range(25, 41))
    assert (found.about, found.count, found.among) == ("well", 19, 40)
    assert found.value == Temperature(Decimal(142), Degree.F)


def test_a_well_that_stands_at_141_for_weeks_is_not_listed() -> None:
    assert look(hourly([141] * 200)) == ()


def test_a_display_that_moves_only_when_the_door_opens_is_not_listed() -> None:
    assert look(hourly([38] * 30 + [44] + [38] * 14 + [41] + [38] * 9)) == ()


def test_a_well_that_always_repeats_for_an_hour_or_two_is_not_listed() -> None:
    assert look(hourly([value for value in (140, 141, 139, 142, 140) for _ in range(8)])) == ()


def test_seven_equal_values_are_not_many() -> None:
    changing = [141 + n % 5 for n in range(120)]
    assert kinds(hourly([*changing, *[147] * 8])) == {Kind.SAME_VALUE}
    assert look(hourly([*changing, *[147] * 7])) == ()


def test_tenths_that_change_within_one_degree_are_no_run() -> None:
    changing = [140 + n % 4 for n in range(60)]
    assert look(hourly([*changing, *(f"147.{n % 9}" for n in range(20))])) == ()


def test_the_chance_of_a_run_is_the_larger_of_its_two_explanations() -> None:
    found = only(hourly([140, 143, 141, 139, 142, 144, 141, 140] * 3 + [142] * 16))
    steps, values = longest_run_chance(39, 15, 15), longest_run_chance(40, 19, 16)
    assert found.chance == max(steps, values) <= SAME_VALUE_LEVEL


def test_readings_of_two_subjects_make_no_run_together() -> None:
    wells = [noted(140 + n % 5, n, subject="a") for n in range(30)]
    wells += [noted(141, 30 + n, subject=str(n)) for n in range(16)]
    assert look(numbered(wells)) == ()


# --- entered at once


def at_once(count: int, *, apart_h: float, within_s: float) -> list[Noted]:
    """Readings up to `apart_h` hours apart, typed within this many seconds."""
    end = ZERO + timedelta(hours=24)
    return numbered([
        replace(
            noted(150 + i % 4, apart_h * i / (count - 1), subject=f"well {i}"),
            entered_at=end + timedelta(seconds=within_s * i / (count - 1)),
        )
        for i in range(count)
    ])  # fmt: skip


def test_ten_entries_within_a_minute_for_three_hours_of_work_are_listed() -> None:
    found = only(at_once(10, apart_h=3, within_s=60))
    assert found.kind is Kind.AT_ONCE
    assert found.refs == tuple(str(n) for n in range(1, 11))
    assert found.lasting == timedelta(hours=3)


@pytest.mark.parametrize(
    "readings",
    [
        at_once(9, apart_h=3, within_s=60),
        at_once(10, apart_h=2.99, within_s=60),
        at_once(10, apart_h=3, within_s=60.1),
    ],
    ids=["nine", "less than three hours", "more than a minute"],
)
def test_just_less_is_not_listed(readings: list[Noted]) -> None:
    assert look(readings) == ()


def test_one_round_of_many_units_typed_at_once_is_not_listed() -> None:
    assert look(at_once(30, apart_h=0.2, within_s=50)) == ()


def test_two_people_who_type_at_the_same_minute_are_not_added_together() -> None:
    readings = at_once(18, apart_h=6, within_s=50)
    assert kinds(readings) == {Kind.AT_ONCE}
    assert look([replace(one, person="ABCD"[int(one.ref) % 2]) for one in readings]) == ()


def test_a_long_burst_is_one_finding_and_two_bursts_are_two() -> None:
    assert len(only(at_once(60, apart_h=12, within_s=200)).refs) == 60
    second = [
        replace(one, ref=f"2-{one.ref}", entered_at=one.entered_at + timedelta(hours=2))
        for one in at_once(12, apart_h=4, within_s=30)
    ]
    found = look(at_once(12, apart_h=4, within_s=30) + second)
    assert [(it.kind, it.count) for it in found] == [(Kind.AT_ONCE, 12)] * 2


# --- values that end in 0 or 5


def test_values_that_nearly_all_end_in_0_or_5_is_listed() -> None:
    found = only(hourly([160, 150, 140, 155, 150, 145, 160, 155, 140, 145, 175, 180, 171]))
    assert found.kind is Kind.ROUND
    # eight values once each; of those noted twice the highest, 160, is taken for the set point
    assert found.refs == ("2", "3", "4", "6", "11", "12")
    assert (found.count, found.among) == (6, 7)
    assert found.chance == Fraction(7 * 4 + 1, 5**7) <= ROUND_LEVEL


def test_values_at_a_limit_are_noted_on_purpose_and_do_not_count() -> None:
    values = [135, 122, 108, 96, 83, 70, 61, 57, 48, 41]
    batches = [
        noted(v, 24 * day + i, subject=f"{day}") for day in range(7) for i, v in enumerate(values)
    ]
    assert look(numbered(batches), LEVELS) == ()


def test_a_well_that_returns_to_its_set_point_of_140_is_not_listed() -> None:
    dips = [140, 128, 140, 133, 140, 127, 140, 126]
    readings = [
        noted(v - (v < 140) * day, 24 * day + i) for day in range(14) for i, v in enumerate(dips)
    ]
    assert look(numbered(readings)) == ()


@pytest.mark.parametrize("readings", [(171, 190), (190, 203)])
def test_a_food_cooked_to_a_round_number_on_purpose_is_not_listed(
    readings: tuple[int, int],
) -> None:
    cooked = [noted(v, 24 * n + i, f"batch {n}") for n in range(30) for i, v in enumerate(readings)]
    assert look(numbered(cooked)) == ()


def test_units_that_hardly_move_say_nothing_about_last_digits() -> None:
    readings = [
        noted(value, hour, subject=f"unit {unit}")
        for unit in range(20)
        for hour, value in enumerate((40, 35, 35, 40, 40, 35))
    ]
    assert look(numbered(readings)) == ()


def test_five_values_are_too_few_to_list() -> None:
    values = [140, 145, 150, 155, 160, 200, 205]
    assert kinds(hourly(values)) == {Kind.ROUND}
    assert look(hourly(values[:-1])) == ()


def test_of_tenths_the_whole_degrees_count() -> None:
    halves = [f"{value}.5" for value in (142, 147, 151, 153, 158, 159, 161, 166, 172)]
    assert look(hourly(halves)) == ()
    assert kinds(hourly([f"{value}.0" for value in range(140, 190, 5)])) == {Kind.ROUND}


def test_below_zero_the_degrees_are_as_wide_as_above() -> None:
    cut_off_at_fives = ["-0.4", "-5.4", "-10.6", "-15.3", "-20.7", "-25.2", "-30.9", "-35.5"]
    assert look(hourly(cut_off_at_fives)) == ()


def test_a_value_counts_again_on_another_day() -> None:
    readings = [noted(v, 24 * day + i) for day in range(3) for i, v in enumerate((140, 150, 160))]
    assert only(numbered(readings)).among == 6
    assert look(numbered(readings[:6])) == ()


def test_each_person_is_looked_at_alone() -> None:
    honest = hourly([141, 157, 143, 148, 152, 156, 163, 149, 154, 162], person="BQ")
    round_ones = [replace(one, ref=f"r{one.ref}") for one in hourly([*range(140, 190, 5)])]
    assert only([*honest, *round_ones]).about == "AR"


# --- days, times and words that come again


def test_the_chance_of_one_order_agrees_with_every_order_written_out() -> None:
    """All days have the same values in some order: how often have two of three days one order?"""
    for values in ((1, 2), (1, 1, 2), (1, 2, 3), (4, 4, 4)):
        orders = set(permutations(values))
        chosen = list(product(orders, repeat=3))
        as_the_first = sum(a == b for a, b, _ in chosen)
        # each of the three pairs: the bound adds them up
        assert same_order_chance(values, 2, 3) == min(1, Fraction(3 * as_the_first, len(chosen)))
        all_alike = sum(a == b == c for a, b, c in chosen)
        assert same_order_chance(values, 3, 3) == Fraction(all_alike, len(chosen))


def test_a_sheet_copied_for_three_days_is_listed_and_two_alike_are_not() -> None:
    sheet = (140, 143, 141, 147, 139, 144, 142, 138)
    other = (141, 139, 145, 143, 140, 146, 144, 142)
    days = [sheet, other, sheet, tuple(reversed(other)), sheet]
    readings = [noted(v, 24 * day + i) for day, vs in enumerate(days) for i, v in enumerate(vs)]
    found = only(numbered(readings))
    assert (found.kind, found.count, found.among) == (Kind.SAME_DAY, 3, 5)
    assert found.text == "140, 143, 141, 147, 139, 144, 142, 138"
    assert set(found.refs) == {str(24 // 3 * day + i) for day in (0, 2, 4) for i in range(1, 9)}
    assert look(numbered(readings[:32])) == (), "two of four"


def test_days_that_hardly_change_are_not_listed_as_copied() -> None:
    nearly_still = [141, 141, 141, 142, 141, 141, 141, 141]
    readings = [noted(v, 24 * d + i) for d in range(3) for i, v in enumerate(nearly_still)]
    assert look(numbered(readings)) == ()


def timed(minutes: Sequence[int], late: float) -> list[Noted]:
    """One reading an hour at these minutes, entered so many seconds after it."""
    return numbered([
        noted(140 + 7 * n % 9, n + minute / 60, late=late) for n, minute in enumerate(minutes)
    ])  # fmt: skip


def test_hours_that_were_all_typed_at_one_minute_are_listed() -> None:
    found = only(timed([0] * 15, late=3600))
    assert (found.kind, found.count, found.among) == (Kind.SAME_MINUTE, 15, 15)
    # either minute of a half hour may be the commoner one
    assert found.chance == 2 * binomial_tail(15, 15, Fraction(1, 2)) == Fraction(1, 2**14)
    assert found.text == ":00"


@pytest.mark.parametrize(
    "readings",
    [
        timed([0] * 15, late=14 * 60),
        timed([0] * 14, late=3600),
        timed([0, 30] * 12, late=3600),
        timed([0, 15, 45, 30] * 6, late=3600),
    ],
    ids=["entered within a quarter of an hour", "fourteen", "half hours", "quarter hours"],
)
def test_minutes_that_a_clock_or_a_habit_makes_are_not_listed(readings: list[Noted]) -> None:
    assert look(readings) == ()


def test_a_rounds_units_are_one_time() -> None:
    """Ten units noted at one minute are one look at the clock."""
    wells = [noted(140 + n % 7, n % 2, f"unit {n}", late=3600 + 90 * n) for n in range(20)]
    assert look(numbered(wells)) == ()


def days_at(minutes: Sequence[Sequence[int]], late: float = 3600) -> list[Noted]:
    return numbered([
        noted(140 + (5 * n + day * day) % 11, 24 * day + n + minute / 60, late=late + 100 * n)
        for day, some in enumerate(minutes)
        for n, minute in enumerate(some)
    ])  # fmt: skip


def test_minutes_of_the_day_before_are_listed() -> None:
    monday = [7, 12, 4, 51, 38, 22, 9, 46]
    found = only(days_at([monday] * 3))
    assert (found.kind, found.count, found.among) == (Kind.SAME_TIMES, 16, 16)
    assert found.refs == tuple(str(n) for n in range(9, 25))
    assert look(days_at([monday, monday])) == (), "eight hours are too few"
    assert look(days_at([monday] * 3, late=60)) == (), "the clock says so itself"
    other = [minute + 1 for minute in monday]
    assert look(days_at([monday, other, monday])) == ()
    assert look(days_at([[5, 10, 20, 35, 40, 55, 25, 50]] * 5)) == (), "rounded times come again"


def wrote(*texts: str) -> list[Acted]:
    return [
        Acted(ref=str(n), person="AR", at=ZERO + timedelta(hours=5 * n), text=text)
        for n, text in enumerate(texts, 1)
    ]


def test_the_same_words_each_time_are_listed_however_they_are_typed() -> None:
    (found,) = look(
        [], acted=wrote("Discarded", "discarded.", "discarded", " DISCARDED", "discarded!")
    )
    assert (found.kind, found.count, found.among) == (Kind.SAME_WORDS, 5, 5)
    assert found.refs == ("1", "2", "3", "4", "5")
    assert 'same words, "Discarded"' in told(found)


@pytest.mark.parametrize(
    "acts",
    [
        wrote(*["discarded"] * 4),
        wrote(*["discarded"] * 5, "turned up, 141 after", "reheated to 167"),
        wrote(*(f"turned up, {temp} after" for temp in range(140, 150))),
        [replace(one, at=ZERO) for one in wrote(*["discarded"] * 9)],
        [replace(one, person="AB"[n % 2]) for n, one in enumerate(wrote(*["discarded"] * 8))],
    ],
    ids=["four", "others between", "with what was measured", "nine foods at once", "two people"],
)
def test_words_that_come_again_now_and_then_are_not_listed(acts: list[Acted]) -> None:
    assert look([], acted=acts) == ()


# --- before its time


def test_a_reading_noted_before_its_time_is_listed() -> None:
    found = only(numbered([noted(140), noted(141, 1, late=-1), noted(142, 2, late=-900)]))
    assert (found.kind, found.refs) == (Kind.EARLY, ("2", "3"))
    assert found.lasting == timedelta(minutes=15)


def test_a_reading_noted_at_its_very_second_is_not_listed() -> None:
    assert look(numbered([noted(140, late=0)])) == ()


# --- the words, and any order

EVERY_KIND = [
    replace(one, ref=f"{prefix}{one.ref}")
    for prefix, part in (
        ("s", hourly([140, 143, 141, 139, 142, 144, 141, 140] * 3 + [142] * 16, subject="a")),
        ("o", [replace(one, person="CK") for one in at_once(12, apart_h=5, within_s=50)]),
        ("r", hourly([*range(145, 195, 5)], subject="b", person="BQ")),
        ("e", [noted(147, 3, subject="c", late=-120)]),
        (
            "d",
            [
                noted(v, 24 * d + n, "d", "DM")
                for d in range(3)
                for n, v in enumerate((150, 147, 152, 144, 149, 151))
            ],
        ),
        ("m", [replace(one, person="EN", subject="m") for one in timed([0] * 15, late=3600)]),
        (
            "t",
            [
                replace(one, person="FO", subject="t")
                for one in days_at([[7, 12, 4, 51, 38, 22, 9, 46]] * 3)
            ],
        ),
    )
    for one in part
]


EVERY_ACT = wrote(*["discarded"] * 6)


def test_every_sentence_asks_for_a_look_and_names_its_test() -> None:
    words = {found.kind: told(found) for found in look(EVERY_KIND, LEVELS, EVERY_ACT)}
    assert set(words) == set(Kind)
    assert all(text.startswith("Something to look at: ") for text in words.values())
    assert (
        "exact test of the longest run, p under 0.000001, level 0.00003" in words[Kind.SAME_VALUE]
    )
    assert "142 °F 16 times running" in words[Kind.SAME_VALUE]
    assert "exact one-sided binomial test, p 0.000003, level 0.001" in words[Kind.ROUND]
    assert "up to 2 min before" in words[Kind.EARLY]
    assert "about 5 h of work" in words[Kind.AT_ONCE]


def test_no_sentence_accuses() -> None:
    words = " ".join(told(found) for found in look(EVERY_KIND, LEVELS, EVERY_ACT)).lower()
    accusing = (
        "false",
        "falsif",
        "invent",
        "fake",
        "cheat",
        "dishonest",
        "fraud",
        "suspicio",
        "lie",
    )
    assert not [word for word in accusing if word in words.replace("earlier", "")]
    assert words.count(" too.") == len(Kind)  # each names an innocent cause


def test_the_order_in_which_readings_come_changes_nothing() -> None:
    expected = look(EVERY_KIND, LEVELS)
    for seed in range(20):
        shuffled = Random(seed).sample(EVERY_KIND, len(EVERY_KIND))
        assert set(look(shuffled, LEVELS)) == set(expected)
        assert look(shuffled, LEVELS) == expected


def test_no_readings_are_nothing_to_look_at() -> None:
    assert look([]) == ()


# --- simulated weeks: one person, four units checked hourly on six days, two coolings a day


def shown_by_a_unit(random: Random, level: float, swing: float) -> Iterator[float]:
    off = 0.0
    while True:
        off = 0.7 * off + random.gauss(0, swing)
        yield level + off


def week(random: Random, step: str, swing: float) -> list[Noted]:
    """An honest week, as a probe with this step shows it; 4 to 8 readings a cooling."""
    probe = Decimal(step)
    units = {f"unit {at}": shown_by_a_unit(random, at, swing) for at in (140, 145, 155, 38)}
    readings = []
    for day, hour in product(range(6), range(8)):
        for unit, values in units.items():
            value = (Decimal(next(values)) / probe).quantize(Decimal(1)) * probe
            readings.append(noted(str(value), 24 * day + hour, unit, late=random.randint(0, 300)))
    for number in range(12):
        hours, shown = 0.0, 135.0
        while shown > 41:
            text = str((Decimal(shown) / probe).quantize(Decimal(1)) * probe)
            readings.append(noted(text, 12 * number + hours, f"batch {number}"))
            hours += random.uniform(0.5, 1)
            shown = 36 + (shown - 36) * random.uniform(0.4, 0.7)
    return numbered(readings)


def to_fives(readings: list[Noted]) -> list[Noted]:
    return [
        replace(
            one, temperature=Temperature(round(one.temperature.value / 5) * Decimal(5), Degree.F)
        )
        for one in readings
    ]


def copied(readings: list[Noted], days: int) -> list[Noted]:
    until = ZERO + timedelta(days=days)
    value = next(one.temperature for one in readings if one.subject == "unit 145")
    return [
        replace(one, temperature=value)
        if one.subject == "unit 145" and one.taken_at < until
        else one
        for one in readings
    ]


def last_day_at_once(readings: list[Noted]) -> list[Noted]:
    day = ZERO + timedelta(days=5)
    end = day + timedelta(hours=30)
    return [
        replace(one, entered_at=end + timedelta(seconds=3 * number)) if one.taken_at >= day else one
        for number, one in enumerate(readings)
    ]


@pytest.mark.parametrize(("step", "swing"), [("1", 1.5), ("0.1", 1.5), ("1", 0.3), ("1", 4)])
def test_honest_weeks_give_no_finding_in_at_least_995_of_1000(step: str, swing: float) -> None:
    random = Random(f"honest {step} {swing}")
    listed = sum(bool(look(week(random, step, swing), LEVELS)) for _ in range(200))
    assert listed <= 200 * 5 // 1000


def test_invented_weeks_are_found_by_the_look_meant_for_them() -> None:
    random = Random("invented")
    weeks = [week(random, "1", 1.5) for _ in range(50)]
    found = {
        Kind.ROUND: sum(Kind.ROUND in kinds(to_fives(one)) for one in weeks),
        Kind.SAME_VALUE: sum(Kind.SAME_VALUE in kinds(copied(one, 3)) for one in weeks),
        Kind.AT_ONCE: sum(Kind.AT_ONCE in kinds(last_day_at_once(one)) for one in weeks),
    }
    assert found[Kind.ROUND] == found[Kind.AT_ONCE] == 50
    assert found[Kind.SAME_VALUE] >= 45
