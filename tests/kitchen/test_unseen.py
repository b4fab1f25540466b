"""What regular checks leave unseen, beside every excursion that a minute's clock allows.

The oracle knows nothing of the arithmetic: it puts looks where the settings let them be, and food
out of limits wherever no look finds it. Every kitchen is invented.
"""

from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from haccp import limits
from haccp.kitchen.register import Register, read_register
from haccp.kitchen.unseen import interval_that_shows, unseen
from haccp.kitchen.watch import watch_of
from haccp.record.bodies import Body, HoldingUnit, KitchenSettings
from haccp.record.entries import Draft
from haccp.record.store import open_record
from haccp.rules.account.steps import Keeps

NOON = datetime(2026, 11, 2, 19, 0, tzinfo=UTC)
MINUTE, HOUR = timedelta(minutes=1), timedelta(hours=1)
Make = Callable[..., Register]


@pytest.fixture
def make(tmp_path: Path) -> Iterator[Make]:
    """Make the register of a kitchen with one cooler and one well."""
    record = open_record(tmp_path / "record.sqlite3", create=True)

    def made(every_min: int, grace_min: int = 15, open_hours: str = "") -> Register:
        kitchen = KitchenSettings(
            name="Juniper Flats",
            zone="America/Denver",
            degree="F",
            altitude_m=1640,
            limit_set="food-code-2022",
            limits_digest=limits.shipped().digest,
            grace_min=grace_min,
            open_hours=open_hours,
        )
        settings: tuple[Body, ...] = (
            kitchen,
            HoldingUnit(name="walk-in", holds="cold", every_min=every_min),
            HoldingUnit(name="well-1", holds="hot", every_min=every_min),
        )
        drafts = [Draft(body=body, at=NOON, person="AR") for body in settings]
        record.append(drafts, lambda: NOON)
        return read_register(record)

    yield made
    record.close()


def longest_excursion(looks: list[int]) -> int:
    """Try every excursion [out, back) of whole minutes, and give the longest that no look meets."""
    first, last = looks[0], looks[-1]
    return max(
        (
            back - out
            for out in range(first, last)
            for back in range(out + 1, last + 1)
            # at a look that is good the food is in limits: the excursion begins after it
            if not any(out < look < back or look == out + 1 == back for look in looks)
        ),
        default=0,
    )


@given(st.lists(st.integers(1, 40), min_size=1, max_size=6))
def test_what_no_look_meets_lasts_as_long_as_the_longest_gap_between_looks(gaps: list[int]) -> None:
    looks = [sum(gaps[:n]) for n in range(len(gaps) + 1)]
    assert longest_excursion(looks) in (max(gaps), max(gaps) - 1)


@pytest.mark.parametrize(("every", "grace"), [(60, 15), (60, 0), (240, 15), (720, 15), (30, 45)])
def test_looks_that_are_as_late_as_they_may_be_leave_the_interval_and_the_grace_unseen(
    make: Make, every: int, grace: int
) -> None:
    """By the watch that finds missed checks, minute by minute: a look is good until it is due."""
    register = make(every, grace)
    watch = watch_of(register, "", NOON, NOON, NOON + 3 * timedelta(days=1))
    due = watch.due(NOON, Keeps.COLD, "walk-in")
    assert due
    found = unseen(register, NOON, Keeps.COLD, "walk-in")
    assert found.longest == due - NOON
    assert found.over_a_closure == timedelta(0)
    assert found.shows(found.longest)
    assert not found.shows(found.longest - MINUTE)


@pytest.mark.parametrize("hours", ["mon-sun 06:00-20:00", "mon-fri 06:00-14:00, 16:00-22:00",
                                   "mon-sat 05:00-08:00"])  # fmt: skip
@pytest.mark.parametrize("every", [60, 180, 720])
def test_the_longest_time_over_a_closure_is_that_of_the_worst_minute(
    make: Make, hours: str, every: int
) -> None:
    register = make(every, open_hours=hours)
    week = NOON + timedelta(days=8)
    watch = watch_of(register, "", NOON, NOON, NOON + timedelta(days=14))
    minutes = [NOON + n * MINUTE for n in range((week - NOON) // MINUTE)]
    worst = max((watch.due(one, Keeps.COLD, "walk-in") or one) - one for one in minutes)
    found = unseen(register, NOON, Keeps.COLD, "walk-in")
    longest = max(found.longest, found.over_a_closure)
    # the worst moment is the one after a minute, as near to it as may be
    assert worst <= longest <= worst + MINUTE


def test_hot_food_has_no_closed_hours(make: Make) -> None:
    register = make(60, open_hours="mon-sun 06:00-20:00")
    found = unseen(register, NOON, Keeps.HOT, "well-1")
    assert (found.longest, found.over_a_closure) == (HOUR + 15 * MINUTE, timedelta(0))


@given(time=st.integers(1, 600), grace=st.integers(0, 120))
def test_the_interval_that_shows_a_time_is_the_longest_that_does(time: int, grace: int) -> None:
    """By trying each: a check that is due every 4 h or less often may come an hour late."""
    shown = [
        every
        for every in range(1, time + 1)
        if every + (max(grace, 60) if every >= 240 else grace) <= time
    ]
    found = interval_that_shows(time * MINUTE, grace * MINUTE)
    assert found == (max(shown) * MINUTE if shown else None)


def test_looks_at_the_interval_that_is_proposed_meet_every_longer_excursion() -> None:
    """4 h and a grace of 15 min: each excursion of more than 4 h has a look in it."""
    every = interval_that_shows(4 * HOUR, 15 * MINUTE)
    assert every == 3 * HOUR + 45 * MINUTE
    latest = (every + 15 * MINUTE) // MINUTE
    looks = [n * latest for n in range(4)]
    assert all(later - sooner <= 240 for sooner, later in pairwise(looks))
    unmet = [
        (out, back)
        for out in range(0, looks[-1], 7)
        for back in range(out + 241, looks[-1], 7)
        if not any(out <= look < back for look in looks)
    ]
    assert unmet == []
