"""When a kitchen is closed: its hours, the days declared closed, the clock change; invented."""

import json
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any, cast
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from haccp.errors import Refused
from haccp.kitchen.hours import closed_times
from haccp.kitchen.register import Register, read_register
from haccp.opening_hours import DAYS, parse_hours
from haccp.record.bodies import DayClosed
from haccp.record.store import open_record
from haccp.rules.account.life import Watch
from haccp.rules.account.steps import Keeps
from tests.kitchens import Kitchen, flat

DENVER = ZoneInfo("America/Denver")


@contextmanager
def register(kitchen: Kitchen) -> Iterator[Register]:
    with closing(open_record(kitchen.path, create=False)) as record:
        yield read_register(record)


def moment(local: str) -> datetime:
    return datetime.fromisoformat(local).replace(tzinfo=DENVER).astimezone(UTC)


def closures(kitchen: Kitchen, since: str, until: str) -> list[str]:
    """Say from when to when the kitchen is closed, by its own clock."""
    with register(kitchen) as known:
        found = closed_times(known, moment(since), moment(until))
    shown = [[one.astimezone(DENVER) for one in pair] for pair in found]
    return [f"{a:%a %d %H:%M} to {b:%a %d %H:%M}" for a, b in shown]


@pytest.mark.parametrize(
    ("text", "hours"),
    [
        ("mon 06:00-20:00", {0: [(6, 20)]}),
        ("Mon-Wed 6:00-20:00", {0: [(6, 20)], 1: [(6, 20)], 2: [(6, 20)]}),
        ("sat-mon 06:00-20:00", {5: [(6, 20)], 6: [(6, 20)], 0: [(6, 20)]}),
        ("mon,fri 17:00-02:00", {0: [(17, 26)], 4: [(17, 26)]}),
        ("sun 11:00-14:00, 06:00-10:00", {6: [(6, 10), (11, 14)]}),
        ("tue 00:00-24:00; thu 00:00-00:00", {1: [(0, 24)], 3: [(0, 24)]}),
    ],
)
def test_hours_are_read(text: str, hours: dict[int, list[tuple[int, int]]]) -> None:
    read = {
        day: [tuple(one / timedelta(hours=1) for one in span) for span in spans]
        for day, spans in parse_hours(text).items()
    }
    assert read == hours


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "'' is no day"),
        ("monday 06:00-20:00", "'monday' is no day of the week"),
        ("mon", "'' are no hours"),
        ("mon 06:00", "'06:00' are no hours"),
        ("mon 6-20", "'6-20' are no hours"),
        ("mon 06:60-20:00", "are no hours"),
        ("mon 06:00-24:01", "are no hours"),
        ("mon 24:00-02:00", "begins at the day's end"),
        ("mon-wed 06:00-20:00; tue 07:00-08:00", "tue stands there twice"),
        ("mon 06:00-12:00, 11:00-20:00", "overlap"),
        ("mon 06:00-20:00;", "'' is no day"),
        ("mon-tue-wed 06:00-20:00", "is no day of the week"),
    ],
)
def test_what_are_no_hours_is_refused_with_what_to_type(text: str, why: str) -> None:
    with pytest.raises(Refused, match="type such as|name each day once") as refused:
        parse_hours(text)
    assert why in str(refused.value)


@pytest.mark.parametrize(
    ("opens", "closes", "last", "every", "due"),
    [
        (6, 7, (5, 6.5), 13, (6, 7)),  # closes before it is 75 min open: looked at by then
        (6, 22, (5, 20), 13, (6, 9)),  # due in opening hours: no closed hour counts
        (6, 22, (5, 20), 4, (6, 7.25)),  # due at night: soon after opening
        (6, 22, (5, 10), 40, (7, 7.25)),  # due on the second night
        (6, 7, (5, 6.5), 60, (8, 7)),
    ],
)
def test_closed_hours_wait_for_the_opening_and_never_for_good(
    opens: float, closes: float, last: tuple[int, float], every: float, due: tuple[int, float]
) -> None:
    def at(day: int, hour: float) -> datetime:
        return datetime(2026, 1, day, tzinfo=UTC) + timedelta(hours=hour)

    nights = tuple((at(day, closes), at(day + 1, opens)) for day in range(1, 20))
    watch = Watch(
        longest_gap={Keeps.COLD: timedelta(hours=every)},
        closed=nights,
        reopening=timedelta(minutes=75),
    )
    assert watch.due(at(*last), Keeps.COLD) == at(*due)


def test_a_kitchen_that_said_nothing_is_never_closed(kitchen: Kitchen) -> None:
    assert closures(kitchen, "2026-10-20", "2026-11-20") == []


def test_its_nights_are_closed_across_the_clock_change(kitchen: Kitchen) -> None:
    kitchen.at("2026-10-26T12:00-06:00")
    answer = kitchen.says("kitchen --open 'mon-sat 06:00-20:00; sun 08:00-14:00' --by AR")
    assert "Open mon-sat 06:00-20:00; sun 08:00-14:00" in answer
    assert closures(kitchen, "2026-10-31 12:00", "2026-11-02 12:00") == [
        "Sat 31 20:00 to Sun 01 08:00",
        "Sun 01 14:00 to Mon 02 06:00",
    ]
    with register(kitchen) as known:
        (night,) = closed_times(known, moment("2026-10-31 21:00"), moment("2026-11-01 03:00"))
    assert night[1] - night[0] == timedelta(hours=13)  # the clocks were put back in it


def test_hours_are_in_force_from_when_they_were_set_until_they_are_changed(
    kitchen: Kitchen,
) -> None:
    kitchen.at("2026-10-26T12:00-06:00")
    kitchen.says("kitchen --open 'mon-sun 06:00-20:00' --by AR")
    kitchen.at("2026-10-28T22:00-06:00")
    kitchen.says("kitchen --open 'mon-sun 09:00-17:00' --by AR")
    kitchen.at("2026-10-29T12:00-06:00")
    kitchen.says("kitchen --open '' --by AR")
    assert closures(kitchen, "2026-10-25", "2026-11-05") == [
        "Mon 26 20:00 to Tue 27 06:00",
        "Tue 27 20:00 to Wed 28 06:00",
        "Wed 28 20:00 to Thu 29 09:00",
    ]


def test_hours_past_midnight_belong_to_the_day_on_which_they_begin(kitchen: Kitchen) -> None:
    kitchen.says("kitchen --open 'mon-sun 17:00-02:00' --by AR")
    kitchen.says("closed 2026-10-29 holiday --by AR")
    assert closures(kitchen, "2026-10-28 18:00", "2026-10-30 18:00") == [
        "Thu 29 02:00 to Fri 30 17:00"
    ]


def test_a_day_is_declared_closed_ahead_or_afterwards(kitchen: Kitchen) -> None:
    assert "Declared afterwards" not in kitchen.says("closed 2026-10-29 'a burst pipe' --by AR")
    assert "Declared afterwards" in kitchen.says("closed 2026-10-20 strike --to 2026-10-21 --by AR")
    assert closures(kitchen, "2026-10-15", "2026-11-05") == [
        "Tue 20 00:00 to Thu 22 00:00",
        "Thu 29 00:00 to Fri 30 00:00",
    ]


def test_a_closure_is_given_whole_so_that_it_is_known_how_long_it_is(kitchen: Kitchen) -> None:
    answer = kitchen.says("closed 2026-11-02 holiday --to 2026-11-12 --by AR")
    assert "more than 2 d: cold food is checked all the same" in flat(answer)
    with register(kitchen) as known:
        for since, until in (("2026-11-05", "2026-11-06"), ("2026-10-30", "2026-11-02 01:00")):
            ((start, end),) = closed_times(known, moment(since), moment(until))
            assert end - start > timedelta(days=2)


def test_a_closure_is_as_long_as_the_hours_around_it_make_it(kitchen: Kitchen) -> None:
    kitchen.says("kitchen --open 'mon-sun 06:00-20:00' --by AR")
    assert "more than" not in kitchen.says("closed 2026-11-09 holiday --by AR")
    assert "more than 2 d" in flat(kitchen.says("closed 2026-11-10 holiday --by AR"))


def test_a_cook_cannot_close_the_kitchen(kitchen: Kitchen) -> None:
    assert "a manager does this" in kitchen.refuses("closed today holiday --by JM")
    assert "type the last day" in kitchen.refuses("closed today holiday --to 2026-10-01 --by AR")
    assert "is no day of the week" in kitchen.refuses("kitchen --open 'daily 6:00-8:00' --by AR")


def test_closing_the_kitchen_asks_for_a_pin(kitchen: Kitchen) -> None:
    kitchen.pin = "0000"
    assert "PIN" in kitchen.refuses("closed today holiday --by AR")


def test_a_day_that_was_declared_wrongly_is_open_again(kitchen: Kitchen) -> None:
    kitchen.says("closed 2026-10-29 holiday --by AR")
    number = kitchen.entries()[-1]["seq"]
    kitchen.says(f"correct {number} --withdraw --reason 'the wrong day' --by AR")
    assert closures(kitchen, "2026-10-15", "2026-11-05") == []


def test_the_kitchen_says_its_hours_and_longest_closure(kitchen: Kitchen) -> None:
    kitchen.says("kitchen --open 'mon-fri 06:00-20:00' --longest-closure 3 --by AR")
    told = json.loads(kitchen.says("kitchen --json"))
    assert (told["open_hours"], told["longest_closure"]) == ("mon-fri 06:00-20:00", 3)


@pytest.fixture(name="opened_register", scope="module")
def _opened_register(opened: Path) -> Register:
    with closing(open_record(opened, create=False)) as record:
        return read_register(record)


def _set(known: Register, hours: str, shut: set[date]) -> Register:
    (setting,) = known.settings
    declared = (DayClosed(first=f"{day}", last=f"{day}", reason="") for day in shut)
    return replace(
        known,
        settings=(replace(setting, body=replace(setting.body, open_hours=hours)),),
        closed=tuple(replace(cast(Any, setting), body=one) for one in declared),
    )


SPANS = st.tuples(st.integers(0, 95), st.integers(1, 95))


@given(
    hours=st.dictionaries(st.integers(0, 6), SPANS, min_size=1),
    shut=st.sets(st.dates(date(2026, 10, 29), date(2026, 11, 4)), max_size=2),
)
def test_each_minute_is_closed_or_open_as_the_clock_on_the_wall_says(
    opened_register: Register, hours: dict[int, tuple[int, int]], shut: set[date]
) -> None:
    """Compare with a walk through the minutes that looks at the clock and the calendar alone."""

    def clock(quarter: int) -> str:
        return f"{quarter // 4:02d}:{quarter % 4 * 15:02d}"

    text = "; ".join(
        f"{DAYS[day]} {clock(start)}-{clock((start + length) % 96)}"
        for day, (start, length) in hours.items()
    )
    since, until = moment("2026-10-30"), moment("2026-11-03")
    found = closed_times(_set(opened_register, text, shut), since, until)
    assert all(one[0] < one[1] for one in found)

    def is_open(at: datetime) -> bool:
        wall = at.astimezone(DENVER)
        for back in (0, 1):
            day = wall.date() - timedelta(days=back)
            start, length = hours.get(day.weekday(), (0, 0))
            minute = wall.hour * 60 + wall.minute + back * 1440
            if day not in shut and start * 15 <= minute < (start + length) * 15:
                return True
        return False

    at = since
    while at < until:
        inside = any(start <= at < end for start, end in found)
        # in the repeated hour an edge may be read by either clock: open is the strict side
        twice = (
            at.astimezone(DENVER).utcoffset()
            != (at + timedelta(hours=1)).astimezone(DENVER).utcoffset()
            or at.astimezone(DENVER).fold
        )
        assert inside != is_open(at) or (twice and not inside), at
        at += timedelta(minutes=15)
